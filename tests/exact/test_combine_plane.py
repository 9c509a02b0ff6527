"""Conditions in the plane, on the exact solution: adding maxima against the truth, and conditions against direct solutions."""

from __future__ import annotations

import math

import numpy as np
import pytest

from femdrum.assess.combine import turning_range, worst_angle
from femdrum.assess.combine_peaks import adding_maxima, equal_peaks, shares
from femdrum.handbook.domains import InfinitePlate
from femdrum.handbook.exact import exact_edge, exact_kt
from femdrum.model.cutout import Circle, Slot

CASES = ("tension_x", "tension_y", "shear")
# half axes 2 : 1, the long one along the drum's axis y; corner radius 0.2 of the short half
SLOT = Slot(size_x_mm=60, size_y_mm=120, corner_radius_mm=6)


def test_adding_maxima_against_the_true_superposition() -> None:
    """5 MPa along the long axis, 20 MPa across it, 25 MPa shear.

    353.8 MPa by adding maxima and 320.3 MPa in truth: check values S30 and S31 of the project's engineering brief,
    computed for this project with another boundary integral (Sherman-Lauricella), each to 0.2 %.
    """
    edge = exact_edge(SLOT, InfinitePlate(), CASES)
    loads = np.diag([20.0, 5.0, 25.0])
    found = adding_maxima(edge, loads)
    assert float(found.total) == pytest.approx(353.8, rel=2e-3)
    assert abs(float(found.combined)) == pytest.approx(320.3, rel=2e-3)
    assert found.excess == pytest.approx(353.8 / 320.3 - 1, abs=2e-3)
    assert found.words.startswith("Adding the separate peaks of the 3 loads would say 353.")
    assert "10 % above the 320.3" in found.words


def test_a_condition_is_the_direct_solution() -> None:
    edge = exact_edge(SLOT, InfinitePlate(), CASES)
    combined = edge.combine([20.0, 5.0, 25.0])
    direct = exact_kt(SLOT, InfinitePlate(), stress_x=20, stress_y=5, shear=25)
    peaks = combined.peaks()
    assert abs(float(peaks.peak)) == pytest.approx(abs(direct.signed), rel=2e-4)
    assert peaks.at is not None
    parts = shares(edge.combine(np.diag([20.0, 5.0, 25.0])), combined, peaks.at, CASES)
    here = combined.stress[0, 0, peaks.at.s_index, 0, 0]
    assert sum(p.stress_MPa for p in parts) == pytest.approx(here, rel=1e-10)
    assert max(parts, key=lambda p: p.stress_MPa).load == "shear"
    # a symmetric slot under mixed pull and shear: two equal peaks, diagonally opposite
    spots = equal_peaks(combined)
    assert len(spots) == 2
    assert spots[0].x_mm == pytest.approx(-spots[1].x_mm)
    assert spots[0].y_mm == pytest.approx(-spots[1].y_mm)
    assert len(equal_peaks(edge.combine([0.0, 0.0, 1.0]))) == 4
    assert len(equal_peaks(edge.combine([1.0, 0.0, 0.0]))) == 4


def test_turning_pull_at_a_circle_keeps_its_peak() -> None:
    """A pull that turns around a round hole: 3 times the pull at every angle, and 4 times as range of a place.

    Uniform tension s at angle phi: s/2 in all directions, and s/2 (cos 2 phi, sin 2 phi) as difference and shear; the
    state turns at twice the angle. Along the edge at theta: s (1 - 2 cos(2 theta - 2 phi)), Kirsch.
    """
    edge = exact_edge(Circle(diameter_mm=40), InfinitePlate(), CASES)
    s = 100.0
    steady, cosine, sine = np.array([s / 2, s / 2, 0]), np.array([s / 2, -s / 2, 0]), np.array([0, 0, s / 2])
    worst = worst_angle(edge, steady, cosine, sine)
    assert worst.sample_MPa == pytest.approx(3 * s, rel=1e-8)
    found = turning_range(edge, steady, cosine, sine)
    assert float(found.range) == pytest.approx(4 * s, rel=1e-6)
    assert found.mean_MPa == pytest.approx(s, rel=1e-6)
    assert found.direction_rad % math.pi == pytest.approx(0.0, abs=1e-6)


def test_worst_angle_of_a_slot_meets_the_direct_scan() -> None:
    edge = exact_edge(SLOT, InfinitePlate(), CASES)
    steady, cosine, sine = np.array([15.0, 0, 0]), np.array([0, 30.0, 0]), np.array([0, 0, 10.0])
    worst = worst_angle(edge, steady, cosine, sine)
    turn = np.linspace(0, 2 * math.pi, 145)
    direct = [
        exact_kt(SLOT, InfinitePlate(), stress_x=15, stress_y=30 * math.cos(p), shear=10 * math.sin(p)).signed
        for p in turn[::12]
    ]
    assert abs(worst.sample_MPa) >= max(abs(d) for d in direct) * (1 - 2e-4)
    own = exact_kt(SLOT, InfinitePlate(), stress_x=worst.factors[0], stress_y=worst.factors[1], shear=worst.factors[2])
    assert own.signed == pytest.approx(worst.sample_MPa, rel=2e-4)
    sampled = [np.max(np.abs(edge.combine(steady + math.cos(p) * cosine + math.sin(p) * sine).stress)) for p in turn]
    assert abs(worst.sample_MPa) == pytest.approx(max(sampled), rel=1e-3)
    assert abs(worst.sample_MPa) >= max(sampled)
