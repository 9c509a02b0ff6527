"""The outline of a cutout as smooth pieces, for the mesh and for the boundary integral alike.

A cutout has two mirror axes, so a quarter says all: from (half_x, 0) counter-clockwise to (0, half_y).
Every piece is parametrised by t in [0, 1]; `angle` is the direction of the outward normal (from the
cutout into the material) in radians from +x, which grows from 0 to pi/2 along the quarter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Arc", "EllipseArc", "Line", "Piece"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """Straight flank from `start` to `end`; the normal points at `normal_angle`."""

    start: tuple[float, float]
    end: tuple[float, float]
    normal_angle: float

    @property
    def length(self) -> float:
        """Length in mm."""
        return math.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])

    def point(self, t: Array) -> Array:
        """Places [..., 2] in mm."""
        t = np.asarray(t, dtype=float)[..., None]
        return np.asarray(self.start) * (1 - t) + np.asarray(self.end) * t

    def angle(self, t: Array) -> Array:
        """Direction of the normal in radians."""
        return np.full(np.shape(t), self.normal_angle)

    def speed(self, t: Array) -> Array:
        """ds/dt in mm."""
        return np.full(np.shape(t), self.length)

    def radius(self, t: Array) -> Array:
        """Radius of curvature in mm (infinite here)."""
        return np.full(np.shape(t), math.inf)


@dataclass(frozen=True)
class Arc:
    """Quarter circle about `centre`; radius 0 is a sharp corner (the normal turns on the spot)."""

    centre: tuple[float, float]
    corner_radius: float

    @property
    def length(self) -> float:
        """Length in mm."""
        return 0.5 * math.pi * self.corner_radius

    def point(self, t: Array) -> Array:
        """Places [..., 2] in mm."""
        a = self.angle(t)
        return np.asarray(self.centre) + self.corner_radius * np.stack([np.cos(a), np.sin(a)], -1)

    def angle(self, t: Array) -> Array:
        """Direction of the normal in radians."""
        return 0.5 * math.pi * np.asarray(t, dtype=float)

    def speed(self, t: Array) -> Array:
        """ds/dt in mm."""
        return np.full(np.shape(t), self.length)

    def radius(self, t: Array) -> Array:
        """Radius of curvature in mm."""
        return np.full(np.shape(t), self.corner_radius)


@dataclass(frozen=True)
class EllipseArc:
    """Quarter of an ellipse with half axes `half_x`, `half_y`; t is the eccentric angle over pi/2."""

    half_x: float
    half_y: float

    @property
    def length(self) -> float:
        """Length in mm."""
        from scipy.special import ellipe

        a, b = max(self.half_x, self.half_y), min(self.half_x, self.half_y)
        return float(a * ellipe(1.0 - (b / a) ** 2))

    def _e(self, t: Array) -> Array:
        return 0.5 * math.pi * np.asarray(t, dtype=float)

    def point(self, t: Array) -> Array:
        """Places [..., 2] in mm."""
        e = self._e(t)
        return np.stack([self.half_x * np.cos(e), self.half_y * np.sin(e)], -1)

    def angle(self, t: Array) -> Array:
        """Direction of the normal in radians."""
        e = self._e(t)
        return np.arctan2(self.half_x * np.sin(e), self.half_y * np.cos(e))

    def speed(self, t: Array) -> Array:
        """ds/dt in mm."""
        e = self._e(t)
        return 0.5 * math.pi * np.hypot(self.half_x * np.sin(e), self.half_y * np.cos(e))

    def radius(self, t: Array) -> Array:
        """Radius of curvature in mm."""
        e = self._e(t)
        return np.asarray(np.hypot(self.half_x * np.sin(e), self.half_y * np.cos(e)) ** 3 / (self.half_x * self.half_y))


Piece = Line | Arc | EllipseArc
