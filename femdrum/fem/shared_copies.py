"""A row of the drum without its matrix: all copies share the quarter cell's stiffness.

The matrix of the glued copies would take as many times the quarter cell's memory as there are copies. Here the
quarter's is applied to every copy instead, and patches of the two-level solution are the copies, each with
what its neighbours add on the faces between them; those that meet the same neighbours and planes are factored once.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from .copies import Copies
from .iterative import Patch, TwoLevels, two_levels
from .quarter import Quarter

__all__ = ["SharedCopies"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


class SharedCopies:
    """The glued copies' system. numbers [node, 3]: unknowns of their nodes; reduction: sparse, all unknowns from those
    that are solved for, where some follow others.
    """

    def __init__(self, quarter: Quarter, copies: Copies, numbers: Index, unknowns: int, reduction: Any = None) -> None:
        from scipy.sparse import csr_array, diags_array

        upper = quarter.matrix
        full = (upper + upper.T - diags_array(upper.diagonal())).tocsr()
        used = np.flatnonzero(np.diff(full.indptr))  # the rest lies inside cells
        self.stiffness = full[used][:, used]
        self.size, self.copies = used.size, len(copies.items)
        dofs = numbers[copies.node].reshape(self.copies, -1)[:, used].ravel()
        signs = np.broadcast_to(copies.signs[:, None, :], (*copies.node.shape, 3))
        sign = signs.reshape(self.copies, -1)[:, used].ravel()
        seen = np.flatnonzero(dofs >= 0)
        # the unknowns as each copy sees them in its own frame, [copy component, unknowns]
        gather = csr_array((sign[seen], (seen, dofs[seen])), shape=(dofs.size, unknowns))
        self.gather = gather if reduction is None else (gather @ reduction).tocsr()
        self.scatter = self.gather.T.tocsr()
        self.unknowns = int(self.gather.shape[1])

    def apply(self, x: Array) -> Array:
        """A x, [unknowns, columns]."""
        own = self.gather @ x
        for i in range(self.copies):
            part = slice(i * self.size, (i + 1) * self.size)
            own[part] = self.stiffness @ own[part]
        return np.asarray(self.scatter @ own)

    def levels(self, prolongation: Any) -> TwoLevels:
        """Ready for conjugate gradients, with a coarse space [unknowns, coarse]."""
        from scipy.sparse import vstack

        seen = self.gather @ prolongation
        parts = [self.stiffness @ seen[i * self.size : (i + 1) * self.size] for i in range(self.copies)]
        action = self.scatter @ vstack(parts, format="csr")
        return two_levels(self.apply, float(np.abs(self.stiffness.data).max()), prolongation, action, self._patches())

    def _patches(self) -> list[Patch]:
        from scipy.sparse import csr_array, tril

        rows = [self.gather[i * self.size : (i + 1) * self.size] for i in range(self.copies)]
        touched = [np.unique(part.indices) for part in rows]
        kinds: dict[tuple[bytes, ...], list[tuple[Index, Array]]] = {}
        lowers: dict[tuple[bytes, ...], Any] = {}
        column = np.full(self.unknowns, -1)
        for i, own in enumerate(rows):
            at, sign = _order(own)
            column[at] = np.arange(at.size)
            views = []
            for k in range(self.copies):
                if k == i or np.intersect1d(touched[k], touched[i], assume_unique=True).size:
                    views.append(_seen(rows[k], column, sign))
            column[at] = -1
            views.sort(key=lambda v: v[0])
            key = tuple(v[0] for v in views)
            if key not in lowers:
                total = csr_array((at.size, at.size))
                for _, local, view in views:
                    total = total + view.T @ (self.stiffness[local][:, local] @ view)
                lowers[key] = tril(total).tocsc()
            kinds.setdefault(key, []).append((at, sign))
        return [
            Patch(lowers[key], np.stack([m[0] for m in members]), np.stack([m[1] for m in members]))
            for key, members in kinds.items()
        ]


def _order(own: Any) -> tuple[Index, Array]:
    """The unknowns that a copy sees, in the order in which it meets them, and their signs."""
    at, first = np.unique(own.indices, return_index=True)
    order = np.argsort(first, kind="stable")
    value = own.data[first][order]
    return at[order].astype(np.intp), np.where(value < 0, -1.0, 1.0)


def _seen(rows: Any, column: Index, sign: Array) -> tuple[bytes, Index, Any]:
    """How a copy sees a patch: a key, its components that do, and the sparse map [components, patch]."""
    from scipy.sparse import csr_array

    to = column[rows.indices]
    keep = to >= 0
    row = np.repeat(np.arange(rows.shape[0]), np.diff(rows.indptr))[keep]
    to, value = to[keep], rows.data[keep] * sign[to[keep]]
    local, place = np.unique(row, return_inverse=True)
    view = csr_array((value, (place, to)), shape=(local.size, sign.size))
    return row.tobytes() + to.tobytes() + np.round(value, 12).tobytes(), local, view
