"""Columns of one layer: what follows, forces by virtual work, and the peaks that they leave alone."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

import femdrum as fd
from femdrum.fem.cell import Fineness
from femdrum.fem.one_layer import followers, one_layer
from femdrum.fem.ring_level import FIRST_CELLS, ring_level, whole_level
from femdrum.fem.ring_mesh import ring_mesh, ring_unknowns
from femdrum.fem.supports import cylindrical
from femdrum.fem.symmetry import plan_of

STEEL = fd.steel("S355")


def ring(rows: str = "aligned", radius: float = 10.0, **changed: object) -> fd.Ring:
    """A small drum."""
    given = {"outer_diameter_mm": 760, "wall_mm": 40, "pitch_mm": 180, "slots_around": 4, "rows": rows} | changed
    return fd.Ring(cutout=fd.Slot(around_mm=60, axial_mm=100, corner_radius_mm=radius), **given)


def test_nodes_follow_on_the_polynomial_through_those_that_lead() -> None:
    share = np.array([0.0, 0.05, 0.14, 0.19, 0.36, 0.64, 0.81, 0.86, 0.95, 1.0])
    one = one_layer(np.array([True]), np.arange(10)[None], share, 3)
    assert list(one.leads) == [0, 4, 5, 9]  # nearest to 0, 0.276, 0.724 and 1
    cubic = np.polynomial.Polynomial([1.0, -2.0, 3.0, 0.7])
    np.testing.assert_allclose(one.weight @ cubic(share[one.leads]), cubic(share), rtol=1e-12)
    np.testing.assert_allclose(0.5 * (np.array(one.places) + 1.0), share[one.leads], rtol=1e-12)


@pytest.mark.parametrize("turned", [False, True])
def test_rigid_motions_pass_and_forces_do_the_same_work(turned: bool) -> None:
    mesh = ring_mesh(ring(), replace(FIRST_CELLS, order=3, wall_order=3))
    n = len(mesh.nodes)
    frame = cylindrical(np.arctan2(mesh.nodes[:, 1], mesh.nodes[:, 0])) if turned else None
    ties = followers(mesh, frame)
    assert ties is not None
    turn = np.array([[0.0, -1e-3, 2e-3], [1e-3, 0.0, -3e-3], [-2e-3, 3e-3, 0.0]])
    rigid = mesh.nodes @ turn.T + np.array([0.1, -0.2, 0.3])
    smooth = np.stack([1e-6 * mesh.nodes[:, 0] ** 2, 1e-6 * mesh.nodes[:, 2] * mesh.nodes[:, 1], rigid[:, 0]], -1)
    fields = np.stack([rigid, smooth], -1)
    if frame is not None:
        fields = np.einsum("nij,nik->njk", frame, fields)
    filled = fields.copy()
    one = mesh.one
    assert one is not None
    rest = np.setdiff1d(one.node, one.node[:, one.leads])
    filled[rest] = 0.0
    ties.fill(filled)
    # the shell is round: a rigid field is a polynomial through the wall only where the nodes stand in line
    np.testing.assert_allclose(filled, fields, atol=2e-4 * np.abs(fields).max())
    force = np.random.default_rng(3).normal(size=(n, 3, 2))
    gathered = ties.gather(force)
    assert not gathered[rest].any()
    np.testing.assert_allclose(
        np.einsum("nik,nik->k", gathered, filled), np.einsum("nik,nik->k", force, filled), rtol=1e-10
    )


@pytest.mark.parametrize(("rows", "radius"), [("aligned", 3.0), ("aligned", "full"), ("alternate", 10.0)])
def test_peaks_are_those_of_three_layers_everywhere(rows: str, radius: float) -> None:
    part = ring(rows, radius)
    names = ["rotation", "axial", "internal_pressure"]
    fine = replace(FIRST_CELLS, order=4, wall_order=3)
    one, three = (ring_level(part, STEEL, names, f) for f in (fine, replace(fine, far=math.inf)))
    assert one.unknowns < 0.85 * three.unknowns
    for k in range(len(names)):
        a, b = (float(level.edge.combine(np.eye(3)).peaks(k).peak) for level in (one, three))
        assert a == pytest.approx(b, rel=0.004)


@pytest.mark.parametrize("rows", ["aligned", "alternate"])
def test_a_quarter_and_a_whole_row_agree(rows: str) -> None:
    """The same loads on the quarter in space and on glued copies in their frames; alternate rows where near and far
    columns meet the face that the half-turn ties to itself.
    """
    part = ring(rows, slots_around=3, pitch_mm=150)
    fine = Fineness(order=3, wall_order=3, cells_per_arc=2, wall_cells=3, far=0.15)
    names = ["rotation", "axial"]
    quarter = ring_level(part, STEEL, names, fine)
    whole = whole_level(plan_of(part), STEEL, names, fine)
    for k in range(2):
        size = np.abs(quarter.edge.stress[k]).max()
        assert np.abs(quarter.edge.stress[k, 0] - whole.edge.stress[k, 0]).max() <= 1e-6 * size


def test_unknowns_are_foreseen_and_helical_rows_keep_their_layers() -> None:
    fine = replace(FIRST_CELLS, order=3, wall_order=3)
    for part in (ring(), ring("alternate")):
        solved = ring_level(part, STEEL, ["rotation"], fine).unknowns
        assert solved <= ring_unknowns(part, fine) <= 1.15 * solved
    helical = fd.Ring(
        outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=4, rows="helical", row_angle_deg=20.0,
        cutout=fd.Slot(around_mm=60, axial_mm=100, corner_radius_mm=10),
    )  # fmt: skip
    assert ring_mesh(helical, fine).one is None
