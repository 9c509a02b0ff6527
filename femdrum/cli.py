"""The command line. Everything heavy is loaded only by the command that needs it; only this module prints."""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .errors import MISSING, Fault, FemdrumError, FileFault, InputFault, MissingPart

if TYPE_CHECKING:
    from .study import Event, Study

__all__ = ["main"]

DONE, NUMBER_MISSING, INPUT_AT_FAULT = 0, 1, 2

CAUTION = (
    "These numbers support a qualified engineer; they release nothing. What was modelled and what was not is in the report. "
    "A drum stores megajoules: verify by test and inspection, follow local codes, lock out and prove zero speed."
)
EPILOG = """exit codes: 0 done; 1 a number that was asked for is missing; 2 the input is at fault

The results support a qualified engineer and release nothing for manufacture or operation."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; the exit code says how it went."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):  # a narrow console shows ? for the sign it lacks
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    args = _parser(arguments).parse_args(arguments)
    try:
        code: int = args.run(args)
        sys.stdout.flush()
        return code
    except InputFault as error:
        return _input_at_fault(error, args)
    except FemdrumError as error:
        _say(str(error))
        return NUMBER_MISSING
    except KeyboardInterrupt:
        _say("stopped")
        return NUMBER_MISSING
    except BrokenPipeError:  # the reader of a pipe has left
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return NUMBER_MISSING
    except Exception as error:
        if args.debug:
            raise
        _say(f"femdrum met an error of its own, {type(error).__name__}: {error}")
        _say("the same command with --debug shows where; please report it with the study file")
        return NUMBER_MISSING


def _parser(arguments: Sequence[str]) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="femdrum",
        description="Stress at the slots of a grinder drum: peaks with an error band, laid against exact solutions.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and exit")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    def command(name: str, run: Callable[[argparse.Namespace], int], what: str, *, as_json: bool = True) -> Any:
        sub = commands.add_parser(name, help=what, description=what, allow_abbrev=False)
        sub.set_defaults(run=run, json=False)
        sub.add_argument("--debug", action="store_true", help="show the full trace of an internal error")
        if as_json:
            sub.add_argument("--json", action="store_true", help="write JSON to the standard output, and no progress")
        return sub

    study = command("study", _study, "solve all variants of a study file and write results and report")
    study.add_argument("file", metavar="FILE", help="study file (TOML)")
    study.add_argument("--out", metavar="DIR", help="results folder (default: the file's name with .results, here)")
    study.add_argument("--workers", type=_count, metavar="N", help="worker processes (default: one per core)")
    study.add_argument("--no-report", action="store_true", help="leave figures and report out")
    check = command("check", _check, "tell all faults of a study file, or what it would solve")
    check.add_argument("file", metavar="FILE", help="study file (TOML)")
    kt = command("kt", _kt, "stress concentration of one opening in a plate, laid against the handbook")
    _kt_flags(kt, arguments)
    figure = command("figure", _figure, "draw the figures of finished results anew")
    figure.add_argument("folder", metavar="DIR", help="results folder")
    report = command("report", _report, "write the report of finished results anew")
    report.add_argument("folder", metavar="DIR", help="results folder")
    command("verify", _verify, "solve published and exact cases here and lay ours beside theirs")
    command("doctor", _doctor, "tell what this machine lacks, and the line that mends it")
    new = command("new", _new, "write a commented study file that runs", as_json=False)
    new.add_argument("path", metavar="PATH", help="file to write; an existing one is left alone")
    new.add_argument(
        "--for",
        dest="purpose",
        choices=("ring", "plate", "shapes"),
        default="ring",
        help="what it is about (default: ring)",
    )
    return parser


def _kt_flags(kt: Any, arguments: Sequence[str]) -> None:
    kt.add_argument("shape", metavar="SHAPE", help="slot, obround, circle or ellipse")
    kt.add_argument("--load", default="tension", metavar="KIND", help="tension, biaxial or shear (default: tension)")
    kt.add_argument(
        "--error", default="0.005", metavar="SHARE", help="wanted relative band of the peak (default: 0.005)"
    )
    kt.add_argument(
        "--over",
        nargs=3,
        metavar=("FIELD", "LOW", "HIGH"),
        help="Kt over a size instead, exact and without a mesh: --over corner_radius_mm 3 30",
    )
    kt.add_argument(
        "--picture", metavar="FILE", help="with --over: draw the curve (svg, png or pdf), its data as csv beside"
    )
    if "kt" not in arguments[:1]:
        return
    from .model.cutout import CUTOUTS
    from .study.one_plate import flag, question_fields
    from .units import label

    shapes = [a for a in arguments if a in CUTOUTS] or list(CUTOUTS)
    for name in dict.fromkeys(n for shape in shapes for n in question_fields(shape)):
        names = dict.fromkeys((flag(name), flag(name).lower()))
        kt.add_argument(*names, dest=f"field_{name}", metavar="VALUE", help=label(name))


class _Version(argparse.Action):
    """Looks the version up only when it is asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from importlib.metadata import version

        print(f"femdrum {version('femdrum')}")
        parser.exit()


