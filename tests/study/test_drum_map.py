"""The map of all slots: each row under its own loads, the worst one solved afresh."""

import csv

import numpy as np
import pytest

from femdrum.assess.drum_map import beam_loads_of, row_vectors
from femdrum.errors import InputFault
from femdrum.study import read_study, run

STUDY = """
title = "Map"

[part]
kind = "ring"
outer_diameter_mm = 760
wall_mm = 40
pitch_mm = 200
slots_around = 2
rows = "aligned"

[part.cutout]
shape = "slot"
around_mm = 60
axial_mm = 110
corner_radius_mm = 20

[material]
grade = "S355"

[machine]
power_kW = 550
speed_rpm = 1000
rotor_mass_kg = 3000
bearing_span_mm = 1600
sheave_diameter_mm = 600
sheave_overhang_mm = 180
belt_direction_deg = 90

[[load]]
name = "speed"
kind = "rotation"
speed_rpm = 1000

[[load]]
name = "drive"
kind = "drive_torque"

[[load]]
name = "weight"
kind = "self_weight"

[[load]]
name = "belts"
kind = "belt_pull"
shaft_factor = 1.8
distance_mm = 400

[[condition]]
name = "running"
loads = { speed = 1.0, drive = 1.0, weight = 1.0, belts = 1.0 }

[[condition]]
name = "standing"
loads = { weight = 1.0 }

[[duty]]
name = "starts"
condition = "running"
back_to = "standing"
per_1000_h = 1000

[[duty]]
name = "turning"
condition = "running"
cycle = "rotating"
hours_per_1000_h = 900

[life]
target_h = 10_000

[life.finish]
process = "milled"

[drum]
shell_length_mm = 1000
rows_total = 4
first_row_mm = 200
may_stay_open = true

[drum.drive_end]
disc_thickness_mm = 50
stub_diameter_mm = 160
stub_length_mm = 240
fillet_radius_mm = 15
beyond_mm = 250

[drum.drive]
sheave_diameter_mm = 600
sheave_overhang_mm = 180
sheave_mass_kg = 140
sheave_inertia_kg_m2 = 9
belt_direction_deg = 90
shaft_factor = 1.8

[drum.hammer]
path = "both"
mass_kg = 15
length_mm = 900
width_mm = 60
depth_mm = 54

[[drum.state]]
condition = "running"
speed_rpm = 1000
power_kW = 550
cut_direction_deg = 60

[[drum.state]]
condition = "standing"
speed_rpm = 0

[accuracy]
error = 0.05
"""


def study(folder, text=STUDY):
    (folder / "map.toml").write_text(text, encoding="utf-8")
    return read_study(folder / "map.toml")


@pytest.fixture(scope="module")
def mapped(tmp_path_factory):
    folder = tmp_path_factory.mktemp("map")
    asked = study(folder)
    return asked, run(asked, folder / "out", workers=1)


def test_every_slot_stands_in_the_map_the_most_used_first(mapped):
    _, results = mapped
    slots = results.variants[0].life.map.slots
    assert sorted(s.number for s in slots) == list(range(1, 9))
    assert [s.utilisation for s in slots] == sorted((s.utilisation for s in slots), reverse=True)
    with (results.folder / "map.csv").open(encoding="utf-8") as file:
        assert [int(row["number"]) for row in csv.DictReader(file)] == [s.number for s in slots]


def test_no_two_rows_carry_the_same_moment(mapped):
    _, results = mapped
    rows = [r for r in results.variants[0].life.map.rows if r.condition == "running"]
    moments = [r.moment_Nm for r in rows]
    assert len(rows) == 4
    assert len({round(m, 3) for m in moments}) == 4


def test_end_discs_hold_the_shell(mapped):
    _, results = mapped
    found = results.variants[0].life.map
    assert found.influence.startswith("end discs hold the shell round at 150 mm and 150 mm")
    ends = [float(n) for n in found.influence.split("those rows have ")[1].split(" of ")[0].split(" and ")]
    assert all(0.3 < n < 0.95 for n in ends)
    # so the middle rows are used most
    assert found.slots[0].row in (2, 3)


def test_the_worst_row_solved_afresh_agrees(mapped):
    _, results = mapped
    fresh = results.variants[0].life.map.fresh
    assert {f.condition for f in fresh} == {"running", "standing"}
    for peak in fresh:
        assert peak.agrees
        # the same unit cases, so the same to rounding
        assert peak.map_MPa == pytest.approx(peak.fresh_MPa, rel=1e-6)


