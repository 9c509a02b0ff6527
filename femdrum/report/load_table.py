"""What each load was reckoned from: every derived number with formula and provenance, warnings, and what is not in balance."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from ..figure import Figure
from ..study import Results, StoredVariant
from ..study.answers import StoredAnswer
from .words import signed, variant_name

__all__ = ["LoadBlock", "LoadRow", "load_blocks", "sensible"]

SAME = 1e-6  # relative: values closer than this are one
_RAISED = str.maketrans("-0123456789", "\u207b\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079")


@dataclass(frozen=True)
class LoadRow:
    """A derived number as read; others: what further variants have, where that differs."""

    what: str
    value: str
    unit: str
    formula: str
    provenance: str
    others: str = ""


@dataclass
class LoadBlock:
    """A load, or a condition, with what was derived for it."""

    name: str
    is_condition: bool
    rows: list[LoadRow] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    unbalanced: list[str] = field(default_factory=list)


def load_blocks(results: Results) -> list[LoadBlock]:
    """Loads and conditions that have figures, warnings or a rest out of balance, in the order of the study."""
    blocks = []
    for case in dict.fromkeys(a.case for v in results.variants for a in v.answers):
        pairs = [(v, a) for v in results.variants for a in v.answers if a.case == case]
        first = pairs[0][1]
        is_condition = first.case_kind == "condition"
        said: set[str] = set()
        if is_condition:  # a condition repeats what its loads were warned of
            said = {w for v, a in pairs for s in a.shares for w in v.answer(s.load).warnings}
        block = LoadBlock(
            case,
            is_condition,
            _rows(pairs),
            _told(pairs, [tuple(w for w in a.warnings if w not in said) for _, a in pairs]),
            _unbalanced(pairs),
        )
        if block.rows or block.warnings or block.unbalanced:
            blocks.append(block)
    return blocks


def _rows(pairs: list[tuple[StoredVariant, StoredAnswer]]) -> list[LoadRow]:
    """Figures of the first variant that has any, each with the range over the others where they differ."""
    shown = next((a.figures for _, a in pairs if a.figures), ())
    found: dict[str, list[Figure]] = {}
    for _, answer in pairs:
        for figure in answer.figures:
            found.setdefault(figure.what, []).append(figure)
    rows = [_row(figure, found.pop(figure.what, [figure])) for figure in shown]
    # what only later variants have: another limit that gives way first, say
    return rows + [_row(same[0], same, "not in the first variant") for same in found.values()]


def _row(figure: Figure, same: list[Figure], others: str = "") -> LoadRow:
    low, high = min(f.value for f in same), max(f.value for f in same)
    if not others and high - low > SAME * max(abs(low), abs(high)):
        others = f"{sensible(low)} to {sensible(high)} over the variants"
    unit = "1" if figure.unit in ("", "-") else figure.unit
    return LoadRow(figure.what, sensible(figure.value), unit, figure.formula, str(figure.provenance), others)


def _told(pairs: list[tuple[StoredVariant, StoredAnswer]], texts: Iterable[tuple[str, ...]]) -> list[str]:
    """Sentences, each once; with the variants it is about where not all share it."""
    about: dict[str, list[str]] = {}
    for (variant, _), told in zip(pairs, texts, strict=True):
        for text in dict.fromkeys(told):
            about.setdefault(text, []).append(variant_name(variant) or "this part")
    return [text if len(names) == len(pairs) else f"{'; '.join(names)}: {text}" for text, names in about.items()]


def _unbalanced(pairs: list[tuple[StoredVariant, StoredAnswer]]) -> list[str]:
    """What is not in balance in the first variant where something is not; says so where others come to other numbers."""
    told = [(v, a.unbalanced) for v, a in pairs if a.unbalanced]
    if not told:
        return []
    first, text = told[0]
    if all(other == text for _, other in told) and len(told) == len(pairs):
        return [text]
    return [f"{text} These are the numbers of {variant_name(first)}; other variants come to others."]


def sensible(value: float) -> str:
    """A number to four digits, without an exponent where that stays short."""
    if value == 0:
        return "0"
    if not math.isfinite(value):
        return "no number"
    exponent = math.floor(math.log10(abs(float(f"{value:.3e}"))))
    if not -4 <= exponent < 7:
        head = f"{value / 10.0**exponent:.3f}".rstrip("0").rstrip(".")
        return signed(f"{head} \u00b7 10{str(exponent).translate(_RAISED)}")
    text = f"{round(value, 3 - exponent):,.{max(0, 3 - exponent)}f}".replace(",", "\u202f")
    return signed(text.rstrip("0").rstrip(".") if "." in text else text)
