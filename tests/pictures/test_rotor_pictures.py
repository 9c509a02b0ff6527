"""Figures and page of the whole drum: whole, in words, and with the computed numbers where they are drawn."""

from __future__ import annotations

import base64
import csv
import re
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from test_figures import check_picture

from femdrum.model.cutout import Circle, Ellipse, Obround, Slot
from femdrum.report import rotor_render, rotor_view
from femdrum.report.cautions import CAUTIONS
from femdrum.report.picture import NoData
from femdrum.report.rotor_campbell import CampbellPicture
from femdrum.report.rotor_page import rotor_pictures, write_rotor_page
from femdrum.report.rotor_pattern import outline_mm
from femdrum.report.rotor_render import Shell, render_scene
from femdrum.report.rotor_shell import ShellModesPicture
from femdrum.report.rotor_view import DrumPicture, scene_of
from femdrum.study.drum_sheet import read_drum_sheet

STUDY = Path(__file__).parents[2] / "studies" / "drum_whole.toml"
NAMES = ["drum-in-space", "unrolled", "along", "campbell", "shell-modes"]


@pytest.fixture(scope="module")
def sheet():
    return read_drum_sheet(STUDY)


@pytest.fixture(scope="module")
def got(sheet):
    return sheet.answer()


@pytest.fixture(scope="module")
def written(sheet, got, tmp_path_factory):
    """The page as it is written, its folder, what was lost, and the drum as it was rendered."""
    folder = tmp_path_factory.mktemp("drum")
    kept = []

    def keep(scene):
        kept.append(render_scene(scene))
        return kept[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rotor_view, "render_scene", keep)
        path, lost = write_rotor_page(sheet, got, folder)
    return path.read_text(encoding="utf-8"), folder, lost, kept


@pytest.fixture(scope="module")
def page(written):
    return written[:3]


@pytest.fixture(scope="module")
def drawn(got):
    return {p.name: p for p in rotor_pictures(got) if p.name != "drum-in-space"}


def words_of(ax):
    """All that is written on axes, on what lies in them, and in their legends."""
    found = [t.get_text() for t in ax.texts] + [ax.get_xlabel(), ax.get_ylabel()]
    found += [ax.get_title(loc="left")] if hasattr(ax, "get_title") else []
    found += [t.get_text() for c in ax.get_children() if type(c).__name__ == "Legend" for t in c.get_texts()]
    found += [t.get_text() for t in [*ax.get_xticklabels(), *ax.get_yticklabels()]]
    return "\n".join([*found, *(words_of(c) for c in ax.child_axes)])


