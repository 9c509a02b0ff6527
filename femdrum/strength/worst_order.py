"""Cycles of events whose order is not known: the damaging-most pairing of their peaks and valleys by ranges."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..model.check import Checks
from ..provenance import common_practice
from .array_checks import array_of
from .cycles import Cycles
from .event_pairs import pair_events

__all__ = ["WORST_ORDER", "worst_order"]

WORST_ORDER = common_practice("events of unknown order: highest peaks meet the lowest valleys first, then what is left")


def worst_order(upper: ArrayLike, lower: ArrayLike, count: ArrayLike) -> Cycles:
    """Cycles [pair, ...places] of events of unknown order, at most 2 events - 1 pairs; count 0: pair not used.

    upper, lower: peak and valley of each event [event, ...places], in any unit, upper >= lower; count [event]: how
    often the event comes. Each event brings `count` peaks and as many valleys. The highest peaks are paired with the
    lowest valleys, then what is left. No other pairing has a larger sum of ranges, nor of any power of them that rises
    faster. Where what is left are peaks below valleys, no cycle is left: their range is zero.

    Common practice, no source. Raises InputFault: shapes that differ, upper below lower, counts below zero, NaN.
    """
    checks = Checks()
    high, low = array_of(checks, "upper", upper), array_of(checks, "lower", lower)
    often = array_of(checks, "count", count, least=0.0)
    if not checks.faults:
        if high.ndim < 1 or high.shape != low.shape or often.shape != high.shape[:1] or not len(often):
            shapes = f"shapes {high.shape}, {low.shape}, {often.shape}"
            allowed = "must be [event, ...places], the same [event, ...places], and [event]"
            checks.add("upper, lower, count", shapes, allowed, "give a row for each event")
        elif (high < low).any():
            where = tuple(int(k) for k in np.argwhere(high < low)[0])
            field = f"upper[{', '.join(map(str, where))}]"
            checks.add(field, float(high[where]), f"must be at least lower = {float(low[where]):g}", "exchange them")
    checks.done()
    pairs = pair_events(high, low, often)
    top, bottom = pairs.upper(high), pairs.lower(low)
    return Cycles(top, np.minimum(top, bottom), pairs.count)
