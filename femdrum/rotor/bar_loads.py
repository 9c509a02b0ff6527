"""What a hammer bar's loads do to the two faces that clamp it: pushes, slips, and a tipping moment that opens a rim.

The bar stands between the slot's flank and the wedge's face. A force across it presses one face and relieves the other; a
force along the faces is carried by their friction. N, mm, MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import Fault, InputFault
from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..provenance import computed
from ..units import omega_rad_s
from .given import need

__all__ = [
    "FACES",
    "BarReactions",
    "FaceLoads",
    "accident_loads",
    "bar_bending_MPa",
    "bar_reactions",
    "centrifugal_loads",
    "clamp_for_friction_N",
    "edge_pressure_MPa",
    "far_slot_reaction_N",
    "hit_loads",
    "near_slot_reaction_N",
]

FACES = ("flank", "wedge", "stop")
STATICS = computed("statics")
LINEAR = computed("statics, pressure linear through the wall")
ROTATION = computed("kinematics of steady rotation")


@dataclass(frozen=True, kw_only=True)
class FaceLoads:
    """What one condition does to one clamped face.

    normal_N: change of the normal force by the load, positive presses. tangential_N: force along the face that its friction has to
    carry. rim_relief_N: what a tipping moment takes from the pressure at the worst rim, as a force over the whole face. tramp:
    a rare tramp hit. speed_rpm, slot_opening_um, wedge_out_N: of the condition, as in clamp_window. accident: the bar is
    broken, a half alone is fitted, or the wedge is lost; then only a positive stop counts and tangential_N is what it carries. Raises InputFault.
    """

    name: str
    face: str
    normal_N: float = 0.0
    tangential_N: float = 0.0
    rim_relief_N: float = 0.0
    tramp: bool = False
    speed_rpm: float = 0.0
    slot_opening_um: float = 0.0
    wedge_out_N: float = 0.0
    accident: bool = False

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.one_of("face", self.face, FACES)
        for field in ("normal_N", "tangential_N", "slot_opening_um"):
            checks.number(field, getattr(self, field))
        checks.number("speed_rpm", self.speed_rpm, least=0.0, most=100_000.0, way_out="in revolutions a minute")
        for field in ("rim_relief_N", "wedge_out_N"):
            checks.number(field, getattr(self, field), least=0.0, way_out="0 where there is none")
        for field in ("tramp", "accident"):
            checks.truth(field, getattr(self, field))
        if self.accident is True and self.tangential_N == 0:
            checks.add(
                "tangential_N", self.tangential_N, "must not be zero in the accident case", "what the stop has to carry"
            )
        if (self.accident is True) != (self.face == "stop"):
            checks.add("face", self.face, "'stop' belongs to the accident case, and the accident case to the stop")
        checks.done()


@stated("reaction of the near slot", "kN", "R1 = F (1 + a / L)", STATICS, 1e-3)
def near_slot_reaction_N(*, force_N: float, lever_mm: float, spacing_mm: float) -> float:
    """Force on the near slot if both walls hold the bar as supports, N; lever from the near support. Raises InputFault."""
    return force_N + far_slot_reaction_N(force_N=force_N, lever_mm=lever_mm, spacing_mm=spacing_mm)


@stated("reaction of the far slot", "kN", "R2 = F a / L", STATICS, 1e-3)
def far_slot_reaction_N(*, force_N: float, lever_mm: float, spacing_mm: float) -> float:
    """Force on the far slot, N, in space against the near one's. Raises InputFault."""
    need(finite={"force_N": force_N}, not_negative={"lever_mm": lever_mm}, positive={"spacing_mm": spacing_mm})
    return force_N * lever_mm / spacing_mm


@stated("pressure at the near slot's outer rim", "MPa", "p = R1 / (w t) + 6 M1 / (w t²)", LINEAR)
def edge_pressure_MPa(*, reaction_N: float, moment_Nmm: float, width_mm: float, wall_mm: float) -> float:
    """Pressure at the outer rim of a wall that takes a force and a tipping moment, MPa, linear through the wall.

    One wall alone: R1 = F and M1 = F (overhang + wall / 2). Raises InputFault.
    """
    need(
        finite={"reaction_N": reaction_N, "moment_Nmm": moment_Nmm},
        positive={"width_mm": width_mm, "wall_mm": wall_mm},
    )
    return reaction_N / (width_mm * wall_mm) + 6 * moment_Nmm / (width_mm * wall_mm**2)


