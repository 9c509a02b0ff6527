"""A hand-over from a results folder: what is asked of the workshop and of the service team, as tables in DIR/handover/."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from ..assess.handover import CallOut, drawing_table
from ..assess.handover_facts import Facts, Peak
from ..assess.handover_inspect import Inspection, inspection
from ..assess.handover_slots import Numbering, fits, numbering, numbering_without_drum
from ..assess.place_names import ZONES, along_names, zones
from ..errors import MISSING, Fault, InputFault
from ..model.cutout import CUTOUTS
from ..model.drum import Drum
from ..model.finish import Finish
from ..model.life_input import LifeInput
from ..model.ring import Ring
from .drum_tables import drum_of
from .life_stage import read_life
from .plain import from_plain
from .reading import Document, parse
from .results import Results, StoredVariant
from .sheet_folder import csv_text, json_text, write_files
from .store import Store, read_json
from .work import versions

__all__ = ["FOLDER", "MARK", "Handover", "chosen", "handed_over", "handover_of", "ring_of", "write_handover"]

FOLDER, MARK = "handover", "handover.json"
EVENTS = {"jam": "a jam", "impact": "a hit by tramp metal", "reversal": "a reversal"}
NO_DRUM = "give the rows: rows_total in [life], [drum] in the study, or --drum FILE with the file of the whole drum"


@dataclass(frozen=True)
class Handover:
    """All that is handed over. variant: label, empty where nothing varies. warnings: what the reader must know first."""

    title: str
    name: str
    source: str
    variant: str
    key: str
    facts: Facts
    drawing: tuple[CallOut, ...]
    inspection: Inspection
    warnings: tuple[str, ...]
    drum_source: str = ""

    @property
    def numbering(self) -> Numbering:
        """Numbers and places of all slots."""
        return self.facts.numbering


def ring_of(inputs: Mapping[str, Any]) -> Ring:
    """The ring of a stored variant. Raises InputFault for another part."""
    fields = dict(inputs["part"])
    if fields.pop("kind") != "ring":
        raise InputFault(
            Fault("part.kind", inputs["part"]["kind"], "a hand-over is made of a drum: the part must be a ring")
        )
    cutout = dict(fields.pop("cutout"))
    return Ring(**fields, cutout=CUTOUTS[cutout.pop("shape")](**cutout))


def chosen(results: Results, which: str | int | None = None) -> StoredVariant:
    """The variant that is handed over: by its number from 1, label or key; for None that of the longest life, else the first solved one.

    Raises InputFault where there is none.
    """
    variants = results.variants
    if which is not None:
        for n, variant in enumerate(variants, 1):
            if str(which) in (str(n), variant.label, variant.key):
                return variant
        shown = ", ".join(f"{n}: {v.label or v.key}" for n, v in enumerate(variants[:12], 1))
        raise InputFault(Fault("--variant", which, "is no variant of this study", shown))
    found = [v for v in variants if v.life is not None and v.life.places]
    if found:
        return max(found, key=lambda v: _order(v))
    solved = [v for v in variants if any(a.peak.value is not None for a in v.answers)]
    if not solved:
        raise InputFault(
            Fault(str(results.folder), MISSING, "no variant of this study has a solution", "run the study again")
        )
    return solved[0]


def _order(variant: StoredVariant) -> tuple[float, float]:
    assert variant.life is not None
    worst = variant.life.places[0]
    return (float("inf") if worst.life_h is None else worst.life_h, worst.safety or float("inf"))


def handover_of(
    results: Results, which: str | int | None = None, drum: Drum | None = None, *, drum_source: str = ""
) -> Handover:
    """Everything that is handed over of one variant. drum: of the file of the whole drum, where the study has no [drum]; drum_source: its text.

    Raises InputFault: no ring, no variant, a drum that is not the one that was solved.
    """
    variant = chosen(results, which)
    ring = ring_of(variant.inputs)
    life = variant.life if variant.life is not None and variant.life.places else None
    if life is None and variant.plan:
        life = read_life(Store(results.folder), variant.key, variant.plan)
    wanted = from_plain(LifeInput, results.life["asked"]) if results.life else None
    doc = parse(results.source, results.name)
    own = _own_drum(doc, ring)
    end = results.drum_end
    facts = Facts(
        ring=ring, material=variant.inputs["material"], numbering=_numbering(ring, wanted, own, drum), wanted=wanted, life=life,
        scatter=results.scatter.get(variant.key) if results.life else None, end=end, end_reason=str(results.life.get("no_drum_end", "")),
        often=_often(results, variant), peaks=_peaks(variant, ring), drum_fillet_mm=None if own is None else own.drive_end.fillet_radius_mm,
        **_end(doc, wanted is not None and end is not None),
    )  # fmt: skip
    return Handover(
        results.title, results.name, results.source, variant.label, variant.key, facts, drawing_table(facts), inspection(facts),
        tuple(_warnings(results, variant, facts, which)), drum_source,
    )  # fmt: skip


def _own_drum(doc: Document, ring: Ring) -> Drum | None:
    if "drum" not in doc.values:
        return None
    plan, faults = drum_of(doc, ())
    if plan is None:
        raise InputFault(faults)
    return plan.drum.around(ring)


def _numbering(ring: Ring, wanted: LifeInput | None, own: Drum | None, given: Drum | None) -> Numbering:
    if given is not None:
        if own is not None:
            raise InputFault(
                Fault("--drum", MISSING, "the study describes its drum itself, in [drum]", "leave --drum out")
            )
        fits(given, ring)
        if wanted is not None and wanted.rows_total not in (None, given.rows_total):
            raise InputFault(
                Fault("drum.rows_total", given.rows_total, f"differs from rows_total = {wanted.rows_total} of [life]")
            )
        return numbering(given)
    if own is not None:
        return numbering(own)
    if wanted is None or wanted.rows_total is None:
        raise InputFault(Fault("rows_total", MISSING, "is missing: slots cannot be numbered", NO_DRUM))
    return numbering_without_drum(ring, wanted.rows_total)


def _end(doc: Document, there: bool) -> dict[str, Any]:
    """Fillet and finish of the drum's end as the study gives them."""
    given = doc.values.get("drum_end")
    if not there or not isinstance(given, dict):
        return {}
    fillet = given.get("fillet_radius_mm")
    finish = given.get("finish")
    made = Finish(**finish) if isinstance(finish, dict) else Finish(process="milled")
    return {"end_fillet_mm": float(fillet) if isinstance(fillet, (int, float)) else None, "end_finish": made}