def rows_of(folder, name):
    with (folder / "figures" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_all_figures_are_there_and_whole(page, got):
    _, folder, lost = page
    assert lost == []
    pictures = list(rotor_pictures(got))
    assert [p.name for p in pictures] == NAMES
    for picture in pictures:
        check_picture(folder / "figures" / f"{picture.name}.png", picture.size_mm)


def test_unrolled_has_every_slot_with_its_number_in_its_place(page, drawn, got):
    _, folder, _ = page
    ax = drawn["unrolled"].draw()
    numbers = {t.get_text(): t.get_position() for t in ax.texts if t.get_text().isdigit()}
    assert set(numbers) == {str(n) for n in range(1, 21)}
    for slot in got.slots:
        assert numbers[str(slot.number + 1)] == pytest.approx((slot.x_mm, slot.along_mm))
    text = words_of(ax)
    for words in (
        "drive end",
        "free end",
        "sense of rotation",
        "end disc",
        "position for a balance mass",
        "(mm)",
        "row",
        "(°)",
    ):
        assert words in text
    assert [int(r["slot"]) for r in rows_of(folder, "unrolled")] == list(range(1, 21))
    bands = [p.get_bbox() for p in ax.patches if getattr(p, "get_hatch", lambda: None)() == "////"]
    first = got.drum.disc_faces_mm[0]
    assert min(b.y0 for b in bands) == pytest.approx(first[0] - got.drum.shell_z_mm)


def test_numbers_stay_inside_their_slots(drawn, got):
    ax = drawn["unrolled"].draw()
    canvas = ax.figure.canvas
    canvas.draw()
    across = 2 * got.drum.cutout.half_x_mm * ax.transData.get_matrix()[0, 0]
    widths = [t.get_window_extent().width for t in ax.texts if t.get_text().isdigit()]
    assert max(widths) < across


@pytest.mark.parametrize(
    "cutout",
    [Slot(around_mm=60, axial_mm=110, corner_radius_mm=12), Obround(around_mm=40, axial_mm=90), Circle(diameter_mm=50),
     Ellipse(around_mm=40, axial_mm=80)],
)  # fmt: skip
def test_outlines_of_slots_are_closed_and_of_their_size(cutout):
    shape = outline_mm(cutout, points=400)
    assert np.ptp(shape, axis=0) == pytest.approx([2 * cutout.half_x_mm, 2 * cutout.half_y_mm])
    x, y = shape.T
    area = 0.5 * abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    assert area == pytest.approx(cutout.area_mm2, rel=1e-4)


def test_campbell_shows_whirls_orders_speeds_and_the_nearest_in_words(page, drawn, got):
    _, folder, _ = page
    text = words_of(drawn["campbell"].draw())
    for words in ("Nearest to a running speed", "too close", "unbalance, 1 a turn", "hits of one row, 2 a turn",
                  "hits of all rows, 4 a turn", "mixed prunings: 1000 rpm", "roots, one tip struck: 820 rpm", "mode 1", "(Hz)", "(rpm)"):  # fmt: skip
        assert words in text, words
    name, apart = got.fastest.nearest
    assert f"{apart.nearest_rpm:,.0f} rpm ({name})" in " ".join(text.split())
    rows = rows_of(folder, "campbell")
    met = [r for r in rows if r["what"] != "natural frequency"]
    assert [float(r["speed_rpm"]) for r in met] == pytest.approx([c.speed_rpm for c in got.crossings])


def test_without_a_stiffness_there_is_no_campbell_plot(got):
    bare = replace(got, campbell=None)
    with pytest.raises(NoData):
        CampbellPicture(bare)
    assert [p.name for p in rotor_pictures(bare)] == [n for n in NAMES if n != "campbell"]


def test_shell_modes_are_drawn_against_the_orders_of_hits(page, drawn, got):
    _, folder, _ = page
    picture = drawn["shell-modes"]
    text = words_of(picture.draw())
    for words in (
        "Nearest: 2 waves",
        "order 14",
        "too close",
        "apart",
        "3 waves, 514 to 574 Hz, 820 rpm",
        "frequency seen from the drum (Hz)",
    ):
        assert words in text, words
    for state, mode in picture.lines:
        near = [o for o in picture.orders(state, mode) if o[0] == mode.meets_order]
        assert len(near) == 1
        assert near[0][1] == pytest.approx(mode.meets_Hz)
        assert near[0][2] == pytest.approx(mode.meets_strength)
    assert len({(r["state"], r["waves"], r["ring_Hz"]) for r in rows_of(folder, "shell-modes")}) == len(picture.lines)
    empty = replace(got, states=tuple(replace(s, shell=replace(s.shell, modes=())) for s in got.states))
    with pytest.raises(NoData):
        ShellModesPicture(empty)


def test_along_says_the_largest_of_each_with_place_and_unit(page, drawn, got):
    _, folder, _ = page
    picture = drawn["along"]
    text = words_of(picture.draw())
    rows = rows_of(folder, "along")
    for what, column, unit in (
        ("largest moment", "moment_largest_kNm", "kN·m"),
        ("shear", "shear_kN", "kN"),
        ("torque", "torque_kNm", "kN·m"),
    ):
        top = max(rows, key=lambda r: abs(float(r[column])))
        assert f"{what}: {float(top[column]):.3g} {unit} at z = {float(top['z_mm']):.0f} mm\n{top['state']}" in text
    # a row's moment and torque are met where it stands
    row = got.worst.worst_row
    assert float(max(rows, key=lambda r: float(r["moment_largest_kNm"]))["z_mm"]) == pytest.approx(row.z_mm)


def test_the_view_shows_shell_tips_and_numbers(written, got, monkeypatch):
    _, folder, _, kept = written
    assert len(kept) == 1
    monkeypatch.setattr(rotor_view, "render_scene", lambda scene: kept[0])
    picture = DrumPicture(got)
    found = picture.image
    assert not isinstance(found, str), found
    image = np.asarray(found.image).reshape(-1, 3).astype(float)
    white = (image > 250).all(1)
    assert 0.2 < white.mean() < 0.8
    # bars are brown, tips red, the sheave blue-green, the shell grey
    r, g, b = image[~white].T
    assert ((r > 1.6 * g) & (r > 1.1 * b)).mean() > 0.01
    assert ((g > 1.2 * r) & (b > 1.2 * r)).mean() > 0.02
    assert ((np.abs(r - g) < 12) & (np.abs(g - b) < 20) & (r > 90)).mean() > 0.3
    seen = {s.number + 1 for s, (_, _, ok) in zip(got.slots, found.pixels, strict=False) if ok}
    # rows at 0 and at 90 degrees look up and forward, those at 180 and 270 are behind the drum
    assert seen == {s.number + 1 for s in got.slots if s.angle_deg in (0.0, 90.0)}
    text = words_of(picture.draw())
    for words in (
        "drive end",
        "free end",
        "sense of rotation",
        "tip",
        "bar",
        "sheave",
        "wedge with its bolt",
        "992 mm",
    ):
        assert words in text, words
    assert len(rows_of(folder, "drum-in-space")) == 20


def test_slots_are_cut_out_of_the_drawn_shell(got):
    scene, _ = scene_of(got)
    shell = rotor_render._slotted(scene.shell.__dict__)
    full = rotor_render._slotted({**scene.shell.__dict__, "slots": ()})
    drum = got.drum
    whole = np.pi * (drum.outer_radius_mm**2 - drum.inner_radius_mm**2) * drum.shell_length_mm
    assert full.volume == pytest.approx(whole, rel=1e-4)
    # what slots of flat, parallel flanks take out of the wall, nearly
    cut = drum.slots_total * drum.cutout.area_mm2 * drum.wall_mm
    assert full.volume - shell.volume == pytest.approx(cut, rel=0.01)
    skin = rotor_render._shell(scene.shell.__dict__)
    assert skin.n_open_edges == 0
    round_hole = Shell(**{**scene.shell.__dict__, "shape": "ellipse"})
    less = full.volume - rotor_render._slotted(round_hole.__dict__).volume
    area = np.pi * drum.cutout.half_x_mm * drum.cutout.half_y_mm
    assert less == pytest.approx(drum.slots_total * area * drum.wall_mm, rel=0.01)


def test_without_gl_the_page_says_so_in_a_sentence(sheet, got, tmp_path, monkeypatch):
    kill = "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"
    monkeypatch.setattr(rotor_render, "command", lambda: [sys.executable, "-c", kill])
    path, lost = write_rotor_page(sheet, got, tmp_path)
    assert len(lost) == 1
    assert "killed by signal 11, as happens where the system's GL libraries are missing" in lost[0]
    text = path.read_text(encoding="utf-8")
    assert "The view of the drum could not be drawn" in text
    assert "femdrum doctor" in text
    assert text.count("<img") == len(NAMES) - 1
    assert not (tmp_path / "figures" / "drum-in-space.png").exists()


def test_other_failures_of_the_child_are_told(got, monkeypatch):
    scene, _ = scene_of(got)
    monkeypatch.setattr(rotor_render, "command", lambda: [sys.executable, "-c", "raise SystemExit('no ink')"])
    assert render_scene(scene) == "no ink"
    monkeypatch.setattr(rotor_render, "command", lambda: ["no-such-program-here"])
    assert "could not be started" in render_scene(scene)


def test_page_holds_everything_inside(page, got):
    text, _, _ = page
    assert not re.search(r"(?:src|href)=\"(?!data:|#)", text)
    assert "<script" not in text
    pictures = re.findall(r'<img src="data:image/(png|svg\+xml);base64,([^"]+)"', text)
    assert [kind for kind, _ in pictures] == ["png", "svg+xml", "svg+xml", "svg+xml", "svg+xml"]
    assert all(len(base64.b64decode(data)) > 5000 for _, data in pictures)
    plain = " ".join(re.sub(r"<[^>]+>", " ", text).replace("&#34;", '"').replace("&#39;", "'").split())
    for words in ("Answer", "row 4 of 10 carries most", "qualified engineer", "Not looked at", "common practice, no source",
                  "from memory, not confirmed", "S355", "whole rotor", "Bearings and stubs", "rating life", "[drum.hammer]"):  # fmt: skip
        assert words in plain, words
    for heading, _ in CAUTIONS:
        assert heading in plain
    for warning in got.warnings:
        assert " ".join(warning.split()) in plain
    for row in got.worst.rows:
        assert f"{1e-6 * row.largest_moment_Nmm:.4g}" in plain
