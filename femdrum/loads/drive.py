"""What the drive does: torque, start-up, belt pull. Power in kW, torque in N mm, forces in N."""

from __future__ import annotations

from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..provenance import common_practice, computed
from ..units import omega_rad_s
from .refuse import need

__all__ = [
    "SHAFT_FACTORS",
    "START_FACTORS",
    "BeltPull",
    "belt_pull",
    "drive_torque_Nmm",
    "effective_pull_N",
    "overhung_moment_Nmm",
    "shaft_pull_N",
    "start_torque_Nmm",
]

# common practice, no source: torque of an electric or clutch drive while starting, over the rated torque
START_FACTORS = (1.5, 2.5)
# common practice, no source: load of V-belts on the shaft, over the effective pull
SHAFT_FACTORS = (1.5, 2.0)

POWER = computed("power balance")
STATICS = computed("statics")


@stated("rated drive torque", "N·m", "T = P / omega", POWER, 1e-3)
def drive_torque_Nmm(*, power_kW: float, speed_rpm: float) -> float:
    """Torque of the drive at a power and speed, N mm, in the sense of rotation: P / omega. Raises InputFault."""
    need(positive={"power_kW": power_kW, "speed_rpm": speed_rpm})
    return 1e6 * power_kW / omega_rad_s(speed_rpm)


@stated(
    "start-up torque", "N·m", "T = factor P / omega",
    common_practice("1.5 to 2.5 times the rated torque for electric and clutch drives"), 1e-3,
)  # fmt: skip
def start_torque_Nmm(*, power_kW: float, speed_rpm: float, start_factor: float) -> float:
    """Torque while starting, N mm: start_factor times the rated torque; common practice is in START_FACTORS.

    Raises InputFault, for a factor below 1 too.
    """
    need(
        least={"start_factor": (start_factor, 1.0)},
        way_out={"start_factor": "the peak torque of the drive over its rated torque; 1.5 to 2.5 is common practice"},
    )
    return start_factor * drive_torque_Nmm(power_kW=power_kW, speed_rpm=speed_rpm)


@stated("effective belt pull", "kN", "F = 2 T / d", STATICS, 1e-3)
def effective_pull_N(*, torque_Nmm: float, sheave_diameter_mm: float) -> float:
    """Difference of the pulls of the two belt strands, N: 2 T / d. Raises InputFault."""
    need(positive={"torque_Nmm": torque_Nmm, "sheave_diameter_mm": sheave_diameter_mm})
    return 2 * torque_Nmm / sheave_diameter_mm


@stated(
    "pull of the belts on the shaft", "kN", "F_shaft = factor 2 T / d",
    common_practice("1.5 to 2 times the effective pull for V-belts"), 1e-3,
)  # fmt: skip
def shaft_pull_N(*, torque_Nmm: float, sheave_diameter_mm: float, shaft_factor: float) -> float:
    """Pull of both strands on the shaft, N: shaft_factor times the effective pull; common practice in SHAFT_FACTORS.

    Raises InputFault, for a factor below 1 too (the strands together pull at least with their difference).
    """
    need(
        least={"shaft_factor": (shaft_factor, 1.0)},
        way_out={"shaft_factor": "1.5 to 2 is common practice for V-belts; the belt's maker gives the pull"},
    )
    return shaft_factor * effective_pull_N(torque_Nmm=torque_Nmm, sheave_diameter_mm=sheave_diameter_mm)


@stated("bending moment at the bearing", "N·m", "M = F a", STATICS, 1e-3)
def overhung_moment_Nmm(*, force_N: float, overhang_mm: float) -> float:
    """Moment of a force that stands overhang_mm outside the bearing, N mm, at the bearing: F a. Raises InputFault."""
    need(not_negative={"force_N": force_N, "overhang_mm": overhang_mm})
    return force_N * overhang_mm


@dataclass(frozen=True)
class BeltPull:
    """Effective pull, pull on the shaft (N, towards the driving sheave) and moment at the bearing (N mm)."""

    effective_N: float
    shaft_N: float
    moment_Nmm: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            figure(effective_pull_N, self.effective_N),
            figure(shaft_pull_N, self.shaft_N),
            figure(overhung_moment_Nmm, self.moment_Nmm, "bending moment of the belt pull at the bearing"),
        )


def belt_pull(*, torque_Nmm: float, sheave_diameter_mm: float, shaft_factor: float, overhang_mm: float) -> BeltPull:
    """Belt pull for a torque, and its moment at the bearing next to the sheave. Raises InputFault."""
    effective = effective_pull_N(torque_Nmm=torque_Nmm, sheave_diameter_mm=sheave_diameter_mm)
    shaft = shaft_pull_N(torque_Nmm=torque_Nmm, sheave_diameter_mm=sheave_diameter_mm, shaft_factor=shaft_factor)
    return BeltPull(effective, shaft, overhung_moment_Nmm(force_N=shaft, overhang_mm=overhang_mm))
