"""`femdrum figure`: figures of finished results, for print: format, size, letters, limits, numbers, grey; or what can be drawn."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from .common import DONE, NUMBER_MISSING, Command, say, width, write_json, write_lines

__all__ = ["add"]

PRESETS = ("one-column", "two-column", "report", "slide")
CHOICES = ("case", "variant", "axis", "component", "quantity")
EPILOG = """examples:
  femdrum figure DIR --list
  femdrum figure DIR kt-running --out kt.pdf --preset one-column
  femdrum figure DIR edge --case running --variant 2 --out edge.svg --width-mm 120 --font-pt 9
  femdrum figure DIR kt --x-limits 0 25 --number-format "x=.0f,y=.2f" --decimal-comma --grey"""


def add(command: Command) -> None:
    """Enter the command."""
    figure = command(
        "figure", _figure, "draw figures of finished results, sized for print, with their data beside them"
    )
    figure.formatter_class = argparse.RawDescriptionHelpFormatter
    figure.epilog = EPILOG
    figure.add_argument("folder", metavar="DIR", help="results folder")
    figure.add_argument(
        "name",
        metavar="NAME",
        nargs="?",
        help="a figure of the report, or a kind of figure; see --list (default: all of the report)",
    )
    figure.add_argument("--list", action="store_true", help="tell what this result can draw, and with which options")
    figure.add_argument(
        "--out", metavar="FILE", action="append", default=[],
        help="file to write, .svg, .pdf or .png; its data goes beside it as .csv; may be given several times (default: into "
        "DIR/figures, or DIR/figures/print where the look is not the report's)",
    )  # fmt: skip
    look = figure.add_argument_group("how it is set")
    look.add_argument("--preset", metavar="NAME", help=f"one of {', '.join(PRESETS)}")
    look.add_argument("--width-mm", type=_number, metavar="MM", help="width")
    look.add_argument("--height-mm", type=_number, metavar="MM", help="height (default: what the figure needs)")
    look.add_argument("--font-pt", type=_number, metavar="PT", help="size of the letters (default: 8)")
    for axis in ("x", "y"):
        look.add_argument(
            f"--{axis}-limits",
            type=_number,
            nargs=2,
            metavar=("LOW", "HIGH"),
            help=f"ends of the {axis} axis, in its unit",
        )
    look.add_argument(
        "--number-format",
        metavar="FORMAT",
        default="",
        help="numbers along the axes: .2f, or one for each: x=.0f,y=.2f",
    )
    look.add_argument("--decimal-comma", action="store_true", help="3,21 in place of 3.21; the CSV keeps the point")
    look.add_argument(
        "--grey", action="store_true", help="no colour: lines in greys, each with its own dash and marker"
    )
    which = figure.add_argument_group("what a kind shows")
    which.add_argument("--case", metavar="NAME", help="load or condition")
    which.add_argument("--variant", metavar="WHICH", help="number from 0, key or name of a variant")
    which.add_argument("--axis", metavar="COLUMN", help="axis of the study")
    which.add_argument("--component", metavar="NAME", help="kind of stress along the edge")
    which.add_argument("--quantity", metavar="NAME", help="kind of stress in a field")


def _number(text: str) -> Any:
    """A number; anything else stays, for the checks to judge together with the rest."""
    try:
        return float(text)
    except ValueError:
        return text


def _figure(args: argparse.Namespace) -> int:
    from ..errors import MISSING, Fault, FemdrumError, InputFault
    from ..study import Results

    results = Results.load(args.folder)
    try:
        from .. import report

        if args.list:
            return _list(report.describe(results), args)
        written = report.draw_for_print(
            results, args.name, [Path(p) for p in args.out], {c: getattr(args, c) for c in CHOICES}, **_look(args)
        )
    except FemdrumError:
        raise
    except LookupError as reason:  # a study that stores nothing for this kind
        raise InputFault(
            Fault(
                "figure",
                args.name or MISSING,
                str(reason).strip("'\""),
                f"`femdrum figure {args.folder} --list` tells what can be drawn",
            )
        ) from reason
    except Exception as error:
        if args.debug:
            raise
        say(f"the figures could not be made: {error}")
        say("`femdrum doctor` tells whether something is missing")
        return NUMBER_MISSING
    if args.json:
        write_json({"written": [str(p) for p in written]})
    else:
        write_lines(map(str, written))
    return DONE


def _look(args: argparse.Namespace) -> dict[str, Any]:
    size = (args.width_mm, args.height_mm)
    return {
        "preset": args.preset, "size_mm": None if size == (None, None) else size, "font_pt": args.font_pt, "x_limits": args.x_limits,
        "y_limits": args.y_limits, "number_format": args.number_format, "decimal_comma": args.decimal_comma, "grey": args.grey,
    }  # fmt: skip


def _list(told: dict[str, Any], args: argparse.Namespace) -> int:
    if args.json:
        write_json(told)
        return DONE
    write_lines(_lines(told))
    return DONE


def _lines(told: dict[str, Any]) -> Iterator[str]:
    yield "figures of the report:"
    longest = max((len(f["name"]) for f in told["figures"]), default=0)
    yield from _columns(((f["name"], f["caption"]) for f in told["figures"]), longest)
    yield ""
    yield "kinds, with their options (the first value is taken where none is given, unless the kind chooses a variant itself):"
    longest = max((len(k["kind"]) for k in told["kinds"]), default=0)
    for kind in told["kinds"]:
        yield from _columns([(kind["kind"], kind["words"])], longest)
        for option, values in kind["options"].items():
            if values:
                yield from _columns([("", f"--{option} " + " | ".join(values))], longest)


def _columns(rows: Iterable[tuple[str, str]], longest: int) -> Iterator[str]:
    import textwrap

    for name, words in rows:
        first = f"  {name:<{longest}}  "
        if len(first) > width() // 2:
            yield first.rstrip()
            first = "      "
        yield from textwrap.wrap(words, max(40, width()), initial_indent=first, subsequent_indent=" " * len(first)) or [
            first.rstrip()
        ]
