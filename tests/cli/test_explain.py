"""`femdrum explain`: every word of the results is explained, and every question answered."""

import html
import json
import re
from dataclasses import fields

import pytest

import femdrum as fd
from femdrum.assess.life_result import MapRow, MapSlot
from femdrum.cli import main, whole_parser
from femdrum.cli.completion import _actions
from femdrum.errors import InputFault
from femdrum.fem.sharp import EXPONENT
from femdrum.handbook.domains import FinitePlate
from femdrum.handbook.exact import exact_kt
from femdrum.model import Circle
from femdrum.quantity import Verdict
from femdrum.report.page import VERDICTS
from femdrum.study.compare_results import DIFFERS, NO_NUMBER, NOT_PROVEN, SAME
from femdrum.study.life_write import LIFE_COLUMNS
from femdrum.study.table import RESULT_COLUMNS
from femdrum.study.terms import GROUPS, Question, Term, column_meaning, read_terms
from femdrum.units import LABELS, unit_of

TERMS = read_terms()
MAP_COLUMNS = [f.name for kind in (MapSlot, MapRow) for f in fields(kind)]


@pytest.mark.parametrize("column", [*dict.fromkeys([*RESULT_COLUMNS, *LIFE_COLUMNS, *MAP_COLUMNS])])
def test_every_column_is_explained(column, capsys):
    owners = [t for t in TERMS.terms if column in t.columns]
    assert owners, f"{column} has no entry in terms.toml"
    assert len(owners) == 1
    assert main(["explain", column]) == 0
    out = " ".join(capsys.readouterr().out.split())
    for table, meaning in column_meaning(column):
        assert f"{column} in {table}: {' '.join(meaning.split())}" in out


def test_no_column_is_explained_that_no_table_has():
    known = {*RESULT_COLUMNS, *LIFE_COLUMNS, *MAP_COLUMNS}
    assert {c for t in TERMS.terms for c in t.columns} == known


def test_every_verdict_is_explained():
    words = {w for t in TERMS.terms for w in t.verdicts}
    assert {v.value for v in Verdict} <= words
    assert {v.value for v in VERDICTS} <= words
    assert {"holds", "does not hold", NOT_PROVEN, DIFFERS, SAME, NO_NUMBER} <= words
    for word in words:
        assert any(word in e.verdicts for e in TERMS.find(word) if isinstance(e, Term))


def test_units_are_those_of_the_columns():
    for term in TERMS.terms:
        units = {unit_of(c) for c in term.columns if unit_of(c)}
        if units - {"h"} and term.unit not in ("N·m, kN", "of its value"):
            assert units == {term.unit}, term.name
    assert {t.unit for t in TERMS.terms} <= {*LABELS.values(), "", "1", "N·m, kN", "MPa·√m", "of its value"}


def test_names_are_unique_and_references_lead_somewhere():
    assert len(set(TERMS.names)) == len(TERMS.names)
    for entry in (*TERMS.questions, *TERMS.terms):
        for name in entry.see:
            assert name in TERMS.names, f"{entry.name} speaks of {name}"
            assert name != entry.name
    assert {t.group for t in TERMS.terms} == set(GROUPS)


def test_every_command_and_option_that_the_texts_name_is_there():
    commands = next(a for a in whole_parser()._actions if a.metavar == "COMMAND").choices
    for entry in (*TERMS.questions, *TERMS.terms):
        text = " ".join(entry.answer) if isinstance(entry, Question) else entry.text
        for name in re.findall(r"`femdrum ([a-z-]+)", text):
            assert name in commands, f"{entry.name}: femdrum {name}"
    assert len(list(_actions(whole_parser()))) > 60


@pytest.mark.parametrize(
    ("asked", "name"),
    [("sharp corner", "sharp corners"), ("gross", "gross and net"), ("why a band", "why the band"), ("which load governs", "governing load"),
     ("aligned or alternate", "rows"), ("plate kt", "plate and drum"), ("adding peaks", "adding maxima"), ("converged", "what settled means"),
     ("speed", "how long"), ("own shape", "not modelled"), ("verify", "trust"), ("empty", "empty cells")],
)  # fmt: skip
def test_what_is_often_asked_has_an_answer(asked, name, capsys):
    assert main(["explain", *asked.split()]) == 0
    out = capsys.readouterr().out
    (question,) = [q for q in TERMS.questions if q.name == name]
    assert question.question in out
    assert len(" ".join(question.answer)) > 150


