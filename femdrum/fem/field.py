"""The field of the finest mesh as a binary VTU file: displacement and stress of every load.

Cells of high order are cut into plain quadrilaterals or hexahedra between their nodes, so that any viewer
shows them. Arrays are named `what_unit:load`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from .elasticity import lame
from .level import Field
from .mesh import Mesh
from .reference import derivative_matrix
from .vtu_file import write_cells

if TYPE_CHECKING:
    from .file_level import FileLevel

__all__ = ["nodal_stress", "point_data", "subcells", "write_vtu"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def write_vtu(path: Path, level: Field | FileLevel, states: Mapping[str, Array], material: Material) -> None:
    """Write displacement_mm, stress_MPa (xx yy zz xy yz xz), principal_MPa (of largest magnitude, signed) and
    von_mises_MPa of every state {load name: factors on the unit cases}.
    """
    mesh = level.mesh
    cells, stress_of = _shown(level, material)
    points = mesh.nodes if mesh.dim == 3 else np.column_stack([mesh.nodes, np.zeros(len(mesh.nodes))])
    data: dict[str, Array] = {}
    for name, factors in states.items():
        u = level.u @ factors
        data |= point_data(name, u, stress_of(u))
    write_cells(path, points, cells, data)


def point_data(name: str, u: Array, stress: Array) -> dict[str, Array]:
    """The arrays of one state from displacements [n, dim] and stress tensors [n, 3, 3]."""
    values = np.linalg.eigvalsh(stress)
    a, b, c = values.T
    return {
        f"displacement_mm:{name}": u if u.shape[1] == 3 else np.column_stack([u, np.zeros(len(u))]),
        f"stress_MPa:{name}": stress[:, [0, 1, 2, 0, 1, 0], [0, 1, 2, 1, 2, 2]],
        f"principal_MPa:{name}": np.where(np.abs(a) > c, a, c),
        f"von_mises_MPa:{name}": np.sqrt(0.5 * ((a - b) ** 2 + (b - c) ** 2 + (c - a) ** 2)),
    }


def _shown(level: Field | FileLevel, material: Material) -> tuple[list[tuple[str, Index]], Callable[[Array], Array]]:
    """Plain cells between the nodes, and the function that gives the stress at the nodes."""
    if not isinstance(level, Field):
        return level.mesh.plain_cells(), lambda u: level.nodal_stress(u, material)
    mesh = level.mesh
    return [("hexahedron" if mesh.dim == 3 else "quad", subcells(mesh))], lambda u: nodal_stress(mesh, u, material)


def subcells(mesh: Mesh) -> Index:
    """Plain quadrilaterals or hexahedra between the nodes, in VTK's corner order."""
    dim = mesh.dim
    grid = mesh.cells.reshape(-1, *(p + 1 for p in mesh.orders))
    corners: list[tuple[int, ...]]
    if dim == 2:
        corners = [(0, 0), (1, 0), (1, 1), (0, 1)]
    else:
        corners = [(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0), (0, 0, 1), (1, 0, 1), (1, 1, 1), (0, 1, 1)]
    picks = [
        grid[(slice(None), *(slice(o, p + o) for o, p in zip(corner, mesh.orders, strict=True)))].reshape(-1)
        for corner in corners
    ]
    cells = np.stack(picks, -1)
    ordered = np.sort(cells, 1)
    degenerate = (ordered[:, 1:] == ordered[:, :-1]).all(1)
    return np.asarray(cells[~degenerate])


def nodal_stress(mesh: Mesh, u: Array, material: Material, local: Index | None = None) -> Array:
    """Stress tensors [n, 3, 3] at the nodes, averaged over the cells that meet there. u [n, dim] in space.

    local: only at these nodes of each cell, zero elsewhere. For pictures; peaks come from recovery.py, which is more exact on the edge.
    """
    dim = mesh.dim
    lam, mu = lame(material, dim)
    gradients = []
    for axis in range(dim):
        g: Array = np.ones((1, 1))
        for k, p in enumerate(mesh.orders):
            g = np.asarray(np.kron(g, derivative_matrix(p) if k == axis else np.eye(p + 1)))
        gradients.append(g)
    ref = np.stack(gradients, -1)  # [node, shape function, dim]
    at = np.arange(len(ref)) if local is None else local
    ref = ref[at]
    total = np.zeros((len(mesh.nodes), 3, 3))
    count = np.zeros(len(mesh.nodes))
    for cells in np.array_split(mesh.cells, max(1, len(mesh.cells) // 64)):
        jacobian = np.einsum("end,qnr->eqdr", mesh.nodes[cells], ref, optimize=True)
        slopes = np.einsum("end,qnr->eqdr", u[cells], ref, optimize=True)
        det = np.abs(np.linalg.det(jacobian))
        good = det > 1e-9 * det.max()  # not where a fan of cells meets in a sharp corner
        jacobian[~good] = np.eye(dim)
        strain = slopes @ np.linalg.inv(jacobian)
        strain = 0.5 * (strain + strain.transpose(0, 1, 3, 2))
        stress = np.zeros((*strain.shape[:2], 3, 3))
        stress[..., :dim, :dim] = 2 * mu * strain
        trace = lam * np.trace(strain, axis1=2, axis2=3)
        for i in range(dim):
            stress[..., i, i] += trace
        np.add.at(total, cells[:, at][good], stress[good])
        np.add.at(count, cells[:, at][good], 1.0)
    return np.asarray(total / np.maximum(count, 1.0)[:, None, None])
