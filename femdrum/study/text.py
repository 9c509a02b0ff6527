"""Results and checks as lines of plain text, for a terminal."""

from __future__ import annotations

import math
import textwrap
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import islice
from typing import TYPE_CHECKING, Any

from ..errors import MISSING, InputFault
from ..quantity import Quantity, Verdict
from ..units import label

if TYPE_CHECKING:
    from ..assess.answer import Answer, Comparison
    from .results import Results
    from .study import Study

__all__ = ["answer_lines", "describe", "fault_records", "faults", "grid", "percent", "result_lines", "shown", "wrapped"]


def wrapped(text: str, width: int = 100, indent: str = "  ") -> list[str]:
    """A long message on several lines, the later ones indented."""
    return textwrap.wrap(text, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False) or [""]


def faults(error: InputFault, width: int = 100) -> list[str]:
    """Each fault, wrapped."""
    return [line for fault in error.faults for line in wrapped(str(fault), width)]


def fault_records(error: InputFault) -> list[dict[str, Any]]:
    """Each fault as plain values."""
    return [
        {
            "line": f.line,
            "field": f.field,
            "value": _plain(f.value),
            "allowed": f.allowed,
            "way_out": f.way_out,
            "text": str(f),
        }
        for f in error.faults
    ]


def _plain(value: object) -> object:
    """A value that JSON can carry: NaN, dates and tables as text."""
    if value is MISSING:
        return None
    simple = isinstance(value, (str, int)) or (isinstance(value, float) and math.isfinite(value))
    return value if simple else repr(value)


