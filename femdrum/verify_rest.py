"""Cases of `femdrum verify` beyond the stress at slots: life, retention, contact, balance, rotor. Each is reckoned when called.

A case answers (name, quantity, ours, theirs, how far they may differ, where theirs is from).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

__all__ = ["BALANCE", "CASES", "CONTACT", "LIFE", "RETENTION", "ROTOR", "Row"]

Row = tuple[str, str, float, float, float, str]
MPA_PER_KPSI = 6.894757293168361
YOUNG, POISSON = 206_000.0, 0.3


# life


def rainflow_example() -> Row:
    """The standard's short history: cycles of range 4."""
    from .strength.rainflow import rainflow

    cycles = rainflow([-2, 1, -3, 5, -1, 3, -4, 4, -2], "half")
    ours = float(cycles.count[cycles.range == 4].sum())
    source = "standard: ASTM E1049-85, example of Fig. 6, seen in a secondary source"
    return "counting of a history", "cycles of range 4", ours, 1.5, 1e-9, source


def mean_stress_factor() -> Row:
    """The rule that lives are reckoned by, at mean stress 1.1 times the amplitude."""
    from .strength.mean_stress import mean_factor

    source = "standard: FKM guideline, number confirmed in a test of an open library"
    return "mean stress, M = 0.5", "factor at mean / amplitude 1.1", float(mean_factor(0.5, 1.1)), 0.657, 1e-3, source


def textbook_crack() -> Row:
    """Growth of an edge nick, with the example's own law and units at the door."""
    from .strength.crack_growth import grow
    from .strength.growth_law import own_law
    from .strength.stress_intensity import edge_crack_K

    law = own_law(coefficient=3.8e-11, exponent=3, unit="in, kpsi sqrt(in)", threshold_MPa_sqrt_m=0.0)
    stress = 115.2 * MPA_PER_KPSI
    grown = grow(lambda a: edge_crack_K(stress, a, factor=1.07)[None], law, 25.4 * 0.004, 25.4 * 0.112, [1.0])
    source = "published: Shigley, 9th ed., Ex. 6-1, 64.7e3 cycles, seen in a secondary reproduction"
    return "growth of an edge crack", "cycles", grown.life_cycles, 64_700.0, 3e-3, source


def notch_stress() -> Row:
    """Neuber's rule with a cyclic curve, against the same equation solved by plain bisection here."""
    from .strength.cyclic import CyclicCurve
    from .strength.neuber import notch_state

    young, factor, power, elastic = YOUNG, 1184.47, 0.187, 900.0
    low, high = 0.0, elastic
    for _ in range(80):
        middle = 0.5 * (low + high)
        strain = middle / young + (middle / factor) ** (1 / power)
        low, high = (middle, high) if middle * strain < elastic**2 / young else (low, middle)
    ours = float(notch_state(elastic, CyclicCurve(young, factor, power)).stress_MPa)
    source = "closed form: stress x strain = (elastic stress)^2 / E, solved by bisection"
    return "notch stress at 900 MPa elastic", "stress, MPa", ours, 0.5 * (low + high), 1e-6, source


# retention


def bolt_preload() -> Row:
    """Preload of a bolt at 90 % of its yield, tightened with friction 0.12."""
    from .model.clamp import Bolt
    from .rotor.preload import assembly_preload_N

    bolt = Bolt(
        size="M16x1.5", property_class="8.8", clamp_length_mm=60, tightening="torque, friction estimated", lubrication="oiled"
    )  # fmt: skip
    source = "published: a distributor's table after VDI 2230, seen in a secondary reproduction"
    return (
        "bolt M16x1.5, 8.8, friction 0.12",
        "preload, kN",
        1e-3 * assembly_preload_N(bolt, friction=0.12),
        87.6,
        6e-3,
        source,
    )


def wedge_locks() -> Row:
    """The largest taper that stays by itself, friction 0.15 on both faces."""
    from .rotor.wedge import locking_angle_deg

    source = "published: sum of both friction angles, seen in a secondary reproduction"
    ours = locking_angle_deg(friction_taper=0.15, friction_plain=0.15)
    return "self-locking wedge", "limit of its taper, degrees", ours, 17.06, 1e-3, source


# contact


