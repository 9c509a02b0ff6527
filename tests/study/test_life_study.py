"""A study with a life: what it leaves, what is reckoned anew, and all that may be wrong with it."""

import csv
import json

import pytest
from life_texts import PLATE

from femdrum.errors import InputFault
from femdrum.study import Results, read_study, run


def study(tmp_path, text=PLATE, **files):
    (tmp_path / "strip.toml").write_text(text, encoding="utf-8")
    for name, content in files.items():
        (tmp_path / f"{name}.csv").write_text(content, encoding="utf-8")
    return read_study(tmp_path / "strip.toml")


def rows(folder):
    with (folder / "life.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_a_study_leaves_a_life_for_every_place(tmp_path):
    results = run(study(tmp_path), tmp_path / "out", workers=1)
    found = rows(tmp_path / "out")
    life = results.variants[0].life
    assert len(found) == len(life.places) == 4
    assert float(found[0]["life_h"]) == life.life_h
    assert found[0]["verdict"] == ("holds" if life.life_h >= 10_000 else "does not hold")
    assert found[0]["governs"] == "pulled, pulsating"
    assert life.static == ()
    assert "static proof" in " ".join(life.notes)
    whole = json.loads((tmp_path / "out" / "life.json").read_text(encoding="utf-8"))
    assert whole["duty"][0]["per_1000_h"] == 100_000
    assert set(found[0]) == {*whole["columns"]}


def test_another_duty_reckons_the_life_anew_and_nothing_else(tmp_path):
    first = run(study(tmp_path), tmp_path / "out", workers=1)
    solved = next((tmp_path / "out" / "variants").iterdir()) / "variant.json"
    stamp = solved.stat().st_mtime_ns
    life = first.variants[0].life.life_h
    second = run(study(tmp_path, PLATE.replace("100_000", "1_000_000")), tmp_path / "out", workers=1)
    assert solved.stat().st_mtime_ns == stamp
    assert second.variants[0].life.life_h == pytest.approx(0.1 * life, rel=1e-9)
    again = run(study(tmp_path), tmp_path / "out", workers=1)
    assert again.variants[0].life == first.variants[0].life


def test_a_recording_is_counted_and_scales_the_condition(tmp_path):
    text = PLATE.replace(
        "per_1000_h = 100_000", 'history = "force.csv"\ncolumn = "pull_kN"\nstated_at = 60.0\nper_1000_h = 50_000'
    )
    # two cycles from 0 to 60 kN in each pass
    signal = "time_s,pull_kN\n" + "".join(f"{0.5 * i},{60 * (i % 2)}\n" for i in range(5))
    recorded = run(study(tmp_path, text, force=signal), tmp_path / "out", workers=1)
    plain = run(study(tmp_path), tmp_path / "plain", workers=1)
    assert recorded.variants[0].life.life_h == pytest.approx(plain.variants[0].life.life_h, rel=1e-9)
    assert recorded.life["recorded_cycles"] == {"pulled, measured": 2.0}


def test_scatter_goes_over_the_variants_and_states_its_error(tmp_path):
    text = (
        PLATE.replace("diameter_mm = 20", "diameter_mm = [16, 20, 24, 28]")
        + "\n[life.scatter]\ncorner_radius_mm = 1.0\nwall_mm = 0\n"
    )
    results = run(study(tmp_path, text), tmp_path / "out", workers=1)
    keys = [v.key for v in results.variants]
    assert set(results.scatter) == set(keys)
    for variant in results.variants:
        spread = results.scatter[variant.key]
        assert spread.p10_h < spread.p50_h < spread.p90_h
        assert 0 <= spread.failure <= 1
        assert spread.inputs[0].total >= spread.inputs[-1].total
    # inside the study's range through its variants, at its ends by laws with a larger error
    inner, end = results.scatter[keys[1]], results.scatter[keys[0]]
    assert inner.surface == "through 4 variants"
    assert inner.surface_error_pct < 1.0 < end.surface_error_pct
    assert any(row["what"] == "scatter" for row in rows(tmp_path / "out"))


HISTORY = PLATE.replace(
    "per_1000_h = 100_000", 'history = "force.csv"\ncolumn = "pull_kN"\nstated_at = 60.0\nper_1000_h = 1'
)
GOOD = "time_s,pull_kN\n0,0\n1,60\n2,0\n3,60\n"

# what is wrong, the study, its recording, and what the message must say
FAULTS = {
    "no condition": (PLATE.replace('condition = "pulled"', 'condition = "pushed"'), None, ["duty", "'pushed'", "names no condition or load", "pulled"]),
    "unknown state between": (PLATE.replace("per_1000_h", 'back_to = "rest"\nper_1000_h'), None, ["back_to = 'rest'", "names no condition or load"]),
    "negative count": (PLATE.replace("100_000", "-5"), None, ["per_1000_h = -5", "above 0"]),
    "count missing": (PLATE.replace("per_1000_h = 100_000", ""), None, ["per_1000_h: is missing", "how often"]),
    "hours on a pulsating row": (PLATE.replace("100_000", "5\nhours_per_1000_h = 3"), None, ["hours_per_1000_h = 3", "does not go with cycle"]),
    "turning without speed": (
        PLATE.replace('"pulsating"\nper_1000_h = 100_000', '"rotating"\nhours_per_1000_h = 3'), None, ["speed_rpm: is missing", "[machine]"],
    ),
    "unknown cycle": (PLATE.replace('"pulsating"', '"pulsing"'), None, ["cycle = 'pulsing'", "'rotating'", "did you mean 'pulsating'?"]),
    "no duty": (PLATE.split("[[duty]]")[0] + "[life]" + PLATE.split("[life]")[1], None, ["duty: is missing", "[[duty]]"]),
    "no life": (PLATE.split("[life]")[0], None, ["duty: stands without a table [life]"]),
    "no finish": (PLATE.split("[life.finish]")[0], None, ["life.finish: is missing", "how the slot's edge was cut"]),
    "no target": (PLATE.replace("target_h = 10_000", ""), None, ["life.target_h: is missing", "hours that the drum shall last"]),
    "varied": (PLATE.replace("target_h = 10_000", "target_h = [1, 2]"), None, ["life.target_h = [1, 2]", "must be one value"]),
    "own material without strength": (
        PLATE.replace('grade = "S355"', "youngs_modulus_MPa = 2e5\npoissons_ratio = 0.3"), None,
        ["material.ultimate_MPa: is missing", "a grade"],
    ),
    "crack without toughness": (PLATE + "[life.crack]\ninitial_depth_mm = 0.3\n", None, ["toughness_MPa_sqrt_m: is missing", "Charpy", "lowest_temperature_C"]),
    "sharp corner": (
        PLATE.replace('shape = "circle"\ndiameter_mm = 20', 'shape = "slot"\nsize_x_mm = 20\nsize_y_mm = 20\ncorner_radius_mm = 0'), None,
        ["corner_radius_mm", "a sharp corner has no finite peak"],
    ),
    "same name twice": (PLATE.replace("[life]\n", '[[duty]]\ncondition = "pulled"\nper_1000_h = 3\n[life]\n', 1), None, ["is the name of more than one row"]),
    "no such recording": (HISTORY, None, ["force.csv"]),
    "no such column": (HISTORY, GOOD.replace("pull_kN", "push_kN"), ["pull_kN", "push_kN"]),
    "recording without unit": (HISTORY.replace("pull_kN", "pull"), GOOD.replace("pull_kN", "pull"), ["pull"]),
    "gap": (HISTORY, GOOD + "9,0\n10,60\n", ["line 6"]),
    "not a number": (HISTORY, GOOD + "4,nan\n", ["line 6"]),
    "one sample": (HISTORY, "time_s,pull_kN\n0,1\n", ["at least two samples", "static load"]),
    "constant": (HISTORY, "time_s,pull_kN\n0,1\n1,1\n2,1\n", ["constant"]),
}  # fmt: skip


@pytest.mark.parametrize("what", FAULTS)
def test_bad_input_is_told_with_the_way_out(tmp_path, what):
    text, recording, said = FAULTS[what]
    files = {} if recording is None else {"force": recording}
    with pytest.raises(InputFault) as caught:
        study(tmp_path, text, **files)
    message = str(caught.value)
    for words in said:
        assert words in message, message


def test_all_faults_at_once(tmp_path):
    text = PLATE.replace("100_000", "-5").replace('"milled"', '"sawn"').replace("target_h = 10_000", "target_h = 0")
    with pytest.raises(InputFault) as caught:
        study(tmp_path, text)
    message = str(caught.value)
    assert all(words in message for words in ("per_1000_h = -5", "process = 'sawn'", "target_h = 0"))


def test_a_ring_needs_the_number_of_rows(tmp_path):
    from texts import RING

    life = PLATE[PLATE.index("[[condition]]") :].replace("pull = 1.0", "running = 1.0").replace("pulled", "run")
    with pytest.raises(InputFault) as caught:
        study(tmp_path, RING + life)
    assert "life.rows_total: is missing" in str(caught.value)


def test_results_without_a_life_have_none(tmp_path):
    text = PLATE.split("[[duty]]")[0]
    results = run(study(tmp_path, text), tmp_path / "out", workers=1)
    assert results.life == {}
    assert results.variants[0].life is None
    assert not (tmp_path / "out" / "life.csv").exists()
    assert Results.load(tmp_path / "out").scatter == {}
