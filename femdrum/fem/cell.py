"""The quarter cell around a cutout as a mapped mesh: rings of cells that hug the slot's edge, then blocks.

    y = Y  +-----------------+----------+
           |   rays end on   |          |      near the edge: curves at equal distance from it, so that cells
           |   the rectangle | extension|      stand square on the flanks and fan around the corner
     hy    |------.          |          |      beyond: straight to a rectangle; the rest in plain columns
           | slot  ) rays -> |          |
           +-------+---------+----------+ x = X

Every node keeps where it came from: `hug` (offset from the slot in the tangential direction) and `lay`
(distance along the unrolled drum), mixed by `mix`; a plate takes them as they are, a ring bends `lay`
around the drum and leaves `hug` parallel to the slot's flat flanks (see ring_mesh.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.contour import Arc, EllipseArc, Line, Piece
from ..model.cutout import Cutout
from .divide import EdgePoints, divide_edge, edge_points, graded, graded_both
from .reference import Orders, lobatto

__all__ = ["Cell", "Fineness", "quarter_cell"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Fineness:
    """How fine a mesh is.

    order of the elements in the plane, wall_order through the wall (0: the same); cells per 90 degrees of a corner arc; growth of cells away from it; thickness of
    the first layer over (smallest radius / cells per arc); layers through the wall (solids); cells at a sharp
    corner over half the short side; distance from the edge over the wall from which on cells are one layer (solids).
    """

    order: int = 4
    cells_per_arc: int = 3
    growth: float = 2.0
    first_layer: float = 1.5
    wall_cells: int = 4
    sharp_cell: float = 1e-3
    wall_order: int = 0
    far: float = math.inf

    @property
    def orders(self) -> Orders:
        """Of a solid's cells: along the edge, away from it, through the wall."""
        return self.order, self.order, self.wall_order or self.order


@dataclass(frozen=True)
class Cell:
    """Plane mesh of the quarter cell. All node arrays [n]."""

    order: int
    hug: Array
    lay: Array
    mix: Array
    y: Array
    offset: Array  # distance from the slot's edge where cells hug it, inf beyond
    cells: Index  # [e, order + 1, order + 1]
    distance: Array  # [e] from the slot's edge to where each cell begins, inf in plain blocks
    ray_rows: Index  # [s, nodes outward] node numbers, column 0 on the edge, the last on the rays' rectangle
    hugged: int  # columns of these that hug the edge
    edge: EdgePoints

    @property
    def edge_rows(self) -> Index:
        """[s, layer nodes] node numbers of the columns that hug the edge."""
        return self.ray_rows[:, : self.hugged]

    @property
    def x(self) -> Array:
        """x in the plane."""
        return self.hug * (1 - self.mix) + self.lay * self.mix


@dataclass(frozen=True)
class _Block:
    hug: Array
    lay: Array
    mix: Array
    y: Array
    offset: Array


def quarter_cell(
    cutout: Cutout,
    half_x: float,
    half_y: float,
    fineness: Fineness,
    *,
    mirrored_top: bool = False,
    break_mm: float = 0.0,
    reach_x: float | None = None,
    most_hug: float = math.inf,
    most_column: float = math.inf,
    most_near: float = math.inf,
) -> Cell:
    """Mesh of the quarter cell [0, half_x] x [0, half_y] less the cutout.

    mirrored_top: nodes on y = half_y lie symmetric about half_x / 2 (alternate rows tie them to each other).
    break_mm: a layer of cells ends at this distance from the edge (edge break).
    reach_x: how far the cutout reaches along x where it reaches farthest (a ring's bore), most_hug: how far
    from the edge cells may keep to curves at equal distance. most_column: greatest width of the plain columns.
    most_near: farthest that the rays reach along x where plain columns can take over (a ring bends them).
    """
    p = fineness.order
    local = 0.5 * (lobatto(p) + 1.0)
    pieces = cutout.quarter()
    gaps = half_x - cutout.half_x_mm, half_y - cutout.half_y_mm
    corner_cell = fineness.sharp_cell * min(cutout.half_x_mm, cutout.half_y_mm)
    ends = divide_edge(pieces, fineness.cells_per_arc, fineness.growth, gaps, corner_cell)
    edge = edge_points(pieces, ends, local)
    reach = cutout.half_x_mm if reach_x is None else reach_x
    near_x, near_y = _near_cell(reach, cutout.half_y_mm, half_x, half_y, mirrored_top, most_near)
    outer = _outer_points(pieces, ends, local, edge, near_x, near_y)
    if mirrored_top and near_x == half_x:
        top = outer[:, 1] == near_y
        outer[top, 0] = 0.5 * (outer[top, 0] + half_x - outer[top, 0][::-1])
    gap = min(near_x - reach, near_y - cutout.half_y_mm)
    corner = math.hypot(near_x - reach, near_y - cutout.half_y_mm) + 0.4 * cutout.least_radius_mm
    hugged, beyond = _layers(cutout, gap, min(0.42 * gap, most_hug), corner, fineness, break_mm)
    blocks = [_rays(edge, outer, hugged, beyond, local)]
    blocks += _extensions(blocks[0], half_x, half_y, near_x, near_y, fineness.growth, local, mirrored_top, most_column)
    return _merge(blocks, p, len(hugged) - 1, edge, max(half_x, half_y))


