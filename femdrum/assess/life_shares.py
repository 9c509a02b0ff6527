"""Which rows of the duty do a damage: half of each cycle's belongs to the row that makes its peak, half to that of its valley."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..strength.event_pairs import EventPairs
from .life_result import DutyShare

__all__ = ["duty_shares"]

LEAST = 1e-3  # smaller ones are left out


def duty_shares(pairs: EventPairs, names: Sequence[str], damage: NDArray[np.float64]) -> tuple[DutyShare, ...]:
    """Shares of the rows at one place, the largest first; pairs [pair, 1], names of the events, damage [pair]."""
    total = float(damage.sum())
    if total <= 0.0 or not math.isfinite(total):
        return ()
    out: dict[str, float] = {}
    for ends in (pairs.peak[:, 0], pairs.valley[:, 0]):
        for event, part in zip(ends, damage, strict=True):
            name = names[int(event)]
            out[name] = out.get(name, 0.0) + 0.5 * float(part) / total
    rows = sorted(out.items(), key=lambda item: -item[1])
    return tuple(DutyShare(name, part) for name, part in rows if part > LEAST)
