"""Closed forms of holes, cylinders and rotating rings.

N, mm, MPa, t, s; tension positive. Polar components: radial, hoop, shear (r theta). Angles from +x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..provenance import Provenance, computed, published

__all__ = [
    "INGLIS",
    "KIRSCH",
    "LAME",
    "ROTATING",
    "Cylinder",
    "Polar",
    "inglis_edge",
    "inglis_kt",
    "kirsch",
    "kirsch_edge",
    "lame",
    "ring_average",
    "rotating_annulus",
    "rotating_long_cylinder",
    "rotating_solid_disc",
    "section_area",
    "thin_ring",
]

Array = NDArray[np.float64]

CLASSIC = "the original was not open; the form was checked for equilibrium and compatibility"
KIRSCH: Provenance = published("G. Kirsch, 1898, circular hole in an infinite plate", CLASSIC)
INGLIS: Provenance = published("C. E. Inglis, 1913, elliptical hole in an infinite plate", CLASSIC)
LAME: Provenance = computed("Lame's thick cylinder, from equilibrium and compatibility")
ROTATING: Provenance = published(
    "J. E. Shigley, C. R. Mischke, Mechanical Engineering Design, 5th ed., rotating rings",
    "seen in a secondary reproduction",
)


@dataclass(frozen=True)
class Polar:
    """Stresses in polar components, MPa."""

    radial: Array
    hoop: Array
    shear: Array


@dataclass(frozen=True)
class Cylinder:
    """Stresses (MPa) and radial displacement (mm, outward positive) of a ring or cylinder; axial_strain is uniform.

    In plane stress `axial` is zero and `axial_strain` is None (it varies over the wall).
    """

    radial: Array
    hoop: Array
    axial: Array
    displacement: Array
    axial_strain: float | None = None


def kirsch(
    r: ArrayLike,
    theta: ArrayLike,
    *,
    radius_mm: float,
    stress_x: float = 0.0,
    stress_y: float = 0.0,
    shear: float = 0.0,
) -> Polar:
    """Stress about a circular hole of `radius_mm` in an infinite plate, r >= radius_mm, theta in radians.

    Remote stresses in MPa. Source: KIRSCH.
    """
    r, theta = np.asarray(r, dtype=float), np.asarray(theta, dtype=float)
    q = (radius_mm / r) ** 2
    mean, half = 0.5 * (stress_x + stress_y), 0.5 * (stress_x - stress_y)
    along = half * np.cos(2 * theta) + shear * np.sin(2 * theta)
    across = shear * np.cos(2 * theta) - half * np.sin(2 * theta)
    return Polar(
        radial=mean * (1 - q) + (1 - 4 * q + 3 * q**2) * along,
        hoop=mean * (1 + q) - (1 + 3 * q**2) * along,
        shear=(1 + 2 * q - 3 * q**2) * across,
    )


def kirsch_edge(theta: ArrayLike, *, stress_x: float = 0.0, stress_y: float = 0.0, shear: float = 0.0) -> Array:
    """Hoop stress (MPa) on the edge of a circular hole in an infinite plate. Source: KIRSCH."""
    return kirsch(1.0, theta, radius_mm=1.0, stress_x=stress_x, stress_y=stress_y, shear=shear).hoop


def inglis_kt(*, across: float, along: float) -> float:
    """Kt of an elliptical hole in an infinite plate, sizes across and along the pull: 1 + 2 across / along."""
    return 1.0 + 2.0 * across / along


def inglis_edge(
    eccentric_angle: ArrayLike,
    *,
    half_x: float,
    half_y: float,
    stress_x: float = 0.0,
    stress_y: float = 0.0,
    shear: float = 0.0,
) -> Array:
    """Stress (MPa) along the edge of an elliptical hole in an infinite plate, at (half_x cos e, half_y sin e).

    Source: INGLIS.
    """
    e = np.asarray(eccentric_angle, dtype=float)
    m = (half_x - half_y) / (half_x + half_y)
    below = 1 + m**2 - 2 * m * np.cos(2 * e)
    even = 2 * m - 2 * np.cos(2 * e)
    total = stress_x * (1 - m**2 + even) + stress_y * (1 - m**2 - even) - 4 * shear * np.sin(2 * e)
    return np.asarray(total / below)


def lame(
    r: ArrayLike,
    *,
    inner_mm: float,
    outer_mm: float,
    inner_pressure_MPa: float = 0.0,
    outer_pressure_MPa: float = 0.0,
    youngs_modulus_MPa: float,
    poissons_ratio: float,
    axial_stress_MPa: float = 0.0,
) -> Cylinder:
    """Thick cylinder under pressures (MPa, positive pushes) with a uniform axial stress. Source: LAME."""
    r = np.asarray(r, dtype=float)
    a2, b2 = inner_mm**2, outer_mm**2
    base = (inner_pressure_MPa * a2 - outer_pressure_MPa * b2) / (b2 - a2)
    swing = (inner_pressure_MPa - outer_pressure_MPa) * a2 * b2 / (b2 - a2) / r**2
    radial, hoop = base - swing, base + swing
    axial = np.full(r.shape, axial_stress_MPa)
    displacement = r / youngs_modulus_MPa * (hoop - poissons_ratio * (radial + axial))
    return Cylinder(
        radial, hoop, axial, displacement, (axial_stress_MPa - 2 * poissons_ratio * base) / youngs_modulus_MPa
    )


def _rotating(r: Array, a: float, b: float, load: float, nu: float) -> tuple[Array, Array]:
    """Radial and hoop stress of the rotating ring in plane stress; load = rho omega^2."""
    scale = load * (3 + nu) / 8
    radial = scale * (a**2 + b**2 - (a * b / r) ** 2 - r**2)
    hoop = scale * (a**2 + b**2 + (a * b / r) ** 2 - (1 + 3 * nu) / (3 + nu) * r**2)
    return radial, hoop


def _load(density_t_mm3: float, omega_rad_s: float) -> float:
    return density_t_mm3 * omega_rad_s**2


def rotating_annulus(
    r: ArrayLike,
    *,
    inner_mm: float,
    outer_mm: float,
    density_t_mm3: float,
    omega_rad_s: float,
    youngs_modulus_MPa: float,
    poissons_ratio: float,
) -> Cylinder:
    """Thin rotating ring or disc with a bore, free rims, plane stress. Source: ROTATING."""
    r = np.asarray(r, dtype=float)
    radial, hoop = _rotating(r, inner_mm, outer_mm, _load(density_t_mm3, omega_rad_s), poissons_ratio)
    displacement = r / youngs_modulus_MPa * (hoop - poissons_ratio * radial)
    return Cylinder(radial, hoop, np.zeros(r.shape), displacement)


def rotating_long_cylinder(
    r: ArrayLike,
    *,
    inner_mm: float,
    outer_mm: float,
    density_t_mm3: float,
    omega_rad_s: float,
    youngs_modulus_MPa: float,
    poissons_ratio: float,
    ends: str = "free",
) -> Cylinder:
    """Long rotating cylinder away from its ends.

    ends: "free", zero net axial force, uniform axial strain (generalised plane strain); "fixed", no axial strain.
    Source: the plane-stress ring with nu / (1 - nu) for nu, see ROTATING.
    """
    if ends not in ("free", "fixed"):
        raise ValueError(f"ends = {ends!r}: must be 'free' or 'fixed'")
    r = np.asarray(r, dtype=float)
    nu = poissons_ratio
    plane = nu / (1 - nu)
    load = _load(density_t_mm3, omega_rad_s)
    radial, hoop = _rotating(r, inner_mm, outer_mm, load, plane)
    axial = nu * (radial + hoop)
    strain = 0.0
    if ends == "free":
        # mean over the wall of nu (radial + hoop)
        mean = 0.5 * nu * load * (inner_mm**2 + outer_mm**2)
        axial = axial - mean
        strain = -mean / youngs_modulus_MPa
    displacement = r / youngs_modulus_MPa * (hoop - nu * (radial + axial))
    return Cylinder(radial, hoop, axial, displacement, strain)


def rotating_solid_disc(
    r: ArrayLike, *, outer_mm: float, density_t_mm3: float, omega_rad_s: float, poissons_ratio: float
) -> Polar:
    """Thin rotating disc without a bore, plane stress. Source: ROTATING, bore closed."""
    r = np.asarray(r, dtype=float)
    nu = poissons_ratio
    scale = _load(density_t_mm3, omega_rad_s) * (3 + nu) / 8
    b2 = outer_mm**2
    hoop = scale * (b2 - (1 + 3 * nu) / (3 + nu) * r**2)
    return Polar(scale * (b2 - r**2), hoop, np.zeros(r.shape))


def ring_average(*, inner_mm: float, outer_mm: float, density_t_mm3: float, omega_rad_s: float) -> float:
    """Hoop stress averaged over the wall, MPa: rho omega^2 (ro^2 + ro ri + ri^2) / 3. from equilibrium."""
    a, b = inner_mm, outer_mm
    return _load(density_t_mm3, omega_rad_s) * (b * b + a * b + a * a) / 3


def thin_ring(*, radius_mm: float, density_t_mm3: float, omega_rad_s: float) -> float:
    """Hoop stress of a thin rotating ring, MPa: rho v^2."""
    return _load(density_t_mm3, omega_rad_s) * radius_mm**2


def section_area(*, inner_mm: float, outer_mm: float) -> float:
    """Cross-section of a tube, mm^2."""
    return math.pi * (outer_mm**2 - inner_mm**2)
