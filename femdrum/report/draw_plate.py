"""Plates: the plate with its cutout and dimensions, and how each load acts on its edges."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..loads.factors import factors
from ..model.cutout import Circle
from .draw_acting import number
from .draw_base import Drawing, outline
from .draw_scene import Drawn
from .draw_sheet import Sheet, View, off, wrapped_mm
from .style import LOOKS

__all__ = ["PlateDrawing", "PlateLoads"]

ROOM_X, ROOM_Y = 108.0, 62.0
LEAST_SLOT_MM = 9.0  # paper that the cutout takes at least; the plate is drawn shortened where it would be less
PANEL_X, PANEL_Y = 54.0, 44.0
MOST_PANELS = 9


class _Frame:
    """How much of the plate is drawn: true to scale, shortened along x, y or both where the cutout would be lost."""

    def __init__(self, part: Any, room_x: float, room_y: float, least: float) -> None:
        a, b = part.cutout.half_x_mm, part.cutout.half_y_mm
        half_x, half_y = part.half_x_mm, part.half_y_mm
        if part.kind == "plate_row":
            half_x *= 3  # the neighbours on both sides
        scale = min(room_x / (2 * half_x), room_y / (2 * half_y))
        if 2 * max(a, b) * scale < least:
            scale = min(least / (2 * max(a, b)), 0.8 * room_x / (2 * a), 0.8 * room_y / (2 * b))
        self.scale = scale
        self.half_x, self.half_y = min(half_x, 0.5 * room_x / scale), min(half_y, 0.5 * room_y / scale)
        self.cut_x = self.half_x < half_x * (1 - 1e-9) and part.kind != "plate_row"
        self.cut_y = self.half_y < half_y * (1 - 1e-9)
        self.row = part.kind == "plate_row"
        self.part = part

    def draw(self, sheet: Sheet, view: View) -> None:
        """Outline, break lines where shortened or endless, cutouts, centre lines."""
        x, y = self.half_x, self.half_y
        for side in (-1.0, 1.0):
            if not self.row:
                sheet.line(view([(side * x, -y), (side * x, y)]), width=0.95)
            sheet.line(view([(-x, side * y), (x, side * y)]), width=0.95)
            if self.row:
                sheet.break_line(view((side * x, -y)), view((side * x, y)))
        for on, k in ((self.cut_x, 0), (self.cut_y, 1)):
            for side in (-1.0, 1.0) if on else ():
                self._gap(sheet, view, k, side)
        shape = outline(self.part.cutout)
        pitch = 2 * self.part.half_x_mm if self.row else 0.0
        for n in (-1, 0, 1) if self.row else (0,):
            if abs(n * pitch) + self.part.cutout.half_x_mm < self.half_x:
                sheet.face(view(shape + off(n * pitch, 0.0)), width=1.1 if n == 0 else 0.7, fill="white", z=4)
        more = 2.0 / view.scale
        sheet.centre(view((-x - more, 0.0)), view((x + more, 0.0)))
        sheet.centre(view((0.0, -y - more)), view((0.0, y + more)))

    def _gap(self, sheet: Sheet, view: View, k: int, side: float) -> None:
        """Two wavy lines with nothing between: length left out."""
        half, across = (self.half_x, self.half_y) if k == 0 else (self.half_y, self.half_x)
        away = (self.part.cutout.half_x_mm, self.part.cutout.half_y_mm)[k]
        at = side * (away + 0.62 * (half - away))
        wide = 1.3 / view.scale
        corners = np.array(
            [
                (at - wide, -across * 1.02),
                (at + wide, -across * 1.02),
                (at + wide, across * 1.02),
                (at - wide, across * 1.02),
            ]
        )
        sheet.face(view(corners if k == 0 else corners[:, ::-1]), fill="white", width=0.0, z=3.4)
        for edge in (at - wide, at + wide):
            ends = np.array([(edge, -across), (edge, across)])
            ends = ends if k == 0 else ends[:, ::-1]
            sheet.break_line(view(ends[0]), view(ends[1]), wave_mm=0.5)

    @property
    def shortened(self) -> bool:
        """True where something of the plate is left out."""
        return bool(self.cut_x or self.cut_y)


class PlateDrawing(Drawing):
    """A plate, or a row of cutouts with the cell that is solved."""

    name = "part"

    def __init__(self, drawn: Drawn, faults: tuple[str, ...] = ()) -> None:
        self.drawn, self.part = drawn, drawn.part
        self.faults = self.broken(faults)
        self.frame = _Frame(self.part, ROOM_X, ROOM_Y, LEAST_SLOT_MM)
        self.notes = self.broken(self._notes())
        self.tall = 2 * self.frame.half_y * self.frame.scale
        self.lay_out(self.tall + 39.0 + 3.3 * (len(self.notes) + len(self.faults)))
        which = f" {drawn.about.capitalize()}." if drawn.about else ""
        self.caption = f"The part with its dimensions in mm.{which} A range in brackets is what the study varies."

    def _notes(self) -> list[str]:
        part, size = self.part, self.drawn.size
        notes = [
            f"{size('part.thickness_mm', part.thickness_mm)} mm thick; plane stress. x_mm and y_mm from the middle of the cutout."
        ]
        if part.kind == "plate_row":
            notes.append("An endless row; one pitch is solved, its cut edges (dashed) stay straight.")
        if self.frame.shortened:
            notes.append("Shortened where wavy lines stand; the rest is true to scale.")
        return notes

    def on_sheet(self, sheet: Sheet) -> None:
        """Plate, dimensions, notes."""
        frame, part, size = self.frame, self.part, self.drawn.size
        view = View(frame.scale, 84.0, sheet.height_mm - 12.0 - 0.5 * self.tall)
        frame.draw(sheet, view)
        x, y = frame.half_x, frame.half_y
        left, low = view((-x, 0.0))[0], view((0.0, -y))[1]
        sheet.dimension(
            view((-x, -y)), view((-x, y)), size("part.width_mm", part.width_mm), at=left - 9.0, upright=True
        )
        if part.kind == "plate_row":
            half = part.half_x_mm
            for side in (-1.0, 1.0):
                sheet.line(view([(side * half, -y), (side * half, y)]), width=0.6, dash=(0, (4, 2.2)))
            sheet.dimension(
                view((-half, -y)), view((half, -y)), f"pitch {size('part.pitch_mm', part.pitch_mm)}", at=low - 7.0
            )
        else:
            sheet.dimension(view((-x, -y)), view((x, -y)), size("part.length_mm", part.length_mm), at=low - 7.0)
        self._cutout(sheet, view)
        here = view((0.0, 0.0))
        top = view((x, y))
        sheet.arrow(here, here + off(6.0, 0.0), width=0.7)
        sheet.arrow(here, here + off(0.0, 6.0), width=0.7)
        sheet.text((top[0] + 3.2, here[1]), "x_mm", size=6.0, ha="left")
        sheet.text((here[0], top[1] + 3.6), "y_mm", size=6.0)
        foot = low - 16.0
        sheet.scale_bar((4.0, foot), frame.scale)
        rest = sheet.lines_of_text((4.0, foot - 3.0), self.notes)
        sheet.lines_of_text((4.0, rest), self.faults, colour=LOOKS[3].colour)

    def _cutout(self, sheet: Sheet, view: View) -> None:
        cut = self.part.cutout
        a, b = cut.half_x_mm, cut.half_y_mm
        if isinstance(cut, Circle):
            words = f"Ø {self.drawn.size('part.cutout.diameter_mm', cut.diameter_mm)}"
        else:
            words = f"{cut.shape} {self._named('x', 2 * a)} x {self._named('y', 2 * b)}"
        tip = view((0.7071 * a, 0.7071 * b)) if isinstance(cut, Circle) else view((a, 0.5 * b))
        sheet.leader(tip, (tip[0] + 7.0, view((0.0, self.frame.half_y))[1] + 5.5), words)

    def _named(self, axis: str, value: float) -> str:
        keys = [f"part.cutout.size_{axis}_mm", "part.cutout.around_mm" if axis == "x" else "part.cutout.axial_mm"]
        return self.drawn.size(next((k for k in keys if k in self.drawn.varied), keys[0]), value)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Sizes of the part as drawn."""
        part = self.part
        along = ("pitch_mm", part.pitch_mm) if part.kind == "plate_row" else ("length_mm", part.length_mm)
        rows = [along, ("width_mm", part.width_mm), ("thickness_mm", part.thickness_mm),
                ("cutout_size_x_mm", 2 * part.cutout.half_x_mm), ("cutout_size_y_mm", 2 * part.cutout.half_y_mm)]  # fmt: skip
        return ("size", "value"), rows


