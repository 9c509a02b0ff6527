"""One system of equations: the solved copies of a ring under the conditions of one parity.

What the section carries as a whole (extension, two curvatures, twist) are macro motions: the displacement jumps
by them along the drum, and each has its resultant by virtual work. All right-hand sides share one factorisation.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any
from weakref import ref

import numpy as np
from numpy.typing import NDArray

from ..model.ring import HELD
from .copies import glued
from .corner_space import Corners, corners_of, following, prolongation
from .front_tree import FrontTree, front_tree
from .fronts import Fronts, Part
from .iterative import TwoLevels
from .linear import Factored
from .memory import require
from .quarter import Quarter
from .ring_geometry import Geometry
from .screw import reduction, screw_tie
from .shared_copies import SharedCopies
from .symmetry import Parity, Plan
from .system import lower_of, part_keys, sum_pairs

__all__ = ["MOTIONS", "Assembled", "Sector", "SectorSolution"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# bytes that assembling takes for each entry of the quarter cell's triangle
ENTRY_BYTES = 40.0

# name and signs in the three mirror planes (first slot's, square to it, mid-row)
MOTIONS = {"axial": (1, 1, 1), "bending_x": (1, -1, 1), "bending_y": (-1, 1, 1), "torsion": (-1, -1, -1)}


class Assembled:
    """Glued copies, and their summed stiffness as upper node pairs where one asks for it."""

    def __init__(self, plan: Plan, quarter: Quarter) -> None:
        self.plan, self.quarter = plan, quarter
        joined = plan.periodic and plan.ring.rows != "helical"  # a helix joins its faces between nodes
        self.copies = glued(plan.ring, quarter.mesh, plan.sectors, plan.halves, around=plan.periodic, along=joined)

    @cached_property
    def pairs(self) -> tuple[Index, Index, Array]:
        """Rows, columns and blocks [k, 9]."""
        quarter, copies = self.quarter, self.copies
        keys, blocks = [], []
        for copy, node in zip(copies.items, copies.node, strict=True):
            sign = np.outer(copy.sign, copy.sign).ravel()
            own_rows, own_columns, own = quarter.pairs
            rows, columns = node[own_rows], node[own_columns]
            block = own * sign
            turned = rows > columns
            if turned.any():
                block = block.copy()
                block[turned] = block[turned].reshape(-1, 3, 3).transpose(0, 2, 1).reshape(-1, 9)
            same = (rows == columns) & (own_rows != own_columns)
            if same.any():  # a copy glued to itself: both halves of the pair fall on one block
                block[same] += block[same].reshape(-1, 3, 3).transpose(0, 2, 1).reshape(-1, 9)
            keys.append(np.minimum(rows, columns) * copies.count + np.maximum(rows, columns))
            blocks.append(block)
        return sum_pairs(np.concatenate(keys), np.concatenate(blocks), copies.count)

    @cached_property
    def used(self) -> NDArray[np.bool_]:
        """Nodes of the copies that are not inside parts."""
        used = np.zeros(self.copies.count, dtype=bool)
        used[self.copies.node[:, self.quarter.used]] = True
        return used

    @cached_property
    def tree(self) -> FrontTree:
        """In which order all copies' parts are joined."""
        ring, nodes = self.plan.ring, self.quarter.mesh.nodes
        parts: list[Index] = []
        keys: list[Array] = []
        angle = np.arctan2(nodes[:, 1], nodes[:, 0])
        for copy, node in zip(self.copies.items, self.copies.node, strict=True):
            parts += [node[part] for b in self.quarter.batches for part in b.cells]
            place = np.stack([ring.mid_radius_mm * copy.angle(ring, angle), copy.height(ring, nodes[:, 2])])
            own = part_keys(self.quarter.batches, nodes)
            middle = [place[:, b.cells].mean(2) for b in self.quarter.batches]
            keys.append(np.vstack([np.concatenate(middle, 1), own[2:] + 4 * len(keys)]))
        return front_tree(parts, self.copies.count, np.concatenate(keys, 1))

    def fronts(self, numbers: Index, unknowns: int) -> Fronts:
        """The system over numbered components [node, 3], factored."""
        parts = []
        for copy, node in zip(self.copies.items, self.copies.node, strict=True):
            plain = bool((copy.sign == 1.0).all())
            for b in self.quarter.batches:
                dofs = numbers[node[b.cells]].reshape(len(b.cells), -1)
                sign = None if plain else np.tile(copy.sign, b.cells.shape[1])
                parts += [Part(own, matrix, sign) for own, matrix in zip(dofs, b.matrix, strict=True)]
        return Fronts(self.tree, parts, unknowns)

    def lower(self, numbers: Index, unknowns: int) -> Any:
        """Lower triangle (csc) over numbered components [node, 3]."""
        require(unknowns, ENTRY_BYTES * len(self.copies.items) * self.quarter.entries, "the matrix of a system")
        return lower_of(*self.pairs, numbers, unknowns)

    @cached_property
    def corners(self) -> Corners:
        """The coarse space of the quarter cell."""
        return corners_of(self.quarter.mesh, self.quarter.frame)


