"""Every error that femdrum raises on purpose.

FemdrumError
|-- InputFault            what was asked cannot be drawn, loaded or read   (exit code 2)
|   |-- FileFault         a file or folder is missing, unreadable, or somebody else's
|   `-- OutsideRange      a handbook formula asked outside its range
|-- MissingPart           a library or system package is absent; says the one line that mends it
`-- SolveFailure          the model is sound, the solution is not to be had
    |-- SingularModel     a rigid motion is left free
    |-- OverBudget        it would not fit into the memory, unknowns or time allowed
    `-- NoNumber          a number was asked where none exists (a sharp corner)
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches

__all__ = [
    "Fault",
    "FemdrumError",
    "FileFault",
    "InputFault",
    "MissingPart",
    "NoNumber",
    "OutsideRange",
    "OverBudget",
    "SingularModel",
    "SolveFailure",
    "nearest",
]


@dataclass(frozen=True)
class Fault:
    """One thing wrong with the input: which field, its value, what is allowed, and the way out."""

    field: str
    value: object
    allowed: str
    way_out: str = ""
    line: int | None = None

    def at(self, prefix: str, line: int | None = None) -> Fault:
        """The same fault seen from a file: the field's full key and its line."""
        field = f"{prefix}.{self.field}" if prefix and self.field else prefix or self.field
        return replace(self, field=field, line=line if line is not None else self.line)

    def __str__(self) -> str:
        where = f"line {self.line}: " if self.line is not None else ""
        value = "" if self.value is MISSING else f" = {_shown(self.value)}"
        way = f"; {self.way_out}" if self.way_out else ""
        return f"{where}{self.field}{value}: {self.allowed}{way}"


class _Missing:
    def __repr__(self) -> str:
        return "missing"


MISSING = _Missing()


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def nearest(word: object, known: Iterable[str]) -> str:
    """'did you mean ...' for a name that is not known, or an empty string."""
    close = get_close_matches(str(word), list(known), n=1, cutoff=0.6)
    return f"did you mean {close[0]!r}?" if close else ""


class FemdrumError(Exception):
    """Base of all errors raised on purpose."""


class InputFault(FemdrumError, ValueError):
    """The input is at fault. `faults` lists all that was found, not only the first."""

    def __init__(self, faults: Fault | Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))

    def __reduce__(self) -> tuple[type, tuple[object, ...]]:
        return type(self), (self.faults,)


class FileFault(InputFault):
    """A file or folder is missing, unreadable, not writable, or belongs to another study."""


class OutsideRange(InputFault):
    """A published formula was asked outside the range it was published for."""


class MissingPart(FemdrumError):
    """A library or a system package is absent. The message ends with the line that mends it."""


class SolveFailure(FemdrumError):
    """The model is sound but no trustworthy solution was obtained."""


class SingularModel(SolveFailure):
    """A rigid motion is left free, or the matrix is not positive definite."""


class OverBudget(SolveFailure):
    """The solution would not fit into the memory, unknowns or time allowed."""


class NoNumber(SolveFailure):
    """A number was asked where theory has none: the peak stress at a sharp corner."""
