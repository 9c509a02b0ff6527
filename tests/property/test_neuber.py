"""Notch stress after Neuber, cyclic curves and strain lives: identities, signs, limits, inverses, memory."""

import numpy as np
import pytest

from femdrum.model.material import Material
from femdrum.strength.cyclic import CyclicCurve, guideline_curve, solve_power_sum, uniform_curve
from femdrum.strength.neuber import local_cycle, notch_range, notch_state, residual_after_overload
from femdrum.strength.strain_life import uniform_strain_life

E = 206e3


def of(ultimate_MPa):
    return Material(youngs_modulus_MPa=E, poissons_ratio=0.3, ultimate_MPa=ultimate_MPa)


CURVES = [make(of(rm)) for rm in (400, 600, 1200) for make in (guideline_curve, uniform_curve)]
PEAKS = np.concatenate([np.geomspace(1e-6, 5000, 200), -np.geomspace(1e-6, 5000, 200), [0.0]])
CURVE = guideline_curve(of(510))
LAW = uniform_strain_life(of(510))


@pytest.mark.parametrize("curve", CURVES)
def test_product_of_stress_and_strain_is_kept(curve):
    state = notch_state(PEAKS, curve)
    assert state.stress_MPa * state.strain == pytest.approx(PEAKS**2 / E, rel=1e-12)
    assert np.all(np.sign(state.stress_MPa) == np.sign(PEAKS))
    assert np.all(np.abs(state.stress_MPa) <= np.abs(PEAKS) * (1 + 1e-15))
    assert np.all(np.abs(state.strain) >= np.abs(PEAKS) / E * (1 - 1e-15))
    branch = notch_range(np.abs(PEAKS), curve)
    assert branch.stress_MPa * branch.strain == pytest.approx(PEAKS**2 / E, rel=1e-12)


@pytest.mark.parametrize("curve", CURVES)
def test_range_is_the_doubled_curve(curve):
    once, twice = notch_state(np.abs(PEAKS), curve), notch_range(2 * np.abs(PEAKS), curve)
    assert twice.stress_MPa == pytest.approx(2 * once.stress_MPa, rel=1e-13)
    assert twice.strain == pytest.approx(2 * once.strain, rel=1e-12)
    assert curve.strain_range(twice.stress_MPa) == pytest.approx(twice.strain, rel=1e-12)


@pytest.mark.parametrize("curve", CURVES)
def test_curve_and_its_inverse(curve):
    s = np.linspace(-1.5, 1.5, 301) * curve.coefficient_MPa / 3
    assert curve.stress_MPa(curve.strain(s)) == pytest.approx(s, rel=1e-12)
    e = np.concatenate([-np.geomspace(1e-12, 0.3, 50), np.geomspace(1e-12, 0.3, 50), [0.0]])
    assert curve.strain(curve.stress_MPa(e)) == pytest.approx(e, rel=1e-12)
    assert curve.strain_range(curve.stress_range_MPa(np.abs(e))) == pytest.approx(np.abs(e), rel=1e-12)
    assert np.all(np.diff(curve.strain(s)) > 0)
    assert curve.strain(-s) == pytest.approx(-curve.strain(s), rel=1e-15)


def test_peaks_grow_with_the_load():
    load = np.linspace(0, 4000, 4001)
    for limit in (None, 1.3, 3.0):
        state = notch_state(load, CURVE, limit)
        assert np.all(np.diff(state.stress_MPa) > 0)
        assert np.all(np.diff(state.strain) > 0)


def test_overload_leaves_the_opposite_sign():
    peak = np.linspace(300, 3000, 100)
    for curve in CURVES:
        after = residual_after_overload(peak, curve)
        assert np.all(after < 0)
        assert residual_after_overload(-peak, curve) == pytest.approx(-after, rel=1e-12)
    # the more overload, the more is left, until unloading itself yields
    assert np.all(np.diff(residual_after_overload(np.linspace(100, 900, 50), CURVE)) < 0)


def test_without_yield_nothing_is_left():
    """It falls faster than the load: at a tenth of the load, less than 1/100,000 of it."""
    peaks = np.array([1.0, 10.0, 100.0])
    left = np.abs(residual_after_overload(peaks, CURVE))
    assert left[0] < 1e-9
    assert np.all(left[:-1] < 1e-5 * left[1:])
    assert residual_after_overload(0.0, CURVE) == 0.0
    stiff = CyclicCurve(E, 1e9, 0.15)  # a material that never yields
    assert residual_after_overload([500.0, 2000.0], stiff) == pytest.approx([0.0, 0.0], abs=1e-9)


