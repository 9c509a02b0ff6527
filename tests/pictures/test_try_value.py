"""What a page needs for tried values: loads taken apart, places kept, numbers packed, and what is said of it."""

import base64
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from life_studies import LIFE_PLATE, made
from picture_studies import PLATE

from femdrum.assess.solve import solve_all
from femdrum.edge import EdgeStress, UnitCase
from femdrum.model import Condition
from femdrum.report.try_life import COMMON_WORDS, COUNTED_WORDS, life_data
from femdrum.report.try_line import MOST_VARIANTS, label, line_of, smooth_ones
from femdrum.report.try_loads import TOGETHER, LoadPart, Mix, mixes, own_variant, speed_rpm
from femdrum.report.try_pack import half, single, small
from femdrum.report.try_places import _chances, kept_places, regions, rim_depths
from femdrum.report.try_value import section
from femdrum.study import Results, read_study, run, study_from_text

BARS = """\
title = "A bar as a strut"

[part]
kind = "ring"
outer_diameter_mm = 760
wall_mm = 40
pitch_mm = 180
slots_around = 2
rows = "aligned"

[part.cutout]
shape = "slot"
around_mm = 60
axial_mm = 120
corner_radius_mm = 20

[material]
grade = "S355"

[machine]
power_kW = 500
speed_rpm = 1000

[machine.bar]
mass_kg = 20
length_mm = 960
width_mm = 60
depth_mm = 54
tip_mass_kg = 2.0
path = "both"
clamp_force_kN = 150
friction = 0.12

[[load]]
name = "bars"
kind = "through_bar"

[[load]]
name = "wedges"
kind = "wedge_clamp"
force_kN = 150

[[load]]
name = "drive"
kind = "drive_torque"

[[load]]
name = "swell"
kind = "internal_pressure"
pressure_MPa = 2

[[condition]]
name = "clamped"
loads = { bars = 1.0, wedges = 1.0 }

[[condition]]
name = "running"
loads = { bars = 1.0, wedges = 1.0, drive = 2.0 }

[[condition]]
name = "swollen"
loads = { wedges = 1.0, swell = 1.0 }

[accuracy]
error = 0.1
"""


@pytest.fixture(scope="module")
def bars(tmp_path_factory):
    return run(study_from_text(BARS, name="bars"), tmp_path_factory.mktemp("bars") / "out", workers=1)


def test_conditions_are_the_sum_of_their_loads(row):
    variant = row.variants[0]
    (mix,) = mixes(row, variant)
    assert mix.name == "running"
    assert [p.share for p in mix.loads] == [1.0, 1.0, 1.0, 1.5]
    assert not mix.standing
    stored = np.array(variant.answer("running").turning)
    assert mix.at([1.0] * 4) == pytest.approx(stored, rel=1e-12, abs=1e-9)
    assert speed_rpm(row, variant) == 1000.0
    # the peak of the drive is that of its own answer
    at = [p.name for p in mix.loads].index("drive")
    assert mix.at(np.eye(4)[at]) == pytest.approx(np.array(variant.answer("drive").turning))


def test_without_conditions_loads_are_put_together(plate):
    some = mixes(plate, plate.variants[0])
    assert [m.name for m in some] == [TOGETHER, "pull", "turn"]
    assert [p.start for p in some[0].loads] == [1.0, 0.0]
    assert some[0].at([0.5, 2.0]) == pytest.approx(0.5 * some[1].at([1.0]) + 2.0 * some[2].at([1.0]))
    assert speed_rpm(plate, plate.variants[0]) is None


