"""The drum shell of a ring study: cross-section and view from outside with its rows, diameters, pitch and turning direction."""

from __future__ import annotations

from typing import Any

import numpy as np

from .draw_base import Drawing, Shell, around_deg, outline, ring_angles_deg
from .draw_scene import Drawn
from .draw_sheet import HIDDEN, THICK, THIN, Sheet, View, text_mm
from .style import GREY, LOOKS

__all__ = ["RingDrawing", "outside_view", "section_view"]

MOST_ROWS = 5
ROOM_MM = 50.0  # paper that the outer diameter takes, each view
LEAST_SHARE = 0.6  # of that: below it a long pitch gets a scale of its own


class RingDrawing(Drawing):
    """Two views of equal scale. faults: what is wrong with it, in sentences, where it is drawn all the same."""

    name = "part"

    def __init__(self, drawn: Drawn, faults: tuple[str, ...] = ()) -> None:
        self.drawn, self.faults = drawn, self.broken(faults)
        self.shell = Shell(drawn.part)
        shell = self.shell
        rows = int(np.clip(1.25 * 2 * shell.outer / shell.pitch, 1, MOST_ROWS))
        self.rows = max(3, rows - 1 + rows % 2)
        self.scale = ROOM_MM / (2 * shell.outer)
        self.along = min(self.scale, 72.0 / (self.rows * shell.pitch))
        self.alike = self.along > LEAST_SHARE * self.scale
        if self.alike:
            self.scale = self.along
        self.tall = max(2 * shell.outer * self.scale + 8.0, self.rows * shell.pitch * self.along + 4.0)
        self.notes = self.broken(self._notes())
        self.lay_out(self.tall + 25.0 + 3.3 * (len(self.notes) + len(self.faults)))
        which = f" {drawn.about.capitalize()}." if drawn.about else ""
        self.caption = (
            "The drum as the study describes it: cross-section through a row, seen from the drive end, and the shell from outside. "
            f"{'Both views are to one scale.' if self.alike else 'Each view is to a scale of its own.'}{which} Sizes in mm; a range in brackets is what the study varies."
        )

    def _notes(self) -> list[str]:
        part = self.drawn.part
        turned = {
            "aligned": "Aligned rows: all alike",
            "alternate": f"Alternate rows: each turned by {self.shell.turn_deg:g}°, there and back",
            "helical": f"Helical rows: each turned by {self.shell.turn_deg:g}° in the sense of rotation, going to the free end",
        }.get(self.shell.rows, f"Rows: {self.shell.rows}")
        held = {"extension": ", its length held", "all": ", its length, bending and twist held"}.get(part.held, "")
        notes = [
            f"{turned}. {self.drawn.size('part.slots_around', part.slots_around)} slot{'s' if part.slots_around > 1 else ''} in a row, {self.shell.spacing_deg:g}° apart; "
            f"one pitch stands for a long drum of equal rows{held}.",
            "Slots are counted from 0 in the sense of rotation; angles from slot 0, here straight down.",
        ]
        if part.block_rows > 1:
            notes.append(f"A load on single slots strikes one row of every {part.block_rows}.")
        return notes

    def on_sheet(self, sheet: Sheet) -> None:
        """Both views and the notes."""
        shell, s, part = self.shell, self.scale, self.drawn.part
        size = self.drawn.size
        top = sheet.height_mm
        middle = top - 9.0 - 0.5 * self.tall
        section = View(s, 38.0, middle)
        sheet.text((38.0, top - 1.5), "section through row 0, seen from the drive end", size=6.5, va="top", clear=False)
        section_view(sheet, section, shell)
        r, ri = shell.outer * s, shell.inner * s
        x, y = section.x_mm, section.y_mm
        at = 0.5 * np.pi * 0.5
        way = np.array([np.cos(at), np.sin(at)])
        sheet.leader(section(shell.outer * way), (x + 0.80 * r, y + r + 1.5), f"Ø {size('part.outer_diameter_mm', part.outer_diameter_mm)}", shelf_mm=1.0)  # fmt: skip
        sheet.leader(
            section(shell.inner * np.array([way[0], -way[1]])),
            (x + 0.2 * ri, y - 0.45 * ri),
            f"Ø {2 * shell.inner:.4g}",
            shelf_mm=1.0,
        )
        self._wall(sheet, section)
        sheet.arc_arrow((x, y), 0.42 * ri, 155.0, 35.0)
        sheet.text((x, y + 0.62 * ri), "turns", size=6.5)
        if part.slots_around >= 8:
            self._spacing(sheet, section)
        outside = View(self.along, 115.0, middle)
        sheet.text((115.0, top - 1.5), "seen from outside, onto slot 0", size=6.5, va="top", clear=False)
        outside_view(sheet, outside, shell, self.rows, numbers=True)
        self._along(sheet, outside)
        foot = middle - 0.5 * self.tall - 5.0
        sheet.scale_bar((4.0, foot), s)
        if not self.alike:
            sheet.scale_bar((90.0, foot), self.along)
        left = sheet.lines_of_text((4.0, foot - 3.0), self.notes)
        sheet.lines_of_text((4.0, left), self.faults, colour=LOOKS[3].colour)

    def _wall(self, sheet: Sheet, section: View) -> None:
        """The wall's thickness, measured along a radius clear of slots."""
        shell = self.shell
        half = np.degrees(np.arcsin(min(shell.half_x / shell.inner, 1.0)))
        free = [a for a in (90.0, 75.0, 105.0, 60.0, 120.0, 80.0, 100.0) if all(
            abs((a - shell.slot_deg(k) + 180.0) % 360.0 - 180.0) > half + 6.0 for k in range(shell.slots))]  # fmt: skip
        at = free[0] if free else 90.0
        out, low = section(around_deg(shell.outer, at)), section(around_deg(shell.inner, at))
        way = (out - low) / np.hypot(*(out - low))
        sheet.arrow(out + 5.0 * way, out, width=THIN)
        sheet.arrow(low - 4.0 * way, low, width=THIN)
        sheet.line([low, out])
        sheet.text(
            low - 4.6 * way, f"wall {self.drawn.size('part.wall_mm', self.drawn.part.wall_mm)}", ha="left", size=6.5
        )

    def _spacing(self, sheet: Sheet, section: View) -> None:
        """The angle from slot 0 to slot 1, inside the bore."""
        shell = self.shell
        t = np.radians(np.linspace(0.0, shell.spacing_deg, 60))
        arc = section(0.82 * shell.inner * np.stack([-np.sin(t), -np.cos(t)], -1))
        sheet.line(arc)
        sheet.arrow(arc[-8], arc[-1], width=THIN)
        sheet.arrow(arc[7], arc[0], width=THIN)
        sheet.text(
            section(0.64 * shell.inner * np.array([-np.sin(t[30]), -np.cos(t[30])])),
            f"{shell.spacing_deg:.4g}°",
            size=6.5,
        )

    def _along(self, sheet: Sheet, view: View) -> None:
        """Pitch, row names, ends and sense of rotation beside the view from outside."""
        shell, s, part = self.shell, view.scale, self.drawn.part
        left = view.x_mm - shell.outer * s
        text = self.drawn.size("part.pitch_mm", part.pitch_mm)
        low, high = view((0.0, 0.0)), view((0.0, shell.pitch))
        low[0] = high[0] = left - 1.0
        sheet.dimension(low, high, text, at=left - 5.0, upright=True)
        right = view.x_mm + shell.outer * s + 2.0
        for row in range(-(self.rows // 2), self.rows // 2 + 1):
            turn = (shell.slot_deg(0, row) + 180.0) % 360.0 - 180.0
            words = f"row {row:+d}" if row else "row 0"
            words += f", {turn:+.4g}°" if abs(turn) > 1e-9 and abs(row) <= 2 else ""
            sheet.text(
                (right, view.y_mm + row * shell.pitch * s),
                words.replace("-", "\u2212"),
                size=6.5,
                ha="left",
                clear=False,
            )
        half = 0.5 * self.rows * shell.pitch * s
        sheet.text((view.x_mm - 9.0, view.y_mm + half + 2.6), "free end (+y)", size=6.5, ha="right", clear=False)
        sheet.arrow((view.x_mm - 2.0, view.y_mm + half + 2.6), (view.x_mm + 8.0, view.y_mm + half + 2.6))
        sheet.text(
            (view.x_mm + 9.5, view.y_mm + half + 2.6), "sense of rotation (+x)", size=6.5, ha="left", clear=False
        )
        sheet.text((view.x_mm, view.y_mm - half - 2.8), "drive end (\u2212y)", size=6.5, clear=False)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Slots of the rows drawn, with their places."""
        shell = self.shell
        middle = self.drawn.part.outer_diameter_mm / 2 - 0.5 * self.drawn.part.wall_mm
        rows = []
        for row in range(-(self.rows // 2), self.rows // 2 + 1):
            for slot in range(shell.slots):
                angle = shell.slot_deg(slot, row) % 360.0
                rows.append((row, slot, angle, middle * np.radians(angle), row * shell.pitch))
        return ("row", "slot", "angle_deg", "x_mm", "y_mm"), rows


def section_view(sheet: Sheet, view: View, shell: Shell, *, numbers: bool = True) -> None:
    """Cross-section through the middle of row 0: the cut wall, the next row's slots behind it, slot numbers."""
    s = view.scale
    pieces = shell.wall_pieces()
    for piece in pieces:
        sheet.face(view(ring_angles_deg(piece)), hatch="//////")
    if not pieces:
        _overlapping(sheet, view, shell)
    reach = shell.outer + 4.0 / s
    for angle in (0.0, 90.0, 180.0, 270.0):
        sheet.centre(view((0.0, 0.0)), view(around_deg(reach, angle)))
    next_row = {round((shell.slot_deg(k, 1)) % 360.0, 6) for k in range(shell.slots)}
    here = {round(shell.slot_deg(k) % 360.0, 6) for k in range(shell.slots)}
    for angle in sorted(next_row - here):
        for side in (-1.0, 1.0):
            flat = shell.flank(side)[[0, -1]] if not shell.chamfer else shell.flank(side)[[1, -2]]
            c, sn = np.cos(np.radians(angle)), np.sin(np.radians(angle))
            turned = np.stack([flat[:, 0] * c + flat[:, 1] * sn, flat[:, 1] * c - flat[:, 0] * sn], -1)
            sheet.line(view(ring_angles_deg(turned)), dash=HIDDEN, width=0.55, z=4)
    if numbers:
        for k in range(shell.slots):
            words = f"slot {k}" if shell.slots <= 6 else str(k)
            off = 3.2 + 0.45 * text_mm(words, 6.5) * abs(np.sin(np.radians(shell.slot_deg(k))))
            sheet.text(view(around_deg(shell.outer + off / s, shell.slot_deg(k))), words, size=6.5, bold=True)


def _overlapping(sheet: Sheet, view: View, shell: Shell) -> None:
    """Outer surface, bore, and the flanks of every slot as they would cut into each other."""
    t = np.linspace(0, 2 * np.pi, 181)
    for radius in (shell.outer, shell.inner):
        sheet.line(view(radius * np.stack([np.cos(t), np.sin(t)], -1)), width=0.7)
    for k in range(shell.slots):
        a = np.radians(shell.slot_deg(k))
        for side in (-1.0, 1.0):
            x = side * min(shell.half_x, shell.outer)
            ends = np.array(
                [(x, np.sqrt(max(shell.inner**2 - x * x, 0.0))), (x, np.sqrt(max(shell.outer**2 - x * x, 0.0)))]
            )
            turned = np.stack(
                [ends[:, 0] * np.cos(a) + ends[:, 1] * np.sin(a), ends[:, 1] * np.cos(a) - ends[:, 0] * np.sin(a)], -1
            )
            sheet.line(view(ring_angles_deg(turned)), width=1.2, colour=LOOKS[3].colour, z=4)


def outside_view(sheet: Sheet, view: View, shell: Shell, rows: int, *, numbers: bool = False) -> None:
    """The shell seen onto slot 0, x to the right, y up: `rows` rows about row 0, what lies behind dashed."""
    s, half = view.scale, 0.5 * rows * shell.pitch
    edge = shell.outer
    for side in (-1.0, 1.0):
        sheet.line(view([(side * edge, -half), (side * edge, half)]), width=THICK)
        sheet.break_line(view((-edge, side * half)), view((edge, side * half)))
    sheet.centre(view((0.0, -half - 2.0 / s)), view((0.0, half + 2.0 / s)))
    shape = outline(shell.cutout)
    for row in range(-(rows // 2), rows // 2 + 1):
        sheet.centre(view((-edge - 1.0 / s, row * shell.pitch)), view((edge + 1.0 / s, row * shell.pitch)))
        _row_of_slots(sheet, view, shell, row, shape, numbers)


def _row_of_slots(sheet: Sheet, view: View, shell: Shell, row: int, shape: Any, numbers: bool) -> None:
    t, y = shape[:, 0], shape[:, 1] + row * shell.pitch
    out = np.sqrt(np.maximum(shell.outer**2 - t**2, 0.0))
    for k in range(shell.slots):
        a = np.radians(shell.slot_deg(k, row))
        u, depth = t * np.cos(a) + out * np.sin(a), out * np.cos(a) - t * np.sin(a)
        points = view(np.stack([u, y], -1))
        if np.all(depth > 0):
            sheet.face(points, fill="white", z=4)
            if numbers and row == 0 and min(np.ptp(points, axis=0)) > 2.6:
                sheet.text(points.mean(0), str(k), size=6.5, bold=True, clear=False)
        elif np.any(depth > 0):
            points[depth <= 0] = np.nan
            sheet.line(points, width=THICK, z=4)
        else:
            sheet.line(points, dash=HIDDEN, width=0.5, colour=GREY, closed=True, z=2.4)
