"""Every figure is there, of the right size, not blank, and says what it must in words."""

import csv
import sys

import numpy as np
import pytest
from matplotlib.image import imread

from femdrum import report
from femdrum.errors import MissingPart
from femdrum.report import figures, render, style
from femdrum.report.curves import plane_curves
from femdrum.report.edge_picture import EdgePicture, corner_spans
from femdrum.report.kt_picture import KtPicture
from femdrum.report.parts import axis_number, load_of, part_of, with_value
from femdrum.report.solid_picture import SolidPicture
from femdrum.report.words import with_unit
from femdrum.study import Results


def pixels(size_mm):
    return tuple(int(mm / 25.4 * style.DPI) for mm in size_mm)


def check_picture(path, size_mm):
    image = imread(path)[..., :3]
    assert image.shape[1::-1] == pixels(size_mm)
    assert image.std() > 0.02
    few = np.unique((image[::3, ::3].reshape(-1, 3) * 31).astype(int), axis=0)
    assert len(few) > 12
    ink = (image < 0.98).any(-1)
    # nothing is cut off: the outermost pixels are white
    assert not ink[0].any()
    assert not ink[-1].any()
    assert not ink[:, 0].any()
    assert not ink[:, -1].any()


@pytest.fixture(scope="module")
def drawn(plate):
    return {picture.name: (picture, picture.write(figures._folder(plate))) for picture in figures.pictures(plate)}


def kinds(names):
    return {name.split("-")[0] for name in names}


def test_a_plate_study_has_every_kind_of_figure(drawn, plate):
    assert kinds(drawn) == {"part", "slot", "paths", "kt", "difference", "edge", "field", "ladder"}
    assert list(drawn) == report.list_figures(plate.folder)


def test_pictures_are_whole(drawn):
    for picture, (png, _, _) in drawn.values():
        check_picture(png, picture.size_mm)


def test_words_units_and_bands_stand_in_the_pictures(drawn, plate):
    for picture, (_, svg, data) in drawn.values():
        text = svg.read_text(encoding="utf-8")
        kind = picture.name.split("-")[0]
        assert "<text" in text
        wanted = {
            "part": ["mm thick", "x_mm", "y_mm"],
            "slot": ["x_mm", "y_mm", "mm thick"],
            "paths": ["pull: 100 MPa along x"],
            "kt": ["Kt gross", "corner radius (mm)", "exact plane solution"],
            "difference": ["plane solution (%)", "corner radius (mm)"],
            "edge": ["largest tension", "MPa", "±", "arc length along the edge, s (mm)"],
            "field": ["largest principal tension", "MPa", "±", "x (mm)", "y (mm)"],
            "ladder": ["unknowns of the mesh", "settled", "MPa", "±"],
        }[kind]
        for words in wanted:
            assert words in text, (picture.name, words)
        header, *rows = csv.reader(data.read_text(encoding="utf-8").splitlines())
        assert rows
        assert all(len(row) == len(header) for row in rows)


def test_the_pictures_show_the_stored_values(drawn, plate):
    answer = plate.variants[0].answer("pull")
    texts = [
        s.read_text(encoding="utf-8")
        for p, (_, s, _) in drawn.values()
        if p.name == f"field-{plate.variants[0].key}-pull"
    ]
    assert len(texts) == 1
    assert f"largest principal tension {with_unit(answer.tension)}" in texts[0]


def test_the_nominal_stands_on_the_axis(drawn):
    text = drawn["kt-pull"][1][1].read_text(encoding="utf-8")
    assert "gross stress along x" in text


def test_a_fit_is_drawn_inside_its_range_only(plate):
    inputs = plate.variants[0].inputs
    curves = plane_curves(inputs, "part.cutout.corner_radius_mm", [2.0, 8.0, 30.0], ["pull"], points=6)
    fit = next(f for f in curves.fits["pull"] if f.name == "infinite plate, Peterson chart 4.62")
    # its range ends at 0.2 half the size along the pull: 6 mm
    assert np.isnan(fit.kt[curves.x < 6.0 - 1e-9]).all()
    assert np.isfinite(fit.kt[curves.x >= 6.0 - 1e-9]).all()
    assert np.isfinite(curves.exact["pull"]).all()


def test_the_exact_curve_meets_the_stored_comparison(plate):
    variant = plate.variants[1]
    curves = plane_curves(variant.inputs, "part.cutout.corner_radius_mm", [20.0], ["pull", "turn"], points=2)
    for case in ("pull", "turn"):
        exact = [c.value for c in variant.answer(case).comparisons if "exact" in c.quantity]
        assert curves.exact[case][0] == pytest.approx(exact[0], rel=1e-4)


def test_full_round_is_drawn_at_its_radius(plate):
    assert [axis_number(v, "corner_radius_mm") for v in plate.variants] == [8.0, 20.0, 30.0]


def test_parts_come_back_from_the_store(plate, ring):
    part = part_of(plate.variants[0].inputs)
    assert (part.width_mm, part.cutout.half_y_mm, part.cutout.radius_mm) == (300, 50.0, 8.0)
    assert load_of(plate.variants[0].inputs, "turn").shear_MPa == 60
    assert part_of(with_value(plate.variants[0].inputs, "part.cutout.size_x_mm", 50)).cutout.half_x_mm == 25.0
    assert part_of(ring.variants[0].inputs).mid_radius_mm == 360.0


