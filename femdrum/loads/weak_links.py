"""What gives way first in a jam: limits of single links, and the cap that the weakest of them puts on the torque.

Torque in N mm, forces in N, strengths in MPa, lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..figure import stated
from ..model.check import Checks
from ..provenance import computed
from .refuse import need

__all__ = [
    "PLASTIC_OVER_YIELD",
    "Cap",
    "Link",
    "bar_yield_tip_force_N",
    "belt_slip_torque_Nmm",
    "shear_pin_torque_Nmm",
    "slot_bearing_tip_force_N",
    "tip_force_N",
    "weakest_link",
    "wedge_slip_tip_force_N",
]

# fully plastic over first yield, rectangle in bending
PLASTIC_OVER_YIELD = 1.5
STATICS = computed("statics and the strength given")


@stated("tip force", "kN", "F = T / r", STATICS, 1e-3)
def tip_force_N(*, torque_Nmm: float, tip_radius_mm: float) -> float:
    """Tangential force at one tip that gives a torque, N: T / r. Raises InputFault."""
    need(positive={"torque_Nmm": torque_Nmm, "tip_radius_mm": tip_radius_mm})
    return torque_Nmm / tip_radius_mm


@stated("tip force that bends the bar", "kN", "F = factor Re b h² / (6 a); 1.5 fully plastic", STATICS, 1e-3)
def bar_yield_tip_force_N(
    *, yield_MPa: float, width_mm: float, depth_mm: float, overhang_mm: float, plastic: bool = False
) -> float:
    """Tip force at which the bar yields in bending at the shell, N: Re b h^2 / (6 a); fully plastic 1.5 times that.

    depth_mm h is measured in the direction of the force, width_mm b across it; overhang_mm from the shell to the
    force. Raises InputFault.
    """
    need(
        positive={"yield_MPa": yield_MPa, "width_mm": width_mm, "depth_mm": depth_mm, "overhang_mm": overhang_mm},
    )
    first = yield_MPa * width_mm * depth_mm**2 / (6 * overhang_mm)
    return PLASTIC_OVER_YIELD * first if plastic else first


@stated("torque that shears the pins", "N·m", "T = pins · planes · tau · (pi/4) d² · r", STATICS, 1e-3)
def shear_pin_torque_Nmm(
    *, pins: int, planes: int, pin_diameter_mm: float, pitch_radius_mm: float, shear_strength_MPa: float
) -> float:
    """Torque at which shear pins break, N mm; planes: sections that each pin is cut in. Raises InputFault."""
    need(
        counted={"pins": pins, "planes": planes},
        positive={
            "pin_diameter_mm": pin_diameter_mm, "pitch_radius_mm": pitch_radius_mm,
            "shear_strength_MPa": shear_strength_MPa,
        },
    )  # fmt: skip
    return pins * planes * shear_strength_MPa * 0.25 * math.pi * pin_diameter_mm**2 * pitch_radius_mm


@stated("torque at which the belts slip", "N·m", "T = F_slip d / 2", STATICS, 1e-3)
def belt_slip_torque_Nmm(*, slip_pull_N: float, sheave_diameter_mm: float) -> float:
    """Torque on the drum's sheave at which the belts slip, N mm; slip_pull_N: effective pull then. Raises InputFault."""
    need(positive={"slip_pull_N": slip_pull_N, "sheave_diameter_mm": sheave_diameter_mm})
    return 0.5 * slip_pull_N * sheave_diameter_mm


@stated("tip force at which the clamped bar slips", "kN", "F = faces mu N / share along the faces", STATICS, 1e-3)
def wedge_slip_tip_force_N(*, clamp_N: float, friction: float, faces: int, share_along: float) -> float:
    """Tip force at which a clamped bar slips along its faces, N.

    share_along: part of the tip force that acts along the clamped faces (the rest presses on them). Use the low
    coefficient of friction. Raises InputFault.
    """
    need(
        positive={"clamp_N": clamp_N, "friction": friction},
        counted={"faces": faces},
        share={"share_along": share_along},
        way_out={"share_along": "part of the tip force along the clamped faces, above 0 and at most 1"},
    )
    return faces * friction * clamp_N / share_along


