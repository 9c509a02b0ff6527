"""What is known of a whole drum's rotor: once for the drum, and once for each running state."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.beam import CriticalSpeed
from ..figure import Figure
from ..model.drum import Drum, DrumSlot
from ..model.material import Material
from ..rotor.bearing_life import RotorLife
from ..rotor.bearing_loads import BearingLoad
from ..rotor.burst import Overspeed
from ..rotor.campbell import Campbell, Crossing
from ..rotor.critical_speed import Separation
from ..rotor.mass_properties import MassProperties
from ..rotor.pattern import PatternAnswer
from ..rotor.rows import RowLoads
from ..rotor.run_down import LostHammer
from ..rotor.running import Running
from ..rotor.shell_modes import ShellModes
from ..rotor.stub_check import StubSection
from .whole_drum_input import RotorWanted

__all__ = ["AlongDrum", "LeftOut", "StateAnswer", "WholeDrum"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class AlongDrum:
    """Resultants at places along the rotor, all [n]; where one jumps the place stands twice, before and beyond it.

    z_mm from the drive bearing's middle. moment_space_Nmm: amplitude of the moment that is reversed once a turn;
    moment_drum_Nmm: what turns with the drum. shear_N and torque_Nmm: largest over a turn, all causes together, as RowLoads.
    """

    z_mm: Array
    moment_space_Nmm: Array
    moment_drum_Nmm: Array
    shear_N: Array
    torque_Nmm: Array

    @property
    def largest_moment_Nmm(self) -> Array:
        """Both moments pointing the same way, [n]."""
        return np.asarray(self.moment_space_Nmm + self.moment_drum_Nmm)


@dataclass(frozen=True)
class LeftOut:
    """Something that was not computed, and what the file would have to say for it."""

    what: str
    why: str


@dataclass(frozen=True)
class StateAnswer:
    """One running state. time_share: of all running time, None where the file gives none.

    running: with the unbalance that is taken as left. life: None without ratings. stubs: the worst section first, empty
    without strength. separations: for every excitation of the Campbell plot, seen from this state's speed.
    """

    running: Running
    time_share: float | None
    rows: tuple[RowLoads, ...]
    along: AlongDrum
    bearings: tuple[BearingLoad, BearingLoad]
    life: RotorLife | None
    stubs: tuple[StubSection, ...]
    pattern: PatternAnswer
    shell: ShellModes
    separations: tuple[tuple[str, Separation], ...]
    tip_speed_m_s: float | None
    energy_J: float
    figures: tuple[Figure, ...]
    warnings: tuple[str, ...]

    @property
    def name(self) -> str:
        """As the file calls it."""
        return self.running.name

    @property
    def worst_row(self) -> RowLoads:
        """The row with the largest moment over a turn."""
        return max(self.rows, key=lambda row: row.largest_moment_Nmm)

    @property
    def nearest(self) -> tuple[str, Separation] | None:
        """Of all excitations the one whose critical speed is nearest; None without critical speeds."""
        known = [pair for pair in self.separations if pair[1].nearest_rpm is not None]
        return min(known, key=lambda pair: pair[1].share) if known else None


@dataclass(frozen=True)
class WholeDrum:
    """All that is known. fastest: place of the fastest state among states.

    criticals: speeds that an unbalance meets, forward and backward, also beyond those of the Campbell plot. life_h: of both
    bearings over all states by their time_share, None where a share or a life is missing. permissible_g_mm: residual
    unbalance by the grade at the fastest state's speed; left_g_mm: what of it is taken as left.
    """

    drum: Drum
    material: Material
    wanted: RotorWanted
    slots: tuple[DrumSlot, ...]
    masses: MassProperties
    states: tuple[StateAnswer, ...]
    campbell: Campbell | None
    criticals: tuple[CriticalSpeed, ...]
    overspeed: Overspeed | None
    lost: LostHammer | None
    coast_down_s: float | None
    permissible_g_mm: float
    left_g_mm: float
    life_h: float | None
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def fastest(self) -> StateAnswer:
        """The fastest state."""
        return max(self.states, key=lambda state: state.running.speed_rpm)

    @property
    def crossings(self) -> tuple[Crossing, ...]:
        """Where excitations meet whirls, by speed."""
        return () if self.campbell is None else self.campbell.crossings

    @property
    def worst(self) -> StateAnswer:
        """The state of the row with the largest moment."""
        return max(self.states, key=lambda state: state.worst_row.largest_moment_Nmm)
