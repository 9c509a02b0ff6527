"""From element matrices to displacements: interior nodes condensed, supports applied, one factorisation.

Cells are condensed in batches: unknowns inside a cell see only that cell. What is left is assembled by
node pairs and solved for all load cases at once. A macro motion is one more right-hand side; its size
follows from the resultant force it must carry, by virtual work (nodal forces, exact on the mesh).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from .columns import column, column_order
from .condensed import Condensed, condense_cells
from .corner_space import Corners, corners_of
from .elasticity import lame, mapped_gradients, stiffness
from .front_tree import front_tree
from .fronts import Fronts, Part
from .linear import Factored
from .mesh import Mesh
from .one_layer import Followers, followers
from .reference import reference
from .supports import Supports

if TYPE_CHECKING:
    from .iterative import TwoLevels

__all__ = [
    "Displacements",
    "condensed_batches",
    "displacements",
    "fill",
    "lower_of",
    "node_blocks",
    "part_keys",
    "solve_condensed",
    "sum_pairs",
]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# bytes of one batch of element matrices
BATCH_BYTES = 24e6


@dataclass(frozen=True)
class Displacements:
    """u [n, dim, case] in space, mm per unit of each case; motions [m, case]: size of each macro motion, mm."""

    u: Array
    motions: Array
    unknowns: int
    solver: str
    residual: float


def displacements(
    mesh: Mesh, material: Material, supports: Supports, loads: Array, resultants: Array | None = None
) -> Displacements:
    """Solve K u = loads [n, dim, case] in space under the supports.

    resultants [m, case]: force that each macro motion carries (N), zero where not given.
    """
    forces = supports.to_frames(loads)
    ties = followers(mesh, supports.frame)
    if ties is not None:
        forces = ties.gather(forces)
    parts = list(condensed_batches(mesh, material, supports, forces, ties))
    corners = partial(corners_of, mesh, supports.frame)
    keys = part_keys(parts, mesh.nodes) if mesh.layers else None  # cells of a plane are many and small
    return solve_condensed(parts, supports, forces, resultants, corners, keys, ties)


def part_keys(parts: Sequence[Condensed], nodes: Array) -> Array:
    """Ways to line up a ring's parts [key, part]: their places, and the direction in which they are seen from the slot's
    middle.
    """
    place = np.concatenate([nodes[b.cells].mean(1) for b in parts])
    across, along = np.arctan2(place[:, 1], place[:, 0]) * np.hypot(place[:, 0], place[:, 1]), place[:, 2]
    return np.stack([across, along, np.arctan2(along, across)])


def solve_condensed(
    batches: Iterable[Condensed],
    supports: Supports,
    forces: Array,
    resultants: Array | None = None,
    corners: Callable[[], Corners] | None = None,
    keys: Array | None = None,
    ties: Followers | None = None,
) -> Displacements:
    """Solve for batches of cells of any kind; forces [n, dim, case] in the nodes' frames. corners: the coarse space of
    an iterative solution, where the cells have one. keys [key, cell]: ways to line up cells that are few and large, and
    are then solved with their matrices as they are. ties: nodes that follow others.
    """
    n, dim, cases = forces.shape
    motions = np.stack(supports.motions, -1) if supports.motions else np.zeros((n, dim, 0))
    slim: list[Condensed] = []
    moving: list[Condensed] = []
    dense: Callable[[], Fronts] | None = None
    if keys is None:  # many small ones: their matrices go as they come
        blocks = node_blocks(_signed(_noted(batches, motions, slim, moving), supports), n, dim)
        numbers, unknowns = _number(slim, supports)
        matrix = lower_of(*blocks, numbers, unknowns)
        del blocks
        lower: Callable[[], Any] = lambda: matrix  # noqa: E731
    else:
        parts = list(_noted(batches, motions, slim, moving))
        numbers, unknowns = _number(slim, supports)
        lower = cache(partial(_lower, parts, supports, numbers, unknowns))
        dense = partial(_fronts, parts, supports, numbers, unknowns, keys)
    rhs = _right_sides(slim, moving, supports, numbers, unknowns, motions, cases)
    _add_nodal(rhs[:, :cases], numbers, supports, forces)
    levels = None
    if corners is not None:
        levels = partial(_levels, lower, numbers, supports, corners, slim)
    solved = Factored(lower, levels, unknowns, dense).solve(rhs)
    q = np.zeros((n * dim, cases + motions.shape[2]))
    flat = numbers.ravel()
    q[flat >= 0] = solved.x[flat[flat >= 0]]
    q = q.reshape(n, dim, -1)[supports.master] * supports.sign[..., None]
    size = np.zeros((motions.shape[2], cases))
    if motions.shape[2]:
        q[..., cases:] += motions
        size = _motion_sizes(moving, motions, q, forces, resultants)
        q = q[..., :cases] + q[..., cases:] @ size
    fill(q, slim, ties)
    return Displacements(supports.to_space(q), size, unknowns, solved.solver, solved.residual)


def fill(
    u: Array, parts: Iterable[Condensed], ties: Followers | None, weights: Array | None = None, *, cells: bool = True
) -> None:
    """Put in place what lies inside of parts in u [n, dim, case]; weights [load case, case] of their loads.

    cells: also what is inside single cells, and so on no surface.
    """
    if ties is not None:
        ties.fill(u)
    for b in parts:
        b.fill(u, weights, cells=cells)
    if ties is not None:
        ties.fill(u)  # those inside of parts


def _noted(
    batches: Iterable[Condensed], motions: Array, slim: list[Condensed], moving: list[Condensed]
) -> Iterator[Condensed]:
    """The batches one by one, with what is needed later put aside: all but the matrices in `slim`, parts on faces that
    move with theirs in `moving`.
    """
    moved: NDArray[np.bool_] = np.any(motions, axis=(1, 2))
    for b in batches:
        slim.append(b.without_matrix())
        e = np.flatnonzero(moved[b.cells].any(1))
        if e.size:
            moving.append(b.some(e))
        yield b


def _signed(batches: Iterable[Condensed], supports: Supports) -> Iterator[tuple[Index, Array]]:
    """Master nodes and matrices in their signs, batch by batch."""
    for b in batches:
        sign = supports.sign[b.cells].reshape(len(b.cells), -1)
        signed = b.matrix if (sign == 1.0).all() else b.matrix * (sign[:, :, None] * sign[:, None, :])
        yield supports.master[b.cells], signed


def _lower(parts: Sequence[Condensed], supports: Supports, numbers: Index, unknowns: int) -> Any:
    """Lower triangle (csc) of parts whose matrices are at hand."""
    return lower_of(*node_blocks(_signed(parts, supports), supports.nodes, numbers.shape[1]), numbers, unknowns)


def _fronts(parts: Sequence[Condensed], supports: Supports, numbers: Index, unknowns: int, keys: Array) -> Fronts:
    nodes = [part for b in parts for part in supports.master[b.cells]]
    few = []
    for b in parts:
        dofs = numbers[supports.master[b.cells]].reshape(len(b.cells), -1)
        sign = supports.sign[b.cells].reshape(len(b.cells), -1)
        plain = (sign == 1.0).all(1)
        few += [Part(dofs[i], b.matrix[i], None if plain[i] else sign[i]) for i in range(len(b.cells))]
    return Fronts(front_tree(nodes, supports.nodes, keys), few, unknowns)


def _levels(
    lower: Callable[[], Any], numbers: Index, supports: Supports, corners: Callable[[], Corners], slim: list[Condensed]
) -> TwoLevels:
    from .cell_patches import cell_levels  # late: few systems are solved so

    return cell_levels(lower(), numbers, supports, corners, [b.cells for b in slim])


def _batch_size(freedoms: int) -> int:
    return max(1, int(BATCH_BYTES / (8 * 3 * freedoms**2)))


def condensed_batches(
    mesh: Mesh, material: Material, supports: Supports, forces: Array, ties: Followers | None = None
) -> Iterator[Condensed]:
    """All cells of a mesh in the nodes' frames, condensed batch by batch; forces [n, dim, case] likewise.

    Cells above one another through the wall come as one part. ties: of the mesh's columns of one layer.
    """
    lam, mu = lame(material, mesh.dim)

    def batch(cells: Index, order: tuple[Index, Index], last: tuple[float, ...] | None = None) -> Condensed:
        all_nodes = np.concatenate(order)  # parts of a matrix are then views
        inner, outer = np.split(np.arange(all_nodes.size), [order[0].size])
        gradients, weights = mapped_gradients(mesh.nodes, cells, mesh.orders, last)
        cells = cells[:, all_nodes]
        k = stiffness(gradients[:, :, all_nodes], weights, lam, mu)
        if supports.frame is not None:
            k = _turned(k, supports.frame[cells])
        return condense_cells(k, cells, outer, inner, forces)

    size = _batch_size(mesh.cells.shape[1] * mesh.dim)
    if not mesh.layers:
        ref = reference(mesh.orders)
        for cells in _split(mesh.cells, size):
            yield batch(cells, (ref.interior, ref.boundary))
        return
    parts = column_order(mesh.orders)
    own = mesh.cells.reshape(-1, mesh.layers, mesh.cells.shape[1])
    for near in [own] if mesh.one is None or ties is None else ties.alike(own, parts.side[:, 0]):
        for cells in _split(near, max(1, size // mesh.layers)):
            hexes = batch(cells.reshape(-1, cells.shape[2]), (parts.inside, parts.outside))
            whole = column(hexes, mesh.layers, mesh.orders, forces)
            yield whole if ties is None else ties.tied(whole)
    if mesh.one is not None:
        for cells in _split(mesh.one.cells(own, mesh.orders), size):
            hexes = batch(cells, (parts.inside, parts.outside), mesh.one.places)
            yield column(hexes, 1, mesh.orders, forces)


def _split(cells: Index, size: int) -> Iterator[Index]:
    for start in range(0, len(cells), size):
        yield cells[start : start + size]


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
