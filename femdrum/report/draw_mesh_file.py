"""A part whose mesh stands in a file: its size, its named faces, what is held and what is loaded."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..fem.file_mesh import FileMesh
from ..fem.file_part import read_part
from ..model.load import FacePressure, FaceTraction
from .draw_acting import number
from .draw_base import Drawing
from .draw_scene import Drawn
from .draw_sheet import Sheet, wrapped_mm
from .style import GREY, INK, LOOKS

__all__ = ["MeshFileDrawing"]

Array = NDArray[np.float64]
ROOM_X, ROOM_Y = 100.0, 84.0
SHADES = [look.colour for look in (LOOKS[2], LOOKS[3], LOOKS[4], LOOKS[5], LOOKS[1], LOOKS[7])]


class MeshFileDrawing(Drawing):
    """The skin of the mesh seen from the corner of +x, -y and +z (a plane mesh: from +z), faces that the study names in colour."""

    name = "part"

    def __init__(self, drawn: Drawn) -> None:
        self.drawn = drawn
        self.mesh: FileMesh = read_part(drawn.part)
        self.low, self.high = self.mesh.nodes.min(0), self.mesh.nodes.max(0)
        self.uses = self._uses()
        self.flat = self._project(self.mesh.nodes)
        low, high = self.flat.min(0), self.flat.max(0)
        self.scale = min(ROOM_X / (high[0] - low[0]), ROOM_Y / (high[1] - low[1]))
        self.origin = low
        self.tall = float(high[1] - low[1]) * self.scale
        sizes = " x ".join(f"{d} {number(float(v), 5)}" for d, v in zip("xyz", self.high - self.low, strict=False))
        places = ", ".join(
            f"{d} {number(float(a), 5)} to {number(float(b), 5)}"
            for d, a, b in zip("xyz", self.low, self.high, strict=False)
        )
        cells = sum(len(b.cells) for b in self.mesh.blocks)
        self.notes = self.broken([
            f"Size {sizes} mm ({places}); {cells} cells, {len(self.mesh.nodes)} nodes as second-order cells.",
            "All names in the file: " + ", ".join(self.mesh.names) + ".",
        ])  # fmt: skip
        self.lay_out(max(self.tall, 6.0 * len(self.uses) + 6.0) + 26.0 + 3.3 * len(self.notes))
        self.caption = "The mesh as it stands in the file; faces that the study holds, loads or watches are in colour."

    def _uses(self) -> dict[str, list[str]]:
        """Names that the study uses, with what they are used for."""
        part = self.drawn.part
        uses: dict[str, list[str]] = {}
        for support in part.supports:
            uses.setdefault(support.face, []).append(f"held in {', '.join(support.fixed)}")
        for load in self.drawn.loads:
            if isinstance(load, FacePressure):
                uses.setdefault(load.face, []).append(f"{load.name}: pressure {number(load.pressure_MPa)} MPa")
            elif isinstance(load, FaceTraction):
                parts = ", ".join(
                    f"{d} {number(v)}" for d, v in (("x", load.x_MPa), ("y", load.y_MPa), ("z", load.z_MPa)) if v
                )
                uses.setdefault(load.face, []).append(f"{load.name}: traction {parts} MPa")
        for face in part.watch:
            uses.setdefault(face, []).append("watched for the peak")
        return uses

    def _project(self, nodes: Array) -> Array:
        if self.mesh.dim == 2:
            return nodes[:, :2]
        right, up, _ = _axes()
        return np.stack([nodes @ right, nodes @ up], -1)

    def _paper(self, points: Array) -> Array:
        return np.asarray((points - self.origin) * self.scale + (8.0, self.foot + 8.0))

    def on_sheet(self, sheet: Sheet) -> None:
        """Skin, names, axes."""
        from matplotlib.collections import LineCollection, PolyCollection

        self.foot = 8.0 + 3.3 * len(self.notes)
        colours = {name: SHADES[n % len(SHADES)] for n, name in enumerate(self.uses)}
        sides = self._corners()
        of = np.full(len(sides), -1)
        names = list(self.uses)
        for n, name in enumerate(names):
            if name in self.mesh.faces:
                of[self.mesh.faces[name]] = n
        shown = self._seen(sides)
        flat = self._paper(self.flat)
        if self.mesh.dim == 2:
            for block in self.mesh.blocks:
                ring = block.cells[:, : block.kind.corners]
                cells = PolyCollection(
                    list(flat[ring]), facecolors="white", edgecolors=GREY, linewidths=0.3 * sheet.shrink, zorder=2
                )
                cells.set_in_layout(False)
                sheet.ax.add_collection(cells, autolim=False)
            ink = [colours[names[n]] if n >= 0 else INK for n in of[shown]]
            wide = [2.4 if n >= 0 else 0.8 for n in of[shown]]
            lines = LineCollection(
                list(flat[sides[shown]]), colors=ink, linewidths=[w * sheet.shrink for w in wide], zorder=4
            )
            lines.set_in_layout(False)
            sheet.ax.add_collection(lines, autolim=False)
        else:
            fill = [colours[names[n]] if n >= 0 else "#eceae5" for n in of[shown]]
            faces = PolyCollection(
                list(flat[sides[shown]]), facecolors=fill, edgecolors=GREY, linewidths=0.25 * sheet.shrink, zorder=3
            )
            faces.set_in_layout(False)
            sheet.ax.add_collection(faces, autolim=False)
        self._lower_sets(sheet, flat, colours)
        self._legend(sheet, colours, {names[n] for n in set(of[shown].tolist()) if n >= 0})
        self._triad(sheet)
        sheet.scale_bar((8.0, self.foot), self.scale)
        sheet.lines_of_text((4.0, self.foot - 3.4), self.notes)

    def _corners(self) -> NDArray[np.intp]:
        return np.asarray(self.mesh.skin.cells[:, : self.mesh.skin.kind.corners])

    def _seen(self, sides: NDArray[np.intp]) -> NDArray[np.intp]:
        """Sides that look to the viewer, the farthest first."""
        if self.mesh.dim == 2:
            return np.arange(len(sides))
        places = self.mesh.nodes[sides]
        normal = np.cross(places[:, 1] - places[:, 0], places[:, 2] - places[:, 0])
        towards = _axes()[2]
        front = np.flatnonzero(normal @ towards > 0)
        return front[np.argsort(places[front].mean(1) @ towards)]

    def _lower_sets(self, sheet: Sheet, flat: Array, colours: dict[str, str]) -> None:
        """Named edges and points that the study uses."""
        for name in (n for n in self.uses if n not in self.mesh.faces):
            nodes = self.mesh.nodes_of(name)
            sheet.ax.plot(
                flat[nodes, 0],
                flat[nodes, 1],
                linestyle="none",
                marker="o",
                markersize=2.4 * sheet.shrink,
                color=colours[name],
                zorder=6,
            )

    def _legend(self, sheet: Sheet, colours: dict[str, str], in_sight: set[str]) -> None:
        y = sheet.height_mm - 6.0
        for name, uses in self.uses.items():
            sheet.face(
                [(114.0, y - 1.2), (118.0, y - 1.2), (118.0, y + 1.2), (114.0, y + 1.2)],
                fill=colours[name],
                width=0.5,
                z=6,
            )
            lines = self.broken([f"{name}: {'; '.join(uses)}"])
            hidden = name in self.mesh.faces and name not in in_sight
            words = " ".join(lines) + (" (not in sight)" if hidden else "")
            y = sheet.lines_of_text((119.5, y + 1.2), wrapped_mm(words, sheet.width_mm - 121.0, 6.3), size=6.3) - 2.4

    def _triad(self, sheet: Sheet) -> None:
        here = np.array([sheet.width_mm - 20.0, self.foot + 6.0])
        flat = np.eye(2) if self.mesh.dim == 2 else np.stack([[a, b] for a, b in zip(*_axes()[:2], strict=True)])
        for way, word in zip(flat, "xyz", strict=False):
            sheet.arrow(here, here + 9.0 * way, width=0.8)
            sheet.text(here + 11.4 * way, word, size=6.5, clear=False)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Names of the file with their numbers of sides and what the study uses them for."""
        rows = [
            (n, len(self.mesh.faces[n]) if n in self.mesh.faces else 0, "; ".join(self.uses.get(n, [])))
            for n in self.mesh.names
        ]
        return ("name", "sides", "used_for"), rows


def _axes() -> tuple[Array, Array, Array]:
    """Right, up and towards the viewer, z upwards on the paper."""
    towards = np.array([0.55, -0.70, 0.46])
    towards /= math.sqrt(float(towards @ towards))
    right = np.cross([0.0, 0.0, 1.0], towards)
    right /= math.sqrt(float(right @ right))
    return right, np.cross(towards, right), towards
