"""A drawing sheet: axes whose unit is a millimetre of paper, with the lines, dimensions and letters of an engineering drawing.

Views of a part are put on it true to scale. Line kinds: visible edges thick, dimensions thin, centre lines dash-dotted, hidden edges
dashed, cut faces hatched.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .style import GREY, INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "CENTRE",
    "HIDDEN",
    "LETTERS_PT",
    "THICK",
    "THIN",
    "Sheet",
    "View",
    "off",
    "round_length",
    "text_mm",
    "wrapped_mm",
]

Array = NDArray[np.float64]

MM_PER_INCH, MM_PER_PT = 25.4, 25.4 / 72
LETTERS_PT = 7.0
THICK, THIN = 0.95, 0.4
CENTRE = (0, (9, 2, 1.5, 2))
HIDDEN = (0, (4, 2.2))
ARROW_MM = 2.2
PAD_MM = 3.1  # what the figure's layout leaves free around the axes, both sides together


@dataclass(frozen=True)
class View:
    """Where a view stands on the sheet: paper = (x_mm, y_mm) + scale times the model's place."""

    scale: float
    x_mm: float
    y_mm: float

    def __call__(self, points: Any) -> Array:
        """Places on the paper [..., 2]."""
        return np.asarray(np.asarray(points, dtype=float) * self.scale + (self.x_mm, self.y_mm))


@cache
def _font() -> Any:
    from matplotlib.font_manager import FontProperties, findfont, get_font

    font = get_font(findfont(FontProperties(family=["DejaVu Sans", "sans-serif"])))
    font.set_size(100.0, 72.0)
    return font


@cache
def _advance(letter: str) -> float:
    """Width of a letter over the size of the font."""
    return float(_font().load_char(ord(letter)).linearHoriAdvance) / 65536.0 / 100.0


def off(x_mm: float, y_mm: float) -> Array:
    """A step on the paper, to be added to a place."""
    return np.array([x_mm, y_mm])


def text_mm(text: str, letters_pt: float = LETTERS_PT) -> float:
    """Width of a text on the paper, mm; of several lines that of the longest."""
    return MM_PER_PT * letters_pt * max(float(sum(map(_advance, line))) for line in text.split("\n"))


def wrapped_mm(text: str, room_mm: float, letters_pt: float = 6.5) -> list[str]:
    """A text broken into lines no wider than `room_mm` on the paper; a word that is wider stays whole."""
    lines: list[str] = []
    for word in text.split():
        if lines and text_mm(f"{lines[-1]} {word}", letters_pt) <= room_mm:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def round_length(room_mm: float) -> float:
    """The largest of 1, 2, 5, 10, ... that does not exceed `room_mm`."""
    power = 10.0 ** math.floor(math.log10(room_mm))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= room_mm * (1 + 1e-9))


