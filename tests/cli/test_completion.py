"""`femdrum completion`: what bash offers when a script is read by a real bash."""

import shlex
import shutil
import subprocess

import pytest

from femdrum.cli import main, whole_parser
from femdrum.cli.parser import options

BASH = shutil.which("bash")


def script(shell, capsys):
    assert main(["completion", shell]) == 0
    return capsys.readouterr().out


@pytest.fixture
def folder(tmp_path):
    for name in ("one.results", "two.results"):
        (tmp_path / name).mkdir()
    for name in ("my.toml", "notes.txt", "records.csv"):
        (tmp_path / name).write_text("x")
    return tmp_path


@pytest.fixture
def offered(folder, capsys):
    """Asks a real bash what it offers for the last of some words."""
    if BASH is None:
        pytest.skip("needs bash")
    file = folder / ".completion"
    file.write_text(script("bash", capsys))

    def ask(*words):
        lines = f"""
            source {shlex.quote(str(file))}
            function_of_femdrum=$(complete -p femdrum | sed 's/.*-F \\([^ ]*\\).*/\\1/')
            COMP_WORDS=({shlex.join(words)}); COMP_CWORD={len(words) - 1}; COMPREPLY=()
            "$function_of_femdrum" femdrum {shlex.quote(words[-1])} ''
            printf '%s\\n' "${{COMPREPLY[@]}}"
        """
        done = subprocess.run([BASH, "--norc", "-c", lines], capture_output=True, text=True, cwd=folder, check=True)
        assert not done.stderr
        return set(done.stdout.split())

    return ask


def test_all_commands_are_offered(offered):
    commands = next(a for a in whole_parser()._actions if a.metavar == "COMMAND").choices
    assert offered("femdrum", "") == set(commands)
    assert offered("femdrum", "comp") == {"compare", "completion"}


@pytest.mark.parametrize("command", ["study", "compare", "new", "kt", "explain"])
def test_all_options_of_a_command_are_offered(command, offered):
    commands = next(a for a in whole_parser()._actions if a.metavar == "COMMAND").choices
    assert {o for o in options(commands[command]) if o.startswith("--")} <= offered("femdrum", command, "--")


def test_studies_and_folders_where_they_belong(offered):
    found = offered("femdrum", "study", "")
    assert "my.toml" in found
    assert not {"notes.txt", "records.csv"} & found
    for words in (("report", ""), ("compare", ""), ("compare", "one.results", "")):
        found = offered("femdrum", *words)
        assert {"one.results", "two.results"} <= found
        assert not {"my.toml", "notes.txt"} & found
    assert "notes.txt" in offered("femdrum", "new", "no")


def test_fixed_words_are_offered(offered):
    assert offered("femdrum", "completion", "") == {"bash", "zsh", "fish"}
    assert offered("femdrum", "kt", "") == {"slot", "obround", "circle", "ellipse"}
    assert offered("femdrum", "new", "x.toml", "--for", "") == {"design-engineer", "analyst", "student", "shapes"}
    assert offered("femdrum", "explain", "sha") == {"sharp-corners", "share"}
    assert main(["explain", "sharp-corners"]) == 0


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_has_a_script_with_every_command(shell, capsys):
    text = script(shell, capsys)
    for name in next(a for a in whole_parser()._actions if a.metavar == "COMMAND").choices:
        assert name in text
    if shutil.which(shell):
        subprocess.run([shutil.which(shell), "-n"], input=text, text=True, check=True, capture_output=True)


def test_another_shell_is_refused(capsys):
    with pytest.raises(SystemExit) as left:
        main(["completion", "cmd"])
    assert left.value.code == 2


def test_without_the_library_the_line_that_mends_it_is_said(monkeypatch, capsys):
    monkeypatch.setitem(__import__("sys").modules, "shtab", None)
    assert main(["completion", "bash"]) == 1
    assert "pip install shtab" in capsys.readouterr().err
