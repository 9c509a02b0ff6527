"""The machine, its bar and limits, and named conditions in a study file."""

import csv
from dataclasses import replace

import fake
import pytest
from machine_texts import ALIGNED, FULL, MACHINE, load
from texts import PLATE, RING, with_

from femdrum.assess.answer import Share
from femdrum.errors import InputFault
from femdrum.loads.factors import factors
from femdrum.provenance import Kind
from femdrum.study import Results, run, study_from_text
from femdrum.study.text import describe


def faults(text):
    with pytest.raises(InputFault) as caught:
        study_from_text(text)
    return [str(f) for f in caught.value.faults]


def line_of(text, part):
    return next(i for i, line in enumerate(text.splitlines(), 1) if part in line)


def test_a_machine_with_bar_and_limits_and_conditions():
    (variant,) = study_from_text(FULL).variants
    machine = variant.machine
    assert (machine.power_kW, machine.tips_total, machine.bar.path) == (550, 48, "both")
    assert [(x.name, x.tip_force_kN) for x in machine.limits] == [("pin", 400)]
    assert [(c.name, c.loads) for c in variant.conditions] == [
        ("held", {"running": 1.0, "jam": 0.5}),
        ("turned", {"running": 1, "weight": 1}),
    ]
    assert [c.name for c in variant.cases] == ["running", "jam", "weight", "held", "turned"]
    inputs = variant.inputs
    assert list(inputs) == ["part", "material", "machine", "load", "condition", "accuracy"]
    assert inputs["machine"]["bar"]["mass_kg"] == 8
    assert inputs["machine"]["limits"] == [{"name": "pin", "tip_force_kN": 400}]
    assert inputs["condition"][0] == {"kind": "condition", "name": "held", "loads": {"running": 1.0, "jam": 0.5}}


def test_without_a_machine_nothing_is_said_of_one():
    (variant,) = study_from_text(RING).variants
    assert variant.machine is None
    assert variant.conditions == ()
    assert list(variant.inputs) == ["part", "material", "load", "accuracy"]


def test_keys_follow_the_machine_its_bar_its_limits_and_the_conditions():
    key = study_from_text(FULL).variants[0].key
    assert study_from_text(FULL.replace("power_kW = 550", "power_kW = 550.0")).variants[0].key == key
    for old, new in (
        ("power_kW = 550", "power_kW = 551"),
        ('path = "both"', 'path = "one"'),
        ("tip_force_kN = 400", "tip_force_kN = 401"),
        ("jam = 0.5", "jam = 0.6"),
        ('name = "held"', 'name = "stopped"'),
    ):
        assert study_from_text(FULL.replace(old, new)).variants[0].key != key, new


def test_axes_stand_in_the_machine_its_bar_and_its_limits_too():
    text = FULL.replace("power_kW = 550", "power_kW = [450, 550]").replace('"both"', '["both", "one", "halves"]')
    study = study_from_text(text.replace("tip_force_kN = 400", "tip_force_kN = [300, 400]"))
    assert [a.key for a in study.axes] == ["machine.power_kW", "machine.bar.path", "machine.limit.pin.tip_force_kN"]
    assert len({v.key for v in study.variants}) == 12
    last = study.variants[-1].machine
    assert (last.power_kW, last.bar.path, last.limits[0].tip_force_kN) == (550, "halves", 400)


def test_a_bar_without_a_path_is_told_with_what_may_stand_there():
    text = MACHINE.replace('path = "both"\n', "")
    (told,) = faults(ALIGNED + text)
    assert "machine.bar.path: is missing; must be one of 'both', 'one', 'halves'" in told
    assert "no default" in told
    (told,) = faults((ALIGNED + MACHINE).replace('"both"', '"bth"'))
    assert told.startswith(f"line {line_of(ALIGNED + MACHINE, 'path')}: machine.bar.path = 'bth'")


def test_a_load_that_needs_what_the_machine_does_not_say():
    text = load(RING, "drive_torque", name='"drive"')
    assert faults(text) == [
        f"line {line_of(text, 'drive_torque')}: machine.{field}: is missing; load 'drive' (drive_torque) needs it; "
        f"write a table [machine] with {field}"
        for field in ("power_kW", "speed_rpm")
    ]
    text = load(RING + "[machine]\npower_kW = 550\n", "drive_torque")
    (told,) = faults(text)
    assert "machine.speed_rpm: is missing; load 'drive_torque'" in told
    assert "give speed_rpm under [machine]" in told
    text = load(RING + "[machine]\nspeed_rpm = 900\n", "through_bar")
    (told,) = faults(text)
    assert "machine.bar: is missing" in told
    assert "[machine.bar]" in told


