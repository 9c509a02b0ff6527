"""The direct solution by parts against a dense one, its tree, its memory, and what it leaves to others."""

from __future__ import annotations

import gc
import weakref

import numpy as np
import pytest
from scipy.sparse import csc_array, tril

import femdrum as fd
from femdrum.errors import OverBudget, SingularModel
from femdrum.fem import fronts as fronts_module
from femdrum.fem import memory
from femdrum.fem.cell import Fineness
from femdrum.fem.front_tree import front_tree
from femdrum.fem.fronts import Fronts, Part
from femdrum.fem.linear import Factored
from femdrum.fem.ring_level import ring_level

STEEL = fd.steel("S355")


def chain(
    columns: int, rows: int, seed: int = 0, held: tuple[int, ...] = ()
) -> tuple[list[Part], np.ndarray, np.ndarray, int]:
    """A grid of square parts with a node at each corner, each with a random positive definite matrix, and the middles of
    the parts; nodes `held` have no number. The second part carries some signs, the third meets a node twice.
    """
    draw = np.random.default_rng(seed)
    numbers = np.full((columns + 1) * (rows + 1), -1)
    free = [n for n in range(numbers.size) if n not in held]
    numbers[free] = np.arange(len(free))
    grid = np.arange(numbers.size).reshape(columns + 1, rows + 1)
    parts, middle = [], []
    for i in range(columns):
        for j in range(rows):
            nodes = grid[i : i + 2, j : j + 2].ravel().copy()
            a = draw.normal(size=(4, 4))
            sign = np.array([1.0, -1.0, 1.0, -1.0]) if len(parts) == 1 else None
            if len(parts) == 2:
                nodes[3] = nodes[0]
            parts.append(Part(numbers[nodes], a @ a.T + np.eye(4), sign))
            middle.append((i + 0.5, j + 0.5))
    return parts, np.array(middle).T, grid, len(free)


def dense(parts: list[Part], unknowns: int) -> np.ndarray:
    """The sum of the parts, entry by entry."""
    out = np.zeros((unknowns, unknowns))
    for part in parts:
        sign = np.ones(part.numbers.size) if part.sign is None else part.sign
        for a, i in enumerate(part.numbers):
            for b, j in enumerate(part.numbers):
                if i >= 0 and j >= 0:
                    out[i, j] += sign[a] * sign[b] * part.matrix[a, b]
    return out


def solved(parts: list[Part], middle: np.ndarray, unknowns: int, rhs: np.ndarray) -> tuple[Fronts, np.ndarray]:
    """By parts."""
    tree = front_tree([np.maximum(p.numbers, 0) for p in parts], unknowns, middle)
    system = Fronts(tree, parts, unknowns)
    return system, system.solve(rhs)


@pytest.mark.parametrize(
    ("columns", "rows", "held"), [(1, 1, ()), (7, 3, ()), (6, 6, (0, 5, 9, 20)), (2, 30, (1,)), (4, 1, ())]
)
def test_the_sum_is_solved_as_a_dense_system_is(columns: int, rows: int, held: tuple[int, ...]) -> None:
    parts, middle, _, unknowns = chain(columns, rows, held=held)
    rhs = np.random.default_rng(5).normal(size=(unknowns, 3))
    system, x = solved(parts, middle, unknowns, rhs)
    matrix = dense(parts, unknowns)
    np.testing.assert_allclose(x, np.linalg.solve(matrix, rhs), rtol=1e-9, atol=1e-10)
    np.testing.assert_allclose(system.apply(x), rhs, atol=1e-9)
    assert 0.1 * np.abs(matrix).max() <= system.largest <= np.abs(matrix).max() * (1 + 1e-12)


