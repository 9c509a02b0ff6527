"""The field on a ring: the solved cell unfolded by its mirrors, from outside and from the bore."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..edge import Spot
from ..errors import MissingPart
from ..fem.unit_cases import meets_alike
from ..model.ring import Ring
from ..study import Results, StoredVariant
from .edge_picture import where_in_words
from .field_picture import QUANTITIES
from .parts import part_of
from .picture import NoData, Picture, case_of, choice, variant_of
from .render import Job, Rendering, View, render
from .style import INK, scale_for
from .vtu import read_field
from .words import file_name, kind_word, variant_name, with_unit, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["SolidPicture", "prepare"]

Array = NDArray[np.float64]
WIDTH, HEIGHT = 800, 800  # pixels of one view
COLOURS = 255


class SolidPicture(Picture):
    """Signed principal stress (or von Mises) on one pitch of drum shell around a slot."""

    size_mm = (165.0, 110.0)
    full_of_shades = True

    def needed_mm(self) -> float:
        """Views beside each other, or one above the other in one column."""
        return 1.75 * self.size_mm[0] + 28.0 if self.tight else 0.52 * self.size_mm[0] + 24.0

    def main_axes(self, ax: Axes) -> None:
        """A picture in space has no scales."""
        return None

    def __init__(
        self, results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None,
        quantity: str = "principal",
    ) -> None:  # fmt: skip
        choice("quantity", quantity, QUANTITIES)
        self.variant, self.case, self.quantity = variant_of(results, variant), case_of(results, case), quantity
        self.answer = self.variant.answer(self.case)
        part = part_of(self.variant.inputs)
        path = self.variant.field_file
        if path is None or not isinstance(part, Ring) or self.answer.at is None:
            raise NoData("this variant has no solid field to show")
        self.part, self.path = part, path
        edge = self.variant.edge
        # one slot stands for all where each is loaded alike; else the whole row was solved and stored
        self.whole = (edge is not None and not all(meets_alike(part, c.name) for c in edge.cases)) or _whole_always(
            part
        )
        if self.whole and f"{quantity}_MPa:{self.case}" not in _arrays(path):
            raise NoData("the field of this load was not kept: of a whole row only the conditions are")
        more = "" if quantity == "principal" else f"-{quantity}"
        self.name = f"solid-{self.variant.key}-{file_name(self.case)}{more}"
        name = variant_name(self.variant)
        self.who = f"\u201c{self.case}\u201d{', ' + name if name else ''}"
        self.caption = (
            f"{kind_word(self.answer)} {self.who}: {QUANTITIES[quantity].removesuffix(' (MPa)')} on the shell, left seen from outside, right "
            f"from the bore. {self._solved()} Cut faces at the picture's border are "
            "cuts, not ends of the drum. The colour jumps where tension and compression of equal size meet. The colours show nodal means for orientation; the extremes in "
            "words are the results, with their bands."
        )
        self.rendering: Rendering | str | None = None

    def _solved(self) -> str:
        if not self.whole:
            return "A quarter cell was solved and is unfolded by its mirror planes."
        return (
            f"The whole row was solved; seen is the part around slot {self._slot}, where the peak lies, from the side that "
            "shows the peak's place, the free end up."
        )

    @property
    def _slot(self) -> int:
        return self.answer.at.slot if self.answer.at is not None else 0

    def _where(self, spot: Spot) -> str:
        """`, 35 mm below the outer surface (wall 40 mm), slot 1`: the slot where it is not the one in front."""
        other = f", slot {spot.slot}" if self.whole and spot.slot != self._slot else ""
        return where_in_words(spot, self.part) + other

    def _limits(self) -> tuple[float, float]:
        if self.quantity == "von_mises":
            return 0.0, abs(self.answer.peak.value or 0.0)
        return self.answer.compression.value or 0.0, self.answer.tension.value or 0.0

    def job(self) -> Job:
        """What the drawing process is told."""
        colours, norm = scale_for(*self._limits())
        rgb = colours(np.linspace(0, 1, COLOURS))[:, :3]
        ring = self.part
        slot = 2 * max(ring.cutout.half_x_mm, ring.cutout.half_y_mm)
        height = 1.35 * max(min(ring.pitch_mm, 2.5 * slot), 1.3 * slot)
        focus = (ring.outer_radius_mm - 0.5 * ring.wall_mm, 0.0, 0.0)
        eyes = [
            _from(around, above, 4 * ring.outer_radius_mm, focus)
            for around, above in (self._direction(32.0, 26.0), self._direction(180.0 - 32.0, 26.0))
        ]
        return Job(
            field=str(self.path),
            array=f"{self.quantity}_MPa:{self.case}",
            copies=tuple((tuple(map(float, m.ravel())), 1.0) for m in self._copies()),
            views=tuple(View(eye, focus, (0.0, 0.0, 1.0), height) for eye in eyes),
            points=tuple(self._places(spot) for _, _, spot in self._extremes()),
            least=float(norm.vmin or 0.0),
            most=float(norm.vmax or 0.0),
            colours=tuple((float(r), float(g), float(b)) for r, g, b in rgb),
            ink=INK,
            width=WIDTH,
            height=HEIGHT,
            front_only=self.whole,
        )

    def _direction(self, around_deg: float, above_deg: float) -> tuple[float, float]:
        """From where it is looked at: of a whole row so that the wall of the slot that holds the peak is in sight."""
        spot = self.answer.at
        if not self.whole or spot is None:
            return around_deg, above_deg
        return (-around_deg if spot.x_mm > 0 else around_deg), (-above_deg if spot.y_mm > 0 else above_deg)

    def _copies(self) -> list[Array]:
        """Mirrors in the planes through the slot's middle: a whole slot from the quarter; of a whole row the turn that
        brings the peak's slot to the front.
        """
        if self.whole:
            turn = -2 * math.pi * self._slot / self.part.slots_around
            out = np.eye(4)
            out[:2, :2] = [[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]]
            return [out]
        return [np.diag([1.0, sy, sz, 1.0]) for sy in (1.0, -1.0) for sz in (1.0, -1.0)]

    def _places(self, spot: Spot) -> tuple[tuple[float, float, float], ...]:
        """The four equal places of an extreme in space, the upper ones first; of a whole row the place itself."""
        if self.whole:
            radius, angle = self.part.outer_radius_mm - spot.depth_mm, spot.x_mm / self.part.mid_radius_mm
            angle += 2 * math.pi * (spot.slot - self._slot) / self.part.slots_around
            return ((radius * math.cos(angle), radius * math.sin(angle), spot.y_mm),)
        radius, angle = self.part.outer_radius_mm - spot.depth_mm, abs(spot.x_mm) / self.part.mid_radius_mm
        out = []
        for up in (1.0, -1.0):
            for side in (1.0, -1.0):
                out.append((radius * math.cos(angle), side * radius * math.sin(angle), up * abs(spot.y_mm)))
        return tuple(out)

    def _extremes(self) -> list[tuple[str, Any, Spot]]:
        found = [
            ("tension", self.answer.tension, self.answer.tension_at),
            ("compression", self.answer.compression, self.answer.compression_at),
        ]
        most = max(abs(q.value or 0.0) for _, q, _ in found)
        return [(w, q, s) for w, q, s in found if s is not None and abs(q.value or 0.0) > 0.02 * most]

    def paint(self, ax: Axes) -> None:
        """Both views beside each other, a colour bar, the extremes in words."""
        from matplotlib.cm import ScalarMappable

        if self.rendering is None:
            prepare([self])
        if not isinstance(self.rendering, Rendering):
            raise MissingPart(f"{self.failure}; `femdrum doctor` tells what is missing and the line that mends it")
        ax.axis("off")
        gap = 0.02
        colours, norm = scale_for(*self._limits())
        seen = self._seen_in()
        for k, (image, marks) in enumerate(zip(self.rendering.images, self.rendering.marks, strict=True)):
            step, part = 0.5 + gap / 2, 0.5 - gap / 2
            panel = ax.inset_axes((0.0, (1 - k) * step, 1.0, part) if self.tight else (k * step, 0.0, part, 1.0))
            panel.imshow(image, interpolation="antialiased")
            panel.axis("off")
            panel.text(0.0, 1.0, ("from outside", "from the bore")[k], fontsize=7.5, transform=panel.transAxes, va="top",
                       bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5})  # fmt: skip
            mine = [(marks[n], *extreme) for n, extreme in enumerate(self._extremes()) if seen[n] == k and marks[n]]
            mine.sort(key=lambda item: item[0][1])  # type: ignore[index]
            for mark, which, quantity, spot in mine:
                assert mark is not None
                top = mark is mine[0][0] and (len(mine) > 1 or mark[1] < 0.5 * HEIGHT)
                panel.plot(*mark, marker="o", color=INK, markerfacecolor="white", markersize=4.5)
                words = f"largest principal {which}\n{with_unit(quantity)}{self._where(spot)}".replace(", ", "\n")
                words = words.replace(" (wall", "\n(wall") if self.size_mm[0] < 150.0 else words
                panel.annotate(words, mark, (0.55, 0.93 if top else 0.01), textcoords="axes fraction", ha="center",
                               va="top" if top else "bottom", fontsize=7, annotation_clip=False,
                               arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.7, "shrinkB": 3},
                               bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.0})  # fmt: skip
        hidden = [f"largest principal {w} {with_unit(q)}{self._where(s)}: hidden in both views"
                  for n, (w, q, s) in enumerate(self._extremes()) if seen[n] is None]  # fmt: skip
        hidden = [wrapped(text, self.room_for(110)) for text in hidden]
        ax.text(0.5, -0.02, "\n".join(hidden), fontsize=7, ha="center", va="top", transform=ax.transAxes)
        bar = ax.figure.colorbar(
            ScalarMappable(norm, colours), ax=ax, orientation="horizontal", fraction=0.04, pad=0.06, aspect=50
        )
        words = QUANTITIES[self.quantity]
        bar.set_label(words.replace(" of", "\nof") if self.tight else words)
        bar.outline.set_linewidth(0.4)
        which = f"slot {self._slot}" if self.whole else "the slot"
        ax.set_title(self.title(f"Around {which}, {self.who}"))

    def _seen_in(self) -> list[int | None]:
        """In which view each extreme is marked: the nearer side first."""
        assert isinstance(self.rendering, Rendering)
        out: list[int | None] = []
        for n, (_, _, spot) in enumerate(self._extremes()):
            order = (0, 1) if spot.depth_mm < 0.5 * self.part.wall_mm else (1, 0)
            out.append(next((k for k in order if self.rendering.marks[k][n] is not None), None))
        return out

    @property
    def failure(self) -> str:
        """Why there is no picture, in one sentence; empty where there is one."""
        if isinstance(self.rendering, str):
            return f"The solid's picture for {self.who} could not be drawn: {self.rendering}"
        return ""

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Extremes with their places; the whole field lies in the variant's VTU file."""
        rows = [(w, q.value, q.band, s.x_mm, s.y_mm, s.depth_mm, q.verdict.value) for w, q, s in self._extremes()]
        return ("extreme", "value_MPa", "band_MPa", "x_mm", "y_mm", "depth_mm", "verdict"), rows


def _whole_always(ring: Ring) -> bool:
    return ring.rows == "helical" or ring.held != "nothing"


@cache
def _arrays(path: Path) -> frozenset[str]:
    """Names of a field file's arrays."""
    return frozenset(read_field(path).data)


def _from(
    around_deg: float, above_deg: float, distance: float, focus: tuple[float, float, float]
) -> tuple[float, float, float]:
    """Where a camera stands that looks at the focus from this direction."""
    a, e = math.radians(around_deg), math.radians(above_deg)
    way = (math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e))
    x, y, z = (f + distance * w for f, w in zip(focus, way, strict=True))
    return x, y, z


def prepare(pictures: list[SolidPicture]) -> None:
    """Render all of them in one child process."""
    for picture, result in zip(pictures, render([p.job() for p in pictures]), strict=True):
        picture.rendering = result
