"""Drawings of the model: true to scale, on the right side, with the right numbers, nothing cut and nothing written over."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.figure import Figure
from test_figures import check_picture

from femdrum.errors import InputFault
from femdrum.model.cutout import Circle, Ellipse, Obround, Slot
from femdrum.model.drum import slots
from femdrum.report import draw_model
from femdrum.report.draw_acting import acting, number
from femdrum.report.draw_base import Shell, around_deg, outline, ring_angles_deg
from femdrum.report.draw_drum import DrumDrawing
from femdrum.report.draw_end import EndDrawing
from femdrum.report.draw_faulty import faulty_drawings
from femdrum.report.draw_loads import LoadDrawing
from femdrum.report.draw_mesh import MeshDrawing
from femdrum.report.draw_model import drawings, load_drawing, model_pictures, part_drawing
from femdrum.report.draw_plate import PlateDrawing, PlateLoads
from femdrum.report.draw_ring import RingDrawing
from femdrum.report.draw_scene import drawn_of_results, drawn_of_study, range_words
from femdrum.report.draw_sheet import View, round_length, text_mm, wrapped_mm
from femdrum.report.draw_slot import SlotDrawing
from femdrum.report.picture import NoData
from femdrum.report.print_look import PrintLook
from femdrum.study import StoredVariant, read_study, study_from_text
from femdrum.study.drum_sheet import read_drum_sheet

ROOT = Path(__file__).parents[2]
STUDIES = ("corner_radius", "drum_conditions", "drum_map", "life", "plate_with_hole", "slot_shapes")

RING = """
title = "odd"
[part]
kind = "ring"
outer_diameter_mm = 640
wall_mm = {wall}
pitch_mm = {pitch}
slots_around = {slots}
{rows}
edge_break_mm = {chamfer}
[part.cutout]
{cutout}
[material]
grade = "S355"
{loads}
"""
LOADS = """
[[load]]
name = "run"
kind = "rotation"
speed_rpm = 900
hung_mass_kg = 1.5
hung_radius_mm = 390
[[load]]
name = "twist"
kind = "torsion"
torque_Nm = -3000
[[load]]
name = "push"
kind = "flank_pressure"
slot = 1
flank = "trailing"
pressure_MPa = 20
linear_MPa = 8
[[load]]
name = "rub"
kind = "flank_shear"
slot = "all"
flank = "free_end"
direction = "edge"
shear_MPa = 5
[[load]]
name = "gas"
kind = "internal_pressure"
pressure_MPa = 1.2
[[load]]
name = "pull"
kind = "axial"
force_kN = -300
"""
PLAIN = LOADS.partition('[[load]]\nname = "push"')[0] + LOADS[LOADS.index('[[load]]\nname = "gas"') :]
TIP = """
[machine]
tip_diameter_mm = 900
[[load]]
name = "hit"
kind = "tip_force"
force_kN = {force}
walls = "{walls}"
slot = {slot}
overhang_mm = {height}
[[load]]
name = "clamp"
kind = "wedge_clamp"
force_kN = 120
[[load]]
name = "bend"
kind = "bending"
moment_Nm = 20_000
direction_deg = 40
[[load]]
name = "across"
kind = "transverse"
force_kN = 50
rotating = true
[[condition]]
name = "both"
loads = {{ hit = 2.0, clamp = 0.5, bend = -1.0, across = 1.0 }}
"""
SLOT = 'shape = "slot"\naround_mm = {}\naxial_mm = {}\ncorner_radius_mm = {}'


def ring(*, wall=40, pitch=200, slots=4, rows='rows = "aligned"', chamfer=0, cutout=None, loads=LOADS):
    cutout = cutout or SLOT.format(60, 120, 8)
    return study_from_text(
        RING.format(wall=wall, pitch=pitch, slots=slots, rows=rows, chamfer=chamfer, cutout=cutout, loads=loads)
    )


def tip(force=60, walls="two", slot=0, height=120, **more):
    return ring(loads=TIP.format(force=force, walls=walls, slot=slot, height=height), **more)


ODD = {
    "helical": lambda: ring(wall=[12, 15], slots=12, rows='rows = "helical"\nrow_angle_deg = 11.25', chamfer=2, cutout=SLOT.format(24, 150, '[5, 8, "full"]'), loads=PLAIN),
    "thin wall, sharp": lambda: ring(wall=4, pitch=900, slots=2, cutout=SLOT.format(100, 20, "[0, 0.5]")),
    "many circles": lambda: ring(slots=24, pitch=80, rows='rows = "alternate"', cutout='shape = "circle"\ndiameter_mm = [20, 40]', loads=PLAIN),
    "thick wall, three obrounds": lambda: ring(wall=70, slots=3, rows='rows = "alternate"', cutout='shape = "obround"\naround_mm = 20\naxial_mm = 90', loads=PLAIN),
    "hit": lambda: tip(slot=1),
}  # fmt: skip


def area(points):
    x, y = np.asarray(points).T
    return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))))


def all_words(picture):
    return "\n".join(t.get_text() for t in picture.draw().texts)


# shapes


@pytest.mark.parametrize("slots_around", [1, 2, 3, 12])
@pytest.mark.parametrize("chamfer", [0.0, 3.0])
def test_the_cut_wall_has_the_area_of_the_ring_less_its_slots(slots_around, chamfer):
    cutout = Slot(around_mm=40, axial_mm=90, corner_radius_mm=8)
    ring_like = SimpleNamespace(outer_diameter_mm=500, wall_mm=40, pitch_mm=200, slots_around=slots_around, rows="aligned",
                                row_angle_deg=None, edge_break_mm=chamfer, cutout=cutout)  # fmt: skip
    shell = Shell(ring_like)
    pieces = shell.wall_pieces()
    assert len(pieces) == slots_around
    t, w = np.polynomial.legendre.leggauss(40)
    t, w = 20 * t, 20 * w
    strip = float(w @ (np.sqrt(250**2 - t**2) - np.sqrt(210**2 - t**2)))
    corners = 4 * 0.5 * chamfer**2  # two at either rim of either flank
    whole = math.pi * (250**2 - 210**2) - slots_around * (strip + corners)
    assert sum(area(p) for p in pieces) == pytest.approx(whole, rel=2e-3)


@pytest.mark.parametrize(
    "cutout",
    [Slot(around_mm=60, axial_mm=110, corner_radius_mm=12), Slot(around_mm=60, axial_mm=20, corner_radius_mm=0.0),
     Obround(around_mm=40, axial_mm=90), Circle(diameter_mm=50), Ellipse(around_mm=40, axial_mm=80)],
)  # fmt: skip
def test_an_outline_and_its_edge_break_have_the_areas_they_must(cutout):
    shape = outline(cutout, points=400)
    assert area(shape) == pytest.approx(cutout.area_mm2, rel=1e-4)
    around = float(np.hypot(*(np.roll(shape, -1, 0) - shape).T).sum())
    # the parallel of a convex outline: A + L c + pi c^2, less what a sharp corner keeps sharp
    corner = (4 - math.pi) * 4 if getattr(cutout, "sharp", False) else 0.0
    expected = cutout.area_mm2 + 2 * around + 4 * math.pi
    assert area(outline(cutout, 2.0, points=400)) == pytest.approx(expected + corner, rel=6e-3)


def test_directions_slot_0_down_and_clockwise_seen_from_the_drive_end():
    assert around_deg(2.0, 0.0) == pytest.approx([0.0, -2.0])
    assert around_deg(2.0, 90.0) == pytest.approx([-2.0, 0.0])  # from the bottom to the left: clockwise
    shell = Shell(ring(slots=4).variants[0].part)
    lead = ring_angles_deg(shell.flank(1.0))
    assert lead[:, 0] == pytest.approx(-30.0)  # the leading flank of slot 0 is ahead
    assert (lead[:, 1] < 0).all()


def test_alternate_rows_turn_there_and_back_helical_ones_on():
    alternate = Shell(ring(rows='rows = "alternate"').variants[0].part)
    assert [alternate.slot_deg(0, row) for row in (-2, -1, 0, 1, 2)] == [0, 45, 0, 45, 0]
    helical = Shell(ring(rows='rows = "helical"\nrow_angle_deg = -10').variants[0].part)
    assert [helical.slot_deg(1, row) for row in (-1, 0, 1)] == [100, 90, 80]


def test_both_views_and_the_scale_bar_are_true_to_scale():
    picture = RingDrawing(drawn_of_study(read_study(ROOT / "studies" / "corner_radius.toml"), 1))
    ax = picture.draw()
    lines = [np.asarray(line.get_xydata()) for line in ax.lines]
    outer = max((p for p in lines if len(p) > 100 and np.ptp(p[:, 1]) > 20), key=lambda p: np.ptp(p[:, 1]))
    # half of the ring is one piece: as high as the diameter less what the slots of 60 mm take
    assert np.ptp(outer[:, 1]) == pytest.approx(2 * math.sqrt(380**2 - 30**2) * picture.scale, rel=1e-3)
    sides = [p for p in lines if len(p) == 2 and p[0, 0] == p[1, 0] and np.ptp(p[:, 1]) > 50]
    assert np.ptp([p[0, 0] for p in sides if p[0, 0] > 80]) == pytest.approx(760 * picture.along, rel=1e-3)
    assert picture.along == picture.scale
    bars = {t.get_text() for t in ax.texts} & {"100 mm", "200 mm", "500 mm"}
    long = float(bars.pop().split()[0]) * picture.scale
    assert any(len(p) == 2 and p[0, 1] == p[1, 1] and np.ptp(p[:, 0]) == pytest.approx(long) for p in lines)


def test_a_long_pitch_gets_a_scale_of_its_own_and_says_so():
    picture = RingDrawing(drawn_of_study(ODD["thin wall, sharp"]()))
    assert picture.along < picture.scale
    assert "scale of its own" in picture.caption
    assert sum(t.get_text().endswith(" mm") for t in picture.draw().texts) == 2  # two scale bars


# words


def test_ring_and_slot_say_their_sizes_and_what_varies():
    study = read_study(ROOT / "studies" / "corner_radius.toml")
    words = all_words(RingDrawing(drawn_of_study(study, 1)))
    for wanted in ("Ø 760", "Ø 680", "wall 40", "180", "slot 0", "slot 1", "row +1, +90°", "sense of rotation (+x)", "drive end", "free end", "turns", "200 mm"):  # fmt: skip
        assert wanted in words, wanted
    slot = SlotDrawing(drawn_of_study(study, 1), tuple(v.part.cutout for v in study.variants))
    words = all_words(slot)
    for wanted in ("R 8 (4 to 20, full)", "120", "60", "leading", "trailing", "drive end", "free end", "x_mm", "y_mm", "depth_mm", "wall 40", "edge break 0"):  # fmt: skip
        assert wanted in words, wanted
    assert len(slot.others) == 4
    assert "corner radius 8 mm" in slot.caption.lower()
    broken = all_words(SlotDrawing(drawn_of_study(ODD["helical"]())))
    assert "Edge break 2 x 45° at both rims." in broken
    assert "2 x 45°" in broken
    assert "wall 12 (12 to 15)" in broken
    assert "unbounded" in all_words(SlotDrawing(drawn_of_study(ODD["thin wall, sharp"]())))


def test_ranges_in_words():
    assert range_words((4, 8, 20, "full")) == "4 to 20, full"
    assert range_words(("full",)) == "full"
    assert range_words((3.5,)) == "3.5"
    assert [number(v) for v in (1234.0, -0.5, 0.0, 47.23, 1e-3)] == ["1,234", "\u22120.5", "0", "47.2", "0.001"]


def test_plates_say_their_sizes_and_loads():
    study = read_study(ROOT / "studies" / "plate_with_hole.toml")
    words = all_words(PlateDrawing(drawn_of_study(study, 2)))
    for wanted in ("Ø 40", "1600", "100\n(60 to 800)", "10 mm thick", "Shortened where wavy lines stand"):
        assert wanted in words, wanted
    shapes = PlateLoads(drawn_of_study(read_study(ROOT / "studies" / "slot_shapes.toml")))
    words = " ".join(all_words(shapes).split())
    assert "along x: 100 MPa along x" in words
    assert "sheared: 100 MPa shear" in words
    assert shapes.table()[1] == [
        ("along x", 100.0, 0.0, 0.0),
        ("along y", 0.0, 100.0, 0.0),
        ("sheared", 0.0, 0.0, 100.0),
    ]


def test_a_row_of_cutouts_is_drawn_with_its_neighbours_and_conditions_add():
    text = """
