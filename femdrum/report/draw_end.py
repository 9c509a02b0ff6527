"""The drum's end in its meridian section: shell, disc, stub, fillet and welds with their dimensions."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.drum_end import DrumEnd
from .draw_base import Drawing
from .draw_sheet import THICK, THIN, Sheet, View, off
from .style import GREY

__all__ = ["EndDrawing"]

Array = NDArray[np.float64]
ROOM_X, ROOM_Y = 118.0, 74.0


class EndDrawing(Drawing):
    """One half of the section, the axis below; the bearing's end of the stub to the left, the shell to the right."""

    name = "drum-end"

    def __init__(self, end: DrumEnd) -> None:
        self.end = end
        self.left, self.right = -end.stub_length_mm, end.disc_thickness_mm + end.modelled_shell_mm
        self.scale = min(ROOM_X / (self.right - self.left), ROOM_Y / end.shell_outer_radius_mm)
        self.tall = end.shell_outer_radius_mm * self.scale
        self.notes = self.broken(self._notes())
        self.lay_out(self.tall + 44.0 + 3.3 * len(self.notes))
        self.caption = "The drum's end as a body of revolution, in its meridian section; sizes in mm. Grey lines show how far shell and stub are modelled."

    def _notes(self) -> list[str]:
        end = self.end
        rim = (
            "disc and shell are one along the disc's rim"
            if end.penetration == "full"
            else "the rim touches the shell without being fused"
        )
        toe = f"{end.toe_radius_mm:g} mm" if end.toe_radius_mm else "0 (sharp)"
        return [
            f"Penetration {end.penetration}: {rim}. Weld toe radius {toe}.",
            f"The stub is modelled to the middle of the bearing, the shell {end.modelled_shell_mm:.4g} mm inward from the disc.",
        ]

    def body(self) -> Array:
        """Outline of the cut body [n, 2]: along the axis from the disc's outer face, inward positive; radius."""
        end = self.end
        ro, ri, rs, f = end.shell_outer_radius_mm, end.shell_inner_radius_mm, end.stub_radius_mm, end.fillet_radius_mm
        t, out, inn, rec = end.disc_thickness_mm, end.outside_leg_mm, end.inside_leg_mm, end.recess_mm
        angle = np.radians(np.linspace(270.0, 360.0, 20))
        fillet = np.stack([-f + f * np.cos(angle), rs + f + f * np.sin(angle)], -1)
        bore = 0.5 * end.stub_bore_mm
        return np.concatenate([
            [(self.left, bore), (self.left, rs)], fillet, [(0.0, ri - out), (-out, ri), (-rec, ri), (-rec, ro), (self.right, ro), (self.right, ri),
             (t + inn, ri), (t, ri - inn), (t, bore)],
        ])  # fmt: skip

    def on_sheet(self, sheet: Sheet) -> None:
        """The section, dimensions, notes."""
        end, s = self.end, self.scale
        view = View(s, 26.0 - self.left * s, sheet.height_mm - 15.0 - self.tall)
        sheet.face(view(self.body()), hatch="//////", width=THICK)
        ro, ri, rs, t = end.shell_outer_radius_mm, end.shell_inner_radius_mm, end.stub_radius_mm, end.disc_thickness_mm
        sheet.centre(view((self.left, 0.0)) - (5.0, 0.0), view((self.right, 0.0)) + off(4.0, 0.0))
        sheet.text(view((self.right, 0.0)) + off(5.0, 0.0), "axis", size=6.0, ha="left", clear=False)
        welds = {"outside": (end.outside_leg_mm, [(0.0, ri - end.outside_leg_mm), (-end.outside_leg_mm, ri), (0.0, ri)]),
                 "inside": (end.inside_leg_mm, [(t, ri - end.inside_leg_mm), (t + end.inside_leg_mm, ri), (t, ri)])}  # fmt: skip
        for word, (leg, corners) in welds.items():
            if leg:
                sheet.face(view(corners), fill=GREY, width=0.6, z=4)
                side = -1.0 if word == "outside" else 1.0
                tip = view(np.mean(corners, axis=0))
                sheet.leader(tip, tip + off(side * 9.0, -9.0), f"fillet weld, leg {leg:g}", shelf_mm=1.0)
        if end.penetration == "full":
            sheet.line(view([(0.0, ri), (t, ri)]), width=0.6, dash=(0, (2, 1.5)))
        else:
            sheet.line(view([(0.0, ri), (t, ri)]), width=1.4)
        tip = view((-0.293 * end.fillet_radius_mm, rs + 0.293 * end.fillet_radius_mm))
        sheet.leader(tip, tip + off(-9.0, 9.0), f"R {end.fillet_radius_mm:g}", shelf_mm=1.0)
        low = view((0.0, 0.0))[1]
        sheet.dimension(view((self.left, 0.3 * rs)), view((0.0, 0.3 * rs)), f"{end.stub_length_mm:g}", at=low - 6.5)
        sheet.dimension(view((0.0, 0.3 * rs)), view((t, 0.3 * rs)), f"{t:g}", at=low - 6.5)
        if end.recess_mm:
            sheet.dimension(
                view((-end.recess_mm, ro)), view((0.0, ro)), f"{end.recess_mm:g}", at=view((0.0, ro))[1] + 5.5
            )
        x = view((self.left + 0.35 * end.stub_length_mm, 0.0))[0]
        self._round(sheet, (x, low), view((0.0, rs))[1], f"Ø {end.stub_diameter_mm:g}")
        if end.stub_bore_mm:
            self._round(sheet, (x + 12.0, low), view((0.0, 0.5 * end.stub_bore_mm))[1], f"Ø {end.stub_bore_mm:g}")
        x = view((self.right, 0.0))[0]
        self._round(sheet, (x - 14.0, low), view((0.0, ri))[1], f"Ø {2 * ri:g}")
        self._round(sheet, (x + 7.0, low), view((0.0, ro))[1], f"Ø {2 * ro:g}")
        wall = view((self.right - 0.35 * end.modelled_shell_mm, ro))
        sheet.arrow(wall + off(0.0, 5.0), wall, width=THIN)
        sheet.arrow(wall - (0.0, end.shell_wall_mm * s + 5.0), wall - (0.0, end.shell_wall_mm * s), width=THIN)
        sheet.line([wall, wall - (0.0, end.shell_wall_mm * s)])
        sheet.text(wall + off(1.2, 4.0), f"wall {end.shell_wall_mm:g}", size=6.5, ha="left", clear=False)
        for z, r in ((self.left, rs), (self.right, ro)):
            sheet.line(view([(z, 0.0), (z, r)]), colour=GREY, width=0.5)
        foot = low - 14.0
        sheet.scale_bar((4.0, foot), s)
        sheet.lines_of_text((4.0, foot - 3.0), self.notes)

    @staticmethod
    def _round(sheet: Sheet, foot: Any, top: float, text: str) -> None:
        """A diameter of which one half is drawn: from the axis to the surface."""
        x, y = foot
        sheet.arrow((x, y - 2.5), (x, top), width=THIN)
        sheet.text((x, y + 0.5 * (top - y)), text, size=6.5, turn=90.0)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Outline of the cut body."""
        return ("along_mm", "radius_mm"), [tuple(map(float, p)) for p in self.body()]
