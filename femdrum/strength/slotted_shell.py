"""A shell with rows of slots, as plain numbers: what is left of its sections around and along the drum.

Angles around the axis from the first slot of the first row. A slot's width subtends the same angle at every radius
here; flanks that stay parallel differ by the ratio of wall to radius.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.check import Checks
from ..model.ring import ROWS

__all__ = ["SlottedShell"]

Array = NDArray[np.float64]

CELLS = 1440
MOST_ROWS = 24  # of a helical pattern that does not repeat before


@dataclass(frozen=True, kw_only=True)
class SlottedShell:
    """Shell of outer_radius_mm and wall_mm; every pitch_mm along it a row of slots_around slots.

    slot_around_mm, slot_axial_mm: a slot's width around the drum and length along it; slot_corner_radius_mm: None where
    not known, then the slot counts as square for what is safe and as a cut at its middle for what is not.
    rows: "aligned", "alternate" or "helical" (row_angle_deg from one row to the next). slots_around = 0: plain shell.
    """

    outer_radius_mm: float
    wall_mm: float
    pitch_mm: float
    slots_around: int = 0
    slot_around_mm: float = 0.0
    slot_axial_mm: float = 0.0
    rows: str = "aligned"
    row_angle_deg: float | None = None
    slot_corner_radius_mm: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        good = checks.positive("outer_radius_mm", self.outer_radius_mm)
        good = good and checks.number(
            "wall_mm", self.wall_mm, above=0.0, below=self.outer_radius_mm, way_out="less than the outer radius"
        )
        good &= checks.positive("pitch_mm", self.pitch_mm)
        good &= checks.whole("slots_around", self.slots_around, 0, 24)
        checks.one_of("rows", self.rows, ROWS)
        if (self.rows == "helical") != (self.row_angle_deg is not None):
            checks.add("row_angle_deg", self.row_angle_deg, "goes with rows = 'helical', and only with it")
        elif self.row_angle_deg is not None:
            checks.number("row_angle_deg", self.row_angle_deg, least=-180.0, most=180.0)
        if good and self.slots_around:
            self._check_slots(checks)
        elif good and (self.slot_around_mm or self.slot_axial_mm):
            checks.add("slots_around", 0, "is 0 though the slots have a size", "give the slots a row holds")
        checks.done()

    def _check_slots(self, checks: Checks) -> None:
        room = 2 * math.pi * self.mid_radius_mm / self.slots_around
        around = checks.number(
            "slot_around_mm", self.slot_around_mm, above=0.0, below=min(room, 2 * self.mid_radius_mm),
            way_out=f"slots overlap around the drum: a slot has {room:.4g} mm of circumference",
        )  # fmt: skip
        along = checks.number(
            "slot_axial_mm", self.slot_axial_mm, above=0.0, below=self.pitch_mm,
            way_out="rows would overlap along the drum: less than the pitch",
        )  # fmt: skip
        if around and along and self.slot_corner_radius_mm is not None:
            most = 0.5 * min(self.slot_around_mm, self.slot_axial_mm)
            checks.number("slot_corner_radius_mm", self.slot_corner_radius_mm, least=0.0, most=most)
        if around and self.slot_angle_rad * self.slots_around >= 2 * math.pi:
            checks.add("slot_around_mm", self.slot_around_mm, "leaves no wall between the slots")

    @property
    def inner_radius_mm(self) -> float:
        """Radius of the bore."""
        return self.outer_radius_mm - self.wall_mm

    @property
    def mid_radius_mm(self) -> float:
        """Mid-wall radius."""
        return self.outer_radius_mm - 0.5 * self.wall_mm

    @property
    def slot_angle_rad(self) -> float:
        """Angle that a slot's width subtends at mid-wall."""
        return 2 * math.asin(min(1.0, 0.5 * self.slot_around_mm / self.mid_radius_mm))

    @property
    def fraction_around(self) -> float:
        """Net over gross section for axial force, bending and torsion: 1 - N b / (2 pi R_mid)."""
        return 1 - self.slots_around * self.slot_around_mm / (2 * math.pi * self.mid_radius_mm)

    @property
    def fraction_along(self) -> float:
        """Net over gross section for hoop force, each row for itself: 1 - axial slot length / pitch."""
        return 1 - (self.slot_axial_mm / self.pitch_mm if self.slots_around else 0.0)

    @property
    def gross_area_mm2(self) -> float:
        """Cross-section of the plain tube."""
        return math.pi * (self.outer_radius_mm**2 - self.inner_radius_mm**2)

    @property
    def gross_inertia_mm4(self) -> float:
        """Second moment of area of the plain tube; the polar one is twice this."""
        return 0.25 * math.pi * (self.outer_radius_mm**4 - self.inner_radius_mm**4)

    def row_angles_rad(self, *, slots_alike: bool = True) -> tuple[float, ...]:
        """By how much each row of a repeating block is turned; slots_alike: whether the slots of a row are equal."""
        if not self.slots_around or self.rows == "aligned":
            return (0.0,)
        spacing = 2 * math.pi / self.slots_around
        if self.rows == "alternate":
            return (0.0, 0.5 * spacing)
        assert self.row_angle_deg is not None
        step, whole = math.radians(self.row_angle_deg), spacing if slots_alike else 2 * math.pi
        for count in range(1, MOST_ROWS):
            turns = count * step / whole
            if abs(turns - round(turns)) < 1e-9:
                break
        else:
            count = MOST_ROWS
        return tuple(i * step for i in range(count))

    def slot_centres_rad(self, turned_rad: float = 0.0) -> Array:
        """Angles of the slots' middles of a row turned by an angle, in 0 to 2 pi."""
        at = turned_rad + 2 * math.pi * np.arange(self.slots_around) / max(self.slots_around, 1)
        return np.mod(at, 2 * math.pi)

    def slot_length_mm(self, off_middle_rad: Array) -> Array:
        """Axial length of a slot at an angle from its middle, mm; 0 beside it. Square where the radius is not known."""
        x = self.mid_radius_mm * np.abs(np.sin(off_middle_rad))
        inside = (np.abs(off_middle_rad) < 0.5 * self.slot_angle_rad) & (self.slots_around > 0)
        r = self.slot_corner_radius_mm or 0.0
        into = np.clip(x - (0.5 * self.slot_around_mm - r), 0.0, r)
        return np.where(inside, self.slot_axial_mm - 2 * (r - np.sqrt(np.maximum(r * r - into * into, 0.0))), 0.0)

    def row_length_mm(self, angle_rad: Array, turned_rad: float = 0.0, *, middles_only: bool = False) -> Array:
        """Axial length that the slots of one row take at each angle, mm; middles_only: within a hair of their middles."""
        angle = np.asarray(angle_rad, dtype=float)
        taken = np.zeros(angle.shape)
        for centre in self.slot_centres_rad(turned_rad):
            off = np.mod(angle - centre + math.pi, 2 * math.pi) - math.pi
            length = self.slot_length_mm(off)
            taken = np.maximum(taken, np.where(np.abs(off) < 1e-6, length, 0.0) if middles_only else length)
        return taken

    def open_cells(self, *, all_rows: bool) -> Array:
        """Share of each of CELLS equal cells around the drum that no slot cuts, of one row or of all rows together."""
        edges = 2 * math.pi * np.arange(CELLS + 1) / CELLS
        turned = self.row_angles_rad() if all_rows else (0.0,)
        left: list[tuple[float, float]] = []
        half = 0.5 * self.slot_angle_rad
        for row in turned:
            for centre in self.slot_centres_rad(row):
                low, high = centre - half, centre + half
                left += [(low + 2 * math.pi * k, high + 2 * math.pi * k) for k in (-1, 0, 1)]
        cut = np.zeros(CELLS)
        last = -math.inf
        for low, high in sorted(left):
            low = max(low, last)
            if high > low:
                cut += np.maximum(np.minimum(edges[1:], high) - np.maximum(edges[:-1], low), 0.0)
                last = high
        return np.asarray(np.clip(1 - cut * CELLS / (2 * math.pi), 0.0, 1.0))
