"""`femdrum balance`: permissible unbalance, what the positions can reach, and which plates go where."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from .common import DONE, NUMBER_MISSING, Command, write_json, write_lines
from .sheet_common import CAUTION_SHEET, drawn, sheet_options, told

if TYPE_CHECKING:
    from ..assess.balance import Balance
    from ..study.sheet import Sheet

__all__ = ["add"]

MOST_PLACED = 60


def add(command: Command) -> None:
    """Enter the command."""
    sub = command(
        "balance",
        _balance,
        "plan of a two-plane balancing with bolt-on plates, from weighed hammers and measured vibration",
    )
    sub.epilog = "exit code 1 where the plan is not proven to leave the least; without a record it tells what the positions can reach"
    sheet_options(sub, "balance file (TOML): [balance] with its planes; studies/balance.toml is one")
    sub.add_argument(
        "--record", metavar="CSV", help="record of hammers and readings (default: the one that the file names)"
    )


def _balance(args: argparse.Namespace) -> int:
    from ..study.balance_sheet import BALANCE_KIND, JSON, balance_record, solve_balance, write_balance
    from ..study.sheet_folder import check_folder

    sheet, found = solve_balance(args.file, args.record)
    out = Path(args.out) if args.out else Path(f"{sheet.name}.results")
    check_folder(out, JSON, BALANCE_KIND)
    write_balance(sheet, found, out)
    page = None if args.no_report else drawn("balance_page", sheet, found, out, args)
    if args.json:
        write_json({"folder": str(out), "report": str(page) if page else None, **balance_record(sheet, found)})
    else:
        write_lines(_lines(sheet, found))
        plan = [] if found.plan is None else [f"plan     {out / 'balance.csv'}"]
        write_lines(
            [*plan, f"numbers  {out / JSON}", *([f"page     {page}"] if page else []), "", *told(CAUTION_SHEET)]
        )
    return DONE if found.plan is None or found.proven else NUMBER_MISSING


def _lines(sheet: Sheet, found: Balance) -> list[str]:
    lines = [sheet.title, "", *_permissible(found), "", *_reach(found)]
    if found.plan is not None:
        lines += ["", *_plan(found)]
    lines += [""] if found.warnings else []
    for text in found.warnings:
        lines += told(f"warning: {text}")
    return [*lines, "", *(line for text in found.notes for line in told(f"- {text}")), ""]


def _permissible(found: Balance) -> list[str]:
    given, limits = found.given, found.limits
    share = f", of which {100 * given.budget_share:.3g} % may be used up here" if given.budget_share < 1 else ""
    whole = limits.whole_g_mm / given.budget_share
    return [
        *told(
            f"permissible unbalance: {whole:,.0f} g·mm at G{given.grade_mm_s:g}, {given.speed_rpm:g} rpm, {given.rotor_mass_kg:g} kg, {given.condition}{share}"
        ),
        f"  bearings A {limits.bearings_g_mm[0]:,.0f} and B {limits.bearings_g_mm[1]:,.0f} g·mm; planes 1 {limits.planes_g_mm[0]:,.0f} and 2 {limits.planes_g_mm[1]:,.0f} g·mm",
    ]


def _reach(found: Balance) -> list[str]:
    from ..study.text import grid

    head = ("plane", "positions", "one plate", "left, median", "left, P95", "rule: below", "reaches to", "plates")
    rows = []
    for n, (r, plane) in enumerate(zip(found.reach, found.given.planes, strict=True), 1):
        free = plane.count - len(plane.blocked)
        rows.append(
            (
                str(n), f"{free}", f"{r.quantum_g_mm:.0f}", f"{r.median * r.quantum_g_mm:.0f}", f"{r.p95_g_mm:.0f}", f"{0.3 * r.permissible_g_mm:.0f}",
                f"{r.largest_g_mm:.0f}", "TOO COARSE" if r.coarse else "fine enough",
            )
        )  # fmt: skip
    return ["before the run, in g·mm: what the positions leave of random unbalances", *grid(head, rows)]


def _plan(found: Balance) -> list[str]:
    from ..study.text import grid

    plan = found.plan
    assert plan is not None
    lines = told(f"verdict  {found.verdict} the permissible unbalance ({found.source}); {_proof(found)}")
    if plan.correction is not None:
        lines.append(f"  condition of the influences {plan.correction.influence.condition:.3g}")
    lines.append(
        f"  worst bearing {100 * plan.bearing_share:.3g} % of its permissible, with true phases; {'every mass is held' if plan.held else 'A MASS IS NOT HELD'}"
    )
    rows = []
    for p in found.planes:
        rows.append(
            (
                str(p.number), _vector(p.now_g_mm), *([_vector(p.placed_g_mm)] if found.moved else []), _vector(p.after_g_mm), f"{p.permissible_g_mm:.0f}",
                f"{100 * p.share:.3g}", f"{100 * p.bound_share:.3g}", "yes" if p.proven else "no",
            )
        )  # fmt: skip
    moved = ["hammers placed"] if found.moved else []
    lines += [
        "",
        *grid(
            (
                "plane",
                "now (g·mm)",
                *moved,
                "with the masses",
                "permissible",
                "left (%)",
                "no choice below (%)",
                "proven",
            ),
            rows,
        ),
        "",
    ]
    if found.hammers:
        lines += _hammers(found)
    lines += ["plan"]
    for row in plan.rows:
        if row.kind != "move":
            held = f"; {row.bolts}, {row.held}" if row.bolts else ""
            lines += told(f"  {row.step:>3}  {f'plane {row.plane}, ' if row.kind == 'mass' else ''}{row.does}{held}")
    return lines


def _proof(found: Balance) -> str:
    enough = found.given.enough_share
    if not found.proven:
        return "NOT PROVEN to be the least"
    if enough == 0:
        return "proven: no choice of plates leaves less"
    fewest = (
        "the fewest plates, proven"
        if all(p.fewest for p in found.planes)
        else "few plates, NOT proven to be the fewest"
    )
    return f"{fewest}, for {100 * enough:.3g} % of the permissible or as near as the positions come"


def _hammers(found: Balance) -> list[str]:
    from ..study.text import grid

    placement = found.plan.placement if found.plan is not None else None
    assert placement is not None
    state = "hammers change places" if found.moved else "hammers stay; placed anew they would stand"
    worst = f"worst plane {100 * placement.share_before:.3g} % of its permissible as they are, {100 * placement.share:.3g} % placed"
    how = "every order tried" if placement.proven else "searched, not proven"
    rows = [
        (str(h.slot), f"{h.mass_now_g:.0f}", str(h.from_slot), f"{h.mass_then_g:.0f}")
        for h in found.hammers
        if h.slot != h.from_slot
    ]
    left = [f"  ... and {len(rows) - MOST_PLACED} more in balance.csv"] if len(rows) > MOST_PLACED else []
    if not found.moved:
        return [*told(f"{state}: {worst} ({how}); the table is on the page"), ""]
    return [
        *told(f"{state}: {worst} ({how})"),
        *grid(("slot", "now (g)", "gets the hammer of slot", "then (g)"), rows[:MOST_PLACED]),
        *left,
        "",
    ]


def _vector(value: complex) -> str:
    from ..rotor.unbalance import polar

    size, angle = polar(value)
    return f"{size:.0f} at {angle:.0f}°"
