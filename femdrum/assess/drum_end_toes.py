"""Weld toes and throats of a drum's end: surface stress from the toe, hot spot stress, nominal stress of a throat.

Every stress is held as a steady part (rotation, thrust, torque) and the amplitude of what stands in space and so runs
around the drum once a revolution (bending, shear): what a life is reckoned from.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.harmonic_edge import CurveStress, Reading
from ..model.drum_end import DrumEnd
from ..quantity import Quantity, Verdict
from ..strength.hot_spot import HOT_SPOT_KINDS, ToeDirection, hot_spot, toe_direction

__all__ = ["HotSpotLine", "HotSpotReading", "Throat", "hot_spot_lines", "hot_spot_readings"]

Array = NDArray[np.float64]

KINDS = ("a linear", "a quadratic")


@dataclass(frozen=True)
class Throat:
    """Nominal stress of a fillet weld's throat where the rim is not fused: the measure for a crack from its root.

    unit_MPa [case, 3]: across the throat (tension positive), along it in the section, around the drum, per unit of each
    case. steady_MPa, rotating_amplitude_MPa [3]: under the loads.
    """

    side: str
    throat_mm: float
    unit_MPa: Array
    steady_MPa: Array
    rotating_amplitude_MPa: Array


@dataclass(frozen=True)
class HotSpotReading:
    """Structural hot spot stress of one toe by one kind, normal to the toe, MPa.

    distances_mm: where the stress was read. unit_MPa [case]: per unit of each case. steady; rotating: amplitude, positive.
    largest: of largest magnitude over the turn, signed. They are settled where their band is within the asked share of the
    largest normal stress on the line. direction: of the principal stress there; its warning says where
    the stress normal to the toe does not govern.
    """

    kind: str
    distances_mm: tuple[float, ...]
    unit_MPa: Array
    steady: Quantity
    rotating: Quantity
    largest: Quantity
    direction: ToeDirection


@dataclass(frozen=True)
class HotSpotLine:
    """The plain surface from a weld toe, square to it: "shell inside", "disc outside", ...

    thickness_mm: of the plate on which it lies. length_mm: of the line. curve: stress per unit of each case; s_mm is the
    distance from the toe (from the toe's tangent point plus the way to the sharp toe where it is round). Nearer than
    0.3 of the thickness the toe's own notch is in it. readings: by kind, those for which the line is long enough.
    """

    name: str
    thickness_mm: float
    length_mm: float
    curve: CurveStress
    readings: Mapping[str, HotSpotReading]


def hot_spot_readings(end: DrumEnd) -> list[tuple[str, float, str, Reading]]:
    """What is read: plate's line, its thickness, kind and reading, for each toe and each kind for which the line is long
    enough.
    """
    back = end.toe_radius_mm * math.tan(math.pi / 8)
    out = []
    for side, leg in (("inside", end.inside_leg_mm), ("outside", end.outside_leg_mm)):
        disc = end.shell_inner_radius_mm - leg - end.stub_radius_mm - end.fillet_radius_mm
        shell = (end.modelled_shell_mm if side == "inside" else end.recess_mm) - leg
        for plate, thickness, length in (
            ("shell", end.shell_wall_mm, shell), ("disc", end.disc_thickness_mm, disc),
        ):  # fmt: skip
            for kind in KINDS:
                at = HOT_SPOT_KINDS[kind].distances_mm(thickness)
                if leg and at[0] > back and at[-1] <= length:
                    reading = Reading(f"{plate} {side}", tuple(at.tolist()), HOT_SPOT_KINDS[kind].weights)
                    out.append((reading.curve, thickness, kind, reading))
    return out


def hot_spot_lines(
    end: DrumEnd, curves: Mapping[str, CurveStress], factors: Array, asked: float
) -> tuple[HotSpotLine, ...]:
    """The lines of all toes, with their readings."""
    readings = hot_spot_readings(end)
    out = []
    for side in ("inside", "outside"):
        for plate, thickness in (("shell", end.shell_wall_mm), ("disc", end.disc_thickness_mm)):
            name = f"{plate} {side}"
            if name in curves:
                read = {
                    kind: _reading(curves[name], kind, reading, factors, asked)
                    for line, _, kind, reading in readings
                    if line == name
                }
                out.append(HotSpotLine(name, thickness, float(curves[name].nodes_mm[-1]), curves[name], read))
    return tuple(out)


def _reading(curve: CurveStress, kind: str, reading: Reading, factors: Array, asked: float) -> HotSpotReading:
    (steady, steady_band), (rotating, rotating_band) = curve.reading(reading, factors)
    # the side of the turn on which both parts have one sign
    sign = 1.0 if steady[0] * rotating[0] >= 0 else -1.0
    normal, along = (float(steady[k] + sign * rotating[k]) for k in (0, 1))
    scale = curve.scale(factors, min(reading.s_mm))

    def quantity(value: float, band: float, what: str) -> Quantity:
        verdict = Verdict.SETTLED if band <= asked * scale else Verdict.NOT_SETTLED
        return Quantity(value, "MPa", band, verdict, f"{what} hot spot stress ({kind}) at the toe, {curve.name}")

    return HotSpotReading(
        kind=kind,
        distances_mm=reading.s_mm,
        unit_MPa=hot_spot(kind, *np.moveaxis(curve.read(reading.s_mm)[..., 0], 1, 0)),
        steady=quantity(float(steady[0]), float(steady_band[0]), "steady"),
        rotating=quantity(abs(float(rotating[0])), float(rotating_band[0]), "amplitude of the rotating"),
        largest=quantity(normal, float(steady_band[0] + rotating_band[0]), "largest"),
        direction=toe_direction(normal, along, float(steady[2])),
    )
