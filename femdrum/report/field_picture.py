"""The field around the slot of a plate, unfolded over the mirror planes."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..study import Results, StoredVariant
from .parts import part_of
from .picture import NoData, Picture, case_of, choice, variant_of
from .style import INK, scale_for
from .vtu import Field, read_field
from .words import file_name, kind_word, variant_name, with_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["QUANTITIES", "FieldPicture"]

Array = NDArray[np.float64]
QUANTITIES = {
    "principal": "signed principal stress of largest magnitude (MPa)",
    "von_mises": "von Mises stress (MPa)",
}


class FieldPicture(Picture):
    """Signed principal stress (or von Mises) in the neighbourhood of the slot."""

    size_mm = (140.0, 120.0)
    full_of_shades = True

    def needed_mm(self) -> float:
        """Height for the window's shape at the width."""
        if not self.tight:
            return 120.0 * max(1.0, self.size_mm[0] / 140.0) if self.size_mm[0] <= 140.0 else 130.0
        wide, high = self.window()
        return 0.6 * self.size_mm[0] * high / wide + 36.0

    def __init__(
        self, results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None,
        quantity: str = "principal",
    ) -> None:  # fmt: skip
        choice("quantity", quantity, QUANTITIES)
        self.variant, self.case, self.quantity = variant_of(results, variant), case_of(results, case), quantity
        self.answer = self.variant.answer(self.case)
        self.part = part_of(self.variant.inputs)
        path = self.variant.field_file
        if path is None or self.part is None or self.part.kind == "ring" or self.answer.at is None:
            raise NoData("this variant has no plane field to show")
        self.path = path
        more = "" if quantity == "principal" else f"-{quantity}"
        self.name = f"field-{self.variant.key}-{file_name(self.case)}{more}"
        name = variant_name(self.variant)
        self.caption = (
            f"{kind_word(self.answer)} \u201c{self.case}\u201d{', ' + name if name else ''}: {QUANTITIES[quantity].removesuffix(' (MPa)')} around the cutout; one "
            "quarter was solved and is unfolded here. The colours show nodal means for orientation; the extremes in words are "
            "the results, with their bands."
        )

    @cached_property
    def field(self) -> Field:
        """The stored quarter."""
        return read_field(self.path)

    def window(self) -> tuple[float, float]:
        """Half width and half height of what is shown, in mm."""
        assert self.part is not None
        a, b = self.part.cutout.half_x_mm, self.part.cutout.half_y_mm
        margin = 1.1 * max(min(a, b), 0.45 * max(a, b))
        wide, high = a + margin, b + margin
        wide, high = max(wide, 0.8 * high), max(high, 0.8 * wide)
        return min(wide, self.part.half_x_mm), min(high, self.part.half_y_mm)  # type: ignore[union-attr]

    def quarters(self) -> tuple[Array, NDArray[np.intp], Array]:
        """Nodes [n, 2], triangles and values of all four quarters near the cutout.

        Under shear the mirrored quarter carries the opposite sign.
        """
        wide, high = self.window()
        nodes, cells = self.field.nodes[:, :2], self.field.cells
        values = self.field.data[f"{'principal' if self.quantity == 'principal' else 'von_mises'}_MPa:{self.case}"]
        inside = (np.abs(nodes[cells, 0]).min(1) <= wide) & (np.abs(nodes[cells, 1]).min(1) <= high)
        cells = cells[inside]
        triangles = np.concatenate([cells[:, [0, 1, 2]], cells[:, [0, 2, 3]]])
        flip = -1.0 if self.answer.case_kind == "shear" and self.quantity == "principal" else 1.0
        sign = [(1, 1, 1.0), (-1, 1, flip), (-1, -1, 1.0), (1, -1, flip)]
        n = len(nodes)
        return (
            np.concatenate([nodes * [sx, sy] for sx, sy, _ in sign]),
            np.concatenate([triangles + k * n for k in range(4)]),
            np.concatenate([values * f for _, _, f in sign]),
        )

    def paint(self, ax: Axes) -> None:
        """The coloured field, the outline, the extremes in words."""
        from matplotlib.tri import Triangulation

        nodes, triangles, values = self.quarters()
        used = np.unique(triangles)
        if self.quantity == "von_mises":
            least, most = 0.0, abs(self.answer.peak.value or 0.0) or float(values[used].max())
        else:
            least, most = self.answer.compression.value or 0.0, self.answer.tension.value or 0.0
        colours, norm = scale_for(least, most)
        shown = ax.tripcolor(
            Triangulation(nodes[:, 0], nodes[:, 1], triangles), values, shading="gouraud", cmap=colours, norm=norm,
            rasterized=True, zorder=1,
        )  # fmt: skip
        wide, high = self.window()
        ax.set_xlim(-wide, wide)
        ax.set_ylim(-high, high)
        ax.set_aspect("equal")
        ax.grid(False)
        edge = self.variant.edge
        if edge is not None:
            loop = np.vstack([edge.place_mm[:, 0, :2], edge.place_mm[:1, 0, :2]])
            ax.plot(loop[:, 0], loop[:, 1], color=INK, linewidth=0.8, zorder=3)
        ax.set_xlabel("x (mm)", loc="right")
        ax.set_ylabel("y (mm)")
        name = variant_name(self.variant)
        ax.set_title(self.title(f"\u201c{self.case}\u201d{', ' + name if name else ''}"), pad=26)
        raw = values[used]
        beyond = (raw.max() > norm.vmax * 1.02, raw.min() < norm.vmin * 1.02 - 1e-9)  # type: ignore[operator]
        bar = ax.figure.colorbar(shown, cax=ax.inset_axes((1.04, 0.0, 0.05, 1.0)),
                                 extend={(0, 0): "neither", (1, 0): "max", (0, 1): "min"}.get((int(beyond[0]), int(beyond[1])), "both"))  # fmt: skip
        words = QUANTITIES[self.quantity]
        bar.set_label(words.replace(" of", "\nof") if self.tight else words)
        bar.outline.set_linewidth(0.4)
        self._extremes(ax, wide, high)

    def _extremes(self, ax: Axes, wide: float, high: float) -> None:
        from matplotlib.transforms import offset_copy

        found = [("tension", self.answer.tension, self.answer.tension_at, True)]
        found.append(("compression", self.answer.compression, self.answer.compression_at, False))
        biggest = max(abs(q.value or 0.0) for _, q, _, _ in found)
        for which, quantity, spot, up in found:
            if quantity.value is None or spot is None or abs(quantity.value) < 0.02 * biggest:
                continue
            # a mirror image of the place on the side where the words stand
            x, y = spot.x_mm, spot.y_mm
            if self.answer.case_kind != "shear":
                y = abs(y) if up else -abs(y)
                x = abs(x)
            elif (y >= 0) != up:
                x, y = -x, -y
            ax.plot([x], [y], marker="o", color=INK, markerfacecolor="white", markersize=4.5, zorder=5, clip_on=False)
            told = f"largest principal {which} {with_unit(quantity)}"
            self.readings.note(ax, [x], [y], [f"x {x:.1f} mm, y {y:.1f} mm: {told}"])
            away = offset_copy(ax.transAxes, fig=ax.figure, y=8.0 if up else -33.0, units="points")  # type: ignore[arg-type]
            ax.annotate(
                told, (x, y), (0.5, 1.0 if up else 0.0), textcoords=away,
                ha="center", va="bottom" if up else "top", fontsize=7.5, zorder=6, annotation_clip=False,
                arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.7, "shrinkB": 3},
            )  # fmt: skip

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Nodes of the solved quarter near the cutout, with both scalars."""
        wide, high = self.window()
        nodes = self.field.nodes
        near = (nodes[:, 0] <= wide) & (nodes[:, 1] <= high)
        names = [f"principal_MPa:{self.case}", f"von_mises_MPa:{self.case}"]
        columns = [nodes[near, 0], nodes[near, 1], *(self.field.data[name][near] for name in names)]
        return ("x_mm", "y_mm", "principal_MPa", "von_mises_MPa"), [
            tuple(map(float, row)) for row in zip(*columns, strict=True)
        ]
