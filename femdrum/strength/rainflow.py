"""Rainflow counting after ASTM E1049-85, of a signal in memory (here) or in blocks (`RainflowCounter`).

Closed cycles are those of the rule of four points (`four_point.py`), the same as by the standard's three points. What
does not close is the residue, counted by one of the two rules in `residue.py`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..errors import Fault, InputFault
from .cycles import Cycles
from .four_point import close, outward, values
from .rainflow_stream import BLOCK, RainflowCounter
from .residue import RAINFLOW, RESIDUES, Residue, count_residue, known_residue
from .turning_points import TurningPoints, signal_of

__all__ = ["RAINFLOW", "RESIDUES", "Cycles", "RainflowCounter", "Residue", "rainflow"]


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
