"""How a wedge comes out again: the force, the blow, and the jack screw that draws it.

N, mm, J. The bolt is slack. On purpose at the high friction and the most clamp; by accident at the low friction and the least.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..model.clamp import PITCHES_MM, Bolt, Clamp
from ..provenance import common_practice, computed
from .given import need
from .preload import assembly_preload_N, bolt_thread
from .wedge import pull_out_N

__all__ = [
    "Release",
    "blow_speed_m_s",
    "jack_screw",
    "knock_out_energy_J",
    "release",
    "release_energy_J",
    "release_stroke_mm",
    "stored_energy_J",
]

SPRING = computed("the clamp's elastic stroke along the taper; the force falls to zero on the way")
MOTION = computed("energy of the hammer's mass, all of it taken to go into the wedge")
CORROSION = 2.0
RUSTED = common_practice("twice the force for a wedge that has corroded in")
SCREWED = common_practice("thread and tip dry or rusted, friction 0.2; tip of half the diameter")
JACK_FRICTION = 0.2


@stated("stroke over which the clamp relaxes", "mm", "s = N / (k tan(alpha))", SPRING)
def release_stroke_mm(*, normal_N: float, taper_deg: float, stiffness_N_mm: float) -> float:
    """Travel along which the wedge loses all of its clamp, mm; stiffness across the slot. Raises InputFault."""
    need(not_negative={"normal_N": normal_N}, positive={"stiffness_N_mm": stiffness_N_mm}, taper_deg=taper_deg)
    return normal_N / (stiffness_N_mm * math.tan(math.radians(taper_deg)))


@stated("energy that knocks the wedge out", "J", "E = F_out s / 2", SPRING)
def release_energy_J(*, pull_out_N: float, normal_N: float, taper_deg: float, stiffness_N_mm: float) -> float:
    """Energy that drives the wedge out, bolt slack, J: F_out s / 2; 0 if it comes by itself. Raises InputFault."""
    stroke = release_stroke_mm(normal_N=normal_N, taper_deg=taper_deg, stiffness_N_mm=stiffness_N_mm)
    need(finite={"pull_out_N": pull_out_N})
    return 1e-3 * max(0.0, pull_out_N) * stroke / 2


@stated("energy that the clamp stores", "J", "E = N² / (2 k)", SPRING)
def stored_energy_J(*, normal_N: float, stiffness_N_mm: float) -> float:
    """Elastic energy of a clamp, J; stiffness across the slot. Raises InputFault."""
    need(not_negative={"normal_N": normal_N}, positive={"stiffness_N_mm": stiffness_N_mm})
    return 1e-3 * normal_N**2 / (2 * stiffness_N_mm)


@stated("speed of a blow of that energy", "m/s", "v = sqrt(2 E / m)", MOTION)
def blow_speed_m_s(*, energy_J: float, mass_kg: float) -> float:
    """Speed of a mass that has this energy, m/s. Raises InputFault."""
    need(not_negative={"energy_J": energy_J}, positive={"mass_kg": mass_kg})
    return math.sqrt(2 * energy_J / mass_kg)


def knock_out_energy_J(clamp: Clamp, *, normal_N: float, friction: float) -> float:
    """Energy that drives one wedge of a clamp out at a normal force and a friction, J. Raises InputFault."""
    taper = clamp.wedge.taper_deg
    force = pull_out_N(normal_N=normal_N, taper_deg=taper, friction_taper=friction, friction_plain=friction)
    return release_energy_J(
        pull_out_N=force, normal_N=normal_N, taper_deg=taper, stiffness_N_mm=1e3 * clamp.stiffness_kN_mm / clamp.wedges
    )  # fmt: skip


def jack_screw(*, force_N: float, screws: int = 1, property_class: str = "10.9") -> tuple[Bolt, float] | None:
    """Smallest coarse screw that pushes with a force, and its torque in N m; None where M39 is too small.

    Pull and twist up to 90 % of yield at friction 0.2; its tip rubs on half of its diameter. Raises InputFault.
    """
    checks = Checks()
    checks.whole("screws", screws, 1, 12)
    need(positive={"force_N": force_N}, checks=checks)
    each = force_N / screws
    for d in PITCHES_MM:
        screw = Bolt(
            size=f"M{d}", property_class=property_class, clamp_length_mm=3.0 * d, tightening="torque, friction estimated",
            friction_low=JACK_FRICTION, friction_high=JACK_FRICTION,
        )  # fmt: skip
        if assembly_preload_N(screw, friction=JACK_FRICTION) >= each:
            t = bolt_thread(screw)
            tip = 0.25 * t.diameter_mm  # mean radius of rubbing, at most
            arm = t.pitch_mm / (2 * math.pi) + 0.5 * 1.155 * t.pitch_diameter_mm * JACK_FRICTION + tip * JACK_FRICTION
            return screw, 1e-3 * each * arm
    return None


@dataclass(frozen=True)
class Release:
    """How one wedge is released. force_N at the high friction; with_rust_N twice that; stroke_mm; energy_J of a blow and
    its speed with blow_mass_kg; screw and torque_Nm of each of the jack screws, None where none is large enough.

    accident_J: least energy that knocks it out unasked, at the low friction and the least clamp. stored_J: what the
    clamp itself holds.
    """

    force_N: float
    with_rust_N: float
    stroke_mm: float
    energy_J: float
    blow_mass_kg: float
    blow_m_s: float
    screws: int
    screw: Bolt | None
    torque_Nm: float | None
    accident_J: float
    stored_J: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        made = [
            figure(pull_out_N, self.force_N, "force that draws the wedge out, high friction"),
            Figure("the same, corroded in", 1e-3 * self.with_rust_N, "kN", "2 F_out", RUSTED),
            figure(release_stroke_mm, self.stroke_mm),
            figure(release_energy_J, self.energy_J),
            figure(blow_speed_m_s, self.blow_m_s, f"speed of a blow with {self.blow_mass_kg:g} kg"),
            figure(stored_energy_J, self.stored_J),
            figure(release_energy_J, self.accident_J, "least energy that knocks it out unasked, bolt slack"),
        ]
        if self.screw is not None and self.torque_Nm is not None:
            size = f"{self.screws} x {self.screw.size} {self.screw.property_class}"
            made.append(
                Figure(
                    f"torque of each jack screw ({size})",
                    self.torque_Nm,
                    "N·m",
                    "F (P/(2 pi) + 0.58 d2 mu + d mu / 4)",
                    SCREWED,
                )
            )
        return tuple(made)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know."""
        made = [f"a clamped wedge stores {self.stored_J:.3g} J and jumps when it lets go: nobody stands in its line"]
        if self.screw is None:
            made.append(
                f"no jack screw up to M39 pushes {1e-3 * self.with_rust_N / self.screws:.4g} kN: more screws, less taper friction, or a hydraulic puller"
            )
        return tuple(made)


