"""`femdrum figure`: what it writes, lists and refuses."""

import csv
import json
import subprocess
import sys

import pytest

from femdrum.cli import main
from femdrum.study import run, study_from_text

PLATE = """\
title = "Hole in a plate"

[part]
kind = "plate"
length_mm = 200
width_mm = 100
thickness_mm = 10

[part.cutout]
shape = "circle"
diameter_mm = [20, 30]

[material]
grade = "S355"

[[load]]
name = "pull"
kind = "tension"
stress_MPa = 100

[accuracy]
error = 0.02
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    home = tmp_path_factory.mktemp("figure") / "plate.results"
    run(study_from_text(PLATE, name="plate"), home, workers=1)
    return home


def test_several_formats_with_the_data_beside_the_first(folder, tmp_path, capsys):
    svg, pdf, png = (tmp_path / f"kt.{e}" for e in ("svg", "pdf", "png"))
    code = main(
        ["figure", str(folder), "kt", "--out", str(svg), "--out", str(pdf), "--out", str(png), "--preset", "one-column"]
    )
    assert code == 0
    assert capsys.readouterr().out.split() == [str(p) for p in (svg, pdf, png, svg.with_suffix(".csv"))]
    assert pdf.read_bytes().startswith(b"%PDF")
    assert png.read_bytes().startswith(b"\x89PNG")
    assert 'width="240.9' in svg.read_text(encoding="utf-8")  # 85 mm in pt
    rows = list(csv.DictReader(svg.with_suffix(".csv").read_text(encoding="utf-8").splitlines()))
    assert {r["what"] for r in rows} >= {"computed", "exact plane"}


def test_options_of_a_kind(folder, tmp_path, capsys):
    out = tmp_path / "edge.svg"
    code = main(
        [
            "figure",
            str(folder),
            "edge",
            "--variant",
            "1",
            "--case",
            "pull",
            "--component",
            "principal",
            "--out",
            str(out),
            "--json",
        ]
    )
    assert code == 0
    assert json.loads(capsys.readouterr().out) == {"written": [str(out), str(out.with_suffix(".csv"))]}
    text = out.read_text(encoding="utf-8")
    assert "diameter 30 mm" in text
    assert "signed principal stress" in text


def test_look_options_reach_the_figure(folder, tmp_path):
    out = tmp_path / "kt.svg"
    wanted = ["--width-mm", "120", "--font-pt", "9", "--x-limits", "0", "40", "--y-limits", "-1", "5", "--number-format", "x=.1f,y=.2f",
              "--decimal-comma", "--grey"]  # fmt: skip
    assert main(["figure", str(folder), "kt", "--out", str(out), *wanted]) == 0
    text = out.read_text(encoding="utf-8")
    assert ">40,0<" in text
    assert ">\u22121,00<" in text
    assert 'width="340.1' in text


def test_without_a_name_all_figures_of_the_report_are_drawn(folder, capsys):
    assert main(["figure", str(folder)]) == 0
    out = capsys.readouterr().out.split()
    assert {p.rsplit(".", 1)[1] for p in out} == {"png", "svg", "csv"}
    assert any("kt-pull" in p for p in out)


def test_the_list_in_words_and_as_json(folder, capsys):
    assert main(["figure", str(folder), "--list"]) == 0
    text = capsys.readouterr().out
    assert "kt-pull" in text
    assert "--variant diameter 20 mm | diameter 30 mm" in text
    assert "--component along | principal | across | shear" in text
    assert main(["figure", str(folder), "--list", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {k["kind"] for k in told["kinds"]} >= {"kt", "edge", "field", "ladder"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["kt-pul"], "did you mean 'kt-pull'?"),
        (["kt", "--preset", "onecolumn"], "did you mean 'one-column'?"),
        (["kt", "--width-mm", "3"], "from 30 to 1000 mm"),
        (["kt", "--width-mm", "wide", "--font-pt", "0"], "font_pt = 0.0"),
        (["kt", "--width-mm", "60"], "at least 80 mm"),
        (["kt", "--x-limits", "9", "1"], "the lower one first"),
        (["kt", "--number-format", "%5.2f"], "such as .2f"),
        (["kt", "--out", "kt.bmp"], "must end in"),
        (["kt", "--out", "no-such-folder/kt.svg"], "there is no folder"),
        (["edge", "--variant", "5"], "0 to 1, counted from zero"),
        (["edge", "--case", "push"], "known: pull"),
        (["shares"], "--list` tells what can be drawn"),
        (["solid"], "--list` tells what can be drawn"),
        (["--out", "all.svg"], "name the figure"),
        (["--case", "pull"], "name the figure"),
    ],
)
def test_bad_input_ends_with_2_and_the_way_out(folder, arguments, words, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "120")
    assert main(["figure", str(folder), *arguments]) == 2
    told = capsys.readouterr().err
    assert words in " ".join(told.split())


def test_faults_as_json_name_the_field(folder, capsys):
    assert main(["figure", str(folder), "kt", "--width-mm", "3", "--font-pt", "99", "--json"]) == 2
    faults = json.loads(capsys.readouterr().out)["faults"]
    assert [f["field"] for f in faults] == ["width_mm", "font_pt"]


def test_a_folder_without_results_is_told(tmp_path, capsys):
    assert main(["figure", str(tmp_path / "nothing")]) == 2
    assert "there is no such folder" in capsys.readouterr().err
    assert main(["figure", str(tmp_path)]) == 2
    assert "holds no results.json" in capsys.readouterr().err


def test_drawing_a_stored_figure_loads_no_solver():
    """What makes the command quick: neither solvers nor meshers nor pictures of solids are imported for it."""
    heavy = [
        "scipy.sparse",
        "scipy.optimize",
        "scipy.linalg",
        "gmsh",
        "skfem",
        "pyvista",
        "rslab",
        "meshio",
        "jinja2",
        "PIL",
    ]
    code = f"import sys, femdrum.report.figures; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