def test_corner_arcs_lie_where_the_cutout_has_them(plate):
    part = part_of(plate.variants[0].inputs)  # flanks 42 and 22 mm to the quarter, arc radius 8
    arc = np.pi / 2 * 8
    spans = corner_spans(part, 4 * (42 + 22 + arc))
    assert spans[0] == pytest.approx((42, 42 + arc))
    assert spans[1] == pytest.approx((42 + arc + 44, 42 + 2 * arc + 44))
    assert len(spans) == 4


def test_figures_can_be_drawn_on_given_axes(plate):
    _, ax = style.canvas(120, 90)
    assert figures.kt_over_axis(plate, "turn", ax=ax) is ax
    assert ax.get_xlabel() == "corner radius (mm)"
    _, ax = style.canvas(120, 90)
    assert figures.edge_stress(plate, 1, "turn", component="principal", ax=ax) is ax
    _, ax = style.canvas(120, 90)
    assert figures.field(plate, 1, "pull", quantity="von_mises", ax=ax) is ax
    _, ax = style.canvas(120, 90)
    assert figures.ladder(plate, "pull", variant=1, ax=ax) is ax
    assert ax.get_ylabel() == "peak stress (MPa)"


def test_shear_changes_sign_from_quarter_to_quarter(plate):
    nodes, _, values = figures.FieldPicture(plate, 0, "turn").quarters()
    n = len(values) // 4
    assert np.allclose(values[:n], -values[n : 2 * n])
    assert np.allclose(nodes[:n] * [-1, 1], nodes[n : 2 * n])
    nodes, _, values = figures.FieldPicture(plate, 0, "pull").quarters()
    assert np.allclose(values[:n], values[n : 2 * n])


def test_draw_by_name_and_by_kind(plate, tmp_path):
    name = report.list_figures(plate.folder)[0]
    paths = report.draw(plate.folder, name)
    assert [p.suffix for p in paths] == [".png", ".svg", ".csv"]
    (one,) = report.draw(plate.folder, "edge", tmp_path / "edge.svg", variant=2, case="turn")
    assert "full" in one.read_text(encoding="utf-8")
    with pytest.raises(KeyError, match="known"):
        report.draw(plate.folder, "nonsense")
    with pytest.raises(KeyError, match="pull, turn"):
        report.draw(plate.folder, "edge", case="none of these")


def test_the_same_figure_twice_is_the_same_file(plate, tmp_path):
    a, b = (report.draw(plate.folder, "ladder", tmp_path / f"{n}.svg")[0].read_bytes() for n in "ab")
    assert a == b


def test_matplotlib_is_left_as_it_was(plate):
    import matplotlib

    before = dict(matplotlib.rcParams)
    KtPicture(plate).draw()
    assert dict(matplotlib.rcParams) == before


def test_a_ring_is_drawn_along_its_edge_at_several_depths(ring):
    picture = EdgePicture(ring)
    names = [name for name, _ in picture.lines()]
    assert names[0] == "outer rim"
    assert "mid-wall" in names
    assert names[-1] == "bore rim"
    depth = [picture.surface.depth_mm[d] for _, d in picture.lines()]
    assert depth[0] == 0.0
    assert depth[-1] == 40.0
    png, svg, _ = picture.write(figures._folder(ring))
    check_picture(png, picture.size_mm)
    text = svg.read_text(encoding="utf-8")
    assert "largest tension" in text
    assert "mid-wall (depth 20 mm)" in text


def test_a_ring_is_drawn_as_a_solid(ring):
    picture = SolidPicture(ring)
    png, svg, _ = picture.write(figures._folder(ring))
    check_picture(png, picture.size_mm)
    text = svg.read_text(encoding="utf-8")
    assert "from the bore" in text
    assert "signed principal stress of largest magnitude (MPa)" in text
    assert picture.failure == ""
    for image in picture.rendering.images:
        assert image.std() > 10
        assert len(np.unique(image[::4, ::4].reshape(-1, 3), axis=0)) > 100
    # the two views differ, and each extreme is marked in one of them or said to be hidden
    assert np.abs(picture.rendering.images[0].astype(int) - picture.rendering.images[1].astype(int)).mean() > 2
    assert "largest principal tension" in text
    assert "largest principal compression" in text


def test_a_killed_drawing_process_becomes_a_sentence(ring, monkeypatch):
    monkeypatch.setattr(render, "command", lambda: [sys.executable, "-c", "import os; os.kill(os.getpid(), 11)"])
    picture = SolidPicture(ring)
    with pytest.raises(MissingPart, match=r"could not be drawn: the drawing process was killed by signal 11.*doctor"):
        picture.draw()
    assert "running" in picture.failure


def test_a_failing_drawing_process_becomes_a_sentence(ring, monkeypatch):
    monkeypatch.setattr(render, "command", lambda: [sys.executable, "-c", "raise OSError('no display of any kind')"])
    picture = SolidPicture(ring)
    with pytest.raises(MissingPart, match="no display of any kind"):
        picture.draw()


def test_figures_go_on_where_a_solid_fails(ring, monkeypatch):
    monkeypatch.setattr(render, "command", lambda: [sys.executable, "-c", "import sys; sys.exit(3)"])
    paths = report.draw(Results.load(ring.folder).folder)
    assert {p.stem.split("-")[0] for p in paths} == {"part", "slot", "paths", "edge", "ladder"}
    note = (ring.folder / "figures" / figures.NOT_DRAWN).read_text(encoding="utf-8")
    assert "ended with code 3" in note
