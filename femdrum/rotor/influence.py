"""Balancing from measured vibration: what a mass in each plane does to each probe, and the masses that cancel the rest.

Readings are complex: amplitude with its phase as a lead, angles of masses from the drum's mark in the sense of
rotation. The unit of the amplitudes is free if it is the same throughout; masses come out in the unit that trial masses
were given in (g at one radius, or g mm).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..model.balance_input import PHASE_SENSES
from ..model.check import Checks
from ..provenance import common_practice, computed

__all__ = [
    "DOUBTFUL_CONDITION",
    "ILL_CONDITION",
    "Correction",
    "Influence",
    "Run",
    "correction",
    "influence",
    "known_influence",
    "reading",
]

Array = NDArray[np.float64]
Vectors = NDArray[np.complex128]

# condition of the influences with columns of equal length. Published field cases that went well lie at 1.9 to 2.3;
# those of a published least-squares example whose planes are hard to tell apart at 3.9 for two and 7.3 for three
DOUBTFUL_CONDITION = 3.5
ILL_CONDITION = 10.0
CONDITION = common_practice("up to 3.5 good, above 10 leave a plane out")
# a trial mass should change some reading by this share of the first one
LEAST_CHANGE = 0.3
CHANGE = common_practice("a trial mass that changes no reading by 30 % or 30 degrees is too small")
READING_ERROR = 0.02
ERROR = common_practice("readings repeat to 2 %")
SQUARES = computed("least squares over all probes")
ERROR_TURNS = 400


def reading(amplitude: float, phase_deg: float, sense: str = "lead") -> complex:
    """A reading as a vector; sense: "lead" or "lag", as the instrument counts phases. Raises InputFault.

    A mass moved on in the sense of rotation makes the vibration lead by as much more, so a lag counts backwards.
    """
    checks = Checks()
    checks.number("amplitude", amplitude, least=0.0)
    checks.number("phase_deg", phase_deg, way_out="without its phase a reading says nothing about the angle")
    checks.one_of("sense", sense, PHASE_SENSES, "the instrument's manual says which")
    checks.done()
    return amplitude * cmath.exp(1j * math.radians(phase_deg if sense == "lead" else -phase_deg))


@dataclass(frozen=True)
class Run:
    """A run with trial masses: readings [probe]; masses [plane]: all trial masses that sat there during it, as vectors.

    What was left in from a run before counts again: masses are those beyond the first state.
    """

    readings: Vectors
    masses: Vectors


@dataclass(frozen=True)
class Influence:
    """Change of each reading for a unit mass in each plane.

    matrix [probe, plane]. condition: ratio of the largest to the smallest effect that a unit of correction can have,
    columns made equally long. independent: for each plane the share of its effect that no other plane can imitate.
    misfit: root mean square of what more runs than planes leave, over that of the readings; 0 with as many runs as
    planes.
    """

    matrix: Vectors
    condition: float
    independent: tuple[float, ...]
    misfit: float
    small: tuple[int, ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know."""
        out = []
        if self.condition > DOUBTFUL_CONDITION:
            least = int(np.argmin(self.independent)) + 1
            how = "ILL-CONDITIONED" if self.condition > ILL_CONDITION else "poorly conditioned"
            way = (
                "leave that plane out"
                if self.condition > ILL_CONDITION
                else "add a probe or another speed, repeat the readings"
            )
            out.append(
                f"The planes are {how}: condition {self.condition:.1f} (good: up to {DOUBTFUL_CONDITION}). Only "
                f"{100 * self.independent[least - 1]:.0f} % of what plane {least} does can no other plane do, so errors of "
                f"reading come out up to {self.condition:.1f} times as large. Way out: {way}."
            )
        for run in self.small:
            out.append(
                f"Trial run {run} changed no reading by {100 * LEAST_CHANGE:.0f} %: its influences are hardly above the "
                "scatter of readings. Way out: a larger trial mass."
            )
        return tuple(out)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure(
                "condition of the influences", self.condition, "-", "largest over smallest singular value", CONDITION
            ),
        )


def _condition(matrix: Vectors) -> tuple[float, tuple[float, ...]]:
    lengths = np.linalg.norm(matrix, axis=0)
    if not np.all(lengths > 0):
        return math.inf, tuple(0.0 if not length > 0 else 1.0 for length in lengths)
    unit = matrix / lengths
    values = np.linalg.svd(unit, compute_uv=False)
    if len(unit) < unit.shape[1] or values[-1] <= 1e-12 * values[0]:
        return math.inf, (0.0,) * unit.shape[1]
    inverse = np.linalg.inv(unit.conj().T @ unit)
    return float(values[0] / values[-1]), tuple(float(v) for v in 1 / np.sqrt(np.diag(inverse).real))


