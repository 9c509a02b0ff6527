"""The part of a study: its kinds, and the tables beside [part] that some kinds need."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from ..errors import Fault
from ..model.mesh_part import FaceSupport, Probe
from .positions import Path
from .tables import PART, Form, Table, positive

__all__ = ["EXTRAS", "PART", "Extra", "extra_tables", "fields_from_tables", "has_cutout", "thickness_mm"]

Chosen = Mapping[Path, tuple[int, Any]]


@dataclass(frozen=True)
class Extra:
    """Tables of the file, [[table]], that make a field of the part: a tuple of objects."""

    table: str
    field: str
    form: Form


# kind of part -> the tables it takes besides [part]
EXTRAS: dict[str, tuple[Extra, ...]] = {
    "mesh": (
        Extra("support", "supports", Form("support", "", {"": FaceSupport}, lists=("fixed",))),
        Extra("probe", "probes", Form("probe", "", {"": Probe})),
    )
}

# the field that says how thick the material is, for the strengths of its grade
_THICKNESS = {"ring": "wall_mm", "plate": "thickness_mm", "plate_row": "thickness_mm", "mesh": "thickness_mm"}


def _extras(values: Mapping[str, Any]) -> tuple[Extra, ...]:
    part = values.get("part")
    kind = part.get("kind") if isinstance(part, dict) else None
    kinds = kind if isinstance(kind, list) else [kind]
    return tuple(extra for k in kinds if isinstance(k, str) for extra in EXTRAS.get(k, ()))


def extra_tables(values: Mapping[str, Any]) -> dict[str, Form]:
    """Arrays of tables that this kind of part takes besides [part]: name -> form."""
    return {extra.table: extra.form for extra in _extras(values)}


def has_cutout(part: Table) -> bool:
    """True unless the part's kind is known to have no cutout."""
    kind = part.kind({})
    return kind is None or "cutout" in part.form.classes[kind].__dataclass_fields__


def fields_from_tables(
    values: Mapping[str, Any], tables: Mapping[str, list[Table]], part: Table, chosen: Chosen, folder: FilePath
) -> tuple[dict[str, Any], list[Fault]]:
    """Fields of the part that do not stand in [part] as they are: those from other tables, and the place of its file."""
    fields: dict[str, Any] = {}
    faults: list[Fault] = []
    for extra in _extras(values):
        made = [table.make(chosen) for table in tables.get(extra.table, [])]
        faults += [fault for _, own in made for fault in own]
        fields[extra.field] = tuple(thing for thing, _ in made if thing is not None)
    file = part.value("file", chosen)
    if isinstance(file, str) and file:
        path = folder / file
        if path.is_file():
            fields["file"] = str(path)
        else:
            what = "is a folder" if path.is_dir() else "there is no such file"
            faults.append(part.locate(Fault("file", file, f"{what} beside the study"), chosen))
    return fields, faults


def thickness_mm(part: Table | None, chosen: Chosen) -> float | None:
    """Thickness of the part's material; None where the part has none, or none that is sound."""
    kind = part.kind(chosen) if part else None
    if part is None or kind not in _THICKNESS:
        return None
    value = part.value(_THICKNESS[kind], chosen)
    return float(value) if positive(value) else None
