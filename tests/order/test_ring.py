"""The slotted ring as a solid: volume, symmetry, the half-turn of alternate rows, superposition, hung masses."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

import femdrum as fd
from femdrum.fem.cell import Fineness
from femdrum.fem.elasticity import lame, mapped_gradients, stiffness
from femdrum.fem.mesh import Mesh
from femdrum.fem.ring_level import ring_field, ring_level
from femdrum.fem.ring_mesh import MOST_ANGLE, ring_mesh
from femdrum.fem.supports import Supports
from femdrum.fem.system import displacements
from femdrum.fem.unit_cases.ring import axial, hung, rotation
from femdrum.units import omega_rad_s

STEEL = fd.steel("S355")
COARSE = Fineness(order=3, cells_per_arc=2, wall_cells=3)


def ring(rows: str = "aligned", radius: float | str = 15, **changes: object) -> fd.Ring:
    """An invented ring; changes replace its fields."""
    cutout = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=radius)
    fields = {"outer_diameter_mm": 760, "wall_mm": 40, "pitch_mm": 180, "slots_around": 4, "cutout": cutout}
    return fd.Ring(**{**fields, **changes}, rows=rows)  # type: ignore[arg-type]


def slot_volume(part: fd.Ring) -> float:
    """Volume that the straight cut takes from the shell, by one-dimensional integration."""
    a, b, r = part.cutout.half_x_mm, part.cutout.half_y_mm, part.cutout.radius_mm

    def slice_(x: float) -> float:
        height = b if x <= a - r else b - r + math.sqrt(max(r * r - (x - a + r) ** 2, 0.0))
        return height * (math.sqrt(part.outer_radius_mm**2 - x * x) - math.sqrt(part.inner_radius_mm**2 - x * x))

    return 4 * sum(quad(slice_, *ends, epsabs=1e-9, epsrel=1e-12)[0] for ends in ((0, a - r), (a - r, a)))


@pytest.mark.parametrize("rows", ["aligned", "alternate"])
@pytest.mark.parametrize("slots", [2, 5, 12])
def test_mesh_fills_the_shell_less_the_straight_cut_slots(rows: str, slots: int) -> None:
    part = ring(rows, slots_around=slots, outer_diameter_mm=900)
    mesh = ring_mesh(part, Fineness(order=5))
    got = mapped_gradients(mesh.nodes, mesh.cells, mesh.orders)[1].sum() * 4 * slots
    shell = math.pi * (part.outer_radius_mm**2 - part.inner_radius_mm**2) * part.pitch_mm
    assert got == pytest.approx(shell - slots * slot_volume(part), rel=1e-7)


@pytest.mark.parametrize("rows", ["aligned", "helical"])
@pytest.mark.parametrize("pitch", [180, 900])
@pytest.mark.parametrize("slots", [1, 2, 3])
def test_no_cell_spans_a_large_part_of_the_drum(rows: str, pitch: float, slots: int) -> None:
    part = ring(rows, slots_around=slots, pitch_mm=pitch, row_angle_deg=25.0 if rows == "helical" else None)
    mesh = ring_mesh(part, COARSE)
    bore = mesh.nodes[mesh.faces["bore"]]
    # the columns of one width are stretched a little so that the last one ends on the cell's border
    assert np.ptp(np.arctan2(bore[..., 1], bore[..., 0]), axis=1).max() < 1.2 * MOST_ANGLE


def test_flanks_are_flat_and_parallel() -> None:
    part = ring(radius=15)
    mesh = ring_mesh(part, COARSE)
    wall = mesh.nodes[mesh.edge.bands[1]]
    flank = np.abs(wall[:, :, 2]).max(1) < part.cutout.half_y_mm - 15 - 1e-9
    assert flank.sum() > 3
    assert np.abs(wall[flank, :, 1] - part.cutout.half_x_mm).max() < 1e-9


def test_edge_break_is_a_chamfer_of_its_size() -> None:
    part = ring(edge_break_mm=3)
    mesh = ring_mesh(part, COARSE)
    depth, offset = mesh.edge.depth_mm, mesh.edge.offset_mm
    assert depth[1][0] == pytest.approx(3)
    assert depth[1][-1] == pytest.approx(40 - 3)
    near = offset[2] <= 3
    assert depth[2][near] == pytest.approx(40 - 3 + offset[2][near])
    coarse, fine, sharp = (
        ring_level(p, STEEL, ["rotation"], Fineness(order=order)).edge.combine([1.0]).peaks().peak.value
        for p, order in ((part, 3), (part, 4), (ring(), 4))
    )
    assert coarse == pytest.approx(fine, rel=0.02)
    assert fine == pytest.approx(sharp, rel=0.15)


def half_turn_cell(part: fd.Ring, mesh: Mesh) -> tuple[Mesh, Supports]:
    """The quarter cell and its half-turned image as one mesh from one row's middle to the next."""
    spacing = math.pi / part.slots_around
    angle = np.arctan2(mesh.nodes[:, 1], mesh.nodes[:, 0])
    radius = np.hypot(mesh.nodes[:, 0], mesh.nodes[:, 1])
    turned = np.stack(
        [radius * np.cos(spacing - angle), radius * np.sin(spacing - angle), part.pitch_mm - mesh.nodes[:, 2]], -1
    )
    nodes = np.concatenate([mesh.nodes, turned])
    _, first, inverse = np.unique(np.round(nodes, 6) + 0.0, axis=0, return_index=True, return_inverse=True)
    inverse = inverse.ravel()
    cells = np.concatenate([inverse[mesh.cells], inverse[mesh.cells + len(mesh.nodes)]])
    both = Mesh(mesh.orders, nodes[first], cells, {}, mesh.edge)
    supports = Supports(len(first), 3)
    x, y, z = both.nodes.T
    around = np.arctan2(y, x)
    supports.fix(np.flatnonzero(np.abs(y) < 1e-6), 1)
    side = np.flatnonzero(np.abs(around - spacing) < 1e-8)
    c, s = math.cos(spacing), math.sin(spacing)
    supports.turn(side, np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]]))
    supports.fix(side, 1)
    supports.fix(np.flatnonzero(np.abs(z) < 1e-6), 2)
    top = np.flatnonzero(np.abs(z - part.pitch_mm) < 1e-6)
    supports.fix(top, 2)
    supports.move(top, 2)
    return both, supports


