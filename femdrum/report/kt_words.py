"""Words and ticks of the Kt chart: values beside points, ticks that do not touch, sources of fits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..quantity import Quantity
from .words import bare, short_source

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["fit_text", "spread_ticks", "value_labels"]


def value_labels(
    ax: Axes, found: Sequence[tuple[float, Quantity]], size_mm: tuple[float, float], *, headroom: bool
) -> None:
    """Values beside their points, where they hide neither points nor each other; headroom: the scale may grow upward for them."""
    if not found:
        return
    (x0, x1), (y0, y1) = ax.get_xlim(), ax.get_ylim()
    if headroom:
        y1 += 0.07 * (y1 - y0)
        ax.set_ylim(y0, y1)
    wide, high = size_mm[0] - 22.0, 0.6 * size_mm[1]
    log = ax.get_xscale() == "log"

    def place(x: float, q: Quantity) -> tuple[float, float]:
        share = np.log(x / x0) / np.log(x1 / x0) if log else (x - x0) / (x1 - x0)
        return float(share) * wide, (float(q) - y0) / (y1 - y0) * high

    points = [place(x, q) for x, q in found]
    told: list[tuple[float, float]] = []
    for (x, q), (at, up) in zip(found, points, strict=True):
        half = 0.62 * len(bare(q))
        left = at < half
        at_words = half if left else at
        hides = any(a != at and abs(at_words - a) < half + 1.5 and -1.0 < u - up < 6.0 for a, u in points)
        if hides or any(abs(at_words - a) < 2.1 * half and abs(up - u) < 4.0 for a, u in told):
            continue
        told.append((at_words, up))
        ax.annotate(bare(q), (x, float(q)), (-3 if left else 0, 7), textcoords="offset points", ha="left" if left else "center",
                    fontsize=6.5, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.8}, zorder=5)  # fmt: skip


def spread_ticks(values: Sequence[float], share: float) -> list[float]:
    """Values for ticks of a logarithmic axis, without those that would print on top of each other."""
    kept = [values[0]]
    for v in values[1:]:
        if np.log(v / kept[-1]) > share * np.log(values[-1] / values[0]):
            kept.append(v)
    return kept


def fit_text(name: str, source: str, kt: Any, x: Any, remarks: Sequence[str], axis: str, column: str) -> str:
    """A fit's name, source and range on the axis, for a legend."""
    from ..units import unit_of

    good = np.isfinite(kt)
    text = f"{name}: {short_source(source, 170)}"
    if good.any() and not good.all():
        text += f"; inside its range only, here {axis} {x[good][0]:.3g} to {x[good][-1]:.3g} {unit_of(column)}".rstrip()
    return "; ".join([text, *remarks])
