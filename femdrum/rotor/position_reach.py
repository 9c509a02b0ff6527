"""What the positions of one plane can reach, stated before the run, and whether the plates are fine enough.

Vectors in g mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..model.balance_input import MassPositions
from ..model.check import Checks
from ..provenance import common_practice, computed
from .position_search import axes_of, plate_limit, sums_of

__all__ = ["COARSE_SHARE", "Reach", "reach"]

Array = NDArray[np.float64]
Vectors = NDArray[np.complex128]

# the plates are fine enough if the residual that 95 of 100 unbalances leave is below this share of the permissible
COARSE_SHARE = 0.3
RULE = common_practice("P95 of the residual below 0.3 of the permissible unbalance of the plane")

# steps of the search between two bends
THIRDS = 40


@dataclass(frozen=True)
class Reach:
    """What the positions of one plane can do, whatever the unbalance turns out to be.

    median, p95: of the residual over random unbalances, in units of q r. used: so many positions carry plates at most.
    largest_g_mm: unbalance up to which neighbouring positions have a remedy in every direction, were plates of any
    mass. coarse: the rule P95 q r < 0.3 of the permissible is broken. up_to: radius of the random unbalances, in units
    of q r.
    """

    median: float
    p95: float
    used: int
    quantum_g_mm: float
    permissible_g_mm: float
    largest_g_mm: float
    up_to: float
    samples: int
    complete: bool

    @property
    def p95_g_mm(self) -> float:
        """Residual that 95 of 100 unbalances stay below."""
        return self.p95 * self.quantum_g_mm

    @property
    def coarse(self) -> bool:
        """True if the plates are too coarse for the permissible unbalance."""
        return not self.p95_g_mm < COARSE_SHARE * self.permissible_g_mm

    @property
    def finest_plate_share(self) -> float:
        """Share of the plate's mass at which the rule would just be kept, by proportion."""
        return COARSE_SHARE * self.permissible_g_mm / self.p95_g_mm if self.p95_g_mm else math.inf

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know before the run."""
        if not self.coarse:
            return ()
        share = 100 * self.p95_g_mm / self.permissible_g_mm
        return (
            f"Plates too coarse: 95 of 100 unbalances leave up to {self.p95_g_mm:.0f} g·mm, {share:.0f} % of the "
            f"permissible {self.permissible_g_mm:.0f} g·mm of this plane (rule: below {100 * COARSE_SHARE:.0f} %). "
            f"Way out: plates of {100 * self.finest_plate_share:.0f} % of this mass or less, or more positions.",
        )

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        how = f"{self.samples} random unbalances up to {self.up_to:g} q r, best of all sums on {self.used} positions"
        source = computed(how if self.complete else how + "; more positions would come nearer still")
        q = self.quantum_g_mm
        return (
            Figure("one plate, q r", q, "g·mm", "plate mass times radius", computed("product")),
            Figure("residual the positions leave, median", self.median * q, "g·mm", f"{self.median:.2f} q r", source),
            Figure("residual the positions leave, P95", self.p95_g_mm, "g·mm", f"{self.p95:.2f} q r", source),
            Figure("allowed by the rule for plates", COARSE_SHARE * self.permissible_g_mm, "g·mm", "0.3 U", RULE),
            Figure("largest unbalance within reach", self.largest_g_mm, "g·mm", "least over all directions",
                   computed("neighbouring positions, plates of any mass up to the full stacks")),
        )  # fmt: skip


def reach(
    positions: MassPositions, permissible_g_mm: float, *,
    most_used: int | None = None, up_to: float = 4.0, samples: int = 400, seed: int = 1,
) -> Reach:  # fmt: skip
    """Residual that the positions of one plane leave over random unbalances, none of which is known yet.

    Unbalances come from all directions, their magnitudes evenly from 0 to up_to q r, or as far as the sums reach
    along every direction if that is less. most_used: as in the positions unless given; cut to what can be enumerated, then the true residual
    is lower still. Raises InputFault.
    """
    from scipy.spatial import cKDTree

    checks = Checks()
    checks.positive("permissible_g_mm", permissible_g_mm, "of this correction plane")
    checks.positive("up_to", up_to, "radius of the random unbalances in units of q r")
    checks.whole("samples", samples, 20, 1_000_000)
    checks.whole("seed", seed, 0, 2**31 - 1)
    if most_used is not None:
        checks.whole("most_used", most_used, 1, 1000)
    checks.done()
    wanted = positions.most_used if most_used is None else most_used
    axes, q = axes_of(positions), positions.quantum_g_mm
    most = plate_limit(positions)
    sums = sums_of(axes, most_used=wanted, most_plates=most)
    largest = _largest(positions, wanted)
    radius = min(up_to, _span(sums.vectors / q))
    rng = np.random.default_rng(seed)
    targets = radius * rng.random(samples) * np.exp(2j * np.pi * rng.random(samples))
    tree = cKDTree(np.column_stack([sums.vectors.real, sums.vectors.imag]) / q)
    gaps, _ = tree.query(np.column_stack([targets.real, targets.imag]))
    median, p95 = np.quantile(gaps, [0.5, 0.95])
    return Reach(
        float(median), float(p95), sums.used, q, permissible_g_mm, largest, radius, samples, sums.complete
    )  # fmt: skip


def _span(sums: Vectors) -> float:
    """How far the sums reach along the direction along which they reach least; inf where they lie on one line."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        hull = ConvexHull(np.column_stack([sums.real, sums.imag]))
    except QhullError:
        return math.inf
    reached = float(-hull.equations[:, -1].max())
    return reached if reached > 1e-9 else math.inf


