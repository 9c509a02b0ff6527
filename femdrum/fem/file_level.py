"""One mesh of the ladder of a mesh from a file: displacements, stress on the watched faces and at the probes.

The watched faces are looked at on a fixed lattice of points on the sides that the file has, the same on every
mesh of the ladder. EdgeStress lists these points along its depth axis, with a single entry along s: they have
no order along an edge. place_mm holds x, y, z of the mesh, depth_mm z.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress
from ..model.material import Material
from ..model.mesh_part import DIRECTIONS, MeshPart
from .unit_cases.faces import face_case, face_load

if TYPE_CHECKING:  # what works on such meshes is loaded late: the ladder of every part knows this file
    from .file_mesh import FileMesh
    from .file_recovery import Recovered
    from .probes import Located

__all__ = ["FileLevel", "Watch", "file_level", "supported_sides", "watch"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# divisions of a side for the lattice of watched points: a plane edge, a face
PLANE_LATTICE, SOLID_LATTICE = 4, 2


@dataclass(frozen=True)
class Watch:
    """Points on the sides of the file's mesh. sides [k]; at [p, dim - 1]: the lattice on each; along, normal, place
    [k, p, dim]; area [k, p] in mm2.
    """

    sides: Index
    at: Array
    along: Array
    normal: Array
    place: Array
    area: Array


@dataclass(frozen=True)
class FileLevel:
    """mesh; u [n, dim, case]; edge; probes [case, probe, dim, dim] and their last two steps of the ladder."""

    mesh: FileMesh
    u: Array
    edge: EdgeStress
    unknowns: int
    solver: str
    probes: Array
    probe_step: Array
    probe_earlier: Array

    def nodal_stress(self, u: Array, material: Material) -> Array:
        """Averaged stress [n, 3, 3] of one state u [n, dim], for pictures."""
        from .file_recovery import nodal_stress

        out = np.zeros((len(u), 3, 3))
        out[:, : self.mesh.dim, : self.mesh.dim] = nodal_stress(self.mesh, u[..., None], material)[:, 0]
        return out


def watch(part: MeshPart, mesh: FileMesh) -> Watch:
    """The points on which the peak is looked for: on the watched faces, or on the whole surface."""
    from .file_mesh import Block
    from .file_recovery import skin_frames

    kind = mesh.skin.kind
    every = np.arange(len(mesh.skin.cells))
    sides = np.unique(np.concatenate([mesh.faces[face] for face in part.watch])) if part.watch else every
    at, share = kind.lattice(PLANE_LATTICE if mesh.dim == 2 else SOLID_LATTICE)
    skin = Block(kind, mesh.skin.cells[sides])
    along, normal, size = skin_frames(skin, mesh.nodes, at)
    measure = kind.quadrature()[1].sum()
    area = size * share * measure * (part.thickness_mm or 1.0)
    return Watch(sides, at, along, normal, skin.places(mesh.nodes, at), area)


def supported_sides(part: MeshPart, mesh: FileMesh) -> NDArray[np.bool_]:
    """Skin sides that a support holds in some direction: their traction is not known."""
    out = np.zeros(len(mesh.skin.cells), dtype=bool)
    for direction in range(mesh.dim):
        held = np.zeros(len(mesh.nodes), dtype=bool)
        for support in part.supports:
            if DIRECTIONS[direction] in support.fixed:
                held[mesh.nodes_of(support.face)] = True
        out |= held[mesh.skin.cells].all(1)
    return out


def file_level(
    part: MeshPart,
    mesh: FileMesh,
    material: Material,
    names: Sequence[str],
    order: int,
    watched: Watch,
    probes: Sequence[Located],
) -> FileLevel:
    """Solve the named unit cases on this mesh, the file's own or one divided from it."""
    from .file_recovery import recover
    from .file_system import mesh_displacements

    cases = [face_case(name) for name in names]
    force = np.stack([face_load(mesh, name).force for name in names], -1)
    solved = mesh_displacements(mesh, part, material, force, order)
    supported = supported_sides(part, mesh)
    lattice = _Lattice(watched, mesh)
    wanted = np.zeros(len(mesh.nodes), dtype=bool)
    wanted[mesh.skin.cells[lattice.sides[supported[lattice.sides]]]] = True
    for probe in probes:
        wanted[probe.nodes(mesh)] = True
    recovered = recover(mesh, solved.u, material, cases, supported, wanted)
    edge = lattice.edge(recovered, tuple(c.case for c in cases))
    at_probes = np.zeros((len(names), len(probes), mesh.dim, mesh.dim))
    for i, probe in enumerate(probes):
        at_probes[:, i] = probe.stress(mesh, recovered)
    none = np.zeros_like(at_probes)
    return FileLevel(mesh, solved.u, edge, solved.unknowns, solved.solver, at_probes, none, none)


class _Lattice:
    """The watched points seen from a divided mesh: side and reference point of each."""

    def __init__(self, watched: Watch, mesh: FileMesh) -> None:
        kind = mesh.skin.kind
        child, at = kind.descend(watched.at, mesh.divided)
        sons = len(kind.children) ** mesh.divided
        self.sides = (watched.sides[:, None] * sons + child).ravel()
        self.at = np.tile(at, (len(watched.sides), 1))
        self.watched, self.mesh = watched, mesh

    def edge(self, recovered: Recovered, cases: tuple[object, ...]) -> EdgeStress:
        w, dim = self.watched, self.mesh.dim
        stress = recovered.at_side(self.mesh, self.sides, self.at)
        along, normal = w.along.reshape(-1, dim), w.normal.reshape(-1, dim)
        axes = [along, np.cross(normal, along)] if dim == 3 else [along]

        def part(a: Array, b: Array) -> Array:
            return np.asarray(np.einsum("ki,kcij,kj->ck", a, stress, b, optimize=True))

        inside = np.zeros((len(cases), 1, 1, len(along), 3))
        inside[:, 0, 0, :, 0] = part(axes[0], axes[0])
        if dim == 3:
            inside[:, 0, 0, :, 1] = part(axes[1], axes[1])
            inside[:, 0, 0, :, 2] = part(axes[0], axes[1])
        place = np.zeros((1, len(along), 3))
        place[0, :, :dim] = w.place.reshape(-1, dim)
        return EdgeStress(
            cases=cases,  # type: ignore[arg-type]
            s_mm=np.zeros(1),
            depth_mm=place[0, :, 2],
            offset_mm=np.zeros(len(along)),
            place_mm=place,
            area_mm2=w.area.reshape(1, -1),
            stress=inside,
            step=np.zeros_like(inside),
            pressure=-part(normal, normal)[:, None, None, :],
        )
