"""Courses for the charts of retention: clamp over what the bolt is set by, and a seat's pressure over its angular error."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import OutsideRange
from ..model.clamp import Clamp, Seat
from ..rotor.clamp_window import clamp_window, drive_over_normal
from ..rotor.preload import embedding_of
from ..rotor.retention import FACE_SHARE, RetentionProof
from ..rotor.seat import seat_pressure

__all__ = ["SeatCourse", "WindowCourse", "seat_course", "window_course"]

STEPS = 41


@dataclass(frozen=True)
class WindowCourse:
    """Assembled clamp of a slot, N, least and most, over what sets the bolt.

    by: "torque" (settings in N m), "pull" or "yield" (settings: preload of one bolt, N; where the bolt is set by yield the two lines are
    the clamp of that preload at the high and the low friction of the wedge). set_at: as tightened, its least and most end (equal
    but for "yield"). window: least and most setting, None where there is none to give. face_limit_N: clamp up to which the faces bear, less what the
    conditions press on top; None if not asked.
    """

    by: str
    settings: tuple[float, ...]
    least_N: tuple[float, ...]
    most_N: tuple[float, ...]
    set_at: tuple[float, float]
    window: tuple[float, float] | None
    face_limit_N: float | None

    @property
    def unit(self) -> str:
        """Of the settings, as people read them (kN where N stand inside)."""
        return "N·m" if self.by == "torque" else "kN"

    @property
    def scale(self) -> float:
        """From a setting to that unit."""
        return 1.0 if self.by == "torque" else 1e-3


@dataclass(frozen=True)
class SeatCourse:
    """A seat over its angular error, degrees: peak pressure, MPa, and share of its pad in contact (None: not defined there)."""

    angles_deg: tuple[float, ...]
    peak_MPa: tuple[float | None, ...]
    contact_share: tuple[float | None, ...]


def window_course(clamp: Clamp, proof: RetentionProof, by: str) -> WindowCourse:
    """Clamp over the setting, from nothing to somewhat beyond what the bolt, the window and the setting reach."""
    preload = proof.clamp.preload
    window: tuple[float, float] | None
    if by == "torque":
        given = clamp.bolt.torque_Nm
        assert given is not None
        at, window = (given, given), proof.torque_window_Nm
    elif by == "pull":
        at, window = (preload.max, preload.max), (proof.window.min * preload.ratio, proof.window.max)
    else:
        at, window = (preload.min, preload.max), (proof.window.min, proof.window.max)
    end = 1.15 * max(at[1], *(window or (0.0,)))
    settings = tuple(end * (i + 1e-3) / (STEPS - 1) for i in range(STEPS))
    least, most = zip(*(_clamp(clamp, by, value) for value in settings), strict=True)
    limit = None
    if clamp.face_area_mm2 is not None and clamp.face_yield_MPa is not None:
        held = [row for row in proof.rows if not row.accident]
        over = max((row.clamp_most_N - proof.clamp.assembled_most_N for row in held), default=0.0)
        limit = FACE_SHARE * clamp.face_yield_MPa * clamp.face_area_mm2 - max(over, 0.0)
    return WindowCourse(by, settings, least, most, at, window, limit)


def _clamp(clamp: Clamp, by: str, setting: float) -> tuple[float, float]:
    if by == "torque":
        found = clamp_window(clamp, setting)
        return found.assembled_least_N, found.assembled_most_N
    if by == "pull":
        found = clamp_window(clamp, preload_N=setting)
        return found.assembled_least_N, found.assembled_most_N
    found = clamp_window(clamp)
    loss, _ = embedding_of(clamp.bolt)
    flattened = clamp.stiffness_kN_mm * clamp.face_embedding_um
    pull = clamp.wedges * clamp.bolts
    high, low = (drive_over_normal(clamp, friction=mu) for mu in (clamp.wedge.friction_high, clamp.wedge.friction_low))
    return max(0.0, found.order.least * pull * max(0.0, setting - loss) / high - flattened), pull * setting / low


def seat_course(seat: Seat, *, force_N: float, angle_deg: float, across_deg: float) -> SeatCourse:
    """Peak pressure from square to twice the angle, 0.2 degrees at least."""
    end = max(2 * angle_deg, 0.2)
    angles = tuple(end * i / (STEPS - 1) for i in range(STEPS))
    peaks: list[float | None] = []
    shares: list[float | None] = []
    for angle in angles:
        try:
            found = seat_pressure(seat, force_N=force_N, angle_deg=angle, across_deg=across_deg)
        except OutsideRange:
            peaks.append(None)
            shares.append(None)
        else:
            peaks.append(found.peak_MPa)
            shares.append(found.contact_share)
    return SeatCourse(angles, tuple(peaks), tuple(shares))
