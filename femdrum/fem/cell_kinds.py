"""Second-order cells for meshes from files: line, triangle, quadrilateral, tetrahedron, hexahedron.

Node order and shape functions are those of the assembly library (reference cells on [0, 1]); the tables
beside them say which corners a node lies between, the sides, the mirrored order, and the children of a
uniform division. A child is an affine image of the whole, so a curved cell's children keep its own curve.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["CellKind", "cell_kind"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# quadrature orders: exact for the stiffness of straight cells and for the patch test on curved ones
_QUADRATURE = {"line3": 5, "tri6": 4, "quad9": 5, "tet10": 5, "hex27": 5}


@dataclass(frozen=True)
class CellKind:
    """Tables of one kind of cell. points [n, dim]; `corners` of them come first.

    between: for each node the corners it lies between (itself for a corner).
    sides [k, m]: nodes of each side, ordered as the side's kind, its normal outward.
    mirrored [n]: the order that turns a cell inside out into a sound one.
    children [c, corners]: which nodes are a child's corners; origin [c, dim], axes [c, dim, dim] of the child.
    """

    name: str
    dim: int
    corners: int
    tensor: bool
    points: Array
    between: tuple[tuple[int, ...], ...]
    side_kind: str
    sides: Index
    mirrored: Index
    children: Index
    origin: Array
    axes: Array

    def shapes(self, at: Array) -> tuple[Array, Array]:
        """Shape functions [q, n] and their gradients [q, n, dim] at reference points [q, dim]."""
        element = _elements()[self.name]
        pairs = [element.lbasis(np.asarray(at, dtype=float).T, i) for i in range(len(self.points))]
        values = np.stack([np.broadcast_to(p[0], len(at)) for p in pairs], -1)
        slopes = np.stack([np.stack([np.broadcast_to(d, len(at)) for d in np.atleast_2d(p[1])], -1) for p in pairs], 1)
        return values, slopes

    def quadrature(self) -> tuple[Array, Array]:
        """Points [q, dim] and weights [q]."""
        from skfem.quadrature import get_quadrature

        points, weights = get_quadrature(_elements()[self.name].refdom, _QUADRATURE[self.name])
        return points.T, weights

    def descend(self, at: Array, times: int) -> tuple[Index, Array]:
        """For points [p, dim] of a cell: number of the child that holds each after some divisions, and its point."""
        child = np.zeros(len(at), dtype=np.intp)
        inverse = np.linalg.inv(self.axes)
        for _ in range(times):
            local = np.einsum("cij,pcj->pci", inverse, at[:, None] - self.origin)
            inside = local.min(-1)
            inside = np.minimum(inside, (1 - local).min(-1) if self.tensor else 1 - local.sum(-1))
            best = inside.argmax(1)
            child = child * len(self.children) + best
            at = np.clip(local[np.arange(len(at)), best], 0.0, 1.0)
        return child, at

    def lattice(self, times: int) -> tuple[Array, Array]:
        """Corners of all children after some divisions [p, dim], and the share of the cell that belongs to each."""
        origin, axes = np.zeros((1, self.dim)), np.eye(self.dim)[None]
        for _ in range(times):
            origin = (origin[:, None] + np.einsum("aij,cj->aci", axes, self.origin)).reshape(-1, self.dim)
            axes = np.einsum("aij,cjk->acik", axes, self.axes).reshape(-1, self.dim, self.dim)
        points = (origin[:, None] + np.einsum("aij,vj->avi", axes, self.points[: self.corners])).reshape(-1, self.dim)
        share = np.full(len(points), 1.0 / len(points))
        unique, inverse = np.unique(np.round(points * 2**times).astype(int), axis=0, return_inverse=True)
        return unique / 2.0**times, np.asarray(np.bincount(inverse.ravel(), share), dtype=float)


@cache
def _elements() -> dict[str, Any]:
    import skfem

    return {
        "line3": skfem.ElementLineP2(),
        "tri6": skfem.ElementTriP2(),
        "quad9": skfem.ElementQuad2(),
        "tet10": skfem.ElementTetP2(),
        "hex27": skfem.ElementHex2(),
    }


def _find(points: Array, wanted: Array) -> Index:
    """Numbers of the points that equal each of the wanted."""
    distance = np.abs(points[None] - wanted[:, None]).max(-1)
    found = distance.argmin(1)
    assert distance[np.arange(len(wanted)), found].max() < 1e-9
    return np.asarray(found, dtype=np.intp)


@cache
def cell_kind(name: str) -> CellKind:
    """The kind with this name: line3, tri6, quad9, tet10 or hex27."""
    element = _elements()[name]
    points = np.asarray(element.doflocs, dtype=float)
    corners, dim = int(element.refdom.nnodes), points.shape[1]
    tensor = name in ("line3", "quad9", "hex27")
    between = tuple(_between(points, i, corners, tensor) for i in range(len(points)))
    flipped = points.copy()
    if tensor:
        flipped[:, 0] = 1 - flipped[:, 0]
    else:
        flipped[:, :2] = flipped[:, 1::-1]
    children = _children(points, corners, tensor)
    origin, axes = _frames(points, points[children], points[:corners])
    side_kind = {"tri6": "line3", "quad9": "line3", "tet10": "tri6", "hex27": "quad9"}.get(name, "")
    sides = _sides(points, corners, tensor, cell_kind(side_kind)) if side_kind else np.zeros((0, 0), dtype=np.intp)
    mirrored = _find(points, flipped)
    return CellKind(name, dim, corners, tensor, points, between, side_kind, sides, mirrored, children, origin, axes)


def _between(points: Array, node: int, corners: int, tensor: bool) -> tuple[int, ...]:
    if node < corners:
        return (node,)
    if tensor:
        sharp = points[node] != 0.5
        return tuple(int(i) for i in range(corners) if (points[i] == points[node])[sharp].all())
    return next(
        pair for pair in combinations(range(corners), 2) if np.allclose(points[list(pair)].mean(0), points[node])
    )


def _children(points: Array, corners: int, tensor: bool) -> Index:
    dim = points.shape[1]
    if tensor:
        offsets = 0.5 * np.array(np.meshgrid(*[[0, 1]] * dim, indexing="ij")).reshape(dim, -1).T
        return np.stack([_find(points, offset + 0.5 * points[:corners]) for offset in offsets])
    if dim == 2:
        table: list[tuple[int, ...]] = [(0, 3, 5), (3, 1, 4), (5, 4, 2), (3, 4, 5)]
    else:  # four corners, and the octahedron between them cut along one diagonal
        table = [(0, 4, 6, 7), (4, 1, 5, 8), (6, 5, 2, 9), (7, 8, 9, 3)]
        table += [(6, 8, 4, 5), (6, 8, 5, 9), (6, 8, 9, 7), (6, 8, 7, 4)]
    out = np.array(table, dtype=np.intp)
    for child in out:
        if np.linalg.det(points[child[1:]] - points[child[0]]) < 0:
            child[-2:] = child[-1], child[-2]
    return out


def _frames(points: Array, placed: Array, corners: Array) -> tuple[Array, Array]:
    """Affine maps [c, dim], [c, dim, dim] that carry the reference corners to the placed ones [c, corners, dim]."""
    dim = corners.shape[1]
    system = np.column_stack([np.ones(len(corners)), corners])
    solved = np.stack([np.linalg.lstsq(system, p, rcond=None)[0] for p in placed])
    return solved[:, 0], solved[:, 1:].transpose(0, 2, 1).reshape(-1, placed.shape[2], dim)


def _sides(points: Array, corners: int, tensor: bool, side: CellKind) -> Index:
    """Nodes of each side in the order of the side's kind, normals outward in a sound cell."""
    dim = points.shape[1]
    unit = np.eye(dim)
    planes = [(unit[d], level) for d in range(dim) for level in ((0.0, 1.0) if tensor else (0.0,))]
    if not tensor:
        planes.append((np.ones(dim), 1.0))
    out = []
    for normal, level in planes:
        if tensor:
            placed = np.full((len(side.points), dim), level)
            placed[:, normal == 0] = side.points
        else:
            corner = points[:corners][np.abs(points[:corners] @ normal - level) < 1e-9]
            placed = corner[0] + side.points @ (corner[1:] - corner[0])
        nodes = _find(points, placed)
        tangents = side.shapes(np.full((1, side.dim), 0.3))[1][0].T @ points[nodes]
        outward = normal if level else -normal
        turned = np.linalg.det(np.vstack([tangents, outward]))  # right-handed with the normal last
        if dim == 2:
            turned = -turned  # the surface lies to the left of its edge
        out.append(nodes if turned > 0 else nodes[side.mirrored])
    return np.stack(out)
