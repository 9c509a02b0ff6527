"""The report: one HTML file with everything inside, readable without a network and without scripts."""

from __future__ import annotations

import base64
import datetime
import os
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from ..provenance import common_practice
from ..quantity import Verdict
from ..study import Results, StoredVariant
from ..units import unit_of
from .cautions import CAUTIONS, SHORT, not_checked
from .condition_table import condition_rows, over_all
from .conditions import chosen_variant, condition_names, leading_cases
from .figures import pictures, write_pictures
from .findings import comparison, yielding
from .life_chapter import life_chapter, with_life, without_life
from .lines import lines_of
from .load_table import load_blocks
from .parts import axis_number
from .picture import Picture
from .unit_table import unit_rows
from .words import bare, name_of, percent, plain, signed, variant_name

__all__ = ["write"]

MOST_ROWS = 400  # of the answer's table; further rows stand in results.csv
MOST_OTHER_ROWS = 600

VERDICTS = {
    Verdict.SETTLED: "the true value of the stated model lies within the band, and the band is no wider than asked",
    Verdict.NOT_SETTLED: "value and band hold, but the band is wider than asked",
    Verdict.UNBOUNDED: "a sharp corner: theory has no finite peak there, so no number is given",
    Verdict.FAILED: "no solution; the message says why",
}


@dataclass(frozen=True)
class Shown:
    """A figure in the page: its picture as a data address, or the sentence that stands in its place."""

    number: int
    name: str
    caption: str
    data: str
    sentence: str
    chapter: str = ""


