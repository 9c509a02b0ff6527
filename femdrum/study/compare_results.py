"""Results folders side by side: what differs in inputs and in results, and which differences the bands bear out."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from ..quantity import Quantity
from ..units import unit_of
from .compare_side import CaseValue, LifeValue, Point, Side, plain_number, read_sides

__all__ = ["DIFFERS", "NOT_PROVEN", "NO_NUMBER", "QUANTITIES", "SAME", "CaseRow", "InputRow", "LifeRow", "Match", "Pair", "SideBySide", "compare"]  # fmt: skip

DIFFERS = "differs"
NOT_PROVEN = "no difference proven"
SAME = "same inputs"
NO_NUMBER = "no number"
# column -> unit
QUANTITIES = {"peak_MPa": "MPa", "kt_gross": "1", "kt_net": "1"}


@dataclass(frozen=True)
class InputRow:
    """An input that differs. values: of each side, all that its variants have; empty where it has none."""

    key: str
    unit: str
    values: tuple[tuple[Any, ...], ...]


@dataclass(frozen=True)
class Pair:
    """A side against the first one. difference: theirs less the first's; band: sum of both half widths; both None without numbers.

    said: DIFFERS, NOT_PROVEN (the bands overlap), SAME (the same inputs, so the same solution) or NO_NUMBER.
    """

    difference: float | None
    band: float | None
    relative: float | None
    said: str


@dataclass(frozen=True)
class Match:
    """Variants with the same values of all axes, one a side; None where a side has none. at: key of the axis -> value."""

    at: dict[str, Any]
    points: tuple[Point | None, ...]


@dataclass(frozen=True)
class CaseRow:
    """One quantity under one load or condition. values: a side each; pairs: each further side against the first."""

    at: dict[str, Any]
    case: str
    quantity: str
    values: tuple[Quantity | None, ...]
    pairs: tuple[Pair | None, ...]


@dataclass(frozen=True)
class LifeRow:
    """Lives at the worst place. ratios: theirs over the first's, None where one is endless or missing; said: in words."""

    at: dict[str, Any]
    lives: tuple[LifeValue | None, ...]
    ratios: tuple[float | None, ...]
    said: tuple[str, ...]


@dataclass(frozen=True)
class SideBySide:
    """A comparison. The first side is what the others are held against.

    keys: axes by which variants were matched. inputs: that differ. matched: variants that the first side and another have.
    alone: those that only one side has. verdicts: (at, load or "life", verdicts a side). versions: that differ, a side each.
    cases_alone: names of loads and conditions that not all sides have. notes: what else must be known to read it.
    """

    sides: tuple[Side, ...]
    keys: tuple[str, ...]
    inputs: tuple[InputRow, ...]
    matched: tuple[Match, ...]
    alone: tuple[Match, ...]
    rows: tuple[CaseRow, ...]
    lives: tuple[LifeRow, ...]
    verdicts: tuple[tuple[dict[str, Any], str, tuple[str, ...]], ...]
    versions: dict[str, tuple[str, ...]]
    cases_alone: dict[str, tuple[str, ...]]
    notes: tuple[str, ...] = field(default=())

    @cached_property
    def peaks(self) -> tuple[CaseRow, ...]:
        """The rows of peak stress."""
        return tuple(r for r in self.rows if r.quantity == "peak_MPa")

    def count(self, said: str) -> int:
        """How many pairs of peaks were judged so."""
        return sum(p is not None and p.said == said for r in self.peaks for p in r.pairs)

    def __str__(self) -> str:
        from .compare_words import compare_lines

        return "\n".join(compare_lines(self))

    @cached_property
    def moved_nominal(self) -> frozenset[str]:
        """Loads whose nominal stress is not the same on all sides, so that Kt tells more than the peak."""
        moved = set()
        for match in self.matched:
            for name in match.points[0].cases if match.points[0] else ():
                values = [p.cases[name] for p in match.points if p is not None and name in p.cases]
                nominal = [v.peak.value / v.kt_gross.value for v in values if v.peak.value and v.kt_gross.value]
                if nominal and max(nominal) - min(nominal) > 1e-6 * abs(nominal[0]):
                    moved.add(name)
        return frozenset(moved)


