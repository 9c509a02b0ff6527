"""One mesh of the ladder: displacements of all unit cases and their stress on the edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress, UnitCase
from ..model.material import Material
from ..model.plate import Plate, PlateRow
from .cell import Fineness
from .mesh import Mesh
from .plate_mesh import plate_mesh, plate_supports
from .recovery import edge_strain
from .sampling import sample, unfold, weights
from .system import displacements
from .unit_cases import CaseLoad, plate_cases

__all__ = ["Field", "Level", "plate_field", "plate_level"]

Array = NDArray[np.float64]

# samples a cell along the edge; with the parabola of edge.py the peak between them is met within 1e-4
SAMPLES = 20


@dataclass(frozen=True)
class Field:
    """mesh; u [n, dim, case] in space; loads; unknowns and solver."""

    mesh: Mesh
    u: Array
    loads: tuple[CaseLoad, ...]
    unknowns: int
    solver: str


@dataclass(frozen=True)
class Level(Field):
    """A field and its stress on the slot's edge, with step zero."""

    edge: EdgeStress

    def seat_distance(self, case: int) -> Array:
        """Change of the distance between opposed seats under each unit case, mm; `case`: 1 N outward on every seat.

        By virtual work; the quarter cell holds a quarter of one of the two seats.
        """
        return np.asarray(8 * np.einsum("ni,nik->k", self.loads[case].force, self.u))


def plate_field(part: Plate | PlateRow, material: Material, names: Sequence[str], fineness: Fineness) -> Field:
    """Displacements of the named plane unit cases on a quarter of the plate."""
    mesh = plate_mesh(part, fineness)
    loads = plate_cases(part, mesh, material, names)
    u = np.zeros((len(mesh.nodes), 2, len(loads)))
    unknowns, solver = 0, ""
    for symmetric in (True, False):
        some = [i for i, load in enumerate(loads) if load.symmetric is symmetric]
        if not some:
            continue
        supports = plate_supports(part, mesh, antisymmetric=not symmetric)
        force = np.stack([loads[i].force for i in some], -1)
        resultants = np.array([[loads[i].resultant for i in some]]) if supports.motions else None
        solved = displacements(mesh, material, supports, force, resultants)
        u[..., some] = solved.u
        unknowns, solver = unknowns + solved.unknowns, solved.solver
    return Field(mesh, u, tuple(loads), unknowns, solver)


def plate_level(part: Plate | PlateRow, material: Material, names: Sequence[str], fineness: Fineness) -> Level:
    """The named plane unit cases with their stress on the edge of a cutout that has a radius."""
    f = plate_field(part, material, names, fineness)
    parity = np.array([1.0 if load.symmetric else -1.0 for load in f.loads])
    edge = _plane_edge(part, f.mesh, material, f.u, parity, tuple(load.case for load in f.loads))
    return Level(f.mesh, f.u, f.loads, f.unknowns, f.solver, edge)


def _plane_edge(
    part: Plate | PlateRow, mesh: Mesh, material: Material, u: Array, parity: Array, cases: tuple[UnitCase, ...]
) -> EdgeStress:
    nodes = mesh.edge.bands[0][:, 0]
    # a free edge of a plane-stress plate is in uniaxial stress
    along = material.youngs_modulus_MPa * edge_strain(mesh.nodes[nodes], u[nodes], mesh.order)
    along = unfold(sample(along, mesh.order, SAMPLES, 0), parity, parity)
    s = sample(mesh.edge.s_mm, mesh.order, SAMPLES, 0)
    whole = np.concatenate([s[:-1], 2 * s[-1] - s[:0:-1], 2 * s[-1] + s[:-1], 4 * s[-1] - s[:0:-1]])
    place_xy = sample(mesh.nodes[nodes], mesh.order, SAMPLES, 0)
    place = np.zeros((whole.size, 1, 3))
    place[:, 0, :2] = unfold(place_xy, np.array([-1.0, 1.0]), np.array([1.0, -1.0]))
    stress = np.zeros((len(cases), 1, whole.size, 1, 3))
    stress[:, 0, :, 0, 0] = along.T
    closed = np.append(whole, 4 * s[-1])
    area = weights(closed)
    area[0] += area[-1]
    return EdgeStress(
        cases=cases,
        s_mm=whole,
        depth_mm=np.zeros(1),
        offset_mm=np.zeros(1),
        place_mm=place,
        area_mm2=(area[:-1] * part.thickness_mm)[:, None],
        stress=stress,
        step=np.zeros_like(stress),
        pressure=np.zeros(stress.shape[:-1]),
    )