@dataclass(frozen=True)
class SectorSolution:
    """u [copy, n, 3, case] in each copy's own frame, without what lies inside cells; sizes and resultants of the macro
    motions [motion, case], of the whole section.
    """

    u: Array
    sizes: Array
    resultants: Array


class Sector:
    """The system of one parity, factored. Fields are [copy, n, 3, column] in the copies' own frames."""

    def __init__(self, plan: Plan, quarter: Quarter, whole: Assembled, parity: Parity) -> None:
        self.plan, self.quarter, self.parity = plan, quarter, parity
        self.copies = whole.copies
        ring = plan.ring
        self.geometry = Geometry(ring, quarter, self.copies)
        fixed = self._fixed()
        free = whole.used[:, None] & ~fixed
        self.numbers = np.full(free.shape, -1, dtype=np.intp)
        self.numbers[free] = np.arange(int(free.sum()))
        self.unknowns = int(free.sum())
        self.reduction: Any = None
        self.followers = np.zeros(0, dtype=np.intp)
        if ring.rows == "helical":  # the far face follows the near one, turned
            tie = screw_tie(plan, quarter.mesh, self.copies)
            self.reduction = reduction(self.numbers, self.unknowns, tie)
            self.followers = self.numbers[tie[0]][self.numbers[tie[0]] >= 0]
        solved_for = self.unknowns if self.reduction is None else self.reduction.shape[1]
        me = ref(self)  # a plain reference would close a circle, and factors live until somebody collects

        def alive() -> Sector:
            found = me()
            assert found is not None
            return found

        plain = self.reduction is None
        self.factored = Factored(
            lambda: alive()._lower(whole),
            lambda: alive()._levels(whole),
            solved_for,
            (lambda: whole.fronts(alive().numbers, alive().unknowns)) if plain else None,
        )
        self.solver, self.residual = "", 0.0
        self.motion_names = tuple(name for name in MOTIONS if self._has(name))
        self.motions = np.stack([self.motion(name) for name in self.motion_names], -1) if self.motion_names else None
        if self.motions is not None:
            q = self._solve(-self._push(self.motions))
            self.motion_field = q + self.motions
            self.motion_push = self._push(self.motion_field)

    def _lower(self, whole: Assembled) -> Any:
        """Lower triangle of the whole matrix (csc)."""
        from scipy.sparse import tril

        lower = whole.lower(self.numbers, self.unknowns)
        if self.reduction is None:
            return lower
        full = lower + tril(lower, -1).T
        return tril(self.reduction.T @ full @ self.reduction).tocsc()

    def _levels(self, whole: Assembled) -> TwoLevels:
        """Two levels that do without the whole matrix."""
        copies = self.copies
        shape = (len(self.quarter.mesh.nodes), 3)
        signs = [np.broadcast_to(sign, shape) for sign in copies.signs]
        corners = [(whole.corners, node, sign) for node, sign in zip(copies.node, signs, strict=True)]
        coarse, at = prolongation(corners, self.numbers, self.unknowns)
        if self.reduction is not None:
            coarse = following(coarse, at, self.reduction, self.followers)
        shared = SharedCopies(self.quarter, copies, self.numbers, self.unknowns, self.reduction)
        return shared.levels(coarse)

    def _has(self, name: str) -> bool:
        if self.plan.periodic:
            return not (self.plan.turned and name.startswith("bending"))
        signs = MOTIONS[name]
        return self.parity == (signs if len(self.parity) == 3 else (signs[0], signs[2]))

    # conditions on the planes

    def _fixed(self) -> NDArray[np.bool_]:
        fixed = np.zeros((self.copies.count, 3), dtype=bool)
        ring, plan = self.plan.ring, self.plan
        mesh, node = self.quarter.mesh, self.copies.node
        if plan.periodic:
            corner = self.geometry.corner
            if plan.turned:  # the screw leaves only motions along and about the axis
                fixed[node[self._copy(0, plan.halves[0]), corner(0.0)], 1:] = True
                return fixed
            near = plan.halves[0]  # the far face may follow the near one
            fixed[node[self._copy(0, near), corner(0.0)]] = True
            odd = ring.slots_around % 2
            j = ring.slots_around - odd
            fixed[node[self._copy(j, near), corner(1.0 if odd else 0.0)], 1] = True
            return fixed
        slot, far, row = (self.parity[0], self.parity[-2], self.parity[-1])
        around = {1: [1], -1: [0, 2]}
        along = {1: [2], -1: [0, 1]}
        for i, c in enumerate(self.copies.items):
            planes = []
            if c.j == plan.sectors[0]:
                planes.append(("x_max" if c.mirror_x else "x_min", around[slot]))
            if c.j == plan.sectors[-1]:
                planes.append(("x_min" if c.mirror_x else "x_max", around[far]))
            if c.h == plan.halves[0]:
                planes.append(("y_max" if c.mirror_y else "y_min", along[row]))
            if c.h == plan.halves[-1]:
                planes.append(("y_min" if c.mirror_y else "y_max", along[row]))
            for face, components in planes:
                for component in components:
                    fixed[node[i, mesh.face_nodes(face)], component] = True
        self._hold_rigid(fixed)
        return fixed

    def _hold_rigid(self, fixed: NDArray[np.bool_]) -> None:
        """One component at a node for each rigid motion that the parity leaves; balanced loads put no force there."""
        at_slot = self._end_node(0)
        at_far = self._end_node(-1)
        holds: dict[Parity, list[tuple[int, int]]]
        if len(self.parity) == 3:
            holds = {
                (1, -1, 1): [(at_slot, 0)], (-1, 1, 1): [(at_far, 0)],
                (-1, -1, 1): [(at_slot, 1)], (1, 1, -1): [(at_slot, 2)],
            }  # fmt: skip
        else:
            holds = {(1, 1): [(at_slot, 0)], (-1, 1): [(at_slot, 1), (at_far, 1)], (1, -1): [(at_slot, 2)]}
        for node, component in holds.get(self.parity, []):
            fixed[node, component] = True

    def _end_node(self, which: int) -> int:
        """A node on the first or last plane around, in the middle of a half-row's far side, at the outer surface."""
        j = self.plan.sectors[which]
        i = self._copy(j, self.plan.halves[0])
        c = self.copies.items[i]
        low = c.mirror_x if which == 0 else not c.mirror_x
        return int(self.copies.node[i, self.geometry.ligament(1.0 if low else 0.0)])

    def _copy(self, j: int, h: int) -> int:
        return self.plan.halves.index(h) * len(self.plan.sectors) + self.plan.sectors.index(j)

    # macro motions

    def motion(self, name: str) -> Array:
        """[copy, n, 3]: the displacement of the far face against the near one for a unit of the motion."""
        g = self.geometry
        if name == "torsion":
            field = np.stack([0 * g.radius, g.radius, 0 * g.radius], -1)
        else:
            lever = {"axial": np.ones_like(g.x), "bending_x": g.x, "bending_y": g.y}[name]
            field = np.stack([0 * lever, 0 * lever, lever], -1)
        length = self.plan.length_mm if self.plan.periodic else 0.5 * self.plan.length_mm
        return self.on_far_face(length * field * self.copies.signs[:, None, :])

    def on_far_face(self, field: Array) -> Array:
        """The field [copy, n, 3] on the far face, zero elsewhere."""
        out = np.zeros_like(field)
        mesh = self.quarter.mesh
        for i, c in enumerate(self.copies.items):
            if c.h == self.plan.halves[-1]:
                nodes = mesh.face_nodes("y_min" if c.mirror_y else "y_max")
                out[i, nodes] = field[i, nodes]
        return out

    def unit_bending(self, name: str) -> tuple[Array, Array]:
        """Displacements [copy, n, 3] of a moment of 1 N mm, and the nodal forces that it puts on the far face."""
        resultants = np.zeros((len(self.motion_names), 1))
        resultants[self.motion_names.index(name)] = 1.0
        u = self.solve(np.zeros((*self.copies.node.shape, 3, 1)), resultants).u  # refused where bending is held
        last = np.array([c.h == self.plan.halves[-1] for c in self.copies.items], dtype=float)
        return u[..., 0], self.on_far_face(self._push(u)[..., 0] * last[:, None, None])

    def transverse(self, displacement: Array, force: Array) -> tuple[Array, Array]:
        """How 1 N of transverse force moves the far face against the near one, and loads it [copy, n, 3].

        The moment grows along the drum by force x length, so from period to period displacement and traction grow
        by those of `unit_bending` times that.
        """
        length = self.plan.length_mm
        if not self.plan.periodic:
            # mirrored with turned sign in mid-row: half of the growth falls on each side
            jump, load = 0.5 * length * displacement, 0.5 * length * force
            jump[:, :, 2], load[:, :, :2] = 0.0, 0.0
            return self.on_far_face(jump), load
        near = np.zeros_like(displacement)
        for i, c in enumerate(self.copies.items):
            if c.h == self.plan.halves[-1]:
                back = self._copy(c.j, self.plan.halves[0])
                near[i] = displacement[back] * self.copies.items[back].sign * c.sign
        return self.on_far_face(length * near), length * force

    # solving

    def solve(self, load: Array, resultants: Array, given: Array | None = None) -> SectorSolution:
        """load [copy, n, 3, case] condensed, in the copies' frames; resultants [motion, case] of the whole section.

        given [copy, n, 3, case]: a jump of known size besides (transverse force).
        """
        cases = load.shape[-1]
        right = load if given is None else load - self._push(given)
        u = self._solve(right)
        if given is not None:
            u = u + given
        if self.motions is None:
            return SectorSolution(u, np.zeros((0, cases)), np.zeros((0, cases)))
        share = self.plan.length_mm / len(self.plan.elements)
        work = np.einsum("cnim,cnik->mk", self.motions, self._push(u) - load, optimize=True)
        stiffness = np.einsum("cnim,cnik->mk", self.motions, self.motion_push, optimize=True)
        resultants = resultants - self._beyond_boundary(load)
        sizes = np.zeros((len(self.motion_names), cases))
        held = HELD[self.plan.ring.held]
        free = np.flatnonzero([name not in held for name in self.motion_names])
        if free.size:
            sizes[free] = np.linalg.solve(stiffness[np.ix_(free, free)], share * resultants[free] - work[free])
        return SectorSolution(u + self.motion_field @ sizes, sizes, (work + stiffness @ sizes) / share)

    def _beyond_boundary(self, load: Array) -> Array:
        """What the last half-row's own load adds between the row boundary and the far face [motion, case].

        A section's resultants are those midway between rows. The far face of an even number of rows is a row's
        middle, so they are carried on to there, by the equilibrium of the half-row under a rigid motion of it.
        """
        out = np.zeros((len(self.motion_names), load.shape[-1]))
        last = self.plan.halves[-1]
        if self.plan.periodic or last % 2 == 0:
            return out
        g, zero = self.geometry, np.zeros_like(self.geometry.x)
        height = np.stack([c.height(self.plan.ring, self.quarter.mesh.nodes[:, 2]) for c in self.copies.items])
        lever = height - 0.5 * last * self.plan.ring.pitch_mm
        radial = {"bending_x": g.x / g.radius, "bending_y": g.y / g.radius}
        around = {"bending_x": -g.y / g.radius, "bending_y": g.x / g.radius}
        for m, name in enumerate(self.motion_names):
            if name == "torsion":
                field = np.stack([zero, g.radius, zero], -1)
            elif name == "axial":
                field = np.stack([zero, zero, zero + 1.0], -1)
            else:
                across = g.x if name == "bending_x" else g.y
                field = np.stack([-lever * radial[name], -lever * around[name], across], -1)
            field = field * self.copies.signs[:, None, :]
            for i, c in enumerate(self.copies.items):
                if c.h == last:
                    out[m] += np.einsum("ni,nik->k", field[i], load[i])
        return 0.5 * len(self.plan.elements) * out

    def _push(self, u: Array) -> Array:
        return np.stack([self.quarter.push(part) for part in u])

    def _solve(self, load: Array) -> Array:
        """Displacements under nodal forces, macro motions at rest."""
        columns = load.shape[-1]
        rhs = np.zeros((self.unknowns + 1, columns))  # held components land in the spare last row
        dofs = self.numbers[self.copies.node]
        np.add.at(rhs, dofs.ravel(), (load * self.copies.signs[:, None, :, None]).reshape(-1, columns))
        right = rhs[:-1] if self.reduction is None else self.reduction.T @ rhs[:-1]
        solved = self.factored.solve(right)
        self.solver, self.residual = solved.solver, max(self.residual, solved.residual)
        found = solved.x if self.reduction is None else self.reduction @ solved.x
        x = np.concatenate([found, np.zeros((1, columns))])
        return np.asarray(x[dofs] * self.copies.signs[:, None, :, None])
