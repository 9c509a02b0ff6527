"""Stress along the path that a crack would take from a slot's edge into the shell.

The path follows the mesh from the edge outward at one depth of the wall: square to the edge first, then on to the rectangle
around the slot. A crack opens by the stress normal to the path in the shell's surface; at the edge that is the stress along it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress
from ..model.material import Material
from ..paths import CrackPaths
from .field import nodal_stress
from .mesh import Mesh
from .ring_level import WholeLevel

__all__ = ["crack_paths"]

Array = NDArray[np.float64]


def crack_paths(level: Any, edge: EdgeStress, material: Material) -> CrackPaths:
    """Paths of a ring from the ends of all cells along the edges, at the surfaces and the ends of layers between.

    level: the Level or WholeLevel of the finest mesh. Raises ValueError for a part without solids.
    """
    grid, orders = level.mesh.edge, level.mesh.orders
    if grid.rays is None:
        raise ValueError("only solids have paths into the shell")
    rows = np.arange(0, len(grid.s_mm), orders[0])
    layers = np.arange(0, grid.rays.shape[2], orders[2])
    out = []
    for slot in range(edge.stress.shape[1]):
        for sector in range(4):
            u = _displacement(level, slot, sector)
            for row in rows[sector % 2 : len(rows) - 1 + sector % 2]:  # where quarters meet once
                out += [_path(level.mesh, edge, u, (slot, sector, int(row), int(layer)), material) for layer in layers]
    slots, s_mm, depth_mm, x_mm, stress = zip(*out, strict=True)
    return CrackPaths(np.array(slots), np.array(s_mm), np.array(depth_mm), np.stack(x_mm), np.stack(stress))


def _path(
    mesh: Mesh, edge: EdgeStress, u: Array, start: tuple[int, int, int, int], material: Material
) -> tuple[int, float, float, Array, Array]:
    slot, sector, row, layer = start
    grid = mesh.edge
    assert grid.rays is not None
    nodes = grid.rays[row, :, layer]
    near = replace(mesh, cells=mesh.cells[np.isin(mesh.cells, nodes).any(1)])
    tensors = np.stack([nodal_stress(near, u[..., k], material)[nodes] for k in range(u.shape[-1])])
    place = mesh.nodes[nodes]
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(place, axis=0), axis=1))])
    tangent = np.gradient(place, length, axis=0)
    normal = np.cross(place * [1.0, 1.0, 0.0], tangent)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    stress = np.einsum("ni,cnij,nj->cn", normal, tensors, normal)
    # on the edge itself the surface's own recovery is closer
    quarter = float(grid.s_mm[-1])
    here = float(grid.s_mm[row])
    s_mm = (sector * quarter + here if sector % 2 == 0 else (sector + 1) * quarter - here) % (4 * quarter)
    i = int(np.argmin(np.abs(edge.s_mm - s_mm)))
    wall = np.flatnonzero(edge.offset_mm == 0.0)
    d = int(wall[np.argmin(np.abs(edge.depth_mm[wall] - grid.depth_mm[1][layer]))])
    stress[:, 0] = edge.stress[:, slot, i, d, 0]
    return slot, float(edge.s_mm[i]), float(edge.depth_mm[d]), length, stress


def _displacement(level: Any, slot: int, sector: int) -> Array:
    """[n, 3, case] of the quarter around a slot, in its own mirrored frame, inside cells too."""
    if not isinstance(level, WholeLevel):
        return np.asarray(level.u)
    around = 2 * level.whole.plan.ring.slots_around
    j, h = ((2 * slot, 0), (2 * slot - 1, 0), (2 * slot - 1, -1), (2 * slot, -1))[sector]
    return np.asarray(level.whole.quarter.in_space(level.whole.displacement(j % around, h, inside=True)))
