"""Names of the places of a slot's edge: flank or corner, and rim, wall or surface."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress
from ..model.contour import Line

__all__ = ["ZONES", "along_names", "zones"]

Index = NDArray[np.intp]

ZONES = ("outer surface", "outer rim", "wall", "bore rim", "bore surface")
_AROUND, _AXIAL = ("leading", "trailing"), ("free-end", "drive-end")
_PLATE_X, _PLATE_Y = ("+x", "\u2212x"), ("+y", "\u2212y")


def zones(edge: EdgeStress) -> Index:
    """For each depth of the edge its number in ZONES; a plane edge is all rim."""
    if edge.depth_mm.size == 1:
        return np.ones(1, np.intp)
    wall = edge.offset_mm == 0.0
    first, last = np.flatnonzero(wall)[[0, -1]]
    out = np.full(edge.depth_mm.size, 2, np.intp)
    out[:first], out[last + 1 :] = 0, 4
    # the rims stand in the arrays twice, as ends of the surfaces and of the wall
    out[wall & (edge.depth_mm == edge.depth_mm[first])] = 1
    out[wall & (edge.depth_mm == edge.depth_mm[last])] = 3
    return out


def along_names(edge: EdgeStress, part: Any) -> list[str]:
    """The flank or corner at each arc length, by the pieces of the cutout's outline."""
    pieces = part.cutout.quarter()
    ends = np.cumsum([p.length for p in pieces])
    total = float(edge.s_mm[-1] + edge.s_mm[1])
    x_names, y_names = (_AROUND, _AXIAL) if part.kind == "ring" else (_PLATE_X, _PLATE_Y)
    out = []
    for share in 4.0 * edge.s_mm / total:
        sector = int(share) % 4
        inside = (share - sector if sector % 2 == 0 else sector + 1 - share) * ends[-1]
        at = min(int(np.searchsorted(ends, inside + 1e-9 * ends[-1])), len(pieces) - 1)
        x, y = x_names[sector in (1, 2)], y_names[sector in (2, 3)]
        piece = pieces[at]
        if isinstance(piece, Line):
            out.append(f"{x if piece.normal_angle == 0.0 else y} flank")
        else:
            out.append(f"corner {x}/{y}")
    return out
