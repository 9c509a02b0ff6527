"""A mesh from a file as arrays: second-order cells, the skin with its named faces, and uniform division.

First-order and serendipity cells are completed to second order without changing their shape. Division
places new nodes by the parent's own quadratic map and keeps the numbers of the old ones, so curved faces
stay as curved as the file has them, names go over to the children, and child k of cell e is e * c + k.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .cell_kinds import CellKind, cell_kind
from .foreign_orders import VTK_LINEAR

__all__ = ["Block", "FileMesh", "RawCells", "Sides", "complete", "corner_keys"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class RawCells:
    """Cells as a file has them: the second-order kind they become, and which of its nodes [g] they give.

    cells [e, g]: node numbers in the order of `given`, the kind's corners first.
    """

    kind: str
    cells: Index
    given: Index


@dataclass(frozen=True)
class Block:
    """Second-order cells of one kind, cells [e, n]."""

    kind: CellKind
    cells: Index

    def places(self, nodes: Array, at: Array) -> Array:
        """Places [e, p, dim] of reference points [p, dim] in every cell."""
        return np.asarray(np.einsum("pn,end->epd", self.kind.shapes(at)[0], nodes[self.cells], optimize=True))

    def jacobians(self, nodes: Array, at: Array) -> Array:
        """Derivatives of the map [e, p, space, reference] at reference points."""
        return np.asarray(np.einsum("pnr,end->epdr", self.kind.shapes(at)[1], nodes[self.cells], optimize=True))


@dataclass(frozen=True)
class FileMesh:
    """nodes [n, dim] in mm; blocks of cells; skin: the outer sides [f, m], normals outward.

    faces: name -> numbers of skin sides. sets: name -> blocks of lower dimension (edges of a solid, faces
    inside it) of that name; points: name -> node numbers. divided: how often it was cut since it was read.
    """

    dim: int
    nodes: Array
    blocks: tuple[Block, ...]
    skin: Block
    faces: Mapping[str, Index]
    sets: Mapping[str, tuple[Block, ...]]
    points: Mapping[str, Index]
    divided: int = 0

    @property
    def names(self) -> list[str]:
        """All names that supports may refer to."""
        return sorted({*self.faces, *self.sets, *self.points})

    def nodes_of(self, name: str) -> Index:
        """Numbers of all nodes that carry this name."""
        parts = [self.skin.cells[self.faces[name]].ravel()] if name in self.faces else []
        parts += [b.cells.ravel() for b in self.sets.get(name, ())]
        parts += [self.points[name]] if name in self.points else []
        return np.unique(np.concatenate(parts))

    def corner_means(self) -> tuple[Index, Index, Array]:
        """Each node as a mean of corners: rows (nodes), columns (corners) and weights of a sparse matrix."""
        rows, columns, values = [], [], []
        for block in self.blocks:
            for local, corners in enumerate(block.kind.between):
                rows.append(np.repeat(block.cells[:, local], len(corners)))
                columns.append(block.cells[:, corners].ravel())
                values.append(np.full(rows[-1].size, 1.0 / len(corners)))
        row, column = np.concatenate(rows), np.concatenate(columns)
        _, first = np.unique(row * len(self.nodes) + column, return_index=True)  # neighbours say the same
        return row[first], column[first], np.concatenate(values)[first]

    def plain_cells(self) -> list[tuple[str, Index]]:
        """First-order cells between all nodes, for pictures: VTK's name and corner order."""
        out = []
        for block in self.blocks:
            name, at = VTK_LINEAR[block.kind.name]
            corners = block.kind.points[: block.kind.corners]
            order = np.abs(corners[None] - at[:, None]).max(-1).argmin(1)
            out.append((name, block.cells[:, block.kind.children[:, order]].reshape(-1, len(order))))
        return out

    def divide(self) -> FileMesh:
        """Every cell cut into 2^dim."""
        raws, places = [], []
        for block in self.blocks:
            kind = block.kind
            corners = block.cells[:, kind.children]
            raws.append(RawCells(kind.name, corners.reshape(-1, kind.corners), np.arange(kind.corners)))
            at = kind.origin[:, None] + np.einsum("cij,nj->cni", kind.axes, kind.points)
            where = block.places(self.nodes, at.reshape(-1, kind.dim))
            places.append(where.reshape(-1, len(kind.points), self.dim))
        nodes, blocks = _fill(self.nodes, raws, places)
        sides = Sides(blocks, len(nodes))
        sons = np.arange(len(self.skin.kind.children))
        return FileMesh(
            dim=self.dim,
            nodes=nodes,
            blocks=blocks,
            skin=_children(self.skin, sides),
            faces={name: (f[:, None] * sons.size + sons).ravel() for name, f in self.faces.items()},
            sets={name: tuple(_children(b, sides) for b in many) for name, many in self.sets.items()},
            points=self.points,
            divided=self.divided + 1,
        )


