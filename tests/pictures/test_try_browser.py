"""Tried values in a real browser: equal to the package, following the peak from corner to corner, honest beyond the range."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from life_studies import LIFE_PLATE, made
from try_browser import needs_browser, page, tried

from femdrum.assess.combine import worst_angle
from femdrum.assess.life import variant_life
from femdrum.assess.solve import solve_all
from femdrum.model import Condition
from femdrum.report.try_line import label, line_of
from femdrum.report.try_loads import TOGETHER, mixes
from femdrum.study import run, study_from_text

pytestmark = [pytest.mark.slow, needs_browser]

RADII = """\
title = "Four radii"

[part]
kind = "plate"
length_mm = 800
width_mm = 800
thickness_mm = 20

[part.cutout]
shape = "slot"
size_x_mm = 60
size_y_mm = 100
corner_radius_mm = [3, 6, 12, 20, "full"]

[material]
grade = "S355"

[[load]]
name = "pull"
kind = "tension"
stress_MPa = 100

[[load]]
name = "across"
kind = "tension"
stress_MPa = 60
direction = "y"

[[load]]
name = "turn"
kind = "shear"
shear_MPa = 60

[accuracy]
error = 0.01
"""

RINGS = """\
title = "Four radii of a ring"

[part]
kind = "ring"
outer_diameter_mm = 760
wall_mm = 40
pitch_mm = 180
slots_around = 2
rows = "alternate"

[part.cutout]
shape = "slot"
around_mm = 60
axial_mm = 120
corner_radius_mm = [6, 9, 13, 20]

[material]
grade = "S355"

[machine]
speed_rpm = 1000

[[load]]
name = "speed"
kind = "rotation"
speed_rpm = 1000

[[load]]
name = "drive"
kind = "torsion"
torque_Nm = 40_000

[[load]]
name = "pull"
kind = "axial"
stress_MPa = 20

[[load]]
name = "swell"
kind = "internal_pressure"
pressure_MPa = 2

[[condition]]
name = "all"
loads = { speed = 1.0, drive = 1.0, pull = 1.0, swell = 0.5 }

[accuracy]
error = 0.02
"""


@pytest.fixture(scope="module")
def radii(tmp_path_factory):
    return run(study_from_text(RADII, name="radii"), tmp_path_factory.mktemp("radii") / "out", workers=1)


@pytest.fixture(scope="module")
def living(tmp_path_factory):
    return made(LIFE_PLATE, "living", tmp_path_factory)


def expected(variant, mix, times, speed=1.0):
    """Peak, band and place as the package reads them from the same factors."""
    vectors = mix.at([t * speed ** (p.power or 0) for t, p in zip(times, mix.loads, strict=True)])
    edge = variant.edge
    return edge.combine(worst_angle(edge, *vectors).factors).peaks()


def random_states(results, rounds, seed, speeds=(1.0,)):
    random, states, wanted = np.random.default_rng(seed), [], []
    line = line_of(results)
    for n, variant in enumerate(line.variants):
        for mix in mixes(results, variant):
            low = -2.0 if mix.name == TOGETHER else 0.0
            for k in range(rounds):
                times = [p.start for p in mix.loads] if k == 0 else list(random.uniform(low, 2.0, len(mix.loads)))
                speed = speeds[k % len(speeds)]
                states.append({"value": label(line, n), "case": mix.name, "times": dict(zip([p.name for p in mix.loads], times, strict=True))})  # fmt: skip
                if speed != 1.0:
                    states[-1]["speed"] = 1000 * speed
                wanted.append(expected(variant, mix, times, speed))
    return states, wanted


def test_a_plate_says_what_the_package_says(radii, tmp_path):
    states, wanted = random_states(radii, 6, 1)
    told = tried(radii, states, tmp_path)
    assert told["console"] == []
    assert len(told["results"]) == len(wanted) == 5 * 4 * 6
    for got, peaks in zip(told["results"], wanted, strict=True):
        assert got["computed"]
        assert got["peak"] == pytest.approx(float(peaks.peak), rel=1e-6)
        assert got["band"] == pytest.approx(peaks.peak.band, rel=2e-3)
        at = (got["place"]["x"], got["place"]["y"])
        assert at == pytest.approx((peaks.at.x_mm, peaks.at.y_mm), abs=1e-3)
        assert got["mark"] == pytest.approx(at, abs=1e-3)


def test_a_turning_pressed_row_says_what_the_package_says(row, tmp_path):
    states, wanted = random_states(row, 12, 2, speeds=(1.0, 1.0, 0.8, 1.2))
    told = tried(row, states, tmp_path)
    assert told["console"] == []
    off = [abs(g["peak"] / float(p.peak) - 1) for g, p in zip(told["results"], wanted, strict=True)]
    # a few of the places are kept: as the study is, and in nearly all mixes, to all digits; in the others within the band
    assert off[0] < 1e-6
    assert np.quantile(off, 0.8) < 1e-6
    for got, peaks in zip(told["results"], wanted, strict=True):
        assert abs(got["peak"] - float(peaks.peak)) <= got["band"]
        assert got["band"] == pytest.approx(peaks.peak.band, rel=0.6)
    stored = row.variants[0].answer("running").peak
    assert told["results"][0]["peak"] == pytest.approx(float(stored), rel=1e-6)
    assert "running" in told["results"][0]["address"]


def test_the_speed_slider_is_the_speed_of_the_study(row, tmp_path):
    """The same state with the speed written into the study's loads instead."""
    variant = row.variants[0]
    (mix,) = mixes(row, variant)
    assert {p.name: p.power for p in mix.loads} == {"speed": 2, "drive": 0, "weight": 0, "push": 0}
    times = [1.2**2 if p.name == "speed" else 1.0 for p in mix.loads]
    got, other = tried(row, [{"speed": 1200}, {"times": {"speed": 1.44}}], tmp_path)["results"]
    assert got["peak"] == pytest.approx(float(expected(variant, mix, times).peak), rel=1e-6)
    assert got["peak"] == pytest.approx(other["peak"], rel=1e-12)
    assert got["address"].endswith("speed:1200")


