"""Which variants of a study stand on the slider of a page, and between which of them it may go."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..study import Results, StoredVariant
from ..units import unit_of
from .conditions import chosen_variant
from .parts import axis_number, part_of
from .words import name_of, plain

__all__ = ["MOST_VARIANTS", "NEAR_ROUND", "Line", "axis_data", "label", "line_of", "smooth_ones"]

MOST_VARIANTS = 12
FEWEST_BETWEEN = 3  # computed values that make it honest to go between them
NEAR_ROUND = 0.75  # of a full round: beyond, the two corners of an end join and the peak rises again


@dataclass(frozen=True)
class Line:
    """Variants along one numeric axis of the part, at the other values of the chosen one."""

    column: str
    variants: tuple[StoredVariant, ...]
    numbers: tuple[float, ...]
    chosen: int


def line_of(results: Results, chosen: StoredVariant | None = None) -> Line | None:
    """Variants along the first numeric axis of the part, its corner radius before others; the chosen one alone where there is none.

    chosen: the variant that the report recommends; for None that of the lowest worst condition, or load. None where no
    variant has stored unit cases. Of many variants only those on the line are kept in memory.
    """
    usable: list[tuple[int, dict[str, Any]]] = []
    best: tuple[float, int] | None = None
    for n, variant in enumerate(results.variants):
        peaks = [abs(a.peak.value) for a in variant.answers if a.peak.value is not None and a.turning]
        if peaks and (variant.folder / "edge.npz").is_file():
            usable.append((n, variant.axes))
            best = min(best or (math.inf, n), (max(peaks), n))
    if best is None:
        return None
    chosen = chosen or chosen_variant(results) or results.variants[best[1]]
    numeric = [
        a.column
        for a in results.axes
        if a.key.startswith("part.")
        and (axis_number(chosen, a.column) or 0.0) > 0.0
        and len(set(map(str, a.values))) > 1
    ]
    numeric.sort(key=lambda c: not c.endswith("corner_radius_mm"))
    for column in numeric:
        rest = {c: x for c, x in chosen.axes.items() if c != column}
        members = [results.variants[n] for n, axes in usable if {c: x for c, x in axes.items() if c != column} == rest]
        found = sorted(
            ((x, v) for v in members if (x := axis_number(v, column)) is not None and x > 0), key=lambda p: p[0]
        )
        at = next((i for i, (_, v) in enumerate(found) if v.key == chosen.key), None)
        if at is None or len(found) < 2 or len({x for x, _ in found}) < len(found):
            continue
        if len(found) > MOST_VARIANTS:
            some = sorted({*np.linspace(0, len(found) - 1, MOST_VARIANTS - 1).round().astype(int).tolist(), at})
            found, at = [found[i] for i in some], some.index(at)
        return Line(column, tuple(v for _, v in found), tuple(x for x, _ in found), at)
    return Line("", (chosen,), (1.0,), 0) if chosen.edge is not None else None


def smooth_ones(line: Line) -> list[bool]:
    """Which variants may be gone between: not those whose corners are near to join; none where too few are left."""
    out = []
    for variant, number in zip(line.variants, line.numbers, strict=True):
        part = part_of(variant.inputs)
        cutout = getattr(part, "cutout", None)
        round_mm = min(getattr(cutout, "half_x_mm", 0.0), getattr(cutout, "half_y_mm", 0.0))
        joined = line.column.endswith("corner_radius_mm") and number > NEAR_ROUND * round_mm
        out.append(bool(line.column) and not joined)
    return out if sum(out) >= FEWEST_BETWEEN else [False] * len(out)


def axis_data(line: Line, smooth: Sequence[bool]) -> dict[str, Any] | None:
    """The axis for the page; None where nothing varies."""
    if not line.column:
        return None
    left = [label(line, n) for n, s in enumerate(smooth) if not s]
    beyond = f"{', '.join(left)}: computed, chosen by name" if left and any(smooth) else ""
    return {"name": name_of(line.column), "unit": unit_of(line.column), "smooth": any(smooth), "beyond": beyond}


def label(line: Line, n: int) -> str:
    """What a variant is called on the slider."""
    if not line.column:
        return "this part"
    value, number = line.variants[n].axes.get(line.column), line.numbers[n]
    return f"full round, {number:g}" if value == "full" else plain(value)
