"""The page of retention: verdict, conditions, seats, release, wear, charts, derived numbers, what was not checked."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from ..assess.retention import NOT_CHECKED, Retention
from ..rotor.wear import WearState
from ..study.sheet import Sheet
from .load_table import sensible
from .picture import NoData, Picture
from .retention_faces import FacesPicture
from .retention_seat import SeatAnglePicture
from .retention_window import ClampWindowPicture
from .sheet_page import draw_all, figure_rows, render_page

__all__ = ["retention_content", "retention_pictures", "write_page"]


def retention_pictures(found: Retention) -> list[Picture]:
    """Charts in the page's order; what there is nothing to draw of is left out."""
    made: list[Picture] = [ClampWindowPicture(found)]
    for kind in (FacesPicture, SeatAnglePicture):
        try:
            made.append(kind(found))
        except NoData:
            continue
    return made


def write_page(sheet: Sheet, found: Retention, folder: Path) -> Path:
    """Draw the charts into folder/figures/ and write retention.html; returns its path."""
    drawn = draw_all(retention_pictures(found), folder)
    return render_page(
        "retention.html", folder / "retention.html", title=sheet.title, what="retention of a hammer", name=sheet.name, source=sheet.source,
        drawn=drawn, **retention_content(found),
    )  # fmt: skip


def retention_content(found: Retention) -> dict[str, Any]:
    """What retention.html and the chapter of a study's report show."""
    wear = found.wear
    return {
        "good": found.verdict == "held",
        "lead": _lead(found),
        "warnings": found.warnings,
        "groups": figure_rows(found.figures),
        "notes": found.notes,
        "not_checked": NOT_CHECKED,
        "rows": [_row(face) for face in found.faces],
        "seats": _seats(found),
        "seats_lead": _seats_lead(found),
        "fretting": [
            f"{r.name}: {sensible(100 * r.share)} % of the worst{'' if r.slips else ', sticks'}" for r in found.fretting
        ],
        "release": _release(found),
        "wear": [_worn(state) for state in (wear.states if wear is not None else ())],
        "wear_lead": _wear_lead(found),
    }


def _worn(s: WearState) -> tuple[str, ...]:
    walls = (1e-3 * s.reactions.near_N, 1e-3 * s.reactions.far_N)
    return sensible(s.clearance_mm), str(s.walls), *(sensible(force) for force in walls), sensible(s.edge_MPa)


def _lead(found: Retention) -> list[str]:
    proof, worst = found.proof, found.worst
    words = {
        "held": "Held in every condition, the accident among them.",
        "not held": "Not held.",
        "not proven": "Not proven: no accident case was given.",
    }
    lines = [words[found.verdict]]
    if worst.row.accident:
        lines.append(
            f"{worst.row.condition} governs: the stop's safety is {sensible(worst.row.slip_safety)}, {worst.row.slip_required:g} is asked."
        )
    else:
        lines.append(
            f"{worst.row.condition}, {worst.row.face} face, governs by {worst.governs}: it needs {sensible(1e-3 * worst.row.needed_N)} kN of clamp; the least there is "
            f"{sensible(1e-3 * proof.clamp.assembled_least_N)} kN, the most {sensible(1e-3 * proof.clamp.assembled_most_N)} kN."
        )
    lines.append(f"Window of the setting: {ClampWindowPicture(found).window_words()}.")
    bolt = proof.bolt
    lines.append(
        f"Bolt: tightening uses {sensible(100 * bolt.tightening_share)} % of what is allowed, service {sensible(100 * bolt.service_share)} % of yield; {'it holds' if bolt.holds else 'it does not hold'}."
    )
    return lines


def _row(face: Any) -> dict[str, Any]:
    row = face.row
    held = not row.accident
    return {
        "condition": row.condition, "face": row.face, "asked": f"{row.slip_required:g}", "verdict": row.verdict, "holds": row.holds,
        "clamp": sensible(1e-3 * row.clamp_least_N) if held else "", "left": sensible(100 * row.residual_share) if held else "",
        "safety": "-" if math.isinf(row.slip_safety) else sensible(row.slip_safety),
        "opening": sensible(1e-3 * face.against_opening_N) if held else "", "slip": sensible(1e-3 * face.against_slip_N) if held else "",
    }  # fmt: skip


def _seats_lead(found: Retention) -> str:
    error = found.given.seat_error
    if error is None:
        return ""
    across = f", {error.across_deg:g}° across" if error.across_deg else ""
    force = "as given" if error.force_kN is not None else "the largest of any condition"
    return f"Under {sensible(1e-3 * found.seat_force_N)} kN ({force}), {error.angle_deg:g}° out of square{across}."


def _seats(found: Retention) -> list[dict[str, str]]:
    rows = []
    for seat in found.seats:
        p = seat.pressure
        if p is None:
            rows.append(
                {
                    "name": seat.name,
                    "mean": "",
                    "peak": "",
                    "share": "",
                    "aligns": "",
                    "remark": f"refused: {seat.refused}",
                }
            )
            continue
        share = "" if p.contact_share is None else sensible(100 * p.contact_share)
        aligns = "-" if p.aligns is None else "yes" if p.aligns else "no, friction locks it"
        rows.append(
            {
                "name": seat.name,
                "mean": sensible(p.mean_MPa),
                "peak": sensible(p.peak_MPa),
                "share": share,
                "aligns": aligns,
                "remark": "; ".join(p.warnings),
            }
        )
    return rows


def _release(found: Retention) -> list[str]:
    freed = found.release
    screws = (
        "no jack screw up to M39 is large enough" if freed.screw is None or freed.torque_Nm is None
        else f"jack screws: {freed.screws} x {freed.screw.size}, class {freed.screw.property_class}, {sensible(freed.torque_Nm)} N·m each"
    )  # fmt: skip
    return [
        f"{sensible(1e-3 * freed.force_N)} kN draws the wedge out at the high friction, {sensible(1e-3 * freed.with_rust_N)} kN where it has corroded in; it lets go after {sensible(freed.stroke_mm)} mm",
        screws,
        f"by a blow: {sensible(freed.energy_J)} J, which {freed.blow_mass_kg:g} kg have at {sensible(freed.blow_m_s)} m/s",
        f"unasked, bolt slack, {sensible(freed.accident_J)} J along the wedge knock it out: self-locking alone is not retention",
        f"the clamp stores {sensible(freed.stored_J)} J: the wedge jumps when it lets go, nobody stands in its line",
    ]


def _wear_lead(found: Retention) -> str:
    wear = found.wear
    if wear is None:
        return ""
    limit = wear.limit
    by = {
        "edge": f"the near slot's rim then bears {limit.allowed_MPa:g} MPa",
        "travel": "the wedge has no travel left",
        "nothing": "one wall alone bears the hit",
    }[limit.governs]
    size = (
        "No limit follows"
        if math.isinf(limit.limit_mm)
        else f"Limit {sensible(limit.limit_mm)} mm of clearance at the far slot"
    )
    return f"{size}: {by}, under {wear.hit!r}. The clamped faces may lose {sensible(wear.faces_um)} µm until the bolts must be tightened again."
