"""Pictures and pages of a hand-over: whole, in words, and with the numbers where they are drawn."""

from __future__ import annotations

import csv
import sys
from dataclasses import replace
from html import unescape
from pathlib import Path

import numpy as np
import pytest
from test_figures import check_picture

sys.path.insert(0, str(Path(__file__).parents[1] / "study"))

from handover_texts import RADII, TEXT

from femdrum.assess.handover_facts import Facts
from femdrum.assess.handover_inspect import LookPlace, LookSlot, inspection
from femdrum.assess.handover_slots import numbering, numbering_without_drum
from femdrum.model.cutout import Circle, Slot
from femdrum.model.ring import Ring
from femdrum.report.handover import as_built_chapter, chapter, write_as_built_page, write_handover_page
from femdrum.report.handover_shell import AsBuiltPicture, LookFirstPicture, SlotNumbersPicture
from femdrum.report.handover_slot import SlotEdgePicture, along
from femdrum.report.page_chapters import chapters
from femdrum.report.picture import NoData
from femdrum.study import Results, run, study_from_text
from femdrum.study.as_built_run import as_built_study, run_as_built
from femdrum.study.drum_sheet import read_drum_sheet
from femdrum.study.handover import handover_of, write_handover

WHOLE = Path(__file__).parents[2] / "studies" / "drum_whole.toml"
RING = Ring(
    outer_diameter_mm=780, wall_mm=40, pitch_mm=180, slots_around=2, rows="alternate", edge_break_mm=2,
    cutout=Slot(around_mm=60, axial_mm=110, corner_radius_mm=12),
)  # fmt: skip


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    folder = tmp_path_factory.mktemp("built")
    (folder / "radii.csv").write_text(RADII, encoding="utf-8")
    asked = as_built_study(study_from_text(TEXT, name="small"), folder / "radii.csv")
    results, found = run_as_built(asked, folder / "out", workers=1)
    return asked, results, found, folder / "out"


def whole_picture(picture, folder):
    png, svg, _ = picture.write(folder)
    check_picture(png, picture.size_mm)
    assert svg.stat().st_size > 1000


def words(ax):
    return [t.get_text() for t in ax.texts]


@pytest.mark.parametrize("whole", [True, False])
def test_every_slot_has_its_number_at_its_place(tmp_path, whole):
    numbers = numbering(read_drum_sheet(WHOLE).drum) if whole else numbering_without_drum(RING, 10)
    picture = SlotNumbersPicture(numbers, RING)
    whole_picture(picture, tmp_path)
    ax = picture.draw()
    for slot in numbers.slots:
        text = next(t for t in ax.texts if t.get_text() == str(slot.slot))
        assert text.get_position() == (slot.x_mm, slot.along_mm)
    assert {"drive end", "free end", "sense of rotation", "angles and lengths\ncount from here"} <= set(words(ax))
    assert (
        "from the shell's drive-side face" in ax.get_ylabel()
        if whole
        else "from the middle of row 1" in ax.get_ylabel()
    )
    assert "clockwise, seen from the drive end" in picture.caption


