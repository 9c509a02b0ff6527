"""Peaks of the stress on the continuous edge, of many load states at once, and how a coarser solution differs there."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from .equation import ODD
from .panels import Array, barycentric, gauss

if TYPE_CHECKING:
    from .boundary_integral import PlaneSolution

__all__ = ["Peak", "change_near_peaks", "peaks"]

NEAR = 0.7
ROUNDS = 3  # of ever narrower samples around a maximum, before the top of a parabola

Peak = tuple[float, int, float, int]
"""Signed value (MPa), piece, parameter, quadrant (+1 or -1)."""


@lru_cache(maxsize=16)
def _sampling(order: int) -> tuple[Array, Array]:
    """Panel coordinates, close at the ends as the nodes are, and the rows that take values there."""
    x = -np.cos(np.linspace(0.0, np.pi, 2 * order + 3))
    return x, barycentric(order, x)


def _quadrants(values: Array, states: Array) -> Array:
    """Values [state, quadrant, ...] of load cases [case, ...] added up in the first and the second quadrant."""
    even = np.tensordot(states[:, :ODD], values[:ODD], 1) if states[:, :ODD].any() else 0.0  # not asked: NaN
    odd = np.multiply.outer(states[:, ODD], values[ODD]) if states[:, ODD].any() else 0.0
    if np.ndim(even) == 0 or np.ndim(odd) == 0:
        return np.asarray(even + odd)[:, None]
    return np.stack([even + odd, even - odd], axis=1)


def peaks(solution: PlaneSolution, states: Array) -> list[Peak]:
    """The stress of largest magnitude of each state [state, case], MPa of each case, with its place."""
    p = solution.panels
    x, rows = _sampling(p.order)
    fields = _quadrants(solution.stretched, states)
    sampled = np.abs(fields @ rows.T)
    scale = solution.scale(np.arange(p.count)[:, None], x)
    if scale is not None:
        sampled /= scale
    highest = sampled.max(axis=3)
    level = highest.max(axis=(1, 2))
    state, quadrant, panel = np.nonzero(highest >= 0.99 * level[:, None, None])
    top = np.argmax(sampled[state, quadrant, panel], axis=1)
    at = x[top]
    half = np.maximum(at - x[np.maximum(top - 1, 0)], x[np.minimum(top + 1, x.size - 1)] - at)
    values = fields[state, quadrant, panel]
    found, at = _climb(solution, values, panel, at, half)
    parameters = p.parameters(panel, at)
    out: list[Peak] = []
    for i in range(len(states)):
        mine = np.flatnonzero(state == i)
        size = np.abs(found[mine])
        best = mine[np.argmax(size >= size.max() * (1 - 1e-12))]  # the first of equals
        out.append(
            (float(found[best]), int(p.cuts.piece[panel[best]]), float(parameters[best]), 1 - 2 * int(quadrant[best]))
        )
    return out


def _climb(solution: PlaneSolution, values: Array, panel: np.ndarray, at: Array, half: Array) -> tuple[Array, Array]:
    """Largest magnitude of polynomials [place, node] near `at`: signed values and places."""
    grid = np.linspace(-1.0, 1.0, 9)
    number = np.arange(at.size)

    def sample(x: Array) -> Array:
        value = np.einsum("pxn,pn->px", barycentric(solution.panels.order, x), values)
        scale = solution.scale(panel[:, None], x)
        return np.asarray(value if scale is None else value / scale)

    for _ in range(ROUNDS):
        x = np.clip(at[:, None] + half[:, None] * grid, -1.0, 1.0)
        top = np.argmax(np.abs(sample(x)), axis=1)
        at, half = x[number, top], half / 4
    x = np.clip(at[:, None] + half[:, None] * np.array([-1.0, 0.0, 1.0]), -1.0, 1.0)
    inside = (x[:, 0] > -1.0) & (x[:, 2] < 1.0)
    y = np.abs(sample(x))
    bend = y[:, 0] - 2 * y[:, 1] + y[:, 2]
    move = np.where(inside & (bend < 0), 0.5 * (y[:, 0] - y[:, 2]) / np.where(bend < 0, bend, -1.0), 0.0)
    ends = np.stack([at, np.clip(at + half * np.clip(move, -1.0, 1.0), -1.0, 1.0)], axis=1)
    last = sample(ends)
    better = np.argmax(np.abs(last), axis=1)
    return last[number, better], ends[number, better]


def change_near_peaks(fine: PlaneSolution, coarse: PlaneSolution, states: Array) -> Array:
    """Root mean square of the stress's change from a coarser solution, where it is at least NEAR of its peak, [state] MPa.

    A peak may agree by chance; the field around it does not.
    """
    p = fine.panels
    before = coarse.panels.resampled(coarse.stretched, p)
    scale = fine.scale(np.arange(p.count)[:, None], gauss(p.order)[0])
    if scale is not None:
        before = before / scale
    new, old = _quadrants(fine.stress, states), _quadrants(before, states)
    size = np.abs(new)
    share = p.ds.reshape(p.count, p.order) * (size >= NEAR * size.max(axis=(2, 3), keepdims=True))
    squares = np.sum(share * (new - old) ** 2, axis=(2, 3)) / np.sum(share, axis=(2, 3))
    return np.asarray(np.sqrt(squares.max(axis=1)))
