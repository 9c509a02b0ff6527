"""Published Kt fits: ranges, refusals, and how far each lies from the exact plane solution.

The bounds on the deviations are those noted beside the fits; they were found with an independent program.
"""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from femdrum.errors import OutsideRange
from femdrum.handbook.domains import InfinitePlate, Strip
from femdrum.handbook.exact import exact_kt
from femdrum.handbook.fits import FITS, fit, fits_for
from femdrum.model.cutout import Circle, Ellipse, Obround, Slot
from femdrum.model.load import Axial, Biaxial, Shear, Tension
from femdrum.model.plate import Plate, PlateRow
from femdrum.model.ring import Ring
from femdrum.provenance import Kind

PULL = Tension(stress_MPa=100)
PULL_Y = Tension(stress_MPa=100, direction="y")


def plate(cutout, length=800, width=200):
    return Plate(length_mm=length, width_mm=width, thickness_mm=10, cutout=cutout)


@pytest.mark.parametrize(
    ("name", "worst_pct", "at"),
    [("circle_strip_chart", -1.40, 0.70), ("circle_strip_table", -0.90, 0.65),
     ("circle_strip_older", -1.02, 0.65), ("circle_strip_short", -3.30, 0.70)],
)  # fmt: skip
def test_strip_fits_deviate_as_noted(name, worst_pct, at):
    q = np.arange(0.05, 0.801, 0.05)
    exact = [exact_kt(Circle(diameter_mm=1), Strip(width_mm=1 / v), stress_x=1).kt for v in q]
    deviation = 100 * np.array([fit(name).gross(d_over_w=v) / k - 1 for v, k in zip(q, exact, strict=True)])
    i = int(np.argmax(np.abs(deviation)))
    assert deviation[i] == pytest.approx(worst_pct, abs=0.006)
    assert q[i] == pytest.approx(at)


def test_ellipse_fit_deviates_as_noted():
    def deviation(k, q):
        exact = exact_kt(Ellipse(size_x_mm=2 / k, size_y_mm=2), Strip(width_mm=2 / q), stress_x=1).kt
        return 100 * (fit("ellipse_strip").gross(across_over_along=k, across_over_w=q) / exact - 1)

    assert deviation(8.0, 0.6) == pytest.approx(6.55, abs=0.01)
    assert deviation(1.0, 0.3) == pytest.approx(0.95, abs=0.01)
    assert max(abs(deviation(2.0, q)) for q in (0.1, 0.3, 0.5, 0.7)) < 2.0


def test_rounded_rectangle_fit_deviates_as_noted_in_this_orientation():
    formula = fit("rounded_rectangle")
    deviations = []
    for aspect in (1.0, 1.5, 2.0, 3.0):
        for r in (0.2, 0.4, 0.75, 1.0):
            hole = Slot(size_x_mm=2, size_y_mm=2 * aspect, corner_radius_mm=r)
            exact = exact_kt(hole, InfinitePlate(), stress_x=1).kt
            value = formula.gross(r_over_half_along=r, along_over_across=1 / aspect)
            deviations.append(100 * (value / exact - 1))
    assert max(np.abs(deviations)) < 2.9
    square = exact_kt(Slot(size_x_mm=2, size_y_mm=2, corner_radius_mm=0.75), InfinitePlate(), stress_x=1).kt
    assert 100 * (formula.gross(r_over_half_along=0.75, along_over_across=1) / square - 1) == pytest.approx(
        2.81, abs=0.01
    )


def test_equivalent_ellipse_is_good_for_long_obrounds_only():
    rule = fit("equivalent_ellipse")
    assert rule.provenance.kind is Kind.COMMON_PRACTICE

    def deviation(hole):
        exact = exact_kt(hole, InfinitePlate(), stress_x=1).kt
        return 100 * (rule.gross(half_across_over_r=hole.half_y_mm / hole.radius_mm) / exact - 1)

    assert deviation(Obround(size_x_mm=2, size_y_mm=4)) == pytest.approx(-0.9, abs=0.06)
    assert deviation(Obround(size_x_mm=2, size_y_mm=8)) == pytest.approx(-2.0, abs=0.06)
    assert deviation(Slot(size_x_mm=2, size_y_mm=2, corner_radius_mm=0.1)) == pytest.approx(58, abs=0.6)


