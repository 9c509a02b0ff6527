"""Where a load stands on a slot's flank: a patch of declared extent that falls to zero at its ends.

A uniform shear that stops short at the tangent of the corner arc has no finite peak (it grows with every
finer mesh, (2 / pi) ln 2 of the shear a halving; computed for this project), so a shear patch needs a taper.
Flanks: leading at +x (ahead in the sense of rotation), trailing at -x, free end at +y, drive end at -y.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.polynomial.legendre import legval
from numpy.typing import NDArray

from .check import Checks
from .contour import Line
from .ring import Ring

__all__ = ["FLANKS", "TRACTIONS", "Patch", "default_patch", "flank_height_mm", "flank_length_mm"]

FLANKS = ("leading", "trailing", "free_end", "drive_end")
TRACTIONS = ("pressure", "shear_wall", "shear_edge")
Array = NDArray[np.float64]

# shapes through the wall: polynomials of Legendre, each without what those before it carry
PROFILES = ("uniform", "linear", "quadratic")

# share of the wall at each rim over which a shear falls to zero: no shear can act on a rim's free side
RIM = 0.2
# share of the extent at each end that is taper where none is given
TAPER = 1 / 6


@dataclass(frozen=True, kw_only=True)
class Patch:
    """A load of 1 MPa on a flank.

    slot: its number, or None for every slot of every row. traction: "pressure" pushes on the flank;
    "shear_wall" acts through the wall, positive outward; "shear_edge" along the flank, positive to +y on leading
    and trailing, to +x on the ends. profile: "uniform", or "linear" through the wall, +1 at the outer rim, -1 at
    the bore; of a pressure also "quadratic", +1 at both rims and -1/2 in the middle, without force or couple.
    extent_mm: length along the flank, about its middle; taper_mm: length at each end, inside the extent, over which
    the load falls to zero.
    """

    slot: int | None
    flank: str
    traction: str
    profile: str
    extent_mm: float
    taper_mm: float

    def __post_init__(self) -> None:
        checks = Checks()
        if self.slot is not None:
            checks.whole("slot", self.slot, 0, 23)
        checks.one_of("flank", self.flank, FLANKS)
        checks.one_of("traction", self.traction, TRACTIONS)
        checks.one_of("profile", self.profile, PROFILES if self.traction == "pressure" else PROFILES[:2])
        if checks.positive("extent_mm", self.extent_mm):
            checks.number(
                "taper_mm", self.taper_mm, least=0.0, most=0.5 * self.extent_mm, way_out="at most half of the extent"
            )
        if self.traction != "pressure" and self.taper_mm == 0:
            checks.add(
                "taper_mm", 0.0, "must be above 0: a shear that stops short has no finite peak",
                f"give a length over which it falls to zero, say {TAPER * self.extent_mm:.3g} mm",
            )  # fmt: skip
        checks.done()

    @property
    def name(self) -> str:
        """Name of the unit case."""
        slot = "all" if self.slot is None else str(self.slot)
        return f"flank:{slot}:{self.flank}:{self.traction}:{self.profile}:{self.extent_mm!r}:{self.taper_mm!r}"

    @classmethod
    def from_name(cls, name: str) -> Patch:
        """The patch that `name` names."""
        _, slot, flank, traction, profile, extent, taper = name.split(":")
        return cls(
            slot=None if slot == "all" else int(slot), flank=flank, traction=traction, profile=profile,
            extent_mm=float(extent), taper_mm=float(taper),
        )  # fmt: skip

    def along(self, distance: Array) -> Array:
        """Share of the full load at a distance from the flank's middle: 1, then half a cosine down to 0."""
        beyond = np.abs(distance) - (0.5 * self.extent_mm - self.taper_mm)
        if self.taper_mm == 0:
            return np.where(beyond <= 0, 1.0, 0.0)
        return np.asarray(0.5 * (1 + np.cos(np.pi * np.clip(beyond / self.taper_mm, 0.0, 1.0))))

    def through(self, share: Array) -> Array:
        """Share of the full load at a share of the flank's height, -1 at the bore, +1 at the outer rim."""
        profile = legval(share, np.eye(len(PROFILES))[PROFILES.index(self.profile)])
        if self.traction == "pressure":
            return np.asarray(profile)
        beyond = (np.abs(share) - (1 - 2 * RIM)) / (2 * RIM)
        return np.asarray(profile * 0.5 * (1 + np.cos(np.pi * np.clip(beyond, 0.0, 1.0))))

    def force_N(self, ring: Ring) -> float:
        """Resultant of 1 MPa, zero for any but a uniform profile."""
        if self.profile != "uniform":
            return 0.0
        height = flank_height_mm(ring, self.flank) * (1.0 if self.traction == "pressure" else 1 - RIM)
        return (self.extent_mm - self.taper_mm) * height

    def moment_Nmm(self, ring: Ring) -> float:
        """Moment of a linear pressure or shear along the flank of 1 MPa about the middle of the wall."""
        if self.profile != "linear" or self.traction == "shear_wall":
            return 0.0
        # integral of share^2 over the height, without or with the fall over 2 RIM at each rim
        a = 1 - 2 * RIM
        fall = 2 * RIM * (0.5 * a**2 + a * 2 * RIM * (0.5 - 2 / math.pi**2) + (2 * RIM) ** 2 * (1 / 6 - 1 / math.pi**2))
        share = 2 / 3 if self.traction == "pressure" else 2 * (a**3 / 3 + fall)
        return (self.extent_mm - self.taper_mm) * flank_height_mm(ring, self.flank) ** 2 / 4 * share


def flank_length_mm(ring: Ring, flank: str) -> float:
    """Flat length of a flank between the corner arcs; 0 where the slot has no flat flank there."""
    normal = 0.0 if flank in ("leading", "trailing") else 0.5 * math.pi
    return sum(2 * p.length for p in ring.cutout.quarter() if isinstance(p, Line) and p.normal_angle == normal)


def flank_height_mm(ring: Ring, flank: str) -> float:
    """Height of a flank from bore to outer surface, at its middle, along the slot's own radius."""
    offset = ring.cutout.half_x_mm if flank in ("leading", "trailing") else 0.0
    outer, inner = ring.outer_radius_mm - ring.edge_break_mm, ring.inner_radius_mm + ring.edge_break_mm
    return math.sqrt(outer**2 - offset**2) - math.sqrt(inner**2 - offset**2)


def default_patch(
    ring: Ring,
    slot: int | None,
    flank: str,
    traction: str,
    profile: str = "uniform",
    extent_mm: float | None = None,
    taper_mm: float | None = None,
) -> Patch:
    """A patch over the whole flat flank unless an extent is given; a sixth of it is taper unless that is given.

    Raises InputFault where the flank is not flat, or too short for the extent.
    """
    checks = Checks()
    length = flank_length_mm(ring, flank) if flank in FLANKS else 0.0
    if flank in FLANKS and length <= 0:
        checks.add(
            "flank", flank, f"a {ring.cutout.shape} has no flat {flank.replace('_', ' ')} that a load could stand on",
            "use a slot whose corner radius leaves a flat flank",
        )  # fmt: skip
    elif extent_mm is not None and length:
        checks.number("extent_mm", extent_mm, above=0.0, most=length, way_out="the load must not leave the flat flank")
    checks.done()
    extent = length if extent_mm is None else float(extent_mm)
    taper = TAPER * extent if taper_mm is None else float(taper_mm)
    return Patch(slot=slot, flank=flank, traction=traction, profile=profile, extent_mm=extent, taper_mm=taper)
