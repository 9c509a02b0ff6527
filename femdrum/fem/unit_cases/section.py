"""What a section of the whole shell carries: bending, transverse force, torsion. 1 N mm or 1 N each."""

from __future__ import annotations

from ...edge import UnitCase
from ...model.material import Material
from ...model.ring import Ring
from ..mesh import Mesh
from .case import RingCase

__all__ = ["CASES"]

# errors of order 4 under bending were 0.3 to 0.6 % on rings that are not among those of the bands, all but the least band there
DOUBT = 1.2


def bending_x(ring: Ring, mesh: Mesh, material: Material) -> RingCase:
    """Constant moment with tension at +X, where the first slot stands."""
    text = "constant bending moment of 1 N mm, tension at the first slot's side of the drum"
    return RingCase(UnitCase("bending_x", "N mm", text, DOUBT), section={"bending_x": 1.0})


def bending_y(ring: Ring, mesh: Mesh, material: Material) -> RingCase:
    """Constant moment with tension at +Y, 90 degrees on in the sense of rotation."""
    text = "constant bending moment of 1 N mm, tension 90 degrees from the first slot in the sense of rotation"
    return RingCase(UnitCase("bending_y", "N mm", text, DOUBT), section={"bending_y": 1.0})


def torsion(ring: Ring, mesh: Mesh, material: Material) -> RingCase:
    """Torque about +Z on the face that looks to +Z."""
    return RingCase(UnitCase("torsion", "N mm", "torque of 1 N mm along the shell"), section={"torsion": 1.0})


def transverse_x(ring: Ring, mesh: Mesh, material: Material) -> RingCase:
    """Force along +X on the face that looks to +Z; the moment V z is zero at mid-row."""
    text = "transverse force of 1 N along the first slot's radius, bending moment zero at mid-row"
    return RingCase(UnitCase("transverse_x", "N", text), transverse=(1.0, 0.0))


def transverse_y(ring: Ring, mesh: Mesh, material: Material) -> RingCase:
    """Force along +Y on the face that looks to +Z; the moment V z is zero at mid-row."""
    text = "transverse force of 1 N square to the first slot's radius, bending moment zero at mid-row"
    return RingCase(UnitCase("transverse_y", "N", text), transverse=(0.0, 1.0))


CASES = {f.__name__: f for f in (bending_x, bending_y, torsion, transverse_x, transverse_y)}
