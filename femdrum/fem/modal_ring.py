"""A ring under a load that comes and goes: its modes in every parity that the load excites, each with its share of
the load, its stress on the slots' edges, and what the balances of momentum and energy need.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress, UnitCase
from ..errors import Fault, InputFault
from ..model.material import Material
from .cell import Fineness
from .copies import glued
from .dynamic_cell import cell_matrices
from .mesh import Mesh
from .modes import RIGID_FIELDS, FreeSector
from .quarter_edge import Quadrant, edge_stress, quadrant
from .ring_whole import RIGID, RingWhole, solve_whole
from .symmetry import Parity, Plan

__all__ = ["ModalRing", "ModalSector", "modal_ring"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ModalSector:
    """One parity. omega [mode] rad/s; push [mode]: share of the load's peak, over the solved part of the drum;
    mass, stiffness [mode, mode]: of the shapes as computed (identity, and omega squared); carried [4, mode]: momentum
    of each shape along x, y, z and about the axis; impulse [4]: the same of the load; static_N_mm: twice the strain
    energy of the inertia-relieved static field of the load's peak, by the moving model's own stiffness; off: how far
    that field leaves the moving model's equations unsatisfied, relative. stress: per solved copy of the row.
    """

    parity: Parity
    omega: Array
    rigid: int
    push: Array
    mass: Array
    stiffness: Array
    carried: Array
    impulse: Array
    static_Nmm: float
    off: float
    quadrants: Mapping[int, Quadrant]
    motion_names: tuple[str, ...]
    unknowns: int
    residual: float

    def first(self, count: int) -> slice:
        """The lowest modes."""
        return slice(0, min(count, self.omega.size))


@dataclass(frozen=True)
class ModalRing:
    """All parities that the load excites; `static`: its inertia-relieved static field at the pulse's peak."""

    plan: Plan
    static: RingWhole
    factors: Array
    sectors: tuple[ModalSector, ...]
    material: Material
    mass_t: float
    inertia_tmm2: float
    every_row: bool

    @property
    def copies(self) -> int:
        """How often the solved part stands in the drum."""
        return len(self.plan.elements)

    @property
    def mesh(self) -> Mesh:
        """The quarter cell."""
        return self.static.mesh

    def slot_stress(self, slot: int) -> tuple[Array, Array, EdgeStress]:
        """Stress [1 + mode, s, d, 3] and pressure [s, d] on a slot's edge: the static field, then all modes."""
        around = 2 * self.plan.ring.slots_around
        static, moving = [], []
        for j, h in ((2 * slot, 0), (2 * slot - 1, 0), (2 * slot - 1, -1), (2 * slot, -1)):
            u = self.static.quarter.in_space(self.static.displacement(j % around, h) @ self.factors)[..., None]
            static.append(quadrant(self.mesh, self.material, u, [self._pressure(j % around, h % 2)]))
            home, bits = self.plan.home(j % around, h)
            parts = [self.plan.character(s.parity, bits) * s.quadrants[home[0]][0] for s in self.sectors]
            stress = np.concatenate([static[-1][0], *parts], 2)
            pressure = np.zeros(stress.shape[:3])
            pressure[:, :, :1] = static[-1][1]
            moving.append((stress, pressure))
        count = moving[0][0].shape[2]
        case = UnitCase("pulse", "-", "the load at the pulse's peak, then its modes")
        edge = edge_stress(self.mesh, [(moving[0], moving[1], moving[2], moving[3])], (case,) * count)
        return edge.stress[:, 0], edge.pressure[0, 0], edge

    def _pressure(self, j: int, half: int) -> tuple[Array, ...] | None:
        total: tuple[Array, ...] | None = None
        for factor, case in zip(self.factors, self.static.cases, strict=True):
            own = case.pressure((j, half))
            if own is not None:
                own = tuple(factor * band for band in own)
                total = own if total is None else tuple(a + b for a, b in zip(total, own, strict=True))
        return total


