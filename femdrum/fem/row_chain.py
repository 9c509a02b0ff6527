"""A chain of equal rows between its ends: how end discs hold the shell, and what that leaves in each row.

The endless drum of ring_level.py is one pitch between mirrors; here every row is in the model. A sector of the shell
between two mirror planes around is condensed to its cross-sections once (row_chain_cell.py), rows are strung together
(row_chain_march.py) between the ends of row_chain_end.py. All loads that meet the slots of a row alike can be asked,
each in every row or in some of them; row_chain_level.py reads the stress at the slots.

Frames: each row keeps its own, radial, around from its own first slot, along the drum's axis; a half-row towards -y is
the quarter cell mirrored. Where rows alternate, every second row stands in the sector with its trailing side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from ..model.ring import Ring
from .cell import Fineness
from .mesh import Mesh
from .quarter import quarter
from .ring_mesh import ring_mesh
from .row_chain_cell import FaceCell, face_cell
from .row_chain_end import RowEnd, end_piece, hold, shortened, turned_over
from .row_chain_load import ALONG_SHELL, ChainLoad, check_chain
from .row_chain_march import Joined, Link, joined, march
from .unit_cases import RingCase, ring_cases

__all__ = ["Half", "RowChain", "solve_chain"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# in place of a stiffness that another link keeps
NOTHING = np.empty((0, 0))


@dataclass(frozen=True)
class Half:
    """Half of a row, on the leading side of its slots: mesh; u [n, 3, load] in the quarter cell's own frame, at the nodes
    that were kept.
    """

    mesh: Mesh
    u: Array


@dataclass(frozen=True)
class RowChain:
    """rows [row]: their halves towards -y and +y; endless: the half of the endless drum towards +y, each load in every
    row; cases [load] with the loads' names; motion [load]: how far the last end moves away from the first (mm), or turns
    against it (rad), where it moves as a whole.
    """

    ring: Ring
    loads: tuple[ChainLoad, ...]
    cases: tuple[RingCase, ...]
    rows: tuple[tuple[Half, Half], ...]
    endless: Half
    motion: Array
    unknowns: int
    solver: str

    @property
    def parity(self) -> Array:
        """[load]: 1 where the slots' middle planes mirror the field, -1 where they turn its sign."""
        return np.array([float(load.parity) for load in self.loads])

    def loaded(self, row: int | None) -> tuple[bool, ...]:
        """[load]: the load stands in this row; None: in the endless drum."""
        return tuple(row is None or load.rows is None or row in load.rows for load in self.loads)


def solve_chain(
    ring: Ring,
    material: Material,
    ends: tuple[RowEnd, RowEnd],
    rows_total: int,
    loads: Sequence[ChainLoad],
    fineness: Fineness,
    growth: str = "free",
    *,
    mesh: Mesh | None = None,
    everything: bool = False,
) -> RowChain:
    """Solve a chain of rows on one mesh.

    ends: at row 0 and at the last row. growth: "free": the ends may move apart, with no force along the axis between
    them; "held": they keep their distance. mesh: of the quarter cell, in place of the ring's own. everything:
    displacements at all nodes outside cells, not beside the slots only. Raises InputFault.
    """
    check_chain(ring, rows_total, ends, loads, growth)
    mesh = (ring_mesh(ring, fineness) if mesh is None else mesh).by_cells()  # ends meet cells node by node
    names = list(dict.fromkeys(load.case for load in loads))
    named = dict(zip(names, ring_cases(ring, mesh, material, names), strict=True))
    cases = tuple(_named(named[load.case], load) for load in loads)
    meshes = {end: shortened(mesh, ring, end) if end.beyond_mm(ring) < 0 else mesh for end in ends}
    size = (len(mesh.nodes), 3, len(loads))
    halves = [(np.zeros(size), np.zeros(size)) for _ in range(rows_total)]
    endless, motion = np.zeros(size), np.zeros(len(loads))
    unknowns, solver = 0, ""
    for parity in (1, -1):
        some = [i for i, load in enumerate(loads) if load.parity == parity]
        if not some:
            continue
        part = _Parity(ring, material, mesh, meshes, ends, [loads[i] for i in some], parity, growth, everything)
        found, motion[some] = part.solve(rows_total)
        for row, both in enumerate(found):
            for half, u in zip(halves[row], both, strict=True):
                half[..., some] = _side(ring, row, parity) * u  # the leading side of the slots
        endless[..., some] = part.endless()
        unknowns, solver = max(unknowns, part.unknowns(rows_total)), part.cell.solver
        del part, found  # before the next one is condensed
    own = [[mesh, mesh] for _ in range(rows_total)]
    own[0][0], own[-1][1] = meshes[ends[0]], meshes[ends[1]]
    rows = tuple((Half(m[0], u[0]), Half(m[1], u[1])) for m, u in zip(own, halves, strict=True))
    return RowChain(ring, tuple(loads), cases, rows, Half(mesh, endless), motion, unknowns, solver)