def test_what_bars_answer_follows_from_stored_states(bars):
    """Other factors and another speed, against the ring solved anew with them."""
    variant = bars.variants[0]
    clamped, running, swollen = mixes(bars, variant)
    assert not any(m.standing for m in (clamped, running, swollen))
    assert {p.name: p.power for p in running.loads} == {"bars": 2, "wedges": 0, "drive": -1}
    own = own_variant(bars, variant)
    times = {"bars": 0.7, "wedges": 1.6, "drive": 0.4}
    shares = {"bars": 0.7, "wedges": 1.6, "drive": 0.8}
    solved = solve_all(
        own.part, own.loads, own.material, own.accuracy, machine=own.machine,
        conditions=[*own.conditions, Condition(name="tried", loads=shares)],
    )["tried"]  # fmt: skip
    ours = running.at([times[p.name] for p in running.loads])
    assert ours == pytest.approx(np.array(solved.turning), rel=1e-6, abs=1e-9 * np.abs(ours).max())
    assert np.abs(ours[0] - sum(times[p.name] * p.vectors[0] for p in running.loads)).max() == 0.0
    # no load alone tells how the bar answers to it: parts that are wrong in it would not meet this
    strut = [c.name for c in variant.edge.cases].index("strut:0")
    pushes = {p.name: p.vectors[0, strut] for p in running.loads}
    assert pushes["wedges"] < -100.0
    faster = study_from_text(BARS.replace("speed_rpm = 1000", "speed_rpm = 1150"), name="x").variants[0]
    again = solve_all(faster.part, faster.loads, faster.material, faster.accuracy, machine=faster.machine, conditions=faster.conditions)  # fmt: skip
    moved = running.at([1.15 ** (p.power or 0) for p in running.loads])
    assert moved == pytest.approx(np.array(again["running"].turning), rel=1e-6, abs=1e-9 * np.abs(moved).max())


@pytest.mark.slow
def test_a_load_whose_bar_answer_is_not_told_stands_still(tmp_path):
    """One condition with two loads beside the bar: neither's answer follows from it alone."""
    text = BARS.replace('[[condition]]\nname = "clamped"\nloads = { bars = 1.0, wedges = 1.0 }\n', "").replace(
        "loads = { bars = 1.0, wedges = 1.0, drive = 2.0 }", "loads = { bars = 1.0, wedges = 1.0, swell = 0.5 }"
    )
    results = run(study_from_text(text, name="one"), tmp_path / "out", workers=1)
    running, swollen = mixes(results, results.variants[0])
    assert [p.name for p in running.loads] == ["bars"]
    assert set(running.standing) == {"wedges", "swell"}
    stored = np.array(results.variants[0].answer("running").turning)
    assert running.at([1.0]) == pytest.approx(stored, rel=1e-9, abs=1e-6)
    assert not swollen.standing
    assert "stand as they are" in " ".join(section(results).limits)


def test_without_the_study_s_text_conditions_with_bars_stand_still(bars):
    other = Results(bars.folder, {**bars.data, "study": "nothing = "}, bars.lines)
    clamped, running, swollen = mixes(other, other.variants[0])
    assert not clamped.loads
    assert not running.loads
    assert [p.name for p in swollen.loads] == ["wedges", "swell"]
    assert speed_rpm(other, other.variants[0]) is None
    assert '"mixes":[{"name":"swollen"' in section(other).data


def test_places_hold_the_peaks_of_their_mixes(row):
    variant = row.variants[0]
    edge, some = variant.edge, mixes(row, variant)
    whole = kept_places(edge, some, 10**6)
    assert whole.whole
    assert whole.at.size == regions(edge).size
    kept = kept_places(edge, some, 600)
    assert kept.at.size <= 700
    assert not kept.whole
    assert 0.0 <= kept.missed < 0.02
    assert kept.raised >= 1.0
    assert np.all(kept.weight >= 1.0)
    peaks = edge.combine(variant.answer("running").factors).peaks()
    at = np.ravel_multi_index((peaks.at.slot, peaks.at.s_index, peaks.at.d_index), edge.stress.shape[1:4])
    assert at in kept.at
    assert set(regions(edge).reshape(-1)[kept.at]) == set(kept.region)


