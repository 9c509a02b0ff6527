"""Dividing lines of the drum's end: a fixed number of cells, or fine at both ends."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["counted", "pair"]

Array = NDArray[np.float64]


def counted(length: float, first: float, count: int) -> Array:
    """Ends 0 ... length of `count` cells, the first of size `first`, each larger than the last by one factor."""
    if first * count >= length * (1 - 1e-12):
        return np.linspace(0.0, length, count + 1)
    low, high = 1.0, length / first + 1.0
    for _ in range(200):
        q = math.sqrt(low * high)
        low, high = (q, high) if first * (q**count - 1) / (q - 1) < length else (low, q)
    ends = np.concatenate([[0.0], np.cumsum(first * q ** np.arange(count))])
    return np.asarray(ends * (length / ends[-1]))


def pair(length: float, first: float, last: float, growth: float) -> Array:
    """Ends 0 ... length of cells that grow by `growth` from both ends, from `first` and from `last`."""
    left, right = [first], [last]
    while sum(left) + sum(right) < length * (1 - 1e-9):
        side = left if left[-1] <= right[-1] else right
        side.append(side[-1] * growth)
    ends = np.concatenate([[0.0], np.cumsum(left + right[::-1])])
    return np.asarray(ends * (length / ends[-1]))
