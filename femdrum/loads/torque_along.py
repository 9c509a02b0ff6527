"""How the torque of a jam runs along the drum.

z in mm along the axis; the drum turns about +Z. The jam turns the drum back where it stands; every part pushes on with
its own inertia. The torque in the shell, about +Z on the face looking to +Z, therefore grows with the inertia passed,
negative before the jam, jumps there by the whole torque, and comes back to zero at the other end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..model.check import Checks
from ..model.machine import RotorPart
from .refuse import need

__all__ = ["TorqueAlong", "torque_along"]

Array = NDArray[np.float64]


def _before(part: RotorPart, z: Array, with_place: bool) -> Array:
    """Share of the part that lies before z; with_place counts a part exactly at z."""
    if part.to_mm > part.from_mm:
        return np.clip((z - part.from_mm) / (part.to_mm - part.from_mm), 0.0, 1.0)
    passed = z >= part.from_mm if with_place else z > part.from_mm
    return passed.astype(float)


@dataclass(frozen=True)
class TorqueAlong:
    """Torque in the shell at the places asked, and on either side of the jam, N mm, about +Z on the face to +Z.

    Where it jumps (at the jam, at a disc) the side with the larger magnitude is given.
    """

    z_mm: Array
    torque_Nmm: Array
    before_jam_Nmm: float
    after_jam_Nmm: float

    @property
    def worst_Nmm(self) -> float:
        """The larger of the two sides of the jam, with its sign; no place of a drum without drive has more."""
        return max(self.before_jam_Nmm, self.after_jam_Nmm, key=abs)


def torque_along(
    z_mm: ArrayLike,
    *,
    torque_Nmm: float,
    jam_mm: float,
    inertias: Sequence[RotorPart],
    drive_torque_Nmm: float = 0.0,
    drive_mm: float | None = None,
) -> TorqueAlong:
    """Torque of a jam along the drum, all parts slowing down together (rigid drum).

    torque_Nmm: what the jam holds against the rotation, positive; jam_mm: where. drive_torque_Nmm: what the drive goes
    on pushing with, at drive_mm, at most the jam's. A stop while running backwards has all signs reversed.
    Raises InputFault.
    """
    need(positive={"torque_Nmm": torque_Nmm}, finite={"jam_mm": jam_mm})
    checks = Checks()
    if not inertias:
        checks.add("inertias", [], "must name at least one part", "give the drum's inertia by axial position")
    checks.number("drive_torque_Nmm", drive_torque_Nmm, least=0.0, most=torque_Nmm, way_out="at most the jam's torque")
    if drive_torque_Nmm:
        checks.number("drive_mm", drive_mm, way_out="give the place along the axis where the drive acts")
    checks.done()
    z = np.asarray(z_mm, dtype=float)
    given = [(torque_Nmm, jam_mm)] + ([] if drive_mm is None else [(-drive_torque_Nmm, drive_mm)])
    total = sum(part.inertia_kg_m2 for part in inertias)
    slowing = torque_Nmm - drive_torque_Nmm

    def side(places: Array, beyond: bool) -> Array:
        passed = sum((p.inertia_kg_m2 / total * _before(p, places, beyond) for p in inertias), np.zeros(places.shape))
        out = -slowing * passed
        for value, place in given:
            out = out + value * ((places >= place) if beyond else (places > place))
        return np.asarray(out, dtype=float)

    low, high = side(z, False), side(z, True)
    at_jam = np.array(float(jam_mm))
    return TorqueAlong(
        z, np.where(np.abs(high) >= np.abs(low), high, low), float(side(at_jam, False)), float(side(at_jam, True))
    )
