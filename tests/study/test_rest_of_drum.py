"""[rest_of_drum]: files of rotor, retention and balance read, checked and laid against the study; reckoned, stored and read back."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from femdrum.cli import main
from femdrum.errors import InputFault, SolveFailure
from femdrum.study import Results, read_study, rest_stage
from femdrum.study.rest_stage import REST_FOLDER, reckon_rest, rest_line, stored_rest
from femdrum.study.store import Store

STUDIES = Path(__file__).parents[2] / "studies"
FILES = ("rest_of_drum.toml", "drum_whole.toml", "retention.toml", "balance_bare.toml", "balance_bare_record.csv")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The shipped study and its files, to be spoiled."""
    for name in FILES:
        shutil.copy(STUDIES / name, tmp_path / name)
    return tmp_path


def change(home: Path, name: str, *pairs: tuple[str, str]) -> None:
    text = (home / name).read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    (home / name).write_text(text, encoding="utf-8")


def faults(home: Path) -> list[str]:
    with pytest.raises(InputFault) as error:
        read_study(home / "rest_of_drum.toml")
    return [str(fault) for fault in error.value.faults]


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A results folder with the rest of the drum, nothing else solved."""
    folder = tmp_path_factory.mktemp("rest") / "out"
    study = read_study(STUDIES / "rest_of_drum.toml")
    reckon_rest(study, Store.open(study, folder))
    return folder


def test_the_shipped_study_is_read_whole() -> None:
    study = read_study(STUDIES / "rest_of_drum.toml")
    rest = study.rest
    assert rest is not None
    assert rest.files == {"rotor": "drum_whole.toml", "retention": "retention.toml", "balance": "balance_bare.toml"}
    assert rest.rotor.drum.wall_mm == study.variants[0].part.wall_mm
    assert rest.balance.record.run_numbers
    assert set(rest.given) == {
        "rotor/drum_whole.toml", "retention/retention.toml", "balance/balance_bare.toml", "balance/balance_bare_record.csv",
    }  # fmt: skip


def test_it_is_no_part_of_a_variant(home: Path) -> None:
    whole = read_study(home / "rest_of_drum.toml")
    text = (home / "rest_of_drum.toml").read_text(encoding="utf-8")
    (home / "alone.toml").write_text(text.split("\n[rest_of_drum]")[0], encoding="utf-8")
    alone = read_study(home / "alone.toml")
    assert alone.rest is None
    assert [v.key for v in alone.variants] == [v.key for v in whole.variants]


def test_a_study_may_name_some_of_them(home: Path) -> None:
    change(home, "rest_of_drum.toml", ('rotor = "drum_whole.toml"', "#"), ('balance = "balance_bare.toml"', "#"))
    rest = read_study(home / "rest_of_drum.toml").rest
    assert rest is not None
    assert (rest.rotor, rest.balance) == (None, None)
    assert set(rest.given) == {"retention/retention.toml"}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'rotor = "drum_whole.toml"',
            "rotor = 3",
            "rest_of_drum.rotor = 3: must be the name of a file of a whole drum",
        ),
        ('rotor = "drum_whole.toml"', 'rotor = ""', "rest_of_drum.rotor = '': must be the name"),
        ('rotor = "drum_whole.toml"', 'roter = "drum_whole.toml"', "did you mean 'rotor'?"),
        (
            'rotor = "drum_whole.toml"',
            'rotor = "drum_hole.toml"',
            "there is no such file; did you mean 'drum_whole.toml'?",
        ),
        ('rotor = "drum_whole.toml"', 'rotor = "."', "rest_of_drum.rotor = '.': is a folder"),
        ('rotor = "drum_whole.toml"', 'rotor = "retention.toml"', "file retention.toml"),
        ('rotor = "drum_whole.toml"', 'rotor = "rest_of_drum.toml"', "file rest_of_drum.toml"),
    ],
)
def test_bad_names(home: Path, old: str, new: str, said: str) -> None:
    change(home, "rest_of_drum.toml", (old, new))
    told = faults(home)
    assert any(said in text for text in told), told
    assert all(text.startswith("line ") for text in told)


@pytest.mark.parametrize("table", ["rest_of_drum = 4", "[[rest_of_drum]]", "[rest_of_drum]"])
def test_the_table_itself(home: Path, table: str) -> None:
    text = (home / "rest_of_drum.toml").read_text(encoding="utf-8").split("\n[rest_of_drum]")[0]
    (home / "rest_of_drum.toml").write_text(
        f"{table}\n{text}" if "=" in table else f"{text}\n{table}\n", encoding="utf-8"
    )
    assert any(f.split(": ")[1].startswith("rest_of_drum") for f in faults(home))


def test_all_faults_at_once_each_with_its_file_and_line(home: Path) -> None:
    change(home, "rest_of_drum.toml", ("error = 0.02", "error = 2"))
    change(home, "drum_whole.toml", ("wall_mm = 40", "wall_mm = -40"))
    change(home, "retention.toml", ("taper_deg = 5", "taper_deg = 50"))
    change(home, "balance_bare.toml", ("grade_mm_s = 16 ", "grade_mm_s = 1e9 "))
    change(home, "balance_bare_record.csv", ("phase_deg", "phase_rad"))
    told = faults(home)
    line = next(
        n for n, text in enumerate((home / "drum_whole.toml").read_text().splitlines(), 1) if "wall_mm = -40" in text
    )
    for words in (
        ("accuracy.error = 2",),
        ("rest_of_drum.rotor, file drum_whole.toml", f"line {line}: drum.wall_mm = -40"),
        ("rest_of_drum.retention, file retention.toml", "clamp.wedge.taper_deg = 50"),
        ("rest_of_drum.balance, file balance_bare.toml", "balance.grade_mm_s = 1000000000.0"),
        ("rest_of_drum.balance, file balance_bare_record.csv, line 3", "phase_rad"),
    ):
        assert any(all(word in text for word in words) for text in told), (words, told)


AGREE: list[tuple[str, str, str, tuple[str, ...]]] = [
    ("rest_of_drum.toml", "outer_diameter_mm = 780", "outer_diameter_mm = 800", ("part.outer_diameter_mm = 800", "drum.outer_diameter_mm = 780", "drum_whole.toml")),
    ("rest_of_drum.toml", "wall_mm = 40", "wall_mm = 42", ("part.wall_mm = 42", "drum.wall_mm = 40")),
    ("retention.toml", "wall_mm = 40", "wall_mm = 42", ("part.wall_mm = 40", "hit.wall_mm = 42", "'heavy cut'", "retention.toml")),
    ("retention.toml", "spacing_mm = 740", "spacing_mm = 780", ("part.outer_diameter_mm", "hit.spacing_mm = 780")),
    ("retention.toml", "speed_rpm = 1000", "speed_rpm = 900", ("rest_of_drum.retention", "up to 900 rpm only", "1000 rpm")),
    ("rest_of_drum.toml", "pitch_mm = 180", "pitch_mm = 200", ("part.pitch_mm = 200", "drum.pitch_mm = 180")),
    ("rest_of_drum.toml", "slots_around = 2", "slots_around = 3", ("part.slots_around = 3", "drum.slots_around = 2")),
    ("rest_of_drum.toml", 'rows = "alternate"', 'rows = "aligned"', ("part.rows = 'aligned'", "'alternate'")),
    ("rest_of_drum.toml", "edge_break_mm = 2", "edge_break_mm = 1", ("part.edge_break_mm = 1", "drum.edge_break_mm = 2")),
    ("rest_of_drum.toml", "around_mm = 60", "around_mm = 64", ("part.cutout.around_mm = 64", "drum.cutout.around_mm = 60")),
    ("rest_of_drum.toml", "[8, 12]", "[8, 10]", ("part.cutout.corner_radius_mm = [8, 10]", "drum.cutout.corner_radius_mm = 12")),
    ("rest_of_drum.toml", 'grade = "S355"', 'grade = "S690QL"', ("material.grade = 'S690QL'", "'S355'")),
    ("rest_of_drum.toml", "[machine]\npower_kW = 420\nspeed_rpm = 1000", "[machine]\npower_kW = 420\nspeed_rpm = 950", ("machine.speed_rpm = 950", "1000, 820 rpm")),
    ("rest_of_drum.toml", "bearing_span_mm = 2375", "bearing_span_mm = 2200", ("machine.bearing_span_mm = 2200", "2375")),
    ("balance_bare.toml", "speed_rpm = 1000", "speed_rpm = 1500", ("rest_of_drum.balance", "balance.speed_rpm = 1500")),
    ("balance_bare.toml", "bearings_mm = [0, 2375]", "bearings_mm = [0, 2500]", ("2500 mm apart", "2375 mm apart")),
    ("balance_bare.toml", "z_mm = 2130", "z_mm = 2030", ("balance.planes[2].z_mm = 2030", "drum.mass_positions[2].z_mm = 2130")),
    ("balance_bare.toml", "plate_g = 250", "plate_g = 200", ("balance.planes[1].plate_g = 200", "drum.mass_positions[1].plate_g = 250")),
    ("balance_bare.toml", "[15, 45,", "[20, 45,", ("other positions around plane 1",)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "old", "new", "said"), AGREE, ids=[f"{n.split('.')[0]}: {o[:32]!r}" for n, o, _, _ in AGREE]
)
def test_what_stands_twice_must_agree(home: Path, name: str, old: str, new: str, said: tuple[str, ...]) -> None:
    change(home, name, (old, new))
    told = faults(home)
    assert any(all(word in text for word in said) for text in told), told
    assert all(text.startswith("line ") for text in told)


def test_a_varied_dimension_needs_the_other_files_value_among_its_own(home: Path) -> None:
    change(home, "rest_of_drum.toml", ("outer_diameter_mm = 780", "outer_diameter_mm = [770, 780]"))
    assert len(read_study(home / "rest_of_drum.toml").variants) == 4


def test_with_the_drum_of_the_map(home: Path) -> None:
    """[drum] of the study and [drum] of the rotor file: what both give must be the same."""
    table = """
