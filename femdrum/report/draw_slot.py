"""The cutout with its dimensions: flat view with coordinates, and for a ring the section through the wall."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.cutout import Circle, Ellipse, Obround, Slot
from .draw_base import Drawing, Shell, outline
from .draw_scene import Drawn
from .draw_sheet import THICK, THIN, Sheet, View, off, wrapped_mm
from .style import GREY, LOOKS

__all__ = ["SlotDrawing", "wall_view"]

Array = NDArray[np.float64]
ROOM_X, ROOM_Y = 44.0, 58.0
WALL_ROOM_X, WALL_ROOM_Y = 50.0, 34.0
MOST_GHOSTS = 6
NOTES_MM = 70.0


class SlotDrawing(Drawing):
    """The slot seen from outside, x to the right, y up; and cut across through its middle.

    others: cutouts of the study's other variants, drawn thin. faults: as of the ring's drawing.
    """

    name = "slot"

    def __init__(self, drawn: Drawn, others: tuple[Any, ...] = (), faults: tuple[str, ...] = ()) -> None:
        self.drawn, self.faults = drawn, self.broken(faults)
        self.part, self.cutout = drawn.part, drawn.part.cutout
        self.ring = self.part.kind == "ring"
        half = (self.cutout.half_x_mm, self.cutout.half_y_mm)
        near = [c for c in dict.fromkeys(others) if c != self.cutout and _near(c, half)]
        spread = np.unique(np.linspace(0, max(len(near) - 1, 0), min(len(near), MOST_GHOSTS)).astype(int))
        self.others = [near[i] for i in spread] if near else []
        widest = max([half[0], *(c.half_x_mm for c in self.others)])
        tallest = max([half[1], *(c.half_y_mm for c in self.others)])
        self.reach = widest, tallest
        self.scale = min(ROOM_X / (2 * widest), ROOM_Y / (2 * tallest))
        self.roomy = 2 * half[0] * self.scale > 20.0 and 2 * half[1] * self.scale > 20.0
        self.notes = (
            [w for n in self._notes() for w in wrapped_mm(n, NOTES_MM)] if self.ring else self.broken(self._notes())
        )
        self.tall = max(2 * tallest * self.scale, 46.0 if self.ring else 30.0)
        below = 0 if self.ring else len(self.notes)
        self.lay_out(self.tall + (45.0 if self.ring else 47.0) + 3.3 * (below + len(self.faults)))
        which = f" {drawn.about.capitalize()}." if drawn.about else ""
        section = ", and the section across its middle" if self.ring else ""
        self.caption = (
            f"The {self.cutout.shape} with its dimensions in mm{section}.{which} Each view is true to its scale bar; a range in "
            "brackets is what the study varies" + (", thin outlines are the other variants." if self.others else ".")
        )

    def _notes(self) -> list[str]:
        notes = []
        if self.ring:
            chamfer = self.drawn.size("part.edge_break_mm", self.part.edge_break_mm)
            notes.append(
                f"Edge break {chamfer} x 45° at both rims." if self.part.edge_break_mm or "(" in chamfer
                else "Rims are modelled sharp: edge break 0."
            )  # fmt: skip
            notes.append(
                "x_mm: mid-wall radius times the angle from slot 0, positive with rotation; y_mm from mid-row; depth_mm from the "
                "outer surface inward."
            )
            notes.append("Flanks are flat and parallel to the radius through the slot's middle.")
        else:
            thickness = self.drawn.size("part.thickness_mm", self.part.thickness_mm)
            notes.append(
                f"Plate {thickness} mm thick. x_mm and y_mm from the cutout's middle; x is the direction of a plain pull."
            )
        if self.cutout.sharp:
            notes.append("Sharp corners: the peak stress there is unbounded, a number needs a corner radius.")
        return notes

    def on_sheet(self, sheet: Sheet) -> None:
        """Flat view, section, notes."""
        s, top = self.scale, sheet.height_mm
        view = View(s, 54.0 if self.ring else 72.0, top - 18.0 - 0.5 * self.tall)
        sheet.text(
            (view.x_mm, top - 1.5),
            "slot seen from outside" if self.ring else "cutout in the plate",
            size=6.5,
            va="top",
            clear=False,
        )
        for other in self.others:
            sheet.line(view(outline(other)), colour=GREY, width=0.5, closed=True, z=2)
        if self.ring and self.part.edge_break_mm:
            sheet.line(view(outline(self.cutout, self.part.edge_break_mm)), width=0.5, closed=True, z=3)
        sheet.face(view(outline(self.cutout)), width=1.2, z=4)
        self._centre_lines(sheet, view)
        self._sizes(sheet, view)
        self._radius(sheet, view)
        if self.ring:
            self._flanks(sheet, view)
            self._wall(sheet, top)
        foot = view.y_mm - 0.5 * self.tall - 20.0
        sheet.scale_bar((4.0, foot), s)
        left = foot - 3.0 if self.ring else sheet.lines_of_text((4.0, foot - 3.0), self.notes)
        sheet.lines_of_text((4.0, left), self.faults, colour=LOOKS[3].colour)

    def _centre_lines(self, sheet: Sheet, view: View) -> None:
        a, b = self.reach
        more = 4.0 / view.scale
        sheet.centre(view((-a - more, 0.0)), view((a + more, 0.0)))
        sheet.centre(view((0.0, -b - more)), view((0.0, b + more)))
        length = min(9.0, 0.42 * 2 * self.cutout.half_x_mm * view.scale, 0.42 * 2 * self.cutout.half_y_mm * view.scale)
        here = np.array([view.x_mm, view.y_mm])
        sheet.arrow(here, here + off(length, 0.0), width=0.7)
        sheet.arrow(here, here + off(0.0, length), width=0.7)
        if self.roomy:
            sheet.text(here + off(0.75 * length, -2.2), "x_mm", size=6.0)
            sheet.text(here + off(-0.8, 0.8 * length), "y_mm", size=6.0, ha="right")
        else:
            far = self.reach[0] * view.scale + 5.0
            sheet.text((here[0] + far + 0.5, here[1]), "x_mm", size=6.0, ha="left")
            sheet.text((here[0], here[1] + self.reach[1] * view.scale + 5.5), "y_mm", size=6.0)

    def _sizes(self, sheet: Sheet, view: View) -> None:
        a, b = self.cutout.half_x_mm, self.cutout.half_y_mm
        size = self.drawn.size
        names = ("around_mm", "axial_mm") if self.ring else ("size_x_mm", "size_y_mm")
        if isinstance(self.cutout, Circle):
            corner = view(0.7071 * np.array([-a, a]))
            sheet.leader(
                corner, corner + off(-7.0, 6.0), f"Ø {size('part.cutout.diameter_mm', self.cutout.diameter_mm)}"
            )
            return
        low, left = view((0.0, -self.reach[1]))[1] - 11.5, view((-self.reach[0], 0.0))[0] - 11.5
        sheet.dimension(view((-a, -b * 0.5)), view((a, -b * 0.5)), self._either(names[0], 2 * a), at=low)
        sheet.dimension(view((-a * 0.3, -b)), view((-a * 0.3, b)), self._either(names[1], 2 * b), at=left, upright=True)

    def _either(self, name: str, value: float) -> str:
        """A size under either of its two names."""
        twin = {"around_mm": "size_x_mm", "axial_mm": "size_y_mm", "size_x_mm": "around_mm", "size_y_mm": "axial_mm"}[
            name
        ]
        keys = [f"part.cutout.{n}" for n in (name, twin)]
        return self.drawn.size(next((k for k in keys if k in self.drawn.varied), keys[0]), value)

    def _radius(self, sheet: Sheet, view: View) -> None:
        cut = self.cutout
        a, b = cut.half_x_mm, cut.half_y_mm
        if isinstance(cut, (Slot, Obround)):
            r = cut.radius_mm
            tip = view(np.array([a - r, b - r]) + 0.7071 * r)
            text = f"R {self.drawn.size('part.cutout.corner_radius_mm', r)}" if r else "R 0 (sharp)"
            if isinstance(cut, Slot) and cut.corner_radius_mm == "full":
                text += ", full round" if "(" not in text else ""
            elif isinstance(cut, Obround):
                text += ", half-round ends"
            else:
                text += ", 4 corners" if "(" not in text else ""
            if r * view.scale > 3.0:
                sheet.line([view((a - r, b - r)), tip])
                sheet.line(view([(a - r - 0.8 / view.scale, b - r), (a - r + 0.8 / view.scale, b - r)]))
                sheet.line(view([(a - r, b - r - 0.8 / view.scale), (a - r, b - r + 0.8 / view.scale)]))
            sheet.leader(
                tip, (view.x_mm + self.reach[0] * view.scale + 5.0, view.y_mm + self.reach[1] * view.scale + 7.5), text
            )
        elif isinstance(cut, Ellipse):
            least = cut.least_radius_mm
            tip = view((0.0, b) if b > a else (a, 0.0))
            sheet.leader(tip, tip + off(9.0, 7.0), f"R {least:.4g} at the tip")

    def _flanks(self, sheet: Sheet, view: View) -> None:
        """Names of the four flanks, outside of the slot."""
        x, y = self.reach[0] * view.scale + 3.4, self.reach[1] * view.scale + 3.4
        here = np.array([view.x_mm, view.y_mm])
        tall = 2 * self.reach[1] * view.scale
        for place, word, turn in (
            ((x, -0.27 * tall), "leading", 90.0), ((-x, -0.27 * tall), "trailing", 90.0),
            ((0.0, y), "free end", 0.0), ((0.0, -y), "drive end", 0.0),
        ):  # fmt: skip
            shift = (0.0, 0.0)
            if turn == 0.0:
                shift = (-6.6 if self.roomy else -11.0, 0.0) if word == "free end" else (7.2, 0.0)
            sheet.text(here + place + np.array(shift), word, size=6.3, turn=turn, colour=LOOKS[0].colour)

    def _wall(self, sheet: Sheet, top: float) -> None:
        """Section across the slot's middle, to a scale of its own."""
        shell, part = Shell(self.part), self.part
        reach = min(max(2.2 * shell.half_x, shell.half_x + 1.2 * part.wall_mm), 0.9 * shell.inner)
        low = float(np.sqrt(shell.inner**2 - min(reach, 0.95 * shell.inner) ** 2))
        scale = min(WALL_ROOM_X / (2 * reach), WALL_ROOM_Y / (shell.outer - low))
        view = View(scale, 128.0, top - 22.0 - shell.outer * scale)
        sheet.text((128.0, top - 1.5), "section across its middle", size=6.5, va="top", clear=False)
        ends = wall_view(sheet, view, shell, reach)
        lead = view(shell.flank(1.0))
        sheet.text(view((0.0, shell.outer)) + off(0.0, 4.0), "outer surface", size=6.0, clear=False)
        middle = 0.5 * (lead[0, 1] + lead[-1, 1])
        half_gap = shell.half_x * scale
        if half_gap > 11.0 and abs(lead[0, 1] - lead[-1, 1]) > 11.0:
            for side, word in ((-1.0, "trailing"), (1.0, "leading")):
                sheet.text(
                    (view.x_mm + side * (half_gap - 2.0), middle),
                    word,
                    size=6.3,
                    turn=90.0,
                    colour=LOOKS[0].colour,
                    clear=False,
                )
        # depth from the outer surface on the slot's own radius
        start, end = view((0.0, shell.outer)), view((0.0, shell.inner))
        sheet.centre(start + off(0.0, 2.5), end - (0.0, 3.0))
        sheet.arrow(start, end, width=0.7)
        if half_gap > 4.5 and abs(start[1] - end[1]) > 11.0:
            sheet.text(0.5 * (start + end) + (2.2, 0.5), "depth_mm", size=6.0, turn=90.0, clear=False)
        else:
            sheet.text(end - (0.0, 5.0), "depth_mm", size=6.0)
        out, inn = ends
        way = (out - inn) / np.hypot(*(out - inn))
        sheet.arrow(out + 4.5 * way, out, width=THIN)
        sheet.arrow(inn - 4.5 * way, inn, width=THIN)
        sheet.line([out, inn])
        sheet.text(inn - 5.4 * way - (0.0, 0.8), f"wall {self.drawn.size('part.wall_mm', part.wall_mm)}", size=6.5)
        if part.edge_break_mm:
            sheet.leader(
                0.5 * (lead[-1] + lead[-2]), lead[-1] + (5.0, 8.0), f"{part.edge_break_mm:g} x 45°", shelf_mm=1.0
            )
        bottom = min(p[1] for p in (inn, *lead)) - 11.0
        sheet.scale_bar((view.x_mm - 20.0, bottom), scale, 20.0)
        sheet.lines_of_text((sheet.width_mm - NOTES_MM, bottom - 7.0), self.notes)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """The outline as it is drawn."""
        return ("x_mm", "y_mm"), [tuple(map(float, p)) for p in outline(self.cutout)]


