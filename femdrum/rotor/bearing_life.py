"""Rating life of the rotor's bearings, and of both together; static safety and least load.

Ratings are those of the bearing's maker. The basic life is that which 90 of 100 bearings reach; it knows nothing of dirt,
grease or misalignment, which end most bearings of such machines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import MISSING
from ..figure import Figure, figure, stated
from ..model.check import Checks
from ..model.drum import Drum
from ..provenance import common_practice, memory, published, standard
from .bearing_loads import LIFE_EXPONENTS, BearingLoad

__all__ = [
    "LEAST_LOAD_SHARE",
    "LEAST_STATIC_SAFETY",
    "SYSTEM_EXPONENTS",
    "TARGET_H",
    "BearingLife",
    "RotorLife",
    "basic_life_h",
    "bearing_lives",
    "life_factor",
    "required_rating_kN",
    "system_life_h",
]

ISO_281 = standard("ISO 281, basic rating life", "formula seen in a secondary source")
REQUIRED = published("Shigley's Mechanical Engineering Design, solution of problem 11-3")
SPREAD = memory("slope of the lives of rolling bearings as ISO 281 takes it: 9/8 for rollers, 10/9 for balls")
SYSTEM_EXPONENTS = {"roller": 9.0 / 8.0, "ball": 10.0 / 9.0}
TARGET_H = (20_000.0, 40_000.0)
TARGET = common_practice("20,000 to 40,000 h for bearings of such machines")
LEAST_STATIC_SAFETY = 3.0
SHOCK = common_practice("static safety of 3 to 4 and more where there are shocks")
LEAST_LOAD_SHARE = 0.01
SKID = common_practice("least load of a roller bearing of about C / 100, or its rollers skid")


@stated("basic rating life L10h", "h", "L10h = 1e6 / (60 n) (C / P)^p", ISO_281)
def basic_life_h(*, rating_kN: float, load_kN: float, speed_rpm: float, bearing_kind: str = "roller") -> float:
    """Life that 90 % reach, h; p = 10/3 for rollers, 3 for balls. Raises InputFault."""
    checks = Checks()
    checks.positive("rating_kN", rating_kN, "dynamic rating C as its maker prints it")
    checks.positive("load_kN", load_kN)
    checks.positive("speed_rpm", speed_rpm, "revolutions a minute")
    checks.one_of("bearing_kind", bearing_kind, LIFE_EXPONENTS)
    checks.done()
    return 1e6 / (60 * speed_rpm) * float((rating_kN / load_kN) ** LIFE_EXPONENTS[bearing_kind])


@stated("dynamic rating needed", "kN", "C = P L^(1/p), L in millions of revolutions", REQUIRED)
def required_rating_kN(*, load_kN: float, life_Mrev: float, bearing_kind: str = "roller") -> float:
    """Dynamic rating with which 90 % reach a life in millions of revolutions, kN. Raises InputFault."""
    checks = Checks()
    checks.positive("load_kN", load_kN)
    checks.positive("life_Mrev", life_Mrev, "millions of revolutions: 60 n h / 1e6")
    checks.one_of("bearing_kind", bearing_kind, LIFE_EXPONENTS)
    checks.done()
    return float(load_kN * life_Mrev ** (1 / LIFE_EXPONENTS[bearing_kind]))


@stated("life over life at the first load", "-", "(load ratio)^-p", ISO_281)
def life_factor(*, load_ratio: float, bearing_kind: str = "roller") -> float:
    """What a load that is load_ratio times as large leaves of the life. Raises InputFault."""
    checks = Checks()
    checks.positive("load_ratio", load_ratio, "new load over old load")
    checks.one_of("bearing_kind", bearing_kind, LIFE_EXPONENTS)
    checks.done()
    return float(load_ratio ** -LIFE_EXPONENTS[bearing_kind])


@stated("life of both bearings together", "h", "(sum of L^-e)^(-1/e)", SPREAD)
def system_life_h(*, lives_h: Sequence[float], bearing_kind: str = "roller") -> float:
    """Life that 90 % of rotors reach without the loss of any of their bearings, h. Raises InputFault."""
    checks = Checks()
    if not lives_h:
        checks.add("lives_h", [], "must hold at least one life")
    for i, life in enumerate(lives_h):
        checks.positive(f"lives_h[{i}]", life)
    checks.one_of("bearing_kind", bearing_kind, SYSTEM_EXPONENTS)
    checks.done()
    e = SYSTEM_EXPONENTS[bearing_kind]
    shortest = min(lives_h)
    return float(shortest * sum((life / shortest) ** -e for life in lives_h) ** (-1 / e))


@dataclass(frozen=True)
class BearingLife:
    """Life (h), static safety C0 / largest load (None without C0), load over rating, and the rating for the target."""

    side: str
    life_h: float
    static_safety: float | None
    load_share: float
    rating_for_target_kN: float


@dataclass(frozen=True)
class RotorLife:
    """Both bearings, and both together (system_h)."""

    bearings: tuple[BearingLife, ...]
    system_h: float
    warnings: tuple[str, ...]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        out = []
        for b in self.bearings:
            out.append(figure(basic_life_h, b.life_h, f"{b.side} bearing: basic rating life L10h"))
            if b.static_safety is not None:
                out.append(Figure(f"{b.side} bearing: static safety", b.static_safety, "-", "C0 / largest load", SHOCK))
            what = f"{b.side} bearing: dynamic rating for {TARGET_H[0]:,.0f} h"
            out.append(figure(required_rating_kN, b.rating_for_target_kN, what))
        return (*out, figure(system_life_h, self.system_h))


def bearing_lives(drum: Drum, loads: Sequence[BearingLoad], *, speed_rpm: float) -> RotorLife:
    """Lives of the drum's bearings under their loads. Raises InputFault where a rating is missing."""
    checks = Checks()
    pair = {"drive": drum.drive_bearing, "free": drum.other_bearing}
    for side, bearing in pair.items():
        rating = None if bearing is None else bearing.dynamic_rating_kN
        way = "dynamic rating C as its maker prints it"
        checks.positive(f"{side}_bearing.dynamic_rating_kN", MISSING if rating is None else rating, way)
    checks.positive("speed_rpm", speed_rpm, "revolutions a minute")
    checks.done()
    rows, warnings = [], []
    for load in loads:
        bearing = pair[load.side]
        assert bearing is not None
        assert bearing.dynamic_rating_kN is not None
        kind, rating, kN = bearing.bearing_kind, bearing.dynamic_rating_kN, 1e-3 * load.equivalent_N
        life = basic_life_h(rating_kN=rating, load_kN=kN, speed_rpm=speed_rpm, bearing_kind=kind)
        c0 = bearing.static_rating_kN
        safety = None if c0 is None else 1e3 * c0 / load.largest_N
        wanted = required_rating_kN(load_kN=kN, life_Mrev=60e-6 * speed_rpm * TARGET_H[0], bearing_kind=kind)
        rows.append(BearingLife(load.side, life, safety, kN / rating, wanted))
        who = f"The {load.side} bearing"
        if life < TARGET_H[0]:
            warnings.append(f"{who} reaches {life:,.0f} h; wanted are {TARGET.source} (common practice, no source).")
        if safety is not None and safety < LEAST_STATIC_SAFETY:
            warnings.append(f"{who} has a static safety of {safety:.2g}; {SHOCK.source} (common practice, no source).")
        if kind == "roller" and kN / rating < LEAST_LOAD_SHARE:
            warnings.append(f"{who} carries {kN:.3g} kN of {rating:g} kN: {SKID.source} (common practice, no source).")
    # of two kinds the smaller slope, which gives the shorter life
    kinds = {b.bearing_kind for b in pair.values() if b is not None}
    system = system_life_h(lives_h=[r.life_h for r in rows], bearing_kind=kinds.pop() if len(kinds) == 1 else "ball")
    return RotorLife(tuple(rows), system, tuple(warnings))
