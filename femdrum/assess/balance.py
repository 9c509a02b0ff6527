"""Does the rotor run true? Permissible unbalance, what the positions can reach, and the plan, brought together as plain results.

Unbalance in g mm, complex: its angle counts from the drum's mark in the sense of rotation.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from ..errors import Fault, InputFault
from ..figure import Figure
from ..model.balance_input import BalanceInput, MassPositions
from ..rotor.balance_plan import BalancePlan, balance_plan, before_run, tolerances
from ..rotor.balance_planes import PlaneTolerances
from ..rotor.balance_record import BalanceRecord
from ..rotor.hammer_placement import Placement
from ..rotor.position_reach import Reach
from ..rotor.unbalance import budget, permissible_figures, permissible_unbalance_g_mm
from ..units import label

__all__ = ["HAMMERS", "NOT_CHECKED", "Balance", "HammerRow", "PlaneState", "balance"]

# of the record: weighed one by one, or the rotor runs bare
HAMMERS = ("weighed", "none fitted")

NOT_CHECKED: tuple[str, ...] = (
    "whether the rotor is rigid at its speed: the plan is for two planes; bending near a critical speed wants more (femdrum rotor)",
    "fatigue of what holds the masses, and the disc beneath them",
    "what hammers wear unevenly until the next change, beyond the share of the budget left for it",
    "foundation, mounts, looseness and resonance of the casing",
    "the readings themselves: runs that do not repeat, a mark that slipped, a thermal bow",
)


@dataclass(frozen=True)
class PlaneState:
    """One correction plane: unbalance as it is now, once hammers have changed places (the same where none do), and with the masses on."""

    number: int
    positions: MassPositions
    plates: tuple[int, ...]
    now_g_mm: complex
    placed_g_mm: complex
    after_g_mm: complex
    permissible_g_mm: float
    proven: bool
    fewest: bool
    bound_share: float

    @property
    def share(self) -> float:
        """What is left over the permissible."""
        return abs(self.after_g_mm) / self.permissible_g_mm


@dataclass(frozen=True)
class HammerRow:
    """A slot: mass of its hammer now, the slot its hammer comes from by the placement (its own: it stays), and that one's mass."""

    slot: int
    angle_deg: float
    z_mm: float
    mass_now_g: float
    from_slot: int
    mass_then_g: float


