"""Rainflow counts against independent open fatigue libraries: rainflow and pylife, and fatpack for the closed cycles.

They are installed with the tests only. What they print or warn of is their own affair.
"""

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest

from femdrum.strength.rainflow import RainflowCounter, rainflow
from femdrum.strength.turning_points import turning_points

pytestmark = [pytest.mark.peers, pytest.mark.filterwarnings("ignore")]


def table(cycles):
    """Counts by turning points."""
    found = Counter()
    for upper, lower, count in zip(cycles.upper.tolist(), cycles.lower.tolist(), cycles.count.tolist(), strict=True):
        found[upper, lower] += count
    return found


def closed(cycles):
    found = table(cycles)
    return Counter({key: float(int(count)) for key, count in found.items() if count >= 1})


def histories(n, whole):
    """Random, with a drift, smooth with noise, and with many equal points."""
    rng = np.random.default_rng(n)
    t = np.arange(n)
    shapes = [
        rng.standard_normal(n),
        np.cumsum(rng.standard_normal(n)),
        np.sin(t / 7.0) * np.sin(t / 191.0) + 0.05 * rng.standard_normal(n),
    ]
    rounded = [np.round(4 * x) for x in shapes]
    return rounded if whole else shapes


@pytest.mark.parametrize("n", [5, 10, 100, 20_000])
@pytest.mark.parametrize("whole", [False, True], ids=["real", "whole numbers"])
def test_half_cycles_against_rainflow(n, whole):
    """The library `rainflow` follows the standard's three points; counts by range and mean are the same."""
    peer = pytest.importorskip("rainflow")
    if not hasattr(peer, "extract_cycles"):  # a benchmark here has the library's name
        pytest.skip("the library rainflow is not installed")
    for history in histories(n, whole):
        if len(turning_points(history)) < 3:
            continue  # the library wants three turning points
        theirs = Counter()
        for width, mean, count, _, _ in peer.extract_cycles(turning_points(history).tolist()):
            theirs[round(width, 9), round(mean, 9)] += count
        ours = Counter()
        for (upper, lower), count in table(rainflow(history, "half")).items():
            ours[round(upper - lower, 9), round(0.5 * (upper + lower), 9)] += count
        # rounding to nine digits may part two that are one: then their neighbours differ by as much
        differ = (theirs - ours) + (ours - theirs)
        assert sum(differ.values()) <= 1e-3 * sum(theirs.values())
        by_range = [np.sort(np.repeat([k[0] for k in c], [round(2 * v) for v in c.values()])) for c in (ours, theirs)]
        assert by_range[0] == pytest.approx(by_range[1], abs=1e-8)


@pytest.mark.parametrize("n", [10, 100, 20_000])
def test_closed_cycles_against_pylife(n):
    """Its detector by four points closes the same cycles and leaves the same residue."""
    peer = pytest.importorskip("pylife.stress.rainflow")
    for history in histories(n, whole=False):
        recorder = peer.LoopValueRecorder()
        detector = peer.FourPointDetector(recorder=recorder)
        detector.process(history, flush=True)
        theirs = Counter()
        for a, b in zip(recorder.values_from, recorder.values_to, strict=True):
            theirs[max(a, b), min(a, b)] += 1
        ours = rainflow(history, "half")
        assert closed(ours) == theirs
        # it may name the last sample twice
        residue = Counter((max(p), min(p)) for p in pairwise(np.asarray(detector.residuals).tolist()) if p[0] != p[1])
        half = ours.count == 0.5
        assert residue == Counter(zip(ours.upper[half].tolist(), ours.lower[half].tolist(), strict=True))


@pytest.mark.parametrize("n", [10, 100, 3000])
def test_closed_cycles_and_repeated_residue_against_fatpack(n):
    peer = pytest.importorskip("fatpack")
    for history in histories(n, whole=True):
        points = turning_points(history)
        if len(points) < 4:
            continue
        pairs, residue = peer.find_rainflow_cycles(points)
        theirs = Counter((max(p), min(p)) for p in np.asarray(pairs).reshape(-1, 2).tolist())
        ours = rainflow(history, "half")
        whole = ours.count == 1
        assert Counter(zip(ours.upper[whole].tolist(), ours.lower[whole].tolist(), strict=True)) == theirs
        if len(residue) < 3:
            continue
        # the residue once more behind itself closes what a repeated history closes; joined here, since the library's own
        # joining drops the outer of two points in line
        again = turning_points(np.concatenate([residue, residue]))
        more, _ = peer.find_rainflow_cycles(again)
        theirs += Counter((max(p), min(p)) for p in np.asarray(more).reshape(-1, 2).tolist())
        assert table(rainflow(history, "repeated")) == theirs


def test_streamed_against_pylife_in_blocks():
    peer = pytest.importorskip("pylife.stress.rainflow")
    history = np.random.default_rng(5).standard_normal(200_000)
    recorder = peer.LoopValueRecorder()
    detector = peer.FourPointDetector(recorder=recorder)
    counter = RainflowCounter()
    for k in range(0, len(history), 9973):
        detector.process(history[k : k + 9973])
        counter.feed(history[k : k + 9973])
    detector.flush()
    theirs = Counter()
    for a, b in zip(recorder.values_from, recorder.values_to, strict=True):
        theirs[max(a, b), min(a, b)] += 1
    assert closed(counter.cycles("half")) == theirs
