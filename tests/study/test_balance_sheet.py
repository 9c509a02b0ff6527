"""Balancing by a file: the plan is reckoned again here, from the record's cells alone; and bad files are refused whole."""

from __future__ import annotations

import cmath
import csv
import itertools
import json
import math
from pathlib import Path

import numpy as np
import pytest
from balance_texts import BALANCE, HAMMERS, HEAD, READINGS, RECORD

from femdrum.errors import FileFault, InputFault
from femdrum.rotor.balance_plan import PLAN_COLUMNS
from femdrum.study.balance_sheet import read_balance, solve_balance, write_balance

EXAMPLE = Path(__file__).parents[2] / "studies" / "balance.toml"


def put(folder: Path, text: str = BALANCE, record: str | None = RECORD) -> Path:
    (folder / "case.toml").write_text(text, encoding="utf-8")
    if record is not None:
        (folder / "record.csv").write_text(record, encoding="utf-8")
    return folder / "case.toml"


def swapped(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


def turned(size: float, angle_deg: float) -> complex:
    return size * cmath.exp(1j * math.radians(angle_deg))


def faults_of(path: Path, record: Path | None = None) -> dict[str, tuple[int | None, str]]:
    with pytest.raises(InputFault) as error:
        solve_balance(path, record)
    return {f.field: (f.line, str(f)) for f in error.value.faults}


def rows_of(path: Path) -> list[dict[str, str]]:
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def own_unbalance(rows: list[dict[str, str]], column: str, probes: list[str], sign: float) -> np.ndarray:
    """Unbalance in both planes by A (U + w) = V, trial masses kept or taken off: a linear system, written out."""
    runs = sorted({int(r["run"]) for r in rows if r["kind"] == "reading"})
    read = {
        (int(r["run"]), r["probe"]): turned(float(r[column]), sign * float(r["phase_deg"]))
        for r in rows
        if r["kind"] == "reading"
    }
    masses = np.zeros((len(runs), 2), complex)
    for r in rows:
        if r["kind"] == "trial":
            w = turned(float(r["mass_g"]) * float(r["radius_mm"]), float(r["angle_deg"]))
            stays = range(int(r["run"]), len(runs)) if r["kept"] == "yes" else [int(r["run"])]
            for run in stays:
                masses[run, int(r["plane"]) - 1] += w
    V = np.array([[read[run, p] for p in probes] for run in runs])
    A = np.linalg.solve(masses[1:], V[1:] - V[0]).T
    return np.linalg.solve(A, V[0])


def own_hammers(rows: list[dict[str, str]], masses: dict[int, float], planes: tuple[float, float]) -> np.ndarray:
    out = np.zeros(2, complex)
    for r in rows:
        if r["kind"] == "hammer":
            share = (float(r["z_mm"]) - planes[0]) / (planes[1] - planes[0])
            out += turned(masses[int(r["slot"])] * float(r["radius_mm"]), float(r["angle_deg"])) * np.array(
                [1 - share, share]
            )
    return out


@pytest.fixture(scope="module")
def example():
    return solve_balance(EXAMPLE)


def test_the_example_from_the_record_s_cells_alone(example) -> None:
    """Measured unbalance, exchanged hammers and plates, all reckoned again without the library."""
    sheet, found = example
    assert "invented" in sheet.source.lower()
    rows = rows_of(EXAMPLE.parent / "balance_record.csv")
    now = own_unbalance(rows, "velocity_rms_mm_s", ["drive end", "far end"], -1.0)
    for plane, u in zip(found.planes, now, strict=True):
        assert plane.now_g_mm == pytest.approx(u, rel=1e-9)
    listed = {int(r["slot"]): float(r["mass_g"]) for r in rows if r["kind"] == "hammer"}
    placed = {h.slot: h.mass_then_g for h in found.hammers}
    assert sorted(placed.values()) == sorted(listed.values())
    assert all(listed[h.from_slot] == h.mass_then_g and listed[h.slot] == h.mass_now_g for h in found.hammers)
    changed = now + own_hammers(rows, placed, (250, 1950)) - own_hammers(rows, listed, (250, 1950))
    assert found.moved
    for plane, u in zip(found.planes, changed, strict=True):
        assert plane.placed_g_mm == pytest.approx(u, rel=1e-9)
        plates = sum(turned(n * 250 * 330, a) for n, a in zip(plane.plates, plane.positions.angles_deg, strict=True))
        assert plane.after_g_mm == pytest.approx(u + plates, abs=1e-6 * abs(u))
        assert plane.share == pytest.approx(abs(u + plates) / plane.permissible_g_mm)
        assert plane.share <= 0.2
    assert found.planes[0].plates[6] == 0
    assert (found.verdict, found.proven) == ("within", True)
    # G16 at 1000 rpm and 3000 kg, 0.67 of it, half at each bearing
    assert found.limits.bearings_g_mm[0] == pytest.approx(0.67 * 0.5 * 3e6 * 16 / (1000 * 2 * math.pi / 60), rel=1e-9)


def test_no_other_choice_of_plates_leaves_less(tmp_path: Path) -> None:
    """Every choice tried: 3^4 in plane 1, 3^4 in plane 2, where one of five positions is blocked."""
    _, found = solve_balance(put(tmp_path))
    for plane in found.planes:
        free = [a for n, a in enumerate(plane.positions.angles_deg, 1) if n not in plane.positions.blocked]
        arms = np.array([turned(120 * 300, a) for a in free])
        every = np.array(list(itertools.product(range(3), repeat=len(free))))
        left = np.abs(plane.placed_g_mm + every @ arms)
        assert abs(plane.after_g_mm) == pytest.approx(left.min(), rel=1e-9)
        fewest = every.sum(axis=1)[left <= left.min() * (1 + 1e-9)].min()
        assert sum(plane.plates) == fewest
        assert plane.proven
        assert plane.bound_share <= plane.share + 1e-9


def test_hammers_that_stay_are_offered_their_places(tmp_path: Path) -> None:
    _, found = solve_balance(put(tmp_path))
    assert not found.moved
    assert all(p.now_g_mm == p.placed_g_mm for p in found.planes)
    assert len(found.hammers) == 6
    assert any("place_hammers = true" in note for note in found.notes)


def test_phases_that_lead_turn_the_other_way(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    lag = solve_balance(put(tmp_path / "a"))[1]
    lead = solve_balance(put(tmp_path / "b", swapped(BALANCE, ('"lag"', '"lead"'))))[1]
    rows = rows_of(tmp_path / "a" / "record.csv")
    for found, sign in ((lag, -1.0), (lead, 1.0)):
        own = own_unbalance(rows, "velocity_rms_mm_s", ["A", "B"], sign)
        assert [p.now_g_mm for p in found.planes] == pytest.approx(list(own), rel=1e-9)


def test_weighed_hammers_alone(tmp_path: Path) -> None:
    sheet, found = solve_balance(put(tmp_path, record=HEAD + HAMMERS))
    rows = rows_of(tmp_path / "record.csv")
    masses = {int(r["slot"]): float(r["mass_g"]) for r in rows}
    own = own_hammers(rows, masses, (100, 900))
    assert [p.now_g_mm for p in found.planes] == pytest.approx(list(own), rel=1e-9)
    assert found.source == "weighed hammers alone"
    assert any("shell, discs and shafts" in note for note in found.notes)
    assert sheet.name == "case"


def test_before_any_run(tmp_path: Path) -> None:
    text = swapped(BALANCE, ('[record]\nfile = "record.csv"\n', ""))
    sheet, found = solve_balance(put(tmp_path, text, None))
    assert (found.verdict, found.plan, found.planes) == ("no record", None, ())
    assert len(found.reach) == 2
    # 900 rpm, 1200 kg, G16: 203.7e3 g mm; half at each bearing; the planes stand within the bearings, so they get as much
    assert found.limits.planes_g_mm[0] == pytest.approx(0.5 * 1.2e6 * 16 / (900 * 2 * math.pi / 60), rel=1e-9)
    assert all(r.quantum_g_mm == 120 * 300 for r in found.reach)
    out = tmp_path / "out"
    with_record = solve_balance(put(tmp_path))
    write_balance(*with_record, out)
    assert (out / "balance.csv").is_file()
    write_balance(sheet, found, out)
    assert sorted(p.name for p in out.iterdir()) == ["balance.json"]


def test_plates_too_coarse_are_said_before_the_run(tmp_path: Path) -> None:
    text = swapped(BALANCE, ('[record]\nfile = "record.csv"\n', ""), ("plate_g = 120", "plate_g = 1200"))
    _, found = solve_balance(put(tmp_path, text, None))
    assert all(r.coarse for r in found.reach)
    assert sum("Plates too coarse" in w for w in found.warnings) == 2


def test_another_record(tmp_path: Path) -> None:
    other = tmp_path / "monday.csv"
    other.write_text(RECORD.replace("3.0,60,900", "1.5,60,900"))
    path = put(tmp_path)
    _, _, record, hammers = read_balance(path, other)
    assert record.path == str(other)
    assert hammers == "weighed"
    assert record.readings[0].amplitude == 1.5


def test_unknown_hammer_masses_are_refused(tmp_path: Path) -> None:
    said = faults_of(put(tmp_path, record=RECORD.replace("8040,", ",")))
    assert "not made up" in said["record.csv: mass_g"][1]
    assert said["record.csv: mass_g"][0] == 4
    said = faults_of(put(tmp_path, record=HEAD + READINGS))
    assert "masses are unknown" in said["record.hammers"][1]
    assert said["record.hammers"][0] == BALANCE.splitlines().index("[record]") + 1
    # a rotor that runs bare has none, once that is said
    bare = swapped(BALANCE, ('file = "record.csv"', 'file = "record.csv"\nhammers = "none fitted"'))
    _, found = solve_balance(put(tmp_path, bare, HEAD + READINGS))
    assert found.hammers == ()
    assert found.proven
    assert "contradicts" in faults_of(put(tmp_path, bare, RECORD))["record.hammers"][1]


def test_faults_of_both_files_at_once_with_their_lines(tmp_path: Path) -> None:
    record = RECORD.replace("2.0,200,900", "2.0,,900").replace("4.6,30,900", "4.6,30,15")
    for pairs in (
        [
            ("speed_rpm = 900", "speed_rpm = 15"),
            ("bearings_mm = [0, 1000]", "bearings_mm = [1000, 0]"),
            ("grade_mm_s", "grade"),
        ],
        [("[10, 100, 190, 280]", "[10, 100, 190, 10.1]"), ("blocked = [3]", "blocked = [6]")],
    ):
        text = swapped(BALANCE, *pairs)
        said = faults_of(put(tmp_path, text, record))
        lines, rows = text.splitlines(), record.splitlines()
        if "speed_rpm = 15" in text:
            assert "60 times revolutions a second" in said["balance.speed_rpm"][1]
            assert lines[said["balance.speed_rpm"][0] - 1] == "speed_rpm = 15"
            assert "must increase" in said["balance.bearings_mm"][1]
            assert "did you mean 'grade_mm_s'" in said["balance.grade"][1]
        else:
            assert "positions 1 and 4 coincide" in said["balance.planes.0.angles_deg"][1]
            assert lines[said["balance.planes.0.angles_deg"][0] - 1].endswith("10.1]")
            assert any(field.startswith("balance.planes.1.blocked") for field in said)
        assert "without its phase" in said["record.csv: phase_deg"][1]
        assert rows[said["record.csv: phase_deg"][0] - 1].startswith("reading,,0,B")
        assert rows[said["record.csv: speed_rpm"][0] - 1].endswith("4.6,30,15,")


def test_faults_that_show_only_together(tmp_path: Path) -> None:
    said = faults_of(put(tmp_path, swapped(BALANCE, ('phase_sense = "lag"\n', ""))))
    line, text = said["balance.phase_sense"]
    assert "lead or lag" in text
    assert BALANCE.splitlines()[line - 1] == "[balance]"
    one = "\n".join(r for r in RECORD.splitlines() if ",B," not in r) + "\n"
    assert "at least two probes" in faults_of(put(tmp_path, record=one))["record.csv: probe"][1]


@pytest.mark.parametrize(
    ("old", "new", "field", "words"),
    [
        ("angles_deg = [0, 72, 144, 216, 288]", "angles_deg = []", "balance.planes.1.angles_deg", "without positions"),
        ("z_mm = 900", "z_mm = 100", "balance.planes", "increasing"),
        ("rotor_mass_kg = 1200", 'rotor_mass_kg = "1200 kg"', "balance.rotor_mass_kg", "must be a finite number"),
        ('file = "record.csv"', 'file = "records.csv"', "records.csv: file", "cannot be read"),
        ('file = "record.csv"', "file = 3", "record.file", "must name the record"),
        ("[[balance.planes]]", "[[balance.plane]]", "balance.planes", "is missing"),
    ],
)
def test_bad_inputs(tmp_path: Path, old: str, new: str, field: str, words: str) -> None:
    said = faults_of(put(tmp_path, BALANCE.replace(old, new)))
    assert words in said[field][1]


def test_files_hold_the_same_numbers(tmp_path: Path, example) -> None:
    sheet, found = example
    folder = write_balance(sheet, found, tmp_path / "out")
    with (folder / "balance.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    record = json.loads((folder / "balance.json").read_text(encoding="utf-8"))
    assert list(rows[0]) == list(PLAN_COLUMNS) == list(record["columns"])
    assert [r["kind"] for r in rows] == [r["kind"] for r in record["rows"]]
    assert {r["kind"] for r in rows} == {"move", "mass", "result"}
    for row, plane, plain in zip(rows[-2:], found.planes, record["planes"], strict=True):
        assert float(row["after_g_mm"]) == pytest.approx(abs(plane.after_g_mm), rel=1e-5)
        assert float(row["before_g_mm"]) == pytest.approx(abs(plane.now_g_mm), rel=1e-5)
        assert plain["after"]["g_mm"] == abs(plane.after_g_mm)
        assert [p["plates"] for p in plain["positions"]] == list(plane.plates)
    told = [f for _, group in found.figures for f in group]
    assert len(record["figures"]) == len(told)
    assert all(f["from"] for f in record["figures"])
    assert set(found.plan.figures) <= set(told)
    assert record["proven"] is True
    (tmp_path / "foreign").mkdir()
    (tmp_path / "foreign" / "retention.json").write_text('{"made by": "femdrum", "kind": "retention"}')
    with pytest.raises(FileFault, match="no results of femdrum balance"):
        write_balance(sheet, found, tmp_path / "foreign")
