"""The unrolled shell for a hand-over: slots with their numbers, the order in which to look at them, and the drum as it was built."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.handover_inspect import LookSlot
from ..assess.handover_slots import HandoverSlot, Numbering
from ..assess.life_words import hours
from ..model.ring import Ring
from ..study.as_built_run import AsBuiltResult
from .picture import Picture
from .rotor_pattern import outline_mm
from .style import GREY, INK, LOOKS, PALE, magnitude_map

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["AsBuiltPicture", "LookFirstPicture", "SlotNumbersPicture"]

MARGIN = 0.045  # of the circumference, shown twice on both sides
LEAST_MM, MOST_MM, WIDTH_MM = 95.0, 185.0, 165.0
MOST_WORDS = 80  # slots that carry more than a number


class ShellPicture(Picture):
    """x around the drum in the sense of rotation, y along it from the drive end."""

    def __init__(self, numbering: Numbering, ring: Ring) -> None:
        self.numbering, self.ring = numbering, ring
        self.around_mm = numbering.around_mm
        along = [s.along_mm for s in numbering.slots]
        if numbering.length_mm is None:
            self.low, self.high = min(along) - 0.75 * ring.pitch_mm, max(along) + 0.75 * ring.pitch_mm
        else:
            self.low, self.high = 0.0, numbering.length_mm
        self.tall = self.high - self.low
        shown = self.around_mm * (1 + 2 * MARGIN)
        self.size_mm = (WIDTH_MM, min(max((WIDTH_MM - 26.0) * 1.16 * self.tall / shown + 38.0, LEAST_MM), MOST_MM))
        self.plain_mm = self.size_mm[1]
        # mm of the shell on one mm of paper, whichever side is the tighter one
        self.scale = max(shown / (WIDTH_MM - 34.0), 1.16 * self.tall / (self.size_mm[1] - 34.0))

    def letters(self, length: int, share: float = 1.0) -> float:
        """Size of a text of so many letters, pt, so that it stays inside a slot where that leaves it legible."""
        across = 2 * self.ring.cutout.half_x_mm / self.scale * 2.83 / (0.74 * max(length, 1))
        return float(np.clip(min(across, share * 1.4 * self.ring.cutout.half_y_mm / self.scale * 2.83), 4.6, 9.0))

    def shell(self, ax: Axes, colour: Mapping[int, Any], edge: Mapping[int, float], hatch: Mapping[int, str]) -> None:
        """Shell, discs, seam and slots; by number of the slot its colour, width of its line, and hatching."""
        from matplotlib.patches import Polygon

        around, margin = self.around_mm, MARGIN * self.around_mm
        for low, high in self.numbering.discs_mm:
            ax.axhspan(low, high, facecolor="none", edgecolor=GREY, hatch="////", linewidth=0.0, zorder=1)
        for left in (-margin, around):
            ax.axvspan(left, left + margin, color=PALE, zorder=0, linewidth=0)
        whole = self.numbering.length_mm is not None
        for y in (self.low, self.high):
            ax.plot([-margin, around + margin], [y, y], color=INK if whole else GREY, linewidth=1.4 if whole else 0.7,
                    linestyle="-" if whole else (0, (4, 3)), zorder=3)  # fmt: skip
        shape = outline_mm(self.ring.cutout)
        for s in self.numbering.slots:
            for shift in (-around, 0.0, around):
                x, ghost = s.x_mm + shift, shift != 0.0
                if not -2 * margin < x < around + 2 * margin:
                    continue
                ax.add_patch(
                    Polygon(
                        np.add(shape, (x, s.along_mm)), closed=True, facecolor="none" if ghost else colour.get(s.slot, "white"),
                        edgecolor=GREY if ghost else INK, linewidth=0.6 if ghost else edge.get(s.slot, 0.9), zorder=2,
                        linestyle=(0, (3, 2)) if ghost else "-", hatch=None if ghost else hatch.get(s.slot),
                    )
                )  # fmt: skip

    def beside(self, ax: Axes, slot: HandoverSlot, text: str, **look: Any) -> None:
        """A text to the right of a slot, to its left where the seam is near."""
        right = slot.x_mm < 0.9 * self.around_mm
        gap = self.ring.cutout.half_x_mm + 1.2 * self.scale
        ax.text(slot.x_mm + (gap if right else -gap), slot.along_mm, text, ha="left" if right else "right", va="center",
                fontsize=look.pop("fontsize", 5.6), zorder=6, linespacing=1.15, **look)  # fmt: skip

    def bar(self, ax: Axes, shades: Any, words: str) -> None:
        """The scale of the colours, below the shell, and room for it."""
        bar = ax.figure.colorbar(shades, ax=ax, orientation="horizontal", shrink=0.55, aspect=34, pad=0.02)
        bar.set_label(words)
        self.size_mm = (self.size_mm[0], self.plain_mm + 15.0)

    def axes(self, ax: Axes, title: str) -> None:
        """Ends, sense of rotation, datums, scales."""
        around, margin = self.around_mm, MARGIN * self.around_mm
        low, high, tall = self.low, self.high, self.tall
        ax.set_xlim(-margin, around + margin)
        ax.set_ylim(low - 0.085 * tall, high + 0.075 * tall)
        ax.text(0.25 * around, low - 0.045 * tall, "drive end", ha="center", va="center", fontsize=7.5)
        ax.text(0.25 * around, high + 0.038 * tall, "free end", ha="center", va="center", fontsize=7.5)
        ax.annotate("", (0.99 * around, low - 0.045 * tall), (0.78 * around, low - 0.045 * tall),
                    arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.0})  # fmt: skip
        ax.text(0.77 * around, low - 0.045 * tall, "sense of rotation", ha="right", va="center", fontsize=7.5)
        ax.set_aspect("equal", adjustable="box")
        ax.set_title(title, pad=8)
        ax.set_xlabel("around the drum, at mid-wall (mm)")
        ax.set_ylabel(f"along the drum, from {self.numbering.along_from} (mm)")
        rows = {s.row: s.along_mm for s in self.numbering.slots}
        step = max(1, math.ceil(len(rows) / 24))
        shown = [row for row in sorted(rows) if (row - 1) % step == 0]
        ax.set_yticks([rows[r] for r in shown])
        ax.yaxis.set_major_formatter(lambda v, _: f"{v:g}")
        per_deg = around / 360.0
        to_deg: Any = lambda x: x / per_deg  # noqa: E731
        to_mm: Any = lambda angle: angle * per_deg  # noqa: E731
        twin = ax.secondary_xaxis("top", functions=(to_deg, to_mm))
        twin.set_xticks(range(0, 361, 45))
        twin.set_xlabel("angle from the first slot of row 1 (°)", labelpad=3)
        right = ax.secondary_yaxis("right")
        right.set_yticks([rows[r] for r in shown], [str(r) for r in shown])
        right.set_ylabel("row")
        ax.grid(visible=False)


class SlotNumbersPicture(ShellPicture):
    """The numbers, and from where they are counted."""

    name = "slot-numbers"

    def __init__(self, numbering: Numbering, ring: Ring) -> None:
        super().__init__(numbering, ring)
        self.caption = (
            f"Slot numbers on the unrolled shell at mid-wall. {' '.join(numbering.notes[:3])} The pale strips repeat what lies beyond the seam"
            f"{'; hatched: end discs inside the shell' if numbering.discs_mm else ''}."
        )

    def paint(self, ax: Axes) -> None:
        """Slots with their numbers and the two datums."""
        self.shell(ax, {}, {}, {})
        size = self.letters(len(str(len(self.numbering.slots))))
        for s in self.numbering.slots:
            ax.text(
                s.x_mm,
                s.along_mm,
                str(s.slot),
                ha="center",
                va="center",
                fontsize=size,
                fontweight="bold",
                color=LOOKS[0].colour,
                zorder=5,
            )
        mark = LOOKS[3].colour
        first = self.numbering.slots[0]
        ax.plot(
            [first.x_mm] * 2, [self.low, self.high], color=mark, linewidth=0.9, linestyle=(0, (6, 2, 1, 2)), zorder=1
        )
        face = 0.0 if self.numbering.length_mm is not None else first.along_mm
        ax.plot(
            [-MARGIN * self.around_mm, (1 + MARGIN) * self.around_mm],
            [face, face],
            color=mark,
            linewidth=0.9,
            linestyle=(0, (6, 2, 1, 2)),
            zorder=4,
        )
        ax.annotate(
            "angles and lengths\ncount from here", (first.x_mm, face), (0.10 * self.around_mm, face + (0.045 if face == 0.0 and self.low == 0.0 else 0.075) * self.tall),
            fontsize=6.5, color=mark, va="bottom", arrowprops={"arrowstyle": "-|>", "color": mark, "linewidth": 0.8}, zorder=7,
        )  # fmt: skip
        self.axes(
            ax,
            f"{len(self.numbering.slots)} slots in {self.numbering.rows_total} rows, {360 / self.numbering.slots_around:g}° apart within a row",
        )

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Slots with their places."""
        return ("slot", "row", "angle_deg", "x_mm", "along_mm"), [
            (s.slot, s.row, s.angle_deg, s.x_mm, s.along_mm) for s in self.numbering.slots
        ]


