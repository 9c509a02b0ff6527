"""Unbalance and tolerances between planes: shares of a vector, bearings, correction planes by the worst phase.

Places along the axis in mm from the drive end, vectors complex in g mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..model.check import Checks
from ..provenance import computed, standard

__all__ = [
    "LEAST_SHARE",
    "MOST_SHARE",
    "PlaneTolerances",
    "force_and_couple",
    "plane_tolerances",
    "shares",
    "split",
    "split_many",
]

Vectors = NDArray[np.complex128]

LEAST_SHARE, MOST_SHARE = 0.3, 0.7
LEVER = computed("balance of force and moment: U1 = U (z2 - z) / (z2 - z1)")
LIMITS = standard(
    "ISO 21940-11:2016, each bearing plane between 0.3 and 0.7 of the whole", "seen on one secondary page"
)
WORST = computed("bearing planes kept at any phase of the two residuals, the product of both allowances the largest")


def _two(checks: Checks, field: str, pair: Sequence[float]) -> bool:
    if len(pair) != 2:
        checks.add(field, tuple(pair), "must be two places along the axis in mm")
        return False
    good = all([checks.number(f"{field}[{i}]", z) for i, z in enumerate(pair, 1)])
    if good and not pair[0] < pair[1]:
        checks.add(field, tuple(pair), "must increase", "two planes apart, the one nearer the drive end first")
        return False
    return good


def shares(z_mm: float, planes_mm: Sequence[float]) -> tuple[float, float]:
    """Shares of two planes of an unbalance at z_mm; beyond them one is above 1, the other negative. Raises InputFault."""
    checks = Checks()
    checks.number("z_mm", z_mm)
    _two(checks, "planes_mm", planes_mm)
    checks.done()
    second = (z_mm - planes_mm[0]) / (planes_mm[1] - planes_mm[0])
    return 1 - second, second


def split(unbalance_g_mm: complex, z_mm: float, planes_mm: Sequence[float]) -> tuple[complex, complex]:
    """The two vectors that act as one unbalance at z_mm, in planes at planes_mm. Raises InputFault."""
    first, second = shares(z_mm, planes_mm)
    return unbalance_g_mm * first, unbalance_g_mm * second


def split_many(
    unbalance_g_mm: Sequence[complex] | Vectors, z_mm: Sequence[float] | NDArray[np.float64], planes_mm: Sequence[float]
) -> tuple[complex, complex]:
    """The two vectors that act as many: the sum of their shares. Raises InputFault."""
    checks = Checks()
    good = _two(checks, "planes_mm", planes_mm)
    vectors, places = np.asarray(unbalance_g_mm, complex), np.asarray(z_mm, float)
    if vectors.shape != places.shape or vectors.ndim != 1:
        checks.add("z_mm", places.shape, f"must be one place for each of {vectors.size} vectors")
    elif good and not (np.all(np.isfinite(vectors)) and np.all(np.isfinite(places))):
        checks.add("unbalance_g_mm", "not finite", "must be finite numbers", "weigh what is missing")
    checks.done()
    second = (places - planes_mm[0]) / (planes_mm[1] - planes_mm[0])
    return complex((vectors * (1 - second)).sum()), complex((vectors * second).sum())


def force_and_couple(
    vectors_g_mm: Sequence[complex], planes_mm: Sequence[float], about_mm: float
) -> tuple[complex, complex]:
    """Sum (g mm) and moment about about_mm (g mm^2) of two vectors in two planes. Raises InputFault."""
    checks = Checks()
    _two(checks, "planes_mm", planes_mm)
    checks.number("about_mm", about_mm)
    if len(vectors_g_mm) != 2:
        checks.add("vectors_g_mm", len(vectors_g_mm), "must be two, one for each plane")
    checks.done()
    one, two = vectors_g_mm
    return one + two, one * (planes_mm[0] - about_mm) + two * (planes_mm[1] - about_mm)


@dataclass(frozen=True)
class PlaneTolerances:
    """Permissible unbalance of the whole rotor, of its bearing planes and of its correction planes, g mm.

    limited: a bearing's share was cut to 0.3 or 0.7 of the whole. Each correction plane may use up its own allowance at
    any phase of the other.
    """

    whole_g_mm: float
    bearings_mm: tuple[float, float]
    bearings_g_mm: tuple[float, float]
    planes_mm: tuple[float, float]
    planes_g_mm: tuple[float, float]
    limited: bool

    def at_bearings(self, vectors_g_mm: Sequence[complex]) -> tuple[complex, complex]:
        """What vectors in the correction planes amount to in the bearing planes, with their true phases."""
        return split_many(np.asarray(vectors_g_mm, complex), np.array(self.planes_mm), self.bearings_mm)

    def bearing_share(self, vectors_g_mm: Sequence[complex]) -> float:
        """Worst share over both bearings, with true phases; never above the worst share of the planes."""
        both = zip(self.at_bearings(vectors_g_mm), self.bearings_g_mm, strict=True)
        return max(abs(u) / allowed for u, allowed in both)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        bearing = "U L_other / L" + (", cut to 0.3 and 0.7 U" if self.limited else "")
        return (
            *(Figure(f"permissible at bearing {name}", u, "g·mm", bearing, LIMITS)
              for name, u in zip("AB", self.bearings_g_mm, strict=True)),
            *(Figure(f"permissible in correction plane {n}", u, "g·mm", "worst phase of both planes", WORST)
              for n, u in enumerate(self.planes_g_mm, 1)),
        )  # fmt: skip


def plane_tolerances(
    whole_g_mm: float, *, bearings_mm: Sequence[float], cg_mm: float, planes_mm: Sequence[float]
) -> PlaneTolerances:
    """Permissible unbalance split to the bearings by the lever rule, then to the correction planes by the worst phase.

    whole_g_mm: of the rotor, by its grade. A bearing gets U L_other / L, at least 0.3 and at most 0.7 of U; the centre
    of gravity must lie between the bearings. Two residuals in the correction planes of any phase must keep both
    bearings: |a| P1 + |b| P2 <= U_bearing; of all such pairs the one with the largest product is taken, which is the
    bearing tolerances themselves where the planes are the bearing planes. Raises InputFault.
    """
    checks = Checks()
    checks.positive("whole_g_mm", whole_g_mm, "by grade, mass and speed")
    good = _two(checks, "bearings_mm", bearings_mm)
    _two(checks, "planes_mm", planes_mm)
    if good:
        way = "an overhung centre of gravity is not split by this rule"
        checks.number("cg_mm", cg_mm, least=bearings_mm[0], most=bearings_mm[1], way_out=way)
    checks.done()
    lever = np.array(shares(cg_mm, bearings_mm))
    kept = np.clip(lever, LEAST_SHARE, MOST_SHARE)
    allowed = whole_g_mm * kept
    # column: plane, row: bearing
    matrix = np.abs(np.array([shares(z, bearings_mm) for z in planes_mm])).T
    first, second = _largest_product(matrix, allowed)
    return PlaneTolerances(
        whole_g_mm, (bearings_mm[0], bearings_mm[1]), (float(allowed[0]), float(allowed[1])),
        (planes_mm[0], planes_mm[1]), (first, second), bool(np.any(lever != kept)),
    )  # fmt: skip


def _largest_product(matrix: NDArray[np.float64], allowed: NDArray[np.float64]) -> tuple[float, float]:
    """P1, P2 with matrix @ P <= allowed and the largest P1 P2: on one limit alone, or where both meet."""
    candidates = []
    for row, most in zip(matrix, allowed, strict=True):
        if np.all(row > 0):
            candidates.append(most / (2 * row))
    if abs(float(np.linalg.det(matrix))) > 1e-12:
        candidates.append(np.linalg.solve(matrix, allowed))
    good = [c for c in candidates if np.all(c > 0) and np.all(matrix @ c <= allowed * (1 + 1e-12))]
    best = max(good, key=lambda c: float(c[0] * c[1]))
    return float(best[0]), float(best[1])
