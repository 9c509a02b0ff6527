"""Kt (or the peak, where a load has no nominal) over an axis of the study, beside exact values and published fits."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..model.ring import Ring
from ..quantity import Quantity, Verdict
from ..study import Results, StoredVariant
from .curves import exact_name
from .kt_words import fit_text, spread_ticks, value_labels
from .lines import KtLine, Lines, lines_of
from .parts import part_of
from .picture import Picture, case_of
from .style import GREY, INK, LOOKS, below
from .words import axis_value, bare, file_name, is_number, name_of, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["FIT_DASHES", "KtPicture", "fit_text"]

MOST_LABELLED = 8
FIT_DASHES: tuple[Any, ...] = (
    (0, (5, 1.5)),
    (0, (1.2, 1.2)),
    (0, (6, 1.5, 1.2, 1.5)),
    (0, (3, 3)),
    (0, (9, 2)),
    (0, (2, 4)),
)


class KtPicture(Picture):
    """Computed points with bands, the exact plane curve, the published fits inside their range."""

    size_mm = (165.0, 125.0)

    def __init__(
        self, results: Results, case: str | None = None, axis: str | None = None, lines: Lines | None = None
    ) -> None:
        self.case = case_of(results, case)
        self.lines = lines or lines_of(results, axis)
        self.name = f"kt-{file_name(self.case)}"
        self.has_kt = any(a.kt_gross.value is not None for a in self._answers())
        what = "Stress concentration" if self.has_kt else "Peak stress"
        over = f" over {name_of(self.lines.column)}" if self.lines.column else ""
        self.caption = (
            f"{what}{over}, load \u201c{self.case}\u201d. Points: computed, with their error bands (where no bar is seen "
            "it is smaller than the point). Curves: values that need no mesh; a published fit is drawn inside its "
            "own range only."
        )
        if self.lines.left_out:
            self.caption += f" {self.lines.left_out} more lines are in the table and not drawn."

    def _answers(self) -> list[Any]:
        return [a for line in self.lines.lines for v in line.variants for a in v.answers if a.case == self.case]

    def quantity(self, variant: StoredVariant) -> Quantity:
        """What is drawn of a variant: Kt gross, or the peak."""
        for answer in variant.answers:
            if answer.case == self.case:
                return answer.kt_gross if self.has_kt else answer.peak
        return Quantity(None, verdict=Verdict.FAILED)

    def paint(self, ax: Axes) -> None:
        """Points, curves, marks."""
        lines = self.lines
        handles: list[Any] = []
        several = len(lines.lines) > 1
        styles: dict[str, Any] = {}
        for n, line in enumerate(lines.lines):
            look = LOOKS[n % len(LOOKS)]
            label = (line.label if several else "") or "computed, with error band"
            shift = 0.12 * (n - (len(lines.lines) - 1) / 2) if not lines.is_number else 0.0
            self._points(ax, line, look, label, shift, handles)
            if self.has_kt:
                self._curves(ax, line, look, styles, several)
        self.dress(ax)
        self._no_number(ax)
        from matplotlib.lines import Line2D

        room = 42 if self.tight else self.room_for(105)
        for text, (colour, dash, width) in styles.items():
            handles.append(
                Line2D(
                    [], [], color=INK if several else colour, linestyle=dash, linewidth=width, label=wrapped(text, room)
                )
            )
        texts = [*(line.label for line in lines.lines), *(wrapped(text, room) for text in styles)]
        plot = 74.0 if self.tight else 90.0
        ticks = 0 if lines.is_number else 3.0 * max(t.get_text().count("\n") for t in ax.get_xticklabels())
        self.size_mm = (self.size_mm[0], plot + ticks + 3.7 * sum(1 + text.count("\n") for text in texts))
        ax.legend(handles=handles, ncols=1, **below(ax, 32.0 + 2.8 * ticks))
        value_labels(ax, self._labelled(), self.size_mm, headroom=not self.has_kt)

    def _points(self, ax: Axes, line: KtLine, look: Any, label: str, shift: float, handles: list[Any]) -> None:
        found = [
            (x + shift, q)
            for x, v in zip(line.x, line.variants, strict=True)
            if is_number((q := self.quantity(v)).verdict) and q.value is not None
        ]
        if not found:
            return
        x = [p[0] for p in found]
        y = [float(q) for _, q in found]
        bands = [q.band or 0.0 for _, q in found]
        unsettled = [q.verdict is Verdict.NOT_SETTLED for _, q in found]
        bars = ax.errorbar(
            x, y, bands, color=look.colour, linestyle="none", marker=look.marker, markersize=3.5, capsize=3.5,
            elinewidth=1.0, zorder=4, label=label,
        )  # fmt: skip
        handles.append(bars)
        who = f"{line.label}, " if line.label else ""
        self.readings.note(ax, x, y, [f"{who}{self._at(a - shift)}{self.what} {bare(q)}{self.unit}" for a, q in found])
        if any(unsettled):
            ax.plot(
                [a for a, u in zip(x, unsettled, strict=True) if u], [b for b, u in zip(y, unsettled, strict=True) if u],
                linestyle="none", marker=look.marker, markersize=3.5, markerfacecolor="white", color=look.colour, zorder=5,
            )  # fmt: skip

    @property
    def what(self) -> str:
        """What is drawn upward."""
        return "Kt gross" if self.has_kt else "peak stress"

    @property
    def unit(self) -> str:
        """Its unit behind a space; none for Kt."""
        return "" if self.has_kt else " MPa"

    def _at(self, x: float) -> str:
        """`corner radius 8 mm: `."""
        if self.lines.is_number:
            return f"{axis_value(self.lines.column, float(f'{x:.4g}'))}: "
        words = self.lines.categories[round(x)] if self.lines.column else ""
        return f"{axis_value(self.lines.column, words)}: " if words else ""

    def _labelled(self) -> list[tuple[float, Quantity]]:
        """Points whose values are written beside them: few, on one line, and no curve that the words would hide."""
        if len(self.lines.lines) != 1:
            return []
        line = self.lines.lines[0]
        if not isinstance(part_of(line.variants[0].inputs), Ring) and self.lines.curves(line) is not None:
            return []
        found = [
            (x, q) for x, v in zip(line.x, line.variants, strict=True) if (q := self.quantity(v)).value is not None
        ]
        return found if len(found) <= MOST_LABELLED else []

    def _curves(self, ax: Axes, line: KtLine, look: Any, styles: dict[str, Any], several: bool) -> None:
        curves = self.lines.curves(line)
        if curves is None:
            self._marks(ax, line, styles)
            return
        exact = curves.exact.get(self.case)
        name = exact_name(part_of(line.variants[0].inputs))
        if exact is not None and np.isfinite(exact).any():
            style = ("-", 1.3) if curves.x.size > 1 else ("none", 0)
            ax.plot(curves.x, exact, color=look.colour, linestyle=style[0], linewidth=1.3, zorder=3,
                    marker="_" if curves.x.size == 1 else "", markersize=14)  # fmt: skip
            styles.setdefault(name, (look.colour, "-", 1.3))
            self._read_curve(ax, line, curves.x, exact, "exact plane solution")
        for fit in curves.fits.get(self.case, []):
            text = fit_text(
                fit.name,
                fit.source,
                fit.kt,
                curves.x,
                sorted(fit.remarks),
                name_of(self.lines.column),
                self.lines.column,
            )
            place = list(
                dict.fromkeys(
                    f.name for ln in self.lines.lines if (c := self.lines.curves(ln)) for f in c.fits.get(self.case, [])
                )
            ).index(fit.name)
            colour = look.colour if several else LOOKS[(place + 1) % len(LOOKS)].colour
            dash = FIT_DASHES[place % len(FIT_DASHES)]
            if np.isfinite(fit.kt).any():
                ax.plot(curves.x, fit.kt, color=colour, linestyle=dash, linewidth=1.1, zorder=2,
                        marker="x" if np.isfinite(fit.kt).sum() == 1 else "", markersize=4)  # fmt: skip
                self._read_curve(ax, line, curves.x, fit.kt, fit.name)
                if not any(t.startswith(fit.name) for t in styles):
                    styles[text] = (colour, dash, 1.1)
            elif not several:
                styles.setdefault(
                    f"{fit.name}: not drawn, all values are outside its published range", (GREY, "none", 0)
                )

    def _read_curve(self, ax: Axes, line: KtLine, x: Any, kt: Any, name: str) -> None:
        good = np.isfinite(kt)
        who = f"{line.label}, " if line.label else ""
        texts = [f"{who}{self._at(float(a))}{name} {k:.4g}" for a, k in zip(x[good], kt[good], strict=True)]
        self.readings.note(ax, x[good], kt[good], texts, few=False)

    def _marks(self, ax: Axes, line: KtLine, styles: dict[str, Any]) -> None:
        """Exact values at the points alone, from what was stored with the answers."""
        for x, variant in zip(line.x, line.variants, strict=True):
            for answer in variant.answers:
                exact = [
                    c
                    for c in answer.comparisons
                    if "exact plane" in c.quantity or "infinite plate pulled" in c.quantity
                ]
                if answer.case == self.case and exact and exact[0].value is not None:
                    ax.plot([x], [exact[0].value], color=GREY, marker="_", markersize=16, markeredgewidth=1.4, zorder=2)
                    styles.setdefault(f"level mark: {exact_name(part_of(variant.inputs))}", (GREY, "-", 1.3))

    def dress(self, ax: Axes) -> None:
        """Axes, ticks and title."""
        from matplotlib.ticker import FixedLocator, NullLocator, ScalarFormatter

        from ..units import label

        lines = self.lines
        values = lines.values
        if lines.is_number:
            ax.set_xlabel(label(lines.column))
            if lines.by_ratio:
                ax.set_xscale("log")
                ax.xaxis.set_major_locator(FixedLocator(spread_ticks(values, 8.3 / self.size_mm[0])))
                ax.xaxis.set_minor_locator(NullLocator())
                ax.xaxis.set_major_formatter(ScalarFormatter())
            elif values[0] >= 0:
                ax.set_xlim(left=-0.03 * values[-1])
                ax.set_xlim(right=1.05 * values[-1])
            full = {
                x
                for line in lines.lines
                for x, v in zip(line.x, line.variants, strict=True)
                if v.axes.get(lines.column) == "full"
            }
            if len(full) == 1:
                at = full.pop()
                low, high = ax.get_ylim()
                down = any(
                    (float(q) - low) < 0.3 * (high - low)
                    for line in lines.lines for x, v in zip(line.x, line.variants, strict=True)
                    if x == at and (q := self.quantity(v)).value is not None
                ) and not self.has_kt  # fmt: skip
                ax.text(at, 0.98 if down else 0.0, "full round", fontsize=6.5, color=GREY, ha="right", va="top" if down else "bottom",
                        rotation=90, transform=ax.get_xaxis_transform())  # fmt: skip
        else:
            ax.set_xticks(
                range(len(lines.categories)),
                [
                    wrapped(text, max(8, min(22, int((self.size_mm[0] - 22) / 1.3 / len(lines.categories)) - 1)))
                    for text in lines.categories
                ],
            )
            ax.set_xlim(-0.6, len(lines.categories) - 0.4)
            ax.set_xlabel(name_of(lines.column) if lines.column else "")
        answers = self._answers()
        if self.has_kt:
            nominal = next((a.nominal.definition for a in answers if a.nominal.definition), "")
            ax.set_ylabel(f"Kt gross\n{wrapped('|peak| over ' + nominal, 40 if self.tight else 46)}")
            ax.set_ylim(0.0, 1.06 * ax.get_ylim()[1])
        else:
            ax.set_ylabel("peak principal stress, signed (MPa)")
        ax.set_title(self.title(f"{'Kt' if self.has_kt else 'Peak'} under \u201c{self.case}\u201d"))

    def _no_number(self, ax: Axes) -> None:
        """Variants without a number, said in words at their place."""
        words: dict[float, str] = {}
        for line in self.lines.lines:
            for x, variant in zip(line.x, line.variants, strict=True):
                verdict = self.quantity(variant).verdict
                if verdict is Verdict.UNBOUNDED:
                    words[x] = "sharp: unbounded, no number"
                elif not is_number(verdict):
                    words.setdefault(x, "failed, no number")
        for x, text in words.items():
            ax.axvline(x, color=GREY, linewidth=0.8, linestyle=(0, (1, 2)), zorder=1)
            ax.text(x, 0.97, " " + text, rotation=90, ha="left", va="top", fontsize=7, color=INK,
                    transform=ax.get_xaxis_transform())  # fmt: skip

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Points and curves in one table; what: computed, exact, or a fit's name."""
        x_name = self.lines.column if self.lines.is_number else "place"
        y_name, band_name = ("kt_gross", "kt_band") if self.has_kt else ("peak_MPa", "peak_band_MPa")
        rows: list[tuple[Any, ...]] = []
        for line in self.lines.lines:
            for x, variant in zip(line.x, line.variants, strict=True):
                q = self.quantity(variant)
                rows.append((line.label, "computed", x, q.value, q.band, q.verdict.value, variant.key))
            curves = self.lines.curves(line) if self.has_kt else None
            if curves is not None:
                for x, y in zip(curves.x, curves.exact[self.case], strict=True):
                    rows.append((line.label, "exact plane", float(x), float(y), None, "", ""))
                for fit in curves.fits.get(self.case, []):
                    for x, y in zip(curves.x, fit.kt, strict=True):
                        rows.append((line.label, fit.name, float(x), float(y), None, "", ""))
        return ("line", "what", x_name, y_name, band_name, "verdict", "variant"), rows
