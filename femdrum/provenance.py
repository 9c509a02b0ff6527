"""Where a number comes from: one of five kinds, said beside every value from outside."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Kind", "Provenance", "common_practice", "computed", "memory", "published", "standard"]


class Kind(StrEnum):
    """The five kinds of provenance."""

    PUBLISHED = "published"
    STANDARD = "standard"
    COMMON_PRACTICE = "common practice, no source"
    MEMORY = "from memory, not confirmed"
    COMPUTED = "computed"


@dataclass(frozen=True)
class Provenance:
    """Kind, source (author, title, edition, table or page; or how it was computed) and how it was seen."""

    kind: Kind
    source: str = ""
    seen: str = ""

    def __str__(self) -> str:
        text = self.kind.value
        if self.source:
            text += f": {self.source}"
        if self.seen:
            text += f" ({self.seen})"
        return text


def published(source: str, seen: str = "seen in a secondary reproduction") -> Provenance:
    """A value from a book or paper; says so when only a secondary reproduction was seen."""
    return Provenance(Kind.PUBLISHED, source, seen)


def standard(source: str, seen: str = "seen in a secondary reproduction") -> Provenance:
    """A value from a standard, number and year."""
    return Provenance(Kind.STANDARD, source, seen)


def common_practice(what: str = "") -> Provenance:
    """A fact of the trade without a source."""
    return Provenance(Kind.COMMON_PRACTICE, what)


def memory(what: str) -> Provenance:
    """A value recalled and not confirmed."""
    return Provenance(Kind.MEMORY, what)


def computed(how: str) -> Provenance:
    """A value computed here; says how."""
    return Provenance(Kind.COMPUTED, how)
