"""A file of plain tables, each made into one object by the fields of its class: what has no axes and no variants.

Classes are frozen and check themselves. A field that is a class is a table inside the table, [a.b]; a field that is a tuple of
a class is a list of tables, [[a.b]]. All faults of the file are told at once, each with its line.
"""

from __future__ import annotations

import dataclasses
import os
import types
import typing
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path as FilePath
from typing import Any

from ..errors import MISSING, Fault, InputFault, nearest
from .positions import Path
from .reading import Document, parse, read_text
from .which_command import command_of

__all__ = ["Maker", "Sheet", "read_sheet", "sheet_from_text"]

Form = Mapping[str, Any]


@dataclass(frozen=True)
class Sheet:
    """A file that was read. things: table -> its object, or a tuple of them, or None where it is left out."""

    title: str
    name: str
    source: str
    folder: FilePath
    things: dict[str, Any]

    def __getitem__(self, table: str) -> Any:
        return self.things[table]


def read_sheet(path: str | os.PathLike[str], forms: Form, *, needed: tuple[str, ...] = ()) -> Sheet:
    """The objects of a file. forms: table -> its class, or tuple[class, ...] for a list of tables, [[table]].

    needed: tables that must be there. Raises InputFault with all that is wrong at once.
    """
    file = FilePath(path)
    return sheet_from_text(read_text(file), forms, needed=needed, name=file.stem, folder=file.parent, called=str(file))


def sheet_from_text(
    text: str, forms: Form, *, needed: tuple[str, ...] = (), name: str = "sheet",
    folder: os.PathLike[str] | str = ".", called: str = "",
) -> Sheet:  # fmt: skip
    """The same from text."""
    doc = parse(text, called or name)
    _check_command(doc, forms, called or name)
    maker = Maker(doc)
    title = doc.values.get("title", name)
    if not isinstance(title, str) or not title.strip():
        maker.add(("title",), title, "must be a text")
    known = ["title", *forms]
    for key in doc.values:
        if key not in known:
            shown = MISSING if isinstance(doc.values[key], (dict, list)) else doc.values[key]
            maker.add((key,), shown, f"is not known here; this file has {', '.join(known)}", nearest(key, known))
    things: dict[str, Any] = {}
    for table, kind in forms.items():
        if table in doc.values:
            things[table] = maker.made(kind, doc.values[table], (table,))
        else:
            things[table] = () if _member(kind) is not None else None
            if table in needed:
                maker.add((table,), MISSING, f"is missing; must be {_shape(kind, table)}")
    if maker.faults:
        raise InputFault(sorted({str(f): f for f in maker.faults}.values(), key=lambda f: f.line or 0))
    return Sheet(str(title), name, text, FilePath(folder), things)


def _check_command(doc: Document, forms: Form, called: str) -> None:
    """A file of another command is told as such, not by each of its tables."""
    ours, _ = command_of(forms)
    theirs, table = command_of(doc.values)
    if (
        ours
        and theirs
        and ours != theirs
        and (theirs == "study" or not any(command_of([t])[0] == ours for t in doc.values))
    ):
        raise InputFault(
            Fault(
                called,
                MISSING,
                f"is no file for `femdrum {ours}`: it holds [{table}]",
                f"`femdrum {theirs} {called}` reads it",
                doc.line((table,)),
            )
        )


