"""The tables of a study file: which fields each may hold, and which of them are axes."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any

from ..errors import MISSING, Fault, InputFault, nearest
from ..model.accuracy import Accuracy
from ..model.condition import Condition
from ..model.cutout import CUTOUTS
from ..model.load import LOADS
from ..model.material import Material
from ..model.mesh_part import MeshPart
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring
from .positions import Path
from .reading import Document

__all__ = [
    "ACCURACY",
    "BAR",
    "CONDITION",
    "CUTOUT",
    "LIMIT",
    "LOAD",
    "MACHINE",
    "MATERIAL",
    "PART",
    "Form",
    "Late",
    "Misfit",
    "Table",
    "drawable",
    "field_names",
    "positive",
]

# other names under which a cutout's size may stand in the file
_ALIASES = {
    "around_mm": ("size_x_mm", "diameter_mm"),
    "axial_mm": ("size_y_mm", "diameter_mm"),
    "size_x_mm": ("around_mm", "diameter_mm"),
    "size_y_mm": ("axial_mm", "diameter_mm"),
}
# these name a thing and do not vary
_NAMES = ("name",)


class Late(Mapping[str, Any]):
    """The one class of a form, loaded when it is first looked at: few studies hold such a table."""

    def __init__(self, file: str, name: str) -> None:
        self.file, self.name = file, name

    def __getitem__(self, kind: str) -> Any:
        if kind:
            raise KeyError(kind)
        return getattr(import_module(f"femdrum.model.{self.file}"), self.name)

    def __iter__(self) -> Iterator[str]:
        return iter(("",))

    def __len__(self) -> int:
        return 1


@dataclass(frozen=True)
class Form:
    """What a kind of table may be.

    classes: by kind, or one under "". selector: the field that names the kind.
    elsewhere: fields of the class that stand in tables of their own; nested: those of them inside this one;
    below: keys of other tables inside this one. lists: fields that are lists by nature. hidden: fields that no file gives.
    """

    what: str
    selector: str
    classes: Mapping[str, Any]
    elsewhere: tuple[str, ...] = ()
    nested: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    lists: tuple[str, ...] = ()
    hidden: tuple[str, ...] = ()


PART = Form(
    "part",
    "kind",
    {c.kind: c for c in (Ring, Plate, PlateRow, MeshPart)},
    elsewhere=("cutout", "supports", "probes"),
    nested=("cutout",),
    lists=("watch",),
)
CUTOUT = Form("cutout", "shape", CUTOUTS)
LOAD = Form("load", "kind", LOADS, elsewhere=("contact",), nested=("contact",))
MATERIAL = Form("material", "", {"": Material}, hidden=("provenance",))
ACCURACY = Form("accuracy", "", {"": Accuracy})
MACHINE = Form(
    "machine",
    "",
    Late("machine", "Machine"),
    elsewhere=("bar", "limits", "rotor_parts"),
    below=("bar", "limit", "rotor_part"),
)
BAR = Form("bar", "", Late("machine", "Bar"))
LIMIT = Form("limit", "", Late("machine", "Limit"))
ROTOR_PART = Form("rotor_part", "", Late("machine", "RotorPart"))
CONDITION = Form("condition", "", {"": Condition}, lists=("loads",))


def field_names(form: Form, cls: Any) -> list[str]:
    """Fields of a class that may stand in its table."""
    return [f.name for f in dataclasses.fields(cls) if f.name not in (*form.elsewhere, *form.hidden)]


@dataclass
class Table:
    """One table of the file against its form. `faults` holds what is wrong with its shape, not with its values."""

    form: Form
    path: Path
    name: str
    values: dict[str, Any]
    doc: Document
    faults: list[Fault] = field(default_factory=list)
    told: set[Path] = field(default_factory=set)

    def add(self, key: str, value: object, allowed: str, way_out: str = "") -> None:
        """Note a fault of this table."""
        path = (*self.path, key)
        self.told.add(path)
        self.faults.append(Fault(f"{self.name}.{key}", value, allowed, way_out, self.doc.line(path)))

    def check(self) -> None:
        """Kinds and keys: unknown, missing, empty."""
        form = self.form
        kinds = self._kinds()
        known = list(dict.fromkeys(n for k in kinds for n in field_names(form, form.classes[k])))
        if form.selector:
            known.insert(0, form.selector)
        apart = [name for name in form.nested if any(name in _own(form.classes[k]) for k in kinds)]
        for key, value in self.values.items():
            if key in apart or key in form.below:
                continue
            if key not in known:
                self._unknown(key, value, known, kinds)
            elif isinstance(value, list) and not value and key not in form.lists:
                self.add(key, value, "must not be empty", "a list holds the values to go through")

    def _kinds(self) -> list[str]:
        """The kinds this table takes; all of them where none can be told."""
        form = self.form
        if not form.selector:
            return [""]
        given = self.values.get(form.selector, MISSING)
        known = ", ".join(form.classes)
        if given is MISSING:
            self.add(form.selector, MISSING, f"is missing; must be one of {known}")
            return list(form.classes)
        good = []
        for item in given if isinstance(given, list) else [given]:
            if isinstance(item, str) and item in form.classes:
                good.append(item)
            else:
                self.add(
                    form.selector,
                    item,
                    f"is not a known {form.what}; must be one of {known}",
                    _near(item, form.classes),
                )
        return good or list(form.classes)

    def _unknown(self, key: str, value: object, known: list[str], kinds: list[str]) -> None:
        form = self.form
        others = [k for k, c in form.classes.items() if k and k not in kinds and key in field_names(form, c)]
        way_out = nearest(key, known)
        if others:
            way_out = f"it belongs to {form.selector} {' or '.join(repr(o) for o in others)}"
        who = (
            f"{form.what} of {form.selector} {' or '.join(map(repr, kinds))}"
            if len(kinds) < len(form.classes)
            else form.what
        )
        self.add(key, value, f"is no field of a {who}, which takes {', '.join(known)}", way_out)

    def axes(self) -> Iterator[tuple[Path, list[Any]]]:
        """Fields that hold a list where one value is expected, with the list."""
        known = {n for c in self.form.classes.values() for n in field_names(self.form, c)} | {self.form.selector}
        for key, value in self.values.items():
            if key in known and key not in _NAMES and isinstance(value, list) and value:
                if key in self.form.lists and not isinstance(value[0], list):
                    continue
                yield (*self.path, key), value

    def kind(self, chosen: Mapping[Path, tuple[int, Any]]) -> str | None:
        """The kind under a choice of values; None if there is no such kind."""
        if not self.form.selector:
            return ""
        kind = self.value(self.form.selector, chosen)
        return kind if isinstance(kind, str) and kind in self.form.classes else None

    def value(self, key: str, chosen: Mapping[Path, tuple[int, Any]]) -> Any:
        """The value of a field under a choice; MISSING where the file does not give it."""
        path = (*self.path, key)
        return chosen[path][1] if path in chosen else self.values.get(key, MISSING)

    def make(self, chosen: Mapping[Path, tuple[int, Any]], **elsewhere: Any) -> tuple[Any, list[Fault]]:
        """The object under a choice of values, or None and its faults."""
        kind = self.kind(chosen)
        if kind is None:
            return None, []
        cls = self.form.classes[kind]
        given: dict[str, Any] = {}
        for f in dataclasses.fields(cls):
            if f.name in self.form.hidden:
                continue
            if f.name in elsewhere:
                value = elsewhere[f.name]
            else:
                value = MISSING if f.name in self.form.elsewhere else self.value(f.name, chosen)
            if isinstance(value, list) and f.name in self.form.lists:
                value = tuple(value)
            optional = f.default is not dataclasses.MISSING or f.default_factory is not dataclasses.MISSING
            if value is not MISSING or not optional:
                given[f.name] = value
        faults = [
            self.locate(Fault(name, value, "must be a number of ordinary size"), chosen)
            for name, value in given.items()
            if isinstance(value, int) and abs(value) >= 2**63
        ]
        if faults:
            return None, faults
        try:
            return cls(**given), []
        except InputFault as error:
            return None, [self.locate(f, chosen) for f in error.faults]
        except (TypeError, ValueError, ArithmeticError) as error:
            return None, [Fault(self.name, MISSING, f"cannot be used: {error}", line=self.doc.line(self.path))]

    def locate(self, fault: Fault, chosen: Mapping[Path, tuple[int, Any]]) -> Fault:
        """A constructor's fault with the full key and the line that the file has for it."""
        *inner, last = fault.field.split(".")
        path: Path = (*self.path, *inner, last)
        if path not in self.doc.lines:
            for other in _ALIASES.get(last, ()):
                if (*path[:-1], other) in self.doc.lines:
                    path = (*path[:-1], other)
                    break
        index = chosen[path][0] if path in chosen else None
        line = self.doc.line((*path, index) if index is not None else path)
        below = ".".join(str(p) for p in path[len(self.path) :])
        allowed = fault.allowed
        if fault.value is MISSING and "missing" not in allowed:
            allowed = f"is missing; {allowed}"
        return Fault(f"{self.name}.{below}", fault.value, allowed, fault.way_out, line)


def _own(cls: Any) -> list[str]:
    return [f.name for f in dataclasses.fields(cls)]


def _near(word: object, known: Mapping[str, Any]) -> str:
    if isinstance(word, str) and word.strip().lower() in known:
        return f"did you mean {word.strip().lower()!r}?"
    return nearest(word, known)


@dataclass(frozen=True)
class Misfit(Fault):
    """A fault of values that are sound by themselves and do not go together: a load and a part."""


def drawable(fault: Fault) -> bool:
    """True for what is sound by itself and only does not go with the others."""
    if isinstance(fault, Misfit):
        return True
    return fault.field.startswith("part.") and fault.field.endswith("_mm") and positive(fault.value)


def positive(value: object) -> bool:
    """A finite number above zero, of ordinary size."""
    return isinstance(value, (int, float)) and not isinstance(value, bool) and 0 < value < 2**63
