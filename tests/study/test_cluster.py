"""A study on a real cluster of processes on this machine: the same results, whoever dies on the way."""

import csv
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import clusters
import fake
import numpy as np
import pytest
import texts

import femdrum
from femdrum.errors import InputFault
from femdrum.study import read_study, run, study_from_text
from femdrum.study.cluster import Cluster, ClusterLost
from femdrum.study.store import Store

pytestmark = [
    pytest.mark.skipif(importlib.util.find_spec("distributed") is None, reason="needs the extra `cluster`"),
    pytest.mark.skipif(os.name != "posix", reason="kills processes the POSIX way"),
]

SLOTS = texts.with_(
    texts.PLATE, shape='"slot"', diameter_mm="40\nsize_y_mm = [30, 60]\ncorner_radius_mm = [3, 8, 15]"
).replace("diameter_mm = 40", "size_x_mm = 40")


@pytest.fixture(scope="module")
def cluster(tmp_path_factory):
    """Two workers; whoever is killed is started again."""
    folder = tmp_path_factory.mktemp("cluster")
    with clusters.local(folder) as made:
        made.workers(2, FEMDRUM_TEST_MARK=str(folder / "mark"))
        made.mark = folder / "mark"
        yield made


def table(folder):
    """The table without the times."""
    with (folder / "results.csv").open(newline="") as file:
        return [{k: v for k, v in row.items() if k != "seconds"} for row in csv.DictReader(file)]


def leftovers(folder):
    return [p.name for p in folder.iterdir() if p.name.startswith(".")]


def test_the_results_are_those_of_a_local_run(cluster, tmp_path):
    study = study_from_text(SLOTS)
    ours = run(study, tmp_path / "here", workers=1)
    events = []
    theirs = run(study, tmp_path / "there", cluster=cluster.address, on_event=events.append)
    assert len(ours.rows) == 6
    assert ours.complete
    assert theirs.complete
    assert table(tmp_path / "here") == table(tmp_path / "there")
    for variant in study.variants:
        one, two = (tmp_path / where / "variants" / variant.key for where in ("here", "there"))
        assert (one / "field.vtu").read_bytes() == (two / "field.vtu").read_bytes()
        with np.load(one / "edge.npz") as a, np.load(two / "edge.npz") as b:
            assert a.files == b.files
            for name in a.files:
                assert a[name].tobytes() == b[name].tobytes()
    assert [e.done for e in events if e.kind == "done"] == [1, 2, 3, 4, 5, 6]
    assert not [e for e in events if e.kind in ("note", "killed", "failed")]
    assert leftovers(tmp_path / "there") == []


def test_a_mesh_from_a_file_is_read_on_a_worker_too(cluster, tmp_path):
    """The mesher wants the main thread for its own signals only; a worker's thread has none."""
    study = read_study(Path(__file__).parents[2] / "meshes" / "elliptic_membrane.toml")
    run(study, tmp_path / "here", workers=1)
    assert run(study, tmp_path / "there", cluster=cluster.address).complete
    assert table(tmp_path / "here") == table(tmp_path / "there")


def test_a_worker_killed_on_the_way_costs_no_variant(cluster, plates, tmp_path):
    cluster.mark.unlink(missing_ok=True)
    events = []
    results = run(
        read_study(plates), tmp_path / "there", cluster=cluster.address, on_event=events.append,
        solver=fake.solve_as_if_killed_once,
    )  # fmt: skip
    assert cluster.mark.exists(), "the worker was killed"
    run(read_study(plates), tmp_path / "here", workers=1, solver=fake.solve)
    assert results.complete
    assert table(tmp_path / "here") == table(tmp_path / "there")
    assert leftovers(tmp_path / "there") == []


def test_a_variant_that_kills_workers_twice_has_failed_and_the_others_are_kept(cluster, tmp_path):
    study = study_from_text(texts.with_(texts.PLATE, width_mm="[100, 668, 667, 300, 400, 500]"))
    events = []
    run(study, tmp_path / "out", cluster=cluster.address, solver=fake.solve, on_event=events.append)
    rows = table(tmp_path / "out")
    assert [r["verdict"] for r in rows] == ["settled", "failed", "failed", "settled", "settled", "settled"]
    assert "killed twice" in rows[1]["message"]
    assert rows[2]["message"] == "unexpected RuntimeError: something nobody thought of"
    assert "killed twice" in (tmp_path / "out" / "failed" / f"{study.variants[1].key}.txt").read_text()
    assert "killed" in [e.kind for e in events]
    assert leftovers(tmp_path / "out") == []


