"""Life of base metal at every named place of the slots of one variant."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress
from ..model.material import Material
from ..strength.base_metal import MetalStrength, metal_strength
from ..strength.size import EXPONENT
from ..strength.surface_planes import Events
from .duty_events import turning_states
from .life_damage import Judge, Plane, bearable_factor, first_look, ranges, rim_damage, worst_planes
from .life_plan import LifePlan
from .place_names import ZONES, along_names, zones

__all__ = ["EdgeDamage", "Named", "at_one", "edge_damage", "name_places", "safety_factors", "strength_of"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

_TRIED = 24  # places of one name that get the full sweep of planes
_NEAR = 0.02  # of the damage of the first look: shear may do so much more than it saw


@dataclass(frozen=True)
class EdgeDamage:
    """The damage of a duty on the edges of a part.

    states [state, 3, place, 4], with places flattened from [slot, s, d]; damage [slot, s, d] in 1,000 h, by the first look
    and, at rims, by the stress along the edge. judge: rules and strength at every place.
    stressed_area_mm2: of one slot, by the weakest link; equal_places: how many places like the worst the drum has;
    slots_total: slots on the drum.
    """

    edge: EdgeStress
    states: Array
    events: Events
    judge: Judge
    damage: Array
    stressed_area_mm2: float
    equal_places: float
    slots_total: int

    @property
    def worst(self) -> tuple[int, int, int]:
        """Slot, s and depth of the largest damage."""
        at = np.unravel_index(int(np.argmax(self.damage)), self.damage.shape)
        return int(at[0]), int(at[1]), int(at[2])


@dataclass(frozen=True)
class Named:
    """The worst place of one name: its index among the flattened places, its plane, and the damage there in 1,000 h."""

    name: str
    place: int
    plane: Plane
    shear: bool
    damage: float


def edge_damage(
    edge: EdgeStress,
    part: Any,
    material: Material,
    plan: LifePlan,
    events: Events,
    vectors: Mapping[str, Array],
) -> EdgeDamage:
    """The damage of all places. The strength follows from the field: gradient at the rims, stressed area of all slots.

    vectors: factors [3, case] of each state of the events, in their order. Loads that strike one slot are struck at each slot in turn, so every slot of
    the drum is taken to see what the worst slot of the model sees.
    """
    wanted = plan.wanted
    shape = edge.stress.shape[1:4]
    stress, pressure = edge.stress.reshape(len(edge.cases), -1, 3), edge.pressure.reshape(len(edge.cases), -1)
    states = turning_states(stress, pressure, vectors)
    slots = 1 if part.kind != "ring" else part.slots_around * int(wanted.rows_total or 1)
    gradient = np.broadcast_to(_gradient(edge, states, events, shape), shape).reshape(-1)
    bare = strength_of(plan, material, gradient, 1.0, 1, "none")
    rough = Judge(bare, wanted.rule, "elementary")
    rims = np.isin(zones(edge), (1, 3))
    on_rim = np.broadcast_to(rims, shape).reshape(-1)
    damage = np.zeros(on_rim.size)
    damage[on_rim] = rim_damage(rough.at(np.flatnonzero(on_rim)), states[:, :, on_rim], events)
    if not on_rim.all():
        damage[~on_rim] = first_look(rough.at(np.flatnonzero(~on_rim)), states[:, :, ~on_rim], events)
    field = damage.reshape(shape)
    area, places = _stressed(edge, field, bare.curve.slope, slots)
    judge = Judge(_sized(plan, material, gradient, area, places, slots), wanted.rule, wanted.beyond)
    final = np.zeros_like(damage)
    final[on_rim] = rim_damage(judge.at(np.flatnonzero(on_rim)), states[:, :, on_rim], events)
    if not on_rim.all():
        final[~on_rim] = first_look(judge.at(np.flatnonzero(~on_rim)), states[:, :, ~on_rim], events)
    return EdgeDamage(edge, states, events, judge, final.reshape(shape), area, places, slots)


def name_places(found: EdgeDamage, part: Any) -> list[Named]:
    """The worst place of each name, the worst first; off the rims on the worst plane."""
    names, zone = along_names(found.edge, part), zones(found.edge)
    which = {name: i for i, name in enumerate(dict.fromkeys(names))}
    along = np.array([which[name] for name in names])
    group = np.broadcast_to(along[:, None] * len(ZONES) + zone, found.damage.shape).reshape(-1)
    flat = found.damage.reshape(-1)
    tried: list[tuple[int, Index]] = []
    on_rim: list[tuple[int, Index]] = []
    for g in np.unique(group):
        members = np.flatnonzero(group == g)
        best = members[np.argsort(-flat[members], kind="stable")]
        uniaxial = g % len(ZONES) in (1, 3)
        some = best[:1] if uniaxial else best[:_TRIED][flat[best[:_TRIED]] >= _NEAR * flat[best[0]]]
        (on_rim if uniaxial else tried).append((int(g), some))
    labels = list(which)

    def name(g: int) -> str:
        where = labels[g // len(ZONES)]
        return where if found.edge.depth_mm.size == 1 else f"{where}, {ZONES[g % len(ZONES)]}"

    out = [
        Named(name(g), int(at[0]), Plane(np.zeros(1), np.zeros(1), False), False, float(flat[at[0]]))
        for g, at in on_rim
    ]
    if tried:
        every = np.concatenate([at for _, at in tried])
        members = np.concatenate([np.full(at.size, g) for g, at in tried])
        damage, plane, shear = worst_planes(found.judge.at(every), found.states[:, :, every], found.events, members)
        start = 0
        for g, at in tried:
            top = start + int(np.argmax(damage[start : start + at.size]))
            own = Plane(plane.angle_rad[top : top + 1], plane.tilt_rad[top : top + 1], bool(shear[top]))
            out.append(Named(name(g), int(every[top]), own, bool(shear[top]), float(damage[top])))
            start += at.size
    return sorted(out, key=lambda n: -n.damage)


def strength_of(
    plan: LifePlan, material: Material, gradient: Array, area_mm2: float, places: int, size: str
) -> MetalStrength:
    """Strength at the survival that was asked; of N places that count as places each has to survive more surely."""
    survival = plan.wanted.survival ** (1.0 / places) if size == "places" else plan.wanted.survival
    return metal_strength(
        material, plan.wanted.finish, gradient_per_mm=gradient, stressed_area_mm2=area_mm2, equal_places=places,
        size=size, survival=min(survival, 1 - 1e-12),
    )  # fmt: skip


def _sized(
    plan: LifePlan, material: Material, gradient: Array, area: float, places: float, slots: int
) -> MetalStrength:
    if plan.wanted.size == "area":
        return strength_of(plan, material, gradient, area, slots, "area")
    count = max(1, round(places))
    return strength_of(plan, material, gradient, area * slots / count, count, "places")


def _gradient(edge: EdgeStress, states: Array, events: Events, shape: tuple[int, ...]) -> Array:
    """|ds/dn| / s square to the wall [1, s, d], 1/mm: read behind both rims, between them linear over the depth; 0 elsewhere.

    Of the stress along the edge, in the events' largest range there.
    """
    zone = zones(edge)
    if edge.depth_mm.size == 1:
        return np.zeros((1, 1, 1))
    plane = Plane(np.zeros(states.shape[2]), np.zeros(states.shape[2]), False)
    reach = ranges(states, events, plane).reshape(shape).max(0)  # [s, d]
    wall = np.flatnonzero((zone >= 1) & (zone <= 3))
    rims = wall[0], wall[-1]
    falls = []
    for rim, step in ((rims[0], -1), (rims[1], 1)):
        one, two = rim + step, rim + 2 * step
        d1, d2 = edge.offset_mm[one], edge.offset_mm[two]
        f0, f1, f2 = (reach[:, k] for k in (rim, one, two))
        # slope at the rim of the parabola through three places
        slope = (-(d2**2 - d1**2) * f0 + d2**2 * f1 - d1**2 * f2) / (d1 * d2 * (d2 - d1))
        falls.append(np.maximum(-slope, 0.0) / np.maximum(f0, 1e-12 * max(float(reach.max()), 1e-300)))
    share = (edge.depth_mm[wall] - edge.depth_mm[wall[0]]) / np.ptp(edge.depth_mm[wall])
    out = np.zeros(reach.shape)
    out[:, wall] = falls[0][:, None] * (1 - share) + falls[1][:, None] * share
    # where hardly anything acts a quotient says nothing
    out[reach < 0.05 * reach.max()] = 0.0
    return out[None]


def _stressed(edge: EdgeStress, damage: Array, slope: float, slots: int) -> tuple[float, float]:
    """Stressed area of one slot by the weakest link, and how many places like the worst the whole drum has.

    The area in which the strength's weakest spot may lie: the sum of area x (stress over its largest)^30.
    """
    slot, s, _ = (int(k) for k in np.unravel_index(int(np.argmax(damage)), damage.shape))
    top = float(damage[slot].max())
    if top <= 0.0:
        return float(edge.area_mm2.sum()), float(slots)
    weight = (damage[slot] / top) ** (EXPONENT / slope) * edge.area_mm2
    line = weight.sum(1)
    return float(weight.sum()), float(slots * line.sum() / line[_hot_spot(line, s)].sum())


def _hot_spot(line: Array, top: int) -> Index:
    """Places of a closed line around its highest one, as far as it falls on either side."""
    n = line.size
    ends = []
    for step in (1, -1):
        at = top
        while line[(at + step) % n] < line[at % n] and abs(at - top) < n // 2:
            at += step
        ends.append(at)
    return np.unique(np.arange(ends[1], ends[0] + 1) % n)


def safety_factors(found: EdgeDamage, named: Sequence[Named], target_h: float) -> Array:
    """Factor on all stresses at which each named place lives just the target; infinite where nothing cycles."""
    out = np.full(len(named), math.inf)
    for shear in (False, True):
        some = [i for i, n in enumerate(named) if n.shear is shear]
        if not some:
            continue
        at = np.array([named[i].place for i in some])
        plane = Plane(
            np.concatenate([named[i].plane.angle_rad for i in some]),
            np.concatenate([named[i].plane.tilt_rad for i in some]),
            shear,
        )
        judge, states = found.judge.at(at), found.states[:, :, at]
        factor = bearable_factor(judge, states, found.events, plane, target_h)
        out[some] = np.where(factor > 999.0, math.inf, factor)
    return out


def at_one(found: EdgeDamage, named: Named, judge: Judge | None = None) -> tuple[Judge, Array, Plane]:
    """Rules, states and plane of one named place alone."""
    place = np.array([named.place])
    own = (judge or found.judge).at(place)
    return own, found.states[:, :, place], replace(named.plane, shear=named.shear)
