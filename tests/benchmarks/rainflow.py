"""Rainflow counting: 10^7 samples in memory, 10^8 in blocks, hard signals, a CSV file; and the fastest open libraries beside it.

Seconds of processor time, one thread, the least of the turns. Each library counts the same random samples, turn by turn with
femdrum; making the samples is not in the time.

    OMP_NUM_THREADS=1 python tests/benchmarks/rainflow.py
"""

from __future__ import annotations

import importlib.util
import resource
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from importlib import import_module, metadata
from pathlib import Path
from typing import Any

import numpy as np

from femdrum.strength.measured import count_file
from femdrum.strength.rainflow import RainflowCounter, rainflow

__all__ = ["hard", "in_memory", "main", "measured", "peers", "streamed"]

MANY = 10_000_000
TURNS = 5


def least_time(work: Callable[[], Any], turns: int = TURNS) -> tuple[float, Any]:
    """Processor seconds, the least of the turns, and what was found."""
    best, found = np.inf, None
    for _ in range(turns):
        found = None
        start = time.process_time()
        found = work()
        best = min(best, time.process_time() - start)
    return best, found


def samples(n: int, seed: int = 1) -> Any:
    """Random samples."""
    return np.random.default_rng(seed).standard_normal(n)


def in_memory() -> None:
    """10^7 random samples."""
    x = samples(MANY)
    seconds, cycles = least_time(lambda: rainflow(x))
    print(f"femdrum, {MANY:.0e} random samples: {seconds:.3f} s, {cycles.count.sum():.1f} cycles")


def _pylife(name: str, x: Any) -> Any:
    detectors = import_module("pylife.stress.rainflow")
    recorder = detectors.LoopValueRecorder()
    getattr(detectors, name)(recorder=recorder).process(x)
    return len(recorder.values_from)


def _rfcnt(x: Any) -> Any:
    library = import_module("rfcnt")
    width = np.ptp(x) / 999
    counter = library.RFC(class_width=width, class_count=1000, class_offset=x.min() - width / 2, hysteresis=0.0)
    counter.feed(x)
    return int(np.asarray(counter.rfm).sum())


def _fatpack(x: Any) -> Any:
    library = import_module("fatpack")
    points, _ = library.find_reversals(x, k=512)
    return len(library.find_rainflow_cycles(points)[0])


def _plain(x: Any) -> Any:
    # the library has this file's name: it is taken from where it is installed
    place = metadata.distribution("rainflow").locate_file("rainflow.py")
    spec = importlib.util.spec_from_file_location("peer_rainflow", str(place))
    assert spec is not None
    assert spec.loader is not None
    library = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(library)
    return sum(1 for _ in library.extract_cycles(x))


# library, its rule, what is called, samples
PEERS: tuple[tuple[str, str, Callable[[Any], Any], int], ...] = (
    ("pylife", "four points", lambda x: _pylife("FourPointDetector", x), MANY),
    ("pylife", "three points", lambda x: _pylife("ThreePointDetector", x), MANY),
    ("rfcnt", "four points, 1000 classes", _rfcnt, MANY),
    ("fatpack", "four points, 512 classes", _fatpack, MANY // 10),
    ("rainflow", "three points, half cycles too", _plain, MANY // 10),
)


def peers() -> None:
    """The same by open libraries, those that are installed, turn by turn with femdrum; the ratio to the fastest."""
    ratios = []
    for name, rule, work, n in PEERS:
        try:
            version = metadata.version(name)
        except metadata.PackageNotFoundError:
            print(f"{name}: not installed")
            continue
        x = samples(n)
        ours = theirs = np.inf
        for _ in range(TURNS):
            ours = min(ours, least_time(lambda x=x: rainflow(x), 1)[0])
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                seconds, found = least_time(lambda work=work, x=x: work(x), 1)
            theirs = min(theirs, seconds)
        ratios.append(ours / theirs)
        print(f"{name} {version}, {rule}, {n:.0e} samples: {theirs:.3f} s, {found} cycles; femdrum {ours:.3f} s")
    if ratios:
        print(f"femdrum's time over that of the fastest: {max(ratios):.2f}")


def _blocks(n: int) -> Iterator[Any]:
    rng = np.random.default_rng(2)
    for _ in range(n // 1_000_000):
        yield rng.standard_normal(1_000_000)


def streamed() -> None:
    """10^8 samples in blocks of 10^6: time of counting, and how much memory the process ever took beyond before."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    counter, seconds = RainflowCounter(), 0.0
    for block in _blocks(100_000_000):
        start = time.process_time()
        counter.feed(block)
        seconds += time.process_time() - start
    start = time.process_time()
    cycles = counter.cycles("repeated")
    seconds += time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"streamed, 1e+08 samples: {seconds:.2f} s, {cycles.count.sum():.0f} cycles in {len(cycles.count)} classes of "
        f"{counter.grid:.2g}; memory of the process {before:.0f} MB before, {peak:.0f} MB at most (the samples: 763 MB)"
    )


def hard() -> None:
    """Signals that are hard for passes of array operations, 10^7 samples each, every sample a turning point in most."""
    k = np.arange(MANY)
    turn = np.where(k % 2, 1.0, -1.0)
    signals = {
        "growing": lambda: turn * (1 + k / MANY),
        "shrinking": lambda: turn * (2 - k / MANY),
        "sawtooth": lambda: turn.copy(),
        "plateaus": lambda: np.repeat(samples(MANY // 100), 100),
        "random walk": lambda: np.cumsum(samples(MANY)),
        "few levels": lambda: np.round(2 * samples(MANY)),
        "sine, 20 samples a period": lambda: np.sin(2 * np.pi * k / 20.1),
        "beats of 20": lambda: turn * (0.1 + np.abs(np.sin(np.pi * k / 20))),
        "beats of 100": lambda: turn * (0.1 + np.abs(np.sin(np.pi * k / 100))),
        "beats of 10,000": lambda: turn * (0.1 + np.abs(np.sin(np.pi * k / 10_000))),
        "inward, then outward": lambda: turn * (0.01 + np.abs(k / MANY - 0.5)),
    }
    for name, make in signals.items():
        x = make()
        seconds, cycles = least_time(lambda x=x: rainflow(x), 2)
        print(f"{name}: {seconds:.3f} s, {cycles.count.sum():.1f} cycles")


def measured() -> None:
    """A CSV file of time and strain, 5 x 10^6 lines, read in blocks and counted."""
    n = 5_000_000
    values = np.cumsum(samples(n))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "history.csv"
        with path.open("w", encoding="utf-8") as file:
            file.write("time_s,gauge_strain_um_m\n")
            for s in range(0, n, 100_000):
                file.writelines(
                    f"{0.001 * (s + i):.3f},{v:.4f}\n" for i, v in enumerate(values[s : s + 100_000].tolist())
                )
        size = path.stat().st_size / 1e6
        seconds, found = least_time(lambda: count_file(path, "gauge_strain_um_m"), 2)
    print(f"CSV, {found.samples:.0e} lines, {size:.0f} MB: {seconds:.2f} s, {size / seconds:.0f} MB/s")


def main() -> None:
    """Run them."""
    streamed()
    in_memory()
    peers()
    hard()
    measured()


if __name__ == "__main__":
    main()
