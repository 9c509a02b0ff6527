"""Unit loads in a table: what each is in words, what it leaves on the edge, and how much of it each load takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..quantity import Quantity
from ..study import StoredVariant
from .load_table import sensible
from .words import bare

__all__ = ["UnitRow", "unit_rows"]

# the unit that people read, and how many of the stored one it is
READ: dict[str, tuple[str, float]] = {
    "N": ("kN", 1e3),
    "N mm": ("kN\u00b7m", 1e6),
    "(rad/s)²": ("10\u2074 (rad/s)²", 1e4),
}
SMALL = 1e-4  # of the largest factor in any load: less is rounding


@dataclass(frozen=True)
class UnitRow:
    """peak: largest principal stress in magnitude under one `unit`, signed, MPa. taken: (load, factor in that unit)."""

    definition: str
    unit: str
    peak: str
    loads: tuple[tuple[str, str], ...]
    conditions: tuple[tuple[str, str], ...]


def unit_rows(variant: StoredVariant) -> list[UnitRow]:
    """A row for each unit load of a variant's stored edge stress."""
    edge = variant.edge
    if edge is None:
        return []
    rows = []
    known = [a for a in variant.answers if len(a.factors) == len(edge.cases)]
    for i, case in enumerate(edge.cases):
        unit, scale = READ.get(case.factor_unit, (case.factor_unit, 1.0))
        peak = edge.combine(np.eye(len(edge.cases))[i]).peaks().peak
        if peak.value is not None and peak.band is not None:
            peak = Quantity(scale * peak.value, "MPa", scale * peak.band, peak.verdict)
        most = max((abs(a.factors[i]) for a in known), default=0.0)
        taken = [
            (a.case_kind == "condition", a.case, sensible(a.factors[i] / scale))
            for a in known
            if abs(a.factors[i]) > SMALL * most
        ]
        rows.append(
            UnitRow(
                case.definition,
                unit,
                bare(peak),
                tuple((name, value) for together, name, value in taken if not together),
                tuple((name, value) for together, name, value in taken if together),
            )
        )
    return rows
