"""Columns of a measured history: name and unit, both from the header such as `gauge_1_strain_um_m`."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ..errors import Fault, FileFault

__all__ = ["CHANNEL_UNITS", "TIME_UNITS", "Channel", "channel_of"]

# suffix of a column -> unit as people read it; longer suffixes before those they end with
CHANNEL_UNITS = {
    "_um_m": "µm/m",
    "_mm_m": "mm/m",
    "_percent": "%",
    "_MPa": "MPa",
    "_kNm": "kN·m",
    "_Nm": "N·m",
    "_kN": "kN",
    "_N": "N",
    "_rpm": "rpm",
    "_m_s2": "m/s²",
    "_mm_s": "mm/s",
    "_um": "µm",
    "_mm": "mm",
    "_kW": "kW",
    "_bar": "bar",
}
# of the time column -> seconds
TIME_UNITS = {"_ms": 1e-3, "_us": 1e-6, "_s": 1.0}
TIME = "time"


@dataclass(frozen=True)
class Channel:
    """One column: its name without the unit, and the unit of its values as people read it. column: as in the header."""

    name: str
    unit: str
    column: str


def channel_of(column: str, path: Path, line: int) -> Channel:
    """Name and unit of a column; raises FileFault, with the known suffixes, where it carries none of them."""
    for suffix, unit in CHANNEL_UNITS.items():
        if column.endswith(suffix) and len(column) > len(suffix):
            return Channel(column[: -len(suffix)], unit, column)
    allowed = f"must end with its unit: {', '.join(CHANNEL_UNITS)}"
    if column.lower().startswith(TIME):
        way = "name the column of the signal, not the time"
    else:
        # a unit is suggested only where the case alone is wrong
        alike = [column[: -len(s)] + s for s in CHANNEL_UNITS if column.lower().endswith(s.lower())]
        way = f"did you mean {alike[0]!r}?" if alike else "put the unit into the header, as in force_kN"
    raise FileFault(Fault(f"{path}: column", column, allowed, way, line))


def time_column(columns: list[str], path: Path, line: int) -> tuple[int, float]:
    """Place of the time column and its unit in seconds. Raises FileFault if there is none, or more than one."""
    found = [(k, TIME_UNITS[s]) for k, c in enumerate(columns) for s in TIME_UNITS if c.lower() == TIME + s]
    if len(found) != 1:
        names = ", ".join(TIME + suffix for suffix in TIME_UNITS)
        allowed = f"must hold one column of time, with its unit: {names}"
        unitless = [c for c in columns if c.lower().startswith(TIME)]
        way = f"rename {unitless[0]!r}" if unitless and not found else "write the header as time_s,force_kN"
        raise FileFault(Fault(f"{path}: header", ",".join(columns), allowed, way, line))
    return found[0]