def release(
    clamp: Clamp,
    *,
    most_N: float,
    least_N: float,
    screws: int = 1,
    property_class: str = "10.9",
    blow_mass_kg: float = 2.0,
) -> Release:
    """How a wedge is released; most_N, least_N: clamp of one wedge (ClampWindow.after_stop_most_N and assembled_least_N over the wedges).

    Raises InputFault.
    """
    checks = Checks()
    if checks.positive("most_N", most_N):
        checks.number("least_N", least_N, least=0.0, most=most_N, way_out="the least clamp of the same wedge")
    need(positive={"blow_mass_kg": blow_mass_kg}, checks=checks)
    wedge = clamp.wedge
    force = pull_out_N(
        normal_N=most_N, taper_deg=wedge.taper_deg, friction_taper=wedge.friction_high, friction_plain=wedge.friction_high
    )  # fmt: skip
    energy = knock_out_energy_J(clamp, normal_N=most_N, friction=wedge.friction_high)
    found = jack_screw(force_N=CORROSION * force, screws=screws, property_class=property_class)
    k = 1e3 * clamp.stiffness_kN_mm / clamp.wedges
    stroke = release_stroke_mm(normal_N=most_N, taper_deg=wedge.taper_deg, stiffness_N_mm=k)
    return Release(
        force, CORROSION * force, stroke, energy, blow_mass_kg, blow_speed_m_s(energy_J=energy, mass_kg=blow_mass_kg), screws,
        found[0] if found else None, found[1] if found else None,
        knock_out_energy_J(clamp, normal_N=least_N, friction=wedge.friction_low),
        stored_energy_J(normal_N=most_N, stiffness_N_mm=k),
    )  # fmt: skip
