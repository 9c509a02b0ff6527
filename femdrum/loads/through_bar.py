"""A hammer bar through the drum, with a tip at each end: what rotation makes it do to its two slots.

Its halves pull against each other; what reaches the shell depends on how the bar is held, so the path must be said:
"both": clamped in both slots, a strut across the ring. "one": clamped in one slot, free to slide in the other.
"halves": two separate halves, each hanging on its own slot. Forces in N, outward positive; masses in kg, lengths in mm.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..provenance import computed
from ..units import omega_rad_s
from .refuse import need
from .rotating import centrifugal_force_N

__all__ = [
    "PATHS",
    "BarStrut",
    "SlotPulls",
    "bar_mid_tension_N",
    "bar_net_force_N",
    "bar_offset_mm",
    "bar_on_slots",
    "bar_strut",
    "clamp_needed_N",
    "friction_capacity_N",
    "outside_pull_N",
    "own_stretch_mm",
    "strut_force_N",
    "strut_stiffness_N_mm",
]

PATHS = ("both", "one", "halves")
STATICS = computed("statics")
ROTATION = computed("kinematics of steady rotation")
STRUT = computed("elastic bar between two seats, rotating about its middle")


@stated("offset of the bar's centre of gravity", "mm", "e = (dm1 r1 - dm2 r2) / m", STATICS)
def bar_offset_mm(
    *, loss_kg: float, loss_radius_mm: float, other_loss_kg: float, other_loss_radius_mm: float, bar_mass_kg: float
) -> float:
    """How far wear has moved the bar's centre of gravity from the axis, mm; positive: away from the first tip.

    loss_kg at loss_radius_mm at the first tip, other_ at the second; bar_mass_kg: the bar as it is now.
    Raises InputFault.
    """
    need(
        not_negative={"loss_kg": loss_kg, "other_loss_kg": other_loss_kg},
        positive={
            "loss_radius_mm": loss_radius_mm, "other_loss_radius_mm": other_loss_radius_mm, "bar_mass_kg": bar_mass_kg,
        },
    )  # fmt: skip
    return (loss_kg * loss_radius_mm - other_loss_kg * other_loss_radius_mm) / bar_mass_kg


@stated("net centrifugal force of the bar", "kN", "F = m e omega²", ROTATION, 1e-3)
def bar_net_force_N(*, bar_mass_kg: float, offset_mm: float, speed_rpm: float) -> float:
    """Net force of a bar with two tips, N, with the offset's sign: m e omega^2. Raises InputFault."""
    need(positive={"bar_mass_kg": bar_mass_kg, "speed_rpm": speed_rpm}, finite={"offset_mm": offset_mm})
    return 1e-3 * bar_mass_kg * offset_mm * omega_rad_s(speed_rpm) ** 2


@stated("tension at the bar's middle", "kN", "N = m_half r_half omega² - Q", ROTATION, 1e-3)
def bar_mid_tension_N(
    *, half_mass_kg: float, half_radius_mm: float, speed_rpm: float, seat_push_N: float = 0.0
) -> float:
    """Tension at the middle of the bar, N: what its half pulls, less what its seat takes (seat_push_N). Raises InputFault."""
    need(finite={"seat_push_N": seat_push_N})
    return centrifugal_force_N(mass_kg=half_mass_kg, radius_mm=half_radius_mm, speed_rpm=speed_rpm) - seat_push_N


@dataclass(frozen=True)
class SlotPulls:
    """What a bar puts on its slot and on the opposite one, N, outward positive, apart from its push as a strut.

    net_N: force of the whole bar on the drum, towards the first slot. mid_tension_N: at the bar's middle, a strut's
    push not taken off. is_strut: the seats' push Q of `bar_strut` comes on top, the same on both.
    """

    path: str
    slot_N: float
    opposite_N: float
    net_N: float
    mid_tension_N: float
    is_strut: bool
    sentence: str

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        share = {"both": "half of the net force", "one": "the net force", "halves": "its own half, m r omega²"}
        rest = {"both": "- half of the net force", "one": "0", "halves": "its own half, m r omega²"}
        return (
            figure(bar_net_force_N, self.net_N),
            Figure("pull on the slot", 1e-3 * self.slot_N, "kN", share[self.path], STATICS),
            Figure("pull on the opposite slot", 1e-3 * self.opposite_N, "kN", rest[self.path], STATICS),
            # of a strut it is known only once its push on the seats is
            *(() if self.is_strut else (figure(bar_mid_tension_N, self.mid_tension_N),)),
        )


SENTENCES = {
    "both": "The bar is clamped in both slots: it acts as a strut across the ring, and its seats share the net force.",
    "one": "The bar is clamped in one slot and slides in the other: the clamped slot takes the net force, the other none.",
    "halves": "Two separate halves: each hangs on its own slot with all of its centrifugal force.",
}


