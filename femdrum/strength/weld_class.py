"""Classes of welds by name, and how far a weld or a hardfacing must stay from a slot."""

from __future__ import annotations

import csv
import functools
import math
from dataclasses import dataclass
from importlib.resources import files

from ..errors import Fault, InputFault, nearest
from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..model.weld import WeldDetail
from ..provenance import Kind, Provenance, common_practice

__all__ = ["HARDFACING", "SlotZone", "WeldClass", "slot_zone", "weld_class", "weld_classes", "weld_distance_needed_mm"]

ZONE = common_practice("weld toes and hardfacing stay at least 0.5 sqrt(R t) away from slot ends")
# a hardfacing carries no load, and its rim is a toe; judged so for want of a class of its own (common practice)
HARDFACING = "toe, not load carrying"
KINDS = {
    "published": Kind.PUBLISHED,
    "standard": Kind.STANDARD,
    "common practice": Kind.COMMON_PRACTICE,
    "memory": Kind.MEMORY,
    "computed": Kind.COMPUTED,
}
REFERENCE_CYCLES = 2e6
NOTCH_LEAST_WALL_MM = 5.0


@dataclass(frozen=True)
class WeldClass:
    """A detail and its S-N curve.

    fat_MPa: stress range at 2e6 cycles, 97.7 % survival, of the stress that `method` names. slope up to knee_cycles,
    slope_beyond from there on under variable amplitude. thickness_exponent: n in (25 / t)^n.
    """

    detail: str
    fat_MPa: float
    method: str
    slope: float
    knee_cycles: float
    slope_beyond: float
    thickness_exponent: float
    note: str
    provenance: Provenance
    exponent_provenance: Provenance

    @property
    def knee_range_MPa(self) -> float:
        """Stress range at the knee."""
        return float(self.fat_MPa * (REFERENCE_CYCLES / self.knee_cycles) ** (1 / self.slope))

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure(f"class of {self.detail} ({self.method})", self.fat_MPa, "MPa", "range at 2e6 cycles, 97.7 % survival", self.provenance),
            Figure("exponent of thickness", self.thickness_exponent, "-", "(25 mm / t)^n", self.exponent_provenance),
        )  # fmt: skip


@functools.cache
def weld_classes() -> tuple[WeldClass, ...]:
    """All classes of the table."""
    text = files(__package__).joinpath("weld_classes.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return tuple(
        WeldClass(
            r["detail"], float(r["fat_MPa"]), r["method"], float(r["slope"]), float(r["knee_cycles"]),
            float(r["slope_beyond"]), float(r["thickness_exponent"]), r["note"],
            Provenance(KINDS[r["kind"]], r["source"], r["seen"]),
            Provenance(KINDS[r["exponent_kind"]], r["exponent_source"]),
        )
        for r in rows
    )  # fmt: skip


def weld_class(detail: str, method: str | None = None) -> WeldClass:
    """The class of a detail, by the stress that `method` names if given. Raises InputFault."""
    table = {c.detail: c for c in weld_classes()}
    if detail not in table:
        known = "; ".join(repr(n) for n in table)
        way_out = nearest(detail, table) or "a detail that is not here needs a class of the user's own"
        raise InputFault(Fault("detail", detail, f"must be one of {known}", way_out))
    found = table[detail]
    if method is not None and found.method != method:
        same = ", ".join(repr(c.detail) for c in table.values() if c.method == method)
        allowed = f"is the stress that {detail!r} is not judged by: its class is for {found.method!r}"
        raise InputFault(Fault("method", method, allowed, f"use method = {found.method!r}, or one of {same}"))
    return found


@stated("distance that a weld must keep from a slot's end", "mm", "0.5 sqrt(R t)", ZONE)
def weld_distance_needed_mm(radius_mm: float, wall_mm: float) -> float:
    """Least distance from a slot's end to the toe of a weld or the rim of a hardfacing: 0.5 sqrt(R t), mm.

    radius_mm: of the middle of the wall. Raises InputFault.
    """
    checks = Checks()
    radius = checks.positive("radius_mm", radius_mm, "radius of the middle of the wall")
    wall = checks.positive("wall_mm", wall_mm)
    if radius and wall and wall_mm >= 2 * radius_mm:
        checks.add(
            "wall_mm", wall_mm, f"must be below twice the radius, {2 * radius_mm:g} mm", "radius of the wall's middle"
        )
    checks.done()
    return 0.5 * math.sqrt(radius_mm * wall_mm)


@dataclass(frozen=True)
class SlotZone:
    """Whether a weld stands clear of a slot.

    class_: its class; None inside the zone, where no class was ever tested, so that no life is given.
    lowest_MPa: the lowest class of the table, for comparison only: inside the zone even that promises nothing.
    """

    allowed: bool
    distance_mm: float
    needed_mm: float
    class_: WeldClass | None
    lowest_MPa: float
    verdict: str

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        rows = [
            figure(weld_distance_needed_mm, self.needed_mm),
            Figure("distance of the weld from the slot's end", self.distance_mm, "mm", "declared", common_practice("declared by the user")),
        ]  # fmt: skip
        return (*rows, *(self.class_.figures if self.class_ else ()))

    def require(self) -> WeldClass:
        """The class, or InputFault inside the zone."""
        if self.class_ is None:
            way_out = f"move it at least {self.needed_mm:.3g} mm from the slot's end, or judge it as a crack"
            raise InputFault(Fault("distance_from_slot_mm", self.distance_mm, self.verdict, way_out))
        return self.class_


def slot_zone(detail: WeldDetail, *, radius_mm: float, wall_mm: float) -> SlotZone:
    """Look whether a weld or hardfacing near a slot stands in the forbidden zone; radius_mm of the wall's middle.

    A weld without distance_from_slot_mm stands far from slots; a hardfacing is a detail HARDFACING. Raises InputFault for an unknown class.
    """
    needed = weld_distance_needed_mm(radius_mm, wall_mm)
    own = weld_class(detail.detail, detail.method)
    lowest = min(c.fat_MPa for c in weld_classes())
    distance = math.inf if detail.distance_from_slot_mm is None else detail.distance_from_slot_mm
    if distance >= needed:
        return SlotZone(True, distance, needed, own, lowest, f"{detail.name} stands clear of the slot")
    text = (
        f"puts {detail.name} inside the forbidden zone of {needed:.3g} mm: no class holds there, because the slot's own "
        f"peak and the toe fall together; the lowest class of the table, {lowest:g} MPa, promises nothing either"
    )
    return SlotZone(False, distance, needed, None, lowest, text)
