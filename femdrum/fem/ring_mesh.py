"""The ring's quarter cell as a solid: the plane mesh of the unrolled shell bent around the drum.

Near the slot the angle is asin(x / radius), x the tangential offset, so that the flanks stay flat and
parallel; at the cell's borders it is constant; between, the mesh blends. Z is the drum's axis, the slot at +X.
An edge break slopes the outer surface and the bore down to the wall over its width.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ..model.ring import Ring
from .cell import Cell, Fineness, quarter_cell
from .copies import half_turn_partners
from .divide import graded_both
from .mesh import EdgeGrid, Mesh
from .one_layer import one_layer
from .plate_mesh import plane_faces
from .reference import lobatto
from .supports import Supports, cylindrical

__all__ = ["ring_mesh", "ring_supports", "ring_unknowns"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# a cell that spans more than this around the drum does not carry its curve
MOST_ANGLE = math.radians(60.0)

# of three layers the outer ones are this many corner radii thick, but not more than this share of the wall, nor than
# this many edge breaks
RIM_RADII, RIM_MOST, RIM_BREAKS = 1.5, 0.25, 2.0

# cells beside the rim whose outer surface and bore are searched for the peak
NEAR_CELLS = 2


@lru_cache(maxsize=4)  # its size is asked for before it is solved
def ring_cell(ring: Ring, fineness: Fineness) -> Cell:
    """The plane mesh of the ring's quarter cell, unrolled at mid-wall radius."""
    spacing = math.pi / ring.slots_around
    widest = math.asin(ring.cutout.half_x_mm / ring.inner_radius_mm)  # the flanks' angle at the bore
    # equal distance from a flat flank must stay inside the cell, and inside the bore's radius
    free = math.sin(min(widest + 0.45 * (spacing - widest), 0.45 * math.pi)) * ring.inner_radius_mm
    most_hug = max(free - ring.cutout.half_x_mm, 1.5 * ring.edge_break_mm)
    if most_hug <= 0:
        most_hug = 0.3 * (ring.inner_radius_mm - ring.cutout.half_x_mm)
    # a helix joins fine places of one row to plain ones of the next, so cells there are as short as the ligament
    gap = 0.5 * ring.pitch_mm - ring.cutout.half_y_mm
    widest_cell = MOST_ANGLE * ring.mid_radius_mm
    most_column = max(gap, 0.35 * ring.cutout.half_y_mm) if ring.rows == "helical" else math.inf
    return quarter_cell(
        ring.cutout,
        spacing * ring.mid_radius_mm,
        0.5 * ring.pitch_mm,
        fineness,
        mirrored_top=ring.rows == "alternate",
        break_mm=ring.edge_break_mm,
        reach_x=ring.mid_radius_mm * widest,
        most_hug=most_hug,
        most_column=min(most_column, widest_cell),
        most_near=widest_cell,
    )


def wall_ends(ring: Ring, cells: int) -> Array:
    """Shares of the wall at which layers end.

    They are thinner at both surfaces, where the stress bends within a radius: 3 are a thin one at each surface and one
    between; more are `cells` where the corner radius is not small against the wall, more where it is.
    """
    if cells == 3:
        rim = min(RIM_RADII * (ring.cutout.least_radius_mm or ring.wall_mm) / ring.wall_mm, RIM_MOST)
        if ring.edge_break_mm:
            rim = min(rim, RIM_BREAKS * ring.edge_break_mm / ring.wall_mm)
        return np.array([0.0, rim, 1.0 - rim, 1.0])
    even = ring.wall_mm / (2 * cells - 2)
    radius = ring.cutout.least_radius_mm or even  # a sharp corner has no scale of its own
    first = min(even, 4.8 * radius / cells)
    if first == even:
        sizes = np.full(cells, 2.0)
        sizes[[0, -1]] = 1.0
        ends = np.concatenate([[0.0], np.cumsum(sizes)])
    else:
        ends = graded_both(ring.wall_mm, first, 2.5)
    return np.asarray(ends / ends[-1])


