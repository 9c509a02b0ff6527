"""What all drawings of the model have in common: a sheet of fixed layout that scales as a whole."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..model.contour import Arc
from ..model.cutout import Cutout
from ..model.ring import Ring
from .draw_sheet import PAD_MM, Sheet, wrapped_mm
from .picture import Picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["Drawing", "Shell", "around_deg", "outline", "ring_angles_deg"]

Array = NDArray[np.float64]
WIDTH_MM = 165.0


class Drawing(Picture):
    """A drawing; subclasses set `name`, `caption` and `high_mm`, and give `on_sheet` and `table`."""

    high_mm = 105.0

    def lay_out(self, high_mm: float) -> None:
        """Fix the height of the sheet, mm at a width of 165 mm."""
        self.high_mm = high_mm
        self.size_mm = (WIDTH_MM, high_mm)

    @staticmethod
    def broken(sentences: Iterable[str]) -> list[str]:
        """Sentences as lines that fit across the sheet."""
        return [line for text in sentences for line in wrapped_mm(text, WIDTH_MM - PAD_MM - 8.0)]

    def needed_mm(self) -> float:
        """A drawing is scaled as a whole."""
        return self.high_mm * self.size_mm[0] / WIDTH_MM

    def main_axes(self, ax: Axes) -> Axes | None:
        """None: a sheet has no scale that could be set."""
        return None

    def paint(self, ax: Axes) -> None:
        """Draw on the axes as paper."""
        self.on_sheet(Sheet(ax, WIDTH_MM - PAD_MM, self.high_mm - PAD_MM))

    def on_sheet(self, sheet: Sheet) -> None:
        """Put views, dimensions and words on the sheet."""
        raise NotImplementedError


class Shell:
    """Sizes of a ring that its drawings share; made also from what a faulty study says, so nothing is checked here."""

    def __init__(self, ring: Ring) -> None:
        self.outer, self.inner = 0.5 * ring.outer_diameter_mm, 0.5 * ring.outer_diameter_mm - ring.wall_mm
        self.cutout = ring.cutout
        self.half_x, self.half_y = ring.cutout.half_x_mm, ring.cutout.half_y_mm
        self.slots, self.pitch, self.chamfer = ring.slots_around, ring.pitch_mm, ring.edge_break_mm
        spacing = 360.0 / ring.slots_around
        turns = {"aligned": 0.0, "alternate": 0.5 * spacing, "helical": ring.row_angle_deg or 0.0}
        self.spacing_deg, self.turn_deg = spacing, turns.get(ring.rows, 0.0)
        self.rows = ring.rows

    def slot_deg(self, slot: int, row: int = 0) -> float:
        """Angle of a slot's middle; alternate rows turn there and back."""
        turns = row % 2 if self.rows == "alternate" else row
        return slot * self.spacing_deg + turns * self.turn_deg

    def flank(self, side: float) -> Array:
        """The flat flank of a slot at angle 0 from bore to outer surface with its edge breaks [n, 2]: around, outward."""
        a, c = self.half_x, self.chamfer
        places = [(a + c, self.inner), (a, self.inner + c), (a, self.outer - c), (a + c, self.outer)] if c else [
            (a, self.inner), (a, self.outer)
        ]  # fmt: skip
        out = []
        for t, r in places:
            t = min(t, 0.999 * r)
            out.append((side * t, float(np.sqrt(r * r - t * t))))
        return np.array(out)

    def wall_pieces(self) -> list[Array]:
        """The cut wall between neighbouring slots of row 0, closed outlines [n, 2] as (around, outward) of the whole
        drum; none where slots overlap."""
        pieces = []
        for k in range(self.slots):
            flank = self.flank(1.0)
            if np.degrees(np.arctan2(*flank[0])) >= 0.5 * self.spacing_deg or self.half_x >= self.inner:
                return []  # slots overlap: there is no wall between them
            lead = _turned(flank, self.slot_deg(k))
            trail = _turned(self.flank(-1.0), self.slot_deg(k) + self.spacing_deg)
            outer = _arc(lead[-1], trail[-1], self.outer)
            inner = _arc(lead[0], trail[0], self.inner)
            pieces.append(np.concatenate([lead, outer, trail[::-1], inner[::-1]]))
        return pieces


def _turned(points: Array, angle_deg: float) -> Array:
    """(around, outward) turned in the sense of rotation, which leads from outward to around."""
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    t, r = points[..., 0], points[..., 1]
    return np.stack([t * c + r * s, r * c - t * s], -1)


def _arc(start: Array, end: Array, radius: float) -> Array:
    """From one place to another along a circle in the sense of rotation."""
    a, b = np.arctan2(start[0], start[1]), np.arctan2(end[0], end[1])
    if b <= a:
        b += 2 * np.pi
    t = np.linspace(a, b, max(8, int(np.degrees(b - a) / 2)))
    return radius * np.stack([np.sin(t), np.cos(t)], -1)


def around_deg(radius: float, angle_deg: float) -> Array:
    """A place of the cross-section as it is drawn: seen from the drive end, slot 0 straight down, turning clockwise."""
    t = np.radians(angle_deg)
    return np.array([-radius * np.sin(t), -radius * np.cos(t)])


def ring_angles_deg(points: Array) -> Array:
    """(around, outward) places as they are drawn in the cross-section: slot 0 straight down."""
    return -np.asarray(points)


def outline(cutout: Cutout, offset_mm: float = 0.0, points: int = 24) -> Array:
    """The cutout's whole outline [n, 2] about its middle; offset_mm: outwards, as an edge break shows."""
    t = np.linspace(0.0, 1.0, points)
    parts = []
    for piece in cutout.quarter():
        place = piece.point(t)
        if isinstance(piece, Arc) and piece.corner_radius == 0.0:
            place = place[[0, -1]]
            angle = np.array([0.0, 0.5 * np.pi])
        else:
            angle = piece.angle(t)
        parts.append(place + offset_mm * np.stack([np.cos(angle), np.sin(angle)], -1))
    quarter = np.concatenate(parts)
    half = np.concatenate([quarter, quarter[::-1] * [-1.0, 1.0]])
    return np.concatenate([half, half[::-1] * [1.0, -1.0]])
