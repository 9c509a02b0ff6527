"""The table of the first page: the best variants against each other, or the cases of a single one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..study import Results, StoredVariant
from .conditions import leading_cases
from .life_rows import bare_hours, governs, probability
from .page_candidates import Candidate, higher, span
from .places import peak_place
from .words import bare

__all__ = ["FirstRow", "candidate_row", "case_rows", "shown_candidates"]

MOST_ROWS = 8


@dataclass(frozen=True)
class FirstRow:
    """A line of the table, in words. standing: against the first one. bad: what stands there is no good news."""

    variant: str
    case: str
    peak: str
    use: str
    place: str
    life: str
    limit: str
    miss: str
    standing: str
    chosen: bool
    bad: bool


def shown_candidates(ordered: Sequence[Candidate]) -> list[Candidate]:
    """The best ones, and of those without a number at least one."""
    if len(ordered) <= MOST_ROWS:
        return list(ordered)
    last = next((c for c in ordered[MOST_ROWS - 1 :] if not c.has_number), ordered[-1])
    return [*ordered[: MOST_ROWS - 1], last]


def candidate_row(results: Results, c: Candidate, chosen: Candidate | None, close: Sequence[Candidate]) -> FirstRow:
    """A variant's line; standing against the chosen one, of which `close` cannot be told apart."""
    variant = results.variants[c.number]
    scatter = results.scatter.get(c.key)
    return FirstRow(
        variant=c.name,
        case=c.case,
        peak=bare(c.peak) if c.peak is not None else "no number",
        use=_use(c.over),
        place=peak_place(variant, variant.answer(c.case)) if c.case else "",
        life=bare_hours(c.outcome.worst.life_h) if c.outcome else "",
        limit=_limit_word(c),
        miss="" if scatter is None else probability(scatter),
        standing=_standing(c, chosen, close),
        chosen=chosen is not None and c.key == chosen.key,
        bad=not c.has_number or bool(c.outcome and c.outcome.verdict != "holds"),
    )


def _use(over: float | None) -> str:
    return "" if over is None else f"{100 * over:.0f}"


def _limit_word(c: Candidate) -> str:
    if c.outcome is not None:
        if c.outcome.failing:
            return "static proof"
        return f"life: {governs(c.outcome.worst)}" if c.outcome.worst.governs else "nothing cycles"
    if not c.has_number:
        return c.why
    if c.over is None:
        return "no yield strength given"
    return "yields locally" if c.over > 1.0 else "below yield"


def _standing(c: Candidate, chosen: Candidate | None, close: Sequence[Candidate]) -> str:
    if chosen is None or not c.has_number:
        return c.why or "no number"
    if c.key == chosen.key:
        nearest = c.outcome is not None and c.outcome.verdict != "holds"
        alone = "nearest to the target" if nearest else "longest life" if c.outcome else "lowest"
        return f"{alone}, not proven" if close else alone
    if any(c.key == other.key for other in close):
        return "no difference proven"
    if c.outcome is not None and chosen.outcome is not None:
        mine, theirs = span(c), span(chosen)
        if math.isinf(c.outcome.order[0]) != math.isinf(chosen.outcome.order[0]):
            return "shorter life"
        holds = "" if c.outcome.verdict == chosen.outcome.verdict else f"{c.outcome.verdict}; "
        return f"{holds}at most {mine[1] / theirs[0]:.2g} of that life" if theirs[0] > 0 else f"{holds}shorter life"
    if c.outcome is None and chosen.outcome is not None:
        return "no life"
    return higher(c, chosen)


def case_rows(results: Results, variant: StoredVariant, chosen: Candidate) -> tuple[FirstRow, ...]:
    """A single variant: a row for each of its leading cases, the highest peak first."""
    cases = leading_cases(results)
    answers = [a for a in variant.answers if a.case in cases]
    answers.sort(key=lambda a: -math.inf if a.peak.value is None else -abs(a.peak.value))
    out = []
    for a in answers[:MOST_ROWS]:
        limit = chosen.yield_MPa
        over = None if limit is None or a.peak.value is None else (abs(a.peak.value) + (a.peak.band or 0.0)) / limit
        word = "" if over is None else "yields locally" if over > 1.0 else "below yield"
        out.append(
            FirstRow(
                variant=chosen.name, case=a.case, peak=bare(a.peak) if a.peak.value is not None else "no number", use=_use(over),
                place=peak_place(variant, a), life="", limit=word, miss="", standing=a.verdict.value, chosen=a.case == chosen.case,
                bad=a.peak.value is None,
            )
        )  # fmt: skip
    return tuple(out)
