"""Which variants of a study have a life, what each comes to, and which of them stand for the study."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..assess.life_result import PlaceLife, VariantLife
from ..study import Results, StoredVariant
from .picture import NoData, variant_of

__all__ = ["Outcome", "duty_rows", "extremes", "longest", "of_variant", "outcomes"]

MANY = 200  # of more variants only what a life comes to is kept: a whole one takes some 0.3 MB


@dataclass(frozen=True)
class Outcome:
    """What a variant's life comes to. worst: its worst place. failing: conditions whose static proof fails."""

    variant: StoredVariant
    verdict: str
    words: str
    target_h: float
    survival: float
    beyond: str
    worst: PlaceLife
    failing: tuple[str, ...]

    @property
    def order(self) -> tuple[float, float]:
        """Larger is better: life, and safety where lives are endless."""
        life = math.inf if self.worst.life_h is None else self.worst.life_h
        return life, math.inf if self.worst.safety is None else self.worst.safety


def outcomes(results: Results) -> list[Outcome]:
    """Outcomes of all variants that have a life, in the order of the study; none where the study asks for no life."""
    if not results.life:
        return []
    out = []
    many = len(results.variants) > MANY
    for variant in results.variants:
        life = variant.life
        if life is not None and life.places:
            failing = tuple(row.condition for row in life.static if not row.holds)
            out.append(
                Outcome(variant, life.verdict, life.words, life.target_h, life.survival, life.beyond, life.places[0], failing)
            )  # fmt: skip
        if many:
            vars(variant).pop("life", None)
    return out


def longest(found: Sequence[Outcome]) -> Outcome:
    """The outcome of the longest life."""
    return max(found, key=lambda o: o.order)


def extremes(found: Sequence[Outcome]) -> list[Outcome]:
    """The shortest and the longest life; one where they are the same variant."""
    if not found:
        return []
    worst, best = min(found, key=lambda o: o.order), longest(found)
    return [worst] if worst.variant.key == best.variant.key else [worst, best]


def of_variant(
    results: Results, which: StoredVariant | str | int | None = None
) -> tuple[StoredVariant, VariantLife]:  # fmt: skip
    """A variant and its life; of the longest life for None. Raises NoData where there is none."""
    if which is None:
        found = outcomes(results)
        if not found:
            raise NoData("no variant of this study has a life")
        which = longest(found).variant
    variant = variant_of(results, which)
    if variant.life is None or not variant.life.places:
        raise NoData("this variant has no life")
    return variant, variant.life


def duty_rows(results: Results) -> list[str]:
    """Names of the rows of the duty, in the order of the study."""
    return [str(row["name"]) for row in results.life.get("duty", [])]
