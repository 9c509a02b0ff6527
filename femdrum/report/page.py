"""The report: one HTML file with everything inside, readable without a network, and without scripts but for what moves."""

from __future__ import annotations

import datetime
import os
from importlib.resources import files
from pathlib import Path
from typing import Any

from ..quantity import Verdict
from ..study import Results
from .cautions import CAUTIONS, SHORT, not_checked
from .condition_table import condition_rows, over_all
from .conditions import chosen_variant, condition_names, leading_cases
from .figures import pictures, write_pictures
from .findings import comparison, yielding
from .life_chapter import life_chapter, with_life, without_life
from .lines import lines_of
from .load_table import load_blocks
from .page_chapters import chapters, try_section
from .page_first import first_page
from .page_shown import Shown, shown_figures
from .page_solid import turned
from .page_tables import (
    answer_row,
    column,
    comparison_rows,
    fit_sources,
    inputs,
    ladder_rows,
    material_rows,
    nominal_rows,
    notes,
    probe_rows,
)
from .unit_table import unit_rows
from .words import variant_name

__all__ = ["Shown", "report_content", "report_text", "write"]

MOST_ROWS = 400  # of the answer's table; further rows stand in results.csv
MOST_OTHER_ROWS = 600

VERDICTS = {
    Verdict.SETTLED: "the true value of the stated model lies within the band, and the band is no wider than asked",
    Verdict.NOT_SETTLED: "value and band hold, but the band is wider than asked",
    Verdict.UNBOUNDED: "a sharp corner: theory has no finite peak there, so no number is given",
    Verdict.FAILED: "no solution; the message says why",
}


def write(results_dir: str | os.PathLike[str] | Results, *, pdf: bool = False) -> Path:
    """Draw the figures into `figures/` and write `report.html`; returns its path. pdf: then the same as `report.pdf` too.

    Raises MissingPart where a PDF is asked and the extra `pdf` is not installed; the page is written by then.
    """
    results = results_dir if isinstance(results_dir, Results) else Results.load(results_dir)
    content = report_content(results)
    path = results.folder / "report.html"
    part = path.with_suffix(".part")
    part.write_text(report_text(content), encoding="utf-8")
    part.replace(path)
    if pdf:
        from .page_pdf import set_pages

        set_pages(report_text(content, paper=True), results.folder / "report.pdf")
    return path


def report_text(content: dict[str, Any], *, paper: bool = False) -> str:
    """The page as text. paper: without scripts, and without what only they can show."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    home = files(__package__)

    def read(name: str) -> str:
        return home.joinpath(name).read_text(encoding="utf-8")

    maker = Environment(
        loader=FunctionLoader(read), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )  # fmt: skip
    moving = {"try_value": None, "turned": None, "scripts": ""} if paper else {"scripts": read("report.js")}
    return maker.get_template("report.html").render(**{**content, **moving, "css": read("report.css"), "paper": paper})


def report_content(results: Results) -> dict[str, Any]:
    """What the page says, its figures drawn anew into `figures/`."""
    cases = list(dict.fromkeys(a.case for v in results.variants for a in v.answers))
    lines = lines_of(results)
    chosen = list(pictures(results, lines))
    shown = shown_figures(chosen, write_pictures(results, chosen))
    first = first_page(results)
    common, varied = inputs(results)
    made = datetime.datetime.fromtimestamp((results.folder / "results.json").stat().st_mtime).astimezone()
    answers = [(v, a) for v in results.variants for a in v.answers]
    answers.sort(key=lambda pair: pair[1].case_kind != "condition")  # conditions first
    rows = len(answers)
    together, chosen_one = condition_names(results), chosen_variant(results)
    conditions, life = condition_rows(results), life_chapter(results)
    yields = {case: yielding(results, case) for case in cases}
    best = next((v for v in results.variants if v.key == first.key), None) if first.key else None
    worst = next((row.case for row in first.rows if row.chosen), "")
    compared, ladder = comparison_rows(results), ladder_rows(results)
    return {
        "results": results,
        "first": first,
        "try_value": try_section(results),
        "turned": turned(results, best, worst),
        "chapters": chapters(results, shown),
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
        "columns": [column(a.column) for a in results.axes],
        "slots": any(a.at is not None and a.at.slot for _, a in answers),
        "answers": [answer_row(results, v, a) for v, a in answers[:MOST_ROWS]],
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
        "probes": probe_rows(results)[:MOST_OTHER_ROWS],
        "common": common,
        "varied": varied,
        "nominals": nominal_rows(results),
        "verdicts": {v.value: text for v, text in VERDICTS.items()},
        "notes": notes(results),
        "shown": [figure for figure in shown if not figure.chapter],
        "shown_life": [figure for figure in shown if figure.chapter == "life"],
        "comparisons": compared[:MOST_OTHER_ROWS],
        "comparisons_left": max(0, len(compared) - MOST_OTHER_ROWS),
        "fits": fit_sources(results),
        "materials": material_rows(results),
        "ladder": ladder[:MOST_OTHER_ROWS],
        "ladder_left": max(0, len(ladder) - MOST_OTHER_ROWS),
        "solvers": sorted({a.solver for _, a in answers if a.solver}),
        "provenance": results.data["provenance"],
        "not_checked": not_checked(life is not None),
        "cautions": CAUTIONS,
        "worst_seconds": max((a.seconds for _, a in answers if a.seconds is not None), default=None),
    }