def known_influence(matrix: Sequence[Sequence[complex]] | Vectors) -> Influence:
    """Influences that are already known, from an earlier balancing of the same machine. Raises InputFault."""
    checks = Checks()
    values = np.asarray(matrix, complex)
    if values.ndim != 2 or not values.size or not np.all(np.isfinite(values)):
        checks.add("matrix", values.shape, "must be finite complex numbers by probe and plane")
    elif values.shape[0] < values.shape[1]:
        checks.add(
            "matrix", values.shape, "must have at least as many probes as planes", "leave a plane out, or add a probe"
        )
    checks.done()
    condition, independent = _condition(values)
    return Influence(values, condition, independent, 0.0, ())


def influence(initial: Sequence[complex] | Vectors, runs: Sequence[Run]) -> Influence:
    """Influences from a first run and runs with trial masses.

    initial [probe]: readings without trial masses. runs: at least as many as planes, telling the planes apart; masses
    in several planes at once, left in or taken off, are all the same here, since every run says what sat where. More
    runs than planes are fitted by least squares. Raises InputFault: unequal numbers of probes or planes, fewer probes
    than planes, runs that do not tell the planes apart, readings that are not finite.
    """
    checks = Checks()
    first = np.asarray(initial, complex)
    if first.ndim != 1 or not first.size or not np.all(np.isfinite(first)):
        checks.add("initial", first.shape, "must be finite readings, one for each probe", "repeat the run")
    if not runs:
        checks.add("runs", 0, "must be at least one run with a trial mass", "one for each plane")
        checks.done()
    planes = len(np.atleast_1d(runs[0].masses))
    for number, run in enumerate(runs, 1):
        readings, masses = np.asarray(run.readings, complex), np.asarray(run.masses, complex)
        if readings.shape != first.shape or not np.all(np.isfinite(readings)):
            checks.add(
                f"runs[{number}].readings",
                readings.shape,
                f"must be {first.size} finite readings",
                "as in the first run",
            )
        if masses.shape != (planes,) or not np.all(np.isfinite(masses)):
            checks.add(f"runs[{number}].masses", masses.shape, f"must be {planes} finite vectors, one for each plane")
    if first.size < planes:
        checks.add("initial", first.size, f"must be at least {planes} probes for {planes} planes", "add a probe")
    checks.done()
    masses = np.array([run.masses for run in runs], complex)
    values = np.linalg.svd(masses, compute_uv=False)
    if len(runs) < planes or values[-1] <= 1e-9 * values[0]:
        allowed = f"must tell {planes} planes apart"
        checks.add("runs", f"{len(runs)} runs", allowed, "one run with a trial mass in each plane")
        checks.done()
    changes = np.array([run.readings for run in runs], complex) - first
    solved, *_ = np.linalg.lstsq(masses, changes, rcond=None)
    left = changes - masses @ solved
    scale = _mean_square(first)
    misfit = _mean_square(left) / scale if scale > 0 else 0.0
    small = tuple(
        number for number, change in enumerate(_steps(masses, changes), 1)
        if np.all(np.abs(change) < LEAST_CHANGE * np.maximum(np.abs(first), 1e-300))
    )  # fmt: skip
    matrix = solved.T
    condition, independent = _condition(matrix)
    return Influence(matrix, condition, independent, misfit if len(runs) > planes else 0.0, small)


def _steps(masses: Vectors, changes: Vectors) -> Vectors:
    """Change of each run against the run before where masses were left in, else against the first."""
    out = changes.copy()
    for k in range(1, len(changes)):
        kept = np.abs(masses[k] - masses[k - 1]) <= 1e-9 * np.abs(masses[k - 1])
        if np.any(kept & (np.abs(masses[k - 1]) > 0)):
            out[k] = changes[k] - changes[k - 1]
    return out


