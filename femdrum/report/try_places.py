"""Which places of an edge a page needs, so that peaks of any mix of its loads are found on them, and what leaving out the others costs.

Random mixes are combined on all places. Kept are the places where some region of the edge has its largest stress in one of them, their
neighbours along the edge and through the wall, and of the places near a peak (which its band is read from) as many as there is room for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..assess.combine_peaks import zones
from ..edge import BAND_FLOOR, EARLIER, NEAR, RIM_ZONE, WHOLE, EdgeStress, principal
from .try_loads import Mix

__all__ = ["MOST_TIMES", "REGION_SHARE", "Kept", "kept_places", "regions", "rim_depths"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

MOST_TIMES = 2.0  # loads move between nothing (together: minus this) and this
ROUNDS = 60  # random mixes of each state that choose places, over all variants together
CHECKS = 6  # further ones that see what the choice misses
COVERED = 0.95  # share of the checks whose misses are said
REGION_SHARE = 0.85  # a region below this share of the peak has no say


@dataclass(frozen=True)
class Kept:
    """Places of one edge, flattened from [slot, s, d].

    weight: of how many places near a peak each stands for. missed: share of a peak that may lie on places left out. raised: factor
    on the change from mesh to mesh, for a band is read from fewer places; both are nothing (0 and 1) where all places are kept.
    """

    at: Index
    region: Index
    weight: Array
    missed: float
    raised: float
    whole: bool


def regions(edge: EdgeStress) -> Index:
    """A number for each place [slot, s, d]: its slot, its corner or side, and the outer or inner half of the wall."""
    _, slots, along, deep = edge.stress.shape[:4]
    surface = edge.combine(np.zeros(len(edge.cases)))
    zone = np.stack([zones(surface, np.full(along, d, dtype=np.intp)) for d in range(deep)], 1)
    inner = edge.depth_mm > 0.5 * (edge.depth_mm.min() + edge.depth_mm.max())
    one = 2 * zone + inner
    return np.asarray(16 * np.arange(slots)[:, None, None] + one, dtype=np.intp)


def kept_places(edge: EdgeStress, mixes: Sequence[Mix], room: int, variants: int = 1) -> Kept:
    """The places of an edge that are kept; room: how many there may be; variants: among which the work is shared."""
    region = regions(edge)
    total = region.size
    if total <= room:
        return Kept(np.arange(total), region.reshape(-1), np.ones(total), 0.0, 1.0, True)
    random = np.random.default_rng(1)
    order = np.argsort(region.reshape(-1), kind="stable")
    sorted_regions = region.reshape(-1)[order]
    starts = np.flatnonzero(np.diff(sorted_regions, prepend=-1))
    tops, near = np.zeros(total), np.zeros(total)
    flat = _Flat(edge)
    states = [f for mix in mixes for f in _tried(mix, max(6, ROUNDS // variants), random)]
    for state in states:
        high, low, _ = flat.ends(state)
        size = np.maximum(high, -low)
        most = np.maximum.reduceat(size[order], starts)
        peak = float(most.max())
        for k in np.flatnonzero(most >= REGION_SHARE * peak):
            end = starts[k + 1] if k + 1 < starts.size else total
            members = order[starts[k] : end]
            tops[members[np.argmax(size[members])]] += (most[k] / peak) ** 8
        close = size >= NEAR * peak
        near[close] += 1.0 / close.sum()
    with_sides = _with_sides(tops, edge)
    core = np.argsort(-with_sides, kind="stable")[: min(room, int((with_sides > 0).sum()))]
    others = np.setdiff1d(np.flatnonzero(near > 0), core)
    free = room - core.size
    chance = _chances(near[others], free)
    taken = random.random(others.size) < chance
    at = np.concatenate([core, others[taken]])
    order = np.argsort(at)
    at, weight = at[order], np.concatenate([np.ones(core.size), 1.0 / chance[taken]])[order]
    missed, raised = _cost(flat, edge, at, weight, [f for mix in mixes for f in _tried(mix, CHECKS, random)])
    return Kept(at, region.reshape(-1)[at], weight, missed, raised, False)


def _chances(near: Array, room: int) -> Array:
    """Chance of each place to be taken, as it is near peaks, so that about `room` are."""
    if near.size <= room:
        return np.ones(near.size)
    chance = np.zeros(near.size)
    for _ in range(20):  # those that are sure leave more for the others
        sure = chance >= 1.0
        left = max(room - int(sure.sum()), 0)
        chance = np.where(sure, 1.0, np.minimum(near * left / max(float(near[~sure].sum()), 1e-300), 1.0))
    return chance


def _tried(mix: Mix, rounds: int, random: np.random.Generator) -> list[Array]:
    """Factors [case] of the state as it is and of random mixes, each at a random angle of the drum."""
    n, low = len(mix.loads), -MOST_TIMES if any(p.start == 0.0 for p in mix.loads) else 0.0
    times = [np.array([p.start for p in mix.loads]), np.ones(n), *np.eye(n)]
    times += [random.uniform(low, MOST_TIMES, n) * (random.random(n) < random.uniform(0.3, 1.0)) for _ in range(rounds)]
    out = []
    for t in times:
        state = mix.at(list(t))
        phi = random.uniform(0.0, 2 * np.pi)
        factors = state[0] + np.cos(phi) * state[1] + np.sin(phi) * state[2]
        if np.any(factors):
            out.append(factors)
    return out


class _Flat:
    """An edge with its places in one row; only unit cases that act are added."""

    def __init__(self, edge: EdgeStress) -> None:
        n = len(edge.cases)
        assert edge.earlier is not None
        self.stress = edge.stress.reshape(n, -1, 3)
        self.step, self.earlier = edge.step.reshape(n, -1, 3), edge.earlier.reshape(n, -1, 3)
        self.pressure = edge.pressure.reshape(n, -1)
        self.pressed = np.array([bool(np.any(p)) for p in self.pressure])

    def add(self, what: Array, factors: Array, at: Index | slice) -> Array:
        out = np.zeros(what[0, at].shape)
        for case in np.flatnonzero(factors):
            out += factors[case] * what[case, at]
        return out

    def ends(self, factors: Array, at: Index | slice = slice(None)) -> tuple[Array, Array, Array]:
        """Larger and smaller principal stress with the surface's own, and the components [place, 3]."""
        stress = self.add(self.stress, factors, at)
        high, low = principal(stress)
        third = -self.add(self.pressure, factors * self.pressed, at)
        return np.maximum(high, third), np.minimum(low, third), stress

    def peak(self, factors: Array, at: Index | slice, weight: Array, plane: bool) -> tuple[float, float]:
        """Largest |principal stress| of the sampled places, and the change from mesh to mesh near it."""
        high, low, stress = self.ends(factors, at)
        third = -self.add(self.pressure, factors * self.pressed, at)
        one = stress - self.add(self.step, factors, at)
        two = one - self.add(self.earlier, factors, at)
        tension = high.max() >= -low.min()
        ends = [principal(s)[0 if tension else 1] for s in (stress, one, two)]
        clip = np.maximum if tension else np.minimum
        fine, coarse = clip(ends[0], third), clip(ends[1], third)
        size = fine if tension else -fine
        peak = float(size.max())
        close = size >= NEAR * peak
        last, before = (
            float(np.sqrt(np.average(c[close] ** 2, weights=weight[close]))) for c in (fine - coarse, ends[1] - ends[2])
        )
        change = max(last, EARLIER * before)
        if plane:
            change = min(change, WHOLE * float(np.sqrt(np.mean((fine - coarse) ** 2))))
        return peak, change


