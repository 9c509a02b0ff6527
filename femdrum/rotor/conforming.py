"""A round in a groove of nearly its own radius: contact over a large angle, where the line-contact formula fails.

Equal materials, no friction, plane strain, the round pressed in the middle, the groove taken as a hole in a large body. With
b = tan(eps / 2), eps the half angle of contact, Q the force per length, E1 = E / (1 - nu²):

    E1 dR / Q = (2 / pi) (1 - b²) / b² - ln(1 + b²) / (pi b² (1 + b²))
    p R / Q   = 2 sqrt(b² - y²) / (pi sqrt(1 + b²) (1 + y²)) + artanh(sqrt((b² - y²) / (1 + b²))) / (pi b² (1 + b²)),  y = tan(phi / 2)

Recalled, and checked here: it balances the force, turns into line contact for small angles, and satisfies the field
equation of a round in a hole. N, mm, MPa.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure
from ..handbook.closed_forms_bars import line_contact
from ..model.check import Checks
from ..provenance import Provenance, computed, memory, published
from .given import need

__all__ = [
    "CONFORMING",
    "ConformingContact",
    "conforming_contact",
    "conforming_number",
    "largest_half_angle_deg",
    "peak_number",
    "pressure_number",
]

Array = NDArray[np.float64]

CONFORMING: Provenance = memory(
    "conforming contact of equal materials in the form of Persson 1964; recalled, and checked here by force balance, the limit of small angles, and the field equation of a round in a hole"
)
HERTZ: Provenance = published(
    "Hertz line contact in handbooks of machine design", "the form is seen in secondary reproductions"
)
STATICS = computed("statics")


def conforming_number(half_angle_rad: ArrayLike) -> Array:
    """E1 dR / Q at a half angle of contact, radians: difference of the radii over load, CONFORMING."""
    b2 = np.tan(0.5 * np.asarray(half_angle_rad, dtype=float)) ** 2
    return np.asarray((2 * (1 - b2) - np.log1p(b2) / (1 + b2)) / (math.pi * b2))


def pressure_number(angle_rad: ArrayLike, half_angle_rad: ArrayLike) -> Array:
    """p R / Q at an angle from the middle of the contact, radians; 0 outside of the contact: CONFORMING."""
    y, b = np.tan(0.5 * np.asarray(angle_rad, dtype=float)), np.tan(0.5 * np.asarray(half_angle_rad, dtype=float))
    inside = np.clip(b**2 - y**2, 0.0, None)
    first = 2 * np.sqrt(inside) / (math.pi * np.sqrt(1 + b**2) * (1 + y**2))
    return np.asarray(first + np.arctanh(np.sqrt(inside / (1 + b**2))) / (math.pi * b**2 * (1 + b**2)))


def peak_number(half_angle_rad: ArrayLike) -> Array:
    """p0 R / Q, in the middle of the contact: CONFORMING."""
    return pressure_number(0.0, half_angle_rad)


@functools.cache
def _largest() -> float:
    from scipy.optimize import brentq

    return float(brentq(lambda e: float(conforming_number(e)), 1.0, 1.57, xtol=1e-15))


def largest_half_angle_deg() -> float:
    """Half angle of contact at equal radii, degrees; it does not depend on the load."""
    return math.degrees(_largest())


@dataclass(frozen=True)
class ConformingContact:
    """Contact of a round in a groove: half angle (degrees), peak pressure in the middle (MPa), and what line contact would say.

    line_load_N_mm; radius_mm of the round. hertz_MPa, hertz_half_width_mm: of the line-contact formula, for comparison.
    """

    half_angle_deg: float
    peak_MPa: float
    line_load_N_mm: float
    radius_mm: float
    hertz_MPa: float
    hertz_half_width_mm: float

    def pressure_MPa(self, angle_deg: ArrayLike) -> Array:
        """Pressure at an angle from the middle, degrees; shape as given."""
        angle = np.radians(np.asarray(angle_deg, dtype=float))
        return pressure_number(angle, math.radians(self.half_angle_deg)) * (self.line_load_N_mm / self.radius_mm)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure("half angle of contact in the groove", self.half_angle_deg, "°", "E1 dR / Q = (2/pi) (1 - b²)/b² - ln(1 + b²)/(pi b² (1 + b²)), b = tan(eps/2)", CONFORMING),
            Figure("peak pressure in the groove", self.peak_MPa, "MPa", "p0 R / Q = 2 b/(pi sqrt(1 + b²)) + asinh(b)/(pi b² (1 + b²))", CONFORMING),
            Figure("peak pressure of the line-contact formula, for comparison", self.hertz_MPa, "MPa", "p0 = sqrt(Q E* dR / (pi R1 R2))", HERTZ),
        )  # fmt: skip


def conforming_contact(
    *,
    line_load_N_mm: float,
    radius_mm: float,
    groove_radius_mm: float,
    youngs_modulus_MPa: float,
    poissons_ratio: float,
) -> ConformingContact:
    """Contact of a round of radius_mm in a groove of groove_radius_mm under a force per length, N/mm; equal materials.

    The radii should differ by little against their size. Equal radii: the largest half angle. Raises InputFault.
    """
    checks = Checks()
    if checks.positive("radius_mm", radius_mm):
        checks.number(
            "groove_radius_mm", groove_radius_mm, least=radius_mm, most=1.2 * radius_mm,
            way_out="a much wider groove is line contact; a narrower one stands on its rims",
        )  # fmt: skip
    checks.number("poissons_ratio", poissons_ratio, least=0.0, below=0.5)
    need(positive={"line_load_N_mm": line_load_N_mm, "youngs_modulus_MPa": youngs_modulus_MPa}, checks=checks)
    number = youngs_modulus_MPa / (1 - poissons_ratio**2) * (groove_radius_mm - radius_mm) / line_load_N_mm
    half = _half_angle(number)
    hertz_MPa, width = 0.0, math.inf
    if groove_radius_mm > radius_mm:
        flat = line_contact(
            line_load=line_load_N_mm, radius_mm=radius_mm, other_radius_mm=-groove_radius_mm,
            youngs_modulus_MPa=youngs_modulus_MPa, poissons_ratio=poissons_ratio,
        )  # fmt: skip
        hertz_MPa, width = flat.pressure, flat.half_width
    peak = float(peak_number(half)) * line_load_N_mm / radius_mm
    return ConformingContact(math.degrees(half), peak, line_load_N_mm, radius_mm, hertz_MPa, width)


def _half_angle(number: float) -> float:
    """Half angle, radians, at a value of E1 dR / Q."""
    from scipy.optimize import brentq

    if number <= 0:
        return _largest()
    # small angles: 8 / (pi eps²), which is above the number everywhere
    high = min(math.sqrt(8 / (math.pi * number)), _largest())
    low = 0.2 * high
    if conforming_number(high) >= number:
        return high
    return float(brentq(lambda e: float(conforming_number(e)) - number, low, high, xtol=1e-15, rtol=1e-14))
