"""The ring's quarter cell, condensed once, in its own cylindrical frame: what all copies of it share."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from .mesh import Mesh
from .supports import Supports, cylindrical
from .system import Condensed, condensed_batches, node_blocks

__all__ = ["Quarter", "quarter"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Quarter:
    """frame [n, 3, 3]: columns radial, around, axial. rows, columns, blocks: upper node pairs [k] of the condensed
    stiffness with blocks [k, 9]. matrix: the same as a sparse matrix over all 3 n components. load [n, 3, b]:
    base loads, condensed, in the frame. batches give the nodes inside cells back.
    """

    mesh: Mesh
    frame: Array
    rows: Index
    columns: Index
    blocks: Array
    matrix: Any
    load: Array
    batches: tuple[Condensed, ...]

    def push(self, u: Array) -> Array:
        """Nodal forces [n, 3, ...] of displacements [n, 3, ...] at nodes that are not inside cells."""
        flat = u.reshape(u.shape[0] * 3, -1)
        out = self.matrix @ flat + self.matrix.T @ flat - self.matrix.diagonal()[:, None] * flat
        return np.asarray(out.reshape(u.shape))

    def fill(self, u: Array, weights: Array) -> None:
        """Put in place the displacements inside cells of u [n, 3, case] under base loads times weights [b, case]."""
        for b in self.batches:
            if b.inner.size:
                outer = u[b.cells].reshape(len(b.cells), -1, u.shape[2])
                inner = b.inner_load @ weights - b.inner_from_outer @ outer
                u[b.inner] = inner.reshape(*b.inner.shape, 3, u.shape[2])

    def in_frame(self, vectors: Array) -> Array:
        """Vectors [n, 3, ...] from space to the frame."""
        return np.asarray(np.einsum("nij,ni...->nj...", self.frame, vectors))

    def in_space(self, vectors: Array) -> Array:
        """Vectors [n, 3, ...] from the frame to space, the quarter cell in its own place."""
        return np.asarray(np.einsum("nij,nj...->ni...", self.frame, vectors))


def quarter(mesh: Mesh, material: Material, loads: Array) -> Quarter:
    """Condense the quarter cell with base loads [n, 3, b] given in space."""
    from scipy.sparse import bsr_array

    n = len(mesh.nodes)
    supports = Supports(n, 3)
    frame = cylindrical(np.arctan2(mesh.nodes[:, 1], mesh.nodes[:, 0]))
    supports.turn(np.arange(n), frame)
    forces = supports.to_frames(loads)
    slim: list[Condensed] = []

    def parts() -> Iterator[tuple[Index, Array]]:
        for b in condensed_batches(mesh, material, supports, forces):
            slim.append(b.without_matrix())
            yield b.cells, b.matrix

    rows, columns, blocks = node_blocks(parts(), n, 3)
    load = forces.copy()
    for b in slim:
        load[b.inner] = 0.0
        np.add.at(load, b.cells, b.load.reshape(*b.cells.shape, 3, loads.shape[2]))
    start = np.searchsorted(rows, np.arange(n + 1))
    # a block on the diagonal holds both halves: its lower one must not count twice
    upper = blocks.reshape(-1, 3, 3).copy()
    upper[rows == columns] = np.triu(upper[rows == columns])
    matrix = bsr_array((upper, columns, start), shape=(3 * n, 3 * n)).tocsr()
    return Quarter(mesh, frame, rows, columns, blocks, matrix, load, tuple(slim))
