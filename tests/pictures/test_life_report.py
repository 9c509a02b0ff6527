"""The chapter of life: verdicts first, numbers as stored, provenance beside each, and what was not checked."""

from dataclasses import replace

import pytest
from life_studies import LIFE_PLATE, LIFE_RING, copied, made, with_lives, with_worst
from test_page import read

from femdrum.assess.life_result import DutyShare, TurnLine, WeldSaid
from femdrum.assess.life_words import hours
from femdrum.figure import Figure
from femdrum.provenance import Kind, memory
from femdrum.report import figures
from femdrum.report import page as page_module
from femdrum.report.cautions import NOT_CHECKED, NOT_CHECKED_WITH_LIFE, not_checked
from femdrum.report.findings import yielding
from femdrum.report.life_chapter import UNLOOKED, life_chapter, with_life, without_life
from femdrum.report.life_choice import longest, outcomes
from femdrum.report.life_duty import duty_table
from femdrum.report.load_table import sensible


@pytest.fixture(scope="module")
def plate(tmp_path_factory):
    return made(LIFE_PLATE, "life-plate", tmp_path_factory)


@pytest.fixture(scope="module")
def ring(tmp_path_factory):
    return made(LIFE_RING, "life-ring", tmp_path_factory)


DRAWN = ("life", "sn", "haigh", "kt")  # of all figures: enough to see where they stand


def drawn(results, lines=None):
    return [p for p in figures.pictures(results, lines) if p.name.split("-")[0] in DRAWN]


@pytest.fixture(scope="module")
def written(plate):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(page_module, "pictures", drawn)
        return read(page_module.write(plate.folder))


@pytest.fixture
def ring_page(ring, monkeypatch):
    """The page of changed results, without its figures."""
    monkeypatch.setattr(page_module, "pictures", lambda results, lines: iter(()))
    return lambda results: read(page_module.write(results))


def test_the_chapter_begins_with_a_verdict_of_each_variant(written, plate):
    _, checker, words = written
    assert "life" in checker.ids
    assert "#life" in checker.links
    chapter = words[words.index("Life", words.index("More in the chapter")) :]
    for variant in plate.variants:
        assert chapter.index(variant.life.words) < chapter.index("All variants")
        assert hours(variant.life.life_h).removesuffix(" h") in words
    answer = words[: words.index("More in the chapter")]
    assert "20,000 h at 97.5 % survival is wanted; none of 2 variants holds." in answer
    assert "Shortest life: corner radius 8 mm" in answer
    assert "Longest life: corner radius 20 mm" in answer


def test_all_figures_are_inside_once_and_life_first(written, plate):
    text, _, words = written
    names = [picture.name for picture in drawn(plate)]
    assert len(names) == 7
    assert text.count('<img src="data:image/') == len(names)
    for number, name in enumerate(names, 1):
        assert f"Figure {number}." in words
        assert text.count(f'id="{name}"') == 1
    chapter = text.index('id="figures"')
    assert [text.index(f'id="{name}"') < chapter for name in names] == [True] * 5 + [False] * 2


def test_nothing_says_that_life_was_not_looked_at(written, plate):
    _, _, words = written
    assert "life was not looked at" not in words
    assert "fatigue life, crack growth and fracture" not in words
    assert "of the life of the slot's edge under the duty listed" in words
    # the sentence is still there to be left out, where stresses stay below yield
    told = [s for v in ("pulled", "turned") for s in yielding(plate, v)]
    assert all(UNLOOKED not in s for s in with_life(told))
    sentence = f"That alone is no proof of strength: other loads act as well{UNLOOKED}."
    assert with_life([sentence]) == [
        "That alone is no proof of strength: other loads act as well; for life see its chapter."
    ]


