"""The chapter of life in the report: verdicts, the variants in a table, and one variant in detail."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..assess.life_words import hours
from ..study import Results, StoredVariant
from .life_choice import Outcome, extremes, longest, of_variant, outcomes
from .life_crack import said_well
from .life_draw import RULE_WORDS
from .life_duty import duty_table
from .life_rows import (
    Row,
    bare_hours,
    crack_row,
    end_block,
    end_figures,
    figure_blocks,
    governs,
    place_row,
    probability,
    safety_words,
    scale_row,
    scatter_block,
    static_row,
    times,
    weld_row,
)  # fmt: skip
from .words import signed, variant_name

__all__ = ["LifeChapter", "life_chapter", "with_life", "without_life"]

MOST_VERDICTS = 12
MOST_ROWS = 400
MOST_PLACES = 10
MOST_YIELDS = 3
UNLOOKED = ", and life was not looked at"


@dataclass(frozen=True)
class LifeChapter:
    """What life.html shows. lead: sentences for the answer; shown: name of the variant that is shown in detail."""

    lead: list[str]
    asked: list[tuple[str, str]]
    verdicts: list[Row]
    verdicts_left: int
    variants: list[Row]
    variants_left: int
    scattered: bool
    slopes: str
    no_life: list[tuple[str, str]]
    shown: str
    places: list[Row]
    places_left: int
    yields: list[Row]
    yields_left: int
    rules: list[tuple[str, str]]
    levers: list[tuple[str, str]]
    static: list[Row]
    cracks: list[Row]
    scales: list[Row]
    crack_notes: list[str]
    welds: list[Row]
    end: Row | None
    no_end: str
    scatter: Row | None
    duty: list[Row]
    figures: list[tuple[str, list[Row]]]
    notes: list[str]
    warnings: list[str]
    not_checked: list[str]

    @property
    def recalled(self) -> int:
        """How many of the derived numbers rest on what is from memory."""
        return sum(row["recalled"] for _, rows in self.figures for row in rows)


def without_life(results: Results) -> list[tuple[str, str]]:
    """Variants that were asked for a life and have none, each with the reason."""
    reasons = results.life.get("no_life", {})
    return [(_name(v), reasons[v.key]) for v in results.variants if v.key in reasons][:MOST_ROWS] if reasons else []


def life_chapter(results: Results) -> LifeChapter | None:
    """The chapter; None where the study asks for no life, or no variant has one."""
    found = outcomes(results)
    if not found:
        return None
    variant, life = of_variant(results, longest(found).variant)
    scatter = results.scatter.get(variant.key)
    yields = [p for p in life.places if p.plastic]
    return LifeChapter(
        lead=_lead(found),
        asked=_asked(results),
        verdicts=[_verdict(o) for o in found[:MOST_VERDICTS]],
        verdicts_left=max(0, len(found) - MOST_VERDICTS),
        variants=[_variant_row(results, o) for o in found[:MOST_ROWS]],
        variants_left=max(0, len(found) - MOST_ROWS),
        scattered=bool(results.scatter),
        slopes=f"{life.slope:g}" if life.beyond == "elementary" else f"{life.slope:g} to {2 * life.slope - 1:g}",
        no_life=without_life(results),
        shown=variant_name(variant) or "this part",
        places=[place_row(p) for p in life.places[:MOST_PLACES]],
        places_left=max(0, len(life.places) - MOST_PLACES),
        yields=[{"name": p.name, "words": said_well(p.plastic)} for p in yields[:MOST_YIELDS]],
        yields_left=max(0, len(yields) - MOST_YIELDS),
        rules=[(RULE_WORDS.get(r.rule, r.rule), hours(r.life_h)) for r in life.rules],
        levers=[(v.what, times(v.life_factor)) for v in life.levers],
        static=[static_row(row) for row in life.static],
        cracks=[crack_row(c) for c in life.cracks],
        scales=[scale_row(c, line) for c in life.cracks for line in c.once_a_turn],
        crack_notes=list(dict.fromkeys(said_well(n) for c in life.cracks for n in (*c.warnings, *c.notes))),
        welds=[weld_row(w) for w in life.welds],
        end=None if results.drum_end is None else end_block(results.drum_end),
        no_end=str(results.life.get("no_drum_end", "")),
        scatter=None if scatter is None else scatter_block(scatter),
        duty=duty_table(results, life.places[0]),
        figures=[*figure_blocks(life, scatter), *(end_figures(results.drum_end) if results.drum_end else [])],
        notes=[said_well(n) for n in life.notes],
        warnings=[said_well(n) for n in life.warnings],
        not_checked=list(life.not_checked),
    )


def with_life(sentences: Sequence[str]) -> list[str]:
    """Sentences of a report that has a life: what they say of its absence is left out."""
    return [s.replace(UNLOOKED, "; for life see its chapter") for s in sentences]


def _name(variant: StoredVariant) -> str:
    return variant_name(variant) or "this part"


def _lead(found: Sequence[Outcome]) -> list[str]:
    good = [o for o in found if o.verdict == "holds"]
    wanted = f"{hours(found[0].target_h)} at {100 * found[0].survival:.4g} % survival"
    if len(found) == 1:
        only = found[0]
        return [f"Life: {wanted} is wanted, and this part {'holds' if good else 'does not hold'}.", only.words]
    count = (
        f"all {len(found)} variants hold" if len(good) == len(found)
        else f"none of {len(found)} variants holds" if not good
        else f"{len(good)} of {len(found)} variants hold{'s' if len(good) == 1 else ''}"
    )  # fmt: skip
    out = [f"Life: {wanted} is wanted; {count}."]
    for word, outcome in zip(("Shortest", "Longest"), extremes(found), strict=False):
        out.append(f"{word} life: {_name(outcome.variant)}, {hours(outcome.worst.life_h)} at the {outcome.worst.name}.")
    return out


def _asked(results: Results) -> list[tuple[str, str]]:
    asked = results.life["asked"]
    finish = asked["finish"]
    edge = f"{finish['process']}{', dressed' if finish.get('dressed') else ''}"
    if finish.get("residual_stress_MPa"):
        residual = f"{finish['residual_stress_MPa']:g}"
        edge += f", residual stress {signed(residual)} MPa"
    beyond = {"haibach": "slope 2k \u2212 1 (Haibach)", "elementary": "slope k on (elementary)"}[asked["beyond"]]
    out = [
        ("target", hours(float(asked["target_h"]))),
        ("survival", f"{100 * float(asked['survival']):.4g} %"),
        ("slot's edge", edge),
        ("mean stress", RULE_WORDS.get(asked["rule"], asked["rule"])),
        ("S-N curve beyond the knee", beyond),
        (
            "equal places count by",
            {"area": "their stressed area", "places": "their number"}.get(asked["size"], asked["size"]),
        ),
        ("factor on all stresses", f"{float(asked['load_factor']):g}"),
    ]
    if asked.get("rows_total"):
        out.insert(3, ("rows of slots on the drum", f"{asked['rows_total']}"))
    return out


def _verdict(outcome: Outcome) -> Row:
    return {
        "name": _name(outcome.variant),
        "verdict": outcome.verdict,
        "words": outcome.words,
        "failing": f"Conditions under which it fails: {', '.join(outcome.failing)}." if outcome.failing else "",
    }


def _variant_row(results: Results, outcome: Outcome) -> Row:
    worst, scatter = outcome.worst, results.scatter.get(outcome.variant.key)
    return {
        "name": _name(outcome.variant),
        "verdict": outcome.verdict,
        "life": bare_hours(worst.life_h),
        "elementary": bare_hours(worst.life_elementary_h),
        "median": bare_hours(worst.life_median_h),
        "safety": safety_words(worst),
        "place": worst.name,
        "governs": governs(worst),
        "spread": ["", "", ""] if scatter is None else [bare_hours(scatter.p10_h), bare_hours(scatter.p50_h), bare_hours(scatter.p90_h)],
        "failure": "" if scatter is None else probability(scatter),
    }  # fmt: skip
