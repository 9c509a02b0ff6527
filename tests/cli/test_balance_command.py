"""`femdrum balance`: what it prints and writes, its JSON, its exit codes; bad input leaves nothing behind."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from balance_texts import BALANCE, HEAD, READINGS, RECORD

from femdrum.cli import main


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def case(tmp_path: Path) -> Path:
    text = BALANCE.replace("[[balance.planes]]", "place_hammers = true\n\n[[balance.planes]]", 1)
    bolts = '\n[balance.bolts]\nbolts = 2\nsize = "M12"\ngrade = "10.9"\nlip = false\nclamp_kN = 1.0\n'
    (tmp_path / "case.toml").write_text(text + bolts)
    (tmp_path / "record.csv").write_text(RECORD)
    return tmp_path / "case.toml"


def test_prints_the_plan_and_writes_files_and_page(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["balance", str(case), "--out", str(out), "--debug"]) == 0
    said = flat(capsys.readouterr().out)
    for words in (
        "permissible unbalance: 203,718 g·mm at G16, 900 rpm, 1200 kg, new hammers", "before the run", "rule: below", "proven: no choice of plates leaves less",
        "condition of the influences", "hammers placed", "gets the hammer of slot", "every order tried", "2 x M12 10.9", "DOES NOT HOLD", "A MASS IS NOT HELD",
        "measured, velocity rms (mm/s)", "lock out and prove zero speed", "no vibration reading" if "total_mass_kg" in BALANCE else "Take all trial masses off",
    ):  # fmt: skip
        assert words in said, words
    assert {p.name for p in out.iterdir()} == {"balance.csv", "balance.json", "balance.html", "figures"}
    page = (out / "balance.html").read_text(encoding="utf-8")
    for words in (
        "Before the run",
        "Not checked",
        "Cautions",
        "A mass is not held.",
        "gets the hammer of slot",
        "data:image/svg+xml;base64,",
        "zero speed",
    ):
        assert words in page, words
    assert "None" not in page and "nan" not in page.split("base64")[0]  # noqa: PT018


def test_json_alone_on_the_output(case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["balance", str(case), "--out", str(tmp_path / "o"), "--json", "--no-report"]) == 0
    got = capsys.readouterr()
    record = json.loads(got.out)
    assert got.err == ""
    assert record["proven"] is True
    assert record["hammers_move"] is True
    assert len(record["planes"]) == 2
    assert not (tmp_path / "o" / "balance.html").exists()


def test_without_a_record_it_says_what_can_be_reached(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = case.read_text().replace('[record]\nfile = "record.csv"\n', "")
    case.write_text(text)
    out = tmp_path / "out"
    assert main(["balance", str(case), "--out", str(out)]) == 0
    said = flat(capsys.readouterr().out)
    assert "No record" in said
    assert "plan " not in said.split("These numbers")[0].split("numbers")[-1]
    assert {p.name for p in out.iterdir()} == {"balance.json", "balance.html", "figures"}
    assert main(["balance", str(case), "--record", str(tmp_path / "record.csv"), "--out", str(out), "--no-report"]) == 0
    assert (out / "balance.csv").is_file()


def test_an_unproven_plan_ends_with_one(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from dataclasses import replace

    from femdrum.assess import balance as module

    made = module.balance_plan

    def unproven(*args, **kwargs):
        plan = made(*args, **kwargs)
        planes = tuple(replace(p, proven=False) for p in plan.masses.planes)
        return replace(plan, masses=replace(plan.masses, planes=planes))

    monkeypatch.setattr(module, "balance_plan", unproven)
    assert main(["balance", str(case), "--out", str(tmp_path / "o"), "--no-report"]) == 1
    assert "NOT PROVEN" in capsys.readouterr().out


def test_unknown_masses_are_refused_and_nothing_is_written(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    (tmp_path / "record.csv").write_text(RECORD.replace("8040,", ",").replace("2.0,200,900", "2.0,,900"))
    assert main(["balance", str(case), "--out", str(out)]) == 2
    said = flat(capsys.readouterr().err)
    assert "record.csv: mass_g: is missing" in said
    assert "record.csv: phase_deg: is missing" in said
    (tmp_path / "record.csv").write_text(HEAD + READINGS)
    assert main(["balance", str(case), "--out", str(out), "--json"]) == 2
    faults = json.loads(capsys.readouterr().out)["faults"]
    assert [f["field"] for f in faults] == ["record.hammers"]
    assert not out.exists()


def test_a_foreign_folder_is_refused(case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = sorted(p.name for p in tmp_path.iterdir())
    assert main(["balance", str(case), "--out", str(tmp_path)]) == 2
    assert "--out" in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.iterdir()) == before