def _near_cell(
    hx: float, hy: float, half_x: float, half_y: float, mirrored_top: bool, most_x: float
) -> tuple[float, float]:
    size = 0.6 * max(hx, hy)

    def near(half: float, h: float, other_gap: float) -> float:
        gap = max(other_gap, size)
        return half if half - h <= 1.7 * gap else h + gap

    x, y = near(half_x, hx, half_y - hy), near(half_y, hy, half_x - hx)
    if x > most_x:
        x = min(x, max(most_x, hx + size))
    if mirrored_top and x > 0.45 * half_x:
        x = half_x
    return x, y


def _corner_end(pieces: tuple[Piece, ...], ends: list[Array]) -> tuple[int, float]:
    """The curved piece and the cell end on it whose ray goes to the rectangle's corner."""
    i = next(k for k, p in enumerate(pieces) if isinstance(p, (Arc, EllipseArc)))
    t = ends[i]
    return i, float(t[np.argmin(np.abs(t - 0.5))])


def _outer_points(
    pieces: tuple[Piece, ...], ends: list[Array], local: Array, edge: EdgePoints, x: float, y: float
) -> Array:
    """Where the rays from the edge's nodes end on the rectangle (x, y)."""
    at, t_corner = _corner_end(pieces, ends)
    curved = pieces[at]
    centre = curved.centre if isinstance(curved, Arc) else (0.0, 0.0)
    out, k = np.empty_like(edge.place), 0
    for piece, t_ends in zip(pieces, ends, strict=True):
        t = (t_ends[:-1, None] + np.diff(t_ends)[:, None] * local[None, :-1]).ravel()
        t = np.append(t, 1.0) if piece is pieces[-1] else t
        part = out[k : k + t.size]
        place = edge.place[k : k + t.size]
        if isinstance(piece, Line):
            first = piece.normal_angle == 0.0
            part[:, 0] = x if first else place[:, 0]
            part[:, 1] = place[:, 1] if first else y
        else:
            right = t <= t_corner * (1 + 1e-12)
            turn = np.where(right, t / t_corner, (1 - t) / (1 - t_corner)) * 0.25 * math.pi
            reach = np.minimum(np.tan(turn), 1.0)
            part[:, 0] = np.where(right, x, centre[0] + (x - centre[0]) * reach)
            part[:, 1] = np.where(right, centre[1] + (y - centre[1]) * reach, y)
            corner = np.isclose(t, t_corner, rtol=1e-12)
            part[corner] = (x, y)
        k += t.size
    out[0, 1] = 0.0
    out[-1, 0] = 0.0
    return out


def _layers(cutout: Cutout, gap: float, hug: float, corner: float, f: Fineness, break_mm: float) -> tuple[Array, Array]:
    """Distances from the edge at which layers end, and shares of the rest up to the rectangle."""
    if cutout.sharp:
        first = f.sharp_cell * min(cutout.half_x_mm, cutout.half_y_mm)
    else:
        first = f.first_layer * cutout.least_radius_mm / f.cells_per_arc
    first = min(first, 0.6 * gap, hug)
    hugged = graded(max(hug, 1.5 * break_mm), first, f.growth)
    if break_mm:
        inside = [d for d in hugged if d > 1.3 * break_mm]
        hugged = np.array([0.0, break_mm, *inside])
    last = hugged[-1] - hugged[-2]
    # the rays' remaining length runs from that at the narrowest place to that at the rectangle's corner
    rest = 0.5 * (gap + corner) - hugged[-1]
    beyond = graded(rest, max(last * f.growth, 0.02 * rest), f.growth) / rest
    return hugged, beyond


def _spread(ends: Array, local: Array) -> Array:
    """Node positions of the cells between `ends`."""
    inner = (ends[:-1, None] + np.diff(ends)[:, None] * local[None, :-1]).ravel()
    return np.append(inner, ends[-1])


