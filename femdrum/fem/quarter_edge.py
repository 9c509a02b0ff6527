"""Stress on whole slots' edges from the displacements of the four mirrored quarters around each."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress, UnitCase
from ..model.material import Material
from .elasticity import surface_stress
from .mesh import Mesh
from .recovery import surface_strain
from .sampling import Places, between_nodes, even_places, unfold, wall_places, weights

__all__ = ["Quadrant", "edge_stress", "quadrant"]

Array = NDArray[np.float64]

# samples a cell along the edge, across it, and through the wall in the cells at both surfaces
ALONG, ACROSS, RIM = 12, 4, 8
WALL = 1  # the band on the slot's wall, between those on the outer surface and the bore

# stress [s, d, case, 3] and pressure [s, d, case] on a quarter of the edge, all bands beside one another
Quadrant = tuple[Array, Array]


def quadrant(mesh: Mesh, material: Material, u: Array, pressure: Sequence[tuple[Array, ...] | None]) -> Quadrant:
    """Sampled stress on the quarter's edge in its own frame, from displacements u [n, 3, case] in space.

    pressure: per case the given pressure at each band's nodes, None where there is none.
    """
    stress, pushed = [], []
    for i, nodes in enumerate(mesh.edge.bands):
        given = np.stack([np.zeros(nodes.shape) if q is None else q[i] for q in pressure], -1)
        p, q = mesh.band_orders(i)
        at = even_places((len(nodes) - 1) // p, ALONG), _depths((nodes.shape[1] - 1) // q, i)
        given = _sampled(_sampled(given, p, at[0], 0), q, at[1], 1)
        strain = surface_strain(mesh.nodes[nodes], u[nodes], (p, q), at)
        stress.append(surface_stress(strain, given, material))
        pushed.append(given)
    return np.concatenate(stress, 1), np.concatenate(pushed, 1)


def _depths(cells: int, band: int) -> Places:
    """Where a band is sampled across the edge."""
    return wall_places(cells, RIM, ACROSS) if band == WALL else even_places(cells, ACROSS)


def _sampled(values: Array, order: int, at: Places, axis: int) -> Array:
    return np.moveaxis(np.tensordot(between_nodes(order, at), values, (1, axis)), 0, axis)


def edge_stress(
    mesh: Mesh, slots: Sequence[tuple[Quadrant, Quadrant, Quadrant, Quadrant]], cases: tuple[UnitCase, ...]
) -> EdgeStress:
    """Slots from their quarters (+x +y, -x +y, -x -y, +x -y), each in its own mirrored frame."""
    p, grid = mesh.order, mesh.edge
    along_at = even_places((grid.s_mm.size - 1) // p, ALONG)
    s = _sampled(grid.s_mm, p, along_at, 0)
    closed = np.concatenate([s[:-1], 2 * s[-1] - s[:0:-1], 2 * s[-1] + s[:-1], 4 * s[-1] - s[:0:-1], 4 * s[-1:]])
    along = weights(closed)
    along[0] += along[-1]
    places, areas, depth, offset = [], [], [], []
    for i, (nodes, place, dep, off) in enumerate(
        zip(grid.bands, grid.place_mm, grid.depth_mm, grid.offset_mm, strict=True)
    ):
        q = mesh.band_orders(i)[1]
        at = _depths((nodes.shape[1] - 1) // q, i)
        quarter = _sampled(_sampled(place, p, along_at, 0), q, at, 1)
        places.append(unfold(quarter, np.array([-1.0, 1.0, 1.0]), np.array([1.0, -1.0, 1.0])))
        depth.append(_sampled(dep, q, at, 0))
        offset.append(_sampled(off, q, at, 0))
        path = _sampled(mesh.nodes[nodes[0]], q, at, 0)
        across = weights(np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=-1))]))
        areas.append(along[:-1, None] * across)
    even = np.array([1.0, 1.0, -1.0])  # the shear component turns its sign with the direction of the edge
    values = np.stack([_loop([q[0] for q in quarters], even) for quarters in slots], 0)  # [slot, s, d, case, 3]
    pressure = np.stack([_loop([q[1] for q in quarters], 1.0) for quarters in slots], 0)
    values = np.ascontiguousarray(np.moveaxis(values, 3, 0))
    return EdgeStress(
        cases=cases,
        s_mm=closed[:-1],
        depth_mm=np.concatenate(depth),
        offset_mm=np.concatenate(offset),
        place_mm=np.concatenate(places, 1),
        area_mm2=np.concatenate(areas, 1),
        stress=values,
        step=np.zeros_like(values),
        pressure=np.ascontiguousarray(np.moveaxis(pressure, 3, 0)),
        rim_slope=_rim_slope(mesh),
    )


def _rim_slope(mesh: Mesh) -> float:
    """The flanks are flat, the surfaces round: at a rim they miss the square by the flank's angle at the bore."""
    rim = mesh.nodes[mesh.edge.bands[1][:, -1]]
    return float(np.max(np.abs(rim[:, 1]) / np.hypot(rim[:, 0], rim[:, 1])))


def _loop(quarters: Sequence[Array], flip: Array | float) -> Array:
    """One closed loop [4 (s - 1), ...] from its quarters; where two meet, the mean of both."""
    turned = [quarters[0], quarters[1][::-1] * flip, quarters[2], quarters[3][::-1] * flip]
    before = [turned[i - 1][-1] for i in range(4)]
    parts = []
    for part, last in zip(turned, before, strict=True):
        first = 0.5 * (part[:1] + last[None])
        parts += [first, part[1:-1]]
    return np.concatenate(parts)
