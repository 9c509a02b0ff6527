"""What the two bearings carry: weight, belts, mean cut, unbalance, hits, each by its place along the rotor.

Forces that stand in space press one side of the housing; what turns with the drum presses around it. Their sum runs around
once a revolution. For life it is averaged with the exponent of the bearing's life; hits are rare and count for the static
proof only.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import MISSING
from ..figure import Figure
from ..model.check import Checks
from ..model.drum import Drum
from ..model.drum_shaft import RotorBearing
from ..model.material import Material
from ..provenance import computed, memory
from .running import Cause, Running, causes

__all__ = ["LIFE_EXPONENTS", "BearingLoad", "bearing_loads", "equivalent_load_N", "mean_load_N"]

# exponent of the basic rating life; ISO 281
LIFE_EXPONENTS = {"roller": 10.0 / 3.0, "ball": 3.0}
STATICS = computed("statics of the rotor on two bearings")
THRUST = memory(
    "equivalent load of a rolling bearing, P = X Fr + Y Fa with e, X, Y of its table; P = Fr + Y1 Fa up to e"
)
# steps around one revolution; the average is smooth and periodic, so they are more than enough
STEPS = 720


def mean_load_N(*, standing_N: float, turning_N: float, exponent: float) -> float:
    """Constant load with the same life as one that stands still together with one that turns, N.

    (mean of |F + U e^(i a)|^p over a revolution)^(1/p). Never above their sum, never below the larger of them.
    """
    around = 2 * np.pi * np.arange(STEPS) / STEPS
    load = np.hypot(standing_N + turning_N * np.cos(around), turning_N * np.sin(around))
    top = float(load.max())
    return 0.0 if top == 0 else top * float(np.mean((load / top) ** exponent)) ** (1 / exponent)


def equivalent_load_N(bearing: RotorBearing | None, *, radial_N: float, thrust_N: float) -> float:
    """P = X Fr + Y Fa by the bearing's own table, N. Source: THRUST. Raises InputFault where its factors are missing."""
    if not thrust_N:
        return radial_N
    checks = Checks()
    for name in ("thrust_ratio", "thrust_low", "thrust_high", "radial_high"):
        value = None if bearing is None else getattr(bearing, name)
        checks.positive(name, MISSING if value is None else value, "thrust acts: give e, Y1, Y2 and X2 of its table")
    checks.done()
    assert bearing is not None
    assert bearing.thrust_ratio is not None
    assert bearing.thrust_low is not None
    assert bearing.thrust_high is not None
    assert bearing.radial_high is not None
    along = abs(thrust_N)
    if along <= bearing.thrust_ratio * radial_N:
        return radial_N + bearing.thrust_low * along
    return bearing.radial_high * radial_N + bearing.thrust_high * along


@dataclass(frozen=True)
class BearingLoad:
    """What one bearing carries in a running state, N.

    side "drive" or "free"; parts: cause, frame ("space" or "drum") and force of the rotor on the bearing, complex as in
    Cause. standing_N: all that stands in space; turning_N: all that turns with the drum, without hits; largest_N: both and
    the hits, pointing the same way. mean_N: constant radial load of the same life; equivalent_N: with the thrust.
    """

    side: str
    parts: tuple[tuple[str, str, complex], ...]
    standing_N: float
    turning_N: float
    largest_N: float
    mean_N: float
    thrust_N: float
    equivalent_N: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        who = f"{self.side} bearing"
        parts = [
            Figure(f"{who}: {name}", 1e-3 * abs(force), "kN", f"reaction, {_where(frame)}", STATICS)
            for name, frame, force in self.parts
        ]
        thrust = (
            (Figure(f"{who}: equivalent load under thrust", 1e-3 * self.equivalent_N, "kN", "P = X Fr + Y Fa", THRUST),)
            if self.thrust_N else ()
        )  # fmt: skip
        return (
            *parts,
            Figure(f"{who}: standing load", 1e-3 * self.standing_N, "kN", "sum of what stands in space", STATICS),
            Figure(
                f"{who}: mean load for life", 1e-3 * self.mean_N, "kN", "(mean of |F + U e^(i a)|^p)^(1/p)", STATICS
            ),
            Figure(f"{who}: largest load", 1e-3 * self.largest_N, "kN", "all pointing the same way, hits too", STATICS),
            *thrust,
        )


def _where(frame: str) -> str:
    return "stands in space" if frame == "space" else "turns with the drum"


def bearing_loads(
    drum: Drum, running: Running, material: Material | None = None, *, acting: Sequence[Cause] | None = None
) -> tuple[BearingLoad, BearingLoad]:
    """Loads of the drive bearing and of the free bearing.

    Thrust goes to the bearing whose table of thrust is given, the drive bearing first. Raises InputFault.
    """
    all_causes = tuple(causes(drum, running, material) if acting is None else acting)
    pair = (drum.drive_bearing, drum.other_bearing)
    has_table = [bearing is not None and bearing.thrust_ratio is not None for bearing in pair]
    takes = 1 if has_table[1] and not has_table[0] else 0
    out = []
    for i, side in enumerate(("drive", "free")):
        parts = tuple((c.name, c.frame, -c.forces.reactions_N[i]) for c in all_causes)
        steady = {c.name for c in all_causes if c.steady}
        standing = abs(sum(f for _, frame, f in parts if frame == "space"))
        turning = abs(sum(f for name, frame, f in parts if frame == "drum" and name in steady))
        all_turning = abs(sum(f for _, frame, f in parts if frame == "drum"))
        bearing = pair[i]
        exponent = LIFE_EXPONENTS["roller" if bearing is None else bearing.bearing_kind]
        mean = mean_load_N(standing_N=standing, turning_N=turning, exponent=exponent)
        thrust = 1e3 * running.thrust_kN if i == takes else 0.0
        equivalent = equivalent_load_N(bearing, radial_N=mean, thrust_N=thrust)
        largest = math.fsum((standing, max(turning, all_turning)))
        out.append(BearingLoad(side, parts, standing, turning, largest, mean, thrust, equivalent))
    return out[0], out[1]
