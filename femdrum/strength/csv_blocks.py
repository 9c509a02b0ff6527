"""Two columns of a large CSV file as numbers, block by block; what is no number is named with its line."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from ..errors import MISSING, Fault, FileFault, nearest

__all__ = ["Header", "Table", "blocks_of", "header_of"]

Array = NDArray[np.float64]

FORM = "write columns with a comma between them and a point in the numbers: time_s,force_kN then 0.001,12.5"
COMMAS = "numbers with a decimal comma cannot be told from columns; " + FORM
FROM_CELLS = "a missing value is not made up: cut the file into pieces without gaps and count each"


@dataclass(frozen=True)
class Header:
    """Names of the columns; line: where they stand; start: byte at which the data begins."""

    columns: tuple[str, ...]
    line: int
    start: int


@dataclass(frozen=True)
class Table:
    """Rows [row, 2] and the line of each."""

    rows: Array
    first_line: int
    lines: NDArray[np.intp] | None

    def line(self, row: int) -> int:
        """Line of a row in the file."""
        return self.first_line + row if self.lines is None else int(self.lines[row])


def open_file(path: Path) -> BinaryIO:
    """The file, or a FileFault."""
    try:
        return path.open("rb")
    except OSError as fault:
        raise FileFault(Fault(str(path), MISSING, f"cannot be read: {fault.strerror}", "check the path")) from None


def header_of(path: Path) -> Header:
    """The header: the first line that is neither empty nor a comment (#). Raises FileFault for other forms of table."""
    with open_file(path) as file:
        for number, raw in enumerate(iter(lambda: file.readline(1 << 16), b""), 1):
            try:
                line = raw.decode("utf-8-sig").strip()
            except UnicodeDecodeError:
                bad = Fault(str(path), raw[:20], "must be text (UTF-8)", "export the history as CSV", number)
                raise FileFault(bad) from None
            if not line or line.startswith("#"):
                continue
            for mark, what in ((";", "semicolons"), ("\t", "tabs")):
                if mark in line:
                    allowed = f"columns are parted by {what}; a comma is wanted"
                    raise FileFault(Fault(f"{path}: header", line, allowed, FORM, number))
            columns = tuple(cell.strip().strip('"') for cell in line.split(","))
            if all(_number(c) is not None for c in columns):
                allowed = "the first line must name the columns with their units"
                raise FileFault(Fault(f"{path}: header", line, allowed, FORM, number))
            return Header(columns, number, file.tell())
    raise FileFault(Fault(str(path), MISSING, "is empty", "give a CSV file with a header and samples"))


def place_of(column: str, header: Header, path: Path) -> int:
    """Place of a column. Raises FileFault, with the nearest name, where it is absent or there twice."""
    found = header.columns.count(column)
    if found != 1:
        allowed = f"must be one of {', '.join(header.columns)}" if not found else "stands twice in the header"
        way = nearest(column, header.columns) if not found else "give each column a name of its own"
        raise FileFault(Fault(f"{path}: column", column, allowed, way, header.line))
    return header.columns.index(column)


def _number(cell: str) -> float | None:
    try:
        return float(cell)
    except ValueError:
        return None


def blocks_of(path: Path, header: Header, places: tuple[int, int], rows: int) -> Iterator[Table]:
    """The two columns, about `rows` rows at a time. Raises FileFault at the first cell that is no finite number."""
    with open_file(path) as file:
        file.seek(header.start)
        size = rows * max(8, len(file.readline()))
        file.seek(header.start)
        line = header.line + 1
        while text := file.read(size):
            # to the end of the line
            if not text.endswith(b"\n"):
                text += file.readline()
            table = _table(text, line, path, header, places)
            line += text.count(b"\n")
            if len(table.rows):
                yield table


def _table(text: bytes, line: int, path: Path, header: Header, places: tuple[int, int]) -> Table:
    if not text.strip():
        return Table(np.zeros((0, 2)), line, None)
    many = text.count(b"\n") + (not text.endswith(b"\n"))
    even = text.count(b",") == many * (len(header.columns) - 1)
    try:
        rows = np.loadtxt(io.BytesIO(text), delimiter=",", usecols=places, comments=None, ndmin=2, encoding=None)
    except (ValueError, UnicodeDecodeError):
        rows = np.full((1, 2), np.nan)
    if even and len(rows) == many and np.isfinite(rows).all():
        return Table(rows, line, None)
    return _line_by_line(text, line, path, header, places)


def _line_by_line(text: bytes, line: int, path: Path, header: Header, places: tuple[int, int]) -> Table:
    """The same slowly: finds the fault, or the empty lines that are let through."""
    rows, lines = [], []
    for number, raw in enumerate(text.decode("utf-8", "replace").split("\n"), line):
        if not raw.strip():
            continue
        cells = raw.split(",")
        if len(cells) != len(header.columns):
            many = f"{len(cells)} cells under {len(header.columns)} columns"
            doubled = ";" in raw or '"' in raw or len(cells) == 2 * len(header.columns)
            way = COMMAS if doubled else "each line must hold one cell for each column"
            raise FileFault(Fault(f"{path}: row", raw.strip(), many, way, number))
        row = []
        for place in places:
            cell = cells[place].strip()
            value = _number(cell)
            if value is None or not np.isfinite(value) or "_" in cell:
                if not cell:
                    allowed, way = "the cell is empty; a finite number is wanted", FROM_CELLS
                elif value is not None and "_" not in cell:
                    allowed, way = "must be a finite number", FROM_CELLS
                else:
                    allowed, way = "must be a number with a decimal point", COMMAS if ";" in cell else FROM_CELLS
                raise FileFault(Fault(f"{path}: {header.columns[place]}", cell, allowed, way, number))
            row.append(value)
        rows.append(row)
        lines.append(number)
    return Table(np.array(rows, float).reshape(-1, 2), line, np.array(lines, np.intp))