SCRIPT = """
import sys
sys.path.insert(0, sys.argv[1])
import fake
from femdrum.study import read_study, run
run(read_study(sys.argv[2]), sys.argv[3], cluster=sys.argv[4], solver=fake.solve_slowly)
"""


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_a_killed_run_is_resumed(cluster, plates, tmp_path, how):
    plates.write_text(texts.with_(texts.PLATE, width_mm=str(list(range(100, 900, 50)))))
    script = tmp_path / "script.py"
    script.write_text(SCRIPT)
    out = tmp_path / "out"
    here = str(Path(fake.__file__).parent)
    process = subprocess.Popen(
        [sys.executable, str(script), here, str(plates), str(out), cluster.address],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    deadline = time.monotonic() + 120
    while len(list(out.glob("variants/[0-9a-f]*"))) < 2 and time.monotonic() < deadline and process.poll() is None:
        time.sleep(0.05)
    process.send_signal(how)
    process.wait(60)
    assert process.returncode != 0
    kept = {p.name for p in out.glob("variants/[0-9a-f]*")}
    assert 2 <= len(kept) < 16
    assert not (out / "results.csv").exists()
    events = []
    results = run(read_study(plates), out, cluster=cluster.address, solver=fake.solve, on_event=events.append)
    assert results.complete
    assert len(results.rows) == 16
    # those that were out when the run was killed may have been finished since
    assert not {e.variant.key for e in events if e.kind == "done" and e.seconds > 0} & kept
    assert events[0].done >= len(kept)


def test_a_study_that_is_finished_hands_nothing_out(cluster, plates, tmp_path):
    study = read_study(plates)
    run(study, tmp_path / "out", workers=1, solver=fake.solve)
    events = []
    assert run(study, tmp_path / "out", cluster=cluster.address, on_event=events.append).complete
    assert [e.kind for e in events] == ["started", "finished"]


def refused(address, out, *parts):
    """The run is refused with these words, and no results folder is left."""
    study = study_from_text(texts.PLATE)
    with pytest.raises(InputFault) as caught:
        run(study, out, cluster=address, solver=fake.solve)
    for part in ("--cluster", *parts):
        assert part in str(caught.value)
    assert not out.exists()


def test_workers_with_several_threads_are_refused(tmp_path):
    with clusters.local(tmp_path) as made:
        made.workers(1, threads=2)
        refused(made.address, tmp_path / "out", "has 2", "one variant at a time", "--nthreads 1")


def another_version(folder):
    old = folder / "femdrum-0.0.9.dist-info"
    old.mkdir()
    (old / "METADATA").write_text("Metadata-Version: 2.1\nName: femdrum\nVersion: 0.0.9\n")


def another_source(folder):
    shutil.copytree(Path(femdrum.__file__).parent, folder / "femdrum", ignore=shutil.ignore_patterns("__pycache__"))
    with (folder / "femdrum" / "edge.py").open("a") as file:
        file.write("# changed\n")


@pytest.mark.parametrize(
    ("other", "parts"),
    [(another_version, ("has 0.0.9", "femdrum here is")), (another_source, ("has another femdrum than this one",))],
)
def test_workers_with_another_femdrum_are_refused(other, parts, tmp_path):
    (tmp_path / "other").mkdir()
    other(tmp_path / "other")
    with clusters.local(tmp_path) as made:
        made.workers(1, PYTHONPATH=str(tmp_path / "other"))
        refused(made.address, tmp_path / "out", *parts)


def test_workers_that_do_not_see_the_folder_are_refused(cluster, tmp_path, monkeypatch):
    real = Store.open

    def elsewhere(study, out):
        """Its path is not what the workers know it by."""
        store = real(study, out)
        store.root = Elsewhere(store.root)
        return store

    class Elsewhere(type(tmp_path)):
        def absolute(self):
            return Path("/nowhere/at/all")

    monkeypatch.setattr(Store, "open", elsewhere)
    refused(
        cluster.address,
        tmp_path / "out",
        "cannot read the results folder '/nowhere/at/all'",
        "file system that all workers share",
    )


def test_a_cluster_without_workers_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr("femdrum.study.cluster._FIRST_WORKER_S", 0.5)
    with clusters.local(tmp_path) as made:
        refused(made.address, tmp_path / "out", "has no worker", f"dask worker {made.address} --nthreads 1")


def test_a_cluster_that_goes_away_ends_the_run_and_keeps_what_is_finished(tmp_path, plates, monkeypatch):
    plates.write_text(texts.with_(texts.PLATE, width_mm=str(list(range(100, 900, 50)))))
    with clusters.local(tmp_path) as made:
        workers = made.workers(1)

        def then(event):
            if event.kind == "done" and event.done == 2:
                made.stop(workers)

        monkeypatch.setattr("femdrum.study.cluster._PATIENCE_S", 3.0)
        with pytest.raises(ClusterLost, match="no worker for 3 s; what is finished is kept"):
            run(read_study(plates), tmp_path / "out", cluster=made.address, solver=fake.solve_slowly, on_event=then)
    kept = Store(tmp_path / "out").finished()
    assert 2 <= len(kept) < 16
    assert not (tmp_path / "out" / "results.csv").exists()
    assert run(read_study(plates), tmp_path / "out", workers=1, solver=fake.solve).complete


def test_the_scheduler_killed_ends_the_run_and_keeps_what_is_finished(tmp_path, plates):
    plates.write_text(texts.with_(texts.PLATE, width_mm=str(list(range(100, 900, 50)))))
    with clusters.local(tmp_path) as made:
        made.workers(1)

        def then(event):
            if event.kind == "done" and event.done == 2:
                made.processes[0].kill()

        with pytest.raises(ClusterLost, match=r"the scheduler at tcp://.* what is finished is kept"):
            run(read_study(plates), tmp_path / "out", cluster=made.address, solver=fake.solve_slowly, on_event=then)
    assert len(Store(tmp_path / "out").finished()) >= 2


def test_a_worker_that_joins_later_is_looked_at_too(tmp_path, plates):
    plates.write_text(texts.with_(texts.PLATE, width_mm=str(list(range(100, 2000, 50)))))
    with clusters.local(tmp_path) as made:
        made.workers(1)

        def then(event):
            if event.kind == "done" and event.done == 2:
                made.workers(1, threads=2)

        with pytest.raises(InputFault, match="has 2 threads, must have one"):
            run(read_study(plates), tmp_path / "out", cluster=made.address, solver=fake.solve_slowly, on_event=then)
    assert len(Store(tmp_path / "out").finished()) >= 2


def test_leaving_a_cluster_twice_does_no_harm(cluster):
    joined = Cluster(cluster.address)
    joined.close()
    joined.close()