def write(results_dir: str | os.PathLike[str] | Results) -> Path:
    """Draw the figures into `figures/` and write `report.html`; returns its path."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    results = results_dir if isinstance(results_dir, Results) else Results.load(results_dir)
    home = files(__package__)
    maker = Environment(
        loader=FunctionLoader(lambda name: home.joinpath(name).read_text(encoding="utf-8")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    page = maker.get_template("report.html")
    text = page.render(css=home.joinpath("report.css").read_text(encoding="utf-8"), **_content(results))
    path = results.folder / "report.html"
    part = path.with_suffix(".part")
    part.write_text(text, encoding="utf-8")
    part.replace(path)
    return path


def _content(results: Results) -> dict[str, Any]:
    cases = list(dict.fromkeys(a.case for v in results.variants for a in v.answers))
    lines = lines_of(results)
    chosen = list(pictures(results, lines))
    shown = _shown(chosen, write_pictures(results, chosen))
    common, varied = _inputs(results)
    made = datetime.datetime.fromtimestamp((results.folder / "results.json").stat().st_mtime).astimezone()
    answers = [(v, a) for v in results.variants for a in v.answers]
    answers.sort(key=lambda pair: pair[1].case_kind != "condition")  # conditions first
    rows = len(answers)
    together, chosen_one = condition_names(results), chosen_variant(results)
    conditions, life = condition_rows(results), life_chapter(results)
    yields = {case: yielding(results, case) for case in cases}
    return {
        "results": results,
        "made": made.strftime("%d %B %Y, %H:%M %Z"),
        "short": SHORT,
        "cases": cases,
        "leading": leading_cases(results),
        "together": together,
        "over_all": over_all(results),
        "conditions": conditions[:MOST_ROWS],
        "conditions_left": max(0, len(conditions) - MOST_ROWS),
        "blocks": load_blocks(results),
        "units": unit_rows(chosen_one) if chosen_one is not None else [],
        "chosen": "" if chosen_one is None else variant_name(chosen_one),
        "findings": {case: comparison(results, case) for case in cases},
        "yielding": yields if life is None else {case: with_life(told) for case, told in yields.items()},
        "life": life,
        "without_life": without_life(results),
        "columns": [_column(a.column) for a in results.axes],
        "slots": any(a.at is not None and a.at.slot for _, a in answers),
        "answers": [_answer_row(results, v, a) for v, a in answers[:MOST_ROWS]],
        "rows_left": max(0, rows - MOST_ROWS),
        "remarks": [
            (variant_name(v) or "this part", r)
            for v in results.variants
            for r in (*v.remarks, *((v.failure,) if v.failure else ()))
        ][:MOST_ROWS],
        "messages": [
            (variant_name(v) or "this part", a.case, a.message)
            for v, a in answers
            if a.message and a.message != v.failure
        ][:MOST_ROWS],
        "probes": _probes(results)[:MOST_OTHER_ROWS],
        "common": common,
        "varied": varied,
        "nominals": _nominals(results),
        "verdicts": {v.value: text for v, text in VERDICTS.items()},
        "notes": _notes(results),
        "shown": [figure for figure in shown if not figure.chapter],
        "shown_life": [figure for figure in shown if figure.chapter == "life"],
        "comparisons": _comparisons(results)[:MOST_OTHER_ROWS],
        "comparisons_left": max(0, len(_comparisons(results)) - MOST_OTHER_ROWS),
        "fits": _fit_sources(results),
        "materials": _materials(results),
        "ladder": _ladder(results)[:MOST_OTHER_ROWS],
        "ladder_left": max(0, len(_ladder(results)) - MOST_OTHER_ROWS),
        "solvers": sorted({a.solver for _, a in answers if a.solver}),
        "provenance": results.data["provenance"],
        "not_checked": not_checked(life is not None),
        "cautions": CAUTIONS,
        "worst_seconds": max((a.seconds for _, a in answers if a.seconds is not None), default=None),
    }


def _shown(chosen: list[Picture], done: list[tuple[tuple[Path, ...], str]]) -> list[Shown]:
    out = []
    for number, (picture, (paths, sentence)) in enumerate(zip(chosen, done, strict=True), 1):
        data = ""
        for path in paths:
            # fields as PNG: an SVG of them only wraps the same pixels
            wanted = ".png" if picture.name.startswith(("field", "solid")) else ".svg"
            if path.suffix == wanted:
                kind = "image/png" if wanted == ".png" else "image/svg+xml"
                data = f"data:{kind};base64,{base64.b64encode(path.read_bytes()).decode('ascii')}"
        out.append(Shown(number, picture.name, picture.caption, data, sentence, getattr(picture, "chapter", "")))
    return out


def _column(column: str) -> tuple[str, str]:
    """Name and unit of a column of the table."""
    return name_of(column), unit_of(column)


def _answer_row(results: Results, variant: StoredVariant, answer: Any) -> dict[str, Any]:
    at = answer.at
    return {
        "axes": [_axis_cell(variant, a.column) for a in results.axes],
        "case": answer.case,
        "peak": bare(answer.peak) if answer.peak.value is not None else "no number",
        "kt_gross": bare(answer.kt_gross) if answer.kt_gross.value is not None else "",
        "kt_net": bare(answer.kt_net) if answer.kt_net.value is not None else "",
        "tension": bare(answer.tension) if answer.tension.value is not None else "",
        "compression": bare(answer.compression) if answer.compression.value is not None else "",
        "place": [] if at is None else [_place(at.x_mm), _place(at.y_mm), _place(at.depth_mm)],
        "slot": "" if at is None else str(at.slot),
        "verdict": answer.verdict.value,
    }


def _axis_cell(variant: StoredVariant, column: str) -> str:
    """A value of an axis; a full round with its radius."""
    value = variant.axes.get(column)
    if value == "full" and (radius := axis_number(variant, column)) is not None:
        return f"full ({radius:g})"
    return "" if value is None else plain(value)


def _place(value: float) -> str:
    return signed(f"{value if abs(value) >= 0.05 else 0.0:.1f}")


def _flat(inputs: dict[str, Any]) -> dict[str, Any]:
    """Inputs as `part.cutout.around_mm` -> value; loads by their name."""
    out: dict[str, Any] = {}

    def walk(prefix: str, value: Any) -> None:
        if prefix.startswith("condition.") and prefix.endswith(".loads"):
            out[prefix] = ", ".join(f"{load} {plain(share)}" for load, share in value.items())
        elif isinstance(value, dict):
            for key, inner in value.items():
                if key == "kind" and prefix.partition(".")[0] in ("condition", "machine"):
                    continue  # says the table's own name
                walk(f"{prefix}.{key}" if prefix else key, inner)
        elif isinstance(value, list) and value and all(isinstance(v, dict) for v in value):
            for n, inner in enumerate(value, 1):
                walk(f"{prefix}.{inner.get('name', n)}", {k: v for k, v in inner.items() if k != "name"})
        else:
            out[prefix] = value

    walk("", inputs)
    return out


def _inputs(results: Results) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """Inputs that all variants share, and the ones that differ, each with its unit."""
    flats = [_flat(v.inputs) for v in results.variants]
    keys = list(dict.fromkeys(key for flat in flats for key in flat))
    common, varied = [], []
    for key in keys:
        if key.startswith("material.provenance"):
            continue
        values = list(dict.fromkeys(plain(flat[key]) if key in flat else "-" for flat in flats))
        *where, last = key.split(".")
        entry = {
            "where": ", ".join(where).replace("_", " "),
            "what": name_of(last),
            "value": values[0],
            "unit": unit_of(last),
            "key": key,
        }
        if len(values) == 1:
            common.append(entry)
        else:
            text = ", ".join(values[:12]) + (f" and {len(values) - 12} more" if len(values) > 12 else "")
            varied.append({**entry, "value": text})
    return common, varied


def _nominals(results: Results) -> list[dict[str, str]]:
    """Each load's nominal, gross and net, with its values."""
    out: dict[tuple[str, str, str], list[float]] = {}
    for variant in results.variants:
        for answer in variant.answers:
            nominal = answer.nominal
            if nominal.definition:
                key = (
                    "every condition" if answer.case_kind == "condition" else answer.case,
                    nominal.definition,
                    nominal.net_definition if nominal.net_fraction is not None else "",
                )
                out.setdefault(key, [])
                if nominal.gross_MPa is not None:
                    out[key].append(nominal.gross_MPa)
    rows = []
    for (case, gross, net), values in out.items():
        low, high = (min(values), max(values)) if values else (0.0, 0.0)
        value = (
            ""
            if not values
            else signed(f"{low:.4g}")
            if low == high
            else f"{signed(f'{low:.4g}')} to {signed(f'{high:.4g}')}"
        )
        rows.append(
            {
                "case": case,
                "gross": gross,
                "net": net or "not defined for this load and part: no net Kt is given",
                "value": value,
            }
        )
    return rows


