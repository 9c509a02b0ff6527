"""The duty as a crack sees it: events between states, and the ranges of K that they make along the path."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..model.check import Checks
from .array_checks import array_of
from .weight_function import StressPath

__all__ = ["CrackLoads", "CrackRow"]

Array = NDArray[np.float64]

RATIO_AS_WELDED = 0.5  # and above: growth as if the mean were high


@dataclass(frozen=True, eq=False)
class CrackRow:
    """One row of the duty as the crack sees it: an event between states.

    states: factors on the unit cases of the path, [state, 3, case] (steady, cosine and sine part of what turns), or
    [state, case] for states that do not turn; rest is a row of zeros. count_per_1000_h: events. per_revolution: it comes
    once per revolution (or as often), so it is judged by the threshold. Raises InputFault.
    """

    name: str
    count_per_1000_h: float
    per_revolution: bool
    states: Array

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.positive("count_per_1000_h", self.count_per_1000_h, "leave the row out")
        checks.truth("per_revolution", self.per_revolution)
        states = array_of(checks, "states", self.states)
        if states.ndim == 2:
            states = np.stack([states, np.zeros_like(states), np.zeros_like(states)], axis=1)
        if states.ndim != 3 or states.shape[1:2] != (3,):
            checks.add("states", states.shape, "must be factors [state, case] or [state, 3, case]")
        checks.done()
        object.__setattr__(self, "states", states)

    @classmethod
    def between(
        cls, name: str, count_per_1000_h: float, per_revolution: bool, upper: ArrayLike, lower: ArrayLike
    ) -> CrackRow:
        """A row between two states that do not turn, factors [case] each."""
        return cls(name, count_per_1000_h, per_revolution, np.stack([np.atleast_1d(upper), np.atleast_1d(lower)]))

    def bounds(self, k: Array) -> tuple[Array, Array]:
        """Highest and lowest K over the event, from K per case [..., case, depth]: each [..., depth]."""
        parts = np.einsum("spc,...cd->sp...d", self.states, k)
        swing = np.hypot(parts[:, 1], parts[:, 2])
        return (parts[:, 0] + swing).max(0), (parts[:, 0] - swing).min(0)


@dataclass(frozen=True, eq=False)
class CrackLoads:
    """Ranges, ratios and highest K of all rows over depth."""

    path: StressPath
    rows: tuple[CrackRow, ...]
    welded: bool
    residual: StressPath | None

    def bounds(self, a: Array) -> tuple[Array, Array]:
        """Highest and lowest K [end of the front, row, depth]."""
        k = self.path.fronts(a)
        both = [row.bounds(k) for row in self.rows]
        return np.stack([b[0] for b in both], 1), np.stack([b[1] for b in both], 1)

    def delta_k(self, a: Array) -> Array:
        """[row, depth], the larger over the ends of the front."""
        high, low = self.bounds(a)
        return np.asarray((high - low if self.welded else np.maximum(high, 0.0) - np.maximum(low, 0.0)).max(0))

    def ratio(self, a: Array) -> Array:
        """Stress ratio [row, depth], the larger over the ends."""
        if self.welded:
            return np.full((len(self.rows), len(a)), RATIO_AS_WELDED)
        high, low = self.bounds(a)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(np.where(high > 0, low / np.where(high > 0, high, 1.0), -1.0).max(0))

    def upper(self, a: Array) -> Array:
        """Highest K [row, depth] with the residual tension's, the larger over the ends."""
        high, _ = self.bounds(a)
        if self.residual is not None:
            high = high + self.residual.fronts(a)
        return np.asarray(high.max(0))

    def of(self, chosen: Sequence[int]) -> CrackLoads:
        """Some of the rows."""
        return CrackLoads(self.path, tuple(self.rows[i] for i in chosen), self.welded, self.residual)