def _count(text: str) -> int:
    try:
        number = int(text)
    except ValueError:
        number = 0
    if not 1 <= number <= 4096:
        raise argparse.ArgumentTypeError(f"{text!r}: must be a whole number from 1 to 4096")
    return number


# the commands


def _study(args: argparse.Namespace) -> int:
    from .study import read_study, run
    from .study.text import result_lines, wrapped

    study = read_study(args.file)
    out = Path(args.out) if args.out else Path(f"{study.name}.results")
    progress = _Progress(study, silent=args.json)
    try:
        results = run(study, out, workers=args.workers, on_event=progress)
    except KeyboardInterrupt:
        progress.clear()
        _say(f"stopped; what is finished is kept in {out}, and the same command goes on from there")
        return NUMBER_MISSING
    progress.clear()
    report = None if args.no_report else _drawn("write", out, args)
    if args.json:
        _json(
            {
                "folder": str(out),
                "complete": results.complete,
                "report": str(report) if report else None,
                "rows": results.rows,
            }
        )
    else:
        print(results.title)
        _lines(["", *result_lines(results), ""])
        print(f"results  {out / 'results.csv'}")
        if report:
            print(f"report   {report}")
        if any(v.failure for v in results.variants):
            print(f"failures {out / 'failed'} holds the details; the same command tries them again")
        print()
        _lines(wrapped(CAUTION, _width(), indent=""))
    return DONE if results.complete else NUMBER_MISSING


