"""The ring's quarter cell, condensed once, in its own cylindrical frame: what all copies of it share."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from .condensed import Condensed
from .mesh import Mesh
from .one_layer import Followers, followers
from .supports import Supports, cylindrical
from .system import condensed_batches, fill, node_blocks

__all__ = ["Quarter", "quarter"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Quarter:
    """frame [n, 3, 3]: columns radial, around, axial. load [n, 3, b]: base loads, condensed, in the frame. batches: its
    parts, condensed, with their matrices; they give the nodes inside back. ties: nodes that follow others.
    """

    mesh: Mesh
    frame: Array
    load: Array
    batches: tuple[Condensed, ...]
    ties: Followers | None = None

    @cached_property
    def pairs(self) -> tuple[Index, Index, Array]:
        """Upper node pairs [k] of the condensed stiffness, sorted, and their blocks [k, 9]."""
        return node_blocks(((b.cells, b.matrix) for b in self.batches), len(self.mesh.nodes), 3)

    @cached_property
    def matrix(self) -> Any:
        """The upper triangle as a sparse matrix over all 3 n components."""
        from scipy.sparse import bsr_array

        n = len(self.mesh.nodes)
        rows, columns, blocks = self.pairs
        start = np.searchsorted(rows, np.arange(n + 1))
        # a block on the diagonal holds both halves: its lower one must not count twice
        upper = blocks.reshape(-1, 3, 3).copy()
        upper[rows == columns] = np.triu(upper[rows == columns])
        return bsr_array((upper, columns, start), shape=(3 * n, 3 * n)).tocsr()

    @property
    def entries(self) -> int:
        """Entries of the parts' matrices, about those of the stiffness."""
        return sum(b.matrix.size // 2 for b in self.batches)

    @cached_property
    def used(self) -> Index:
        """Nodes that are not inside parts."""
        return np.unique(np.concatenate([b.cells.ravel() for b in self.batches]))

    def push(self, u: Array) -> Array:
        """Nodal forces [n, 3, ...] of displacements [n, 3, ...] at nodes that are not inside parts."""
        flat = u.reshape(*u.shape[:2], -1)
        out = np.zeros_like(flat)
        for b in self.batches:
            np.add.at(out, b.cells, b.push(flat).reshape(*b.cells.shape, *flat.shape[1:]))
        return out.reshape(u.shape)

    def fill(self, u: Array, weights: Array, *, cells: bool = True) -> None:
        """Put in place the displacements inside parts of u [n, 3, case] under base loads times weights [b, case].

        cells: also what is inside single cells, and so on no surface.
        """
        fill(u, self.batches, self.ties, weights, cells=cells)

    def in_frame(self, vectors: Array) -> Array:
        """Vectors [n, 3, ...] from space to the frame."""
        return np.asarray(np.einsum("nij,ni...->nj...", self.frame, vectors))

    def in_space(self, vectors: Array) -> Array:
        """Vectors [n, 3, ...] from the frame to space, the quarter cell in its own place."""
        return np.asarray(np.einsum("nij,nj...->ni...", self.frame, vectors))


def quarter(mesh: Mesh, material: Material, loads: Array) -> Quarter:
    """Condense the quarter cell with base loads [n, 3, b] given in space."""
    n = len(mesh.nodes)
    supports = Supports(n, 3)
    frame = cylindrical(np.arctan2(mesh.nodes[:, 1], mesh.nodes[:, 0]))
    supports.turn(np.arange(n), frame)
    forces = supports.to_frames(loads)
    ties = followers(mesh, frame)
    if ties is not None:
        forces = ties.gather(forces)
    batches = tuple(condensed_batches(mesh, material, supports, forces, ties))
    load = forces.copy()
    for b in batches:
        within: Condensed | None = b
        while within is not None:
            load[within.inner] = 0.0
            within = within.within
        np.add.at(load, b.cells, b.load.reshape(*b.cells.shape, 3, loads.shape[2]))
    return Quarter(mesh, frame, load, batches, ties)
