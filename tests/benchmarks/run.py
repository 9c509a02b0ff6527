"""All benchmarks, or those named, one after the other, with what they ran on; and how a fresh process is measured.

python tests/benchmarks/run.py [NAME ...] [--turns N]
"""

from __future__ import annotations

import argparse
import datetime
import json
import os
import platform
import statistics
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module, metadata
from pathlib import Path
from typing import Any

__all__ = ["Taken", "fresh", "line", "main", "median", "own_peak_MiB", "rounds", "turns_asked"]

LIBRARIES = ("femdrum", "numpy", "scipy", "rslab", "ngsolve", "scikit-fem", "gmsh")
NOT_BENCHMARKS = ("run", "peer_ring")
# these take the number of turns without a name before it
OLDER = ("more_cases", "ring_warm")
NEWER = ("command_line", "many_loads", "natural_script", "plane_sweep")
# one thread everywhere
ALONE = {name: "1" for name in ("OMP_NUM_THREADS", "RAYON_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")}

# a small process starts the one that is measured: what the kernel calls its peak counts its parent's at the start
WATCH = """
import json, os, sys, time
start = time.perf_counter()
child = os.posix_spawnp(sys.argv[1], sys.argv[1:], os.environ)
_, status, used = os.wait4(child, 0)
took = time.perf_counter() - start
code = os.waitstatus_to_exitcode(status)
print()
print(json.dumps([took, used.ru_utime + used.ru_stime, used.ru_maxrss, code]))
"""


@dataclass(frozen=True)
class Taken:
    """What a process took, children included: seconds by the clock, CPU seconds, peak memory; and the answer it printed."""

    wall_s: float
    cpu_s: float
    peak_MiB: float
    answer: Any


def fresh(command: Sequence[str], read: Callable[[str], Any] = json.loads) -> Taken:
    """Run a command as a process of its own, numerical libraries on one thread. read: from its last line to the answer."""
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", WATCH, *command],
        capture_output=True,
        text=True,
        check=True,
        env={k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | ALONE,  # both sides as installed
    )
    *printed, numbers = done.stdout.strip().splitlines()
    wall, cpu, peak, code = json.loads(numbers)
    if code != 0:
        raise RuntimeError(f"{' '.join(command)} ended with {code}:\n{done.stderr}")
    said = [text for text in printed if text.strip()]
    return Taken(wall, cpu, peak / (2**10 if sys.platform != "darwin" else 2**20), read(said[-1] if said else ""))


def rounds(runs: Mapping[str, Callable[[], Taken]], turns: int) -> dict[str, list[Taken]]:
    """Each turn runs all in the same order, so that a busy machine meets all alike."""
    out: dict[str, list[Taken]] = {name: [] for name in runs}
    for _ in range(turns):
        for name, run in runs.items():
            out[name].append(run())
    return out


def median(taken: Sequence[Taken]) -> Taken:
    """The median of each figure; the last answer."""
    return Taken(
        statistics.median(t.wall_s for t in taken),
        statistics.median(t.cpu_s for t in taken),
        statistics.median(t.peak_MiB for t in taken),
        taken[-1].answer,
    )


def line(what: str, name: str, taken: Taken, rest: str, peers: Mapping[str, Taken] | None = None) -> str:
    """A line for printing; `peers`: what this one's CPU seconds are set against."""
    text = f"{what:7} {name:12} {taken.wall_s:8.3f} s, CPU {taken.cpu_s:8.3f} s, {taken.peak_MiB:6.0f} MiB, {rest}"
    for peer, other in (peers or {}).items():
        text += f"; {taken.cpu_s / other.cpu_s:.3g} times the CPU of {peer}"
    return text


def own_peak_MiB() -> float:
    """Peak memory of this process so far."""
    with open("/proc/self/status") as status:  # not ru_maxrss: it counts the parent at the fork
        return int(next(entry.split()[1] for entry in status if entry.startswith("VmHWM"))) / 1024


def turns_asked(arguments: Sequence[str] | None = None) -> int:
    """The N of `--turns N`; 5 unless given."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--turns", type=int, default=5, metavar="N")
    return max(1, int(parser.parse_args(arguments).turns))


def main() -> None:
    """Run them."""
    known = sorted(p.stem for p in Path(__file__).parent.glob("*.py") if p.stem not in NOT_BENCHMARKS)
    parser = argparse.ArgumentParser(description="Run benchmarks")
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(known)}; all unless given")
    parser.add_argument(
        "--turns", type=int, default=5, metavar="N", help="medians of so many turns, where there are any"
    )
    args = parser.parse_args()
    unknown = [name for name in args.names if name not in known]
    if unknown:
        raise SystemExit(f"no benchmark {', '.join(unknown)}; there are {', '.join(known)}")
    versions = ", ".join(f"{name} {metadata.version(name)}" for name in LIBRARIES)
    print(f"{datetime.date.today()}, {os.cpu_count()} cores {platform.machine()}, {platform.system()},", end=" ")
    print(f"Python {platform.python_version()}, {versions}")
    for name in args.names or known:
        turns = str(args.turns)
        sys.argv[1:] = ["--turns", turns] if name in NEWER else [turns] if name in OLDER else []
        busy = os.getloadavg()[0]
        print(f"\n== {name} (processes that wanted a core in the minute before: {busy:.1f})", flush=True)
        import_module(name).main()


if __name__ == "__main__":
    main()
