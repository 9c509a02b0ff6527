"""Membrane, bending and peak part of a stress along a line through the wall.

The line must be square to the wall and must not cut a slot's corner: through a stress concentration the bending part
means nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure
from ..model.check import Checks
from ..provenance import computed
from .array_checks import array_of

__all__ = ["Linearised", "linearise"]

Array = NDArray[np.float64]

DEFINITION = computed("definition: equal force and moment through the wall; the samples joined by a smooth curve")
LEAST_SAMPLES = 4


@dataclass(frozen=True, eq=False)
class Linearised:
    """Parts of a stress through the wall, each of the shape of the cases (a number for one line).

    membrane_MPa: mean. bending_MPa: linear part at the last point of the line; at the first it is the negative.
    peak_first_MPa, peak_last_MPa: the rest at the two faces.
    """

    membrane_MPa: Array
    bending_MPa: Array
    peak_first_MPa: Array
    peak_last_MPa: Array

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers, of one line."""
        return (
            Figure("membrane part", float(self.membrane_MPa), "MPa", "(1 / t) ∫ s dx", DEFINITION),
            Figure("bending part at the line's end", float(self.bending_MPa), "MPa", "(6 / t²) ∫ s x dx", DEFINITION),
            Figure("peak part at the line's start", float(self.peak_first_MPa), "MPa", "the rest", DEFINITION),
            Figure("peak part at the line's end", float(self.peak_last_MPa), "MPa", "the rest", DEFINITION),
        )


def linearise(x_mm: ArrayLike, stress_MPa: ArrayLike) -> Linearised:
    """Parts of a stress [..., n] along a line through the whole wall, x_mm [n] from face to face, increasing.

    Exact for stresses up to third order. Raises InputFault.
    """
    from scipy.interpolate import CubicSpline

    checks = Checks()
    x = array_of(checks, "x_mm", x_mm)
    stress = array_of(checks, "stress_MPa", stress_MPa)
    if x.ndim != 1 or len(x) < LEAST_SAMPLES or not np.all(np.diff(x) > 0):
        checks.add("x_mm", x.shape, f"must be at least {LEAST_SAMPLES} increasing places from face to face")
    elif stress.shape[-1:] != x.shape:
        checks.add("stress_MPa", stress.shape, f"must have a value at each of the {len(x)} places")
    checks.done()
    t = float(x[-1] - x[0])
    curve = CubicSpline(x, stress, axis=-1)
    # Gauss points between samples: the curve is of third order there, times x of fourth
    g, w = np.polynomial.legendre.leggauss(3)
    half = 0.5 * np.diff(x)
    at = (0.5 * (x[1:] + x[:-1])[:, None] + half[:, None] * g).ravel()
    weights = (half[:, None] * w).ravel()
    values = curve(at)
    membrane = values @ weights / t
    bending = 6 / t**2 * (values @ (weights * (at - 0.5 * (x[0] + x[-1]))))
    return Linearised(
        np.asarray(membrane), np.asarray(bending), np.asarray(stress[..., 0] - membrane + bending),
        np.asarray(stress[..., -1] - membrane - bending),
    )  # fmt: skip
