"""`femdrum completion`: a script by which a shell completes commands, options and files."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any

from ..errors import MissingPart
from .common import DONE, Command

__all__ = ["add"]

SHELLS = ("bash", "zsh", "fish")
# what a placeholder of the help stands for
_FOLDERS = ("DIR",)
_STUDIES = ("FILE",)
_FILES = ("PATH", "TABLE", "PAGE")

HOW = """write the script by which a shell completes femdrum's commands, options and files. To use it:
bash: femdrum completion bash >> ~/.bash_completion
zsh: femdrum completion zsh > a folder of $fpath, as _femdrum
fish: femdrum completion fish > ~/.config/fish/completions/femdrum.fish
and open a new shell."""


def add(command: Command) -> None:
    """Enter the command."""
    completion = command("completion", _completion, "write a completion script for a shell", as_json=False)
    completion.description = HOW
    completion.formatter_class = argparse.RawDescriptionHelpFormatter
    completion.add_argument("shell", choices=SHELLS, help="for which shell")


def _completion(args: argparse.Namespace) -> int:
    try:
        import shtab
    except ImportError as error:
        raise MissingPart(
            "the library that writes completion scripts is missing; python -m pip install shtab"
        ) from error

    from ..model.cutout import CUTOUTS
    from ..study.terms import read_terms
    from . import whole_parser

    parser = whole_parser()
    words = {"SHAPE": tuple(CUTOUTS), "TOPIC": tuple(n.replace(" ", "-") for n in read_terms().names)}
    for action in _actions(parser):
        word = action.metavar if isinstance(action.metavar, str) else ""
        if word in _FOLDERS:
            _completes(action, shtab.DIRECTORY)
        elif word in _STUDIES:
            _completes(action, shtab.glob("*.toml") if action.option_strings == [] else shtab.FILE)
        elif word in words:
            action.choices = words[word]
        elif word in _FILES:
            _completes(action, shtab.FILE)
    print(shtab.complete(parser, shell=args.shell))
    return DONE


def _completes(action: argparse.Action, how: Any) -> None:
    action.complete = how  # type: ignore[attr-defined]


def _actions(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """All arguments of a parser and of its commands."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for sub in dict.fromkeys(action.choices.values()):
                yield from _actions(sub)
        else:
            yield action
