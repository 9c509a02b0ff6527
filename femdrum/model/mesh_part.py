"""A part given by a mesh from a file, with named faces: supports, probes and watched faces refer to the names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..errors import MISSING
from .check import Checks

__all__ = ["DIRECTIONS", "FaceSupport", "MeshPart", "Probe"]

DIRECTIONS = ("x", "y", "z")


def _text(checks: Checks, field: str, value: object, what: str) -> bool:
    if isinstance(value, str) and value.strip():
        return True
    missing = value is MISSING or value is None
    checks.add(field, MISSING if missing else value, f"{'is missing; ' if missing else ''}must be {what}")
    return False


@dataclass(frozen=True, kw_only=True)
class FaceSupport:
    """Displacements held at zero on a named face, edge or point of the mesh, in the directions of `fixed`."""

    face: str
    fixed: tuple[str, ...]

    def __post_init__(self) -> None:
        checks = Checks()
        _text(checks, "face", self.face, "the name of a face, an edge or a point of the mesh")
        given: object = self.fixed
        if isinstance(given, (str, list)):
            given = tuple(given)
            object.__setattr__(self, "fixed", given)
        if not isinstance(given, tuple) or not given:
            missing = given is MISSING or given is None
            checks.add(
                "fixed",
                MISSING if missing else given,
                f"{'is missing; ' if missing else ''}must list directions that are held, of 'x', 'y', 'z'",
                'such as fixed = ["x"]',
            )
        else:
            for direction in given:
                checks.one_of("fixed", direction, DIRECTIONS)
            if len({str(d) for d in given}) < len(given):
                checks.add("fixed", given, "names a direction twice")
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Probe:
    """A place at which the stress is wanted, in the coordinates of the mesh after `scale_to_mm`."""

    name: str
    x_mm: float
    y_mm: float
    z_mm: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        _text(checks, "name", self.name, "a text")
        for field in ("x_mm", "y_mm", "z_mm"):
            checks.number(field, getattr(self, field))
        checks.done()


@dataclass(frozen=True, kw_only=True)
class MeshPart:
    """A part whose mesh stands in a file.

    file: .msh, .vtu, .vtk or .xdmf. A solid (tetrahedra or hexahedra), or a plane mesh (triangles,
    quadrilaterals), which is a plate in plane stress of `thickness_mm`.
    supports: what is held. probes: places at which the stress is wanted.
    watch: names of the faces (plane: edges) on which the peak is looked for; empty: the whole surface.
    scale_to_mm: what one unit of length of the file is in mm (1000 for a mesh in metres).
    """

    kind: ClassVar[str] = "mesh"
    file: str
    supports: tuple[FaceSupport, ...] = ()
    probes: tuple[Probe, ...] = ()
    watch: tuple[str, ...] = ()
    thickness_mm: float | None = None
    scale_to_mm: float = 1.0

    def __post_init__(self) -> None:
        checks = Checks()
        _text(checks, "file", self.file, "the name of a mesh file")
        for field, cls in (("supports", FaceSupport), ("probes", Probe), ("watch", str)):
            value = getattr(self, field)
            if isinstance(value, list):
                value = tuple(value)
                object.__setattr__(self, field, value)
            if not isinstance(value, tuple) or not all(isinstance(v, cls) for v in value):
                what = "names of faces" if cls is str else f"{cls.__name__} objects"
                checks.add(field, value, f"must be a list of {what}")
                return checks.done()
        self._check_names(checks)
        if not self.supports:
            checks.add("supports", MISSING, "nothing is held, so the part could move freely", "add a support")
        if self.thickness_mm is not None:
            checks.positive("thickness_mm", self.thickness_mm)
        checks.positive("scale_to_mm", self.scale_to_mm, "1000 for a mesh in metres")
        return checks.done()

    def _check_names(self, checks: Checks) -> None:
        for face in self.watch:
            if not face.strip():
                checks.add("watch", face, "must be the name of a face in the mesh")
            elif self.watch.count(face) > 1:
                checks.add("watch", face, "is named twice")
        names = [p.name for p in self.probes]
        for name in sorted({n for n in names if names.count(n) > 1}):
            checks.add("probes", name, "is the name of more than one probe")
