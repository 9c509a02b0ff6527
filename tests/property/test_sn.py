"""S-N lives, mean-stress rules, damage and probability: scaling, continuity, order, limits."""

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.model.finish import Finish
from femdrum.model.material import steel
from femdrum.strength.base_metal import metal_strength
from femdrum.strength.mean_stress import RULES, equivalent_amplitude, mean_factor, mean_sensitivity, residual_left_MPa
from femdrum.strength.miner import damage, equivalent_amplitude_MPa, life_h
from femdrum.strength.reliability import (
    failure_probability,
    failure_probability_of_index,
    reliability_index,
    scatter_ratio,
    survival_life_factor,
    system_failure,
    system_life_factor,
)
from femdrum.strength.sn_curve import CONTINUATIONS, SNCurve
from femdrum.strength.support import support_factor
from femdrum.strength.surface import roughness_factor, roughness_factor_nonlinear

RM = 510.0
STRENGTH = metal_strength(
    steel("S355", 40), Finish(process="flame cut"), gradient_per_mm=0.25, stressed_area_mm2=120, equal_places=96
)


def random(seed):
    return np.random.default_rng(seed)


@pytest.mark.parametrize("slope", [3.0, 5.0, 8.0])
def test_life_scales_as_the_slope_says(slope):
    line = SNCurve(93.7, slope=slope)
    high = random(1).uniform(100.0, 300.0, 200)
    for by in (1.1, 1.5, 2.0):
        assert line.life(by * high) / line.life(high) == pytest.approx(by**-slope, rel=1e-12)
    low = random(2).uniform(1.0, 40.0, 200)
    for beyond, k in (("haibach", 2 * slope - 1), ("elementary", slope)):
        assert line.life(2 * low, beyond) / line.life(low, beyond) == pytest.approx(2.0**-k, rel=1e-12)


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("beyond", ["haibach", "elementary"])
def test_all_loads_scaled_move_the_damage_as_the_slope_says(rule, beyond):
    """Fully reversed and, with rules that know no strength of their own, at any mean stress: one slope, one power."""
    a = random(3).uniform(200.0, 300.0, 50)
    n = random(4).uniform(1.0, 1e4, 50)
    mean = 0.3 * a if rule in ("fkm", "swt") else 0.0 * a
    ratio = STRENGTH.damage(1.1 * a, 1.1 * mean, n, rule, beyond) / STRENGTH.damage(a, mean, n, rule, beyond)
    assert ratio == pytest.approx(1.1**5, rel=1e-12)


def test_ten_times_the_occurrences_give_a_tenth_of_the_life():
    g = random(5)
    a, mean, n = g.uniform(20, 300, (40, 7)), g.uniform(-100, 200, (40, 7)), g.uniform(0, 1e7, (40, 7))
    for beyond in ("haibach", "elementary"):
        one = life_h(STRENGTH.damage(a, mean, n, beyond=beyond), 1000.0)
        ten = life_h(STRENGTH.damage(a, mean, 10 * n, beyond=beyond), 1000.0)
        assert ten == pytest.approx(one / 10, rel=1e-12)
        assert one.shape == (7,)


def test_curve_is_continuous_and_falls():
    line = SNCurve(100.0)
    for beyond in ("haibach", "elementary"):
        assert line.life(100 * (1 + 1e-12), beyond) == pytest.approx(line.life(100 * (1 - 1e-12), beyond), rel=1e-10)
        assert line.life(100.0, beyond) == 1e6
    assert line.life(100.0, "none") == 1e6
    assert line.life(100 * (1 - 1e-12), "none") == np.inf
    a = np.linspace(1.0, 400.0, 2000)
    lives = [line.life(a, beyond) for beyond in ("haibach", "elementary")]
    assert all(np.all(np.diff(each) < 0) for each in lives)
    # Haibach lives longer below the knee, nowhere else
    assert np.all(lives[0] >= lives[1])
    assert np.all((lives[0] == lives[1]) == (a >= 100.0))