def test_regions_tell_slots_corners_and_halves_apart(row):
    edge = row.variants[0].edge
    found = regions(edge)
    assert found.shape == edge.stress.shape[1:4]
    assert not set(found[0].ravel()) & set(found[1].ravel())
    assert len(set(found[0].ravel())) == 16
    x, y = edge.place_mm[..., 0], edge.place_mm[..., 1]
    for number in set(found[0].ravel()):
        here = found[0] == number
        deep = edge.place_mm[..., 2][here]
        assert deep.min() > 20 - 1e-6 or deep.max() < 20 + 1e-6
        if number // 2 < 4:  # a corner lies in one quarter of the slot
            assert len({(a > 0, b > 0) for a, b in zip(x[here], y[here], strict=True)}) == 1


def test_chances_fill_the_room():
    near = np.random.default_rng(1).exponential(size=5000) ** 3
    chance = _chances(near, 400)
    assert np.all((chance > 0) & (chance <= 1))
    assert chance.sum() == pytest.approx(400, rel=0.02)
    assert np.all(np.diff(chance[np.argsort(near)]) >= -1e-12)
    assert np.all(_chances(near[:300], 400) == 1.0)


def edge_of(pressure, rim_slope=0.1):
    depth = np.linspace(0.0, 40.0, 9)
    shape = (1, 1, 8, 9)
    return EdgeStress(
        (UnitCase("p", "MPa", "pressure"),), np.arange(8.0), depth, np.zeros(9), np.zeros((8, 9, 3)), np.ones((8, 9)),
        np.zeros((*shape, 3)), np.zeros((*shape, 3)), np.broadcast_to(pressure, shape).copy(), rim_slope=rim_slope,
    )  # fmt: skip


def test_rims_of_pressed_walls_are_found():
    pressure = np.zeros(9)
    pressure[1:4] = -3.0
    edge = edge_of(pressure)
    d = np.arange(9)
    found = rim_depths(edge, np.zeros(9, int), d, np.zeros(9, int))
    assert np.all(found[1:8] == -1)  # 5 mm apart: only the rims themselves lie within a tenth of the wall
    assert found[0] >= 0
    assert np.all(rim_depths(edge_of(pressure, 0.0), np.zeros(9, int), d, np.zeros(9, int)) == -1)


def test_packed_numbers_come_back():
    random = np.random.default_rng(2)
    values = random.normal(size=(3, 50, 3)) * np.array([1e-9, 1.0, 1e6])[:, None, None]
    back = np.frombuffer(base64.b64decode(single(values)), "<f4").reshape(values.shape)
    assert back == pytest.approx(values, rel=1e-6)
    packed = half(values)
    rough = np.frombuffer(base64.b64decode(packed["of"]), "<f2").astype(float).reshape(values.shape)
    rough *= np.array(packed["by"])[:, None, None]
    assert np.all(np.abs(rough - values).max(axis=(1, 2)) <= 5e-4 * np.abs(values).max(axis=(1, 2)))
    assert np.frombuffer(base64.b64decode(small([-1, 0, 32767])), "<i2").tolist() == [-1, 0, 32767]
    with pytest.raises(ValueError, match="two bytes"):
        small([40_000])
    assert half(np.zeros((1, 2, 3)))["by"] == [1.0]


def test_the_radius_is_the_slider_and_a_full_round_is_not_gone_to(plate):
    line = line_of(plate)
    assert line.column == "corner_radius_mm"
    assert line.numbers == (8.0, 20.0, 30.0)
    assert [label(line, n) for n in range(3)] == ["8", "20", "full round, 30"]
    assert smooth_ones(line) == [False] * 3  # two are too few
    three = run_line(PLATE.replace('[8, 20, "full"]', '[6, 10, 20, 24, "full"]'), plate)
    assert smooth_ones(three) == [True, True, True, False, False]


def run_line(text, plate):
    """The line of a study that is not solved: the stored files of one variant stand for all."""
    study = study_from_text(text, name="line")
    out = Results(plate.folder, {**plate.data, "axes": [{"key": a.key, "column": a.column, "values": a.values} for a in study.axes]})  # fmt: skip
    vars(out)["variants"] = tuple(
        replace(
            plate.variants[0],
            key=v.key,
            axes=dict(zip([a.column for a in study.axes], v.values, strict=True)),
            inputs=json.loads(json.dumps(v.inputs)),
        )
        for v in study.variants
    )
    return line_of(out)


