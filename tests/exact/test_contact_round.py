"""A half round in its groove by contact: line contact where it is narrow, conforming contact where it is wide, likeness, bands, bad input."""

import math

import numpy as np
import pytest

from femdrum.assess.clamp_contact_round import against, solve_round_seat
from femdrum.errors import InputFault
from femdrum.fem.contact_round import ROUND_LEVELS, solve_round
from femdrum.model.material import Material
from femdrum.model.round_seat import RoundSeat
from femdrum.quantity import Verdict

STEEL = Material(youngs_modulus_MPa=206e3, poissons_ratio=0.3, yield_MPa=355.0)
DEEP = 30.0  # times the groove's radius: nearly a large body


def seat(force_kN=120.0, play_mm=0.1, radius_mm=30.0, depth_mm=None, width_mm=60.0, **more):
    return RoundSeat(
        force_kN=force_kN, radius_mm=radius_mm, groove_radius_mm=radius_mm + play_mm, width_mm=width_mm,
        depth_mm=DEEP * radius_mm if depth_mm is None else depth_mm, **more,
    )  # fmt: skip


def test_narrow_contact_is_line_contact():
    """Half width and peak within 2 % of line contact where it holds, and of conforming contact."""
    found = solve_round_seat(seat(force_kN=6.0), STEEL)
    assert float(found.half_angle) < 7
    assert found.line_MPa == pytest.approx(float(found.peak), rel=0.02)
    assert found.conforming.peak_MPa == pytest.approx(float(found.peak), rel=0.02)
    width = found.seat.radius_mm * math.radians(float(found.half_angle))
    assert found.conforming.hertz_half_width_mm == pytest.approx(width, rel=0.02)
    assert "narrow contact" in found.line_said


def test_wide_contact_follows_the_conforming_formula_and_not_line_contact():
    """Half bodies give way to the sides, so the formula of a full round in a hole is above, by a tenth at most."""
    for play, below in ((0.1, 0.06), (0.02, 0.12)):
        found = solve_round_seat(seat(play_mm=play), STEEL)
        assert found.line_MPa is None
        assert "does not hold" in found.line_said
        assert 0 < found.conforming.peak_MPa / float(found.peak) - 1 < below
        assert float(found.half_angle) > found.conforming.half_angle_deg
        # line contact would be off by more, to the other side
        assert found.conforming.hertz_MPa < 0.96 * float(found.peak)


def test_resultant_is_the_force():
    s = seat(depth_mm=45.0)
    found = solve_round(s, STEEL, math.radians(26), 24)
    assert found.force_N == pytest.approx(s.line_load_N_mm, rel=1e-9)
    # vertical resultant of the curve as it is told, by the trapezium rule
    x, p = found.angle_rad, found.pressure_MPa
    total = 2 * 30 * np.sum(0.5 * np.diff(x) * (p[1:] * np.cos(x[1:]) + p[:-1] * np.cos(x[:-1])))
    assert total == pytest.approx(s.line_load_N_mm, rel=5e-3)
    assert (p >= 0).all()
    assert p[x > 1.02 * found.half_angle_rad].max(initial=0.0) == 0.0


def test_a_seat_twice_as_large_under_twice_the_force_bears_alike():
    one = solve_round(seat(depth_mm=60.0), STEEL, 0.45, 12)
    two = solve_round(seat(force_kN=240.0, play_mm=0.2, radius_mm=60.0, depth_mm=120.0), STEEL, 0.45, 12)
    assert two.pressure_MPa == pytest.approx(one.pressure_MPa, rel=1e-8, abs=1e-8 * one.pressure_MPa.max())
    assert two.half_angle_rad == pytest.approx(one.half_angle_rad, rel=1e-8)


def test_a_thin_block_is_stiffer_than_a_deep_one():
    """It bears over less and takes a higher peak."""
    peaks, angles = zip(
        *(
            (float(f.peak), float(f.half_angle))
            for d in (20.0, 45.0, 300.0)
            for f in [solve_round_seat(seat(depth_mm=d), STEEL)]
        ),
        strict=True,
    )
    assert peaks[0] > peaks[1] > peaks[2]
    assert angles[0] < angles[1] < angles[2]


@pytest.mark.parametrize("play", [0.3, 0.1, 0.03])
def test_bands_hold_against_a_finer_mesh(play):
    s = seat(play_mm=play, depth_mm=45.0)
    found = solve_round_seat(s, STEEL)
    finer = solve_round(s, STEEL, math.radians(found.conforming.half_angle_deg), 2 * ROUND_LEVELS[-1])
    assert abs(float(found.peak) - finer.pressure_MPa.max()) < found.peak.band
    assert abs(float(found.half_angle) - math.degrees(finer.half_angle_rad)) < found.half_angle.band
    assert found.peak.band < 0.01 * float(found.peak)
    assert found.verdict is Verdict.SETTLED


def test_numbers_beside_and_warnings():
    found = solve_round_seat(seat(force_kN=1500.0, depth_mm=45.0), STEEL)
    assert any("above yield" in w for w in found.warnings)
    assert any("projected pressure" in w for w in found.warnings)
    beside = {c.quantity: c for c in found.comparisons}
    conforming = beside["peak pressure, MPa, by conforming contact"]
    assert "from memory" in conforming.source
    assert conforming.value == found.conforming.peak_MPa
    assert all(math.isfinite(f.value) and f.formula for f in found.figures)
    bare = Material(youngs_modulus_MPa=206e3, poissons_ratio=0.3)
    assert any("was not checked" in w for w in solve_round_seat(seat(depth_mm=45.0), bare).warnings)
    assert (against(None), against(0.05), against(-1e-9), against(13.0)) == ("-", "+5 %", "+0 %", "14 times")


@pytest.mark.parametrize(("field", "change"), [
    ("groove_radius_mm", {"play_mm": 0.0}), ("groove_radius_mm", {"play_mm": 10.0}), ("depth_mm", {"depth_mm": 1.0}),
    ("force_kN", {"force_kN": -1.0}), ("width_mm", {"width_mm": 0.0}), ("name", {"name": ""}),
])  # fmt: skip
def test_bad_input(field, change):
    with pytest.raises(InputFault) as caught:
        seat(**change)
    assert [f.field for f in caught.value.faults] == [field]


def test_all_faults_at_once():
    with pytest.raises(InputFault) as caught:
        RoundSeat(force_kN=0, radius_mm=-1, groove_radius_mm=math.nan, width_mm="wide", depth_mm=5)  # type: ignore[arg-type]
    assert {f.field for f in caught.value.faults} == {"force_kN", "radius_mm", "groove_radius_mm", "width_mm"}
