"""Columns far from the slot, where the displacement is one polynomial through the whole wall.

Near the edge the stress bends within a corner radius, so cells are thin there; farther away nothing is left of that. Some of
a column's nodes through the wall then lead, and the rest follow on the polynomial through them; so do the nodes on
the sides that near columns share with far ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .condensed import Condensed
from .reference import Orders, lagrange, lobatto

if TYPE_CHECKING:
    from .mesh import Mesh

__all__ = ["Followers", "OneLayer", "followers", "one_layer"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class OneLayer:
    """far [column]: which columns of a mesh are one layer; node [k, wall]: the nodes through the wall that are tied, those
    of these columns; leads [q + 1]: which of a line lead; places [q + 1]: where these lie on [-1, 1]; weight
    [wall, q + 1]: all of a line from those that lead.
    """

    far: NDArray[np.bool_]
    node: Index
    leads: Index
    places: tuple[float, ...]
    weight: Array

    def cells(self, columns: Index, orders: Orders) -> Index:
        """The hexahedra [e, n] of one layer, from columns of a mesh [column, layer, n]."""
        p, r, q = orders
        own = columns[self.far].reshape(-1, columns.shape[1], p + 1, r + 1, q + 1)
        lines = own[..., :-1].transpose(0, 2, 3, 1, 4).reshape(len(own), p + 1, r + 1, -1)
        lines = np.concatenate([lines, own[:, -1, ..., -1:]], -1)
        return np.asarray(lines[..., self.leads].reshape(len(own), -1))


def one_layer(far: NDArray[np.bool_], node: Index, share: Array, order: int) -> OneLayer:
    """share [wall]: where nodes lie through the wall, 0 to 1. Those nearest to the order's own nodes lead."""
    x = 2.0 * share - 1.0
    free = np.ones(x.size, dtype=bool)
    leads = []
    for wanted in lobatto(order):
        leads.append(int(np.argmin(np.where(free, np.abs(x - wanted), np.inf))))
        free[leads[-1]] = False
    at = lagrange(order, x)[0]
    weight = at @ np.linalg.inv(at[leads])
    return OneLayer(far, node, np.array(leads), tuple(float(v) for v in x[leads]), weight)


class Followers:
    """The ties of a mesh in its nodes' frames [n, dim, dim] (space where None)."""

    def __init__(self, one: OneLayer, nodes: int, frame: Array | None) -> None:
        self.one = one
        self.line = np.full(nodes, -1, dtype=np.intp)
        self.line[one.node] = np.arange(len(one.node))[:, None]
        dim = 3
        if frame is None:
            tie = np.einsum("wq,ij->wiqj", one.weight, np.eye(dim))[None].repeat(len(one.node), 0)
        else:
            own = frame[one.node]
            lead = own[:, one.leads]
            tie = np.einsum("wq,kwmi,kqmj->kwiqj", one.weight, own, lead, optimize=True)
        # [line, 3 wall, 3 (q + 1)]: displacements of a line from those that lead it
        self.tie = tie.reshape(len(one.node), dim * one.weight.shape[0], -1)

    def gather(self, forces: Array) -> Array:
        """Forces [n, dim, case] with those on followers carried on to the nodes that lead, by virtual work."""
        one = self.one
        out = forces.copy()
        own = forces[one.node].reshape(*self.tie.shape[:2], -1)
        out[one.node] = 0.0
        lead = self.tie.transpose(0, 2, 1) @ own
        out[one.node[:, one.leads]] = lead.reshape(*one.node[:, one.leads].shape, *forces.shape[1:])
        return out

    def fill(self, u: Array) -> None:
        """Put in place the displacements of followers in u [n, dim, case]."""
        one = self.one
        lead = u[one.node[:, one.leads]].reshape(len(one.node), self.tie.shape[2], -1)
        u[one.node] = (self.tie @ lead).reshape(*one.node.shape, *u.shape[1:])

    def alike(self, columns: Index, sides: Index) -> list[Index]:
        """Columns of a mesh [column, layer, n] of several layers, sorted by which of their sides' nodes are tied; sides:
        local numbers of these nodes.
        """
        near = columns[~self.one.far]
        kinds, kind = np.unique(self.line[near[:, 0, sides]] >= 0, axis=0, return_inverse=True)
        return [near[kind.ravel() == k] for k in range(len(kinds))]

    def tied(self, part: Condensed) -> Condensed:
        """Columns [e, side nodes x wall], of which the same side nodes are tied, by the nodes that lead there."""
        one, wall = self.one, self.one.weight.shape[0]
        lines = part.cells.reshape(len(part.cells), -1, wall)
        own = self.line[lines[:, :, 0]]
        kind = own[0] >= 0
        if not kind.any():
            return part
        many = self.tie.shape[1]
        # runs of free lines stay as they are, each tied line shrinks
        starts = np.flatnonzero(np.concatenate([[True], kind[1:] | kind[:-1]]))
        runs = [(int(i), int(j)) for i, j in zip(starts, np.append(starts[1:], kind.size), strict=True)]
        ties = {i: np.ascontiguousarray(self.tie[own[:, i]].transpose(0, 2, 1)) for i, _ in runs if kind[i]}

        def shrunk(rows: Array) -> Array:
            pieces = (rows[:, i * many : j * many] for i, j in runs)
            return np.concatenate(
                [ties[i] @ piece if i in ties else piece for (i, _), piece in zip(runs, pieces, strict=True)], 1
            )

        matrix = shrunk(np.ascontiguousarray(shrunk(part.matrix).transpose(0, 2, 1)))
        cells = np.concatenate(
            [lines[:, i][:, one.leads] if i in ties else lines[:, i:j].reshape(len(lines), -1) for i, j in runs], 1
        )
        nothing = np.zeros((len(lines), 0), dtype=np.intp)
        empty = np.zeros((len(lines), 0, cells.shape[1] * 3))
        return Condensed(
            cells, nothing, matrix, shrunk(part.load), empty, part.load[:, :0], part.without_matrix()
        )  # fmt: skip


def followers(mesh: Mesh, frame: Array | None) -> Followers | None:
    """The ties of a mesh, none where all its columns have several layers."""
    return None if mesh.one is None else Followers(mesh.one, len(mesh.nodes), frame)
