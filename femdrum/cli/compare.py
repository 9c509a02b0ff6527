"""`femdrum compare`: results folders side by side, and which differences the error bands bear out."""

from __future__ import annotations

import argparse
from pathlib import Path

from ..errors import MISSING, Fault, FileFault
from .common import CAUTION, DONE, NUMBER_MISSING, Command, say, width, write_json, write_lines

__all__ = ["add"]


def add(command: Command) -> None:
    """Enter the command."""
    compare = command(
        "compare", _compare, "results folders side by side: inputs and results that differ, and what the bands prove"
    )
    compare.add_argument("folders", metavar="DIR", nargs="+", help="results folders; the first one is the reference")
    compare.add_argument(
        "--csv", metavar="TABLE", help="write the results side by side to this file, which must end in .csv"
    )
    compare.add_argument(
        "--page", metavar="PAGE", help="write a page with pictures to this file, which must end in .html"
    )


def _compare(args: argparse.Namespace) -> int:
    from ..study.compare_results import compare
    from ..study.compare_words import compare_lines
    from ..study.compare_write import compare_csv, compare_record
    from ..study.text import wrapped

    faults = [f for name in ("csv", "page") for f in _ending(name, getattr(args, name))]
    try:
        found = compare(*args.folders)
    except FileFault as error:
        raise FileFault([*error.faults, *faults]) from error
    if faults:
        raise FileFault(faults)
    written = []
    if args.csv:
        written.append(_write(Path(args.csv), compare_csv(found)))
    if args.json:
        write_json(compare_record(found))
    else:
        write_lines(compare_lines(found, width()))
    lost = False
    if args.page:
        page = _page(found, Path(args.page), args.debug)
        written += [page] if page else []
        lost = page is None
    if not args.json:
        write_lines(["", *(f"written  {path}" for path in written), *wrapped(CAUTION, width(), indent="")])
    return NUMBER_MISSING if lost else DONE


def _ending(option: str, given: str | None) -> list[Fault]:
    """A file of another ending is more likely a slip of the pen than what shall be written over."""
    wanted = {"csv": ".csv", "page": ".html"}[option]
    if given is None or Path(given).suffix.lower() == wanted:
        return []
    return [Fault(f"--{option}", given, f"must end in {wanted}")]


def _write(path: Path, text: str) -> Path:
    try:
        path.write_text(text, encoding="utf-8", newline="")
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise FileFault(Fault(str(path), MISSING, f"cannot be written: {why}", "give another name")) from None
    return path


def _page(found: object, path: Path, debug: bool) -> Path | None:
    """The page; where it cannot be made the numbers still stand."""
    try:
        from ..report.compare_page import write_compare_page

        return write_compare_page(found, path)  # type: ignore[arg-type]
    except OSError as error:
        raise FileFault(
            Fault(str(path), MISSING, f"cannot be written: {error.strerror or error}", "give another name")
        ) from None
    except Exception as error:
        if debug:
            raise
        say(f"the page could not be made: {error}")
        say("`femdrum doctor` tells whether something is missing")
        return None
