"""Random rings with over-refined peaks: what the bands of solids are fixed on (even numbers) and judged on (odd ones).

Run as a script, it computes `ring_band_reference.csv` anew (an hour on one core; it goes on where it stopped):

    python tests/exact/ring_cases.py [FIRST LAST]

The reference is order 5 on cells finer than any the ladder settles on; its own error is the change from order 4 there.
"""

from __future__ import annotations

import csv
import math
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

import femdrum as fd
from femdrum.errors import FemdrumError
from femdrum.fem.cell import Fineness

TABLE = Path(__file__).with_name("ring_band_reference.csv")
COUNT = 200
CASES = ("rotation", "axial", "internal_pressure", "hung")
STEEL = fd.steel("S355")
FINE = tuple(Fineness(order=p, cells_per_arc=3, wall_cells=4, first_layer=0.75) for p in (4, 5))


def ring(number: int) -> fd.Ring | None:
    """The ring with this number, None where the draw cannot be built. Equal numbers give equal rings."""
    draw = np.random.default_rng(74_000 + number)

    def between(low: float, high: float) -> float:
        """Evenly in the logarithm, to three digits, so that the table says exactly what was solved."""
        return float(f"{math.exp(draw.uniform(math.log(low), math.log(high))):.3g}")

    outer = between(350, 1200)
    wall = between(0.03 * outer, 0.13 * outer)
    slots = int(draw.choice([2, 3, 4, 6, 8]))
    rows = str(draw.choice(["aligned", "alternate"]))
    spacing = math.pi * (outer - wall) / slots
    around = min(between(0.1, 0.55) * spacing, 0.6 * (outer - 2 * wall))
    around = float(f"{min(max(around, 20.0), 220.0):.3g}")
    axial = float(f"{min(max(around * between(0.5, 2.5), 20.0), 350.0):.3g}")
    pitch = float(f"{axial / between(0.3, 0.85):.3g}")
    short = min(around, axial)
    kind = draw.uniform()
    radius = between(max(0.05 * short, 0.05 * wall, 1.5), max(0.48 * short, 2.0))
    edge_break = float(f"{0.05 * wall:.2g}") if draw.uniform() < 0.1 else 0.0
    try:
        if kind < 0.08:
            cutout: fd.Circle | fd.Slot = fd.Circle(diameter_mm=around)
        else:
            cutout = fd.Slot(
                around_mm=around, axial_mm=axial, corner_radius_mm="full" if kind < 0.16 else min(radius, 0.49 * short)
            )
        return fd.Ring(
            outer_diameter_mm=outer,
            wall_mm=wall,
            pitch_mm=pitch,
            slots_around=slots,
            rows=rows,
            cutout=cutout,
            edge_break_mm=edge_break,
        )
    except FemdrumError:
        return None


@dataclass(frozen=True)
class Reference:
    """Largest tension and compression of a unit case on a ring, and the change of the governing one from order 4 to 5."""

    number: int
    case: str
    tension: float
    compression: float
    own_error: float


def references() -> list[Reference]:
    """The stored table."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return [
            Reference(
                int(row["ring"]),
                row["case"],
                float(row["tension_per_unit"]),
                float(row["compression_per_unit"]),
                float(row["own_error"]),
            )
            for row in rows
        ]


def solve(number: int) -> list[Reference]:
    """The over-refined peaks of one ring; empty where it cannot be drawn."""
    from femdrum.fem.ring_level import ring_level

    part = ring(number)
    if part is None:
        return []
    coarse, fine = (ring_level(part, STEEL, CASES, fineness).edge for fineness in FINE)
    before, after = (edge.combine(np.eye(len(CASES))) for edge in (coarse, fine))
    out = []
    for i, case in enumerate(CASES):
        old, new = before.peaks(i), after.peaks(i)
        assert old.peak.value is not None
        assert new.peak.value is not None
        assert new.tension.value is not None
        assert new.compression.value is not None
        own = abs(new.peak.value - old.peak.value)
        out.append(Reference(number, case, new.tension.value, new.compression.value, own))
    return out


def main() -> None:
    """Compute what the table lacks."""
    first, last = (int(word) for word in sys.argv[1:3]) if len(sys.argv) > 2 else (0, COUNT)
    if not TABLE.exists():
        TABLE.write_text(
            "# computed: tests/exact/ring_cases.py, order 5 on cells finer than the ladder's; own_error: change from order 4\n"
            "# signed principal stress on the slot's edge and near surfaces, MPa per unit of the case\n"
            "ring,case,tension_per_unit,compression_per_unit,own_error\n",
            encoding="utf-8",
        )
    done = {r.number for r in references()}
    for number in range(first, last):
        if number in done:
            continue
        began = time.perf_counter()
        try:
            found = solve(number)
        except FemdrumError as error:
            print(number, "no solution:", error, flush=True)
            continue
        with TABLE.open("a", encoding="utf-8", newline="") as file:
            for r in found:
                file.write(f"{r.number},{r.case},{r.tension:.8g},{r.compression:.8g},{r.own_error:.3g}\n")
        print(number, len(found), f"{time.perf_counter() - began:.1f} s", flush=True)


if __name__ == "__main__":
    main()
