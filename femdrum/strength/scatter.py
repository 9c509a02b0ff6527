"""Life when the inputs scatter: percentiles, probability of failure by a target, and which input matters most."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault
from ..figure import Figure
from ..model.check import Checks
from ..model.scatter_input import ScatterInput
from ..provenance import Provenance, common_practice, computed
from .sampling import deviations, samples_of, unit_points
from .sensitivity import Sensitivity, sobol_indices, tornado

__all__ = ["Probability", "ScatterResult", "percentiles", "scatter"]

Array = NDArray[np.float64]
LifeOf = Callable[[dict[str, Array]], Array]

# independent scramblings whose means give the standard error
PARTS = 8
FEW_FAILURES = 10
# an average over the life's own scatter counts if at least so many samples carry it
CARRIED = 30.0
# lives beyond 10^CAP of the target count as that where a variance is taken
CAP = 6.0
# engineering practice asks for so many
ENOUGH = 2048
PERCENTILES = np.array([0.1, 0.5, 0.9])
SHARES = (0.001, 0.01, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99)

TAIL: Provenance = common_practice("log-normal life fitted to mean and standard deviation of the sampled log life")


@dataclass(frozen=True)
class Probability:
    """Probability that the target is not reached, its standard error, and by which way it was found."""

    value: float
    standard_error: float
    how: str
    provenance: Provenance


@dataclass(frozen=True)
class ScatterResult:
    """Lives in hours by the share that has failed: P10, 10 % failed, 90 % survive. inf: no failure at that share.

    failure: probability at target_h, by the best way there is. counted, lognormal: the same by counting and by the
    fitted log-normal (None where lives are infinite). failures: samples that fail before the target.
    shares, life_h: the curve of percentiles. log10_error: standard error of log10 of P10, P50, P90.
    mean_log10, deviation_log10: of log10 of life in hours, lives capped far above the target.
    """

    p10_life_h: float
    p50_life_h: float
    p90_life_h: float
    log10_error: tuple[float, float, float]
    target_h: float
    failure: Probability
    counted: Probability
    lognormal: Probability | None
    failures: int
    samples: int
    seed: int
    shares: Array
    life_h: Array
    mean_log10: float
    deviation_log10: float
    sensitivity: Sensitivity | None
    notes: tuple[str, ...]

    @property
    def probability_of_failure(self) -> float:
        """Probability that the target is not reached."""
        return self.failure.value

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        how = computed(f"{self.samples} scrambled Sobol points, seed {self.seed}")
        lives = [
            Figure(f"P{p} life, {p} % failed", life, "h", f"{p} % of the sampled lives are shorter", how)
            for p, life in ((10, self.p10_life_h), (50, self.p50_life_h), (90, self.p90_life_h))
        ]
        made = [
            *lives,
            Figure("probability of failure at the target", self.failure.value, "-", self.failure.how, self.failure.provenance),
            Figure("its standard error", self.failure.standard_error, "-", "from independent parts", how),
        ]  # fmt: skip
        if self.lognormal is not None and self.lognormal is not self.failure:
            made.append(
                Figure("the same, log-normal", self.lognormal.value, "-", self.lognormal.how, self.lognormal.provenance)
            )
        return (*made, *(() if self.sensitivity is None else self.sensitivity.figures))


def scatter(
    life_of: LifeOf, scatter_input: ScatterInput, target_h: float, *, sensitivity_samples: int | None = 1024
) -> ScatterResult:
    """Sample the inputs, ask `life_of` for the lives, and read off percentiles, probability and sensitivities.

    life_of: from samples by name (see `sampling.samples_of`, arrays of one length) to log10 of life in hours, inf where
    nothing fails. It leaves the scatter of life at a given stress alone: that is added here.
    target_h: life asked for. sensitivity_samples: a power of two, or None for no sensitivities; `life_of` is asked for
    samples x (inputs that vary + 2) more lives. Raises InputFault.
    """
    checks = Checks()
    checks.positive("target_h", target_h, "the life asked for, in hours")
    checks.done()
    m = scatter_input.samples // PARTS
    points = np.stack([unit_points(m, len(scatter_input.every), scatter_input.seed, part) for part in range(PARTS)])
    samples = {name: v.reshape(-1) for name, v in samples_of(scatter_input, points).items()}
    base = _lives(life_of, samples)
    own = samples["life_log10"]
    life = (base + own).reshape(PARTS, m)
    target = math.log10(target_h)
    failures = int(np.count_nonzero(life < target))
    counted = _counted(life, target)
    s = scatter_input.life_scatter
    capped = np.minimum(life, target + CAP)
    lognormal = None if np.any(np.isinf(life)) else _lognormal(life, target)
    averaged = _averaged(base.reshape(PARTS, m), s, target) if s > 0 else None
    if averaged is not None and _carried(base, s, target) < CARRIED and lognormal is not None:
        averaged = None
    shares = np.array(SHARES)
    curve = percentiles(base, s, shares)
    parts = np.array(
        [percentiles(part, s, PERCENTILES) for part in np.split(np.minimum(base, target + 2 * CAP), PARTS)]
    )
    error = parts.std(axis=0, ddof=1) / math.sqrt(PARTS)
    p10, p50, p90 = (_hours(float(v)) for v in percentiles(base, s, PERCENTILES))
    best, notes = _choose(counted, averaged, lognormal, failures)
    if np.any(np.isinf(life)):
        share = float(np.mean(np.isinf(life)))
        notes.append(
            f"{100 * share:.3g} % of the samples never fail; where a variance is taken, lives beyond "
            f"{10**CAP:.0e} times the target count as that"
        )
    if scatter_input.samples < ENOUGH:
        notes.append(f"{scatter_input.samples} samples are few: {ENOUGH} or more are practice")
    how = None if sensitivity_samples is None else _sensitivity(life_of, scatter_input, target, sensitivity_samples)
    return ScatterResult(
        p10, p50, p90, (float(error[0]), float(error[1]), float(error[2])), target_h, best, counted, lognormal,
        failures, scatter_input.samples, scatter_input.seed, shares, np.array([_hours(v) for v in curve]),
        float(capped.mean()), float(capped.std(ddof=1)), how, tuple(notes),
    )  # fmt: skip


def _lives(life_of: LifeOf, samples: Mapping[str, Array]) -> Array:
    given = {name: v for name, v in samples.items() if name != "life_log10"}
    base = np.asarray(life_of(given), dtype=float)
    count = len(samples["life_log10"])
    if base.shape != (count,):
        raise InputFault(Fault("life_of", base.shape, f"must answer with {count} lives, one a sample"))
    if np.any(np.isnan(base)) or np.any(base == -np.inf):
        first = int(np.flatnonzero(np.isnan(base) | (base == -np.inf))[0])
        raise InputFault(
            Fault(
                "life_of", float(base[first]), "must answer with log10 of hours, inf where nothing fails",
                "at these samples: " + ", ".join(f"{n} {v[first]:.4g}" for n, v in given.items()),
            )
        )  # fmt: skip
    return base


def percentiles(base: Array, s: float, shares: Array) -> Array:
    """log10 lives before which the shares have failed; inf where fewer fail at all.

    base: log10 of sampled lives, all of equal weight; s: standard deviation of log10 of the life at a given stress,
    normal, integrated exactly on top of them. With s = 0 the ranked samples, linear between their middles.
    """
    ranked = np.sort(base, axis=None)
    count, finite = len(ranked), int(np.count_nonzero(np.isfinite(ranked)))
    if s == 0:
        at = np.clip(shares * count - 0.5, 0, count - 1)
        low = np.floor(at).astype(int)
        high = np.minimum(low + 1, count - 1)
        known = high < finite
        rest = np.where(shares * count <= finite, ranked[max(finite - 1, 0)], np.inf)
        left, right = ranked[np.where(known, low, 0)], ranked[np.where(known, high, 0)]
        # without failures there is nothing to draw a line through
        line = left + (at - low) * (right - left) if finite else rest
        return np.where(known, line, rest)
    if not finite:
        return np.full(shares.shape, np.inf)
    from scipy.special import ndtr

    real = ranked[:finite]
    low, high = np.full(shares.shape, real[0] - 12 * s), np.full(shares.shape, real[-1] + 12 * s)
    for _ in range(60):
        middle = 0.5 * (low + high)
        failed = ndtr((middle[:, None] - real) / s).sum(axis=1) / count
        low, high = np.where(failed < shares, middle, low), np.where(failed < shares, high, middle)
    return np.where(shares * count < finite, 0.5 * (low + high), np.inf)


def _hours(log10: float) -> float:
    return math.inf if log10 > 300 else 10.0**log10


def _from_parts(parts: Array, how: str, provenance: Provenance) -> Probability:
    return Probability(float(parts.mean()), float(parts.std(ddof=1) / math.sqrt(len(parts))), how, provenance)


def _counted(life: Array, target: float) -> Probability:
    fails = np.mean(life < target, axis=1)
    made = _from_parts(fails, "failed samples / samples", computed("counted"))
    # parts that count alike, or not at all, do not make it certain
    count = life.size
    floor = math.sqrt(max(made.value * (1 - made.value), 1 / count) / count) if fails.std() == 0 else 0.0
    return Probability(made.value, max(made.standard_error, floor), made.how, made.provenance)


def _averaged(base: Array, s: float, target: float) -> Probability:
    """The life's own scatter integrated exactly at each sample: far steadier than counting, also in the tail."""
    from scipy.special import ndtr

    chance = np.asarray(ndtr((target - base) / s), dtype=float).mean(axis=1)
    return _from_parts(chance, "mean of Phi((log target - log life) / s) over the samples", computed("averaged"))


