"""From element matrices to displacements: interior nodes condensed, supports applied, one factorisation.

Cells are condensed in batches: unknowns inside a cell see only that cell. What is left is assembled by
node pairs and solved for all load cases at once. A macro motion is one more right-hand side; its size
follows from the resultant force it must carry, by virtual work (nodal forces, exact on the mesh).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from .elasticity import lame, mapped_gradients, stiffness
from .linear import solve_symmetric
from .mesh import Mesh
from .reference import reference
from .supports import Supports

__all__ = [
    "Condensed",
    "Displacements",
    "condense",
    "condensed_batches",
    "condensed_unknowns",
    "displacements",
    "lower_of",
    "node_blocks",
    "solve_condensed",
    "sum_pairs",
]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# bytes of one batch of element matrices
BATCH_BYTES = 96e6


@dataclass(frozen=True)
class Displacements:
    """u [n, dim, case] in space, mm per unit of each case; motions [m, case]: size of each macro motion, mm."""

    u: Array
    motions: Array
    unknowns: int
    solver: str
    residual: float


@dataclass(frozen=True)
class Condensed:
    """A batch of cells [e, outer nodes] with matrices [e, b, b] and loads [e, b, case], and what gives the nodes
    inside them, inner [e, inner nodes], back.
    """

    cells: Index
    inner: Index
    matrix: Array
    load: Array
    inner_from_outer: Array
    inner_load: Array


def condensed_unknowns(mesh: Mesh) -> int:
    """Unknowns that the sparse solver will see, before supports."""
    ref = reference(mesh.orders)
    return mesh.dim * (len(mesh.nodes) - ref.interior.size * len(mesh.cells))


def displacements(
    mesh: Mesh, material: Material, supports: Supports, loads: Array, resultants: Array | None = None
) -> Displacements:
    """Solve K u = loads [n, dim, case] in space under the supports.

    resultants [m, case]: force that each macro motion carries (N), zero where not given.
    """
    forces = supports.to_frames(loads)
    return solve_condensed(list(condensed_batches(mesh, material, supports, forces)), supports, forces, resultants)


def solve_condensed(
    batches: Sequence[Condensed], supports: Supports, forces: Array, resultants: Array | None = None
) -> Displacements:
    """Solve for batches of cells of any kind; forces [n, dim, case] in the nodes' frames."""
    n, dim, cases = forces.shape
    numbers, unknowns = _number(batches, supports)
    motions = np.stack(supports.motions, -1) if supports.motions else np.zeros((n, dim, 0))
    matrix, rhs, motion_rhs = _assemble(batches, supports, numbers, unknowns, motions, cases)
    _add_nodal(rhs, numbers, supports, forces)
    solved = solve_symmetric(matrix, np.concatenate([rhs, motion_rhs], 1))
    q = np.zeros((n * dim, cases + motions.shape[2]))
    flat = numbers.ravel()
    q[flat >= 0] = solved.x[flat[flat >= 0]]
    q = q.reshape(n, dim, -1)[supports.master] * supports.sign[..., None]
    size = np.zeros((motions.shape[2], cases))
    if motions.shape[2]:
        q[..., cases:] += motions
        size = _motion_sizes(batches, motions, q, forces, resultants)
        q = q[..., :cases] + q[..., cases:] @ size
    _fill_interior(batches, q)
    return Displacements(supports.to_space(q), size, unknowns, solved.solver, solved.residual)


def _batch_size(freedoms: int) -> int:
    return max(1, int(BATCH_BYTES / (8 * 3 * freedoms**2)))


def condensed_batches(mesh: Mesh, material: Material, supports: Supports, forces: Array) -> Iterator[Condensed]:
    """All cells of a mesh in the nodes' frames, condensed batch by batch; forces [n, dim, case] likewise."""
    ref = reference(mesh.orders)
    dim = mesh.dim
    lam, mu = lame(material, dim)
    size = _batch_size(mesh.cells.shape[1] * dim)
    for start in range(0, len(mesh.cells), size):
        cells = mesh.cells[start : start + size]
        k = stiffness(*mapped_gradients(mesh.nodes, cells, mesh.orders), lam, mu)
        if supports.frame is not None:
            k = _turned(k, supports.frame[cells])
        yield condense(k, cells, ref.boundary, ref.interior, forces)


