"""The strain-life guideline's damage parameter P_RAM and its curve: a second opinion beside the uniform material law.

P = sqrt((sa + k sm) ea E) in MPa; sa, sm local stress, ea local strain amplitude. The curve falls in two slopes from
the point at 1e3 cycles to an endurance value.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure
from ..model.check import Checks
from ..model.material import Material
from ..provenance import Provenance, standard
from .array_checks import array_of
from .cyclic import strength_of
from .mean_stress import ULTIMATE_WAY, mean_sensitivity
from .neuber import LocalCycle
from .surface import GUIDELINE_NONLINEAR

__all__ = ["SLOPES", "DamageCurve", "damage_curve", "damage_parameter_MPa"]

Array = NDArray[np.float64]

SLOPES = standard(
    "FKM guideline nonlinear, edition 2019, tables of the P_RAM curve of steel",
    "constants seen in an open fatigue library that cites it",
)

# steel: value at 1e3 cycles, endurance value, exponents before and after 1e3 cycles; 2.5 % failure over median
AT_THOUSAND, AT_THOUSAND_POWER = 20.0, 0.587
ENDURANCE, ENDURANCE_POWER = 0.82, 0.92
FIRST_SLOPE, SECOND_SLOPE = -0.302, -0.197
SURVIVAL_FACTOR = 0.71
CORNER_CYCLES = 1e3
CURVE_WAY = "damage_curve(material) makes it from the tensile strength"


def damage_parameter_MPa(
    stress_amplitude_MPa: ArrayLike,
    mean_MPa: ArrayLike,
    strain_amplitude: ArrayLike,
    *,
    youngs_modulus_MPa: float,
    ultimate_MPa: float,
) -> Array:
    """P_RAM of a local hysteresis, MPa: sqrt((sa + k sm) ea E); 0 where compression outweighs the amplitude.

    k = M (M + 2) for a tensile mean stress, with M/3 in place of M for a compressive one. Elastic and fully reversed it
    is the stress amplitude. Source: FKM guideline nonlinear. Raises InputFault.
    """
    checks = Checks()
    a = array_of(checks, "stress_amplitude_MPa", stress_amplitude_MPa, least=0.0, way_out="half the stress range")
    mean = array_of(checks, "mean_MPa", mean_MPa)
    e = array_of(checks, "strain_amplitude", strain_amplitude, least=0.0, way_out="half the strain range, 0.01 for 1 %")
    checks.positive("youngs_modulus_MPa", youngs_modulus_MPa, "steel: 206000")
    checks.positive("ultimate_MPa", ultimate_MPa, ULTIMATE_WAY)
    checks.done()
    m = float(mean_sensitivity(ultimate_MPa))
    k = np.where(mean >= 0.0, m * (m + 2.0), m / 3 * (m / 3 + 2.0))
    return np.asarray(np.sqrt(np.maximum(a + k * mean, 0.0) * e * youngs_modulus_MPa))


@dataclass(frozen=True)
class DamageCurve:
    """P_RAM against cycles: at_thousand_MPa at 1e3 cycles, endurance_MPa below which nothing is damaged.

    survival: 0.975, or 0.5 for the median.
    """

    at_thousand_MPa: float
    endurance_MPa: float
    first_slope: float = FIRST_SLOPE
    second_slope: float = SECOND_SLOPE
    survival: float = 0.975
    provenance: Provenance = GUIDELINE_NONLINEAR

    def __post_init__(self) -> None:
        checks = Checks()
        checks.positive("endurance_MPa", self.endurance_MPa, CURVE_WAY)
        top = checks.positive("at_thousand_MPa", self.at_thousand_MPa, CURVE_WAY)
        if top and not self.at_thousand_MPa > self.endurance_MPa:
            checks.add("at_thousand_MPa", self.at_thousand_MPa, "must be above endurance_MPa", CURVE_WAY)
        for field in ("first_slope", "second_slope"):
            checks.number(field, getattr(self, field), least=-1.0, below=0.0, way_out="steel: -0.302 and -0.197")
        checks.done()

    @property
    def knee_cycles(self) -> float:
        """Cycles at the endurance value."""
        return float(CORNER_CYCLES * (self.endurance_MPa / self.at_thousand_MPa) ** (1.0 / self.second_slope))

    def life(self, parameter_MPa: ArrayLike, *, endless: bool = True) -> Array:
        """Cycles at a damage parameter. endless: infinite at and below the endurance value; else the line goes on.

        Raises InputFault.
        """
        checks = Checks()
        p = array_of(checks, "parameter_MPa", parameter_MPa, least=0.0)
        checks.done()
        ratio = p / self.at_thousand_MPa
        exponent = np.where(ratio > 1.0, 1.0 / self.first_slope, 1.0 / self.second_slope)
        with np.errstate(divide="ignore", over="ignore"):
            n = CORNER_CYCLES * ratio**exponent
        return np.asarray(np.where(endless & (p <= self.endurance_MPa), np.inf, n))

    def life_of(
        self, cycle: LocalCycle, *, youngs_modulus_MPa: float, ultimate_MPa: float, endless: bool = True
    ) -> Array:
        """Cycles of a local hysteresis (see `neuber.local_cycle`). Raises InputFault."""
        p = damage_parameter_MPa(
            cycle.stress_amplitude_MPa, cycle.mean_MPa, cycle.strain_amplitude,
            youngs_modulus_MPa=youngs_modulus_MPa, ultimate_MPa=ultimate_MPa,
        )  # fmt: skip
        return self.life(p, endless=endless)

    def scaled(self, factor: float, *, endurance_factor: float = 1.0) -> DamageCurve:
        """The curve of a part: both points times `factor`, the endurance value also times `endurance_factor`.

        factor: size, support and roughness (surface.roughness_factor_nonlinear) over the material safety factor, as the
        guideline has it. endurance_factor: roughness put here instead leaves the point at 1e3 cycles alone, as the
        guideline's later extension has it; the second slope then turns so that the knee keeps its cycles. Raises InputFault.
        """
        checks = Checks()
        checks.positive("factor", factor, "size and support over the safety factor")
        checks.number("endurance_factor", endurance_factor, above=0.0, most=1.0, way_out="roughness factor")
        checks.done()
        top, end = self.at_thousand_MPa * factor, self.endurance_MPa * factor * endurance_factor
        slope = float(np.log(end / top) / np.log(self.knee_cycles / CORNER_CYCLES))
        return replace(self, at_thousand_MPa=top, endurance_MPa=end, second_slope=slope)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure("damage parameter at 1e3 cycles", self.at_thousand_MPa, "MPa", "20 Rm^0.587 · f", self.provenance),
            Figure("damage parameter, endurance", self.endurance_MPa, "MPa", "0.82 Rm^0.92 · f", self.provenance),
            Figure("exponent up to 1e3 cycles", self.first_slope, "-", "P ~ N^d", SLOPES),
            Figure("exponent beyond", self.second_slope, "-", "P ~ N^d", SLOPES),
        )


def damage_curve(material: Material, *, median: bool = False) -> DamageCurve:
    """The material's P_RAM curve from its tensile strength, at 97.5 % survival, or the median.

    Source: FKM guideline nonlinear. Raises InputFault without tensile strength.
    """
    rm = strength_of(material)
    f = 1.0 if median else SURVIVAL_FACTOR
    return DamageCurve(
        f * AT_THOUSAND * rm**AT_THOUSAND_POWER, f * ENDURANCE * rm**ENDURANCE_POWER, survival=0.5 if median else 0.975
    )
