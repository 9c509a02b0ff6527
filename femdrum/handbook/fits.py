"""Which published fits speak for a part under a load, with their values or why they refuse.

Orientation: for a pull along x the cutout's size_y is across the pull and the plate's width (y) is the strip's
width. For a pull along y the cutout turns, and a plate of `length_mm` is no long strip along y: strip fits stay
away, and the infinite-plate fits alone are offered. None speaks for a row, whose cutouts shield each other.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import OutsideRange
from ..model.cutout import Circle, Cutout, Ellipse, Slot
from ..model.load import Axial, Load, Tension
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring
from .fit_formulas import FITS, Fit, curvature_parameter, fit

__all__ = ["FITS", "Fit", "FitAnswer", "fit", "fits_for"]


@dataclass(frozen=True)
class FitAnswer:
    """What a fit says about a part: its values, or `refusal` in words; `remark` says where the part strays from it."""

    fit: Fit
    kt_gross: float | None
    kt_net: float | None
    refusal: str = ""
    remark: str = ""


INFINITE = "for an infinite plate; the part's finite size is not in it"


def fits_for(part: Plate | PlateRow | Ring | Cutout, load: Load) -> list[FitAnswer]:
    """The fits for this part and load; a bare cutout stands for an infinite plate. Empty where none applies."""
    if isinstance(part, Ring):
        return _ring(part, load)
    if isinstance(part, PlateRow) or not isinstance(load, Tension):
        return []
    cutout = part.cutout if isinstance(part, Plate) else part
    if isinstance(cutout, Slot) and cutout.sharp:
        return []
    along_x = load.direction == "x"
    across, along = (cutout.half_y_mm, cutout.half_x_mm) if along_x else (cutout.half_x_mm, cutout.half_y_mm)
    answers: list[FitAnswer] = []
    if isinstance(part, Plate) and along_x:
        answers += _strip(part, cutout, across, along)
    answers += _infinite(cutout, across, along, _fraction(part, along_x), "" if part is cutout else INFINITE)
    return answers


def _fraction(part: Plate | Cutout, along_x: bool) -> float:
    """Net over gross section of the part across the pull."""
    if isinstance(part, Plate):
        if along_x:
            return 1 - part.cutout.half_y_mm / part.half_y_mm
        return 1 - part.cutout.half_x_mm / part.half_x_mm
    return 1.0


def _strip(plate: Plate, cutout: Cutout, across: float, along: float) -> list[FitAnswer]:
    remark = ""
    if plate.length_mm < 2 * plate.width_mm:
        remark = "for a long strip; this plate is shorter than twice its width"
    if isinstance(cutout, Circle):
        names = [name for name in FITS if name.startswith("circle_strip")]
        return [_answer(FITS[name], remark, d_over_w=2 * across / plate.width_mm) for name in names]
    if isinstance(cutout, Ellipse):
        arguments = {"across_over_along": across / along, "across_over_w": 2 * across / plate.width_mm}
        return [_answer(FITS["ellipse_strip"], remark, **arguments)]
    return []


def _infinite(cutout: Cutout, across: float, along: float, fraction: float, remark: str) -> list[FitAnswer]:
    if isinstance(cutout, Circle | Ellipse):
        return [_with_fraction(FITS["ellipse_infinite"], fraction, remark, across_over_along=across / along)]
    r = cutout.radius_mm
    return [
        _with_fraction(
            FITS["rounded_rectangle"], fraction, remark, r_over_half_along=r / along, along_over_across=along / across
        ),
        _with_fraction(FITS["equivalent_ellipse"], fraction, remark, half_across_over_r=across / r),
    ]


def _ring(ring: Ring, load: Load) -> list[FitAnswer]:
    if not (isinstance(load, Axial) and isinstance(ring.cutout, Circle)):
        return []
    arguments = {
        "curvature": curvature_parameter(
            hole_radius_mm=ring.cutout.half_x_mm, mid_radius_mm=ring.mid_radius_mm, wall_mm=ring.wall_mm
        ),
        "wall_over_radius": ring.wall_mm / ring.mid_radius_mm,
    }
    return [
        _answer(
            FITS["circle_shell_axial"],
            "for one hole in a long thin cylinder, nu = 0.3; the other holes are not in it",
            **arguments,
        )
    ]


def _answer(formula: Fit, remark: str, **arguments: float) -> FitAnswer:
    try:
        return FitAnswer(formula, formula.gross(**arguments), formula.net(**arguments), remark=remark)
    except OutsideRange as refusal:
        return FitAnswer(formula, None, None, str(refusal), remark)


def _with_fraction(formula: Fit, fraction: float, remark: str, **arguments: float) -> FitAnswer:
    """An infinite-plate fit used in a part: the net value by the part's own section."""
    try:
        gross = formula.gross(**arguments)
    except OutsideRange as refusal:
        return FitAnswer(formula, None, None, str(refusal), remark)
    return FitAnswer(formula, gross, gross * fraction, remark=remark)
