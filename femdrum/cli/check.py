"""`femdrum check`: all faults of a study file, or what it would solve; on request drawings of it before anything is solved."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import MISSING, Fault, InputFault
from .common import DONE, INPUT_AT_FAULT, Command, say, width, write_json, write_lines

if TYPE_CHECKING:
    from ..report.picture import Picture

__all__ = ["add"]

FORMATS = (".png", ".svg", ".pdf", ".csv")


def add(command: Command) -> None:
    """Enter the command."""
    check = command("check", _check, "tell all faults of a study file, or what it would solve, and draw its model")
    check.add_argument("file", metavar="FILE", help="study file (TOML); with --draw also the file of a whole drum")
    draw = check.add_argument_group("drawings, before anything is solved")
    draw.add_argument(
        "--draw", action="store_true", help="draw the part, its slot with dimensions, load paths, the first mesh"
    )
    draw.add_argument(
        "--out", metavar="PATH", action="append", default=[],
        help="folder, or file that ends in .svg, .pdf or .png (of several drawings each gets its name added); may be given several "
        "times (default: the file's name with .drawings, here; into folders as SVG)",
    )  # fmt: skip
    draw.add_argument(
        "--variant", type=int, default=0, metavar="N", help="number of the variant that is drawn, from 0 (default: 0)"
    )
    draw.add_argument(
        "--only", action="append", default=[], metavar="NAME", help="draw this one alone; may be given several times"
    )


def _check(args: argparse.Namespace) -> int:
    from ..study import read_study
    from ..study.text import describe

    _options(args)
    try:
        study = read_study(args.file)
    except InputFault as error:
        if not args.draw:
            raise
        return _other_than_a_study(args, error)
    written: list[Path] = []
    if args.draw:
        from ..report.draw_model import drawings

        written = _write(drawings(study, args.variant), args)
    if args.json:
        axes = [{"key": a.key, "column": a.column, "values": list(a.values)} for a in study.axes]
        record: dict[str, Any] = {
            "faults": [],
            "title": study.title,
            "variants": len(study.variants),
            "axes": axes,
            "left_out": study.left_out,
        }
        write_json(record | ({"written": [str(p) for p in written]} if args.draw else {}))
    else:
        print(f"{args.file}: no fault found")
        write_lines(describe(study))
        write_lines(f"drawn    {path}" for path in written)
    return DONE


def _options(args: argparse.Namespace) -> None:
    """What belongs to drawings needs --draw; endings must be known. Raises InputFault."""
    faults = []
    for name, given in (("--out", bool(args.out)), ("--variant", args.variant != 0), ("--only", bool(args.only))):
        if given and not args.draw:
            faults.append(Fault(name, MISSING, "belongs to drawings", "give --draw too"))
    for text in args.out:
        ending = Path(text).suffix.lower()
        if ending and ending not in FORMATS and not Path(text).is_dir() and ending[1:].isalpha() and len(ending) <= 4:
            faults.append(Fault("--out", text, f"must be a folder or end in {', '.join(FORMATS)}"))
    if faults:
        raise InputFault(faults)


def _other_than_a_study(args: argparse.Namespace, error: InputFault) -> int:
    """A whole drum is drawn; of a faulty study what can be drawn of its part. The faults come first."""
    from ..study.text import fault_records, faults

    drum = _drum(args)
    if drum is not None:
        from ..report.draw_drum import drum_drawings

        written = _write(list(drum_drawings(drum)), args)
        if args.json:
            write_json({"faults": [], "written": [str(p) for p in written]})
        else:
            print(f"{args.file}: no fault found in the drum")
            write_lines(f"drawn    {path}" for path in written)
        return DONE
    if not args.json:
        for line in faults(error, width()):
            say(line)
    written = _faulty(args, error)
    if args.json:
        write_json({"faults": fault_records(error), "written": [str(p) for p in written]})
        for line in faults(error, width()):
            say(line)
    elif written:
        say("drawn as the file describes it, faults and all:")
        write_lines(f"drawn    {path}" for path in written)
    else:
        say("nothing could be drawn of it")
    return INPUT_AT_FAULT


def _drum(args: argparse.Namespace) -> Any:
    """The drum of a drum file, None for a study. Raises InputFault with the faults of the drum."""
    from ..study.reading import parse, read_text

    try:
        values = parse(read_text(args.file), args.file).values
    except InputFault:
        return None
    if "drum" not in values or "part" in values:
        return None
    from ..study.drum_sheet import read_drum_sheet

    return read_drum_sheet(args.file).drum


def _faulty(args: argparse.Namespace, error: InputFault) -> list[Path]:
    from ..report.draw_faulty import faulty_drawings
    from ..study.reading import read_text

    try:
        text = read_text(args.file)
    except InputFault:
        return []
    found = faulty_drawings(text, error.faults)
    return _write(found, args) if found else []


def _write(pictures: list[Picture], args: argparse.Namespace) -> list[Path]:
    """Write the drawings that were asked for; the paths."""
    names = [p.name for p in pictures]
    unknown = [name for name in args.only if name not in names]
    if unknown:
        raise InputFault([Fault("--only", name, f"must be one of {', '.join(names)}") for name in unknown])
    chosen = [p for p in pictures if not args.only or p.name in args.only]
    written: list[Path] = []
    places = [Path(text) for text in args.out] or [Path(f"{Path(args.file).stem}.drawings")]
    for picture in chosen:
        targets = []
        for place in places:
            if place.suffix.lower() in FORMATS and not place.is_dir():
                targets.append(
                    place if len(chosen) == 1 else place.with_name(f"{place.stem}-{picture.name}{place.suffix}")
                )
            else:
                targets.append(place / f"{picture.name}.svg")
        written += _saved(picture, targets)
    return written


def _saved(picture: Picture, targets: list[Path]) -> list[Path]:
    try:
        for folder in {target.parent for target in targets}:
            folder.mkdir(parents=True, exist_ok=True)
        return picture.save(targets)
    except OSError as error:
        fault = Fault(
            "--out", str(targets[0].parent), f"cannot be written: {error.strerror or error}", "give another place"
        )
        raise InputFault(fault) from error
