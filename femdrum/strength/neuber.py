"""Local stress and strain of a notch that yields, after Neuber, and the residual stress that an overload leaves.

An elastic peak is what the field gives by linear elasticity. Stress times strain stays what it would be elastically;
unloading runs along the doubled curve. Elements at the edge are taken to be in uniaxial stress. Tension positive.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..model.check import Checks
from ..provenance import published, standard
from .array_checks import array_of
from .cyclic import CyclicCurve, solve_power_sum

__all__ = [
    "LIMIT_LOAD",
    "NEUBER_RULE",
    "LocalCycle",
    "NotchState",
    "local_cycle",
    "notch_range",
    "notch_state",
    "residual_after_overload",
]

Array = NDArray[np.float64]

NEUBER_RULE = published(
    "H. Neuber, 1961: stress times strain of the notch as if elastic; doubled curve for unloading (G. Masing, 1926)",
    "textbook forms; the originals were not open",
)
LIMIT_LOAD = standard(
    "FKM guideline nonlinear, edition 2019, sec. 2.5.7: Neuber's rule extended by the plastic limit load",
    "equation seen in an open fatigue library that cites it",
)


@dataclass(frozen=True)
class NotchState:
    """Stress (MPa) and strain of the notch."""

    stress_MPa: Array
    strain: Array


def _local(load: Array, curve: CyclicCurve, limit_factor: float | None) -> Array:
    """Stress on the curve for elastic peaks >= 0. In units of K': c s^2 + s^(1/n + 1) = product, c = K'/E."""
    k, n = curve.coefficient_MPa, 1.0 / curve.exponent
    c = k / curve.youngs_modulus_MPa
    x = load / k
    with np.errstate(under="ignore"):
        if limit_factor is None:
            product = c * x**2
        else:  # L K_p e*, e* the strain of the nominal stress L / K_p
            nominal = x / limit_factor
            product = x * limit_factor * (c * nominal + nominal**n)
    return np.asarray(k * solve_power_sum(c, 2.0, 1.0, n + 1.0, product))


def _checked(field: str, value: ArrayLike, limit_factor: float | None, least: float | None = None) -> Array:
    checks = Checks()
    load = array_of(checks, field, value, least=least)
    if limit_factor is not None:
        checks.number(
            "limit_factor", limit_factor, least=1.0, way_out="load at plastic collapse over load at first yield"
        )
    checks.done()
    return load


def notch_state(elastic_peak_MPa: ArrayLike, curve: CyclicCurve, limit_factor: float | None = None) -> NotchState:
    """Stress and strain of a notch at an elastic peak (signed), loaded from nothing along the cyclic curve.

    limit_factor: load at plastic collapse over load at first yield (K_p), at least 1; with it the strain of the whole
    section counts too and the notch strains more. Raises InputFault.
    """
    load = _checked("elastic_peak_MPa", elastic_peak_MPa, limit_factor)
    stress = np.sign(load) * _local(np.abs(load), curve, limit_factor)
    return NotchState(np.asarray(stress), curve.strain(stress))


def notch_range(elastic_range_MPa: ArrayLike, curve: CyclicCurve, limit_factor: float | None = None) -> NotchState:
    """Stress range and strain range of a branch, from the range of the elastic peak: both curves doubled. Raises InputFault."""
    load = _checked("elastic_range_MPa", elastic_range_MPa, limit_factor, 0.0)
    stress = 2.0 * _local(load / 2.0, curve, limit_factor)
    return NotchState(np.asarray(stress), curve.strain_range(stress))


def residual_after_overload(
    elastic_peak_MPa: ArrayLike, curve: CyclicCurve, limit_factor: float | None = None
) -> Array:
    """Residual stress that one overload leaves at the notch once it is gone, MPa; signed against the overload.

    Loading along the cyclic curve, unloading along the doubled branch, Neuber's rule for both. A tensile overload leaves
    compression; without yielding nothing stays. It stands as mean stress in later, smaller cycles. Raises InputFault.
    """
    top = notch_state(elastic_peak_MPa, curve, limit_factor).stress_MPa
    back = notch_range(np.abs(np.asarray(elastic_peak_MPa, dtype=np.float64)), curve, limit_factor).stress_MPa
    return np.asarray(top - np.sign(top) * back)


@dataclass(frozen=True)
class LocalCycle:
    """One closed hysteresis at the notch: upper and lower stress (MPa), and amplitude of strain."""

    upper_MPa: Array
    lower_MPa: Array
    strain_amplitude: Array

    @property
    def stress_amplitude_MPa(self) -> Array:
        """Half the stress range, MPa."""
        return np.asarray((self.upper_MPa - self.lower_MPa) / 2.0)

    @property
    def mean_MPa(self) -> Array:
        """Mean stress, MPa."""
        return np.asarray((self.upper_MPa + self.lower_MPa) / 2.0)


def local_cycle(
    upper_MPa: ArrayLike,
    lower_MPa: ArrayLike,
    curve: CyclicCurve,
    *,
    overload_MPa: ArrayLike = 0.0,
    limit_factor: float | None = None,
) -> LocalCycle:
    """Hysteresis of a cycle between two elastic peaks, in the state that the largest load so far has left.

    upper_MPa >= lower_MPa and overload_MPa: elastic peaks, signed; arrays broadcast. The largest magnitude of the three
    lies on the cyclic curve; from there one doubled branch leads to the far end of the cycle, another one to its near
    end (material memory). So an overload's residual stress is carried into the cycle. Raises InputFault.
    """
    checks = Checks()
    upper = array_of(checks, "upper_MPa", upper_MPa)
    lower = array_of(checks, "lower_MPa", lower_MPa)
    over = array_of(checks, "overload_MPa", overload_MPa, way_out="elastic peak of the overload, signed; 0 for none")
    checks.done()
    upper, lower, over = np.broadcast_arrays(upper, lower, over)
    if np.any(upper < lower):
        checks.add("upper_MPa", float(upper[upper < lower].flat[0]), "must not be below lower_MPa", "swap the two")
        checks.done()
    own = np.where(np.abs(upper) >= np.abs(lower), upper, lower)
    start = np.where(np.abs(over) > np.abs(own), over, own)
    # from a start above, first down to the lower end; from one below, first up to the upper end
    down = start >= upper
    first = np.where(down, start - lower, upper - start)
    at_start = notch_state(start, curve, limit_factor).stress_MPa
    leg = notch_range(first, curve, limit_factor).stress_MPa
    loop = notch_range(upper - lower, curve, limit_factor)
    low = np.where(down, at_start - leg, at_start + leg - loop.stress_MPa)
    high = np.where(down, low + loop.stress_MPa, at_start + leg)
    return LocalCycle(np.asarray(high), np.asarray(low), np.asarray(loop.strain / 2.0))
