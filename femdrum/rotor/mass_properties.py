"""Mass, centre of gravity, inertia and unbalance of the whole drum, summed exactly from its bodies."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..model.drum import Drum
from ..model.machine import Bar, Limit, Machine, RotorPart
from ..model.material import Material
from ..provenance import common_practice, computed
from .bodies import Bodies, HammerState, bodies

__all__ = ["PLAUSIBLE_MASS_KG", "MassProperties", "PartMass", "machine_of", "mass_properties", "properties_of"]

Array = NDArray[np.float64]
EXACT = computed("closed forms of every body, summed by Steiner's theorem; fillets, welds and edge breaks not weighed")
# rotors of such machines; common practice, no source
PLAUSIBLE_MASS_KG = (1600.0, 4500.0)
PLAUSIBLE = common_practice("rotors of such grinders weigh about 1,600 to 4,500 kg")


@dataclass(frozen=True)
class PartMass:
    """All bodies of one name: how many, their mass (kg; negative: taken away) and inertia about the axis (kg m^2)."""

    name: str
    count: int
    mass_kg: float
    inertia_kg_m2: float


@dataclass(frozen=True)
class MassProperties:
    """What a rotor weighs and how it is spread.

    centre_mm: x, y, z of its centre of gravity; Z along the axis from the drive bearing's middle, X through the first slot
    of row 0, Y ahead of it. inertia_kg_m2 [3, 3]: tensor about the centre of gravity, products with their minus sign
    (Ixy = - integral of x y). polar_kg_m2: about the axis of rotation. unbalance_g_mm: x, y of mass times offset.
    couple_kg_mm2: x, y of the sum of mass times offset times distance along the axis from the centre of gravity; products
    of inertia within single bodies are in it. largest_g_mm: the sum of m r of all single bodies off the axis, against which
    a rest of unbalance is to be judged.
    """

    mass_kg: float
    centre_mm: Array
    inertia_kg_m2: Array
    polar_kg_m2: float
    unbalance_g_mm: Array
    couple_kg_mm2: Array
    largest_g_mm: float
    parts: tuple[PartMass, ...]
    notes: tuple[str, ...]

    @property
    def unbalance_size_g_mm(self) -> float:
        """Magnitude of the unbalance."""
        return float(np.hypot(*self.unbalance_g_mm))

    @property
    def unbalance_angle_deg(self) -> float:
        """Where the unbalance points, from the first slot of row 0 in the sense of rotation, 0 to 360."""
        return math.degrees(math.atan2(self.unbalance_g_mm[1], self.unbalance_g_mm[0])) % 360.0

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            *(
                Figure(f"mass: {p.name} ({p.count})", p.mass_kg, "kg", "density x volume, or as given", EXACT)
                for p in self.parts
            ),
            Figure("mass of the rotor", self.mass_kg, "kg", "sum of all bodies", EXACT),
            Figure("moment of inertia about the axis", self.polar_kg_m2, "kg·m²", "sum of J + m r²", EXACT),
            Figure("centre of gravity from the drive bearing", float(self.centre_mm[2]), "mm", "sum of m z / m", EXACT),
            Figure("unbalance of the drawing", self.unbalance_size_g_mm, "g·mm", "magnitude of the sum of m r", EXACT),
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """What looks odd."""
        low, high = PLAUSIBLE_MASS_KG
        if low <= self.mass_kg <= high:
            return ()
        return (f"The rotor weighs {self.mass_kg:.0f} kg; {PLAUSIBLE.source} ({PLAUSIBLE.kind.value}).",)


def properties_of(heap: Bodies) -> MassProperties:
    """Mass properties of a heap of bodies."""
    mass = float(heap.mass_kg.sum())
    centre = np.einsum("n,ni->i", heap.mass_kg, heap.centre_mm) / mass
    second = heap.second_kg_mm2(centre).sum(axis=0)
    inertia = np.trace(second) * np.eye(3) - second
    polar = heap.polar_kg_mm2()
    offset = heap.offset_kg_mm()
    names = dict.fromkeys(heap.names)
    labels = np.array(heap.names)
    parts = tuple(
        PartMass(n, int((at := labels == n).sum()), float(heap.mass_kg[at].sum()), 1e-6 * float(polar[at].sum()))
        for n in names
    )
    total = offset.sum()
    # product with the distance along the axis, about the middle's plane: shifts by the unbalance are taken off
    about = heap.second_kg_mm2(np.array([0.0, 0.0, centre[2]])).sum(axis=0)
    return MassProperties(
        mass, centre, 1e-6 * inertia, 1e-6 * float(polar.sum()), 1e3 * np.array([total.real, total.imag]),
        about[:2, 2].copy(), 1e3 * float(np.abs(offset).sum()), parts,
        ("Fillets, weld beads and broken edges are not weighed.", "Inner rings of the bearings are not weighed."),
    )  # fmt: skip


def mass_properties(
    drum: Drum, material: Material | None = None, *, state: HammerState | None = None
) -> MassProperties:
    """Mass, centre, inertia and unbalance of a drum with its hammers in a given state. Raises InputFault."""
    return properties_of(bodies(drum, material, state=state))


def machine_of(
    drum: Drum,
    material: Material | None = None,
    *,
    power_kW: float | None = None,
    speed_rpm: float | None = None,
    limits: tuple[Limit, ...] = (),
    yield_MPa: float | None = None,
    clamp_force_kN: float | None = None,
    friction: float | None = None,
) -> Machine:
    """The drum as the machine that loads on a single ring are reckoned from: masses, inertia, span, tips, bar, sheave.

    yield_MPa, clamp_force_kN, friction: of the bar and its seats, for Bar; only bars that go through make a Bar.
    """
    heap = bodies(drum, material)
    all_of, h, drive = properties_of(heap), drum.hammer, drum.drive
    bar = None
    if h is not None and h.through:
        share = 1.0 if not h.tip_mass_kg else 1 - h.wear_mm / float(h.tip_height_mm or 1.0)
        bar = Bar(
            mass_kg=h.mass_kg, length_mm=h.length_mm, width_mm=h.width_mm, depth_mm=h.depth_mm, path=h.path,
            tip_mass_kg=h.tip_mass_kg * share, yield_MPa=yield_MPa, clamp_force_kN=clamp_force_kN, friction=friction,
        )  # fmt: skip
    return Machine(
        power_kW=power_kW, speed_rpm=speed_rpm, inertia_kg_m2=all_of.polar_kg_m2, rotor_mass_kg=all_of.mass_kg,
        tip_diameter_mm=drum.tip_diameter_mm, tips_total=drum.tips_total or None, bearing_span_mm=drum.bearing_span_mm,
        sheave_diameter_mm=drive.sheave_diameter_mm if drive else None,
        sheave_overhang_mm=drive.sheave_overhang_mm if drive else None,
        belt_direction_deg=drive.belt_direction_deg if drive else None,
        bar=bar, limits=limits, rotor_parts=_parts(drum, heap),
    )  # fmt: skip


def _parts(drum: Drum, heap: Bodies) -> tuple[RotorPart, ...]:
    """Inertia by place: the shell with all in its slots evenly over its length, everything else where it is."""
    polar = 1e-6 * heap.polar_kg_mm2()
    on_shell = np.array([name.startswith("shell") for name in heap.names]) | (heap.row >= 0)
    first = drum.shell_z_mm
    out = [RotorPart(name="shell with slots and hammers", inertia_kg_m2=float(polar[on_shell].sum()), from_mm=first,
                     to_mm=first + drum.shell_length_mm)]  # fmt: skip
    for i in np.flatnonzero(~on_shell):
        place = (float(heap.from_mm[i]), float(heap.to_mm[i]))
        if polar[i] > 0:
            out.append(RotorPart(name=heap.names[i], inertia_kg_m2=float(polar[i]), from_mm=place[0], to_mm=place[1]))
    return tuple(out)
