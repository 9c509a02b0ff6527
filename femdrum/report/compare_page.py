"""The page of a comparison: one HTML file with tables and pictures inside, that opens offline."""

from __future__ import annotations

import base64
import io
from pathlib import Path
from typing import Any

from ..assess.life_words import hours
from ..study.compare_results import SAME, CaseRow, SideBySide
from ..study.compare_words import answer_sentences, at_text, input_rows, pair_words, short_keys
from ..units import label
from . import style
from .compare_picture import ComparePicture, compare_pictures
from .sheet_page import DrawnFigure, render_page
from .words import bare, plain, signed

__all__ = ["write_compare_page"]

MOST_ROWS = 400
_NAMES = {"peak_MPa": "peak stress, MPa", "kt_gross": "Kt gross", "kt_net": "Kt net"}


def write_compare_page(found: SideBySide, path: Path) -> Path:
    """Write the page, whole or not at all; returns its path. Raises OSError where it cannot be written."""
    pictures, left = compare_pictures(found)
    drawn = [DrawnFigure(n, p.name, p.caption, _svg(p)) for n, p in enumerate(pictures, 1)]
    keys = short_keys(found.keys)
    unlike = [r for r in found.rows if any(p is not None and p.said != SAME for p in r.pairs)]
    tables = [(_NAMES[q], rows) for q in _NAMES if (rows := [_row(found, r) for r in unlike if r.quantity == q])]
    names = [s.folder.name.removesuffix(".results") for s in found.sides]
    return render_page(
        "compare.html",
        path,
        title=" against ".join(names if len(set(names)) == len(names) else [str(s.folder) for s in found.sides]),
        same=found.count(SAME),
        sides=found.sides,
        lead=answer_sentences(found),
        axes=[label(name) for name in keys.values()],
        tables=[(name, rows[:MOST_ROWS], max(0, len(rows) - MOST_ROWS)) for name, rows in tables],
        inputs=[{"key": key, "unit": unit, "values": values} for key, unit, values in input_rows(found, 12)],
        lives=_lives(found),
        verdicts=[{"at": at_text(at), "case": case, "said": [s or "–" for s in said]} for at, case, said in found.verdicts],
        versions=found.versions,
        alone=[
            (s.letter, [at_text(m.at) for m in found.alone if m.points[n] is not None]) for n, s in enumerate(found.sides)
        ],
        cases_alone=found.cases_alone,
        notes=found.notes,
        drawn=drawn,
        left=left,
    )  # fmt: skip


def _svg(picture: ComparePicture) -> str:
    """A picture as a data address, without a file beside the page."""
    out = io.BytesIO()
    figure: Any = picture.draw().figure
    with style.looks():
        figure.savefig(out, format="svg", metadata={"Date": None})
    return f"data:image/svg+xml;base64,{base64.b64encode(out.getvalue()).decode('ascii')}"


def _row(found: SideBySide, row: CaseRow) -> dict[str, Any]:
    return {
        "at": ["–" if row.at[k] is None else plain(row.at[k]) for k in found.keys],
        "case": row.case,
        "values": ["" if v is None else bare(v) for v in row.values],
        "pairs": [None if p is None else [signed(t) for t in pair_words(p)] for p in row.pairs],
    }


def _lives(found: SideBySide) -> list[dict[str, Any]]:
    rows = []
    for row in found.lives:
        cells = []
        for life in row.lives:
            spread = "" if life is None or life.p10_h is None else f"{hours(life.p10_h)} to {hours(life.p90_h)}"
            cells.append(None if life is None else {"life": hours(life.life_h), "spread": spread, "place": life.place,
                                                    "verdict": life.verdict})  # fmt: skip
        rows.append({"at": at_text(row.at), "lives": cells, "said": row.said})
    return rows
