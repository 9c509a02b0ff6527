"""Support: how much more an edge bears because the stress falls off behind it, and the textbooks' notch sensitivity.

For slot radii of 5 to 30 mm there is next to nothing to be had: the guideline's factor stands at its floor of 1, and
Peterson's notch sensitivity is 0.93 to 0.99. They are shown, not used.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, OutsideRange
from ..model.check import Checks
from ..provenance import computed, published
from .array_checks import array_of
from .mean_stress import ULTIMATE_WAY
from .surface import GUIDELINE_NONLINEAR

__all__ = [
    "NEUBER",
    "PETERSON",
    "SCALING",
    "SUPPORT",
    "fatigue_notch_factor",
    "gradient_of_radius",
    "neuber_constant_sqrt_mm",
    "neuber_sensitivity",
    "peterson_constant_mm",
    "peterson_sensitivity",
    "radius_stress_factor",
    "support_factor",
]

Array = NDArray[np.float64]

SUPPORT = GUIDELINE_NONLINEAR
PETERSON = published("R. E. Peterson's notch sensitivity, as in Juvinall and in Dowling", "seen in six open codes")
NEUBER = published("Shigley's Mechanical Engineering Design, eq. 6-35 and 6-36", "seen in eight open codes")
SCALING = computed("a deep notch's peak goes with the inverse square root of its radius")

RADIUS_WAY = "the corner's radius; a sharp corner has no notch factor"


def gradient_of_radius(radius_mm: ArrayLike) -> Array:
    """Relative stress gradient of a deep notch, 1/mm: about 2/r. Common practice; read it from the field where possible."""
    checks = Checks()
    radius = array_of(checks, "radius_mm", radius_mm, above=0.0, way_out=RADIUS_WAY)
    checks.done()
    return np.asarray(2.0 / radius)


def support_factor(
    gradient_per_mm: ArrayLike,
    ultimate_MPa: ArrayLike,
    *,
    size: ArrayLike = 1.0,
    deformation: ArrayLike = 1.0,
    floor: bool = True,
) -> Array:
    """Fracture-mechanics part of the guideline's support factor, at least 1 (`floor=False` shows the raw value).

    (5 + sqrt G) / (5 n_st n_vm + Rm/680 sqrt((7.5 + sqrt G)/(1 + 0.2 sqrt G))), G = |ds/dn| / s at the edge in 1/mm.
    size: n_st. deformation: n_vm, which is not credited here (1). Source: FKM guideline nonlinear. Raises InputFault.
    """
    checks = Checks()
    g = array_of(
        checks, "gradient_per_mm", gradient_per_mm, least=0.0, way_out="|ds/dn| / s at the edge, about 2/r, without sign"
    )  # fmt: skip
    ultimate = array_of(checks, "ultimate_MPa", ultimate_MPa, above=0.0, way_out=ULTIMATE_WAY)
    n_st = array_of(checks, "size", size, above=0.0)
    n_vm = array_of(checks, "deformation", deformation, above=0.0)
    checks.done()
    root = np.sqrt(g)
    below = 5.0 * n_st * n_vm + ultimate / 680.0 * np.sqrt((7.5 + root) / (1.0 + 0.2 * root))
    raw = (5.0 + root) / below
    return np.asarray(np.maximum(raw, 1.0) if floor else raw)


def peterson_constant_mm(ultimate_MPa: ArrayLike) -> Array:
    """Peterson's material length, mm: 0.0254 (2070 / Rm)^1.8. Raises InputFault."""
    checks = Checks()
    ultimate = array_of(checks, "ultimate_MPa", ultimate_MPa, above=0.0, way_out=ULTIMATE_WAY)
    checks.done()
    return np.asarray(0.0254 * (2070.0 / ultimate) ** 1.8)


def peterson_sensitivity(ultimate_MPa: ArrayLike, radius_mm: ArrayLike) -> Array:
    """Notch sensitivity after Peterson: 1 / (1 + a/r). Raises InputFault."""
    checks = Checks()
    radius = array_of(checks, "radius_mm", radius_mm, above=0.0, way_out=RADIUS_WAY)
    checks.done()
    return np.asarray(1.0 / (1.0 + peterson_constant_mm(ultimate_MPa) / radius))


