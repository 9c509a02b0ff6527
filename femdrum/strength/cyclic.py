"""Cyclic stress-strain curve of steel after Ramberg and Osgood, and its doubled branches (Masing).

MPa and strain (a plain ratio), tension positive. Curves are odd: compression answers as tension. Material constants
follow from the tensile strength: by the uniform material law, or by the strain-life guideline.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import MISSING
from ..figure import Figure
from ..model.check import Checks
from ..model.material import Material
from ..provenance import Provenance, common_practice
from .array_checks import array_of
from .mean_stress import ULTIMATE_WAY, UNIFORM_LAW
from .surface import GUIDELINE_NONLINEAR

__all__ = ["CyclicCurve", "guideline_curve", "solve_power_sum", "strength_of", "uniform_curve"]

Array = NDArray[np.float64]

DECLARED = common_practice("declared by the user")

# uniform material law, steel
UML_COEFFICIENT_RATIO = 1.65
UML_EXPONENT = 0.15

# strain-life guideline, steel
GUIDELINE_EXPONENT = 0.187
A_STRESS, B_STRESS = 3.1148, 0.897
A_STRAIN, B_STRAIN, MOST_STRAIN = 1033.0, -1.235, 0.338


def strength_of(material: Material) -> float:
    """The material's tensile strength, MPa. Raises InputFault where it has none."""
    if material.ultimate_MPa is None:
        checks = Checks()
        checks.add("material.ultimate_MPa", MISSING, "is missing; the cyclic constants follow from it", ULTIMATE_WAY)
        checks.done()
    return float(material.ultimate_MPa or 0.0)


def solve_power_sum(
    first: ArrayLike, power: float, second: ArrayLike, other_power: float, total: ArrayLike, steps: int = 100
) -> Array:
    """The x >= 0 at which first x^power + second x^other_power = total >= 0; powers >= 1, coefficients > 0.

    Newton's method from above, where either term alone makes up the total: the sum is convex and grows, so every step
    stays above the root and comes closer. Arrays broadcast. Solved to the last digits; no error is raised.
    """
    a, b, t = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in (first, second, total)))
    x = np.minimum((t / a) ** (1.0 / power), (t / b) ** (1.0 / other_power))
    live = x > 0.0
    for _ in range(steps):
        with np.errstate(divide="ignore", invalid="ignore", under="ignore"):
            high, low = a * x**power, b * x**other_power
            step = np.where(live, (high + low - t) * x / (power * high + other_power * low), 0.0)
        x = x - step
        live = live & (step > 4e-16 * x)
        if not live.any():
            break
    return np.asarray(x)


@dataclass(frozen=True)
class CyclicCurve:
    """Stabilised cyclic curve: strain = s/E + (s/K')^(1/n').

    youngs_modulus_MPa, coefficient_MPa K', exponent n'. provenance: of K' and n'.
    """

    youngs_modulus_MPa: float
    coefficient_MPa: float
    exponent: float
    provenance: Provenance = DECLARED

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("youngs_modulus_MPa", self.youngs_modulus_MPa, above=0.0, way_out="steel: 206000")
        checks.positive("coefficient_MPa", self.coefficient_MPa, "K' from cyclic tests, or uniform_curve(material)")
        checks.number("exponent", self.exponent, above=0.0, most=1.0, way_out="n' of steel: 0.15 to 0.19")
        checks.done()

    def strain(self, stress_MPa: ArrayLike) -> Array:
        """Strain on the curve, signed as the stress. Raises InputFault."""
        checks = Checks()
        s = array_of(checks, "stress_MPa", stress_MPa)
        checks.done()
        with np.errstate(under="ignore"):
            plastic = (np.abs(s) / self.coefficient_MPa) ** (1.0 / self.exponent)
        return np.asarray(s / self.youngs_modulus_MPa + np.sign(s) * plastic)

    def stress_MPa(self, strain: ArrayLike) -> Array:
        """Stress on the curve at a strain, MPa; the inverse of `strain`. Raises InputFault."""
        checks = Checks()
        e = array_of(checks, "strain", strain)
        checks.done()
        n = 1.0 / self.exponent
        # in units of K', so that no power overflows
        x = solve_power_sum(self.coefficient_MPa / self.youngs_modulus_MPa, 1.0, 1.0, n, np.abs(e))
        return np.asarray(np.sign(e) * self.coefficient_MPa * x)

    def strain_range(self, stress_range_MPa: ArrayLike) -> Array:
        """Strain range of a branch, from its stress range: the curve doubled (Masing). Raises InputFault."""
        return np.asarray(2.0 * self.strain(np.asarray(stress_range_MPa, dtype=np.float64) / 2.0))

    def stress_range_MPa(self, strain_range: ArrayLike) -> Array:
        """Stress range of a branch, from its strain range; the inverse of `strain_range`. Raises InputFault."""
        return np.asarray(2.0 * self.stress_MPa(np.asarray(strain_range, dtype=np.float64) / 2.0))

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure(
                "cyclic coefficient K'", self.coefficient_MPa, "MPa", "strain = s/E + (s/K')^(1/n')", self.provenance
            ),
            Figure("cyclic exponent n'", self.exponent, "-", "strain = s/E + (s/K')^(1/n')", self.provenance),
        )


def uniform_curve(material: Material) -> CyclicCurve:
    """Cyclic curve by the uniform material law: K' = 1.65 Rm, n' = 0.15. Raises InputFault without tensile strength."""
    coefficient = UML_COEFFICIENT_RATIO * strength_of(material)
    return CyclicCurve(material.youngs_modulus_MPa, coefficient, UML_EXPONENT, UNIFORM_LAW)


def guideline_curve(material: Material) -> CyclicCurve:
    """Cyclic curve by the strain-life guideline: K' = 3.1148 Rm^0.897 / min(0.338, 1033 Rm^-1.235)^0.187, n' = 0.187.

    Source: FKM guideline nonlinear. Raises InputFault without tensile strength.
    """
    rm = strength_of(material)
    limit = min(MOST_STRAIN, A_STRAIN * rm**B_STRAIN)
    coefficient = A_STRESS * rm**B_STRESS / limit**GUIDELINE_EXPONENT
    return CyclicCurve(material.youngs_modulus_MPa, coefficient, GUIDELINE_EXPONENT, GUIDELINE_NONLINEAR)
