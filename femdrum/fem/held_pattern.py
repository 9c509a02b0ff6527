"""One sparsity pattern for systems that differ only in which unknowns are held: ordered and analysed once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Held", "HeldPattern"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


class HeldPattern:
    """The lower triangle (scipy csc, rows sorted) over all unknowns, those included that one system or the other holds.

    A held unknown keeps its row and column with zeros and a one on the diagonal, so that order and fill are worked
    out once for all of them.
    """

    def __init__(self, lower: Any) -> None:
        self.lower = lower
        self.unknowns = int(lower.shape[0])

    @cached_property
    def _columns(self) -> NDArray[np.intp]:
        return np.repeat(np.arange(self.unknowns), np.diff(self.lower.indptr))

    @cached_property
    def _diagonal(self) -> NDArray[np.intp]:
        """Places of the diagonal in the data: first in each column."""
        first = np.asarray(self.lower.indptr[:-1], dtype=np.intp)
        assert np.array_equal(self.lower.indices[first], np.arange(self.unknowns))
        return first

    def analysed(self, threads: int) -> Any:
        """The symbolic factor of rslab, worked out on the first call."""
        if not hasattr(self, "_symbolic"):
            import rslab

            self._symbolic = rslab.analyze(self.lower, path="ldlt", threads=threads)
        return self._symbolic

    def held(self, free: Mask) -> Held:
        """The system that holds all unknowns but `free` [unknowns]."""
        data = np.where(free[self.lower.indices] & free[self._columns], self.lower.data, 0.0)
        stiffness = float(np.abs(self.lower.data[self._diagonal]).max())
        data[self._diagonal[~free]] = stiffness  # of the size of the rest, so that scaling does not see it
        return Held(self, free, data)


@dataclass(frozen=True)
class Held:
    """One of the systems. free [unknowns of the pattern]; data: values of its lower triangle in the pattern's order."""

    pattern: HeldPattern
    free: Mask
    data: Array

    def whole(self, short: Array) -> Array:
        """Columns over the free unknowns -> over all, zero where held."""
        out = np.zeros((self.free.size, short.shape[1]))
        out[self.free] = short
        return out

    def apply(self, x: Array) -> Array:
        """A x over the free unknowns."""
        lower, full = self._matrix, self.whole(x)
        out = lower @ full + lower.T @ full - self.data[self.pattern._diagonal][:, None] * full
        return np.asarray(out[self.free])

    @cached_property
    def _matrix(self) -> Any:
        from scipy.sparse import csc_array

        like = self.pattern.lower
        return csc_array((self.data, like.indices, like.indptr), shape=like.shape)
