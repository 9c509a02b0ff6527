"""Charts of contact: whole, in words, and with the numbers they are drawn from."""

import csv
from pathlib import Path

import numpy as np
import pytest
from test_figures import check_picture

from femdrum.assess.contact import solve_wedge_pack
from femdrum.model.contact_input import WedgePack
from femdrum.model.material import Material
from femdrum.report.contact_page import contact_pictures
from femdrum.report.contact_pressure import ContactPressurePicture, formula_curve
from femdrum.report.contact_round import RoundPressurePicture
from femdrum.report.picture import NoData
from femdrum.study.contact_sheet import solve_contact

STUDIES = Path(__file__).parents[2] / "studies"
STEEL = Material(youngs_modulus_MPa=206e3, poissons_ratio=0.3)


@pytest.fixture(scope="module")
def found():
    return solve_contact(STUDIES / "seat_contact.toml")[1]


def solved(**change):
    size = {
        "slot_mm": 60.0,
        "wall_mm": 40.0,
        "length_mm": 100.0,
        "clamp_N": 150e3,
        "hammer_mm": 35.0,
        "wedge_height_mm": 40.0,
        "driven": "along",
    }
    return solve_wedge_pack(WedgePack(**(size | change)), STEEL, most_meshes=2)


@pytest.fixture(scope="module")
def open_():
    return solved(angle_error_mrad=-3.0)


@pytest.fixture(scope="module")
def crowned():
    return solved(crown_radius_mm=600.0, angle_error_mrad=2.0)


def words_of(ax):
    legend = [t.get_text() for t in ax.get_legend().get_texts()]
    return "\n".join(
        [*(t.get_text() for t in ax.texts), ax.get_title(loc="left"), ax.get_xlabel(), ax.get_ylabel(), *legend]
    )


def test_every_chart_is_whole(found, open_, crowned, tmp_path):
    pictures = [*contact_pictures(found), ContactPressurePicture(open_), ContactPressurePicture(crowned)]
    assert [p.name for p in pictures[:2]] == ["contact-pressure", "round-seat-pressure"]
    for n, picture in enumerate(pictures):
        folder = tmp_path / str(n)
        folder.mkdir()
        png, svg, data = picture.write(folder)
        check_picture(png, picture.size_mm)
        assert svg.read_text(encoding="utf-8").count("<text") > 10
        rows = list(csv.reader(data.read_text(encoding="utf-8").splitlines()))
        assert len(rows) > 100
        assert len({len(row) for row in rows}) == 1
        assert len(picture.readings) > 20


def test_the_clamp_in_words(found, open_):
    said = words_of(ContactPressurePicture(found.pack).draw())
    for text in ("all faces over their whole height", "pressure (MPa)", "height from the middle of the wall (mm)", "outer surface", "bore", "pad on springs (formula)",
                 "hammer on leading flank: peak 730 ± 30 MPa", "where the force acts (−3.01 mm)"):  # fmt: skip
        assert text in said, text
    said = words_of(ContactPressurePicture(open_).draw())
    assert "in part" in said.replace("\n", " ")
    assert "no finite peak at a sharp end" in said
    assert "off the scale" in ContactPressurePicture(open_).caption


def test_lines_are_the_solution(found):
    picture = ContactPressurePicture(found.pack)
    ax = picture.draw()
    lines = {line.get_label().split(":")[0]: line for line in ax.get_lines()}
    for face in found.pack.faces:
        x, y = lines[face.name].get_data()
        drawn = np.isfinite(x)
        assert x[drawn] == pytest.approx(face.pressure_MPa[drawn])
        assert y == pytest.approx(face.height_mm)
        # all but the rounds
        assert y[drawn].max() > 18.9
        assert drawn.mean() > 0.3
    _, rows = picture.table()
    assert [r[2] for r in rows if r[0] == "wedge on hammer"] == list(found.pack.faces[1].pressure_MPa)


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"angle_error_mrad": 0.5},
        {"angle_error_mrad": -3.0},
        {"crown_radius_mm": 600.0},
        {"crown_radius_mm": 600.0, "angle_error_mrad": 2.0},
    ],
)
def test_the_formula_s_curve_carries_the_clamp(change):
    """Even, tilted, lifted off, crowned: its resultant is the force, and it leans to the side that touches first."""
    result = solved(**change)
    name, y, p = formula_curve(result)
    assert np.sum(0.5 * np.diff(y) * (p[1:] + p[:-1])) * 100 == pytest.approx(150e3, rel=2e-3)
    assert name == ("line contact" if "crown_radius_mm" in change else "pad on springs" if change else "even pressure")
    lean = float(np.sum(p * y) / np.sum(p))
    face = result.face("leading")
    lever = float(face.couple) / face.force_N
    assert np.sign(round(lean, 6)) == np.sign(round(lever, 6))
    assert abs(lean - lever) < 2.0


def test_rounds_in_words_and_lines(found):
    picture = RoundPressurePicture(found.rounds)
    ax = picture.draw()
    said = words_of(ax)
    for text in (
        "play of 0.1 mm: peak",
        "the same by formula: 97.17 MPa",
        "its formula does not hold",
        "angle from the middle of the groove (°)",
    ):
        assert text in said, text
    line = next(line for line in ax.get_lines() if str(line.get_label()).startswith("play of 0.02 mm"))
    x, y = line.get_data()
    assert y == pytest.approx(y[::-1])
    assert x == pytest.approx(-x[::-1])
    assert y.max() == pytest.approx(float(found.rounds[1].peak))
    with pytest.raises(NoData):
        RoundPressurePicture(())
