"""`femdrum contact`: how hammer, wedge and flanks bear on each other, and a half round in its groove."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from .common import DONE, Command, say, write_json, write_lines
from .sheet_common import CAUTION_SHEET, drawn, sheet_options, told

if TYPE_CHECKING:
    from ..study.contact_sheet import ContactFound
    from ..study.sheet import Sheet

__all__ = ["add"]


def add(command: Command) -> None:
    """Enter the command."""
    sub = command(
        "contact", _contact, "pressure between hammer, wedge and flanks, and of a half round in its groove, by contact"
    )
    sub.epilog = "'bears in part' is an answer, exit code 0; 1 where no state of contact was found"
    sheet_options(sub, "contact file (TOML): [pack], [[round_seat]] and [material]; studies/seat_contact.toml is one")


def _contact(args: argparse.Namespace) -> int:
    from ..study.contact_sheet import CONTACT_KIND, JSON, contact_record, solve_contact, write_contact
    from ..study.sheet_folder import check_folder

    out = Path(args.out) if args.out else Path(f"{Path(args.file).stem}.results")
    check_folder(out, JSON, CONTACT_KIND)
    sheet, found = solve_contact(args.file, None if args.json else say)
    write_contact(sheet, found, out)
    page = None if args.no_report else drawn("contact_page", sheet, found, out, args)
    if args.json:
        write_json({"folder": str(out), "report": str(page) if page else None, **contact_record(sheet, found)})
        return DONE
    write_lines(_lines(sheet, found))
    files = [f"rows     {out / 'contact.csv'}", f"curves   {out / 'contact_pressure.csv'}", f"numbers  {out / JSON}"]
    write_lines([*files, *([f"page     {page}"] if page else []), "", *told(CAUTION_SHEET)])
    return DONE


def _lines(sheet: Sheet, found: ContactFound) -> list[str]:
    lines = [sheet.title, "", f"verdict  {found.verdict}"]
    if found.pack is not None:
        lines += [*(told(found.pack.message) if found.pack.message else []), "", *_faces(found)]
    if found.rounds:
        lines += ["", *_rounds(found)]
    lines += ["", *_beside(found)]
    lines += [""] if found.warnings else []
    for text in found.warnings:
        lines += told(f"warning: {text}")
    return [*lines, "", *(line for text in found.notes for line in told(f"- {text}")), ""]


def _faces(found: ContactFound) -> list[str]:
    from ..assess.contact_face import flat_mm
    from ..study.text import grid

    assert found.pack is not None
    pack = found.pack.pack
    head = (
        "face",
        "mean (MPa)",
        "peak (MPa)",
        "inner (MPa)",
        "outer (MPa)",
        "lever (mm)",
        "bears (mm)",
        "open (um)",
        "sticks (%)",
    )
    rows = []
    for face in found.pack.faces:
        peak = "no finite" if face.peak.value is None else f"{face.peak.value:.4g} ± {face.peak.band:.2g}"
        rows.append(
            (
                face.name, f"{face.mean_MPa:.4g}", peak, f"{float(face.near[0]):.4g}", f"{float(face.near[1]):.4g}", _plain(float(face.couple) / face.force_N),
                f"{float(face.bears):.3g} of {flat_mm(pack, face.name):.3g}", f"{float(face.opening):.3g}",
                "-" if face.stick_share is None else f"{100 * face.stick_share:.3g}",
            )
        )  # fmt: skip
    lines = [f"clamp    {1e-3 * pack.clamp_N:.4g} kN on each flank", "", *grid(head, rows)]
    if found.pack.drive_N is not None:
        lines.append(f"drive    {1e-3 * found.pack.drive_N:.4g} kN along the flank moves the wedge")
    if found.pack.closing_mm is not None:
        lines.append(f"closing  {1e3 * found.pack.closing_mm:.3g} um by which the wedge closes the pack")
    return lines


def _plain(value: float) -> str:
    return f"{0.0 if abs(value) < 1e-6 else value:.3g}"


def _rounds(found: ContactFound) -> list[str]:
    from ..study.text import grid

    head = ("round seat", "projected (MPa)", "peak (MPa)", "half angle (°)", "line contact (MPa)", "conforming (MPa)")
    rows, said = [], []
    for r in found.rounds:
        line = "-" if r.line_MPa is None else f"{r.line_MPa:.4g}"
        mean = r.seat.line_load_N_mm / (2 * r.seat.radius_mm)
        rows.append(
            (
                r.seat.name, f"{mean:.4g}", f"{float(r.peak):.4g} ± {r.peak.band:.2g}",
                f"{float(r.half_angle):.3g} ± {r.half_angle.band:.1g}", line, f"{r.conforming.peak_MPa:.4g}",
            )
        )  # fmt: skip
        if r.line_MPa is None:
            said += told(f"{r.seat.name}: the formula of line contact {r.line_said}")
    return [*grid(head, rows), *said]


def _beside(found: ContactFound) -> list[str]:
    from ..assess.clamp_contact_round import against
    from ..study.text import grid

    head = ("formula beside", "here", "by formula", "here over formula")
    rows = []
    for of, c in found.comparisons:
        if of != "clamped pack":
            continue
        ours = "no finite" if c.ours is None else f"{c.ours:.6g}"
        rows.append((c.quantity, ours, "refused" if c.value is None else f"{c.value:.6g}", against(c.difference)))
    return grid(head, rows) if rows else []
