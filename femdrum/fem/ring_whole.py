"""All unit cases on a whole row of the drum: loads split by parity, balanced, solved, put together again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault
from ..model.material import Material
from ..model.ring import HELD, Ring
from ..units import density_t_mm3
from .cell import Fineness
from .copies import Copy
from .elasticity import volume_load
from .mesh import Mesh
from .quarter import Quarter, quarter
from .ring_mesh import ring_mesh
from .ring_sector import MOTIONS, Assembled, Sector, SectorSolution
from .symmetry import Parity, Plan
from .unit_cases import RingCase, ring_cases

__all__ = ["Relief", "RingWhole", "solve_whole"]

Array = NDArray[np.float64]

# a resultant below this share of the load's own size is rounding
NOTHING = 1e-9


@dataclass(frozen=True)
class Relief:
    """Rigid accelerations that balance a unit case: x, y, z in mm/s2, about the axis in rad/s2; the net force in N
    and the net torque in N mm that they carry, per row.
    """

    acceleration: tuple[float, float, float, float]
    net: tuple[float, float, float, float]

    @property
    def any(self) -> bool:
        """True where the case is not in balance by itself."""
        return any(self.acceleration)


@dataclass(frozen=True)
class Solved:
    """What one parity gave: which cases it holds, and their fields."""

    parity: Parity
    cases: tuple[int, ...]
    weights: Array  # [copy, base, case]
    solution: SectorSolution
    motion_names: tuple[str, ...]


@dataclass(frozen=True)
class RingWhole:
    """Unit cases solved on a plan. motions [motion, case]: extension, curvatures (1/mm), twist (rad/mm) in the order
    of ring_sector.MOTIONS; compliance [case, case]: work of one case's forces on the other's displacements in one
    period (N mm), NaN where the first case has forces inside the wall.
    """

    plan: Plan
    quarter: Quarter
    cases: tuple[RingCase, ...]
    parts: tuple[Solved, ...]
    relief: tuple[Relief, ...]
    unknowns: int
    solver: str
    residual: float

    @property
    def mesh(self) -> Mesh:
        """The quarter cell."""
        return self.quarter.mesh

    def displacement(self, j: int, h: int, *, inside: bool = False) -> Array:
        """[n, 3, case] of copy (j, h), in the quarter cell's own frame as if the copy stood there.

        inside: also at nodes inside cells (for pictures).
        """
        home, bits = self.plan.home(j, h)
        at = self.plan.halves.index(home[1]) * len(self.plan.sectors) + self.plan.sectors.index(home[0])
        n = len(self.mesh.nodes)
        out = np.zeros((n, 3, len(self.cases)))
        for part in self.parts:
            u = part.solution.u[at].copy()
            self.quarter.fill(u, part.weights[at], cells=inside)
            out[..., list(part.cases)] += self.plan.character(part.parity, bits) * u
        return out

    @cached_property
    def motions(self) -> Array:
        """Sizes of the macro motions [motion, case]; of transverse forces they depend on how the plan is held."""
        return self._by_motion([part.solution.sizes for part in self.parts])

    @cached_property
    def resultants(self) -> Array:
        """What the section carries by its macro motions [motion, case]: N, or N mm; not zero where they are held."""
        return self._by_motion([part.solution.resultants for part in self.parts])

    def _by_motion(self, values: Sequence[Array]) -> Array:
        out = np.zeros((len(MOTIONS), len(self.cases)))
        names = list(MOTIONS)
        for part, own in zip(self.parts, values, strict=True):
            for name, row in zip(part.motion_names, own, strict=True):
                out[names.index(name), list(part.cases)] += row
        return out

    def work(self, case: int) -> Array:
        """Work of a case's forces on the displacements of every case, in one period, N mm. The case's forces must
        stand on the surface (flanks, bore).
        """
        total = np.zeros(len(self.cases))
        for part in self.parts:
            if case not in part.cases:
                continue
            weights = part.weights[..., part.cases.index(case)].copy()
            weights[:, -len(RIGID) :] = 0.0  # the balancing inertia is not part of the load
            force = np.einsum("nib,cb->cni", self.quarter.load, weights, optimize=True)
            total[list(part.cases)] += len(self.plan.elements) * np.einsum("cni,cnik->k", force, part.solution.u)
        return total


# rigid accelerations that may balance a load
RIGID = ("x", "y", "z", "about the axis")


def solve_whole(
    plan: Plan, material: Material, names: Sequence[str], fineness: Fineness, mesh: Mesh | None = None
) -> RingWhole:
    """Solve the named unit cases on the copies of a plan."""
    ring = plan.ring
    mesh = ring_mesh(ring, fineness) if mesh is None else mesh
    cases = tuple(ring_cases(ring, mesh, material, names))
    pieces = [piece.force for case in cases for piece in case.pieces]
    _refuse(plan, cases)
    base = np.stack([*pieces, *_inertia(mesh, material)], -1)
    balance = _Balance(plan, mesh, base)
    weigh, relief = [], []
    start = 0
    for case in cases:
        weights, rest = balance.weights(case, start)
        start += len(case.pieces)
        weigh.append(weights)
        relief.append(rest)
    cell = quarter(mesh, material, base)
    whole = Assembled(plan, cell)
    bending: dict[str, tuple[Array, Array]] = {}
    parts, unknowns, solver, residual = [], 0, "", 0.0
    for parity in plan.parities:
        split = _projected(plan, parity, weigh)  # [copy, base, case]
        wanted = [i for i in range(len(cases)) if np.abs(split[..., i]).max() > 0 or _carries(plan, parity, cases[i])]
        lends = any(c.transverse != (0.0, 0.0) for c in cases) and _bends(plan, parity)
        if not wanted and not lends:
            continue
        sector = Sector(plan, cell, whole, parity)
        unknowns = max(unknowns, sector.unknowns)
        if lends:
            bending |= {name: sector.unit_bending(name) for name in TRANSVERSE if name in sector.motion_names}
        if not wanted:
            continue
        chosen = split[..., wanted]
        load = np.einsum("nib,cbk->cnik", cell.load, chosen, optimize=True)
        resultants, jump, pulled = _section(plan, parity, sector, [cases[i] for i in wanted], bending)
        solution = sector.solve(load + pulled, resultants, jump)
        parts.append(Solved(parity, tuple(wanted), chosen, solution, sector.motion_names))
        solver, residual = sector.solver, max(residual, sector.residual)
    return RingWhole(plan, cell, cases, tuple(parts), tuple(relief), unknowns, solver, residual)


def _refuse(plan: Plan, cases: Sequence[RingCase]) -> None:
    """Cases that the plan cannot carry, with the model that can."""
    faults = []
    held = HELD[plan.ring.held]
    for case in cases:
        if plan.turned and _across(case):
            text = "points across the drum and differs from row to row, so the turned faces of one row cannot carry it"
            faults.append(Fault("load", case.case.name, text, "aligned or alternate rows can"))
        if any(v and m in held for m, v in case.section.items()) or (held[1:] and any(case.transverse)):
            text = f"works on a motion that the ring holds (held = {plan.ring.held!r})"
            faults.append(Fault("load", case.case.name, text, "leave it free, or leave the load out"))
    if faults:
        raise InputFault(faults)


def _across(case: RingCase) -> bool:
    return bool(case.section.get("bending_x") or case.section.get("bending_y") or any(case.transverse))


def _inertia(mesh: Mesh, material: Material) -> list[Array]:
    """Nodal forces of a unit acceleration along the cell's own x, y, z, and about the axis: against it."""
    rho = density_t_mm3(material.density_kg_m3)
    zero, x, y = np.zeros(len(mesh.nodes)), mesh.nodes[:, 0], mesh.nodes[:, 1]
    one = zero + 1.0
    fields = [(one, zero, zero), (zero, one, zero), (zero, zero, one), (-y, x, zero)]
    return [-rho * volume_load(mesh.nodes, mesh.cells, mesh.orders, np.stack(f, -1)) for f in fields]


