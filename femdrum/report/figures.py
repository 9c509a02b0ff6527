"""All figures of a results folder: their names, the choice for the report, and how they are written."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from ..errors import MISSING, Fault, FileFault, InputFault, nearest
from ..study import Results, StoredVariant
from ..study.rest_stage import REST_FOLDER
from .conditions import chosen_variant, leading_cases, perimeter_picture, shares_picture, unit_picture, worst_conditions
from .difference_picture import DifferencePicture
from .draw_model import model_pictures
from .edge_picture import EdgePicture
from .field_picture import FieldPicture
from .figure_list import KINDS, kind_entries, options_of, short_caption
from .kt_picture import KtPicture
from .ladder_picture import LadderPicture
from .life_figures import life_figures
from .lines import Lines, lines_of
from .on_axes import (
    crack,
    damage,
    drum_map,
    edge_stress,
    field,
    haigh,
    kt_difference,
    kt_over_axis,
    ladder,
    life,
    perimeter,
    sensitivity,
    shares,
    sn,
    solid,
    units,
)  # fmt: skip
from .picture import NoData, Picture, UnknownName
from .print_look import print_look
from .solid_picture import SolidPicture, prepare

__all__ = [
    "KINDS", "crack", "damage", "describe", "draw", "draw_for_print", "drum_map", "edge_stress", "field", "haigh", "kt_difference", "kt_over_axis", "ladder", "life",
    "list_figures", "named", "perimeter", "pictures", "sensitivity", "shares", "shown_variants", "sn", "solid", "units", "write_pictures",
]  # fmt: skip

ALL_SHOWN = 6  # up to so many variants times loads each get their own figures; of more, the extreme ones
NOT_DRAWN = "not_drawn.txt"
PRINT = "print"  # folder in figures/
ENDINGS = (".svg", ".pdf", ".png", ".csv")


def draw(
    results_dir: str | os.PathLike[str] | Results,
    name: str | None = None,
    path: str | os.PathLike[str] | None = None,
    *,
    preset: str | None = None,
    size_mm: tuple[float | None, float | None] | None = None,
    font_pt: float | None = None,
    x_limits: Sequence[float] | None = None,
    y_limits: Sequence[float] | None = None,
    number_format: str = "",
    decimal_comma: bool = False,
    grey: bool = False,
    **options: Any,
) -> list[Path]:
    """Draw one figure of a results folder, or all that the report shows; returns the files written.

    name: one of `list_figures`, or a kind (kt, difference, edge, field, solid, ladder, shares, units, perimeter; of life: life, map, sn,
    haigh, damage, crack, sensitivity) with options such as case="running", variant=2. path: file to write, its ending says
    the format (.svg, .pdf, .png, or .csv for the data); without it PNG, SVG and the data as CSV go into `figures/`, or, where the look is
    not the report's, SVG, PDF, PNG and CSV into `figures/print/`.

    How it is set: preset (one-column, two-column, report, slide), size_mm (width, height; None for what the figure needs),
    font_pt, limits of the axes in their units, number_format (`.2f`, or `x=.0f,y=.2f`), decimal_comma, grey.
    Raises InputFault for a name or a size that will not do, NoData where the study stores nothing for the kind, and MissingPart where a
    solid cannot be drawn on this machine.
    """
    results = _results(results_dir)
    look = print_look(
        preset, size_mm=size_mm, font_pt=font_pt, x_limits=x_limits, y_limits=y_limits, number_format=number_format,
        decimal_comma=decimal_comma, grey=grey,
    )  # fmt: skip
    if name is None:
        if path is not None or any(v is not None for v in options.values()):
            raise InputFault(Fault("name", MISSING, "a file or an option is for one figure", "name the figure"))
        if look.as_in_report:
            done = write_pictures(results, list(pictures(results)))
            return [file for files, _ in done for file in files]
        return [file for picture in pictures(results) for file in picture.save(_for_print(results, picture), look)]
    picture = _named(results, name, options)
    if path is not None:
        return picture.save([_checked(Path(path))], look)
    if look.as_in_report:
        return list(picture.write(_folder(results)))
    return picture.save(_for_print(results, picture), look)


def draw_for_print(
    results: Results, name: str | None, paths: Sequence[Path], options: dict[str, Any], **how: Any
) -> list[Path]:
    """One figure into these files, its data as CSV beside the first; without files as `draw`, whose `how` it takes."""
    if not paths:
        return draw(results, name, **how, **options)
    look = print_look(how.pop("preset", None), **how)
    if name is None:
        raise InputFault(Fault("name", MISSING, "a file holds one figure", "name the figure; --list tells the names"))
    every = [_checked(path) for path in paths]
    data = every[0].with_suffix(".csv")
    return _named(results, name, options).save([*every, *([] if data in every else [data])], look)


def _for_print(results: Results, picture: Picture) -> list[Path]:
    folder = _folder(results) / PRINT
    folder.mkdir(exist_ok=True)
    return [folder / f"{picture.name}.{ending}" for ending in ("svg", "pdf", "png", "csv")]


def _checked(path: Path) -> Path:
    if path.suffix.lower() not in ENDINGS:
        raise InputFault(Fault("out", str(path), f"must end in {', '.join(ENDINGS)}", nearest(path.suffix, ENDINGS)))
    if not path.parent.is_dir():
        raise FileFault(Fault("out", str(path), f"there is no folder {path.parent}", "make it first"))
    return path


def list_figures(results_dir: str | os.PathLike[str] | Results) -> list[str]:
    """Names of the figures that the report of this folder shows."""
    return [picture.name for picture in pictures(_results(results_dir))]


def describe(results_dir: str | os.PathLike[str] | Results) -> dict[str, Any]:
    """What can be drawn: `figures`, those of the report with the beginning of their captions, and `kinds` with their options."""
    results = _results(results_dir)
    return {
        "figures": [{"name": p.name, "caption": short_caption(p)} for p in pictures(results)],
        "kinds": [{"kind": e.kind, "words": e.words, "options": {k: list(v) for k, v in e.options.items()}} for e in kind_entries(results)],
    }  # fmt: skip


def pictures(results: Results, lines: Lines | None = None) -> Iterator[Picture]:
    """What the report shows, in its order. Figures that a study has no data for are left out.

    Where loads act together in conditions, those are drawn; single loads are at hand by their kind and name. Where a life is asked
    its figures come first.
    """
    lines = lines or lines_of(results)
    yield from model_pictures(results)
    for kind, args in life_figures(results, lines):
        yield from _if_any(kind, *args)
    cases = leading_cases(results)
    chosen = chosen_variant(results)
    if chosen is not None:
        yield from _if_any(shares_picture, results, chosen)
    for case in cases:
        if len(results.variants) > 1:
            yield from _if_any(KtPicture, results, case, None, lines)
            if _has_exact(lines, case):
                yield from _if_any(DifferencePicture, results, case, None, lines)
    if chosen is not None:
        yield from _if_any(unit_picture, results, chosen)
    for case in worst_conditions(chosen) if chosen is not None else ():
        yield from _if_any(perimeter_picture, results, chosen, case)
    for case in cases:
        for variant in shown_variants(results, case):
            yield from _if_any(EdgePicture, results, variant, case)
            yield from _if_any(FieldPicture, results, variant, case)
            yield from _if_any(SolidPicture, results, variant, case)
    for case in cases:
        yield from _if_any(LadderPicture, results, case)
    if (results.folder / REST_FOLDER).is_dir():
        from .whole_drum_chapter import rest_pictures  # late: reckons rotor, retention and balance

        yield from rest_pictures(results)


def _if_any(kind: Callable[..., Picture], *args: Any) -> Iterator[Picture]:
    try:
        picture = kind(*args)
    except NoData:
        return
    yield picture


def _has_exact(lines: Lines, case: str) -> bool:
    """True for plates along a numeric axis, where the exact solution is the truth for the points."""
    kinds = {line.variants[0].inputs["part"]["kind"] for line in lines.lines}
    numbers = any(
        a.case == case and a.kt_gross.value is not None
        for line in lines.lines
        for v in line.variants
        for a in v.answers
    )
    return lines.is_number and not lines.together and kinds <= {"plate", "plate_row"} and numbers


def shown_variants(results: Results, case: str) -> list[StoredVariant]:
    """Variants whose stress is drawn: all of a small study, else those of the lowest and the highest peak."""
    found = [
        (abs(float(a.peak)), n, v)
        for n, v in enumerate(results.variants)
        for a in v.answers
        if a.case == case and a.peak.value is not None
    ]
    total = sum(len(v.answers) for v in results.variants)
    if total <= ALL_SHOWN or len(found) <= 2:
        return [v for _, _, v in found]
    return [min(found)[2], max(found)[2]]


def write_pictures(results: Results, chosen: list[Picture]) -> list[tuple[tuple[Path, ...], str]]:
    """Write pictures into `figures/`: for each its files, or none and the reason in a sentence. Solids share one child process."""
    from ..errors import MissingPart

    folder = _folder(results)
    solids = [p for p in chosen if isinstance(p, SolidPicture)]
    found: dict[int, tuple[tuple[Path, ...], str]] = {}

    def write(wanted: Iterable[Picture]) -> None:
        for picture in wanted:
            try:
                found[id(picture)] = picture.write(folder), ""
            except MissingPart as reason:
                found[id(picture)] = (), str(reason)

    # the child renders while this process draws
    with ThreadPoolExecutor(1) as beside:
        rendered = beside.submit(prepare, solids)
        write(p for p in chosen if not isinstance(p, SolidPicture))
        rendered.result()
    write(solids)
    done = [found[id(picture)] for picture in chosen]
    sentences = [reason for _, reason in done if reason]
    note = folder / NOT_DRAWN
    if sentences:
        note.write_text("\n".join(sentences) + "\n", encoding="utf-8")
    else:
        note.unlink(missing_ok=True)
    return done


def named(results: Results, name: str, **options: Any) -> Picture:
    """The picture of this name: a kind with its options, or one of the report's. Raises UnknownName, NoData."""
    return _named(results, name, options)


def _named(results: Results, name: str, options: dict[str, Any]) -> Picture:
    options = {key: value for key, value in options.items() if value is not None}
    if name in KINDS:
        known = options_of(name)
        wrong = [
            Fault(key, value, f"the figure {name} has no such option; it has: {', '.join(known) or 'none'}", "leave it out")
            for key, value in options.items() if key not in known
        ]  # fmt: skip
        if wrong:
            raise InputFault(wrong)
        return KINDS[name](results, **options)
    if options:
        key, value = next(iter(options.items()))
        raise InputFault(
            Fault(
                key,
                value,
                f"{name} is one figure of the report and takes no option",
                f"name its kind: {', '.join(KINDS)}",
            )
        )
    names = []
    for picture in pictures(results):
        names.append(picture.name)
        if picture.name == name:
            return picture
    raise UnknownName("figure", name, [*(e.kind for e in kind_entries(results)), *names])


def _folder(results: Results) -> Path:
    folder = results.folder / "figures"
    folder.mkdir(exist_ok=True)
    return folder


def _results(where: str | os.PathLike[str] | Results) -> Results:
    return where if isinstance(where, Results) else Results.load(where)