def test_residual_is_the_cycle_of_no_load():
    peak = np.array([-1500.0, -600.0, 0.0, 600.0, 1500.0])
    cycle = local_cycle(0.0, 0.0, CURVE, overload_MPa=peak)
    assert cycle.mean_MPa == pytest.approx(residual_after_overload(peak, CURVE), rel=1e-12, abs=1e-12)
    assert cycle.stress_amplitude_MPa == pytest.approx(np.zeros(5), abs=1e-12)


def test_small_cycles_after_an_overload_ride_on_its_residual_stress():
    """A pulsating cycle's lower end is the residual stress itself; a small reversed one keeps near it, and elastic."""
    for peak in (700.0, 900.0, -900.0):
        left = float(residual_after_overload(peak, CURVE))
        up, down = (100.0, 0.0) if peak > 0 else (0.0, -100.0)
        pulse = local_cycle(up, down, CURVE, overload_MPa=peak)
        assert (pulse.lower_MPa if peak > 0 else pulse.upper_MPa) == pytest.approx(left, rel=1e-12)
        swing = local_cycle(30.0, -30.0, CURVE, overload_MPa=peak)
        assert abs(swing.mean_MPa - left) < 30.0
        assert swing.stress_amplitude_MPa == pytest.approx(30.0, rel=1e-3)


def test_a_reversed_cycle_has_no_mean_stress():
    load = np.linspace(0, 2000, 50)
    cycle = local_cycle(load, -load, CURVE)
    assert cycle.mean_MPa == pytest.approx(np.zeros(50), abs=1e-9)
    assert cycle.strain_amplitude == pytest.approx(notch_state(load, CURVE).strain, rel=1e-12)
    assert cycle.stress_amplitude_MPa == pytest.approx(notch_state(load, CURVE).stress_MPa, rel=1e-12)


def test_cycle_knows_its_mirror_image():
    g = np.random.default_rng(20)
    a, b, over = g.uniform(-1200, 1200, (3, 300))
    upper, lower = np.maximum(a, b), np.minimum(a, b)
    cycle, mirrored = (
        local_cycle(upper, lower, CURVE, overload_MPa=over),
        local_cycle(-lower, -upper, CURVE, overload_MPa=-over),
    )
    assert mirrored.upper_MPa == pytest.approx(-cycle.lower_MPa, rel=1e-9, abs=1e-9)
    assert mirrored.lower_MPa == pytest.approx(-cycle.upper_MPa, rel=1e-9, abs=1e-9)
    assert np.all(cycle.upper_MPa >= cycle.lower_MPa)
    # the loop itself depends on the range alone
    assert cycle.strain_amplitude == pytest.approx(notch_range(upper - lower, CURVE).strain / 2, rel=1e-12)


def test_overload_inside_the_cycle_changes_nothing():
    plain = local_cycle(900.0, -200.0, CURVE)
    for over in (-800.0, -300.0, 0.0, 500.0, 900.0):
        again = local_cycle(900.0, -200.0, CURVE, overload_MPa=over)
        assert again.upper_MPa == pytest.approx(plain.upper_MPa, rel=1e-12)
        assert again.lower_MPa == pytest.approx(plain.lower_MPa, rel=1e-12)


def test_overload_joins_the_cycle_without_a_jump():
    """An overload just above the cycle's own upper end is hardly one."""
    plain, over = local_cycle(900.0, 100.0, CURVE), local_cycle(900.0, 100.0, CURVE, overload_MPa=900.0 + 1e-6)
    assert over.mean_MPa == pytest.approx(plain.mean_MPa, abs=1e-5)


def test_limit_load_raises_the_strain_and_fades():
    load = np.linspace(10, 2000, 100)
    plain = notch_state(load, CURVE).strain
    strains = [notch_state(load, CURVE, k).strain for k in (1.2, 2.0, 5.0)]
    assert np.all(strains[0] > strains[1])
    assert np.all(strains[1] > strains[2])
    assert np.all(strains[2] > plain)
    assert notch_state(load, CURVE, 1e4).strain == pytest.approx(plain, rel=1e-9)
    # the rule itself: stress times strain is L K_p e*(L / K_p)
    for k in (1.2, 2.0):
        state = notch_state(load, CURVE, k)
        assert state.stress_MPa * state.strain == pytest.approx(load * k * CURVE.strain(load / k), rel=1e-12)


