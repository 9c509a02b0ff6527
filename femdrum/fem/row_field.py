"""The field of a whole row as a binary VTU file: every mirrored copy of the quarter cell in its place on the drum.

Cells of high order are shown by their corners, middles and ends only, so that the file stays small.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from ..model.ring import Ring
from .copies import Copy, copy_at
from .field import nodal_stress, point_data
from .vtu_file import write_cells

if TYPE_CHECKING:
    from .ring_level import WholeLevel

__all__ = ["write_row"]

Array = NDArray[np.float64]

CORNERS = ((0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0), (0, 0, 1), (1, 0, 1), (1, 1, 1), (0, 1, 1))
# the same corners of a mirrored cell, so that it is not turned inside out
MIRRORED = [0, 3, 2, 1, 4, 7, 6, 5]


def write_row(path: Path, level: WholeLevel, states: Mapping[str, Array], material: Material) -> None:
    """Write the middle row of the states {name: factors on the unit cases}; arrays as in field.write_vtu.

    Displacements are given without the row's mean translation and its mean rotation about the axis: nothing holds it.
    """
    whole = level.whole
    ring, mesh = whole.plan.ring, whole.mesh
    taken = [sorted({0, p // 2, p}) for p in mesh.orders]
    grid = mesh.cells.reshape(-1, *(p + 1 for p in mesh.orders))[np.ix_(range(len(mesh.cells)), *taken)]
    shown = np.unique(grid)
    number = np.full(len(mesh.nodes), -1)
    number[shown] = np.arange(shown.size)
    m = [len(some) - 1 for some in taken]
    cells = np.stack([number[grid[:, a : m[0] + a, b : m[1] + b, c : m[2] + c]].ravel() for a, b, c in CORNERS], -1)
    local = np.ravel_multi_index(np.meshgrid(*taken, indexing="ij"), [p + 1 for p in mesh.orders]).ravel()
    factors = np.stack(list(states.values()), -1)
    points: list[Array] = []
    blocks = []
    data: dict[str, list[Array]] = {}
    for h in (0, -1):
        for j in range(2 * ring.slots_around):
            turn = _to_drum(ring, copy_at(ring, j, h))
            u = whole.quarter.in_space(whole.displacement(j, h, inside=True) @ factors)
            placed_cells = cells if np.linalg.det(turn) > 0 else cells[:, MIRRORED]
            blocks.append(placed_cells + len(points) * shown.size)
            points.append(mesh.nodes[shown] @ turn.T)
            for k, name in enumerate(states):
                stress = nodal_stress(mesh, u[..., k], material, local)[shown]
                placed = turn @ stress @ turn.T
                for key, values in point_data(name, u[shown, :, k] @ turn.T, placed).items():
                    data.setdefault(key, []).append(values)
    merged, inverse = _merged(np.concatenate(points), ring)
    joined = {key: _mean(np.concatenate(parts), inverse, len(merged)) for key, parts in data.items()}
    for name in states:
        _bring_home(joined[f"displacement_mm:{name}"], merged)
    hexahedra = inverse[np.concatenate(blocks)]
    write_cells(path, merged, [("hexahedron", hexahedra)], joined)


def _to_drum(ring: Ring, c: Copy) -> Array:
    """[3, 3]: from the quarter cell in its own place to the copy's."""
    turn = (c.j + c.mirror_x) * math.pi / ring.slots_around
    cos, sin = math.cos(turn), math.sin(turn)
    mirror = np.diag([1.0, -1.0 if c.mirror_x else 1.0, -1.0 if c.mirror_y else 1.0])
    return np.asarray(np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]]) @ mirror)


def _bring_home(u: Array, points: Array) -> None:
    """Take the mean translation and the mean rotation about the axis out of displacements [n, 3]."""
    u -= u.mean(axis=0)
    x, y = points[:, 0], points[:, 1]
    turn = float(np.sum(x * u[:, 1] - y * u[:, 0]) / np.sum(x**2 + y**2))
    u[:, 0] += turn * y
    u[:, 1] -= turn * x


def _merged(points: Array, ring: Ring) -> tuple[Array, NDArray[np.intp]]:
    """Nodes at the same place as one, so that means are taken across the copies' borders too."""
    from scipy.spatial import cKDTree

    tree = cKDTree(points)
    pairs = tree.query_pairs(1e-6 * ring.outer_radius_mm, output_type="ndarray")
    first = np.arange(len(points))
    np.minimum.at(first, pairs[:, 1], pairs[:, 0])
    while not np.array_equal(first, first[first]):
        first = first[first]
    kept, inverse = np.unique(first, return_inverse=True)
    return points[kept], inverse.ravel()


def _mean(values: Array, inverse: NDArray[np.intp], count: int) -> Array:
    flat = values.reshape(len(values), -1)
    weight = np.bincount(inverse, minlength=count)
    total = np.stack([np.bincount(inverse, column, count) for column in flat.T], -1) / weight[:, None]
    return np.asarray(total.reshape(count, *values.shape[1:]))
