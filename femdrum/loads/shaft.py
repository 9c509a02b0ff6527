"""The drum as a beam on two bearings under space-fixed forces: reactions, moment M(z), shear V(z).

z in mm from one bearing to the other. A force is positive in its own direction; the moment is positive where it
pulls the side that the force points to; V = dM/dz is the force in that direction on the face that looks to +z.
Space-fixed loads turn in the drum's own coordinates: their stress is reversed (R = -1) once a revolution.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import stated
from ..provenance import computed
from .drive import overhung_moment_Nmm
from .refuse import need
from .rotating import GRAVITY_M_S2
from .section import TubeSection, bending_stress_MPa

__all__ = [
    "BeamLoad",
    "overhung_force",
    "point_force",
    "rotating_bending_MPa",
    "self_weight_moment_Nmm",
    "uniform_weight",
    "weight_N",
]

Array = NDArray[np.float64]
STATICS = computed("statics of a beam on two bearings")


@dataclass(frozen=True)
class BeamLoad:
    """Moment (N mm) and shear (N) at the places asked, and the two bearings' forces on the drum (N).

    near_N at z = 0 and far_N at z = span, positive against the load. Where the shear jumps, the side with the larger
    magnitude is given.
    """

    moment_Nmm: Array
    shear_N: Array
    near_N: float
    far_N: float


@stated("weight", "kN", "G = m g", STATICS, 1e-3)
def weight_N(*, mass_kg: float) -> float:
    """Weight, N, with g = 9.80665 m/s^2. Raises InputFault."""
    need(positive={"mass_kg": mass_kg})
    return mass_kg * GRAVITY_M_S2


@stated("bending moment of the weight at mid-span", "N·m", "M = m g L / 8", STATICS, 1e-3)
def self_weight_moment_Nmm(*, mass_kg: float, span_mm: float) -> float:
    """Largest moment of a weight spread evenly over the span, N mm, at its middle: m g L / 8. Raises InputFault."""
    need(positive={"span_mm": span_mm})
    return weight_N(mass_kg=mass_kg) * span_mm / 8


@stated("rotating-bending amplitude of the weight, gross tube", "MPa", "sigma = (m g L / 8) r / I", STATICS)
def rotating_bending_MPa(*, mass_kg: float, span_mm: float, section: TubeSection) -> float:
    """Nominal stress amplitude of the weight at mid-span on the outer surface, MPa; R = -1, one cycle a revolution.

    Raises InputFault.
    """
    return bending_stress_MPa(moment_Nmm=self_weight_moment_Nmm(mass_kg=mass_kg, span_mm=span_mm), section=section)


def uniform_weight(z_mm: ArrayLike, *, mass_kg: float, span_mm: float) -> BeamLoad:
    """Weight spread evenly from bearing to bearing: M = w z (L - z) / 2, V = w (L / 2 - z). Raises InputFault."""
    z = _places(z_mm, span_mm)
    total = weight_N(mass_kg=mass_kg)
    w = total / span_mm
    return BeamLoad(0.5 * w * z * (span_mm - z), w * (0.5 * span_mm - z), 0.5 * total, 0.5 * total)


def point_force(z_mm: ArrayLike, *, force_N: float, position_mm: float, span_mm: float) -> BeamLoad:
    """One force between the bearings, say a cutting force: M rises by F (1 - p / L) up to the force, then falls.

    Raises InputFault.
    """
    z = _places(z_mm, span_mm)
    need(
        finite={"force_N": force_N},
        most={"position_mm": (position_mm, span_mm)},
        way_out={"position_mm": f"from 0 to the span, {span_mm:g} mm; use overhung_force outside the bearings"},
    )
    near, far = force_N * (1 - position_mm / span_mm), force_N * position_mm / span_mm
    moment = np.where(z <= position_mm, near * z, far * (span_mm - z))
    shear = np.where(z < position_mm, near, -far)
    at = z == position_mm
    shear = np.where(at, near if abs(near) >= abs(far) else -far, shear)
    return BeamLoad(moment, shear, near, far)


def overhung_force(z_mm: ArrayLike, *, force_N: float, overhang_mm: float, span_mm: float) -> BeamLoad:
    """A force overhang_mm outside the bearing at z = 0, say a belt pull: M = -F a (1 - z / L), V = F a / L.

    z from the bearing next to the force; between the bearings the side away from the force is pulled. For a force
    outside the other bearing measure z from there: the shear then changes its sign with the direction of z.
    Raises InputFault.
    """
    z = _places(z_mm, span_mm)
    at_bearing = overhung_moment_Nmm(force_N=force_N, overhang_mm=overhang_mm)
    shear = at_bearing / span_mm
    return BeamLoad(-at_bearing * (1 - z / span_mm), np.full(z.shape, shear), force_N + shear, -shear)


def _places(z_mm: ArrayLike, span_mm: float) -> Array:
    need(positive={"span_mm": span_mm})
    z = np.asarray(z_mm, dtype=float)
    for value in z.flat:
        if not 0 <= value <= span_mm:
            way = f"a place between the bearings, from 0 to {span_mm:g} mm"
            need(most={"z_mm": (float(value), span_mm)}, way_out={"z_mm": way})
    return z
