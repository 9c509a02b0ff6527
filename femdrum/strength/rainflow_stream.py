"""Rainflow counting of a signal that comes in blocks, in bounded memory however long it is."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..model.check import Checks
from .cycle_grid import CycleGrid
from .cycles import Cycles
from .four_point import close, outward, values
from .residue import Residue, count_residue, known_residue
from .turning_points import TurningPoints, signal_of

__all__ = ["RainflowCounter"]

Array = NDArray[np.float64]

# samples worked on at a time: they stay in the processor's cache
BLOCK = 1 << 17
# small blocks are gathered to at least this many samples
GATHER = 1 << 15
LEAST_CLASSES, MOST_CLASSES = 16, 1 << 15


class RainflowCounter:
    """Counts a signal fed in blocks of any size; the blocks' borders do not matter.

    Up to `exact_cycles` closed cycles are kept as they are. Once there are more, cycles of equal classes are counted
    together: upper turning points rounded up, lower ones down, to a grid of step `grid`. No cycle is lost and no range
    becomes smaller; none grows by more than two steps. The residue, the largest cycles in it, stays unrounded, unless
    it grows beyond 16 points a class: then turning points are rounded outward before they are counted.

    grid: step in the unit of the signal, such as the step of the recorder; None: range seen over `classes`, rounded up
    by less than twice. When the range outgrows `classes` steps, the step doubles: `grid` says the step in use, None
    while nothing is rounded. Memory: at most classes² / 2 pairs of classes, 16 bytes each, commonly a tenth of it.
    """

    def __init__(
        self, *, grid: float | None = None, classes: int = 4096, exact_cycles: int = 1_000_000
    ) -> None:  # fmt: skip
        """Raises InputFault for a step that is not above zero, or counts outside their range."""
        checks = Checks()
        checks.optional("grid", grid, "give the step in the unit of the signal, or leave it out")
        checks.whole("classes", classes, LEAST_CLASSES, MOST_CLASSES)
        checks.whole("exact_cycles", exact_cycles, 0, 10**9)
        checks.done()
        self.samples = 0
        self.least, self.most = np.inf, -np.inf
        self._asked = grid
        self._classes = classes
        self._exact_cycles = exact_cycles
        self._turns = TurningPoints()
        self._waiting: list[Array] = []
        self._many = 0
        self._rest: Array = np.zeros(0)
        self._upper: list[Array] = []
        self._lower: list[Array] = []
        self._closed = 0
        self._grid: CycleGrid | None = None
        self._rounded = False

    @property
    def grid(self) -> float | None:
        """Step to which closed cycles are rounded outward, in the unit of the signal; None while they are exact."""
        self._work()
        return None if self._grid is None else self._grid.step

    def feed(self, block: ArrayLike) -> None:
        """Count the next samples. Raises InputFault for NaN, infinity, text and arrays of another shape."""
        samples = signal_of(block, first=self.samples)
        if len(samples) == 0:
            return
        self.samples += len(samples)
        self.least = min(self.least, float(samples.min()))
        self.most = max(self.most, float(samples.max()))
        # a copy: the caller may fill the same array again
        small = len(samples) < GATHER
        self._waiting.append(samples.copy() if small else samples)
        self._many += len(samples)
        if self._many >= GATHER:
            self._work()

    def _work(self) -> None:
        if not self._waiting:
            return
        samples = self._waiting[0] if len(self._waiting) == 1 else np.concatenate(self._waiting)
        self._waiting, self._many = [], 0
        if self._grid is not None and self._grid.fit(self.least, self.most) and self._rounded:
            self._rest = self._grid.outward(self._rest, self._turns.peak_first)
        rest = [self._rest]
        for start in range(0, len(samples), BLOCK):
            points, is_peak = self._turns.feed(samples[start : start + BLOCK])
            y = outward(points, is_peak)
            if self._rounded and self._grid is not None:
                y = self._grid.outward(y, is_peak)
            rest.append(self._close(y, is_peak))
        self._rest = self._close(np.concatenate(rest), self._turns.peak_first)
        if not self._rounded and len(self._rest) > 16 * self._classes:
            self._rounded = True
            self._rest = self._close(
                self._on_grid().outward(self._rest, self._turns.peak_first), self._turns.peak_first
            )

    def _on_grid(self) -> CycleGrid:
        """The grid from now on, and all closed cycles on it."""
        if self._grid is None:
            self._grid = CycleGrid(self.least, self.most, classes=self._classes, step=self._asked)
            for upper, lower in zip(self._upper, self._lower, strict=True):
                self._grid.add(upper, lower)
            self._upper, self._lower = [], []
        return self._grid

    def _close(self, y: Array, peak_first: bool) -> Array:
        """Close cycles, keep them, return the rest."""
        closed = close(y, peak_first)
        self._closed += len(closed.upper)
        if self._grid is None and self._closed > self._exact_cycles:
            self._on_grid()
        if self._grid is not None:
            self._grid.add(closed.upper, closed.lower)
        else:
            self._upper.append(closed.upper)
            self._lower.append(closed.lower)
        return closed.rest

    def cycles(self, residue: Residue = "half") -> Cycles:
        """Cycles of all samples so far, residue by the rule named as in `rainflow`; feeding may go on afterwards.

        Cycles that were counted together have counts above 1. Raises InputFault for unknown rules, and while fewer
        than two samples were fed.
        """
        known_residue(residue)
        self._work()
        if self.samples < 2:
            checks = Checks()
            checks.add("signal", f"{self.samples} samples", "must have at least two samples", "feed the history first")
            checks.done()
        last = outward(self._turns.rest(), self._turns.next_is_peak)
        if self._rounded and self._grid is not None:
            last = self._grid.outward(last, self._turns.next_is_peak)
        closed = close(np.concatenate([self._rest, last]), self._turns.peak_first)
        left = count_residue(values(closed.rest, self._turns.peak_first), residue)
        upper = [*self._upper, closed.upper, left.upper]
        lower = [*self._lower, closed.lower, left.lower]
        count = [np.ones(sum(map(len, upper[:-1]))), left.count]
        if self._grid is not None:
            together = self._grid.cycles()
            upper, lower, count = [together.upper, *upper], [together.lower, *lower], [together.count, *count]
        return Cycles(np.concatenate(upper), np.concatenate(lower), np.concatenate(count))