def _named(case: RingCase, load: ChainLoad) -> RingCase:
    if load.rows is None:
        return case
    text = f"{case.case.definition}; in the rows {', '.join(str(row) for row in load.rows)} only"
    return replace(case, case=replace(case.case, name=load.name, definition=text))


def _side(ring: Ring, row: int, parity: int) -> int:
    """Sign of the leading side of a row's slots against the side that stands in the sector."""
    return parity if ring.rows == "alternate" and row % 2 else 1


class _Parity:
    """The chain of one parity around. Weights of base loads are [base, load]; a base load is a unit case."""

    def __init__(
        self, ring: Ring, material: Material, mesh: Mesh, meshes: dict[RowEnd, Mesh], ends: tuple[RowEnd, RowEnd],
        loads: Sequence[ChainLoad], parity: int, growth: str, everything: bool,
    ) -> None:  # fmt: skip
        self.ring, self.material, self.ends, self.parity, self.loads = ring, material, ends, parity, loads
        self.names = list(dict.fromkeys(load.case for load in loads))
        self.mesh, self.meshes, self.growth = mesh, meshes, growth
        self.cell = self._condensed(mesh, everything)
        self.at_end = {e: self.cell if m is mesh else self._condensed(m, everything) for e, m in meshes.items()}
        self.pieces = {end: self._piece(end) for end in meshes}

    def _condensed(self, mesh: Mesh, everything: bool) -> FaceCell:
        keep = np.concatenate([np.zeros(0, dtype=np.intp), *(band.ravel() for band in mesh.edge.bands)])
        keep = np.arange(len(mesh.nodes)) if everything else np.unique(keep)
        near, far = mesh.face_nodes("y_min"), mesh.face_nodes("y_max")
        return face_cell(quarter(mesh, self.material, self._forces(mesh, self.names)), near, far, self.parity, keep)

    def _forces(self, mesh: Mesh, names: Sequence[str]) -> Array:
        """Nodal forces [n, 3, base] of those base loads that are named."""
        base = np.zeros((len(mesh.nodes), 3, len(self.names)))
        for case in ring_cases(self.ring, mesh, self.material, names):
            for piece in case.pieces:
                base[..., self.names.index(case.case.name)] += piece.force
        return base

    def _piece(self, end: RowEnd) -> tuple[FaceCell, Mesh] | None:
        """The shell and disc beyond the last cell, near degrees of freedom in the order of the cell's far face."""
        made = end_piece(self.meshes[end], self.ring, end)
        if made is None:
            return None
        forces = self._forces(made.mesh, [name for name in self.names if name in ALONG_SHELL])
        none = np.zeros(0, dtype=np.intp)
        return face_cell(quarter(made.mesh, self.material, forces), made.near, made.end, self.parity, none), made.mesh

    def _weights(self, row: int | None) -> Array:
        """Weights in a row; None: along the shell, or in the endless drum."""
        out = np.zeros((len(self.names), len(self.loads)))
        for i, load in enumerate(self.loads):
            if load.rows is None or row is None or row in load.rows:
                out[self.names.index(load.case), i] = 1.0
        return out

    def unknowns(self, rows_total: int) -> int:
        """Of the whole chain, sections counted once."""
        each = self.cell.unknowns - (self.cell.near.size + self.cell.far.size) // 2
        ends = [self.pieces[end] for end in self.ends]
        return 2 * rows_total * each + sum(p[0].unknowns - p[0].near.size for p in ends if p is not None)

    def solve(self, rows_total: int) -> tuple[list[tuple[Array, Array]], Array]:
        """Displacements [n, 3, load] of each row's halves in the quarter cell's own frame, and the end's motion."""
        first, last = self.ends
        cells = [[self.cell, self.cell] for _ in range(rows_total)]
        cells[0][0], cells[-1][1] = self.at_end[first], self.at_end[last]
        turned = turned_over(self.ring, self.mesh, self.cell.far) if self.ring.rows == "alternate" else None
        lead, tail = self.pieces[first], self.pieces[last]
        start, stop, moves = self._holds()
        side = _side(self.ring, rows_total - 1, self.parity)
        pull = side * self._pull()
        joints: dict[tuple[int, ...], Joined] = {}  # equal rows are joined once
        keys: list[tuple[int, ...]] = []
        halves: list[tuple[Link, Link]] = []
        for row, (low, high) in enumerate(cells):
            weights = self._weights(row)
            begins, ends = row == 0 and lead is None, row == rows_total - 1 and tail is None
            key = (id(low), id(high), row > 0, begins, ends)
            lower = _lower(low, weights, turned if row else None, key not in joints)
            upper = _upper(high, weights, key not in joints)
            if begins:
                lower = _held(lower, start, None)
            if ends:
                upper = _held(upper, None, stop, pull)
            if key not in joints:
                joints[key] = joined(lower, upper)
            keys.append(key)
            halves.append((replace(lower, stiffness=NOTHING), replace(upper, stiffness=NOTHING)))
        links = [joints[key].link(one, other) for key, (one, other) in zip(keys, halves, strict=True)]
        if lead is not None:
            links.insert(0, _held(_lower(lead[0], self._weights(None)), start, None))
        if tail is not None:
            links.append(_held(_upper(tail[0], self._weights(None)), None, stop, pull))
        x = march(links)
        motion = side * x[-1][-1] if moves else np.zeros(len(self.loads))
        between = x if lead is None else x[1:]
        out = []
        for row, (low, high) in enumerate(cells):
            before, after = between[row : row + 2]
            middle = joints[keys[row]].middle(*halves[row], before, after)
            if row == 0 and lead is None:
                before = start @ before
            if row == rows_total - 1 and tail is None:
                after = stop @ after
            if row and turned is not None:
                before = before[turned[0]] * turned[1][:, None]
            weights = self._weights(row)
            lower_u = low.displacements(middle * _flip(low.near), before * _flip(low.far), weights)
            out.append((lower_u, high.displacements(middle, after, weights)))
        return out, motion

    def _holds(self) -> tuple[Array, Array, bool]:
        """T of the first and of the last section, and whether the last one moves as a whole against the first."""
        first, last = self.ends
        loose = self.parity == 1 and not first.flat and not last.flat
        if self.parity == 1:
            moves = self.growth == "free" and first.flat and last.flat
        else:
            moves = first.hold != "open" and last.hold != "open"
        out = []
        for end, whole, along in ((first, False, loose), (last, moves, False)):
            piece = self.pieces[end]
            mesh, dofs = (self.meshes[end], self.at_end[end].far) if piece is None else (piece[1], piece[0].far)
            out.append(hold(end, mesh, dofs, self.ring, self.parity, whole, along))
        return out[0], out[1], moves

    def _pull(self) -> Array:
        """Force or torque [load] on the last section's motion as a whole, of this sector."""
        out = np.zeros(len(self.loads))
        for i, load in enumerate(self.loads):
            case = ring_cases(self.ring, self.mesh, self.material, [load.case])[0]
            out[i] = case.section.get(load.case, 0.0) / (2 * self.ring.slots_around)
        return out

    def endless(self) -> Array:
        """Displacements [n, 3, load] of the quarter cell in the endless drum, each load in every row."""
        end = RowEnd(distance_mm=0.5 * self.ring.pitch_mm, hold="endless")
        cell, weights = self.cell, self._weights(None)
        in_plane = cell.near % 3 != 2
        start = np.eye(cell.near.size)[:, in_plane if self.parity == 1 else ~in_plane]
        stop = hold(end, self.mesh, cell.far, self.ring, self.parity, True, False)
        near, far = march([_held(_held(_upper(cell, weights), start, None), None, stop, self._pull())])
        return cell.displacements(start @ near, stop @ far, weights)


