"""Plates with one cutout in the middle, and an endless row of equal cutouts. Plane stress."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from .check import Checks
from .cutout import CUTOUTS, Cutout

__all__ = ["Plate", "PlateRow"]


def _check_cutout(checks: Checks, cutout: object) -> bool:
    if isinstance(cutout, tuple(CUTOUTS.values())):
        return True
    checks.add("cutout", cutout, "must be a Slot, Obround, Circle or Ellipse")
    return False


def _check_fits(checks: Checks, cutout: Cutout, along: str, size: float, across: str, width: float) -> None:
    for field, room, half, axis in ((along, size, cutout.half_x_mm, "x"), (across, width, cutout.half_y_mm, "y")):
        if 2 * half >= room:
            checks.add(
                field,
                room,
                f"must be above the cutout's size along {axis}, {2 * half:g} mm",
                "make the cutout smaller or the plate larger",
            )


@dataclass(frozen=True, kw_only=True)
class Plate:
    """Rectangular plate, cutout in the middle; length along x (the direction of a plain pull), width along y."""

    kind: ClassVar[str] = "plate"
    length_mm: float
    width_mm: float
    thickness_mm: float
    cutout: Cutout

    def __post_init__(self) -> None:
        checks = Checks()
        good = checks.positive("length_mm", self.length_mm) & checks.positive("width_mm", self.width_mm)
        checks.positive("thickness_mm", self.thickness_mm)
        if _check_cutout(checks, self.cutout) and good:
            _check_fits(checks, self.cutout, "length_mm", self.length_mm, "width_mm", self.width_mm)
        checks.done()

    @property
    def half_x_mm(self) -> float:
        """Half the plate along x."""
        return 0.5 * self.length_mm

    @property
    def half_y_mm(self) -> float:
        """Half the plate along y."""
        return 0.5 * self.width_mm


@dataclass(frozen=True, kw_only=True)
class PlateRow:
    """Endless row of equal cutouts along x, one every `pitch_mm`, in a plate of `width_mm` along y.

    One cell is solved; its cut edges at x = +- pitch / 2 stay straight.
    """

    kind: ClassVar[str] = "plate_row"
    pitch_mm: float
    width_mm: float
    thickness_mm: float
    cutout: Cutout

    def __post_init__(self) -> None:
        checks = Checks()
        good = checks.positive("pitch_mm", self.pitch_mm) & checks.positive("width_mm", self.width_mm)
        checks.positive("thickness_mm", self.thickness_mm)
        if _check_cutout(checks, self.cutout) and good:
            _check_fits(checks, self.cutout, "pitch_mm", self.pitch_mm, "width_mm", self.width_mm)
        checks.done()

    @property
    def half_x_mm(self) -> float:
        """Half the cell along x."""
        return 0.5 * self.pitch_mm

    @property
    def half_y_mm(self) -> float:
        """Half the plate along y."""
        return 0.5 * self.width_mm
