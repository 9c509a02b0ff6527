"""A stepped shaft with a shoulder fillet: the case of the published fits, and the drum's end with a disc that cannot bend."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.accuracy import Accuracy
from ..model.check import Checks
from ..model.material import Material
from .divide import graded
from .end_divide import pair
from .end_places import EndFineness, fillet_rays
from .harmonic_ladder import ARC, ORDERS, HarmonicSolution, Watch, climb_orders
from .harmonic_loads import BeamSection, end_loads
from .harmonic_section import Section, SectionBuilder, ruled, spread

__all__ = ["SteppedShaft", "shaft_section", "solve_shaft"]

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class SteppedShaft:
    """A shaft of two diameters with a full quarter fillet between them: the step is at least the fillet's radius.

    Lengths of both parts are 1.5 times their diameter, so that their ends are out of reach.
    """

    large_diameter_mm: float
    small_diameter_mm: float
    fillet_radius_mm: float

    def __post_init__(self) -> None:
        checks = Checks()
        good = [
            checks.positive(n, getattr(self, n)) for n in ("large_diameter_mm", "small_diameter_mm", "fillet_radius_mm")
        ]
        if all(good):
            checks.number(
                "large_diameter_mm", self.large_diameter_mm,
                least=(self.small_diameter_mm + 2 * self.fillet_radius_mm) * (1 + 1e-6),
                way_out="a step lower than the fillet's radius has no full quarter fillet",
            )  # fmt: skip
            checks.number("fillet_radius_mm", self.fillet_radius_mm, most=0.5 * self.small_diameter_mm)
        checks.done()

    @property
    def shoulder_mm(self) -> float:
        """Where the shoulder's face is: length of the large part."""
        return 1.5 * self.large_diameter_mm

    @property
    def end_mm(self) -> float:
        """Where the small part ends."""
        return self.shoulder_mm + self.fillet_radius_mm + 1.5 * self.small_diameter_mm


def shaft_section(shaft: SteppedShaft, order: int, fineness: EndFineness | None = None) -> Section:
    """The section; curves cut, bar_end and fillet (with a cell on either side), as at a drum's end."""
    f = fineness or EndFineness()
    radius, large, small = shaft.fillet_radius_mm, 0.5 * shaft.large_diameter_mm, 0.5 * shaft.small_diameter_mm
    face, end = shaft.shoulder_mm, shaft.end_mm
    depth = min(1.5 * radius, 0.5 * small)
    cell = 0.25 * math.pi * radius / f.arc_cells
    builder = SectionBuilder(order)
    fan = fillet_rays(radius, (small, face), depth, f.arc_cells, order)
    shares = spread(graded(1.0, min(1.2 * cell / depth, 0.6), f.growth), order)
    for contour, ends in fan:
        builder.add("fillet", ruled(contour, ends, shares))
    # columns: core, under the fillet, under the shoulder's face
    last = small - depth
    core = last - spread(graded(last, min(0.6 * depth, last), f.growth), order)[::-1]
    core[0], core[-1] = 0.0, last
    length = large - small - radius
    first = min(cell, length)
    web = small + radius + spread(pair(length, first, min(4 * cell, length), f.growth), order)
    web[0], web[-1] = small + radius, large
    z = face - depth - spread(graded(face - depth, min(0.8 * depth, face), f.growth, 0.6 * large), order)[::-1]
    z[0], z[-1] = 0.0, face - depth
    under = fan[0][1][::-1, 0]
    for radii in (core, under, web):
        builder.add("large", np.stack(np.meshgrid(radii, z, indexing="ij"), -1))
    top, line = _at(web, face), _at(web, face - depth)
    builder.add("large", ruled(top, line, shares))
    bar = face + radius + spread(graded(end - face - radius, cell, f.growth, 1.2 * small), order)
    bar[0], bar[-1] = face + radius, end
    contour, inner = _up(small, bar), _up(last, bar)
    builder.add("small", ruled(contour, inner, shares))
    for ends in (fan[1][1], inner):
        builder.add("small", ruled(_up(0.0, ends[:, 1]), ends, core / last))
    strip = small - depth * shares[::-1]
    builder.curve("cut", _at(np.concatenate([core, under[1:], web[1:]]), 0.0))
    builder.curve("bar_end", _at(np.concatenate([core, strip[1:]]), end))
    arc = np.concatenate([fan[0][0], fan[1][0][1:]])
    builder.curve("fillet", np.concatenate([top[: order + 1][::-1], arc[1:], contour[1 : order + 1]]))
    return builder.build()


def _at(r: Array, z: float) -> Array:
    return np.stack([r, np.full(r.size, z)], -1)


def _up(r: float, z: Array) -> Array:
    return np.stack([np.full(z.size, r), z], -1)


def solve_shaft(
    shaft: SteppedShaft,
    material: Material,
    accuracy: Accuracy,
    fineness: EndFineness | None = None,
    orders: Sequence[int] = ORDERS,
) -> HarmonicSolution:
    """Unit solutions thrust, torsion, bending and shear (the force stands at the small part's end), each by itself."""
    bar, cut = BeamSection(0.0, 0.5 * shaft.small_diameter_mm), BeamSection(0.0, 0.5 * shaft.large_diameter_mm)
    return climb_orders(
        lambda order: shaft_section(shaft, order, fineness),
        lambda section: end_loads(section, material, bar=bar, bar_end_mm=shaft.end_mm, cut=cut),
        [Watch("fillet", cells=ARC)],
        np.eye(4),
        material,
        accuracy,
        orders,
    )
