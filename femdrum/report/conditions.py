"""Which answers are conditions, which variant stands for the study under them, and what its pictures need."""

from __future__ import annotations

import numpy as np

from ..study import Results, StoredVariant
from ..study.answers import StoredAnswer
from .parts import part_of
from .perimeter_picture import PerimeterPicture
from .picture import NoData, variant_of
from .shares_picture import ConditionPeak, SharesPicture
from .unit_picture import UnitPicture
from .words import signed, variant_name

__all__ = [
    "BARS",
    "MOST_PERIMETERS",
    "REMAINDER",
    "chosen_variant",
    "condition_names",
    "conditions_of",
    "leading_cases",
    "perimeter_picture",
    "shares_picture",
    "unit_picture",
    "worst_conditions",
]

MOST_PERIMETERS = 3
REMAINDER = "bars and angle"
BARS = "bars, by the other loads"


def conditions_of(variant: StoredVariant) -> list[StoredAnswer]:
    """A variant's answers to conditions, in the order of the study."""
    return [a for a in variant.answers if a.case_kind == "condition"]


def condition_names(results: Results) -> list[str]:
    """Names of the conditions of a study."""
    return list(dict.fromkeys(a.case for v in results.variants for a in conditions_of(v)))


def leading_cases(results: Results) -> list[str]:
    """What the report speaks of first and draws: the conditions; without any, all loads."""
    return condition_names(results) or list(dict.fromkeys(a.case for v in results.variants for a in v.answers))


def worst_conditions(variant: StoredVariant, most: int = MOST_PERIMETERS) -> list[str]:
    """Conditions of the highest peaks in magnitude, the highest first."""
    found = [a for a in conditions_of(variant) if a.peak.value is not None]
    return [a.case for a in sorted(found, key=lambda a: -abs(float(a.peak)))[:most]]


def chosen_variant(results: Results) -> StoredVariant | None:
    """The variant whose worst condition has the lowest peak; None where none has numbers for all conditions."""
    names = condition_names(results)
    best: tuple[float, StoredVariant] | None = None
    for variant in results.variants:
        peaks = [abs(float(a.peak)) for a in conditions_of(variant) if a.peak.value is not None]
        whole = bool(names) and len(peaks) == len(names) and variant.edge is not None
        if whole and (best is None or max(peaks) < best[0]):
            best = max(peaks), variant
    return best[1] if best else None


def shares_picture(results: Results, variant: StoredVariant | str | int | None = None) -> SharesPicture:
    """Shares of all conditions of a variant; of the chosen one for None."""
    which = _variant(results, variant)
    peaks = [
        ConditionPeak(a.case, tuple((s.load, s.stress_MPa) for s in a.shares), a.peak, a.adding_maxima_MPa or 0.0)
        for a in conditions_of(which)
        if a.shares
    ]
    return SharesPicture(peaks, name=f"shares-{which.key}", of=variant_name(which))


def unit_picture(results: Results, variant: StoredVariant | str | int | None = None) -> UnitPicture:
    """Unit loads side by side; of the chosen variant, or the first where there are no conditions, for None."""
    return UnitPicture((chosen_variant(results) if variant is None else None) or variant_of(results, variant))


def perimeter_picture(
    results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None
) -> PerimeterPicture:
    """Stress along the edge load by load of one condition; for None of the chosen variant, and of its worst condition.

    Each load stands at its share and at the angle of the drum that the condition has; what bars answer to other loads than
    their own is one more line. Where the loads cannot be reckoned anew, their stored factors stand at each load's own
    worst angle, and what the condition's angle changes is in that line too.
    """
    from .angles import angle_words, turned  # reckons loads anew: slow to import

    which = _variant(results, variant)
    worst = worst_conditions(which, 1)
    if not worst:
        raise NoData("this variant has no condition with a number")
    answer = which.answer(case or worst[0])
    part, edge = part_of(which.inputs), which.edge
    if edge is None or part is None or not answer.shares:
        raise NoData("this condition has no stress along an edge")
    found = turned(results, which, answer)
    if found is None:
        rows = [s.share * np.array(which.answer(s.load).factors) for s in answer.shares]
    else:
        rows = [found.parts[s.load] for s in answer.shares]
    rest = REMAINDER if found is None else BARS
    names = [s.load if s.share == 1 else f"{s.load}, {signed(f'{s.share:g}')} times" for s in answer.shares]
    together = np.array(answer.factors)
    left = together - np.sum(rows, axis=0)
    scale = np.max(np.abs([*rows, together]), axis=0)
    if np.any(np.abs(left) > 1e-6 * np.maximum(scale, 1e-300)):
        rows.append(left)
        names.append(rest)
    picture = PerimeterPicture(answer.case, edge.combine(rows), names, edge.combine(together), part, which.key)
    if variant_name(which):
        picture.caption = f"{variant_name(which).capitalize()}. {picture.caption}"
    if found is not None and found.phi_deg is not None:
        picture.caption += (
            f" The drum stands where the condition is worst: the first slot {angle_words(found)} degrees past straight down in "
            "the sense of rotation."
        )
    if BARS in names:
        picture.caption += (
            f" \u201c{BARS}\u201d is how bars across the drum answer to the loads that are not their own."
        )
    if REMAINDER in names:
        picture.caption += (
            f" Loads stand as they are each by itself; \u201c{REMAINDER}\u201d is what is left to their sum: bars answer to "
            "all loads together, and the drum stands at the condition's worst angle, not at each load's own."
        )
    return picture


def _variant(results: Results, variant: StoredVariant | str | int | None) -> StoredVariant:
    """The variant asked for, else the chosen one."""
    which = chosen_variant(results) if variant is None else variant_of(results, variant)
    if which is None:
        raise NoData("no variant has a number for every condition")
    return which
