"""`femdrum retention`: does the hammer stay in its slot, with which torque, and how does it come out again?"""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import TYPE_CHECKING

from .common import DONE, NUMBER_MISSING, Command, say, write_json, write_lines
from .sheet_common import CAUTION_SHEET, drawn, sheet_options, told

if TYPE_CHECKING:
    from ..assess.retention import Retention
    from ..study.sheet import Sheet

__all__ = ["add"]


def add(command: Command) -> None:
    """Enter the command."""
    sub = command(
        "retention", _retention, "prove that a hammer stays in its slot: clamp, torque, stop, release, wear, seats"
    )
    sub.epilog = (
        "exit code 1 where no accident case is given, for then nothing is proven; 'not held' is an answer, exit code 0"
    )
    sheet_options(sub, "retention file (TOML): [clamp] and its conditions; studies/retention.toml is one")


def _retention(args: argparse.Namespace) -> int:
    from ..study.retention_sheet import JSON, RETENTION_KIND, retention_record, solve_retention, write_retention
    from ..study.sheet_folder import check_folder

    sheet, found = solve_retention(args.file)
    out = Path(args.out) if args.out else Path(f"{sheet.name}.results")
    check_folder(out, JSON, RETENTION_KIND)
    write_retention(sheet, found, out)
    page = None if args.no_report else drawn("retention_page", sheet, found, out, args)
    if args.json:
        write_json({"folder": str(out), "report": str(page) if page else None, **retention_record(sheet, found)})
    else:
        write_lines(_lines(sheet, found))
        write_lines(
            [f"rows     {out / 'retention.csv'}", f"numbers  {out / JSON}", *([f"page     {page}"] if page else [])]
        )
        write_lines(["", *told(CAUTION_SHEET)])
    if found.verdict == "not proven" and not args.json:
        say("not proven: add an [[accident]] (bar broken, one half fitted, wedge lost)")
    return NUMBER_MISSING if found.verdict == "not proven" else DONE


def _kN(force_N: float) -> str:
    return f"{1e-3 * force_N:.4g} kN"


def _lines(sheet: Sheet, found: Retention) -> list[str]:
    proof, worst = found.proof, found.worst
    lines = [sheet.title, "", f"verdict  {found.verdict}"]
    asked = _asked(found)
    lines += told(f"governs  {worst.row.condition}, {worst.row.face} face, by {worst.governs}: {asked}")
    lines += ["", *_clamp(found), "", *_rows(found), "", "bolt"]
    bolt = proof.bolt
    lines.append(
        f"  tightening {100 * bolt.tightening_share:.3g} % of what is allowed, in service {100 * bolt.service_share:.3g} % of yield, with bending {100 * bolt.bent_share:.3g} %"
    )
    fatigue = "no amplitude" if math.isinf(bolt.fatigue_safety) else f"safety {bolt.fatigue_safety:.3g}"
    lines.append(
        f"  fatigue: amplitude {bolt.amplitude_MPa:.3g} MPa of {bolt.endurance_MPa:.3g} MPa, {fatigue}; {'holds' if bolt.holds else 'DOES NOT HOLD'}"
    )
    if proof.stop is not None:
        stop = proof.stop
        lines.append(
            f"stop: carries {_kN(stop.capacity_N)} ({stop.by}), the pull taken twice is {_kN(stop.demand_N)}: safety {stop.safety:.3g}, 1.5 is asked"
        )
    lines += ["", *_release(found), *_wear(found), *_seats(found)]
    if found.fretting:
        ranks = ", ".join(f"{r.rank} {r.name} ({100 * r.share:.3g} %)" for r in found.fretting)
        lines += ["", *told(f"fretting, as a ranking only: {ranks}")]
    lines += [""] if found.warnings else []
    for text in found.warnings:
        lines += told(f"warning: {text}")
    return [*lines, "", *(line for text in found.notes for line in told(f"- {text}")), ""]


def _asked(found: Retention) -> str:
    worst = found.worst
    if worst.row.accident:
        return f"the stop's safety is {worst.row.slip_safety:.3g}, {worst.row.slip_required:g} is asked"
    return f"it needs {_kN(worst.row.needed_N)} of clamp, the least there is {_kN(found.proof.clamp.assembled_least_N)}"


