"""One mesh of the ring's ladder: a 3-D solid, its displacements, and the stress on the slots' edges.

Loads that meet every slot alike are solved on a quarter of one slot's cell; all others on the copies of a plan.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress
from ..model.material import Material
from ..model.ring import Ring
from .cell import Fineness
from .ladder import flight
from .level import Field, Level
from .mesh import Mesh
from .quarter_edge import Quadrant, edge_stress, quadrant
from .ring_mesh import ring_mesh, ring_supports, ring_unknowns
from .system import displacements
from .unit_cases import RingCase, ring_cases

if TYPE_CHECKING:
    from .ring_whole import RingWhole
    from .symmetry import Plan

__all__ = ["RING_FLIGHTS", "WholeLevel", "ring_field", "ring_level", "ring_unknowns", "whole_level"]

Array = NDArray[np.float64]

# The first settles most peaks to 1 % at order 3 or 4; the others are for those who ask for more.
FIRST_CELLS = Fineness(cells_per_arc=3, growth=2.5, first_layer=0.75, wall_cells=3, far=0.1)
RING_FLIGHTS = (
    flight(FIRST_CELLS, (2, 3, 4, 5), (2, 3, 3, 4)),
    flight(Fineness(cells_per_arc=3, wall_cells=4), (4, 5, 6)),
    flight(Fineness(cells_per_arc=6, wall_cells=6), (4, 5, 6)),
)


def ring_field(ring: Ring, material: Material, names: Sequence[str], fineness: Fineness) -> Field:
    """Displacements of the named unit cases, which meet every slot alike, on the ring's quarter cell."""
    mesh = ring_mesh(ring, fineness)
    return _field(ring, mesh, material, ring_cases(ring, mesh, material, names))


def _field(ring: Ring, mesh: Mesh, material: Material, cases: Sequence[RingCase]) -> Field:
    loads = [case.on_quarter(ring, len(mesh.nodes)) for case in cases]
    supports = ring_supports(ring, mesh)
    force = np.stack([load.force for load in loads], -1)
    solved = displacements(mesh, material, supports, force, np.array([[load.resultant for load in loads]]))
    return Field(mesh, solved.u, tuple(loads), solved.unknowns, solved.solver)


def ring_level(ring: Ring, material: Material, names: Sequence[str], fineness: Fineness) -> Level:
    """The named unit cases, which meet every slot alike, with their stress on the edge of slots that have a radius."""
    mesh = ring_mesh(ring, fineness)
    cases = ring_cases(ring, mesh, material, names)
    f = _field(ring, mesh, material, cases)
    one = quadrant(mesh, material, f.u, [case.pressure((0, 0)) for case in cases])
    edge = edge_stress(mesh, [(one, one, one, one)], tuple(case.case for case in cases))
    return Level(f.mesh, f.u, f.loads, f.unknowns, f.solver, edge)


@dataclass(frozen=True)
class WholeLevel:
    """Unit cases on a whole row: fields of all copies, and the stress on the edges of all slots of the row."""

    whole: RingWhole
    edge: EdgeStress

    @property
    def mesh(self) -> Mesh:
        """The quarter cell."""
        return self.whole.mesh

    def seat_distance(self, case: int) -> Array:
        """Change of the distance between opposed seats under each unit case, mm; `case`: 1 N outward on both seats."""
        loaded = self.whole.cases[case]
        slots = sum(float(p.weight.sum()) / 4 for p in loaded.pieces)
        rows = len(self.whole.plan.all_copies) / (4 * self.whole.plan.ring.slots_around) if loaded.every_row else 1
        return self.whole.work(case) / (0.5 * slots * rows)

    @property
    def unknowns(self) -> int:
        """Unknowns of the largest system."""
        return self.whole.unknowns

    @property
    def solver(self) -> str:
        """The linear solver used."""
        return self.whole.solver


def whole_level(plan: Plan, material: Material, names: Sequence[str], fineness: Fineness) -> WholeLevel:
    """Any unit cases, solved on the copies of a plan; the middle row's slots."""
    from .ring_whole import solve_whole  # late: most rings are solved on the quarter cell

    ring = plan.ring
    whole = solve_whole(plan, material, names, fineness)
    around = 2 * ring.slots_around
    slots = []
    for slot in range(ring.slots_around):
        parts: list[Quadrant] = []
        # counter-clockwise from +x, +y
        for j, h in ((2 * slot, 0), (2 * slot - 1, 0), (2 * slot - 1, -1), (2 * slot, -1)):
            u = whole.quarter.in_space(whole.displacement(j % around, h))
            pressure = [case.pressure((j % around, h % 2)) for case in whole.cases]
            parts.append(quadrant(whole.mesh, material, u, pressure))
        slots.append((parts[0], parts[1], parts[2], parts[3]))
    return WholeLevel(whole, edge_stress(whole.mesh, slots, tuple(case.case for case in whole.cases)))
