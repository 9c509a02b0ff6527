"""`femdrum compare`: what differs, what the bands prove, what cannot be compared."""

import csv
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from texts import PLATE, RING, with_

import femdrum as fd
from femdrum.cli import main
from femdrum.errors import FileFault
from femdrum.study import read_study, run
from femdrum.study.compare_results import DIFFERS, NO_NUMBER, NOT_PROVEN, SAME
from femdrum.study.compare_words import answer_sentences
from femdrum.study.compare_write import CSV_COLUMNS


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """Plates in four studies, one of them finer; solved once."""
    folder = tmp_path_factory.mktemp("compare")
    studies = {
        "base": with_(PLATE, width_mm="[120, 200, 400]"),
        "fine": with_(PLATE, width_mm="[120, 200]") + "[accuracy]\nerror = 0.0005\n",
        "hole": with_(PLATE, width_mm="200", diameter_mm="[20, 40, 60]"),
        "other": with_(PLATE, width_mm="[130, 210]"),
    }
    for name, text in studies.items():
        file = folder / f"{name}.toml"
        file.write_text(text)
        run(read_study(file), folder / f"{name}.results", workers=1)
    return folder


@pytest.fixture
def here(home, monkeypatch):
    monkeypatch.chdir(home)
    return home


def edited(home, name, change):
    """A copy of the base folder whose results.json was changed line by line: change(dict of a line) or a text of the head."""
    target = home / f"{name}.results"
    shutil.rmtree(target, ignore_errors=True)
    shutil.copytree(home / "base.results", target)
    file = target / "results.json"
    lines = file.read_text().split("\n")
    start = lines.index('"variants": [')
    for i in range(start + 1, len(lines)):
        if lines[i].startswith("{"):
            variant = json.loads(lines[i].rstrip(","))
            change(variant)
            lines[i] = json.dumps(variant) + ("," if lines[i].endswith(",") else "")
    file.write_text("\n".join(lines))
    return target


def shifted(share):
    """Peaks moved by a share of their two bands together; a share of 1 is where the bands just touch."""

    def change(variant):
        variant["key"] = "x" + variant["key"][1:]
        for answer in variant["answers"]:
            answer["peak"]["value"] += share * 2 * answer["peak"]["band"]

    return change


@pytest.mark.parametrize(
    ("share", "said"), [(0.0, NOT_PROVEN), (0.99, NOT_PROVEN), (-0.99, NOT_PROVEN), (1.01, DIFFERS), (-1.01, DIFFERS)]
)
def test_bands_that_overlap_prove_no_difference(here, share, said):
    edited(here, "moved", shifted(share))
    found = fd.compare("base.results", "moved.results")
    assert [p.said for r in found.peaks for p in r.pairs] == [said] * 3
    for row in found.peaks:
        ours, theirs = row.values
        assert row.pairs[0].difference == pytest.approx(theirs.value - ours.value, abs=1e-12)
        assert row.pairs[0].band == pytest.approx(ours.band + theirs.band)
    assert ("because the bands overlap" in answer_sentences(found)[0]) is (said == NOT_PROVEN)


def test_turning_the_sides_turns_the_signs(here):
    edited(here, "moved", shifted(3.0))
    there, back = fd.compare("base.results", "moved.results"), fd.compare("moved.results", "base.results")
    for a, b in zip(there.rows, back.rows, strict=True):
        assert a.pairs[0].difference == pytest.approx(-b.pairs[0].difference)
        assert a.pairs[0].said == b.pairs[0].said
        assert a.values == b.values[::-1]


def test_the_same_inputs_are_told(here):
    shutil.rmtree(here / "copy.results", ignore_errors=True)
    shutil.copytree(here / "base.results", here / "copy.results")
    found = fd.compare("base.results", "copy.results")
    assert {p.said for r in found.rows for p in r.pairs} == {SAME}
    assert not found.inputs
    assert "3 from the same inputs" in answer_sentences(found)[0]


def test_only_inputs_that_differ_are_named_with_all_their_values(here):
    found = fd.compare("base.results", "fine.results")
    assert {r.key: r.values for r in found.inputs} == {
        "part.width_mm": ((120, 200, 400), (120, 200)),
        "accuracy.error": ((0.01,), (0.0005,)),
    }
    assert {r.key: r.unit for r in found.inputs} == {"part.width_mm": "mm", "accuracy.error": ""}
    assert [m.at["part.width_mm"] for m in found.alone] == [400]
    assert all(p.said == NOT_PROVEN for r in found.peaks for p in r.pairs), (
        "a finer solution lies in the band of the coarser one"
    )


