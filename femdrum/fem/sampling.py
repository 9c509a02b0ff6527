"""From nodal values on a quarter of the edge to evenly sampled values on the whole edge."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from .reference import lagrange

__all__ = ["Places", "between_nodes", "even_places", "sample", "unfold", "wall_places", "weights"]

Array = NDArray[np.float64]

# where a line of cells is sampled: for each cell places on [-1, 1], both ends among them
Places = tuple[tuple[float, ...], ...]


@cache
def _matrix(order: int, count: int) -> Array:
    return lagrange(order, np.linspace(-1.0, 1.0, count + 1)[:-1])[0]


def sample(values: Array, order: int, count: int, axis: int) -> Array:
    """`count` evenly spaced values a cell from nodal values along an axis (and the last end)."""
    v = np.moveaxis(values, axis, 0)
    cells = (len(v) - 1) // order
    index = np.arange(cells)[:, None] * order + np.arange(order + 1)
    inside = np.einsum("ab,cb...->ca...", _matrix(order, count), v[index], optimize=True)
    out = np.concatenate([inside.reshape(cells * count, *v.shape[1:]), v[-1:]])
    return np.moveaxis(out, 0, axis)


def even_places(cells: int, count: int) -> Places:
    """`count` evenly spaced places in each cell, and the last end."""
    return (tuple(np.linspace(-1.0, 1.0, count + 1)),) * cells


def wall_places(cells: int, rim: int, inside: int) -> Places:
    """Through the wall: `inside` a cell, `rim` in the cells at both surfaces.

    These crowd towards the surface: a peak is often just below the rim, within a tenth of the corner radius.
    """
    both = -np.cos(np.linspace(0.0, np.pi, 2 * rim + 1))
    if cells == 1:
        return (tuple(both),)
    first = 1.0 + 2.0 * both[: rim + 1]  # dense at -1
    even = tuple(np.linspace(-1.0, 1.0, inside + 1))
    return (tuple(first), *[even] * (cells - 2), tuple(-first[::-1]))


@cache
def between_nodes(order: int, places: Places) -> Array:
    """[samples, nodes]: values at the places of each cell (ends once) from those at the nodes."""
    out = np.zeros((sum(len(own) - 1 for own in places) + 1, len(places) * order + 1))
    row = 0
    for cell, own in enumerate(places):
        out[row : row + len(own), cell * order : (cell + 1) * order + 1] = lagrange(order, np.array(own))[0]
        row += len(own) - 1
    return out


def unfold(quarter: Array, flip_x: Array | float, flip_y: Array | float, axis: int = 0) -> Array:
    """Whole loop from the quarter 0 ... s_max by mirrors about the y axis (x -> -x) and the x axis.

    flip_x, flip_y: factor that a value takes under the mirror; the last point is left out (closed loop).
    """
    q = np.moveaxis(quarter, axis, 0)
    back = q[::-1]
    parts = [q[:-1], (back * flip_x)[:-1], (q * flip_x * flip_y)[:-1], (back * flip_y)[:-1]]
    return np.moveaxis(np.concatenate(parts), 0, axis)


def weights(ends: Array) -> Array:
    """Trapezoid weights of points on a line."""
    d = np.diff(ends)
    return np.asarray(np.concatenate([[0.0], 0.5 * d]) + np.concatenate([0.5 * d, [0.0]]))
