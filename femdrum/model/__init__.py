"""What the engineer draws: parts, cutouts, materials, loads. Frozen, checked, no numerics."""

from .accuracy import Accuracy
from .cutout import Circle, Cutout, Ellipse, Obround, Slot
from .load import Axial, Biaxial, FacePressure, FaceTraction, Load, Rotation, Shear, Tension
from .material import Material, grades, steel
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
    "FaceTraction",
    "Load",
    "Material",
    "Obround",
    "Plate",
    "PlateRow",
    "Ring",
    "Rotation",
    "Shear",
    "Slot",
    "Tension",
    "grades",
    "steel",
]