def crowned_face() -> Row:
    """A crowned hammer face on its flank, solved by finite elements, where contact is narrow against the wall."""
    from .assess.contact import solve_wedge_pack
    from .model.accuracy import Accuracy
    from .model.contact_input import WedgePack
    from .model.material import Material

    force, length, radius = 100e3, 60.0, 200.0
    pack = WedgePack(
        slot_mm=60, wall_mm=40, length_mm=length, clamp_N=force, hammer_mm=44, wedge_height_mm=36, driven="along",
        crown_radius_mm=radius,
    )  # fmt: skip
    ours = float(
        solve_wedge_pack(pack, Material(youngs_modulus_MPa=YOUNG, poissons_ratio=POISSON), Accuracy(error=0.1))
        .face("leading")
        .peak
    )
    modulus = YOUNG / (2 * (1 - POISSON**2))
    theirs = math.sqrt(force / length * modulus / (math.pi * radius))
    source = "closed form: line contact of half-planes (Hertz 1882), sqrt(F' E* / (pi R))"
    return "crowned face on a flank, finite elements", "peak pressure, MPa", ours, theirs, 1e-2, source


def deep_seat() -> Row:
    """A half round in a groove of nearly its radius, where line contact is far too low: its pressure carries the load."""
    import numpy as np

    from .rotor.conforming import conforming_contact

    found = conforming_contact(
        line_load_N_mm=15_000.0,
        radius_mm=20.0,
        groove_radius_mm=20.05,
        youngs_modulus_MPa=YOUNG,
        poissons_ratio=POISSON,
    )
    # x = sin t: the pressure ends like a root there
    at, weight = np.polynomial.legendre.leggauss(60)
    half = found.half_angle_deg
    angle = half * np.sin(0.5 * math.pi * at)
    across = np.cos(np.radians(angle)) * math.radians(half) * 0.5 * math.pi * np.cos(0.5 * math.pi * at)
    ours = float(weight @ (found.pressure_MPa(angle) * across)) * found.radius_mm
    source = "closed form: balance of forces"
    return "half round in a close groove", "force that its pressure carries, N/mm", ours, 15_000.0, 1e-6, source


# balance


def permissible_unbalance() -> Row:
    """The standard's example of a turbine rotor."""
    from .rotor.unbalance import permissible_unbalance_g_mm

    ours = permissible_unbalance_g_mm(grade_mm_s=2.5, mass_kg=3600, speed_rpm=3000)
    source = "memory: example of ISO 1940-1 / ISO 21940-11, numbers recalled; the relation itself was seen"
    return "rotor of 3,600 kg, G2.5, 3,000 rpm", "permissible unbalance, g mm", ours, 28_600.0, 3e-3, source


def best_plates() -> Row:
    """Eight positions, up to three plates on up to three of them: the proven optimum, against every choice tried here."""
    import cmath

    from .model.balance_input import MassPositions
    from .rotor.mass_positions import best_masses

    wanted = 310e3 * cmath.exp(1j * math.radians(77))
    there = MassPositions.even(8, z_mm=0, radius_mm=330, plate_g=250, most_plates=3, most_used=3)
    ours = abs(best_masses([wanted], [there], [229e3]).planes[0].residual_g_mm)
    plates = [250 * 330 * cmath.exp(1j * math.pi * k / 4) for k in range(8)]
    every = (
        abs(wanted + sum(n * plates[k] for n, k in zip(stack, used, strict=True)))
        for used in itertools.combinations(range(8), 3)
        for stack in itertools.product(range(4), repeat=3)
    )
    source = "computed: every choice tried"
    return "plates on eight positions", "least residual, g mm", ours, min(every), 1e-9, source


# rotor


