"""The drum's end under the duty: the stub's fillet as base metal on its worst plane, and the welds by their classes.

Thrust, torque and rotation are the same all around; bending and shear stand in space, so they run around the end once a turn:
every place sees their whole swing. So one plane of the section stands for all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..fem.end_solve import CASES
from ..fem.harmonic_edge import CurveStress
from ..model.accuracy import Accuracy
from ..model.end_input import EndInput
from ..model.material import Material
from ..model.weld import WeldDetail
from ..quantity import Verdict
from ..strength.base_metal import metal_strength
from ..strength.size import EXPONENT
from ..strength.sn_curve import normal_quantile
from ..strength.support import gradient_of_radius
from ..strength.surface_planes import Events
from .drum_end import EndResult, factors_of, solve_drum_ends
from .duty_events import duty_events
from .life_damage import Judge, Plane, bearable_factor, counted, damage_of, plane_damage, worst_planes
from .life_plan import LifePlan
from .life_result import EndLife, WeldSaid
from .life_shares import duty_shares
from .life_welds import judged, with_verdict
from .life_words import hours

__all__ = ["end_life", "end_states"]

Array = NDArray[np.float64]

_ENDS = 2  # of a drum, taken as equal
_TRIED = 12


def end_life(
    plan: LifePlan, given: EndInput, material: Material, speed_rpm: float | None, accuracy: Accuracy
) -> EndLife:
    """Solve the drum's end for all states of the duty and reckon its life. Raises InputFault, SolveFailure."""
    used = tuple(dict.fromkeys(name for row in plan.duty for name in (row.condition, row.back_to) if name))
    states = {s.condition: s.loads for s in given.states}
    loads = {name: one for name in used if (one := states[name]) is not None}
    solved = solve_drum_ends(given.end, loads, material, accuracy)
    events = duty_events(plan.duty, used, speed_rpm, lambda row: plan.measured[row.name])
    events = events.scaled(plan.wanted.load_factor)
    factors = {name: factors_of(loads[name]) if name in loads else np.zeros(len(CASES)) for name in used}
    worst = max(solved.values(), key=lambda r: abs(float(r.peak)))
    judge, field, curve = _fillet(plan, given, material, worst, list(factors.values()), events)
    damage, plane, shear = worst_planes(judge, field, events, np.zeros(field.shape[2], dtype=np.intp), _TRIED)
    at = int(np.argmax(damage))
    welds = _welds(plan.wanted.welds, worst, list(factors.values()), events)
    return _said(
        plan, given, worst, welds, (judge, field, curve), events, (at, plane, bool(shear[at]), float(damage[at]))
    )


def end_states(unit: Array, harmonic: Array, factors: Sequence[Array]) -> Array:
    """States [state, 3, place, 4] from stress per unit of each case [case, place, 3] and factors [case] of each state."""
    even, odd = (harmonic == 0), (harmonic == 1)
    out = np.zeros((len(factors), 3, unit.shape[1], 4))
    for k, f in enumerate(factors):
        out[k, 0, :, :3] = np.tensordot(np.where(even, f, 0.0), unit, 1)
        turning = np.tensordot(np.where(odd, f, 0.0), unit, 1)
        out[k, 1, :, :2] = turning[:, :2]
        out[k, 2, :, 2] = turning[:, 2]
    return out


def _fillet(
    plan: LifePlan, given: EndInput, material: Material, worst: EndResult, factors: Sequence[Array], events: Events
) -> tuple[Judge, Array, CurveStress]:
    """Rules with the strength of the fillet, and the states at its places; the size from its own field on both ends."""
    curve = worst.solution.curves["fillet"]
    field = end_states(curve.stress, curve.harmonic, factors)
    gradient = float(gradient_of_radius(given.end.fillet_radius_mm))
    asked = {"gradient_per_mm": gradient, "survival": plan.wanted.survival}
    bare = metal_strength(material, given.finish, stressed_area_mm2=1.0, equal_places=1, size="none", **asked)
    zero = np.zeros(field.shape[2])
    seen = plane_damage(Judge(bare, plan.wanted.rule, "elementary"), field, events, Plane(zero, zero, False))
    around = 2 * math.pi * curve.place_mm[:, 0] * np.gradient(curve.s_mm)
    top = float(seen.max())
    area = float((around * (seen / top) ** (EXPONENT / bare.curve.slope)).sum()) if top > 0.0 else float(around.sum())
    strength = metal_strength(material, given.finish, stressed_area_mm2=area, equal_places=_ENDS, size="area", **asked)
    return Judge(strength, plan.wanted.rule, plan.wanted.beyond), field, curve


