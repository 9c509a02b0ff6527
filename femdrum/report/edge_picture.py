"""Stress along the slot's edge, unrolled: at the outer rim, mid-wall and the bore of a ring, or once in a plate."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..edge import Spot, SurfaceStress, principal
from ..model.contour import Arc, Line
from ..study import Results, StoredVariant
from .parts import Part, part_of
from .picture import NoData, Picture, case_of, choice, variant_of
from .style import INK, LOOKS, PALE, below
from .words import file_name, kind_word, signed, variant_name, with_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["EdgePicture", "corner_spans", "where_in_words"]

Array = NDArray[np.float64]
COMPONENTS = {
    "along": "stress along the edge (MPa)",
    "principal": "signed principal stress of largest magnitude (MPa)",
    "across": "stress through the wall (MPa)",
    "shear": "shear stress in the slot's wall (MPa)",
}


class EdgePicture(Picture):
    """One load of one variant."""

    size_mm = (165.0, 100.0)

    def needed_mm(self) -> float:
        """More where the legend stands in one column."""
        return 76.0 + 3.7 * len(self.lines()) if self.tight else 100.0

    def __init__(
        self, results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None,
        component: str = "along",
    ) -> None:  # fmt: skip
        choice("component", component, COMPONENTS)
        self.variant, self.case, self.component = variant_of(results, variant), case_of(results, case), component
        self.answer = self.variant.answer(self.case)
        edge = self.variant.edge
        if edge is None or self.answer.at is None or part_of(self.variant.inputs) is None:
            raise NoData("this variant has no stress along an edge: there is no number")
        self.surface: SurfaceStress = edge.combine(self.answer.factors)
        self.part = part_of(self.variant.inputs)
        more = "" if component == "along" else f"-{component}"
        self.name = f"edge-{self.variant.key}-{file_name(self.case)}{more}"
        name = variant_name(self.variant)
        self.caption = (
            f"{kind_word(self.answer)} \u201c{self.case}\u201d{', ' + name if name else ''}{self._slot_words()}: {COMPONENTS[component].removesuffix(' (MPa)')}, unrolled, "
            "counter-clockwise seen from outside, from +x. Shaded along each line: the change from the mesh before, place by "
            "place; the peak carries its own band. Grey stretches are corner arcs."
        )

    def _slot_words(self) -> str:
        """`, slot 1` where the slots of a row differ."""
        several = self.surface.stress.shape[1] > 1
        return f", slot {self.answer.at.slot}" if several and self.answer.at is not None else ""

    def lines(self) -> list[tuple[str, int]]:
        """Depths that are drawn: name and index."""
        wall = np.flatnonzero(self.surface.offset_mm == 0.0)
        if wall.size <= 1:
            return [("edge", int(wall[0]) if wall.size else 0)]
        depth = self.surface.depth_mm[wall]
        middle = int(wall[np.argmin(np.abs(depth - depth[[0, -1]].mean()))])
        found = [("outer rim", int(wall[0])), ("mid-wall", middle), ("bore rim", int(wall[-1]))]
        peak = self.answer.at.d_index if self.answer.at is not None else middle
        near = min(abs(float(self.surface.depth_mm[peak] - self.surface.depth_mm[d])) for _, d in found)
        if self.surface.offset_mm[peak] == 0.0 and near > 0.03 * float(np.ptp(depth)):
            found.insert(2, ("depth of the peak", int(peak)))
        return found

    def _values(self, stress: Array) -> Array:
        if self.component == "principal":
            high, low = principal(stress)
            return np.where(np.abs(high) >= np.abs(low), high, low)
        return np.asarray(stress[..., ("along", "across", "shear").index(self.component)])

    def paint(self, ax: Axes) -> None:
        """Lines, shades, peaks, places."""
        assert self.answer.at is not None
        s, slot = self.surface.s_mm, self.answer.at.slot
        total = float(s[-1] + (s[-1] - s[-2]))
        loop = np.append(s, total)
        fine = self._values(self.surface.stress[0, slot])
        coarse = self._values(self.surface.stress[0, slot] - self.surface.step[0, slot])
        spread = 1.0
        for (name, d), look in zip(self.lines(), LOOKS, strict=False):
            line, change = np.append(fine[:, d], fine[0, d]), np.abs(fine[:, d] - coarse[:, d])
            change = np.append(change, change[0])
            ax.fill_between(loop, line - change, line + change, color=look.colour, alpha=0.25, linewidth=0, zorder=2)
            where = "" if name == "edge" else f"{name}, "
            texts = [f"{where}s {a:.1f} mm: {signed(f'{v:.4g}')} MPa" for a, v in zip(s, fine[:, d], strict=True)]
            self.readings.note(ax, s, fine[:, d], texts, few=False)
            depth = f" (depth {self.surface.depth_mm[d]:.3g} mm)" if len(self.lines()) > 1 else ""
            ax.plot(loop, line, color=look.colour, linestyle=look.dash, label=name + depth, zorder=3)
            spread = max(spread, float(np.ptp(line)))
        low, high = float(fine.min()), float(fine.max())
        values = [q.value for q in (self.answer.tension, self.answer.compression) if q.value]
        low, high = min([low, 0.0, *values]), max([high, 0.0, *values])
        room = 0.34 * (high - low)
        under = room if low < -0.05 * high else 0.06 * (high - low)
        if self.tight:  # words take more of a small plot
            share = 3.4 / (self.needed_mm() - 32.0)
            above, under_zero = (
                share * (self._peak_words("tension").count("\n") + 2.0),
                2.6 * share if under == room else 0.05,
            )
            room, under = (part * (high - low) / (1 - above - under_zero) for part in (above, under_zero))
        ax.set_ylim(low - under, high + room)
        ax.set_xlim(0.0, total)
        ax.axhline(0.0, color=INK, linewidth=0.6)
        self._peak(ax, "tension", total)
        if abs(self.answer.compression.value or 0.0) > 0.05 * abs(self.answer.tension.value or 0.0):
            self._peak(ax, "compression", total)
        for start, end in corner_spans(self.part, total):
            ax.axvspan(start, end, color=PALE, zorder=0, linewidth=0)
        top = ax.secondary_xaxis("top")
        top.set_xticks([0, total / 4, total / 2, 3 * total / 4, total], ["+x", "+y", "\u2212x", "\u2212y", "+x"])
        top.tick_params(length=3)
        ax.set_xlabel("arc length along the edge, s (mm)")
        ax.set_ylabel(COMPONENTS[self.component])
        if len(self.lines()) > 1:
            ax.legend(ncols=1 if self.tight else 2, **below(ax))
        name = variant_name(self.variant)
        title = f"Along the slot's edge, \u201c{self.case}\u201d{self._slot_words()}{', ' + name if name else ''}"
        ax.set_title(self.title(title, 62), pad=16)
        if not self.tight:
            self._outline(ax)

    def _peak(self, ax: Axes, which: str, total: float) -> None:
        quantity, spot = getattr(self.answer, which), getattr(self.answer, f"{which}_at")
        if quantity.value is None or spot is None:
            return
        up = which == "tension"
        low, high = ax.get_ylim()
        words = self._peak_words(which)
        away = (1.9 * words.count("\n") + 2.6) / (self.needed_mm() - 32.0) if self.tight else 0.09
        y = high - away * (high - low) if up else low + away * (high - low)
        told = words.replace("\n(", " (").replace("\n", ", ")
        if not self._here(spot):
            ax.text(0.5 * total, y, f"{words}\nin slot {spot.slot}, which is not drawn", ha="center", va="center", fontsize=7.5,
                    zorder=7, bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85})  # fmt: skip
            return
        ax.errorbar([spot.s_mm], [quantity.value], [quantity.band or 0.0], color=INK, marker="o", markersize=4,
                    markerfacecolor="white", capsize=3, zorder=6)  # fmt: skip
        self.readings.note(ax, [spot.s_mm], [quantity.value], [f"s {spot.s_mm:.1f} mm: {told}"])
        edge = (
            max(map(len, words.split("\n"))) * 0.68 / (self.size_mm[0] - 22.0)
        )  # half of the words' width, of the axes
        edge = edge if self.tight else 0.27
        ax.annotate(
            words, (spot.s_mm, quantity.value), (min(max(spot.s_mm, edge * total), (1 - edge) * total), y),
            ha="center", va="center", fontsize=7.5, color=INK, zorder=7,
            arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.6, "shrinkB": 3},
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
        )  # fmt: skip

    def _peak_words(self, which: str) -> str:
        quantity, spot = getattr(self.answer, which), getattr(self.answer, f"{which}_at")
        words = f"largest {which} {with_unit(quantity)}{where_in_words(spot, self.part)}".replace(", ", "\n")
        return words.replace(" (wall", "\n(wall") if self.tight else words

    def _here(self, spot: Spot) -> bool:
        """True for a place on the slot that is drawn."""
        return self.answer.at is not None and spot.slot == self.answer.at.slot

    def _outline(self, ax: Axes) -> None:
        """The slot seen from outside, with the start, the way round and the peak."""
        place = self.surface.place_mm[:, self.lines()[0][1], :2]
        inset = ax.inset_axes((1.02, 0.42, 0.24, 0.56))
        loop = np.vstack([place, place[:1]])
        inset.fill(loop[:, 0], loop[:, 1], facecolor="white", edgecolor=INK, linewidth=0.9)
        inset.plot(*place[0], marker="|", color=INK, markersize=9)
        step = len(place) // 16
        inset.annotate(
            "", place[step], place[step // 2], arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 0.8}
        )
        inset.annotate("s = 0", place[0], (-4, 0), textcoords="offset points", ha="right", va="center", fontsize=6.5)
        for spot, marker in ((self.answer.tension_at, "o"), (self.answer.compression_at, "s")):
            wanted = spot is self.answer.tension_at or abs(self.answer.compression.value or 0) > 0.05 * abs(
                self.answer.tension.value or 0
            )
            if spot is not None and wanted and self._here(spot):
                inset.plot(spot.x_mm, spot.y_mm, marker=marker, color=INK, markerfacecolor="white", markersize=5)
        inset.set_aspect("equal")
        inset.margins(0.12)
        inset.set_facecolor(PALE)
        inset.grid(False)
        inset.tick_params(labelsize=6, length=2)
        inset.spines[["top", "right"]].set_visible(True)
        around = (
            ("around the drum, x", "along the axis, y")
            if self.part is not None and self.part.kind == "ring"
            else ("x", "y")
        )
        inset.set_xlabel(f"{around[0]} (mm)", fontsize=6.5)
        inset.set_ylabel(f"{around[1]} (mm)", fontsize=6.5)
        inset.yaxis.set_label_position("right")
        inset.yaxis.tick_right()

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Components at every place of the drawn lines."""
        assert self.answer.at is not None
        slot, rows = self.answer.at.slot, []
        for name, d in self.lines():
            stress, step = self.surface.stress[0, slot, :, d], self.surface.step[0, slot, :, d]
            place = self.surface.place_mm[:, d]
            for i, s in enumerate(self.surface.s_mm):
                rows.append((name, float(s), *map(float, place[i]), *map(float, stress[i]), *map(float, step[i])))
        return (
            "line", "s_mm", "x_mm", "y_mm", "depth_mm", "along_MPa", "across_MPa", "shear_MPa",
            "along_step_MPa", "across_step_MPa", "shear_step_MPa",
        ), rows  # fmt: skip


