"""Figures for print: sizes, letters, limits, numbers, grey, read-outs, and that nothing is cut or covered."""

import csv
import json
import re

import numpy as np
import pytest
from life_studies import LIFE_PLATE, LIFE_RING, made
from matplotlib.colors import to_rgb
from matplotlib.image import imread
from words_in_place import cut_words, overlaps

from femdrum import report
from femdrum.errors import InputFault
from femdrum.report import figures, on_axes, style
from femdrum.report.figure_list import KINDS, WORDS, kind_entries, options_of
from femdrum.report.grey import grey_map, grey_of
from femdrum.report.kt_picture import KtPicture
from femdrum.report.picture import NoData
from femdrum.report.print_look import PRESETS, PrintLook, print_look
from femdrum.report.readings import MOST_POINTS, Readings
from femdrum.report.retouch import with_comma

POINT_MM = 25.4 / 72
DRAWINGS = {kind for kind, make in KINDS.items() if ".draw_" in make.__module__}  # of the model, before any solve


@pytest.fixture(scope="module")
def lives(tmp_path_factory):
    return made(LIFE_PLATE, "printed-plate", tmp_path_factory)


@pytest.fixture(scope="module")
def drum(tmp_path_factory):
    return made(LIFE_RING, "printed-ring", tmp_path_factory)


def svg_size(path):
    """Outer width and height in mm, and the view box."""
    text = path.read_text(encoding="utf-8")
    wide, high = (
        float(re.search(rf'<svg[^>]* {name}="([\d.]+)pt"', text)[1]) * POINT_MM for name in ("width", "height")
    )
    return wide, high, [float(v) for v in re.search(r'viewBox="([^"]+)"', text)[1].split()]


def font_sizes(path, words):
    """Sizes, in pt of the print, of the letters of these words."""
    text = path.read_text(encoding="utf-8")
    wide, _, box = svg_size(path)
    found = re.findall(rf'<text style="[^"]*font(?:-size)?: ?([\d.]+)px[^"]*"[^>]*>{re.escape(words)}</text>', text)
    return [float(size) * wide / (box[2] * POINT_MM) for size in found]


def page_mm(path):
    """Width and height of a PDF's page."""
    found = re.search(rb"/MediaBox \[ ?([\d.]+) ([\d.]+) ([\d.]+) ([\d.]+) ?\]", path.read_bytes())
    return [float(v) * POINT_MM for v in found.groups()[2:]]


@pytest.mark.parametrize("preset", PRESETS)
@pytest.mark.parametrize(
    "study", ["plate", "ring", *(pytest.param(s, marks=pytest.mark.slow) for s in ("lives", "drum"))]
)
def test_nothing_is_cut_and_no_words_lie_on_each_other(study, preset, request):
    results = request.getfixturevalue(study)
    seen = 0
    for kind in KINDS:
        if kind == "solid" or kind in DRAWINGS:
            continue  # drawn once below; drawings have their own tests
        try:
            picture = figures.named(results, kind)
        except NoData:
            continue
        figure = picture.draw(look=print_look(preset)).get_figure(root=True)
        assert cut_words(figure) == [], (kind, preset)
        assert overlaps(figure) == [], (kind, preset)
        seen += 1
    assert seen >= 3


def test_a_solid_for_one_column_is_whole_and_without_colour(ring, tmp_path):
    picture = figures.named(ring, "solid")
    (path,) = picture.save([tmp_path / "solid.png"], print_look("one-column", grey=True))
    assert cut_words(picture.figure) == []
    assert overlaps(picture.figure) == []
    assert picture.figure.get_figheight() > 1.5 * picture.figure.get_figwidth()  # the views above each other
    pixels = imread(path)[..., :3]
    assert np.ptp(pixels, axis=-1).max() < 2 / 255
    assert pixels.std() > 0.05


@pytest.mark.parametrize(("size", "font"), [((85, None), 8), ((120, 115), 10), ((175, None), 6), ((320, 200), 14)])
def test_sizes_and_letters_are_as_asked_in_every_format(plate, tmp_path, size, font):
    paths = [tmp_path / f"kt.{ending}" for ending in ("svg", "pdf", "png")]
    figures.named(plate, "kt").save(paths, print_look(size_mm=size, font_pt=font))
    wide, high, box = svg_size(paths[0])
    assert wide == pytest.approx(size[0], abs=0.1)
    assert high == pytest.approx(size[1] or high, abs=0.1)
    assert box[3] / box[2] == pytest.approx(high / wide, rel=1e-4)
    assert page_mm(paths[1]) == pytest.approx([wide, high], abs=0.1)
    dots = imread(paths[2]).shape
    assert dots[1] == pytest.approx(wide / 25.4 * style.DPI, abs=2)
    assert dots[0] == pytest.approx(high / 25.4 * style.DPI, abs=2)
    assert font_sizes(paths[0], "corner radius (mm)") == pytest.approx([font], rel=1e-3)