def shell_rows():
    with open(Path(__file__).parent / "data" / "shell_circle_axial.csv", encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize("row", [r for r in shell_rows() if 0.1 <= float(r["beta"]) <= 1.5], ids=lambda r: r["beta"])
def test_shell_fit_against_a_shallow_shell_series(row):
    """Total Kt (membrane and bending, gross); the fit's terms in h/R are no part of shallow-shell theory."""
    value = fit("circle_shell_axial").gross(curvature=float(row["beta"]), wall_over_radius=0.01)
    assert value == pytest.approx(float(row["Kt_total"]), rel=0.05)


@pytest.mark.parametrize(
    ("name", "arguments", "field", "value"),
    [
        ("circle_strip_chart", {"d_over_w": 1.0}, "d_over_w", 1.0),
        ("circle_strip_short", {"d_over_w": math.nan}, "d_over_w", math.nan),
        ("ellipse_strip", {"across_over_along": 0.5, "across_over_w": 0.3}, "across_over_along", 0.5),
        ("rounded_rectangle", {"r_over_half_along": 0.1, "along_over_across": 0.5}, "r_over_half_along", 0.1),
        ("rounded_rectangle", {"r_over_half_along": 0.5, "along_over_across": 2.0}, "along_over_across", 2.0),
        ("circle_shell_axial", {"curvature": 1.0, "wall_over_radius": 0.05}, "wall_over_radius", 0.05),
    ],
)
def test_outside_its_range_a_fit_refuses(name, arguments, field, value):
    with pytest.raises(OutsideRange) as caught:
        fit(name).gross(**arguments)
    (fault,) = caught.value.faults
    assert fault.field == field
    assert fault.value == pytest.approx(value, nan_ok=True)
    assert fault.allowed.startswith("must be")
    assert name in str(caught.value)


def test_arguments_must_be_the_fits_own():
    with pytest.raises(TypeError, match="d_over_w"):
        fit("circle_strip_chart").kt(q=0.3)
    with pytest.raises(KeyError, match="known"):
        fit("no_such_fit")


def test_every_fit_says_where_it_comes_from():
    for formula in FITS.values():
        assert formula.provenance.source
        assert formula.nominal in ("gross", "net")
        assert (formula.net_fraction is not None) == (formula.nominal == "net")
    from_memory = {f.name for f in FITS.values() if f.provenance.kind is Kind.MEMORY}
    assert from_memory == {"circle_strip_older", "circle_strip_short"}
    assert "secondary" in str(FITS["circle_strip_chart"].provenance)


def test_a_plate_with_a_circle():
    answers = {a.fit.name: a for a in fits_for(plate(Circle(diameter_mm=40)), PULL)}
    assert set(answers) == {"circle_strip_chart", "circle_strip_table", "circle_strip_older", "circle_strip_short",
                            "ellipse_infinite"}  # fmt: skip
    for name in ("circle_strip_chart", "circle_strip_table"):
        assert answers[name].kt_gross == pytest.approx(3.1526, rel=0.007)
        assert answers[name].kt_net == pytest.approx(answers[name].kt_gross * 0.8)
    assert answers["ellipse_infinite"].kt_gross == 3
    assert "finite size" in answers["ellipse_infinite"].remark
    # along y the strip fits do not speak
    assert [a.fit.name for a in fits_for(plate(Circle(diameter_mm=40)), PULL_Y)] == ["ellipse_infinite"]
    short = fits_for(plate(Circle(diameter_mm=40), length=300), PULL)
    assert "long strip" in short[0].remark


def test_orientation_of_a_rounded_slot():
    slot = Slot(size_x_mm=60, size_y_mm=120, corner_radius_mm=15)
    across = {a.fit.name: a for a in fits_for(slot, PULL)}
    assert across["rounded_rectangle"].kt_gross == pytest.approx(
        exact_kt(slot, InfinitePlate(), stress_x=1).kt, rel=0.029
    )
    assert across["equivalent_ellipse"].kt_gross == pytest.approx(1 + 2 * math.sqrt(60 / 15))
    # pulled along its long size it leaves the fit's range
    lengthwise = {a.fit.name: a for a in fits_for(slot, PULL_Y)}
    assert lengthwise["rounded_rectangle"].kt_gross is None
    assert "along_over_across = 2" in lengthwise["rounded_rectangle"].refusal
    assert lengthwise["equivalent_ellipse"].kt_gross == pytest.approx(1 + 2 * math.sqrt(30 / 15))


def test_ellipses_and_obrounds_in_a_plate():
    upright = {a.fit.name: a for a in fits_for(plate(Ellipse(size_x_mm=20, size_y_mm=40)), PULL)}
    assert upright["ellipse_strip"].kt_gross == pytest.approx(5, rel=0.05)
    lying = {a.fit.name: a for a in fits_for(plate(Ellipse(size_x_mm=40, size_y_mm=20)), PULL)}
    assert lying["ellipse_strip"].kt_gross is None
    assert "across_over_along" in lying["ellipse_strip"].refusal
    assert lying["ellipse_infinite"].kt_gross == 2
    obround = fits_for(Obround(size_x_mm=20, size_y_mm=40), PULL)
    assert [a.fit.name for a in obround] == ["rounded_rectangle", "equivalent_ellipse"]
    assert all(a.kt_gross is not None for a in obround)


def test_where_no_fit_speaks():
    circle = Circle(diameter_mm=40)
    assert fits_for(plate(circle), Biaxial(stress_x_MPa=1, stress_y_MPa=1)) == []
    assert fits_for(plate(circle), Shear(shear_MPa=1)) == []
    assert fits_for(PlateRow(pitch_mm=80, width_mm=200, thickness_mm=10, cutout=circle), PULL) == []
    assert fits_for(Slot(size_x_mm=60, size_y_mm=120, corner_radius_mm=0), PULL) == []


def test_a_thin_ring_with_a_circle_under_axial_pull():
    def ring(wall):
        return Ring(outer_diameter_mm=760, wall_mm=wall, pitch_mm=400, slots_around=2, rows="aligned",
                    cutout=Circle(diameter_mm=60))  # fmt: skip

    (thin,) = fits_for(ring(7), Axial(stress_MPa=1))
    assert 3 < thin.kt_gross < 4
    assert thin.kt_net == pytest.approx(thin.kt_gross * (1 - 60 / (2 * math.pi * 376.5)))
    assert "nu = 0.3" in thin.remark
    (thick,) = fits_for(ring(40), Axial(stress_MPa=1))
    assert thick.kt_gross is None
    assert "wall_over_radius" in thick.refusal
