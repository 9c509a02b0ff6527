"""From a MeshPart to its mesh: cells made sound, named faces found on the skin, all names checked."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..errors import MISSING, Fault, InputFault, nearest
from ..model.mesh_part import DIRECTIONS, MeshPart
from .cell_kinds import cell_kind
from .file_mesh import Block, FileMesh, RawCells, Sides, complete, corner_keys
from .file_system import check_held, part_supports
from .mesh_file import RawMesh, file_fault, read_raw
from .probes import locate
from .unit_cases.faces import FaceCase, face_case

__all__ = ["check_part", "read_part"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# a mesh counts as plane up to this share of its size; a cell as flat below this share of its mean volume
FLAT = 1e-9
THIN = 1e-7


def read_part(part: MeshPart, cases: Sequence[FaceCase] = ()) -> FileMesh:
    """The mesh of a part in mm. Raises InputFault with all that does not fit: file, cells, names of faces."""
    raw = read_raw(part.file)
    mesh = _mesh(raw, part.file, part.scale_to_mm)
    faults = _name_faults(part, mesh, cases) + _dimension_faults(part, mesh, cases)
    if faults:
        raise InputFault(faults)
    return mesh


@lru_cache(maxsize=8)
def _checked(part: MeshPart, names: tuple[str, ...], written: int) -> None:
    mesh = read_part(part, [face_case(name) for name in names])
    locate(part.probes, mesh)
    check_held(mesh, part_supports(mesh, part))


def check_part(part: MeshPart, names: Sequence[str]) -> None:
    """Raise what would keep the named unit cases on this part from being solved: InputFault, SingularModel."""
    file = Path(part.file)
    _checked(part, tuple(dict.fromkeys(names)), file.stat().st_mtime_ns if file.is_file() else 0)


def _mesh(raw: RawMesh, path: str, scale: float) -> FileMesh:
    dim = max(cell_kind(c.kind).dim for c in raw.cells)
    if dim < 2:
        raise file_fault(path, "holds no cells of a plate or a solid, only lines", "mesh the surface or the volume")
    body = [c for c in raw.cells if cell_kind(c.kind).dim == dim]
    if dim == 3 and len({c.kind for c in body}) > 1:
        raise file_fault(
            path,
            "mixes tetrahedra and hexahedra, whose faces do not fit together",
            "mesh the solid with one kind of cell",
        )
    if dim == 2:
        z = raw.points[np.unique(np.concatenate([c.cells.ravel() for c in body])), 2]
        if np.ptp(z) > FLAT * np.ptp(raw.points, 0).max():
            raise file_fault(
                path,
                "holds a surface in space and no solid",
                "mesh the volume, or give a plane mesh at z = constant",
            )
    used = np.unique(np.concatenate([c.cells.ravel() for c in body]))
    number = np.full(len(raw.points), -1, dtype=np.intp)
    number[used] = np.arange(used.size)
    lower = [c for c in raw.cells if cell_kind(c.kind).dim < dim]
    loose = sum(int((number[_corners(c)] < 0).any(1).sum()) for c in lower)
    if loose:
        raise file_fault(
            path,
            f"holds {loose} {'faces or bars' if dim == 3 else 'bars'} that hang on no cell of the "
            f"{'solid' if dim == 3 else 'plate'}",
            "mixed models of solids, shells and bars are not solved here: leave the others out",
        )
    nodes = raw.points[used][:, :dim] * scale
    nodes, blocks = complete(nodes, [RawCells(c.kind, number[c.cells], c.given) for c in body])
    blocks = tuple(_sound(b, nodes, path) for b in blocks)
    return _with_names(raw, number, nodes, blocks, path)


def _corners(raw: RawCells) -> Index:
    position = np.argsort(raw.given)  # the kind's corners have its lowest numbers
    return raw.cells[:, position[: cell_kind(raw.kind).corners]]


def _sound(block: Block, nodes: Array, path: str) -> Block:
    """Cells with positive volume; those that a file lists the other way around are turned."""
    kind = block.kind
    at = np.vstack([kind.quadrature()[0], kind.points])
    volume = np.concatenate(
        [
            np.linalg.det(Block(kind, part).jacobians(nodes, at))
            for part in np.array_split(block.cells, max(1, len(block.cells) // 4000))
        ]
    )
    turned = volume.mean(1) < 0
    volume[turned] *= -1
    bad = volume.min(1) <= THIN * np.abs(volume).mean()
    if bad.any():
        places = nodes[block.cells[np.argmax(bad)]].mean(0)
        where = ", ".join(f"{axis} = {value:.6g}" for axis, value in zip(DIRECTIONS, places, strict=False))
        raise file_fault(
            path,
            f"has {int(bad.sum())} of {len(bad)} cells that are flat or turned inside out, the first near {where} mm",
            "repair the mesh: check its quality where the surface is strongly curved",
        )
    cells = block.cells.copy()
    cells[turned] = cells[turned][:, kind.mirrored]
    return Block(kind, cells)


def _with_names(raw: RawMesh, number: Index, nodes: Array, blocks: tuple[Block, ...], path: str) -> FileMesh:
    dim, count = nodes.shape[1], len(nodes)
    side_kind = cell_kind(blocks[0].kind.side_kind)
    sides = np.concatenate([b.cells[:, b.kind.sides].reshape(-1, len(side_kind.points)) for b in blocks])
    keys = corner_keys(sides[:, : side_kind.corners], count)
    _, first, times = np.unique(keys, return_index=True, return_counts=True)
    if (times > 2).any():
        raise file_fault(path, "has faces that belong to more than two cells", "look for cells that are there twice")
    outer = times == 1
    skin = sides[np.sort(first[outer])]
    skin_keys = corner_keys(skin[:, : side_kind.corners], count)
    order = np.argsort(skin_keys)
    finder = Sides(blocks, count)
    faces: dict[str, list[Index]] = {}
    sets: dict[str, list[Block]] = {}
    points = {name: np.unique(number[dots]) for name, dots in raw.dots}
    for name, cells in raw.groups:
        kind = cell_kind(cells.kind)
        if kind.dim == dim:
            continue
        corners = number[_corners(cells)]
        if kind.dim == dim - 1:
            wanted = corner_keys(corners, count)
            at = order[np.minimum(np.searchsorted(skin_keys[order], wanted), order.size - 1)]
            on_skin = skin_keys[at] == wanted
            if on_skin.any():
                faces.setdefault(name, []).append(at[on_skin])
            corners = corners[~on_skin]
        if len(corners):
            inside = finder.block(kind, corners)
            if (inside.cells < 0).any():
                raise file_fault(
                    path, f"{name!r} does not fit the cells: its sides are no sides of theirs", "mesh both in one go"
                )
            sets.setdefault(name, []).append(inside)
    return FileMesh(
        dim=dim,
        nodes=nodes,
        blocks=blocks,
        skin=Block(side_kind, skin),
        faces={name: np.unique(np.concatenate(many)) for name, many in faces.items()},
        sets={name: tuple(many) for name, many in sets.items()},
        points={name: dots[dots >= 0] for name, dots in points.items()},
    )


def _name_faults(part: MeshPart, mesh: FileMesh, cases: Sequence[FaceCase]) -> list[Fault]:
    faults = []
    asked = [(f"support[{i}].face", s.face, mesh.names) for i, s in enumerate(part.supports, 1)]
    outer = sorted(mesh.faces)
    asked += [("watch", face, outer) for face in part.watch]
    asked += [("load.face", face, outer) for face in dict.fromkeys(case.face for case in cases)]
    for field, face, known in asked:
        if face in known:
            continue
        if face in mesh.names:
            what = "is no outer face of the mesh but lies inside it, or is an edge or a point"
        else:
            what = "is no face of the mesh"
        listed = f", which has {', '.join(known)}" if known else ", which names none"
        faults.append(Fault(field, face, what + listed, nearest(face, known)))
    return faults


def _dimension_faults(part: MeshPart, mesh: FileMesh, cases: Sequence[FaceCase]) -> list[Fault]:
    faults = []
    if mesh.dim == 2 and part.thickness_mm is None:
        faults.append(Fault("thickness_mm", MISSING, "is missing; a plane mesh is a plate: say how thick it is"))
    if mesh.dim == 3 and part.thickness_mm is not None:
        faults.append(Fault("thickness_mm", part.thickness_mm, "does not go with a solid mesh", "leave it out"))
    if mesh.dim == 2:
        for i, support in enumerate(part.supports, 1):
            if "z" in support.fixed:
                faults.append(Fault(f"support[{i}].fixed", "z", "a plane mesh moves along x and y only", "leave z out"))
        for case in cases:
            if case.traction[2]:
                faults.append(
                    Fault("load.z_MPa", case.face, "a plane mesh is loaded along x and y only", "leave z out")
                )
    return faults
