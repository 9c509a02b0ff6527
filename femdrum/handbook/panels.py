"""Gauss-Legendre panels along a quarter of an outline, their nodes drawn together towards junctions.

Where a line meets an arc the curvature jumps and the stress has a weak logarithm. A panel that ends there takes its
parameter as a power of the Gauss coordinate, so that the logarithm is smooth enough to converge as fast as the rest.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ..model.contour import Arc, EllipseArc, Line, Piece

__all__ = ["Array", "Complex", "Cuts", "Gap", "Panels", "Resolution", "assemble", "barycentric", "gauss", "graded",
           "place", "stretch", "velocity"]  # fmt: skip

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

Gap = Callable[[Complex], Array]


@dataclass(frozen=True)
class Resolution:
    """How finely the panels of an outline are resolved.

    order: nodes per panel. power: of the grading towards junctions. reach: how far a strip's edge is followed past the
    hole, in widths.
    """

    order: int
    power: int
    reach: float


@lru_cache(maxsize=64)
def gauss(order: int) -> tuple[Array, Array]:
    """Gauss-Legendre nodes and weights on [-1, 1]."""
    x, w = np.polynomial.legendre.leggauss(order)
    return np.asarray(x), np.asarray(w)


@lru_cache(maxsize=64)
def _barycentric_weights(order: int) -> Array:
    x, w = gauss(order)
    return np.asarray((-1.0) ** np.arange(order) * np.sqrt((1 - x**2) * w))


def barycentric(order: int, at: Array) -> Array:
    """Rows [..., order] that take values at the Gauss nodes to values of their polynomial at `at` [...] in [-1, 1]."""
    x, _ = gauss(order)
    apart = np.asarray(at, dtype=float)[..., None] - x
    apart[np.abs(apart) < 1e-15] = 1e-15  # on a node: its own term outweighs the others to the last digit
    terms = _barycentric_weights(order) / apart
    return np.asarray(terms / terms.sum(axis=-1, keepdims=True))


def graded(u: Array, grade: NDArray[np.int64] | int, power: int) -> Array:
    """Share of a panel's parameter interval at u in [0, 1]; grade -1 draws together at its start, 1 at its end."""
    return np.where(np.equal(grade, 0), u, np.where(np.less(grade, 0), u**power, 1 - (1 - u) ** power))


def _ungraded(share: Array, grade: NDArray[np.int64], power: int) -> Array:
    share = np.clip(share, 0.0, 1.0)
    return np.where(grade == 0, share, np.where(grade < 0, share ** (1 / power), 1 - (1 - share) ** (1 / power)))


@lru_cache(maxsize=64)
def _rules(order: int, power: int) -> tuple[Array, Array, Array]:
    """Shares of the parameter interval, their weights, and shares from the junction, [grade -1, 0, 1, node]."""
    x, w = gauss(order)
    u, w = 0.5 * (1 + x), 0.5 * w
    share = np.stack([u**power, u, 1 - (1 - u) ** power])
    weight = np.stack([power * u ** (power - 1), np.ones_like(u), power * (1 - u) ** (power - 1)]) * w
    return share, weight, np.stack([u**power, np.zeros_like(u), -((1 - u) ** power)])


@lru_cache(maxsize=64)
def _resampling(old: tuple[int, int], new: tuple[int, int]) -> Array:
    """From values at the nodes of one (order, power) to those of another on the same panels, [grade, new, old]."""
    grade = np.array([-1, 0, 1])[:, None]
    return barycentric(old[0], 2 * _ungraded(_rules(*new)[0], grade, old[1]) - 1)


@dataclass(frozen=True)
class Cuts:
    """Where the panels of a quarter outline begin and end.

    piece [panel]: index into `pieces`; t0, t1 [panel]: parameter interval; grade [panel]: junction at its start (-1),
    at its end (1), at neither (0).
    """

    pieces: tuple[Piece, ...]
    piece: NDArray[np.int64]
    t0: Array
    t1: Array
    grade: NDArray[np.int64]

    @property
    def count(self) -> int:
        """Number of panels."""
        return int(self.piece.size)


