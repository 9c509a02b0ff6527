"""Higher tops beside a top, carried by other steps.

A path of many close steps makes many tops side by side, each carried by its own two or three steps on the circle and one of
largest normal stress. The measure is the largest of all such carried functions, and each of them is smooth. So: from the
steps near the circle and near the largest normal stress, foresee the top of each carried function; go to the best one that is
foreseen higher, climb, and look again.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from .plane_climb import climb, newton, turned
from .plane_measure import Paths, Seen
from .plane_rows import local_rows, plane_rows
from .plane_terms import Terms, normal_terms

__all__ = ["beside"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# steps that may carry a top beside: near the circle, near the largest normal stress
NEAR_CIRCLE, NEAR_TOP = 12, 4
# how near, as a share of the value's parts: what a small turn may bring up
NEAR = 5e-3
# how far away such a top may lie
FAR_RAD = 0.03
HIGHER = 1e-13
# of each case: foreseen tops gone to, with so many looks on the way, and climbed from; rounds
FORESEEN, LOOKS, TRIED, ROUNDS = 128, 2, 4, 12
CASES = 512

_PAIRS = np.array([(a, b, b) for a, b in combinations(range(NEAR_CIRCLE), 2)])
_TRIPLES = np.array(list(combinations(range(NEAR_CIRCLE), 3)))
_SETS = np.concatenate([_PAIRS, _TRIPLES])


def beside(paths: Paths, place: Index, n: Array, seen: Seen) -> tuple[Array, Seen]:
    """The highest tops reached from tops n [case, 3] by way of those foreseen beside them."""
    n, seen = n.copy(), seen.of(np.arange(len(place)))
    on = np.arange(len(place))
    for _ in range(ROUNDS):
        tried = []
        for s in range(0, len(on), CASES):
            some = on[s : s + CASES]
            which, m = _foreseen(paths, place[some], n[some], seen.of(some))
            tried.append((some[which], m))
        at = np.concatenate([t[0] for t in tried])
        if not len(at):
            break
        m = np.concatenate([t[1] for t in tried])
        m, new = climb(paths, place[at], m, paths.look_at(place[at], m))
        # the best of those tried from each case
        first = np.lexsort((-new.value, at))
        first = first[np.append(True, at[first][1:] != at[first][:-1])]
        up = first[new.value[first] > (seen.value + HIGHER * np.abs(seen.value))[at[first]]]
        if not len(up):
            break
        on = at[up]
        n[on] = m[up]
        seen.put(on, new.of(up))
    return n, seen


def _foreseen(paths: Paths, place: Index, n: Array, seen: Seen) -> tuple[Index, Array]:
    """Cases beside whose top a higher one is foreseen, and its plane."""
    many = len(place)
    steps = paths.stress.shape[2]
    rows = plane_rows(n)
    stress, other = paths.stress[place], paths.other[place]
    case = np.arange(many)[:, None]
    normal = (rows[:, 2:] @ stress)[:, 0]
    tops = _largest(normal, NEAR_TOP)
    by_a, by_m, _ = paths.measure.slopes(seen.amplitude, seen.most)
    share = NEAR * (by_a * seen.amplitude + by_m * np.ptp(normal, axis=1))
    slack_a, slack_m = (share / np.maximum(by, 1e-30) for by in (by_a, by_m))
    if paths.measure.shear:
        path = rows[:, :2] @ other
        x, y = path[:, 0], path[:, 1]
        far = _from_centre(x, y, seen.support)
        near = _largest(far, min(NEAR_CIRCLE, steps))
        sets = _SETS[(steps > _SETS).all(axis=1)]
        close = far[case, near] >= (seen.amplitude - slack_a)[:, None]
        radius = _radii(x[case, near], y[case, near], sets)
        fits = close[:, sets].all(axis=2) & (radius >= (seen.amplitude - slack_a)[:, None])
        fits &= radius > 0.0
        which, of = np.nonzero(fits)
        points = near[which[:, None], sets[of]]
    else:
        path = normal if paths.other is paths.stress else (rows[:, 2:] @ other)[:, 0]
        high, low = _largest(path, NEAR_TOP), _largest(-path, NEAR_TOP)
        gap = path[case, high][:, :, None] - path[case, low][:, None, :]
        which, i, j = np.nonzero(gap >= 2.0 * (seen.amplitude - slack_a)[:, None, None])
        points = np.stack([high[which, i], low[which, j], low[which, j]], axis=1)
    rows6 = local_rows(n)
    local = rows6[which] @ other.transpose(0, 2, 1)[which[:, None], points].transpose(0, 2, 1)
    amplitude = paths.measure.amplitude_terms(local.transpose(1, 2, 0), points[:, 1] == points[:, 2])
    # each with each step near the largest normal stress
    heavy = normal[case, tops] >= (seen.most - slack_m)[:, None]
    most = normal_terms((rows6 @ stress.transpose(0, 2, 1)[case, tops].transpose(0, 2, 1)).transpose(1, 0, 2))
    pair, k = np.nonzero(heavy[which])
    which, points = which[pair], points[pair]
    terms = paths.measure.joined(
        amplitude.of(pair), Terms(most.value[which, k], most.slope[:, which, k], most.curvature[:, which, k])
    )
    floor = (seen.value + HIGHER * np.abs(seen.value))[which]
    step, foreseen = _ahead(terms)
    at = np.flatnonzero(foreseen > floor)
    at = at[_first(which[at], foreseen[at], FORESEEN)]
    which, points, top, floor = which[at], points[at], tops[which[at], k[at]], floor[at]
    m = turned(n[which], step[:, at])
    # a quadratic foresees poorly from afar: go there, and look what the steps carry there
    for _ in range(LOOKS):
        terms = paths.terms_of(place[which], m, points, top)
        step, foreseen = _ahead(terms)
        m = np.where((foreseen > terms.value)[:, None], turned(m, step), m)
    value = paths.terms_of(place[which], m, points, top).value
    at = np.flatnonzero(value > floor)
    at = at[_first(which[at], value[at], TRIED)]
    return which[at], m[at]


def _ahead(terms: Terms) -> tuple[Array, Array]:
    """Step to the foreseen top and the value there; minus infinity where there is none, or only far away."""
    step, gain, _ = newton(terms)
    a, b, c = terms.curvature
    good = (a + c < 0.0) & (a * c > b * b) & (np.hypot(step[0], step[1]) < FAR_RAD)
    return step, np.where(good, terms.value + gain, -np.inf)


def _first(case: Index, value: Array, many: int) -> Index:
    """Of each case, sorted or not, those with the largest values, at most `many`."""
    order = np.lexsort((-value, case))
    rank = np.arange(len(order)) - np.searchsorted(case[order], case[order])
    first: Index = order[rank < many]
    return first


def _largest(values: Array, many: int) -> Index:
    """Places of the largest values of each row."""
    if values.shape[1] <= many:
        return np.broadcast_to(np.arange(values.shape[1]), values.shape)
    return np.argpartition(-values, many - 1, axis=1)[:, :many]


def _from_centre(x: Array, y: Array, support: Index) -> Array:
    """Distances of all points from the centre of the circle that two or three of them carry."""
    case = np.arange(len(x))
    ax, ay, bx, by, cx, cy = (v[case, support[:, k]] for k in range(3) for v in (x, y))
    bx, by, cx, cy = bx - ax, by - ay, cx - ax, cy - ay
    cross = 2.0 * (bx * cy - by * cx)
    pair = (support[:, 1] == support[:, 2]) | (cross == 0.0)
    cross = np.where(pair, 1.0, cross)
    b2, c2 = bx * bx + by * by, cx * cx + cy * cy
    ux = np.where(pair, 0.5 * bx, (cy * b2 - by * c2) / cross)
    uy = np.where(pair, 0.5 * by, (bx * c2 - cx * b2) / cross)
    return np.hypot(x - (ax + ux)[:, None], y - (ay + uy)[:, None])


def _radii(x: Array, y: Array, sets: Index) -> Array:
    """Radius of the circle that each set of points carries [case, set]; zero for three that only two would carry."""
    px, py = x[:, sets], y[:, sets]
    a, b, c = ((px[:, :, i] - px[:, :, j]) ** 2 + (py[:, :, i] - py[:, :, j]) ** 2 for i, j in ((0, 1), (1, 2), (2, 0)))
    total, longest = a + b + c, np.maximum(np.maximum(a, b), c)
    acute = total > 2.0 * longest * (1.0 + 1e-9)
    area = total**2 - 2.0 * (a * a + b * b + c * c)
    three = np.sqrt(np.where(acute & (area > 0.0), a * b * c / np.where(area > 0.0, area, 1.0), 0.0))
    return np.where(sets[:, 1] == sets[:, 2], 0.5 * np.sqrt(a), three)
