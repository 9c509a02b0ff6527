"""What stands at the ends of a drum and on its shaft: discs, stubs, bearings, drive, and further masses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..errors import MISSING
from .check import Checks

__all__ = ["BEARING_KINDS", "Drive", "RotorBearing", "RotorMass", "StubShaft"]

BEARING_KINDS = ("roller", "ball")


@dataclass(frozen=True, kw_only=True)
class StubShaft:
    """End disc and stub shaft, one piece; fields as of DrumEnd where they mean the same.

    The disc stands inside the shell, its outer face recess_mm inside the shell's end. stub_length_mm: from the disc's
    outer face to the middle of the bearing. The stub has stub_diameter_mm from the disc on, with fillet_radius_mm there;
    from a shoulder shoulder_mm beyond the disc's outer face on it has seat_diameter_mm, with shoulder_radius_mm
    (left out: no step). beyond_mm: how far it goes on beyond the bearing's middle. stub_bore_mm: bore through all of it.
    """

    disc_thickness_mm: float
    stub_diameter_mm: float
    stub_length_mm: float
    fillet_radius_mm: float
    recess_mm: float = 0.0
    stub_bore_mm: float = 0.0
    seat_diameter_mm: float | None = None
    shoulder_mm: float | None = None
    shoulder_radius_mm: float | None = None
    beyond_mm: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        plain = ("disc_thickness_mm", "stub_diameter_mm", "stub_length_mm")
        good = [checks.positive(name, getattr(self, name)) for name in plain]
        good.append(checks.positive("fillet_radius_mm", self.fillet_radius_mm, "as measured: a sharp corner breaks"))
        good += [checks.number(name, getattr(self, name), least=0.0) for name in ("recess_mm", "beyond_mm")]
        if good[1]:
            most = 0.8 * min(self.stub_diameter_mm, self.seat_diameter_mm or self.stub_diameter_mm)
            checks.number("stub_bore_mm", self.stub_bore_mm, least=0.0, most=most, way_out="at most 0.8 of the stub")
        if good[2]:
            checks.number(
                "recess_mm", self.recess_mm, least=0.0, below=self.stub_length_mm,
                way_out="the bearing stands outside the shell: a longer stub, or less recess",
            )  # fmt: skip
        self._check_step(checks, all(good))
        checks.done()

    def _check_step(self, checks: Checks, good: bool) -> None:
        step = {
            "seat_diameter_mm": self.seat_diameter_mm, "shoulder_mm": self.shoulder_mm,
            "shoulder_radius_mm": self.shoulder_radius_mm,
        }  # fmt: skip
        if all(value is None for value in step.values()):
            return
        sound = [
            checks.positive(name, MISSING if value is None else value, "a step has a diameter, a place and a radius")
            for name, value in step.items()
        ]
        if not (good and all(sound)):
            return
        assert self.seat_diameter_mm is not None
        assert self.shoulder_radius_mm is not None
        if checks.number(
            "seat_diameter_mm", self.seat_diameter_mm, above=0.0, below=self.stub_diameter_mm,
            way_out="the seat is thinner than the stub at the disc; leave the step out where it is not",
        ):  # fmt: skip
            checks.number(
                "shoulder_radius_mm", self.shoulder_radius_mm, above=0.0,
                most=0.5 * (self.stub_diameter_mm - self.seat_diameter_mm), way_out="at most the height of the step",
            )  # fmt: skip
        checks.number(
            "shoulder_mm", self.shoulder_mm, least=self.fillet_radius_mm, below=self.stub_length_mm,
            way_out="between the disc's fillet and the bearing",
        )  # fmt: skip

    @property
    def end_diameter_mm(self) -> float:
        """Diameter at the bearing and beyond."""
        return self.stub_diameter_mm if self.seat_diameter_mm is None else self.seat_diameter_mm

    def pieces(self) -> tuple[tuple[float, float, float], ...]:
        """Solid pieces outside the disc: from, to (mm from the disc's outer face, outward), diameter."""
        end = self.stub_length_mm + self.beyond_mm
        if self.seat_diameter_mm is None or self.shoulder_mm is None:
            return ((0.0, end, self.stub_diameter_mm),)
        return ((0.0, self.shoulder_mm, self.stub_diameter_mm), (self.shoulder_mm, end, self.seat_diameter_mm))


@dataclass(frozen=True, kw_only=True)
class RotorBearing:
    """A rolling bearing of the rotor.

    dynamic_rating_kN (C) and static_rating_kN (C0) as its maker prints them; bearing_kind "roller" or "ball".
    stiffness_kN_mm: of bearing and housing together on their foundation, radial; stiffness_across_kN_mm in the other
    direction (left out: the same). Nobody can guess it, so critical speeds ask for it. thrust_ratio (e), thrust_low (Y1),
    thrust_high (Y2), radial_high (X2): of its table, needed only under thrust. clearance is not in it.
    """

    kind: ClassVar[str] = "bearing"
    dynamic_rating_kN: float | None = None
    static_rating_kN: float | None = None
    bearing_kind: str = "roller"
    stiffness_kN_mm: float | None = None
    stiffness_across_kN_mm: float | None = None
    thrust_ratio: float | None = None
    thrust_low: float | None = None
    thrust_high: float | None = None
    radial_high: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        checks.one_of("bearing_kind", self.bearing_kind, BEARING_KINDS)
        for name in ("dynamic_rating_kN", "static_rating_kN", "stiffness_kN_mm", "stiffness_across_kN_mm"):
            checks.optional(name, getattr(self, name))
        for name in ("thrust_ratio", "thrust_low", "thrust_high", "radial_high"):
            checks.optional(name, getattr(self, name), "as printed in the bearing's table")
        if self.stiffness_across_kN_mm is not None and self.stiffness_kN_mm is None:
            checks.add("stiffness_kN_mm", MISSING, "is missing beside stiffness_across_kN_mm", "give both")
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Drive:
    """Belt drive on the drive-side stub, beyond the bearing; fields as of Machine where they mean the same.

    sheave_overhang_mm: middle of the belts beyond the drive bearing's middle. sheave_mass_kg, sheave_inertia_kg_m2 about
    the axis. belt_direction_deg: where the belts pull to, from straight down in the sense of rotation. shaft_factor: pull
    on the shaft over the effective pull 2 T / d. A coupling has no pull: give it among the masses.
    """

    sheave_diameter_mm: float
    sheave_overhang_mm: float
    sheave_mass_kg: float
    sheave_inertia_kg_m2: float
    belt_direction_deg: float
    shaft_factor: float

    def __post_init__(self) -> None:
        checks = Checks()
        for name in ("sheave_diameter_mm", "sheave_overhang_mm", "sheave_mass_kg", "sheave_inertia_kg_m2"):
            checks.positive(name, getattr(self, name))
        checks.number("belt_direction_deg", self.belt_direction_deg, least=-360.0, most=360.0)
        checks.number(
            "shaft_factor", self.shaft_factor, least=1.0, most=5.0, way_out="wedge belts: 1.5 to 2, common practice"
        )
        checks.done()


@dataclass(frozen=True, kw_only=True)
class RotorMass:
    """Anything else that turns with the drum: a coupling, a lock ring, a flange, a balance mass that stays.

    z_mm: of its centre of gravity from the drive bearing's middle towards the free end; radius_mm and angle_deg (from the
    first slot of row 0, in the sense of rotation) where it is off the axis. inertia_kg_m2 about its own axis along the
    drum; length_mm over which it is spread along the drum.
    """

    name: str
    mass_kg: float
    z_mm: float
    radius_mm: float = 0.0
    angle_deg: float = 0.0
    inertia_kg_m2: float = 0.0
    length_mm: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.positive("mass_kg", self.mass_kg, "leave out a part that weighs nothing")
        checks.number("z_mm", self.z_mm, way_out="from the drive bearing's middle towards the free end")
        for name in ("radius_mm", "inertia_kg_m2", "length_mm"):
            checks.number(name, getattr(self, name), least=0.0)
        checks.number("angle_deg", self.angle_deg, least=-360.0, most=360.0)
        checks.done()