def test_unknown_loads_in_a_condition_and_names_that_stand_twice():
    text = FULL.replace("{ running = 1.0, jam = 0.5 }", "{ runing = 1.0, jamm = 0.5 }")
    line = line_of(text, "runing")
    known = "names no load of this study, which has running, jam, weight; did you mean"
    assert faults(text) == [
        f"line {line}: condition.held.loads.runing = 1.0: {known} 'running'?",
        f"line {line}: condition.held.loads.jamm = 0.5: {known} 'jam'?",
    ]
    text = FULL.replace('name = "held"', 'name = "running"')
    (told,) = faults(text)
    assert told.startswith(
        f"line {line_of(text, 'loads = {') - 1}: condition.running.name = 'running': is the name of the load at line "
    )
    text = FULL.replace('name = "turned"', 'name = "held"')
    (told,) = faults(text)
    assert "condition[2].name = 'held': is the name of the condition at line" in told


def test_a_condition_spins_the_shell_once():
    text = load(FULL, "through_bar", name='"bars"').replace("running = 1.0, jam = 0.5", "running = 1.0, bars = 1.0")
    (told,) = faults(text)
    assert told.startswith(
        f"line {line_of(text, 'bars = 1.0')}: condition.held.loads.bars = 1.0: spins the shell a second time, after 'running'"
    )


def test_a_load_whose_kind_varies_needs_a_name_of_its_own_in_a_condition():
    text = load(ALIGNED + MACHINE, "x").replace(
        'kind = "x"', 'kind = ["jam", "reversal"]\nspeed_rpm = 200\nstop_angle_deg = 90'
    )
    told = faults(text + '[[condition]]\nname = "both"\nloads = { jam = 1.0 }\n')
    assert any("needs a name before a condition can speak of it" in t for t in told)


@pytest.mark.parametrize(
    ("given", "parts"),
    [
        ("loads = { running = 0.0, jam = 1.0 }", ["condition.held.loads.running = 0.0", "must not be zero"]),
        (
            "loads = { running = [0.5, 1.0], jam = 1.0 }",
            ["condition.held.loads.running", "one number: a share does not vary"],
        ),
        ('loads = { running = "all" }', ["condition.held.loads.running = 'all'", "finite number"]),
        ("loads = {}", ["condition.held.loads = {}", "names of loads"]),
        ('loads = ["running"]', ["condition.held.loads", "names of loads"]),
        ("laods = { running = 1.0 }", ["condition.held.laods", "did you mean 'loads'?"]),
    ],
)
def test_shares_that_make_no_sense(given, parts):
    told = faults(FULL.replace("loads = { running = 1.0, jam = 0.5 }", given))
    for part in parts:
        assert any(part in t for t in told), told
    assert all(t.startswith("line ") for t in told)


def test_what_does_not_go_with_the_part_is_told_at_the_load_or_at_the_part():
    text = load(ALIGNED, "flank_pressure", slot=2, flank='"leading"', pressure_MPa=5)
    (told,) = faults(text)
    assert told.startswith(f"line {line_of(text, 'slot = 2')}: load[2].slot = 2: must be below slots_around = 2")
    text = load(ALIGNED, "flank_pressure", slot='"all"', flank='"leading"', pressure_MPa=5, extent_mm=110)
    (told,) = faults(text)
    assert told.startswith(
        f"line {line_of(text, 'extent_mm')}: load[2].extent_mm = 110: must be a finite number above 0 and at most 104"
    )
    odd = ALIGNED.replace("slots_around = 2", "slots_around = 3")
    (told,) = faults(load(odd, "opposed_pull", force_kN=5))
    assert "load[2].slot = 0: needs a slot opposite, and a ring with slots_around = 3 has none" in told
    text = load(ALIGNED + MACHINE.replace("depth_mm = 59", "depth_mm = 61"), "through_bar")
    (told,) = faults(text)
    assert told.startswith(
        f"line {line_of(text, 'depth_mm')}: machine.bar.depth_mm = 61: must be at most the slot's size around"
    )
    text = load(ALIGNED + MACHINE.replace("tip_diameter_mm = 1000", "tip_diameter_mm = 700"), "jam", stop_angle_deg=90)
    (told,) = faults(text)
    assert told.startswith(f"line {line_of(text, 'tip_diameter_mm')}: machine.tip_diameter_mm = 700")


