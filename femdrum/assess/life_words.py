"""Sentences and changes that go with a life: verdict, levers, yielding, what was not checked."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from ..model.finish import Finish
from ..model.material import Material
from ..strength.base_metal import metal_strength
from ..strength.surface_planes import Events
from .life_damage import plane_damage
from .life_places import EdgeDamage, Named, at_one
from .life_result import Lever, PlaceLife

__all__ = ["NOT_CHECKED", "hours", "levers", "verdict_words"]

ENDLESS_H = 1e9

NOT_CHECKED = (
    "fretting under wedge and hammer, which can cost most of a life; corrosion and wear of the slot's edge",
    "hammers, wedges, bolts, shaft seats, keyways and bearings",
    "welds and the drum's end, as far as no table of the study describes them",
    "brittle fracture below the temperature at which the toughness was found",
    "order of events: linear damage knows none; an early overload can help or hurt",
    "whether the duty is true: no published load spectrum of such machines is known; measure strains on the first drum",
)


def hours(value: float | None) -> str:
    """A life for people: no more digits than it knows."""
    if value is None or value >= 0.95 * ENDLESS_H:
        return "more than a billion h"
    if value < 1.0:
        return f"{value:.1g} h"
    digits = max(0, 1 - math.floor(math.log10(value)))
    rounded = round(value, 1 - math.floor(math.log10(value)))
    return f"{rounded:,.{digits}f} h" if rounded < 1e6 else f"{rounded / 1e6:,g} million h"


def verdict_words(worst: PlaceLife, target_h: float, survival: float, static_holds: bool) -> tuple[str, str]:
    """`holds` or `does not hold`, and why, in two sentences."""
    lives = worst.life_h is None or worst.life_h >= target_h
    verdict = "holds" if lives and static_holds else "does not hold"
    share = f"{100 * survival:.4g} %"
    words = (
        f"The worst place is the {worst.name}: {share} of drums live longer than {hours(worst.life_h)} "
        f"there, {hours(target_h)} are wanted; all stresses may grow {worst.safety:.2f} times before they are missed. "
        if worst.safety is not None
        else "Nothing in the duty cycles at any place. "
    )
    if worst.governs:
        most = max(s.fraction for s in worst.shares)
        words += f"\u201c{worst.governs}\u201d does {100 * most:.0f} % of the damage."
    if not static_holds:
        words += " The static proof fails."
    return verdict, words


def levers(found: EdgeDamage, named: Named, material: Material, finish: Finish, worst: PlaceLife) -> tuple[Lever, ...]:
    """What changes the life at the worst place, and by how much; the first doubles it."""
    judge, states, plane = at_one(found, named)
    before = float(plane_damage(judge, states, found.events, plane)[0])
    if before <= 0.0:
        return ()

    def factor(after: float) -> float | None:
        return before / after if after > 1e-12 * before else None

    def scaled(scale: float) -> float:
        return float(plane_damage(judge, states, found.events, plane, scale)[0])

    low, high = 0.3, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if 2 * scaled(middle) < before else (low, middle)
    out = [
        Lever(f"all stresses {100 * (1 - low):.2g} % lower", 2.0),
        Lever("all stresses 10 % lower", factor(scaled(0.9))),
        Lever("all stresses 10 % higher", factor(scaled(1.1))),
    ]
    if worst.governs:
        for what, events in _changed(found.events, worst.governs):
            out.append(Lever(what, factor(float(plane_damage(judge, states, events, plane)[0]))))
    for what, other in _finishes(finish):
        own = metal_strength(
            material, other, gradient_per_mm=0.0, stressed_area_mm2=1.0, equal_places=1, size="none",
            survival=judge.strength.curve.survival,
        )  # fmt: skip
        same = metal_strength(
            material, finish, gradient_per_mm=0.0, stressed_area_mm2=1.0, equal_places=1, size="none",
            survival=judge.strength.curve.survival,
        )  # fmt: skip
        ratio = float(np.asarray(own.curve.amplitude_MPa) / np.asarray(same.curve.amplitude_MPa))
        strength = replace(
            judge.strength, curve=judge.strength.curve.scaled(ratio), residual_stress_MPa=own.residual_stress_MPa,
            skin_ultimate_MPa=own.skin_ultimate_MPa,
        )  # fmt: skip
        after = float(plane_damage(replace(judge, strength=strength), states, found.events, plane)[0])
        out.append(Lever(what, factor(after)))
    return tuple(out)


def _changed(events: Events, row: str) -> Iterator[tuple[str, Events]]:
    own = np.array([name == row for name in events.name])
    yield f"\u201c{row}\u201d half as often", events.often(np.where(own, 0.5, 1.0))
    middle = 0.5 * (events.first + events.second)
    share = np.where(own, 0.9, 1.0)[:, None]
    yield (
        f"\u201c{row}\u201d with a range 10 % smaller",
        replace(
            events, first=middle + share * (events.first - middle), second=middle + share * (events.second - middle)
        ),
    )


def _finishes(finish: Finish) -> Iterator[tuple[str, Finish]]:
    if finish.hot_cut or finish.process == "water jet cut":
        yield (
            "edge dressed: the cut skin ground off along the edge, Rz 12.5 µm, its residual stress gone",
            replace(finish, dressed=True, roughness_Rz_um=12.5, residual_stress_MPa=0.0),
        )
    elif finish.rz_um > 12.5:
        yield "edge finer: Rz 12.5 µm", replace(finish, roughness_Rz_um=12.5)
    if finish.residual_stress_MPa > 0.0:
        yield "residual stress relieved", replace(finish, residual_stress_MPa=0.0)
