"""Pressure and traction on named faces of a mesh from a file: 1 MPa each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ...edge import UnitCase
from ...model.mesh_part import DIRECTIONS
from .case import CaseLoad

if TYPE_CHECKING:
    from ..file_mesh import FileMesh

__all__ = ["FaceCase", "face_case", "face_load", "pressure_name", "traction_name"]

Array = NDArray[np.float64]


def pressure_name(face: str) -> str:
    """Name of the unit case of a pressure on a face."""
    return f"face_pressure:{face}"


def traction_name(face: str, direction: str) -> str:
    """Name of the unit case of a traction along x, y or z on a face."""
    return f"face_traction_{direction}:{face}"


@dataclass(frozen=True)
class FaceCase:
    """A unit case on a face: its pressure (pushes where positive) and its traction [3], MPa."""

    case: UnitCase
    face: str
    pressure: float
    traction: Array

    def along(self, normals: Array) -> Array:
        """Traction [..., dim] where the outward normal is `normals` [..., dim]."""
        return self.traction[: normals.shape[-1]] - self.pressure * normals


def face_case(name: str) -> FaceCase:
    """The unit case with this name."""
    kind, face = name.split(":", 1)
    if kind == "face_pressure":
        return FaceCase(UnitCase(name, "MPa", f"pressure of 1 MPa on face {face!r}"), face, 1.0, np.zeros(3))
    direction = kind[-1]
    text = f"traction of 1 MPa along {direction} on face {face!r}"
    return FaceCase(UnitCase(name, "MPa", text), face, 0.0, np.eye(3)[DIRECTIONS.index(direction)])


def face_load(mesh: FileMesh, name: str) -> CaseLoad:
    """Nodal forces of a unit case; in the plane per mm of thickness."""
    case, kind = face_case(name), mesh.skin.kind
    sides = mesh.skin.cells[mesh.faces[case.face]]
    at, weights = kind.quadrature()
    values, slopes = kind.shapes(at)
    tangents = np.einsum("qnr,fnd->fqdr", slopes, mesh.nodes[sides], optimize=True)
    if mesh.dim == 3:
        area = np.cross(tangents[..., 0], tangents[..., 1])
    else:
        area = np.stack([tangents[..., 1, 0], -tangents[..., 0, 0]], -1)
    size = np.linalg.norm(area, axis=-1, keepdims=True)
    push = case.along(area / size) * size
    element = np.einsum("q,qn,fqd->fnd", weights, values, push, optimize=True)
    force = np.zeros_like(mesh.nodes)
    np.add.at(force, sides, element)
    return CaseLoad(case.case, True, force)
