"""The drum's shell unrolled: every slot with its number, the end discs, and where balance masses can be bolted on."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..assess.whole_drum_result import WholeDrum
from ..model.cutout import Cutout
from .picture import Picture
from .style import GREY, INK, LOOKS, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["UnrolledPicture", "outline_mm"]

MARGIN = 0.045  # of the circumference, shown twice on both sides
LEAST_MM, MOST_MM = 95.0, 190.0
WIDTH_MM = 165.0


def outline_mm(cutout: Cutout, points: int = 12) -> NDArray[np.float64]:
    """The slot's whole outline [n, 2], x around and y along the drum, from its middle."""
    t = np.linspace(0.0, 1.0, points)
    quarter = np.concatenate([piece.point(t) for piece in cutout.quarter()])
    left = quarter[::-1] * [-1.0, 1.0]
    half = np.concatenate([quarter, left])
    return np.concatenate([half, half[::-1] * [1.0, -1.0]])


class UnrolledPicture(Picture):
    """x around the drum in the sense of rotation, y along it from the drive end."""

    name = "unrolled"
    least_width_mm = 160.0

    def __init__(self, got: WholeDrum) -> None:
        self.got, self.drum = got, got.drum
        self.around_mm = 2 * math.pi * self.drum.mid_radius_mm
        shown = self.around_mm * (1 + 2 * MARGIN)
        high = (WIDTH_MM - 26.0) * 1.16 * self.drum.shell_length_mm / shown + 38.0
        self.size_mm = (WIDTH_MM, min(max(high, LEAST_MM), MOST_MM))
        self.caption = (
            "The shell unrolled at mid-wall. Slots are numbered from 1, row by row from the drive end and within a row in the sense "
            "of rotation; this is the number under which every table speaks of a slot. Hatched: where the end discs stand "
            "inside. The pale strips repeat what lies beyond the seam."
        )

    def paint(self, ax: Axes) -> None:
        """Slots, discs, seam."""
        from matplotlib.patches import Polygon

        drum, around, length = self.drum, self.around_mm, self.drum.shell_length_mm
        margin = MARGIN * around
        for outer, inner in drum.disc_faces_mm:
            low, high = sorted((outer - drum.shell_z_mm, inner - drum.shell_z_mm))
            ax.axhspan(low, high, facecolor="none", edgecolor=GREY, hatch="////", linewidth=0.0, zorder=1)
        for left in (-margin, around):
            ax.axvspan(left, left + margin, color=PALE, zorder=0, linewidth=0)
        ax.plot([-margin, around + margin], [0, 0], color=INK, linewidth=1.4, zorder=3)
        ax.plot([-margin, around + margin], [length, length], color=INK, linewidth=1.4, zorder=3)
        shape = outline_mm(drum.cutout)
        size = self._letters()
        for slot in self.got.slots:
            for shift in (-around, 0.0, around):
                x = slot.x_mm + shift
                if not -2 * margin < x < around + 2 * margin:
                    continue
                ghost = shift != 0.0
                ax.add_patch(
                    Polygon(
                        np.add(shape, (x, slot.along_mm)), closed=True, facecolor="white" if not ghost else "none",
                        edgecolor=GREY if ghost else INK, linewidth=0.7 if ghost else 1.1, zorder=2,
                        linestyle=(0, (3, 2)) if ghost else "-",
                    )
                )  # fmt: skip
            ax.text(
                slot.x_mm, slot.along_mm, str(slot.number + 1), ha="center", va="center", fontsize=size, fontweight="bold",
                color=LOOKS[0].colour, zorder=5,
            )  # fmt: skip
        self._legend(ax)
        self._axes(ax, margin)

    def _letters(self) -> float:
        """Size of the numbers, pt: they stay inside their slots where that leaves them legible."""
        mm = 2.83 * (WIDTH_MM - 26.0) / (self.around_mm * (1 + 2 * MARGIN))
        across = 2 * self.drum.cutout.half_x_mm * mm / (0.74 * len(str(self.drum.slots_total)))
        return float(np.clip(min(across, 1.4 * self.drum.cutout.half_y_mm * mm), 4.8, 9.0))

    def _legend(self, ax: Axes) -> None:
        from matplotlib.lines import Line2D
        from matplotlib.patches import Patch

        handles: list[Any] = [
            Patch(facecolor="white", edgecolor=GREY, hatch="////", label="end disc, inside the shell")
        ]
        for plane in self.drum.mass_positions:
            x = self.drum.mid_radius_mm * np.radians(np.mod(plane.angles_deg, 360.0))
            y = np.full(len(x), plane.z_mm - self.drum.shell_z_mm)
            mark: Any = {"linestyle": "none", "marker": "D", "markersize": 4.5, "color": LOOKS[3].colour,
                         "markerfacecolor": "white"}  # fmt: skip
            ax.plot(x, y, zorder=4, **mark)
            if len(handles) == 1:
                handles.append(Line2D([], [], label="position for a balance mass", **mark))
        ax.legend(handles=handles, loc="upper left", bbox_to_anchor=(0.0, -0.115), ncols=2, borderaxespad=0.0)

    def _axes(self, ax: Axes, margin: float) -> None:
        around, length, drum = self.around_mm, self.drum.shell_length_mm, self.drum
        ax.set_xlim(-margin, around + margin)
        ax.set_ylim(-0.08 * length, 1.08 * length)
        ax.text(0.5 * around, -0.04 * length, "drive end", ha="center", va="center", fontsize=7.5)
        ax.text(0.5 * around, 1.04 * length, "free end", ha="center", va="center", fontsize=7.5)
        ax.annotate(
            "", (0.99 * around, -0.04 * length), (0.76 * around, -0.04 * length),
            arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.0},
        )  # fmt: skip
        ax.text(0.75 * around, -0.04 * length, "sense of rotation", ha="right", va="center", fontsize=7.5)
        ax.set_aspect("equal", adjustable="box")
        ax.set_title(
            f"{drum.slots_total} slots in {drum.rows_total} rows, {360 / drum.slots_around:g}° apart within a row",
            pad=8,
        )
        ax.set_xlabel("around the drum, at mid-wall (mm)")
        ax.set_ylabel("along the drum, from the shell's drive-side face (mm)")
        ax.set_yticks([drum.pattern.along_mm(r) for r in self._rows_shown()])
        ax.yaxis.set_major_formatter(lambda v, _: f"{v:g}")
        per_deg = math.radians(1.0) * drum.mid_radius_mm
        to_deg: Any = lambda x: x / per_deg  # noqa: E731
        to_mm: Any = lambda angle: angle * per_deg  # noqa: E731
        twin = ax.secondary_xaxis("top", functions=(to_deg, to_mm))
        twin.set_xticks(range(0, 361, 45))
        twin.set_xlabel("angle from the first slot of row 1 (°)", labelpad=3)
        right = ax.secondary_yaxis("right")
        right.set_yticks(
            [drum.pattern.along_mm(r) for r in self._rows_shown()], [str(r + 1) for r in self._rows_shown()]
        )
        right.set_ylabel("row")
        ax.grid(visible=False)

    def _rows_shown(self) -> list[int]:
        step = max(1, math.ceil(self.drum.rows_total / 24))
        return list(range(0, self.drum.rows_total, step))

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Slots with their places."""
        rows = [(s.number + 1, s.row + 1, s.angle_deg, s.x_mm, s.along_mm) for s in self.got.slots]
        return ("slot", "row", "angle_deg", "x_mm", "y_mm"), rows
