"""Time and memory of large systems: blocks of rows of one drum, iteratively and, where it fits, directly.

    python tests/benchmarks/large_iterative.py [most unknowns]

Each size runs in a fresh process, so that its peak memory is its own.
"""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

import numpy as np

# rows of a drum of six slots around, by about how many unknowns that makes
ROWS = {30_000: 2, 100_000: 6, 300_000: 17, 1_000_000: 59}
# the direct way is tried up to here
MOST_DIRECT = 300_000
CASES = ["rotation", "axial"]

CHILD = """
import json, resource, sys, time
import femdrum as fd
from femdrum.fem import linear
from femdrum.fem.cell import Fineness
from femdrum.fem.ring_whole import solve_whole
from femdrum.fem.symmetry import mirror_plan

rows, iterative, cases = json.loads(sys.argv[1])
linear.ITERATIVE_FROM = 0 if iterative else 10**9
slot = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=6)
ring = fd.Ring(outer_diameter_mm=900, wall_mm=40, pitch_mm=200, slots_around=6, rows="aligned", cutout=slot)
fine = Fineness(order=4, wall_order=3, cells_per_arc=3, growth=2.5, first_layer=0.75, wall_cells=2)
start, cpu = time.perf_counter(), time.process_time()
whole = solve_whole(mirror_plan(ring, rows), fd.steel("S355"), cases, fine)
print(json.dumps({
    "unknowns": whole.unknowns, "seconds": time.perf_counter() - start, "cpu_seconds": time.process_time() - cpu,
    "peak_GB": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e9, "solver": whole.solver,
    "residual": whole.residual,
}))
"""


def measure(most_unknowns: int = 1_000_000) -> dict[str, Any]:
    """{"iterative": [...], "direct": [...], "exponent": of CPU time over unknowns on the iterative path}."""
    sizes = [size for size in ROWS if size <= most_unknowns]
    iterative = [_run(ROWS[size], True) for size in sizes]
    direct = [_run(ROWS[size], False) for size in sizes if size <= MOST_DIRECT]
    logs = np.log([[run["unknowns"], run["cpu_seconds"]] for run in iterative])
    exponent = float(np.polyfit(logs[:, 0], logs[:, 1], 1)[0]) if len(sizes) > 1 else float("nan")
    return {"iterative": iterative, "direct": direct, "exponent": exponent}


def _run(rows: int, iterative: bool) -> dict[str, Any]:
    given = json.dumps([rows, iterative, CASES])
    done = subprocess.run([sys.executable, "-c", CHILD, given], capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout))


def main() -> None:
    """Print a line for each run."""
    found = measure(*map(int, sys.argv[1:2]))
    for way in ("iterative", "direct"):
        for run in found[way]:
            print(
                f"{way:9} {run['unknowns']:8d} unknowns {run['seconds']:7.1f} s, CPU {run['cpu_seconds']:7.1f} s, "
                f"{run['peak_GB']:5.2f} GB, residual {run['residual']:.0e}, {run['solver']}"
            )
    print(f"time grows with unknowns to the power {found['exponent']:.2f} on the iterative path")


if __name__ == "__main__":
    main()