class LookFirstPicture(ShellPicture):
    """The order in which slots are looked at, coloured by utilisation."""

    name = "look-first"

    def __init__(self, numbering: Numbering, ring: Ring, slots: tuple[LookSlot, ...]) -> None:
        super().__init__(numbering, ring)
        self.looks = {s.slot: s for s in slots}
        self.ranked = len({s.rank for s in slots}) > 1
        first = slots[0]
        much = "" if first.utilisation is None else f", utilisation {first.utilisation:.2f}"
        self.caption = (
            f"The order in which to look at the slots: large its rank, beside it its number and utilisation. Equally used slots share a rank. First: slot {first.slot}{much}, at the "
            f"{first.place}. Every slot is looked at; the order says where to begin."
            if self.ranked
            else f"All slots rank alike: each with its number. The place to look at first in every one of them: {first.place or 'not known'}."
        )

    def paint(self, ax: Axes) -> None:
        """Slots with ranks."""
        from matplotlib.cm import ScalarMappable
        from matplotlib.colors import Normalize

        colours = magnitude_map()
        known = [s.utilisation for s in self.looks.values() if s.utilisation is not None]
        shade: dict[int, Any] = {}
        scale = Normalize(0.0, 1.0)
        if self.ranked and known:
            wide = max(max(known) - min(known), 0.02 * max(known))
            scale = Normalize(min(known) - 0.05 * wide, max(known) + 0.05 * wide)
            shade = {n: colours(scale(s.utilisation)) for n, s in self.looks.items() if s.utilisation is not None}
        top = {n: 1.8 for n, s in self.looks.items() if self.ranked and s.rank == 1}
        self.shell(ax, shade, top, {n: "////" for n, s in self.looks.items() if (s.utilisation or 0.0) > 1.0})
        size = self.letters(len(str(len(self.looks))))
        for s in self.numbering.slots:
            look = self.looks[s.slot]
            dark = s.slot in shade and sum(shade[s.slot][:3]) < 1.5
            word = str(look.rank if self.ranked else s.slot)
            ax.text(s.x_mm, s.along_mm, word, ha="center", va="center", fontsize=size, fontweight="bold",
                    color="white" if dark else INK, zorder=5)  # fmt: skip
            if self.ranked and len(self.looks) <= MOST_WORDS:
                self.beside(ax, s, f"slot {s.slot}" + ("" if look.utilisation is None else f"\n{look.utilisation:.3f}"))
        self.axes(ax, "Look here first: rank of every slot" if self.ranked else "All slots rank alike")
        if shade:
            self.bar(ax, ScalarMappable(scale, colours), "utilisation (1)")

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every slot with its rank."""
        head = ("rank", "slot", "row", "utilisation", "life_h", "place")
        return head, [(s.rank, s.slot, s.row, s.utilisation, s.life_h, s.place) for s in self.looks.values()]


class AsBuiltPicture(ShellPicture):
    """Every slot as built: utilisation, or peak where no life was reckoned, with its least radius."""

    name = "as-built"

    def __init__(self, numbering: Numbering, ring: Ring, found: AsBuiltResult) -> None:
        super().__init__(numbering, ring)
        self.found, self.rows = found, {s.slot: s for s in found.slots}
        self.by_life = found.worst.utilisation is not None
        self.value = {n: s.utilisation if self.by_life else s.peak_MPa for n, s in self.rows.items()}
        hatched = " Hatched: the slot falls short of the life that is wanted." if found.below else ""
        self.caption = (
            f"The drum as built. In each slot its number, beside it the least radius of its corners in mm (design {found.designed_mm:g}), coloured by "
            f"{'utilisation' if self.by_life else 'the highest peak'}.{hatched} {' '.join(found.words)}"
        )

    def paint(self, ax: Axes) -> None:
        """Slots as built."""
        from matplotlib.cm import ScalarMappable
        from matplotlib.colors import Normalize

        known = [v for v in self.value.values() if v is not None]
        colours, shade = magnitude_map(), {}
        if known:
            wide = max(max(known) - min(known), 0.02 * abs(max(known)))
            scale = Normalize(min(known) - 0.05 * wide, max(known) + 0.05 * wide)
            shade = {n: colours(scale(v)) for n, v in self.value.items() if v is not None}
        worst = self.found.worst
        self.shell(ax, shade, {worst.slot: 1.9}, {n: "////" for n in self.found.below})
        size = self.letters(len(str(len(self.rows))))
        for s in self.numbering.slots:
            own = self.rows[s.slot]
            dark = s.slot in shade and sum(shade[s.slot][:3]) < 1.5
            ax.text(
                s.x_mm,
                s.along_mm,
                str(s.slot),
                ha="center",
                va="center",
                fontsize=size,
                fontweight="bold",
                color="white" if dark else INK,
                zorder=5,
            )
            if s.slot == worst.slot:
                much = (
                    f"utilisation {own.utilisation:.2f}\nlife {hours(own.life_h)}"
                    if self.by_life
                    else f"peak {own.peak_MPa:.4g} MPa"
                )
                self.beside(
                    ax,
                    s,
                    f"R {own.least_mm:.3g}\nmost used: {much}"
                    if self.by_life
                    else f"R {own.least_mm:.3g}\nhighest {much}",
                    fontweight="bold",
                )
            elif len(self.rows) <= MOST_WORDS:
                self.beside(ax, s, f"R {own.least_mm:.3g}" if own.measured else f"R {own.least_mm:.3g}\nas drawn")
        self.axes(ax, "As built: least corner radius of every slot and what it comes to")
        if known:
            self.bar(
                ax,
                ScalarMappable(scale, colours),
                "utilisation as built (1)" if self.by_life else "highest peak as built (MPa)",
            )

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every slot beside its design."""
        head = (
            "slot",
            "row",
            "least_mm",
            "solved_mm",
            "peak_MPa",
            "peak_designed_MPa",
            "utilisation",
            "utilisation_designed",
            "life_h",
            "life_designed_h",
            "below",
        )
        return head, [tuple(getattr(s, c) for c in head) for s in self.found.slots]
