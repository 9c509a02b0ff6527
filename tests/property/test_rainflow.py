"""Rainflow counting and worst order: against the standard's rule step by step, in blocks, on grids, under changes of sign."""

import time
from collections import Counter
from itertools import pairwise, permutations

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.strength import rainflow_stream
from femdrum.strength.four_point import close, outward
from femdrum.strength.rainflow import RainflowCounter, rainflow
from femdrum.strength.turning_points import TurningPoints, turning_points
from femdrum.strength.worst_order import worst_order


def table(cycles):
    """Counts by turning points."""
    found = Counter()
    for upper, lower, count in zip(cycles.upper.tolist(), cycles.lower.tolist(), cycles.count.tolist(), strict=True):
        found[upper, lower] += count
    return found


def three_points(history):
    """The standard's rule of three points, step by step: another way than the program's."""
    points = []
    for value in history:
        if points and value == points[-1]:
            continue
        if len(points) > 1 and (points[-1] - points[-2]) * (value - points[-1]) > 0:
            points[-1] = value
        else:
            points.append(value)
    found, held = Counter(), []

    def note(a, b, count):
        found[max(a, b), min(a, b)] += count

    for point in points:
        held.append(point)
        while len(held) >= 3:
            x, y = abs(held[-1] - held[-2]), abs(held[-2] - held[-3])
            if x < y:
                break
            if len(held) == 3:  # y contains the starting point
                note(held[0], held[1], 0.5)
                held.pop(0)
            else:
                note(held[-3], held[-2], 1.0)
                del held[-3:-1]
    for a, b in pairwise(held):
        note(a, b, 0.5)
    return found


def random_history(rng, trial):
    n = int(rng.integers(2, 60))
    if trial % 3 == 0:
        return rng.integers(-4, 5, n).astype(float)  # many equal points
    if trial % 3 == 1:
        return np.cumsum(rng.integers(-2, 3, n)).astype(float)
    return rng.standard_normal(n)


@pytest.mark.parametrize("seed", range(4))
def test_equals_the_standards_rule(seed):
    rng = np.random.default_rng(seed)
    for trial in range(600):
        history = random_history(rng, trial)
        assert table(rainflow(history)) == three_points(history.tolist())


@pytest.mark.parametrize("seed", range(3))
def test_passes_and_stack_close_the_same(seed, monkeypatch):
    """All passes, or all point by point: the same cycles and the same rest, equal points included."""
    rng = np.random.default_rng(100 + seed)
    for trial in range(400):
        points = turning_points(random_history(rng, trial))
        if len(points) < 2:
            continue
        peak_first = bool(points[0] > points[1])
        y = outward(points, peak_first)
        found = []
        for at_all in (-1.0, 1e9):
            monkeypatch.setattr("femdrum.strength.four_point.PASS_PER_POINT", 0.0)
            monkeypatch.setattr("femdrum.strength.four_point.PASS_AT_ALL", at_all)
            result = close(y, peak_first)
            found.append(
                (Counter(zip(result.upper.tolist(), result.lower.tolist(), strict=True)), result.rest.tolist())
            )
        assert found[0] == found[1]
        assert (np.array(found[0][1])[[0, -1]] == y[[0, -1]]).all()


@pytest.mark.parametrize("residue", ["half", "repeated"])
def test_blocks_do_not_matter(residue, monkeypatch):
    monkeypatch.setattr(rainflow_stream, "GATHER", 1)
    monkeypatch.setattr(rainflow_stream, "BLOCK", 5)
    monkeypatch.setattr("femdrum.strength.rainflow.BLOCK", 7)
    rng = np.random.default_rng(7)
    for trial in range(300):
        history = random_history(rng, trial)
        counter, k = RainflowCounter(), 0
        while k < len(history):
            size = int(rng.integers(0, 9))
            counter.feed(history[k : k + size])
            k += size
            if trial % 4 == 0 and counter.samples > 1:
                counter.cycles(residue)  # asking in between changes nothing
        whole = rainflow(history, residue)
        assert table(counter.cycles(residue)) == table(whole)
        assert counter.samples == len(history)
        assert (counter.least, counter.most) == (history.min(), history.max())