def test_a_magnified_pdf_is_the_same_drawing(plate, tmp_path):
    import zlib

    def content(path):
        streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", path.read_bytes(), re.DOTALL)
        plain = []
        for stream in streams:
            try:
                plain.append(zlib.decompress(stream))
            except zlib.error:
                continue
        return max(plain, key=lambda s: s.count(b" l\n"))

    picture = figures.named(plate, "ladder")
    picture.save([tmp_path / "a.pdf"], print_look(size_mm=(100, 80)))
    picture.save([tmp_path / "b.pdf"], print_look(size_mm=(200, 160), font_pt=16))
    a, b = content(tmp_path / "a.pdf"), content(tmp_path / "b.pdf")
    assert b.count(b"\n2 0 0 2 0 0 cm\n") == 1
    assert b.split(b"0 0 m\n", 1)[1] == a.split(b"0 0 m\n", 1)[1]
    assert page_mm(tmp_path / "b.pdf") == pytest.approx([200, 160], abs=0.1)


def test_the_same_figure_twice_is_the_same_file(plate, tmp_path):
    files = []
    for folder in (tmp_path / "a", tmp_path / "b"):
        folder.mkdir()
        paths = [folder / f"field.{ending}" for ending in ("svg", "pdf", "png")]
        figures.named(plate, "field").save(paths, print_look("slide", grey=True, decimal_comma=True))
        files.append([p.read_bytes() for p in paths])
    assert files[0] == files[1]


def test_limits_and_number_formats_hold_for_the_main_axes(plate, drum, tmp_path):
    ax = KtPicture(plate).draw(look=print_look(x_limits=(5, 25), y_limits=(0, 4), number_format="x=.1f,y=.2f"))
    assert ax.get_xlim() == (5, 25)
    assert ax.get_ylim() == (0, 4)
    ax.figure.canvas.draw()
    assert all(re.fullmatch(r"\d+\.\d", t.get_text()) for t in ax.get_xticklabels())
    assert all(re.fullmatch(r"\d+\.\d\d", t.get_text()) for t in ax.get_yticklabels())
    assert cut_words(ax.figure) == []  # words of points that left the plot left too
    curve = figures.named(drum, "sn").draw(look=print_look(y_limits=(20, 500))).child_axes[0]
    assert curve.get_ylim() == (20, 500)
    with pytest.raises(InputFault, match="logarithmic"):
        figures.named(drum, "sn").draw(look=print_look(x_limits=(0, 500)))
    with pytest.raises(InputFault, match="no scale"):
        figures.named(drum, "units").draw(look=print_look(x_limits=(0, 500)))


def test_numbers_with_a_decimal_comma():
    assert with_comma("66.7 \u00b1 0.6 MPa") == "66,7 \u00b1 0,6 MPa"
    assert with_comma("1,234,567 unknowns, order 3, 0.5 %") == "1\u202f234\u202f567 unknowns, order 3, 0,5 %"
    assert with_comma("12,500.75 h") == "12\u202f500,75 h"
    assert with_comma("life 4.5 million h, depth 15 mm") == "life 4,5 million h, depth 15 mm"
    # names keep their points, and a comma that parts words stays
    for text in (
        "Peterson chart 4.62, page 1.2",
        "ISO 21940-11",
        "table 17.1",
        "1, 2 and 3",
        "C. E. Inglis, 1913",
        "v1.2.3",
    ):
        assert with_comma(text) == text


def test_a_decimal_comma_reaches_ticks_legends_and_words_but_not_the_data(plate, tmp_path):
    svg, data = figures.named(plate, "ladder").save(
        [tmp_path / "l.svg", tmp_path / "l.csv"], print_look(decimal_comma=True)
    )
    words = re.findall(r"<text[^>]*>([^<]*)</text>", svg.read_text(encoding="utf-8"))
    assert not [w for w in words if re.search(r"\d\.\d", w)]
    assert any(re.search(r"\d,\d", w) for w in words)
    plain = figures.named(plate, "ladder").save([tmp_path / "p.csv"])[0]
    assert data.read_bytes() == plain.read_bytes()