def test_the_peak_jumps_to_another_corner_and_the_page_follows(radii, tmp_path):
    times = [{"pull": 1.0, "across": 0.0, "turn": x} for x in (1.5, 0.75, 0.01, -0.01, -0.75, -1.5)]
    states = [{"value": "12", "case": TOGETHER, "times": t} for t in times]
    told = tried(radii, states, tmp_path)["results"]
    variant = next(v for v in radii.variants if v.axes["corner_radius_mm"] == 12)
    mix = mixes(radii, variant)[0]
    corners = []
    for got, t in zip(told, times, strict=True):
        peaks = expected(variant, mix, [t[p.name] for p in mix.loads])
        assert got["peak"] == pytest.approx(float(peaks.peak), rel=1e-6)
        assert (got["place"]["x"], got["place"]["y"]) == pytest.approx((peaks.at.x_mm, peaks.at.y_mm), abs=1e-3)
        # the slot is symmetric: two opposite corners share a peak
        corners.append(math.copysign(1, got["place"]["x"] * got["place"]["y"]))
        assert f"{abs(got['place']['x']):.1f}" in got["shown"]["place"]
    assert corners[0] == corners[1] == corners[2] == -corners[3] == -corners[4] == -corners[5]


def test_beyond_the_computed_range_stands_a_sentence(radii, tmp_path):
    states = [
        {"value": 2.9}, {"value": 20.5}, {"value": 25}, {"value": 30}, {"value": 8},
        {"value": 8, "times": {"turn": 2.4}}, {"value": 8, "times": {"pull": 0.0}}, {"value": 8, "all": 3},
    ]  # fmt: skip
    told = tried(radii, states, tmp_path)["results"]
    for got, words in zip(
        told[:3], ("outside the computed range, 3 to 20 mm", "full round, 30: computed", "solve it"), strict=True
    ):
        assert got["peak"] is None
        assert got["hidden"]
        assert words in got["shown"]["said"]
    assert told[3]["computed"]
    assert told[3]["peak"] == pytest.approx(float(radii.variants[-1].answer("pull").peak), rel=1e-6)
    assert told[4]["peak"]
    assert not told[4]["hidden"]
    assert "between computed variants" in told[4]["shown"]["how"]
    assert "“turn” at 2.4 times" in told[5]["shown"]["said"]
    assert "no load acts" in told[6]["shown"]["said"]
    assert "all loads" in told[7]["shown"]["said"]


def test_a_link_brings_the_state_back(radii, tmp_path):
    state = {"value": 7.5, "case": TOGETHER, "times": {"pull": 1.2, "turn": -0.4}}
    (first,) = tried(radii, [state], tmp_path)["results"]
    assert first["address"] == "#try=value:7.5;case:loads%20together;times.pull:1.2;times.turn:-0.4"
    (again,) = tried(radii, [None], tmp_path, first["address"])["results"]
    assert again["shown"] == first["shown"]
    assert again["peak"] == first["peak"]
    # what a link says that the page does not know is left aside
    odd, plain = tried(radii, [None, {}], tmp_path, "#try=value:x;case:%E0%A4%A;times.nobody:3;;:;case:unknown")[
        "results"
    ]
    assert odd["shown"] == plain["shown"]
    assert odd["peak"] == plain["peak"]


def test_the_page_fits_a_phone_and_its_inputs_have_names(radii, tmp_path):
    told = tried(radii, [None, {"value": 7}], tmp_path, width=390)
    assert told["console"] == []
    assert told["window"] == 390
    assert told["wide"] <= 390
    assert told["unlabelled"] == 0
    text = page(radii, [])
    assert 'aria-live="polite"' in text
    assert "http" not in text.replace("http://www.w3.org", "")


