"""Every slot of a drum with its number, for people who stand before it: row, angle, place along, and from where these are counted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import MISSING, Fault, InputFault
from ..model.drum import Drum, DrumSlot, slots
from ..model.hammer_pattern import HammerPattern, fold_deg
from ..model.ring import Ring

__all__ = [
    "CORNERS", "HandoverSlot", "Numbering", "by_row", "corner_number", "fits", "numbering", "numbering_without_drum", "ring_turn_deg",
]  # fmt: skip

# corners by their number: counter-clockwise seen from outside with the free end up and the sense of rotation to the right
CORNERS = ("leading/free-end", "trailing/free-end", "trailing/drive-end", "leading/drive-end")

# a drawing rounds sizes and angles: what differs by less is the same
SAME_MM, SAME_DEG = 1e-3, 0.01

SHELL_FACE = "the shell's drive-side face"
ROW_ONE = "the middle of row 1"


@dataclass(frozen=True)
class HandoverSlot:
    """One slot. slot, row and around (place within the row) count from 1, opposite too (None: nothing stands across).

    angle_deg: from the first slot of row 1 in the sense of rotation, 0 to 360. x_mm: the same on the unrolled shell at mid-wall.
    along_mm: to the slot's middle, from the datum of the numbering. z_mm: from the middle of the drive bearing, None where no
    drum is described.
    """

    slot: int
    row: int
    around: int
    angle_deg: float
    x_mm: float
    along_mm: float
    z_mm: float | None
    opposite: int | None


@dataclass(frozen=True)
class Numbering:
    """All slots in the order of their numbers, and what they are counted from.

    along_from: datum of along_mm. length_mm: of the shell, None where no drum is described. discs_mm: where the end discs stand
    inside, from the same datum. notes: how to count, for people.
    """

    slots: tuple[HandoverSlot, ...]
    rows_total: int
    slots_around: int
    along_from: str
    length_mm: float | None
    discs_mm: tuple[tuple[float, float], ...]
    around_mm: float
    notes: tuple[str, ...]

    @property
    def corners_total(self) -> int:
        """Corner arcs of the whole drum, four a slot."""
        return 4 * len(self.slots)


def corner_number(place: str) -> int | None:
    """1 to 4 of a place such as `corner trailing/drive-end, wall`; None for a flank."""
    for number, name in enumerate(CORNERS, 1):
        if name in place:
            return number
    return None


def _notes(along_from: str) -> tuple[str, ...]:
    return (
        "Slots count from 1, row by row from the drive end, and within a row from its first slot on in the sense of rotation.",
        f"Angles count in the sense of rotation from the first slot of row 1, lengths along the drum from {along_from}.",
        "The unrolled shell has the drive end below and the sense of rotation to the right. That is the view from outside where the drum "
        "turns clockwise, seen from the drive end. Where it turns the other way the view from outside is the mirror image: drive end, "
        "free end and sense of rotation count, never left and right.",
        "Corners of a slot: 1 leading/free-end, 2 trailing/free-end, 3 trailing/drive-end, 4 leading/drive-end. Leading is the side that "
        "goes ahead in the sense of rotation.",
        "Mark slot 1 and an arrow of rotation on the shell's drive-side face, away from slots and welds, before anything else is counted.",
    )


def numbering(drum: Drum) -> Numbering:
    """The numbering of a whole drum, the same as in the map and in `femdrum rotor`."""
    found = slots(drum)
    out = [_slot(s, s.along_mm, s.z_mm) for s in found]
    discs = tuple((min(a, b) - drum.shell_z_mm, max(a, b) - drum.shell_z_mm) for a, b in drum.disc_faces_mm)
    return Numbering(
        tuple(out), drum.rows_total, drum.slots_around, SHELL_FACE, drum.shell_length_mm, discs,
        2 * math.pi * drum.mid_radius_mm, _notes(SHELL_FACE),
    )  # fmt: skip


def _slot(s: DrumSlot, along_mm: float, z_mm: float | None) -> HandoverSlot:
    opposite = None if s.opposite is None else s.opposite + 1
    return HandoverSlot(s.number + 1, s.row + 1, s.around + 1, s.angle_deg, s.x_mm, along_mm, z_mm, opposite)


def ring_turn_deg(ring: Ring) -> float:
    """Turn from row to row that the ring's pattern means."""
    if ring.rows == "helical":
        return float(ring.row_angle_deg or 0.0)
    return 0.0 if ring.rows == "aligned" else 180.0 / ring.slots_around


