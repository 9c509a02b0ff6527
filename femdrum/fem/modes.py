"""How the solved copies of a ring vibrate freely under the conditions of one parity.

The unknowns are those of the static system, with the nodes inside cells and without supports against rigid motions;
the macro motions of the far face are unknowns of their own: it may move against the near one as a whole, free of a
resultant, as at rest. Shift and invert with a negative shift, so that rigid motions need no support.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveFailure
from ..model.material import Material
from ..model.ring import HELD
from ..units import density_t_mm3
from .copies import Copies
from .linear import Factored
from .quarter import Quarter
from .ring_geometry import Geometry
from .ring_sector import MOTIONS, Sector
from .symmetry import Parity, Plan

__all__ = ["RIGID_FIELDS", "FreeSector", "Modes"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# rigid motions and their signs in the mirror planes (first slot's, square to it, mid-row)
RIGID_FIELDS = {"x": (1, -1, 1), "y": (-1, 1, 1), "z": (1, 1, -1), "turn": (-1, -1, 1)}
# a rigid motion's eigenvalue over the first elastic one, above which something holds what should be free
RIGID_SHARE = 1e-6
# residual of a mode that is not accepted
RESIDUAL = 1e-6


@dataclass(frozen=True)
class Modes:
    """omega [mode] in rad/s, ascending, exactly zero for rigid motions; shape [unknown, mode] of unit modal mass in
    the solved part of the drum (t). residual: how much one more step of inverse iteration moves a shape, relative.
    """

    omega: Array
    shape: Array
    rigid: int
    residual: float


class FreeSector(Sector):
    """The moving system of one parity. Fields are [copy, n, 3, column] in the copies' own frames."""

    def __init__(
        self, plan: Plan, quarter: Quarter, copies: Copies, parity: Parity, cell: tuple[Any, Any], material: Material
    ) -> None:
        from scipy.sparse import coo_array

        self.plan, self.quarter, self.parity, self.copies = plan, quarter, parity, copies
        self.geometry = Geometry(plan.ring, quarter, copies)
        self.material = material
        free = ~self._fixed()
        self.numbers = np.full(free.shape, -1, dtype=np.intp)
        self.numbers[free] = np.arange(int(free.sum()))
        names = [name for name in MOTIONS if self._has(name) and name not in HELD[plan.ring.held]]
        self.motion_names = tuple(names)
        self.unknowns = int(free.sum()) + len(names)
        self.to_cell = []  # per copy: [3 n, unknowns], the cell's components from the unknowns
        motions = [self.motion(name) for name in names]
        motions = [m / np.abs(m).max() for m in motions]
        for i, node in enumerate(copies.node):
            dofs = self.numbers[node].ravel()
            row = np.flatnonzero(dofs >= 0)
            rows, columns = [row], [dofs[row]]
            values = [np.broadcast_to(copies.signs[i], (*node.shape, 3)).ravel()[row]]
            for k, motion in enumerate(motions):
                at = np.flatnonzero(motion[i].ravel())
                rows.append(at)
                columns.append(np.full(at.size, self.unknowns - len(names) + k))
                values.append(motion[i].ravel()[at])
            entries = np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))
            self.to_cell.append(coo_array(entries, shape=(3 * node.size, self.unknowns)).tocsr())
        self.stiffness = sum(p.T @ cell[0] @ p for p in self.to_cell)
        self.mass = sum(p.T @ cell[1] @ p for p in self.to_cell)
        self.rigid_names = tuple(name for name in RIGID_FIELDS if self._moves(name))

    def _hold_rigid(self, fixed: NDArray[np.bool_]) -> None:
        """Nothing: what moves is held by its mass."""

    def _moves(self, name: str) -> bool:
        signs = RIGID_FIELDS[name]
        return self.parity == (signs if len(self.parity) == 3 else (signs[0], signs[2]))

    def force(self, nodal: Array) -> Array:
        """Force on the unknowns [unknown] of nodal forces [copy, n, 3] in the copies' own frames."""
        parts = [p.T @ f.ravel() for p, f in zip(self.to_cell, nodal, strict=True)]
        return np.asarray(sum(parts))

    def field(self, unknowns: Array, copy: int) -> Array:
        """Displacements [n, 3, column] of one copy."""
        return np.asarray((self.to_cell[copy] @ unknowns).reshape(-1, 3, unknowns.shape[1]))

    def rigid(self, name: str) -> Array:
        """The unknowns [unknown] of a rigid motion of 1 mm, or of 1 rad about the axis."""
        angle = np.arctan2(self.geometry.y, self.geometry.x)
        c, s, one = np.cos(angle), np.sin(angle), np.ones_like(angle)
        field = {
            "x": (c, -s, 0 * c), "y": (s, c, 0 * c), "z": (0 * c, 0 * c, one), "turn": (0 * c, self.geometry.radius, 0 * c),
        }[name]  # fmt: skip
        out = np.zeros(self.unknowns)
        there = self.numbers[self.copies.node]
        drum = np.stack(field, -1)  # in the drum's own cylindrical directions
        out[there[there >= 0]] = drum[there >= 0]
        return out

    def modes(self, count: int) -> Modes:
        """The lowest modes, rigid ones included."""
        from scipy.sparse import tril
        from scipy.sparse.linalg import LinearOperator, eigsh

        size = self.unknowns
        count = min(count, size - 2)
        shift = self._shift()
        factored = Factored(tril(self.stiffness + shift * self.mass).tocsc())
        inverse = LinearOperator((size, size), matvec=lambda b: factored.solve(b.reshape(-1, 1)).x[:, 0], dtype=float)
        start = np.random.default_rng(1).standard_normal(size)
        values, shape = eigsh(self.stiffness, count, self.mass, sigma=-shift, OPinv=inverse, v0=start, tol=1e-10)
        order = np.argsort(values)
        values, shape = values[order], shape[:, order]
        rigid = len(self.rigid_names)
        if rigid < count and rigid and np.abs(values[:rigid]).max() > RIGID_SHARE * values[rigid]:
            raise SolveFailure(
                "a rigid motion of the ring came out as a vibration: the model holds what should be free"
            )
        again = factored.solve((self.mass @ shape) * (values + shift)).x
        off = np.linalg.norm(again - shape, axis=0) / np.linalg.norm(shape, axis=0)
        if off.max() > RESIDUAL:
            raise SolveFailure(f"the ring's modes did not settle: residual {off.max():.1e}")
        values[:rigid] = 0.0
        return Modes(np.sqrt(values), shape, rigid, float(off.max()))

    def _shift(self) -> float:
        """Half the square of a thin ring's lowest frequency, about; it only has to lie among the first ones."""
        ring = self.plan.ring
        rho = density_t_mm3(self.material.density_kg_m3)
        return 0.3 * self.material.youngs_modulus_MPa / rho * ring.wall_mm**2 / ring.mid_radius_mm**4
