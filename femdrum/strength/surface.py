"""Roughness and skin of the edge: what is left of the strength of a polished specimen.

The guideline's factor is the main rule; the textbook factors stand beside it as comparisons.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..model.check import Checks
from ..provenance import common_practice, memory, published, standard
from .array_checks import array_of
from .mean_stress import GUIDELINE, SHEAR_RATIO, ULTIMATE_WAY, Stress

__all__ = [
    "GUIDELINE_NONLINEAR",
    "HARDNESS",
    "HARD_SKIN",
    "HARD_SKIN_HV",
    "MARIN",
    "ROUGHNESS",
    "marin_factor",
    "roughness_factor",
    "roughness_factor_nonlinear",
    "skin_ultimate_MPa",
]

Array = NDArray[np.float64]

ROUGHNESS = GUIDELINE
GUIDELINE_NONLINEAR = standard(
    "FKM guideline nonlinear, edition 2019, example 2.10.2",
    "value seen in the tests of an open fatigue library that cites it",
)
MARIN = published("Shigley's Mechanical Engineering Design, 9th ed., Table 6-2, p. 345")
HARDNESS = common_practice("tensile strength of steel from hardness, Rm = 3.2 HV in MPa")
# above this a cut edge tends to crack when bent or loaded; a usual limit on drawings
HARD_SKIN_HV = 380.0
HARD_SKIN = memory("limit of the hardness after cutting on drawings, 380 HV")

# steel: share lost per decade of Rz and of 2 Rm / 400 MPa, by the stress-life and the strain-life guideline
LOSS = 0.22
LOSS_NONLINEAR = 0.27
POWER_NONLINEAR = 0.43
LEAST_ULTIMATE_MPA = 400.0
MPA_PER_HV = 3.2

# a Sut^b, MPa
MARIN_FINISHES = {"machined": (4.51, -0.265), "hot rolled": (57.7, -0.718)}


def _inputs(ultimate_MPa: ArrayLike, roughness_Rz_um: ArrayLike) -> tuple[Array, Array]:
    """The two logarithms (base 10), not below zero: a smooth or soft edge gains nothing."""
    checks = Checks()
    ultimate = array_of(checks, "ultimate_MPa", ultimate_MPa, above=0.0, way_out=ULTIMATE_WAY)
    rz = array_of(checks, "roughness_Rz_um", roughness_Rz_um, above=0.0, way_out="Rz in micrometres")
    checks.done()
    return np.log10(np.maximum(rz, 1.0)), np.log10(np.maximum(2.0 * ultimate / LEAST_ULTIMATE_MPA, 1.0))


def roughness_factor(ultimate_MPa: ArrayLike, roughness_Rz_um: ArrayLike, stress: Stress = "normal") -> Array:
    """Factor on the strength: 1 - 0.22 log10(Rz) log10(2 Rm / 400), in shear with 0.577 times 0.22; at most 1.

    Rz in micrometres. Source: FKM guideline. Raises InputFault, also where nothing would be left.
    """
    rough, strong = _inputs(ultimate_MPa, roughness_Rz_um)
    factor = 1.0 - LOSS * (SHEAR_RATIO if stress == "shear" else 1.0) * rough * strong
    return _left(factor, roughness_Rz_um)


def roughness_factor_nonlinear(ultimate_MPa: ArrayLike, roughness_Rz_um: ArrayLike) -> Array:
    """The strain-life guideline's factor on the damage parameter: (1 - 0.27 log10(Rz) log10(2 Rm / 400))^0.43.

    Source: FKM guideline nonlinear. Raises InputFault, also where nothing would be left.
    """
    rough, strong = _inputs(ultimate_MPa, roughness_Rz_um)
    base = _left(1.0 - LOSS_NONLINEAR * rough * strong, roughness_Rz_um)
    return np.asarray(base**POWER_NONLINEAR)


def _left(factor: Array, roughness_Rz_um: ArrayLike) -> Array:
    if np.any(factor < 0.1):
        checks = Checks()
        checks.add(
            "roughness_Rz_um", float(np.max(roughness_Rz_um)), "is beyond what the guideline's factor can answer",
            "give Rz in micrometres, up to about 250",
        )  # fmt: skip
        checks.done()
    return np.asarray(factor)


def marin_factor(ultimate_MPa: ArrayLike, finish: str) -> Array:
    """Textbook surface factor a Sut^b for comparison, at most 1; finish: "machined" or "hot rolled".

    Source: Shigley, Table 6-2. Raises InputFault.
    """
    checks = Checks()
    ultimate = array_of(checks, "ultimate_MPa", ultimate_MPa, above=0.0, way_out=ULTIMATE_WAY)
    checks.one_of("finish", finish, MARIN_FINISHES)
    checks.done()
    a, b = MARIN_FINISHES[finish]
    return np.asarray(np.minimum(a * ultimate**b, 1.0))


def skin_ultimate_MPa(hardness_HV: ArrayLike) -> Array:
    """Tensile strength of a skin from its Vickers hardness, MPa: 3.2 HV. Common practice, no source. Raises InputFault."""
    checks = Checks()
    hardness = array_of(checks, "hardness_HV", hardness_HV, above=0.0, way_out="Vickers hardness")
    checks.done()
    return np.asarray(MPA_PER_HV * hardness)
