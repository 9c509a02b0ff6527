"""Places of a drum's end section, and how its lines are divided: what the blocks of `end_mesh` are drawn from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..model.drum_end import DrumEnd
from .divide import graded
from .end_divide import counted, pair
from .end_weld import WeldLines, weld_lines
from .harmonic_section import spread

__all__ = ["EndFineness", "EndPlaces", "fillet_rays"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class EndFineness:
    """How fine the section is: cells on the stub's fillet (even) and on a rounded toe, growth of cells away from them;
    sharp_first: first cell at a sharp toe over the leg, sharp_growth: growth from there; root_first, root_growth: the same
    at the root of an unfused rim, a crack's tip, over the length of the ray.
    """

    arc_cells: int = 4
    toe_cells: int = 2
    growth: float = 2.0
    sharp_first: float = 0.02
    sharp_growth: float = 3.0
    root_first: float = 0.02
    root_growth: float = 3.0


def fillet_rays(
    radius: float, corner: tuple[float, float], depth: float, cells: int, order: int
) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Two blocks of rays (contour, end) about a fillet arc in the corner (r, z) of stub and disc face: from the disc's
    face to the middle, and from there to the stub. The rays end `depth` below face and stub.
    """
    r0, z0 = corner
    centre = np.array([r0 + radius, z0 + radius])
    # the curvature jumps where the arc ends: half cells there
    shares = np.full(cells // 2, 2.0)
    shares[0] = 1.0
    ends = 0.25 * math.pi * np.concatenate([[0.0], np.cumsum(shares / shares.sum())])
    angle = spread(ends, order)
    reach = (radius + depth) * np.tan(angle)
    reach[-1] = radius + depth
    one = np.stack([centre[0] - radius * np.sin(angle), centre[1] - radius * np.cos(angle)], -1)
    one_end = np.stack([centre[0] - reach, np.full(angle.size, z0 - depth)], -1)
    one[0], one_end[0] = (r0 + radius, z0), (r0 + radius, z0 - depth)
    two = np.stack([centre[0] - radius * np.cos(angle), centre[1] - radius * np.sin(angle)], -1)[::-1]
    two_end = np.stack([np.full(angle.size, r0 - depth), centre[1] - reach], -1)[::-1]
    two[0], two_end[0] = one[-1], one_end[-1]
    two[-1], two_end[-1] = (r0, z0 + radius), (r0 - depth, z0 + radius)
    return (one, one_end), (two, two_end)


@dataclass
class EndPlaces:
    """Places along r and z, the lines of the welds, and shares of the rays' nodes."""

    end: DrumEnd
    order: int
    f: EndFineness

    def __post_init__(self) -> None:
        e = self.end
        self.z_in = e.modelled_shell_mm
        self.z_out = self.z_in + e.disc_thickness_mm
        self.z_shell = self.z_out + e.recess_mm
        self.z_bar = self.z_out + e.stub_length_mm
        self.bore, self.rim, self.stub = 0.5 * e.stub_bore_mm, e.shell_inner_radius_mm, e.stub_radius_mm
        self.gap = e.penetration == "fillet"
        self.depth = min(1.5 * e.fillet_radius_mm, 0.35 * e.disc_thickness_mm, 0.5 * (self.stub - self.bore))
        legs = {"inside": e.inside_leg_mm, "outside": e.outside_leg_mm}
        widest = max(legs.values())
        self.weld: dict[str, WeldLines | None] = {
            side: self._weld(side, leg, widest) if leg else None for side, leg in legs.items()
        }
        self.web = self.rim - widest - e.toe_radius_mm  # where a side without weld divides its face

    def _weld(self, side: str, leg: float, widest: float) -> WeldLines:
        e = self.end
        plain = self.z_in if side == "inside" else self.z_shell - self.z_out
        # beside a much larger weld the smaller one stays flat, so that the core between them has no re-entrant corner
        most = 0.45 * e.disc_thickness_mm * leg / widest
        disc_depth = min(0.6 * leg, 0.3 * e.disc_thickness_mm) if side == "inside" else min(leg, self.depth)
        return weld_lines(
            leg=leg,
            toe_radius=e.toe_radius_mm,
            shell_depth=min(leg, 0.4 * e.shell_wall_mm),
            disc_depth=min(disc_depth, most),
            shell_length=plain,
            most_cell=0.6 * e.edge_length_mm,
            half_cells=self._half_cells(widest),
            toe_cells=self.f.toe_cells,
            first=self._toe_cell(leg),
            growth=self._toe_growth,
            order=self.order,
        )

    def _toe_cell(self, leg: float) -> float:
        r = self.end.toe_radius_mm
        return 0.25 * math.pi * r / self.f.toe_cells if r else self.f.sharp_first * leg

    @property
    def _toe_growth(self) -> float:
        return self.f.growth if self.end.toe_radius_mm else self.f.sharp_growth

    def _half_cells(self, leg: float) -> int:
        half = leg / math.sqrt(2) - 0.42 * self.end.toe_radius_mm
        return graded(half, self._toe_cell(leg), self._toe_growth).size - 1

    def _weld_shares(self, side: str) -> Array:
        """Along a weld's rays from its surface to the root: fine at the toe, and at the root where a gap ends."""
        weld = self.weld[side]
        assert weld is not None
        first = self._toe_cell(weld.leg) / weld.shell_depth
        ends = (
            pair(1.0, first, self.f.root_first, self.f.root_growth)
            if self.gap
            else graded(1.0, first, self._toe_growth)
        )
        return spread(ends, self.order)

    @cached_property
    def inside_shares(self) -> Array:
        """Of the strip along the inside surfaces."""
        return self._weld_shares("inside")

    @cached_property
    def outside_shares(self) -> Array:
        """Of the strip along the disc's outer face, at the weld or, without one, at the rim."""
        return self._weld_shares("outside") if self.weld["outside"] else self.fillet_shares

    @cached_property
    def fillet_shares(self) -> Array:
        """Of the strip at the fillet; as many cells as at the weld beside it."""
        cell = 0.25 * math.pi * self.end.fillet_radius_mm / self.f.arc_cells
        first = min(1.2 * cell / self.depth, 0.6)
        count = graded(1.0, first, self.f.growth).size - 1
        if self.weld["outside"]:
            count = (self.outside_shares.size - 1) // self.order
        return spread(counted(1.0, min(first, 1.0 / count), count), self.order)

    @cached_property
    def core_shares(self) -> Array:
        """Through the disc's core; fine at a root."""
        ends = (
            pair(1.0, self.f.root_first, self.f.root_first, self.f.root_growth)
            if self.gap
            else pair(1.0, 0.3, 0.3, self.f.growth)
        )
        return spread(ends, self.order)

    @cached_property
    def core_radii(self) -> Array:
        """Radii of the nodes in the stub's core."""
        last = self.stub - self.depth
        size = 0.6 * self.depth
        ends = last - graded(last - self.bore, min(size, last - self.bore), self.f.growth)[::-1]
        ends[0], ends[-1] = self.bore, last
        return spread(ends, self.order)

    @cached_property
    def web_shares(self) -> Array:
        """Along the disc's web, from the fillet's end to the weld's toe."""
        e = self.end
        start = self.stub + e.fillet_radius_mm
        length = self.web - start
        cell = 0.25 * math.pi * e.fillet_radius_mm / self.f.arc_cells
        toe = self._toe_cell(max(e.inside_leg_mm, e.outside_leg_mm))
        ends = pair(length, min(cell, length), min(toe, length), max(self.f.growth, self._toe_growth))
        return spread(ends / length, self.order)