def corner_keys(corners: Index, count: int) -> Index:
    """One number for each set of corners [k, c]; sides that share three corners are the same side."""
    ordered = np.sort(corners, 1)
    key = ordered[:, 0].astype(np.int64)
    for column in range(1, min(corners.shape[1], 3)):
        key = key * count + ordered[:, column]
    return key


class Sides:
    """Finds the nodes of edges and faces of cells from their corners."""

    def __init__(self, blocks: Sequence[Block], count: int) -> None:
        self.count = count
        keys: dict[int, list[Index]] = {}
        numbers: dict[int, list[Index]] = {}
        for block in blocks:
            for local, corners in enumerate(block.kind.between):
                if len(corners) in (2, 4):
                    keys.setdefault(len(corners), []).append(corner_keys(block.cells[:, corners], count))
                    numbers.setdefault(len(corners), []).append(block.cells[:, local])
        self._known = {}
        for size, many in keys.items():
            unique, first = np.unique(np.concatenate(many), return_index=True)
            self._known[size] = unique, np.concatenate(numbers[size])[first]

    def block(self, kind: CellKind, corners: Index) -> Block:
        """Cells of this kind on corners [e, c]; -1 for nodes that no cell of the mesh has."""
        cells = np.full((len(corners), len(kind.points)), -1, dtype=np.intp)
        cells[:, : kind.corners] = corners
        for local, between in enumerate(kind.between[kind.corners :], kind.corners):
            wanted = corner_keys(corners[:, between], self.count)
            known, numbers = self._known.get(len(between), (np.zeros(1, dtype=np.int64) - 1, np.array([-1])))
            at = np.minimum(np.searchsorted(known, wanted), known.size - 1)
            cells[:, local] = np.where(known[at] == wanted, numbers[at], -1)
        return Block(kind, cells)


def _children(block: Block, sides: Sides) -> Block:
    corners = block.cells[:, block.kind.children].reshape(-1, block.kind.corners)
    return sides.block(block.kind, corners)


def complete(nodes: Array, raws: Sequence[RawCells]) -> tuple[Array, tuple[Block, ...]]:
    """Second-order cells of the same shape from what a file gives; new nodes come after the old ones."""
    return _fill(nodes, raws, [_places(nodes, raw) for raw in raws])


def _places(nodes: Array, raw: RawCells) -> Array:
    """Places [e, n, dim] of all nodes of the second-order kind.

    Missing nodes: straight edges are halved; a face or an inside follows its corners and edge nodes as
    serendipity shape functions have it.
    """
    kind = cell_kind(raw.kind)
    out = np.zeros((len(raw.cells), len(kind.points), nodes.shape[1]))
    out[:, raw.given] = nodes[raw.cells]
    given = set(raw.given.tolist())
    for i, corners in enumerate(kind.between):  # edges come before faces, faces before the inside
        if i in given:
            continue
        mean = out[:, corners].mean(1)
        if len(corners) == 2:
            out[:, i] = mean
        else:
            edges = [j for j, ends in enumerate(kind.between) if len(ends) == 2 and set(ends) <= set(corners)]
            # corners weigh -1/4 each, edge nodes share the rest
            out[:, i] = 2 * out[:, edges].mean(1) - mean if len(corners) == 4 else 3 * out[:, edges].mean(1) - 2 * mean
    return out


def _fill(nodes: Array, raws: Sequence[RawCells], places: Sequence[Array]) -> tuple[Array, tuple[Block, ...]]:
    """Give cells the nodes that they lack, one for each set of corners it lies between."""
    cells = []
    missing: dict[int, list[tuple[int, int]]] = {}
    for b, raw in enumerate(raws):
        kind = cell_kind(raw.kind)
        full = np.full((len(raw.cells), len(kind.points)), -1, dtype=np.intp)
        full[:, raw.given] = raw.cells
        cells.append(full)
        for i in sorted(set(range(len(kind.points))) - set(raw.given.tolist())):
            missing.setdefault(len(kind.between[i]), []).append((b, i))
    new, total = [nodes], len(nodes)
    for size, asked in sorted(missing.items()):
        at = np.concatenate([places[b][:, i] for b, i in asked])
        if size == 8:  # an inside belongs to one cell
            inverse, first = np.arange(len(at)), np.arange(len(at))
        else:
            corners = [cells[b][:, cell_kind(raws[b].kind).between[i]] for b, i in asked]
            keys = np.concatenate([corner_keys(c, len(nodes)) for c in corners])
            _, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
        numbers = np.split(inverse.ravel() + total, np.cumsum([len(cells[b]) for b, _ in asked])[:-1])
        for (b, i), n in zip(asked, numbers, strict=True):
            cells[b][:, i] = n
        new.append(at[first])
        total += first.size
    blocks = tuple(Block(cell_kind(raw.kind), c) for raw, c in zip(raws, cells, strict=True))
    return np.concatenate(new), blocks
