"""Rainflow counting after ASTM E1049-85, of a signal in memory (here) or in blocks (`rainflow_stream.py`).

Closed cycles are those of the rule of four points (`four_point.py`), the same as by the standard's three points. What
does not close is the residue, counted by one of two rules:

- "half": the standard's 5.4.4. Each range of the residue is half a cycle. First and last sample are turning points.
- "repeated": the history comes again and again. It is rearranged to begin with its largest-magnitude extreme, so every
  cycle closes (the standard's 5.4.5, which starts from the peak or the valley).
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, InputFault, nearest
from ..provenance import standard
from .cycles import Cycles
from .four_point import close, outward, values
from .turning_points import TurningPoints, signal_of, turning_points

__all__ = ["RAINFLOW", "RESIDUES", "Cycles", "Residue", "count_residue", "rainflow"]

Array = NDArray[np.float64]
Residue = Literal["half", "repeated"]
RESIDUES: tuple[str, ...] = get_args(Residue)

RAINFLOW = standard("ASTM E1049-85, 5.4.4 and 5.4.5, rainflow counting", "rule and example seen in a secondary source")

# samples at a time: they stay in the processor's cache
BLOCK = 1 << 17


def known_residue(residue: str) -> None:
    """Raise InputFault for a rule that is not known."""
    if residue not in RESIDUES:
        allowed = f"must be one of {', '.join(map(repr, RESIDUES))}"
        way = nearest(residue, RESIDUES) or "'repeated' for a duty that comes again and again, 'half' for one pass"
        raise InputFault(Fault("residue", residue, allowed, way))


def count_residue(points: Array, residue: Residue) -> Cycles:
    """Cycles of a residue: turning points of which no four in a row close a cycle."""
    if len(points) < 2:
        return Cycles(np.zeros(0), np.zeros(0), np.zeros(0))
    if residue == "half":
        pairs, count = np.stack([points[:-1], points[1:]]), 0.5
    else:
        start = int(np.argmax(points)) if points.max() >= -points.min() else int(np.argmin(points))
        again = turning_points(np.concatenate([points[start:], points[: start + 1]]))
        peak_first = bool(again[0] > again[1])
        closed = close(outward(again, peak_first), peak_first)
        # the extreme, the other extreme, the first one again: the largest cycle
        last = values(closed.rest, peak_first)[:2]
        pairs = np.concatenate([np.stack([closed.upper, closed.lower]), last[:, None]], axis=1)
        count = 1.0
    return Cycles(pairs.max(axis=0), pairs.min(axis=0), np.full(pairs.shape[1], count))


def rainflow(x: ArrayLike, residue: Residue = "half") -> Cycles:
    """Cycles of a signal [sample] in any unit: rainflow counting after ASTM E1049-85, residue by the rule named.

    "half": ASTM E1049-85, 5.4.4, the residue counted as half cycles. "repeated": the history repeats; rearranged to
    begin with the largest-magnitude extreme, so that all cycles close. Cycles come one by one, in no stated order. A
    constant signal has none.

    Raises InputFault for fewer than two samples, NaN, infinity, text, arrays of another shape, and unknown rules.
    """
    known_residue(residue)
    signal = signal_of(x)
    if len(signal) < 2:
        way = "give the whole history; a single value is a static load"
        raise InputFault(Fault("signal", f"{len(signal)} samples", "must have at least two samples", way))
    turns = TurningPoints()
    upper, lower, rest = [], [], []
    for start in range(0, len(signal), BLOCK):
        points, is_peak = turns.feed(signal[start : start + BLOCK])
        closed = close(outward(points, is_peak), is_peak)
        upper.append(closed.upper)
        lower.append(closed.lower)
        rest.append(closed.rest)
    peak_first = turns.peak_first
    rest.append(outward(turns.rest(), turns.next_is_peak))
    closed = close(np.concatenate(rest), peak_first)
    left = count_residue(values(closed.rest, peak_first), residue)
    whole = np.ones(sum(map(len, upper)) + len(closed.upper))
    return Cycles(
        np.concatenate([*upper, closed.upper, left.upper]),
        np.concatenate([*lower, closed.lower, left.lower]),
        np.concatenate([whole, left.count]),
    )
