import csv
import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from texts import PLATE, with_

from femdrum import doctor
from femdrum.cli import main
from femdrum.handbook.domains import FinitePlate
from femdrum.handbook.exact import exact_kt
from femdrum.model import Circle
from femdrum.study import Results, read_study
from femdrum.study.which_command import command_of

ROOT = Path(__file__).parents[2]


def command(*arguments, cwd=None, check=None):
    """The command in a process of its own."""
    child = subprocess.run(
        [sys.executable, "-m", "femdrum", *map(str, arguments)],
        capture_output=True,
        text=True,
        cwd=cwd,
        timeout=300,
        check=False,
    )
    if check is not None:
        assert child.returncode == check, child.stderr
    return child


@pytest.fixture
def plates(tmp_path, monkeypatch):
    """A folder with a study of three plates, fast to solve."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plates.toml").write_text(with_(PLATE, width_mm="[100, 200, 400]"))
    return tmp_path


@pytest.mark.parametrize("arguments", [["--help"], ["study", "--help"], ["--version"]])
def test_help_loads_no_library(arguments):
    code = (
        "import sys\nfrom femdrum.cli import main\n"
        f"try: main({arguments})\n"
        "except SystemExit as left: assert not left.code\n"
        "heavy = {'numpy', 'scipy', 'gmsh', 'skfem', 'matplotlib', 'pyvista', 'meshio', 'tomlkit'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    child = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert child.returncode == 0, child.stderr
    assert "femdrum" in child.stdout


def test_help_says_what_the_exit_codes_mean_and_names_all_commands(capsys):
    with pytest.raises(SystemExit):
        main(["--help"])
    text = capsys.readouterr().out
    for word in (
        "study",
        "check",
        "kt",
        "best-radius",
        "impact",
        "figure",
        "report",
        "verify",
        "doctor",
        "new",
        "0 done",
        "qualified engineer",
    ):
        assert word in text


def test_study_solves_prints_bands_and_verdicts_and_leaves_results(plates):
    child = command("study", "plates.toml", "--workers", "2", "--no-report", check=0)
    table = [line.split("  ") for line in child.stdout.splitlines() if line.strip()[:3] in ("100", "200", "400")]
    assert len(table) == 3
    for line in table:
        assert line[-1] == "settled"
        assert sum("±" in cell for cell in line) == 3
    assert "qualified engineer" in " ".join(child.stdout.split())
    assert len([line for line in child.stderr.splitlines() if "settled" in line]) == 3
    with (plates / "plates.results" / "results.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        kt, band = float(row["kt_gross"]), float(row["kt_band"])
        domain = FinitePlate(length_mm=800, width_mm=float(row["width_mm"]))
        assert kt == pytest.approx(exact_kt(Circle(diameter_mm=40), domain, stress_x=1.0).kt, abs=band)
        assert float(row["peak_MPa"]) == pytest.approx(100 * kt)
        assert abs(float(row["x_mm"])) < 0.5
        assert abs(float(row["y_mm"])) == pytest.approx(20, abs=0.01)
    results = Results.load(plates / "plates.results")
    assert results.variants[0].edge is not None
    assert results.variants[0].field_file is not None


def test_the_same_study_twice_gives_the_same_numbers(plates):
    for out in ("one", "two"):
        assert main(["study", "plates.toml", "--out", out, "--workers", "1", "--no-report", "--json"]) == 0
    one, two = (Results.load(plates / out).rows for out in ("one", "two"))
    for a, b in zip(one, two, strict=True):
        for column, value in a.items():
            if column != "seconds":
                assert b[column] == (pytest.approx(value, rel=1e-9) if isinstance(value, float) else value)


def test_json_is_json_and_nothing_else(plates, capsys):
    assert main(["study", "plates.toml", "--json", "--no-report", "--workers", "1"]) == 0
    captured = capsys.readouterr()
    told = json.loads(captured.out)
    assert captured.err == ""
    assert told["complete"] is True
    assert [row["width_mm"] for row in told["rows"]] == [100, 200, 400]
    assert main(["check", "plates.toml", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["variants"] == 3


def test_a_sharp_corner_has_no_number_and_says_what_to_do(plates, capsys):
    cutout = 'shape = "slot"\nsize_x_mm = 40\nsize_y_mm = 40\ncorner_radius_mm = [0, 5]'
    (plates / "sharp.toml").write_text(PLATE.replace('shape = "circle"\ndiameter_mm = 40', cutout))
    assert main(["check", "sharp.toml"]) == 0
    assert "sharp corner" in capsys.readouterr().out
    assert main(["study", "sharp.toml", "--no-report"]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert "unbounded:" in out
    rows = Results.load(plates / "sharp.results").rows
    assert [r["verdict"] for r in rows] == ["unbounded", "settled"]
    assert rows[0]["peak_MPa"] is rows[0]["kt_gross"] is rows[0]["peak_band_MPa"] is None
    assert "radius" in rows[0]["message"]


def test_a_failed_variant_makes_exit_code_1_and_the_others_are_kept(plates, monkeypatch, capsys):
    from femdrum.assess import solve as module

    real = module.solve_all

    def fails_at_200(part, *args, **more):
        if part.width_mm == 200:
            raise MemoryError
        return real(part, *args, **more)

    monkeypatch.setattr(module, "solve_all", fails_at_200)
    assert main(["study", "plates.toml", "--workers", "1", "--no-report"]) == 1
    captured = capsys.readouterr()
    assert "failed: width_mm = 200: not enough memory" in captured.err
    assert [r["verdict"] for r in Results.load(plates / "plates.results").rows] == ["settled", "failed", "settled"]


def test_an_internal_error_is_one_short_message_unless_asked(plates, monkeypatch, capsys):
    from femdrum import study

    def broken(path):
        raise RuntimeError("a bug")

    monkeypatch.setattr(study, "read_study", broken)
    assert main(["check", "plates.toml"]) == 1
    message = capsys.readouterr().err
    assert "RuntimeError: a bug" in message
    assert "--debug" in message
    with pytest.raises(RuntimeError):
        main(["check", "plates.toml", "--debug"])


def test_kt_answers_one_question(capsys):
    assert main(["kt", "circle", "--diameter-mm", "40", "--width-mm", "200", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["kt_gross"]["value"] == pytest.approx(3.1525, rel=2e-3)
    assert told["part"]["length_mm"] == 840
    assert any(c["value"] is not None and abs(c["difference"]) < 2e-3 for c in told["comparisons"])
    assert main(["kt", "circle", "--diameter-mm", "40", "--width-mm", "200", "--pitch-mm", "80"]) == 0
    text = capsys.readouterr().out
    assert "Kt gross" in text
    assert "settled" in text
    assert (
        main(["kt", "slot", "--size-x-mm", "9", "--size-y-mm", "9", "--corner-radius-mm", "0", "--width-mm", "40"]) == 1
    )
    assert "unbounded" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("purpose", "file"), [("ring", "corner_radius"), ("plate", "plate_with_hole"), ("shapes", "slot_shapes")]
)
def test_new_writes_a_study_without_fault_and_never_over_another(purpose, file, tmp_path, capsys):
    path = tmp_path / f"{file}.toml"
    assert main(["new", "--for", purpose, str(path)]) == 0
    assert "femdrum study" in capsys.readouterr().out
    assert path.read_text() == (ROOT / "studies" / path.name).read_text(), (
        "the studies of the repository are what `new` writes"
    )
    assert main(["check", str(path)]) == 0
    path.write_text("mine")
    assert main(["new", str(path)]) == 2
    assert "is there already" in " ".join(capsys.readouterr().err.split())
    assert path.read_text() == "mine"
    assert main(["new", str(tmp_path / "no" / "folder.toml")]) == 2
    assert main(["new", str(tmp_path)]) == 2


def test_studies_hold_what_they_promise():
    files = [p for p in (ROOT / "studies").glob("*.toml") if command_of(tomllib.loads(p.read_text()))[0] == "study"]
    counts = {p.stem: len(read_study(p).variants) for p in files}
    assert counts["corner_radius"] == 5
    assert counts["life"] == 3
    assert counts["plate_with_hole"] == 7
    assert counts["rest_of_drum"] == 2
    assert counts["slot_shapes"] == 20


@pytest.mark.parametrize(
    ("name", "command"),
    [("drum_whole", "rotor"), ("retention", "retention"), ("balance", "balance"), ("seat_contact", "contact")],
)
def test_files_of_other_commands_say_which(name, command, capsys):
    assert main(["check", str(ROOT / "studies" / f"{name}.toml")]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert f"`femdrum {command} " in said


def test_doctor_tells_what_is_there(capsys, monkeypatch):
    monkeypatch.setattr(doctor, "_PICTURE", "pass")
    main(["doctor", "--json"])
    told = json.loads(capsys.readouterr().out)
    found = {f["what"]: f for f in told["findings"]}
    assert {"Python", "numpy", "gmsh", "pyvista", "folder", "cores"} <= set(found)
    assert found["numpy"]["good"] is True


def test_doctor_names_the_line_that_mends(capsys, monkeypatch):
    monkeypatch.setattr(doctor, "_PICTURE", "import sys; sys.exit('libGL.so.1: cannot open shared object file')")
    monkeypatch.setattr(doctor.metadata, "version", lambda name: "0.1" if name == "meshio" else "99")
    assert main(["doctor"]) == 1
    out = capsys.readouterr().out
    assert "0.1 is outside the tested range" in out
    assert "-m pip install 'meshio" in out
    assert f"apt-get install -y --no-install-recommends {' '.join(doctor.DEBIAN)}" in out


@pytest.mark.parametrize(("version", "good"), [(None, None), ("0.1", False), ("2026.1", True)])
def test_doctor_knows_what_a_cluster_needs(version, good, monkeypatch):
    def found(name):
        if version is None:
            raise doctor.metadata.PackageNotFoundError(name)
        return version

    monkeypatch.setattr(
        doctor.metadata,
        "requires",
        lambda name: ['distributed<2027,>=2025.1; extra == "cluster"', 'x; extra == "test"'],
    )
    monkeypatch.setattr(doctor.metadata, "version", found)
    monkeypatch.setattr(doctor, "_in_child", lambda code: "")
    findings = [f for f in doctor.examine(pictures=False) if f.what in ("distributed", "x")]
    assert [(f.what, f.good) for f in findings] == [("distributed", good)]
    if version is None:
        assert "only `femdrum study --cluster` needs it" in findings[0].text
        assert "pip install 'distributed<2027,>=2025.1'" in findings[0].text


def test_doctor_and_the_build_name_the_same_packages():
    assert set(doctor.DEBIAN) == set((ROOT / ".ci" / "debian").read_text().split())


@pytest.mark.parametrize(
    ("version", "range_", "good"),
    [
        ("1.26.4", ">=1.26,<3", True),
        ("3.0", ">=1.26,<3", False),
        ("1.7.12", "<1.8,>=1.7", True),
        ("1.10", ">=1.9", True),
        ("0.44", ">=0.44,<1", True),
        ("0.43.9", ">=0.44,<1", False),
        ("2.0.0rc1", ">=2,<3", True),
    ],
)
def test_version_ranges(version, range_, good):
    assert doctor.in_range(version, range_) is good


@pytest.mark.skipif(os.name != "posix", reason="closes a pipe the POSIX way")
def test_a_reader_that_leaves_early_is_no_error(plates):
    child = subprocess.Popen(
        [sys.executable, "-m", "femdrum", "check", "plates.toml"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    child.stdout.close()
    assert "Traceback" not in child.stderr.read()
    child.stderr.close()
    child.wait()


@pytest.mark.skipif(os.name != "posix", reason="opens a terminal the POSIX way")
def test_a_bar_on_a_terminal_and_the_table_alone_in_a_pipe(plates):
    import pty

    ours, theirs = pty.openpty()
    child = subprocess.run(
        [sys.executable, "-m", "femdrum", "study", "plates.toml", "--no-report", "--workers", "1"],
        stdout=subprocess.PIPE, stderr=theirs, text=True, check=True,
    )  # fmt: skip
    os.close(theirs)
    shown = os.read(ours, 65536).decode()
    os.close(ours)
    assert "| 0 of 3" in shown
    assert "|========================| 3 of 3" in shown
    assert shown.endswith("\r"), "the bar is taken away at the end"
    assert "\r" not in child.stdout
    assert "|=" not in child.stdout