[drum]
shell_length_mm = 2000
rows_total = 10
first_row_mm = 180

[drum.drive_end]
disc_thickness_mm = 50
recess_mm = 25
stub_diameter_mm = 175
stub_length_mm = 230
fillet_radius_mm = 18
beyond_mm = 250

[[drum.state]]
condition = "running"
speed_rpm = 1000

[life]
target_h = 10000

[life.finish]
process = "milled"
roughness_Rz_um = 12.5

[[duty]]
condition = "running"
cycle = "rotating"
hours_per_1000_h = 1000
"""
    text = (home / "rest_of_drum.toml").read_text(encoding="utf-8")
    (home / "rest_of_drum.toml").write_text(text.replace("[8, 12]", "12") + table, encoding="utf-8")
    told = faults(home)
    for said in (
        "drum.shell_length_mm = 2000: differs from drum.shell_length_mm = 1980",
        "drum.drive_end.disc_thickness_mm = 50: differs",
    ):
        assert any(said in text for text in told), told
    assert len(told) == 2


def test_only_with_a_ring(home: Path) -> None:
    text = (STUDIES / "plate_with_hole.toml").read_text(encoding="utf-8")
    (home / "rest_of_drum.toml").write_text(text + '\n[rest_of_drum]\nrotor = "drum_whole.toml"\n', encoding="utf-8")
    assert any("goes with a ring, not with a plate" in text for text in faults(home))


def test_what_is_stored_is_what_the_commands_write(
    stored: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = stored / REST_FOLDER
    assert main(["rotor", str(STUDIES / "drum_whole.toml"), "--out", str(tmp_path / "r"), "--no-pictures"]) == 0
    assert main(["retention", str(STUDIES / "retention.toml"), "--out", str(tmp_path / "t"), "--no-report"]) == 0
    assert main(["balance", str(STUDIES / "balance_bare.toml"), "--out", str(tmp_path / "b"), "--no-report"]) == 0
    capsys.readouterr()
    pairs = [("rotor", "r", f"{n}.csv") for n in ("rows", "slots", "masses", "bearings", "critical_speeds")]
    pairs += [("retention", "t", "retention.csv"), ("balance", "b", "balance.csv")]
    for part, other, name in pairs:
        assert (own / part / name).read_text() == (tmp_path / other / name).read_text(), name
    assert json.loads((own / "retention/retention.json").read_text()) == json.loads(
        (tmp_path / "t/retention.json").read_text()
    )


def test_read_back_without_the_files(stored: Path, tmp_path: Path) -> None:
    """From a copy elsewhere: the folder alone is enough, and gives the same numbers again."""
    shutil.copytree(stored, tmp_path / "elsewhere")
    rest = stored_rest(tmp_path / "elsewhere")
    assert rest is not None
    table = (stored / REST_FOLDER / "rotor" / "rotor.json").read_text(encoding="utf-8")
    sheet, got = rest.rotor
    assert sheet.name == "drum_whole"
    assert got.masses.mass_kg == json.loads(table)["masses"]["mass_kg"]
    assert rest.retention[1].verdict == "held"
    balance = json.loads((stored / REST_FOLDER / "balance" / "balance.json").read_text(encoding="utf-8"))
    found = [[p["plates"] for p in plane["positions"]] for plane in balance["planes"]]
    assert [list(plane.plates) for plane in rest.balance[1].planes] == found
    assert rest.failures == {}
    assert stored_rest(tmp_path) is None


def test_reckoned_once_and_anew_when_a_file_changes(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    change(home, "rest_of_drum.toml", ('rotor = "drum_whole.toml"', "#"), ('balance = "balance_bare.toml"', "#"))
    calls: list[str] = []
    real = rest_stage._writers

    def counted(rest: Any) -> Any:
        calls.append("reckoned")
        return real(rest)

    monkeypatch.setattr(rest_stage, "_writers", counted)
    study = read_study(home / "rest_of_drum.toml")
    store = Store.open(study, home / "out")
    reckon_rest(study, store)
    reckon_rest(study, store)
    assert len(calls) == 1
    first = (home / "out" / REST_FOLDER / "retention" / "retention.csv").read_text()
    change(home, "retention.toml", ("force_kN = 55", "force_kN = 60"))
    reckon_rest(read_study(home / "rest_of_drum.toml"), store)
    assert len(calls) == 2
    assert (home / "out" / REST_FOLDER / "retention" / "retention.csv").read_text() != first
    assert [p.name for p in (home / "out").iterdir() if p.name.startswith(".rest")] == []
    change(home, "rest_of_drum.toml", ('retention = "retention.toml"', "#"), ("\n[rest_of_drum]", "\n#"))
    reckon_rest(read_study(home / "rest_of_drum.toml"), store)
    assert not (home / "out" / REST_FOLDER).exists()


def test_a_part_without_an_answer_leaves_its_reason(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(read: Any) -> Any:
        raise SolveFailure("no optimum was found in the time allowed")

    monkeypatch.setattr(rest_stage, "_balance", fails)
    change(home, "rest_of_drum.toml", ('rotor = "drum_whole.toml"', "#"))
    study = read_study(home / "rest_of_drum.toml")
    reckon_rest(study, Store.open(study, home / "out"))
    rest = stored_rest(home / "out")
    assert rest is not None
    assert rest.failures == {"balance": "no optimum was found in the time allowed"}
    assert rest.balance is None
    assert rest.retention is not None


def test_one_line_for_the_terminal(stored: Path, tmp_path: Path) -> None:
    assert rest_line(stored) == "rotor, retention (held), balance (within the permissible)"
    assert rest_line(tmp_path) == "nothing is stored"
    shutil.copytree(stored, tmp_path / "out")
    mark = tmp_path / "out" / REST_FOLDER / "rest_of_drum.json"
    data = json.loads(mark.read_text(encoding="utf-8"))
    mark.write_text(json.dumps(data | {"failures": {"rotor": "x", "balance": "y"}}), encoding="utf-8")
    assert rest_line(tmp_path / "out") == "rotor (no answer), retention (held), balance (no answer)"


def test_check_names_the_files(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(STUDIES / "rest_of_drum.toml")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "rest of the drum: rotor (drum_whole.toml), retention (retention.toml), balance (balance_bare.toml)" in said


def test_a_run_stores_it_and_the_results_are_read(home: Path) -> None:
    """Through `run`, with a stand-in for the solver: a failed variant keeps nobody from the rest of the drum."""
    from femdrum.study import run

    change(home, "rest_of_drum.toml", ('rotor = "drum_whole.toml"', "#"))

    def solver(*args: object, **more: object) -> Any:
        raise SolveFailure("not today")

    results = run(read_study(home / "rest_of_drum.toml"), home / "out", workers=1, solver=solver)
    assert isinstance(results, Results)
    assert not results.complete
    assert stored_rest(home / "out").retention[1].verdict == "held"
