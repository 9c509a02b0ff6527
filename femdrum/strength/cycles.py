"""Counted cycles: their two turning points and how often each comes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Cycles"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Cycles:
    """Cycles by their upper and lower turning point, in the unit of the signal; count: how often, 0.5 for half cycles.

    Arrays of one length, or with a leading axis of cycles and any axes of places behind it; upper >= lower.
    """

    upper: Array
    lower: Array
    count: Array

    @property
    def range(self) -> Array:
        """Upper less lower: twice the amplitude."""
        return self.upper - self.lower

    @property
    def amplitude(self) -> Array:
        """Half the range."""
        return 0.5 * (self.upper - self.lower)

    @property
    def mean(self) -> Array:
        """Middle between upper and lower."""
        return 0.5 * (self.upper + self.lower)
