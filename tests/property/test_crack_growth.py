"""Growth and the check of a crack: steps, closed forms, order, monotony, what governs, what is refused."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.model.crack_input import CrackInput
from femdrum.strength.crack_check import crack_check
from femdrum.strength.crack_growth import closed_form_cycles, first_crossing_mm, grow, tabulated
from femdrum.strength.crack_rows import CrackRow
from femdrum.strength.growth_law import LAWS, growth_law, to_N_mm15
from femdrum.strength.stress_intensity import edge_crack_K
from femdrum.strength.weight_function import StressPath

FREE = growth_law("simplified", 0.0)
TURNS = 6e7  # of 1000 rpm in 1000 h
CRACK = CrackInput(toughness_MPa_sqrt_m=60.0, lowest_temperature_C=-20.0)
X = np.concatenate([[0.0], np.geomspace(0.2, 60.0, 60)])
# two unit cases that fall from the edge of a slot
PATH = StressPath(X, np.stack([1 + 2.5 * np.exp(-X / 8), 0.3 + 1.5 * np.exp(-X / 5)]))


def edge(stress):
    return lambda a: edge_crack_K(stress, a)[None]


def row(name, count, turns, upper, lower=(0.0, 0.0)):
    return CrackRow.between(name, count, turns, upper, lower)


JAM = row("jam", 50.0, False, (120.0, 30.0))
START = row("start", 300.0, False, (40.0, 0.0))
TURN = row("turn", TURNS, True, (2.0, 0.0), (-2.0, 0.0))


@pytest.mark.parametrize("name", LAWS)
def test_twice_the_steps_change_life_by_less_than_a_thousandth(name):
    """From 4 panels on, with thresholds and bends of the law inside the course."""
    law = LAWS[name]
    rng = np.random.default_rng(11)
    for _ in range(12):
        stress = rng.uniform(20, 300, 3)
        counts = 10 ** rng.uniform(1, 8, 3)
        k = lambda a, s=stress: edge_crack_K(s[:, None] * np.exp(-0.01 * a), a)  # noqa: E731
        start, end = rng.uniform(0.2, 1.0), rng.uniform(5, 50)
        lives = [grow(k, law, start, end, counts, steps=n).life_h for n in (4, 8, 16, 32, 64)]
        if math.isinf(lives[0]):
            assert all(math.isinf(v) for v in lives)
            continue
        for few, many in itertools.pairwise(lives):
            assert many == pytest.approx(few, rel=1e-3)
        assert lives[-1] == pytest.approx(lives[-2], rel=1e-8)
        told = grow(k, law, start, end, counts, steps=8)
        assert told.step_error == pytest.approx(abs(lives[1] - lives[0]) / lives[1], rel=1e-6, abs=1e-12)


def test_closed_form():
    """Constant factor and range, exponents 2 to 5. Closed form."""
    for exponent in (2.0, 2.88, 3.0, 5.1):
        law = replace(FREE, low_ratio=(replace(FREE.low_ratio[0], exponent=exponent),), high_ratio=FREE.high_ratio)
        given = {"coefficient": 5.21e-13, "exponent": exponent, "stress_range": 80.0, "factor": 1.12}
        exact = closed_form_cycles(**given, start=0.5, end=30.0)
        k = lambda a: edge_crack_K(80.0, a, factor=1.12)[None]  # noqa: E731
        assert grow(k, law, 0.5, 30.0, [123.0]).life_cycles == pytest.approx(exact, rel=1e-9)


def test_cycle_by_cycle():
    """The integral against adding da cycle by cycle, in blocks of many."""
    rate = FREE.rate
    a, n, block = 1.0, 0.0, 20.0
    while a < 8.0:
        step = float(rate(edge_crack_K(250.0, a)))
        middle = float(rate(edge_crack_K(250.0, a + 0.5 * block * step)))
        a, n = a + block * middle, n + block
    grown = grow(edge(250.0), FREE, 1.0, 8.0, [1.0])
    assert grown.life_cycles == pytest.approx(n, rel=2e-3)


def test_loads_add_their_rates():
    """Two equal loads halve the life; a load split in two rows changes nothing; the shares say who does what."""
    one = grow(edge(100.0), FREE, 1.0, 20.0, [50.0])
    two = grow(lambda a: np.concatenate([edge(100.0)(a)] * 2), FREE, 1.0, 20.0, [50.0, 50.0])
    split = grow(lambda a: np.concatenate([edge(100.0)(a)] * 2), FREE, 1.0, 20.0, [20.0, 30.0])
    assert two.life_h == pytest.approx(0.5 * one.life_h, rel=1e-12)
    assert split.life_h == pytest.approx(one.life_h, rel=1e-12)
    assert split.share == pytest.approx([0.4, 0.6], rel=1e-12)
    assert one.life_cycles == pytest.approx(one.life_h * 50 / 1000, rel=1e-12)
    mixed = grow(lambda a: edge_crack_K(np.array([[50.0], [100.0]]), a), FREE, 1.0, 20.0, [800.0, 100.0])
    assert mixed.share == pytest.approx([0.5, 0.5], rel=1e-9)


def test_course():
    grown = grow(edge(100.0), FREE, 1.0, 20.0, [50.0])
    assert grown.depth_mm[0] == 1.0
    assert grown.depth_mm[-1] == 20.0
    assert np.all(np.diff(grown.depth_mm) > 0)
    assert np.all(np.diff(grown.hours) > 0)
    assert grown.hours[-1] == pytest.approx(grown.life_h)
    assert grown.hours_at(0.5) == 0.0
    assert grown.hours_at(25.0) == math.inf
    to_5 = grow(edge(100.0), FREE, 1.0, 5.0, [50.0]).life_h
    assert grown.hours_at(5.0) == pytest.approx(to_5, rel=2e-3)


def test_a_higher_load_shortens_life():
    """Monotony: load, count, flaw at the start, end; random cases."""
    rng = np.random.default_rng(5)
    for _ in range(30):
        stress, count = rng.uniform(60, 250), 10 ** rng.uniform(1, 6)
        a0, a1 = rng.uniform(0.5, 2.0), rng.uniform(5.0, 30.0)
        law = LAWS[rng.choice(list(LAWS))]
        life = grow(edge(stress), law, a0, a1, [count]).life_h
        assert grow(edge(1.05 * stress), law, a0, a1, [count]).life_h < life
        assert grow(edge(stress), law, a0, a1, [1.1 * count]).life_h == pytest.approx(life / 1.1, rel=1e-9)
        assert grow(edge(stress), law, 1.1 * a0, a1, [count]).life_h < life
        assert grow(edge(stress), law, a0, 1.1 * a1, [count]).life_h > life
        k = edge(stress)
        assert grow(k, law, a0, a1, [count], ratio=lambda a: np.full((1, len(a)), 0.6)).life_h <= life


def test_a_field_that_falls_stops_the_crack():
    """A peak that is gone below the surface: the crack grows, then stops; the course ends there."""
    k = lambda a: edge_crack_K(120 * np.exp(-a / 2), a)[None]  # noqa: E731
    grown = grow(k, growth_law("simplified"), 0.5, 30.0, [1e4])
    assert not grown.grows
    assert grown.life_h == math.inf
    assert grown.stopped_mm == pytest.approx(float(grown.depth_mm[-1]), rel=1e-12)
    assert float(k(np.array([grown.stopped_mm]))[0, 0]) == pytest.approx(63.0, rel=1e-9)
    assert math.isfinite(grown.hours_at(grown.stopped_mm))
    assert grow(k, FREE, 0.5, 30.0, [1e4]).grows
    assert grown.figures[-1].value == grown.stopped_mm


def test_below_threshold_from_the_start():
    grown = grow(edge(10.0), growth_law("simplified"), 0.3, 5.0, [TURNS])
    assert grown.governing_end == "not growing"
    assert grown.stopped_mm == 0.3
    assert grown.hours.tolist() == [0.0]


def test_what_ends_it():
    k = edge(200.0)
    tough = {"k_upper": k, "toughness_N_mm15": float(to_N_mm15(50.0))}
    broken = (float(to_N_mm15(50.0)) / (1.1215222552 * 200)) ** 2 / math.pi
    assert grow(k, FREE, 0.5, 40.0, [1.0], **tough).end_mm == pytest.approx(broken, rel=1e-9)
    assert grow(k, FREE, 0.5, 5.0, [1.0], **tough).governing_end == "final depth"
    assert grow(k, FREE, 0.5, 40.0, [1.0], **tough, ends={"net section": 7.0}).governing_end == "net section"
    at_once = grow(k, FREE, 30.0, 40.0, [1.0], **tough)
    assert at_once.governing_end == "toughness"
    assert at_once.life_h == 0.0


def test_tables_for_functions():
    depth = np.geomspace(0.4, 30, 200)
    table = edge_crack_K(np.array([[100.0], [150.0]]), depth)
    whole = grow(lambda a: edge_crack_K(np.array([[100.0], [150.0]]), a), FREE, 0.5, 25.0, [10.0, 5.0])
    assert grow((depth, table), FREE, 0.5, 25.0, [10.0, 5.0]).life_h == pytest.approx(whole.life_h, rel=1e-5)
    with pytest.raises(InputFault, match="longer table"):
        grow((depth, table), FREE, 0.5, 35.0, [10.0, 5.0])
    with pytest.raises(InputFault, match="increasing"):
        tabulated([2.0, 1.0], [1.0, 2.0])
    with pytest.raises(InputFault, match="each of the 200"):
        tabulated(depth, table[:, :50])


def test_first_crossing():
    assert first_crossing_mm(edge(100.0), 0.1, 50.0, 63.0) == pytest.approx(
        (63 / 112.15222552) ** 2 / math.pi, rel=1e-9
    )
    assert first_crossing_mm(edge(100.0), 5.0, 50.0, 63.0) == 5.0
    assert first_crossing_mm(edge(1.0), 0.1, 50.0, 63.0) is None


def test_growth_refuses():
    with pytest.raises(InputFault) as caught:
        grow(edge(100.0), FREE, -1.0, 0.0, [0.0], steps=0, toughness_N_mm15=1.0)
    assert {f.field for f in caught.value.faults} == {
        "counts_per_1000_h", "start_mm", "end_mm", "steps", "toughness_N_mm15",
    }  # fmt: skip


# the check


def test_check_of_a_path():
    told = crack_check(PATH, [JAM, TURN, START], CRACK)
    # the jam's K reaches the toughness at the critical depth
    k = PATH.combine([[120.0, 30.0]]).K_per_case(told.critical_mm)
    assert float(k[0]) == pytest.approx(float(to_N_mm15(60.0)), rel=1e-6)
    assert told.governing_end == told.life.governing_end == "toughness"
    assert told.life.share[1] == 0.0
    assert told.inspection.time_h == pytest.approx(told.inspection.combined_h)
    assert told.inspection.interval_h == pytest.approx(told.inspection.time_h / 3)
    assert told.from_detectable is not None
    assert told.from_detectable.life_h < told.life.life_h
    line = told.threshold[0]
    assert (line.name, line.grows_at_start, line.hours_to_end) == ("turn", False, None)
    assert "whole path" in line.verdict
    assert told.k_range.shape == told.k_upper.shape == (3, len(told.depth_mm))
    kinds = {f.provenance.kind.value for f in told.figures}
    assert {"computed", "common practice, no source"} <= kinds
    assert any("-20" in n for n in told.notes)
    half = crack_check(PATH, [JAM, TURN, START], CRACK, steps=64)
    assert half.life.life_h == pytest.approx(told.life.life_h, rel=1e-3)
    assert told.life.step_error < 1e-3


def test_both_questions_are_kept_apart():
    """K06 and K07's insight: what grows a crack at each turn ends it in hours; the interval says so."""
    for share, grows, interval in ((2.0, False, True), (7.0, False, True), (12.0, False, False), (30.0, True, False)):
        turn = row("turn", TURNS, True, (share, 0.0), (-share, 0.0))
        told = crack_check(PATH, [JAM, turn], CRACK)
        line = told.threshold[0]
        assert line.grows_at_start == grows
        assert (told.inspection.interval_h is not None) == interval
        if line.reached_mm is not None:
            dk = 1.0 * PATH.combine([[share, 0.0]]).K_per_case(line.reached_mm)[0]
            assert float(dk) == pytest.approx(63.0, rel=1e-6)
        if not interval:
            assert "no interval of inspection can save it" in told.inspection.verdict
            assert told.inspection.combined_h < 0.1 * told.inspection.time_h
        if grows:
            assert "no inspection can save it" in line.verdict
            assert line.hours_to_end < 100
    # in between, the turn takes over on the way, and the interval is of both
    told = crack_check(PATH, [JAM, row("turn", TURNS, True, (7.0, 0.0), (-7.0, 0.0))], CRACK)
    assert 2.0 < told.inspection.takeover_mm < told.critical_mm
    assert told.inspection.interval_h == pytest.approx(told.inspection.combined_h / 3)
    assert "take over" in told.inspection.verdict