@pytest.mark.parametrize("slots", [2, 4])
def test_alternate_rows_by_half_turn_equal_the_cell_between_two_row_middles(slots: int) -> None:
    part = ring("alternate", slots_around=slots)
    field = ring_field(part, STEEL, ["rotation", "axial"], COARSE)
    both, supports = half_turn_cell(part, field.mesh)
    force = np.stack([rotation(part, both, STEEL).pieces[0].force, np.zeros_like(both.nodes)], -1)
    pull = axial(part, field.mesh, STEEL).on_quarter(part, len(field.mesh.nodes)).resultant
    solved = displacements(both, STEEL, supports, force, np.array([[0.0, pull]]))
    # the same nodes, found by their places
    key = {tuple(v): i for i, v in enumerate(np.round(both.nodes, 6) + 0.0)}
    index = [key[tuple(v)] for v in np.round(field.mesh.nodes, 6) + 0.0]
    for case in (0, 1):
        a, b = field.u[..., case], solved.u[index][..., case]
        assert np.abs(a - b).max() <= 1e-8 * np.abs(a).max()


def test_net_axial_force_is_what_was_asked() -> None:
    part = ring()
    mesh = ring_mesh(part, COARSE)
    share = math.pi * (part.outer_radius_mm**2 - part.inner_radius_mm**2) / (2 * part.slots_around)
    assert axial(part, mesh, STEEL).on_quarter(part, len(mesh.nodes)).resultant == pytest.approx(share)
    # on any cut: the mean axial stress of the solution over the far face, by the nodes' reactions
    field = ring_field(part, STEEL, ["axial", "rotation"], COARSE)
    internal = np.zeros((*mesh.nodes.shape, 2))
    lam, mu = lame(STEEL, 3)
    for cell in mesh.cells:
        k = stiffness(*mapped_gradients(mesh.nodes, cell[None], mesh.orders), lam, mu)[0]
        internal[cell] += (k @ field.u[cell].reshape(-1, 2)).reshape(len(cell), 3, 2)
    reaction = internal[mesh.face_nodes("y_max"), 2].sum(0)
    assert reaction[0] == pytest.approx(share, rel=1e-8)
    assert abs(reaction[1]) <= 1e-8 * np.abs(internal[..., 1]).sum()


