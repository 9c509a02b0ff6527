"""The file of a whole drum: what it says is what the rotor's functions say, and what is wrong with it is told at once."""

import csv
import itertools
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from femdrum.assess.whole_drum import along_drum, excitations_of, whole_drum
from femdrum.assess.whole_drum_input import RotorWanted
from femdrum.assess.whole_drum_words import answer_sentences
from femdrum.errors import FileFault, InputFault
from femdrum.fem.beam import beam_model
from femdrum.provenance import Kind
from femdrum.rotor.bearing_life import basic_life_h, bearing_lives
from femdrum.rotor.bearing_loads import bearing_loads
from femdrum.rotor.burst import overspeed
from femdrum.rotor.mass_properties import PLAUSIBLE_MASS_KG, mass_properties
from femdrum.rotor.rows import row_resultants
from femdrum.rotor.run_down import lost_hammer
from femdrum.rotor.running import RestUnbalance, causes
from femdrum.rotor.shell_modes import shell_modes
from femdrum.rotor.stub_check import stub_sections
from femdrum.rotor.unbalance import permissible_unbalance_g_mm
from femdrum.rotor.whirl_line import shaft_line
from femdrum.study.drum_sheet import drum_sheet_from_text, read_drum_sheet
from femdrum.study.drum_write import TABLES, write_drum

STUDY = Path(__file__).parents[2] / "studies" / "drum_whole.toml"
TEXT = STUDY.read_text(encoding="utf-8")
STIFF = "stiffness_kN_mm = 620            # of bearing and housing together on their foundation: measured or asked for, never guessed\nstiffness_across_kN_mm = 450\n"
HIT = "[[running.hit]]\nslot = 7                         # first slot of row 4\nforce_kN = 90\nradial_kN = 20\n"


def changed(*pairs):
    """The study with texts replaced, each of which must be there."""
    text = TEXT
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def quick(*pairs):
    """A changed study without its critical speeds, which cost most of the time."""
    return drum_sheet_from_text(changed((STIFF, ""), *pairs))


@pytest.fixture(scope="module")
def sheet():
    return read_drum_sheet(STUDY)


@pytest.fixture(scope="module")
def got(sheet):
    return sheet.answer()


@pytest.fixture(scope="module")
def acting(sheet, got):
    """Running states with the unbalance that is taken as left, put together here."""
    mass = mass_properties(sheet.drum, sheet.material)
    left = permissible_unbalance_g_mm(grade_mm_s=16, mass_kg=mass.mass_kg, speed_rpm=1000)
    assert got.left_g_mm == left
    rest = RestUnbalance(amount_g_mm=left, angle_deg=0.0, z_mm=float(mass.centre_mm[2]))
    return [replace(state, unbalance=(rest,)) for state in sheet.running]


# the answer is that of the rotor's functions


def test_rows_are_those_of_the_rotor(sheet, got, acting):
    for state, running in zip(got.states, acting, strict=True):
        assert list(state.rows) == row_resultants(sheet.drum, running, sheet.material)


def test_bearings_lives_and_stubs_are_those_of_the_rotor(sheet, got, acting):
    for state, running in zip(got.states, acting, strict=True):
        loads = bearing_loads(sheet.drum, running, sheet.material)
        assert state.bearings == loads
        assert state.life == bearing_lives(sheet.drum, loads, speed_rpm=running.speed_rpm)
        assert state.stubs == stub_sections(sheet.drum, running, sheet.stub_strength, sheet.material)
        life = basic_life_h(rating_kN=470, load_kN=1e-3 * loads[0].equivalent_N, speed_rpm=running.speed_rpm)
        assert state.life.bearings[0].life_h == pytest.approx(life)


def test_drum_as_a_whole_is_that_of_the_rotor(sheet, got):
    assert got.masses.mass_kg == mass_properties(sheet.drum, sheet.material).mass_kg
    assert got.overspeed == overspeed(sheet.drum, sheet.material, speed_rpm=1000, ratio=1.2)
    losses = [lost_hammer(sheet.drum, slot=n, speed_rpm=1000, material=sheet.material) for n in range(20)]
    worst = max(max(x.drive_bearing_N, x.free_bearing_N) for x in losses)
    assert max(got.lost.drive_bearing_N, got.lost.free_bearing_N) == pytest.approx(worst)
    for state in got.states:
        shell = shell_modes(sheet.drum, speed_rpm=state.running.speed_rpm, material=sheet.material)
        assert state.shell == shell


