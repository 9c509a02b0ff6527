"""How long it takes to choose plates for positions, proven: two planes, random unbalances, positions even or anywhere.

Processor seconds of both planes together, numerical libraries on one thread. `gap`: what could still be gained, as a
share of the permissible unbalance, by the proven bound.

    OMP_NUM_THREADS=1 python tests/benchmarks/mass_positions.py
"""

from __future__ import annotations

import math
import statistics
import time

import numpy as np

from femdrum.model.balance_input import MassPositions
from femdrum.rotor.mass_positions import MassPlan, best_masses

__all__ = ["CASES", "main", "measure", "positions"]

TURNS = 5
PERMISSIBLE_G_MM = 229e3
# positions, most of them used, even or anywhere, residual that is enough
CASES: tuple[tuple[int, int | None, bool, float], ...] = (
    (8, None, True, 0.0),
    (12, None, True, 0.0),
    (24, 3, True, 0.0),
    (24, 4, True, 0.0),
    (24, 6, True, 0.0),
    (24, None, True, 0.0),
    (24, None, True, 0.1),
    (16, None, False, 0.0),
    (24, 4, False, 0.0),
    (24, None, False, 0.0),
    (48, 4, True, 0.0),
)


def positions(rng: np.random.Generator, count: int, most_used: int | None, even: bool) -> MassPositions:
    """Up to three plates of 250 g on each position, at 330 mm."""
    if even:
        return MassPositions.even(count, z_mm=0, radius_mm=330, plate_g=250, most_plates=3, most_used=most_used)
    angles = np.sort(rng.choice(90, count, replace=False)) * 4.0 + rng.uniform(0, 2, count)
    return MassPositions(
        angles_deg=tuple(float(a) for a in angles),
        z_mm=0,
        radius_mm=330,
        plate_g=250,
        most_plates=3,
        most_used=most_used,
    )


def measure(count: int, most_used: int | None, even: bool, enough: float) -> list[tuple[float, MassPlan]]:
    """Processor seconds and plan of each random case; the same cases in every run."""
    rng = np.random.default_rng(1)
    out = []
    for _ in range(TURNS):
        there = positions(rng, count, most_used, even)
        size = 4 * there.quantum_g_mm * rng.random(2)
        unbalance = [complex(u) for u in size * np.exp(2j * math.pi * rng.random(2))]
        start = time.process_time()
        plan = best_masses(unbalance, [there, there], [PERMISSIBLE_G_MM] * 2, enough_share=enough)
        out.append((time.process_time() - start, plan))
    return out


def main() -> None:
    """Print a line per case."""
    print(
        f"{'positions':>9} {'used':>5} {'':9} {'enough':>6}  {'s, median':>9} {'s, most':>8}  proven  worst share  gap"
    )
    for count, most_used, even, enough in CASES:
        found = measure(count, most_used, even, enough)
        seconds = [s for s, _ in found]
        plans = [plan for _, plan in found]
        print(
            f"{count:9} {most_used or 'all':>5} {'even' if even else 'anywhere':9} {enough:6.1f}  "
            f"{statistics.median(seconds):9.2f} {max(seconds):8.2f}  {sum(p.proven for p in plans)} of {TURNS}  "
            f"{max(p.share for p in plans):11.1e}  {max(p.gap for p in plans):.0e}",
            flush=True,
        )


if __name__ == "__main__":
    main()
