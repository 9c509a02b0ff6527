"""Line, quadrilateral and hexahedron of any order in each direction: Lagrange polynomials on Gauss-Lobatto points.

Local nodes run in C order over (i, j[, k]); i follows the slot's edge, j leads away from it, k goes
through the wall. Source: tensor products of the one-dimensional element, any text on spectral elements.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["Orders", "Reference", "derivative_matrix", "gauss", "lagrange", "lobatto", "reference"]

Array = NDArray[np.float64]

# order in each of a cell's own directions
Orders = tuple[int, ...]


@cache
def lobatto(order: int) -> Array:
    """The order + 1 Gauss-Lobatto points on [-1, 1], ascending."""
    inner = np.polynomial.legendre.Legendre.basis(order).deriv().roots()
    return np.concatenate([[-1.0], np.sort(np.real(inner)), [1.0]])


@cache
def gauss(points: int) -> tuple[Array, Array]:
    """Gauss points and weights on [-1, 1]."""
    x, w = np.polynomial.legendre.leggauss(points)
    return x, w


def lagrange(order: int, x: Array, nodes: Array | None = None) -> tuple[Array, Array]:
    """Values and derivatives [x, node] of the Lagrange polynomials on the nodes, the Gauss-Lobatto points if not given."""
    nodes = lobatto(order) if nodes is None else nodes
    # the Legendre basis keeps the conversion well conditioned
    to_nodal = np.linalg.inv(np.polynomial.legendre.legvander(nodes, order))
    values = np.polynomial.legendre.legvander(x, order)
    slopes = np.stack(
        [np.polynomial.legendre.Legendre.basis(k).deriv()(x) if k else np.zeros_like(x) for k in range(order + 1)], -1
    )
    return values @ to_nodal, slopes @ to_nodal


@cache
def derivative_matrix(order: int) -> Array:
    """d/dx at the Gauss-Lobatto points from nodal values."""
    return lagrange(order, lobatto(order))[1]


@dataclass(frozen=True)
class Reference:
    """values [q, n], gradients [q, n, dim], weights [q]; interior and boundary local node numbers."""

    orders: Orders
    values: Array
    gradients: Array
    weights: Array
    interior: NDArray[np.intp]
    boundary: NDArray[np.intp]


@cache
def reference(orders: Orders, points: int | None = None, last: tuple[float, ...] | None = None) -> Reference:
    """Line, quadrilateral or hexahedron, integrated with `points` Gauss points a direction (default: order + 1).

    last: the nodes' places in the last direction, where these are not the Gauss-Lobatto points.
    """
    dim = len(orders)
    values: Array = np.ones((1, 1))
    weights: Array = np.ones(1)
    gradients: list[Array] = [np.ones((1, 1)) for _ in range(dim)]
    for axis, order in enumerate(orders):
        x, w = gauss(points or order + 1)
        at = np.array(last) if last is not None and axis == dim - 1 else None
        value, slope = lagrange(order, x, at)
        for g in range(dim):
            gradients[g] = np.asarray(np.kron(gradients[g], slope if g == axis else value))
        values = np.asarray(np.kron(values, value))
        weights = np.asarray(np.kron(weights, w))
    index = np.indices([order + 1 for order in orders]).reshape(dim, -1)
    inside = ((index > 0) & (index < np.array(orders)[:, None])).all(0)
    return Reference(orders, values, np.stack(gradients, -1), weights, np.flatnonzero(inside), np.flatnonzero(~inside))
