"""All figures of a results folder: their names, the choice for the report, and how they are written."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..study import Results, StoredVariant
from .conditions import chosen_variant, leading_cases, perimeter_picture, shares_picture, unit_picture, worst_conditions
from .difference_picture import DifferencePicture
from .edge_picture import EdgePicture
from .field_picture import FieldPicture
from .kt_picture import KtPicture
from .ladder_picture import LadderPicture
from .life_figures import LIFE_KINDS, life_figures
from .lines import Lines, lines_of
from .picture import NoData, Picture
from .solid_picture import SolidPicture, prepare

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "draw", "edge_stress", "field", "kt_difference", "kt_over_axis", "ladder", "list_figures", "pictures", "shown_variants",
    "solid", "write_pictures",
]  # fmt: skip

KINDS: dict[str, Callable[..., Picture]] = {
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
ALL_SHOWN = 6  # up to so many variants times loads each get their own figures; of more, the extreme ones
NOT_DRAWN = "not_drawn.txt"


def draw(
    results_dir: str | os.PathLike[str] | Results,
    name: str | None = None,
    path: str | os.PathLike[str] | None = None,
    **options: Any,
) -> list[Path]:
    """Draw one figure of a results folder, or all that the report shows; returns the files written.

    name: one of `list_figures`, or a kind (kt, difference, edge, field, solid, ladder, shares, units, perimeter; of life: life, sn,
    haigh, damage, crack, sensitivity) with options such as case="running", variant=2. path: file to write, its ending says
    the format; without it PNG, SVG and the data as CSV go into `figures/`. Raises MissingPart where a solid cannot be drawn on this machine.
    """
    results = _results(results_dir)
    if name is None:
        done = write_pictures(results, list(pictures(results)))
        return [file for files, _ in done for file in files]
    picture = _named(results, name, options)
    if path is None:
        return list(picture.write(_folder(results)))
    from .style import save

    return [save(picture.draw().figure, Path(path))]  # type: ignore[arg-type]


def list_figures(results_dir: str | os.PathLike[str] | Results) -> list[str]:
    """Names of the figures that the report of this folder shows."""
    return [picture.name for picture in pictures(_results(results_dir))]


def kt_over_axis(results: Results, case: str | None = None, axis: str | None = None, ax: Axes | None = None) -> Axes:
    """Kt over an axis of the study, with bands, exact plane curve and published fits."""
    return KtPicture(results, case, axis).draw(ax)


def kt_difference(results: Results, case: str | None = None, axis: str | None = None, ax: Axes | None = None) -> Axes:
    """Differences from the exact plane solution in per cent (plates)."""
    return DifferencePicture(results, case, axis).draw(ax)


def edge_stress(
    results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None, component: str = "along",
    ax: Axes | None = None,
) -> Axes:  # fmt: skip
    """Stress along the slot's edge; component: along, principal, across or shear."""
    return EdgePicture(results, variant, case, component).draw(ax)


def field(
    results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None, quantity: str = "principal",
    ax: Axes | None = None,
) -> Axes:  # fmt: skip
    """The plane field around a cutout; quantity: principal or von_mises."""
    return FieldPicture(results, variant, case, quantity).draw(ax)


def solid(
    results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None, quantity: str = "principal",
    ax: Axes | None = None,
) -> Axes:  # fmt: skip
    """The ring's field in space, from outside and from the bore."""
    return SolidPicture(results, variant, case, quantity).draw(ax)


def ladder(
    results: Results, case: str | None = None, variant: StoredVariant | str | int | None = None, ax: Axes | None = None
) -> Axes:
    """The peak on every mesh of the ladder."""
    return LadderPicture(results, case, variant).draw(ax)


def pictures(results: Results, lines: Lines | None = None) -> Iterator[Picture]:
    """What the report shows, in its order. Figures that a study has no data for are left out.

    Where loads act together in conditions, those are drawn; single loads are at hand by their kind and name. Where a life is asked
    its figures come first.
    """
    lines = lines or lines_of(results)
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


def _named(results: Results, name: str, options: dict[str, Any]) -> Picture:
    if name in KINDS:
        return KINDS[name](results, **options)
    for picture in pictures(results):
        if picture.name == name:
            return picture
    raise KeyError(f"no figure {name!r}; known: {', '.join([*KINDS, *list_figures(results)])}")


def _folder(results: Results) -> Path:
    folder = results.folder / "figures"
    folder.mkdir(exist_ok=True)
    return folder


def _results(where: str | os.PathLike[str] | Results) -> Results:
    return where if isinstance(where, Results) else Results.load(where)
