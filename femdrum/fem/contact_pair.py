"""Two sides that may touch: gaps and slips between their meshes, which need not match.

The pressure is linear from node to node of the first side; gap and slip are weighted with the same hats (mortar method,
any text on contact by finite elements). The integrals run over pieces on which both sides are smooth: between the first
side's nodes and the places that face the second side's cell ends. So even pressure passes exactly between any two meshes,
and what one side gets the other gives. Gaps are measured along the outward normal of one side, positive open, on the
shape as drawn (small displacements): of the first side, or, where a side with rounded ends slides on a flat one, of the flat one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault
from ..model.check import Checks
from .contact_side import Hit, Side
from .harmonic_section import arc_length
from .reference import gauss, lobatto

__all__ = ["Interface", "Pairing", "pair"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# pieces shorter than this share of a cell are none
SHORT = 1e-9
NORMALS = ("first", "second")


@dataclass(frozen=True, eq=False)
class Interface:
    """Two sides that may touch. first, second: (number of the body, name of its curve).

    first carries the pressures: the finer meshed side, or the one that lies wholly within the other. friction: coefficient.
    gap: gap (mm) at places [k, 2] on the first side, beside that of the shapes as drawn (a crown, an angular error).
    normal: whose normals count, "first" or "second".
    """

    name: str
    first: tuple[int, str]
    second: tuple[int, str]
    friction: float = 0.0
    gap: Callable[[Array], Array] | None = None
    normal: str = "first"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.number("friction", self.friction, least=0.0, most=2.0, way_out="a coefficient, not an angle or per cent")
        checks.one_of("normal", self.normal, NORMALS)
        checks.done()


@dataclass(frozen=True, eq=False)
class Pairing:
    """Integrals of an interface with m pressures.

    at [m]: numbers along the first side of the nodes that carry a pressure; s_mm [m], place_mm [m, 2] of them; end [m]: at an end
    of the first side. weight_mm [m]: integral of each hat. gap_mm2 [m]: weighted gap as drawn. push, drag [m, k, 2]: weighted normal and
    tangential motion from nodal displacements of the first side, push_other, drag_other [m, l, 2] of the second (with the
    opposite sign). Normals point from the first side to the second; tangents are normals turned by +90 degrees.
    """

    first: Side
    second: Side
    at: Index
    s_mm: Array
    place_mm: Array
    weight_mm: Array
    gap_mm2: Array
    push: Array
    drag: Array
    push_other: Array
    drag_other: Array


@dataclass(frozen=True)
class _View:
    """How the first side sees the second."""

    first: Side
    second: Side
    normal: str

    def hit(self, places: Array, normals: Array) -> Hit:
        """What places of the first side with their own normals face."""
        if self.normal == "first":
            return self.second.looked_at(places, normals)
        return self.second.foot(places, normals)

    def normals(self, own: Array, hit: Hit) -> Array:
        """Those that count, from the first side to the second."""
        if self.normal == "first":
            return own
        _, tangent, _ = self.second.at(hit.cell, hit.xi)
        return -self.second.normals(tangent)

    def breaks(self) -> Array:
        """Places along the first side that face cell ends of the second."""
        p = self.second.order
        ends, way = self.second.place[::p], self.second.node_normals[::p]
        return (self.first.foot(ends, way) if self.normal == "first" else self.first.looked_at(ends, way)).along


def pair(first: Side, second: Side, gap: Callable[[Array], Array] | None = None, normal: str = "first") -> Pairing:
    """The integrals of an interface. Raises InputFault where the sides do not face each other at all."""
    view = _View(first, second, normal)
    cell, xi, weight = _pieces(view)
    place, tangent, values = first.at(cell, xi)
    hit = view.hit(place, first.normals(tangent))
    bearing = _bearing(view)
    across, _, other_values = second.at(hit.cell, hit.xi)
    way = view.normals(first.normals(tangent), hit)
    along = np.stack([-way[:, 1], way[:, 0]], -1)
    distance = ((across - place) * way).sum(-1)
    if gap is not None:
        distance = distance + np.asarray(gap(place), float)
    ds = np.where(hit.found, weight * np.linalg.norm(tangent, axis=-1), 0.0)
    hats, rows = _hats(first, cell, xi)
    m = len(first.nodes)

    def weighted(side: Side, cells: Index, shape: Array, direction: Array) -> Array:
        out = np.zeros((m, len(side.nodes), 2))
        part = np.einsum("q,qh,qa,qd->qhad", ds, hats, shape, direction, optimize=True)
        np.add.at(out, (rows[:, :, None], side.columns(cells)[:, None, :]), part)
        return _gather(out, bearing)

    def summed(values: Array) -> Array:
        out = np.zeros(m)
        np.add.at(out, rows, (ds * values)[:, None] * hats)
        return _gather(out, bearing)

    at = np.unique(bearing)
    return Pairing(
        first=first,
        second=second,
        at=at,
        s_mm=arc_length(first.place, first.order)[at],
        place_mm=first.place[at],
        weight_mm=summed(np.ones_like(ds)),
        gap_mm2=summed(np.where(hit.found, distance, 0.0)),
        push=weighted(first, cell, values, way),
        drag=weighted(first, cell, values, along),
        push_other=-weighted(second, hit.cell, other_values, way),
        drag_other=-weighted(second, hit.cell, other_values, along),
    )


def _gather(rows: Array, bearing: Index) -> Array:
    """Rows of nodes that face nothing are added to the nearest that does, so that the hats still add up to 1."""
    keep = np.unique(bearing)
    out = np.zeros((keep.size, *rows.shape[1:]))
    np.add.at(out, np.searchsorted(keep, bearing), rows)
    return out


def _bearing(view: _View) -> Index:
    """Which node carries the pressure of each node of the first side: itself, or the nearest that faces the second side."""
    hit = view.hit(view.first.place, view.first.node_normals)
    there = np.flatnonzero(hit.found)
    if not there.size:
        fault = Fault(
            "interface",
            "no overlap",
            "no node of the first side faces the second",
            "check places, swap the sides, or take a finer mesh",
        )
        raise InputFault(fault)
    number = np.arange(len(view.first.nodes))
    return np.asarray(there[np.abs(number[:, None] - there[None, :]).argmin(1)])


def _hats(first: Side, cell: Index, xi: Array) -> tuple[Array, Index]:
    """Values [q, 2] of the two hats at each place, and their numbers along the side [q, 2]."""
    nodes = lobatto(first.order)
    left = np.clip(np.searchsorted(nodes, xi, side="right") - 1, 0, first.order - 1)
    share = (xi - nodes[left]) / (nodes[left + 1] - nodes[left])
    start = cell * first.order + left
    return np.stack([1 - share, share], -1), np.stack([start, start + 1], -1)


def _pieces(view: _View) -> tuple[Index, Array, Array]:
    """Gauss points of the pieces: cells [q], xi [q], weights [q] in xi."""
    first = view.first
    inner = 0.5 * (lobatto(first.order) + 1)
    count = len(first.cells)
    breaks = np.unique(np.concatenate([(np.arange(count)[:, None] + inner).ravel(), view.breaks()]))
    breaks = breaks[np.concatenate([[True], np.diff(breaks) > SHORT])]
    low, high = breaks[:-1], breaks[1:]
    x, w = gauss(max(first.order, view.second.order) + 2)
    cell = np.minimum(np.floor(0.5 * (low + high)).astype(np.intp), count - 1)
    s = 0.5 * (low + high)[:, None] + 0.5 * (high - low)[:, None] * x
    # xi runs over 2 for 1 of s, and the Gauss interval is 2 long
    return np.repeat(cell, x.size), (2 * (s - cell[:, None]) - 1).ravel(), ((high - low)[:, None] * w).ravel()