def test_more_load_is_never_safer():
    rng = np.random.default_rng(8)
    for _ in range(10):
        jam = rng.uniform(60, 150, 2)
        count = 10 ** rng.uniform(0.5, 2)
        first = crack_check(PATH, [row("jam", count, False, jam), START], CRACK)
        second = crack_check(PATH, [row("jam", count, False, 1.1 * jam), START], CRACK)
        assert second.critical_mm <= first.critical_mm
        assert second.life.life_h < first.life.life_h
        assert (second.inspection.interval_h or 0.0) < first.inspection.interval_h  # none: critical before it is found


def test_closure_and_welding():
    """What presses the crack shut is not counted, unless welding holds it open."""
    shut = row("reversal", 50.0, False, (100.0, 0.0), (-100.0, 0.0))
    pulled = row("pull", 50.0, False, (100.0, 0.0))
    assert crack_check(PATH, [shut], CRACK).life.life_h == pytest.approx(
        crack_check(PATH, [pulled], CRACK).life.life_h, rel=1e-12
    )
    welded = crack_check(PATH, [shut], replace(CRACK, as_welded=True))
    assert welded.life.life_h == pytest.approx(crack_check(PATH, [pulled], CRACK).life.life_h / 8, rel=1e-6)
    assert any("residual_MPa = 0" in w for w in welded.warnings)
    held = crack_check(PATH, [shut], replace(CRACK, as_welded=True, residual_MPa=100.0))
    assert held.critical_mm < welded.critical_mm
    assert not any("residual_MPa" in w for w in held.warnings)
    # only pressed: nothing grows
    pressed = crack_check(PATH, [row("press", 50.0, False, (-100.0, 0.0))], CRACK)
    assert not pressed.life.grows
    assert pressed.inspection.interval_h is None
    two = replace(CRACK, growth="two-stage mean")
    slow = crack_check(PATH, [pulled], two).life.life_h
    assert crack_check(PATH, [pulled], replace(two, as_welded=True)).life.life_h < slow


