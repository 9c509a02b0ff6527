"""A drum as a heap of bodies, each with its mass, centre of gravity and second moments by closed form.

Masses in kg, lengths in mm. Axes: Z along the drum from the drive bearing's middle towards the free end, X through the
first slot of row 0, Y ahead of it in the sense of rotation.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..model.check import Checks
from ..model.drum import Drum, slots
from ..model.drum_shaft import StubShaft
from ..model.hammer import Hammer
from ..model.material import STEEL_DENSITY_KG_M3, Material
from .slot_body import slot_body

__all__ = ["Bodies", "HammerState", "bodies"]

Array = NDArray[np.float64]
KG_MM3 = 1e-9  # from kg/m^3


@dataclass(frozen=True, kw_only=True)
class HammerState:
    """How the hammers differ from the set that was drawn.

    missing: numbers of slots whose hammer is out; a bar through two slots goes with either of them. broken: slots whose
    half of a through-bar is gone with its tip. wear_mm: wear of single tips, by slot, instead of the hammer's wear_mm.
    extra_g: what single hammers weigh more (or less) than drawn, by slot, at the tip's centre of gravity.
    Wedges and bolts stay in their slots.
    """

    missing: tuple[int, ...] = ()
    broken: tuple[int, ...] = ()
    wear_mm: Mapping[int, float] = field(default_factory=dict)
    extra_g: Mapping[int, float] = field(default_factory=dict)

    def check(self, drum: Drum) -> None:
        """Raise InputFault with all that does not fit the drum."""
        checks = Checks()
        top, hammer = drum.slots_total - 1, drum.hammer
        given = {"missing": self.missing, "broken": self.broken, "wear_mm": self.wear_mm, "extra_g": self.extra_g}
        for name, numbers in given.items():
            if numbers and hammer is None:
                checks.add(name, list(numbers), "says something of hammers, and the drum has none", "leave it out")
                continue
            for number in numbers:
                checks.whole(name, number, 0, top, "a slot's number: row by row from the drive end, from 0")
        if hammer is not None:
            if self.broken and not hammer.through:
                checks.add("broken", list(self.broken), "a bar breaks only where one goes through", "use missing")
            most = hammer.tip_height_mm if hammer.tip_mass_kg else 0.5 * hammer.length_mm
            for number, wear in self.wear_mm.items():
                checks.number(f"wear_mm[{number}]", wear, least=0.0, below=most, way_out="below the tip's height")
            for number, extra in self.extra_g.items():
                checks.number(f"extra_g[{number}]", extra, way_out="grams more than drawn")
        checks.done()


@dataclass(frozen=True)
class Bodies:
    """n bodies: names [n]; mass_kg [n], negative for what a slot takes away; centre_mm [n, 3]; own_kg_mm2 [n, 3, 3], the
    integral of (r - c)(r - c)^T over the mass about its own centre; from_mm, to_mm [n], over which it is spread along the
    drum, evenly; row [n], -1 for what belongs to no row.
    """

    names: tuple[str, ...]
    mass_kg: Array
    centre_mm: Array
    own_kg_mm2: Array
    from_mm: Array
    to_mm: Array
    row: NDArray[np.intp]

    def __len__(self) -> int:
        return len(self.names)

    def second_kg_mm2(self, about_mm: Array | None = None) -> Array:
        """Integral of r r^T of every body [n, 3, 3], about a place (the drive bearing's middle unless given)."""
        r = self.centre_mm if about_mm is None else self.centre_mm - about_mm
        return np.asarray(self.own_kg_mm2 + self.mass_kg[:, None, None] * r[:, :, None] * r[:, None, :])

    def polar_kg_mm2(self) -> Array:
        """Moment of inertia of every body about the drum's axis [n], kg mm^2."""
        second = self.second_kg_mm2()
        return np.asarray(second[:, 0, 0] + second[:, 1, 1])

    def offset_kg_mm(self) -> NDArray[np.complex128]:
        """Mass times offset from the axis [n] as x + i y, kg mm."""
        return np.asarray(self.mass_kg * (self.centre_mm[:, 0] + 1j * self.centre_mm[:, 1]))

    def only(self, chosen: Iterable[int]) -> Bodies:
        """Some of them."""
        i = np.asarray(list(chosen), dtype=np.intp)
        return Bodies(
            tuple(self.names[k] for k in i), self.mass_kg[i], self.centre_mm[i], self.own_kg_mm2[i], self.from_mm[i],
            self.to_mm[i], self.row[i],
        )  # fmt: skip


class _Heap:
    def __init__(self) -> None:
        self.names: list[str] = []
        self.parts: list[tuple[Array, Array, Array, Array, Array, NDArray[np.intp]]] = []

    def add(self, name: str, mass: float, z: tuple[float, float], diagonal: tuple[float, float, float],
            xy: tuple[float, float] = (0.0, 0.0)) -> None:  # fmt: skip
        """One body off any row; diagonal: its own second moments."""
        self.names.append(name)
        self.parts.append((
            np.array([mass]), np.array([[*xy, 0.5 * (z[0] + z[1])]]), np.diag(diagonal)[None],
            np.array([z[0]]), np.array([z[1]]), np.array([-1]),
        ))  # fmt: skip

    def in_slots(self, name: str, places: _Places, mass: Array, local: Array, own: Array, length: float) -> None:
        """A body in each of some slots. local [n, 3]: its centre outward, around, along; own [n, 3]: in these directions."""
        keep = mass != 0.0
        turn = places.turn[keep]
        centre = np.einsum("nij,nj->ni", turn, local[keep])
        centre[:, 2] += places.z_mm[keep]
        self.names += [name] * int(keep.sum())
        self.parts.append((
            mass[keep], centre, np.einsum("nij,nj,nkj->nik", turn, own[keep], turn),
            centre[:, 2] - 0.5 * length, centre[:, 2] + 0.5 * length, places.row[keep],
        ))  # fmt: skip

    def done(self) -> Bodies:
        mass, centre, own, low, high, row = (np.concatenate(column) for column in zip(*self.parts, strict=True))
        return Bodies(tuple(self.names), mass, centre, own, low, high, np.asarray(row, dtype=np.intp))


@dataclass(frozen=True)
class _Places:
    z_mm: Array
    turn: Array
    row: NDArray[np.intp]


def _places(drum: Drum) -> _Places:
    found = slots(drum)
    angle = np.radians([s.angle_deg for s in found])
    c, s, zero, one = np.cos(angle), np.sin(angle), np.zeros(len(found)), np.ones(len(found))
    turn = np.stack([np.stack([c, -s, zero], -1), np.stack([s, c, zero], -1), np.stack([zero, zero, one], -1)], 1)
    return _Places(np.array([x.z_mm for x in found]), turn, np.array([x.row for x in found], dtype=np.intp))


def _tube(mass: float, outer: float, inner: float, length: float) -> tuple[float, float, float]:
    across = 0.25 * mass * (outer**2 + inner**2)
    return across, across, mass * length**2 / 12


def _cylinder(heap: _Heap, name: str, density: float, outer: float, inner: float, z: tuple[float, float]) -> None:
    low, high = min(z), max(z)
    mass = density * math.pi * (outer**2 - inner**2) * (high - low)
    if mass:
        heap.add(name, mass, (low, high), _tube(mass, outer, inner, high - low))


def _end(heap: _Heap, drum: Drum, end: StubShaft, side: str, density: float) -> None:
    faces = drum.disc_faces_mm[0 if side == "drive" else 1]
    outward = -1.0 if side == "drive" else 1.0
    bore = 0.5 * end.stub_bore_mm
    _cylinder(heap, f"{side}-side end disc", density, drum.inner_radius_mm, bore, faces)
    for near, far, diameter in end.pieces():
        z = (faces[0] + outward * near, faces[0] + outward * far)
        _cylinder(heap, f"{side}-side stub", density, 0.5 * diameter, bore, z)


def bodies(drum: Drum, material: Material | None = None, *, state: HammerState | None = None) -> Bodies:
    """All bodies of a drum. material: of shell, discs and stubs (steel, 7850 kg/m^3, unless given).

    Fillets, welds and broken edges are not weighed. Raises InputFault for a state that does not fit the drum.
    """
    state = state or HammerState()
    state.check(drum)
    density = KG_MM3 * (STEEL_DENSITY_KG_M3 if material is None else material.density_kg_m3)
    heap = _Heap()
    shell = (drum.shell_z_mm, drum.shell_z_mm + drum.shell_length_mm)
    _cylinder(heap, "shell, without slots", density, drum.outer_radius_mm, drum.inner_radius_mm, shell)
    _end(heap, drum, drum.drive_end, "drive", density)
    _end(heap, drum, drum.other_end, "free", density)
    _in_slots(heap, drum, density, state)
    if drum.drive is not None:
        j = 1e6 * drum.drive.sheave_inertia_kg_m2
        z = -drum.drive.sheave_overhang_mm
        heap.add("sheave", drum.drive.sheave_mass_kg, (z, z), (0.5 * j, 0.5 * j, 0.0))
    for mass in drum.masses:
        j, angle = 1e6 * mass.inertia_kg_m2, math.radians(mass.angle_deg)
        z2 = (mass.z_mm - 0.5 * mass.length_mm, mass.z_mm + 0.5 * mass.length_mm)
        own = (0.5 * j, 0.5 * j, mass.mass_kg * mass.length_mm**2 / 12)
        heap.add(mass.name, mass.mass_kg, z2, own, (mass.radius_mm * math.cos(angle), mass.radius_mm * math.sin(angle)))
    return heap.done()


def _in_slots(heap: _Heap, drum: Drum, density: float, state: HammerState) -> None:
    places = _places(drum)
    n = drum.slots_total

    def alike(*values: float) -> Array:
        return np.tile(np.array(values), (n, 1))

    cut = slot_body(drum.cutout, outer_radius_mm=drum.outer_radius_mm, inner_radius_mm=drum.inner_radius_mm)
    heap.in_slots(
        "slots, cut out", places, np.full(n, -density * cut.volume_mm3), alike(cut.radius_mm, 0.0, 0.0),
        -density * alike(cut.outward_mm5, cut.around_mm5, cut.along_mm5), 2 * drum.cutout.half_y_mm,
    )  # fmt: skip
    if drum.hammer is not None:
        _hammers(heap, drum, drum.hammer, places, state)
    for part in drum.slot_parts:
        m = part.mass_kg / 12
        own = (m * part.size_radial_mm**2, m * part.size_around_mm**2, m * part.size_along_mm**2)
        local = alike(part.radius_mm, part.around_mm, part.along_mm)
        heap.in_slots(part.name, places, np.full(n, part.mass_kg), local, alike(*own), part.size_along_mm)


def _hammers(heap: _Heap, drum: Drum, hammer: Hammer, places: _Places, state: HammerState) -> None:
    """Every slot holds half of a through-bar, or a hammer of its own; a tip above it."""
    n = drum.slots_total
    there = np.ones(n, dtype=bool)
    found = slots(drum)
    for number in state.missing:
        there[number] = False
        opposite = found[number].opposite
        if hammer.through and opposite is not None:
            there[opposite] = False
    for number in state.broken:
        there[number] = False
    wear = np.full(n, hammer.wear_mm)
    for number, value in state.wear_mm.items():
        wear[number] = value
    low = 0.0 if hammer.through else float(hammer.inner_radius_mm or 0.0)
    length = hammer.bar_end_mm - low
    whole = 0.5 * hammer.mass_kg if hammer.through else hammer.mass_kg
    bar_wear = np.zeros(n) if hammer.tip_mass_kg else wear
    left = length - bar_wear
    mass = np.where(there, whole * left / length, 0.0)
    zero = np.zeros(n)

    def block(m: Array, outward: Array, around: float, along: float) -> Array:
        return np.stack([m * outward**2, m * around**2, m * along**2], -1) / 12

    bar_radius = low + 0.5 * left
    own = block(mass, left, hammer.depth_mm, hammer.width_mm)
    heap.in_slots("bars", places, mass, np.stack([bar_radius, zero, zero], -1), own, hammer.width_mm)
    tip_radius, ahead = low + left, 0.0
    if hammer.tip_mass_kg:
        assert hammer.tip_height_mm is not None
        assert hammer.tip_radius_mm is not None
        assert hammer.tip_depth_mm is not None
        assert hammer.tip_width_mm is not None
        height = hammer.tip_height_mm - wear
        tip = np.where(there, hammer.tip_mass_kg * height / hammer.tip_height_mm, 0.0)
        tip_radius, ahead = hammer.tip_radius_mm - hammer.tip_height_mm + 0.5 * height, hammer.tip_ahead_mm
        local = np.stack([tip_radius, np.full(n, ahead), zero], -1)
        own = block(tip, height, hammer.tip_depth_mm, hammer.tip_width_mm)
        heap.in_slots("tips", places, tip, local, own, hammer.tip_width_mm)
    if state.extra_g:
        extra = np.zeros(n)
        for number, grams in state.extra_g.items():
            extra[number] = 1e-3 * grams if there[number] else 0.0
        local = np.stack([tip_radius, np.full(n, ahead), zero], -1)
        heap.in_slots("hammers, weighed differences", places, extra, local, np.zeros((n, 3)), hammer.cut_width_mm)
