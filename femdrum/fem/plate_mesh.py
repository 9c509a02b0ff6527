"""Quarter of a plate, or of one cell of a plate row, as a plane mesh with its supports."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..model.plate import Plate, PlateRow
from .cell import Cell, Fineness, quarter_cell
from .mesh import EdgeGrid, Mesh
from .supports import Supports

__all__ = ["plate_mesh", "plate_supports"]

Index = NDArray[np.intp]


def plate_mesh(part: Plate | PlateRow, fineness: Fineness) -> Mesh:
    """Mesh of the quarter x >= 0, y >= 0; faces edge, x_min, x_max, y_min, y_max."""
    cell = quarter_cell(part.cutout, part.half_x_mm, part.half_y_mm, fineness)
    nodes = np.stack([cell.x, cell.y], -1)
    place = np.zeros((len(cell.edge_rows), 1, 3))
    place[:, 0, :2] = nodes[cell.edge_rows[:, 0]]
    edge = EdgeGrid(cell.edge.s_mm, (cell.edge_rows[:, :1],), (np.zeros(1),), (np.zeros(1),), (place,))
    p = cell.order
    return Mesh((p, p), nodes, cell.cells.reshape(len(cell.cells), -1), plane_faces(cell), edge)


def plane_faces(cell: Cell) -> dict[str, Index]:
    """Cell sides that lie on the quarter's borders, by name: [f, order + 1] node numbers."""
    sides = np.concatenate([cell.cells[:, 0], cell.cells[:, -1], cell.cells[:, :, 0], cell.cells[:, :, -1]])
    x, y = cell.x, cell.y
    outer = cell.mix == 1.0
    half_x, half_y = float(cell.lay[outer].max()), float(y.max())
    tiny = 1e-9 * max(half_x, half_y)
    where = {
        "x_min": np.abs(x) <= tiny,
        "x_max": outer & (np.abs(cell.lay - half_x) <= tiny),
        "y_min": np.abs(y) <= tiny,
        "y_max": np.abs(y - half_y) <= tiny,
        "edge": cell.offset == 0.0,
    }
    return {name: np.unique(sides[on[sides].all(1)], axis=0) for name, on in where.items()}


def plate_supports(part: Plate | PlateRow, mesh: Mesh, *, antisymmetric: bool) -> Supports:
    """Mirror planes x = 0 and y = 0, symmetric (pulls) or antisymmetric (shear).

    In a row the cut edge x = half pitch stays straight: it moves as a whole, along x under pulls and along
    y under shear.
    """
    supports = Supports(len(mesh.nodes), 2)
    normal, along = (1, 0) if antisymmetric else (0, 1)
    supports.fix(mesh.face_nodes("x_min"), normal)
    supports.fix(mesh.face_nodes("y_min"), along)
    if isinstance(part, PlateRow):
        cut = mesh.face_nodes("x_max")
        supports.fix(cut, normal)
        supports.move(cut, normal)
    return supports
