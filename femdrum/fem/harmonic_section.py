"""The meridian section of a body of revolution as a mesh of quadrilaterals of any order.

A section is put together from ruled blocks: two lines of nodes, and rays from one to the other. Nodes that fall
together become one, unless a block says that it only touches there (an unfused gap). Places are (r, z), r >= 0.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveFailure
from .reference import derivative_matrix, gauss, lagrange, lobatto

__all__ = ["Section", "SectionBuilder", "arc_length", "rectangle_section", "ruled", "spread"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# nodes closer than this share of the section's size are one
SAME = 1e-10


@dataclass(frozen=True)
class Section:
    """nodes [n, 2] as (r, z) in mm; cells [e, (order + 1)^2] in the reference element's order.

    curves: named lines of node numbers in order, whole cells' sides end to end. parts: named sets of cells.
    """

    order: int
    nodes: Array
    cells: Index
    curves: Mapping[str, Index]
    parts: Mapping[str, Index]

    @property
    def on_axis(self) -> Index:
        """Numbers of the nodes on the axis of revolution."""
        return np.flatnonzero(self.nodes[:, 0] <= SAME * np.abs(self.nodes).max())

    def length_mm(self, curve: str) -> Array:
        """Arc length at a curve's nodes, from its first node, exact for straight and circular cells."""
        place = self.nodes[self.curves[curve]]
        return arc_length(place, self.order)


def arc_length(place: Array, order: int) -> Array:
    """Arc length at the nodes of a line of cells [k, 2], from its first node."""
    count = (len(place) - 1) // order
    index = np.arange(count)[:, None] * order + np.arange(order + 1)
    ends = 0.5 * (lobatto(order) + 1.0)
    x, w = gauss(order + 2)
    slope = np.einsum("ab,cbd->cad", derivative_matrix(order), place[index])
    speed = np.linalg.norm(slope, axis=-1)
    # the speed is smooth: integrate its polynomial from the cell's start to each node
    inner = np.stack([lagrange(order, -1.0 + (x + 1.0) * e)[0] for e in ends])
    parts = np.einsum("nqb,cb,q,n->cn", inner, speed, w, ends)
    start = np.concatenate([[0.0], np.cumsum(parts[:, -1])])
    out = np.empty(len(place))
    out[index] = start[:-1, None] + parts
    return out


def spread(ends: Array, order: int) -> Array:
    """Node positions of the cells between `ends`, Gauss-Lobatto in each cell."""
    local = 0.5 * (lobatto(order) + 1.0)
    inner = (ends[:-1, None] + np.diff(ends)[:, None] * local[None, :-1]).ravel()
    return np.append(inner, ends[-1])


def ruled(first: Array, last: Array, share: Array, share_end: Array | None = None) -> Array:
    """Nodes [m, n, 2] of a block between two lines of nodes [m, 2], on rays with the nodes at `share` [n].

    share_end: shares on the last ray, where they differ; between, they change evenly along the first line.
    """
    f = np.broadcast_to(share, (len(first), share.size))
    if share_end is not None:
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(first, axis=0), axis=1))])
        w = (along / along[-1])[:, None]
        f = share * (1 - w) + share_end * w
    return np.asarray(first[:, None] * (1 - f[..., None]) + last[:, None] * f[..., None])


@dataclass
class SectionBuilder:
    """Collects blocks and curves of one order; `build` numbers them."""

    order: int
    _grids: list[tuple[str, Array, Array]] = field(default_factory=list)
    _curves: dict[str, Array] = field(default_factory=dict)

    def add(self, name: str, grid: Array, touching: NDArray[np.bool_] | None = None) -> None:
        """A block of nodes [m, n, 2], whole cells both ways. touching [m, n]: nodes that meet the rest without being
        fused with it (they fuse with each other).
        """
        tag = np.zeros(grid.shape[:2]) if touching is None else touching.astype(float)
        a, b = grid[self.order, 0] - grid[0, 0], grid[0, self.order] - grid[0, 0]
        if a[0] * b[1] - a[1] * b[0] < 0:
            grid, tag = grid[::-1], tag[::-1]
        self._grids.append((name, grid, tag))

    def curve(self, name: str, places: Array) -> None:
        """A named line of fused nodes [k, 2]."""
        self._curves[name] = places

    def build(self) -> Section:
        """The section. Raises SolveFailure where a curve does not follow the blocks' nodes."""
        p = self.order
        numbers, cells, names, start = [], [], [], 0
        for name, grid, _ in self._grids:
            m, n = grid.shape[:2]
            number = np.arange(start, start + m * n).reshape(m, n)
            start += m * n
            i = (np.arange((m - 1) // p) * p)[:, None, None, None] + np.arange(p + 1)[None, None, :, None]
            j = (np.arange((n - 1) // p) * p)[None, :, None, None] + np.arange(p + 1)[None, None, None, :]
            numbers.append(number)
            cells.append(number[i, j].reshape(-1, (p + 1) ** 2))
            names += [name] * len(cells[-1])
        points = np.concatenate([g.reshape(-1, 2) for _, g, _ in self._grids])
        tags = np.concatenate([t.ravel() for _, _, t in self._grids])
        size = np.abs(points).max()
        first, inverse = _same(np.column_stack([points / (SAME * size), tags]))
        nodes = points[first]
        nodes[np.abs(nodes[:, 0]) < SAME * size, 0] = 0.0
        fused = np.flatnonzero(tags[first] == 0)
        curves = {name: _follow(name, nodes, fused, places, size) for name, places in self._curves.items()}
        labels = np.array(names)
        parts = {name: np.flatnonzero(labels == name) for name in dict.fromkeys(names)}
        return Section(p, nodes, inverse[np.concatenate(cells)], curves, parts)


def _same(scaled: Array) -> tuple[Index, Index]:
    """First of each set of equal points, and to which set each belongs; two grids, so that none is missed at a step."""
    first = np.arange(len(scaled))
    inverse = first
    for shift in (0.0, 0.5):
        key = np.column_stack([np.round(scaled[first][:, :2] + shift), scaled[first][:, 2]])
        _, some, back = np.unique(key, axis=0, return_index=True, return_inverse=True)
        first, inverse = first[some], back.ravel()[inverse]
    return first, inverse


def _follow(name: str, nodes: Array, fused: Index, places: Array, size: float) -> Index:
    from scipy.spatial import cKDTree

    distance, number = cKDTree(nodes[fused]).query(places)
    if distance.max() > 10 * SAME * size:
        raise SolveFailure(f"the curve {name!r} does not follow the section's nodes")
    return np.asarray(fused[number])


def rectangle_section(radii_mm: Array, heights_mm: Array, order: int) -> Section:
    """A plain tube or shaft: cells between the given radii and heights; curves inner, outer, bottom and top.

    radii may start at 0; then `inner` is the axis.
    """
    r, z = spread(np.asarray(radii_mm, float), order), spread(np.asarray(heights_mm, float), order)
    grid = np.stack(np.meshgrid(r, z, indexing="ij"), -1)
    builder = SectionBuilder(order)
    builder.add("body", grid)
    for name, line in (("inner", grid[0]), ("outer", grid[-1]), ("bottom", grid[:, 0]), ("top", grid[:, -1])):
        builder.curve(name, line)
    return builder.build()
