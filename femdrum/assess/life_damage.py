"""Damage of a duty at places of a surface, on every plane: normal stress, and shear with normal stress.

On each plane the signed component is followed through all events, its peaks paired with its valleys in the worst order, and
each pair counted against the S-N curve. The plane with the largest damage counts. At a rim the stress is uniaxial, and the plane
square to the edge is the worst. Nothing here takes a range of an equivalent stress: that hides cycles.

Shear counts as after Fatemi and Socie (from memory), in stresses. Findley's sum is a criterion of endurance for one kind of
cycle; as a measure of damage it would count a large steady pull as a cycle, and is reported beside.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..strength.base_metal import STRENGTH_RATIO, MetalStrength
from ..strength.event_pairs import EventPairs, pair_events
from ..strength.mean_stress import SHEAR_RATIO
from ..strength.surface_planes import TILTS, Events, levels, normal_weights, shear_weights, tilted_weights

__all__ = [
    "NORMAL",
    "SHEAR",
    "Counted",
    "Judge",
    "Plane",
    "bearable_factor",
    "counted",
    "damage_of",
    "first_look",
    "plane_damage",
    "ranges",
    "rim_damage",
    "worst_planes",
]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

NORMAL, SHEAR = "normal stress", "shear with normal stress"
ANGLES = math.pi * np.arange(24) / 24
_BLOCK = 2048  # places at once: memory stays bounded
_GOLDEN = 0.5 * (math.sqrt(5) - 1)
_TRIED = 13
_ROUNDS = 32  # of the search for the worst angle: it comes to 1e-8 rad


@dataclass(frozen=True)
class Judge:
    """The rules a damage is counted with. strength: at the places in question, in their order."""

    strength: MetalStrength
    rule: str = "fkm"
    beyond: str = "haibach"

    def at(self, places: Index) -> Judge:
        """For some of the places."""
        amplitude = np.asarray(self.strength.curve.amplitude_MPa)
        if not amplitude.ndim:
            return self
        curve = replace(self.strength.curve, amplitude_MPa=amplitude[places])
        return replace(self, strength=replace(self.strength, curve=curve))

    def with_rules(self, rule: str | None = None, beyond: str | None = None) -> Judge:
        """With other rules."""
        return replace(self, rule=rule or self.rule, beyond=beyond or self.beyond)


@dataclass(frozen=True)
class Plane:
    """Planes at places: angle [place] of the normal from along the edge; tilt [place] towards the surface's normal, 0 where
    the plane is square to the surface; shear: what is followed is the shear on it, else the normal stress.
    """

    angle_rad: Array
    tilt_rad: Array
    shear: bool

    def weights(self) -> tuple[Array, Array | None]:
        """Of the component that is followed, and of the normal stress beside it [place, 4]."""
        if not self.shear:
            return normal_weights(self.angle_rad), None
        flat = self.tilt_rad == 0.0
        normal, across = tilted_weights(self.angle_rad, self.tilt_rad)
        own = np.where(flat[:, None], shear_weights(self.angle_rad), across)
        return own, normal


@dataclass(frozen=True)
class Counted:
    """The cycles on a plane [pair, place]: amplitude and mean of the stress that is judged, MPa, and how often in 1,000 h."""

    pairs: EventPairs
    amplitude_MPa: Array
    mean_MPa: Array


def counted(judge: Judge, states: Array, events: Events, plane: Plane, scale: ArrayLike = 1.0) -> Counted:
    """Cycles of all events on a plane at each place; states [state, 3, place, 4]; scale: on all stresses, per place.

    What passes yield is relieved by it: the mean is moved until the cycle fits between plus and minus the yield strength, as far as
    it does. Shear is turned into the fully reversed pull that does the same: with tau the amplitude, s the largest normal stress
    on the plane, tau (1 + c s / Re) / 0.577, no damage without shear that cycles.
    """
    own, beside = plane.weights()
    high, low = levels(states, events, own)
    pairs = pair_events(high, low, events.per_1000_h)
    top = np.asarray(scale) * pairs.upper(high)
    bottom = np.minimum(top, np.asarray(scale) * pairs.lower(low))
    amplitude, mean = 0.5 * (top - bottom), 0.5 * (top + bottom)
    limit = judge.strength.yield_MPa or math.inf
    if beside is None:
        room = np.maximum(limit - amplitude, 0.0)
        return Counted(pairs, amplitude, np.clip(mean, -room, room))
    most, _ = levels(states, events, beside)
    opening = np.asarray(scale) * np.maximum(pairs.upper(most), np.take_along_axis(most, pairs.valley, 0))
    share = opening_share(judge.strength) * np.clip(opening, 0.0, limit)
    uniaxial = amplitude * (1.0 + share) / SHEAR_RATIO
    return Counted(pairs, uniaxial, np.zeros_like(uniaxial))


def opening_share(strength: MetalStrength) -> float:
    """c / Re of the shear criterion, 1/MPa: so that fully reversed pull and torsion both meet their strengths at the knee.

    Pull of the strength s puts s/2 of shear and s/2 of normal stress on the plane at 45 degrees.
    """
    reversed_MPa = STRENGTH_RATIO * strength.ultimate_MPa
    return (2 * SHEAR_RATIO - 1.0) / (0.5 * reversed_MPa)


def damage_of(judge: Judge, cycles: Counted) -> Array:
    """Damage in 1,000 h of each pair [pair, place]."""
    life = judge.strength.life(cycles.amplitude_MPa, cycles.mean_MPa, judge.rule, judge.beyond)
    some = np.broadcast_to(life > 0.0, life.shape)
    return np.where(
        some, cycles.pairs.count / np.where(some, life, 1.0), np.where(cycles.pairs.count > 0.0, np.inf, 0.0)
    )


def plane_damage(judge: Judge, states: Array, events: Events, plane: Plane, scale: ArrayLike = 1.0) -> Array:
    """Damage in 1,000 h on a plane at each place."""
    return np.asarray(damage_of(judge, counted(judge, states, events, plane, scale)).sum(0))


def bearable_factor(judge: Judge, states: Array, events: Events, plane: Plane, target_h: float) -> Array:
    """Factor on all stresses [place] at which a place lives just the target, from 0.001 to 1000."""
    low, high = np.full(states.shape[2], math.log(1e-3)), np.full(states.shape[2], math.log(1e3))
    for _ in range(50):
        middle = 0.5 * (low + high)
        over = plane_damage(judge, states, events, plane, np.exp(middle)) * target_h > 1000.0
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return np.asarray(np.exp(0.5 * (low + high)))


def ranges(states: Array, events: Events, plane: Plane) -> Array:
    """Largest range over all events together at each place, MPa."""
    high, low = levels(states, events, plane.weights()[0])
    return np.asarray(high.max(0) - low.min(0))


def rim_damage(judge: Judge, states: Array, events: Events) -> Array:
    """Damage [place] where the stress is uniaxial: of the stress along the edge."""
    zero = np.zeros(states.shape[2])
    return _in_blocks(
        judge, states, lambda j, some, at: plane_damage(j, some, events, Plane(zero[at], zero[at], False))
    )


def first_look(judge: Judge, states: Array, events: Events) -> Array:
    """Damage [place] by normal stress on a few planes: finds where the worst may lie."""

    def most(own: Judge, some: Array, at: Index) -> Array:
        ones = np.ones(at.size)
        planes = (Plane(a * ones, 0.0 * ones, False) for a in ANGLES[::4])
        return np.asarray(np.max([plane_damage(own, some, events, plane) for plane in planes], axis=0))

    return _in_blocks(judge, states, most)


def worst_planes(
    judge: Judge, states: Array, events: Events, group: Index | None = None, most: int = 3
) -> tuple[Array, Plane, NDArray[np.bool_]]:
    """Damage [place] on the worst plane, that plane, and True where it is one of shear with normal stress.

    group [place]: of each group only the `most` places of the largest damage in the sweep are made exact; all where not given.
    """
    n = states.shape[2]
    every = np.arange(n)
    best, angle, tilt, kind = np.full(n, -1.0), np.zeros(n), np.zeros(n), np.zeros(n, bool)

    def keep(at: Index, damage: Array, plane: Plane) -> None:
        better = damage > best[at]
        here = at[better]
        best[here], kind[here] = damage[better], plane.shear
        angle[here], tilt[here] = plane.angle_rad[better], plane.tilt_rad[better]

    families = ((False, (0.0,)), (True, (0.0,)), (True, TILTS))
    swept = [np.stack([_sweep(judge, states, events, lean, shear) for lean in leans]) for shear, leans in families]
    # [lean, angle, place]
    top = np.max([family.max((0, 1)) for family in swept], axis=0)
    chosen = every if group is None else np.concatenate(
        [members[np.argsort(-top[members], kind="stable")][:most] for g in np.unique(group) if (members := np.flatnonzero(group == g)).size]
    )  # fmt: skip
    for (shear, leans), family in zip(families, swept, strict=True):
        lean = np.argmax(family.max(1), axis=0)
        for tops in _local_tops(family[lean, :, every].T):
            start = Plane(ANGLES[tops], np.array(leans)[lean], shear)
            if group is not None:
                keep(every, family[lean, tops, every], start)
            near = Plane(start.angle_rad[chosen], start.tilt_rad[chosen], shear)
            # what lies far below the best of the sweep does not overtake it
            hopeful = family[lean, tops, every][chosen] > 0.7 * top[chosen]
            at = chosen[hopeful]
            if at.size:
                own = Plane(near.angle_rad[hopeful], near.tilt_rad[hopeful], shear)
                keep(at, *_refined(judge.at(at), states[:, :, at], events, own))
    return best, Plane(angle, tilt, False), kind


def _sweep(judge: Judge, states: Array, events: Events, lean: float, shear: bool) -> Array:
    ones = np.ones(states.shape[2])
    return np.stack([plane_damage(judge, states, events, Plane(a * ones, lean * ones, shear)) for a in ANGLES])


def _local_tops(values: Array) -> list[Index]:
    """The highest and the next two local maxima of [angle, place] around the circle: an angle for each place, three times."""
    top = (values >= np.roll(values, 1, 0)) & (values >= np.roll(values, -1, 0))
    order = np.argsort(-np.where(top, values, -1.0), axis=0, kind="stable")
    return list(order[:3])


def _in_blocks(judge: Judge, states: Array, value: Callable[[Judge, Array, Index], Array]) -> Array:
    every = np.arange(states.shape[2])
    blocks = np.array_split(every, max(1, -(-every.size // _BLOCK)))
    return np.concatenate([value(judge.at(at), states[:, :, at], at) for at in blocks])


def _refined(judge: Judge, states: Array, events: Events, plane: Plane) -> tuple[Array, Plane]:
    """The worst plane near the given ones and the damage there, exact to 1e-9: angle, then tilt, and again."""
    for _ in range(3 if plane.shear and np.any(plane.tilt_rad) else 1):
        angle = _search(
            lambda a: plane_damage(judge, states, events, replace(plane, angle_rad=a)),  # noqa: B023
            plane.angle_rad, 1.2 * float(ANGLES[1]),
        )  # fmt: skip
        plane = replace(plane, angle_rad=angle)
        tilted = plane.tilt_rad != 0.0
        if plane.shear and np.any(tilted):
            tilt = _search(
                lambda t: plane_damage(judge, states, events, replace(plane, tilt_rad=t)),  # noqa: B023
                plane.tilt_rad, math.radians(6.0),
            )  # fmt: skip
            plane = replace(plane, tilt_rad=np.where(tilted, tilt, 0.0))
    return plane_damage(judge, states, events, plane), replace(plane, angle_rad=np.mod(plane.angle_rad, math.pi))


def _search(value: Callable[[Array], Array], start: Array, width: float) -> Array:
    """Where a value is largest within `width` of the start, by golden section at all places at once."""
    # where cycles pair anew the value has kinks, and so more than one top
    tried = start + width * np.linspace(-1.0, 1.0, _TRIED)[:, None]
    values = np.stack([value(row) for row in tried])
    start = np.take_along_axis(tried, values.argmax(0)[None], 0)[0]
    width *= 2.0 / (_TRIED - 1)
    low, high = start - width, start + width
    a, b = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_a, at_b = value(a), value(b)
    for _ in range(_ROUNDS):
        left = at_a >= at_b
        low, high = np.where(left, low, a), np.where(left, b, high)
        a, b = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
        at_a, at_b = value(a), value(b)
    middle = 0.5 * (low + high)
    return np.where(value(middle) >= value(start), middle, start)