def numbering_without_drum(ring: Ring, rows_total: int) -> Numbering:
    """The numbering of so many rows of the ring's pattern; lengths along the drum count from the middle of row 1."""
    pattern = HammerPattern(
        rows_total=rows_total, slots_around=ring.slots_around, pitch_mm=ring.pitch_mm, first_row_mm=ring.pitch_mm,
        row_angle_deg=ring_turn_deg(ring), may_stay_open=True,
    )  # fmt: skip
    around, out = ring.slots_around, []
    for row in range(rows_total):
        for k in range(around):
            angle = fold_deg(pattern.angle_deg(row) + k * pattern.spacing_deg, 360.0)
            opposite = row * around + (k + around // 2) % around + 1 if around % 2 == 0 else None
            x = ring.mid_radius_mm * math.radians(angle)
            out.append(
                HandoverSlot(row * around + k + 1, row + 1, k + 1, angle, x, row * ring.pitch_mm, None, opposite)
            )
    return Numbering(
        tuple(out), rows_total, around, ROW_ONE, None, (), 2 * math.pi * ring.mid_radius_mm, _notes(ROW_ONE)
    )


def fits(drum: Drum, ring: Ring) -> None:
    """Raise InputFault with all in which a drum's file differs from the ring that was solved."""
    faults: list[Fault] = []

    def same(name: str, ours: float, theirs: float, slack: float) -> None:
        if abs(ours - theirs) > slack:
            faults.append(Fault(f"drum.{name}", ours, f"differs from the ring that was solved, {theirs:g}",
                                "give the drum of these results, or solve the study of that drum"))  # fmt: skip

    for name in ("outer_diameter_mm", "wall_mm", "edge_break_mm"):
        same(name, getattr(drum, name), getattr(ring, name), SAME_MM)
    if drum.rows_total > 1:
        same("pitch_mm", drum.pitch_mm, ring.pitch_mm, SAME_MM)
    same("slots_around", drum.slots_around, ring.slots_around, 0.5)
    if type(drum.cutout) is not type(ring.cutout):
        faults.append(
            Fault("drum.cutout", drum.cutout.shape, f"differs from the ring that was solved, {ring.cutout.shape}")
        )
    else:
        same("cutout.around_mm", 2 * drum.cutout.half_x_mm, 2 * ring.cutout.half_x_mm, SAME_MM)
        same("cutout.axial_mm", 2 * drum.cutout.half_y_mm, 2 * ring.cutout.half_y_mm, SAME_MM)
        same("cutout.corner_radius_mm", drum.cutout.least_radius_mm, ring.cutout.least_radius_mm, SAME_MM)
    if not faults and drum.rows_total > 1:
        _same_turn(drum, ring, faults)
    if faults:
        raise InputFault(faults)


def _same_turn(drum: Drum, ring: Ring, faults: list[Fault]) -> None:
    period, want = drum.pattern.spacing_deg, ring_turn_deg(ring)
    turn = drum.pattern.turn_deg
    away = None if turn is None else fold_deg(turn - want, period)
    if away is None or min(away, period - away) > SAME_DEG:
        faults.append(
            Fault("drum.row_angle_deg", MISSING if turn is None else turn,
                  f"the rows do not stand as in the ring that was solved, {ring.rows}: {want:g} degrees from row to row")
        )  # fmt: skip


def by_row(slots_: Sequence[HandoverSlot]) -> dict[int, tuple[int, ...]]:
    """Numbers of the slots of each row."""
    out: dict[int, list[int]] = {}
    for s in slots_:
        out.setdefault(s.row, []).append(s.slot)
    return {row: tuple(numbers) for row, numbers in out.items()}
