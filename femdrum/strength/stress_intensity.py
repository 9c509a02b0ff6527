"""Closed forms of the stress intensity factor K, N/mm^1.5, each with its source and range.

Stresses in MPa, lengths in mm. A crack of depth or half length a under a stress S: K = Y S sqrt(pi a).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, OutsideRange
from ..model.check import Checks
from ..provenance import Provenance, common_practice, computed, published

__all__ = [
    "BOWIE",
    "CORNER_AT_HOLE",
    "EDGE_FACTOR",
    "SINGLE",
    "STRIP",
    "SURFACE",
    "bowie_factor",
    "centre_crack_K",
    "corner_crack_K",
    "corner_factors",
    "edge_crack_K",
    "hole_rise",
    "provenance_of",
    "single_crack_factor",
    "strip_factor",
    "surface_crack_K",
    "surface_factors",
]

Array = NDArray[np.float64]

# free edge of a half plane under uniform stress; textbooks round it to 1.12
EDGE_FACTOR = 1.1215222552
EDGE = computed(
    "edge crack in a half plane, from the exact solution of its integral equation by factors of Mellin transforms"
)
CENTRE = computed("crack in an infinite plate, exact")
BOWIE = published(
    "Grandt 1975, fit to Bowie's through cracks at a circular hole",
    "coefficients seen in an open crack-growth code; against the exact solution computed here within 2.5 % up to a/R = 2",
)
CORNER_AT_HOLE = published(
    "Newman & Raju, NASA TM-85793 (1984), corner cracks at a hole",
    "coefficients seen in an open code; the set of 1981 (TM-83200) is another one and gives up to 4 % less",
)
SURFACE = published(
    "Newman & Raju 1981, semi-elliptic surface crack; JCSS Probabilistic Model Code, Part 3, Annex A",
    "seen in two independent secondary sources",
)
STRIP = published(
    "Tada, Paris & Irwin, The Stress Analysis of Cracks Handbook, single edge crack in a strip under tension",
    "formula seen without its attribution in an open code, the attribution is from memory",
)
SINGLE = common_practice(
    "one crack for two: both as cracks of equal area added to the hole (in Newman & Raju's reports)"
)


def _outside(field: str, value: float, allowed: str, way_out: str) -> OutsideRange:
    return OutsideRange(Fault(field, value, allowed, way_out))


def edge_crack_K(stress_MPa: ArrayLike, depth_mm: ArrayLike, *, factor: float = EDGE_FACTOR) -> Array:
    """K of a through crack from a straight edge in uniform stress, depth far below width: factor S sqrt(pi a)."""
    return np.asarray(factor * np.asarray(stress_MPa, float) * np.sqrt(math.pi * np.asarray(depth_mm, float)))


def centre_crack_K(stress_MPa: ArrayLike, half_length_mm: ArrayLike) -> Array:
    """K of a through crack inside a wide plate: S sqrt(pi a), a the half length."""
    return edge_crack_K(stress_MPa, half_length_mm, factor=1.0)


def strip_factor(depth_over_width: ArrayLike) -> Array:
    """Y of an edge crack in a strip under tension whose ends are free to turn; S is the stress without crack.

    A ligament between slots is held against bending by its neighbours, so this is on the safe side there.
    Raises OutsideRange from 0.95 of the width on.
    """
    share = np.asarray(depth_over_width, dtype=float)
    if not bool(np.all((share >= 0) & (share <= 0.95))):
        way_out = "a crack that deep leaves no ligament: look at the net section"
        raise _outside("depth_over_width", float(share.max()), "must be from 0 to 0.95", way_out)
    rest = 1 - share
    return np.asarray(0.265 * rest**4 + (0.857 + 0.265 * share) / rest**1.5)


def bowie_factor(depth_over_radius: ArrayLike, *, cracks: int = 1) -> Array:
    """Y of one or two through cracks at a circular hole in a wide plate under tension: K = Y S sqrt(pi a).

    a is measured from the hole's edge, S far away. Raises InputFault, OutsideRange.
    """
    checks = Checks()
    checks.whole("cracks", cracks, 1, 2)
    checks.done()
    x = np.asarray(depth_over_radius, dtype=float)
    if not bool(np.all((x >= 0) & (x <= 10))):
        way_out = "a longer crack sees the hole as part of its length: S sqrt(pi (a + R)) or so"
        raise _outside("depth_over_radius", float(x.max()), "must be from 0 to 10", way_out)
    return np.asarray(0.6762 + 0.8734 / (0.3246 + x) if cracks == 1 else 0.9439 + 0.6865 / (0.2772 + x))


def _shape_range(aspect: Array, depth_share: Array, deepest: float) -> None:
    if not bool(np.all((aspect > 0) & (aspect <= 1))):
        raise _outside("aspect", float(aspect.max()), "must be above 0 and at most 1", "swap the two half axes")
    if not bool(np.all((depth_share >= 0) & (depth_share <= deepest))):
        allowed = f"must be from 0 to {deepest:g} of the wall"
        way_out = "a deeper crack is through: shape = 'edge through'"
        raise _outside("depth over wall", float(depth_share.max()), allowed, way_out)


def _series(aspect: Array, depth_share: Array) -> Array:
    m1, m2 = 1.13 - 0.09 * aspect, -0.54 + 0.89 / (0.2 + aspect)
    m3 = 0.5 - 1 / (0.65 + aspect) + 14 * (1 - aspect) ** 24
    return np.asarray(m1 + m2 * depth_share**2 + m3 * depth_share**4)


def _ellipse(aspect: Array, phi: Array) -> Array:
    """Change of K along the front of an ellipse, over sqrt(Q)."""
    along = (aspect**2 * np.cos(phi) ** 2 + np.sin(phi) ** 2) ** 0.25
    return np.asarray(along / np.sqrt(1 + 1.464 * aspect**1.65))


def corner_factors(*, a_mm: ArrayLike, c_mm: ArrayLike, wall_mm: float, phi_deg: ArrayLike) -> Array:
    """Y of a quarter ellipse at the rim of a hole, without the rise of stress at the hole: K = Y S_local sqrt(pi a).

    a_mm: half axis along the hole's wall (phi = 90 deg); c_mm: along the plate's surface (phi = 0); a <= c.
    Two cracks, opposite. Raises OutsideRange.
    """
    a, c, phi = np.asarray(a_mm, float), np.asarray(c_mm, float), np.radians(np.asarray(phi_deg, float))
    r, share = a / c, a / wall_mm
    _shape_range(r, share, 1.0)
    g1 = 1 + (0.1 + 0.35 * share**2) * (1 - np.sin(phi)) ** 2
    g3 = (1 + 0.04 * r) * (1 + 0.1 * (1 - np.cos(phi)) ** 2) * (0.85 + 0.15 * share**0.25)
    g4 = 1 - 0.7 * (1 - share) * (r - 0.2) * (1 - r)
    return np.asarray(_series(r, share) * g1 * g3 * g4 * _ellipse(r, phi))


def hole_rise(depth_over_radius: ArrayLike, phi_deg: ArrayLike = 0.0) -> Array:
    """Magnification g2 of the corner crack by the hole's own stress field; 2.975 for a short crack, about Kt = 3."""
    away = np.asarray(depth_over_radius, float) * np.cos(0.85 * np.radians(np.asarray(phi_deg, float)))
    x = 1 / (1 + away)
    return np.asarray((1 + 0.358 * x + 1.425 * x**2 - 1.578 * x**3 + 2.156 * x**4) / (1 + 0.13 * x**2))


