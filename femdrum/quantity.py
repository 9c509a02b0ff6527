"""A value with its unit, error band and verdict; it prints no more digits than it knows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from .errors import NoNumber

__all__ = ["Quantity", "Verdict", "rounded"]


class Verdict(StrEnum):
    """What may be said about a computed value.

    SETTLED: the true value of the stated model lies in the band, and the band is as narrow as asked.
    NOT_SETTLED: value and band hold, but the band is wider than asked.
    UNBOUNDED: theory has no finite value there (a sharp corner); there is no number.
    FAILED: no solution; the message says why.
    EXACT: a closed form or an exact solution to the digits shown.
    """

    SETTLED = "settled"
    NOT_SETTLED = "not settled"
    UNBOUNDED = "unbounded"
    FAILED = "failed"
    EXACT = "exact"


def rounded(value: float, band: float) -> str:
    """`value` with as many decimals as `band` (one digit, two where it starts with 1) leaves meaningful."""
    value_text, _ = _rounded_pair(value, band)
    return value_text


def _rounded_pair(value: float, band: float) -> tuple[str, str]:
    if not math.isfinite(band) or band <= 0.0:
        return f"{value:.6g}", ""
    exponent = math.floor(math.log10(band))
    if band / 10.0**exponent < 1.95:  # a leading 1 keeps a second digit
        exponent -= 1
    decimals = max(0, -exponent)
    step = 10.0**exponent
    # a band is rounded up: it must not promise more than it holds
    up = math.ceil(band / step - 1e-9) * step
    near = round(value / step) * step
    return f"{near:.{decimals}f}", f"{up:.{decimals}f}"


@dataclass(frozen=True)
class Quantity:
    """A number that people may rely on.

    value: in `unit` (None where there is no number).
    band: half width of the error band, same unit; 0 for exact values, None where there is no number.
    verdict: see `Verdict`. definition: what exactly this is (which nominal, gross or net, where).
    """

    value: float | None
    unit: str = ""
    band: float | None = None
    verdict: Verdict = Verdict.SETTLED
    definition: str = ""

    def __float__(self) -> float:
        if self.value is None:
            raise NoNumber(f"{self.definition or 'this quantity'} has no number: {self.verdict.value}")
        return float(self.value)

    @property
    def relative_band(self) -> float | None:
        """Band over |value|; None where there is no number or the value is zero."""
        if self.value is None or self.band is None or self.value == 0.0:
            return None
        return self.band / abs(self.value)

    def __truediv__(self, other: float) -> Quantity:
        if self.value is None or self.band is None:
            return self
        return Quantity(self.value / other, "", self.band / abs(other), self.verdict, self.definition)

    def __str__(self) -> str:
        if self.value is None:
            return f"no number, {self.verdict.value}"
        unit = f" {self.unit}" if self.unit else ""
        if self.verdict is Verdict.EXACT or not self.band:
            return f"{self.value:.6g}{unit}, {self.verdict.value}"
        value, band = _rounded_pair(self.value, self.band)
        return f"{value} ± {band}{unit}, {self.verdict.value}"
