"""The pages of a hand-over: sheets for workshop and service, the drum as built, and both as chapters of a study's report."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..assess.handover_inspect import LookSlot
from ..assess.life_words import hours
from ..errors import FemdrumError
from ..study import Results
from ..study.as_built_run import AsBuiltResult, AsBuiltSlot, AsBuiltStudy
from ..study.handover import FOLDER, Handover, handed_over
from .cautions import not_checked
from .handover_shell import AsBuiltPicture, LookFirstPicture, SlotNumbersPicture
from .handover_slot import SlotEdgePicture
from .page_chapters import Chapter
from .picture import NoData, Picture
from .sheet_page import DrawnFigure, draw_all, render_page
from .words import signed

if TYPE_CHECKING:
    from markupsafe import Markup

__all__ = ["as_built_chapter", "chapter", "handover_pictures", "write_as_built_page", "write_handover_page"]

MOST_SLOTS, MOST_RANKS, MOST_SHEET = 200, 60, 120
NOT_HANDED_OVER = (
    "tolerances of the slots' width and place, hammers, wedges, bolts and seats: `femdrum retention`",
    "balance masses, stubs, bearings and speeds: `femdrum rotor` and `femdrum balance`",
)


def handover_pictures(made: Handover) -> list[Picture]:
    """Slot numbers, the order of looking, and a slot with its places; what there is nothing to draw of is left out."""
    ring, numbers, look = made.facts.ring, made.numbering, made.inspection
    out: list[Picture] = [SlotNumbersPicture(numbers, ring)]
    if len({s.rank for s in look.slots}) > 1:  # else it would only show the numbers again
        out.append(LookFirstPicture(numbers, ring, look.slots))
    with suppress(NoData):
        out.append(SlotEdgePicture(ring, look.places))
    return out


def write_handover_page(made: Handover, folder: Path, *, pictures: bool = True) -> Path:
    """Draw into folder/figures/ and write handover.html; returns its path."""
    drawn = draw_all(handover_pictures(made), folder) if pictures else []
    slots = made.numbering.slots
    return render_page(
        "handover.html", folder / "handover.html", good=made.facts.good, lead=_lead(made), name=made.name,
        record=[(s.slot, s.row) for s in slots] if len(slots) <= MOST_SHEET else [],
        not_checked=(*not_checked(made.facts.life is not None), *NOT_HANDED_OVER), **_parts(made, drawn),
    )  # fmt: skip


def _parts(made: Handover, drawn: Sequence[DrawnFigure]) -> dict[str, Any]:
    numbers, look = made.numbering, made.inspection
    slots = numbers.slots[:MOST_SLOTS]
    with_z = bool(slots) and slots[0].z_mm is not None
    ranks = _ranks(look.slots)
    return {
        "title": made.title, "variant": made.variant, "warnings": made.warnings, "drawn": drawn, "counting": numbers.notes, "with_z": with_z,
        "along_from": numbers.along_from, "slots_left": len(numbers.slots) - len(slots),
        "slots": [
            [str(s.slot), str(s.row), str(s.around), f"{s.angle_deg:.6g}", f"{s.along_mm:.6g}", *([f"{s.z_mm:.6g}"] if with_z else []), str(s.opposite or "-")]
            for s in slots
        ],
        "drawing": [replace(c, words=_plain(c.words), reason=_plain(c.reason)) for c in made.drawing], "look_notes": look.notes, "look_slots": [cells for cells, _ in ranks[:MOST_RANKS]],
        "look_left": sum(count for _, count in ranks[MOST_RANKS:]),
        "look_places": [
            [str(p.rank), p.place, str(p.corner or "-"), _number(p.utilisation), _hours(p.life_h, p.utilisation), p.governs or "-", p.reach or "-"] for p in look.places
        ],
        "looks": look.looks,
    }  # fmt: skip


def _plain(text: str) -> str:
    """Without the marks that set a command apart on a terminal."""
    return text.replace("`", "")


def _number(value: float | None, digits: int = 2) -> str:
    return "-" if value is None else f"{value:.{digits}f}"


def _hours(life_h: float | None, much: float | None) -> str:
    """A life; a dash where none was reckoned."""
    return "-" if much is None else hours(life_h).removesuffix(" h")


def _ranks(slots: Sequence[LookSlot]) -> list[tuple[list[str], int]]:
    """A line for each rank and place, with how many slots it names; none where all rank alike."""
    if len({s.rank for s in slots}) < 2:
        return []
    found: dict[tuple[int, str], list[LookSlot]] = {}
    for s in slots:
        found.setdefault((s.rank, s.place), []).append(s)
    out = []
    for (rank, place), same in found.items():
        names = ", ".join(f"{s.slot} ({s.row})" for s in same)
        out.append(
            (
                [str(rank), names, _number(same[0].utilisation, 3), _hours(same[0].life_h, same[0].utilisation), place],
                len(same),
            )
        )
    return out


def _lead(made: Handover) -> list[str]:
    facts, look = made.facts, made.inspection
    life = facts.life
    if life is None:
        out = ["No life was reckoned: the sheets say where stresses are highest, not how long the drum lasts."]
    elif facts.good:
        out = [f"The life that is wanted, {hours(life.target_h)}, holds for this drum as drawn."]
    else:
        out = ["Not to be made like this: the life that is wanted does not hold."]
    least = next(
        (
            c
            for c in made.drawing
            if c.ask == "least radius" and c.value is not None and not c.feature.startswith("stub")
        ),
        None,
    )
    if least is not None:
        out.append(f"Least radius of the {least.feature}: {least.value:g} mm.")
    first = look.slots[0]
    if len({s.rank for s in look.slots}) > 1:
        equal = [str(s.slot) for s in look.slots if s.rank == 1]
        out.append(
            f"Look first at slot{'s' if len(equal) > 1 else ''} {', '.join(equal[:6])}, {first.place}{'' if first.corner is None else f' (corner {first.corner})'}."
        )
    elif first.place:
        out.append(
            f"Look first, in every slot, at the {first.place}{'' if first.corner is None else f' (corner {first.corner})'}."
        )
    every = next((o for o in look.looks if o.when.startswith("every ")), None)
    out.append(
        f"Looks: before the first start, after 50 h, {every.when}, and after every jam or tramp hit."
        if every is not None
        else "Looks: before the first start, after 50 h, and after every jam or tramp hit; no interval follows from these results."
    )
    return out


def write_as_built_page(asked: AsBuiltStudy, found: AsBuiltResult, folder: Path) -> Path:
    """Draw the drum as built into folder/figures/ and write as_built.html; returns its path."""
    drawn = draw_all([AsBuiltPicture(asked.numbering, asked.designed.part, found)], folder)
    return render_page(
        "handover_built.html", folder / "as_built.html", name=asked.study.name, radii=Path(asked.radii.path).name,
        not_checked=(*not_checked(found.target_h is not None), *NOT_HANDED_OVER), **_built(found, drawn),
    )  # fmt: skip


def _built(found: AsBuiltResult, drawn: Sequence[DrawnFigure]) -> dict[str, Any]:
    rows = found.slots[:MOST_SLOTS]
    return {
        "title": found.title, "good": not found.below and found.target_h is not None, "lead": found.words, "warnings": found.warnings, "drawn": drawn,
        "rows": [_built_row(s) for s in rows], "rows_left": len(found.slots) - len(rows),
        "notes": (*found.notes, f"radii within {found.within_mm:g} mm of each other were solved as the least of them"),
    }  # fmt: skip


def _built_row(s: AsBuiltSlot) -> dict[str, Any]:
    change = "-" if s.peak_change is None else signed(f"{100 * s.peak_change:+.1f}")
    verdict = (
        "falls short"
        if s.fell
        else "short as designed already"
        if s.below
        else "-"
        if s.utilisation is None
        else "holds"
    )
    corner = "whole slot" if s.corner is None and s.measured else "as drawn" if s.corner is None else str(s.corner)
    cells = [
        str(s.slot), str(s.row), f"{s.least_mm:.4g}", corner, f"{s.solved_mm:.4g}", "-" if s.peak_MPa is None else signed(f"{s.peak_MPa:.4g}"), change,
        _number(s.utilisation), _number(s.utilisation_designed), _hours(s.life_h, s.utilisation), _hours(s.life_designed_h, s.utilisation_designed),
    ]  # fmt: skip
    return {"cells": cells, "below": s.below, "verdict": verdict}


def _rendered(template: str, **content: Any) -> Markup:
    from jinja2 import Environment, FunctionLoader, StrictUndefined
    from markupsafe import Markup

    home = files(__package__)
    maker = Environment(
        loader=FunctionLoader(lambda name: home.joinpath(name).read_text(encoding="utf-8")), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return Markup(maker.get_template(template).render(**content))


def _stored(pictures: Sequence[Picture], folder: Path) -> list[DrawnFigure]:
    """Charts that lie in a folder already."""
    out = []
    for n, picture in enumerate(pictures, 1):
        path = folder / f"{picture.name}.svg"
        if path.is_file():
            data = base64.b64encode(path.read_bytes()).decode("ascii")
            out.append(DrawnFigure(n, picture.name, picture.caption, f"data:image/svg+xml;base64,{data}"))
    return out


def chapter(results: Results) -> Chapter | None:
    """What was handed over, as a chapter of the study's report; None where `femdrum handover` was not run on these results."""
    try:
        made = handed_over(results)
    except FemdrumError:
        return None
    if made is None:
        return None
    drawn = _stored(handover_pictures(made), results.folder / FOLDER / "figures")
    return Chapter("Hand-over", "handover", _rendered("handover_chapter.html", **_parts(made, drawn)))


def as_built_chapter(results: Results) -> Chapter | None:
    """The drum as built, as a chapter; None where the results are not those of a drum as built."""
    from ..study.as_built_read import read_as_built_result

    found = read_as_built_result(results.folder)
    if found is None:
        return None
    path = results.folder / "figures" / f"{AsBuiltPicture.name}.svg"
    drawn = []
    if path.is_file():
        data = base64.b64encode(path.read_bytes()).decode("ascii")
        drawn = [DrawnFigure(1, AsBuiltPicture.name, "The drum as built.", f"data:image/svg+xml;base64,{data}")]
    return Chapter("As built", "as-built", _rendered("handover_built_parts.html", **_built(found, drawn)))
