"""A tip that meets a body: masses, impulse, and the peak force of a linear spring, an elastic or a yielding contact.

Masses in kg, speeds in m/s, energies in J, impulses in N s, forces in N, lengths in mm. The force acts on the tip
against its motion.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..provenance import Provenance, common_practice, computed, memory
from .refuse import need

__all__ = [
    "YIELD_PRESSURE_RATIO",
    "Impact",
    "contact_impact",
    "contact_modulus_MPa",
    "effective_tip_mass_kg",
    "hertz_impact",
    "hertz_time_coefficient",
    "impulse_Ns",
    "impulse_impact",
    "plastic_impact",
    "reduced_mass_kg",
    "spring_impact",
]

# mean pressure under a ball that has yielded fully, over the yield stress
YIELD_PRESSURE_RATIO = 3.0

MOMENTUM = computed("balance of momentum")
SPRING = computed("energy balance with a linear contact spring")
HERTZ = computed("energy balance with Hertz's contact law; agrees with the equation of motion, integrated")
PLASTIC = computed("energy balance with the area of full indentation, p = 3 Re (ratio recalled, not confirmed)")


@stated("effective mass of the rigid rotor at the tip", "kg", "m = J / r²", MOMENTUM)
def effective_tip_mass_kg(*, inertia_kg_m2: float, tip_radius_mm: float) -> float:
    """Mass that a tangential hit at the tip meets if the rotor is rigid, kg: J / r^2.

    In its first moments a hit on a hammer meets the hammer's own mass only. Raises InputFault.
    """
    need(positive={"inertia_kg_m2": inertia_kg_m2, "tip_radius_mm": tip_radius_mm})
    return inertia_kg_m2 / (1e-3 * tip_radius_mm) ** 2


@stated("reduced mass", "kg", "m_r = m1 m2 / (m1 + m2)", MOMENTUM)
def reduced_mass_kg(*, mass_kg: float, other_mass_kg: float | None) -> float:
    """Reduced mass of two bodies, kg; other_mass_kg = None: the other does not move. Raises InputFault."""
    need(positive={"mass_kg": mass_kg} | ({} if other_mass_kg is None else {"other_mass_kg": other_mass_kg}))
    return mass_kg if other_mass_kg is None else mass_kg * other_mass_kg / (mass_kg + other_mass_kg)


@stated("impulse of the hit", "N·s", "I = m_r v (1 + e)", MOMENTUM)
def impulse_Ns(*, reduced_mass_kg: float, speed_m_s: float, restitution: float) -> float:
    """Impulse, N s: m_r v (1 + e); e = 0 the bodies stay together, e = 1 they part as fast as they met.

    Raises InputFault.
    """
    need(
        positive={"reduced_mass_kg": reduced_mass_kg, "speed_m_s": speed_m_s},
        most={"restitution": (restitution, 1.0)},
        way_out={"restitution": "0 is a hit without rebound, 1 an elastic one"},
    )
    return reduced_mass_kg * speed_m_s * (1 + restitution)


@dataclass(frozen=True)
class Impact:
    """What one hit does, and by which model.

    model: "impulse", "spring", "hertz" or "plastic". peak_N: largest force. duration_s: length of the force; for
    "plastic" the time up to the peak, which is also the length of the half sine of equal peak and impulse.
    energy_J: m_r v^2 / 2, what the contact takes. momentum_Ns: m_r v. impulse_Ns: with the rebound of the model.
    approach_mm: how far the bodies have closed in at the peak, None where the model does not know.
    """

    model: str
    peak_N: float
    duration_s: float
    energy_J: float
    momentum_Ns: float
    impulse_Ns: float
    approach_mm: float | None
    formula: str
    provenance: Provenance

    @property
    def _time(self) -> tuple[str, Provenance]:
        if self.model == "impulse":
            return "declared", common_practice("an estimate, declared by the user")
        return TIMES[self.model], self.provenance

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure("energy of the hit", 1e-3 * self.energy_J, "kJ", "E = m_r v² / 2", MOMENTUM),
            Figure("momentum of the hit", self.momentum_Ns, "N·s", "m_r v", MOMENTUM),
            figure(impulse_Ns, self.impulse_Ns),
            Figure(f"peak force ({self.model})", 1e-3 * self.peak_N, "kN", self.formula, self.provenance),
            Figure(f"duration ({self.model})", 1e6 * self.duration_s, "µs", *self._time),
        )


TIMES = {
    "spring": "t = pi sqrt(m_r / k)",
    "hertz": "t = (4/5) Γ(2/5) Γ(1/2) / Γ(9/10) delta / v",
    "plastic": "t = (pi / 2) sqrt(m_r / (2 pi R p_d)), up to the peak",
}


def _impact(
    model: str, peak_N: float, duration_s: float, mass_kg: float, speed_m_s: float, restitution: float,
    approach_mm: float | None, formula: str, provenance: Provenance,
) -> Impact:  # fmt: skip
    momentum = mass_kg * speed_m_s
    return Impact(
        model, peak_N, duration_s, 0.5 * momentum * speed_m_s, momentum, momentum * (1 + restitution),
        approach_mm, formula, provenance,
    )  # fmt: skip


def impulse_impact(*, reduced_mass_kg: float, speed_m_s: float, restitution: float, duration_s: float) -> Impact:
    """A hit of declared duration and rebound: half sine with the impulse of the momentum balance. Raises InputFault."""
    need(positive={"duration_s": duration_s})
    impulse = impulse_Ns(reduced_mass_kg=reduced_mass_kg, speed_m_s=speed_m_s, restitution=restitution)
    peak = 0.5 * math.pi * impulse / duration_s
    formula = "F = (pi / 2) m_r v (1 + e) / t"
    return _impact("impulse", peak, duration_s, reduced_mass_kg, speed_m_s, restitution, None, formula, MOMENTUM)


def spring_impact(*, reduced_mass_kg: float, speed_m_s: float, stiffness_N_mm: float) -> Impact:
    """A hit through a linear contact spring: peak v sqrt(k m_r), half sine of pi sqrt(m_r / k). Raises InputFault."""
    need(
        positive={"reduced_mass_kg": reduced_mass_kg, "speed_m_s": speed_m_s, "stiffness_N_mm": stiffness_N_mm},
    )
    k = 1e3 * stiffness_N_mm  # N/m
    peak = speed_m_s * math.sqrt(k * reduced_mass_kg)
    duration = math.pi * math.sqrt(reduced_mass_kg / k)
    formula = "F = v sqrt(k m_r)"
    return _impact(
        "spring", peak, duration, reduced_mass_kg, speed_m_s, 1.0, peak / stiffness_N_mm, formula, SPRING
    )  # fmt: skip


@stated("contact modulus", "MPa", "1 / E* = (1 - nu1²) / E1 + (1 - nu2²) / E2", computed("Hertz's theory of contact"))
def contact_modulus_MPa(
    *,
    youngs_modulus_MPa: float,
    poissons_ratio: float,
    other_youngs_modulus_MPa: float | None = None,
    other_poissons_ratio: float | None = None,
) -> float:
    """Contact modulus E* of two bodies, MPa; of equal materials if the other is not given. Raises InputFault."""
    other_E = youngs_modulus_MPa if other_youngs_modulus_MPa is None else other_youngs_modulus_MPa
    other_nu = poissons_ratio if other_poissons_ratio is None else other_poissons_ratio
    need(
        positive={"youngs_modulus_MPa": youngs_modulus_MPa, "other_youngs_modulus_MPa": other_E},
        most={"poissons_ratio": (poissons_ratio, 0.5), "other_poissons_ratio": (other_nu, 0.5)},
    )
    return 1 / ((1 - poissons_ratio**2) / youngs_modulus_MPa + (1 - other_nu**2) / other_E)


@stated(
    "coefficient of the Hertz impact's duration", "-", "(4/5) Γ(2/5) Γ(1/2) / Γ(9/10)",
    memory("Hertz impact in textbooks on contact mechanics gives 2.94; the digits are computed here"),
)  # fmt: skip
def hertz_time_coefficient() -> float:
    """Duration of an elastic impact of a sphere over (deepest approach / speed): 2 int_0^1 dx / sqrt(1 - x^(5/2)).

    By gamma functions, 2.9433.
    """
    return 0.8 * math.gamma(0.4) * math.gamma(0.5) / math.gamma(0.9)


def hertz_impact(*, reduced_mass_kg: float, speed_m_s: float, radius_mm: float, contact_modulus_MPa: float) -> Impact:
    """A sphere of radius_mm on a flat, elastic throughout: an upper bound, at tip speed far above yield.

    k = 4/3 E* sqrt(R), F = k^(2/5) (5/4 m_r v^2)^(3/5). Raises InputFault.
    """
    need(
        positive={
            "reduced_mass_kg": reduced_mass_kg, "speed_m_s": speed_m_s, "radius_mm": radius_mm,
            "contact_modulus_MPa": contact_modulus_MPa,
        },
    )  # fmt: skip
    k = 4 / 3 * contact_modulus_MPa * math.sqrt(radius_mm)  # N / mm^1.5
    # kg (m/s)^2 to N mm
    peak = k**0.4 * (1.25e3 * reduced_mass_kg * speed_m_s**2) ** 0.6
    approach = (peak / k) ** (2 / 3)
    duration = hertz_time_coefficient() * 1e-3 * approach / speed_m_s
    formula = "F = k^(2/5) (5/4 m_r v²)^(3/5), k = 4/3 E* sqrt(R)"
    return _impact("hertz", peak, duration, reduced_mass_kg, speed_m_s, 1.0, approach, formula, HERTZ)


def plastic_impact(*, reduced_mass_kg: float, speed_m_s: float, radius_mm: float, yield_MPa: float) -> Impact:
    """A sphere of radius_mm that dents the softer body at a mean pressure of 3 Re, without rebound.

    Area 2 pi R delta, so F = v sqrt(2 pi R p_d m_r), reached after a quarter of the spring's period.
    yield_MPa: of the softer body. Raises InputFault.
    """
    need(
        positive={
            "reduced_mass_kg": reduced_mass_kg, "speed_m_s": speed_m_s, "radius_mm": radius_mm, "yield_MPa": yield_MPa,
        },
    )  # fmt: skip
    k = 2 * math.pi * radius_mm * YIELD_PRESSURE_RATIO * yield_MPa  # N/mm
    as_spring = spring_impact(reduced_mass_kg=reduced_mass_kg, speed_m_s=speed_m_s, stiffness_N_mm=k)
    formula = "F = v sqrt(2 pi R p_d m_r), p_d = 3 Re"
    return _impact(
        "plastic", as_spring.peak_N, 0.5 * as_spring.duration_s, reduced_mass_kg, speed_m_s, 0.0,
        as_spring.approach_mm, formula, PLASTIC,
    )  # fmt: skip


def contact_impact(
    *, reduced_mass_kg: float, speed_m_s: float, radius_mm: float, contact_modulus_MPa: float, yield_MPa: float
) -> Impact:
    """Elastic or yielding contact of a sphere on a flat, whichever gives the smaller peak. Raises InputFault."""
    common = {"reduced_mass_kg": reduced_mass_kg, "speed_m_s": speed_m_s, "radius_mm": radius_mm}
    elastic = hertz_impact(**common, contact_modulus_MPa=contact_modulus_MPa)
    dented = plastic_impact(**common, yield_MPa=yield_MPa)
    return min(elastic, dented, key=lambda i: i.peak_N)
