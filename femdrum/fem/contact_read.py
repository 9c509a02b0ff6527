"""What a face in contact says: peak, where it bears, how far it stands open, stick and slip, resultant and couple."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .contact import FaceState
from .contact_friction import OPEN, STICK

__all__ = ["FaceReading", "bearing_runs", "read_face"]

Array = NDArray[np.float64]

# nodes over which the square of the pressure is followed to the end of contact
FOLLOWED = 4


@dataclass(frozen=True, eq=False)
class FaceReading:
    """A face along one of its coordinates [m], ascending. Forces and couples per mm of thickness.

    peak_MPa at peak_mm; even_peak_MPa: the same of the pressure evened out between neighbours: how far they differ says how well the
    peak is resolved. runs: (low, high) of every stretch that bears, bears_mm their sum. normal_N: resultant of the
    pressures, couple_Nmm: their moment about the coordinate's zero. shear_N: resultant of the shears, in the direction of the
    coordinate, on the first side. stick_share: of what bears; None without friction.
    """

    along_mm: Array
    pressure_MPa: Array
    shear_MPa: Array
    gap_mm: Array
    peak_MPa: float
    peak_mm: float
    even_peak_MPa: float
    runs: tuple[tuple[float, float], ...]
    normal_N: float
    couple_Nmm: float
    shear_N: float
    stick_share: float | None

    @property
    def bears_mm(self) -> float:
        """Length that bears."""
        return sum(high - low for low, high in self.runs)

    @property
    def middle_mm(self) -> float:
        """Middle between the outermost places that bear."""
        return 0.5 * (self.runs[0][0] + self.runs[-1][1])

    @property
    def half_width_mm(self) -> float:
        """Half of the distance between the outermost places that bear."""
        return 0.5 * (self.runs[-1][1] - self.runs[0][0])


def read_face(face: FaceState, axis: int | None = None) -> FaceReading:
    """A face along x (axis 0) or y (1) of its places, or along its arc length (None)."""
    along = face.s_mm if axis is None else face.place_mm[:, axis]
    order = np.argsort(along, kind="stable")
    x, p, weight = along[order], face.pressure_MPa[order], face.pairing.weight_mm[order]
    state = face.state[order]
    bears = state != OPEN
    top = int(np.argmax(p))
    stick = None
    if face.friction > 0:
        stick = float(weight[state == STICK].sum() / weight[bears].sum()) if bears.any() else 0.0
    even = p.copy()
    even[1:-1] = 0.25 * p[:-2] + 0.5 * p[1:-1] + 0.25 * p[2:]
    # at an end of the face there is one neighbour only
    if p.size > 1:
        even[[0, -1]] = 0.5 * (p[[0, -1]] + p[[1, -2]])
    shear = -face.shear_MPa
    if axis is not None:
        # the resultant on the first side has a part of the pressures where these lean; only the shears count here
        tangents = np.einsum("mkd->md", face.pairing.drag)
        shear_N = float(shear @ tangents[:, axis])
    else:
        shear_N = float(shear @ face.pairing.weight_mm)
    return FaceReading(
        along_mm=x,
        pressure_MPa=p,
        shear_MPa=shear[order],
        gap_mm=face.gap_mm[order],
        peak_MPa=float(p[top]),
        peak_mm=float(x[top]),
        even_peak_MPa=float(even.max()),
        runs=bearing_runs(x, p, bears),
        normal_N=float(weight @ p),
        couple_Nmm=float((weight * p) @ x),
        shear_N=shear_N,
        stick_share=stick,
    )


def bearing_runs(x: Array, pressure: Array, bears: NDArray[np.bool_]) -> tuple[tuple[float, float], ...]:
    """Stretches that bear, from nodes [m] in ascending order.

    At an end the pressure of smooth bodies falls like the root of the distance, so its square is followed to zero, between
    the last node that bears and the next. A stretch that reaches the end of the face ends there.
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[0], bears.astype(np.int8), [0]])))
    out = []
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        low, high = float(x[first]), float(x[after - 1])
        if first > 0:
            low = -_end(-x[first:after][::-1], pressure[first:after][::-1], -x[first - 1])
        if after < x.size:
            high = _end(x[first:after], pressure[first:after], x[after])
        out.append((low, high))
    return tuple(out)


def _end(x: Array, pressure: Array, following: float) -> float:
    """Where contact ends beyond the last of ascending places."""
    x, square = x[-FOLLOWED:], pressure[-FOLLOWED:] ** 2
    last = float(x[-1])
    if x.size < 2:
        return 0.5 * (last + following)
    slope, level = np.polyfit(x - last, square, 1)
    if slope >= 0:
        return 0.5 * (last + following)
    return float(np.clip(last - level / slope, last, following))
