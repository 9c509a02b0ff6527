"""Strength, lives and notch stress against two independent open fatigue libraries (pylife, fatpack; py-fatigue too).

They are installed with the tests only. What they print or warn of is their own affair.
"""

import numpy as np
import pytest

from femdrum.model.finish import Finish
from femdrum.model.material import Material
from femdrum.strength.base_metal import edge_class_curve, metal_strength
from femdrum.strength.cyclic import guideline_curve
from femdrum.strength.damage_parameter import damage_curve, damage_parameter_MPa
from femdrum.strength.mean_stress import equivalent_amplitude, mean_factor, mean_sensitivity
from femdrum.strength.miner import damage, equivalent_amplitude_MPa
from femdrum.strength.neuber import notch_range, notch_state
from femdrum.strength.reliability import material_safety_factor, reliability_index
from femdrum.strength.size import size_factor
from femdrum.strength.sn_curve import SNCurve
from femdrum.strength.support import support_factor
from femdrum.strength.surface import roughness_factor, roughness_factor_nonlinear

pytestmark = [pytest.mark.peers, pytest.mark.filterwarnings("ignore")]

E = 206e3


@pytest.fixture(scope="module")
def pd():
    return pytest.importorskip("pandas")


@pytest.fixture(scope="module")
def linear():
    """The guideline's linear part, its steel constants, from pylife."""
    functions = pytest.importorskip("pylife.strength.fkm_linear.fkm_functions")
    return next(v for k, v in vars(functions).items() if isinstance(v, type) and hasattr(v, "rough_factor"))()


@pytest.fixture(scope="module")
def nonlinear():
    return pytest.importorskip("pylife.strength.fkm_nonlinear.parameter_calculations")


def material(ultimate_MPa):
    return Material(youngs_modulus_MPa=E, poissons_ratio=0.3, ultimate_MPa=ultimate_MPa)


def test_constants_of_the_stress_guideline(linear, pd):
    rng = np.random.default_rng(30)
    rm, rz = rng.uniform(320, 1100, 40), rng.uniform(1, 250, 40)
    group = pd.Series(["Steel"] * 40)
    for kind in ("normal", "shear"):
        stress = pd.Series([kind] * 40)
        consts, fw_t = linear.get_material_constants(group, stress)
        sensitivity = linear.sm_sensitivity_chap4(rm, consts, fw_t, stress)
        assert mean_sensitivity(rm, kind) == pytest.approx(np.asarray(sensitivity), rel=1e-12)
        rough = linear.rough_factor(rm, rz, consts, fw_t, stress, np.array(["None"] * 40, dtype=object))
        assert roughness_factor(rm, rz, kind) == pytest.approx(np.asarray(rough), rel=1e-12)
        reversed_MPa = linear.reversed_mat_strength_chap4(rm, consts, fw_t, stress)
        ours = [
            getattr(metal_strength(material(r), Finish(process="ground", roughness_Rz_um=1.0), gradient_per_mm=0.0,
                                   stressed_area_mm2=500.0, equal_places=1), "curve" if kind == "normal" else "shear").amplitude_MPa
            for r in rm
        ]  # fmt: skip
        assert ours == pytest.approx(np.asarray(reversed_MPa), rel=1e-12)
    area = rng.uniform(1, 1e5, 40)
    assert size_factor(area) == pytest.approx(linear.stat_support_surf(area, 30), rel=1e-12)
    for g, r, n_st in zip(rng.uniform(0, 20, 40), rm, rng.uniform(0.8, 1.1, 40), strict=True):
        theirs = linear.fract_mech_support_local(n_st, 1.0, g, r, "Steel")
        assert support_factor(g, r, size=n_st) == pytest.approx(theirs, rel=1e-12)


def test_mean_stress_factor_of_the_guideline(linear):
    ratio = np.concatenate([np.linspace(-8, 8, 400)])
    for m in (0.05, 0.11, 0.3):
        r = (ratio - 1) / (ratio + 1)
        theirs = linear.sm_factor(r, np.full_like(r, m), ratio)
        assert mean_factor(m, ratio) == pytest.approx(np.asarray(theirs), rel=1e-12)


def test_our_straight_roughness_is_on_the_safe_side(linear):
    """The guideline weighs roughness down in its design factor; here it is multiplied straight on, as the notes say."""
    rng = np.random.default_rng(31)
    rm, rz = rng.uniform(320, 1100, 200), rng.uniform(1, 250, 200)
    rough, one = roughness_factor(rm, rz), np.ones(200)
    theirs = 1 / np.asarray(linear.design_factor(one, 2 * one, rough, one, one, one))
    assert np.all(rough <= theirs + 1e-12)


