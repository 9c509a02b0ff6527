"""The part of a study: its kinds, and the tables beside [part] that some kinds need."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path as FilePath
from typing import Any

from ..errors import Fault
from .positions import Path
from .tables import PART, Form, Table, positive

__all__ = ["PART", "extra_tables", "fields_from_tables", "thickness_mm"]

# the field that says how thick the material is, for the strengths of its grade
_THICKNESS = {"ring": "wall_mm", "plate": "thickness_mm", "plate_row": "thickness_mm"}


def extra_tables(values: Mapping[str, Any]) -> dict[str, Form]:
    """Arrays of tables that this kind of part takes besides [part]: name -> form."""
    return {}


def fields_from_tables(
    tables: Mapping[str, list[Table]], chosen: Mapping[Path, tuple[int, Any]], folder: FilePath
) -> tuple[dict[str, Any], list[Fault]]:
    """Fields of the part that come from those tables."""
    return {}, []


def thickness_mm(part: Table | None, chosen: Mapping[Path, tuple[int, Any]]) -> float | None:
    """Thickness of the part's material; None where the part has none, or none that is sound."""
    kind = part.kind(chosen) if part else None
    if part is None or kind not in _THICKNESS:
        return None
    value = part.value(_THICKNESS[kind], chosen)
    return float(value) if positive(value) else None
