"""What each face of a wedge pack bears, with bands from two meshes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.contact_pack import ON_HAMMER, PackSolution, faces_of
from ..fem.contact_read import FaceReading, read_face
from ..model.contact_input import WedgePack
from ..quantity import Quantity, Verdict

__all__ = ["PackFace", "bears_fully", "flat_ends_mm", "flat_mm", "pack_faces"]

Array = NDArray[np.float64]

# of a face's height, in from the ends of its flat part: where the pressure is told, for at a sharp end it has no finite value
NEAR = 0.05
# band over the change from mesh to mesh, and least band; found on packs with ever finer meshes
COUPLE_FACTOR, COUPLE_FLOOR = 3.0, 2e-4
PEAK_FACTOR, UNEVEN_FACTOR, PEAK_FLOOR = 0.4, 1.5, 2e-3
NEAR_FACTOR, NEAR_FLOOR = 2.0, 5e-3
# share of the flat part from which on all of it bears
FULL = 0.98
LENGTH_FACTOR, SPACING_SHARE, OPENING_FLOOR = 2.0, 0.3, 1e-2


@dataclass(frozen=True, eq=False)
class PackFace:
    """What a face of a pack bears.

    flank: "leading", "trailing", or None (wedge on hammer). height_mm, pressure_MPa, shear_MPa [m]: node by node; the shear as the first
    side slips (see fem/contact.py). force_N: normal force. shear_N: friction force on the flank, or on the wedge, outward positive. mean_MPa: over the
    height of the wall or, on the hammer, of the wedge. couple: moment of the pressures, N mm; linear: MPa at the outer end less the mean
    if the pressure were a straight line over that height. peak: no number where contact reaches a sharp end. near: pressure a twentieth of the height in from
    where the flat face ends, inner and outer. bears: length in contact, from low_mm to high_mm. opening: largest gap, um. stick_share: of
    what bears, None without friction.
    """

    name: str
    flank: str | None
    height_mm: Array
    pressure_MPa: Array
    shear_MPa: Array
    force_N: float
    shear_N: float
    mean_MPa: float
    couple: Quantity
    linear: Quantity
    peak: Quantity
    peak_height_mm: float
    near: tuple[Quantity, Quantity]
    bears: Quantity
    low_mm: float
    high_mm: float
    opening: Quantity
    stick_share: float | None

    @property
    def half_width_mm(self) -> float:
        """Half of the distance between the outermost places that bear."""
        return 0.5 * (self.high_mm - self.low_mm)


def pack_faces(pack: WedgePack, coarse: PackSolution, fine: PackSolution, asked: float) -> tuple[PackFace, ...]:
    """The three faces, from two neighbouring meshes. asked: wanted relative band."""
    on_hammer_flank, on_wedge_flank = faces_of(pack)
    flanks = {on_hammer_flank: pack.hammer_on, ON_HAMMER: None, on_wedge_flank: pack.wedge_on}
    out = []
    for name, flank in flanks.items():
        rough, read = (read_face(s.state.faces[name], 1) for s in (coarse, fine))
        out.append(_face(pack, name, flank, rough, read, asked))
    return tuple(out)


def _ends(pack: WedgePack, name: str) -> tuple[tuple[float, bool], tuple[float, bool]]:
    """Heights at which a face ends, inner and outer, and whether a sharp end presses there on a face that goes on."""
    half = 0.5 * pack.wall_mm
    wall, wedge, hammer = (-half, half), pack.wedge_ends_mm, pack.hammer_ends_mm
    on_hammer_flank, on_wedge_flank = faces_of(pack)
    one, other = {on_hammer_flank: (wall, hammer), ON_HAMMER: (wedge, hammer), on_wedge_flank: (wedge, wall)}[name]
    same = 1e-6 * pack.wall_mm
    sharp = pack.edge_radius_mm == 0
    inner, outer = max(one[0], other[0]), min(one[1], other[1])
    return (inner, sharp and abs(one[0] - other[0]) > same), (outer, sharp and abs(one[1] - other[1]) > same)


def flat_mm(pack: WedgePack, name: str) -> float:
    """Height of a face's flat part, over which both sides could bear; rounds at its ends are left out."""
    low, high = flat_ends_mm(pack, name)
    return high - low


def flat_ends_mm(pack: WedgePack, name: str) -> tuple[float, float]:
    """Heights between which a face is flat on both sides."""
    (inner, _), (outer, _) = _ends(pack, name)
    return inner + pack.edge_radius_mm, outer - pack.edge_radius_mm


def bears_fully(pack: WedgePack, face: PackFace) -> bool:
    """Whether all of the flat part bears, but for what the mesh cannot tell."""
    return float(face.bears) >= FULL * flat_mm(pack, face.name)


