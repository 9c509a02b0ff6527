"""The whole drum: shell, end discs, stub shafts, hammer pattern, hammers and what holds them, masses, bearings, drive.

Places along the axis are counted from the drive bearing's middle towards the free end (z_mm), or on the shell from its
drive-side face (along_mm). Angles are counted from the first slot of row 0 in the sense of rotation. Slots are numbered
from 0: row by row from the drive end, within a row in the sense of rotation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import ClassVar

from ..errors import MISSING, Fault, InputFault
from .balance_input import MassPositions
from .check import Checks
from .cutout import CUTOUTS, Cutout
from .drum_fit import check_fit
from .drum_shaft import Drive, RotorBearing, RotorMass, StubShaft
from .hammer import Hammer, SlotPart
from .hammer_pattern import HammerPattern, fold_deg
from .ring import Ring

__all__ = ["Drum", "DrumSlot", "slots"]

# slots nearer to each other than this many widths feel each other; common practice, no source
NEAR_WIDTHS = 3.0


@dataclass(frozen=True)
class DrumSlot:
    """A slot of the drum.

    number, row and around (place within the row), all from 0. z_mm from the drive bearing's middle, along_mm from the
    shell's drive-side face, angle_deg in [0, 360), x_mm on the unrolled drum: mid-wall radius times the angle.
    opposite: number of the slot across the drum, None where there is none.
    """

    number: int
    row: int
    around: int
    z_mm: float
    along_mm: float
    angle_deg: float
    x_mm: float
    opposite: int | None


@dataclass(frozen=True, kw_only=True)
class Drum:
    """The whole drum; see the module for places, angles and numbers.

    Shell: outer_diameter_mm, wall_mm, shell_length_mm, and the cutout of its slots with its edge_break_mm. Pattern: fields
    of HammerPattern. hammer: None for an empty drum; slot_parts: of which one sits in every slot (wedge, bolt).
    drive_end and free_end: disc and stub; free_end left out: as the drive end, without its shaft beyond the bearing.
    free_bearing left out: as the drive bearing. masses: what else turns with it, balance masses that are on it too;
    mass_positions: where balance masses can be bolted on, a plane each.
    Raises InputFault with everything that does not fit: slots that overlap or run into a disc, hammers that do not go
    through, tips or bars that collide, a pattern that does not close, masses beside the drum.
    """

    kind: ClassVar[str] = "drum"
    outer_diameter_mm: float
    wall_mm: float
    shell_length_mm: float
    cutout: Cutout
    rows_total: int
    slots_around: int
    pitch_mm: float
    first_row_mm: float
    drive_end: StubShaft
    free_end: StubShaft | None = None
    row_angle_deg: float | None = None
    row_angles_deg: tuple[float, ...] | None = None
    starts: int = 1
    may_stay_open: bool = False
    edge_break_mm: float = 0.0
    hammer: Hammer | None = None
    slot_parts: tuple[SlotPart, ...] = ()
    drive_bearing: RotorBearing | None = None
    free_bearing: RotorBearing | None = None
    drive: Drive | None = None
    masses: tuple[RotorMass, ...] = ()
    mass_positions: tuple[MassPositions, ...] = ()

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
        good &= checks.positive("shell_length_mm", self.shell_length_mm)
        good &= checks.number("edge_break_mm", self.edge_break_mm, least=0.0)
        if not isinstance(self.cutout, tuple(CUTOUTS.values())):
            checks.add("cutout", self.cutout, "must be a Slot, Obround, Circle or Ellipse")
            good = False
        if isinstance(self.row_angles_deg, list):
            object.__setattr__(self, "row_angles_deg", tuple(self.row_angles_deg))
        good &= self._check_objects(checks)
        pattern = self._check_pattern(checks)
        if good and pattern is not None:
            check_fit(self, pattern, checks)
        checks.done()

    def _check_objects(self, checks: Checks) -> bool:
        good = True
        for name, wanted, needed in (
            ("drive_end", StubShaft, True), ("free_end", StubShaft, False), ("hammer", Hammer, False),
            ("drive_bearing", RotorBearing, False), ("free_bearing", RotorBearing, False), ("drive", Drive, False),
        ):  # fmt: skip
            value = getattr(self, name)
            if value is None and not needed:
                continue
            if not isinstance(value, wanted):
                checks.add(name, MISSING if value is None else value, f"must be a {wanted.__name__}")
                good = False
        lists: dict[str, type] = {"slot_parts": SlotPart, "masses": RotorMass, "mass_positions": MassPositions}
        for name, member in lists.items():
            values = tuple(getattr(self, name))
            object.__setattr__(self, name, values)
            if not all(isinstance(value, member) for value in values):
                checks.add(name, values, f"must be a list of {member.__name__} objects")
                good = False
                continue
            names = [] if member is MassPositions else [value.name for value in values]
            for twice in sorted({n for n in names if names.count(n) > 1}):
                checks.add(name, twice, "is the name of more than one")
                good = False
        return good

    def _check_pattern(self, checks: Checks) -> HammerPattern | None:
        try:
            return self.pattern
        except InputFault as error:
            checks.faults += error.faults
        # what else does not fit is told too, as far as the rows are known
        if all(fault.field in ("row_angle_deg", "row_angles_deg") for fault in checks.faults):
            try:
                return self._pattern(may_stay_open=True)
            except InputFault:
                return None
        return None

    def _pattern(self, may_stay_open: bool) -> HammerPattern:
        return HammerPattern(
            rows_total=self.rows_total, slots_around=self.slots_around, pitch_mm=self.pitch_mm,
            first_row_mm=self.first_row_mm, row_angle_deg=self.row_angle_deg, row_angles_deg=self.row_angles_deg,
            starts=self.starts, may_stay_open=may_stay_open,
        )  # fmt: skip

    @property
    def pattern(self) -> HammerPattern:
        """Rows, turns and starts."""
        return self._pattern(self.may_stay_open)

    @property
    def outer_radius_mm(self) -> float:
        """Outer radius of the shell."""
        return 0.5 * self.outer_diameter_mm

    @property
    def inner_radius_mm(self) -> float:
        """Radius of the shell's bore."""
        return self.outer_radius_mm - self.wall_mm

    @property
    def mid_radius_mm(self) -> float:
        """Mid-wall radius."""
        return self.outer_radius_mm - 0.5 * self.wall_mm

    @property
    def other_end(self) -> StubShaft:
        """Disc and stub at the free end."""
        if self.free_end is not None:
            return self.free_end
        return replace(self.drive_end, beyond_mm=0.0)

    @property
    def other_bearing(self) -> RotorBearing | None:
        """The bearing at the free end."""
        return self.drive_bearing if self.free_bearing is None else self.free_bearing

    @property
    def shell_z_mm(self) -> float:
        """Where the shell's drive-side face stands, from the drive bearing's middle."""
        return self.drive_end.stub_length_mm - self.drive_end.recess_mm

    @property
    def bearing_span_mm(self) -> float:
        """Distance of the bearings' middles."""
        end = self.other_end
        return self.shell_z_mm + self.shell_length_mm + end.stub_length_mm - end.recess_mm

    @property
    def disc_faces_mm(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Outer and inner face of the drive-side and of the free-side disc, z_mm."""
        near, far = self.drive_end, self.other_end
        first = self.shell_z_mm + near.recess_mm
        last = self.shell_z_mm + self.shell_length_mm - far.recess_mm
        return (first, first + near.disc_thickness_mm), (last, last - far.disc_thickness_mm)

    @property
    def slots_total(self) -> int:
        """Slots on the whole drum."""
        return self.rows_total * self.slots_around

    @property
    def tips_total(self) -> int:
        """Tips on the whole drum: one above every slot, none on an empty drum."""
        return self.slots_total if self.hammer is not None else 0

    @property
    def tip_diameter_mm(self) -> float | None:
        """Circle of the tips as they are worn; None without hammers."""
        return None if self.hammer is None else 2 * self.hammer.outer_radius_mm

    def row_z_mm(self, row: int) -> float:
        """Middle of a row, from the drive bearing's middle."""
        return self.shell_z_mm + self.first_row_mm + row * self.pitch_mm

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know of this drum though it can be built."""
        out = []
        width, length = 2 * self.cutout.half_x_mm, 2 * self.cutout.half_y_mm
        if self.pitch_mm < NEAR_WIDTHS * length / 2:
            out.append(
                f"Rows stand {self.pitch_mm:g} mm apart, slots are {length:g} mm long: less than one and a half lengths from "
                "middle to middle, so neighbouring slots feel each other."
            )
        around = 2 * math.pi * self.mid_radius_mm / self.slots_around
        if around < NEAR_WIDTHS * width:
            out.append(
                f"Slots of a row stand {around:.0f} mm apart around the drum, below {NEAR_WIDTHS:g} widths: they feel each other."
            )
        if not self.pattern.closes:
            out.append(
                "The pattern does not close: the tips are not spread evenly around the drum (said to be meant so)."
            )
        return tuple(out)

    def ring(self, *, block_rows: int = 1, held: str = "nothing") -> Ring:
        """One pitch of this drum's shell, standing for a long drum of its row pattern.

        Raises InputFault where the turn from row to row is not the same all along: no ring stands for such a pattern.
        """
        turn = self.pattern.turn_deg
        if turn is None:
            raise InputFault(
                Fault(
                    "row_angles_deg" if self.row_angles_deg is not None else "starts",
                    list(self.row_angles_deg or ()) or self.starts,
                    "turns from row to row differ: no ring of equal rows stands for this drum",
                    "solve the rings of its turns one by one",
                )
            )
        half = 0.5 * self.pattern.spacing_deg
        rows = "aligned" if abs(turn) < 1e-6 else "alternate" if abs(abs(turn) - half) < 1e-6 else "helical"
        return Ring(
            outer_diameter_mm=self.outer_diameter_mm, wall_mm=self.wall_mm, pitch_mm=self.pitch_mm,
            slots_around=self.slots_around, rows=rows, cutout=self.cutout, edge_break_mm=self.edge_break_mm,
            row_angle_deg=turn if rows == "helical" else None, block_rows=block_rows, held=held,
        )  # fmt: skip


def slots(drum: Drum) -> tuple[DrumSlot, ...]:
    """All slots of a drum by number, with their places; see DrumSlot."""
    pattern, around = drum.pattern, drum.slots_around
    out = []
    for row in range(drum.rows_total):
        for k in range(around):
            angle = fold_deg(pattern.angle_deg(row) + k * pattern.spacing_deg, 360.0)
            opposite = row * around + (k + around // 2) % around if around % 2 == 0 else None
            along = pattern.along_mm(row)
            number, x = row * around + k, drum.mid_radius_mm * math.radians(angle)
            out.append(DrumSlot(number, row, k, drum.shell_z_mm + along, along, angle, x, opposite))
    return tuple(out)
