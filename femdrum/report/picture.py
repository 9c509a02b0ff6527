"""What every figure of the report has in common."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import Fault, InputFault, nearest
from ..study import Results, StoredVariant
from . import style
from .print_look import BASE_PT, PrintLook
from .readings import Readings, write_points
from .retouch import retouch, take_colour_out
from .words import variant_name, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["NoData", "Picture", "UnknownName", "case_of", "cases_of", "choice", "variant_of"]

TIGHT_MM = 125.0
MOST_TOLD = 40  # names
SQUEEZE = 0.75  # of the height that a figure needs, what it can do with


class NoData(LookupError):
    """The study has nothing stored that this figure could show."""


class UnknownName(InputFault, KeyError):
    """A figure, variant, load or kind of stress that is not there; says what is known."""

    __str__ = InputFault.__str__

    def __init__(self, what: str, name: object, known: Iterable[str]) -> None:
        found = list(known)
        told = ", ".join(found[:MOST_TOLD]) + (f" and {len(found) - MOST_TOLD} more" if len(found) > MOST_TOLD else "")
        super().__init__(Fault(what, name, f"no {what} of this name; known: {told or 'none'}", nearest(name, found)))

    def __reduce__(self) -> tuple[type, tuple[object, ...]]:
        return InputFault, (self.faults,)


class Picture:
    """A figure that can be drawn on given axes, with its data as a table.

    Subclasses set `name`, `caption` and `size_mm`, and give `paint` and `table`. All is laid out for letters of 8 pt; `size_mm` is
    the size for these. A picture that needs another height where it is narrower says so in `needed_mm`; `room_for` and `tight`
    tell what room there is. What can be read off is noted in `readings` while painting.
    """

    name = ""
    caption = ""
    size_mm = (165.0, 105.0)
    least_width_mm = 0.0  # of a figure that cannot be laid out narrower, with letters of 8 pt
    figure: Figure  # the latest that was saved
    full_of_shades = False  # stored as PNG of 256 colours

    @cached_property
    def readings(self) -> Readings:
        """What can be pointed at, of the latest drawing."""
        return Readings()

    @property
    def tight(self) -> bool:
        """True where it is drawn for one column."""
        return self.size_mm[0] < TIGHT_MM

    def room_for(self, count: int) -> int:
        """How many letters have room where `count` have it over 165 mm."""
        return max(10, int(count * self.size_mm[0] / 165.0 + 1e-9))

    def title(self, text: str, letters: int = 80) -> str:
        """A title, broken into lines that fit over the axes."""
        return wrapped(text, self.room_for(letters) if not self.tight else int((self.size_mm[0] - 22.0) / 1.72))

    def needed_mm(self) -> float:
        """The height that it needs at its width."""
        return self.size_mm[1]

    def widen(self, width_mm: float) -> None:
        """Lay out for another width, in mm at letters of 8 pt."""
        self.size_mm = (width_mm, self.size_mm[1])
        self.size_mm = (width_mm, self.needed_mm())

    def draw(self, ax: Axes | None = None, look: PrintLook | None = None) -> Axes:
        """Draw on `ax`, or on a new figure of the picture's own size or of the look's; returns the axes."""
        look = look or PrintLook()
        self.__dict__.pop("readings", None)
        if ax is not None:
            with style.looks(look.grey):
                self.paint(ax)
            retouch(ax.get_figure(root=True), self.main_axes(ax), look)  # type: ignore[arg-type]
            return ax
        if look.width_mm is not None:
            self._wide_enough(look)
            self.widen(look.width_mm / look.scale)
        figure, ax = style.canvas(*self.size_mm)
        with style.looks(look.grey):
            self.paint(ax)
        width, high = self.size_mm  # painting may have found that it needs more room
        if look.height_mm is not None:
            self._high_enough(look, high)
            high = look.height_mm / look.scale
        elif look.aim_mm is not None:
            high = max(SQUEEZE * high, look.aim_mm / look.scale)
        with style.looks(look.grey):
            retouch(figure, self.main_axes(ax), look)
            style.settle(figure, width, high)
            if look.grey:
                take_colour_out(figure)  # what was made while laying out
        return ax

    def _wide_enough(self, look: PrintLook) -> None:
        least = self.least_width_mm * look.scale
        if look.width_mm is not None and look.width_mm < least - 1e-9:
            way_out = (
                f"take preset two-column, or letters of at most {BASE_PT * look.width_mm / self.least_width_mm:.1f} pt"
            )
            allowed = f"this figure needs at least {math.ceil(least)} mm with letters of {look.font_pt:g} pt"
            raise InputFault(Fault("width_mm", look.width_mm, allowed, way_out))

    def _high_enough(self, look: PrintLook, natural_mm: float) -> None:
        least = SQUEEZE * natural_mm * look.scale
        if look.height_mm is not None and look.height_mm < least:
            way = f"at {self.size_mm[0] * look.scale:.0f} mm width and {look.font_pt:g} pt; smaller letters need less"
            raise InputFault(
                Fault(
                    "height_mm",
                    look.height_mm,
                    f"this figure needs at least {math.ceil(least)} mm {way}",
                    "leave it out",
                )
            )

    def main_axes(self, ax: Axes) -> Axes | None:
        """The axes that limits and number formats are for; None where there are none."""
        return ax

    def paint(self, ax: Axes) -> None:
        """Put the artists on the axes."""
        raise NotImplementedError

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Header (with units in the names) and rows of what is drawn."""
        raise NotImplementedError

    def write(self, folder: Path) -> tuple[Path, Path, Path]:
        """Write PNG, SVG and CSV into a folder, and beside the SVG what can be read off as `.points.json`."""
        png, svg, data = self.save([folder / f"{self.name}.{ending}" for ending in ("png", "svg", "csv")])
        write_points(self.readings, self.figure, folder / f"{self.name}.points.json")
        return png, svg, data

    def save(self, paths: Sequence[Path], look: PrintLook | None = None) -> list[Path]:
        """Write files of one drawing; the endings say the formats: .png, .svg, .pdf, and .csv for the data."""
        look = look or PrintLook()
        self.figure = self.draw(look=look).get_figure(root=True)  # type: ignore[assignment]
        for path in paths:
            if path.suffix.lower() == ".csv":
                self.write_table(path)
            else:
                style.save(self.figure, path, scale=look.scale, palette=self.full_of_shades)
        return list(paths)

    def write_table(self, path: Path) -> Path:
        """The data as CSV, with decimal points and full digits whatever the figure shows."""
        header, rows = self.table()
        with path.open("w", encoding="utf-8", newline="") as file:
            out = csv.writer(file, lineterminator="\n")
            out.writerow(header)
            out.writerows(["" if _nothing(v) else v for v in row] for row in rows)
        return path