def where_in_words(spot: Any, part: Part | None) -> str:
    """`, 35 mm below the outer surface (wall 40 mm)` in a ring; nothing in a plate."""
    wall = getattr(part, "wall_mm", None)
    if wall is None or spot is None:
        return ""
    share = spot.depth_mm / wall
    if share < 0.02:
        return ", at the outer surface"
    if share > 0.98:
        return ", at the bore"
    return f", {spot.depth_mm:.3g} mm below the outer surface (wall {wall:g} mm)"


def corner_spans(part: Part | None, total: float) -> list[tuple[float, float]]:
    """Stretches of arc length that are corner arcs between flanks; none where there is no flank."""
    pieces = part.cutout.quarter() if part is not None else ()
    if not any(isinstance(p, Line) for p in pieces):
        return []
    spans, s = [], 0.0
    for piece in pieces:
        if isinstance(piece, Arc):
            spans.append((s, s + piece.length))
        s += piece.length
    scale = 0.25 * total / s
    spans = [(a * scale, b * scale) for a, b in spans]
    half, quarter = 0.5 * total, [*spans]
    out = quarter + [(half - b, half - a) for a, b in quarter]
    return sorted(out + [(half + a, half + b) for a, b in quarter] + [(total - b, total - a) for a, b in quarter])
