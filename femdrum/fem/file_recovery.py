"""Stress of a mesh from a file: on loaded or free skin from in-surface strain, elsewhere averaged at nodes.

Where the traction on a side is known, only strains in the surface are needed (see elasticity.surface_stress).
Values of sides that meet smoothly are averaged at their common nodes; across a sharp edge they are not.
Elsewhere each cell's stress is carried from its inner Gauss points, where it is most exact, to its nodes
(linearly), and averaged over the cells that meet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from .cell_kinds import CellKind, cell_kind
from .elasticity import lame, surface_stress
from .file_mesh import Block, FileMesh
from .unit_cases.faces import FaceCase

__all__ = ["Recovered", "nodal_stress", "recover", "skin_frames"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

# cosine of the angle up to which sides count as one smooth surface
SMOOTH = 0.9


def skin_frames(skin: Block, nodes: Array, at: Array) -> tuple[Array, Array, Array]:
    """First in-surface axis and outward normal [f, p, dim] of skin sides at reference points, and area per reference."""
    tangents = skin.jacobians(nodes, at)
    first = tangents[..., 0]
    along = first / np.linalg.norm(first, axis=-1, keepdims=True)
    if nodes.shape[1] == 2:
        return along, np.stack([along[..., 1], -along[..., 0]], -1), np.linalg.norm(first, axis=-1)
    normal = np.cross(first, tangents[..., 1])
    area = np.linalg.norm(normal, axis=-1)
    return along, normal / area[..., None], area


@dataclass(frozen=True)
class Recovered:
    """Stress tensors per unit case.

    known [f]: sides whose traction is known; on_skin [f, m, case, dim, dim]: stress at their nodes;
    nodal [n, case, dim, dim]: averaged stress, computed at the nodes that were asked for.
    """

    known: Mask
    on_skin: Array
    nodal: Array

    def at_side(self, mesh: FileMesh, sides: Index, at: Array) -> Array:
        """Stress [k, case, dim, dim] at one reference point [k, dim - 1] on each of some sides."""
        values = mesh.skin.kind.shapes(at)[0]
        nodal = np.where(
            self.known[sides][:, None, None, None, None], self.on_skin[sides], self.nodal[mesh.skin.cells[sides]]
        )
        return np.asarray(np.einsum("km,kmcij->kcij", values, nodal, optimize=True))


def recover(
    mesh: FileMesh, u: Array, material: Material, cases: Sequence[FaceCase], supported: Mask, wanted: Mask
) -> Recovered:
    """Stress from displacements u [n, dim, case].

    supported [f]: skin sides that a support holds. wanted [n]: nodes at which the averaged stress is needed.
    """
    known = ~supported
    on_skin = np.zeros((*mesh.skin.cells.shape, u.shape[2], mesh.dim, mesh.dim))
    on_skin[known] = _skin_stress(mesh, u, material, cases, np.flatnonzero(known))
    return Recovered(known, on_skin, nodal_stress(mesh, u, material, wanted))


def _skin_stress(mesh: FileMesh, u: Array, material: Material, cases: Sequence[FaceCase], sides: Index) -> Array:
    kind, dim = mesh.skin.kind, mesh.dim
    skin = Block(kind, mesh.skin.cells[sides])
    along, normal, _ = skin_frames(skin, mesh.nodes, kind.points)
    slopes = np.einsum("pnr,fndc->fpcdr", kind.shapes(kind.points)[1], u[skin.cells], optimize=True)
    traction = np.zeros((*normal.shape[:2], len(cases), dim))
    for c, case in enumerate(cases):
        loaded = np.isin(sides, mesh.faces[case.face])
        traction[loaded, :, c] = case.along(normal[loaded])
    n = normal[:, :, None]
    push = np.einsum("fpcd,fpd->fpc", traction, normal)
    if dim == 2:
        tangent = skin.jacobians(mesh.nodes, kind.points)[..., 0]
        strain = np.einsum("fpcd,fpd->fpc", slopes[..., 0], along) / np.linalg.norm(tangent, axis=-1)[..., None]
        size = material.youngs_modulus_MPa * strain + material.poissons_ratio * push
        inside = size[..., None, None] * _outer(along, along)[:, :, None]
    else:
        across = np.cross(normal, along)
        inside = _solid_inside(skin, mesh.nodes, slopes, along, across, push, material)
    out = inside + _outer(traction, n) + _outer(n, traction) - push[..., None, None] * _outer(n, n)
    return _smoothed(skin.cells, normal, out)


def _outer(a: Array, b: Array) -> Array:
    return np.asarray(a[..., :, None] * b[..., None, :])


def _solid_inside(
    skin: Block, nodes: Array, slopes: Array, along: Array, across: Array, push: Array, material: Material
) -> Array:
    """The part of the stress that lies in the surface, as tensors [f, p, case, 3, 3]."""
    axes = np.stack([along, across], -1)  # [f, p, 3, 2]
    metric = np.einsum("fpda,fpdr->fpar", axes, skin.jacobians(nodes, skin.kind.points), optimize=True)
    local = np.einsum("fpda,fpcdr,fprb->fpcab", axes, slopes, np.linalg.inv(metric), optimize=True)
    strain = np.stack([local[..., 0, 0], local[..., 1, 1], 0.5 * (local[..., 0, 1] + local[..., 1, 0])], -1)
    s = surface_stress(strain, -push, material)
    square = np.stack([np.stack([s[..., 0], s[..., 2]], -1), np.stack([s[..., 2], s[..., 1]], -1)], -2)
    return np.asarray(np.einsum("fpia,fpcab,fpjb->fpcij", axes, square, axes, optimize=True))


def _smoothed(cells: Index, normal: Array, values: Array) -> Array:
    """Means over the sides that meet at a node with nearly the same normal."""
    node = cells.ravel()
    order = np.argsort(node, kind="stable")
    _, start, count = np.unique(node[order], return_index=True, return_counts=True)
    flat, normals = values.reshape(node.size, *values.shape[2:]), normal.reshape(node.size, -1)
    total, weight = np.zeros_like(flat), np.zeros(node.size)
    for many in np.unique(count):  # nodes where so many sides meet
        group = order[start[count == many][:, None] + np.arange(many)]
        for a in range(many):
            for b in range(many):
                here, there = group[:, a], group[:, b]
                near = np.einsum("kd,kd->k", normals[here], normals[there]) > SMOOTH
                total[here[near]] += flat[there[near]]
                weight[here[near]] += 1.0
    return np.asarray((total / weight.reshape(-1, *[1] * (flat.ndim - 1))).reshape(values.shape))


def _carriers(kind: CellKind) -> tuple[Array, Array]:
    """Points [p, dim] where a cell's stress is taken, and the matrix [n, p] that carries it to the nodes."""
    if not kind.tensor:  # gradients are linear: the corners tell all
        linear = np.zeros((len(kind.points), kind.corners))
        for node, corners in enumerate(kind.between):
            linear[node, list(corners)] = 1.0 / len(corners)
        return kind.points[: kind.corners], linear
    near = 0.5 - 0.5 / np.sqrt(3.0)
    gauss = near + (1 - 2 * near) * kind.points[: kind.corners]
    scaled = (kind.points - near) / (1 - 2 * near)
    towards = kind.points[: kind.corners]
    factors = np.where(towards[None] > 0.5, scaled[:, None], 1 - scaled[:, None])
    return gauss, factors.prod(-1)