def test_sign_scale_and_shift():
    rng = np.random.default_rng(3)
    for residue in ("half", "repeated"):
        x = np.round(8 * rng.standard_normal(500))
        there = table(rainflow(x, residue))
        assert table(rainflow(4 * x + 16, residue)) == {(4 * u + 16, 4 * v + 16): n for (u, v), n in there.items()}
        mirrored = table(rainflow(-x, residue))
        if residue == "half":
            assert mirrored == {(-v, -u): n for (u, v), n in there.items()}
        # plateaus and points between turning points change nothing
        assert table(rainflow(np.repeat(x, 3), residue)) == there
        between = np.stack([x[:-1], 0.5 * (x[:-1] + x[1:])], axis=1).ravel()
        assert table(rainflow([*between, x[-1]], residue)) == there


def test_every_turning_point_is_counted_once():
    """Half of it in each cycle: the number of ranges is kept, and so is the sum of turning points in closed cycles."""
    rng = np.random.default_rng(9)
    for _ in range(50):
        x = rng.standard_normal(400)
        assert rainflow(x).count.sum() == pytest.approx(0.5 * (len(turning_points(x)) - 1), abs=1e-12)


def test_repeated_closes_everything_and_starts_nowhere():
    """A repeated history gives the same cycles wherever it is cut, all whole, the largest from top to bottom."""
    rng = np.random.default_rng(5)
    for trial in range(60):
        x = random_history(rng, trial)
        if np.ptp(x) == 0:
            continue
        cycles = rainflow(x, "repeated")
        assert (cycles.count == 1).all()
        assert cycles.range.max() == np.ptp(x)
        for cut in rng.integers(0, len(x), 3):
            assert table(rainflow(np.roll(x, cut), "repeated")) == table(cycles)
        # once more round adds one whole set of cycles
        twice = table(rainflow(np.concatenate([x, x]), "repeated"))
        assert twice == {key: 2 * count for key, count in table(cycles).items()}


def test_plain_cases():
    assert len(rainflow([5.0, 5.0, 5.0]).count) == 0
    assert table(rainflow([0, 1])) == {(1, 0): 0.5}
    assert table(rainflow([0, 1], "repeated")) == {(1, 0): 1}
    assert table(rainflow(np.arange(1000))) == {(999, 0): 0.5}
    saw = np.tile([0.0, 1.0], 500)
    assert table(rainflow(saw)) == {(1, 0): 499.5}
    assert turning_points([1, 1, 2, 2, 3, 1, 1]).tolist() == [1, 3, 1]
    turns = TurningPoints()
    found = [turns.feed(np.array([v], float))[0] for v in (1, 1, 2, 3, 3, 1)]
    assert np.concatenate([*found, turns.rest()]).tolist() == [1, 3, 1]
    assert turns.peak_first is False


def test_grid_rounds_outward_and_loses_nothing():
    """On a grid the count is that of the exact cycles, each rounded outward: not one is lost, no range is smaller."""
    rng = np.random.default_rng(11)
    x = np.cumsum(rng.standard_normal(60_000))
    exact = rainflow(x)
    for settings in ({"exact_cycles": 0, "classes": 64}, {"exact_cycles": 100, "grid": 0.25}, {"exact_cycles": 5000}):
        counter = RainflowCounter(**settings)
        for k in range(0, len(x), 7001):
            counter.feed(x[k : k + 7001])
        cycles, step = counter.cycles(), counter.grid
        assert step is not None
        assert cycles.count.sum() == exact.count.sum()
        assert len(cycles.count) < len(exact.count)
        whole = exact.count == 1
        ups, downs = np.ceil(exact.upper / step - 1e-9), np.floor(exact.lower / step + 1e-9)
        expected = Counter(zip(ups[whole].tolist(), downs[whole].tolist(), strict=True))
        origin = counter._grid.origin
        shift = round(origin / step)
        assert origin == pytest.approx(shift * step, abs=1e-9)
        counted = Counter()
        on_grid = counter._grid.cycles()
        for u, v, n in zip(on_grid.upper, on_grid.lower, on_grid.count, strict=True):
            counted[round(u / step), round(v / step)] += n
        # the last sample may close a cycle that the grid does not hold yet
        assert sum((expected - counted).values()) <= 2
        assert not counted - expected


def test_a_grid_of_the_recorders_step_changes_nothing():
    rng = np.random.default_rng(12)
    x = 0.1 * rng.integers(-400, 400, 20_000)
    counter = RainflowCounter(grid=0.1, exact_cycles=0)
    counter.feed(x)
    on_grid, exact = Counter(), Counter()
    for found, cycles in ((on_grid, counter.cycles()), (exact, rainflow(x))):
        for u, v, n in zip(cycles.upper, cycles.lower, cycles.count, strict=True):
            found[round(10 * u), round(10 * v)] += n
    assert counter.grid == 0.1
    assert on_grid == exact


