"""Kt curves: shapes known beforehand, and holes in them where there is no number."""

import numpy as np
import pytest

from femdrum.handbook.curves import kt_curve, kt_over_aspect, kt_over_pitch, kt_over_radius, kt_over_width
from femdrum.handbook.domains import InfinitePlate
from femdrum.model.cutout import Circle, Ellipse


def test_radius_zero_leaves_a_hole_with_a_reason():
    curve = kt_over_radius([0, 1, 4, 12, 24, 30, 31], size_x_mm=60, size_y_mm=120)
    assert np.isnan(curve.kt).tolist() == [True, False, False, False, False, False, True]
    assert set(curve.messages) == {0, 6}
    assert "without bound" in curve.messages[0]
    assert curve.kt[1] > curve.kt[2] > curve.kt[3]
    # pulled across its long size, the full round is not the best: the least Kt is at about 0.8 of it
    assert curve.kt[3] > curve.kt[5] > curve.kt[4]
    assert np.nanmax(curve.est_rel_err) <= 1e-6


def test_ellipse_curve_is_inglis():
    sizes = np.linspace(5, 40, 8)
    curve = kt_curve(lambda s: (Ellipse(size_x_mm=10, size_y_mm=s), InfinitePlate()), sizes, label="size_y_mm")
    assert curve.kt == pytest.approx(1 + 2 * sizes / 10, rel=1e-6)
    assert curve.y_mm == pytest.approx(sizes / 2, rel=1e-4)
    assert curve.label == "size_y_mm"


def test_width_curve_falls_to_the_infinite_plate():
    curve = kt_over_width([41, 50, 100, 400, 40000, 40], cutout=Circle(diameter_mm=40))
    assert np.all(np.diff(curve.kt[:5]) < 0)
    assert curve.kt[4] == pytest.approx(3, rel=1e-5)
    assert "width_mm" in curve.messages[5]


def test_pitch_curve_along_and_across_the_row():
    along = kt_over_pitch([45, 80, 4000], cutout=Circle(diameter_mm=40))
    across = kt_over_pitch([45, 80, 4000], cutout=Circle(diameter_mm=40), stress_x=0, stress_y=1)
    assert np.all(np.diff(along.kt) > 0)  # neighbours in line shield each other
    assert np.all(np.diff(across.kt) < 0)
    assert along.kt[2] == pytest.approx(3, rel=1e-3)


def test_aspect_curve_meets_the_square():
    curve = kt_over_aspect([0.5, 1.0, 2.0], size_y_mm=40, corner_radius_mm=6)
    square = kt_over_radius([6.0], size_x_mm=40, size_y_mm=40)
    assert curve.kt[1] == pytest.approx(square.kt[0], rel=1e-9)
    assert curve.kt[0] > curve.kt[1] > curve.kt[2]
