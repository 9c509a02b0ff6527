"""Rotor, retention and balance of a study's [rest_of_drum]: reckoned after the solve, kept in the results folder, read back from it.

rest_of_drum/<rotor, retention or balance>/ holds tables and JSON as the commands of those names write them, and in given/ the
files that were read. Whoever draws reckons anew from there, in a second or two: a results folder needs no file outside of it.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import FemdrumError
from .store import Store, read_json, write_text
from .work import versions

if TYPE_CHECKING:
    from ..assess.balance import Balance
    from ..assess.retention import Retention
    from ..assess.whole_drum_result import WholeDrum
    from .drum_sheet import DrumSheet
    from .rest_tables import BalanceFile, RestOfDrum, RetentionFile
    from .sheet import Sheet
    from .study import Study

__all__ = ["REST_FOLDER", "REST_FORMAT", "StoredRest", "reckon_rest", "rest_line", "stored_rest"]

REST_FOLDER = "rest_of_drum"
# raise it when files or numbers change
REST_FORMAT = 1
_MARK = "rest_of_drum.json"
_GIVEN = "given"


def reckon_rest(study: Study, store: Store) -> None:
    """Reckon and store what is not stored yet; what the study does not ask any more goes. A part that has no answer leaves the reason."""
    home = store.root / REST_FOLDER
    rest = study.rest
    if rest is None:
        shutil.rmtree(home, ignore_errors=True)
        return
    key = _key(rest)
    if (home / _MARK).is_file() and read_json(home / _MARK).get("key") == key:
        return
    part = store.root / f".{REST_FOLDER}-{os.getpid()}-{uuid.uuid4().hex[:8]}"
    try:
        part.mkdir()
        failures = {name: _one(write, part / name) for name, write in _writers(rest).items()}
        for name, data in rest.given.items():
            kind, _, file = name.partition("/")
            path = part / kind / _GIVEN / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        record = _record(rest) if rest.balance is not None else None
        mark = {
            "made by": "femdrum", "format": REST_FORMAT, "key": key, "version": versions()["femdrum"], "files": rest.files, "record": record,
            "failures": {name: why for name, why in failures.items() if why},
        }  # fmt: skip
        write_text(part / _MARK, json.dumps(mark, indent=1, ensure_ascii=False) + "\n")
        shutil.rmtree(home, ignore_errors=True)
        part.rename(home)
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _record(rest: RestOfDrum) -> str | None:
    assert rest.balance is not None
    return None if rest.balance.record is None else Path(rest.balance.record.path).name


def _key(rest: RestOfDrum) -> str:
    text = hashlib.sha256(f"{REST_FORMAT} {versions()['femdrum']} {sorted(rest.files.items())}".encode())
    for name, data in sorted(rest.given.items()):
        text.update(name.encode() + b"\0" + data + b"\0")
    return text.hexdigest()[:12]


def _one(write: Callable[[Path], object], folder: Path) -> str:
    """Why a part has no answer, or empty."""
    try:
        write(folder)
    except FemdrumError as error:
        return " ".join(str(error).split())
    return ""


def _writers(rest: RestOfDrum) -> dict[str, Callable[[Path], object]]:
    from .balance_sheet import write_balance
    from .drum_write import write_drum
    from .retention_sheet import write_retention

    out: dict[str, Callable[[Path], object]] = {}
    if (sheet := rest.rotor) is not None:
        out["rotor"] = lambda folder: write_drum(sheet, sheet.answer(), folder)
    if (clamp := rest.retention) is not None:
        out["retention"] = lambda folder: write_retention(clamp.sheet, _retention(clamp), folder)
    if (plates := rest.balance) is not None:
        out["balance"] = lambda folder: write_balance(plates.sheet, _balance(plates), folder)
    return out


def _retention(read: RetentionFile) -> Retention:
    from ..assess.retention import retention

    return retention(read.given)


def _balance(read: BalanceFile) -> Balance:
    from ..assess.balance import balance

    return balance(read.given, read.record, hammers=read.hammers)


@dataclass(frozen=True)
class StoredRest:
    """What a results folder holds of the rest of the drum. files: part -> its file's name; failures: part -> why it has no answer.

    rotor, retention and balance are reckoned from the stored files when first asked for; None where the study names no such
    file, or where there is no answer.
    """

    folder: Path
    files: dict[str, str]
    failures: dict[str, str]
    version: str
    record: str | None

    def path(self, part: str) -> Path:
        """The stored file of a part."""
        return self.folder / part / _GIVEN / Path(self.files[part]).name

    def _has(self, part: str) -> bool:
        return part in self.files and part not in self.failures

    @cached_property
    def rotor(self) -> tuple[DrumSheet, WholeDrum] | None:
        """The rotor's file and its answer."""
        from .drum_sheet import read_drum_sheet

        if not self._has("rotor"):
            return None
        sheet = read_drum_sheet(self.path("rotor"))
        return sheet, sheet.answer()

    @cached_property
    def retention(self) -> tuple[Sheet, Retention] | None:
        """The retention file and its answer."""
        from .retention_sheet import solve_retention

        return solve_retention(self.path("retention")) if self._has("retention") else None

    @cached_property
    def balance(self) -> tuple[Sheet, Balance] | None:
        """The balance file and its answer."""
        from .balance_sheet import solve_balance

        if not self._has("balance"):
            return None
        record = None if self.record is None else self.path("balance").parent / self.record
        return solve_balance(self.path("balance"), record)


def rest_line(folder: Path) -> str:
    """What is stored of the rest of the drum, with the verdicts of retention and balance, in one line."""
    rest = stored_rest(folder)
    if rest is None:
        return "nothing is stored"
    told = []
    for part in rest.files:
        verdict = "no answer" if part in rest.failures else ""
        if part != "rotor" and not verdict:
            verdict = str(read_json(rest.folder / part / f"{part}.json")["verdict"])
            verdict = f"{verdict} the permissible" if verdict in ("within", "above") else verdict
        told.append(f"{part} ({verdict})" if verdict else part)
    return ", ".join(told)


def stored_rest(folder: Path) -> StoredRest | None:
    """The rest of the drum in a results folder; None where its study names none. Raises FileFault where it is damaged."""
    home = folder / REST_FOLDER
    if not (home / _MARK).is_file():
        return None
    data: dict[str, Any] = read_json(home / _MARK)
    if data.get("format") != REST_FORMAT:
        return None
    return StoredRest(home, data["files"], data["failures"], data["version"], data["record"])
