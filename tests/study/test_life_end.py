"""The drum's end and welds under the duty of a study."""

import csv

import numpy as np
import pytest
from life_texts import PLATE

from femdrum.assess.end_life import end_life
from femdrum.assess.life_plan import LifePlan
from femdrum.assess.life_welds import judged, ring_welds
from femdrum.errors import InputFault
from femdrum.model import Accuracy, Duty, Finish, LifeInput, Ring, Slot, WeldDetail, steel
from femdrum.model.drum_end import DrumEnd
from femdrum.model.end_input import EndInput, EndState
from femdrum.strength.surface_planes import Events
from femdrum.study import read_study, run

END = """
[drum_end]
shell_outer_diameter_mm = 600
shell_wall_mm = 25
disc_thickness_mm = 40
stub_diameter_mm = 120
stub_length_mm = 200
fillet_radius_mm = 12
inside_leg_mm = 10

[[drum_end.state]]
condition = "pulled"
shear_kN = 20

[[life.weld]]
name = "disc"
detail = "fillet toe, load carrying"
thickness_mm = 25
"""

GIVEN = EndInput(
    end=DrumEnd(
        shell_outer_diameter_mm=600, shell_wall_mm=25, disc_thickness_mm=40, stub_diameter_mm=120, stub_length_mm=200,
        fillet_radius_mm=12, inside_leg_mm=10,
    ),
    states=(EndState(condition="run", shear_kN=20), EndState(condition="rest")),
)  # fmt: skip
STEEL = steel("S355", 40.0)


def plan(*duty, **wanted):
    weld = WeldDetail(name="disc", detail="fillet toe, load carrying", thickness_mm=25)
    return LifePlan(
        LifeInput(**{"target_h": 1e4, "finish": Finish(process="milled"), "welds": (weld,), **wanted}), duty, {}, GIVEN
    )


TURNING = Duty(condition="run", cycle="rotating", hours_per_1000_h=1000, speed_rpm=1000)


@pytest.fixture(scope="module")
def turning():
    return end_life(plan(TURNING), GIVEN, STEEL, None, Accuracy(error=0.02))


def test_turning_under_shear_is_fully_reversed_at_the_fillet(turning):
    # amplitude is the peak itself: 6e7 cycles in 1,000 h
    from femdrum.strength.base_metal import metal_strength

    strength = metal_strength(
        STEEL, Finish(process="milled"), gradient_per_mm=2 / 12, stressed_area_mm2=500.0, equal_places=1
    )
    cycles = 6e4 * turning.life_h
    bears = float(strength.curve.strength(cycles, "haibach"))
    # the size of this fillet on both ends against 500 mm2 is worth some 10 %
    assert abs(turning.peak_MPa) == pytest.approx(bears, rel=0.15)
    assert turning.settled
    assert turning.shares[0].name == "run, rotating"


def test_a_start_and_stop_sees_the_whole_swing_too():
    once = end_life(
        plan(Duty(condition="run", cycle="steady", per_1000_h=6e7)), GIVEN, STEEL, None, Accuracy(error=0.02)
    )
    # rest and the condition at any angle: the same swing as turning
    assert once.life_h == pytest.approx(
        end_life(plan(TURNING), GIVEN, STEEL, None, Accuracy(error=0.02)).life_h, rel=1e-6
    )


def test_twice_the_range_is_an_eighth_or_a_32nd_of_a_welds_life():
    events = Events(np.array([[1.0]]), np.array([[0.0]]), np.array([1e4]), ("a",))
    weld = WeldDetail(name="w", detail="fillet toe, load carrying", thickness_mm=20)
    states = np.zeros((1, 3, 1, 4))
    states[0, 0, 0, 0] = 100.0
    one, two = (judged(weld, "toe", k * states, events).life_h for k in (1.0, 2.0))
    assert one / two == pytest.approx(8.0)
    # N = 2e6 (90 / 100)^3, damage limit 0.5
    assert one == pytest.approx(0.5 * 2e6 * 0.9**3 / 1e4 * 1000)
    low, lower = (judged(weld, "toe", k * states, events).life_h for k in (0.4, 0.2))
    assert lower / low == pytest.approx(32.0)


