"""The ring: one pitch of a drum shell with its slots, standing for a long drum of equal rows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from ..errors import MISSING
from .check import Checks
from .cutout import CUTOUTS, Cutout

__all__ = ["HELD", "ROWS", "Ring"]

ROWS = ("aligned", "alternate", "helical")
# what of a row's growth along the drum is held at zero instead of free of a resultant, by macro motion
HELD = {"nothing": (), "extension": ("axial",), "all": ("axial", "bending_x", "bending_y", "torsion")}


@dataclass(frozen=True, kw_only=True)
class Ring:
    """One pitch of drum shell.

    rows: "aligned" (all rows alike), "alternate" (each row turned by half the spacing) or "helical" (each turned by
    row_angle_deg in the sense of rotation, going along +y). No default: the pattern halves or doubles the peak under
    rotation. block_rows: rows of a block in which a load on single slots strikes one row only; 1: it strikes every row
    (every second one where rows alternate). held: "nothing" (the row may stretch, bend and twist as its loads want),
    "extension" (it keeps its length, as between stiff ends) or "all".
    The cutout's flanks are flat, parallel to the radius through the slot's middle; `around_mm` is the
    distance between them, not an arc. edge_break_mm: chamfer at both rims of the slot, 45 degrees.
    """

    kind: ClassVar[str] = "ring"
    outer_diameter_mm: float
    wall_mm: float
    pitch_mm: float
    slots_around: int
    rows: str
    cutout: Cutout
    edge_break_mm: float = 0.0
    row_angle_deg: float | None = None
    block_rows: int = 1
    held: str = "nothing"

    def __post_init__(self) -> None:
        checks = Checks()
        good = checks.positive("outer_diameter_mm", self.outer_diameter_mm)
        if good:
            good &= checks.number(
                "wall_mm", self.wall_mm, above=0.0, below=0.5 * self.outer_diameter_mm,
                way_out=f"the outer radius is {0.5 * self.outer_diameter_mm:g} mm",
            )  # fmt: skip
        else:
            checks.positive("wall_mm", self.wall_mm)
        good &= checks.positive("pitch_mm", self.pitch_mm)
        good &= checks.whole("slots_around", self.slots_around, 1, 24)
        checks.one_of("rows", self.rows, ROWS, "the row pattern halves or doubles the peak, so it has no default")
        self._check_rows(checks)
        break_good = checks.number("edge_break_mm", self.edge_break_mm, least=0.0)
        if not isinstance(self.cutout, tuple(CUTOUTS.values())):
            checks.add("cutout", self.cutout, "must be a Slot, Obround, Circle or Ellipse")
        elif good:
            self._check_slot(checks)
            if break_good:
                self._check_edge_break(checks)
        checks.done()

    def _check_rows(self, checks: Checks) -> None:
        if self.rows == "helical":
            value: object = MISSING if self.row_angle_deg is None else self.row_angle_deg
            checks.number(
                "row_angle_deg", value, least=-180.0, most=180.0, way_out="the angle from one row to the next"
            )
        elif self.row_angle_deg is not None:
            checks.add(
                "row_angle_deg",
                self.row_angle_deg,
                f"does not go with {self.rows} rows",
                "leave it out, or rows = 'helical'",
            )
        checks.one_of("held", self.held, HELD)
        if not checks.whole("block_rows", self.block_rows, 1, 15):
            return
        if self.block_rows in (2, 3, 4):
            checks.add(
                "block_rows",
                self.block_rows,
                "must be 1 or from 5 to 15",
                "fewer rows do not part the struck one from its image",
            )
        elif self.rows == "alternate" and self.block_rows > 1 and self.block_rows % 2:
            checks.add(
                "block_rows", self.block_rows, "must be even where rows alternate", "6 is the least that parts the rows"
            )
        elif self.rows == "helical" and self.block_rows > 1:
            checks.add(
                "block_rows",
                self.block_rows,
                "must be 1 where rows are helical",
                "blocks are for aligned and alternate rows",
            )

    def _check_slot(self, checks: Checks) -> None:
        a, b = self.cutout.half_x_mm, self.cutout.half_y_mm
        if 2 * b >= self.pitch_mm:
            checks.add(
                "pitch_mm", self.pitch_mm, f"must be above the slot's size along the axis, {2 * b:g} mm",
                "rows would overlap along the drum: shorten the slot or enlarge the pitch",
            )  # fmt: skip
        if a >= self.inner_radius_mm:
            checks.add(
                "cutout.around_mm", 2 * a, f"flanks miss the bore: must be below the bore's diameter, {2 * self.inner_radius_mm:g} mm",
                "make the slot narrower or the wall thinner",
            )  # fmt: skip
        elif math.asin(a / self.inner_radius_mm) >= math.pi / self.slots_around:
            room = 2 * self.inner_radius_mm * math.sin(math.pi / self.slots_around)
            checks.add(
                "cutout.around_mm", 2 * a, f"slots overlap around the drum: must be below {room:.4g} mm at the bore",
                "make the slot narrower or use fewer slots_around",
            )  # fmt: skip

    def _check_edge_break(self, checks: Checks) -> None:
        c = self.edge_break_mm
        if c == 0.0:
            return
        gap_y = 0.5 * self.pitch_mm - self.cutout.half_y_mm
        gap_x = self.inner_radius_mm * math.pi / self.slots_around - self.cutout.half_x_mm
        most = 0.5 * min(0.5 * self.wall_mm, gap_y, gap_x)
        if c > most:
            checks.add(
                "edge_break_mm", c, f"must be at most {most:.4g} mm",
                "a quarter of the wall, or half of the distance to the cell's edge, whichever is less",
            )  # fmt: skip
        if self.cutout.sharp:
            checks.add("edge_break_mm", c, "must be 0 on a slot with sharp corners", "give the slot a corner radius")

    @property
    def outer_radius_mm(self) -> float:
        """Outer radius."""
        return 0.5 * self.outer_diameter_mm

    @property
    def inner_radius_mm(self) -> float:
        """Radius of the bore."""
        return self.outer_radius_mm - self.wall_mm

    @property
    def mid_radius_mm(self) -> float:
        """Mid-wall radius."""
        return self.outer_radius_mm - 0.5 * self.wall_mm

    @property
    def net_fraction_axial(self) -> float:
        """Net over gross section for axial force, bending and torsion: 1 - N b / (2 pi R_mid)."""
        return 1 - self.slots_around * 2 * self.cutout.half_x_mm / (2 * math.pi * self.mid_radius_mm)

    @property
    def net_fraction_hoop(self) -> float | None:
        """Net over gross section for hoop load, 1 - axial length / pitch; defined for aligned rows only."""
        if self.rows != "aligned":
            return None
        return 1 - 2 * self.cutout.half_y_mm / self.pitch_mm
