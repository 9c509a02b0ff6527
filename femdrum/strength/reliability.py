"""Scatter of life and how likely a failure is: one place, and the first of N equal places.

Lives are log-normal, their scatter is the standard deviation of log10 life. The first of N equal places is the weakest
link; where the strength already counts the area of all places (size.py), it must not be counted again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..model.check import Checks
from ..provenance import common_practice, computed
from .array_checks import array_of
from .sn_curve import normal_quantile
from .surface import GUIDELINE_NONLINEAR

__all__ = [
    "LOG_NORMAL",
    "SAFETY",
    "WEAKEST_LINK",
    "SystemProbability",
    "failure_probability",
    "failure_probability_of_index",
    "material_safety_factor",
    "reliability_index",
    "scatter_ratio",
    "survival_life_factor",
    "system_failure",
    "system_life_factor",
]

Array = NDArray[np.float64]

LOG_NORMAL = common_practice("life is log-normal")
WEAKEST_LINK = computed("first of N equal places: 1 - (1 - P)^N if they are independent, P if they fail alike")
SAFETY = GUIDELINE_NONLINEAR

LEAST_SAFETY = 1.1


def _normal_share(z: Array) -> Array:
    from scipy.special import ndtr

    return np.asarray(ndtr(z))


def _probability(checks: Checks, field: str, value: ArrayLike) -> Array:
    p = array_of(checks, field, value, least=0.0, way_out="a share between 0 and 1")
    if np.any(p > 1.0):
        checks.add(field, float(np.max(p)), "must be at most 1", "a share between 0 and 1, not per cent")
    return p


def reliability_index(probability: ArrayLike) -> Array:
    """Reliability index of a failure probability: -Phi^-1(P). Infinite at 0. Raises InputFault."""
    checks = Checks()
    p = _probability(checks, "probability", probability)
    checks.done()
    return np.asarray(-normal_quantile(p))


def failure_probability_of_index(index: ArrayLike) -> Array:
    """Failure probability of a reliability index: Phi(-beta). Raises InputFault."""
    checks = Checks()
    beta = array_of(checks, "index", index, finite=False)
    checks.done()
    return _normal_share(-beta)


def material_safety_factor(index: ArrayLike) -> Array:
    """The strain-life guideline's factor on the damage parameter: 10^((0.8 beta - 2) 0.08), at least 1.1.

    Source: FKM guideline nonlinear. Raises InputFault.
    """
    checks = Checks()
    beta = array_of(checks, "index", index)
    checks.done()
    return np.asarray(np.maximum(10.0 ** ((0.8 * beta - 2.0) * 0.08), LEAST_SAFETY))


def _scatter(checks: Checks, scatter: ArrayLike, above: float | None = None) -> Array:
    way = "standard deviation of log10 life, such as 0.2"
    return array_of(checks, "scatter", scatter, above=above, least=0.0, way_out=way)


def scatter_ratio(scatter: ArrayLike, share: float = 0.1) -> Array:
    """Life that `share` of the parts exceed over the life that `share` do not reach: 10^(2 z s); N10/N90 at 0.1."""
    checks = Checks()
    s = _scatter(checks, scatter)
    checks.number("share", share, above=0.0, below=0.5, way_out="0.1 for N10/N90")
    checks.done()
    return np.asarray(10.0 ** (-2.0 * normal_quantile(share) * s))


def survival_life_factor(scatter: ArrayLike, survival: ArrayLike, from_survival: ArrayLike = 0.5) -> Array:
    """Life at one survival over life at another: 10^(s (z_from - z)); 1/2.51 from 50 to 97.7 % at 0.2. Raises InputFault."""
    checks = Checks()
    s = _scatter(checks, scatter)
    to, start = _probability(checks, "survival", survival), _probability(checks, "from_survival", from_survival)
    for field, value in (("survival", to), ("from_survival", start)):
        if np.any((value <= 0.0) | (value >= 1.0)):
            checks.add(field, float(np.max(value)), "must lie between 0 and 1", "such as 0.5 or 0.975")
    checks.done()
    return np.asarray(10.0 ** (s * (normal_quantile(start) - normal_quantile(to))))


def failure_probability(cycles: ArrayLike, life: ArrayLike, scatter: ArrayLike, survival: float = 0.5) -> Array:
    """Probability of failure within `cycles` (or hours, like the life): Phi(-(log10(life/cycles)/s + z)).

    life: at the stated survival, the median unless said. 0 for an infinite life. Raises InputFault.
    """
    checks = Checks()
    n = array_of(checks, "cycles", cycles, least=0.0, finite=False)
    at = array_of(checks, "life", life, least=0.0, finite=False)
    s = _scatter(checks, scatter, above=0.0)
    checks.number("survival", survival, above=0.0, below=1.0, way_out="such as 0.5 or 0.975")
    checks.done()
    n, at = np.broadcast_arrays(n, at)
    with np.errstate(divide="ignore", invalid="ignore"):
        z = (np.log10(at) - np.log10(n)) / s + normal_quantile(survival)
    # nothing has run, or the life has no end: no failure; no life at all: certain
    z = np.where((n == 0.0) | np.isinf(at), np.inf, np.where(at == 0.0, -np.inf, z))
    return _normal_share(-z)


@dataclass(frozen=True)
class SystemProbability:
    """Probability that any of N equal places fails.

    lower: all fail together. independent: 1 - (1 - P)^N, the value to use. upper: N P, whatever the dependence (at most 1).
    """

    independent: Array
    lower: Array
    upper: Array
    places: int


def system_failure(probability: ArrayLike, places: int, *, size: str = "places") -> SystemProbability:
    """Probability that any of N equal places fails, with its bounds.

    size: how the strength counts the places (`MetalStrength.size`). "area" has them all in the strength, so N must be 1.
    Raises InputFault.
    """
    checks = Checks()
    p = _probability(checks, "probability", probability)
    checks.whole("places", places, 1, 1_000_000, "how many equal places the drum has")
    checks.one_of("size", size, ("area", "places", "none"))
    if not checks.faults and size == "area" and places > 1:
        checks.add(
            "places", places, "must be 1: the strength already counts the stressed area of all equal places",
            'give places = 1, or the strength with size = "places"',
        )  # fmt: skip
    checks.done()
    with np.errstate(divide="ignore"):  # log(0) where failure is certain
        independent = -np.expm1(places * np.log1p(-p))
    return SystemProbability(np.asarray(independent), p, np.minimum(places * p, 1.0), places)


def system_life_factor(places: int, scatter: ArrayLike, survival: float = 0.5) -> Array:
    """Life of the first of N independent equal places over the life of one, at the same survival; log-normal.

    192 places at 0.2: 0.29 of the median. Raises InputFault.
    """
    checks = Checks()
    s = _scatter(checks, scatter)
    checks.whole("places", places, 1, 1_000_000, "how many equal places the drum has")
    checks.number("survival", survival, above=0.0, below=1.0, way_out="such as 0.5 or 0.975")
    checks.done()
    # all N survive with `survival` if each one does with its N-th root; by the small probability, for its digits
    each = -np.expm1(np.log(survival) / places)
    return np.asarray(10.0 ** (s * (normal_quantile(each) - normal_quantile(1.0 - survival))))
