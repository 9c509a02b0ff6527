"""The mesh as arrays: nodes, cells of one order, named faces, and the slot's edge in order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .one_layer import OneLayer
from .reference import Orders

__all__ = ["EdgeGrid", "Mesh"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class EdgeGrid:
    """Node numbers on the quarter of a slot's edge.

    bands: structured surfaces [s, d] that meet at the rims, from the outer surface over the wall to the
    bore; in the plane one band with a single column. s is the arc length, offset the distance from the rim.
    """

    s_mm: Array  # [s]
    bands: tuple[Index, ...]
    depth_mm: tuple[Array, ...]  # per band [d]
    offset_mm: tuple[Array, ...]  # per band [d]
    place_mm: tuple[Array, ...]  # per band [s, d, 3], unrolled
    rays: Index | None = None  # of solids: [s, nodes outward from the edge, through the wall]


@dataclass(frozen=True)
class Mesh:
    """nodes [n, dim]; cells [e, nodes of a cell] in the reference element's order; faces by name, likewise.

    orders: along the slot's edge, away from it and, in solids, through the wall. layers: cells that follow one another in
    `cells` because they lie above one another through the wall, 0 where they do not. one: columns of them that are solved
    as one layer.
    """

    orders: Orders
    nodes: Array
    cells: Index
    faces: Mapping[str, Index]
    edge: EdgeGrid
    layers: int = 0
    one: OneLayer | None = None

    def by_cells(self) -> Mesh:
        """The same, to be solved cell by cell: no columns, none of one layer."""
        return replace(self, layers=0, one=None)

    @property
    def dim(self) -> int:
        """Dimensions of space."""
        return len(self.orders)

    @property
    def order(self) -> int:
        """Order in the plane."""
        return self.orders[0]

    def face_orders(self, name: str) -> Orders:
        """Orders of the cells' sides on a face."""
        return self.orders[:-1] if self.dim == 2 or name in ("outer", "bore") else self.orders[1:]

    def band_orders(self, band: int) -> Orders:
        """Orders of a band of the edge, along it and across."""
        return self.orders[1:] if band == 1 else self.orders[:2]

    def face_nodes(self, name: str) -> Index:
        """Sorted numbers of the nodes on a face."""
        return np.unique(self.faces[name])
