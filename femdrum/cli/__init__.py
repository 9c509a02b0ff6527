"""The command line. Everything heavy is loaded only by the command that needs it; only this package prints.

One file for each group of commands; `add` enters them.
"""

from __future__ import annotations

import argparse
import atexit
import gc
import os
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from typing import Any

from ..errors import FemdrumError, InputFault
from .common import INPUT_AT_FAULT, NUMBER_MISSING, say, width, write_json
from .parser import Parser

__all__ = ["main", "whole_parser"]

# command -> file and function that enter it, in the order of the help
_ENTERED_BY = {
    "study": ("studies", "add"),
    "check": ("check", "add"),
    "kt": ("kt", "add"),
    "best-radius": ("best_radius", "add"),
    "impact": ("impact", "add"),
    "retention": ("retention", "add"),
    "contact": ("contact", "add"),
    "balance": ("balance", "add"),
    "figure": ("figure", "add"),
    "report": ("studies", "add_drawing"),
    "handover": ("handover", "add"),
    "compare": ("compare", "add"),
    "rotor": ("rotor", "add"),
    "explain": ("explain", "add"),
    "verify": ("machine", "add"),
    "doctor": ("machine", "add"),
    "new": ("machine", "add"),
    "completion": ("completion", "add"),
}

EPILOG = """exit codes: 0 done; 1 a number that was asked for is missing; 2 the input is at fault

The results support a qualified engineer and release nothing for manufacture or operation."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; the exit code says how it went."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):  # a narrow console shows ? for the sign it lacks
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    atexit.register(gc.freeze)  # so that the end of the process does not search all that is left for cycles
    args = _parser(arguments).parse_args(arguments)
    try:
        code: int = args.run(args)
        sys.stdout.flush()
        return code
    except InputFault as error:
        return _input_at_fault(error, args)
    except FemdrumError as error:
        say(str(error))
        return NUMBER_MISSING
    except KeyboardInterrupt:
        say("stopped")
        return NUMBER_MISSING
    except BrokenPipeError:  # the reader of a pipe has left
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return NUMBER_MISSING
    except Exception as error:
        if args.debug:
            raise
        say(f"femdrum met an error of its own, {type(error).__name__}: {error}")
        say("the same command with --debug shows where; please report it with the study file")
        return NUMBER_MISSING


def _parser(arguments: Sequence[str], *, whole: bool = False) -> argparse.ArgumentParser:
    parser = Parser(
        prog="femdrum",
        description="Stress at the slots of a grinder drum: peaks with an error band, laid against exact solutions.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and exit")
    parser.asked = arguments
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    def command(name: str, run: Callable[[argparse.Namespace], int], what: str, *, as_json: bool = True) -> Any:
        sub = commands.add_parser(name, help=what, description=what, allow_abbrev=False)
        sub.set_defaults(run=run, json=False)
        sub.add_argument("--debug", action="store_true", help="show the full trace of an internal error")
        if as_json:
            sub.add_argument("--json", action="store_true", help="write JSON to the standard output, and no progress")
        return sub

    # a command that is asked for loads its own file alone
    asked = arguments[0] if arguments and arguments[0] in _ENTERED_BY and not whole else None
    for file, adds in dict.fromkeys(_ENTERED_BY.values() if asked is None else [_ENTERED_BY[asked]]):
        add = getattr(import_module(f"{__name__}.{file}"), adds)
        add(command, arguments) if file == "kt" else add(command)
    return parser


def whole_parser() -> argparse.ArgumentParser:
    """The parser with all options of all commands, also those that `kt` takes from the shape."""
    return _parser(["kt"], whole=True)


class _Version(argparse.Action):
    """Looks the version up only when it is asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from importlib.metadata import version

        print(f"femdrum {version('femdrum')}")
        parser.exit()


def _input_at_fault(error: InputFault, args: argparse.Namespace) -> int:
    from ..study.text import fault_records, faults

    if args.json:
        write_json({"faults": fault_records(error)})
    for line in faults(error, width()):
        say(line)
    return INPUT_AT_FAULT
