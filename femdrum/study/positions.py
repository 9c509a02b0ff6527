"""On which line of a TOML text each key and each list element stands.

The values come from the standard parser; this walks over a text that parser has already accepted and
notes positions only, so it need not judge anything.
"""

from __future__ import annotations

import tomllib
from bisect import bisect_right

__all__ = ["Path", "find_lines"]

# ("part", "cutout", "corner_radius_mm", 2): keys by name, list elements by position from 0
Path = tuple[str | int, ...]

_BARE = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")


def find_lines(text: str) -> dict[Path, int]:
    """Line (from 1) of every table, key and list element of a valid TOML text."""
    scan = _Scan(text.replace("\r\n", "\n"))
    scan.document()
    return scan.lines


class _Scan:
    def __init__(self, text: str) -> None:
        self.text = text
        self.i = 0
        self.lines: dict[Path, int] = {}
        self.tables: dict[Path, int] = {}  # array of tables -> how many so far
        self.starts = [0]
        for i, c in enumerate(text):
            if c == "\n":
                self.starts.append(i + 1)

    def note(self, path: Path, at: int) -> None:
        self.lines.setdefault(path, bisect_right(self.starts, at))

    def peek(self) -> str:
        return self.text[self.i : self.i + 1]

    def skip(self, more: str = "") -> None:
        """Over blanks, and over line ends and comments where `more` holds a line end."""
        blanks = " \t" + more
        while (c := self.peek()) and (c in blanks or (c == "#" and "\n" in more)):
            if c == "#":
                end = self.text.find("\n", self.i)
                self.i = len(self.text) if end < 0 else end
            else:
                self.i += 1

    def document(self) -> None:
        here: Path = ()
        while True:
            self.skip("\n")
            if not self.peek():
                return
            if self.peek() == "[":
                here = self.header()
            else:
                self.pair(here)
                self.skip()
                if self.peek() == "#":
                    self.skip("\n")

    def header(self) -> Path:
        start = self.i
        many = self.text.startswith("[[", self.i)
        self.i += 2 if many else 1
        keys = self.key()
        self.skip()
        self.i += 2 if many else 1
        path: Path = ()
        for n, part in enumerate(keys):
            path = (*path, part)
            self.note(path, start)
            if many and n == len(keys) - 1:
                self.tables[path] = self.tables.get(path, 0) + 1
            if path in self.tables:
                path = (*path, self.tables[path] - 1)
        self.note(path, start)
        return path

    def key(self) -> list[str]:
        keys = []
        while True:
            self.skip()
            start = self.i
            if self.peek() in ('"', "'"):
                self.string()
                keys.append(next(iter(tomllib.loads(f"{self.text[start : self.i]} = 0"))))
            else:
                while self.peek() in _BARE and self.peek():
                    self.i += 1
                keys.append(self.text[start : self.i])
            self.skip()
            if self.peek() != ".":
                return keys
            self.i += 1

    def pair(self, here: Path) -> None:
        start = self.i
        path = here
        for part in self.key():
            path = (*path, part)
            self.note(path, start)
        self.i = self.text.index("=", self.i) + 1
        self.value(path)

    def value(self, path: Path) -> None:
        self.skip()
        c = self.peek()
        if c in ('"', "'"):
            self.string()
        elif c == "[":
            self.array(path)
        elif c == "{":
            self.inline_table(path)
        else:
            while (c := self.peek()) and c not in ",]}\n#":
                self.i += 1

    def string(self) -> None:
        quote = self.peek()
        triple = quote * 3
        if self.text.startswith(triple, self.i):
            self.i += 3
            while not self.text.startswith(triple, self.i):
                self.i += 2 if quote == '"' and self.peek() == "\\" else 1
            self.i += 3
            while self.peek() == quote:  # up to two quotes may end the text itself
                self.i += 1
            return
        self.i += 1
        while self.peek() != quote:
            self.i += 2 if quote == '"' and self.peek() == "\\" else 1
        self.i += 1

    def array(self, path: Path) -> None:
        self.i += 1
        n = 0
        while True:
            self.skip("\n,")
            if self.peek() == "]":
                break
            self.note((*path, n), self.i)
            self.value((*path, n))
            n += 1
        self.i += 1

    def inline_table(self, path: Path) -> None:
        self.i += 1
        while True:
            self.skip("\n,")
            if self.peek() == "}":
                break
            self.pair(path)
        self.i += 1