def test_the_sentence_that_is_left_out_is_the_one_that_findings_say(plate):
    weak = copied(plate)
    strong = {**plate.variants[0].inputs, "material": {**plate.variants[0].inputs["material"], "yield_MPa": 1e6}}
    vars(weak)["variants"] = (replace(plate.variants[0], inputs=strong),)
    told = yielding(weak, "pulled")
    assert any(UNLOOKED in s for s in told)
    assert not any("not looked at" in s for s in with_life(told))


def test_what_was_not_checked_stands_in_the_page(written, plate):
    _, _, words = written
    for item in (*NOT_CHECKED_WITH_LIFE, *plate.variants[0].life.not_checked):
        assert item in words, item
    assert not_checked(False) == NOT_CHECKED
    assert len(NOT_CHECKED_WITH_LIFE) == len(NOT_CHECKED)
    changed = [a for a, b in zip(NOT_CHECKED, NOT_CHECKED_WITH_LIFE, strict=True) if a != b]
    assert any(item.startswith("fatigue life") for item in changed)


def test_derived_numbers_have_formula_and_provenance(written, plate):
    text, _, words = written
    life = longest(outcomes(plate)).variant.life
    for figure in life.figures:
        assert figure.what in words, figure.what
        assert " ".join(sensible(figure.value).split()) in words
        assert " ".join(figure.formula.split()) in words
        assert " ".join(str(figure.provenance).split()) in words
    recalled = [f for f in life.figures if f.provenance.kind is Kind.MEMORY]
    assert recalled
    assert text.count('class="recalled">from memory') == 1 + life_chapter(plate).recalled
    assert f"{life_chapter(plate).recalled} of the numbers below rest on values from memory, not confirmed" in words


def test_the_duty_says_who_says_so(written, plate):
    _, _, words = written
    for row in plate.life["duty"]:
        assert row["name"] in words
    assert words.count("declared by the user; no source stated") >= len(plate.life["duty"])
    assert "about rest, as far to both sides" in words
    assert "40,000 times" in words


def test_rows_of_a_duty_in_words(plate):
    changed = copied(plate)
    duty = [
        {"name": "cut", "condition": "pulled", "cycle": "pulsating", "per_1000_h": 6000.0, "back_to": "turned", "history": "force.csv",
         "column": "force_kN", "stated_at": 22.0},
        {"name": "turning", "condition": "pulled", "cycle": "rotating", "hours_per_1000_h": 950.0},
        {"name": "slow", "condition": "pulled", "cycle": "rotating", "hours_per_1000_h": 0.5, "speed_rpm": 20.0},
        {"name": "back", "condition": "pulled", "cycle": "pulsating", "per_1000_h": 0.1, "back_to": "turned"},
    ]  # fmt: skip
    vars(changed)["life"] = {**plate.life, "duty": duty, "recorded_cycles": {"cut": 1676.0}}
    worst = replace(plate.variants[0].life.places[0], shares=(DutyShare("cut", 0.996), DutyShare("back", 0.004)))
    cut, turning, slow, back = duty_table(changed, worst)
    assert cut["provenance"].startswith("1,676 recorded cycles, by rainflow from force.csv, column force_kN")
    assert cut["often"] == "6,000 times the recording"
    assert cut["share"] == "100 %"
    assert (turning["cycle"], turning["often"]) == ("at every turn, at the machine's speed", "950 h of turning")
    assert slow["cycle"] == "at every turn, 20 rpm"
    assert (back["cycle"], back["often"]) == ("from \u201cturned\u201d, and back", "0.1 times")
    assert (back["share"], slow["share"]) == ("below 1 %", "none")


def test_a_ring_shows_static_proof_and_both_scales_of_cracks(ring, ring_page):
    _, _, words = ring_page(ring)
    life = ring.variants[0].life
    for row in life.static:
        assert row.mode in words
    assert len(life.static) == 2
    assert "Once a turn, or about as often, against the threshold" in words
    assert "All rows of the duty together, and inspection" in words
    assert words.index("Once a turn") < words.index("All rows of the duty together, and inspection")
    for crack in life.cracks:
        assert crack.place in words
        assert hours(crack.interval_h) in words
    assert "e+0" not in words[words.index("Static proof") : words.index("How the life was reckoned")]
    assert "built-in" not in words
    assert f"{len(life.places) - 10} more places" in words


