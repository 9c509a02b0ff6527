"""What the numbers say, in sentences: which variant is lowest, whether the bands part them, where the steel yields."""

from __future__ import annotations

from dataclasses import dataclass

from ..quantity import Quantity, Verdict
from ..study import Results, StoredVariant
from ..study.answers import StoredAnswer
from .words import variant_name, with_unit

__all__ = ["comparison", "yielding"]

MOST_NAMES = 4


@dataclass(frozen=True)
class _Entry:
    name: str
    peak: Quantity

    @property
    def low(self) -> float:
        return abs(float(self.peak)) - (self.peak.band or 0.0)

    @property
    def high(self) -> float:
        return abs(float(self.peak)) + (self.peak.band or 0.0)


def comparison(results: Results, case: str) -> list[str]:
    """Sentences on one load: the lowest peak, whether it is proven, the highest, and what has no number."""
    pairs = [(v, a) for v in results.variants for a in v.answers if a.case == case]
    entries = [_Entry(variant_name(v) or "this part", a.peak) for v, a in pairs if a.peak.value is not None]
    entries.sort(key=lambda e: abs(float(e.peak)))
    out: list[str] = []
    if not entries:
        return [f"No variant has a number under \u201c{case}\u201d.", *_without(pairs)]
    lowest, highest = entries[0], entries[-1]
    if len(entries) == 1:
        out.append(
            f"Peak stress under \u201c{case}\u201d: {with_unit(lowest.peak)}"
            + (f" ({lowest.name})." if len(pairs) > 1 else ".")
        )
    else:
        out.append(f"Lowest peak under \u201c{case}\u201d: {lowest.name}, {with_unit(lowest.peak)}.")
        rivals = [e for e in entries[1:] if e.low <= lowest.high]
        if rivals:
            names = "; ".join(f"{e.name}, {with_unit(e.peak)}" for e in rivals[:MOST_NAMES])
            more = f"; and {len(rivals) - MOST_NAMES} more" if len(rivals) > MOST_NAMES else ""
            out.append(f"Its band overlaps with that of {names}{more}: no difference is proven between them.")
        else:
            gain = 100 * (entries[1].low / lowest.high - 1)
            out.append(
                f"The bands part it from the next, {entries[1].name}, {with_unit(entries[1].peak)}: lower by at least "
                f"{gain:.2g} % within the stated model."
            )
        ratio_low, ratio_high = highest.low / lowest.high, highest.high / lowest.low if lowest.low > 0 else float("inf")
        out.append(
            f"Highest: {highest.name}, {with_unit(highest.peak)}, {_between(ratio_low, ratio_high)} times the lowest."
        )
    return out + _without(pairs)


def _between(low: float, high: float) -> str:
    a, b = f"{low:.2f}", f"{high:.2f}"
    return a if a == b else f"{a} to {b}"


def _without(pairs: list[tuple[StoredVariant, StoredAnswer]]) -> list[str]:
    """What has no number, or a wider band than asked."""
    out = []
    words = {
        Verdict.UNBOUNDED: "No number (sharp corner, the peak is unbounded)",
        Verdict.FAILED: "No solution",
        Verdict.NOT_SETTLED: "Wider band than asked",
    }
    for verdict, text in words.items():
        names = [variant_name(v) or "this part" for v, a in pairs if a.verdict is verdict]
        if names:
            more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
            out.append(f"{text}: {'; '.join(names[:MOST_NAMES])}{more}.")
    return out


def yielding(results: Results, case: str) -> list[str]:
    """Where the elastic peak passes the yield strength, or may."""
    over: list[str] = []
    compared = 0
    for variant in results.variants:
        limit = variant.inputs["material"].get("yield_MPa")
        for answer in variant.answers:
            if answer.case == case and limit is not None and answer.peak.value is not None:
                compared += 1
                if abs(answer.peak.value) + (answer.peak.band or 0.0) > limit:
                    over.append(variant_name(variant) or "this part")
    if not compared:
        return [
            f"Under \u201c{case}\u201d no peak was compared with a yield strength: none is given, or there is no number."
        ]
    if not over:
        return [
            f"Under \u201c{case}\u201d every elastic peak lies below the yield strength listed with the material. "
            "That alone is no proof of strength: other loads act as well, and life was not looked at."
        ]
    names = (
        ": " + "; ".join(over[:MOST_NAMES]) + (f" and {len(over) - MOST_NAMES} more" if len(over) > MOST_NAMES else "")
    )
    if len(over) == compared > 1:
        names = " in every variant that has a number"
    return [
        f"Under \u201c{case}\u201d the elastic peak reaches the yield strength{names}. The steel yields there locally, and the "
        "linear result is no longer the real stress; it remains a measure of the elastic notch effect."
    ]
