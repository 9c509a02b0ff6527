"""Frozen dataclasses as plain values for JSON, and back by their type hints."""

from __future__ import annotations

import dataclasses
import types
import typing
from enum import Enum
from functools import cache
from typing import Any, TypeVar

from .answers import finite

__all__ = ["from_plain", "to_plain"]

T = TypeVar("T")


def to_plain(thing: Any) -> Any:
    """Dicts, lists, numbers and texts; what is not finite as None."""
    return finite(_unmade(thing))


def _unmade(thing: Any) -> Any:
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        return {f.name: _unmade(getattr(thing, f.name)) for f in dataclasses.fields(thing)}
    if isinstance(thing, Enum):
        return thing.value
    if isinstance(thing, (tuple, list)):
        return [_unmade(item) for item in thing]
    if isinstance(thing, dict):
        return {key: _unmade(value) for key, value in thing.items()}
    return thing


def from_plain(kind: type[T], data: Any) -> T:
    """The object again. Fields are dataclasses, tuples of them, enums, or plain values."""
    made: T = _made(kind, data)
    return made


def _made(kind: Any, data: Any) -> Any:
    origin, args = typing.get_origin(kind), typing.get_args(kind)
    if data is None:
        return None
    if origin in (types.UnionType, typing.Union):
        return _made(next(a for a in args if a is not type(None)), data)
    if origin is tuple:
        return tuple(_made(args[0], item) for item in data)
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        hints = _hints(kind)
        return kind(**{name: _made(hints[name], value) for name, value in data.items()})
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind(data)
    return data


@cache
def _hints(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)