def whirl_example() -> Row:
    """Two discs on a shaft between two springs at 4,000 rpm: the first whirl that goes with the rotation."""
    from .fem.beam import beam_model
    from .model.shaft_line import ShaftBody, ShaftLine, ShaftPiece, ShaftSpring

    density, bore, width, places = 7810.0, 50.0, 70.0, (0, 250, 500, 750, 1000, 1250, 1500)

    def disc(z_mm: float, outer_mm: float) -> ShaftBody:
        mass = density * 1e-9 * math.pi / 4 * (outer_mm**2 - bore**2) * width
        around = (outer_mm**2 + bore**2) / 16
        return ShaftBody(
            z_mm=z_mm,
            mass_kg=mass,
            polar_kg_m2=2e-6 * mass * around,
            across_kg_m2=1e-6 * mass * (around + width**2 / 12),
        )

    line = ShaftLine(
        pieces=tuple(ShaftPiece(from_mm=a, to_mm=b, outer_diameter_mm=bore) for a, b in itertools.pairwise(places)),
        bodies=(disc(500, 280), disc(1000, 350)),
        springs=tuple(ShaftSpring(z_mm=z, stiffness_N_mm=1e3) for z in (0, 1500)),
        youngs_modulus_MPa=211e3, poissons_ratio=211 / (2 * 81.2) - 1, density_kg_m3=density,
    )  # fmt: skip
    ours = 2 * math.pi * float(beam_model(line, elements=1).whirl(4000).frequency_Hz[1])
    source = "published: Friswell et al., Dynamics of Rotating Machines, 2010, example 5.9.1, seen in a secondary reproduction"
    return "two discs on a shaft, 4,000 rpm", "first forward whirl, rad/s", ours, 87.80, 1e-4, source


def bearing_rating() -> Row:
    """The rating that a roller bearing needs for 1,440 million revolutions."""
    from .rotor.bearing_life import required_rating_kN

    source = "published: Shigley, solution of problem 11-3, seen in a secondary reproduction"
    ours = required_rating_kN(load_kN=10.279, life_Mrev=1440)
    return "roller bearing, 10.279 kN", "rating needed, kN", ours, 91.1, 2e-3, source


def shaft_diameter() -> Row:
    """A shaft in bending and torsion by distortion energy, Goodman's line; inches and psi, as its source has them."""
    from .rotor.shaft_strength import ShaftDuty, ShaftStrength, shaft_diameter_mm

    duty = ShaftDuty(
        bending_amplitude_Nmm=600, bending_mean_Nmm=500, torque_amplitude_Nmm=400, torque_mean_Nmm=300, bending_notch_factor=2.2,
        torsion_notch_factor=1.8,
    )  # fmt: skip
    strength = ShaftStrength(endurance_amplitude_MPa=30e3, ultimate_MPa=100e3, yield_MPa=80e3)
    ours = shaft_diameter_mm("goodman", duty, strength, safety=2)
    source = "published: Shigley, solution of problem 7-1, seen in a secondary reproduction"
    return "shaft in bending and torsion", "diameter, in", ours, 1.073, 2e-3, source


def drum_inertia() -> Row:
    """The shell of a drum among its summed bodies, before slots are cut out of it."""
    from .model.cutout import Circle
    from .model.drum import Drum
    from .model.drum_shaft import StubShaft
    from .rotor.mass_properties import mass_properties

    end = StubShaft(disc_thickness_mm=60, stub_diameter_mm=180, stub_length_mm=200, fillet_radius_mm=15)
    drum = Drum(
        outer_diameter_mm=800, wall_mm=40, shell_length_mm=1800, cutout=Circle(diameter_mm=50), rows_total=24, slots_around=2,
        pitch_mm=68, first_row_mm=118, row_angle_deg=37.5, drive_end=end,
    )  # fmt: skip
    shell = next(p for p in mass_properties(drum).parts if p.name.startswith("shell"))
    theirs = 7850e-9 * math.pi / 2 * (400**4 - 360**4) * 1800 * 1e-6
    return (
        "shell 800 x 40 x 1,800 mm",
        "inertia about its axis, kg m2",
        shell.inertia_kg_m2,
        theirs,
        1e-9,
        "closed form: polar integral of a tube",
    )


LIFE: tuple[Callable[[], Row], ...] = (rainflow_example, mean_stress_factor, textbook_crack, notch_stress)
RETENTION: tuple[Callable[[], Row], ...] = (bolt_preload, wedge_locks)
CONTACT: tuple[Callable[[], Row], ...] = (deep_seat, crowned_face)
BALANCE: tuple[Callable[[], Row], ...] = (permissible_unbalance, best_plates)
ROTOR: tuple[Callable[[], Row], ...] = (whirl_example, bearing_rating, shaft_diameter, drum_inertia)
CASES = (*LIFE, *RETENTION, *CONTACT, *BALANCE, *ROTOR)
