"""Conditions in a table: peak and its place, what adding separate maxima would have said, and which loads make it."""

from __future__ import annotations

from typing import Any

from ..quantity import Quantity, rounded
from ..study import Results
from ..study.answers import StoredAnswer
from .angles import angle_words, turned
from .conditions import chosen_variant, conditions_of, worst_conditions
from .places import peak_place
from .words import bare, percent, signed, variant_name, with_unit

__all__ = ["condition_rows", "excess_words", "largest_shares", "over_all"]

MOST_SHARES = 3
LEAST_SHARE = 0.005


def condition_rows(results: Results) -> list[dict[str, str]]:
    """A row for each variant and condition."""
    return [
        {
            "variant": variant_name(variant) or "this part",
            "condition": answer.case,
            "peak": bare(answer.peak) if answer.peak.value is not None else "no number",
            "verdict": answer.verdict.value,
            "place": peak_place(variant, answer),
            "angle": angle_words(turned(results, variant, answer)),
            "added": _added(answer),
            "excess": excess_words(answer.peak, answer.adding_maxima_MPa),
            "shares": largest_shares(answer),
        }
        for variant in results.variants
        for answer in conditions_of(variant)
    ]


def _added(answer: StoredAnswer) -> str:
    if answer.adding_maxima_MPa is None:
        return ""
    return rounded(answer.adding_maxima_MPa, max(answer.peak.band or 0.0, 5e-4 * answer.adding_maxima_MPa))


def excess_words(peak: Quantity, added_MPa: float | None) -> str:
    """`+5.0 %` above |peak|, or `2.3 times` it where it is twice as much or more."""
    if added_MPa is None or not peak.value:
        return ""
    times = added_MPa / abs(peak.value)
    return f"{times:.2g} times" if times >= 2 else percent(times - 1, peak.relative_band)


def largest_shares(answer: StoredAnswer) -> str:
    """The loads that make most of a peak, with what each contributes: `wedges 53 %; normal cut 21 %`."""
    order: list[Any] = sorted(answer.shares, key=lambda s: -abs(s.fraction))[:MOST_SHARES]
    order = [s for s in order if abs(s.fraction) >= LEAST_SHARE]
    return "; ".join(f"{s.load}{_taken(s)} {signed(f'{100 * s.fraction:.0f}')}\u00a0%" for s in order)


def _taken(share: Any) -> str:
    return "" if share.share == 1 else f" (taken {signed(f'{share.share:g}')} times)"


def over_all(results: Results) -> list[str]:
    """Sentences on all conditions together: whose worst peak is lowest, and under which condition that is."""
    chosen = chosen_variant(results)
    if chosen is None:
        return []
    answer = chosen.answer(worst_conditions(chosen, 1)[0])
    worst = f"\u201c{answer.case}\u201d, {with_unit(answer.peak)}"
    name = variant_name(chosen)
    if len(results.variants) == 1:
        return [f"Of all conditions the worst is {worst}: {peak_place(chosen, answer)}."]
    return [
        f"Over all conditions the worst peak is lowest with {name}: {worst}.",
        f"It lies here: {peak_place(chosen, answer)}. The pictures of shares and of single loads along the edge, and the table "
        "of unit loads, are of this variant.",
    ]
