"""What stands behind a condition's peak: each load's share, what adding separate maxima would have said, equal peaks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..edge import EdgeStress, Peaks, Spot, SurfaceStress, principal
from ..quantity import Quantity, rounded

__all__ = ["AddingMaxima", "Share", "adding_maxima", "equal_peaks", "shares", "zones"]

Array = NDArray[np.float64]

# loads that should add up to the combined state may miss it by rounding only
ROUNDING = 1e-9
EQUAL = 1e-6  # ends of opposite sign that differ by less are one: tension stands for both, as in `Peaks`
# between two local maxima of one hot spot the stress falls by no more than this
VALLEY = 0.99
# a peak so close to an axis of the slot stands for itself and not for one of the corners beside the axis
ON_AXIS = math.radians(12)
# what adding maxima is off by may be called nothing below this
SAME = 0.005
DIGITS = 5e-4  # a sentence carries no more digits than this share leaves, however narrow the band


@dataclass(frozen=True)
class Share:
    """A load's part of a condition's peak: its stress in the direction of the combined principal stress there.

    fraction: over the combined stress at the place; negative where the load relieves. None where that is zero.
    """

    load: str
    stress_MPa: float
    fraction: float | None


@dataclass(frozen=True)
class AddingMaxima:
    """Each load's own |peak| added, against the peak of the loads together.

    separate: |peak| of each load. total: their sum, bands added. combined: the true peak, signed. excess: total
    over |combined| minus one; None where the loads cancel to nothing.
    """

    separate: tuple[Quantity, ...]
    total: Quantity
    combined: Quantity
    excess: float | None
    words: str


def shares(
    loads: SurfaceStress, combined: SurfaceStress, spot: Spot, names: Sequence[str], *, tension: bool | None = None
) -> tuple[Share, ...]:
    """How much each load contributes at the place of a condition's peak; they add up to the combined stress there.

    loads: surface stress of each load at its share and angle, one state each; combined: of their sum, one state.
    tension: True for the larger principal stress, False for the smaller; None for that of larger magnitude. Where the
    surface's own -pressure is the principal stress that governs, shares of the pressure are given. The stress is that
    of the sampled place; the peak itself is read between samples and may be some 1e-4 higher.
    """
    if len(names) != loads.stress.shape[0]:
        raise ValueError(f"{len(names)} names for {loads.stress.shape[0]} loads")
    place = spot.slot, spot.s_index, spot.d_index
    each, together = loads.stress[(slice(None), *place)], combined.stress[(0, *place)]
    pressed, third = -loads.pressure[(slice(None), *place)], -float(combined.pressure[(0, *place)])
    scale = max(float(np.max(np.abs(each))), float(np.max(np.abs(pressed))), float(np.max(np.abs(together))), 1e-300)
    off = max(float(np.max(np.abs(each.sum(axis=0) - together))), abs(float(pressed.sum()) - third))
    if off > ROUNDING * len(names) * scale:
        raise ValueError(f"the loads miss the combined state by {off:.3g} MPa: their vectors do not add up to it")
    high, low = (float(v) for v in principal(together))
    if tension is None:
        tension = max(high, third) >= (1 - EQUAL) * -min(low, third)
    if third > high if tension else third < low:
        parts, total = pressed, third
    else:
        # the smaller principal stress stands across the larger
        angle = 0.5 * math.atan2(2 * together[2], together[0] - together[1]) + (0.0 if tension else 0.5 * math.pi)
        cos, sin = math.cos(angle), math.sin(angle)
        parts, total = each @ np.array([cos * cos, sin * sin, 2 * sin * cos]), high if tension else low
    return tuple(
        Share(name, float(part), float(part) / total if total else None)
        for name, part in zip(names, parts, strict=True)
    )


def adding_maxima(edge: EdgeStress, vectors: ArrayLike) -> AddingMaxima:
    """What adding each load's own peak would have said, against the peak of the loads together.

    vectors [load, case]: each load's factors at its share and angle. The sum is an upper bound only: maxima lie at
    different places, and loads relieve each other.
    """
    factors = np.atleast_2d(np.asarray(vectors, dtype=float))
    separate = tuple(_magnitude(edge.combine(f).peaks()) for f in factors)
    combined = edge.combine(factors.sum(axis=0)).peaks().peak
    value = sum(float(q) for q in separate)
    band = sum(q.band or 0.0 for q in separate)
    total = Quantity(value, "MPa", band, combined.verdict, "sum of the separate |peaks| of the loads")
    true = abs(float(combined))
    excess = value / true - 1 if true > 1e-9 * value and true > 0 else None
    return AddingMaxima(separate, total, combined, excess, _words(len(separate), total, combined, excess))


def _magnitude(peaks: Peaks) -> Quantity:
    q = peaks.peak
    return Quantity(abs(float(q)), q.unit, q.band, q.verdict, "largest |principal stress| of one load alone")


def _words(count: int, total: Quantity, combined: Quantity, excess: float | None) -> str:
    sum_text, true_text = (
        f"{rounded(abs(float(q)), max(q.band or 0.0, DIGITS * abs(float(q))))} MPa" for q in (total, combined)
    )
    if count == 1:
        return f"One load: its peak of {true_text} is the condition's."
    begin = f"Adding the separate peaks of the {count} loads would say {sum_text}"
    if excess is None:
        return f"{begin}; together they cancel."
    if excess < SAME:
        return f"{begin}, together they give {true_text}: no difference here, the peaks share place and sign."
    if excess < 1:
        return f"{begin}, {100 * excess:{'.0f' if excess > 0.095 else '.2g'}} % above the {true_text} that they give together."
    return f"{begin}, {excess + 1:.2g} times the {true_text} that they give together."


def equal_peaks(surface: SurfaceStress, state: int = 0, share: float = 0.95) -> tuple[Spot, ...]:
    """Places whose |principal stress| is a local maximum within `share` of the peak, over all slots.

    Along the edge each place counts with its worst depth. Maxima of one corner of the slot count once, and so do
    those between which the stress hardly falls. Ordered by slot and arc length. Slots are those that are stored: where
    one stands for all of its row, or a row for the drum, the number of places is to be multiplied.
    """
    if not 0 < share <= 1:
        raise ValueError(f"share must be above 0 and at most 1, not {share}")
    high, low = principal(surface.stress[state])
    field = np.maximum(np.maximum(np.abs(high), np.abs(low)), np.abs(surface.pressure[state]))
    depth = np.argmax(field, axis=-1)
    line = np.max(field, axis=-1)
    least = share * float(line.max())
    if least == 0.0:
        return ()
    return tuple(
        surface.spot(slot, s, int(depth[slot, s]))
        for slot in range(line.shape[0])
        for s in _hot(line[slot], least, zones(surface, depth[slot]))
    )


def zones(surface: SurfaceStress, depth: NDArray[np.intp]) -> NDArray[np.intp]:
    """For places [s] at depth indices: the slot's corner (0 to 3) that each belongs to, or its end on an axis (4 to 7)."""
    place = surface.place_mm[np.arange(depth.size), depth, :2]
    half = np.max(np.abs(surface.place_mm[:, depth, :2]), axis=0)
    x, y = (place / np.where(half > 0, half, 1.0)).T
    turn = np.arctan2(np.abs(y), np.abs(x))
    corner = 2 * (y < 0) + (x < 0)
    on_x, on_y = 4 + (x < 0), 6 + (y < 0)
    on_y_or_corner = np.where(turn > 0.5 * math.pi - ON_AXIS, on_y, corner)
    return np.asarray(np.where(turn < ON_AXIS, on_x, on_y_or_corner), dtype=np.intp)


def _hot(line: Array, least: float, zone: NDArray[np.intp]) -> list[int]:
    """Local maxima of a closed line above `least`, highest first chosen, merged by zone and by shallow valleys."""
    tops = np.flatnonzero((line >= np.roll(line, 1)) & (line >= np.roll(line, -1)) & (line >= least))
    kept: list[int] = []
    for top in tops[np.argsort(-line[tops], kind="stable")]:
        i = int(top)
        if not any(zone[i] == zone[k] or _valley(line, i, k) >= VALLEY * line[i] for k in kept):
            kept.append(i)
    return sorted(kept)


def _valley(line: Array, i: int, k: int) -> float:
    """Lowest value on the way from one place of the closed line to another, on the higher of the two ways."""
    a, b = sorted((i, k))
    return max(float(line[a : b + 1].min()), min(float(line[b:].min()), float(line[: a + 1].min())))
