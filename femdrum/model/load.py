"""Loads as the engineer names them. Tension positive. Each knows which parts can carry it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from ..errors import MISSING
from .check import Checks

__all__ = ["LOADS", "Axial", "Biaxial", "FacePressure", "FaceTraction", "Load", "Rotation", "Shear", "Tension"]

PLATES = ("plate", "plate_row")


@dataclass(frozen=True, kw_only=True)
class Tension:
    """Uniform pull on the plate's ends (direction "x") or sides ("y"); gross stress in MPa, negative pushes."""

    kind: ClassVar[str] = "tension"
    parts: ClassVar[tuple[str, ...]] = PLATES
    stress_MPa: float
    direction: str = "x"
    name: str = "tension"

    def __post_init__(self) -> None:
        checks = Checks()
        _nonzero(checks, "stress_MPa", self.stress_MPa)
        checks.one_of("direction", self.direction, ("x", "y"))
        _named(checks, self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Biaxial:
    """Uniform pulls along x and y together, gross stresses in MPa."""

    kind: ClassVar[str] = "biaxial"
    parts: ClassVar[tuple[str, ...]] = PLATES
    stress_x_MPa: float
    stress_y_MPa: float
    name: str = "biaxial"

    def __post_init__(self) -> None:
        checks = Checks()
        good = checks.number("stress_x_MPa", self.stress_x_MPa) & checks.number("stress_y_MPa", self.stress_y_MPa)
        if good and self.stress_x_MPa == 0.0 and self.stress_y_MPa == 0.0:
            checks.add("stress_x_MPa", 0.0, "must not be zero together with stress_y_MPa", "leave the load out")
        _named(checks, self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Shear:
    """Uniform shear on all four edges of the plate in MPa; positive turns the +x end towards +y."""

    kind: ClassVar[str] = "shear"
    parts: ClassVar[tuple[str, ...]] = PLATES
    shear_MPa: float
    name: str = "shear"

    def __post_init__(self) -> None:
        checks = Checks()
        _nonzero(checks, "shear_MPa", self.shear_MPa)
        _named(checks, self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Rotation:
    """Steady speed about the drum's axis.

    hung_mass_kg: what hangs on the edge of each slot (0: empty slots), with its centre of gravity at
    hung_radius_mm from the axis. It pulls outward with m r omega^2, spread along the slot's whole edge,
    zero at both rims and parabolic through the wall.
    """

    kind: ClassVar[str] = "rotation"
    parts: ClassVar[tuple[str, ...]] = ("ring",)
    speed_rpm: float
    hung_mass_kg: float = 0.0
    hung_radius_mm: float | None = None
    name: str = "rotation"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("speed_rpm", self.speed_rpm, above=0.0, most=100_000.0)
        if checks.number("hung_mass_kg", self.hung_mass_kg, least=0.0) and (
            self.hung_mass_kg > 0 or self.hung_radius_mm is not None
        ):
            value: object = MISSING if self.hung_radius_mm is None else self.hung_radius_mm
            checks.positive("hung_radius_mm", value, "radius of the hung mass's centre of gravity")
        _named(checks, self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Axial:
    """Pull along the drum's axis: stress on the plain shell, or the force on its cross-section; one of the two."""

    kind: ClassVar[str] = "axial"
    parts: ClassVar[tuple[str, ...]] = ("ring",)
    stress_MPa: float | None = None
    force_kN: float | None = None
    name: str = "axial"

    def __post_init__(self) -> None:
        checks = Checks()
        if self.stress_MPa is not None and self.force_kN is not None:
            checks.add("force_kN", self.force_kN, f"contradicts stress_MPa = {self.stress_MPa}", "give one of the two")
        elif self.force_kN is not None:
            _nonzero(checks, "force_kN", self.force_kN)
        else:
            _nonzero(checks, "stress_MPa", MISSING if self.stress_MPa is None else self.stress_MPa)
        _named(checks, self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class FacePressure:
    """Pressure on a named face of a mesh, MPa; positive pushes on the face, negative pulls."""

    kind: ClassVar[str] = "face_pressure"
    parts: ClassVar[tuple[str, ...]] = ("mesh",)
    face: str
    pressure_MPa: float
    name: str = "face_pressure"

    def __post_init__(self) -> None:
        checks = Checks()
        _face(checks, self.face)
        _nonzero(checks, "pressure_MPa", self.pressure_MPa)
        _named(checks, self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class FaceTraction:
    """Uniform traction on a named face of a mesh, MPa, by its components."""

    kind: ClassVar[str] = "face_traction"
    parts: ClassVar[tuple[str, ...]] = ("mesh",)
    face: str
    x_MPa: float = 0.0
    y_MPa: float = 0.0
    z_MPa: float = 0.0
    name: str = "face_traction"

    def __post_init__(self) -> None:
        checks = Checks()
        _face(checks, self.face)
        good = [checks.number(f, getattr(self, f)) for f in ("x_MPa", "y_MPa", "z_MPa")]
        if all(good) and self.x_MPa == self.y_MPa == self.z_MPa == 0.0:
            checks.add("x_MPa", 0.0, "all three components are zero", "give one of x_MPa, y_MPa, z_MPa")
        _named(checks, self.name)
        checks.done()


def _nonzero(checks: Checks, field: str, value: object) -> None:
    if checks.number(field, value) and value == 0:
        checks.add(field, value, "must not be zero", "leave the load out")


def _named(checks: Checks, name: object) -> None:
    if not isinstance(name, str) or not name.strip() or len(name) > 80:
        checks.add("name", name, "must be a text of 1 to 80 characters")


def _face(checks: Checks, face: object) -> None:
    if not isinstance(face, str) or not face:
        checks.add("face", face, "must be the name of a face in the mesh")


Load = Tension | Biaxial | Shear | Rotation | Axial | FacePressure | FaceTraction

LOADS: dict[str, Any] = {c.kind: c for c in (Tension, Biaxial, Shear, Rotation, Axial, FacePressure, FaceTraction)}
