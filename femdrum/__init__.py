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
    "Accident": "model.retention_input",
    "Accuracy": "model.accuracy",
    "Answer": "assess.answer",
    "Axial": "model.load",
    "BalanceInput": "model.balance_input",
    "Bar": "model.machine",
    "BeltPull": "model.load",
    "Bending": "model.load",
    "Biaxial": "model.load",
    "Bolt": "model.clamp",
    "Circle": "model.cutout",
    "Clamp": "model.clamp",
    "ClampContact": "model.clamp_contact",
    "Condition": "model.condition",
    "CrackInput": "model.crack_input",
    "Cutting": "model.load",
    "Drive": "model.drum_shaft",
    "DriveTorque": "model.load",
    "Drum": "model.drum",
    "DrumEnd": "model.drum_end",
    "DrumEndLoads": "model.drum_end",
    "Duty": "model.duty",
    "EdgeStress": "edge",
    "Ellipse": "model.cutout",
    "FaceLoads": "rotor.bar_loads",
    "FacePressure": "model.load",
    "FaceSupport": "model.mesh_part",
    "FaceTraction": "model.load",
    "FemdrumError": "errors",
    "Finish": "model.finish",
    "FlankPressure": "model.load",
    "FlankShear": "model.load",
    "FrettingPlace": "rotor.wear",
    "Hammer": "model.hammer",
    "HammerState": "rotor.bodies",
    "Hit": "model.retention_input",
    "Impact": "model.load",
    "InputFault": "errors",
    "InternalPressure": "model.load",
    "Jam": "model.load",
    "LifeInput": "model.life_input",
    "Limit": "model.machine",
    "Machine": "model.machine",
    "MassBolts": "model.balance_input",
    "MassPositions": "model.balance_input",
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
    "ReleaseAsked": "model.retention_input",
    "RestUnbalance": "rotor.running",
    "RetentionInput": "assess.retention_asked",
    "Reversal": "model.load",
    "Ring": "model.ring",
    "Rotation": "model.load",
    "RoundSeat": "model.round_seat",
    "RotorBearing": "model.drum_shaft",
    "RotorMass": "model.drum_shaft",
    "RotorPart": "model.machine",
    "RotorWanted": "assess.whole_drum_input",
    "Running": "rotor.running",
    "ScatterInput": "model.scatter_input",
    "Seat": "model.clamp",
    "SeatError": "model.retention_input",
    "SelfWeight": "model.load",
    "ShaftStrength": "rotor.shaft_strength",
    "Shear": "model.load",
    "Slot": "model.cutout",
    "SlotPart": "model.hammer",
    "Stop": "model.clamp",
    "StubShaft": "model.drum_shaft",
    "Tension": "model.load",
    "ThroughBar": "model.load",
    "TipForce": "model.load",
    "TipHit": "rotor.running",
    "Torsion": "model.load",
    "Transverse": "model.load",
    "Turning": "model.retention_input",
    "Unbalance": "model.load",
    "Verdict": "quantity",
    "WearAsked": "model.retention_input",
    "Wedge": "model.clamp",
    "WedgeClamp": "model.load",
    "WedgePack": "model.contact_input",
    "WeldDetail": "model.weld",
    "balance": "assess.balance",
    "best_radius": "assess.best_radius",
    "clamp_patches": "assess.contact",
    "compare": "study.compare_results",
    "life": "assess.life",
    "rainflow": "strength.rainflow",
    "read_record": "rotor.balance_record",
    "retention": "assess.retention",
    "solve": "assess.solve",
    "solve_all": "assess.solve",
    "solve_drum_end": "assess.drum_end",
    "solve_round_seat": "assess.clamp_contact_round",
    "solve_wedge_pack": "assess.contact",
    "steel": "model.material",
    "whole_drum": "assess.whole_drum",
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
