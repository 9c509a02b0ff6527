"""Stress along a slot's edge for one condition: each load at its factor, and all together, at the depth of the peak."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..edge import SurfaceStress
from .edge_picture import where_in_words
from .parts import Part
from .picture import NoData, Picture
from .places import ON_RIM_MM, arcs_of, place_name, sides_of
from .shares_picture import REST, kept_and_rest
from .style import GREY, INK, LOOKS, PALE, below
from .words import file_name, signed, with_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["PerimeterPicture"]

Array = NDArray[np.float64]

LEAST = 0.02  # of the largest load: several that stay below are drawn as one line
STRIP = 0.085  # height of the strip of names above the plot, of the plot's height
TURNED = 3  # letters that fit into the strip turned; longer names of narrow flanks stand above it


class PerimeterPicture(Picture):
    """One condition of one part.

    loads: surface stress of each load at its share and angle, one state each; names: what they are called. combined:
    of their sum, one state. part: whose slot it is; it gives the names of flanks and corners.
    """

    size_mm = (165.0, 112.0)

    def __init__(
        self, condition: str, loads: SurfaceStress, names: Sequence[str], combined: SurfaceStress, part: Part, key: str = ""
    ) -> None:  # fmt: skip
        self.condition, self.loads, self.names, self.combined, self.part = condition, loads, list(names), combined, part
        if len(self.names) != loads.stress.shape[0]:
            raise ValueError(f"{len(self.names)} names for {loads.stress.shape[0]} loads")
        self.peaks = combined.peaks()
        spot = self.peaks.at
        if spot is None or not self.peaks.peak.value:
            raise NoData("this condition leaves no stress on the edge")
        self.spot = spot
        self.name = f"perimeter-{key + '-' if key else ''}{file_name(condition)}"
        places = loads.stress[:, spot.slot, :, spot.d_index, 0]
        self.kept, self.rest = kept_and_rest(
            {n: float(np.max(np.abs(v))) for n, v in zip(self.names, places, strict=True)}, LEAST
        )
        self.widen(165.0)
        self.caption = (
            f"Condition \u201c{condition}\u201d{self._slot_words(', ')}: stress along the edge, tension positive, of each load by "
            f"itself (thin) and of all together (thick), {self._depth_words()}. Stresses in one direction add up, place by "
            "place; their maxima do not. Arc length is counted counter-clockwise seen from outside, zero at +x. Grey "
            "stretches are corner arcs."
        )
        tilt = self._tilt_deg()
        if tilt > 10:
            self.caption += (
                f" The peak is a principal stress {tilt:.0f}° from along the edge, so it lies off the thick line."
            )
        if self.rest:
            self.caption += f" {len(self.rest)} small loads are drawn as one: {', '.join(self.rest)}."

    def needed_mm(self) -> float:
        """Plot, legend and title."""
        rows = -(-(len(self.kept) + bool(self.rest) + 1) // self._columns())
        return (84.0 if self.tight else 100.0) + 4.0 * rows + 4.0 * self._title().count("\n")

    def _title(self) -> str:
        depth = where_in_words(self.spot, self.part).replace("(wall ", "(wall\u00a0").replace(" mm", "\u00a0mm")
        return self.title(f"Load by load along the edge, \u201c{self.condition}\u201d{self._slot_words(', ')}{depth}")

    def _columns(self) -> int:
        longest = max(len(n) for n in [*self.kept, "all loads together"])
        if self.tight:
            return 2 if longest <= 18 else 1
        return 3 if longest <= 26 else 2 if longest <= 46 else 1

    def _slot_words(self, before: str) -> str:
        several = self.combined.stress.shape[1] > 1
        return f"{before}slot {self.spot.slot}" if several else ""

    def _depth_words(self) -> str:
        away = float(self.combined.offset_mm[self.spot.d_index])
        words = where_in_words(self.spot, self.part).removeprefix(", ")
        if away > ON_RIM_MM:
            return f"{words}, {away:.3g} mm from the rim"
        return f"on the slot's wall {words}" if words else "on the cutout's edge"

    def _tilt_deg(self) -> float:
        along, across, shear = self.combined.stress[0, self.spot.slot, self.spot.s_index, self.spot.d_index]
        angle = 0.5 * math.atan2(2 * shear, along - across)
        if float(self.peaks.peak) < 0:
            angle += 0.5 * math.pi
        return abs((math.degrees(angle) + 90) % 180 - 90)

    def lines(self) -> list[tuple[str, Array]]:
        """Name and stress along the edge [s] of each drawn load."""
        each = self.loads.stress[:, self.spot.slot, :, self.spot.d_index, 0]
        found = [(n, each[i]) for i, n in enumerate(self.names) if n in self.kept]
        if self.rest:
            found.append((REST, np.sum([each[i] for i, n in enumerate(self.names) if n in self.rest], axis=0)))
        return found

    def paint(self, ax: Axes) -> None:
        """Lines, the peak, names of flanks and corners."""
        s = self.combined.s_mm
        total = float(s[-1] + (s[-1] - s[-2]))
        arcs = arcs_of(self.part, total)
        # no flank, corner or round end is cut in two; without flanks neither is a peak on an axis or midway between
        start = arcs[-1][0] - total if arcs else -total / 16
        shown = (s - start) % total + start
        order = np.argsort(shown, kind="stable")
        x = np.append(shown[order], shown[order[0]] + total)

        def closed(values: Array) -> Array:
            return np.append(values[order], values[order[0]])

        together = closed(self.combined.stress[0, self.spot.slot, :, self.spot.d_index, 0])
        low, high = float(together.min()), float(together.max())
        every = max(1, x.size // 9)
        for n, (name, values) in enumerate(self.lines()):
            look, y = LOOKS[n % len(LOOKS)], closed(values)
            colour = GREY if name == REST else look.colour
            ax.plot(x, y, color=colour, linestyle=look.dash, linewidth=0.95, markersize=3.6, marker="" if name == REST else look.marker,
                    markevery=((n * every) // 9, every), label=name, zorder=3)  # fmt: skip
            low, high = min(low, float(y.min())), max(high, float(y.max()))
        self._read(ax, x, start, total, closed)
        ax.plot(x, together, color=INK, linewidth=2.4, label="all loads together", zorder=4, solid_joinstyle="round")
        ax.axhline(0.0, color=INK, linewidth=0.6)
        peak = float(self.peaks.peak)
        low, high = min(low, peak, 0.0), max(high, peak, 0.0)
        room = (0.42 if self.tight else 0.3) * (high - low)
        ax.set_ylim(
            low - (room if peak < 0 else 0.06 * (high - low)), high + (room if peak > 0 else 0.06 * (high - low))
        )
        ax.set_xlim(start, start + total)
        self._mark_peak(ax, start, total)
        above = self._strip(ax, arcs, start, total)
        ax.set_xlabel(
            f"arc length along the edge{self._slot_words(' of ')}, s (mm)" + ("" if self.tight else ", zero at +x")
        )
        ax.set_ylabel("stress along the edge (MPa)")
        ax.set_title(self._title(), pad=37 if above else 26)
        handles, labels = ax.get_legend_handles_labels()
        ax.legend(
            [handles[-1], *handles[:-1]], [labels[-1], *labels[:-1]], ncols=self._columns(), handlelength=3.4, **below(ax)
        )  # fmt: skip

    def _read(self, ax: Axes, x: Array, start: float, total: float, closed: Callable[[Array], Array]) -> None:
        s = np.where(x > start + 0.9999 * total, x - total, x) % total
        together = self.combined.stress[0, self.spot.slot, :, self.spot.d_index, 0]
        for name, values in [("all loads together", together), *self.lines()]:
            y = closed(np.asarray(values))
            texts = [f"{name}, s {a:.1f} mm: {signed(f'{v:.4g}')} MPa" for a, v in zip(s, y, strict=True)]
            self.readings.note(ax, x, y, texts, few=False)

    def _mark_peak(self, ax: Axes, start: float, total: float) -> None:
        quantity = self.peaks.peak
        x, value = (self.spot.s_mm - start) % total + start, float(quantity)
        low, high = ax.get_ylim()
        y = high - 0.12 * (high - low) if value > 0 else low + 0.12 * (high - low)
        ax.errorbar([x], [value], [quantity.band or 0.0], color=INK, marker="o", markersize=5, markerfacecolor="white",
                    capsize=3, zorder=6)  # fmt: skip
        kind = "tension" if value > 0 else "compression"
        place = self._place_words(x, total).replace(", ", ",\n")
        text = f"peak: {kind} {with_unit(quantity)}\nat s = {x:.1f} mm{place}"
        self.readings.note(ax, [x], [value], [text.replace("\n", " ")])
        half = (
            0.0056 * total * max(len(line) for line in text.split("\n")) * 165.0 / self.size_mm[0]
        )  # of the words' width
        half = min(half, 0.5 * total)
        ax.annotate(
            text, (x, value), (min(max(x, start + half), start + total - half), y), ha="center", va="center",
            fontsize=7.5, color=INK, zorder=7, arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.6, "shrinkB": 4},
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.9},
        )  # fmt: skip

    def _place_words(self, x: float, total: float) -> str:
        """`, corner between leading and free-end flanks`, or the flank."""
        name = place_name(self.part, x, total)
        return f", {name}" if name else ""

    def _strip(self, ax: Axes, arcs: list[tuple[float, float, str]], start: float, total: float) -> bool:
        """Names of flanks and corners above the plot, curved stretches shaded through it; True if some are above the strip."""
        from matplotlib.patches import Rectangle

        across, middle = ax.get_xaxis_transform(), 1.015 + 0.5 * STRIP

        def box(left: float, right: float, long: str, short: str, colour: str) -> bool:
            ax.add_patch(Rectangle((left, 1.015), right - left, STRIP, transform=across, facecolor=colour, edgecolor=INK,
                                   linewidth=0.5, clip_on=False, zorder=5))  # fmt: skip
            room = (right - left) / total * self.room_for(80)
            at = 0.5 * (left + right)
            if len(short) > 1.2 * room and len(short) > TURNED:
                ax.text(at, 1.03 + STRIP, long, transform=across, ha="center", va="bottom", fontsize=7, zorder=6)
                return True
            text, turned = (long, False) if len(long) <= room else (short, len(short) > 1.2 * room)
            ax.text(at, middle, text, transform=across, ha="center", fontsize=7, zorder=6,
                    va="center" if turned else "center_baseline", rotation=90 if turned else 0)  # fmt: skip
            return False

        sides = sides_of(self.part)
        if not arcs:
            for n, side in enumerate(sides):
                ax.text(
                    0.25 * n * total, middle, f"{side} side", transform=across, ha="center", va="center", fontsize=7
                )
            return False
        shown = sorted(((a - start + 1e-9) % total + start, b - a, name) for a, b, name in arcs)
        above = False
        for n, (left, width, name) in enumerate(shown):
            ax.axvspan(left, left + width, color=PALE, zorder=0, linewidth=0)
            corner = name.startswith("corner")
            box(left, left + width, "corner arc" if corner else name, "arc" if corner else "round", PALE)
            end = shown[n + 1][0] if n + 1 < len(shown) else start + total
            side = sides[round(0.5 * (left + width + end) / (0.25 * total)) % 4]
            above |= box(left + width, end, f"{side} flank", side, "white")
        return above

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Stress along the edge of every load, also of those drawn as one, and of all together."""
        d, slot = self.spot.d_index, self.spot.slot
        each, place = self.loads.stress[:, slot, :, d, 0], self.combined.place_mm[:, d]
        together = self.combined.stress[0, slot, :, d, 0]
        rows = [
            (slot, float(s), *map(float, place[i]), *map(float, each[:, i]), float(together[i]))
            for i, s in enumerate(self.combined.s_mm)
        ]
        loads = (f"{file_name(name)}_along_MPa" for name in self.names)
        return ("slot", "s_mm", "x_mm", "y_mm", "depth_mm", *loads, "all_together_along_MPa"), rows
