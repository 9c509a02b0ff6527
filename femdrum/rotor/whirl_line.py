"""A drum as a line of shafts for its whirling: stubs and shell as beams, discs as tilting springs, all else as bodies.

Three chains: the drive-side stub (0), the shell (1), the free-side stub (2). The stub goes on
with its own diameter to the disc's middle, where disc and shell begin; the disc yields by bending as a plate.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from ..errors import MISSING
from ..model.check import Checks
from ..model.drum import Drum
from ..model.drum_shaft import StubShaft
from ..model.material import STEEL_DENSITY_KG_M3, STEEL_POISSON, STEEL_YOUNGS_MPA, Material
from ..model.shaft_line import ShaftBody, ShaftJoint, ShaftLine, ShaftPiece, ShaftSpring
from .bodies import Bodies, HammerState, bodies
from .disc_tilt import disc_tilt_Nmm_rad

__all__ = ["NOTES", "shaft_line"]

DRIVE, SHELL, FREE = 0, 1, 2
SAME_MM = 1e-6
NOTES = (
    "The shell's bending stiffness is reduced beside the slots by the share that they cut from its circumference.",
    "Bars are taken as round: their inertia across the drum is the mean of both directions.",
    "End discs yield by plate bending and shear with a clamped rim and a rigid hub; the shell's own yielding under the rim is "
    "not in it.",
    "No damping, no bearing clearance; the supports hold against shift, not against tilt.",
)


def shaft_line(drum: Drum, material: Material | None = None, *, state: HammerState | None = None) -> ShaftLine:
    """The drum as pieces, bodies, joints and springs.

    Raises InputFault where a bearing has no stiffness: it moves critical speeds most, and nobody can guess it.
    """
    checks = Checks()
    pair = {"drive_bearing": drum.drive_bearing, "free_bearing": drum.other_bearing}
    for name, bearing in pair.items():
        value = None if bearing is None else bearing.stiffness_kN_mm
        way = "radial stiffness of bearing and housing together on their foundation; it decides the critical speeds"
        checks.positive(f"{name}.stiffness_kN_mm", MISSING if value is None else value, way)
    checks.done()
    youngs = STEEL_YOUNGS_MPA if material is None else material.youngs_modulus_MPa
    poisson = STEEL_POISSON if material is None else material.poissons_ratio
    near, far = (0.5 * (a + b) for a, b in drum.disc_faces_mm)
    heap = bodies(drum, material, state=state)
    joints = tuple(
        ShaftJoint(
            z_mm=z, chain=chain, other_chain=SHELL,
            tilt_Nmm_rad=disc_tilt_Nmm_rad(
                rim_radius_mm=drum.inner_radius_mm, hub_radius_mm=0.5 * end.stub_diameter_mm,
                thickness_mm=end.disc_thickness_mm, youngs_modulus_MPa=youngs, poissons_ratio=poisson,
            ),
        )
        for z, chain, end in ((near, DRIVE, drum.drive_end), (far, FREE, drum.other_end))
    )  # fmt: skip
    springs = []
    for z, chain, bearing in ((0.0, DRIVE, drum.drive_bearing), (drum.bearing_span_mm, FREE, drum.other_bearing)):
        assert bearing is not None
        assert bearing.stiffness_kN_mm is not None
        across = bearing.stiffness_across_kN_mm
        springs.append(
            ShaftSpring(
                z_mm=z, chain=chain, stiffness_N_mm=1e3 * bearing.stiffness_kN_mm,
                stiffness_across_N_mm=None if across is None else 1e3 * across,
            )
        )  # fmt: skip
    pieces = (
        *_stub(drum, drum.drive_end, DRIVE, near),
        *_shell(drum),
        *_stub(drum, drum.other_end, FREE, far),
    )
    return ShaftLine(
        pieces=pieces, springs=tuple(springs), joints=joints, bodies=_bodies(heap, near, far),
        youngs_modulus_MPa=youngs, poissons_ratio=poisson,
        density_kg_m3=STEEL_DENSITY_KG_M3 if material is None else material.density_kg_m3,
    )  # fmt: skip


def _stub(drum: Drum, end: StubShaft, chain: int, middle: float) -> tuple[ShaftPiece, ...]:
    """Outside the disc as drawn; within it, to its middle, without weight, which is the disc's."""
    face = drum.disc_faces_mm[0 if chain == DRIVE else 1][0]
    out = -1.0 if chain == DRIVE else 1.0
    drawn = [(face + out * a, face + out * b, d, True) for a, b, d in end.pieces()]
    return tuple(
        ShaftPiece(
            from_mm=min(a, b), to_mm=max(a, b), outer_diameter_mm=d, inner_diameter_mm=end.stub_bore_mm, weighed=weighed,
            chain=chain,
        )
        for a, b, d, weighed in (*drawn, (face, middle, end.stub_diameter_mm, False))
    )  # fmt: skip


def _shell(drum: Drum) -> tuple[ShaftPiece, ...]:
    """From end to end: beyond the discs it stands out freely."""
    start, end = drum.shell_z_mm, drum.shell_z_mm + drum.shell_length_mm
    half = drum.cutout.half_y_mm
    z = np.array([drum.row_z_mm(row) for row in range(drum.rows_total)])
    marks = np.unique(np.round(np.concatenate([[start, end], z - half, z + half]), 9))
    cut = drum.slots_around * 2 * drum.cutout.half_x_mm / (2 * math.pi * drum.mid_radius_mm)
    out = []
    for low, high in itertools.pairwise(marks):
        if high - low <= SAME_MM:
            continue
        rows = int(np.sum(np.abs(z - 0.5 * (low + high)) < half))
        out.append(
            ShaftPiece(
                from_mm=float(low), to_mm=float(high), outer_diameter_mm=drum.outer_diameter_mm,
                inner_diameter_mm=2 * drum.inner_radius_mm, stiffness_share=max(1 - rows * cut, 0.05), chain=SHELL,
            )
        )  # fmt: skip
    return tuple(out)


def _bodies(heap: Bodies, near: float, far: float) -> tuple[ShaftBody, ...]:
    """Everything that the pieces do not weigh, gathered where it stands."""
    gathered: dict[tuple[int, float], list[int]] = {}
    for i, name in enumerate(heap.names):
        if name.endswith("-side stub") or name.startswith("shell,"):
            continue
        z = round(float(heap.centre_mm[i, 2]), 6)
        on_shell = heap.row[i] >= 0 or name.endswith("-side end disc") or near <= z <= far
        gathered.setdefault((SHELL if on_shell else DRIVE if z < near else FREE, z), []).append(i)
    return tuple(_body(heap.only(found), z, chain) for (chain, z), found in gathered.items())


def _body(heap: Bodies, z: float, chain: int) -> ShaftBody:
    second = heap.second_kg_mm2(np.array([0.0, 0.0, z])).sum(axis=0)
    polar = second[0, 0] + second[1, 1]
    return ShaftBody(
        z_mm=z, mass_kg=float(heap.mass_kg.sum()), polar_kg_m2=1e-6 * float(polar),
        across_kg_m2=1e-6 * float(second[2, 2] + 0.5 * polar), chain=chain,
    )  # fmt: skip
