"""A half round in its groove: contact over any angle, frictionless, of a round with a flat top in a block of finite depth.

Half of it is modelled; x to the side, y up, the round's centre at the origin; N per mm along the axis.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from ..model.round_seat import RoundSeat
from .contact import Contact
from .contact_blocks import round_block
from .contact_body import Body, hold, traction_load
from .contact_pair import Interface
from .divide import graded

__all__ = ["ROUND_LEVELS", "RoundSolution", "solve_round"]

Array = NDArray[np.float64]

QUARTER = 0.5 * math.pi
ORDER = 2
# share of the round's radius that is left out in its middle, where rays meet; it carries next to nothing away
CORE = 0.02
# cells over the half angle of contact, coarse to fine
ROUND_LEVELS = (12, 24, 48)


@dataclass(frozen=True, eq=False)
class RoundSolution:
    """angle_rad [m]: from the middle of the groove, ascending; pressure_MPa. half_angle_rad of contact; force_N: vertical, of both halves, per mm."""

    angle_rad: Array
    pressure_MPa: Array
    half_angle_rad: float
    force_N: float
    unknowns: int


def solve_round(seat: RoundSeat, material: Material, expected_rad: float, cells: int) -> RoundSolution:
    """The seat under its force. expected_rad: half angle about which the mesh is made. Raises SolveFailure."""
    fine = min(1.3 * expected_rad, QUARTER)
    step = fine / max(4, round(1.3 * cells))

    def angles(size: float) -> Array:
        inner = np.linspace(0.0, fine, max(4, round(fine / size)) + 1)
        if fine >= QUARTER - size:
            return np.linspace(0.0, QUARTER, max(4, round(QUARTER / size)) + 1)
        return np.asarray(np.concatenate([inner, fine + graded(QUARTER - fine, 1.4 * size, 1.4, 0.2)[1:]]))

    r, hole = seat.radius_mm, seat.groove_radius_mm
    core, far = CORE * r, hole + seat.depth_mm
    inward = graded(r - core, step * r, 1.4, 0.2 * r) / (r - core)
    outward = graded(far - hole, step * r, 1.4, 0.2 * seat.depth_mm) / (far - hole)
    # meshes of both sides differ a little, so that no node of one lies on one of the other by chance
    pin = round_block(
        radius_mm=r, other_mm=core, centre_mm=(0, 0), angles_rad=angles(1.07 * step), shares=inward, order=ORDER
    )
    block = round_block(
        radius_mm=hole, other_mm=far, centre_mm=(0, hole - r), angles_rad=angles(step), shares=outward, order=ORDER
    )
    bodies = (
        Body("round", pin, material, fixed=hold(pin, ["below"])),
        Body("groove", block, material, fixed=hold(block, ["below", "back"], ["back"])),
    )
    contact = Contact(bodies, [Interface("face", (0, "face"), (1, "face"))])
    # the flat top bears evenly; half of it is modelled
    line = seat.line_load_N_mm
    state = contact.solve({0: traction_load(pin, "above", (0.0, -0.5 * line / (r - core)))})
    face = state.faces["face"]
    angle = np.arctan2(face.place_mm[:, 0], -face.place_mm[:, 1])
    order = np.argsort(angle)
    angle, pressure = angle[order], face.pressure_MPa[order]
    return RoundSolution(
        angle, pressure, _end(angle, pressure), 2 * float(face.force_N[1]), sum(b.unknowns for b in contact.bodies)
    )


def _end(angle: Array, pressure: Array) -> float:
    """Where contact ends: the pressure falls like the root of the distance there, so its square is followed to zero."""
    bears = np.flatnonzero(pressure > 0)
    last = int(bears[-1])
    if last == angle.size - 1:
        return float(angle[-1])
    some = bears[-4:]
    slope, level = np.polyfit(angle[some] - angle[last], pressure[some] ** 2, 1)
    found = angle[last] - level / slope if slope < 0 else 0.5 * (angle[last] + angle[last + 1])
    return float(np.clip(found, angle[last], angle[last + 1]))
