"""Scatter of life: closed forms of log-normal lives, seeds, errors, infinite lives, sensitivities, and what is refused."""

import math

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from femdrum.errors import InputFault
from femdrum.model.scatter_input import ScatterInput
from femdrum.provenance import Kind
from femdrum.strength.sampling import CUT, deviations, extremes, samples_of, unit_points
from femdrum.strength.scatter import percentiles, scatter
from femdrum.strength.sensitivity import sobol_indices, tornado

NOTHING = {
    "corner_radius_mm": 0.0, "wall_mm": 0.0, "roughness_share": 0.0, "load_share": 0.0, "strength_share": 0.0,
    "life_scatter": 0.0,
}  # fmt: skip
SLOPE = 5


def only(**spread):
    return ScatterInput(**{**NOTHING, **spread})


def refused(field):
    return pytest.raises(InputFault, match=rf"{field}.*(must|nothing).*; .+")


def power_law(samples):
    """log10 of life in hours, median 1e5: load^-5 strength^5."""
    return 5 - SLOPE * np.log10(samples["load_factor"]) + SLOPE * np.log10(samples["strength_factor"])


def deviation(scatter_input):
    """Standard deviation of log10 of that life: the root of the sum of squares."""
    own = SLOPE / math.log(10)
    return math.hypot(own * scatter_input.load_share, own * scatter_input.strength_share, scatter_input.life_scatter)


# ---------------------------------------------------------------- samples


def test_same_seed_same_points():
    assert np.array_equal(unit_points(256, 7, 3), unit_points(256, 7, 3))
    assert not np.array_equal(unit_points(256, 7, 3), unit_points(256, 7, 4))
    assert not np.array_equal(unit_points(256, 7, 3), unit_points(256, 7, 3, stream=1))
    assert np.all((unit_points(256, 7, 3) > 0) & (unit_points(256, 7, 3) < 1))


def test_points_are_even():
    """Each of 256 equal intervals of each input holds exactly one of 256 points: what makes the error small."""
    points = unit_points(256, 7, 1)
    for column in points.T:
        assert np.array_equal(np.sort(np.floor(256 * column).astype(int)), np.arange(256))


def test_switching_an_input_off_leaves_the_others():
    points = unit_points(256, 7, 1)
    full, part = samples_of(ScatterInput(), points), samples_of(ScatterInput(wall_mm=0.0), points)
    assert np.all(part["wall_deviation_mm"] == 0)
    assert all(np.array_equal(full[name], part[name]) for name in full if name != "wall_deviation_mm")


@pytest.mark.parametrize(
    ("field", "distribution", "spread"),
    [
        ("corner_radius_mm", "uniform", 1.0), ("corner_radius_mm", "normal", 0.4), ("load_share", "lognormal", 0.2),
        ("load_share", "normal", 0.2), ("load_share", "uniform", 0.3), ("strength_share", "lognormal", 0.06),
        ("life_scatter", None, 0.2),
    ],
)  # fmt: skip
def test_distributions(field, distribution, spread):
    """Median, spread and limits of each, by a fine even grid of shares."""
    kind = {} if distribution is None else {field.rsplit("_", 1)[0] + "_distribution": distribution}
    made = next(v for v in only(**{field: spread}, **kind).every if v.field == field)
    share = (np.arange(200_000) + 0.5) / 200_000
    values = deviations(made, share)
    assert np.all(np.diff(values) > 0)
    middle = 1.0 if made.how == "times" else 0.0
    assert np.median(values) == pytest.approx(middle, abs=1e-4)
    if distribution == "lognormal":
        assert np.std(np.log(values)) == pytest.approx(spread, rel=1e-3)
    elif distribution == "uniform":
        assert np.std(values) == pytest.approx(spread / math.sqrt(3), rel=1e-3)
        assert np.ptp(values) == pytest.approx(2 * spread, rel=1e-4)
    elif distribution == "normal":
        # cut at three: variance 1 - 2 c phi(c) / (1 - 2 Phi(-c))
        density = math.exp(-0.5 * CUT**2) / math.sqrt(2 * math.pi)
        cut = math.sqrt(1 - 2 * CUT * density / (1 - 2 * ndtr(-CUT)))
        assert np.std(values) == pytest.approx(spread * cut, rel=1e-3)
        assert np.max(np.abs(values - middle)) <= CUT * spread
    else:
        assert np.std(values) == pytest.approx(spread, rel=1e-3)


def test_extremes_are_what_the_samples_reach():
    for scatter_input in (ScatterInput(), ScatterInput(corner_radius_distribution="normal", wall_mm=0)):
        reach = extremes(scatter_input)
        made = samples_of(scatter_input, unit_points(4096, 7, 1))
        for name, (low, high) in reach.items():
            assert low <= made[name].min() <= made[name].max() <= high
            assert made[name].max() >= 0.9 * high


