"""Which input matters most: shares of the variance (Sobol indices), and one input at a time from P10 to P90."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault
from ..figure import Figure
from ..model.check import Checks
from ..provenance import Provenance, computed
from .sampling import unit_points

__all__ = ["ESTIMATORS", "Indices", "Sensitivity", "Swing", "sobol_indices", "tornado"]

Array = NDArray[np.float64]
Function = Callable[[Array], Array]

ESTIMATORS: Provenance = computed(
    "two scrambled Sobol sets A, B and the columns of B put into A, after Saltelli and Jansen"
)
ONE_AT_A_TIME: Provenance = computed("one input at its 10 % and 90 % value, the others at their medians")
STREAM = 1000  # apart from the points of the scatter itself
DRAWS = 100


@dataclass(frozen=True)
class Indices:
    """Shares of the variance, one an input.

    first: by the input alone. total: with all that it does together with others. first_error, total_error: standard
    errors by drawing anew from the samples, wider than the truth for these even points. variance: of the function. A sum of `first` below 1 leaves the rest to inputs that
    act together; `total` sums to at least 1.
    """

    names: tuple[str, ...]
    first: Array
    total: Array
    first_error: Array
    total_error: Array
    variance: float
    evaluations: int

    @property
    def sums(self) -> tuple[float, float]:
        """Sum of first-order and of total indices; both are 1 where the inputs act by simple addition."""
        return float(self.first.sum()), float(self.total.sum())

    @property
    def sums_agree(self) -> bool:
        """Whether the sums lie where theory puts them, first at most 1 and total at least 1, within three errors."""
        low, high = self.sums
        room = 3 * float(np.sqrt(np.sum(self.first_error**2))), 3 * float(np.sqrt(np.sum(self.total_error**2)))
        return self.variance == 0 or (low <= 1 + room[0] + 1e-9 and high >= 1 - room[1] - 1e-9)

    @property
    def order(self) -> tuple[int, ...]:
        """Inputs by falling total index."""
        return tuple(int(i) for i in np.argsort(-self.total, kind="stable"))


@dataclass(frozen=True)
class Swing:
    """One bar of the tornado: output (log10 of life) at the input's 10 % and 90 % value, the others at their medians."""

    name: str
    at_p10: float
    at_p90: float

    @property
    def width(self) -> float:
        """How far the output moves."""
        return abs(self.at_p90 - self.at_p10)


@dataclass(frozen=True)
class Sensitivity:
    """Sobol indices and tornado of log10 of life. tornado: widest first. middle: output with all at their medians."""

    indices: Indices
    tornado: tuple[Swing, ...]
    middle: float
    notes: tuple[str, ...]

    @property
    def most(self) -> str:
        """Name of the input that matters most, by total index; empty where life does not vary."""
        return self.indices.names[self.indices.order[0]] if self.indices.variance > 0 else ""

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Total and first-order share of each input, largest first, and the factor on life between P10 and P90."""
        made: list[Figure] = []
        by_name = {s.name: s for s in self.tornado}
        for i in self.indices.order:
            name = self.indices.names[i]
            first, total = 100 * float(self.indices.first[i]), 100 * float(self.indices.total[i])
            factor = 10 ** min(by_name[name].width, 300.0)
            made += [
                Figure(
                    f"share of {name} in the scatter of log life, with others", total, "%", "total index", ESTIMATORS
                ),
                Figure(f"share of {name} alone", first, "%", "first-order index", ESTIMATORS),
                Figure(
                    f"factor on life from P10 to P90 of {name}", factor, "-", "10^|log N90 - log N10|", ONE_AT_A_TIME
                ),
            ]
        return tuple(made)


def sobol_indices(function: Function, *, names: Sequence[str], samples: int = 1024, seed: int = 1) -> Indices:
    """First-order and total Sobol indices of a function of independent inputs, each even in 0 to 1.

    function: [points, inputs] -> [points], finite. samples: a power of two, 64 to 65,536; the function is asked for
    samples x (inputs + 2) values. Raises InputFault.

    >>> made = sobol_indices(lambda u: 3 * u[:, 0] + u[:, 1], names=["a", "b"])
    >>> [round(float(s), 2) for s in made.total]
    [0.9, 0.1]
    """
    checks = Checks()
    if not names:
        checks.add("names", (), "must name at least one input")
    if checks.whole("samples", samples, 64, 2**16) and samples & (samples - 1):
        checks.add("samples", samples, "must be a power of two")
    checks.done()
    k = len(names)
    ab = unit_points(samples, 2 * k, seed, STREAM)
    a, b = ab[:, :k], ab[:, k:]
    mixed = np.repeat(a[None], k, axis=0)
    mixed[np.arange(k), :, np.arange(k)] = b.T
    asked = np.concatenate([a[None], b[None], mixed]).reshape(-1, k)
    values = np.asarray(function(asked), dtype=float)
    if values.shape != (len(asked),) or not np.all(np.isfinite(values)):
        raise InputFault(
            Fault("function", "its values", f"must be {len(asked)} finite numbers", "cap infinite lives first")
        )
    y = values.reshape(k + 2, samples)
    mean, variance = float(y[:2].mean()), float(y[:2].var())
    if variance <= (1e-12 * max(abs(mean), 1e-12)) ** 2:
        none = np.zeros(k)
        return Indices(tuple(names), none, none, none, none, 0.0, values.size)
    y = y - mean
    fa, fb, fab = y[0], y[1], y[2:]
    terms = np.stack([fb * (fab - fa), 0.5 * (fa - fab) ** 2])  # [first | total, input, sample]
    both = 0.5 * (fa**2 + fb**2)
    counts = np.random.default_rng([seed, STREAM]).multinomial(samples, np.full(samples, 1 / samples), DRAWS)
    drawn = (terms @ counts.T) / (both @ counts.T)
    first_error, total_error = drawn.std(axis=-1, ddof=1)
    first, total = terms.mean(axis=-1) / variance
    return Indices(tuple(names), first, total, first_error, total_error, variance, values.size)


def tornado(function: Function, *, names: Sequence[str]) -> tuple[tuple[Swing, ...], float]:
    """Swings, widest first, and the function's value with all inputs at their medians.

    function: [points, inputs] -> [points], inputs as cumulative shares of their distributions.
    """
    k = len(names)
    points = np.full((2 * k + 1, k), 0.5)
    points[np.arange(k), np.arange(k)] = 0.1
    points[k + np.arange(k), np.arange(k)] = 0.9
    y = np.asarray(function(points), dtype=float)
    made = [Swing(name, float(y[i]), float(y[k + i])) for i, name in enumerate(names)]
    return tuple(sorted(made, key=lambda s: -s.width)), float(y[-1])
