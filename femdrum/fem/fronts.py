"""A direct solution along a tree of joins: dense blocks, Cholesky by LAPACK, nothing sparse.

The parts are few and large (all cells above one another through the wall are one), so their matrices are put together
as they are. Source: multifrontal Cholesky factorisation, any text on sparse direct solution.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .front_tree import FrontTree
from .memory import require

__all__ = ["Fronts", "Part"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# bytes that an entry of the factor takes, and what waits to be joined besides
FACTOR_BYTES = 8 * 1.6


@dataclass(frozen=True)
class Part:
    """numbers [b]: unknowns, -1 where held; matrix [b, b], symmetric; sign [b] of its own unknowns against these, if any."""

    numbers: Index
    matrix: Array
    sign: Array | None = None

    def signed(self) -> Part:
        """The same without what is held, its matrix in the unknowns' signs, and no unknown twice (a part may be tied to
        itself).
        """
        matrix = self.matrix if self.sign is None else self.matrix * (self.sign[:, None] * self.sign)
        numbers, there = self.numbers, np.flatnonzero(self.numbers >= 0)
        if there.size < numbers.size:
            numbers, matrix = numbers[there], matrix[np.ix_(there, there)]
        if (np.diff(np.sort(numbers)) > 0).all():
            return Part(numbers, matrix)
        once, inverse = np.unique(numbers, return_inverse=True)
        summed = np.zeros((once.size, once.size))
        np.add.at(summed, (inverse[:, None], inverse), matrix)
        return Part(once, summed)


@dataclass(frozen=True)
class _Front:
    """Unknowns that go here, and those that stay; the factor's blocks."""

    gone: Index
    stay: Index
    square: Array
    below: Array


class Fronts:
    """The sum of the parts' matrices, factored. Raises RuntimeError where it is not positive definite, OverBudget where
    the factor does not fit into memory.
    """

    def __init__(self, tree: FrontTree, parts: Sequence[Part], unknowns: int) -> None:
        self.unknowns, self._parts = unknowns, parts
        # as the tree meets them: unknowns of a side then follow one another, and blocks are added whole
        met, first = np.unique(np.concatenate([parts[i].numbers for i in tree.order]), return_index=True)
        self._met = met[np.argsort(first)]
        self._met = self._met[self._met >= 0]
        rank = np.full(unknowns + 1, -1)
        rank[self._met] = np.arange(self._met.size)
        self._fronts: list[_Front] = []
        self._factor(tree, [rank[part.numbers] for part in parts])

    def apply(self, x: Array) -> Array:
        """The sum of the parts' matrices times x [unknowns, cases]."""
        whole = np.vstack([x, np.zeros((1, x.shape[1]))])  # what is held lands in the spare last row
        out = np.zeros_like(whole)
        for part in self._parts:
            if part.sign is None:
                np.add.at(out, part.numbers, part.matrix @ whole[part.numbers])
            else:
                sign = part.sign[:, None]
                np.add.at(out, part.numbers, sign * (part.matrix @ (sign * whole[part.numbers])))
        return np.asarray(out[:-1])

    @property
    def largest(self) -> float:
        """The largest entry of a part, about that of the sum."""
        return max(float(np.abs(part.matrix.diagonal()).max()) for part in self._parts)

    def solve(self, rhs: Array) -> Array:
        """All columns of rhs [unknowns, cases]."""
        from scipy.linalg.blas import dtrsm

        y = rhs[self._met]
        for f in self._fronts:
            z = dtrsm(1.0, f.square, y[f.gone], lower=1)
            y[f.gone] = z
            y[f.stay] -= f.below @ z
        for f in reversed(self._fronts):
            y[f.gone] = dtrsm(1.0, f.square, y[f.gone] - f.below.T @ y[f.stay], lower=1, trans_a=1)
        out = np.zeros_like(rhs)
        out[self._met] = y
        return out

    def _factor(self, tree: FrontTree, ranks: Sequence[Index]) -> None:
        gone, stay = _symbolic(tree, ranks, self.unknowns)
        size = sum(g.size * (g.size + s.size) for g, s in zip(gone, stay, strict=True))
        require(self.unknowns, FACTOR_BYTES * size, "the factor of a system")
        place = np.zeros(self.unknowns, dtype=np.intp)
        waiting: dict[int, tuple[Index, Array]] = {}
        for join, children in enumerate(tree.children):
            if not children:
                at = tree.order[tree.first[join]]
                part = replace(self._parts[at], numbers=ranks[at]).signed()
                pieces = [(part.numbers, part.matrix.T)]
                if not gone[join].size:
                    waiting[join] = pieces[0]
                    continue
            else:
                pieces = [waiting.pop(child) for child in children]
            n, m = gone[join].size, stay[join].size
            place[gone[join]] = np.arange(n)
            place[stay[join]] = n + np.arange(m)
            square, below, rest = (np.zeros(shape, order="F") for shape in ((n, n), (m, n), (m, m)))
            for numbers, matrix in pieces:
                _add(square, below, rest, place[numbers], matrix)
            waiting[join] = stay[join], self._eliminate(gone[join], stay[join], square, below, rest)

    def _eliminate(self, gone: Index, stay: Index, square: Array, below: Array, rest: Array) -> Array:
        from scipy.linalg.blas import dsyrk, dtrsm
        from scipy.linalg.lapack import dpotrf

        if not gone.size:
            return rest
        square, info = dpotrf(square, lower=1, clean=0, overwrite_a=1)
        if info:
            raise RuntimeError("the matrix is not positive definite")
        if stay.size:
            below = dtrsm(1.0, square, below, side=1, lower=1, trans_a=1, overwrite_b=1)
            rest = dsyrk(-1.0, below, beta=1.0, c=rest, lower=1, overwrite_c=1)
        self._fronts.append(_Front(gone, stay, square, below))
        return np.asarray(rest)


