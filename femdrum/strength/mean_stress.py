"""Mean stress: the fully reversed amplitude (R = -1) that does the same damage, by five rules.

MPa, tension positive. An amplitude is half a range. The main rule is the piecewise one of the guideline; the others
stand beside it as a spread, for they differ by more than the scatter of a good test.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import MISSING
from ..model.check import Checks
from ..provenance import Provenance, computed, published, standard
from .array_checks import array_of

__all__ = [
    "COEFFICIENT_RATIO",
    "FORMULAS",
    "GUIDELINE",
    "MEAN_STRESS",
    "RULES",
    "SHEAR_RATIO",
    "ULTIMATE_WAY",
    "UNIFORM_LAW",
    "Stress",
    "equivalent_amplitude",
    "mean_factor",
    "mean_sensitivity",
    "residual_left_MPa",
]

Array = NDArray[np.float64]
Stress = Literal["normal", "shear"]

RULES = ("fkm", "goodman", "gerber", "swt", "morrow")

GUIDELINE = standard(
    "FKM guideline, Analytical Strength Assessment, edition 2012",
    "constants and reference numbers seen in the tests of an open fatigue library that cites it",
)
DEFINITION = computed("definition of the rule")
MEAN_STRESS: dict[str, Provenance] = {
    "fkm": GUIDELINE,
    "goodman": DEFINITION,
    "gerber": DEFINITION,
    "swt": DEFINITION,
    "morrow": DEFINITION,
}
FORMULAS = {
    "fkm": "sa / K, K = 1/(1 + M sm/sa) up to R = 0, (1 + M/3)/((1 + M)(1 + (M/3) sm/sa)) up to R = 0.5, constant beyond",
    "goodman": "sa / (1 - sm/Rm), compression not credited",
    "gerber": "sa / (1 - (sm/Rm)²), compression not credited",
    "swt": "sqrt(smax sa), 0 where smax <= 0",
    "morrow": "sa / (1 - sm/sf')",
}

# steel, after the guideline
SENSITIVITY_PER_MPA = 0.35e-3
SENSITIVITY_AT_ZERO = -0.10
# fully reversed strength in shear over that in normal stress; the guideline scales M by it too
SHEAR_RATIO = 0.577

# uniform material law for steel: fatigue strength coefficient over tensile strength
COEFFICIENT_RATIO = 1.5
UNIFORM_LAW = published(
    "A. Bäumel, T. Seeger, Materials Data for Cyclic Loading, Supplement 1, 1990: uniform material law, steel",
    "constants seen in Metals 2025, 15(7), 780",
)


def mean_sensitivity(ultimate_MPa: ArrayLike, stress: Stress = "normal") -> Array:
    """Mean-stress sensitivity M of steel: 0.35e-3 Rm - 0.1, in shear 0.577 times that; never below 0.

    Below Rm = 286 MPa the formula would make a tensile mean stress helpful; there M is 0.
    Source: FKM guideline. Raises InputFault.
    """
    checks = Checks()
    ultimate = _ultimate(checks, ultimate_MPa)
    checks.one_of("stress", stress, ("normal", "shear"))
    checks.done()
    m = np.maximum(SENSITIVITY_PER_MPA * ultimate + SENSITIVITY_AT_ZERO, 0.0)
    return np.asarray(m * (SHEAR_RATIO if stress == "shear" else 1.0))


def mean_factor(sensitivity: ArrayLike, mean_over_amplitude: ArrayLike) -> Array:
    """Factor K on the fully reversed amplitude that is left at a mean stress (the guideline's K_AK).

    mean_over_amplitude: sm/sa = (1 + R)/(1 - R). R > 1 (below -1): 1/(1 - M); up to R = 0 (1): 1/(1 + M sm/sa); up to
    R = 0.5 (3): (1 + M/3)/((1 + M)(1 + (M/3) sm/sa)); beyond: (3 + M)/(3 (1 + M)^2). Continuous; 1 at no mean stress.
    Infinite ratios are allowed. Source: FKM guideline. Raises InputFault unless 0 <= M < 1.
    """
    checks = Checks()
    m = array_of(checks, "sensitivity", sensitivity, least=0.0)
    ratio = array_of(checks, "mean_over_amplitude", mean_over_amplitude, finite=False)
    if np.any(m >= 1.0):
        checks.add(
            "sensitivity", float(np.max(m)), "must be below 1", "structural and tempered steels have 0.05 to 0.4"
        )
    checks.done()
    return _factor(m, ratio)


def _factor(m: Array, ratio: Array) -> Array:
    # beyond R > 1 and R > 0.5 the factor keeps the value at the border
    x = np.clip(ratio, -1.0, 3.0)
    low = 1.0 / (1.0 + m * np.minimum(x, 1.0))
    high = (1.0 + m / 3) / ((1.0 + m) * (1.0 + m / 3 * x))
    return np.asarray(np.where(x <= 1.0, low, high))


def equivalent_amplitude(
    rule: str,
    amplitude_MPa: ArrayLike,
    mean_MPa: ArrayLike,
    *,
    ultimate_MPa: ArrayLike | None,
    fatigue_strength_coefficient_MPa: ArrayLike | None = None,
    stress: Stress = "normal",
) -> Array:
    """Fully reversed amplitude (R = -1) that does the damage of an amplitude at a mean stress, MPa.

    rule: one of RULES. Amplitudes, means and strengths may be arrays that broadcast. Goodman and Gerber give no credit
    for compression; SWT is 0 where the upper stress is not tensile; every rule is infinite where the mean stress
    reaches the tensile strength, Morrow's where it reaches sf' (1.5 Rm unless given, from the uniform material law).
    stress="shear" uses the sensitivity in shear with the main rule and refuses the others, which are for normal stress.
    Raises InputFault for an unknown rule or a strength that the rule needs and that is not given.
    """
    checks = Checks()
    checks.one_of("rule", rule, RULES)
    checks.one_of("stress", stress, ("normal", "shear"))
    if stress == "shear" and rule != "fkm":
        checks.add("rule", rule, "must be 'fkm' for shear stress", "the other rules are for normal stress")
    a = array_of(checks, "amplitude_MPa", amplitude_MPa, least=0.0, way_out="an amplitude is half the range")
    mean = array_of(checks, "mean_MPa", mean_MPa)
    ultimate = None
    if ultimate_MPa is not None:
        ultimate = _ultimate(checks, ultimate_MPa)
    elif rule in ("fkm", "goodman", "gerber"):
        _need_ultimate(checks, rule)
    coefficient = None
    if fatigue_strength_coefficient_MPa is not None:
        coefficient = array_of(
            checks, "fatigue_strength_coefficient_MPa", fatigue_strength_coefficient_MPa, above=0.0, way_out=COEFFICIENT_WAY
        )  # fmt: skip
    elif rule == "morrow":
        if ultimate is None:
            checks.add(
                "fatigue_strength_coefficient_MPa", MISSING, "is missing; rule 'morrow' needs it", COEFFICIENT_WAY
            )
        else:
            coefficient = COEFFICIENT_RATIO * ultimate
    checks.done()
    return _equivalent(rule, a, mean, ultimate, coefficient, stress)


COEFFICIENT_WAY = "give ultimate_MPa, of which 1.5 times is taken, or the coefficient from strain-life tests"


def _ultimate(checks: Checks, value: ArrayLike) -> Array:
    return array_of(checks, "ultimate_MPa", value, above=0.0, way_out=ULTIMATE_WAY)


ULTIMATE_WAY = "give ultimate_MPa, or a grade with its thickness"


def _need_ultimate(checks: Checks, rule: str) -> None:
    checks.add(
        "ultimate_MPa", MISSING, f"is missing; mean-stress rule {rule!r} needs the tensile strength", ULTIMATE_WAY
    )


def _equivalent(
    rule: str, a: Array, mean: Array, ultimate: Array | None, coefficient: Array | None, stress: Stress
) -> Array:
    # 0/0, tiny amplitudes and strengths that are reached are answered below, not warned of
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        if rule == "fkm":
            assert ultimate is not None
            m = np.minimum(mean_sensitivity(ultimate, stress), 0.999)
            ratio = np.where(a > 0.0, mean / np.where(a > 0.0, a, 1.0), 0.0)
            out = a / _factor(m, ratio)
        elif rule == "swt":
            out = np.sqrt(np.maximum(mean + a, 0.0)) * np.sqrt(a)
        elif rule == "morrow":
            assert coefficient is not None
            out = _over(a, 1.0 - mean / coefficient)
        else:
            assert ultimate is not None
            share = np.maximum(mean, 0.0) / ultimate
            out = _over(a, 1.0 - (share if rule == "goodman" else share**2))
    if ultimate is not None:
        out = np.where(np.broadcast_to(mean >= ultimate, np.shape(out)), np.inf, out)
    return np.asarray(out)


def _over(a: Array, left: Array) -> Array:
    """a / left, infinite where nothing is left."""
    return np.where(left > 0.0, a / np.where(left > 0.0, left, 1.0), np.inf)


def residual_left_MPa(
    residual_MPa: ArrayLike, amplitude_MPa: ArrayLike, mean_MPa: ArrayLike, yield_MPa: ArrayLike
) -> Array:
    """Residual stress that a cycle leaves standing, MPa: stress and residual together do not pass yield.

    Tension: what fits between the upper stress and +Re; compression: what fits between the lower stress and -Re. The
    load's own stress is not cut. Every cycle is taken by itself, from the full residual stress. Common practice,
    no source (elastic, ideally plastic). Raises InputFault.
    """
    checks = Checks()
    residual = array_of(checks, "residual_MPa", residual_MPa)
    a = array_of(checks, "amplitude_MPa", amplitude_MPa, least=0.0)
    mean = array_of(checks, "mean_MPa", mean_MPa)
    limit = array_of(checks, "yield_MPa", yield_MPa, above=0.0, way_out="give yield_MPa, or a grade with its thickness")
    checks.done()
    up = np.clip(limit - (mean + a), 0.0, np.maximum(residual, 0.0))
    down = np.clip(limit + (mean - a), 0.0, np.maximum(-residual, 0.0))
    return np.asarray(np.where(residual >= 0.0, up, -down))
