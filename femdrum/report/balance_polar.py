"""Unbalance of both planes before and after, as vectors in a polar plot, with the tolerance circle and the positions around it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.balance import Balance, PlaneState
from ..rotor.unbalance import polar
from .life_draw import panel
from .load_table import sensible
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["PolarPicture"]

WIDTH_MM, FIELD_MM, BELOW_MM = 160.0, 79.0, 22.0
# where the permissible is less than this share of the plot its circle is drawn once more, enlarged, below
SMALL, LARGE_MM, ROW_MM = 0.2, 42.0, 48.0
# radii of the positions, of their numbers and of the degrees, over the radius of the plot
SEATS_AT, NUMBERS_AT, EDGE = 1.1, 1.24, 1.42


def _turned(angle_deg: float) -> tuple[float, float]:
    """Place on the unit circle: the mark is on top, angles run against the clock."""
    angle = math.radians(angle_deg + 90.0)
    return math.cos(angle), math.sin(angle)


class PolarPicture(Picture):
    """Both planes side by side: now, with hammers placed, with the masses on."""

    name = "unbalance"
    least_width_mm = 160.0

    def __init__(self, found: Balance) -> None:
        if not found.planes:
            raise NoData("no plan was made")
        self.found = found
        moved = " once the hammers have changed places," if found.moved else ""
        self.caption = (
            f"Unbalance of each correction plane as it is now,{moved} and with the plates on; its permissible as a circle. Around it the positions, by number; filled ones carry "
            "plates (number: plates); crossed ones are blocked. The mark is on top, angles run in the sense of rotation, drawn against the clock. "
            "Both planes have one scale."
        )
        sizes = [abs(v) for p in found.planes for v in (p.now_g_mm, p.placed_g_mm, p.after_g_mm)]
        self.top = 1.08 * max([*sizes, *(p.permissible_g_mm for p in found.planes)])
        self.enlarged = any(p.permissible_g_mm < SMALL * self.top for p in found.planes)
        if self.enlarged:
            self.caption += " Below, the middle once more, enlarged."
        self.inner_mm = (WIDTH_MM, FIELD_MM + BELOW_MM + 3.0 + ROW_MM * self.enlarged)
        self.size_mm = (172.0, self.inner_mm[1] + 18.0)

    def paint(self, ax: Axes) -> None:
        """Two fields and one legend."""
        ax.axis("off")
        ax.set_title(f"Unbalance before and after: {self.found.verdict} the permissible", pad=4)
        below = BELOW_MM + ROW_MM * self.enlarged
        for n, plane in enumerate(self.found.planes):
            self._field(panel(ax, self.inner_mm, (n * (FIELD_MM + 2.0), below, FIELD_MM, FIELD_MM)), plane)
        for n, plane in enumerate(self.found.planes if self.enlarged else ()):
            left = n * (FIELD_MM + 2.0) + 0.5 * (FIELD_MM - LARGE_MM)
            self._middle(panel(ax, self.inner_mm, (left, 0.5 * BELOW_MM, LARGE_MM, LARGE_MM)), plane)
        from matplotlib.lines import Line2D

        shown = [
            Line2D([], [], color=look.colour, marker=look.marker, linestyle=look.dash, label=label)
            for label, look, _ in self._states(self.found.planes[0])
        ]
        shown.append(Line2D([], [], color=INK, linewidth=1.6, label="permissible"))
        ax.legend(handles=shown, loc="lower center", ncols=len(shown), bbox_to_anchor=(0.5, -0.01))

    def _states(self, plane: PlaneState) -> list[tuple[str, Any, complex]]:
        placed = [("hammers placed", LOOKS[1], plane.placed_g_mm)] if self.found.moved else []
        return [("now", LOOKS[3], plane.now_g_mm), *placed, ("with the plates on", LOOKS[0], plane.after_g_mm)]

    def _middle(self, ax: Axes, plane: PlaneState) -> None:
        """The middle of the plot, enlarged to the permissible or what is left."""
        self._vectors(ax, plane, 1.3 * max(plane.permissible_g_mm, abs(plane.after_g_mm)), 1.02)
        ax.text(
            0.5, 1.0, f"plane {plane.number}, enlarged", transform=ax.transAxes, ha="center", va="bottom", fontsize=7.0
        )

    def _vectors(self, ax: Axes, plane: PlaneState, top: float, edge: float) -> None:
        """Rings in 10³ g mm, permissible, spokes, and what lies within the edge of the vectors."""
        from matplotlib.patches import Circle

        ax.set_aspect("equal")
        ax.axis("off")
        ax.set_xlim(-edge, edge)
        ax.set_ylim(-edge, edge)
        step = _round(top / 3.2)
        frame = Circle((0, 0), 1.0, fill=False, edgecolor=GREY, linewidth=0.8, zorder=1)
        ax.add_patch(frame)
        x, y = _turned(-100.0)
        for k in range(1, int(top / step) + 1):
            radius = k * step / top
            ax.add_patch(Circle((0, 0), radius, fill=False, edgecolor=GREY, linewidth=0.4, zorder=2))
            words = sensible(1e-3 * k * step)
            ax.text(radius * x, radius * y, words, fontsize=6.2, color=GREY, ha="center", va="bottom", zorder=2)
        limit = plane.permissible_g_mm / top
        ax.add_patch(Circle((0, 0), limit, facecolor=PALE, edgecolor=INK, linewidth=1.6, zorder=1.5))
        for spoke in range(0, 360, 30):
            x, y = _turned(spoke)
            ax.plot([0, x], [0, y], color=GREY, linewidth=0.3, zorder=1)
        for n, (_, look, vector) in enumerate(self._states(plane)):
            size, angle = polar(vector)
            x, y = (v * size / top for v in _turned(angle))
            (line,) = ax.plot([0, x], [0, y], color=look.colour, linestyle=look.dash, linewidth=2.0, zorder=4 + n)
            line.set_clip_path(frame)
            if size <= top:
                ax.plot(
                    [x], [y], marker=look.marker, color=look.colour, markeredgecolor="white", markersize=7, zorder=7 + n
                )

    def _field(self, ax: Axes, plane: PlaneState) -> None:
        self._vectors(ax, plane, self.top, EDGE)
        self._positions(ax, plane)
        self._turning(ax)
        words = [f"{label} {sensible(1e-3 * polar(v)[0])} at {polar(v)[1]:.0f}°" for label, _, v in self._states(plane)]
        ax.text(
            0.5, -0.005, f"plane {plane.number}, z = {plane.positions.z_mm:g} mm, 10³ g·mm: " + ", ".join(words[:1]) + "\n" + ", ".join(words[1:])
            + f"\n{100 * plane.share:.3g} % of the permissible {sensible(1e-3 * plane.permissible_g_mm)}, {'proven' if plane.proven else 'not proven'}",
            transform=ax.transAxes, ha="center", va="top", fontsize=7.0,
        )  # fmt: skip

    def _positions(self, ax: Axes, plane: PlaneState) -> None:
        look = LOOKS[0]
        many = plane.positions.count
        for n, (angle, plates) in enumerate(zip(plane.positions.angles_deg, plane.plates, strict=True), 1):
            x, y = _turned(angle)
            blocked = n in plane.positions.blocked
            ax.plot(
                [SEATS_AT * x], [SEATS_AT * y], marker="x" if blocked else "o", markersize=5.5, markeredgecolor=GREY if blocked else look.colour, linestyle="none",
                markerfacecolor=look.colour if plates else "white", markeredgewidth=1.2, zorder=5,
            )  # fmt: skip
            if plates or many <= 24:
                text = f"{n}: {plates}" if plates else str(n)
                side = "center" if abs(x) < 0.3 else "left" if x > 0 else "right"
                out = NUMBERS_AT if side == "center" else SEATS_AT + 0.1
                ax.text(
                    out * x, out * y, text, ha=side, va="center", fontsize=7.2 if plates else 6.2, fontweight="bold" if plates else "normal", color=INK if plates else GREY,
                )  # fmt: skip

    def _turning(self, ax: Axes) -> None:
        angles = np.radians(np.linspace(102, 122, 12))
        ax.plot(1.36 * np.cos(angles), 1.36 * np.sin(angles), color=INK, linewidth=1.0)
        ax.annotate(
            "", (1.36 * np.cos(angles[-1]), 1.36 * np.sin(angles[-1])), (1.36 * np.cos(angles[-2]), 1.36 * np.sin(angles[-2])),
            arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.0},
        )  # fmt: skip
        ax.text(0, 1.36, "mark, 0°", ha="center", va="center", fontsize=7.0)
        ax.text(
            1.3 * math.cos(math.radians(127)) - 0.05,
            1.3 * math.sin(math.radians(127)) + 0.08,
            "rotation",
            ha="right",
            va="center",
            fontsize=7.0,
        )

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Vectors, tolerance, positions."""
        rows: list[tuple[Any, ...]] = []
        for p in self.found.planes:
            rows += [(p.number, label, *polar(v), None) for label, _, v in self._states(p)]
            rows.append((p.number, "permissible", p.permissible_g_mm, None, None))
            rows += [
                (p.number, f"position {n}", None, a % 360.0, plates)
                for n, (a, plates) in enumerate(zip(p.positions.angles_deg, p.plates, strict=True), 1)
            ]
        return ("plane", "what", "unbalance_g_mm", "angle_deg", "plates"), rows


def _round(value: float) -> float:
    """A step of 1, 2 or 5 times a power of ten, not below."""
    power = 10.0 ** math.floor(math.log10(value))
    return next(f * power for f in (1.0, 2.0, 5.0, 10.0) if f * power >= value * (1 - 1e-9))
