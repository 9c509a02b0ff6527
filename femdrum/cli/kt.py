"""`femdrum kt`: the stress concentration of one opening in a plate."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ..errors import Fault, InputFault
from .common import DONE, NUMBER_MISSING, Command, number_or_text, width, write_json, write_lines

__all__ = ["add"]


def add(command: Command, arguments: Sequence[str]) -> None:
    """Enter the command; which sizes it takes depends on the shape among the arguments."""
    kt = command("kt", _kt, "stress concentration of one opening in a plate, laid against the handbook")
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
    from ..model.cutout import CUTOUTS
    from ..study.one_plate import flag, question_fields
    from ..units import label

    shapes = [a for a in arguments if a in CUTOUTS] or list(CUTOUTS)
    for name in dict.fromkeys(n for shape in shapes for n in question_fields(shape)):
        names = dict.fromkeys((flag(name), flag(name).lower()))
        kt.add_argument(*names, dest=f"field_{name}", metavar="VALUE", help=label(name))


def _kt(args: argparse.Namespace) -> int:
    from ..assess.solve import solve
    from ..model import Accuracy, steel
    from ..study.answers import answer_record
    from ..study.one_plate import plate_and_load
    from ..study.study import inputs_of
    from ..study.text import answer_lines

    given = {
        k.removeprefix("field_"): number_or_text(v)
        for k, v in vars(args).items()
        if k.startswith("field_") and v is not None
    }
    if args.over:
        return _kt_over(args, given)
    if args.picture:
        raise InputFault(Fault("--picture", args.picture, "goes with --over", "add --over FIELD LOW HIGH"))
    part, load = plate_and_load(args.shape, args.load, given)
    accuracy = Accuracy(error=number_or_text(args.error))
    answer = solve(part, load, steel("S355"), error=accuracy.error)
    comparisons = answer.against_handbook()
    if args.json:
        write_json({"part": inputs_of(part), **answer_record(answer, comparisons)})
        return DONE if answer.peak.value is not None else NUMBER_MISSING
    write_lines(answer_lines(answer, comparisons, width()))
    return DONE if answer.peak.value is not None else NUMBER_MISSING


def _kt_over(args: argparse.Namespace, given: dict[str, Any]) -> int:
    from ..report.plane_curve import plane_curve

    over, low, high = args.over
    curve = plane_curve(args.shape, args.load, given, over, number_or_text(low), number_or_text(high))
    written = [str(path) for path in curve.write(Path(args.picture))] if args.picture else []
    if args.json:
        write_json(
            {curve.over: list(curve.x), "kt_gross": [None if k != k else k for k in curve.kt_gross], "written": written}
        )
        return DONE
    print(f"{curve.over:>20}  Kt gross, {args.load}, exact plane solution")
    write_lines(
        f"{x:>20.4g}  {'-' if k != k else f'{k:.5f}'}" for x, k in zip(curve.x[::4], curve.kt_gross[::4], strict=True)
    )
    write_lines(written)
    return DONE
