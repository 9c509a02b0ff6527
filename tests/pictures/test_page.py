"""The report stands alone, answers first, and says what it must."""

import html
import re
import sys
from html.parser import HTMLParser

import pytest
from picture_studies import PLATE

from femdrum import report
from femdrum.assess.answer import Answer
from femdrum.assess.nominal import nominal
from femdrum.assess.notes import model_notes, sharp_message
from femdrum.assess.solve import Solution, solve_all
from femdrum.quantity import Quantity, Verdict
from femdrum.report import render
from femdrum.report.cautions import CAUTIONS, NOT_CHECKED, ONE_LINE, SHORT
from femdrum.report.words import bare, percent, with_unit
from femdrum.study import run, study_from_text


class Checker(HTMLParser):
    VOID = ("meta", "img", "br", "link")

    def __init__(self):
        super().__init__()
        self.links, self.open, self.tags, self.ids = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag not in self.VOID:
            self.open.append(tag)
        for name, value in attrs:
            if name in ("src", "href", "srcset", "action", "data"):
                self.links.append(value)
            if name == "id":
                self.ids.append(value)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def read(path):
    text = path.read_text(encoding="utf-8")
    checker = Checker()
    checker.feed(text)
    assert checker.open == []
    plain = re.sub(r"<(style|script)\b.*?</\1>", "", text, flags=re.S)
    words = html.unescape(re.sub(r"<[^>]+>", " ", plain))
    return text, checker, " ".join(words.split())


@pytest.fixture(scope="module")
def page(plate):
    return read(report.write(plate.folder))


def test_nothing_is_fetched(page):
    text, checker, _ = page
    assert all(link.startswith(("#", "data:image/")) for link in checker.links)
    assert "link" not in checker.tags
    assert "@import" not in text
    assert set(re.findall(r"url\((.{3})", text)) <= {"%23"}  # places inside the charts
    targets = [link[1:] for link in checker.links if link.startswith("#")]
    assert targets
    assert set(targets) <= set(checker.ids)
    assert len(checker.ids) == len(set(checker.ids))


def test_all_chapters_stand_in_the_list_in_their_order(page):
    text, _, _ = page
    chapters = re.findall(r'<section id="([a-z]+)"', text)
    listed = re.findall(r'<li><a href="#([a-z]+)">', text)
    assert chapters == ["answer", *listed]
    assert [c for c in chapters if c in ("answer", "numbers", "figures", "words", "meshes", "known", "open", "care", "sign")] == [
        "answer", "numbers", "figures", "words", "meshes", "known", "open", "care", "sign",
    ]  # fmt: skip


def test_the_answer_comes_first_and_names_every_variant(page, plate):
    _, _, words = page
    assert words.index("Lowest peak under “pull”") < words.index("Inputs are as given")
    for variant in plate.variants:
        for answer in variant.answers:
            assert bare(answer.peak) in words
            assert bare(answer.kt_gross) in words
    assert "full (30)" in words


def test_all_figures_are_inside(page, plate):
    text, _, words = page
    names = report.list_figures(plate.folder)
    assert text.count('<img src="data:image/') == len(names)
    for number in range(1, len(names) + 1):
        assert f"Figure {number}." in words


def test_cautions_units_definitions_sources(page):
    _, _, words = page
    assert SHORT in words
    assert ONE_LINE in words
    for heading, text in CAUTIONS:
        assert f"{heading}. {text}".replace("  ", " ") in words.replace(" .", ".")
    for item in NOT_CHECKED:
        assert item in words
    for needed in ("MPa", "mm", "kg/m³", "gross stress along x", "net stress: force / ligament", "EN 10025-2", "Peterson",
                   "boundary integral", "common practice", "example studies that come with femdrum are invented",
                   "Linear elastic, small strains", "signature", "rslab"):  # fmt: skip
        assert needed in words, needed


def test_local_yielding_is_said(page):
    _, _, words = page
    assert "the elastic peak reaches the yield strength" in words


def test_the_study_file_is_in_it(page):
    text, _, _ = page
    assert html.escape('title = "Radius of a slot in a plate"', quote=True).replace("&quot;", "&#34;") in text


def test_a_ring_without_gl_gets_a_sentence(ring, monkeypatch):
    monkeypatch.setattr(render, "command", lambda: [sys.executable, "-c", "import os; os.kill(os.getpid(), 6)"])
    text, _, words = read(report.write(ring.folder))
    assert "could not be drawn: the drawing process was killed by signal 6" in words
    assert text.count('<img src="data:image/') == len(report.list_figures(ring.folder)) - 1
    assert "end discs and stub shafts are not in the model" in words
    assert "screening value" in words
    assert "as given in the study file" in words


def test_a_ring_with_gl_gets_its_picture(ring):
    text, _, words = read(report.write(ring.folder))
    assert len(re.findall(r'<img src="data:image/(?:png|webp);', text)) == 1
    assert "Turn the body" in words
    assert "could not be drawn" not in words


def _solver(part, loads, material, accuracy, *, on_event=None):
    """As the solver does, with a sharp corner's answer put together here."""
    if not part.cutout.sharp:
        return solve_all(part, loads, material, accuracy, on_event=on_event)
    answers = tuple(
        Answer(part=part, load=load, material=material, nominal=nominal(part, load, material), peaks=None,
               verdict=Verdict.UNBOUNDED, message=sharp_message(()), ladder=(), edge=None, surface=None, factors=(1.0,),
               unknowns=0, seconds=0.0, solver="", notes=model_notes(part, load))
        for load in loads
    )  # fmt: skip
    return Solution(answers, None, None)


def test_a_sharp_corner_has_no_number(tmp_path):
    study = study_from_text(PLATE.replace('[8, 20, "full"]', "[0, 8, 19.9, 20]"), name="sharp")
    results = run(study, tmp_path / "out", workers=1, solver=_solver)
    text, _, words = read(report.write(results.folder))
    assert "No number (sharp corner, the peak is unbounded): corner radius 0 mm." in words
    assert "no difference is proven between them" in words  # 19.9 and 20 mm
    assert "v-unbounded" in text
    svg = (results.folder / "figures" / "kt-pull.svg").read_text(encoding="utf-8")
    assert "sharp: unbounded, no number" in svg


def test_a_title_cannot_break_the_page(tmp_path):
    study = study_from_text(PLATE.replace("Radius of a slot in a plate", "<b>& 1 < 2"), name="x")
    results = run(study, tmp_path / "out", workers=1)
    text, checker, _ = read(report.write(results.folder))
    assert "<h1>&lt;b&gt;&amp; 1 &lt; 2</h1>" in text
    assert "b" not in checker.tags


@pytest.mark.parametrize(
    ("value", "band", "text"),
    [(66.6712, 0.148, "66.67 ± 0.15"), (-14.7819, 0.9, "\u221214.8 ± 0.9"), (1302.6, 0.5, "1302.6 ± 0.5")],
)
def test_numbers_print_what_the_band_knows(value, band, text):
    quantity = Quantity(value, "MPa", band)
    assert bare(quantity) == text
    assert with_unit(quantity) == f"{text} MPa"


def test_percent():
    assert percent(0.01234, 0.001) == "+1.23 %"
    assert percent(0.01234, 0.004) == "+1.2 %"
    assert percent(-0.5) == "\u221250 %"
    assert percent(None) == ""
