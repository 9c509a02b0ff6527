"""Plates on the positions of one plane as a mixed-integer program: least residual, or fewest plates; proven.

Unknown are whole plate counts on signed axes (opposite positions are one), a magnitude above every projection of the
residual onto a fan of directions, and, where they matter, which positions are used and how many plates there are. The
fan is an outer approximation of the circle: its optimum is a lower bound. A direction is added where it was too short,
until bound and true residual meet. The solver is HiGHS, through scipy; counts are written in a reduced lattice basis,
without which it would not end.
"""

from __future__ import annotations

import ctypes
import math
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .lattice_basis import reduced_basis
from .position_search import Axes, effort

__all__ = ["GAP", "Program", "Solution", "silent"]

Array = NDArray[Any]
Whole = NDArray[np.int64]

# bound and residual have met, as a share of the permissible unbalance
GAP = 1e-6
FAN = 24
MOST_CUTS = 60
# the solver's own tolerances are near 1e-6: rows are scaled so that GAP stays well above them
SCALE = 30.0
OPTIMAL, INFEASIBLE = 0, 2


@contextmanager
def silent() -> Iterator[None]:
    """Nothing that a compiled library writes by itself reaches standard output meanwhile.

    HiGHS writes a line when it mends a solution, past all its options, and that would break what a program reads.
    """
    try:
        kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    except OSError:  # there is no standard output
        yield
        return
    _flush()
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        _flush()
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _flush() -> None:
    """Write out what is still in the buffers of Python and of the C library."""
    if sys.stdout is not None and not sys.stdout.closed:
        sys.stdout.flush()
    with suppress(OSError, TypeError, AttributeError):
        ctypes.CDLL(None).fflush(None)


@dataclass(frozen=True)
class Solution:
    """Signed counts by axis, their residual as a share of the permissible, a lower bound, proven or not.

    bound: of the share, or of the number of plates.
    """

    counts: Whole
    share: float
    bound: float
    proven: bool
    nodes: int


