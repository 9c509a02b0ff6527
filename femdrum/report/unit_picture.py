"""The edge stress of every unit load side by side: what all loads and conditions of a study are added up from."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..edge import SurfaceStress
from ..quantity import rounded
from ..study import StoredVariant
from .edge_picture import corner_spans, where_in_words
from .parts import part_of
from .picture import NoData, Picture
from .places import DRUM, PLATE
from .style import INK, LOOKS, PALE
from .unit_table import read_definition, read_unit
from .words import signed, variant_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["UnitPicture"]

Array = NDArray[np.float64]

COLUMNS = 3
LETTERS = 38  # of a panel's heading in one line
LINE_MM, PANEL_MM, BELOW_MM = 3.2, 25.0, 9.0


@dataclass(frozen=True)
class _Panel:
    """One unit load: stress along the edge [s] in MPa a unit, at the slot and depth of its largest stress."""

    name: str
    heading: tuple[str, ...]
    unit: str
    scale: float
    slot: int
    depth: int
    where: str
    along: Array
    s_mm: float
    peak: float
    band: float


class UnitPicture(Picture):
    """A small panel for each unit load of a variant, each with its own scale."""

    def __init__(self, variant: StoredVariant) -> None:
        edge, part = variant.edge, part_of(variant.inputs)
        if edge is None or part is None or not edge.cases:
            raise NoData("this variant has no stress along an edge")
        self.variant, self.edge, self.part = variant, edge, part
        self.name = f"units-{variant.key}"
        self.widen(165.0)
        name = variant_name(variant)
        self.caption = (
            f"{name.capitalize() + '. ' if name else ''}Unit loads side by side: stress along the edge that one unit leaves, "
            "tension positive, at the slot and the depth of its largest principal stress (dot: that stress, in the "
            "larger of the two in-surface directions). Every load is a sum of these, each times a factor. Each panel has "
            "a scale of its own. Grey stretches are corner arcs; arc length s as in the other figures, zero at +x."
        )

    def widen(self, width_mm: float) -> None:
        """Lay the panels out for a width."""
        self.size_mm = (width_mm, self.size_mm[1])
        count = len(self.edge.cases)
        self.columns = min(2, count) if self.tight or count in (2, 4) else min(COLUMNS, count)
        self.panels = [self._panel(i) for i in range(count)]
        self.rows = [self.panels[i : i + self.columns] for i in range(0, len(self.panels), self.columns)]
        self.size_mm = (width_mm, self.needed_mm())

    def needed_mm(self) -> float:
        """Height of all rows."""
        return 14.0 + sum(self._height(row) for row in self.rows) + 4.0 * self._title().count("\n")

    def _title(self) -> str:
        name = variant_name(self.variant)
        return self.title(f"Unit loads side by side{', ' + name if name else ''}")

    def main_axes(self, ax: Axes) -> None:
        """Each panel has a scale of its own."""
        return None

    def _height(self, row: list[_Panel]) -> float:
        return LINE_MM * max(len(p.heading) for p in row) + PANEL_MM + BELOW_MM

    def _panel(self, index: int) -> _Panel:
        case = self.edge.cases[index]
        unit, scale = read_unit(case)
        surface: SurfaceStress = self.edge.combine(scale * np.eye(len(self.edge.cases))[index])
        peaks = surface.peaks()
        spot = peaks.at or surface.spot(0, 0, 0)
        heading = textwrap.wrap(read_definition(case), LETTERS if not self.tight else 30 if self.columns == 2 else 60)
        where = where_in_words(spot, None if self.part.kind != "ring" else self.part).removeprefix(", ")
        where = where.split(" (")[0].replace(" below the outer surface", " deep")
        several = f"slot {spot.slot}, " if surface.stress.shape[1] > 1 else ""
        return _Panel(
            case.name, tuple(heading), unit, scale, spot.slot, spot.d_index, f"{several}{where}".removesuffix(", "),
            surface.stress[0, spot.slot, :, spot.d_index, 0], spot.s_mm, float(peaks.peak), peaks.peak.band or 0.0,
        )  # fmt: skip

    def paint(self, ax: Axes) -> None:
        """Panels in rows, each row as high as its longest heading asks."""
        ax.axis("off")
        ax.set_title(self._title())
        total = sum(self._height(row) for row in self.rows)
        wide, gap, top = 1.0 / self.columns, 0.15 if self.tight else 0.075, 1.0
        for row in self.rows:
            top -= LINE_MM * max(len(p.heading) for p in row) / total
            for k, panel in enumerate(row):
                box = (k * wide + gap * 0.75, top - PANEL_MM / total, wide - gap, PANEL_MM / total)
                self._paint_one(ax.inset_axes(box), panel)
            top -= (PANEL_MM + BELOW_MM) / total

    def _paint_one(self, panel: Axes, p: _Panel) -> None:
        s = self.edge.s_mm
        total = float(s[-1] + (s[-1] - s[-2]))
        for a, b in corner_spans(self.part, total):
            panel.axvspan(a, b, color=PALE, zorder=0, linewidth=0)
        panel.plot(np.append(s, total), np.append(p.along, p.along[0]), color=LOOKS[0].colour, linewidth=1.1, zorder=3)
        told = f"{signed(rounded(p.peak, max(p.band, 5e-4 * abs(p.peak))))}"
        self.readings.note(
            panel, [p.s_mm], [p.peak], [f"{p.name}, s {p.s_mm:.1f} mm: {told} MPa per {p.unit}, {p.where}"]
        )
        panel.plot([p.s_mm], [p.peak], marker="o", color=INK, markerfacecolor="white", markersize=3.6, zorder=5)
        panel.axhline(0.0, color=INK, linewidth=0.5)
        low, high = min(float(p.along.min()), p.peak, 0.0), max(float(p.along.max()), p.peak, 0.0)
        room = (0.6 if self.tight else 0.34) * (high - low) or 1.0
        up = p.peak >= 0
        panel.set_ylim(low - (0.08 * (high - low) if up else room), high + (room if up else 0.08 * (high - low)))
        panel.set_xlim(0.0, total)
        panel.text(
            0.5, 0.97 if up else 0.03, f"{told}, {p.where}" if not self.tight else f"{told},\n{p.where}",
            transform=panel.transAxes, ha="center", va="top" if up else "bottom", fontsize=6, zorder=6,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.85},
        )  # fmt: skip
        panel.set_title("\n".join(p.heading), fontsize=6.3, fontweight="normal", pad=5.5 if self.tight else 2.5)
        panel.tick_params(labelsize=5.8, length=2, pad=1.5)
        panel.locator_params(axis="y", nbins=4)
        panel.set_ylabel(f"MPa per {p.unit}", fontsize=6, labelpad=1.5)
        sides = DRUM if self.part.kind == "ring" else PLATE
        panel.set_xticks([0, total / 4, total / 2, 3 * total / 4], [side.replace("-end", "\nend") for side in sides])
        panel.grid(visible=False, axis="x")

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Stress along the edge of every unit load, as drawn."""
        rows = [
            (p.name, p.unit, p.slot, float(self.edge.depth_mm[p.depth]), float(s), float(value))
            for p in self.panels
            for s, value in zip(self.edge.s_mm, p.along, strict=True)
        ]
        return ("unit_load", "unit", "slot", "depth_mm", "s_mm", "along_MPa_per_unit"), rows
