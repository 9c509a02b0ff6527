"""Retention by a file: what it proves is what its parts prove, its window is the border, and bad files are refused whole."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import pytest

from femdrum.assess.retention import RetentionInput, retention
from femdrum.errors import FileFault, InputFault
from femdrum.provenance import Kind
from femdrum.rotor.bar_loads import bar_reactions
from femdrum.rotor.clamp_window import clamp_window
from femdrum.rotor.seat import seat_pressure
from femdrum.study.retention_sheet import RETENTION_COLUMNS, read_retention, solve_retention, write_retention

EXAMPLE = Path(__file__).parents[2] / "studies" / "retention.toml"
TEXT = EXAMPLE.read_text(encoding="utf-8")


def put(folder: Path, text: str, name: str = "case") -> Path:
    path = folder / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    return path


def swapped(*pairs: tuple[str, str], text: str = TEXT) -> str:
    for old, new in pairs:
        assert text.count(old) >= 1, old
        text = text.replace(old, new)
    return text


def without(*tables: str, text: str = TEXT) -> str:
    """The file without these tables."""
    keep, on = [], True
    for line in text.splitlines():
        if line.startswith("["):
            on = line.split("]")[0].strip("[]") not in tables
        if on:
            keep.append(line)
    return "\n".join(keep) + "\n"


@pytest.fixture(scope="module")
def solved():
    return solve_retention(EXAMPLE)


def faults_of(path: Path) -> dict[str, tuple[int | None, str]]:
    with pytest.raises(InputFault) as error:
        read_retention(path)
    return {f.field: (f.line, str(f)) for f in error.value.faults}


def test_the_example_is_held_and_said_to_be_invented(solved) -> None:
    sheet, found = solved
    assert found.verdict == "held"
    assert "invented" in sheet.source.lower()
    assert {row.row.condition.split(",")[0] for row in found.faces} == {
        "at speed",
        "heavy cut",
        "tramp iron",
        "bar broken",
    }
    assert found.worst.row.needed_N == max(face.row.needed_N for face in found.faces)


def test_what_a_row_needs_is_the_larger_of_both_borders(solved) -> None:
    _, found = solved
    for face in found.faces:
        assert max(face.against_opening_N, face.against_slip_N) == pytest.approx(face.row.needed_N, rel=1e-12, abs=1e-9)
        expected = {"opening": face.against_opening_N, "slip": face.against_slip_N}.get(face.governs)
        assert expected is None or expected == pytest.approx(face.row.needed_N)
    assert {face.governs for face in found.faces} == {"opening", "slip", "neither", "stop"}


def test_the_torque_window_is_the_border(tmp_path: Path, solved) -> None:
    """A little below the least torque something opens or slips; a little above nothing does; above the most the bolt is too much tightened."""
    _, found = solved
    low, high = found.proof.torque_window_Nm
    for torque, held in ((0.999 * low, False), (1.001 * low, True), (0.999 * high, True), (1.002 * high, False)):
        _, at = solve_retention(put(tmp_path, swapped(("torque_Nm = 320", f"torque_Nm = {torque!r}"))))
        assert (at.verdict == "held") is held, torque
    _, at = solve_retention(put(tmp_path, swapped(("torque_Nm = 320", f"torque_Nm = {low!r}"))))
    assert at.proof.clamp.assembled_least_N == pytest.approx(found.proof.least_clamp_N, rel=1e-9)


def test_the_course_of_the_window_is_the_clamp(solved) -> None:
    _, found = solved
    curve = found.curve
    for n in (1, 17, 40):
        at = clamp_window(found.given.clamp, curve.settings[n])
        assert (curve.least_N[n], curve.most_N[n]) == (at.assembled_least_N, at.assembled_most_N)
    assert curve.set_at == (320, 320)
    assert curve.window == found.proof.torque_window_Nm
    # 0.7 of yield over the face, less what the conditions press on top
    over = max(f.row.clamp_most_N for f in found.faces if not f.row.accident) - found.proof.clamp.assembled_most_N
    assert curve.face_limit_N == pytest.approx(0.7 * 355 * 3600 - over)


@pytest.mark.parametrize(
    ("tightening", "setting", "by"), [("hydraulic", "preload_kN = 100", "pull"), ("yield controlled", "", "yield")]
)
def test_other_ways_of_tightening(tmp_path: Path, tightening: str, setting: str, by: str) -> None:
    text = swapped(("torque, friction estimated", tightening), ("torque_Nm = 320", setting))
    _, found = solve_retention(put(tmp_path, text))
    assert found.set_by == found.curve.by == by
    assert found.proof.torque_window_Nm is None
    low, high = found.curve.window
    assert low < high
    clamp = found.proof.clamp
    if by == "pull":
        # the least preload that serves, times the scatter, is the pull to set
        assert low == pytest.approx(found.proof.window.min * clamp.preload.ratio)
        n = min(range(41), key=lambda k: abs(found.curve.settings[k] - 100e3))
        at = clamp_window(found.given.clamp, preload_N=found.curve.settings[n])
        assert found.curve.least_N[n] == at.assembled_least_N
    else:
        # the two ends of what yield gives lie on the two lines
        slope_most = found.curve.most_N[-1] / found.curve.settings[-1]
        assert slope_most * found.curve.set_at[1] == pytest.approx(clamp.assembled_most_N, rel=1e-9)
        (a, b), (x, y) = found.curve.settings[-2:], found.curve.least_N[-2:]
        line = y + (found.curve.set_at[0] - b) * (y - x) / (b - a)
        assert line == pytest.approx(clamp.assembled_least_N, rel=1e-9)


def test_wear_limit_is_where_the_rim_reaches_what_is_allowed(solved) -> None:
    _, found = solved
    wear = found.wear
    at = bar_reactions(
        force_N=40e3, overhang_mm=100, wall_mm=40, width_mm=60, walls="two", spacing_mm=740, clearance_mm=wear.limit.edge_mm,
        turning_stiffness_Nmm_rad=wear.stiffness_Nmm_rad,
    )  # fmt: skip
    assert at.edge_MPa == pytest.approx(250, rel=1e-9)
    assert wear.stiffness_Nmm_rad == pytest.approx(math.pi * 206e3 / (2 * 0.91) * 60 * 40**2 / 16)
    assert wear.limit.travel_mm == pytest.approx(12 * math.tan(math.radians(5)))
    assert wear.limit.governs == "travel"
    assert (wear.states[0].walls, wear.states[-1].walls) == ("two", "one")
    # so much flattening uses the clamp up to what is needed
    left = found.proof.clamp.assembled_least_N - 900 * wear.faces_um
    assert left == pytest.approx(found.proof.least_clamp_N)


def test_seats_under_their_angle(solved) -> None:
    _, found = solved
    flat, half_round = found.seats
    assert found.seat_force_N == max(face.row.clamp_most_N for face in found.faces)
    for seat in found.seats:
        again = seat_pressure(seat.seat, force_N=found.seat_force_N, angle_deg=0.1)
        assert seat.pressure.peak_MPa == again.peak_MPa
        assert len(seat.course.angles_deg) == len(seat.course.peak_MPa)
        assert seat.course.angles_deg[-1] == pytest.approx(0.2)
    assert half_round.pressure.aligns
    assert flat.pressure.peak_MPa > 1.5 * half_round.pressure.peak_MPa


def test_a_seat_beyond_its_formula_is_refused_alone(tmp_path: Path) -> None:
    text = swapped(("angle_deg = 0.1", "angle_deg = 0.1\nacross_deg = 0.05"))
    text += '\n[[seat]]\nkind = "crowned"\nlength_mm = 60\nwidth_mm = 60\nradius_mm = 200\n'
    _, found = solve_retention(put(tmp_path, text))
    crown = found.seats[2]
    assert crown.pressure is None
    assert "point contact" in crown.refused
    assert any("seat 3, crowned" in w for w in found.warnings)
    assert set(crown.course.peak_MPa) == {None}


def test_accident_without_a_stop_is_refused(tmp_path: Path) -> None:
    """Friction alone: 2 m r omega² over two faces at 0.12 would be asked; never admitted."""
    said = faults_of(put(tmp_path, without("clamp.stop")))
    line, text = said["clamp.stop"]
    force = 12 * 0.420 * (2 * math.pi * 1200 / 60) ** 2
    assert f"{1e-3 * 2 * force / (2 * 0.12):.4g} kN" in text
    assert "friction alone is no retention" in text
    assert line == TEXT.splitlines().index("[clamp]") + 1


def test_without_an_accident_nothing_is_proven(tmp_path: Path) -> None:
    _, found = solve_retention(put(tmp_path, without("accident", "clamp.stop")))
    assert found.verdict == "not proven"
    assert any("no accident case" in w for w in found.warnings)


def test_a_weak_stop_governs(tmp_path: Path) -> None:
    _, found = solve_retention(put(tmp_path, swapped(("bearing_area_mm2 = 900", "bearing_area_mm2 = 500"))))
    assert found.verdict == "not held"
    assert (found.worst.row.face, found.worst.governs) == ("stop", "stop")


def test_all_faults_of_the_tables_at_once(tmp_path: Path) -> None:
    text = swapped(
        ("friction_low = 0.10\nfriction_high = 0.18", "friction_low = 0.10\nfriction_high = 1.8"),
        ("taper_deg = 5", "taper_deg = 55"), ("force_kN = 55", 'force_kN = "55"'), ("slots = 2", "slots = 3"),
        ("half_radius_mm = 420\n", ""), ("angle_deg = 0.1", "angle_deg = 10"), ('driven = "inward"', 'driven = "inwards"'),
    )  # fmt: skip
    said = faults_of(put(tmp_path, text))
    lines = text.splitlines()
    for field, words in {
        "clamp.wedge.friction_high": "coefficient", "clamp.wedge.taper_deg": "below 45", "clamp.wedge.driven": "did you mean",
        "hit.2.force_kN": "without quotes", "turning.0.slots": "from 1 to 2", "accident.0.half_radius_mm": "missing",
        "seat_error.angle_deg": "at most 5",
    }.items():  # fmt: skip
        line, text = next((line, text) for name, (line, text) in said.items() if name == field)
        assert line is not None, field
        if "missing" not in words:
            assert lines[line - 1].split(" ")[0] == field.split(".")[-1]
    assert "did you mean" in said["clamp.wedge.driven"][1] or "must be one of" in said["clamp.wedge.driven"][1]
    for field, words in (("clamp.wedge.friction_high", "coefficient"), ("clamp.wedge.taper_deg", "below 45"),
                         ("hit.2.force_kN", "without quotes"), ("accident.0.half_radius_mm", "missing")):  # fmt: skip
        assert words in said[field][1]


def test_faults_between_tables_at_once_each_with_its_line(tmp_path: Path) -> None:
    text = swapped(
        ("torque_Nm = 320\n", ""), ('hit = "heavy cut"', 'hit = "heavy cuts"'), ('name = "tramp iron"', 'name = "heavy cut"'),
        text=without("seat_error"),
    )  # fmt: skip
    said = faults_of(put(tmp_path, text))
    assert set(said) == {"clamp.bolt.torque_Nm", "wear.hit", "hit.2.name", "seat_error"}
    lines = text.splitlines()
    assert lines[said["wear.hit"][0] - 1].startswith("hit = ")
    assert lines[said["hit.2.name"][0] - 1].startswith("name = ")
    assert lines[said["clamp.bolt.torque_Nm"][0] - 1] == "[clamp.bolt]"


def test_a_wedge_that_cannot_lock_is_refused_with_the_angle(tmp_path: Path) -> None:
    said = faults_of(put(tmp_path, swapped(("taper_deg = 5", "taper_deg = 25"))))
    assert "cannot lock" in said["clamp.wedge.taper_deg"][1]
    assert "20.4" in said["clamp.wedge.taper_deg"][1]


def test_speed_in_another_unit_is_caught_by_its_range(tmp_path: Path) -> None:
    said = faults_of(put(tmp_path, swapped(("speed_rpm = 1000", "speed_rpm = 16.7"))))
    assert {"turning.0.speed_rpm", "hit.0.speed_rpm", "hit.1.speed_rpm", "hit.2.speed_rpm"} <= set(said)
    assert "60 times revolutions a second" in said["hit.0.speed_rpm"][1]


def test_face_loads_as_they_are(tmp_path: Path) -> None:
    """One face, written out: what is needed by hand."""
    text = without("turning", "hit", "wear", "seat", "seat_error", "fretting") + (
        '[[face_load]]\nname = "push"\nface = "flank"\nnormal_N = -30e3\ntangential_N = 4e3\nrim_relief_N = 2e3\n'
    )
    _, found = solve_retention(put(tmp_path, text))
    push = found.faces[0]
    assert push.against_opening_N == pytest.approx((30e3 + 2e3) / 0.9)
    assert push.against_slip_N == pytest.approx(30e3 + 1.3 * 4e3 / 0.12)
    assert (push.governs, push.row.needed_N) == ("slip", pytest.approx(push.against_slip_N))
    twice = text + '[[face_load]]\nname = "push"\nface = "flank"\n[[face_load]]\nname = "bar broken"\nface = "wedge"\n'
    said = faults_of(put(tmp_path, twice))
    assert set(said) == {"face_load.1.name", "face_load.2.name"}


def test_nothing_asked_is_refused() -> None:
    sheet, given = read_retention(EXAMPLE)
    with pytest.raises(InputFault, match="no condition"):
        RetentionInput(clamp=given.clamp)
    bare = RetentionInput(clamp=given.clamp, accidents=given.accidents)
    assert retention(bare).verdict == "held"
    assert sheet.name == "retention"


def test_files_hold_the_same_numbers(tmp_path: Path, solved) -> None:
    sheet, found = solved
    folder = write_retention(sheet, found, tmp_path / "out")
    with (folder / "retention.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    record = json.loads((folder / "retention.json").read_text(encoding="utf-8"))
    assert list(rows[0]) == list(RETENTION_COLUMNS) == list(record["columns"])
    assert len(rows) == len(record["rows"]) == len(found.faces)
    for row, plain, face in zip(rows, record["rows"], found.faces, strict=True):
        assert row["verdict"] == plain["verdict"] == face.row.verdict
        if not face.row.accident:
            assert float(row["residual_share"]) == plain["residual_share"] == face.row.residual_share
        if math.isinf(face.row.slip_safety):
            assert row["slip_safety"] == "" and plain["slip_safety"] is None  # noqa: PT018
    assert record["verdict"] == "held"
    assert record["governing"]["condition"] == found.worst.row.condition
    figures = [f for _, group in found.figures for f in group]
    assert [f["value"] for f in record["figures"]] == [f.value for f in figures]
    assert all(f["from"] and f["unit"] and f["formula"] for f in record["figures"])
    # values recalled say so
    assert any(f["from"].startswith(Kind.MEMORY.value) for f in record["figures"])
    assert record["not_checked"]
    # again into the same folder: the same bytes
    before = (folder / "retention.json").read_bytes()
    write_retention(sheet, found, folder)
    assert (folder / "retention.json").read_bytes() == before
    assert sorted(p.name for p in folder.iterdir()) == ["retention.csv", "retention.json"]


def test_a_foreign_folder_is_left_alone(tmp_path: Path, solved) -> None:
    sheet, found = solved
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letter.txt").write_text("keep")
    with pytest.raises(FileFault, match="holds no results of femdrum retention"):
        write_retention(sheet, found, tmp_path / "out")
    (tmp_path / "file").write_text("keep")
    for place in (tmp_path / "file", tmp_path / "file" / "inside"):
        with pytest.raises(FileFault):
            write_retention(sheet, found, place)
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["letter.txt"]
