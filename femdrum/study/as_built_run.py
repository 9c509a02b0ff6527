"""The study of a drum once more with the radii it was built with: a variant for each group of radii, and every slot beside its design."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from ..assess.handover_inspect import floor2
from ..assess.handover_slots import Numbering, by_row, numbering, numbering_without_drum
from ..assess.life_result import MapSlot
from ..errors import MISSING, Fault, InputFault
from ..model.check import Checks
from ..model.cutout import Slot
from ..model.ring import Ring
from .as_built import AsBuilt, SlotRadius, group_radii, read_as_built
from .drum_tables import drum_faults
from .life_tables import variant_faults
from .results import Results, StoredVariant
from .runner import Event, run
from .sheet_folder import csv_text, json_text, write_files
from .study import Axis, Study, Variant, content_key, digest
from .work import Solver

__all__ = [
    "AS_BUILT",
    "WITHIN_MM",
    "AsBuiltResult",
    "AsBuiltSlot",
    "AsBuiltStudy",
    "as_built_study",
    "compared",
    "run_as_built",
]

AS_BUILT = "as_built"
WITHIN_MM, MOST_WITHIN_MM = 0.25, 5.0
SAME_MM = 1e-6
COLUMN, KEY = "corner_radius_mm", "part.cutout.corner_radius_mm"
NOTES = (
    "the model has one radius for all four corners of a slot: the least of the four governs it",
    "each variant is a ring whose slots all have that radius; what neighbours of another radius do to a slot is not looked at",
    "the strength counts the stressed edge of all slots as if all had that radius, which is on the safe side for the least ones",
    "peaks are those of the ring under the condition of its highest peak; what a row carries of its own is in utilisation and life",
)


@dataclass(frozen=True)
class AsBuiltStudy:
    """What is solved: the design first, then the groups from the least radius on. solved_mm: slot -> radius it is solved with."""

    study: Study
    designed: Variant
    radii: AsBuilt
    numbering: Numbering
    within_mm: float
    solved_mm: Mapping[int, float]


@dataclass(frozen=True)
class AsBuiltSlot:
    """One slot as built beside its design. Radii in mm, peaks in MPa of the worst condition, lives in h (None: endless or not reckoned).

    utilisation: stress over the stress at which the slot lives just as long as wanted; above 1 it falls short. below: it falls short
    as built. fell: as built only. interval_h: between looks, by the growth of a crack; None where none was grown or no interval helps.
    """

    slot: int
    row: int
    least_mm: float
    corner: int | None
    measured: bool
    solved_mm: float
    condition: str
    peak_MPa: float | None
    peak_designed_MPa: float | None
    peak_change: float | None
    life_h: float | None
    life_designed_h: float | None
    utilisation: float | None
    utilisation_designed: float | None
    interval_h: float | None
    interval_designed_h: float | None
    place: str
    below: bool
    fell: bool


@dataclass(frozen=True)
class AsBuiltResult:
    """All slots by number. words: the answer. with_life: False where the study asks for none; with_map: each row has its own loads."""

    title: str
    designed_mm: float
    within_mm: float
    solved: tuple[float, ...]
    slots: tuple[AsBuiltSlot, ...]
    target_h: float | None
    with_map: bool
    words: tuple[str, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def below(self) -> tuple[int, ...]:
        """Slots that fall short as built."""
        return tuple(s.slot for s in self.slots if s.below)

    @property
    def worst(self) -> AsBuiltSlot:
        """The most used slot, or that of the highest peak where no life was reckoned."""
        return max(self.slots, key=lambda s: (s.utilisation or 0.0, abs(s.peak_MPa or 0.0), -s.slot))


def _designed(study: Study, which: str | int | None) -> Variant:
    if which is not None:
        for n, variant in enumerate(study.variants, 1):
            if str(which) in (str(n), study.describe(variant), variant.key):
                return variant
    elif len(study.variants) == 1:
        return study.variants[0]
    shown = ", ".join(f"{n}: {study.describe(v) or v.key}" for n, v in enumerate(study.variants[:12], 1))
    value = MISSING if which is None else which
    said = (
        f"the study has {len(study.variants)} variants, and one drum was built"
        if which is None
        else "is no variant of this study"
    )
    raise InputFault(Fault("--variant", value, said, f"say which: {shown}"))


def _key(variant: Variant, part: Ring) -> str:
    """The key that this variant has with another part; parts in the order of every variant's key."""
    machine = () if variant.machine is None else (variant.machine,)
    things = (part, variant.material, variant.accuracy, *variant.loads, *machine, *variant.conditions)
    return content_key([*(digest(t) for t in things), *(["paths"] if variant.paths else [])])


