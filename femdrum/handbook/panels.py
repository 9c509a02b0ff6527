"""Gauss-Legendre panels along a quarter of an outline, fine where the solution is: at junctions and narrow gaps."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ..errors import OverBudget
from ..model.contour import Arc, Line, Piece

__all__ = ["Array", "Complex", "Panels", "Resolution", "barycentric", "closed_panels", "differentiation", "gauss"]

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

GRADING = 4.0  # panel lengths grow by this factor away from a junction
Gap = Callable[[Complex], Array]


@dataclass(frozen=True)
class Resolution:
    """How finely an outline is cut.

    order: nodes per panel. junction: shortest panel at a junction, as a share of the shortest piece.
    turn: largest turn of the normal on a panel, radians. gap: largest panel length over the free gap beside it.
    reach: how far a strip's edge is followed past the hole, in widths.
    """

    order: int
    junction: float
    turn: float
    gap: float
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


@lru_cache(maxsize=64)
def differentiation(order: int) -> Array:
    """Matrix that differentiates the polynomial through the Gauss nodes."""
    x, _ = gauss(order)
    lam = _barycentric_weights(order)
    apart = x[:, None] - x[None, :]
    np.fill_diagonal(apart, 1.0)
    d = (lam[None, :] / lam[:, None]) / apart
    np.fill_diagonal(d, 0.0)
    np.fill_diagonal(d, -d.sum(axis=1))
    return d


def barycentric(order: int, at: Array) -> Array:
    """Matrix that takes values at the Gauss nodes to values of their polynomial at `at` in [-1, 1]."""
    x, _ = gauss(order)
    lam = _barycentric_weights(order)
    apart = np.asarray(at, dtype=float)[:, None] - x[None, :]
    hit = np.abs(apart) < 1e-15
    terms = lam / np.where(hit, 1.0, apart)
    rows = terms / terms.sum(axis=1, keepdims=True)
    return np.asarray(np.where(hit.any(axis=1, keepdims=True), hit.astype(float), rows))


@dataclass(frozen=True)
class Panels:
    """Panels of a quarter outline in order. Complex places are x + i y.

    piece [panel]: index into `pieces`; t0, t1 [panel]: parameter interval.
    t [node]: places; dt [node]: complex line elements with Gauss weights; speed [node]: dt / d(panel coordinate).
    """

    pieces: tuple[Piece, ...]
    order: int
    piece: NDArray[np.int64]
    t0: Array
    t1: Array
    t: Complex
    dt: Complex
    speed: Complex

    @property
    def count(self) -> int:
        """Number of panels."""
        return int(self.piece.size)

    def turned_to(self, direction: float) -> Panels:
        """The same with line elements along (+1) or against (-1) the pieces' own direction."""
        return replace(self, dt=direction * self.dt)

    def parameters(self, at: Array) -> Array:
        """Piece parameters [panel, at] for panel coordinates `at` in [-1, 1]."""
        return np.asarray(0.5 * (self.t1 + self.t0)[:, None] + 0.5 * (self.t1 - self.t0)[:, None] * at[None, :])

    def derivative(self, values: Complex) -> Complex:
        """d(values)/dt at the nodes, [panel, order]; values [node]."""
        v = values.reshape(self.count, self.order)
        return np.asarray((v @ differentiation(self.order).T) / self.speed.reshape(self.count, self.order))


def place(piece: Piece, t: Array) -> Complex:
    """Complex places on a piece."""
    xy = piece.point(t)
    return np.asarray(xy[..., 0] + 1j * xy[..., 1])


def velocity(piece: Piece, t: Array) -> Complex:
    """Complex d(place)/d(parameter)."""
    return np.asarray(piece.speed(t) * 1j * np.exp(1j * piece.angle(t)))


def _turn(piece: Piece, t0: float, t1: float) -> float:
    if isinstance(piece, Line):
        return 0.0
    if isinstance(piece, Arc):
        return 0.5 * math.pi * (t1 - t0)
    # an ellipse is smooth in its eccentric angle; its other side is an imaginary 2 min/max away from there
    ratio = min(piece.half_x, piece.half_y) / max(piece.half_x, piece.half_y)
    return 0.5 * math.pi * (t1 - t0) * max(1.0, 0.6 / (2.0 * ratio))


def _own_gap(piece: Piece) -> float:
    """Free distance from a straight flank to the flank across the hole."""
    if not isinstance(piece, Line):
        return math.inf
    return 2 * max(min(abs(piece.start[0]), abs(piece.end[0])), min(abs(piece.start[1]), abs(piece.end[1])))


def _cut(
    piece: Piece, ends: tuple[bool, bool], shortest: float, resolution: Resolution, gap: Gap | None, *, hole: bool
) -> list[tuple[float, float]]:
    """Parameter intervals of one piece; `ends` says which end is a junction."""
    own = _own_gap(piece) if hole else math.inf
    probe = np.linspace(0.0, 1.0, 9)
    todo, done = [(0.0, 1.0)], []
    while todo:
        t0, t1 = todo.pop()
        t = t0 + (t1 - t0) * probe
        length = float(np.mean(piece.speed(t))) * (t1 - t0)
        at_start, at_end = ends[0] and t0 == 0.0, ends[1] and t1 == 1.0
        where = 0.5
        split = _turn(piece, t0, t1) > resolution.turn * 1.001 or length > resolution.gap * own
        if not split and gap is not None:
            split = length > resolution.gap * float(np.min(gap(place(piece, t))))
        if (at_start or at_end) and length > shortest:
            if not split and not (at_start and at_end):
                where = 1 / GRADING if at_start else 1 - 1 / GRADING
            split = True
        if split:
            middle = t0 + where * (t1 - t0)
            todo += [(middle, t1), (t0, middle)]
        else:
            done.append((t0, t1))
        if len(done) + len(todo) > 4000:
            raise OverBudget("the outline needs more than 4000 panels: a gap or a radius is very small")
    return done


def closed_panels(
    pieces: Sequence[Piece], resolution: Resolution, gap: Gap | None = None, *, hole: bool = True
) -> Panels:
    """Panels of a quarter outline that closes smoothly over both mirror axes.

    gap: free distance from places on the outline to the nearest other outline. hole: flanks face each other
    across the inside.
    """
    shortest = resolution.junction * min(p.length for p in pieces)
    last = len(pieces) - 1
    index: list[int] = []
    intervals: list[tuple[float, float]] = []
    for i, piece in enumerate(pieces):
        cut = _cut(piece, (i > 0, i < last), shortest, resolution, gap, hole=hole)
        index += [i] * len(cut)
        intervals += cut
    return assemble(tuple(pieces), index, intervals, resolution.order)


def assemble(pieces: tuple[Piece, ...], index: list[int], intervals: list[tuple[float, float]], order: int) -> Panels:
    """Nodes and line elements of the given panels."""
    x, w = gauss(order)
    which = np.asarray(index, dtype=np.int64)
    t0, t1 = (np.asarray([i[k] for i in intervals], dtype=float) for k in (0, 1))
    parameter = 0.5 * (t1 + t0)[:, None] + 0.5 * (t1 - t0)[:, None] * x
    t: Complex = np.empty(parameter.shape, dtype=np.complex128)
    speed: Complex = np.empty(parameter.shape, dtype=np.complex128)
    for i, piece in enumerate(pieces):
        rows = which == i
        t[rows] = place(piece, parameter[rows])
        speed[rows] = velocity(piece, parameter[rows]) * 0.5 * (t1 - t0)[rows, None]
    return Panels(pieces, order, which, t0, t1, t.ravel(), np.asarray(speed * w).ravel(), speed.ravel())
