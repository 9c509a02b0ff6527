"""A drum's end in words and derived numbers: nominal stress of the stub, what was modelled, the published shoulder fits."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ..errors import OutsideRange
from ..figure import Figure
from ..handbook.shoulder import shoulder_fits, shoulder_kt
from ..model.drum_end import DrumEnd, DrumEndLoads
from ..model.material import Material
from ..provenance import computed
from ..quantity import Quantity
from ..units import density_t_mm3, omega_rad_s
from .answer import Comparison

if TYPE_CHECKING:
    from .drum_end_toes import Throat

__all__ = ["end_comparisons", "end_figures", "end_notes", "nominal_stub_MPa"]

BEAM = computed("the stub as a beam, plane sections stay plane")
BALANCE = computed("balance of forces on the finite element mesh")
# a disc at least this thick against the stub's diameter is near a long shoulder; see tests/exact/test_drum_end.py
THICK_DISC = 1.0


def nominal_stub_MPa(end: DrumEnd, case: str, value: float) -> float:
    """Nominal stress of the stub at the disc's face: F/A, T r/Ip (shear), M r/I; the force at the bearing bends there by
    force times stub length.
    """
    a, b = 0.5 * end.stub_bore_mm, end.stub_radius_mm
    area, inertia = math.pi * (b**2 - a**2), 0.25 * math.pi * (b**4 - a**4)
    if case == "thrust":
        return value / area
    if case == "torsion":
        return value * b / (2 * inertia)
    moment = value * end.stub_length_mm if case == "shear" else value
    return moment * b / inertia


def end_figures(end: DrumEnd, loads: DrumEndLoads, material: Material, throats: Sequence[Throat]) -> tuple[Figure, ...]:
    """Derived numbers: nominal stresses of the stub, speed of the shell, length of shell modelled, throats."""
    out = []
    for case, value, formula in (
        ("thrust", loads.thrust_N, "F / A"),
        ("torsion", loads.torque_Nmm, "T r / Ip"),
        ("bending", loads.bending_Nmm, "M r / I"),
        ("shear", loads.shear_N, "F L r / I, L to the bearing"),
    ):
        if value:
            what = f"nominal stress of the stub at the disc's face, {case}"
            out.append(Figure(what, nominal_stub_MPa(end, case, value), "MPa", formula, BEAM))
    if loads.speed_rpm:
        omega = omega_rad_s(loads.speed_rpm)
        stress = density_t_mm3(material.density_kg_m3) * (omega * end.shell_outer_radius_mm) ** 2
        out.append(Figure("rotation, ρ ω² R² at the shell's outside", stress, "MPa", "ρ ω² R²", computed("definition")))
    length = Figure(
        "length of shell modelled",
        end.modelled_shell_mm,
        "mm",
        "5 √(R t), or as given",
        computed("decay of a thin shell"),
    )
    out.append(length)
    for throat in throats:
        formula = "√(σ⊥² + τ⊥² + τ∥²), force / throat"
        for what, values, how in (
            ("steady", throat.steady_MPa, formula),
            (
                "rotating amplitude of",
                throat.rotating_amplitude_MPa,
                f"{formula}; at most: τ∥ peaks a quarter turn apart",
            ),
        ):
            text = f"{what} nominal throat stress, {throat.side} weld"
            out.append(Figure(text, math.sqrt(float(values @ values)), "MPa", how, BALANCE))
    return tuple(out)


def end_comparisons(end: DrumEnd, kt: Mapping[str, Quantity]) -> tuple[Comparison, ...]:
    """Kt at the stub's fillet beside the published shoulder fits, for the loads that are there; refusals with reason."""
    out = []
    for case in ("thrust", "torsion", "bending"):
        ours = kt.get(case)
        if ours is None:
            continue
        for fit in shoulder_fits(case):
            what = f"Kt at the stub's fillet, {case}: {fit.label}"
            value, note = None, _remark(end, case, fit.note)
            if end.stub_bore_mm:
                note = "refused: the fit is for a solid shaft"
            else:
                try:
                    value = shoulder_kt(
                        fit,
                        large_diameter_mm=2 * end.shell_inner_radius_mm,
                        small_diameter_mm=end.stub_diameter_mm,
                        fillet_radius_mm=end.fillet_radius_mm,
                    )
                except OutsideRange as refusal:
                    note = f"refused: {refusal}"
            out.append(Comparison(what, ours.value, ours.band, value, str(fit.provenance), note))
    return tuple(out)


def _remark(end: DrumEnd, case: str, note: str) -> str:
    ratio = end.disc_thickness_mm / end.stub_diameter_mm
    if case == "torsion":
        return f"D is the disc's diameter. {note}"
    bends = (
        f"the disc is {ratio:.2g} stub diameters thick and bends, which raises the stress beyond any shoulder fit"
        if ratio < THICK_DISC
        else f"the disc is {ratio:.2g} stub diameters thick, near a long shoulder"
    )
    return f"D is the disc's diameter; {bends}. {note}"


def end_notes(end: DrumEnd, loads: DrumEndLoads) -> tuple[str, ...]:
    """What was modelled and what was not."""
    notes = [
        "Body of revolution: shell end, disc, stub and weld in their section, with the first two harmonics around the axis.",
        f"{end.modelled_shell_mm:.0f} mm of plain shell are modelled up to a cut. Under rotation, thrust and torque the cut "
        "stays plane and is free to grow; under bending and shear it carries the stress of a beam.",
        "Slots, hammers and stiffeners in the shell are not in the model; nor is what ovals the drum.",
        "The stub ends at the middle of the bearing with the stress of a beam: no bearing seat, no keyway, no press fit, no "
        "contact and no further shaft beyond.",
        "Disc and stub are one piece.",
        _weld_note(end),
        _toe_note(end),
    ]
    if loads.bending_Nmm or loads.shear_N:
        notes.append(
            "Bending and shear stand in space, in one plane: in the drum their stress runs around once a revolution. The peak "
            "is the largest over the turn."
        )
    if loads.speed_rpm:
        notes.append("Rotation is that of the modelled parts alone; nothing hangs on the shell.")
    notes.append("Linear elastic, small strains, no residual stress.")
    return tuple(notes)


def _weld_note(end: DrumEnd) -> str:
    welds = [
        f"{leg:g} mm leg {side}"
        for side, leg in (("inside", end.inside_leg_mm), ("outside", end.outside_leg_mm))
        if leg
    ]
    if end.penetration == "full":
        root = "full penetration along the disc's rim, so there is no root"
    else:
        root = (
            "the disc's rim touches the shell without being fused: a gap of no width, free on both sides, whose faces do not "
            "press on each other. Its roots are cracks' tips without a finite stress: judge them by the throat's nominal "
            "stress; an effective notch at the root is not modelled"
        )
    return f"Fillet weld with {' and '.join(welds)}; {root}."


def _toe_note(end: DrumEnd) -> str:
    if end.toe_radius_mm:
        return (
            f"Weld toes are rounded with {end.toe_radius_mm:g} mm, tangent to plate and weld face (effective notch stress). "
            "Hot spot stresses are read from the same field, distances counted from the sharp toe."
        )
    return (
        "Weld toes are sharp: their stress has no finite value, and is read at stated distances (structural hot spot)."
    )
