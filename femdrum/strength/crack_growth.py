"""Growth of one crack under many loads: da/dt = sum over loads of count per hour times da/dN of its range of K.

Integrated over the logarithm of the depth by Gauss points on panels; the panels also end where a load reaches the
threshold or the law bends, so that the integrand is smooth on each. The order of loads is not in it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure
from ..model.check import Checks
from ..provenance import computed
from .array_checks import array_of
from .growth_law import GrowthLaw

__all__ = ["Growth", "closed_form_cycles", "first_crossing_mm", "grow", "tabulated"]

Array = NDArray[np.float64]
OfDepth = Callable[[Array], Array]

STEPS = 32
POINTS = 4  # Gauss points on each panel
SCAN = 400  # depths at which crossings are looked for before they are bisected

NO_GROWTH = "not growing"
TOUGHNESS = "toughness"
BY_INTEGRAL = computed("integral of the growth law over depth, Gauss points in ln a, on panels that end at every kink")


@dataclass(frozen=True, eq=False)
class Growth:
    """A crack from its start to its end.

    depth_mm, hours, cycles [panel end]: the course, from 0 at the start; hours of the machine, cycles of all loads
    together; where the crack stops growing the course ends there. life_h, life_cycles: inf if it does not reach the end.
    end_mm: the least of the limits; governing_end: which one, "toughness" or a name of `ends`, or "not growing".
    stopped_mm: where it stops, None otherwise. share [load]: part of the growth in depth that each load does.
    step_error: relative change of the life from half as many panels to these.
    """

    depth_mm: Array
    hours: Array
    cycles: Array
    life_h: float
    life_cycles: float
    end_mm: float
    governing_end: str
    stopped_mm: float | None
    share: Array
    step_error: float

    @property
    def grows(self) -> bool:
        """True if it reaches its end."""
        return self.governing_end != NO_GROWTH

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        rows = [Figure("depth at the end", self.end_mm, "mm", "least of the limits", BY_INTEGRAL)]
        if self.grows:
            rows.append(Figure("time of growth", self.life_h, "h", "t = ∫ da / Σ n (da/dN)", BY_INTEGRAL))
        elif self.stopped_mm is not None:
            rows.append(
                Figure(
                    "depth at which it does not grow", self.stopped_mm, "mm", "every dK below threshold", BY_INTEGRAL
                )
            )
        return tuple(rows)

    def hours_at(self, depth_mm: float) -> float:
        """Hours until a depth is reached, 0 before the start, inf beyond the end or a stop."""
        if depth_mm <= self.depth_mm[0]:
            return 0.0
        if depth_mm > self.depth_mm[-1] * (1 + 1e-12):
            return math.inf
        return float(np.interp(math.log(depth_mm), np.log(self.depth_mm), self.hours))


def tabulated(depth_mm: ArrayLike, k_N_mm15: ArrayLike) -> OfDepth:
    """K as a function of depth from a table: depth [n], K [load, n]; smooth between, refused outside. Raises InputFault."""
    from scipy.interpolate import PchipInterpolator

    checks = Checks()
    depth = array_of(checks, "depth_mm", depth_mm, above=0.0)
    k = np.atleast_2d(array_of(checks, "k_N_mm15", k_N_mm15))
    if depth.ndim != 1 or len(depth) < 2 or not np.all(np.diff(depth) > 0):
        checks.add("depth_mm", depth.shape, "must hold at least two increasing depths")
    elif k.shape[-1] != len(depth):
        checks.add("k_N_mm15", k.shape, f"must hold a value of each load at each of the {len(depth)} depths")
    checks.done()
    curve = PchipInterpolator(np.log(depth), k, axis=1)

    def at(a: Array) -> Array:
        low, high = float(np.min(a)), float(np.max(a))
        if low < depth[0] * (1 - 1e-9) or high > depth[-1] * (1 + 1e-9):
            outside = Checks()
            worst = low if low < depth[0] else high
            outside.add(
                "depth_mm", worst, f"is outside the table, {depth[0]:g} to {depth[-1]:g} mm", "give a longer table"
            )
            outside.done()
        return np.asarray(curve(np.clip(np.log(a), math.log(depth[0]), math.log(depth[-1]))))

    return at


def _bisected(f: OfDepth, low: Array, high: Array, row: NDArray[np.intp], level: float) -> Array:
    """Depths between low and high at which row `row` of f passes the level."""
    below = f(low)[row, np.arange(len(low))] < level
    for _ in range(50):
        middle = np.sqrt(low * high)
        same = (f(middle)[row, np.arange(len(middle))] < level) == below
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return np.asarray(high)


def _crossings(f: OfDepth, grid: Array, levels: Sequence[float]) -> Array:
    values = np.atleast_2d(f(grid))
    found = []
    for level in levels:
        row, at = np.nonzero((values[:, 1:] < level) != (values[:, :-1] < level))
        if len(row):
            found.append(_bisected(f, grid[at], grid[at + 1], row, level))
    return np.concatenate(found) if found else np.zeros(0)


def first_crossing_mm(f: OfDepth, start_mm: float, end_mm: float, level: float) -> float | None:
    """Least depth from start to end at which any row of f reaches the level; None if none does.

    Looked for at 400 depths, evenly in ln a, then bisected.
    """
    grid = np.geomspace(start_mm, end_mm, SCAN)
    if float(np.max(f(grid[:1]))) >= level:
        return start_mm
    found = _crossings(lambda a: np.atleast_2d(np.max(f(a), axis=0)), grid, [level])
    return float(found.min()) if len(found) else None


@dataclass(frozen=True, eq=False)
class _Rate:
    """Depth per hour of each load, [load, n]."""

    delta_k: OfDepth
    ratio: OfDepth | None
    law: GrowthLaw
    per_h: Array

    def __call__(self, a: Array) -> Array:
        ratio = 0.0 if self.ratio is None else self.ratio(a)
        return np.asarray(self.per_h[:, None] * self.law.rate(np.atleast_2d(self.delta_k(a)), ratio))

    def course(self, edges: Array) -> tuple[Array, Array, float | None]:
        """Hours over each panel, growth by each load [load, panel], and where it stops; panels from there on are left out."""
        g, w = np.polynomial.legendre.leggauss(POINTS)
        u = np.log(edges)
        half = 0.5 * np.diff(u)
        a = np.exp(0.5 * (u[1:] + u[:-1])[:, None] + half[:, None] * g)
        rates = self(a.ravel()).reshape(len(self.per_h), *a.shape)
        total = rates.sum(0)
        dead = np.flatnonzero(~np.all(total > 0, axis=1))
        n = int(dead[0]) if len(dead) else len(half)
        weight = half[:n, None] * w * a[:n]
        hours = (weight / total[:n]).sum(1)
        share = (rates[:, :n] / total[:n] * weight).sum(-1)
        return hours, share, float(edges[n]) if len(dead) else None


def grow(
    delta_k: OfDepth | tuple[ArrayLike, ArrayLike],
    law: GrowthLaw,
    start_mm: float,
    end_mm: float,
    counts_per_1000_h: ArrayLike,
    *,
    ratio: OfDepth | None = None,
    k_upper: OfDepth | None = None,
    toughness_N_mm15: float | None = None,
    ends: Mapping[str, float] | None = None,
    breaks_mm: Sequence[float] = (),
    steps: int = STEPS,
) -> Growth:
    """Grow a crack from start_mm until the first of its ends.

    delta_k: depths [n] -> ranges of K [load, n] in N/mm^1.5, or (depths, table [load, n]); ratio: the same for the stress
    ratio, 0 unless given. counts_per_1000_h [load]. end_mm: "final depth". k_upper: largest K, any rows, and the
    toughness that ends the life. ends: other limits, name -> depth. breaks_mm: depths at which K steps. steps: panels;
    the life is also taken with half as many, and the change stated. Raises InputFault.
    """
    checks = Checks()
    counts = np.atleast_1d(
        array_of(checks, "counts_per_1000_h", counts_per_1000_h, above=0.0, way_out="leave the load out")
    )
    checks.positive("start_mm", start_mm, "depth of the flaw at the start")
    checks.positive("end_mm", end_mm, "depth at which the crack counts as too deep")
    checks.whole("steps", steps, 2, 100_000)
    if (k_upper is None) != (toughness_N_mm15 is None):
        checks.add("toughness_N_mm15", toughness_N_mm15, "must be given together with k_upper")
    elif toughness_N_mm15 is not None:
        checks.positive("toughness_N_mm15", toughness_N_mm15)
    checks.done()
    if isinstance(delta_k, tuple):
        delta_k = tabulated(*delta_k)
    limits = {"final depth": float(end_mm), **(ends or {})}
    name = min(limits, key=lambda n: limits[n])
    last = limits[name]
    if k_upper is not None and toughness_N_mm15 is not None and last > start_mm:
        broken = first_crossing_mm(k_upper, start_mm, last, toughness_N_mm15)
        if broken is not None:
            name, last = TOUGHNESS, broken
    if last <= start_mm:
        at = np.array([start_mm])
        return Growth(at, np.zeros(1), np.zeros(1), 0.0, 0.0, last, name, None, np.zeros(len(counts)), 0.0)
    rate = _Rate(delta_k, ratio, law, counts / 1000.0)
    kinks = _kinks(rate, np.geomspace(start_mm, last, SCAN))
    kinks = np.concatenate([kinks, np.asarray(breaks_mm, dtype=float)])
    kinks = kinks[(kinks > start_mm * (1 + 1e-9)) & (kinks < last * (1 - 1e-9))]

    def course(panels: int) -> tuple[Array, Array, Array, float | None]:
        edges = np.unique(np.concatenate([np.geomspace(start_mm, last, panels + 1), kinks]))
        edges[0], edges[-1] = start_mm, last
        return edges, *rate.course(edges)

    edges, hours, share, stopped = course(steps)
    rough = course(max(1, steps // 2))[1]
    total = float(hours.sum())
    error = abs(total - float(rough.sum())) / total if total > 0 else 0.0
    course_h = np.concatenate([[0.0], np.cumsum(hours)])
    cycles = course_h * float(counts.sum()) / 1000.0
    whole = share.sum(1)
    if whole.sum() > 0:
        whole = whole / whole.sum()
    done = stopped is None
    return Growth(
        edges[: len(course_h)], course_h, cycles, total if done else math.inf, float(cycles[-1]) if done else math.inf,
        last, name if done else NO_GROWTH, stopped, whole, error,
    )  # fmt: skip


def _kinks(rate: _Rate, grid: Array) -> Array:
    found = _crossings(lambda a: np.atleast_2d(rate.delta_k(a)), grid, rate.law.kinks_N_mm15)
    if rate.ratio is None or rate.law.low_ratio == rate.law.high_ratio:
        return found
    turn = rate.ratio
    return np.concatenate([found, _crossings(lambda a: np.atleast_2d(turn(a)), grid, [0.5])])


def closed_form_cycles(
    *, coefficient: float, exponent: float, stress_range: float, factor: float, start: float, end: float
) -> float:
    """Cycles of da/dN = A dK^m at constant factor and range: int da / (A (Y ds sqrt(pi a))^m). Any one set of units."""
    per = coefficient * (factor * stress_range * math.sqrt(math.pi)) ** exponent
    if exponent == 2.0:
        return float(math.log(end / start) / per)
    power = 1.0 - 0.5 * exponent
    return float((end**power - start**power) / (power * per))