def test_hung_case_pulls_one_newton_a_slot_outward() -> None:
    part = ring()
    force = hung(part, ring_mesh(part, COARSE), STEEL).pieces[0].force.sum(0)
    assert force == pytest.approx([0.25, 0, 0], abs=1e-12)


def test_loads_add_linearly_and_speed_counts_squared() -> None:
    part = ring("alternate")
    level = ring_level(part, STEEL, ["rotation", "axial", "hung"], COARSE)
    once, alone = level.edge, ring_level(part, STEEL, ["hung"], COARSE).edge
    scale = np.abs(once.stress[2]).max()
    assert np.abs(once.stress[2] - alone.stress[0]).max() <= 1e-9 * scale
    slow = fd.solve(part, fd.Rotation(speed_rpm=500), STEEL, error=0.2)
    fast = fd.solve(part, fd.Rotation(speed_rpm=1000), STEEL, error=0.2)
    assert float(fast.peak) == pytest.approx(4 * float(slow.peak), rel=1e-9)
    assert float(fast.kt_gross) == pytest.approx(float(slow.kt_gross), rel=1e-9)


def test_the_same_ring_twice_gives_the_same_numbers() -> None:
    a, b = (ring_level(ring("alternate"), STEEL, ["rotation"], COARSE).edge.stress for _ in range(2))
    assert np.abs(a - b).max() <= 1e-9 * np.abs(a).max()


def test_stress_under_rotation_does_not_depend_on_youngs_modulus() -> None:
    soft = fd.Material(youngs_modulus_MPa=70_000, poissons_ratio=0.3, density_kg_m3=7850)
    a, b = (ring_level(ring(), m, ["rotation"], COARSE).edge.stress for m in (STEEL, soft))
    assert np.abs(a - b).max() <= 1e-9 * np.abs(a).max()


@pytest.mark.parametrize(("mass_kg", "peak_MPa"), [(0, 122), (1, 92), (2, 62), (4, 100)])
def test_hung_mass_takes_off_the_ovalling_and_then_adds_it_back(mass_kg: float, peak_MPa: float) -> None:
    """computed, laboratory run outside the project: aligned rows, full round, 1,000 rpm; how the pull was
    spread over the edge there is not said. On the flat flanks it meets every one of the four within 1.4 %.
    """
    part = ring("aligned", "full", slots_around=2)
    load = fd.Rotation(speed_rpm=1000, hung_mass_kg=mass_kg, hung_radius_mm=part.mid_radius_mm)
    answer = fd.solve(part, load, STEEL, error=0.03)
    assert float(answer.peak) == pytest.approx(peak_MPa, rel=0.03)


@pytest.mark.slow
def test_peak_lies_in_the_band_of_a_much_finer_solution() -> None:
    part = ring("alternate")
    answer = fd.solve(part, fd.Rotation(speed_rpm=1000), STEEL, error=0.01)
    finer = ring_level(part, STEEL, ["rotation"], Fineness(order=5, cells_per_arc=4))
    truth = float(finer.edge.combine([omega_rad_s(1000) ** 2]).peaks().peak)
    assert answer.verdict == fd.Verdict.SETTLED
    assert abs(float(answer.peak) - truth) <= answer.peak.band


def test_a_peak_just_below_the_rim_is_inside_the_band() -> None:
    """Two slots, r 12: the peak lies 1.2 mm below the bore's rim, between the nodes of every order.

    computed: order 5 on six layers of half as large cells, 141.49 MPa; the independent library on its own mesh 141.47 MPa.
    """
    ring = fd.Ring(
        outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows="aligned",
        cutout=fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=12),
    )  # fmt: skip
    for error in (0.05, 0.01, 0.004):
        answer = fd.solve(ring, fd.Rotation(speed_rpm=1000), fd.steel("S355"), error=error)
        assert answer.peak.value is not None
        assert answer.peak.band is not None
        assert abs(answer.peak.value - 141.49) <= answer.peak.band
        assert answer.at is not None
        assert 38.0 < answer.at.depth_mm < 39.9
