"""Bending moment, shear and torque along the drum in all running states, with its rows, discs and bearings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.whole_drum_result import AlongDrum, StateAnswer, WholeDrum
from .life_draw import panel
from .picture import Picture
from .style import GREY, INK, LOOKS, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["AlongPicture"]

INNER_MM = 150.0
PANEL_MM, BETWEEN_MM, BELOW_MM, LEFT_MM = 44.0, 7.0, 20.0, 14.0
PANELS = (
    ("largest moment", "bending moment (kN·m)", 1e-6),
    ("shear", "shear (kN)", 1e-3),
    ("torque", "torque (kN·m)", 1e-6),
)


def _values(along: AlongDrum, what: str) -> Any:
    return {"largest moment": along.largest_moment_Nmm, "shear": along.shear_N, "torque": along.torque_Nmm}[what]


class AlongPicture(Picture):
    """Three diagrams above each other, z from the drive bearing."""

    name = "along"
    least_width_mm = 160.0

    def __init__(self, got: WholeDrum) -> None:
        self.got = got
        self.height_mm = BELOW_MM + 3 * PANEL_MM + 2 * BETWEEN_MM
        self.size_mm = (165.0, self.height_mm + 14.0)
        self.caption = (
            "Resultants along the rotor by statics on its two bearings. Moment and shear: largest over a turn, what stands in space and "
            "what turns with the drum pointing the same way; thin line: the part of the moment that is reversed once a turn, its "
            "amplitude. Torque: all causes together, about the axis towards the free end; negative for what the drive puts in. "
            "Upright lines: rows, with their numbers. Grey: end discs. Triangles: bearings."
        )

    def paint(self, ax: Axes) -> None:
        """The panels."""
        ax.axis("off")
        ax.set_title("Along the drum")
        for k, (what, label, scale) in enumerate(PANELS):
            low = BELOW_MM + (2 - k) * (PANEL_MM + BETWEEN_MM)
            part = panel(ax, (INNER_MM, self.height_mm), (LEFT_MM, low, INNER_MM - LEFT_MM, PANEL_MM))
            self._panel(part, what, label, scale, top=k == 0, bottom=k == len(PANELS) - 1)

    def _panel(self, ax: Axes, what: str, label: str, scale: float, *, top: bool, bottom: bool) -> None:
        from matplotlib.lines import Line2D

        drum, states = self.got.drum, self.got.states
        z = states[0].along.z_mm
        ax.set_xlim(float(z[0]) - 30.0, float(z[-1]) + 30.0)
        for outer, inner in drum.disc_faces_mm:
            ax.axvspan(min(outer, inner), max(outer, inner), color=PALE, zorder=0, linewidth=0)
        rows = [drum.row_z_mm(r) for r in range(drum.rows_total)]
        for at in rows:
            ax.axvline(at, color=PALE, linewidth=0.8, zorder=1)
        for i, state in enumerate(states):
            look = LOOKS[i % len(LOOKS)]
            along = state.along
            ax.plot(along.z_mm, scale * _values(along, what), color=look.colour, linestyle=look.dash, linewidth=1.7, zorder=3,
                    label=state.name)  # fmt: skip
            if what == "largest moment":
                ax.plot(along.z_mm, scale * along.moment_space_Nmm, color=look.colour, linestyle=look.dash, linewidth=0.8,
                        zorder=3)  # fmt: skip
        ax.axhline(0.0, color=INK, linewidth=0.6, zorder=2)
        ax.plot([0.0, drum.bearing_span_mm], [0.0, 0.0], linestyle="none", marker="^", markersize=7, color=INK,
                markerfacecolor="white", zorder=6, clip_on=False)  # fmt: skip
        low, high = ax.get_ylim()
        ax.set_ylim(low, high + (0.42 if top else 0.24) * (high - low))
        self._extreme(ax, what, scale)
        ax.set_ylabel(label)
        ax.grid(visible=False, axis="x")
        if top:
            # every row on a small drum
            step = max(1, len(rows) // 16)
            for r in range(0, len(rows), step):
                ax.annotate(str(r + 1), (rows[r], 1.0), (0, 2), xycoords=ax.get_xaxis_transform(), textcoords="offset points",
                            ha="center", fontsize=6.8)  # fmt: skip
            ax.annotate("row", (rows[0], 1.0), (-10, 2), xycoords=ax.get_xaxis_transform(), textcoords="offset points",
                        ha="right", fontsize=6.8)  # fmt: skip
        if bottom:
            ax.set_xlabel("z, from the drive bearing's middle (mm)")
            handles, _ = ax.get_legend_handles_labels()
            thin = Line2D([], [], color=GREY, linewidth=0.8, label="of the moment, reversed once a turn")
            ax.legend(handles=[*handles, thin], loc="upper center", bbox_to_anchor=(0.5, -0.24), ncols=3)
        else:
            ax.set_xticklabels([])

    def largest(self, what: str) -> tuple[StateAnswer, int]:
        """Of one resultant: the state and the place in its arrays with the largest magnitude."""
        best = [(float(np.abs(_values(s.along, what)).max()), s) for s in self.got.states]
        _, state = max(best, key=lambda pair: pair[0])
        return state, int(np.abs(_values(state.along, what)).argmax())

    def _extreme(self, ax: Axes, what: str, scale: float) -> None:
        state, i = self.largest(what)
        at, value = float(state.along.z_mm[i]), float(scale * _values(state.along, what)[i])
        unit = "kN" if what == "shear" else "kN·m"
        shown = f"{value:.3g}".replace("-", "\u2212")
        ax.plot([at], [value], marker="o", markersize=5, color=INK, markerfacecolor="white", zorder=7)
        left = at > 0.5 * self.got.drum.bearing_span_mm
        ax.annotate(
            f"{what}: {shown} {unit} at z = {at:.0f} mm".replace("z = -", "z = \u2212") + f"\n{state.name}", (at, value),
            (-7 if left else 7, 5 if value >= 0 else -5), textcoords="offset points", ha="right" if left else "left",
            va="bottom" if value >= 0 else "top", fontsize=7.2, zorder=8,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
        )  # fmt: skip

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Everything at every place; a place stands twice where something jumps there."""
        rows = [
            (s.name, float(z), 1e-6 * float(m), 1e-6 * float(r), 1e-3 * float(v), 1e-6 * float(t))
            for s in self.got.states
            for z, m, r, v, t in zip(
                s.along.z_mm, s.along.largest_moment_Nmm, s.along.moment_space_Nmm, s.along.shear_N, s.along.torque_Nmm,
                strict=True,
            )
        ]  # fmt: skip
        return ("state", "z_mm", "moment_largest_kNm", "moment_reversed_amplitude_kNm", "shear_kN", "torque_kNm"), rows
