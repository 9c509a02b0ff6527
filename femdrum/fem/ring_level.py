"""One mesh of the ring's ladder: a 3-D solid, its displacements, and the stress on the slot's edge."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress, UnitCase
from ..model.material import Material
from ..model.ring import Ring
from .cell import Fineness
from .elasticity import surface_stress
from .ladder import flight
from .level import Field, Level
from .mesh import Mesh
from .recovery import surface_strain
from .ring_mesh import ring_mesh, ring_supports, ring_unknowns
from .sampling import sample, unfold, weights
from .system import displacements
from .unit_cases import ring_cases

__all__ = ["RING_FLIGHTS", "ring_field", "ring_level", "ring_unknowns"]

Array = NDArray[np.float64]

# samples a cell along the edge and across it
ALONG, ACROSS = 12, 4

RING_FLIGHTS = (
    flight(Fineness(cells_per_arc=3, wall_cells=4), (3, 4, 5, 6)),
    flight(Fineness(cells_per_arc=6, wall_cells=6), (4, 5, 6)),
)


def ring_field(ring: Ring, material: Material, names: Sequence[str], fineness: Fineness) -> Field:
    """Displacements of the named unit cases on the ring's quarter cell."""
    mesh = ring_mesh(ring, fineness)
    loads = [case.on_quarter(ring, len(mesh.nodes)) for case in ring_cases(ring, mesh, material, names)]
    supports = ring_supports(ring, mesh)
    force = np.stack([load.force for load in loads], -1)
    solved = displacements(mesh, material, supports, force, np.array([[load.resultant for load in loads]]))
    return Field(mesh, solved.u, tuple(loads), solved.unknowns, solved.solver)


def ring_level(ring: Ring, material: Material, names: Sequence[str], fineness: Fineness) -> Level:
    """The named unit cases with their stress on the edge of slots that have a radius."""
    f = ring_field(ring, material, names, fineness)
    edge = _edge(f.mesh, material, f.u, tuple(load.case for load in f.loads))
    return Level(f.mesh, f.u, f.loads, f.unknowns, f.solver, edge)


def _edge(mesh: Mesh, material: Material, u: Array, cases: tuple[UnitCase, ...]) -> EdgeStress:
    p, grid = mesh.order, mesh.edge
    s = sample(grid.s_mm, p, ALONG, 0)
    closed = np.concatenate([s[:-1], 2 * s[-1] - s[:0:-1], 2 * s[-1] + s[:-1], 4 * s[-1] - s[:0:-1], 4 * s[-1:]])
    along = weights(closed)
    along[0] += along[-1]
    even = np.array([1.0, 1.0, -1.0])  # the shear component turns its sign with the direction of the edge
    stress, places, areas, depth, offset = [], [], [], [], []
    for nodes, place, dep, off in zip(grid.bands, grid.place_mm, grid.depth_mm, grid.offset_mm, strict=True):
        strain = surface_strain(mesh.nodes[nodes], u[nodes], p)
        band = surface_stress(strain, 0.0, material)  # [s, d, case, 3]
        band = sample(sample(band, p, ALONG, 0), p, ACROSS, 1)
        stress.append(unfold(band, even, even))
        quarter = sample(sample(place, p, ALONG, 0), p, ACROSS, 1)
        places.append(unfold(quarter, np.array([-1.0, 1.0, 1.0]), np.array([1.0, -1.0, 1.0])))
        depth.append(sample(dep, p, ACROSS, 0))
        offset.append(sample(off, p, ACROSS, 0))
        path = sample(mesh.nodes[nodes[0]], p, ACROSS, 0)
        across = weights(np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=-1))]))
        areas.append(along[:-1, None] * across)
    values = np.concatenate(stress, 1).transpose(2, 0, 1, 3)[:, None]
    return EdgeStress(
        cases=cases,
        s_mm=closed[:-1],
        depth_mm=np.concatenate(depth),
        offset_mm=np.concatenate(offset),
        place_mm=np.concatenate(places, 1),
        area_mm2=np.concatenate(areas, 1),
        stress=values,
        step=np.zeros_like(values),
        pressure=np.zeros(values.shape[:-1]),
    )
