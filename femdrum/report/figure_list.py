"""What can be drawn of a results folder: kinds of figures, their options, and the figures of the report."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ..study import Results
from .conditions import condition_names, perimeter_picture, shares_picture, unit_picture
from .difference_picture import DifferencePicture
from .draw_model import load_drawing, part_drawing, slot_drawing
from .edge_picture import COMPONENTS, EdgePicture
from .field_picture import QUANTITIES, FieldPicture
from .kt_picture import KtPicture
from .ladder_picture import LadderPicture
from .life_figures import LIFE_KINDS
from .picture import NoData, Picture, cases_of
from .solid_picture import SolidPicture
from .words import variant_name

__all__ = ["KINDS", "KindEntry", "kind_entries", "options_of", "short_caption"]

KINDS: dict[str, Callable[..., Picture]] = {
    "part": part_drawing,
    "slot": slot_drawing,
    "paths": load_drawing,
    "kt": KtPicture,
    "difference": DifferencePicture,
    "edge": EdgePicture,
    "field": FieldPicture,
    "solid": SolidPicture,
    "ladder": LadderPicture,
    "shares": shares_picture,
    "units": unit_picture,
    "perimeter": perimeter_picture,
    **LIFE_KINDS,
}
WORDS = {
    "part": "the part as it was described, a drawing",
    "slot": "the slot with its dimensions, a drawing",
    "paths": "where loads act, and their list",
    "kt": "Kt, or the peak, over an axis of the study",
    "difference": "differences from the exact plane solution",
    "edge": "stress along the slot's edge",
    "field": "the field around a cutout of a plate",
    "solid": "the field on the ring, in space",
    "ladder": "the peak on every mesh of the ladder",
    "shares": "what each load contributes to each condition's peak",
    "units": "unit loads side by side",
    "perimeter": "load by load along the edge, of one condition",
    "life": "life over an axis of the study",
    "map": "utilisation of every slot of the drum",
    "sn": "S-N curve with the cycles of the duty",
    "haigh": "amplitude over mean stress",
    "damage": "damage along the slot's edge",
    "crack": "growth of a crack",
    "sensitivity": "what the life scatters with",
}
OPTIONS = ("case", "variant", "axis", "component", "quantity")


@dataclass(frozen=True)
class KindEntry:
    """A kind of figure that this result can show. options: name -> allowed values; the first is taken where none is given."""

    kind: str
    words: str
    options: dict[str, tuple[str, ...]]


def options_of(kind: str) -> tuple[str, ...]:
    """Names of a kind's options."""
    names = inspect.signature(KINDS[kind]).parameters
    return tuple(name for name in OPTIONS if name in names)


def kind_entries(results: Results) -> list[KindEntry]:
    """Kinds that have data in this result, with the values of their options."""
    entries = []
    for kind, make in KINDS.items():
        try:
            make(results)
        except NoData:
            continue
        entries.append(KindEntry(kind, WORDS[kind], {name: _values(results, kind, name) for name in options_of(kind)}))
    return entries


def _values(results: Results, kind: str, option: str) -> tuple[str, ...]:
    values: dict[str, Any] = {
        "case": condition_names(results) if kind == "perimeter" else cases_of(results),
        "variant": (variant_name(v) or v.key for v in results.variants),
        "axis": (a.column for a in results.axes),
        "component": COMPONENTS,
        "quantity": QUANTITIES,
    }  # fmt: skip
    return tuple(values[option])


def short_caption(picture: Picture) -> str:
    """What a figure of the report shows, in one line: its kind, and of what."""
    words = WORDS.get(picture.name.split("-")[0], "")
    of = re.match(r"((?:Load|Condition) \u201c[^\u201d]*\u201d(?:, [^:.]+)?)[:.]", picture.caption)
    case, variant = getattr(picture, "case", ""), getattr(picture, "variant", None)
    told = [of[1][0].lower() + of[1][1:]] if of else [f"\u201c{case}\u201d"] if case else []
    if not of and variant is not None and variant_name(variant):
        told.append(variant_name(variant))
    return ": ".join([words, *([", ".join(told)] if told else [])]) or picture.caption.split(". ")[0]