def _clamp(found: Retention) -> list[str]:
    proof = found.proof
    lines = [
        f"clamp    assembled {_kN(proof.clamp.assembled_least_N)} least, {_kN(proof.clamp.assembled_most_N)} most; needed {_kN(proof.least_clamp_N)}"
    ]
    if found.set_by == "torque" and proof.torque_window_Nm is not None:
        low, high = proof.torque_window_Nm
        text = (
            f"{low:.4g} to {high:.4g} N·m"
            if low <= high
            else f"none: the least would be {low:.4g} N·m, the most {high:.4g} N·m"
        )
        lines.append(f"torque   {text}; {found.given.clamp.bolt.torque_Nm:.4g} N·m is set")
    lines.append(f"preload  {_kN(proof.window.min)} to {_kN(proof.window.max)} of one bolt would serve{'' if proof.window.open else ': NONE DOES'}; "
                 f"it has {_kN(proof.clamp.preload.min)} to {_kN(proof.clamp.preload.max)}")  # fmt: skip
    return lines


def _rows(found: Retention) -> list[str]:
    from ..study.text import grid

    head = ("condition", "face", "left at the rim (%)", "slip safety", "asked", "needs (kN)", "by", "verdict")
    rows = []
    for face in found.faces:
        row = face.row
        safety = "-" if math.isinf(row.slip_safety) else f"{row.slip_safety:.3g}"
        left, needs = ("-", "-") if row.accident else (f"{100 * row.residual_share:.3g}", f"{1e-3 * row.needed_N:.4g}")
        rows.append((row.condition, row.face, left, safety, f"{row.slip_required:g}", needs, face.governs, row.verdict))
    return grid(head, rows)


def _release(found: Retention) -> list[str]:
    freed = found.release
    lines = [f"release  {_kN(freed.force_N)} draws the wedge out, {_kN(freed.with_rust_N)} where it has corroded in"]
    if freed.screw is None:
        lines.append("  no jack screw up to M39 is large enough")
    else:
        lines.append(
            f"  jack screws: {freed.screws} x {freed.screw.size} {freed.screw.property_class}, {freed.torque_Nm:.4g} N·m each"
        )
    lines.append(
        f"  by a blow: {freed.energy_J:.4g} J, {freed.blow_mass_kg:g} kg at {freed.blow_m_s:.3g} m/s; unasked, bolt slack: {freed.accident_J:.3g} J; the clamp stores {freed.stored_J:.3g} J"
    )
    return lines


def _wear(found: Retention) -> list[str]:
    wear = found.wear
    if wear is None:
        return []
    limit = wear.limit
    text = "none follows" if math.isinf(limit.limit_mm) else f"{limit.limit_mm:.3g} mm of clearance at the far slot"
    by = {
        "edge": f"the near rim then bears {limit.allowed_MPa:g} MPa",
        "travel": "the wedge has no travel left",
        "nothing": "one wall alone bears the hit",
    }[limit.governs]
    return [
        f"wear     limit {text}: {by} ({wear.hit})",
        f"  two walls bear {limit.unworn_MPa:.4g} MPa at the rim, from {limit.one_wall_mm:.3g} mm on one wall alone {limit.one_wall_MPa:.4g} MPa",
        f"  the clamped faces may lose {wear.faces_um:.3g} µm until the bolts must be tightened again",
    ]


def _seats(found: Retention) -> list[str]:
    from ..study.text import grid

    error = found.given.seat_error
    if error is None:
        return []
    across = f" and {error.across_deg:g}° across" if error.across_deg else ""
    lines = ["", f"seats under {_kN(found.seat_force_N)} at an angle of {error.angle_deg:g}°{across}"]
    rows, refused = [], []
    for seat in found.seats:
        if seat.pressure is None:
            refused += told(f"{seat.name}: refused, {seat.refused}")
            continue
        p = seat.pressure
        share = "-" if p.contact_share is None else f"{100 * p.contact_share:.3g}"
        aligns = "-" if p.aligns is None else "yes" if p.aligns else "no, friction locks it"
        rows.append((seat.name, f"{p.mean_MPa:.4g}", f"{p.peak_MPa:.4g}", share, aligns))
    if rows:
        lines += grid(("seat", "mean (MPa)", "peak (MPa)", "in contact (%)", "aligns itself"), rows)
    return [*lines, *refused]
