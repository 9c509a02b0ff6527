"""Rotation, axial pull and what hangs in the slots, on a ring's quarter cell."""

from __future__ import annotations

import math

import numpy as np

from ...edge import UnitCase
from ...model.material import Material
from ...model.ring import Ring
from ...units import density_t_mm3
from ..elasticity import face_load, volume_load
from ..mesh import Mesh
from .case import CaseLoad

__all__ = ["CASES"]


def rotation(ring: Ring, mesh: Mesh, material: Material) -> CaseLoad:
    """Centrifugal body force rho omega^2 r, outward, at omega = 1 rad/s; no net axial force."""
    case = UnitCase("rotation", "(rad/s)²", "steady speed of 1 rad/s, empty slots, zero net axial force")
    outward = mesh.nodes * np.array([1.0, 1.0, 0.0])
    force = density_t_mm3(material.density_kg_m3) * outward
    return CaseLoad(case, True, volume_load(mesh.nodes, mesh.cells, mesh.order, force))


def axial(ring: Ring, mesh: Mesh, material: Material) -> CaseLoad:
    """Pull along the axis, 1 MPa on the plain shell's section."""
    case = UnitCase("axial", "MPa", "axial force of 1 MPa times the plain shell's section")
    section = 0.5 * math.pi / ring.slots_around * (ring.outer_radius_mm**2 - ring.inner_radius_mm**2)
    return CaseLoad(case, True, np.zeros_like(mesh.nodes), section)


def hung(ring: Ring, mesh: Mesh, material: Material) -> CaseLoad:
    """1 N a slot, outward along the slot's own radius, on the wall of its whole edge, parabolic through the wall."""
    case = UnitCase("hung", "N", "1 N outward on each slot's edge, parabolic through the wall, zero at both rims")
    faces = mesh.faces["edge"]
    nodes = mesh.nodes[faces]
    depth = ring.outer_radius_mm - np.hypot(nodes[..., 0], nodes[..., 1])
    low, high = ring.edge_break_mm, ring.wall_mm - ring.edge_break_mm
    shape = np.maximum((depth - low) * (high - depth), 0.0)
    traction = shape[..., None] * np.array([1.0, 0.0, 0.0])
    force = face_load(mesh.nodes, faces, mesh.order, traction)
    return CaseLoad(case, True, 0.25 * force / force[:, 0].sum())


CASES = {"rotation": rotation, "axial": axial, "hung": hung}
