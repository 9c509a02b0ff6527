"""What every row of the drum carries in a running state: moment, shear, torque, hammer force, distance to the end disc."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..model.drum import Drum, slots
from ..model.hammer_pattern import fold_deg
from ..model.material import Material
from ..units import omega_rad_s
from .bodies import bodies
from .running import Cause, Running, causes

__all__ = ["RowCause", "RowLoads", "row_resultants"]


@dataclass(frozen=True)
class RowCause:
    """One cause at the middle of a row. Complex: real part along direction 0 of its frame, see Cause.

    moment_Nmm pulls the side it points to. shear and torque just before the row's middle and just beyond it: they jump
    where a tip is pushed there.
    """

    name: str
    frame: str
    steady: bool
    moment_Nmm: complex
    shear_before_N: complex
    shear_after_N: complex
    torque_before_Nmm: float
    torque_after_Nmm: float

    @property
    def shear_N(self) -> complex:
        """Shear on the side where it is larger."""
        return max(self.shear_before_N, self.shear_after_N, key=abs)

    @property
    def torque_Nmm(self) -> float:
        """Torque on the side where it is larger, about +Z on the face that looks to +z."""
        return max(self.torque_before_Nmm, self.torque_after_Nmm, key=abs)


@dataclass(frozen=True)
class RowLoads:
    """What a row carries.

    row from 0 at the drive end; z_mm from the drive bearing; angle_deg of its first slot from that of row 0; slots: their
    numbers. to_disc_mm: from the row's middle to the inner face of the nearer end disc. hammer_force_N: largest force
    around the drum at one of its tips; hammer_pull_N: centrifugal pull of one of its hammers (half of a through-bar), 0 for
    an empty row. cutting_force_N: mean force around the drum of all its tips together.
    """

    row: int
    z_mm: float
    angle_deg: float
    slots: tuple[int, ...]
    to_disc_mm: float
    causes: tuple[RowCause, ...]
    hammer_force_N: float
    hammer_pull_N: float
    cutting_force_N: float

    def _sum(self, frame: str, what: str, steady_only: bool = False) -> complex:
        return complex(
            sum(getattr(c, what) for c in self.causes if c.frame == frame and (c.steady or not steady_only))
        )  # fmt: skip

    def moment_Nmm(self, frame: str) -> complex:
        """Bending moment of all causes of a frame: "space" turns through the drum once a revolution, "drum" stays."""
        return self._sum(frame, "moment_Nmm")

    def direction_deg(self, moment: complex, frame: str) -> float:
        """Direction of a moment or shear as the loads on a ring take it.

        In space from straight down, in the drum from the row's own first slot; in the sense of rotation, 0 to 360.
        """
        angle = math.degrees(math.atan2(moment.imag, moment.real))
        return fold_deg(angle - (self.angle_deg if frame == "drum" else 0.0), 360.0)

    @property
    def rotating_amplitude_Nmm(self) -> float:
        """Amplitude of the moment that is reversed once a revolution: half its range."""
        return abs(self.moment_Nmm("space"))

    @property
    def largest_moment_Nmm(self) -> float:
        """Largest moment over a turn: what stands in space and what turns with the drum, pointing the same way."""
        return abs(self.moment_Nmm("space")) + abs(self.moment_Nmm("drum"))

    @property
    def shear_N(self) -> float:
        """Largest shear over a turn, on the worse side of the row."""
        sides = ("shear_before_N", "shear_after_N")
        return max(abs(self._sum("space", side)) + abs(self._sum("drum", side)) for side in sides)

    @property
    def torque_Nmm(self) -> float:
        """Torque of all causes together, on the side of the row where it is larger."""
        before, after = (sum(getattr(c, f"torque_{side}_Nmm") for c in self.causes) for side in ("before", "after"))
        return float(max(before, after, key=abs))

    def by_cause(self, name: str) -> RowCause | None:
        """One cause by name; None where it does not act."""
        return next((c for c in self.causes if c.name == name), None)


def row_resultants(
    drum: Drum, running: Running, material: Material | None = None, *, acting: Sequence[Cause] | None = None
) -> list[RowLoads]:
    """What each row carries in a running state, by statics of the rotor on its two bearings.

    Weight, belts, cutting and unbalance each by their place along the drum; the torque of the drive runs out row by row,
    that of hits is taken by the inertia on either side. Bearings hold the forces at once: no vibration is in it.
    Raises InputFault.
    """
    all_causes = tuple(causes(drum, running, material) if acting is None else acting)
    z = np.array([drum.row_z_mm(row) for row in range(drum.rows_total)])
    parts: list[list[RowCause]] = [[] for _ in z]
    for cause in all_causes:
        moment = cause.forces.moment_Nmm(z)
        before, after = cause.forces.shear_N(z), cause.forces.shear_N(z, beyond=True)
        zero = np.zeros(len(z))
        low = zero if cause.torques is None else cause.torques.inside_Nmm(z)
        high = zero if cause.torques is None else cause.torques.inside_Nmm(z, beyond=True)
        for k, part in enumerate(parts):
            part.append(
                RowCause(
                    cause.name,
                    cause.frame,
                    cause.steady,
                    complex(moment[k]),
                    complex(before[k]),
                    complex(after[k]),
                    float(low[k]),
                    float(high[k]),
                )
            )
    pulls, cutting, hits = _pulls(drum, running, material), _cutting(drum, running), _hit(drum, running)
    (_, near), (_, far) = drum.disc_faces_mm
    numbers = [tuple(s.number for s in slots(drum) if s.row == row) for row in range(drum.rows_total)]
    return [
        RowLoads(
            row=row, z_mm=float(z[row]), angle_deg=fold_deg(drum.pattern.angle_deg(row), 360.0), slots=numbers[row],
            to_disc_mm=float(min(z[row] - near, far - z[row])), causes=tuple(parts[row]), hammer_force_N=hits[row],
            hammer_pull_N=pulls[row], cutting_force_N=cutting[row],
        )
        for row in range(drum.rows_total)
    ]  # fmt: skip


def _pulls(drum: Drum, running: Running, material: Material | None) -> list[float]:
    """Largest centrifugal pull of one slot's hammer in each row, N."""
    out = [0.0] * drum.rows_total
    if drum.hammer is None:
        return out
    heap = bodies(drum, material, state=running.hammers)
    held = [name in ("bars", "tips", "hammers, weighed differences") for name in heap.names]
    places, by_slot = slots(drum), np.zeros(drum.slots_total)
    turn = np.exp(-1j * np.radians([s.angle_deg for s in places]))
    offset = heap.offset_kg_mm()
    for i in np.flatnonzero(held):
        row = int(heap.row[i])
        own = [s.number for s in places[row * drum.slots_around : (row + 1) * drum.slots_around]]
        slot = max(own, key=lambda n, i=i: (offset[i] * turn[n]).real)  # type: ignore[misc]
        by_slot[slot] += abs(offset[i])
    pull = 1e-3 * omega_rad_s(running.speed_rpm) ** 2 * by_slot.reshape(drum.rows_total, -1)
    return [float(value) for value in pull.max(axis=1)]


def _cutting(drum: Drum, running: Running) -> list[float]:
    rows = range(drum.rows_total) if running.cutting_rows is None else running.cutting_rows
    if not running.power_kW or drum.hammer is None:
        return [0.0] * drum.rows_total
    each = running.torque_Nmm / drum.hammer.outer_radius_mm / len(rows)
    return [each if row in rows else 0.0 for row in range(drum.rows_total)]


def _hit(drum: Drum, running: Running) -> list[float]:
    out = [0.0] * drum.rows_total
    for hit in running.hits:
        row = hit.slot // drum.slots_around
        out[row] = max(out[row], 1e3 * abs(hit.force_kN))
    return out
