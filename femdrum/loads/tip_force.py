"""A force at the tip of a through-bar: what its two slots' walls take, as pressure on their flanks.

The force acts in the plane of the row, around the drum: positive against the rotation, as cutting does. It then
presses on the trailing flank of both slots: on the near one because it pushes the bar back there, on the far one
because the bar's other end swings forward in space, which is backward as seen from the far slot. Together they turn
the drum back with exactly the torque of the force about the axis. N, mm, MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..provenance import computed
from .refuse import need

__all__ = [
    "WALLS",
    "FlankLoad",
    "TipReaction",
    "bar_bending_MPa",
    "edge_pressure_MPa",
    "far_reaction_N",
    "flank_load",
    "near_reaction_N",
    "tip_reaction",
    "turning_stiffness_Nmm_rad",
]

WALLS = ("two", "near")
STATICS = computed("statics")
LINEAR = computed("statics, pressure linear through the wall")


@stated("reaction of the near slot", "kN", "R1 = F (1 + a / L)", STATICS, 1e-3)
def near_reaction_N(*, force_N: float, lever_mm: float, spacing_mm: float) -> float:
    """Force on the near slot if both walls hold the bar as supports, N: F (1 + a / L).

    lever_mm: from the near support to the force; spacing_mm: from support to support. Raises InputFault.
    """
    return force_N + far_reaction_N(force_N=force_N, lever_mm=lever_mm, spacing_mm=spacing_mm)


@stated("reaction of the far slot", "kN", "R2 = F a / L", STATICS, 1e-3)
def far_reaction_N(*, force_N: float, lever_mm: float, spacing_mm: float) -> float:
    """Force on the far slot, N, in space against the near one's: F a / L. Raises InputFault."""
    need(finite={"force_N": force_N}, not_negative={"lever_mm": lever_mm}, positive={"spacing_mm": spacing_mm})
    return force_N * lever_mm / spacing_mm


@stated("edge pressure if one wall alone holds", "MPa", "p = F / (w t) + 6 F (a + t / 2) / (w t²)", LINEAR)
def edge_pressure_MPa(*, force_N: float, overhang_mm: float, wall_mm: float, width_mm: float) -> float:
    """Pressure at the outer rim if the near wall alone holds the bar, MPa; overhang_mm from the outer rim to the force.

    The pressure is linear through the wall and would pull at the bore, where the clamp, or the other flank, has to help.
    Raises InputFault.
    """
    need(
        finite={"force_N": force_N},
        not_negative={"overhang_mm": overhang_mm},
        positive={"wall_mm": wall_mm, "width_mm": width_mm},
    )
    moment = force_N * (overhang_mm + 0.5 * wall_mm)
    return force_N / (width_mm * wall_mm) + 6 * moment / (width_mm * wall_mm**2)


@stated(
    "bending stress of the bar at the shell", "MPa", "sigma = 6 F a / (b h²)", computed("plane sections stay plane")
)
def bar_bending_MPa(*, force_N: float, overhang_mm: float, width_mm: float, depth_mm: float) -> float:
    """Bending stress of the bar at the shell's surface, MPa; depth_mm h in the force's direction, width_mm b across it.

    Raises InputFault.
    """
    need(
        finite={"force_N": force_N},
        not_negative={"overhang_mm": overhang_mm},
        positive={"width_mm": width_mm, "depth_mm": depth_mm},
    )
    return 6 * force_N * overhang_mm / (width_mm * depth_mm**2)


@stated(
    "turning stiffness of the bar in the near wall", "kN·m/rad", "k = pi E* w t² / 16",
    computed("rigid flat punch that tilts on an elastic half-plane, from its pressure E* turn s / (2 sqrt(t²/4 - s²))"), 1e-6,
)  # fmt: skip
def turning_stiffness_Nmm_rad(*, contact_modulus_MPa: float, width_mm: float, wall_mm: float) -> float:
    """Estimate of how stiffly a bar bearing on one flank resists being turned in it, N mm/rad: pi E* w t^2 / 16.

    An upper estimate, because a flank ends at the rims where a half-plane goes on: the near wall is then said to keep
    more of the tipping moment than it does. Raises InputFault.
    """
    need(positive={"contact_modulus_MPa": contact_modulus_MPa, "width_mm": width_mm, "wall_mm": wall_mm})
    return math.pi * contact_modulus_MPa * width_mm * wall_mm**2 / 16


