"""From a file to values and lines; what is wrong with the file itself is said in one sentence."""

from __future__ import annotations

import os
import re
import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path as FilePath
from typing import Any

from ..errors import MISSING, Fault, FileFault, InputFault
from .positions import Path, find_lines
from .which_command import results_folder_hint

__all__ = ["Document", "parse", "read_text"]

MOST_BYTES = 4_000_000
# endings of what people give in place of the file of inputs
_NO_STUDY = {".csv": "a table", ".json": "a file of results", ".html": "a page", ".md": "a text"}


@dataclass(frozen=True)
class Document:
    """The values of a study file, and the line of each key and list element."""

    values: dict[str, Any]
    lines: dict[Path, int]

    def line(self, path: Path) -> int | None:
        """Line of a key; of the nearest table around it where the key is not written."""
        while path:
            if path in self.lines:
                return self.lines[path]
            path = path[:-1]
        return None


def read_text(file: str | os.PathLike[str]) -> str:
    """Text of a study file, or a FileFault that says why there is none."""
    path = FilePath(file)
    try:
        if path.is_dir():
            way_out = results_folder_hint(path) or "give a .toml file inside it"
            raise _fault(path, "is a folder, not a study file", way_out)
        if not path.exists():
            raise _fault(path, "there is no such file", _near(path))
        if not path.is_file():
            raise _fault(path, "is not an ordinary file", "give a study file (TOML)")
        if path.stat().st_size > MOST_BYTES:
            raise _fault(path, f"is larger than {MOST_BYTES // 1_000_000} MB, so hardly a study file")
        data = path.read_bytes()
    except (OSError, ValueError) as error:
        if isinstance(error, FileFault):
            raise
        raise _fault(path, f"cannot be read: {getattr(error, 'strerror', None) or error}") from error
    utf16 = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    if b"\0" in data and not utf16:
        raise _fault(path, "is not a text file", "a study file is TOML, written in a text editor")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = None if utf16 else data.count(b"\n", 0, error.start) + 1
        raise _fault(path, "is not UTF-8 text", "save it with the encoding UTF-8", line) from error
    if path.suffix.lower() in _NO_STUDY:
        raise _fault(
            path, f"is {_NO_STUDY[path.suffix.lower()]}, not a file of inputs", "give the file that ends in .toml"
        )
    if not text.strip():
        raise _fault(path, "is empty", "`femdrum new PATH` writes a study to start from")
    return text


def parse(text: str, name: str) -> Document:
    """Values and lines of a TOML text; `name` is how faults call it."""
    text = text.replace("\r\n", "\n")
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.fullmatch(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", str(error), re.DOTALL)
        what, line, column = found.groups() if found else (str(error), None, None)
        number = int(line) if line else text.rstrip().count("\n") + 1
        where = f" at column {column}" if column else " at the end of the file" if found else ""
        raise InputFault(
            Fault(name, MISSING, f"is not valid TOML{where}: {what}", _hint(text, number), number)
        ) from error
    except RecursionError as error:
        raise InputFault(Fault(name, MISSING, "is nested too deeply for a study file")) from error
    except ValueError as error:  # a number with thousands of digits
        raise InputFault(Fault(name, MISSING, f"holds a value that cannot be read: {error}")) from error
    return Document(values, find_lines(text))


def _fault(path: FilePath, allowed: str, way_out: str = "", line: int | None = None) -> FileFault:
    return FileFault(Fault(str(path), MISSING, allowed, way_out, line))


def _near(path: FilePath) -> str:
    try:
        stems = [p.stem for p in path.parent.iterdir() if p.suffix == ".toml"]
    except OSError:
        return f"the folder {str(path.parent)!r} cannot be listed"
    close = get_close_matches(path.stem, stems, n=1, cutoff=0.6)
    return f"did you mean {str(path.parent / close[0]) + '.toml'!r}?" if close else ""


def _hint(text: str, line: int) -> str:
    lines = text.split("\n")
    shown = lines[line - 1].strip() if 0 < line <= len(lines) else ""
    if re.search(r"=\s*-?\d+,\d+\s*(#.*)?$", shown):
        return "write a decimal point, not a comma"
    return f"the line reads: {shown[:80]}" if shown else ""
