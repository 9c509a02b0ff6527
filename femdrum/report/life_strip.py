"""Names of a slot's flanks and corners above a plot over the arc length of its edge."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .parts import Part
from .places import arcs_of, sides_of
from .style import INK, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["Loop", "name_strip"]

STRIP = 0.085  # height of the strip of names, of the plot's height
LETTERS = 80.0  # of the strip's width
Array = NDArray[np.float64]


class Loop:
    """The closed edge cut open where no flank, corner or round end is cut in two."""

    def __init__(self, part: Part, s_mm: Array) -> None:
        self.part = part
        self.total = float(s_mm[-1] + (s_mm[-1] - s_mm[-2]))
        self.arcs = arcs_of(part, self.total)
        self.start = self.arcs[-1][0] - self.total if self.arcs else -self.total / 16
        self.order = np.argsort(self.place(s_mm), kind="stable")
        shown = self.place(s_mm)[self.order]
        self.x = np.append(shown, shown[0] + self.total)

    def place(self, s_mm: Array) -> Array:
        """Where an arc length is drawn."""
        return np.asarray((s_mm - self.start) % self.total + self.start)

    def closed(self, values: Array) -> Array:
        """Values along the edge in the order of `x`, the first again at the end."""
        return np.append(values[self.order], values[self.order[0]])


def name_strip(ax: Axes, loop: Loop, letters: float = LETTERS) -> float:
    """Draw the strip and shade curved stretches; returns the padding that a title above it needs, in points.

    letters: how many have room along the whole strip.
    """
    from matplotlib.patches import Rectangle

    across, middle = ax.get_xaxis_transform(), 1.015 + 0.5 * STRIP
    sides = sides_of(loop.part)
    if not loop.arcs:
        for n, side in enumerate(sides):
            at = 0.25 * n * loop.total
            ax.text(at, middle, f"{side} side", transform=across, ha="center", va="center", fontsize=7)
        return 26.0
    shown = sorted(((a - loop.start + 1e-9) % loop.total + loop.start, b - a, name) for a, b, name in loop.arcs)
    pad = 26.0
    for n, (left, width, name) in enumerate(shown):
        end = shown[n + 1][0] if n + 1 < len(shown) else loop.start + loop.total
        side = sides[round(0.5 * (left + width + end) / (0.25 * loop.total)) % 4]
        ax.axvspan(left, left + width, color=PALE, zorder=0, linewidth=0)
        words = ("corner arc", "arc") if name.startswith("corner") else (name, "round")
        for low, high, (long, short), colour in (
            (left, left + width, words, PALE), (left + width, end, (f"{side} flank", side), "white"),
        ):  # fmt: skip
            room, at = (high - low) / loop.total * letters, 0.5 * (low + high)
            ax.add_patch(Rectangle((low, 1.015), high - low, STRIP, transform=across, facecolor=colour, edgecolor=INK,
                                   linewidth=0.5, clip_on=False, zorder=5))  # fmt: skip
            if len(short) > 1.2 * room and len(short) > 3:
                # a flank that is shorter than its name: the name stands above
                ax.text(at, 1.03 + STRIP, long, transform=across, ha="center", va="bottom", fontsize=7, zorder=6)
                pad = 37.0
                continue
            turned = len(short) > 1.2 * room
            ax.text(
                at, middle, long if len(long) <= room else short, transform=across, ha="center", fontsize=7, zorder=6,
                va="center" if turned else "center_baseline", rotation=90 if turned else 0,
            )  # fmt: skip
    return pad
