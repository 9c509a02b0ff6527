"""The tables of a study file, found and checked for what may stand where."""

from __future__ import annotations

from collections import Counter
from typing import Any

from ..errors import MISSING, Fault, nearest
from .contact_table import CONTACT, contact_tables
from .life_tables import BELOW, DUTY, END, END_STATE, LIFE, WELD
from .parts import PART, extra_tables, has_cutout
from .positions import Path
from .reading import Document
from .tables import (
    ACCURACY,
    BAR,
    CONDITION,
    CUTOUT,
    LIMIT,
    LOAD,
    MACHINE,
    MATERIAL,
    ROTOR_PART,
    Form,
    Table,
    field_names,
)

__all__ = ["Layout"]

_VARIANTS_KEYS = ("combine", "leave_out_impossible")
_COMBINE = ("multiply", "zip")
_HOMES = (
    (PART, "[part]"),
    (CUTOUT, "[part.cutout]"),
    (MATERIAL, "[material]"),
    (LOAD, "[[load]]"),
    (CONTACT, "[load.contact] of a wedge_clamp"),
    (MACHINE, "[machine]"),
    (BAR, "[machine.bar]"),
    (ACCURACY, "[accuracy]"),
    (LIFE, "[life]"),
    (DUTY, "[[duty]]"),
    *((form, f"[life.{name}]") for name, form in BELOW.items()),
    (WELD, "[[life.weld]]"),
    (END, "[drum_end]"),
    (END_STATE, "[[drum_end.state]]"),
)

# loads that hold the rotation of the shell itself
SPINS = ("rotation", "through_bar", "overspeed")