def test_levers_and_scatter_are_shown(ring, ring_page):
    _, _, words = ring_page(ring)
    life, scatter = ring.variants[0].life, ring.scatter[ring.variants[0].key]
    assert life.levers
    for lever in life.levers:
        assert lever.what in words
    assert "2 times as long" in words
    for one in scatter.inputs:
        assert one.name in words
    assert "share of the scatter, alone" in words


def test_what_fails_is_marked(ring, ring_page):
    def failing(n, life):
        static = (replace(life.static[0], net_share=1.4), *life.static[1:])
        grows = TurnLine("turning", 9.0, 0.5, True, "grows a flaw of 0.5 mm at each turn")
        cracks = (replace(life.cracks[0], once_a_turn=(grows,)),)
        return replace(life, static=static, cracks=cracks, verdict="does not hold")

    text, _, words = ring_page(with_lives(ring, failing))
    assert "Conditions under which it fails: running." in words
    assert 'class="finding bad"' in text
    assert 'class="v-failed">grows a flaw of 0.5 mm at each turn' in text
    assert "this part does not hold" in words


def test_endless_lives_are_words(ring, ring_page):
    def endless(n, life):
        safe = with_worst(life, life_h=None, life_elementary_h=None, life_median_h=None, safety=None, shares=())
        levers = tuple(replace(lever, life_factor=None) for lever in life.levers)
        return replace(safe, verdict="holds", words="Nothing in the duty cycles at any place.", levers=levers)

    _, _, words = ring_page(with_lives(ring, endless))
    assert "more than a billion" in words
    assert "nothing cycles" in words
    assert "endless as long" not in words
    assert "this part holds" in words
    assert "None" not in words


def test_welds_stand_in_the_chapter(ring, ring_page):
    weld = WeldSaid("seam", "butt weld", "nominal", "toe", 71.0, 55.4, 12345.0, (DutyShare("pushes", 0.8),), True, "holds", "clear", (
        Figure("class of the seam", 71.0, "MPa", "range at 2e6", memory("a table")),), ())  # fmt: skip
    near = replace(weld, name="lug", life_h=None, clear=False, verdict="does not hold", words="too near")
    _, _, words = ring_page(with_lives(ring, lambda n, life: replace(life, welds=(weld, near))))
    for needed in ("seam", "butt weld, nominal", "12,000", "pushes (80 %)", "not judged", "Weld: seam"):
        assert needed in words, needed


def test_variants_without_a_life_are_listed(plate, ring_page):
    key = plate.variants[0].key
    lost = with_lives(plate, lambda n, life: None if n == 0 else life)
    vars(lost)["life"]["no_life"] = {key: "no solution for turned"}
    _, _, words = ring_page(lost)
    assert "corner radius 8 mm, no life: no solution for turned" in words
    empty = with_lives(plate, lambda n, life: None)
    vars(empty)["life"]["no_life"] = {v.key: "no solution" for v in plate.variants}
    text, _, words = ring_page(empty)
    assert (
        "A life was asked for, and no variant has one: corner radius 8 mm: no solution; corner radius 20 mm: no solution."
        in words
    )
    assert 'id="life"' not in text
    assert "fatigue life, crack growth and fracture" in words
    assert len(without_life(empty)) == 2


def test_counts_of_verdicts_in_the_lead(plate):
    for holding, sentence in (
        (2, "all 2 variants hold"),
        (1, "1 of 2 variants holds"),
        (0, "none of 2 variants holds"),
    ):
        changed = with_lives(
            plate,
            lambda n, life: replace(life, verdict="holds" if n < holding else "does not hold"),  # noqa: B023
        )
        assert life_chapter(changed).lead[0].endswith(f"; {sentence}.")
