"""life.csv and life.json: a row per variant and place, and what belongs to the study as a whole."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from ..units import unit_of
from .life_stage import LIFE_FORMAT, life_file, plan_key, read_end, read_life
from .plain import to_plain
from .store import Store, read_json, writing
from .study import Study, Variant, inputs_of

if TYPE_CHECKING:
    from ..assess.life_result import CrackLife, EndLife, PlaceLife, ScatterLife, VariantLife, WeldSaid

__all__ = ["LIFE_COLUMNS", "write_lives"]

LIFE_COLUMNS = {
    "variant": "key of the variant, as in results.csv",
    "what": "base metal: life by S-N curves at the slot's edge; crack: growth from a flaw there; static: proof of a condition; "
    "weld: by its class, from ranges only; drum end: the stub's fillet; scatter: life of the worst place when sizes, loads and strength scatter",
    "place": "flank or corner of the slot, and rim, wall or surface; of a static proof the condition",
    "life_h": "base metal: hours that the stated share of drums outlives; crack: hours from the initial depth to the critical one; scatter: "
    "hours that half of the drums outlive. Empty: endless",
    "life_elementary_h": "the same with the S-N curve straight on beyond its knee",
    "life_median_h": "hours that half of the drums outlive, at the computed stress",
    "life_p10_h": "scatter: hours at which 10 % have failed",
    "life_p90_h": "scatter: hours at which 90 % have failed",
    "failure_probability": "scatter: probability that the target is missed",
    "survival": "the stated share of survivors",
    "target_h": "hours that are wanted",
    "safety_factor": "base metal: factor on all stresses at which the life is just the target; static: least factor on all loads at which "
    "the shell collapses",
    "governs": "row of the duty with the largest share in the damage; crack: what ends it; static: how it would fail",
    "most_MPa": "largest elastic stress there; static: elastic peak; weld: largest range of the stress that the class is for",
    "least_MPa": "smallest elastic stress there",
    "slot": "slot of the model",
    "x_mm": "place on the unrolled drum, around",
    "y_mm": "place along the drum's axis",
    "depth_mm": "place from the outer surface inward; crack: critical depth",
    "inspection_h": "crack: interval between inspections; empty where none helps or none is needed",
    "verdict": "holds, or does not hold",
    "message": "what else is to be said",
}


def write_lives(study: Study, store: Store) -> None:
    """Write both files from the stored lives; nothing where the study asks for no life."""
    plan = study.life
    if plan is None:
        return
    key = plan_key(plan)
    found: list[tuple[Variant, VariantLife]] = []
    reasons: dict[str, str] = {}
    for variant in study.variants:
        life = read_life(store, variant.key, key)
        if life is not None:
            found.append((variant, life))
        else:
            path = life_file(store, variant.key, key)
            reasons[variant.key] = read_json(path)["reason"] if path.is_file() else "the variant has no solution"
    spread = _scatter(study, found)
    end, no_end = read_end(study, store)
    by_key = {s.key: s for s in spread}
    with writing(store.root / "life.csv") as file:
        table = csv.writer(file, lineterminator="\n")
        axes = [a.column for a in study.axes]
        table.writerow([*axes, *LIFE_COLUMNS])
        for variant, life in found:
            own = [inputs_of(v) for v in variant.values]
            for row in _rows(life, by_key.get(life.key)):
                cells = [row.get(c) for c in LIFE_COLUMNS]
                table.writerow(["" if v is None else v for v in (*own, *cells)])
        for row in _end_rows(end, plan.wanted.target_h, plan.wanted.survival):
            table.writerow(["" if v is None else v for v in (*[None] * len(axes), *[row.get(c) for c in LIFE_COLUMNS])])
    if plan.drum is not None:
        _write_map(study, store, found)
    whole: dict[str, Any] = {
        "format": LIFE_FORMAT,
        "plan": key,
        "asked": inputs_of(plan.wanted),
        "duty": [inputs_of(d) for d in plan.duty],
        "recorded_cycles": {name: float(c.count.sum()) for name, c in plan.measured.items()},
        "columns": LIFE_COLUMNS,
        "units": {c: unit_of(c) for c in LIFE_COLUMNS if unit_of(c)},
        "no_life": reasons,
        "drum_end": None if end is None else to_plain(end),
        "no_drum_end": no_end,
        "scatter": to_plain(spread),
    }
    with writing(store.root / "life.json") as file:
        file.write(json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=1) + "\n")


def _write_map(study: Study, store: Store, found: list[tuple[Variant, VariantLife]]) -> None:
    """map.csv: every slot of every variant; row_loads.csv: what each row carries in each condition."""
    from ..assess.life_result import MapRow, MapSlot

    axes = [a.column for a in study.axes]
    for name, kind, of in (("map.csv", MapSlot, "slots"), ("row_loads.csv", MapRow, "rows")):
        columns = [f.name for f in fields(kind)]
        with writing(store.root / name) as file:
            table = csv.writer(file, lineterminator="\n")
            table.writerow([*axes, "variant", *columns])
            for variant, life in found:
                own = [inputs_of(v) for v in variant.values]
                for item in getattr(life.map, of) if life.map is not None else ():
                    cells = [getattr(item, c) for c in columns]
                    table.writerow(["" if v is None else v for v in (*own, variant.key, *cells)])


def _scatter(study: Study, found: list[tuple[Variant, VariantLife]]) -> tuple[ScatterLife, ...]:
    assert study.life is not None
    wanted = study.life.wanted
    if wanted.scatter is None or not found:
        return ()
    from ..assess.life_scatter import scatter_lives, sizes_of

    # variants that differ by more than radius and wall share no surface; of a circle the diameter is the radius
    sizes = ("corner_radius_mm", "wall_mm", "diameter_mm", "thickness_mm")
    others = [i for i, a in enumerate(study.axes) if a.key.split(".")[-1] not in sizes]
    return scatter_lives(
        [life for _, life in found],
        [sizes_of(v.part) for v, _ in found],
        [v.material for v, _ in found],
        wanted.finish,
        wanted.scatter,
        [tuple(str(v.values[i]) for i in others) for v, _ in found],
    )


def _rows(life: VariantLife, spread: ScatterLife | None) -> Iterator[dict[str, Any]]:
    for place in life.places:
        yield _place(life, place)
    for row in life.static:
        yield {
            "variant": life.key, "what": "static", "place": row.condition, "safety_factor": row.collapse_least,
            "governs": row.mode, "most_MPa": row.peak_MPa, "verdict": _verdict(row.holds), "message": row.words,
        }  # fmt: skip
    for crack in life.cracks:
        yield _crack(life, crack)
    for weld in life.welds:
        yield {"variant": life.key, **_weld(weld, life.target_h)}
    if spread is not None:
        yield {
            "variant": life.key, "what": "scatter", "place": life.places[0].name, "life_h": spread.p50_h,
            "life_p10_h": spread.p10_h, "life_p90_h": spread.p90_h, "failure_probability": spread.failure,
            "target_h": life.target_h, "governs": spread.inputs[0].name if spread.inputs else "",
            "message": f"response surface {spread.surface}, error {spread.surface_error_pct:.2g} %",
        }  # fmt: skip


def _end_rows(end: EndLife | None, target_h: float, survival: float) -> Iterator[dict[str, Any]]:
    """Of the drum's end, which no axis of the study changes."""
    if end is None:
        return
    yield {
        "what": "drum end", "place": end.place, "life_h": end.life_h, "life_elementary_h": end.life_elementary_h,
        "life_median_h": end.life_median_h, "survival": survival, "target_h": target_h, "safety_factor": end.safety,
        "governs": end.shares[0].name if end.shares else "", "most_MPa": end.peak_MPa,
        "verdict": _verdict(end.life_h is None or end.life_h >= target_h), "message": "; ".join(end.warnings),
    }  # fmt: skip
    for weld in end.welds:
        yield _weld(weld, target_h)


