"""The coarse space of a mesh: functions of first order on the same cells, in the nodes' own frames."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .mesh import Mesh
from .one_layer import OneLayer
from .reference import Orders, lobatto

__all__ = ["Corners", "corners_of", "following", "prolongation"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Corners:
    """Each node of a mesh as a mean of cell corners. place [n, dim] in mm; corner [n, c]: their node numbers; weight
    [n, c], zero where a node has fewer. frame [n, dim, dim]: in which displacements are written, space where None.
    """

    place: Array
    corner: Index
    weight: Array
    frame: Array | None = None

    def blocks(self, nodes: Index) -> Array:
        """[k, c, dim, dim] for some nodes: what a corner's displacement gives the node's, each in its own frame."""
        weight = self.weight[nodes][..., None, None]
        if self.frame is None:
            return np.asarray(weight * np.eye(self.place.shape[1]))
        at = self.frame[self.corner[nodes]]
        return np.asarray(weight * np.einsum("nji,ncjl->ncil", self.frame[nodes], at, optimize=True))

    def is_corner(self) -> NDArray[np.bool_]:
        """[n]: nodes that are corners."""
        out = np.zeros(len(self.place), dtype=bool)
        out[self.corner[self.weight > 0]] = True
        return out


def _cell_corners(orders: Orders) -> tuple[Index, Array]:
    """Local numbers [c] of a cell's corners, and the corners' weights at all its nodes [n, c]."""
    number = np.arange(int(np.prod([p + 1 for p in orders]))).reshape([p + 1 for p in orders])
    weight: Array = np.ones((1, 1))
    for p in orders:
        at = 0.5 * (lobatto(p) + 1.0)
        weight = np.asarray(np.kron(weight, np.stack([1.0 - at, at], -1)))
    return number[tuple(slice(None, None, p) for p in orders)].ravel(), weight


def corners_of(mesh: Mesh, frame: Array | None = None) -> Corners:
    """Of a drawn mesh."""
    local, weight = _cell_corners(mesh.orders)
    n = len(mesh.nodes)
    owner, place = np.zeros(n, dtype=np.intp), np.zeros(n, dtype=np.intp)
    owner[mesh.cells] = np.arange(len(mesh.cells))[:, None]
    place[mesh.cells] = np.arange(mesh.cells.shape[1])
    corner, share = mesh.cells[owner][:, local], weight[place]
    if mesh.one is not None:
        corner, share = _through_wall(mesh.one, corner, share)
    return Corners(mesh.nodes, corner, share, frame)


def _through_wall(one: OneLayer, corner: Index, share: Array) -> tuple[Index, Array]:
    """Corners inside the wall of columns of one layer, given by those at its two surfaces."""
    n = len(corner)
    outer, bore, depth = np.arange(n), np.arange(n), np.zeros(n)
    outer[one.node], bore[one.node] = one.node[:, :1], one.node[:, -1:]
    depth[one.node] = 0.5 * (one.weight @ np.array(one.places) + 1.0)
    low = share * depth[corner]
    return np.concatenate([outer[corner], bore[corner]], 1), np.concatenate([share - low, low], 1)


def prolongation(parts: Sequence[tuple[Corners, Index, Array]], numbers: Index, unknowns: int) -> tuple[Any, Index]:
    """Sparse [unknowns, corner unknowns], and the corners' own numbers among the unknowns.

    parts: corners of a mesh, the whole's node number of each of its nodes [n], and their signs [n, dim]; numbers
    [node, dim]: unknowns of the whole's nodes, -1 where held.
    """
    from scipy.sparse import csr_array

    corner = np.zeros(len(numbers), dtype=bool)
    for c, node, _ in parts:
        corner[node[c.is_corner()]] = True
    there = corner[:, None] & (numbers >= 0)
    column = np.full(numbers.shape, -1, dtype=np.intp)
    column[there] = np.arange(int(there.sum()))
    done = np.zeros(len(numbers), dtype=bool)
    rows, columns, values = [], [], []
    for c, node, sign in parts:
        new, first = np.unique(node, return_index=True)
        own = first[~done[new] & (numbers[new] >= 0).any(1)]
        done[new] = True
        at = c.corner[own]
        block = c.blocks(own) * sign[own][:, None, :, None] * sign[at][:, :, None, :]
        row, to = np.broadcast_arrays(numbers[node[own]][:, None, :, None], column[node[at]][:, :, None, :])
        keep = (row >= 0) & (to >= 0) & (np.abs(block) > 1e-14)
        rows.append(row[keep])
        columns.append(to[keep])
        values.append(block[keep])
    place = np.concatenate(rows), np.concatenate(columns)
    return csr_array((np.concatenate(values), place), shape=(unknowns, int(there.sum()))), numbers[there]


def following(coarse: Any, at: Index, reduction: Any, followers: Index) -> Any:
    """The coarse space of the unknowns that are solved for, where others (`followers`) follow them by `reduction`.

    A corner that follows takes the value that the coarse functions have at the nodes it follows.
    """
    free = np.ones(coarse.shape[0], dtype=bool)
    free[followers] = False
    leads = free[at]
    own = coarse[free]
    lead = own[:, leads]
    return (lead + own[:, ~leads] @ (reduction[at[~leads]] @ lead)).tocsr()
