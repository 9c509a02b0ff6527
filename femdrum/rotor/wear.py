"""Wear of slot and seat as a condition: two walls bear, then one; how much is allowed; and which place frets most.

Clearance in the slot lets the bar turn before its far wall helps. Until then the near wall alone takes the tipping moment,
and the pressure at its rim is many times that of two walls. N, mm, MPa.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import Fault, InputFault
from ..figure import Figure
from ..model.check import Checks
from ..model.clamp import Clamp
from ..provenance import common_practice, computed
from .bar_loads import BarReactions, bar_reactions
from .given import need

__all__ = [
    "FRETTING_SLIP_UM",
    "FrettingPlace",
    "FrettingRank",
    "WearLimit",
    "WearState",
    "clamp_wear_um",
    "fretting_rank",
    "wear_limit",
    "wear_states",
]

LINEAR = computed("statics, pressure linear through the wall; rigid bar turning in the near wall by its stiffness")
TRAVEL = computed("geometry of the taper")
SPRING = computed("stiffness across the slot")
RANKED = common_practice(
    "product of stress, shear traction and slip (fretting parameter after Ruiz), as a ranking only"
)
# common practice, no source: below this slip the faces stick and little happens
FRETTING_SLIP_UM = 2.0


@dataclass(frozen=True)
class WearState:
    """A state of wear: clearance at the far slot, who bears, reactions and the pressure at the near slot's outer rim."""

    clearance_mm: float
    walls: str
    reactions: BarReactions

    @property
    def edge_MPa(self) -> float:
        """Pressure at the near slot's outer rim."""
        return self.reactions.edge_MPa


def wear_states(
    clearances_mm: Sequence[float],
    *,
    force_N: float,
    overhang_mm: float,
    wall_mm: float,
    width_mm: float,
    spacing_mm: float,
    turning_stiffness_Nmm_rad: float,
) -> tuple[WearState, ...]:
    """The bar under one tip force at growing clearances, mm: from two walls that bear to the near one alone.

    turning_stiffness_Nmm_rad: how stiffly the near wall resists the bar's turning; an upper estimate is pi E* w t² / 16. Raises InputFault.
    """
    made = []
    for clearance in clearances_mm:
        found = bar_reactions(
            force_N=force_N, overhang_mm=overhang_mm, wall_mm=wall_mm, width_mm=width_mm, walls="two", spacing_mm=spacing_mm,
            clearance_mm=clearance, turning_stiffness_Nmm_rad=turning_stiffness_Nmm_rad,
        )  # fmt: skip
        made.append(WearState(clearance, "two" if found.touches else "one", found))
    return tuple(made)


@dataclass(frozen=True)
class WearLimit:
    """How far slot and seat may wear, mm of clearance at the far slot.

    limit_mm: the smaller of the clearance at which the rim reaches allowed_MPa (edge_mm; 0 if it does so unworn, infinite if one wall may bear
    alone) and what the wedge's travel can take up (travel_mm, None if not said). one_wall_mm: clearance from which the far wall no
    longer helps under this force. unworn_MPa, one_wall_MPa: pressure at the rim at either end. governs: "edge", "travel" or "nothing".
    """

    limit_mm: float
    edge_mm: float
    travel_mm: float | None
    one_wall_mm: float
    unworn_MPa: float
    one_wall_MPa: float
    allowed_MPa: float
    governs: str

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers; infinite limits are left out."""
        made = [
            Figure("rim pressure, unworn, two walls bear", self.unworn_MPa, "MPa", "F (1 + a/L) / (w t)", LINEAR),
            Figure("rim pressure, one wall bears", self.one_wall_MPa, "MPa", "F / (w t) + 6 F a / (w t²)", LINEAR),
            Figure("clearance from which one wall bears", self.one_wall_mm, "mm", "c = F a L / k", LINEAR),
        ]
        if math.isfinite(self.edge_mm):
            made.append(
                Figure(
                    "clearance at which the rim reaches its limit",
                    self.edge_mm,
                    "mm",
                    "c = (p - p_2) L² w t² / (k (6 L - t))",
                    LINEAR,
                )
            )
        if self.travel_mm is not None:
            made.append(
                Figure("wear that the wedge's travel takes up", self.travel_mm, "mm", "travel tan(alpha)", TRAVEL)
            )
        return tuple(made)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know."""
        if self.governs == "edge" and self.edge_mm == 0:
            return (f"the rim bears {self.unworn_MPa:.4g} MPa unworn, more than the {self.allowed_MPa:g} MPa allowed",)
        if self.governs == "nothing":
            return (
                "no wear limit follows: one wall alone bears the force within what is allowed, and the wedge's travel was not said",
            )
        return ()


