"""The skin of a solved body as plain triangles with a signed stress, light enough to stand in a page."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .vtu import Field

__all__ = ["Skin", "skin_of"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FACES = np.array(
    [(0, 3, 2, 1), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]
)  # of a hexahedron
RIM_DEG = 35.0


@dataclass(frozen=True)
class Skin:
    """points [n, 3] mm; triangles [t, 3]; values [n] MPa at the points; rims [r, 2]: ends of the edges where the skin turns.

    A point at which the principal stress of largest magnitude changes its sign stands twice, once with each value.
    """

    points: Array
    triangles: Index
    values: Array
    rims: Index


def skin_of(
    field: Field, case: str, *, cell: bool, turn: Array | None = None, most_turn_rad: float = math.pi
) -> Skin:  # fmt: skip
    """The skin of a field of eight-cornered cells under one load, coloured by the principal stress of largest magnitude.

    cell: the field is a quarter cell, whose faces in y = 0 and z = 0 lie inside the body and are left out; else the part
    in front (x > 0 once `turn`, 4 x 4, is applied) is taken. Cells whose middle is turned
    further than most_turn_rad about the z axis from x then are left out. Raises KeyError where the load's stress was not kept.
    """
    stress = field.data[f"stress_MPa:{case}"]
    cells = field.cells
    middles = field.nodes[cells].mean(axis=1)
    if turn is not None:
        middles = middles @ turn[:3, :3].T
    kept = np.abs(np.arctan2(middles[:, 1], middles[:, 0])) < most_turn_rad
    cells = cells[kept if cell else kept & (middles[:, 0] > 0.0)]
    quads = _outer(cells)
    if cell:
        tiny = 1e-6 * float(np.ptp(field.nodes))
        for axis in (1, 2):
            quads = quads[~(np.abs(field.nodes[quads, axis]) < tiny).all(axis=1)]
    used, flat = np.unique(quads, return_inverse=True)
    quads, points = flat.reshape(quads.shape), field.nodes[used]
    rims = _rims(points, quads)
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    return _signed(points, triangles, stress[used], rims)


def _outer(cells: Index) -> Index:
    """Faces that belong to one cell only."""
    faces = cells[:, FACES].reshape(-1, 4)
    _, first, count = np.unique(np.sort(faces, axis=1), axis=0, return_index=True, return_counts=True)
    return np.asarray(faces[first[count == 1]], np.intp)


def _rims(points: Array, quads: Index) -> Index:
    """Edges at which two faces meet at more than RIM_DEG."""
    corners = points[quads]
    normals = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    edges = np.sort(np.stack([quads, np.roll(quads, -1, axis=1)], axis=-1).reshape(-1, 2), axis=1)
    owner = np.repeat(np.arange(len(quads)), 4)
    order = np.lexsort(edges.T)
    edges, owner = edges[order], owner[order]
    twin = np.flatnonzero((edges[1:] == edges[:-1]).all(axis=1))
    bend = np.einsum("ij,ij->i", normals[owner[twin]], normals[owner[twin + 1]])
    return np.asarray(edges[twin[bend < math.cos(math.radians(RIM_DEG))]], np.intp)


def _signed(points: Array, triangles: Index, stress: Array, rims: Index) -> Skin:
    """Each triangle shows the principal stress that is larger in magnitude at its middle, at all of its corners."""
    low, high = _principals(stress)
    middle_low, middle_high = _principals(stress[triangles].mean(axis=1))
    tension = middle_high >= -middle_low
    keys = 2 * triangles + tension[:, None]  # a point and the side it shows
    shown, flat = np.unique(keys, return_inverse=True)
    at = shown // 2
    values = np.where(shown % 2 == 1, high[at], low[at])
    place = np.full(len(points), -1)
    place[at] = np.arange(len(at))
    return Skin(points[at], flat.reshape(triangles.shape), values, place[rims])


def _principals(stress: Array) -> tuple[Array, Array]:
    """Least and largest principal stress of components xx, yy, zz, xy, yz, xz."""
    xx, yy, zz, xy, yz, xz = stress.T
    found = np.linalg.eigvalsh(np.stack([xx, xy, xz, xy, yy, yz, xz, yz, zz], -1).reshape(-1, 3, 3))
    return found[:, 0], found[:, 2]
