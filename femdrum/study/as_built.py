"""Radii of a drum's slots as they were measured, from a CSV file.

A line for each slot, row, or corner of one: column `slot` or `row` (numbers from 1), `radius_mm`, and, if corners were measured one by
one, `corner` (1 to 4, or a name such as `trailing/free-end`; empty: the whole slot). Lines that begin with # are comments.
The model has one radius for all four corners of a slot, so the least of them governs it.
"""

from __future__ import annotations

import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..assess.handover_slots import CORNERS
from ..errors import MISSING, Fault, InputFault
from ..rotor.record_cells import Cells

__all__ = ["MISSING_RULES", "AsBuilt", "SlotRadius", "group_radii", "read_as_built"]

COLUMNS = ("slot", "row", "corner", "radius_mm")
OTHER_UNITS = {
    "radius": "radius_mm", "r": "radius_mm", "r_mm": "radius_mm", "corner_radius_mm": "radius_mm", "radius_cm": "radius_mm", "radius_m": "radius_mm",
    "radius_um": "radius_mm", "radius_in": "radius_mm", "radius_inch": "radius_mm", "slot_number": "slot", "row_number": "row",
}  # fmt: skip
MISSING_RULES = ("refuse", "designed")
WHOLE = 0  # stands for the whole slot among the corners' numbers
# a measured radius below this share of the drawn one was likely written in another unit
ODD_SHARE = 0.2
MOST_NAMED = 12


@dataclass(frozen=True)
class SlotRadius:
    """A slot as built. measured_mm: by corner 1 to 4; least_mm: of them, with the designed radius for what is missing.

    corner: number of the corner of the least radius, None where the whole slot was measured as one or nothing was.
    missing: corners that were not measured and are taken as designed; all four where the slot is not in the file.
    """

    slot: int
    row: int
    measured_mm: tuple[tuple[int, float], ...]
    least_mm: float
    corner: int | None
    missing: tuple[int, ...]


@dataclass(frozen=True)
class AsBuilt:
    """The radii of all slots in the order of their numbers, the designed radius, and what must be said of them."""

    path: str
    text: str
    designed_mm: float
    slots: tuple[SlotRadius, ...]
    warnings: tuple[str, ...]


def read_as_built(
    path: str | os.PathLike[str], *, rows: Mapping[int, Sequence[int]], designed_mm: float, most_mm: float, missing: str = "refuse",
) -> AsBuilt:  # fmt: skip
    """Read the file for a drum. rows: row -> numbers of its slots; most_mm: half of the slot's short side.

    missing: "refuse" slots and corners that are not in the file, or take them as "designed". Raises FileFault with all that is
    wrong at once, each with its line: no unit in the header, unknown slots, rows and corners, radii that are no number, not above
    zero or above most_mm, a place that stands twice, and what is missing.
    """
    if missing not in MISSING_RULES:
        raise InputFault(Fault("--missing", missing, f"must be {' or '.join(MISSING_RULES)}"))
    cells = Cells(Path(path), COLUMNS, OTHER_UNITS)
    found: dict[int, dict[int, tuple[float, int]]] = {}
    if _columns(cells):
        by = "slot" if "slot" in cells.columns else "row"
        for line, row in cells.rows:
            _line(cells, row, line, by, rows, most_mm, found)
        if not cells.rows:
            cells.fault(
                "rows", MISSING, "there are none below the header", "a line for each slot or corner", cells.header_line
            )
    slots = {n: row for row, numbers in rows.items() for n in numbers}
    if not cells.faults and missing == "refuse":
        _tell_missing(cells, slots, found)
    cells.done()
    out = tuple(_slot(n, slots[n], found.get(n, {}), designed_mm) for n in sorted(slots))
    return AsBuilt(
        str(path), Path(path).read_text(encoding="utf-8-sig"), designed_mm, out, tuple(_warnings(out, designed_mm))
    )


def _columns(cells: Cells) -> bool:
    """The header says what is needed."""
    told = {str(f.value).lower() for f in cells.faults}
    if "radius_mm" not in cells.columns and not any(OTHER_UNITS.get(t) == "radius_mm" for t in told):
        cells.fault(
            "header", MISSING, "holds no column radius_mm", "the unit stands in the name: radius_mm", cells.header_line
        )
    both = [c for c in ("slot", "row") if c in cells.columns]
    if len(both) == 2:
        cells.fault(
            "header",
            "slot, row",
            "says slot and row at once",
            "keep one: a slot's number says its row",
            cells.header_line,
        )
    elif not both and not any(OTHER_UNITS.get(t) in ("slot", "row") for t in told):
        cells.fault(
            "header",
            MISSING,
            "holds neither slot nor row",
            "add a column slot with the numbers of the slots, from 1",
            cells.header_line,
        )
    return not any(f.field == "header" for f in cells.faults)


