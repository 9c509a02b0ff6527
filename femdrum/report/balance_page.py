"""The page of balancing: what the positions can reach, the plan, the hammers' places, the polar plot, what was not checked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ..assess.balance import NOT_CHECKED, Balance
from ..rotor.balance_plan import PlanRow
from ..rotor.position_reach import COARSE_SHARE
from ..rotor.unbalance import polar
from ..study.sheet import Sheet
from .balance_polar import PolarPicture
from .load_table import sensible
from .picture import NoData, Picture
from .sheet_page import draw_all, figure_rows, render_page

__all__ = ["balance_content", "balance_pictures", "write_page"]


def balance_pictures(found: Balance) -> list[Picture]:
    """The polar plot; nothing without a plan."""
    try:
        return [PolarPicture(found)]
    except NoData:
        return []


def write_page(sheet: Sheet, found: Balance, folder: Path) -> Path:
    """Draw the chart into folder/figures/ and write balance.html; returns its path."""
    drawn = draw_all(balance_pictures(found), folder)
    return render_page(
        "balance.html", folder / "balance.html", title=sheet.title, what="balance of a rotor", name=sheet.name, source=sheet.source,
        drawn=drawn, **balance_content(found),
    )  # fmt: skip


def balance_content(found: Balance) -> dict[str, Any]:
    """What balance.html and the chapter of a study's report show."""
    plan = found.plan
    fine = not any(r.coarse for r in found.reach)
    return {
        "good": found.verdict != "above" and fine and (plan is None or plan.held),
        "lead": _lead(found),
        "warnings": found.warnings,
        "groups": figure_rows(found.figures),
        "notes": found.notes,
        "not_checked": NOT_CHECKED,
        "reach": _reach(found),
        "rows": [] if plan is None else [_row(row) for row in plan.rows if row.kind == "mass"],
        "left": _left(found),
        "moved": found.moved,
        "hammers": found.hammers,
        "hammers_lead": _hammers(found),
    }


def _lead(found: Balance) -> list[str]:
    given, limits, plan = found.given, found.limits, found.plan
    whole = limits.whole_g_mm / given.budget_share
    used = f", of which {100 * given.budget_share:.3g} % may be used up here" if given.budget_share < 1 else ""
    allowed = f"Permissible unbalance {sensible(whole)} g·mm at G{given.grade_mm_s:g}, {given.speed_rpm:g} rpm and {given.rotor_mass_kg:g} kg ({given.condition}){used}."
    if plan is None:
        coarse = [n for n, r in enumerate(found.reach, 1) if r.coarse]
        first = (
            f"No record. The plates of plane {' and '.join(map(str, coarse))} are too coarse."
            if coarse
            else "No record. The positions of both planes are fine enough."
        )
        return [first, allowed]
    left = " and ".join(f"{100 * p.share:.3g} % in plane {p.number}" for p in found.planes)
    first = f"{'Within' if found.verdict == 'within' else 'Above'} the permissible: the plan leaves {left}."
    few = found.given.enough_share > 0
    proof = (
        "Proven: no choice of plates leaves less."
        if found.proven and not few
        else "The plan is not proven to leave the least."
    )
    if found.proven and few:
        fewest = all(p.fewest for p in found.planes)
        proof = f"Fewer plates were preferred where at most {100 * found.given.enough_share:.3g} % of the permissible is left; {'no choice so good has fewer, proven' if fewest else 'whether fewer would do is not proven'}."
    held = (
        "Every mass is held at overspeed, by what was checked."
        if plan.holds and plan.held
        else "What holds the masses was not checked."
        if not plan.holds
        else "A mass is not held."
    )
    return [
        first,
        proof,
        held,
        f"Worst bearing: {100 * plan.bearing_share:.3g} % of its permissible. Unbalance {found.source}.",
        allowed,
    ]


def _reach(found: Balance) -> list[dict[str, Any]]:
    rows = []
    for n, (r, plane) in enumerate(zip(found.reach, found.given.planes, strict=True), 1):
        sizes = (
            r.quantum_g_mm,
            r.median * r.quantum_g_mm,
            r.p95_g_mm,
            COARSE_SHARE * r.permissible_g_mm,
            r.largest_g_mm,
        )
        cells = [str(n), sensible(r.permissible_g_mm), str(plane.count - len(plane.blocked)), *map(sensible, sizes)]
        rows.append({"cells": cells, "coarse": r.coarse})
    return rows


def _row(row: PlanRow) -> list[str]:
    def shown(value: float | None, scale: float = 1.0) -> str:
        return "" if value is None else sensible(scale * value)

    return [
        str(row.step), str(row.plane or ""), str(row.position or ""), shown(row.angle_deg), str(row.plates or ""), shown(row.mass_g), row.does, row.bolts or "",
        shown(row.torque_Nm), shown(row.overspeed_pull_N, 1e-3), row.held or "not checked",
    ]  # fmt: skip


def _left(found: Balance) -> list[list[str]]:
    def vector(value: complex) -> str:
        size, angle = polar(value)
        return f"{sensible(size)} at {angle:.0f}°"

    return [
        [
            str(p.number), vector(p.now_g_mm), *([vector(p.placed_g_mm)] if found.moved else []), vector(p.after_g_mm), sensible(p.permissible_g_mm),
            f"{100 * p.share:.3g}", f"{100 * p.bound_share:.3g}", "yes" if p.proven else "no",
        ]
        for p in found.planes
    ]  # fmt: skip


def _hammers(found: Balance) -> str:
    placement = found.plan.placement if found.plan is not None else None
    if placement is None:
        return ""
    do = (
        "Hammers change places before plates go on"
        if found.moved
        else "Hammers stay where they are; this is where they would go (place_hammers = true)"
    )
    how = "every order was tried" if placement.proven else "searched with care, not proven to be the least"
    return f"{do}: the worst plane goes from {100 * placement.share_before:.3g} % to {100 * placement.share:.3g} % of its permissible; {how}."
