"""Forces at the tip of what is held in a slot, given or reckoned: they push on the slot's flanks, not on the shell at large."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from ..errors import MISSING
from .check import Checks
from .ring_loads import RING, check_slot

__all__ = ["TIP_LOADS", "WALLS", "Cutting", "Impact", "TipForce"]

# what holds the bar against tipping: the slot and the one opposite, or the slot's own wall alone
WALLS = ("two", "near")


@dataclass(frozen=True, kw_only=True)
class _AtTip:
    """Where the force acts and what holds the bar; shared by all forces at a tip.

    slot: where the tip is. walls: "two" (the bar rests in this slot and in the opposite one) or "near" (this slot's
    wall alone holds it, by a couple through the wall). No default.
    overhang_mm of the force above the outer surface: from the machine's tip_diameter_mm unless given.
    clearance_mm between bar and slot: the opposite slot does not help until the bar has tilted through it, against
    turning_stiffness_Nm_rad with which the slot's own wall resists; that must then be said.
    extent_mm: contact length along the flank: the bar's width, or the whole flat flank, unless given.
    """

    parts: ClassVar[tuple[str, ...]] = RING
    walls: str
    slot: int = 0
    overhang_mm: float | None = None
    clearance_mm: float = 0.0
    turning_stiffness_Nm_rad: float | None = None
    extent_mm: float | None = None

    def _check_tip(self, checks: Checks) -> None:
        check_slot(checks, self.slot)
        checks.one_of("walls", self.walls, WALLS, "it decides where the tip force goes, so it has no default")
        if self.overhang_mm is not None:
            checks.number("overhang_mm", self.overhang_mm, least=0.0, way_out="height above the shell's outer surface")
        if checks.number("clearance_mm", self.clearance_mm, least=0.0) and self.clearance_mm and self.walls == "near":
            checks.add(
                "clearance_mm", self.clearance_mm, 'must be 0 with walls = "near": the opposite slot has no part in it'
            )
        stiffness = self.turning_stiffness_Nm_rad
        if stiffness is not None:
            checks.positive("turning_stiffness_Nm_rad", stiffness)
        elif self.clearance_mm and self.walls == "two":
            checks.add(
                "turning_stiffness_Nm_rad", MISSING, "is missing; must be a finite number above 0",
                "it decides when the opposite slot is reached; or clearance_mm = 0",
            )  # fmt: skip
        checks.optional("extent_mm", self.extent_mm, "contact length along the flank")

    @property
    def _tip_fields(self) -> tuple[str, ...]:
        return ("tip_diameter_mm",) if self.overhang_mm is None else ()


@dataclass(frozen=True, kw_only=True)
class TipForce(_AtTip):
    """A force at a tip, around the drum; positive holds the drum back, so that the bar leans on the trailing flank."""

    kind: ClassVar[str] = "tip_force"
    force_kN: float
    name: str = "tip_force"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.nonzero("force_kN", self.force_kN)
        self._check_tip(checks)
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        return self._tip_fields


_CUTTING: dict[str, tuple[str, ...]] = {
    "power": ("cutting_share", "contact_path_mm"),
    "crushing": ("chip_width_mm", "chip_depth_mm"),
    "impulse": ("piece_mass_kg", "restitution", "duration_s"),
}


def _check_method(checks: Checks, load: Any, methods: dict[str, tuple[str, ...]], owned: dict[str, str]) -> None:
    """Fields of the method that was chosen: there, sound, and none of another's; `owned`: those that may be left out."""
    good = checks.one_of("method", load.method, methods)
    wanted = methods.get(load.method, ()) if good else ()
    for field in dict.fromkeys(f for many in methods.values() for f in many):
        value = getattr(load, field)
        if field in wanted:
            value = MISSING if value is None else value
            if field == "restitution":
                checks.number(field, value, least=0.0, most=1.0, way_out="0: no rebound")
            elif field == "cutting_share":
                checks.number(field, value, above=0.0, most=1.0, way_out="share of the tips that cut in a revolution")
            else:
                checks.positive(field, value)
        elif value is not None and good:
            owners = " or ".join(repr(m) for m, many in methods.items() if field in many)
            checks.add(field, value, f"does not belong to method {load.method!r}", f"it belongs to {owners}")
    for field, method in owned.items():
        value = getattr(load, field)
        if value is not None and good and load.method != method:
            checks.add(field, value, f"does not belong to method {load.method!r}", f"it belongs to {method!r}")


