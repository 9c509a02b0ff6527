"""The corner radius of a slot that makes the worst stress over a mix of plane loads least.

A radius that is best for one load is not best for another: pull across the slot likes a little less than the
full round, shear likes the full round. So all states of the machine are looked at together.

What may vary: the corner radius, and with `vary_x_mm` or `vary_y_mm` one of the two sizes, the other kept. That
is what a designer has in hand: the hammer's seat fixes the slot's length along the axis, and the wedge's
thickness leaves room around the drum (or the reverse). The opening's area is nobody's requirement and is not kept.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..handbook.domains import Domain, InfinitePlate
from ..model.cutout import Slot
from ..provenance import Provenance, computed
from .best_radius_check import check_question
from .best_radius_edge import RELATIVE, PlaneState, SlotEdge, SlotStress, full_round_mm, slot_stress
from .best_radius_search import Least, least, stretch_below

__all__ = ["CRITERIA", "FLAT", "BestRadius", "best_radius"]

CRITERIA = {
    "peak": "largest |stress along the slot's edge| of any state",
    "range": "largest range at one place of the slot's edge: highest less lowest signed stress over all states",
}
LEAST_SHARE = 0.1  # lower limit of the radius where none is given, of half the short side
FLAT = 0.01
METHOD = computed(
    "exact plane solution by a boundary integral, two discretisations compared; radius by sampling, bounded scalar "
    "minimisation and a look at the neighbours"
)


@dataclass(frozen=True)
class BestRadius:
    """The best slot, beside the full round and the given one.

    best, full_round (at the given sizes), best_full_round (at the best slot's sizes), given (None: no radius given).
    radius_limits_mm: as used, the upper one no more than the full round of the best slot. size_limits_mm: of `varied`.
    flat_mm: radii around the best, at its sizes, whose worst stress is at most FLAT above it.
    active: the limits that stop the best from going further. radii_mm, worst_MPa: all that was computed at the best
    slot's sizes, rising. verified: no neighbour was found that is better.
    """

    states: tuple[PlaneState, ...]
    criterion: str
    best: SlotStress
    full_round: SlotStress
    best_full_round: SlotStress
    given: SlotStress | None
    radius_limits_mm: tuple[float, float]
    varied: str
    size_limits_mm: tuple[float, float] | None
    flat_mm: tuple[float, float]
    active: tuple[str, ...]
    radii_mm: tuple[float, ...]
    worst_MPa: tuple[float, ...]
    verified: bool
    notes: tuple[str, ...]
    provenance: Provenance = METHOD

    @property
    def is_full_round(self) -> bool:
        """The best is the full round."""
        return self.best.radius_mm >= full_round_mm(self.best.slot) * (1 - 1e-9)

    def lower_than(self, other: SlotStress) -> float:
        """By what share the best's worst stress is lower than another slot's."""
        return 1 - abs(self.best.worst(self.criterion).MPa) / abs(other.worst(self.criterion).MPa)


def best_radius(
    states: Sequence[PlaneState],
    *,
    size_x_mm: float,
    size_y_mm: float,
    criterion: str = "peak",
    radius_limits_mm: tuple[float, float] | None = None,
    given_radius_mm: float | str | None = None,
    vary_x_mm: tuple[float, float] | None = None,
    vary_y_mm: tuple[float, float] | None = None,
    domain: Domain | None = None,
) -> BestRadius:
    """The corner radius, and within limits one size, with the least worst stress over all states.

    criterion: "peak" or "range", see CRITERIA. radius_limits_mm: without them from LEAST_SHARE of half the short
    side to the full round. given_radius_mm: a radius to lay beside, or "full". vary_x_mm or vary_y_mm: limits of that
    size, which contain the slot's own. domain: what surrounds the slot; without it an infinite plate.
    Raises InputFault with all faults.
    """
    states = tuple(states)
    check_question(
        states, criterion, CRITERIA, {"x": size_x_mm, "y": size_y_mm}, radius_limits_mm, given_radius_mm,
        {"x": vary_x_mm, "y": vary_y_mm},
    )  # fmt: skip
    vary = vary_x_mm or vary_y_mm
    family = _Family(
        states, criterion, domain or InfinitePlate(), {"size_x_mm": float(size_x_mm), "size_y_mm": float(size_y_mm)},
        "size_x_mm" if vary_x_mm else "size_y_mm" if vary_y_mm else "", radius_limits_mm, vary,
    )  # fmt: skip
    sizes = least(family.at_best_radius, *family.vary, samples=7, tolerance=5e-3) if family.vary else None
    size = sizes.x if sizes else None
    found = family.over_radius(size, samples=17, tolerance=2e-4)
    best = family.stress(found.x, size)
    full_round = family.stress("full")
    verified = found.verified and (sizes is None or sizes.verified)
    return BestRadius(
        states=states,
        criterion=criterion,
        best=best,
        full_round=full_round,
        best_full_round=full_round if size is None else family.stress("full", size),
        given=None if given_radius_mm is None else family.stress(given_radius_mm),
        radius_limits_mm=family.limits(size),
        varied=family.varied,
        size_limits_mm=family.vary,
        flat_mm=stretch_below(lambda r: family.value(r, size), found, (1 + FLAT) * found.value),
        active=_active(family, found.x, size),
        radii_mm=found.xs,
        worst_MPa=found.values,
        verified=verified,
        notes=_notes(best, family, verified),
    )


class _Family:
    """The slots among which the best is looked for."""

    def __init__(
        self,
        states: tuple[PlaneState, ...],
        criterion: str,
        domain: Domain,
        own: dict[str, float],
        varied: str,
        radius_limits: tuple[float, float] | None,
        vary: tuple[float, float] | None,
    ) -> None:
        self.states, self.criterion, self.domain, self.own, self.varied = states, criterion, domain, own, varied
        self.vary = (float(vary[0]), float(vary[1])) if vary else None
        smallest = min(self.full(size) for size in (None, *(self.vary or ())))
        low, high = radius_limits or (LEAST_SHARE * smallest, math.inf)
        self.low, self.high = float(low), float(high)

    def sizes(self, size: float | None) -> dict[str, float]:
        """Both sizes where the varied one has this value; None: the slot's own."""
        return self.own if size is None else {**self.own, self.varied: size}

    def full(self, size: float | None) -> float:
        """The full round's radius."""
        return 0.5 * min(self.sizes(size).values())

    def limits(self, size: float | None) -> tuple[float, float]:
        """Limits of the radius."""
        return self.low, min(self.high, self.full(size))

    def slot(self, radius: float | str, size: float | None = None) -> Slot:
        """A member."""
        if not isinstance(radius, str):
            radius = min(radius, self.full(size))
        return Slot(**self.sizes(size), corner_radius_mm=radius)

    def stress(self, radius: float | str, size: float | None = None) -> SlotStress:
        """All that the states do to a member."""
        return slot_stress(self.slot(radius, size), self.states, self.domain)

    def value(self, radius: float, size: float | None = None) -> float:
        """What the criterion looks at, MPa."""
        return SlotEdge(self.slot(radius, size), self.states, self.domain).worst(self.criterion)

    def over_radius(self, size: float | None, samples: int, tolerance: float) -> Least:
        """The best radius at one size."""
        low, high = self.limits(size)
        if high - low <= 1e-9 * low:  # no room at this size
            only = self.value(low, size)
            return Least(low, only, (low,), (only,), True)
        return least(lambda r: self.value(r, size), low, high, samples=samples, tolerance=tolerance)

    def at_best_radius(self, size: float) -> float:
        """What is left at this size with its own best radius, MPa; more coarsely than at the end."""
        return self.over_radius(size, samples=9, tolerance=2e-3).value


def _active(family: _Family, radius: float, size: float | None) -> tuple[str, ...]:
    low, high = family.limits(size)
    near = 1e-3 * (high - low)
    out = []
    if radius >= high - near:
        whole = high >= family.full(size) * (1 - 1e-9)
        out.append(f"upper limit of the radius, {high:.4g} mm" + (" (full round)" if whole else ""))
    if radius <= low + near:
        out.append(f"lower limit of the radius, {low:.4g} mm")
    if family.vary and size is not None:
        near = 2e-3 * (family.vary[1] - family.vary[0])
        for which, limit in zip(("lower", "upper"), family.vary, strict=True):
            if abs(size - limit) <= near:
                out.append(f"{which} limit of {family.varied}, {limit:g} mm")
    return tuple(out)


def _notes(best: SlotStress, family: _Family, verified: bool) -> tuple[str, ...]:
    notes = ["Plane stress, the slot's edge free of load: no clamp, no hammer reaction, no curvature of the shell."]
    if isinstance(family.domain, InfinitePlate):
        notes.append("Infinite plate: neighbouring slots and the section that the slots take away are not in it.")
    if family.varied:
        kept = "size_y_mm" if family.varied == "size_x_mm" else "size_x_mm"
        notes.append(
            f"{family.varied} was varied, {kept} kept, the gross stresses too: what a larger opening takes from the "
            "section, and whether the hammer still fits, is to be judged apart."
        )
    if best.est_rel_err > RELATIVE:
        notes.append(f"The plane solution is good to {best.est_rel_err:.0e} only, and the search to ten times that.")
    if not verified:
        notes.append("A neighbour of the best gave a lower stress in the last look: take the best as near, not exact.")
    return tuple(notes)
