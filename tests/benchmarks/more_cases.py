"""What one more unit load case costs, as a share of the first: one ring, one mesh.

python tests/benchmarks/more_cases.py [REPEATS]
"""

from __future__ import annotations

import statistics
import sys
import time

import femdrum as fd
from femdrum.fem.ring_level import RING_FLIGHTS, ring_level

__all__ = ["main", "measure"]

FIRST = ["rotation"]
ALL = ["rotation", "axial", "hung", "internal_pressure"]
RING = fd.Ring(
    outer_diameter_mm=900, wall_mm=40, pitch_mm=200, slots_around=6, rows="aligned",
    cutout=fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=6),
)  # fmt: skip


def measure(repeats: int = 5) -> dict[str, float]:
    """CPU seconds of one case and of all, medians, and the share that each further one adds."""
    fine = RING_FLIGHTS[0][1]
    taken: dict[int, list[float]] = {1: [], len(ALL): []}
    for turn in range(repeats + 1):
        for names in (FIRST, ALL):
            start = time.process_time()
            ring_level(RING, fd.steel("S355"), names, fine)
            if turn:
                taken[len(names)].append(time.process_time() - start)
    one, more = (statistics.median(seconds) for seconds in taken.values())
    return {"one_s": one, "all_s": more, "further_share": (more / one - 1) / (len(ALL) - 1)}


def main() -> None:
    """Print the three numbers."""
    found = measure(*map(int, sys.argv[1:2]))
    print(
        f"one case {found['one_s']:.3f} s CPU, {len(ALL)} cases {found['all_s']:.3f} s: "
        f"each further one {found['further_share']:.3f} of the first"
    )


if __name__ == "__main__":
    main()
