"""A half round in its groove, solved as contact on ever finer meshes, with line contact and the formula of conforming contact beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import OutsideRange
from ..fem.contact_round import ROUND_LEVELS, RoundSolution, solve_round
from ..figure import Figure
from ..handbook.closed_forms_bars import line_contact
from ..model.material import Material
from ..model.round_seat import RoundSeat
from ..provenance import computed
from ..quantity import Quantity, Verdict
from ..rotor.conforming import CONFORMING, ConformingContact, conforming_contact, pressure_number
from ..rotor.seat import HERTZ_WIDTH_SHARE, MEAN_SHARE, hertz_line, projected_pressure_MPa
from .answer import Comparison

__all__ = ["RoundResult", "against", "solve_round_seat"]

Array = NDArray[np.float64]

CONTACT = computed("contact by finite elements in the plane, half a round in half a block")
LINE = computed("line contact of half-planes, see rotor/seat.py")
# band over the change from mesh to mesh, and its floor; found on seats with four meshes
FACTOR, FLOOR = 2.0, 1e-3
ANGLE_FLOOR = 5e-3


@dataclass(frozen=True, eq=False)
class RoundResult:
    """A seat solved. angle_deg [m] from the middle, pressure_MPa: half of the curve, which is symmetric; formula_MPa: by conforming contact.

    peak: MPa; half_angle: degrees. conforming: the formula; line_MPa: peak by line contact, None where its formula is refused.
    """

    seat: RoundSeat
    material: Material
    angle_deg: Array
    pressure_MPa: Array
    formula_MPa: Array
    peak: Quantity
    half_angle: Quantity
    conforming: ConformingContact
    line_MPa: float | None
    line_said: str
    verdict: Verdict
    figures: tuple[Figure, ...]
    comparisons: tuple[Comparison, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]


def solve_round_seat(seat: RoundSeat, material: Material, asked: float = 0.1) -> RoundResult:
    """Contact of a round in its groove. asked: wanted relative band of the peak. Raises SolveFailure."""
    elastic = {"youngs_modulus_MPa": material.youngs_modulus_MPa, "poissons_ratio": material.poissons_ratio}
    formula = conforming_contact(
        line_load_N_mm=seat.line_load_N_mm, radius_mm=seat.radius_mm, groove_radius_mm=seat.groove_radius_mm, **elastic
    )
    expected = math.radians(formula.half_angle_deg)
    coarse, fine = (solve_round(seat, material, expected, cells) for cells in ROUND_LEVELS[-2:])
    peak, angle = _peak(coarse, fine, asked), _angle(coarse, fine)
    line, said = _line(seat, elastic)
    return RoundResult(
        seat, material, np.degrees(fine.angle_rad), fine.pressure_MPa,
        seat.line_load_N_mm / seat.radius_mm * pressure_number(fine.angle_rad, expected), peak, angle, formula, line, said, peak.verdict,
        _figures(seat, float(angle)), _beside(peak, angle, formula, line, said), _notes(seat), _warnings(seat, material, float(peak), float(angle)),
    )  # fmt: skip


def against(difference: float | None) -> str:
    """How far ours is from a formula: per cent, or times where it is more than twice."""
    if difference is None:
        return "-"
    if difference > 1:
        return f"{1 + difference:.3g} times"
    return f"{100 * (0.0 if abs(difference) < 1e-6 else difference):+.2g} %"


def _peak(coarse: RoundSolution, fine: RoundSolution, asked: float) -> Quantity:
    value = float(fine.pressure_MPa.max())
    band = FACTOR * abs(value - float(coarse.pressure_MPa.max())) + FLOOR * value
    verdict = Verdict.SETTLED if band <= asked * value else Verdict.NOT_SETTLED
    return Quantity(value, "MPa", band, verdict, "peak pressure of the round in its groove")


def _angle(coarse: RoundSolution, fine: RoundSolution) -> Quantity:
    value, before = (math.degrees(s.half_angle_rad) for s in (fine, coarse))
    return Quantity(
        value, "°", FACTOR * abs(value - before) + ANGLE_FLOOR * value, Verdict.SETTLED, "half angle of contact"
    )


def _line(seat: RoundSeat, elastic: dict[str, float]) -> tuple[float | None, str]:
    """Peak by line contact, and whether its formula holds, in words."""
    try:
        found = hertz_line(
            force_N=1e3 * seat.force_kN, length_mm=seat.width_mm, radius_mm=seat.radius_mm, groove_radius_mm=seat.groove_radius_mm, **elastic
        )  # fmt: skip
    except OutsideRange:
        wide = line_contact(
            line_load=seat.line_load_N_mm, radius_mm=seat.radius_mm, other_radius_mm=-seat.groove_radius_mm, **elastic
        )
        return None, (
            f"does not hold: its half width would be {wide.half_width / seat.radius_mm:.2g} of the radius, {HERTZ_WIDTH_SHARE:g} is the most"
        )
    return found.pressure, "holds for narrow contact only"


def _beside(
    peak: Quantity, angle: Quantity, formula: ConformingContact, line: float | None, said: str
) -> tuple[Comparison, ...]:
    large = "round and groove as parts of a large body"
    return (
        Comparison("peak pressure, MPa, by line contact", peak.value, peak.band, line, str(LINE), said),
        Comparison("peak pressure, MPa, by conforming contact", peak.value, peak.band, formula.peak_MPa, str(CONFORMING), large),
        Comparison("half angle of contact, degrees", angle.value, angle.band, formula.half_angle_deg, str(CONFORMING), large),
    )  # fmt: skip


def _figures(seat: RoundSeat, half_angle_deg: float) -> tuple[Figure, ...]:
    projected = projected_pressure_MPa(
        force_N=1e3 * seat.force_kN, diameter_mm=2 * seat.radius_mm, length_mm=seat.width_mm
    )
    arc = 2 * seat.radius_mm * math.radians(half_angle_deg)
    return (
        Figure("force per length", seat.line_load_N_mm, "N/mm", "F / l", computed("definition")),
        Figure("play between the radii", seat.groove_radius_mm - seat.radius_mm, "mm", "R_groove - R", computed("definition")),
        Figure("projected pressure", projected, "MPa", "F / (2 R l)", computed("statics")),
        Figure("length in contact along the arc", arc, "mm", "2 R x half angle", CONTACT),
    )  # fmt: skip


def _notes(seat: RoundSeat) -> tuple[str, ...]:
    return (
        "Plane section square to the round's axis, plane strain; linear elastic, small displacements, no friction, faces without roughness.",
        f"The block reaches {seat.depth_mm:g} mm below and beside the groove and stands still at its far side; the half round's flat top "
        "bears evenly. Half of both is modelled, so the seat is loaded squarely: an angle is a matter of `femdrum retention`.",
        "The formula of conforming contact takes a full round in a hole of a large body: a half round in a block gives way to the sides, "
        "bears over a larger angle and has a lower peak unless the block is thin.",
    )


def _warnings(seat: RoundSeat, material: Material, peak: float, half_angle_deg: float) -> tuple[str, ...]:
    out = []
    if half_angle_deg > 0.98 * 90:
        out.append("contact reaches the groove's rims: the pressure there hangs on how they are rounded")
    if material.yield_MPa is None:
        return (*out, "no yield strength is given: whether the seat bears the pressure was not checked")
    projected = seat.line_load_N_mm / (2 * seat.radius_mm)
    if projected > MEAN_SHARE * material.yield_MPa:
        out.append(f"the projected pressure of {projected:.4g} MPa is above 0.7 of yield ({material.yield_MPa:g} MPa)")
    if peak > material.yield_MPa:
        out.append(
            f"the peak of {peak:.4g} MPa is above yield ({material.yield_MPa:g} MPa): the seat beds in and the clamp loses what it flattens"
        )
    return tuple(out)
