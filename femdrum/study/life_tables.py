"""[life] and [[duty]] of a study file: what may stand there, and what does not go together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from ..errors import MISSING, Fault, InputFault, nearest
from .tables import Form, Late, Table

if TYPE_CHECKING:
    from ..assess.life_plan import LifePlan
    from ..model.duty import Duty
    from ..model.end_input import EndInput, EndState
    from ..model.life_input import LifeInput
    from ..model.weld import WeldDetail
    from ..strength.cycles import Cycles

__all__ = ["BELOW", "DUTY", "END", "END_STATE", "LIFE", "WELD", "life_of_tables", "variant_faults"]

LIFE = Form(
    "life", "", Late("life_input", "LifeInput"), elsewhere=("finish", "crack", "scatter", "welds"),
    below=("finish", "crack", "scatter", "weld"),
)  # fmt: skip
DUTY = Form("duty", "", Late("duty", "Duty"))
# single tables inside [life]
BELOW = {
    "finish": Form("finish", "", Late("finish", "Finish")),
    "crack": Form("crack", "", Late("crack_input", "CrackInput")),
    "scatter": Form("scatter", "", Late("scatter_input", "ScatterInput")),
}
WELD = Form("weld", "", Late("weld", "WeldDetail"))
END = Form("drum_end", "", Late("drum_end", "DrumEnd"), below=("finish", "state"))
END_STATE = Form("state", "", Late("end_input", "EndState"))


def life_of_tables(
    life: Table | None,
    below: dict[str, Table],
    welds: Sequence[Table],
    duties: Sequence[Table],
    end: tuple[Table | None, Table | None, Sequence[Table]],
    conditions: Sequence[str],
    machine_speed: bool,
    folder: FilePath,
) -> tuple[LifePlan | None, list[Fault]]:
    """What the study asks about life, None where it asks nothing; and all that is wrong with it."""
    drawn, finish, end_states = end
    if life is None:
        return None, [_no_life(t) for t in [*duties[:1], *([drawn] if drawn else [])]]
    from ..assess.life_plan import LifePlan

    faults = _fixed([life, *below.values(), *welds, *duties, *(t for t in (drawn, finish) if t), *end_states])
    if faults:
        return None, faults
    parts: dict[str, Any] = {}
    for name, table in below.items():
        parts[name], own = table.make({})
        faults += own
    made = [table.make({}) for table in welds]
    faults += [fault for _, own in made for fault in own]
    faults += [
        f for table, (weld, _) in zip(welds, made, strict=True) if weld is not None for f in _no_class(table, weld)
    ]
    if "finish" not in below:
        faults.append(Fault("life.finish", MISSING, "is missing; must be one table, [life.finish]",
                            'say how the slot\'s edge was cut, such as process = "flame cut"', life.doc.line(life.path)))  # fmt: skip
    elif parts["finish"] is not None and not faults:
        parts["welds"] = tuple(weld for weld, _ in made)
        if parts.get("crack") is not None and "process" not in below["crack"].values:
            parts["crack"] = replace(parts["crack"], process=parts["finish"].process)
    wanted, own = life.make({}, **{k: v for k, v in parts.items() if v is not None})
    faults += [f for f in own if not f.field.startswith(tuple(f"life.{name}" for name in LIFE.below))]
    rows: list[Duty] = []
    for table in duties:
        row, own = table.make({})
        faults += own
        if row is not None:
            faults += _row_faults(table, row, conditions, machine_speed)
            rows.append(row)
    if not duties:
        faults.append(Fault("duty", MISSING, "is missing: a life needs how often each condition occurs",
                            'add tables [[duty]] with condition, cycle and per_1000_h', life.doc.line(life.path)))  # fmt: skip
    faults += _twice(duties, rows)
    if faults:
        return None, faults
    measured: dict[str, Cycles] = {}
    for table, row in zip(duties, rows, strict=True):
        if row.history:
            try:
                measured[row.name] = _count(folder / row.history, row)
            except InputFault as error:
                faults += [_of_history(table, row, fault, folder / row.history) for fault in error.faults]
    whole, own = _end(drawn, finish, end_states, rows, wanted, life)
    faults += own
    return (None, faults) if faults else (LifePlan(wanted, tuple(rows), measured, whole), [])


def _end(
    drawn: Table | None,
    finish: Table | None,
    tables: Sequence[Table],
    rows: Sequence[Duty],
    wanted: LifeInput,
    life: Table,
) -> tuple[EndInput | None, list[Fault]]:
    """The drum's end, which must say what every state of the duty does to it."""
    if drawn is None:
        there = [weld.name for weld in wanted.welds if weld.place == "drum end"]
        if there:
            return None, [Fault("drum_end", MISSING, f"is missing; weld {there[0]!r} stands there",
                                "draw it in [drum_end], with [[drum_end.state]] for each condition", life.doc.line(life.path))]  # fmt: skip
        return None, []
    end, faults = drawn.make({})
    smooth, own = (None, []) if finish is None else finish.make({})
    faults = [*faults, *own]
    states: list[EndState] = []
    for table in tables:
        state, own = table.make({})
        faults += own
        if state is not None:
            states.append(state)
    given = Counter(s.condition for s in states)
    needed = dict.fromkeys(name for row in rows for name in (row.condition, row.back_to) if name)
    if len(states) == len(tables):
        for name in needed:
            if name not in given:
                faults.append(Fault("drum_end.state", MISSING, f"says nothing of condition {name!r}, which the duty uses",
                                    "add [[drum_end.state]] with this condition; without forces it is an end at rest",
                                    drawn.doc.line(drawn.path)))  # fmt: skip
        faults += [
            table.locate(Fault("condition", s.condition, "has more than one state", "keep one"), {})
            for table, s in zip(tables, states, strict=True)
            if given[s.condition] > 1
        ]
        if states and all(s.loads is None for s in states):
            faults.append(Fault("drum_end.state", MISSING, "loads the end in no state", "give speed, torque, bending or shear",
                                drawn.doc.line(drawn.path)))  # fmt: skip
    if faults or end is None:
        return None, faults
    from ..model.end_input import EndInput

    return EndInput(end=end, states=tuple(states), **({} if smooth is None else {"finish": smooth})), []


