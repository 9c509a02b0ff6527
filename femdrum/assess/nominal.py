"""The nominal stress of each load, gross and net."""

from __future__ import annotations

from typing import Any

from ..loads.factors import axial_stress_MPa
from ..model.load import Axial, Biaxial, FacePressure, FaceTraction, Load, Rotation, Shear, Tension
from ..model.material import Material
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring
from ..units import density_t_mm3, omega_rad_s
from .answer import Nominal

__all__ = ["nominal"]


def nominal(part: Any, load: Load, material: Material) -> Nominal:
    """Gross nominal stress and net section of a load on a part."""
    if isinstance(load, Rotation):
        from ..handbook import closed_forms

        ring: Ring = part
        stress = closed_forms.ring_average(
            inner_mm=ring.inner_radius_mm,
            outer_mm=ring.outer_radius_mm,
            density_t_mm3=density_t_mm3(material.density_kg_m3),
            omega_rad_s=omega_rad_s(load.speed_rpm),
        )
        text = "gross hoop stress of the plain annulus at this speed, averaged over the wall"
        return Nominal(
            stress, text, ring.net_fraction_hoop, "net hoop stress: gross / (1 - slot's axial length / pitch)"
        )
    if isinstance(load, Axial):
        text = "gross axial stress of the plain shell"
        net = "net axial stress: gross / (1 - slots x width / mid-wall circumference)"
        return Nominal(axial_stress_MPa(part, load), text, part.net_fraction_axial, net)
    if isinstance(load, (FacePressure, FaceTraction)):
        return Nominal(None, "no nominal stress is defined for loads on faces of a mesh")
    return _plate_nominal(part, load)


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
