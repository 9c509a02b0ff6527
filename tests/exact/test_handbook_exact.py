"""The exact plane solution against closed forms, its own limits, and what it must refuse."""

import math

import numpy as np
import pytest

from femdrum.errors import InputFault, NoNumber, OverBudget
from femdrum.handbook.boundary_integral import LEVELS, first_level, plane_solution
from femdrum.handbook.closed_forms import inglis_edge, kirsch_edge
from femdrum.handbook.domains import FinitePlate, InfinitePlate, Row, Strip, StripRow
from femdrum.handbook.exact import domain_of, exact_edge, exact_kt
from femdrum.model.cutout import Circle, Ellipse, Obround, Slot
from femdrum.model.plate import Plate, PlateRow

CASES = ("tension_x", "tension_y", "shear")
HOLE = Circle(diameter_mm=40)
SLOT = Slot(size_x_mm=60, size_y_mm=120, corner_radius_mm=8)


def along(edge, case):
    return edge.stress[edge.case_index(case), 0, :, 0, 0]


def test_circle_is_kirsch_all_round():
    edge = exact_edge(HOLE, InfinitePlate(), CASES)
    theta = edge.s_mm / 20
    assert along(edge, "tension_x") == pytest.approx(kirsch_edge(theta, stress_x=1), abs=1e-8)
    assert along(edge, "tension_y") == pytest.approx(kirsch_edge(theta, stress_y=1), abs=1e-8)
    assert along(edge, "shear") == pytest.approx(kirsch_edge(theta, shear=1), abs=1e-8)


@pytest.mark.parametrize("ratio", [1 / 8, 0.5, 1.5, 2.0, 4.0, 8.0, 30.0])
def test_ellipse_is_inglis_all_round(ratio):
    a, b = (10.0 * ratio, 10.0) if ratio > 1 else (10.0, 10.0 / ratio)
    edge = exact_edge(Ellipse(size_x_mm=2 * a, size_y_mm=2 * b), InfinitePlate(), CASES)
    e = np.arctan2(edge.place_mm[:, 0, 1] / b, edge.place_mm[:, 0, 0] / a)
    for case, load in zip(CASES, ({"stress_x": 1}, {"stress_y": 1}, {"shear": 1}), strict=True):
        exact = inglis_edge(e, half_x=a, half_y=b, **load)
        assert along(edge, case) == pytest.approx(exact, abs=2e-6 * np.max(np.abs(exact)))
        peak = exact_kt(Ellipse(size_x_mm=2 * a, size_y_mm=2 * b), InfinitePlate(), **load)
        dense = inglis_edge(np.linspace(0, math.pi / 2, 200001), half_x=a, half_y=b, **load)
        assert peak.kt == pytest.approx(np.max(np.abs(dense)), rel=1e-6)


def test_kt_of_a_circle_under_combined_loads():
    assert exact_kt(HOLE, InfinitePlate(), stress_x=1, stress_y=1).kt == pytest.approx(2, rel=1e-9)
    assert exact_kt(HOLE, InfinitePlate(), stress_x=-70).signed == pytest.approx(-210, rel=1e-9)
    # pull and shear together turn the principal axes
    mixed = exact_kt(HOLE, InfinitePlate(), stress_x=1, shear=1)
    s1, s2 = 0.5 + math.hypot(0.5, 1), 0.5 - math.hypot(0.5, 1)
    assert mixed.kt == pytest.approx(3 * s1 - s2, rel=1e-6)
    axis = 0.5 * math.atan2(2, 1) + math.pi / 2  # across the larger principal stress
    assert math.atan2(mixed.y_mm, mixed.x_mm) == pytest.approx(axis, abs=1e-3)


def test_loads_superpose():
    edge = exact_edge(SLOT, InfinitePlate(), CASES)
    peak = edge.combine([[0.7, -0.4, 0.9]]).peaks().peak
    direct = exact_kt(SLOT, InfinitePlate(), stress_x=0.7, stress_y=-0.4, shear=0.9)
    assert direct.signed == pytest.approx(peak.value, rel=2e-4)  # places of the edge are 0.7 degrees apart
    assert abs(direct.signed) >= abs(peak.value) - 1e-6


