"""Stress along the paths of cracks: meets the edge's own stress, is the same on every model of the same ring, converges."""

import numpy as np
import pytest

from femdrum.assess.solve import solve_all
from femdrum.fem.cell import Fineness
from femdrum.fem.crack_path import crack_paths
from femdrum.fem.ring_level import ring_level
from femdrum.model import Axial, Ring, Rotation, Slot, Torsion, steel

STEEL = steel("S355", 40.0)
SLOT = Slot(around_mm=60, axial_mm=120, corner_radius_mm=12)
RING = Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows="aligned", cutout=SLOT)


@pytest.fixture(scope="module")
def quarter():
    return solve_all(RING, [Rotation(speed_rpm=1000), Axial(stress_MPa=1.0)], STEEL, error=0.02)


@pytest.fixture(scope="module")
def whole():
    loads = [Rotation(speed_rpm=1000), Axial(stress_MPa=1.0), Torsion(torque_Nm=1e5)]
    return solve_all(RING, loads, STEEL, error=0.02)


def test_paths_start_with_the_stress_of_the_edge(whole):
    paths = whole.crack_paths()
    edge = whole.edge
    for k in range(0, len(paths.slot), 17):
        i = int(np.argmin(np.abs(edge.s_mm - paths.s_mm[k])))
        d = int(np.flatnonzero((edge.depth_mm == paths.depth_mm[k]) & (edge.offset_mm == 0.0))[0])
        assert paths.stress[k, :, 0] == pytest.approx(edge.stress[:, paths.slot[k], i, d, 0])
        assert paths.x_mm[k, 0] == 0.0
        assert np.all(np.diff(paths.x_mm[k]) > 0)


def test_a_whole_row_and_its_quarter_give_the_same_paths(quarter, whole):
    some, every = quarter.crack_paths(), whole.crack_paths()
    shared = [every_case for every_case, case in enumerate(whole.edge.cases) if case.name in ("rotation", "axial")]
    order = [next(i for i, c in enumerate(quarter.edge.cases) if c.name == whole.edge.cases[k].name) for k in shared]
    first = every.slot == 0
    assert every.s_mm[first] == pytest.approx(some.s_mm)
    scale = np.abs(some.stress[:, order]).max()
    # the ladders may have ended at different orders
    assert every.stress[first][:, shared, 1:].shape == some.stress[:, order, 1:].shape
    assert np.abs(every.stress[first][:, shared] - some.stress[:, order]).max() < 0.02 * scale


def test_mirrored_corners_have_equal_paths(quarter):
    paths = quarter.crack_paths()
    length = float(quarter.edge.s_mm[-1] + quarter.edge.s_mm[1])
    k = int(np.argmax(paths.stress[:, 0, 0]))
    mirrored = paths.nearest(0, length - paths.s_mm[k], paths.depth_mm[k], length)
    assert mirrored != k
    assert paths.stress[mirrored] == pytest.approx(paths.stress[k], rel=1e-9, abs=1e-12)


def test_far_from_the_slot_an_axial_pull_is_plain():
    # a small slot in a wide cell: at the end of a path along the drum's middle the pull is the nominal one again
    ring = Ring(
        outer_diameter_mm=760, wall_mm=40, pitch_mm=400, slots_around=1, rows="aligned",
        cutout=Slot(around_mm=40, axial_mm=40, corner_radius_mm=10),
    )  # fmt: skip
    solved = solve_all(ring, [Axial(stress_MPa=1.0)], STEEL, error=0.02)
    paths = solved.crack_paths()
    # from the middle of the leading flank the path runs around the drum, and the axial stress opens it
    k = paths.nearest(0, 0.0, 20.0, float(solved.edge.s_mm[-1] + solved.edge.s_mm[1]))
    stress, x = paths.stress[k, 0], paths.x_mm[k]
    assert stress[0] > 1.5
    assert x[-1] > 20
    assert 0.95 < stress[-1] < 1.2
    assert np.all(np.diff(stress) < 3e-3)


def test_paths_converge_with_the_order():
    found = []
    for order in (3, 4, 5):
        level = ring_level(
            RING,
            STEEL,
            ("rotation",),
            Fineness(order=order, cells_per_arc=3, growth=2.5, first_layer=0.75, wall_cells=3, wall_order=order - 1),
        )
        paths = crack_paths(level, level.edge, STEEL)
        k = paths.nearest(0, float(paths.s_mm[np.argmax(paths.stress[:, 0, 0])]), 40.0, 1e9)
        found.append(np.interp([0.5, 2.0, 5.0, 10.0, 20.0], paths.x_mm[k], paths.stress[k, 0]))
    first, second = (np.abs(a - found[2]).max() for a in found[:2])
    assert second < first
    assert second < 0.03 * np.abs(found[2]).max()
