"""`femdrum handover`, and `femdrum study --as-built`: what workshop and service get, and the drum once more as it was built."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .common import CAUTION, DONE, NUMBER_MISSING, Command, number_or_text, say, width, write_json, write_lines
from .progress import Progress

if TYPE_CHECKING:
    from ..study import Study
    from ..study.as_built_run import AsBuiltResult
    from ..study.handover import Handover

__all__ = ["add", "as_built", "as_built_options", "asks_as_built"]

MOST_LINES = 60


def add(command: Command) -> None:
    """Enter the command."""
    sub = command("handover", _handover, "slot numbers, drawing table and inspection map of a finished study, to print")
    sub.add_argument(
        "folder", metavar="DIR", help="results folder of a study of a drum's ring, best with [drum] and [life]"
    )
    sub.add_argument(
        "--variant",
        metavar="WHICH",
        help="the variant that is drawn: number from 1, label or key (default: that of the longest life)",
    )
    sub.add_argument(
        "--drum",
        metavar="FILE",
        help="file of the whole drum (TOML of `femdrum rotor`), for the slot numbers of a study without [drum]",
    )
    sub.add_argument("--no-pictures", action="store_true", help="write the tables and the page without figures")


def as_built_options(study: Any) -> None:
    """Options of `femdrum study` for a drum that was built."""
    study.add_argument(
        "--as-built",
        metavar="CSV",
        help="measured corner radii (columns slot or row, corner, radius_mm): solve the drum as it was built",
    )
    study.add_argument(
        "--missing",
        metavar="RULE",
        help="with --as-built, slots and corners that were not measured: refuse (default) or designed",
    )
    study.add_argument(
        "--within-mm",
        metavar="MM",
        help="with --as-built, radii that differ by no more are solved as the least of them (default: 0.25)",
    )
    study.add_argument(
        "--variant", metavar="WHICH", help="with --as-built, the variant that was drawn: number from 1, label or key"
    )


def asks_as_built(args: argparse.Namespace) -> bool:
    """Whether a drum as built is asked for. Raises InputFault for its options without the radii."""
    from ..errors import Fault, InputFault

    if args.as_built is not None:
        return True
    options = {"--missing": args.missing, "--within-mm": args.within_mm, "--variant": args.variant}
    alone = [
        Fault(name, value, "goes with --as-built only", "give the measured radii")
        for name, value in options.items()
        if value is not None
    ]
    if alone:
        raise InputFault(alone)
    return False


def _handover(args: argparse.Namespace) -> int:
    from ..study import Results
    from ..study.drum_sheet import read_drum_sheet
    from ..study.handover import FOLDER, handover_of, write_handover
    from ..study.sheet_folder import check_folder

    results = Results.load(args.folder)
    sheet = None if args.drum is None else read_drum_sheet(args.drum)
    made = handover_of(
        results, args.variant, None if sheet is None else sheet.drum, drum_source="" if sheet is None else sheet.source
    )
    folder = check_folder(Path(args.folder) / FOLDER, "handover.json", FOLDER)
    written = write_handover(made, folder, caution=CAUTION)
    page = _page(made, folder, args)
    written += [page] if page is not None else []
    if args.json:
        from ..study.handover import handover_record

        write_json(
            {
                **_plain(handover_record(made, caution=CAUTION)),
                "folder": str(folder),
                "written": [str(p) for p in written],
            }
        )
    else:
        write_lines(_lines(made, written))
    return DONE


def _plain(record: dict[str, Any]) -> Any:
    from ..study.plain import to_plain

    return to_plain(record)


def _page(made: Handover, folder: Path, args: argparse.Namespace) -> Path | None:
    """The page; where it cannot be made the tables still stand."""
    try:
        from ..report.handover import write_handover_page

        return write_handover_page(made, folder, pictures=not args.no_pictures)
    except Exception as error:
        if args.debug:
            raise
        say(f"the page could not be made: {error}")
        say("`femdrum doctor` tells whether something is missing")
        return None


def _lines(made: Handover, written: list[Path]) -> list[str]:
    from ..study.text import grid, wrapped

    look = made.inspection
    lines = [f"{made.title}{', ' + made.variant if made.variant else ''}", ""]
    for text in made.warnings:
        lines += wrapped(f"mind: {text}", width())
    lines += ["", "Drawing table"]
    for c in made.drawing:
        lines += wrapped(f"{c.feature}, {c.ask}: {c.words} [{c.basis}]", width())
    lines += ["", "Look first"]
    shown = [
        [str(s.rank), str(s.slot), str(s.row), "-" if s.utilisation is None else f"{s.utilisation:.3f}", s.place]
        for s in look.slots[:12]
    ]
    lines += grid(["rank", "slot", "row", "utilisation (1)", "place"], shown)
    left = len(look.slots) - len(shown)
    lines += [f"... and {left} more slots in look_slots.csv"] if left > 0 else []
    lines += ["", "When"]
    for o in look.looks:
        lines += wrapped(f"{o.when}: {o.what}; {o.method}", width())
    return [*lines, "", *(str(p) for p in written), "", *wrapped(CAUTION, width(), indent="")]


def as_built(study: Study, args: argparse.Namespace) -> int:
    """`femdrum study FILE --as-built CSV`."""
    from ..study.as_built_run import WITHIN_MM, as_built_study, run_as_built

    within = WITHIN_MM if args.within_mm is None else number_or_text(args.within_mm)
    asked = as_built_study(study, args.as_built, which=args.variant, missing=args.missing or "refuse", within_mm=within)
    out = Path(args.out) if args.out else Path(f"{study.name}.as_built.results")
    progress = Progress(asked.study, silent=args.json)
    try:
        results, found = run_as_built(asked, out, workers=args.workers, cluster=args.cluster, on_event=progress)
    except KeyboardInterrupt:
        progress.clear()
        say(f"stopped; what is finished is kept in {out}, and the same command goes on from there")
        return NUMBER_MISSING
    progress.clear()
    pages = [] if args.no_report else _pages(asked, found, out, args)
    if args.json:
        from dataclasses import asdict

        write_json(
            _plain(
                {
                    "folder": str(out),
                    "complete": results.complete,
                    "pages": [str(p) for p in pages],
                    "below": found.below,
                    **asdict(found),
                }
            )
        )
    else:
        write_lines(_built_lines(found, out, pages))
    return DONE if results.complete else NUMBER_MISSING


def _pages(asked: Any, found: AsBuiltResult, out: Path, args: argparse.Namespace) -> list[Path]:
    """The page of the drum as built, and the study's report; if one cannot be made, the numbers still stand."""
    from .. import report
    from ..report.handover import write_as_built_page

    made: list[Path] = []
    for make in (
        lambda: write_as_built_page(asked, found, out),
        lambda: report.write(out, pdf=getattr(args, "pdf", False)),
    ):
        try:
            made.append(make())
        except Exception as error:
            if args.debug:
                raise
            say(f"a page could not be made: {error}")
            say("`femdrum doctor` tells whether something is missing")
    return made


