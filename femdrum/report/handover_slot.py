"""One slot seen from outside with its corners numbered and the places marked at which to look first, from outer surface to bore."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..assess.handover_inspect import LookPlace
from ..assess.handover_slots import CORNERS
from ..model.cutout import Cutout
from ..model.ring import Ring
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["SlotEdgePicture"]

Array = NDArray[np.float64]
MOST = 12
# how far from the outer rim, outward, in shares of the drawn wall: surfaces lie beside the rims
ZONES = {"outer surface": 0.45, "outer rim": 0.0, "bore rim": -1.0, "bore surface": -1.45}


def along(cutout: Cutout, s_mm: Array) -> tuple[Array, Array]:
    """Places [n, 2] and outward normals [n, 2] at arc lengths from the leading flank's middle on, counter-clockwise."""
    pieces = cutout.quarter()
    ends = np.cumsum([p.length for p in pieces])
    quarter = float(ends[-1])
    s = np.mod(np.asarray(s_mm, dtype=float), 4 * quarter)
    sector = np.minimum((s / quarter).astype(int), 3)
    inside = s - sector * quarter
    inside = np.where(sector % 2 == 0, inside, quarter - inside)
    point, normal = np.empty((s.size, 2)), np.empty((s.size, 2))
    for i, value in enumerate(inside):
        at = min(int(np.searchsorted(ends, value)), len(pieces) - 1)
        piece = pieces[at]
        t = np.clip((value - (ends[at] - piece.length)) / piece.length, 0.0, 1.0) if piece.length > 0 else 0.0
        angle = float(piece.angle(np.array(t)))
        point[i], normal[i] = piece.point(np.array(t)), (np.cos(angle), np.sin(angle))
    flip = np.stack([np.where((sector == 1) | (sector == 2), -1.0, 1.0), np.where(sector >= 2, -1.0, 1.0)], -1)
    return point * flip, normal * flip


