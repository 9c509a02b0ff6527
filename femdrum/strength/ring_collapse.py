"""Load at which a thin ring becomes a mechanism of plastic hinges: both theorems of limit analysis at once.

Each section carries hoop force and moment up to |m| + n^2 = 1 (a rectangle, fully plastic; m and n over their plastic
values). Among all states in equilibrium the linear programme finds the one that bears most. With the yield curve
replaced by tangents at some sections, its answer is never below the limit of the model (what it leaves out could only
lower it); the same state, shrunk until every section of a fine grid obeys the curve itself, is never above.
The hinges are where the programme's multipliers sit: the mechanism of the kinematic theorem.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveFailure
from .ring_statics import RingLoads

__all__ = ["Capacity", "RingCollapse", "ring_collapse"]

Array = NDArray[np.float64]
Capacity = Callable[[Array], tuple[Array, Array]]

FINE = 3600
COARSE = 72
HAIR = 1e-7
GAP = 1e-7
NEAR = math.radians(4.0)
MOST_ROUNDS = 60
MOST_LOADED = 48


@dataclass(frozen=True)
class RingCollapse:
    """lower, upper: factors on the loads, closing in on the ring's limit. hinges_rad: where it gives, with the shares
    hinge_force and hinge_moment of the plastic hoop force and moment there.
    """

    lower: float
    upper: float
    hinges_rad: Array
    hinge_force: Array
    hinge_moment: Array


def ring_collapse(loads: RingLoads, capacity: Capacity) -> RingCollapse:
    """Limit of a ring whose section at angle a carries capacity(a) = (plastic hoop force N, plastic moment N mm).

    Factors are infinite where the loads leave the ring without force. Raises SolveFailure if the programme fails.
    """
    from scipy.optimize import linprog

    breaks = loads.breaks_rad
    whole = np.linspace(0, 2 * math.pi, FINE + 1)
    theta = np.unique(np.clip(np.concatenate([whole, breaks - HAIR, breaks, breaks + HAIR]), 0.0, 2 * math.pi))
    most_n, most_m = capacity(theta)
    force, moment = loads.forces(theta)
    redundant_n, redundant_m = loads.redundants(theta)
    scale_n, scale_m = float(np.max(most_n)), float(np.max(most_m))
    size = max(float(np.max(np.abs(force))) / scale_n, float(np.max(np.abs(moment))) / scale_m)
    if size == 0.0:
        return RingCollapse(math.inf, math.inf, np.zeros(0), np.zeros(0), np.zeros(0))
    # unknowns: load factor and three redundants, all near 1
    unit = scale_m / loads.radius_mm
    n = np.column_stack([force / size, redundant_n * unit]) / most_n[:, None]
    m = np.column_stack([moment / size, redundant_m * unit]) / most_m[:, None]
    # the rest of the sections comes in where it turns out to bear too much
    loaded = np.mod([p.angle_rad for p in loads.points[:MOST_LOADED]], 2 * math.pi)
    beside = np.searchsorted(theta, np.concatenate([loaded, loaded + HAIR])).clip(0, len(theta) - 1)
    start = np.unique(np.concatenate([np.linspace(0, len(theta) - 1, COARSE).astype(int), beside]))
    at = np.repeat(start, 10)
    touch = np.tile(np.repeat([-1.0, -0.5, 0.0, 0.5, 1.0], 2), len(start))
    sign = np.tile([1.0, -1.0], 5 * len(start))
    upper, lower = math.inf, 0.0
    for _ in range(MOST_ROUNDS):
        rows = sign[:, None] * m[at] + 2 * touch[:, None] * n[at]
        found = linprog(
            [-1.0, 0.0, 0.0, 0.0], A_ub=rows, b_ub=1 + touch**2, bounds=[(0, None), *[(None, None)] * 3], method="highs"
        )
        if found.status != 0:
            raise SolveFailure(f"the linear programme of the ring's plastic limit failed: {found.message}")
        upper = min(upper, float(found.x[0]))
        state_n, state_m = n @ found.x, m @ found.x
        shrink = 2 / np.maximum(np.abs(state_m) + np.sqrt(state_m**2 + 4 * state_n**2), 1e-300)
        lower = max(lower, float(found.x[0]) * float(shrink.min()))
        if lower >= upper * (1 - GAP):
            break
        over = np.flatnonzero(shrink < 1 - 0.1 * GAP)
        peaks = over[_peaks(shrink, over)]
        at = np.concatenate([at, peaks, peaks])
        tip = np.clip(state_n[peaks] * shrink[peaks], -1.0, 1.0)
        touch = np.concatenate([touch, tip, tip])
        sign = np.concatenate([sign, np.ones(len(peaks)), -np.ones(len(peaks))])
    weight = -np.asarray(found.ineqlin.marginals, dtype=float)
    held = np.unique(at[weight > 1e-6 * weight.max()])
    # one hinge for neighbours; 360 degrees is 0
    apart = np.diff(theta[held], prepend=theta[held[-1:]] - 2 * math.pi) > NEAR
    spots = held[apart] if np.any(apart) else held[:1]
    return RingCollapse(lower / size, upper / size, theta[spots], state_n[spots], state_m[spots])


def _peaks(shrink: Array, over: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Of the sections that bear too much, those that bear more than their neighbours."""
    left, right = shrink[np.maximum(over - 1, 0)], shrink[np.minimum(over + 1, len(shrink) - 1)]
    return np.asarray((shrink[over] <= left) & (shrink[over] <= right))
