"""Longest first, what remains, and start-up that is paid once."""

import heapq
import json
import subprocess
import sys

import fake
import pytest
import texts

from femdrum.study import read_study, run, study_from_text
from femdrum.study.cost import cost, longest_first
from femdrum.study.remaining import Remaining

BENT = texts.RING + '\n[[load]]\nname = "bent"\nkind = "bending"\nmoment_Nm = 5000\ndirection_deg = 0\n'
PRESSED = texts.RING + '\n[[load]]\nkind = "flank_pressure"\nslot = 0\nflank = "leading"\npressure_MPa = 5\n'


def costs(text):
    return [cost(v) for v in study_from_text(text).variants]


def test_what_is_dearer_is_foreseen_as_dearer():
    plate = costs(texts.PLATE)[0]
    small, middle, large = costs(texts.with_(texts.RING, corner_radius_mm="[2, 8, 30]"))
    assert small > 1.5 * middle > 1.5 * large > 1.5 * plate
    aligned, alternate = costs(texts.with_(texts.RING, rows='["aligned", "alternate"]'))
    assert 1.2 * aligned < alternate < 3 * aligned
    # a load that does not meet every slot alike asks for whole rows, and one on a slot for most combinations of mirrors
    assert 3 * middle < costs(BENT)[0] < costs(PRESSED)[0]
    # more slots make a larger row where the row is solved, and a smaller cell where a cell is
    two, six = costs(texts.with_(BENT, slots_around="[2, 6]"))
    assert six > 2 * two
    # the smaller the hole's radius, the finer the plate's mesh
    fine, coarse = costs(texts.with_(texts.PLATE, diameter_mm="[2, 40]"))
    assert fine > coarse


def test_a_part_that_cannot_be_foreseen_is_left_to_the_solver():
    class Odd:
        part, loads = object(), ()

    assert cost(Odd()) == 1.0


def test_the_longest_are_handed_out_first(tmp_path):
    study = study_from_text(texts.with_(texts.PLATE, diameter_mm="[40, 2, 10, 4]"))
    order, weights = longest_first(list(study.variants))
    assert [v.values for v in order] == [(2,), (4,), (10,), (40,)]
    assert set(weights) == {v.key for v in study.variants}
    events = []
    run(study, tmp_path / "out", workers=1, solver=fake.solve, on_event=events.append)
    assert [e.variant.values for e in events if e.kind == "done"] == [(2,), (4,), (10,), (40,)]


@pytest.mark.parametrize("workers", [1, 3])
def test_what_remains_of_a_known_schedule(workers):
    """Variants whose true times are known, solved on a clock of our own; foreseen costs are off by up to a third."""
    true = {f"v{n}": 60.0 * 0.9**n for n in range(40)}
    foreseen = {key: t / 7.0 * (1.0 + (0.3 if n % 2 else -0.3)) for n, (key, t) in enumerate(true.items())}
    now = 0.0
    remaining = Remaining(foreseen, workers, clock=lambda: now)
    waiting = list(true)
    running = []
    while waiting and len(running) < workers:
        key = waiting.pop(0)
        remaining.began(key)
        heapq.heappush(running, (true[key], key))
    said = []
    while running:
        now, key = heapq.heappop(running)
        remaining.ended(key, true[key])
        if waiting:
            new = waiting.pop(0)
            remaining.began(new)
            heapq.heappush(running, (now + true[new], new))
        said.append((now, remaining.seconds()))
    end = now
    assert [s for _, s in said[: max(2, workers) - 1]] == [None] * (max(2, workers) - 1)
    told = [(at, s) for at, s in said if s is not None]
    assert len(told) == 40 - max(2, workers) + 1
    for at, seconds in told:
        assert seconds == pytest.approx(end - at, rel=0.3, abs=0.02 * end)
    assert told[-1] == (end, 0.0)


def test_it_counts_down_between_two_that_finish_and_failures_do_not_hurry_it():
    now = 0.0
    remaining = Remaining(dict.fromkeys("abcdef", 1.0), 1, clock=lambda: now)
    for key in "ab":
        remaining.began(key)
        now += 10.0
        remaining.ended(key, 10.0)
    remaining.began("c")
    assert remaining.seconds() == pytest.approx(40.0)
    now += 4.0
    assert remaining.seconds() == pytest.approx(36.0)
    now += 60.0  # this one takes longer than foreseen
    assert remaining.seconds() == pytest.approx(30.0)
    remaining.ended("c", None)
    assert remaining.seconds() == pytest.approx(30.0)


def test_one_long_variant_is_not_shared_among_workers():
    now = 0.0
    remaining = Remaining({"long": 100.0, "a": 1.0, "b": 1.0, "c": 1.0}, 2, clock=lambda: now)
    remaining.began("long")
    for key in "abc":
        remaining.began(key)
        now += 1.0
        remaining.ended(key, 1.0)
    assert remaining.seconds() == pytest.approx(97.0)


def test_events_carry_what_remains(tmp_path):
    widths = str(list(range(100, 160, 10)))
    events = []
    study = study_from_text(texts.with_(texts.PLATE, width_mm=widths))
    run(study, tmp_path / "out", workers=1, solver=fake.solve, on_event=events.append)
    told = [e.remaining_s for e in events if e.kind == "done"]
    assert told[0] is None
    assert all(s is not None and s > 0.0 for s in told[1:-1])
    assert told[-1] == events[-1].remaining_s == 0.0


LATE = """
import json, sys
from femdrum.study import read_study
from femdrum.study.work import preload, solve_and_store
study = read_study(sys.argv[1])
preload([study.variants[0].part.kind])
before = set(sys.modules)
outcome = solve_and_store(study.variants[0], sys.argv[2])
assert "failed" not in outcome.verdicts, outcome.failure
print(json.dumps(sorted(set(sys.modules) - before)))
"""


@pytest.mark.parametrize("kind", ["plate", "ring"])
def test_a_worker_that_has_begun_loads_nothing_more_for_a_variant(kind, tmp_path):
    file = tmp_path / "study.toml"
    file.write_text(texts.PLATE if kind == "plate" else texts.with_(texts.RING, corner_radius_mm="30"))
    child = subprocess.run(
        [sys.executable, "-c", LATE, file, tmp_path / "out"], capture_output=True, text=True, check=True
    )
    late = json.loads(child.stdout)
    assert not late


def test_worker_processes_keep_what_they_loaded(tmp_path):
    """One start-up for each worker, however many variants it solves."""
    study = study_from_text(texts.with_(texts.PLATE, width_mm=str(list(range(100, 180, 10)))))
    run(study, tmp_path / "out", workers=2, solver=fake.solve_and_say_who)
    said = [(tmp_path / "out" / "variants" / v.key / "log.txt").read_text() for v in study.variants]
    pids = [text.split("process ")[1].split()[0] for text in said]
    firsts = [text for text in said if "first here" in text]
    assert len(set(pids)) == len(firsts) <= 2


def test_a_study_read_again_keeps_its_order(plates):
    one, two = (longest_first(list(read_study(plates).variants))[0] for _ in range(2))
    assert [v.key for v in one] == [v.key for v in two]
