"""What a contact solution consists of: drives, the state of each interface, and what presses on a body."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .contact_pair import Interface, Pairing

__all__ = ["ContactState", "Drive", "FaceState", "Pressed", "face_state"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
State = NDArray[np.int8]


@dataclass(frozen=True, eq=False)
class Drive:
    """What brings an interface to a given force: a load on a body (its number, nodal forces [n, 2]) of a size to be found, or,
    without one, the interface itself closed by a distance to be found, as by a wedge driven in across the section.
    """

    interface: str
    load: tuple[int, Array] | None = None


@dataclass(frozen=True, eq=False)
class FaceState:
    """An interface in a state of load, node by node of its first side [m].

    s_mm: arc length; pressure_MPa, shear_MPa; gap_mm, slip_mm: weighted means about the node, slip since the first load;
    state: contact_friction.OPEN, STICK, SLIP_FORTH or SLIP_BACK (of a face without friction: OPEN or slip).
    force_N, moment_Nmm: what the first side gets, per mm of thickness, moment about the origin; other_force_N, other_moment_Nmm: the second.
    """

    name: str
    pairing: Pairing
    friction: float
    pressure_MPa: Array
    shear_MPa: Array
    gap_mm: Array
    slip_mm: Array
    state: State
    force_N: Array
    moment_Nmm: float
    other_force_N: Array
    other_moment_Nmm: float

    @property
    def s_mm(self) -> Array:
        """Arc length at the nodes."""
        return self.pairing.s_mm

    @property
    def place_mm(self) -> Array:
        """Places of the nodes [m, 2]."""
        return self.pairing.place_mm

    @property
    def normal_force_N(self) -> float:
        """Sum of the pressures, per mm of thickness."""
        return float(self.pairing.weight_mm @ self.pressure_MPa)


@dataclass(frozen=True, eq=False)
class ContactState:
    """What a load brings: faces by name; drives: size of each, by interface (of a load its factor, of a closing mm); displacements
    of each body [n, 2], mm; state of all nodes, to begin another search from; changes: how often the set of bearing nodes was changed.
    """

    faces: Mapping[str, FaceState]
    drives: Mapping[str, float]
    displacements: tuple[Array, ...]
    state: State
    changes: int


@dataclass(frozen=True, eq=False)
class Pressed:
    """What presses on a body: index [r] of the pressures, then shears; nodes [k]; weights [2 k, r]: nodal forces of 1 MPa of each."""

    index: Index
    nodes: Index
    weights: Array

    @classmethod
    def of(cls, columns: Sequence[tuple[Index, Index, Array, Array]], parts: int, unknowns: int) -> Pressed:
        """From rows [m], nodes [k] and weights [m, k, 2] of pressures and of shears, face by face; parts: 2 with shears, else 1."""
        rows = np.unique(np.concatenate([np.empty(0, dtype=np.intp), *(c[0] for c in columns)]))
        nodes = np.unique(np.concatenate([np.empty(0, dtype=np.intp), *(c[1] for c in columns)]))
        weights = np.zeros((nodes.size, 2, parts, rows.size))
        for some, line, *both in columns:
            where = (np.searchsorted(nodes, line)[:, None], np.searchsorted(rows, some)[None, :])
            for part in range(parts):
                for component in range(2):
                    np.add.at(weights[:, component, part], where, both[part][:, :, component].T)
        index = np.concatenate([part * unknowns + rows for part in range(parts)])
        return cls(index, nodes, weights.reshape(2 * nodes.size, -1))

    def spread(self, shape: tuple[int, ...], columns: slice) -> Array:
        """The nodal forces of some columns on all nodes of the body [n, 2, r]."""
        some = self.weights[:, columns]
        out = np.zeros((*shape, some.shape[1]))
        out[self.nodes] = some.reshape(-1, 2, some.shape[1])
        return out


def face_state(
    interface: Interface, p: Pairing, pressure: Array, shear: Array, u: Sequence[Array], closed_by: float, state: State
) -> FaceState:
    """An interface from its pressures and shears [m] and the displacements of all bodies; closed_by: mm, of a driven one.

    Gaps and slips are read from the displacements, not from the dense problem: they say whether both agree.
    """
    gap, slip, sums = p.gap_mm2 - closed_by * p.weight_mm, np.zeros(pressure.size), []
    for (body, _), side, push, drag in (
        (interface.first, p.first, p.push, p.drag),
        (interface.second, p.second, p.push_other, p.drag_other),
    ):
        moved = u[body][side.nodes]
        gap = gap - np.einsum("mkd,kd->m", push, moved)
        slip = slip + np.einsum("mkd,kd->m", drag, moved)
        nodal = -np.einsum("m,mkd->kd", pressure, push) - np.einsum("m,mkd->kd", shear, drag)
        sums.append((nodal.sum(0), float((side.place[:, 0] * nodal[:, 1] - side.place[:, 1] * nodal[:, 0]).sum())))
    (force, moment), (other_force, other_moment) = sums
    return FaceState(
        interface.name, p, interface.friction, pressure, shear, gap / p.weight_mm, slip / p.weight_mm, state,
        force, moment, other_force, other_moment,
    )  # fmt: skip
