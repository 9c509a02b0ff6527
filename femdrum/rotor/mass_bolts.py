"""What holds a balance mass: its pull, friction of the clamped face, the lip it rests against, shear as the last stop.

Masses in g, radii in mm, forces in N, pressures and stresses in MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..model.balance_input import MassBolts
from ..model.check import Checks
from ..provenance import common_practice, computed, memory
from ..units import omega_rad_s

__all__ = [
    "LEAST_EDGE_RATIO",
    "LIP_PRESSURE_SHARE",
    "MassHold",
    "clamp_per_bolt_N",
    "hold_mass",
    "mass_pull_N",
    "overspeed_load_factor",
]

KINEMATICS = computed("kinematics of steady rotation")
# distance of a hole's middle from the edge towards which the bolt pulls, over the hole
LEAST_EDGE_RATIO = 1.2
EDGE = memory("EN 1993-1-8:2005, least end distance 1.2 times the hole")
# shear strength of a bolt's thread over its tensile strength, and partial factor; 0.5 holds for every grade
SHEAR_RATIO, SHEAR_FACTOR = 0.5, 1.25
SHEAR = memory("EN 1993-1-8:2005, Table 3.4: 0.6 Rm A / 1.25 in shear, 0.5 for grade 10.9; the lower is taken for all")
# mean pressure of a seat at rest, over the yield stress
LIP_PRESSURE_SHARE = 0.7
SEAT = common_practice("mean pressure of a seat at rest up to 0.7 of the yield stress")
DETAILS = common_practice(
    "each mass has a part number, a largest mass, bolt size, grade and torque, edge distance, witness mark"
)


@stated("pull of a balance mass", "kN", "F = m r omega²", KINEMATICS, 1e-3)
def mass_pull_N(*, mass_g: float, radius_mm: float, speed_rpm: float) -> float:
    """Outward pull of a balance mass, N: m r omega^2. Raises InputFault."""
    checks = Checks()
    checks.number("mass_g", mass_g, least=0.0, way_out="in grams")
    checks.positive("radius_mm", radius_mm, "of its centre of gravity")
    checks.positive("speed_rpm", speed_rpm, "in revolutions a minute")
    checks.done()
    return 1e-6 * mass_g * radius_mm * omega_rad_s(speed_rpm) ** 2


@stated("load factor of overspeed", "-", "(n_over / n)²", KINEMATICS)
def overspeed_load_factor(*, ratio: float) -> float:
    """What an overspeed multiplies the pull of every mass and hammer by: ratio^2. Raises InputFault."""
    checks = Checks()
    checks.number("ratio", ratio, least=1.0, most=3.0, way_out="overspeed over running speed, 1.2 for 20 % above")
    checks.done()
    return ratio**2


@stated("clamp of one bolt that holds a mass by friction alone", "kN", "F_c = S F / (n mu)", computed("statics"), 1e-3)
def clamp_per_bolt_N(*, pull_N: float, bolts: int, friction: float, safety: float, faces: int = 1) -> float:
    """Clamp that each bolt must keep if friction alone holds the mass, N: S F / (n mu faces).

    friction: its lower bound. faces: clamped faces that carry; one where a plate lies on the disc. Raises InputFault.
    """
    checks = Checks()
    checks.number("pull_N", pull_N, least=0.0)
    checks.whole("bolts", bolts, 1, 100)
    checks.number("friction", friction, above=0.0, most=1.0, way_out="the lower bound: does it hold?")
    checks.number("safety", safety, least=1.0, most=20.0)
    checks.whole("faces", faces, 1, 2)
    checks.done()
    return safety * pull_N / (bolts * friction * faces)


@dataclass(frozen=True)
class MassHold:
    """Whether the stack on one position is held at overspeed.

    pull_N at speed, overspeed_N at overspeed. clamp_needed_N: of each bolt if friction alone held it. slip_share:
    needed over given, None where the clamp is not known. lip_MPa, lip_share: mean pressure on the lip, and over its
    limit. edge_ratio: edge distance over hole. shear_share: shear of the bolts over their limit if nothing else held.
    by: "lip" or "friction". faults: what does not hold; notes: what was not checked.
    """

    mass_g: float
    pull_N: float
    overspeed_N: float
    by: str
    clamp_needed_N: float
    slip_share: float | None
    lip_MPa: float | None
    lip_share: float | None
    edge_ratio: float | None
    shear_share: float | None
    faults: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Nothing that was checked fails. What was not checked is in the notes."""
        return not self.faults

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        out = [
            figure(mass_pull_N, self.pull_N, f"pull of {self.mass_g:.0f} g"),
            figure(mass_pull_N, self.overspeed_N, "the same at overspeed"),
            figure(clamp_per_bolt_N, self.clamp_needed_N),
        ]
        if self.lip_MPa is not None:
            out.append(Figure("mean pressure on the lip", self.lip_MPa, "MPa", "F / (height × width)", SEAT))
        if self.edge_ratio is not None:
            out.append(Figure("edge distance over hole", self.edge_ratio, "-", f"at least {LEAST_EDGE_RATIO}", EDGE))
        if self.shear_share is not None:
            out.append(
                Figure("shear of the bolts as last stop", 100 * self.shear_share, "%", "F / (n 0.5 Rm A / 1.25)", SHEAR)
            )
        return tuple(out)