def _often(results: Results, variant: StoredVariant) -> dict[str, float]:
    """Times in 1,000 h of jams, tramp hits and reversals, by the loads of the duty's conditions."""
    kinds = {load["name"]: load["kind"] for load in variant.inputs["load"]}
    states = {c["name"]: set(c["loads"]) for c in variant.inputs.get("condition", [])}
    out: dict[str, float] = {}
    for row in results.life.get("duty", []):
        loads = states.get(row["condition"], {row["condition"]})
        for kind, words in EVENTS.items():
            if any(kinds.get(load) == kind for load in loads) and row.get("per_1000_h"):
                out[words] = out.get(words, 0.0) + float(row["per_1000_h"])
    return out


def _peaks(variant: StoredVariant, ring: Ring) -> tuple[Peak, ...]:
    answers = [a for a in variant.answers if a.peak.value is not None and a.at is not None]
    answers = [a for a in answers if a.case_kind == "condition"] or answers
    edge = variant.edge
    if edge is None:
        return ()
    along, zone = along_names(edge, ring), zones(edge)
    out = []
    for a in answers:
        assert a.at is not None
        assert a.peak.value is not None
        at = int(abs(edge.s_mm - a.at.s_mm).argmin())
        out.append(Peak(a.case, a.peak.value, a.peak.band, f"{along[at]}, {ZONES[zone[a.at.d_index]]}"))
    return tuple(sorted(out, key=lambda p: -abs(p.peak_MPa)))


def _warnings(results: Results, variant: StoredVariant, facts: Facts, which: str | int | None) -> list[str]:
    out = []
    if len(results.variants) > 1:
        why = (
            "as chosen"
            if which is not None
            else "the one of the longest life; --variant takes another"
            if facts.life
            else "the first one; --variant takes another"
        )
        out.append(f"the study has {len(results.variants)} variants; this is for {variant.label or variant.key}, {why}")
    if facts.life is None:
        reason = results.life.get("no_life", {}).get(variant.key, "") if results.life else "the study asks for none"
        out.append(f"no life was reckoned ({reason or 'no solution'}): nothing here says how long this drum lasts")
    elif facts.life.verdict != "holds":
        out.append(f"the life that is wanted is not reached: this is no drawing to make a drum by. {facts.life.words}")
    if facts.end is not None and facts.end.verdict != "holds":
        out.append(f"the drum's end does not hold. {facts.end.words}")
    missed = None if facts.scatter is None else facts.scatter.failure
    if missed is not None and missed > 0.1:
        out.append(
            f"when sizes, loads and strength scatter as stated, the target is missed with probability {missed:.2g}"
        )
    opened = sum(c.open for c in drawing_table(facts))
    if opened:
        out.append(f"{opened} lines of the drawing table have no value: these results support none")
    return out