# ---------------------------------------------------------------- probability and percentiles


@pytest.mark.parametrize("seed", range(4))
def test_log_normal_life(seed):
    """P_f = Phi((log target - log median) / s), percentiles 10^(mean + z s): closed forms."""
    given = only(load_share=0.2, strength_share=0.06, life_scatter=0.2, seed=seed)
    s = deviation(given)
    made = scatter(power_law, given, 2e4)
    assert made.probability_of_failure == pytest.approx(ndtr((math.log10(2e4) - 5) / s), rel=0.02)
    for share, life in ((0.1, made.p10_life_h), (0.5, made.p50_life_h), (0.9, made.p90_life_h)):
        assert math.log10(life) == pytest.approx(5 + ndtri(share) * s, abs=0.004)
    assert made.mean_log10 == pytest.approx(5, abs=0.003)
    assert made.deviation_log10 == pytest.approx(s, rel=0.02)
    assert made.failures == pytest.approx(4096 * made.probability_of_failure, rel=0.15)
    assert made.lognormal.value == pytest.approx(made.failure.value, rel=0.05)
    assert np.all(np.diff(made.life_h) > 0)
    assert made.p10_life_h == pytest.approx(np.interp(0.1, made.shares, made.life_h), rel=1e-9)


def test_stated_errors_are_what_is_missed():
    """Over many seeds the misses have the size that is stated."""
    misses, stated = [], []
    for seed in range(40):
        given = only(load_share=0.2, life_scatter=0.2, samples=512, seed=seed)
        made = scatter(power_law, given, 2e4, sensitivity_samples=None)
        true = ndtr((math.log10(2e4) - 5) / deviation(given)), 5 + ndtri(0.1) * deviation(given)
        misses.append((made.failure.value - true[0], math.log10(made.p10_life_h) - true[1]))
        stated.append((made.failure.standard_error, made.log10_error[0]))
    ratio = np.sqrt(np.mean(np.square(misses), axis=0) / np.mean(np.square(stated), axis=0))
    assert np.all((ratio > 0.5) & (ratio < 2.0))


def test_error_shrinks_with_samples():
    """Faster than by chance: sixteen times the samples, less than a quarter of the miss."""
    missed = {}
    for samples in (256, 4096):
        errors = []
        for seed in range(12):
            given = only(load_share=0.2, life_scatter=0.2, samples=samples, seed=seed)
            made = scatter(power_law, given, 2e4, sensitivity_samples=None)
            errors.append(made.failure.value - ndtr((math.log10(2e4) - 5) / deviation(given)))
        missed[samples] = np.sqrt(np.mean(np.square(errors)))
    assert missed[4096] < 0.2 * missed[256]


def test_same_input_same_result():
    first, second = (scatter(power_law, ScatterInput(), 1e4) for _ in range(2))
    assert first.p10_life_h == second.p10_life_h
    assert first.failure == second.failure
    assert np.array_equal(first.sensitivity.indices.total, second.sensitivity.indices.total)
    assert scatter(power_law, ScatterInput(seed=2), 1e4).failure != first.failure


@pytest.mark.parametrize("target_h", [2e3, 200.0])
def test_few_failures_are_the_tail_of_a_log_normal_life(target_h):
    """Where samples no longer reach, the fitted log-normal answers, says so, and is exact for a log-normal life."""
    given = only(load_share=0.2, strength_share=0.06, life_scatter=0.2)
    made = scatter(power_law, given, target_h, sensitivity_samples=None)
    assert made.failures < 10
    assert made.failure is made.lognormal
    assert "log-normal" in made.notes[0]
    assert made.failure.provenance.kind is Kind.COMMON_PRACTICE
    assert made.failure.value == pytest.approx(ndtr((math.log10(target_h) - 5) / deviation(given)), rel=0.1)


def test_averaging_reaches_deep_where_life_scatters_most():
    """With nearly all scatter in the life itself the average is exact far below one failure in the samples."""
    given = only(load_share=0.01, life_scatter=0.25)
    made = scatter(power_law, given, 1e5 / 10**1.5, sensitivity_samples=None)
    assert made.failures == 0
    assert made.failure.how.startswith("mean of Phi")
    assert made.failure.value == pytest.approx(ndtr(-1.5 / deviation(given)), rel=0.02)
    assert made.failure.standard_error < 0.02 * made.failure.value


