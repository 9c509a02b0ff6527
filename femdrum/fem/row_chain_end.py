"""How a chain of rows ends: what holds its last cross-section, and the shell (and disc) beyond the last row's cell.

A hold is written as x = T q: displacements x of a cross-section (degrees of freedom of row_chain_cell.FaceCell) from
the few, q, that the hold leaves free.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.check import Checks
from ..model.ring import Ring
from .copies import half_turn_partners
from .divide import graded
from .mesh import EdgeGrid, Mesh
from .reference import lobatto

__all__ = ["HOLDS", "RowEnd", "end_piece", "hold", "turned_over"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

HOLDS = ("round", "flat", "endless", "open")

# cells of the shell's and the disc's continuation: the first one at the disc, in wall or disc thicknesses; how they grow;
# the longest, in mid-wall radii
FIRST, GROWTH, MOST = 0.5, 2.0, 0.35
# radius of the rigid middle of an elastic disc without a stub, as a share of the bore's radius: ovalling hardly reaches it
LEAST_HUB = 0.1
# a cell may be shortened towards the disc by this share of its ligament
MOST_SHORTENED = 0.45


@dataclass(frozen=True, kw_only=True)
class RowEnd:
    """One end of a chain of rows.

    distance_mm: from the middle of the nearest row's slots to the disc's inner face. hold: what holds the shell's
    section there.
    "round": a disc stiff in its own plane and limp out of it: the section stays round, its points are free along the
    axis. This is what discs about as thick as the wall come to.
    "flat": a disc stiff both ways: the section stays round and flat; it moves along and turns about the axis as a whole.
    "endless": nothing ends; the rows go on as in the endless drum (distance_mm must be half a pitch).
    "open": the shell ends free.
    disc_mm: thickness of an elastic disc, welded in flush with the shell's end face; its stub is then what is held
    ("flat"). hub_radius_mm: that stub's radius; a tenth of the bore's where left out.
    """

    distance_mm: float
    hold: str = "round"
    disc_mm: float | None = None
    hub_radius_mm: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        checks.positive("distance_mm", self.distance_mm)
        checks.one_of("hold", self.hold, HOLDS)
        if checks.optional("disc_mm", self.disc_mm) and self.disc_mm is not None and self.hold != "flat":
            checks.add("hold", self.hold, "must be 'flat' where disc_mm is given", "the disc's stub is what is held")
        if checks.optional("hub_radius_mm", self.hub_radius_mm) and self.hub_radius_mm and self.disc_mm is None:
            checks.add("hub_radius_mm", self.hub_radius_mm, "goes with disc_mm only", "leave it out, or give disc_mm")
        checks.done()

    @property
    def flat(self) -> bool:
        """The section's points move along the axis together."""
        return self.hold in ("flat", "endless")

    def check(self, ring: Ring, name: str) -> None:
        """Raise InputFault where this end does not fit the ring; `name` of the end goes before its fields."""
        checks = Checks()
        half, slot = 0.5 * ring.pitch_mm, ring.cutout.half_y_mm + ring.edge_break_mm
        least = half - MOST_SHORTENED * (half - slot)
        checks.number(
            f"{name}.distance_mm", self.distance_mm, least=least,
            way_out=f"the slots reach {slot:g} mm from their row's middle; nearer to a disc, take a smaller pitch_mm",
        )  # fmt: skip
        if self.hold == "endless" and not math.isclose(self.distance_mm, half, rel_tol=1e-9):
            checks.add(f"{name}.distance_mm", self.distance_mm, f"must be {half:g} where hold is 'endless'")
        if self.hub_radius_mm is not None and self.hub_radius_mm > 0.95 * ring.inner_radius_mm:
            text = f"must be below {0.95 * ring.inner_radius_mm:.4g} mm"
            checks.add(f"{name}.hub_radius_mm", self.hub_radius_mm, text, "nearer to the bore the disc is stiff")
        checks.done()

    def beyond_mm(self, ring: Ring) -> float:
        """Plain shell between the last row's cell and the disc; below zero where the cell is shortened."""
        beyond = self.distance_mm - 0.5 * ring.pitch_mm
        return 0.0 if abs(beyond) < 1e-9 * ring.pitch_mm else beyond


