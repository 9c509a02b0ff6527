"""femdrum: the stress at the slots of a grinder drum, with its error, laid against what is known exactly.

>>> import femdrum as fd
>>> plate = fd.Plate(length_mm=800, width_mm=200, thickness_mm=10, cutout=fd.Circle(diameter_mm=40))
>>> answer = fd.solve(plate, fd.Tension(stress_MPa=100), fd.steel("S355"), error=0.005)
>>> round(float(answer.kt_gross), 2)
3.15
"""

from __future__ import annotations

from typing import Any

__version__ = "0.1.0"

# public name -> module that holds it; loaded on first use, so that `import femdrum` stays light
_HOME = {
    "Accuracy": "model.accuracy",
    "Answer": "assess.answer",
    "Axial": "model.load",
    "Bar": "model.machine",
    "BeltPull": "model.load",
    "Bending": "model.load",
    "Biaxial": "model.load",
    "Circle": "model.cutout",
    "Condition": "model.condition",
    "CrackInput": "model.crack_input",
    "Cutting": "model.load",
    "DriveTorque": "model.load",
    "Duty": "model.duty",
    "EdgeStress": "edge",
    "Ellipse": "model.cutout",
    "FacePressure": "model.load",
    "FaceSupport": "model.mesh_part",
    "FaceTraction": "model.load",
    "FemdrumError": "errors",
    "Finish": "model.finish",
    "FlankPressure": "model.load",
    "FlankShear": "model.load",
    "Impact": "model.load",
    "InputFault": "errors",
    "InternalPressure": "model.load",
    "Jam": "model.load",
    "LifeInput": "model.life_input",
    "Limit": "model.machine",
    "Machine": "model.machine",
    "Material": "model.material",
    "MeshPart": "model.mesh_part",
    "Obround": "model.cutout",
    "OpposedPull": "model.load",
    "Overspeed": "model.load",
    "PlaneState": "assess.best_radius_edge",
    "Plate": "model.plate",
    "PlateRow": "model.plate",
    "Probe": "model.mesh_part",
    "Quantity": "quantity",
    "Reversal": "model.load",
    "Ring": "model.ring",
    "Rotation": "model.load",
    "RotorPart": "model.machine",
    "ScatterInput": "model.scatter_input",
    "SelfWeight": "model.load",
    "Shear": "model.load",
    "Slot": "model.cutout",
    "Tension": "model.load",
    "ThroughBar": "model.load",
    "TipForce": "model.load",
    "Torsion": "model.load",
    "Transverse": "model.load",
    "Unbalance": "model.load",
    "Verdict": "quantity",
    "WedgeClamp": "model.load",
    "WeldDetail": "model.weld",
    "best_radius": "assess.best_radius",
    "life": "assess.life",
    "rainflow": "strength.rainflow",
    "solve": "assess.solve",
    "solve_all": "assess.solve",
    "steel": "model.material",
}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    if name in _HOME:
        from importlib import import_module

        value = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
        globals()[name] = value
        return value
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
