"""Cells above one another through the wall, taken together: one part of the mesh, condensed to its side faces.

What lies inside a cell goes first, cell by cell, then what lies on the faces between the layers. Local nodes of such a
column run over the plane, then through the wall.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from .condensed import Condensed, condense
from .reference import Orders

__all__ = ["column", "column_order"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class _Order:
    """Local nodes of a hexahedron: those inside; those on its upright sides [plane, wall]; those inside the plane on its
    lower and upper face [plane, 2].
    """

    inside: Index
    side: Index
    between: Index

    @property
    def outside(self) -> Index:
        return np.concatenate([self.side.ravel(), self.between.ravel()])


@cache
def column_order(orders: Orders) -> _Order:
    """Nodes of a hexahedron sorted by what a column does with them."""
    p, r, q = orders
    number = np.arange((p + 1) * (r + 1) * (q + 1)).reshape(p + 1, r + 1, q + 1)
    # once around, corner by corner, so that nodes of a side follow one another
    around = [(0, j) for j in range(r)] + [(i, r) for i in range(p)]
    around += [(p, j) for j in range(r, 0, -1)] + [(i, 0) for i in range(p, 0, -1)]
    side = np.array([number[i, j] for i, j in around])
    middle = number[1:-1, 1:-1].reshape(-1, q + 1)
    return _Order(middle[:, 1:-1].ravel(), side, middle[:, [0, q]])


def column(cells: Condensed, layers: int, orders: Orders, forces: Array) -> Condensed:
    """From cells [column x layer], condensed in the order of `column_order`, to columns; forces [n, dim, case] at nodes."""
    order = column_order(orders)
    dim, q = forces.shape[1], orders[2]
    s, m = len(order.side), len(order.between)
    count, wall = len(cells.cells) // layers, layers * q + 1
    h = s * (q + 1)  # nodes of a cell's upright sides
    nodes = cells.cells.reshape(count, layers, -1)
    side, between = np.empty((count, s, wall), dtype=np.intp), np.empty((count, m, layers + 1), dtype=np.intp)
    cases = cells.load.shape[2]
    ss = np.zeros((count, s, wall * dim, s, wall * dim))
    ms = np.zeros((count, m, (layers + 1) * dim, s, wall * dim))
    mm = np.zeros((count, m, (layers + 1) * dim, m, (layers + 1) * dim))
    load_s, load_m = np.zeros((count, s, wall * dim, cases)), np.zeros((count, m, (layers + 1) * dim, cases))
    matrix = cells.matrix.reshape(count, layers, *cells.matrix.shape[1:])
    load = cells.load.reshape(count, layers, *cells.load.shape[1:])
    for k in range(layers):
        side[:, :, k * q : (k + 1) * q + 1] = nodes[:, k, :h].reshape(count, s, q + 1)
        between[:, :, k : k + 2] = nodes[:, k, h:].reshape(count, m, 2)
        tall, flat = slice(k * q * dim, ((k + 1) * q + 1) * dim), slice(k * dim, (k + 2) * dim)
        own = matrix[:, k]
        ss[:, :, tall, :, tall] += own[:, : h * dim, : h * dim].reshape(count, s, (q + 1) * dim, s, (q + 1) * dim)
        ms[:, :, flat, :, tall] += own[:, h * dim :, : h * dim].reshape(count, m, 2 * dim, s, (q + 1) * dim)
        mm[:, :, flat, :, flat] += own[:, h * dim :, h * dim :].reshape(count, m, 2 * dim, m, 2 * dim)
        load_s[:, :, tall] += load[:, k, : h * dim].reshape(count, s, (q + 1) * dim, cases)
        load_m[:, :, flat] += load[:, k, h * dim :].reshape(count, m, 2 * dim, cases)
    outer, inner = side.reshape(count, -1), between.reshape(count, -1)
    b, i = outer.shape[1] * dim, inner.shape[1] * dim
    load_m = load_m.reshape(count, i, cases) + forces[inner].reshape(count, i, cases)
    kss, kms, kmm = ss.reshape(count, b, b), ms.reshape(count, i, b), mm.reshape(count, i, i)
    return condense(kss, kms, kmm, load_s.reshape(count, b, cases), load_m, outer, inner, within=cells.without_matrix())
