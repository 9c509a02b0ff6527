"""From element matrices to displacements: interior nodes condensed, supports applied, one factorisation.

Cells are condensed in batches: unknowns inside a cell see only that cell. What is left is assembled by
node pairs and solved for all load cases at once. A macro motion is one more right-hand side; its size
follows from the resultant force it must carry, by virtual work (nodal forces, exact on the mesh).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from .cell_patches import cell_levels
from .corner_space import Corners, corners_of
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
BATCH_BYTES = 24e6

_NOTHING = np.empty(0)


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

    def without_matrix(self) -> Condensed:
        """The same, its matrices let go: they are most of it."""
        return replace(self, matrix=_NOTHING)


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
    batches = condensed_batches(mesh, material, supports, forces)
    return solve_condensed(batches, supports, forces, resultants, lambda: corners_of(mesh, supports.frame))


def solve_condensed(
    batches: Iterable[Condensed],
    supports: Supports,
    forces: Array,
    resultants: Array | None = None,
    corners: Callable[[], Corners] | None = None,
) -> Displacements:
    """Solve for batches of cells of any kind; forces [n, dim, case] in the nodes' frames. corners: the coarse space of
    an iterative solution, where the cells have one.
    """
    n, dim, cases = forces.shape
    motions = np.stack(supports.motions, -1) if supports.motions else np.zeros((n, dim, 0))
    slim: list[Condensed] = []
    moving: list[Condensed] = []
    rows, columns, blocks = node_blocks(_signed(batches, supports, motions, slim, moving), n, dim)
    numbers, unknowns = _number(slim, supports)
    lower = lower_of(rows, columns, blocks, numbers, unknowns)
    del rows, columns, blocks
    rhs = _right_sides(slim, moving, supports, numbers, unknowns, motions, cases)
    _add_nodal(rhs[:, :cases], numbers, supports, forces)
    levels = None
    if corners is not None:
        levels = partial(cell_levels, lower, numbers, supports, corners, [b.cells for b in slim])
    solved = solve_symmetric(lower, rhs, levels)
    q = np.zeros((n * dim, cases + motions.shape[2]))
    flat = numbers.ravel()
    q[flat >= 0] = solved.x[flat[flat >= 0]]
    q = q.reshape(n, dim, -1)[supports.master] * supports.sign[..., None]
    size = np.zeros((motions.shape[2], cases))
    if motions.shape[2]:
        q[..., cases:] += motions
        size = _motion_sizes(moving, motions, q, forces, resultants)
        q = q[..., :cases] + q[..., cases:] @ size
    _fill_interior(slim, q)
    return Displacements(supports.to_space(q), size, unknowns, solved.solver, solved.residual)


def _signed(
    batches: Iterable[Condensed], supports: Supports, motions: Array, slim: list[Condensed], moving: list[Condensed]
) -> Iterator[tuple[Index, Array]]:
    """Master nodes and matrices in their signs, batch by batch.

    What is needed later is put aside: all but the matrices in `slim`, cells on faces that move with theirs in `moving`.
    """
    moved: NDArray[np.bool_] = np.any(motions, axis=(1, 2))
    for b in batches:
        slim.append(b.without_matrix())
        e = np.flatnonzero(moved[b.cells].any(1))
        if e.size:
            moving.append(Condensed(b.cells[e], b.inner[e], b.matrix[e], b.load[e], _NOTHING, _NOTHING))
        sign = supports.sign[b.cells].reshape(len(b.cells), -1)
        signed = b.matrix if (sign == 1.0).all() else b.matrix * (sign[:, :, None] * sign[:, None, :])
        yield supports.master[b.cells], signed


def _batch_size(freedoms: int) -> int:
    return max(1, int(BATCH_BYTES / (8 * 3 * freedoms**2)))


def condensed_batches(mesh: Mesh, material: Material, supports: Supports, forces: Array) -> Iterator[Condensed]:
    """All cells of a mesh in the nodes' frames, condensed batch by batch; forces [n, dim, case] likewise."""
    ref = reference(mesh.orders)
    lam, mu = lame(material, mesh.dim)
    size = _batch_size(mesh.cells.shape[1] * mesh.dim)
    inside_first = np.concatenate([ref.interior, ref.boundary])  # parts of a matrix are then views
    inside, outside = np.split(np.arange(inside_first.size), [ref.interior.size])
    for start in range(0, len(mesh.cells), size):
        cells = mesh.cells[start : start + size]
        gradients, weights = mapped_gradients(mesh.nodes, cells, mesh.orders)
        cells = cells[:, inside_first]
        k = stiffness(gradients[:, :, inside_first], weights, lam, mu)
        if supports.frame is not None:
            k = _turned(k, supports.frame[cells])
        yield condense(k, cells, outside, inside, forces)


def condense(k: Array, cells: Index, boundary: Index, interior: Index, forces: Array) -> Condensed:
    """Take the nodes inside the cells out of element matrices k [e, n dim, n dim]; forces [n, dim, case]."""
    dim = forces.shape[1]
    inner, outer = _components(interior, dim), _components(boundary, dim)
    kio = k[:, inner][:, :, outer]
    koi = kio.transpose(0, 2, 1)
    fi = forces[cells[:, interior]].reshape(len(cells), kio.shape[1], forces.shape[2])
    both = np.concatenate([kio, fi], 2)
    if interior.size:
        both = np.linalg.solve(k[:, inner][:, :, inner], both)
    back, inner_load = np.ascontiguousarray(both[..., : kio.shape[2]]), both[..., kio.shape[2] :]
    matrix = koi @ back
    np.subtract(k[:, outer][:, :, outer], matrix, out=matrix)
    load = -koi @ inner_load
    return Condensed(cells[:, boundary], cells[:, interior], matrix, load, back, inner_load)


