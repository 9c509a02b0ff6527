"""Critical speeds by closed forms: bounds, the rigid drum on its stubs and supports, and how far a speed keeps away.

The shell is never the spring; stubs, end discs, bearings and housings are. N, mm, kg; speeds in revolutions a minute.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure, stated
from ..handbook.closed_forms import section_area
from ..model.check import Checks
from ..provenance import common_practice, computed, published
from ..units import density_t_mm3

__all__ = [
    "SEPARATION",
    "SEPARATION_SHARES",
    "CriticalBracket",
    "RigidDrum",
    "Separation",
    "bounce_speed_rpm",
    "critical_bracket",
    "in_series_N_mm",
    "influence_mm_N",
    "rigid_drum",
    "separation",
    "stub_stiffness_N_mm",
    "torsional_frequency_Hz",
    "uniform_tube_critical_rpm",
]

Array = NDArray[np.float64]
BEAM = computed("slender beam on two supports; fails where the span is below three diameters, so a check only")
RIGID = computed("rigid drum on springs")
BOUNDS = published(
    "Shigley's Mechanical Engineering Design, 9th ed., example 7-5, two discs on a shaft (inputs); "
    "bounds by Dunkerley and Rayleigh"
)
SEPARATION_SHARES = (0.2, 0.3)
SEPARATION = common_practice("critical speeds 20 to 30 % away from the running speed")
RPM = 30 / math.pi


@stated("first critical speed of the shell as a plain tube", "rpm", "(pi / L)² sqrt(E I / m)", BEAM)
def uniform_tube_critical_rpm(
    *, outer_diameter_mm: float, wall_mm: float, span_mm: float, youngs_modulus_MPa: float, density_kg_m3: float
) -> float:
    """A tube on two supports, first bending mode by slender-beam theory; absurdly high for a drum. Raises InputFault."""
    checks = Checks()
    if checks.positive("outer_diameter_mm", outer_diameter_mm):
        checks.number("wall_mm", wall_mm, above=0.0, most=0.5 * outer_diameter_mm)
    checks.positive("span_mm", span_mm)
    checks.positive("youngs_modulus_MPa", youngs_modulus_MPa)
    checks.positive("density_kg_m3", density_kg_m3)
    checks.done()
    outer = 0.5 * outer_diameter_mm
    inner = outer - wall_mm
    inertia = 0.25 * math.pi * (outer**4 - inner**4)
    per_length = density_t_mm3(density_kg_m3) * section_area(inner_mm=inner, outer_mm=outer)
    return RPM * (math.pi / span_mm) ** 2 * math.sqrt(youngs_modulus_MPa * inertia / per_length)


@stated("stiffness of a stub as a cantilever", "kN/mm", "k = 3 E I / l³", computed("cantilever, no shear"), 1e-3)
def stub_stiffness_N_mm(*, diameter_mm: float, overhang_mm: float, youngs_modulus_MPa: float) -> float:
    """A stub held at the disc, pushed at the bearing. Raises InputFault."""
    checks = Checks()
    checks.positive("diameter_mm", diameter_mm)
    checks.positive("overhang_mm", overhang_mm, "from the disc to the bearing's middle")
    checks.positive("youngs_modulus_MPa", youngs_modulus_MPa)
    checks.done()
    return 3 * youngs_modulus_MPa * math.pi / 64 * diameter_mm**4 / overhang_mm**3


@stated("stiffness of springs one behind the other", "kN/mm", "1 / sum(1 / k)", computed("statics"), 1e-3)
def in_series_N_mm(stiffnesses_N_mm: Sequence[float]) -> float:
    """Springs one behind the other. Raises InputFault."""
    checks = Checks()
    if not stiffnesses_N_mm:
        checks.add("stiffnesses_N_mm", [], "must hold at least one stiffness")
    for i, k in enumerate(stiffnesses_N_mm):
        checks.positive(f"stiffnesses_N_mm[{i}]", k)
    checks.done()
    return 1 / sum(1 / k for k in stiffnesses_N_mm)


@stated("bounce of the rigid drum", "rpm", "sqrt(2 k / m)", RIGID)
def bounce_speed_rpm(*, mass_kg: float, stiffness_each_N_mm: float) -> float:
    """A rigid drum that goes up and down on two equal springs, rpm. Raises InputFault."""
    checks = Checks()
    checks.positive("mass_kg", mass_kg)
    checks.positive("stiffness_each_N_mm", stiffness_each_N_mm, "of stub and support together, at each end")
    checks.done()
    return RPM * math.sqrt(2 * stiffness_each_N_mm / (1e-3 * mass_kg))


@dataclass(frozen=True)
class RigidDrum:
    """Two motions of a rigid drum on two springs: shift and tilt, mixed where the springs differ.

    standing_Hz: natural frequencies at rest, rising. critical_rpm: speeds at which an unbalance meets them, with the
    gyroscopic effect; one only, or none, where the drum is shorter than wide.
    """

    standing_Hz: tuple[float, float]
    critical_rpm: tuple[float, ...]


def rigid_drum(
    *,
    mass_kg: float,
    across_kg_m2: float,
    polar_kg_m2: float,
    stiffness_N_mm: tuple[float, float],
    distance_mm: tuple[float, float],
) -> RigidDrum:
    """Natural frequencies and critical speeds of a rigid drum.

    across_kg_m2: about an axis across, through the centre of gravity. stiffness_N_mm at the drive and the free end, each of
    stub and support together; distance_mm of the two springs from the centre of gravity. Raises InputFault.
    """
    checks = Checks()
    for name, value in (("mass_kg", mass_kg), ("across_kg_m2", across_kg_m2), ("polar_kg_m2", polar_kg_m2)):
        checks.positive(name, value)
    for name, pair in (("stiffness_N_mm", stiffness_N_mm), ("distance_mm", distance_mm)):
        for i, value in enumerate(pair):
            checks.positive(f"{name}[{i}]", value)
    checks.done()
    (k, c), (a, b) = stiffness_N_mm, distance_mm
    stiff = np.array([[k + c, c * b - k * a], [c * b - k * a, k * a**2 + c * b**2]])
    mass, across, polar = 1e-3 * mass_kg, 1e3 * across_kg_m2, 1e3 * polar_kg_m2

    def values(tilt: float) -> Array:
        # 1 / w^2 from inertia q = (1/w^2) stiffness q: the inertia against tilt may be negative
        half = np.linalg.inv(np.linalg.cholesky(stiff))
        return np.asarray(np.linalg.eigvalsh(half @ np.diag([mass, tilt]) @ half.T))

    standing = sorted(1 / math.sqrt(v) / (2 * math.pi) for v in values(across))
    turning = sorted(RPM / math.sqrt(v) for v in values(across - polar) if v > 0)
    return RigidDrum((standing[0], standing[1]), tuple(turning))


def influence_mm_N(x_mm: ArrayLike, *, span_mm: float, bending_stiffness_Nmm2: float) -> Array:
    """Deflections of a shaft on two supports [i, j]: at x_i for a unit force at x_j, mm/N.

    b x (L^2 - b^2 - x^2) / (6 E I L), b from the force to the far support. Raises InputFault.
    """
    checks = Checks()
    checks.positive("span_mm", span_mm)
    checks.positive("bending_stiffness_Nmm2", bending_stiffness_Nmm2, "E I")
    places = np.asarray(x_mm, dtype=float)
    for i, x in enumerate(places):
        checks.number(f"x_mm[{i}]", float(x), above=0.0, below=span_mm, way_out="between the supports")
    checks.done()
    near, far = np.minimum.outer(places, places), span_mm - np.maximum.outer(places, places)
    return np.asarray(far * near * (span_mm**2 - far**2 - near**2) / (6 * bending_stiffness_Nmm2 * span_mm))


@dataclass(frozen=True)
class CriticalBracket:
    """First critical speed of masses on a light shaft, rad/s: from below (Dunkerley), exact, from above (Rayleigh)."""

    dunkerley_rad_s: float
    exact_rad_s: float
    rayleigh_rad_s: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure("first critical speed, lower bound", RPM * self.dunkerley_rad_s, "rpm", "1/w² = sum 1/wii²", BOUNDS),
            Figure("first critical speed, exact", RPM * self.exact_rad_s, "rpm", "influence coefficients", BOUNDS),
            Figure(
                "first critical speed, upper bound",
                RPM * self.rayleigh_rad_s,
                "rpm",
                "sqrt(g sum w y / sum w y²)",
                BOUNDS,
            ),
        )


def critical_bracket(masses: ArrayLike, influence: ArrayLike, *, gravity: float = 9806.65) -> CriticalBracket:
    """Bounds and exact value for masses (t) on a light shaft with influence coefficients (mm/N) [i, j].

    Any units that fit together may be used, with gravity in them (mm/s^2 unless given); its value does not matter for the
    exact one and for Dunkerley's. Raises InputFault.
    """
    m, a = np.asarray(masses, dtype=float), np.asarray(influence, dtype=float)
    checks = Checks()
    for i, value in enumerate(m):
        checks.positive(f"masses[{i}]", float(value))
    checks.positive("gravity", gravity)
    if a.shape != (len(m), len(m)) or not np.allclose(a, a.T, rtol=1e-9, atol=0.0):
        checks.add("influence", a.shape, f"must be a symmetric {len(m)} by {len(m)} matrix")
    checks.done()
    dunkerley = 1 / math.sqrt(float(np.sum(np.diag(a) * m)))
    root = np.sqrt(m)
    exact = 1 / math.sqrt(float(np.linalg.eigvalsh(root[:, None] * a * root)[-1]))
    weight = m * gravity
    y = a @ weight
    rayleigh = math.sqrt(gravity * float(weight @ y) / float(weight @ y**2))
    return CriticalBracket(dunkerley, exact, rayleigh)


@stated(
    "torsional frequency of drive and drum",
    "Hz",
    "sqrt(k (1/J1 + 1/J2)) / (2 pi)",
    computed("two inertias, one spring"),
)
def torsional_frequency_Hz(*, inertia_kg_m2: float, other_inertia_kg_m2: float, stiffness_Nm_rad: float) -> float:
    """Drum and drive against each other on the belts or the coupling.

    Inertias and stiffness all on the drum's shaft: those of the other shaft times (its speed over the drum's) squared.
    Raises InputFault.
    """
    checks = Checks()
    checks.positive("inertia_kg_m2", inertia_kg_m2)
    checks.positive("other_inertia_kg_m2", other_inertia_kg_m2)
    checks.positive("stiffness_Nm_rad", stiffness_Nm_rad, "of belts or coupling, seen from the drum's shaft")
    checks.done()
    return math.sqrt(stiffness_Nm_rad * (1 / inertia_kg_m2 + 1 / other_inertia_kg_m2)) / (2 * math.pi)


@dataclass(frozen=True)
class Separation:
    """How far a running speed keeps from the nearest critical one: share = |critical - running| / running."""

    speed_rpm: float
    nearest_rpm: float | None
    share: float
    verdict: str
    sentence: str


def separation(*, speed_rpm: float, critical_rpm: Sequence[float]) -> Separation:
    """Nearest critical speed and verdict: "apart" beyond 30 %, "close" from 20 to 30 %, "too close" below. Raises InputFault."""
    checks = Checks()
    checks.positive("speed_rpm", speed_rpm, "revolutions a minute")
    for i, value in enumerate(critical_rpm):
        checks.positive(f"critical_rpm[{i}]", value)
    checks.done()
    rule = f"{SEPARATION.source} (common practice, no source)"
    if not critical_rpm:
        return Separation(speed_rpm, None, math.inf, "apart", f"No critical speed was found; wanted are {rule}.")
    nearest = min(critical_rpm, key=lambda n: abs(n - speed_rpm))
    share = abs(nearest - speed_rpm) / speed_rpm
    low, high = SEPARATION_SHARES
    verdict = "apart" if share >= high else "close" if share >= low else "too close"
    where = "above" if nearest >= speed_rpm else "below"
    sentence = (
        f"The nearest critical speed, {nearest:,.0f} rpm, lies {100 * share:.0f} % {where} the running speed: {verdict}; "
        f"wanted are {rule}."
    )
    return Separation(speed_rpm, nearest, share, verdict, sentence)