SLOT_COLUMNS = (
    "slot",
    "row",
    "place_in_row",
    "angle_deg",
    "along_mm",
    "z_mm",
    "x_mm",
    "opposite_slot",
    "angle_from",
    "along_from",
    "z_from",
    "looked_at",
)
DRAWING_COLUMNS = ("feature", "ask", "limit", "value", "unit", "words", "reason", "basis", "provenance", "open")
LOOKED_AT = (
    "from outside, drive end below, rotation to the right (drum clockwise seen from the drive end; else mirrored)"
)


def _slot_rows(n: Numbering) -> list[dict[str, Any]]:
    return [
        {
            "slot": s.slot, "row": s.row, "place_in_row": s.around, "angle_deg": s.angle_deg, "along_mm": s.along_mm, "z_mm": s.z_mm, "x_mm": s.x_mm,
            "opposite_slot": s.opposite, "angle_from": "first slot of row 1, in the sense of rotation", "along_from": n.along_from,
            "z_from": "" if s.z_mm is None else "middle of the drive bearing", "looked_at": LOOKED_AT,
        }
        for s in n.slots
    ]  # fmt: skip


def _drawing_rows(lines: Sequence[CallOut]) -> list[dict[str, Any]]:
    return [{**asdict(c), "basis": c.basis, "provenance": c.origin} for c in lines]


def _fields(kind: Any) -> tuple[str, ...]:
    return tuple(kind.__dataclass_fields__)


def tables(made: Handover) -> dict[str, str]:
    """Text of every file that is written: slot_numbers.csv, drawing.csv, look_slots.csv, look_places.csv, look_when.csv."""
    from ..assess.handover_inspect import Look, LookPlace, LookSlot

    look = made.inspection
    when = [{**asdict(o), "provenance": str(o.provenance)} for o in look.looks]
    return {
        "radii_to_measure.csv": csv_text(
            ("slot", "corner", "radius_mm"),
            [{"slot": s.slot, "corner": c} for s in made.numbering.slots for c in range(1, 5)],
        ),
        "slot_numbers.csv": csv_text(SLOT_COLUMNS, _slot_rows(made.numbering)),
        "drawing.csv": csv_text(DRAWING_COLUMNS, _drawing_rows(made.drawing)),
        "look_slots.csv": csv_text(_fields(LookSlot), [asdict(s) for s in look.slots]),
        "look_places.csv": csv_text(_fields(LookPlace), [asdict(p) for p in look.places]),
        "look_when.csv": csv_text(_fields(Look), when),
    }


def handover_record(made: Handover, *, caution: str = "") -> dict[str, Any]:
    """The same as one record for JSON."""
    look = made.inspection
    return {
        "made by": "femdrum", "kind": FOLDER, "title": made.title, "study": made.name, "variant": made.variant, "key": made.key, "caution": caution, "drum": made.drum_source,
        "holds": made.facts.good, "warnings": list(made.warnings), "counting": list(made.numbering.notes), "slots": _slot_rows(made.numbering),
        "drawing": _drawing_rows(made.drawing), "look_slots": [asdict(s) for s in look.slots], "look_places": [asdict(p) for p in look.places],
        "look_when": [{**asdict(o), "provenance": str(o.provenance)} for o in look.looks], "notes": list(look.notes), "versions": versions(),
    }  # fmt: skip


def write_handover(made: Handover, folder: Path, *, caution: str = "") -> list[Path]:
    """Write tables and record into a folder that was checked; returns their paths. Raises FileFault."""
    texts = {**tables(made), MARK: json_text(handover_record(made, caution=caution))}
    write_files(folder, texts)
    return [folder / name for name in texts]


def handed_over(results: Results) -> Handover | None:
    """What was handed over of a results folder, made anew from it; None where nothing was, or for results that are gone."""
    path = results.folder / FOLDER / MARK
    if not path.is_file():
        return None
    found = read_json(path)
    key = found.get("key") if isinstance(found, dict) else None
    if not isinstance(key, str) or all(v.key != key for v in results.variants):
        return None
    source = found.get("drum")
    drum = None
    if isinstance(source, str) and source:
        from .drum_sheet import drum_sheet_from_text

        drum = drum_sheet_from_text(source).drum
    return handover_of(results, key, drum, drum_source=source or "")