def hold_mass(
    bolts: MassBolts,
    *,
    mass_g: float,
    radius_mm: float,
    speed_rpm: float,
    overspeed_ratio: float = 1.2,
    plates: int = 1,
) -> MassHold:
    """Check of one stack of plates, mass_g in all, at overspeed: by the lip, or by friction. Raises InputFault.

    With a lip the pull does not go through friction: bolts only keep the stack in place. Without one the friction of
    one face must carry it with `safety`, which asks for clamps that small bolts do not have; the fault says so.
    """
    pull = mass_pull_N(mass_g=mass_g, radius_mm=radius_mm, speed_rpm=speed_rpm)
    over = pull * overspeed_load_factor(ratio=overspeed_ratio)
    need = clamp_per_bolt_N(pull_N=over, bolts=bolts.bolts, friction=bolts.friction, safety=bolts.safety)
    faults, notes = [], []
    slip = None if bolts.clamp_kN is None else need / (1e3 * bolts.clamp_kN)
    if not bolts.lip:
        if slip is None:
            notes.append(f"not checked: slip; each bolt must keep {1e-3 * need:.1f} kN, give clamp_kN")
        elif slip > 1:
            faults.append(
                f"friction alone does not hold {mass_g:.0f} g: each bolt would have to keep {1e-3 * need:.1f} kN, it "
                f"keeps {bolts.clamp_kN:.1f} kN; rest the mass outward against a lip"
            )
        notes.append("friction alone holds this mass; a lip outside it holds it even with loose bolts")
    pressure = share = None
    if bolts.lip:
        pressure, share = _lip(bolts, over, plates, faults, notes)
    shear = None
    if bolts.stress_area_mm2 is not None and bolts.ultimate_MPa is not None:
        strength = SHEAR_RATIO * bolts.ultimate_MPa * bolts.stress_area_mm2 / SHEAR_FACTOR
        shear = over / (bolts.bolts * strength)
        if shear > 1:
            faults.append(f"if clamp and lip were lost the bolts would shear: {100 * shear:.0f} % of their strength")
    else:
        notes.append("not checked: shear of the bolts as last stop, give stress_area_mm2 and ultimate_MPa")
    edge = None
    if bolts.hole_mm is not None and bolts.edge_distance_mm is not None:
        edge = bolts.edge_distance_mm / bolts.hole_mm
        if edge < LEAST_EDGE_RATIO:
            faults.append(f"edge distance is {edge:.2f} times the hole, at least {LEAST_EDGE_RATIO} is wanted")
    else:
        notes.append("not checked: edge distance, give hole_mm and edge_distance_mm")
    checks = Checks()
    checks.whole("plates", plates, 1, 100)
    checks.done()
    if bolts.bolts == 1:
        notes.append("one bolt lets the mass turn about it")
    return MassHold(
        mass_g, pull, over, "lip" if bolts.lip else "friction", need, slip, pressure, share, edge, shear,
        tuple(faults), tuple(notes),
    )  # fmt: skip


def _lip(
    bolts: MassBolts, over_N: float, plates: int, faults: list[str], notes: list[str]
) -> tuple[float | None, float | None]:
    if bolts.plate_thickness_mm is None:
        notes.append("not checked: that the lip holds the whole stack, give plate_thickness_mm and lip_height_mm")
    elif bolts.lip_height_mm is not None and plates * bolts.plate_thickness_mm > bolts.lip_height_mm:
        stack = plates * bolts.plate_thickness_mm
        faults.append(
            f"the stack is {stack:.1f} mm thick, the lip {bolts.lip_height_mm:.1f} mm high: plates above it hang on "
            "the bolts"
        )
    if bolts.lip_height_mm is None or bolts.lip_width_mm is None:
        notes.append("not checked: pressure on the lip, give lip_height_mm and lip_width_mm")
        return None, None
    pressure = over_N / (bolts.lip_height_mm * bolts.lip_width_mm)
    if bolts.yield_MPa is None:
        notes.append("not checked: pressure on the lip against its yield stress, give yield_MPa")
        return pressure, None
    share = pressure / (LIP_PRESSURE_SHARE * bolts.yield_MPa)
    if share > 1 or math.isnan(share):
        limit = LIP_PRESSURE_SHARE * bolts.yield_MPa
        faults.append(f"pressure on the lip is {pressure:.0f} MPa, above {limit:.0f} MPa; a higher or wider lip")
    return pressure, share
