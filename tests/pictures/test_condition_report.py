"""Studies with conditions: their tables, their pictures, and what a load was reckoned from, in the report."""

from dataclasses import replace

import numpy as np
import pytest
from picture_studies import PLATE
from test_figures import check_picture
from test_page import read

from femdrum import report
from femdrum.figure import Figure
from femdrum.handbook.domains import InfinitePlate
from femdrum.handbook.exact import exact_edge
from femdrum.model.cutout import Slot
from femdrum.model.ring import Ring
from femdrum.provenance import common_practice, computed
from femdrum.quantity import Quantity
from femdrum.report import conditions, figures
from femdrum.report.condition_table import condition_rows, excess_words, over_all
from femdrum.report.load_table import load_blocks, sensible
from femdrum.report.perimeter_picture import PerimeterPicture
from femdrum.report.places import place_name
from femdrum.report.unit_table import unit_rows
from femdrum.report.words import bare
from femdrum.study import Results, run, study_from_text

CONDITIONS = """\

[[condition]]
name = "both"
loads = { pull = 1.0, turn = 0.5 }

[[condition]]
name = "turned back"
loads = { pull = 0.2, turn = -1.0 }
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    text = PLATE.replace('[8, 20, "full"]', "[8, 20]") + CONDITIONS
    return run(study_from_text(text, name="conditions"), tmp_path_factory.mktemp("conditions") / "out", workers=1)


def with_answers(results, change):
    """The results with each answer changed by change(number of the variant, answer)."""
    out = Results(results.folder, results.data)
    variants = [
        replace(v, answers=tuple(change(n, a) for a in v.answers)) for n, v in enumerate(results.variants)
    ]  # fmt: skip
    out.__dict__["variants"] = tuple(variants)
    return out


def with_figures(results):
    def change(n, answer):
        if answer.case == "turn":
            return answer
        made = (
            Figure("force of the pull", 123456.7, "N", "F = s A", computed("statics")),
            Figure("share of the wall", 0.25 + 0.05 * n, "-", "declared", common_practice("an estimate")),
        )
        told = ("mind the grip",) if answer.case == "pull" or n else ()
        return replace(answer, figures=made if answer.case == "pull" else (), warnings=told,
                       unbalanced=f"Not in balance: {n + 1} kN." if answer.case == "pull" else "")  # fmt: skip

    return with_answers(results, change)


def test_the_variant_with_the_lowest_worst_peak_is_chosen(study):
    worst = [max(abs(float(a.peak)) for a in conditions.conditions_of(v)) for v in study.variants]
    assert conditions.chosen_variant(study) is study.variants[int(np.argmin(worst))]
    assert conditions.worst_conditions(study.variants[0], 1) == ["both"]
    lead, more = over_all(study)
    assert "lowest with corner radius 20 mm" in lead
    assert "of this variant" in more


def test_studies_without_conditions_draw_and_say_what_they_did(plate):
    assert conditions.condition_names(plate) == []
    assert conditions.chosen_variant(plate) is None
    assert conditions.leading_cases(plate) == ["pull", "turn"]
    assert over_all(plate) == condition_rows(plate) == load_blocks(plate) == []
    assert not any(name.startswith(("shares", "perimeter")) for name in report.list_figures(plate))
    with pytest.raises(LookupError):
        report.draw(plate, "shares")


def test_rows_of_conditions_say_place_excess_and_shares(study):
    rows = condition_rows(study)
    assert [(r["variant"], r["condition"]) for r in rows] == [
        (f"corner radius {r} mm", c) for r in (8, 20) for c in ("both", "turned back")
    ]
    for row, answer in zip(rows, [a for v in study.variants for a in conditions.conditions_of(v)], strict=True):
        assert row["peak"] == bare(answer.peak)
        assert row["place"].startswith("corner between")
        assert float(row["added"]) == pytest.approx(answer.adding_maxima_MPa, rel=2e-3)
        assert float(row["excess"].strip("+ %")) == pytest.approx(
            100 * (answer.adding_maxima_MPa / abs(float(answer.peak)) - 1), abs=0.1
        )
        assert sum(float(s.split()[-1].rstrip("%")) for s in row["shares"].replace("\u00a0", "").split("; ")) == 100
    assert "turn (taken 0.5 times)" in rows[0]["shares"]


def test_large_excesses_are_multiples():
    peak = Quantity(-50.0, "MPa", 0.1)
    assert excess_words(peak, 55.0) == "+10.0 %"
    assert excess_words(peak, 150.0) == "3 times"
    assert excess_words(peak, None) == ""


def test_loads_show_every_number_once_with_formula_and_source(study):
    pull, *others = load_blocks(with_figures(study))
    force, share = pull.rows
    assert (force.what, force.value, force.unit, force.formula) == (
        "force of the pull",
        "123\u202f500",
        "N",
        "F = s A",
    )
    assert (force.provenance, force.others) == ("computed: statics", "")
    assert share.provenance == "common practice, no source: an estimate"
    assert (share.value, share.unit, share.others) == ("0.25", "1", "0.25 to 0.3 over the variants")
    assert pull.warnings == ["mind the grip"]
    assert pull.unbalanced == [
        "Not in balance: 1 kN. These are the numbers of corner radius 8 mm; other variants come to others."
    ]
    assert others == []  # conditions repeat nothing of their loads


@pytest.mark.parametrize(
    ("value", "text"),
    [(0, "0"), (12.0, "12"), (0.012345, "0.01235"), (5252113.1, "5\u202f252\u202f000"), (9999.9, "10\u202f000"),
     (-3.2e-6, "\u22123.2 \u00b7 10\u207b\u2076"), (1.23e9, "1.23 \u00b7 10\u2079"), (float("nan"), "no number")],
)  # fmt: skip
def test_numbers_of_loads_are_read_easily(value, text):
    assert sensible(value) == text


def test_unit_loads_stand_in_words_with_their_factors(study):
    rows = unit_rows(study.variants[0])
    cases = study.variants[0].edge.cases
    assert [r.definition for r in rows] == [c.definition for c in cases]
    assert dict(rows[0].loads) == {"pull": "100"}
    assert dict(rows[1].conditions) == {"both": "30", "turned back": "\u221260"}
    one = float(rows[0].peak.split(" ")[0])
    assert 100 * one == pytest.approx(float(study.variants[0].answer("pull").peak), rel=2e-3)


def test_pictures_of_conditions_are_whole_and_registered(study, tmp_path):
    names = report.list_figures(study)
    key = conditions.chosen_variant(study).key
    assert f"shares-{key}" in names
    assert {f"perimeter-{key}-both", f"perimeter-{key}-turned_back"} <= set(names)
    assert not any(name.endswith(("pull", "-turn")) for name in names)
    assert {"shares", "perimeter"} <= set(figures.KINDS)
    for picture in figures.pictures(study):
        if picture.name.startswith(("shares", "perimeter")):
            png, _, _ = picture.write(tmp_path)
            check_picture(png, picture.size_mm)


def test_what_bars_and_angle_change_is_a_line_of_its_own(study):
    plain = conditions.perimeter_picture(study, 0, "both")
    assert plain.names == ["pull", "turn, 0.5 times"]

    def change(n, answer):
        return replace(answer, factors=(90.0, 30.0)) if answer.case == "both" else answer

    picture = conditions.perimeter_picture(with_answers(study, change), 0, "both")
    assert picture.names == [*plain.names, conditions.REMAINDER]
    assert conditions.REMAINDER in picture.caption
    assert picture.loads.stress.sum(0) == pytest.approx(picture.combined.stress[0])
    edge = study.variants[0].edge
    assert picture.loads.stress[-1] == pytest.approx(edge.combine([-10.0, 0.0]).stress[0])


def test_flanks_are_named_up_to_their_ends():
    part = Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows="aligned",
                cutout=Slot(around_mm=60, axial_mm=120, corner_radius_mm=12))  # fmt: skip
    arc = 6 * np.pi
    total = 2 * (96 + 36) + 4 * arc
    assert place_name(part, 47.0, total) == "leading flank"  # beyond an eighth of the way round
    assert place_name(part, total - 47.0, total) == "leading flank"
    assert place_name(part, 48 + arc + 1, total) == "free-end flank"
    assert place_name(part, 48 + arc + 37, total) == "corner between free-end and trailing flanks"
    assert place_name(part, total - 49.0, total) == "corner between drive-end and leading flanks"


def test_names_of_narrow_flanks_stand_above_the_strip(tmp_path):
    cutout = Slot(around_mm=60, axial_mm=120, corner_radius_mm=24)
    part = Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows="aligned", cutout=cutout)
    edge = exact_edge(cutout, InfinitePlate(), ("tension_x", "shear"))
    picture = PerimeterPicture("jam", edge.combine(np.eye(2)), ["pull", "turn"], edge.combine([1, 1]), part)
    ax = picture.draw()
    high = {t.get_text(): t.get_position()[1] for t in ax.texts}
    assert high["free-end flank"] == high["drive-end flank"] > high["leading flank"] > 1
    assert not any(t.get_rotation() and len(t.get_text()) > 3 for t in ax.texts)
    png, _, _ = picture.write(tmp_path)
    check_picture(png, picture.size_mm)


def test_the_report_shows_conditions_loads_and_unit_loads(study):
    text, checker, words = read(report.write(with_figures(study)))
    assert {"conditions", "loads"} <= set(checker.ids)
    assert "2 loads, 2 conditions" in words
    assert words.index("Over all conditions") < words.index("Lowest peak under “both”")
    assert "Lowest peak under “pull”" not in words
    assert "Mind: mind the grip" in words
    assert "Not in balance: 1 kN." in words
    assert "computed: statics" in words
    assert "gross stress 1 MPa along x" in words
    assert "pull 1, turn 0.5" in words
    assert "tension_x" not in words
    assert "every condition" in words
    assert text.count('<img src="data:image/') == len(report.list_figures(study))


def test_a_report_without_conditions_has_no_empty_tables(plate):
    _, checker, words = read(report.write(plate.folder))
    assert not {"conditions", "loads"} & set(checker.ids)
    assert "Unit loads" not in words
    assert "3 variants, 2 loads \u00b7 computed" in words
