"""Where the nodes of a cell stand in the orders that files use.

The mesher tells its own reference points; for the VTK family they are listed here (VTK user's guide, cell
types; orders confirmed by reading back files of both kinds in the tests).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["FOREIGN", "GMSH", "VTK_LINEAR"]

Array = NDArray[np.float64]

# the mesher's cell type numbers -> second-order kind
GMSH = {
    1: "line3", 8: "line3", 2: "tri6", 9: "tri6", 3: "quad9", 16: "quad9", 10: "quad9",
    4: "tet10", 11: "tet10", 5: "hex27", 17: "hex27", 12: "hex27",
}  # fmt: skip


def _with_edges(corners: list[list[float]], edges: list[tuple[int, int]]) -> Array:
    points = np.array(corners, dtype=float)
    return np.vstack([points, [points[list(e)].mean(0) for e in edges]])


_LINE = _with_edges([[0], [1]], [(0, 1)])
_TRI = _with_edges([[0, 0], [1, 0], [0, 1]], [(0, 1), (1, 2), (2, 0)])
_QUAD8 = _with_edges([[0, 0], [1, 0], [1, 1], [0, 1]], [(0, 1), (1, 2), (2, 3), (3, 0)])
_QUAD = np.vstack([_QUAD8, [[0.5, 0.5]]])
_TET = _with_edges(
    [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], [(0, 1), (1, 2), (2, 0), (0, 3), (1, 3), (2, 3)]
)  # fmt: skip
_HEX20 = _with_edges(
    [[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [0, 0, 1], [1, 0, 1], [1, 1, 1], [0, 1, 1]],
    [(0, 1), (1, 2), (2, 3), (3, 0), (4, 5), (5, 6), (6, 7), (7, 4), (0, 4), (1, 5), (2, 6), (3, 7)],
)
_HEX = np.vstack([
    _HEX20,
    [[0, 0.5, 0.5], [1, 0.5, 0.5], [0.5, 0, 0.5], [0.5, 1, 0.5], [0.5, 0.5, 0], [0.5, 0.5, 1], [0.5, 0.5, 0.5]],
])  # fmt: skip

# the reader's name of a cell -> second-order kind, reference points of its nodes
FOREIGN: dict[str, tuple[str, Array]] = {
    "line": ("line3", _LINE[:2]),
    "line3": ("line3", _LINE),
    "triangle": ("tri6", _TRI[:3]),
    "triangle6": ("tri6", _TRI),
    "quad": ("quad9", _QUAD[:4]),
    "quad8": ("quad9", _QUAD8),
    "quad9": ("quad9", _QUAD),
    "tetra": ("tet10", _TET[:4]),
    "tetra10": ("tet10", _TET),
    "hexahedron": ("hex27", _HEX[:8]),
    "hexahedron20": ("hex27", _HEX20),
    "hexahedron27": ("hex27", _HEX),
}

# second-order kind -> name of the plain cell, reference points of its corners
VTK_LINEAR: dict[str, tuple[str, Array]] = {
    "tri6": ("triangle", _TRI[:3]),
    "quad9": ("quad", _QUAD[:4]),
    "tet10": ("tetra", _TET[:4]),
    "hex27": ("hexahedron", _HEX[:8]),
}