def compare(*folders: str | os.PathLike[str]) -> SideBySide:
    """Lay results folders of `femdrum study` side by side.

    The first one is the reference. Variants meet by the values of all axes, loads and conditions by their names. Two peaks whose
    error bands overlap have NO proven difference. Stresses in MPa, tension positive; lives in h.
    Raises FileFault, all at once: fewer than two folders, one twice, no results, another format, plates beside rings.
    """
    sides = read_sides(folders)
    keys = tuple(dict.fromkeys(a.key for s in sides for a in s.axes))
    matches = _matches(sides, keys)
    matched = tuple(m for m in matches if m.points[0] is not None and any(p is not None for p in m.points[1:]))
    held = {id(m) for m in matched}
    rows = tuple(r for m in matched for r in _rows(m))
    inputs = _inputs(sides)
    return SideBySide(
        sides=sides,
        keys=keys,
        inputs=inputs,
        matched=matched,
        alone=tuple(m for m in matches if id(m) not in held),
        rows=rows,
        lives=_lives(matched, rows, inputs),
        verdicts=tuple(_verdicts(matched)),
        versions=_versions(sides),
        cases_alone=_cases_alone(sides),
        notes=_notes(sides, matched),
    )


def _matches(sides: Sequence[Side], keys: Sequence[str]) -> list[Match]:
    found: dict[tuple[Any, ...], list[Point | None]] = {}
    shown: dict[tuple[Any, ...], dict[str, Any]] = {}
    for n, side in enumerate(sides):
        aliases = _numbered(side)
        for point in side.points:
            at = {k: point.axes[k] if k in point.axes else point.inputs.get(aliases.get(k, k)) for k in keys}
            mark = tuple(plain_number(k, v, point.inputs) for k, v in at.items())
            row = found.setdefault(mark, [None] * len(sides))
            if row[n] is None:
                row[n] = point
                shown.setdefault(mark, at)
    return [Match(shown[mark], tuple(points)) for mark, points in found.items()]


def _numbered(side: Side) -> dict[str, str]:
    """`load[1].stress_MPa`, as an axis calls a load without a name, -> the name under which its inputs stand."""
    aliases: dict[str, str] = {}
    for home in ("load", "condition"):
        names = list(
            dict.fromkeys(k.split(".")[1] for p in side.points[:1] for k in p.inputs if k.startswith(f"{home}."))
        )
        for n, name in enumerate(names, 1):
            aliases |= {
                f"{home}[{n}].{k.split('.', 2)[2]}": k for p in side.points[:1] for k in p.inputs
                if k.startswith(f"{home}.{name}.")
            }  # fmt: skip
    return aliases


def _inputs(sides: Sequence[Side]) -> tuple[InputRow, ...]:
    values: dict[str, list[dict[Any, Any]]] = {}
    for n, side in enumerate(sides):
        for point in (*side.points, Point("", {}, side.asked, {})):
            for key, value in point.inputs.items():
                mark = plain_number(key, value, point.inputs)
                values.setdefault(key, [{} for _ in sides])[n].setdefault(mark, value)
    return tuple(
        InputRow(key, _unit(key), tuple(tuple(own.values()) for own in each))
        for key, each in values.items()
        if any(set(own) != set(each[0]) for own in each[1:])
    )


def _unit(key: str) -> str:
    if key.endswith("per_1000_h"):  # a count, or hours, in each 1,000 h
        return "h per 1000 h" if key.endswith("hours_per_1000_h") else "per 1000 h"
    return unit_of(key)


def _rows(match: Match) -> list[CaseRow]:
    first = match.points[0]
    rows: list[CaseRow] = []
    for case in first.cases if first is not None else ():
        cases = [None if p is None else p.cases.get(case) for p in match.points]
        if all(c is None for c in cases[1:]):
            continue
        for quantity in QUANTITIES:
            values = tuple(None if c is None else _quantity(c, quantity) for c in cases)
            if quantity != "peak_MPa" and all(v is None or v.value is None for v in values):
                continue
            pairs = tuple(
                None if p is None or v is None else _pair(values[0], v, first is not None and p.key == first.key)
                for p, v in zip(match.points[1:], values[1:], strict=True)
            )
            rows.append(CaseRow(match.at, case, quantity, values, pairs))
    return rows


def _quantity(case: CaseValue, name: str) -> Quantity:
    return {"peak_MPa": case.peak, "kt_gross": case.kt_gross, "kt_net": case.kt_net}[name]


