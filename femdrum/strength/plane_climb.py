"""From planes near a top to the top: Newton's method on the half sphere, no farther at once than trusted."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .plane_measure import Paths, Seen
from .plane_rows import frame
from .plane_terms import Terms

__all__ = ["climb", "newton", "turned"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

TRUST_RAD, MOST_TRUST_RAD, LEAST_TRUST_RAD = 0.02, 0.1, 1e-8
TURNS = 60
# a gain below this share of the size of value and curvature is none
GAIN = 1e-14
# curvatures below this share of the size count as none
FLAT = 1e-9


def turned(n: Array, step: Array) -> Array:
    """Unit normals [case, 3] turned by step [2, case], rad, along the directions of their frame."""
    first, second = frame(n)
    long = np.hypot(step[0], step[1])
    turn = step[0][:, None] * first + step[1][:, None] * second
    new = n * np.cos(long)[:, None] + turn * np.sinc(long / np.pi)[:, None]
    unit: Array = new / np.sqrt((new * new).sum(axis=1, keepdims=True))
    return unit


def newton(terms: Terms) -> tuple[Array, Array, Array]:
    """Step [2, case] to the top of a quadratic, uphill where it curves upward; the gain to expect; the size of the terms."""
    a, b, c = terms.curvature
    size = np.abs(terms.value) + np.abs(terms.curvature).max(axis=0)
    # principal curvatures and their axes
    middle, half = 0.5 * (a + c), np.hypot(0.5 * (a - c), b)
    angle = 0.5 * np.arctan2(2.0 * b, a - c)
    cos, sin = np.cos(angle), np.sin(angle)
    floor = FLAT * size + 1e-300
    high, low = np.maximum(np.abs(middle + half), floor), np.maximum(np.abs(middle - half), floor)
    along, across = cos * terms.slope[0] + sin * terms.slope[1], cos * terms.slope[1] - sin * terms.slope[0]
    u, v = along / high, across / low
    return np.stack([cos * u - sin * v, sin * u + cos * v]), 0.5 * (along * u + across * v), size


def climb(paths: Paths, place: Index, n: Array, seen: Seen) -> tuple[Array, Seen]:
    """Tops near planes n [case, 3] of the places [case], and what is seen there; `seen`: at n."""
    n, seen = n.copy(), seen.of(np.arange(len(place)))
    trust = np.full(len(place), TRUST_RAD)
    on = np.arange(len(place))
    for _ in range(TURNS):
        now = seen.of(on)
        step, gain, size = newton(paths.terms(place[on], n[on], now))
        long = np.hypot(step[0], step[1])
        share = np.minimum(1.0, trust[on] / np.maximum(long, 1e-300))
        go = np.flatnonzero((gain * share > GAIN * size) & (trust[on] > LEAST_TRUST_RAD))
        if not len(go):
            break
        on, long = on[go], long[go] * share[go]
        m = turned(n[on], step[:, go] * share[go])
        new = paths.look_at(place[on], m, now.support[go])
        better = new.value > now.value[go]
        trust[on] = np.where(better, np.minimum(2.0 * trust[on], MOST_TRUST_RAD), 0.25 * long)
        up = np.flatnonzero(better)
        n[on[up]] = m[up]
        seen.put(on[up], new.of(up))
    return n, seen