class Program:
    """One plane: unbalance to be cancelled (g mm), axes, permissible (g mm), limits."""

    def __init__(
        self, unbalance_g_mm: complex, axes: Axes, permissible_g_mm: float, *,
        most_used: int | None = None, most_plates: int | None = None, most_nodes: int = 3_000,
    ) -> None:  # fmt: skip
        self.base = unbalance_g_mm / permissible_g_mm
        self.axes = axes
        self.permissible_g_mm = permissible_g_mm
        self.vectors = axes.vectors / permissible_g_mm
        many = len(self.vectors)
        self.most_used = None if most_used is None or most_used >= many else most_used
        whole = int(np.maximum(axes.most, -axes.least).sum())
        self.most_plates = None if most_plates is None or most_plates >= whole else most_plates
        self.most_nodes = most_nodes
        self.nodes = 0

    def residual(self, counts: Whole) -> complex:
        """Unbalance that is left, as a share of the permissible."""
        return complex(self.base + (counts * self.vectors).sum())

    def least_residual(self, start: Whole, *, most_plates: int | None = None) -> Solution:
        """Counts of least residual. start: counts within the limits, to begin with. most_plates: besides the limits."""
        best, share = start, abs(self.residual(start))
        bound = 0.0
        directions = self._fan(start)
        while share - bound > GAP and len(directions) < FAN + MOST_CUTS:
            found = self._solve(directions, share, most_plates=most_plates)
            if found is None:  # nothing is better than what is at hand
                return Solution(best, share, share, True, self.nodes)
            counts, low, proven = found
            bound = max(bound, low)
            if counts is not None:
                left = self.residual(counts)
                if abs(left) < share:
                    best, share = counts, abs(left)
                directions.append(float(np.angle(left)))
            if counts is None or not proven:
                break
        bound = min(bound, share)
        return Solution(best, share, bound, share - bound <= GAP, self.nodes)

    def fewest_plates(self, start: Whole, cap: float) -> Solution:
        """The fewest plates, then positions, whose residual is at most `cap`, a share of the permissible, to GAP."""
        best, plates = start, int(np.abs(start).sum())
        bound = 0.0
        directions = self._fan(start)
        while len(directions) < FAN + MOST_CUTS:
            found = self._solve(directions, cap, fewest=True)
            if found is None:  # the cap is the optimum itself, and lost in rounding
                return Solution(best, abs(self.residual(best)), plates, True, self.nodes)
            counts, low, proven = found
            bound = max(bound, low)
            if counts is not None and abs(left := self.residual(counts)) > cap + GAP:
                directions.append(float(np.angle(left)))
                if proven:
                    continue
            elif counts is not None and effort(counts) < effort(best):
                best, plates = counts, int(np.abs(counts).sum())
            return Solution(best, abs(self.residual(best)), min(bound, plates), proven, self.nodes)
        return Solution(best, abs(self.residual(best)), bound, False, self.nodes)

    def _fan(self, start: Whole) -> list[float]:
        first = float(np.angle(self.residual(start)))
        return [first + 2 * math.pi * i / FAN for i in range(FAN)]

    def _solve(
        self, directions: list[float], cap: float, *, fewest: bool = False, most_plates: int | None = None
    ) -> tuple[Whole | None, float, bool] | None:
        """Best counts, lower bound, whether it was proven; None where nothing lies under the cap."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        axes, many = self.axes, len(self.vectors)
        size = float(np.abs(self.vectors).max())
        basis = reduced_basis(self.vectors / size, 0.3 / max(cap / size, 1e-7))
        limit = min((p for p in (self.most_plates, most_plates) if p is not None), default=None)
        with_used = self.most_used is not None or fewest
        with_plates = limit is not None or fewest
        # unknowns: steps, residual, used or not, plates
        used = many + 1
        plates = used + many * with_used
        total = plates + many * with_plates
        rows: list[tuple[Array, Array | float, Array | float]] = []

        def block(height: int, **parts: Array) -> Array:
            out = np.zeros((height, total))
            for name, part in parts.items():
                first = {"steps": 0, "residual": many, "used": used, "plates": plates}[name]
                out[:, first : first + part.shape[1]] = part
            return out

        angles = np.array(directions)
        turned = (self.vectors @ basis)[None, :] * np.exp(-1j * angles)[:, None]
        length = (self.base * np.exp(-1j * angles)).real
        fan = block(len(angles), steps=SCALE * turned.real, residual=np.full((len(angles), 1), -1.0))
        rows.append((fan, -np.inf, -SCALE * length))
        rows.append((block(many, steps=basis.astype(float)), axes.least.astype(float), axes.most.astype(float)))
        if with_used:
            for sign, high in ((1.0, axes.most), (-1.0, -axes.least)):
                matrix = block(many, steps=sign * basis, used=-np.diag(high.astype(float)))
                rows.append((matrix, -np.inf, 0.0))
            if self.most_used is not None:
                rows.append((block(1, used=np.ones((1, many))), -np.inf, float(self.most_used)))
        if with_plates:
            for sign in (1.0, -1.0):
                rows.append((block(many, steps=sign * basis, plates=-np.eye(many)), -np.inf, 0.0))
            if limit is not None:
                rows.append((block(1, plates=np.ones((1, many))), -np.inf, float(limit)))

        back = np.rint(np.linalg.inv(basis.astype(float)))
        low = np.where(back > 0, back * axes.least, back * axes.most).sum(axis=1)
        high = np.where(back > 0, back * axes.most, back * axes.least).sum(axis=1)
        least, most, whole = np.zeros(total), np.full(total, np.inf), np.zeros(total)
        least[:many], most[:many], whole[:many] = low, high, 1
        # a little above, or the start itself would be lost in rounding
        most[many] = SCALE * (cap + 0.1 * GAP)
        goal = np.zeros(total)
        if fewest:
            goal[plates:] = 1.0
            goal[used:plates] = 1.0 / (many + 1)
        else:
            goal[many] = 1.0
        if with_used:
            most[used:plates], whole[used:plates] = 1, 1
        if with_plates:
            most[plates:] = np.maximum(axes.most, -axes.least)
        # without presolve: no slower here
        with silent():
            done = milp(
                goal, integrality=whole, bounds=Bounds(least, most),
                constraints=[LinearConstraint(m, lo, hi) for m, lo, hi in rows],
                options={"node_limit": self.most_nodes, "mip_rel_gap": 0.0, "presolve": False},
            )  # fmt: skip
        self.nodes += int(done.mip_node_count or 0)
        if done.status == INFEASIBLE:
            return None
        counts = None if done.x is None else basis @ np.rint(done.x[:many]).astype(np.int64)
        if counts is not None and not self.allows(counts, limit):
            counts = None
        bound = 0.0 if done.mip_dual_bound is None else float(done.mip_dual_bound)
        if fewest:
            # whole plates: the positions' small weight and the fraction fall away
            bound = math.ceil(bound - many / (many + 1) - 1e-6) if bound > 0 else 0.0
        else:
            bound /= SCALE
        return counts, max(bound, 0.0), done.status == OPTIMAL

    def allows(self, counts: Whole, most_plates: int | None = None) -> bool:
        """Do counts keep the limits of stacks, positions and plates?"""
        limits = [p for p in (self.most_plates, most_plates) if p is not None]
        return bool(
            np.all(counts >= self.axes.least) and np.all(counts <= self.axes.most)
            and (self.most_used is None or np.count_nonzero(counts) <= self.most_used)
            and all(np.abs(counts).sum() <= p for p in limits)
        )  # fmt: skip
