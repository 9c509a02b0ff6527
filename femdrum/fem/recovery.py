"""Stress on the slot's edge from displacements of the surface's nodes only.

In-surface strains from derivatives along the surface, averaged where cells meet, and the law of
`elasticity.surface_stress`, which takes the known traction for the third direction.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .reference import Orders, derivative_matrix

__all__ = ["edge_strain", "surface_strain"]

Array = NDArray[np.float64]


def _slope(values: Array, order: int, axis: int) -> tuple[Array, Array]:
    """Derivative in each cell's own coordinate along an axis of a structured surface.

    Returns it as seen from the cell before and from the cell after each node (equal inside a cell).
    """
    v = np.moveaxis(values, axis, 0)
    cells = (len(v) - 1) // order
    index = np.arange(cells)[:, None] * order + np.arange(order + 1)
    slope = np.einsum("ab,cb...->ca...", derivative_matrix(order), v[index], optimize=True)
    after = np.empty_like(v)
    after[index[:, :-1]] = slope[:, :-1]
    after[-1] = slope[-1, -1]
    before = np.empty_like(v)
    before[index[:, 1:]] = slope[:, 1:]
    before[0] = slope[0, 0]
    return np.moveaxis(before, 0, axis), np.moveaxis(after, 0, axis)


def edge_strain(place: Array, u: Array, order: int) -> Array:
    """Strain along a plane curve [s, case] from places [s, dim] and displacements [s, dim, case]."""
    sides = []
    for tangent, du in zip(_slope(place, order, 0), _slope(u, order, 0), strict=True):
        square = (tangent**2).sum(-1)
        sides.append(np.einsum("sd,sdc->sc", tangent, du) / square[:, None])
    return np.asarray(0.5 * (sides[0] + sides[1]))


def surface_strain(place: Array, u: Array, orders: Orders) -> Array:
    """In-surface strain [s, d, case, 3] (along the edge, across it, tensor shear) of a structured surface.

    place [s, d, 3], u [s, d, 3, case]. Axis 1 follows s; axis 2 lies in the surface, square to it, towards
    growing d.
    """
    total: Array | float = 0.0
    for t1, u1 in zip(_slope(place, orders[0], 0), _slope(u, orders[0], 0), strict=True):
        for t2, u2 in zip(_slope(place, orders[1], 1), _slope(u, orders[1], 1), strict=True):
            total = total + 0.25 * _strain(t1, t2, u1, u2)
    return np.asarray(total)


def _strain(t1: Array, t2: Array, u1: Array, u2: Array) -> Array:
    e1 = t1 / np.linalg.norm(t1, axis=-1, keepdims=True)
    e2 = t2 - (t2 * e1).sum(-1, keepdims=True) * e1
    e2 /= np.linalg.norm(e2, axis=-1, keepdims=True)
    # derivatives along e1 and e2 from those along the cell's coordinates
    a11, a21, a22 = ((t * e).sum(-1) for t, e in ((t1, e1), (t2, e1), (t2, e2)))
    d1 = u1 / a11[..., None, None]
    d2 = (u2 - a21[..., None, None] * d1) / a22[..., None, None]
    e11 = np.einsum("sdi,sdic->sdc", e1, d1)
    e22 = np.einsum("sdi,sdic->sdc", e2, d2)
    e12 = 0.5 * (np.einsum("sdi,sdic->sdc", e1, d2) + np.einsum("sdi,sdic->sdc", e2, d1))
    return np.stack([e11, e22, e12], -1)