def test_a_flank_that_some_radii_leave_no_room_for_can_be_left_out():
    text = load(ALIGNED.replace("= 8", '= [8, "full"]'), "flank_pressure", slot=0, flank='"free_end"', pressure_MPa=5)
    (told,) = faults(text)
    assert "no flat free end" in told
    assert "1 of 2 variants" in told
    assert "leave_out_impossible" in told
    study = study_from_text(text + "[variants]\nleave_out_impossible = true\n")
    assert [v.values for v in study.variants] == [(8,)]
    assert study.left_out == 1


def test_a_jam_without_a_cap_is_a_warning_not_a_fault():
    capped, free = FULL, FULL.replace('[[machine.limit]]\nname = "pin"\ntip_force_kN = 400\n', "")
    warnings = []
    for text in (capped, free):
        (variant,) = study_from_text(text).variants
        warnings.append(factors(variant.part, variant.loads[1], variant.machine, variant.material).warnings)
        said = " ".join(" ".join(describe(study_from_text(text))).split())
        assert ("warning, load 'jam': no link is declared" in said) == (text is free)
        assert "conditions: held (running, jam), turned (running, weight)" in said
    assert warnings[0] == ()
    assert "no link is declared that could cap the jam" in warnings[1][0]


def test_stray_keys_say_that_they_belong_to_the_machine():
    (told,) = faults("power_kW = 5\n" + RING)
    assert "it belongs under [machine]" in told
    told = faults(RING + "[machine]\npowr_kW = 5\n")
    assert "machine.powr_kW = 5: is no field of a machine" in told[0]
    assert "did you mean 'power_kW'?" in told[0]
    told = faults(RING + "[[machine]]\npower_kW = 5\n")
    assert "machine: must be one table, [machine]" in told[0]


CONDITIONS = (
    with_(PLATE, kind='"tension"').replace('"tension"\nlength', '"plate"\nlength')
    + '[[load]]\nname = "up"\nkind = "tension"\ndirection = "y"\nstress_MPa = 50\n'
    + '[[condition]]\nname = "together"\nloads = { tension = 1.0, up = 0.5 }\n'
)


def solve(part, loads, material, accuracy, *, on_event=None, conditions=(), machine=None):
    """As the stand-in, with an answer for each condition."""
    assert machine is None
    solution = fake.solve(part, loads, material, accuracy, on_event=on_event)
    figures = factors(part, loads[0]).figures or _figures()
    more = tuple(
        replace(
            solution.answers[0], load=c, adding_maxima_MPa=500.0, figures=figures, warnings=("look",), unbalanced="5 N",
            shares=(Share("tension", 1.0, 240.0, 0.75), Share("up", 0.5, 80.0, 0.25)),
        )
        for c in conditions
    )  # fmt: skip
    return fake.FakeSolution((*solution.answers, *more), solution.edge)


def _figures():
    from femdrum.figure import figure
    from femdrum.loads.drive import drive_torque_Nmm, start_torque_Nmm

    return (figure(drive_torque_Nmm, 5e6), figure(start_torque_Nmm, 1e7))


def test_a_condition_has_a_row_of_its_own_and_comes_back_whole(tmp_path):
    study = study_from_text(CONDITIONS, name="plates")
    results = run(study, tmp_path / "out", workers=1, solver=solve)
    with (tmp_path / "out" / "results.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(r["case"], r["case_kind"]) for r in rows] == [
        ("tension", "tension"),
        ("up", "tension"),
        ("together", "condition"),
    ]
    assert [r["adding_maxima_MPa"] for r in rows] == ["", "", "500.0"]
    assert [r["shares"] for r in rows] == ["", "", "tension 0.7500; up 0.2500"]
    assert results.complete
    answer = Results.load(tmp_path / "out").variants[0].answer("together")
    assert answer.load == {"kind": "condition", "name": "together", "loads": {"tension": 1.0, "up": 0.5}}
    assert answer.shares == (Share("tension", 1.0, 240.0, 0.75), Share("up", 0.5, 80.0, 0.25))
    assert answer.figures == _figures()
    assert answer.figures[1].provenance.kind is Kind.COMMON_PRACTICE
    assert (answer.warnings, answer.unbalanced) == (("look",), "5 N")


def test_a_variant_that_fails_has_rows_for_its_conditions_too(tmp_path):
    text = CONDITIONS.replace("width_mm = 200", "width_mm = 666")
    results = run(study_from_text(text, name="plates"), tmp_path / "out", workers=1, solver=solve)
    assert [(r["case"], r["verdict"]) for r in results.rows] == [
        ("tension", "failed"),
        ("up", "failed"),
        ("together", "failed"),
    ]