def test_a_mean_stress_is_neither_credit_nor_debit_for_a_weld():
    weld = WeldDetail(name="w", detail="fillet toe, load carrying", thickness_mm=20)
    states = np.zeros((2, 3, 1, 4))
    states[0, 0, 0, 0], states[1, 0, 0, 0] = 100.0, -300.0
    events = [Events(np.array([[1.0, m]]), np.array([[0.0, m]]), np.array([1e4]), ("a",)) for m in (0.0, 1.0)]
    a, b = (judged(weld, "toe", states, e).life_h for e in events)
    assert a == pytest.approx(b)


def test_a_weld_in_the_forbidden_zone_gets_no_life():
    ring = Ring(
        outer_diameter_mm=760,
        wall_mm=40,
        pitch_mm=300,
        slots_around=2,
        rows="aligned",
        cutout=Slot(around_mm=60, axial_mm=120, corner_radius_mm=12),
    )
    near, far = (
        WeldDetail(
            name="bead", detail="toe, not load carrying", thickness_mm=40, place="near slot", distance_from_slot_mm=d
        )
        for d in (20.0, 90.0)
    )
    events = Events(np.array([[1.0]]), np.array([[0.0]]), np.array([1e6]), ("a",))
    axial = np.array([[10.0], [0.0], [0.0]])
    inside, clear = ring_welds(ring, (near, far), ("axial",), [axial], events, 1e4)
    assert not inside.clear
    assert inside.verdict == "does not hold"
    assert "forbidden zone" in inside.words
    assert clear.verdict == "holds"
    assert clear.range_MPa == pytest.approx(10.0)


def test_the_end_stands_beside_the_slots_in_the_results(tmp_path):
    (tmp_path / "strip.toml").write_text(PLATE + END, encoding="utf-8")
    results = run(read_study(tmp_path / "strip.toml"), tmp_path / "out", workers=1)
    end = results.drum_end
    assert end.welds[0].where.startswith(("toe shell inside", "toe disc inside"))
    with (tmp_path / "out" / "life.csv").open(encoding="utf-8") as file:
        rows = {row["what"]: row for row in csv.DictReader(file)}
    assert float(rows["drum end"]["life_h"]) == end.life_h
    assert float(rows["weld"]["life_h"]) == end.welds[0].life_h
    stamp = {p.name: p.stat().st_mtime_ns for p in (tmp_path / "out").glob("drum_end-*.json")}
    run(read_study(tmp_path / "strip.toml"), tmp_path / "out", workers=1)
    assert {p.name: p.stat().st_mtime_ns for p in (tmp_path / "out").glob("drum_end-*.json")} == stamp


FAULTS = {
    "state missing": (
        END.replace('condition = "pulled"', 'condition = "other"'),
        ["drum_end.state", "'pulled'", "an end at rest"],
    ),
    "no state": (END[: END.index("[[drum_end.state]]")] + END[END.index("[[life.weld]]") :], ["drum_end.state"]),
    "at rest": (END.replace("shear_kN = 20", ""), ["loads the end in no state"]),
    "weld without an end": (END[END.index("[[life.weld]]") :], ["drum_end: is missing", "'disc'"]),
    "fillet": (END.replace("fillet_radius_mm = 12", "fillet_radius_mm = 0"), ["drum_end.fillet_radius_mm = 0"]),
    "class": (END.replace("fillet toe, load carrying", "fillet"), ["fillet"]),
}


@pytest.mark.parametrize("what", FAULTS)
def test_bad_ends_are_told(tmp_path, what):
    text, said = FAULTS[what]
    (tmp_path / "strip.toml").write_text(PLATE + text, encoding="utf-8")
    with pytest.raises(InputFault) as caught:
        read_study(tmp_path / "strip.toml")
    assert all(words in str(caught.value) for words in said), str(caught.value)