@dataclass(frozen=True)
class Balance:
    """The whole answer. plan, planes, hammers: None or empty without a record; moved: hammers change places in the plan, else the table only offers it."""

    given: BalanceInput
    limits: PlaneTolerances
    reach: tuple[Reach, ...]
    record: BalanceRecord | None
    plan: BalancePlan | None
    planes: tuple[PlaneState, ...]
    hammers: tuple[HammerRow, ...]
    figures: tuple[tuple[str, tuple[Figure, ...]], ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def moved(self) -> bool:
        """Whether hammers change places before masses are put on."""
        return self.given.place_hammers and bool(self.hammers)

    @property
    def proven(self) -> bool:
        """Whether no other choice of plates leaves less. False without a plan."""
        return self.plan is not None and self.plan.masses.proven

    @property
    def source(self) -> str:
        """Where the unbalance comes from, in words; empty without a plan."""
        if self.plan is None or self.record is None:
            return ""
        read = self.record.amplitude
        return self.plan.source.replace(read, label(read)) if read else self.plan.source

    @property
    def verdict(self) -> str:
        """ "within", "above" the permissible, or "no record" where only what can be reached is told."""
        if self.plan is None:
            return "no record"
        return "within" if self.plan.within else "above"


def balance(given: BalanceInput, record: BalanceRecord | None = None, *, hammers: str = "weighed") -> Balance:
    """What the positions can reach, and with a record the plan. hammers: "weighed", or "none fitted" for a rotor that runs bare.

    Raises InputFault: hammers fitted and their masses unknown; what balance_plan refuses.
    """
    if hammers not in HAMMERS:
        raise InputFault(Fault("record.hammers", hammers, f"must be one of {', '.join(map(repr, HAMMERS))}"))
    limits, whole = tolerances(given), permissible_unbalance_g_mm(
        grade_mm_s=given.grade_mm_s, mass_kg=given.rotor_mass_kg, speed_rpm=given.speed_rpm
    )  # fmt: skip
    if record is None:
        ahead = before_run(given)
        groups = (
            (
                "permissible unbalance",
                (*permissible_figures(given.grade_mm_s, given.rotor_mass_kg, given.speed_rpm), *limits.figures),
            ),
            ("budget", budget(whole)),
            *((f"reach of plane {n}", r.figures) for n, r in enumerate(ahead, 1)),
        )
        said = tuple(f"Plane {n}: {text}" for n, r in enumerate(ahead, 1) for text in r.warnings)
        notes = (
            f"The permissible unbalance holds for this condition: {given.condition}.",
            "No record: this is what the positions can do before any run.",
        )
        return Balance(given, limits, ahead, None, None, (), (), groups, notes, said)
    _known(record, hammers)
    plan = balance_plan(record, given)
    moved = given.place_hammers and plan.placement is not None
    rows = _hammers(record, plan.placement)
    return Balance(
        given, plan.tolerances, plan.reach, record, plan, _planes(plan, moved), rows,
        (*_groups(given, plan), ("budget", budget(whole)), *_holds(plan)), plan.notes, plan.warnings,
    )  # fmt: skip


def _known(record: BalanceRecord, hammers: str) -> None:
    if hammers == "weighed" and not record.seats:
        raise InputFault(
            Fault(
                "record.hammers", hammers, "the record has no weighed hammers: with hammers fitted whose masses are unknown nothing is balanced for long",
                "weigh them (rows of kind hammer), or say [record] hammers = 'none fitted' where the rotor runs bare",
            )
        )  # fmt: skip
    if hammers == "none fitted" and record.seats:
        raise InputFault(
            Fault(
                "record.hammers",
                hammers,
                f"contradicts the record, which weighs {len(record.seats)} hammers",
                "'weighed'",
            )
        )


def _planes(plan: BalancePlan, moved: bool) -> tuple[PlaneState, ...]:
    now = {row.plane: row for row in plan.rows if row.kind == "result"}
    made = []
    for number, plane in enumerate(plan.masses.planes, 1):
        row = now[number]
        assert row.before_g_mm is not None and row.before_deg is not None  # noqa: PT018
        first = plane.before_g_mm if not moved else _vector(row.before_g_mm, row.before_deg)
        made.append(
            PlaneState(
                number, plane.positions, plane.plates, first, plane.before_g_mm, plane.residual_g_mm, plane.permissible_g_mm, plane.proven, plane.fewest, plane.bound,
            )
        )  # fmt: skip
    return tuple(made)


def _vector(size: float, angle_deg: float) -> complex:
    return size * cmath.exp(1j * math.radians(angle_deg))


def _hammers(record: BalanceRecord, placement: Placement | None) -> tuple[HammerRow, ...]:
    if placement is None:
        return ()
    return tuple(
        HammerRow(seat.slot, seat.angle_deg % 360.0, seat.z_mm, mass, record.seats[k].slot, record.masses_g[k])
        for seat, mass, k in zip(record.seats, record.masses_g, placement.order, strict=True)
    )


def _groups(given: BalanceInput, plan: BalancePlan) -> list[tuple[str, tuple[Figure, ...]]]:
    """The plan's figures by what they are of."""
    groups = [
        (
            "permissible unbalance",
            (*permissible_figures(given.grade_mm_s, given.rotor_mass_kg, given.speed_rpm), *plan.tolerances.figures),
        ),
        *((f"reach of plane {n}", r.figures) for n, r in enumerate(plan.reach, 1)),
        ("measured", plan.correction.figures if plan.correction else ()),
        ("hammers placed", plan.placement.figures if plan.placement else ()),
        ("masses", plan.masses.figures),
        ("casing", plan.casing.figures if plan.casing else ()),
    ]
    told = {f for _, figures in groups for f in figures}
    return [*groups, ("more of the plan", tuple(f for f in plan.figures if f not in told))]


def _holds(plan: BalancePlan) -> tuple[tuple[str, tuple[Figure, ...]], ...]:
    """Of the mass that is pulled most."""
    if not plan.holds:
        return ()
    hardest = max(plan.holds, key=lambda hold: hold.overspeed_N)
    return ((f"the mass that is pulled most, {hardest.mass_g:.0f} g", hardest.figures),)
