"""What the doubt about a load's own factors does to a peak: a clamp solved as contact brings its error into the band."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress, Peaks, Spot, SurfaceStress, principal
from ..model.load import Load, WedgeClamp
from ..quantity import Quantity, Verdict
from .states import States

__all__ = ["CONTACT_BAND", "doubt_rows", "scale_warnings", "with_doubts"]

Array = NDArray[np.float64]

CONTACT_BAND = (
    "what the contact of hammer and wedge adds; its own meshes are two, see the lever's band among the load's numbers"
)


def doubt_rows(states: States, index: int) -> Array:
    """Doubts of the loads in a state as factors [doubt, case]."""
    rows = []
    for i, share in states.shares(index).items():
        for term in states.made[i].doubts:
            row = np.zeros(len(states.names))
            row[states.names.index(term.case)] = share * term.factor
            rows.append(row)
    return np.array(rows).reshape(-1, len(states.names))


def with_doubts(peaks: Peaks, edge: EdgeStress, rows: Array, asked: float) -> Peaks:
    """Peaks whose bands hold the doubts too: each by the stress that it would bring at the peak's place, all added.

    asked: wanted relative band of the peak, for the verdict.
    """
    if not len(rows):
        return peaks
    surface = edge.combine(rows)
    tension = _wider(peaks.tension, _brings(surface, peaks.tension_at))
    compression = _wider(peaks.compression, _brings(surface, peaks.compression_at))
    wide = replace(peaks, tension=tension, compression=compression)
    peak = wide.peak
    settled = peak.verdict is Verdict.SETTLED and (peak.band or 0.0) <= asked * abs(peak.value or 0.0)
    verdict = Verdict.SETTLED if settled else Verdict.NOT_SETTLED
    return replace(wide, tension=replace(tension, verdict=verdict), compression=replace(compression, verdict=verdict))


def _brings(surface: SurfaceStress, at: Spot | None) -> float:
    """Largest stress of each doubt at a place, summed."""
    if at is None:
        return 0.0
    here = surface.stress[:, at.slot, at.s_index, at.d_index]
    pressed = np.abs(surface.pressure[:, at.slot, at.s_index, at.d_index])
    high, low = principal(here)
    return float(np.maximum(np.maximum(np.abs(high), np.abs(low)), pressed).sum())


def _wider(quantity: Quantity, more: float) -> Quantity:
    return replace(quantity, band=(quantity.band or 0.0) + more)


def scale_warnings(loads: Sequence[Load], shares: Mapping[int, float]) -> tuple[str, ...]:
    """Clamps that a condition scales although their pressure does not grow as their force."""
    return tuple(
        f"{load.name!r} is taken {share:g} times: with an angle or a crown the pressure is not proportional to the clamp. Give a load with its own force"
        for i, share in shares.items()
        if i < len(loads) and share != 1.0
        for load in (loads[i],)
        if isinstance(load, WedgeClamp) and load.contact is not None and not load.contact.proportional
    )
