"""Which weighed hammer goes into which slot: least force and couple, proven for few hammers, searched for many.

What is minimised is the worst share over the correction planes of the vector sum over the permissible unbalance, which
holds force and couple at once. Without planes the sum alone counts.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..model.check import Checks
from ..provenance import Provenance, common_practice, computed
from .balance_planes import shares
from .unbalance import HammerSeat, distinct

__all__ = ["PROVEN_UP_TO", "Placement", "pair_opposite", "place_hammers"]

Array = NDArray[np.float64]
Vectors = NDArray[np.complex128]
Whole = NDArray[np.int64]

# so many hammers are placed in every order there is
PROVEN_UP_TO = 9
# of the short list
MOST_EXCHANGES = 5
WEIGHING_G = 5.0
WEIGHING = common_practice("hammers are weighed to 5 g, paired by mass and placed opposite one another")
EVERY = computed("every order tried")
SEARCHED = computed("exchanges of two, then of two pairs, from many starts; not proven to be the least")
# seats are opposite to this angle, and in one row to this distance
OPPOSITE_DEG, ROW_MM = 1.0, 1.0


@dataclass(frozen=True)
class Placement:
    """Which hammer goes where.

    order: for each seat the place in the list of masses of the hammer that goes there. before, after, paired: vectors
    (g mm) of each plane as listed, as placed, and by the trade's rule of opposite pairs (None where the seats do not
    pair). permissible_g_mm: of each plane. proven: every order was tried. weighing_g_mm: what errors of weighing leave,
    root of the sum of squares. exchanges: for a short job, the one exchange of two slots that helps most, then the next
    best, and so on, each with the worst share after it.
    """

    slots: tuple[int, ...]
    order: tuple[int, ...]
    masses_g: tuple[float, ...]
    before: tuple[complex, ...]
    after: tuple[complex, ...]
    paired: tuple[complex, ...] | None
    permissible_g_mm: tuple[float, ...]
    planes_mm: tuple[float, ...]
    proven: bool
    tried: int
    weighing_g_mm: float
    exchanges: tuple[tuple[int, int, float], ...]

    def _share(self, vectors: Sequence[complex]) -> float:
        return max(abs(v) / p for v, p in zip(vectors, self.permissible_g_mm, strict=True))

    @property
    def share_before(self) -> float:
        """Worst share over the planes as listed; without a permissible in units of 1 g mm."""
        return self._share(self.before)

    @property
    def share(self) -> float:
        """Worst share over the planes as placed."""
        return self._share(self.after)

    @property
    def gap(self) -> float:
        """At most this could still be gained: no order does better than zero."""
        return 0.0 if self.proven else self.share

    @property
    def provenance(self) -> Provenance:
        """How the order was found."""
        return EVERY if self.proven else SEARCHED

    @property
    def moves(self) -> tuple[tuple[int, int, float], ...]:
        """Slot, slot that its new hammer comes from, mass in g; only hammers that move."""
        rows = zip(self.slots, self.order, strict=True)
        return tuple((to, self.slots[k], self.masses_g[k]) for to, k in rows if to != self.slots[k])

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        where = [f"in plane {n}" for n in range(1, len(self.after) + 1)] if self.planes_mm else ["in all"]
        out = []
        for name, b, a in zip(where, self.before, self.after, strict=True):
            out.append(Figure(f"unbalance as listed, {name}", abs(b), "g·mm", "|sum m r e^(i angle)|", EVERY))
            out.append(Figure(f"unbalance as placed, {name}", abs(a), "g·mm", "the same", self.provenance))
        out.append(
            Figure("left by errors of weighing", self.weighing_g_mm, "g·mm", "5 g / sqrt(12), all slots", WEIGHING)
        )
        return tuple(out)


@lru_cache(maxsize=2)
def _orders(many: int) -> NDArray[np.int8]:
    return np.array(list(itertools.permutations(range(many))), np.int8)


class _Search:
    """masses [hammer], arms [seat, plane] per gram over the permissible, fixed [plane]: what is there besides."""

    def __init__(self, masses: Array, arms: Vectors, fixed: Vectors, seed: int) -> None:
        self.masses, self.arms, self.fixed = masses, arms, fixed
        self.rng = np.random.default_rng(seed)
        self.i, self.j = np.triu_indices(len(masses), 1)
        self.tried = 0

    def value(self, order: Whole) -> float:
        return float(np.abs(self.fixed + self.masses[order] @ self.arms).max())

    def every(self) -> Whole:
        orders = _orders(len(self.masses))
        self.tried += len(orders)
        worst = np.abs(self.fixed + self.masses[orders] @ self.arms).max(axis=1)
        best: Whole = orders[int(np.argmin(worst))].astype(np.int64)
        return best

    def greedy(self) -> Whole:
        """The heaviest first, each where it leaves the least."""
        order = np.full(len(self.masses), -1)
        total, free = self.fixed.copy(), list(range(len(self.masses)))
        # against the mean, or the first ones would run to one side
        masses = self.masses - self.masses.mean()
        total = total + self.masses.mean() * self.arms.sum(axis=0)
        for hammer in np.argsort(-np.abs(masses), kind="stable"):
            worst = np.abs(total + masses[hammer] * self.arms[free]).max(axis=1)
            seat = free.pop(int(np.argmin(worst)))
            order[seat] = hammer
            total = total + masses[hammer] * self.arms[seat]
        return order

    def _changes(self, order: Whole) -> Vectors:
        """What each exchange of two does to the sum."""
        m = self.masses[order]
        return (m[self.j] - m[self.i])[:, None] * (self.arms[self.i] - self.arms[self.j])

    def descend(self, order: Whole) -> Whole:
        """Exchanges of two while they help, then of two pairs at once."""
        order = order.copy()
        total = self.fixed + self.masses[order] @ self.arms
        while True:
            changes = self._changes(order)
            worst = np.abs(total + changes).max(axis=1)
            self.tried += len(worst)
            best = int(np.argmin(worst))
            steps: tuple[int, ...] | None = (best,)
            if worst[best] >= np.abs(total).max() * (1 - 1e-12):
                steps = self._two_pairs(changes, total)
            if steps is None:
                return order
            for k in steps:
                a, b = self.i[k], self.j[k]
                order[a], order[b] = order[b], order[a]
            total = self.fixed + self.masses[order] @ self.arms

    def exchanges(self, most: int) -> list[tuple[int, int, float]]:
        """From the order as listed the best exchange of two, then the next best, with what each leaves."""
        order = np.arange(len(self.masses))
        out: list[tuple[int, int, float]] = []
        while len(out) < most:
            total = self.fixed + self.masses[order] @ self.arms
            worst = np.abs(total + self._changes(order)).max(axis=1)
            best = int(np.argmin(worst))
            if worst[best] >= np.abs(total).max() * (1 - 1e-9):
                break
            a, b = int(self.i[best]), int(self.j[best])
            order[a], order[b] = order[b], order[a]
            out.append((a, b, float(worst[best])))
        return out

    def _two_pairs(self, changes: Vectors, total: Vectors) -> tuple[int, int] | None:
        """The two exchanges of four different seats that together leave the least, if less than now."""
        from scipy.spatial import cKDTree

        points = np.hstack([changes.real, changes.imag])
        rest = np.hstack([(-total - changes).real, (-total - changes).imag])
        near = min(6, len(points))
        _, partners = cKDTree(points).query(rest, k=list(range(1, near + 1)))
        worst = np.abs(total + changes[:, None, :] + changes[partners]).max(axis=2)
        self.tried += worst.size
        i, j = self.i[:, None], self.j[:, None]
        k, m = self.i[partners], self.j[partners]
        worst = np.where((i == k) | (i == m) | (j == k) | (j == m), np.inf, worst)
        row, column = np.unravel_index(int(np.argmin(worst)), worst.shape)
        if not worst[row, column] < np.abs(total).max() * (1 - 1e-12):
            return None
        return int(row), int(partners[row, column])

    def many(self, starts: Sequence[Whole], turns: int, enough: float) -> Whole:
        """The best of the given starts and of `turns` random ones; ends early where less than `enough` is left."""
        best, least = starts[0], self.value(starts[0])
        for turn in range(len(starts) + turns):
            start = starts[turn] if turn < len(starts) else self.rng.permutation(len(self.masses))
            found = self.descend(start)
            if (value := self.value(found)) < least:
                best, least = found, value
            if least <= enough:
                break
        return best


def pair_opposite(masses_g: Sequence[float], seats: Sequence[HammerSeat]) -> tuple[int, ...] | None:
    """The trade's rule: hammers sorted and paired by mass, pairs on opposite seats of a row; None if seats do not pair.

    Pairs with the largest difference go to the middle rows, their heavier hammer turn about, so that the couple stays
    small.
    """
    free, pairs = list(range(len(seats))), []
    while free:
        a = free.pop(0)
        for b in free:
            turned = abs((seats[b].angle_deg - seats[a].angle_deg) % 360.0 - 180.0)
            if turned <= OPPOSITE_DEG and abs(seats[a].z_mm - seats[b].z_mm) <= ROW_MM:
                pairs.append((a, b))
                free.remove(b)
                break
        else:
            return None
    if len(masses_g) != len(seats):
        return None
    ranked = np.argsort(np.asarray(masses_g, float), kind="stable")
    couples = sorted(zip(ranked[1::2], ranked[::2], strict=True), key=lambda c: masses_g[c[1]] - masses_g[c[0]])
    middle = float(np.mean([seat.z_mm for seat in seats]))
    pairs.sort(key=lambda p: (abs(seats[p[0]].z_mm - middle), seats[p[0]].z_mm, seats[p[0]].angle_deg))
    order = [0] * len(seats)
    for turn, ((heavy, light), (a, b)) in enumerate(zip(couples, pairs, strict=True)):
        order[a], order[b] = (int(heavy), int(light)) if turn % 2 == 0 else (int(light), int(heavy))
    return tuple(order)


def place_hammers(
    masses_g: Sequence[float], seats: Sequence[HammerSeat], *, planes_mm: Sequence[float] | None = None,
    permissible_g_mm: Sequence[float] | None = None, besides_g_mm: Sequence[complex] | None = None,
    seed: int = 1, turns: int = 30,
) -> Placement:  # fmt: skip
    """Weighed hammers onto seats, so that force and couple are least.

    masses_g: as they stand now, one for each seat. planes_mm: two planes that the sums are split to; None: the force
    alone. permissible_g_mm: of each plane (1 for each where it is not given: then planes count alike). besides_g_mm:
    unbalance that is there without the hammers, in each plane, to be cancelled too. Up to 9 hammers every order is
    tried and the result is proven; with more, exchanges from greedy, paired and `turns` random starts, which end once a
    thousandth of the permissible is left. Raises InputFault: a mass that is not known, another number of masses than
    seats, slots that come twice.
    """
    checks = Checks()
    distinct(checks, seats)
    many = len(seats)
    if many < 2:
        checks.add("seats", many, "must be at least two seats", "one hammer cannot be placed otherwise")
    if len(masses_g) != many:
        checks.add("masses_g", len(masses_g), f"must be {many} masses, one for each seat", "weigh every hammer")
    for seat, mass in zip(seats, masses_g, strict=False):
        way = "weigh it in grams; a mass that is not known is not made up"
        checks.number(f"mass_g of slot {seat.slot}", mass, above=0.0, way_out=way)
    width = 1 if planes_mm is None else 2
    allowed = [1.0] * width if permissible_g_mm is None else list(permissible_g_mm)
    besides = [0j] * width if besides_g_mm is None else list(besides_g_mm)
    for name, values in (("permissible_g_mm", allowed), ("besides_g_mm", besides)):
        if len(values) != width:
            checks.add(
                name, len(values), f"must be {width} values, one for each plane", "one where no planes are given"
            )
    for i, p in enumerate(allowed, 1):
        checks.positive(f"permissible_g_mm[{i}]", p)
    checks.whole("seed", seed, 0, 2**31 - 1)
    checks.whole("turns", turns, 0, 10_000)
    checks.done()
    lever = np.ones((many, 1)) if planes_mm is None else np.array([shares(seat.z_mm, planes_mm) for seat in seats])
    arms = np.array([seat.arm_mm for seat in seats])[:, None] * lever
    limits = np.array(allowed, float)
    masses = np.asarray(masses_g, float)
    search = _Search(masses, arms / limits, np.asarray(besides, complex) / limits, seed)
    pairs = pair_opposite(masses_g, seats)
    proven = many <= PROVEN_UP_TO
    if proven:
        order = search.every()
    else:
        starts = [np.arange(many), search.greedy()] + ([np.array(pairs)] if pairs else [])
        enough = 1e-3 if permissible_g_mm is not None else 0.0
        order = search.many(starts, turns, enough)

    def vectors(chosen: Sequence[int] | Whole) -> tuple[complex, ...]:
        return tuple(complex(v) for v in np.asarray(besides, complex) + masses[np.asarray(chosen)] @ arms)

    spread = WEIGHING_G / np.sqrt(12) * np.sqrt((np.abs(arms) ** 2).sum(axis=0).max())
    return Placement(
        tuple(seat.slot for seat in seats), tuple(int(k) for k in order), tuple(float(m) for m in masses),
        vectors(range(many)), vectors(order), None if pairs is None else vectors(pairs),
        tuple(float(p) for p in allowed), () if planes_mm is None else tuple(planes_mm), proven, search.tried,
        float(spread),
        tuple((seats[a].slot, seats[b].slot, share) for a, b, share in search.exchanges(MOST_EXCHANGES)),
    )  # fmt: skip
