"""Peak memory of a ring variant, each in a fresh process.

python tests/benchmarks/memory.py
"""

from __future__ import annotations

import subprocess
import sys

__all__ = ["main", "measure"]

CHILD = """
import sys
import femdrum as fd
slot = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=float(sys.argv[1]))
ring = fd.Ring(outer_diameter_mm=900, wall_mm=40, pitch_mm=200, slots_around=6, rows="aligned", cutout=slot)
answer = fd.solve(ring, fd.Rotation(speed_rpm=1000), fd.steel("S355"), error=0.01)
with open("/proc/self/status") as status:  # not ru_maxrss: it counts the parent at the fork
    peak = next(line.split()[1] for line in status if line.startswith("VmHWM"))
print(int(peak) / 1024, answer.unknowns)
"""


def measure() -> dict[float, tuple[float, int]]:
    """MiB and unknowns by corner radius in mm."""
    found = {}
    for radius in (2.0, 6.0, 15.0, 30.0):
        done = subprocess.run([sys.executable, "-c", CHILD, str(radius)], capture_output=True, text=True, check=True)
        mib, unknowns = done.stdout.split()
        found[radius] = (float(mib), int(unknowns))
    return found


def main() -> None:
    """Print a line for each radius."""
    for radius, (mib, unknowns) in measure().items():
        print(f"r {radius:4g}  {mib:6.0f} MiB  {unknowns:6d} unknowns")


if __name__ == "__main__":
    main()
