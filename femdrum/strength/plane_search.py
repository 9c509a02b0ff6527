"""The plane on which a measure is largest, at many places: cells of planes that divide, then Newton's method.

1. Of each path only steps that are extreme in some direction of stress space can matter. To begin with those are kept
   that are extreme in some of many directions (`tested_rows`).
2. Cells of 10 degrees, halved twice. The parts of a measure go with the double angle, so it falls from its top by no more
   than 2 scale angle². Cells that are lower than the best by more than that for their size are left out; at the cells
   left all steps are looked at, and those that carry the value are kept too.
3. From the cells left, Newton's method with a trusted radius climbs to the tops: there the measure is smooth, since it is
   the largest of smooth functions. It climbs with the steps kept, then with all.
4. Beside a top may lie a higher one that other steps carry: `plane_beside.py`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .plane_beside import beside
from .plane_climb import climb
from .plane_measure import Measure, Paths, Seen
from .plane_rows import LEVELS, plane_rows, planes, reach_rad, rows_of, tested_rows

__all__ = ["Found", "search"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# paths of no more steps are taken whole
FEW = 128
# places at once, and places times steps: 12 MB of stresses, and some times that for what is seen
PLACES, STATES = 256, 1 << 18
# steps looked at together for extreme ones
STEPS = 1 << 16
# of each place: cells climbed from at once, cells looked at with all steps, cells of each level, tops climbed to
FIRST, WHOLE, CELLS, TOPS = 3, 48, 48, 16
# what the steps left out may be worth, as a share of the scale: at first, and beside cells looked at with all steps
LEFT_OUT, LEFT_OUT_BESIDE = 0.02, 0.006
# tops lower than the best by more than this share of the scale are not climbed with all steps; nor looked beside
LOW, BESIDE = 0.005, 1e-3
# values that differ by no more than this share are those of one top
SAME = 1e-11


@dataclass(frozen=True)
class Found:
    """Of each place: the largest value, its plane's unit normal [place, 3], amplitude, largest and least normal stress."""

    value: Array
    normal: Array
    amplitude: Array
    most: Array
    least: Array


