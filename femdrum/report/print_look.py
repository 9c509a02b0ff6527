"""How a figure is set for print: width and height in mm, letters in pt, limits, how numbers are written, grey."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import Fault, InputFault, nearest

__all__ = ["BASE_PT", "PRESETS", "PrintLook", "print_look"]

BASE_PT = 8.0  # the letters for which all figures are laid out; other sizes scale the whole figure
LEAST_MM, MOST_MM = 30.0, 1000.0
LEAST_PT, MOST_PT = 4.0, 40.0
LEAST_LAYOUT_MM = 80.0  # narrowest layout at 8 pt
SPEC = re.compile(r"[+,]*(\.\d{1,2})?[fgde]|,?\.?\d{0,2}[fge]|,?d")


@dataclass(frozen=True)
class PrintLook:
    """How a figure is set. None: as in the report.

    width_mm, height_mm: of the finished picture. font_pt: of its letters; smaller words keep their share. aim_mm: height
    that is taken where the figure can do with it. x_limits, y_limits: of its main axes, in the units that they show. number_format: of the numbers along
    (x axis, y axis), as Python writes them (`.2f`), empty for the figure's own. decimal_comma: 3,21 in place of 3.21, and thin
    spaces between thousands. grey: no colour at all.
    """

    width_mm: float | None = None
    height_mm: float | None = None
    font_pt: float = BASE_PT
    aim_mm: float | None = None
    x_limits: tuple[float, float] | None = None
    y_limits: tuple[float, float] | None = None
    number_format: tuple[str, str] = ("", "")
    decimal_comma: bool = False
    grey: bool = False

    @property
    def scale(self) -> float:
        """By how much the laid out figure is magnified."""
        return self.font_pt / BASE_PT

    @property
    def as_in_report(self) -> bool:
        """True where nothing differs from the report."""
        return self == PrintLook()


PRESETS = {
    "one-column": PrintLook(width_mm=85.0),
    "two-column": PrintLook(width_mm=175.0),
    "report": PrintLook(),
    "slide": PrintLook(width_mm=320.0, font_pt=12.0, aim_mm=170.0),
}


def print_look(
    preset: str | None = None, *, size_mm: tuple[float | None, float | None] | None = None, font_pt: float | None = None,
    x_limits: Sequence[float] | None = None, y_limits: Sequence[float] | None = None, number_format: str = "",
    decimal_comma: bool = False, grey: bool = False,
) -> PrintLook:  # fmt: skip
    """A look from a preset (one of `PRESETS`) and what differs from it.

    size_mm: (width, height) in mm, None for the preset's width and the height that the figure needs. number_format: `.2f` for both
    axes, or `x=.0f,y=.2f`. Raises InputFault with all that is wrong.
    """
    faults: list[Fault] = []
    if preset is not None and preset not in PRESETS:
        faults.append(Fault("preset", preset, f"must be one of {', '.join(PRESETS)}", nearest(preset, PRESETS)))
    base = PRESETS.get(preset or "report", PrintLook())
    width, height = size_mm if size_mm is not None else (None, None)
    for name, value in (("width_mm", width), ("height_mm", height)):
        _range(faults, name, value, LEAST_MM, MOST_MM, "mm")
    _range(faults, "font_pt", font_pt, LEAST_PT, MOST_PT, "pt")
    limits = [_limits(faults, f"{axis}_limits", pair) for axis, pair in (("x", x_limits), ("y", y_limits))]
    formats = _formats(faults, number_format)
    letters, wide = font_pt or base.font_pt, width or base.width_mm
    if not faults and wide is not None and wide * BASE_PT / letters < LEAST_LAYOUT_MM:
        least, most = LEAST_LAYOUT_MM * letters / BASE_PT, wide * BASE_PT / LEAST_LAYOUT_MM
        faults.append(Fault("width_mm", wide, f"too narrow for letters of {letters:g} pt: at least {math.ceil(least):g} mm",
                            f"make it wider, or the letters at most {math.floor(10 * most) / 10:g} pt"))  # fmt: skip
    if faults:
        raise InputFault(faults)
    return PrintLook(
        wide, height or base.height_mm, letters, base.aim_mm, limits[0], limits[1], formats, decimal_comma, grey
    )


def _range(faults: list[Fault], name: str, value: float | None, least: float, most: float, unit: str) -> None:
    if value is None:
        return
    good = isinstance(value, (int, float)) and not isinstance(value, bool) and least <= value <= most
    if not good:
        faults.append(Fault(name, value, f"must be a number from {least:g} to {most:g} {unit}", f"give it in {unit}"))


def _limits(faults: list[Fault], name: str, pair: Sequence[float] | None) -> tuple[float, float] | None:
    if pair is None:
        return None
    numbers = [v for v in pair if isinstance(v, (int, float)) and math.isfinite(v)]
    if len(pair) != 2 or len(numbers) != 2 or not numbers[0] < numbers[1]:
        faults.append(Fault(name, tuple(pair), "must be two finite numbers, the lower one first"))
        return None
    return float(numbers[0]), float(numbers[1])


def _formats(faults: list[Fault], text: str) -> tuple[str, str]:
    """`.2f` or `x=.0f,y=.2f` as one format for each axis."""
    found = {"x": "", "y": ""}
    pieces = dict(re.findall(r"([a-z]+)=([^=]+?)(?=,[a-z]+=|$)", text))
    wanted = pieces or ({"x": text, "y": text} if text else {})
    good = set(wanted) <= {"x", "y"}
    for axis, spec in wanted.items():
        good = good and SPEC.fullmatch(spec) is not None
        try:
            format(1.5, spec.replace("d", ".0f"))
        except ValueError:
            good = False
        found[axis] = spec.replace("d", ".0f")
    if not good:
        faults.append(Fault("number_format", text, "must be a format such as .2f, .3g, .1e or ,.0f, for one axis x=.0f or y=.2f, or both "
                            "as x=.0f,y=.2f", "leave it out for the figure's own numbers"))  # fmt: skip
        return "", ""
    return found["x"], found["y"]
