"""From nodal values on a quarter of the edge to evenly sampled values on the whole edge."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from .reference import lagrange

__all__ = ["sample", "sample_wall", "unfold", "weights"]

Array = NDArray[np.float64]


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


@cache
def _wall_matrix(order: int, cells: int, rim: int, inside: int) -> Array:
    """[samples, nodes]: `inside` even samples a cell, in the outermost cells `rim` that crowd towards the surface."""
    crowded = -np.cos(np.linspace(0.0, np.pi, 2 * rim + 1))[: rim + 1]  # from -1 to 0, dense at -1
    even = np.linspace(-1.0, 1.0, inside + 1)
    at = [even] * cells
    at[0] = 1.0 + 2.0 * crowded
    at[-1] = -at[0][::-1] if cells > 1 else -np.cos(np.linspace(0.0, np.pi, 2 * rim + 1))
    out = np.zeros((sum(a.size - 1 for a in at) + 1, cells * order + 1))
    row = 0
    for cell, places in enumerate(at):
        shape = lagrange(order, places)[0]
        out[row : row + places.size, cell * order : (cell + 1) * order + 1] = shape
        row += places.size - 1
    return out


def sample_wall(values: Array, order: int, rim: int, inside: int, axis: int) -> Array:
    """Values through the wall from nodal values along an axis: `inside` a cell, `rim` in the cells at both surfaces.

    These crowd towards the surface: a peak is often just below the rim, within a tenth of the corner radius.
    """
    v = np.moveaxis(values, axis, 0)
    matrix = _wall_matrix(order, (len(v) - 1) // order, rim, inside)
    return np.moveaxis(np.tensordot(matrix, v, 1), 0, axis)


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
