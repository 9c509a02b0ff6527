"""Loads on a drum shell that need no machine: speed, pull, bending, transverse force, torsion, pressure, flanks, clamps.

Angles are counted from the middle of slot 0 in the sense of rotation. A load that stands still in space turns
in the drum: its angles are counted from straight down in the sense of rotation.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from ..errors import MISSING, InputFault
from .check import Checks
from .clamp_contact import ClampContact
from .flank import FLANKS

__all__ = [
    "RING_LOADS",
    "Axial",
    "Bending",
    "FlankPressure",
    "FlankShear",
    "InternalPressure",
    "OpposedPull",
    "Rotation",
    "Torsion",
    "Transverse",
    "WedgeClamp",
]

RING = ("ring",)
MOST_SLOT = 23


def check_hung(checks: Checks, mass_kg: object, radius_mm: object) -> None:
    """A hung mass and the radius of its centre of gravity, which it needs."""
    if checks.number("hung_mass_kg", mass_kg, least=0.0) and (mass_kg != 0 or radius_mm is not None):
        value: object = MISSING if radius_mm is None else radius_mm
        checks.positive("hung_radius_mm", value, "radius of the hung mass's centre of gravity")


def check_slot(checks: Checks, slot: object, every: bool = False) -> None:
    """The number of a slot, or "all" where every slot may carry the load."""
    if every and slot == "all":
        return
    if every and (slot is MISSING or slot is None or isinstance(slot, str)):
        missing = slot is MISSING or slot is None
        checks.add(
            "slot", MISSING if missing else slot,
            f"{'is missing; ' if missing else ''}must be a slot's number, 0 for the first, or 'all'",
        )  # fmt: skip
        return
    checks.whole("slot", slot, 0, MOST_SLOT, "slots are counted from 0 in the sense of rotation")


def check_patch(checks: Checks, extent_mm: object, taper_mm: object, shear: bool) -> None:
    """Extent and taper as far as they can be judged without the part."""
    good = checks.optional("extent_mm", extent_mm, "length along the flank; leave it out for the whole flat flank")
    if taper_mm is None:
        return
    if shear and taper_mm == 0:
        checks.add(
            "taper_mm", taper_mm, "must be above 0: a shear that stops short has no finite peak",
            "leave it out for a sixth of the extent",
        )  # fmt: skip
    elif checks.number("taper_mm", taper_mm, least=0.0) and good and isinstance(extent_mm, (int, float)):
        checks.number("taper_mm", taper_mm, most=0.5 * extent_mm, way_out="at most half of extent_mm")


def _check_direction(checks: Checks, direction_deg: object, rotating: object) -> None:
    if checks.truth("rotating", rotating) and direction_deg is None and not rotating:
        checks.add(
            "direction_deg", MISSING, "is missing; must be a finite number",
            "angle in the drum from slot 0; or rotating = true for a load that stands still in space",
        )  # fmt: skip
    elif direction_deg is not None:
        checks.number("direction_deg", direction_deg, least=-360.0, most=360.0)


@dataclass(frozen=True, kw_only=True)
class Rotation:
    """Steady speed about the drum's axis.

    hung_mass_kg: what hangs on the edge of each slot (0: empty slots), with its centre of gravity at
    hung_radius_mm from the axis. It pulls outward with m r omega^2 on the flat leading and trailing
    flanks, zero at both rims and at the flanks' ends; where a slot has no flat flanks along its whole edge.
    """

    kind: ClassVar[str] = "rotation"
    parts: ClassVar[tuple[str, ...]] = RING
    speed_rpm: float
    hung_mass_kg: float = 0.0
    hung_radius_mm: float | None = None
    name: str = "rotation"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("speed_rpm", self.speed_rpm, above=0.0, most=100_000.0)
        check_hung(checks, self.hung_mass_kg, self.hung_radius_mm)
        checks.text("name", self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Axial:
    """Pull along the drum's axis: stress on the plain shell, or the force on its cross-section; one of the two."""

    kind: ClassVar[str] = "axial"
    parts: ClassVar[tuple[str, ...]] = RING
    stress_MPa: float | None = None
    force_kN: float | None = None
    name: str = "axial"

    def __post_init__(self) -> None:
        checks = Checks()
        if self.stress_MPa is not None and self.force_kN is not None:
            checks.add("force_kN", self.force_kN, f"contradicts stress_MPa = {self.stress_MPa}", "give one of the two")
        elif self.force_kN is not None:
            checks.nonzero("force_kN", self.force_kN)
        else:
            checks.nonzero("stress_MPa", MISSING if self.stress_MPa is None else self.stress_MPa)
        checks.text("name", self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Bending:
    """Constant bending moment of the shell.

    direction_deg: where its tension side is: in the drum, or, with rotating = true, in space (then 0, straight
    down, unless given), so that the drum turns through it once a revolution.
    """

    kind: ClassVar[str] = "bending"
    parts: ClassVar[tuple[str, ...]] = RING
    moment_Nm: float
    direction_deg: float | None = None
    rotating: bool = False
    name: str = "bending"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.nonzero("moment_Nm", self.moment_Nm)
        _check_direction(checks, self.direction_deg, self.rotating)
        checks.text("name", self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Transverse:
    """Transverse force in the shell, on the face that looks to +y; the bending moment is zero at mid-row.

    direction_deg: where the force points, in the drum, or, with rotating = true, in space (then 0, straight down,
    unless given).
    """

    kind: ClassVar[str] = "transverse"
    parts: ClassVar[tuple[str, ...]] = RING
    force_kN: float
    direction_deg: float | None = None
    rotating: bool = False
    name: str = "transverse"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.nonzero("force_kN", self.force_kN)
        _check_direction(checks, self.direction_deg, self.rotating)
        checks.text("name", self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Torsion:
    """Torque in the shell; positive turns the +y end in the sense of rotation."""

    kind: ClassVar[str] = "torsion"
    parts: ClassVar[tuple[str, ...]] = RING
    torque_Nm: float
    name: str = "torsion"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.nonzero("torque_Nm", self.torque_Nm)
        checks.text("name", self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class InternalPressure:
    """Pressure on the bore, not on the slots' flanks; net axial force zero. Negative pulls inward."""

    kind: ClassVar[str] = "internal_pressure"
    parts: ClassVar[tuple[str, ...]] = RING
    pressure_MPa: float
    name: str = "internal_pressure"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.nonzero("pressure_MPa", self.pressure_MPa)
        checks.text("name", self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class FlankPressure:
    """Pressure on a slot's flank: pressure_MPa uniform, linear_MPa through the wall (+ at the outer rim, - at the bore).

    slot: its number, or "all". flank: leading, trailing, free_end, drive_end. extent_mm along the flank about its
    middle (left out: the whole flat flank), taper_mm at each end of it (left out: a sixth of it).
    """

    kind: ClassVar[str] = "flank_pressure"
    parts: ClassVar[tuple[str, ...]] = RING
    slot: int | str
    flank: str
    pressure_MPa: float = 0.0
    linear_MPa: float = 0.0
    extent_mm: float | None = None
    taper_mm: float | None = None
    name: str = "flank_pressure"

    def __post_init__(self) -> None:
        checks = Checks()
        check_slot(checks, self.slot, every=True)
        checks.one_of("flank", self.flank, FLANKS)
        good = checks.number("pressure_MPa", self.pressure_MPa) & checks.number("linear_MPa", self.linear_MPa)
        if good and self.pressure_MPa == 0 and self.linear_MPa == 0:
            checks.add("pressure_MPa", 0.0, "must not be zero together with linear_MPa", "leave the load out")
        check_patch(checks, self.extent_mm, self.taper_mm, shear=False)
        checks.text("name", self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class FlankShear:
    """Shear on a slot's flank, zero at the ends of its extent.

    direction: "wall" through the wall, positive outward, or "edge" along the flank, positive to +y on the leading
    and the trailing flank and to +x on the ends. The other fields as for a pressure on a flank.
    """

    kind: ClassVar[str] = "flank_shear"
    parts: ClassVar[tuple[str, ...]] = RING
    slot: int | str
    flank: str
    direction: str
    shear_MPa: float = 0.0
    linear_MPa: float = 0.0
    extent_mm: float | None = None
    taper_mm: float | None = None
    name: str = "flank_shear"

    def __post_init__(self) -> None:
        checks = Checks()
        check_slot(checks, self.slot, every=True)
        checks.one_of("flank", self.flank, FLANKS)
        checks.one_of("direction", self.direction, ("wall", "edge"))
        good = checks.number("shear_MPa", self.shear_MPa) & checks.number("linear_MPa", self.linear_MPa)
        if good and self.shear_MPa == 0 and self.linear_MPa == 0:
            checks.add("shear_MPa", 0.0, "must not be zero together with linear_MPa", "leave the load out")
        check_patch(checks, self.extent_mm, self.taper_mm, shear=True)
        checks.text("name", self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class WedgeClamp:
    """What is wedged in every slot pushes its leading and its trailing flank apart with this force each.

    contact: hammer and wedge, so that the pressure through the wall is solved as contact; without it the pressure is even.
    """

    kind: ClassVar[str] = "wedge_clamp"
    parts: ClassVar[tuple[str, ...]] = RING
    force_kN: float
    name: str = "wedge_clamp"
    contact: ClampContact | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        checks.positive("force_kN", self.force_kN, "a clamp pushes the flanks apart")
        if isinstance(self.contact, dict):  # from stored inputs
            object.__setattr__(self, "contact", _contact(checks, self.contact))
        elif self.contact is not None and not isinstance(self.contact, ClampContact):
            checks.add("contact", self.contact, "must be a ClampContact", "leave it out for an even pressure")
        checks.text("name", self.name)
        checks.done()


def _contact(checks: Checks, fields: dict[str, Any]) -> ClampContact | None:
    """From plain values, faults named as in the file."""
    try:
        return ClampContact(**fields)
    except InputFault as error:
        for fault in error.faults:
            checks.add(f"contact.{fault.field}", fault.value, fault.allowed, fault.way_out)
    except TypeError:
        checks.add("contact", fields, "holds a field that is not known, or lacks one")
    return None


@dataclass(frozen=True, kw_only=True)
class OpposedPull:
    """Equal pulls outward on a slot and on the one opposite; negative: a bar that holds the two together.

    slot: one of the two. The pull acts as shear on their leading and trailing flanks.
    """

    kind: ClassVar[str] = "opposed_pull"
    parts: ClassVar[tuple[str, ...]] = RING
    force_kN: float
    slot: int = 0
    name: str = "opposed_pull"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.nonzero("force_kN", self.force_kN)
        check_slot(checks, self.slot)
        checks.text("name", self.name)
        checks.done()


RING_LOADS: dict[str, Any] = {
    c.kind: c
    for c in (
        Rotation,
        Axial,
        Bending,
        Transverse,
        Torsion,
        InternalPressure,
        FlankPressure,
        FlankShear,
        WedgeClamp,
        OpposedPull,
    )
}
