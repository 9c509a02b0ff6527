"""Slips of the first hour: each is met with one message that names the right way."""

import subprocess
import sys

import pytest
from texts import PLATE

from femdrum.cli import main, whole_parser
from femdrum.study import read_study, run
from femdrum.study.which_command import command_of

SHEETS = {
    "study": PLATE,
    "retention": "[clamp]\n",
    "balance": "[balance]\n",
    "contact": "[pack]\n",
    "rotor": "[drum]\n",
}


@pytest.fixture(scope="module")
def solved(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hour")
    (folder / "plate.toml").write_text(PLATE)
    run(read_study(folder / "plate.toml"), folder / "plate.results", workers=1)
    for command, text in SHEETS.items():
        (folder / f"{command}.toml").write_text(text)
    return folder


@pytest.fixture
def home(solved, monkeypatch):
    monkeypatch.chdir(solved)
    return solved


def left(arguments, capsys):
    """Exit code and what was said, of a command that argparse may end."""
    try:
        code = main(arguments)
    except SystemExit as end:
        code = end.code
    captured = capsys.readouterr()
    assert "Traceback" not in captured.err
    return code, " ".join((captured.err + captured.out).split())


def test_femdrum_alone_says_how_to_begin(capsys):
    code, said = left([], capsys)
    assert code == 2
    for part in ("femdrum new my.toml", "femdrum study my.toml", "femdrum explain", "femdrum --help"):
        assert part in said


@pytest.mark.parametrize(
    ("arguments", "parts"),
    [
        (["stuyd", "plate.toml"], ["no command 'stuyd'", "did you mean 'study'?"]),
        (["xyzzy"], ["no command 'xyzzy'", "`femdrum --help` lists all"]),
        (["plate.toml"], ["`femdrum study plate.toml`"]),
        (["plate.results"], ["`femdrum report plate.results`"]),
        (["plate.results/"], ["`femdrum report plate.results/`"]),
        (["study", "plate.toml", "--wrokers", "3"], ["--wrokers", "did you mean '--workers'?"]),
        (["study", "plate.toml", "--zzz"], ["--zzz", "`femdrum study --help` lists what it takes"]),
        (["compare", "plate.results", "other", "--cvs=x.csv"], ["did you mean '--csv'?"]),
        (["study", "plate.results"], ["is a folder", "`femdrum report plate.results`"]),
        (["check", "plate.results"], ["is a folder", "`femdrum report plate.results`"]),
        (["rotor", "plate.results"], ["is a folder", "`femdrum report plate.results`"]),
        (["check", "."], ["is a folder, not a study file", "give a .toml file inside it"]),
        (["study", "plate.results/results.csv"], ["is a table", "ends in .toml"]),
        (["study", "plate.results/results.json"], ["is a file of results", "ends in .toml"]),
        (["check", "plaet.toml"], ["there is no such file", "did you mean", "plate.toml"]),
        (["report", "plate.toml"], ["is a file, not a results folder", "first `femdrum study plate.toml`"]),
        (["report", "plate.results/results.json"], ["is a file in a results folder", "'plate.results'"]),
        (["report", "plaet.results"], ["there is no such folder", "did you mean 'plate.results'?"]),
        (["report", "quite-another.results"], ["there is no such folder", "run `femdrum study FILE` first"]),
        (["report", "."], ["holds no results.json", "there is one in it: 'plate.results'"]),
    ],
)
def test_a_slip_is_met_with_the_right_way(arguments, parts, home, capsys):
    code, said = left(arguments, capsys)
    assert code == 2
    for part in parts:
        assert part in said
    assert len(said) < 400


@pytest.mark.parametrize("arguments", [["help"], ["help", "study"]])
def test_help_as_a_word(arguments, capsys):
    code, said = left(arguments, capsys)
    assert code == 0
    assert said.startswith("usage: femdrum " + " ".join(arguments[1:]))


OTHERS = [
    (asked, given)
    for asked in (*SHEETS, "check")
    for given in SHEETS
    if given != ("study" if asked == "check" else asked)
]


@pytest.mark.parametrize(("asked", "given"), OTHERS)
def test_a_file_of_another_command_is_told_as_such(asked, given, home, capsys):
    code, said = left([asked, f"{given}.toml"], capsys)
    assert code == 2
    assert f"`femdrum {given} {given}.toml` reads it" in said
    assert "is not known here" not in said, "one message, not one for each table"
    assert given in next(a for a in whole_parser()._actions if a.metavar == "COMMAND").choices


@pytest.mark.parametrize(
    ("tables", "command"),
    [
        (["part", "drum"], "study"),
        (["drum", "running"], "rotor"),
        (["material"], ""),
        ([], ""),
        (["round_seat", "material"], "contact"),
    ],
)
def test_the_table_that_tells(tables, command):
    assert command_of(tables)[0] == command


def test_slips_load_no_library():
    code = (
        "import sys\nfrom femdrum.cli import main\n"
        "try: main(['stuyd'])\nexcept SystemExit: pass\n"
        "print(sorted({'numpy', 'scipy', 'matplotlib', 'gmsh'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
