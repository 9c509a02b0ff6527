"""The look of all figures: sizes in mm, letters in pt, colours that survive colour blindness and grey printing.

Figures are made without pyplot, so that nothing global is left behind.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.colors import Colormap, Normalize
    from matplotlib.figure import Figure

__all__ = [
    "DISC",
    "DPI",
    "GREY",
    "INK",
    "LOOKS",
    "PALE",
    "SHELL",
    "STUB",
    "Look",
    "below",
    "canvas",
    "looks",
    "magnitude_map",
    "rgb_of",
    "save",
    "scale_for",
    "settle",
    "signed_map",
]

DPI = 200
MM_PER_INCH = 25.4
INK, GREY, PALE = "#22303c", "#76828c", "#e9e6df"
SHELL, DISC, STUB = "#c9ced0", "#9aa3a8", "#b3a88f"  # parts of a drum seen in space


@dataclass(frozen=True)
class Look:
    """Colour, marker and dash of a line: any one of the three tells lines apart."""

    colour: str
    marker: str
    dash: Any


# told apart under the three kinds of colour blindness (tests/pictures), and by lightness in grey
LOOKS = (
    Look("#054838", "o", "-"),
    Look("#806b07", "s", (0, (5, 1.5))),
    Look("#34a5b4", "^", (0, (1.2, 1.2))),
    Look("#b74576", "D", (0, (6, 1.5, 1.2, 1.5))),
    Look("#8baa67", "v", (0, (3, 1.2))),
    Look("#667bce", "P", (0, (8, 2))),
    Look("#6d3c10", "X", (0, (3, 1, 1, 1, 1, 1))),
    Look("#f2a8f2", "<", (0, (2, 2))),
)

_NO_COLOUR: ContextVar[bool] = ContextVar("no_colour", default=False)

_RC: Any = {
    "font.family": ["DejaVu Sans", "sans-serif"],
    "font.size": 8.0,
    "axes.titlesize": 8.5,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.labelsize": 8.0,
    "axes.labelcolor": INK,
    "axes.edgecolor": INK,
    "axes.linewidth": 0.6,
    "axes.grid": True,
    "axes.axisbelow": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.formatter.useoffset": False,
    "text.color": INK,
    "grid.color": PALE,
    "grid.linewidth": 0.6,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.labelsize": 7.5,
    "ytick.labelsize": 7.5,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "legend.fontsize": 7.0,
    "legend.frameon": False,
    "legend.handlelength": 2.6,
    "lines.linewidth": 1.3,
    "lines.markersize": 4.5,
    "svg.fonttype": "none",  # words in a picture stay words
    "svg.hashsalt": "femdrum",  # the same figure twice is the same file
    "figure.facecolor": "white",
    "savefig.facecolor": "white",
    "axes.unicode_minus": True,
    "mathtext.default": "regular",
}


@contextmanager
def looks(grey: bool = False) -> Iterator[None]:
    """While it lasts, artists are made in this style; afterwards matplotlib is as it was. grey: colour maps without colour."""
    from matplotlib import rc_context

    from .grey import grey_of

    kept = _NO_COLOUR.set(grey or _NO_COLOUR.get())
    try:
        with rc_context(_RC | {k: grey_of(v) for k, v in _RC.items() if grey and k.endswith("color") and v[0] == "#"}):
            yield
    finally:
        _NO_COLOUR.reset(kept)


def canvas(width_mm: float, height_mm: float) -> tuple[Figure, Axes]:
    """A figure of this size with one set of axes."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with looks():
        figure = Figure(figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH), dpi=DPI, layout="constrained")
        FigureCanvasAgg(figure)
        figure.get_layout_engine().set(w_pad=0.06, h_pad=0.06)  # type: ignore[union-attr, call-arg]
        return figure, figure.add_subplot()


def settle(figure: Figure, width_mm: float, height_mm: float) -> None:
    """Give the figure its final size and lay it out, once for all formats."""
    with looks():
        figure.set_size_inches(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH)
        figure.draw_without_rendering()
        figure.set_layout_engine("none")


def below(ax: Axes, points: float = 32.0, at: float = 0.0) -> dict[str, Any]:
    """Where a legend under the axes begins, `points` below them: past ticks and label whatever the figure's height."""
    from matplotlib.transforms import offset_copy

    start = offset_copy(ax.transAxes, fig=ax.figure, y=-points, units="points")  # type: ignore[arg-type]
    return {"loc": "upper left", "bbox_to_anchor": (at, 0.0), "bbox_transform": start, "borderaxespad": 0.0}


def save(figure: Figure, path: Path, *, scale: float = 1.0, palette: bool = False) -> Path:
    """Write a figure; see `femdrum.report.saving`."""
    from .saving import save as write

    return write(figure, path, scale=scale, palette=palette)


def magnitude_map() -> Colormap:
    """For magnitudes: perceptually uniform, dark to light."""
    from matplotlib import colormaps

    return colormaps["cividis"]


@cache
def signed_map() -> Colormap:
    """For signed values: pale at zero, blue for compression, brown for tension, both ends equally dark.

    Straight lines in CIELAB, so equal steps of the value look equal on either side.
    """
    from matplotlib.colors import LinearSegmentedColormap

    compression, zero, tension = (30.0, 0.0, -34.0), (95.0, 0.0, 3.0), (30.0, 32.0, 34.0)
    t = np.linspace(0, 1, 129)[:, None]
    low = np.array(compression) * (1 - t) + np.array(zero) * t
    high = np.array(zero) * (1 - t) + np.array(tension) * t
    return LinearSegmentedColormap.from_list("femdrum_signed", rgb_of(np.vstack([low, high[1:]])), N=257)


def rgb_of(lab: NDArray[np.float64]) -> NDArray[np.float64]:
    """CIELAB (D65) to sRGB, clipped to what a screen shows."""
    fy = (lab[:, 0] + 16) / 116
    f = np.stack([fy + lab[:, 1] / 500, fy, fy - lab[:, 2] / 200], -1)
    xyz = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * [0.95047, 1.0, 1.08883]
    linear = xyz @ np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]).T
    linear = np.clip(linear, 0, 1)
    return np.asarray(np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055))


def scale_for(least: float, most: float) -> tuple[Colormap, Normalize]:
    """Map and scale for values between two extremes: from zero if all are of one sign, else centred on zero."""
    from matplotlib.colors import Normalize

    top = max(abs(least), abs(most)) or 1.0
    if least >= -0.02 * top:
        colours, norm = magnitude_map(), Normalize(0.0, top)
    elif most <= 0.02 * top:
        colours, norm = magnitude_map().reversed(), Normalize(-top, 0.0)
    else:
        colours, norm = signed_map(), Normalize(-top, top)
    if _NO_COLOUR.get():
        from .grey import grey_map

        colours = grey_map(colours)
    return colours, norm
