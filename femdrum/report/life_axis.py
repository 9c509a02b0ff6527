"""Life over an axis of the study: at the stated survival by both continuations, and the scatter of real drums."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from ..assess.life_words import hours
from ..study import Results, StoredVariant
from ..units import label
from .life_choice import Outcome, outcomes
from .life_draw import spread_out
from .lines import KtLine, Lines, lines_of
from .picture import NoData, Picture
from .style import INK, LOOKS, PALE, below
from .words import file_name, name_of, variant_name, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["LifePicture"]

MOST_LABELLED = 5
LEFT, RIGHT = 0.2, 0.24  # room for words beside the first and the last variant, of the axis
NEAR = 1.25  # lives nearer to each other than this share a number


class LifePicture(Picture):
    """A point for each variant, logarithmic; one line for each value of the other axes."""

    chapter = "life"

    def __init__(self, results: Results, axis: str | None = None, lines: Lines | None = None) -> None:
        found = outcomes(results)
        if not found:
            raise NoData("no variant of this study has a life")
        if len(results.variants) < 2:
            raise NoData("one variant makes no line")
        self.outcomes = {o.variant.key: o for o in found}
        self.scatter = results.scatter
        self.lines = lines or lines_of(results, axis)
        self.target_h, self.survival, self.beyond = found[0].target_h, found[0].survival, found[0].beyond
        self.name = f"life-over-{file_name(name_of(self.lines.column)) if self.lines.column else 'variant'}"
        self.both = self.beyond != "elementary"
        self.banded = any(v.key in self.scatter for line in self.lines.lines for v in line.variants)
        self.widen(165.0)
        over = name_of(self.lines.column) if self.lines.column else "variant"
        self.caption = (
            f"Life of the worst place over {over}, logarithmic: what {100 * self.survival:.4g} % of drums outlive at the computed stress, "
            + ("with the S-N curve beyond its knee as after Haibach, and with the same slope on (elementary)"
               if self.both else "with the S-N curve straight on beyond its knee (elementary)")
            + "."
        )  # fmt: skip
        if self.banded:
            self.caption += (
                " Bars: from the life that 10 % of drums do not reach to the one that 10 % outlive, when sizes, roughness, loads and "
                "strength scatter as stated; the tick across is what half of them outlive."
            )
        if self.lines.left_out:
            self.caption += f" {self.lines.left_out} more lines are in the table of the report and not drawn."

    def needed_mm(self) -> float:
        """Plot and legend."""
        several = len(self.lines.lines) if len(self.lines.lines) > 1 else 0
        folded = 2 if self.tight else 1  # lines of the longer words
        return (86.0 if self.tight else 98.0) + 4.2 * several + 4.2 * folded * (1 + self.both + self.banded)

    def _rows(self, line: KtLine) -> list[tuple[float, StoredVariant, Outcome]]:
        return [
            (x, v, self.outcomes[v.key])
            for x, v in zip(line.x, line.variants, strict=True)
            if v.key in self.outcomes
        ]  # fmt: skip

    def paint(self, ax: Axes) -> None:
        """Bars of scatter, lines of life, target, words."""
        finite = [self.target_h]
        for line in self.lines.lines:
            for _, v, o in self._rows(line):
                s = self.scatter.get(v.key)
                every = [o.worst.life_h, o.worst.life_elementary_h, *((s.p10_h, s.p50_h, s.p90_h) if s else ())]
                finite += [h for h in every if h and math.isfinite(h)]
        low, high = 10.0 ** (math.log10(min(finite)) - 0.35), 10.0 ** (math.log10(max(finite)) + 0.45)
        ax.set_yscale("log")
        ax.set_ylim(low, high)
        self._axis(ax)
        several = len(self.lines.lines) > 1
        for n, line in enumerate(self.lines.lines):
            self._line(ax, line, n, several, high)
        ax.axhspan(low, self.target_h, color=PALE, zorder=0, linewidth=0)
        ax.axhline(self.target_h, color=INK, linestyle=(0, (4, 2)), linewidth=1.3, zorder=2)
        ax.text(
            1.01,
            self.target_h,
            f"target\n{hours(self.target_h)}",
            transform=ax.get_yaxis_transform(),
            va="center",
            fontsize=7.5,
        )
        ax.set_ylabel("life of the worst place (h)")
        ax.set_title(self.title(f"Life over {name_of(self.lines.column) if self.lines.column else 'the variants'}"))
        self._legend(ax, several)

    def _axis(self, ax: Axes) -> None:
        from matplotlib.ticker import NullLocator

        lines = self.lines
        values = lines.values
        if lines.is_number:
            if lines.by_ratio:
                ax.set_xscale("log")
                ratio = max(values[-1] / values[0], 1.5)
                ax.set_xlim(values[0] / ratio**LEFT, values[-1] * ratio**RIGHT)
                ax.xaxis.set_minor_locator(NullLocator())
            else:
                span = values[-1] - values[0] or abs(values[0]) or 1.0
                ax.set_xlim(values[0] - LEFT * span, values[-1] + RIGHT * span)
            if len(values) <= 8:
                ax.set_xticks(values, [f"{v:g}" for v in values])
            ax.set_xlabel(label(lines.column))
        else:
            ax.set_xlim(-0.6, len(lines.categories) - 0.4)
            ax.set_xticks(range(len(lines.categories)), lines.categories)
            ax.set_xlabel(name_of(lines.column) if lines.column else "variant")
        ax.grid(visible=False, axis="x")

    def _line(self, ax: Axes, line: KtLine, n: int, several: bool, high: float) -> None:
        look = LOOKS[n % len(LOOKS)]
        rows = self._rows(line)
        joined = self.lines.is_number
        labelled = not several and len(rows) <= MOST_LABELLED and not (self.tight and self.banded)
        for x0, variant, outcome in rows:
            x, s = self.lines.apart(x0, n) if several else x0, self.scatter.get(variant.key)
            if s is not None and s.p10_h and s.p10_h < high:
                top = min(s.p90_h or high, high)
                ax.plot(
                    [x, x],
                    [s.p10_h, top],
                    color=look.colour,
                    alpha=0.35,
                    linewidth=6.0,
                    solid_capstyle="butt",
                    zorder=2,
                )
                if s.p50_h:
                    ax.plot([x], [s.p50_h], marker="_", markersize=13, markeredgewidth=1.6, color=look.colour, zorder=3)
                if labelled:
                    self._beside(ax, x, (s.p10_h, s.p50_h, s.p90_h))
            if outcome.worst.life_h is None:
                ax.annotate(
                    "endless",
                    (x, high),
                    (0, -3),
                    textcoords="offset points",
                    ha="center",
                    va="top",
                    fontsize=7,
                    zorder=6,
                )
                ax.plot([x], [high / 10**0.22], marker="^", markersize=6, color=look.colour, zorder=5)
        self._read(ax, line, n, several, rows)
        found = [(self.lines.apart(x, n) if several else x, o.worst) for x, _, o in rows]
        main = [(x, w.life_h) for x, w in found if w.life_h]
        ax.plot([x for x, _ in main], [y for _, y in main], color=look.colour, marker=look.marker, markersize=5.5,
                linestyle=look.dash if several else "-" if joined else "none", zorder=5)  # fmt: skip
        if self.both:
            plain = [(x, w.life_elementary_h) for x, w in found if w.life_elementary_h]
            ax.plot([x for x, _ in plain], [y for _, y in plain], color=look.colour, marker=look.marker, markersize=5.0,
                    markerfacecolor="white", linestyle=(0, (1, 1.6)) if joined else "none", linewidth=0.9, zorder=4)  # fmt: skip
        if labelled:
            self._lives(ax, main)
            if self.both:
                self._lives(
                    ax, [(x, y) for x, y in plain if not any(a == x and b / y < NEAR for a, b in main)], faint=True
                )

    def _lives(self, ax: Axes, points: list[tuple[float, float]], faint: bool = False) -> None:
        """Numbers on the side of a point from which its line does not come."""
        for k, (x, y) in enumerate(points):
            falls = k > 0 and points[k - 1][1] > y
            ax.annotate(
                hours(y), (x, y), (-6, -6 if falls else 6), textcoords="offset points", ha="right", va="top" if falls else "bottom",
                fontsize=7, zorder=6, fontweight="normal" if faint else "bold",
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5, "alpha": 0.8},
            )  # fmt: skip

    def _beside(self, ax: Axes, x: float, spread: tuple[float | None, float | None, float | None]) -> None:
        """P10, P50 and P90 in words."""
        low, high = (math.log10(v) for v in ax.get_ylim())
        told = [
            (words, v) for words, v in zip(("P10", "P50", "P90"), spread, strict=True) if v and math.log10(v) < high
        ]
        heights = spread_out([math.log10(v) for _, v in told], 0.035 * (high - low), low, high)
        for (words, value), y in zip(told, heights, strict=True):
            ax.annotate(f"{words} {hours(value)}", (x, 10.0**y), (9, 0), textcoords="offset points", ha="left", va="center", fontsize=6.5,
                        zorder=6, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4, "alpha": 0.8})  # fmt: skip

    def _read(
        self, ax: Axes, line: KtLine, n: int, several: bool, rows: list[tuple[float, StoredVariant, Outcome]]
    ) -> None:
        for x0, variant, outcome in rows:
            x, w, s = self.lines.apart(x0, n) if several else x0, outcome.worst, self.scatter.get(variant.key)
            told = [(w.life_h, f"{100 * self.survival:.4g} % outlive {hours(w.life_h)}, {w.name}")]
            if self.both:
                told.append(
                    (
                        w.life_elementary_h,
                        f"{100 * self.survival:.4g} % outlive {hours(w.life_elementary_h)}, slope k on",
                    )
                )
            if s is not None:
                told += [(v, f"{p} {hours(v)}") for p, v in (("P10", s.p10_h), ("P50", s.p50_h), ("P90", s.p90_h))]
            who = variant_name(variant) or "this part"
            for value, words in told:
                if value and math.isfinite(value):
                    self.readings.note(ax, [x], [value], [f"{who}: {words}"])

    def _legend(self, ax: Axes, several: bool) -> None:
        from matplotlib.lines import Line2D

        colour = INK if several else LOOKS[0].colour
        marker = LOOKS[0].marker
        share = f"{100 * self.survival:.4g} % outlive it"
        handles: list[Any] = []
        if several:
            handles += [
                Line2D([], [], color=LOOKS[n % len(LOOKS)].colour, marker=LOOKS[n % len(LOOKS)].marker, linestyle=LOOKS[n % len(LOOKS)].dash,
                       label=line.label or "others")
                for n, line in enumerate(self.lines.lines)
            ]  # fmt: skip
        words = (
            "slope 2k \u2212 1 beyond the knee (Haibach)" if self.both else "slope k on beyond the knee (elementary)"
        )
        handles.append(Line2D([], [], color=colour, marker=marker, linestyle="-", label=f"{share}, {words}"))
        if self.both:
            handles.append(Line2D([], [], color=colour, marker=marker, markerfacecolor="white", linestyle=(0, (1, 1.6)),
                                  label=f"{share}, slope k on (elementary)"))  # fmt: skip
        if self.banded:
            handles.append(Line2D([], [], color=colour, alpha=0.35, linewidth=6.0, solid_capstyle="butt",
                                  label="scatter of real drums: P10 to P90 of those that have failed, tick at P50"))  # fmt: skip
        if self.tight:
            for handle in handles:
                handle.set_label(wrapped(str(handle.get_label()), 46))
        ax.legend(handles=handles, **below(ax))

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every drawn variant."""
        rows = []
        for line in self.lines.lines:
            for x, v, o in self._rows(line):
                s, w = self.scatter.get(v.key), o.worst
                spread = (None,) * 4 if s is None else (s.p10_h, s.p50_h, s.p90_h, s.failure)
                place = x if self.lines.is_number else v.axes.get(self.lines.column)
                rows.append(
                    (
                        line.label,
                        place,
                        w.life_h,
                        w.life_elementary_h,
                        w.life_median_h,
                        *spread,
                        w.safety,
                        self.target_h,
                        w.name,
                    )
                )
        column = self.lines.column or "variant"
        return (
            "line", column, "life_h", "life_elementary_h", "life_median_h", "scatter_p10_h", "scatter_p50_h", "scatter_p90_h",
            "probability_of_missing_the_target", "safety_factor", "target_h", "worst_place",
        ), rows  # fmt: skip