@dataclass(frozen=True)
class FlankLoad:
    """Pressure on one flank: uniform, and linear through the wall (+ at the outer rim, - at the bore), MPa.

    slot: "near" or "far". width_mm and height_mm: of the bearing face that the values are meant for.
    """

    slot: str
    flank: str
    uniform_MPa: float
    linear_MPa: float
    width_mm: float
    height_mm: float

    @property
    def force_N(self) -> float:
        """Resultant, pushing on the flank."""
        return self.uniform_MPa * self.width_mm * self.height_mm

    @property
    def moment_Nmm(self) -> float:
        """Moment about the middle of the wall, positive where it presses the outer rim harder."""
        return self.linear_MPa * self.width_mm * self.height_mm**2 / 6

    @property
    def outer_MPa(self) -> float:
        """Pressure at the outer rim."""
        return self.uniform_MPa + self.linear_MPa

    @property
    def bore_MPa(self) -> float:
        """Pressure at the bore; negative: it would pull."""
        return self.uniform_MPa - self.linear_MPa


def flank_load(
    *, slot: str, force_N: float, moment_Nmm: float, width_mm: float, height_mm: float, flank: str = "trailing"
) -> FlankLoad:
    """Uniform and linear pressure with exactly this force and this moment about the middle of the wall.

    A negative force is turned into pressure on the opposite flank. For a patch that falls to zero at its ends
    width_mm is its extent less one taper. Raises InputFault.
    """
    checks = Checks()
    checks.one_of("slot", slot, ("near", "far"))
    checks.one_of("flank", flank, ("leading", "trailing"))
    need(
        finite={"force_N": force_N, "moment_Nmm": moment_Nmm},
        positive={"width_mm": width_mm, "height_mm": height_mm},
        checks=checks,
    )
    if force_N < 0 or (force_N == 0 and moment_Nmm < 0):
        force_N, moment_Nmm = -force_N, -moment_Nmm
        flank = "leading" if flank == "trailing" else "trailing"
    area = width_mm * height_mm
    return FlankLoad(slot, flank, force_N / area, 6 * moment_Nmm / (area * height_mm), width_mm, height_mm)


@dataclass(frozen=True)
class TipReaction:
    """How two slots hold a bar against a force at its tip.

    near_N, far_N: forces on the two slots' flanks, with the force's sign. near_moment_Nmm: moment about mid-wall that
    the near wall takes. tilt_rad: how far the bar has turned in its slot, None where that is not known.
    far_holds: whether the far slot takes part. loads: the same as pressures on flanks, in balance with the force.
    clamp_needed_MPa: pressure that a clamp must already hold on the flank so that no face opens at the bore.
    """

    force_N: float
    lever_mm: float
    spacing_mm: float
    near_N: float
    far_N: float
    near_moment_Nmm: float
    tilt_rad: float | None
    far_holds: bool
    loads: tuple[FlankLoad, ...]
    clamp_needed_MPa: float
    warnings: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """How the bar is held in this model."""
        if not self.far_holds:
            return "The near wall alone holds the bar: the tip force as even pressure, its moment as pressure linear through the wall."
        if self.near_moment_Nmm == 0:
            return (
                "The bar rests on both walls as a beam on two supports in their middles; neither wall takes a moment."
            )
        return (
            f"The bar has turned by {self.tilt_rad:.3g} rad through its clearance before the far wall helps; the near wall keeps "
            "the moment that its turning stiffness asks for at that angle."
        )

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        near, linear = self.loads[0], LINEAR
        return (
            figure(near_reaction_N, self.near_N)
            if self.near_moment_Nmm == 0
            else Figure("reaction of the near slot", 1e-3 * self.near_N, "kN", "R1 = F + R2", STATICS),
            Figure("reaction of the far slot", 1e-3 * self.far_N, "kN", "R2 = (F a - M1) / L", STATICS),
            Figure("tipping moment on the near wall", 1e-3 * self.near_moment_Nmm, "N·m", "M1 = F a - R2 L", STATICS),
            Figure(f"uniform pressure, near slot, {near.flank} flank", near.uniform_MPa, "MPa", "R1 / (w t), w: contact length less one taper, t: height of the flank", linear),
            Figure(
                f"linear pressure, near slot, {near.flank} flank", near.linear_MPa, "MPa", "6 M1 / (w t²), w and t as above", linear
            ),
            Figure("pressure at the outer rim, near slot", near.outer_MPa, "MPa", "uniform + linear", linear),
        )  # fmt: skip