def as_built_study(
    study: Study, file: str | os.PathLike[str], *, which: str | int | None = None, missing: str = "refuse", within_mm: float = WITHIN_MM,
) -> AsBuiltStudy:  # fmt: skip
    """What has to be solved. which: the variant that was drawn, by number from 1, label or key, where the study has several.

    within_mm: radii that differ by no more are solved as the least of them. Raises InputFault: no ring, no slot with corners, no
    numbers of slots, and all that is wrong with the file.
    """
    designed = _designed(study, which)
    ring = designed.part
    if getattr(ring, "kind", "") != "ring" or not isinstance(ring.cutout, Slot) or ring.cutout.sharp:
        raise InputFault(
            Fault(
                "part.cutout", MISSING, "must be a slot with a corner radius in a ring: nothing else has radii as built"
            )
        )
    checks = Checks()
    checks.number("--within-mm", within_mm, least=0.0, most=MOST_WITHIN_MM, way_out="0 solves every radius on its own")
    checks.done()
    numbers = _numbers(study, ring)
    cutout = ring.cutout
    most = min(cutout.half_x_mm, cutout.half_y_mm)
    radii = read_as_built(file, rows=by_row(numbers.slots), designed_mm=cutout.radius_mm, most_mm=most, missing=missing)
    drawn = cutout.radius_mm
    groups = group_radii([s.least_mm for s in radii.slots], within_mm)
    groups = {r: drawn if abs(g - drawn) < SAME_MM else g for r, g in groups.items()}
    variants = {designed.key: replace(designed, values=(drawn,))}
    faults: list[Fault] = []
    for radius in sorted(set(groups.values()) - {drawn}):
        part = replace(ring, cutout=replace(cutout, corner_radius_mm=radius))
        faults += _faults(study, part, designed)
        key = _key(designed, part)
        variants.setdefault(key, replace(designed, key=key, values=(radius,), part=part))
    if faults:
        raise InputFault({str(f): f for f in faults}.values())
    values = tuple(v.values[0] for v in variants.values())
    made = Study(
        f"{study.title}, as built", study.name, study.source, (Axis(KEY, COLUMN, values),), tuple(variants.values()), life=study.life,
    )  # fmt: skip
    return AsBuiltStudy(made, designed, radii, numbers, within_mm, {s.slot: groups[s.least_mm] for s in radii.slots})


def _numbers(study: Study, ring: Ring) -> Numbering:
    if study.life is not None and study.life.drum is not None:
        return numbering(study.life.drum.drum.around(ring))
    rows = None if study.life is None else study.life.wanted.rows_total
    if rows is None:
        raise InputFault(Fault("rows_total", MISSING, "is missing: slots cannot be numbered",
                               "give rows_total in [life], or the whole drum in [drum]"))  # fmt: skip
    return numbering_without_drum(ring, rows)


def _faults(study: Study, part: Ring, designed: Variant) -> list[Fault]:
    if study.life is None:
        return []
    faults = variant_faults(study.life, part, designed.material)
    return faults if study.life.drum is None else [*faults, *drum_faults(study.life.drum, part)]


def run_as_built(
    asked: AsBuiltStudy, out: str | os.PathLike[str], *, workers: int | None = None, cluster: str | None = None,
    on_event: Callable[[Event], None] | None = None, solver: Solver | None = None,
) -> tuple[Results, AsBuiltResult]:  # fmt: skip
    """Solve what `out` does not hold yet, as `run` does, compare, and write as_built.csv, as_built.json and the radii beside the results."""
    results = run(asked.study, out, workers=workers, cluster=cluster, on_event=on_event, solver=solver)
    found = compared(asked, results)
    columns = tuple(AsBuiltSlot.__dataclass_fields__)
    record = {"made by": "femdrum", "kind": AS_BUILT, "designed": asked.designed.key, **asdict(found)}
    texts = {
        f"{AS_BUILT}.csv": csv_text(columns, [asdict(s) for s in found.slots]),
        f"{AS_BUILT}.json": json_text(record),
        "measured_radii.csv": asked.radii.text,
    }
    write_files(Path(out), texts)
    return results, found


def compared(asked: AsBuiltStudy, results: Results) -> AsBuiltResult:
    """Every slot as built beside its design, from the stored variants."""
    stored = {float(v.axes[COLUMN]): v for v in results.variants}
    designed = stored[asked.radii.designed_mm]
    target = None if asked.study.life is None else asked.study.life.wanted.target_h
    rows = tuple(_row(s, asked.solved_mm[s.slot], stored, designed, target) for s in asked.radii.slots)
    with_map = any(v.life is not None and v.life.map is not None for v in stored.values())
    made = AsBuiltResult(
        asked.study.title, asked.radii.designed_mm, asked.within_mm, tuple(sorted(set(asked.solved_mm.values()))), rows, target, with_map, (),
        (*asked.radii.warnings, *_lost(stored)), NOTES,
    )  # fmt: skip
    return replace(made, words=tuple(_words(made)))


def _lost(stored: Mapping[float, StoredVariant]) -> list[str]:
    return [f"radius {r:g} mm has no solution: {v.failure}" for r, v in sorted(stored.items()) if v.failure]


