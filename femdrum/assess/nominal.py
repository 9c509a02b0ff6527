"""The nominal stress of each load, gross and net."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from ..loads.factors import axial_stress_MPa, factors
from ..loads.machine_factors import speed_of
from ..loads.result import COSINE, STEADY, Factors
from ..model.condition import Condition
from ..model.load import (
    Axial,
    BeltPull,
    Bending,
    Biaxial,
    DriveTorque,
    FacePressure,
    FaceTraction,
    InternalPressure,
    Jam,
    Load,
    Overspeed,
    Reversal,
    Rotation,
    SelfWeight,
    Shear,
    Tension,
    ThroughBar,
    Torsion,
    Transverse,
    Unbalance,
)
from ..model.material import Material
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring
from ..units import density_t_mm3, omega_rad_s
from .answer import Nominal

if TYPE_CHECKING:
    from ..model.machine import Machine

__all__ = ["nominal"]

_BENDING = (Bending, SelfWeight, BeltPull, Unbalance)
_TORSION = (Torsion, DriveTorque, Jam, Reversal)
_HOOP_NET = "net hoop stress: gross / (1 - slot's axial length / pitch)"
_AXIAL_NET = "gross / (1 - slots x width / mid-wall circumference)"


def nominal(part: Any, load: Load | Condition, material: Material, machine: Machine | None = None) -> Nominal:
    """Gross nominal stress and net section of a load on a part."""
    if isinstance(load, Condition):
        return Nominal(None, "no nominal stress is defined for loads that act together")
    if isinstance(load, (FacePressure, FaceTraction)):
        return Nominal(None, "no nominal stress is defined for loads on faces of a mesh")
    if isinstance(part, Ring):
        return _ring_nominal(part, load, material, machine)
    return _plate_nominal(part, load)


def _ring_nominal(ring: Ring, load: Load, material: Material, machine: Machine | None) -> Nominal:
    if isinstance(load, (Rotation, ThroughBar, Overspeed)):
        return _spinning(ring, load, material, machine)
    if isinstance(load, Axial):
        text = "gross axial stress of the plain shell"
        return Nominal(axial_stress_MPa(ring, load), text, ring.net_fraction_axial, f"net axial stress: {_AXIAL_NET}")
    if isinstance(load, InternalPressure):
        stress = load.pressure_MPa * ring.inner_radius_mm / ring.wall_mm
        text = "gross hoop stress of the plain shell under this pressure, averaged over the wall"
        return Nominal(stress, text, ring.net_fraction_hoop, _HOOP_NET)
    if isinstance(load, (*_BENDING, *_TORSION)):
        from ..loads.section import bending_stress_MPa, torsion_stress_MPa, tube_section  # late: only for these

        section = tube_section(outer_diameter_mm=ring.outer_diameter_mm, wall_mm=ring.wall_mm)
        made = factors(ring, load, machine, material)
        if isinstance(load, _TORSION):
            stress = torsion_stress_MPa(torque_Nmm=made.steady["torsion"], section=section)
            text = "gross torsional shear stress of the plain shell at its outer surface"
            return Nominal(stress, text, ring.net_fraction_axial, f"net torsional shear stress: {_AXIAL_NET}")
        stress = bending_stress_MPa(moment_Nmm=_moment(made), section=section)
        text = "gross bending stress of the plain shell at its outer surface, on the side that is pulled most"
        return Nominal(stress, text, ring.net_fraction_axial, f"net bending stress: {_AXIAL_NET}")
    if isinstance(load, Transverse):
        return Nominal(None, "no nominal stress is defined for a transverse force: its bending is zero at mid-row")
    return Nominal(None, "no nominal stress is defined for loads that act on the slots' flanks")


def _spinning(
    ring: Ring, load: Rotation | ThroughBar | Overspeed, material: Material, machine: Machine | None
) -> Nominal:
    from ..handbook import closed_forms

    if isinstance(load, Overspeed):
        assert machine is not None
        assert machine.speed_rpm is not None
        speed = load.ratio * machine.speed_rpm
    else:
        speed = speed_of(load, machine)
    stress = closed_forms.ring_average(
        inner_mm=ring.inner_radius_mm,
        outer_mm=ring.outer_radius_mm,
        density_t_mm3=density_t_mm3(material.density_kg_m3),
        omega_rad_s=omega_rad_s(speed),
    )
    text = "gross hoop stress of the plain annulus at this speed, averaged over the wall"
    return Nominal(stress, text, ring.net_fraction_hoop, _HOOP_NET)


def _moment(made: Factors) -> float:
    """Size of the bending moment, N mm; of one that stands still in space as the drum meets it at angle 0."""
    at = COSINE if made.rotating else STEADY
    parts = [sum(t.factor for t in made.terms if t.part == at and t.case == f"bending_{axis}") for axis in "xy"]
    return math.hypot(*parts)


def _plate_nominal(part: Plate | PlateRow, load: Load) -> Nominal:
    if isinstance(load, Tension):
        across_x = load.direction == "y"
        size, room = (part.cutout.half_x_mm, part.half_x_mm) if across_x else (part.cutout.half_y_mm, part.half_y_mm)
        what = "pitch" if across_x and isinstance(part, PlateRow) else "length" if across_x else "width"
        net = f"net stress: force / ligament, gross / (1 - cutout's size / {what})"
        return Nominal(load.stress_MPa, f"gross stress along {load.direction}", 1 - size / room, net)
    if isinstance(load, Biaxial):
        larger = max(abs(load.stress_x_MPa), abs(load.stress_y_MPa))
        return Nominal(larger, "larger of the two gross stresses")
    assert isinstance(load, Shear)
    return Nominal(load.shear_MPa, "gross shear stress")
