"""A wedge with one tapered face: what the bolt's force presses, what draws it out again, and what rotation adds.

The drive force F acts along the plain face, the normal force N on that face. Every answer depends on friction, so every
answer has bounds: the low coefficient where the question is whether it holds, the high one where it is whether it comes
out or how much the bolt's force presses. N, mm, degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..model.clamp import Wedge
from ..provenance import common_practice, computed
from ..units import omega_rad_s
from .given import need

__all__ = [
    "STEEP_TAPER_DEG",
    "VIBRATION_FRICTION",
    "WedgeStatics",
    "centrifugal_on_wedge_N",
    "lifting_force_N",
    "locking_angle_deg",
    "pull_out_N",
    "wedge_normal_N",
    "wedge_statics",
]

STATICS = computed("statics, free body of a wedge with one taper")
LOCKING = computed("statics: the taper at which the force that draws the wedge out vanishes; the textbooks' limit too")
ROTATION = computed("kinematics of steady rotation")
# common practice, no source: what is left of friction under vibration across the faces, 0.05 to 0.08
VIBRATION_FRICTION = 0.05
SHAKEN = common_practice("friction of steel faces under vibration, 0.05 to 0.08; 0.05 taken")
# common practice, no source: a steeper one creeps out under vibration
STEEP_TAPER_DEG = 5.0


def _angle(friction: float) -> float:
    return math.atan(friction)


def _tightening(taper_deg: float, friction_taper: float, friction_plain: float) -> float:
    """Drive force over normal force while the wedge moves in."""
    return math.tan(math.radians(taper_deg) + _angle(friction_taper)) + friction_plain


def _check(taper_deg: float, friction_taper: float, friction_plain: float, **force: float) -> None:
    checks = Checks()
    need(
        finite=force, friction={"friction_taper": friction_taper, "friction_plain": friction_plain},
        taper_deg=taper_deg, checks=checks,
    )  # fmt: skip


@stated("normal force of the clamp", "kN", "N = F / (tan(alpha + phi1) + tan(phi2))", STATICS, 1e-3)
def wedge_normal_N(*, drive_N: float, taper_deg: float, friction_taper: float, friction_plain: float) -> float:
    """Normal force on the plain face, N, while a force along that face moves the wedge in: F / (tan(alpha + phi1) + tan phi2).

    Take the high coefficients for the least clamp. Raises InputFault.
    """
    _check(taper_deg, friction_taper, friction_plain, drive_N=drive_N)
    return drive_N / _tightening(taper_deg, friction_taper, friction_plain)


@stated("force that draws the wedge out, bolt slack", "kN", "F_out = N (tan(phi2) + tan(phi1 - alpha))", STATICS, 1e-3)
def pull_out_N(*, normal_N: float, taper_deg: float, friction_taper: float, friction_plain: float) -> float:
    """Force along the plain face that moves the wedge out, bolt slack, N: N (tan phi2 + tan(phi1 - alpha)).

    Negative: it is pushed out by the clamp itself and needs that force to stay. Take the low coefficients to ask whether
    it stays, the high ones to size what draws it. Raises InputFault.
    """
    _check(taper_deg, friction_taper, friction_plain, normal_N=normal_N)
    return normal_N * (friction_plain + math.tan(_angle(friction_taper) - math.radians(taper_deg)))


@stated("taper below which the wedge locks itself", "°", "alpha < phi1 + phi2", LOCKING)
def locking_angle_deg(*, friction_taper: float, friction_plain: float) -> float:
    """Taper below which the wedge stays without a bolt, at rest, degrees: phi1 + phi2. Raises InputFault."""
    need(friction={"friction_taper": friction_taper, "friction_plain": friction_plain})
    return math.degrees(_angle(friction_taper) + _angle(friction_plain))


@stated(
    "push that lifts a guided load on the wedge", "kN", "P = W (tan(alpha + phi1) + tan(phi2)) / (1 - tan(alpha + phi1) tan(phi3))",
    STATICS, 1e-3,
)  # fmt: skip
def lifting_force_N(
    *, load_N: float, taper_deg: float, friction_taper: float, friction_plain: float, friction_guide: float
) -> float:
    """Push on a wedge under a load W that a guide with friction keeps from going along, N.

    With three equal coefficients this is the handbook's W tan(alpha + 2 phi). There W is the outer load; the normal
    force of wedge_normal_N is the one on the plain face. Without friction in the guide both are one. Raises InputFault.
    """
    checks = Checks()
    checks.number("friction_guide", friction_guide, least=0.0, most=1.0, way_out="0: a guide without friction")
    need(
        finite={"load_N": load_N},
        friction={"friction_taper": friction_taper, "friction_plain": friction_plain},
        taper_deg=taper_deg,
        checks=checks,
    )
    slope = math.tan(math.radians(taper_deg) + _angle(friction_taper))
    if slope * friction_guide >= 1 or slope < 0:
        checks.add(
            "friction_guide", friction_guide, "jams: the load cannot be lifted whatever the push", "less taper or friction"
        )  # fmt: skip
        checks.done()
    return load_N * (slope + friction_plain) / (1 - slope * friction_guide)


@stated(
    "centrifugal force along the wedge, positive tightens", "kN", "F_c = ± m r omega² cos(alpha)", ROTATION, 1e-3
)  # fmt: skip
def centrifugal_on_wedge_N(
    *, mass_kg: float, radius_mm: float, speed_rpm: float, taper_deg: float, opens_outward: bool
) -> float:
    """Part of the wedge's own centrifugal force along its tapered face, N: positive tightens, negative loosens.

    opens_outward: the gap widens away from the axis, so rotation draws the wedge out of it; otherwise rotation drives it
    in. radius_mm: of the wedge's centre of gravity. Raises InputFault.
    """
    checks = Checks()
    checks.truth("opens_outward", opens_outward)
    need(
        positive={"mass_kg": mass_kg, "radius_mm": radius_mm}, not_negative={"speed_rpm": speed_rpm},
        taper_deg=taper_deg, checks=checks,
    )  # fmt: skip
    size = 1e-3 * mass_kg * radius_mm * omega_rad_s(speed_rpm) ** 2 * math.cos(math.radians(taper_deg))
    return -size if opens_outward else size


@dataclass(frozen=True)
class WedgeStatics:
    """Bounds of a wedge at one drive force, N and degrees.

    normal_least_N at the high friction, normal_most_N at the low one. stays_N: force that would draw it out, of the least
    clamp at the low friction (negative: it comes by itself). draws_N: force that surely draws it out, of the most clamp at
    the high friction. locking_low_deg, locking_high_deg: tapers below which it locks.
    """

    normal_least_N: float
    normal_most_N: float
    stays_N: float
    draws_N: float
    locking_low_deg: float
    locking_high_deg: float
    locking_shaken_deg: float
    taper_deg: float
    friction: tuple[float, float]

    @property
    def locks(self) -> bool:
        """Whether it stays at rest at the low friction without a bolt. That alone holds nothing in service."""
        return self.taper_deg < self.locking_low_deg

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        low, high = (f"friction {f:g}" for f in self.friction)
        return (
            figure(wedge_normal_N, self.normal_least_N, f"normal force of the clamp, {high}"),
            figure(wedge_normal_N, self.normal_most_N, f"normal force of the clamp, {low}"),
            figure(pull_out_N, self.stays_N, f"force that draws the wedge out, least, {low}"),
            figure(pull_out_N, self.draws_N, f"force that surely draws the wedge out, {high}"),
            figure(locking_angle_deg, self.locking_low_deg, f"taper that locks itself, {low}"),
            figure(locking_angle_deg, self.locking_high_deg, f"taper that locks itself, {high}"),
            Figure("taper that locks itself while shaken", self.locking_shaken_deg, "°", "alpha < 2 atan(0.05)", SHAKEN),
        )  # fmt: skip

    @property
    def notes(self) -> tuple[str, ...]:
        """Which friction stands for which question, and what locking does not do."""
        return (
            "Low friction answers whether it holds; high friction what the bolt's force surely presses, and what it takes to release it.",
            "A wedge that locks itself stays put at rest. Vibration lowers friction, and one hit along the wedge can bring the energy that drives it out: "
            "self-locking alone is not retention. Bolt, lock of the bolt, and a positive stop are.",
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know."""
        made = []
        if not self.locks:
            made.append(
                f"the wedge does not lock itself at friction {self.friction[0]:g}: its taper is {self.taper_deg:g} degrees, the limit {self.locking_low_deg:.3g}; the bolt alone keeps it"
            )
        elif self.taper_deg > min(STEEP_TAPER_DEG, self.locking_shaken_deg):
            made.append(
                f"a taper of {self.taper_deg:g} degrees can creep out under vibration: with friction {VIBRATION_FRICTION:g} the limit is {self.locking_shaken_deg:.3g} degrees, and practice stays below {STEEP_TAPER_DEG:g}"
            )
        return tuple(made)


def wedge_statics(wedge: Wedge, *, drive_least_N: float, drive_most_N: float | None = None) -> WedgeStatics:
    """Bounds of the clamp of one wedge for the least and the most drive force, N (equal if only one is given).

    Raises InputFault.
    """
    most = drive_least_N if drive_most_N is None else drive_most_N
    low = {"taper_deg": wedge.taper_deg, "friction_taper": wedge.friction_low, "friction_plain": wedge.friction_low}
    high = {"taper_deg": wedge.taper_deg, "friction_taper": wedge.friction_high, "friction_plain": wedge.friction_high}
    least_N = wedge_normal_N(drive_N=drive_least_N, **high)
    most_N = wedge_normal_N(drive_N=most, **low)
    angles = [
        locking_angle_deg(friction_taper=f, friction_plain=f)
        for f in (wedge.friction_low, wedge.friction_high, VIBRATION_FRICTION)
    ]
    return WedgeStatics(
        least_N, most_N, pull_out_N(normal_N=least_N, **low), pull_out_N(normal_N=most_N, **high),
        angles[0], angles[1], angles[2], wedge.taper_deg, (wedge.friction_low, wedge.friction_high),
    )  # fmt: skip