def ring_mesh(ring: Ring, fineness: Fineness) -> Mesh:
    """Hexahedra of the quarter cell; faces edge, outer, bore, x_min, x_max (around), y_min, y_max (along)."""
    cell = ring_cell(ring, fineness)
    p, q = fineness.orders[1:]
    local = 0.5 * (lobatto(q) + 1)
    ends = wall_ends(ring, fineness.wall_cells)
    share = np.append((ends[:-1, None] + np.diff(ends)[:, None] * local[:-1]).ravel(), 1.0)
    lost = np.maximum(ring.edge_break_mm - cell.offset, 0.0)[:, None]
    depth = lost + share * (ring.wall_mm - 2 * lost)
    radius = ring.outer_radius_mm - depth
    flat = np.arcsin(np.clip(cell.hug[:, None] / radius, -1.0, 1.0))
    angle = (1 - cell.mix[:, None]) * flat + cell.mix[:, None] * (cell.lay[:, None] / ring.mid_radius_mm)
    y = np.broadcast_to(cell.y[:, None], angle.shape)
    nodes = np.stack([radius * np.cos(angle), radius * np.sin(angle), y], -1).reshape(-1, 3)
    layers = share.size
    k = (np.arange(ends.size - 1) * q)[:, None] + np.arange(q + 1)
    cells = cell.cells[:, None, :, :, None] * layers + k[None, :, None, None, :]
    faces = {
        name: (side[:, None, :, None] * layers + k[None, :, None, :]).reshape(-1, (p + 1) * (q + 1))
        for name, side in plane_faces(cell).items()
    }
    plane = cell.cells.reshape(len(cell.cells), -1)
    faces["outer"], faces["bore"] = plane * layers, plane * layers + layers - 1
    place = np.stack([angle * ring.mid_radius_mm, y, depth], -1)
    edge = _edge_grid(cell, layers, place, p)
    one = None
    far = _far(ring, cell, fineness)
    if far.any():
        line = np.unique(cell.cells[far])[:, None] * layers + np.arange(layers)
        one = one_layer(far, line, share, q)
    return Mesh(fineness.orders, nodes, cells.reshape(-1, (p + 1) ** 2 * (q + 1)), faces, edge, ends.size - 1, one)


def _far(ring: Ring, cell: Cell, fineness: Fineness) -> NDArray[np.bool_]:
    """Plane cells that one layer is enough for. Where a helix joins rows, places of both sides meet between nodes."""
    if ring.rows == "helical" or math.isinf(fineness.far):
        return np.zeros(len(cell.cells), dtype=bool)
    far: NDArray[np.bool_] = cell.distance >= fineness.far * ring.wall_mm
    if ring.rows == "alternate":  # the half-turn carries places on the far face to one another, so they must be alike
        top = np.abs(cell.y - 0.5 * ring.pitch_mm) <= 1e-9 * ring.pitch_mm
        there = top[cell.cells].sum((1, 2)) > 1
        if not far[there].all():
            far &= ~there
    return far


def _edge_grid(cell: Cell, layers: int, place: Array, p: int) -> EdgeGrid:
    near = cell.edge_rows[:, : min(NEAR_CELLS * p + 1, cell.edge_rows.shape[1])]
    wall = cell.edge_rows[:, :1]
    offset = cell.offset[near[0]]
    bands = (near[:, ::-1] * layers, wall * layers + np.arange(layers), near * layers + layers - 1)
    flat = place.reshape(-1, 3)
    places = tuple(flat[b] for b in bands)
    depth = tuple(pl[0, :, 2] for pl in places)
    rays = cell.ray_rows[..., None] * layers + np.arange(layers)
    return EdgeGrid(cell.edge.s_mm, bands, depth, (offset[::-1], np.zeros(layers), offset), places, rays)


def ring_supports(ring: Ring, mesh: Mesh) -> Supports:
    """Mirror planes around and along; the last face moves as a whole along the axis and carries the axial force.

    Alternate rows: the cell's far face is tied to itself by the half-turn that carries one row to the next.
    """
    supports = Supports(len(mesh.nodes), 3)
    supports.fix(mesh.face_nodes("x_min"), 1)
    supports.fix(mesh.face_nodes("y_min"), 2)
    spacing = math.pi / ring.slots_around
    side, top = mesh.face_nodes("x_max"), mesh.face_nodes("y_max")
    supports.turn(side, cylindrical(np.full(side.size, spacing)))
    supports.fix(side, 1)
    if ring.rows == "aligned":
        supports.fix(top, 2)
    else:
        angle = np.arctan2(mesh.nodes[top, 1], mesh.nodes[top, 0])
        supports.turn(top, cylindrical(angle))
        partner = half_turn_partners(ring, mesh)[top]
        follows = angle > 0.5 * spacing
        middle = partner == top
        supports.tie(top[follows & ~middle], partner[follows & ~middle], np.array([1.0, -1.0, -1.0]))
        supports.fix(top[middle], 1)
        supports.fix(top[middle], 2)
    supports.move(top, 2)
    return supports


def ring_unknowns(ring: Ring, fineness: Fineness) -> int:
    """Unknowns that the solver will see, about, without building the solid."""
    cell = ring_cell(ring, fineness)
    wall = (wall_ends(ring, fineness.wall_cells).size - 1) * fineness.orders[2] + 1
    sides = np.zeros(cell.y.size, dtype=bool)
    for side in (cell.cells[:, 0], cell.cells[:, -1], cell.cells[:, :, 0], cell.cells[:, :, -1]):
        sides[side] = True
    tied = np.zeros(cell.y.size, dtype=bool)
    tied[cell.cells[_far(ring, cell, fineness)]] = True
    return 3 * int((sides & ~tied).sum() * wall + (sides & tied).sum() * min(wall, fineness.orders[2] + 1))
