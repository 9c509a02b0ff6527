"""What a page needs to move a stored life: the events of the duty, and how loads move the places that may govern, each on its plane.

The duty is read again from the study's text, with its recordings from beside the results folder; it counts only if its key is
that of the stored lives. Without it only the stored course of life over a common factor on all stresses is left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..assess.duty_events import duty_events
from ..assess.life_damage import SHEAR, Judge, Plane, counted, damage_of, opening_share, plane_damage
from ..assess.life_plan import LifePlan
from ..assess.life_result import PlaceLife, VariantLife
from ..edge import EdgeStress
from ..errors import FemdrumError
from ..strength.base_metal import metal_strength
from ..strength.mean_stress import mean_sensitivity
from ..strength.surface_planes import Events
from ..study import Results, StoredVariant, study_from_text
from ..study.life_stage import plan_key
from .try_loads import Mix, own_variant

__all__ = ["COMMON_WORDS", "COUNTED_WORDS", "MOST_PLACES", "life_data"]

Array = NDArray[np.float64]

MOST_PLACES = 10
CLOSE = 1e-3  # relative: what the damage found anew at the worst place may miss the stored one by
MOST_TILT_RAD, TILTS = math.radians(60.0), 61
COUNTED_WORDS = (
    f"Life: at the {MOST_PLACES} places of the shortest life (fewer where there are no more), each on the plane that is worst in the "
    "study, the cycles of the whole duty are paired and counted anew with the loads as moved; the shortest is shown. Other places "
    "and planes may govern under another mix, strengths are the study's, and yielding is not followed: after a large move "
    "it is an estimate."
)
COMMON_WORDS = (
    "Life: that of the study's duty with every stress as many times as large as \u201call loads\u201d says; where loads move apart it is "
    "not known here. It would be with the duty's recordings beside the results folder."
)


def life_data(
    results: Results, variant: StoredVariant, edge: EdgeStress, mixes: Sequence[Mix]
) -> dict[str, Any] | None:
    """Plain values for the page; None where the variant has no life. `count` is None where only a common factor is known."""
    life = variant.life
    if life is None or not life.places or not life.scale:
        return None
    logs = [None if h is None else math.log10(max(h, 1e-9)) for h in life.median_life_h]
    middle = int(np.argmin(np.abs(np.log(life.scale))))
    own, median = life.life_h, life.median_life_h[middle]
    shift = 0.0 if not own or not median else math.log10(own) - math.log10(median)
    return {
        "scale": [math.log10(s) for s in life.scale],
        "log": logs,
        "shift": shift,
        "place": life.places[0].name,
        "count": _count(results, variant, life, edge, mixes),
    }


@lru_cache(maxsize=4)
def _plan(source: str, name: str, folder: str, key: str) -> LifePlan | None:
    try:
        plan = study_from_text(source, name=name, folder=folder).life
    except FemdrumError:
        return None
    return plan if plan is not None and plan_key(plan) == key else None


def _count(
    results: Results, variant: StoredVariant, life: VariantLife, edge: EdgeStress, mixes: Sequence[Mix]
) -> dict[str, Any] | None:
    plan = _plan(results.source, results.name, str(results.folder.absolute().parent), variant.plan)
    own = own_variant(results, variant)
    if plan is None or own is None or plan.wanted.rule != "fkm":
        return None
    used = tuple(dict.fromkeys(n for row in plan.duty for n in (row.condition, row.back_to) if n))
    known = {m.name: m for m in mixes}
    if any(n not in known or known[n].standing or not known[n].loads for n in used):
        return None
    speed = None if own.machine is None else own.machine.speed_rpm
    events = duty_events(plan.duty, used, speed, lambda row: plan.measured[row.name]).scaled(plan.wanted.load_factor)
    try:
        bare = metal_strength(
            own.material, plan.wanted.finish, gradient_per_mm=0.0, stressed_area_mm2=1.0, equal_places=1, size="none"
        )  # fmt: skip
    except FemdrumError:
        return None
    curve = replace(bare.curve, amplitude_MPa=life.knee_amplitude_MPa, knee_cycles=life.knee_cycles)
    judge = Judge(replace(bare, curve=curve), plan.wanted.rule, plan.wanted.beyond)
    places = []
    for number, place in enumerate(life.places[:MOST_PLACES]):
        unit = _at_place(edge, place)
        states = np.stack([known[n].at([p.start for p in known[n].loads]) @ unit for n in used])[:, :, None, :]
        found = _plane(judge, states, events, place)
        fitted = judge if number == 0 else _fitted(judge, states, events, found, place)
        if fitted is None:
            continue
        damage = float(plane_damage(fitted, states, events, found)[0])
        stored = sum(c.damage_per_1000_h for c in life.cycles)
        if number == 0 and abs(damage - stored) > CLOSE * stored:
            return None  # the plane or the strength is not the one that the life was reckoned with
        weights, beside = found.weights()
        places.append(
            {
                "name": place.name,
                "own": None if place.life_h is None else math.log10(place.life_h),
                "knee": float(np.asarray(fitted.strength.curve.amplitude_MPa)),
                "shear": found.shear,
                "states": [
                    [
                        {"name": p.name, "by": [_along(p, unit, weights), _along(p, unit, weights if beside is None else beside)]}
                        for p in known[n].loads
                    ]
                    for n in used
                ],
            }
        )  # fmt: skip
    skin = bare.skin_ultimate_MPa
    metals = [bare.ultimate_MPa, *([] if skin is None else [skin])]
    turning = {row.name for row in plan.duty if row.cycle == "rotating" and not row.speed_rpm}
    return {
        "places": places,
        "first": events.first.tolist(),
        "second": events.second.tolist(),
        "count": events.per_1000_h.tolist(),
        "turns": [name in turning for name in events.name],
        "metals": [{"ultimate": u, "m": min(float(mean_sensitivity(u)), 0.999)} for u in metals],
        "residual": bare.residual_stress_MPa,
        "yield": bare.yield_MPa,
        "opening": opening_share(bare),
        "kneeCycles": life.knee_cycles,
        "slopes": [life.slope, {"haibach": 2 * life.slope - 1, "elementary": life.slope}[life.beyond]],
    }


def _along(load: Any, unit: Array, weights: Array) -> list[float]:
    return [float(f"{x:.10g}") for x in load.vectors @ unit @ weights[0]]


def _at_place(edge: EdgeStress, place: PlaceLife) -> Array:
    """Along, across, shear and normal stress per unit case [case, 4] at one place."""
    s = int(np.argmin(np.abs(edge.s_mm - place.s_mm)))
    xyz = (place.x_mm, place.y_mm, place.depth_mm)
    # rims stand twice, with the same stress along the edge; the wall's own is taken
    d = int(np.argmin(np.linalg.norm(edge.place_mm[s] - xyz, axis=1) + 1e-9 * (edge.offset_mm != 0.0)))
    return np.hstack([edge.stress[:, place.slot, s, d], -edge.pressure[:, place.slot, s, d, None]])


def _plane(judge: Judge, states: Array, events: Events, place: PlaceLife) -> Plane:
    """The stored plane; of shear its tilt, which is not stored, is looked for again."""
    angle = math.radians(place.direction_deg)
    tilt, width = 0.0, MOST_TILT_RAD
    if place.criterion == SHEAR:
        for _ in range(4):
            tried = np.append(tilt + width * np.linspace(-1.0, 1.0, TILTS), 0.0)
            many = Plane(np.full(tried.size, angle), tried, True)
            damage = plane_damage(judge, np.repeat(states, tried.size, axis=2), events, many)
            tilt, width = float(tried[np.argmax(damage)]), 2.0 * width / (TILTS - 1)
    return Plane(np.array([angle]), np.array([tilt]), place.criterion == SHEAR)


def _fitted(judge: Judge, states: Array, events: Events, plane: Plane, place: PlaceLife) -> Judge | None:
    """The rules with the strength at which the place has its stored damage; None where nothing cycles there."""
    wanted = place.damage_per_1000_h
    if wanted <= 0.0:
        return None
    cycles = counted(judge, states, events, plane)
    if abs(float(damage_of(judge, cycles).sum()) - wanted) <= CLOSE * wanted:
        return judge
    start = float(np.asarray(judge.strength.curve.amplitude_MPa))
    low, high = 0.1 * start, 10.0 * start

    def at(knee: float) -> Judge:
        return replace(judge, strength=replace(judge.strength, curve=replace(judge.strength.curve, amplitude_MPa=knee)))

    for _ in range(60):
        middle = math.sqrt(low * high)
        more = float(damage_of(at(middle), cycles).sum()) > wanted
        low, high = (middle, high) if more else (low, middle)
    return at(math.sqrt(low * high))
