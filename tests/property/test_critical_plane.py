"""Critical planes: closed forms, brute force, and no dependence on axes, order of steps, or places beside.

Histories are random, with fixed seeds.
"""

import time
from itertools import combinations

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.provenance import Kind
from femdrum.strength.critical_plane import (
    fatemi_socie,
    findley,
    findley_k,
    findley_ratio,
    normal_plane,
    signed_von_mises,
    swt_plane,
)
from femdrum.strength.plane_rows import frame, local_rows, plane_rows, planes, reach_rad
from femdrum.strength.plane_terms import circle_terms, normal_terms
from femdrum.strength.smallest_circle import smallest_circle

STEEL = {"youngs_modulus_MPa": 206e3, "poissons_ratio": 0.3}
SHEAR_MODULUS = 206e3 / 2.6


def matrices(six):
    xx, yy, zz, xy, yz, zx = np.moveaxis(six, -1, 0)
    return np.stack([xx, xy, zx, xy, yy, yz, zx, yz, zz], axis=-1).reshape(*xx.shape, 3, 3)


def sixes(m):
    return np.stack([m[..., 0, 0], m[..., 1, 1], m[..., 2, 2], m[..., 0, 1], m[..., 1, 2], m[..., 2, 0]], axis=-1)


def rotation(rng):
    q, r = np.linalg.qr(rng.standard_normal((3, 3)))
    q = q * np.sign(np.diag(r))
    return q if np.linalg.det(q) > 0 else -q


def turned(history, q):
    return sixes(q @ matrices(history) @ q.T)


def smooth(rng, steps, places):
    """Four harmonics of a period with random amplitudes and phases, about a random mean."""
    t = 2 * np.pi * np.arange(steps)[:, None, None] / steps
    parts = [
        rng.standard_normal((1, places, 6)) / j * np.sin(j * t + rng.uniform(0, 7, (1, places, 6)))
        for j in (1, 2, 3, 4)
    ]
    return 100 * sum(parts) + 50 * rng.standard_normal((1, places, 6))


def channels(rng, steps, places):
    """Three random loads on random unit cases, as stresses are made from load histories."""
    cases = rng.standard_normal((3, places, 6))
    return 100 * np.einsum("tc,cpk->tpk", rng.standard_normal((steps, 3)), cases)


def cloud(rng, steps, places):
    return 100 * rng.standard_normal((steps, places, 6))


def surface(rng, steps, places):
    """Plane stress at a free surface."""
    history = cloud(rng, steps, places)
    history[..., [2, 4, 5]] = 0.0
    return history


def steps_of_whole(rng, steps, places):
    """Many equal states and equal ranges."""
    return 100.0 * rng.integers(-1, 2, (steps, places, 6))


KINDS = [smooth, channels, cloud, surface, steps_of_whole]
MEASURES = {
    "findley": lambda h: findley(h, 0.3).parameter_MPa,
    "shear only": lambda h: findley(h, 0.0).parameter_MPa,
    "normal": lambda h: normal_plane(h).amplitude_MPa,
    "fatemi_socie": lambda h: fatemi_socie(h, 0.6, yield_MPa=355, **STEEL).parameter,
    "swt": lambda h: swt_plane(h, **STEEL).parameter,
}


@pytest.mark.parametrize("kind", KINDS, ids=lambda f: f.__name__)
@pytest.mark.parametrize("name", MEASURES)
def test_axes_do_not_matter(kind, name):
    """1e-9 of the value, at every place, for few steps and for many."""
    rng = np.random.default_rng(len(name) + 100 * KINDS.index(kind))
    for steps, places in ((2, 40), (3, 40), (12, 40), (60, 30), (400, 12)):
        history = kind(rng, steps, places)
        here = MEASURES[name](history)
        there = MEASURES[name](turned(history, rotation(rng)))
        assert np.abs(there - here).max() <= 1e-9 * np.abs(here).max()
        assert there == pytest.approx(here, rel=1e-9, abs=1e-12 * np.abs(here).max())


def test_axes_do_not_matter_where_planes_are_equally_bad():
    """Uniaxial, torsion, equal biaxial, all round: a ring of planes, or all of them."""
    rng = np.random.default_rng(1)
    swing = np.sin(2 * np.pi * np.arange(100) / 100)[:, None, None]
    for state in ([1, 0, 0, 0, 0, 0], [0, 0, 0, 1, 0, 0], [1, 1, 0, 0, 0, 0], [1, 1, 1, 0, 0, 0], [0, 0, 0, 0, 0, 0]):
        history = 100 * swing * np.array(state, float)
        for name, measure in MEASURES.items():
            here = measure(history)
            for _ in range(3):
                there = measure(turned(history, rotation(rng)))
                assert there == pytest.approx(here, rel=1e-9, abs=1e-12), (state, name)