def condense(k: Array, cells: Index, boundary: Index, interior: Index, forces: Array) -> Condensed:
    """Take the nodes inside the cells out of element matrices k [e, n dim, n dim]; forces [n, dim, case]."""
    dim = forces.shape[1]
    inner = (interior[:, None] * dim + np.arange(dim)).ravel()
    outer = (boundary[:, None] * dim + np.arange(dim)).ravel()
    kii = k[:, inner[:, None], inner]
    kio = k[:, inner[:, None], outer]
    fi = forces[cells[:, interior]].reshape(len(cells), inner.size, forces.shape[2])
    both = np.linalg.solve(kii, np.concatenate([kio, fi], 2)) if inner.size else np.concatenate([kio, fi], 2)
    back, inner_load = both[..., : outer.size], both[..., outer.size :]
    matrix = k[:, outer[:, None], outer] - kio.transpose(0, 2, 1) @ back
    load = -kio.transpose(0, 2, 1) @ inner_load
    return Condensed(cells[:, boundary], cells[:, interior], matrix, load, back, inner_load)


def _turned(k: Array, frames: Array) -> Array:
    """Element matrices in the nodes' frames; cells whose frames are all the identity stay as they are."""
    dim = frames.shape[-1]
    todo = np.flatnonzero(np.abs(frames - np.eye(dim)).max((1, 2, 3)) > 0)
    if todo.size:
        part = k[todo].reshape(todo.size, frames.shape[1], dim, -1)
        part = frames[todo].transpose(0, 1, 3, 2) @ part
        part = part.reshape(todo.size, k.shape[1], frames.shape[1], dim).transpose(0, 2, 3, 1)
        part = frames[todo].transpose(0, 1, 3, 2) @ part
        k[todo] = part.reshape(todo.size, *k.shape[1:]).transpose(0, 2, 1)
    return k


def _number(batches: Sequence[Condensed], supports: Supports) -> tuple[Index, int]:
    """Unknown number of each component of each master node, -1 where fixed, condensed or tied."""
    used = np.zeros(supports.nodes, dtype=bool)
    for b in batches:
        used[supports.master[b.cells]] = True
    fixed = supports.fixed.copy()
    # a component held on a tied node is held on its master too
    tied = supports.master != np.arange(supports.nodes)
    np.logical_or.at(fixed, supports.master[tied], supports.fixed[tied])
    free = used[:, None] & ~fixed
    numbers = np.full(free.shape, -1, dtype=np.intp)
    numbers[free] = np.arange(int(free.sum()))
    return numbers, int(free.sum())


def _assemble(
    batches: Sequence[Condensed], supports: Supports, numbers: Index, unknowns: int, motions: Array, cases: int
) -> tuple[Any, Array, Array]:
    """Lower triangle (csc), load columns, and the columns that the macro motions cause."""
    dim = numbers.shape[1]
    rhs = np.zeros((unknowns + 1, cases))
    motion_rhs = np.zeros((unknowns + 1, motions.shape[2]))
    moved: NDArray[np.bool_] = np.any(motions, axis=(1, 2))
    parts = []
    for b in batches:
        masters, sign = supports.master[b.cells], supports.sign[b.cells].reshape(len(b.cells), -1)
        dofs = numbers[masters].reshape(len(b.cells), -1)  # -1 lands in the spare last row
        np.add.at(rhs, dofs, b.load * sign[..., None])
        for e in np.flatnonzero(moved[b.cells].any(1)):
            push = b.matrix[e] @ motions[b.cells[e]].reshape(dofs.shape[1], -1)
            np.add.at(motion_rhs, dofs[e], -push * sign[e][:, None])
        signed = b.matrix if (sign == 1.0).all() else b.matrix * (sign[:, :, None] * sign[:, None, :])
        parts.append((masters, signed))
    rows, columns, blocks = node_blocks(parts, supports.nodes, dim)
    return lower_of(rows, columns, blocks, numbers, unknowns), rhs[:-1], motion_rhs[:-1]