def test_what_turns_with_the_drum():
    """Steady, cosine and sine part: highest and lowest K over a turn, against 720 angles."""
    rng = np.random.default_rng(2)
    states = rng.normal(size=(1, 3, 2)) * 40
    turning = CrackRow("turning", TURNS, True, states)
    a = np.array([0.5, 4.0, 20.0])
    k = PATH.fronts(a)
    high, low = turning.bounds(k)
    angle = np.linspace(0, 2 * math.pi, 721)
    factors = states[0, 0] + np.cos(angle)[:, None] * states[0, 1] + np.sin(angle)[:, None] * states[0, 2]
    swept = factors @ k[0]
    assert high[0] == pytest.approx(swept.max(0), rel=1e-4)
    assert low[0] == pytest.approx(swept.min(0), rel=1e-3)
    # a state that turns and rest: rest is in the bounds
    with_rest = CrackRow("start", 300.0, False, np.concatenate([states, np.zeros_like(states)]))
    high_2, low_2 = with_rest.bounds(k)
    assert np.all(high_2 == np.maximum(high, 0))
    assert np.all(low_2 == np.minimum(low, 0))


def test_small_flaws_of_every_shape():
    """A corner or surface crack lives longer than a crack through the whole wall."""
    lives = {}
    for shape in ("edge through", "corner", "surface"):
        path = replace(PATH, shape=shape, aspect=0.6, wall_mm=40.0)
        lives[shape] = crack_check(path, [JAM], replace(CRACK, shape=shape, aspect=0.6)).life.life_h
    assert lives["corner"] > lives["edge through"]
    assert lives["surface"] > lives["edge through"]
    with pytest.raises(InputFault, match="must be the crack's"):
        crack_check(PATH, [JAM], replace(CRACK, shape="corner"))


