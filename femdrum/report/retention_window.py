"""The clamp window: least and most clamp over what the bolt is set by, against what the conditions ask and what bolt and faces bear."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.retention import FaceProof, Retention
from .load_table import sensible
from .picture import Picture
from .style import INK, LOOKS, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["ClampWindowPicture"]

SETTING = {
    "torque": "torque of the bolt (N·m)",
    "pull": "pull set at the bolt (kN)",
    "yield": "preload of the bolt (kN)",
}


class ClampWindowPicture(Picture):
    """Least and most clamp of one slot; slip and opening limits; what bolt and faces carry."""

    name = "clamp-window"
    least_width_mm = 160.0
    size_mm = (165.0, 112.0)

    def __init__(self, found: Retention) -> None:
        self.found, self.curve = found, found.curve
        held = [face for face in found.faces if not face.row.accident]
        self.slip = max(held, key=lambda f: f.against_slip_N, default=None)
        self.opening = max(held, key=lambda f: f.against_opening_N, default=None)
        self.caption = (
            "Clamp of one slot, assembled, at standstill. The band lies between its least (most friction in bolt and wedge, all scatter and losses against it) and its most. "
            "Below the dashed lines some face opens or slips in some condition: the least clamp must lie above both. To the right the bolt, or the face, "
            f"bears no more: the most clamp must end there. Between both lies the window: {self.window_words()}."
        )

    def window_words(self) -> str:
        """The window in words."""
        window, unit, scale = self.curve.window, self.curve.unit, self.curve.scale
        if window is None:
            return "none"
        low, high = (scale * w for w in window)
        if low > high:
            return (
                f"none: {sensible(low)} {unit} is the least that would serve, {sensible(high)} {unit} the most allowed"
            )
        return f"{sensible(low)} to {sensible(high)} {unit}"

    def by_faces(self) -> bool:
        """Whether the faces, and not the bolt, end the window."""
        window, limit = self.curve.window, self.curve.face_limit_N
        if window is None or limit is None:
            return False
        return float(np.interp(window[1], self.curve.settings, self.curve.most_N)) >= 0.999 * limit

    def paint(self, ax: Axes) -> None:
        """Band, limits, window, and what is set."""
        curve, scale, unit = self.curve, self.curve.scale, self.curve.unit
        x = scale * np.array(curve.settings)
        least, most = 1e-3 * np.array(curve.least_N), 1e-3 * np.array(curve.most_N)
        ax.fill_between(x, least, most, color=PALE, zorder=1, linewidth=0)
        for values, look, label in ((least, LOOKS[0], "least clamp"), (most, LOOKS[1], "most clamp")):
            ax.plot(x, values, color=look.colour, linestyle=look.dash, linewidth=2.0, label=label, zorder=4)
        top = 1.12 * max(float(most.max()), *(1e-3 * self._needed(f, by) for f, by in self._limits()))
        for (face, by), look in zip(self._limits(), (LOOKS[3], LOOKS[2]), strict=False):
            self._limit(ax, face, by, look.colour, look.dash)
        if curve.face_limit_N is not None and 1e-3 * curve.face_limit_N < top:
            ax.axhline(
                1e-3 * curve.face_limit_N, color=LOOKS[6].colour, linestyle=LOOKS[6].dash, linewidth=1.4, zorder=3
            )
            ax.annotate(
                f"faces bear {sensible(1e-3 * curve.face_limit_N)} kN", (1.0, 1e-3 * curve.face_limit_N), (-4, 2), xycoords=ax.get_yaxis_transform(),
                textcoords="offset points", va="bottom", ha="right", fontsize=7.2, zorder=6, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
            )  # fmt: skip
        low, high = (scale * s for s in curve.set_at)
        if high > low:
            ax.axvspan(low, high, color=LOOKS[5].colour, alpha=0.18, linewidth=0, zorder=2)
        for setting in {low, high}:
            ax.axvline(setting, color=INK, linewidth=1.3, zorder=5)
        a, b = (
            float(np.interp(s, curve.settings, values))
            for s, values in zip(curve.set_at, (curve.least_N, curve.most_N), strict=True)
        )
        for value, setting, words in ((1e-3 * a, low, "least"), (1e-3 * b, high, "most")):
            ax.plot([setting], [value], marker="o", color=INK, markeredgecolor="white", markersize=6, zorder=7)
            far, above = setting > 0.7 * x[-1], words == "most"
            ax.annotate(
                f"{words} {sensible(value)} kN", (setting, value), (-7 if far else 7, 4 if above else -3), textcoords="offset points", fontsize=7.6, fontweight="bold",
                va="bottom" if above else "top", ha="right" if far else "left", zorder=8, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.85},
            )  # fmt: skip
        is_set = (
            f"set: {sensible(low)} {unit}" if high <= low else f"reached: {sensible(low)} to {sensible(high)} {unit}"
        )
        far = high > 0.7 * x[-1]
        ax.annotate(
            is_set, (high, 0.045), (-4 if far else 4, 0), xycoords=ax.get_xaxis_transform(), textcoords="offset points", ha="right" if far else "left", va="bottom",
            fontsize=7.6, zorder=8, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.9},
        )  # fmt: skip
        ax.set_xlim(0, float(x[-1]))
        ax.set_ylim(0, top)
        self._window(ax)
        ax.set_xlabel(SETTING[curve.by])
        ax.set_ylabel("clamp of the slot (kN)")
        words = self.window_words()
        none = words.startswith("none: ")
        ax.set_title(f"No window: {words.removeprefix('none: ')}" if none else f"Clamp window: {words}", pad=16)
        legend = ax.legend(loc="upper left", frameon=True, facecolor="white", edgecolor="none", framealpha=0.92)
        legend.set_zorder(9)

    def _limits(self) -> list[tuple[FaceProof, str]]:
        found = [(self.slip, "slip"), (self.opening, "opening")]
        return [(face, by) for face, by in found if face is not None]

    def _needed(self, face: FaceProof, by: str) -> float:
        return face.against_slip_N if by == "slip" else face.against_opening_N

    def _limit(self, ax: Axes, face: FaceProof, by: str, colour: str, dash: Any) -> None:
        value = 1e-3 * self._needed(face, by)
        ax.axhline(
            value,
            color=colour,
            linestyle=dash,
            linewidth=1.6,
            zorder=3,
            label=f"{'slips' if by == 'slip' else 'opens'} below {sensible(value)} kN: {face.row.condition}, {face.row.face} face",
        )

    def _window(self, ax: Axes) -> None:
        window, scale = self.curve.window, self.curve.scale
        if window is None:
            return
        low, high = (scale * w for w in window)
        what = "faces" if self.by_faces() else "bolt"
        apart = abs(high - low) > 0.25 * ax.get_xlim()[1]
        for value, words, ha in (
            (low, "least", "center" if apart or low > high else "right"),
            (high, f"most, by the {what}", "center" if apart or low > high else "left"),
        ):
            ax.axvline(value, color=LOOKS[4].colour, linewidth=1.6, linestyle=(0, (4, 2)), zorder=3)
            ax.annotate(
                f"{words}: {sensible(value)} {self.curve.unit}", (value, 1.0), (0, 3), xycoords=ax.get_xaxis_transform(), textcoords="offset points",
                fontsize=7.2, ha=ha, va="bottom", zorder=6,
            )  # fmt: skip
        if low <= high:
            ax.axvspan(low, high, ymin=0.0, ymax=0.018, color=LOOKS[4].colour, zorder=6, linewidth=0)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """The two lines, then the limits."""
        curve = self.curve
        column = "torque_Nm" if curve.by == "torque" else "preload_N"
        rows: list[tuple[Any, ...]] = [
            ("clamp", s, a, b) for s, a, b in zip(curve.settings, curve.least_N, curve.most_N, strict=True)
        ]
        rows += [(f"needed against {by}", None, self._needed(face, by), None) for face, by in self._limits()]
        rows.append(("set", curve.set_at[0], None, None))
        if curve.window is not None:
            rows += [("window, least", curve.window[0], None, None), ("window, most", curve.window[1], None, None)]
        if curve.face_limit_N is not None:
            rows.append(("faces bear", None, None, curve.face_limit_N))
        return ("what", column, "least_clamp_N", "most_clamp_N"), rows