def test_constants_of_the_strain_guideline(nonlinear, pd):
    for rm, rz, g, area in ((400.0, 12.5, 0.1, 40.0), (600.0, 250.0, 0.133333, 339.4), (1251.0, 60.0, 3.0, 5000.0)):
        asked = pd.Series(
            {"MatGroupFKM": "Steel", "R_m": rm, "P_A": 7.2e-5, "A_ref": 500.0, "A_sigma": area, "G": g, "R_z": rz}
        )
        for step in (
            nonlinear.calculate_cyclic_assessment_parameters,
            nonlinear.calculate_material_woehler_parameters_P_RAM,
            nonlinear.calculate_nonlocal_parameters,
            nonlinear.calculate_roughness_parameter,
            nonlinear.calculate_failure_probability_factor_P_RAM,
            nonlinear.calculate_component_woehler_parameters_P_RAM,
        ):
            asked = step(asked)
        curve, line = guideline_curve(material(rm)), damage_curve(material(rm))
        assert (curve.coefficient_MPa, curve.exponent) == pytest.approx((asked.K_prime, asked.n_prime), rel=1e-12)
        assert line.at_thousand_MPa == pytest.approx(asked.P_RAM_Z_WS, rel=1e-12)
        assert line.endurance_MPa == pytest.approx(asked.P_RAM_D_WS, rel=1e-12)
        assert (line.first_slope, line.second_slope) == (asked.d_1, asked.d_2)
        n_st = size_factor(area)
        n_bm, rough = support_factor(g, rm, size=n_st), roughness_factor_nonlinear(rm, rz)
        gamma = material_safety_factor(reliability_index(7.2e-5))
        assert (n_st, n_bm, rough) == pytest.approx((asked.n_st, asked.n_bm, asked.K_RP), rel=1e-12)
        assert gamma == pytest.approx(asked.gamma_M_RAM, rel=1e-6)
        part = line.scaled(float(n_st * n_bm * rough / gamma))
        assert (part.at_thousand_MPa, part.endurance_MPa) == pytest.approx((asked.P_RAM_Z, asked.P_RAM_D), rel=1e-6)
        theirs = asked.rename({"P_RAM_Z": "P_RAM_Z"})
        pytest.importorskip("pylife.strength.woehler_fkm_nonlinear")
        p = np.geomspace(0.3, 4, 50) * part.endurance_MPa
        woehler = theirs[["P_RAM_Z", "P_RAM_D", "d_1", "d_2"]].astype(float).woehler_P_RAM
        near = np.abs(p / part.endurance_MPa - 1) > 1e-4
        assert part.life(p[near]) == pytest.approx(np.asarray(woehler.calc_N(p[near])), rel=1e-4)


def test_damage_parameter(pd):
    parameter = pytest.importorskip("pylife.strength.damage_parameter")
    rng = np.random.default_rng(32)
    a, mean, e = rng.uniform(10, 500, 60), rng.uniform(-300, 300, 60), rng.uniform(1e-4, 1e-2, 60)
    cycles = pd.DataFrame({"S_a": a, "S_m": mean, "epsilon_a": e})
    asked = pd.Series({"MatGroupFKM": "Steel", "R_m": 700.0, "E": E})
    theirs = parameter.P_RAM(cycles, asked).collective["P_RAM"]
    ours = damage_parameter_MPa(a, mean, e, youngs_modulus_MPa=E, ultimate_MPa=700.0)
    assert ours == pytest.approx(np.asarray(theirs), rel=1e-12)


@pytest.mark.parametrize("limit", [1.1, 2.0, 3.5])
def test_neuber_with_the_limit_load(limit):
    law = pytest.importorskip("pylife.materiallaws.notch_approximation_law")
    curve = guideline_curve(material(600.0))
    theirs = law.ExtendedNeuber(E, curve.coefficient_MPa, curve.exponent, limit)
    load = np.linspace(50, 1500, 40)
    stress = theirs.stress(load, rtol=1e-10, tol=1e-10)
    assert notch_state(load, curve, limit).stress_MPa == pytest.approx(stress, rel=1e-8)
    assert notch_state(load, curve, limit).strain == pytest.approx(theirs.strain(stress), rel=1e-7)
    branch = theirs.stress_secondary_branch(load, rtol=1e-10, tol=1e-10)
    assert notch_range(load, curve, limit).stress_MPa == pytest.approx(branch, rel=1e-8)


def test_cyclic_curve():
    law = pytest.importorskip("pylife.materiallaws.rambgood")
    curve = guideline_curve(material(600.0))
    theirs = law.RambergOsgood(E, curve.coefficient_MPa, curve.exponent)
    s = np.linspace(0, 700, 50)
    assert curve.strain(s) == pytest.approx(theirs.strain(s), rel=1e-12)
    assert curve.strain_range(s) == pytest.approx(theirs.delta_strain(s), rel=1e-12)
    e = np.linspace(1e-4, 0.03, 50)
    assert curve.stress_MPa(e) == pytest.approx(theirs.stress(e, rtol=1e-12, tol=1e-12), rel=1e-8)