def test_turning_the_part_turns_the_answer():
    t = np.linspace(0, 1, 37)
    circle = plane_solution(HOLE, InfinitePlate(), 1)
    pulled_x, pulled_y, _ = circle.at(0, t)
    assert pulled_x == pytest.approx(pulled_y[::-1], abs=1e-9)
    lying = Slot(size_x_mm=120, size_y_mm=60, corner_radius_mm=8)
    assert exact_kt(lying, InfinitePlate(), stress_x=1).kt == pytest.approx(
        exact_kt(SLOT, InfinitePlate(), stress_y=1).kt, rel=1e-9
    )
    a = exact_kt(lying, FinitePlate(length_mm=300, width_mm=150), shear=1)
    b = exact_kt(SLOT, FinitePlate(length_mm=150, width_mm=300), shear=1)
    assert a.kt == pytest.approx(b.kt, rel=1e-6)


def test_size_does_not_matter():
    small = Slot(size_x_mm=0.06, size_y_mm=0.12, corner_radius_mm=0.008)
    assert exact_kt(small, Strip(width_mm=0.2), stress_x=1).kt == pytest.approx(
        exact_kt(SLOT, Strip(width_mm=200), stress_x=1).kt, rel=1e-8
    )


@pytest.mark.parametrize(
    "cutout", [SLOT, HOLE, Ellipse(size_x_mm=20, size_y_mm=50), Obround(size_x_mm=90, size_y_mm=30)]
)
def test_edge_runs_once_around(cutout):
    edge = exact_edge(cutout, InfinitePlate(), CASES)
    assert np.all(np.diff(edge.s_mm) > 0)
    assert edge.s_mm[0] == 0
    assert edge.place_mm[0, 0] == pytest.approx([cutout.half_x_mm, 0, 0])
    perimeter = 4 * sum(piece.length for piece in cutout.quarter())
    assert edge.area_mm2.sum() == pytest.approx(perimeter, rel=1e-9)
    closing = np.hypot(*(edge.place_mm[0, 0, :2] - edge.place_mm[-1, 0, :2]))
    assert edge.s_mm[-1] + closing == pytest.approx(perimeter, rel=1e-4)
    x, y = edge.place_mm[:, 0, 0], edge.place_mm[:, 0, 1]
    enclosed = 0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))
    assert enclosed == pytest.approx(cutout.area_mm2, rel=1e-3)  # positive: counter-clockwise
    assert not edge.stress[..., 1:].any()
    for case in CASES:
        kt = exact_kt(
            cutout, InfinitePlate(), **{{"tension_x": "stress_x", "tension_y": "stress_y"}.get(case, case): 1}
        )
        assert np.max(np.abs(along(edge, case))) == pytest.approx(kt.kt, rel=1e-6)  # the peaks are among the places


