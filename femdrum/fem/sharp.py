"""A sharp corner has no finite peak: geometry decides that, and a fit of the field confirms it.

In front of a corner with 270 degrees of material the stress normal to the bisector rises as
distance^(lambda - 1), lambda = 0.5444837 (Szabo and Babuska, L-shaped domain, seen in secondary
reproductions). That component holds none of the second, weaker mode. The fit runs along the bisector in two
windows, on a mesh graded towards the corner; in a solid at mid-wall.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring
from .cell import Fineness
from .field import nodal_stress
from .level import Field, plate_field
from .mesh import Mesh
from .ring_level import ring_field
from .ring_whole import solve_whole
from .symmetry import plan_of
from .unit_cases import meets_alike

__all__ = ["EXPONENT", "WINDOWS", "confirm"]

Array = NDArray[np.float64]
Fit = tuple[tuple[str, float], ...]

EXPONENT = 0.5444837
# distances from the corner over half the short side
WINDOWS = ((0.01, 0.05), (0.005, 0.02))

PLANE = Fineness(order=6, cells_per_arc=4, sharp_cell=1e-3)
SOLID = Fineness(order=3, cells_per_arc=4, sharp_cell=2e-3, wall_cells=3)


def confirm(
    part: Plate | PlateRow | Ring,
    material: Material,
    names: Sequence[str],
    states: Array,
    on_event: Callable[[str], None] | None = None,
) -> tuple[list[Fit], Field]:
    """For each state [state, case] the exponent lambda fitted in each window, with the window in words.

    A state that leaves the corner nearly free of the first mode has no fit.
    """
    if isinstance(part, Ring):
        field = _at_first_corner(part, material, names)
    else:
        field = plate_field(part, material, names, PLANE)
    if on_event:
        on_event(f"sharp corner, {field.unknowns} unknowns")
    half = min(part.cutout.half_x_mm, part.cutout.half_y_mm)
    nodes, distance, normal = _bisector(field.mesh, part)
    fits = []
    for state in states:
        stress = nodal_stress(field.mesh, field.u @ state, material)[nodes]
        across = np.einsum("i,nij,j->n", normal, stress, normal)
        fits.append(_fit(distance / half, across))
    return fits, field


def _at_first_corner(ring: Ring, material: Material, names: Sequence[str]) -> Field:
    """The field around the first slot's corner at +x, +y."""
    if ring.rows != "helical" and ring.held == "nothing" and all(meets_alike(ring, name) for name in names):
        return ring_field(ring, material, names, SOLID)
    whole = solve_whole(plan_of(ring), material, names, SOLID)
    u = whole.quarter.in_space(whole.displacement(0, 0, inside=True))
    return Field(whole.mesh, u, (), whole.unknowns, whole.solver)


def _bisector(mesh: Mesh, part: Plate | PlateRow | Ring) -> tuple[NDArray[np.intp], Array, Array]:
    """Nodes on the bisector outside the corner, their distance from it, and the direction square to it."""
    a, b = part.cutout.half_x_mm, part.cutout.half_y_mm
    if isinstance(part, Ring):
        across, along = mesh.nodes[:, 1], mesh.nodes[:, 2]
        depth = part.outer_radius_mm - np.hypot(mesh.nodes[:, 0], mesh.nodes[:, 1])
        level = np.abs(depth - 0.5 * part.wall_mm)
        inside = level <= level.min() + 1e-6 * part.wall_mm
        normal = np.array([0.0, 1.0, -1.0]) / np.sqrt(2)
    else:
        across, along = mesh.nodes[:, 0], mesh.nodes[:, 1]
        inside = np.ones(len(mesh.nodes), dtype=bool)
        normal = np.array([1.0, -1.0, 0.0]) / np.sqrt(2)
    dx, dy = across - a, along - b
    distance = np.hypot(dx, dy)
    on = inside & (np.abs(dx - dy) <= 1e-6 * min(a, b)) & (dx > 1e-6 * min(a, b))
    nodes = np.flatnonzero(on)
    return nodes, distance[nodes], normal


def _fit(distance: Array, stress: Array) -> Fit:
    out = []
    for low, high in WINDOWS:
        there = (distance >= low) & (distance <= high)
        values = stress[there]
        if there.sum() < 3 or np.any(values * values[0] <= 0):
            return ()
        slope = np.polyfit(np.log(distance[there]), np.log(np.abs(values)), 1)[0]
        out.append((f"lambda, {low:g} to {high:g} of half the short side", float(1 + slope)))
    return tuple(out)
