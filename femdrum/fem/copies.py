"""A drum shell as mirrored copies of the ring's quarter cell, glued by node numbers.

Copy (j, h): sector j of 2 N around, half-row h along (row r has halves 2 r - 1 below its middle and 2 r above it).
Odd sectors (counted from the row's own first slot) are mirrored around, odd halves along. Every field is kept
in the quarter cell's own cylindrical frame (radial, around, axial), as if each copy stood in its place: a
mirror is then a change of sign, and every copy has the same stiffness.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.ring import Ring
from .mesh import Mesh

__all__ = ["Copies", "Copy", "glued", "half_turn_partners"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Copy:
    """Sector j, half-row h; row; mirrored around and along; sector counted from the row's own first slot."""

    j: int
    h: int
    row: int
    own_j: int
    mirror_x: bool
    mirror_y: bool

    @property
    def sign(self) -> Array:
        """Factor on (radial, around, axial) from the drum's frame to the quarter cell's."""
        return np.array([1.0, -1.0 if self.mirror_x else 1.0, -1.0 if self.mirror_y else 1.0])

    def angle(self, ring: Ring, own: Array) -> Array:
        """Angle on the drum of a node at angle `own` in the quarter cell."""
        spacing = math.pi / ring.slots_around
        return self.j * spacing + (spacing - own if self.mirror_x else own)

    def height(self, ring: Ring, own: Array) -> Array:
        """Place along the axis of a node at `own` in the quarter cell."""
        half = 0.5 * ring.pitch_mm
        return self.h * half + (half - own if self.mirror_y else own)


def copy_at(ring: Ring, j: int, h: int) -> Copy:
    """The copy at sector j and half-row h."""
    row = (h + 1) // 2
    around = 2 * ring.slots_around
    own = (j - row) % around if ring.rows == "alternate" else j % around
    return Copy(j % around, h, row, own, own % 2 == 1, h % 2 == 1)


@dataclass(frozen=True)
class Copies:
    """items [c]; node [c, n]: number of each quarter-cell node in the glued whole; count of those numbers."""

    items: tuple[Copy, ...]
    node: Index
    count: int

    @property
    def signs(self) -> Array:
        """[c, 3] factors from the drum's frame to the quarter cell's, and back."""
        return np.stack([c.sign for c in self.items])


def half_turn_partners(ring: Ring, mesh: Mesh) -> Index:
    """For each node of the far face y_max the node that the half-turn about the face's middle carries it to.

    [n], every other node its own partner. The face of alternate rows is meshed symmetric.
    """
    top = mesh.face_nodes("y_max")
    nodes = mesh.nodes[top]
    angle, radius = np.arctan2(nodes[:, 1], nodes[:, 0]), np.hypot(nodes[:, 0], nodes[:, 1])
    spacing = math.pi / ring.slots_around
    step = 1e-7 * radius.max()
    outward = np.argsort(radius)
    level = np.empty(top.size, dtype=np.intp)
    level[outward] = np.cumsum(np.diff(radius[outward], prepend=radius.min()) > step)
    order = np.lexsort((angle, level))
    mirrored = np.lexsort((-angle, level))
    far = np.abs(angle[order] + angle[mirrored] - spacing).max(initial=0.0)
    if far > 1e-6 or np.abs(radius[order] - radius[mirrored]).max(initial=0.0) > 10 * step:
        raise AssertionError("the cell's far face is not symmetric")
    partner = np.arange(len(mesh.nodes))
    partner[top[order]] = top[mirrored]
    return partner


def glued(
    ring: Ring, mesh: Mesh, sectors: Sequence[int], halves: Sequence[int], *, around: bool = False, along: bool = False
) -> Copies:
    """Copies over the given sectors and half-rows, neighbours sharing the nodes between them.

    around: the last sector meets the first. along: the last half-row meets the first, turned as the next row
    would be (the screw that carries one row to the next).
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    items = tuple(copy_at(ring, j, h) for h in halves for j in sectors)
    where = {(c.j, c.h): i for i, c in enumerate(items)}
    n = len(mesh.nodes)
    faces = {name: mesh.face_nodes(name) for name in ("x_min", "x_max", "y_min", "y_max")}
    alternate = ring.rows == "alternate"
    partner = half_turn_partners(ring, mesh) if alternate else np.arange(n)
    rows = (halves[-1] - halves[0] + 1) // 2
    pairs: list[tuple[Index, Index]] = []

    def meet(a: int, b: int, face: str, to: Index) -> None:
        pairs.append((a * n + faces[face], b * n + to[faces[face]]))

    same = np.arange(n)
    for i, c in enumerate(items):
        if c.j != sectors[-1] or around:
            meet(i, where[((c.j + 1) % (2 * ring.slots_around), c.h)], "x_min" if c.mirror_x else "x_max", same)
        if c.h != halves[-1]:
            face = "y_min" if c.mirror_y else "y_max"
            meet(i, where[(c.j, c.h + 1)], face, same if c.mirror_y else partner)
        elif along:
            back = (c.j - (rows if alternate else 0)) % (2 * ring.slots_around)
            meet(i, where[(back, halves[0])], "y_max", partner)
    total = len(items) * n
    if pairs:
        a, b = (np.concatenate(side) for side in zip(*pairs, strict=True))
        graph = coo_array((np.ones(a.size, dtype=np.int8), (a, b)), shape=(total, total))
        count, labels = connected_components(graph, directed=False)
    else:
        count, labels = total, np.arange(total)
    return Copies(items, labels.reshape(len(items), n).astype(np.intp), int(count))
