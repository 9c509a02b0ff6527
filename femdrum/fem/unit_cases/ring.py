"""Rotation, axial pull, what hangs in the slots, pressure in the bore: loads that meet every slot alike."""

from __future__ import annotations

import math

import numpy as np

from ...edge import UnitCase
from ...model.flank import flank_length_mm
from ...model.material import Material
from ...model.ring import Ring
from ...units import density_t_mm3
from ..elasticity import face_load, volume_load
from ..mesh import Mesh
from .case import Piece, RingCase, everywhere
from .flanks import DOUBT, outward_on_flanks

__all__ = ["CASES"]


def rotation(ring: Ring, mesh: Mesh, material: Material) -> RingCase:
    """Centrifugal body force rho omega^2 r, outward, at omega = 1 rad/s; no net axial force."""
    case = UnitCase("rotation", "(rad/s)²", "steady speed of 1 rad/s, empty slots, zero net axial force")
    outward = mesh.nodes * np.array([1.0, 1.0, 0.0])
    force = density_t_mm3(material.density_kg_m3) * outward
    return RingCase(case, (Piece(volume_load(mesh.nodes, mesh.cells, mesh.orders, force), everywhere(ring)),))


def axial(ring: Ring, mesh: Mesh, material: Material) -> RingCase:
    """Pull along the axis, 1 MPa on the plain shell's section."""
    case = UnitCase("axial", "MPa", "axial force of 1 MPa times the plain shell's section")
    return RingCase(case, section={"axial": math.pi * (ring.outer_radius_mm**2 - ring.inner_radius_mm**2)})


def hung(ring: Ring, mesh: Mesh, material: Material) -> RingCase:
    """1 N a slot, outward along the slot's own radius: on flat leading and trailing flanks as shear through the wall,
    where there are none on the wall of the whole edge, parabolic through the wall; zero at both rims.
    """
    if flank_length_mm(ring, "leading") > 0:
        force = outward_on_flanks(ring, mesh)
        text = "1 N outward on each slot's leading and trailing flanks, zero at both rims and at the flanks' ends"
        return RingCase(UnitCase("hung", "N", text, DOUBT["shear_wall"]), (Piece(force, everywhere(ring)),))
    faces = mesh.faces["edge"]
    nodes = mesh.nodes[faces]
    depth = ring.outer_radius_mm - np.hypot(nodes[..., 0], nodes[..., 1])
    low, high = ring.edge_break_mm, ring.wall_mm - ring.edge_break_mm
    shape = np.maximum((depth - low) * (high - depth), 0.0)
    force = face_load(mesh.nodes, faces, mesh.face_orders("edge"), shape[..., None] * np.array([1.0, 0.0, 0.0]))
    case = UnitCase("hung", "N", "1 N outward on each slot's edge, parabolic through the wall, zero at both rims")
    return RingCase(case, (Piece(0.25 * force / force[:, 0].sum(), everywhere(ring)),))


def internal_pressure(ring: Ring, mesh: Mesh, material: Material) -> RingCase:
    """1 MPa on the bore; no net axial force, and nothing on the slots' walls."""
    case = UnitCase("internal_pressure", "MPa", "pressure of 1 MPa on the bore, zero net axial force, slots open")
    faces = mesh.faces["bore"]
    nodes = mesh.nodes[faces]
    outward = nodes * np.array([1.0, 1.0, 0.0])
    outward /= np.linalg.norm(outward, axis=-1, keepdims=True)
    force = face_load(mesh.nodes, faces, mesh.face_orders("bore"), outward)
    bands = [np.zeros(b.shape) for b in mesh.edge.bands]
    for band in bands[-1:]:
        band[:] = 1.0
    return RingCase(case, (Piece(force, everywhere(ring), tuple(bands)),))


CASES = {"rotation": rotation, "axial": axial, "hung": hung, "internal_pressure": internal_pressure}
