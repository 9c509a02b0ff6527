"""The results of a study, written once and read back by whoever draws or reports them."""

from __future__ import annotations

import csv
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from ..edge import EdgeStress
from ..errors import MISSING, Fault, FileFault
from .answers import StoredAnswer, failed_record
from .store import Store, read_json, writing
from .study import RESULT_FORMAT, Axis, Study, Variant, inputs_of
from .table import DEFINITIONS, PROVENANCE, axis_definition, rows_of
from .work import versions

__all__ = ["Results", "StoredVariant", "write_results"]


@dataclass(frozen=True)
class StoredVariant:
    """A variant read back. axes: column -> value, None where the axis does not bear on it.

    failure: why there is no solution, or empty. remarks: what went amiss beside the numbers.
    """

    key: str
    folder: Path
    axes: dict[str, Any]
    inputs: dict[str, Any]
    answers: tuple[StoredAnswer, ...]
    failure: str
    remarks: tuple[str, ...]

    @property
    def label(self) -> str:
        """`corner_radius_mm = 8`; empty where nothing varies."""
        return ", ".join(f"{name} = {value}" for name, value in self.axes.items() if value is not None)

    @property
    def field_file(self) -> Path | None:
        """The field around the slot as VTU, if there is one."""
        path = self.folder / "field.vtu"
        return path if path.is_file() else None

    @cached_property
    def edge(self) -> EdgeStress | None:
        """The edge stress per unit case, read when first asked for; None where the variant has none."""
        from .arrays import load_edge

        path = self.folder / "edge.npz"
        return load_edge(path) if path.is_file() else None

    def answer(self, case: str) -> StoredAnswer:
        """The answer for the load of this name."""
        for answer in self.answers:
            if answer.case == case:
                return answer
        raise KeyError(f"no case {case!r}; known: {', '.join(a.case for a in self.answers)}")


class Results:
    """A results folder, read back."""

    def __init__(self, folder: Path, data: dict[str, Any]) -> None:
        self.folder = folder
        self.data = data

    @classmethod
    def load(cls, folder: str | os.PathLike[str]) -> Results:
        """Results of a finished study. Raises FileFault where there are none."""
        path = Path(folder)
        if not (path / "results.json").is_file():
            what = "holds no results.json" if path.is_dir() else "there is no such folder"
            raise FileFault(Fault(str(path), MISSING, what, "run `femdrum study FILE` first"))
        data = read_json(path / "results.json")
        if not isinstance(data, dict) or data.get("format") != RESULT_FORMAT:
            found = data.get("format") if isinstance(data, dict) else None
            raise FileFault(Fault(str(path), MISSING, f"holds results of format {found}, this version reads {RESULT_FORMAT}",
                                  "run the study again"))  # fmt: skip
        return cls(path, data)

    @property
    def title(self) -> str:
        """Title of the study."""
        return str(self.data["title"])

    @property
    def name(self) -> str:
        """Stem of the study file."""
        return str(self.data["name"])

    @property
    def source(self) -> str:
        """Text of the study file."""
        return str(self.data["study"])

    @property
    def axes(self) -> tuple[Axis, ...]:
        """The axes of the study, in the order of the file."""
        return tuple(Axis(a["key"], a["column"], tuple(a["values"])) for a in self.data["axes"])

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns of the table, axes first."""
        return tuple(self.data["columns"])

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The table: a dict per variant and case, None where not defined."""
        rows: list[dict[str, Any]] = self.data["rows"]
        return rows

    @property
    def definitions(self) -> dict[str, str]:
        """What each column means."""
        return dict(self.data["definitions"])

    @property
    def versions(self) -> dict[str, str]:
        """Versions that made the results."""
        return dict(self.data["versions"])

    @property
    def left_out(self) -> int:
        """Combinations that cannot be drawn and were left out as the study asked."""
        return int(self.data["left_out"])

    @property
    def left_out_examples(self) -> tuple[str, ...]:
        """A few of them, in words."""
        return tuple(self.data["left_out_examples"])

    @cached_property
    def variants(self) -> tuple[StoredVariant, ...]:
        """The variants in the order of the study."""
        return tuple(
            StoredVariant(
                key=v["key"],
                folder=self.folder / "variants" / v["key"],
                axes=v["axes"],
                inputs=v["inputs"],
                answers=tuple(StoredAnswer.from_record(a) for a in v["answers"]),
                failure=v["failure"],
                remarks=tuple(v["remarks"]),
            )
            for v in self.data["variants"]
        )

    @property
    def complete(self) -> bool:
        """True if every number that was asked for is there."""
        return all(row["peak_MPa"] is not None for row in self.rows)


def write_results(study: Study, store: Store, failures: Mapping[str, str]) -> None:
    """Write results.csv and results.json from the stored variants, one at a time."""
    columns = [a.column for a in study.axes] + list(DEFINITIONS)
    with writing(store.root / "results.csv") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(columns)
        for row in _rows(study, store, failures):
            table.writerow([_cell(row[c]) for c in columns])
    head = {
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
    }
    with writing(store.root / "results.json") as file:
        for key, value in head.items():
            file.write(f"{'{' if key == 'format' else ','}\n{_json(key)}: {_json(value)}")
        file.write(',\n"rows": [')
        _list(file, _rows(study, store, failures))
        file.write('],\n"variants": [')
        _list(file, (_whole(study, v, _record(store, v, failures)) for v in study.variants))
        file.write("]\n}\n")


def _record(store: Store, variant: Variant, failures: Mapping[str, str]) -> dict[str, Any]:
    """What is stored of a variant, or the record of its failure."""
    failure = failures.get(variant.key, "")
    if (store.folder(variant.key) / "variant.json").is_file():
        return {**store.record(variant.key), "failure": failure}
    answers = [failed_record(load, failure or "was not solved") for load in variant.cases]
    return {"key": variant.key, "answers": answers, "remarks": [], "failure": failure or "was not solved"}


def _rows(study: Study, store: Store, failures: Mapping[str, str]) -> Iterator[dict[str, Any]]:
    for variant in study.variants:
        axes = {a.column: inputs_of(v) for a, v in zip(study.axes, variant.values, strict=True)}
        for row in rows_of(_record(store, variant, failures)):
            yield {**axes, **row}


def _whole(study: Study, variant: Variant, record: dict[str, Any]) -> dict[str, Any]:
    return {
        "key": variant.key,
        "axes": {a.column: inputs_of(v) for a, v in zip(study.axes, variant.values, strict=True)},
        "inputs": variant.inputs,
        "answers": record["answers"],
        "remarks": record["remarks"],
        "failure": record["failure"],
    }


def _list(file: Any, items: Iterator[dict[str, Any]]) -> None:
    for n, item in enumerate(items):
        file.write(("," if n else "") + "\n" + _json(item))
    file.write("\n")


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return repr(value)
    return " ".join(str(value).split()) if isinstance(value, str) else str(value)