def _notes(results: Results) -> list[tuple[str, str]]:
    """Each note of the model once, with the loads it is about where not all share it."""
    found: dict[str, list[str]] = {}
    cases = {a.case for v in results.variants for a in v.answers if a.notes}
    for variant in results.variants:
        for answer in variant.answers:
            for note in answer.notes:
                about = found.setdefault(note, [])
                if answer.case not in about:
                    about.append(answer.case)
    parts = {a.case: {s.load for s in a.shares} for v in results.variants for a in v.answers}
    # a condition repeats what is said of its loads
    return [
        (note, "" if set(about) == cases else ", ".join(a for a in about if not parts[a] & set(about)))
        for note, about in found.items()
    ]


def _comparisons(results: Results) -> list[dict[str, Any]]:
    rows = []
    for variant in results.variants:
        for answer in variant.answers:
            for c in answer.comparisons:
                inside = ""
                if c.ours is not None and c.band is not None and c.value is not None:
                    inside = "yes" if abs(c.ours - c.value) <= c.band else "no"
                relative = c.band / abs(c.ours) if c.band and c.ours else None
                rows.append(
                    {
                        "variant": variant_name(variant) or "this part",
                        "case": answer.case,
                        "quantity": c.quantity,
                        "ours": bare(answer.kt_gross)
                        if answer.kt_gross.value is not None and c.ours == answer.kt_gross.value
                        else ""
                        if c.ours is None
                        else f"{c.ours:.4g}",
                        "theirs": "refused" if c.value is None else f"{c.value:.4f}",
                        "difference": percent(c.difference, relative).removesuffix(" %"),
                        "inside": inside,
                        "note": c.note,
                        "source": c.source,
                    }
                )
    return rows


def _probes(results: Results) -> list[dict[str, Any]]:
    """Stress at the probes of a mesh from a file."""
    return [
        {
            "variant": variant_name(variant) or "this part",
            "case": answer.case,
            "name": probe.name,
            "place": [_place(probe.x_mm), _place(probe.y_mm), _place(probe.z_mm)],
            "values": [bare(getattr(probe, what)) for what in ("xx", "yy", "zz", "xy", "yz", "xz", "principal")],
            "verdict": probe.principal.verdict.value,
        }
        for variant in results.variants
        for answer in variant.answers
        for probe in getattr(answer, "probes", ())
    ]


def _fit_sources(results: Results) -> list[tuple[str, str, int]]:
    """Every comparison's source in full, once, with a number to refer to."""
    sources: dict[tuple[str, str], int] = {}
    for row in _comparisons(results):
        sources.setdefault((row["quantity"], row["source"]), len(sources) + 1)
    return [(quantity, source, number) for (quantity, source), number in sources.items()]


def _materials(results: Results) -> list[dict[str, str]]:
    """Material values with where each comes from."""
    rows: dict[tuple[str, ...], dict[str, str]] = {}
    for variant in results.variants:
        material = variant.inputs["material"]
        grade = material.get("grade", "")
        source = material.get("provenance", "")
        for key, value in material.items():
            if key in ("grade", "provenance"):
                continue
            if not grade:
                origin = source or "as given in the study file; no source stated"
            elif key in ("yield_MPa", "ultimate_MPa"):
                origin = f"minimum of the grade; {source}"
            else:
                origin = str(common_practice("elastic constants and density of structural steel"))
            row = {"what": name_of(key), "value": plain(value), "unit": unit_of(key), "grade": grade, "origin": origin}
            rows.setdefault(tuple(row.values()), row)
    return list(rows.values())


def _ladder(results: Results) -> list[dict[str, str]]:
    rows = []
    for variant in results.variants:
        for answer in variant.answers:
            for step in answer.ladder:
                final = answer.peak.value
                change = None if final is None or step.peak_MPa is None or final == 0 else step.peak_MPa / final - 1
                rows.append(
                    {
                        "variant": variant_name(variant) or "this part",
                        "case": answer.case,
                        "level": str(step.level),
                        "order": str(step.order),
                        "cells": str(step.cells_per_arc),
                        "unknowns": f"{step.unknowns:,}",
                        "peak": "" if step.peak_MPa is None else signed(f"{step.peak_MPa:.5g}"),
                        "change": percent(change).removesuffix(" %") if change else ("0" if change == 0 else ""),
                        "seconds": f"{step.seconds:.2g}",
                    }
                )
    return rows