def _built_lines(found: AsBuiltResult, out: Path, pages: list[Path]) -> list[str]:
    from ..assess.life_words import hours
    from ..study.text import grid, wrapped

    lines = [found.title, ""]
    for text in (*found.words, *(f"mind: {w}" for w in found.warnings)):
        lines += wrapped(text, width())

    def number(value: float | None, form: str) -> str:
        return "-" if value is None else format(value, form)

    def life(value: float | None, much: float | None) -> str:
        return "-" if much is None else hours(value).removesuffix(" h")

    rows = [
        [str(s.slot), str(s.row), f"{s.least_mm:.4g}", f"{s.solved_mm:.4g}", number(s.peak_MPa, ".4g"), number(s.peak_designed_MPa, ".4g"),
         number(s.utilisation, ".2f"), number(s.utilisation_designed, ".2f"), life(s.life_h, s.utilisation),
         life(s.life_designed_h, s.utilisation_designed), "falls short" if s.fell else "short as designed" if s.below else "-" if s.utilisation is None else "holds"]
        for s in found.slots[:MOST_LINES]
    ]  # fmt: skip
    head = [
        "slot",
        "row",
        "least radius (mm)",
        "solved (mm)",
        "peak (MPa)",
        "designed",
        "utilisation (1)",
        "designed",
        "life (h)",
        "designed",
        "verdict",
    ]
    lines += ["", *grid(head, rows)]
    left = len(found.slots) - len(rows)
    lines += [f"... and {left} more slots in as_built.csv"] if left > 0 else []
    lines += ["", *(line for note in found.notes for line in wrapped(note, width()))]
    return [*lines, "", str(out / "as_built.csv"), *(str(p) for p in pages), "", *wrapped(CAUTION, width(), indent="")]
