"""How fast the exact plane solution is, and how honest: sweeps at a relative error of 1e-6, by surroundings.

A sweep varies one size of one cutout; times are processor time per case, the least of REPEATS, numerical libraries on
one thread. True errors are judged by a solution that promises 1e-10.

    OMP_NUM_THREADS=1 python tests/benchmarks/exact_plane.py
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from femdrum.handbook import boundary_integral
from femdrum.handbook.domains import Domain, FinitePlate, InfinitePlate, Row, Strip, StripRow
from femdrum.handbook.exact import ExactKt, PlaneCase, exact_kt, exact_kts
from femdrum.model.cutout import Circle, Cutout, Ellipse, Slot

__all__ = ["KINDS", "main", "measure", "sweeps"]

ERROR = 1e-6
JUDGE = 1e-10
REPEATS = 3
VARIANTS = 12
LOADS = ({"stress_x": 1.0}, {"stress_y": 1.0}, {"shear": 1.0}, {"stress_x": 1.0, "stress_y": 0.5, "shear": 0.3})

KINDS: dict[str, Callable[[Cutout, float, float], Domain]] = {
    "infinite plate": lambda cutout, across, along: InfinitePlate(),
    "row": lambda cutout, across, along: Row(pitch_mm=along * 2 * cutout.half_x_mm),
    "strip": lambda cutout, across, along: Strip(width_mm=across * 2 * cutout.half_y_mm),
    "row in a strip": lambda cutout, across, along: StripRow(
        pitch_mm=along * 2 * cutout.half_x_mm, width_mm=across * 2 * cutout.half_y_mm
    ),
    "finite plate": lambda cutout, across, along: FinitePlate(
        length_mm=(1 + along) * 2 * cutout.half_x_mm, width_mm=across * 2 * cutout.half_y_mm
    ),
}


def _cutouts() -> list[list[Cutout]]:
    """Cutouts of each sweep: slots from a twentieth of the short side to the full round, ellipses, circles."""
    shares = np.linspace(0.05, 0.5, VARIANTS)
    slots: list[list[Cutout]] = [
        [Slot(size_x_mm=x, size_y_mm=y, corner_radius_mm=float(s) * min(x, y)) for s in shares]
        for x, y in ((60.0, 120.0), (120.0, 60.0), (60.0, 60.0), (40.0, 160.0))
    ]
    ellipses: list[Cutout] = [Ellipse(size_x_mm=60, size_y_mm=float(y)) for y in np.linspace(20, 180, VARIANTS)]
    circles: list[Cutout] = [Circle(diameter_mm=float(d)) for d in np.linspace(10, 100, VARIANTS)]
    return [*slots, ellipses, circles]


def sweeps(kind: str) -> list[list[PlaneCase]]:
    """Sweeps of one kind: over the cutout's own size in fixed proportions, and over the room around it."""
    out = []
    for number, cutouts in enumerate(_cutouts()):
        load = LOADS[number % len(LOADS)]
        across, along = (1.5, 3.0, 1.25, 2.0)[number % 4], (1.3, 1.7, 2.5, 4.0)[number % 4]
        out.append([PlaneCase(cutout=c, domain=KINDS[kind](c, across, along), **load) for c in cutouts])
        if kind != "infinite plate":
            rooms = np.geomspace(1.2, 5.0, VARIANTS)
            middle = cutouts[VARIANTS // 3]
            out.append(
                [PlaneCase(cutout=middle, domain=KINDS[kind](middle, float(r), float(r)), **load) for r in rooms]
            )
    return out


def _timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Least processor seconds of REPEATS from cold stores, and the last answer."""
    least = float("inf")
    answer = None
    for _ in range(REPEATS):
        for stored in (boundary_integral.plane_solution, boundary_integral._cuts, boundary_integral._hole_cuts):
            stored.cache_clear()
        start = time.process_time()
        answer = work()
        least = min(least, time.process_time() - start)
    return least, answer


def _single(case: PlaneCase, rel: float) -> ExactKt:
    return exact_kt(
        case.cutout, case.domain, stress_x=case.stress_x, stress_y=case.stress_y, shear=case.shear, rel=rel
    )  # fmt: skip


def measure() -> dict[str, dict[str, float]]:
    """Numbers per kind of surroundings; seconds are processor seconds per case."""
    out = {}
    exact_kts(sweeps("row")[0])  # what the first call loads is not the sweep's
    for kind in KINDS:
        seconds, answers, cases = [], [], []
        for sweep in sweeps(kind):
            spent, found = _timed(lambda sweep=sweep: exact_kts(sweep, rel=ERROR))  # type: ignore[misc]
            seconds.append(spent / len(sweep))
            answers += found
            cases += sweep
        single = [_timed(lambda case=case: _single(case, ERROR))[0] for case in cases[:: VARIANTS // 3]]  # type: ignore[misc]
        true = [abs(a.kt / _single(case, JUDGE).kt - 1) for a, case in zip(answers, cases, strict=True)]
        out[kind] = {
            "cases": len(cases),
            "sweep_median_s": statistics.median(seconds),
            "sweep_worst_s": max(seconds),
            "single_median_s": statistics.median(single),
            "single_worst_s": max(single),
            "unknowns_median": statistics.median(a.unknowns for a in answers),
            "unknowns_most": max(a.unknowns for a in answers),
            "stated_error_most": max(a.est_rel_err for a in answers),
            "true_error_median": statistics.median(true),
            "true_error_most": max(true),
            "covered": sum(t <= a.est_rel_err + JUDGE for t, a in zip(true, answers, strict=True)) / len(cases),
        }
    return out


def main() -> None:
    """Print a line per kind of surroundings."""
    print(
        f"{'':15} {'cases':>5}  {'ms per case in a sweep':^22}  {'ms alone':^15}  {'unknowns':^11}  stated   true     covered"
    )
    print(
        f"{'':15} {'':5}  {'median':>11} {'worst':>10}  {'median':>7} {'worst':>7}  {'med.':>5} {'most':>5}  most     most"
    )
    for kind, m in measure().items():
        print(
            f"{kind:15} {m['cases']:5.0f}  {1e3 * m['sweep_median_s']:11.2f} {1e3 * m['sweep_worst_s']:10.2f}"
            f"  {1e3 * m['single_median_s']:7.2f} {1e3 * m['single_worst_s']:7.2f}"
            f"  {m['unknowns_median']:5.0f} {m['unknowns_most']:5.0f}"
            f"  {m['stated_error_most']:.1e}  {m['true_error_most']:.1e}  {100 * m['covered']:.1f} %"
        )


if __name__ == "__main__":
    main()
