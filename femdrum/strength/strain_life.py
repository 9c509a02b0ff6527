"""Life from strain: elastic and plastic part, mean stress after Morrow or Smith, Watson and Topper.

For the few, large cycles that stress lives do not cover. Strain is an amplitude (half the range), a plain ratio; lives
are cycles, not reversals; medians unless the constants say otherwise. MPa, tension positive.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure
from ..model.check import Checks
from ..model.material import Material
from ..provenance import Provenance, common_practice, computed
from .array_checks import array_of
from .cyclic import strength_of
from .mean_stress import COEFFICIENT_RATIO, UNIFORM_LAW
from .neuber import LocalCycle

__all__ = ["CORRECTIONS", "MEDIAN", "Correction", "StrainLife", "uniform_strain_life"]

Array = NDArray[np.float64]
Correction = Literal["morrow", "swt", "none"]
CORRECTIONS = ("morrow", "swt", "none")

MEDIAN = computed("strain-life constants describe the median; shift by the scatter of life for another survival")
DECLARED = common_practice("declared by the user")

STRENGTH_EXPONENT = -0.087
DUCTILITY_RATIO = 0.59
DUCTILITY_EXPONENT = -0.58
# beyond this tensile strength over E, ductility falls
STRAIN_LIMIT = 3e-3


@dataclass(frozen=True)
class StrainLife:
    """Constants of the strain-life curve: ea = sf'/E (2N)^b + ef' (2N)^c.

    strength_coefficient_MPa sf', strength_exponent b < 0, ductility_coefficient ef', ductility_exponent c < 0.
    """

    youngs_modulus_MPa: float
    strength_coefficient_MPa: float
    strength_exponent: float
    ductility_coefficient: float
    ductility_exponent: float
    provenance: Provenance = DECLARED

    def __post_init__(self) -> None:
        checks = Checks()
        for field in ("youngs_modulus_MPa", "strength_coefficient_MPa", "ductility_coefficient"):
            checks.positive(field, getattr(self, field), "from tests, or uniform_strain_life(material)")
        for field in ("strength_exponent", "ductility_exponent"):
            checks.number(field, getattr(self, field), least=-2.0, below=0.0, way_out="steel: about -0.09 and -0.6")
        checks.done()

    def strain_amplitude(self, cycles: ArrayLike) -> Array:
        """Strain amplitude at a life in cycles, no mean stress. Raises InputFault."""
        checks = Checks()
        n = array_of(checks, "cycles", cycles, above=0.0)
        checks.done()
        elastic = self.strength_coefficient_MPa / self.youngs_modulus_MPa * (2 * n) ** self.strength_exponent
        return np.asarray(elastic + self.ductility_coefficient * (2 * n) ** self.ductility_exponent)

    def life(self, strain_amplitude: ArrayLike, mean_MPa: ArrayLike = 0.0, correction: Correction = "morrow",
             *, upper_MPa: ArrayLike | None = None) -> Array:  # fmt: skip
        """Cycles at a strain amplitude and a local mean stress; infinite where nothing is strained.

        correction "morrow": sf' less the mean stress in the elastic part (no life where the mean reaches sf');
        "swt": upper stress times strain, for which upper_MPa, the local upper stress, must be given; infinite where it is
        not tensile; "none". Arrays broadcast. Raises InputFault.
        """
        checks = Checks()
        e = array_of(
            checks, "strain_amplitude", strain_amplitude, least=0.0, way_out="half the strain range, 0.01 for 1 %"
        )
        mean = array_of(checks, "mean_MPa", mean_MPa)
        checks.one_of("correction", correction, CORRECTIONS)
        top = np.zeros(())
        if correction == "swt":
            top = array_of(checks, "upper_MPa", upper_MPa, way_out="the local upper stress of the cycle")
        checks.done()
        sf, modulus = self.strength_coefficient_MPa, self.youngs_modulus_MPa
        b, c = self.strength_exponent, self.ductility_exponent
        if correction == "swt":
            e, top = np.broadcast_arrays(e, top)
            work = np.maximum(top, 0.0) * e
            return _solve(sf**2 / modulus, 2 * b, sf * self.ductility_coefficient, b + c, work)
        left = np.maximum(1.0 - (mean / sf if correction == "morrow" else 0.0 * mean), 0.0)
        e, left = np.broadcast_arrays(e, left)
        lives = _solve(np.where(left > 0.0, left, 1.0) * sf / modulus, b, self.ductility_coefficient, c, e)
        return np.asarray(np.where(left > 0.0, lives, 0.0))

    def life_of(self, cycle: LocalCycle, correction: Correction = "morrow") -> Array:
        """Cycles of a local hysteresis (see `neuber.local_cycle`), its mean or upper stress counted. Raises InputFault."""
        return self.life(cycle.strain_amplitude, cycle.mean_MPa, correction, upper_MPa=cycle.upper_MPa)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        formula = "ea = sf'/E (2N)^b + ef' (2N)^c"
        return (
            Figure("fatigue strength coefficient sf'", self.strength_coefficient_MPa, "MPa", formula, self.provenance),
            Figure("fatigue strength exponent b", self.strength_exponent, "-", formula, self.provenance),
            Figure("fatigue ductility coefficient ef'", self.ductility_coefficient, "-", formula, self.provenance),
            Figure("fatigue ductility exponent c", self.ductility_exponent, "-", formula, self.provenance),
        )


def _solve(first: ArrayLike, power: float, second: ArrayLike, other_power: float, total: Array) -> Array:
    """Cycles N with first (2N)^power + second (2N)^other = total; both powers negative; infinite where total is 0.

    Newton's method on ln(2N) from the longer of the lives that either term alone would give: the sum falls and is
    convex, so every step stays short of the root and comes closer.
    """
    a, d, t = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in (first, second, total)))
    alive = t > 0.0
    goal = np.where(alive, t, 1.0)
    ln_a, ln_d, ln_t = np.log(a), np.log(d), np.log(goal)
    x = np.maximum((ln_t - ln_a) / power, (ln_t - ln_d) / other_power)
    for _ in range(100):
        with np.errstate(under="ignore"):  # one term alone is all there is
            high, low = np.exp(ln_a - ln_t + power * x), np.exp(ln_d - ln_t + other_power * x)
        step = (high + low - 1.0) / -(power * high + other_power * low)
        x = x + step
        if np.all(np.abs(step) <= 1e-13 * np.maximum(np.abs(x), 1.0)):
            break
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(np.where(alive, 0.5 * np.exp(x), np.inf))


def uniform_strain_life(material: Material) -> StrainLife:
    """Strain-life constants of steel by the uniform material law, from the tensile strength.

    sf' = 1.5 Rm, b = -0.087, ef' = 0.59 psi, c = -0.58; psi = 1 up to Rm/E = 0.003, then 1.375 - 125 Rm/E.
    Raises InputFault without tensile strength, or where psi is used up (Rm/E = 0.011).
    """
    rm = strength_of(material)
    ratio = rm / material.youngs_modulus_MPa
    psi = 1.0 if ratio <= STRAIN_LIMIT else 1.375 - 125.0 * ratio
    checks = Checks()
    if psi <= 0.0:
        checks.add("material.ultimate_MPa", rm, "is beyond the uniform material law of steel", "give tested constants")
    checks.done()
    return StrainLife(
        material.youngs_modulus_MPa, COEFFICIENT_RATIO * rm, STRENGTH_EXPONENT,
        DUCTILITY_RATIO * psi, DUCTILITY_EXPONENT, UNIFORM_LAW,
    )  # fmt: skip