def test_a_table_that_a_side_lacks_is_one_row(home, tmp_path):
    from femdrum.study.compare_words import input_rows

    for name, more in (
        ("plain", ""),
        ("two", '[[load]]\nname = "across"\nkind = "tension"\nstress_MPa = 50\ndirection = "y"\n'),
    ):
        (tmp_path / f"{name}.toml").write_text(PLATE + more)
        run(read_study(tmp_path / f"{name}.toml"), tmp_path / name, workers=1)
    found = fd.compare(tmp_path / "plain", tmp_path / "two")
    assert len(found.inputs) > 2
    assert input_rows(found) == [("load.across", "", ["-", "stated"])]
    assert found.cases_alone == {"B": ("across",)}


def test_an_axis_of_one_side_meets_the_fixed_value_of_the_other(here):
    found = fd.compare("base.results", "hole.results")
    assert found.keys == ("part.width_mm", "part.cutout.diameter_mm")
    assert [m.at for m in found.matched] == [{"part.width_mm": 200, "part.cutout.diameter_mm": 40}]
    assert [p.said for r in found.rows for p in r.pairs] == [SAME] * len(found.rows)
    assert len(found.alone) == 4


def test_variants_that_never_meet_leave_the_inputs(here, capsys):
    assert main(["compare", "base.results", "other.results"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "No variants of A and another side have the same width_mm" in out
    assert "part.width_mm mm 120, 200, 400 130, 210" in out


def test_three_sides_are_each_held_against_the_first(here):
    edited(here, "moved", shifted(2.0))
    found = fd.compare("base.results", "fine.results", "moved.results")
    row = found.peaks[0]
    assert [s.letter for s in found.sides] == ["A", "B", "C"]
    assert [p.said for p in row.pairs] == [NOT_PROVEN, DIFFERS]
    assert "C - A" in str(found)


def test_a_number_that_is_missing_is_said_and_the_verdict_changes(here):
    def lost(variant):
        if variant["axes"]["width_mm"] == 200:
            variant["key"] = "lost00000000"
            for answer in variant["answers"]:
                answer["verdict"] = "failed"
                for name in ("peak", "kt_gross", "kt_net"):
                    answer[name] |= {"value": None, "band": None, "verdict": "failed"}

    edited(here, "lost", lost)
    found = fd.compare("base.results", "lost.results")
    assert [p.said for r in found.peaks for p in r.pairs] == [SAME, NO_NUMBER, SAME]
    assert found.verdicts == (({"part.width_mm": 200}, found.peaks[0].case, ("settled", "failed")),)
    assert "B: some numbers that were asked for are missing there" in found.notes
    assert "verdicts that changed" in str(found)


def test_loads_of_one_side_only_are_named(here):
    def renamed(variant):
        for answer in variant["answers"]:
            answer["case"] = "another"

    edited(here, "renamed", renamed)
    found = fd.compare("base.results", "renamed.results")
    assert set(found.cases_alone) == {"A", "B"}
    assert found.cases_alone["B"] == ("another",)
    assert not found.rows
    assert "name them alike" in answer_sentences(found)[0]


def test_full_round_meets_the_radius_that_it_is(tmp_path):
    from femdrum.study.compare_side import plain_number

    inputs = {"part.cutout.around_mm": 60, "part.cutout.axial_mm": 120}
    assert plain_number("part.cutout.corner_radius_mm", "full", inputs) == 30.0
    assert plain_number("part.cutout.corner_radius_mm", 30, inputs) == 30.0
    assert plain_number("part.cutout.corner_radius_mm", "full", {}) == "full"
    assert plain_number("part.rows", "full", inputs) == "full"


LIFE_HEAD = "width_mm,variant,what,place,life_h,life_p10_h,life_p90_h,safety_factor,governs,verdict"


def with_life(folder, lives, asked):
    """Give a folder a life.csv and life.json: key -> (life, verdict, static verdict)."""
    file = folder / "results.json"
    file.write_text(file.read_text().replace('"life": null,\n"rows"', '"life": "plan",\n"rows"'))
    rows = [LIFE_HEAD]
    for key, (life, verdict, static) in lives.items():
        rows += [f"0,{key},base metal,corner,{life},,,1.2,cutting,{verdict}", f"0,{key},base metal,flank,9e9,,,9,cutting,holds",
                 f"0,{key},static,jam,,,,2,shell,{static}", f"0,{key},scatter,corner,{life},100,300,,radius,"]  # fmt: skip
    (folder / "life.csv").write_text("\n".join(rows) + "\n")
    (folder / "life.json").write_text(json.dumps({"asked": asked, "duty": [{"name": "cutting", "per_1000_h": 3}]}))


def keys_of(folder):
    return [v.key for v in fd.compare(folder, folder.parent / "fine.results").sides[0].points]


def test_lives_stand_beside_each_other(here):
    one, two = edited(here, "life1", lambda v: None), edited(here, "life2", shifted(5.0))
    first, second = keys_of(one), keys_of(two)
    asked = {"target_h": 10000, "finish": {"process": "flame cut"}}
    with_life(
        one,
        {first[0]: (100, "holds", "holds"), first[1]: ("", "holds", "holds"), first[2]: (50, "holds", "holds")},
        asked,
    )
    with_life(two, {second[0]: (40, "does not hold", "holds"), second[1]: (7, "holds", "holds"), second[2]: (50, "holds", "does not hold")},
              asked | {"target_h": 20000})  # fmt: skip
    found = fd.compare(one, two)
    assert [r.key for r in found.inputs] == ["life.target_h"]
    assert [r.ratios[0] for r in found.lives] == [0.4, None, 1.0]
    assert [r.said[0] for r in found.lives] == ["0.4 times", "endless on one side", "1 times"]
    assert [(case, said) for _, case, said in found.verdicts] == [("life", ("holds", "does not hold"))] * 2
    assert found.lives[0].lives[0].p10_h == 100
    assert "B lives 0.4 times as long as A" in str(found)
    with_life(two, {k: (40, "holds", "holds") for k in second}, asked)
    assert [r.said[0] for r in fd.compare(one, two).lives] == ["0.4 times", "endless on one side", "0.8 times"]
    near = edited(here, "life3", shifted(0.5))
    with_life(near, {k: (40, "holds", "holds") for k in keys_of(near)}, asked)
    assert {r.said[0] for r in fd.compare(one, near).lives} == {NOT_PROVEN}, (
        "the stresses differ by less than their bands, so do the lives"
    )


def test_the_table_as_csv(here, tmp_path, capsys):
    edited(here, "moved", shifted(2.0))
    file = tmp_path / "side.csv"
    assert main(["compare", "base.results", "moved.results", "--csv", str(file)]) == 0
    assert str(file) in capsys.readouterr().out
    with file.open(newline="") as text:
        rows = list(csv.DictReader(text))
    assert list(rows[0]) == ["width_mm", *CSV_COLUMNS]
    peaks = [r for r in rows if r["quantity"] == "peak_MPa"]
    assert len(peaks) == 6
    for ours, theirs in zip(peaks[::2], peaks[1::2], strict=True):
        assert (ours["side"], theirs["side"], theirs["said"]) == ("A", "B", DIFFERS)
        assert float(theirs["difference"]) == pytest.approx(float(theirs["value"]) - float(ours["value"]))
        assert float(theirs["difference_pct"]) == pytest.approx(
            100 * float(theirs["difference"]) / float(ours["value"])
        )


def test_as_json(here, capsys):
    assert main(["compare", "base.results", "fine.results", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["matched_by"] == ["part.width_mm"]
    assert told["without_counterpart"] == {"A": [{"part.width_mm": 400}], "B": []}
    assert {r["against_first"]["B"]["said"] for r in told["results"]} == {NOT_PROVEN}
    assert told["inputs"][-1]["sides"] == {"A": [0.01], "B": [0.0005]}


def test_the_page_holds_everything_itself(here, tmp_path, capsys):
    page = tmp_path / "side.html"
    assert main(["compare", "base.results", "fine.results", "--page", str(page)]) == 0
    text = page.read_text()
    assert text.count("data:image/svg+xml;base64,") == 1
    assert "http" not in text
    assert text.count(NOT_PROVEN) >= 3
    assert "numbers for a qualified engineer, not a release" in text
    assert [p.name for p in tmp_path.iterdir()] == ["side.html"]


def test_a_picture_has_every_value_and_its_data(here):
    from femdrum.report.compare_picture import compare_pictures

    pictures, left = compare_pictures(fd.compare("base.results", "fine.results"))
    assert (len(pictures), left) == (1, 0)
    header, rows = pictures[0].table()
    assert header == ("side", "folder", "width_mm", "peak_MPa", "peak_band_MPa", "verdict")
    assert [(r[0], r[2]) for r in rows] == [("A", 120), ("A", 200), ("A", 400), ("B", 120), ("B", 200)]
    ax = pictures[0].draw()
    assert "2 of 2 pairs of unlike inputs have bands that overlap: no difference proven" in pictures[0].caption
    labels = [t.get_text() for t in ax.get_legend().get_texts()]
    assert labels[0].startswith("A: base.results; largest ")
    assert " ± " in labels[0]


def test_pictures_of_an_axis_without_numbers_and_of_two_axes(here, tmp_path, monkeypatch):
    from femdrum.report.compare_picture import compare_pictures

    monkeypatch.chdir(tmp_path)
    for name, length in (("one", 800), ("two", 900)):
        text = with_(PLATE, width_mm="[120, 200]", length_mm=str(length), grade='["S235", "S355"]')
        Path(f"{name}.toml").write_text(text)
        run(read_study(f"{name}.toml"), f"{name}.results", workers=1)
    found = fd.compare("one.results", "two.results")
    pictures, _ = compare_pictures(found)
    assert [p.at for p in pictures] == ["grade = S235", "grade = S355"]
    assert len({p.name for p in pictures}) == 2
    assert len(found.matched) == 4
    for name in ("one", "two"):
        Path(f"{name}.toml").write_text(Path(f"{name}.toml").read_text().replace("[120, 200]", "200"))
        run(read_study(f"{name}.toml"), f"{name}-steel.results", workers=1)
    pictures, _ = compare_pictures(fd.compare("one-steel.results", "two-steel.results"))
    assert [d.shown for d in pictures[0].dots[0]] == ["grade = S235", "grade = S355"]
    assert len(pictures[0].draw().get_xticks()) == 2


def said(capsys):
    return " ".join(capsys.readouterr().err.split())


@pytest.mark.parametrize(
    ("folders", "parts"),
    [
        (["base.results"], ["must be from 2 to 8 results folders"]),
        (["base.results", "xyzzy"], ["xyzzy: there is no such folder", "femdrum study"]),
        (["base.results", "base.results"], ["is the same folder as base.results"]),
        (["base.results", "./hole.results/../base.results"], ["is the same folder as base.results"]),
        (["base.results", "base.toml"], ["base.toml"]),
        (["base.results", "begun"], ["begun: holds a study that is not finished", "it goes on"]),
        (["base.results", "old"], ["old: holds results of format 1", "run the study again"]),
        (["base.results", "broken"], ["results.json: is damaged"]),
        (["base.results", "rotor"], ["rotor: holds drum.json of another command"]),
        (["base.results", "ring"], ["ring: holds rings of a drum, base.results holds plates", "same kind of part"]),
        (["base.results", "hole.results", "--csv", "study.toml"], ["--csv = 'study.toml': must end in .csv"]),
        (["base.results", "hole.results", "--page", "hole.toml"], ["--page = 'hole.toml': must end in .html"]),
        (["base.results", "hole.results", "--csv", "no/such/folder.csv"], ["folder.csv: cannot be written"]),
        (["base.results", "hole.results", "--page", "no/such/folder.html"], ["folder.html: cannot be written"]),
    ],
)  # fmt: skip
def test_what_cannot_be_compared(folders, parts, here, capsys):
    for name in ("begun", "old", "broken", "rotor", "ring"):
        (here / name).mkdir(exist_ok=True)
    (here / "begun" / "study.json").write_text("{}")
    (here / "old" / "results.json").write_text('{"format": 1}')
    (here / "broken" / "results.json").write_text('{"format": ')
    (here / "rotor" / "drum.json").write_text('{"made by": "femdrum", "kind": "rotor"}')
    ring = (here / "base.results" / "results.json").read_text().replace('"kind": "plate"', '"kind": "ring"')
    (here / "ring" / "results.json").write_text(ring)
    before = (here / "hole.toml").read_text()
    assert main(["compare", *folders]) == 2
    message = said(capsys)
    for part in parts:
        assert part in message
    assert "Traceback" not in message
    assert (here / "hole.toml").read_text() == before


def test_all_faults_at_once(here):
    with pytest.raises(FileFault) as caught:
        fd.compare("base.results", "nowhere", "base.results", "neither")
    assert len(caught.value.faults) == 3


def test_it_loads_no_solver_and_draws_nothing_unasked(here):
    code = (
        "import sys; from femdrum.cli import main; main(['compare', 'base.results', 'fine.results']);"
        "print(sorted({'scipy', 'matplotlib', 'jinja2', 'skfem', 'gmsh', 'pyvista', 'rslab'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip().splitlines()[-1] == "[]", "a comparison answers at once"


def test_ring_inputs_have_full_names(tmp_path):
    from femdrum.study.compare_side import flat

    (tmp_path / "ring.toml").write_text(RING)
    inputs = flat(read_study(tmp_path / "ring.toml").variants[0].inputs)
    assert inputs["load.running.kind"] == "rotation"
    assert inputs["part.cutout.around_mm"] > 0
    assert not any("provenance" in key for key in inputs)