@stated(
    "bending stress of the bar at the shell", "MPa", "sigma = 6 F a / (b h²)", computed("plane sections stay plane")
)
def bar_bending_MPa(*, force_N: float, overhang_mm: float, width_mm: float, depth_mm: float) -> float:
    """Bending stress of the bar at the shell, MPa; depth_mm h in the direction of the force. Raises InputFault."""
    need(
        finite={"force_N": force_N},
        not_negative={"overhang_mm": overhang_mm},
        positive={"width_mm": width_mm, "depth_mm": depth_mm},
    )
    return 6 * force_N * overhang_mm / (width_mm * depth_mm**2)


@stated("clamp that friction would need", "kN", "N = S F / (n mu)", STATICS, 1e-3)
def clamp_for_friction_N(
    *, force_N: float, safety: float, faces: int, friction: float, accident: bool = False
) -> float:
    """Normal force on each face with which friction alone carries a force along the faces, N.

    Raises InputFault, always in the accident case: there friction is no retention, whatever the clamp.
    """
    need(positive={"force_N": force_N, "safety": safety, "faces": faces}, friction={"friction": friction})
    clamp = safety * force_N / (faces * friction)
    if accident:
        raise InputFault(
            Fault(
                "accident", accident,
                f"friction alone is no retention in the accident case (it would ask for {1e-3 * clamp:.4g} kN on each face)",
                "give the hammer a positive stop that carries the whole pull",
            )
        )  # fmt: skip
    return clamp


@dataclass(frozen=True)
class BarReactions:
    """What the two slots take of a tip force, N and N mm, in the direction of the force; edge pressure in MPa.

    moment_Nmm: tipping moment that stays with the near wall. touches: whether the far wall has been reached; touch_N: tip force at
    which it is, None if one wall is meant to be alone.
    """

    near_N: float
    far_N: float
    moment_Nmm: float
    edge_MPa: float
    touches: bool
    touch_N: float | None
    wall_mm: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            figure(near_slot_reaction_N, self.near_N)
            if self.moment_Nmm == 0
            else Figure("reaction of the near slot", 1e-3 * self.near_N, "kN", "R1 = F + R2", STATICS),
            Figure("reaction of the far slot", 1e-3 * self.far_N, "kN", "R2 = (F a - M1) / L", STATICS),
            Figure("tipping moment on the near wall", 1e-3 * self.moment_Nmm, "N·m", "M1 = min(F a, k c / L)", STATICS),
            figure(edge_pressure_MPa, self.edge_MPa),
        )


def bar_reactions(
    *,
    force_N: float,
    overhang_mm: float,
    wall_mm: float,
    width_mm: float,
    walls: str,
    spacing_mm: float | None = None,
    clearance_mm: float = 0.0,
    turning_stiffness_Nmm_rad: float | None = None,
) -> BarReactions:
    """Reactions of a bar hit at its tip; the lever is overhang + wall / 2, to the middle of the near wall.

    walls "two": both hold it, R1 = F (1 + a/L). With clearance_mm c at the far slot the bar must first turn by c / L in
    the near wall, which resists with turning_stiffness_Nmm_rad: until then the near wall is alone, after that it keeps k c / L.
    walls "one": the near wall alone. Raises InputFault.
    """
    checks = Checks()
    checks.one_of("walls", walls, ("two", "one"), "'one' where the far slot is loose, worn or empty")
    if walls == "two":
        checks.positive("spacing_mm", spacing_mm, "between the middles of the two walls")
        if clearance_mm:
            checks.positive(
                "turning_stiffness_Nmm_rad", turning_stiffness_Nmm_rad, "it decides when the far slot helps"
            )
    need(
        not_negative={"force_N": force_N, "overhang_mm": overhang_mm, "clearance_mm": clearance_mm},
        positive={"wall_mm": wall_mm, "width_mm": width_mm}, checks=checks,
    )  # fmt: skip
    lever = overhang_mm + 0.5 * wall_mm
    tipping, far, moment, touch = force_N * lever, 0.0, force_N * lever, None
    if walls == "two":
        assert spacing_mm is not None
        first = (turning_stiffness_Nmm_rad or 0.0) * clearance_mm / spacing_mm
        moment = min(tipping, first)
        far = (tipping - moment) / spacing_mm
        touch = first / lever
    edge = edge_pressure_MPa(reaction_N=force_N + far, moment_Nmm=moment, width_mm=width_mm, wall_mm=wall_mm)
    touches = touch is not None and force_N >= touch
    return BarReactions(force_N + far, far, moment, edge, touches, touch, wall_mm)