def bar_on_slots(
    *,
    path: str | None,
    half_mass_kg: float,
    half_radius_mm: float,
    other_half_mass_kg: float,
    other_half_radius_mm: float,
    speed_rpm: float,
) -> SlotPulls:
    """What the bar's two halves put on their slots by the declared path.

    The first half stands in the slot (for "one": in the clamped one), the other half in the opposite slot; masses from
    the axis outward with their centres of gravity. Raises InputFault; the path has no default.
    """
    checks = Checks()
    checks.one_of(
        "path", path, PATHS, "'both' clamped in both slots, 'one' in one of them, 'halves' two separate halves"
    )
    checks.done()
    assert path is not None
    first = centrifugal_force_N(mass_kg=half_mass_kg, radius_mm=half_radius_mm, speed_rpm=speed_rpm)
    other = centrifugal_force_N(mass_kg=other_half_mass_kg, radius_mm=other_half_radius_mm, speed_rpm=speed_rpm)
    net = first - other
    slot, opposite, mid = {
        "both": (0.5 * net, -0.5 * net, 0.5 * (first + other)),
        "one": (net, 0.0, other),
        "halves": (first, other, 0.0),
    }[path]
    return SlotPulls(path, slot, opposite, net, mid, path == "both", SENTENCES[path])


@stated("stiffness of the bar between its seats", "kN/mm", "k = E A / L", STRUT, 1e-3)
def strut_stiffness_N_mm(*, youngs_modulus_MPa: float, area_mm2: float, seat_distance_mm: float) -> float:
    """Stiffness of the bar between its two seats, N/mm: E A / L. Raises InputFault."""
    need(
        positive={
            "youngs_modulus_MPa": youngs_modulus_MPa, "area_mm2": area_mm2, "seat_distance_mm": seat_distance_mm,
        },
    )  # fmt: skip
    return youngs_modulus_MPa * area_mm2 / seat_distance_mm


@stated(
    "pull of what sits outside one seat", "kN", "P = mu omega² (r_end² - r_seat²) / 2 + m_tip r_tip omega²", STRUT, 1e-3
)
def outside_pull_N(
    *,
    mass_per_length_kg_m: float,
    seat_radius_mm: float,
    end_radius_mm: float,
    tip_mass_kg: float,
    tip_radius_mm: float,
    speed_rpm: float,
) -> float:
    """Outward pull of the bar beyond its seat and of its tip, N.

    end_radius_mm: where the even bar ends; tip_mass_kg: what is fixed to it beyond that even bar, 0 for none, with its
    centre of gravity at tip_radius_mm. Raises InputFault.
    """
    need(
        positive={"mass_per_length_kg_m": mass_per_length_kg_m, "seat_radius_mm": seat_radius_mm, "speed_rpm": speed_rpm},
        not_negative={"tip_mass_kg": tip_mass_kg, "tip_radius_mm": tip_radius_mm},
        least={"end_radius_mm": (end_radius_mm, seat_radius_mm)},
    )  # fmt: skip
    omega2 = omega_rad_s(speed_rpm) ** 2
    bar = 0.5e-6 * mass_per_length_kg_m * omega2 * (end_radius_mm**2 - seat_radius_mm**2)
    return bar + 1e-3 * tip_mass_kg * tip_radius_mm * omega2


@stated("stretch of the bar between its seats by its own rotation", "mm", "2 mu omega² r³ / (3 E A)", STRUT)
def own_stretch_mm(
    *,
    mass_per_length_kg_m: float,
    seat_radius_mm: float,
    youngs_modulus_MPa: float,
    area_mm2: float,
    speed_rpm: float,
) -> float:
    """Stretch of the bar between two free seats by its own rotation, mm: 2 mu omega^2 r_s^3 / (3 E A). Raises InputFault."""
    need(
        positive={
            "mass_per_length_kg_m": mass_per_length_kg_m, "seat_radius_mm": seat_radius_mm, "speed_rpm": speed_rpm,
            "youngs_modulus_MPa": youngs_modulus_MPa, "area_mm2": area_mm2,
        },
    )  # fmt: skip
    load = 1e-6 * mass_per_length_kg_m * omega_rad_s(speed_rpm) ** 2
    return 2 * load * seat_radius_mm**3 / (3 * youngs_modulus_MPa * area_mm2)


