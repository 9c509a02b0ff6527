"""Overspeed: the average hoop stress of the slotted shell with what hangs on it, and the speed at which it would burst.

By equilibrium of half the drum: what half of it pulls outward is held where a plane through the axis cuts the shell. End
discs are not counted among what holds. A drum of tough steel bursts where this average nears its tensile strength; a real
one is lost by a crack at a slot, long before.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..errors import MISSING
from ..figure import Figure, figure, stated
from ..handbook.closed_forms import ring_average
from ..model.check import Checks
from ..model.drum import Drum, slots
from ..model.material import Material
from ..provenance import common_practice, computed, memory
from ..units import density_t_mm3, omega_rad_s
from .bodies import bodies

__all__ = ["BURST_FACTOR", "Overspeed", "burst_speed_rpm", "hung_hoop_MPa", "overspeed"]

BURST_FACTOR = 0.85
ROBINSON = memory(
    "average tangential stress criterion (Robinson): burst at 0.75 to 0.95 of the tensile strength; 0.85 taken"
)
HALF = computed("equilibrium of half the drum across the plane where the slots leave least")
SPREAD = computed("ring equilibrium with the pull spread evenly over the shell")
TEST = common_practice("overspeed of 120 %: run-away engine, belt")


@stated("burst speed by the average hoop stress", "rpm", "n_b = n sqrt(f Rm / sigma)", ROBINSON)
def burst_speed_rpm(
    *, speed_rpm: float, average_MPa: float, ultimate_MPa: float, factor: float = BURST_FACTOR
) -> float:
    """Speed at which the average hoop stress, average_MPa at speed_rpm, reaches factor times the tensile strength."""
    checks = Checks()
    checks.positive("speed_rpm", speed_rpm, "revolutions a minute")
    checks.positive("average_MPa", average_MPa)
    checks.positive("ultimate_MPa", ultimate_MPa)
    checks.number("factor", factor, above=0.0, most=1.0, way_out="0.75 to 0.95, from memory")
    checks.done()
    return speed_rpm * math.sqrt(factor * ultimate_MPa / average_MPa)


@stated("share of hanging hammers in the average hoop stress", "MPa", "sum(m r) omega² / (2 pi L t)", SPREAD)
def hung_hoop_MPa(
    *, count: int, mass_kg: float, radius_mm: float, speed_rpm: float, length_mm: float, wall_mm: float
) -> float:
    """Average hoop stress of `count` masses that hang on a shell of a length and wall, each at radius_mm. Raises InputFault.

    Only for hammers that each hang on their own slot; a bar through the drum holds its own halves.
    """
    checks = Checks()
    checks.whole("count", count, 1, 1_000_000)
    for name, value in (("mass_kg", mass_kg), ("radius_mm", radius_mm), ("length_mm", length_mm), ("wall_mm", wall_mm)):
        checks.positive(name, value)
    checks.number("speed_rpm", speed_rpm, least=0.0)
    checks.done()
    pull = 1e-3 * count * mass_kg * radius_mm * omega_rad_s(speed_rpm) ** 2
    return pull / (2 * math.pi * length_mm * wall_mm)


@dataclass(frozen=True)
class Overspeed:
    """Average hoop stress (MPa) at the running speed and at the overspeed, and the burst speed (rpm) against both.

    bare_MPa: of the shell without slots. plane_deg: direction of the weakest plane from the first slot of row 0; net_share:
    of the shell's section left in it; hung_share: what hangs on the shell, in the average.
    """

    speed_rpm: float
    ratio: float
    bare_MPa: float
    average_MPa: float
    overspeed_MPa: float
    plane_deg: float
    net_share: float
    hung_share: float
    burst_rpm: float
    bare_burst_rpm: float
    notes: tuple[str, ...]

    @property
    def safety(self) -> float:
        """Burst speed over overspeed."""
        return self.burst_rpm / (self.ratio * self.speed_rpm)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        what = "average hoop stress in the weakest plane, slots and what hangs counted"
        return (
            Figure(
                "average hoop stress, plain shell", self.bare_MPa, "MPa", "rho omega² (ro² + ro ri + ri²) / 3", HALF
            ),
            Figure(what, self.average_MPa, "MPa", "pull of half the drum / section left", HALF),
            Figure(f"the same at {100 * self.ratio:.0f} % speed", self.overspeed_MPa, "MPa", "times ratio²", TEST),
            figure(burst_speed_rpm, self.bare_burst_rpm, "burst speed, plain shell"),
            figure(burst_speed_rpm, self.burst_rpm, "burst speed, slots and what hangs counted"),
        )


def overspeed(
    drum: Drum, material: Material, *, speed_rpm: float, ratio: float = 1.2, factor: float = BURST_FACTOR
) -> Overspeed:
    """Average hoop stress and burst speed of the drum. The material must have its tensile strength. Raises InputFault."""
    checks = Checks()
    checks.positive("speed_rpm", speed_rpm, "revolutions a minute")
    checks.number("ratio", ratio, least=1.0, most=10.0, way_out="1.2 is 120 % of the speed")
    ultimate = material.ultimate_MPa
    checks.positive(
        "material.ultimate_MPa", MISSING if ultimate is None else ultimate, "give the shell's tensile strength"
    )
    checks.done()
    assert ultimate is not None
    omega = omega_rad_s(speed_rpm)
    bare = ring_average(
        inner_mm=drum.inner_radius_mm, outer_mm=drum.outer_radius_mm,
        density_t_mm3=density_t_mm3(material.density_kg_m3), omega_rad_s=omega,
    )  # fmt: skip
    section = 2 * drum.shell_length_mm * drum.wall_mm
    heap = bodies(drum, material)
    hangs = {"slots, cut out", *(part.name for part in drum.slot_parts)}
    if drum.hammer is not None and not drum.hammer.through:
        hangs |= {"bars", "tips"}
    hanging = np.array([name in hangs for name in heap.names])
    offset, places = heap.offset_kg_mm()[hanging], heap.centre_mm[hanging] @ np.array([1, 1j, 0])
    angles = np.radians([s.angle_deg for s in slots(drum)])
    half = math.asin(drum.cutout.half_x_mm / drum.mid_radius_mm)
    worst = (-math.inf, 0.0, 0.0, 0.0)
    for plane in np.unique(np.round(angles % math.pi, 9)):
        # what one half pulls, across the plane
        up = (offset * np.exp(-1j * plane)).imag
        on_one_side = (np.exp(1j * (np.angle(places) - plane))).imag > 0
        hung = 1e-3 * omega**2 * max(float(up[on_one_side].sum()), float(-up[~on_one_side].sum()))
        turned = np.abs((angles - plane + 0.5 * math.pi) % math.pi - 0.5 * math.pi)
        left = section - float((turned < half).sum()) * 2 * drum.cutout.half_y_mm * drum.wall_mm
        if left <= 0:
            checks.add("cutout.axial_mm", 2 * drum.cutout.half_y_mm, "leaves nothing of the shell in one plane")
            checks.done()
        stress = (bare * section + hung) / left
        worst = max(worst, (stress, float(plane), left / section, hung / (bare * section + hung)))
    average, at, net, share = worst
    notes = (
        "End discs, which hold the shell's ends, are not counted.",
        "A real drum is lost by a crack at a slot: prove the largest stress intensity at the overspeed against toughness.",
        "A bar that goes through two slots holds its own halves and does not load the shell on average."
        if drum.hammer is not None and drum.hammer.through
        else "Hammers hang on the shell, each on its own slot.",
    )
    return Overspeed(
        speed_rpm, ratio, bare, average, ratio**2 * average, math.degrees(at), net, share,
        burst_speed_rpm(speed_rpm=speed_rpm, average_MPa=average, ultimate_MPa=ultimate, factor=factor),
        burst_speed_rpm(speed_rpm=speed_rpm, average_MPa=bare, ultimate_MPa=ultimate, factor=factor), notes,
    )  # fmt: skip
