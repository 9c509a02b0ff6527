"""`femdrum kt ... --over`: exact curves over a size, drawn in seconds."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from femdrum.cli import main
from femdrum.report.plane_curve import plane_curve

SLOT = ["kt", "slot", "--size-x-mm", "60", "--size-y-mm", "120", "--width-mm", "2000"]


def test_curve_over_the_corner_radius_has_its_known_shape(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    picture = tmp_path / "kt.png"
    assert main([*SLOT, "--over", "corner_radius_mm", "3", "30", "--picture", str(picture), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    kt = dict(zip(data["corner_radius_mm"], data["kt_gross"], strict=True))
    # computed, reference table of the infinite plate: r/b 1.0: 3.865, best near 0.85, 6 % better
    assert kt[30.0] == pytest.approx(3.865, rel=0.01)
    best = min(kt, key=kt.__getitem__)
    assert 0.75 * 30 < best < 0.9 * 30
    assert kt[best] == pytest.approx(0.94 * kt[30.0], rel=0.01)
    assert picture.read_bytes()[:4] == b"\x89PNG"
    rows = list(csv.reader(picture.with_suffix(".csv").read_text(encoding="utf-8").splitlines()))
    assert rows[0] == ["corner_radius_mm", "kt_gross"]
    assert float(rows[-1][1]) == kt[30.0]


def test_curve_over_the_width_tends_to_the_infinite_plate() -> None:
    curve = plane_curve("circle", "tension", {"diameter_mm": 40}, "width_mm", 60, 4000)
    assert curve.kt_gross[-1] == pytest.approx(3.0, rel=1e-3)
    assert (curve.kt_gross[:-1] > curve.kt_gross[1:]).all()


def test_curve_over_the_pitch_of_a_row() -> None:
    given = {"diameter_mm": 50, "width_mm": 2e5, "stress_MPa": 100, "direction": "y"}
    curve = plane_curve("circle", "tension", given, "pitch_mm", 100, 200)
    assert curve.kt_gross[0] == pytest.approx(3.241118, rel=1e-4)  # computed, reference table row_circle_kt, d/p 0.5


@pytest.mark.parametrize(
    ("over", "words"),
    [
        (["corner_radius", "3", "30"], "did you mean 'corner_radius_mm'"),
        (["corner_radius_mm", "30", "3"], "must be above LOW = 30"),
        (["corner_radius_mm", "three", "30"], "finite number"),
        (["corner_radius_mm", "40", "50"], "can be drawn"),
    ],
)
def test_bad_ranges(over: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*SLOT, "--over", *over, "--picture", str(tmp_path / "no.svg")]) == 2
    assert words in " ".join(capsys.readouterr().err.split())
    assert list(tmp_path.iterdir()) == []


def test_a_picture_needs_a_curve(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*SLOT, "--corner-radius-mm", "5", "--picture", "x.svg"]) == 2
    assert "--over" in capsys.readouterr().err