# sqrt(a) as a cubic in the tensile strength; lowest power first, and the range of strength in MPa
_SQRT_MM = {
    "bending": ((1.24, -2.25e-3, 1.60e-6, -4.11e-10), 340.0, 1700.0),
    "torsion": ((0.958, -1.83e-3, 1.43e-6, -4.11e-10), 340.0, 1500.0),
}
# the same for bending in kpsi and sqrt(in)
_SQRT_IN = (0.246, -3.08e-3, 1.51e-5, -2.67e-8)
MM_PER_INCH = 25.4
MPA_PER_KPSI = 6.894757


def neuber_constant_sqrt_mm(
    ultimate_MPa: ArrayLike, load: Literal["bending", "torsion"] = "bending", units: Literal["SI", "inch"] = "SI"
) -> Array:
    """Root of Neuber's material length, sqrt(mm), by the textbook's cubic; "bending" also holds for axial loads.

    units="inch": the older polynomial in kpsi and sqrt(in), for bending, converted; it differs by less than 1 %.
    Raises OutsideRange below 340 or above 1700 MPa (torsion 1500).
    """
    checks = Checks()
    ultimate = array_of(checks, "ultimate_MPa", ultimate_MPa, above=0.0, way_out=ULTIMATE_WAY)
    checks.one_of("load", load, _SQRT_MM)
    checks.one_of("units", units, ("SI", "inch"))
    if load == "torsion" and units == "inch":
        checks.add("units", units, "must be 'SI' for torsion", "the older polynomial is for bending")
    checks.done()
    cubic, least, most = _SQRT_MM[load]
    out = (ultimate < least) | (ultimate > most)
    if np.any(out):
        worst = float(np.atleast_1d(ultimate)[np.atleast_1d(out)][0])
        raise OutsideRange(
            Fault("ultimate_MPa", worst, f"must lie from {least:g} to {most:g} for this fit", "use Peterson's constant")
        )
    if units == "inch":
        return np.asarray(np.polynomial.polynomial.polyval(ultimate / MPA_PER_KPSI, _SQRT_IN) * np.sqrt(MM_PER_INCH))
    return np.asarray(np.polynomial.polynomial.polyval(ultimate, cubic))


def neuber_sensitivity(
    ultimate_MPa: ArrayLike, radius_mm: ArrayLike, load: Literal["bending", "torsion"] = "bending"
) -> Array:
    """Notch sensitivity after Neuber: 1 / (1 + sqrt(a) / sqrt(r)). Raises InputFault, OutsideRange."""
    checks = Checks()
    radius = array_of(checks, "radius_mm", radius_mm, above=0.0, way_out=RADIUS_WAY)
    checks.done()
    return np.asarray(1.0 / (1.0 + neuber_constant_sqrt_mm(ultimate_MPa, load) / np.sqrt(radius)))


def fatigue_notch_factor(kt: ArrayLike, sensitivity: ArrayLike) -> Array:
    """Fatigue notch factor for comparison: 1 + q (Kt - 1). Raises InputFault."""
    checks = Checks()
    peak = array_of(checks, "kt", kt, least=1.0)
    q = array_of(checks, "sensitivity", sensitivity, least=0.0)
    if np.any(q > 1.0):
        checks.add("sensitivity", float(np.max(q)), "must be at most 1", "1 is full sensitivity")
    checks.done()
    return np.asarray(1.0 + q * (peak - 1.0))


def radius_stress_factor(from_mm: float, to_mm: float) -> float:
    """Change of a notch's peak with its radius: sqrt(from / to); 10 to 9 mm raises it by 5.4 %. Raises InputFault."""
    checks = Checks()
    checks.positive("from_mm", from_mm, RADIUS_WAY)
    checks.positive("to_mm", to_mm, RADIUS_WAY)
    checks.done()
    return float(np.sqrt(from_mm / to_mm))