def test_critical_speeds_are_natural_frequencies_of_the_beams(sheet, got):
    model = beam_model(shaft_line(sheet.drum, sheet.material))
    assert len(got.crossings) >= 2
    for c in got.crossings:
        near = model.whirl(c.speed_rpm, modes=12).frequency_Hz
        assert np.min(np.abs(near / (c.order * c.speed_rpm / 60) - 1)) < 1e-6
    for state in got.states:
        assert [name for name, _ in state.separations] == [e.name for e in excitations_of(sheet.drum)]
        for e, (_, apart) in zip(excitations_of(sheet.drum), state.separations, strict=True):
            speeds = [c.speed_rpm for c in model.critical_speeds(order=e.order, most=6, backward=not e.with_rotation)]
            assert apart.nearest_rpm == min(speeds, key=lambda n, v=state.running.speed_rpm: abs(n - v))
    # alternate rows of two: all tips together come four times a turn, those of one row twice
    assert [e.order for e in excitations_of(sheet.drum)] == [1.0, 2.0, 4.0]


def test_along_the_drum_goes_through_the_rows_and_ends_at_nothing(sheet, got):
    for state in got.states:
        along = state.along
        assert np.all(np.diff(along.z_mm) >= 0)
        for values in (along.largest_moment_Nmm, along.shear_N, along.torque_Nmm):
            assert abs(values[0]) < 1e-6 * np.abs(values).max()
            assert abs(values[-1]) < 1e-6 * np.abs(values).max()
        for row in state.rows:
            at = np.flatnonzero(np.isclose(along.z_mm, row.z_mm, rtol=0, atol=1e-9))
            assert len(at) == 2
            assert along.largest_moment_Nmm[at] == pytest.approx(row.largest_moment_Nmm)
            assert along.moment_space_Nmm[at] == pytest.approx(row.rotating_amplitude_Nmm)
            assert along.shear_N[at].max() == pytest.approx(row.shear_N)
            assert np.abs(along.torque_Nmm[at]).max() == pytest.approx(abs(row.torque_Nmm))


def test_along_the_drum_slope_of_the_moment_is_the_shear(sheet):
    # weight alone, in one direction: no turning part hides it
    still = replace(sheet.running[0], power_kW=0.0, speed_rpm=1e-6)
    weight = [c for c in causes(sheet.drum, still, sheet.material) if c.name == "weight"]
    along = along_drum(sheet.drum, weight, steps=4001)
    inside = (along.z_mm > 0) & (along.z_mm < 1000)
    z, m = along.z_mm[inside][::2], along.moment_space_Nmm[inside][::2]
    before, beyond = along.shear_N[inside][::2], along.shear_N[inside][1::2]
    slope = np.diff(m) / np.diff(z)
    alike = np.isclose(np.abs(slope), 0.5 * (beyond[:-1] + before[1:]), rtol=1e-6)
    # the moment changes its sign once behind the bearing that has the sheave beside it, and a magnitude has a kink there
    assert (~alike).sum() == 1
    assert m[:-1][~alike] < 0.01 * m.max()


def test_no_two_rows_carry_the_same_moment(got):
    for state in got.states:
        moments = [row.largest_moment_Nmm for row in state.rows]
        for a, b in itertools.combinations(moments, 2):
            assert abs(a - b) > 1e-3 * max(a, b)


def test_the_invented_drum_weighs_what_such_drums_weigh(got):
    low, high = PLAUSIBLE_MASS_KG  # common practice, no source
    assert low < got.masses.mass_kg < high
    assert not got.masses.warnings
    assert not got.left_out


