"""What the engineer draws: parts, cutouts, materials, loads. Frozen, checked, no numerics."""

from .accuracy import Accuracy
from .cutout import Circle, Cutout, Ellipse, Obround, Slot
from .load import Axial, Biaxial, FacePressure, FaceTraction, Load, Rotation, Shear, Tension
from .material import Material, grades, steel
from .mesh_part import FaceSupport, MeshPart, Probe
from .plate import Plate, PlateRow
from .ring import Ring

__all__ = [
    "Accuracy",
    "Axial",
    "Biaxial",
    "Circle",
    "Cutout",
    "Ellipse",
    "FacePressure",
    "FaceSupport",
    "FaceTraction",
    "Load",
    "Material",
    "MeshPart",
    "Obround",
    "Plate",
    "PlateRow",
    "Probe",
    "Ring",
    "Rotation",
    "Shear",
    "Slot",
    "Tension",
    "grades",
    "steel",
]