title = "row"
[part]
kind = "plate_row"
pitch_mm = [90, 120]
width_mm = 300
thickness_mm = 10
[part.cutout]
shape = "ellipse"
size_x_mm = 40
size_y_mm = 80
[material]
grade = "S355"
[[load]]
name = "two ways"
kind = "biaxial"
stress_x_MPa = 100
stress_y_MPa = -40
[[load]]
name = "turned"
kind = "shear"
shear_MPa = 30
[[condition]]
name = "both"
loads = { "two ways" = 0.5, turned = -2.0 }
"""
    drawn = drawn_of_study(study_from_text(text))
    picture = PlateDrawing(drawn)
    shapes = [p for p in picture.draw().patches if getattr(p, "get_xy", None) is not None and len(p.get_xy()) > 60]
    assert len(shapes) == 3
    middles = sorted(float(np.mean(p.get_xy()[:-1, 0])) for p in shapes)
    assert np.diff(middles) == pytest.approx([90 * picture.frame.scale] * 2, rel=1e-3)
    assert "pitch 90 (90 to 120)" in all_words(picture)
    assert PlateLoads(drawn).table()[1] == [("both", 50.0, -20.0, -60.0)]


# loads


@pytest.mark.parametrize("walls", ["two", "near"])
@pytest.mark.parametrize("slot", [0, 3])
@pytest.mark.parametrize("force", [60.0, -25.0])
def test_the_force_drawn_at_a_tip_is_in_balance_with_the_flanks(walls, slot, force):
    drawn = drawn_of_study(tip(force=force, walls=walls, slot=slot, height=110))
    items = {i.name: i for i in acting(drawn, "both")}
    hit = items["hit"]
    assert hit.tip.slot == slot
    assert hit.tip.force_N == pytest.approx(2 * 1e3 * force, rel=1e-9)
    assert hit.tip.height_mm == 110
    struck = {p.slot for p, _ in hit.patches}
    assert struck == ({slot, (slot + 2) % 4} if walls == "two" else {slot})
    picture = LoadDrawing(drawn, "both")
    assert (
        f"{number(abs(2 * force))} kN {'against' if force > 0 else 'with'} the rotation at the tip of slot {slot}"
        in " ".join(all_words(picture).split())
    )


def test_an_arrow_at_a_tip_points_against_the_rotation():
    """At slot 0, below, the drum moves to the left: what holds it back points to the right."""
    for force, sign in ((60.0, 1.0), (-60.0, -1.0)):
        picture = LoadDrawing(drawn_of_study(tip(force=force)), "both")
        arrows = [
            p
            for p in picture.draw().patches
            if type(p).__name__ == "FancyArrowPatch" and p.get_linewidth() == pytest.approx(1.6)
        ]
        assert len(arrows) == 1
        (x0, y0), (x1, y1) = arrows[0]._posA_posB
        assert y0 == pytest.approx(y1)
        assert np.sign(x1 - x0) == sign


def test_shares_speeds_vectors_and_words():
    items = {i.name: i for i in acting(drawn_of_study(tip()), "both")}
    assert items["clamp"].clamp_N == pytest.approx(60e3)
    assert items["bend"].bending == pytest.approx((20e6, 220.0))
    assert items["across"].transverse == pytest.approx((50e3, 0.0))
    assert items["across"].turns
    assert not items["bend"].turns
    assert [i.letter for i in items.values()] == ["A", "B", "C", "D"]
    words = " ".join(all_words(LoadDrawing(drawn_of_study(tip()), "both")).split())
    for wanted in ("clamp (wedges), 0.5 times: 60 kN on leading and trailing flank of every slot", "moment 20 kN·m, tension side at 220°",
                   "transverse force 50 kN to 0°, stands in space", "slot 0 points straight down"):  # fmt: skip
        assert wanted in words, wanted


def test_single_loads_of_a_ring():
    drawn = drawn_of_study(ring())
    assert drawn.cases == ("run", "twist", "push", "rub", "gas", "pull")
    (run,) = acting(drawn, "run")
    assert run.speed_rpm == pytest.approx(900)
    omega = 900 * math.pi / 30
    assert run.outward == ((None, pytest.approx(1.5 * 0.390 * omega**2)),)
    assert acting(drawn, "twist")[0].torsion_Nmm == -3e6
    assert acting(drawn, "pull")[0].axial_MPa == pytest.approx(-300e3 / (math.pi * (320**2 - 280**2)))
    assert "20 MPa with 8 to \u22128 MPa from outer rim to bore on the trailing flank of slot 1" in " ".join(
        acting(drawn, "push")[0].said
    )
    assert "1.2 MPa on the bore" in acting(drawn, "gas")[0].said
    with pytest.raises(KeyError):
        acting(drawn, "nothing")


def test_a_through_bar_is_drawn_to_scale_with_its_pull():
    drawn = drawn_of_study(read_study(ROOT / "studies" / "drum_conditions.toml"))
    picture = LoadDrawing(drawn, "running")
    bar = drawn.machine.bar
    boxes = [np.asarray(line.get_xydata()) for line in picture.draw().lines if len(line.get_xydata()) == 5]
    sizes = {tuple(np.round(np.ptp(b, axis=0), 6)) for b in boxes}
    scale = 50.0 / 1000.0
    assert (round(bar.depth_mm * scale, 6), round(bar.length_mm * scale, 6)) in sizes
    words = " ".join(all_words(picture).split())
    assert "bar as a strut between slots 0 and 1" in words
    assert "drive (torque of the drive): torque \u22125.25 kN·m" in words
    header, rows = picture.table()
    drive = dict(zip(header, next(r for r in rows if r[1] == "drive"), strict=True))
    assert drive["torque_Nmm"] == pytest.approx(-550e6 / (1000 * math.pi / 30), rel=1e-9)


# mesh, drum's end, drum


@pytest.mark.parametrize("study", ["corner_radius", "slot_shapes"])
def test_cells_fill_the_quarter_cell(study):
    part = read_study(ROOT / "studies" / f"{study}.toml").variants[1].part
    picture = MeshDrawing(drawn_of_study(read_study(ROOT / "studies" / f"{study}.toml"), 1))
    total = 0.0
    for cell in picture.cell.cells:
        ring_of = [cell[0], cell[:, -1], cell[-1, ::-1], cell[::-1, 0]]
        from femdrum.report.draw_mesh import _smooth

        total += area(np.concatenate([_smooth(np.stack([picture.x[s], picture.y[s]], -1), 33)[:-1] for s in ring_of]))
    half_x = part.half_x_mm if part.kind == "plate" else math.pi / part.slots_around * part.mid_radius_mm
    half_y = part.half_y_mm if part.kind == "plate" else 0.5 * part.pitch_mm
    assert total == pytest.approx(half_x * half_y - 0.25 * part.cutout.area_mm2, rel=1e-4)
    assert len(picture.edges()) < 4 * len(picture.cell.cells)


def test_the_drums_end_has_the_area_and_words_of_its_sizes():
    study = read_study(ROOT / "studies" / "life.toml")
    end = study.life.end.end
    picture = EndDrawing(end)
    f = end.fillet_radius_mm
    disc = end.disc_thickness_mm * end.shell_inner_radius_mm
    stub = end.stub_length_mm * end.stub_radius_mm + (1 - math.pi / 4) * f**2
    shell = (end.recess_mm + end.disc_thickness_mm + end.modelled_shell_mm) * end.shell_wall_mm
    welds = 0.5 * (end.inside_leg_mm**2 + end.outside_leg_mm**2)
    assert area(picture.body()) == pytest.approx(disc + stub + shell + welds, rel=1e-4)
    words = all_words(picture)
    for wanted in ("Ø 180", "Ø 680", "Ø 760", "R 16", "fillet weld, leg 14", "260", "60", "30", "wall 40", "axis"):
        assert wanted in words, wanted


def test_the_drum_turns_downwards_in_the_length_view():
    drum = read_drum_sheet(ROOT / "studies" / "drum_whole.toml").drum
    picture = DrumDrawing(drum)
    ax = picture.draw()
    words = all_words(picture)
    for wanted in (
        "shell 1980",
        "9 x 180 = 1620",
        "Ø 780",
        "tips Ø 992",
        "between bearings 2375",
        "drive end",
        "free end",
        "turns",
    ):
        assert wanted in words, wanted
    seen = {int(t.get_text()) for t in ax.texts if t.get_text().isdigit()} - {180}
    assert seen == {s.number + 1 for s in slots(drum) if s.angle_deg == 0.0}
    other = DrumDrawing(replace(drum, row_angle_deg=30.0, may_stay_open=True, hammer=None, slot_parts=()))
    places = {t.get_text(): t.get_position()[1] for t in other.draw().texts if t.get_text().isdigit()}
    assert places["3"] < places["1"]  # 30 degrees on in the sense of rotation: lower


# all of them


@pytest.mark.parametrize("name", STUDIES)
def test_all_drawings_of_the_examples_are_whole(name, tmp_path):
    several = name in ("drum_map", "life")  # their load paths are as those of drum_conditions
    for picture in drawings(read_study(ROOT / "studies" / f"{name}.toml")):
        if several and picture.name.startswith(("paths", "mesh", "slot")):
            continue
        png, data = picture.save([tmp_path / f"{picture.name}.png", tmp_path / f"{picture.name}.csv"])
        check_picture(png, picture.size_mm)
        assert len(data.read_text(encoding="utf-8").splitlines()) > 1
        assert picture.caption


def _cases():
    for name in ("corner_radius", "drum_conditions", "plate_with_hole", "slot_shapes"):
        yield name, lambda name=name: read_study(ROOT / "studies" / f"{name}.toml")
    yield from ODD.items()


@pytest.mark.parametrize(("name", "made"), [pytest.param(*case, id=case[0]) for case in _cases()])
def test_no_words_leave_the_sheet_or_lie_on_others(name, made):
    study = made()
    for variant in {0, len(study.variants) - 1}:
        for picture in drawings(study, variant):
            if picture.name == "unrolled":  # its own test stands with the rotor's pictures
                continue
            ax = picture.draw()
            canvas = ax.figure.canvas
            canvas.draw()
            boxes = [(t.get_text(), t.get_window_extent()) for t in ax.texts if t.get_text().strip()]
            for i, (text, box) in enumerate(boxes):
                corners = (box.x0, box.y0, ax.figure.bbox.width - box.x1, ax.figure.bbox.height - box.y1)
                assert min(corners) >= 0, (picture.name, text)
                for other, second in boxes[i + 1 :]:
                    wide = min(box.x1, second.x1) - max(box.x0, second.x0)
                    high = min(box.y1, second.y1) - max(box.y0, second.y0)
                    assert min(wide, high) < 4, (picture.name, text, other)


def test_text_is_measured_and_broken_as_it_is_drawn():
    figure = Figure(figsize=(8, 2), dpi=200)
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    FigureCanvasAgg(figure)
    for words in ("outer surface", "R 8 (4 to 20, full)", "Ø 760"):
        drawn = figure.text(0.0, 0.5, words, fontsize=7.0, family="DejaVu Sans").get_window_extent().width
        assert text_mm(words) == pytest.approx(drawn / 200 * 25.4, rel=0.05)
    lines = wrapped_mm("several words that do not fit on one line", 20.0)
    assert len(lines) > 1
    assert all(text_mm(line, 6.5) <= 20.0 for line in lines)
    assert [round_length(v) for v in (1.0, 4.9, 230.0, 0.07)] == [1.0, 2.0, 200.0, pytest.approx(0.05)]
    assert View(0.5, 10.0, 20.0)((4.0, -2.0)) == pytest.approx([12.0, 19.0])


def test_drawings_go_onto_given_axes_with_smaller_letters():
    figure = Figure(figsize=(8, 4), dpi=100)
    left, right = figure.subplots(1, 2)
    picture = drawings(ring())[0]
    assert picture.draw(left) is left
    own = {t.get_text(): t.get_fontsize() for t in drawings(ring())[0].draw().texts}
    small = {t.get_text(): t.get_fontsize() for t in left.texts}
    assert set(small) == set(own)
    assert all(small[k] < 0.7 * own[k] for k in own)
    assert not right.texts


def test_a_drawing_scales_as_a_whole_and_has_no_limits_to_set(tmp_path):
    wide, narrow = (RingDrawing(drawn_of_study(ring())) for _ in range(2))
    narrow.widen(82.5)
    assert narrow.size_mm == pytest.approx((82.5, 0.5 * wide.size_mm[1]))
    with pytest.raises(InputFault, match="no scale that could be set"):
        wide.save([tmp_path / "x.png"], PrintLook(x_limits=(0, 1)))


def test_an_unknown_variant_is_a_fault_with_the_range():
    study = read_study(ROOT / "studies" / "corner_radius.toml")
    with pytest.raises(InputFault, match="whole number from 0 to 4"):
        drawings(study, 5)


# faulty studies


def test_overlapping_slots_are_drawn_with_the_fault_in_words():
    text = RING.format(
        wall=40,
        pitch=100,
        slots=6,
        rows='rows = "aligned"',
        chamfer=0,
        cutout=SLOT.format("[60, 300]", 120, 8),
        loads=LOADS,
    )
    with pytest.raises(InputFault) as caught:
        study_from_text(text)
    found = faulty_drawings(text, caught.value.faults)
    assert [p.name for p in found] == ["part", "slot"]
    assert found[0].shell.half_x == 150  # the value at fault, not the first
    words = " ".join(all_words(found[0]).split())
    assert "At fault: " in words
    assert "slots overlap around the drum" in words
    assert "rows would overlap along the drum" in words
    assert found[0].shell.wall_pieces() == []


def test_a_hole_wider_than_its_plate_is_drawn():
    text = (
        (ROOT / "studies" / "plate_with_hole.toml")
        .read_text(encoding="utf-8")
        .replace("diameter_mm = 40", "diameter_mm = 120")
    )
    with pytest.raises(InputFault) as caught:
        study_from_text(text)
    found = faulty_drawings(text, caught.value.faults)
    assert [p.name for p in found] == ["part", "slot"]
    assert "must be above the cutout's size along y" in " ".join(all_words(found[0]).split())


@pytest.mark.parametrize(
    "change",
    [("outer_diameter_mm = 640", "outer_diameter_mm = -5"), ("outer_diameter_mm = 640", 'outer_diameter_mm = "wide"'), ("kind = \"ring\"", "kind = \"cone\""),
     ("[part.cutout]", "[part.cut]"), ("wall_mm = 40", "wall_mm = 900"), ("title = \"odd\"", "title = = "), ("slots_around = 4", "slots_around = 4000"),
     ('shape = "slot"', 'shape = "star"'), ("pitch_mm = 200", "pitch_mm = nan")],
)  # fmt: skip
def test_what_cannot_be_drawn_is_left(change):
    text = RING.format(
        wall=40, pitch=200, slots=4, rows='rows = "aligned"', chamfer=0, cutout=SLOT.format(60, 120, 8), loads=LOADS
    ).replace(*change)
    with pytest.raises(InputFault) as caught:
        study_from_text(text)
    assert faulty_drawings(text, caught.value.faults) == []


# results


def stored(study):
    """Results as a report finds them, without a solution."""
    variants = tuple(
        StoredVariant(key=v.key, folder=Path("nowhere"), axes=dict(zip([a.column for a in study.axes], v.values, strict=True)),
                      inputs=v.inputs, answers=(), failure="", remarks=())
        for v in study.variants
    )  # fmt: skip
    return SimpleNamespace(variants=variants, axes=study.axes, source=study.source, name=study.name)


@pytest.mark.parametrize("name", STUDIES)
def test_results_give_the_same_drawing_as_the_study(name):
    study = read_study(ROOT / "studies" / f"{name}.toml")
    results = stored(study)
    for n in (0, len(study.variants) - 1):
        mine, theirs = drawn_of_study(study, n), drawn_of_results(results, results.variants[n])
        assert theirs.part == mine.part
        assert theirs.loads == mine.loads
        assert theirs.conditions == mine.conditions
        assert theirs.machine == mine.machine
        assert theirs.varied == mine.varied
        assert theirs.about == mine.about
        assert (theirs.material.youngs_modulus_MPa, theirs.material.yield_MPa) == (
            mine.material.youngs_modulus_MPa,
            mine.material.yield_MPa,
        )


def test_a_report_opens_with_part_slot_and_load_paths():
    study = read_study(ROOT / "studies" / "corner_radius.toml")
    results = stored(study)
    assert [p.name for p in model_pictures(results)] == ["part", "slot", "paths-running"]
    assert part_drawing(results, 3).drawn.part == study.variants[3].part
    assert load_drawing(results, 0, "running").case == "running"
    plates = stored(read_study(ROOT / "studies" / "plate_with_hole.toml"))
    assert [p.name for p in model_pictures(plates)] == ["part", "slot", "paths"]


def test_a_mesh_from_a_file_is_drawn_with_its_faces_and_not_kept_with_results(tmp_path):
    study = read_study(ROOT / "meshes" / "thick_plate.toml")
    (picture,) = drawings(study)
    check_picture(picture.save([tmp_path / "m.png"])[0], picture.size_mm)
    words = " ".join(all_words(picture).split())
    for wanted in ("inner: watched for the peak", "x0: held in x (not in sight)", "outer mid-line: held in z", "250 cells", "x 3,250 x y 2,750 x z 600 mm", "All names in the file: bottom"):  # fmt: skip
        assert wanted in words, wanted
    # sides that are drawn look to the viewer
    sides = picture._corners()
    seen = picture._seen(sides)
    assert 0 < len(seen) < len(sides)
    assert list(model_pictures(stored(study))) == []
    with pytest.raises(NoData):
        part_drawing(stored(study), 0)


def test_load_paths_draw_on_axes():
    ax = draw_model.load_paths(read_study(ROOT / "studies" / "drum_conditions.toml"), "jam")
    assert any("jam torque" in t.get_text() for t in ax.texts)
