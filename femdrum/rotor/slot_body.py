"""The piece of shell that a slot takes away: volume and moments, exactly.

The slot's flanks are parallel to the radius through its middle, so the piece is a prism over the outline in the plane of
(around, along), between the shell's two cylinders. Heights at an offset t around: sqrt(Ro^2 - t^2) and sqrt(Ri^2 - t^2).
Straight sides and round corners are integrated piece by piece by Gauss's rule, smooth to the last digit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.cutout import Cutout

__all__ = ["SlotBody", "slot_body"]

Array = NDArray[np.float64]
POINTS = 64


@dataclass(frozen=True)
class SlotBody:
    """Volume (mm^3), radius of the centre of gravity (mm), and second moments about that centre (mm^5).

    In the slot's own directions: outward, around, along the drum. Products vanish by its two mirror planes.
    """

    volume_mm3: float
    radius_mm: float
    outward_mm5: float
    around_mm5: float
    along_mm5: float


def slot_body(cutout: Cutout, *, outer_radius_mm: float, inner_radius_mm: float) -> SlotBody:
    """What a cutout takes from a shell. The cutout must be narrower than the bore."""
    nodes, weights = np.polynomial.legendre.leggauss(POINTS)
    s, w = 0.5 * (nodes + 1), 0.5 * weights
    ro2, ri2 = outer_radius_mm**2, inner_radius_mm**2
    totals = np.zeros(5)
    for piece in cutout.quarter():
        place = piece.point(s)
        t, along = place[:, 0], place[:, 1]
        # a step along the outline moves -speed sin(normal) around; four quarters
        width = 4 * w * piece.speed(s) * np.sin(piece.angle(s))
        high, low = np.sqrt(ro2 - t**2), np.sqrt(ri2 - t**2)
        height = high - low
        totals += [
            np.sum(width * along * height),
            np.sum(width * along) * 0.5 * (ro2 - ri2),
            np.sum(width * along * (high**3 - low**3)) / 3,
            np.sum(width * along * height * t**2),
            np.sum(width * along**3 * height) / 3,
        ]
    volume, first, outward, around, lengthwise = (float(value) for value in totals)
    radius = first / volume
    return SlotBody(volume, radius, outward - volume * radius**2, around, lengthwise)
