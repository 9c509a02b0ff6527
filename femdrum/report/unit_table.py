"""Unit loads in a table: what each is in words, what it leaves on the edge, and how much of it each load takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..edge import UnitCase
from ..quantity import Quantity
from ..study import StoredVariant
from .load_table import sensible
from .words import bare

__all__ = ["UnitRow", "read_definition", "read_unit", "unit_rows"]

# the unit that people read, how many of the stored one it is, and the words that change with it
READ: dict[str, tuple[str, float, str, str]] = {
    "N": ("kN", 1e3, "1 N ", "1 kN "),
    "N mm": ("kN\u00b7m", 1e6, "1 N mm", "1 kN\u00b7m"),
    "(rad/s)²": ("(100 rad/s)²", 1e4, "1 rad/s", "100 rad/s"),
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


def read_unit(case: UnitCase) -> tuple[str, float]:
    """The unit that people read a unit load's factor in, and how many of the stored one it is."""
    unit, scale, *_ = READ.get(case.factor_unit, (case.factor_unit, 1.0))
    return unit, scale


def read_definition(case: UnitCase) -> str:
    """What one such unit is: `torque of 1 kN m along the shell`."""
    _, _, stored, read = READ.get(case.factor_unit, ("", 1.0, "", ""))
    return case.definition.replace(stored, read, 1) if stored else case.definition


def unit_rows(variant: StoredVariant) -> list[UnitRow]:
    """A row for each unit load of a variant's stored edge stress."""
    edge = variant.edge
    if edge is None:
        return []
    rows = []
    known = [a for a in variant.answers if len(a.factors) == len(edge.cases)]
    for i, case in enumerate(edge.cases):
        unit, scale = read_unit(case)
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
                read_definition(case),
                unit,
                bare(peak),
                tuple((name, value) for together, name, value in taken if not together),
                tuple((name, value) for together, name, value in taken if together),
            )
        )
    return rows
