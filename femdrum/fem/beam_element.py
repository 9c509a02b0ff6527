"""A round Timoshenko beam element: stiffness, mass with rotary inertia, gyroscopic matrix, for one plane of bending.

Displacements of an element: deflection and slope at its first end, then at its second. Exact shape functions of the
shear-flexible beam (deflection cubic, slope quadratic), so a static load at the ends is met exactly. Frequencies come from
above; their error falls with the fourth power of the element, with the second where shear matters. N, mm, MPa, t, s.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..provenance import Provenance, memory

__all__ = ["SHEAR", "BeamElement", "beam_element", "shear_coefficient"]

Array = NDArray[np.float64]
SHEAR: Provenance = memory(
    "shear coefficient of a round or hollow round section after G. R. Cowper, 1966; that of the solid one reproduces a "
    "published rotor to 1e-4"
)


def shear_coefficient(poissons_ratio: float, bore_ratio: float) -> float:
    """Share of the section that carries shear evenly; bore_ratio: inner over outer diameter. Source: SHEAR."""
    nu, m2 = poissons_ratio, bore_ratio**2
    top = 6 * (1 + nu) * (1 + m2) ** 2
    return top / ((7 + 6 * nu) * (1 + m2) ** 2 + (20 + 12 * nu) * m2)


@dataclass(frozen=True)
class BeamElement:
    """stiffness, mass (translation and rotary inertia), gyroscopic (times the angular speed), each [4, 4]."""

    stiffness: Array
    mass: Array
    gyroscopic: Array


def beam_element(
    *,
    length_mm: float,
    outer_diameter_mm: float,
    inner_diameter_mm: float,
    youngs_modulus_MPa: float,
    poissons_ratio: float,
    density_t_mm3: float,
    stiffness_share: float = 1.0,
) -> BeamElement:
    """The matrices of one round element. stiffness_share scales bending and shear stiffness alike."""
    area = 0.25 * math.pi * (outer_diameter_mm**2 - inner_diameter_mm**2)
    inertia = math.pi / 64 * (outer_diameter_mm**4 - inner_diameter_mm**4)
    shear_modulus = youngs_modulus_MPa / (2 * (1 + poissons_ratio))
    share = shear_coefficient(poissons_ratio, inner_diameter_mm / outer_diameter_mm)
    bending = stiffness_share * youngs_modulus_MPa * inertia
    shearing = stiffness_share * share * shear_modulus * area
    phi = 12 * bending / (shearing * length_mm**2)
    x, w = np.polynomial.legendre.leggauss(4)
    x, w = 0.5 * (x + 1), 0.5 * w * length_mm
    deflection, slope, turn = _shapes(x, length_mm, phi)
    # shear angle: slope of the line of deflection less the section's own turn; constant along the element
    sheared = _deflection_slope(x, length_mm, phi) - slope
    turning = _square(slope, w)
    return BeamElement(
        stiffness=bending * _square(turn, w) + shearing * _square(sheared, w),
        mass=density_t_mm3 * (area * _square(deflection, w) + inertia * turning),
        gyroscopic=2 * density_t_mm3 * inertia * turning,
    )


def _square(rows: Array, weights: Array) -> Array:
    return np.asarray(np.einsum("q,iq,jq->ij", weights, rows, rows))


def _shapes(x: Array, length: float, phi: float) -> tuple[Array, Array, Array]:
    """Deflection, slope of the section, and its change along the element, for unit end displacements [4, points]."""
    s = 1 / (1 + phi)
    deflection = s * np.stack([
        2 * x**3 - 3 * x**2 - phi * x + 1 + phi,
        length * (x**3 - (2 + 0.5 * phi) * x**2 + (1 + 0.5 * phi) * x),
        -2 * x**3 + 3 * x**2 + phi * x,
        length * (x**3 - (1 - 0.5 * phi) * x**2 - 0.5 * phi * x),
    ])  # fmt: skip
    slope = s * np.stack([
        6 / length * (x**2 - x),
        3 * x**2 - (4 + phi) * x + 1 + phi,
        -6 / length * (x**2 - x),
        3 * x**2 - (2 - phi) * x,
    ])  # fmt: skip
    turn = s / length * np.stack([
        6 / length * (2 * x - 1), 6 * x - (4 + phi), -6 / length * (2 * x - 1), 6 * x - (2 - phi),
    ])  # fmt: skip
    return deflection, slope, turn


def _deflection_slope(x: Array, length: float, phi: float) -> Array:
    s = 1 / (1 + phi)
    return np.asarray(s * np.stack([
        (6 * x**2 - 6 * x - phi) / length,
        3 * x**2 - (4 + phi) * x + 1 + 0.5 * phi,
        (-6 * x**2 + 6 * x + phi) / length,
        3 * x**2 - (2 - phi) * x - 0.5 * phi,
    ]))  # fmt: skip
