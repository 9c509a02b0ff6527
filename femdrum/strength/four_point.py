"""Closed cycles of a row of turning points, by the rule of four points, many at a time.

Of four points in a row the middle two close a cycle if they lie between the outer two. They are taken out and the rest
moves together. Closed cycles and what remains do not depend on the order of closing, so all that do not touch each
other are closed in one pass of array operations; where a pass would close too few, a stack goes on point by point.

Points are kept as "how far outward": the value of a peak, the negative value of a valley. Then a point lies inside the
one two before it if it is not larger, for peaks and valleys alike, and no difference is formed: comparisons are exact.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Closed", "close", "outward", "values"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

# a pass costs about this much of what the stack spends on one pair: per point, and for calling array operations
PASS_PER_POINT, PASS_AT_ALL = 0.003, 50.0
# the stack turns this many points at once into Python numbers
STACK_BLOCK = 200_000


def outward(points: Array, peak_first: bool) -> Array:
    """Turning points, peaks and valleys in turn, as distances outward."""
    y = points.copy()
    valleys = y[1::2] if peak_first else y[::2]
    np.negative(valleys, out=valleys)
    return y


def values(y: Array, peak_first: bool) -> Array:
    """The turning points again."""
    return outward(y, peak_first)


@dataclass(frozen=True)
class Closed:
    """Closed cycles (upper and lower turning point) and the rest, outward as given; its first and last point stay."""

    upper: Array
    lower: Array
    rest: Array


def _cycles(b: Array, c: Array, b_is_peak: Mask) -> tuple[Array, Array]:
    return np.where(b_is_peak, b, c), np.where(b_is_peak, -c, -b)


def _without_neighbours(take: Mask) -> None:
    """Of neighbouring candidates (equal points only) keep some that do not touch: even places first, then odd ones."""
    even, odd = take[0::2], take[1::2]
    odd &= ~even[: len(odd)]
    odd[: len(even) - 1] &= ~even[1:]


def close(y: Array, peak_first: bool) -> Closed:
    """All closed cycles of a row of turning points given as distances outward."""
    uppers, lowers = [], []
    while len(y) > 3:
        inside = y[2:] <= y[:-2]
        outside = y[2:] >= y[:-2]
        take = inside[:-1] & outside[1:]
        if (take[1:] & take[:-1]).any():
            _without_neighbours(take)
        at = np.flatnonzero(take)
        if len(at) == 0:
            break
        if len(at) < PASS_PER_POINT * len(y) + PASS_AT_ALL:
            b, c, places, y = _stack(y)
            upper, lower = _cycles(b, c, (places & 1 == 0) == peak_first)
            uppers.append(upper)
            lowers.append(lower)
            break
        # the first point of the four stands at an even place: the second is a peak if the row begins with a valley
        upper, lower = _cycles(y.take(at + 1), y.take(at + 2), (at & 1 == 1) == peak_first)
        uppers.append(upper)
        lowers.append(lower)
        stay = np.ones(len(y), bool)
        stay[1:-2] = ~take
        stay[2:-1] &= ~take
        y = y.take(np.flatnonzero(stay))
    if not uppers:
        return Closed(np.zeros(0), np.zeros(0), y)
    return Closed(np.concatenate(uppers), np.concatenate(lowers), y)


def _stack(y: Array) -> tuple[Array, Array, NDArray[np.intp], Array]:
    """The same point by point: the two points of each closed cycle, the place of the first in the stack, the rest."""
    stack: list[float] = []
    first: list[float] = []
    second: list[float] = []
    place: list[int] = []
    for start in range(0, len(y), STACK_BLOCK):
        for point in y[start : start + STACK_BLOCK].tolist():
            while len(stack) > 2 and point >= stack[-2] and stack[-1] <= stack[-3]:
                second.append(stack.pop())
                first.append(stack.pop())
                place.append(len(stack))
            stack.append(point)
    return np.array(first), np.array(second), np.array(place, np.intp), np.array(stack)
