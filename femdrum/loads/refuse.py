"""Refusals of the load formulas: all faults of one call at once, each with its way out."""

from __future__ import annotations

from collections.abc import Mapping

from ..model.check import Checks

__all__ = ["need"]

# suffix of a name -> unit in words; longer suffixes first
UNITS = {
    "_Nmm_rad": "N·mm/rad",
    "_kg_m2": "kg·m²",
    "_g_mm": "g·mm",
    "_mm_s": "mm/s",
    "_N_mm": "N/mm",
    "_mm2": "mm²",
    "_kg_m": "kg/m",
    "_m_s": "m/s",
    "_rpm": "revolutions a minute",
    "_MPa": "MPa",
    "_Nmm": "N·mm",
    "_deg": "degrees",
    "_Ns": "N·s",
    "_kW": "kW",
    "_kg": "kg",
    "_mm": "mm",
    "_Hz": "Hz",
    "_N": "N",
    "_h": "hours",
    "_s": "s",
}


def _way_out(name: str) -> str:
    for suffix, unit in UNITS.items():
        if name.endswith(suffix):
            return f"give the {name[: -len(suffix)].replace('_', ' ')} in {unit}"
    return f"give the {name.replace('_', ' ')}"


def need(
    *,
    positive: Mapping[str, object] | None = None,
    not_negative: Mapping[str, object] | None = None,
    finite: Mapping[str, object] | None = None,
    share: Mapping[str, object] | None = None,
    least: Mapping[str, tuple[object, float]] | None = None,
    most: Mapping[str, tuple[object, float]] | None = None,
    counted: Mapping[str, object] | None = None,
    way_out: Mapping[str, str] | None = None,
    checks: Checks | None = None,
) -> None:
    """Refuse what makes no sense by InputFault; `share`: above 0 and at most 1; `most`: from 0 to a limit; `counted`: 1, 2, ..."""
    checks, ways = checks or Checks(), way_out or {}

    def way(name: str) -> str:
        return ways.get(name) or _way_out(name)

    for name, value in (positive or {}).items():
        checks.positive(name, value, way(name))
    for name, value in (not_negative or {}).items():
        checks.number(name, value, least=0.0, way_out=way(name))
    for name, value in (finite or {}).items():
        checks.number(name, value, way_out=way(name))
    for name, value in (share or {}).items():
        checks.number(name, value, above=0.0, most=1.0, way_out=way(name))
    for name, (value, low) in (least or {}).items():
        checks.number(name, value, least=low, way_out=way(name))
    for name, (value, high) in (most or {}).items():
        checks.number(name, value, least=0.0, most=high, way_out=way(name))
    for name, value in (counted or {}).items():
        checks.whole(name, value, 1, 1_000_000, way(name))
    checks.done()
