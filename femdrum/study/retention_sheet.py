"""Retention by a file: a TOML of plain tables in, retention.csv and retention.json out."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from ..assess.retention import NOT_CHECKED, Retention, RetentionInput, retention
from ..errors import InputFault
from ..model.clamp import Clamp, Seat
from ..model.retention_input import Accident, Hit, ReleaseAsked, SeatError, Turning, WearAsked
from ..rotor.bar_loads import FaceLoads
from ..rotor.wear import FrettingPlace
from .plain import to_plain
from .sheet import Sheet, read_sheet
from .sheet_folder import check_folder, csv_text, figure_records, json_text, lined, write_files

__all__ = [
    "RETENTION_COLUMNS",
    "RETENTION_KIND",
    "read_retention",
    "retention_record",
    "solve_retention",
    "write_retention",
]

RETENTION_KIND = "retention"
CSV, JSON = "retention.csv", "retention.json"

FORMS: dict[str, Any] = {
    "clamp": Clamp,
    "turning": tuple[Turning, ...],
    "hit": tuple[Hit, ...],
    "accident": tuple[Accident, ...],
    "face_load": tuple[FaceLoads, ...],
    "seat": tuple[Seat, ...],
    "seat_error": SeatError,
    "wear": WearAsked,
    "fretting": tuple[FrettingPlace, ...],
    "release": ReleaseAsked,
}

RETENTION_COLUMNS = {
    "condition": "name of the condition; of a hit with the slot it is about",
    "face": "flank, wedge, or stop (accident: the positive stop alone counts)",
    "tramp": "a rare hit of foreign metal: less safety is asked",
    "speed_rpm": "speed in the condition",
    "slot_opening_um": "opening of the slot between its flanks, as given",
    "normal_N": "change of the face's normal force by the load, positive presses",
    "tangential_N": "force along the face; in the accident case the pull on the stop",
    "rim_relief_N": "what a tipping moment takes off the worst rim, as a force over the whole face",
    "clamp_least_N": "least clamp in the condition, before the load itself; empty for the stop",
    "clamp_most_N": "largest force of the face with the load, or after a stop; empty for the stop",
    "residual_share": "force left at the worst rim over the assembled least clamp; above 0.1 is asked; empty for the stop",
    "slip_safety": "friction over what it has to carry; of the stop capacity over demand; empty where there is nothing to carry",
    "safety_required": "what is asked of it",
    "needed_against_opening_N": "assembled clamp with which the face just does not open; empty for the stop",
    "needed_against_slip_N": "assembled clamp with which the face just does not slip; empty for the stop",
    "governs": "which of both asks more: opening or slip; neither where the load asks for no clamp; stop in the accident case",
    "verdict": "holds, opens, slips, opens and slips, stop holds, stop too weak",
}


def read_retention(path: str | os.PathLike[str]) -> tuple[Sheet, RetentionInput]:
    """The file and what it asks. Raises InputFault with all that is wrong, each with its line."""
    sheet = read_sheet(path, FORMS, needed=("clamp",))
    try:
        given = RetentionInput(
            clamp=sheet["clamp"], face_loads=sheet["face_load"], hits=sheet["hit"], turnings=sheet["turning"], accidents=sheet["accident"],
            seats=sheet["seat"], seat_error=sheet["seat_error"], wear=sheet["wear"], fretting=sheet["fretting"],
            release=sheet["release"] or ReleaseAsked(),
        )  # fmt: skip
    except InputFault as error:
        raise lined(error, sheet) from None
    return sheet, given


def solve_retention(path: str | os.PathLike[str]) -> tuple[Sheet, Retention]:
    """Read a file and prove retention. Raises InputFault."""
    sheet, given = read_retention(path)
    return sheet, retention(given)


def retention_rows(found: Retention) -> list[dict[str, Any]]:
    """A row for each condition and face."""
    rows = []
    for face in found.faces:
        row, load = face.row, face.load
        held = not row.accident
        rows.append(
            {
                "condition": row.condition,
                "face": row.face,
                "tramp": row.tramp,
                "speed_rpm": load.speed_rpm,
                "slot_opening_um": load.slot_opening_um if held else None,
                "normal_N": load.normal_N if held else None,
                "tangential_N": load.tangential_N,
                "rim_relief_N": load.rim_relief_N if held else None,
                "clamp_least_N": row.clamp_least_N if held else None,
                "clamp_most_N": row.clamp_most_N if held else None,
                "residual_share": row.residual_share if held else None,
                "slip_safety": row.slip_safety,
                "safety_required": row.slip_required,
                "needed_against_opening_N": face.against_opening_N if held else None,
                "needed_against_slip_N": face.against_slip_N if held else None,
                "governs": face.governs,
                "verdict": row.verdict,
            }
        )
    return rows


def retention_record(sheet: Sheet, found: Retention) -> dict[str, Any]:
    """Everything as plain values, for retention.json."""
    proof, worst, wear, freed = found.proof, found.worst, found.wear, found.release
    record = {
        "made by": "femdrum",
        "kind": RETENTION_KIND,
        "name": sheet.name,
        "title": sheet.title,
        "verdict": found.verdict,
        "governing": {"condition": worst.row.condition, "face": worst.row.face, "by": worst.governs, "needed_N": worst.row.needed_N},
        "clamp": {
            "assembled_least_N": proof.clamp.assembled_least_N,
            "assembled_most_N": proof.clamp.assembled_most_N,
            "needed_N": proof.least_clamp_N,
            "preload_N": {"least": proof.clamp.preload.min, "most": proof.clamp.preload.max},
            "preload_window_N": {"least": proof.window.min, "most": proof.window.max},
            "torque_window_Nm": _window(proof.torque_window_Nm),
            "torque_Nm": found.given.clamp.bolt.torque_Nm,
        },
        "bolt": {
            "holds": proof.bolt.holds,
            "tightening_share": proof.bolt.tightening_share,
            "service_share": proof.bolt.service_share,
            "bent_share": proof.bolt.bent_share,
            "amplitude_MPa": proof.bolt.amplitude_MPa,
            "endurance_MPa": proof.bolt.endurance_MPa,
            "fatigue_safety": proof.bolt.fatigue_safety,
        },
        "stop": None if proof.stop is None else {"capacity_N": proof.stop.capacity_N, "demand_N": proof.stop.demand_N, "safety": proof.stop.safety, "by": proof.stop.by, "holds": proof.stop.holds},
        "rows": retention_rows(found),
        "release": {
            "force_N": freed.force_N,
            "with_rust_N": freed.with_rust_N,
            "stroke_mm": freed.stroke_mm,
            "energy_J": freed.energy_J,
            "blow_m_s": freed.blow_m_s,
            "blow_mass_kg": freed.blow_mass_kg,
            "jack_screws": freed.screws,
            "jack_screw": None if freed.screw is None else freed.screw.size,
            "jack_screw_class": None if freed.screw is None else freed.screw.property_class,
            "jack_screw_torque_Nm": freed.torque_Nm,
            "knocked_out_unasked_J": freed.accident_J,
            "stored_J": freed.stored_J,
        },
        "wear": None if wear is None else {
            "hit": wear.hit,
            "limit_mm": wear.limit.limit_mm,
            "governs": wear.limit.governs,
            "rim_limit_mm": wear.limit.edge_mm,
            "travel_limit_mm": wear.limit.travel_mm,
            "one_wall_from_mm": wear.limit.one_wall_mm,
            "allowed_MPa": wear.limit.allowed_MPa,
            "faces_um": wear.faces_um,
            "states": [{"clearance_mm": s.clearance_mm, "walls": s.walls, "rim_MPa": s.edge_MPa, "near_N": s.reactions.near_N, "far_N": s.reactions.far_N} for s in wear.states],
        },
        "seats": [_seat(found, n) for n in range(len(found.seats))],
        "fretting": [to_plain(rank) for rank in found.fretting],
        "figures": figure_records(found.figures),
        "warnings": list(found.warnings),
        "notes": list(found.notes),
        "not_checked": list(NOT_CHECKED),
        "columns": RETENTION_COLUMNS,
        "file": sheet.source,
    }  # fmt: skip
    plain: dict[str, Any] = to_plain(record)
    return plain


def _window(pair: tuple[float, float] | None) -> dict[str, Any] | None:
    return None if pair is None else {"least": pair[0], "most": pair[1], "open": pair[0] <= pair[1]}


def _seat(found: Retention, index: int) -> dict[str, Any]:
    seat, error = found.seats[index], found.given.seat_error
    assert error is not None
    pressed = seat.pressure
    common = {
        "name": seat.name,
        "kind": seat.seat.kind,
        "force_N": found.seat_force_N,
        "angle_deg": error.angle_deg,
        "across_deg": error.across_deg,
    }
    if pressed is None:
        return {**common, "refused": seat.refused}
    return {
        **common,
        "mean_MPa": pressed.mean_MPa,
        "peak_MPa": pressed.peak_MPa,
        "contact_share": pressed.contact_share,
        "tilt_left_mrad": pressed.tilt_mrad,
        "lift_off_mrad": pressed.lift_off_mrad,
        "locked_mrad": pressed.locked_mrad,
        "aligns": pressed.aligns,
        "utilisation": pressed.utilisation,
        "course": [
            {"angle_deg": a, "peak_MPa": p, "contact_share": c}
            for a, p, c in zip(seat.course.angles_deg, seat.course.peak_MPa, seat.course.contact_share, strict=True)
        ],
    }


def write_retention(sheet: Sheet, found: Retention, out: str | os.PathLike[str]) -> Path:
    """Write retention.csv and retention.json into a folder; returns it. Raises FileFault where it is not ours to use."""
    folder = check_folder(out, JSON, RETENTION_KIND)
    texts = {
        CSV: csv_text(list(RETENTION_COLUMNS), retention_rows(found)),
        JSON: json_text(retention_record(sheet, found)),
    }
    write_files(folder, texts)
    return folder
