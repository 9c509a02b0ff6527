"""Random drums: patterns, slot numbers, orders of the speed, and everything that does not fit."""

import math
from dataclasses import replace

import numpy as np
import pytest
from random_drums import BAR, DRIVE, END, HALF, SEEDS, drum, random_drum

from femdrum.errors import InputFault
from femdrum.model.balance_input import MassPositions
from femdrum.model.cutout import Slot
from femdrum.model.drum import slots
from femdrum.model.drum_shaft import RotorBearing, RotorMass
from femdrum.model.hammer import Hammer, SlotPart
from femdrum.model.hammer_pattern import HammerPattern
from femdrum.rotor.pattern import order_strength, pattern_answer
from femdrum.rotor.running import RestUnbalance, Running, TipHit, causes

# patterns


@pytest.mark.parametrize("seed", SEEDS)
def test_slots_are_numbered_row_by_row(seed):
    whole = random_drum(seed)
    found = slots(whole)
    assert [s.number for s in found] == list(range(whole.slots_total))
    assert len({(round(s.z_mm, 6), round(s.angle_deg, 6)) for s in found}) == whole.slots_total
    for s in found:
        assert s.number == s.row * whole.slots_around + s.around
        assert s.z_mm == pytest.approx(whole.shell_z_mm + s.along_mm)
        assert s.x_mm == pytest.approx(whole.mid_radius_mm * math.radians(s.angle_deg))
        assert 0 <= s.angle_deg < 360
        if s.opposite is not None:
            other = found[s.opposite]
            assert other.row == s.row
            assert (other.angle_deg - s.angle_deg) % 360 == pytest.approx(180)
            assert other.opposite == s.number
        else:
            assert whole.slots_around % 2 == 1


@pytest.mark.parametrize("seed", SEEDS)
def test_closed_patterns_cancel_their_orders(seed):
    """Where tips are spread evenly over p places, only multiples of p are excited, and those fully."""
    whole = random_drum(seed)
    found = pattern_answer(whole, speed_rpm=1000)
    assert found.closes
    assert found.passes * found.at_once == whole.slots_total
    assert found.largest_gap_deg == pytest.approx(360 / found.passes, abs=1e-6)
    assert found.hit_rate_Hz == pytest.approx(1000 / 60 * found.passes)
    orders = np.arange(0, 3 * found.passes + 1)
    np.testing.assert_allclose(order_strength(whole, orders), orders % found.passes == 0, atol=1e-9)
    assert found.first_order == found.passes
    assert found.uncut_mm == pytest.approx(whole.pitch_mm - 50)


def test_starts_lay_spirals_side_by_side():
    """Two starts without turn are rows that alternate."""
    one = HammerPattern(rows_total=8, slots_around=2, pitch_mm=100, first_row_mm=100, row_angle_deg=90)
    two = HammerPattern(rows_total=8, slots_around=2, pitch_mm=100, first_row_mm=100, row_angle_deg=0, starts=2)
    for row in range(8):
        assert one.angle_deg(row) % 180 == pytest.approx(two.angle_deg(row) % 180)
    assert two.turn_deg == pytest.approx(90)
    # three starts, each turned by a ninth of the spacing: nine places
    three = HammerPattern(rows_total=9, slots_around=1, pitch_mm=100, first_row_mm=100, row_angle_deg=40, starts=3)
    assert sorted(round(three.angle_deg(k) % 360) for k in range(9)) == list(range(0, 360, 40))


def test_a_pattern_that_does_not_close():
    with pytest.raises(InputFault, match="does not close") as caught:
        drum(row_angle_deg=37)
    assert "37.5" in str(caught.value)
    assert drum(row_angle_deg=37, may_stay_open=True).warnings[-1].startswith("The pattern does not close")
    # alternate rows of odd number: more tips on one side than on the other
    with pytest.raises(InputFault, match="not equally many"):
        drum(rows_total=9, pitch_mm=180, row_angle_deg=90)
    # and what it says does close
    pattern = drum(row_angle_deg=37, may_stay_open=True).pattern
    assert pattern.closing_angles_deg()
    for angle in pattern.closing_angles_deg():
        assert replace(pattern, row_angle_deg=angle, may_stay_open=False).closes
    # drawings round their angles
    assert drum(row_angle_deg=round(5 * 180 / 21, 2), rows_total=21).pattern.closes


def test_the_ring_of_a_drum():
    assert drum().ring().rows == "helical"
    assert drum().ring().row_angle_deg == pytest.approx(37.5)
    assert drum(row_angle_deg=0).ring().rows == "aligned"
    assert drum(row_angle_deg=90).ring(held="extension").rows == "alternate"
    assert drum(row_angle_deg=180).ring().rows == "aligned"
    uneven = [0.0, 90.0, 45.0, 135.0] * 6
    with pytest.raises(InputFault, match="no ring of equal rows"):
        drum(row_angle_deg=None, row_angles_deg=uneven).ring()


# what does not fit


def faults(**changes):
    with pytest.raises(InputFault) as caught:
        drum(**changes)
    return {fault.field: str(fault) for fault in caught.value.faults}


