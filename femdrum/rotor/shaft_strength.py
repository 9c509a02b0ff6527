"""A round shaft by bending and torsion: diameters and safeties by four criteria, and the notches of its shoulders.

A shaft of diameter d under moments and torques, each with a mean and an amplitude, by distortion energy. Units: any set that
fits together; here N, mm, MPa. Amplitude is half the range. Every formula takes ultimate and yield strength and the
endurance limit of the part itself (size, surface and survival already in it), as an amplitude.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..handbook.fit_formulas import Fit
from ..handbook.shoulder import shoulder_fits, shoulder_kt
from ..model.check import Checks
from ..provenance import Provenance, common_practice, computed, published

__all__ = [
    "CRITERIA",
    "PRESS_FIT",
    "ShaftDuty",
    "ShaftStrength",
    "first_yield_safety",
    "notch_factor",
    "section_modulus_mm3",
    "shaft_diameter_mm",
    "shaft_safety",
    "shoulder_notch",
]

CRITERIA = ("goodman", "gerber", "elliptic", "soderberg")
DE: Provenance = published("Shigley's Mechanical Engineering Design, shafts by distortion energy, problem 7-1")
NOMINAL: Provenance = computed("plane sections of a round shaft, bore taken off")
SENSITIVE = common_practice("full notch sensitivity, Kf = Kt, is on the safe side; below 1 only from a test or a chart")
PRESS_FIT = common_practice("end of a press fit or of a keyway: notch factor 2 to 3")


@dataclass(frozen=True, kw_only=True)
class ShaftDuty:
    """Moments and torques of one section, N mm, amplitude and mean, and their fatigue notch factors."""

    bending_amplitude_Nmm: float = 0.0
    bending_mean_Nmm: float = 0.0
    torque_amplitude_Nmm: float = 0.0
    torque_mean_Nmm: float = 0.0
    bending_notch_factor: float = 1.0
    torsion_notch_factor: float = 1.0

    def __post_init__(self) -> None:
        checks = Checks()
        names = ("bending_amplitude_Nmm", "bending_mean_Nmm", "torque_amplitude_Nmm", "torque_mean_Nmm")
        good = [checks.number(n, getattr(self, n), least=0.0, way_out="a magnitude, in N mm") for n in names]
        for n in ("bending_notch_factor", "torsion_notch_factor"):
            checks.number(n, getattr(self, n), least=1.0, most=20.0, way_out="1 for a plain shaft")
        if all(good) and not any(getattr(self, n) for n in names):
            checks.add("bending_amplitude_Nmm", 0.0, "no load at all", "give at least one moment or torque")
        checks.done()

    @property
    def amplitude_Nmm(self) -> float:
        """sqrt(4 (Kf Ma)^2 + 3 (Kfs Ta)^2)."""
        return math.hypot(
            2 * self.bending_notch_factor * self.bending_amplitude_Nmm,
            math.sqrt(3) * self.torsion_notch_factor * self.torque_amplitude_Nmm,
        )

    @property
    def mean_Nmm(self) -> float:
        """sqrt(4 (Kf Mm)^2 + 3 (Kfs Tm)^2)."""
        return math.hypot(
            2 * self.bending_notch_factor * self.bending_mean_Nmm,
            math.sqrt(3) * self.torsion_notch_factor * self.torque_mean_Nmm,
        )


@dataclass(frozen=True, kw_only=True)
class ShaftStrength:
    """Endurance amplitude of the part, ultimate and yield strength, MPa. All three must be given."""

    endurance_amplitude_MPa: float
    ultimate_MPa: float
    yield_MPa: float

    def __post_init__(self) -> None:
        checks = Checks()
        good = [
            checks.positive(n, getattr(self, n), "of the part itself, in MPa")
            for n in ("endurance_amplitude_MPa", "ultimate_MPa", "yield_MPa")
        ]
        if all(good):
            if self.yield_MPa > self.ultimate_MPa:
                checks.add("yield_MPa", self.yield_MPa, f"must not exceed ultimate_MPa = {self.ultimate_MPa:g}")
            if self.endurance_amplitude_MPa > self.ultimate_MPa:
                allowed = f"must not exceed ultimate_MPa = {self.ultimate_MPa:g}"
                checks.add(
                    "endurance_amplitude_MPa", self.endurance_amplitude_MPa, allowed, "an amplitude, not a range"
                )
        checks.done()


def _needed_Nmm_per_MPa(criterion: str, duty: ShaftDuty, strength: ShaftStrength) -> float:
    """pi d^3 / (16 n): what the criterion asks of the section at safety 1, mm^3."""
    a, m = duty.amplitude_Nmm, duty.mean_Nmm
    se, su, sy = strength.endurance_amplitude_MPa, strength.ultimate_MPa, strength.yield_MPa
    if criterion == "goodman":
        return a / se + m / su
    if criterion == "soderberg":
        return a / se + m / sy
    if criterion == "elliptic":
        return math.hypot(a / se, m / sy)
    return 0.5 * a / se + math.hypot(0.5 * a / se, m / su)  # gerber: twice the root, halved


def shaft_diameter_mm(criterion: str, duty: ShaftDuty, strength: ShaftStrength, *, safety: float) -> float:
    """Least diameter of a solid shaft for endless life at a safety. Source: DE. Raises InputFault."""
    checks = Checks()
    checks.one_of("criterion", criterion, CRITERIA)
    checks.number("safety", safety, least=1.0, most=100.0, way_out="1.5 to 3 is common practice")
    checks.done()
    return float((16 * safety / math.pi * _needed_Nmm_per_MPa(criterion, duty, strength)) ** (1 / 3))


def shaft_safety(
    criterion: str, duty: ShaftDuty, strength: ShaftStrength, *, diameter_mm: float, bore_mm: float = 0.0
) -> float:
    """Safety of a shaft with a bore against fatigue, endless life. Source: DE. Raises InputFault."""
    checks = Checks()
    checks.one_of("criterion", criterion, CRITERIA)
    if checks.positive("diameter_mm", diameter_mm):
        checks.number("bore_mm", bore_mm, least=0.0, below=diameter_mm)
    checks.done()
    return section_modulus_mm3(diameter_mm, bore_mm) / _needed_Nmm_per_MPa(criterion, duty, strength)


def section_modulus_mm3(diameter_mm: float, bore_mm: float) -> float:
    """Polar section modulus: pi d^3 / 16 less the bore's share."""
    return math.pi / 16 * diameter_mm**3 * (1 - (bore_mm / diameter_mm) ** 4)