def test_of_many_variants_a_dozen_are_taken(plate):
    radii = ", ".join(f"{4 + 0.1 * k:.1f}" for k in range(200))
    line = run_line(PLATE.replace('[8, 20, "full"]', f"[{radii}]"), plate)
    assert len(line.variants) <= MOST_VARIANTS
    assert line.numbers[0] == 4.0
    assert line.numbers[-1] == pytest.approx(23.9)
    assert list(line.numbers) == sorted(line.numbers)


def test_other_axes_stand_as_in_the_chosen_variant(plate):
    text = PLATE.replace('[8, 20, "full"]', "[8, 12, 20]").replace("size_y_mm = 100", "size_y_mm = [90, 100]")
    line = run_line(text, plate)
    assert len(line.variants) == 3
    assert len({v.axes["size_y_mm"] for v in line.variants}) == 1


def test_the_sliders_begin_where_the_report_says(plate):
    line = line_of(plate, plate.variants[1])
    assert line.variants[line.chosen].key == plate.variants[1].key
    assert json.loads(section(plate, plate.variants[1]).data)["chosen"] == 1
    assert "corner radius 20 mm" in json.loads(section(plate, plate.variants[1]).data)["own"][1]


def test_the_section_is_small_and_safe_inside_a_page(row, plate):
    for results in (row, plate):
        found = section(results)
        assert len(found.data) < 1_500_000
        assert "<" not in found.data
        assert "</" not in found.script.replace("\\u003c/", "")
        data = json.loads(found.data)
        assert data["rules"]["near"] == 0.9
        assert len(data["variants"]) == len(line_of(results).variants)
    assert "Computed values of the corner radius only" in " ".join(section(plate).limits)
    assert not section(row).life


def test_sharp_corners_have_no_section(tmp_path):
    text = PLATE.replace('[8, 20, "full"]', "0")
    results = run(study_from_text(text, name="sharp"), tmp_path / "out", workers=1)
    assert section(results) is None


def test_life_is_counted_where_the_duty_is_the_stored_one(tmp_path_factory):
    results = made(LIFE_PLATE, "living", tmp_path_factory)
    variant = results.variants[0]
    some = mixes(results, variant)
    data = life_data(results, variant, variant.edge, some)
    first = data["count"]["places"][0]
    assert first["name"] == variant.life.places[0].name
    assert 10 ** first["own"] == pytest.approx(variant.life.life_h)
    assert first["knee"] == pytest.approx(variant.life.knee_amplitude_MPa)
    assert len(data["count"]["first"]) == 3
    assert section(results).limits[-1] == COUNTED_WORDS
    changed = Results(results.folder, {**results.data, "study": LIFE_PLATE.replace("40_000", "50_000")}, results.lines)
    assert life_data(changed, variant, variant.edge, some)["count"] is None
    assert section(changed).limits[-1] == COMMON_WORDS


def test_a_mix_is_linear_in_its_factors():
    random = np.random.default_rng(3)
    parts = tuple(LoadPart(n, 1.0, random.normal(size=(3, 4)), None) for n in "abc")
    mix = Mix("m", parts, random.normal(size=(3, 4)), ())
    one, two = random.normal(size=(2, 3))
    assert mix.at(one) + mix.at(two) - mix.rest == pytest.approx(mix.at(one + two))
    assert mix.at([0.0] * 3) == pytest.approx(mix.rest)
    assert math.isclose(float(mix.at(one)[0, 0] - mix.rest[0, 0]), sum(x * float(p.vectors[0, 0]) for x, p in zip(one, parts, strict=True)))  # fmt: skip


def test_a_mesh_has_no_slot_to_go_around(tmp_path):
    study = read_study(Path(__file__).parents[2] / "meshes" / "elliptic_membrane.toml")
    assert section(run(study, tmp_path / "out", workers=1)) is None
