"""Words, symbols and answers to what is often asked, read from one file of the package."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.resources import files

from ..errors import Fault, InputFault, nearest

__all__ = ["GROUPS", "Question", "Term", "Terms", "column_meaning", "read_terms"]

GROUPS = ("mechanics", "machine design", "life", "meshes and bands", "verdicts")


@dataclass(frozen=True)
class Term:
    """A word. also: other names; columns: of the tables of results that hold it, with what each means there; verdicts: words that results use."""

    name: str
    group: str
    text: str
    symbol: str = ""
    unit: str = ""
    also: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    verdicts: tuple[str, ...] = ()
    see: tuple[str, ...] = ()
    source: str = ""


@dataclass(frozen=True)
class Question:
    """What is often asked, and its answer in paragraphs."""

    name: str
    question: str
    answer: tuple[str, ...]
    also: tuple[str, ...] = ()
    see: tuple[str, ...] = ()
    source: str = ""


@dataclass(frozen=True)
class Terms:
    """All of them, in the order of the file."""

    terms: tuple[Term, ...]
    questions: tuple[Question, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all entries, questions first."""
        return (*(q.name for q in self.questions), *(t.name for t in self.terms))

    @cached_property
    def _by_word(self) -> dict[str, list[Term | Question]]:
        words: dict[str, list[Term | Question]] = {}
        entries: tuple[Term | Question, ...] = (*self.questions, *self.terms)
        own = {_plain(e.name) for e in entries}
        for entry in entries:
            words.setdefault(_plain(entry.name), []).append(entry)
        for entry in entries:
            more = (*entry.columns, *entry.verdicts, *entry.symbol.split(", ")) if isinstance(entry, Term) else ()
            for word in dict.fromkeys(_plain(w) for w in (*entry.also, *more)):
                if word and word not in own and entry not in words.setdefault(word, []):
                    words[word].append(entry)
        return words

    def find(self, word: str) -> tuple[Term | Question, ...]:
        """Entries of this name, symbol, column or verdict. Raises InputFault with the nearest one."""
        plain = _plain(word)
        if plain in self._by_word:
            return tuple(self._by_word[plain])
        parts = [w for w in self._by_word if len(plain) > 3 and plain in w]
        if parts:
            return tuple(dict.fromkeys(e for w in parts[:3] for e in self._by_word[w]))
        hint = nearest(plain, self._by_word)
        raise InputFault(
            Fault("TOPIC", word, "is not explained here", f"{hint + ' ' if hint else ''}`femdrum explain` lists all")
        )


def column_meaning(column: str) -> list[tuple[str, str]]:
    """What a column holds, as the tables of results define it: (file, meaning); empty where none has it."""
    from .life_write import LIFE_COLUMNS
    from .table import DEFINITIONS

    tables = {"results.csv": DEFINITIONS, "life.csv": LIFE_COLUMNS}
    return [(name, columns[column]) for name, columns in tables.items() if column in columns]


def _plain(word: str) -> str:
    """As it is looked for: small letters, one blank between words."""
    return " ".join(word.lower().replace("_", " ").replace("-", " ").replace("?", " ").split())


@cache
def read_terms() -> Terms:
    """The file terms.toml of this package."""
    data = tomllib.loads(files(__package__).joinpath("terms.toml").read_text(encoding="utf-8"))
    terms = tuple(
        Term(
            t["name"], t["group"], " ".join(t["text"].split()), t.get("symbol", ""), t.get("unit", ""), tuple(t.get("also", ())),
            tuple(t.get("columns", ())), tuple(t.get("verdicts", ())), tuple(t.get("see", ())), t.get("source", ""),
        )
        for t in data["term"]
    )  # fmt: skip
    questions = tuple(
        Question(
            q["name"], q["question"], tuple(" ".join(p.split()) for p in q["answer"].strip().split("\n\n")),
            tuple(q.get("also", ())), tuple(q.get("see", ())), q.get("source", ""),
        )
        for q in data["question"]
    )  # fmt: skip
    return Terms(terms, questions)
