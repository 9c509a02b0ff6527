"""What is done to a painted figure for print: limits, how numbers are written, grey."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from ..errors import Fault, InputFault
from .grey import grey_map, grey_of, grey_pixels
from .print_look import PrintLook

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["retouch", "take_colour_out", "with_comma"]

# numbers of charts and chapters are names, not values
NAMED = r"(?:chart|table|equation|eq\.|section|chapter|clause|page|figure|part|edition)s? "
NUMBER = re.compile(rf"({NAMED})?(?<![\w.\-])(\d[\d,]*(?:\.\d+)?)(?![\w]|\.\d|-\d)", re.IGNORECASE)
THOUSANDS = re.compile(r"\d{1,3}(,\d{3})+(\.\d+)?")
THIN = "\u202f"


def with_comma(text: str) -> str:
    """Numbers of a text with a decimal comma and thin spaces between thousands: `1,234.5 MPa` becomes `1 234,5 MPa`."""

    def one(found: re.Match[str]) -> str:
        named, number = found[1], found[2]
        if named:
            return found[0]
        tail = "," * (len(number) - len(number.rstrip(",")))  # a comma after a number belongs to the sentence
        number = number.rstrip(",")
        if THOUSANDS.fullmatch(number):
            number = number.replace(",", THIN)
        elif "," in number:
            return found[0]
        return number.replace(".", ",") + tail

    return NUMBER.sub(one, text)


def retouch(figure: Figure, main: Axes | None, look: PrintLook) -> None:
    """Set limits and the writing of numbers on the main axes, and take the colour out, as asked."""
    _set_limits(main, look)
    if main is not None:
        for axis, spec in ((main.xaxis, look.number_format[0]), (main.yaxis, look.number_format[1])):
            if spec:
                axis.set_major_formatter(_format(spec))
    if look.decimal_comma:
        _with_commas(figure)
    if look.grey:
        take_colour_out(figure)


def _format(spec: str) -> Callable[[float, float], str]:
    return lambda value, _: format(value, spec).replace("-", "\u2212")


def _set_limits(main: Axes | None, look: PrintLook) -> None:
    for name, limits in (("x", look.x_limits), ("y", look.y_limits)):
        if limits is None:
            continue
        field = f"{name}_limits"
        if main is None:
            raise InputFault(Fault(field, limits, "this figure has no scale that could be set", "leave the limits out"))
        axis = getattr(main, f"{name}axis")
        if axis.get_scale() == "log" and limits[0] <= 0:
            raise InputFault(Fault(field, limits, "must be above zero: this scale is logarithmic"))
        getattr(main, f"set_{name}lim")(*limits)
    if main is not None and (look.x_limits or look.y_limits):
        _hide_outside(main)


def _hide_outside(main: Axes) -> None:
    """Words whose place is outside the new limits would stand beside the plot."""
    (x0, x1), (y0, y1) = sorted(main.get_xlim()), sorted(main.get_ylim())
    for text in main.texts:
        told = getattr(text, "xy", None)
        x, y = (told if told is not None else text.get_position()) or (x0, y0)
        system = getattr(text, "xycoords", text.get_transform())
        data = system == "data" or system is main.transData
        if data and not (x0 <= float(x) <= x1 and y0 <= float(y) <= y1):
            text.set_visible(False)


def _with_commas(figure: Figure) -> None:
    from matplotlib.axes import Axes
    from matplotlib.text import Text
    from matplotlib.ticker import Formatter

    class Commas(Formatter):
        """Another formatter's words, with decimal commas."""

        def __init__(self, inner: Any) -> None:
            self.inner = inner

        def __call__(self, value: float, pos: int | None = None) -> str:
            return with_comma(self.inner(value, pos))

        def format_ticks(self, values: Sequence[float]) -> list[str]:
            return [with_comma(text) for text in self.inner.format_ticks(values)]

        def set_locs(self, locs: Any) -> None:
            self.inner.set_locs(locs)

        def get_offset(self) -> str:
            return with_comma(self.inner.get_offset())

    for each in figure.findobj(Axes):
        for axis in (each.xaxis, each.yaxis):
            axis.set_major_formatter(Commas(axis.get_major_formatter()))
            axis.set_minor_formatter(Commas(axis.get_minor_formatter()))
    for text in figure.findobj(Text):
        text.set_text(with_comma(text.get_text()))


def take_colour_out(figure: Figure) -> None:
    """Every artist in the grey of its own lightness; lines of `LOOKS` in greys that are further apart."""
    from matplotlib.cm import ScalarMappable
    from matplotlib.collections import Collection
    from matplotlib.image import AxesImage
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch
    from matplotlib.text import Annotation, Text

    def patch(one: Any) -> None:
        for part in ("facecolor", "edgecolor"):
            colour = getattr(one, f"get_{part}")()
            # what has no colour stays without: the artist's own transparency would bring it back
            getattr(one, f"set_{part}")(grey_of(colour) if colour[3] else "none")

    for artist in figure.findobj():
        one: Any = artist
        if isinstance(one, Line2D):
            for part in ("color", "markerfacecolor", "markeredgecolor"):
                colour = getattr(one, f"get_{part}")()
                if not (isinstance(colour, str) and colour in ("none", "auto")):
                    getattr(one, f"set_{part}")(grey_of(colour))
        elif isinstance(one, Patch):
            patch(one)
        elif isinstance(one, Collection):
            if one.get_array() is not None:
                one.set_cmap(grey_map(one.get_cmap()))
                continue
            for part in ("facecolor", "edgecolor"):
                colours = getattr(one, f"get_{part}")()
                seen = any(c[3] for c in colours)
                getattr(one, f"set_{part}")([grey_of(c) for c in colours] if seen else "none")
        elif isinstance(one, AxesImage):
            values: Any = one.get_array()
            if values is not None and values.ndim == 3:
                one.set_data(grey_pixels(values))
            elif isinstance(one, ScalarMappable):
                one.set_cmap(grey_map(one.get_cmap()))
        elif isinstance(one, Text):
            one.set_color(grey_of(one.get_color()))
            if one.get_bbox_patch() is not None:
                patch(one.get_bbox_patch())
            if isinstance(one, Annotation) and one.arrow_patch is not None:
                patch(one.arrow_patch)
