"""The residue of a rainflow count: what does not close, counted by one of two rules.

- "half": ASTM E1049-85, 5.4.4. Each range of the residue is half a cycle. First and last sample are turning points.
- "repeated": the history comes again and again. It is rearranged to begin with its largest-magnitude extreme, so every
  cycle closes (ASTM E1049-85, 5.4.5, which starts from the peak or the valley).
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault, nearest
from ..provenance import standard
from .cycles import Cycles
from .four_point import close, outward, values
from .turning_points import turning_points

__all__ = ["RAINFLOW", "RESIDUES", "Residue", "count_residue", "known_residue"]

Array = NDArray[np.float64]
Residue = Literal["half", "repeated"]
RESIDUES: tuple[str, ...] = get_args(Residue)

RAINFLOW = standard("ASTM E1049-85, 5.4.4 and 5.4.5, rainflow counting", "rule and example seen in a secondary source")


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
