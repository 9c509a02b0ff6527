"""`femdrum retention`: what it prints and writes, its JSON, its exit codes; bad input leaves nothing behind."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from femdrum.cli import main

EXAMPLE = Path(__file__).parents[2] / "studies" / "retention.toml"
TEXT = EXAMPLE.read_text(encoding="utf-8")


def flat(text: str) -> str:
    return " ".join(text.split())


def test_prints_the_answer_and_writes_files_and_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    assert main(["retention", str(EXAMPLE), "--out", str(out), "--debug"]) == 0
    said = flat(capsys.readouterr().out)
    for words in (
        "verdict held", "governs heavy cut, worn slot, near slot, wedge face, by opening", "N·m is set", "of one bolt would serve", "left at the rim (%)",
        "fatigue: amplitude", "safety 2.01, 1.5 is asked", "jack screws: 2 x", "wear limit 1.05 mm", "seat 2, cylindrical", "ranking only",
        "warning: rotation loosens", "self-locking alone is not retention", "lock out and prove zero speed",
    ):  # fmt: skip
        assert words.lower() in said.lower(), words
    assert {p.name for p in out.iterdir()} == {"retention.csv", "retention.json", "retention.html", "figures"}
    page = (out / "retention.html").read_text(encoding="utf-8")
    for words in (
        "Held in every condition", "Not checked", "Cautions", "No release", "from memory, not confirmed", "clamp-window", "seat-angle",
        "data:image/svg+xml;base64,", "Places that rub", "zero speed", "Invented example",
    ):  # fmt: skip
        assert words in page, words
    assert "http" not in page.replace("http://www.w3.org", "")
    assert "None" not in page and "nan" not in page.split("base64")[0]  # noqa: PT018


def test_json_alone_on_the_output(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["retention", str(EXAMPLE), "--out", str(tmp_path / "o"), "--json", "--no-report"]) == 0
    got = capsys.readouterr()
    record = json.loads(got.out)
    assert got.err == ""
    assert record["verdict"] == "held"
    assert record["report"] is None
    assert record["clamp"]["torque_window_Nm"]["open"]
    assert record["rows"][-1]["verdict"] == "stop holds"
    assert not (tmp_path / "o" / "retention.html").exists()


def test_default_folder_is_the_file_s_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["retention", str(EXAMPLE), "--no-report"]) == 0
    assert (tmp_path / "retention.results" / "retention.csv").is_file()
    assert "retention.results" in capsys.readouterr().out


def test_exit_codes_of_the_verdicts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Not held is an answer; not proven is none."""
    weak = tmp_path / "weak.toml"
    weak.write_text(TEXT.replace("torque_Nm = 320", "torque_Nm = 120"))
    assert main(["retention", str(weak), "--out", str(tmp_path / "a"), "--no-report"]) == 0
    assert "verdict  not held" in capsys.readouterr().out
    head, rest = TEXT.split("[[accident]]")
    open_ = tmp_path / "open.toml"
    open_.write_text(head + rest[rest.index("# Wear") :])
    assert main(["retention", str(open_), "--out", str(tmp_path / "b"), "--no-report"]) == 1
    got = capsys.readouterr()
    assert "verdict  not proven" in got.out
    assert "[[accident]]" in got.err


def test_friction_alone_in_the_accident_is_refused_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head, rest = TEXT.split("[clamp.stop]")
    bad = tmp_path / "bad.toml"
    bad.write_text(head + rest[rest.index("# Conditions") :].replace('hit = "heavy cut"', 'hit = "cut"'))
    out = tmp_path / "out"
    assert main(["retention", str(bad), "--out", str(out)]) == 2
    said = flat(capsys.readouterr().err)
    assert "clamp.stop: friction alone is no retention in the accident case" in said
    assert "wear.hit = 'cut'" in said
    assert not out.exists()
    assert main(["retention", str(bad), "--out", str(out), "--json"]) == 2
    faults = json.loads(capsys.readouterr().out)["faults"]
    assert {f["field"] for f in faults} == {"clamp.stop", "wear.hit"}
    assert all(f["line"] for f in faults)


def test_unknown_tables_and_missing_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(TEXT.replace("[[hit]]", "[[hits]]") + "\n[ring]\nwall_mm = 40\n")
    assert main(["retention", str(bad), "--out", str(tmp_path / "out")]) == 2
    said = flat(capsys.readouterr().err)
    assert "hits: is not known here" in said
    assert "ring: is not known here" in said
    assert "did you mean 'hit'" in said
    assert main(["retention", str(tmp_path / "none.toml")]) == 2
    assert "no such file" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_foreign_folder_is_refused_before_anything_is_drawn(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "letter.txt").write_text("keep")
    assert main(["retention", str(EXAMPLE), "--out", str(tmp_path)]) == 2
    assert "--out" in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["letter.txt"]
