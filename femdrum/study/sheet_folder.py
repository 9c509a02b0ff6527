"""Where the results of a file of plain tables go: a folder of its own, checked before anything is written, each file whole or not at all."""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..errors import MISSING, Fault, FileFault, InputFault
from ..figure import Figure
from .plain import to_plain
from .reading import parse
from .sheet import Sheet
from .store import write_text

__all__ = ["check_folder", "csv_text", "figure_records", "json_text", "lined", "write_files"]

ANOTHER = "choose another folder with --out"


def lined(error: InputFault, sheet: Sheet) -> InputFault:
    """The same faults, each with the line of the sheet at which its field stands, where it stands there."""
    doc = parse(sheet.source, sheet.name)

    def line(field: str) -> int | None:
        parts = field.replace("[", ".").replace("]", "").split(".")
        return doc.line(tuple(int(p) if p.isdigit() else p for p in parts))

    return type(error)([f if f.line is not None else replace(f, line=line(f.field)) for f in error.faults])


def check_folder(out: str | os.PathLike[str], mark: str, kind: str) -> Path:
    """The folder, if it may be used: new, empty, or of the same kind by its mark (a JSON file). Touches nothing. Raises FileFault."""
    folder = Path(out)
    try:
        if folder.is_dir():
            if any(folder.iterdir()) and _kind(folder / mark) != kind:
                raise _fault(folder, f"is not empty and holds no results of femdrum {kind}")
        elif folder.exists() or folder.is_symlink():
            raise _fault(folder, "is a file, not a folder")
        home = folder
        while not home.exists() and home != home.parent:
            home = home.parent
    except (OSError, ValueError) as error:
        if isinstance(error, FileFault):
            raise
        raise _fault(folder, f"cannot be used: {getattr(error, 'strerror', None) or error}") from error
    if not home.is_dir():
        raise _fault(folder, f"cannot be made: {str(home)!r} is a file")
    if not os.access(home, os.W_OK | os.X_OK):
        raise _fault(folder, "cannot be written")
    return folder


def _kind(path: Path) -> str | None:
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return str(found.get("kind")) if isinstance(found, dict) and found.get("made by") == "femdrum" else None


def _fault(path: Path, allowed: str) -> FileFault:
    return FileFault(Fault(str(path), MISSING, allowed, ANOTHER))


def write_files(folder: Path, texts: Mapping[str, str]) -> None:
    """Write whole files into a folder that was checked, made if need be. Raises FileFault."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            write_text(folder / name, text)
    except OSError as error:
        raise _fault(folder, f"cannot be written: {error.strerror or error}") from error


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> str:
    """A table; what is None or not finite stays empty, truth is yes or no."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(columns)
    for row in rows:
        table.writerow([_cell(to_plain(row.get(c))) for c in columns])
    return out.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else value


def json_text(record: Mapping[str, Any]) -> str:
    """A record as text; what is not finite as null."""
    return json.dumps(to_plain(dict(record)), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def figure_records(groups: Iterable[tuple[str, Sequence[Figure]]]) -> list[dict[str, Any]]:
    """Derived numbers with their formulas and where these are from."""
    return [
        {"of": group, "what": f.what, "value": f.value, "unit": f.unit, "formula": f.formula, "from": str(f.provenance)}
        for group, figures in groups
        for f in figures
    ]