def test_step_is_the_change_from_the_coarser_solution():
    edge = exact_edge(SLOT, InfinitePlate(), ("shear",), rel=1e-4)
    coarse = plane_solution(SLOT, InfinitePlate(), first_level(1e-4))
    before = (edge.stress - edge.step)[0, 0, : 1 + edge.place_mm.shape[0] // 4, 0, 0]
    assert before[0] == pytest.approx(coarse.at(0, np.array([0.0]))[2, 0], rel=1e-9)
    assert before[-1] == pytest.approx(coarse.at(2, np.array([1.0]))[2, 0], rel=1e-9)
    assert 0 < np.max(np.abs(edge.step)) < 1e-2


def test_finer_asked_finer_given():
    loose = exact_kt(SLOT, Strip(width_mm=160), stress_x=1, rel=1e-4)
    tight = exact_kt(SLOT, Strip(width_mm=160), stress_x=1, rel=1e-9)
    assert tight.unknowns > loose.unknowns
    assert tight.est_rel_err <= 1e-9
    assert abs(loose.kt / tight.kt - 1) <= loose.est_rel_err <= 1e-4


def test_impossible_accuracy_is_said():
    answer = exact_kt(HOLE, InfinitePlate(), stress_x=1, rel=1e-16)
    assert answer.est_rel_err > 1e-16
    assert answer.kt == pytest.approx(3, rel=1e-9)
    assert len(LEVELS) > 2


def kts(cutout, domain):
    return [exact_kt(cutout, domain, **{load: 1.0}).kt for load in ("stress_x", "stress_y", "shear")]


def test_wide_strips_and_rows_become_the_infinite_plate():
    alone = kts(SLOT, InfinitePlate())
    assert kts(SLOT, Strip(width_mm=40000)) == pytest.approx(alone, rel=1e-4)
    assert kts(SLOT, Row(pitch_mm=40000)) == pytest.approx(alone, rel=1e-4)
    assert kts(SLOT, FinitePlate(length_mm=40000, width_mm=40000)) == pytest.approx(alone, rel=1e-4)


def test_long_plates_and_far_rows_become_the_strip():
    strip = kts(SLOT, Strip(width_mm=200))
    assert kts(SLOT, StripRow(pitch_mm=1500, width_mm=200)) == pytest.approx(strip, rel=1e-6)
    assert kts(SLOT, FinitePlate(length_mm=1500, width_mm=200)) == pytest.approx(strip, rel=1e-6)


def test_a_row_in_a_wide_strip_becomes_the_row():
    row = np.array(kts(SLOT, Row(pitch_mm=120)))
    wide, wider = (np.array(kts(SLOT, StripRow(pitch_mm=120, width_mm=w))) for w in (4000, 8000))
    # the mean stress of a section is kept, so the holes' share fades as 1 / width: extrapolated to no share
    assert 2 * wider - wide == pytest.approx(row, rel=1e-3)


def test_plates_know_their_domain():
    plate = Plate(length_mm=800, width_mm=200, thickness_mm=10, cutout=HOLE)
    assert domain_of(plate) == FinitePlate(length_mm=800, width_mm=200)
    row = PlateRow(pitch_mm=90, width_mm=200, thickness_mm=10, cutout=HOLE)
    assert domain_of(row) == StripRow(pitch_mm=90, width_mm=200)
    assert exact_kt(HOLE, domain_of(plate), stress_x=1).kt == pytest.approx(3.152567, abs=2e-6)


@pytest.mark.parametrize("domain", [InfinitePlate(), Strip(width_mm=200), Row(pitch_mm=200)])
def test_a_sharp_corner_has_no_number(domain):
    sharp = Slot(size_x_mm=60, size_y_mm=120, corner_radius_mm=0)
    with pytest.raises(NoNumber, match="corner radius"):
        exact_kt(sharp, domain, stress_x=1)
    with pytest.raises(NoNumber, match="without bound"):
        exact_edge(sharp, domain, ("tension_x",))


@pytest.mark.parametrize(
    ("domain", "field"),
    [
        (Strip(width_mm=120), "width_mm"),
        (Row(pitch_mm=50), "pitch_mm"),
        (FinitePlate(length_mm=50, width_mm=math.nan), "length_mm"),
        (StripRow(pitch_mm=100, width_mm=100), "width_mm"),
    ],
)
def test_a_hole_that_does_not_fit_is_refused(domain, field):
    with pytest.raises(InputFault) as caught:
        exact_kt(SLOT, domain, stress_x=1)
    assert field in [fault.field for fault in caught.value.faults]


def test_loads_must_be_known():
    with pytest.raises(InputFault, match="did you mean 'tension_x'"):
        exact_edge(SLOT, InfinitePlate(), ("tensionx",))
    with pytest.raises(InputFault, match="at least one"):
        exact_edge(SLOT, InfinitePlate(), ())
    with pytest.raises(InputFault, match="not all zero"):
        exact_kt(SLOT, InfinitePlate())


@pytest.mark.parametrize("radius", [0.02, 0.3, 29.99999, 30 - 1e-9, 30.0])
def test_radii_from_tiny_to_full(radius):
    answer = exact_kt(Slot(size_x_mm=60, size_y_mm=120, corner_radius_mm=radius), InfinitePlate(), shear=1)
    assert answer.est_rel_err <= 1e-6
    finer = exact_kt(Slot(size_x_mm=60, size_y_mm=120, corner_radius_mm=radius), InfinitePlate(), shear=1, rel=1e-8)
    assert answer.kt == pytest.approx(finer.kt, rel=1e-6)


def test_a_thin_ligament_still_settles():
    answer = exact_kt(Circle(diameter_mm=99), Strip(width_mm=100), stress_x=1)
    # the net Kt tends to 2 as the ligament vanishes
    assert answer.est_rel_err <= 1e-6
    assert answer.kt * 0.01 == pytest.approx(2, rel=0.01)


def test_too_long_a_slot_is_refused_before_memory_is_gone():
    with pytest.raises(OverBudget, match="nodes"):
        exact_kt(Slot(size_x_mm=4000, size_y_mm=2, corner_radius_mm=0.5), InfinitePlate(), stress_y=1)