def _carried(base: Array, s: float, target: float) -> float:
    """By how many samples the average is carried: far in the tail by the few weakest, and then it is not to be had."""
    from scipy.special import log_ndtr

    weight = np.asarray(log_ndtr((target - base) / s), dtype=float)
    weight = np.exp(weight - weight.max()) if np.isfinite(weight.max()) else np.zeros_like(weight)
    return float(weight.sum() ** 2 / max((weight**2).sum(), 1e-300))


def _lognormal(life: Array, target: float) -> Probability:
    from scipy.special import ndtr

    def chance(part: Array) -> float:
        deviation = float(part.std(ddof=1))
        if deviation == 0:
            return float(part.mean() < target)
        return float(ndtr((target - part.mean()) / deviation))

    parts = np.array([chance(part) for part in life])
    error = float(parts.std(ddof=1) / math.sqrt(len(parts)))
    return Probability(chance(life.reshape(-1)), error, "Phi((log target - mean) / deviation), log-normal life", TAIL)


def _choose(
    counted: Probability, averaged: Probability | None, lognormal: Probability | None, failures: int
) -> tuple[Probability, list[str]]:
    if averaged is not None:
        return averaged, []
    if failures >= FEW_FAILURES or lognormal is None:
        few = (
            []
            if failures >= FEW_FAILURES
            else [f"{failures or 'none'} of the samples miss the target: the probability is a rough one"]
        )
        return counted, few
    return lognormal, [
        f"{failures or 'none'} of the samples miss the target: the probability is the tail of a fitted log-normal life"
    ]


def _sensitivity(life_of: LifeOf, scatter_input: ScatterInput, target: float, samples: int) -> Sensitivity:
    every, varied = scatter_input.every, scatter_input.varied
    names = [v.words for v in varied]
    caps = 0

    def log_life(shares: Array) -> Array:
        nonlocal caps
        at = dict(zip((v.sample for v in varied), shares.T, strict=True))
        given = {v.sample: deviations(v, at.get(v.sample, np.full(len(shares), 0.5))) for v in every}
        life = _lives(life_of, given) + given["life_log10"]
        caps += int(np.count_nonzero(life > target + CAP))
        return np.minimum(life, target + CAP)

    swings, middle = tornado(log_life, names=names)
    indices = sobol_indices(log_life, names=names, samples=samples, seed=scatter_input.seed)
    notes = []
    if caps:
        notes.append(f"lives beyond {10**CAP:.0e} times the target count as that in the sensitivities")
    if indices.variance == 0:
        notes.append("life does not vary: no input matters")
    elif not indices.sums_agree:
        notes.append("the indices' sums are not where they should be: take more samples")
    return Sensitivity(indices, swings, middle, tuple(notes))