@pytest.mark.parametrize("k", [0.0, 0.157, 0.3, 1.0])
def test_uniaxial_in_closed_form(k):
    """R = -1: (sa / 2)(k + sqrt(1 + k²)); with a mean (k smax + sqrt(sa² + k² smax²)) / 2."""
    swing = np.sin(2 * np.pi * np.arange(360) / 360)
    for mean in (0.0, 80.0, 250.0):
        history = np.zeros((360, 1, 6))
        history[:, 0, 1] = mean + 100 * swing
        most = mean + 100
        expected = 0.5 * (k * most + np.sqrt(100**2 + (k * most) ** 2))
        assert findley(history, k).parameter_MPa[0] == pytest.approx(expected, rel=1e-12)
    assert findley(history - mean * np.eye(6)[1], k).parameter_MPa[0] == pytest.approx(
        50 * (k + np.sqrt(1 + k * k)), rel=1e-12
    )


def test_proportional_in_closed_form():
    """Fully reversed, whatever the state: k |c| + r sqrt(1 + k²), c and r of its largest Mohr's circle."""
    rng = np.random.default_rng(2)
    states = 100 * rng.standard_normal((1, 200, 6))
    swing = np.array([0.0, 0.7, 1.0, -0.3, -1.0])[:, None, None]
    principal = np.linalg.eigvalsh(matrices(states[0]))
    centre, radius = 0.5 * (principal[:, 2] + principal[:, 0]), 0.5 * (principal[:, 2] - principal[:, 0])
    for k in (0.0, 0.3, 2.0):
        expected = k * np.abs(centre) + radius * np.sqrt(1 + k * k)
        assert findley(swing * states, k).parameter_MPa == pytest.approx(expected, rel=1e-11)
    assert normal_plane(swing * states).amplitude_MPa == pytest.approx(np.abs(principal).max(axis=1), rel=1e-11)
    assert fatemi_socie(swing * states, 0.0, yield_MPa=355, **STEEL).parameter == pytest.approx(
        radius / SHEAR_MODULUS, rel=1e-11
    )
    most = np.abs(principal).max(axis=1)
    strain = (1.3 * principal - 0.3 * principal.sum(axis=1, keepdims=True)) / 206e3
    at_principal = np.abs(principal * strain).max(axis=1)
    swt = swt_plane(swing * states, **STEEL)
    # at least that of the principal planes, and the largest stress with the largest strain bounds it
    assert (swt.parameter >= at_principal * (1 - 1e-12)).all()
    assert (swt.parameter <= most * np.abs(strain).max(axis=1) * (1 + 1e-12)).all()


def test_uniaxial_strain_criteria_in_closed_form():
    history = np.zeros((3, 1, 6))
    history[:, 0, 0] = [100.0, -100.0, 0.0]
    assert swt_plane(history, **STEEL).parameter[0] == pytest.approx(100 * 100 / 206e3, rel=1e-12)
    found = fatemi_socie(history, 0.0, yield_MPa=355, **STEEL)
    assert found.parameter[0] == pytest.approx(50 / SHEAR_MODULUS, rel=1e-12)
    assert found.strain_amplitude[0] == pytest.approx(1.3 * 100 / 206e3, rel=1e-12)
    # compression earns no credit, and no plane is pulled
    pressed = fatemi_socie(history - np.array([200.0, 200, 200, 0, 0, 0]), 1.0, yield_MPa=355, **STEEL)
    assert pressed.parameter[0] == pytest.approx(found.parameter[0], rel=1e-12)
    assert swt_plane(history - np.array([200.0, 200, 200, 0, 0, 0]), **STEEL).parameter[0] == 0.0
    for result in (found, pressed):
        assert result.provenance.kind is Kind.MEMORY
        assert result.unit == "-"


