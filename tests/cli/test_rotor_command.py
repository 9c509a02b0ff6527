"""`femdrum rotor`: what it prints and writes, its JSON, and faults that name what to mend."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from femdrum.cli import main

STUDY = Path(__file__).parents[2] / "studies" / "drum_whole.toml"
FILES = {"rows.csv", "slots.csv", "masses.csv", "bearings.csv", "critical_speeds.csv", "rotor.json", "rotor.html"}


@pytest.fixture
def drum(tmp_path: Path) -> Path:
    """The study without a stiffness of the bearings: quick, and one thing is not to be had."""
    text = STUDY.read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("stiffness_")]
    path = tmp_path / "mill.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def test_prints_the_answer_tables_notes_and_cautions(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "here"
    assert main(["rotor", str(STUDY), "--out", str(out), "--no-pictures"]) == 0
    captured = capsys.readouterr()
    text = " ".join(captured.out.split())
    for words in (
        "Drum mill, ten alternate rows with through-bars", "row 4 of 10 carries most", "mixed prunings: 1000 rpm, 420 kW, 85 % of the time",
        "largest moment (kN·m)", "L10h (h)", "drive-side bearing seat", "hits of all rows, 4 a turn", "kg·m² about its axis",
        "G16 permits", "burst by it at", "warning: “mixed prunings”", "without vibration", "common practice, no source",
        "qualified engineer", "lock out",
    ):  # fmt: skip
        assert words in text, words
    assert {p.name for p in out.iterdir()} == FILES
    assert "no picture" not in text
    rows = [line.split() for line in captured.out.splitlines() if line.split()[:1] == ["4"] and len(line.split()) == 9]
    with (out / "rows.csv").open(encoding="utf-8", newline="") as file:
        told = [r for r in csv.DictReader(file) if r["row"] == "4"]
    assert [float(r[2]) for r in rows] == [pytest.approx(float(r["moment_largest_kNm"]), rel=1e-3) for r in told]
    page = (out / "rotor.html").read_text(encoding="utf-8")
    assert "Figures were not asked for" in page
    assert "<img" not in page


def test_default_folder_is_named_after_the_file(
    drum: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(drum.parent)
    assert main(["rotor", drum.name, "--no-pictures"]) == 0
    assert {p.name for p in (drum.parent / "mill.rotor").iterdir()} == FILES
    text = " ".join(capsys.readouterr().out.split())
    assert "not computed: Critical speeds and the Campbell plot: stiffness_kN_mm is not given" in text


def test_json_carries_everything_and_nothing_else(drum: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = drum.parent / "out"
    assert main(["rotor", str(drum), "--out", str(out), "--no-pictures", "--json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    told = json.loads(captured.out)
    assert told["folder"] == str(out)
    assert {Path(p).name for p in told["written"]} == FILES
    assert told["pictures_lost"] == []
    stored = json.loads((out / "rotor.json").read_text(encoding="utf-8"))
    assert {k: v for k, v in told.items() if k not in ("folder", "written", "pictures_lost")} == stored
    assert len(told["answer"]) == 3
    assert [len(s["rows"]) for s in told["states"]] == [10, 10]
    assert told["campbell"] is None
    assert "qualified engineer" in told["caution"]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("row_angle_deg = 90 ", "row_angle_deg = 37 ", ["drum.row_angle_deg = 37", "does not close"]),
        ("first_row_mm = 180", "first_row_mm = 20", ["first_row_mm = 20", "drive-side disc"]),
        ("speed_rpm = 1000", "speed_rpm = 0", ["running.0.speed_rpm = 0", "must be a finite number above 0"]),
        ("slot = 7 ", "slot = 99 ", ["running.1.hit.0.slot = 99", "1 to 20"]),
        ("title =", "titel =", ["titel", "did you mean 'title'?"]),
        ("wall_mm = 40", "wall_mm = 40,5", ["decimal point"]),
    ],
)
def test_faults_name_what_to_mend_and_nothing_is_written(
    drum: Path, old: str, new: str, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    text = drum.read_text(encoding="utf-8")
    assert old in text
    drum.write_text(text.replace(old, new, 1), encoding="utf-8")
    out = drum.parent / "out"
    assert main(["rotor", str(drum), "--out", str(out)]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "line " in told
    for word in words:
        assert word in told
    assert not out.exists()


def test_faults_as_json(drum: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drum.write_text(drum.read_text(encoding="utf-8").replace("rows_total = 10", "rows_total = 11"), encoding="utf-8")
    assert main(["rotor", str(drum), "--json"]) == 2
    faults = json.loads(capsys.readouterr().out)["faults"]
    assert {f["field"] for f in faults} >= {"drum.rows_total"}
    assert all(f["line"] for f in faults)


def test_no_such_file_and_no_such_place(drum: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rotor", str(drum.parent / "mil.toml")]) == 2
    assert "did you mean" in " ".join(capsys.readouterr().err.split())
    (drum.parent / "taken").write_text("a file")
    assert main(["rotor", str(drum), "--out", str(drum.parent / "taken"), "--no-pictures"]) == 2
    assert "cannot be written" in " ".join(capsys.readouterr().err.split())


def test_without_the_page_the_numbers_stand(
    drum: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from femdrum.report import rotor_page

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("no paper")

    monkeypatch.setattr(rotor_page, "write_rotor_page", broken)
    out = drum.parent / "out"
    assert main(["rotor", str(drum), "--out", str(out)]) == 0
    captured = capsys.readouterr()
    assert "the page could not be made: no paper" in captured.err
    assert {p.name for p in out.iterdir()} == FILES - {"rotor.html"}
