"""The field of a whole row: copies in their places, no seams, and the peak where the answer has it."""

from __future__ import annotations

import meshio
import numpy as np
import pytest

import femdrum as fd
from femdrum.edge import Peaks
from femdrum.fem.cell import Fineness
from femdrum.fem.ring_level import whole_level
from femdrum.fem.row_field import write_row
from femdrum.fem.symmetry import plan_of
from femdrum.model.flank import default_patch
from femdrum.units import omega_rad_s

STEEL = fd.steel("S355")
SLOT = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=20)
RING = fd.Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows="aligned", cutout=SLOT)


@pytest.fixture(scope="module")
def field(tmp_path_factory: pytest.TempPathFactory) -> tuple[Peaks, meshio.Mesh]:
    names = ["rotation", "torsion", default_patch(RING, 0, "trailing", "pressure").name]
    level = whole_level(plan_of(RING), STEEL, names, Fineness(order=3, cells_per_arc=3, wall_cells=3))
    spin = omega_rad_s(1000) ** 2
    states = {"all": np.array([spin, 1e8, 20.0]), "still": np.array([spin, 0.0, 0.0])}
    path = tmp_path_factory.mktemp("row") / "field.vtu"
    write_row(path, level, states, STEEL)
    return level.edge.combine(states["all"]).peaks(), meshio.read(path)


def test_the_peak_is_where_the_edge_has_it(field: tuple[Peaks, meshio.Mesh]) -> None:
    peaks, mesh = field
    values = mesh.point_data["principal_MPa:all"]
    top = int(np.argmax(np.abs(values)))
    assert values[top] == pytest.approx(float(peaks.peak), rel=0.05)
    at = peaks.at
    assert at is not None
    c, s = np.cos(np.pi * at.slot), np.sin(np.pi * at.slot)
    x, y, z = mesh.points[top]
    expected = (RING.outer_radius_mm - at.depth_mm, at.x_mm, at.y_mm)
    assert (c * x + s * y, -s * x + c * y, z) == pytest.approx(expected, abs=9)


def test_a_load_that_meets_every_slot_alike_gives_a_field_with_all_mirrors(field: tuple[Peaks, meshio.Mesh]) -> None:
    _, mesh = field
    values = mesh.point_data["principal_MPa:still"]
    key = {tuple(k): i for i, k in enumerate(np.round(mesh.points, 3) + 0.0)}
    for mirror in ([-1, 1, 1], [1, -1, 1], [1, 1, -1]):
        index = [key[tuple(k)] for k in np.round(mesh.points * mirror, 3) + 0.0]
        assert np.abs(values[index] - values).max() < 1e-3 * np.abs(values).max()


def test_the_whole_row_is_there_without_gaps(field: tuple[Peaks, meshio.Mesh]) -> None:
    _, mesh = field
    cells = mesh.cells[0].data
    corners = mesh.points[cells]
    # volume of hexahedra by six tetrahedra each
    split = ((0, 1, 2, 6), (0, 2, 3, 6), (0, 3, 7, 6), (0, 7, 4, 6), (0, 4, 5, 6), (0, 5, 1, 6))
    volume = sum(
        np.abs(
            np.einsum(
                "ni,ni->n",
                corners[:, b] - corners[:, a],
                np.cross(corners[:, c] - corners[:, a], corners[:, d] - corners[:, a]),
            )
        ).sum()
        / 6
        for a, b, c, d in split
    )
    shell = np.pi * (380**2 - 340**2) * 180
    slot = 60 * 120 - (4 - np.pi) * 20**2
    assert volume == pytest.approx(shell - 2 * slot * 40.2, rel=0.025)  # straight-sided cells cut the arcs off


def test_mirrored_cells_are_not_turned_inside_out(field: tuple[object, meshio.Mesh]) -> None:
    _, mesh = field
    corners = mesh.points[mesh.cells[0].data]
    a, b, c = (corners[:, k] - corners[:, 0] for k in (1, 3, 4))
    assert np.all(np.einsum("ni,ni->n", a, np.cross(b, c)) > 0)
