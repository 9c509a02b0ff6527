"""What plane load states do to the edge of one slot: peaks of all states, and the worst range at one place."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..handbook.boundary_integral import CASES, ODD, plane_solution
from ..handbook.domains import Domain, InfinitePlate
from ..handbook.exact import exact_kt
from ..model.check import Checks
from ..model.cutout import Slot

__all__ = ["RELATIVE", "Extreme", "PlaneState", "SlotEdge", "SlotStress", "full_round_mm", "slot_stress"]

Array = NDArray[np.float64]

CLOSE = 0.02  # states whose sampled peak is this near to the worst are looked at on the continuous edge
RELATIVE = 1e-5


@dataclass(frozen=True, kw_only=True)
class PlaneState:
    """Gross stresses around a slot at one moment, MPa, tension positive. All zero is allowed: the machine at rest.

    x runs around the drum (hoop), y along its axis; positive shear turns the +x end towards +y.
    """

    name: str
    stress_x_MPa: float = 0.0
    stress_y_MPa: float = 0.0
    shear_MPa: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        if not isinstance(self.name, str) or not self.name.strip() or len(self.name) > 80:
            checks.add("name", self.name, "must be a text of 1 to 80 characters")
        for field in ("stress_x_MPa", "stress_y_MPa", "shear_MPa"):
            checks.number(field, getattr(self, field))
        checks.done()

    @property
    def stresses_MPa(self) -> tuple[float, float, float]:
        """Stress x, stress y, shear."""
        return self.stress_x_MPa, self.stress_y_MPa, self.shear_MPa


@dataclass(frozen=True)
class Extreme:
    """A stress and one of its places; the edge's symmetry may give it others.

    MPa: a peak with its sign, or a range. states: the state of a peak; of a range the high and the low one.
    where: the part of the edge, in words; on an arc the direction of its normal.
    """

    MPa: float
    states: tuple[str, ...]
    x_mm: float
    y_mm: float
    where: str


@dataclass(frozen=True)
class SlotStress:
    """What all states do to one slot.

    peaks: of each state, in their order (a state at rest has 0 MPa). range: None with fewer than two states.
    est_rel_err: estimated relative error of the numbers.
    """

    slot: Slot
    peaks: tuple[Extreme, ...]
    range: Extreme | None
    est_rel_err: float

    @property
    def radius_mm(self) -> float:
        """Corner radius."""
        return self.slot.radius_mm

    @property
    def ratio(self) -> float:
        """Corner radius over half the short side; 1 is the full round."""
        return self.slot.radius_mm / full_round_mm(self.slot)

    @property
    def straight_mm(self) -> tuple[float, float]:
        """Straight length left on the sides along x and along y: seats for wedge and hammer."""
        return 2 * (self.slot.half_x_mm - self.radius_mm), 2 * (self.slot.half_y_mm - self.radius_mm)

    @property
    def peak(self) -> Extreme:
        """The peak of largest magnitude."""
        return max(self.peaks, key=lambda p: abs(p.MPa))

    def worst(self, criterion: str) -> Extreme:
        """What the criterion looks at."""
        if criterion == "range":
            assert self.range is not None
            return self.range
        return self.peak


def slot_stress(slot: Slot, states: Sequence[PlaneState], domain: Domain | None = None) -> SlotStress:
    """Peaks of all states and the worst range on the slot's edge, each found on the continuous edge."""
    around = domain or InfinitePlate()
    edge = SlotEdge(slot, states, around)
    error = 0.0

    def exact(factors: Array, names: tuple[str, ...]) -> Extreme:
        """A difference of two states is a state itself, and its peak is their range."""
        nonlocal error
        x, y, shear = map(float, factors)
        answer = exact_kt(slot, around, stress_x=x, stress_y=y, shear=shear, rel=RELATIVE)
        error = max(error, answer.est_rel_err)
        return Extreme(answer.signed, names, answer.x_mm, answer.y_mm, _where(slot, answer.x_mm, answer.y_mm))

    peaks = tuple(
        exact(factors, (s.name,)) if factors.any() else Extreme(0.0, (s.name,), slot.half_x_mm, 0.0, "nowhere")
        for s, factors in zip(states, edge.factors, strict=True)
    )
    pairs = edge.widest()
    ranges = [exact(edge.factors[i] - edge.factors[j], (states[i].name, states[j].name)) for i, j in pairs]
    if not ranges:
        return SlotStress(slot, peaks, None, error)
    top = max(ranges, key=lambda e: abs(e.MPa))
    high_first = top.states if top.MPa > 0 else top.states[::-1]
    return SlotStress(slot, peaks, replace(top, MPa=abs(top.MPa), states=high_first), error)


def full_round_mm(slot: Slot) -> float:
    """The largest corner radius: half the short side."""
    return min(slot.half_x_mm, slot.half_y_mm)


class SlotEdge:
    """The edge of one slot under all states, from the plane solution of one resolution: fast, for a search.

    A resolution's error shows as the difference from `slot_stress`, which compares two.
    """

    def __init__(self, slot: Slot, states: Sequence[PlaneState], domain: Domain) -> None:
        self.slot, self.states, self.domain = slot, tuple(states), domain
        self.factors = np.array([s.stresses_MPa for s in states])
        self.solution = plane_solution(slot, domain, 0)
        nodes = self.solution.stress.reshape(len(CASES), -1)
        mirrored = nodes * np.where(np.arange(len(CASES)) == ODD, -1.0, 1.0)[:, None]
        self.sampled: Array = self.factors @ np.concatenate([nodes, mirrored], axis=1)

    def worst(self, criterion: str) -> float:
        """Magnitude that the criterion looks at on the continuous edge, MPa."""
        if criterion == "range":
            near = [self.factors[i] - self.factors[j] for i, j in self.widest()]
        else:
            peaks = np.max(np.abs(self.sampled), axis=1)
            near = list(self.factors[peaks >= (1 - CLOSE) * peaks.max()])
        return max(abs(self.solution.peak(f)[0]) for f in near)

    def widest(self) -> list[tuple[int, int]]:
        """Pairs of states that may have the largest range; none where all states are alike."""
        pairs = list(itertools.combinations(range(len(self.states)), 2))
        ranges = np.array([np.max(np.abs(self.sampled[i] - self.sampled[j])) for i, j in pairs])
        return [pairs[k] for k in np.flatnonzero((ranges >= (1 - CLOSE) * np.max(ranges, initial=0.0)) & (ranges > 0))]


def _where(slot: Slot, x: float, y: float) -> str:
    a, b, r = slot.half_x_mm, slot.half_y_mm, slot.radius_mm
    over_x, over_y = abs(x) - (a - r), abs(y) - (b - r)
    tiny = 1e-9 * max(a, b)
    if over_y <= tiny and over_x > tiny:
        return "straight side along y" if b - r > tiny else "end of the arc on the x axis"
    if over_x <= tiny:
        return "straight side along x" if a - r > tiny else "end of the arc on the y axis"
    return f"corner arc, {math.degrees(math.atan2(over_y, over_x)):.0f} deg from the x axis"
