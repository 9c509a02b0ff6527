"""Balancing by a file: a TOML of plain tables and a record (CSV) in; balance.csv, the plan, and balance.json out."""

from __future__ import annotations

import math
import os
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any

from ..assess.balance import HAMMERS, NOT_CHECKED, Balance, balance
from ..errors import Fault, InputFault
from ..model.balance_input import BalanceInput
from ..model.check import Checks
from ..rotor.balance_plan import PLAN_COLUMNS
from ..rotor.balance_record import BalanceRecord, read_record
from ..rotor.unbalance import polar
from .plain import to_plain
from .reading import parse, read_text
from .sheet import Sheet, read_sheet
from .sheet_folder import check_folder, csv_text, figure_records, json_text, lined, write_files

__all__ = ["BALANCE_KIND", "RecordAsked", "balance_record", "read_balance", "solve_balance", "write_balance"]

BALANCE_KIND = "balance"
CSV, JSON = "balance.csv", "balance.json"

MEANINGS = {
    "step": "order of the work",
    "kind": "move: a hammer into another slot; mass: plates on a position; result: what is left in a plane",
    "does": "what is done, in words",
    "angle_deg": "from the drum's mark in the sense of rotation",
    "pull_N": "outward pull of the mass at speed",
    "overspeed_pull_N": "the same at overspeed",
    "held": "by lip or friction, or DOES NOT HOLD",
    "share_pct": "residual over permissible, %",
}


@dataclass(frozen=True, kw_only=True)
class RecordAsked:
    """The balancing record: file, beside this one unless its path says otherwise; hammers: "weighed" in it, or "none fitted" on a bare rotor."""

    file: str
    hammers: str = "weighed"

    def __post_init__(self) -> None:
        checks = Checks()
        if not isinstance(self.file, str) or not self.file.strip():
            checks.add("file", self.file, "must name the record, a CSV file")
        checks.one_of("hammers", self.hammers, HAMMERS)
        checks.done()


FORMS: dict[str, Any] = {"balance": BalanceInput, "record": RecordAsked}


def read_balance(
    path: str | os.PathLike[str], record: str | os.PathLike[str] | None = None
) -> tuple[Sheet, BalanceInput, BalanceRecord | None, str]:
    """File, what it asks, the record (None: none is named), and its hammers: weighed or none fitted.

    record: instead of the one that the file names. Raises InputFault with the faults of both files at once, each with its line.
    """
    faults: list[Fault] = []
    sheet = None
    try:
        sheet = read_sheet(path, FORMS, needed=("balance",))
    except InputFault as error:
        faults += error.faults
    where = Path(record) if record is not None else _named(path, sheet)
    found = None
    if where is not None:
        try:
            found = read_record(where)
        except InputFault as error:
            faults += _of_record(error.faults, where)
    if faults or sheet is None:
        raise InputFault(faults)
    asked = sheet["record"]
    return sheet, sheet["balance"], found, asked.hammers if asked is not None else "weighed"


def _named(path: str | os.PathLike[str], sheet: Sheet | None) -> Path | None:
    """The record that a file names, even where the file has faults of its own."""
    if sheet is not None:
        return None if sheet["record"] is None else sheet.folder / sheet["record"].file
    try:
        table = parse(read_text(path), "").values.get("record")
    except InputFault:
        return None
    name = table.get("file") if isinstance(table, dict) else None
    return Path(path).parent / name if isinstance(name, str) and name.strip() else None


def _of_record(faults: Iterable[Fault], where: Path) -> list[Fault]:
    """Faults of the record, which name its file beside the field."""
    return [replace(f, field=f"{where.name}: {f.field}") for f in faults]


def solve_balance(path: str | os.PathLike[str], record: str | os.PathLike[str] | None = None) -> tuple[Sheet, Balance]:
    """Read both files and make the plan. Raises InputFault."""
    sheet, given, found, hammers = read_balance(path, record)
    try:
        return sheet, balance(given, found, hammers=hammers)
    except InputFault as error:
        own = {f.name for f in fields(BalanceInput)}
        placed = []
        for f in error.faults:
            name = f.field.split(".")[0].split("[")[0]
            if name in own:
                placed.append(f.at("balance"))
            elif name == "record" or found is None:
                placed.append(f)
            else:
                placed += _of_record([f], Path(found.path))
        raise lined(InputFault(placed), sheet) from None


