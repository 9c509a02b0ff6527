"""What scatters most in a life: its length with each input at its 10 % and 90 % value, the others at their medians."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from ..assess.life_words import hours
from ..study import Results, StoredVariant
from .life_choice import of_variant
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS, below
from .words import variant_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["SensitivityPicture"]

ROW_MM, TIGHT_ROW_MM = 8.5, 11.5


class SensitivityPicture(Picture):
    """One variant; the input with the largest share of the scatter on top."""

    chapter = "life"

    def __init__(self, results: Results, variant: StoredVariant | str | int | None = None) -> None:
        self.variant, self.life = of_variant(results, variant)
        scatter = results.scatter.get(self.variant.key)
        if scatter is None or not scatter.inputs or scatter.p50_h is None:
            raise NoData("no scatter of this variant's life is stored")
        self.scatter = scatter
        self.median_h = float(scatter.p50_h)
        self.inputs = sorted(scatter.inputs, key=lambda i: -i.total)
        self.name = f"sensitivity-{self.variant.key}"
        self.widen(165.0)
        self.caption = (
            f"{self._of().capitalize()}: life of the worst place, logarithmic, with one input at the value that 10 % stay below "
            "(open end) and at the one that 90 % stay below (filled end), the others at their medians. Percentages are total "
            "indices: the share of the scatter of log life that the input has a part in, alone and together with others. "
            f"Sampled stress: {scatter.surface}, error {scatter.surface_error_pct:.2g} %."
        )

    def needed_mm(self) -> float:
        """Rows, legend and title."""
        return 38.0 + self.row_mm * len(self.inputs) + 4.0 * self._title().count("\n")

    @property
    def row_mm(self) -> float:
        """From row to row: in one column names and shares stand above the bars."""
        return TIGHT_ROW_MM if self.tight else ROW_MM

    def _of(self) -> str:
        return variant_name(self.variant) or "this part"

    def _title(self) -> str:
        return self.title(f"What the life scatters with, {self._of()}")

    def paint(self, ax: Axes) -> None:
        """Bars, ends, shares."""
        from matplotlib.lines import Line2D

        ends = [10.0**v for i in self.inputs for v in (i.at_p10, i.at_p90) if v is not None]
        every = [*ends, self.median_h, self.life.target_h]
        ax.set_xscale("log")
        ax.set_xlim(0.6 * min(every), 1.7 * max(every))
        self._ticks(ax)
        look = LOOKS[0]
        beside: Any = {"transform": ax.get_yaxis_transform(), "va": "center"}
        for row, i in enumerate(self.inputs):
            share = f"{100 * max(i.total, 0.0):.0f} %" if i.total >= 0.005 else "below 1 %"
            if i.at_p10 is not None and i.at_p90 is not None:
                a, b = 10.0**i.at_p10, 10.0**i.at_p90
                ax.barh(
                    [row],
                    [abs(b - a)],
                    0.36 if self.tight else 0.52,
                    left=min(a, b),
                    color=GREY if row else look.colour,
                    zorder=3,
                )
                ax.plot(
                    [a], [row], marker="o", markersize=6, markerfacecolor="white", color=INK, linestyle="none", zorder=5
                )
                ax.plot(
                    [b], [row], marker="o", markersize=6, color=INK, markeredgecolor="white", linestyle="none", zorder=5
                )
                text = f"{share}, {max(a, b) / min(a, b):.2g} times"
            else:
                text = f"{share}, endless at one end"
            self._read(ax, row, i, text)
            weight = "bold" if row == 0 else "normal"
            if self.tight:
                ax.text(0.0, row - 0.44, textwrap.shorten(f"{i.name}: {text}", 56, placeholder=" ..."), fontsize=7.2, fontweight=weight,
                        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.9}, zorder=6, **beside)  # fmt: skip
            else:
                ax.text(1.02, row, text, fontsize=7.5, fontweight=weight, **beside)
        if not self.tight:
            ax.annotate(
                "total index, longest\nover shortest life", (1.02, 0.0), (0, -17), xycoords="axes fraction", textcoords="offset points",
                va="top", fontsize=7.0,
            )  # fmt: skip
        first = self.life.target_h < self.median_h  # words stand on the outer sides of the two lines
        for value, words, dash, side in ((self.median_h, "median", "-", "left" if first else "right"),
                                         (self.life.target_h, "target", (0, (4, 2)), "right" if first else "left")):  # fmt: skip
            ax.axvline(value, color=INK, linestyle=dash, linewidth=1.2, zorder=4 if words == "target" else 2)
            ax.annotate(f"{words} {hours(value)}", (value, 1.0), (3 if side == "left" else -3, 3), xycoords=ax.get_xaxis_transform(),
                        textcoords="offset points", ha=side, va="bottom", fontsize=7.5)  # fmt: skip
        ax.set_ylim(len(self.inputs) - 0.4, -0.75 if self.tight else -0.6)
        ax.set_yticks(range(len(self.inputs)), ["" if self.tight else textwrap.fill(i.name, 24) for i in self.inputs])
        ax.tick_params(axis="y", length=0)
        ax.grid(visible=False, axis="y")
        ax.set_xlabel("life of half of the drums (h)")
        ax.set_title(self._title(), pad=18)
        handles = [
            Line2D([], [], marker="o", markerfacecolor="white", color=INK, linestyle="none", label="input at its P10"),
            Line2D([], [], marker="o", markeredgecolor="white", color=INK, linestyle="none", label="input at its P90"),
        ]
        ax.legend(handles=handles, ncols=2, **below(ax, 34.0))

    def _ticks(self, ax: Axes) -> None:
        """Plain numbers where the scale is short: decades alone would be one or two."""
        from matplotlib.ticker import LogLocator, NullFormatter

        ax.xaxis.set_minor_formatter(NullFormatter())
        low, high = ax.get_xlim()
        if high / low < 300.0:
            ax.xaxis.set_major_locator(
                LogLocator(subs=(1.0,) if self.tight and high / low > 60.0 else (1.0, 2.0, 5.0), numticks=12)
            )
            ax.xaxis.set_major_formatter(lambda v, _: hours(v).removesuffix(" h"))

    def _read(self, ax: Axes, row: int, i: Any, share: str) -> None:
        for words, value in (("10 %", i.at_p10), ("90 %", i.at_p90)):
            if value is not None:
                text = f"{i.name} at the value that {words} stay below: half of the drums outlive {hours(10.0**value)} ({share})"
                self.readings.note(ax, [10.0**value], [row], [text])

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every input: index and life at both ends."""
        rows = [
            (i.name, i.first, i.total, None if i.at_p10 is None else 10.0**i.at_p10, None if i.at_p90 is None else 10.0**i.at_p90)
            for i in self.inputs
        ]  # fmt: skip
        return ("input", "first_order_index", "total_index", "life_at_p10_h", "life_at_p90_h"), rows