def _cost(
    flat: _Flat, edge: EdgeStress, at: Index, weight: Array, states: Sequence[Array]
) -> tuple[float, float]:  # fmt: skip
    missed, raised = [], []
    plane, every = edge.depth_mm.size == 1, np.ones(flat.pressure.shape[1])
    for state in states:
        full, band = flat.peak(state, slice(None), every, plane)
        some, own = flat.peak(state, at, weight, plane)
        missed.append(1.0 - some / full)
        floor = BAND_FLOOR * full / edge.band_factor
        raised.append(max((band + floor) / (own + floor), 1.0))
    return float(np.quantile(missed, COVERED)), float(np.quantile(raised, COVERED))


def _with_sides(weight: Array, edge: EdgeStress) -> Array:
    """The weights spread to both neighbours along the closed edge, and to both through the wall."""
    grid = weight.reshape(edge.stress.shape[1:4])
    out = np.maximum(grid, np.maximum(np.roll(grid, 1, 1), np.roll(grid, -1, 1)))
    out[..., 1:] = np.maximum(out[..., 1:], grid[..., :-1])
    out[..., :-1] = np.maximum(out[..., :-1], grid[..., 1:])
    return np.asarray(out.reshape(-1))


def rim_depths(edge: EdgeStress, s: Index, d: Index, slot: Index) -> Index:
    """For places in or near the rim of the wall the depth there that is pressed most, else -1 [place]."""
    wall = np.flatnonzero(edge.offset_mm == 0.0)
    depth = edge.depth_mm
    thick = float(np.ptp(depth[wall]))
    if not edge.rim_slope or thick == 0.0:
        return np.full(s.size, -1)
    size = np.abs(edge.pressure).sum(0)
    to_rim = np.minimum(depth[d] - depth[wall].min(), depth[wall].max() - depth[d])
    close = np.abs(depth[None, :] - depth[d][:, None]) <= RIM_ZONE * thick
    most = np.argmax(np.where(close, size[slot, s], -1.0), axis=1)
    return np.where(to_rim <= RIM_ZONE * thick, most, -1)