@dataclass(frozen=True, kw_only=True)
class Cutting(_AtTip):
    """The cutting force of one tip, by one of three methods, which the report names.

    "power": energy of a tip's pass from the machine's power, over contact_path_mm; cutting_share of the tips that cut.
    "crushing": crush_strength_MPa, or that of a wood of the small table, times chip_width_mm x chip_depth_mm;
    rate_factor for the speed of the hit, 1 or more (left out: 1, a slow test).
    "impulse": a piece of piece_mass_kg is taken along at tip speed within duration_s; restitution 0 to 1.
    """

    kind: ClassVar[str] = "cutting"
    method: str
    cutting_share: float | None = None
    contact_path_mm: float | None = None
    chip_width_mm: float | None = None
    chip_depth_mm: float | None = None
    crush_strength_MPa: float | None = None
    wood: str | None = None
    rate_factor: float | None = None
    piece_mass_kg: float | None = None
    restitution: float | None = None
    duration_s: float | None = None
    name: str = "cutting"

    def __post_init__(self) -> None:
        checks = Checks()
        _check_method(checks, self, _CUTTING, dict.fromkeys(("rate_factor", "crush_strength_MPa", "wood"), "crushing"))
        if self.rate_factor is not None:
            checks.number("rate_factor", self.rate_factor, least=1.0, way_out="1.5 to 2 is common practice")
        checks.optional("crush_strength_MPa", self.crush_strength_MPa)
        if self.wood is not None:
            checks.text("wood", self.wood)
        if self.method == "crushing" and (self.crush_strength_MPa is None) == (self.wood is None):
            value = MISSING if self.wood is None else self.crush_strength_MPa
            allowed = "is missing; " if self.wood is None else "stands beside a wood; "
            checks.add("crush_strength_MPa", value, f"{allowed}give it or a wood of the table, one of the two")
        self._check_tip(checks)
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        needs = {
            "power": ("power_kW", "speed_rpm", "tip_diameter_mm", "tips_total"),
            "impulse": ("speed_rpm", "tip_diameter_mm", "inertia_kg_m2"),
        }
        return tuple(dict.fromkeys((*needs.get(self.method, ()), *self._tip_fields)))


_IMPACT: dict[str, tuple[str, ...]] = {
    "impulse": ("duration_s",),
    "spring": ("stiffness_kN_mm",),
    "hertz": ("radius_mm",),
    "plastic": ("radius_mm",),
}
BEHIND = ("rotor", "bar")


@dataclass(frozen=True, kw_only=True)
class Impact(_AtTip):
    """A piece of mass_kg is hit by a tip.

    method: "impulse" (momentum within duration_s), "spring" (a contact of stiffness_kN_mm), "hertz" (a sphere of
    radius_mm, elastic), "plastic" (the same, contact pressure three times yield_MPa). restitution for the impulse, 0
    unless given. behind: what answers, "rotor" (inertia over tip radius squared) or "bar" (the bar alone, first
    moment). speed_m_s: the tip's unless given. dynamic_factor = true multiplies by the answer of the first local
    mode, first_frequency_Hz, to a half-sine push; without that frequency there is no such factor.
    """

    kind: ClassVar[str] = "impact"
    method: str
    mass_kg: float
    duration_s: float | None = None
    stiffness_kN_mm: float | None = None
    radius_mm: float | None = None
    restitution: float | None = None
    yield_MPa: float | None = None
    behind: str = "rotor"
    speed_m_s: float | None = None
    dynamic_factor: bool = False
    first_frequency_Hz: float | None = None
    name: str = "impact"

    def __post_init__(self) -> None:
        checks = Checks()
        _check_method(checks, self, _IMPACT, {"restitution": "impulse"})
        checks.positive("mass_kg", self.mass_kg)
        if self.restitution is not None:
            checks.number("restitution", self.restitution, least=0.0, most=1.0, way_out="0: no rebound")
        checks.optional("yield_MPa", self.yield_MPa)
        checks.one_of("behind", self.behind, BEHIND)
        checks.optional("speed_m_s", self.speed_m_s)
        checks.optional("first_frequency_Hz", self.first_frequency_Hz)
        if (
            checks.truth("dynamic_factor", self.dynamic_factor)
            and self.dynamic_factor
            and self.first_frequency_Hz is None
        ):
            checks.add(
                "first_frequency_Hz", MISSING, "is missing; must be a finite number above 0",
                "a dynamic factor without the first local frequency of the hit part would be a guess; "
                "give it, or leave dynamic_factor out",
            )  # fmt: skip
        self._check_tip(checks)
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        speed = () if self.speed_m_s is not None else ("speed_rpm", "tip_diameter_mm")
        mass = ("bar",) if self.behind == "bar" else ("inertia_kg_m2", "tip_diameter_mm")
        return tuple(dict.fromkeys((*speed, *mass, *self._tip_fields)))


TIP_LOADS: dict[str, Any] = {c.kind: c for c in (TipForce, Cutting, Impact)}