_CARRIERS = cache(lambda name: _carriers(cell_kind(name)))


def nodal_stress(mesh: FileMesh, u: Array, material: Material, wanted: Mask | None = None) -> Array:
    """Stress tensors [n, case, dim, dim] averaged over the cells that meet at a node; zero where not wanted [n]."""
    dim = mesh.dim
    lam, mu = lame(material, dim)
    total = np.zeros((len(mesh.nodes), u.shape[2], dim, dim))
    count = np.zeros(len(mesh.nodes))
    for block in mesh.blocks:
        chosen = block.cells if wanted is None else block.cells[wanted[block.cells].any(1)]
        at, carry = _CARRIERS(block.kind.name)
        slopes = block.kind.shapes(at)[1]
        for cells in np.array_split(chosen, max(1, len(chosen) // 2000)):
            inverse = np.linalg.inv(Block(block.kind, cells).jacobians(mesh.nodes, at))
            strain = np.einsum("pnr,endc,eprj->epcdj", slopes, u[cells], inverse, optimize=True)
            strain = 0.5 * (strain + strain.swapaxes(-1, -2))
            stress = 2 * mu * strain
            trace = lam * np.trace(strain, axis1=-2, axis2=-1)
            for i in range(dim):
                stress[..., i, i] += trace
            np.add.at(total, cells, np.einsum("np,epcij->encij", carry, stress, optimize=True))
            np.add.at(count, cells, 1.0)
    return np.asarray(total / np.maximum(count, 1.0)[:, None, None, None])
