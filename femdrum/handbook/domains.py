"""What surrounds the cutout in the exact plane solution: an infinite plate, a strip, rows, a finite plate."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from ..errors import Fault, InputFault, NoNumber
from ..model.contour import EllipseArc, Line
from ..model.cutout import Cutout
from .cutting import closed_cuts, straight_cuts
from .distance import distance_to
from .panels import Cuts, Gap

__all__ = ["Domain", "EllipseDisc", "FinitePlate", "InfinitePlate", "Row", "Strip", "StripRow", "check_fit"]

SMOOTH = 3.0  # longest panel of an outer edge over the plate's width: far from the hole its stress fades smoothly


@dataclass(frozen=True, kw_only=True)
class InfinitePlate:
    """Plate without end; loads are the stresses far away."""

    pitch: ClassVar[float | None] = None

    def gap(self, cutout: Cutout) -> Gap | None:
        """Free distance from the hole's edge to the nearest other edge."""
        return None

    def outer(self, cutout: Cutout, reach: float) -> Cuts | None:
        """Cuts of the outer edge, counter-clockwise."""
        return None


@dataclass(frozen=True, kw_only=True)
class Strip:
    """Long strip along x, free straight edges at y = +- width / 2, hole in the middle.

    Tension x pulls the far ends; tension y pulls the straight edges; shear acts on edges and far ends.
    """

    pitch: ClassVar[float | None] = None
    width_mm: float

    def gap(self, cutout: Cutout) -> Gap | None:
        """Free distance from the hole's edge to the strip's."""
        return lambda z: np.asarray(0.5 * self.width_mm - z.imag)

    def outer(self, cutout: Cutout, reach: float) -> Cuts | None:
        """Cuts of the upper edge for x > 0. Past `reach` widths the hole's disturbance has died out, exp(-4.2 x / W)."""
        end = cutout.half_x_mm + reach * self.width_mm
        return _upper_edge(cutout, end, 0.5 * self.width_mm, SMOOTH * self.width_mm)


@dataclass(frozen=True, kw_only=True)
class Row:
    """Endless row of equal holes along x, centres `pitch_mm` apart, in a plate without end."""

    pitch_mm: float

    @property
    def pitch(self) -> float | None:
        """Period along x."""
        return self.pitch_mm

    def gap(self, cutout: Cutout) -> Gap | None:
        """Free distance from the hole's edge to its neighbour's."""
        return lambda z: np.asarray(self.pitch_mm - 2 * z.real)

    def outer(self, cutout: Cutout, reach: float) -> Cuts | None:
        """No outer edge."""
        return None


@dataclass(frozen=True, kw_only=True)
class StripRow:
    """Endless row of equal holes along the middle of a long strip, `pitch_mm` apart, free edges at y = +- width / 2.

    Tension x is the mean over a section; with tension y the net force along x is zero. Lines midway between
    holes stay straight under both.
    """

    pitch_mm: float
    width_mm: float

    @property
    def pitch(self) -> float | None:
        """Period along x."""
        return self.pitch_mm

    def gap(self, cutout: Cutout) -> Gap | None:
        """Free distance from the hole's edge to its neighbour's or to the strip's."""
        return lambda z: np.minimum(self.pitch_mm - 2 * z.real, 0.5 * self.width_mm - z.imag)

    def outer(self, cutout: Cutout, reach: float) -> Cuts | None:
        """Cuts of the upper edge over half a pitch."""
        return _upper_edge(cutout, 0.5 * self.pitch_mm, 0.5 * self.width_mm, SMOOTH * min(self.width_mm, self.pitch_mm))


@dataclass(frozen=True, kw_only=True)
class FinitePlate:
    """Rectangular plate, hole in the middle, uniform stress on its outer edges (not held straight)."""

    pitch: ClassVar[float | None] = None
    length_mm: float
    width_mm: float

    def gap(self, cutout: Cutout) -> Gap | None:
        """Free distance from the hole's edge to the plate's."""
        a, b = 0.5 * self.length_mm, 0.5 * self.width_mm
        return lambda z: np.minimum(a - z.real, b - z.imag)

    def outer(self, cutout: Cutout, reach: float) -> Cuts | None:
        """Cuts of the outer edge, its corner among the junctions."""
        a, b = 0.5 * self.length_mm, 0.5 * self.width_mm
        pieces = (Line((a, 0.0), (a, b), 0.0), Line((a, b), (0.0, b), 0.5 * math.pi))
        longest = SMOOTH * min(self.length_mm, self.width_mm)
        return closed_cuts(pieces, distance_to(cutout.quarter()), hole=False, longest=longest)


@dataclass(frozen=True, kw_only=True)
class EllipseDisc:
    """Plate bounded by an ellipse, hole in the middle, uniform stress on its outer edge."""

    pitch: ClassVar[float | None] = None
    size_x_mm: float
    size_y_mm: float

    def _arc(self) -> EllipseArc:
        return EllipseArc(0.5 * self.size_x_mm, 0.5 * self.size_y_mm)

    def gap(self, cutout: Cutout) -> Gap | None:
        """Free distance from the hole's edge to the outer edge."""
        return distance_to((self._arc(),))

    def outer(self, cutout: Cutout, reach: float) -> Cuts | None:
        """Cuts of the outer edge."""
        return closed_cuts((self._arc(),), distance_to(cutout.quarter()), hole=False)


Domain = InfinitePlate | Strip | Row | StripRow | FinitePlate | EllipseDisc


def _upper_edge(cutout: Cutout, end: float, height: float, longest: float) -> Cuts:
    """Cuts of the straight edge from (end, height) to (0, height), short where the hole is near."""
    line = Line((end, height), (0.0, height), 0.5 * math.pi)
    return straight_cuts(line, distance_to(cutout.quarter()), longest)


def check_fit(cutout: Cutout, domain: Domain) -> None:
    """Refuse a sharp corner (no number) and a hole that does not fit (input at fault)."""
    if cutout.sharp:
        raise NoNumber(
            "corner_radius_mm = 0: the stress at a sharp corner grows without bound, so there is no peak and no Kt; "
            "give the real corner radius, or ask for a notch stress intensity or the stress at a stated distance"
        )
    rooms: list[tuple[str, float, float, str]] = []
    if isinstance(domain, Strip):
        rooms = [("width_mm", domain.width_mm, cutout.half_y_mm, "y")]
    elif isinstance(domain, Row):
        rooms = [("pitch_mm", domain.pitch_mm, cutout.half_x_mm, "x")]
    elif isinstance(domain, StripRow):
        rooms = [("pitch_mm", domain.pitch_mm, cutout.half_x_mm, "x"),
                 ("width_mm", domain.width_mm, cutout.half_y_mm, "y")]  # fmt: skip
    elif isinstance(domain, FinitePlate):
        rooms = [("length_mm", domain.length_mm, cutout.half_x_mm, "x"),
                 ("width_mm", domain.width_mm, cutout.half_y_mm, "y")]  # fmt: skip
    elif isinstance(domain, EllipseDisc):
        rooms = [("size_x_mm", domain.size_x_mm, cutout.half_x_mm, "x"),
                 ("size_y_mm", domain.size_y_mm, cutout.half_y_mm, "y")]  # fmt: skip
    faults = [
        Fault(field, room, f"must be above the cutout's size along {axis}, {2 * half:g} mm", "make the cutout smaller")
        for field, room, half, axis in rooms
        if not (math.isfinite(room) and room > 2 * half)
    ]
    if faults:
        raise InputFault(faults)
