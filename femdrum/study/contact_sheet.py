"""Contact of hammer, wedge and flanks by a file: a TOML of plain tables in, contact.csv, contact_pressure.csv and contact.json out."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..assess.answer import Comparison
from ..assess.clamp_contact_round import RoundResult, solve_round_seat
from ..assess.contact import PackResult, solve_wedge_pack
from ..assess.contact_face import PackFace, bears_fully, flat_mm
from ..errors import MISSING, Fault, InputFault
from ..model.accuracy import Accuracy
from ..model.contact_input import WedgePack
from ..model.material import Material
from ..model.round_seat import RoundSeat
from ..quantity import Quantity, Verdict
from .drum_sheet import MaterialTable
from .plain import to_plain
from .sheet import Sheet, read_sheet
from .sheet_folder import check_folder, csv_text, figure_records, json_text, lined, write_files

__all__ = [
    "CONTACT_COLUMNS",
    "CONTACT_KIND",
    "NOT_CHECKED",
    "ContactFound",
    "contact_record",
    "read_contact",
    "solve_contact",
    "write_contact",
]

CONTACT_KIND = "contact"
CSV, CURVES, JSON = "contact.csv", "contact_pressure.csv", "contact.json"
FORMS: dict[str, Any] = {
    "pack": WedgePack,
    "round_seat": tuple[RoundSeat, ...],
    "material": MaterialTable,
    "accuracy": Accuracy,
}
# relative band of peaks and couples that is asked unless the file says
ASKED = 0.1

CONTACT_COLUMNS = {
    "face": "hammer on a flank, wedge on hammer, wedge on a flank, or the name of a round seat",
    "force_N": "force that presses the face together",
    "friction_N": "friction force on the flank, or on the wedge, outward positive; empty for a round seat",
    "mean_MPa": "force over the face's height (a round seat: over its projected area)",
    "peak_MPa": "largest pressure; empty where contact reaches a sharp end, for there it has no finite value",
    "peak_band_MPa": "half width of its error band",
    "lever_mm": "lever of the force about the middle of the wall, outward positive",
    "lever_band_mm": "half width of its error band",
    "inner_MPa": "pressure a twentieth of the height in from the inner end of the flat face",
    "outer_MPa": "the same at the outer end",
    "bears_mm": "length in contact through the wall, or along the arc",
    "flat_mm": "length that could bear; of a round seat the arc of its half round",
    "opening_um": "largest gap where the faces stand open",
    "stick_share": "share of what bears that does not slip; empty without friction",
    "bears": "fully, or in part; of a round seat empty",
    "verdict": "whether the band of the peak is as narrow as asked: settled, not settled, unbounded (no finite peak)",
}

NOT_CHECKED: tuple[str, ...] = (
    "ends of wedge and hammer along the drum's axis, where the pressure rises too: the solution is a plane section",
    "whether the clamp force is there: `femdrum retention` proves it with torque, scatter and loss",
    "what the pressure makes in the shell: `femdrum study` with [load.contact] in its wedge_clamp",
    "yielding and wear of the faces: all is elastic; peaks above yield flatten in the first hours",
    "roughness, paint, dirt and rust between the faces",
    "impact and other loads beside the clamp",
)


@dataclass(frozen=True)
class ContactFound:
    """What a contact file came to."""

    material: Material
    pack: PackResult | None
    rounds: tuple[RoundResult, ...]

    @property
    def verdict(self) -> str:
        """bears fully, bears in part, or not settled; of round seats alone: solved, or not settled."""
        if Verdict.NOT_SETTLED in [*([self.pack.verdict] if self.pack else []), *(r.verdict for r in self.rounds)]:
            return "not settled"
        if self.pack is None:
            return "solved"
        pack = self.pack.pack
        return "bears fully" if all(bears_fully(pack, face) for face in self.pack.faces) else "bears in part"

    @property
    def warnings(self) -> tuple[str, ...]:
        """Of all."""
        return (
            *(self.pack.warnings if self.pack else ()),
            *(f"{r.seat.name}: {text}" for r in self.rounds for text in r.warnings),
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """Of all, each once."""
        return tuple(
            dict.fromkeys([*(self.pack.notes if self.pack else ()), *(n for r in self.rounds for n in r.notes)])
        )

    @property
    def figures(self) -> tuple[tuple[str, Any], ...]:
        """Derived numbers in groups."""
        own = [("clamped pack", self.pack.figures)] if self.pack else []
        return (*own, *((r.seat.name, r.figures) for r in self.rounds))

    @property
    def comparisons(self) -> tuple[tuple[str, Comparison], ...]:
        """Formulas beside the solutions, each with what it is about."""
        own = [("clamped pack", c) for c in self.pack.comparisons] if self.pack else []
        return (*own, *((r.seat.name, c) for r in self.rounds for c in r.comparisons))


def read_contact(path: str | os.PathLike[str]) -> tuple[Sheet, Material]:
    """The file and its material. Raises InputFault with all that is wrong, each with its line."""
    sheet = read_sheet(path, FORMS, needed=("material",))
    if sheet["pack"] is None and not sheet["round_seat"]:
        raise InputFault(Fault(str(path), MISSING, "asks for nothing: it holds no [pack] and no [[round_seat]]",
                               "[pack]: hammer and wedge in their slot; [[round_seat]]: a half round in its groove"))  # fmt: skip
    names = [seat.name for seat in sheet["round_seat"]]
    if len(set(names)) < len(names):
        twice = next(n for n in names if names.count(n) > 1)
        raise lined(
            InputFault(
                Fault(f"round_seat.{names.index(twice)}.name", twice, "names two seats", "give each a name of its own")
            ),
            sheet,
        )
    try:
        return sheet, sheet["material"].material(None if sheet["pack"] is None else sheet["pack"].wall_mm)
    except InputFault as error:
        raise lined(InputFault([f.at("material") for f in error.faults]), sheet) from None


def solve_contact(path: str | os.PathLike[str], on_event: Any = None) -> tuple[Sheet, ContactFound]:
    """Read a file and solve what it asks. Raises InputFault; SolveFailure where no state of contact is found."""
    sheet, material = read_contact(path)
    accuracy = sheet["accuracy"] or Accuracy(error=ASKED)
    pack = None if sheet["pack"] is None else solve_wedge_pack(sheet["pack"], material, accuracy, on_event)
    rounds = tuple(solve_round_seat(seat, material, accuracy.error) for seat in sheet["round_seat"])
    return sheet, ContactFound(material, pack, rounds)


def contact_rows(found: ContactFound) -> list[dict[str, Any]]:
    """A row for each face."""
    rows = [] if found.pack is None else [_face_row(found.pack, face) for face in found.pack.faces]
    return [*rows, *(_round_row(r) for r in found.rounds)]


def _face_row(pack: PackResult, face: PackFace) -> dict[str, Any]:
    return {
        "face": face.name, "force_N": face.force_N, "friction_N": face.shear_N, "mean_MPa": face.mean_MPa,
        "peak_MPa": face.peak.value, "peak_band_MPa": face.peak.band,
        "lever_mm": float(face.couple) / face.force_N, "lever_band_mm": (face.couple.band or 0.0) / face.force_N,
        "inner_MPa": face.near[0].value, "outer_MPa": face.near[1].value,
        "bears_mm": face.bears.value, "flat_mm": flat_mm(pack.pack, face.name), "opening_um": face.opening.value,
        "stick_share": face.stick_share, "bears": "fully" if bears_fully(pack.pack, face) else "in part", "verdict": str(face.peak.verdict),
    }  # fmt: skip


def _round_row(r: RoundResult) -> dict[str, Any]:
    arc = np.radians(float(r.half_angle)) * 2 * r.seat.radius_mm
    return {
        "face": r.seat.name, "force_N": 1e3 * r.seat.force_kN, "mean_MPa": r.seat.line_load_N_mm / (2 * r.seat.radius_mm),
        "peak_MPa": r.peak.value, "peak_band_MPa": r.peak.band, "bears_mm": float(arc), "flat_mm": float(np.pi * r.seat.radius_mm),
        "verdict": str(r.verdict),
    }  # fmt: skip


def pressure_rows(found: ContactFound) -> list[dict[str, Any]]:
    """Every point of every curve: of a pack over the height, of a round seat over the angle."""
    rows: list[dict[str, Any]] = []
    for face in found.pack.faces if found.pack else ():
        rows += [
            {"face": face.name, "height_mm": float(y), "pressure_MPa": float(p), "shear_MPa": float(t)}
            for y, p, t in zip(face.height_mm, face.pressure_MPa, face.shear_MPa, strict=True)
        ]
    for r in found.rounds:
        rows += [
            {"face": r.seat.name, "angle_deg": float(a), "pressure_MPa": float(p), "formula_MPa": float(q)}
            for a, p, q in zip(r.angle_deg, r.pressure_MPa, r.formula_MPa, strict=True)
        ]
    return rows


CURVE_COLUMNS = ("face", "height_mm", "angle_deg", "pressure_MPa", "shear_MPa", "formula_MPa")


def contact_record(sheet: Sheet, found: ContactFound) -> dict[str, Any]:
    """Everything as plain values, for contact.json."""
    pack = found.pack
    record = {
        "made by": "femdrum",
        "kind": CONTACT_KIND,
        "name": sheet.name,
        "title": sheet.title,
        "verdict": found.verdict,
        "message": pack.message if pack else "",
        "pack": None if pack is None else {
            "clamp_N": pack.pack.clamp_N,
            "drive_N": pack.drive_N,
            "closing_um": None if pack.closing_mm is None else 1e3 * pack.closing_mm,
            "hold_N": pack.hold_N,
            "unknowns": [s.unknowns for s in pack.solutions],
            "faces": [
                {"name": f.name, "couple_Nmm": _quantity(f.couple), "linear_MPa": _quantity(f.linear), "peak_MPa": _quantity(f.peak),
                 "peak_at_mm": f.peak_height_mm, "bears_mm": _quantity(f.bears), "from_mm": f.low_mm, "to_mm": f.high_mm, "opening_um": _quantity(f.opening)}
                for f in pack.faces
            ],
        },
        "round_seats": [
            {"name": r.seat.name, "peak_MPa": _quantity(r.peak), "half_angle_deg": _quantity(r.half_angle), "line_contact_MPa": r.line_MPa,
             "line_contact": r.line_said, "conforming_MPa": r.conforming.peak_MPa, "conforming_half_angle_deg": r.conforming.half_angle_deg}
            for r in found.rounds
        ],
        "rows": contact_rows(found),
        "comparisons": [
            {"of": of, "quantity": c.quantity, "ours": c.ours, "band": c.band, "value": c.value, "difference": c.difference, "source": c.source, "note": c.note}
            for of, c in found.comparisons
        ],
        "figures": figure_records(found.figures),
        "warnings": list(found.warnings),
        "notes": list(found.notes),
        "not_checked": list(NOT_CHECKED),
        "columns": CONTACT_COLUMNS,
        "file": sheet.source,
    }  # fmt: skip
    plain: dict[str, Any] = to_plain(record)
    return plain


def _quantity(q: Quantity) -> dict[str, Any]:
    return {"value": q.value, "band": q.band, "verdict": str(q.verdict)}


def write_contact(sheet: Sheet, found: ContactFound, out: str | os.PathLike[str]) -> Path:
    """Write contact.csv, contact_pressure.csv and contact.json into a folder; returns it. Raises FileFault where it is not ours to use."""
    folder = check_folder(out, JSON, CONTACT_KIND)
    texts = {
        CSV: csv_text(list(CONTACT_COLUMNS), contact_rows(found)),
        CURVES: csv_text(list(CURVE_COLUMNS), pressure_rows(found)),
        JSON: json_text(contact_record(sheet, found)),
    }
    write_files(folder, texts)
    return folder