def test_grey_adds_no_frames(plate):
    from matplotlib.text import Text

    def frames(grey):
        figure = figures.named(plate, "edge").draw(look=print_look(grey=grey)).get_figure(root=True)
        boxes = [t.get_bbox_patch() for t in figure.findobj(Text) if t.get_bbox_patch() is not None]
        return [box.get_edgecolor()[3] for box in boxes]

    assert frames(True) == frames(False)
    assert set(frames(True)) == {0.0}


@pytest.mark.parametrize("kind", ["kt", "edge", "field", "shares", "perimeter", "haigh", "sensitivity"])
def test_grey_has_no_colour_left(kind, plate, drum, tmp_path):
    results = plate if kind in ("kt", "field") else drum
    (path,) = figures.named(results, kind).save([tmp_path / "grey.svg"], print_look(grey=True))
    text = path.read_text(encoding="utf-8")
    colours = set(re.findall(r"#[0-9a-fA-F]{6}\b", text))
    assert colours
    for colour in colours:
        assert np.ptp(to_rgb(colour)) < 0.012, colour
    (png,) = figures.named(results, kind).save([tmp_path / "grey.png"], print_look(grey=True))
    assert np.ptp(imread(png)[..., :3], axis=-1).max() < 2 / 255


def test_a_signed_field_in_grey_tells_tension_from_compression(plate):
    ramp = grey_map(style.signed_map())(np.linspace(0, 1, 65))[:, 0]
    assert np.all(np.diff(ramp) > 0)
    with style.looks(grey=True):
        colours, norm = style.scale_for(-100.0, 100.0)
    assert colours(norm(-100.0))[0] < 0.2 < 0.9 < colours(norm(100.0))[0]
    colours, _ = style.scale_for(-100.0, 100.0)
    assert colours.name == "femdrum_signed"  # the look of other figures is left alone


def contrast(shade):
    linear = ((shade + 0.055) / 1.055) ** 2.4 if shade > 0.04045 else shade / 12.92
    return 1.05 / (linear + 0.05)


def test_lines_in_grey_stand_out_from_paper_and_from_each_other():
    shades = [grey_of(look.colour)[0] for look in style.LOOKS]
    assert min(contrast(s) for s in shades) > 3.0
    light = np.array([116 * np.cbrt(((s + 0.055) / 1.055) ** 2.4 if s > 0.04045 else s / 12.92) - 16 for s in shades])
    gaps = np.abs(light[:, None] - light[None]) + 100 * np.eye(len(light))
    assert gaps[:4, :4].min() > 14  # the four that are used most
    assert gaps.min() > 6


def test_the_grey_of_any_other_colour_is_that_of_its_luminance():
    for colour in ("#22303c", "#e9e6df", "red", (0.2, 0.4, 0.6, 0.5)):
        r, g, b, a = grey_of(colour)
        assert r == g == b
        assert contrast(r) == pytest.approx(1.05 / (0.05 + luminance(colour)), rel=1e-6)
        assert a == (0.5 if isinstance(colour, tuple) else 1.0)


def luminance(colour):
    v = np.array(to_rgb(colour))
    return float(np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722])


def points_of(folder, name):
    return json.loads((folder / f"{name}.points.json").read_text(encoding="utf-8"))


def test_points_stand_on_the_marks_of_the_svg_and_say_the_stored_values(plate, tmp_path):
    picture = KtPicture(plate, "pull")
    _, svg, _ = picture.write(tmp_path)
    told = points_of(tmp_path, "kt-pull")
    _, _, box = svg_size(svg)
    assert [told["width"], told["height"]] == pytest.approx(box[2:], abs=0.01)
    marks = np.array(
        [
            [float(v) for v in m]
            for m in re.findall(r'<use [^>]*x="([\d.]+)" y="([\d.]+)"', svg.read_text(encoding="utf-8"))
        ]
    )
    for variant in plate.variants:
        kt = variant.answer("pull").kt_gross
        mine = [
            p for p in told["points"] if f"Kt gross {kt.value:.2f}"[:12] in p["text"] and "corner radius" in p["text"]
        ]
        assert mine
        assert min(np.hypot(*(marks - [mine[0]["x"], mine[0]["y"]]).T)) < 0.02
    assert any("exact plane solution" in p["text"] for p in told["points"])
    assert 10 < len(told["points"]) <= MOST_POINTS