@pytest.mark.parametrize("beyond", CONTINUATIONS)
def test_strength_is_the_inverse_of_life(beyond):
    line = SNCurve(np.array([80.0, 120.0]))
    n = 10 ** random(6).uniform(2, 12, (100, 1))
    a = line.strength(n, beyond)
    assert a.shape == (100, 2)
    expected = np.where((n > 1e6) & (beyond == "none"), 1e6, n)
    assert line.life(a, beyond) == pytest.approx(np.broadcast_to(expected, (100, 2)), rel=1e-10)


def test_ends_of_the_line():
    """Tiny amplitudes live forever, a broken part not at all, and no warning is given (warnings are errors)."""
    line = SNCurve(100.0)
    tiny = np.array([0.0, 5e-324, 1e-300, 1e-200, 1e-40])
    for beyond in CONTINUATIONS:
        assert np.all(line.life(tiny[:4], beyond) == np.inf)
        assert line.life(np.inf, beyond) == 0.0
    assert np.all(STRENGTH.life(tiny, 100.0) > 1e200)
    for rule in RULES:
        assert equivalent_amplitude(rule, 0.0, 100.0, ultimate_MPa=RM) == 0.0
        assert equivalent_amplitude(rule, 50.0, RM, ultimate_MPa=RM) == np.inf
        assert STRENGTH.life(50.0, 2 * RM, rule) == 0.0
    assert damage([0.0, 1.0, 0.0], [0.0, np.inf, np.inf]) == 0.0
    assert damage([1.0], [0.0]) == np.inf
    assert life_h(0.0, 1.0) == np.inf
    assert life_h(np.inf, 1.0) == 0.0


@pytest.mark.parametrize("m", [0.0, 0.05, 0.11, 0.5, 0.9])
def test_mean_factor_is_continuous_and_falls(m):
    for border in (-1.0, 0.0, 1.0, 3.0):
        below, above = mean_factor(m, [border - 1e-9, border + 1e-9])
        assert above == pytest.approx(below, rel=1e-7)
    x = np.linspace(-10, 10, 4001)
    k = mean_factor(m, x)
    assert np.all(np.diff(k) <= 0)
    assert mean_factor(m, 0.0) == 1.0
    assert k[0] == pytest.approx(1 / (1 - m), rel=1e-14)
    assert k[-1] == pytest.approx((3 + m) / (3 * (1 + m) ** 2), rel=1e-14)
    assert mean_factor(m, [-np.inf, np.inf]) == pytest.approx([k[0], k[-1]], rel=1e-14)


def test_borders_of_the_stress_ratio():
    """R > 1, R = 0, R = 0.5 lie at sm/sa = -1, 1, 3."""
    upper = 100.0
    for ratio, at in ((0.0, 1.0), (0.5, 3.0), (-1.0, 0.0)):
        lower = ratio * upper
        assert (upper + lower) / (upper - lower) == pytest.approx(at, abs=1e-15)
    m = float(mean_sensitivity(RM))
    # pulsating tension: 1 + M; pulsating compression: 1 - M
    assert equivalent_amplitude("fkm", 50, 50, ultimate_MPa=RM) == pytest.approx(50 * (1 + m), rel=1e-14)
    assert equivalent_amplitude("fkm", 50, -50, ultimate_MPa=RM) == pytest.approx(50 * (1 - m), rel=1e-14)
    assert equivalent_amplitude("fkm", 50, -90, ultimate_MPa=RM) == pytest.approx(50 * (1 - m), rel=1e-14)


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_grows_with_amplitude_and_with_mean(rule):
    a = np.linspace(0, 300, 61)[:, None]
    mean = np.linspace(-400, RM - 1, 80)[None, :]
    same = equivalent_amplitude(rule, a, mean, ultimate_MPa=RM)
    assert np.all(np.diff(same, axis=0) >= -1e-12)
    assert np.all(np.diff(same, axis=1) >= -1e-12)
    assert equivalent_amplitude(rule, a, 0.0, ultimate_MPa=RM) == pytest.approx(a, rel=1e-14)