class PlateLoads(Drawing):
    """Each load, or each condition, in a panel of its own."""

    name = "paths"

    def __init__(self, drawn: Drawn) -> None:
        self.drawn = drawn
        self.panels = [(case, *self._stresses(case)) for case in drawn.cases][:MOST_PANELS]
        self.rows = (len(self.panels) + 2) // 3
        self.words = [wrapped_mm(self._said(panel), PANEL_X - 4.0, 6.5) for panel in self.panels]
        self.text_high = 3.3 * max(len(w) for w in self.words) + 2.0
        self.lay_out(self.rows * (PANEL_Y + self.text_high + 2.0) + 8.0)
        more = len(drawn.cases) - len(self.panels)
        self.caption = (
            "Loads on the part's edges: arrows show where and which way each acts; their lengths are not to scale, values are gross "
            "stresses." + (f" {more} more are not drawn." if more > 0 else "")
        )

    def _stresses(self, case: str) -> tuple[float, float, float]:
        """Gross stress along x, along y, and shear of a load or a condition, MPa."""
        loads = {load.name: load for load in self.drawn.loads}
        total = {"tension_x": 0.0, "tension_y": 0.0, "shear": 0.0}
        for name, share in self.drawn.shares(case).items():
            for unit, value in factors(self.drawn.part, loads[name]).steady.items():
                total[unit] += share * value
        return total["tension_x"], total["tension_y"], total["shear"]

    @staticmethod
    def _said(panel: tuple[str, float, float, float]) -> str:
        case, *values = panel
        words = [
            f"{number(v)} MPa {what}" for v, what in zip(values, ("along x", "along y", "shear"), strict=True) if v
        ]
        return f"{case}: {', '.join(words)}"

    def on_sheet(self, sheet: Sheet) -> None:
        """Panels, three to a row."""
        frame = _Frame(self.drawn.part, 26.0, 22.0, 6.0)
        for n, (_, along_x, along_y, shear) in enumerate(self.panels):
            left = (n % 3) * PANEL_X
            top = sheet.height_mm - 1.0 - (n // 3) * (PANEL_Y + self.text_high + 2.0)
            view = View(frame.scale, left + 0.5 * PANEL_X, top - 0.5 * PANEL_Y)
            frame.draw(sheet, view)
            colour = LOOKS[0].colour
            self._pull(sheet, view, frame, along_x, along_y, colour)
            if shear:
                self._shear(sheet, view, frame, shear, colour, bool(along_x), bool(along_y))
            sheet.lines_of_text((left + 3.0, top - PANEL_Y - 0.5), self.words[n])

    @staticmethod
    def _pull(sheet: Sheet, view: View, frame: _Frame, along_x: float, along_y: float, colour: str) -> None:
        for value, k in ((along_x, 0), (along_y, 1)):
            half, across = (frame.half_x, frame.half_y) if k == 0 else (frame.half_y, frame.half_x)
            for side in (-1.0, 1.0) if value else ():
                for share in (-0.8, -0.27, 0.27, 0.8):
                    foot = np.array([side * half, share * across])
                    way = np.array([side * 7.0, 0.0])
                    start = view(foot if k == 0 else foot[::-1]) + 0.12 * (way if k == 0 else way[::-1])
                    ends = (start, start + (way if k == 0 else way[::-1]))
                    sheet.arrow(*(ends if value > 0 else ends[::-1]), colour=colour, width=0.9)

    @staticmethod
    def _shear(
        sheet: Sheet, view: View, frame: _Frame, shear: float, colour: str, x_taken: bool, y_taken: bool
    ) -> None:
        """Positive: the +x end towards +y, the +y side towards +x."""
        away_x, away_y = (9.5 if x_taken else 2.2), (9.5 if y_taken else 2.2)
        for side in (-1.0, 1.0):
            way = side * np.sign(shear)
            end = view((side * frame.half_x, 0.0)) + off(side * away_x, 0.0)
            reach = 0.75 * frame.half_y * view.scale
            sheet.arrow(end - (0.0, way * reach), end + off(0.0, way * reach), colour=colour, width=1.1)
            end = view((0.0, side * frame.half_y)) + off(0.0, side * away_y)
            reach = 0.75 * frame.half_x * view.scale
            sheet.arrow(end - (way * reach, 0.0), end + off(way * reach, 0.0), colour=colour, width=1.1)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Gross stresses of what is drawn."""
        return ("case", "along_x_MPa", "along_y_MPa", "shear_MPa"), list(self.panels)
