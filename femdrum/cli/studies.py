"""`femdrum study` and `report`: study files and results folders."""

from __future__ import annotations

import argparse
from pathlib import Path

from . import handover
from .common import CAUTION, DONE, NUMBER_MISSING, Command, say, width, write_json, write_lines
from .progress import Progress

__all__ = ["add", "add_drawing"]

PDF = "the report as PDF too (needs the extra: pip install 'femdrum[pdf]')"


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
    paper = study.add_mutually_exclusive_group()
    paper.add_argument("--no-report", action="store_true", help="leave figures and report out")
    paper.add_argument("--pdf", action="store_true", help=PDF)
    handover.as_built_options(study)


def add_drawing(command: Command) -> None:
    """Enter the command that writes the report of finished results."""
    report = command("report", _report, "write the report of finished results anew")
    report.add_argument("folder", metavar="DIR", help="results folder")
    report.add_argument("--pdf", action="store_true", help=PDF)


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
    if handover.asks_as_built(args):
        return handover.as_built(study, args)
    out = Path(args.out) if args.out else Path(f"{study.name}.results")
    progress = Progress(study, silent=args.json)
    try:
        results = run(study, out, workers=args.workers, cluster=args.cluster, on_event=progress)
    except KeyboardInterrupt:
        progress.clear()
        say(f"stopped; what is finished is kept in {out}, and the same command goes on from there")
        return NUMBER_MISSING
    progress.clear()
    made = [] if args.no_report else _written(out, args)
    if args.json:
        write_json(
            {
                "folder": str(out),
                "complete": results.complete,
                "report": str(made[0]) if made else None,
                "rows": list(results.rows),
            }
        )
    else:
        print(results.title)
        write_lines(["", *result_lines(results), ""])
        print(f"results  {out / 'results.csv'}")
        if results.life:
            print(f"life     {out / 'life.csv'}")
        if study.rest is not None:
            from ..study.rest_stage import rest_line

            print(f"drum     {out / 'rest_of_drum'}: {rest_line(out)}")
        for name, path in zip(("report", "paper"), made, strict=False):
            print(f"{name:<8} {path}")
        if any(row["verdict"] == "failed" for row in results.rows):
            print(f"failures {out / 'failed'} holds the details; the same command tries them again")
        print()
        write_lines(wrapped(CAUTION, width(), indent=""))
    return DONE if results.complete else NUMBER_MISSING


def _report(args: argparse.Namespace) -> int:
    from ..study import Results

    Results.load(args.folder)
    made = _written(Path(args.folder), args)
    if args.json:
        write_json({"written": [str(p) for p in made]})
    else:
        write_lines([str(p) for p in made])
    return DONE if len(made) == 1 + args.pdf else NUMBER_MISSING


def _written(folder: Path, args: argparse.Namespace) -> list[Path]:
    """The files of the report; what cannot be made is said and left out, and the numbers still stand."""
    page, paper = folder / "report.html", folder / "report.pdf"
    try:
        from ..errors import MissingPart
        from ..report import write

        try:
            write(folder, pdf=args.pdf)
        except MissingPart as reason:
            say(f"no PDF: {reason}")
            return [page]
        return [page, paper] if args.pdf else [page]
    except Exception as error:
        if args.debug:
            raise
        say(f"the report could not be made: {error}")
        say("`femdrum doctor` tells whether something is missing")
        return []