def test_life_over_all_states_adds_up_by_time(got):
    shares = [state.time_share for state in got.states]
    assert shares == [0.85, 0.15]
    lives = [state.life.system_h for state in got.states]
    assert 1 / got.life_h == pytest.approx(sum(q / life for q, life in zip(shares, lives, strict=True)))
    assert min(lives) < got.life_h < max(lives)


def test_a_symmetric_drum_that_is_balanced_turns_without_a_moment():
    answer = quick(
        (HIT, ""), ("left_share = 1.0", "left_share = 0.0"), ("[[running.tip]]", "[[running.tip]]\nextra_g = 0")
    ).answer()
    first = answer.states[0]
    assert first.running.unbalance == ()
    for row in first.rows:
        assert abs(row.moment_Nmm("drum")) < 1e-9 * row.largest_moment_Nmm
    # in the other state one tip is worn more
    assert abs(answer.states[1].rows[5].moment_Nmm("drum")) > 1e3


def test_unbalance_of_its_own_stands_instead_of_the_grade():
    own = '[[running.unbalance]]\namount_g_mm = 5e5\nangle_deg = 90\nz_mm = 900\n\n[[running]]\nname = "roots'
    answer = quick(('[[running]]\nname = "roots', own)).answer()
    assert [u.amount_g_mm for u in answer.states[0].running.unbalance] == [5e5]
    assert answer.states[1].running.unbalance[0].amount_g_mm == answer.left_g_mm


def test_slots_and_rows_count_from_1_in_the_file(sheet, got):
    struck = got.states[1]
    assert sheet.running[1].hits[0].slot == 6
    assert [row.row for row in struck.rows if row.hammer_force_N] == [3]
    assert sheet.running[1].cutting_rows == (0, 1, 2, 3, 4, 5)
    assert dict(sheet.running[1].hammers.wear_mm) == {11: 15}
    assert [row.row for row in struck.rows if row.cutting_force_N] == list(range(6))
    assert "row 4 of 10" in answer_sentences(got)[0]


def test_broken_and_missing_hammers():
    answer = quick(("time_share = 0.85", "time_share = 0.85\nbroken = [3]\nmissing = [5]")).answer()
    state = answer.states[0]
    assert state.running.hammers.broken == (2,)
    assert state.running.hammers.missing == (4,)
    assert state.rows[2].hammer_pull_N == 0.0
    assert state.rows[1].hammer_pull_N > 0
    # half a bar gone: what is left pulls the other way with all that it weighs
    lost = lost_hammer(answer.drum, slot=2, speed_rpm=1000, material=answer.material)
    turning = state.bearings[0].turning_N + state.bearings[1].turning_N
    assert turning == pytest.approx(lost.force_N, rel=0.35)


def test_three_sentences_with_numbers_and_units(got):
    told = answer_sentences(got)
    assert len(told) == 3
    for sentence in told:
        assert sentence.count(". ") == 0
        assert sentence.endswith(".")
    assert "kN·m" in told[0]
    assert " h " in told[1]
    assert "rpm" in told[2]
    assert "Hz" in told[2]


# what the file lacks is left out, and said


def test_what_cannot_be_computed_is_left_out_with_the_reason():
    text = changed(
        (STIFF, ""), ("dynamic_rating_kN = 470\n", ""), ("static_rating_kN = 480\n", ""), ("[rotor]", "[rotor]\n#"),
        ("drag_kW = 18                     # what the idle drum takes at 1000 rpm\n", ""),
        ('grade = "S355"', "youngs_modulus_MPa = 206000\npoissons_ratio = 0.3"),
    )  # fmt: skip
    start, end = text.index("[stub_strength]"), text.index("[[running]]")
    answer = drum_sheet_from_text(text[:start] + text[end:]).answer()
    said = {item.what: item.why for item in answer.left_out}
    assert set(said) == {
        "Life of the bearings", "Static safety of the bearings", "Critical speeds and the Campbell plot",
        "Strength of the stub shafts", "Overspeed and burst", "Time to run down",
    }  # fmt: skip
    assert "the drive bearing" in said["Life of the bearings"]
    assert "the free bearing" in said["Static safety of the bearings"]
    assert answer.campbell is None
    assert answer.criticals == ()
    assert answer.overspeed is None
    assert answer.life_h is None
    assert all(state.life is None and state.stubs == () for state in answer.states)
    told = answer_sentences(answer)
    assert "no life is known" in told[1]
    assert "not proven" in told[1]
    assert "were not computed" in told[2]


