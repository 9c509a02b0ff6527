"""Peak over an axis of two or more results folders, each value with its band."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..quantity import Quantity
from ..study.compare_results import DIFFERS, NOT_PROVEN, Pair, SideBySide
from ..study.compare_side import plain_number
from ..study.compare_words import short_keys
from ..units import label
from .picture import NoData, Picture
from .style import GREY, LOOKS
from .words import file_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["ComparePicture", "compare_pictures"]

MOST_PICTURES = 6
MOST_TICKS = 12


@dataclass(frozen=True)
class _Dot:
    """x: number on the axis, or place in line; shown: how the axis calls it."""

    x: float
    shown: str
    peak: Quantity


class ComparePicture(Picture):
    """One load, one line a side. dots: of each side; over: key of the axis, "" where the axis is no number."""

    chapter = "compare"

    def __init__(
        self,
        found: SideBySide,
        case: str,
        over: str,
        dots: list[list[_Dot]],
        *,
        at: str,
        name: str,
        unproven: int,
        pairs: int,
    ) -> None:
        if not any(dots):
            raise NoData("no side has a peak for this load")
        self.found, self.case, self.over, self.dots, self.at = found, case, over, dots, at
        self.name = name
        self.size_mm = (165.0, 92.0 + 4.2 * len(dots))
        where = label(short_keys(found.keys)[over]) if over else "the variants"
        self.caption = (
            f"Peak stress under “{case}” over {where}"
            + (f", {at}" if at else "")
            + ". Bars: the error band of each value. "
        )
        if pairs:
            self.caption += (
                f"{unproven} of {pairs} pairs of unlike inputs have bands that overlap: no difference proven."
                if unproven
                else f"In none of the {pairs} pairs of unlike inputs do the bands overlap."
            )
        else:
            self.caption += "No pair of unlike inputs stands at the same place."

    def paint(self, ax: Axes) -> None:
        """Lines with bars, legend by letter and folder."""
        for n, dots in enumerate(self.dots):
            good = [d for d in dots if d.peak.value is not None]
            look = LOOKS[n % len(LOOKS)]
            moved = [self._moved(d.x, n) for d in good]
            ax.errorbar(
                moved, [d.peak.value or 0.0 for d in good], yerr=[d.peak.band or 0.0 for d in good], color=look.colour, marker=look.marker,
                linestyle=look.dash if self.over else "none", capsize=3.0, elinewidth=1.2, label=self._name(n, good), markersize=3.8,
            )  # fmt: skip
        self._axis(ax)
        ax.set_ylabel("peak stress (MPa)")
        ax.set_title(f"Side by side: {self.case}" + (f", {self.at}" if self.at else ""))
        ax.margins(x=0.06, y=0.14)
        ax.legend(loc="upper left", bbox_to_anchor=(0.0, -0.16), ncols=1, borderaxespad=0.0)

    def _name(self, n: int, good: list[_Dot]) -> str:
        """Letter and folder of a side, and its largest peak in words."""
        side = self.found.sides[n]
        if not good:
            return f"{side.letter}: {side.folder.name}, no number"
        top = max(good, key=lambda d: abs(d.peak.value or 0.0))
        return f"{side.letter}: {side.folder.name}; largest {str(top.peak).split(',')[0]} at {top.shown}"

    def _moved(self, x: float, n: int) -> float:
        """x, a little aside for each side, so that bars do not hide each other."""
        every = [d.x for dots in self.dots for d in dots]
        share = 0.006 * (n - 0.5 * (len(self.dots) - 1))
        if self._by_ratio:
            return float(x * (max(every) / min(every)) ** share)
        return x + share * (max(every) - min(every) or 1.0)

    @property
    def _by_ratio(self) -> bool:
        every = [d.x for dots in self.dots for d in dots]
        return bool(self.over) and min(every) > 0 and max(every) / min(every) >= 10

    def _axis(self, ax: Axes) -> None:
        from matplotlib.ticker import NullLocator

        ticks = {d.x: d.shown for dots in self.dots for d in dots}
        if self._by_ratio:
            ax.set_xscale("log")
            ax.xaxis.set_minor_locator(NullLocator())
        if len(ticks) <= MOST_TICKS or not self.over:
            ax.set_xticks(list(ticks), list(ticks.values()))
        ax.set_xlabel(label(short_keys(self.found.keys)[self.over]) if self.over else "variant")
        ax.grid(visible=False, axis="x")
        ax.axhline(0.0, color=GREY, linewidth=0.6) if ax.get_ylim()[0] <= 0.0 <= ax.get_ylim()[1] else None

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """A row per side and value."""
        over = short_keys(self.found.keys)[self.over] if self.over else "variant"
        rows = [
            (
                side.letter,
                str(side.folder),
                d.x if self.over else d.shown,
                d.peak.value,
                d.peak.band,
                d.peak.verdict.value,
            )
            for side, dots in zip(self.found.sides, self.dots, strict=True)
            for d in dots
        ]
        return ("side", "folder", over, "peak_MPa", "peak_band_MPa", "verdict"), rows


def compare_pictures(found: SideBySide) -> tuple[list[ComparePicture], int]:
    """A picture for each load and each set of values of the other axes; and how many more there would be.

    Those with most proven differences come first, then those with any pair to judge, conditions before loads.
    """
    over = _axis_of(found)
    groups: dict[tuple[str, str], list[list[_Dot]]] = {}
    for match in (*found.matched, *found.alone):
        others = _at_other(match.at, over, found.keys) if over else ""
        for n, point in enumerate(match.points):
            for value in point.cases.values() if point is not None else ():
                x = plain_number(over, match.at[over], point.inputs) if over and point else 0.0
                if not _is_number(x):
                    continue
                dots = groups.setdefault((value.case, others), [[] for _ in found.sides])
                shown = _shown(match.at.get(over)) if over else _at_other(match.at, "", found.keys) or "the only one"
                dots[n].append(_Dot(float(x), shown, value.peak))
    both = {k: d for k, d in groups.items() if sum(bool(any(q.peak.value is not None for q in own)) for own in d) > 1}
    conditions = {
        c.case
        for m in (*found.matched, *found.alone)
        for p in m.points
        if p
        for c in p.cases.values()
        if c.kind == "condition"
    }
    judged = {key: _judged(found, key, over) for key in both}
    order = sorted(
        both, key=lambda k: (-sum(p.said == DIFFERS for p in judged[k]), not judged[k], k[0] not in conditions)
    )
    pictures = []
    for number, key in enumerate(order[:MOST_PICTURES], 1):
        (case, at), dots, pairs = key, both[key], judged[key]
        if over:
            for own in dots:
                own.sort(key=lambda d: d.x)
        else:
            dots = _in_line(dots)
        name = f"compare-{file_name(case)}" + (f"-{number}" if at else "")
        unproven = sum(p.said == NOT_PROVEN for p in pairs)
        pictures.append(ComparePicture(found, case, over, dots, at=at, name=name, unproven=unproven, pairs=len(pairs)))
    return pictures, max(0, len(both) - MOST_PICTURES)


def _judged(found: SideBySide, key: tuple[str, str], over: str) -> list[Pair]:
    """The pairs of a picture whose inputs are unlike."""
    case, at = key
    return [
        p for r in found.peaks if r.case == case and (not over or _at_other(r.at, over, found.keys) == at)
        for p in r.pairs if p is not None and p.said in (DIFFERS, NOT_PROVEN)
    ]  # fmt: skip


def _in_line(dots: list[list[_Dot]]) -> list[list[_Dot]]:
    """Variants of an axis without numbers, each at its place in line."""
    places = {shown: float(i) for i, shown in enumerate(dict.fromkeys(d.shown for own in dots for d in own))}
    return [[_Dot(places[d.shown], d.shown, d.peak) for d in own] for own in dots]


def _axis_of(found: SideBySide) -> str:
    """The axis to draw over: numbers only; corner radius first, then the one with most values."""
    values: dict[str, set[float]] = {}
    for key in found.keys:
        given = [
            plain_number(key, m.at[key], p.inputs)
            for m in (*found.matched, *found.alone) for p in m.points if p is not None and m.at[key] is not None
        ]  # fmt: skip
        if given and all(_is_number(v) for v in given) and len(set(given)) > 1:
            values[key] = set(given)
    radius = [k for k in values if k.endswith("corner_radius_mm")]
    return (radius or sorted(values, key=lambda k: -len(values[k])) or [""])[0]


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _at_other(at: dict[str, Any], over: str, keys: tuple[str, ...]) -> str:
    names = short_keys(keys)
    return ", ".join(f"{names[k]} = {_shown(v)}" for k, v in at.items() if k != over and v is not None)


def _shown(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