def test_few_pulled_planes_are_found():
    """Means of compression that leave only a narrow cone pulled: brute force finds no more."""
    rng = np.random.default_rng(3)
    history = 100 * rng.standard_normal((4, 60, 6))
    history[..., :3] -= 230
    ours = swt_plane(history, **STEEL).parameter
    n = planes(2)
    normal = plane_rows(n)[:, 2] @ history.transpose(1, 2, 0)
    trace = history[..., :3].sum(axis=2).T[:, None]
    strain = (1.3 * normal - 0.3 * trace) / 206e3
    brute = (np.maximum(normal.max(axis=2), 0) * 0.5 * np.ptp(strain, axis=2)).max(axis=1)
    assert (ours >= brute * (1 - 1e-12)).all()
    assert ((ours > 0) == (brute > 0)).mean() > 0.9
    assert (ours == 0).any()
    assert (ours > 0).any()


def test_normal_amplitude_against_all_pairs_of_steps():
    """Half the largest principal value of the differences of all pairs of steps: exact, another way."""
    rng = np.random.default_rng(4)
    for kind in KINDS:
        history = kind(rng, 30, 15)
        found = normal_plane(history)
        pairs = np.array(list(combinations(range(30), 2)))
        differences = np.linalg.eigvalsh(matrices(history[pairs[:, 0]] - history[pairs[:, 1]]))
        assert found.amplitude_MPa == pytest.approx(0.5 * np.abs(differences).max(axis=(0, 2)), rel=1e-11)
        path = np.einsum("pi,tpij,pj->tp", found.normal, matrices(history), found.normal)
        assert found.mean_MPa == pytest.approx(0.5 * (path.max(axis=0) + path.min(axis=0)), abs=1e-9)
        assert 0.5 * np.ptp(path, axis=0) == pytest.approx(found.amplitude_MPa, rel=1e-11)


def shear_paths(history, n):
    """Shear vectors [step, place, 3] on a plane, from the definition."""
    traction = np.einsum("tpij,...j->tp...i", matrices(history), n)
    normal = np.einsum("tp...i,...i->tp...", traction, n)
    return traction - normal[..., None] * n, normal


def brute_radius(points):
    """Radius of the smallest circle from all pairs and triples of points [point, 2]."""
    best = 0.0
    for i, j in combinations(range(len(points)), 2):
        best = max(best, 0.5 * np.hypot(*(points[i] - points[j])))
    for i, j, k in combinations(range(len(points)), 3):
        a, b, c = (np.hypot(*(points[p] - points[q])) for p, q in ((i, j), (j, k), (k, i)))
        longest = max(a, b, c)
        if a * a + b * b + c * c > 2 * longest**2 * (1 + 1e-9):  # acute: all three carry the circle
            s = 0.5 * (a + b + c)
            best = max(best, a * b * c / (4 * np.sqrt(s * (s - a) * (s - b) * (s - c))))
    return best


def test_smallest_circle_against_all_pairs_and_triples():
    rng = np.random.default_rng(5)
    for trial in range(150):
        n = int(rng.integers(1, 9))
        points = rng.standard_normal((4, n, 2)) * [1, rng.choice([1, 1e-3, 0])] + rng.choice([0, 30])
        if trial % 5 == 0:
            points = np.round(2 * points)
        if trial % 7 == 0:
            angle = rng.uniform(0, 7, (4, n))
            points = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
        start = None if trial % 2 else rng.integers(0, n, (4, 3))
        found = smallest_circle(points[..., 0], points[..., 1], support=start)
        for k in range(4):
            radius = brute_radius(points[k])
            assert found.radius[k] == pytest.approx(radius, rel=1e-10, abs=1e-12)
            assert brute_radius(points[k][found.support[k]]) == pytest.approx(radius, rel=1e-9, abs=1e-12)
        # a floor above the radius gives something below the floor, one below it changes nothing
        x, y = points[..., 0], points[..., 1]
        assert (
            smallest_circle(x, y, least=1.1 * found.radius + 1e-9).radius <= found.radius * (1 + 1e-12) + 1e-12
        ).all()
        assert smallest_circle(x, y, least=0.9 * found.radius).radius == pytest.approx(
            found.radius, rel=1e-10, abs=1e-12
        )


