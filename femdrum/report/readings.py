"""What can be read off a chart by pointing: places of its data points in the SVG, each with its read-out in words."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["MOST_POINTS", "Reading", "Readings", "write_points"]

MOST_POINTS = 400
SVG_DPI = 72.0


@dataclass(frozen=True)
class Reading:
    """x, y: in the SVG's own coordinates, y downward. text: `corner radius 8 mm: Kt 3.21 ± 0.02`."""

    x: float
    y: float
    text: str


class Readings:
    """Points that a picture's paint has noted, by axes, in data coordinates."""

    def __init__(self) -> None:
        self._found: list[tuple[Axes, NDArray[np.float64], tuple[str, ...], bool]] = []

    def note(self, ax: Axes, x: Any, y: Any, texts: Sequence[str], *, few: bool = True) -> None:
        """Points of one series on these axes. few: they are marks and all kept; else a curve, which may be thinned."""
        places = np.column_stack([np.asarray(x, float), np.asarray(y, float)])
        if len(places) != len(texts):
            raise ValueError(f"{len(texts)} texts for {len(places)} points")
        self._found.append((ax, places, tuple(texts), few))

    def __len__(self) -> int:
        return sum(len(texts) for _, _, texts, _ in self._found)

    def placed(self, figure: Figure) -> list[Reading]:
        """All of them in the SVG's coordinates, once the figure is laid out; at most MOST_POINTS, curves thinned evenly.

        Points outside their axes, or without a number, are left out.
        """
        per_point = SVG_DPI / figure.dpi
        height = figure.get_figheight() * SVG_DPI
        series: list[tuple[list[Reading], bool]] = []
        for ax, places, texts, few in self._found:
            with np.errstate(all="ignore"):
                pixels = np.asarray(ax.transData.transform(places), float)
            box = ax.bbox
            inside = np.isfinite(pixels).all(1)
            inside &= (pixels[:, 0] >= box.x0 - 1) & (pixels[:, 0] <= box.x1 + 1)
            inside &= (pixels[:, 1] >= box.y0 - 1) & (pixels[:, 1] <= box.y1 + 1)
            found = [
                Reading(round(float(p[0] * per_point), 2), round(float(height - p[1] * per_point), 2), text)
                for p, text, here in zip(pixels, texts, inside, strict=True)
                if here
            ]
            series.append((found, few))
        return list(_thinned(series))


def _thinned(series: Sequence[tuple[list[Reading], bool]]) -> Iterable[Reading]:
    marks = sum(len(found) for found, few in series if few)
    curves = [len(found) for found, few in series if not few]
    room = max(MOST_POINTS - marks, MOST_POINTS // 4 if curves else 0)
    share = min(1.0, room / sum(curves)) if sum(curves) else 1.0
    keep = min(1.0, (MOST_POINTS - share * sum(curves)) / marks) if marks else 1.0
    for found, few in series:
        count = int((keep if few else share) * len(found) + 1e-9)
        if count < len(found):
            at: Any = np.unique(np.linspace(0, len(found) - 1, count).round().astype(int)) if count else []
            found = [found[i] for i in at]
        yield from found


def write_points(readings: Readings, figure: Figure, path: Path) -> Path | None:
    """`{"width", "height", "points": [{"x", "y", "text"}]}` in the SVG's coordinates; None, and no file, where nothing can be read."""
    points = readings.placed(figure)
    if not points:
        path.unlink(missing_ok=True)
        return None
    told = {
        "width": round(figure.get_figwidth() * SVG_DPI, 4),
        "height": round(figure.get_figheight() * SVG_DPI, 4),
        "points": [{"x": p.x, "y": p.y, "text": p.text} for p in points],
    }
    path.write_text(json.dumps(told, ensure_ascii=False) + "\n", encoding="utf-8")
    return path
