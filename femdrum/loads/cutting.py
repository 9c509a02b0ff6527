"""Cutting forces by three levels: power balance, crushing strength, impulse. Always report which one.

No published force spectrum of such grinders was found: all three are estimates, to be replaced by measured strain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import MISSING, Fault, InputFault, nearest
from ..figure import Figure, figure, stated
from ..provenance import Provenance, common_practice, computed, published
from ..units import omega_rad_s
from .refuse import need
from .rotating import tip_speed_m_s

__all__ = [
    "RATE_FACTORS",
    "WOODS",
    "Hit",
    "Wood",
    "crushing_force_N",
    "hit",
    "hit_energy_J",
    "hit_force_N",
    "mean_cutting_force_N",
    "pulse_peak_N",
    "wood",
]

MPA_PER_PSI = 4.4482216152605 / 25.4**2  # exact: pound-force in N over square inch in mm^2
# common practice, no source: crushing strength at the speed of a hit over that of a slow test
RATE_FACTORS = (1.5, 2.0)

POWER = computed("power balance")
HANDBOOK = "Wood Handbook, USDA Forest Products Laboratory"
QUOTED = "seen quoted in an archived forestry post; the table itself was not open"


@dataclass(frozen=True)
class Wood:
    """A wood's crushing strength parallel to the grain, MPa, in a slow test, and where it is from."""

    name: str
    what: str
    crushing_MPa: float
    provenance: Provenance


WOODS = {
    w.name: w
    for w in (
        Wood(
            "douglas_fir_dry", "coast Douglas-fir, 12 % moisture, parallel to the grain, 7240 psi",
            7240 * MPA_PER_PSI, published(HANDBOOK, QUOTED),
        ),
        Wood(
            "douglas_fir_green", "coast Douglas-fir, green, parallel to the grain, 3780 psi",
            3780 * MPA_PER_PSI, published(HANDBOOK, QUOTED),
        ),
    )
}  # fmt: skip


def wood(name: str) -> Wood:
    """A wood of the small table. Raises InputFault, naming those it knows."""
    if name not in WOODS:
        known = ", ".join(WOODS)
        way = nearest(name, WOODS) or "or give the crushing strength itself"
        raise InputFault(Fault("wood", MISSING if name is None else name, f"must be one of {known}", way))
    return WOODS[name]


@stated("mean tangential force of all tips together", "kN", "F = P / v", POWER, 1e-3)
def mean_cutting_force_N(*, power_kW: float, speed_rpm: float, tip_diameter_mm: float) -> float:
    """Mean tangential force of all tips together, N, against the rotation: P / v. Raises InputFault."""
    need(positive={"power_kW": power_kW})
    return 1e3 * power_kW / tip_speed_m_s(speed_rpm=speed_rpm, tip_diameter_mm=tip_diameter_mm)


@stated("energy of one hit", "kJ", "E = P / (n / 60 · hits a revolution)", POWER, 1e-3)
def hit_energy_J(*, power_kW: float, speed_rpm: float, tips: int, share_cutting: float) -> float:
    """Energy of one hit if all power goes into cutting, J; hits a revolution = tips times the share that cuts.

    Raises InputFault.
    """
    need(
        positive={"power_kW": power_kW, "speed_rpm": speed_rpm},
        counted={"tips": tips},
        share={"share_cutting": share_cutting},
        way_out={"share_cutting": "1 if every tip cuts in every revolution, 0.25 if a quarter of them does"},
    )
    return 1e3 * power_kW / (speed_rpm / 60 * tips * share_cutting)


@stated("mean force of one hit", "kN", "F = E / s", POWER, 1e-3)
def hit_force_N(*, energy_J: float, contact_path_mm: float) -> float:
    """Mean force of one hit over its path in the wood, N: E / s. Raises InputFault."""
    need(positive={"energy_J": energy_J, "contact_path_mm": contact_path_mm})
    return 1e3 * energy_J / contact_path_mm


@dataclass(frozen=True)
class Hit:
    """One hit by power balance: energy (J), mean force over the path (N, against rotation), how often, how long (s)."""

    energy_J: float
    force_N: float
    hits_per_revolution: float
    hits_per_s: float
    duration_s: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure("hits a revolution", self.hits_per_revolution, "-", "tips · share that cuts", POWER),
            figure(hit_energy_J, self.energy_J),
            figure(hit_force_N, self.force_N),
            Figure("time of contact", 1e3 * self.duration_s, "ms", "t = s / v", POWER),
        )


def hit(
    *,
    power_kW: float,
    speed_rpm: float,
    tip_diameter_mm: float,
    tips: int,
    share_cutting: float,
    contact_path_mm: float,
) -> Hit:
    """One hit by power balance: all power shared by the hits, each along contact_path_mm. Raises InputFault."""
    energy = hit_energy_J(power_kW=power_kW, speed_rpm=speed_rpm, tips=tips, share_cutting=share_cutting)
    force = hit_force_N(energy_J=energy, contact_path_mm=contact_path_mm)
    speed = tip_speed_m_s(speed_rpm=speed_rpm, tip_diameter_mm=tip_diameter_mm)
    hits = tips * share_cutting
    return Hit(energy, force, hits, hits * omega_rad_s(speed_rpm) / (2 * math.pi), 1e-3 * contact_path_mm / speed)


@stated(
    "crushing force of one tip", "kN", "F = factor sigma_c w d",
    common_practice("rate factor 1.5 to 2; no published factor is known"), 1e-3,
)  # fmt: skip
def crushing_force_N(*, crushing_MPa: float, width_mm: float, depth_mm: float, rate_factor: float) -> float:
    """Force at which the wood under one tip crushes, N: rate_factor sigma_c w d; 1 is the slow test.

    An upper-order estimate of one contact. Raises InputFault, for a rate factor below 1 too.
    """
    need(
        positive={"crushing_MPa": crushing_MPa, "width_mm": width_mm, "depth_mm": depth_mm},
        least={"rate_factor": (rate_factor, 1.0)},
        way_out={"rate_factor": "1 for a slow test; 1.5 to 2 is common practice for the speed of a hit"},
    )
    return rate_factor * crushing_MPa * width_mm * depth_mm


@stated("peak force of the impulse", "kN", "F = (pi / 2) I / t", computed("half-sine pulse of the same impulse"), 1e-3)
def pulse_peak_N(*, impulse_Ns: float, duration_s: float) -> float:
    """Peak of a half-sine pulse with a given impulse and duration, N: (pi / 2) I / t. Raises InputFault."""
    need(positive={"impulse_Ns": impulse_Ns, "duration_s": duration_s})
    return 0.5 * math.pi * impulse_Ns / duration_s
