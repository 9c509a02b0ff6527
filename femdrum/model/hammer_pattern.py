"""The pattern in which slots and hammers stand on a drum: rows along it, and the turn from row to row."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import MISSING
from .check import Checks

__all__ = ["CLOSE_DEG", "MOST_ROWS", "HammerPattern", "fold_deg"]

MOST_ROWS = 500
MOST_AROUND = 24
# gaps between neighbouring tips, seen along the axis, that differ by less are equal: drawings round angles
CLOSE_DEG = 0.05


def fold_deg(angle_deg: float, period_deg: float) -> float:
    """The angle brought into [0, period); what rounding leaves just below the period counts as 0."""
    folded = math.fmod(angle_deg, period_deg)
    folded += period_deg if folded < 0 else 0.0
    return 0.0 if folded > period_deg - 1e-9 * max(1.0, period_deg) else folded


@dataclass(frozen=True, kw_only=True)
class HammerPattern:
    """Rows along the drum, equal slots around each, and how far each row is turned.

    Row 0 is the one next to the drive end, its middle first_row_mm from the shell's drive-side face; the next ones follow
    at pitch_mm. In each row slots_around slots stand evenly spaced.
    row_angle_deg: turn from one row to the next in the sense of rotation. starts: spirals laid side by side; rows are dealt
    to them in turn, the spirals stand evenly within the spacing of the slots, and row_angle_deg is then the turn from one
    row to the next one of the same spiral. row_angles_deg: the turn of every row from one line along the drum (angle 0), instead.
    may_stay_open: true for a pattern that does not close on purpose. It closes where the tips, seen along the axis, are
    spread evenly: equal gaps, and equally many at each place.
    """

    rows_total: int
    slots_around: int
    pitch_mm: float
    first_row_mm: float
    row_angle_deg: float | None = None
    row_angles_deg: tuple[float, ...] | None = None
    starts: int = 1
    may_stay_open: bool = False

    def __post_init__(self) -> None:
        checks = Checks()
        good = checks.whole("rows_total", self.rows_total, 1, MOST_ROWS)
        good &= checks.whole("slots_around", self.slots_around, 1, MOST_AROUND)
        checks.positive("pitch_mm", self.pitch_mm)
        checks.positive("first_row_mm", self.first_row_mm, "from the shell's drive-side face to the first row's middle")
        good &= checks.truth("may_stay_open", self.may_stay_open)
        if self.row_angles_deg is not None:
            object.__setattr__(self, "row_angles_deg", tuple(self.row_angles_deg))
            good &= self._check_list(checks, good)
        else:
            value: object = MISSING if self.row_angle_deg is None else self.row_angle_deg
            good &= checks.number(
                "row_angle_deg", value, least=-360.0, most=360.0,
                way_out="turn from row to row, 0 for aligned rows; it halves or doubles the peak, so it has no default",
            )  # fmt: skip
            good &= checks.whole("starts", self.starts, 1, MOST_ROWS)
        if good and not self.may_stay_open and not self.closes:
            self._tell_open(checks)
        checks.done()

    def _check_list(self, checks: Checks, good: bool) -> bool:
        assert self.row_angles_deg is not None
        for name, value, plain in (("row_angle_deg", self.row_angle_deg, None), ("starts", self.starts, 1)):
            if value != plain:
                checks.add(name, value, "stands beside row_angles_deg, which says it all", "give one of the two")
                good = False
        if good and len(self.row_angles_deg) != self.rows_total:
            checks.add(
                "row_angles_deg", list(self.row_angles_deg),
                f"must hold {self.rows_total} angles, one for each row; it holds {len(self.row_angles_deg)}",
            )  # fmt: skip
            good = False
        for i, angle in enumerate(self.row_angles_deg):
            good &= checks.number(f"row_angles_deg[{i}]", angle, least=-36_000.0, most=36_000.0)
        return good

    def _tell_open(self, checks: Checks) -> None:
        steps = sorted({round(g, 3) for g in self.gaps_deg()})
        seen = f"gaps of {steps[0]:g} to {steps[-1]:g} degrees" if len(steps) > 1 else "not equally many at each place"
        allowed = f"the pattern does not close: {self.rows_total} rows leave the tips uneven around the drum ({seen})"
        if self.row_angles_deg is not None:
            checks.add("row_angles_deg", list(self.row_angles_deg), allowed, "or may_stay_open = true")
            return
        near = [a for a in self.closing_angles_deg() if fold_deg(a, self.spacing_deg) > 1e-9][:2]
        words = " or ".join(f"{angle:.6g}" for angle in near)
        way = (
            f"row_angle_deg = {words} closes"
            if near
            else "no turn closes it: change rows_total, starts or slots_around"
        )
        checks.add("row_angle_deg", self.row_angle_deg, allowed, f"{way}; or may_stay_open = true, if it is meant so")

    @property
    def spacing_deg(self) -> float:
        """Angle from one slot to the next in a row."""
        return 360.0 / self.slots_around

    def angle_deg(self, row: int) -> float:
        """Where the first slot of a row stands, from the first slot of row 0, in the sense of rotation; not folded."""
        if self.row_angles_deg is not None:
            return float(self.row_angles_deg[row])
        spiral, place = row % self.starts, row // self.starts
        return spiral * self.spacing_deg / self.starts + place * float(self.row_angle_deg or 0.0)

    def along_mm(self, row: int) -> float:
        """Middle of a row, from the shell's drive-side face."""
        return self.first_row_mm + row * self.pitch_mm

    def stations_deg(self) -> tuple[tuple[float, int], ...]:
        """Where tips stand within one spacing, seen along the axis: angle and how many rows have one there."""
        places = sorted(fold_deg(self.angle_deg(row), self.spacing_deg) for row in range(self.rows_total))
        found: list[list[float]] = []
        for place in places:
            if found and place - found[-1][0] <= CLOSE_DEG:
                found[-1].append(place)
            else:
                found.append([place])
        if len(found) > 1 and found[0][0] + self.spacing_deg - found[-1][0] <= CLOSE_DEG:
            found[0] += found.pop()
        return tuple((group[0], len(group)) for group in found)

    def gaps_deg(self) -> tuple[float, ...]:
        """Gaps between neighbouring stations, once round one spacing."""
        places = [place for place, _ in self.stations_deg()]
        return tuple(b - a for a, b in zip(places, [*places[1:], places[0] + self.spacing_deg], strict=True))

    @property
    def closes(self) -> bool:
        """Tips are spread evenly around the drum: equal gaps, equally many at each place."""
        gaps, counts = self.gaps_deg(), {count for _, count in self.stations_deg()}
        return max(gaps) - min(gaps) <= 2 * CLOSE_DEG and len(counts) == 1

    def closing_angles_deg(self) -> tuple[float, ...]:
        """Turns from row to row with which this many rows close, the nearest to the given one first."""
        if self.row_angle_deg is None or self.rows_total % self.starts:
            return ()
        step = self.spacing_deg / self.rows_total
        middle = round(self.row_angle_deg / step)
        around = range(middle - self.rows_total, middle + self.rows_total + 1)
        tried = sorted((m * step for m in around), key=lambda angle: abs(angle - float(self.row_angle_deg or 0.0)))
        out: list[float] = []
        for angle in tried:
            like = HammerPattern(
                rows_total=self.rows_total, slots_around=self.slots_around, pitch_mm=self.pitch_mm,
                first_row_mm=self.first_row_mm, row_angle_deg=fold_deg(angle, 360.0), starts=self.starts,
                may_stay_open=True,
            )  # fmt: skip
            if like.closes:
                out.append(angle)
            if len(out) == 4:
                break
        return tuple(out)

    @property
    def turn_deg(self) -> float | None:
        """The turn from each row to the next where it is the same all along, within half a spacing; None elsewhere."""
        if self.rows_total == 1:
            return 0.0
        period = self.spacing_deg
        turns = [fold_deg(self.angle_deg(k + 1) - self.angle_deg(k), period) for k in range(self.rows_total - 1)]
        turns = [t - period if t > 0.5 * period + 1e-9 else t for t in turns]
        return turns[0] if max(turns) - min(turns) <= 1e-6 else None