def first_yield_safety(duty: ShaftDuty, strength: ShaftStrength, *, diameter_mm: float, bore_mm: float = 0.0) -> float:
    """Safety against first yield of the nominal section at amplitude and mean together (no notch factors)."""
    checks = Checks()
    if checks.positive("diameter_mm", diameter_mm):
        checks.number("bore_mm", bore_mm, least=0.0, below=diameter_mm)
    checks.done()
    bending = duty.bending_amplitude_Nmm + duty.bending_mean_Nmm
    torque = duty.torque_amplitude_Nmm + duty.torque_mean_Nmm
    return (
        strength.yield_MPa * section_modulus_mm3(diameter_mm, bore_mm) / math.hypot(2 * bending, math.sqrt(3) * torque)
    )


def notch_factor(kt: float, *, sensitivity: float = 1.0) -> float:
    """Fatigue notch factor 1 + q (Kt - 1); q = 1 unless given: SENSITIVE. Raises InputFault."""
    checks = Checks()
    checks.number("kt", kt, least=1.0)
    checks.number("sensitivity", sensitivity, least=0.0, most=1.0)
    checks.done()
    return 1 + sensitivity * (kt - 1)


def shoulder_notch(
    case: str, *, large_diameter_mm: float, small_diameter_mm: float, fillet_radius_mm: float
) -> tuple[float, Fit, str]:
    """Kt of a shoulder in "bending" or "torsion" on the small section, the fit it comes from, and a note.

    A part wider than the fit knows (a stub on an end disc) is taken as the widest one that it knows, which a note says:
    beyond that the wide part hardly matters, while a thin disc bends, which no fit knows. Raises InputFault, OutsideRange.
    """
    checks = Checks()
    checks.one_of("case", case, ("bending", "torsion"))
    good = checks.positive("fillet_radius_mm", fillet_radius_mm)
    good &= checks.positive("small_diameter_mm", small_diameter_mm)
    if good:
        checks.number("large_diameter_mm", large_diameter_mm, above=small_diameter_mm)
    checks.done()
    fit = shoulder_fits(case)[0]
    widest = fit.limits.get("large_over_small")
    most = math.inf if widest is None else small_diameter_mm * widest.most
    note = ""
    if large_diameter_mm > most:
        note = (
            f"Kt in {case} ({fit.label}) for a step to {most:.4g} mm, the widest that it knows; the part itself steps to "
            f"{large_diameter_mm:.4g} mm."
        )
    kt = shoulder_kt(
        fit, large_diameter_mm=min(large_diameter_mm, most), small_diameter_mm=small_diameter_mm,
        fillet_radius_mm=fillet_radius_mm,
    )  # fmt: skip
    return float(kt), fit, note
