"""Damage along the edge of the worst slot: at both rims and as the most through the wall, with the worst places."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..assess.life_result import PlaceLife
from ..assess.life_words import hours
from ..study import Results, StoredVariant
from .life_choice import of_variant
from .life_draw import few
from .life_strip import Loop, name_strip
from .parts import part_of
from .picture import NoData, Picture
from .style import GREY, INK, LOOKS, below
from .words import variant_name, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["EdgeDamagePicture"]

Array = NDArray[np.float64]

MOST_DECADES = 8
ENDLESS = 1e-6  # damage in 1,000 h
ZONES = ("outer rim", "wall", "bore rim")


class EdgeDamagePicture(Picture):
    """One variant's damage in 1,000 h over arc length, logarithmic; the life it means on the right."""

    chapter = "life"
    size_mm = (165.0, 118.0)

    def __init__(self, results: Results, variant: StoredVariant | str | int | None = None) -> None:
        self.variant, self.life = of_variant(results, variant)
        part, edge = part_of(self.variant.inputs), self.life.edge
        if part is None or edge is None or len(edge.s_mm) < 3:
            raise NoData("this variant has no damage along an edge")
        self.part, self.edge, self.worst = part, edge, self.life.places[0]
        self.lines = [
            (zone if len(edge.wall) else "edge", np.array(values, dtype=float))  # no number: it breaks at once
            for zone, values in zip(ZONES, (edge.outer, edge.wall, edge.bore), strict=True)
            if len(values) == len(edge.s_mm)
        ]
        if not any(np.any(values > 0.0) for _, values in self.lines):
            raise NoData("nothing on this edge is damaged")
        self.loop = Loop(part, np.array(edge.s_mm))
        self.name = f"damage-{self.variant.key}"
        self.widen(165.0)
        several = f", slot {edge.slot}" if edge.slot or any(p.slot != edge.slot for p in self.life.places) else ""
        self.caption = (
            f"{self._of().capitalize()}{several}: damage that the duty does in 1,000 h along the edge, at {100 * self.life.survival:.4g} % "
            "survival; on the right the life that it means. Arc length is counted counter-clockwise seen from outside, zero at +x. "
            "Grey stretches are corner arcs."
        )
        if len(edge.wall):
            self.caption += (
                " The line of the wall is the most through the wall by normal stress on a few planes. Points are the places of "
                "the table, judged on the worst of all planes, shear included: they may lie above it."
            )
        else:
            self.caption += (
                " Points are the places of the table; where yielding does more damage they lie above the line."
            )
        hidden = [p for p in self.life.places if p.slot != edge.slot]
        if hidden:
            self.caption += f" {len(hidden)} places of other slots are in the table only."

    def needed_mm(self) -> float:
        """Plot, legend and title."""
        return (94.0 + 4.0 * len(self.lines) if self.tight else 104.0) + 4.0 * (2 + self._title().count("\n"))

    def _of(self) -> str:
        return variant_name(self.variant) or "this part"

    def _title(self) -> str:
        return self.title(f"Damage along the slot's edge, {self._of()}")

    def _places(self) -> list[tuple[PlaceLife, str]]:
        """Places of the drawn slot and their zone; those on the surfaces beside the rims as well."""
        found = []
        for place in self.life.places:
            zone = place.name.rpartition(", ")[2] if len(self.edge.wall) else "edge"
            if place.slot == self.edge.slot and place.damage_per_1000_h:
                found.append((place, zone))
        return found

    def paint(self, ax: Axes) -> None:
        """Lines, places, target, names of flanks and corners."""
        places = self._places()
        limit = 1000.0 / self.life.target_h
        finite = [float(v) for _, values in self.lines for v in values if 0.0 < v < math.inf]
        finite += [p.damage_per_1000_h for p, _ in places]
        top = max([*finite, limit])
        # what lives longer than a billion hours is not told apart
        low = max(min(finite), top * 10.0**-MOST_DECADES, min(ENDLESS, 1e-3 * max(finite)))
        low, high = (
            10.0 ** math.floor(math.log10(low)),
            top * 10.0 ** ((0.58 if self.tight else 0.24) * math.log10(top / low) + 0.2),
        )
        ax.set_yscale("log")
        ax.set_ylim(low, high)
        ax.set_xlim(self.loop.start, self.loop.start + self.loop.total)
        for n, (name, values) in enumerate(self.lines):
            look = LOOKS[n]
            label = {"wall": "wall, the most through it, first look"}.get(name, name)
            s = np.asarray(self.edge.s_mm)
            texts = [
                f"{name}, s {a:.1f} mm: damage {few(v)} in 1,000 h, life {hours(1000.0 / v) if v > 0.0 else 'endless'}"
                for a, v in zip(s, values, strict=True)
            ]
            self.readings.note(ax, self.loop.place(s), values, texts, few=False)
            ax.plot(self.loop.x, np.maximum(self.loop.closed(values), 1e-3 * low), color=look.colour, linestyle=look.dash,
                    linewidth=1.5, zorder=3, label=label)  # fmt: skip
        self._points(ax, places)
        ax.axhline(limit, color=INK, linestyle=(0, (4, 2)), linewidth=1.3, zorder=2)
        left = self.loop.place(np.array([self.worst.s_mm]))[0] > self.loop.start + 0.5 * self.loop.total
        ax.text(
            0.008 if left else 0.992, limit, f"target: {hours(self.life.target_h)}", transform=ax.get_yaxis_transform(),
            ha="left" if left else "right", va="bottom", fontsize=7.5, zorder=6,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.85},
        )  # fmt: skip
        self._mark(ax)
        self._lives(ax, low, high)
        pad = name_strip(ax, self.loop, 36 if self.tight else 80)
        ax.set_xlabel(f"arc length along the edge, s (mm){'' if self.tight else ', zero at +x'}")
        ax.set_ylabel("damage in 1,000 h (1)")
        ax.set_title(self._title(), pad=pad)
        ax.legend(ncols=1 if self.tight else 3, handlelength=3.4, **below(ax))

    def _points(self, ax: Axes, places: list[tuple[PlaceLife, str]]) -> None:
        names = [name for name, _ in self.lines]
        low = ax.get_ylim()[0]
        told: set[str] = set()
        for place, zone in places:
            if place.damage_per_1000_h < low:
                continue
            on_line = zone in names
            look = LOOKS[names.index(zone)] if on_line else LOOKS[-1]
            label = f"place, {zone}" if on_line else "place on the surface beside a rim"
            x = float(self.loop.place(np.array([place.s_mm]))[0])
            words = f"{place.name}: damage {few(place.damage_per_1000_h)} in 1,000 h, life {hours(place.life_h)}"
            self.readings.note(ax, [x], [place.damage_per_1000_h], [words])
            ax.plot(
                [x], [place.damage_per_1000_h], linestyle="none", marker=look.marker if on_line else "x", color=look.colour if on_line else GREY,
                markersize=5.5 if on_line else 4.0, markeredgecolor="white" if on_line else GREY, markeredgewidth=0.5 if on_line else 1.0,
                zorder=5, label=None if label in told else label,
            )  # fmt: skip
            told.add(label)

    def _mark(self, ax: Axes) -> None:
        """The worst place in words."""
        low, high = np.log10(ax.get_ylim())
        start, total = self.loop.start, self.loop.total
        top = float(10.0 ** (high - (0.13 if self.tight else 0.1) * (high - low)))
        text = (
            f"worst: {self.worst.name}\nlife {hours(self.worst.life_h)}, depth {self.worst.depth_mm:.3g} mm"
            if len(self.edge.wall)
            else f"worst: {self.worst.name}\nlife {hours(self.worst.life_h)}"
        )
        if self.worst.slot != self.edge.slot or not self.worst.damage_per_1000_h:
            ax.text(start + 0.5 * total, top, text, ha="center", va="center", fontsize=7.5, zorder=7)
            return
        x = float(self.loop.place(np.array([self.worst.s_mm]))[0])
        text = "\n".join(wrapped(line, 36) for line in text.split("\n")) if self.tight else text
        half = 0.0058 * total * max(len(line) for line in text.split("\n")) * (1.0 if not self.tight else 2.6)
        half = min(half, 0.5 * total)
        ax.annotate(
            text, (x, self.worst.damage_per_1000_h), (min(max(x, start + half), start + total - half), top), ha="center", va="center",
            fontsize=7.5, zorder=7, arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.6, "shrinkB": 4},
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.9},
        )  # fmt: skip

    def _lives(self, ax: Axes, low: float, high: float) -> None:
        """The right axis: 1,000 h over the damage."""
        right: Any = ax.secondary_yaxis("right")
        step = 2 if math.log10(high / low) > 9 else 1
        decades = range(math.ceil(math.log10(low)), math.floor(math.log10(high)) + 1, step)
        words = ["" if d < -6 else "a billion h" if d == -6 else hours(10.0 ** (3 - d)) for d in decades]
        right.set_yticks([10.0**d for d in decades], words)
        right.minorticks_off()
        right.tick_params(labelsize=7.0)
        right.set_ylabel("life at this place")

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Damage at every place of the lines, then the named places of all slots."""
        rows: list[tuple[Any, ...]] = [
            (name, self.edge.slot, float(s), None, float(v), 1000.0 / float(v) if v > 0.0 else None)
            for name, values in self.lines
            for s, v in zip(self.edge.s_mm, values, strict=True)
        ]
        rows += [
            (f"place: {p.name}", p.slot, p.s_mm, p.depth_mm, p.damage_per_1000_h, p.life_h) for p in self.life.places
        ]
        return ("line", "slot", "s_mm", "depth_mm", "damage_per_1000_h", "life_h"), rows
