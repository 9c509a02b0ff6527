"""`femdrum study`, `check`, `figure` and `report`: study files and results folders."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from .common import CAUTION, DONE, NUMBER_MISSING, Command, say, width, write_json, write_lines
from .progress import Progress

__all__ = ["add", "add_drawing"]


def add(command: Command) -> None:
    """Enter the commands."""
    study = command("study", _study, "solve all variants of a study file and write results and report")
    study.add_argument("file", metavar="FILE", help="study file (TOML)")
    study.add_argument("--out", metavar="DIR", help="results folder (default: the file's name with .results, here)")
    where = study.add_mutually_exclusive_group()
    where.add_argument("--workers", type=_count, metavar="N", help="worker processes (default: one per core)")
    where.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="solve on the workers of the dask.distributed scheduler at this address, which must reach the results folder; "
        "start them by `dask worker ADDRESS --nthreads 1 --nworkers N`",
    )
    study.add_argument("--no-report", action="store_true", help="leave figures and report out")
    check = command("check", _check, "tell all faults of a study file, or what it would solve")
    check.add_argument("file", metavar="FILE", help="study file (TOML)")


def add_drawing(command: Command) -> None:
    """Enter the commands that draw finished results."""
    figure = command("figure", _figure, "draw the figures of finished results anew")
    figure.add_argument("folder", metavar="DIR", help="results folder")
    report = command("report", _report, "write the report of finished results anew")
    report.add_argument("folder", metavar="DIR", help="results folder")


def _count(text: str) -> int:
    try:
        number = int(text)
    except ValueError:
        number = 0
    if not 1 <= number <= 4096:
        raise argparse.ArgumentTypeError(f"{text!r}: must be a whole number from 1 to 4096")
    return number


def _study(args: argparse.Namespace) -> int:
    from ..study import read_study, run
    from ..study.text import result_lines, wrapped

    study = read_study(args.file)
    out = Path(args.out) if args.out else Path(f"{study.name}.results")
    progress = Progress(study, silent=args.json)
    try:
        results = run(study, out, workers=args.workers, cluster=args.cluster, on_event=progress)
    except KeyboardInterrupt:
        progress.clear()
        say(f"stopped; what is finished is kept in {out}, and the same command goes on from there")
        return NUMBER_MISSING
    progress.clear()
    report = None if args.no_report else _drawn("write", out, args)
    if args.json:
        write_json(
            {
                "folder": str(out),
                "complete": results.complete,
                "report": str(report) if report else None,
                "rows": list(results.rows),
            }
        )
    else:
        print(results.title)
        write_lines(["", *result_lines(results), ""])
        print(f"results  {out / 'results.csv'}")
        if results.life:
            print(f"life     {out / 'life.csv'}")
        if report:
            print(f"report   {report}")
        if any(row["verdict"] == "failed" for row in results.rows):
            print(f"failures {out / 'failed'} holds the details; the same command tries them again")
        print()
        write_lines(wrapped(CAUTION, width(), indent=""))
    return DONE if results.complete else NUMBER_MISSING


def _check(args: argparse.Namespace) -> int:
    from ..study import read_study
    from ..study.text import describe

    study = read_study(args.file)
    if args.json:
        axes = [{"key": a.key, "column": a.column, "values": list(a.values)} for a in study.axes]
        write_json(
            {
                "faults": [],
                "title": study.title,
                "variants": len(study.variants),
                "axes": axes,
                "left_out": study.left_out,
            }
        )
    else:
        print(f"{args.file}: no fault found")
        write_lines(describe(study))
    return DONE


def _figure(args: argparse.Namespace) -> int:
    return _redraw("draw", args)


def _report(args: argparse.Namespace) -> int:
    return _redraw("write", args)


def _redraw(what: str, args: argparse.Namespace) -> int:
    from ..study import Results

    Results.load(args.folder)
    made = _drawn(what, Path(args.folder), args)
    if made is None:
        return NUMBER_MISSING
    paths = [str(p) for p in made] if isinstance(made, (list, tuple)) else [str(made)]
    if args.json:
        write_json({"written": paths})
    else:
        write_lines(paths)
    return DONE


def _drawn(what: str, folder: Path, args: argparse.Namespace) -> Any:
    """Report or figures of a results folder; if they cannot be made, the numbers still stand."""
    try:
        from .. import report

        return getattr(report, what)(folder)
    except Exception as error:
        if args.debug:
            raise
        say(f"the {'report' if what == 'write' else 'figures'} could not be made: {error}")
        say("`femdrum doctor` tells whether something is missing")
        return None
