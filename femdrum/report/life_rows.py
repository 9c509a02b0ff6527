"""Rows of the tables of life as the report prints them, from what is stored."""

from __future__ import annotations

from typing import Any

from ..assess.life_result import CrackLife, EndLife, PlaceLife, ScatterLife, StaticRow, TurnLine, VariantLife, WeldSaid
from ..assess.life_words import hours
from ..figure import Figure
from ..provenance import Kind
from .life_crack import inspection_words, said_well
from .life_draw import between, few
from .load_table import sensible
from .words import signed

__all__ = [
    "Row", "bare_hours", "crack_row", "end_block", "end_figures", "figure_blocks", "governs", "place_row", "probability", "safety_words", "scale_row",
    "scatter_block", "static_row", "times", "weld_row",
]  # fmt: skip

Row = dict[str, Any]


def bare_hours(value: float | None) -> str:
    """A life for a column whose unit stands above it."""
    return hours(value).removesuffix(" h")


def probability(scatter: ScatterLife) -> str:
    """With its standard error, which says how many digits are known."""
    value, error = scatter.failure, scatter.failure_error
    if value <= 0.0:
        return "none found"
    return few(value) if error < 0.05 * value else f"{few(value)} \u00b1 {few(error, 1)}"


def safety_words(place: PlaceLife) -> str:
    """The factor, or that nothing cycles."""
    return "nothing cycles" if place.safety is None else f"{place.safety:.2f}"


def governs(place: PlaceLife) -> str:
    """The row of the duty with the largest share, and that share."""
    if not place.governs:
        return ""
    return f"{place.governs} ({100 * max(s.fraction for s in place.shares):.0f} %)"


def times(factor: float | None) -> str:
    """A factor on the life."""
    return "endless" if factor is None or factor > 1e6 else f"{few(factor)} times"


def place_row(place: PlaceLife) -> Row:
    """One place."""
    return {
        "name": place.name,
        "where": [signed(f"{v if abs(v) >= 0.05 else 0.0:.1f}") for v in (place.x_mm, place.y_mm, place.depth_mm)],
        "slot": str(place.slot),
        "criterion": place.criterion,
        "direction": f"{place.direction_deg:.0f}",
        "stress": f"{signed(f'{place.most_MPa:.0f}')} / {signed(f'{place.least_MPa:.0f}')}",
        "damage": few(place.damage_per_1000_h),
        "life": bare_hours(place.life_h),
        "elementary": bare_hours(place.life_elementary_h),
        "median": bare_hours(place.life_median_h),
        "safety": safety_words(place),
        "governs": governs(place),
    }


def static_row(row: StaticRow) -> Row:
    """The proof of one condition."""
    return {
        "condition": row.condition,
        "share": few(100 * row.net_share),
        "collapse": "" if row.collapse_least is None else between(row.collapse_least, row.collapse_most or row.collapse_least),
        "mode": row.mode,
        "peak": signed(f"{row.peak_MPa:.0f}"),
        "local": "yields" if row.yields_locally else "elastic",
        "holds": "holds" if row.holds else "does not hold",
        "words": said_well(row.words),
    }  # fmt: skip


def crack_row(crack: CrackLife) -> Row:
    """One crack under all rows of the duty."""
    return {
        "place": crack.place,
        "initial": f"{crack.initial_mm:g}",
        "detectable": f"{crack.detectable_mm:g}",
        "critical": f"{crack.critical_mm:.3g}",
        "ends": crack.ends_by,
        "life": bare_hours(crack.life_h) if crack.life_h is not None else "does not get there",
        "interval": "" if crack.interval_h is None else bare_hours(crack.interval_h),
        "words": inspection_words(crack),
    }


def scale_row(crack: CrackLife, line: TurnLine) -> Row:
    """One crack under what comes once a turn."""
    return {
        "place": crack.place,
        "name": line.name,
        "range": few(line.delta_k_start_MPa_sqrt_m),
        "reached": "nowhere on the path" if line.reached_mm is None else f"{line.reached_mm:.3g}",
        "grows": line.grows,
        "words": said_well(line.words),
    }


