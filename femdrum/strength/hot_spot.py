"""Structural hot-spot stress of a weld toe, from stresses at stated distances on the surface, and where it applies.

The stress normal to the toe is read at two or three distances and extrapolated to the toe, so that the toe's own notch,
which the class holds already, stays out. For toes only: a crack from the root, or a seam loaded along itself, is
judged otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, InputFault
from ..figure import Figure
from ..model.check import Checks
from ..provenance import Provenance, standard
from .array_checks import array_of

__all__ = ["HOT_SPOT_KINDS", "HotSpotKind", "ToeDirection", "hot_spot", "hot_spot_weights", "read_off", "toe_direction"]

Array = NDArray[np.float64]

GUIDE = "IIW-1823-07 (ex XIII-2151r4-07 / XV-1254r4-07), Dec 2008"
SEEN = "two open codes, one checked against images of the pages"
WINDOW_DEG = 60.0
WINDOW = standard(f"{GUIDE}, p. 20: principal stress within 60 deg of the normal to the toe", "one reading record")


@dataclass(frozen=True)
class HotSpotKind:
    """Distances, weights, and how fine the stress must be sampled.

    distances: in plate thicknesses, or in mm where `in_mm`. spacing: the most between samples around a distance, same unit.
    """

    distances: tuple[float, ...]
    weights: tuple[float, ...]
    in_mm: bool
    spacing: float
    mesh: str
    provenance: Provenance

    def distances_mm(self, thickness_mm: float) -> Array:
        """The distances from the toe, mm."""
        return np.array(self.distances) * (1.0 if self.in_mm else thickness_mm)

    @property
    def formula(self) -> str:
        """In words with the distances."""
        unit = " mm" if self.in_mm else " t"
        terms = [f"{w:+g} s({d:g}{unit})" for d, w in zip(self.distances, self.weights, strict=True)]
        return " ".join(terms).replace("+", "", 1).replace(" -", " - ").replace(" +", " + ")


def _kind(
    distances: tuple[float, ...], weights: tuple[float, ...], in_mm: bool, spacing: float, mesh: str, where: str
) -> HotSpotKind:
    return HotSpotKind(distances, weights, in_mm, spacing, mesh, standard(f"{GUIDE}, {where}", SEEN))


HOT_SPOT_KINDS = {
    "a linear": _kind((0.4, 1.0), (1.67, -0.67), False, 0.4, "cells up to 0.4 t", "eq. (2.7), p. 24"),
    "a quadratic": _kind(
        (0.4, 0.9, 1.4), (2.52, -2.24, 0.72), False, 0.4, "cells up to 0.4 t; steep or thick", "eq. (2.8), p. 24"
    ),
    "a coarse": _kind(
        (0.5, 1.5), (1.5, -0.5), False, 1.0, "cells of higher order as long as the plate is thick", "eq. (2.9), p. 24"
    ),
    "b": _kind(
        (4.0, 8.0, 12.0), (3.0, -3.0, 1.0), True, 4.0, "cells up to 4 mm at the plate's edge", "eq. (2.10), p. 25"
    ),
    "b coarse": _kind((5.0, 15.0), (1.5, -0.5), True, 10.0, "cells of higher order of 10 mm", "eq. (2.11), p. 25"),
}


def _look_up(kind: str) -> HotSpotKind:
    checks = Checks()
    checks.one_of("kind", kind, HOT_SPOT_KINDS, "a: toe on the plate's surface; b: toe at a plate's edge")
    checks.done()
    return HOT_SPOT_KINDS[kind]


def hot_spot(kind: str, *stresses_MPa: ArrayLike) -> Array:
    """The hot-spot stress of stresses at the distances of `kind`, nearest first, MPa; arrays of any one shape.

    Kinds: "a linear" (0.4 t, 1.0 t), "a quadratic" (0.4, 0.9, 1.4 t), "a coarse" (0.5, 1.5 t), "b" (4, 8, 12 mm),
    "b coarse" (5, 15 mm). Raises InputFault.
    """
    chosen = _look_up(kind)
    if len(stresses_MPa) != len(chosen.weights):
        allowed = f"must be {len(chosen.weights)} for {kind!r}: {chosen.formula}"
        raise InputFault(Fault("stresses_MPa", len(stresses_MPa), allowed, "nearest to the toe first"))
    checks = Checks()
    read = [array_of(checks, "stresses_MPa", s) for s in stresses_MPa]
    checks.done()
    return np.asarray(sum(w * s for w, s in zip(chosen.weights, read, strict=True)))


def hot_spot_weights(distances_mm: ArrayLike, thickness_mm: float, kind: str) -> Array:
    """Weights [n] of samples at distances from the toe whose sum of products is the hot-spot stress.

    So a hot-spot stress per unit load case adds like the stress itself. Between samples a curve through the four nearest
    is read; a sample at the toe itself gets no weight, for the toe's own notch is in it. Raises InputFault where the line
    is too short or too coarse for the kind.
    """
    chosen = _look_up(kind)
    checks = Checks()
    checks.positive("thickness_mm", thickness_mm)
    x = array_of(checks, "distances_mm", distances_mm, least=0.0, way_out="distance from the toe, along the surface")
    if x.ndim != 1 or len(x) < 2 or not np.all(np.diff(x) > 0):
        checks.add("distances_mm", x.shape, "must be at least two increasing distances from the toe")
    checks.done()
    read = chosen.distances_mm(thickness_mm)
    slack = 1e-9 * float(read[-1])
    first = int(np.searchsorted(x, slack))
    away = x[first:]
    if len(away) < 2 or away[0] > read[0] + slack or away[-1] < read[-1] - slack:
        checks.add(
            "distances_mm", (float(x[0]), float(x[-1])),
            f"must span {read[0]:.4g} to {read[-1]:.4g} mm for {kind!r}, the toe itself not counted",
            "give the stress along a longer line from the toe",
        )  # fmt: skip
        checks.done()
    at = np.clip(np.searchsorted(away, read - slack) - 1, 0, len(away) - 2)
    gap = away[at + 1] - away[at]
    on_sample = np.min(np.abs(away[:, None] - read), axis=0) <= slack
    most = chosen.spacing * (1.0 if chosen.in_mm else thickness_mm)
    if bool(np.any((gap > most * (1 + 1e-9)) & ~on_sample)):
        checks.add(
            "distances_mm", float(gap.max()), f"must stand at most {most:.4g} mm apart around each distance for {kind!r}",
            f"the kind asks for {chosen.mesh}",
        )  # fmt: skip
        checks.done()
    out = np.zeros(len(x))
    for k, place, weight in zip(at, read, chosen.weights, strict=True):
        low = max(0, min(int(k) - 1, len(away) - 4))
        near = away[low : low + 4]
        others = ~np.eye(len(near), dtype=bool)
        gaps = np.where(others, near[:, None] - near, 1.0)
        basis = np.where(others, place - near, 1.0).prod(1) / gaps.prod(1)
        out[first + low : first + low + len(near)] += weight * basis
    return out


def read_off(distances_mm: ArrayLike, stress_MPa: ArrayLike, thickness_mm: float, kind: str) -> Figure:
    """The hot-spot stress of a line of stress normal to the toe: distances from the toe [n], stress [n].

    Between samples as in `hot_spot_weights`. The figure's formula names the distances. Raises InputFault where the line
    is too short or too coarse for the kind.
    """
    checks = Checks()
    stress = array_of(checks, "stress_MPa", stress_MPa)
    x = np.asarray(distances_mm, dtype=float)
    if stress.shape != x.shape:
        checks.add("stress_MPa", stress.shape, f"must have a value at each of the {x.size} distances")
    checks.done()
    value = float(hot_spot_weights(x, thickness_mm, kind) @ stress)
    chosen = HOT_SPOT_KINDS[kind]
    places = ", ".join(f"{d:.4g}" for d in chosen.distances_mm(thickness_mm))
    formula = f"{chosen.formula}, read at {places} mm from the toe"
    return Figure(f"structural hot-spot stress ({kind})", value, "MPa", formula, chosen.provenance)


@dataclass(frozen=True)
class ToeDirection:
    """Principal stress at a toe: its size and how far it stands off the normal to the toe, in degrees, 0 to 90.

    warning: empty inside the window of 60 degrees.
    """

    principal_MPa: float
    off_normal_deg: float
    warning: str


def toe_direction(normal_MPa: float, along_MPa: float, shear_MPa: float) -> ToeDirection:
    """The principal stress of largest magnitude at a toe from the components normal to it, along it, and shear."""
    middle, half = 0.5 * (normal_MPa + along_MPa), 0.5 * (normal_MPa - along_MPa)
    radius = math.hypot(half, shear_MPa)
    largest = middle + radius if middle >= 0 else middle - radius
    off = math.degrees(0.5 * math.atan2(abs(shear_MPa), half if middle >= 0 else -half))
    warning = ""
    if off > WINDOW_DEG:
        warning = (
            f"the principal stress stands {off:.0f} deg off the normal to the toe, more than {WINDOW_DEG:g}: the hot-spot "
            "stress normal to the toe does not govern; judge the weld along its seam too"
        )
    return ToeDirection(largest, off, warning)
