"""Damage by the linear sum (Palmgren, Miner): shares of life are added, the order of events is ignored.

What the order does (an overload first can help or hurt) is not in the sum; see neuber.py for what an overload leaves.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..model.check import Checks
from ..provenance import computed, memory, published
from .array_checks import array_of
from .sn_curve import SNCurve

__all__ = [
    "FLUCTUATING_SUM",
    "LINEAR_SUM",
    "SHIFTED_LINE",
    "consecutive",
    "damage",
    "damage_shares",
    "equivalent_amplitude_MPa",
    "life_h",
    "line_after",
]

Array = NDArray[np.float64]

LINEAR_SUM = computed("sum of cycles over lives; the part is used up at the declared sum, 1 unless said otherwise")
FLUCTUATING_SUM = memory(
    "a sum of 0.5 is specified for spectra with fluctuating mean stress (IIW); the cautious choice"
)
SHIFTED_LINE = published(
    "Shigley's Mechanical Engineering Design, 9th ed., p. 325: Miner's method, line shifted in parallel"
)


def damage_shares(counts: ArrayLike, lives: ArrayLike) -> Array:
    """Damage of each block: counts / lives, 0 where nothing is counted or the life is infinite.

    Both broadcast; the first axis is that of the blocks. Raises InputFault.
    """
    checks = Checks()
    n = array_of(checks, "counts", counts, least=0.0, way_out="cycles, half cycles as 0.5")
    life = array_of(checks, "lives", lives, least=0.0, finite=False)
    checks.done()
    if n.ndim and life.ndim > n.ndim:  # counts per block against lives per block and place
        n = n.reshape(n.shape + (1,) * (life.ndim - n.ndim))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return np.asarray(np.where(n > 0.0, n / life, 0.0))


def damage(counts: ArrayLike, lives: ArrayLike) -> Array:
    """Linear damage sum over the first axis (blocks); trailing axes are places. Raises InputFault."""
    shares = damage_shares(counts, lives)
    return np.asarray(shares.sum(axis=0) if shares.ndim else shares)


def life_h(damage_sum: ArrayLike, duration_h: float, failure_sum: float = 1.0) -> Array:
    """Hours until the damage sum reaches `failure_sum`, if `damage_sum` comes in every `duration_h`; infinite at 0.

    Raises InputFault.
    """
    checks = Checks()
    d = array_of(checks, "damage_sum", damage_sum, least=0.0, finite=False)
    checks.positive("duration_h", duration_h, "hours in which the counted cycles come")
    checks.number(
        "failure_sum", failure_sum, above=0.0, most=10.0, way_out="1, or 0.5 where the mean stress fluctuates"
    )
    checks.done()
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(duration_h * failure_sum / d)


def line_after(curve: SNCurve, amplitude_MPa: float, cycles: float) -> SNCurve:
    """The S-N line that is left after cycles at one amplitude: shifted in parallel through what remains of that life.

    Consistent with the linear sum above the knee. Raises InputFault where the life is already used up.
    """
    checks = Checks()
    checks.positive("amplitude_MPa", amplitude_MPa, "half the range")
    checks.number("cycles", cycles, least=0.0, way_out="cycles run at that amplitude")
    checks.done()
    left = 1.0 - cycles / curve.life(amplitude_MPa, "elementary")
    if np.any(left <= 0.0):
        checks.add("cycles", cycles, "must be below the life at that amplitude", "the part has already failed")
        checks.done()
    return curve.scaled(left ** (1.0 / curve.slope))


def consecutive(curve: SNCurve, levels: Iterable[tuple[float, float]], beyond: str = "haibach") -> float:
    """Damage of levels that come one after the other, (amplitude in MPa, cycles): the linear sum, whatever the order."""
    pairs = tuple(levels)
    lives = curve.life([a for a, _ in pairs], beyond)
    return float(damage([n for _, n in pairs], lives))


def equivalent_amplitude_MPa(amplitudes_MPa: ArrayLike, counts: ArrayLike, slope: float) -> Array:
    """Constant amplitude of equal count and damage on one slope: (sum n s^k / sum n)^(1/k), over the first axis.

    Raises InputFault.
    """
    checks = Checks()
    a = array_of(checks, "amplitudes_MPa", amplitudes_MPa, least=0.0)
    n = array_of(checks, "counts", counts, least=0.0)
    checks.positive("slope", slope, "exponent of the amplitude in the life")
    if not checks.faults and not np.any(n > 0.0):
        checks.add("counts", float(np.sum(n)), "must hold at least one cycle", "leave the list out")
    checks.done()
    most = np.max(a, axis=0)
    scale = np.where(most > 0.0, most, 1.0)  # powers of ratios do not overflow
    if n.ndim < a.ndim:
        n = n.reshape(n.shape + (1,) * (a.ndim - n.ndim))
    mean = np.sum(n * (a / scale) ** slope, axis=0) / np.sum(n, axis=0)
    return np.asarray(scale * mean ** (1.0 / slope))
