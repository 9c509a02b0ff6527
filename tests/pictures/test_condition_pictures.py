"""Pictures of conditions: shares of each load, and stress along the slot's edge load by load."""

import csv

import numpy as np
import pytest
from test_figures import check_picture

from femdrum.assess.combine_peaks import adding_maxima, shares
from femdrum.handbook.domains import InfinitePlate
from femdrum.handbook.exact import exact_edge
from femdrum.model.cutout import Circle, Slot
from femdrum.model.plate import Plate
from femdrum.model.ring import Ring
from femdrum.quantity import Quantity, Verdict
from femdrum.report import style
from femdrum.report.perimeter_picture import PerimeterPicture
from femdrum.report.picture import NoData
from femdrum.report.shares_picture import HATCHES, REST, ConditionPeak, SharesPicture

CASES = ("tension_x", "tension_y", "shear")
SLOT = Slot(around_mm=60, axial_mm=120, corner_radius_mm=12)
NAMES = ["rotation", "weight", "jam", "wedges"]
# invented: hoop tension, bending along the axis, shear, wedges that press where rotation pulls
VECTORS = np.array([[22, 3, 0], [0, 9, 1], [0, -2, 30], [-9, 1, 0]], dtype=float)


def ring(cutout):
    return Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows="alternate", cutout=cutout)


def plate(cutout):
    return Plate(length_mm=2000, width_mm=2000, thickness_mm=20, cutout=cutout)


@pytest.fixture(scope="module")
def edge():
    return exact_edge(SLOT, InfinitePlate(), CASES)


def condition(edge, name, portions):
    vectors = VECTORS * np.array(portions)[:, None]
    combined = edge.combine(vectors.sum(0))
    peaks = combined.peaks()
    parts = shares(edge.combine(vectors), combined, peaks.at, NAMES)
    added = adding_maxima(edge, vectors)
    return ConditionPeak(name, tuple((p.load, p.stress_MPa) for p in parts), peaks.peak, float(added.total))


@pytest.fixture(scope="module")
def conditions(edge):
    return [condition(edge, "running", [1, 1, 0.2, 1]), condition(edge, "standing, wedges tight", [0, 0.2, 0, 1])]


def perimeter(edge, part, name="jam", vectors=VECTORS, names=NAMES, key=""):
    return PerimeterPicture(name, edge.combine(vectors), names, edge.combine(vectors.sum(0)), part, key)


def texts(ax):
    return [t.get_text() for t in ax.texts]


def test_shares_picture_is_whole_and_says_its_numbers(conditions, tmp_path):
    picture = SharesPicture(conditions, of="corner radius 12 mm")
    png, svg, data = picture.write(tmp_path)
    check_picture(png, picture.size_mm)
    text = svg.read_text(encoding="utf-8")
    for words in [
        "MPa",
        "±",
        "running",
        "standing, wedges",
        "rotation",
        "separate maxima added",
        "corner radius 12 mm",
    ]:
        assert words in text, words
    header, *rows = csv.reader(data.read_text(encoding="utf-8").splitlines())
    assert header[:3] == ["condition", "load", "share_MPa"]
    assert len(rows) == 8
    for c in conditions:
        own = [r for r in rows if r[0] == c.name]
        assert sum(float(r[2]) for r in own) == pytest.approx(float(c.peak), rel=2e-3)
        assert sum(float(r[3]) for r in own) == pytest.approx(1, rel=2e-3)
        assert float(own[0][6]) > abs(float(own[0][4]))


def test_bars_end_where_the_shares_say(conditions):
    ax = SharesPicture(conditions).draw()
    for row, c in enumerate(conditions):
        bars = [p for p in ax.patches if abs(p.get_y() + 0.5 * p.get_height() - row) < 1e-9]
        assert sum(b.get_width() for b in bars) == pytest.approx(sum(v for _, v in c.shares))
        reach = [b.get_x() + b.get_width() for b in bars]
        assert max([*reach, 0.0]) == pytest.approx(sum(v for _, v in c.shares if v > 0))
        assert min([*reach, 0.0]) == pytest.approx(sum(v for _, v in c.shares if v < 0))
        assert any(t.startswith("\u25c7") and t.rstrip().endswith("MPa") for t in texts(ax))
    low, high = ax.get_xlim()
    assert low < -conditions[1].added_MPa  # a pressed peak: what is added is drawn on its side
    assert high > conditions[0].added_MPa


def test_more_loads_than_looks_are_drawn_as_one_and_listed(tmp_path):
    given = tuple((f"load {i}", float(i + 1) * (-1) ** i) for i in range(11))
    peak = Quantity(sum(v for _, v in given), "MPa", 0.1, Verdict.SETTLED)
    picture = SharesPicture([ConditionPeak("all", given, peak, 66.0)], name="many")
    assert len(picture.kept) == len(style.LOOKS)
    assert picture.rest == ["load 0", "load 1", "load 2"]
    assert dict(picture.parts(picture.conditions[0]))[REST] == pytest.approx(1 - 2 + 3)
    assert "load 2" in picture.caption
    assert len(picture.table()[1]) == 11
    png, _, _ = picture.write(tmp_path)
    check_picture(png, picture.size_mm)


