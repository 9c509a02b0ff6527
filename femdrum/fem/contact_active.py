"""Which nodes bear: a convex quadratic problem with bounds and balances, by its active set.

    least 1/2 z' C z + h' z,  low <= z <= high,  R' z = e

With pressures z >= 0, C their compliance, h the gaps as drawn, and R the rigid motions, what comes out has no tension, no
overlap, and pressure only where the gap is closed; the multipliers of R are the rigid motions themselves. First the set is
changed all at once (primal-dual active set, a semi-smooth Newton method); should it run in circles, one node at a time
from an admissible state, which always ends (any text on quadratic programming). No constant of either enters the answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from ..errors import SingularModel, SolveFailure

__all__ = ["MOST_CHANGES", "Bounded", "all_at_once", "bordered", "least", "upper_half"]

Array = NDArray[np.float64]
State = NDArray[np.int8]

# changes of the whole set, unless one comes back, before one node at a time
MOST_CHANGES = 200
# reciprocal condition below which a system counts as singular
SINGULAR = 1e-14
# what is less than this share of the largest is zero
SMALL = 1e-11


@dataclass(frozen=True)
class Bounded:
    """z [m] and the multipliers motions [k]; state [m]: 0 free, -1 at low, +1 at high; how often the set was changed."""

    z: Array
    motions: Array
    state: State
    changes: int


def bordered(
    matrix: Array, border: Array, rhs: Array, below: Array, balance: Array | None = None, lower: Array | None = None
) -> tuple[Array, Array]:
    """z and a of [[matrix, -border], [balance', -lower]] [z, a] = [rhs, below]; balance: border, and lower: 0, unless given.

    Raises LinAlgError where it is singular.
    """
    n, k = border.shape
    balance = border if balance is None else balance
    scale = max(float(np.abs(np.diag(matrix)).max(initial=0.0)), 1e-300)
    column, row = (np.maximum(np.abs(b).max(0, initial=0.0), 1e-300) for b in (border, balance))
    whole = np.zeros((n + k, n + k))
    whole[:n, :n], whole[:n, n:], whole[n:, :n] = matrix / scale, -border / column, (balance / row).T
    if lower is not None:
        whole[n:, n:] = -lower * (scale / column) / row[:, None]
    right = np.concatenate([rhs / scale, below / row])
    found = _solved(whole, right)
    return found[:n], found[n:] * scale / column


def _solved(matrix: Array, right: Array) -> Array:
    if not right.size:
        return right
    from scipy.linalg import lapack

    size = float(np.abs(matrix).sum(0).max())
    factor, pivots, failed = lapack.dgetrf(matrix)
    if failed or not np.isfinite(size) or lapack.dgecon(factor, size)[0] < SINGULAR:
        raise np.linalg.LinAlgError("singular")
    return np.asarray(lapack.dgetrs(factor, pivots, right)[0])


def upper_half(values: Array, among: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which of those among [m] have the larger values."""
    return np.asarray(among & (values >= np.median(values[among])))


def least(
    matrix: Array,
    linear: Array,
    border: Array,
    total: Array,
    *,
    low: Array | None = None,
    high: Array | None = None,
    start: State | None = None,
) -> Bounded:
    """The least of the problem above; low: 0 unless given, high: none unless given. start: state [m] to begin from.

    Raises SolveFailure where no z within the bounds is in balance: the loads part the bodies.
    """
    m = linear.size
    low = np.zeros(m) if low is None else low
    high = np.full(m, np.inf) if high is None else high
    problem = _Problem(matrix, linear, border, total, low, high)
    state = np.zeros(m, dtype=np.int8) if start is None else start.astype(np.int8)
    found = all_at_once(problem, state)
    return problem.one_by_one() if found is None else Bounded(*found)


class Stateful(Protocol):
    """A problem whose nodes are each in one of some states."""

    def at(self, state: State) -> tuple[Array, Array]:
        """z and motions in given states. Raises LinAlgError where these hold too little."""

    def better(self, z: Array, motions: Array, state: State) -> State:
        """The states that z asks for."""

    def some_kept(self, z: Array, state: State, after: State) -> State:
        """`after`, unless it lets go of all that bears: then only of the half that pulls most."""


def all_at_once(problem: Stateful, state: State) -> tuple[Array, Array, State, int] | None:
    """z, motions, states and how often these were changed, all at once; None where that runs in circles or is singular."""
    seen: set[bytes] = set()
    for changes in range(MOST_CHANGES):
        if state.tobytes() in seen:
            break
        seen.add(state.tobytes())
        try:
            z, motions = problem.at(state)
        except np.linalg.LinAlgError:
            break
        after = problem.better(z, motions, state)
        if (after == state).all():
            return z, motions, state, changes
        state = problem.some_kept(z, state, after)
    return None


@dataclass(frozen=True)
class _Problem:
    matrix: Array
    linear: Array
    border: Array
    total: Array
    low: Array
    high: Array

    def at(self, state: State) -> tuple[Array, Array]:
        """z and motions with the given nodes at their bounds, the others free."""
        free = state == 0
        z = np.where(state < 0, self.low, np.where(state > 0, self.high, 0.0))
        rhs = -self.linear[free] - self.matrix[np.ix_(free, ~free)] @ z[~free]
        below = self.total - self.border[~free].T @ z[~free]
        z[free], motions = bordered(self.matrix[np.ix_(free, free)], self.border[free], rhs, below)
        return z, motions

    def gradient(self, z: Array, motions: Array) -> Array:
        """Of the Lagrangian: gap or slip at every node."""
        return np.asarray(self.matrix @ z + self.linear - self.border @ motions)

    def better(self, z: Array, motions: Array, state: State) -> State:
        """The state that bounds and gradients at z ask for; what is at its limit to rounding stays."""
        slack = SMALL * max(float(np.abs(z).max()), 1e-300)
        gradient = self.gradient(z, motions)
        steep = SMALL * max(float(np.abs(gradient).max()), float(np.abs(self.linear).max()), 1e-300)
        out = state.copy()
        free = state == 0
        out[free & (z < self.low - slack)] = -1
        out[free & (z > self.high + slack)] = 1
        out[(state < 0) & (gradient < -steep) & (self.high > self.low)] = 0
        out[(state > 0) & (gradient > steep) & (self.high > self.low)] = 0
        return out

    def some_kept(self, z: Array, state: State, after: State) -> State:
        """See Stateful."""
        if (after == 0).any():
            return after
        return np.where(upper_half(z, state == 0), 0, after).astype(np.int8)

    def one_by_one(self) -> Bounded:
        """From an admissible state, one node at a time."""
        z = self._admissible()
        span = np.where(np.isfinite(self.high), self.high - self.low, np.abs(z).max() + 1e-300)
        state = np.where(z <= self.low + SMALL * span, -1, np.where(z >= self.high - SMALL * span, 1, 0)).astype(
            np.int8
        )
        for changes in range(20 * z.size + 100):
            free = state == 0
            aim, motions = self._aim(z, state)
            step = aim - z
            with np.errstate(divide="ignore", invalid="ignore"):
                room = np.where(step < 0, (self.low - z) / step, np.where(step > 0, (self.high - z) / step, np.inf))
            room = np.where(free & (np.abs(step) > 1e-14 * np.abs(z).max()), room, np.inf)
            first = int(np.argmin(room))
            if room[first] < 1.0:
                z = z + max(float(room[first]), 0.0) * step
                state[first] = -1 if step[first] < 0 else 1
                z[first] = self.low[first] if step[first] < 0 else self.high[first]
                continue
            z = aim
            gradient = self.gradient(z, motions)
            steep = SMALL * max(float(np.abs(gradient).max()), float(np.abs(self.linear).max()), 1e-300)
            wrong = np.where(state == 0, 0.0, state * gradient) * (self.high > self.low)
            worst = int(np.argmax(wrong))
            if wrong[worst] <= steep:
                return Bounded(z, motions, state, MOST_CHANGES + changes)
            state[worst] = 0
        raise SolveFailure("the bearing nodes could not be found; refine the mesh or check the shapes")

    def _aim(self, z: Array, state: State) -> tuple[Array, Array]:
        try:
            return self.at(state)
        except np.linalg.LinAlgError:
            pass
        # fewer bearing nodes than motions to hold: of all that balances take the nearest
        free = state == 0
        n, k = int(free.sum()), self.border.shape[1]
        scale = float(np.abs(np.diag(self.matrix)).max())
        size = np.maximum(np.abs(self.border).max(0), 1e-300)
        whole = np.zeros((n + k, n + k))
        whole[:n, :n] = self.matrix[np.ix_(free, free)] / scale
        whole[:n, n:], whole[n:, :n] = -self.border[free] / size, (self.border[free] / size).T
        rhs = -self.linear[free] - self.matrix[free] @ z
        found = np.linalg.lstsq(whole, np.concatenate([rhs / scale, np.zeros(k)]), rcond=1e-12)[0]
        aim = z.copy()
        aim[free] += found[:n]
        return aim, found[n:] * scale / size

    def _admissible(self) -> Array:
        """Within the bounds and in balance, as far from the bounds as can be."""
        from scipy.optimize import linprog

        m, k = self.border.shape
        if not k:
            return np.clip(np.where(np.isfinite(self.high), self.high - 1.0, 1.0), self.low, self.high)
        size = np.maximum(np.abs(self.border).max(0), 1e-300)
        unit = max(float(np.abs(self.total / size).max()), 1e-300)  # so that the numbers are of the order of 1
        rows = np.column_stack([(self.border / size).T, np.zeros(k)])
        lower, upper = np.isfinite(self.low), np.isfinite(self.high)
        inner, outer = (np.column_stack([sign * np.eye(m), np.ones(m)]) for sign in (-1.0, 1.0))
        limits = np.concatenate([-self.low[lower] / unit, self.high[upper] / unit])
        found = linprog(
            np.append(np.zeros(m), -1.0), A_ub=np.vstack([inner[lower], outer[upper]]), b_ub=limits,
            A_eq=rows, b_eq=self.total / size / unit, bounds=[(None, None)] * m + [(None, 1.0)],
        )  # fmt: skip
        if found.status == 2 or (found.status == 0 and found.x[m] < -1e-9):
            raise SolveFailure(
                "the loads part the bodies, or tip them off: no pressure between them can balance the loads"
            )
        if found.status != 0:
            raise SingularModel(f"no admissible state of contact was found: {found.message}")
        return np.asarray(found.x[:m] * unit)