def _rays(edge: EdgePoints, outer: Array, hugged: Array, beyond: Array, local: Array) -> _Block:
    distance = _spread(hugged, local)
    normal = np.stack([np.cos(edge.angle), np.sin(edge.angle)], -1)
    normal[0], normal[-1] = (1.0, 0.0), (0.0, 1.0)
    near = edge.place[:, None] + distance[None, :, None] * normal[:, None]
    share = _spread(beyond, local)[1:]
    share[-1] = 1.0
    n, m = distance.size, share.size
    hug = np.concatenate([near[..., 0], np.repeat(near[:, -1:, 0], m, 1)], 1)
    lay = np.repeat(outer[:, :1], n + m, 1)
    mix = np.concatenate([np.zeros(n), share])[None].repeat(len(edge.place), 0)
    y_near = np.concatenate([near[..., 1], np.repeat(near[:, -1:, 1], m, 1)], 1)
    y = y_near * (1 - mix) + outer[:, 1:] * mix
    offset = np.concatenate([distance, np.full(m, np.inf)])[None].repeat(len(edge.place), 0)
    y[:, -1] = outer[:, 1]
    return _Block(hug, lay, mix, y, offset)


def _extensions(
    rays: _Block,
    half_x: float,
    half_y: float,
    near_x: float,
    near_y: float,
    growth: float,
    local: Array,
    mirrored: bool,
    most_column: float,
) -> list[_Block]:
    """Plain columns to the right of the rays' rectangle and rows above it."""
    x_out, y_out = rays.lay[:, -1], rays.y[:, -1]
    right, top = x_out == near_x, y_out == near_y
    side = y_out[right]  # ascending from 0 to near_y
    xs = x_out[top][::-1]  # ascending from 0 to near_x
    order = local.size - 1
    blocks = []
    columns = np.empty(0)
    if near_x < half_x:
        first = min(growth * _last_cell(xs, order), near_y)
        if mirrored:
            middle = _spread(near_x + graded_both(half_x - 2 * near_x, first, growth), local)
            columns = np.concatenate([middle, half_x - xs[-2::-1]])
        else:
            columns = _spread(near_x + graded(half_x - near_x, first, growth, most_column), local)
        columns[0], columns[-1] = near_x, half_x
        blocks.append(_plain(columns, side))
    if near_y < half_y:
        first = min(growth * _last_cell(side, order), near_x)
        rows = _spread(near_y + graded(half_y - near_y, first, growth), local)
        rows[0], rows[-1] = near_y, half_y
        blocks.append(_plain(xs, rows))
        if columns.size:
            blocks.append(_plain(columns, rows))
    return blocks


def _last_cell(nodes: Array, order: int) -> float:
    return float(nodes[-1] - nodes[-1 - order])


def _plain(xs: Array, ys: Array) -> _Block:
    y, x = np.meshgrid(ys, xs, indexing="ij")
    return _Block(x, x, np.ones_like(x), y, np.full_like(x, np.inf))


def _merge(blocks: list[_Block], p: int, hugged: int, edge: EdgePoints, size: float) -> Cell:
    """One numbering for all blocks; nodes at the same place become one (so does the fan at a sharp corner)."""
    numbers, cells, start = [], [], 0
    for b in blocks:
        number = np.arange(start, start + b.y.size).reshape(b.y.shape)
        numbers.append(number)
        start += b.y.size
        rows, columns = (b.y.shape[0] - 1) // p, (b.y.shape[1] - 1) // p
        i = (np.arange(rows) * p)[:, None, None, None] + np.arange(p + 1)[None, None, :, None]
        j = (np.arange(columns) * p)[None, :, None, None] + np.arange(p + 1)[None, None, None, :]
        cells.append(number[i, j].reshape(-1, p + 1, p + 1))
    hug, lay, mix, y, offset = (
        np.concatenate([getattr(b, name).ravel() for b in blocks]) for name in ("hug", "lay", "mix", "y", "offset")
    )
    # on the slot and in plain blocks only one of hug and lay counts
    x = hug * (1 - mix) + lay * mix
    key = np.round(np.stack([x, y], -1) / (1e-10 * size)).astype(np.int64)
    # cells of the rays begin at the end of those before them; beyond what hugs the edge that is the last such end
    rings = blocks[0].offset[0][:-1:p]
    begin = np.where(np.isfinite(rings), rings, blocks[0].offset[0][hugged * p])
    distance = np.full(sum(len(c) for c in cells), np.inf)
    distance[: len(cells[0])] = np.tile(begin, (blocks[0].y.shape[0] - 1) // p)
    _, first, inverse = np.unique(key, axis=0, return_index=True, return_inverse=True)
    inverse = inverse.ravel()
    return Cell(
        p, hug[first], lay[first], mix[first], y[first], offset[first],
        inverse[np.concatenate(cells)], distance, inverse[numbers[0]], hugged * p + 1, edge,
    )  # fmt: skip
