"""`femdrum verify`, `doctor` and `new`: proofs, the machine, a file to start from."""

from __future__ import annotations

import argparse
import shlex
import sys
from pathlib import Path

from ..errors import MISSING, Fault, FileFault, MissingPart
from .common import DONE, NUMBER_MISSING, Command, say, write_json, write_lines

__all__ = ["add"]


def add(command: Command) -> None:
    """Enter the commands."""
    command("verify", _verify, "solve published and exact cases here and lay ours beside theirs")
    command("doctor", _doctor, "tell what this machine lacks, and the line that mends it")
    new = command("new", _new, "write a commented study file that runs", as_json=False)
    new.add_argument("path", metavar="PATH", help="file to write; an existing one is left alone")
    new.add_argument(
        "--for",
        dest="purpose",
        type=lambda text: _SHORT.get(text, text),
        choices=tuple(_TEMPLATES),
        default="design-engineer",
        help="whom or what it is for (default: design-engineer, the corner radius of a drum's slots); student: a plate with a hole; "
        "analyst: one figure for a report; shapes: slots of many shapes in a plate",
    )


# purpose -> template, the file's name inside it, what comes of it
_TEMPLATES = {
    "design-engineer": ("ring", "corner_radius", "five corner radii of one drum; about a minute"),
    "analyst": (
        "report_figure",
        "report_figure",
        "two loads together over three radii, about a minute; its head says how to draw the figure",
    ),
    "student": ("plate", "plate_with_hole", "a plate with a round hole in seven widths; seconds"),
    "shapes": ("shapes", "slot_shapes", "twenty slots in a wide plate, each under three loads; about a minute"),
}
_SHORT = {"ring": "design-engineer", "plate": "student"}


def _verify(args: argparse.Namespace) -> int:
    try:
        from .. import verify
    except ImportError as error:
        raise MissingPart(f"the verification cases are not there: {error}") from error
    from ..study.text import grid, percent

    rows = []
    for row in verify.cases():
        rows.append(row)
        if not args.json and sys.stderr.isatty():
            say(f"{row.name}: {'agrees' if row.good else 'DIFFERS'}")
    if args.json:
        write_json([vars(row) for row in rows])
    else:
        table = [
            (r.name, r.quantity, f"{r.ours:.6g}", f"{r.theirs:.6g}", percent(r.difference), r.source) for r in rows
        ]
        write_lines(grid(("case", "value", "ours", "theirs", "difference", "source"), table))
        print(f"\n{sum(r.good for r in rows)} of {len(rows)} agree within their tolerance")
    return DONE if all(r.good for r in rows) else NUMBER_MISSING


def _doctor(args: argparse.Namespace) -> int:
    from ..doctor import examine
    from ..study.text import grid

    findings = examine()
    bad = [f for f in findings if f.good is False]
    if args.json:
        write_json({"good": not bad, "findings": [vars(f) for f in findings]})
    else:
        words = {True: "good", False: "MISSING", None: ""}
        write_lines(grid(("", "", ""), [(words[f.good], f.what, f.text) for f in findings])[1:])
        mends = list(dict.fromkeys(f.mend for f in bad if f.mend))
        if mends:
            print("\nThis mends it:")
            write_lines([f"  {mend}" for mend in mends])
        else:
            print("\nNothing is missing.")
    return DONE if not bad else NUMBER_MISSING


def _new(args: argparse.Namespace) -> int:
    from importlib.resources import files

    path = Path(args.path)
    template, known, comes = _TEMPLATES[args.purpose]
    text = files("femdrum.study").joinpath("templates", f"{template}.toml").read_text(encoding="utf-8")
    for ending, name in ((".toml", path.name), (".results", f"{path.stem}.results")):
        text = text.replace(f"{known}{ending}", shlex.quote(name))
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise FileFault(Fault(str(path), MISSING, "is there already and is left alone", "give another name")) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise FileFault(Fault(str(path), MISSING, f"cannot be written: {why}", "give another name")) from None
    print(f"{path} is written: {comes}. Edit it, then run\n  femdrum study {shlex.quote(str(path))}")
    return DONE
