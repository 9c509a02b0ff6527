"""What all commands share: exit codes, the caution, and how lines, JSON and messages are written."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable, Iterable
from typing import Any

__all__ = [
    "CAUTION",
    "DONE",
    "INPUT_AT_FAULT",
    "NUMBER_MISSING",
    "Command",
    "number_or_text",
    "say",
    "width",
    "write_json",
    "write_lines",
]

DONE, NUMBER_MISSING, INPUT_AT_FAULT = 0, 1, 2

CAUTION = (
    "These numbers support a qualified engineer; they release nothing. What was modelled and what was not is in the report. "
    "A drum stores megajoules: verify by test and inspection, follow local codes, lock out and prove zero speed."
)

# makes a command's parser: name, what runs it, one line of help; as_json: it takes --json
Command = Callable[..., Any]


def number_or_text(text: str) -> Any:
    """A number where the text is one, else the text, for the checks of the model to judge."""
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text


def say(text: str) -> None:
    """A message or progress, beside the results."""
    print(text, file=sys.stderr)


def write_lines(lines: Iterable[str]) -> None:
    """Results as plain text."""
    for line in lines:
        print(line)


def width() -> int:
    """Columns of the terminal that may be filled."""
    return min(shutil.get_terminal_size((100, 20)).columns, 120)


def write_json(data: Any) -> None:
    """Results for a program."""
    print(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False))
