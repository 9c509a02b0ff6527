"""S-N curve: cycles against stress amplitude, a straight line in logarithms down to a knee, and what comes beyond.

Beyond the knee: "none" (horizontal: steel under constant amplitude only), "elementary" (the line goes straight on) or
"haibach" (slope 2k - 1). Under a spectrum report the last two both. Lives scatter log-normally.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..model.check import Checks
from ..provenance import common_practice, memory
from .array_checks import array_of

__all__ = [
    "BEYOND",
    "CONTINUATIONS",
    "KNEE_CYCLES",
    "SCATTER",
    "SHAPE",
    "SLOPES",
    "Beyond",
    "SNCurve",
    "normal_quantile",
]

Array = NDArray[np.float64]
Beyond = Literal["haibach", "elementary", "none"]
CONTINUATIONS = ("haibach", "elementary", "none")

KNEE_CYCLES = 1e6
SLOPES = {"normal": 5.0, "shear": 8.0}
LIFE_SCATTER = 0.2

SHAPE = memory("synthetic S-N line of the FKM guideline: knee at 1e6 cycles, slope 5 in normal stress, 8 in shear")
BEYOND = memory("beyond the knee under a spectrum: slope 2k - 1 (Haibach), or the same slope on (elementary Miner)")
SCATTER = common_practice("standard deviation of log10 life: 0.2 base metal, 0.25 welds, 0.3 in service")


def normal_quantile(probability: ArrayLike) -> Array:
    """The standard normal value below which this share lies."""
    from scipy.special import ndtri

    return np.asarray(ndtri(np.asarray(probability, dtype=np.float64)))


def _below(slope: float, beyond: str) -> float:
    return {"haibach": 2.0 * slope - 1.0, "elementary": slope, "none": np.inf}[beyond]


@dataclass(frozen=True)
class SNCurve:
    """An S-N line by its knee.

    amplitude_MPa: amplitude at the knee, fully reversed; a number, or an array of places. knee_cycles, slope k.
    survival: share of parts that live longer than the line says. scatter: standard deviation of log10 life.
    """

    amplitude_MPa: float | Array
    knee_cycles: float = KNEE_CYCLES
    slope: float = SLOPES["normal"]
    survival: float = 0.975
    scatter: float = LIFE_SCATTER

    def __post_init__(self) -> None:
        checks = Checks()
        array_of(
            checks, "amplitude_MPa", self.amplitude_MPa, above=0.0, way_out="amplitude at the knee, half the range"
        )
        checks.number("knee_cycles", self.knee_cycles, least=1.0, way_out="cycles at the knee, 1e6 for base metal")
        checks.number("slope", self.slope, above=1.0, most=100.0, way_out="exponent of the amplitude in the life")
        checks.number("survival", self.survival, above=0.0, below=1.0, way_out="such as 0.5 or 0.975")
        checks.number(
            "scatter", self.scatter, least=0.0, most=2.0, way_out="standard deviation of log10 life, such as 0.2"
        )
        checks.done()

    @classmethod
    def through(cls, first: Sequence[float], second: Sequence[float], **rest: float) -> SNCurve:
        """The line through two points (cycles, amplitude in MPa); the one with more cycles is its knee. Raises InputFault."""
        (n1, s1), (n2, s2) = sorted((tuple(first), tuple(second)))
        checks = Checks()
        for field, value in (("cycles", n1), ("cycles", n2), ("amplitude_MPa", s1), ("amplitude_MPa", s2)):
            checks.positive(field, value, "points are (cycles, amplitude in MPa)")
        if not checks.faults and not (n2 > n1 and s2 < s1):
            checks.add(
                "points", (first, second), "must differ, the longer life at the lower amplitude", "see the S-N data"
            )
        checks.done()
        return cls(s2, n2, float(np.log(n2 / n1) / np.log(s1 / s2)), **rest)

    def life(self, amplitude_MPa: ArrayLike, beyond: str = "haibach") -> Array:
        """Cycles at an amplitude (fully reversed); infinite at 0, and below the knee with beyond="none".

        The amplitudes broadcast against the curve's places. Raises InputFault.
        """
        checks = Checks()
        # an equivalent amplitude is infinite where the mean stress alone breaks the part: no life
        a = array_of(checks, "amplitude_MPa", amplitude_MPa, least=0.0, finite=False, way_out="half the range")
        checks.one_of("beyond", beyond, CONTINUATIONS)
        checks.done()
        ratio = np.asarray(a / self.amplitude_MPa)
        with np.errstate(divide="ignore", over="ignore", under="ignore"):
            exponent = np.where(ratio > 1.0, self.slope, _below(self.slope, beyond))
            return np.asarray(self.knee_cycles * ratio**-exponent)

    def strength(self, cycles: ArrayLike, beyond: str = "haibach") -> Array:
        """Amplitude (MPa) that is borne for so many cycles; the inverse of `life`. Raises InputFault."""
        checks = Checks()
        n = array_of(checks, "cycles", cycles, above=0.0, finite=False)
        checks.one_of("beyond", beyond, CONTINUATIONS)
        checks.done()
        share = n / self.knee_cycles
        with np.errstate(over="ignore", under="ignore"):
            above = share ** (-1.0 / self.slope)
            below = share ** (-1.0 / _below(self.slope, beyond))
        return np.asarray(self.amplitude_MPa * np.where(share < 1.0, above, below))

    def at_survival(self, survival: float, along: Literal["life", "strength"] = "life") -> SNCurve:
        """The curve for another share of survivors, by its log-normal scatter.

        along="life": every life, at any amplitude and of any spectrum, times 10^(s (z - z')); the knee moves along.
        along="strength": the knee stays at its cycles and its amplitude moves, so that the endurance limit scatters too;
        the same line above the knee, a wider one below. Raises InputFault.
        """
        checks = Checks()
        checks.number("survival", survival, above=0.0, below=1.0, way_out="such as 0.5 or 0.975")
        checks.one_of("along", along, ("life", "strength"))
        checks.done()
        shift = 10.0 ** (self.scatter * float(normal_quantile(self.survival) - normal_quantile(survival)))
        if along == "strength":
            return replace(self, amplitude_MPa=self.amplitude_MPa * shift ** (1.0 / self.slope), survival=survival)
        return replace(self, knee_cycles=self.knee_cycles * shift, survival=survival)

    def scaled(self, factor: ArrayLike) -> SNCurve:
        """The curve with its strength times a factor, or a factor for each place. Raises InputFault."""
        checks = Checks()
        by = array_of(checks, "factor", factor, above=0.0)
        checks.done()
        amplitude = np.asarray(self.amplitude_MPa * by)
        return replace(self, amplitude_MPa=amplitude if amplitude.ndim else float(amplitude))