@pytest.mark.parametrize(
    "kind", [k for k in KINDS if k not in {"solid", "field", "map", "life", "difference", *DRAWINGS}]
)
def test_every_chart_can_be_read_by_pointing(kind, drum, tmp_path):
    picture = figures.named(drum, kind)
    picture.write(tmp_path)
    told = points_of(tmp_path, picture.name)
    assert 0 < len(told["points"]) <= MOST_POINTS
    for point in told["points"]:
        assert 0 <= point["x"] <= told["width"]
        assert 0 <= point["y"] <= told["height"]
        assert re.search(r"\d", point["text"])
        assert "\n" not in point["text"]


def test_points_of_plates_and_lives(plate, lives, tmp_path):
    for results, kind, words in (
        (plate, "difference", "from exact"),
        (plate, "field", "MPa"),
        (lives, "life", "outlive"),
    ):
        picture = figures.named(results, kind)
        picture.write(tmp_path)
        assert all(words in p["text"] or "P" in p["text"] for p in points_of(tmp_path, picture.name)["points"])


def test_an_edge_s_points_follow_its_line(plate, tmp_path):
    picture = figures.named(plate, "edge", variant=1, case="pull")
    _, _, data = picture.write(tmp_path)
    rows = list(csv.DictReader(data.read_text(encoding="utf-8").splitlines()))
    stress = {f"{float(r['s_mm']):.1f}": float(r["along_MPa"]) for r in rows}
    found = [
        re.fullmatch(r"s ([\d.]+) mm: (\u2212?[\d.]+) MPa", p["text"])
        for p in points_of(tmp_path, picture.name)["points"]
    ]
    found = [m for m in found if m]
    assert len(found) > 100
    for m in found:
        assert float(m[2].replace("\u2212", "-")) == pytest.approx(
            stress[m[1]], abs=5e-4 * max(map(abs, stress.values()))
        )


def test_readings_are_thinned_evenly_and_marks_are_kept():
    _, ax = style.canvas(100, 80)
    ax.set_xlim(0, 1)
    ax.set_ylim(0, 1)
    readings = Readings()
    x = np.linspace(0, 1, 3000)
    readings.note(ax, x, x, [f"{v}" for v in x], few=False)
    readings.note(ax, [0.5, 2.0, np.nan], [0.5, 0.5, 0.5], ["mark", "outside", "no number"])
    placed = readings.placed(ax.figure)
    assert len(placed) <= MOST_POINTS
    assert [p.text for p in placed].count("mark") == 1
    assert not {"outside", "no number"} & {p.text for p in placed}
    steps = np.diff([p.x for p in placed if p.text != "mark"])
    assert steps.max() < 1.3 * np.median(steps)
    with pytest.raises(ValueError, match="texts for"):
        readings.note(ax, [0.1, 0.2], [0.1, 0.2], ["one"])


@pytest.mark.parametrize("study", ["plate", pytest.param("lives", marks=pytest.mark.slow)])
def test_every_figure_of_the_report_is_made_again_alike(study, request, tmp_path):
    from femdrum.cli import main

    results = request.getfixturevalue(study)
    report.write(results.folder)
    for name in report.list_figures(results.folder):
        assert main(["figure", str(results.folder), name, "--out", str(tmp_path / f"{name}.svg")]) == 0
        for ending in ("svg", "csv"):
            again, first = tmp_path / f"{name}.{ending}", results.folder / "figures" / f"{name}.{ending}"
            assert again.read_bytes() == first.read_bytes(), name


def test_every_kind_draws_on_given_axes(plate, lives, drum):
    functions = {
        "kt": on_axes.kt_over_axis, "difference": on_axes.kt_difference, "edge": on_axes.edge_stress, "field": on_axes.field,
        "ladder": on_axes.ladder, "shares": on_axes.shares, "units": on_axes.units, "perimeter": on_axes.perimeter,
        "life": on_axes.life, "sn": on_axes.sn, "haigh": on_axes.haigh, "damage": on_axes.damage, "crack": on_axes.crack,
        "sensitivity": on_axes.sensitivity, "solid": on_axes.solid, "map": on_axes.drum_map,
    }  # fmt: skip
    assert set(functions) == set(KINDS) - DRAWINGS
    assert set(WORDS) == set(KINDS)
    for kind, function in functions.items():
        if kind in ("solid", "map"):
            continue  # needs a child process; needs a drum
        results = (
            plate if kind in ("kt", "difference", "edge", "field", "ladder") else lives if kind == "life" else drum
        )
        _, ax = style.canvas(165, 120)
        assert function(results, ax=ax) is ax
        assert ax.get_children()
        assert getattr(report, function.__name__) is function


