"""Load paths on a ring under a condition or a load: arrows where each load acts, and the list of them with values and units."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..model.flank import FLANKS, flank_length_mm
from .draw_acting import Acting, acting
from .draw_base import Drawing, Shell, outline
from .draw_load_marks import along_marks, bars, beam_marks, colour_of, face_marks, plane_marks, wall_marks
from .draw_ring import outside_view, section_view
from .draw_scene import Drawn
from .draw_sheet import Sheet, View, wrapped_mm
from .draw_slot import wall_view
from .style import GREY
from .words import file_name

__all__ = ["LoadDrawing"]

PLANE_MM = 50.0  # paper that the largest diameter of the cross-section takes
BEAM_MM = 32.0
LINE_MM = 3.3
NOTES = (
    "Drawn at drum angle 0: slot 0 points straight down, the drum seen from the drive end turns clockwise. Loads that stand in space "
    "are shown as the drum meets them at this angle.",
    "Places, patches and sizes are true to scale; lengths of arrows are not, and each load's pressure has a scale of its own.",
)


class LoadDrawing(Drawing):
    """One condition, or one load where the study has none of these."""

    def __init__(self, drawn: Drawn, case: str) -> None:
        self.drawn, self.case = drawn, case
        self.items = acting(drawn, case)
        self.shell = Shell(drawn.part)
        self.name = f"paths-{file_name(case)}"
        self.in_plane = any(
            i.speed_rpm or i.tip or i.outward or i.strut or i.pressure_MPa or i.on_flanks for i in self.items
        )
        self.on_beam = any(i.on_section for i in self.items)
        self.vectors = any(i.bending or i.transverse for i in self.items)
        self.slots = self._slots()
        self.torques = sum(bool(i.torsion_Nmm) for i in self.items)
        self.rows = 3
        self.beam_scale = min(BEAM_MM / (2 * self.shell.outer), 30.0 / (self.rows * self.shell.pitch))
        self.plane_high = 86.0 if self.in_plane else 0.0
        self.beam_high = 0.0
        if self.on_beam:
            ends = 4.6 * self.torques + (9.0 if any(i.axial_MPa for i in self.items) else 2.0)
            tall = max(
                self.rows * self.shell.pitch * self.beam_scale + 2 * ends,
                2 * self.shell.outer * self.beam_scale + (23.0 if self.vectors else 0.0),
            )
            self.beam_high = tall + 10.0
        self.listed = [self._listed(i) for i in self.items]
        notes = self.broken(NOTES)
        lines = sum(len(text) for _, text in self.listed)
        self.lay_out(
            self.plane_high + self.beam_high + 12.0 + LINE_MM * lines + 1.2 * len(self.items) + LINE_MM * len(notes)
        )
        self.notes = notes
        which = f" {drawn.about.capitalize()}." if drawn.about else ""
        kind = "Condition" if case in {c.name for c in drawn.conditions} else "Load"
        self.caption = f"{kind} \u201c{case}\u201d: what acts on the drum, and where.{which} Letters lead to the list below the views."

    def _slots(self) -> tuple[int, ...]:
        """Slots whose flanks are drawn large: the struck one, then another that takes part."""
        found: dict[int, None] = {}
        for item in self.items:
            if item.tip is not None:
                found[item.tip.slot] = None
        for item in self.items:
            for patch, _ in item.patches:
                found[0 if patch.slot is None else patch.slot] = None
            if item.clamp_N and not found:
                found[0] = None
        return tuple(found)[:2]

    def _listed(self, item: Acting) -> tuple[Acting, list[str]]:
        share = "" if item.share == 1 else f", {item.share:g} times".replace("-", "\u2212")
        kind = "" if item.kind in item.name else f" ({item.kind})"
        words = f"{item.name}{kind}{share}: {'; '.join(item.said) or 'nothing at this angle'}"
        return item, wrapped_mm(words, 146.0)

    def on_sheet(self, sheet: Sheet) -> None:
        """Cross-section with slots large beside it, the shell as a beam, the list."""
        top = sheet.height_mm
        if self.in_plane:
            self._plane(sheet, top)
            top -= self.plane_high
        if self.on_beam:
            self._beam(sheet, top)
            top -= self.beam_high
        y = top - 2.0
        sheet.line([(4.0, y + 1.2), (sheet.width_mm - 4.0, y + 1.2)], colour=GREY)
        y -= 2.2
        for item, lines in self.listed:
            sheet.letter((6.5, y - 0.6), item.letter, colour_of(item))
            y = sheet.lines_of_text((10.5, y + 0.6), lines, step_mm=LINE_MM) - 1.8
        sheet.lines_of_text((4.0, y), self.notes)

    def _plane(self, sheet: Sheet, top: float) -> None:
        shell, machine = self.shell, self.drawn.machine
        bar = machine.bar if machine is not None else None
        heights = [i.tip.height_mm for i in self.items if i.tip is not None]
        tip = machine.tip_diameter_mm if machine is not None else None
        reach = max(
            [shell.outer, *(shell.outer + h for h in heights), 0.5 * bar.length_mm if bar else 0.0, 0.5 * (tip or 0.0)]
        )
        view = View(PLANE_MM / (2 * reach), 40.0, top - 42.0)
        sheet.text((40.0, top - 1.0), "in the plane of row 0, seen from the drive end", size=6.5, va="top", clear=False)
        section_view(sheet, view, shell, numbers=not bar)
        if bar is not None:
            held = [int(getattr(load, "slot", 0)) for load in self.drawn.loads if load.kind == "through_bar"]
            slot = held[0] if held else (self.slots[0] if self.slots else 0)
            bars(sheet, view, bar, shell, slot, tip)
            for k in range(shell.slots):
                aside = view(np.array([0.0, 0.0])) + (shell.inner * view.scale - 3.6) * _out(shell.slot_deg(k) + 24.0)
                sheet.text(aside, f"slot {k}" if shell.slots <= 6 else str(k), size=6.3, bold=True)
        plane_marks(sheet, view, shell, self.items, reach, 0.5 * bar.length_mm if bar else shell.outer)
        sheet.scale_bar((4.0, top - self.plane_high + 5.0), view.scale)
        if self.slots and any(i.on_flanks for i in self.items):
            self._at_slots(sheet, top)

    def _at_slots(self, sheet: Sheet, top: float) -> None:
        shell, part = self.shell, self.drawn.part
        flat = {f: flank_length_mm(part, f) for f in FLANKS}
        scale = min(24.0 / (2 * shell.half_x), 50.0 / (2 * shell.half_y))
        view = View(scale, 94.0, top - 40.0)
        sheet.text((94.0, top - 1.0), f"slot {self.slots[0]} from outside", size=6.5, va="top", clear=False)
        sheet.face(view(outline(part.cutout)), fill="white", z=3)
        more = 3.0 / scale
        sheet.centre(view((-shell.half_x - more, 0.0)), view((shell.half_x + more, 0.0)))
        sheet.centre(view((0.0, -shell.half_y - more)), view((0.0, shell.half_y + more)))
        face_marks(sheet, view, shell, self.items, self.slots[0], flat)
        for side, word in ((-1.0, "trailing"), (1.0, "leading")):
            sheet.text(
                (view.x_mm + side * (shell.half_x * scale + 2.6), view.y_mm - 0.3 * shell.half_y * scale),
                word,
                size=6.0,
                turn=90.0,
                clear=False,
            )
        sheet.scale_bar((82.0, top - self.plane_high + 5.0), scale, 20.0)
        if any(i.clamp_N for i in self.items) or any(
            p.flank in ("leading", "trailing") and p.traction != "shear_edge" for i in self.items for p, _ in i.patches
        ):
            self._across(sheet, top)

    def _across(self, sheet: Sheet, top: float) -> None:
        """Sections of the slots' walls, the loads on their flanks."""
        shell, part = self.shell, self.drawn.part
        reach = min(1.55 * shell.half_x + 0.25 * part.wall_mm, 0.9 * shell.inner)
        low = float(np.sqrt(shell.inner**2 - min(reach, 0.95 * shell.inner) ** 2))
        wall_scale = min(44.0 / (2 * reach), 22.0 / (shell.outer - low))
        for n, slot in enumerate(self.slots):
            y = top - 12.5 - 36.0 * n
            wall = View(wall_scale, 136.0, y - shell.outer * wall_scale)
            sheet.text((136.0, y + 11.5), f"slot {slot}, section across", size=6.5, va="top", clear=False)
            wall_view(sheet, wall, shell, reach)
            wall_marks(sheet, wall, shell, self.items, slot)
        sheet.scale_bar((124.0, top - self.plane_high + 5.0), wall_scale, 20.0)

    def _beam(self, sheet: Sheet, top: float) -> None:
        shell, s = self.shell, self.beam_scale
        middle = top - 6.0 - 0.5 * (self.beam_high - 8.0)
        if self.vectors:
            self._vectors(sheet, top, middle)
        x = 122.0 if self.vectors else 40.0
        view = View(s, x, middle)
        sheet.text((x, top - 1.0), "seen from outside, onto slot 0", size=6.5, va="top", clear=False)
        outside_view(sheet, view, shell, self.rows)
        along_marks(sheet, view, shell.outer * s, 0.5 * self.rows * shell.pitch * s, self.items)
        for side, word in ((1.0, "free end"), (-1.0, "drive end")):
            place = (x + shell.outer * s + 2.0, middle + side * max(0.5 * self.rows * shell.pitch * s - 2.0, 1.8))
            sheet.text(place, word, size=6.0, ha="left", clear=False)

    def _vectors(self, sheet: Sheet, top: float, middle: float) -> None:
        shell, s = self.shell, self.beam_scale
        sheet.text((40.0, top - 1.0), "the shell as a beam, seen from the drive end", size=6.5, va="top", clear=False)
        beam_marks(sheet, View(s, 40.0, middle), shell, self.items)
        sheet.lines_of_text(
            (77.0, middle + 4.0), ["dashed: to the", "tension side of", "a moment", "full: transverse", "force"], size=6.0, step_mm=3.0, colour=GREY
        )  # fmt: skip

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Each load with what acts, in the units of the unit cases; directions in degrees from slot 0."""
        head = ("letter", "load", "kind", "share", "speed_rpm", "moment_Nmm", "moment_deg", "transverse_N", "transverse_deg",
                "torque_Nmm", "axial_MPa", "bore_pressure_MPa", "clamp_N", "tip_force_N", "tip_slot", "tip_height_mm", "words")  # fmt: skip
        rows = []
        for i in self.items:
            tip = (i.tip.force_N, i.tip.slot, i.tip.height_mm) if i.tip else (None, None, None)
            vectors = (*(i.bending or (None, None)), *(i.transverse or (None, None)))
            rows.append(
                (
                    i.letter,
                    i.name,
                    i.kind,
                    i.share,
                    i.speed_rpm,
                    *vectors,
                    i.torsion_Nmm,
                    i.axial_MPa,
                    i.pressure_MPa,
                    i.clamp_N,
                    *tip,
                    "; ".join(i.said),
                )
            )
        return head, rows


def _out(angle_deg: float) -> Any:
    t = np.radians(angle_deg)
    return np.array([-np.sin(t), -np.cos(t)])