def _welds(
    details: Sequence[WeldDetail], worst: EndResult, factors: Sequence[Array], events: Events
) -> tuple[WeldSaid, ...]:
    out = []
    for detail in details:
        if detail.place != "drum end":
            continue
        found = [
            judged(detail, where, end_states(unit, harmonic, factors), events)
            for where, unit, harmonic in _readings(detail, worst)
        ]
        if found:
            # the toe of the shortest life; of endless ones that of the largest range
            out.append(min(found, key=lambda w: (math.inf if w.life_h is None else w.life_h, -w.range_MPa)))
    return tuple(out)


def _readings(detail: WeldDetail, worst: EndResult) -> list[tuple[str, Array, Array]]:
    """What the method reads: name, stress per unit of each case [case, 1, 3], harmonic of each case."""
    harmonic = worst.solution.curves["fillet"].harmonic
    if detail.method == "nominal":
        return [(f"throat {t.side}", t.unit_MPa[:, None], harmonic) for t in worst.throats]
    if detail.method == "effective notch":
        out = []
        for name, curve in worst.solution.curves.items():
            if " toe " in name:
                size = np.abs(curve.stress[..., 0]).max(0)
                best = int(np.argmax(np.where(curve.watched, size, -1.0)))
                out.append((f"{name}, rounded", curve.stress[:, best : best + 1], curve.harmonic))
        return out
    readings = []
    for line in worst.lines:
        if line.readings:
            # with a pronounced rise the quadratic reading is the closer one
            kind = max(line.readings, key=lambda k: abs(float(line.readings[k].largest)))
            unit = np.zeros((len(harmonic), 1, 3))
            unit[:, 0, 0] = line.readings[kind].unit_MPa
            read = ", ".join(f"{d:.3g}" for d in line.readings[kind].distances_mm)
            readings.append((f"toe {line.name}, hot spot ({kind}, read at {read} mm)", unit, harmonic))
    return readings


def _said(
    plan: LifePlan, given: EndInput, worst: EndResult, welds: tuple[WeldSaid, ...],
    metal: tuple[Judge, Array, CurveStress], events: Events, found: tuple[int, Plane, bool, float],
) -> EndLife:  # fmt: skip
    judge, field, curve = metal
    at, planes, shear, damage = found
    own = field[:, :, at : at + 1]
    plane = Plane(planes.angle_rad[at : at + 1], planes.tilt_rad[at : at + 1], shear)
    cycles = counted(judge, own, events, plane)
    parts = damage_of(judge, cycles)[:, 0]
    plain = float(damage_of(judge.with_rules(beyond="elementary"), cycles).sum())
    target = plan.wanted.target_h
    life = 1000.0 / damage if damage > 0.0 else None
    safety = float(bearable_factor(judge, own, events, plane, target)[0])
    rows = duty_shares(cycles.pairs, events.name, parts)
    judged_welds = tuple(with_verdict(weld, target) for weld in welds)
    holds = (life is None or life >= target) and all(weld.verdict == "holds" for weld in judged_welds)
    scatter = judge.strength.curve
    words = (
        f"The stub's fillet: {100 * plan.wanted.survival:.4g} % of drums live longer than {hours(life)}, {hours(target)} are wanted"
        + (
            f"; \u201c{rows[0].name}\u201d does {100 * rows[0].fraction:.0f} % of the damage."
            if rows
            else "; nothing cycles there."
        )
    )
    for weld in judged_welds:
        words += f" Weld {weld.name}: {hours(weld.life_h)} at 97.7 % survival."
    place = curve.place_mm[at]
    limit = judge.strength.yield_MPa or math.inf
    peak = float(worst.peak)
    warnings = [*judge.strength.warnings]
    if abs(peak) > limit:
        warnings.append(
            f"the elastic peak of the stub's fillet, {peak:.0f} MPa, passes yield, {limit:.0f} MPa: a stub must not yield"
        )
    return EndLife(
        words=words,
        verdict="holds" if holds else "does not hold",
        peak_MPa=peak,
        band_MPa=float(worst.peak.band or 0.0),
        settled=all(r is Verdict.SETTLED for r in (worst.verdict,)),
        life_h=life,
        life_elementary_h=1000.0 / plain if plain > 0.0 else None,
        life_median_h=None
        if life is None
        else life * 10.0 ** (scatter.scatter * float(normal_quantile(scatter.survival))),
        safety=safety if safety < 999.0 else None,
        place=f"stub's fillet, r {place[0]:.1f} mm, z {place[1]:.1f} mm",
        shares=rows,
        kt=tuple((p.load, str(p.kt)) for p in worst.alone if p.kt.value is not None),
        welds=judged_welds,
        figures=(*worst.figures, *judge.strength.figures),
        comparisons=tuple(
            f"{c.quantity}: ours {_number(c.ours)}, {_number(c.value)}; {c.source}. {c.note}".strip()
            for c in worst.comparisons
        ),
        notes=(
            "both ends of the drum are taken as equal, and as driven like the worse of them",
            *worst.notes,
            *judge.strength.notes,
        ),
        warnings=tuple(warnings),
    )


def _number(value: float | None) -> str:
    return "no number" if value is None else f"{value:.4g}"