def variant_faults(plan: LifePlan, part: Any, material: Any) -> list[Fault]:
    """What a variant lacks for the life that is asked."""
    faults = []
    if part.kind == "ring" and plan.wanted.rows_total is None:
        faults.append(Fault("life.rows_total", MISSING, "is missing; must be the rows of slots on the whole drum",
                            "equal corners weaken each other, so the life of one row says nothing of the drum"))  # fmt: skip
    if part.kind == "mesh":
        faults.append(Fault("life", MISSING, "cannot be reckoned for a mesh from a file", "use a ring or a plate"))
    for name in ("ultimate_MPa", "yield_MPa"):
        if getattr(material, name) is None:
            faults.append(Fault(f"material.{name}", MISSING, "is missing; a life is reckoned from the material's strength",
                                f"give {name}, or a grade (the part's thickness is known)"))  # fmt: skip
    if getattr(getattr(part, "cutout", None), "sharp", False):
        faults.append(Fault("part.cutout.corner_radius_mm", 0, "gives no life: a sharp corner has no finite peak",
                            "give the real radius, measured; a cut never leaves zero"))  # fmt: skip
    return faults


def _no_life(table: Table) -> Fault:
    return Fault("duty", MISSING, "stands without a table [life]",
                 "add [life] with target_h and rows_total, and [life.finish]", table.doc.line(table.path))  # fmt: skip


def _fixed(tables: Sequence[Table]) -> list[Fault]:
    """Lists are axes elsewhere; a life is reckoned for all variants alike."""
    return [
        Fault(f"{t.name}.{key}", value, "must be one value: the life is reckoned for all variants alike",
              "write a second study to compare", t.doc.line((*t.path, key)))
        for t in tables
        for key, value in t.values.items()
        if isinstance(value, list) and key not in t.form.below and key not in t.form.lists
    ]  # fmt: skip


def _row_faults(table: Table, row: Duty, conditions: Sequence[str], machine_speed: bool) -> list[Fault]:
    faults = []
    for key in ("condition", "back_to"):
        name = getattr(row, key)
        if name and name not in conditions:
            known = f"which has {', '.join(conditions)}" if conditions else "which has none"
            way_out = nearest(name, conditions) or "write a [[condition]] with this name and its loads"
            faults.append(
                table.locate(Fault(key, name, f"names no condition or load of this study, {known}", way_out), {})
            )
    if row.cycle == "rotating" and row.speed_rpm is None and not machine_speed:
        way_out = "give speed_rpm here, or under [machine]"
        faults.append(table.locate(Fault("speed_rpm", MISSING, "is missing; a rotating row counts turns", way_out), {}))
    return faults


def _twice(tables: Sequence[Table], rows: Sequence[Duty]) -> list[Fault]:
    names = Counter(row.name for row in rows)
    twice = {name for name, times in names.items() if times > 1}
    if len(tables) != len(rows):
        return []
    return [
        table.locate(Fault("name", row.name, "is the name of more than one row", "give each row a name of its own"), {})
        for table, row in zip(tables, rows, strict=True)
        if row.name in twice
    ]


def _no_class(table: Table, weld: WeldDetail) -> list[Fault]:
    """A detail that no table of classes names under its method."""
    from ..strength.weld_class import weld_class

    try:
        weld_class(weld.detail, weld.method)
    except InputFault as error:
        return [table.locate(fault, {}) for fault in error.faults]
    return []


def _count(path: FilePath, row: Duty) -> Cycles:
    from ..strength.measured import count_file

    return count_file(path, row.column).cycles


def _of_history(table: Table, row: Duty, fault: Fault, path: FilePath) -> Fault:
    """A fault of the recording, with the row that names it and the recording's own line."""
    what = fault.field.removeprefix(str(path)).removeprefix(":").strip()
    where = f", line {fault.line}" if fault.line is not None else ""
    field = f"{table.name}.history {row.history!r}{where}" + (f": {what}" if what not in ("", "file") else "")
    value = MISSING if fault.value == str(path) else fault.value
    return Fault(field, value, fault.allowed, fault.way_out, table.doc.line((*table.path, "history")))