def test_strain_life_and_its_inverse():
    n = np.geomspace(1, 1e12, 200)
    for law in (LAW, uniform_strain_life(of(1200))):
        assert law.life(law.strain_amplitude(n)) == pytest.approx(n, rel=1e-9)
        assert np.all(np.diff(law.strain_amplitude(n)) < 0)


def test_life_falls_with_strain_and_with_tension():
    e = np.geomspace(1e-4, 0.05, 200)[:, None]
    mean = np.linspace(-400, 600, 50)[None, :]
    lives = LAW.life(e, mean)
    assert np.all(np.diff(lives, axis=0) < 0)
    assert np.all(np.diff(lives, axis=1) < 0)
    assert LAW.life(e, 0.0) == pytest.approx(LAW.life(e, 0.0, "none"), rel=1e-15)
    # large strains: the plastic part does not know the mean stress
    assert LAW.life(0.05, 300.0) / LAW.life(0.05, 0.0) > 0.8
    assert LAW.life(0.001, 300.0) / LAW.life(0.001, 0.0) < 0.1


def test_upper_stress_times_strain():
    """SWT at no mean stress, on the cyclic curve that fits the law (K' = sf'/ef'^n', n' = b/c): the plain strain life."""
    b, c, sf, ef = (
        LAW.strength_exponent,
        LAW.ductility_exponent,
        LAW.strength_coefficient_MPa,
        LAW.ductility_coefficient,
    )
    fits = CyclicCurve(E, sf / ef ** (b / c), b / c)
    e = np.geomspace(5e-4, 0.03, 60)
    assert LAW.life(e, correction="swt", upper_MPa=fits.stress_MPa(e)) == pytest.approx(LAW.life(e), rel=1e-9)
    assert np.all(LAW.life(e, correction="swt", upper_MPa=-1.0) == np.inf)
    assert np.all(np.diff(LAW.life(0.003, correction="swt", upper_MPa=np.linspace(50, 500, 20))) < 0)


def test_ends_of_the_strain_life():
    """Nothing strained lives forever; a mean stress of sf' leaves nothing; no warning is given (warnings are errors)."""
    assert LAW.life([0.0, 1e-320, 1e-300, 1e-30]).tolist() == [np.inf] * 4
    assert LAW.life(0.001, LAW.strength_coefficient_MPa) == 0.0
    assert 0 < LAW.life(5.0) < 1
    assert LAW.life(0.0, 2000.0) == 0.0
    assert notch_state(5e-324, CURVE).stress_MPa >= 0.0


def test_power_sum_solver():
    g = np.random.default_rng(21)
    a, b, t = 10 ** g.uniform(-6, 6, (3, 2000))
    for p, q in ((1.0, 6.7), (2.0, 6.35), (1.0, 1.0), (3.0, 5.0)):
        x = solve_power_sum(a, p, b, q, t)
        assert a * x**p + b * x**q == pytest.approx(t, rel=1e-12)
    assert solve_power_sum(1.0, 2.0, 1.0, 6.0, 0.0) == 0.0


def test_against_a_plain_bisection():
    """The notch stress by a second, slower way."""
    for peak in (50.0, 400.0, 900.0, 2500.0):
        low, high = 0.0, peak
        for _ in range(200):
            middle = 0.5 * (low + high)
            if middle * CURVE.strain(middle) > peak**2 / E:
                high = middle
            else:
                low = middle
        assert notch_state(peak, CURVE).stress_MPa == pytest.approx(low, rel=1e-12)


def test_places_are_answered_together():
    g = np.random.default_rng(22)
    upper = g.uniform(0, 1500, (6, 400))
    lower = upper - g.uniform(0, 1500, (6, 400))
    cycle = local_cycle(upper, lower, CURVE, overload_MPa=1600.0)
    lives = LAW.life_of(cycle)
    assert lives.shape == (6, 400)
    for i, j in ((0, 0), (3, 17), (5, 399)):
        single = local_cycle(upper[i, j], lower[i, j], CURVE, overload_MPa=1600.0)
        assert LAW.life_of(single) == pytest.approx(lives[i, j], rel=1e-12)
