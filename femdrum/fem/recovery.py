"""Stress on the slot's edge from displacements of the surface's nodes only.

In-surface strains from derivatives along the surface, and the law of `elasticity.surface_stress`, which takes the known
traction for the third direction. Source of the Gauss points' exactness: superconvergent recovery, any text on finite
elements.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from .reference import Orders, derivative_matrix, gauss, lagrange
from .sampling import Places, between_nodes

__all__ = ["edge_strain", "surface_strain", "unit_slope"]

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


def surface_strain(place: Array, u: Array, orders: Orders, at: tuple[Places, Places]) -> Array:
    """In-surface strain [s, d, case, 3] (along the edge, across it, tensor shear) at places of a structured surface.

    place [s, d, 3], u [s, d, 3, case] at its nodes; at: where it is wanted, along both axes. Axis 1 follows s; axis 2
    lies in the surface, square to it, towards growing d.
    """
    both = np.concatenate([place[..., None], u], -1).reshape(
        *place.shape[:2], -1
    )  # the place turns as displacements do
    slopes = []
    for axis, (order, across) in enumerate(zip(orders, orders[::-1], strict=True)):
        line = np.moveaxis(np.tensordot(between_nodes(across, at[1 - axis]), both, (1, 1 - axis)), 0, 1 - axis)
        found = np.moveaxis(unit_slope(np.moveaxis(line, axis, 0), order, at[axis]), 0, axis)
        slopes.append(found.reshape(*found.shape[:2], 3, -1))
    (t1, u1), (t2, u2) = ((slope[..., 0], slope[..., 1:]) for slope in slopes)
    return _strain(t1, t2, u1, u2)


def unit_slope(values: Array, order: int, at: Places) -> Array:
    """Derivatives per unit length at the places of each cell, from nodal values [n, m, 3 k] along a line of cells of
    which the first of every k are the places in space.

    Derivatives are most exact at a cell's Gauss points, so these are kept; where cells meet, both sides give one value.
    """
    index = np.arange(len(at))[:, None] * order + np.arange(order + 1)
    slope = _slopes(order) @ values[index].reshape(*index.shape, -1)
    slope = slope.reshape(*slope.shape[:2], *values.shape[1:])
    size = np.linalg.norm(slope.reshape(*slope.shape[:-1], 3, -1)[..., 0], axis=-1)
    slope /= size[..., None]
    for cell in range(len(at) - 1):
        before, after = slope[cell], slope[cell + 1]
        ratio = float(size[cell].mean() / size[cell + 1].mean())
        if order % 2:  # what both sides leave out is opposite there, and more in the larger cell
            before[-1] = after[0] = (before[-1] + ratio * after[0]) / (1.0 + ratio)
        else:
            share = _across_joint(order, ratio)
            near = np.concatenate([before[1:-1][-share.size // 2 :], after[1:-1][: share.size // 2]])
            before[-1] = after[0] = np.tensordot(share, near, 1)
    last = len(at) - 1
    parts = [
        np.tensordot(_through(order, own if cell == last else own[:-1]), slope[cell], 1) for cell, own in enumerate(at)
    ]
    return np.asarray(np.concatenate(parts))


@cache
def _slopes(order: int) -> Array:
    """Derivatives at a cell's ends and Gauss points from values at its nodes."""
    return lagrange(order, np.concatenate([[-1.0], gauss(order)[0], [1.0]]))[1]


def _across_joint(order: int, ratio: float) -> Array:
    """Weights of the Gauss points nearest to where two cells meet, in the value there of the polynomial through them.

    ratio: size of the cell before over that of the cell after.
    """
    x, few = gauss(order)[0], (order + 2) // 2
    return np.asarray(_polynomial(np.concatenate([ratio * (x[-few:] - 1.0), x[:few] + 1.0]), np.zeros(1))[0])


@cache
def _through(order: int, places: tuple[float, ...]) -> Array:
    """Values at places of a cell from those at its ends and Gauss points."""
    return _polynomial(np.concatenate([[-1.0], gauss(order)[0], [1.0]]), np.array(places))


def _polynomial(known: Array, wanted: Array) -> Array:
    """[wanted, known]: Lagrange polynomials."""
    out = np.ones((wanted.size, known.size))
    for k, at in enumerate(known):
        others = np.arange(known.size) != k
        out[:, others] *= (wanted - at)[:, None] / (known[others] - at)
    return out


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
