"""Computed points and published fits against the exact plane solution, in per cent."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..study import Results
from .kt_picture import FIT_DASHES, KtPicture
from .lines import KtLine, Lines
from .picture import NoData, Picture
from .style import INK, LOOKS, below
from .words import axis_value, file_name, percent, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["DifferencePicture"]


class DifferencePicture(Picture):
    """Computed points and fits against the exact plane solution, in per cent. For plates, where it is the truth."""

    size_mm = (165.0, 115.0)

    def __init__(
        self, results: Results, case: str | None = None, axis: str | None = None, lines: Lines | None = None
    ) -> None:
        self.kt = KtPicture(results, case, axis, lines)
        self.case, self.lines = self.kt.case, self.kt.lines
        if not self.lines.is_number or self.lines.together or not _plates(self.lines) or not self.kt.has_kt:
            raise NoData("differences from the exact plane solution are drawn for plates over an axis of numbers")
        self.name = f"difference-{file_name(self.case)}"
        self.caption = (
            f"Load \u201c{self.case}\u201d: difference of the computed points (with bands) and of the published fits from the "
            "exact plane solution. Zero is the exact solution; a band that reaches zero holds the true value."
            + (" Points of several lines are drawn a little apart." if len(self.lines.lines) > 1 else "")
        )

    def _rows(self) -> list[tuple[KtLine, str, float, float, float | None, str]]:
        rows: list[tuple[KtLine, str, float, float, float | None, str]] = []
        for line in self.lines.lines:
            curves = self.lines.curves(line)
            if curves is None:
                continue
            exact = curves.exact.get(self.case, np.full(curves.x.size, np.nan))
            for x, variant in zip(line.x, line.variants, strict=True):
                q = self.kt.quantity(variant)
                at = np.flatnonzero(np.isclose(curves.x, x, rtol=1e-9))
                if q.value is None or not at.size or not np.isfinite(exact[at[0]]):
                    continue
                e = float(exact[at[0]])
                rows.append((line, "computed", x, 100 * (q.value / e - 1), 100 * (q.band or 0.0) / e, variant.key))
            for fit in curves.fits.get(self.case, []):
                for x, y, e in zip(curves.x, fit.kt, exact, strict=True):
                    if np.isfinite(y) and np.isfinite(e):
                        rows.append((line, fit.name, float(x), 100 * (y / e - 1), None, ""))
        return rows

    def paint(self, ax: Axes) -> None:
        """Bars and lines around zero."""
        from matplotlib.lines import Line2D

        rows = self._rows()
        several = len(self.lines.lines) > 1
        handles: list[Any] = []
        fits = list(dict.fromkeys(r[1] for r in rows if r[1] != "computed"))
        points = [abs(r[3]) + (r[4] or 0.0) for r in rows if r[1] == "computed"]
        most = max([2.0 * max(points, default=0.1), min(3.5, max((abs(r[3]) for r in rows), default=1.0) * 1.1)])
        off: set[str] = set()
        for n, line in enumerate(self.lines.lines):
            look = LOOKS[n % len(LOOKS)]
            own = [r for r in rows if r[0] is line]
            mine = [r for r in own if r[1] == "computed"]
            label = (line.label if several else "") or "computed, with error band"
            if mine:
                handles.append(ax.errorbar([self.lines.apart(r[2], n) for r in mine], [r[3] for r in mine], [r[4] or 0.0 for r in mine], color=look.colour,
                               linestyle="none", marker=look.marker, capsize=3, elinewidth=1.0, zorder=4, label=label))  # fmt: skip
            for place, name in enumerate(fits):
                theirs = [r for r in own if r[1] == name]
                colour = look.colour if several else LOOKS[(place + 1) % len(LOOKS)].colour
                if theirs:
                    ax.plot([r[2] for r in theirs], [r[3] for r in theirs], color=colour, linestyle=FIT_DASHES[place % len(FIT_DASHES)], linewidth=1.1, zorder=2,
                            marker="x" if len(theirs) == 1 else "", markersize=4)  # fmt: skip
                    if any(abs(r[3]) > most for r in theirs):
                        off.add(name)
        for place, name in enumerate(fits):
            worst = max((r[3] for r in rows if r[1] == name), key=abs)
            text = name + (f" (leaves this scale; at worst {percent(worst / 100)})" if name in off else "")
            text = wrapped(text, 42) if self.tight else text
            handles.append(Line2D([], [], color=INK if several else LOOKS[(place + 1) % len(LOOKS)].colour,
                           linestyle=FIT_DASHES[place % len(FIT_DASHES)], linewidth=1.1, label=text))  # fmt: skip
        self.kt.size_mm = self.size_mm
        self.kt.dress(ax)
        ax.set_ylim(-most, most)
        ax.axhline(0.0, color=INK, linewidth=0.8)
        ax.set_ylabel("difference from the exact\nplane solution (%)")
        ax.set_title(self.title(f"Computed and published against exact, under \u201c{self.case}\u201d"))
        self._read(ax, rows)
        columns = 2 if max(len(str(h.get_label())) for h in handles) <= 52 and not self.tight else 1
        deep = sum(1 + str(h.get_label()).count("\n") for h in handles) if columns == 1 else -(-len(handles) // 2)
        self.size_mm = (self.size_mm[0], (70.0 if self.tight else 92.0) + 3.7 * deep)
        ax.legend(handles=handles, ncols=columns, **below(ax))

    def _read(self, ax: Axes, rows: list[tuple[KtLine, str, float, float, float | None, str]]) -> None:
        """What can be pointed at: points first, then the fits."""
        for computed in (True, False):
            mine = [r for r in rows if (r[1] == "computed") == computed]
            numbers = {id(line): number for number, line in enumerate(self.lines.lines)}
            x = [self.lines.apart(r[2], numbers[id(r[0])]) if computed else r[2] for r in mine]
            texts = [
                f"{r[0].label + ', ' if r[0].label else ''}{axis_value(self.lines.column, float(f'{r[2]:.4g}'))}: "
                f"{'' if computed else r[1] + ' '}{percent(r[3] / 100, None if r[4] is None else r[4] / 100)}"
                f"{'' if r[4] is None else f' ± {r[4]:.2g} %'} from exact"
                for r in mine
            ]
            self.readings.note(ax, x, [r[3] for r in mine], texts, few=computed)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Differences in per cent."""
        rows = [(line.label, what, x, d, band, key) for line, what, x, d, band, key in self._rows()]
        return ("line", "what", self.lines.column, "difference_pct", "band_pct", "variant"), rows


def _plates(lines: Lines) -> bool:
    return {line.variants[0].inputs["part"]["kind"] for line in lines.lines} <= {"plate", "plate_row"}
