"""results.json as it is written: head, then a line per row, then a line per variant; read back a line at a time.

A study of thousands of variants makes a file far larger than what anybody looks at together, so only the places of
the lines are kept in memory.
"""

from __future__ import annotations

import json
from array import array
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Generic, TypeVar, overload

from ..errors import MISSING, Fault, FileFault

__all__ = ["Items", "LaidOut", "plain"]

_ROWS, _VARIANTS = b'"rows": [\n', b'"variants": [\n'
# above this many, items that were read are let go again
MOST_KEPT = 2000
_FEW = 64

T = TypeVar("T")


def plain(value: Any) -> str:
    """A value as JSON on one line."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


@dataclass(frozen=True)
class LaidOut:
    """Where the lines of a results.json lie. head: all but rows and variants; stamp: by which a rewritten file is known."""

    path: Path
    stamp: tuple[int, int]
    head: dict[str, Any]
    rows: array[int]
    variants: array[int]

    @classmethod
    def of(cls, path: Path) -> LaidOut | None:
        """The layout of a file, or None where it is not laid out line by line, as after other programs wrote it."""
        before: list[bytes] = []
        places: dict[bytes, array[int]] = {_ROWS: array("Q"), _VARIANTS: array("Q")}
        here: array[int] | None = None
        at = 0
        line = b""
        with path.open("rb") as file:
            for line in file:
                if line in places and len(before) > 1:
                    here = places[line]
                elif here is None:
                    before.append(line)
                elif line.startswith(b"{"):
                    here.append(at)
                at += len(line)
        if here is not places[_VARIANTS] or line != b"}\n":
            return None
        try:
            head = json.loads(b"".join(before).rstrip().removesuffix(b",") + b"}")
        except ValueError:
            return None
        return cls(path, _stamp(path), head, places[_ROWS], places[_VARIANTS])

    def read(self, places: Sequence[int]) -> Iterator[dict[str, Any]]:
        """The items that begin at `places`. Raises FileFault if the file was written anew since, or is damaged."""
        if _stamp(self.path) != self.stamp:
            raise FileFault(Fault(str(self.path), MISSING, "was written anew while it was read", "read it again"))
        with self.path.open("rb") as file:
            for place in places:
                if file.tell() != place:
                    file.seek(place)
                try:
                    item: dict[str, Any] = json.loads(file.readline().rstrip().removesuffix(b","))
                except ValueError as error:
                    what = "is damaged: not valid JSON"
                    raise FileFault(
                        Fault(str(self.path), MISSING, what, "remove it and run the study again")
                    ) from error
                yield item


class Items(Sequence[T], Generic[T]):
    """Items of results.json, each read when it is asked for; small studies stay in memory once read."""

    def __init__(self, file: LaidOut, places: array[int], make: Callable[[dict[str, Any]], T]) -> None:
        self._file, self._places, self._make = file, places, make
        kept = len(places) if len(places) <= MOST_KEPT else _FEW
        self._one = lru_cache(kept)(self._read)

    def _read(self, n: int) -> T:
        return self._make(next(self._file.read([self._places[n]])))

    def __len__(self) -> int:
        return len(self._places)

    @overload
    def __getitem__(self, n: int) -> T: ...

    @overload
    def __getitem__(self, n: slice) -> Sequence[T]: ...

    def __getitem__(self, n: int | slice) -> T | Sequence[T]:
        if isinstance(n, slice):
            return [self[i] for i in range(*n.indices(len(self)))]
        if not -len(self) <= n < len(self):
            raise IndexError(f"there is no item {n}; there are {len(self)}")
        return self._one(n % len(self))

    def __iter__(self) -> Iterator[T]:
        if len(self) > MOST_KEPT:
            return map(self._make, self._file.read(self._places))
        return (self[n] for n in range(len(self)))


def _stamp(path: Path) -> tuple[int, int]:
    found = path.stat()
    return found.st_mtime_ns, found.st_size
