"""Strength of base metal at a slot's edge: synthetic S-N curves with surface, support and size, and lives by five rules.

The strength at the knee is 0.45 Rm, times roughness, size and support; it holds for the local stress of the field, so
no notch factor enters. Residual stress counts as mean stress. Amplitudes are halves of ranges, tension is positive.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import MISSING
from ..figure import Figure
from ..model.check import Checks
from ..model.finish import Finish
from ..model.material import Material
from ..provenance import memory, standard
from .array_checks import array_of
from .mean_stress import (
    GUIDELINE,
    RULES,
    SHEAR_RATIO,
    ULTIMATE_WAY,
    Stress,
    equivalent_amplitude,
    mean_sensitivity,
    residual_left_MPa,
)
from .metal_words import figures_of, notes_of, warnings_of
from .miner import damage
from .size import size_factor
from .sn_curve import KNEE_CYCLES, LIFE_SCATTER, SLOPES, SNCurve
from .support import support_factor
from .surface import roughness_factor, skin_ultimate_MPa

__all__ = [
    "EDGE_CLASS",
    "EDGE_SURVIVAL",
    "REVERSED_RATIO",
    "RULES",
    "STRENGTH_RATIO",
    "STRENGTH_SURVIVAL",
    "MetalStrength",
    "Spread",
    "edge_class_curve",
    "metal_strength",
    "spread",
]

Array = NDArray[np.float64]

# fully reversed strength of steel over tensile strength, and the share of parts it holds for
STRENGTH_RATIO = 0.45
STRENGTH_SURVIVAL = 0.975
REVERSED_RATIO = GUIDELINE
EDGE_CLASS = standard("EN 1993-1-9:2005, sec. 7.1: slope 3 to 5e6 cycles, then 5", "seen in two open codes")
EDGE_SURVIVAL = memory("classes of EN 1993-1-9 hold for 95 % survival")
SIZES = ("area", "places", "none")


@dataclass(frozen=True)
class MetalStrength:
    """What the metal at one place, or at an array of places, bears.

    curve, shear: S-N curves in normal and shear stress, amplitudes at R = -1. mean_sensitivity: M of the base metal.
    skin_ultimate_MPa: of a hardened skin whose hardness is known; it raises M, and nothing else. residual_stress_MPa
    joins the mean stress, as far as yield lets it stand. size: "area" (all equal places are in the strength), "places"
    (one place is; N enter by reliability.system_failure) or "none". figures, notes, warnings: for people.
    """

    curve: SNCurve
    shear: SNCurve
    mean_sensitivity: float
    ultimate_MPa: float
    yield_MPa: float | None
    residual_stress_MPa: float
    size: str
    equal_places: int
    skin_ultimate_MPa: float | None = None
    figures: tuple[Figure, ...] = ()
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def system_places(self) -> int:
        """How many equal places still have to enter the probability: 1 where the strength has them all."""
        return self.equal_places if self.size == "places" else 1

    def mean_with_residual(self, amplitude_MPa: ArrayLike, mean_MPa: ArrayLike) -> Array:
        """Mean stress with the residual stress that the cycle leaves standing, MPa."""
        mean = np.asarray(mean_MPa, dtype=np.float64)
        if not self.residual_stress_MPa:
            return mean
        if self.yield_MPa is None:
            return mean + self.residual_stress_MPa
        return mean + residual_left_MPa(self.residual_stress_MPa, amplitude_MPa, mean, self.yield_MPa)

    def equivalent_amplitude(
        self, amplitude_MPa: ArrayLike, mean_MPa: ArrayLike, rule: str = "fkm", stress: Stress = "normal"
    ) -> Array:
        """Fully reversed amplitude of equal damage, MPa; residual stress is added to the mean here. Raises InputFault.

        A hardened skin is more sensitive to mean stress: with the main rule the worse of skin and base metal counts.
        A residual stress along the edge has no part in a mean shear stress.
        """
        mean = self.mean_with_residual(amplitude_MPa, mean_MPa) if stress == "normal" else np.asarray(mean_MPa)
        worst = equivalent_amplitude(rule, amplitude_MPa, mean, ultimate_MPa=self.ultimate_MPa, stress=stress)
        if rule == "fkm" and self.skin_ultimate_MPa is not None:
            skin = equivalent_amplitude(rule, amplitude_MPa, mean, ultimate_MPa=self.skin_ultimate_MPa, stress=stress)
            worst = np.maximum(worst, skin)
        return worst

    def life(
        self,
        amplitude_MPa: ArrayLike,
        mean_MPa: ArrayLike,
        rule: str = "fkm",
        beyond: str = "haibach",
        stress: Stress = "normal",
    ) -> Array:
        """Cycles that an amplitude at a mean stress is borne; arrays broadcast, places last. Raises InputFault."""
        curve = self.curve if stress == "normal" else self.shear
        return curve.life(self.equivalent_amplitude(amplitude_MPa, mean_MPa, rule, stress), beyond)

    def damage(
        self,
        amplitude_MPa: ArrayLike,
        mean_MPa: ArrayLike,
        counts: ArrayLike,
        rule: str = "fkm",
        beyond: str = "haibach",
        stress: Stress = "normal",
    ) -> Array:
        """Linear damage sum over the first axis of cycles [cycle, ...places]. Raises InputFault."""
        return damage(counts, self.life(amplitude_MPa, mean_MPa, rule, beyond, stress))

    def at_survival(self, survival: float) -> MetalStrength:
        """The same strength for another share of survivors: lives shift by their scatter. Raises InputFault."""
        return replace(self, curve=self.curve.at_survival(survival), shear=self.shear.at_survival(survival))


def metal_strength(
    material: Material,
    finish: Finish,
    *,
    gradient_per_mm: ArrayLike,
    stressed_area_mm2: float,
    equal_places: int,
    size: str = "area",
    survival: float = STRENGTH_SURVIVAL,
) -> MetalStrength:
    """Strength of the metal at a cut edge, at one place or at an array of places.

    gradient_per_mm: |ds/dn| / s at the edge, per place; about 2/r. stressed_area_mm2: edge above 90 % of the peak at one
    place. equal_places: how many equal ones the drum has (24 bars, 2 slots each, 4 corners: 192). size: "area" counts
    the area of all of them in the strength; "places" that of one, and N places enter by reliability.system_failure;
    "none" neither. Both at once would count the weakest link twice and cannot be asked for.
    Raises InputFault, also for a material without tensile strength.
    """
    checks = Checks()
    if material.ultimate_MPa is None:
        checks.add("material.ultimate_MPa", MISSING, "is missing; the strength follows from it", ULTIMATE_WAY)
    gradient = array_of(checks, "gradient_per_mm", gradient_per_mm, least=0.0, way_out="about 2/r; without sign")
    checks.one_of("size", size, SIZES, 'one weakest link: "area" of all equal places, or "places" in the probability')
    if size != "none":
        checks.positive("stressed_area_mm2", stressed_area_mm2, "edge area above 90 % of the peak at one place")
    checks.whole("equal_places", equal_places, 1, 1_000_000, "how many equal corners the drum has")
    checks.number("survival", survival, above=0.0, below=1.0, way_out="0.975 is the guideline's; 0.5 the median")
    checks.done()
    ultimate = float(material.ultimate_MPa or 0.0)

    n_st = 1.0
    if size != "none":
        n_st = float(size_factor(stressed_area_mm2, equal_places if size == "area" else 1))
    n_bm = support_factor(gradient, ultimate, size=n_st)
    rough = float(roughness_factor(ultimate, finish.rz_um))
    rough_shear = float(roughness_factor(ultimate, finish.rz_um, "shear"))
    reversed_MPa = STRENGTH_RATIO * ultimate

    def curve(at_knee: Array, slope: float) -> SNCurve:
        amplitude = at_knee if at_knee.ndim else float(at_knee)
        return SNCurve(amplitude, KNEE_CYCLES, slope, STRENGTH_SURVIVAL, LIFE_SCATTER).at_survival(survival)

    normal = curve(np.asarray(reversed_MPa * rough * n_st * n_bm), SLOPES["normal"])
    shear = curve(np.asarray(SHEAR_RATIO * reversed_MPa * rough_shear * n_st * n_bm), SLOPES["shear"])
    skin = (
        float(skin_ultimate_MPa(finish.hardness_HV)) if finish.hardness_HV is not None and not finish.dressed else None
    )
    strength = MetalStrength(
        normal, shear, float(mean_sensitivity(ultimate)), ultimate, material.yield_MPa, finish.residual_stress_MPa,
        size, equal_places, skin if skin is not None and skin > ultimate else None,
    )  # fmt: skip
    factors = {"reversed": reversed_MPa, "rough": rough, "rough_shear": rough_shear, "size": n_st}
    parts = (strength, material, finish, gradient, n_bm, factors, stressed_area_mm2)
    return replace(
        strength, figures=figures_of(*parts), notes=notes_of(*parts), warnings=warnings_of(strength, finish, n_st)
    )


@dataclass(frozen=True)
class Spread:
    """One list of cycles by all rules, the main rule first: equivalent amplitudes (MPa) and lives, [rule, ...cycles]."""

    rules: tuple[str, ...]
    equivalent_MPa: Array
    lives: Array

    def damage(self, counts: ArrayLike) -> Array:
        """Damage sum by each rule, [rule, ...places]; counts as in `miner.damage`. Raises InputFault."""
        return np.stack([damage(counts, life) for life in self.lives])


def spread(
    strength: MetalStrength,
    amplitude_MPa: ArrayLike,
    mean_MPa: ArrayLike,
    *,
    beyond: str = "haibach",
    rules: Sequence[str] = RULES,
) -> Spread:
    """Equivalent amplitudes and lives of the same cycles by every rule, main rule first. Raises InputFault."""
    amplitude, mean = np.broadcast_arrays(np.asarray(amplitude_MPa, np.float64), np.asarray(mean_MPa, np.float64))
    same = np.stack([strength.equivalent_amplitude(amplitude, mean, rule) for rule in rules])
    return Spread(tuple(rules), same, strength.curve.life(same, beyond))


def edge_class_curve(finish: Finish) -> SNCurve | None:
    """S-N line of a straight plate edge by its class, as amplitude, for comparison; None where no table names the edge.

    Class at 2e6 cycles, slope 3 to 5e6, then 5: life(..., "haibach") goes on with just that slope. The stress range
    counts, no mean stress. Survival 95 % and the scatter are from memory. The codes give straight edges only.
    """
    edge = finish.edge_class
    if edge is None:
        return None
    return SNCurve(0.5 * edge.range_MPa * (2e6 / 5e6) ** (1 / 3), 5e6, 3.0, 0.95, LIFE_SCATTER)
