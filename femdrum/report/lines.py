"""The variants of a study as lines over one of its axes, each with what is known without a mesh."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ..study import Results, StoredVariant
from .curves import POINTS, PlaneCurves, plane_curves
from .parts import axis_number, part_of
from .picture import choice
from .words import variant_name

__all__ = ["KtLine", "Lines", "lines_of"]

MOST_LINES = 8


@dataclass
class KtLine:
    """Variants that differ along the axis only. x: their numbers there, or their place in line."""

    label: str
    x: list[float]
    variants: list[StoredVariant]
    curves: PlaneCurves | None


class Lines:
    """The variants of a study sorted into lines over one axis; curves are computed once for all loads."""

    def __init__(self, results: Results, axis: str | None) -> None:
        self.results = results
        self.variants = results.variants
        self.column, self.key = self._axis(axis)
        self.is_number = self.column != "" and all(
            axis_number(v, self.column) is not None for v in self.variants if v.axes.get(self.column) is not None
        )
        self.together = False
        self.lines = self._sorted()
        self.left_out = max(0, len(self.lines) - MOST_LINES)
        self.lines = self.lines[:MOST_LINES]

    def _axis(self, wanted: str | None) -> tuple[str, str]:
        axes = {a.column: a.key for a in self.results.axes}
        if wanted is not None:
            return wanted, axes[choice("axis", wanted, axes)]
        numeric = [
            c for c in axes if any(axis_number(v, c) is not None for v in self.variants)
            and all(v.axes.get(c) is None or axis_number(v, c) is not None for v in self.variants)
        ]  # fmt: skip
        several = [c for c in numeric if len({v.axes.get(c) for v in self.variants}) > 1] or numeric
        radius = [c for c in several if c.endswith("corner_radius_mm")]
        for column in [*radius, *several, *axes]:
            return column, axes[column]
        return "", ""

    def _sorted(self) -> list[KtLine]:
        groups: dict[str, list[StoredVariant]] = {}
        for variant in self.variants:
            groups.setdefault(variant_name(variant, [self.column]), []).append(variant)
        if self.is_number and len(self.variants) > 1 and all(len(g) == 1 for g in groups.values()):
            self.together = True  # side by side: the other values change along with this one
            groups = {"": list(self.variants)}
        lines = []
        for label, members in groups.items():
            places = [(self.place(v), v) for v in members]
            found = sorted(((x, v) for x, v in places if x is not None), key=lambda pair: pair[0])
            lines.append(KtLine(label, [x for x, _ in found], [v for _, v in found], None))
        return [line for line in lines if line.x]

    @cached_property
    def categories(self) -> list[str]:
        """Values of an axis that has no numbers, in the order of the study; one where nothing varies."""
        return list(dict.fromkeys(str(v.axes.get(self.column, "this part")) for v in self.variants))

    def place(self, variant: StoredVariant) -> float | None:
        """Where a variant stands on the axis; None where the axis does not bear on it."""
        if self.is_number:
            return axis_number(variant, self.column)
        return float(self.categories.index(str(variant.axes.get(self.column, "this part"))))

    @cached_property
    def values(self) -> list[float]:
        """All places on the axis, in order."""
        return sorted({x for line in self.lines for x in line.x})

    @property
    def by_ratio(self) -> bool:
        """True where the axis spans so much that it is drawn by ratio (logarithmic)."""
        return self.is_number and self.values[0] > 0 and self.values[-1] / self.values[0] >= 10

    def apart(self, x: float, n: int) -> float:
        """x, moved a little for line n, so that points of several lines do not lie on each other."""
        share = 0.009 * (n - 0.5 * (len(self.lines) - 1))
        low, high = self.values[0], self.values[-1]
        return x * (high / low) ** share if self.by_ratio else x + share * (high - low)

    @cached_property
    def cases(self) -> list[str]:
        """Names of the loads."""
        return list(dict.fromkeys(a.case for v in self.variants for a in v.answers))

    def curves(self, line: KtLine) -> PlaneCurves | None:
        """Exact values and fits along the line; None where there is no curve to draw."""
        if not self.is_number or self.together or part_of(line.variants[0].inputs) is None:
            return None
        if line.curves is None:
            usable = [
                v for v in line.variants if not getattr(getattr(part_of(v.inputs), "cutout", None), "sharp", True)
            ]
            if not usable:
                return None
            inputs = usable[0].inputs
            line.curves = plane_curves(inputs, self.key, line.x, [load["name"] for load in inputs["load"]],
                                           points=POINTS if len(self.lines) == 1 else 14)  # fmt: skip
        return line.curves


def lines_of(results: Results, axis: str | None = None) -> Lines:
    """The study's variants as lines over an axis."""
    return Lines(results, axis)