def test_grid_grows_with_the_range():
    """The step doubles; the result is that of the last step from the beginning, on the same lines."""
    rng = np.random.default_rng(13)
    x = np.concatenate([s * rng.standard_normal(4000) for s in (1, 10, 100)])
    slow = RainflowCounter(exact_cycles=0, classes=128)
    for k in range(0, len(x), 500):
        slow.feed(x[k : k + 500])
        _ = slow.grid
    step, origin = slow.grid, slow._grid.origin
    exact, expected, found = rainflow(x), Counter(), Counter()
    whole = exact.count == 1
    for u, v in zip(exact.upper[whole], exact.lower[whole], strict=True):
        expected[np.ceil((u - origin) / step - 1e-9), np.floor((v - origin) / step + 1e-9)] += 1
    cycles = slow._grid.cycles()
    for u, v, n in zip(cycles.upper, cycles.lower, cycles.count, strict=True):
        found[round((u - origin) / step), round((v - origin) / step)] += n
    assert not found - expected
    assert sum((expected - found).values()) <= 2  # those that the last sample closes
    assert np.ptp(x) <= 128 * slow.grid <= 4 * np.ptp(x)


@pytest.mark.parametrize("grow", [True, False])
def test_a_residue_that_grows_without_end_stays_bounded(grow):
    n = 300_000
    amplitude = np.linspace(1, 2, n) if grow else np.linspace(2, 1, n)
    x = amplitude * np.where(np.arange(n) % 2, 1.0, -1.0)
    counter = RainflowCounter(classes=512)
    for k in range(0, n, 10_000):
        counter.feed(x[k : k + 10_000])
    cycles = counter.cycles()
    assert len(counter._rest) < 3 * 512
    assert cycles.count.sum() == 0.5 * (n - 1)
    # no range is smaller, and none grew by more than two steps
    exact = rainflow(x)
    bounds = np.sort(exact.range)
    counted = np.sort(np.repeat(cycles.range, np.round(2 * cycles.count).astype(int)))
    assert (counted >= np.repeat(bounds, np.round(2 * exact.count).astype(int)) - 1e-9).all()
    assert cycles.range.max() <= exact.range.max() + 2 * counter.grid + 1e-9


K = np.arange(1_000_000)
ALTERNATE = np.where(K % 2, 1.0, -1.0)
HARD = {
    "growing": ALTERNATE * (1 + K / K.size),
    "shrinking": ALTERNATE * (2 - K / K.size),
    "sawtooth": ALTERNATE,
    "plateaus": np.repeat(ALTERNATE[:1000] * (1 + K[:1000] % 7), 1000),
    "ramp": K / K.size,
    "inward then outward": ALTERNATE * (0.01 + np.abs(K / K.size - 0.5)),
    "outward then inward": ALTERNATE * (0.6 - np.abs(K / K.size - 0.5)),
    "beats": ALTERNATE * (0.1 + np.abs(np.sin(np.pi * K / 999.5))),
    "few levels": np.round(3 * np.sin(K * K % 1000.0)),
}


@pytest.mark.parametrize("name", HARD)
def test_hard_signals_are_not_slow(name):
    """A million samples take 0.01 to 0.5 s; a rule that goes over the whole again and again would take minutes."""
    start = time.process_time()
    cycles = rainflow(HARD[name])
    assert time.process_time() - start < 3.0
    assert cycles.count.sum() == pytest.approx(0.5 * (len(turning_points(HARD[name])) - 1))


def test_bad_signals_are_refused_with_a_way_out():
    for signal, word, way in (
        ([1.0], "at least two samples", "static"),
        ([], "at least two samples", "static"),
        ([1.0, np.nan, 2.0], "must be a finite number", "pieces without gaps"),
        ([1.0, np.inf], "must be a finite number", "pieces without gaps"),
        ([[1.0, 2.0]], "one row of samples", "each channel"),
        (["a", "b"], "list of numbers", "without quotes"),
    ):
        with pytest.raises(InputFault) as fault:
            rainflow(signal)
        assert word in str(fault.value)
        assert way in fault.value.faults[0].way_out
    with pytest.raises(InputFault) as fault:
        rainflow([1.0, 2.0], "reapeated")
    assert "did you mean 'repeated'" in str(fault.value)
    counter = RainflowCounter()
    counter.feed([1.0, 2.0, 3.0])
    with pytest.raises(InputFault) as fault:
        counter.feed([4.0, np.nan])
    assert fault.value.faults[0].field == "signal[4]"
    with pytest.raises(InputFault, match="at least two samples"):
        RainflowCounter().cycles()
    with pytest.raises(InputFault) as fault:
        RainflowCounter(grid=-1.0, classes=3, exact_cycles=-1)
    assert [f.field for f in fault.value.faults] == ["grid", "classes", "exact_cycles"]


