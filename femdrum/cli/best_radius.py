"""`femdrum best-radius`: the corner radius that suits a mix of plane load states best."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from ..errors import MISSING, Fault, InputFault
from .common import DONE, Command, number_or_text, width, write_json, write_lines

if TYPE_CHECKING:
    from ..assess.best_radius import BestRadius
    from ..assess.best_radius_edge import Extreme, PlaneState, SlotStress

__all__ = ["add"]

FORM = "NAME=X,Y,SHEAR or NAME=X,Y,SHEAR:X,Y,SHEAR"
FLAGS = {
    "states": "--state",
    "criterion": "--criterion",
    "size_x_mm": "--size-x-mm",
    "size_y_mm": "--size-y-mm",
    "radius_limits_mm": "--radius-limits-mm",
    "given_radius_mm": "--given-radius-mm",
    "vary_x_mm": "--vary-x-mm",
    "vary_y_mm": "--vary-y-mm",
}


def add(command: Command) -> None:
    """Enter the command."""
    best = command("best-radius", _best_radius, "corner radius of a slot with the least worst stress over load states")
    best.add_argument("--size-x-mm", metavar="VALUE", help="slot's full size along x (around the drum)")
    best.add_argument("--size-y-mm", metavar="VALUE", help="slot's full size along y (along the drum's axis)")
    best.add_argument(
        "--state",
        action="append",
        default=[],
        metavar="NAME=X,Y,SHEAR",
        help="gross stresses of one load state in MPa, tension positive; again for each state. "
        "NAME=X,Y,SHEAR:X,Y,SHEAR gives the two ends of a pulsation",
    )
    best.add_argument(
        "--criterion",
        default="peak",
        metavar="WHAT",
        help="peak: largest |stress| of any state (default); range: largest range at one place over all states",
    )
    pair: dict[str, Any] = {"nargs": 2, "metavar": ("LOW", "HIGH")}
    best.add_argument(
        "--radius-limits-mm", **pair, help="limits of the radius (default: 0.1 of full round, full round)"
    )
    best.add_argument("--vary-x-mm", **pair, help="vary the size along x too, size y kept")
    best.add_argument("--vary-y-mm", **pair, help="vary the size along y too, size x kept")
    best.add_argument("--given-radius-mm", metavar="VALUE", help="a radius to lay beside the best")


def _best_radius(args: argparse.Namespace) -> int:
    from ..assess.best_radius import best_radius

    faults: list[Fault] = []
    states = _states(args.state, faults)
    if not args.state:
        faults.append(Fault("--state", MISSING, "at least one load state is needed", f"write it as {FORM}"))
    question: dict[str, Any] = {
        name: MISSING if getattr(args, name) is None else number_or_text(getattr(args, name))
        for name in ("size_x_mm", "size_y_mm")
    }
    for name in ("radius_limits_mm", "vary_x_mm", "vary_y_mm"):
        limits = getattr(args, name)
        question[name] = None if limits is None else tuple(map(number_or_text, limits))
    given = args.given_radius_mm
    try:
        answer = best_radius(
            states,
            **question,
            given_radius_mm=None if given is None else number_or_text(given),
            criterion=args.criterion,
        )
    except InputFault as error:
        about_states = any(f.field == "--state" for f in faults)  # then states are missing for a reason told already
        faults += [
            Fault(FLAGS.get(f.field, f.field), f.value, f.allowed, f.way_out)
            for f in error.faults
            if not (about_states and f.field == "states")
        ]
        raise InputFault(faults) from None
    if faults:
        raise InputFault(faults)
    if args.json:
        write_json(_record(answer))
    else:
        write_lines(_lines(answer))
    return DONE


def _states(given: list[str], faults: list[Fault]) -> list[PlaneState]:
    from ..assess.best_radius_edge import PlaneState

    out = []
    for text in given:
        name, _, values = text.partition("=")
        ends = [[number_or_text(v.strip()) for v in end.split(",")] for end in values.split(":")]
        if not name.strip() or len(ends) > 2 or any(len(end) != 3 for end in ends):
            faults.append(Fault("--state", text, f"must be {FORM}", "stresses in MPa, such as pull=100,0,-20"))
            continue
        for i, (x, y, shear) in enumerate(ends):
            called = name.strip() if len(ends) == 1 else f"{name.strip()} ({'first' if i == 0 else 'second'} end)"
            try:
                out.append(PlaneState(name=called, stress_x_MPa=x, stress_y_MPa=y, shear_MPa=shear))
            except InputFault as error:
                faults += [
                    Fault(f"--state {name.strip()}: {f.field}", f.value, f.allowed, f.way_out) for f in error.faults
                ]
    return out


def _shown(answer: BestRadius) -> list[tuple[str, SlotStress]]:
    sizes = bool(answer.varied)
    rows = [("best", answer.best), ("full round, own sizes" if sizes else "full round", answer.full_round)]
    if sizes:
        rows.insert(1, ("full round, best sizes", answer.best_full_round))
    return rows + ([("given", answer.given)] if answer.given else [])


def _lines(answer: BestRadius) -> list[str]:
    from ..assess.best_radius import CRITERIA, FLAT
    from ..report.cautions import SHORT
    from ..study.text import grid, wrapped

    slot, what = answer.full_round.slot, answer.criterion
    columns = width()
    lines = [f"Corner radius of a slot {slot.size_x_mm:g} mm (x) by {slot.size_y_mm:g} mm (y), plane", ""]
    head = ["", "x (mm)", "y (mm)", "radius (mm)", "r / half width", f"worst {what} (MPa)", "above best", "state"]
    rows = []
    for name, s in _shown(answer):
        worst = s.worst(what)
        above = f"{100 * (abs(worst.MPa) / abs(answer.best.worst(what).MPa) - 1):.2f} %"
        rows.append([name, f"{s.slot.size_x_mm:.4g}", f"{s.slot.size_y_mm:.4g}", f"{s.radius_mm:.4g}", f"{s.ratio:.3f}",
                     f"{worst.MPa:.5g}", above, " less ".join(worst.states)])  # fmt: skip
    lines += [*grid(head, rows), ""]
    low, high = answer.flat_mm
    lines += wrapped(
        f"within {100 * FLAT:g} % of the best: radius {low:.4g} to {high:.4g} mm"
        + (", full round included" if high >= answer.best_full_round.radius_mm * (1 - 1e-9) else ""),
        columns,
    )
    along_x, along_y = answer.best.straight_mm
    lines.append(f"straight sides left at the best: {along_x:.4g} mm along x, {along_y:.4g} mm along y")
    low, high = answer.radius_limits_mm
    limits = f"limits: radius {low:.4g} to {high:.4g} mm"
    if answer.size_limits_mm:
        limits += f", {answer.varied} {answer.size_limits_mm[0]:g} to {answer.size_limits_mm[1]:g} mm"
    lines += wrapped(f"{limits}; active: {'; '.join(answer.active) or 'none'}", columns)
    head = ["state", "x (MPa)", "y (MPa)", "shear (MPa)", "peak (MPa)", "at x (mm)", "at y (mm)", "where",
            "full round (MPa)"]  # fmt: skip
    rows = []
    for state, ours, full in zip(answer.states, answer.best.peaks, answer.best_full_round.peaks, strict=True):
        place = [_at(ours.x_mm), _at(ours.y_mm), ours.where] if ours.MPa else ["-", "-", "-"]
        rows.append([state.name, *(f"{v:g}" for v in state.stresses_MPa), f"{ours.MPa:.5g}", *place, f"{full.MPa:.5g}"])
    lines += ["", "peaks of the states at the best, and at the full round of the same sizes", *grid(head, rows)]
    if answer.best.range:
        span = answer.best.range
        lines += wrapped(
            f"largest range at the best: {span.MPa:.5g} MPa at x = {_at(span.x_mm)}, y = {_at(span.y_mm)} mm "
            f"({span.where}), {' less '.join(span.states)}",
            columns,
        )
    told = [
        f"Worst {what}: {CRITERIA[what]}. State: gross stresses; place: one of those that the slot's symmetry makes equal.",
        f"Source: {answer.provenance}; estimated relative error {max(answer.best.est_rel_err, 1e-9):.0e}.",
        *answer.notes,
        SHORT,
    ]
    lines += ["", *(line for text in told for line in wrapped(text, columns))]
    return lines


def _at(value: float) -> str:
    return f"{round(value, 6) + 0.0:.4g}"


def _record(answer: BestRadius) -> dict[str, Any]:
    from ..assess.best_radius import CRITERIA, FLAT
    from ..report.cautions import SHORT

    def extreme(e: Extreme | None) -> dict[str, Any] | None:
        if e is None:
            return None
        return {"MPa": e.MPa, "states": list(e.states), "x_mm": e.x_mm, "y_mm": e.y_mm, "where": e.where}

    def slot(s: SlotStress | None) -> dict[str, Any] | None:
        if s is None:
            return None
        return {
            "size_x_mm": s.slot.size_x_mm,
            "size_y_mm": s.slot.size_y_mm,
            "corner_radius_mm": s.radius_mm,
            "radius_over_half_width": s.ratio,
            "worst_MPa": abs(s.worst(answer.criterion).MPa),
            "peaks": [extreme(p) for p in s.peaks],
            "range": extreme(s.range),
            "est_rel_err": s.est_rel_err,
        }

    return {
        "criterion": answer.criterion,
        "definition": CRITERIA[answer.criterion],
        "states": [
            {"name": s.name, "stress_x_MPa": s.stress_x_MPa, "stress_y_MPa": s.stress_y_MPa, "shear_MPa": s.shear_MPa}
            for s in answer.states
        ],
        "best": slot(answer.best),
        "full_round": slot(answer.full_round),
        "best_full_round": slot(answer.best_full_round),
        "given": slot(answer.given),
        "is_full_round": answer.is_full_round,
        "lower_than_full_round": answer.lower_than(answer.full_round),
        "flat_share": FLAT,
        "flat_mm": list(answer.flat_mm),
        "radius_limits_mm": list(answer.radius_limits_mm),
        "varied": answer.varied or None,
        "size_limits_mm": list(answer.size_limits_mm) if answer.size_limits_mm else None,
        "active_limits": list(answer.active),
        "curve": {"corner_radius_mm": list(answer.radii_mm), "worst_MPa": list(answer.worst_MPa)},
        "verified": answer.verified,
        "notes": list(answer.notes),
        "provenance": str(answer.provenance),
        "caution": SHORT,
    }
