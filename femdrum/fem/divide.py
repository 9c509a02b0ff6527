"""Dividing a slot's quarter edge, and lines that lead away from it, into cells of graded size."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.contour import Arc, EllipseArc, Line, Piece

__all__ = ["EdgePoints", "divide_edge", "edge_points", "graded", "graded_both"]

Array = NDArray[np.float64]


def graded(length: float, first: float, growth: float, most: float = math.inf) -> Array:
    """Ends 0 ... length of cells that start near `first` and grow by `growth`, none above `most`."""
    sizes = [min(first, most)]
    while sum(sizes) < length * (1 - 1e-9):
        sizes.append(min(sizes[-1] * growth, most))
    # drop the last cell where a stretch of the others covers its share
    if len(sizes) > 1 and length - sum(sizes[:-1]) < 0.5 * sizes[-1]:
        sizes.pop()
    ends = np.concatenate([[0.0], np.cumsum(sizes)])
    return np.asarray(ends * (length / ends[-1]))


def graded_both(length: float, first: float, growth: float) -> Array:
    """Ends of cells that grow from both ends towards the middle, symmetric."""
    half = graded(0.5 * length, first, growth)
    return np.concatenate([half, length - half[-2::-1]])


def divide_edge(
    pieces: tuple[Piece, ...], cells_per_arc: int, growth: float, gaps: tuple[float, float], corner_cell: float
) -> list[Array]:
    """For each piece the ends of its cells in the piece's own parameter t in [0, 1], along the quarter.

    gaps: material left beside the edge at its start (along x) and its end (along y); a thin ligament asks
    for cells as short as the stress varies in it, about sqrt(2 radius gap). corner_cell: length of the first
    cell on a flank beside a sharp corner.
    """
    out: list[Array] = []
    for i, piece in enumerate(pieces):
        if isinstance(piece, Line):
            out.append(np.empty(0))  # after the curved piece, whose cells it starts from
        elif not piece.length:
            out.append(np.linspace(0.0, 1.0, cells_per_arc + 1))  # a fan on the spot
        else:
            out.append(_divide_curve(piece, cells_per_arc, growth, gaps, i > 0, i + 1 < len(pieces)))
    curved = next(i for i, piece in enumerate(pieces) if not isinstance(piece, Line))
    arc = pieces[curved]
    for i, piece in enumerate(pieces):
        if isinstance(piece, Line):
            share = out[curved][1] if i < curved else 1 - out[curved][-2]
            cell = arc.length * float(share) if arc.length else corner_cell / growth
            t = graded(piece.length, min(cell * growth, piece.length), growth, 0.6 * piece.length) / piece.length
            out[i] = 1.0 - t[::-1] if i < curved else t
    return out


def _divide_curve(
    piece: Arc | EllipseArc, count: int, growth: float, gaps: tuple[float, float], line_before: bool, line_after: bool
) -> Array:
    """Cell ends on an arc or an ellipse.

    Where an arc meets a flank its curvature jumps and the stress has a kink: cells there are half as long.
    """
    t = np.linspace(0.0, 1.0, 4001)
    s = _arc_length(piece, t)
    radius = piece.radius(t)
    if isinstance(piece, Arc):
        shares = np.full(count, 2.0)
        shares[0] -= line_before
        shares[-1] -= line_after
        ends = np.concatenate([[0.0], np.cumsum(shares / shares.sum())])
        ends[-1] = 1.0
        size = piece.length * np.diff(ends)[np.clip(np.searchsorted(ends, t, "right") - 1, 0, len(shares) - 1)]
    else:
        ends = np.empty(0)
        size = np.minimum(0.5 * math.pi * radius / count, 0.6 * piece.length)
    limits = [0.25 * math.sqrt(2 * radius[end] * gap) for end, gap in ((0, gaps[0]), (-1, gaps[1]))]
    if ends.size and size[0] <= limits[0] and size[-1] <= limits[1]:
        return ends
    size[0], size[-1] = min(size[0], limits[0]), min(size[-1], limits[1])
    return _by_size(t, s, size, math.log(growth))


def _by_size(t: Array, s: Array, size: Array, slope: float) -> Array:
    """Cell ends such that cells are as long as `size` says, with sizes that change by `slope` at most."""
    for way in (slice(None), slice(None, None, -1)):
        h, x = size[way], s[way]
        # the least of size(s') + slope |s - s'| on this side
        reach = np.minimum.accumulate(h - slope * np.abs(x - x[0]))
        size = np.minimum(h, reach + slope * np.abs(x - x[0]))[way]
    density = np.concatenate([[0.0], np.cumsum(np.diff(s) * 0.5 * (1 / size[1:] + 1 / size[:-1]))])
    count = max(2, math.ceil(density[-1] - 0.25))
    return np.interp(np.linspace(0.0, density[-1], count + 1), density, t)


@dataclass(frozen=True)
class EdgePoints:
    """Nodes along the quarter edge: place [n, 2], direction of the normal in radians, arc length."""

    place: Array
    angle: Array
    s_mm: Array


def edge_points(pieces: tuple[Piece, ...], ends: list[Array], local: Array) -> EdgePoints:
    """Nodes of the cells; `local` are the node positions in a cell, 0 ... 1."""
    place, angle, arc = [], [], []
    start = 0.0
    for piece, t_ends in zip(pieces, ends, strict=True):
        t = (t_ends[:-1, None] + np.diff(t_ends)[:, None] * local[None, :-1]).ravel()
        t = np.append(t, 1.0) if piece is pieces[-1] else t
        place.append(piece.point(t))
        angle.append(piece.angle(t))
        arc.append(start + _arc_length(piece, t))
        start += piece.length
    places = np.concatenate(place)
    places[0, 1] = 0.0  # exactly on the mirror planes
    places[-1, 0] = 0.0
    return EdgePoints(places, np.concatenate(angle), np.concatenate(arc))


def _arc_length(piece: Piece, t: Array) -> Array:
    if isinstance(piece, (Line, Arc)):
        return piece.length * t
    x, w = np.polynomial.legendre.leggauss(40)
    tt = t[:, None] * (0.5 + 0.5 * x[None, :])
    return np.asarray(0.5 * t * (piece.speed(tt) @ w))
