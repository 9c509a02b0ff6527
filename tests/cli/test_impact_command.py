"""`femdrum impact`: what it prints, its JSON, and faults that name what to mend."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from texts import PLATE, RING, with_

from femdrum.cli import main

HITS = """
[machine]
inertia_kg_m2 = 250
speed_rpm = 1000
tip_diameter_mm = 1000

[[load]]
name = "tramp iron"
kind = "impact"
method = "spring"
mass_kg = 1.0
stiffness_kN_mm = 20
walls = "near"

[[load]]
name = "wedge slip"
kind = "flank_pressure"
slot = 0
flank = "leading"
pressure_MPa = 50
"""
QUICK = ["--order", "2", "--periods", "0.5"]


@pytest.fixture
def study(tmp_path: Path) -> str:
    path = tmp_path / "hits.toml"
    path.write_text(with_(RING, rows='"aligned"', corner_radius_mm="[12, 20]") + HITS, encoding="utf-8")
    return str(path)


def test_prints_factor_balances_notes_and_cautions(study: str, capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["impact", study, "--variant", "2", *QUICK])
    out = capsys.readouterr().out
    text = " ".join(out.split())
    rows = {line.split("  ")[0].strip(): line.split() for line in out.splitlines()}
    assert code == (1 if "NOT settled" in text else 0)
    for words in (
        "corner_radius_mm = 20",
        "load 'tramp iron' (impact), half sine of",
        "dynamic factor at the slots' edges",
        "principal stress",
        "(ms)",
        "undamped",
        "Every row is struck",
        "qualified engineer",
        "single oscillator",
    ):
        assert words in text
    # a kilogram at 52.4 m/s that bounces back: 2 m v, the rotor at the tip being 1,000 kg
    assert float(rows["momentum"][1]) == pytest.approx(2 * 0.999 * 0.5 * 1000 * math.pi / 30, rel=0.03)
    assert rows["momentum"][1] == rows["momentum"][2]
    assert rows["energy"][1] == rows["energy"][2]
    assert float(rows["energy"][-1]) < 1e-6


def test_json_carries_everything_and_nothing_else(study: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(["impact", study, "--load", "wedge slip", "--pulse-s", "0.002", "--shape", "triangle", *QUICK, "--json"])
    captured = capsys.readouterr()
    assert captured.err == ""
    told = json.loads(captured.out)
    assert told["pulse"] == {"shape": "triangle", "duration_s": 0.002}
    assert told["kind"] == "flank_pressure"
    assert told["factor"] == pytest.approx(abs(told["dynamic"]["peak_MPa"] / told["static"]["peak_MPa"]))
    assert told["balance"]["energy_residual"] < 1e-6
    assert told["balance"]["momentum"][1] == pytest.approx(told["balance"]["impulse"][1], rel=1e-6)
    assert [len(told["course"][name]) for name in ("time_s", "dynamic_MPa", "slow_MPa")] == [601] * 3
    assert sum(f["share"] for f in told["frequencies"]) <= told["compliance_held_by_modes"] <= 1
    assert "qualified engineer" in told["caution"]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--load", "tramp irn"], "did you mean 'tramp iron'?"),
        (["--load", "running", "--pulse-s", "1e-3"], "is no hit"),
        (["--load", "wedge slip"], "has no duration of its own"),
        (["--shape", "triangle"], "goes with --pulse-s"),
        (["--pulse-s", "-1"], "must be a finite number above 0"),
        (["--pulse-s", "1e-3", "--shape", "saw"], "shape = 'saw'"),
        (["--variant", "3"], "--variant = 3"),
        (["--order", "9"], "--order = 9"),
        (["--periods", "-1"], "--periods = -1"),
    ],
)
def test_faults_name_what_to_mend(study: str, more: list[str], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["impact", study, *more]) == 2
    assert words in " ".join(capsys.readouterr().err.split())


def test_a_plate_is_not_struck(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "plate.toml"
    path.write_text(PLATE, encoding="utf-8")
    assert main(["impact", str(path)]) == 2
    assert "must be a ring" in capsys.readouterr().err
