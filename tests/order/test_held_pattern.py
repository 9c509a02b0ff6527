"""Systems of one sparsity pattern, analysed once: equal to each solved alone; and factors go when nobody holds them."""

from __future__ import annotations

import gc
import weakref

import numpy as np
import pytest
from scipy.sparse import csc_array, tril

import femdrum as fd
from femdrum.fem import ring_sector
from femdrum.fem.cell import Fineness
from femdrum.fem.held_pattern import HeldPattern
from femdrum.fem.linear import Factored
from femdrum.fem.ring_whole import solve_whole
from femdrum.fem.symmetry import mirror_plan


def stiffness(unknowns: int) -> csc_array:
    """The lower triangle of a random positive definite matrix with gaps."""
    draw = np.random.default_rng(5)
    root = draw.normal(size=(unknowns, unknowns)) * (draw.uniform(size=(unknowns, unknowns)) < 0.2)
    lower = csc_array(tril(csc_array(root @ root.T + unknowns * np.eye(unknowns)), format="csc"))
    lower.sort_indices()
    return lower


def test_held_unknowns_are_as_good_as_left_out() -> None:
    lower = stiffness(60)
    full = lower.toarray() + np.tril(lower.toarray(), -1).T
    pattern = HeldPattern(lower)
    draw = np.random.default_rng(6)
    for _ in range(5):
        free = draw.uniform(size=60) < 0.7
        b = draw.normal(size=(int(free.sum()), 3))
        alone = csc_array(np.tril(full[np.ix_(free, free)]))
        shared = Factored(alone, held=lambda free=free: pattern.held(free)).solve(b)
        np.testing.assert_allclose(shared.x, np.linalg.solve(full[np.ix_(free, free)], b), rtol=1e-12, atol=1e-12)
        assert shared.solver == "rslab LDL^T"


def test_the_parities_of_a_row_share_one_analysis(monkeypatch: pytest.MonkeyPatch) -> None:
    """Equal to the same row with each parity's matrix ordered for itself."""
    ring = fd.Ring(
        outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows="aligned",
        cutout=fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=12),
    )  # fmt: skip
    names = ["rotation", "torsion", "bending_x", "transverse_y"]
    coarse = Fineness(order=2, cells_per_arc=2, wall_cells=2)

    def solved() -> list[np.ndarray]:
        whole = solve_whole(mirror_plan(ring), fd.steel("S355"), names, coarse)
        return [whole.displacement(0, 0), whole.motions]

    analyses = 0
    own = HeldPattern.analysed

    def counted(self: HeldPattern, threads: int) -> object:
        nonlocal analyses
        analyses += not hasattr(self, "_symbolic")
        return own(self, threads)

    monkeypatch.setattr(HeldPattern, "analysed", counted)
    together = solved()
    assert analyses == 1

    class Alone(Factored):
        def __init__(self, lower, levels=None, unknowns=None, held=None) -> None:  # type: ignore[no-untyped-def]
            super().__init__(lower, levels, unknowns)

    monkeypatch.setattr(ring_sector, "Factored", Alone)
    for one, other in zip(together, solved(), strict=True):
        np.testing.assert_allclose(one, other, rtol=1e-8, atol=1e-9 * np.abs(other).max())
    assert analyses == 1


def test_a_factor_goes_when_it_is_let_go() -> None:
    """Without the collector: a circle of references would keep every factor of a ladder."""
    gc.disable()
    try:
        factored = Factored(stiffness(30))
        factored.solve(np.ones((30, 1)))
        alive = weakref.ref(factored)
        del factored
        assert alive() is None
    finally:
        gc.enable()