# pieces as links of the chain: vectors in the drum's sense along the axis


def _flip(dofs: Index) -> Array:
    """[dof, 1]: the sign that a mirror across the axis gives."""
    return np.where(dofs % 3 == 2, -1.0, 1.0)[:, None]


def _upper(cell: FaceCell, weights: Array, stiff: bool = True) -> Link:
    """A piece whose near section comes first along the axis; stiff: with its stiffness."""
    return Link(cell.near.size, cell.stiffness if stiff else NOTHING, cell.load @ weights)


def _lower(cell: FaceCell, weights: Array, turned: tuple[Index, Array] | None = None, stiff: bool = True) -> Link:
    """The same mirrored across the axis: its far section comes first.

    turned: that section as the row before sees it where rows alternate.
    """
    far, near = np.arange(cell.far.size) + cell.near.size, np.arange(cell.near.size)
    sign = _flip(np.concatenate([cell.far, cell.near]))
    if turned is not None:
        far = far[turned[0]]
        sign[: far.size, 0] *= turned[1]
    order = np.concatenate([far, near])
    stiffness = cell.stiffness[np.ix_(order, order)] * (sign * sign.T) if stiff else NOTHING
    return Link(far.size, stiffness, (cell.load @ weights)[order] * sign)


def _held(link: Link, start: Array | None, stop: Array | None, pull: Array | None = None) -> Link:
    """A link whose near or far section is written x = T q; pull [load] on the last q of the far one."""
    n, stiffness = link.near, link.stiffness
    at_near, at_far = link.load[:n], link.load[n:]
    near, between, far = link.blocks if stiffness.size else (NOTHING,) * 3
    if start is not None:
        at_near, n = start.T @ at_near, start.shape[1]
        if stiffness.size:
            near, between = start.T @ near @ start, start.T @ between
    if stop is not None:
        at_far = stop.T @ at_far
        if stiffness.size:
            between, far = between @ stop, stop.T @ far @ stop
    if pull is not None and pull.any():
        at_far = np.concatenate([at_far[:-1], at_far[-1:] + pull])
    if stiffness.size:
        stiffness = np.block([[near, between], [between.T, far]])
    return Link(n, stiffness, np.concatenate([at_near, at_far]))