def _nothing(value: Any) -> bool:
    return value is None or (isinstance(value, float) and value != value)


def variant_of(results: Results, which: StoredVariant | str | int | None) -> StoredVariant:
    """A variant by itself, its key, its number in the study, or its label; the first one for None."""
    if isinstance(which, StoredVariant):
        return which
    variants = results.variants
    if which is None:
        return variants[0]
    text = str(which)
    if isinstance(which, int) or (text.removeprefix("-").isdigit() and not any(v.key == text for v in variants)):
        if not -len(variants) <= int(which) < len(variants):
            raise UnknownName("variant", which, [f"0 to {len(variants) - 1}, counted from zero"])
        return variants[int(which)]
    for variant in variants:
        if text in (variant.key, variant.label, variant_name(variant)):
            return variant
    raise UnknownName("variant", which, [variant_name(v) or v.key for v in variants])


def case_of(results: Results, which: str | None) -> str:
    """A load's name; for None the first condition, or the first load where there are none."""
    known = cases_of(results)
    return known[0] if which is None else choice("load", which, known)


def cases_of(results: Results) -> list[str]:
    """Names of conditions, then of loads."""
    answers = [a for v in results.variants for a in v.answers]
    return list(dict.fromkeys(a.case for a in sorted(answers, key=lambda a: a.case_kind != "condition")))


def choice(what: str, name: str, known: Iterable[str]) -> str:
    """The name, where it is one of the known. Raises UnknownName else."""
    found = list(known)
    if name not in found:
        raise UnknownName(what, name, found)
    return name