def corner_crack_K(
    *,
    stress_MPa: float,
    a_mm: float,
    c_mm: float,
    hole_radius_mm: float,
    wall_mm: float,
    phi_deg: ArrayLike,
    cracks: int = 1,
) -> Array:
    """K of one or two quarter-elliptic corner cracks at a circular hole in a wide plate under tension, N/mm^1.5.

    After the report of 1984; a_mm along the hole's wall, c_mm along the surface, phi from the surface (0) to the hole (90).
    stress_MPa far away. No correction for width. Raises InputFault, OutsideRange (also for a > c).
    """
    checks = Checks()
    for name, value in (("a_mm", a_mm), ("c_mm", c_mm), ("hole_radius_mm", hole_radius_mm), ("wall_mm", wall_mm)):
        checks.positive(name, value)
    checks.number("stress_MPa", stress_MPa)
    checks.whole("cracks", cracks, 1, 2)
    checks.done()
    y = corner_factors(a_mm=a_mm, c_mm=c_mm, wall_mm=wall_mm, phi_deg=phi_deg) * hole_rise(
        c_mm / hole_radius_mm, phi_deg
    )
    if cracks == 1:
        y = y * single_crack_factor(a_mm * c_mm / (wall_mm * hole_radius_mm))
    return np.asarray(y * stress_MPa * math.sqrt(math.pi * a_mm))


def single_crack_factor(area_share: float) -> float:
    """One corner crack over two; area_share: a c / (wall times hole radius)."""
    return math.sqrt((4 / math.pi + 0.5 * area_share) / (4 / math.pi + area_share))


def surface_factors(
    *, a_mm: ArrayLike, c_mm: ArrayLike, wall_mm: float, phi_deg: ArrayLike, width_mm: float | None = None
) -> Array:
    """Y of half an ellipse on a flat surface in uniform tension: K = Y S sqrt(pi a).

    a_mm: depth (phi = 90 deg); c_mm: half length on the surface (phi = 0); a <= c, a up to 0.8 of the wall.
    width_mm: of the whole plate, with the correction for it. Raises OutsideRange.
    """
    a, c, phi = np.asarray(a_mm, float), np.asarray(c_mm, float), np.radians(np.asarray(phi_deg, float))
    r, share = a / c, a / wall_mm
    _shape_range(r, share, 0.8)
    g = 1 + (0.1 + 0.35 * share**2) * (1 - np.sin(phi)) ** 2
    y = _series(r, share) * g * _ellipse(r, phi)
    if width_mm is None:
        return np.asarray(y)
    if not bool(np.all(2 * c < 0.5 * width_mm)):
        way_out = "leave the width out, or take a shorter crack"
        raise _outside("2 c_mm", float(np.max(2 * c)), "must be below half of width_mm", way_out)
    return np.asarray(y / np.sqrt(np.cos(math.pi * c / width_mm * np.sqrt(share))))


def surface_crack_K(
    *, stress_MPa: float, a_mm: float, c_mm: float, wall_mm: float, phi_deg: ArrayLike, width_mm: float | None = None
) -> Array:
    """K of a semi-elliptic surface crack in uniform tension, N/mm^1.5; see surface_factors. Raises OutsideRange."""
    y = surface_factors(a_mm=a_mm, c_mm=c_mm, wall_mm=wall_mm, phi_deg=phi_deg, width_mm=width_mm)
    return np.asarray(y * stress_MPa * math.sqrt(math.pi * a_mm))


def provenance_of(shape: str) -> Provenance:
    """Source of the factor that a crack of this shape is reckoned with."""
    return {"edge through": EDGE, "corner": CORNER_AT_HOLE, "surface": SURFACE}[shape]