def tip_reaction(
    *,
    force_N: float,
    overhang_mm: float,
    wall_mm: float,
    width_mm: float,
    walls: str | None,
    spacing_mm: float | None = None,
    clearance_mm: float = 0.0,
    turning_stiffness_Nmm_rad: float | None = None,
) -> TipReaction:
    """What the slots' walls take of a force at the bar's tip.

    force_N: positive against the rotation. overhang_mm: from the shell's outer surface to the force, so that its lever
    about the middle of the near wall is a = overhang + wall / 2. width_mm: of the bearing face along the drum (extent
    less one taper). spacing_mm: between the middles of the two walls.

    walls "near": the near wall alone holds, with R1 = F and M1 = F a. walls "two": the far wall helps. Without
    clearance the walls are two supports: R1 = F (1 + a / L), R2 = F a / L, M1 = 0. With clearance_mm c (the gap at the
    far slot on the side to which the bar swings): the bar is rigid and turns in the near wall, which resists
    with M1 = k turn, k = turning_stiffness_Nmm_rad, declared. As long as F a < k c / L the far slot is not reached and
    the near wall takes all. From then on the bar has turned by c / L, the near wall keeps M1 = k c / L, and the far
    wall takes the rest: R2 = (F a - k c / L) / L, R1 = F + R2. Raises InputFault.
    """
    checks = Checks()
    checks.one_of(
        "walls", walls, WALLS, "'two': both slots hold the bar; 'near': the far one is loose or a half bar is fitted"
    )
    if walls == "two":
        checks.positive("spacing_mm", spacing_mm, "distance between the middles of the two opposed walls")
        if clearance_mm:
            checks.positive(
                "turning_stiffness_Nmm_rad", turning_stiffness_Nmm_rad,
                "it decides when the far slot is reached: turning_stiffness_Nmm_rad() estimates it; walls 'near' is the bound",
            )  # fmt: skip
    need(
        finite={"force_N": force_N},
        not_negative={"overhang_mm": overhang_mm, "clearance_mm": clearance_mm},
        positive={"wall_mm": wall_mm, "width_mm": width_mm},
        checks=checks,
    )
    lever = overhang_mm + 0.5 * wall_mm
    tipping = abs(force_N) * lever
    sign = -1.0 if force_N < 0 else 1.0
    warnings: list[str] = []
    far, moment, tilt = 0.0, tipping, None
    if walls == "two":
        assert spacing_mm is not None
        stiffness = turning_stiffness_Nmm_rad or 0.0
        kept = min(tipping, stiffness * clearance_mm / spacing_mm)
        far, moment = (tipping - kept) / spacing_mm, kept
        tilt = min(clearance_mm / spacing_mm, tipping / stiffness) if clearance_mm else 0.0
        if clearance_mm and far == 0:
            warnings.append(
                f"the bar does not reach the far slot: it turns by {tilt:.3g} rad of the {clearance_mm / spacing_mm:.3g} rad "
                "of its clearance, and the near wall holds it alone"
            )
    near = abs(force_N) + far
    loads = [
        flank_load(slot="near", force_N=sign * near, moment_Nmm=sign * moment, width_mm=width_mm, height_mm=wall_mm)
    ]
    if far:
        loads.append(flank_load(slot="far", force_N=sign * far, moment_Nmm=0.0, width_mm=width_mm, height_mm=wall_mm))
    opening = max(0.0, -loads[0].bore_MPa)
    if opening:
        warnings.append(
            f"the near flank would have to pull with {opening:.4g} MPa at the bore: it holds only if a clamp presses harder there already"
        )
    return TipReaction(
        force_N, lever, spacing_mm or 0.0, sign * near, sign * far, sign * moment, tilt, far > 0, tuple(loads), opening,
        tuple(warnings),
    )  # fmt: skip
