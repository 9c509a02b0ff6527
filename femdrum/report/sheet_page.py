"""A page for a file of plain tables: one HTML file with everything inside, its charts beside it in figures/."""

from __future__ import annotations

import base64
import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import Any

from ..figure import Figure
from .cautions import CAUTIONS, SHORT
from .load_table import sensible
from .picture import Picture

__all__ = ["DrawnFigure", "draw_all", "figure_rows", "render_page"]


@dataclass(frozen=True)
class DrawnFigure:
    """A chart in the page: number, name, caption, and its picture as a data address."""

    number: int
    name: str
    caption: str
    data: str


def draw_all(pictures: Iterable[Picture], folder: Path) -> list[DrawnFigure]:
    """Write charts as PNG, SVG and CSV into folder/figures/, and hold each SVG for the page."""
    home = folder / "figures"
    home.mkdir(parents=True, exist_ok=True)
    drawn = []
    for number, picture in enumerate(pictures, 1):
        _, svg, _ = picture.write(home)
        data = base64.b64encode(svg.read_bytes()).decode("ascii")
        drawn.append(DrawnFigure(number, picture.name, picture.caption, f"data:image/svg+xml;base64,{data}"))
    return drawn


def figure_rows(groups: Iterable[tuple[str, Sequence[Figure]]]) -> list[tuple[str, list[dict[str, str]]]]:
    """Derived numbers as read, in their groups."""
    return [
        (
            name,
            [
                {
                    "what": f.what,
                    "value": sensible(f.value),
                    "unit": "1" if f.unit in ("", "-") else f.unit,
                    "formula": f.formula,
                    "from": str(f.provenance),
                }
                for f in figures
            ],
        )
        for name, figures in groups
        if figures
    ]


def render_page(template: str, path: Path, **content: Any) -> Path:
    """Fill a template of this package and write the page, whole or not at all; returns its path."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    home = files(__package__)
    maker = Environment(
        loader=FunctionLoader(lambda name: home.joinpath(name).read_text(encoding="utf-8")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    text = maker.get_template(template).render(
        css=home.joinpath("report.css").read_text(encoding="utf-8"), cautions=CAUTIONS, short=SHORT, version=version("femdrum"),
        made=datetime.datetime.now().astimezone().strftime("%d %B %Y, %H:%M %Z"), **content,
    )  # fmt: skip
    part = path.with_suffix(".part")
    part.write_text(text, encoding="utf-8")
    part.replace(path)
    return path
