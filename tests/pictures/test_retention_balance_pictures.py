"""Charts of retention and balance: whole, in words, and with the numbers they are drawn from."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest
from test_figures import check_picture

from femdrum.assess.retention import Retention, RetentionInput, retention
from femdrum.report.balance_page import balance_pictures
from femdrum.report.balance_polar import PolarPicture, _round, _turned
from femdrum.report.picture import NoData
from femdrum.report.retention_faces import FacesPicture
from femdrum.report.retention_page import retention_pictures
from femdrum.report.retention_seat import SeatAnglePicture
from femdrum.report.retention_window import ClampWindowPicture
from femdrum.study.balance_sheet import solve_balance
from femdrum.study.retention_sheet import solve_retention

STUDIES = Path(__file__).parents[2] / "studies"


@pytest.fixture(scope="module")
def held() -> Retention:
    return solve_retention(STUDIES / "retention.toml")[1]


@pytest.fixture(scope="module")
def loose(held) -> Retention:
    """Too little torque for a small bolt: there is no window."""
    clamp = held.given.clamp
    bolt = replace(clamp.bolt, size="M12", torque_Nm=150)
    hits = tuple(replace(h, along_kN=14) for h in held.given.hits)
    return retention(replace(held.given, clamp=replace(clamp, bolt=bolt, face_friction_low=0.08), hits=hits))


@pytest.fixture(scope="module")
def pulled(held) -> Retention:
    """Set by pull, the faces end the window."""
    clamp = held.given.clamp
    bolt = replace(clamp.bolt, tightening="hydraulic", torque_Nm=None, preload_kN=120)
    return retention(replace(held.given, clamp=replace(clamp, bolt=bolt, face_yield_MPa=150)))


@pytest.fixture(scope="module")
def trued():
    return solve_balance(STUDIES / "balance.toml")[1]


def words_of(ax):
    found = [t.get_text() for t in ax.texts] + [ax.get_title(loc="left"), ax.get_xlabel(), ax.get_ylabel()]
    legends = [c for c in ax.get_children() if type(c).__name__ == "Legend"]
    found += [t.get_text() for legend in legends for t in legend.get_texts()]
    found += [t.get_text() for t in [*ax.get_xticklabels(), *ax.get_yticklabels()]]
    return "\n".join([*found, *(words_of(c) for c in ax.child_axes)])


def test_every_chart_is_whole(held, loose, pulled, trued, tmp_path):
    for n, pictures in enumerate(
        (retention_pictures(held), [ClampWindowPicture(loose)], [ClampWindowPicture(pulled)], balance_pictures(trued))
    ):
        folder = tmp_path / str(n)
        folder.mkdir()
        for picture in pictures:
            png, svg, data = picture.write(folder)
            check_picture(png, picture.size_mm)
            assert svg.read_text(encoding="utf-8").count("<text") > 10
            rows = list(csv.reader(data.read_text(encoding="utf-8").splitlines()))
            assert len(rows) > 4
            assert len({len(row) for row in rows}) == 1
    assert [p.name for p in retention_pictures(held)] == ["clamp-window", "clamp-needed", "seat-angle"]


def test_the_window_in_words(held, loose, pulled):
    said = words_of(ClampWindowPicture(held).draw())
    for text in ("Clamp window: 155.5 to 438.7 N·m", "set: 320 N·m", "least 143.8 kN", "most 490.4 kN", "most, by the bolt: 438.7 N·m", "least: 155.5 N·m",
                 "opens below 63.09 kN: heavy cut, worn slot, near slot, wedge face", "slips below 54.63 kN", "torque of the bolt (N·m)"):  # fmt: skip
        assert text in said, text
    none = ClampWindowPicture(loose)
    assert none.window_words().startswith("none: 192")
    assert loose.verdict == "not held"
    faces = ClampWindowPicture(pulled)
    assert faces.by_faces()
    said = words_of(faces.draw())
    assert "most, by the faces" in said
    assert "faces bear 285.5 kN" in said
    assert "pull set at the bolt (kN)" in said
    assert "set: 120 kN" in said


def test_the_lines_are_the_courses(held):
    ax = ClampWindowPicture(held).draw()
    lines = {line.get_label(): line for line in ax.get_lines()}
    assert lines["least clamp"].get_ydata() == pytest.approx([1e-3 * v for v in held.curve.least_N])
    assert lines["most clamp"].get_xdata() == pytest.approx(held.curve.settings)
    _, rows = ClampWindowPicture(held).table()
    assert [r[3] for r in rows if r[0] == "clamp"] == list(held.curve.most_N)
    # where the least clamp meets the higher limit the window begins
    need = max(r[2] for r in rows if r[0].startswith("needed"))
    assert need == pytest.approx(held.proof.least_clamp_N)


def test_bars_of_what_is_needed(held, loose):
    picture = FacesPicture(held)
    ax = picture.draw()
    lengths = sorted(round(p.get_width(), 6) for c in ax.containers for p in c)
    own = sorted(
        round(1e-3 * v, 6)
        for f in held.faces
        if not f.row.accident
        for v in (f.against_opening_N, f.against_slip_N)
        if v > 0
    )
    assert lengths == own
    assert "least clamp 143.8 kN" in words_of(ax)
    assert "asks for none" in words_of(ax)
    assert ", slips" in words_of(FacesPicture(loose).draw())
    bare = RetentionInput(clamp=held.given.clamp, accidents=held.given.accidents)
    assert [p.name for p in retention_pictures(retention(bare))] == ["clamp-window"]


def test_flat_against_cylindrical(held):
    ax = SeatAnglePicture(held).draw()
    lines = {line.get_label(): line.get_ydata() for line in ax.get_lines()}
    flat, turns = lines["seat 1, flat"], lines["seat 2, cylindrical"]
    assert flat[-1] > 2 * turns[-1]
    assert max(turns) == pytest.approx(min(turns), rel=1e-2)
    said = words_of(ax)
    for text in (
        "seat 1, flat: 482.6 MPa, 67 % bears",
        "seat 2, cylindrical: 271.1 MPa, 100 % bears",
        "yield strength 355 MPa",
        "given: 0.1°",
    ):
        assert text in said, text
    with pytest.raises(NoData):
        SeatAnglePicture(replace(held, seats=()))


def test_polar_plot_before_and_after(trued):
    picture = PolarPicture(trued)
    ax = picture.draw()
    said = words_of(ax)
    for text in (
        "within the permissible",
        "hammers placed",
        "with the plates on",
        "permissible",
        "mark, 0°",
        "rotation",
        "plane 1, z = 250 mm",
        "proven",
    ):
        assert text in said, text
    for field, plane in zip(ax.child_axes, trued.planes, strict=True):
        circles = [p for p in field.patches if type(p).__name__ == "Circle"]
        limit = plane.permissible_g_mm / picture.top
        assert any(c.get_radius() == pytest.approx(limit) for c in circles)
        points = [
            (line.get_xdata()[0], line.get_ydata()[0]) for line in field.get_lines() if len(line.get_xdata()) == 1
        ]
        for vector in (plane.now_g_mm, plane.placed_g_mm, plane.after_g_mm):
            # the mark is on top: a quarter turn on
            turned = 1j * vector / picture.top
            assert any(abs(complex(x, y) - turned) < 1e-9 for x, y in points)
        assert len([p for p in points if abs(abs(complex(*p)) - 1.1) < 1e-9]) == plane.positions.count
        numbers = [t.get_text() for t in field.texts]
        for n, plates in enumerate(plane.plates, 1):
            assert (f"{n}: {plates}" if plates else str(n)) in numbers
    _, rows = picture.table()
    assert [r[2] for r in rows if r[1] == "permissible"] == [p.permissible_g_mm for p in trued.planes]
    with pytest.raises(NoData):
        PolarPicture(replace(trued, planes=()))
    assert not picture.enlarged
    assert balance_pictures(replace(trued, planes=())) == []


def test_a_small_tolerance_is_enlarged(trued, tmp_path):
    tight = replace(trued, planes=tuple(replace(p, permissible_g_mm=20e3) for p in trued.planes))
    picture = PolarPicture(tight)
    assert picture.enlarged
    png, _, _ = picture.write(tmp_path)
    check_picture(png, picture.size_mm)
    fields = picture.draw().child_axes
    assert len(fields) == 4
    assert "plane 2, enlarged" in words_of(fields[3])
    for field, plane in zip(fields[2:], tight.planes, strict=True):
        top = 1.3 * max(20e3, abs(plane.after_g_mm))
        points = [complex(x.get_xdata()[0], x.get_ydata()[0]) for x in field.get_lines() if len(x.get_xdata()) == 1]
        # only what lies within
        assert len(points) == 1
        assert points[0] == pytest.approx(1j * plane.after_g_mm / top)


def test_angles_and_steps():
    assert _turned(0) == pytest.approx((0, 1))
    assert _turned(90) == pytest.approx((-1, 0))
    assert [_round(v) for v in (0.9, 1.0, 1.2, 2.1, 4.9, 5.1, 190e3)] == [1, 1, 2, 5, 5, 10, 200e3]