def node_blocks(parts: Sequence[tuple[Index, Array]], nodes: int, dim: int) -> tuple[Index, Index, Array]:
    """Sum element matrices [e, m dim, m dim] of cells [e, m] by node pairs: row, column (row <= column) and blocks
    [k, dim^2], sorted by row, then column.
    """
    keys, blocks = [], []
    for cells, matrix in parts:
        m = cells.shape[1]
        pairs = cells[:, :, None] <= cells[:, None, :]
        keys.append((cells[:, :, None] * nodes + cells[:, None, :])[pairs])
        blocks.append(matrix.reshape(-1, m, dim, m, dim).transpose(0, 1, 3, 2, 4)[pairs])
    return sum_pairs(np.concatenate(keys), np.concatenate(blocks).reshape(-1, dim * dim), nodes)


def sum_pairs(keys: Index, blocks: Array, nodes: int) -> tuple[Index, Index, Array]:
    """Sum blocks [k, dim^2] of equal keys row * nodes + column."""
    unique, inverse = np.unique(keys, return_inverse=True)
    summed: Array = np.stack([np.bincount(inverse, column, unique.size) for column in blocks.T], -1)
    return unique // nodes, unique % nodes, summed


def lower_of(rows: Index, columns: Index, blocks: Array, numbers: Index, unknowns: int) -> Any:
    """Lower triangle (csc) from node blocks [k, dim^2] of the upper one, sorted by row node, then column node.

    The upper triangle row by row is the lower one column by column; entries are put in place, not sorted.
    """
    from scipy.sparse import csc_array

    dim = numbers.shape[1]
    count = np.bincount(rows, minlength=len(numbers))
    start = np.cumsum(count) - count
    a, b = np.divmod(np.arange(dim * dim), dim)
    first = dim * dim * start[rows] + dim * (np.arange(rows.size) - start[rows])
    place = first[:, None] + a * (dim * count[rows])[:, None] + b
    data = np.empty(place.size)
    data[place] = blocks
    row, column = np.empty(place.size, dtype=np.int32), np.empty(place.size, dtype=np.int32)
    row[place], column[place] = numbers[rows][:, a], numbers[columns][:, b]
    keep = (row >= 0) & (row <= column)
    ends = np.concatenate([[0], np.cumsum(np.bincount(row[keep], minlength=unknowns))])
    return csc_array((data[keep], column[keep], ends), shape=(unknowns, unknowns))


def _add_nodal(rhs: Array, numbers: Index, supports: Supports, forces: Array) -> None:
    """Add forces at nodes that are not condensed, [n, dim, case] in the nodes' frames."""
    dofs = numbers[supports.master]
    there = dofs >= 0
    np.add.at(rhs, dofs[there], (forces * supports.sign[..., None])[there])


def _motion_sizes(
    batches: Sequence[Condensed], motions: Array, q: Array, forces: Array, resultants: Array | None
) -> Array:
    """Size of each macro motion in each case, from its resultant by virtual work."""
    m, cases = motions.shape[2], forces.shape[2]
    moved: NDArray[np.bool_] = np.any(motions, axis=(1, 2))
    internal = np.zeros((m, cases + m))
    internal[:, :cases] = -np.einsum("ndm,ndx->mx", motions, forces, optimize=True)
    for b in batches:
        e = np.flatnonzero(moved[b.cells].any(1))
        if not e.size:
            continue
        g = motions[b.cells[e]].reshape(len(e), -1, m)
        u = q[b.cells[e]].reshape(len(e), g.shape[1], -1)
        internal += np.einsum("ebm,ebc,ecx->mx", g, b.matrix[e], u, optimize=True)
        internal[:, :cases] -= np.einsum("ebm,ebx->mx", g, b.load[e], optimize=True)
    wanted = np.zeros((m, cases)) if resultants is None else resultants
    return np.asarray(np.linalg.solve(internal[:, cases:], wanted - internal[:, :cases]))


def _fill_interior(batches: Sequence[Condensed], q: Array) -> None:
    for b in batches:
        if b.inner.size:
            outer = q[b.cells].reshape(len(b.cells), -1, q.shape[2])
            inner = b.inner_load - b.inner_from_outer @ outer
            q[b.inner] = inner.reshape(*b.inner.shape, q.shape[1], q.shape[2])
