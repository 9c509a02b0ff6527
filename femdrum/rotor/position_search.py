"""All sums that a few plates can make, and the nearest of them to any unbalance.

Vectors are complex, g mm. Two opposite positions of equal plates are one axis: plates on both would only cancel.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.balance_input import MassPositions
from ..model.check import Checks

__all__ = ["Axes", "Sums", "axes_of", "effort", "joined_sums", "neighbours_split", "plate_limit", "sums_of"]

Vectors = NDArray[np.complex128]
Whole = NDArray[np.int64]

MOST_SUMS = 1_200_000
# positions are opposite if their vectors cancel to this share
CANCEL = 1e-9
# of each sum so many partners are looked at, and of all pairs so many, the nearest first
NEAR_PAIRS = 8
MOST_PAIRS = 20_000


@dataclass(frozen=True)
class Axes:
    """Positions as signed axes: vector of one plate (g mm), least and most plates (negative: on the opposite one).

    positions [axis, 2]: index of the position for positive and for negative counts, -1 where there is none.
    """

    vectors: Vectors
    least: Whole
    most: Whole
    positions: Whole
    count: int

    def plates(self, counts: Whole) -> Whole:
        """Plates on each position from signed counts [axis]."""
        out = np.zeros(self.count, np.int64)
        for (plus, minus), n in zip(self.positions, counts, strict=True):
            if n > 0:
                out[plus] = n
            elif n < 0:
                out[minus] = -n
        return out


def axes_of(positions: MassPositions) -> Axes:
    """Axes of the positions that are not blocked."""
    q = positions.quantum_g_mm
    every: Vectors = q * np.exp(1j * np.radians(np.array(positions.angles_deg, float)))
    free = [i for i in range(positions.count) if i + 1 not in positions.blocked]
    pairs: list[tuple[int, int]] = []
    while free:
        i = free.pop(0)
        partner = next((j for j in free if abs(every[i] + every[j]) <= CANCEL * q), -1)
        if partner >= 0:
            free.remove(partner)
        pairs.append((i, partner))
    table = np.array(pairs, np.int64)
    high = np.full(len(pairs), positions.most_plates, np.int64)
    return Axes(every[table[:, 0]], np.where(table[:, 1] >= 0, -high, 0), high, table, positions.count)


@dataclass(frozen=True)
class Sums:
    """Every sum of plates on up to `used` positions, g mm; complete: no sum within the limits is left out.

    plates, positions: how many each sum takes. Kept as a tree: each sum is that of its parent and one more position.
    """

    vectors: Vectors
    plates: Whole
    positions: Whole
    used: int
    complete: bool
    _parent: Whole
    _axis: Whole
    _count: Whole
    _axes: int

    def counts(self, index: int) -> Whole:
        """Signed plate counts of one sum, by axis."""
        out = np.zeros(self._axes, np.int64)
        while index > 0:
            out[self._axis[index]] = self._count[index]
            index = int(self._parent[index])
        return out

    def up_to(self, used: int) -> Sums:
        """Only those sums that take `used` positions or fewer."""
        end = int(np.searchsorted(self.positions, used, side="right"))
        return Sums(
            self.vectors[:end], self.plates[:end], self.positions[:end], min(used, self.used),
            self.complete and used >= self.used, self._parent[:end], self._axis[:end], self._count[:end], self._axes,
        )  # fmt: skip


def sums_of(
    axes: Axes, *, most_used: int | None = None, most_plates: int | None = None, most_sums: int = MOST_SUMS,
    only: Sequence[int] | None = None,
) -> Sums:  # fmt: skip
    """All sums of plates within the limits, of as many positions as stay below most_sums sums.

    most_used: positions with plates; most_plates: in the plane; None: no limit of its own. only: numbers of the axes.
    """
    many = len(axes.vectors)
    chosen = range(many) if only is None else only
    limit = len(chosen) if most_used is None else min(most_used, len(chosen))
    ends = zip(axes.least, axes.most, strict=True)
    values = [np.array([n for n in range(low, high + 1) if n], np.int64) for low, high in ends]
    empty = np.zeros(1, np.int64)
    levels = [(np.zeros(1, complex), empty, empty - 1, empty - 1, empty)]
    start, total, used = 0, 1, 0
    for level in range(1, limit + 1):
        vectors, plates, _, last, _ = levels[-1]
        parts = []
        if int(sum(np.count_nonzero(last < a) * len(values[a]) for a in chosen)) + total > most_sums:
            break
        for a in chosen:
            before = np.flatnonzero(last < a)
            parent = np.repeat(before, len(values[a]))
            n = np.tile(values[a], len(before))
            more = plates[parent] + np.abs(n)
            if most_plates is not None:
                keep = more <= most_plates
                parent, n, more = parent[keep], n[keep], more[keep]
            parts.append((vectors[parent] + n * axes.vectors[a], more, parent + start, np.full(len(n), a), n))
        joined = tuple(np.concatenate([p[i] for p in parts]) for i in range(5))
        used = level
        if not len(joined[0]):
            break
        start, total = total, total + len(joined[0])
        levels.append(joined)  # type: ignore[arg-type]
    vectors, plates, parent, axis, count = (np.concatenate([lev[i] for lev in levels]) for i in range(5))
    positions = np.repeat(np.arange(len(levels)), [len(lev[0]) for lev in levels])
    return Sums(vectors, plates, positions, used, used >= limit, parent, axis, count, many)


def joined_sums(
    one: Sums, other: Sums, axes: Axes, target_g_mm: complex, allowed: Callable[[Whole], bool], *,
    slack_g_mm: float = 0.0,
) -> tuple[Whole, float, bool] | None:  # fmt: skip
    """Counts of a sum of each kind that together come nearest to a target; the least distance; whether none is nearer.

    allowed: keeps the limits of the plane. Of pairs that are no more than slack_g_mm further than the nearest the one
    with the fewest plates is taken. None where no pair was found that keeps the limits.
    """
    from scipy.spatial import cKDTree

    points = np.column_stack([other.vectors.real, other.vectors.imag])
    rest = target_g_mm - one.vectors
    near = min(NEAR_PAIRS, len(points))
    columns = list(range(1, near + 1))
    gaps, partners = cKDTree(points).query(np.column_stack([rest.real, rest.imag]), k=columns)
    best, least, most = None, math.inf, math.inf
    for place in np.argsort(gaps, axis=None, kind="stable")[:MOST_PAIRS]:
        row, column = divmod(int(place), near)
        if gaps[row, column] > most:
            break
        counts = one.counts(row) + other.counts(int(partners[row, column]))
        if np.all(counts >= axes.least) and np.all(counts <= axes.most) and allowed(counts):
            least = min(least, float(gaps[row, column]))
            most = least + slack_g_mm
            best = counts if best is None or effort(counts) < effort(best) else best
    if best is None:
        return None
    # a row whose last neighbour is nearer than the best may hide a nearer one still
    return best, least, near == len(points) or bool(gaps[:, -1].min() >= most)


def effort(counts: Whole) -> tuple[int, int]:
    """Plates, then positions: of equal residuals the smaller wins."""
    return int(np.abs(counts).sum()), int(np.count_nonzero(counts))


def plate_limit(positions: MassPositions) -> int | None:
    """Plates in the plane by its mass limit; None where the stacks are the limit."""
    if positions.most_mass_g is None:
        return None
    return math.floor(positions.most_mass_g / positions.plate_g * (1 + 1e-12))


def neighbours_split(mass_g: float, angle_deg: float, one_deg: float, other_deg: float) -> tuple[float, float]:
    """Masses (g) on two neighbouring positions that together act as mass_g at angle_deg between them.

    m1 = m sin(other - angle) / sin(other - one). All at one radius. Raises InputFault if the angle does not lie
    between, or the positions stand 180 degrees apart or more.
    """
    checks = Checks()
    checks.positive("mass_g", mass_g)
    numbers = [checks.number(name, value) for name, value in
               (("angle_deg", angle_deg), ("one_deg", one_deg), ("other_deg", other_deg))]  # fmt: skip
    if all(numbers):
        span, inside = (other_deg - one_deg) % 360.0, (angle_deg - one_deg) % 360.0
        if not 0 < span < 180:
            checks.add("other_deg", other_deg, "must follow one_deg by less than 180 degrees", "choose neighbours")
        elif inside > span:
            checks.add("angle_deg", angle_deg, "must lie between the two positions", "choose the neighbours around it")
    checks.done()
    total = math.sin(math.radians(span))
    return mass_g * math.sin(math.radians(span - inside)) / total, mass_g * math.sin(math.radians(inside)) / total
