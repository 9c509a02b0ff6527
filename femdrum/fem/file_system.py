"""Displacements of a mesh from a file: gradients from the assembly library, elasticity and solution our own."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SingularModel
from ..model.material import Material
from ..model.mesh_part import DIRECTIONS, MeshPart
from .condensed import Condensed, condense_cells
from .corner_space import Corners
from .elasticity import lame, stiffness
from .file_mesh import Block, FileMesh
from .supports import Supports
from .system import BATCH_BYTES, Displacements, solve_condensed

__all__ = ["check_held", "gradients", "mesh_displacements", "part_supports"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def _library_mesh(block: Block, nodes: Array) -> Any:
    import skfem

    meshes = {"tri6": skfem.MeshTri2, "quad9": skfem.MeshQuad2, "tet10": skfem.MeshTet2, "hex27": skfem.MeshHex2}
    used, numbers = np.unique(block.cells, return_inverse=True)
    return meshes[block.kind.name](nodes[used].T.copy(), numbers.reshape(block.cells.shape).T.copy())


def gradients(block: Block, nodes: Array) -> Iterator[tuple[Index, Array, Array]]:
    """Batches of cells [e, n], gradients of the shape functions in space [e, q, n, dim], weights times volume [e, q]."""
    import skfem

    n, dim = len(block.kind.points), block.kind.dim
    size = max(1, int(BATCH_BYTES / (8 * 3 * (n * dim) ** 2)))
    at, weights = block.kind.quadrature()
    for start in range(0, len(block.cells), size):
        part = Block(block.kind, block.cells[start : start + size])
        mesh = _library_mesh(part, nodes)
        basis = skfem.CellBasis(mesh, mesh.elem(), quadrature=(at.T, weights), disable_doflocs=True)
        slopes = np.stack([function[0].grad for function in basis.basis])  # [n, dim, e, q]
        yield part.cells, np.ascontiguousarray(slopes.transpose(2, 3, 0, 1)), np.asarray(basis.dx)


def part_supports(mesh: FileMesh, part: MeshPart) -> Supports:
    """The nodes that the part's supports hold."""
    supports = Supports(len(mesh.nodes), mesh.dim)
    for support in part.supports:
        for direction in support.fixed:
            supports.fix(mesh.nodes_of(support.face), DIRECTIONS.index(direction))
    return supports


def mesh_displacements(mesh: FileMesh, part: MeshPart, material: Material, force: Array, order: int) -> Displacements:
    """Solve for nodal forces [n, dim, case]. order 1: linear functions of the corners only, the ladder's first rung."""
    supports = part_supports(mesh, part)
    check_held(mesh, supports)
    lam, mu = lame(material, mesh.dim)
    if order == 1:
        return _first_order(mesh, supports, lam, mu, force)
    batches = []
    for block in mesh.blocks:
        kind = block.kind
        inside = np.array([len(b) == 2**kind.dim and kind.tensor for b in kind.between])
        for cells, slopes, weights in gradients(block, mesh.nodes):
            k = stiffness(slopes, weights, lam, mu)
            batches.append(condense_cells(k, cells, np.flatnonzero(~inside), np.flatnonzero(inside), force))
    return solve_condensed(batches, supports, force, corners=lambda: _corners(mesh))


def _corners(mesh: FileMesh) -> Corners:
    """The coarse space: linear functions of the cells' corners."""
    most = max(block.kind.corners for block in mesh.blocks)
    corner = np.zeros((len(mesh.nodes), most), dtype=np.intp)
    weight = np.zeros((len(mesh.nodes), most))
    for block in mesh.blocks:
        for local, between in enumerate(block.kind.between):
            node = block.cells[:, local]
            corner[node, : len(between)] = block.cells[:, between]
            weight[node, : len(between)] = 1.0 / len(between)
    return Corners(mesh.nodes, corner, weight)