def _polar(vector: complex) -> dict[str, float]:
    size, angle = polar(vector)
    return {"g_mm": size, "deg": angle}


def balance_record(sheet: Sheet, found: Balance) -> dict[str, Any]:
    """Everything as plain values, for balance.json."""
    plan, limits = found.plan, found.limits
    record = {
        "made by": "femdrum",
        "kind": BALANCE_KIND,
        "name": sheet.name,
        "title": sheet.title,
        "verdict": found.verdict,
        "proven": found.proven if plan is not None else None,
        "condition": found.given.condition,
        "permissible": {
            "whole_g_mm": limits.whole_g_mm,
            "budget_share": found.given.budget_share,
            "bearings_mm": limits.bearings_mm,
            "bearings_g_mm": limits.bearings_g_mm,
            "planes_mm": limits.planes_mm,
            "planes_g_mm": limits.planes_g_mm,
        },
        "reach": [{**to_plain(r), "p95_g_mm": r.p95_g_mm, "coarse": r.coarse} for r in found.reach],
        "record": None if found.record is None else {
            "file": Path(found.record.path).name, "hammers": len(found.record.seats), "probes": found.record.probes, "runs": found.record.run_numbers,
            "amplitude": found.record.amplitude, "speed_rpm": found.record.speed_rpm if math.isfinite(found.record.speed_rpm) else None,
        },
        "source": None if plan is None else plan.source,
        "bearing_share": None if plan is None else plan.bearing_share,
        "condition_number": None if plan is None or plan.correction is None else plan.correction.influence.condition,
        "casing": None if plan is None or plan.casing is None else {
            "force_N": plan.casing.force_N, "velocity_mm_s_rms": plan.casing.velocity_mm_s, "zone": plan.casing.zone or None,
        },
        "planes": [
            {
                "plane": p.number, "z_mm": p.positions.z_mm, "now": _polar(p.now_g_mm), "hammers_placed": _polar(p.placed_g_mm), "after": _polar(p.after_g_mm),
                "permissible_g_mm": p.permissible_g_mm, "share": p.share, "bound_share": p.bound_share, "proven": p.proven, "fewest_plates": p.fewest,
                "positions": [
                    {"position": n, "angle_deg": angle % 360.0, "plates": plates, "blocked": n in p.positions.blocked}
                    for n, (angle, plates) in enumerate(zip(p.positions.angles_deg, p.plates, strict=True), 1)
                ],
            }
            for p in found.planes
        ],
        "hammers": [to_plain(h) for h in found.hammers],
        "hammers_move": found.moved,
        "rows": [] if plan is None else [asdict(row) for row in plan.rows],
        "figures": figure_records(found.figures),
        "warnings": list(found.warnings),
        "notes": list(found.notes),
        "not_checked": list(NOT_CHECKED),
        "columns": {name: MEANINGS.get(name, name.replace("_", " ")) for name in PLAN_COLUMNS},
        "file": sheet.source,
    }  # fmt: skip
    plain: dict[str, Any] = to_plain(record)
    return plain


def write_balance(sheet: Sheet, found: Balance, out: str | os.PathLike[str]) -> Path:
    """Write balance.csv (with a record only) and balance.json into a folder; returns it. Raises FileFault where it is not ours to use."""
    folder = check_folder(out, JSON, BALANCE_KIND)
    texts = {JSON: json_text(balance_record(sheet, found))}
    if found.plan is not None:
        texts[CSV] = csv_text(PLAN_COLUMNS, [_short(asdict(row)) for row in found.plan.rows])
    write_files(folder, texts)
    if found.plan is None:
        (folder / CSV).unlink(missing_ok=True)  # of an earlier record
    return folder


def _short(row: dict[str, Any]) -> dict[str, Any]:
    """Six digits: a plan is read in the workshop."""
    return {k: float(f"{v:.6g}") if isinstance(v, float) else v for k, v in row.items()}