def test_compression_earns_what_the_rule_allows():
    a = np.array([50.0, 100.0])
    for rule in ("goodman", "gerber"):
        assert np.array_equal(equivalent_amplitude(rule, a, -200.0, ultimate_MPa=RM), a)
    assert np.all(equivalent_amplitude("swt", a, -200.0, ultimate_MPa=RM) == 0.0)
    for rule in ("fkm", "morrow"):
        assert np.all(equivalent_amplitude(rule, a, -200.0, ultimate_MPa=RM) < a)
    # the main rule never gives more than R > 1
    assert np.all(equivalent_amplitude("fkm", a, -1e9, ultimate_MPa=RM) == a * (1 - mean_sensitivity(RM)))


def test_soft_steel_gains_nothing():
    assert mean_sensitivity([200.0, 285.0]) == pytest.approx([0.0, 0.0], abs=0)
    assert roughness_factor(150.0, 100.0) == 1.0
    assert roughness_factor(600.0, 0.5) == 1.0
    assert roughness_factor_nonlinear(600.0, 1.0) == 1.0


def test_roughness_and_support_fall_with_what_harms():
    rz, rm = np.geomspace(1, 250, 50), np.linspace(350, 1200, 50)
    assert np.all(np.diff(roughness_factor(600, rz)) < 0)
    assert np.all(np.diff(roughness_factor(rm, 100)) < 0)
    assert np.all(roughness_factor(rm, 100, "shear") > roughness_factor(rm, 100))
    assert np.all(np.diff(support_factor(rz / 10, 600, floor=False)) > 0)
    assert np.all(np.diff(support_factor(1.0, rm, floor=False)) < 0)


def test_survival_shifts_lives_by_the_scatter():
    line = SNCurve(np.array([90.0, 110.0]), scatter=0.25)
    a = random(7).uniform(20, 300, (50, 2))
    for beyond in ("haibach", "elementary"):
        by = line.at_survival(0.5).life(a, beyond) / line.life(a, beyond)
        assert by == pytest.approx(np.full((50, 2), float(survival_life_factor(0.25, 0.5, 0.975))), rel=1e-12)
    there_and_back = line.at_survival(0.9).at_survival(0.975)
    assert there_and_back.life(a) == pytest.approx(line.life(a), rel=1e-12)
    # along the strength: the same line above the knee, the endurance limit moves
    across = line.at_survival(0.5, along="strength")
    high = np.full((1, 2), 250.0)
    assert across.life(high) == pytest.approx(line.at_survival(0.5).life(high), rel=1e-12)
    assert across.knee_cycles == line.knee_cycles
    assert np.all(across.amplitude_MPa > line.amplitude_MPa)
    more = [float(line.at_survival(p).life(150.0)[0]) for p in (0.01, 0.5, 0.9, 0.999)]
    assert np.all(np.diff(more) < 0)


def test_probability_answers_the_life_at_that_survival():
    line = SNCurve(100.0)
    for p in (0.5, 0.9, 0.975, 0.999):
        at = line.at_survival(p).life(130.0)
        assert failure_probability(at, line.life(130.0), 0.2, survival=0.975) == pytest.approx(1 - p, rel=1e-9)
    n = np.geomspace(1e3, 1e9, 100)
    chance = failure_probability(n, 1e6, 0.2)
    assert np.all(np.diff(chance) >= 0)
    assert failure_probability([0.0, 1e6], [1e6, np.inf], 0.2) == pytest.approx([0.0, 0.0], abs=0)
    assert failure_probability(1.0, 0.0, 0.2) == 1.0
    assert failure_probability_of_index(reliability_index([1e-9, 1e-3, 0.3])) == pytest.approx(
        [1e-9, 1e-3, 0.3], rel=1e-9
    )