def _weld(weld: WeldSaid, target_h: float) -> dict[str, Any]:
    return {
        "what": "weld", "place": f"{weld.name}: {weld.where}", "life_h": weld.life_h, "survival": 0.977, "target_h": target_h,
        "governs": weld.shares[0].name if weld.shares else "", "most_MPa": weld.range_MPa, "verdict": weld.verdict,
        "message": "; ".join(filter(None, (f"class {weld.fat_MPa:g} MPa, {weld.detail}", weld.words, *weld.warnings))),
    }  # fmt: skip


def _place(life: VariantLife, place: PlaceLife) -> dict[str, Any]:
    return {
        "variant": life.key,
        "what": "base metal",
        "place": place.name,
        "life_h": place.life_h,
        "life_elementary_h": place.life_elementary_h,
        "life_median_h": place.life_median_h,
        "survival": life.survival,
        "target_h": life.target_h,
        "safety_factor": place.safety,
        "governs": place.governs,
        "most_MPa": place.most_MPa,
        "least_MPa": place.least_MPa,
        "slot": place.slot,
        "x_mm": place.x_mm,
        "y_mm": place.y_mm,
        "depth_mm": place.depth_mm,
        "verdict": _verdict(place.life_h is None or place.life_h >= life.target_h),
        "message": place.plastic,
    }


def _crack(life: VariantLife, crack: CrackLife) -> dict[str, Any]:
    grows = [line.name for line in crack.once_a_turn if line.grows]
    return {
        "variant": life.key,
        "what": "crack",
        "place": crack.place,
        "life_h": crack.life_h,
        "target_h": life.target_h,
        "governs": crack.ends_by,
        "depth_mm": crack.critical_mm,
        "inspection_h": crack.interval_h,
        "verdict": _verdict(
            not grows and (crack.life_h is None or crack.life_h >= life.target_h or crack.interval_h is not None)
        ),
        "message": "; ".join([*(f"{line.name} {line.words}" for line in crack.once_a_turn), crack.inspection]),
    }


def _verdict(good: bool) -> str:
    return "holds" if good else "does not hold"
