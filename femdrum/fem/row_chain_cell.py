"""A piece of shell between two cross-sections, condensed to them: stiffness, loads, and the way back inside.

The piece is a sector between two mirror planes around. Degrees of freedom that the planes hold are left out. The order
on a face is by node, then radial, around, axial, so that faces with equal nodes meet number by number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .linear import Factored
from .quarter import Quarter

__all__ = ["AROUND", "FaceCell", "face_cell"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# components that a mirror plane around holds: symmetric or antisymmetric fields
AROUND = {1: (1,), -1: (0, 2)}

# right-hand sides that are solved at a time, so that memory stays small
COLUMNS = 64


@dataclass(frozen=True)
class FaceCell:
    """near, far: degrees of freedom 3 node + component on the two sections; stiffness [f, f] and load [f, base] over
    near, then far. kept [k]: degrees of freedom inside whose displacements are own [k, base] minus back [k, f] times
    those of the sections. nodes: of the piece's mesh. unknowns: of the sparse system.
    """

    near: Index
    far: Index
    stiffness: Array
    load: Array
    kept: Index
    back: Array
    own: Array
    nodes: int
    unknowns: int
    solver: str
    residual: float

    def displacements(self, near: Array, far: Array, weights: Array) -> Array:
        """[n, 3, column] in the piece's own frame, from those on the sections [dof, column] and the weights of the base
        loads [base, column]; zero at nodes that are not kept.
        """
        both = np.concatenate([near, far])
        out = np.zeros((3 * self.nodes, both.shape[1]))
        out[self.kept] = self.own @ weights - self.back @ both
        out[self.near], out[self.far] = near, far
        return out.reshape(self.nodes, 3, -1)


def face_cell(
    quarter: Quarter, near: Index, far: Index, parity: int, keep: Index, planes: Sequence[str] = ("x_min", "x_max")
) -> FaceCell:
    """Condense a piece to its node sets `near` and `far`.

    parity: 1 where both planes around mirror the field, -1 where they turn its sign. keep: nodes whose displacements
    are wanted. Raises OverBudget where the piece does not fit into memory.
    """
    from scipy.sparse import tril, triu

    n = len(quarter.mesh.nodes)
    free = np.zeros((n, 3), dtype=bool)
    free[quarter.used] = True
    for plane in planes:
        nodes = quarter.mesh.face_nodes(plane)
        for component in AROUND[parity]:
            free[nodes, component] = False
    faces = [_numbers(nodes)[free[nodes].ravel()] for nodes in (near, far)]
    on_face = np.concatenate(faces)
    inside = free.ravel().copy()
    inside[on_face] = False
    inner = np.flatnonzero(inside)
    full = (quarter.matrix + triu(quarter.matrix, 1).T).tocsr()
    rows = full[inner]
    tie = rows[:, on_face].tocsc()
    factored = Factored(tril(rows[:, inner]).tocsc())
    load = quarter.load.reshape(3 * n, -1)
    stiffness = full[on_face][:, on_face].toarray()
    del full, rows
    kept = np.intersect1d(_numbers(keep), inner)
    at = np.searchsorted(inner, kept)
    back = np.empty((kept.size, on_face.size))
    solver, residual = "", 0.0
    for start in range(0, on_face.size, COLUMNS):
        part = slice(start, start + COLUMNS)
        solved = factored.solve(tie[:, part].toarray())
        stiffness[:, part] -= tie.T @ solved.x
        back[:, part] = solved.x[at]
        solver, residual = solved.solver, max(residual, solved.residual)
    solved = factored.solve(load[inner])
    return FaceCell(
        near=faces[0],
        far=faces[1],
        stiffness=0.5 * (stiffness + stiffness.T),
        load=load[on_face] - tie.T @ solved.x,
        kept=kept,
        back=back,
        own=solved.x[at],
        nodes=n,
        unknowns=inner.size + on_face.size,
        solver=solver or solved.solver,
        residual=max(residual, solved.residual),
    )


def _numbers(nodes: Index) -> Index:
    return np.asarray((3 * nodes[:, None] + np.arange(3)).ravel(), dtype=np.intp)
