"""Loads reckoned from the machine's data. Each says which of them it needs (`machine_fields`)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from ..errors import MISSING
from .check import Checks
from .ring_loads import RING, check_hung, check_slot

__all__ = [
    "MACHINE_LOADS",
    "BeltPull",
    "DriveTorque",
    "Jam",
    "Overspeed",
    "Reversal",
    "SelfWeight",
    "ThroughBar",
    "Unbalance",
]


def check_speed(checks: Checks, speed_rpm: object) -> None:
    """A speed of the load's own, or None for the machine's."""
    if speed_rpm is not None:
        checks.number("speed_rpm", speed_rpm, above=0.0, most=100_000.0)


def speed_from(load: Any) -> tuple[str, ...]:
    """The machine's speed where the load has none of its own."""
    return ("speed_rpm",) if load.speed_rpm is None else ()


@dataclass(frozen=True, kw_only=True)
class ThroughBar:
    """The drum at speed with bars through its slots: its own rotation and what [machine.bar] does to it.

    slot: for path "both" the lower-numbered of the two opposed slots that a bar joins, for path "one" the slot
    it is clamped in. speed_rpm: the machine's unless given.
    """

    kind: ClassVar[str] = "through_bar"
    parts: ClassVar[tuple[str, ...]] = RING
    speed_rpm: float | None = None
    slot: int = 0
    name: str = "through_bar"

    def __post_init__(self) -> None:
        checks = Checks()
        check_speed(checks, self.speed_rpm)
        check_slot(checks, self.slot)
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        return ("bar", *speed_from(self))


@dataclass(frozen=True, kw_only=True)
class DriveTorque:
    """Torque of the drive at rated power; the material holds back what lies towards +y, so it is negative there.

    start_factor: torque over the rated one, above 1 when the drive starts.
    """

    kind: ClassVar[str] = "drive_torque"
    parts: ClassVar[tuple[str, ...]] = RING
    start_factor: float = 1.0
    name: str = "drive_torque"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number(
            "start_factor",
            self.start_factor,
            least=1.0,
            most=20.0,
            way_out="1 for the rated torque; starting 1.5 to 2.5, common practice",
        )
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        return ("power_kW", "speed_rpm")


@dataclass(frozen=True, kw_only=True)
class SelfWeight:
    """Bending by the rotor's own weight at mid-span; it stands still in space, so the drum turns through it."""

    kind: ClassVar[str] = "self_weight"
    parts: ClassVar[tuple[str, ...]] = RING
    name: str = "self_weight"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        return ("rotor_mass_kg", "bearing_span_mm")


@dataclass(frozen=True, kw_only=True)
class BeltPull:
    """Bending by the pull of the belts on an overhung sheave; it stands still in space.

    shaft_factor: pull on the shaft over the effective pull 2 T / d. distance_mm of the row from the drive bearing,
    towards the other one; 0 gives the whole moment of the overhang.
    """

    kind: ClassVar[str] = "belt_pull"
    parts: ClassVar[tuple[str, ...]] = RING
    shaft_factor: float
    distance_mm: float = 0.0
    name: str = "belt_pull"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number(
            "shaft_factor", self.shaft_factor, least=1.0, most=5.0, way_out="wedge belts: 1.5 to 2, common practice"
        )
        checks.number("distance_mm", self.distance_mm, least=0.0)
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        sheave = ("sheave_diameter_mm", "sheave_overhang_mm", "belt_direction_deg")
        return ("power_kW", "speed_rpm", *sheave, "bearing_span_mm")


@dataclass(frozen=True, kw_only=True)
class Unbalance:
    """Bending by an unbalance at mid-span; it turns with the drum.

    unbalance_g_mm, or grade_mm_s: the balance grade at which the whole permissible unbalance is left; one of the two.
    direction_deg: where it points, from slot 0 in the sense of rotation.
    """

    kind: ClassVar[str] = "unbalance"
    parts: ClassVar[tuple[str, ...]] = RING
    unbalance_g_mm: float | None = None
    grade_mm_s: float | None = None
    direction_deg: float = 0.0
    name: str = "unbalance"

    def __post_init__(self) -> None:
        checks = Checks()
        if self.unbalance_g_mm is not None and self.grade_mm_s is not None:
            allowed = f"contradicts unbalance_g_mm = {self.unbalance_g_mm}"
            checks.add("grade_mm_s", self.grade_mm_s, allowed, "give one of the two")
        elif self.grade_mm_s is not None:
            checks.positive("grade_mm_s", self.grade_mm_s)
        else:
            value: object = MISSING if self.unbalance_g_mm is None else self.unbalance_g_mm
            checks.positive("unbalance_g_mm", value, "give unbalance_g_mm or grade_mm_s")
        checks.number("direction_deg", self.direction_deg, least=-360.0, most=360.0)
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        return ("speed_rpm", "bearing_span_mm", *(("rotor_mass_kg",) if self.grade_mm_s is not None else ()))