def test_result_is_what_its_own_plane_shows_and_no_other_shows_more():
    """From the definition: shear path and normal stress on the plane returned; then 3,300 planes with brute circles."""
    rng = np.random.default_rng(6)
    for kind in KINDS:
        history = kind(rng, 7, 6)
        found = findley(history, 0.3)
        for place in range(6):
            n = found.normal[place]
            assert n @ n == pytest.approx(1, abs=1e-12)
            shear, normal = shear_paths(history[:, [place]], n)
            first, second = frame(n)
            flat = np.stack([shear[:, 0] @ first, shear[:, 0] @ second], axis=1)
            assert brute_radius(flat) == pytest.approx(found.shear_amplitude_MPa[place], rel=1e-10)
            assert normal.max() == pytest.approx(found.normal_most_MPa[place], rel=1e-10, abs=1e-10)
            assert found.parameter_MPa[place] == pytest.approx(
                found.shear_amplitude_MPa[place] + 0.3 * found.normal_most_MPa[place], rel=1e-12
            )
        everywhere = plane_rows(planes(2)) @ history.transpose(1, 2, 0)[:, None]
        circles = smallest_circle(
            everywhere[:, :, 0].reshape(-1, 7), everywhere[:, :, 1].reshape(-1, 7)
        ).radius.reshape(6, -1)
        brute = (circles + 0.3 * everywhere[:, :, 2].max(axis=2)).max(axis=1)
        assert (found.parameter_MPa >= brute * (1 - 1e-12)).all()
        # between planes 2.5 degrees apart the top is no more than this higher
        assert (found.parameter_MPa <= brute + 2 * reach_rad(2) ** 2 * 2 * found.parameter_MPa).all()


def test_a_circle_is_not_a_line():
    """Shear that turns on a plane: its amplitude is the radius, not what one direction shows."""
    turn = 2 * np.pi * np.arange(120) / 120
    history = np.zeros((120, 1, 6))
    history[:, 0, 4], history[:, 0, 5] = 100 * np.sin(turn), 100 * np.cos(turn)
    found = findley(history, 0.0)
    assert found.shear_amplitude_MPa[0] == pytest.approx(100, rel=1e-9)
    assert np.abs(found.normal[0]) == pytest.approx([0, 0, 1], abs=1e-4)


def test_order_scale_repeats_and_places():
    rng = np.random.default_rng(7)
    history = smooth(rng, 200, 9)
    there = findley(history, 0.3)
    assert findley(history[rng.permutation(200)], 0.3).parameter_MPa == pytest.approx(there.parameter_MPa, rel=1e-12)
    assert findley(3 * history, 0.3).parameter_MPa == pytest.approx(3 * there.parameter_MPa, rel=1e-11)
    assert findley(np.repeat(history, 2, axis=0), 0.3).parameter_MPa == pytest.approx(there.parameter_MPa, rel=1e-12)
    inside = np.concatenate([history, 0.5 * (history[:-1] + history[1:])])
    assert findley(inside, 0.3).parameter_MPa == pytest.approx(there.parameter_MPa, rel=1e-12)
    for place in range(9):
        assert findley(history[:, [place]], 0.3).parameter_MPa[0] == pytest.approx(
            there.parameter_MPa[place], rel=1e-11
        )
    # hydrostatic stress changes the normal stress alone, a mean nothing of the shear
    hydrostatic = np.array([40.0, 40, 40, 0, 0, 0])
    assert findley(history + hydrostatic, 0.3).parameter_MPa == pytest.approx(there.parameter_MPa + 12, rel=1e-11)
    shear = findley(history, 0.0).parameter_MPa
    assert findley(history + 77 * rng.standard_normal(6), 0.0).parameter_MPa == pytest.approx(shear, rel=1e-11)
    # more of the path is never less
    assert (findley(history[:100], 0.3).parameter_MPa <= there.parameter_MPa * (1 + 1e-12)).all()
    single = history.astype(np.float32)
    assert findley(single, 0.3).parameter_MPa == pytest.approx(there.parameter_MPa, rel=1e-6)


def test_constant_stress_has_no_amplitude():
    history = np.broadcast_to(np.array([100.0, 50, 20, 5, 6, 7]), (9, 2, 6))
    assert findley(history, 0.0).parameter_MPa == pytest.approx([0, 0], abs=1e-9)
    most = np.linalg.eigvalsh(matrices(history[0, 0])).max()
    assert findley(history, 0.3).parameter_MPa == pytest.approx([0.3 * most] * 2, rel=1e-12)
    assert normal_plane(history).amplitude_MPa == pytest.approx([0, 0], abs=1e-9)


