"""The parser of the command line: faults of it in plain words, with the nearest right name."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator, Sequence
from typing import NoReturn

from ..errors import nearest
from .common import DONE, INPUT_AT_FAULT, say

__all__ = ["FIRST_STEPS", "Parser", "options"]

FIRST_STEPS = """usage: femdrum COMMAND ...
To begin:
  femdrum new my.toml       a commented study that runs; --for student or analyst for others
  femdrum study my.toml     solve it, write results and report
  femdrum explain           words, symbols, and answers to what is often asked
  femdrum --help            all commands"""


class Parser(argparse.ArgumentParser):
    """argparse, with messages for people who begin. asked: the arguments as given."""

    asked: Sequence[str] = ()

    def error(self, message: str) -> NoReturn:
        """Leave with exit code 2 and one message."""
        commands = _commands(self)
        if commands and not self.asked:
            say(FIRST_STEPS)
            self.exit(INPUT_AT_FAULT)
        if commands and self.asked[0] == "help":
            (commands[self.asked[1]] if len(self.asked) > 1 and self.asked[1] in commands else self).print_help()
            self.exit(DONE)
        wrong = re.match(r"argument COMMAND: invalid choice: '([^']*)'", message)
        if wrong:
            self._leave(f"there is no command {wrong.group(1)!r}; {_command_hint(wrong.group(1), list(commands))}")
        stray = re.match(r"unrecognized arguments: (-\S+)", message)
        if stray and commands:
            sub = next((commands[a] for a in self.asked if a in commands), self)
            hint = nearest(stray.group(1).split("=")[0], options(sub))
            self._leave(f"{message}; {hint or f'`{sub.prog} --help` lists what it takes'}")
        super().error(message)

    def _leave(self, message: str) -> NoReturn:
        self.exit(INPUT_AT_FAULT, f"usage: {self.prog} COMMAND ...\n{self.prog}: {message}\n")


def _commands(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            return dict(action.choices)
    return {}


def _command_hint(word: str, commands: Sequence[str]) -> str:
    if word.endswith(".toml"):
        return f"to solve a study: `femdrum study {word}`"
    if word.rstrip("/").endswith(".results"):
        return f"to write a report of finished results: `femdrum report {word}`"
    return nearest(word, commands) or "`femdrum --help` lists all"


def options(parser: argparse.ArgumentParser) -> Iterator[str]:
    """The option names of one command."""
    return (name for action in parser._actions for name in action.option_strings)