def _near(cutout: Any, half: tuple[float, float]) -> bool:
    """True for cutouts of a size that fits on the same sheet."""
    return bool(cutout.half_x_mm < 2.5 * half[0] and cutout.half_y_mm < 2.5 * half[1])


def wall_view(sheet: Sheet, view: View, shell: Shell, reach: float) -> tuple[Array, Array]:
    """The cut wall on both sides of a slot at angle 0, out to `reach` mm; returns a place on the outer surface and one below it."""
    ends = []
    for side in (-1.0, 1.0):
        flank = shell.flank(side)
        t = np.linspace(flank[-1, 0], side * reach, 24)
        u = np.linspace(side * reach, flank[0, 0], 24)
        outer = np.stack([t, np.sqrt(shell.outer**2 - t**2)], -1)
        inner = np.stack([u, np.sqrt(np.maximum(shell.inner**2 - u**2, 0.0))], -1)
        sheet.face(view(np.concatenate([flank, outer, inner])), hatch="//////", width=0.0)
        sheet.line(view(outer), width=THICK)
        sheet.line(view(inner), width=THICK)
        sheet.line(view(flank), width=THICK)
        sheet.break_line(view(outer[-1]), view(inner[0]), wave_mm=0.6)
        ends.append((outer[13], side))
    # the wall is measured along a radius
    place = ends[0][0]
    way = place / np.hypot(*place)
    return view(shell.outer * way), view(shell.inner * way)
