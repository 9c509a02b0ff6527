"""`femdrum new`: a study that runs, for each of those who ask."""

import re
import shlex

import pytest

from femdrum.cli import main
from femdrum.cli.machine import _TEMPLATES
from femdrum.study import read_study

PURPOSES = ("design-engineer", "analyst", "student", "shapes")


@pytest.mark.parametrize("purpose", PURPOSES)
def test_each_has_no_fault_and_names_its_own_file(purpose, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["new", "mine.toml", "--for", purpose]) == 0
    assert "femdrum study mine.toml" in capsys.readouterr().out
    assert main(["check", "mine.toml"]) == 0
    assert "no fault found" in capsys.readouterr().out
    text = (tmp_path / "mine.toml").read_text()
    for command in re.findall(r"femdrum \w+ (\S+\.(?:toml|results))", text):
        assert command.startswith("mine."), "the comments speak of the file that was written"
    assert "femdrum study mine.toml" in text
    assert text.isascii()


def test_without_a_purpose_it_is_the_design_engineers(tmp_path):
    assert main(["new", str(tmp_path / "a.toml")]) == 0
    assert main(["new", str(tmp_path / "b.toml"), "--for", "design-engineer"]) == 0
    assert main(["new", str(tmp_path / "c.toml"), "--for", "ring"]) == 0
    texts = {(tmp_path / f"{n}.toml").read_text().replace(f"{n}.toml", "") for n in "abc"}
    assert len(texts) == 1
    assert read_study(tmp_path / "a.toml").variants[0].part.kind == "ring"


def test_each_purpose_has_another_study(tmp_path):
    kinds = {}
    for purpose in PURPOSES:
        assert main(["new", str(tmp_path / f"{purpose}.toml"), "--for", purpose]) == 0
        study = read_study(tmp_path / f"{purpose}.toml")
        kinds[purpose] = (study.variants[0].part.kind, len(study.variants))
    assert kinds == {
        "design-engineer": ("ring", 5),
        "analyst": ("ring", 3),
        "student": ("plate", 7),
        "shapes": ("plate", 20),
    }
    assert set(PURPOSES) == set(_TEMPLATES)


def test_the_analysts_figure_is_one_of_those_that_its_study_has(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    main(["new", "mine.toml", "--for", "analyst"])
    text = (tmp_path / "mine.toml").read_text()
    (name,) = re.findall(r"femdrum figure mine\.results (kt-\S+) --preset one-column --out fig\.pdf", text)
    conditions = [c.name for c in read_study("mine.toml").variants[0].conditions]
    assert name.removeprefix("kt-") in [c.replace(" ", "_") for c in conditions]


@pytest.mark.parametrize("name", ["with space.toml", "o'clock.toml"])
def test_odd_names_are_quoted_for_the_shell(name, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["new", name]) == 0
    command = capsys.readouterr().out.splitlines()[-1].strip()
    assert shlex.split(command) == ["femdrum", "study", name]
    assert main(["check", name]) == 0


def test_an_unknown_purpose_is_refused(capsys):
    with pytest.raises(SystemExit) as left:
        main(["new", "x.toml", "--for", "somebody"])
    assert left.value.code == 2
    assert "design-engineer" in capsys.readouterr().err


def test_it_never_writes_over_a_file(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("mine")
    for purpose in PURPOSES:
        assert main(["new", str(path), "--for", purpose]) == 2
    assert path.read_text() == "mine"