def test_shaded_pictures_are_small_pngs_without_bands(plate, tmp_path):
    from PIL import Image

    picture = figures.named(plate, "field")
    (small,) = picture.save([tmp_path / "small.png"])
    style.save(picture.figure, tmp_path / "whole.png")
    with Image.open(small) as one, Image.open(tmp_path / "whole.png") as two:
        assert one.mode == "P"
        a, b = (np.asarray(i.convert("RGB")).astype(int) for i in (one, two))
    assert small.stat().st_size < 0.5 * (tmp_path / "whole.png").stat().st_size
    off = np.abs(a - b)
    assert off.mean() < 0.6
    assert np.quantile(off, 0.999) <= 10
    assert (a[(b == 255).all(-1)] == 255).all()


def test_bad_looks_are_told_all_at_once():
    with pytest.raises(InputFault) as told:
        print_look(
            "two-colum", size_mm=(5, 2000), font_pt=100, x_limits=(3, 3), y_limits=(0, float("nan")), number_format="%d"
        )
    fields = [f.field for f in told.value.faults]
    assert fields == ["preset", "width_mm", "height_mm", "font_pt", "x_limits", "y_limits", "number_format"]
    assert "did you mean 'two-column'" in str(told.value)
    assert "from 30 to 1000 mm" in str(told.value)
    with pytest.raises(InputFault, match=r"at least 120 mm.*at most 6\.7 pt"):
        print_look(size_mm=(67, None), font_pt=12)
    with pytest.raises(InputFault, match="font_pt"):
        print_look(font_pt=True)
    for good in (".2f", ",.0f", ".3g", ".1e", "d", "x=.0f", "y=.2f", "x=,d,y=.2f"):
        assert print_look(number_format=good) != PrintLook()


def test_a_height_that_will_not_do_is_refused_with_the_least(plate):
    with pytest.raises(InputFault, match=r"height_mm = 40.*at least (\d+) mm at 165 mm width and 8 pt"):
        KtPicture(plate).draw(look=print_look(size_mm=(None, 40)))


def test_unknown_names_tell_what_is_known(plate):
    for name, options, words in (
        ("kt-pul", {}, r"did you mean 'kt-pull'"), ("edge", {"variant": 9}, "0 to 2"), ("edge", {"variant": "corner radius 9 mm"}, "corner radius 8 mm"),
        ("edge", {"case": "pul"}, "did you mean 'pull'"), ("edge", {"component": "alng"}, "did you mean 'along'"),
        ("field", {"quantity": "mises"}, "von_mises"), ("kt", {"axis": "wall_mm"}, "corner_radius_mm"), ("ladder", {"quantity": "x"}, "it has: case, variant"),
        ("kt-pull", {"case": "pull"}, "takes no option"),
    ):  # fmt: skip
        with pytest.raises(InputFault, match=words):
            report.draw(plate, name, **options)
    with pytest.raises(InputFault, match="must end in"):
        report.draw(plate, "kt", "figure.gif")
    with pytest.raises(InputFault, match="no folder"):
        report.draw(plate, "kt", "nowhere/at/all.svg")


def test_variants_are_found_by_number_key_and_name(plate):
    wanted = plate.variants[2]
    for which in (2, "2", -1, wanted.key, wanted.label, "corner radius full", wanted):
        assert figures.named(plate, "edge", variant=which).variant is wanted


def test_the_list_tells_figures_kinds_and_options(plate, drum):
    told = report.describe(plate.folder)
    assert [f["name"] for f in told["figures"]] == report.list_figures(plate.folder)
    kinds = {k["kind"]: k["options"] for k in told["kinds"]}
    assert set(kinds) - DRAWINGS == {"kt", "difference", "edge", "field", "ladder", "units"}
    assert kinds["edge"]["case"] == ["pull", "turn"]
    assert kinds["edge"]["variant"][2] == "corner radius full"
    for kind, options in kinds.items():
        assert tuple(options) == options_of(kind)
        for option, values in options.items():
            figures.named(plate, kind, **{option: values[-1]})  # each value is taken
    assert {e.kind for e in kind_entries(drum)} >= {
        "shares",
        "perimeter",
        "sn",
        "haigh",
        "damage",
        "crack",
        "sensitivity",
        "units",
    }
    assert all(len(f["caption"]) > 10 for f in report.describe(drum)["figures"])


def test_another_look_goes_beside_the_report_s_figures(plate):
    paths = report.draw(plate, "ladder", preset="one-column", grey=True)
    assert [p.suffix for p in paths] == [".svg", ".pdf", ".png", ".csv"]
    assert {p.parent.name for p in paths} == {"print"}