def test_a_drum_without_hammers():
    text = changed((STIFF, ""), (HIT, ""))
    start, end = text.index("[drum.hammer]"), text.index("[drum.drive_end]")
    text = text[:start] + text[end:]
    text = text[: text.index("[[running.tip]]")] + text[text.index("[rotor]") :]
    for power in ("power_kW = 420\n", "power_kW = 460\n"):
        text = text.replace(power, "")
    answer = drum_sheet_from_text(text).answer()
    assert answer.lost is None
    assert [e.name for e in excitations_of(answer.drum)] == ["unbalance"]
    assert "Hits, cutting and a lost hammer" in {item.what for item in answer.left_out}
    assert answer.states[0].tip_speed_m_s is None
    assert "no hits shake it" in answer_sentences(answer)[2]
    assert not any("hits" in f.what for s in answer.states for f in s.figures if f.unit != "-")
    assert not any("order" in text for text in answer.warnings)


def test_weak_stubs_and_short_lives_are_warned_of():
    answer = quick(
        ("endurance_amplitude_MPa = 190", "endurance_amplitude_MPa = 50"), ("target_h = 30000", "target_h = 80000")
    ).answer()
    text = "\n".join(answer.warnings)
    assert "drive-side bearing seat: safety" in text
    assert "against fatigue is below 1" in text
    assert "The drive bearing reaches 63,000 h; 80,000 h are wanted" in text


# bad input


@pytest.mark.parametrize(
    ("pairs", "words"),
    [
        ([("row_angle_deg = 90 ", "row_angle_deg = 37 ")], ("drum.row_angle_deg = 37", "does not close", "36 or")),
        ([("row_angle_deg = 90 ", "row_angle_deg = 0 "), ("pitch_mm = 180", "pitch_mm = 100")], ("drum.pitch_mm = 100", "overlap")),
        ([("row_angle_deg = 90 ", "row_angle_deg = 0 "), ("tip_width_mm = 150", "tip_width_mm = 190")], ("tip", "collide")),
        ([("first_row_mm = 180", "first_row_mm = 120")], ("drum.first_row_mm = 120", "drive-side disc")),
        ([("length_mm = 940", "length_mm = 1100")], ("tip_radius_mm", "bar's end")),
        ([("wall_mm = 40", "wall_mm = 400")], ("drum.wall_mm = 400", "must be a finite number above 0 and below 390")),
        ([("slot = 7 ", "slot = 21 ")], ("running.1.hit.0.slot = 21", "must be a slot of the drum, 1 to 20")),
        ([("slot = 7 ", "slot = 0 ")], ("running.1.hit.0.slot = 0", "must be a whole number from 1")),
        ([("slot = 12", "slot = 40")], ("running.1.tip.0.slot = 40", "1 to 20")),
        ([("wear_mm = 15", "wear_mm = 70")], ("running.1.tip = 70", "must be a finite number at least 0 and below 55")),
        ([("wear_mm = 15\n", "")], ("running.1.tip.0.wear_mm", "nothing differs")),
        ([("[1, 2, 3, 4, 5, 6] ", "[1, 11] ")], ("cutting_rows.1 = 11", "a row of the drum, 1 to 10")),
        ([("[1, 2, 3, 4, 5, 6] ", "3 ")], ("cutting_rows = 3", "must be a list of numbers")),
        ([("time_share = 0.15", "time_share = 0.25")], ("time_share = 0.25", "add up to 1.1")),
        ([("time_share = 0.15\n", "")], ("running.1.time_share", "must stand in all states")),
        ([("roots, one tip struck", "mixed prunings")], ("running.1.name = 'mixed prunings'", "an earlier state")),
        ([("speed_rpm = 820", "speed_rpm = 0")], ("running.1.speed_rpm = 0", "above 0")),
        ([("speed_rpm = 820", 'speed_rpm = "820"')], ("running.1.speed_rpm = '820'", "must be a finite number")),
        ([("cut_direction_deg = 110          #", "#")], ("running.0.cut_direction_deg: is missing",)),
        ([('grade = "S355"', 'grade = "S36"')], ("material.grade = 'S36'", "S355")),
        ([('grade = "S355"', 'grade = "S355"\nyield_MPa = 300')], ("material.grade", "not both")),
        ([('grade = "S355"', "youngs_modulus_MPa = 206000")], ("material.poissons_ratio", "missing")),
        ([('grade = "S355"', "")], ("material.grade", "missing")),
        ([("grade_mm_s = 16 ", "grade_mm_s = -6 ")], ("rotor.grade_mm_s = -6", "16 for G16")),
        ([("[rotor]", "[rotor]\nmodes = 5")], ("rotor.modes = 5", "must be even")),
        ([("[rotor]", "[rotor]\nlost_slot = 21")], ("rotor.lost_slot = 21", "1 to 20")),
        ([("[rotor]", "[rotor]\nspeed_upto_rpm = 900")], ("rotor.speed_upto_rpm = 900", "1000 rpm")),
        ([("[rotor]", "[rotor]\nkt_at_disc_bending = 1.6")], ("rotor.kt_at_disc_torsion", "beside the other one")),
        ([("[rotor]", "[rotr]")], ("rotr", "did you mean 'rotor'?")),
        ([("yield_MPa = 450", "yield_MPa = 900")], ("stub_strength.yield_MPa = 900", "must not exceed")),
        ([("stiffness_kN_mm = 620 ", "stifness_kN_mm = 620 ")], ("drive_bearing.stifness_kN_mm", "did you mean 'stiffness_kN_mm'?")),
        ([("z_mm = 62", "z_mm = 9000")], ("z_mm",)),
    ],
)  # fmt: skip
def test_faults_name_field_value_and_way_out(pairs, words):
    with pytest.raises(InputFault) as error:
        drum_sheet_from_text(changed(*pairs))
    text = str(error.value)
    for word in words:
        assert word in text, text


