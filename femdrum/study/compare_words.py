"""A comparison of results folders in sentences and lines of text."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from ..assess.life_words import hours
from ..quantity import Quantity, rounded
from ..units import label
from .compare_results import DIFFERS, NO_NUMBER, NOT_PROVEN, SAME, CaseRow, Pair, SideBySide
from .text import grid, shown, wrapped

__all__ = ["answer_sentences", "at_text", "compare_lines", "input_rows", "pair_words", "short_keys"]  # fmt: skip

_NAMES = {"peak_MPa": "peak (MPa)", "kt_gross": "Kt gross", "kt_net": "Kt net"}


def short_keys(keys: Sequence[str]) -> dict[str, str]:
    """Axes by their last name where that tells them apart: `part.cutout.corner_radius_mm` -> `corner_radius_mm`."""
    last = [k.rsplit(".", 1)[-1] for k in keys]
    return {k: name if last.count(name) == 1 else k for k, name in zip(keys, last, strict=True)}


def at_text(at: dict[str, Any]) -> str:
    """`corner_radius_mm = 8`; `the only variant` where nothing varies."""
    names = short_keys(list(at))
    return ", ".join(f"{names[k]} = {_value(v)}" for k, v in at.items() if v is not None) or "the only variant"


def input_rows(found: SideBySide, most: int = 6) -> list[tuple[str, str, list[str]]]:
    """Inputs that differ: name, unit, and the values of each side, `-` where it has none.

    A table that a side does not have at all, such as a load or the whole life, is one row.
    """
    tables = [
        {a for p in s.points for k in p.inputs for a in _above(k)} | {a for k in s.asked for a in _above(k)}
        for s in found.sides
    ]
    rows: dict[str, tuple[str, str, list[str]]] = {}
    for row in found.inputs:
        home = next((a for a in _above(row.key) if any(a not in own for own in tables)), None)
        if home is not None:
            rows.setdefault(home, (home, "", ["stated" if home in own else "-" for own in tables]))
        else:
            rows[row.key] = (row.key, row.unit, [_values(v, most) for v in row.values])
    return list(rows.values())


def _above(key: str) -> list[str]:
    """The tables around a key, the outermost first."""
    parts = key.split(".")
    return [".".join(parts[:n]) for n in range(1, len(parts))]


def _values(values: Sequence[Any], most: int) -> str:
    more = f", ... ({len(values)})" if len(values) > most else ""
    return ", ".join(_value(v) for v in values[:most]) + more or "-"


def answer_sentences(found: SideBySide) -> list[str]:
    """What comes out, in a few sentences: how much was matched, how much differs, where most."""
    if not found.matched:
        keys = ", ".join(short_keys(found.keys).values())
        how = f"have the same {keys}" if keys else "meet"
        return [
            f"No variants of {found.sides[0].letter} and another side {how}, so no results stand side by side; the inputs do."
        ]
    total = sum(p is not None for r in found.peaks for p in r.pairs)
    if not total:
        return [
            "The variants meet, but no load or condition has the same name on two sides; name them alike to compare."
        ]
    differ, not_proven, same, none = (found.count(s) for s in (DIFFERS, NOT_PROVEN, SAME, NO_NUMBER))
    lines = [
        f"{total} {'peak is' if total == 1 else 'peaks are'} laid beside side A: "
        + _counted(differ, not_proven, same, none)
        + "."
    ]
    largest = _largest(found)
    if largest is not None:
        row, n, pair = largest
        where = f"{at_text(row.at)}, {row.case}"
        lines.append(
            f"Largest difference: {where}: {found.sides[n + 1].letter} is {_difference(pair)} MPa"
            + (f" ({100 * pair.relative:+.1f} %)" if pair.relative is not None else "")
            + f" against {found.sides[0].letter}."
        )
    return lines + _life_sentence(found)


def _life_sentence(found: SideBySide) -> list[str]:
    """Where the life changes most, of the ratios that are proven or follow from other inputs."""
    changed = [
        (abs(math.log(ratio)), row, n, ratio)
        for row in found.lives
        for n, ratio in enumerate(row.ratios)
        if ratio and row.said[n] not in (NOT_PROVEN, SAME)
    ]
    if not changed:
        return []
    _, row, n, ratio = max(changed, key=lambda item: item[0])
    return [
        f"Largest change of life: {at_text(row.at)}: {found.sides[n + 1].letter} lives {ratio:.2g} times as long as "
        f"{found.sides[0].letter}."
    ]


def _counted(differ: int, not_proven: int, same: int, none: int) -> str:
    parts = [
        f"{differ} {'differs' if differ == 1 else 'differ'} by more than the bands"
        if differ or not (same or none or not_proven)
        else "",
        f"{not_proven} {'shows' if not_proven == 1 else 'show'} no proven difference because the bands overlap"
        if not_proven
        else "",
        f"{same} from the same inputs" if same else "",
        f"{none} without a number on one side" if none else "",
    ]
    return ", ".join(p for p in parts if p)


def _largest(found: SideBySide) -> tuple[CaseRow, int, Pair] | None:
    pairs = [(row, n, p) for row in found.peaks for n, p in enumerate(row.pairs) if p is not None and p.said == DIFFERS]
    return max(pairs, key=lambda item: abs(item[2].relative or 0.0), default=None)


def _difference(pair: Pair) -> str:
    """`+7.4 ± 0.9`, with the digits that the bands leave."""
    if pair.difference is None:
        return "-"
    if not pair.band:
        return f"{pair.difference:+.6g}"
    text = str(Quantity(pair.difference, "", pair.band)).split(",")[0]
    return text if text.startswith("-") else f"+{text}"


def pair_words(pair: Pair) -> tuple[str, str, str]:
    """Difference with band, percentage, and what is said: `+7.4 ± 0.9`, `+8.9`, `differs`."""
    if pair.said == SAME:
        return "", "", SAME
    return _difference(pair), _percent(pair), pair.said


def compare_lines(found: SideBySide, width: int = 100, most: int = 40) -> list[str]:
    """The comparison for a terminal."""
    lines = [
        f"{s.letter}  {s.folder}: {s.title}, {len(s.points)} variant{'s' * (len(s.points) != 1)}" for s in found.sides
    ]
    lines += ["", *(line for s in answer_sentences(found) for line in wrapped(s, width))]
    lines += ["", *_inputs(found, width)]
    lines += _results(found, most)
    lines += [
        f"only in {letter}: loads or conditions {', '.join(names)}" for letter, names in found.cases_alone.items()
    ]
    lines += _alone(found, width)
    if found.lives:
        lines += [
            "",
            "life at the worst place (h); P10 to P90 is the scatter of drums, not a band of the number",
            *_lives(found),
        ]
    if found.verdicts:
        head = ["", "load", *(s.letter for s in found.sides)]
        rows = [[at_text(at), case, *(v or "-" for v in said)] for at, case, said in found.verdicts[:most]]
        lines += ["", "verdicts that changed", *grid(head, rows), *_more(len(found.verdicts) - most)]
    if found.versions:
        rows = [[name, *versions] for name, versions in found.versions.items()]
        lines += ["", "versions that differ", *grid(["", *(s.letter for s in found.sides)], rows)]
    lines += [line for note in found.notes for line in ["", *wrapped(note, width)]]
    return lines


def _inputs(found: SideBySide, width: int) -> list[str]:
    if not found.inputs:
        return ["no input differs"]
    rows = [[key, unit, *values] for key, unit, values in input_rows(found, 6 if width > 90 else 4)]
    return ["inputs that differ", *grid(["input", "unit", *(s.letter for s in found.sides)], rows)]


def _results(found: SideBySide, most: int) -> list[str]:
    moved = found.moved_nominal  # there Kt tells more than the peak
    every = [r for r in found.rows if r.quantity == "peak_MPa" or r.case in moved]
    quantities = {r.quantity for r in every}
    keys = short_keys(found.keys)
    loads = len({r.case for r in found.rows}) > 1
    first, *others = found.sides
    head = [label(name) for name in keys.values()] + ["load"] * loads + ["value"] * (len(quantities) > 1)
    head += [s.letter for s in found.sides]
    for side in others:
        head += [f"{side.letter} - {first.letter}", "%", ""]
    rows = []
    wanted = [r for r in every if any(p is not None and p.said != SAME for p in r.pairs)]
    if not wanted:
        return []
    for row in wanted[:most]:
        cells = ["-" if row.at[k] is None else _value(row.at[k]) for k in keys]
        cells += [row.case] * loads + [_NAMES[row.quantity]] * (len(quantities) > 1)
        cells += ["" if v is None else _number(v) for v in row.values]
        for pair in row.pairs:
            cells += ["", "", ""] if pair is None else list(pair_words(pair))
        rows.append(cells)
    return ["", "results, as value ± half width of its error band", *grid(head, rows), *_more(len(wanted) - most)]


def _number(value: Quantity) -> str:
    return value.verdict.value if value.value is None else shown(value)


def _percent(pair: Pair) -> str:
    if pair.relative is None or pair.difference is None:
        return ""
    band = 0.0 if not pair.band or not pair.difference else abs(pair.relative / pair.difference) * pair.band
    text = rounded(100 * pair.relative, max(100 * band, 0.1))
    return text if text.startswith("-") else f"+{text}"


def _alone(found: SideBySide, width: int, most: int = 6) -> list[str]:
    lines = []
    for n, side in enumerate(found.sides):
        mine = [m for m in found.alone if m.points[n] is not None]
        if mine and found.matched:
            told = "; ".join(at_text(m.at) for m in mine[:most]) + (
                f"; and {len(mine) - most} more" if len(mine) > most else ""
            )
            lines += wrapped(f"without a counterpart, in {side.letter}: {told}", width)
    return lines


def _lives(found: SideBySide) -> list[str]:
    keys = short_keys(found.keys)
    head = [label(name) for name in keys.values()]
    for side in found.sides:
        head += [f"{side.letter}: life", "P10 to P90", "verdict"]
    head += [f"{s.letter} / {found.sides[0].letter}" for s in found.sides[1:]]
    rows = []
    for row in found.lives:
        cells = ["-" if row.at[k] is None else _value(row.at[k]) for k in keys]
        for life in row.lives:
            if life is None:
                cells += ["none", "", ""]
                continue
            spread = "" if life.p10_h is None else f"{hours(life.p10_h)} to {hours(life.p90_h)}"
            cells += [hours(life.life_h), spread, life.verdict]
        rows.append([*cells, *row.said])
    return grid(head, rows)


def _more(left: int) -> list[str]:
    return [f"... and {left} more, in --csv and --json"] if left > 0 else []


def _value(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