def pairing_sums(high, low, power):
    """Largest sum of range^power over all pairings of peaks with valleys, each once."""
    return max(sum(max(0.0, p - v) ** power for p, v in zip(high, order, strict=True)) for order in permutations(low))


def test_worst_order_is_the_worst():
    """Against all pairings of peaks with valleys, small random cases with whole counts."""
    rng = np.random.default_rng(21)
    for _ in range(60):
        events = int(rng.integers(1, 4))
        ends = rng.integers(-5, 6, (2, events))
        upper, lower = ends.max(axis=0), ends.min(axis=0)
        count = rng.integers(1, 3, events)
        cycles = worst_order(upper, lower, count)
        assert cycles.count.sum() == count.sum()
        assert len(cycles.count) <= 2 * events - 1
        assert (cycles.range >= 0).all()
        for power in (1, 3, 5):
            worst = pairing_sums(np.repeat(upper, count), np.repeat(lower, count), power)
            assert (cycles.count * cycles.range**power).sum() == pytest.approx(worst, rel=1e-12)


def test_worst_order_of_jam_and_reversal():
    """A jam +R once and a reversal -R once: one cycle from +R to -R, which neither event has by itself."""
    cycles = worst_order([100.0, 0.0], [0.0, -100.0], [3, 1])
    used = cycles.count > 0
    assert table(cycles)[100.0, -100.0] == 1
    assert cycles.range[used].max() == 200
    assert table(cycles)[100.0, 0.0] == 2
    assert cycles.count.sum() == 4


def test_worst_order_does_not_depend_on_the_order_and_is_the_same_at_each_place():
    rng = np.random.default_rng(22)
    upper = rng.standard_normal((6, 5, 3))
    lower = upper - rng.random((6, 5, 3))
    count = 10.0 ** rng.uniform(0, 12, 6)
    cycles = worst_order(upper, lower, count)
    assert cycles.upper.shape == cycles.lower.shape == cycles.count.shape == (11, 5, 3)
    assert cycles.count.sum(axis=0) == pytest.approx(np.full((5, 3), count.sum()), rel=1e-12)
    again = rng.permutation(6)
    other = worst_order(upper[again], lower[again], count[again])
    assert (other.count * other.range**3).sum(axis=0) == pytest.approx((cycles.count * cycles.range**3).sum(axis=0))
    one = worst_order(upper[:, 2, 1], lower[:, 2, 1], count)
    assert one.range == pytest.approx(cycles.range[:, 2, 1])
    # no rainflow count of any order of whole events is worse
    whole = np.array([2, 1, 1, 2, 1, 2])
    worst = worst_order(upper[:, 0, 0], lower[:, 0, 0], whole)
    for _ in range(30):
        order = rng.permutation(np.repeat(np.arange(6), whole))
        history = np.stack([upper[order, 0, 0], lower[order, 0, 0]], axis=1).ravel()
        seen = rainflow(history, "repeated")
        assert (seen.count * seen.range**4).sum() <= (worst.count * worst.range**4).sum() * (1 + 1e-12)


def test_worst_order_is_quick():
    rng = np.random.default_rng(23)
    upper = rng.standard_normal((20, 10_000))
    start = time.process_time()
    worst_order(upper, upper - 1.0, np.ones(20))
    assert time.process_time() - start < 5.0


def test_bad_events_are_refused():
    for upper, lower, count, word in (
        ([1.0], [2.0], [1.0], "at least lower"),
        ([1.0, 2.0], [0.0], [1.0], "the same [event"),
        ([1.0], [0.0], [-1.0], "at least 0"),
        ([np.nan], [0.0], [1.0], "finite"),
        ([], [], [], "the same [event"),
    ):
        with pytest.raises(InputFault) as fault:
            worst_order(upper, lower, count)
        assert word in str(fault.value)