def modal_ring(
    plan: Plan,
    material: Material,
    terms: Mapping[str, float],
    fineness: Fineness,
    count: int,
    mesh: Mesh | None = None,
    *,
    stress: bool = True,
) -> ModalRing:
    """The lowest `count` modes of each parity that the load excites; terms: factors on unit cases at the pulse's peak.

    stress: also on the slots' edges. Raises InputFault for a plan or a load that cannot be struck.
    """
    if plan.periodic:
        text = (
            "cannot be struck here: their faces are joined turned, which leaves no part of the drum to move by itself"
        )
        raise InputFault(Fault("rows", plan.ring.rows, text, "aligned or alternate rows can"))
    static = solve_whole(plan, material, list(terms), fineness, mesh)
    faults = []
    for case in static.cases:
        if any(case.section.values()) or any(case.transverse):
            text = "works on the whole section, through which a wave would run on along the drum"
            faults.append(Fault("load", case.case.name, text, "a pulse stands on the slots' flanks"))
    if faults:
        raise InputFault(faults)
    factors = np.array(list(terms.values()), dtype=float)
    whole = static.quarter
    cell = cell_matrices(static.mesh, material, whole.frame)
    copies = glued(plan.ring, static.mesh, plan.sectors, plan.halves)
    base = whole.in_frame(np.stack([p.force for case in static.cases for p in case.pieces], -1))
    made = []
    for parity in sorted({part.parity for part in static.parts}, key=plan.parities.index):
        sector = FreeSector(plan, whole, copies, parity, cell, material)
        made.append(_sector(sector, static, factors, base, cell[0], count, stress))
    radius = np.hypot(static.mesh.nodes[:, 0], static.mesh.nodes[:, 1])
    along, about = (
        np.stack(f, -1).ravel() for f in ((0 * radius, 0 * radius, 0 * radius + 1), (0 * radius, radius, 0 * radius))
    )
    mass, inertia = (len(plan.all_copies) * float(v @ cell[1] @ v) for v in (along, about))
    every = all(case.every_row for case in static.cases)
    return ModalRing(plan, static, factors, tuple(made), material, mass, inertia, every)


def _sector(
    sector: FreeSector, static: RingWhole, factors: Array, base: Array, stiffness: Any, count: int, stress: bool
) -> ModalSector:
    """The modes of one parity and what they have to do with the load."""
    plan, parity = sector.plan, sector.parity
    times = len(plan.elements)
    nodal: Array = np.zeros((*sector.copies.node.shape, 3))
    u: Array = np.zeros((*sector.copies.node.shape, 3, 1))
    for part in static.parts:
        if part.parity != parity:
            continue
        share = factors[list(part.cases)]
        weights = part.weights @ share  # [copy, base]
        nodal += np.einsum("nib,cb->cni", base, weights[:, : -len(RIGID)], optimize=True)
        for c in range(len(nodal)):
            own = (part.solution.u[c] @ share)[..., None]
            static.quarter.fill(own, weights[c][:, None])
            u[c] += own
    force = sector.force(nodal)
    modes = sector.modes(count)
    push = modes.shape.T @ force
    pushed = np.stack([(stiffness @ field.ravel()).reshape(-1, 3) for field in u])
    elastic = slice(modes.rigid, None)
    off = modes.shape.T[elastic] @ sector.force(pushed) - push[elastic]
    heavy = sector.mass @ modes.shape
    carried, impulse = np.zeros((len(RIGID_FIELDS), modes.omega.size)), np.zeros(len(RIGID_FIELDS))
    for k, name in enumerate(RIGID_FIELDS):
        if name in sector.rigid_names:
            rigid = sector.rigid(name)
            carried[k], impulse[k] = times * rigid @ heavy, times * rigid @ force
    quadrants: dict[int, Quadrant] = {}
    if stress:
        none = [None] * modes.omega.size
        for i, copy in enumerate(sector.copies.items):
            if copy.h == 0:
                field = static.quarter.in_space(sector.field(modes.shape, i))
                quadrants[copy.j] = quadrant(static.mesh, sector.material, field, none)
    return ModalSector(
        parity=parity,
        omega=modes.omega,
        rigid=modes.rigid,
        push=push,
        mass=modes.shape.T @ heavy,
        stiffness=modes.shape.T @ (sector.stiffness @ modes.shape),
        carried=carried,
        impulse=impulse,
        static_Nmm=times * float(u.ravel() @ pushed.ravel()),
        off=float(np.abs(off).max(initial=0.0) / max(np.abs(push).max(), 1e-300)),
        quadrants=quadrants,
        motion_names=sector.motion_names,
        unknowns=sector.unknowns,
        residual=modes.residual,
    )
