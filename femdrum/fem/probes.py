"""Probes: the cell that holds a place, and the stress there on every mesh of the ladder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault
from ..model.mesh_part import Probe
from .cell_kinds import CellKind
from .file_mesh import FileMesh
from .file_recovery import Recovered

__all__ = ["Located", "locate"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# a place may lie outside the mesh by this share of its cell's size: chords of a curved surface
REACH = 0.01
# a reference coordinate this close to a side lies on it
ON_SIDE = 1e-6


@dataclass(frozen=True)
class Located:
    """A probe in the file's mesh: block, cell and reference point [dim]; the skin sides that it lies on."""

    probe: Probe
    block: int
    cell: int
    at: Array
    sides: tuple[tuple[int, Array], ...]

    def _in(self, mesh: FileMesh) -> tuple[Index, Array]:
        """Nodes of the cell of this mesh that holds the probe, and the reference point."""
        kind = mesh.blocks[self.block].kind
        child, at = kind.descend(self.at[None], mesh.divided)
        return mesh.blocks[self.block].cells[self.cell * len(kind.children) ** mesh.divided + child[0]], at

    def nodes(self, mesh: FileMesh) -> Index:
        """Nodes at which the averaged stress is needed."""
        return self._in(mesh)[0]

    def stress(self, mesh: FileMesh, recovered: Recovered) -> Array:
        """Stress [case, dim, dim]: from the skin where its traction is known, else averaged over cells."""
        kind = mesh.skin.kind
        found = []
        for side, on in self.sides:
            child, at = kind.descend(on[None], mesh.divided)
            number = side * len(kind.children) ** mesh.divided + child
            if recovered.known[number[0]]:
                found.append(recovered.at_side(mesh, number, at)[0])
        if found:
            return np.asarray(np.mean(found, 0))
        cell, at = self._in(mesh)
        values = mesh.blocks[self.block].kind.shapes(at)[0][0]
        return np.asarray(np.einsum("n,ncij->cij", values, recovered.nodal[cell]))


def locate(probes: Sequence[Probe], mesh: FileMesh) -> list[Located]:
    """Find every probe in the file's mesh. Raises InputFault with all that lie outside."""
    out, faults = [], []
    for i, probe in enumerate(probes, 1):
        place = np.array([probe.x_mm, probe.y_mm, probe.z_mm])[: mesh.dim]
        found = _find(mesh, place)
        if found is None:
            near = mesh.nodes[np.linalg.norm(mesh.nodes - place, axis=1).argmin()]
            shown = ", ".join(f"{v:.6g}" for v in place)
            nearest = ", ".join(f"{v:.6g}" for v in near)
            faults.append(
                Fault(
                    f"probe[{i}]", probe.name, f"({shown}) mm lies outside the mesh", f"its nearest node is ({nearest})"
                )
            )
            continue
        block, cell, at = found
        out.append(Located(probe, block, cell, at, tuple(_sides(mesh, block, cell, at))))
    if faults:
        raise InputFault(faults)
    return out


def _find(mesh: FileMesh, place: Array) -> tuple[int, int, Array] | None:
    best: tuple[float, int, int, Array] | None = None
    for b, block in enumerate(mesh.blocks):
        nodes = mesh.nodes[block.cells]
        low, high = nodes.min(1), nodes.max(1)
        size = (high - low).max(1)
        slack = 0.1 * size[:, None]
        for cell in np.flatnonzero(((place > low - slack) & (place < high + slack)).all(1)):
            at = _inverse(block.kind, nodes[cell], place)
            miss = float(np.linalg.norm(block.kind.shapes(at[None])[0][0] @ nodes[cell] - place) / size[cell])
            if best is None or miss < best[0]:
                best = miss, b, int(cell), at
    return best[1:] if best is not None and best[0] < REACH else None


def _inverse(kind: CellKind, nodes: Array, place: Array) -> Array:
    """Reference point of a place, moved into the cell where it lies outside."""
    at = kind.points[: kind.corners].mean(0)
    for _ in range(30):
        values, slopes = kind.shapes(at[None])
        step = np.linalg.lstsq(nodes.T @ slopes[0], place - values[0] @ nodes, rcond=None)[0]
        at = np.clip(at + np.clip(step, -0.5, 0.5), -0.2, 1.2)
        if np.abs(step).max() < 1e-13:
            break
    at = np.clip(at, 0.0, 1.0)
    return np.asarray(at if kind.tensor else at / max(1.0, at.sum()))


def _sides(mesh: FileMesh, block: int, cell: int, at: Array) -> list[tuple[int, Array]]:
    """Skin sides on which the probe lies, with its reference point on each: those that have all nodes that carry it."""
    nodes = mesh.blocks[block].cells[cell]
    values = mesh.blocks[block].kind.shapes(at[None])[0][0]
    carrying = nodes[np.abs(values) > ON_SIDE]
    place = values @ mesh.nodes[nodes]
    skin = mesh.skin
    return [
        (int(side), _inverse(skin.kind, mesh.nodes[skin.cells[side]], place))
        for side in np.flatnonzero(np.isin(skin.cells, carrying).sum(1) == carrying.size)
    ]