def test_ends_and_warnings():
    net = crack_check(PATH, [JAM], CRACK, net_section_depth_mm=6.0)
    assert (net.governing_end, net.critical_mm) == ("net section", 6.0)
    agreed = crack_check(PATH, [JAM], replace(CRACK, final_depth_mm=5.0))
    assert (agreed.governing_end, agreed.critical_mm) == ("final depth", 5.0)
    tough = crack_check(PATH, [row("hit", 1e4, False, (20.0, 0.0))], replace(CRACK, toughness_MPa_sqrt_m=200.0))
    assert tough.governing_end == "end of the path"
    assert any("not critical within the path" in w for w in tough.warnings)
    brittle = crack_check(PATH, [row("jam", 50.0, False, (900.0, 0.0))], replace(CRACK, toughness_MPa_sqrt_m=25.0))
    assert brittle.life.life_h == 0.0
    assert any("critical at once" in w for w in brittle.warnings)
    assert "before it is found" in brittle.inspection.verdict
    far = crack_check(PATH, [JAM], replace(CRACK, final_depth_mm=100.0))
    assert any("beyond the path" in w for w in far.warnings)
    rough = StressPath(X[::12], PATH.stress_MPa[:, ::12])
    assert any("coarsely" in w or "second sample" in w for w in crack_check(rough, [JAM], CRACK).warnings)
    only_turns = crack_check(PATH, [TURN], CRACK)
    assert only_turns.from_detectable is None
    assert not only_turns.life.grows


def test_check_refuses():
    with pytest.raises(InputFault, match="without a spectrum"):
        crack_check(PATH, [], CRACK)
    with pytest.raises(InputFault, match="path's 2 cases"):
        crack_check(PATH, [CrackRow.between("jam", 5.0, False, [1.0], [0.0])], CRACK)
    with pytest.raises(InputFault, match="longer path"):
        crack_check(PATH, [JAM], replace(CRACK, initial_depth_mm=70.0))
    with pytest.raises(InputFault) as caught:
        CrackRow("", -1.0, "yes", np.ones(3))
    assert {f.field for f in caught.value.faults} == {"name", "count_per_1000_h", "per_revolution", "states"}
