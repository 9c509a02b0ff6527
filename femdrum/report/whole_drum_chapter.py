"""Chapters of a study's report for the rest of the drum: rotor, retention and balance, from the files that the study names."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..assess.whole_drum_result import WholeDrum
from ..errors import FemdrumError
from ..figure import Figure
from ..provenance import Kind, Provenance
from ..study import Results, StoredVariant
from ..study.rest_stage import REST_FOLDER, StoredRest, stored_rest
from ..study.work import versions
from .page_chapters import Chapter
from .picture import Picture
from .words import variant_name

if TYPE_CHECKING:
    from .page_shown import Shown

__all__ = ["rest_chapters", "rest_pictures"]

TITLES = {"rotor": "Rotor", "retention": "Retention", "balance": "Balance"}
COMMANDS = "femdrum {part} {file}"
# a mass that the study states by itself may differ by this share before it is told
SAME_MASS = 0.1
MOST_NAMES = 6
HELD = "how hammers, wedges and bolts are held"
_DRAWN = ("outer_diameter_mm", "wall_mm", "pitch_mm", "slots_around")


def rest_pictures(results: Results) -> Iterator[Picture]:
    """Figures of the chapters, each with the name of its chapter; a part without an answer has none."""
    for part, make in _PICTURES.items():
        got = _answer(results, part)
        if isinstance(got, str) or got is None:
            continue
        for picture in make(got):
            picture.name = f"{part}-{picture.name}"
            setattr(picture, "chapter", part)  # noqa: B010
            yield picture


def rest_chapters(results: Results, shown: Sequence[Shown] = ()) -> list[Chapter]:
    """The chapters of the parts that the study names, in order. shown: the report's figures, of which each chapter takes its own."""
    rest = _rest(results.folder)
    if rest is None:
        return []
    out = []
    for part in TITLES:
        if part not in rest.files:
            continue
        figures = [figure for figure in shown if figure.chapter == part]
        out.append(_chapter(results, rest, part, figures))
    return out


def _rest(folder: Path) -> StoredRest | None:
    mark = folder / REST_FOLDER / "rest_of_drum.json"
    return _read(folder, mark.stat().st_mtime_ns) if mark.is_file() else None


@lru_cache(maxsize=2)
def _read(folder: Path, _stamp: int) -> StoredRest | None:
    return stored_rest(folder)


def _answer(results: Results, part: str) -> Any:
    """Sheet and answer of a part, None where the study names none, or the reason why there is no answer."""
    rest = _rest(results.folder)
    if rest is None or part not in rest.files:
        return None
    if part in rest.failures:
        return rest.failures[part]
    try:
        return getattr(rest, part)
    except FemdrumError as error:
        return " ".join(str(error).split())


def _pictures_of(kind: str) -> Callable[[Any], Iterator[Picture]]:
    def make(got: Any) -> Iterator[Picture]:
        from .balance_page import balance_pictures
        from .retention_page import retention_pictures
        from .rotor_page import rotor_pictures

        makers: dict[str, Callable[[Any], Any]] = {
            "rotor": rotor_pictures, "retention": retention_pictures, "balance": balance_pictures,
        }  # fmt: skip
        yield from makers[kind](got[1])

    return make


_PICTURES = {part: _pictures_of(part) for part in TITLES}


def _chapter(results: Results, rest: StoredRest, part: str, figures: Sequence[Shown]) -> Chapter:
    got = _answer(results, part)
    file, title = rest.files[part], TITLES[part]
    about = [
        f"Of the file {file}, stored in {REST_FOLDER}/{part}/ with its tables; it also runs alone: {COMMANDS.format(part=part, file=file)}."
    ]
    if rest.version != versions()["femdrum"]:
        about.append(f"The tables were written by femdrum {rest.version}, this chapter by {versions()['femdrum']}.")
    frame: dict[str, Any] = {
        "title": title, "anchor": part, "about": about, "shown": figures, "level": "h3", "pre": f"{part}-", "numbers": f"{REST_FOLDER}/{part}/{part}.json",
    }  # fmt: skip
    if isinstance(got, str):
        return _made("lost_chapter.html", frame | {"lead": f"No answer: {got}"})
    sheet, answer = got
    if part == "rotor":
        from .rotor_page import rotor_content

        about += _which(results, answer)
        warnings = [*answer.warnings, *_masses(results, answer)]
        numbers = [*answer.figures, *(f for state in answer.states for f in state.figures)]
        content = rotor_content(sheet, answer) | frame | {"warnings": warnings, "sources": _sources(numbers)}
        if "retention" in rest.files:  # has its own chapter
            content["not_checked"] = [text for text in content["not_checked"] if not text.startswith(HELD)]
        return _made("rotor_chapter.html", content)
    if part == "retention":
        from .retention_page import retention_content

        content = retention_content(answer)
    else:
        from .balance_page import balance_content

        content = balance_content(answer)
        content["warnings"] = [*content["warnings"], *_balanced(results, answer)]
    numbers = [f for _, group in answer.figures for f in group]
    return _made(
        "sheet_chapter.html", content | frame | {"sections": f"{part}_sections.html", "sources": _sources(numbers)}
    )


