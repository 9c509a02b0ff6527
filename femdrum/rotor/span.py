"""A rotor as a beam on two bearings: reactions, shear, bending moment and torque along it, by statics, exactly.

z in mm from the drive bearing (0) to the free bearing (span) and beyond both. Forces across the axis are complex: real part
along direction 0, imaginary part a quarter turn on in the sense of rotation; so a force and its moment keep their direction.
A moment is positive where it pulls the side that its direction points to; shear is the force on the face that looks to +z;
torque is about +Z on that face. These are the conventions of the loads on a single ring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["SpanForces", "SpanTorques", "spread_before"]

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]


def spread_before(z_mm: ArrayLike, from_mm: Array, to_mm: Array, beyond: bool = False) -> Array:
    """Share of evenly spread things that lies before places z [z, n]; a thing at one place counts there if `beyond`."""
    z = np.asarray(z_mm, dtype=float)[..., None]
    length = to_mm - from_mm
    spread = np.clip((z - from_mm) / np.where(length > 0, length, 1.0), 0.0, 1.0)
    at_once = z >= from_mm if beyond else z > from_mm
    return np.asarray(np.where(length > 0, spread, at_once.astype(float)))


@dataclass(frozen=True)
class SpanForces:
    """Forces across the axis, N, complex [n], each spread evenly from from_mm to to_mm (equal: at one place)."""

    force_N: Complex
    from_mm: Array
    to_mm: Array
    span_mm: float

    @property
    def reactions_N(self) -> tuple[complex, complex]:
        """What the drive bearing and the free bearing put on the rotor."""
        far = -np.sum(self.force_N * 0.5 * (self.from_mm + self.to_mm)) / self.span_mm
        return complex(-np.sum(self.force_N) - far), complex(far)

    def shear_N(self, z_mm: ArrayLike, beyond: bool = False) -> Complex:
        """Shear at places; just before a force that stands there, or just beyond it."""
        z = np.asarray(z_mm, dtype=float)
        near, far = self.reactions_N
        ends = np.array([0.0, self.span_mm])
        held = spread_before(z, ends, ends, beyond) @ np.array([near, far])
        return np.asarray(-(spread_before(z, self.from_mm, self.to_mm, beyond) @ self.force_N) - held)

    def moment_Nmm(self, z_mm: ArrayLike) -> Complex:
        """Bending moment at places."""
        z = np.asarray(z_mm, dtype=float)[..., None]
        length = self.to_mm - self.from_mm
        past_from, past_to = np.maximum(z - self.from_mm, 0.0), np.maximum(z - self.to_mm, 0.0)
        spread = (past_from**2 - past_to**2) / (2 * np.where(length > 0, length, 1.0))
        lever = np.where(length > 0, spread, past_from)
        near, far = self.reactions_N
        held = near * np.maximum(z[..., 0], 0.0) + far * np.maximum(z[..., 0] - self.span_mm, 0.0)
        return np.asarray(-(lever @ self.force_N) - held)

    def plus(self, other: SpanForces) -> SpanForces:
        """Both together."""
        return SpanForces(
            np.concatenate([self.force_N, other.force_N]), np.concatenate([self.from_mm, other.from_mm]),
            np.concatenate([self.to_mm, other.to_mm]), self.span_mm,
        )  # fmt: skip


@dataclass(frozen=True)
class SpanTorques:
    """Torques about +Z on the rotor, N mm [n], each spread evenly from from_mm to to_mm. They must add up to nothing."""

    torque_Nmm: Array
    from_mm: Array
    to_mm: Array

    def inside_Nmm(self, z_mm: ArrayLike, beyond: bool = False) -> Array:
        """Torque in the shaft at places: what acts beyond them."""
        before = spread_before(z_mm, self.from_mm, self.to_mm, beyond)
        return np.asarray((1 - before) @ self.torque_Nmm)
