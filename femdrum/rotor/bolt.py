"""Strength of a bolt: while it is tightened, under its working load, and in fatigue, with the bending of a skew seat.

Amplitudes are half of ranges. MPa on the stress area, N, mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import Fault, OutsideRange
from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..model.clamp import Bolt
from ..provenance import computed, memory, standard
from .bolt_table import CLASSES, PROFILE, proof_yield_MPa
from .given import need
from .preload import (
    UTILISATION,
    bolt_compliance_mm_N,
    bolt_friction,
    bolt_thread,
    load_share,
    parts_compliance_mm_N,
    scatter_factor,
)

__all__ = ["BoltStrength", "bolt_strength", "endurance_amplitude_MPa", "skew_bending_MPa"]

LIMIT = standard(
    "VDI 2230-1, section 5.5.3, threads rolled before and after heat treatment", "seen in several open codes"
)
BENT = computed("beam bent to the angle over its clamp length")
TWISTED = computed("von Mises of pull and thread torque in the stress section")
IN_SERVICE = memory("VDI 2230-1: half of the twist of tightening is left in service")
AREA = computed("pull over stress area")
# part of the twist of tightening that is left in service
TWIST_LEFT = 0.5
FATIGUE_MOST_MM = 40.0


@stated("bending of the bolt by a skew seat", "MPa", "sigma_b = E d theta / (2 l)", BENT)
def skew_bending_MPa(
    *, youngs_modulus_MPa: float, diameter_mm: float, skew_deg: float, clamp_length_mm: float
) -> float:
    """Bending stress of a bolt whose head sits at an angle to its thread, MPa: E d theta / (2 l). Raises InputFault."""
    need(
        positive={
            "youngs_modulus_MPa": youngs_modulus_MPa, "diameter_mm": diameter_mm, "clamp_length_mm": clamp_length_mm,
        },
        not_negative={"skew_deg": skew_deg},
    )  # fmt: skip
    return youngs_modulus_MPa * diameter_mm * math.radians(skew_deg) / (2 * clamp_length_mm)


@stated(
    "endurance amplitude of the bolt", "MPa", "0.85 (150 / d + 45), after heat treatment times (2 - F / F0.2)", LIMIT
)
def endurance_amplitude_MPa(*, diameter_mm: float, rolled: str = "before", preload_share: float | None = None) -> float:
    """Amplitude on the stress area that a bolt endures, MPa, up to 40 mm; 0.85 (150 / d + 45), whatever the mean.

    rolled "after" heat treatment: times 2 - preload_share, preload over the force at yield, from 0.3 to below 1.
    Raises OutsideRange beyond 40 mm or outside of that share; InputFault.
    """
    checks = Checks()
    checks.one_of("rolled", rolled, ("before", "after"))
    checks.positive("diameter_mm", diameter_mm)
    checks.done()
    if diameter_mm > FATIGUE_MOST_MM:
        raise OutsideRange(
            Fault("diameter_mm", diameter_mm, "the endurance formula holds up to 40 mm", "test, or use a smaller bolt")
        )
    limit = 0.85 * (150 / diameter_mm + 45)
    if rolled == "before":
        return limit
    if preload_share is None or not 0.3 <= preload_share < 1:
        raise OutsideRange(
            Fault(
                "preload_share",
                preload_share,
                "the gain of rolling after heat treatment is known from 0.3 to below 1 of the force at yield",
                "take rolled 'before', which is lower",
            )
        )
    return limit * (2 - preload_share)


@dataclass(frozen=True)
class BoltStrength:
    """Strength of one bolt. Shares are stress over what is allowed: 1 is just enough; amplitudes in MPa.

    tightening_share: over 90 % of yield, or over yield where tightening ends there; service_share: over yield, with working load and half of the twist;
    bent_share: the same with the bending of the skew seat at the worst fibre, which yields locally before the bolt does.
    bending_MPa: by the skew. amplitude_MPa: of the working load and the swing of the skew; endurance_MPa.
    """

    tightening_share: float
    service_share: float
    bent_share: float
    bending_MPa: float
    amplitude_MPa: float
    endurance_MPa: float
    load_share: float
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def fatigue_safety(self) -> float:
        """Endurance over amplitude; infinite without one."""
        return self.endurance_MPa / self.amplitude_MPa if self.amplitude_MPa > 0 else math.inf

    @property
    def holds(self) -> bool:
        """Neither tightening, nor service, nor fatigue exceeds what is allowed."""
        return self.tightening_share <= 1 and self.service_share <= 1 and self.fatigue_safety >= 1


def bolt_strength(
    bolt: Bolt, *, preload_most_N: float, working_most_N: float = 0.0, working_least_N: float = 0.0
) -> BoltStrength:
    """Strength of one bolt at its most preload under a working load that swings between two values, N, positive pulls.

    The working load's whole share Phi counts for the bolt. Raises InputFault.
    """
    checks = Checks()
    checks.number("preload_most_N", preload_most_N, least=0.0)
    if checks.number("working_most_N", working_most_N):
        checks.number("working_least_N", working_least_N, most=working_most_N, way_out="the lower end of the swing")
    checks.done()
    t = bolt_thread(bolt)
    tabled = proof_yield_MPa(bolt.property_class, t.diameter_mm)
    # a bolt tightened to its own yield is as strong as its preload shows
    by_yield = bolt.tightening in ("yield controlled", "angle controlled")
    yield_MPa = tabled * (scatter_factor(bolt) if by_yield else 1.0)
    usable = 1.0 if by_yield else UTILISATION
    low, _ = bolt_friction(bolt)
    phi = load_share(bolt_compliance_mm_N=bolt_compliance_mm_N(bolt), parts_compliance_mm_N=parts_compliance_mm_N(bolt))
    area, d0 = t.stress_area_mm2, t.stress_diameter_mm

    def mises(pull: float, friction: float, twist: float, bending: float = 0.0) -> float:
        torque = preload_most_N * (t.pitch_mm / (2 * math.pi) + 0.5 * 1.155 * t.pitch_diameter_mm * friction)
        # twist of a fully plastic section, as the assembly preload has it
        shear = twist * 12 * torque / (math.pi * d0**3)
        return math.sqrt((pull / area + bending) ** 2 + 3 * shear**2)

    # the preload stands; more friction means more twist at the same preload, less at the same torque: the low one belongs to it
    tight = mises(preload_most_N, low, 1.0)
    pull = preload_most_N + phi * max(working_most_N, 0.0)
    service = mises(pull, low, TWIST_LEFT)

    def bent(angle: float) -> float:
        return skew_bending_MPa(
            youngs_modulus_MPa=bolt.youngs_modulus_MPa, diameter_mm=t.diameter_mm, skew_deg=angle, clamp_length_mm=bolt.clamp_length_mm
        )  # fmt: skip

    bending = bent(bolt.skew_deg + bolt.skew_swing_deg)
    with_bending = mises(pull, low, TWIST_LEFT, bending)
    amplitude = 0.5 * phi * (working_most_N - working_least_N) / area + bent(bolt.skew_swing_deg)
    share = preload_most_N / (yield_MPa * area)
    before = endurance_amplitude_MPa(diameter_mm=t.diameter_mm)
    after_known = bolt.rolled == "after" and 0.3 <= share < 1
    limit = (
        endurance_amplitude_MPa(diameter_mm=t.diameter_mm, rolled="after", preload_share=share)
        if after_known
        else before
    )
    warnings = []
    if tight > 1.0001 * usable * yield_MPa:
        warnings.append(
            f"tightening uses {100 * tight / yield_MPa:.3g} % of the yield strength, more than {100 * usable:g} %"
        )
    if service > yield_MPa:
        warnings.append(
            f"pull and twist in service reach {service:.4g} MPa, above the yield strength of {yield_MPa:g} MPa"
        )
    elif with_bending > yield_MPa:
        warnings.append(
            f"the skew seat bends the bolt by {bending:.3g} MPa: with it the worst fibre yields and preload is lost; true the seat or put a spherical washer under the head"
        )
    if limit < amplitude:
        warnings.append(f"the amplitude of {amplitude:.3g} MPa is above the {limit:.3g} MPa that the thread endures")
    if bolt.rolled == "after" and not after_known:
        warnings.append(
            "outside of 0.3 to 1 of the force at yield nothing is gained by rolling after heat treatment: not counted"
        )
    figures = (
        Figure("stress area", area, "mm²", "pi / 4 ((d2 + d3) / 2)²", PROFILE),
        Figure("yield strength of the bolt", tabled, "MPa", "least Rp0.2", CLASSES),
        figure(load_share, phi),
        Figure("pull and twist of tightening", tight, "MPa", "von Mises, plastic twist", TWISTED),
        Figure("pull and twist in service", service, "MPa", "von Mises, half of the twist left", IN_SERVICE),
        figure(skew_bending_MPa, bending),
        Figure("amplitude of the bolt", amplitude, "MPa", "Phi (F_A,max - F_A,min) / (2 As), and the swing of the skew", AREA),
        figure(endurance_amplitude_MPa, limit),
    )  # fmt: skip
    notes = (
        "The endurance amplitude stands on the stress area and does not depend on the mean; bending by a seat whose skew swings adds to the amplitude, constant skew does not.",
        "The working load is taken to act under the head and at the thread (its whole share Phi counts): an upper bound for the bolt.",
        "Pressure under the head and stripping of the thread were not checked.",
    )
    return BoltStrength(
        tight / (usable * yield_MPa), service / yield_MPa, with_bending / yield_MPa, bending, amplitude, limit, phi,
        figures, notes, tuple(warnings),
    )  # fmt: skip
