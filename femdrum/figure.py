"""A derived number as a load's table shows it: what, value, unit, formula, and where the formula is from.

A function that returns one number states its formula once, by `stated`; `figure` reads it from there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from .provenance import Provenance

__all__ = ["Figure", "figure", "stated"]

F = TypeVar("F", bound=Callable[..., float])


@dataclass(frozen=True)
class Figure:
    """One derived number: what it is, its value in `unit`, the formula in plain text, and its provenance."""

    what: str
    value: float
    unit: str
    formula: str
    provenance: Provenance


@dataclass(frozen=True)
class _Statement:
    what: str
    unit: str
    formula: str
    provenance: Provenance
    scale: float


_STATEMENTS: dict[str, _Statement] = {}


def _key(function: Callable[..., Any]) -> str:
    return f"{function.__module__}.{function.__qualname__}"


def stated(what: str, unit: str, formula: str, provenance: Provenance, scale: float = 1.0) -> Callable[[F], F]:
    """State what a function returns. `unit`: as people read it; `scale`: from the returned number to that unit."""

    def keep(function: F) -> F:
        _STATEMENTS[_key(function)] = _Statement(what, unit, formula, provenance, scale)
        return function

    return keep


def figure(function: Callable[..., float], value: float, what: str = "") -> Figure:
    """The figure of a value that `function` returned; `what` replaces the general wording.

    Raises KeyError for a function that states no formula.
    """
    said = _STATEMENTS[_key(function)]
    return Figure(what or said.what, said.scale * value, said.unit, said.formula, said.provenance)