def test_slopes_and_curvatures_against_differences():
    rng = np.random.default_rng(8)
    n = rng.standard_normal((40, 3))
    n /= np.linalg.norm(n, axis=1)[:, None]
    six = rng.standard_normal((40, 6, 3))
    pair = np.arange(40) % 2 == 0
    first, second = frame(n)

    def at(a, b, what):
        m = n + a * first + b * second
        m /= np.linalg.norm(m, axis=1)[:, None]
        local = (local_rows(m) @ six).transpose(1, 2, 0)
        return (circle_terms(local, pair) if what == "circle" else normal_terms(local[:, 0])).value

    local = (local_rows(n) @ six).transpose(1, 2, 0)
    h = 1e-4
    for what, terms in (("circle", circle_terms(local, pair)), ("normal", normal_terms(local[:, 0]))):
        middle = at(0, 0, what)
        assert terms.value == pytest.approx(middle, rel=1e-12)
        slopes = [(at(h, 0, what) - at(-h, 0, what)) / (2 * h), (at(0, h, what) - at(0, -h, what)) / (2 * h)]
        scale = np.abs(middle) + np.abs(terms.slope).max(axis=0)
        assert (np.abs(terms.slope - slopes) <= 1e-5 * scale + 1e-5 * np.abs(terms.curvature).max(axis=0)).all()
        curvatures = [
            (at(h, 0, what) - 2 * middle + at(-h, 0, what)) / h**2,
            (at(h, h, what) - at(h, -h, what) - at(-h, h, what) + at(-h, -h, what)) / (4 * h**2),
            (at(0, h, what) - 2 * middle + at(0, -h, what)) / h**2,
        ]
        # differences of a triangle that is almost flat are poor: most must agree closely
        off = np.abs(terms.curvature - curvatures).max(axis=0) / (scale + np.abs(terms.curvature).max(axis=0))
        assert np.quantile(off, 0.9) < 1e-5


def test_cells_cover_the_half_sphere():
    rng = np.random.default_rng(9)
    n = rng.standard_normal((2000, 3))
    n /= np.linalg.norm(n, axis=1)[:, None]
    for level in range(3):
        nearest = np.abs(n @ planes(level).T).max(axis=1)
        assert np.arccos(np.minimum(nearest, 1)).max() <= reach_rad(level) + 1e-12
    assert np.rad2deg(reach_rad(1)) < 5


def test_signed_von_mises():
    history = np.array([[[100.0, 0, 0, 0, 0, 0]], [[-100.0, 0, 0, 0, 0, 0]], [[0, 0, 0, 100.0, 0, 0]]])
    found = signed_von_mises(history)[:, 0]
    assert found == pytest.approx([100, -100, 100 * np.sqrt(3)])


def test_many_places_in_bounded_time():
    """300 places of 1,000 steps; 10^4 of them take seconds (tests/benchmarks/critical_plane.py)."""
    history = channels(np.random.default_rng(10), 1000, 300)
    start = time.process_time()
    findley(history, 0.3)
    assert time.process_time() - start < 5.0


def test_bad_histories_are_refused_with_a_way_out():
    good = np.zeros((3, 2, 6))
    gap = good.copy()
    gap[1, 0, 2] = np.nan
    for history, word, way in (
        (np.zeros((3, 6)), "array [step, place, 6]", "history[:, None, :]"),
        (np.zeros((3, 2, 3)), "array [step, place, 6]", "history[:, None, :]"),
        (np.zeros((3, 0, 6)), "array [step, place, 6]", "history[:, None, :]"),
        (good[:1], "at least 2 steps", "static proof"),
        (gap, "must be finite", "cut the history there"),
        (good + 1e12, "stresses in MPa", "check the unit"),
        ("text", "array [step, place, 6]", "without quotes"),
    ):
        for asked in (lambda h: findley(h, 0.3), normal_plane, lambda h: swt_plane(h, **STEEL)):
            with pytest.raises(InputFault) as fault:
                asked(history)
            assert word in str(fault.value)
            assert way in fault.value.faults[0].way_out
    with pytest.raises(InputFault) as fault:
        findley(gap, -1.0)
    assert [f.field for f in fault.value.faults] == ["k", "history_MPa[1, 0, 2]"]
    with pytest.raises(InputFault) as fault:
        fatemi_socie(good, -1.0, yield_MPa=0.0, youngs_modulus_MPa=-1, poissons_ratio=0.7)
    assert [f.field for f in fault.value.faults] == ["k", "yield_MPa", "youngs_modulus_MPa", "poissons_ratio"]
    for wrong in (1.0, 2.1, 0.5, float("nan")):
        with pytest.raises(InputFault, match="ratio"):
            findley_k(wrong)
    with pytest.raises(InputFault, match="k"):
        findley_ratio(-0.1)
