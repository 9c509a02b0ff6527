"""Loads on the slots' flanks: patches of pressure and shear, the wedge's clamp, a pull on opposed slots."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...edge import UnitCase
from ...errors import Fault, InputFault
from ...model.flank import Patch, default_patch
from ...model.material import Material
from ...model.ring import Ring
from ..elasticity import face_load_at
from ..mesh import Mesh
from .case import Piece, RingCase, everywhere, on_slots

__all__ = ["DOUBT", "clamp", "flank", "outward_on_flanks", "strut"]

Array = NDArray[np.float64]

# The load's fall at its ends is short against the cells, so the last step of order says less there: found on random
# rings, orders 3 to 6, as what keeps the error of order 4 and 5 inside the band.
DOUBT = {"pressure": 1.25, "shear_wall": 1.5, "shear_edge": 2.0}

WORDS = {
    "pressure": "pressure", "shear_wall": "shear through the wall, outward", "shear_edge": "shear along the flank",
}  # fmt: skip


def flank(ring: Ring, mesh: Mesh, material: Material, name: str) -> RingCase:
    """1 MPa on a flank, by the name of its patch."""
    patch = Patch.from_name(name)
    slots = tuple(range(ring.slots_around)) if patch.slot is None else (patch.slot,)
    if max(slots) >= ring.slots_around:
        raise InputFault([Fault("slot", patch.slot, f"must be below slots_around = {ring.slots_around}")])
    ahead = patch.flank in ("leading", "trailing")
    force, pressure = _patch(ring, mesh, patch, ahead)
    along = patch.traction == "shear_edge"
    # a shear along the flank points the same way on the drum in both mirrored copies
    if ahead:
        sides = (1.0, 0.0) if patch.flank == "leading" else (0.0, 1.0)
        weight = on_slots(ring, slots, sides, (1.0, -1.0) if along else (1.0, 1.0))
    else:
        halves = (1.0, 0.0) if patch.flank == "free_end" else (0.0, 1.0)
        weight = on_slots(ring, slots, (1.0, -1.0) if along else (1.0, 1.0), halves)
    where = "every slot's" if patch.slot is None else f"slot {patch.slot}'s"
    text = (
        f"{WORDS[patch.traction]} of 1 MPa on {where} {patch.flank.replace('_', ' ')} flank, {patch.profile} through the "
        f"wall, over {patch.extent_mm:g} mm with {patch.taper_mm:g} mm taper at each end"
    )
    case = UnitCase(name, "MPa", text, DOUBT[patch.traction])
    return RingCase(case, (Piece(force, weight, pressure),), every_row=patch.slot is None)


def clamp(ring: Ring, mesh: Mesh, material: Material, name: str) -> RingCase:
    """1 N on the leading and on the trailing flank of every slot, or of one: what a driven wedge does."""
    slot = _slot(ring, name)
    patch = default_patch(ring, slot, "leading", "pressure")
    force, pressure = _patch(ring, mesh, patch, True)
    scale = 0.5 / force[:, 1].sum()  # the quarter cell holds half of a flank
    pressure = None if pressure is None else tuple(scale * p for p in pressure)
    which = "every slot" if slot is None else f"slot {slot}"
    case = UnitCase(
        name, "N", f"1 N pushing on each of the leading and the trailing flank of {which}", DOUBT["pressure"]
    )
    weight = everywhere(ring) if slot is None else on_slots(ring, (slot,))
    return RingCase(case, (Piece(scale * force, weight, pressure),), every_row=slot is None)


def strut(ring: Ring, mesh: Mesh, material: Material, name: str) -> RingCase:
    """1 N outward on a slot and on the one opposite, as shear through the wall on leading and trailing flanks."""
    slot = _slot(ring, name)
    if ring.slots_around % 2:
        text = f"needs an even slots_around, this ring has {ring.slots_around}"
        raise InputFault([Fault("slots_around", ring.slots_around, text, "no slot stands opposite")])
    half = ring.slots_around // 2
    slots = tuple(range(ring.slots_around)) if slot is None else (slot % half, slot % half + half)
    which = "every slot" if slot is None else f"slots {slots[0]} and {slots[1]}"
    text = f"1 N outward on {which}, on leading and trailing flanks, zero at rims and patch ends"
    case = UnitCase(name, "N", text, DOUBT["shear_wall"])
    every = len(slots) == ring.slots_around
    weight = everywhere(ring) if every else on_slots(ring, slots)
    return RingCase(case, (Piece(outward_on_flanks(ring, mesh), weight),), every_row=every)


def outward_on_flanks(ring: Ring, mesh: Mesh) -> Array:
    """Nodal forces of 1 N a slot, outward, as shear through the wall on leading and trailing flanks; a quarter of it."""
    force, _ = _patch(ring, mesh, default_patch(ring, 0, "leading", "shear_wall"), True)
    return np.asarray(0.25 * force / force[:, 0].sum())


def _slot(ring: Ring, name: str) -> int | None:
    which = name.partition(":")[2]
    if which in ("", "all"):
        return None
    if int(which) >= ring.slots_around:
        raise InputFault([Fault("slot", int(which), f"must be below slots_around = {ring.slots_around}")])
    return int(which)


def _patch(ring: Ring, mesh: Mesh, patch: Patch, ahead: bool) -> tuple[Array, tuple[Array, ...] | None]:
    """Nodal forces of 1 MPa on the quarter cell's share of a flank, and the pressure at the edge grid's nodes."""
    faces = mesh.faces["edge"]
    nodes = mesh.nodes[faces]
    flat = _on_flank(ring, nodes, ahead).all(1)
    direction = np.array(
        {
            "pressure": (0.0, 1.0, 0.0) if ahead else (0.0, 0.0, 1.0),  # into the wall beside the flank
            "shear_wall": (1.0, 0.0, 0.0),
            "shear_edge": (0.0, 0.0, 1.0) if ahead else (0.0, 1.0, 0.0),
        }[patch.traction]
    )
    force = face_load_at(
        mesh.nodes,
        faces[flat],
        mesh.face_orders("edge"),
        lambda places: _shape(ring, patch, places, ahead)[..., None] * direction,
    )
    if patch.traction != "pressure":
        return force, None
    bands = []
    for i, band in enumerate(mesh.edge.bands):
        value = np.zeros(band.shape)
        if i == 1:  # the wall itself, not the surfaces beside it
            places = mesh.nodes[band]
            value = np.where(_on_flank(ring, places, ahead), _shape(ring, patch, places, ahead), 0.0)
        bands.append(value)
    return force, tuple(bands)


def _on_flank(ring: Ring, nodes: Array, ahead: bool) -> NDArray[np.bool_]:
    offset = nodes[..., 1] - ring.cutout.half_x_mm if ahead else nodes[..., 2] - ring.cutout.half_y_mm
    return np.abs(offset) < 1e-6 * ring.cutout.half_x_mm


def _shape(ring: Ring, patch: Patch, nodes: Array, ahead: bool) -> Array:
    """Share of the full load at places on the flank."""
    along = nodes[..., 2] if ahead else nodes[..., 1]
    side = nodes[..., 1]
    outer = np.sqrt((ring.outer_radius_mm - ring.edge_break_mm) ** 2 - side**2)
    inner = np.sqrt((ring.inner_radius_mm + ring.edge_break_mm) ** 2 - side**2)
    share = np.clip((2 * nodes[..., 0] - outer - inner) / (outer - inner), -1.0, 1.0)
    return patch.along(along) * patch.through(share)
