"""Pulls along x and y and shear on a plate or a plate row: 1 MPa of gross stress each."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...edge import UnitCase
from ...model.material import Material
from ...model.plate import Plate, PlateRow
from ..elasticity import face_load
from ..mesh import Mesh
from .case import CaseLoad

__all__ = ["CASES"]

Array = NDArray[np.float64]


def _pull(mesh: Mesh, face: str, traction: tuple[float, float]) -> Array:
    faces = mesh.faces[face]
    return face_load(mesh.nodes, faces, mesh.orders[:1], np.broadcast_to(np.array(traction), (*faces.shape, 2)))


def tension_x(part: Plate | PlateRow, mesh: Mesh, material: Material) -> CaseLoad:
    """Pull along x: uniform on a plate's ends; in a row the force on the straight cut edges."""
    case = UnitCase("tension_x", "MPa", "gross stress 1 MPa along x")
    if isinstance(part, PlateRow):
        return CaseLoad(case, True, np.zeros_like(mesh.nodes), part.half_y_mm)
    return CaseLoad(case, True, _pull(mesh, "x_max", (1.0, 0.0)))


def tension_y(part: Plate | PlateRow, mesh: Mesh, material: Material) -> CaseLoad:
    """Pull along y, uniform on the plate's sides; a row's cut edges carry no net force."""
    case = UnitCase("tension_y", "MPa", "gross stress 1 MPa along y")
    return CaseLoad(case, True, _pull(mesh, "y_max", (0.0, 1.0)))


def shear(part: Plate | PlateRow, mesh: Mesh, material: Material) -> CaseLoad:
    """Shear on all four edges; on a row's cut edges as a force, the edges staying straight."""
    case = UnitCase("shear", "MPa", "gross shear stress 1 MPa")
    sides = _pull(mesh, "y_max", (1.0, 0.0))
    if isinstance(part, PlateRow):
        return CaseLoad(case, False, sides, part.half_y_mm)
    return CaseLoad(case, False, sides + _pull(mesh, "x_max", (0.0, 1.0)))


CASES = {"tension_x": tension_x, "tension_y": tension_y, "shear": shear}