@stated("push of the bar on each seat", "kN", "Q = (P / k + s - D_other) / (1 / k + D_unit)", STRUT, 1e-3)
def strut_force_N(
    *, stiffness_N_mm: float, pull_N: float, own_stretch_mm: float, opening_mm: float, opening_per_N_mm: float
) -> float:
    """Push Q of a bar on each of its two seats, N, outward positive: bar and ring change their length alike.

    (P - Q) / k + s = D_other + Q D_unit. opening_mm: how far the ring's two seats move apart without the bar;
    opening_per_N_mm: how far by 1 N outward on both. Raises InputFault.
    """
    need(
        positive={"stiffness_N_mm": stiffness_N_mm},
        finite={"pull_N": pull_N, "own_stretch_mm": own_stretch_mm, "opening_mm": opening_mm},
        not_negative={"opening_per_N_mm": opening_per_N_mm},
        way_out={"opening_per_N_mm": "a ring yields in the direction of the force"},
    )
    return (pull_N / stiffness_N_mm + own_stretch_mm - opening_mm) / (1 / stiffness_N_mm + opening_per_N_mm)


@stated("friction capacity of one seat", "kN", "F = faces mu N", STATICS, 1e-3)
def friction_capacity_N(*, clamp_N: float, friction: float, faces: int = 2) -> float:
    """Force that friction holds in one slot, N: faces mu N, clamped between two flanks unless said otherwise.

    Take the low coefficient for holding. Raises InputFault.
    """
    need(positive={"clamp_N": clamp_N, "friction": friction}, counted={"faces": faces})
    return faces * friction * clamp_N


@stated("clamp force needed to hold by friction", "kN", "N = S F / (faces mu)", STATICS, 1e-3)
def clamp_needed_N(*, force_N: float, safety: float, faces: int, friction: float) -> float:
    """Clamp force that holds a force by friction alone, N: S F / (faces mu).

    For a broken bar or a single half it comes out beyond what wedges give: then a positive stop must hold.
    Raises InputFault.
    """
    need(
        positive={"force_N": force_N, "friction": friction},
        counted={"faces": faces},
        least={"safety": (safety, 1.0)},
        way_out={"safety": "a safety against slip of 1 or more"},
    )
    return safety * force_N / (faces * friction)


@dataclass(frozen=True)
class BarStrut:
    """A bar clamped in both slots as a strut: stiffness (N/mm), outer pull on each seat (N), own stretch (mm).

    friction_capacity_N: what each seat holds before it slips, None where no clamp is declared.
    """

    stiffness_N_mm: float
    pull_N: float
    own_stretch_mm: float
    friction_capacity_N: float | None

    def push_N(self, *, opening_mm: float, opening_per_N_mm: float) -> float:
        """Push on each seat, see `strut_force_N`."""
        return strut_force_N(
            stiffness_N_mm=self.stiffness_N_mm, pull_N=self.pull_N, own_stretch_mm=self.own_stretch_mm,
            opening_mm=opening_mm, opening_per_N_mm=opening_per_N_mm,
        )  # fmt: skip

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        held = self.friction_capacity_N
        return (
            figure(strut_stiffness_N_mm, self.stiffness_N_mm),
            figure(outside_pull_N, self.pull_N),
            figure(own_stretch_mm, self.own_stretch_mm),
            *(() if held is None else (figure(friction_capacity_N, held),)),
        )


def bar_strut(
    *,
    speed_rpm: float,
    youngs_modulus_MPa: float,
    area_mm2: float,
    mass_per_length_kg_m: float,
    seat_radius_mm: float,
    end_radius_mm: float,
    tip_mass_kg: float,
    tip_radius_mm: float,
    clamp_N: float | None = None,
    friction: float | None = None,
) -> BarStrut:
    """The bar of path "both" as a strut; its seats stand at seat_radius_mm on either side of the axis.

    clamp_N and friction together give what each seat holds. Raises InputFault.
    """
    held = None
    if clamp_N is not None or friction is not None:
        need(positive={"clamp_N": clamp_N, "friction": friction})
        assert clamp_N is not None
        assert friction is not None
        held = friction_capacity_N(clamp_N=clamp_N, friction=friction)
    need(positive={"seat_radius_mm": seat_radius_mm})
    return BarStrut(
        strut_stiffness_N_mm(
            youngs_modulus_MPa=youngs_modulus_MPa, area_mm2=area_mm2, seat_distance_mm=2 * seat_radius_mm
        ),
        outside_pull_N(
            mass_per_length_kg_m=mass_per_length_kg_m, seat_radius_mm=seat_radius_mm, end_radius_mm=end_radius_mm,
            tip_mass_kg=tip_mass_kg, tip_radius_mm=tip_radius_mm, speed_rpm=speed_rpm,
        ),
        own_stretch_mm(
            mass_per_length_kg_m=mass_per_length_kg_m, seat_radius_mm=seat_radius_mm, speed_rpm=speed_rpm,
            youngs_modulus_MPa=youngs_modulus_MPa, area_mm2=area_mm2,
        ),
        held,
    )  # fmt: skip
