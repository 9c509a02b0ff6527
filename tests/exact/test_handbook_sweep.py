"""Many exact plane values at once, and the error stated with each against a much finer solution."""

from __future__ import annotations

import numpy as np
import pytest
from handbook_mix import drawn

from femdrum.errors import FemdrumError, InputFault, NoNumber, OverBudget
from femdrum.handbook.boundary_integral import LEVELS, plane_solution, plane_solutions
from femdrum.handbook.closed_forms import inglis_edge
from femdrum.handbook.domains import FinitePlate, InfinitePlate, Row, Strip
from femdrum.handbook.exact import ExactKt, PlaneCase, exact_kt, exact_kts
from femdrum.handbook.kernels import folded
from femdrum.handbook.peaks import peaks
from femdrum.model.cutout import Circle, Ellipse, Slot

SLOT = Slot(size_x_mm=60, size_y_mm=120, corner_radius_mm=8)
FINEST = len(LEVELS) - 1
MIX = [drawn(seed) for seed in range(90)]


@pytest.fixture(scope="module")
def truth() -> np.ndarray:
    """|Peak| of every case of the mix on the finest level."""
    solutions = plane_solutions([(c.cutout, c.domain) for c in MIX], FINEST)
    return np.array([abs(s.peak(_factors(c))[0]) for s, c in zip(solutions, MIX, strict=True)])  # type: ignore[union-attr]


def _factors(case: PlaneCase) -> np.ndarray:
    return np.array([case.stress_x, case.stress_y, case.shear])


@pytest.mark.parametrize("rel", [1e-4, 1e-6, 1e-8])
def test_the_stated_error_covers_the_true_one(truth: np.ndarray, rel: float) -> None:
    answers = exact_kts(MIX, rel=rel)
    found = np.array([[abs(a.signed), a.est_rel_err] for a in answers if isinstance(a, ExactKt)])
    assert len(found) == len(MIX)
    error = np.abs(found[:, 0] / truth - 1)
    assert (found[:, 1] <= rel).all()
    assert (error <= found[:, 1]).all()


def test_a_tighter_question_gets_more_nodes_only_where_needed() -> None:
    loose, tight = (exact_kts(MIX[:30], rel=rel) for rel in (1e-6, 1e-9))
    more = [t.unknowns > a.unknowns for a, t in zip(loose, tight, strict=True)]  # type: ignore[union-attr]
    assert all(more)
    sizes = {a.unknowns for a in loose if isinstance(a, ExactKt)}
    assert min(sizes) <= 64  # a circle
    assert max(sizes) > 256  # a strip with a narrow ligament


def test_many_at_once_are_what_each_is_alone() -> None:
    for case, together in zip(MIX[::4], exact_kts(MIX[::4]), strict=True):
        alone = exact_kt(case.cutout, case.domain, stress_x=case.stress_x, stress_y=case.stress_y, shear=case.shear)
        assert isinstance(together, ExactKt)
        assert together.signed == pytest.approx(alone.signed, rel=1e-12)
        assert (together.x_mm, together.y_mm) == pytest.approx((alone.x_mm, alone.y_mm), abs=1e-6)
        assert together.est_rel_err == pytest.approx(alone.est_rel_err, rel=1e-3)
        assert together.unknowns == alone.unknowns


def test_a_refused_case_leaves_the_others_alone() -> None:
    good = PlaneCase(cutout=SLOT, domain=InfinitePlate(), stress_x=1)
    sharp = PlaneCase(cutout=Slot(size_x_mm=60, size_y_mm=120, corner_radius_mm=0), domain=InfinitePlate(), stress_x=1)
    tight = PlaneCase(cutout=SLOT, domain=Strip(width_mm=100), stress_x=1)
    idle = PlaneCase(cutout=SLOT, domain=InfinitePlate())
    long = PlaneCase(cutout=Slot(size_x_mm=4000, size_y_mm=2, corner_radius_mm=0.5), domain=InfinitePlate(), stress_y=1)
    answers = exact_kts([sharp, good, tight, idle, good, long])
    assert [type(a) for a in answers] == [NoNumber, ExactKt, InputFault, InputFault, ExactKt, OverBudget]
    assert exact_kts([]) == []
    assert all(isinstance(a, (ExactKt, FemdrumError)) for a in answers)


def test_shear_alone_needs_no_tension() -> None:
    whole = plane_solution(SLOT, Row(pitch_mm=100), 1)
    only = plane_solution(SLOT, Row(pitch_mm=100), 1, even=False)
    assert np.isnan(only.stress[:2]).all()
    assert only.stress[2] == pytest.approx(whole.stress[2], abs=1e-12)
    tension = plane_solution(SLOT, Row(pitch_mm=100), 1, odd=False)
    assert np.isnan(tension.stress[2]).all()
    assert tension.stress[:2] == pytest.approx(whole.stress[:2], abs=1e-12)


