"""Loads as the engineer names them, all of them; here those of plates and of meshes from files.

Tension positive. Each knows which parts can carry it. Loads of a ring stand in ring_loads.py, those reckoned from
the machine in machine_loads.py, those at a tip in tip_loads.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from .check import Checks
from .machine_loads import (
    MACHINE_LOADS,
    BeltPull,
    DriveTorque,
    Jam,
    Overspeed,
    Reversal,
    SelfWeight,
    ThroughBar,
    Unbalance,
)
from .ring_loads import (
    RING_LOADS,
    Axial,
    Bending,
    FlankPressure,
    FlankShear,
    InternalPressure,
    OpposedPull,
    Rotation,
    Torsion,
    Transverse,
    WedgeClamp,
)
from .tip_loads import TIP_LOADS, Cutting, Impact, TipForce

__all__ = [
    "LOADS",
    "Axial",
    "BeltPull",
    "Bending",
    "Biaxial",
    "Cutting",
    "DriveTorque",
    "FacePressure",
    "FaceTraction",
    "FlankPressure",
    "FlankShear",
    "Impact",
    "InternalPressure",
    "Jam",
    "Load",
    "OpposedPull",
    "Overspeed",
    "Reversal",
    "Rotation",
    "SelfWeight",
    "Shear",
    "Tension",
    "ThroughBar",
    "TipForce",
    "Torsion",
    "Transverse",
    "Unbalance",
    "WedgeClamp",
]

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
        checks.nonzero("stress_MPa", self.stress_MPa)
        checks.one_of("direction", self.direction, ("x", "y"))
        checks.text("name", self.name)
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
        checks.text("name", self.name)
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
        checks.nonzero("shear_MPa", self.shear_MPa)
        checks.text("name", self.name)
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
        checks.nonzero("pressure_MPa", self.pressure_MPa)
        checks.text("name", self.name)
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
        checks.text("name", self.name)
        checks.done()


def _face(checks: Checks, face: object) -> None:
    if not isinstance(face, str) or not face:
        checks.add("face", face, "must be the name of a face in the mesh")


Load = (
    Tension | Biaxial | Shear | FacePressure | FaceTraction
    | Rotation | Axial | Bending | Transverse | Torsion | InternalPressure | FlankPressure | FlankShear | WedgeClamp | OpposedPull
    | ThroughBar | DriveTorque | SelfWeight | BeltPull | Unbalance | Jam | Reversal | Overspeed
    | TipForce | Cutting | Impact
)  # fmt: skip

_PLATE_LOADS: dict[str, Any] = {c.kind: c for c in (Tension, Biaxial, Shear)}
_MESH_LOADS: dict[str, Any] = {c.kind: c for c in (FacePressure, FaceTraction)}

LOADS: dict[str, Any] = _PLATE_LOADS | RING_LOADS | TIP_LOADS | MACHINE_LOADS | _MESH_LOADS
