"""Coulomb friction on the bearing nodes: stick where the shear is below mu p, slip against it where it is not.

Unknowns are pressures and shears. The states (open, stick, slip either way) are changed all at once (semi-smooth Newton);
should that run in circles, pressures and limits of the shear take turns: with limits given the problem is convex
(contact_active.py), and new pressures give new limits. No constant of either enters the answer. The solution of a Coulomb
problem need not be the only one where friction is high and normal and tangential motion are strongly coupled.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveFailure
from .contact_active import MOST_CHANGES, all_at_once, bordered, least, upper_half

__all__ = ["OPEN", "SLIP_BACK", "SLIP_FORTH", "STICK", "Balance", "Rubbed", "rub"]

Array = NDArray[np.float64]
State = NDArray[np.int8]

OPEN, STICK, SLIP_FORTH, SLIP_BACK = 0, 1, 2, 3

LOST = "no state of stick and slip was found: take smaller steps of the load, or less friction"
MOST_TURNS = 400
# change of the pressures, against the largest, at which turns end
SAME = 1e-11
SMALL = 1e-11


@dataclass(frozen=True)
class Rubbed:
    """Pressures and shears z [2 m], motions [k], state [m], and how often the states were changed."""

    z: Array
    motions: Array
    state: State
    changes: int


@dataclass(frozen=True)
class Balance:
    """What must be in balance: border [2 m, k] is how motions open gaps and bring slips, rows [2 m, k] what pressures and shears
    give to each resultant, lower [k, k] what the motions themselves take from it (a load of unknown size), total [k].

    Without driving loads rows are the border, and lower is 0.
    """

    border: Array
    rows: Array
    lower: Array
    total: Array

    @property
    def even(self) -> bool:
        """Whether the problem is symmetric but for friction."""
        return not self.lower.any() and np.array_equal(self.border, self.rows)


def rub(matrix: Array, linear: Array, balance: Balance, friction: Array, start: State | None = None) -> Rubbed:
    """matrix [2 m, 2 m]: compliance of pressures and shears, linear [2 m]: gap and minus slip without them; friction [m].

    Raises SolveFailure where no state is in balance.
    """
    problem = _Coulomb(matrix, linear, balance, friction)
    state = np.where(friction > 0, STICK, SLIP_FORTH).astype(np.int8) if start is None else start.astype(np.int8)
    found = all_at_once(problem, state)
    if found is not None:
        return Rubbed(*found)
    if not balance.even:
        raise SolveFailure(LOST)
    return problem.take_turns()


@dataclass(frozen=True)
class _Coulomb:
    matrix: Array
    linear: Array
    balance: Balance
    friction: Array

    def at(self, state: State) -> tuple[Array, Array]:
        """z and motions in given states."""
        m = state.size
        bears = np.flatnonzero(state != OPEN)
        sticks = np.flatnonzero(state == STICK)
        # z = spread @ (pressures of what bears, shears of what sticks)
        spread = np.zeros((2 * m, bears.size + sticks.size))
        spread[bears, np.arange(bears.size)] = 1.0
        way = np.where(state == SLIP_FORTH, 1.0, np.where(state == SLIP_BACK, -1.0, 0.0))
        spread[m + bears, np.arange(bears.size)] = (way * self.friction)[bears]
        spread[m + sticks, bears.size + np.arange(sticks.size)] = 1.0
        rows = np.concatenate([bears, m + sticks])
        b = self.balance
        found, motions = bordered(
            self.matrix[rows] @ spread, b.border[rows], -self.linear[rows], b.total, spread.T @ b.rows, b.lower
        )
        return spread @ found, motions

    def gradient(self, z: Array, motions: Array) -> Array:
        """Gaps [m] and minus slips [m]."""
        return np.asarray(self.matrix @ z + self.linear - self.balance.border @ motions)

    def better(self, z: Array, motions: Array, state: State) -> State:
        """The states that z asks for; what is at its limit to rounding stays."""
        m = state.size
        pressure, shear = z[:m], z[m:]
        gap, slip = np.split(self.gradient(z, motions), 2)
        slip = -slip
        small = SMALL * max(float(np.abs(pressure).max()), 1e-300)
        near = SMALL * max(
            float(np.abs(self.linear).max()), float(np.abs(gap).max()), float(np.abs(slip).max()), 1e-300
        )
        limit = self.friction * np.maximum(pressure, 0.0)
        out = state.copy()
        bears = state != OPEN
        out[bears & (pressure < -small)] = OPEN
        # what closes while it slips goes on slipping: one node that stuck would hold a body that slides far
        closes = (state == OPEN) & (gap < -near)
        out[closes] = np.where(slip > near, SLIP_FORTH, np.where(slip < -near, SLIP_BACK, STICK))[closes]
        rubs = self.friction > 0
        out[(state == STICK) & (pressure >= -small) & (shear > limit + small)] = SLIP_FORTH
        out[(state == STICK) & (pressure >= -small) & (shear < -limit - small)] = SLIP_BACK
        out[(state == SLIP_FORTH) & (pressure >= -small) & (slip < -near) & rubs] = STICK
        out[(state == SLIP_BACK) & (pressure >= -small) & (slip > near) & rubs] = STICK
        out[(out == STICK) & ~rubs] = SLIP_FORTH
        return out

    def some_kept(self, z: Array, state: State, after: State) -> State:
        """See contact_active.Stateful."""
        if (after != OPEN).any():
            return after
        return np.where(upper_half(z[: state.size], state != OPEN), state, OPEN).astype(np.int8)

    def take_turns(self) -> Rubbed:
        """Pressures and limits in turn, at first without a limit."""
        m = self.friction.size
        pressure, limit = np.zeros(m), np.where(self.friction > 0, np.inf, 0.0)
        state, last, weight = None, np.inf, 1.0
        for turn in range(MOST_TURNS):
            found = least(
                self.matrix, self.linear, self.balance.border, self.balance.total,
                low=np.concatenate([np.zeros(m), -limit]), high=np.concatenate([np.full(m, np.inf), limit]), start=state,
            )  # fmt: skip
            state = found.state
            new = np.maximum(found.z[:m], 0.0)
            change = float(np.abs(new - pressure).max())
            if change <= SAME * max(float(new.max()), 1e-300):
                return Rubbed(found.z, found.motions, self._states(found.z, found.motions), MOST_CHANGES + turn)
            if change > last:
                weight = max(0.5 * weight, 0.05)
            last = change
            pressure = pressure + weight * (new - pressure) if turn else new
            limit = self.friction * pressure
        raise SolveFailure(LOST)

    def _states(self, z: Array, motions: Array) -> State:
        m = self.friction.size
        pressure, shear = z[:m], z[m:]
        small = 1e-9 * max(float(pressure.max()), 1e-300)
        limit = self.friction * pressure
        out = np.where(pressure <= small, OPEN, STICK).astype(np.int8)
        out[(out == STICK) & (shear >= limit - small)] = SLIP_FORTH
        out[(out == STICK) & (shear <= -limit + small)] = SLIP_BACK
        return out
