"""Stress on planes through a place of a surface, and what a list of events makes of it.

Stress at a place: (along, across, shear, normal) in the surface's frame; normal is minus the pressure on it. The drum turns:
a state is steady + cos(phi) cosine + sin(phi) sine, so a component runs from a - hypot(b, c) to a + hypot(b, c), exactly.
An event goes between two ends, each a sum of states.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Events", "levels", "normal_weights", "shear_weights", "tilted_weights"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Events:
    """first, second [event, state]: the two ends; per_1000_h [event]; name [event]: the row of the duty."""

    first: Array
    second: Array
    per_1000_h: Array
    name: tuple[str, ...]

    def scaled(self, factor: float) -> Events:
        """All stresses `factor` times as large."""
        return Events(factor * self.first, factor * self.second, self.per_1000_h, self.name)

    def often(self, factor: ArrayLike) -> Events:
        """All, or each event, `factor` times as often."""
        return Events(self.first, self.second, np.asarray(factor) * self.per_1000_h, self.name)


def normal_weights(angle_rad: ArrayLike) -> Array:
    """Stress normal to a plane square to the surface, its normal at `angle` from along the edge: weights [..., 4]."""
    c, s = np.cos(angle_rad), np.sin(angle_rad)
    return np.stack([c * c, s * s, 2 * s * c, np.zeros_like(c)], -1)


def shear_weights(angle_rad: ArrayLike) -> Array:
    """Shear on the same plane, in the surface."""
    c, s = np.cos(angle_rad), np.sin(angle_rad)
    return np.stack([-s * c, s * c, c * c - s * s, np.zeros_like(c)], -1)


def tilted_weights(angle_rad: ArrayLike, tilt_rad: ArrayLike) -> tuple[Array, Array]:
    """Normal stress and shear (in the direction of the tilt) on a plane tilted from there towards the surface."""
    t = np.asarray(tilt_rad, float)[..., None]
    in_plane = normal_weights(angle_rad)
    out = np.zeros_like(in_plane)
    out[..., 3] = 1.0
    return np.cos(t) ** 2 * in_plane + np.sin(t) ** 2 * out, np.sin(t) * np.cos(t) * (out - in_plane)


def levels(states: Array, events: Events, weights: Array) -> tuple[Array, Array]:
    """Largest and smallest value [event, ...] of a component over each event.

    states [state, 3 (steady, cosine, sine), ..., 4]; weights [..., 4], what the component is of the four.
    """
    steady, cosine, sine = np.moveaxis(np.einsum("sk...i,...i->sk...", states, weights), 1, 0)
    ends = []
    for end in (events.first, events.second):
        a, b, c = (np.tensordot(end, part, 1) for part in (steady, cosine, sine))
        swing = np.hypot(b, c)
        ends.append((a + swing, a - swing))
    return np.maximum(ends[0][0], ends[1][0]), np.minimum(ends[0][1], ends[1][1])


# the plane of largest shear lies at 45 degrees, a little less where normal stress counts too
TILTS = tuple(math.radians(angle) for angle in (-50.0, -45.0, -40.0, 40.0, 45.0, 50.0))