def test_a_row_that_carries_what_the_ring_carried_lives_as_the_ring(mapped):
    asked, results = mapped
    variant, stored = asked.variants[0], results.variants[0]
    names = tuple(c.name for c in stored.edge.cases)
    from femdrum.assess.drum_map import beam_free, row_loads

    rows = row_loads(asked.life.drum.drum.around(variant.part), asked.life.drum.states, variant.material)
    vectors = {a.case: np.array(a.turning) for a in stored.answers}
    free = beam_free(vectors, variant.conditions, {load.name: load.kind for load in variant.loads})
    # what is left is the speed alone
    assert free["running"] == pytest.approx(vectors["speed"])
    assert free["standing"] == pytest.approx(np.zeros((3, len(names))), abs=1e-9)
    own = row_vectors(rows["standing"][1], variant.part, variant.material, names, 0.0)
    moment = abs(rows["standing"][1].moment_Nmm("space"))
    at = [names.index("bending_x"), names.index("bending_y")]
    # it stands in space, so it turns through both axes with its full size
    assert np.hypot(own[1, at], own[2, at]) == pytest.approx([moment, moment], rel=1e-9)
    assert own[0, at] == pytest.approx([0.0, 0.0], abs=1e-6)


def test_weight_and_belts_bend_a_row_as_statics_say(mapped):
    asked, _ = mapped
    from femdrum.assess.drum_map import row_loads

    variant = asked.variants[0]
    rows = row_loads(asked.life.drum.drum.around(variant.part), asked.life.drum.states, variant.material)
    loads = beam_loads_of(rows["running"][0], 0.0, "row 1")
    kinds = [load.kind for load in loads]
    assert kinds.count("bending") == 1
    assert kinds.count("torsion") == 1
    # power at speed, less what the tips of the rows before have taken: none before the first
    torque = next(load for load in loads if load.kind == "torsion")
    assert abs(torque.torque_Nm) == pytest.approx(550e3 / (1000 * np.pi / 30), rel=1e-6)


FAULTS = {
    "state missing": (STUDY.replace('condition = "standing"\nspeed_rpm = 0', 'condition = "other"\nspeed_rpm = 0'), ["drum.state", "'standing'"]),
    "does not fit": (STUDY.replace("shell_length_mm = 1000", "shell_length_mm = 500"), ["drum"]),
    "no life": (STUDY.replace("[life]\ntarget_h = 10_000\n\n[life.finish]\nprocess = \"milled\"\n", ""), ["[life]"]),
    "unknown field": (STUDY.replace("first_row_mm = 200", "first_row = 200"), ["drum.first_row", "did you mean 'first_row_mm'?"]),
    "missing end": (STUDY.replace("[drum.drive_end]", "[drum.drive_and]"), ["drum.drive_end", "is missing"]),
    "rows twice": (STUDY.replace("target_h = 10_000", "target_h = 10_000\nrows_total = 9"), ["life.rows_total = 9", "drum.rows_total = 4"]),
}  # fmt: skip


@pytest.mark.parametrize("what", FAULTS)
def test_bad_drums_are_told(tmp_path, what):
    text, said = FAULTS[what]
    with pytest.raises(InputFault) as caught:
        study(tmp_path, text)
    assert all(words in str(caught.value) for words in said), str(caught.value)


def test_a_ring_without_the_unit_case_says_what_to_add(tmp_path):
    text = STUDY.replace("drive = 1.0, ", "").replace('[[load]]\nname = "drive"\nkind = "drive_torque"\n', "")
    results = run(study(tmp_path, text), tmp_path / "out", workers=1)
    assert results.variants[0].life is None
    reason = next(iter(results.life["no_life"].values()))
    assert "torsion" in reason
    assert "drive_torque" in reason


def test_the_map_is_drawn(mapped):
    import matplotlib.image as image

    from femdrum.report import draw

    _, results = mapped
    png = next(p for p in draw(results.folder, "map") if p.suffix == ".png")
    pixels = image.imread(png)[..., :3]
    assert pixels.shape[1] > 800
    assert len(np.unique((pixels * 255).astype(int).reshape(-1, 3), axis=0)) > 50
    with png.with_suffix(".csv").open(encoding="utf-8") as file:
        assert [int(row["slot"]) for row in csv.DictReader(file)] == list(range(1, 9))
