"""What the commands on files of plain tables share: their options, how they draw, their caution."""

from __future__ import annotations

import argparse
from importlib import import_module
from pathlib import Path
from typing import Any

from .common import say, width

__all__ = ["CAUTION_SHEET", "drawn", "sheet_options", "told"]

CAUTION_SHEET = (
    "These numbers support a qualified engineer; they release nothing. What was not checked is listed on the page and in the JSON. "
    "A drum stores megajoules and throws parts: verify by test and inspection, follow local codes, lock out and prove zero speed."
)


def sheet_options(sub: Any, what: str) -> None:
    """File, folder, and whether a page is drawn."""
    sub.add_argument("file", metavar="FILE", help=what)
    sub.add_argument("--out", metavar="DIR", help="results folder (default: the file's name with .results, here)")
    sub.add_argument("--no-report", action="store_true", help="leave charts and page out")


def told(text: str) -> list[str]:
    """A sentence, wrapped to the terminal."""
    from ..study.text import wrapped

    return wrapped(text, width())


def drawn(page: str, sheet: Any, found: Any, folder: Path, args: argparse.Namespace) -> Path | None:
    """Charts and page by femdrum/report/<page>; if they cannot be made, the numbers still stand."""
    try:
        made: Path = import_module(f"..report.{page}", __package__).write_page(sheet, found, folder)
    except Exception as error:
        if args.debug:
            raise
        say(f"the page could not be made: {error}")
        say("`femdrum doctor` tells whether something is missing")
        return None
    return made
