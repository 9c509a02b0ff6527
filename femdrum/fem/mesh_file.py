"""Reading a mesh file: .msh through the mesher's own arrays, other open formats through the mesh reader.

Traps that this module is the wall against: readers that leave by `sys.exit` or print, names of faces lost on
the way for second-order cells, foreign node orders, cells turned inside out, shells and bars beside a solid.
"""

from __future__ import annotations

import contextlib
import io
import signal
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, FileFault, InputFault, MissingPart
from .cell_kinds import cell_kind
from .file_mesh import RawCells
from .foreign_orders import FOREIGN, GMSH

__all__ = ["RawMesh", "file_fault", "mesher", "read_raw"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FORMATS = (".msh", ".vtu", ".vtk", ".xdmf")
_GMSH_LOCK = threading.RLock()  # one global state


@dataclass(frozen=True)
class RawMesh:
    """points [n, 3] in the file's unit; cells of every dimension; groups: (name, cells); dots: (name, nodes)."""

    points: Array
    cells: tuple[RawCells, ...]
    groups: tuple[tuple[str, RawCells], ...]
    dots: tuple[tuple[str, Index], ...]


def file_fault(path: str, what: str, way_out: str = "") -> FileFault:
    """A fault of the mesh file."""
    shown = path if len(path) <= 55 else "..." + path[-52:]
    return FileFault(Fault("file", shown, what, way_out))


def read_raw(path: str) -> RawMesh:
    """What stands in the file. Raises FileFault where it is missing or no mesh, MissingPart for a reader's library."""
    file = Path(path)
    if not file.is_file():
        raise file_fault(path, "is a folder, not a mesh file" if file.is_dir() else "there is no such file")
    ending = file.suffix.lower()
    if ending not in FORMATS:
        raise file_fault(path, f"must end in {', '.join(FORMATS)}", "save the mesh in one of these formats")
    try:
        with file.open("rb") as handle:
            if not handle.read(1):
                raise file_fault(path, "is empty")
    except OSError as error:
        raise file_fault(path, f"cannot be read: {error.strerror}") from error
    raw = _read_msh(path) if ending == ".msh" else _read_other(path, ending)
    if not raw.points.size or not raw.cells:
        raise file_fault(path, "holds no mesh", "mesh the geometry before saving it")
    if not np.isfinite(raw.points).all():
        raise file_fault(path, "has nodes whose coordinates are no numbers")
    return raw


@contextlib.contextmanager
def mesher() -> Iterator[Any]:
    """The mesher with a model of its own, silent, one thread; inside a caller's session that is left as it was.

    It resets what the process does on a broken pipe when it starts; that is put back.
    """
    try:
        import gmsh
    except (ImportError, OSError) as error:
        raise MissingPart(f"gmsh cannot be loaded ({error}); run `femdrum doctor`") from error
    with _GMSH_LOCK:
        ours = not gmsh.isInitialized()
        pipe = getattr(signal, "SIGPIPE", None)
        handler = signal.getsignal(pipe) if pipe is not None else None
        if ours:
            gmsh.initialize(argv=[], readConfigFiles=False, interruptible=False)
            if pipe is not None and handler is not None and threading.current_thread() is threading.main_thread():
                signal.signal(pipe, handler)
            gmsh.option.setNumber("General.Terminal", 0)
            gmsh.option.setNumber("General.NumThreads", 1)
        before = None if ours else gmsh.model.getCurrent()
        try:
            gmsh.model.add("femdrum")
            yield gmsh
        finally:
            if ours:
                gmsh.finalize()
            else:
                gmsh.model.remove()
                gmsh.model.setCurrent(before)


def _read_msh(path: str) -> RawMesh:
    with mesher() as gmsh:
        try:
            gmsh.merge(path)
            return _gmsh_arrays(gmsh, path)
        except InputFault:
            raise
        except Exception as error:
            raise file_fault(path, f"is not a mesh that can be read: {' '.join(str(error).split())}") from error


def _gmsh_arrays(gmsh: Any, path: str) -> RawMesh:
    tags, xyz, _ = gmsh.model.mesh.getNodes()
    number = np.full(int(tags.max()) + 1 if tags.size else 1, -1, dtype=np.intp)
    number[tags.astype(np.intp)] = np.arange(tags.size)

    def cells(dim: int, entity: int) -> list[tuple[int, Index]]:
        types, _, nodes = gmsh.model.mesh.getElements(dim, entity)
        count = [gmsh.model.mesh.getElementProperties(t)[3] for t in types]
        return [(int(t), number[n.astype(np.intp)].reshape(-1, c)) for t, n, c in zip(types, nodes, count, strict=True)]

    def raw(kind: int, nodes: Index) -> RawCells:
        if kind not in GMSH:
            name = gmsh.model.mesh.getElementProperties(kind)[0]
            raise _not_taken(path, name.lower())
        _, _, _, _, local, _ = gmsh.model.mesh.getElementProperties(kind)
        at = np.asarray(local).reshape(nodes.shape[1], -1)
        return _ordered(GMSH[kind], 0.5 * (at + 1) if cell_kind(GMSH[kind]).tensor else at, nodes)

    everything = [raw(kind, nodes) for dim in (1, 2, 3) for kind, nodes in cells(dim, -1)]
    groups: list[tuple[str, RawCells]] = []
    dots: list[tuple[str, Index]] = []
    for dim, tag in gmsh.model.getPhysicalGroups():
        name = gmsh.model.getPhysicalName(dim, tag) or str(tag)
        for entity in gmsh.model.getEntitiesForPhysicalGroup(dim, tag):
            for kind, nodes in cells(dim, entity):
                if dim == 0:
                    dots.append((name, nodes.ravel()))
                else:
                    groups.append((name, raw(kind, nodes)))
    return RawMesh(np.asarray(xyz).reshape(-1, 3), tuple(everything), tuple(groups), tuple(dots))


def _not_taken(path: str, name: str) -> FileFault:
    return file_fault(
        path,
        f"holds cells of kind {name!r}",
        "triangles, quadrilaterals, tetrahedra and hexahedra of first or second order are taken",
    )


def _ordered(kind: str, at: Array, nodes: Index) -> RawCells:
    """Cells whose nodes stand at these reference points, in terms of the kind's own nodes."""
    distance = np.abs(cell_kind(kind).points[None] - at[:, None]).max(-1)
    return RawCells(kind, nodes, distance.argmin(1).astype(np.intp))


def _read_other(path: str, ending: str) -> RawMesh:
    import meshio

    readers: dict[str, Callable[[str], Any]] = {
        ".vtu": meshio.vtu.read, ".vtk": meshio.vtk.read, ".xdmf": meshio.xdmf.read,
    }  # fmt: skip
    said = io.StringIO()
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            mesh = readers[ending](path)
    except (ModuleNotFoundError, ImportError) as error:
        name = getattr(error, "name", None) or "h5py"
        raise MissingPart(f"reading {Path(path).name} needs {name}: pip install {name}") from error
    except (Exception, SystemExit) as error:
        reason = " ".join(str(error).split()) or type(error).__name__
        raise file_fault(path, f"is not a mesh that can be read: {reason}") from error
    points = np.zeros((len(mesh.points), 3))
    points[:, : mesh.points.shape[1]] = mesh.points
    numbers = [np.asarray(b.data, dtype=np.intp) for b in mesh.cells]
    raws: list[RawCells | None] = []
    for block, nodes in zip(mesh.cells, numbers, strict=True):
        if block.type == "vertex":
            raws.append(None)
        elif block.type in FOREIGN:
            kind, at = FOREIGN[block.type]
            raws.append(_ordered(kind, at, nodes))
        else:
            raise _not_taken(path, block.type)
    groups: list[tuple[str, RawCells]] = []
    dots: list[tuple[str, Index]] = []
    for name, chosen in _named(mesh):
        for raw, nodes, some in zip(raws, numbers, chosen, strict=True):
            if some.size and raw is None:
                dots.append((name, nodes[some].ravel()))
            elif some.size and raw is not None:
                groups.append((name, RawCells(raw.kind, raw.cells[some], raw.given)))
    return RawMesh(points, tuple(r for r in raws if r is not None), tuple(groups), tuple(dots))


def _named(mesh: Any) -> list[tuple[str, list[Index]]]:
    """Named cells: cell sets; names of tags; else whole-number cell data, 'data:value', or 'data' where 1 marks it."""
    out = [
        (name, [np.asarray([] if i is None else i, dtype=np.intp) for i in chosen])
        for name, chosen in mesh.cell_sets.items()
    ]
    names = {(int(tag), int(dim)): name for name, (tag, dim) in mesh.field_data.items()}
    dims = [0 if b.type == "vertex" else cell_kind(FOREIGN[b.type][0]).dim for b in mesh.cells]
    for key, blocks in mesh.cell_data.items():
        data = [np.asarray(b) for b in blocks]
        if any(d.ndim != 1 or d.dtype.kind not in "iub" for d in data):
            continue
        values = np.unique(np.concatenate(data)) if data else np.zeros(0, dtype=int)
        marks = set(values.tolist()) <= {0, 1}
        for value in values.tolist():
            for dim in sorted(set(dims)):
                some = [np.flatnonzero((d == value) & (own == dim)) for d, own in zip(data, dims, strict=True)]
                name = names.get((int(value), dim), key if marks else f"{key}:{value}")
                if any(s.size for s in some) and not (marks and value == 0):
                    out.append((name, some))
    return out
