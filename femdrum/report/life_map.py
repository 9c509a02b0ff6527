"""The map: every slot of the drum on its unrolled shell, coloured by how much of its bearable stress it uses."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from ..assess.life_words import hours
from ..study import Results, StoredVariant
from .life_choice import of_variant
from .picture import NoData, Picture
from .style import GREY, INK, magnitude_map
from .words import variant_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["MapPicture"]


class MapPicture(Picture):
    """Utilisation of every slot: stress over the stress at which it lives just the target."""

    chapter = "life"

    def __init__(self, results: Results, variant: StoredVariant | str | int | None = None) -> None:
        which, life = of_variant(results, variant)
        if life.map is None:
            raise NoData("the study describes no drum around the ring, [drum]")
        self.map, self.target_h = life.map, life.target_h
        part = which.inputs["part"]
        self.around_mm = math.pi * (part["outer_diameter_mm"] - part["wall_mm"])
        self.pitch_mm = part["pitch_mm"]
        cutout = part["cutout"]
        self.slot_mm = (
            float(cutout.get("around_mm") or cutout.get("diameter_mm") or 0.05 * self.around_mm),
            float(cutout.get("axial_mm") or cutout.get("diameter_mm") or 0.6 * self.pitch_mm),
        )
        self.length_mm = float(which.inputs.get("drum_length_mm", 0.0)) or max(
            s.along_mm for s in self.map.slots
        ) + min(s.along_mm for s in self.map.slots)
        self.name = f"map-{which.key}"
        of = variant_name(which)
        self.heading = f"Utilisation of every slot{', ' if of else ''}{of}"
        self.widen(165.0)
        self.caption = (
            f"The unrolled drum, seen from outside. Each slot with its number, coloured by utilisation: its stress over the stress at which it "
            f"lives just {hours(self.target_h)}; above 1 it does not. {self.map.words} Each row carries its own bending moment, shear and torque."
        )

    def needed_mm(self) -> float:
        """The drum's shape, within reason, and title."""
        wide = self.size_mm[0]
        shape: float = min(190.0, (wide - 25.0) * self.length_mm / self.around_mm)
        return max(70.0, shape) + (35.0 if self.tight else 24.0) + 4.0 * self.title(self.heading).count("\n")

    def paint(self, ax: Axes) -> None:
        """Slots as they lie on the shell."""
        from matplotlib.cm import ScalarMappable
        from matplotlib.colors import Normalize
        from matplotlib.patches import Rectangle

        most = max(1.0, *(s.utilisation for s in self.map.slots))
        least = min(s.utilisation for s in self.map.slots)
        scale = Normalize(max(0.0, 0.95 * least), 1.02 * max(s.utilisation for s in self.map.slots))
        colours = magnitude_map()
        width, length = self.slot_mm
        worst = self.map.slots[0]
        for slot in self.map.slots:
            words = f"slot {slot.number}: utilisation {slot.utilisation:.3g}, life {hours(slot.life_h)}, {slot.place}"
            self.readings.note(ax, [slot.x_mm], [slot.along_mm], [words])
            shade = colours(scale(slot.utilisation))
            dark = sum(shade[:3]) < 1.5
            # a slot at the seam is drawn on both sides of it
            for x in {slot.x_mm, slot.x_mm - self.around_mm if slot.x_mm + 0.5 * width > self.around_mm else slot.x_mm,
                      slot.x_mm + self.around_mm if slot.x_mm < 0.5 * width else slot.x_mm}:  # fmt: skip
                box = Rectangle(
                    (x - 0.5 * width, slot.along_mm - 0.5 * length), width, length, facecolor=shade, edgecolor=INK,
                    linewidth=1.6 if slot.number == worst.number else 0.5, hatch="///" if slot.utilisation > 1.0 else None,
                )  # fmt: skip
                ax.add_patch(box)
                room = width * (self.size_mm[0] - 38.0) / (self.around_mm + 1.2 * width)  # mm on paper
                if -0.2 * width <= x <= self.around_mm + 0.2 * width and room > 1.3 * len(str(slot.number)):
                    ax.text(x, slot.along_mm, str(slot.number), ha="center", va="center", fontsize=6.5,
                            color="white" if dark else INK, clip_on=True)  # fmt: skip
        self._most_used(ax, worst)
        ax.set_xlim(-0.6 * width, self.around_mm + 0.6 * width)
        ax.set_ylim(0.0, self.length_mm)
        for x in (0.0, self.around_mm):
            ax.axvline(x, color=GREY, linewidth=0.6, linestyle=(0, (2, 2)), zorder=0)
        ax.set_xlabel(
            "around the drum at mid-wall, with rotation (mm)" + ("" if self.tight else "; dashed: the same line")
        )
        ax.set_ylabel("along the shell from its drive end (mm)")
        ax.set_title(self.title(self.heading))
        bar = ax.figure.colorbar(ScalarMappable(scale, colours), ax=ax, shrink=0.7, pad=0.02)
        bar.set_label(
            "utilisation (1)"
            if self.tight
            else "utilisation (1): above 1 the target is missed"
            if most > 1.0
            else "utilisation (1): all below 1"
        )

    def _most_used(self, ax: Axes, worst: Any) -> None:
        """The worst slot in words: beside it, or in one column under the plot."""
        from matplotlib.transforms import offset_copy

        worth = f"utilisation {worst.utilisation:.2f},\nlife {hours(worst.life_h)}"
        told = f"most used: slot {worst.number},\n{worth}"
        if self.tight:
            under = offset_copy(ax.transAxes, fig=ax.figure, y=-34.0, units="points")  # type: ignore[arg-type]
            ax.text(
                0.0,
                0.0,
                f"most used: slot {worst.number} (thick edge),\n{worth.replace(chr(10), ' ')}",
                transform=under,
                va="top",
                fontsize=7.0,
                fontweight="bold",
            )
            return
        left = worst.x_mm < 0.5 * self.around_mm
        ax.annotate(
            told, (worst.x_mm, worst.along_mm), (worst.x_mm + (0.06 if left else -0.06) * self.around_mm, worst.along_mm),
            ha="left" if left else "right", va="center", fontsize=7.0, fontweight="bold",
            arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.8},
        )  # fmt: skip

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every slot."""
        head = ("slot", "row", "around", "along_mm", "x_mm", "utilisation", "life_h", "place")
        return head, [
            (s.number, s.row, s.around, s.along_mm, s.x_mm, s.utilisation, s.life_h, s.place)
            for s in sorted(self.map.slots, key=lambda s: s.number)
        ]
