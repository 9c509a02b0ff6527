"""The page of a contact file: how the faces bear, formulas beside, charts, derived numbers, what was not checked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ..assess.answer import Comparison
from ..assess.clamp_contact_round import RoundResult, against
from ..assess.contact_face import PackFace, bears_fully, flat_mm
from ..model.contact_input import WedgePack
from ..quantity import Quantity
from ..study.contact_sheet import NOT_CHECKED, ContactFound
from ..study.sheet import Sheet
from .contact_pressure import ContactPressurePicture
from .contact_round import RoundPressurePicture
from .load_table import sensible
from .picture import Picture
from .sheet_page import draw_all, figure_rows, render_page

__all__ = ["contact_pictures", "write_page"]

LINKS = (
    "A flat seat or a half round under an angular error, and by how much friction keeps the half round from closing it, is proven by formula in `femdrum retention`.",
    "To put this pressure on the ring, write the same hammer and wedge below a wedge_clamp of a study, as [load.contact].",
)


def contact_pictures(found: ContactFound) -> list[Picture]:
    """Charts in the page's order."""
    made: list[Picture] = [ContactPressurePicture(found.pack)] if found.pack else []
    return [*made, RoundPressurePicture(found.rounds)] if found.rounds else made


def write_page(sheet: Sheet, found: ContactFound, folder: Path) -> Path:
    """Draw the charts into folder/figures/ and write contact.html; returns its path."""
    drawn = draw_all(contact_pictures(found), folder)
    pack = found.pack
    return render_page(
        "contact.html", folder / "contact.html", title=sheet.title, what="how clamped faces bear", name=sheet.name, source=sheet.source,
        good=found.verdict in ("bears fully", "solved"), lead=_lead(found), warnings=found.warnings, drawn=drawn, groups=figure_rows(found.figures),
        notes=found.notes, not_checked=NOT_CHECKED, faces=[_face(pack.pack, f) for f in pack.faces] if pack else [], rounds=[_round(r) for r in found.rounds],
        beside=[_beside(of, c) for of, c in found.comparisons], links=LINKS,
    )  # fmt: skip


def _lead(found: ContactFound) -> list[str]:
    words = {
        "bears fully": "All clamped faces bear over their whole height.",
        "bears in part": "Not all clamped faces bear: part of them stands open.",
        "not settled": "Not settled: a band is wider than asked.",
        "solved": "The round seats are solved.",
    }
    lines = [words[found.verdict]]
    if found.pack is not None:
        pack = found.pack.pack
        if found.pack.message:
            lines.append(found.pack.message[0].upper() + found.pack.message[1:] + ".")
        face = found.pack.face(pack.hammer_on)
        lever = float(face.couple) / face.force_N
        side = (
            "in the middle of the wall"
            if abs(lever) < 5e-3
            else f"{abs(lever):.3g} mm {'outward' if lever > 0 else 'inward'} of the wall's middle"
        )
        lines.append(
            f"The clamp of {sensible(1e-3 * pack.clamp_N)} kN acts {side} on the hammer's flank; mean pressure {sensible(face.mean_MPa)} MPa, "
            + ("no finite peak at a sharp end." if face.peak.value is None else f"peak {_value(face.peak)} MPa.")
        )
    for r in found.rounds:
        line = (
            f"The formula of line contact {r.line_said}."
            if r.line_MPa is None
            else f"Line contact says {sensible(r.line_MPa)} MPa and {r.line_said}."
        )
        lines.append(f"{r.seat.name}: peak {_value(r.peak)} MPa over ±{_value(r.half_angle)}°. {line}")
    return lines


def _value(q: Quantity) -> str:
    return "no finite" if q.value is None else str(q).partition(f" {q.unit}")[0]


def _face(pack: WedgePack, face: PackFace) -> dict[str, Any]:
    lever = float(face.couple) / face.force_N
    return {
        "name": face.name, "mean": sensible(face.mean_MPa), "peak": _value(face.peak), "inner": sensible(float(face.near[0])), "outer": sensible(float(face.near[1])),
        "lever": f"{0.0 if abs(lever) < 5e-4 else lever:+.3g}".replace("-", "−"), "bears": sensible(float(face.bears)), "flat": sensible(flat_mm(pack, face.name)),
        "opening": sensible(float(face.opening)), "sticks": "-" if face.stick_share is None else sensible(100 * face.stick_share),
        "friction": sensible(1e-3 * face.shear_N) if pack.friction else "-", "fully": bears_fully(pack, face),
    }  # fmt: skip


def _round(r: RoundResult) -> dict[str, str]:
    return {
        "name": r.seat.name, "projected": sensible(r.seat.line_load_N_mm / (2 * r.seat.radius_mm)), "peak": _value(r.peak), "angle": _value(r.half_angle),
        "line": "does not hold" if r.line_MPa is None else sensible(r.line_MPa), "conforming": sensible(r.conforming.peak_MPa),
    }  # fmt: skip


def _beside(of: str, c: Comparison) -> dict[str, str]:
    return {
        "of": of, "what": c.quantity, "ours": "no finite" if c.ours is None else sensible(c.ours), "value": "refused" if c.value is None else sensible(c.value),
        "ratio": against(c.difference).replace("-", "−") if c.difference is not None else "-", "source": c.source, "note": c.note,
    }  # fmt: skip