def weld_row(weld: WeldSaid) -> Row:
    """One weld by its class."""
    most = max(weld.shares, key=lambda s: s.fraction, default=None)
    return {
        "name": weld.name,
        "detail": f"{weld.detail}, {weld.method}",
        "where": weld.where,
        "fat": f"{weld.fat_MPa:g}",
        "range": f"{weld.range_MPa:.0f}",
        "life": bare_hours(weld.life_h) if weld.clear else "not judged",
        "governs": "" if most is None else f"{most.name} ({100 * most.fraction:.0f} %)",
        "apart": "yes" if weld.clear else "no: too near to a slot",
        "verdict": weld.verdict,
        "words": said_well("; ".join((weld.words, *weld.warnings))),
    }


def end_block(end: EndLife) -> Row:
    """The drum's end: sentences, the stub's fillet, its welds."""
    return {
        "words": end.words,
        "verdict": end.verdict,
        "place": end.place,
        "peak": f"{signed(f'{end.peak_MPa:.3g}')} \u00b1 {end.band_MPa:.1g}",
        "settled": "settled" if end.settled else "not settled",
        "life": bare_hours(end.life_h),
        "elementary": bare_hours(end.life_elementary_h),
        "median": bare_hours(end.life_median_h),
        "safety": "-" if end.safety is None else f"{end.safety:.2f}",
        "governs": f"{end.shares[0].name} ({100 * end.shares[0].fraction:.0f} %)" if end.shares else "",
        "kt": end.kt,
        "welds": [weld_row(w) for w in end.welds],
        "comparisons": end.comparisons,
        "notes": [said_well(n) for n in end.notes],
        "warnings": [said_well(n) for n in end.warnings],
    }


def end_figures(end: EndLife) -> list[tuple[str, list[Row]]]:
    """Derived numbers of the end and its welds."""
    blocks = [("The drum's end", end.figures), *((f"Weld: {w.name}", w.figures) for w in end.welds)]
    return [(heading, [_figure_row(f) for f in figures]) for heading, figures in blocks if figures]


def scatter_block(scatter: ScatterLife) -> Row:
    """Probability, inputs and notes of a scatter."""
    return {
        "surface": f"{scatter.surface}; error {scatter.surface_error_pct:.2g}\u00a0%",
        "failure": probability(scatter),
        "inputs": [
            {
                "name": i.name,
                "first": _percent(i.first),
                "total": _percent(i.total),
                "ends": ["endless" if e is None else bare_hours(10.0**e) for e in (i.at_p10, i.at_p90)],
            }
            for i in sorted(scatter.inputs, key=lambda i: -i.total)
        ],
        "notes": list(dict.fromkeys(said_well(n) for n in scatter.notes)),
    }


def _percent(share: float) -> str:
    return f"{100 * share:.0f}" if share >= 0.005 else "below 1"


def figure_blocks(life: VariantLife, scatter: ScatterLife | None) -> list[tuple[str, list[Row]]]:
    """Derived numbers by what they belong to."""
    blocks = [("Strength and static proof", life.figures)]
    blocks += [(f"Crack at the {c.place}", c.figures) for c in life.cracks]
    blocks += [(f"Weld: {w.name}", w.figures) for w in life.welds]
    if scatter is not None:
        blocks.append(("Scatter", scatter.figures))
    return [(heading, [_figure_row(f) for f in figures]) for heading, figures in blocks if figures]


def _figure_row(figure: Figure) -> Row:
    return {
        "what": figure.what,
        "value": bare_hours(figure.value) if figure.unit == "h" else sensible(figure.value),
        "unit": "1" if figure.unit in ("", "-") else figure.unit,
        "formula": figure.formula,
        "provenance": str(figure.provenance),
        "recalled": figure.provenance.kind is Kind.MEMORY,
    }
