"""Parts of a mesh without the nodes inside them: what others see of a part is its outer nodes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

__all__ = ["Condensed", "condense", "condense_cells"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

_NOTHING = np.empty(0)


@dataclass(frozen=True)
class Condensed:
    """A batch of parts [e, outer nodes] with matrices [e, b, b] and loads [e, b, case], and what gives the nodes
    inside them, inner [e, inner nodes], back. within: the cells that they were made of, themselves condensed before.
    """

    cells: Index
    inner: Index
    matrix: Array
    load: Array
    inner_from_outer: Array
    inner_load: Array
    within: Condensed | None = None

    def without_matrix(self) -> Condensed:
        """The same, its matrices let go: they are most of it."""
        return replace(self, matrix=_NOTHING)

    def some(self, which: Index) -> Condensed:
        """Some of the parts, without what is inside them."""
        return Condensed(
            self.cells[which], self.inner[which], self.matrix[which], self.load[which], _NOTHING, _NOTHING
        )  # fmt: skip

    def push(self, u: Array) -> Array:
        """Forces [e, b, case] on the outer nodes from their displacements u [n, dim, case]."""
        return np.asarray(self.matrix @ u[self.cells].reshape(len(self.cells), -1, u.shape[2]))

    def fill(self, u: Array, weights: Array | None = None, *, cells: bool = True) -> None:
        """Put in place the displacements inside of u [n, dim, case]; weights [load case, case] of the loads.

        cells: also what is inside single cells, and so on no surface.
        """
        if self.inner.size and (cells or self.within is not None):
            outer = u[self.cells].reshape(len(self.cells), -1, u.shape[2])
            own = self.inner_load if weights is None else self.inner_load @ weights
            u[self.inner] = (own - self.inner_from_outer @ outer).reshape(*self.inner.shape, *u.shape[1:])
        if self.within is not None:
            self.within.fill(u, weights, cells=cells)


def condense(
    koo: Array,
    kio: Array,
    kii: Array,
    fo: Array,
    fi: Array,
    cells: Index,
    inner: Index,
    within: Condensed | None = None,
) -> Condensed:
    """Take the inner unknowns out; k.. [e, ., .] and f. [e, ., case] by outer (o) and inner (i) unknowns. koo is used up."""
    if not inner.size:
        return Condensed(cells, inner, koo, fo, kio, fi, within)
    outer = kio.shape[2]
    both = np.linalg.solve(kii, np.concatenate([kio, fi], 2))
    taken = kio.transpose(0, 2, 1) @ both
    koo -= taken[..., :outer]
    return Condensed(cells, inner, koo, fo - taken[..., outer:], both[..., :outer], both[..., outer:], within)


def condense_cells(k: Array, cells: Index, outer: Index, inner: Index, forces: Array) -> Condensed:
    """Take the nodes inside the cells out of element matrices k [e, n dim, n dim]; forces [n, dim, case]."""
    dim = forces.shape[1]
    i, o = _components(inner, dim), _components(outer, dim)
    ko, ki = k[:, o], k[:, i]
    fi = forces[cells[:, inner]].reshape(len(cells), -1, forces.shape[2])
    fo = np.zeros((len(cells), outer.size * dim, forces.shape[2]))
    koo = np.ascontiguousarray(ko[:, :, o])
    return condense(koo, ki[:, :, o], ki[:, :, i], fo, fi, cells[:, outer], cells[:, inner])


def _components(nodes: Index, dim: int) -> Index | slice:
    """Components of local nodes, as a slice where they follow each other."""
    if nodes.size and (np.diff(nodes) == 1).all():
        return slice(dim * int(nodes[0]), dim * (int(nodes[-1]) + 1))
    return np.asarray((nodes[:, None] * dim + np.arange(dim)).ravel())