def _face(
    pack: WedgePack, name: str, flank: str | None, rough: FaceReading, read: FaceReading, asked: float
) -> PackFace:
    length = pack.length_mm
    height = pack.wall_mm if flank else pack.wedge_height_mm
    full = read.normal_N * height / 6
    couple_band = COUPLE_FACTOR * abs(read.couple_Nmm - rough.couple_Nmm) + COUPLE_FLOOR * full
    settled = Verdict.SETTLED if couple_band <= asked * full else Verdict.NOT_SETTLED
    couple = Quantity(
        length * read.couple_Nmm,
        "N mm",
        length * couple_band,
        settled,
        "couple of the pressures about the wall's middle",
    )
    to_linear = 6 / height**2
    middle = 0.0 if flank else pack.wedge_middle_mm
    linear = Quantity(
        (read.couple_Nmm - middle * read.normal_N) * to_linear,
        "MPa",
        couple_band * to_linear,
        settled,
        "linear part of the pressure, at the outer end",
    )
    ends = _ends(pack, name)
    low, high = read.runs[0][0], read.runs[-1][1]
    spacing = [_spacing(read.along_mm, place) for place in (low, high)]
    reaches = [
        sharp and abs(place - end) <= gap for (end, sharp), place, gap in zip(ends, (low, high), spacing, strict=True)
    ]
    if any(reaches):
        peak = Quantity(None, "MPa", None, Verdict.UNBOUNDED, "peak pressure")
    else:
        band = (
            PEAK_FACTOR * abs(read.peak_MPa - rough.peak_MPa)
            + UNEVEN_FACTOR * abs(read.peak_MPa - read.even_peak_MPa)
            + PEAK_FLOOR * read.peak_MPa
        )
        told = Verdict.SETTLED if band <= asked * read.peak_MPa else Verdict.NOT_SETTLED
        peak = Quantity(read.peak_MPa, "MPa", band, told, "peak pressure")
    bears_band = LENGTH_FACTOR * abs(read.bears_mm - rough.bears_mm) + SPACING_SHARE * sum(spacing)
    bears = Quantity(read.bears_mm, "mm", bears_band, Verdict.SETTLED, "length in contact through the wall")
    inside = [_opening_mm(pack, name, r) for r in (read, rough)]
    opening = Quantity(
        1e3 * inside[0], "um", 1e3 * (LENGTH_FACTOR * abs(inside[0] - inside[1]) + OPENING_FLOOR * inside[0]), Verdict.SETTLED,
        "largest gap between the flat faces",
    )  # fmt: skip
    # told of the flank, or on the hammer of the wedge, which is the first side there
    shear = read.shear_N * (1.0 if flank is None or _flank_first(pack, name) else -1.0)
    return PackFace(
        name, flank, read.along_mm, read.pressure_MPa, read.shear_MPa, length * read.normal_N, length * shear,
        read.normal_N / height, couple, linear, peak, read.peak_mm, _near(rough, read, ends, pack.edge_radius_mm), bears, low, high, opening,
        read.stick_share,
    )  # fmt: skip


def _opening_mm(pack: WedgePack, name: str, read: FaceReading) -> float:
    """Largest gap, the rounds at the ends left out."""
    half = 0.5 * pack.wall_mm
    low, high = (-half, half) if _flank_first(pack, name) else pack.wedge_ends_mm
    round_mm = pack.edge_radius_mm * (1 - 1e-9)
    flat = (read.along_mm >= low + round_mm) & (read.along_mm <= high - round_mm) & (read.pressure_MPa <= 0)
    return float(read.gap_mm[flat].max(initial=0.0))


def _flank_first(pack: WedgePack, name: str) -> bool:
    """Whether the flank itself is the first side of its face."""
    on_hammer_flank, on_wedge_flank = faces_of(pack)
    return name == on_hammer_flank or (name == on_wedge_flank and pack.wedge_height_mm > pack.wall_mm)


def _spacing(along: Array, place: float) -> float:
    """Distance of the nodes about a place."""
    at = int(np.clip(np.searchsorted(along, place), 1, along.size - 1))
    return float(along[at] - along[at - 1])


def _near(
    rough: FaceReading, read: FaceReading, ends: tuple[tuple[float, bool], tuple[float, bool]], round_mm: float
) -> tuple[Quantity, Quantity]:
    (low, _), (high, _) = ends
    step = round_mm + NEAR * (high - low)
    out = []
    for place, where in ((low + step, "inner"), (high - step, "outer")):
        value, before = (float(np.interp(place, r.along_mm, r.pressure_MPa)) for r in (read, rough))
        band = NEAR_FACTOR * abs(value - before) + NEAR_FLOOR * read.normal_N / (high - low)
        what = f"pressure {step:.3g} mm in from the {where} end"
        out.append(Quantity(value, "MPa", band, Verdict.SETTLED, what))
    return out[0], out[1]
