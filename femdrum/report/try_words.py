"""What the section of tried values says about itself: what moves, what stands still, and how sure it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from .try_life import COMMON_WORDS, COUNTED_WORDS
from .try_line import NEAR_ROUND, Line
from .try_loads import TOGETHER, Mix
from .try_places import Kept
from .words import axis_value, name_of, variant_name

__all__ = ["life_words", "limits"]


def life_words(packed: Sequence[dict[str, Any]]) -> list[str]:
    """How the life is moved, if there is one."""
    if any(d["life"] is None for d in packed):
        return []
    return [COUNTED_WORDS if all(d["life"]["count"] for d in packed) else COMMON_WORDS]


def limits(
    line: Line, some: Sequence[Mix], smooth: Sequence[bool], told: Sequence[tuple[Kept, int]], speed: bool
) -> list[str]:  # fmt: skip
    """Sentences for below the sliders."""
    out = ["Factors are times what the study has; a load's factor holds in every condition."]
    if some[0].name == TOGETHER:
        out = ["Factors are times what the study has; a negative one turns the load around."]
    rest = variant_name(line.variants[line.chosen], [line.column])
    if rest:
        out.append(f"Stands as in the chosen variant: {rest}.")
    if any(smooth):
        between = (
            "Between computed values each region's largest stress is interpolated, both axes logarithmic, through the nearest four "
            "computed values (three where there are no more); the band holds the wider of the neighbours' bands and the "
            "difference from the next lower order."
        )
        out.append(between)
        if left := [axis_value(line.column, line.variants[n].axes[line.column]) for n, s in enumerate(smooth) if not s]:
            out.append(
                f"Not gone between: {', '.join(left)}. Beyond {NEAR_ROUND:.0%} of the full round the two corners of an end join."
            )
    elif line.column:
        out.append(f"Computed values of the {name_of(line.column)} only: they are too few to go between them.")
    fewer = [(k, n) for k, n in told if not k.whole]
    if fewer:
        k = max((k for k, _ in fewer), key=lambda k: k.missed)
        raised = max(k.raised for k, _ in fewer)
        out.append(
            f"Of {min(n for _, n in fewer):,} stored places those were kept that matter in random mixes, "
            f"{min(k.at.size for k, _ in fewer):,} at least. In 19 of 20 further mixes they showed the peak "
            + ("to all digits" if k.missed < 1e-5 else f"to {100 * k.missed:.2g} %, which is in the band")
            + (f"; bands are up to {raised:.2f} times those that all places give." if raised >= 1.005 else ".")
        )
    if speed:
        out.append("The speed moves each load by the load's own formula with all other values as they are.")
    if any(m.standing for m in some):
        out.append("Loads whose answer in the bars does not follow from what is stored stand as they are.")
    out.append("Everything is linear: nothing yields, slips or lifts off here.")
    return out