def hold(end: RowEnd, mesh: Mesh, dofs: Index, ring: Ring, parity: int, moves: bool, along: bool) -> Array:
    """T [dof, q] of the section with degrees of freedom `dofs` (3 node + component) of a mesh.

    moves: a section that moves as a whole may do so; that motion (along the axis where parity is 1, about it where it is
    -1) is then the last column. along: a section whose points are free along the axis is held there at one of them.
    """
    node, component = np.divmod(dofs, 3)
    radius = np.hypot(mesh.nodes[node, 0], mesh.nodes[node, 1])
    whole = np.where(component == 2, 1.0, 0.0) if parity == 1 else np.where(component == 1, radius, 0.0)
    if end.hold == "flat":
        columns = np.zeros((dofs.size, 0))
    elif end.hold == "round":
        columns = _pick(component == 2)
    elif end.hold == "open":
        columns = np.eye(dofs.size)
    elif ring.rows == "alternate":
        columns = _half_turn(ring, mesh, dofs)
    else:
        # a mirror plane across the axis holds what moves along it, or, turning the sign, what moves in it
        columns = _pick((component != 2) if parity == 1 else (component == 2))
    if along and not end.flat:
        columns = np.delete(columns, int(np.argmax(columns[component == 2].any(0))), axis=1)
    if moves and end.hold != "open" and (parity == -1 or end.flat):
        columns = np.column_stack([columns, whole])
    return columns


def _pick(which: NDArray[np.bool_]) -> Array:
    return np.asarray(np.eye(which.size)[:, which])


def turned_over(ring: Ring, mesh: Mesh, dofs: Index) -> tuple[Index, Array]:
    """The far face of a row, seen from the next one where rows alternate: own displacement = sign * other's [partner].

    Radial, around in the row's own sense, along the axis in the drum's.
    """
    node, component = np.divmod(dofs, 3)
    wanted = 3 * half_turn_partners(ring, mesh)[node] + component
    order = np.argsort(dofs)
    at = order[np.searchsorted(dofs[order], wanted)]
    return at, np.where(component == 1, -1.0, 1.0)


def _half_turn(ring: Ring, mesh: Mesh, dofs: Index) -> Array:
    """Fields that the half-turn about the face's middle leaves as they are."""
    partner, around = turned_over(ring, mesh, dofs)
    sign = np.where(dofs % 3 == 2, -1.0, around)
    both = np.eye(dofs.size)
    both[np.arange(dofs.size), partner] += sign
    keep = (np.arange(dofs.size) <= partner) & (np.abs(both).max(1) > 0.5)
    return np.asarray(both[keep].T / np.abs(both[keep].T).max(0, initial=1e-300))


def shortened(mesh: Mesh, ring: Ring, end: RowEnd) -> Mesh:
    """The quarter cell with its far face moved towards the slot, smoothly, what is beside the slot left in place."""
    half, slot = 0.5 * ring.pitch_mm, ring.cutout.half_y_mm + ring.edge_break_mm
    y = mesh.nodes[:, 2]
    moved = y + end.beyond_mm(ring) * np.clip((y - slot) / (half - slot), 0.0, 1.0) ** 2
    return Mesh(mesh.orders, np.column_stack([mesh.nodes[:, :2], moved]), mesh.cells, mesh.faces, mesh.edge)


@dataclass(frozen=True)
class EndPiece:
    """The shell beyond a row's cell and the disc: mesh; near: its nodes on the cell's far face, in the order of that
    face's nodes; end: the nodes that are held.
    """

    mesh: Mesh
    near: Index
    end: Index


