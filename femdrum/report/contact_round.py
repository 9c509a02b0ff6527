"""Pressure of a half round in its groove over the angle, solved, with the formula of conforming contact beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.clamp_contact_round import RoundResult
from .load_table import sensible
from .picture import NoData, Picture
from .style import GREY, LOOKS, below

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["RoundPressurePicture"]

MOST = 4


class RoundPressurePicture(Picture):
    """A line for each seat, its formula thin in the same colour; the first MOST seats."""

    name = "round-seat-pressure"
    size_mm = (165.0, 92.0)

    def __init__(self, rounds: tuple[RoundResult, ...]) -> None:
        if not rounds:
            raise NoData("no round seat was asked for")
        self.rounds = rounds[:MOST]
        left = f" The first {MOST} of {len(rounds)} seats." if len(rounds) > MOST else ""
        self.caption = (
            "Pressure of a half round in its groove, from the middle to the side. Thick: solved; thin: the formula of conforming contact, for a full round in "
            f"a hole of a large body. Mark: the peak of line contact, hollow where its formula does not hold.{left}"
        )

    def paint(self, ax: Axes) -> None:
        """Curves from -90 to 90 degrees."""
        end, top = 0.0, 0.0
        for r, look in zip(self.rounds, LOOKS, strict=False):
            angle = np.concatenate([-r.angle_deg[::-1], r.angle_deg])
            for values, width, dash in ((r.pressure_MPa, 1.8, look.dash), (r.formula_MPa, 0.8, "-")):
                both = np.concatenate([values[::-1], values])
                name = (
                    f"{r.seat.name}: peak {sensible(float(r.peak))} MPa, bears over ±{sensible(float(r.half_angle))}°"
                )
                label = (
                    name
                    if width > 1
                    else f"the same by formula: {sensible(r.conforming.peak_MPa)} MPa, ±{sensible(r.conforming.half_angle_deg)}°"
                )
                ax.plot(
                    angle,
                    both,
                    color=look.colour,
                    linewidth=width,
                    linestyle=dash,
                    zorder=4 if width > 1 else 3,
                    label=label,
                )
            self.readings.note(
                ax, r.angle_deg, r.pressure_MPa, [f"{r.seat.name}, {a:.3g}°: {p:.4g} MPa" for a, p in zip(r.angle_deg, r.pressure_MPa, strict=True)], few=False
            )  # fmt: skip
            hertz = r.conforming.hertz_MPa
            holds = r.line_MPa is not None
            ax.plot(
                [0], [hertz], marker=look.marker, markersize=7, zorder=6, color=look.colour, linestyle="none",
                markerfacecolor=look.colour if holds else "white", label=f"line contact: {sensible(hertz)} MPa{'' if holds else ', its formula does not hold'}",
            )  # fmt: skip
            end = max(end, float(r.half_angle), r.conforming.half_angle_deg)
            top = max(top, float(r.peak), r.conforming.peak_MPa, hertz)
        end = min(90.0, 1.15 * end)
        ax.axhline(0, color=GREY, linewidth=0.8)
        ax.set_xlim(-end, end)
        ax.set_ylim(0, 1.1 * top)
        ax.set_xlabel("angle from the middle of the groove (°)")
        ax.set_ylabel("pressure (MPa)")
        ax.set_title(self.title("How a half round bears in its groove"))
        ax.legend(**below(ax))

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every point, from the middle to one side."""
        rows: list[tuple[Any, ...]] = [
            (r.seat.name, float(a), float(p), float(q))
            for r in self.rounds
            for a, p, q in zip(r.angle_deg, r.pressure_MPa, r.formula_MPa, strict=True)
        ]
        return ("seat", "angle_deg", "pressure_MPa", "formula_MPa"), rows