def test_all_faults_come_at_once_each_with_its_line():
    text = changed(
        ("stub_diameter_mm = 175", "stub_diameter_mm = -1"), ("power_kW = 460", "power_kW = -3"), ("corner_radius_mm = 12", "corner_radius_mm = 50"),
        ("drag_kW = 18 ", 'drag_kW = "much" '),
    )  # fmt: skip
    with pytest.raises(InputFault) as error:
        drum_sheet_from_text(text)
    lines = text.splitlines()
    found = {fault.field: fault.line for fault in error.value.faults}
    assert found.keys() >= {
        "drum.cutout.corner_radius_mm",
        "drum.drive_end.stub_diameter_mm",
        "running.1.power_kW",
        "rotor.drag_kW",
    }
    for field, line in found.items():
        assert field.split(".")[-1] in lines[line - 1]
    assert [f.line for f in error.value.faults] == sorted(f.line for f in error.value.faults)


def test_missing_tables_are_asked_for_together():
    with pytest.raises(InputFault) as error:
        drum_sheet_from_text('title = "empty"\n')
    assert {f.field for f in error.value.faults} == {"drum", "material", "running"}


def test_thrust_without_a_table_of_thrust_names_the_state():
    with pytest.raises(InputFault, match=r"running 'mixed prunings'\.thrust_ratio"):
        quick(("power_kW = 420", "power_kW = 420\nthrust_kN = 3")).answer()


def test_from_python_states_are_checked_too(sheet):
    running = sheet.running[0]
    for states, shares, words in (
        ((), None, "at least one state"), ((running, running), None, "more than one state"),
        ((replace(running, speed_rpm=0.0, power_kW=0.0),), None, "above 0"), ((running,), (0.5,), "must add up to 1"),
        ((running,), (0.5, 0.5), "one for each state"),
    ):  # fmt: skip
        with pytest.raises(InputFault, match=words):
            whole_drum(sheet.drum, states, sheet.material, time_shares=shares)
    with pytest.raises(InputFault, match="lost_slot"):
        whole_drum(sheet.drum, (running,), sheet.material, wanted=RotorWanted(lost_slot=99))


