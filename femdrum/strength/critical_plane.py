"""Stress that changes its direction: the plane on which it does most harm, at many places at once.

A history is an array [step, place, 6] of stresses in MPa, tension positive, in the order xx, yy, zz, xy, yz, zx, one state of
equilibrium after the other. On each plane the shear stress runs along a path; its amplitude is the radius of the smallest
circle around it. Planes are searched over the half sphere, from cells of 10 degrees down to the top by Newton's method
(`plane_search.py`), so results do not depend on the axes: less than 1e-9 of their value.

Where several planes are equally bad, one of them is named. The order of steps does not matter: these are amplitudes of the
whole history, not counted cycles. Memory: the history, and about 100 MB beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure, stated
from ..model.check import Checks
from ..provenance import Provenance, computed, memory
from .history import history_of, signed_von_mises, von_mises_range
from .plane_measure import Measure
from .plane_search import search

__all__ = [
    "FATEMI_SOCIE",
    "FINDLEY",
    "SWT_PLANE",
    "NormalPlane",
    "PlaneResult",
    "StrainPlane",
    "fatemi_socie",
    "findley",
    "findley_k",
    "findley_ratio",
    "normal_plane",
    "signed_von_mises",
    "swt_plane",
    "von_mises_range",
]

Array = NDArray[np.float64]

FINDLEY = memory("Findley's criterion: largest over the planes of shear amplitude + k x largest normal stress")
FATEMI_SOCIE = memory("Fatemi and Socie: largest over the planes of shear strain amplitude x (1 + k normal / yield)")
SWT_PLANE = memory("Smith, Watson and Topper on planes: largest of normal stress x amplitude of normal strain")
NORMAL = computed("largest over the planes of the amplitude of the normal stress")
RATIO = computed("Findley's criterion for bending and torsion, both fully reversed")


@stated("fatigue limit in bending over that in torsion, both fully reversed", "-", "2 / (1 + k / sqrt(1 + k²))", RATIO)
def findley_ratio(k: float) -> float:
    """Ratio of fatigue limits, bending over torsion, both fully reversed, that Findley's k stands for.

    k = 0: 2. Raises InputFault for k below zero.
    """
    checks = Checks()
    checks.number(
        "k", k, least=0.0, way_out="about 0.3 for ductile steels; findley_k reckons it from two fatigue limits"
    )
    checks.done()
    return 2.0 / (1.0 + k / math.hypot(1.0, k))


@stated("Findley's k", "-", "s / sqrt(1 - s²), s = 2 / ratio - 1", RATIO)
def findley_k(ratio: float) -> float:
    """Findley's k from the ratio of fatigue limits, bending over torsion, both fully reversed: sqrt(3) gives 0.157.

    Raises InputFault for ratios that are not above 1 or are above 2.
    """
    checks = Checks()
    way = "fatigue limit in bending over that in torsion, both fully reversed: 1.55 to 1.73 for ductile steels"
    checks.number("ratio", ratio, above=1.0, most=2.0, way_out=way)
    checks.done()
    s = 2.0 / ratio - 1.0
    return s / math.sqrt((1.0 - s) * (1.0 + s))


# the plane with the largest normal stress
MOST = Measure(
    shear=False,
    value=lambda a, m: m,
    slopes=lambda a, m: (np.zeros_like(a), np.ones_like(a), np.zeros_like(a)),
    amplitude_for=lambda value, m: np.where(m >= value, -np.inf, np.inf),
)


def _figures(what: str, values: Array, unit: str, formula: str, provenance: Provenance) -> tuple[Figure, ...]:
    return (Figure(f"largest {what} of {len(values)} places", float(values.max()), unit, formula, provenance),)


@dataclass(frozen=True)
class PlaneResult:
    """Findley's parameter of each place, MPa, and its plane.

    normal [place, 3]: unit normal. shear_amplitude_MPa, normal_most_MPa: on that plane. k: as given.
    """

    parameter_MPa: Array
    normal: Array
    shear_amplitude_MPa: Array
    normal_most_MPa: Array
    k: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        what = f"Findley parameter (k = {self.k:g})"
        return _figures(what, self.parameter_MPa, "MPa", "max over planes of tau_a + k sigma_max", FINDLEY)


@dataclass(frozen=True)
class NormalPlane:
    """Largest amplitude of the normal stress of each place, MPa, with its mean on the same plane; normal [place, 3]."""

    amplitude_MPa: Array
    mean_MPa: Array
    normal: Array

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        what, formula = "amplitude of normal stress", "max over planes of (sigma_max - sigma_min) / 2"
        return _figures(what, self.amplitude_MPa, "MPa", formula, NORMAL)


@dataclass(frozen=True)
class StrainPlane:
    """A strain parameter of each place and its plane; the parameter's unit is in `unit`.

    strain_amplitude [-]: of the shear strain (engineering, gamma) or the normal strain, as the criterion says.
    normal_most_MPa: largest normal stress on that plane. normal [place, 3]: unit normal.
    """

    parameter: Array
    unit: str
    normal: Array
    strain_amplitude: Array
    normal_most_MPa: Array
    formula: str
    provenance: Provenance

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return _figures("parameter", self.parameter, self.unit, self.formula, self.provenance)


def findley(history_MPa: ArrayLike, k: float) -> PlaneResult:
    """Findley's parameter: the largest over all planes of shear amplitude + k x largest normal stress, at each place.

    history_MPa [step, place, 6]: see the module. k: `findley_k` of two fatigue limits, about 0.3 for ductile steels.
    Raises InputFault for k below zero, arrays of another shape, fewer than two steps, NaN.
    """
    checks = Checks()
    checks.number(
        "k", k, least=0.0, way_out="findley_k reckons it from two fatigue limits; about 0.3 for ductile steels"
    )
    history = history_of(checks, history_MPa)
    found = search(
        history,
        Measure(
            shear=True,
            value=lambda a, m: a + k * m,
            slopes=lambda a, m: (np.ones_like(a), np.full_like(a, k), np.zeros_like(a)),
            amplitude_for=lambda value, m: value - k * m,
        ),
    )
    return PlaneResult(found.value, found.normal, found.amplitude, found.most, float(k))


def normal_plane(history_MPa: ArrayLike) -> NormalPlane:
    """The plane on which the normal stress has the largest amplitude, at each place; its amplitude and mean.

    history_MPa [step, place, 6]: see the module. Raises InputFault: shape, fewer than two steps, NaN.
    """
    history = history_of(Checks(), history_MPa)
    found = search(
        history,
        Measure(
            shear=False,
            value=lambda a, m: a,
            slopes=lambda a, m: (np.ones_like(a), np.zeros_like(a), np.zeros_like(a)),
            amplitude_for=lambda value, m: value,
        ),
    )
    return NormalPlane(found.amplitude, 0.5 * (found.most + found.least), found.normal)


def fatemi_socie(
    history_MPa: ArrayLike, k: float, *, yield_MPa: float, youngs_modulus_MPa: float, poissons_ratio: float
) -> StrainPlane:
    """Fatemi and Socie's parameter [-]: largest over the planes of gamma_a (1 + k sigma_max / yield), elastic strains.

    gamma_a = tau_a / G; compression on the plane earns no credit. k about 0.3 to 1. The criterion is recalled, not
    confirmed. history_MPa [step, place, 6]: see the module. Raises InputFault.
    """
    checks = Checks()
    checks.number("k", k, least=0.0, way_out="about 0.3 to 1 for steels, from memory")
    checks.positive("yield_MPa", yield_MPa)
    _elastic(checks, youngs_modulus_MPa, poissons_ratio)
    history = history_of(checks, history_MPa)
    shear_modulus = youngs_modulus_MPa / (2.0 * (1.0 + poissons_ratio))
    share = k / yield_MPa

    def weight(m: Array) -> Array:
        return (1.0 + share * np.maximum(m, 0.0)) / shear_modulus

    def slopes(a: Array, m: Array) -> tuple[Array, Array, Array]:
        both = np.where(m > 0.0, share / shear_modulus, 0.0)
        return weight(m), a * both, both

    measure = Measure(
        shear=True,
        value=lambda a, m: a * weight(m),
        slopes=slopes,
        amplitude_for=lambda value, m: value / weight(m),
    )
    found = search(history, measure)
    formula = "max over planes of tau_a / G (1 + k sigma_max / Re)"
    strain = found.amplitude / shear_modulus
    return StrainPlane(found.value, "-", found.normal, strain, found.most, formula, FATEMI_SOCIE)


def swt_plane(history_MPa: ArrayLike, *, youngs_modulus_MPa: float, poissons_ratio: float) -> StrainPlane:
    """Smith, Watson and Topper's parameter on planes, MPa: largest of sigma_max x amplitude of normal strain, elastic.

    For cracks that open by tension; zero where no plane is pulled. The criterion is recalled, not confirmed.
    history_MPa [step, place, 6]: see the module. Raises InputFault.
    """
    checks = Checks()
    _elastic(checks, youngs_modulus_MPa, poissons_ratio)
    history = history_of(checks, history_MPa)
    # normal strains from normal stresses, tensor shear strains from shear stresses
    compliance = np.diag(np.full(6, (1.0 + poissons_ratio) / youngs_modulus_MPa))
    compliance[:3, :3] -= poissons_ratio / youngs_modulus_MPa

    def slopes(a: Array, m: Array) -> tuple[Array, Array, Array]:
        pulled = np.where(m > 0.0, 1.0, 0.0)
        return pulled * m, pulled * a, pulled

    def amplitude_for(value: Array, m: Array) -> Array:
        most = np.where(m > 0.0, m, 1.0)
        return np.where(m > 0.0, value / most, np.where(value > 0.0, np.inf, -np.inf))

    measure = Measure(
        shear=False,
        value=lambda a, m: a * np.maximum(m, 0.0),
        slopes=slopes,
        amplitude_for=amplitude_for,
        other=compliance,
    )
    # few planes may be pulled where the mean is compression: begin from the one that is pulled most
    found = search(history, measure, search(history, MOST).normal)
    formula = "max over planes of sigma_max epsilon_a"
    return StrainPlane(found.value, "MPa", found.normal, found.amplitude, found.most, formula, SWT_PLANE)


def _elastic(checks: Checks, youngs_modulus_MPa: float, poissons_ratio: float) -> None:
    checks.positive("youngs_modulus_MPa", youngs_modulus_MPa)
    checks.number("poissons_ratio", poissons_ratio, above=-1.0, most=0.5)
