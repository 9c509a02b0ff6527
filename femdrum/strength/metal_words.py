"""What people read of a metal strength: every factor with formula and provenance, notes, warnings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..model.finish import Finish
from ..model.material import Material
from ..provenance import Provenance, common_practice, computed
from .mean_stress import COEFFICIENT_RATIO, GUIDELINE, MEAN_STRESS, UNIFORM_LAW, mean_sensitivity
from .size import SIZE
from .sn_curve import BEYOND, SCATTER, SHAPE
from .support import NEUBER, PETERSON, SUPPORT, neuber_sensitivity, peterson_sensitivity
from .surface import HARD_SKIN, HARD_SKIN_HV, HARDNESS, MARIN, ROUGHNESS, marin_factor, skin_ultimate_MPa

if TYPE_CHECKING:
    from .base_metal import MetalStrength

__all__ = ["figures_of", "notes_of", "warnings_of"]

Array = NDArray[np.float64]

DECLARED = common_practice("declared by the user")
PRODUCT = computed("product of the factors above")
# common practice, no source: a hot cut on steel stronger than this hardens and cracks easily
STRONG_MPA = 1000.0


def figures_of(
    strength: MetalStrength,
    material: Material,
    finish: Finish,
    gradient: Array,
    n_bm: Array,
    factors: Mapping[str, float],
    area_mm2: float,
) -> tuple[Figure, ...]:
    """All factors of the strength; where places differ, the least and the largest value."""
    rm = strength.ultimate_MPa
    made = [
        Figure("tensile strength", rm, "MPa", "minimum of the grade, or declared", material.provenance or DECLARED),
        Figure("fully reversed strength, polished", factors["reversed"], "MPa", "0.45 Rm, 97.5 % survival", GUIDELINE),
        Figure("roughness of the edge", finish.rz_um, "µm", "Rz", finish.rz_provenance),
        Figure("roughness factor", factors["rough"], "-", "1 - 0.22 log10(Rz) log10(2 Rm / 400)", ROUGHNESS),
        Figure(
            "roughness factor, shear",
            factors["rough_shear"],
            "-",
            "1 - 0.577 · 0.22 log10(Rz) log10(2 Rm / 400)",
            ROUGHNESS,
        ),
    ]
    if strength.size == "none":
        made.append(Figure("size factor", 1.0, "-", "not counted", DECLARED))
    else:
        counted = strength.equal_places if strength.size == "area" else 1
        made += [
            Figure("equal places", strength.equal_places, "-", "equal corners of the drum", DECLARED),
            Figure("stressed edge of one place", area_mm2, "mm²", "area above 90 % of the peak, from the field", DECLARED),
            Figure(f"size factor, {counted} place{'s' * (counted > 1)} in the area", factors["size"], "-", "(500 / (N A))^(1/30)", SIZE),
        ]  # fmt: skip
    formula = "max(1, (5 + √G) / (5 n_st + Rm/680 √((7.5 + √G) / (1 + 0.2 √G))))"
    made += _ends("stress gradient at the edge", gradient, "1/mm", "|ds/dn| / s", computed("from the field"))
    made += _ends("support factor", n_bm, "-", formula, SUPPORT)
    made += [
        *_ends("strength at the knee", np.asarray(strength.curve.amplitude_MPa), "MPa", "amplitude, R = -1", PRODUCT),
        *_ends("strength at the knee, shear", np.asarray(strength.shear.amplitude_MPa), "MPa", "amplitude, R = -1; 0.577 · 0.45 Rm", PRODUCT),
        Figure("knee", strength.curve.knee_cycles, "cycles", "1e6 at 97.5 % survival", SHAPE),
        Figure("slope", strength.curve.slope, "-", "N ~ amplitude^-k", SHAPE),
        Figure("slope, shear", strength.shear.slope, "-", "N ~ amplitude^-k", SHAPE),
        Figure("slope beyond the knee", 2 * strength.curve.slope - 1, "-", "2k - 1 (Haibach), and k (elementary)", BEYOND),
        Figure("scatter of life", strength.curve.scatter, "-", "standard deviation of log10 life", SCATTER),
        Figure("survival", 100 * strength.curve.survival, "%", "life shifted by its scatter from 97.5 %", SCATTER),
        Figure("mean-stress sensitivity", strength.mean_sensitivity, "-", "0.35e-3 Rm - 0.1", MEAN_STRESS["fkm"]),
        Figure("fatigue strength coefficient (rule 'morrow')", COEFFICIENT_RATIO * rm, "MPa", "1.5 Rm", UNIFORM_LAW),
        Figure("residual stress of the edge", strength.residual_stress_MPa, "MPa", "joins the mean stress", DECLARED),
    ]  # fmt: skip
    if finish.hardness_HV is not None:
        skin = float(skin_ultimate_MPa(finish.hardness_HV))
        made += [
            Figure("strength of the skin", skin, "MPa", "3.2 HV", HARDNESS),
            Figure("usual limit of an edge's hardness", HARD_SKIN_HV, "HV", "warned of above", HARD_SKIN),
        ]
    if strength.skin_ultimate_MPa is not None:
        m = float(mean_sensitivity(strength.skin_ultimate_MPa))
        made.append(Figure("mean-stress sensitivity of the skin", m, "-", "0.35e-3 Rm - 0.1", MEAN_STRESS["fkm"]))
    return (*made, *_comparisons(rm, finish, gradient))


def _ends(what: str, values: Array, unit: str, formula: str, provenance: Provenance) -> list[Figure]:
    low, high = float(np.min(values)), float(np.max(values))
    if low == high:
        return [Figure(what, low, unit, formula, provenance)]
    return [
        Figure(f"{what}, least of the places", low, unit, formula, provenance),
        Figure(f"{what}, largest of the places", high, unit, formula, provenance),
    ]


def _comparisons(rm: float, finish: Finish, gradient: Array) -> list[Figure]:
    """Textbook factors that are shown and not used."""
    made = []
    steepest = float(np.max(gradient))
    if steepest > 0.0:
        radius = 2.0 / steepest
        q = float(peterson_sensitivity(rm, radius))
        made.append(Figure("not used: notch sensitivity, Peterson", q, "-", "1 / (1 + a/r), r = 2/G", PETERSON))
        if 340.0 <= rm <= 1700.0:
            q = float(neuber_sensitivity(rm, radius))
            made.append(Figure("not used: notch sensitivity, Neuber", q, "-", "1 / (1 + √a/√r), r = 2/G", NEUBER))
    kind = "hot rolled" if finish.process == "as rolled" and not finish.dressed else "machined"
    factor = float(marin_factor(rm, kind))
    made.append(Figure(f"not used: textbook surface factor, {kind}", factor, "-", "a Sut^b", MARIN))
    edge = finish.edge_class
    if edge is not None:
        made.append(
            Figure("not used: class of such a straight edge", edge.range_MPa, "MPa", f"range at 2e6 cycles; {edge.condition}", edge.provenance)
        )  # fmt: skip
    return made


def notes_of(
    strength: MetalStrength,
    material: Material,
    finish: Finish,
    gradient: Array,
    n_bm: Array,
    factors: Mapping[str, float],
    area_mm2: float,
) -> tuple[str, ...]:
    """What was counted and how, in words."""
    n = strength.equal_places
    said = [
        {
            "area": f"The stressed edge of all {n} equal places is counted in the strength (weakest link); the probability "
            "of failure is that of the whole drum and must not be multiplied by places again.",
            "places": f"The strength is that of one place; that any of {n} equal places fails enters by the probability "
            "(weakest link), not by the stressed area.",
            "none": "The size of the stressed edge is not counted, neither in the strength nor in the probability.",
        }[strength.size],
        "The local stress of the field is compared with the strength; no notch sensitivity is credited (near 1 at "
        "slot radii).",
        "The roughness factor is multiplied straight onto the strength, which is on the safe side of the guideline's form.",
        "The line is horizontal beyond the knee for constant amplitude only; under a spectrum read both continuations.",
    ]
    if float(np.max(n_bm)) > 1.0:
        said.append("Support from the stress gradient is credited at the steepest places, as the guideline has it.")
    if finish.hot_cut:
        said.append(
            "Roughness alone does not foretell the strength of a hot-cut edge: hardness, residual stress and drag lines "
            "count as much. Neither a harder nor a deeper skin is credited."
        )
    if finish.hot_cut and finish.skin_depth_mm is not None:
        share = 100 * max(0.0, 1 - float(np.max(gradient)) * finish.skin_depth_mm)
        said.append(
            f"Under the skin, {finish.skin_depth_mm:g} mm deep, the stress is still about {share:.0f} % of the peak at the "
            "steepest place; the strength there is the base metal's."
        )
    if strength.residual_stress_MPa:
        cut = " as far as yield lets it stand" if strength.yield_MPa is not None else ""
        said.append(
            f"The residual stress of the edge is added to every mean stress{cut}; range classes do not show it."
        )
    edge = finish.edge_class
    said.append(
        "No class of a straight plate edge is known for this process."
        if edge is None
        else f"A straight plate edge of this kind has class {edge.range_MPa:g} ({edge.condition}); the codes give "
        "straight edges only, for a slot the local stress stands in."
    )
    return tuple(said)


def warnings_of(strength: MetalStrength, finish: Finish, n_st: float) -> tuple[str, ...]:
    """What the reader must know before trusting the number."""
    said = []
    if finish.hot_cut and strength.ultimate_MPa > STRONG_MPA:
        said.append(
            f"{finish.process} edge on steel of {strength.ultimate_MPa:g} MPa: above {STRONG_MPA:g} MPa the skin hardens "
            "and cracks easily, and this strength does not cover it. Mill or grind the skin off, and test for cracks."
        )
    if finish.hot_cut and not finish.residual_stress_MPa:
        said.append(
            f"No residual stress is given for a {finish.process} edge: none is counted, though such edges often hold tension."
        )
    if finish.hot_cut and finish.hardness_HV is None:
        said.append(f"No hardness is given for a {finish.process} edge: its skin is taken as base metal.")
    if finish.hardness_HV is not None and finish.hardness_HV > HARD_SKIN_HV and not finish.dressed:
        said.append(f"The skin is harder than {HARD_SKIN_HV:g} HV (limit from memory): it may hold cracks already.")
    if strength.residual_stress_MPa < 0.0:
        said.append("A compressive residual stress is credited in every cycle; one jam can wipe it out for good.")
    if strength.residual_stress_MPa and strength.yield_MPa is None:
        said.append("The yield stress is not known, so the residual stress stands in full in every cycle.")
    if strength.size == "none" and strength.equal_places > 1:
        said.append(f"{strength.equal_places} equal places, and their number is not counted anywhere.")
    if n_st > 1.0:
        said.append(
            f"The stressed edge is smaller than the specimens behind the strength: size is credited, {n_st:.3f}."
        )
    return tuple(said)