def test_a_tree_puts_every_part_once_and_children_before_their_join() -> None:
    parts, middle, _, unknowns = chain(9, 4)
    tree = front_tree([p.numbers for p in parts], unknowns, middle)
    assert sorted(tree.order) == list(range(36))
    assert (tree.first[-1], tree.last[-1]) == (0, 36)
    for join, children in enumerate(tree.children):
        assert all(child < join for child in children)
        if children:
            spans = sorted((tree.first[c], tree.last[c]) for c in children)
            assert spans[0][0] == tree.first[join]
            assert spans[0][1] == spans[1][0]
            assert spans[1][1] == tree.last[join]
        else:
            assert tree.last[join] == tree.first[join] + 1
    # the long grid is cut across: no more than its width of nodes goes last
    left, right = (set(tree.order[tree.first[c] : tree.last[c]]) for c in tree.children[-1])
    nodes = [set(np.concatenate([parts[i].numbers for i in side])) for side in (left, right)]
    assert len(nodes[0] & nodes[1]) == 5


def test_what_is_not_positive_definite_goes_to_another_solver_and_a_free_motion_is_named() -> None:
    parts, middle, _, unknowns = chain(3, 2)
    parts = [Part(p.numbers, p.matrix - 3 * np.eye(4), p.sign) for p in parts]
    tree = front_tree([p.numbers for p in parts], unknowns, middle)
    with pytest.raises(RuntimeError, match="positive definite"):
        Fronts(tree, parts, unknowns)
    lower = csc_array(tril(dense(parts, unknowns)))
    found = Factored(lower, dense=lambda: Fronts(tree, parts, unknowns)).solve(np.ones((unknowns, 1)))
    assert found.solver == "rslab LDL^T"
    free = Part(np.arange(2), np.array([[1.0, -1.0], [-1.0, 1.0]]))
    one = front_tree([free.numbers], 2, np.zeros((1, 1)))
    singular = Factored(csc_array([[1.0, 0.0], [-1.0, 1.0]]), dense=lambda: Fronts(one, [free], 2))
    with pytest.raises(SingularModel, match="rigid motion"):
        singular.solve(np.array([[1.0], [0.0]]))


def test_memory_is_reckoned_before_the_factor(monkeypatch: pytest.MonkeyPatch) -> None:
    parts, middle, _, unknowns = chain(20, 20)
    monkeypatch.setattr(memory, "SMALL_BYTES", 0.0)
    monkeypatch.setattr(memory, "available_bytes", lambda: 1e3)
    monkeypatch.setattr(fronts_module, "_add", lambda *_: pytest.fail("something was put together"))
    with pytest.raises(OverBudget, match="the factor of a system of 441 unknowns needs about"):
        solved(parts, middle, unknowns, np.ones((unknowns, 1)))


def test_a_ring_by_parts_and_by_the_sparse_solver_are_one(monkeypatch: pytest.MonkeyPatch) -> None:
    part = fd.Ring(
        outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=3, rows="alternate",
        cutout=fd.Slot(around_mm=60, axial_mm=90, corner_radius_mm=10),
    )  # fmt: skip
    fine = Fineness(order=3, cells_per_arc=2, wall_cells=3, far=0.2)
    by_parts = ring_level(part, STEEL, ["rotation", "hung"], fine)
    assert by_parts.solver == "Cholesky by parts (LAPACK)"

    def fails(*_: object) -> Fronts:
        raise RuntimeError

    monkeypatch.setattr("femdrum.fem.system.Fronts", fails)
    sparse = ring_level(part, STEEL, ["rotation", "hung"], fine)
    assert sparse.solver == "rslab LDL^T"
    for k in range(2):
        assert np.abs(by_parts.u[..., k] - sparse.u[..., k]).max() <= 1e-9 * np.abs(sparse.u[..., k]).max()


def test_a_factor_goes_when_it_is_let_go() -> None:
    """Without the collector: a circle of references would keep every factor of a ladder."""
    parts, middle, _, unknowns = chain(3, 3)
    tree = front_tree([p.numbers for p in parts], unknowns, middle)
    gc.disable()
    try:
        for make in (
            lambda: Factored(csc_array(tril(dense(parts, unknowns)))),
            lambda: Factored(
                lambda: pytest.fail("asked"), unknowns=unknowns, dense=lambda: Fronts(tree, parts, unknowns)
            ),
        ):
            factored = make()
            factored.solve(np.ones((unknowns, 1)))
            alive = weakref.ref(factored)
            del factored
            assert alive() is None
    finally:
        gc.enable()
