"""What stands in a slot: the bar with its tips, how far they are worn, and the parts that hold it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..errors import MISSING
from .check import Checks
from .machine import PATHS

__all__ = ["Hammer", "SlotPart"]

_TIP_SIZES = ("tip_height_mm", "tip_width_mm", "tip_depth_mm", "tip_radius_mm")


@dataclass(frozen=True, kw_only=True)
class Hammer:
    """A bar and its tips, as new, and how far the tips are worn.

    path: "both" or "one" (one bar through two opposed slots, clamped in both or in one of them) or "halves" (a hammer of
    its own in every slot); as for Bar, and without default. mass_kg and length_mm: of the whole bar without tips, about
    the axis; with "halves" of one hammer, whose inner end stands at inner_radius_mm. width_mm along the drum's axis,
    depth_mm around it.
    tip_mass_kg: of each tip, a block of tip_height_mm (outward), tip_width_mm (along the drum) and tip_depth_mm (around);
    tip_radius_mm: radius of its outermost face, new. tip_ahead_mm: how far its middle stands before the bar's, in the
    sense of rotation. Without tips the bar's own ends cut.
    wear_mm: what is gone from the outer face of every tip (or bar end), evenly.
    """

    kind: ClassVar[str] = "hammer"
    path: str
    mass_kg: float
    length_mm: float
    width_mm: float
    depth_mm: float
    inner_radius_mm: float | None = None
    tip_mass_kg: float = 0.0
    tip_height_mm: float | None = None
    tip_width_mm: float | None = None
    tip_depth_mm: float | None = None
    tip_radius_mm: float | None = None
    tip_ahead_mm: float = 0.0
    wear_mm: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.one_of("path", self.path, PATHS, "it decides what the shell carries, so it has no default")
        good = [checks.positive(name, getattr(self, name)) for name in ("mass_kg", "length_mm", "width_mm", "depth_mm")]
        if self.path == "halves":
            value: object = MISSING if self.inner_radius_mm is None else self.inner_radius_mm
            good.append(checks.number("inner_radius_mm", value, least=0.0, way_out="radius of the hammer's inner end"))
        elif self.inner_radius_mm is not None:
            checks.add(
                "inner_radius_mm", self.inner_radius_mm, f"does not go with path = {self.path!r}: the bar goes through",
                "leave it out, or path = 'halves'",
            )  # fmt: skip
        checks.number("tip_ahead_mm", self.tip_ahead_mm)
        good.append(checks.number("wear_mm", self.wear_mm, least=0.0, way_out="0 for new tips"))
        if checks.number("tip_mass_kg", self.tip_mass_kg, least=0.0) and self.tip_mass_kg > 0:
            for name in _TIP_SIZES:
                value = getattr(self, name)
                good.append(checks.positive(name, MISSING if value is None else value, "a tip that weighs has a size"))
            if all(good):
                self._check_tip(checks)
        elif not self.tip_mass_kg:
            for name in _TIP_SIZES:
                if getattr(self, name) is not None:
                    checks.add(name, getattr(self, name), "belongs to a tip, and tip_mass_kg is 0", "give its mass")
        if all(good) and not self.tip_mass_kg and self.path in PATHS:
            room = self.length_mm if self.path == "halves" else 0.5 * self.length_mm
            checks.number("wear_mm", self.wear_mm, least=0.0, below=room, way_out="the bar's own end wears")
        checks.done()

    def _check_tip(self, checks: Checks) -> None:
        assert self.tip_height_mm is not None
        assert self.tip_radius_mm is not None
        checks.number(
            "tip_height_mm", self.tip_height_mm, above=0.0, most=self.tip_radius_mm,
            way_out="a tip lies within its own radius",
        )  # fmt: skip
        if self.wear_mm:
            checks.number(
                "wear_mm", self.wear_mm, least=0.0, below=self.tip_height_mm, way_out="a tip worn off is no tip"
            )
        if self.path in PATHS and self.tip_radius_mm < self.bar_end_mm:
            checks.add(
                "tip_radius_mm", self.tip_radius_mm, f"must be at least the bar's end, {self.bar_end_mm:g} mm",
                "the tips are outermost: lengthen them or shorten the bar",
            )  # fmt: skip

    @property
    def through(self) -> bool:
        """One bar goes through two opposed slots."""
        return self.path != "halves"

    @property
    def tips(self) -> int:
        """Tips of one bar."""
        return 2 if self.through else 1

    @property
    def bar_end_mm(self) -> float:
        """Radius of the bar's outer end, new."""
        return 0.5 * self.length_mm if self.through else (self.inner_radius_mm or 0.0) + self.length_mm

    @property
    def new_tip_radius_mm(self) -> float:
        """Radius of the circle that new tips describe, at the middle of their outer face."""
        return self.tip_radius_mm if self.tip_mass_kg and self.tip_radius_mm is not None else self.bar_end_mm

    @property
    def outer_radius_mm(self) -> float:
        """Radius of the tips as they are worn now."""
        return self.new_tip_radius_mm - self.wear_mm

    @property
    def cut_width_mm(self) -> float:
        """Width of the cut along the drum."""
        return self.tip_width_mm if self.tip_mass_kg and self.tip_width_mm is not None else self.width_mm

    @property
    def volume_mm3(self) -> float:
        """Volume of the whole bar as a block, without tips."""
        return self.length_mm * self.width_mm * self.depth_mm


@dataclass(frozen=True, kw_only=True)
class SlotPart:
    """A wedge, bolt, or other part of which one sits in every slot.

    radius_mm: of its centre of gravity, out along the slot's middle; around_mm and along_mm: how far it stands from
    there in the sense of rotation and towards the free end. size_*_mm: of the block it is weighed as; 0 is a point.
    """

    name: str
    mass_kg: float
    radius_mm: float
    around_mm: float = 0.0
    along_mm: float = 0.0
    size_radial_mm: float = 0.0
    size_around_mm: float = 0.0
    size_along_mm: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.positive("mass_kg", self.mass_kg, "leave out a part that weighs nothing")
        checks.number("radius_mm", self.radius_mm, least=0.0)
        for name in ("around_mm", "along_mm"):
            checks.number(name, getattr(self, name))
        for name in ("size_radial_mm", "size_around_mm", "size_along_mm"):
            checks.number(name, getattr(self, name), least=0.0, way_out="0 weighs it as a point")
        checks.done()
