"""What is asked of the whole drum's rotor beside its drawing and its running states."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.check import Checks
from ..rotor.stub_check import PRESS_FIT_FACTOR

__all__ = ["RotorWanted"]

MOST_MODES = 24


@dataclass(frozen=True, kw_only=True)
class RotorWanted:
    """Aims and choices.

    target_h: life that the bearings shall reach. grade_mm_s: balance grade, 16 for G16. left_share: share of the permissible
    unbalance that is taken as left, in the plane of the centre of gravity, in states that list no unbalance of their own.
    speed_upto_rpm: to where critical speeds are looked for (left out: twice the fastest state). overspeed_ratio: 1.2 is
    120 %. modes: whirls in the Campbell plot, both directions together. most_waves: of the shell around.
    drag_kW: what the idle drum takes at the fastest state's speed, for its run-down; constant_share of that torque stays
    down to standstill, the rest falls with the square of the speed. notch_sensitivity and press_fit_factor of the stubs;
    kt_at_disc_bending and kt_at_disc_torsion: of the fillet at the disc where they were computed (both or none).
    lost_slot: number from 1 of the slot whose hammer is lost (left out: the one that loads a bearing most).
    """

    target_h: float = 20_000.0
    grade_mm_s: float = 16.0
    left_share: float = 1.0
    speed_upto_rpm: float | None = None
    overspeed_ratio: float = 1.2
    modes: int = 6
    most_waves: int = 4
    drag_kW: float | None = None
    constant_share: float = 1.0
    notch_sensitivity: float = 1.0
    press_fit_factor: float = PRESS_FIT_FACTOR
    kt_at_disc_bending: float | None = None
    kt_at_disc_torsion: float | None = None
    lost_slot: int | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        checks.positive("target_h", self.target_h, "hours of running; 20,000 to 40,000 is common practice")
        checks.number("grade_mm_s", self.grade_mm_s, above=0.0, most=4000.0, way_out="16 for G16, in mm/s")
        checks.number("left_share", self.left_share, least=0.0, most=10.0, way_out="1: all that the grade permits")
        checks.optional("speed_upto_rpm", self.speed_upto_rpm, "revolutions a minute")
        checks.number(
            "overspeed_ratio", self.overspeed_ratio, least=1.0, most=10.0, way_out="1.2 is 120 % of the speed"
        )
        if checks.whole("modes", self.modes, 2, MOST_MODES) and self.modes % 2:
            checks.add("modes", self.modes, "must be even", "each mode whirls in two directions")
        checks.whole("most_waves", self.most_waves, 2, 12)
        checks.optional("drag_kW", self.drag_kW, "power that keeps the idle drum turning")
        checks.number("constant_share", self.constant_share, above=0.0, most=1.0, way_out="1: bearings and belts only")
        checks.number("notch_sensitivity", self.notch_sensitivity, least=0.0, most=1.0, way_out="1 is on the safe side")
        checks.number(
            "press_fit_factor", self.press_fit_factor, least=1.0, most=20.0, way_out="2 to 3, common practice"
        )
        pair = {"kt_at_disc_bending": self.kt_at_disc_bending, "kt_at_disc_torsion": self.kt_at_disc_torsion}
        for name, value in pair.items():
            if value is not None:
                checks.number(name, value, least=1.0, most=20.0, way_out="1 is a shaft without a step")
        if sum(value is None for value in pair.values()) == 1:
            lacking = next(name for name, value in pair.items() if value is None)
            checks.add(lacking, None, "must be given beside the other one", "Kt in bending and in torsion, or neither")
        if self.lost_slot is not None:
            checks.whole("lost_slot", self.lost_slot, 1, 100_000, "a slot's number, from 1")
        checks.done()

    @property
    def kt_at_disc(self) -> tuple[float, float] | None:
        """Kt in bending and in torsion of the fillet at the disc, where both are given."""
        if self.kt_at_disc_bending is None or self.kt_at_disc_torsion is None:
            return None
        return self.kt_at_disc_bending, self.kt_at_disc_torsion
