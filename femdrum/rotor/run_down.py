"""Energy that the drum stores, how long it runs on, and what a lost hammer carries away and leaves behind."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure, stated
from ..model.check import Checks
from ..model.drum import Drum
from ..model.material import Material
from ..provenance import computed, published
from ..units import omega_rad_s
from .bodies import HammerState, bodies
from .running import GRAVITY_M_S2, Running, causes

__all__ = ["RUNS_ON", "LostHammer", "coast_down_s", "kinetic_energy_J", "lift_height_m", "lost_hammer"]

ENERGY = computed("energy of a rigid rotor")
DRAG = computed("balance of angular momentum, drag torque of a constant part and one with the square of the speed")
RUNS_ON = published(
    "NIOSH FACE report 05WI059: a chipper's rotor turned for up to half an hour after shut-down",
    "seen cited in a summary",
)


@stated("kinetic energy of the rotor", "kJ", "J omega² / 2", ENERGY, 1e-3)
def kinetic_energy_J(*, inertia_kg_m2: float, speed_rpm: float) -> float:
    """Energy of the turning rotor, J. Raises InputFault."""
    checks = Checks()
    checks.positive("inertia_kg_m2", inertia_kg_m2)
    checks.number("speed_rpm", speed_rpm, least=0.0)
    checks.done()
    return 0.5 * inertia_kg_m2 * omega_rad_s(speed_rpm) ** 2


@stated("height to which this energy would lift the rotor", "m", "E / (m g)", ENERGY)
def lift_height_m(*, energy_J: float, mass_kg: float) -> float:
    """How high the rotor's energy would lift the rotor itself, m. Raises InputFault."""
    checks = Checks()
    checks.number("energy_J", energy_J, least=0.0)
    checks.positive("mass_kg", mass_kg)
    checks.done()
    return energy_J / (mass_kg * GRAVITY_M_S2)


@stated("time to run down", "s", "integral of J d(omega) / T(omega)", DRAG)
def coast_down_s(
    *, inertia_kg_m2: float, speed_rpm: float, drag_kW: float, constant_share: float = 1.0, to_rpm: float = 0.0
) -> float:
    """Time from speed_rpm down to to_rpm without drive or brake, s.

    drag_kW: what the idle drum takes at speed_rpm. constant_share of its torque stays down to standstill (bearings, belts),
    the rest falls with the square of the speed (air): T = T0 (c + (1 - c) (n / n0)^2). With c = 0 it never stands still.
    Raises InputFault.
    """
    checks = Checks()
    checks.positive("inertia_kg_m2", inertia_kg_m2)
    good = checks.positive("speed_rpm", speed_rpm, "revolutions a minute")
    checks.positive("drag_kW", drag_kW, "power to keep the idle drum turning")
    shared = checks.number("constant_share", constant_share, least=0.0, most=1.0)
    if (
        good
        and checks.number("to_rpm", to_rpm, least=0.0, most=speed_rpm)
        and shared
        and not constant_share
        and not to_rpm
    ):
        checks.add("constant_share", constant_share, "must be above 0 for a stop: drag by air alone never stops a drum")
    checks.done()
    omega = omega_rad_s(speed_rpm)
    scale = inertia_kg_m2 * omega**2 / (1e3 * drag_kW)
    end, c = to_rpm / speed_rpm, constant_share
    if c == 1.0:
        return scale * (1 - end)
    if c == 0.0:
        return scale * (1 / end - 1)
    root = math.sqrt((1 - c) / c)
    return scale / math.sqrt(c * (1 - c)) * (math.atan(root) - math.atan(end * root))


@dataclass(frozen=True)
class LostHammer:
    """A hammer (or half of a broken bar) that leaves the drum.

    mass_kg, radius_mm of its centre of gravity, speed_m_s with which it leaves; energy_J of its flight, spin_J of its own
    turning. unbalance_g_mm that it leaves behind, force_N of that at the speed it left, and what of it comes on the drive
    and the free bearing (N, magnitudes). No verdict on guards or screens: that needs a test.
    """

    slot: int
    mass_kg: float
    radius_mm: float
    speed_m_s: float
    energy_J: float
    spin_J: float
    unbalance_g_mm: float
    force_N: float
    drive_bearing_N: float
    free_bearing_N: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure("mass of the lost hammer", self.mass_kg, "kg", "bar or its half, and its tip", ENERGY),
            Figure("speed with which it leaves", self.speed_m_s, "m/s", "r omega", ENERGY),
            Figure("energy of its flight", 1e-3 * self.energy_J, "kJ", "m (r omega)² / 2", ENERGY),
            Figure("energy of its spin", 1e-3 * self.spin_J, "kJ", "J_own omega² / 2", ENERGY),
            Figure("unbalance that it leaves behind", self.unbalance_g_mm, "g·mm", "m r", ENERGY),
            Figure("force of that unbalance", 1e-3 * self.force_N, "kN", "U omega²", ENERGY),
            Figure("of it on the drive bearing", 1e-3 * self.drive_bearing_N, "kN", "statics", ENERGY),
            Figure("of it on the free bearing", 1e-3 * self.free_bearing_N, "kN", "statics", ENERGY),
        )


def _reactions_N(drum: Drum, speed_rpm: float, material: Material | None, state: HammerState) -> NDArray[np.complex128]:
    """What the unbalance of a state puts on the two bearings."""
    running = Running(speed_rpm=speed_rpm, hammers=state, weight=False)
    found = np.array([c.forces.reactions_N for c in causes(drum, running, material)], dtype=complex)
    return np.asarray(found.reshape(-1, 2).sum(axis=0))


def lost_hammer(drum: Drum, *, slot: int, speed_rpm: float, material: Material | None = None) -> LostHammer:
    """What the loss of one slot's hammer means: of a through-bar its half, broken at the axis. Raises InputFault."""
    checks = Checks()
    checks.positive("speed_rpm", speed_rpm, "revolutions a minute")
    checks.whole("slot", slot, 0, drum.slots_total - 1, "a slot's number, from 0")
    if drum.hammer is None:
        checks.add("drum.hammer", None, "there is no hammer to lose", "give the drum its hammers")
    checks.done()
    assert drum.hammer is not None
    through = drum.hammer.through
    state = HammerState(broken=(slot,)) if through else HammerState(missing=(slot,))
    whole, rest = bodies(drum, material), bodies(drum, material, state=state)
    mass = float(whole.mass_kg.sum() - rest.mass_kg.sum())
    off = complex(whole.offset_kg_mm().sum() - rest.offset_kg_mm().sum())
    radius = abs(off) / mass
    omega = omega_rad_s(speed_rpm)
    polar = float(whole.polar_kg_mm2().sum() - rest.polar_kg_mm2().sum()) - mass * radius**2
    after, before = (_reactions_N(drum, speed_rpm, material, s) for s in (state, HammerState()))
    near, far = after - before
    return LostHammer(
        slot=slot, mass_kg=mass, radius_mm=radius, speed_m_s=1e-3 * radius * omega,
        energy_J=0.5e-6 * mass * (radius * omega) ** 2, spin_J=0.5e-6 * polar * omega**2, unbalance_g_mm=1e3 * abs(off),
        force_N=1e-3 * abs(off) * omega**2, drive_bearing_N=float(np.abs(near)), free_bearing_N=float(np.abs(far)),
    )  # fmt: skip
