"""How fast a crack grows: da/dN = A dK^m in one or two stages, threshold, and the units that get mixed up.

Inside: da/dN in mm a cycle, ranges of K in N/mm^1.5. 1 MPa sqrt(m) = sqrt(1000) = 31.62 N/mm^1.5, so a coefficient A
with m = 3 changes by 31.62^3 = 31,623 between the two; a law that was given in the other unit is off by that much.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, InputFault, nearest
from ..figure import Figure
from ..model.check import Checks
from ..provenance import Provenance, common_practice, memory, published, standard

__all__ = [
    "LAWS",
    "N_MM15_PER_MPA_SQRT_M",
    "GrowthLaw",
    "Stage",
    "THRESHOLD_N_mm15",
    "coefficient_N_mm",
    "growth_law",
    "own_law",
    "threshold_by_ratio_N_mm15",
    "to_MPa_sqrt_m",
    "to_N_mm15",
]

Array = NDArray[np.float64]

N_MM15_PER_MPA_SQRT_M = math.sqrt(1000.0)
THRESHOLD_N_mm15 = 63.0

# unit of a coefficient: (mm a cycle of its length unit, N/mm^1.5 of its unit of K)
UNITS = {
    "mm, N/mm^1.5": (1.0, 1.0),
    "mm, MPa sqrt(m)": (1.0, N_MM15_PER_MPA_SQRT_M),
    "m, MPa sqrt(m)": (1000.0, N_MM15_PER_MPA_SQRT_M),
    "in, kpsi sqrt(in)": (25.4, 6.894757293168361 * math.sqrt(25.4)),
}
# what a steel in air does at 20 MPa sqrt(m), mm a cycle, with a wide margin: a mixed unit lies far outside
PLAUSIBLE_AT_20 = (1e-6, 1e-2)

BS_SIMPLE = standard("BS 7910, simplified law for steel in air", "seen in secondary sources")
BS_THRESHOLD = standard("BS 7910, threshold 63 N/mm^1.5", "seen in secondary sources")
BS_MEAN = standard(
    "BS 7910:2013, two-stage law for steel in air, mean curve",
    "R < 0.5 seen in the documentation and tests of an open fatigue library; R >= 0.5 seen in the JCSS Probabilistic Model "
    "Code, Part 3, fatigue chapter",
)  # fmt: skip
BS_UPPER = memory("BS 7910, two-stage law for steel in air, mean + 2 SD; its transitions fit together, it was not seen")
BY_RATIO = memory("BS 7910, threshold by stress ratio: 170 - 214 R N/mm^1.5 from R = 0 to 0.5, 63 from there on")
SHIGLEY = published("Shigley's Mechanical Engineering Design, 9th ed., Table 6-1, ferritic-pearlitic steels")


def to_N_mm15(value_MPa_sqrt_m: ArrayLike) -> Array:
    """N/mm^1.5 of MPa sqrt(m)."""
    return np.asarray(value_MPa_sqrt_m, dtype=float) * N_MM15_PER_MPA_SQRT_M


def to_MPa_sqrt_m(value_N_mm15: ArrayLike) -> Array:
    """MPa sqrt(m) of N/mm^1.5."""
    return np.asarray(value_N_mm15, dtype=float) / N_MM15_PER_MPA_SQRT_M


def coefficient_N_mm(coefficient: float, exponent: float, unit: str) -> float:
    """The coefficient A in mm a cycle and N/mm^1.5 of one given in `unit`, a key of UNITS.

    >>> f"{coefficient_N_mm(6.89e-12, 3, 'm, MPa sqrt(m)'):.4g}"
    '2.179e-13'

    Raises InputFault.
    """
    checks = Checks()
    checks.positive("coefficient", coefficient)
    checks.number("exponent", exponent, least=1.0, most=15.0, way_out="steels have about 3, near the threshold up to 8")
    checks.one_of("unit", unit, UNITS)
    checks.done()
    length, k = UNITS[unit]
    return float(coefficient * length / k**exponent)


@dataclass(frozen=True)
class Stage:
    """da/dN = coefficient dK^exponent, mm a cycle, dK in N/mm^1.5."""

    coefficient: float
    exponent: float

    def rate(self, delta_k: Array) -> Array:
        """mm a cycle."""
        return np.asarray(self.coefficient * np.maximum(delta_k, 0.0) ** self.exponent)


def _transitions(stages: tuple[Stage, ...]) -> tuple[float, ...]:
    return tuple(
        (b.coefficient / a.coefficient) ** (1 / (a.exponent - b.exponent)) for a, b in itertools.pairwise(stages)
    )


@dataclass(frozen=True)
class GrowthLaw:
    """A law of growth: stages below and from a stress ratio of 0.5 on, and the threshold.

    The slowest stage holds, so that two stages meet without a step. Below the threshold nothing grows.
    """

    name: str
    low_ratio: tuple[Stage, ...]
    high_ratio: tuple[Stage, ...]
    threshold_N_mm15: float
    provenance: Provenance
    threshold_provenance: Provenance

    def rate(self, delta_k: ArrayLike, ratio: ArrayLike = 0.0) -> Array:
        """mm a cycle of a range of K in N/mm^1.5 at a stress ratio; shapes are broadcast."""
        dk, r = np.broadcast_arrays(np.asarray(delta_k, dtype=float), np.asarray(ratio, dtype=float))
        low = np.min([s.rate(dk) for s in self.low_ratio], axis=0)
        high = low if self.high_ratio == self.low_ratio else np.min([s.rate(dk) for s in self.high_ratio], axis=0)
        rate = np.where(r >= 0.5, high, low)
        return np.where(dk < self.threshold_N_mm15, 0.0, rate)

    @property
    def kinks_N_mm15(self) -> tuple[float, ...]:
        """Ranges of K at which the law steps or bends, ascending."""
        return tuple(sorted({self.threshold_N_mm15, *_transitions(self.low_ratio), *_transitions(self.high_ratio)}))

    def with_threshold(self, threshold_MPa_sqrt_m: float) -> GrowthLaw:
        """The same law with a threshold of the user's own. Raises InputFault."""
        checks = Checks()
        checks.number("threshold_MPa_sqrt_m", threshold_MPa_sqrt_m, least=0.0, most=20.0)
        checks.done()
        own = common_practice("declared by the user")
        threshold = threshold_MPa_sqrt_m * N_MM15_PER_MPA_SQRT_M
        return replace(self, threshold_N_mm15=threshold, threshold_provenance=own)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Constants for the table of derived numbers."""
        rows = []
        both = self.low_ratio == self.high_ratio
        for word, stages in (("", self.low_ratio), *(() if both else ((", R >= 0.5", self.high_ratio),))):
            where = word or ("" if both else ", R < 0.5")
            for i, s in enumerate(stages):
                stage = f", stage {'AB'[i]}" if len(stages) > 1 else ""
                formula = f"da/dN = A dK^{s.exponent:g}"
                rows.append(
                    Figure(
                        f"A of the growth law{stage}{where}", s.coefficient, "mm, N/mm^1.5", formula, self.provenance
                    )
                )
        threshold = float(to_MPa_sqrt_m(self.threshold_N_mm15))
        rows.append(
            Figure("threshold of the range of K", threshold, "MPa·√m", "no growth below", self.threshold_provenance)
        )
        return tuple(rows)


def _one(coefficient: float, exponent: float) -> tuple[Stage, ...]:
    return (Stage(coefficient, exponent),)


SIMPLE = _one(5.21e-13, 3.0)
LAWS = {
    "simplified": GrowthLaw("simplified", SIMPLE, SIMPLE, THRESHOLD_N_mm15, BS_SIMPLE, BS_THRESHOLD),
    "two-stage mean": GrowthLaw(
        "two-stage mean", (Stage(1.21e-26, 8.16), Stage(3.98e-13, 2.88)), (Stage(4.80e-18, 5.10), Stage(5.86e-13, 2.88)),
        THRESHOLD_N_mm15, BS_MEAN, BS_THRESHOLD,
    ),
    "two-stage upper": GrowthLaw(
        "two-stage upper", (Stage(4.37e-26, 8.16), Stage(6.77e-13, 2.88)), (Stage(2.10e-17, 5.10), Stage(1.29e-12, 2.88)),
        THRESHOLD_N_mm15, BS_UPPER, BS_THRESHOLD,
    ),
    "ferritic-pearlitic mean": GrowthLaw(
        "ferritic-pearlitic mean", *2 * (_one(coefficient_N_mm(6.89e-12, 3.0, "m, MPa sqrt(m)"), 3.0),),
        THRESHOLD_N_mm15, SHIGLEY, BS_THRESHOLD,
    ),
}  # fmt: skip


def growth_law(name: str, threshold_MPa_sqrt_m: float | None = None) -> GrowthLaw:
    """A law by name, with a threshold of the user's own if given. Raises InputFault."""
    if name not in LAWS:
        known = ", ".join(repr(n) for n in LAWS)
        raise InputFault(Fault("growth", name, f"must be one of {known}", nearest(name, LAWS)))
    law = LAWS[name]
    return law if threshold_MPa_sqrt_m is None else law.with_threshold(threshold_MPa_sqrt_m)


