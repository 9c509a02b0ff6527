"""What a sudden load does beyond its peak force: factors of an undamped oscillator of one degree of freedom.

The factor multiplies the static answer to the peak force. It needs the first frequency of the part that is hit; where
that is not declared it is refused, because between 0 and 1.77 nothing could be said.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

from ..errors import MISSING, Fault, InputFault
from ..figure import Figure, figure, stated
from ..provenance import computed, memory
from .refuse import need

__all__ = [
    "STEP_FACTOR",
    "DynamicFactor",
    "dynamic_factor",
    "falling_weight_factor",
    "half_sine_factor",
    "half_sine_most",
]

# a force that comes at once and stays: 1 - cos(omega t) has the maximum 2
STEP_FACTOR = 2.0
EXACT = computed("exact response of an undamped oscillator, during and after the pulse")


def _sinc(x: float) -> float:
    """sin(pi x) / (pi x)."""
    return math.sin(math.pi * x) / (math.pi * x) if abs(x) > 1e-9 else 1.0


@stated("dynamic factor under a half-sine pulse", "-", "largest |u| / u_static, by duration over period", EXACT)
def half_sine_factor(*, duration_over_period: float) -> float:
    """Largest response to a half-sine force over the static one, undamped, by duration over the period of vibration.

    Exact: the larger of the maxima during and after the pulse. Small ratios: 4 t / T; large ones: 1.
    Raises InputFault.
    """
    need(not_negative={"duration_over_period": duration_over_period})
    ratio = duration_over_period
    after = 2 * math.pi * ratio * abs(_sinc(ratio - 0.5)) / (2 * ratio + 1)
    if ratio <= 0.5:  # rises as long as the pulse lasts
        return after
    # maxima during the pulse: (omega + pi / duration) t = 2 pi n, while t is within it
    first = 2 * math.pi * ratio / (2 * ratio + 1) * _sinc((2 * ratio - 1) / (2 * ratio + 1))
    best = first
    middle = (2 * ratio + 1) / 4  # the n whose maximum is nearest to the middle of the pulse
    for n in {max(2, math.floor(middle)), max(2, math.ceil(middle))}:
        if 2 * n <= 2 * ratio + 1:
            best = max(best, math.sin(2 * math.pi * n / (2 * ratio + 1)) * 2 * ratio / (2 * ratio - 1))
    return max(best, after)


@functools.cache
def half_sine_most() -> tuple[float, float]:
    """The largest half-sine factor of all, and the duration over period at which it stands: about 1.768 at 0.81.

    Shock textbooks quote 1.77 near 0.8, recalled and not confirmed; this is computed.
    """
    from scipy.optimize import minimize_scalar  # late: slow to import

    found = minimize_scalar(
        lambda x: -half_sine_factor(duration_over_period=float(x)), bounds=(0.5, 1.5), method="bounded",
        options={"xatol": 1e-9},
    )  # fmt: skip
    return float(-found.fun), float(found.x)


@stated(
    "factor of a falling weight", "-", "1 + sqrt(1 + 2 h / delta)",
    memory("classical impact factor, massless spring, no loss"),
)  # fmt: skip
def falling_weight_factor(*, drop_mm: float, static_deflection_mm: float) -> float:
    """Largest force of a weight that falls drop_mm onto a spring, over the weight: 1 + sqrt(1 + 2 h / delta).

    drop_mm = 0: suddenly applied, 2. Raises InputFault.
    """
    need(not_negative={"drop_mm": drop_mm}, positive={"static_deflection_mm": static_deflection_mm})
    return 1 + math.sqrt(1 + 2 * drop_mm / static_deflection_mm)


@dataclass(frozen=True)
class DynamicFactor:
    """Factor on the static answer to the peak force, the duration over the period, and the largest factor possible."""

    factor: float
    duration_over_period: float
    most: float
    most_at: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        ratio = Figure("duration over period of the part hit", self.duration_over_period, "-", "t f", EXACT)
        most = f"largest factor of any half sine, at duration over period {self.most_at:.3g}"
        return (ratio, figure(half_sine_factor, self.factor), figure(half_sine_factor, self.most, most))


def dynamic_factor(*, duration_s: float, first_frequency_Hz: float | None) -> DynamicFactor:
    """Factor of a half-sine pulse on a part whose first frequency is declared.

    Raises InputFault, also where first_frequency_Hz is None: a factor without a frequency would be a guess.
    """
    if first_frequency_Hz is None:
        way = (
            "measure or compute the first frequency of the part that is hit, or leave the dynamic factor out and say so"
        )
        raise InputFault(
            Fault("first_frequency_Hz", MISSING, "is missing; a dynamic factor needs a number above 0", way)
        )
    need(positive={"duration_s": duration_s, "first_frequency_Hz": first_frequency_Hz})
    ratio = duration_s * first_frequency_Hz
    most, most_at = half_sine_most()
    return DynamicFactor(half_sine_factor(duration_over_period=ratio), ratio, most, most_at)