class Maker:
    """Makes objects from tables; `faults` holds what was wrong."""

    def __init__(self, doc: Document) -> None:
        self.doc = doc
        self.faults: list[Fault] = []

    def add(self, path: Path, value: object, allowed: str, way_out: str = "") -> None:
        """Note a fault at a place of the file."""
        self.faults.append(Fault(".".join(map(str, path)), value, allowed, way_out, self.doc.line(path)))

    def made(self, kind: Any, value: Any, path: Path) -> Any:
        """The object of a table, or its value as it stands; None where something is wrong with it."""
        inner = _member(kind)
        if inner is not None:
            if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
                shown = MISSING if isinstance(value, (dict, list)) else value
                self.add(path, shown, f"must be {_shape(kind, '.'.join(map(str, path)))}")
                return None
            made = [self._object(inner, v, (*path, n)) for n, v in enumerate(value)]
            return tuple(made) if all(m is not None for m in made) else None
        cls = _class(kind)
        if cls is None:
            return tuple(value) if isinstance(value, list) else value
        if not isinstance(value, dict):
            self.add(
                path, MISSING if isinstance(value, list) else value, f"must be {_shape(kind, '.'.join(map(str, path)))}"
            )
            return None
        return self._object(cls, value, path)

    def _object(self, cls: Any, values: dict[str, Any], path: Path) -> Any:
        if isinstance(cls, dict):  # by kind
            return self._by_kind(cls, values, path)
        hints = _hints(cls)
        fields = {f.name: f for f in dataclasses.fields(cls) if f.init and f.name != "provenance"}
        before = len(self.faults)
        for key, value in values.items():
            if key not in fields:
                shown = MISSING if isinstance(value, (dict, list)) else value
                self.add(
                    (*path, key), shown, f"is no field here, which takes {', '.join(fields)}", nearest(key, fields)
                )
        given: dict[str, Any] = {}
        for name, f in fields.items():
            optional = f.default is not dataclasses.MISSING or f.default_factory is not dataclasses.MISSING
            if name in values:
                given[name] = self.made(hints[name], values[name], (*path, name))
            elif not optional and (_class(hints[name]) is not None or _member(hints[name]) is not None):
                self.add(
                    (*path, name),
                    MISSING,
                    f"is missing; must be {_shape(hints[name], '.'.join(map(str, (*path, name))))}",
                )
            elif not optional:
                given[name] = MISSING
        inside = [f for f in self.faults[before:] if f.field.count(".") > len(path)]
        if inside:
            return None
        try:
            return cls(**given)
        except InputFault as error:
            self.faults += [self._placed(f, path) for f in error.faults]
        except (TypeError, ValueError, ArithmeticError) as error:
            if len(self.faults) == before:
                self.add(path, MISSING, f"cannot be used: {error}")
        return None

    def _by_kind(self, kinds: dict[str, Any], values: dict[str, Any], path: Path) -> Any:
        selector = "shape"
        shape = values.get(selector, MISSING)
        if shape not in kinds:
            self.add((*path, selector), shape, f"must be one of {', '.join(kinds)}", nearest(shape, kinds))
            return None
        return self._object(kinds[shape], {k: v for k, v in values.items() if k != selector}, path)

    def _placed(self, fault: Fault, path: Path) -> Fault:
        inner: Path = tuple(
            int(p) if p.isdigit() else p for p in fault.field.replace("[", ".").replace("]", "").split(".")
        )
        allowed = fault.allowed
        if fault.value is MISSING and "missing" not in allowed:
            allowed = f"is missing; {allowed}"
        return replace(fault.at(".".join(map(str, path))), allowed=allowed, line=self.doc.line((*path, *inner)))


def _class(kind: Any) -> Any:
    """The class of a field that is a table; a dict of classes by shape where it is one of several."""
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        return kind
    if typing.get_origin(kind) in (types.UnionType, typing.Union):
        found = [k for k in typing.get_args(kind) if isinstance(k, type) and dataclasses.is_dataclass(k)]
        if len(found) > 1 and all(isinstance(getattr(k, "shape", None), str) for k in found):
            return {str(getattr(k, "shape")): k for k in found}  # noqa: B009
        return found[0] if len(found) == 1 else None
    return None


def _member(kind: Any) -> Any:
    """The class of the members of a field that is a list of tables."""
    for some in (
        (kind, *typing.get_args(kind)) if typing.get_origin(kind) in (types.UnionType, typing.Union) else (kind,)
    ):
        if typing.get_origin(some) is tuple:
            member = typing.get_args(some)[0]
            if isinstance(member, type) and dataclasses.is_dataclass(member):
                return member
    return None


def _shape(kind: Any, name: str) -> str:
    return f"one or more tables, [[{name}]]" if _member(kind) is not None else f"one table, [{name}]"


@cache
def _hints(cls: type) -> dict[str, Any]:
    return typing.get_type_hints(cls)
