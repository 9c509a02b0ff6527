"""Stress along the paths that cracks would take from the edge of a slot into the part, per unit load case."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["CrackPaths"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CrackPaths:
    """Paths from many places of a part's edges.

    slot, s_mm, depth_mm [path]: where each starts, as in EdgeStress. x_mm [path, n]: length from the edge, 0 first.
    stress [path, case, n]: normal to the path in the shell's surface, per unit of each case, MPa, tension positive.
    """

    slot: NDArray[np.intp]
    s_mm: Array
    depth_mm: Array
    x_mm: Array
    stress: Array

    def nearest(self, slot: int, s_mm: float, depth_mm: float, length_mm: float) -> int:
        """The path that starts nearest to a place of a slot's edge; length_mm: of the whole edge, which is closed."""
        along = np.abs(self.s_mm - s_mm) % length_mm
        along = np.minimum(along, length_mm - along)
        far = np.hypot(along, self.depth_mm - depth_mm) + np.where(self.slot == slot, 0.0, np.inf)
        return int(np.argmin(far))
