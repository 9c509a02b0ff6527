"""The first page: three sentences and one table. Which variant, why, how sure, and what limits it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..assess.life_words import hours
from ..figure import Figure
from ..provenance import computed
from ..study import Results, StoredVariant
from .conditions import condition_names, leading_cases
from .page_candidates import Candidate, candidates, higher, rivals
from .page_first_rows import FirstRow, candidate_row, case_rows, shown_candidates
from .places import peak_place
from .words import with_unit

__all__ = ["COVERAGE", "FirstPage", "FirstRow", "first_page"]

MOST_NAMES = 3

# what random rings say of the bands of rings
COVERAGE = Figure(
    "peaks of random rings within their bands", 98.0, "%", "296 of 302",
    computed("tests/exact/ring_bands.py on the odd rings of tests/exact/ring_band_reference.csv"),
)  # fmt: skip


@dataclass(frozen=True)
class FirstPage:
    """which, sure, limit: the three sentences. rows: the best variants, or the cases of a single one.

    key: of the variant that is shown as the choice, empty where there is none. with_life, with_miss, single: which columns the table has.
    """

    which: str
    sure: str
    limit: str
    rows: tuple[FirstRow, ...]
    rows_left: int
    key: str
    with_life: bool
    with_miss: bool
    single: bool

    @property
    def sentences(self) -> tuple[str, str, str]:
        """All three, in their order."""
        return self.which, self.sure, self.limit


def first_page(results: Results) -> FirstPage:
    """What the study comes to. Says so where the bands part nothing, where variants have no number, and where there is only one."""
    ordered = candidates(results)
    chosen = ordered[0] if ordered and (ordered[0].has_number or ordered[0].outcome) else None
    single = len(ordered) == 1
    variant = None if chosen is None else results.variants[chosen.number]
    close = rivals(ordered) if chosen is not None else []
    if single and variant is not None and chosen is not None:
        rows, left = case_rows(results, variant, chosen), 0
    else:
        shown = shown_candidates(ordered)
        rows, left = tuple(candidate_row(results, c, chosen, close) for c in shown), len(ordered) - len(shown)
    return FirstPage(
        which=_which(results, ordered, chosen, close),
        sure=_sure(results, ordered),
        limit=_limit(results, chosen, variant),
        rows=rows,
        rows_left=left,
        key="" if chosen is None else chosen.key,
        with_life=any(c.outcome for c in ordered),
        with_miss=bool(results.scatter),
        single=single and chosen is not None,
    )


# Which


def _which(results: Results, ordered: Sequence[Candidate], chosen: Candidate | None, close: list[Candidate]) -> str:
    if chosen is None:
        reasons = {c.why for c in ordered}
        if reasons == {"sharp corner: the peak is unbounded"}:
            every = "all corners are sharp" if len(ordered) > 1 else "its corner is sharp"
            return f"No variant can be chosen: {every}, and theory has no finite peak there."
        return "No variant can be chosen: none has a number for every " + (
            "condition." if condition_names(results) else "load."
        )
    return _by_life(ordered, chosen, close) if chosen.outcome is not None else _by_peak(results, ordered, chosen, close)


def _by_life(ordered: Sequence[Candidate], chosen: Candidate, close: list[Candidate]) -> str:
    outcome = chosen.outcome
    assert outcome is not None
    lives = f"{hours(outcome.worst.life_h)} at {100 * outcome.survival:.4g} % survival"
    wanted = f"{hours(outcome.target_h)} are wanted"
    holds = outcome.verdict == "holds"
    if len(ordered) == 1:
        return (
            f"Only one variant was asked, so nothing is chosen; it {outcome.verdict}: it lives {lives}, and {wanted}."
        )
    count = sum(c.outcome is not None for c in ordered)
    lead = (
        f"{_capital(chosen.name)} lives longest of {count} variants and holds: {lives}, and {wanted}"
        if holds
        else f"None of {count} variants holds; {chosen.name} is nearest: {lives}, and {wanted}"
    )
    if close:
        return f"{lead}; against {_names(close)} no difference is proven, as the bands of stress leave the lives open."
    others = [c for c in ordered[1:] if c.outcome is not None]
    if not others:
        return f"{lead}."
    nearest = others[0]
    assert nearest.outcome is not None
    return f"{lead}; the next, {nearest.name}, comes to {hours(nearest.outcome.worst.life_h)}" + (
        "." if holds == (nearest.outcome.verdict == "holds") else ", and does not hold."
    )


def _by_peak(results: Results, ordered: Sequence[Candidate], chosen: Candidate, close: list[Candidate]) -> str:
    assert chosen.peak is not None
    cases = leading_cases(results)
    under = f"under \u201c{chosen.case}\u201d"
    if len(ordered) == 1:
        return (
            f"Only one variant was asked, so nothing is chosen: its largest peak is {with_unit(chosen.peak)}, {under}."
        )
    over = (
        "" if len(cases) == 1 else f"over {len(cases)} {'conditions' if condition_names(results) else 'single loads'} "
    )
    if close:
        return (
            f"No difference is proven between {chosen.name} ({_peak(chosen)}) and {_names(close, peaks=True)}: {over}their worst "
            "peaks are the lowest, and their bands overlap."
        )
    numbers = [c for c in ordered if c.has_number]
    lead = f"{_capital(chosen.name)}: {over}its worst peak is the lowest, {with_unit(chosen.peak)} {under}"
    if len(numbers) == 1:
        return f"{lead}; no other variant has a number."
    return f"{lead}; the next, {numbers[1].name}, is proven {higher(numbers[1], chosen)}."


def _peak(c: Candidate) -> str:
    return with_unit(c.peak) if c.peak is not None else c.why


def _names(close: list[Candidate], peaks: bool = False) -> str:
    told = [f"{c.name} ({_peak(c)})" if peaks else c.name for c in close[:MOST_NAMES]]
    more = f" and {len(close) - MOST_NAMES} more" if len(close) > MOST_NAMES else ""
    return "; ".join(told) + more


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# How sure


def _sure(results: Results, ordered: Sequence[Candidate]) -> str:
    numbers = [c for c in ordered if c.has_number]
    without = [c for c in ordered if not c.has_number]
    parts = []
    if numbers:
        low, high = (100 * f(c.band for c in numbers) for f in (min, max))
        wide = f"{low:.2g}" if f"{low:.2g}" == f"{high:.2g}" else f"{low:.2g} to {high:.2g}"
        parts.append(f"peaks stand within \u00b1 {wide} %")
        parts += _coverage(results)
    if loose := sum(bool(c.why) for c in numbers):
        parts.append(f"{loose} of {len(ordered)} variants have a wider band than asked")
    if without:
        sharp = sum(c.why.startswith("sharp") for c in without)
        told = [f"{n} of {len(ordered)} variants {what}" for n, what in
                ((sharp, "have sharp corners and no number"), (len(without) - sharp, "have no solution for every case")) if n]  # fmt: skip
        parts += told
    if numbers:
        parts.append("bands speak of the numerical error of the stated model alone, not of loads, material or making")
    return f"How sure: {'; '.join(parts) or 'there is no number to judge'}."


def _coverage(results: Results) -> list[str]:
    """How often such bands were right: by this study's own exact values, or by random rings."""
    kinds, inside, asked = set(), 0, 0
    for variant in results.variants:
        kinds.add(variant.inputs["part"]["kind"])
        for answer in variant.answers:
            for c in answer.comparisons:
                if c.quantity.endswith("of this plate") and None not in (c.ours, c.band, c.value):
                    asked += 1
                    inside += abs(c.ours - c.value) <= c.band  # type: ignore[operator]
    out = []
    if asked:
        out.append(f"the exact solution of the same plate lies within that band in {inside} of {asked} cases")
    if "ring" in kinds:
        out.append(f"of {COVERAGE.formula.split()[-1]} peaks of other rings {COVERAGE.value:g} % lay within such bands")
    return out


