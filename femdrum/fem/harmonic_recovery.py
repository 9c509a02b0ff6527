"""Stress on free surfaces of a body of revolution, from the displacements of the surface's nodes only.

Strains in the surface (meridional, hoop, shear) come from derivatives along the section's edge; the known traction
gives the third direction, as on a slot's edge (`elasticity.surface_stress`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from .elasticity import surface_stress
from .harmonic_solve import HarmonicField
from .reference import derivative_matrix

__all__ = ["curve_stress"]

Array = NDArray[np.float64]


def curve_stress(field: HarmonicField, material: Material, curve: str, pressure: Array | float = 0.0) -> Array:
    """Stress [case, k, 3] at a curve's nodes: meridional, hoop, shear between them; MPa per unit of each case.

    The curve must be free, or carry the given pressure [case, k], and may not touch the axis. Meridional runs along the
    curve; shear is positive where it turns the meridional direction towards growing angle. Amplitudes as in
    `harmonic_element`: normal stresses with cos, shear with sin (n = 0: both constant).
    """
    section = field.section
    nodes = section.curves[curve]
    p = section.order
    place, u = section.nodes[nodes], field.u[nodes]
    n = np.array([load.harmonic.number for load in field.loads])
    strain = np.zeros((len(field.loads), len(nodes), 3))
    for tangent, slope in zip(_slopes(place, p), _slopes(u, p), strict=True):
        speed = np.linalg.norm(tangent, axis=-1)
        t = tangent / speed[:, None]
        du = slope / speed[:, None, None]
        r = place[:, :1]
        along = t[:, :1] * du[:, 0] + t[:, 1:] * du[:, 2]
        hoop = (u[:, 0] + n * u[:, 1]) / r
        shift = t[:, :1] * u[:, 0] + t[:, 1:] * u[:, 2]
        shear = 0.5 * (du[:, 1] - t[:, :1] * u[:, 1] / r - n * shift / r)
        strain += 0.5 * np.stack([along.T, hoop.T, shear.T], -1)
    return surface_stress(strain, pressure, material)


def _slopes(values: Array, order: int) -> tuple[Array, Array]:
    """Derivative in the cells' own coordinate at the nodes of a line, as the cell before and the cell after see it."""
    count = (len(values) - 1) // order
    index = np.arange(count)[:, None] * order + np.arange(order + 1)
    slope = np.einsum("ab,cb...->ca...", derivative_matrix(order), values[index], optimize=True)
    before, after = np.empty_like(values), np.empty_like(values)
    after[index[:, :-1]], after[-1] = slope[:, :-1], slope[-1, -1]
    before[index[:, 1:]], before[0] = slope[:, 1:], slope[0, 0]
    return before, after
