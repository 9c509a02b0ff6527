"""Published Kt fits of a stepped round shaft with a shoulder fillet: pull, bending, torsion.

D large and d small diameter, r fillet radius, h = (D - d) / 2 the step. All are cubics in 2 h / D,

    Kt = C1 + C2 (2h/D) + C3 (2h/D)^2 + C4 (2h/D)^3, with C = a + b sqrt(h/r) + c h/r,

or of later finite element studies

    Kt = a + b (D/d)^-m + (r/d)^-n sqrt(P(D/d) / Q(D/d)), P and Q of fourth order,

on the nominal stress of the small section: 4 F / (pi d^2), 32 M / (pi d^3), 16 T / (pi d^3). The shoulder of the sources
is long; an end disc that is thin against the shaft bends, which no fit knows.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from ..provenance import Provenance, memory, published
from .fit_formulas import Fit, Limit

__all__ = ["SHOULDER_FITS", "shoulder_fits", "shoulder_kt"]

Rows = tuple[tuple[float, float, float], ...]


def _cubic(rows: Rows, step_over_radius: float, step_over_diameter: float) -> float:
    s = math.sqrt(step_over_radius)
    c = [a + b * s + k * step_over_radius for a, b, k in rows]
    return sum(value * step_over_diameter**i for i, value in enumerate(c))


def _formula(low: Rows, high: Rows | None = None) -> Callable[..., float]:
    """low: up to h/r = 2 (or everywhere); high: above."""

    def kt(*, step_over_radius: float, step_over_diameter: float) -> float:
        rows = low if high is None or step_over_radius <= 2.0 else high
        return _cubic(rows, step_over_radius, step_over_diameter)

    return kt


PETERSON_PULL = _formula(
    ((0.926, 1.157, -0.099), (0.012, -3.036, 0.961), (-0.302, 3.977, -1.744), (0.365, -2.098, 0.878)),
    ((1.200, 0.860, -0.022), (-1.805, -0.346, -0.038), (2.198, -0.486, 0.165), (-0.593, -0.028, -0.106)),
)
PETERSON_BENDING = _formula(
    ((0.947, 1.206, -0.131), (0.022, -3.405, 0.915), (0.869, 1.777, -0.555), (-0.810, 0.422, -0.260)),
    ((1.232, 0.832, -0.008), (-3.813, 0.968, -0.260), (7.423, -4.868, 0.869), (-3.839, 3.070, -0.600)),
)
PETERSON_TORSION = _formula(
    ((0.905, 0.783, -0.075), (-0.437, -1.969, 0.553), (1.557, 1.073, -0.578), (-1.061, 0.171, 0.086))
)
ROARK_PULL = _formula(
    ((0.927, 1.149, -0.086), (0.011, -3.029, 0.948), (-0.304, 3.979, -1.737), (0.366, -2.098, 0.875)),
    ((1.225, 0.831, -0.010), (-1.831, -0.318, -0.049), (2.236, -0.522, 0.176), (-0.630, 0.009, -0.117)),
)
ROARK_BENDING = _formula(
    ((0.927, 1.149, -0.086), (0.015, -3.281, 0.837), (0.847, 1.716, -0.506), (-0.790, 0.417, -0.246)),
    ((1.225, 0.831, -0.010), (-3.790, 0.958, -0.257), (7.374, -4.834, 0.862), (-3.809, 3.046, -0.595)),
)
ROARK_TORSION = _formula(
    ((0.953, 0.680, -0.053), (-0.493, -1.820, 0.517), (1.621, 0.908, -0.529), (-1.081, 0.232, 0.065))
)


def _elements(
    plain: float,
    falling: float,
    power: float,
    root: float,
    over: tuple[float, float, float],
    under: tuple[float, float],
) -> Callable[..., float]:
    """over: constant, second and fourth order above the line; under: second and fourth below it, the constant is 1."""

    def kt(*, large_over_small: float, radius_over_small: float) -> float:
        q = large_over_small**2
        ratio = (over[0] + over[1] * q + over[2] * q**2) / (1 + under[0] * q + under[1] * q**2)
        notch = math.pow(radius_over_small, -root) * math.sqrt(ratio)
        return plain + falling * math.pow(large_over_small, -power) + notch

    return kt


ELEMENTS_PULL = _elements(0.493, 0.480, 2.43, 0.48, (3.43, -3.41, -0.0232), (-8.85, -0.078))
ELEMENTS_BENDING = _elements(0.632, 0.377, 4.4, 0.5, (-0.14, -0.363, 0.503), (-2.39, 3.368))
ELEMENTS_TORSION = _elements(0.78, 0.2, 10.0, 0.46, (0.002, -0.125, 0.123), (-2.75, 2.55))

SEVERAL = "seen in several secondary reproductions that agree in every sign; copies with other signs are wrong"
PETERSON: Provenance = published("Peterson's Stress Concentration Factors, 3rd ed., charts 3.4, 3.10, 3.12", SEVERAL)
ROARK: Provenance = published(
    "Roark's Formulas for Stress and Strain, table 17.1, stepped round shaft", "seen in secondary reproductions"
)
ELEMENTS: Provenance = published(
    "S. M. Tipton, J. R. Sorem, R. D. Rolovic, Updated stress concentration factors for filleted shafts in bending and "
    "tension, J. Mech. Des. 118 (1996) p. 321",
    "coefficients seen in open codes, one of which names the paper; the range is recalled, not confirmed",
)
ELEMENTS_TWIST: Provenance = memory(
    "torsion formula of the same form, taken to be of the same authors; coefficients seen in two open codes that name no "
    "source"
)

# share of the step in the large diameter
STEP = Limit(0.0, 1.0, open=True)
# against values computed here with harmonic finite elements, D/d 1.05 to 6, r/d 0.01 to 0.3 (tests/published)
LOW_CHART = (
    "1.7 to 24 % below computed values, most for small radii; a finite element study of 2009 found the same 24 %"
)
NOTES = {
    "shoulder_thrust_elements": "within 1.5 % of computed values",
    "shoulder_bending_elements": "within 1.4 % of computed values",
    "shoulder_torsion_elements": "-2.5 to +1.3 % off computed values",
    "shoulder_thrust_peterson": LOW_CHART,
    "shoulder_bending_peterson": "-12 to +3.7 % off computed values; low for small steps and radii",
    "shoulder_torsion_peterson": "+0.6 to +3.8 % off computed values",
    "shoulder_thrust_roark": "1.1 to 22 % below computed values, most for small radii",
    "shoulder_bending_roark": "-13 to +2.0 % off computed values; low for small steps and radii",
    "shoulder_torsion_roark": "-1.8 to +1.2 % off computed values",
}


def _fit(name: str, label: str, formula: Callable[..., float], limits: dict[str, Limit], source: Provenance) -> Fit:
    words = {"thrust": "pull", "bending": "bending", "torsion": "torsion"}[name.split("_")[1]]
    what = f"stepped round shaft with a shoulder fillet, {words}"
    return Fit(name, label, what, "net", formula, limits, source, None, NOTES[name])


def _steps(least: float, most: float) -> dict[str, Limit]:
    return {"step_over_radius": Limit(least, most), "step_over_diameter": STEP}


RATIOS = {"large_over_small": Limit(1.01, 6.0), "radius_over_small": Limit(0.002, 0.3)}
STUDY = "finite element study"

SHOULDER_FITS: dict[str, Fit] = {
    f.name: f
    for f in (
        _fit("shoulder_thrust_elements", STUDY, ELEMENTS_PULL, RATIOS, ELEMENTS),
        _fit("shoulder_bending_elements", STUDY, ELEMENTS_BENDING, RATIOS, ELEMENTS),
        _fit("shoulder_torsion_elements", STUDY, ELEMENTS_TORSION, RATIOS, ELEMENTS_TWIST),
        _fit("shoulder_thrust_peterson", "Peterson chart 3.4", PETERSON_PULL, _steps(0.1, 20.0), PETERSON),
        _fit("shoulder_bending_peterson", "Peterson chart 3.10", PETERSON_BENDING, _steps(0.1, 20.0), PETERSON),
        _fit("shoulder_torsion_peterson", "Peterson chart 3.12", PETERSON_TORSION, _steps(0.25, 4.0), PETERSON),
        _fit("shoulder_thrust_roark", "Roark table 17.1", ROARK_PULL, _steps(0.25, 20.0), ROARK),
        _fit("shoulder_bending_roark", "Roark table 17.1", ROARK_BENDING, _steps(0.25, 20.0), ROARK),
        _fit("shoulder_torsion_roark", "Roark table 17.1", ROARK_TORSION, _steps(0.25, 4.0), ROARK),
    )
}


def shoulder_kt(fit: Fit, *, large_diameter_mm: float, small_diameter_mm: float, fillet_radius_mm: float) -> float:
    """Kt of a fit on the small section's nominal stress. Raises OutsideRange outside its range."""
    step = 0.5 * (large_diameter_mm - small_diameter_mm)
    ratios = {
        "step_over_radius": step / fillet_radius_mm,
        "step_over_diameter": 2 * step / large_diameter_mm,
        "large_over_small": large_diameter_mm / small_diameter_mm,
        "radius_over_small": fillet_radius_mm / small_diameter_mm,
    }
    return fit.kt(**{name: ratios[name] for name in fit.limits})


def shoulder_fits(case: str) -> tuple[Fit, ...]:
    """The fits for "thrust", "bending" or "torsion", the closest to computed values first."""
    return tuple(f for name, f in SHOULDER_FITS.items() if name.startswith(f"shoulder_{case}"))