def test_counting_without_scatter_of_life():
    """Uniform load, no other scatter: the probability is a length, counted."""
    given = only(load_share=0.2, load_distribution="uniform")
    target = 10 ** (5 - SLOPE * math.log10(1.1))
    made = scatter(power_law, given, target, sensitivity_samples=None)
    assert made.failure is made.counted
    assert made.failure.value == pytest.approx(0.25, abs=2 / 512)
    assert made.p50_life_h == pytest.approx(1e5, rel=2e-3)
    assert made.p10_life_h == pytest.approx(1e5 * 1.16**-SLOPE, rel=5e-3)


def test_lives_without_end():
    """Half of the drums stay below the endurance limit: P90 is infinite, P10 is not, and the notes say so."""

    def life(samples):
        return np.where(samples["load_factor"] < 1, np.inf, power_law(samples))

    made = scatter(life, only(load_share=0.2, life_scatter=0.2), 1e4)
    assert math.isfinite(made.p10_life_h)
    assert made.p90_life_h == math.inf
    assert made.lognormal is None
    assert "50 % of the samples never fail" in " ".join(made.notes)
    assert made.sensitivity.most == "loads"
    assert made.sensitivity.notes
    assert all(math.isfinite(f.value) or "life" in f.what for f in made.figures)
    assert made.failure.value < 0.5
    endless = scatter(lambda s: np.full(len(s["load_factor"]), np.inf), only(load_share=0.2), 1e4)
    assert endless.p10_life_h == endless.p50_life_h == math.inf
    assert endless.probability_of_failure == 0
    assert endless.failure.standard_error > 0  # not seen is not never
    assert endless.sensitivity.most == ""


def test_percentiles_between_ranks():
    base = np.log10(np.arange(1.0, 101.0))
    # ranks stand at their middles: 0.5, 1.5, ...
    assert percentiles(base, 0.0, np.array([0.095])) == pytest.approx(np.log10(10), rel=1e-12)
    assert percentiles(base, 0.0, np.array([0.10])) == pytest.approx(np.log10([10, 11]).mean(), rel=1e-12)
    assert percentiles(base, 0.0, np.array([1e-6, 1 - 1e-6])) == pytest.approx([base[0], base[-1]])
    some = np.where(np.arange(100) < 60, base, np.inf)
    assert np.isfinite(percentiles(some, 0.0, np.array([0.5, 0.59]))).all()
    assert percentiles(some, 0.0, np.array([0.61, 0.9])) == pytest.approx([np.inf, np.inf])
    assert np.isfinite(percentiles(some, 0.2, np.array([0.5]))).all()
    assert percentiles(some, 0.2, np.array([0.61])) == np.inf
    # one median life, scattered: a normal distribution's own quantiles
    assert percentiles(np.full(8, 3.0), 0.2, np.array([0.1, 0.5])) == pytest.approx([3 + 0.2 * ndtri(0.1), 3], abs=1e-9)


def test_more_scatter_earlier_failures():
    lives = [
        scatter(power_law, only(load_share=s, life_scatter=0.2), 1e4, sensitivity_samples=None).p10_life_h
        for s in (0.05, 0.15, 0.3)
    ]
    assert lives[0] > lives[1] > lives[2]


# ---------------------------------------------------------------- sensitivity


def test_shares_of_a_linear_model():
    """log life is a sum, so first-order and total shares are the shares of the variance, and sum to 1."""
    given = only(load_share=0.2, strength_share=0.06, life_scatter=0.2)
    made = scatter(power_law, given, 1e4, sensitivity_samples=2048).sensitivity
    parts = np.array([SLOPE / math.log(10) * 0.2, SLOPE / math.log(10) * 0.06, 0.2]) ** 2
    assert made.indices.names == ("loads", "strength", "life at a given stress")
    assert made.indices.first == pytest.approx(parts / parts.sum(), abs=0.02)
    assert made.indices.total == pytest.approx(parts / parts.sum(), abs=0.02)
    assert made.indices.sums == pytest.approx((1, 1), abs=0.02)
    assert made.indices.variance == pytest.approx(parts.sum(), rel=0.02)
    assert made.most == "loads"
    # the tornado of the same model, exactly: P10 to P90 of each, 2 x 1.2816 standard deviations
    assert [s.name for s in made.tornado] == ["loads", "life at a given stress", "strength"]
    assert [s.width for s in made.tornado] == pytest.approx(2 * ndtri(0.9) * np.sqrt(parts[[0, 2, 1]]), rel=1e-9)
    assert made.middle == pytest.approx(5)
    assert made.tornado[0].at_p90 < made.tornado[0].at_p10  # more load, less life
    assert made.tornado[2].at_p90 > made.tornado[2].at_p10


