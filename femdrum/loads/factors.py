"""The factor that a load puts on each unit case."""

from __future__ import annotations

import math
from typing import Any

from ..fem.unit_cases.faces import pressure_name, traction_name
from ..model.load import Axial, Biaxial, FacePressure, FaceTraction, Load, Rotation, Shear, Tension
from ..model.ring import Ring
from ..units import omega_rad_s

__all__ = ["axial_stress_MPa", "factors"]


def factors(part: Any, load: Load) -> dict[str, float]:
    """Factor on each unit case (see fem/unit_cases for what `factor = 1` means)."""
    if isinstance(load, Tension):
        return {f"tension_{load.direction}": load.stress_MPa}
    if isinstance(load, Biaxial):
        return {"tension_x": load.stress_x_MPa, "tension_y": load.stress_y_MPa}
    if isinstance(load, Shear):
        return {"shear": load.shear_MPa}
    if isinstance(load, Axial):
        return {"axial": axial_stress_MPa(part, load)}
    if isinstance(load, Rotation):
        omega = omega_rad_s(load.speed_rpm)
        out = {"rotation": omega**2}
        if load.hung_mass_kg:
            assert load.hung_radius_mm is not None
            # kg and mm to N: t mm/s2
            out["hung"] = load.hung_mass_kg * 1e-3 * load.hung_radius_mm * omega**2
        return out
    if isinstance(load, FacePressure):
        return {pressure_name(load.face): load.pressure_MPa}
    if isinstance(load, FaceTraction):
        parts = {"x": load.x_MPa, "y": load.y_MPa, "z": load.z_MPa}
        return {traction_name(load.face, d): value for d, value in parts.items() if value}
    raise TypeError(f"no unit cases for {load!r}")


def axial_stress_MPa(ring: Ring, load: Axial) -> float:
    """Stress of an axial load on the plain shell's section."""
    if load.stress_MPa is not None:
        return load.stress_MPa
    assert load.force_kN is not None
    area = math.pi * (ring.outer_radius_mm**2 - ring.inner_radius_mm**2)
    return 1e3 * load.force_kN / area