def test_every_look_has_its_hatch():
    assert len(HATCHES) == len(set(HATCHES)) == len(style.LOOKS)


def test_nothing_to_draw_is_said():
    with pytest.raises(NoData):
        SharesPicture([ConditionPeak("x", (), Quantity(None, "MPa", None, Verdict.UNBOUNDED), 0.0)])


def test_perimeter_picture_is_whole_and_names_the_slot(edge, tmp_path):
    picture = perimeter(edge, ring(SLOT), "jam at full power", key="ab")
    assert picture.name == "perimeter-ab-jam_at_full_power"
    png, svg, data = picture.write(tmp_path)
    check_picture(png, picture.size_mm)
    text = svg.read_text(encoding="utf-8")
    for words in ["leading flank", "trailing flank", "free-end", "drive-end", "arc", "all loads together", "wedges",
                  "stress along the edge (MPa)", "(mm)", "peak: tension", "±", "corner between"]:  # fmt: skip
        assert words in text, words
    header, *rows = csv.reader(data.read_text(encoding="utf-8").splitlines())
    assert header[5:] == [*(f"{n}_along_MPa" for n in NAMES), "all_together_along_MPa"]
    values = np.array(rows, dtype=float)
    assert values[:, 5:9].sum(1) == pytest.approx(values[:, 9], abs=1e-9)


def test_the_thick_line_is_the_sum_of_the_thin_ones(edge):
    ax = perimeter(edge, ring(SLOT)).draw()
    drawn = {line.get_label(): line for line in ax.lines if not line.get_label().startswith("_")}
    assert set(drawn) == {*NAMES, "all loads together"}
    thin = sum(drawn[n].get_ydata() for n in NAMES)
    assert thin == pytest.approx(drawn["all loads together"].get_ydata(), abs=1e-9)
    assert drawn["all loads together"].get_linewidth() > 2 * drawn["jam"].get_linewidth()
    assert len({str(drawn[n].get_linestyle()) + str(drawn[n].get_marker()) for n in NAMES}) == len(NAMES)
    x = drawn["jam"].get_xdata()
    assert np.all(np.diff(x) > 0)
    assert ax.get_xlim() == pytest.approx((x[0], x[-1]), abs=1.5)


@pytest.mark.parametrize("quarter", range(4))
def test_flanks_and_corners_lie_where_they_are_named(edge, quarter):
    picture = perimeter(edge, ring(SLOT))
    s = edge.s_mm
    total = float(s[-1] + s[-1] - s[-2])
    sides = ("leading", "free-end", "trailing", "drive-end")
    where = ("x", "y", "x", "y")[quarter], (1, 1, -1, -1)[quarter]
    i = int(np.argmin(np.abs(s - 0.25 * quarter * total)))
    place = dict(zip("xy", edge.place_mm[i, 0, :2], strict=True))
    assert place[where[0]] * where[1] == pytest.approx(30 if where[0] == "x" else 60)
    assert picture._place_words(s[i], total) == f", {sides[quarter]} flank"
    corner = 0.25 * quarter * total + (48 + 9 if quarter % 2 == 0 else 18 + 9)
    assert (
        picture._place_words(corner, total)
        == f", corner between {sides[quarter]} and {sides[(quarter + 1) % 4]} flanks"
    )


def test_round_ends_and_round_holes_have_names_of_their_own():
    upright, lying = (Slot(around_mm=a, axial_mm=b, corner_radius_mm="full") for a, b in ((60, 120), (120, 60)))
    hole = Circle(diameter_mm=60)
    for part, wanted in (
        (ring(upright), {"free-end round", "drive-end round", "leading flank", "trailing flank"}),
        (plate(lying), {"+x round", "\u2212x round", "+y flank", "\u2212y flank"}),
        (plate(hole), {"+x side", "+y side", "\u2212x side", "\u2212y side"}),
    ):
        ax = perimeter(exact_edge(part.cutout, InfinitePlate(), CASES), part).draw()
        found = set(texts(ax))
        assert wanted <= found
        assert not any("corner" in t for t in found)


def test_pressed_peaks_are_marked_below(edge, tmp_path):
    picture = perimeter(edge, plate(SLOT), "pressed", -VECTORS)
    png, svg, _ = picture.write(tmp_path)
    check_picture(png, picture.size_mm)
    assert "peak: compression \u2212" in svg.read_text(encoding="utf-8")
    with pytest.raises(NoData):
        perimeter(edge, plate(SLOT), "nothing", 0 * VECTORS)
    with pytest.raises(ValueError, match="1 names for 4 loads"):
        perimeter(edge, plate(SLOT), names=["one"])


def test_long_names_are_wrapped_not_cut(edge, conditions, tmp_path):
    name = "jam at full power with one wedge loose and the tip of the bar against tramp metal"
    picture = perimeter(edge, ring(SLOT), name, names=[f"{n} at its share of the condition" for n in NAMES])
    shown = SharesPicture(conditions, of="corner radius 12 mm, wall 40 mm, two slots around, rows aligned")
    for each in (picture, shown):
        png, _, _ = each.write(tmp_path)
        check_picture(png, each.size_mm)
        assert "\n" in each.draw().get_title(loc="left")
