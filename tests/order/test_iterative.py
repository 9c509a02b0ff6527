"""Conjugate gradients with two levels give what the factorisation gives, or leave the field to it."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

import femdrum as fd
from femdrum.errors import OverBudget, SingularModel
from femdrum.fem import iterative, linear
from femdrum.fem.cell import Fineness
from femdrum.fem.iterative import TwoLevels
from femdrum.fem.linear import Factored
from femdrum.fem.ring_whole import RingWhole, solve_whole
from femdrum.fem.symmetry import Plan, periodic_plan, plan_of

STEEL = fd.steel("S355")
CLOSE = 1e-8
SMALL = Fineness(order=3, wall_order=2, cells_per_arc=2, wall_cells=2)
# thin layers at the flanks and a low order through the wall: cells up to 20 times longer than wide
STRETCHED = Fineness(order=3, wall_order=2, cells_per_arc=3, growth=2.5, first_layer=0.75, wall_cells=2)
TURNED = ["rotation", "axial", "torsion"]
SECTION = [*TURNED, "bending_x", "transverse_y"]


def ring(slots: int = 2, rows: str = "aligned", **changes: Any) -> fd.Ring:
    """An invented ring."""
    fields = {
        "outer_diameter_mm": 760 if slots < 4 else 900, "wall_mm": 40, "pitch_mm": 180, "slots_around": slots,
        "rows": rows, "cutout": fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=12),
    }  # fmt: skip
    return fd.Ring(**(fields | changes))


def iterations(solver: str) -> int:
    """How many a result names; fails where it names another way."""
    found = re.fullmatch(r"conjugate gradients, two levels, (\d+) iterations; coarse: rslab LDL\^T", solver)
    assert found, solver
    return int(found[1])


def both(solve: Callable[[], Any], monkeypatch: pytest.MonkeyPatch) -> tuple[Any, Any]:
    """The same solved directly and iteratively."""
    monkeypatch.setattr(linear, "ITERATIVE_FROM", 10**9)
    direct = solve()
    monkeypatch.setattr(linear, "ITERATIVE_FROM", 0)
    found = solve()
    assert direct.solver in ("rslab LDL^T", "Cholesky by parts (LAPACK)")
    return direct, found


def same(a: RingWhole, b: RingWhole) -> None:
    for c in a.plan.all_copies:
        u, v = a.displacement(c.j, c.h, inside=True), b.displacement(c.j, c.h, inside=True)
        assert np.abs(u - v).max() <= CLOSE * np.abs(u).max()
    for x, y in ((a.motions, b.motions), (a.resultants, b.resultants)):
        assert np.abs(x - y).max() <= CLOSE * np.abs(x).max()


@pytest.mark.parametrize(
    ("part", "names", "plan"),
    [
        pytest.param(ring(), SECTION, plan_of, id="mirrors"),
        pytest.param(ring(rows="alternate"), SECTION, plan_of, id="alternate"),
        pytest.param(ring(3), SECTION, periodic_plan, id="whole ring"),
        pytest.param(ring(rows="alternate"), TURNED, periodic_plan, id="turned"),
        pytest.param(ring(rows="helical", row_angle_deg=20.0), TURNED, plan_of, id="helix", marks=pytest.mark.slow),
    ],
)
def test_a_row_is_solved_alike(
    part: fd.Ring, names: list[str], plan: Callable[[fd.Ring], Plan], monkeypatch: pytest.MonkeyPatch
) -> None:
    cases = [pressed(part, 0), *names]
    direct, found = both(lambda: solve_whole(plan(part), STEEL, cases, SMALL), monkeypatch)
    assert 0 < iterations(found.solver) <= 100 or found.plan.planes  # a copy alone is its own patch
    same(direct, found)


def pressed(part: fd.Ring, slot: int) -> str:
    """Pressure on the leading flank of one slot."""
    from femdrum.model.flank import default_patch

    return default_patch(part, slot, "leading", "pressure", "uniform").name


@pytest.mark.slow
def test_stretched_cells_in_many_copies_need_no_more_iterations(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(linear, "ITERATIVE_FROM", 0)
    counts = []
    for rows in (5, 9):
        part = ring(2, block_rows=rows, cutout=fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=4))
        counts.append(iterations(solve_whole(plan_of(part), STEEL, ["rotation"], STRETCHED).solver))
    print(counts)
    assert max(counts) <= 90
    assert counts[1] <= 1.25 * counts[0]


# small systems by hand


def chain(n: int = 40) -> Any:
    """Lower triangle of springs in a row, held at both ends."""
    from scipy.sparse import diags_array

    return diags_array([np.full(n, 2.0), np.full(n - 1, -1.0)], offsets=[0, -1]).tocsc()


def levels_of(lower: Any, spoil: float = 0.0) -> TwoLevels:
    """Two levels for a chain: patches of ten, every fifth spring as coarse space. spoil: turns the operator false."""
    from scipy.sparse import csr_array, tril

    n = lower.shape[0]
    full = (lower + tril(lower, -1).T).tocsr()
    knots = np.arange(0, n, 5)
    weight = np.maximum(1 - np.abs(np.arange(n)[:, None] - knots) / 5, 0)
    coarse = csr_array(weight)
    spans = [np.arange(s, min(s + 12, n)) for s in range(0, n, 10)]
    patches = [iterative.Patch(tril(full[s][:, s]).tocsc(), s[None], np.ones((1, s.size))) for s in spans]
    ready = iterative.two_levels(lambda x: full @ x, 2.0, coarse, (full @ coarse).tocsr(), patches)
    if spoil:
        flip = np.where(np.arange(n) % 2, -1.0, 1.0)[:, None]
        return TwoLevels(lambda x: full @ x * flip, 2.0, coarse, ready.action, ready.coarse, ready.patches)
    return ready


def test_many_right_hand_sides_of_any_size(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(linear, "ITERATIVE_FROM", 0)
    lower = chain()
    b = np.random.default_rng(1).standard_normal((40, 7)) * np.array([1, 1e-9, 1e9, 0, 1, 1, 1])
    found = linear.Factored(lower, lambda: levels_of(lower)).solve(b)
    assert 1 <= iterations(found.solver) <= 20
    exact = np.linalg.solve((lower + lower.T).toarray() - np.diag(lower.diagonal()), b)
    assert (np.abs(found.x - exact).max(0) <= 1e-9 * np.abs(exact).max(0)).all()
    assert (found.x[:, 3] == 0).all()


@pytest.mark.parametrize("most", [400, 1])
def test_what_stalls_is_left_to_the_factorisation(most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(linear, "ITERATIVE_FROM", 0)
    monkeypatch.setattr(iterative, "MOST_ITERATIONS", most)
    lower = chain()
    b = np.random.default_rng(2).standard_normal((40, 2))
    found = linear.Factored(lower, lambda: levels_of(lower, spoil=0.0 if most == 1 else 1.0)).solve(b)
    assert found.solver == "rslab LDL^T"
    assert found.residual <= 1e-12


def test_small_systems_are_factored() -> None:
    lower = chain()
    assert linear.Factored(lower, lambda: pytest.fail("not asked")).solve(np.ones((40, 1))).solver == "rslab LDL^T"


def refuse(unknowns: int, need_bytes: float, what: str) -> None:
    """As where the memory is full."""
    assert need_bytes > 0
    raise OverBudget(f"{what} of {unknowns}")


def test_a_factor_that_does_not_fit_gives_way(monkeypatch: pytest.MonkeyPatch) -> None:
    lower = chain()
    monkeypatch.setattr("femdrum.fem.linear.require", refuse)
    assert iterations(linear.Factored(lower, lambda: levels_of(lower)).solve(np.ones((40, 1))).solver) >= 0
    with pytest.raises(OverBudget, match="the factor of a system of 40"):
        linear.Factored(lower).solve(np.ones((40, 1)))


def test_a_free_motion_is_refused_either_way(monkeypatch: pytest.MonkeyPatch) -> None:
    lower = chain().tolil()
    lower[0, 0] = lower[39, 39] = 1.0  # both ends let go
    free = lower.tocsc()
    for start in (0, 10**9):
        monkeypatch.setattr(linear, "ITERATIVE_FROM", start)
        with pytest.raises(SingularModel):
            linear.Factored(free, lambda: levels_of(free)).solve(np.ones((40, 1)))


def test_the_matrix_is_built_only_when_it_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(linear, "ITERATIVE_FROM", 0)
    lower = chain()
    system = Factored(lambda: pytest.fail("built"), lambda: levels_of(lower), 40)
    assert iterations(system.solve(np.ones((40, 1))).solver) >= 1
