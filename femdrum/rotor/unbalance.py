"""Unbalance: what a grade permits, and what hammers leave that are missing, worn or exchanged.

An unbalance is a complex number in g mm: mass times radius, its angle counted from the drum's mark in the sense of
rotation. Two or more of them along the axis make a force and a couple. Masses in g, radii and places in mm.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..provenance import Provenance, common_practice, computed, standard
from ..units import omega_rad_s

__all__ = [
    "BUDGET",
    "GRADES",
    "Budget",
    "Grade",
    "HammerSeat",
    "HammerUnbalance",
    "budget",
    "distinct",
    "exchanged",
    "hammer_unbalance",
    "permissible_eccentricity_g_mm_kg",
    "permissible_figures",
    "permissible_unbalance_g_mm",
    "polar",
    "unbalance_force_N",
    "vector_g_mm",
]

Array = NDArray[np.float64]
Vectors = NDArray[np.complex128]

MOMENT = computed("mass times radius, summed as vectors")
GRADE = standard("ISO 21940-11:2016, e_per Omega = G", "number and relation confirmed in a secondary reproduction")
ROWS = standard("ISO 21940-11:2016, Table 1", "seen in a reproduction of the table")


@dataclass(frozen=True)
class Grade:
    """A balance grade: what it is used for, its G in mm/s, and where that is from."""

    used_for: str
    grade_mm_s: float
    provenance: Provenance


GRADES: tuple[Grade, ...] = (
    Grade("crushing machines", 16.0, ROWS),
    Grade("agricultural machines", 16.0, ROWS),
    Grade("machinery in general, fans", 6.3, ROWS),
    Grade("grinder drum with hammers", 16.0, common_practice("G16 with hammers")),
    Grade("grinder drum, bare, by better shops", 6.3, common_practice("G6.3 for the bare rotor")),
)


@stated("permissible unbalance per kg of rotor", "g·mm/kg", "e = G / omega", GRADE)
def permissible_eccentricity_g_mm_kg(*, grade_mm_s: float, speed_rpm: float) -> float:
    """Permissible residual unbalance per mass, g mm/kg, which is also the offset of the mass centre in um: G / omega.

    grade_mm_s: 16 for G16. Raises InputFault.
    """
    return permissible_unbalance_g_mm(grade_mm_s=grade_mm_s, mass_kg=1.0, speed_rpm=speed_rpm)


@stated("permissible unbalance of the balance grade", "g·mm", "U = m G / omega", GRADE)
def permissible_unbalance_g_mm(*, grade_mm_s: float, mass_kg: float, speed_rpm: float) -> float:
    """Permissible residual unbalance of the whole rotor, g mm: m G / omega, G in mm/s. Raises InputFault."""
    checks = Checks()
    checks.positive("grade_mm_s", grade_mm_s, "16 for G16, in mm/s")
    checks.positive("mass_kg", mass_kg, "mass of the rotor with hammers, in kg")
    checks.positive("speed_rpm", speed_rpm, "service speed in revolutions a minute")
    checks.done()
    return 1e3 * mass_kg * grade_mm_s / omega_rad_s(speed_rpm)


@stated("unbalance force", "kN", "F = U omega²", computed("kinematics of steady rotation"), 1e-3)
def unbalance_force_N(*, unbalance_g_mm: float, speed_rpm: float) -> float:
    """Force of an unbalance, turning with the drum, N: U omega^2. Raises InputFault."""
    checks = Checks()
    checks.number("unbalance_g_mm", unbalance_g_mm, least=0.0, way_out="magnitude in g mm")
    checks.positive("speed_rpm", speed_rpm, "in revolutions a minute")
    checks.done()
    return 1e-6 * unbalance_g_mm * omega_rad_s(speed_rpm) ** 2


# ---------------------------------------------------------------- budget


@dataclass(frozen=True)
class Budget:
    """Who may use up how much of the permissible unbalance; shares add to 1."""

    part: str
    share: float


BUDGET: tuple[Budget, ...] = (
    Budget("shell and stub shafts", 1 / 3),
    Budget("hammer set", 1 / 3),
    Budget("wear until the next change", 1 / 3),
)


def budget(permissible_g_mm: float, parts: Sequence[Budget] = BUDGET) -> tuple[Figure, ...]:
    """Permissible unbalance shared out, a figure for each part. Raises InputFault if the shares do not add to 1."""
    checks = Checks()
    checks.positive("permissible_g_mm", permissible_g_mm)
    total = sum(p.share for p in parts)
    if abs(total - 1) > 1e-9 or any(not p.share > 0 for p in parts):
        checks.add("parts", [p.share for p in parts], "must be shares above 0 that add to 1", "a third each is usual")
    checks.done()
    source = common_practice("a third each for the shell, the hammer set and wear")
    return tuple(Figure(f"budget: {p.part}", p.share * permissible_g_mm, "g·mm", "share of U", source) for p in parts)


# ---------------------------------------------------------------- vectors


def vector_g_mm(mass_g: float, radius_mm: float, angle_deg: float) -> complex:
    """Unbalance of a mass at a radius and angle, g mm; a missing mass counts negative. Raises InputFault."""
    checks = Checks()
    checks.number("mass_g", mass_g)
    checks.number("radius_mm", radius_mm, least=0.0)
    checks.number("angle_deg", angle_deg)
    checks.done()
    return mass_g * radius_mm * cmath.exp(1j * math.radians(angle_deg))


def polar(vector: complex) -> tuple[float, float]:
    """Magnitude and angle in degrees, 0 to 360, of a vector."""
    return abs(vector), math.degrees(cmath.phase(vector)) % 360.0


# ---------------------------------------------------------------- hammers


@dataclass(frozen=True, kw_only=True)
class HammerSeat:
    """Where a hammer sits: slot, radius of its centre of gravity, angle from the mark with the rotation, place along z."""

    slot: int
    radius_mm: float
    angle_deg: float
    z_mm: float

    def __post_init__(self) -> None:
        checks = Checks()
        checks.whole("slot", self.slot, 1, 100_000, "slot numbers count from 1")
        checks.positive("radius_mm", self.radius_mm, "from the drum's axis to the hammer's centre of gravity")
        checks.number("angle_deg", self.angle_deg, way_out="from the drum's mark, with the rotation")
        checks.number("z_mm", self.z_mm, way_out="place along the axis, from the drive end")
        checks.done()

    @property
    def arm_mm(self) -> complex:
        """Radius as a vector."""
        return self.radius_mm * cmath.exp(1j * math.radians(self.angle_deg))


def distinct(checks: Checks, seats: Sequence[HammerSeat]) -> None:
    """Refuse slot numbers that come twice."""
    numbers = [seat.slot for seat in seats]
    for slot in sorted({n for n in numbers if numbers.count(n) > 1}):
        checks.add("slot", slot, "must be the number of one hammer only", "number the slots once, around and along")


@dataclass(frozen=True)
class HammerUnbalance:
    """Unbalance of hammers by slot.

    slots, z_mm, vectors_g_mm: slot by slot. force_g_mm: their sum. couple_g_mm2: their moments about about_mm along the
    axis; where the force is not zero the couple depends on that place.
    """

    slots: tuple[int, ...]
    z_mm: Array
    vectors_g_mm: Vectors
    about_mm: float

    @property
    def force_g_mm(self) -> complex:
        """What is out of balance at rest: the sum."""
        return complex(self.vectors_g_mm.sum())

    @property
    def couple_g_mm2(self) -> complex:
        """Sum of vector times distance from about_mm."""
        return complex((self.vectors_g_mm * (self.z_mm - self.about_mm)).sum())

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        size, angle = polar(self.force_g_mm)
        return (
            Figure("unbalance of the hammers", size, "g·mm", "|sum m r e^(i angle)|", MOMENT),
            Figure("its angle", angle, "°", "from the mark, with the rotation", MOMENT),
            Figure("couple of the hammers", abs(self.couple_g_mm2), "g·mm²", f"about z {self.about_mm:g} mm", MOMENT),
        )


def hammer_unbalance(
    seats: Sequence[HammerSeat], masses_g: Mapping[int, float] | Sequence[float], *, about_mm: float = 0.0
) -> HammerUnbalance:
    """Unbalance of hammers by their masses.

    masses_g: one for each seat, in the same order; or by slot number, for those alone that differ: a mass that is too
    much counts positive, what is worn off or missing negative (a lost hammer is minus its mass). Raises InputFault for
    unknown slots, slot numbers that come twice, masses that are no number.
    """
    checks = Checks()
    distinct(checks, seats)
    if isinstance(masses_g, Mapping):
        known = {seat.slot: seat for seat in seats}
        for slot in masses_g:
            if slot not in known:
                way = f"slots go from {min(known)} to {max(known)}" if known else "name the seats"
                checks.add("masses_g", slot, "is not the slot of a hammer", way)
        chosen = [known[slot] for slot in masses_g if slot in known]
        masses = list(masses_g.values())
    else:
        chosen, masses = list(seats), list(masses_g)
        if len(masses) != len(chosen):
            checks.add(
                "masses_g", len(masses), f"must be {len(chosen)} masses, one for each seat", "weigh every hammer"
            )
    for slot, mass in zip([s.slot for s in chosen], masses, strict=False):
        checks.number(f"mass_g of slot {slot}", mass, way_out="weigh it; a mass that is not known is not made up")
    checks.done()
    arms = np.array([seat.arm_mm for seat in chosen], complex)
    return HammerUnbalance(
        tuple(seat.slot for seat in chosen), np.array([seat.z_mm for seat in chosen], float),
        arms * np.array(masses, float), about_mm,
    )  # fmt: skip


def exchanged(
    seats: Sequence[HammerSeat], masses_g: Sequence[float], one_slot: int, other_slot: int, *, about_mm: float = 0.0
) -> HammerUnbalance:
    """What the exchange of two hammers changes: the difference of their masses, there and back. Raises InputFault."""
    checks = Checks()
    slots = [seat.slot for seat in seats]
    for field, slot in (("one_slot", one_slot), ("other_slot", other_slot)):
        if slot not in slots:
            checks.add(field, slot, "is not the slot of a hammer", "give the slot's number")
    if one_slot == other_slot:
        checks.add("other_slot", other_slot, "must be another slot")
    if len(masses_g) != len(slots):
        checks.add("masses_g", len(masses_g), f"must be {len(slots)} masses, one for each seat", "weigh every hammer")
    checks.done()
    more = masses_g[slots.index(other_slot)] - masses_g[slots.index(one_slot)]
    return hammer_unbalance(seats, {one_slot: more, other_slot: -more}, about_mm=about_mm)


def permissible_figures(grade_mm_s: float, mass_kg: float, speed_rpm: float) -> tuple[Figure, ...]:
    """Permissible unbalance of the rotor, per kg, and its force, for the table of numbers. Raises InputFault."""
    whole = permissible_unbalance_g_mm(grade_mm_s=grade_mm_s, mass_kg=mass_kg, speed_rpm=speed_rpm)
    return (
        figure(permissible_unbalance_g_mm, whole),
        figure(permissible_eccentricity_g_mm_kg, whole / mass_kg),
        figure(unbalance_force_N, unbalance_force_N(unbalance_g_mm=whole, speed_rpm=speed_rpm), "its force"),
    )
