"""Turning points of a signal: where it stops rising or falling. First and last sample count as turning points.

A plateau is one turning point. Signals may come in blocks of any size; the result is that of the whole.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, InputFault

__all__ = ["TurningPoints", "signal_of", "turning_points"]

Array = NDArray[np.float64]

CUT = "cut the history into pieces without gaps and count each; values are not made up in between"


def signal_of(x: ArrayLike, *, first: int = 0) -> Array:
    """A signal as an array [sample] of floats. Raises InputFault for other shapes, text, NaN and infinity.

    first: number of samples that came before, for the message.
    """
    try:
        array = np.asarray(x, dtype=np.float64)
    except (TypeError, ValueError):
        allowed = "must be a list of numbers in order of time"
        raise InputFault(Fault("signal", x, allowed, "give numbers without quotes or unit")) from None
    if array.ndim != 1:
        shape, way = f"array of shape {array.shape}", "count each channel or place by itself"
        raise InputFault(Fault("signal", shape, "must be one row of samples in order of time", way))
    # the least and the largest are NaN if any sample is
    if array.size and not np.isfinite(array.max() - array.min()):
        bad = np.flatnonzero(~np.isfinite(array))
        if bad.size == 0:
            allowed = "must be numbers whose difference is a finite number"
            raise InputFault(Fault("signal", float(array[np.abs(array).argmax()]), allowed, "use another unit"))
        field = f"signal[{first + bad[0]}]"
        raise InputFault(Fault(field, float(array[bad[0]]), f"must be a finite number ({bad.size} are not)", CUT))
    return array


def _inner(z: Array) -> NDArray[np.intp]:
    """Places of turning points inside a row without equal neighbours."""
    up = z[1:] > z[:-1]
    return np.flatnonzero(up[1:] != up[:-1]) + 1


def _without_repeats(z: Array) -> Array:
    same = z[1:] == z[:-1]
    return np.concatenate([z[:1], z[1:].take(np.flatnonzero(~same))]) if same.any() else z


def turning_points(x: ArrayLike) -> Array:
    """Turning points of a signal [sample], first and last sample among them. A constant signal has one.

    Raises InputFault for NaN, infinity, text, and arrays of another shape.
    """
    z = _without_repeats(signal_of(x))
    return np.concatenate([z[:1], z.take(_inner(z)), z[-1:]]) if len(z) > 1 else z.copy()


class TurningPoints:
    """Turning points of a signal that comes in blocks. Numbers are taken as finite: `signal_of` checks.

    peak_first: whether the first turning point is a peak; known with it.
    """

    def __init__(self) -> None:
        # the last sample, and the one before it that differs: what follows decides whether the last one turns
        self._tail: Array = np.zeros(0)
        self._found = 0
        self.peak_first = False

    @property
    def next_is_peak(self) -> bool:
        """Whether the turning point that comes next is a peak."""
        return self.peak_first ^ bool(self._found & 1)

    def feed(self, block: Array) -> tuple[Array, bool]:
        """Turning points known from this block on, and whether the first of them is a peak.

        The signal's first sample comes with the first of them.
        """
        z = _without_repeats(np.concatenate([self._tail, block]))
        found = z.take(_inner(z)) if len(z) > 2 else z[:0]
        if self._found == 0 and len(z) > 1:
            found = np.concatenate([z[:1], found])
            self.peak_first = bool(z[0] > z[1])
        is_peak = self.next_is_peak
        self._found += len(found)
        self._tail = z[-2:].copy()
        return found, is_peak

    def rest(self) -> Array:
        """The last sample, which ends the signal if nothing follows. Changes nothing."""
        return self._tail[-1:].copy()