def end_piece(mesh: Mesh, ring: Ring, end: RowEnd) -> EndPiece | None:
    """What stands beyond the far face of the quarter cell `mesh`; None where the hold sits on that face itself."""
    beyond = max(end.beyond_mm(ring), 0.0)
    if not beyond and end.disc_mm is None:
        return None
    p, _, q = mesh.orders
    top = mesh.face_nodes("y_max")
    places = mesh.nodes[top]
    angle, a = _levels(np.arctan2(places[:, 1], places[:, 0]))
    radius, k = _levels(-np.hypot(places[:, 0], places[:, 1]))
    if angle.size * radius.size != top.size:
        raise AssertionError("the cell's far face is no grid")
    radius = -radius
    local = 0.5 * (lobatto(p) + 1.0)
    most = MOST * ring.mid_radius_mm
    ends = np.zeros(1)
    if beyond:
        ends = beyond - graded(beyond, FIRST * ring.wall_mm, GROWTH, most)[::-1]
    shell_cells, layers = ends.size - 1, radius.size
    if end.disc_mm is not None:
        ends = np.append(ends, ends[-1] + graded(end.disc_mm, ring.wall_mm, 1.0)[1:])
        hub = end.hub_radius_mm or LEAST_HUB * ring.inner_radius_mm
        inward = graded(ring.inner_radius_mm - hub, FIRST * end.disc_mm, GROWTH, most)
        radius = np.append(radius, ring.inner_radius_mm - _spread(inward, 0.5 * (lobatto(q) + 1.0))[1:])
    z = _spread(ends, local)
    there = np.ones((angle.size, z.size, radius.size), dtype=bool)
    there[:, : shell_cells * p, layers:] = False
    number = np.full(there.shape, -1, dtype=np.intp)
    number[there] = np.arange(int(there.sum()))
    i, j, m = (index[there] for index in np.indices(there.shape))
    nodes = np.stack([radius[m] * np.cos(angle[i]), radius[m] * np.sin(angle[i]), places[0, 2] + z[j]], -1)
    cells = [
        number[x * p : x * p + p + 1, y * p : y * p + p + 1, d * q : d * q + q + 1].ravel()
        for x in range((angle.size - 1) // p)
        for y in range(ends.size - 1)
        for d in range((radius.size - 1) // q)
        if y >= shell_cells or d * q < layers - 1
    ]
    bore = [
        number[x * p : x * p + p + 1, y * p : y * p + p + 1, layers - 1].ravel()
        for x in range((angle.size - 1) // p)
        for y in range(shell_cells)
    ]
    faces = {
        "x_min": _seen(number[0]),
        "x_max": _seen(number[-1]),
        "bore": np.array(bore, dtype=np.intp).reshape(-1, (p + 1) ** 2),
    }
    held = number[:, :, -1] if end.disc_mm is not None else number[:, -1]
    edge = EdgeGrid(np.zeros(1), (), (), (), ())
    piece = Mesh(mesh.orders, nodes, np.array(cells, dtype=np.intp), faces, edge)
    return EndPiece(piece, number[a, 0, k], _seen(held))


def _seen(numbers: Index) -> Index:
    return np.unique(numbers[numbers >= 0])


def _levels(values: Array) -> tuple[Array, Index]:
    """Distinct values, ascending, and which of them each is."""
    step = 1e-7 * float(np.abs(values).max())
    order = np.argsort(values)
    level = np.empty(values.size, dtype=np.intp)
    level[order] = np.cumsum(np.diff(values[order], prepend=values[order[0]]) > step)
    return values[order][np.flatnonzero(np.diff(level[order], prepend=-1))], level


def _spread(ends: Array, local: Array) -> Array:
    """Nodes of cells between `ends`; local: their places in a cell, 0 ... 1."""
    return np.append((ends[:-1, None] + np.diff(ends)[:, None] * local[None, :-1]).ravel(), ends[-1])