def _pair(ours: Quantity | None, theirs: Quantity, same: bool) -> Pair:
    if ours is None or ours.value is None or theirs.value is None:
        return Pair(None, None, None, NO_NUMBER)
    difference, band = theirs.value - ours.value, (ours.band or 0.0) + (theirs.band or 0.0)
    relative = difference / abs(ours.value) if ours.value else None
    if same:
        return Pair(difference, band, relative, SAME)
    return Pair(difference, band, relative, DIFFERS if abs(difference) > band else NOT_PROVEN)


def _lives(matched: Sequence[Match], rows: Sequence[CaseRow], inputs: Sequence[InputRow]) -> tuple[LifeRow, ...]:
    """Lives beside each other. A life has no band of its own: where only stresses could differ, theirs decide."""
    asked_alike = not any(r.key.startswith(("life.", "duty.", "material.")) for r in inputs)
    found = []
    for match in matched:
        lives = tuple(None if p is None else p.life for p in match.points)
        first = match.points[0]
        if lives[0] is None or first is None or all(one is None for one in lives[1:]):
            continue
        ratios: list[float | None] = []
        said: list[str] = []
        for n, (point, life) in enumerate(zip(match.points[1:], lives[1:], strict=True)):
            peaks = [r.pairs[n] for r in rows if r.at is match.at and r.quantity == "peak_MPa"]
            overlap = bool(peaks) and all(p is not None and p.said in (NOT_PROVEN, SAME) for p in peaks)
            ratio, words = _ratio(lives[0], life)
            if point is not None and life is not None and asked_alike and overlap:
                words = SAME if point.key == first.key else NOT_PROVEN
            ratios.append(ratio)
            said.append(words)
        found.append(LifeRow(match.at, lives, tuple(ratios), tuple(said)))
    return tuple(found)


def _ratio(ours: LifeValue, theirs: LifeValue | None) -> tuple[float | None, str]:
    if theirs is None:
        return None, NO_NUMBER
    if ours.life_h is None or theirs.life_h is None:
        return None, "both endless" if ours.life_h is theirs.life_h else "endless on one side"
    if ours.life_h == 0.0:
        return None, NO_NUMBER
    return theirs.life_h / ours.life_h, f"{theirs.life_h / ours.life_h:.3g} times"


def _verdicts(matched: Sequence[Match]) -> list[tuple[dict[str, Any], str, tuple[str, ...]]]:
    changed = []
    for match in matched:
        names = dict.fromkeys(c for p in match.points if p is not None for c in p.cases)
        for case in names:
            said = tuple("" if p is None or case not in p.cases else p.cases[case].verdict.value for p in match.points)
            changed += [(match.at, case, said)] if len({s for s in said if s}) > 1 else []
        lives = tuple("" if p is None or p.life is None else p.life.verdict for p in match.points)
        changed += [(match.at, "life", lives)] if len({s for s in lives if s}) > 1 else []
    return changed


def _versions(sides: Sequence[Side]) -> dict[str, tuple[str, ...]]:
    names = dict.fromkeys(n for s in sides for n in s.versions)
    every = {n: tuple(s.versions.get(n, "") for s in sides) for n in names}
    return {n: v for n, v in every.items() if len(set(v)) > 1}


def _cases_alone(sides: Sequence[Side]) -> dict[str, tuple[str, ...]]:
    have = [{c for p in s.points for c in p.cases} for s in sides]
    shared = set.intersection(*have)
    return {s.letter: tuple(sorted(own - shared)) for s, own in zip(sides, have, strict=True) if own - shared}


def _notes(sides: Sequence[Side], matched: Sequence[Match]) -> tuple[str, ...]:
    notes: dict[str, None] = {}
    for match in matched:
        for case in dict.fromkeys(c for p in match.points if p is not None for c in p.cases):
            words = {p.cases[case].nominal for p in match.points if p is not None and case in p.cases}
            if len(words) > 1:
                notes[
                    f"{case}: Kt refers to different nominal stresses ({' / '.join(sorted(words))}); compare the peaks"
                ] = None
            kinds = {p.cases[case].kind for p in match.points if p is not None and case in p.cases}
            if len(kinds) > 1:
                notes[f"{case}: the same name stands for different kinds of load ({', '.join(sorted(kinds))})"] = None
    notes |= {f"{s.letter}: some numbers that were asked for are missing there": None for s in sides if not s.complete}
    return tuple(notes)