def test_everything_that_does_not_fit_at_once():
    found = faults(
        row_angle_deg=0, first_row_mm=60, pitch_mm=50, rows_total=40, hammer=replace(BAR, width_mm=80, depth_mm=60),
        masses=(RotorMass(name="stray", mass_kg=1, z_mm=9000),),
        mass_positions=(MassPositions.even(8, radius_mm=500, z_mm=9000, plate_g=250, most_plates=3),),
    )  # fmt: skip
    for field, words in {
        "pitch_mm": "slots of rows 1 and 2 overlap", "first_row_mm": "drive-side disc", "rows_total": "free-side disc",
        "hammer.width_mm": "at most the slot's size", "hammer.depth_mm": "at most the slot's size",
        "masses['stray'].z_mm": "on the rotor", "mass_positions[0].radius_mm": "within the shell",
        "mass_positions[0].z_mm": "on the rotor",
    }.items():  # fmt: skip
        assert words in found[field]


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"slots_around": 3}, "slots_around", "must be even"),
        ({"slots_around": 4, "row_angle_deg": 0}, "hammer.width_mm", "bars of one row collide"),
        ({"hammer": replace(BAR, tip_width_mm=90), "row_angle_deg": 0}, "hammer.tip_width_mm", "tips of rows 1 and 2"),
        ({"hammer": replace(BAR, tip_depth_mm=48, tip_height_mm=120)}, "hammer.tip_height_mm", "into the shell"),
        ({"hammer": replace(BAR, length_mm=780, tip_radius_mm=395)}, "hammer.tip_radius_mm", "above the shell"),
        ({"drive_end": replace(END, beyond_mm=100)}, "drive_end.beyond_mm", "sheave"),
        ({"drive_end": replace(END, stub_diameter_mm=700)}, "drive_end.stub_diameter_mm", "shell's bore"),
        ({"cutout": Slot(around_mm=800, axial_mm=55, corner_radius_mm=8)}, "cutout.around_mm", "miss the bore"),
        ({"slots_around": 24, "hammer": None, "cutout": Slot(around_mm=120, axial_mm=55, corner_radius_mm=8)},
         "cutout.around_mm", "overlap around"),
        ({"hammer": None, "slot_parts": (SlotPart(name="wedge", mass_kg=1, radius_mm=380),)}, "slot_parts", "there is none"),
        ({"shell_length_mm": 100}, "shell_length_mm", "end discs need"),
        ({"outer_diameter_mm": -1}, "outer_diameter_mm", "above 0"),
        ({"wall_mm": 400}, "wall_mm", "below 400"),
        ({"cutout": None}, "cutout", "must be a Slot"),
        ({"drive_end": None}, "drive_end", "must be a StubShaft"),
        ({"masses": (RotorMass(name="a", mass_kg=1, z_mm=0), RotorMass(name="a", mass_kg=1, z_mm=0))}, "masses", "more than one"),
        ({"row_angle_deg": None}, "row_angle_deg", "no default"),
        ({"rows_total": 2.5}, "rows_total", "whole number"),
        ({"starts": 2, "row_angle_deg": None, "row_angles_deg": [0.0] * 24}, "starts", "says it all"),
        ({"row_angle_deg": None, "row_angles_deg": [0.0] * 7}, "row_angles_deg", "must hold 24 angles"),
    ],
)  # fmt: skip
def test_each_misfit_is_told(changes, field, words):
    found = faults(**changes)
    assert words in found[field]


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Hammer(path="thrown", mass_kg=1, length_mm=1, width_mm=1, depth_mm=1), "path"),
        (lambda: replace(BAR, inner_radius_mm=10), "inner_radius_mm"),
        (lambda: replace(HALF, inner_radius_mm=None), "inner_radius_mm"),
        (lambda: replace(BAR, wear_mm=60), "wear_mm"),
        (lambda: replace(BAR, tip_radius_mm=400), "tip_radius_mm"),
        (lambda: replace(BAR, tip_mass_kg=0), "tip_height_mm"),
        (lambda: replace(END, seat_diameter_mm=200), "seat_diameter_mm"),
        (lambda: replace(END, shoulder_mm=None), "shoulder_mm"),
        (lambda: replace(END, recess_mm=300), "recess_mm"),
        (lambda: replace(END, stub_bore_mm=130), "stub_bore_mm"),
        (lambda: RotorBearing(stiffness_across_kN_mm=10), "stiffness_kN_mm"),
        (lambda: replace(DRIVE, shaft_factor=0.5), "shaft_factor"),
        (lambda: Running(speed_rpm=1000, power_kW=10), "cut_direction_deg"),
        (lambda: Running(speed_rpm=0, power_kW=10, cut_direction_deg=0), "speed_rpm"),
    ],
)
def test_faults_of_the_parts(make, field):
    with pytest.raises(InputFault) as caught:
        make()
    assert field in [fault.field for fault in caught.value.faults]


def test_faults_of_a_running_state_on_its_drum():
    running = Running(
        speed_rpm=1000, power_kW=10, cut_direction_deg=0, hits=(TipHit(slot=99, force_kN=1),), cutting_rows=(24,),
        unbalance=(RestUnbalance(amount_g_mm=1, angle_deg=0, z_mm=5000),),
    )  # fmt: skip
    with pytest.raises(InputFault) as caught:
        causes(drum(), running)
    assert [f.field for f in caught.value.faults] == ["hits[0].slot", "cutting_rows", "unbalance[0].z_mm"]
    with pytest.raises(InputFault, match="no hammers"):
        causes(drum(hammer=None), Running(speed_rpm=1000, power_kW=10, cut_direction_deg=0))
