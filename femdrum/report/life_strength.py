"""The strength that a stored life was judged by, made anew from what is stored: rules of mean stress and the S-N curve."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..assess.life_result import VariantLife
from ..model.finish import Finish
from ..strength.base_metal import MetalStrength
from ..strength.mean_stress import mean_sensitivity
from ..strength.sn_curve import SNCurve
from ..strength.surface import skin_ultimate_MPa
from ..study import Results, StoredVariant

__all__ = ["equal_damage", "main_rule", "stored_strength"]

Array = NDArray[np.float64]


def main_rule(results: Results) -> str:
    """The rule of mean stress that was asked for."""
    return str(results.life["asked"]["rule"])


def stored_strength(results: Results, variant: StoredVariant, life: VariantLife) -> MetalStrength:
    """Strength at the worst place, at the stated survival."""
    material, finish = variant.inputs["material"], Finish(**results.life["asked"]["finish"])
    ultimate = float(material["ultimate_MPa"])
    limit = material.get("yield_MPa")
    curve = SNCurve(life.knee_amplitude_MPa, life.knee_cycles, life.slope, life.survival)
    skin = None
    if finish.hardness_HV is not None and not finish.dressed:
        hard = float(skin_ultimate_MPa(finish.hardness_HV))
        skin = hard if hard > ultimate else None
    return MetalStrength(
        curve, curve, float(mean_sensitivity(ultimate)), ultimate, None if limit is None else float(limit),
        finish.residual_stress_MPa, "none", 1, skin,
    )  # fmt: skip


def equal_damage(strength: MetalStrength, rule: str, mean_MPa: Array, reversed_MPa: float) -> Array:
    """Amplitude at each mean stress that does the damage of a fully reversed amplitude, by a rule; residual stress is left out.

    Found by halving: the equivalent amplitude grows with the amplitude.
    """
    bare = replace(strength, residual_stress_MPa=0.0)
    low, high = np.zeros_like(mean_MPa), np.full_like(mean_MPa, 20.0 * reversed_MPa)
    same: Callable[[Array], Array] = lambda a: bare.equivalent_amplitude(a, mean_MPa, rule)  # noqa: E731
    for _ in range(60):
        middle = 0.5 * (low + high)
        over = same(middle) > reversed_MPa
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return np.asarray(0.5 * (low + high))