class Layout:
    """The tables, and the faults of their layout. Values are judged when the model is built from them."""

    def __init__(self, doc: Document, name: str) -> None:
        self.doc = doc
        self.faults: list[Fault] = []
        self.combine, self.leave_out = "multiply", False
        self.title = name
        self._title()
        self._tables()
        self._variants_table()
        for table in (*self.tables, *self.fixed):
            table.check()
            self.faults += table.faults
        self._names()
        self._condition_names()

    def add(self, key: str, value: object, allowed: str, way_out: str = "", path: Path | None = None) -> None:
        """Note a fault of the file by the full name of its field."""
        line = self.doc.line(path if path is not None else tuple(key.split(".")))
        self.faults.append(Fault(key, value, allowed, way_out, line))

    def _title(self) -> None:
        title = self.doc.values.get("title", self.title)
        if not isinstance(title, str) or not title.strip():
            self.add("title", title, "must be a text")
        else:
            self.title = title

    def _tables(self) -> None:
        values = self.doc.values
        extra = extra_tables(values)
        known = [
            "title",
            "part",
            "material",
            "machine",
            "load",
            "condition",
            "duty",
            "life",
            "drum_end",
            "drum",
            "rest_of_drum",
            "accuracy",
            "variants",
        ]
        for key, value in values.items():
            if key not in known and key not in extra:
                self.add(key, MISSING if isinstance(value, (dict, list)) else value,
                         f"is not known here; a study has {', '.join([*known, *extra])}", self._home(key, known))  # fmt: skip
        self.part = self._table(PART, ("part",), "say what is to be solved")
        cutout_home = self.part.values if self.part else {}
        self.cutout: Table | None = None
        if self.part and has_cutout(self.part):
            self.cutout = self._table(CUTOUT, ("part", "cutout"), "say the shape of the opening", cutout_home)
        self.material = self._table(MATERIAL, ("material",), 'give a grade, such as grade = "S355", or own values')
        self.accuracy = self._table(ACCURACY, ("accuracy",), None)
        self.loads = self._many(LOAD, ("load",), required=True)
        self.contacts = contact_tables(self.loads, self.add)
        self.conditions = self._many(CONDITION, ("condition",), required=False)
        self.extra = {key: self._many(form, (key,), required=False) for key, form in extra.items()}
        self._machine_tables()
        self._life_tables()
        single = (self.part, self.cutout, self.material, self.accuracy, self.machine, self.bar)
        self.tables = [t for t in single if t is not None]
        self.tables += (
            self.loads
            + list(self.contacts.values())
            + self.limits
            + self.rotor_parts
            + self.conditions
            + [t for many in self.extra.values() for t in many]
        )

    def _life_tables(self) -> None:
        """[life], what stands in it, and [[duty]]. Nothing of it varies, so they are no axes."""
        self.life = self._table(LIFE, ("life",), "") if "life" in self.doc.values else None
        home = self.life.values if self.life else {}
        tables = {name: self._table(form, ("life", name), "", home) for name, form in BELOW.items() if name in home}
        self.below_life = {name: table for name, table in tables.items() if table is not None}
        self.welds = self._many(WELD, ("life", "weld"), required=False, home=home)
        self.duties = self._many(DUTY, ("duty",), required=False)
        self.end = self._table(END, ("drum_end",), "") if "drum_end" in self.doc.values else None
        home = self.end.values if self.end else {}
        finish = BELOW["finish"]
        self.end_finish = self._table(finish, ("drum_end", "finish"), "", home) if "finish" in home else None
        self.end_states = self._many(END_STATE, ("drum_end", "state"), required=self.end is not None, home=home)
        ends = [t for t in (self.end, self.end_finish) if t is not None]
        self.fixed = [
            *ends,
            *self.end_states,
            *([self.life] if self.life else []),
            *self.below_life.values(),
            *self.welds,
            *self.duties,
        ]

    def _machine_tables(self) -> None:
        self.machine = self._table(MACHINE, ("machine",), "") if "machine" in self.doc.values else None
        home = self.machine.values if self.machine else {}
        self.bar = self._table(BAR, ("machine", "bar"), "", home) if "bar" in home else None
        self.limits = self._many(LIMIT, ("machine", "limit"), required=False, home=home)
        self.rotor_parts = self._many(ROTOR_PART, ("machine", "rotor_part"), required=False, home=home)

    def _home(self, key: str, known: list[str]) -> str:
        """Where a stray key may belong."""
        for form, home in _HOMES:
            if any(key in field_names(form, c) for c in form.classes.values()):
                return f"it belongs under {home}"
        return nearest(key, known)

    def _table(self, form: Form, path: Path, need: str | None, home: dict[str, Any] | None = None) -> Table | None:
        name = ".".join(str(p) for p in path)
        value = (self.doc.values if home is None else home).get(str(path[-1]), MISSING)
        if value is MISSING and need is None:
            value = {}
        if not isinstance(value, dict):
            missing = value is MISSING
            hint = "the lists that vary go inside it" if isinstance(value, list) else need or ""
            shown = MISSING if isinstance(value, list) else value
            self.add(name, shown, f"{'is missing; ' if missing else ''}must be one table, [{name}]", hint, path)
            return None
        if form is MATERIAL:
            value = self._grade_or_own(value)
        return Table(form, path, name, value, self.doc)

    def _grade_or_own(self, value: dict[str, Any]) -> dict[str, Any]:
        own = [k for k in value if k in field_names(MATERIAL, MATERIAL.classes[""]) and k != "grade"]
        if "grade" not in value or not own:
            return value
        way_out = "give a grade or own values, not both"
        self.add(f"material.{own[0]}", value[own[0]], "cannot stand beside a grade", way_out)
        return {k: v for k, v in value.items() if k not in own}

    def _many(self, form: Form, path: Path, *, required: bool, home: dict[str, Any] | None = None) -> list[Table]:
        key = ".".join(str(p) for p in path)
        value = (self.doc.values if home is None else home).get(str(path[-1]), MISSING)
        if value is MISSING and not required:
            return []
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            missing = value is MISSING
            shown = MISSING if missing or isinstance(value, (dict, list)) else value
            way = (
                f"write [[{key}]] with two brackets"
                if isinstance(value, dict)
                else f"each {path[-1]} is a table [[{key}]]"
            )
            self.add(key, shown, f"{'is missing; ' if missing else ''}must be one or more tables, [[{key}]]", way)
            return []
        if not value and required:
            self.add(key, value, f"must be one or more tables, [[{key}]]")
        names = Counter(str(v.get("name")) for v in value if "name" in v)
        return [
            Table(form, (*path, n), f"{key}.{v['name']}" if names.get(str(v.get("name"))) == 1 else f"{key}[{n + 1}]", v, self.doc)
            for n, v in enumerate(value)
        ]  # fmt: skip

    def _variants_table(self) -> None:
        value = self.doc.values.get("variants", {})
        if not isinstance(value, dict):
            self.add("variants", value, "must be one table, [variants]")
            return
        for key in value:
            if key not in _VARIANTS_KEYS:
                allowed = f"is not known here; [variants] takes {', '.join(_VARIANTS_KEYS)}"
                self.add(f"variants.{key}", value[key], allowed, nearest(key, _VARIANTS_KEYS))
        combine, leave_out = value.get("combine", "multiply"), value.get("leave_out_impossible", False)
        if combine in _COMBINE:
            self.combine = combine
        else:
            self.add("variants.combine", combine, "must be 'multiply' or 'zip'", nearest(combine, _COMBINE))
        if isinstance(leave_out, bool):
            self.leave_out = leave_out
        else:
            self.add("variants.leave_out_impossible", leave_out, "must be true or false, without quotes")

    def _names(self) -> None:
        """Loads are told apart by name in the results."""
        seen: dict[str, Table] = {}
        for table in self.loads:
            kind = table.kind({}) if not isinstance(table.values.get("kind"), list) else None
            name = table.values.get("name", kind)
            if not isinstance(name, str):
                continue
            if name in seen:
                first = seen[name].doc.line(seen[name].path)
                given = "name" in table.values
                table.faults.clear()
                table.add("name", name if given else MISSING,
                          f"{'is' if given else 'is missing, and the kind would be'} the name of the load at line {first} too",
                          "give each load a name of its own")  # fmt: skip
                self.faults += table.faults
            seen.setdefault(name, table)

    def _condition_names(self) -> None:
        """Conditions have names of their own, beside those of the loads, and speak of loads that are there."""
        loads: dict[str, Table] = {}
        varying: list[str] = []
        for table in self.loads:
            kind = table.values.get("kind")
            name = table.values.get("name", kind)
            if isinstance(name, str):
                loads.setdefault(name, table)
            elif isinstance(name, list):
                varying += [k for k in name if isinstance(k, str)]
        seen = {name: f"the load at line {t.doc.line(t.path)}" for name, t in loads.items()}
        for table in self.conditions:
            table.faults.clear()
            self._condition_name(table, seen)
            given = table.values.get("loads")
            for load, share in given.items() if isinstance(given, dict) else ():
                if load not in loads:
                    way_out = nearest(load, loads)
                    if load in varying:
                        way_out = "a load whose kind varies needs a name before a condition can speak of it"
                    self.add(f"{table.name}.loads.{load}", share, f"names no load of this study, which has {', '.join(loads)}",
                             way_out, (*table.path, "loads", load))  # fmt: skip
            if isinstance(given, dict):
                self._spins_once(table, given, loads)
            self.faults += table.faults

    def _spins_once(self, table: Table, given: dict[str, Any], loads: dict[str, Table]) -> None:
        """The shell's own rotation is part of several loads; a state has it once."""
        spins = [name for name in given if name in loads and loads[name].values.get("kind") in SPINS]
        if len(spins) > 1:
            key = f"{table.name}.loads.{spins[1]}"
            self.add(key, given[spins[1]], f"spins the shell a second time, after {spins[0]!r}",
                     f"{', '.join(SPINS)} hold the shell's own rotation each: keep one of them", (*table.path, "loads", spins[1]))  # fmt: skip

    @staticmethod
    def _condition_name(table: Table, seen: dict[str, str]) -> None:
        name = table.values.get("name")
        if isinstance(name, str):
            if name in seen:
                table.add("name", name, f"is the name of {seen[name]} too", "give each condition a name of its own")
            seen.setdefault(name, f"the condition at line {table.doc.line(table.path)}")