@pytest.mark.parametrize("asked", ["Kt", "KT_GROSS", "kt-gross", "not settled", "ΔK", "P10", "λ", "peak stress"])
def test_symbols_and_spellings_are_found(asked, capsys):
    assert main(["explain", asked]) == 0
    assert len(capsys.readouterr().out) > 80


@pytest.mark.parametrize(
    ("asked", "hint"), [("verdct", "verdict"), ("why the bnd", "why the band"), ("peek stress", "peak stress")]
)
def test_a_slip_gets_the_nearest_word(asked, hint, capsys):
    assert main(["explain", *asked.split()]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert f"did you mean {hint!r}?" in said
    assert "`femdrum explain` lists all" in said
    with pytest.raises(InputFault):
        TERMS.find("xyzzy")


def test_without_a_topic_all_names_are_listed(capsys):
    assert main(["explain"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    for name in TERMS.names:
        assert name in out


def test_as_json(capsys):
    assert main(["explain", "peak_MPa", "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)
    assert (told["kind"], told["name"], told["unit"]) == ("term", "peak stress", "MPa")
    assert main(["explain", "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)) == len(TERMS.names)


def test_the_page_has_all_of_it_and_no_link_leads_nowhere(tmp_path, capsys):
    page = tmp_path / "words.html"
    assert main(["explain", "--page", str(page)]) == 0
    text = page.read_text()
    plain = html.unescape(re.sub(r"<[^>]+>", "", text))
    for question in TERMS.questions:
        assert question.question in plain
        assert question.answer[-1].replace("`", "") in plain
    for term in TERMS.terms:
        assert term.text.replace("`", "") in plain
    marks = re.findall(r'id="([^"]+)"', text)
    assert len(marks) == len(set(marks))
    assert set(re.findall(r'href="#([^"]+)"', text)) <= set(marks)
    assert "http" not in text
    assert "`" not in plain
    assert main(["explain", "--page", str(tmp_path / "words.toml")]) == 2
    assert main(["explain", "--page", str(tmp_path / "no" / "words.html")]) == 2


def test_values_from_outside_say_where_they_are_from():
    for entry in (*TERMS.questions, *TERMS.terms):
        if entry.source:
            assert entry.source.split(":")[0] in ("published", "standard", "common practice", "memory", "computed"), (
                entry.name
            )
    for name in (
        "sharp corners",
        "gross and net",
        "why the band",
        "rows",
        "how long",
        "singularity",
        "stress concentration",
    ):
        assert all(e.source for e in (*TERMS.questions, *TERMS.terms) if e.name == name), name


def answer_of(name):
    return " ".join(*(q.answer for q in TERMS.questions if q.name == name))


def test_values_of_the_answers_are_true():
    assert f"{100 * (2 ** (1 - EXPONENT) - 1):.0f} % higher" in answer_of("sharp corners")
    kt = exact_kt(Circle(diameter_mm=40), FinitePlate(length_mm=800, width_mm=200), stress_x=1.0).kt
    assert f"Kt gross {kt:.2f} and Kt net {0.8 * kt:.2f}" in answer_of("gross and net")
    assert kt / (0.8 * kt) == pytest.approx(1.25), "an error of a quarter"


@pytest.mark.slow
def test_the_drum_of_the_examples_has_these_peaks():
    peaks = {}
    for rows in ("aligned", "alternate"):
        slot = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=12)
        ring = fd.Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows=rows, cutout=slot)
        peaks[rows] = float(fd.solve(ring, fd.Rotation(speed_rpm=1000), fd.steel("S355")).peak)
    aligned, alternate = (10 * round(peaks[rows] / 10) for rows in ("aligned", "alternate"))
    assert f"the peak is about {aligned} MPa with aligned rows and {alternate} MPa" in answer_of("rows")
