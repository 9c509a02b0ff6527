"""The life of one variant: its stored unit cases, the duty, the material, brought together."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress
from ..figure import Figure
from ..model.condition import Condition
from ..model.duty import Duty
from ..model.life_input import LifeInput
from ..model.machine import Machine
from ..model.material import Material
from ..model.ring import Ring
from ..paths import CrackPaths
from ..strength.base_metal import RULES, MetalStrength
from ..strength.cycles import Cycles
from ..strength.cyclic import uniform_curve
from ..strength.neuber import local_cycle, residual_after_overload
from ..strength.sn_curve import normal_quantile
from ..strength.strain_life import uniform_strain_life
from ..strength.surface_planes import Events, levels
from .duty_events import duty_events
from .life_cracks import crack_lives
from .life_damage import NORMAL, SHEAR, Counted, Judge, Plane, counted, damage_of, plane_damage
from .life_findley import endurance_figures
from .life_places import EdgeDamage, Named, at_one, edge_damage, name_places, safety_factors
from .life_plan import LifePlan
from .life_result import Cycle, DrumMap, EdgeLine, PlaceLife, RuleLife, StaticRow, VariantLife
from .life_shares import duty_shares
from .life_static import NO_PROOF, static_rows
from .life_welds import ring_welds
from .life_words import NOT_CHECKED, levers, verdict_words
from .place_names import zones
from .solve import Solution

__all__ = ["life", "variant_life"]

Array = NDArray[np.float64]


def variant_life(
    key: str,
    edge: EdgeStress,
    part: Any,
    material: Material,
    machine: Machine | None,
    plan: LifePlan,
    vectors: Mapping[str, Sequence[Sequence[float]]],
    peaks: Mapping[str, float],
    paths: CrackPaths | None = None,
    drum: Callable[[EdgeDamage, Sequence[Named], Mapping[str, Array]], DrumMap] | None = None,
) -> VariantLife:
    """Life, safety and what governs at every named place of a variant's slots.

    edge: its stress per unit case. vectors: load or condition -> factors [3, case] of its steady, cosine and sine part.
    peaks: elastic peak of each that gets a static proof, MPa, signed. paths: stress along the paths of cracks, where the study asks for them. drum: makes the map of all
    slots from the ring's damage, its worst places and the vectors.
    """
    wanted = plan.wanted
    used = tuple(dict.fromkeys(name for row in plan.duty for name in (row.condition, row.back_to) if name))
    speed = None if machine is None else machine.speed_rpm
    events = duty_events(plan.duty, used, speed, lambda row: plan.measured[row.name]).scaled(wanted.load_factor)
    every = {name: np.asarray(v, dtype=float) for name, v in vectors.items()}
    factors = {name: every[name] for name in used}
    found = edge_damage(edge, part, material, plan, events, factors)
    named = name_places(found, part)
    safety = safety_factors(found, named, wanted.target_h)
    places = sorted(
        (_place(found, n, material, float(s)) for n, s in zip(named, safety, strict=True)),
        key=lambda p: (-float(f"{p.damage_per_1000_h:.6g}"), p.name),  # mirrored places in a fixed order
    )
    worst = next(n for n in named if n.name == places[0].name)
    names = tuple(case.name for case in edge.cases)
    static, proof, told = _static(part, material, names, {n: every[n] for n in peaks}, peaks, wanted.load_factor)
    verdict, words = verdict_words(places[0], wanted.target_h, wanted.survival, all(row.holds for row in static))
    scale, median = _over_scale(found, worst)
    strength = found.judge.at(np.array([worst.place])).strength
    return VariantLife(
        key=key,
        target_h=wanted.target_h,
        survival=wanted.survival,
        verdict=verdict,
        words=words,
        places=tuple(places),
        cycles=_cycles(found, worst),
        rules=_rules(found, worst),
        levers=levers(found, worst, material, wanted.finish, places[0]),
        edge=_edge_line(found),
        knee_amplitude_MPa=float(np.asarray(strength.curve.amplitude_MPa).ravel()[0]),
        knee_cycles=strength.curve.knee_cycles,
        slope=strength.curve.slope,
        beyond=wanted.beyond,
        stressed_area_mm2=found.stressed_area_mm2,
        equal_places=found.equal_places,
        damage_stress_MPa=_damage_stress(found, worst),
        scale=scale,
        median_life_h=median,
        static=static,
        cracks=()
        if paths is None or wanted.crack is None
        else crack_lives(found, named, part, paths, wanted.crack, factors),
        welds=ring_welds(part, wanted.welds, names, list(factors.values()), events, wanted.target_h),
        map=None if drum is None else drum(found, named, every),
        figures=(*found.judge.strength.figures, *endurance_figures(*_at_worst(found, worst)), *proof),
        notes=(*_notes(found, plan), *found.judge.strength.notes, *told),
        warnings=found.judge.strength.warnings,
        not_checked=NOT_CHECKED,
    )


def life(
    solution: Solution, duty: Sequence[Duty], wanted: LifeInput, *, machine: Machine | None = None,
    measured: Mapping[str, Cycles] | None = None,
) -> VariantLife:  # fmt: skip
    """The life of a solved part. Rows of the duty name its loads or conditions.

    solution: from solve_all. measured: counted cycles of rows with a history, by the row's name. Raises InputFault.

    >>> import femdrum as fd
    >>> plate = fd.Plate(length_mm=400, width_mm=100, thickness_mm=10, cutout=fd.Circle(diameter_mm=20))
    >>> solved = fd.solve_all(plate, [fd.Tension(stress_MPa=60)], fd.steel("S355", 10.0))
    >>> milled = fd.LifeInput(target_h=10_000, finish=fd.Finish(process="milled"))
    >>> found = fd.life(solved, [fd.Duty(condition="tension", per_1000_h=1e5)], milled)
    >>> f"{found.life_h:.1e} h, {found.verdict}"
    '6.6e+06 h, holds'
    """
    from ..errors import Fault, InputFault, nearest

    first = solution.answers[0]
    known = [a.load.name for a in solution.answers]
    faults = [
        Fault(f"duty {row.name!r}", name, "names no load or condition of the solution", nearest(name, known))
        for row in duty
        for name in (row.condition, row.back_to)
        if name and name not in known
    ]
    if solution.edge is None:
        faults.append(Fault("part.cutout.corner_radius_mm", 0, "gives no life: a sharp corner has no finite peak"))
    if faults or solution.edge is None:
        raise InputFault(faults)
    some = [a for a in solution.answers if isinstance(a.load, Condition)] or list(solution.answers)
    return variant_life(
        "", solution.edge, first.part, first.material, machine, LifePlan(wanted, tuple(duty), measured or {}),
        {a.load.name: a.turning for a in solution.answers}, {a.load.name: float(a.peak) for a in some},
        solution.crack_paths() if wanted.crack is not None and isinstance(first.part, Ring) else None,
    )  # fmt: skip


def _static(
    part: Any, material: Material, names: tuple[str, ...], factors: Mapping[str, Array], peaks: Mapping[str, float],
    load_factor: float,
) -> tuple[tuple[StaticRow, ...], tuple[Figure, ...], tuple[str, ...]]:  # fmt: skip
    if isinstance(part, Ring):
        return static_rows(part, material, names, factors, peaks, load_factor)
    return (), (), (NO_PROOF,)


def _hours(damage_per_1000_h: float) -> float | None:
    return 1000.0 / damage_per_1000_h if damage_per_1000_h > 0.0 else None


def _place(found: EdgeDamage, named: Named, material: Material, safety: float) -> PlaceLife:
    judge, states, plane = at_one(found, named)
    cycles = counted(judge, states, found.events, plane)
    damage = damage_of(judge, cycles)[:, 0]
    plain = damage_of(judge.with_rules(beyond="elementary"), cycles)[:, 0]
    high, low = levels(states, found.events, replace(plane, shear=False).weights()[0])
    most, least = max(float(high.max()), 0.0), min(float(low.min()), 0.0)
    residual, words, extra = _plastic(judge, cycles, material, most, least, named.shear)
    if residual > 0.0:  # tension left by a compressive overload joins the mean of every later cycle
        hurt = replace(
            judge, strength=replace(judge.strength, residual_stress_MPa=judge.strength.residual_stress_MPa + residual)
        )
        damage, plain = damage_of(hurt, cycles)[:, 0], damage_of(hurt.with_rules(beyond="elementary"), cycles)[:, 0]
    if extra is not None:
        damage, plain = np.maximum(damage, extra), np.maximum(plain, extra)
    total = float(damage.sum())
    # the factor was found without yielding: what that adds to the damage takes from it at the curve's slope
    if total > named.damage > 0.0:
        safety *= (named.damage / total) ** (1.0 / judge.strength.curve.slope)
    s_index, d_index = (int(k) for k in np.unravel_index(named.place, found.damage.shape)[1:])
    slot = int(np.unravel_index(named.place, found.damage.shape)[0])
    x, y, depth = (float(v) for v in found.edge.place_mm[s_index, d_index])
    curve = judge.strength.curve
    to_median = 10.0 ** (curve.scatter * float(normal_quantile(curve.survival)))
    life = _hours(total)
    return PlaceLife(
        name=named.name,
        slot=slot,
        s_mm=float(found.edge.s_mm[s_index]),
        x_mm=x,
        y_mm=y,
        depth_mm=depth,
        criterion=SHEAR if named.shear else NORMAL,
        direction_deg=math.degrees(float(named.plane.angle_rad[0])),
        damage_per_1000_h=total,
        life_h=life,
        life_elementary_h=_hours(float(plain.sum())),
        life_median_h=None if life is None else life * to_median,
        safety=safety if math.isfinite(safety) else None,
        shares=duty_shares(cycles.pairs, found.events.name, damage),
        most_MPa=most,
        least_MPa=least,
        residual_MPa=residual,
        plastic=words,
    )


def _plastic(
    judge: Judge, cycles: Counted, material: Material, most: float, least: float, shear: bool
) -> tuple[float, str, Array | None]:
    """Residual stress that overloads leave to later cycles, what yielding means in words, and damage [pair] by strain life.

    The elastic stress passes yield: Neuber's rule on the cyclic curve for both ends, strain life for the cycles that yield
    themselves. Compression that a tensile overload leaves is not credited.
    """
    limit = material.yield_MPa or math.inf
    if max(most, -least) <= limit:
        return 0.0, "", None
    curve = uniform_curve(material)
    left = {
        name: float(residual_after_overload(value, curve)) for name, value in (("up", most), ("down", least)) if value
    }
    residual = max(left.get("down", 0.0), 0.0)
    span = most - least
    settles = span <= 2 * limit
    words = f"elastic stress {most:.0f} / {least:.0f} MPa passes yield, {limit:.0f} MPa: " + (
        f"the range {span:.0f} is within twice yield, so it settles to elastic cycles (shakedown)"
        if settles
        else f"the range {span:.0f} passes twice yield, so the corner yields to and fro in every such cycle: strain life counts"
    )
    if left.get("up", 0.0) < 0.0:
        words += f"; a tensile overload leaves {left['up']:.0f} MPa, not credited"
    if residual > 0.0:
        words += f"; a compressive one leaves +{residual:.0f} MPa, counted in the mean of all cycles"
    if shear:
        return residual, words, None
    amplitude, mean, count = (v[:, 0] for v in (cycles.amplitude_MPa, cycles.mean_MPa, cycles.pairs.count))
    yields = (amplitude > 0.0) & (np.maximum(mean + amplitude, amplitude - mean) > limit) & (count > 0.0)
    extra = np.zeros(amplitude.size)
    if yields.any():
        local = local_cycle((mean + amplitude)[yields], (mean - amplitude)[yields], curve)
        scatter = judge.strength.curve.scatter
        to_survival = 10.0 ** (-scatter * float(normal_quantile(judge.strength.curve.survival)))
        lives = uniform_strain_life(material).life_of(local) * to_survival
        extra[yields] = np.where(lives > 0.0, count[yields] / np.where(lives > 0.0, lives, 1.0), math.inf)
    return residual, words, extra


def _cycles(found: EdgeDamage, named: Named) -> tuple[Cycle, ...]:
    judge, states, plane = at_one(found, named)
    cycles = counted(judge, states, found.events, plane)
    amplitude, mean = cycles.amplitude_MPa, cycles.mean_MPa
    equal = judge.strength.equivalent_amplitude(amplitude, mean, judge.rule)
    life = judge.strength.curve.life(equal, judge.beyond)
    damage = damage_of(judge, cycles)
    out = []
    for k in range(amplitude.shape[0]):
        count = float(cycles.pairs.count[k, 0])
        if count <= 1e-9 or amplitude[k, 0] <= 0.0:
            continue
        n = float(life[k, 0])
        out.append(
            Cycle(
                peak=found.events.name[int(cycles.pairs.peak[k, 0])],
                valley=found.events.name[int(cycles.pairs.valley[k, 0])],
                amplitude_MPa=float(amplitude[k, 0]),
                mean_MPa=float(mean[k, 0]),
                per_1000_h=count,
                equivalent_MPa=float(equal[k, 0]),
                cycles=n if math.isfinite(n) else None,
                damage_per_1000_h=float(damage[k, 0]),
            )
        )
    return tuple(sorted(out, key=lambda c: -c.damage_per_1000_h))


def _rules(found: EdgeDamage, named: Named) -> tuple[RuleLife, ...]:
    judge, states, plane = at_one(found, named)
    cycles = counted(judge, states, found.events, plane)
    return tuple(
        RuleLife(rule, _hours(float(damage_of(judge.with_rules(rule=rule), cycles).sum())))
        for rule in dict.fromkeys((judge.rule, *RULES))
    )


def _at_worst(found: EdgeDamage, named: Named) -> tuple[MetalStrength, Array, Events]:
    judge, states, _ = at_one(found, named)
    return judge.strength, states, found.events


def _damage_stress(found: EdgeDamage, named: Named) -> float:
    """Fully reversed amplitude that does the duty's damage in the cycles of the knee, along the line without a knee, MPa."""
    judge, states, plane = at_one(found, named)
    plain = judge.with_rules(beyond="elementary")
    damage = float(plane_damage(plain, states, found.events, plane)[0])
    curve = plain.strength.curve
    return float(np.asarray(curve.amplitude_MPa).ravel()[0] * damage ** (1.0 / curve.slope))