class Sheet:
    """Axes set up as paper of width_mm x height_mm; letters shrink with the axes where these are smaller than that."""

    def __init__(self, ax: Axes, width_mm: float, height_mm: float) -> None:
        self.ax, self.width_mm, self.height_mm = ax, width_mm, height_mm
        ax.set_xlim(0, width_mm)
        ax.set_ylim(0, height_mm)
        ax.set_aspect("equal", adjustable="box")
        ax.axis("off")
        self.shrink = self._shrink(ax)

    def _shrink(self, ax: Axes) -> float:
        figure: Any = (
            getattr(ax.figure, "figure", None) or ax.figure
        )  # the whole one, where the axes sit in a part of it
        wide, high = (MM_PER_INCH * side for side in figure.get_size_inches())
        if len(figure.axes) > 1:
            box = ax.get_position()
            wide, high = wide * box.width, high * box.height
        return min(1.0, float(wide / self.width_mm), float(high / self.height_mm))

    def _patch(self, patch: Any) -> None:
        """Nothing on a sheet moves its edges."""
        patch.set_in_layout(False)
        self.ax.add_artist(patch)  # as a patch it would be measured for limits that are fixed here

    def _word(self, *place_and_text: Any, **kw: Any) -> None:
        self.ax.text(*place_and_text, **kw).set_in_layout(False)

    # lines

    def line(
        self,
        points: Any,
        *,
        width: float = THIN,
        dash: Any = "-",
        colour: str = INK,
        closed: bool = False,
        z: float = 3,
    ) -> None:
        """A polyline through paper places [n, 2]."""
        xy = np.asarray(points, dtype=float)
        if closed:
            xy = np.concatenate([xy, xy[:1]])
        (drawn,) = self.ax.plot(xy[:, 0], xy[:, 1], color=colour, linewidth=width * self.shrink, linestyle=dash, zorder=z,
                     solid_joinstyle="miter", solid_capstyle="butt", scalex=False, scaley=False)  # fmt: skip
        drawn.set_in_layout(False)

    def centre(self, start: Any, end: Any) -> None:
        """A centre line."""
        self.line([start, end], dash=CENTRE, colour=GREY, z=2)

    def face(
        self,
        points: Any,
        *,
        hatch: str = "",
        fill: str = "none",
        width: float = THICK,
        colour: str = INK,
        z: float = 2.5,
    ) -> None:
        """A closed face; hatched where it is cut."""
        from matplotlib.patches import Polygon

        xy = np.asarray(points, dtype=float)
        if hatch or fill != "none":
            patch = Polygon(
                xy, closed=True, facecolor=fill, edgecolor=GREY, hatch=hatch or None, linewidth=0.0, zorder=z
            )
            if hasattr(patch, "set_hatch_linewidth"):  # older ones hatch with their own width
                patch.set_hatch_linewidth(0.45 * self.shrink)
            self._patch(patch)
        if width:
            self.line(xy, width=width, colour=colour, closed=True, z=z + 0.2)

    def break_line(self, start: Any, end: Any, wave_mm: float = 1.1, z: float = 3.6) -> None:
        """A wavy line where the part goes on."""
        a, b = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
        along = b - a
        length = float(np.hypot(*along))
        across = np.array([-along[1], along[0]]) / length
        t = np.linspace(0, 1, 121)
        waves = max(2, round(length / 16))
        self.line(a + t[:, None] * along + wave_mm * np.sin(2 * math.pi * waves * t)[:, None] * across, width=0.6, z=z)

    def arrow(self, start: Any, end: Any, *, width: float = 0.9, colour: str = INK, both: bool = False, head_mm: float = ARROW_MM, z: float = 5) -> None:  # fmt: skip
        """An arrow with a filled head at its end, at both ends where `both`."""
        from matplotlib.patches import FancyArrowPatch

        a, b = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
        head = min(head_mm, 0.6 * float(np.hypot(*(b - a))) + 1e-9) / MM_PER_PT * self.shrink
        shape = "<|-|>" if both else "-|>"
        self._patch(
            FancyArrowPatch(
                tuple(a), tuple(b), arrowstyle=f"{shape},head_length={head:.4f},head_width={0.36 * head:.4f}",
                mutation_scale=1.0, linewidth=width * self.shrink, color=colour, shrinkA=0, shrinkB=0, zorder=z,
                joinstyle="miter", capstyle="butt"
            )
        )  # fmt: skip

    def arc_arrow(
        self, middle: Any, radius_mm: float, start_deg: float, end_deg: float, *, colour: str = INK, width: float = 1.0
    ) -> None:
        """An arrow along a circle, angles from +x counter-clockwise."""
        t = np.radians(np.linspace(start_deg, end_deg, 60))
        points = np.asarray(middle) + radius_mm * np.stack([np.cos(t), np.sin(t)], -1)
        back = max(2, math.ceil(60 * ARROW_MM * 0.8 / max(radius_mm * abs(t[-1] - t[0]), 1e-9)))
        self.line(points[:-back], width=width, colour=colour, z=5)
        self.arrow(points[-back - 1], points[-1], width=width, colour=colour)

    # letters

    def text(self, place: Any, text: str, *, size: float = LETTERS_PT, ha: str = "center", va: str = "center", turn: float = 0.0, colour: str = INK, bold: bool = False, clear: bool = True, z: float = 7) -> None:  # fmt: skip
        """Letters at a paper place; clear: on a white ground."""
        box = {"facecolor": "white", "edgecolor": "none", "pad": 0.6 * self.shrink} if clear else None
        self._word(float(place[0]), float(place[1]), text, fontsize=size * self.shrink, ha=ha, va=va, rotation=turn, color=colour,
                     rotation_mode="anchor" if turn and ha != "center" else "default", fontweight="bold" if bold else "normal",
                     bbox=box, zorder=z, linespacing=1.25)  # fmt: skip

    def letter(self, place: Any, letter: str, colour: str = INK) -> None:
        """The letter of an item of the list, in a circle."""
        from matplotlib.patches import Circle

        x, y = map(float, place)
        self._patch(Circle((x, y), 2.0, facecolor="white", edgecolor=colour, linewidth=0.8 * self.shrink, zorder=8))
        self._word(
            x,
            y - 0.05,
            letter,
            fontsize=6.2 * self.shrink,
            ha="center",
            va="center_baseline",
            color=colour,
            fontweight="bold",
            zorder=9,
        )

    def leader(
        self, tip: Any, elbow: Any, text: str, *, size: float = LETTERS_PT, shelf_mm: float = 2.0, dot: bool = False
    ) -> None:
        """A leader to `tip` by an elbow, with its text on the far side of a short shelf."""
        tip, elbow = np.asarray(tip, dtype=float), np.asarray(elbow, dtype=float)
        side = 1.0 if elbow[0] >= tip[0] else -1.0
        self.arrow(elbow, tip, width=THIN, head_mm=1.0 if dot else ARROW_MM)
        end = elbow + off(side * shelf_mm, 0.0)
        self.line([elbow, end])
        self.text(end + off(side * 0.8, 0.0), text, size=size, ha="left" if side > 0 else "right")

    # dimensions

    def dimension(
        self, start: Any, end: Any, text: str, *, at: float, upright: bool = False, size: float = LETTERS_PT
    ) -> None:
        """A dimension between two paper places, measured along x (along y where upright), its line at y (x) = `at`.

        Where the text does not fit between the arrow heads it stands beside them, on two lines where it has a range; arrows that do
        not fit either point inwards.
        """
        a, b = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
        k = 1 if upright else 0
        if a[k] > b[k]:
            a, b = b, a
        for p in (a, b):
            foot, top = p.copy(), p.copy()
            side = math.copysign(1.0, at - p[1 - k]) if at != p[1 - k] else 0.0
            foot[1 - k], top[1 - k] = p[1 - k] + 0.8 * side, at + 1.2 * side
            if abs(at - p[1 - k]) > 1.0:
                self.line([foot, top])
        low, high = a.copy(), b.copy()
        low[1 - k] = high[1 - k] = at
        room, needs = high[k] - low[k], text_mm(text, size) + 1.6
        turn = 90.0 if upright else 0.0
        if room >= 2 * ARROW_MM + 1.0:
            self.arrow(low, high, width=THIN, both=True)
        else:
            for p, side in ((low, -1.0), (high, 1.0)):
                tail = p.copy()
                tail[k] += side * 4.5
                self.arrow(tail, p, width=THIN)
            self.line([low, high])
        middle = 0.5 * (low + high)
        if upright and room < needs + 2 * ARROW_MM:
            self.text(middle - (1.2, 0.0), text.replace(" (", "\n("), size=size, ha="right")
            return
        if room < needs + 2 * ARROW_MM:
            if room >= needs and room >= 2 * ARROW_MM + 1.0:  # above the line
                middle[1] += 1.9
            else:  # beside the upper end
                past = 0.6 if room >= 2 * ARROW_MM + 1.0 else 4.9
                middle[k] = high[k] + past + 0.5 * needs
        self.text(middle, text, size=size, turn=turn)

    def scale_bar(self, place: Any, scale: float, room_mm: float = 26.0, note: str = "") -> None:
        """A bar of a round length from a paper place to the right, with its length in words."""
        length = round_length(room_mm / scale)
        x, y = map(float, place)
        end = x + length * scale
        for p, q in (((x, y), (end, y)), ((x, y - 0.8), (x, y + 0.8)), ((end, y - 0.8), (end, y + 0.8))):
            self.line([p, q], width=0.9)
        self.text((end + 1.2, y), f"{length:g} mm{note}", ha="left", size=6.5)

    def lines_of_text(
        self,
        place: Any,
        lines: Sequence[str] | Iterable[str],
        *,
        size: float = 6.5,
        step_mm: float = 3.3,
        colour: str = INK,
    ) -> float:
        """Lines below each other from a paper place; returns the height that is left below the last."""
        x, y = map(float, place)
        for line in lines:
            self.text((x, y), line, size=size, ha="left", va="top", clear=False, colour=colour)
            y -= step_mm
        return y
