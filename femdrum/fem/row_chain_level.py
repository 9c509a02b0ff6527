"""One mesh of a chain of rows: the stress on the edge of each row's slots, and how far opposed seats move apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress
from ..model.material import Material
from ..model.ring import Ring
from .cell import Fineness
from .quarter_edge import Quadrant, edge_stress, quadrant
from .row_chain import Half, RowChain, solve_chain
from .row_chain_end import RowEnd
from .row_chain_load import ChainLoad
from .supports import cylindrical
from .unit_cases import ring_cases

__all__ = ["ChainLevel", "chain_level", "in_space"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ChainLevel:
    """A chain on one mesh: its fields, and the stress on the edge of one slot of each row, which stands for all."""

    chain: RowChain
    material: Material

    @cached_property
    def edges(self) -> tuple[EdgeStress, ...]:
        """[row]. Beside a shortened end cell places beyond the slot's end are told as in the cells between."""
        return tuple(self._edge(both, row) for row, both in enumerate(self.chain.rows))

    @cached_property
    def endless(self) -> EdgeStress:
        """Of the endless drum, on the same mesh, each load in every row."""
        high = self.chain.endless
        # turned by half a turn about the slot's radius the endless drum is the same
        return self._edge((Half(high.mesh, high.u * self.chain.parity), high), None)

    def _edge(self, halves: tuple[Half, Half], row: int | None) -> EdgeStress:
        chain = self.chain
        parts: list[Quadrant] = []
        for h, half in enumerate(halves[::-1]):  # towards +y first
            loaded = zip(chain.cases, chain.loaded(row), strict=True)
            pressure = [case.pressure((0, h)) if there else None for case, there in loaded]
            leading = quadrant(half.mesh, self.material, in_space(half), pressure)
            trailing = (leading[0] * chain.parity[:, None], leading[1])
            parts += [leading, trailing] if h == 0 else [trailing, leading]
        cases = tuple(case.case for case in chain.cases)
        return edge_stress(chain.endless.mesh, [(parts[0], parts[1], parts[2], parts[3])], cases)

    def seat_distance_mm(self, case: str) -> Array:
        """Change of the distance between the opposed seats of each row under each load [row, load], by virtual work.

        case: the unit case of 1 N outward on every seat.
        """
        chain = self.chain
        force = ring_cases(chain.ring, chain.endless.mesh, self.material, [case])[0].pieces[0].force
        # a quarter cell holds a quarter of one of the two seats; both sides of a slot together, two halves of it
        works = [[np.einsum("ni,nik->k", force, in_space(half)) for half in both] for both in chain.rows]
        return np.asarray(2 * (1.0 + chain.parity) * np.sum(works, axis=1))


def in_space(half: Half) -> Array:
    """Displacements [n, 3, load] of a half-row in space, the quarter cell in its own place."""
    frame = cylindrical(np.arctan2(half.mesh.nodes[:, 1], half.mesh.nodes[:, 0]))
    return np.asarray(np.einsum("nij,nj...->ni...", frame, half.u))


def chain_level(
    ring: Ring,
    material: Material,
    ends: tuple[RowEnd, RowEnd],
    rows_total: int,
    loads: Sequence[ChainLoad],
    fineness: Fineness,
    growth: str = "free",
) -> ChainLevel:
    """A chain of rows on one mesh, with the stress at its slots; see row_chain.solve_chain."""
    return ChainLevel(solve_chain(ring, material, ends, rows_total, loads, fineness, growth), material)