def _over_scale(found: EdgeDamage, named: Named) -> tuple[tuple[float, ...], tuple[float | None, ...]]:
    """Life of half of the drums if all stresses were so many times as large."""
    judge, states, plane = at_one(found, named)
    middle = replace(judge, strength=judge.strength.at_survival(0.5))
    scale = np.geomspace(0.1, 10.0, 81)
    many = np.repeat(states, scale.size, axis=2)
    wide = Plane(np.repeat(plane.angle_rad, scale.size), np.repeat(plane.tilt_rad, scale.size), plane.shear)
    damage = plane_damage(middle, many, found.events, wide, scale)
    return tuple(map(float, scale)), tuple(_hours(float(d)) if math.isfinite(d) else 0.0 for d in damage)


def _edge_line(found: EdgeDamage) -> EdgeLine:
    slot = found.worst[0]
    zone = zones(found.edge)
    field = found.damage[slot]

    def line(number: int) -> tuple[float, ...]:
        some = field[:, zone == number]
        return tuple(float(v) for v in some.max(1)) if some.size else ()

    return EdgeLine(slot, tuple(float(s) for s in found.edge.s_mm), line(1), line(2), line(3))


def _notes(found: EdgeDamage, plan: LifePlan) -> tuple[str, ...]:
    out = [
        "every slot of the drum is taken to see what the worst slot of the model sees: an occurrence counts for the slot that it strikes",
        "peaks and valleys of all rows are paired in the worst order, the highest with the lowest first: no cycle between two rows is hidden",
        "what stands still in space runs through its whole swing at any event, so an event meets its worst angle",
        "at the rims the stress is uniaxial; elsewhere the worst of all planes counts, by normal stress and by shear with normal stress (after Fatemi and Socie)",
    ]
    if plan.wanted.load_factor != 1.0:
        out.append(f"all stresses are multiplied by {plan.wanted.load_factor:g}, for loads that nobody has measured")
    else:
        out.append("no factor for unmeasured loads is applied; 1.35 to 1.5 is common practice, no source")
    turning = [row for row in plan.duty if row.cycle == "rotating"]
    for row in turning:
        own = np.array([name == row.name for name in found.events.name])
        first = np.flatnonzero(own)[0]
        state = int(np.flatnonzero(found.events.first[first])[0])
        if not np.any(found.states[state, 1:]):
            out.append(
                f"\u201c{row.name}\u201d: nothing in this condition stands still in space, so turning makes no cycle"
            )
    return tuple(out)
