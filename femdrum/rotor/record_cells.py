"""A small table from a CSV file, row by row with its lines; faults of header and cells are collected."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from pathlib import Path

from ..errors import MISSING, Fault, FileFault, nearest
from ..model.check import Checks

__all__ = ["FORM", "Cells", "Row"]

Row = dict[str, str]

FORM = "write columns with a comma between them and a point in the numbers"


class Cells:
    """Rows of one file [(line, cells by column)], and the faults found so far.

    columns: names that are known; other_units: names as people write them, and the right one. Raises FileFault at once
    only where nothing can be read: no such file, no text, empty, columns parted by other marks than commas.
    """

    def __init__(self, path: Path, columns: Iterable[str], other_units: Mapping[str, str]) -> None:
        self.path, self.known, self.other_units = path, tuple(columns), other_units
        self.faults: list[Fault] = []
        self.rows: list[tuple[int, Row]] = []
        lines = [
            (n, t) for n, t in enumerate(self._text().splitlines(), 1) if t.strip() and not t.lstrip().startswith("#")
        ]
        if not lines:
            raise FileFault(Fault("file", str(path), "is empty", "give a header, and a row for each thing"))
        self.header_line, header = lines[0]
        for mark, what in ((";", "semicolons"), ("\t", "tabs")):
            if mark in header:
                allowed = f"columns are parted by {what}; a comma is wanted"
                raise FileFault(Fault("header", header, allowed, FORM, self.header_line))
        self.columns = [cell.strip() for cell in next(csv.reader([header]))]
        self._check_header()
        for number, text in lines[1:]:
            cells = [cell.strip() for cell in next(csv.reader([text]))]
            if len(cells) != len(self.columns):
                allowed = f"has {len(cells)} cells, the header {len(self.columns)}"
                self.fault("row", text, allowed, f"leave cells empty, keep their commas; {FORM}", number)
            else:
                self.rows.append((number, dict(zip(self.columns, cells, strict=True))))

    def _text(self) -> str:
        try:
            return self.path.read_text(encoding="utf-8-sig")
        except OSError as fault:
            raise FileFault(
                Fault("file", str(self.path), f"cannot be read: {fault.strerror}", "check the path")
            ) from None
        except UnicodeDecodeError:
            raise FileFault(Fault("file", str(self.path), "must be text (UTF-8)", "export it as CSV")) from None

    def _check_header(self) -> None:
        for name in self.columns:
            if name in self.known:
                continue
            right = self.other_units.get(name.lower())
            way = (
                f"write {right}, in that unit"
                if right
                else nearest(name, self.known) or f"columns are {', '.join(self.known)}"
            )
            self.fault("header", name, "is no column of this table", way, self.header_line)
        for name in sorted({n for n in self.columns if self.columns.count(n) > 1}):
            self.fault("header", name, "stands twice", "give each column once", self.header_line)

    def fault(self, field: str, value: object, allowed: str, way_out: str, line: int | None) -> None:
        """Note one fault."""
        self.faults.append(Fault(field, value, allowed, way_out, line))

    def number(self, row: Row, name: str, line: int, way_out: str = "", **limits: float) -> float | None:
        """A cell as a number inside limits (as in Checks.number), or None with a fault."""
        cell = row.get(name, "")
        checks = Checks()
        value: object = cell or MISSING
        try:
            value = float(cell) if cell else MISSING
        except ValueError:
            way_out = FORM if "," in cell else way_out
        checks.number(name, value, way_out=way_out, **limits)
        self.faults += [fault.at("", line) for fault in checks.faults]
        return value if not checks.faults and isinstance(value, float) else None

    def whole(self, row: Row, name: str, line: int, least: int, most: int, way_out: str = "") -> int | None:
        """A cell as a whole number, or None with a fault."""
        cell = row.get(name, "")
        allowed = f"must be a whole number from {least} to {most}"
        if not cell:
            self.fault(name, MISSING, f"is missing; {allowed}", way_out, line)
            return None
        if not cell.isdecimal() or not least <= int(cell) <= most:
            self.fault(name, cell, allowed, way_out, line)
            return None
        return int(cell)

    def word(self, row: Row, name: str, line: int, known: Iterable[str], way_out: str = "") -> str | None:
        """A cell as one of the known words, or None with a fault."""
        cell, names = row.get(name, ""), list(known)
        if cell in names:
            return cell
        self.fault(name, cell or MISSING, f"must be {' or '.join(names)}", nearest(cell, names) or way_out, line)
        return None

    def done(self) -> None:
        """Raise all faults in the order of their lines, or return."""
        if self.faults:
            raise FileFault(sorted(self.faults, key=lambda fault: fault.line or 0))