def test_lives_beyond_the_knee(pd):
    pytest.importorskip("pylife.materiallaws.woehlercurve")
    ours = SNCurve(120.0, survival=0.975, scatter=0.2)
    # their scatter is the ratio of the lives at 90 and 10 %
    theirs = pd.Series(
        {"k_1": 5.0, "ND": 1e6, "SD": 120.0, "TN": 10 ** (2 * 1.2815515655446004 * 0.2), "failure_probability": 0.025}
    )
    a = np.geomspace(30, 400, 60)
    for beyond, accessor in (
        ("haibach", "miner_haibach"),
        ("elementary", "miner_elementary"),
        ("none", "miner_original"),
    ):
        curve = getattr(theirs.woehler, accessor)()
        assert ours.life(a, beyond) == pytest.approx(np.asarray(curve.cycles(a)), rel=1e-12)
        moved = ours.at_survival(0.5, along="strength")
        assert moved.life(a, beyond) == pytest.approx(np.asarray(curve.cycles(a, 0.5)), rel=1e-9)
        # along the life: the same above both knees
        high = a > 1.3 * 120
        assert ours.at_survival(0.5).life(a[high], beyond) == pytest.approx(
            np.asarray(curve.cycles(a[high], 0.5)), rel=1e-9
        )


def test_lives_and_sums_of_two_slopes():
    """A plate-edge class and its linear sum, by fatpack and by py-fatigue: ranges there, amplitudes here."""
    fatpack = pytest.importorskip("fatpack")
    line = edge_class_curve(Finish(process="flame cut"))
    ranges = np.random.default_rng(33).uniform(20, 300, 500)
    theirs = fatpack.BiLinearEnduranceCurve(125.0)
    assert line.life(ranges / 2) == pytest.approx(theirs.get_endurance(ranges), rel=1e-12)
    assert damage(np.ones(500), line.life(ranges / 2)) == pytest.approx(theirs.find_miner_sum(ranges), rel=1e-12)
    material_module = pytest.importorskip("py_fatigue.material.sn_curve")
    knee = 125.0 * (2e6 / 5e6) ** (1 / 3)
    intercepts = [np.log10(5e6 * knee**m) for m in (3.0, 5.0)]
    third = material_module.SNCurve([3.0, 5.0], intercepts)
    assert line.life(ranges / 2) == pytest.approx(third.n(ranges), rel=1e-9)


def test_mean_stress_rules():
    fatpack = pytest.importorskip("fatpack")
    corrections = pytest.importorskip("py_fatigue.mean_stress.corrections")
    rng = np.random.default_rng(34)
    a, mean = rng.uniform(20, 200, 100), rng.uniform(0, 300, 100)
    for rule, theirs in (
        ("goodman", fatpack.find_goodman_equivalent_stress(2 * a, mean, 500.0)),
        ("morrow", fatpack.find_morrow_equivalent_stress(2 * a, mean, 750.0)),
        ("swt", 2 * np.asarray(corrections.swt_mean_stress_correction(mean, a))),
    ):
        assert 2 * equivalent_amplitude(rule, a, mean, ultimate_MPa=500.0) == pytest.approx(theirs, rel=1e-12)


def test_mean_stress_transformation(pd):
    """The piecewise rule through pylife's transformation of whole cycle lists to R = -1."""
    meanstress = pytest.importorskip("pylife.strength.meanstress")
    rng = np.random.default_rng(35)
    a, mean = rng.uniform(20, 200, 60), rng.uniform(-300, 190, 60)
    mean = np.minimum(mean, 2.9 * a)  # up to R = 0.5 the two have the same pieces
    cycles = pd.DataFrame({"range": 2 * a, "mean": mean})
    m = float(mean_sensitivity(600.0))
    theirs = meanstress.HaighDiagram.fkm_goodman(pd.Series({"M": m})).transform(cycles, -1.0)
    assert 2 * equivalent_amplitude("fkm", a, mean, ultimate_MPa=600.0) == pytest.approx(
        np.asarray(theirs["range"]), rel=1e-9
    )


def test_equivalent_amplitude_of_a_spectrum():
    damage_module = pytest.importorskip("py_fatigue.damage.stress_life")
    rng = np.random.default_rng(36)
    ranges, counts = rng.uniform(20, 300, 40), rng.integers(1, 1000, 40).astype(float)
    theirs = damage_module.calc_des(ranges, counts, slope=3.0, equivalent_cycles=float(counts.sum()))
    assert equivalent_amplitude_MPa(ranges / 2, counts, 3.0) == pytest.approx(float(np.squeeze(theirs)) / 2, rel=1e-12)
