"""What retention is proven for: hits on a bar, its own turning, accidents; and what else is asked: wear, release, seats. Frozen, checked."""

from __future__ import annotations

from dataclasses import dataclass, fields

from ..errors import MISSING
from .check import Checks
from .clamp import BOLT_CLASSES, PITCHES_MM

__all__ = ["Accident", "Hit", "ReleaseAsked", "SeatError", "Turning", "WearAsked"]

SPEED = {
    "least": 60.0,
    "most": 20_000.0,
    "way_out": "revolutions a minute: 60 times revolutions a second, 9.55 times rad/s",
}
OPENING = (
    "µm between the flanks at that speed, from the field of the drum; positive opens, 0 where it was found to be none"
)


def _required(checks: Checks, thing: object, *names: str, **limits: object) -> None:
    for name in names:
        checks.number(name, getattr(thing, name), **limits)  # type: ignore[arg-type]


@dataclass(frozen=True, kw_only=True)
class Hit:
    """A hit on the tip of a bar that stands in a slot, or in two opposed ones.

    force_kN across the slot at overhang_mm above the shell of wall_mm; width_mm of the bar along the drum. walls: "two" bear, with
    spacing_mm between their middles, or the near "one" alone. clearance_mm at the far slot: until it is used up the near wall stands
    alone, and resists with turning_stiffness_Nm_rad. towards: face that the hit presses on. along_kN: along the near slot's faces.
    tramp: rare, foreign metal. slot_opening_um: of the slot at speed_rpm. wedge_out_kN: along the wedge, pulls it out.
    """

    name: str
    force_kN: float
    overhang_mm: float
    wall_mm: float
    width_mm: float
    walls: str
    speed_rpm: float
    slot_opening_um: float
    spacing_mm: float | None = None
    clearance_mm: float = 0.0
    turning_stiffness_Nm_rad: float | None = None
    towards: str = "flank"
    along_kN: float = 0.0
    tramp: bool = False
    wedge_out_kN: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        for field in ("force_kN", "wall_mm", "width_mm"):
            checks.positive(field, getattr(self, field))
        _required(checks, self, "overhang_mm", "clearance_mm", "wedge_out_kN", least=0.0)
        two = checks.one_of("walls", self.walls, ("two", "one"), "'one' where the far slot is loose, worn or empty")
        for field in ("spacing_mm", "turning_stiffness_Nm_rad"):
            checks.optional(field, getattr(self, field))
        if two and self.walls == "two" and self.spacing_mm is None:
            checks.add(
                "spacing_mm", MISSING, "is missing; must be a number above 0", "between the middles of the two walls"
            )
        _required(checks, self, "speed_rpm", **SPEED)
        _required(checks, self, "slot_opening_um", least=-1000.0, most=1000.0, way_out=OPENING)
        checks.one_of("towards", self.towards, ("flank", "wedge"))
        checks.number("along_kN", self.along_kN)
        checks.truth("tramp", self.tramp)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Turning:
    """A whole bar at speed, nothing cut: its net centrifugal force by offset_mm of its centre of gravity, on the faces of 1 or 2 clamped slots."""

    name: str
    bar_mass_kg: float
    offset_mm: float
    speed_rpm: float
    slots: int
    slot_opening_um: float

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.positive("bar_mass_kg", self.bar_mass_kg)
        checks.number("offset_mm", self.offset_mm, way_out="of the bar's centre of gravity from the drum's axis")
        _required(checks, self, "speed_rpm", **SPEED)
        checks.whole("slots", self.slots, 1, 2, "slots that clamp the bar")
        _required(checks, self, "slot_opening_um", least=-1000.0, most=1000.0, way_out=OPENING)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Accident:
    """The bar broken, one half alone fitted, or the wedge lost: the whole pull of a half, which a positive stop has to carry."""

    name: str
    half_mass_kg: float
    half_radius_mm: float
    speed_rpm: float

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.positive("half_mass_kg", self.half_mass_kg, "of what is left in one slot")
        checks.positive("half_radius_mm", self.half_radius_mm, "of its centre of gravity, from the drum's axis")
        _required(checks, self, "speed_rpm", **SPEED)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class WearAsked:
    """How far slot and seat may wear: allowed_MPa at the near slot's outer rim, under the hit of that name.

    hit: the largest that is not tramp unless given. turning_stiffness_Nm_rad of the near wall: an upper estimate, on the safe side
    for the rim, unless given.
    """

    allowed_MPa: float
    hit: str | None = None
    turning_stiffness_Nm_rad: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        checks.positive(
            "allowed_MPa", self.allowed_MPa, "pressure that the rim may bear; 0.7 to 1.0 of yield is usual at rest"
        )
        if self.hit is not None:
            checks.text("hit", self.hit)
        checks.optional("turning_stiffness_Nm_rad", self.turning_stiffness_Nm_rad)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class ReleaseAsked:
    """How the wedge is drawn: jack screws on each wedge and their class, mass of the hammer for a blow."""

    screws: int = 1
    property_class: str = "10.9"
    blow_mass_kg: float = 2.0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.whole("screws", self.screws, 1, 12, f"jack screws on each wedge, up to M{max(PITCHES_MM)}")
        checks.one_of("property_class", self.property_class, BOLT_CLASSES)
        checks.positive("blow_mass_kg", self.blow_mass_kg)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class SeatError:
    """Angular error under which the seats stand: about their tilting axis and across it; force_kN: the most clamp unless given."""

    angle_deg: float
    across_deg: float = 0.0
    force_kN: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        for f in fields(self)[:2]:
            checks.number(
                f.name, getattr(self, f.name), least=0.0, most=5.0, way_out="an error of alignment, in degrees"
            )
        checks.optional("force_kN", self.force_kN)
        checks.done()
