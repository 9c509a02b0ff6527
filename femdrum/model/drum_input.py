"""The rest of the drum around a ring of a study: what [drum] says besides [part]."""

from __future__ import annotations

from dataclasses import dataclass

from .check import Checks
from .drum import Drum
from .drum_shaft import Drive, RotorBearing, RotorMass, StubShaft
from .hammer import Hammer, SlotPart
from .ring import Ring

__all__ = ["DrumInput"]


@dataclass(frozen=True, kw_only=True)
class DrumInput:
    """Length, rows, ends, hammers, drive; shell, slots and their pattern are those of the ring. Fields as in Drum.

    first_row_mm: middle of the first row from the shell's drive-side face.
    """

    shell_length_mm: float
    rows_total: int
    first_row_mm: float
    drive_end: StubShaft
    free_end: StubShaft | None = None
    may_stay_open: bool = False
    hammer: Hammer | None = None
    slot_parts: tuple[SlotPart, ...] = ()
    drive_bearing: RotorBearing | None = None
    free_bearing: RotorBearing | None = None
    drive: Drive | None = None
    masses: tuple[RotorMass, ...] = ()

    def __post_init__(self) -> None:
        checks = Checks()
        checks.positive("shell_length_mm", self.shell_length_mm)
        checks.whole("rows_total", self.rows_total, 1, 10_000, "rows of slots on the whole drum")
        checks.positive("first_row_mm", self.first_row_mm, "middle of the first row from the shell's drive-side face")
        checks.truth("may_stay_open", self.may_stay_open)
        checks.done()

    def around(self, ring: Ring) -> Drum:
        """The whole drum with this ring's shell, slots and pattern. Raises InputFault with all that does not fit."""
        turn = {"aligned": 0.0, "alternate": 180.0 / ring.slots_around}.get(ring.rows, ring.row_angle_deg)
        return Drum(
            outer_diameter_mm=ring.outer_diameter_mm,
            wall_mm=ring.wall_mm,
            shell_length_mm=self.shell_length_mm,
            cutout=ring.cutout,
            rows_total=self.rows_total,
            slots_around=ring.slots_around,
            pitch_mm=ring.pitch_mm,
            first_row_mm=self.first_row_mm,
            drive_end=self.drive_end,
            free_end=self.free_end,
            row_angle_deg=turn,
            may_stay_open=self.may_stay_open,
            edge_break_mm=ring.edge_break_mm,
            hammer=self.hammer,
            slot_parts=self.slot_parts,
            drive_bearing=self.drive_bearing,
            free_bearing=self.free_bearing,
            drive=self.drive,
            masses=self.masses,
        )
