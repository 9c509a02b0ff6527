"""The ladder of meshes: how the peak moved while the mesh became finer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..study import Results, StoredVariant
from .picture import NoData, Picture, case_of, variant_of
from .style import GREY, INK, LOOKS, below
from .words import file_name, kind_word, variant_name, with_unit, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["LadderPicture"]

MOST_LINES = 8


class LadderPicture(Picture):
    """Peak of every mesh over its unknowns, with the final band, for one load; all variants or one."""

    size_mm = (165.0, 100.0)

    def __init__(
        self, results: Results, case: str | None = None, variant: StoredVariant | str | int | None = None
    ) -> None:
        self.case = case_of(results, case)
        chosen = results.variants if variant is None else (variant_of(results, variant),)
        self.found = [
            (v, a) for v in chosen for a in v.answers
            if a.case == self.case and a.ladder and a.peak.value is not None and all(s.peak_MPa is not None for s in a.ladder)
        ]  # fmt: skip
        if not self.found:
            raise NoData("no mesh ladder with numbers is stored for this load")
        self.left_out = max(0, len(self.found) - MOST_LINES)
        self.name = f"ladder-{file_name(self.case)}" + (f"-{self.found[0][0].key}" if variant is not None else "")
        self.single = len(self.found) == 1
        self.asked = {float(v.inputs["accuracy"]["error"]) for v, _ in self.found}
        unit = "in MPa" if self.single else "as difference from the value that was reached"
        self.caption = (
            f"{kind_word(self.found[0][1])} \u201c{self.case}\u201d: peak stress on each mesh, {unit}, over the number of unknowns. The bar at the end is the "
            "error band of the result. Where a line steps back, the ladder went on with more cells at a lower order."
        )
        if self.left_out:
            self.caption += f" {self.left_out} more variants are in the table of meshes and not drawn."

    def paint(self, ax: Axes) -> None:
        """A line for each variant."""
        worst = 0.0
        for (variant, answer), look in zip(self.found, LOOKS, strict=False):
            peak, band = float(answer.peak), answer.peak.band or 0.0
            x = [step.unknowns for step in answer.ladder]
            y = [self._shown(step.peak_MPa or 0.0, peak) for step in answer.ladder]
            label = f"{variant_name(variant) or self.case}: {with_unit(answer.peak)}, {answer.verdict.value}"
            label = wrapped(label, 38) if self.tight else label
            self._read(ax, variant, answer, x, y)
            ax.plot(
                x, y, color=look.colour, linestyle=look.dash, marker=look.marker, markersize=4, label=label, zorder=3
            )
            scale = 1.0 if self.single else 100.0 / abs(peak)
            ax.errorbar(
                [answer.unknowns or x[-1]],
                [self._shown(peak, peak)],
                [band * scale],
                color=look.colour,
                capsize=4,
                elinewidth=1.6,
                zorder=4,
            )
            worst = max(
                [worst, band / abs(peak), *(abs(step.peak_MPa / peak - 1) for step in answer.ladder if step.peak_MPa)]
            )
        peak = float(self.found[0][1].peak)
        if len(self.asked) == 1:
            self._asked(ax, next(iter(self.asked)), worst, peak)
        ax.set_xscale("log")
        self._ticks(ax)
        ax.set_xlabel("unknowns of the mesh")
        ax.set_ylabel("peak stress (MPa)" if self.single else "peak, difference from\nthe value reached (%)")
        ax.axhline(self._shown(peak, peak), color=INK, linewidth=0.6, zorder=1)
        ax.set_title(self.title(f"Ladder of meshes, \u201c{self.case}\u201d"))
        longest = max(len(str(h.get_label())) for h in ax.get_legend_handles_labels()[0])
        columns = 2 if len(self.found) > 5 and longest <= 46 and not self.tight else 1
        lines = sum(1 + str(h.get_label()).count("\n") for h in ax.get_legend_handles_labels()[0])
        self.size_mm = (self.size_mm[0], (66.0 if self.tight else 78.0) + 3.7 * -(-lines // columns))
        ax.legend(ncols=columns, **below(ax))

    def _read(self, ax: Axes, variant: StoredVariant, answer: Any, x: list[int], y: list[float]) -> None:
        name = variant_name(variant)
        texts = [
            f"{name + ', ' if name else ''}mesh {step.level}, order {step.order}, {step.unknowns:,} unknowns: {step.peak_MPa:.6g} MPa"
            for step in answer.ladder
        ]
        self.readings.note(ax, x, y, texts)

    def _asked(self, ax: Axes, error: float, worst: float, peak: float) -> None:
        """The accuracy that was asked for as two lines, or in words where it is far outside the scale."""
        inside = error < 3 * worst
        reach = 1.3 * (max(worst, error) if inside else worst)
        edges = sorted(self._shown(peak * (1 + sign * reach), peak) for sign in (-1, 1))
        ax.set_ylim(*edges)
        text, y = f"asked: \u00b1 {100 * error:g} %", edges[1]
        if inside:
            for sign in (-1, 1):
                ax.axhline(
                    self._shown(peak * (1 + sign * error), peak),
                    color=GREY,
                    linewidth=0.8,
                    linestyle=(0, (1, 2)),
                    zorder=1,
                )
            y = max(self._shown(peak * (1 + sign * error), peak) for sign in (-1, 1))
        else:
            text += ", outside this scale"
        ax.text(1.0, y, text, fontsize=6.5, color=GREY, ha="right", va="bottom" if inside else "top",
                transform=ax.get_yaxis_transform())  # fmt: skip

    def _ticks(self, ax: Axes) -> None:
        """Round numbers written out, enough of them."""
        from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter

        low, high = ax.get_xlim()
        most = 3 if self.tight else 8
        # the finest steps of which few enough fit; matplotlib's own ticks of a logarithmic axis turn linear where it is short
        for steps in (
            (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0),
            (1.0, 1.5, 2.0, 3.0, 5.0),
            (1.0, 2.0, 5.0),
            (1.0,),
        ):
            ticks = [s * 10.0**e for e in range(9) for s in steps if low <= s * 10.0**e <= high]
            if len(ticks) <= most:
                break
        ax.xaxis.set_major_locator(FixedLocator(ticks))
        ax.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
        ax.xaxis.set_minor_formatter(NullFormatter())

    def _shown(self, value: float, final: float) -> float:
        return value if self.single else 100 * (value / final - 1)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every mesh of every variant."""
        rows = [
            (v.label, v.key, step.level, step.order, step.cells_per_arc, step.unknowns, step.peak_MPa, step.seconds)
            for v, a in self.found for step in a.ladder
        ]  # fmt: skip
        return ("variant", "key", "mesh", "order", "cells_per_arc", "unknowns", "peak_MPa", "seconds"), rows