def test_life_moves_with_the_loads(living, tmp_path):
    """Against the package's life under the same duty with the loads' own factors changed."""
    study = study_from_text(LIFE_PLATE, name="living")
    random, states, wanted = np.random.default_rng(3), [], []
    line = line_of(living)
    for n, variant in enumerate(line.variants):
        own = next(v for v in study.variants if v.key == variant.key)
        some = mixes(living, variant)
        for k in range(5):
            times = {name: 1.0 if k == 0 else float(random.uniform(0.75, 1.3)) for name in ("pull", "turn")}
            moved = {m.name: m.at([times[p.name] for p in m.loads]) for m in some}
            vectors = {**{a.case: a.turning for a in variant.answers}, **moved}
            wanted.append(variant_life("", variant.edge, own.part, own.material, None, study.life, vectors, {}).life_h)
            states.append({"value": label(line, n), "times": times})
    told = tried(living, states, tmp_path)
    assert told["console"] == []
    for got, life, state in zip(told["results"], wanted, states, strict=True):
        ours = 10 ** got["life"]["log"][0]
        if set(state["times"].values()) == {1.0}:
            assert ours == pytest.approx(life, rel=1e-9)
        assert ours == pytest.approx(life, rel=0.15)
        assert " h, corner" in got["shown"]["life"]


def test_a_common_factor_moves_the_stored_life_where_no_duty_can_be_read(living, tmp_path):
    variants = [replace(v, plan=v.plan) for v in living.variants]
    for v, old in zip(variants, living.variants, strict=True):
        vars(v)["life"] = old.life
        object.__setattr__(v, "plan", "another")
    from life_studies import copied

    other = copied(living)
    vars(other)["variants"] = tuple(variants)
    vars(other)["life"] = living.life
    states = [{"value": "8", "all": 1.0}, {"value": "8", "all": 1.3}, {"value": "8", "times": {"pull": 1.1}}]
    same, more, apart = tried(other, states, tmp_path)["results"]
    life = living.variants[0].life
    assert 10 ** same["life"]["log"][0] == pytest.approx(life.life_h, rel=1e-9)
    middle = dict(zip(np.round(life.scale, 9), life.median_life_h, strict=True))
    by_hand = np.interp(math.log(1.3), np.log(life.scale), np.log(life.median_life_h))
    assert math.log(10) * (more["life"]["log"][0] - same["life"]["log"][0]) == pytest.approx(
        by_hand - math.log(middle[1.0]), abs=1e-6
    )
    assert apart["life"] is None
    assert "no number" in apart["shown"]["life"]


def fresh(text, radius, mix):
    """Loads at these factors on a part with this radius, solved anew: peak and band."""
    study = study_from_text(text.replace(text[text.index("corner_radius_mm = [") :].split("\n")[0], f"corner_radius_mm = {radius}"), name="x")  # fmt: skip
    v = study.variants[0]
    solved = solve_all(v.part, v.loads, v.material, v.accuracy, machine=v.machine, conditions=[Condition(name="tried", loads=mix)])  # fmt: skip
    return solved["tried"].peak


def count_inside(results, text, base, case, low, tmp_path):
    random = np.random.default_rng(20)
    smooth = [
        x
        for x, v in zip(line_of(results).numbers, line_of(results).variants, strict=True)
        if v.axes["corner_radius_mm"] != "full"
    ]
    points = []
    for _ in range(20):
        radius = float(np.round(math.exp(random.uniform(math.log(smooth[0]), math.log(smooth[-1]))), 2))
        times = {name: float(np.round(random.uniform(low, 2.0), 2)) or 0.01 for name in base}
        points.append((radius, times, fresh(text, radius, {n: base[n] * t for n, t in times.items()})))
    told = tried(results, [{"value": r, "case": case, "times": t} for r, t, _ in points], tmp_path)["results"]
    inside = [abs(g["peak"] - float(p)) <= g["band"] for g, (_, _, p) in zip(told, points, strict=True)]
    bands = [g["band"] / abs(g["peak"]) for g in told]
    return sum(inside), float(np.median(bands))


def test_twenty_random_plates_solved_afresh_lie_within_the_band(radii, tmp_path):
    inside, band = count_inside(radii, RADII, {"pull": 1.0, "across": 1.0, "turn": 1.0}, TOGETHER, -2.0, tmp_path)
    assert inside >= 19
    assert band < 0.01


@pytest.mark.slow
def test_twenty_random_rings_solved_afresh_lie_within_the_band(tmp_path):
    results = run(study_from_text(RINGS, name="rings"), tmp_path / "out", workers=1)
    base = {"speed": 1.0, "drive": 1.0, "pull": 1.0, "swell": 0.5}
    inside, band = count_inside(results, RINGS, base, "all", 0.0, tmp_path)
    assert inside >= 19
    assert band < 0.03


def test_the_data_is_plain_json(radii):
    text = page(radii, [])
    data = text[text.index('id="try-data">') + len('id="try-data">') :].split("</script>")[0]
    assert "<" not in data
    assert json.loads(data)["axis"] == {"name": "corner radius", "unit": "mm", "smooth": True, "beyond": "full round, 30: computed, chosen by name"}  # fmt: skip