def test_any_of_n_places():
    p = np.array([0.0, 1e-12, 1e-5, 0.1, 1.0])
    system = system_failure(p, 192)
    assert np.all((system.lower <= system.independent) & (system.independent <= system.upper))
    assert system.independent[:3] == pytest.approx(192 * p[:3], rel=2e-3)
    assert system.independent[1] == pytest.approx(192e-12, rel=1e-9)  # no digits lost
    assert system.independent[4] == 1.0
    assert np.all(system_failure(p, 1).independent == pytest.approx(p, rel=1e-12))
    for given in (np.array([1.5]), np.array([-0.1])):
        with pytest.raises(InputFault, match="probability"):
            system_failure(given, 2)


def test_first_of_many_by_sampling():
    """Median of the least of 192 log-normal lives, 40,000 seeded draws: within their own scatter of the closed form."""
    draws = random(8).normal(0.0, 0.2, (40_000, 192)).min(axis=1)
    expected = np.log10(float(system_life_factor(192, 0.2)))
    assert np.median(draws) == pytest.approx(expected, abs=4 * 1.25 * draws.std() / 200)
    # and at another survival
    assert np.quantile(draws, 0.1) == pytest.approx(
        np.log10(float(system_life_factor(192, 0.2, survival=0.9))) + 0.2 * -1.2815516, abs=0.003
    )


def test_scatter_ratio_by_sampling():
    lives = 10 ** random(9).normal(6.0, 0.2, 400_000)
    high, low = np.quantile(lives, [0.9, 0.1])
    assert high / low == pytest.approx(float(scatter_ratio(0.2)), rel=0.01)


def test_equivalent_amplitude_does_the_same_damage():
    a, n = random(10).uniform(120, 300, 30), random(11).uniform(1, 1e4, 30)
    line = SNCurve(100.0)
    one = equivalent_amplitude_MPa(a, n, 5.0)
    assert damage([n.sum()], line.life([one], "elementary")) == pytest.approx(
        damage(n, line.life(a, "elementary")), rel=1e-12
    )
    assert equivalent_amplitude_MPa(0 * a, n, 5.0) == 0.0
    with pytest.raises(InputFault, match="counts"):
        equivalent_amplitude_MPa(a, 0 * n, 5.0)


def test_damage_does_not_mind_the_order_and_adds_up():
    g = random(12)
    a, mean, n = g.uniform(10, 300, (30, 5)), g.uniform(-100, 100, (30, 5)), g.uniform(0, 1e5, 30)
    whole = STRENGTH.damage(a, mean, n)
    order = g.permutation(30)
    assert STRENGTH.damage(a[order], mean[order], n[order]) == pytest.approx(whole, rel=1e-12)
    assert STRENGTH.damage(a[:10], mean[:10], n[:10]) + STRENGTH.damage(a[10:], mean[10:], n[10:]) == pytest.approx(
        whole, rel=1e-12
    )


def test_residual_stress_stands_inside_yield():
    g = random(13)
    residual, a, mean = g.uniform(-500, 500, 500), g.uniform(0, 500, 500), g.uniform(-300, 300, 500)
    left = residual_left_MPa(residual, a, mean, 345.0)
    assert np.all(left * residual >= 0)
    assert np.all(np.abs(left) <= np.abs(residual))
    cut = np.abs(left) < np.abs(residual)
    up, down = cut & (residual > 0) & (left > 0), cut & (residual < 0) & (left < 0)
    assert up.any()
    assert down.any()
    assert (mean + a + left)[up] == pytest.approx(345.0, rel=1e-12)
    assert (mean - a + left)[down] == pytest.approx(-345.0, rel=1e-12)
    quiet = np.abs(mean) + a + np.abs(residual) <= 345.0
    assert np.array_equal(left[quiet], residual[quiet])


def test_scaled_curve():
    line = SNCurve(100.0)
    assert line.scaled(0.9).amplitude_MPa == pytest.approx(90.0)
    assert line.scaled([0.9, 1.1]).life(110.0) == pytest.approx(line.life([110 / 0.9, 100.0]), rel=1e-12)
    through = SNCurve.through((1e6, 100.0), (1e3, 100.0 * 1e3**0.2), survival=0.5)
    assert through.life(180.0) == pytest.approx(line.life(180.0), rel=1e-12)
    assert through.survival == 0.5