def grid(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Columns set below each other; columns of numbers flush right."""
    body = [list(map(str, row)) for row in rows]
    widths = [max(len(row[i]) for row in [list(head), *body]) for i in range(len(head))]
    right = [all(_numeric(row[i]) for row in body) for i in range(len(head))]
    return [
        "  ".join(c.rjust(w) if r else c.ljust(w) for c, w, r in zip(row, widths, right, strict=True)).rstrip()
        for row in [list(head), *body]
    ]


def _numeric(cell: str) -> bool:
    try:
        float(cell.split(" ")[0])
    except ValueError:
        return cell in ("", "-", "full")
    return True


def describe(study: Study) -> list[str]:
    """What a sound study would solve."""
    count = len(study.variants)
    lines = [study.title, f"  {count} variant{'s' if count != 1 else ''}" + (", axes:" if study.axes else "")]
    for axis in study.axes:
        shown = ", ".join(str(v) for v in axis.values[:8]) + (", ..." if len(axis.values) > 8 else "")
        lines.append(f"    {axis.key}: {shown} ({len(axis.values)})")
    kinds = Counter(v.part.kind for v in study.variants)
    lines.append(f"  part: {', '.join(kinds)}")
    loads = dict.fromkeys(f"{load.name} ({load.kind})" for v in study.variants for load in v.loads)
    lines.append(f"  loads: {', '.join(loads)}")
    states = dict.fromkeys(f"{c.name} ({', '.join(c.loads)})" for v in study.variants for c in v.conditions)
    if states:
        lines.append(f"  conditions: {', '.join(states)}")
    if study.life is not None:
        from ..assess.life_words import hours

        rows = ", ".join(f"{d.name} ({d.condition})" for d in study.life.duty)
        lines += wrapped(f"  duty: {rows}", indent="    ")
        lines.append(
            f"  life: {hours(study.life.wanted.target_h)} wanted at {100 * study.life.wanted.survival:.4g} % survival"
        )
    if study.rest is not None:
        named = ", ".join(f"{part} ({file})" for part, file in study.rest.files.items())
        lines += wrapped(f"  rest of the drum: {named}", indent="    ")
    lines.append(
        f"  asked error of the peak: {', '.join(dict.fromkeys(f'{v.accuracy.error:g}' for v in study.variants))}"
    )
    if any(getattr(getattr(v.part, "cutout", None), "sharp", False) for v in study.variants):
        lines.append("  a sharp corner is among them: its peak is unbounded and will have no number")
    for text in _warnings(study):
        lines += wrapped(f"  warning, {text}", indent="    ")
    if study.left_out:
        lines.append(f"  {study.left_out} combinations cannot be drawn and are left out, such as")
        lines += [line for text in study.left_out_examples[:2] for line in wrapped(f"    {text}", indent="      ")]
    return lines


def _warnings(study: Study, most: int = 8, looked_at: int = 50) -> list[str]:
    """What the loads reckoned from the machine warn of, each once."""
    reckoned = [(v, load) for v in study.variants[:looked_at] for load in v.loads if hasattr(load, "machine_fields")]
    if not reckoned:
        return []
    from ..loads.factors import factors  # late: with the numerical libraries

    said = dict.fromkeys(
        f"load {load.name!r}: {text}"
        for v, load in reckoned
        for text in factors(v.part, load, v.machine, v.material).warnings
    )
    more = [f"and {len(said) - most} more"] if len(said) > most else []
    return [*list(said)[:most], *more]


def result_lines(results: Results, most: int = 60) -> list[str]:
    """The compact table of a study's results."""
    axes = [a.column for a in results.axes]
    cases: dict[str, None] = {}
    kts = net = False
    said: dict[str, tuple[str, int]] = {}
    for found in results.rows:
        cases[found["case"]] = None
        kts = kts or found["kt_gross"] is not None
        net = net or found["kt_net"] is not None
        if found["verdict"] != Verdict.SETTLED.value and found["message"]:
            first, count = said.get(f"{found['verdict']}: {found['message']}", ("", 0))
            which = ", ".join(f"{a} = {found[a]}" for a in axes if found[a] is not None)
            first = first or (f"{which} ({found['case']})" if which else found["case"])
            said[f"{found['verdict']}: {found['message']}"] = first, count + 1
    head = [label(a) for a in axes] + (["load"] if len(cases) > 1 else []) + ["peak (MPa)"]
    head += ["Kt gross"] * kts + ["Kt net"] * net + ["verdict"]
    rows = []
    for variant, answer in islice(((v, a) for v in results.variants for a in v.answers), most):
        row = ["-" if variant.axes[a] is None else _value(variant.axes[a]) for a in axes]
        row += [answer.case] if len(cases) > 1 else []
        row += (
            [shown(answer.peak)]
            + [shown(answer.kt_gross)] * kts
            + [shown(answer.kt_net)] * net
            + [answer.verdict.value]
        )
        rows.append(row)
    lines = grid(head, rows)
    if len(results.rows) > most:
        lines.append(f"... and {len(results.rows) - most} more rows in results.csv")
    return lines + _remarks(said) + _lives(results)


def _lives(results: Results, most: int = 20) -> list[str]:
    """The life of each variant: at the worst place, with what governs it."""
    if not results.life:
        return []
    from ..assess.life_words import hours  # late: with all that reckons a life

    head = [label(a.column) for a in results.axes]
    head += ["life (h)", "at survival", "wanted (h)", "safety factor", "worst place", "governed by", "verdict"]
    rows = []
    for variant in islice(results.variants, most):
        life = variant.life
        axes = ["-" if v is None else _value(v) for v in variant.axes.values()]
        if life is None or not life.places:
            rows.append([*axes, "none", *[""] * 5, results.life["no_life"].get(variant.key, "")])
            continue
        worst = life.places[0]
        safety = "-" if worst.safety is None else f"{worst.safety:.2f}"
        rows.append(
            [*axes, hours(life.life_h).removesuffix(" h"), f"{100 * life.survival:.4g} %", hours(life.target_h).removesuffix(" h"),
             safety, worst.name, worst.governs or "-", life.verdict]
        )  # fmt: skip
    left = len(results.variants) - len(rows)
    lines = ["", *grid(head, rows), *([f"... and {left} more variants in life.csv"] if left > 0 else [])]
    end = results.drum_end
    if end is not None:
        lines += ["", *wrapped(f"drum end {end.verdict}. {end.words}")]
    elif results.life["no_drum_end"]:
        lines += ["", *wrapped(f"drum end: no life, {results.life['no_drum_end']}")]
    return lines


def _remarks(said: Mapping[str, tuple[str, int]], most: int = 8) -> list[str]:
    """Why numbers are missing or not as exact as asked: each with the first that it is said of, and of how many."""
    lines = []
    for text, (first, count) in islice(said.items(), most):
        more = f" and {count - 1} more" if count > 1 else ""
        lines += wrapped(f"{first}{more}: {text}")
    if len(said) > most:
        lines.append(f"and {len(said) - most} more messages in results.csv")
    return ["", *lines] if lines else []


def shown(quantity: Quantity) -> str:
    """Value and band with the digits that are known; `-` where there is no number."""
    if quantity.value is None:
        return "-"
    return str(quantity).split(",")[0].removesuffix(f" {quantity.unit}").strip()


def answer_lines(answer: Answer, comparisons: Sequence[Comparison], width: int = 100) -> list[str]:
    """One answer in words: Kt, peak, where, and what others say."""
    if answer.peak.value is None:
        return wrapped(f"{answer.verdict.value}: {answer.message}", width)
    lines = [
        f"{name:12} {quantity}"
        for name, quantity in (("Kt gross", answer.kt_gross), ("Kt net", answer.kt_net), ("peak stress", answer.peak))
        if quantity.value is not None
    ]
    if answer.at is not None:
        lines.append(f"{'at':12} x = {answer.at.x_mm + 0.0:.4g} mm, y = {answer.at.y_mm + 0.0:.4g} mm from the middle")
    definitions = [
        f"{n}: {q.definition}."
        for n, q in (("Kt gross", answer.kt_gross), ("Kt net", answer.kt_net))
        if q.value is not None
    ]
    lines += ["", *wrapped(" ".join(definitions), width, indent="")]
    for c in comparisons:
        theirs = "no value" if c.value is None else f"{c.value:.6g}"
        said = f"{c.quantity} {theirs}" + (f", ours {percent(c.difference)}" if c.difference is not None else "")
        lines += wrapped(f"{said}: {c.source}" + (f" ({c.note})" if c.note else ""), width)
    return [*lines, "", *wrapped(answer.message, width)] if answer.message else lines


def percent(share: float | None) -> str:
    """A share as a signed percentage."""
    return "" if share is None else f"{100 * share:+.3f} %"


def _value(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
