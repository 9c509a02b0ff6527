"""Cutouts: slot, obround, circle, ellipse. Sizes in mm.

In a plate the two sizes are `size_x_mm` and `size_y_mm`; in a ring x runs around the drum and y along
its axis, so `around_mm` and `axial_mm` say the same and either pair may be given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

from .check import Checks
from .contour import Arc, EllipseArc, Line, Piece

__all__ = ["CUTOUTS", "Circle", "Cutout", "Ellipse", "Obround", "Slot"]


@dataclass(frozen=True, kw_only=True)
class _TwoSizes:
    size_x_mm: float | None = None
    size_y_mm: float | None = None
    around_mm: float | None = None
    axial_mm: float | None = None

    def _settle_sizes(self, checks: Checks) -> bool:
        """Bring both pairs of names to the same values; note what is wrong."""
        good = True
        for plain, drum in (("size_x_mm", "around_mm"), ("size_y_mm", "axial_mm")):
            a, b = getattr(self, plain), getattr(self, drum)
            if a is not None and b is not None and a != b:
                checks.add(drum, b, f"contradicts {plain} = {a}", f"give {plain} or {drum}, not both")
                good = False
                continue
            name, value = (plain, a) if b is None else (drum, b)
            good &= checks.positive(name, value, f"give {plain} (plate) or {drum} (ring)")
            object.__setattr__(self, plain, value)
            object.__setattr__(self, drum, value)
        return good

    @property
    def half_x_mm(self) -> float:
        """Half the size along x (around the drum)."""
        assert self.size_x_mm is not None
        return 0.5 * self.size_x_mm

    @property
    def half_y_mm(self) -> float:
        """Half the size along y (along the drum's axis)."""
        assert self.size_y_mm is not None
        return 0.5 * self.size_y_mm


@dataclass(frozen=True, kw_only=True)
class Slot(_TwoSizes):
    """Rectangular slot with four equal corner radii.

    corner_radius_mm: 0 (sharp) to half the short side, or "full" (full round, an obround).
    """

    shape: ClassVar[str] = "slot"
    corner_radius_mm: float | str

    def __post_init__(self) -> None:
        checks = Checks()
        if self._settle_sizes(checks):
            most = min(self.half_x_mm, self.half_y_mm)
            if self.corner_radius_mm != "full":
                checks.number(
                    "corner_radius_mm",
                    self.corner_radius_mm,
                    least=0.0,
                    most=most,
                    way_out=f'half the short side is {most:g} mm; "full" gives the full round',
                )
        elif self.corner_radius_mm != "full":
            checks.number("corner_radius_mm", self.corner_radius_mm, least=0.0)
        checks.done()

    @property
    def radius_mm(self) -> float:
        """The corner radius as a number."""
        if isinstance(self.corner_radius_mm, str):
            return min(self.half_x_mm, self.half_y_mm)
        return float(self.corner_radius_mm)

    @property
    def sharp(self) -> bool:
        """True where the corner has no radius: the peak is unbounded."""
        return self.radius_mm == 0.0

    @property
    def least_radius_mm(self) -> float:
        """Smallest radius of curvature of the edge."""
        return self.radius_mm

    @property
    def area_mm2(self) -> float:
        """Area of the cutout."""
        return 4 * self.half_x_mm * self.half_y_mm - (4 - math.pi) * self.radius_mm**2

    def quarter(self) -> tuple[Piece, ...]:
        """Outline from (half_x, 0) to (0, half_y)."""
        a, b, r = self.half_x_mm, self.half_y_mm, self.radius_mm
        pieces: list[Piece] = []
        tiny = 1e-12 * max(a, b)
        if b - r > tiny:
            pieces.append(Line((a, 0.0), (a, b - r), 0.0))
        pieces.append(Arc((a - r, b - r), r))
        if a - r > tiny:
            pieces.append(Line((a - r, b), (0.0, b), 0.5 * math.pi))
        return tuple(pieces)


@dataclass(frozen=True, kw_only=True)
class Obround(_TwoSizes):
    """Slot with half-circle ends on its short sides (equal sizes: a circle)."""

    shape: ClassVar[str] = "obround"
    sharp: ClassVar[bool] = False

    def __post_init__(self) -> None:
        checks = Checks()
        self._settle_sizes(checks)
        checks.done()

    def _slot(self) -> Slot:
        return Slot(size_x_mm=self.size_x_mm, size_y_mm=self.size_y_mm, corner_radius_mm="full")

    @property
    def radius_mm(self) -> float:
        """Radius of the round ends."""
        return min(self.half_x_mm, self.half_y_mm)

    @property
    def least_radius_mm(self) -> float:
        """Smallest radius of curvature of the edge."""
        return self.radius_mm

    @property
    def area_mm2(self) -> float:
        """Area of the cutout."""
        return self._slot().area_mm2

    def quarter(self) -> tuple[Piece, ...]:
        """Outline from (half_x, 0) to (0, half_y)."""
        return self._slot().quarter()


@dataclass(frozen=True, kw_only=True)
class Circle:
    """Round hole."""

    shape: ClassVar[str] = "circle"
    sharp: ClassVar[bool] = False
    diameter_mm: float

    def __post_init__(self) -> None:
        checks = Checks()
        checks.positive("diameter_mm", self.diameter_mm)
        checks.done()

    @property
    def half_x_mm(self) -> float:
        """Half the size along x."""
        return 0.5 * self.diameter_mm

    @property
    def half_y_mm(self) -> float:
        """Half the size along y."""
        return 0.5 * self.diameter_mm

    @property
    def least_radius_mm(self) -> float:
        """Smallest radius of curvature of the edge."""
        return 0.5 * self.diameter_mm

    @property
    def area_mm2(self) -> float:
        """Area of the cutout."""
        return 0.25 * math.pi * self.diameter_mm**2

    def quarter(self) -> tuple[Piece, ...]:
        """Outline from (half_x, 0) to (0, half_y)."""
        return (Arc((0.0, 0.0), 0.5 * self.diameter_mm),)


@dataclass(frozen=True, kw_only=True)
class Ellipse(_TwoSizes):
    """Elliptical hole, axes along x and y."""

    shape: ClassVar[str] = "ellipse"
    sharp: ClassVar[bool] = False

    def __post_init__(self) -> None:
        checks = Checks()
        if self._settle_sizes(checks):
            ratio = max(self.half_x_mm, self.half_y_mm) / min(self.half_x_mm, self.half_y_mm)
            if ratio > 50:
                checks.add("size_y_mm", self.size_y_mm, "axes must not differ by more than 50 : 1", "model a crack")
        checks.done()

    @property
    def least_radius_mm(self) -> float:
        """Smallest radius of curvature of the edge."""
        a, b = self.half_x_mm, self.half_y_mm
        return min(a, b) ** 2 / max(a, b)

    @property
    def area_mm2(self) -> float:
        """Area of the cutout."""
        return math.pi * self.half_x_mm * self.half_y_mm

    def quarter(self) -> tuple[Piece, ...]:
        """Outline from (half_x, 0) to (0, half_y)."""
        return (EllipseArc(self.half_x_mm, self.half_y_mm),)


Cutout = Slot | Obround | Circle | Ellipse

CUTOUTS: dict[str, Any] = {c.shape: c for c in (Slot, Obround, Circle, Ellipse)}
