"""How an end disc yields where the stub tilts against the shell: a plate, clamped at its rim, with a rigid hub.

Bending of the plate by its exact solution w = (A r + B r^3 + C / r + D r ln r) cos(angle); the moment that passes is
M = -4 pi K D, K the plate's stiffness. Shear adds its energy under the same forces, which bounds the yielding from above
where the plate is thick. A shell that itself tilts under the rim is not in it.
"""

from __future__ import annotations

import math

import numpy as np

from ..figure import stated
from ..model.check import Checks
from ..provenance import computed

__all__ = ["disc_tilt_Nmm_rad"]

PLATE = computed("thin plate with a rigid hub, clamped rim, exact; shear by its energy")
SHEAR_SHARE = 5.0 / 6.0


@stated(
    "stiffness of an end disc against tilting of the stub", "kN·m/rad", "M / angle, plate with a rigid hub", PLATE, 1e-6
)
def disc_tilt_Nmm_rad(
    *, rim_radius_mm: float, hub_radius_mm: float, thickness_mm: float, youngs_modulus_MPa: float, poissons_ratio: float
) -> float:
    """Moment on the stub per angle by which it tilts against the disc's clamped rim, N mm/rad. Raises InputFault."""
    checks = Checks()
    if checks.positive("rim_radius_mm", rim_radius_mm):
        checks.number("hub_radius_mm", hub_radius_mm, above=0.0, below=rim_radius_mm)
    checks.positive("thickness_mm", thickness_mm)
    checks.positive("youngs_modulus_MPa", youngs_modulus_MPa)
    checks.number("poissons_ratio", poissons_ratio, least=0.0, below=0.5)
    checks.done()
    plate = youngs_modulus_MPa * thickness_mm**3 / (12 * (1 - poissons_ratio**2))
    b = hub_radius_mm / rim_radius_mm

    def rows(r: float) -> list[list[float]]:
        return [[r, r**3, 1 / r, r * math.log(r)], [1.0, 3 * r**2, -1 / r**2, math.log(r) + 1]]

    # in rim radii: rim at rest, hub turned by one
    coefficients = np.linalg.solve(np.array([*rows(1.0), *rows(b)]), np.array([0.0, 0.0, b, 1.0]))
    bending = -4 * math.pi * plate * float(coefficients[3])
    shear_modulus = youngs_modulus_MPa / (2 * (1 + poissons_ratio))
    shear = (1 / hub_radius_mm**2 - 1 / rim_radius_mm**2) / (4 * math.pi * SHEAR_SHARE * shear_modulus * thickness_mm)
    return 1 / (1 / bending + shear)