def _check_place(checks: Checks, load: Jam | Reversal) -> None:
    """Where the row stands to the jam: by a share, or by places."""
    places = {"row_mm": load.row_mm, "jam_mm": load.jam_mm}
    if load.inertia_share is not None:
        checks.number("inertia_share", load.inertia_share, above=0.0, most=1.0)
        for field, value in places.items():
            if value is not None:
                checks.add(field, value, "stands beside inertia_share, which says the same", "give one of the two")
    elif any(value is not None for value in places.values()):
        for field, value in places.items():
            checks.number(
                field, MISSING if value is None else value, way_out="place along the axis, from the drive end"
            )


def _parts_for(load: Jam | Reversal) -> tuple[str, ...]:
    return () if load.jam_mm is None else ("rotor_parts",)


@dataclass(frozen=True, kw_only=True)
class Jam:
    """The rotor is stopped within an angle, or until the weakest link of the machine gives way.

    The torque in the shell is that of the inertia beyond the jam, so it jumps where the jam sits. Either inertia_share of
    the rotor's inertia passes through this row, which lies between the drive end and the jam (1 unless given); or
    row_mm and jam_mm say where both are, from the drive end, and machine.rotor_parts where the inertia is.
    tips: how many are held at the same time. speed_rpm at its start: the machine's unless given.
    """

    kind: ClassVar[str] = "jam"
    parts: ClassVar[tuple[str, ...]] = RING
    stop_angle_deg: float
    inertia_share: float | None = None
    row_mm: float | None = None
    jam_mm: float | None = None
    tips: int = 1
    speed_rpm: float | None = None
    name: str = "jam"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("stop_angle_deg", self.stop_angle_deg, above=0.0, most=36_000.0, way_out="90 is a quarter turn")
        _check_place(checks, self)
        checks.whole("tips", self.tips, 1, 10_000, "1: a single bar is held")
        check_speed(checks, self.speed_rpm)
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        return ("inertia_kg_m2", "tip_diameter_mm", *speed_from(self), *_parts_for(self))


@dataclass(frozen=True, kw_only=True)
class Reversal:
    """The drum, turned backwards to clear it, is stopped: as a jam, with the torque the other way round.

    speed_rpm: of the drum turned backwards, a positive number.
    """

    kind: ClassVar[str] = "reversal"
    parts: ClassVar[tuple[str, ...]] = RING
    speed_rpm: float
    stop_angle_deg: float
    inertia_share: float | None = None
    row_mm: float | None = None
    jam_mm: float | None = None
    tips: int = 1
    name: str = "reversal"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("speed_rpm", self.speed_rpm, above=0.0, most=100_000.0)
        checks.number("stop_angle_deg", self.stop_angle_deg, above=0.0, most=36_000.0, way_out="90 is a quarter turn")
        _check_place(checks, self)
        checks.whole("tips", self.tips, 1, 10_000, "1: a single bar is held")
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        return ("inertia_kg_m2", "tip_diameter_mm", *_parts_for(self))


@dataclass(frozen=True, kw_only=True)
class Overspeed:
    """The drum at a multiple of the machine's speed; what hangs in the slots as for a rotation."""

    kind: ClassVar[str] = "overspeed"
    parts: ClassVar[tuple[str, ...]] = RING
    ratio: float
    hung_mass_kg: float = 0.0
    hung_radius_mm: float | None = None
    name: str = "overspeed"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("ratio", self.ratio, least=1.0, most=10.0, way_out="1.2 is 120 % of the speed")
        check_hung(checks, self.hung_mass_kg, self.hung_radius_mm)
        checks.text("name", self.name)
        checks.done()

    @property
    def machine_fields(self) -> tuple[str, ...]:
        """Fields of the machine that it needs."""
        return ("speed_rpm",)


MACHINE_LOADS: dict[str, Any] = {
    c.kind: c for c in (ThroughBar, DriveTorque, SelfWeight, BeltPull, Unbalance, Jam, Reversal, Overspeed)
}
