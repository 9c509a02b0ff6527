"""Depth of a crack over the hours of the machine, with what inspection can find and what breaks."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.life_result import CrackLife
from ..assess.life_words import hours
from ..study import Results, StoredVariant
from .life_choice import of_variant
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS, below
from .words import variant_name, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["CrackPicture", "inspection_words", "kept_together", "said_well"]

NEAR = 1e-9


def said_well(text: str) -> str:
    """A sentence with hours and minus signs as people read them: `3.35e+03 h` becomes `3,400 h`."""
    text = re.sub(r"(?<![\d.,])(\d+(?:\.\d+)?(?:e[+-]?\d+)?) h\b", lambda found: hours(float(found[1])), text)
    return re.sub(r"(?<=[\s(/])-(?=\d)", "\u2212", text)


def kept_together(text: str) -> str:
    """A text whose numbers are not parted from their units where it is wrapped."""
    return re.sub(r"(\d) (h|mm|MPa|%)(?!\w)", "\\1\u00a0\\2", text)


def inspection_words(crack: CrackLife) -> str:
    """What inspection can do about a crack."""
    return said_well(crack.inspection)


class CrackPicture(Picture):
    """The cracks of one variant, under all rows of the duty together."""

    chapter = "life"

    def __init__(self, results: Results, variant: StoredVariant | str | int | None = None) -> None:
        self.variant, self.life = of_variant(results, variant)
        self.cracks = self.life.cracks
        if not self.cracks:
            raise NoData("no crack of this variant was looked at")
        self.name = f"crack-{self.variant.key}"
        self.growing = [c for c in self.cracks if len(c.hours) > 1]
        self.widen(165.0)
        self.caption = (
            f"{self._of().capitalize()}. A flaw of the stated depth, grown by all rows of the duty together, at the places where a crack "
            "is opened most: depth, logarithmic, over hours of the machine. Open marks on a curve are the inspections that would "
            "catch it, the first where the crack can just be found. Linear elastic fracture mechanics in air; the order of loads is "
            "not in it."
        )

    def needed_mm(self) -> float:
        """Plot, legend and title."""
        words = (
            3.7 * sum(2 + self._legend_words(c).count("\n") for c in self.cracks)
            if self.tight
            else 11.0 * len(self.cracks)
        )
        return (80.0 if self.tight else 92.0) + words + 4.0 * self._title().count("\n")

    def _legend_words(self, crack: CrackLife) -> str:
        return wrapped(kept_together(f"{crack.place}: {self._course(crack)}"), 44 if self.tight else 105)

    def _of(self) -> str:
        return variant_name(self.variant) or "this part"

    def _title(self) -> str:
        return self.title(f"Growth of a crack from the slot, {self._of()}")

    def paint(self, ax: Axes) -> None:
        """Courses, depths that matter, inspections, words."""
        ends = [c.hours[-1] for c in self.growing]
        target = self.life.target_h
        right = max(ends, default=target)
        right = max(right, target) if target <= 2.5 * right else right
        depths = [
            d for c in self.cracks for d in (*c.depth_mm, c.initial_mm, c.detectable_mm, c.critical_mm) if d > 0.0
        ]
        low, high = 0.7 * min(depths), 1.9 * max(depths)
        ax.set_yscale("log")
        ax.set_xlim(0.0, 1.06 * right)
        ax.set_ylim(low, high)
        self._levels(ax)
        if target <= 1.06 * right:
            ax.axvline(target, color=INK, linestyle=(0, (4, 2)), linewidth=1.2, zorder=2)
            near_end = target > 0.8 * right
            ax.annotate(f"target {hours(target)}", (target, 0.03), (-4 if near_end else 4, 0), xycoords=ax.get_xaxis_transform(),
                        textcoords="offset points", ha="right" if near_end else "left", va="bottom", fontsize=7.5, rotation=0, zorder=4,
                        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.85})  # fmt: skip
        for n, crack in enumerate(self.cracks):
            look = LOOKS[n % len(LOOKS)]
            texts = [
                f"{crack.place}: {d:.3g} mm deep after {hours(h)}"
                for h, d in zip(crack.hours, crack.depth_mm, strict=True)
            ]
            self.readings.note(ax, crack.hours, crack.depth_mm, texts, few=False)
            if crack in self.growing:
                ax.plot(crack.hours, crack.depth_mm, color=look.colour, linestyle=look.dash, linewidth=1.8, zorder=4)
                if crack.life_h is not None:
                    ax.plot([crack.hours[-1]], [crack.depth_mm[-1]], marker="X", markersize=8, color=look.colour,
                            markeredgecolor="white", linestyle="none", zorder=6)  # fmt: skip
            else:
                ax.plot(
                    [0.0],
                    [crack.initial_mm],
                    marker=look.marker,
                    markersize=7,
                    color=look.colour,
                    clip_on=False,
                    zorder=6,
                )
            self._inspections(ax, crack, n)
        if not self.growing:
            ax.text(0.5, 0.5, "no row of the duty grows any of these flaws", transform=ax.transAxes, ha="center", va="center",
                    fontsize=9, fontweight="bold", zorder=6)  # fmt: skip
        ax.yaxis.set_major_formatter(lambda v, _: f"{v:g}")
        ax.yaxis.set_minor_formatter(lambda v, _: f"{v:g}" if f"{v:.0e}"[0] in "25" else "")
        ax.tick_params(axis="y", which="minor", labelsize=7.0)
        ax.xaxis.set_major_formatter(lambda v, _: f"{v:,.0f}")
        ax.set_xlabel("hours of the machine (h)")
        ax.set_ylabel("depth of the crack (mm)")
        ax.set_title(self._title())
        self._legend(ax)

    def _legend(self, ax: Axes) -> None:
        from matplotlib.lines import Line2D

        handles = []
        for n, crack in enumerate(self.cracks):
            look = LOOKS[n % len(LOOKS)]
            grows = crack in self.growing
            handles.append(
                Line2D([], [], color=look.colour, linestyle=look.dash if grows else "none", marker="" if grows else look.marker,
                       linewidth=1.8, label=self._legend_words(crack))
            )  # fmt: skip
        ax.legend(handles=handles, handlelength=3.4, **below(ax))

    def _course(self, crack: CrackLife) -> str:
        start = f"{crack.initial_mm:g} mm"
        if crack in self.growing and crack.life_h is not None:
            end = f"critical at {crack.critical_mm:.3g} mm ({crack.ends_by}) after {hours(crack.life_h)}"
        elif crack in self.growing:
            end = f"stops at {crack.depth_mm[-1]:.3g} mm"
        elif crack.life_h == 0.0:
            end = f"critical at once ({crack.critical_mm:.3g} mm, {crack.ends_by})"
        else:
            end = "does not grow"
        return f"from {start}, {end}; {inspection_words(crack)}"

    def _levels(self, ax: Axes) -> None:
        """Depths that matter, each once where the cracks share it."""
        across = ax.get_yaxis_transform()
        # words stand where no curve runs: a growing crack is shallow on the left and deep on the right
        for words, values, at in (
            ("flaw at the start", [c.initial_mm for c in self.cracks], "right"),
            ("what inspection surely finds", [c.detectable_mm for c in self.cracks], "right"),
            ("critical", [c.critical_mm for c in self.cracks], "left"),
        ):
            told: list[float] = []
            for value in values:
                if any(abs(math.log(value / t)) < 0.06 for t in told):  # nearer than the words are high
                    continue
                told.append(value)
                ax.axhline(value, color=GREY, linestyle=(0, (1.5, 1.5)), linewidth=1.0, zorder=1)
                ax.text(
                    0.012 if at == "left" else 0.988, value, f"{words}, {value:.3g} mm", transform=across, ha=at, va="bottom", fontsize=7.2, zorder=5,
                    bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.8},
                )  # fmt: skip

    def _inspections(self, ax: Axes, crack: CrackLife, n: int) -> None:
        """Ticks on the course, an interval apart, from the depth that can be found on."""
        if crack not in self.growing or not crack.interval_h or crack.depth_mm[-1] <= crack.detectable_mm:
            return
        found = float(np.interp(math.log(crack.detectable_mm), np.log(crack.depth_mm), crack.hours))
        count = int((crack.hours[-1] - found) / crack.interval_h + NEAR)
        times = [found + k * crack.interval_h for k in range(min(count, 12) + 1)]
        depths = np.exp(np.interp(times, crack.hours, np.log(crack.depth_mm)))
        look = LOOKS[n % len(LOOKS)]
        ax.plot(
            times,
            depths,
            linestyle="none",
            marker=look.marker,
            markersize=5.5,
            markerfacecolor="white",
            color=look.colour,
            zorder=5,
        )
        if n == 0 and len(times) > 1:
            y = 0.72 * float(depths[0])
            ax.annotate("", (times[1], y), (times[0], y), zorder=5,
                        arrowprops={"arrowstyle": "<->", "color": INK, "linewidth": 0.8, "shrinkA": 0, "shrinkB": 0})  # fmt: skip
            ax.text(
                0.5 * (times[0] + times[1]), 0.94 * y, f"look every {hours(crack.interval_h)}", ha="center", va="top", fontsize=7.2, zorder=6,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
            )  # fmt: skip

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """The course of every crack."""
        rows = [
            (c.place, h, d, c.initial_mm, c.detectable_mm, c.critical_mm, c.ends_by, c.interval_h)
            for c in self.cracks
            for h, d in zip(c.hours, c.depth_mm, strict=True)
        ]
        return (
            "place", "hours_h", "depth_mm", "initial_depth_mm", "detectable_depth_mm", "critical_depth_mm", "ends_by",
            "inspection_interval_h",
        ), rows  # fmt: skip
