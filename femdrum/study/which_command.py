"""Which command reads a file, by the tables that stand in it; and what a wrong one is called."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

__all__ = ["command_of", "results_folder_hint"]

# the table that tells, in the order of asking; a study may hold [drum] too, so it comes first
_TELLING = {
    "part": "study",
    "clamp": "retention",
    "balance": "balance",
    "pack": "contact",
    "round_seat": "contact",
    "drum": "rotor",
}


def command_of(tables: Iterable[str]) -> tuple[str, str]:
    """(command, the table that tells); both empty where no table does."""
    there = set(tables)
    return next(((command, table) for table, command in _TELLING.items() if table in there), ("", ""))


def results_folder_hint(path: Path) -> str:
    """What to do with a folder of results that was given in place of a file; empty where it is none."""
    for mark in ("results.json", "study.json"):
        if (path / mark).is_file():
            return f"it holds results: `femdrum report {path}` writes their report, `femdrum figure {path}` draws them; to solve, give the study file (TOML)"
    return ""
