import csv
import json
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import fake
import numpy as np
import pytest
import texts

from femdrum.errors import FileFault
from femdrum.quantity import Verdict
from femdrum.study import Results, read_study, run, study_from_text
from femdrum.study.table import DEFINITIONS


def numbers(folder):
    """The table without the times."""
    with (folder / "results.csv").open(newline="") as file:
        return [{k: v for k, v in row.items() if k != "seconds"} for row in csv.DictReader(file)]


def test_results_hold_a_row_per_variant_and_load_axes_first(plates, tmp_path):
    results = run(read_study(plates), tmp_path / "out", workers=1, solver=fake.solve)
    with (tmp_path / "out" / "results.csv").open(newline="") as file:
        header = next(csv.reader(file))
    assert header == ["width_mm", *DEFINITIONS]
    assert header[1:] == [
        "variant",
        "case",
        "case_kind",
        "nominal_MPa",
        "kt_gross",
        "kt_net",
        "kt_band",
        "peak_MPa",
        "peak_band_MPa",
        "tension_MPa",
        "compression_MPa",
        "verdict",
        "x_mm",
        "y_mm",
        "depth_mm",
        "adding_maxima_MPa",
        "shares",
        "unknowns",
        "seconds",
        "message",
    ]
    rows = numbers(tmp_path / "out")
    assert [r["width_mm"] for r in rows] == ["100", "200", "300", "400"]
    value = 100 * (3 + 40 / 3000)
    assert all(float(r["peak_MPa"]) == pytest.approx(value, rel=1e-12) for r in rows)
    assert all(float(r["kt_gross"]) == pytest.approx(value / 100, rel=1e-12) for r in rows)
    assert [float(r["kt_net"]) for r in rows] == pytest.approx(
        [value / 100 * (1 - 40 / w) for w in (100, 200, 300, 400)]
    )
    assert [r["peak_MPa"] for r in results.rows] == [float(r["peak_MPa"]) for r in rows]
    assert set(results.definitions) == set(header)


def test_stored_variants_come_back_without_loss(plates, tmp_path):
    study = read_study(plates)
    run(study, tmp_path / "out", workers=1, solver=fake.solve)
    stored = Results.load(tmp_path / "out").variants[1]
    answer = stored.answer("tension")
    assert stored.axes == {"width_mm": 200}
    assert stored.inputs == study.variants[1].inputs
    assert answer.verdict is Verdict.SETTLED
    # the change is 1e-3 of the stress, its mean square where the stress is above nine tenths of the peak
    assert 0.9 * 0.9e-3 < answer.peak.band / answer.peak.value < 1.05e-3
    assert answer.comparisons[0].difference == pytest.approx(answer.kt_gross.value / 3 - 1)
    assert (answer.at.x_mm, answer.ladder[0].unknowns, answer.notes) == (
        pytest.approx(0, abs=1e-9),
        100,
        ("plane stress",),
    )
    before = fake.edge_stress(40)
    for name in ("s_mm", "place_mm", "stress", "step", "pressure", "area_mm2", "offset_mm", "depth_mm"):
        np.testing.assert_array_equal(getattr(stored.edge, name), getattr(before, name))
    assert stored.edge.cases == before.cases
    assert stored.edge.combine([answer.factors]).peaks().peak.value == answer.peak.value
    assert stored.field_file.is_file()
    assert "mesh 1 solved" in (stored.folder / "log.txt").read_text()


def test_processes_threads_and_one_process_give_the_same_numbers(plates, tmp_path):
    study = read_study(plates)
    run(study, tmp_path / "one", workers=1, solver=fake.solve)
    run(study, tmp_path / "two", workers=2, solver=fake.solve)
    with ThreadPoolExecutor(2) as executor:
        run(study, tmp_path / "three", executor=executor, solver=fake.solve)
    assert numbers(tmp_path / "one") == numbers(tmp_path / "two") == numbers(tmp_path / "three")


def test_a_second_run_reads_what_the_first_has_solved(plates, tmp_path):
    study = read_study(plates)
    run(study, tmp_path / "out", workers=1, solver=fake.solve)
    before = (tmp_path / "out" / "results.csv").read_bytes()
    events = []

    def never(*args, **more):
        raise AssertionError("solved again")

    run(study, tmp_path / "out", workers=1, solver=never, on_event=events.append)
    assert (events[0].kind, events[0].done, events[0].total) == ("started", 4, 4)
    assert (tmp_path / "out" / "results.csv").read_bytes() == before


def test_a_longer_list_solves_only_what_is_new(plates, tmp_path):
    run(read_study(plates), tmp_path / "out", workers=1, solver=fake.solve)
    plates.write_text(plates.read_text().replace("[100,", "[90, 100,"))
    events = []
    run(read_study(plates), tmp_path / "out", workers=1, solver=fake.solve, on_event=events.append)
    assert [e.variant.values for e in events if e.kind == "done"] == [(90,)]
    assert len(numbers(tmp_path / "out")) == 5


@pytest.mark.parametrize("workers", [1, 2])
def test_failing_variants_are_reported_and_the_others_kept(tmp_path, workers):
    study = study_from_text(texts.with_(texts.PLATE, width_mm="[100, 666, 667, 300]"))
    results = run(study, tmp_path, workers=workers, solver=fake.solve)
    rows = numbers(tmp_path)
    assert [r["verdict"] for r in rows] == ["settled", "failed", "failed", "settled"]
    assert rows[1]["message"] == "needs 9 GB of memory, 4 GB are free"
    assert rows[2]["message"] == "unexpected RuntimeError: something nobody thought of"
    assert [r["peak_MPa"] == "" for r in rows] == [False, True, True, False]
    assert not results.complete
    failure = (tmp_path / "failed" / f"{study.variants[2].key}.txt").read_text()
    assert "Traceback" in failure
    assert '"width_mm": 667' in failure
    # they are tried again, and the trace of the failure goes
    from functools import partial

    def mended(part, *args, **more):
        from dataclasses import replace

        return fake.solve(replace(part, width_mm=700), *args, **more)

    again = run(study, tmp_path, workers=1, solver=partial(mended))
    assert again.complete
    assert not list((tmp_path / "failed").iterdir())


