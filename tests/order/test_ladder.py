"""The mesh ladder: what it says when the budget ends, and that it stops when the band is as asked."""

from __future__ import annotations

import pytest

import femdrum as fd
from femdrum.errors import OverBudget

STEEL = fd.steel("S355")
SLOT = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=15)
RING = fd.Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=4, rows="aligned", cutout=SLOT)
PLATE = fd.Plate(length_mm=400, width_mm=300, thickness_mm=10, cutout=SLOT)


def test_settled_means_as_narrow_as_asked() -> None:
    for error in (0.01, 0.001, 0.0003):
        answer = fd.solve(PLATE, fd.Tension(stress_MPa=100), STEEL, error=error)
        assert answer.verdict == fd.Verdict.SETTLED
        assert answer.peak.relative_band <= error
        assert answer.message == ""


def test_budget_of_unknowns_gives_value_and_band_but_not_settled() -> None:
    free = fd.solve(RING, fd.Rotation(speed_rpm=1000), STEEL, error=0.01)
    limit = int(1.2 * free.unknowns)
    answer = fd.solve(RING, fd.Rotation(speed_rpm=1000), STEEL, error=0.0005, most_unknowns=limit)
    assert answer.verdict == fd.Verdict.NOT_SETTLED
    assert "most_unknowns" in answer.message
    assert answer.unknowns <= limit
    assert float(answer.peak) == pytest.approx(float(free.peak), rel=1e-9)
    assert answer.peak.band == pytest.approx(free.peak.band, rel=1e-9)


def test_budget_of_time_ends_the_ladder() -> None:
    answer = fd.solve(RING, fd.Rotation(speed_rpm=1000), STEEL, error=1e-4, most_seconds=0.01)
    assert answer.verdict == fd.Verdict.NOT_SETTLED
    assert "most_seconds" in answer.message


def test_a_budget_too_small_for_two_meshes_is_said() -> None:
    with pytest.raises(OverBudget, match="two meshes are needed for a band"):
        fd.solve(RING, fd.Rotation(speed_rpm=1000), STEEL, most_unknowns=2000)


def test_ladder_is_reported_coarse_to_fine() -> None:
    answer = fd.solve(RING, fd.Rotation(speed_rpm=1000), STEEL)
    unknowns = [step.unknowns for step in answer.ladder]
    assert unknowns == sorted(unknowns)
    assert answer.unknowns == unknowns[-1]
    assert answer.ladder[-1].peak_MPa == pytest.approx(float(answer.peak))
    assert answer.solver == "Cholesky by parts (LAPACK)"
