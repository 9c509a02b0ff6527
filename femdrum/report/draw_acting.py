"""What acts on a ring under a load or a condition, as drawings and lists show it: from the loads' own formulas, nothing solved.

All loads stand as the drum meets them at angle 0, slot 0 pointing straight down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..loads.factors import factors
from ..loads.machine_factors import tip_overhang_mm
from ..loads.result import Factors
from ..model.flank import Patch
from ..model.ring import Ring
from ..model.tip_loads import TIP_LOADS
from .draw_scene import Drawn

__all__ = ["Acting", "TipPush", "acting", "number"]

KINDS = {
    "rotation": "rotation", "overspeed": "overspeed", "through_bar": "bars at speed", "axial": "axial force", "bending": "bending",
    "transverse": "transverse force", "torsion": "torque", "drive_torque": "torque of the drive", "jam": "jam",
    "reversal": "stop after reversing", "self_weight": "own weight", "belt_pull": "pull of the belts", "unbalance": "unbalance",
    "internal_pressure": "pressure in the bore", "flank_pressure": "pressure on a flank", "flank_shear": "shear on a flank",
    "wedge_clamp": "wedges", "opposed_pull": "opposed pull", "tip_force": "force at a tip", "cutting": "cutting force",
    "impact": "impact",
}  # fmt: skip


@dataclass(frozen=True)
class TipPush:
    """A force at a tip around the drum, positive against the rotation; height of its line above the outer surface."""

    slot: int
    force_N: float
    height_mm: float


@dataclass(frozen=True)
class Acting:
    """One load of what is drawn.

    letter: by which the drawing names it; share: of the load in the condition, already in all numbers. speed_rpm of the drum, None where it
    does not turn by this load. Vectors are (size, direction in degrees from slot 0 in the sense of rotation), sizes as in the
    unit cases: N mm and N. patches: on flanks, with the pressure or shear in MPa. outward: N on a slot (None: on every slot).
    clamp_N pushes leading and trailing flank of every slot apart. turns: it stands in space, the drum turns through it.
    """

    letter: str
    name: str
    kind: str
    share: float
    said: tuple[str, ...]
    speed_rpm: float | None = None
    bending: tuple[float, float] | None = None
    transverse: tuple[float, float] | None = None
    torsion_Nmm: float = 0.0
    axial_MPa: float = 0.0
    pressure_MPa: float = 0.0
    clamp_N: float = 0.0
    tip: TipPush | None = None
    patches: tuple[tuple[Patch, float], ...] = ()
    outward: tuple[tuple[int | None, float], ...] = ()
    strut: tuple[int, int] | None = None
    turns: bool = False

    @property
    def on_section(self) -> bool:
        """True where something acts on the shell as a beam."""
        return bool(self.bending or self.transverse or self.torsion_Nmm or self.axial_MPa)

    @property
    def on_flanks(self) -> bool:
        """True where something stands on flanks."""
        return bool(self.patches or self.clamp_N)


def number(value: float, digits: int = 3) -> str:
    """`1,250` or `47.2`, with a true minus sign."""
    if value == 0:
        return "0"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:,.{min(decimals, 6)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", "\u2212")


def acting(drawn: Drawn, case: str) -> tuple[Acting, ...]:
    """The loads of a condition, or one load, of a ring. Raises KeyError for an unknown name, InputFault as the loads do."""
    loads = {load.name: load for load in drawn.loads}
    out = []
    for n, (name, share) in enumerate(drawn.shares(case).items()):
        load = loads[name]
        made = factors(drawn.part, load, drawn.machine, drawn.material)
        out.append(_one(drawn, load, made, share, chr(ord("A") + n) if n < 26 else str(n + 1)))
    return tuple(out)


def _one(drawn: Drawn, load: Any, made: Factors, share: float, letter: str) -> Acting:
    ring = drawn.part
    terms: dict[str, float] = {}
    for part in (made.steady, made.cosine):
        for case, value in part.items():
            terms[case] = terms.get(case, 0.0) + share * value
    patches = tuple((Patch.from_name(c), v) for c, v in terms.items() if c.startswith("flank:"))
    pulls = _outward(ring, patches)
    fields: dict[str, Any] = {
        "speed_rpm": math.sqrt(abs(terms["rotation"])) * 30 / math.pi if terms.get("rotation") else None,
        "bending": _vector(terms, "bending"), "transverse": _vector(terms, "transverse"),
        "torsion_Nmm": terms.get("torsion", 0.0), "axial_MPa": terms.get("axial", 0.0),
        "pressure_MPa": terms.get("internal_pressure", 0.0), "clamp_N": terms.get("clamp", 0.0),
        "tip": _tip(drawn, load, patches), "turns": made.rotating,
        "patches": tuple(p for p in patches if not (pulls and p[0].traction == "shear_wall")),
    }  # fmt: skip
    if terms.get("hung"):
        pulls = (*pulls, (None, terms["hung"]))
    for case, value in terms.items():
        if case.startswith("strut:"):
            slot = int(case.partition(":")[2])
            pulls = (*pulls, (slot, value), ((slot + ring.slots_around // 2) % ring.slots_around, value))
    if made.strut is not None:
        fields["strut"] = (made.strut.slot, (made.strut.slot + ring.slots_around // 2) % ring.slots_around)
    fields["outward"] = pulls
    return Acting(
        letter=letter,
        name=load.name,
        kind=KINDS.get(load.kind, load.kind),
        share=share,
        said=_said(drawn, made, fields),
        **fields,
    )


def _vector(terms: dict[str, float], case: str) -> tuple[float, float] | None:
    x, y = terms.get(f"{case}_x", 0.0), terms.get(f"{case}_y", 0.0)
    size = math.hypot(x, y)
    return (size, math.degrees(math.atan2(y, x)) % 360.0) if size else None


def _outward(ring: Ring, patches: tuple[tuple[Patch, float], ...]) -> tuple[tuple[int | None, float], ...]:
    """Pulls outward: equal uniform shears through the wall on a leading and a trailing flank."""
    sums: dict[int | None, list[tuple[str, float]]] = {}
    for patch, value in patches:
        if patch.traction == "shear_wall" and patch.profile == "uniform":
            sums.setdefault(patch.slot, []).append((patch.flank, value * patch.force_N(ring)))
    return tuple(
        (slot, sum(f for _, f in both)) for slot, both in sums.items()
        if {flank for flank, _ in both} == {"leading", "trailing"} and np.ptp([f for _, f in both]) < 1e-6 * abs(both[0][1])
    )  # fmt: skip


def _tip(drawn: Drawn, load: Any, patches: tuple[tuple[Patch, float], ...]) -> TipPush | None:
    """The force at the tip is the sum of what the flanks take: the bar is in balance."""
    if load.kind not in TIP_LOADS:
        return None
    ring = drawn.part
    spacing = 2 * math.pi / ring.slots_around
    force = 0.0
    for patch, value in patches:
        ahead = {"leading": 1.0, "trailing": -1.0}[patch.flank] * value * patch.force_N(ring)
        force -= ahead * math.cos(spacing * ((patch.slot or 0) - load.slot))
    if load.overhang_mm is not None:
        height = float(load.overhang_mm)
    else:
        assert drawn.machine is not None
        height = tip_overhang_mm(ring, drawn.machine)
    return TipPush(load.slot, force, height)


def _said(drawn: Drawn, made: Factors, got: dict[str, Any]) -> tuple[str, ...]:
    """What acts, in short phrases with units."""
    said = []
    if got["speed_rpm"]:
        said.append(f"{number(got['speed_rpm'], 4)} rpm")
    if got.get("strut"):
        i, j = got["strut"]
        pull = made.strut.pull_N if made.strut is not None else 0.0
        said.append(f"bar as a strut between slots {i} and {j}, {number(1e-3 * pull)} kN pull beyond each seat")
    for slot, force in got["outward"]:
        where = "every slot" if slot is None else f"slot {slot}"
        said.append(f"{number(1e-3 * abs(force))} kN {'outward' if force > 0 else 'inward'} on {where}")
    if got["clamp_N"]:
        said.append(f"{number(1e-3 * got['clamp_N'])} kN on leading and trailing flank of every slot")
    if got["tip"] is not None:
        tip = got["tip"]
        way = "against" if tip.force_N > 0 else "with"
        said.append(
            f"{number(1e-3 * abs(tip.force_N))} kN {way} the rotation at the tip of slot {tip.slot}, {number(tip.height_mm)} mm above the shell"
        )
    said += _patch_words(got)
    if got["torsion_Nmm"]:
        said.append(f"torque {number(1e-6 * got['torsion_Nmm'])} kN·m on the free-end side")
    stands = ", stands in space" if got["turns"] else ""
    if got["bending"]:
        size, way = got["bending"]
        said.append(f"moment {number(1e-6 * size)} kN·m, tension side at {number(way)}°{stands}")
    if got["transverse"]:
        size, way = got["transverse"]
        said.append(f"transverse force {number(1e-3 * size)} kN to {number(way)}°{stands}")
    if got["axial_MPa"]:
        area = math.pi * (drawn.part.outer_radius_mm**2 - drawn.part.inner_radius_mm**2)
        said.append(
            f"{number(got['axial_MPa'])} MPa axial, {number(1e-3 * got['axial_MPa'] * area)} kN on the plain shell"
        )
    if got["pressure_MPa"]:
        said.append(f"{number(got['pressure_MPa'])} MPa on the bore")
    return tuple(said)


def _patch_words(got: dict[str, Any]) -> list[str]:
    said: dict[tuple[int | None, str, str], list[str]] = {}
    for patch, value in got["patches"]:
        key = (patch.slot, patch.flank, "pressure" if patch.traction == "pressure" else "shear")
        linear = patch.profile == "linear"
        said.setdefault(key, []).append(
            f"{number(value)} to {number(-value)} MPa from outer rim to bore" if linear else f"{number(value)} MPa"
        )
    out = []
    for (slot, flank, traction), values in said.items():
        where = "every slot" if slot is None else f"slot {slot}"
        out.append(f"{traction} {' with '.join(values)} on the {flank.replace('_', ' ')} flank of {where}")
    return out
