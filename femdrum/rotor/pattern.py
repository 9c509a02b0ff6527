"""What the hammer pattern does in a revolution: where tips pass, how many at once, which orders of the speed they excite."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure
from ..model.check import Checks
from ..model.drum import Drum, slots
from ..model.hammer_pattern import CLOSE_DEG
from ..provenance import computed

__all__ = ["PatternAnswer", "order_strength", "pattern_answer", "tip_angles_deg"]

Array = NDArray[np.float64]
GEOMETRY = computed("geometry of the pattern, every tip cutting once a revolution")


def tip_angles_deg(drum: Drum) -> Array:
    """Where the tips stand, by slot number, from the first slot of row 0 in the sense of rotation; with their lead."""
    angles = np.array([s.angle_deg for s in slots(drum)])
    hammer = drum.hammer
    if hammer is None or not hammer.tip_mass_kg:
        return angles
    return angles + math.degrees(math.atan2(hammer.tip_ahead_mm, hammer.new_tip_radius_mm))


def order_strength(drum: Drum, orders: ArrayLike) -> Array:
    """How strongly hits at one place in space excite orders of the speed: 1 if all tips hit at once, 0 if they cancel.

    |sum of e^(i q angle)| over the number of tips, for every order q; equal hits of all tips.
    """
    angle = np.radians(tip_angles_deg(drum))
    q = np.asarray(orders, dtype=float)
    return np.asarray(np.abs(np.exp(1j * q[..., None] * angle).mean(axis=-1)))


@dataclass(frozen=True)
class PatternAnswer:
    """Tips in a revolution.

    tips: hits a revolution if every tip cuts. passes: separate moments of a revolution at which tips come by; at_once: most
    tips at one such moment. largest_gap_deg: between them. hit_rate_Hz at the speed asked. uncut_mm: strip between the cuts
    of neighbouring rows that no tip sweeps; negative: they overlap. first_order: lowest order of the speed that equal hits
    excite (strength above 1 %).
    """

    tips: int
    passes: int
    at_once: int
    largest_gap_deg: float
    hit_rate_Hz: float
    uncut_mm: float | None
    first_order: int
    closes: bool

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        out = (
            Figure("hits a revolution", self.tips, "-", "slots with a hammer", GEOMETRY),
            Figure("moments of a revolution at which tips pass", self.passes, "-", "distinct angles", GEOMETRY),
            Figure("most tips at once", self.at_once, "-", "tips at one angle", GEOMETRY),
            Figure("largest gap between passes", self.largest_gap_deg, "°", "neighbouring angles", GEOMETRY),
            Figure("passes a second", self.hit_rate_Hz, "Hz", "n / 60 · passes", GEOMETRY),
            Figure("lowest order of the speed excited", self.first_order, "-", "|sum e^(i q angle)| > 1 %", GEOMETRY),
        )
        if self.uncut_mm is None:
            return out
        return (*out, Figure("strip that no tip sweeps", self.uncut_mm, "mm", "pitch - width of the cut", GEOMETRY))


def pattern_answer(drum: Drum, *, speed_rpm: float) -> PatternAnswer:
    """Reads the pattern at a speed. Raises InputFault."""
    checks = Checks()
    checks.positive("speed_rpm", speed_rpm, "revolutions a minute")
    checks.done()
    angles = np.sort(np.round(tip_angles_deg(drum) % 360.0, 9))
    starts = [0, *(np.flatnonzero(np.diff(angles) > CLOSE_DEG) + 1)]
    groups = [len(g) for g in np.split(angles, starts[1:])]
    first = angles[starts]
    if len(first) > 1 and first[0] + 360.0 - angles[-1] <= CLOSE_DEG:
        groups[0] += groups.pop()
        first = first[:-1]
    gaps = np.diff(np.append(first, first[0] + 360.0))
    orders = np.arange(1, drum.slots_total + 1)
    excited = orders[order_strength(drum, orders) > 0.01]
    uncut = None if drum.hammer is None else drum.pitch_mm - drum.hammer.cut_width_mm
    return PatternAnswer(
        tips=drum.slots_total, passes=len(first), at_once=max(groups), largest_gap_deg=float(gaps.max()),
        hit_rate_Hz=speed_rpm / 60 * len(first), uncut_mm=uncut if drum.rows_total > 1 else None,
        first_order=int(excited[0]) if len(excited) else drum.slots_total, closes=drum.pattern.closes,
    )  # fmt: skip
