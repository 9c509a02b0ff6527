"""The variants as candidates for the answer: what each comes to, from best to worst, and which the bands cannot part."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..quantity import Quantity, Verdict
from ..study import Results, StoredVariant
from ..study.answers import StoredAnswer
from .conditions import leading_cases
from .life_choice import Outcome, outcomes
from .words import variant_name

__all__ = ["Candidate", "Span", "candidates", "higher", "rivals", "span"]

Span = tuple[float, float]


@dataclass(frozen=True)
class Candidate:
    """A variant, its worst case among those that lead the report, and its life.

    case, peak: of the largest |peak|; empty and None where some case has no number, `why` then says the reason. band: largest half width
    of its peaks over the peak. over: largest |peak| with its band over the yield strength, None where none is given.
    outcome: what its life comes to; slope: steepest slope of its S-N curve, 0 without a life.
    """

    number: int
    key: str
    name: str
    case: str
    peak: Quantity | None
    band: float
    over: float | None
    yield_MPa: float | None
    why: str
    outcome: Outcome | None = None
    slope: float = 0.0

    @property
    def has_number(self) -> bool:
        """All its cases have a peak."""
        return self.peak is not None


def candidates(results: Results) -> list[Candidate]:
    """All variants: those with lives by their lives, then those with peaks by their peaks, then those without a number."""
    cases = set(leading_cases(results))
    lives = {o.variant.key: o for o in outcomes(results)}
    slope = _steepest(lives) if lives else 0.0
    out = [
        _candidate(n, variant, [a for a in variant.answers if a.case in cases], lives.get(variant.key), slope)
        for n, variant in enumerate(results.variants)
    ]
    return sorted(out, key=_rank)


def _steepest(lives: dict[str, Outcome]) -> float:
    """How strongly a life answers to stress at most: beyond its knee the S-N curve may fall with 2k - 1."""
    life = next(iter(lives.values())).variant.life
    if life is None:
        return 0.0
    return life.slope if life.beyond == "elementary" else 2.0 * life.slope - 1.0


def _candidate(
    number: int, variant: StoredVariant, answers: Sequence[StoredAnswer], outcome: Outcome | None, slope: float
) -> Candidate:
    name = variant_name(variant) or "this part"
    limit = variant.inputs["material"].get("yield_MPa")
    missing = [a for a in answers if a.peak.value is None]
    if missing or not answers:
        verdicts = {a.verdict for a in missing}
        why = "sharp corner: the peak is unbounded" if verdicts == {Verdict.UNBOUNDED} else "no solution"
        return Candidate(number, variant.key, name, "", None, 0.0, None, limit, why, outcome, slope if outcome else 0.0)
    worst = max(answers, key=lambda a: abs(float(a.peak)))
    band = max(a.peak.relative_band or 0.0 for a in answers)
    over = (abs(float(worst.peak)) + (worst.peak.band or 0.0)) / limit if limit else None
    unsettled = any(a.verdict is Verdict.NOT_SETTLED for a in answers)
    why = "band wider than asked" if unsettled else ""
    return Candidate(
        number, variant.key, name, worst.case, worst.peak, band, over, limit, why, outcome, slope if outcome else 0.0
    )  # fmt: skip


def _rank(c: Candidate) -> tuple[float, float, float, float, int]:
    """Smaller is better: a life that holds, a longer life, a lower peak, the order of the study."""
    peak = abs(float(c.peak)) if c.peak is not None else math.inf
    if c.outcome is None:
        return (2.0 if c.has_number else 3.0, 0.0, 0.0, peak, c.number)
    life, safety = c.outcome.order
    return (0.0 if c.outcome.verdict == "holds" else 1.0, -life, -safety, peak, c.number)


def span(c: Candidate) -> Span:
    """What the bands leave open: of |peak| in MPa, or of the life in hours, of the safety where nothing fails."""
    if c.outcome is not None:
        life, safety = c.outcome.order
        if math.isfinite(life):
            return life * (1.0 + c.band) ** -c.slope, life * (1.0 - min(c.band, 0.9)) ** -c.slope
        return safety / (1.0 + c.band), safety / (1.0 - min(c.band, 0.9))
    if c.peak is None:
        return math.inf, math.inf
    value, band = abs(float(c.peak)), c.peak.band or 0.0
    return value - band, value + band


def rivals(ordered: Sequence[Candidate]) -> list[Candidate]:
    """Those whose span overlaps with that of the first one, so that no difference between them is proven."""
    first = ordered[0]
    if first.outcome is not None:
        mine = span(first)
        endless = math.isinf(first.outcome.order[0])
        return [
            c
            for c in ordered[1:]
            if c.outcome is not None
            and math.isinf(c.outcome.order[0]) == endless
            and span(c)[1] >= mine[0]
            and span(c)[0] <= mine[1]
        ]
    if not first.has_number:
        return []
    return [c for c in ordered[1:] if c.has_number and c.outcome is None and span(c)[0] <= span(first)[1]]


def higher(c: Candidate, chosen: Candidate) -> str:
    """By how much a peak is higher whatever the bands hide; rounded down."""
    gain = 100 * (span(c)[0] / span(chosen)[1] - 1)
    step = 10.0 ** (math.floor(math.log10(gain)) - 1) if gain > 0 else 1.0
    return f"higher by at least {math.floor(gain / step + 1e-9) * step:.{max(0, round(-math.log10(step)))}f} %"
