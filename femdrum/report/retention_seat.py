"""Pressure of the seats over their angular error: flat on flat beside one that turns and closes the angle."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.retention import Retention, SeatResult
from .life_draw import spread_out
from .load_table import sensible
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["SeatAnglePicture"]


class SeatAnglePicture(Picture):
    """Peak pressure of each seat under one force, from square to twice the given angle."""

    name = "seat-angle"
    least_width_mm = 160.0
    size_mm = (165.0, 100.0)

    def __init__(self, found: Retention) -> None:
        self.found = found
        self.seats = [s for s in found.seats if any(p is not None for p in s.course.peak_MPa)]
        error = found.given.seat_error
        if not self.seats or error is None:
            raise NoData("no seat has a pressure to show")
        self.angle, self.across = error.angle_deg, error.across_deg
        self.force_kN = 1e-3 * found.seat_force_N
        across = f", {self.across:g}° across" if self.across else ""
        self.caption = (
            f"Largest pressure of each seat under {sensible(self.force_kN)} kN over the angle by which it stands out of square{across}. A flat pad lifts off at "
            "one edge (ring) and from there takes ever more pressure on ever less of itself. A half round turns and closes the angle as far as friction "
            "lets it, then its pressure stays. Pads on springs, an estimate: an elastic body has steeper edges."
        )

    def paint(self, ax: Axes) -> None:
        """A line for each seat, where it lifts off, yield, and the given angle."""
        end = max(s.course.angles_deg[-1] for s in self.seats)
        tops = [p for s in self.seats for p in s.course.peak_MPa if p is not None]
        limits = sorted({s.seat.yield_MPa for s in self.seats if s.seat.yield_MPa is not None})
        top = 1.15 * max([*tops, *limits])
        ends = []
        for n, s in enumerate(self.seats):
            look = LOOKS[n % len(LOOKS)]
            x, y = np.array(s.course.angles_deg), np.array([np.nan if p is None else p for p in s.course.peak_MPa])
            ax.plot(x, y, color=look.colour, linestyle=look.dash, linewidth=2.0, zorder=4, label=s.name)
            self._lifts(ax, s, look.colour)
            here = float(np.interp(self.angle, x, y))
            ends.append((here, s))
            ax.plot(
                [self.angle],
                [here],
                marker=look.marker,
                color=look.colour,
                markeredgecolor="white",
                markersize=7,
                zorder=6,
            )
        heights = spread_out(
            [e[0] + (0.05 if e[0] < 0.9 * top else -0.05) * top for e in ends], 0.09 * top, 0.04 * top, 0.96 * top
        )
        for (here, s), height in zip(ends, heights, strict=True):
            share = s.pressure.contact_share if s.pressure is not None else None
            bears = "" if share is None else f", {100 * share:.0f} % bears"
            ax.annotate(
                f"{s.name}: {sensible(here)} MPa{bears}", (self.angle, here), (self.angle + 0.03 * end, height), fontsize=7.6, va="center", zorder=8,
                arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.5, "shrinkA": 1, "shrinkB": 4},
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.9},
            )  # fmt: skip
        for limit in limits:
            ax.axhline(limit, color=INK, linewidth=1.1, linestyle=(0, (4, 2)), zorder=2)
            ax.annotate(
                f"yield strength {limit:g} MPa",
                (0, limit),
                (4, 2),
                textcoords="offset points",
                fontsize=7.2,
                va="bottom",
            )
        ax.axvline(self.angle, color=GREY, linewidth=1.1, zorder=2)
        ax.annotate(
            f"given: {self.angle:g}°",
            (self.angle, 1.0),
            (-3, -3),
            xycoords=ax.get_xaxis_transform(),
            textcoords="offset points",
            ha="right",
            va="top",
            fontsize=7.6,
        )
        ax.set_xlim(0, end)
        ax.set_ylim(0, top)
        ax.set_xlabel("angular error (°)")
        ax.set_ylabel("largest pressure (MPa)")
        ax.set_title("What an angle does to a seat")
        ax.legend(loc="lower right")

    def _lifts(self, ax: Axes, s: SeatResult, colour: str) -> None:
        shares = s.course.contact_share
        first = next((i for i, c in enumerate(shares) if c is not None and c < 1.0), None)
        peak = None if first is None else s.course.peak_MPa[max(0, first - 1)]
        if first is not None and peak is not None:
            at = s.course.angles_deg[max(0, first - 1)]
            ax.plot(
                [at],
                [peak],
                marker="o",
                markersize=7,
                markerfacecolor="none",
                markeredgecolor=colour,
                markeredgewidth=1.5,
                zorder=5,
            )

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every point."""
        rows: list[tuple[Any, ...]] = [
            (s.name, a, p, c)
            for s in self.seats
            for a, p, c in zip(s.course.angles_deg, s.course.peak_MPa, s.course.contact_share, strict=True)
        ]
        return ("seat", "angle_deg", "peak_MPa", "contact_share"), rows