def _components(nodes: Index, dim: int) -> Index | slice:
    """Components of local nodes, as a slice where they follow each other."""
    if nodes.size and (np.diff(nodes) == 1).all():
        return slice(dim * int(nodes[0]), dim * (int(nodes[-1]) + 1))
    return np.asarray((nodes[:, None] * dim + np.arange(dim)).ravel())


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


def _right_sides(
    slim: Sequence[Condensed],
    moving: Sequence[Condensed],
    supports: Supports,
    numbers: Index,
    unknowns: int,
    motions: Array,
    cases: int,
) -> Array:
    """Load columns from inside the cells, then the columns that the macro motions cause."""
    rhs = np.zeros((unknowns + 1, cases + motions.shape[2]))  # what has no number, -1, lands in the spare last row
    for b in slim:
        sign = supports.sign[b.cells].reshape(len(b.cells), -1)
        dofs = numbers[supports.master[b.cells]].reshape(len(b.cells), -1)
        np.add.at(rhs[:, :cases], dofs, b.load * sign[..., None])
    for b in moving:
        sign = supports.sign[b.cells].reshape(len(b.cells), -1)
        dofs = numbers[supports.master[b.cells]].reshape(len(b.cells), -1)
        push = b.matrix @ motions[b.cells].reshape(len(b.cells), dofs.shape[1], -1)
        np.add.at(rhs[:, cases:], dofs, -push * sign[..., None])
    return rhs[:-1]


def node_blocks(parts: Iterable[tuple[Index, Array]], nodes: int, dim: int) -> tuple[Index, Index, Array]:
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
    from scipy.sparse import csr_array

    order = np.argsort(keys, kind="stable")  # long runs are in order already
    ordered = keys[order]
    first = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1]]))
    row, column = np.divmod(ordered[first], nodes)
    ends = np.append(first, keys.size)
    summed = csr_array((np.ones(keys.size), order, ends), shape=(first.size, keys.size)) @ blocks
    return row, column, summed


def lower_of(rows: Index, columns: Index, blocks: Array, numbers: Index, unknowns: int) -> Any:
    """Lower triangle (csc) from node blocks [k, dim^2] of the upper one, sorted by row node, then column node.

    The upper triangle row by row is the lower one column by column.
    """
    from scipy.sparse import bsr_array, csc_array

    nodes, dim = numbers.shape
    start = np.zeros(nodes + 1, dtype=np.int32)
    start[1:] = np.cumsum(np.bincount(rows, minlength=nodes))
    upper = bsr_array((blocks.reshape(-1, dim, dim), columns.astype(np.int32), start), shape=(nodes * dim,) * 2).tocsr()
    number = numbers.astype(np.int32).ravel()
    row, column = np.repeat(number, np.diff(upper.indptr)), number[upper.indices]
    keep = (row >= 0) & (row <= column)
    kept = np.zeros(keep.size + 1, dtype=np.int32)
    np.cumsum(keep, out=kept[1:])
    ends = kept[upper.indptr]
    free = number >= 0
    ends = np.concatenate([[0], ends[1:][free]])
    return csc_array((upper.data[keep], column[keep], ends), shape=(unknowns, unknowns))


def _add_nodal(rhs: Array, numbers: Index, supports: Supports, forces: Array) -> None:
    """Add forces at nodes that are not condensed, [n, dim, case] in the nodes' frames."""
    dofs = numbers[supports.master]
    there = dofs >= 0
    np.add.at(rhs, dofs[there], (forces * supports.sign[..., None])[there])


def _motion_sizes(
    moving: Sequence[Condensed], motions: Array, q: Array, forces: Array, resultants: Array | None
) -> Array:
    """Size of each macro motion in each case, from its resultant by virtual work."""
    m, cases = motions.shape[2], forces.shape[2]
    internal = np.zeros((m, cases + m))
    internal[:, :cases] = -np.einsum("ndm,ndx->mx", motions, forces, optimize=True)
    for b in moving:
        g = motions[b.cells].reshape(len(b.cells), -1, m)
        u = q[b.cells].reshape(len(b.cells), g.shape[1], -1)
        internal += np.einsum("ebm,ebc,ecx->mx", g, b.matrix, u, optimize=True)
        internal[:, :cases] -= np.einsum("ebm,ebx->mx", g, b.load, optimize=True)
    wanted = np.zeros((m, cases)) if resultants is None else resultants
    return np.asarray(np.linalg.solve(internal[:, cases:], wanted - internal[:, :cases]))


def _fill_interior(batches: Sequence[Condensed], q: Array) -> None:
    for b in batches:
        if b.inner.size:
            outer = q[b.cells].reshape(len(b.cells), -1, q.shape[2])
            inner = b.inner_load - b.inner_from_outer @ outer
            q[b.inner] = inner.reshape(*b.inner.shape, q.shape[1], q.shape[2])
