"""A ring whose slots are not loaded alike: the whole row in pictures, at the angle of its worst state."""

import csv
import math

import numpy as np
import pytest
from test_figures import check_picture
from test_page import read

from femdrum import report
from femdrum.report import conditions, figures
from femdrum.report.angles import angle_words, turned
from femdrum.report.condition_table import condition_rows
from femdrum.report.edge_picture import EdgePicture
from femdrum.report.picture import NoData
from femdrum.report.solid_picture import SolidPicture
from femdrum.report.unit_picture import UnitPicture
from femdrum.report.unit_table import unit_rows
from femdrum.report.vtu import read_field
from femdrum.report.words import with_unit


@pytest.fixture(scope="module")
def answer(row):
    return row.variants[0].answer("running")


def test_the_solid_is_the_row_itself_around_the_slot_of_the_peak(row, answer, tmp_path):
    picture = SolidPicture(row, case="running")
    assert picture.whole
    assert answer.at.slot == 1
    assert "whole row was solved" in picture.caption
    assert picture.caption.startswith("Condition ")
    (matrix, sign), *more = picture.job().copies
    assert more == []
    assert sign == 1.0
    assert np.reshape(matrix, (4, 4)) == pytest.approx(np.diag([-1.0, -1.0, 1.0, 1.0]), abs=1e-12)
    png, svg, _ = picture.write(tmp_path)
    check_picture(png, picture.size_mm)
    text = svg.read_text(encoding="utf-8")
    assert "Around slot 1" in text
    assert with_unit(answer.tension) in text
    assert all(image.std() > 10 for image in picture.rendering.images)
    assert "largest principal tension" not in picture.draw().texts[-1].get_text()  # not among what is hidden
    assert any(view[0] for view in picture.rendering.marks)


def test_a_mark_lies_where_the_field_is_largest(row, answer):
    picture = SolidPicture(row, case="running")
    field = read_field(picture.path)
    values = field.data["principal_MPa:running"]
    turn = np.reshape(picture.job().copies[0][0], (4, 4))[:3, :3]
    top = turn @ field.nodes[int(np.argmax(values))]
    ((mark,), *_) = picture.job().points
    assert np.linalg.norm(top - mark) < 8.0
    assert values.max() == pytest.approx(float(answer.tension), rel=0.05)


def test_of_a_row_only_conditions_are_kept_as_solids(row):
    with pytest.raises(NoData, match="not kept"):
        SolidPicture(row, case="speed")
    assert [n for n in report.list_figures(row) if n.startswith("solid")] == [f"solid-{row.variants[0].key}-running"]


def test_a_quarter_is_still_unfolded(ring):
    picture = SolidPicture(ring)
    assert not picture.whole
    assert len(picture.job().copies) == 4
    assert picture.caption.startswith("Load ")


def test_the_edge_says_its_slot(row):
    ax = EdgePicture(row, case="running").draw()
    assert "slot 1" in ax.get_title(loc="left")


def test_the_angle_is_that_of_the_highest_peak(row, answer):
    variant = row.variants[0]
    found = turned(row, variant, answer)
    assert found.phi_deg is not None
    assert sum(found.parts.values()) == pytest.approx(np.array(answer.factors), rel=1e-6, abs=1e-9)
    names = [case.name for case in variant.edge.cases]
    weight = found.parts["weight"]
    x, y = (weight[names.index(f"bending_{n}")] for n in "xy")
    assert np.count_nonzero(weight) == 2

    def peak(more_deg):
        # after the drum has turned on, the moment stands that much further back in it
        c, s = math.cos(math.radians(more_deg)), math.sin(math.radians(more_deg))
        factors = np.array(answer.factors)
        factors[[names.index("bending_x"), names.index("bending_y")]] += [c * x + s * y - x, -s * x + c * y - y]
        return abs(float(variant.edge.combine(factors).peaks().peak))

    assert peak(0) == pytest.approx(abs(float(answer.peak)), rel=1e-9)
    # the angle is that of the highest sample; between samples another angle may be higher by a hair
    assert peak(0) > 0.999 * max(peak(-20), peak(20))
    assert peak(0) > peak(180)
    assert angle_words(turned(row, variant, variant.answer("speed"))) == "-"
    assert condition_rows(row)[0]["angle"] == angle_words(found) == f"{found.phi_deg:.0f}"


def test_loads_along_the_edge_stand_at_the_angle_of_the_condition(row):
    picture = conditions.perimeter_picture(row)
    assert picture.names == ["speed", "drive", "weight", "push, 1.5 times"]
    assert "past straight down" in picture.caption
    header, rows = picture.table()
    values = np.array([r[5:] for r in rows])
    assert header[-1] == "all_together_along_MPa"
    assert values[:, :-1].sum(1) == pytest.approx(values[:, -1], abs=1e-6)


def test_without_the_study_there_is_no_angle(row, answer):
    class Other:
        source, name = "not a study", "x"

    assert turned(Other, row.variants[0], answer) is None
    assert angle_words(None) == ""


def test_unit_loads_stand_side_by_side_in_words(row, tmp_path):
    edge = row.variants[0].edge
    picture = UnitPicture(row.variants[0])
    png, svg, data = picture.write(tmp_path)
    check_picture(png, picture.size_mm)
    text = svg.read_text(encoding="utf-8")
    assert "flank:" not in text
    for words in ("torque of 1 kN\u00b7m", "steady speed of 100 rad/s", "MPa per MPa", "MPa per kN\u00b7m", "leading"):
        assert words in text, words
    header, *rows = csv.reader(data.read_text(encoding="utf-8").splitlines())
    assert header[-1] == "along_MPa_per_unit"
    drawn = np.array([float(r[-1]) for r in rows if r[0] == "torsion"])
    panel = next(p for p in picture.panels if p.name == "torsion")
    place = edge.case_index("torsion"), panel.slot, slice(None), panel.depth, 0
    assert drawn == pytest.approx(1e6 * edge.stress[place], rel=1e-9)
    listed = {r.definition: r.peak for r in unit_rows(row.variants[0])}
    assert panel.peak == pytest.approx(float(listed["torque of 1 kN\u00b7m along the shell"].split()[0]), rel=2e-3)


def test_unit_loads_are_drawn_with_conditions_only(row, plate):
    assert any(n.startswith("units") for n in report.list_figures(row))
    assert not any(n.startswith("units") for n in report.list_figures(plate))
    assert isinstance(figures.KINDS["units"](plate), UnitPicture)


def test_the_report_tells_of_the_row(row, answer):
    text, _, words = read(report.write(row.folder))
    assert "flank:" not in words
    for needed in ("1 condition", "slot 1, corner between", "past straight down", "Not in balance by itself",
                   "weight of the rotor", "computed: statics of a beam on two bearings", "separate maxima added",
                   "A load on single slots acts on every row", with_unit(answer.peak)):  # fmt: skip
        assert needed in words, needed
    assert text.count('<img src="data:image/') == len(report.list_figures(row))
