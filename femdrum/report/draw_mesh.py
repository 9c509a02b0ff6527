"""The first mesh of the quarter cell that would be solved: cells in the plane, and the layers through a ring's wall."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..fem.cell import Cell, quarter_cell
from ..fem.ring_level import RING_FLIGHTS
from ..fem.ring_mesh import ring_cell, wall_ends
from ..fem.unit import PLANE_FLIGHTS
from .draw_base import Drawing
from .draw_scene import Drawn
from .draw_sheet import Sheet, View, off
from .style import GREY

__all__ = ["MeshDrawing"]

Array = NDArray[np.float64]
ROOM_X, ROOM_Y = 112.0, 84.0


class MeshDrawing(Drawing):
    """x around the drum (or along the plate), y along the axis; the slot is at the lower left."""

    name = "mesh"

    def __init__(self, drawn: Drawn) -> None:
        part = self.part = drawn.part
        ring = part.kind == "ring"
        self.fineness = (RING_FLIGHTS if ring else PLANE_FLIGHTS)[0][0]
        self.cell: Cell = (
            ring_cell(part, self.fineness)
            if ring
            else quarter_cell(part.cutout, part.half_x_mm, part.half_y_mm, self.fineness)
        )
        self.layers = wall_ends(part, self.fineness.wall_cells) if ring else None
        self.x, self.y = self.cell.x, self.cell.y
        near = 3.0 * max(part.cutout.half_x_mm, part.cutout.half_y_mm)
        self.wide, self.high = min(float(self.x.max()), max(near, 0.0)), min(float(self.y.max()), near)
        self.scale = min(ROOM_X / self.wide, ROOM_Y / self.high)
        self.clipped = self.wide < self.x.max() * (1 - 1e-9) or self.high < self.y.max() * (1 - 1e-9)
        self.notes = self.broken(self._notes(ring))
        self.lay_out(self.high * self.scale + 25.0 + 3.3 * len(self.notes))
        where = "The drum's shell is unrolled at mid-wall; " if ring else ""
        which = f" {drawn.about.capitalize()}." if drawn.about else ""
        self.caption = (
            f"The quarter cell with its first mesh.{which} {where}cells hug the edge of the slot, where the stress is sought; curved lines are "
            "true to the elements' order. From here the order rises, and where that is not enough the cells divide."
        )

    def _notes(self, ring: bool) -> list[str]:
        p, q = self.fineness.order, self.fineness.wall_order
        cells = len(self.cell.cells)
        notes = [
            f"{cells} cells in the plane, order {p}"
            + (f"; {self.fineness.wall_cells} layers through the wall, order {q}." if ring else ".")
        ]
        if self.clipped:
            notes.append("What lies farther from the slot is cut off here: plain columns of cells.")
        return notes

    def edges(self) -> list[Array]:
        """Sides of all cells as polylines [n, 2], each once."""
        found: dict[tuple[int, int], Array] = {}
        for cell in self.cell.cells:
            for side in (cell[0], cell[-1], cell[:, 0], cell[:, -1]):
                key = (int(min(side[0], side[-1])), int(max(side[0], side[-1])))
                if key not in found:
                    found[key] = _smooth(np.stack([self.x[side], self.y[side]], -1))
        return list(found.values())

    def on_sheet(self, sheet: Sheet) -> None:
        """Cells, axes, layers through the wall."""
        from matplotlib.collections import LineCollection
        from matplotlib.patches import Rectangle

        view = View(self.scale, 14.0, sheet.height_mm - 6.0 - self.high * self.scale)
        lines = LineCollection(
            [view(edge) for edge in self.edges()], colors=GREY, linewidths=0.5 * sheet.shrink, zorder=3
        )
        frame = Rectangle(
            tuple(view((0.0, 0.0)) - 0.3),
            self.wide * self.scale + 0.6,
            self.high * self.scale + 0.6,
            facecolor="none",
            edgecolor="none",
        )
        sheet.ax.add_artist(frame)
        sheet.ax.add_collection(lines, autolim=False)
        lines.set_clip_path(frame)
        lines.set_in_layout(False)
        quarter = np.concatenate([piece.point(np.linspace(0, 1, 40)) for piece in self.part.cutout.quarter()])
        sheet.line(view(quarter), width=1.2, z=5)
        low = view((0.0, 0.0))
        sheet.arrow(low, low + off(7.0, 0.0), width=0.8)
        sheet.arrow(low, low + off(0.0, 7.0), width=0.8)
        sheet.text(low + off(4.0, -2.6), "x_mm", size=6.0, clear=False)
        sheet.text(low + off(-5.0, 4.0), "y_mm", size=6.0, clear=False)
        if self.layers is not None:
            self._wall(sheet, view((self.wide, self.high))[0] + 16.0, sheet.height_mm - 8.0)
        foot = low[1] - 8.0
        sheet.scale_bar((4.0, foot), self.scale)
        sheet.lines_of_text((4.0, foot - 3.0), self.notes)

    def _wall(self, sheet: Sheet, x: float, top: float) -> None:
        assert self.layers is not None
        high = 34.0
        sheet.text((x + 4.0, top + 2.0), "wall", size=6.5, clear=False)
        sheet.face(
            [(x, top - 1.0), (x + 8.0, top - 1.0), (x + 8.0, top - 1.0 - high), (x, top - 1.0 - high)], width=0.9
        )
        for share in self.layers[1:-1]:
            y = top - 1.0 - high * share
            sheet.line([(x, y), (x + 8.0, y)], colour=GREY, width=0.6)
        sheet.text((x + 9.5, top - 1.0), "outer\nsurface", size=6.0, ha="left", va="top", clear=False)
        sheet.text((x + 9.5, top - 1.0 - high), "bore", size=6.0, ha="left", va="bottom", clear=False)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Corner nodes of the cells."""
        corners = np.unique(self.cell.cells[:, [0, 0, -1, -1], [0, -1, 0, -1]])
        return ("x_mm", "y_mm"), [(float(self.x[n]), float(self.y[n])) for n in corners]


def _smooth(points: Array, count: int = 9) -> Array:
    """A side through its Gauss-Lobatto points by their polynomial."""
    from ..fem.reference import lobatto

    if len(points) == 2:
        return points
    nodes = lobatto(len(points) - 1)
    t = np.linspace(-1.0, 1.0, count)
    return np.stack([np.polyval(np.polyfit(nodes, points[:, k], len(points) - 1), t) for k in (0, 1)], -1)
