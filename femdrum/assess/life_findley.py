"""Findley's value of the whole duty at one place, beside the counted life: as if all its states came without end.

It is a criterion of endurance over all planes in space, with the smallest circle around the path of the shear. Below one it
promises endless life under any of the states; above one it says nothing of how long.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..provenance import computed
from ..strength.base_metal import MetalStrength
from ..strength.critical_plane import FINDLEY, findley, findley_k
from ..strength.mean_stress import SHEAR_RATIO
from ..strength.surface_planes import Events

__all__ = ["endurance_figures", "history_of_events"]

Array = NDArray[np.float64]

ANGLES = np.arange(24) * math.pi / 12  # of the turning drum


def history_of_events(states: Array, events: Events) -> Array:
    """All states of all events [step, place, 6], in the surface's frame: along, across, normal, shear between the first two.

    states [state, 3, place, 4]; a state that turns is taken at 24 angles of the drum.
    """
    ends = np.unique(np.concatenate([events.first, events.second]), axis=0)
    steady, cosine, sine = (np.tensordot(ends, states[:, k], 1) for k in range(3))
    turns = np.abs(cosine).max() + np.abs(sine).max() > 0.0
    angles = ANGLES if turns else ANGLES[:1]
    steps = np.concatenate([steady + math.cos(a) * cosine + math.sin(a) * sine for a in angles])
    zero = np.zeros(steps.shape[:-1])
    return np.stack([steps[..., 0], steps[..., 1], steps[..., 3], steps[..., 2], zero, zero], -1)


def endurance_figures(strength: MetalStrength, states: Array, events: Events) -> tuple[Figure, ...]:
    """Findley's value at one place and its share of what is borne at the knee."""
    history = history_of_events(states, events)
    if len(history) < 2:
        return ()
    k = findley_k(1.0 / SHEAR_RATIO)
    value = float(findley(history, k).parameter_MPa[0])
    # what a fully reversed pull of the strength puts on its worst plane
    borne = 0.5 * float(np.asarray(strength.curve.amplitude_MPa).ravel()[0]) * (k + math.hypot(1.0, k))
    return (
        Figure("Findley's value of all states together, worst place", value, "MPa", f"max(tau_a + {k:.3f} sigma_max)", FINDLEY),
        Figure(
            "the same over what is borne at the knee; elastic, yielding not counted", value / borne, "-",
            "f / (sigma_W/2 (k + sqrt(1 + k²)))", computed("fully reversed pull at the knee, on its worst plane"),
        ),
    )  # fmt: skip
