"""Which load makes how much of each condition's peak, and how far adding separate maxima would have been off."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..quantity import Quantity, rounded
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS
from .words import signed, with_unit, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["ConditionPeak", "SharesPicture", "kept_and_rest"]

# told apart without colour too, in the order of LOOKS
HATCHES = ("", "/////", "....", "\\\\\\\\\\", "xxxx", "-----", "oo", "+++")
REST = "all other loads"
BAR, TIGHT_BAR = 0.46, 0.26
ROW_MM, TIGHT_ROW_MM = 12.5, 17.0  # in one column names and values stand in lines of their own


@dataclass(frozen=True)
class ConditionPeak:
    """What is drawn of a condition: (load, MPa) in the direction of its peak, the peak, and separate |peaks| added."""

    name: str
    shares: tuple[tuple[str, float], ...]
    peak: Quantity
    added_MPa: float

    @property
    def excess(self) -> float | None:
        """What adding separate maxima is off by, as a fraction; None where there is no peak."""
        true = abs(self.peak.value or 0.0)
        return self.added_MPa / true - 1 if true else None


class SharesPicture(Picture):
    """A row for each condition: loads that build the peak up on one side of zero, loads that relieve on the other."""

    def __init__(self, conditions: Sequence[ConditionPeak], name: str = "shares", of: str = "") -> None:
        self.conditions = [c for c in conditions if c.peak.value is not None]
        if not self.conditions:
            raise NoData("no condition has a peak with a number")
        self.name, self.of = name, of
        every = dict.fromkeys(load for c in self.conditions for load, _ in c.shares)
        largest = {load: max(abs(v) for c in self.conditions for n, v in c.shares if n == load) for load in every}
        self.kept, self.rest = kept_and_rest(largest)
        self.lines_of_name = {c.name: textwrap.wrap(c.name, 20) or [""] for c in self.conditions}
        self.widen(165.0)
        self.caption = (
            f"What each load contributes to the peak of each condition{', ' + of if of else ''}: its stress at the peak's place "
            "in the direction of the principal stress there, MPa, tension positive. These add up to the peak (diamond, with "
            "its band). The open triangle is what adding each load's own largest stress would have said, drawn on the peak's "
            "side of zero: it is an upper bound, because maxima lie at different places and loads relieve each other."
        )
        if self.rest:
            self.caption += f" {len(self.rest)} small loads are drawn as one: {', '.join(self.rest)}."

    def needed_mm(self) -> float:
        """Rows, legend and title."""
        rows = -(-(len(self.kept) + bool(self.rest)) // self._columns()) + self.tight
        height = sum(max(ROW_MM, 4.2 * len(text) + 4) for text in self.lines_of_name.values())
        height = TIGHT_ROW_MM * len(self.conditions) if self.tight else height
        return 36.0 + height + 5.0 * rows + 4.0 * self._title().count("\n")

    def _title(self) -> str:
        return self.title(f"What makes the peak of each condition{', ' + self.of if self.of else ''}", 62)

    def _columns(self) -> int:
        longest = max(len(load) for load in [*self.kept, REST if self.rest else ""])
        room = self.room_for(1000) / 1000
        return next((n for n, most in ((4, 18), (3, 28), (2, 48)) if longest <= most * room), 1)

    @property
    def bar(self) -> float:
        """Height of a bar, of the step from row to row."""
        return TIGHT_BAR if self.tight else BAR

    def parts(self, condition: ConditionPeak) -> list[tuple[str, float]]:
        """Loads as drawn, in the order of the legend; a load that the condition lacks is left out."""
        given: dict[str, float] = {}
        for load, value in condition.shares:
            key = load if load in self.kept else REST
            given[key] = given.get(key, 0.0) + value
        return [(load, given[load]) for load in [*self.kept, REST] if load in given]

    def paint(self, ax: Axes) -> None:
        """Bars, marks, and the numbers beside each row."""
        from matplotlib.lines import Line2D
        from matplotlib.patches import Patch
        from matplotlib.transforms import offset_copy

        looks = {load: (look.colour, hatch) for load, look, hatch in zip(self.kept, LOOKS, HATCHES, strict=False)}
        looks[REST] = (GREY, "")
        ends = [0.0]
        for row, c in enumerate(self.conditions):
            up, down = 0.0, 0.0
            for load, value in self.parts(c):
                start = up if value >= 0 else down
                self.readings.note(
                    ax,
                    [start + 0.5 * value],
                    [row],
                    [f"{c.name}, {load}: {signed(f'{value:.4g}')} MPa at the peak's place"],
                )
                up, down = (up + value, down) if value >= 0 else (up, down + value)
                colour, hatch = looks[load]
                ax.barh(
                    row,
                    value,
                    self.bar,
                    left=start,
                    color=colour,
                    hatch=hatch,
                    edgecolor="white",
                    linewidth=0.7,
                    zorder=3,
                )
            sign = -1.0 if float(c.peak) < 0 else 1.0
            ends += [up, down, sign * c.added_MPa, float(c.peak)]
        low, high = min(ends), max(ends)
        width = high - low
        ax.set_xlim(low - 0.03 * width if low < 0 else 0.0, high + 0.03 * width if high > 0 else 0.0)
        for row, c in enumerate(self.conditions):
            self._values(ax, row, c, width)
            self._marks(ax, row, c)
        ax.axvline(0.0, color=INK, linewidth=0.8, zorder=5)
        ax.set_ylim(len(self.conditions) - (0.5 if self.tight else 0.4), -0.62)
        names = ["" if self.tight else "\n".join(self.lines_of_name[c.name]) for c in self.conditions]
        ax.set_yticks(range(len(self.conditions)), names)
        ax.tick_params(axis="y", length=0)
        ax.grid(visible=False, axis="y")
        ax.spines["left"].set_visible(False)
        ax.set_xlabel("stress at the place of the peak, in its direction (MPa)")
        ax.set_title(self._title(), pad=10)
        handles: list[Any] = [
            Patch(facecolor=looks[load][0], hatch=looks[load][1], edgecolor="white", label=load)
            for load in [*self.kept, *([REST] if self.rest else [])]
        ]
        marks = [
            Line2D([], [], color=INK, marker="D", markerfacecolor="white", linestyle="none", label="peak of the loads together, with band"),
            Line2D([], [], color=INK, marker="v", markerfacecolor="white", linestyle="none", label="separate maxima added"),
        ]  # fmt: skip
        # below the axis' label, in points, so that it holds for any number of rows
        below = [
            offset_copy(ax.transAxes, fig=ax.figure, y=y, units="points")  # type: ignore[arg-type]
            for y in (-30, -57 if self.tight else -45)
        ]
        first = ax.legend(handles=marks, loc="upper left", bbox_to_anchor=(0.0, 0.0), bbox_transform=below[0], ncols=1 if self.tight else 2,
                          borderaxespad=0.0)  # fmt: skip
        ax.add_artist(first)
        ax.legend(handles=handles, loc="upper left", bbox_to_anchor=(0.0, 0.0), bbox_transform=below[1],
                  ncols=self._columns(), borderaxespad=0.0, handleheight=1.3)  # fmt: skip

    def _values(self, ax: Axes, row: int, c: ConditionPeak, width: float) -> None:
        """The number in each part of a bar that has room for it."""
        up, down = 0.0, 0.0
        for _, value in self.parts(c):
            middle = (up if value >= 0 else down) + 0.5 * value
            up, down = (up + value, down) if value >= 0 else (up, down + value)
            text = signed(f"{value:.0f}" if abs(value) >= 10 else f"{value:.2g}")
            if abs(value) < 0.0105 * 165.0 / self.size_mm[0] * (0.8 if self.tight else 1.0) * width * (len(text) + 0.8):
                continue
            ax.text(
                middle, row, text, ha="center", va="center", fontsize=7, color=INK, zorder=6,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.9},
            )  # fmt: skip

    def _marks(self, ax: Axes, row: int, c: ConditionPeak) -> None:
        peak, sign = float(c.peak), -1.0 if float(c.peak) < 0 else 1.0
        above = row - 0.5 * self.bar - 0.1
        ax.plot([peak, peak], [above, row + 0.5 * self.bar], color=INK, linewidth=0.8, zorder=5)
        ax.errorbar(
            [peak], [above], xerr=[c.peak.band or 0.0], color=INK, marker="D", markersize=5, markerfacecolor="white", capsize=3,
            zorder=7, clip_on=False,
        )  # fmt: skip
        ax.plot([sign * c.added_MPa], [above], color=INK, marker="v", markersize=5.5, markerfacecolor="white", zorder=6,
                clip_on=False)  # fmt: skip
        rough = rounded(sign * c.added_MPa, max(c.peak.band or 0.0, 5e-4 * c.added_MPa))
        excess = c.excess
        off = "" if excess is None else f" (+{100 * excess:.0f} %)" if excess < 1 else f" ({excess + 1:.2g} times)"
        self.readings.note(
            ax, [peak, sign * c.added_MPa], [above, above],
            [f"{c.name}, peak of the loads together: {with_unit(c.peak)}", f"{c.name}, separate maxima added: {signed(rough)} MPa{off}"],
        )  # fmt: skip
        if self.tight:
            line: Any = {"transform": ax.get_yaxis_transform(), "va": "center", "ha": "left"}
            ax.text(0.0, row - 0.4, wrapped(c.name, 60), fontsize=7.5, fontweight="bold", **line)
            ax.text(
                0.0, row + 0.3, f"\u25c7 {with_unit(c.peak)}    \u25bd {signed(rough)} MPa{off}", fontsize=7, **line
            )
            return
        beside: Any = {"transform": ax.get_yaxis_transform()}
        ax.text(1.02, row - 0.02, f"\u25c7 {with_unit(c.peak)}", fontsize=7.5, fontweight="bold", va="bottom", **beside)
        ax.text(1.02, row + 0.02, f"\u25bd {signed(rough)} MPa{off}", fontsize=7, va="top", **beside)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every load of every condition, also those drawn as one."""
        rows = [
            (
                c.name,
                load,
                value,
                value / float(c.peak) if float(c.peak) else None,
                c.peak.value,
                c.peak.band,
                c.added_MPa,
            )
            for c in self.conditions
            for load, value in c.shares
        ]
        return (
            "condition", "load", "share_MPa", "share_of_peak", "peak_MPa", "peak_band_MPa", "separate_maxima_added_MPa",
        ), rows  # fmt: skip


def kept_and_rest(largest: dict[str, float], least: float = 0.0) -> tuple[list[str], list[str]]:
    """Loads that get a look of their own, and the small ones that share one in grey.

    Small are those for which there is no look left, and those below `least` of the largest, if they are several.
    """
    order = sorted(largest, key=lambda load: -largest[load])[: len(LOOKS)]
    big = {load for load in order if largest[load] >= least * largest[order[0]]}
    if len(big) == len(largest) - 1:
        big = set(order)
    return [load for load in largest if load in big], [load for load in largest if load not in big]