def search(history: Array, measure: Measure, starts: Array | None = None) -> Found:
    """Search all planes; history [step, place, 6] of finite stresses. starts [place, 3]: planes to climb from besides."""
    steps, places, _ = history.shape
    size = min(PLACES, max(1, STATES // steps))
    parts = [
        _some(history[:, s : s + size], measure, None if starts is None else starts[s : s + size])
        for s in range(0, places, size)
    ]
    names = ("value", "normal", "amplitude", "most", "least")
    return Found(*(np.concatenate([getattr(p, n) for p in parts]) for n in names))


def _some(history: Array, measure: Measure, starts: Array | None) -> Found:
    stress = np.ascontiguousarray(history.transpose(1, 2, 0), dtype=np.float64)
    whole = Paths.of(measure, stress)
    place, n, seen, scale = _tops(whole, starts)
    best = np.full(len(stress), -np.inf)
    np.maximum.at(best, place, seen.value)
    near = np.flatnonzero(seen.value >= (best - BESIDE * scale)[place])
    near = near[best_of(place[near], seen.value[near], FIRST)]
    place, n, seen = place[near], n[near], seen.of(near)
    n, seen = beside(whole, place, n, seen)
    at = best_of(place, seen.value, 1)
    main = np.take_along_axis(n[at], np.abs(n[at]).argmax(axis=1)[:, None], axis=1)
    normal = np.where(main < 0.0, -n[at], n[at])
    path = (plane_rows(normal)[:, None, 2] @ stress)[:, 0]
    return Found(seen.value[at], normal, seen.amplitude[at], seen.most[at], path.min(axis=1))


class _Kept:
    """The steps of each place that are kept [place, kept], and the paths with these steps only."""

    def __init__(self, whole: Paths) -> None:
        self.whole = whole
        self.places, _, self.steps = whole.stress.shape
        self.all = self.steps <= FEW
        self.paths = whole
        self.marked = np.zeros((self.places, self.steps), bool)
        self.at: Index = np.zeros(0, np.intp)
        if not self.all:
            self._extreme()
            self._list()

    def _extreme(self) -> None:
        """Mark the steps that are extreme in a tested direction."""
        stress, rows = self.whole.stress, tested_rows().astype(np.float32)
        high, low = stress.max(axis=2, keepdims=True), stress.min(axis=2, keepdims=True)
        middle, swing = 0.5 * (high + low), (high - low).max(axis=1, keepdims=True)
        swing[swing == 0.0] = 1.0
        size = max(1, 1_000_000 // (len(rows) * self.steps))
        for s in range(0, self.places, size):
            for t in range(0, self.steps, STEPS):
                part = (stress[s : s + size, :, t : t + STEPS] - middle[s : s + size]) / swing[s : s + size]
                seen = rows @ part.astype(np.float32)
                places = np.arange(s, s + len(seen))[:, None]
                self.marked[places, t + seen.argmax(axis=2)] = True
                self.marked[places, t + seen.argmin(axis=2)] = True

    def _list(self) -> None:
        many = self.marked.sum(axis=1)
        where, step = np.nonzero(self.marked)
        starts = np.cumsum(many) - many
        rank = np.arange(len(where)) - starts[where]
        self.keep = np.repeat(step[starts][:, None], many.max(), axis=1)
        self.keep[where, rank] = step
        self.at = np.zeros(self.marked.shape, np.intp)
        self.at[where, step] = rank
        self.paths = self.whole.steps(self.keep)

    def look(self, place: Index, n: Array, seen: Seen) -> Seen:
        """What planes show with all steps; `seen`: with the steps kept."""
        if self.all:
            return seen
        return self.whole.look_at(place, n, self.keep[place[:, None], seen.support])

    def add(self, *parts: tuple[Index, Seen]) -> None:
        """Keep the steps that carry what was seen with all steps."""
        if not self.all:
            for place, seen in parts:
                self.marked[place[:, None], seen.support] = True
                self.marked[place, seen.top] = True
            self._list()

    def kept(self, place: Index, support: Index) -> Index:
        """Steps that were added, as they stand in the steps kept."""
        return support if self.all else self.at[place[:, None], support]


def best_of(place: Index, value: Array, most: int) -> Index:
    """Cases with the largest values, at most `most` of each place; in the order of places."""
    order = np.lexsort((-value, place))
    sorted_place = place[order]
    new = np.append(True, sorted_place[1:] != sorted_place[:-1])
    start = np.maximum.accumulate(np.where(new, np.arange(len(order)), 0))
    return order[np.arange(len(order)) - start < most]


def _first_look(paths: Paths) -> tuple[Array, Array, Array]:
    """At all cells of level 0: bounds of the value from below and above [place, cell]; scale of the parts [place]."""
    measure, rows = paths.measure, rows_of(0)
    places, _, steps = paths.stress.shape
    cells = len(rows)
    low, high = np.empty((places, cells)), np.empty((places, cells))
    scale = np.empty(places)
    flat = rows.reshape(-1, 6)
    size = max(1, 500_000 // (3 * cells * steps))
    for s in range(0, places, size):
        seen = (flat @ paths.stress[s : s + size]).reshape(-1, cells, 3, steps)
        top, bottom = seen[:, :, 2].max(axis=2), seen[:, :, 2].min(axis=2)
        path = seen if paths.other is paths.stress else (flat @ paths.other[s : s + size]).reshape(seen.shape)
        if measure.shear:
            x, y = path[:, :, 0], path[:, :, 1]
            ends = x.max(axis=2), x.min(axis=2), y.max(axis=2), y.min(axis=2)
            below = 0.5 * np.maximum(ends[0] - ends[1], ends[2] - ends[3])
            dx, dy = x - 0.5 * (ends[0] + ends[1])[..., None], y - 0.5 * (ends[2] + ends[3])[..., None]
            dx *= dx
            dy *= dy
            dx += dy
            above = np.sqrt(dx.max(axis=2))
        else:
            below = above = 0.5 * (path[:, :, 2].max(axis=2) - path[:, :, 2].min(axis=2))
        at = slice(s, s + size)
        low[at], high[at] = measure.value(below, top), measure.value(above, top)
        most = above.max(axis=1)
        by_a, by_m, _ = measure.slopes(most, top.max(axis=1))
        scale[at] = by_a * most + by_m * 0.5 * (top.max(axis=1) - bottom.min(axis=1))
    return low, high, scale


def _tops(whole: Paths, starts: Array | None) -> tuple[Index, Array, Seen, Array]:
    """Tops of the measure with all steps: place, unit normal, what is seen there; and the scale of each place."""
    kept = _Kept(whole)
    low, high, scale = _first_look(kept.paths)
    fall = (2.0 * reach_rad(0) ** 2 + (0.0 if kept.all else LEFT_OUT)) * scale
    best = low.max(axis=1)
    support: Index = np.zeros((0, 3), np.intp)
    place, cell = np.nonzero(high >= (best - fall)[:, None])
    seen = kept.paths.look(place, rows_of(0)[cell], None, (best - fall)[place])
    # tops near the best cells: what is far below them needs no look
    at = best_of(place, seen.value, FIRST)
    first = place[at]
    n, top = climb(kept.paths, first, planes(0)[cell[at]], seen.of(at))
    at = _different(first, top.value)
    first, n = first[at], n[at]
    top = kept.look(first, n, top.of(at))
    if starts is not None:
        of = np.arange(len(starts))
        also, up = climb(whole, of, starts, whole.look_at(of, starts))
        first, n, top = np.concatenate([first, of]), np.concatenate([n, also]), Seen.joined([top, up])
    np.maximum.at(best, first, top.value)
    on = np.flatnonzero(seen.value >= (best - fall)[place])
    on = on[best_of(place[on], seen.value[on], WHOLE)]
    place, cell = place[on], cell[on]
    seen = kept.look(place, planes(0)[cell], seen.of(on))
    kept.add((first, top), (place, seen))
    for level in range(LEVELS):
        fall = 2.0 * scale * reach_rad(level) ** 2
        if level:
            place, cell = place.repeat(4), (4 * cell[:, None] + np.arange(4)).ravel()
            fall += 0.0 if kept.all else LEFT_OUT_BESIDE * scale
            seen = kept.paths.look(place, rows_of(level)[cell], support.repeat(4, axis=0), (best - fall)[place])
        np.maximum.at(best, place, seen.value)
        on = np.flatnonzero(seen.value >= (best - fall)[place])
        on = on[best_of(place[on], seen.value[on], TOPS if level + 1 == LEVELS else CELLS)]
        place, cell, seen = place[on], cell[on], seen.of(on)
        support = seen.support if level else kept.kept(place, seen.support)
    more, up = climb(kept.paths, place, planes(LEVELS - 1)[cell], seen)
    at = _different(place, up.value)
    place, more = place[at], more[at]
    seen = Seen.joined([top, kept.look(place, more, up.of(at))])
    place, n = np.concatenate([first, place]), np.concatenate([n, more])
    np.maximum.at(best, place, seen.value)
    on = np.flatnonzero(seen.value >= (best - LOW * scale)[place])
    on = on[_different(place[on], seen.value[on])]
    place, n, seen = place[on], n[on], seen.of(on)
    if not kept.all:
        n, seen = climb(whole, place, n, seen)
    return place, n, seen, scale


def _different(place: Index, value: Array) -> Index:
    """One case of those of a place with the same value."""
    order = np.lexsort((value, place))
    p, v = place[order], value[order]
    new = np.append(True, (p[1:] != p[:-1]) | (v[1:] - v[:-1] > SAME * np.abs(v[1:])))
    kept: Index = order[new[: len(order)]]
    return kept