class SlotEdgePicture(Picture):
    """The wall is drawn as the band between two outlines: the outer one is the rim outside, the inner one the rim at the bore."""

    name = "slot-places"

    def __init__(self, ring: Ring, places: tuple[LookPlace, ...]) -> None:
        self.ring = ring
        self.places = [p for p in places if p.s_mm is not None and p.depth_mm is not None][:MOST]
        if not self.places:
            raise NoData("no place of a slot is known with its position")
        cutout = ring.cutout
        self.band = 0.62 * min(cutout.half_x_mm, cutout.half_y_mm)
        self.high = 2 * cutout.half_y_mm + 4.4 * self.band
        self.size_mm = (165.0, float(np.clip(74.0 * self.high / (2 * cutout.half_x_mm + 4.4 * self.band), 85.0, 140.0)))
        self.scale = self.high / (self.size_mm[1] - 14.0)  # mm of the slot on one mm of paper
        self.caption = (
            "A slot seen from outside, free end up, sense of rotation to the right. The wall is drawn as a band, as if one looked down a funnel: outer line the rim outside, inner line the rim "
            "at the bore; marks beyond them lie on the surfaces. Marks carry the rank of the place by utilisation, the square ones are where a crack was grown as well. "
            "Corners are numbered 1 to 4. Every slot is looked at alike."
        )

    def paint(self, ax: Axes) -> None:
        """Outlines, corner numbers, marks, and the list beside them."""
        cutout = self.ring.cutout
        s = np.linspace(0.0, 4 * sum(p.length for p in cutout.quarter()), 481)
        point, normal = along(cutout, s)
        outer, inner = point + 0.5 * self.band * normal, point - 0.5 * self.band * normal
        ax.fill(*outer.T, color=PALE, zorder=0)
        ax.fill(*inner.T, color="white", zorder=1)
        ax.plot(*outer.T, color=INK, linewidth=1.6, zorder=2, solid_capstyle="butt")
        ax.plot(*inner.T, color=INK, linewidth=1.0, zorder=2, solid_capstyle="butt")
        self._corners(ax)
        self._marks(ax)
        self._list(ax)
        a, b = cutout.half_x_mm, cutout.half_y_mm
        ax.text(0, b + 1.2 * self.band, "free end", ha="center", va="bottom", fontsize=7.5)
        ax.text(0, -b - 1.2 * self.band, "drive end", ha="center", va="top", fontsize=7.5)
        ax.text(a + 1.15 * self.band, 0, "leading\nflank", ha="left", va="center", fontsize=7.0, color=GREY)
        ax.text(-a - 1.15 * self.band, 0, "trailing\nflank", ha="right", va="center", fontsize=7.0, color=GREY)
        ax.annotate("", (0.55 * a, 0), (-0.55 * a, 0), arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.2})
        ax.text(0, 0.05 * b, "rotation", ha="center", va="bottom", fontsize=7.0)
        ax.set_aspect("equal", adjustable="box")
        ax.set_ylim(-0.5 * self.high, 0.5 * self.high)
        left = -a - 1.2 * self.band - 15.0 * self.scale
        ax.set_xlim(left, left + 160.0 * self.scale)
        ax.set_axis_off()
        ax.set_title("Places of every slot, by rank")

    def _corners(self, ax: Axes) -> None:
        a, b = self.ring.cutout.half_x_mm, self.ring.cutout.half_y_mm
        for number, (x, y) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1)), 1):
            ax.text(x * (a + 1.35 * self.band), y * (b + 1.05 * self.band), f"corner {number}", ha="left" if x > 0 else "right", va="center",
                    fontsize=8.0, fontweight="bold", color=LOOKS[0].colour)  # fmt: skip

    def spots(self) -> Array:
        """Where the marks stand [place, 2], in the drawing."""
        s = np.array([p.s_mm for p in self.places])
        point, normal = along(self.ring.cutout, s)
        share = np.array([ZONES.get(p.surface, -float(p.depth_mm or 0.0) / self.ring.wall_mm) for p in self.places])
        return np.asarray(point + ((0.5 + share) * self.band)[:, None] * normal)

    def _marks(self, ax: Axes) -> None:
        spots = self._apart(self.spots())
        for place, (x, y) in zip(self.places, spots, strict=True):
            cracked = "crack" in place.why
            ax.plot([x], [y], marker="s" if cracked else "o", markersize=8.0, color=LOOKS[3].colour if place.rank <= 4 else LOOKS[5].colour, zorder=4,
                    markeredgecolor="white", markeredgewidth=0.6)  # fmt: skip
            ax.text(
                x,
                y,
                str(place.rank),
                ha="center",
                va="center",
                fontsize=5.2,
                color="white",
                fontweight="bold",
                zorder=5,
            )

    def _apart(self, spots: Array) -> Array:
        """Marks that would cover each other are moved along the edge; their depth stays."""
        room, out = 4.0 * self.scale, spots.copy()
        _, normal = along(self.ring.cutout, np.array([p.s_mm for p in self.places]))
        tangent = np.stack([-normal[:, 1], normal[:, 0]], -1)
        for _ in range(60):
            moved = False
            for i in range(len(out)):
                for k in range(i + 1, len(out)):
                    far = float(np.hypot(*(out[k] - out[i])))
                    if far < room:
                        ahead = 1.0 if float(np.dot(out[k] - out[i], tangent[k])) >= 0.0 else -1.0
                        out[i] -= 0.3 * ahead * (room - far) * tangent[i]
                        out[k] += 0.3 * ahead * (room - far) * tangent[k]
                        moved = True
            if not moved:
                break
        return out

    def _list(self, ax: Axes) -> None:
        a, b = self.ring.cutout.half_x_mm, self.ring.cutout.half_y_mm
        lines: list[str] = []
        for p in self.places:
            where = p.place if p.corner is None else f"corner {p.corner}, {p.surface}"
            deep = f", {p.depth_mm:.0f} mm deep" if p.surface == "wall" and p.depth_mm is not None else ""
            much = "nothing cycles" if p.utilisation is None else f"{p.utilisation:.2f}"
            lines.append(f"{p.rank:>2}  {where}{deep}: {much}{', crack grown here' if 'crack' in p.why else ''}")
        text = "rank, place: utilisation\n" + "\n".join(lines)
        ax.text(
            a + 1.35 * self.band + 20.0 * self.scale,
            b + 0.5 * self.band,
            text,
            ha="left",
            va="top",
            fontsize=6.6,
            linespacing=1.5,
        )

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Places with corners and utilisation."""
        head = ("rank", "place", "corner", "corner_name", "surface", "s_mm", "depth_mm", "utilisation", "why")
        return head, [
            (
                p.rank,
                p.place,
                p.corner,
                "" if p.corner is None else CORNERS[p.corner - 1],
                p.surface,
                p.s_mm,
                p.depth_mm,
                p.utilisation,
                p.why,
            )
            for p in self.places
        ]