def _check(args: argparse.Namespace) -> int:
    from .study import read_study
    from .study.text import describe

    study = read_study(args.file)
    if args.json:
        axes = [{"key": a.key, "column": a.column, "values": list(a.values)} for a in study.axes]
        _json(
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
        _lines(describe(study))
    return DONE


def _kt(args: argparse.Namespace) -> int:
    from .assess.solve import solve
    from .model import Accuracy, steel
    from .study.answers import answer_record
    from .study.one_plate import plate_and_load
    from .study.study import inputs_of
    from .study.text import answer_lines

    given = {
        k.removeprefix("field_"): _value(v) for k, v in vars(args).items() if k.startswith("field_") and v is not None
    }
    if args.over:
        return _kt_over(args, given)
    if args.picture:
        raise InputFault(Fault("--picture", args.picture, "goes with --over", "add --over FIELD LOW HIGH"))
    part, load = plate_and_load(args.shape, args.load, given)
    accuracy = Accuracy(error=_value(args.error))
    answer = solve(part, load, steel("S355"), error=accuracy.error)
    comparisons = answer.against_handbook()
    if args.json:
        _json({"part": inputs_of(part), **answer_record(answer, comparisons)})
        return DONE if answer.peak.value is not None else NUMBER_MISSING
    _lines(answer_lines(answer, comparisons, _width()))
    return DONE if answer.peak.value is not None else NUMBER_MISSING


def _kt_over(args: argparse.Namespace, given: dict[str, Any]) -> int:
    from .report.plane_curve import plane_curve

    over, low, high = args.over
    curve = plane_curve(args.shape, args.load, given, over, _value(low), _value(high))
    written = [str(path) for path in curve.write(Path(args.picture))] if args.picture else []
    if args.json:
        _json(
            {curve.over: list(curve.x), "kt_gross": [None if k != k else k for k in curve.kt_gross], "written": written}
        )
        return DONE
    print(f"{curve.over:>20}  Kt gross, {args.load}, exact plane solution")
    _lines(
        f"{x:>20.4g}  {'-' if k != k else f'{k:.5f}'}" for x, k in zip(curve.x[::4], curve.kt_gross[::4], strict=True)
    )
    _lines(written)
    return DONE


def _figure(args: argparse.Namespace) -> int:
    return _redraw("draw", args)


def _report(args: argparse.Namespace) -> int:
    return _redraw("write", args)


def _redraw(what: str, args: argparse.Namespace) -> int:
    from .study import Results

    Results.load(args.folder)
    made = _drawn(what, Path(args.folder), args)
    if made is None:
        return NUMBER_MISSING
    paths = [str(p) for p in made] if isinstance(made, (list, tuple)) else [str(made)]
    if args.json:
        _json({"written": paths})
    else:
        _lines(paths)
    return DONE


def _drawn(what: str, folder: Path, args: argparse.Namespace) -> Any:
    """Report or figures of a results folder; if they cannot be made, the numbers still stand."""
    try:
        from . import report

        return getattr(report, what)(folder)
    except Exception as error:
        if args.debug:
            raise
        _say(f"the {'report' if what == 'write' else 'figures'} could not be made: {error}")
        _say("`femdrum doctor` tells whether something is missing")
        return None


def _verify(args: argparse.Namespace) -> int:
    try:
        from . import verify
    except ImportError as error:
        raise MissingPart(f"the verification cases are not there: {error}") from error
    from .study.text import grid, percent

    rows = []
    for row in verify.cases():
        rows.append(row)
        if not args.json and sys.stderr.isatty():
            _say(f"{row.name}: {'agrees' if row.good else 'DIFFERS'}")
    if args.json:
        _json([vars(row) for row in rows])
    else:
        table = [
            (r.name, r.quantity, f"{r.ours:.6g}", f"{r.theirs:.6g}", percent(r.difference), r.source) for r in rows
        ]
        _lines(grid(("case", "value", "ours", "theirs", "difference", "source"), table))
        print(f"\n{sum(r.good for r in rows)} of {len(rows)} agree within their tolerance")
    return DONE if all(r.good for r in rows) else NUMBER_MISSING


def _doctor(args: argparse.Namespace) -> int:
    from .doctor import examine
    from .study.text import grid

    findings = examine()
    bad = [f for f in findings if f.good is False]
    if args.json:
        _json({"good": not bad, "findings": [vars(f) for f in findings]})
    else:
        words = {True: "good", False: "MISSING", None: ""}
        _lines(grid(("", "", ""), [(words[f.good], f.what, f.text) for f in findings])[1:])
        mends = list(dict.fromkeys(f.mend for f in bad if f.mend))
        if mends:
            print("\nThis mends it:")
            _lines([f"  {mend}" for mend in mends])
        else:
            print("\nNothing is missing.")
    return DONE if not bad else NUMBER_MISSING


def _new(args: argparse.Namespace) -> int:
    from importlib.resources import files

    path = Path(args.path)
    text = files("femdrum.study").joinpath("templates", f"{args.purpose}.toml").read_text(encoding="utf-8")
    known = {"ring": "corner_radius.toml", "plate": "plate_with_hole.toml", "shapes": "slot_shapes.toml"}
    text = text.replace(known[args.purpose], path.name)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise FileFault(Fault(str(path), MISSING, "is there already and is left alone", "give another name")) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise FileFault(Fault(str(path), MISSING, f"cannot be written: {why}", "give another name")) from None
    print(f"{path} is written; edit it, then run\n  femdrum study {path}")
    return DONE


# what is shown


class _Progress:
    """A bar on a terminal; a line per variant elsewhere; nothing where a program reads."""

    def __init__(self, study: Study, *, silent: bool) -> None:
        self.study, self.silent = study, silent
        self.bar = not silent and sys.stderr.isatty()
        self.start = time.monotonic()
        self.shown = 0

    def __call__(self, event: Event) -> None:
        if self.silent:
            return
        which = self.study.describe(event.variant) if event.variant else ""
        if event.kind in ("failed", "killed"):
            self.clear()
            _say(": ".join(filter(None, ("failed" if event.kind == "failed" else "", which, event.text))))
        if self.bar:
            self._draw(event)
        elif event.kind == "started" and event.done:
            _say(f"{event.done} of {event.total} variants are finished already")
        elif event.kind == "done":
            said = f"{', '.join(dict.fromkeys(event.verdicts))} ({event.seconds:.1f} s)"
            _say(": ".join(filter(None, (f"{event.done} of {event.total}", which, said))))

    def _draw(self, event: Event) -> None:
        width = 24
        full = width * event.done // max(event.total, 1)
        passed = time.monotonic() - self.start
        text = f"|{'=' * full}{' ' * (width - full)}| {event.done} of {event.total}, {passed:.0f} s"
        if event.kind == "step":
            text += f"  {event.text}"
        text = text[: shutil.get_terminal_size().columns - 1]
        sys.stderr.write("\r" + text.ljust(self.shown))
        sys.stderr.flush()
        self.shown = len(text)

    def clear(self) -> None:
        """Take the bar away."""
        if self.bar and self.shown:
            sys.stderr.write("\r" + " " * self.shown + "\r")
            sys.stderr.flush()
            self.shown = 0


def _input_at_fault(error: InputFault, args: argparse.Namespace) -> int:
    from .study.text import fault_records, faults

    if args.json:
        _json({"faults": fault_records(error)})
    for line in faults(error, _width()):
        _say(line)
    return INPUT_AT_FAULT


def _value(text: str) -> Any:
    """A number where the text is one, else the text, for the checks of the model to judge."""
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text


def _say(text: str) -> None:
    print(text, file=sys.stderr)


def _lines(lines: Iterable[str]) -> None:
    for line in lines:
        print(line)


def _width() -> int:
    return min(shutil.get_terminal_size((100, 20)).columns, 120)


def _json(data: Any) -> None:
    print(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False))