@pytest.mark.parametrize("seed", range(24))
def test_the_peak_is_the_highest_of_a_dense_row_of_places(seed: int) -> None:
    case = MIX[seed]
    solution = plane_solution(case.cutout, case.domain, 1)
    factors = _factors(case)
    value, piece, t, quadrant = solution.peak(factors)
    signs = np.array([1, 1, quadrant])
    assert signs * factors @ solution.at(piece, np.array([t]))[:, 0] == pytest.approx(value, rel=1e-9)
    # places as close towards both ends of a piece as a radius may be small
    near = np.concatenate([np.geomspace(1e-6, 0.5, 800), 1 - np.geomspace(0.5, 1e-6, 800), [0.0, 1.0]])
    highest = max(
        float(np.max(np.abs(np.array([1, 1, sign]) * factors @ solution.at(i, near))))
        for i in range(len(solution.panels.pieces))
        for sign in (1, -1)
    )
    assert abs(value) >= highest * (1 - 1e-12)
    assert abs(value) == pytest.approx(highest, rel=1e-3)


def test_states_together_have_the_peaks_they_have_alone() -> None:
    solution = plane_solution(SLOT, FinitePlate(length_mm=300, width_mm=200), 1)
    states = np.array([[1.0, 0, 0], [0, 1, 0], [0, 0, 1], [0.3, -0.7, 0.2]])
    together = peaks(solution, states)
    for state, peak in zip(states, together, strict=True):
        assert peak == pytest.approx(solution.peak(state), rel=1e-12)


@pytest.mark.parametrize("ratio", [0.05, 0.2, 5.0, 20.0])
def test_slender_ellipses_need_few_panels(ratio: float) -> None:
    """The stress has poles near the tips, but not its product with the squared speed: Inglis to 1e-9."""
    hole = Ellipse(size_x_mm=20 * ratio, size_y_mm=20)
    answer = exact_kt(hole, InfinitePlate(), shear=1, rel=1e-9)
    dense = inglis_edge(np.linspace(0, np.pi / 2, 400_001), half_x=10 * ratio, half_y=10, shear=1)
    assert answer.kt == pytest.approx(np.max(np.abs(dense)), rel=1e-7)  # of 400 001 places
    assert answer.kt == pytest.approx(exact_kt(hole, InfinitePlate(), shear=1, rel=1e-10).kt, rel=1e-9)


def _complex_kernels(t: complex, tangent: complex, s: complex, m: float) -> tuple[float, complex]:
    """The kernels as their definition reads."""
    u = s - t
    k = m / np.tan(m * u) if m else 1 / u
    y = tangent * u.imag * (k * k + m * m) - k * tangent.imag
    return (tangent * k).imag / np.pi, -np.conj(y) / np.pi


@pytest.mark.parametrize("m", [0.0, 0.02])
@pytest.mark.parametrize("sign", [1, -1])
def test_kernels_are_those_of_their_definition(m: float, sign: int) -> None:
    angle = np.array([0.2, 0.7, 1.3])
    t, tangent = 30 * np.cos(angle) + 50j * np.sin(angle), 1j * np.exp(1j * angle)
    ds, curvature = np.array([1.0, 2.0, 3.0]), np.array([0.02, 0.03, 0.01])
    matrix = folded(
        t[None], t[None], [], tangent[None], ds[None], curvature[None], np.array([m]) if m else None
    ).matrix(sign)[0]
    p, q = np.zeros((3, 3), complex), np.zeros((3, 3), complex)
    for i in range(3):
        for j in range(3):
            own = -curvature[i] / 2 / np.pi
            a, b = zip(
                (own, own * tangent[i] ** 2) if i == j else _complex_kernels(t[i], tangent[i], t[j], m),
                *[_complex_kernels(t[i], tangent[i], s, m) for s in (np.conj(t[j]), -t[j], -np.conj(t[j]))],
                strict=True,
            )
            p[i, j] = (i == j) + ds[j] * (a[0] - a[2] + sign * (b[3] - b[1]))
            q[i, j] = ds[j] * (b[0] - b[2] + sign * (a[3] - a[1]))
    w = np.array([0.3 - 1j, 2 + 0.5j, -1 + 0.1j])
    got = matrix @ np.concatenate([w.real, w.imag])
    assert got[:3] + 1j * got[3:] == pytest.approx(p @ w + q @ np.conj(w), rel=1e-12)


def test_rows_of_very_tall_holes_do_not_overflow() -> None:
    # a row is an even sheet seen from far above its ends, so that Kt hardly changes with the height
    tall, taller = (
        exact_kt(Slot(size_x_mm=12, size_y_mm=h, corner_radius_mm=6), Row(pitch_mm=24), stress_y=1) for h in (600, 2400)
    )
    assert tall.kt == pytest.approx(taller.kt, rel=1e-6)


@pytest.mark.slow
def test_what_a_coarser_level_found_stands_where_a_finer_one_is_too_large() -> None:
    slot, row = Slot(size_x_mm=2, size_y_mm=800, corner_radius_mm=1), Row(pitch_mm=8)
    answer = exact_kt(slot, row, stress_y=1, rel=1e-10)
    assert answer.est_rel_err > 1e-10
    assert isinstance(plane_solutions([(slot, row)], FINEST)[0], OverBudget)


def test_circles_share_one_solve() -> None:
    cases = [PlaneCase(cutout=Circle(diameter_mm=d), domain=InfinitePlate(), stress_x=1) for d in (1, 10, 1000)]
    assert [a.kt for a in exact_kts(cases) if isinstance(a, ExactKt)] == pytest.approx([3, 3, 3], rel=1e-12)
