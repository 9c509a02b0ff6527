"""The whole drum of a study or of a drum file: length view with ends, bearings and rows, and the shell unrolled with slot numbers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from ..model.drum import Drum, DrumSlot, slots
from ..model.drum_shaft import StubShaft
from .draw_base import Drawing, outline
from .draw_sheet import HIDDEN, THICK, Sheet, View, off
from .picture import Picture
from .rotor_pattern import UnrolledPicture
from .style import GREY

__all__ = ["DrumDrawing", "drum_drawings"]

LENGTH_MM = 138.0


@dataclass(frozen=True)
class _Drawn:
    """What the unrolled picture needs of a drum that was not computed."""

    drum: Drum
    slots: tuple[DrumSlot, ...]


def drum_drawings(drum: Drum) -> Iterator[Picture]:
    """Length view and unrolled shell of a checked drum."""
    yield DrumDrawing(drum)
    yield UnrolledPicture(cast(Any, _Drawn(drum, slots(drum))))


class DrumDrawing(Drawing):
    """The drum from outside, its axis along the sheet, the drive end to the left; seen onto angle 0 (the first slot of row 1).

    Seen so, the surface in sight moves downwards.
    """

    name = "drum"

    def __init__(self, drum: Drum) -> None:
        self.drum = drum
        near, far = drum.drive_end.beyond_mm, drum.other_end.beyond_mm
        sheave = drum.drive.sheave_overhang_mm + 90.0 if drum.drive is not None else 0.0
        self.first, self.last = -max(near, sheave, 40.0), drum.bearing_span_mm + max(far, 40.0)
        reach = max([drum.outer_radius_mm, drum.hammer.outer_radius_mm if drum.hammer else 0.0,
                     0.5 * drum.drive.sheave_diameter_mm if drum.drive is not None else 0.0])  # fmt: skip
        self.scale = min(LENGTH_MM / (self.last - self.first), 84.0 / (2 * reach))
        self.reach = reach
        self.lay_out(2 * reach * self.scale + 52.0)
        self.caption = (
            "The whole drum as it is described, seen onto the first slot of row 1, the side in sight moves downwards; sizes in "
            "mm. End discs are hidden lines; bearings and sheave show only place and diameter. Slots are numbered from 1."
        )

    def on_sheet(self, sheet: Sheet) -> None:
        """Shell with slots, ends, bearings, sheave, dimensions."""
        drum, s = self.drum, self.scale
        view = View(s, 13.0 - self.first * s, sheet.height_mm - 9.0 - self.reach * s)
        z0, z1, r = drum.shell_z_mm, drum.shell_z_mm + drum.shell_length_mm, drum.outer_radius_mm
        for end, face, way in (
            (drum.drive_end, drum.disc_faces_mm[0][0], -1.0),
            (drum.other_end, drum.disc_faces_mm[1][0], 1.0),
        ):
            self._stub(sheet, view, end, face, way)
        sheet.face(view([(z0, -r), (z1, -r), (z1, r), (z0, r)]), fill="white", width=THICK, z=3)
        for outer, inner in drum.disc_faces_mm:
            for z in (outer, inner):
                sheet.line(view([(z, -drum.inner_radius_mm), (z, drum.inner_radius_mm)]), dash=HIDDEN, width=0.5, z=4)
        sheet.centre(view((self.first, 0.0)) - (4.0, 0.0), view((self.last, 0.0)) + off(4.0, 0.0))
        self._slots(sheet, view)
        if drum.hammer is not None:
            tip = drum.hammer.outer_radius_mm
            for side in (-1.0, 1.0):
                sheet.centre(view((z0, side * tip)), view((z1, side * tip)))
        for z, end in ((0.0, drum.drive_end), (drum.bearing_span_mm, drum.other_end)):
            for side in (-1.0, 1.0):
                high, low = side * 0.5 * end.end_diameter_mm, side * 0.85 * end.end_diameter_mm
                half = 0.28 * end.end_diameter_mm
                box = view([(z - half, high), (z + half, high), (z + half, low), (z - half, low)])
                sheet.face(box, fill="white", width=0.7, z=4)
                sheet.line(box[[0, 2]], z=5)
                sheet.line(box[[1, 3]], z=5)
        if drum.drive is not None:
            z, half = -drum.drive.sheave_overhang_mm, 0.5 * drum.drive.sheave_diameter_mm
            sheet.face(view([(z - 70, -half), (z + 70, -half), (z + 70, half), (z - 70, half)]), width=0.8, z=4.2)
        self._sizes(sheet, view)

    def _stub(self, sheet: Sheet, view: View, end: StubShaft, face: float, way: float) -> None:
        for near, far, diameter in end.pieces():
            a, b, h = face + way * near, face + way * far, 0.5 * diameter
            sheet.face(view([(a, -h), (b, -h), (b, h), (a, h)]), fill="white", width=0.8, z=2.6)

    def _slots(self, sheet: Sheet, view: View) -> None:
        """Slots in sight and, dashed, those behind."""
        drum = self.drum
        shape = outline(drum.cutout)
        t, along = shape[:, 0], shape[:, 1]
        out = np.sqrt(np.maximum(drum.outer_radius_mm**2 - t**2, 0.0))
        for slot in slots(drum):
            a = np.radians(slot.angle_deg)
            up, depth = -t * np.cos(a) - out * np.sin(a), out * np.cos(a) - t * np.sin(a)
            points = view(np.stack([slot.z_mm + along, up], -1))
            if np.all(depth > 0):
                sheet.face(points, fill="white", width=0.8, z=5)
                if min(np.ptp(points[:, 0]), np.ptp(points[:, 1])) > 2.0:
                    sheet.text(points.mean(0), str(slot.number + 1), size=5.5, bold=True, clear=False)
            elif np.any(depth > 0):
                points[depth <= 0] = np.nan
                sheet.line(points, width=0.8, z=5)
            else:
                sheet.line(points, dash=HIDDEN, width=0.4, colour=GREY, closed=True, z=3.4)

    def _sizes(self, sheet: Sheet, view: View) -> None:
        drum, s = self.drum, self.scale
        low = view((0.0, -self.reach))[1]
        z0 = drum.shell_z_mm
        r, span = drum.outer_radius_mm, drum.bearing_span_mm
        first = z0 + drum.first_row_mm
        sheet.dimension(view((z0, -r)), view((first, -r)), f"{drum.first_row_mm:g}", at=low - 5.0, size=6.5)
        if drum.rows_total > 1:
            last = drum.row_z_mm(drum.rows_total - 1)
            words = f"{drum.rows_total - 1} x {drum.pitch_mm:g} = {last - first:g}"
            sheet.dimension(view((first, -r)), view((last, -r)), words, at=low - 5.0, size=6.5)
        sheet.dimension(
            view((z0, -r)),
            view((z0 + drum.shell_length_mm, -r)),
            f"shell {drum.shell_length_mm:g}",
            at=low - 11.5,
            size=6.5,
        )
        foot = 0.85 * drum.drive_end.end_diameter_mm
        sheet.dimension(view((0.0, -foot)), view((span, -foot)), f"between bearings {span:g}", at=low - 18.0, size=6.5)
        right = view((self.last, 0.0))[0] + 4.0
        sheet.dimension(
            view((z0 + drum.shell_length_mm, -r)),
            view((z0 + drum.shell_length_mm, r)),
            f"Ø {drum.outer_diameter_mm:g}",
            at=right,
            upright=True,
            size=6.5,
        )
        if drum.hammer is not None:
            sheet.text(
                view((z0 + 0.5 * drum.shell_length_mm, drum.hammer.outer_radius_mm)) + off(0.0, 1.8),
                f"tips Ø {2 * drum.hammer.outer_radius_mm:g}",
                size=6.5,
            )
        top = view((0.0, self.reach))[1] + 2.0
        sheet.text((view((z0, 0.0))[0], top), "drive end", size=6.5, ha="left", va="bottom", clear=False)
        sheet.text(
            (view((z0 + drum.shell_length_mm, 0.0))[0], top), "free end", size=6.5, ha="right", va="bottom", clear=False
        )
        sheet.scale_bar((4.0, low - 27.0), s)
        axis = view((0.0, 0.0))[1]
        sheet.arrow((4.5, axis + 7.0), (4.5, axis - 7.0))
        sheet.text((2.0, axis), "turns", size=6.0, turn=90.0, clear=False)
        words = f"wall {drum.wall_mm:g} mm, {drum.slots_total} slots in {drum.rows_total} rows, numbered from 1"
        sheet.text((50.0, low - 27.0), words, size=6.5, ha="left", clear=False)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Slots with their places."""
        return ("slot", "row", "angle_deg", "z_mm", "y_mm"), [
            (s.number + 1, s.row + 1, s.angle_deg, s.z_mm, s.along_mm) for s in slots(self.drum)
        ]
