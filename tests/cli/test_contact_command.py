"""`femdrum contact`: what it prints and writes, its JSON, its exit codes; bad input leaves nothing behind."""

import csv
import itertools
import json
from pathlib import Path

import pytest

from femdrum.cli import main

EXAMPLE = Path(__file__).parents[2] / "studies" / "seat_contact.toml"
TEXT = EXAMPLE.read_text(encoding="utf-8")
# sharp ends: a second instead of several
QUICK = TEXT.replace("edge_radius_mm = 1.0 ", "edge_radius_mm = 0 ")
ALONE = QUICK.split("# A half round")[0]


def flat(text):
    return " ".join(text.split())


def table(path):
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def written(tmp_path, text, name="c.toml"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_prints_the_answer_and_writes_files_and_page(tmp_path, capsys):
    out = tmp_path / "out"
    assert main(["contact", str(EXAMPLE), "--out", str(out), "--debug"]) == 0
    got = capsys.readouterr()
    said = flat(got.out)
    for words in (
        "verdict bears fully", "150 kN on each flank", "hammer on leading flank", "closing", "line contact does not hold", "couple on the hammer's flank",
        "above yield", "stand still, as of a stiff shell", "lock out and prove zero speed",
    ):  # fmt: skip
        assert words in said, words
    assert "mesh 2" in got.err
    assert {p.name for p in out.iterdir()} == {
        "contact.csv",
        "contact_pressure.csv",
        "contact.json",
        "contact.html",
        "figures",
    }
    page = (out / "contact.html").read_text(encoding="utf-8")
    for words in (
        "All clamped faces bear over their whole height", "Formulas beside", "from memory, not confirmed", "femdrum retention", "[load.contact]", "Not checked",
        "Cautions", "zero speed", "Invented example", "contact-pressure", "round-seat-pressure",
    ):  # fmt: skip
        assert words in page, words
    assert "None" not in page
    assert "http" not in page.replace("http://www.w3.org", "")


def test_rows_and_curves_add_up(tmp_path, capsys):
    """The curve's resultant is the clamp, the lever that of the row; JSON alone on the output."""
    out = tmp_path / "o"
    assert main(["contact", str(written(tmp_path, ALONE)), "--out", str(out), "--json", "--no-report"]) == 0
    got = capsys.readouterr()
    record = json.loads(got.out)
    assert got.err == ""
    assert record["report"] is None
    assert not (out / "contact.html").exists()
    rows = table(out / "contact.csv")
    assert [r["face"] for r in rows] == ["hammer on leading flank", "wedge on hammer", "wedge on trailing flank"]
    curves = table(out / "contact_pressure.csv")
    for row in rows:
        assert float(row["force_N"]) == pytest.approx(150e3, rel=1e-6)
        points = [(float(c["height_mm"]), float(c["pressure_MPa"])) for c in curves if c["face"] == row["face"]]
        assert len(points) > 40
        pairs = list(itertools.pairwise(points))
        total = 100 * sum(0.5 * (b[0] - a[0]) * (a[1] + b[1]) for a, b in pairs)
        couple = 100 * sum(0.5 * (b[0] - a[0]) * (a[1] * a[0] + b[1] * b[0]) for a, b in pairs)
        # trapezia over a curve that grows without end at sharp ends
        assert total == pytest.approx(150e3, rel=0.03)
        assert couple / total == pytest.approx(float(row["lever_mm"]), rel=0.06)
        assert row["bears"] == "fully"
    assert rows[0]["verdict"] == "unbounded"
    assert rows[0]["peak_MPa"] == ""
    assert record["verdict"] == "bears fully"
    assert "sharp end" in record["message"]
    assert record["pack"]["faces"][0]["couple_Nmm"]["band"] > 0
    assert set(record["columns"]) == set(rows[0])


def test_what_stands_open_is_an_answer(tmp_path, capsys):
    text = ALONE.replace("angle_error_mrad = 0.5", "angle_error_mrad = 3.0")
    assert main(["contact", str(written(tmp_path, text)), "--out", str(tmp_path / "o")]) == 0
    said = flat(capsys.readouterr().out)
    assert "verdict bears in part" in said
    assert "stands open by up to" in said
    assert "part of them stands open" in (tmp_path / "o" / "contact.html").read_text(encoding="utf-8")


def test_with_friction_it_tells_what_sticks_and_what_drives(tmp_path, capsys):
    text = ALONE.replace(
        'driven = "along" ', 'driven = "inward"\ntaper_deg = 6\nfriction = 0.15\nhammer_inside_mm = 60 '
    )
    assert main(["contact", str(written(tmp_path, text)), "--out", str(tmp_path / "o"), "--json", "--no-report"]) == 0
    record = json.loads(capsys.readouterr().out)
    by = {r["face"]: r for r in record["rows"]}
    assert by["wedge on trailing flank"]["friction_N"] == pytest.approx(-0.15 * 150e3, rel=1e-6)
    assert by["wedge on trailing flank"]["stick_share"] == 0
    # the wedge slides on both faces: statics
    drive = next(c for c in record["comparisons"] if "drives the wedge" in c["quantity"])
    assert drive["ours"] == pytest.approx(drive["value"], rel=1e-6)


def test_round_seats_alone(tmp_path, capsys):
    head, rest = QUICK.split("[pack]")
    text = head + "# A half" + rest.split("# A half")[1]
    assert main(["contact", str(written(tmp_path, text)), "--out", str(tmp_path / "o"), "--json", "--no-report"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["verdict"] == "solved"
    assert record["pack"] is None
    assert [s["name"] for s in record["round_seats"]] == ["play of 0.1 mm", "play of 0.02 mm"]
    assert record["round_seats"][0]["line_contact_MPa"] is None
    assert record["rows"][0]["peak_MPa"] == record["round_seats"][0]["peak_MPa"]["value"]


@pytest.mark.parametrize(("change", "words"), [
    (("hammer_mm = 35", "hammer_mm = 75"), "leaves no room for a wedge"),
    (("clamp_N = 150_000", "clamp_N = -5"), "pack.clamp_N"),
    (('driven = "along"', 'driven = "sideways"'), "must be one of"),
    (("slot_mm = 60", "slot_m = 60"), "slot_mm"),
    (('grade = "S355"', 'grade = "S999"'), "material.grade"),
    (("groove_radius_mm = 30.1", "groove_radius_mm = 29.9"), "play decides"),
    (('name = "play of 0.02 mm"', 'name = "play of 0.1 mm"'), "names two seats"),
    (("[pack]", "[peck]"), "pack"),
])  # fmt: skip
def test_bad_input_is_told_and_nothing_is_written(tmp_path, capsys, change, words):
    assert TEXT.count(change[0]) >= 1
    out = tmp_path / "out"
    assert main(["contact", str(written(tmp_path, TEXT.replace(*change, 1))), "--out", str(out)]) == 2
    got = capsys.readouterr()
    assert words in flat(got.err)
    assert "line" in got.err
    assert not out.exists()


def test_a_file_that_asks_for_nothing(tmp_path, capsys):
    assert (
        main(
            [
                "contact",
                str(written(tmp_path, 'title = "x"\n[material]\ngrade = "S355"\n')),
                "--out",
                str(tmp_path / "o"),
            ]
        )
        == 2
    )
    assert "[[round_seat]]" in flat(capsys.readouterr().err)


def test_a_foreign_folder_is_left_alone_before_anything_is_solved(tmp_path, capsys):
    out = tmp_path / "o"
    out.mkdir()
    (out / "mine.txt").write_text("x")
    assert main(["contact", str(EXAMPLE), "--out", str(out)]) == 2
    got = capsys.readouterr()
    assert "mesh 1" not in got.err
    assert [p.name for p in out.iterdir()] == ["mine.txt"]


def test_retention_names_the_command_where_line_contact_does_not_hold(tmp_path, capsys):
    retention = Path(__file__).parents[2] / "studies" / "retention.toml"
    assert main(["retention", str(retention), "--out", str(tmp_path / "r"), "--no-report"]) == 0
    said = flat(capsys.readouterr().out)
    assert "The formula of line contact does not hold for the round of 30 mm" in said
    assert "`femdrum contact`" in said