@stated("tip force at which the slot's flank yields", "kN", "F = p_limit w t / (1 + a / L)", STATICS, 1e-3)
def slot_bearing_tip_force_N(
    *, bearing_MPa: float, width_mm: float, wall_mm: float, lever_mm: float, spacing_mm: float
) -> float:
    """Tip force at which the near flank reaches a bearing pressure with both walls holding, N.

    lever_mm: from the middle of the near wall to the force; spacing_mm: between the middles of the two walls.
    Raises InputFault.
    """
    need(
        positive={"bearing_MPa": bearing_MPa, "width_mm": width_mm, "wall_mm": wall_mm, "spacing_mm": spacing_mm},
        not_negative={"lever_mm": lever_mm},
    )
    return bearing_MPa * width_mm * wall_mm / (1 + lever_mm / spacing_mm)


@dataclass(frozen=True, kw_only=True)
class Link:
    """One link of the chain that a jam loads: its limit as a torque on the drum or as a force at one tip.

    carries: "all", the whole jam torque passes through it (always so for a tip force), or "drive", it stands
    between drive and drum and sees only what the drive adds: belts that slip do not hold back the drum's own inertia.
    Must be said for a torque. Raises InputFault.
    """

    name: str
    torque_Nmm: float | None = None
    tip_force_N: float | None = None
    carries: str | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        if not isinstance(self.name, str) or not self.name.strip():
            checks.add("name", self.name, "must be a text", "name the link: it is reported as what gives way")
        if (self.torque_Nmm is None) == (self.tip_force_N is None):
            checks.add(
                "torque_Nmm", self.torque_Nmm, "give either torque_Nmm or tip_force_N", "one limit is one of the two"
            )  # fmt: skip
        elif self.torque_Nmm is not None:
            checks.positive("torque_Nmm", self.torque_Nmm, "give the torque at which the link gives way")
            checks.one_of(
                "carries", self.carries, ("all", "drive"),
                "'drive' for belts, clutch or pins between drive and drum; 'all' if the drum's own inertia acts through it too",
            )  # fmt: skip
        else:
            checks.positive("tip_force_N", self.tip_force_N, "give the force at one tip at which the link gives way")
            if self.carries not in (None, "all"):
                checks.add("carries", self.carries, "must be 'all': a tip force is carried whole", "leave it out")
        checks.done()


@dataclass(frozen=True)
class Cap:
    """What the weak links leave of the torque that a stop asks for, N mm.

    gives_way: name of the link that fails first, None if all declared links hold. limits: every link that carries
    the whole torque, as (name, torque), lowest first. drive_limit: the lowest of those between drive and drum.
    """

    asked_Nmm: float
    torque_Nmm: float
    gives_way: str | None
    limits: tuple[tuple[str, float], ...]
    drive_limit: tuple[str, float] | None
    warnings: tuple[str, ...]


NO_LINK = (
    "no link is declared that could cap the jam: the torque is what the stopping angle asks for. Whether bars, slots "
    "and wedges carry it was not checked; something may give way first, and then the stop takes longer than assumed"
)


def weakest_link(*, torque_Nmm: float, tip_radius_mm: float, links: Sequence[Link] = (), tips: int = 1) -> Cap:
    """Cap a jam's torque by the weakest of the links.

    tips: tips that are held at the same time and share the force evenly; 1 is a single-bar jam. Without any link that
    carries the whole torque the torque stays as asked, with a warning. Raises InputFault.
    """
    need(positive={"torque_Nmm": torque_Nmm, "tip_radius_mm": tip_radius_mm}, counted={"tips": tips})
    whole: list[tuple[str, float]] = []
    drive: list[tuple[str, float]] = []
    for link in links:
        if link.tip_force_N is not None:
            whole.append((link.name, tips * link.tip_force_N * tip_radius_mm))
        elif link.torque_Nmm is not None:
            (drive if link.carries == "drive" else whole).append((link.name, link.torque_Nmm))
    whole.sort(key=lambda item: item[1])
    drive.sort(key=lambda item: item[1])
    warnings = [] if whole else [NO_LINK]
    if drive:
        name, limit = drive[0]
        warnings.append(
            f"{name} caps what the drive adds at {1e-6 * limit:.4g} kN·m; the drum's own inertia acts beyond it, so it does not cap the jam"
        )
    capped = bool(whole) and whole[0][1] < torque_Nmm
    return Cap(
        torque_Nmm, whole[0][1] if capped else torque_Nmm, whole[0][0] if capped else None, tuple(whole),
        drive[0] if drive else None, tuple(warnings),
    )  # fmt: skip
