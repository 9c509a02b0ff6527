"""What every figure of the report has in common."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..study import Results, StoredVariant
from . import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["NoData", "Picture", "case_of", "variant_of"]


class NoData(LookupError):
    """The study has nothing stored that this figure could show."""


class Picture:
    """A figure that can be drawn on given axes, with its data as a table.

    Subclasses set `name`, `caption` and `size_mm`, and give `paint` and `table`.
    """

    name = ""
    caption = ""
    size_mm = (165.0, 105.0)

    def draw(self, ax: Axes | None = None) -> Axes:
        """Draw on `ax`, or on a new figure of the picture's own size; returns the axes."""
        if ax is not None:
            with style.looks():
                self.paint(ax)
            return ax
        figure, ax = style.canvas(*self.size_mm)
        with style.looks():
            self.paint(ax)
        style.settle(figure, *self.size_mm)  # painting may have found that it needs more room
        return ax

    def paint(self, ax: Axes) -> None:
        """Put the artists on the axes."""
        raise NotImplementedError

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Header (with units in the names) and rows of what is drawn."""
        raise NotImplementedError

    def write(self, folder: Path) -> tuple[Path, Path, Path]:
        """Write PNG, SVG and CSV into a folder."""
        figure = self.draw().figure
        png, svg, data = (folder / f"{self.name}.{ending}" for ending in ("png", "svg", "csv"))
        style.save(figure, png)  # type: ignore[arg-type]
        style.save(figure, svg)  # type: ignore[arg-type]
        header, rows = self.table()
        with data.open("w", encoding="utf-8", newline="") as file:
            out = csv.writer(file, lineterminator="\n")
            out.writerow(header)
            out.writerows(["" if _nothing(v) else v for v in row] for row in rows)
        return png, svg, data


def _nothing(value: Any) -> bool:
    return value is None or (isinstance(value, float) and value != value)


def variant_of(results: Results, which: StoredVariant | str | int | None) -> StoredVariant:
    """A variant by itself, its key, its number in the study, or its label; the first one for None."""
    if isinstance(which, StoredVariant):
        return which
    variants = results.variants
    if which is None:
        return variants[0]
    if isinstance(which, int):
        return variants[which]
    for variant in variants:
        if which in (variant.key, variant.label):
            return variant
    raise KeyError(f"no variant {which!r}; known: {', '.join(v.label or v.key for v in variants[:20])}")


def case_of(results: Results, which: str | None) -> str:
    """A load's name; the first one for None."""
    known = list(dict.fromkeys(a.case for v in results.variants for a in v.answers))
    if which is None:
        return known[0]
    if which not in known:
        raise KeyError(f"no load {which!r}; known: {', '.join(known)}")
    return which