# files


def test_tables_hold_every_row_slot_body_and_bearing(sheet, got, tmp_path):
    paths = write_drum(sheet, got, tmp_path / "out", caution="take care")
    assert {p.name for p in paths} == {*(f"{name}.csv" for name in TABLES), "rotor.json"}
    read = {}
    for name, head in TABLES.items():
        with (tmp_path / "out" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            table = csv.DictReader(file)
            read[name] = list(table)
            assert tuple(table.fieldnames) == head
    assert len(read["rows"]) == 20
    for line, row in zip(read["rows"], [r for s in got.states for r in s.rows], strict=True):
        assert int(line["row"]) == row.row + 1
        assert float(line["moment_largest_kNm"]) == pytest.approx(1e-6 * row.largest_moment_Nmm)
        assert float(line["torque_kNm"]) == pytest.approx(1e-6 * row.torque_Nmm)
        assert line["slots"] == f"{2 * row.row + 1} {2 * row.row + 2}"
        assert float(line["to_disc_mm"]) == row.to_disc_mm
    slots = read["slots"]
    assert [int(s["slot"]) for s in slots] == list(range(1, 21))
    assert [int(s["opposite"]) for s in slots[:4]] == [2, 1, 4, 3]
    for s in slots:
        assert float(s["x_mm"]) == pytest.approx(370 * math.radians(float(s["angle_deg"])))
    bodies = read["masses"]
    assert bodies[-1]["body"] == "whole rotor"
    assert sum(float(b["mass_kg"]) for b in bodies[:-1]) == pytest.approx(float(bodies[-1]["mass_kg"]), rel=1e-12)
    assert sum(float(b["inertia_kg_m2"]) for b in bodies[:-1]) == pytest.approx(got.masses.polar_kg_m2, rel=1e-12)
    middle = sum(float(b["mass_kg"]) * float(b["centre_z_mm"]) for b in bodies[:-1]) / got.masses.mass_kg
    assert middle == pytest.approx(float(bodies[-1]["centre_z_mm"]))
    assert [(b["state"], b["bearing"]) for b in read["bearings"]] == [
        (s.name, side) for s in got.states for side in ("drive", "free")
    ]
    for b in read["bearings"]:
        # C for the target is the load's rating at 30,000 h
        assert (470 if b["bearing"] == "drive" else 360) / float(b["rating_for_target_kN"]) == pytest.approx(
            (float(b["life_h"]) / 30_000) ** 0.3
        )
    assert {c["excited"] for c in read["critical_speeds"]} <= {"yes", "no"}


def test_json_says_where_every_number_comes_from(sheet, got, tmp_path):
    write_drum(sheet, got, tmp_path, caution="take care")
    told = json.loads((tmp_path / "rotor.json").read_text(encoding="utf-8"))
    figures = told["figures"] + [f for s in told["states"] for f in s["figures"]]
    assert len(figures) > 100
    for f in figures:
        assert f["kind"] in {k.value for k in Kind}
        assert f["from"].startswith(f["kind"])
        assert f["unit"]
        assert f["formula"]
    burst = next(f for f in figures if f["what"].startswith("burst speed"))
    assert burst["kind"] == "from memory, not confirmed"
    assert told["caution"] == "take care"
    assert told["file"] == TEXT
    assert told["lost_hammer"]["slot"] == got.lost.slot + 1
    for state, own in zip(told["states"], got.states, strict=True):
        row = state["rows"][3]
        total = sum(complex(*c["moment_Nmm"]) for c in row["causes"] if c["frame"] == "space")
        assert abs(total) == pytest.approx(own.rows[3].rotating_amplitude_Nmm)
        assert state["worst_row"] == own.worst_row.row + 1
    assert told["answer"] == list(answer_sentences(got))


def test_a_place_that_cannot_be_written_is_named(sheet, got, tmp_path):
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(FileFault, match=r"cannot be written.*--out"):
        write_drum(sheet, got, tmp_path / "taken")
