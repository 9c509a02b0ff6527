"""The machine around the drum: power, speed, masses, the bars in its slots, and the weak links that cap a jam."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import ClassVar

from ..errors import MISSING
from .check import Checks

__all__ = ["CARRIES", "PATHS", "Bar", "Limit", "Machine", "RotorPart"]

# how a bar that goes through two opposed slots is held
PATHS = ("both", "one", "halves")
# what passes through a link: the whole torque of a jam, or only what the drive adds
CARRIES = ("all", "drive")


@dataclass(frozen=True, kw_only=True)
class Bar:
    """A bar through two opposed slots, with a tip at each end.

    path: "both" (one piece, clamped in both slots: a strut across the ring), "one" (one piece, clamped in one slot,
    floating in the other) or "halves" (two pieces, each hung on its own slot). No default: it decides what the
    shell carries, by more than a factor of ten.
    mass_kg: of the bar over its length_mm, evenly spread, without tips; tip_mass_kg: what sits at each end besides.
    width_mm along the drum's axis, depth_mm around the drum, in the direction of the tip force.
    cg_offset_mm: distance of the common centre of gravity from the axis, positive towards the slot it is clamped in
    or the lower-numbered one; uneven wear moves it.
    clamp_force_kN with which it is wedged in each slot, friction there (the lower bound): what a seat holds.
    """

    mass_kg: float
    length_mm: float
    width_mm: float
    depth_mm: float
    path: str
    tip_mass_kg: float = 0.0
    cg_offset_mm: float = 0.0
    youngs_modulus_MPa: float = 206_000.0
    yield_MPa: float | None = None
    clamp_force_kN: float | None = None
    friction: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        for field in ("mass_kg", "length_mm", "width_mm", "depth_mm"):
            checks.positive(field, getattr(self, field))
        checks.one_of("path", self.path, PATHS, "it decides what the shell carries, so it has no default")
        checks.number("tip_mass_kg", self.tip_mass_kg, least=0.0)
        checks.number("cg_offset_mm", self.cg_offset_mm)
        checks.number("youngs_modulus_MPa", self.youngs_modulus_MPa, least=1e3, most=1e6, way_out="steel: 206000")
        for field in ("yield_MPa", "clamp_force_kN"):
            checks.optional(field, getattr(self, field))
        if self.friction is not None:
            checks.number("friction", self.friction, above=0.0, most=1.0, way_out="the lower bound: does it hold?")
        checks.done()

    @property
    def total_mass_kg(self) -> float:
        """Bar and both tips."""
        return self.mass_kg + 2 * self.tip_mass_kg

    @property
    def half_mass_kg(self) -> float:
        """Half of the bar with one tip."""
        return 0.5 * self.mass_kg + self.tip_mass_kg

    @property
    def half_radius_mm(self) -> float:
        """Radius of the centre of gravity of half of the bar with one tip."""
        return (0.125 * self.mass_kg + 0.5 * self.tip_mass_kg) * self.length_mm / self.half_mass_kg

    @property
    def section_mm2(self) -> float:
        """Cross-section."""
        return self.width_mm * self.depth_mm


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A weak link that gives way and so caps a jam: by the torque it passes, or by the force at a tip; one of the two.

    carries, needed with a torque: "all" (the drum's own inertia acts through it too) or "drive" (belts, clutch, pins
    between drive and drum: they do not hold back the drum's inertia, so they do not cap a jam).
    """

    name: str
    torque_Nm: float | None = None
    tip_force_kN: float | None = None
    carries: str | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        if self.torque_Nm is not None and self.tip_force_kN is not None:
            allowed = f"contradicts torque_Nm = {self.torque_Nm}"
            checks.add("tip_force_kN", self.tip_force_kN, allowed, "give one of the two")
        elif self.tip_force_kN is not None:
            checks.positive("tip_force_kN", self.tip_force_kN)
            if self.carries not in (None, "all"):
                checks.add("carries", self.carries, "must be 'all' with a tip force", "leave it out")
        else:
            value: object = MISSING if self.torque_Nm is None else self.torque_Nm
            checks.positive("torque_Nm", value, "give torque_Nm or tip_force_kN")
            way_out = (
                "'drive' for belts, clutch or pins between drive and drum; 'all' if the drum's inertia acts through it"
            )
            checks.one_of("carries", self.carries, CARRIES, way_out)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class RotorPart:
    """A part's moment of inertia, spread evenly along the axis from from_mm to to_mm; at one place where both are equal.

    Places along the axis are counted from the drive end.
    """

    name: str
    inertia_kg_m2: float
    from_mm: float
    to_mm: float

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.positive("inertia_kg_m2", self.inertia_kg_m2, "leave out a part that weighs nothing")
        if checks.number("from_mm", self.from_mm):
            checks.number("to_mm", self.to_mm, least=self.from_mm, way_out="from_mm and to_mm from the drive end on")
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Machine:
    """What the loads of a machine are reckoned from. All is optional; a load says what it needs.

    power_kW at speed_rpm; inertia_kg_m2 and rotor_mass_kg of the whole rotor with bars and tips; tip_diameter_mm: the
    circle of the tips; tips_total: tips on the whole drum; bearing_span_mm between the bearings' middles;
    sheave_diameter_mm, and sheave_overhang_mm of the belt pull's middle beyond the drive bearing;
    belt_direction_deg: where the belts pull the shaft to, from straight down in the sense of rotation.
    rotor_parts: the inertia by place along the axis, for the torque of a jam along the drum.
    """

    kind: ClassVar[str] = "machine"
    power_kW: float | None = None
    speed_rpm: float | None = None
    inertia_kg_m2: float | None = None
    rotor_mass_kg: float | None = None
    tip_diameter_mm: float | None = None
    tips_total: int | None = None
    bearing_span_mm: float | None = None
    sheave_diameter_mm: float | None = None
    sheave_overhang_mm: float | None = None
    belt_direction_deg: float | None = None
    bar: Bar | None = None
    limits: tuple[Limit, ...] = ()
    rotor_parts: tuple[RotorPart, ...] | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        for f in fields(self):
            if f.name not in ("tips_total", "belt_direction_deg", "bar", "limits", "rotor_parts", "speed_rpm"):
                checks.optional(f.name, getattr(self, f.name))
        if self.speed_rpm is not None:
            checks.number("speed_rpm", self.speed_rpm, above=0.0, most=100_000.0)
        if self.tips_total is not None:
            checks.whole("tips_total", self.tips_total, 1, 10_000)
        if self.belt_direction_deg is not None:
            checks.number("belt_direction_deg", self.belt_direction_deg, least=-360.0, most=360.0)
        if self.bar is not None and not isinstance(self.bar, Bar):
            checks.add("bar", self.bar, "must be a Bar")
        if self.rotor_parts is not None:
            object.__setattr__(self, "rotor_parts", tuple(self.rotor_parts) or None)
            if not all(isinstance(part, RotorPart) for part in self.rotor_parts or ()):
                checks.add("rotor_parts", self.rotor_parts, "must be a list of RotorPart objects")
        if isinstance(self.limits, list):
            object.__setattr__(self, "limits", tuple(self.limits))
        if not isinstance(self.limits, tuple) or not all(isinstance(limit, Limit) for limit in self.limits):
            checks.add("limits", self.limits, "must be a list of Limit objects")
            return checks.done()
        names = [limit.name for limit in self.limits]
        for name in sorted({n for n in names if names.count(n) > 1}):
            checks.add("limits", name, "is the name of more than one limit")
        return checks.done()