def test_a_killed_worker_is_told_and_its_variants_are_tried_again(plates, tmp_path, monkeypatch):
    monkeypatch.setenv("FEMDRUM_TEST_MARK", str(tmp_path / "mark"))
    events = []
    results = run(
        read_study(plates), tmp_path / "out", workers=2, solver=fake.solve_as_if_killed_once, on_event=events.append
    )
    assert "killed" in [e.kind for e in events]
    assert results.complete


def test_a_variant_that_kills_its_worker_twice_has_failed_and_the_others_are_kept(tmp_path):
    study = study_from_text(texts.with_(texts.PLATE, width_mm="[100, 668, 300, 400, 500]"))
    run(study, tmp_path, workers=2, solver=fake.solve)
    rows = numbers(tmp_path)
    assert [r["verdict"] for r in rows] == ["settled", "failed", "settled", "settled", "settled"]
    assert "killed twice" in rows[1]["message"]


SCRIPT = """
import sys
sys.path.insert(0, sys.argv[1])
import fake
from femdrum.study import read_study, run
if __name__ == "__main__":
    run(read_study(sys.argv[2]), sys.argv[3], workers=int(sys.argv[4]), solver=fake.solve_slowly)
"""


@pytest.mark.skipif(os.name != "posix", reason="kills a process the POSIX way")
@pytest.mark.parametrize("workers", ["1", "2"])
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_a_killed_run_is_resumed(plates, tmp_path, workers, how):
    plates.write_text(texts.with_(texts.PLATE, width_mm=str(list(range(100, 900, 50)))))
    script = tmp_path / "script.py"
    script.write_text(SCRIPT)
    out = tmp_path / "out"
    here = str(Path(fake.__file__).parent)
    process = subprocess.Popen(
        [sys.executable, str(script), here, str(plates), str(out), workers], stderr=subprocess.PIPE
    )
    deadline = time.monotonic() + 60
    while len(list(out.glob("variants/[0-9a-f]*"))) < 2 and time.monotonic() < deadline and process.poll() is None:
        time.sleep(0.05)
    process.send_signal(how)
    process.wait(60)
    process.stderr.close()
    assert process.returncode != 0
    kept = {p.name for p in out.glob("variants/[0-9a-f]*")}
    assert 2 <= len(kept) < 16
    assert not (out / "results.csv").exists()
    for folder in kept:  # what is there is whole
        json.loads((out / "variants" / folder / "variant.json").read_text())
        assert np.load(out / "variants" / folder / "edge.npz")["stress"].size
    events = []
    results = run(read_study(plates), out, workers=1, solver=fake.solve, on_event=events.append)
    assert results.complete
    solved = {e.variant.key for e in events if e.kind == "done"}
    # a worker may have finished one more between the look and the kill
    assert not solved & kept
    assert len(solved) == 16 - events[0].done
    assert not list(out.glob("variants/.part-*")), "what was half-written is swept away"


def test_folders_that_are_not_ours_are_left_alone(plates, tmp_path):
    study = read_study(plates)
    foreign = tmp_path / "foreign"
    foreign.mkdir()
    (foreign / "letter.txt").write_text("dear")
    file = tmp_path / "file"
    file.write_text("x")
    run(study, tmp_path / "mine", workers=1, solver=fake.solve)
    before = (tmp_path / "mine" / "results.csv").stat()
    other = tmp_path / "other.toml"
    other.write_text(plates.read_text())
    retitled = study_from_text(plates.read_text().replace("a hole", "one hole"), name="plates")
    for which, out, text in (
        (study, foreign, "is not empty and holds no results"),
        (study, file, "is a file, not a folder"),
        (study, file / "below", "is a file"),
        (read_study(other), tmp_path / "mine", "belongs to another study: 'Plate with a hole' (plates.toml)"),
        (retitled, tmp_path / "mine", "belongs to another study"),
    ):
        with pytest.raises(FileFault) as caught:
            run(which, out, workers=1, solver=fake.solve)
        assert text in str(caught.value)
        assert "--out" in str(caught.value)
    assert [p.name for p in foreign.iterdir()] == ["letter.txt"]
    assert (tmp_path / "mine" / "results.csv").stat() == before


def test_a_folder_that_cannot_be_written(plates, tmp_path, monkeypatch):
    home = tmp_path / "home"
    home.mkdir()
    home.chmod(0o500)
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != home)  # root may write anywhere
    with pytest.raises(FileFault, match="cannot be written"):
        run(read_study(plates), home / "out", workers=1, solver=fake.solve)
    assert list(home.iterdir()) == []


def test_damaged_results_are_named(plates, tmp_path):
    run(read_study(plates), tmp_path / "out", workers=1, solver=fake.solve)
    (tmp_path / "out" / "results.json").write_text("{")
    with pytest.raises(FileFault, match=r"results\.json: is damaged"):
        Results.load(tmp_path / "out")
    with pytest.raises(FileFault, match="there is no such folder"):
        Results.load(tmp_path / "nowhere")
