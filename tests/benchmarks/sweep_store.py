"""What a study of many variants costs besides solving: time and memory of the process that hands them out; and plane sweeps.

Bookkeeping: a stand-in for the solver on worker processes, each count in a process of its own. Then real plates.

    OMP_NUM_THREADS=1 python tests/benchmarks/sweep_store.py
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "study"))  # fake: the stand-in; texts: studies to start from

import fake
import texts

from femdrum.study import Results, Study, run, study_from_text
from femdrum.study.runner import default_workers

__all__ = ["bookkeeping", "main", "measure", "plane_sweep"]

COUNTS = (1_000, 10_000)
PLANE = 400


def _plates(count: int) -> tuple[Study, float]:
    """A study of `count` plates, ten diameters by their widths, and the processor time of reading it."""
    widths = [100.0 + n / 16 for n in range(count // 10)]
    text = texts.with_(texts.PLATE, width_mm=str(widths), diameter_mm=str(list(range(20, 30))))
    start = time.process_time()
    study = study_from_text(text, name="plates")
    return study, time.process_time() - start


def _peak_mb() -> float:
    """Greatest resident memory of this process so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1e3 if sys.platform != "darwin" else 1e6)


def bookkeeping(count: int, workers: int) -> dict[str, float]:
    """This process's part in a run of `count` variants: processor seconds and peak memory. Meant for a fresh process."""
    warm, _ = _plates(10)
    with tempfile.TemporaryDirectory() as folder:
        run(warm, Path(folder) / "warm", workers=1, solver=fake.solve)
        study, reading = _plates(count)
        before = _peak_mb()
        clock, own = time.perf_counter(), time.process_time()
        results = run(study, Path(folder) / "out", workers=workers, solver=fake.solve)
        running, handing = time.perf_counter() - clock, time.process_time() - own
        assert results.complete
        assert len(results.rows) == count
        own = time.process_time()
        run(study, Path(folder) / "out", workers=workers, solver=fake.solve)
        again = time.process_time() - own
        own = time.process_time()
        assert sum(1 for _ in Results.load(Path(folder) / "out").variants) == count
        loading = time.process_time() - own
        return {
            "variants": count,
            "reading the study, s per variant": reading / count,
            "bookkeeping in the parent, s per variant": handing / count,
            "whole run with the stand-in, s per variant": running / count,
            "a finished run again, s per variant": again / count,
            "reading all results, s per variant": loading / count,
            "peak memory of the parent, MB": _peak_mb(),
            "of it for the run, MB": _peak_mb() - before,
        }


def plane_sweep(workers: int, count: int = PLANE) -> dict[str, float]:
    """Real plates on `workers` processes: seconds by the clock, start-up of the workers included."""
    study, _ = _plates(count)
    with tempfile.TemporaryDirectory() as folder:
        clock = time.perf_counter()
        results = run(study, Path(folder) / "out", workers=workers)
        passed = time.perf_counter() - clock
        assert results.complete
    return {"variants": count, "workers": workers, "seconds": passed, "variants per second": count / passed}


def measure() -> dict[str, Any]:
    """All figures: bookkeeping for each of COUNTS, and the sweep of plates on one worker and on all cores."""
    workers = default_workers()
    out: dict[str, Any] = {"bookkeeping": [], "plane sweep": []}
    for count in COUNTS:
        child = subprocess.run(
            [sys.executable, __file__, str(count), str(workers)], capture_output=True, text=True, check=True
        )
        out["bookkeeping"].append(json.loads(child.stdout))
    for n in dict.fromkeys((1, workers)):
        out["plane sweep"].append(plane_sweep(n))
    return out


def main() -> None:
    """Print them."""
    found = measure()
    for what, entries in found.items():
        print(what)
        for name in entries[0]:
            print(f"  {name:45}", *(f"{entry[name]:12.6g}" for entry in entries))


if __name__ == "__main__":
    if len(sys.argv) == 3:
        print(json.dumps(bookkeeping(int(sys.argv[1]), int(sys.argv[2]))))
    else:
        main()
