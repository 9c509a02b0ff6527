"""[rest_of_drum] of a study file: the files of rotor, retention and balance, read and checked together with the study."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from ..assess.retention_asked import RetentionInput
from ..errors import MISSING, Fault, FileFault, InputFault, nearest
from ..model.balance_input import BalanceInput
from ..model.retention_input import Hit, Turning
from ..rotor.balance_record import BalanceRecord
from .balance_sheet import read_balance
from .drum_sheet import DrumSheet, read_drum_sheet
from .reading import Document
from .retention_sheet import read_retention
from .sheet import Sheet

__all__ = ["FILES", "TABLE", "BalanceFile", "RestOfDrum", "RetentionFile", "read_rest"]

TABLE = "rest_of_drum"
# what each key names, and the command that reads such a file alone
FILES = {"rotor": "a whole drum", "retention": "retention", "balance": "balancing"}


@dataclass(frozen=True)
class RetentionFile:
    """A retention file that was read."""

    sheet: Sheet
    given: RetentionInput

    @property
    def turning(self) -> tuple[Hit | Turning, ...]:
        """Conditions in which the drum turns in service."""
        return (*self.given.turnings, *self.given.hits)


@dataclass(frozen=True)
class BalanceFile:
    """A balance file that was read, with the record that it names, if any."""

    sheet: Sheet
    given: BalanceInput
    record: BalanceRecord | None
    hammers: str


@dataclass(frozen=True)
class RestOfDrum:
    """What the files of [rest_of_drum] hold; None where none is named. files: key -> the file as the study names it.

    given: what was read, as `rotor/drum.toml` -> its bytes, so that a results folder can be read without the files.
    """

    rotor: DrumSheet | None = None
    retention: RetentionFile | None = None
    balance: BalanceFile | None = None
    files: dict[str, str] = field(default_factory=dict)
    given: dict[str, bytes] = field(default_factory=dict)


def read_rest(doc: Document, folder: Path) -> tuple[RestOfDrum | None, list[Fault]]:
    """The files that a study names, None where it names none; and all that is wrong with them, each fault with its file and line."""
    table = doc.values.get(TABLE)
    if table is None:
        return None, []
    faults: list[Fault] = []

    def add(key: str, value: object, allowed: str, way_out: str = "") -> None:
        path = (TABLE, *([key] if key else []))
        faults.append(Fault(".".join(path), value, allowed, way_out, doc.line(path)))

    if not isinstance(table, dict):
        add("", MISSING if isinstance(table, list) else table, f"must be one table, [{TABLE}]")
        return None, faults
    if not table:
        add("", MISSING, "names no file", f"it takes {', '.join(FILES)}, each the name of a file beside the study")
    made: dict[str, Any] = {}
    given: dict[str, bytes] = {}
    for key, value in table.items():
        if key not in FILES:
            shown = MISSING if isinstance(value, (dict, list)) else value
            add(key, shown, f"is no field here, which takes {', '.join(FILES)}", nearest(key, FILES))
        elif not isinstance(value, str) or not value.strip():
            shown = MISSING if isinstance(value, (dict, list)) else value
            add(key, shown, f"must be the name of a file of {FILES[key]}, beside the study", f'{key} = "{key}.toml"')
        else:
            path = folder / value
            try:
                made[key], files = _READERS[key](path)
                given |= {f"{key}/{name}": data for name, data in files.items()}
            except FileFault as error:
                line = doc.line((TABLE, key))
                for fault in error.faults:
                    way_out = fault.way_out.replace(f"'{folder}{os.sep}", "'")  # beside the study
                    faults.append(Fault(f"{TABLE}.{key}", value, fault.allowed, way_out, line))
            except InputFault as error:
                faults += [_of_file(f, key, value, doc) for f in error.faults]
    if faults:
        return None, faults
    return RestOfDrum(files={key: table[key] for key in FILES if key in table}, given=given, **made), []


def _of_file(fault: Fault, key: str, file: str, doc: Document) -> Fault:
    """A fault of a file as the study tells it: the line of the study that names the file, then the file and its own line."""
    line = doc.line((TABLE, key))
    at = f", line {fault.line}" if fault.line is not None else ""
    inner = "" if fault.field.endswith(file) else fault.field
    record, colon, field = inner.partition(": ")  # of the record that a balance file names
    place, inner = (record, field) if colon else (file, inner)
    return replace(fault, field=f"{TABLE}.{key}, file {place}{at}{': ' if inner else ''}{inner}", line=line)


def _rotor(path: Path) -> tuple[DrumSheet, dict[str, bytes]]:
    sheet = read_drum_sheet(path)
    return sheet, {path.name: sheet.source.encode()}


def _retention(path: Path) -> tuple[RetentionFile, dict[str, bytes]]:
    sheet, given = read_retention(path)
    return RetentionFile(sheet, given), {path.name: sheet.source.encode()}


def _balance(path: Path) -> tuple[BalanceFile, dict[str, bytes]]:
    sheet, given, record, hammers = read_balance(path)
    files = {path.name: sheet.source.encode()}
    if record is not None:
        files[Path(record.path).name] = Path(record.path).read_bytes()
    return BalanceFile(sheet, given, record, hammers), files


_READERS: dict[str, Callable[[Path], tuple[Any, dict[str, bytes]]]] = {
    "rotor": _rotor,
    "retention": _retention,
    "balance": _balance,
}
