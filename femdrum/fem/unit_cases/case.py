"""What a unit load case gives to the solver."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ...edge import UnitCase
from ...model.ring import Ring

__all__ = ["CaseLoad", "Piece", "RingCase", "everywhere", "on_slots"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CaseLoad:
    """case: its name and unit. symmetric: about the cell's mirror planes (else antisymmetric).

    force [n, dim] in N. resultant: force that the macro motion of the cell's face carries on this
    (quarter) model, N.
    """

    case: UnitCase
    symmetric: bool
    force: NDArray[np.float64]
    resultant: float = 0.0


@dataclass(frozen=True)
class Piece:
    """Nodal forces [n, 3] on the quarter cell in its own place, N, and the share of them on each of its copies.

    weight [2 N, 2]: by sector, counted from the row's first slot, and by half of the row, 0 towards +y, 1 towards
    -y. A copy sees its load mirrored as itself: a pressure keeps its sign, a force along the axis or around turns
    it with the mirror. pressure: the pressure that goes with it at the edge grid's nodes, per band [s, d].
    """

    force: Array
    weight: Array
    pressure: tuple[Array, ...] | None = None


@dataclass(frozen=True)
class RingCase:
    """A unit load case of a whole row of the drum.

    section: what the shell's section carries: axial (N), bending_x, bending_y, torsion (N mm). transverse: force
    along X and Y with the moment zero at mid-row, N. every_row: each row is loaded alike, else the middle row only
    where the model holds several.
    """

    case: UnitCase
    pieces: tuple[Piece, ...] = ()
    section: Mapping[str, float] = field(default_factory=dict)
    transverse: tuple[float, float] = (0.0, 0.0)
    every_row: bool = True

    @property
    def alike(self) -> bool:
        """Every slot is loaded alike and as its mirror image, so that a quarter of one slot's cell tells all."""
        return (
            all((p.weight == 1.0).all() for p in self.pieces)
            and not any(value for name, value in self.section.items() if name != "axial")
            and self.transverse == (0.0, 0.0)
        )

    def pressure(self, at: tuple[int, int]) -> tuple[Array, ...] | None:
        """Pressure at the edge grid's nodes, per band, on the copy (sector from the row's first slot, half)."""
        total: tuple[Array, ...] | None = None
        for piece in self.pieces:
            if piece.pressure is not None and piece.weight[at]:
                own = tuple(piece.weight[at] * band for band in piece.pressure)
                total = own if total is None else tuple(a + b for a, b in zip(total, own, strict=True))
        return total

    def on_quarter(self, ring: Ring, nodes: int) -> CaseLoad:
        """The same as nodal forces and axial force on the quarter cell."""
        force: Array = np.zeros((nodes, 3))
        for piece in self.pieces:
            force = force + piece.force
        return CaseLoad(self.case, True, force, self.section.get("axial", 0.0) / (2 * ring.slots_around))


def everywhere(ring: Ring) -> Array:
    """Weights of a load that every copy sees alike."""
    return np.ones((2 * ring.slots_around, 2))


def on_slots(
    ring: Ring,
    slots: tuple[int, ...],
    sides: tuple[float, float] = (1.0, 1.0),
    halves: tuple[float, float] = (1.0, 1.0),
) -> Array:
    """Weights of a load on some slots: on their sides at +x and -x, times those of the halves towards +y and -y."""
    weight = np.zeros((2 * ring.slots_around, 2))
    for slot in slots:
        for sector, side in zip((2 * slot, (2 * slot - 1) % (2 * ring.slots_around)), sides, strict=True):
            weight[sector] += side * np.asarray(halves)
    return weight
