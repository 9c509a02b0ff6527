"""From unbalance to what a sensor on the casing shows, and why a balance grade is not that reading.

Velocities in mm/s, root mean square; masses in kg; unbalance in g mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..provenance import computed
from ..units import omega_rad_s
from .unbalance import permissible_unbalance_g_mm, unbalance_force_N

__all__ = [
    "GRADE_IS_NOT_THE_READING",
    "CasingVibration",
    "casing_velocity_mm_s",
    "casing_vibration",
    "grade_of",
    "soft_casing_velocity_mm_s",
    "zone",
]

GRADE_IS_NOT_THE_READING = (
    "The number of a balance grade is no vibration reading: it is the speed at which the rotor's mass centre would "
    "circle if it turned free in space. The casing is heavier than the rotor, is held by its mount, and is read as root "
    "mean square; a sensor on it shows less, or more near resonance. Judge balance in g·mm, the machine in mm/s."
)
MOUNT = computed("one mass on one spring, turning force U omega²")
FREE = computed("momentum: the casing circles against the unbalance, far above the resonance of its mount")


@stated("velocity of a softly mounted casing", "mm/s rms", "v = G (m_rotor / m_total) / sqrt(2)", FREE)
def soft_casing_velocity_mm_s(*, grade_mm_s: float, rotor_share: float) -> float:
    """Velocity of a casing on soft mounts with the permissible residual of a grade, mm/s rms: G share / sqrt(2).

    rotor_share: mass of the rotor over all that shakes. Holds well above the resonance of the mount. Raises InputFault.
    """
    checks = Checks()
    checks.positive("grade_mm_s", grade_mm_s, "16 for G16")
    checks.number(
        "rotor_share", rotor_share, above=0.0, most=1.0, way_out="mass of the rotor over the mass of all that shakes"
    )
    checks.done()
    return grade_mm_s * rotor_share / math.sqrt(2)


@stated("velocity of the casing", "mm/s rms", "v = omega |U omega² / (k - M omega² + i c omega)| / sqrt(2)", MOUNT)
def casing_velocity_mm_s(
    *,
    unbalance_g_mm: float,
    speed_rpm: float,
    total_mass_kg: float,
    stiffness_N_mm: float = 0.0,
    damping_ratio: float = 0.0,
) -> float:
    """Velocity of rotor and casing together on a spring, mm/s rms, in the direction of the spring.

    total_mass_kg: rotor, casing and all that shakes with them. stiffness_N_mm: of the mount; 0 for one that is far
    softer than the speed. damping_ratio: share of the critical; without it the velocity has no bound at resonance,
    which is refused. Raises InputFault.
    """
    checks = Checks()
    checks.number("unbalance_g_mm", unbalance_g_mm, least=0.0)
    checks.positive("speed_rpm", speed_rpm)
    checks.positive("total_mass_kg", total_mass_kg, "rotor, casing and all that shakes with them")
    checks.number("stiffness_N_mm", stiffness_N_mm, least=0.0, way_out="of the mount, in N/mm; 0: soft")
    checks.number(
        "damping_ratio", damping_ratio, least=0.0, most=1.0, way_out="share of the critical damping, 0.02 to 0.1"
    )
    checks.done()
    omega = omega_rad_s(speed_rpm)
    # N/m and kg; displacement in m
    spring, mass = 1e3 * stiffness_N_mm, total_mass_kg
    damper = 2 * damping_ratio * math.sqrt(spring * mass)
    resistance = complex(spring - mass * omega**2, damper * omega)
    if abs(resistance) < 1e-6 * mass * omega**2:
        checks.add(
            "damping_ratio", damping_ratio, "must be above 0 at resonance", "the speed meets the mount's own frequency"
        )
        checks.done()
    force = unbalance_force_N(unbalance_g_mm=unbalance_g_mm, speed_rpm=speed_rpm)
    return 1e3 * omega * force / abs(resistance) / math.sqrt(2)


def zone(velocity_mm_s: float, limits_mm_s: Sequence[float]) -> str:
    """Zone of a reading, "A" for the best, by the user's own limits (A/B, B/C, ...), ascending. Raises InputFault.

    No limits are built in: reproductions of the standards contradict one another.
    """
    checks = Checks()
    checks.number("velocity_mm_s", velocity_mm_s, least=0.0, way_out="mm/s rms")
    if not limits_mm_s or list(limits_mm_s) != sorted(set(limits_mm_s)) or not limits_mm_s[0] > 0:
        checks.add(
            "limits_mm_s",
            tuple(limits_mm_s),
            "must be velocities above 0 that increase",
            "from your copy of the standard",
        )
    checks.done()
    return chr(ord("A") + sum(velocity_mm_s > limit for limit in limits_mm_s))


@dataclass(frozen=True)
class CasingVibration:
    """What the casing does with an unbalance: force (N), velocity (mm/s rms), zone by the user's limits, or ""."""

    unbalance_g_mm: float
    force_N: float
    velocity_mm_s: float
    zone: str
    note: str

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            figure(unbalance_force_N, self.force_N),
            figure(casing_velocity_mm_s, self.velocity_mm_s),
        )


def casing_vibration(
    *, unbalance_g_mm: float, speed_rpm: float, total_mass_kg: float, stiffness_N_mm: float = 0.0,
    damping_ratio: float = 0.0, limits_mm_s: Sequence[float] = (),
) -> CasingVibration:  # fmt: skip
    """Force and casing velocity of an unbalance, with the note why a grade is not a reading. Raises InputFault."""
    velocity = casing_velocity_mm_s(
        unbalance_g_mm=unbalance_g_mm, speed_rpm=speed_rpm, total_mass_kg=total_mass_kg,
        stiffness_N_mm=stiffness_N_mm, damping_ratio=damping_ratio,
    )  # fmt: skip
    force = unbalance_force_N(unbalance_g_mm=unbalance_g_mm, speed_rpm=speed_rpm)
    letter = zone(velocity, limits_mm_s) if limits_mm_s else ""
    return CasingVibration(unbalance_g_mm, force, velocity, letter, GRADE_IS_NOT_THE_READING)


def grade_of(unbalance_g_mm: float, *, mass_kg: float, speed_rpm: float) -> float:
    """Balance grade that a residual unbalance just keeps, mm/s: U omega / m. Raises InputFault."""
    one = permissible_unbalance_g_mm(grade_mm_s=1.0, mass_kg=mass_kg, speed_rpm=speed_rpm)
    checks = Checks()
    checks.number("unbalance_g_mm", unbalance_g_mm, least=0.0)
    checks.done()
    return unbalance_g_mm / one
