"""`femdrum best-radius`: what it prints, its JSON, and faults that name the flags."""

from __future__ import annotations

import json

import pytest

from femdrum.cli import main

SLOT = ["best-radius", "--size-x-mm", "60", "--size-y-mm", "120"]


def test_table_tells_radius_gain_limits_places_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*SLOT, "--state", "pull=100,0,0", "--state", "jam=20,0,-10", "--given-radius-mm", "8"]) == 0
    out = capsys.readouterr().out
    text = " ".join(out.split())
    rows = {line.split("  ")[0]: line.split() for line in out.splitlines()}
    # computed by an independent code, 2:1 slot pulled across: best r/b near 0.85, Kt 3.632; full round 3.865
    assert float(rows["best"][4]) == pytest.approx(0.85, abs=0.051)
    assert float(rows["best"][5]) == pytest.approx(363.2, abs=0.2)
    assert float(rows["full round"][6]) == pytest.approx(386.5, abs=0.2)
    assert float(rows["given"][3]) == 8
    assert rows["jam"][1:4] == ["20", "0", "-10"]
    for words in (
        "within 1 % of the best: radius 21.42 to 27.63 mm",
        "limits: radius 3 to 30 mm; active: none",
        "computed: exact plane solution",
        "gross stresses",
        "Infinite plate",
        "qualified engineer",
        "(MPa)",
        "(mm)",
    ):
        assert words in text


def test_json_carries_everything_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    ends = "turning=5,10,0:5,-10,0"
    assert main([*SLOT, "--state", ends, "--criterion", "range", "--radius-limits-mm", "5", "20", "--json"]) == 0
    captured = capsys.readouterr()
    told = json.loads(captured.out)
    assert captured.err == ""
    assert [s["name"] for s in told["states"]] == ["turning (first end)", "turning (second end)"]
    assert [s["stress_y_MPa"] for s in told["states"]] == [10, -10]
    assert told["best"]["corner_radius_mm"] == 20
    assert told["active_limits"] == ["upper limit of the radius, 20 mm"]
    assert told["best"]["worst_MPa"] == told["best"]["range"]["MPa"]
    assert told["best"]["range"]["states"] == ["turning (first end)", "turning (second end)"]
    assert told["curve"]["corner_radius_mm"] == sorted(told["curve"]["corner_radius_mm"])
    assert "qualified engineer" in told["caution"]


def test_a_varied_size_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    flags = ["--vary-x-mm", "59.9", "60.1", "--radius-limits-mm", "24", "25"]
    assert main([*SLOT, "--state", "pull=100,0,0", *flags]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "upper limit of size_x_mm, 60.1 mm" in text
    assert "full round, own sizes" in text
    assert "size_y_mm kept" in text


@pytest.mark.parametrize(
    ("flags", "words"),
    [
        ([], ["--state: at least one load state is needed"]),
        (["--state", "pull=1,2"], ["--state = 'pull=1,2': must be NAME=X,Y,SHEAR"]),
        (["--state", "1,2,3"], ["--state = '1,2,3'"]),
        (["--state", "a=1,2,3:1,2,3:1,2,3"], ["must be NAME=X,Y,SHEAR"]),
        (["--state", "a=1,two,3", "--state", "=1,1,1"], ["--state a: stress_y_MPa = 'two'", "--state = '=1,1,1'"]),
        (["--state", "a=1,inf,3"], ["--state a: stress_y_MPa = inf", "finite"]),
        (["--state", "a=0,0,0"], ["all stresses are zero"]),
        (["--state", "a=1,0,0", "--criterion", "rang"], ["--criterion", "did you mean 'range'"]),
        (["--state", "a=1,0,0", "--radius-limits-mm", "0", "3"], ["--radius-limits-mm", "0 < lower < upper"]),
        (["--state", "a=1,0,0", "--radius-limits-mm", "3", "x"], ["--radius-limits-mm", "0 < lower < upper"]),
        (["--state", "a=1,0,0", "--given-radius-mm", "40"], ["--given-radius-mm = 40", "at most 30"]),
        (["--state", "a=1,0,0", "--vary-y-mm", "10", "20"], ["--vary-y-mm", "must contain"]),
    ],
)
def test_faults_name_the_flags(flags: list[str], words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*SLOT, *flags]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    text = " ".join(captured.err.split())
    for word in words:
        assert word in text


def test_missing_sizes_are_told_together_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["best-radius", "--state", "a=1,0,0", "--json"]) == 2
    told = json.loads(capsys.readouterr().out)
    assert [f["field"] for f in told["faults"]] == ["--size-x-mm", "--size-y-mm"]
    assert all(f["value"] is None for f in told["faults"])