def _row(
    slot: SlotRadius,
    solved_mm: float,
    stored: Mapping[float, StoredVariant],
    designed: StoredVariant,
    target_h: float | None,
) -> AsBuiltSlot:
    built = stored[solved_mm]
    condition, peak = _peak(built)
    before = _peak(designed)[1]
    now, then = _life(built, slot.slot), _life(designed, slot.slot)
    much, was = now[1], then[1]
    below = target_h is not None and much is not None and much > 1.0
    return AsBuiltSlot(
        slot=slot.slot, row=slot.row, least_mm=slot.least_mm, corner=slot.corner, measured=bool(slot.measured_mm), solved_mm=solved_mm,
        condition=condition, peak_MPa=peak, peak_designed_MPa=before,
        peak_change=None if not peak or not before else abs(peak) / abs(before) - 1.0,
        life_h=now[0], life_designed_h=then[0], utilisation=much, utilisation_designed=was,
        interval_h=shortest_interval_h(built), interval_designed_h=shortest_interval_h(designed), place=now[2], below=below,
        fell=below and not (was is not None and was > 1.0),
    )  # fmt: skip


def _peak(variant: StoredVariant) -> tuple[str, float | None]:
    answers = [a for a in variant.answers if a.peak.value is not None]
    answers = [a for a in answers if a.case_kind == "condition"] or answers
    if not answers:
        return "", None
    top = max(answers, key=lambda a: abs(a.peak.value or 0.0))
    return top.case, top.peak.value


def _life(variant: StoredVariant, slot: int) -> tuple[float | None, float | None, str]:
    """Life, utilisation and place of a slot: of the map where there is one, else of the ring that stands for all."""
    life = variant.life
    if life is None or not life.places:
        return None, None, ""
    if life.map is not None:
        found: MapSlot = next(m for m in life.map.slots if m.number == slot)
        return found.life_h, found.utilisation, found.place
    worst = max(life.places, key=lambda p: 0.0 if p.safety is None else 1.0 / p.safety)
    return life.life_h, None if worst.safety is None else 1.0 / worst.safety, worst.name


def shortest_interval_h(variant: StoredVariant) -> float | None:
    """Between looks, rounded down; None where no crack was grown or no interval helps."""
    cracks = () if variant.life is None else variant.life.cracks
    if any(line.grows for c in cracks for line in c.once_a_turn) or any(
        c.interval_h is None and c.life_h is not None for c in cracks
    ):
        return None
    known = [c.interval_h for c in cracks if c.interval_h is not None]
    return floor2(min(known)) if known else None


def _words(made: AsBuiltResult) -> list[str]:
    from ..assess.life_words import hours

    worst, out = made.worst, []
    small = [s for s in made.slots if s.least_mm < made.designed_mm - 1e-9]
    out.append(
        f"{len(small)} of {len(made.slots)} slots have a corner below the designed {made.designed_mm:g} mm; the least is "
        f"{min(s.least_mm for s in made.slots):g} mm, at slot {min(made.slots, key=lambda s: s.least_mm).slot}."
    )
    if made.target_h is None or worst.utilisation is None:
        change = "" if worst.peak_change is None else f", {100 * worst.peak_change:+.1f} % on the design"
        peak = "has no peak" if worst.peak_MPa is None else f"has the highest peak, {worst.peak_MPa:.4g} MPa{change}"
        return [*out, f"Slot {worst.slot} {peak}. No life was reckoned, so no slot is said to hold."]
    then = "-" if worst.utilisation_designed is None else f"{worst.utilisation_designed:.2f}"
    out.append(
        f"The most used slot as built is number {worst.slot} (row {worst.row}), utilisation {worst.utilisation:.2f} against {then} as designed, life "
        f"{hours(worst.life_h)}."
    )
    fell = [str(s.slot) for s in made.slots if s.fell]
    already = [str(s.slot) for s in made.slots if s.below and not s.fell]
    want = hours(made.target_h)
    if fell:
        out.append(f"Below {want} as built, though not as designed: slots {', '.join(fell)}.")
    if already:
        out.append(f"Below {want} as designed already: slots {', '.join(already)}.")
    if not fell and not already:
        out.append(f"No slot falls below {want}.")
    looks = [s for s in made.slots if s.interval_h is not None]
    if looks:
        soon = min(looks, key=lambda s: (s.interval_h or 0.0, s.slot))
        drawn = "none" if soon.interval_designed_h is None else f"{soon.interval_designed_h:,.0f} h"
        out.append(
            f"Between looks, by the growth of a crack: {soon.interval_h:,.0f} h as built (slot {soon.slot}), {drawn} as designed."
        )
    lost = [str(s.slot) for s in made.slots if s.interval_h is None and s.interval_designed_h is not None]
    if lost:
        out.append(
            f"Of slots {', '.join(lost)}: no interval between looks helps as built, though one does as designed."
        )
    if not made.with_map:
        out.append("No map was reckoned, so rows differ by their radii alone.")
    return out