def _sources(numbers: Sequence[Figure]) -> list[dict[str, Any]]:
    """Each source once, what is recalled first, with the numbers that rest on it."""
    found: dict[Provenance, list[str]] = {}
    for figure in numbers:
        found.setdefault(figure.provenance, []).append(figure.what)
    rows = []
    for source, names in found.items():
        once = list(dict.fromkeys(name.rpartition(": ")[2] for name in names))
        more = f" and {len(once) - MOST_NAMES} more" if len(once) > MOST_NAMES else ""
        rows.append(
            {"source": str(source), "recalled": source.kind is Kind.MEMORY, "what": "; ".join(once[:MOST_NAMES]) + more}
        )
    return sorted(rows, key=lambda row: not row["recalled"])


def _made(template: str, content: Mapping[str, Any]) -> Chapter:
    from jinja2 import Environment, FunctionLoader, StrictUndefined
    from markupsafe import Markup

    home = files(__package__)
    maker = Environment(
        loader=FunctionLoader(lambda name: home.joinpath(name).read_text(encoding="utf-8")), autoescape=True,
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return Chapter(content["title"], content["anchor"], Markup(maker.get_template(template).render(**content)))


def _which(results: Results, got: WholeDrum) -> list[str]:
    """Which of the study's variants is the drum of the rotor file."""
    if len(results.variants) < 2:
        return []
    names = [variant_name(v) for v in results.variants if _is(v, got)]
    if not names:
        return ["None of the variants is in all dimensions the drum of this file; the chapter is of the file's drum."]
    return [
        f"The drum of this file is the variant {' or '.join(names)}; for the others masses and stresses of the rotor differ a little."
    ]


def _is(variant: StoredVariant, got: WholeDrum) -> bool:
    part, drum = variant.inputs["part"], got.drum
    slot = part.get("cutout", {})
    pairs = [(part.get(name), getattr(drum, name)) for name in _DRAWN]
    radius = slot.get("corner_radius_mm")
    pairs += [(slot.get("around_mm"), 2 * drum.cutout.half_x_mm), (slot.get("axial_mm"), 2 * drum.cutout.half_y_mm)]
    if isinstance(radius, (int, float)):
        pairs.append((radius, drum.cutout.least_radius_mm))
    return all(a is None or abs(a - b) <= 1e-6 * abs(b) for a, b in pairs)


def _masses(results: Results, got: WholeDrum) -> list[str]:
    """Masses that the study states by itself and that are not the drum's."""
    machine = results.variants[0].inputs.get("machine", {}) if len(results.variants) else {}
    out = []
    for name, unit, own in (
        ("rotor_mass_kg", "kg", got.masses.mass_kg),
        ("inertia_kg_m2", "kg·m²", got.masses.polar_kg_m2),
    ):
        said = machine.get(name)
        if said is not None and abs(said / own - 1) > SAME_MASS:
            out.append(
                f"The study's loads are reckoned with machine.{name} = {said:g} {unit}; the drum of this file has {own:.4g} {unit}."
            )
    return out


def _balanced(results: Results, answer: Any) -> list[str]:
    """The mass that is balanced beside the mass of the rotor's file."""
    rotor = _answer(results, "rotor")
    if rotor is None or isinstance(rotor, str) or answer.record is None or not answer.record.seats:
        return []
    own, said = rotor[1].masses.mass_kg, answer.given.rotor_mass_kg
    if abs(said / own - 1) <= SAME_MASS:
        return []
    return [
        f"Balanced with rotor_mass_kg = {said:g}; the drum of the rotor's file weighs {own:.4g} kg with its hammers."
    ]