@dataclass(frozen=True)
class Panels:
    """Panels with their nodes. Complex places are x + i y.

    t, tangent, ds, curvature [node]: places, unit tangents, arc lengths with Gauss weights, and curvature (positive
    where the outline turns left). offset [node]: place less that of the junction which its panel is graded to, to all
    digits: neighbours there may be closer than the rounding of `t`.
    """

    cuts: Cuts
    order: int
    power: int
    t: Complex
    offset: Complex
    tangent: Complex
    ds: Array
    curvature: Array

    @property
    def count(self) -> int:
        """Number of panels."""
        return self.cuts.count

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """The outline's pieces."""
        return self.cuts.pieces

    def reversed(self) -> Panels:
        """The same outline run through the other way."""
        return replace(self, tangent=-self.tangent, curvature=-self.curvature)

    def parameters(self, panel: NDArray[np.int64], x: Array) -> Array:
        """Piece parameters at panel coordinates x in [-1, 1]; panel and x broadcast."""
        c = self.cuts
        return c.t0[panel] + (c.t1 - c.t0)[panel] * graded(0.5 * (1 + x), c.grade[panel], self.power)

    def locate(self, piece: int, t: Array) -> tuple[NDArray[np.int64], Array]:
        """Panel and panel coordinate of parameters t of a piece."""
        c = self.cuts
        rows = np.flatnonzero(c.piece == piece)
        which = rows[np.clip(np.searchsorted(c.t1[rows], t), 0, rows.size - 1)]
        share = (t - c.t0[which]) / (c.t1 - c.t0)[which]
        return which, 2 * _ungraded(share, c.grade[which], self.power) - 1

    def resampled(self, values: Array, finer: Panels) -> Array:
        """Values [..., panel, node] at the nodes of other panels with the same cuts."""
        rows = _resampling((self.order, self.power), (finer.order, finer.power))[self.cuts.grade + 1]
        return np.asarray(np.einsum("pfn,...pn->...pf", rows, values))


def assemble(cuts: Cuts, resolution: Resolution) -> Panels:
    """Nodes of the given panels."""
    share, weight, from_junction = (rule[cuts.grade + 1] for rule in _rules(resolution.order, resolution.power))
    length = (cuts.t1 - cuts.t0)[:, None]
    t: Complex = np.empty(share.shape, dtype=np.complex128)
    offset: Complex = np.zeros(share.shape, dtype=np.complex128)
    tangent: Complex = np.empty(share.shape, dtype=np.complex128)
    ds = length * weight
    curvature = np.zeros(share.shape)
    parameter = cuts.t0[:, None] + length * share
    from_junction *= length
    first = 0
    for i, piece in enumerate(cuts.pieces):
        rows = slice(first, first := first + int(np.count_nonzero(cuts.piece == i)))
        at, away = parameter[rows], from_junction[rows]
        if isinstance(piece, Line):
            start, along = complex(*piece.start), complex(*piece.end) - complex(*piece.start)
            t[rows], offset[rows], tangent[rows] = start + along * at, along * away, along / abs(along)
            ds[rows] *= piece.length
        elif isinstance(piece, Arc):
            normal = np.exp(0.5j * math.pi * at)
            t[rows], tangent[rows] = complex(*piece.centre) + piece.corner_radius * normal, 1j * normal
            half = 0.25 * math.pi * away
            offset[rows] = 2j * piece.corner_radius * np.sin(half) * np.exp(-1j * half) * normal
            ds[rows] *= piece.length
            curvature[rows] = 1 / piece.corner_radius
        else:
            course = velocity(piece, at)
            speed = np.abs(course)
            t[rows], tangent[rows], curvature[rows] = place(piece, at), course / speed, 1 / piece.radius(at)
            ds[rows] *= speed
    return Panels(
        cuts, resolution.order, resolution.power, t.ravel(), offset.ravel(), tangent.ravel(), ds.ravel(), curvature.ravel()
    )  # fmt: skip


def place(piece: Piece, t: Array) -> Complex:
    """Complex places on a piece."""
    if isinstance(piece, Line):
        start, end = complex(*piece.start), complex(*piece.end)
        return np.asarray(start + (end - start) * t)
    xy = piece.point(t)
    return np.asarray(xy[..., 0] + 1j * xy[..., 1])


def velocity(piece: Piece, t: Array) -> Complex:
    """Complex d(place)/d(parameter)."""
    return np.asarray(piece.speed(t) * 1j * np.exp(1j * piece.angle(t)))


def stretch(piece: Piece, t: Array) -> Array | None:
    """Factor that makes the stress along an ellipse smooth: its poles off the outline are zeros of the squared speed.

    None where the speed is constant.
    """
    if not isinstance(piece, EllipseArc):
        return None
    e = 0.5 * math.pi * t
    return np.asarray(((piece.half_x * np.sin(e)) ** 2 + (piece.half_y * np.cos(e)) ** 2) / piece.half_x / piece.half_y)
