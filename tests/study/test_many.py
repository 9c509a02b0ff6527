"""Thousands of variants: what the process that hands them out keeps in memory does not grow with their answers."""

import gc
import json
import tracemalloc
from concurrent.futures import Executor, Future

import fake
import pytest
import texts

from femdrum.errors import FileFault
from femdrum.study import Results, run, study_from_text
from femdrum.study.store import Store
from femdrum.study.text import result_lines
from femdrum.study.work import Outcome

MOST_KEPT = 100


@pytest.fixture(autouse=True)
def few_kept(monkeypatch):
    """Studies of hundreds of variants are then large ones."""
    monkeypatch.setattr("femdrum.study.lines.MOST_KEPT", MOST_KEPT)


ANSWER_BYTES = 3000  # what one stored answer of the stand-in takes as JSON, about


def plates(count):
    """A study of `count` plates."""
    widths = [100 + n / 8 for n in range(count)]
    return study_from_text(texts.with_(texts.PLATE, width_mm=str(widths)), name="plates")


def fill(study, out):
    """A results folder in which every variant is finished, each with the answer of the first."""
    first = study.variants[0]
    store = Store.open(study, out)
    run(study_from_text(texts.with_(texts.PLATE, width_mm="[100.0]"), name="plates"), out, workers=1, solver=fake.solve)
    text = (store.folder(first.key) / "variant.json").read_text()
    assert len(text) > ANSWER_BYTES
    for variant in study.variants[1:]:
        store.folder(variant.key).mkdir()
        (store.folder(variant.key) / "variant.json").write_text(text.replace(first.key, variant.key))


def peak_of(work):
    """Bytes that `work` takes above what was there before, at most."""
    gc.collect()
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def never(*args, **more):
    raise AssertionError("solved again")


def test_memory_of_writing_and_reading_does_not_hold_the_answers(tmp_path):
    peaks = []
    for count in (200, 800):
        study = plates(count)
        fill(study, tmp_path / str(count))

        def work(study=study, count=count):
            results = run(study, tmp_path / str(count), workers=1, solver=never)
            assert results.complete
            assert len(results.rows) == len(results.variants) == count
            assert f"and {count - 60} more rows" in "".join(result_lines(results))
            assert sum(len(v.answers) for v in results.variants) == count

        work()  # what is loaded once is loaded
        peaks.append(peak_of(work))
    grown = (peaks[1] - peaks[0]) / 600
    assert grown < ANSWER_BYTES / 6, f"{grown:.0f} bytes for each further variant"


class Elsewhere(Executor):
    """Stores what it is given, as worker processes do whose memory is not ours: copies of one answer."""

    def __init__(self, like):
        self.text = (like.root / "variants" / "KEY" / "variant.json").read_text()

    def submit(self, work, variant, root, solver):
        store = Store(root)
        with store.writing(variant.key) as folder:
            (folder / "variant.json").write_text(self.text.replace("KEY", variant.key))
        future = Future()
        future.set_result(Outcome(variant.key, ("settled",), 0.1))
        return future


def test_memory_of_running_does_not_hold_the_answers(tmp_path):
    one = plates(1)
    run(one, tmp_path / "one", workers=1, solver=fake.solve)
    record = Store(tmp_path / "one").folder(one.variants[0].key)
    like = Store(tmp_path / "like")
    like.folder("KEY").mkdir(parents=True)
    (like.folder("KEY") / "variant.json").write_text(
        (record / "variant.json").read_text().replace(one.variants[0].key, "KEY")
    )
    peaks = []
    for count in (200, 800):
        study = plates(count)
        seen = []

        def work(study=study, count=count, seen=seen):
            results = run(
                study, tmp_path / str(count), executor=Elsewhere(like), on_event=lambda e: seen.append(e.done)
            )
            assert results.complete

        peaks.append(peak_of(work))
        assert seen[-1] == count
    grown = (peaks[1] - peaks[0]) / 600
    assert grown < ANSWER_BYTES / 6, f"{grown:.0f} bytes for each further variant"


@pytest.mark.parametrize("count", [3, MOST_KEPT + 7])
def test_results_read_line_by_line_are_what_the_file_holds(count, tmp_path):
    study = plates(count)
    fill(study, tmp_path / "out")
    results = run(study, tmp_path / "out", workers=1, solver=never)
    whole = json.loads((tmp_path / "out" / "results.json").read_text())
    assert list(results.rows) == whole["rows"]
    assert [results.rows[n] for n in (0, -1)] == [whole["rows"][n] for n in (0, -1)]
    assert results.rows[1:3] == whole["rows"][1:3]
    assert [v.key for v in results.variants] == [v.key for v in study.variants]
    assert results.variants[-1].inputs == study.variants[-1].inputs
    assert {k: whole[k] for k in results.data} == results.data
    assert set(whole) - set(results.data) == {"rows", "variants"}
    with pytest.raises(IndexError, match=f"no item {count}"):
        results.variants[count]
    # laid out otherwise by another program, it is read whole, to the same end
    (tmp_path / "out" / "results.json").write_text(json.dumps(whole, indent=1))
    again = Results.load(tmp_path / "out")
    assert list(again.rows) == whole["rows"]
    assert list(again.variants) == list(results_before(results, whole))


def results_before(results, whole):
    """The variants of `whole` as `results` makes them; its own file is gone."""
    return map(results._variant, whole["variants"])


def test_results_written_anew_or_damaged_while_they_are_read_are_no_mixture(tmp_path):
    study = plates(MOST_KEPT + 1)
    fill(study, tmp_path / "out")
    results = run(study, tmp_path / "out", workers=1, solver=never)
    file = tmp_path / "out" / "results.json"
    text = file.read_text()
    file.write_text(text.replace('"settled"', '"settled" '))
    with pytest.raises(FileFault, match="was written anew while it was read"):
        results.rows[0]
    file.write_text(text.replace('\n{"width_mm": 100.125,', '\n{"width_mm": 100.125;'))
    with pytest.raises(FileFault, match=r"results\.json: is damaged"):
        list(Results.load(tmp_path / "out").rows)


def test_a_look_at_the_folder_finds_what_is_finished(tmp_path):
    study = plates(5)
    fill(study, tmp_path / "out")
    store = Store(tmp_path / "out")
    keys = [v.key for v in study.variants]
    store.note_failure(keys[1], "failed")
    (store.folder(keys[2]) / "variant.json").unlink()
    (tmp_path / "out" / "variants" / ".part-x-1-2").mkdir()
    assert store.finished() == {k for k in keys if store.has(k)} == {keys[0], keys[3], keys[4]}