def wear_limit(
    *,
    force_N: float,
    overhang_mm: float,
    wall_mm: float,
    width_mm: float,
    spacing_mm: float,
    turning_stiffness_Nmm_rad: float,
    allowed_MPa: float,
    clamp: Clamp | None = None,
) -> WearLimit:
    """Clearance at which the near slot's rim reaches allowed_MPa, or the wedge has no travel left. Raises InputFault.

    The rim's pressure grows linearly with the clearance: the near wall keeps M = k c / L.
    """
    checks = Checks()
    if checks.positive("wall_mm", wall_mm):
        checks.number("spacing_mm", spacing_mm, above=wall_mm, way_out="between the middles of the two walls")
    need(
        positive={
            "force_N": force_N, "width_mm": width_mm, "turning_stiffness_Nmm_rad": turning_stiffness_Nmm_rad, "allowed_MPa": allowed_MPa,
        },
        not_negative={"overhang_mm": overhang_mm}, checks=checks,
    )  # fmt: skip
    bar = {"force_N": force_N, "overhang_mm": overhang_mm, "wall_mm": wall_mm, "width_mm": width_mm}
    unworn = bar_reactions(**bar, walls="two", spacing_mm=spacing_mm).edge_MPa
    alone = bar_reactions(**bar, walls="one").edge_MPa
    one_wall = force_N * (overhang_mm + 0.5 * wall_mm) * spacing_mm / turning_stiffness_Nmm_rad
    edge = math.inf if allowed_MPa >= alone else max(0.0, one_wall * (allowed_MPa - unworn) / (alone - unworn))
    travel = None
    if clamp is not None and clamp.wedge.travel_mm is not None:
        travel = clamp.wedge.travel_mm * math.tan(math.radians(clamp.wedge.taper_deg))
    limit = min(edge, math.inf if travel is None else travel)
    governs = "nothing" if math.isinf(limit) else "edge" if limit == edge else "travel"
    return WearLimit(limit, edge, travel, one_wall, unworn, alone, allowed_MPa, governs)


def clamp_wear_um(clamp: Clamp, *, assembled_least_N: float, needed_N: float) -> float:
    """Wear of the clamped faces, both together, that the least clamp bears until the bolts are tightened again, µm.

    assembled_least_N: ClampWindow.assembled_least_N; needed_N: RetentionProof.least_clamp_N. 0 where nothing is left.
    The wedge is taken as stuck; where the bolt draws it after, more is borne. Raises InputFault.
    """
    need(not_negative={"assembled_least_N": assembled_least_N, "needed_N": needed_N})
    return max(0.0, assembled_least_N - needed_N) / clamp.stiffness_kN_mm


@dataclass(frozen=True, kw_only=True)
class FrettingPlace:
    """A place where two faces rub: range of tension along the face (MPa), pressure (MPa), friction, amplitude of slip (µm)."""

    name: str
    tension_range_MPa: float
    pressure_MPa: float
    friction: float
    slip_amplitude_um: float

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        for field in ("tension_range_MPa", "pressure_MPa", "slip_amplitude_um"):
            checks.number(field, getattr(self, field), least=0.0)
        need(friction={"friction": self.friction}, checks=checks)


@dataclass(frozen=True)
class FrettingRank:
    """A place in the ranking: 1 is the worst. parameter_MPa2_mm: stress x shear traction x slip; share of the worst; slips: above 2 µm."""

    rank: int
    name: str
    parameter_MPa2_mm: float
    share: float
    slips: bool

    @property
    def figure(self) -> Figure:
        """For the table of derived numbers."""
        return Figure(
            f"fretting, {self.name}, share of the worst",
            self.share,
            "-",
            "sigma tau delta over its largest; a ranking, no life",
            RANKED,
        )


def fretting_rank(places: Sequence[FrettingPlace]) -> tuple[FrettingRank, ...]:
    """Places by stress x shear traction x slip, the worst first. A ranking only: no life follows from it. Raises InputFault."""
    if not places or not all(isinstance(place, FrettingPlace) for place in places):
        raise InputFault(Fault("places", places, "must be one FrettingPlace or more"))
    value = {id(p): p.tension_range_MPa * p.friction * p.pressure_MPa * 1e-3 * p.slip_amplitude_um for p in places}
    ordered = sorted(places, key=lambda p: -value[id(p)])
    worst = value[id(ordered[0])]
    return tuple(
        FrettingRank(i + 1, p.name, value[id(p)], value[id(p)] / worst if worst > 0 else 0.0, p.slip_amplitude_um > FRETTING_SLIP_UM)
        for i, p in enumerate(ordered)
    )  # fmt: skip