def _largest(positions: MassPositions, most_used: int | None) -> float:
    """Least over all directions of what neighbouring positions can cancel there, were plates of any mass, g mm."""
    free = np.array([a for i, a in enumerate(positions.angles_deg, 1) if i not in positions.blocked])
    order = np.sort(free % 360.0)
    between = order + 0.5 * ((np.roll(order, -1) - order) % 360.0)
    limit = plate_limit(positions)
    least = math.inf
    for direction in np.concatenate([order, between, np.arange(0.0, 360.0, 3.0)]):
        away = np.sort((free - direction + 180.0) % 360.0 - 180.0)
        away = np.radians(away)
        used = len(away) if most_used is None else min(most_used, len(away))
        groups = [away[first : first + used] for first in range(len(away) - used + 1)] if used else []
        pull = max((_pull(group, positions.most_plates, limit) for group in groups), default=0.0)
        least = min(least, pull)
    return least * positions.quantum_g_mm


def _pull(away: Array, stack: int, limit: int | None) -> float:
    """Most plates' worth that positions at angles `away` (rad) from a direction cancel there and nothing across it.

    By duality: the least over m of the sum of stack max(0, cos - m sin); with a limit of plates only the largest terms.
    That is convex in m, and bends where a term begins.
    """
    along, across = np.cos(away), np.sin(away)
    plates = np.full(len(away), float(stack))
    if limit is not None:
        plates = np.clip(limit - stack * np.arange(len(away)), 0.0, stack)

    def total(slopes: Array) -> Array:
        terms = -np.sort(-np.clip(along - slopes[:, None] * across, 0.0, None), axis=1)
        return np.asarray(terms @ plates)

    bends = np.sort(np.append(along[np.abs(across) > 1e-12] / across[np.abs(across) > 1e-12], 0.0))
    values = total(bends)
    best = int(np.argmin(values))
    low, high = bends[max(best - 1, 0)], bends[min(best + 1, len(bends) - 1)]
    for _ in range(THIRDS if limit is not None else 0):
        third = (high - low) / 3
        left, right = total(np.array([low + third, high - third]))
        low, high = (low, high - third) if left <= right else (low + third, high)
    return float(min(values[best], total(np.array([0.5 * (low + high)]))[0]))
