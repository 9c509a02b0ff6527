"""Ring modes of the shell against the orders of the speed at which hits shake them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.whole_drum_result import StateAnswer, WholeDrum
from ..rotor.critical_speed import SEPARATION_SHARES
from ..rotor.pattern import order_strength
from ..rotor.shell_modes import MOST_MULTIPLE, WEAK, ShellMode
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["ShellModesPicture"]

ROW_MM = 9.5
LOWER = 0.14  # of a row, by which bars and marks lie under its middle: room for the words above them


class ShellModesPicture(Picture):
    """A line for every mode and state: its band, and the orders that excite it."""

    name = "shell-modes"
    least_width_mm = 160.0

    def __init__(self, got: WholeDrum) -> None:
        self.got = got
        self.lines: list[tuple[StateAnswer, ShellMode]] = sorted(
            ((s, m) for s in got.states for m in s.shell.modes),
            key=lambda pair: (pair[1].waves, pair[1].ring_Hz, got.states.index(pair[0])),
        )
        if not self.lines or got.drum.hammer is None:
            raise NoData("no ring mode of the shell is known, or no hammer excites one")
        self.size_mm = (165.0, 40.0 + ROW_MM * len(self.lines))
        low, high = (f"{100 * s:.0f}" for s in SEPARATION_SHARES)
        self.caption = (
            "Ring modes of the shell by their waves around. Bars: from the frequency without end discs to the one with them; the truth "
            "lies between. Marks: orders of the speed, seen from the drum, at which hits at one place in space excite this mode; "
            f"the larger, the stronger the pattern has them. Pale: {high} % on either side of an order; a bar should keep {low} to {high} % away "
            "(common practice, no source). A mode that is met rings on from hit to hit; how much at most is told at the right."
        )

    def orders(self, state: StateAnswer, mode: ShellMode) -> list[tuple[int, float, float]]:
        """Order, frequency (Hz) and strength of what excites a mode."""
        base = state.pattern.first_order
        q = np.arange(1, MOST_MULTIPLE * base + mode.waves + 1)
        drum = self.got.drum
        strength = np.maximum(order_strength(drum, q - mode.waves), order_strength(drum, q + mode.waves))
        turn = state.running.speed_rpm / 60
        return [(int(o), float(o * turn), float(s)) for o, s in zip(q, strength, strict=True) if s > WEAK]

    def paint(self, ax: Axes) -> None:
        """Bars and marks."""
        ax.set_xscale("log")
        lowest = min(f for s, m in self.lines for _, f, _ in self.orders(s, m))
        highest = max(max(m.disc_Hz for _, m in self.lines), max(m.meets_Hz for _, m in self.lines))
        ax.set_xlim((0.95 - SEPARATION_SHARES[1]) * lowest, 1.35 * highest)
        names = []
        beside: Any = {"transform": ax.get_yaxis_transform(), "va": "center", "fontsize": 7.2}
        for n, (state, mode) in enumerate(self.lines):
            look = LOOKS[self.got.states.index(state) % len(LOOKS)]
            share = SEPARATION_SHARES[1]
            for order, frequency, strength in self.orders(state, mode):
                ax.barh(
                    [n], [2 * share * frequency], 0.8, left=frequency * (1 - share), color=PALE, zorder=1, linewidth=0
                )
                near = order == mode.meets_order
                told = f"{state.running.speed_rpm:g} rpm, {mode.waves} waves: order {order} at {frequency:.4g} Hz, strength {strength:.2g}"
                self.readings.note(ax, [frequency], [n + LOWER], [told])
                ax.plot([frequency], [n + LOWER], linestyle="none", marker=look.marker, markersize=3.0 + 5.0 * strength, zorder=5,
                        color=look.colour, markerfacecolor=look.colour if near else "white")  # fmt: skip
                if near:
                    ax.annotate(f"order {order}", (frequency, n + LOWER), (0, 5.5), textcoords="offset points", ha="center",
                                fontsize=6.5, zorder=6)  # fmt: skip
            ax.barh([n + LOWER], [mode.disc_Hz - mode.ring_Hz], 0.3, left=mode.ring_Hz, color=INK, alpha=0.85, zorder=3)
            words = f"{mode.verdict}, up to {mode.build_up:.1f} times"
            ax.text(1.015, n, words, fontweight="bold" if mode.verdict != "apart" else "normal", **beside)
            names.append(
                f"{mode.waves} waves, {mode.ring_Hz:.0f} to {mode.disc_Hz:.0f} Hz, {state.running.speed_rpm:g} rpm"
            )
        worst_state, worst = min(self.lines, key=lambda pair: pair[1].share)
        ax.set_title(
            f"Nearest: {worst.waves} waves, order {worst.meets_order} at {worst_state.running.speed_rpm:g} rpm, "
            f"{worst.meets_Hz:.0f} Hz: {worst.verdict}"
        )
        ax.set_yticks(range(len(names)), names)
        ax.set_ylim(len(names) - 0.4, -0.75)
        ax.tick_params(axis="y", length=0)
        ax.grid(visible=False, axis="y")
        ax.xaxis.set_major_formatter(lambda v, _: f"{v:g}")
        ax.xaxis.set_minor_formatter(lambda v, _: f"{v:g}" if f"{v:.0e}"[0] in "235" else "")
        ax.tick_params(axis="x", which="minor", labelsize=7.0)
        ax.set_xlabel("frequency seen from the drum (Hz)")
        self._legend(ax)

    def _legend(self, ax: Axes) -> None:
        from matplotlib.lines import Line2D
        from matplotlib.patches import Patch

        handles: list[Any] = [Patch(color=INK, alpha=0.85, label="mode, from without to with discs")]
        for i, state in enumerate(self.got.states):
            look = LOOKS[i % len(LOOKS)]
            handles.append(Line2D([], [], linestyle="none", marker=look.marker, color=look.colour, markerfacecolor="white",
                                  label=f"orders of hits, {state.name}"))  # fmt: skip
        handles.append(Patch(color=PALE, label=f"within {100 * SEPARATION_SHARES[1]:.0f} % of an order"))
        handles.append(Line2D([], [], linestyle="none", marker="o", color=GREY, label="filled: the nearest order"))
        ax.legend(handles=handles, loc="upper center", bbox_to_anchor=(0.5, -0.085 - 0.42 / len(self.lines)), ncols=3)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Modes, and what excites them."""
        rows: list[tuple[Any, ...]] = [
            (s.name, m.waves, m.ring_Hz, m.disc_Hz, order, frequency, strength, "yes" if order == m.meets_order else "no",
             m.verdict, m.build_up)
            for s, m in self.lines
            for order, frequency, strength in self.orders(s, m)
        ]  # fmt: skip
        head = (
            "state",
            "waves",
            "ring_Hz",
            "disc_Hz",
            "order",
            "order_Hz",
            "strength",
            "nearest",
            "verdict",
            "build_up",
        )
        return head, rows
