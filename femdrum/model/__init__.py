"""What the engineer draws: parts, cutouts, materials, loads, the machine, conditions. Frozen, checked, no numerics."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .accuracy import Accuracy
    from .condition import Condition
    from .crack_input import CrackInput
    from .cutout import Circle, Cutout, Ellipse, Obround, Slot
    from .duty import Duty
    from .finish import Finish
    from .flank import Patch
    from .life_input import LifeInput
    from .load import (
        Axial,
        BeltPull,
        Bending,
        Biaxial,
        Cutting,
        DriveTorque,
        FacePressure,
        FaceTraction,
        FlankPressure,
        FlankShear,
        Impact,
        InternalPressure,
        Jam,
        Load,
        OpposedPull,
        Overspeed,
        Reversal,
        Rotation,
        SelfWeight,
        Shear,
        Tension,
        ThroughBar,
        TipForce,
        Torsion,
        Transverse,
        Unbalance,
        WedgeClamp,
    )
    from .machine import Bar, Limit, Machine, RotorPart
    from .material import Material, grades, steel
    from .mesh_part import FaceSupport, MeshPart, Probe
    from .plate import Plate, PlateRow
    from .ring import Ring
    from .scatter_input import ScatterInput
    from .weld import WeldDetail

# name -> file that holds it; loaded on first use, as no study uses all of them
_HOME = {
    "Accuracy": "accuracy",
    "Axial": "load",
    "Bar": "machine",
    "BeltPull": "load",
    "Bending": "load",
    "Biaxial": "load",
    "Circle": "cutout",
    "Condition": "condition",
    "CrackInput": "crack_input",
    "Cutout": "cutout",
    "Cutting": "load",
    "DriveTorque": "load",
    "Duty": "duty",
    "Ellipse": "cutout",
    "FacePressure": "load",
    "FaceSupport": "mesh_part",
    "FaceTraction": "load",
    "Finish": "finish",
    "FlankPressure": "load",
    "FlankShear": "load",
    "Impact": "load",
    "InternalPressure": "load",
    "Jam": "load",
    "LifeInput": "life_input",
    "Limit": "machine",
    "Load": "load",
    "Machine": "machine",
    "Material": "material",
    "MeshPart": "mesh_part",
    "Obround": "cutout",
    "OpposedPull": "load",
    "Overspeed": "load",
    "Patch": "flank",
    "Plate": "plate",
    "PlateRow": "plate",
    "Probe": "mesh_part",
    "Reversal": "load",
    "Ring": "ring",
    "Rotation": "load",
    "RotorPart": "machine",
    "ScatterInput": "scatter_input",
    "SelfWeight": "load",
    "Shear": "load",
    "Slot": "cutout",
    "Tension": "load",
    "ThroughBar": "load",
    "TipForce": "load",
    "Torsion": "load",
    "Transverse": "load",
    "Unbalance": "load",
    "WedgeClamp": "load",
    "WeldDetail": "weld",
    "grades": "material",
    "steel": "material",
}

__all__ = [
    "Accuracy",
    "Axial",
    "Bar",
    "BeltPull",
    "Bending",
    "Biaxial",
    "Circle",
    "Condition",
    "CrackInput",
    "Cutout",
    "Cutting",
    "DriveTorque",
    "Duty",
    "Ellipse",
    "FacePressure",
    "FaceSupport",
    "FaceTraction",
    "Finish",
    "FlankPressure",
    "FlankShear",
    "Impact",
    "InternalPressure",
    "Jam",
    "LifeInput",
    "Limit",
    "Load",
    "Machine",
    "Material",
    "MeshPart",
    "Obround",
    "OpposedPull",
    "Overspeed",
    "Patch",
    "Plate",
    "PlateRow",
    "Probe",
    "Reversal",
    "Ring",
    "Rotation",
    "RotorPart",
    "ScatterInput",
    "SelfWeight",
    "Shear",
    "Slot",
    "Tension",
    "ThroughBar",
    "TipForce",
    "Torsion",
    "Transverse",
    "Unbalance",
    "WedgeClamp",
    "WeldDetail",
    "grades",
    "steel",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f".{_HOME[name]}", __name__), name)
    globals()[name] = value
    return value