def _symbolic(tree: FrontTree, parts: Sequence[Index], unknowns: int) -> tuple[list[Index], list[Index]]:
    """Unknowns that go at each join, and those that stay, in the order of the join above."""
    low, high = np.full(unknowns, len(parts)), np.full(unknowns, -1)
    own = [parts[i][parts[i] >= 0] for i in tree.order]
    for at, numbers in enumerate(own):
        high[numbers] = at
    for at in reversed(range(len(own))):
        low[own[at]] = at
    gone: list[Index] = []
    stay: list[Index] = []
    met = np.zeros(unknowns, dtype=bool)
    for join, children in enumerate(tree.children):
        for seen in (stay[child] for child in children) if children else [own[tree.first[join]]]:
            met[seen] = True
        seen = np.flatnonzero(met)
        met[seen] = False
        done = (high[seen] < tree.last[join]) & (low[seen] >= tree.first[join])
        gone.append(seen[done])
        stay.append(seen[~done])
    place = np.zeros(unknowns, dtype=np.intp)
    for join in reversed(range(len(tree.children))):
        place[gone[join]] = np.arange(gone[join].size)
        place[stay[join]] = gone[join].size + np.arange(stay[join].size)
        for child in tree.children[join]:
            stay[child] = stay[child][np.argsort(place[stay[child]], kind="stable")]
    return gone, stay


def _add(square: Array, below: Array, rest: Array, at: Index, matrix: Array) -> None:
    """Add the lower triangle of matrix [k, k] at rows and columns `at` of a front."""
    n = len(square)
    breaks = np.flatnonzero((np.diff(at) != 1) | (at[1:] == n)) + 1
    runs = [(int(at[a]), int(a), int(b)) for a, b in zip(np.append(0, breaks), np.append(breaks, at.size), strict=True)]
    runs.sort()
    for i, (row, a, b) in enumerate(runs):
        for column, c, d in runs[: i + 1]:
            if row < n:
                target = square[row : row + b - a, column : column + d - c]
            elif column < n:
                target = below[row - n : row - n + b - a, column : column + d - c]
            else:
                target = rest[row - n : row - n + b - a, column - n : column - n + d - c]
            target += matrix[a:b, c:d]
