"""A jam as an event of energy: what the turning drum holds, the torque of a stop, and what gives way first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..provenance import computed
from ..units import omega_rad_s
from .refuse import need
from .weak_links import Cap, Link, tip_force_N, weakest_link

__all__ = ["Jam", "Swing", "jam", "jam_torque_Nmm", "reversal", "rotor_energy_J"]

ENERGY = computed("energy balance, no drive input, constant torque over the stopping angle")
CAPPED = computed("least of the limits, declared or reckoned from the bar")


@stated("energy of the turning drum", "kJ", "E = J omega² / 2", ENERGY, 1e-3)
def rotor_energy_J(*, inertia_kg_m2: float, speed_rpm: float) -> float:
    """Kinetic energy of the drum, J: J omega^2 / 2. Raises InputFault."""
    need(positive={"inertia_kg_m2": inertia_kg_m2, "speed_rpm": speed_rpm})
    return 0.5 * inertia_kg_m2 * omega_rad_s(speed_rpm) ** 2


@stated("mean torque of the stop", "N·m", "T = E / theta", ENERGY, 1e-3)
def jam_torque_Nmm(*, inertia_kg_m2: float, speed_rpm: float, stop_angle_deg: float) -> float:
    """Mean torque that stops the drum within an angle, N mm, against the rotation: (J omega^2 / 2) / theta.

    The peak is above the mean; by how much depends on the course of the stop, which nobody knows. Raises InputFault.
    """
    need(
        positive={"stop_angle_deg": stop_angle_deg},
        way_out={"stop_angle_deg": "angle from the first contact to standstill, 90 for a quarter turn"},
    )
    energy = rotor_energy_J(inertia_kg_m2=inertia_kg_m2, speed_rpm=speed_rpm)
    return 1e3 * energy / math.radians(stop_angle_deg)


@dataclass(frozen=True)
class Jam:
    """A stop within an angle: energy (J), the torque it asks for and what is left of it (N mm), force at each tip (N).

    angle_at_cap_deg: over what angle the energy is spent if the torque stays at its cap.
    """

    energy_J: float
    cap: Cap
    tip_force_N: float
    angle_at_cap_deg: float

    @property
    def torque_Nmm(self) -> float:
        """The jam's torque, capped."""
        return self.cap.torque_Nmm

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know."""
        return self.cap.warnings

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        cap = self.cap
        what = f"torque after the cap ({cap.gives_way} gives way first)" if cap.gives_way else "torque, not capped"
        limits = [Figure(f"limit of {n}", 1e-3 * t, "N·m", "limit as torque", CAPPED) for n, t in cap.limits]
        return (
            figure(rotor_energy_J, self.energy_J),
            figure(jam_torque_Nmm, cap.asked_Nmm),
            *limits,
            Figure(what, 1e-3 * cap.torque_Nmm, "N·m", "least of the stop's torque and the limits", CAPPED),
            figure(tip_force_N, self.tip_force_N, "force at each tip held"),
            Figure("angle over which the energy is spent", self.angle_at_cap_deg, "°", "theta = E / T", ENERGY),
        )


def jam(
    *,
    inertia_kg_m2: float,
    speed_rpm: float,
    stop_angle_deg: float,
    tip_radius_mm: float,
    links: Sequence[Link] = (),
    tips: int = 1,
) -> Jam:
    """A jam: energy, torque over the stopping angle, capped by the weakest link, force at each of the tips held.

    Raises InputFault. Without links the torque is not capped, with a warning.
    """
    energy = rotor_energy_J(inertia_kg_m2=inertia_kg_m2, speed_rpm=speed_rpm)
    asked = jam_torque_Nmm(inertia_kg_m2=inertia_kg_m2, speed_rpm=speed_rpm, stop_angle_deg=stop_angle_deg)
    cap = weakest_link(torque_Nmm=asked, tip_radius_mm=tip_radius_mm, links=links, tips=tips)
    force = tip_force_N(torque_Nmm=cap.torque_Nmm, tip_radius_mm=tip_radius_mm) / tips
    return Jam(energy, cap, force, math.degrees(1e3 * energy / cap.torque_Nmm))


@dataclass(frozen=True)
class Swing:
    """A torque that comes both ways: highest and lowest (N mm) and their ratio R = lowest / highest."""

    highest_Nmm: float
    lowest_Nmm: float
    ratio: float


def reversal(*, torque_Nmm: float, back_torque_Nmm: float | None = None) -> Swing:
    """A jam, and one more while the drum runs backwards to clear it; R = -1 unless the second is given.

    Both as positive magnitudes. Raises InputFault.
    """
    back = torque_Nmm if back_torque_Nmm is None else back_torque_Nmm
    need(positive={"torque_Nmm": torque_Nmm, "back_torque_Nmm": back})
    high, low = max(torque_Nmm, back), -min(torque_Nmm, back)
    return Swing(high, low, low / high)