def own_law(
    *, coefficient: float, exponent: float, unit: str, threshold_MPa_sqrt_m: float, source: Provenance | None = None
) -> GrowthLaw:
    """A law of the user's own, the same at every stress ratio, its coefficient in `unit` (a key of UNITS).

    Raises InputFault, also where no steel in air grows like that: then the unit was mixed up.
    """
    a = coefficient_N_mm(coefficient, exponent, unit)
    low, high = PLAUSIBLE_AT_20
    at_20 = float(_one(a, exponent)[0].rate(to_N_mm15(20.0)))
    if not low <= at_20 <= high:
        allowed = f"gives {at_20:.2g} mm a cycle at 20 MPa sqrt(m), where steels in air lie from {low:g} to {high:g}"
        factor = N_MM15_PER_MPA_SQRT_M**exponent
        way_out = f"look at the unit: MPa sqrt(m) for N/mm^1.5 changes the coefficient by {factor:,.0f}"
        raise InputFault(Fault("coefficient", coefficient, allowed, way_out))
    source = source or common_practice("declared by the user")
    law = GrowthLaw("own", _one(a, exponent), _one(a, exponent), 0.0, source, source)
    return law.with_threshold(threshold_MPa_sqrt_m)


def threshold_by_ratio_N_mm15(ratio: ArrayLike) -> Array:
    """Threshold by stress ratio, N/mm^1.5: 170 below R = 0, 170 - 214 R up to 0.5, 63 from there on.

    From memory: the rule was not seen (BY_RATIO). The laws here use 63 throughout.
    """
    r = np.asarray(ratio, dtype=float)
    return np.asarray(np.where(r >= 0.5, THRESHOLD_N_mm15, np.maximum(170.0 - 214.0 * np.clip(r, 0.0, 0.5), 63.0)))
