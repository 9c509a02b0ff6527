"""The S-N curve of the worst place with the cycles of the target life on it, and what each row of the duty does to the damage."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.life_words import hours
from ..strength.sn_curve import SNCurve
from ..study import Results, StoredVariant
from .life_choice import duty_rows, of_variant
from .life_crack import kept_together
from .life_draw import RowLooks, cycle_words, few, numbered, panel, spread_out, usable, yielding_words
from .picture import NoData, Picture
from .shares_picture import HATCHES
from .style import GREY, INK, PALE
from .words import variant_name, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["SNPicture"]

AROUND_MM = 15.0
LEFT_MM, CURVE_MM, BETWEEN_MM, BAR_MM, BELOW_MM = 43.0, 74.0, 20.0, 5.4, 12.0
TIGHT_CURVE_MM, TIGHT_BAR_MM = 58.0, 8.4  # in one column the names stand above the bars
LEAST_DRAWN = 1e-5  # of the damage
DECADES_BELOW = 5.0  # of the bars' axis, below the limit or the damage


class SNPicture(Picture):
    """The worst place of one variant under its duty, up to the target life."""

    chapter = "life"

    def __init__(self, results: Results, variant: StoredVariant | str | int | None = None) -> None:
        self.variant, self.life = of_variant(results, variant)
        self.worst = self.life.places[0]
        self.cycles = usable(self.life.cycles)
        if not self.cycles or not self.worst.damage_per_1000_h:
            raise NoData("nothing cycles at the worst place, or it breaks at once")
        self.whole = self.worst.damage_per_1000_h * self.life.target_h / 1000.0
        self.name = f"sn-{self.variant.key}"
        self.looks = RowLooks(duty_rows(results))
        self.numbered = numbered(self.cycles)
        self.curve = SNCurve(self.life.knee_amplitude_MPa, self.life.knee_cycles, self.life.slope, self.life.survival)
        self.widen(165.0)
        self.caption = (
            f"{self._of().capitalize()}, {self.worst.name}. Above: S-N curve at {100 * self.life.survival:.4g} % survival, with both "
            f"continuations beyond the knee, and the cycles of {hours(self.life.target_h)}, each at its fully reversed amplitude of "
            "equal damage (residual stress included); a cycle that reaches the curve uses the whole life up by itself. Below: the "
            "damage that each row of the duty does over that time, half of each cycle to the row of its peak and half to that of "
            f"its valley, logarithmic; the sum is allowed to be 1.{yielding_words(self.life)}"
        )

    @property
    def bar(self) -> float:
        """Height of a bar, of the step from row to row."""
        return 0.4 if self.tight else 0.62

    @property
    def bars_mm(self) -> float:
        """Height of the bars."""
        return (TIGHT_BAR_MM if self.tight else BAR_MM) * (len(self.worst.shares) + 1)

    @property
    def told_mm(self) -> float:
        """Height of the list of cycles, where it does not stand in the plot."""
        return 3.1 * (self._told().count("\n") + 1) if self.tight else 0.0

    @property
    def height_mm(self) -> float:
        """Height below the title."""
        return BELOW_MM + self.bars_mm + BETWEEN_MM + self.told_mm + (TIGHT_CURVE_MM if self.tight else CURVE_MM)

    def needed_mm(self) -> float:
        """Curve, bars and title."""
        return self.height_mm + 8.0 + 4.0 * self._title().count("\n")

    def main_axes(self, ax: Axes) -> Axes:
        """The S-N curve."""
        curve: Any = ax.child_axes[0]
        return curve  # type: ignore[no-any-return]

    def _told(self) -> str:
        """The cycles by number."""
        lines = [textwrap.shorten(n.words(n.cycle.equivalent_MPa), 66, placeholder=" ...") for n in self.numbered]
        lines = ["amplitude, and share of the damage of all cycles:", *lines]
        return "\n".join(wrapped(kept_together(text), 56) if self.tight else text for text in lines)

    def _of(self) -> str:
        return variant_name(self.variant) or "this part"

    def _title(self) -> str:
        life = f"life {hours(self.worst.life_h)}"
        return self.title(f"Damage at the worst place: {self.worst.name}, {self._of()}, {life}")

    def damages(self) -> list[tuple[str, float]]:
        """Rows of the duty and the damage each does over the target life, the largest first."""
        return [(s.name, s.fraction * self.whole) for s in self.worst.shares]

    def paint(self, ax: Axes) -> None:
        """Curve with cycles above, bars below."""
        ax.axis("off")
        ax.set_title(self._title())
        inner = self.size_mm[0] - AROUND_MM
        size, foot = (inner, self.height_mm), BELOW_MM + self.bars_mm + BETWEEN_MM + self.told_mm
        self._curve(panel(ax, size, (11.0, foot, inner - 11.0, self.height_mm - foot)))
        if self.tight:
            ax.text(0.0, (foot - 11.0) / self.height_mm, self._told(), transform=ax.transAxes, fontsize=6.8, va="top")
            self._bars(panel(ax, size, (2.0, BELOW_MM, inner - 2.0, self.bars_mm)))
            return
        self._bars(panel(ax, size, (LEFT_MM, BELOW_MM, inner - LEFT_MM - 26.0, self.bars_mm)))

    def _curve(self, ax: Axes) -> None:
        total = sum(c.damage_per_1000_h for c in self.cycles)
        drawn = [c for c in self.cycles if c.damage_per_1000_h >= LEAST_DRAWN * total] if total else self.cycles
        often = self.life.target_h / 1000.0
        heights = [c.equivalent_MPa for c in drawn]
        knee, at = self.life.knee_amplitude_MPa, self.life.knee_cycles
        low, high = 0.6 * min([*heights, 0.5 * knee]), 1.6 * max([*heights, 2.0 * knee])
        left = min([c.per_1000_h * often for c in drawn] + [1e3])
        right = max([c.per_1000_h * often for c in drawn] + [1e3 * at])
        ax.set_xscale("log")
        ax.set_yscale("log")
        ax.set_xlim(0.4 * left, 4.0 * right)
        ax.set_ylim(low, high)
        above = np.geomspace(knee, max(high, knee), 2)
        ax.plot(self.curve.life(above), above, color=INK, linewidth=2.0, zorder=3)
        below = np.geomspace(min(low, knee), knee, 2)
        for beyond, label in (("haibach", f"slope {2 * self.life.slope - 1:g} (Haibach)"),
                              ("elementary", f"slope {self.life.slope:g} on (elementary)")):  # fmt: skip
            asked = beyond == self.life.beyond
            ax.plot(
                self.curve.life(below, beyond), below, color=INK if asked else GREY, linewidth=2.0 if asked else 1.2,
                linestyle="-" if asked else (0, (4, 2)), zorder=3,
                label=f"{'' if self.tight else 'beyond the knee: '}{label}{', asked' if asked else ''}",
            )  # fmt: skip
        ax.plot([at], [knee], marker="o", color=INK, markerfacecolor="white", markersize=5, zorder=4)
        ax.annotate(
            f"knee: {knee:.0f} MPa{chr(10) if self.tight else ' '}at {few(at)} cycles,\n{100 * self.life.survival:.4g} % survive", (at, knee), (10, 8),
            textcoords="offset points", fontsize=7, va="bottom", zorder=6,
        )  # fmt: skip
        for cycle in sorted(drawn, key=lambda c: c.damage_per_1000_h):
            share = f", {100 * cycle.damage_per_1000_h / total:.2g} % of the damage" if total else ""
            words = (
                f"{cycle_words(cycle)}: {cycle.equivalent_MPa:.4g} MPa, {few(cycle.per_1000_h * often)} cycles{share}"
            )
            self.readings.note(ax, [cycle.per_1000_h * often], [cycle.equivalent_MPa], [words])
            ax.plot(
                [cycle.per_1000_h * often],
                [cycle.equivalent_MPa],
                markersize=6.5,
                zorder=5,
                **self.looks.marker(cycle.peak),
            )
        self._numbers(ax, often)
        ax.set_xlabel(f"cycles: in {hours(self.life.target_h)} (points), to failure (curve)", labelpad=1)
        ax.set_ylabel("amplitude, fully reversed (MPa)")
        ax.yaxis.set_major_formatter(lambda v, _: f"{v:.0f}")
        ax.yaxis.set_minor_formatter(lambda v, _: f"{v:.0f}" if f"{v:.0e}"[0] in "235" else "")
        ax.tick_params(axis="y", which="minor", labelsize=7.0)
        ax.legend(loc="lower left" if self.tight else "upper right", borderaxespad=0.2)

    def _numbers(self, ax: Axes, often: float) -> None:
        """Numbers beside the cycles that count, and in words what the worst of them is."""
        low, high = np.log(ax.get_ylim())
        step = 0.052 * (high - low)
        heights = spread_out(
            [float(np.log(n.cycle.equivalent_MPa)) for n in self.numbered], step, low + step, high - step
        )
        for n, y in zip(self.numbered, heights, strict=True):
            x = n.cycle.per_1000_h * often
            ax.annotate(
                str(n.number), (x, n.cycle.equivalent_MPa), (x * 10 ** (-0.32), float(np.exp(y))), ha="right", va="center", fontsize=7.5,
                fontweight="bold", zorder=7, arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.5, "shrinkB": 3, "shrinkA": 1},
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5, "alpha": 0.9},
            )  # fmt: skip
        if self.tight:
            return
        ax.text(
            0.012, 0.02, self._told(), transform=ax.transAxes, fontsize=6.8, va="bottom", zorder=6,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5, "alpha": 0.9},
        )  # fmt: skip

    def _bars(self, ax: Axes) -> None:
        found, whole = self.damages(), self.whole
        top = max(1.0, whole)
        least = max(min([d for _, d in found if d > 0.0] or [whole]), 10.0**-DECADES_BELOW * min(1.0, whole))
        floor = 10.0 ** np.floor(np.log10(0.5 * least))
        ax.set_xscale("log")
        ax.set_xlim(floor, 3.0 * top)
        names = ["all rows together"]
        beside: Any = {"transform": ax.get_yaxis_transform(), "va": "center", "fontsize": 7.2}
        ax.barh([0], [max(whole - floor, 0.0)], self.bar, left=floor, color=INK, zorder=3)
        self._beside(ax, 0, "all rows together", few(whole), beside | {"fontweight": "bold"})
        for n, (name, damage) in enumerate(found, 1):
            look, filled = self.looks.look(name)
            at = self.looks.rows.index(name) if name in self.looks.rows else 0
            if damage > floor:
                ax.barh(
                    [n], [damage - floor], self.bar, left=floor, color=look.colour if filled else "white", zorder=3,
                    hatch=HATCHES[at % len(HATCHES)], edgecolor="white" if filled else look.colour, linewidth=0.6,
                )  # fmt: skip
            share = f" ({100 * damage / whole:.0f} %)" if damage >= 0.005 * whole else ""
            words = f"{few(damage)}{share}" if damage > floor else f"below {few(floor)}"
            self._beside(ax, n, name, words, beside)
            if damage > floor:
                self.readings.note(ax, [damage], [n], [f"{name}: damage {words}"])
            names.append(name)
        ax.axvline(1.0, color=INK, linewidth=1.4, linestyle=(0, (4, 2)), zorder=4)
        ax.axvspan(1.0, 3.0 * top, color=PALE, zorder=0, linewidth=0)
        ax.text(
            0.93, 1.0, "limit: the sum is 1", transform=ax.get_xaxis_transform(), ha="right", va="bottom", fontsize=7.2
        )
        ax.set_yticks(
            range(len(names)), ["" if self.tight else textwrap.shorten(n, 30, placeholder=" ...") for n in names]
        )
        ax.set_ylim(len(names) - 0.4, -0.85 if self.tight else -0.6)
        ax.tick_params(axis="y", length=0)
        ax.grid(visible=False, axis="y")
        ax.set_xlabel(f"damage in {hours(self.life.target_h)} (1)", labelpad=1)

    def _beside(self, ax: Axes, row: int, name: str, words: str, how: dict[str, Any]) -> None:
        """A row's number at its right, or with its name above it."""
        if not self.tight:
            ax.text(1.02, row, words, **how)
            return
        ax.text(0.0, row - 0.46, textwrap.shorten(f"{name}: {words}", 56, placeholder=" ..."), zorder=6,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4, "alpha": 0.85}, **how)  # fmt: skip

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Cycles over the target life, then the damage of each row."""
        often = self.life.target_h / 1000.0
        rows: list[tuple[Any, ...]] = [
            ("cycle", c.peak, c.valley, c.equivalent_MPa, c.per_1000_h * often, c.cycles, c.damage_per_1000_h * often)
            for c in self.cycles
        ]
        rows += [("row of the duty", name, "", None, None, None, damage) for name, damage in self.damages()]
        rows.append(("all rows together", "", "", None, None, None, self.whole))
        rows.append(("knee", "", "", self.life.knee_amplitude_MPa, None, self.life.knee_cycles, None))
        return (
            "what", "peak_row", "valley_row", "equivalent_amplitude_MPa", "cycles_in_target_life", "cycles_to_failure",
            "damage_in_target_life",
        ), rows  # fmt: skip