def hit_loads(
    name: str,
    reactions: BarReactions,
    *,
    flank_share: float,
    towards: str = "flank",
    along_N: float = 0.0,
    tramp: bool = False,
    speed_rpm: float = 0.0,
    slot_opening_um: float = 0.0,
    wedge_out_N: float = 0.0,
) -> tuple[FaceLoads, ...]:
    """Loads on the near and, where it is reached, the far slot's two faces under a hit.

    towards: "flank" or "wedge", the face that the hit presses on; in both slots it is the same. flank_share: the flank's
    part of a push across the slot (Clamp.flank_share). along_N: force along the near slot's faces, shared by the two.
    Raises InputFault.
    """
    checks = Checks()
    checks.one_of("towards", towards, ("flank", "wedge"))
    need(share={"flank_share": flank_share}, finite={"along_N": along_N}, checks=checks)
    sign = 1.0 if towards == "flank" else -1.0
    made = []
    for slot, push, moment in (("near", reactions.near_N, reactions.moment_Nmm), ("far", reactions.far_N, 0.0)):
        if slot == "far" and push == 0:
            continue
        for face, part in (("flank", flank_share), ("wedge", 1 - flank_share)):
            made.append(
                FaceLoads(
                    name=f"{name}, {slot} slot", face=face, normal_N=(sign if face == "flank" else -sign) * part * push,
                    tangential_N=0.5 * along_N if slot == "near" else 0.0, rim_relief_N=part * 6 * moment / reactions.wall_mm,
                    tramp=tramp, speed_rpm=speed_rpm, slot_opening_um=slot_opening_um, wedge_out_N=wedge_out_N,
                )
            )  # fmt: skip
    return tuple(made)


def _pull_N(mass_kg: float, radius_mm: float, speed_rpm: float, radius_name: str) -> float:
    need(
        positive={"mass_kg": mass_kg, "speed_rpm": speed_rpm}, finite={radius_name: radius_mm},
        way_out={"speed_rpm": "in revolutions a minute"},
    )  # fmt: skip
    return 1e-3 * mass_kg * radius_mm * omega_rad_s(speed_rpm) ** 2


def centrifugal_loads(
    name: str, *, bar_mass_kg: float, offset_mm: float, speed_rpm: float, slots: int = 1, slot_opening_um: float = 0.0
) -> tuple[FaceLoads, ...]:
    """Net centrifugal force of a whole bar on the faces of one slot: m e omega², shared by the faces of 1 or 2 clamped slots.

    Only the offset of the common centre of gravity counts; the halves pull against each other in the bar. Raises InputFault.
    """
    checks = Checks()
    checks.whole("slots", slots, 1, 2, "slots that clamp the bar")
    checks.done()
    force = abs(_pull_N(bar_mass_kg, offset_mm, speed_rpm, "offset_mm")) / (2 * slots)
    return tuple(
        FaceLoads(name=name, face=face, tangential_N=force, speed_rpm=speed_rpm, slot_opening_um=slot_opening_um)
        for face in ("flank", "wedge")
    )


def accident_loads(name: str, *, half_mass_kg: float, half_radius_mm: float, speed_rpm: float) -> tuple[FaceLoads, ...]:
    """The accident case: bar broken, one half fitted, or wedge lost. The whole pull of a half stands on the stop.

    half_radius_mm: of that half's centre of gravity. Raises InputFault.
    """
    checks = Checks()
    checks.positive("half_radius_mm", half_radius_mm)
    checks.done()
    force = _pull_N(half_mass_kg, half_radius_mm, speed_rpm, "half_radius_mm")
    if not math.isfinite(force):
        raise InputFault(Fault("speed_rpm", speed_rpm, "is out of range", "in revolutions a minute"))
    return (FaceLoads(name=name, face="stop", tangential_N=force, speed_rpm=speed_rpm, accident=True),)
