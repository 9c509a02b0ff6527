"""The smallest circle around points of a plane, exact, for many sets of points at once.

From a circle through two or three points: the farthest point outside must lie on the circle of all four; the smallest circle
around these four comes next. Its radius grows at every turn, so it ends at the smallest circle around all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Circles", "smallest_circle"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# a point this share of the squared radius outside counts as on the circle
ON_CIRCLE = 1e-13
TURNS = 200


@dataclass(frozen=True)
class Circles:
    """Radius [set]; support [set, 3]: the points on the circle, the last one twice where two carry it.

    Where `least` said that a smaller radius does not matter, the radius is only known to be below it.
    """

    radius: Array
    support: Index


def _centre(x: Array, y: Array, a: int, b: int, c: int) -> tuple[Array, Array]:
    """Centre between two points (c = b), or of the circle through three; infinitely far where they are in line."""
    if b == c:
        return 0.5 * (x[a] + x[b]), 0.5 * (y[a] + y[b])
    bx, by, cx, cy = x[b] - x[a], y[b] - y[a], x[c] - x[a], y[c] - y[a]
    cross = 2.0 * (bx * cy - by * cx)
    b2, c2 = bx * bx + by * by, cx * cx + cy * cy
    flat = np.abs(cross) <= 1e-14 * np.sqrt(b2 * c2)
    cross[flat] = 1.0
    far = np.where(flat, np.inf, 0.0)
    return x[a] + (cy * b2 - by * c2) / cross + far, y[a] + (bx * c2 - cx * b2) / cross + far


# which of the four points (0 is the new one) lie on each candidate circle; the new one always does
_CANDIDATES = ((0, 1, 1), (0, 2, 2), (0, 3, 3), (0, 1, 2), (0, 1, 3), (0, 2, 3))
_WHICH = np.array(_CANDIDATES)


def _of_four(x: Array, y: Array) -> tuple[Array, Array, Array, Index]:
    """Smallest circles around four points [4, set] with the first on the circle: centre, radius squared, which."""
    best_x, best_y, least = x[0], y[0], np.full(x.shape[1], np.inf)
    best = np.zeros(x.shape[1], np.intp)
    for k, candidate in enumerate(_CANDIDATES):
        at_x, at_y = _centre(x, y, *candidate)
        # the centre whose farthest point is nearest: no tolerance is needed
        reach = ((x - at_x) ** 2 + (y - at_y) ** 2).max(axis=0)
        better = reach < least
        best_x, best_y = np.where(better, at_x, best_x), np.where(better, at_y, best_y)
        least = np.where(better, reach, least)
        best[better] = k
    return best_x, best_y, least, _WHICH[best]


def _start(x: Array, y: Array, support: Index) -> tuple[Array, Array, Array, Index]:
    """Smallest circles around three points each."""
    rows = np.arange(len(x))
    xs, ys = x[rows, support.T], y[rows, support.T]
    # either the first of the three lies on the circle, or the other two carry it
    at_x, at_y, square, which = _of_four(xs[[0, 1, 2, 2]], ys[[0, 1, 2, 2]])
    other_x, other_y = _centre(xs, ys, 1, 2, 2)
    reach = ((xs - other_x) ** 2 + (ys - other_y) ** 2).max(axis=0)
    other = reach < square
    held = np.take_along_axis(support[:, [0, 1, 2, 2]], which, axis=1)
    return (
        np.where(other, other_x, at_x),
        np.where(other, other_y, at_y),
        np.where(other, reach, square),
        np.where(other[:, None], support[:, [1, 2, 2]], held),
    )


def smallest_circle(x: Array, y: Array, *, support: Index | None = None, least: Array | None = None) -> Circles:
    """Smallest circles around points with coordinates x, y [set, point], in any unit.

    support: points [set, 3] to begin with, such as those of a similar set. least [set]: radii below it do not matter.
    """
    if support is None:
        # the two ends along the wider axis
        wide = np.ptp(x, axis=1) >= np.ptp(y, axis=1)
        low = np.where(wide, x.argmin(1), y.argmin(1))
        high = np.where(wide, x.argmax(1), y.argmax(1))
        support = np.stack([low, high, high], axis=1)
    at_x, at_y, square, held = _start(x, y, support)
    radius2 = square.copy()
    left = np.arange(len(x))
    floor = np.full(len(x), -np.inf) if least is None else least * np.abs(least)
    for _ in range(TURNS):
        d2 = x - at_x[:, None]
        d2 *= d2
        dy = y - at_y[:, None]
        dy *= dy
        d2 += dy
        far = d2.argmax(1)
        reach = d2[np.arange(len(left)), far]
        on = np.flatnonzero((reach > square * (1.0 + ON_CIRCLE)) & (reach >= floor))
        if not len(on):
            break
        if len(on) < len(left):
            left, far, square, floor, x, y = left[on], far[on], square[on], floor[on], x[on], y[on]
        index = np.concatenate([far[:, None], held[left]], axis=1)
        rows = np.arange(len(left))
        at_x, at_y, grown, which = _of_four(x[rows, index.T], y[rows, index.T])
        held[left] = np.take_along_axis(index, which, axis=1)
        radius2[left] = grown
        # rounding: where the circle no longer grows it is the last one
        on = np.flatnonzero(grown > square)
        if len(on) < len(left):
            left, at_x, at_y, grown, floor = left[on], at_x[on], at_y[on], grown[on], floor[on]
            x, y = x[on], y[on]
        square = grown
    return Circles(np.sqrt(radius2), held)
