"""A comparison of results folders as CSV and as plain values for JSON."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import Any

from .compare_results import InputRow, Pair, SideBySide
from .compare_words import answer_sentences, short_keys
from .plain import to_plain

__all__ = ["CSV_COLUMNS", "compare_csv", "compare_record"]

CSV_COLUMNS = (
    "quantity", "unit", "load", "side", "folder", "variant", "value", "band", "verdict", "difference", "difference_band",
    "difference_pct", "said",
)  # fmt: skip


def compare_csv(found: SideBySide) -> str:
    """A row per matched variant, load, quantity and side; then lives; then what stands alone. Columns: the axes, then CSV_COLUMNS."""
    keys = short_keys(found.keys)
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow([*keys.values(), *CSV_COLUMNS])
    for at, row in _csv_rows(found):
        cells = [at[k] for k in keys] + [row.get(c) for c in CSV_COLUMNS]
        table.writerow(["" if c is None else c for c in cells])
    return out.getvalue()


def _csv_rows(found: SideBySide) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    points = {id(m.at): m.points for m in (*found.matched, *found.alone)}
    for row in found.rows:
        for n, (side, value) in enumerate(zip(found.sides, row.values, strict=True)):
            if value is None:
                continue
            point, pair = points[id(row.at)][n], row.pairs[n - 1] if n else None
            yield row.at, {
                "quantity": row.quantity, "unit": value.unit or "1", "load": row.case, "side": side.letter, "folder": str(side.folder),
                "variant": point.key if point else "", "value": value.value, "band": value.band, "verdict": value.verdict.value,
                **_pair_cells(pair),
            }  # fmt: skip
    for life in found.lives:
        for n, (side, own) in enumerate(zip(found.sides, life.lives, strict=True)):
            if own is not None:
                point = points[id(life.at)][n]
                yield life.at, {
                    "quantity": "life_h", "unit": "h", "load": own.place, "side": side.letter, "folder": str(side.folder),
                    "variant": point.key if point else "", "value": own.life_h, "verdict": own.verdict,
                    "said": life.said[n - 1] if n else "",
                }  # fmt: skip
    for match in found.alone:
        for side, point in zip(found.sides, match.points, strict=True):
            for case in point.cases.values() if point is not None else ():
                yield match.at, {
                    "quantity": "peak_MPa", "unit": "MPa", "load": case.case, "side": side.letter, "folder": str(side.folder),
                    "variant": point.key if point else "", "value": case.peak.value, "band": case.peak.band,
                    "verdict": case.verdict.value, "said": "no counterpart",
                }  # fmt: skip


def _pair_cells(pair: Pair | None) -> dict[str, Any]:
    if pair is None:
        return {}
    relative = None if pair.relative is None else 100 * pair.relative
    return {"difference": pair.difference, "difference_band": pair.band, "difference_pct": relative, "said": pair.said}


def compare_record(found: SideBySide) -> dict[str, Any]:
    """The whole comparison as plain values, for JSON."""
    letters = [s.letter for s in found.sides]
    record: dict[str, Any] = {
        "made by": "femdrum",
        "what": "comparison",
        "answer": answer_sentences(found),
        "sides": [
            {"side": s.letter, "folder": str(s.folder), "title": s.title, "kinds": s.kinds, "variants": len(s.points),
             "complete": s.complete, "versions": s.versions}
            for s in found.sides
        ],
        "matched_by": found.keys,
        "inputs": [_input_record(r, letters) for r in found.inputs],
        "results": [
            {"at": r.at, "load": r.case, "quantity": r.quantity,
             "sides": {s: None if v is None else {"value": v.value, "unit": v.unit, "band": v.band, "verdict": v.verdict.value}
                       for s, v in zip(letters, r.values, strict=True)},
             "against_first": {s: None if p is None else _pair_cells(p) for s, p in zip(letters[1:], r.pairs, strict=True)}}
            for r in found.rows
        ],
        "lives": [
            {"at": r.at, "sides": dict(zip(letters, r.lives, strict=True)), "ratio": dict(zip(letters[1:], r.ratios, strict=True)),
             "said": dict(zip(letters[1:], r.said, strict=True))}
            for r in found.lives
        ],
        "without_counterpart": {s: [m.at for m in found.alone if m.points[n] is not None] for n, s in enumerate(letters)},
        "loads_alone": found.cases_alone,
        "verdicts_changed": [{"at": at, "load": case, "sides": dict(zip(letters, said, strict=True))} for at, case, said in found.verdicts],
        "versions": {name: dict(zip(letters, v, strict=True)) for name, v in found.versions.items()},
        "notes": found.notes,
    }  # fmt: skip
    plain: dict[str, Any] = to_plain(record)
    return plain


def _input_record(row: InputRow, letters: Sequence[str]) -> dict[str, Any]:
    return {"input": row.key, "unit": row.unit, "sides": {s: list(v) for s, v in zip(letters, row.values, strict=True)}}
