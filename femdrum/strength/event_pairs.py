"""Which peak meets which valley when the order of events is not known: the highest meets the lowest first.

Every event comes `count` times with one peak and one valley. Any order of them makes cycles that pair peaks with valleys;
none makes larger ranges than pairing the highest peaks with the lowest valleys, then what is left (common practice in the
fatigue proof of vessels and machines, no source). So no cycle between two rows of a duty is hidden.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["EventPairs", "pair_events"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class EventPairs:
    """count [pair, ...places] of cycles, and the events whose peak and whose valley make each; count 0: not used."""

    count: Array
    peak: Index
    valley: Index

    def upper(self, upper: Array) -> Array:
        """The peaks [pair, ...] from those of the events."""
        return np.take_along_axis(upper, self.peak, 0)

    def lower(self, lower: Array) -> Array:
        """The valleys [pair, ...] likewise."""
        return np.take_along_axis(lower, self.valley, 0)


def pair_events(upper: ArrayLike, lower: ArrayLike, count: ArrayLike) -> EventPairs:
    """Pairs at every place at once; upper, lower [event, ...places], count [event]. At most 2 events - 1 pairs."""
    high, low = np.asarray(upper, float), np.asarray(lower, float)
    n = np.asarray(count, float)
    if high.shape != low.shape or n.shape != high.shape[:1]:
        raise ValueError(f"upper {high.shape}, lower {low.shape} and count {n.shape} do not go together")
    events = len(n)
    peaks, valleys = np.argsort(-high, axis=0, kind="stable"), np.argsort(low, axis=0, kind="stable")
    up, down = np.cumsum(n[peaks], axis=0), np.cumsum(n[valleys], axis=0)
    # summed in another order the totals differ by rounding
    up[-1] = down[-1] = n.sum()
    ends = np.sort(np.concatenate([up, down[:-1]]), axis=0)
    starts = np.concatenate([np.zeros_like(ends[:1]), ends[:-1]])
    middle = 0.5 * (starts + ends)
    at_peak, at_valley = np.zeros(ends.shape, np.intp), np.zeros(ends.shape, np.intp)
    for k in range(events - 1):
        at_peak += middle > up[k]
        at_valley += middle > down[k]
    return EventPairs(ends - starts, np.take_along_axis(peaks, at_peak, 0), np.take_along_axis(valleys, at_valley, 0))
