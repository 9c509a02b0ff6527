"""Slope and curvature of what is sought on planes, as the plane turns: radius of the shear's circle, a normal component.

As long as the same steps carry them (two or three on the circle, one with the largest normal stress) these are smooth
functions of the plane. Components stand in the plane's own frame, in the order 11, 22, 12, 1n, 2n, nn: n is its normal, 1
and 2 are the directions in it. Turning is measured along 1 and 2, in rad.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Terms", "circle_terms", "joined", "normal_terms"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

# three points carry a circle if the sum of the squares of their distances is above this share of the largest square
ACUTE = 2.0 * (1.0 + 1e-12)


@dataclass(frozen=True)
class Terms:
    """Value [case], slope [2, case] per rad, curvature [3, case] per rad²: along 1 and 1, 1 and 2, 2 and 2."""

    value: Array
    slope: Array
    curvature: Array

    def of(self, at: Index) -> Terms:
        """Some of the cases."""
        return Terms(self.value[at], self.slope[:, at], self.curvature[:, at])

    def put(self, at: Index, new: Terms) -> None:
        """Replace some of the cases."""
        self.value[at], self.slope[:, at], self.curvature[:, at] = new.value, new.slope, new.curvature


def _product(a: Array, b: Array) -> Array:
    """Symmetric product of two slopes."""
    return np.stack([a[0] * b[0], 0.5 * (a[0] * b[1] + a[1] * b[0]), a[1] * b[1]])


def joined(amplitude: Terms, most: Terms, value: Array, slopes: tuple[Array, Array, Array]) -> Terms:
    """Of a value that is linear in each of two: slopes by the one, by the other, by both."""
    by_a, by_m, both = slopes
    return Terms(
        value,
        by_a * amplitude.slope + by_m * most.slope,
        by_a * amplitude.curvature + by_m * most.curvature + 2.0 * both * _product(amplitude.slope, most.slope),
    )


def normal_terms(local: Array) -> Terms:
    """Normal component of components [6, case]."""
    s11, s22, s12, s1n, s2n, snn = local
    return Terms(snn, 2.0 * np.stack([s1n, s2n]), 2.0 * np.stack([s11 - snn, s12, s22 - snn]))


def _shear_square(local: Array) -> Terms:
    """Square of the shear that components [6, case] make on the plane: |s n|² - (n s n)²."""
    s11, s22, s12, s1n, s2n, snn = local
    value = s1n * s1n + s2n * s2n
    slope = 2.0 * np.stack([s11 * s1n + s12 * s2n - snn * s1n, s12 * s1n + s22 * s2n - snn * s2n])
    ball = value - snn * snn
    curvature = 2.0 * np.stack(
        [
            s11 * s11 + s12 * s12 - 3.0 * s1n * s1n - 2.0 * snn * s11 - ball,
            s11 * s12 + s12 * s22 - 3.0 * s1n * s2n - 2.0 * snn * s12,
            s12 * s12 + s22 * s22 - 3.0 * s2n * s2n - 2.0 * snn * s22 - ball,
        ]
    )
    return Terms(value, slope, curvature)


def circle_terms(points: Array, pair: Mask) -> Terms:
    """Radius of the smallest circle around three points, or the first two (pair [case]): components [6, 3, case]."""
    case = points.shape[2]
    result = Terms(np.zeros(case), np.zeros((2, case)), np.zeros((3, case)))
    at = np.flatnonzero(pair)
    if len(at):
        result.put(at, _half_side(_shear_square(points[:, 0, at] - points[:, 1, at])))
    at = np.flatnonzero(~pair)
    if len(at):
        a, b, c = (points[:, k, at] for k in range(3))
        sides = [_shear_square(a - b), _shear_square(b - c), _shear_square(c - a)]
        square = np.stack([s.value for s in sides])
        longest = square.argmax(axis=0)
        acute = square.sum(axis=0) > ACUTE * square.max(axis=0)
        good, blunt = np.flatnonzero(acute), np.flatnonzero(~acute)
        result.put(at[good], _circumradius([s.of(good) for s in sides]))
        # a blunt angle, or three in line: the longest side carries the circle
        for k, side in enumerate(sides):
            here = blunt[longest[blunt] == k]
            result.put(at[here], _half_side(side.of(here)))
    return result


def _half_side(square: Terms) -> Terms:
    """Half a distance from its square; without a distance there is no slope."""
    some = square.value > 0.0
    value = np.where(some, square.value, 1.0)
    root = np.where(some, 0.25 / np.sqrt(value), 0.0)
    bend = square.curvature - 0.5 / value * _product(square.slope, square.slope)
    return Terms(2.0 * root * square.value, root * square.slope, root * bend)


def _circumradius(sides: list[Terms]) -> Terms:
    """Circumradius of triangles by the squares of their sides: R² = a b c / D, D = 2 (ab + bc + ca) - a² - b² - c²."""
    a = np.stack([s.value for s in sides])
    total = a.sum(axis=0)
    d = total * total - 2.0 * (a * a).sum(axis=0)
    d_a = 2.0 * total - 4.0 * a
    # log R² = log a + log b + log c - log D: its slope and curvature by the plane
    slope, curvature = np.zeros_like(sides[0].slope), np.zeros_like(sides[0].curvature)
    for k, s in enumerate(sides):
        by = 1.0 / a[k] - d_a[k] / d
        slope += by * s.slope
        curvature += by * s.curvature - _product(s.slope, s.slope) / a[k] ** 2
        for j, t in enumerate(sides):
            d_ab = 2.0 if j != k else -2.0
            curvature += (d_a[k] * d_a[j] / d**2 - d_ab / d) * _product(s.slope, t.slope)
    radius = np.sqrt(a[0] / d * a[1] * a[2])
    return Terms(radius, 0.5 * radius * slope, radius * (0.5 * curvature + 0.25 * _product(slope, slope)))
