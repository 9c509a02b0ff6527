"""The mesh as arrays: nodes, cells of one order, named faces, and the slot's edge in order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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


@dataclass(frozen=True)
class Mesh:
    """nodes [n, dim]; cells [e, (order + 1)^dim] in the reference element's order; faces by name, likewise."""

    order: int
    dim: int
    nodes: Array
    cells: Index
    faces: Mapping[str, Index]
    edge: EdgeGrid

    def face_nodes(self, name: str) -> Index:
        """Sorted numbers of the nodes on a face."""
        return np.unique(self.faces[name])