def test_ranks_stand_in_the_slots_and_the_first_is_named(tmp_path):
    numbers = numbering_without_drum(RING, 3)
    looks = tuple(
        LookSlot(rank, slot, (slot + 1) // 2, u, 1e5, "corner leading/free-end, wall", 1)
        for rank, slot, u in ((1, 4, 1.2), (2, 1, 0.9), (2, 2, 0.9), (4, 3, 0.7), (5, 5, 0.6), (6, 6, 0.5))
    )
    picture = LookFirstPicture(numbers, RING, looks)
    whole_picture(picture, tmp_path)
    ax = picture.draw()
    first = numbers.slots[3]
    assert next(t for t in ax.texts if t.get_position() == (first.x_mm, first.along_mm)).get_text() == "1"
    assert "slot 4\n1.200" in words(ax)
    assert "First: slot 4, utilisation 1.20, at the corner leading/free-end, wall" in picture.caption
    assert sum(bool(p.get_hatch()) for p in ax.patches if p.get_hatch()) >= 1
    alike = tuple(replace(s, rank=1, utilisation=None) for s in looks)
    assert "All slots rank alike" in LookFirstPicture(numbers, RING, alike).caption


def test_a_drum_of_many_slots_is_drawn_too(tmp_path):
    ring = replace(RING, slots_around=6, pitch_mm=130.0)
    numbers = numbering_without_drum(ring, 20)
    facts = Facts(ring=ring, material={}, numbering=numbers)
    whole_picture(LookFirstPicture(numbers, ring, inspection(facts).slots), tmp_path)


@pytest.mark.parametrize(
    "cutout", [RING.cutout, Circle(diameter_mm=70), Slot(around_mm=50, axial_mm=90, corner_radius_mm="full")]
)
def test_places_lie_between_the_rims_by_their_depth(tmp_path, cutout):
    ring = replace(RING, cutout=cutout, edge_break_mm=0.0)
    surfaces = (
        ("outer surface", 0.0),
        ("outer rim", 0.0),
        ("wall", 10.0),
        ("wall", 30.0),
        ("bore rim", 40.0),
        ("bore surface", 40.0),
    )
    places = tuple(
        LookPlace(n, f"corner leading/free-end, {z}", 1, z, 12.0 * n, 0.0, 0.0, d, 1.0 / n, 1e5, "fatigue", "", "")
        for n, (z, d) in enumerate(surfaces, 1)
    )
    picture = SlotEdgePicture(ring, places)
    whole_picture(picture, tmp_path)
    point, normal = along(cutout, np.array([p.s_mm for p in places]))
    outward = ((picture.spots() - point) * normal).sum(1) / picture.band
    assert outward == pytest.approx([0.95, 0.5, 0.25, -0.25, -0.5, -0.95])
    assert {"corner 1", "corner 2", "corner 3", "corner 4", "free end", "drive end"} <= set(words(picture.draw()))
    with pytest.raises(NoData):
        SlotEdgePicture(ring, ())


@pytest.mark.parametrize(
    "cutout", [RING.cutout, Circle(diameter_mm=70), Slot(around_mm=50, axial_mm=90, corner_radius_mm="full")]
)
def test_the_outline_closes_and_goes_round_once(cutout):
    total = 4 * sum(p.length for p in cutout.quarter())
    point, normal = along(cutout, np.linspace(0, total, 4001))
    assert point[0] == pytest.approx(point[-1])
    assert np.hypot(*normal.T) == pytest.approx(1.0)
    steps = np.hypot(*np.diff(point, axis=0).T)
    assert steps.sum() == pytest.approx(total, rel=1e-5)
    x, y = point.T
    assert 0.5 * np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) == pytest.approx(cutout.area_mm2, rel=1e-4)


def test_the_drum_as_built_says_radius_and_the_most_used_slot(built, tmp_path):
    asked, _, found, _ = built
    picture = AsBuiltPicture(asked.numbering, asked.designed.part, found)
    whole_picture(picture, tmp_path)
    said = words(picture.draw())
    assert any(t.startswith("R 12\nmost used: utilisation") for t in said)
    assert said.count("R 20") == 5
    assert "the least is 12 mm, at slot 4" in picture.caption


def test_pages_hold_everything_and_fetch_nothing(built, tmp_path):
    asked, results, found, folder = built
    made = handover_of(results, "1")
    target = folder / "handover"
    write_handover(made, target)
    page = write_handover_page(made, target).read_text(encoding="utf-8")
    assert page.count("data:image/svg+xml;base64,") == 2  # no ranks without a map
    assert "http" not in page.replace("http://www.w3.org", "")
    for line in made.drawing:
        assert line.ask in unescape(page)
        assert line.reason.replace("`", "") in unescape(page)
    assert "@page { size: A4" in page
    for name in ("slot-numbers", "slot-places"):
        with (target / "figures" / f"{name}.csv").open(encoding="utf-8") as file:
            assert len(list(csv.reader(file))) > 3
    told = write_as_built_page(asked, found, folder).read_text(encoding="utf-8")
    assert "least of the four governs" in told
    assert "Not checked" in told
    loaded = Results.load(results.folder)
    one, two = chapter(loaded), as_built_chapter(loaded)
    assert (one.title, one.anchor, two.title, two.anchor) == ("Hand-over", "handover", "As built", "as-built")
    assert one.html.count("data:image/svg+xml;base64,") == 2
    assert chapters(loaded)[-2:] == [two, one]
    assert 'id="handover-drawing"' in one.html
    assert "the least is 12 mm, at slot 4" in two.html


def test_no_chapter_where_nothing_was_handed_over(tmp_path):
    results = run(study_from_text(TEXT, name="small"), tmp_path / "out", workers=1)
    assert chapter(results) is None
    assert as_built_chapter(results) is None
