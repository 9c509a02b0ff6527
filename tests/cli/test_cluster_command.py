import importlib.util
import json
import os
import sys

import clusters
import pytest
from texts import PLATE, with_

from femdrum.cli import main
from femdrum.cli.progress import in_words

with_library = pytest.mark.skipif(
    importlib.util.find_spec("distributed") is None or os.name != "posix", reason="needs the extra `cluster`"
)


@pytest.fixture
def plates(tmp_path, monkeypatch):
    """A folder with a study of three plates, fast to solve."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plates.toml").write_text(with_(PLATE, width_mm="[100, 200, 400]"))
    return tmp_path


def refused(capsys, folder, address, *parts):
    """Exit code 2, a message that names the option, and an untouched disk."""
    before = sorted(folder.iterdir())
    assert main(["study", "plates.toml", "--no-report", "--cluster", address]) == 2
    message = " ".join(capsys.readouterr().err.split())
    for part in ("--cluster", *parts):
        assert part in message
    assert "Traceback" not in message
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize(
    "address", ["", " ", "nonsense", "tcp://", "host", "host:", "host:port", "a b:80", "http://x/y:8786/"]
)
def test_addresses_that_are_none(address, plates, capsys):
    refused(capsys, plates, address, "must be HOST:PORT", "dask scheduler", "dask worker ADDRESS --nthreads 1")


@with_library
@pytest.mark.parametrize(
    "address", ["127.0.0.1:1", "tcp://127.0.0.1:1", "127.0.0.1:99999", "name.invalid:8786", "odd://127.0.0.1:1"]
)
def test_addresses_at_which_nobody_answers(address, plates, capsys, monkeypatch):
    monkeypatch.setattr("femdrum.study.cluster._CONNECT_S", 0.5)
    refused(capsys, plates, address, "no scheduler that answers", "dask scheduler")


def test_without_the_library(plates, capsys, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    refused(capsys, plates, "tcp://127.0.0.1:8786", "needs the library dask.distributed", "-m pip install 'distributed")


def test_workers_here_and_a_cluster_exclude_each_other(plates, capsys):
    with pytest.raises(SystemExit) as left:
        main(["study", "plates.toml", "--workers", "2", "--cluster", "127.0.0.1:8786"])
    assert left.value.code == 2
    assert "not allowed with" in capsys.readouterr().err


@with_library
def test_the_command_prints_the_same_on_a_cluster(plates, capsys):
    assert main(["study", "plates.toml", "--no-report", "--out", "here", "--workers", "1", "--json"]) == 0
    here = json.loads(capsys.readouterr().out)
    (plates / "logs").mkdir()
    with clusters.local(plates / "logs") as made:
        made.workers(2)
        assert main(["study", "plates.toml", "--no-report", "--out", "there", "--cluster", made.address, "--json"]) == 0
        captured = capsys.readouterr()
        assert main(["study", "plates.toml", "--no-report", "--out", "again", "--cluster", made.address]) == 0
        said = capsys.readouterr()
    there = json.loads(captured.out)
    assert captured.err == ""
    for rows in (here["rows"], there["rows"]):
        assert [row.pop("seconds") > 0 for row in rows] == [True] * 3
    assert here["rows"] == there["rows"]
    assert said.out.count("settled") == 3
    assert len([line for line in said.err.splitlines() if "of 3: width_mm" in line]) == 3


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (None, ""),
        (0.0, "a few seconds left"),
        (8.0, "about 10 s left"),
        (44.0, "about 45 s left"),
        (58.0, "about 1 min left"),
        (200.0, "about 3 min left"),
        (3500.0, "about 58 min left"),
        (3590.0, "about 1 h left"),
        (5400.0, "about 1.5 h left"),
        (100_000.0, "about 28 h left"),
    ],
)
def test_the_time_that_remains_in_words(seconds, words):
    assert in_words(seconds) == words
