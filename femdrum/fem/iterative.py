"""Conjugate gradients with two levels: what a system too large to be factored as a whole is solved by.

The fine level is cut into overlapping patches (groups of cells), each factored by itself: they take away what cells
stretched in any direction and functions of high order leave. The coarse level is the same cells with functions of
first order: it carries what spans many patches. A patch that occurs many times, as the copies of a ring's cell do,
is factored once. Additive Schwarz, deflated by the coarse level: Tang, Nabben, Vuik, Erlangga, J. Sci. Comput. 39
(2009), there "A-DEF2"; named from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .memory import require

__all__ = ["Found", "Patch", "TwoLevels", "two_levels"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# energy of the error, over that at the start, at which a column is done
TOLERANCE = 1e-11
# copies of a ring took 25 to 60 whatever their number, patches of a single cell up to 110
MOST_ITERATIONS = 400


@dataclass(frozen=True)
class Patch:
    """lower: triangle (csc) of a patch's own stiffness, held where it ends; at [member, k]: its unknowns wherever it
    occurs; sign [member, k]: factor from there to the patch's own frame.
    """

    lower: Any
    at: Index
    sign: Array


@dataclass(frozen=True)
class Found:
    """x [n, columns] and the iterations of the slowest column."""

    x: Array
    iterations: int


@dataclass(frozen=True)
class TwoLevels:
    """A system ready for conjugate gradients. apply: A x; largest: its largest entry; prolongation P [n, coarse] and
    action A P, sparse; coarse, patches: solve on each level, [n, columns].
    """

    apply: Callable[[Array], Array]
    largest: float
    prolongation: Any
    action: Any
    coarse: Callable[[Array], Array]
    patches: Callable[[Array], Array]

    def solve(self, b: Array) -> Found:
        """All columns of b [n, columns]. Raises RuntimeError where they do not converge."""
        x = self.prolongation @ self.coarse(self.prolongation.T @ b)
        r = b - self.apply(x)
        z = self._precondition(r)
        p = z.copy()
        energy = np.einsum("ij,ij->j", r, z)
        goal = TOLERANCE**2 * np.maximum(np.einsum("ij,ij->j", b, x) + energy, 1e-300)
        active = np.flatnonzero(energy > goal)
        r, z, p, energy = r[:, active], z[:, active], p[:, active], energy[active]
        count = 0
        while active.size:
            q = self.apply(p)
            curve = np.einsum("ij,ij->j", p, q)
            if count == MOST_ITERATIONS or not ((energy > 0) & (curve > 0)).all():
                raise RuntimeError("conjugate gradients do not converge")
            count += 1
            step = energy / curve
            x[:, active] += step * p
            q *= step
            r -= q
            z = self._precondition(r)
            now = np.einsum("ij,ij->j", r, z)
            # flexible: patches kept in single precision are not quite the same map each time
            beta = -np.einsum("ij,ij->j", q, z) / energy
            p *= beta
            p += z
            going = now > goal[active]
            energy = now
            if not going.all():
                active, energy = active[going], energy[going]
                r, p = np.ascontiguousarray(r[:, going]), np.ascontiguousarray(p[:, going])
        return Found(x, count)

    def _precondition(self, r: Array) -> Array:
        z = self.patches(r)
        z += self.prolongation @ self.coarse(self.prolongation.T @ r - self.action.T @ z)
        return z


def two_levels(
    apply: Callable[[Array], Array], largest: float, prolongation: Any, action: Any, patches: Sequence[Patch]
) -> TwoLevels:
    """Factor both levels. Raises OverBudget where they would not fit into the memory."""
    import rslab
    from scipy.sparse import tril

    lowers = [tril(prolongation.T @ action).tocsc(), *(patch.lower for patch in patches)]
    orders = [rslab.analyze(lower, path="ldlt") for lower in lowers]
    need = orders[0].memory_plan()["peak_bytes"]
    # single precision halves what patches take, and is made good by the iterations
    need += sum(order.memory_plan("float32")["resident_bytes"] for order in orders[1:])
    require(prolongation.shape[0], need, "the two levels of a system")
    coarse = orders[0].factor(lowers[0].data)
    ready = [
        order.factor(patch.lower.data.astype(np.float32)) for order, patch in zip(orders[1:], patches, strict=True)
    ]
    own = _Patches(patches, ready, prolongation.shape[0])
    return TwoLevels(apply, largest, prolongation, action, _many(coarse), own)


def _many(ready: Any, kept: Any = np.float64) -> Callable[[Array], Array]:
    return lambda b: np.asarray(ready.solve_many(np.ascontiguousarray(b, dtype=kept)))


class _Patches:
    """Sum of all patches' own solutions, weighted on both sides by the root of how many share an unknown."""

    def __init__(self, patches: Sequence[Patch], ready: Sequence[Any], unknowns: int) -> None:
        shared = np.zeros(unknowns)
        for patch in patches:
            shared += np.bincount(patch.at.ravel(), minlength=unknowns)
        if not shared.all():
            raise RuntimeError("an unknown belongs to no patch")
        root = 1.0 / np.sqrt(shared)
        self._parts = [
            (_many(solver, np.float32), patch.at, (patch.sign * root[patch.at])[..., None])
            for solver, patch in zip(ready, patches, strict=True)
        ]

    def __call__(self, r: Array) -> Array:
        z = np.zeros_like(r)
        columns = r.shape[1]
        for solve, at, weight in self._parts:
            own = (r[at] * weight).transpose(1, 0, 2)
            own = solve(own.reshape(len(own), -1)).reshape(len(own), -1, columns)
            for member, numbers in enumerate(at):
                z[numbers] += own[:, member] * weight[member]
        return z