def _first_order(mesh: FileMesh, supports: Supports, lam: float, mu: float, force: Array) -> Displacements:
    from scipy.sparse import csr_array

    rows, columns, values = mesh.corner_means()
    mean = csr_array((values, (rows, columns)), shape=(len(mesh.nodes),) * 2)
    flat = force.reshape(len(mesh.nodes), -1)
    at_corners = np.asarray(mean.T @ flat).reshape(force.shape)
    batches: list[Condensed] = []
    for block in mesh.blocks:
        kind = block.kind
        spread = np.zeros((len(kind.points), kind.corners))
        for node, corners in enumerate(kind.between):
            spread[node, list(corners)] = 1.0 / len(corners)
        for cells, slopes, weights in gradients(block, mesh.nodes):
            linear = np.ascontiguousarray(np.einsum("eqnd,nc->eqcd", slopes, spread, optimize=True))
            k = stiffness(linear, weights, lam, mu)
            batches.append(
                condense_cells(k, cells[:, : kind.corners], np.arange(kind.corners), np.arange(0), at_corners)
            )
    solved = solve_condensed(batches, supports, at_corners)
    u = np.asarray(mean @ solved.u.reshape(len(mesh.nodes), -1)).reshape(force.shape)
    return Displacements(u, solved.motions, solved.unknowns, solved.solver, solved.residual)


def check_held(mesh: FileMesh, supports: Supports) -> None:
    """Raise SingularModel, naming the motion, where the supports leave a piece of the body free to move."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    n = len(mesh.nodes)
    first = np.concatenate([np.repeat(b.cells[:, 0], b.cells.shape[1]) for b in mesh.blocks])
    every = np.concatenate([b.cells.ravel() for b in mesh.blocks])
    pieces, piece = connected_components(coo_array((np.ones(first.size), (first, every)), shape=(n, n)), directed=False)
    fixed = [np.flatnonzero(supports.fixed[:, c]) for c in range(mesh.dim)]
    loose = []
    for p in range(pieces):
        own = mesh.nodes[piece == p]
        centre, size = own.mean(0), max(float(np.ptp(own, 0).max()), 1e-300)
        rows = []
        for c, nodes in enumerate(fixed):
            held = nodes[piece[nodes] == p]
            rows.append(_rigid((mesh.nodes[held] - centre) / size, mesh.dim)[:, c])
        motions = _free(np.concatenate(rows), mesh.dim)
        if motions:
            loose.append(motions)
    if loose:
        which = f"one of {pieces} separate pieces of the mesh" if pieces > 1 else "the body"
        raise SingularModel(
            f"a rigid motion is left free: {which} can still {' and '.join(loose[0])}; "
            "add supports, such as mirror planes or a point that holds it"
        )


def _rigid(places: Array, dim: int) -> Array:
    """Displacements [n, dim, motion] of the rigid motions: translations, then turns."""
    n = len(places)
    shifts = np.broadcast_to(np.eye(dim), (n, dim, dim))
    if dim == 2:
        turn = np.stack([-places[:, 1], places[:, 0]], -1)[..., None]
    else:
        turn = np.stack([np.cross(axis, places) for axis in np.eye(3)], -1)
    return np.concatenate([shifts, turn], -1)


def _free(held: Array, dim: int) -> list[str]:
    """Names of the motions that the rows of held displacements [h, motion] leave free."""
    names = [f"move along {d}" for d in DIRECTIONS[:dim]]
    names += [f"turn about {d}" for d in (("z",) if dim == 2 else DIRECTIONS)]
    if not len(held):
        return ["move and turn freely"]
    _, size, directions = np.linalg.svd(held, full_matrices=True)
    rank = int((size > 1e-7 * size[0]).sum())
    null = directions[rank:]
    if not len(null):
        return []
    # a motion is free by itself where it lies in the null space
    share = np.linalg.norm(null, axis=0)
    pure = [name for name, s in zip(names, share, strict=True) if s > 1 - 1e-6]
    return pure or [f"move and turn at once ({len(null)} such motion{'s' if len(null) > 1 else ''})"]
