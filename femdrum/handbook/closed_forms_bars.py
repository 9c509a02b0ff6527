"""Closed forms of curved bars, thin rings under point loads, and line contact. N, mm, MPa."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "LineContact",
    "ThinRing",
    "curved_bar",
    "curved_bar_plane_sections",
    "line_contact",
    "thin_ring_point_loads",
]

Array = NDArray[np.float64]


def curved_bar(r: ArrayLike, *, inner_mm: float, outer_mm: float, moment: float) -> tuple[Array, Array]:
    """Radial and hoop stress (MPa) of a curved bar in pure bending; moment in N mm per mm of thickness.

    A positive moment straightens the bar: tension at the inner radius. Exact plane elasticity.
    """
    r = np.asarray(r, dtype=float)
    a2, b2 = inner_mm**2, outer_mm**2
    ln = math.log(outer_mm / inner_mm)
    n = (b2 - a2) ** 2 - 4 * a2 * b2 * ln**2
    far, near = b2 * np.log(r / outer_mm), a2 * np.log(inner_mm / r)
    radial = -4 * moment / n * (a2 * b2 / r**2 * ln + far + near)
    hoop = -4 * moment / n * (-a2 * b2 / r**2 * ln + far + near + b2 - a2)
    return np.asarray(radial), np.asarray(hoop)


def curved_bar_plane_sections(r: ArrayLike, *, inner_mm: float, outer_mm: float, moment: float) -> Array:
    """Hoop stress (MPa) of the same bar by strength of materials: plane sections, neutral axis at h / ln(ro / ri)."""
    r = np.asarray(r, dtype=float)
    h = outer_mm - inner_mm
    neutral = h / math.log(outer_mm / inner_mm)
    shift = 0.5 * (inner_mm + outer_mm) - neutral
    return np.asarray(moment * (neutral - r) / (h * shift * r))


@dataclass(frozen=True)
class ThinRing:
    """Thin ring pulled by two opposed forces P: bending moments (N mm) and changes of diameter (mm), as magnitudes."""

    moment_under_load: float
    moment_at_side: float
    loaded_diameter_change: float
    other_diameter_change: float


def thin_ring_point_loads(*, force: float, radius_mm: float, bending_stiffness: float) -> ThinRing:
    """Thin ring under two opposed forces (N) across a diameter; bending_stiffness = E I (N mm^2).

    Bending only; good for radius over wall above about 10.
    """
    pr, pr3 = force * radius_mm, force * radius_mm**3 / bending_stiffness
    return ThinRing(
        pr / math.pi, pr * (0.5 - 1 / math.pi), pr3 * (math.pi / 4 - 2 / math.pi), pr3 * (2 / math.pi - 0.5)
    )


@dataclass(frozen=True)
class LineContact:
    """Contact of two cylinders along a line: half width (mm), largest pressure (MPa), largest shear (MPa) and its depth (mm)."""

    half_width: float
    pressure: float
    shear: float
    shear_depth: float


def line_contact(
    *, line_load: float, radius_mm: float, other_radius_mm: float, youngs_modulus_MPa: float, poissons_ratio: float
) -> LineContact:
    """Frictionless line contact of equal materials; line_load in N/mm, other_radius_mm negative for a hollow seat.

    Hertz theory: wants half width over radius well below 1.
    """
    relative = 1 / (1 / radius_mm + 1 / other_radius_mm)
    modulus = youngs_modulus_MPa / (2 * (1 - poissons_ratio**2))
    half = math.sqrt(4 * line_load * relative / (math.pi * modulus))
    pressure = 2 * line_load / (math.pi * half)
    depth = 0.7861513777574233  # root of the maximum of the shear below the middle, in half widths
    root = math.sqrt(1 + depth**2)
    shear = pressure * depth * (1 - depth / root)
    return LineContact(half, pressure, shear, depth * half)
