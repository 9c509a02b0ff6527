"""`femdrum check --draw`: drawings before anything is solved, beside what check says anyway."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from femdrum.cli import main

ROOT = Path(__file__).parents[2]
STUDY = str(ROOT / "studies" / "corner_radius.toml")
FAULTY = """
title = "overlap"
[part]
kind = "ring"
outer_diameter_mm = 400
wall_mm = 40
pitch_mm = 100
slots_around = 6
rows = "aligned"
[part.cutout]
shape = "slot"
around_mm = 180
axial_mm = 120
corner_radius_mm = 8
[material]
grade = "S355"
[[load]]
kind = "rotation"
speed_rpm = 900
"""


@pytest.fixture(autouse=True)
def _here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def test_check_without_draw_draws_nothing_and_loads_no_drawing_library(tmp_path):
    code = (
        "import sys; from femdrum.cli import main; "
        f"assert main(['check', {STUDY!r}]) == 0; assert not any(m.startswith('matplotlib') for m in sys.modules)"
    )
    child = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert child.returncode == 0, child.stderr
    assert "no fault found" in child.stdout
    assert list(tmp_path.iterdir()) == []


def test_drawings_go_beside_the_working_folder_and_are_told(capsys):
    assert main(["check", STUDY, "--draw", "--variant", "2"]) == 0
    told = capsys.readouterr().out
    assert "no fault found" in told
    files = sorted(p.name for p in Path("corner_radius.drawings").iterdir())
    assert files == ["mesh.svg", "part.svg", "paths-running.svg", "slot.svg"]
    for name in files:
        assert f"drawn    {Path('corner_radius.drawings') / name}" in told
    assert "R 12 (4 to 20, full)" in Path("corner_radius.drawings", "slot.svg").read_text(encoding="utf-8")


def test_files_by_their_endings_one_drawing_or_several():
    assert (
        main(["check", STUDY, "--draw", "--only", "slot", "--out", "a.pdf", "--out", "deep/b.png", "--out", "folder"])
        == 0
    )
    assert Path("a.pdf").read_bytes().startswith(b"%PDF")
    assert Path("deep", "b.png").read_bytes().startswith(b"\x89PNG")
    assert [p.name for p in Path("folder").iterdir()] == ["slot.svg"]
    assert main(["check", STUDY, "--draw", "--only", "slot", "--only", "part", "--out", "c.svg"]) == 0
    assert sorted(p.name for p in Path().glob("c*")) == ["c-part.svg", "c-slot.svg"]


def test_json_names_what_was_written(capsys):
    assert main(["check", STUDY, "--draw", "--only", "part", "--out", "m.svg", "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    assert got["faults"] == []
    assert got["variants"] == 5
    assert got["written"] == ["m.svg"]
    assert main(["check", STUDY, "--json"]) == 0
    assert "written" not in json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--out", "x.svg"], "give --draw too"),
        (["--only", "slot"], "give --draw too"),
        (["--variant", "1"], "give --draw too"),
        (["--draw", "--variant", "5"], "whole number from 0 to 4"),
        (["--draw", "--variant", "-1"], "whole number from 0 to 4"),
        (["--draw", "--only", "slots"], "must be one of part, slot, paths-running, mesh"),
        (["--draw", "--out", "x.bmp"], "must be a folder or end in .png, .svg, .pdf"),
    ],
)
def test_options_at_fault(more, words, capsys, tmp_path):
    assert main(["check", STUDY, *more]) == 2
    assert words in " ".join(capsys.readouterr().err.split())
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_made_is_a_fault(capsys):
    Path("taken").write_text("a file", encoding="utf-8")
    assert main(["check", STUDY, "--draw", "--only", "slot", "--out", "taken/inside"]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_a_faulty_study_tells_its_faults_and_draws_its_part(capsys):
    Path("bad.toml").write_text(FAULTY, encoding="utf-8")
    assert main(["check", "bad.toml", "--draw"]) == 2
    told = capsys.readouterr()
    err = " ".join(told.err.split())
    assert err.index("slots overlap around the drum") < err.index("drawn as the file describes it")
    assert sorted(p.name for p in Path("bad.drawings").iterdir()) == ["part.svg", "slot.svg"]
    drawn = Path("bad.drawings", "part.svg").read_text(encoding="utf-8")
    assert "slots overlap around the drum" in drawn
    assert main(["check", "bad.toml", "--draw", "--json", "--out", "more"]) == 2
    got = json.loads(capsys.readouterr().out)
    assert [f["field"] for f in got["faults"]] == ["part.pitch_mm", "part.cutout.around_mm"]
    assert len(got["written"]) == 2


@pytest.mark.parametrize("text", ["title = ", FAULTY.replace("outer_diameter_mm = 400", ""), "x = 1"])
def test_where_nothing_can_be_drawn_nothing_is_left_behind(text, capsys, tmp_path):
    Path("bad.toml").write_text(text, encoding="utf-8")
    assert main(["check", "bad.toml", "--draw"]) == 2
    assert "nothing could be drawn" in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["bad.toml"]


def test_the_file_of_a_whole_drum_is_drawn_too(capsys):
    assert main(["check", str(ROOT / "studies" / "drum_whole.toml"), "--draw", "--out", "d"]) == 0
    assert sorted(p.name for p in Path("d").iterdir()) == ["drum.svg", "unrolled.svg"]
    assert "no fault found in the drum" in capsys.readouterr().out
    assert main(["check", str(ROOT / "studies" / "drum_whole.toml")]) == 2


def test_a_file_of_another_command_says_which_reads_it(capsys, tmp_path):
    assert main(["check", str(ROOT / "studies" / "retention.toml"), "--draw"]) == 2
    assert "femdrum retention" in " ".join(capsys.readouterr().err.split())
    assert list(tmp_path.iterdir()) == []


def test_a_mesh_from_a_file_is_drawn():
    assert main(["check", str(ROOT / "meshes" / "elliptic_membrane.toml"), "--draw", "--out", "m.png"]) == 0
    assert Path("m.png").stat().st_size > 20_000
