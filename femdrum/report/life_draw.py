"""What the figures of life share: looks of the duty's rows, numbers in few digits, panels with a size in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..assess.life_result import Cycle, VariantLife
from ..assess.life_words import hours
from .load_table import sensible
from .style import LOOKS, Look
from .words import signed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "RULE_WORDS",
    "Numbered",
    "RowLooks",
    "between",
    "cycle_words",
    "few",
    "numbered",
    "panel",
    "spread_out",
    "usable",
    "yielding_words",
]

MOST_NUMBERED = 6
LEAST_SHARE = 0.01
BILLION = 1e9

RULE_WORDS = {
    "fkm": "guideline, piecewise",
    "goodman": "Goodman",
    "gerber": "Gerber",
    "swt": "Smith, Watson, Topper",
    "morrow": "Morrow",
}


def few(value: float | None, digits: int = 2) -> str:
    """A number to two digits: `5,600`, `0.026`, `3.2 million`, `4.1 · 10¹²`, `8 · 10⁻⁶`."""
    if value is None or not math.isfinite(value):
        return "no number"
    if value == 0.0:
        return "0"
    rounded = float(f"{value:.{digits - 1}e}")
    size = abs(rounded)
    if size >= BILLION or size < 1e-4:
        return sensible(rounded)
    if size >= 1e6:
        return signed(f"{rounded / 1e6:.{digits + 1}g} million")
    decimals = max(0, digits - 1 - math.floor(math.log10(size)))
    text = f"{rounded:,.{decimals}f}"
    return signed(text.rstrip("0").rstrip(".") if "." in text else text)


def usable(cycles: Sequence[Cycle]) -> list[Cycle]:
    """Cycles that can be drawn: something cycles, and what breaks at once (stored as no number) is left out."""
    return [c for c in cycles if c.amplitude_MPa and c.equivalent_MPa and c.damage_per_1000_h is not None]


def between(low: float, high: float) -> str:
    """`9.6 to 12`, or one number where both read the same."""
    a, b = few(low), few(high)
    return a if a == b else f"{a} to {b}"


def cycle_words(cycle: Cycle) -> str:
    """Between which rows of the duty a cycle runs."""
    if cycle.peak == cycle.valley:
        return f"{cycle.peak}, by itself"
    return f"{cycle.peak}, down to {cycle.valley}"


@dataclass(frozen=True)
class Numbered:
    """A cycle that is drawn by number, and its share of the damage of all cycles."""

    number: int
    cycle: Cycle
    share: float

    def words(self, stress_MPa: float) -> str:
        """`1: stumps, down to turning, 101 MPa, 12 %`."""
        return f"{self.number}: {cycle_words(self.cycle)}, {stress_MPa:.0f} MPa, {100 * self.share:.0f} %"


def numbered(cycles: Sequence[Cycle]) -> list[Numbered]:
    """The cycles of most damage, the worst first; a few, and none that hardly counts."""
    total = sum(c.damage_per_1000_h for c in cycles)
    if not 0.0 < total < math.inf:
        return []
    order = sorted(cycles, key=lambda c: -c.damage_per_1000_h)[:MOST_NUMBERED]
    return [
        Numbered(n, c, c.damage_per_1000_h / total)
        for n, c in enumerate(order, 1)
        if c.damage_per_1000_h >= LEAST_SHARE * total
    ]


def yielding_words(life: VariantLife) -> str:
    """A sentence where yielding at the worst place does more damage than its elastic cycles say; else nothing."""
    alone, place = sum(c.damage_per_1000_h for c in usable(life.cycles)), life.places[0]
    if not alone or place.damage_per_1000_h is None or place.damage_per_1000_h <= 1.02 * alone:
        return ""
    return (
        f" Yielding does more damage there than these cycles: they alone would give {hours(1000.0 / alone)}, with it the life is "
        f"{hours(place.life_h)}."
    )


class RowLooks:
    """Colour and marker of each row of a duty; from the ninth row on the markers are open."""

    def __init__(self, rows: Sequence[str]) -> None:
        self.rows = list(rows)

    def look(self, row: str) -> tuple[Look, bool]:
        """Look, and True for a filled marker."""
        at = self.rows.index(row) if row in self.rows else len(self.rows)
        return LOOKS[at % len(LOOKS)], at < len(LOOKS)

    def marker(self, row: str) -> dict[str, Any]:
        """Arguments of a plotted marker."""
        look, filled = self.look(row)
        return {
            "marker": look.marker, "linestyle": "none", "color": look.colour, "markeredgecolor": look.colour if not filled else "white",
            "markerfacecolor": look.colour if filled else "white", "markeredgewidth": 0.5 if filled else 1.1,
        }  # fmt: skip


def panel(ax: Axes, size_mm: tuple[float, float], box_mm: tuple[float, float, float, float]) -> Axes:
    """Axes inside `ax`, which is switched off, at left, bottom, width and height in mm of an inner area of this size."""
    left, bottom, width, height = box_mm
    return ax.inset_axes((left / size_mm[0], bottom / size_mm[1], width / size_mm[0], height / size_mm[1]))


def spread_out(wanted: Sequence[float], least: float, low: float, high: float) -> list[float]:
    """Places near the wanted ones, at least `least` apart where the room from low to high allows it, in the same order."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    least = min(least, (high - low) / max(1, len(wanted) - 1)) if len(wanted) > 1 else least
    at: list[float] = []
    for i in order:
        at.append(max(wanted[i], low, at[-1] + least if at else low))
    top = high
    for k in range(len(at) - 1, -1, -1):
        at[k] = min(at[k], top)
        top = at[k] - least
    out = [0.0] * len(wanted)
    for i, value in zip(order, at, strict=True):
        out[i] = value
    return out
