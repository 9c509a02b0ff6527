"""Many cycles in little memory: those of equal classes are counted together, rounded outward.

Classes are steps of one width from `origin`. Upper turning points are rounded up, lower ones down, so no range becomes
smaller and none grows by more than two steps. The step doubles when the range of the signal outgrows `classes` steps; every
second line of the old grid is a line of the new one, so the result is that of the new step from the beginning.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .cycles import Cycles

__all__ = ["CycleGrid"]

Array = NDArray[np.float64]
Keys = NDArray[np.int64]

# a value this share of a step beside a line lies on it: values such as 0.1 k are not exact in binary
ON_LINE = 1e-9
# keys waiting to be counted
WAITING = 1 << 21
HALF = 1 << 30


class CycleGrid:
    """Counts of cycles by classes of upper and lower turning point. `step`: width of a class, in the signal's unit."""

    def __init__(self, least: float, most: float, *, classes: int, step: float | None = None) -> None:
        self.classes = classes
        # room for twice the range seen, so that the step rarely doubles
        self.step = step if step is not None else (most - least) * (2.0 / classes)
        while most - least > classes * self.step:
            self.step *= 2.0
        self.origin = self.step * math.floor(least / self.step)
        self._keys: Keys = np.zeros(0, np.int64)
        self._count: Keys = np.zeros(0, np.int64)
        self._waiting: list[Keys] = []
        self._many = 0

    def fit(self, least: float, most: float) -> bool:
        """Double the step until the range fits; True if it did."""
        doubled = False
        while most - least > self.classes * self.step:
            self._settle()
            self.step *= 2.0
            upper, lower = self._split(self._keys)
            # ceil(k / 2) and floor(k / 2)
            self._merge(self._pack(-(-upper // 2), lower // 2), self._count)
            doubled = True
        return doubled

    def _up(self, x: Array) -> Array:
        return np.ceil((x - self.origin) / self.step - ON_LINE)

    def _down(self, x: Array) -> Array:
        return np.floor((x - self.origin) / self.step + ON_LINE)

    def outward(self, y: Array, peak_first: bool) -> Array:
        """Turning points given as distances outward, moved outward onto the grid."""
        moved = np.empty_like(y)
        peaks, valleys = (
            (slice(0, None, 2), slice(1, None, 2)) if peak_first else (slice(1, None, 2), slice(0, None, 2))
        )
        moved[peaks] = self.origin + self.step * self._up(y[peaks])
        moved[valleys] = -(self.origin + self.step * self._down(-y[valleys]))
        return moved

    @staticmethod
    def _pack(upper: Keys, lower: Keys) -> Keys:
        return (upper + HALF) << 32 | (lower + HALF)

    @staticmethod
    def _split(keys: Keys) -> tuple[Keys, Keys]:
        return (keys >> 32) - HALF, (keys & 0xFFFFFFFF) - HALF

    def add(self, upper: Array, lower: Array) -> None:
        """Count whole cycles."""
        self._waiting.append(self._pack(self._up(upper).astype(np.int64), self._down(lower).astype(np.int64)))
        self._many += len(upper)
        if self._many > WAITING:
            self._settle()

    def _settle(self) -> None:
        if self._waiting:
            fresh = np.concatenate(self._waiting)
            self._waiting, self._many = [], 0
            fresh.sort()
            ends = np.append(np.flatnonzero(fresh[1:] != fresh[:-1]), len(fresh) - 1) if len(fresh) else fresh
            count = np.diff(ends, prepend=-1)
            self._merge(np.concatenate([self._keys, fresh[ends]]), np.concatenate([self._count, count]))

    def _merge(self, keys: Keys, count: Keys) -> None:
        if len(keys) == 0:
            return
        order = np.argsort(keys, kind="stable")
        keys = keys[order]
        starts = np.append(0, np.flatnonzero(keys[1:] != keys[:-1]) + 1)
        self._keys, self._count = keys[starts], np.add.reduceat(count[order], starts)

    def cycles(self) -> Cycles:
        """All that was added."""
        self._settle()
        upper, lower = (self.origin + self.step * k.astype(np.float64) for k in self._split(self._keys))
        return Cycles(upper, lower, self._count.astype(np.float64))