@dataclass(frozen=True)
class Correction:
    """Masses that cancel the readings best, in all planes, counted from the first state (trial masses taken off).

    masses [plane]; predicted [probe]: readings that should remain. before, after: root mean square over the probes.
    scatter [plane]: 95 of 100 repetitions with errors of reading lie within this distance of the masses; None where it
    was not reckoned.
    """

    masses: Vectors
    predicted: Vectors
    before: float
    after: float
    influence: Influence
    scatter: tuple[float, ...] | None

    @property
    def unbalance(self) -> Vectors:
        """What is out of balance in each plane: the negative of the masses."""
        return -self.masses

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know."""
        out = list(self.influence.warnings)
        if self.scatter is not None:
            for plane, (spread, mass) in enumerate(zip(self.scatter, np.abs(self.masses), strict=True), 1):
                if spread > 0.5 * mass > 0:
                    out.append(
                        f"Errors of reading of {100 * READING_ERROR:.0f} % move the mass of plane {plane} by up to "
                        f"{100 * spread / mass:.0f} % of itself. Way out: larger trial masses, readings repeated."
                    )
        return tuple(out)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        out = [
            Figure("readings before, root mean square", self.before, "as read", "sqrt(mean |V|²)", SQUARES),
            Figure("readings foretold, root mean square", self.after, "as read", "sqrt(mean |V + A w|²)", SQUARES),
        ]  # fmt: skip
        for plane, spread in enumerate(self.scatter or (), 1):
            out.append(Figure(f"errors of reading move the mass of plane {plane} by", spread, "as given", "P95", ERROR))
        return (*self.influence.figures, *out)


def _solve(matrix: Vectors, readings: Vectors, weights: Array) -> Vectors:
    solved, *_ = np.linalg.lstsq(matrix * weights[:, None], -readings * weights, rcond=None)
    return np.asarray(solved, complex)


def correction(
    known: Influence, readings: Sequence[complex] | Vectors, *, weights: Sequence[float] | None = None,
    runs: Sequence[Run] = (), seed: int = 1,
) -> Correction:  # fmt: skip
    """Masses that make the readings least, by least squares over the probes: w = -A^-1 V where A is square.

    readings [probe]: of the state to be corrected. weights [probe]: how much each probe counts; all alike unless given.
    runs: the trial runs behind `known`; with them the scatter from errors of reading is reckoned, by repeating the
    whole evaluation with readings that are off by 2 %. Raises InputFault.
    """
    checks = Checks()
    values = np.asarray(readings, complex)
    probes = len(known.matrix)
    if values.shape != (probes,) or not np.all(np.isfinite(values)):
        checks.add("readings", values.shape, f"must be {probes} finite readings, one for each probe", "repeat the run")
    share = np.ones(probes) if weights is None else np.asarray(weights, float)
    if share.shape != (probes,) or not np.all(np.isfinite(share)) or not np.all(share >= 0) or not np.any(share > 0):
        checks.add("weights", weights, f"must be {probes} numbers of at least 0, not all 0", "1 for each probe")
    elif np.count_nonzero(share) < known.matrix.shape[1]:
        checks.add("weights", weights, "must leave at least as many probes as planes")
    if not math.isfinite(known.condition):
        way = "leave a plane out"
        checks.add(
            "known", "singular", "must tell the planes apart: one plane does what others do, or nothing at all", way
        )
    checks.done()
    masses = _solve(known.matrix, values, share)
    predicted = values + known.matrix @ masses
    scatter = _scatter(values, runs, share, masses, seed) if runs else None
    return Correction(masses, predicted, _mean_square(values), _mean_square(predicted), known, scatter)


def _mean_square(values: Vectors) -> float:
    return float(np.sqrt(np.mean(np.abs(values) ** 2)))


def _scatter(initial: Vectors, runs: Sequence[Run], weights: Array, masses: Vectors, seed: int) -> tuple[float, ...]:
    rng = np.random.default_rng(seed)
    trials = np.array([run.masses for run in runs], complex)
    inverse = np.linalg.pinv(trials)
    every = np.vstack([initial, *(run.readings for run in runs)])

    def noise() -> Vectors:
        shape = (ERROR_TURNS, *every.shape)
        return np.asarray(rng.normal(size=shape) + 1j * rng.normal(size=shape), np.complex128) / np.complex128(
            math.sqrt(2)
        )

    off = every * (1 + READING_ERROR * noise())
    matrices = np.swapaxes(inverse @ (off[:, 1:] - off[:, :1]), 1, 2) * weights[:, None]
    found = -np.linalg.pinv(matrices) @ (off[:, 0] * weights)[..., None]
    away = np.abs(found[..., 0] - masses)
    return tuple(float(v) for v in np.quantile(away, 0.95, axis=0))
