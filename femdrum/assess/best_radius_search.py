"""The least value of a function that may have kinks, as the larger of several smooth ones has: sample, refine, verify."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

__all__ = ["Least", "least", "stretch_below"]

TIE = 1e-6  # relative; a limit is taken where it is as good as the best inside
WORTH = 0.03  # relative; a valley of the samples that ends this far above the best is not searched
STEPS = (0.002, 0.01, 0.04)  # neighbours that are looked at, as shares of the range
ROUNDS = 4


@dataclass(frozen=True)
class Least:
    """Where the least value was found, and all that was looked at, in rising order.

    verified: no neighbour at STEPS is lower.
    """

    x: float
    value: float
    xs: tuple[float, ...]
    values: tuple[float, ...]
    verified: bool


def least(
    function: Callable[[float], float], low: float, high: float, *, samples: int = 17, tolerance: float = 2e-4
) -> Least:
    """The least value on low <= x <= high.

    The samples crowd towards `high`. Every valley among them is searched by a bounded scalar minimiser, which
    needs no slope; then the neighbours of the best are looked at. tolerance: of x, as a share of the range.
    """
    from scipy.optimize import minimize_scalar

    known: dict[float, float] = {}

    def value(x: float) -> float:
        if x not in known:
            known[x] = function(x)
        return known[x]

    def search(a: float, b: float) -> None:
        minimize_scalar(lambda x: value(float(x)), bounds=(a, b), method="bounded", options={"xatol": tolerance * span})

    span = high - low
    x = low + span * np.sin(np.linspace(0.0, 0.5 * math.pi, samples))
    x[-1] = high
    grid = [float(v) for v in x]
    at = [value(v) for v in grid]
    for i, here in enumerate(at):
        before, after = max(i - 1, 0), min(i + 1, samples - 1)
        if here <= min(at[before], at[after]) and here <= (1 + WORTH) * min(at):
            search(grid[before], grid[after])
    verified = False
    for _ in range(ROUNDS):
        best = min(known, key=known.__getitem__)
        neighbours = [v for s in STEPS for v in (best - s * span, best + s * span) if low <= v <= high]
        lower = [v for v in neighbours if value(v) < known[best] * (1 - TIE)]
        if not lower:
            verified = True
            break
        found = min(lower, key=value)
        reach = 2 * abs(found - best)
        search(max(low, found - reach), min(high, found + reach))
    best = min(known, key=known.__getitem__)
    for end in (low, high):
        if value(end) <= known[best] * (1 + TIE):
            best = end
    xs = sorted(known)
    return Least(best, known[best], tuple(xs), tuple(known[v] for v in xs), verified)


def stretch_below(function: Callable[[float], float], found: Least, level: float) -> tuple[float, float]:
    """The stretch around the least value on which the function stays at or below `level`; it may end at a limit."""
    from scipy.optimize import brentq

    def end(step: int) -> float:
        i = found.xs.index(found.x)
        while 0 <= i + step < len(found.xs):
            if found.values[i + step] > level:
                a, b = found.xs[i], found.xs[i + step]
                return float(
                    brentq(lambda x: function(float(x)) - level, a, b, xtol=1e-4 * (found.xs[-1] - found.xs[0]))
                )
            i += step
        return found.xs[i]

    return end(-1), end(1)
