"""A side of a section that may touch another: its places, normals, and which of its places a point looks at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault
from .harmonic_section import Section
from .reference import derivative_matrix, lagrange, lobatto

__all__ = ["Hit", "Side"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# halvings until a place on a side is exact
STEPS = 54
# what is beyond an end by less than this share of a cell is on the side
SLACK = 1e-8


@dataclass(frozen=True, eq=False)
class Hit:
    """Places on a side, one for each point [q]: its cell, xi in it, and whether there is one at all."""

    cell: Index
    xi: Array
    found: NDArray[np.bool_]

    @property
    def along(self) -> Array:
        """Number of the cell plus the share of it [those found]."""
        return np.asarray((self.cell + 0.5 * (self.xi + 1))[self.found])


@dataclass(frozen=True, eq=False)
class Side:
    """A curve of a section as cells' sides: nodes [k], their places [k, 2], places of cells [c, order + 1, 2]; turn: +1 where
    the outward normal is to the right of the direction of running, else -1.
    """

    order: int
    nodes: Index
    place: Array
    cells: Array
    turn: float

    @classmethod
    def of(cls, section: Section, curve: str) -> Side:
        """The side of a section. Raises InputFault for an unknown curve."""
        if curve not in section.curves:
            raise InputFault(Fault("curve", curve, f"must be one of {', '.join(section.curves)}"))
        nodes, p = section.curves[curve], section.order
        index = np.arange((nodes.size - 1) // p)[:, None] * p + np.arange(p + 1)
        place = section.nodes[nodes]
        first = nodes[: p + 1]
        inside = section.nodes[section.cells[np.argmax(np.isin(section.cells, first).sum(1))]].mean(0)
        along, inward = place[p] - place[0], inside - place[: p + 1].mean(0)
        return cls(p, nodes, place, place[index], 1.0 if along[0] * inward[1] - along[1] * inward[0] > 0 else -1.0)

    def at(self, cell: Index, xi: Array) -> tuple[Array, Array, Array]:
        """Places [q, 2], tangents [q, 2] (per xi) and shape functions [q, order + 1] at xi [q] in cells [q]."""
        values, slopes = lagrange(self.order, xi)
        places = self.cells[cell]
        return np.einsum("qa,qad->qd", values, places), np.einsum("qa,qad->qd", slopes, places), values

    def normals(self, tangents: Array) -> Array:
        """Outward unit normals [q, 2]."""
        n = np.stack([tangents[:, 1], -tangents[:, 0]], -1) * self.turn
        return np.asarray(n / np.linalg.norm(n, axis=-1)[:, None])

    @property
    def tangents(self) -> Array:
        """At the cells' nodes [c, order + 1, 2], per xi."""
        return np.asarray(np.einsum("ab,cbd->cad", derivative_matrix(self.order), self.cells))

    @property
    def node_normals(self) -> Array:
        """Outward normals [k, 2] at the nodes, mean of both cells where they meet."""
        slopes = self.tangents
        slopes = slopes / np.linalg.norm(slopes, axis=-1, keepdims=True)
        total = np.zeros_like(self.place)
        np.add.at(total, self.columns(np.arange(len(self.cells))), slopes)
        return self.normals(total)

    def columns(self, cell: Index) -> Index:
        """Numbers along the curve of the nodes of cells, [q, order + 1]."""
        return np.asarray(cell[:, None] * self.order + np.arange(self.order + 1))

    def looked_at(self, points: Array, way: Array) -> Hit:
        """Where straight lines through points [q, 2] along way [q, 2] meet this side."""
        return self._root(
            points,
            way,
            lambda x, tangent, point, to: (x - point)[..., 0] * to[..., 1] - (x - point)[..., 1] * to[..., 0],
        )

    def foot(self, points: Array, way: Array) -> Hit:
        """Where a normal of this side goes through points [q, 2]; way: that to which the points themselves look."""
        return self._root(points, way, lambda x, tangent, point, to: ((x - point) * tangent).sum(-1))

    def _root(self, points: Array, way: Array, zero: Callable[[Array, Array, Array, Array], Array]) -> Hit:
        """The nearest place of those where `zero` is 0 and which look against `way`."""
        q, c, p = len(points), len(self.cells), self.order
        h = zero(self.cells[None], self.tangents[None], points[:, None, None], way[:, None, None])
        low, high = h[:, :, :-1], h[:, :, 1:]
        edge = SLACK * np.abs(h).max((1, 2), initial=1e-300)[:, None, None]
        crossed = (low * high <= 0) | (np.minimum(np.abs(low), np.abs(high)) <= edge) & (low * high <= edge**2 * 1e16)
        chord = np.diff(self.cells, axis=1)
        outward = np.stack([chord[..., 1], -chord[..., 0]], -1) * self.turn
        crossed &= np.einsum("qd,cad->qca", way, outward) < 0
        share = np.clip(low / np.where(low == high, 1.0, low - high), 0.0, 1.0)
        met = self.cells[None, :, :-1] + share[..., None] * chord[None]
        distance = np.where(crossed, np.linalg.norm(met - points[:, None, None], axis=-1), np.inf).reshape(q, c * p)
        best = np.argmin(distance, axis=1)
        found = np.isfinite(distance[np.arange(q), best])
        cell, part = np.divmod(best, p)
        rows, nodes = np.arange(q), lobatto(p)
        start, end = nodes[part], nodes[part + 1]
        rising = np.where(h[rows, cell, part + 1] >= h[rows, cell, part], 1.0, -1.0)
        for _ in range(STEPS):
            middle = 0.5 * (start + end)
            x, tangent, _ = self.at(cell, middle)
            above = zero(x, tangent, points, way) * rising > 0
            start, end = np.where(above, start, middle), np.where(above, middle, end)
        return Hit(cell, 0.5 * (start + end), found)
