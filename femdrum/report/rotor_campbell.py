"""The Campbell plot: natural frequencies of the rotor over its speed, and what comes round with the speed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.whole_drum_result import WholeDrum
from ..rotor.critical_speed import SEPARATION_SHARES
from .life_draw import spread_out
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS
from .words import wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["CampbellPicture"]


STEEP_DEG = 60.0  # of a line in the picture, from which on its name stands level beside its end


class CampbellPicture(Picture):
    """Whirls, excitations, running speeds with their band."""

    name = "campbell"
    least_width_mm = 160.0
    size_mm = (165.0, 118.0)

    def __init__(self, got: WholeDrum) -> None:
        if got.campbell is None:
            raise NoData("the bearings' stiffness is not given")
        self.got, self.found = got, got.campbell
        self.near = [(*s.nearest, s) for s in got.states if s.nearest is not None]
        low, high = (f"{100 * s:.0f}" for s in SEPARATION_SHARES)
        self.caption = (
            "Natural frequencies of the drum on its stubs, discs and bearings over its speed (bold), and what comes so many times a "
            "turn (thin, by marker). Where they meet is a critical speed: filled marks are excited, open ones are not. Grey: "
            f"{low} % on either side of each running speed, paler to {high} %, bands of states overlaid; within which none should lie (common "
            "practice, no source). No damping is in it, so how far the drum shakes there is not told."
        )

    def paint(self, ax: Axes) -> None:
        """Bands, whirls, lines, crossings."""
        found, speeds = self.found, self.found.speed_rpm
        top_speed = float(speeds[-1])
        top = self._top_Hz()
        ax.set_xlim(0.0, top_speed)
        ax.set_ylim(0.0, top)
        for state in self.got.states:
            n = state.running.speed_rpm
            for share in SEPARATION_SHARES:  # where bands of states meet they add up
                ax.axvspan(n * (1 - share), n * (1 + share), color=GREY, alpha=0.13, zorder=0, linewidth=0)
        ends: list[tuple[float, str, str]] = []
        for k, name in enumerate(found.modes):
            back = name.startswith("backward")
            look = LOOKS[(k % 3 if len(found.modes) > 4 else k) % len(LOOKS)] if not back else LOOKS[k % 3]
            frequency = found.frequency_Hz[:, k]
            ax.plot(
                speeds, frequency, color=look.colour, linewidth=2.2, linestyle=(0, (4, 1.6)) if back else "-", zorder=3
            )
            if frequency[-1] < top:
                ends.append((float(frequency[-1]), name, look.colour))
        ends.sort()
        heights = spread_out([f for f, _, _ in ends], 0.035 * top, 0.0, top)
        for (_, name, colour), y in zip(ends, heights, strict=True):
            ax.annotate(name, (top_speed, y), (3, 0), textcoords="offset points", va="center", fontsize=7,
                        annotation_clip=False, color=colour)  # fmt: skip
        self._lines(ax, top_speed, top)
        for state in self.got.states:
            n = state.running.speed_rpm
            ax.axvline(n, color=INK, linewidth=1.0, linestyle=(0, (6, 2)), zorder=2)
            ax.annotate(f"{state.name}: {n:g} rpm", (n, top), (-2, -3), textcoords="offset points", rotation=90, ha="right",
                        va="top", fontsize=7, zorder=6,
                        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.8})  # fmt: skip
        self._worst(ax, top)
        ax.set_xlabel("speed of the drum (rpm)")
        ax.set_ylabel("frequency (Hz)")

    def _top_Hz(self) -> float:
        """High enough for the lowest whirls and for every crossing, and no higher."""
        values = self.found.frequency_Hz
        met = [c.frequency_Hz for c in self.found.crossings]
        return 1.18 * max([float(values[:, : max(2, values.shape[1] // 2)].max()), *met])

    def _lines(self, ax: Axes, top_speed: float, top: float) -> None:
        for i, e in enumerate(self.found.excitations):
            look = LOOKS[(3 + i) % len(LOOKS)]
            end = min(top_speed, 60 * top / e.order)
            ax.plot(
                [0.0, end], [0.0, e.order * end / 60], color=look.colour, linewidth=1.0, linestyle=look.dash, zorder=2
            )
            met = [c for c in self.found.crossings if c.excitation == e.name]
            for excited in (True, False):
                own = [c for c in met if c.excited is excited]
                ax.plot([c.speed_rpm for c in own], [c.frequency_Hz for c in own], linestyle="none", marker=look.marker,
                        markersize=6.5, color=look.colour, markerfacecolor=look.colour if excited else "white", zorder=5)  # fmt: skip
            words = e.name if e.order != 1 else f"{e.name}, 1 a turn"
            box = ax.get_window_extent()
            tilt = float(np.degrees(np.arctan2(e.order / 60 / top * box.height, box.width / top_speed)))
            if tilt > STEEP_DEG:
                at, offset, turn, side = (end * 0.97, 0.97 * top), (5, 0), 0.0, "left"
            else:
                at, offset, turn, side = (0.93 * end, 0.93 * end * e.order / 60), (0, 3), tilt, "right"
            ax.annotate(words, at, offset, textcoords="offset points", rotation=turn, rotation_mode="anchor", ha=side,
                        va="bottom" if turn else "center", fontsize=7, color=look.colour, zorder=6)  # fmt: skip

    def _worst(self, ax: Axes, top: float) -> None:
        """In words: what is nearest to a running speed."""
        if not self.near:
            ax.set_title("No excitation meets a whirl")
            return
        name, apart, _ = min(self.near, key=lambda item: item[1].share)
        assert apart.nearest_rpm is not None
        ax.set_title(
            wrapped(
                f"Nearest to a running speed: {apart.nearest_rpm:,.0f} rpm ({name}), {100 * apart.share:.0f} % from "
                f"{apart.speed_rpm:g} rpm: {apart.verdict}", 88,
            )
        )  # fmt: skip
        order = next(e.order for e in self.found.excitations if e.name == name)
        height = order * apart.nearest_rpm / 60
        if apart.nearest_rpm <= self.found.speed_rpm[-1] and height <= top:
            ax.annotate(f"{apart.nearest_rpm:,.0f} rpm, {height:.0f} Hz", (apart.nearest_rpm, height), (9, -5), zorder=7,
                        textcoords="offset points", va="top", fontsize=7.5, fontweight="bold",
                        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.8})  # fmt: skip

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Frequencies at every speed, then crossings."""
        found = self.found
        rows: list[tuple[Any, ...]] = [
            ("natural frequency", mode, float(n), float(found.frequency_Hz[i, k]), float(found.direction[i, k]), "")
            for k, mode in enumerate(found.modes)
            for i, n in enumerate(found.speed_rpm)
        ]
        rows += [
            (c.excitation, c.mode, c.speed_rpm, c.frequency_Hz, c.direction, "yes" if c.excited else "no")
            for c in found.crossings
        ]
        return ("what", "mode", "speed_rpm", "frequency_Hz", "direction", "excited"), rows
