"""results.csv and results.json, and the life beside them, written from the stored variants in one pass, one variant in memory at a time."""

from __future__ import annotations

import csv
import shutil
import tempfile
from collections.abc import Mapping
from typing import Any

from .answers import failed_record
from .lines import plain
from .store import Store, writing
from .study import RESULT_FORMAT, Study, Variant, inputs_of
from .table import DEFINITIONS, PROVENANCE, axis_definition, rows_of
from .work import versions

__all__ = ["write_results"]


def write_results(study: Study, store: Store, failures: Mapping[str, str]) -> None:
    """Write both files; failures: key of a variant -> why it has no solution."""
    columns = [a.column for a in study.axes] + list(DEFINITIONS)
    with (
        writing(store.root / "results.csv") as table_file,
        writing(store.root / "results.json") as file,
        # in results.json the variants stand after the rows; both come from one reading
        tempfile.TemporaryFile("w+", encoding="utf-8", newline="", dir=store.root) as variants,
    ):
        table = csv.writer(table_file, lineterminator="\n")
        table.writerow(columns)
        for key, value in _head(study, columns).items():
            file.write(f"{'{' if key == 'format' else ','}\n{plain(key)}: {plain(value)}")
        file.write(',\n"rows": [')
        comma = ""
        for n, variant in enumerate(study.variants):
            axes = {a.column: inputs_of(v) for a, v in zip(study.axes, variant.values, strict=True)}
            record = _record(store, variant, failures)
            for row in rows_of(record):
                whole = {**axes, **row}
                table.writerow([_cell(whole[c]) for c in columns])
                file.write(f"{comma}\n{plain(whole)}")
                comma = ","
            variants.write(("," if n else "") + "\n" + plain(_whole(variant, axes, record)))
        file.write('\n],\n"variants": [')
        variants.seek(0)
        shutil.copyfileobj(variants, file, 1 << 16)
        file.write("\n]\n}\n")
    if study.life is not None:
        from .life_write import write_lives

        write_lives(study, store)


def _head(study: Study, columns: list[str]) -> dict[str, Any]:
    return {
        "format": RESULT_FORMAT,
        "made by": "femdrum",
        "title": study.title,
        "name": study.name,
        "study": study.source,
        "versions": versions(),
        "axes": [{"key": a.key, "column": a.column, "values": list(a.values)} for a in study.axes],
        "columns": columns,
        "definitions": {**{a.column: axis_definition(a) for a in study.axes}, **DEFINITIONS},
        "provenance": PROVENANCE,
        "left_out": study.left_out,
        "left_out_examples": list(study.left_out_examples),
        "life": _life_key(study),
    }


def _life_key(study: Study) -> str | None:
    if study.life is None:
        return None
    from .life_stage import plan_key

    return plan_key(study.life)


def _record(store: Store, variant: Variant, failures: Mapping[str, str]) -> dict[str, Any]:
    """What is stored of a variant, or the record of its failure."""
    failure = failures.get(variant.key, "")
    if (store.folder(variant.key) / "variant.json").is_file():
        return {**store.record(variant.key), "failure": failure}
    answers = [failed_record(load, failure or "was not solved") for load in variant.cases]
    return {"key": variant.key, "answers": answers, "remarks": [], "failure": failure or "was not solved"}


def _whole(variant: Variant, axes: dict[str, Any], record: dict[str, Any]) -> dict[str, Any]:
    return {
        "key": variant.key,
        "axes": axes,
        "inputs": variant.inputs,
        "answers": record["answers"],
        "remarks": record["remarks"],
        "failure": record["failure"],
    }


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return repr(value)
    return " ".join(str(value).split()) if isinstance(value, str) else str(value)
