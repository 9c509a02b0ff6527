"""Amplitude over mean stress: the cycles at the worst place, and equal damage by five rules of mean stress."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..assess.life_words import hours
from ..strength.base_metal import RULES
from ..study import Results, StoredVariant
from .life_choice import duty_rows, of_variant
from .life_crack import kept_together
from .life_draw import RULE_WORDS, RowLooks, cycle_words, few, numbered, spread_out, usable, yielding_words
from .life_strength import equal_damage, main_rule, stored_strength
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS, PALE, below
from .words import signed, variant_name, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["HaighPicture"]

Array = NDArray[np.float64]

DECADES = (1e4, 1e5, 1e8)  # lives of equal cycles that are drawn beside the knee
LEAST_DRAWN = 1e-5  # of the damage; smaller cycles are in the table
CYCLES = "cycles, their amplitude, and their share of the damage"
MOST_AREA, LEAST_AREA = 150.0, 9.0  # of a marker, points²


class HaighPicture(Picture):
    """The cycles of the worst place of one variant, each by its share of the damage."""

    chapter = "life"
    size_mm = (165.0, 150.0)

    def __init__(self, results: Results, variant: StoredVariant | str | int | None = None) -> None:
        self.variant, self.life = of_variant(results, variant)
        self.worst = self.life.places[0]
        self.cycles = usable(self.life.cycles)
        if not self.cycles:
            raise NoData("nothing cycles at the worst place")
        self.name = f"haigh-{self.variant.key}"
        self.looks = RowLooks(duty_rows(results))
        self.strength = stored_strength(results, self.variant, self.life)
        self.rule = main_rule(results)
        amplitude = np.array([c.amplitude_MPa for c in self.cycles])
        self.mean = np.asarray(
            self.strength.mean_with_residual(amplitude, np.array([c.mean_MPa for c in self.cycles])), dtype=float
        )
        self.numbered = numbered(self.cycles)
        self.widen(165.0)
        self.caption = (
            f"{self._of().capitalize()}. Cycles at the worst place, the {self.worst.name}: amplitude (half the range) over mean "
            "stress. The larger a point, the more of the damage it does; its look says which row of the duty makes its peak. Lines: "
            f"cycles that do as much damage as a fully reversed one at the knee of the S-N curve, by five rules of mean stress; "
            f"the strong one is the rule that was asked, and the shade is how far the rules are apart. Survival "
            f"{100 * self.life.survival:.4g} %."
        )
        if self.strength.residual_stress_MPa:
            self.caption += (
                f" The residual stress of the edge, {few(self.strength.residual_stress_MPa)} MPa, is in the mean stress as far "
                "as yield lets it stand."
            )
        if self.strength.skin_ultimate_MPa is not None and self.rule == "fkm":
            self.caption += " The rule that was asked takes the hardened skin's sensitivity to mean stress."
        if self.worst.criterion != "normal stress":
            self.caption += (
                " The worst plane there is one of shear: each cycle of shear, with the normal stress that opens the plane, is "
                "drawn as the fully reversed pull of equal damage, so its mean is the residual stress alone."
            )
        self.caption += yielding_words(self.life)

    def needed_mm(self) -> float:
        """Plot and legends: beside each other, or in one column one below the other."""
        lines = sum(1 + text.count("\n") for text in self._words()) + len(self._rows()) + 1
        if self.tight:
            return 88.0 + 3.8 * (len(RULES) + 5 + lines) + 4.0 * self._heading_words().count("\n")
        return 121.0 + 3.6 * max(len(RULES) + 3, lines)

    def _heading_words(self) -> str:
        return self.title(f"Cycles at the worst place: {self.worst.name}, {self._of()}")

    def _of(self) -> str:
        return variant_name(self.variant) or "this part"

    def _words(self) -> list[str]:
        """The numbered cycles, for the legend."""
        told = [kept_together(n.words(n.cycle.amplitude_MPa)) for n in self.numbered]
        return [wrapped(text.replace("MPa, ", "MPa,\u00a0"), 42 if self.tight else 50) for text in told]

    def _rows(self) -> list[str]:
        """Rows of the duty that make a peak that is drawn."""
        drawn = {c.peak for c, _ in self._drawn()}
        return [row for row in self.looks.rows if row in drawn]

    def _drawn(self) -> list[tuple[Any, float]]:
        total = sum(c.damage_per_1000_h for c in self.cycles)
        return [
            (c, float(m))
            for c, m in zip(self.cycles, self.mean, strict=True)
            if c.damage_per_1000_h >= LEAST_DRAWN * total
        ]

    def means(self) -> Array:
        """Mean stresses at which the lines are drawn, MPa."""
        limit = self.strength.yield_MPa or 0.7 * self.strength.ultimate_MPa
        low = min(-0.35 * limit, float(self.mean.min()) - 0.1 * limit)
        high = max(1.06 * limit, float(self.mean.max()) + 0.15 * limit)
        return np.linspace(low, min(high, 0.999 * self.strength.ultimate_MPa), 161)

    def lines(self, reversed_MPa: float) -> dict[str, Array]:
        """Amplitude over `means` by every rule, the one that was asked first."""
        order = dict.fromkeys((self.rule, *RULES))
        return {rule: equal_damage(self.strength, rule, self.means(), reversed_MPa) for rule in order}

    def paint(self, ax: Axes) -> None:
        """Lines, cycles, words."""
        means, knee = self.means(), self.life.knee_amplitude_MPa
        lines = self.lines(knee)
        every = np.stack(list(lines.values()))
        limit = self.strength.yield_MPa
        drawn = self._drawn()
        top = 1.1 * max([c.amplitude_MPa for c, _ in drawn] + [1.25 * knee] + ([limit] if limit else []))
        ax.set_xlim(means[0], means[-1])
        ax.set_ylim(0.0, top)
        ax.fill_between(means, every.min(0), every.max(0), color=PALE, linewidth=0, zorder=1)
        handles: list[Any] = []
        lives = {r.rule: r.life_h for r in self.life.rules}
        for n, (rule, values) in enumerate(lines.items()):
            strong = n == 0
            look = LOOKS[n]
            colour, dash, width = (INK, "-", 2.2) if strong else (look.colour, look.dash, 1.1)
            life = f": {hours(lives[rule])}" if rule in lives else ""
            text = f"{RULE_WORDS[rule]}{life}{' (asked)' if strong else ''}"
            handles += ax.plot(means, values, color=colour, linestyle=dash, linewidth=width, zorder=3, label=text)
        self._decades(ax, means, top)
        if limit:
            yields = ax.plot(
                [-limit, 0.0, limit], [0.0, limit, 0.0], color=GREY, linestyle=(0, (4, 2, 1, 2)), linewidth=1.1, zorder=2,
                label=wrapped(f"yield limit: mean and amplitude add up to {limit:.0f}\u00a0MPa", 44 if self.tight else 80),
            )  # fmt: skip
            handles += yields
        ax.axvline(0.0, color=INK, linewidth=0.6, zorder=2)
        self._points(ax, drawn, top)
        ax.plot([0.0], [knee], marker="_", markersize=11, markeredgewidth=2.0, color=INK, zorder=6)
        ax.annotate(
            f"knee\n{knee:.0f} MPa" if self.tight else f"knee {knee:.0f} MPa,\nfully reversed", (0.0, knee), (-6, -4),
            textcoords="offset points", ha="right", va="top", fontsize=7,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.85}, zorder=6,
        )  # fmt: skip
        residual = " with residual stress" if self.strength.residual_stress_MPa else ""
        ax.set_xlabel(f"mean stress{residual} (MPa)")
        ax.set_ylabel("stress amplitude, half the range (MPa)")
        ax.set_title(self._heading_words())
        self._read(ax, drawn)
        if self.tight:
            self._one_legend(ax, handles)
            return
        first = ax.legend(
            handles=handles, title=self._heading(), title_fontsize=7, alignment="left", **below(ax)
        )  # fmt: skip
        ax.add_artist(first)
        first.set_clip_on(False)  # it counts when the room is shared out
        self._second_legend(ax)

    def _heading(self) -> str:
        return f"damage as at the knee, {few(self.life.knee_cycles)} cycles,\nand the life by each rule"

    def _second_legend(self, ax: Axes) -> None:
        from matplotlib.lines import Line2D

        rows = [Line2D([], [], markersize=5, label=f"peak by {row}", **self.looks.marker(row)) for row in self._rows()]
        words = [Line2D([], [], linestyle="none", label=text) for text in self._words()]
        ax.legend(handles=[*rows, *words], alignment="left", title=CYCLES, title_fontsize=7, **below(ax, at=0.5))

    def _one_legend(self, ax: Axes, lines: list[Any]) -> None:
        """Both lists in one column."""
        from matplotlib.lines import Line2D

        rows = [Line2D([], [], markersize=5, label=f"peak by {row}", **self.looks.marker(row)) for row in self._rows()]
        words = [Line2D([], [], linestyle="none", label=text) for text in (wrapped(CYCLES, 44), *self._words())]
        ax.legend(
            handles=[*lines, words[0], *rows, *words[1:]],
            title=self._heading(),
            title_fontsize=7,
            alignment="left",
            **below(ax),
        )

    def _read(self, ax: Axes, drawn: list[tuple[Any, float]]) -> None:
        total = sum(c.damage_per_1000_h for c in self.cycles) or 1.0
        texts = [
            f"{cycle_words(c)}: amplitude {c.amplitude_MPa:.4g} MPa, mean {signed(f'{m:.4g}')} MPa, {100 * c.damage_per_1000_h / total:.2g} % of the damage"
            for c, m in drawn
        ]  # fmt: skip
        self.readings.note(ax, [m for _, m in drawn], [c.amplitude_MPa for c, _ in drawn], texts)

    def _decades(self, ax: Axes, means: Array, top: float) -> None:
        """Thin lines of the rule that was asked at other lives."""
        for cycles in DECADES:
            amplitude = float(np.asarray(self.strength.curve.strength(cycles, self.life.beyond)))
            values = equal_damage(self.strength, self.rule, means, amplitude)
            if values[0] > 0.98 * top:
                inside = np.flatnonzero(values < 0.97 * top)
                if not inside.size:
                    continue
                at = int(inside[0])
            else:
                at = 0
            ax.plot(means, values, color=INK, linewidth=0.5, alpha=0.7, zorder=2)
            ax.annotate(
                f"{few(cycles)} cycles", (means[at], values[at]), (3, 1.5), textcoords="offset points", fontsize=6.5, va="bottom",
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4, "alpha": 0.8}, zorder=4,
            )  # fmt: skip

    def _points(self, ax: Axes, drawn: list[tuple[Any, float]], top: float) -> None:
        total = sum(c.damage_per_1000_h for c in self.cycles)
        for cycle, mean in sorted(drawn, key=lambda pair: pair[0].damage_per_1000_h):
            look, filled = self.looks.look(cycle.peak)
            area = max(LEAST_AREA, MOST_AREA * cycle.damage_per_1000_h / total)
            ax.scatter(
                [mean], [cycle.amplitude_MPa], area, marker=look.marker, facecolor=look.colour if filled else "white",
                edgecolor="white" if filled else look.colour, linewidth=0.5 if filled else 1.1, zorder=5,
            )  # fmt: skip
        width = ax.get_xlim()[1] - ax.get_xlim()[0]
        means = {id(c): m for c, m in drawn}
        shown = [n for n in self.numbered if id(n.cycle) in means]
        heights = spread_out([n.cycle.amplitude_MPa for n in shown], 0.045 * top, 0.03 * top, 0.97 * top)
        for n, y in zip(shown, heights, strict=True):
            x = means[id(n.cycle)]
            ax.annotate(
                str(n.number), (x, n.cycle.amplitude_MPa), (x + 0.045 * width, y), ha="left", va="center", fontsize=7.5,
                fontweight="bold", zorder=7, arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.5, "shrinkB": 2, "shrinkA": 1},
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.9},
            )  # fmt: skip

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every cycle, then the lines of equal damage."""
        total = sum(c.damage_per_1000_h for c in self.cycles) or 1.0
        rows: list[tuple[Any, ...]] = [
            ("cycle", c.peak, c.valley, float(m), c.amplitude_MPa, c.mean_MPa, c.equivalent_MPa, c.per_1000_h, c.damage_per_1000_h,
             c.damage_per_1000_h / total)
            for c, m in zip(self.cycles, self.mean, strict=True)
        ]  # fmt: skip
        for rule, values in self.lines(self.life.knee_amplitude_MPa).items():
            rows += [
                (f"knee by {rule}", "", "", float(m), float(a), None, self.life.knee_amplitude_MPa, None, None, None)
                for m, a in zip(self.means(), values, strict=True)
            ]
        return (
            "what", "peak_row", "valley_row", "mean_with_residual_MPa", "amplitude_MPa", "mean_of_loads_MPa",
            "equivalent_amplitude_MPa", "per_1000_h", "damage_per_1000_h", "share_of_damage",
        ), rows  # fmt: skip
