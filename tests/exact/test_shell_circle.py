"""A circular hole in a thin cylinder against shallow-shell theory: stress along the hole's edge, in the wall and at its faces.

Expected values: computed for this project by a Bessel series of shallow-shell theory, nu = 0.3, numerical error below 1e-8;
it shares nothing with femdrum. Its own error as a model is of the order of thickness over radius and of hole over radius,
squared. A solid ring of one slot and a pitch of six radii stands for the cylinder with one hole.
beta = a [12 (1 - nu^2)]^(1/4) / sqrt(8 R h); nominal: the plain wall's membrane stress (pressure: around the drum).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

import femdrum as fd
from femdrum.fem.cell import Fineness
from femdrum.fem.ring_level import WholeLevel, whole_level
from femdrum.fem.symmetry import mirror_plan

STEEL = fd.steel("S355")
WALL = 10.0
CASES = ["axial", "torsion", "internal_pressure", "hung"]


@dataclass(frozen=True)
class Series:
    """Greatest stress over nominal at a face of the wall, its angle from the cylinder's axis, and greatest mean through the wall."""

    total: float
    angle_deg: float
    membrane: float


# pressure: closed ends, half of it along the axis; what closes the hole leans on its edge
SERIES = {
    0.1: {
        "axial": Series(3.03837, 90.0, 3.01564),
        "torsion": Series(4.18616, 45.0, 4.06148),
        "pressure": Series(2.64835, 0.0, 2.57404),
    },
    0.5: {
        "axial": Series(3.67548, 90.0, 3.35576),
        "torsion": Series(6.94831, 47.5, 5.21434),
        "pressure": Series(4.12234, 0.0, 3.85501),
    },
    1.0: {
        "axial": Series(5.01280, 90.0, 4.15587),
        "torsion": Series(12.69455, 51.5, 7.89427),
        "pressure": Series(7.96991, 0.0, 5.69640),
    },
}


def hole_radius_mm(beta: float, radius_mm: float) -> float:
    return beta * math.sqrt(8 * radius_mm * WALL) / (12 * (1 - 0.3**2)) ** 0.25


def cylinder(beta: float, slenderness: float, fineness: Fineness) -> tuple[fd.Ring, WholeLevel]:
    """A cylinder of mid radius `slenderness` times the wall, and its unit cases."""
    radius = slenderness * WALL
    part = fd.Ring(
        outer_diameter_mm=2 * radius + WALL,
        wall_mm=WALL,
        pitch_mm=6 * radius,
        slots_around=1,
        rows="aligned",
        cutout=fd.Circle(diameter_mm=2 * hole_radius_mm(beta, radius)),
    )
    return part, whole_level(mirror_plan(part), STEEL, CASES, fineness)


def along_the_edge(part: fd.Ring, level: WholeLevel) -> dict[str, Series]:
    """Stress along the hole's edge over nominal, on the hole's wall."""
    edge = level.edge
    wall = edge.offset_mm == 0.0
    stress, depth = edge.stress[:, 0, :, wall, 0], edge.depth_mm[wall]  # [d, case, s]
    inner, outer, mid = part.inner_radius_mm, part.outer_radius_mm, part.mid_radius_mm
    section, polar = math.pi * (outer**2 - inner**2), 0.5 * math.pi * (outer**4 - inner**4)
    plug = math.pi * part.cutout.half_x_mm**2  # N at 1 MPa
    states = {
        "axial": ([1.0, 0.0, 0.0, 0.0], 1.0),
        "torsion": ([0.0, 1.0, 0.0, 0.0], mid / polar),
        "pressure": ([math.pi * inner**2 / section, 0.0, 1.0, plug], inner / part.wall_mm),
    }
    out = {}
    for name, (factors, nominal) in states.items():
        ratio = np.abs(np.einsum("c,dcs->sd", factors, stress) / nominal)
        mean = np.abs(np.trapezoid(np.einsum("c,dcs->sd", factors, stress) / nominal, depth) / np.ptp(depth))
        s = int(np.argmax(ratio.max(1)))
        out[name] = Series(float(ratio.max()), from_axis_deg(edge.s_mm[s] / part.cutout.half_x_mm), float(mean.max()))
    return out


def from_axis_deg(turned_rad: NDArray[np.float64] | float) -> float:
    """Angle from the cylinder's axis, 0 to 90 degrees, of a place that far from +x along the edge."""
    t = (90.0 - math.degrees(turned_rad)) % 180.0
    return min(t, 180.0 - t)


def compare(found: dict[str, Series], expected: dict[str, Series], total: float, membrane: float) -> None:
    for name, series in expected.items():
        assert found[name].total == pytest.approx(series.total, rel=total), name
        assert found[name].membrane == pytest.approx(series.membrane, rel=membrane), name
        assert found[name].angle_deg == pytest.approx(series.angle_deg, abs=2.0), name


@pytest.mark.parametrize("beta", [0.5, 1.0])
def test_wall_a_hundredth_of_the_radius(beta: float) -> None:
    found = along_the_edge(*cylinder(beta, 100, Fineness(order=4, cells_per_arc=3, wall_cells=2)))
    compare(found, SERIES[beta], total=0.03, membrane=0.02)


@pytest.mark.slow
@pytest.mark.parametrize("beta", [0.5, 1.0])
def test_wall_a_two_hundredth_of_the_radius_on_a_finer_mesh(beta: float) -> None:
    """Both errors, the mesh's and the theory's, are less: 1.2 %."""
    found = along_the_edge(*cylinder(beta, 200, Fineness(order=5, cells_per_arc=4, wall_cells=2)))
    compare(found, SERIES[beta], total=0.012, membrane=0.01)


@pytest.mark.slow
def test_small_hole_tends_to_the_plate() -> None:
    """Mean through the wall at beta 0.1: the series within 1 %; 3 and 4 of the plate, of which the series differs by 0.5 and 1.5 %."""
    found = along_the_edge(*cylinder(0.1, 100, Fineness(order=5, cells_per_arc=2, wall_cells=2)))
    for name, series in SERIES[0.1].items():
        assert found[name].membrane == pytest.approx(series.membrane, rel=0.01), name
    assert found["axial"].membrane == pytest.approx(3.0, rel=0.02)
    assert found["torsion"].membrane == pytest.approx(4.0, rel=0.025)


def test_what_closes_the_hole_balances_the_pressure() -> None:
    """The bore lacks the hole's projected area, pi a^2; the plug's force hands it on. The bore is far larger than the hole,
    so this is sharp on the mesh: with cells of half a turn the sum missed by a fifth.
    """
    part, level = cylinder(1.0, 100, Fineness(order=4, cells_per_arc=2, wall_cells=2))
    pressure, plug = (level.whole.relief[CASES.index(name)].net for name in ("internal_pressure", "hung"))
    area = math.pi * part.cutout.half_x_mm**2
    assert plug[0] == pytest.approx(1.0, rel=1e-9)
    assert pressure[0] == pytest.approx(-area, rel=2e-3)
    assert np.abs(np.add(pressure, area * np.array(plug))).max() <= 2e-3 * area