class _Balance:
    """Which rigid accelerations balance a case, and with them the weights of all base loads on every copy."""

    def __init__(self, plan: Plan, mesh: Mesh, base: Array) -> None:
        self.plan, self.count = plan, base.shape[-1]
        x, y = mesh.nodes[:, 0], mesh.nodes[:, 1]
        # force along the cell's own axes and torque about the drum's axis of each base load [base, 4]
        self.sums = np.stack([*base.sum(0), x @ base[:, 1] - y @ base[:, 0]], -1)
        self.sizes = np.linalg.norm(base, axis=1).sum(0)
        self.turns = {(c.j, c.h): _to_cell(plan.ring, c) for c in plan.all_copies}
        self.inertia = -sum((t.T @ self.sums[-4:].T @ t for t in self.turns.values()), np.zeros((4, 4)))

    def weights(self, case: RingCase, start: int) -> tuple[dict[tuple[int, int], Array], Relief]:
        """{(sector, half): [base]} and the relief; `start` is the case's first base load."""
        copies = self.plan.all_copies
        rows = len(copies) / (4 * self.plan.ring.slots_around)
        weights = {(c.j, c.h): np.zeros(self.count) for c in copies}
        for c in copies:
            if case.every_row or c.row == 0:
                for k, piece in enumerate(case.pieces):
                    weights[c.j, c.h][start + k] = piece.weight[c.own_j, c.h % 2]
        net = sum((self.turns[at].T @ (w @ self.sums) for at, w in weights.items()), np.zeros(4))
        size = sum(float(np.abs(w) @ self.sizes) for w in weights.values())
        net[np.abs(net) <= NOTHING * size * np.array([1.0, 1.0, 1.0, self.plan.ring.outer_radius_mm])] = 0.0
        if self.plan.turned:
            # what points across the drum turns from row to row: the rows balance each other through the shell
            net[:2] = 0.0
        acceleration = np.linalg.solve(self.inertia, net) if net.any() else net
        if net.any():
            for at, turn in self.turns.items():
                weights[at][-4:] += turn @ acceleration
        a, b, c_, d = (float(v) for v in acceleration)
        f, g, h, t = (float(v) / rows for v in net)
        return weights, Relief((a, b, c_, d), (f, g, h, t))


