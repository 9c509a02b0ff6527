"""The plain tube as a section, and nominal stresses on it. N, mm, MPa; gross: slots are not taken off."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..figure import stated
from ..handbook.closed_forms import section_area
from ..provenance import computed
from .refuse import need

__all__ = ["TubeSection", "bending_stress_MPa", "torsion_stress_MPa", "tube_section"]

STRENGTH = computed("plane sections stay plane, gross tube without slots")


@dataclass(frozen=True)
class TubeSection:
    """A tube's radii (mm), area (mm^2), second moment of area (mm^4) and polar second moment (mm^4)."""

    outer_radius_mm: float
    inner_radius_mm: float
    area_mm2: float
    inertia_mm4: float
    polar_mm4: float


def tube_section(*, outer_diameter_mm: float, wall_mm: float) -> TubeSection:
    """Section of the plain shell: A, I, Ip. A wall of half the diameter is a solid shaft. Raises InputFault."""
    need(positive={"outer_diameter_mm": outer_diameter_mm, "wall_mm": wall_mm})
    need(
        most={"wall_mm": (wall_mm, 0.5 * outer_diameter_mm)}, way_out={"wall_mm": "at most half of the outer diameter"}
    )
    outer = 0.5 * outer_diameter_mm
    inner = outer - wall_mm
    inertia = 0.25 * math.pi * (outer**4 - inner**4)
    area = section_area(inner_mm=inner, outer_mm=outer)
    return TubeSection(outer, inner, area, inertia, 2 * inertia)


@stated("nominal bending stress, gross tube", "MPa", "sigma = M r / I", STRENGTH)
def bending_stress_MPa(*, moment_Nmm: float, section: TubeSection, radius_mm: float | None = None) -> float:
    """Nominal bending stress at radius_mm on the pulled side (the outer surface unless given), MPa: M r / I."""
    r = _radius(section, radius_mm)
    need(finite={"moment_Nmm": moment_Nmm})
    return moment_Nmm * r / section.inertia_mm4


@stated("nominal torsion shear, gross tube", "MPa", "tau = T r / Ip", STRENGTH)
def torsion_stress_MPa(*, torque_Nmm: float, section: TubeSection, radius_mm: float | None = None) -> float:
    """Nominal shear at radius_mm (the outer surface unless given), MPa, with the torque's sign: T r / Ip."""
    r = _radius(section, radius_mm)
    need(finite={"torque_Nmm": torque_Nmm})
    return torque_Nmm * r / section.polar_mm4


def _radius(section: TubeSection, radius_mm: float | None) -> float:
    if radius_mm is None:
        return section.outer_radius_mm
    need(
        most={"radius_mm": (radius_mm, section.outer_radius_mm)},
        least={"radius_mm": (radius_mm, section.inner_radius_mm)},
        way_out={"radius_mm": f"the wall reaches from {section.inner_radius_mm:g} to {section.outer_radius_mm:g} mm"},
    )
    return radius_mm
