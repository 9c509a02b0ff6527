"""The stress at the probes of a mesh for one load."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..quantity import Quantity, Verdict
from .answer import ProbeValue

__all__ = ["probe_values"]

_COMPONENTS = {"xx": (0, 0), "yy": (1, 1), "zz": (2, 2), "xy": (0, 1), "yz": (1, 2), "xz": (0, 2)}


def probe_values(part: Any, level: Any, state: NDArray[np.float64], asked: float) -> tuple[ProbeValue, ...]:
    """Stress at each probe under the state [case]; the band of every component is that of the most uncertain one."""
    if part.kind != "mesh":
        return ()
    from ..fem.file_ladder import probe_bands

    value, bands = probe_bands(level, state[None])
    out = []
    for probe, small, band in zip(part.probes, value[0], bands[0], strict=True):
        stress = np.zeros((3, 3))
        stress[: len(small), : len(small)] = small
        settled = band <= asked * np.abs(stress).max()
        verdict = Verdict.SETTLED if settled else Verdict.NOT_SETTLED

        def quantity(number: float, what: str, band: float = float(band), verdict: Verdict = verdict) -> Quantity:
            return Quantity(float(number), "MPa", band, verdict, what)

        low, _, high = np.linalg.eigvalsh(stress)
        parts = {name: quantity(stress[at], f"stress component {name}") for name, at in _COMPONENTS.items()}
        largest = quantity(high if high >= -low else low, "principal stress of largest magnitude")
        out.append(ProbeValue(probe.name, probe.x_mm, probe.y_mm, probe.z_mm, **parts, principal=largest))
    return tuple(out)