def _line(
    cells: Cells, row: Mapping[str, str], line: int, by: str, rows: Mapping[int, Sequence[int]], most_mm: float,
    found: dict[int, dict[int, tuple[float, int]]],
) -> None:  # fmt: skip
    own = dict(row)
    total = max(n for numbers in rows.values() for n in numbers)
    number = cells.whole(own, by, line, 1, total if by == "slot" else max(rows), f"{by}s of this drum count from 1")
    corner = _corner(cells, own.get("corner", ""), line)
    radius = cells.number(
        own,
        "radius_mm",
        line,
        f"measured, in mm; half of the slot's short side is {most_mm:g} mm",
        above=0.0,
        most=most_mm,
    )
    if number is None or corner is None:
        return
    numbers = (number,) if by == "slot" else tuple(rows[number])
    for n in numbers:
        at = found.setdefault(n, {})
        clash = (
            corner
            if corner in at
            else WHOLE
            if WHOLE in at
            else next(iter(at), WHOLE)
            if corner == WHOLE and at
            else None
        )
        if clash is not None:
            what = f"{by} {number}" + (f", corner {corner}" if corner else "")
            cells.fault(
                by,
                own[by],
                f"{what} stands at line {at[clash][1]} already",
                "give each place once: a whole slot, or its corners",
                line,
            )
            return
        at[corner] = (math.nan if radius is None else radius, line)


def _corner(cells: Cells, text: str, line: int) -> int | None:
    if not text:
        return WHOLE
    name = text.lower().removeprefix("corner").strip()
    known = {str(n): n for n in range(1, 5)} | {c: n for n, c in enumerate(CORNERS, 1)}
    known |= {"/".join(reversed(c.split("/"))): n for c, n in list(known.items()) if "/" in c}
    if name not in known:
        cells.fault("corner", text, "is no corner", f"1 to 4, or {', '.join(CORNERS)}; empty: the whole slot", line)
        return None
    return known[name]


def _tell_missing(cells: Cells, slots: Mapping[int, int], found: Mapping[int, Mapping[int, object]]) -> None:
    way = "measure them, or take them as drawn: --missing designed"
    gone = [n for n in sorted(slots) if n not in found]
    if gone:
        cells.fault("slot", MISSING, f"{len(gone)} slots are not in the file: {_few(gone)}", way, None)
    for n in sorted(found):
        lacking = [c for c in range(1, 5) if c not in found[n]]
        if WHOLE not in found[n] and lacking:
            cells.fault("corner", MISSING, f"slot {n}: corners {_few(lacking)} are not in the file", way, None)


def _few(numbers: Sequence[int]) -> str:
    shown = ", ".join(map(str, numbers[:MOST_NAMED]))
    return shown + (f" and {len(numbers) - MOST_NAMED} more" if len(numbers) > MOST_NAMED else "")


def _slot(number: int, row: int, at: Mapping[int, tuple[float, int]], designed_mm: float) -> SlotRadius:
    if WHOLE in at:
        return SlotRadius(number, row, ((WHOLE, at[WHOLE][0]),), at[WHOLE][0], None, ())
    lacking = tuple(c for c in range(1, 5) if c not in at)
    measured = tuple((c, at[c][0]) for c in sorted(at))
    every = [*((r, c) for c, r in measured), *((designed_mm, 0) for _ in lacking[:1])]
    least, corner = min(every)
    return SlotRadius(number, row, measured, least, corner or None, lacking)


def _warnings(slots: Sequence[SlotRadius], designed_mm: float) -> list[str]:
    out = []
    taken = [s.slot for s in slots if len(s.missing) == 4]
    if taken:
        out.append(f"{len(taken)} slots were not measured and are taken as designed: {_few(taken)}")
    some = [s.slot for s in slots if 0 < len(s.missing) < 4]
    if some:
        out.append(f"of {len(some)} slots not all corners were measured; the rest is taken as designed: {_few(some)}")
    odd = [s.slot for s in slots if s.least_mm < ODD_SHARE * designed_mm]
    if odd:
        out.append(
            f"the radius of {len(odd)} slots is below a fifth of the drawn {designed_mm:g} mm: {_few(odd)}. Is it in mm, and the radius, not the chamfer?"
        )
    return out


def group_radii(radii_mm: Sequence[float], within_mm: float) -> dict[float, float]:
    """Radius -> the radius it is solved with: the least of its group, never above itself and never more than within_mm below it."""
    out: dict[float, float] = {}
    base = -math.inf
    for radius in sorted(set(radii_mm)):
        if radius - base > within_mm + 1e-9:
            base = radius
        out[radius] = base
    return out