# What limits it


def _limit(results: Results, chosen: Candidate | None, variant: StoredVariant | None) -> str:
    if chosen is None or variant is None:
        return "What limits it cannot be said without a number."
    parts = []
    if chosen.outcome is not None:
        outcome, worst = chosen.outcome, chosen.outcome.worst
        if outcome.failing:
            parts.append(f"the static proof, which fails under {', '.join(outcome.failing)}")
        if worst.governs:
            most = max(s.fraction for s in worst.shares)
            parts.append(
                f"life at the {worst.name}, where \u201c{worst.governs}\u201d does {100 * most:.0f} % of the damage"
            )
    if chosen.peak is not None:
        where = peak_place(variant, variant.answer(chosen.case))
        stress = f"stress under \u201c{chosen.case}\u201d: {with_unit(chosen.peak)}{', ' + where if where else ''}"
        parts.append(stress + _of_yield(chosen))
    looked = "" if chosen.outcome is not None else "; life was not looked at"
    whose = "What limits it" if len(results.variants) == 1 else f"What limits {chosen.name}"
    return f"{whose}: {'; and '.join(parts)}{looked}."


def _of_yield(c: Candidate) -> str:
    if c.over is None:
        return "; no yield strength is given to lay it against"
    if c.over > 1.0:
        return f", {100 * c.over:.0f} % of the yield strength, band included, so the steel yields there locally"
    return f", {100 * c.over:.0f} % of the yield strength, band included"
