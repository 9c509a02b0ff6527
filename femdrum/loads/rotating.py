"""Speed, and the forces that turn with the drum: centrifugal, unbalance, wedges.

Speed in revolutions a minute, masses in kg, radii in mm from the drum's axis, forces in N, outward positive.
Thin ring, ring average and disc with a bore are in femdrum/handbook/closed_forms.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..provenance import common_practice, computed, standard
from ..units import omega_rad_s
from .refuse import need

__all__ = [
    "GRAVITY_M_S2",
    "WedgePull",
    "acceleration_g",
    "centrifugal_force_N",
    "ejection_energy_J",
    "overspeed_factor",
    "permissible_unbalance_g_mm",
    "revolutions",
    "tip_speed_m_s",
    "unbalance_force_N",
    "wedge_pull",
]

# conventional value of free fall; weight anywhere on Earth differs by at most 0.3 %
GRAVITY_M_S2 = 9.80665
KINEMATICS = computed("kinematics of steady rotation")
FASTEST = {"ratio": "give the overspeed over the running speed, 1.2 for 20 % above"}


@stated("tip speed", "m/s", "v = pi D n / 60", KINEMATICS)
def tip_speed_m_s(*, speed_rpm: float, tip_diameter_mm: float) -> float:
    """Speed of the hammers' tips, m/s: v = pi D n / 60. Raises InputFault."""
    need(positive={"speed_rpm": speed_rpm, "tip_diameter_mm": tip_diameter_mm})
    return 0.5e-3 * tip_diameter_mm * omega_rad_s(speed_rpm)


@stated("centripetal acceleration", "g", "a = r omega² / g", KINEMATICS)
def acceleration_g(*, speed_rpm: float, radius_mm: float) -> float:
    """Centripetal acceleration as a multiple of gravity: r omega^2 / g, g = 9.80665 m/s^2. Raises InputFault."""
    need(positive={"speed_rpm": speed_rpm, "radius_mm": radius_mm})
    return 1e-3 * radius_mm * omega_rad_s(speed_rpm) ** 2 / GRAVITY_M_S2


@stated("cycles at once a revolution", "cycles", "N = 60 n h", KINEMATICS)
def revolutions(*, speed_rpm: float, running_h: float) -> float:
    """Cycles of a load that comes once a revolution: 60 n h. Raises InputFault."""
    need(positive={"speed_rpm": speed_rpm}, not_negative={"running_h": running_h})
    return 60.0 * speed_rpm * running_h


@stated("centrifugal force", "kN", "F = m r omega²", KINEMATICS, 1e-3)
def centrifugal_force_N(*, mass_kg: float, radius_mm: float, speed_rpm: float) -> float:
    """Outward pull of a mass whose centre of gravity turns at radius_mm, N: m r omega^2. Raises InputFault."""
    need(not_negative={"mass_kg": mass_kg, "radius_mm": radius_mm}, positive={"speed_rpm": speed_rpm})
    return 1e-3 * mass_kg * radius_mm * omega_rad_s(speed_rpm) ** 2


@stated("energy of an ejected part (translation)", "kJ", "E = m (r omega)² / 2", KINEMATICS, 1e-3)
def ejection_energy_J(*, mass_kg: float, radius_mm: float, speed_rpm: float) -> float:
    """Kinetic energy of a part that leaves the drum, J: m (r omega)^2 / 2, of translation only.

    A part that leaves also keeps spinning at the drum's speed; that share is not in it. Says nothing about what a
    guard holds. Raises InputFault.
    """
    need(positive={"mass_kg": mass_kg, "radius_mm": radius_mm, "speed_rpm": speed_rpm})
    return 0.5 * mass_kg * (1e-3 * radius_mm * omega_rad_s(speed_rpm)) ** 2


@stated("unbalance force", "kN", "F = U omega²", KINEMATICS, 1e-3)
def unbalance_force_N(*, unbalance_g_mm: float, speed_rpm: float) -> float:
    """Force of an unbalance U, turning with the drum, N: U omega^2. Raises InputFault."""
    need(not_negative={"unbalance_g_mm": unbalance_g_mm}, positive={"speed_rpm": speed_rpm})
    # g mm to t mm
    return 1e-6 * unbalance_g_mm * omega_rad_s(speed_rpm) ** 2


@stated(
    "permissible unbalance of the balance grade", "g·mm", "U = m G / omega",
    standard("ISO 21940-11:2016, e_per Omega = G", "number and relation confirmed in a secondary reproduction"),
)  # fmt: skip
def permissible_unbalance_g_mm(*, grade_mm_s: float, mass_kg: float, speed_rpm: float) -> float:
    """Permissible residual unbalance of a rotor, g mm: m G / omega, G in mm/s (16 for grade G16). Raises InputFault."""
    need(positive={"grade_mm_s": grade_mm_s, "mass_kg": mass_kg, "speed_rpm": speed_rpm})
    return 1e3 * mass_kg * grade_mm_s / omega_rad_s(speed_rpm)


@stated("factor of overspeed on all centrifugal loads", "-", "(n_over / n)²", KINEMATICS)
def overspeed_factor(*, ratio: float) -> float:
    """What an overspeed multiplies all centrifugal loads by: ratio^2; ratio = overspeed over running speed, 1 or more."""
    need(least={"ratio": (ratio, 1.0)}, way_out=FASTEST)
    return ratio**2


@dataclass(frozen=True)
class WedgePull:
    """Centrifugal pull of a wedge (N, outward) and what of it drives the wedge home.

    tightening_N: its part along the direction in which the wedge tightens; positive tightens, negative loosens.
    effect: "tightens", "loosens" or "neither".
    """

    force_N: float
    tightening_N: float
    effect: str

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        words = {"tightens": "rotation tightens it", "loosens": "ROTATION LOOSENS IT", "neither": "neither way"}
        along = Figure(
            f"of it along the wedge's tightening direction ({words[self.effect]})", 1e-3 * self.tightening_N, "kN",
            "F cos(angle to the outward radius)", common_practice("the sign is said with the number"),
        )  # fmt: skip
        return (figure(centrifugal_force_N, self.force_N, "centrifugal pull of a wedge"), along)


def wedge_pull(*, mass_kg: float, radius_mm: float, speed_rpm: float, tightening_angle_deg: float) -> WedgePull:
    """Centrifugal pull of a wedge and whether rotation tightens or loosens it.

    tightening_angle_deg: angle between the direction in which the wedge is driven home and the outward radius:
    0 driven outward (rotation tightens), 180 driven inward (rotation loosens), 90 along the drum or around it
    (neither, to first order). Friction holds on top of this and is not in it. Raises InputFault.
    """
    need(
        positive={"mass_kg": mass_kg, "radius_mm": radius_mm, "speed_rpm": speed_rpm},
        most={"tightening_angle_deg": (tightening_angle_deg, 180.0)},
        way_out={"tightening_angle_deg": "0 is driven home outward, 180 inward, 90 along the drum"},
    )
    force = centrifugal_force_N(mass_kg=mass_kg, radius_mm=radius_mm, speed_rpm=speed_rpm)
    along = force * math.cos(math.radians(tightening_angle_deg))
    if abs(along) <= 1e-9 * force:
        return WedgePull(force, 0.0, "neither")
    return WedgePull(force, along, "tightens" if along > 0 else "loosens")