def _to_cell(ring: Ring, c: Copy) -> Array:
    """[4, 4]: vector along X, Y, Z and rotation about Z on the drum, as the copy's own quarter cell sees them."""
    turn = (c.j + c.mirror_x) * math.pi / ring.slots_around
    mirror_x, mirror_y = -1.0 if c.mirror_x else 1.0, -1.0 if c.mirror_y else 1.0
    out = np.zeros((4, 4))
    out[0, :2] = math.cos(turn), math.sin(turn)
    out[1, :2] = -mirror_x * math.sin(turn), mirror_x * math.cos(turn)
    out[2, 2], out[3, 3] = mirror_y, mirror_x
    return out


def _projected(plan: Plan, parity: Parity, weigh: Sequence[dict[tuple[int, int], Array]]) -> Array:
    """The part of this parity of all cases' weights [solved copy, base, case]."""
    out = []
    for h in plan.halves:
        for j in plan.sectors:
            total: Array = np.zeros((weigh[0][plan.all_copies[0].j, plan.all_copies[0].h].size, len(weigh)))
            for bits, move in plan.elements:
                at = move(j, h)
                total += plan.character(parity, bits) * np.stack([w[at] for w in weigh], -1)
            total /= len(plan.elements)
            out.append(np.where(np.abs(total) < 1e-13 * max(np.abs(total).max(), 1e-300), 0.0, total))
    return np.stack(out)


def _signs(plan: Plan, signs: tuple[int, int, int]) -> Parity:
    """The parity in a plan that has both planes around, one of them, or none."""
    return () if plan.periodic else signs if len(plan.planes) == 3 else (signs[0], signs[2])


TRANSVERSE = {"bending_x": (1, -1, -1), "bending_y": (-1, 1, -1)}


def _carries(plan: Plan, parity: Parity, case: RingCase) -> bool:
    """True if the section's own load of a case has a part of this parity."""
    own = any(parity == _signs(plan, MOTIONS[name]) for name, value in case.section.items() if value)
    return own or any(
        v and parity == _signs(plan, s) for v, s in zip(case.transverse, TRANSVERSE.values(), strict=True)
    )


def _bends(plan: Plan, parity: Parity) -> bool:
    return any(parity == _signs(plan, MOTIONS[name]) for name in TRANSVERSE)


def _section(
    plan: Plan, parity: Parity, sector: Sector, cases: Sequence[RingCase], bending: dict[str, tuple[Array, Array]]
) -> tuple[Array, Array, Array]:
    """Resultants [motion, case]; jump and load of transverse forces [copy, n, 3, case]; for one parity."""
    resultants = np.array([[c.section.get(name, 0.0) for c in cases] for name in sector.motion_names])
    jump = np.zeros((*sector.copies.node.shape, 3, len(cases)))
    load = np.zeros_like(jump)
    for k, case in enumerate(cases):
        for force, (name, signs) in zip(case.transverse, TRANSVERSE.items(), strict=True):
            if force and parity == _signs(plan, signs):
                moved, pulled = sector.transverse(*bending[name])
                jump[..., k] += force * moved
                load[..., k] += force * pulled
                if plan.periodic:  # the moment that the near face hands on
                    resultants[sector.motion_names.index(name), k] -= 0.5 * force * plan.length_mm
    return resultants, jump, load
