"""From nodal values on a quarter of the edge to evenly sampled values on the whole edge."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from .reference import lagrange

__all__ = ["sample", "unfold", "weights"]

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
