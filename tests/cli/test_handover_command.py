"""`femdrum handover` and `femdrum study --as-built`: what they print and write, their JSON, and faults that name what to mend."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from handover_texts import RADII, TEXT

from femdrum.cli import main

FILES = {
    "radii_to_measure.csv",
    "slot_numbers.csv",
    "drawing.csv",
    "look_slots.csv",
    "look_places.csv",
    "look_when.csv",
    "handover.json",
    "handover.html",
}


@pytest.fixture(scope="module")
def solved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the study's file, its results, and radii."""
    folder = tmp_path_factory.mktemp("mill")
    (folder / "small.toml").write_text(TEXT, encoding="utf-8")
    (folder / "radii.csv").write_text(RADII, encoding="utf-8")
    assert (
        main(["study", str(folder / "small.toml"), "--out", str(folder / "out"), "--workers", "1", "--no-report"]) == 0
    )
    return folder


def test_handover_prints_and_writes_what_is_handed_over(solved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["handover", str(solved / "out"), "--no-pictures"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    for words in (
        "Small mill", "mind: 4 lines of the drawing table have no value", "corner arcs, least radius: R 20 mm at least", "380 HV at most in the cut skin, to be confirmed [from memory, not confirmed]",
        "after 50 h of running", "after every jam", "rank slot row utilisation (1) place", "qualified engineer", "lock out",
    ):  # fmt: skip
        assert words in text, words
    assert {p.name for p in (solved / "out" / "handover").iterdir()} == FILES
    page = (solved / "out" / "handover" / "handover.html").read_text(encoding="utf-8")
    for words in (
        "Local codes and licensed practice decide",
        "From memory",
        "Record of radii",
        "Not checked",
        "No release",
        "corner 4",
    ):
        assert words in page, words


def test_handover_as_json(solved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["handover", str(solved / "out"), "--no-pictures", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {Path(p).name for p in told["written"]} == FILES
    assert told["holds"] is True
    assert len(told["slots"]) == 6
    assert {line["basis"] for line in told["drawing"]} >= {
        "computed",
        "from the study",
        "common practice, no source",
        "from memory, not confirmed",
    }


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--variant", "3"], "is no variant of this study"),
        (["--drum", "nowhere.toml"], "there is no such file"),
        (
            ["--drum", str(Path(__file__).parents[2] / "studies" / "drum_whole.toml")],
            "differs from the ring that was solved, 700",
        ),
    ],
)
def test_handover_faults(solved: Path, capsys: pytest.CaptureFixture[str], more: list[str], words: str) -> None:
    assert main(["handover", str(solved / "out"), *more]) == 2
    assert words in " ".join(capsys.readouterr().err.split())


def test_a_folder_without_results_or_with_something_else_is_refused(
    solved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["handover", str(tmp_path)]) == 2
    assert "holds no results.json" in capsys.readouterr().err


def test_the_drum_as_built(solved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(solved)
    assert main(["study", "small.toml", "--as-built", "radii.csv", "--workers", "1", "--no-report"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    for words in (
        "Small mill, as built", "1 of 6 slots have a corner below the designed 20 mm; the least is 12 mm, at slot 4.", "The most used slot as built is number 4 (row 2)",
        "No slot falls below 10,000 h.", "the least of the four governs it", "qualified engineer",
    ):  # fmt: skip
        assert words in said, words
    with (solved / "small.as_built.results" / "as_built.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [float(r["least_mm"]) for r in rows] == [20, 20, 20, 12, 20, 20]
    assert float(rows[3]["peak_MPa"]) > float(rows[3]["peak_designed_MPa"]) == float(rows[0]["peak_MPa"])


def test_the_drum_as_built_as_json_with_its_pages(
    solved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from femdrum import report

    monkeypatch.setattr(report, "write", lambda out, **_: Path(out) / "report.html")
    monkeypatch.chdir(solved)
    assert main(["study", "small.toml", "--as-built", "radii.csv", "--workers", "1", "--json"]) == 0
    captured = capsys.readouterr()
    told = json.loads(captured.out)
    assert captured.err == ""
    assert told["below"] == []
    assert [s["solved_mm"] for s in told["slots"]] == [20, 20, 20, 12, 20, 20]
    assert [Path(p).name for p in told["pages"]] == ["as_built.html", "report.html"]
    page = (solved / "small.as_built.results" / "as_built.html").read_text(encoding="utf-8")
    assert "As built against as designed" in page
    assert "data:image/svg+xml;base64," in page


def test_all_faults_of_a_file_of_radii_at_once(
    solved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(solved)
    (solved / "bad.csv").write_text(
        "slot,corner,radius_mm\n9,1,20\n1,1,45\n1,2,-1\n1,3,round\n1,3,20\n2,5,20\n", encoding="utf-8"
    )
    assert main(["study", "small.toml", "--as-built", "bad.csv", "--missing", "designed"]) == 2
    said = " ".join(capsys.readouterr().err.split())
    for words in (
        "line 2: slot = '9'",
        "line 3: radius_mm = 45.0",
        "line 4: radius_mm = -1.0",
        "line 5: radius_mm = 'round'",
        "line 6: slot = '1'",
        "line 7: corner = '5'",
    ):
        assert words in said, words
    assert not (solved / "bad.results").exists()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--missing", "designed"], "goes with --as-built only"),
        (["--within-mm", "0.5", "--variant", "1"], "--within-mm = '0.5': goes with --as-built only"),
        (["--as-built", "nowhere.csv"], "cannot be read"),
        (["--as-built", "radii.csv", "--within-mm", "wide"], "must be a finite number"),
        (["--as-built", "radii.csv", "--missing", "perhaps"], "must be refuse or designed"),
    ],
)
def test_faults_of_the_options(
    solved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, more: list[str], words: str
) -> None:
    monkeypatch.chdir(solved)
    assert main(["study", "small.toml", *more]) == 2
    assert words in " ".join(capsys.readouterr().err.split())
