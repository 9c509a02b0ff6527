"""Sections of bodies in contact as ruled blocks: cells small where they are asked to be, flanks with rounded ends, crowns, rounds."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from .divide import graded
from .harmonic_section import Section, SectionBuilder, ruled, spread

__all__ = ["Spot", "between", "crown", "divide", "round_block", "rounded_side", "strip"]

Array = NDArray[np.float64]

# sine of the part of a rounded end that is drawn as an arc
ARC = math.sqrt(0.5)
SAMPLES = 500


@dataclass(frozen=True)
class Spot:
    """A place on a line around which cells are small: of `size` up to `reach`, from there on they grow with the distance; from `far` on
    by `below` towards smaller places and by `above` towards larger ones (None: as everywhere).
    """

    place: float
    size: float
    reach: float = 0.0
    far: float = 0.0
    below: float | None = None
    above: float | None = None

    def sizes(self, x: Array, slope: float) -> Array:
        """Of cells at places x, as far as this spot asks."""
        away = np.abs(x - self.place)
        near = np.clip(away - self.reach, 0.0, max(self.far - self.reach, 0.0))
        beyond = np.maximum(away - max(self.far, self.reach), 0.0)
        below, above = (slope if own is None else own for own in (self.below, self.above))
        return np.asarray(self.size + slope * near + np.where(x < self.place, below, above) * beyond)


def divide(stops: Iterable[float], spots: Sequence[Spot], slope: float = 0.4, most: float = math.inf) -> Array:
    """Ends of cells on a line, among them all stops; sizes grow with `slope` times the distance from the spots."""
    at = np.unique(np.asarray(list(stops), float))
    out = [at[:1]]
    for low, high in pairwise(at):
        x = _samples(low, high, spots)
        size = np.full_like(x, min(most, high - low))
        for spot in spots:
            size = np.minimum(size, spot.sizes(x, slope))
        # each cell takes 1 of the integral of 1 / size
        counted = np.concatenate([[0.0], np.cumsum(0.5 * (1 / size[1:] + 1 / size[:-1]) * np.diff(x))])
        cells = max(1, math.ceil(counted[-1] - 1e-6))
        out.append(np.interp(np.arange(1, cells) * (counted[-1] / cells), counted, x))
        out.append(np.array([high]))
    return np.concatenate(out)


def _samples(low: float, high: float, spots: Sequence[Spot]) -> Array:
    """Places at which the sizes are summed up, dense about the spots."""
    near = [np.linspace(low, high, SAMPLES)]
    for spot in spots:
        reach = max(high - low, abs(spot.place - low), abs(spot.place - high))
        away = np.geomspace(0.02 * min(spot.size, reach), reach, SAMPLES)
        near += [spot.place - away - spot.reach, spot.place + away + spot.reach]
        near.append(spot.place + np.linspace(-spot.reach, spot.reach, 3))
    x = np.unique(np.concatenate(near))
    return np.asarray(np.concatenate([[low], x[(x > low) & (x < high)], [high]]))


def rounded_side(y: Array, low: float, high: float, radius: float) -> tuple[Array, Array]:
    """How far a flank from `low` to `high` with rounded ends stands back at heights y, and the far heights that belong to y.

    y runs between the ends of the drawn arcs, which are their first 45 degrees: `arc_ends`. The far heights run from low to high.
    """
    if radius == 0:
        return np.zeros_like(y), y
    into = np.maximum(np.maximum(low + radius - y, y - (high - radius)), 0.0)
    back = radius - np.sqrt(radius**2 - into**2)
    first, last = arc_ends(low, high, radius)
    return back, low + (y - first) * ((high - low) / (last - first))


def arc_ends(low: float, high: float, radius: float) -> tuple[float, float]:
    """Heights at which the drawn arcs end."""
    return low + radius * (1 - ARC), high - radius * (1 - ARC)


def strip(first: Array, last: Array, shares: Array, order: int, names: tuple[str, str, str, str]) -> Section:
    """A block between two lines of nodes [m, 2], on rays with cells that end at `shares`; names of the first line, the last,
    the ray from the first line's start, and that from its end.
    """
    grid = ruled(first, last, spread(shares, order))
    builder = SectionBuilder(order)
    builder.add("block", grid)
    for name, line in zip(names, (grid[:, 0], grid[:, -1], grid[0], grid[-1]), strict=True):
        builder.curve(name, line)
    return builder.build()


def between(length: float, first: float, last: float, slope: float = 0.4) -> Array:
    """Shares of a ray of a given length at which cells end, small at both ends."""
    return divide((0.0, length), (Spot(0.0, first), Spot(length, last)), slope) / length


def crown(
    *, radius_mm: float, half_length_mm: float, depth_mm: float, ends: Array, first_mm: float, order: int, up: bool
) -> Section:
    """A body with a face of a given radius (math.inf: flat) that touches y = 0 at x = 0, up or below it, cut off flat at depth_mm.

    ends: of the cells along x, from -half_length_mm to half_length_mm. Curves: face, back, left, right.
    """
    assert abs(ends[-1] - half_length_mm) < 1e-9 * half_length_mm
    x, sign = spread(ends, order), 1.0 if up else -1.0
    sag = np.zeros_like(x) if math.isinf(radius_mm) else radius_mm - np.sqrt(radius_mm**2 - x**2)
    face = np.stack([x, sign * sag], -1)
    back = np.stack([x, np.full_like(x, sign * depth_mm)], -1)
    shares = graded(1.0, first_mm / depth_mm, 1.5)
    return strip(face, back, shares, order, ("face", "back", "left", "right"))


def round_block(
    *, radius_mm: float, other_mm: float, centre_mm: tuple[float, float], angles_rad: Array, shares: Array, order: int
) -> Section:
    """Half a round body (x >= 0) about a centre: from radius_mm, the face, to other_mm; angles from straight down, 0 to pi or less.

    Curves: face, back, below (on the plane of symmetry x = 0), above (at the last angle; of pi on that plane too).
    """
    angle = spread(angles_rad, order)
    way = np.stack([np.sin(angle), -np.cos(angle)], -1)
    # exact where cos of a right angle would leave 1e-17
    way[0], way[-1] = (0.0, -1.0), np.round(way[-1], 15)
    centre = np.asarray(centre_mm, float)
    return strip(centre + radius_mm * way, centre + other_mm * way, shares, order, ("face", "back", "below", "above"))
