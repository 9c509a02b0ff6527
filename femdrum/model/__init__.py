"""What the engineer draws: parts, cutouts, materials, loads, the machine, conditions. Frozen, checked, no numerics."""

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
