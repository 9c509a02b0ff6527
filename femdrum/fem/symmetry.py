"""Which copies of the quarter cell are solved, and how mirrors give all the others.

A drum with aligned or alternate rows has up to three mirror planes: through the first slot's middle (P1), square
to it where the number of slots is even (P2), and mid-row (P3). Any load is a sum of parts that keep or turn
their sign in each plane; each part is solved on the domain between the planes only, with its own conditions
there. `periodic` plans use no mirror: the whole ring, its far faces joined by the screw from row to row.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from ..model.ring import Ring
from .copies import Copy, copy_at

__all__ = ["Parity", "Plan", "mirror_plan", "periodic_plan", "plan_of"]

Key = tuple[int, int]

# one sign per mirror plane: +1 symmetric, -1 antisymmetric; empty for a periodic plan
Parity = tuple[int, ...]


@dataclass(frozen=True)
class Plan:
    """sectors, halves: the copies that are solved. planes: what each mirror does to (sector, half).

    periodic: the far faces are joined. length_mm: the period along the axis.
    """

    ring: Ring
    sectors: tuple[int, ...]
    halves: tuple[int, ...]
    planes: tuple[Callable[[int, int], Key], ...]
    periodic: bool

    @property
    def parities(self) -> tuple[Parity, ...]:
        """All combinations of signs; symmetric along the axis first (bending is needed before transverse force)."""
        signs = itertools.product((1, -1), repeat=len(self.planes))
        return tuple(sorted(signs, key=lambda s: (-s[-1] if s else 0, tuple(-x for x in s))))

    @property
    def turned(self) -> bool:
        """True where the joined faces are turned against each other: what points across the drum is then not alike
        from row to row, so bending and transverse forces have no place in the plan.
        """
        if self.ring.rows == "helical" and (self.ring.row_angle_deg or 0.0) % 360.0 == 0.0:
            return False
        return self.periodic and self.ring.rows != "aligned"

    @property
    def length_mm(self) -> float:
        """Period along the axis."""
        rows = len(self.halves) / 2 if self.periodic else len(self.halves)
        return rows * self.ring.pitch_mm

    @cached_property
    def elements(self) -> tuple[tuple[tuple[int, ...], Callable[[int, int], Key]], ...]:
        """The group: which planes each element mirrors in, and where it takes a copy."""

        def act(bits: tuple[int, ...]) -> Callable[[int, int], Key]:
            def move(j: int, h: int) -> Key:
                for bit, plane in zip(bits, self.planes, strict=True):
                    if bit:
                        j, h = plane(j, h)
                return j % (2 * self.ring.slots_around), h

            return move

        return tuple((bits, act(bits)) for bits in itertools.product((0, 1), repeat=len(self.planes)))

    @cached_property
    def all_copies(self) -> tuple[Copy, ...]:
        """Every copy in one period."""
        low = -len(self.halves) if not self.periodic else self.halves[0]
        halves = range(low, self.halves[-1] + 1)
        return tuple(copy_at(self.ring, j, h) for h in halves for j in range(2 * self.ring.slots_around))

    def character(self, parity: Parity, bits: tuple[int, ...]) -> int:
        """Sign that a field of this parity takes under a group element."""
        return math.prod(s for s, b in zip(parity, bits, strict=True) if b)

    def home(self, j: int, h: int) -> tuple[Key, tuple[int, ...]]:
        """The solved copy that stands for copy (j, h), and the mirrors between them."""
        for bits, move in self.elements:
            at = move(j, h)
            if at[0] in self.sectors and at[1] in self.halves:
                return at, bits
        raise AssertionError("the plan does not cover the drum")


def mirror_plan(ring: Ring, rows: int = 1) -> Plan:
    """Between the mirror planes. rows: how many rows one period holds (alternate rows: an even number)."""
    n = ring.slots_around
    even = n % 2 == 0

    def slot(j: int, h: int) -> Key:
        return -1 - j, h

    def square(j: int, h: int) -> Key:
        return n - 1 - j, h

    def row(j: int, h: int) -> Key:
        return j, -1 - h

    if ring.rows == "alternate" and rows % 2:
        raise ValueError("alternate rows repeat after an even number of them only")
    sectors = tuple(range(n // 2 if even else n))
    planes = (slot, square, row) if even else (slot, row)
    return Plan(ring, sectors, tuple(range(rows)), planes, False)


def periodic_plan(ring: Ring) -> Plan:
    """The whole ring of one pitch; its far faces are joined by the screw that carries one row to the next."""
    return Plan(ring, tuple(range(2 * ring.slots_around)), (-1, 0), (), True)


def plan_of(ring: Ring) -> Plan:
    """The plan that serves a ring: mirrors where it has them, its block of rows where one is asked for."""
    if ring.rows == "helical":
        return periodic_plan(ring)
    return mirror_plan(ring, max(ring.block_rows, 2 if ring.rows == "alternate" else 1))
