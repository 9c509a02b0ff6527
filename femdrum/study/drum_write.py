"""A whole drum's answer as files: rows, slots, masses, bearings, critical speeds as CSV, and everything as JSON.

Slots and rows are numbered from 1. Every file is whole or not there.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..assess.whole_drum_words import NOT_CHECKED, answer_sentences
from ..errors import MISSING, Fault, FileFault
from ..figure import Figure
from .answers import finite
from .drum_sheet import DrumSheet
from .plain import to_plain
from .store import writing
from .work import versions

if TYPE_CHECKING:
    from ..assess.whole_drum_result import StateAnswer, WholeDrum
    from ..rotor.rows import RowLoads

__all__ = ["TABLES", "drum_record", "drum_tables", "write_drum"]

Rows = list[list[Any]]
# below this a moment points nowhere, N mm
NOTHING_NMM = 1.0

TABLES = {
    "rows": (
        "state", "row", "z_mm", "along_mm", "angle_deg", "slots", "moment_largest_kNm", "moment_reversed_amplitude_kNm",
        "moment_reversed_direction_deg", "moment_turning_kNm", "moment_turning_direction_deg", "shear_kN", "torque_kNm",
        "hammer_force_kN", "hammer_pull_kN", "cutting_force_kN", "to_disc_mm",
    ),
    "slots": ("slot", "row", "around", "angle_deg", "x_mm", "y_mm", "z_mm", "opposite"),
    "masses": ("body", "count", "mass_kg", "centre_x_mm", "centre_y_mm", "centre_z_mm", "inertia_kg_m2"),
    "bearings": (
        "state", "bearing", "standing_kN", "turning_kN", "mean_kN", "thrust_kN", "equivalent_kN", "largest_kN", "life_h",
        "static_safety", "load_over_rating", "rating_for_target_kN",
    ),
    "critical_speeds": (
        "excitation", "order", "mode", "direction", "excited", "speed_rpm", "frequency_Hz", "nearest_state", "away_pct",
    ),
}  # fmt: skip


def drum_tables(got: WholeDrum) -> dict[str, Rows]:
    """Rows of every table by its name, columns as in TABLES."""
    return {
        "rows": [_row(got, state, row) for state in got.states for row in state.rows],
        "slots": [
            [s.number + 1, s.row + 1, s.around + 1, s.angle_deg, s.x_mm, s.along_mm, s.z_mm,
             None if s.opposite is None else s.opposite + 1]
            for s in got.slots
        ],
        "masses": _masses(got),
        "bearings": [line for state in got.states for line in _bearings(got, state)],
        "critical_speeds": _criticals(got),
    }  # fmt: skip


def _direction(row: RowLoads, frame: str) -> float | None:
    moment = row.moment_Nmm(frame)
    return row.direction_deg(moment, frame) if abs(moment) > NOTHING_NMM else None


def _row(got: WholeDrum, state: StateAnswer, row: RowLoads) -> list[Any]:
    return [
        state.name, row.row + 1, row.z_mm, row.z_mm - got.drum.shell_z_mm, row.angle_deg,
        " ".join(str(n + 1) for n in row.slots), 1e-6 * row.largest_moment_Nmm, 1e-6 * row.rotating_amplitude_Nmm,
        _direction(row, "space"), 1e-6 * abs(row.moment_Nmm("drum")), _direction(row, "drum"), 1e-3 * row.shear_N,
        1e-6 * row.torque_Nmm, 1e-3 * row.hammer_force_N, 1e-3 * row.hammer_pull_N, 1e-3 * row.cutting_force_N, row.to_disc_mm,
    ]  # fmt: skip


def _masses(got: WholeDrum) -> Rows:
    from ..rotor.bodies import bodies

    heap = bodies(got.drum, got.material)
    out: Rows = []
    for part in got.masses.parts:
        own = [i for i, name in enumerate(heap.names) if name == part.name]
        mass = heap.mass_kg[own]
        centre = mass @ heap.centre_mm[own] / mass.sum()
        out.append([part.name, part.count, part.mass_kg, *map(float, centre), part.inertia_kg_m2])
    m = got.masses
    return [*out, ["whole rotor", len(heap), m.mass_kg, *map(float, m.centre_mm), m.polar_kg_m2]]


def _bearings(got: WholeDrum, state: StateAnswer) -> Iterable[list[Any]]:
    lives = {} if state.life is None else {b.side: b for b in state.life.bearings}
    for load in state.bearings:
        life = lives.get(load.side)
        needed = None
        if life is not None:
            from ..rotor.bearing_life import required_rating_kN

            bearing = got.drum.drive_bearing if load.side == "drive" else got.drum.other_bearing
            assert bearing is not None
            needed = required_rating_kN(
                load_kN=1e-3 * load.equivalent_N, life_Mrev=60e-6 * state.running.speed_rpm * got.wanted.target_h,
                bearing_kind=bearing.bearing_kind,
            )  # fmt: skip
        forces = (load.standing_N, load.turning_N, load.mean_N, load.thrust_N, load.equivalent_N, load.largest_N)
        yield [
            state.name, load.side, *(1e-3 * force for force in forces),
            *((None, None, None) if life is None else (life.life_h, life.static_safety, life.load_share)), needed,
        ]  # fmt: skip


def _criticals(got: WholeDrum) -> Rows:
    """All crossings of the Campbell plot, then the speeds beyond it that an unbalance meets."""
    found: list[tuple[Any, ...]] = [
        (c.excitation, c.order, c.mode, c.direction, c.excited, c.speed_rpm, c.frequency_Hz) for c in got.crossings
    ]
    top = -math.inf if got.campbell is None else float(got.campbell.speed_rpm[-1])
    for c in got.criticals:
        if c.speed_rpm > top:
            met = c.direction > -0.999
            found.append(("unbalance", c.order, "", c.direction, met, c.speed_rpm, c.order * c.speed_rpm / 60))
    out: Rows = []
    for item in found:
        near = min(got.states, key=lambda s, n=item[5]: abs(n / s.running.speed_rpm - 1))  # type: ignore[misc]
        out.append([*item, near.name, 100 * (item[5] / near.running.speed_rpm - 1)])
    return out


def _figure(f: Figure) -> dict[str, Any]:
    where = f.provenance
    return {
        "what": f.what, "value": f.value, "unit": f.unit, "formula": f.formula, "from": str(where), "kind": where.kind.value,
        "source": where.source, "seen": where.seen,
    }  # fmt: skip


def _of_table(name: str, rows: Rows) -> list[dict[str, Any]]:
    return [dict(zip(TABLES[name], row, strict=True)) for row in rows]


def _pair(value: complex) -> list[float]:
    return [value.real, value.imag]


def _causes(row: RowLoads) -> list[dict[str, Any]]:
    return [
        {
            "name": c.name, "frame": c.frame, "steady": c.steady, "moment_Nmm": _pair(c.moment_Nmm),
            "shear_before_N": _pair(c.shear_before_N), "shear_after_N": _pair(c.shear_after_N),
            "torque_before_Nmm": c.torque_before_Nmm, "torque_after_Nmm": c.torque_after_Nmm,
        }
        for c in row.causes
    ]  # fmt: skip


def _state(state: StateAnswer, tables: dict[str, Rows]) -> dict[str, Any]:
    rows = [r for r in _of_table("rows", tables["rows"]) if r["state"] == state.name]
    return {
        "name": state.name,
        "speed_rpm": state.running.speed_rpm,
        "power_kW": state.running.power_kW,
        "time_share": state.time_share,
        "unbalance": to_plain(state.running.unbalance),
        "tip_speed_m_s": state.tip_speed_m_s,
        "energy_J": state.energy_J,
        "worst_row": state.worst_row.row + 1,
        "rows": [{**told, "causes": _causes(row)} for told, row in zip(rows, state.rows, strict=True)],
        "bearings": [b for b in _of_table("bearings", tables["bearings"]) if b["state"] == state.name],
        "life_of_both_bearings_h": None if state.life is None else state.life.system_h,
        "stubs": [{**to_plain(s), "least_safety": s.least_safety} for s in state.stubs],
        "pattern": to_plain(state.pattern),
        "shell_modes": to_plain(state.shell.modes),
        "separations": [{"excitation": name, **to_plain(apart)} for name, apart in state.separations],
        "figures": [_figure(f) for f in state.figures],
        "warnings": list(state.warnings),
    }


def drum_record(sheet: DrumSheet, got: WholeDrum, *, caution: str = "") -> dict[str, Any]:
    """Everything as plain values, every derived number with where it comes from. Numbers of slots and rows from 1."""
    tables = drum_tables(got)
    m, found, lost = got.masses, got.campbell, got.lost
    record = {
        "made by": "femdrum",
        "title": sheet.title,
        "name": sheet.name,
        "versions": versions(),
        "answer": list(answer_sentences(got)),
        "drum": to_plain(got.drum),
        "material": {**to_plain(got.material), "provenance": str(got.material.provenance or "")},
        "rotor": to_plain(got.wanted),
        "slots": _of_table("slots", tables["slots"]),
        "masses": {
            "bodies": _of_table("masses", tables["masses"]),
            "mass_kg": m.mass_kg,
            "centre_mm": m.centre_mm.tolist(),
            "inertia_kg_m2": m.inertia_kg_m2.tolist(),
            "polar_kg_m2": m.polar_kg_m2,
            "unbalance_g_mm": m.unbalance_g_mm.tolist(),
            "couple_kg_mm2": m.couple_kg_mm2.tolist(),
        },
        "permissible_unbalance_g_mm": got.permissible_g_mm,
        "unbalance_taken_as_left_g_mm": got.left_g_mm,
        "states": [_state(state, tables) for state in got.states],
        "life_over_all_states_h": got.life_h,
        "critical_speeds": _of_table("critical_speeds", tables["critical_speeds"]),
        "campbell": None if found is None else {
            "speed_rpm": found.speed_rpm.tolist(), "modes": list(found.modes), "frequency_Hz": found.frequency_Hz.tolist(),
            "direction": found.direction.tolist(),
        },
        "overspeed": None if got.overspeed is None else to_plain(got.overspeed),
        "lost_hammer": None if lost is None else {**to_plain(lost), "slot": lost.slot + 1},
        "coast_down_s": got.coast_down_s,
        "figures": [_figure(f) for f in got.figures],
        "notes": list(got.notes),
        "warnings": list(got.warnings),
        "left_out": to_plain(got.left_out),
        "not_checked": list(NOT_CHECKED),
        "file": sheet.source,
        "caution": caution,
    }  # fmt: skip
    return dict(finite(record))


def write_drum(sheet: DrumSheet, got: WholeDrum, folder: Path, *, caution: str = "") -> list[Path]:
    """All CSV files and rotor.json into a folder, which is made. Raises FileFault where it cannot be written."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        out = [_csv(folder / f"{name}.csv", TABLES[name], rows) for name, rows in drum_tables(got).items()]
        path = folder / "rotor.json"
        with writing(path) as file:
            json.dump(drum_record(sheet, got, caution=caution), file, indent=1, ensure_ascii=False, allow_nan=False)
            file.write("\n")
    except OSError as error:
        why = error.strerror or str(error)
        raise FileFault(
            Fault(str(folder), MISSING, f"results cannot be written there: {why}", "--out FOLDER names another place")
        ) from error
    return [*out, path]


def _csv(path: Path, head: Sequence[str], rows: Rows) -> Path:
    with writing(path) as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(head)
        table.writerows([[_cell(value) for value in row] for row in rows])
    return path


def _cell(value: Any) -> Any:
    value = finite(value)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return repr(value) if isinstance(value, float) else value