def test_inputs_that_only_act_together():
    """y = (u1 - 1/2)(u2 - 1/2): first-order shares are nothing, totals everything. Closed form."""
    made = sobol_indices(lambda u: (u[:, 0] - 0.5) * (u[:, 1] - 0.5), names=["a", "b"], samples=4096)
    assert made.first == pytest.approx([0, 0], abs=0.03)
    assert made.total == pytest.approx([1, 1], abs=0.03)
    assert made.variance == pytest.approx(1 / 144, rel=0.02)


@pytest.mark.parametrize("a", [(0.0, 1.0, 4.5), (0.0, 9.0, 99.0)])
def test_product_function(a):
    """prod (|4u - 2| + a) / (1 + a): V_i = 1 / (3 (1 + a)^2), all shares in closed form."""
    a = np.array(a)
    part = 1 / (3 * (1 + a) ** 2)
    whole = np.prod(1 + part) - 1
    made = sobol_indices(
        lambda u: np.prod((np.abs(4 * u - 2) + a) / (1 + a), axis=1), names=["a", "b", "c"], samples=8192
    )
    assert made.first == pytest.approx(part / whole, abs=0.02)
    assert made.total == pytest.approx(part * np.prod(1 + part) / (1 + part) / whole, abs=0.02)
    assert made.order[0] == 0
    assert made.sums_agree


def test_sensitivity_does_not_depend_on_scale_or_offset():
    first = sobol_indices(lambda u: u[:, 0] + 2 * u[:, 1] ** 2, names=["a", "b"])
    second = sobol_indices(lambda u: 1e6 - 1e3 * (u[:, 0] + 2 * u[:, 1] ** 2), names=["a", "b"])
    assert second.first == pytest.approx(first.first, abs=1e-9)
    assert second.total == pytest.approx(first.total, abs=1e-9)


def test_a_constant_function_has_no_shares():
    made = sobol_indices(lambda u: np.full(len(u), 3.0), names=["a", "b"])
    assert made.variance == 0
    assert np.all(made.total == 0)
    assert made.sums_agree


def test_tornado_of_one_input():
    swings, middle = tornado(lambda u: 10 * u[:, 0] + u[:, 1], names=["a", "b"])
    assert middle == pytest.approx(5.5)
    assert [(s.name, s.at_p10, s.at_p90) for s in swings] == [
        ("a", pytest.approx(1.5), pytest.approx(9.5)), ("b", pytest.approx(5.1), pytest.approx(5.9)),
    ]  # fmt: skip


# ---------------------------------------------------------------- refusals, words


def test_faults():
    with refused("samples"):
        ScatterInput(samples=1000)
    with refused("samples"):
        ScatterInput(samples=64)
    with refused("load_share"):
        ScatterInput(load_distribution="normal", load_share=0.4)
    with refused("scatter"):
        ScatterInput(**NOTHING)
    with refused("life_scatter"):
        ScatterInput(life_scatter=-0.1)
    with pytest.raises(InputFault, match=r"wall_distribution.*one of 'uniform', 'normal'"):
        ScatterInput(wall_distribution="lognormal")
    with pytest.raises(InputFault) as all_at_once:
        ScatterInput(seed=-1, corner_radius_mm=-1, roughness_share=2)
    assert [f.field for f in all_at_once.value.faults] == ["seed", "corner_radius_mm", "roughness_share"]
    with refused("target_h"):
        scatter(power_law, ScatterInput(), 0.0)
    with refused("count"):
        unit_points(100, 2, 1)
    with refused("life_of"):
        scatter(lambda s: np.where(s["load_factor"] > 1.5, np.nan, 5.0), ScatterInput(), 1e4)
    with pytest.raises(InputFault, match=r"life_of.*4096 lives"):
        scatter(lambda s: np.zeros(3), ScatterInput(), 1e4)
    with refused("function"):
        sobol_indices(lambda u: np.where(u[:, 0] > 0.9, np.inf, 0.0), names=["a"])
    with pytest.raises(InputFault, match=r"samples.*power of two"):
        sobol_indices(lambda u: u[:, 0], names=["a"], samples=100)


def test_few_samples_are_said_to_be_few():
    few = ScatterInput(samples=256)
    assert any("samples are few" in note for note in scatter(power_law, few, 1e4, sensitivity_samples=None).notes)
    assert not any(
        "are few" in note for note in scatter(power_law, ScatterInput(), 1e4, sensitivity_samples=None).notes
    )


def test_figures_say_where_they_come_from():
    made = scatter(power_law, ScatterInput(), 1e4)
    figures = {f.what: f for f in made.figures}
    assert figures["P10 life, 10 % failed"].value == made.p10_life_h
    assert "seed 1" in str(figures["P10 life, 10 % failed"].provenance)
    assert figures["probability of failure at the target"].value == made.probability_of_failure
    assert all(f.unit and f.formula and str(f.provenance) for f in made.figures)
