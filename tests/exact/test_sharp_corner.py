"""A sharp corner gives no number, in plate and ring; the fit in front of it gives the known exponent."""

from __future__ import annotations

import pytest

import femdrum as fd
from femdrum.errors import NoNumber
from femdrum.fem.sharp import EXPONENT

STEEL = fd.steel("S355")
LOADS = [
    fd.Tension(stress_MPa=100),
    fd.Tension(stress_MPa=100, direction="y"),
    fd.Biaxial(stress_x_MPa=50, stress_y_MPa=100),
    fd.Shear(shear_MPa=100),
]


def unbounded(answer: fd.Answer) -> None:
    assert answer.verdict == fd.Verdict.UNBOUNDED
    assert answer.peaks is None
    assert answer.edge is None
    for quantity in (answer.peak, answer.tension, answer.compression, answer.kt_gross, answer.kt_net):
        assert quantity.value is None
        with pytest.raises(NoNumber):
            float(quantity)
    assert all(step.peak_MPa is None for step in answer.ladder)
    assert "corner radius" in answer.message
    assert answer.against_handbook() == ()


@pytest.mark.parametrize("load", LOADS, ids=lambda load: f"{load.kind} {getattr(load, 'direction', '')}")
@pytest.mark.parametrize("size_y", [40, 120])
def test_plate(load: object, size_y: float) -> None:
    slot = fd.Slot(size_x_mm=60, size_y_mm=size_y, corner_radius_mm=0)
    plate = fd.Plate(length_mm=400, width_mm=300, thickness_mm=10, cutout=slot)
    answer = fd.solve(plate, load, STEEL)
    unbounded(answer)
    assert len(answer.singularity) == 2
    for what, exponent in answer.singularity:
        assert exponent == pytest.approx(EXPONENT, rel=0.03), what


@pytest.mark.parametrize("rows", ["aligned", "alternate"])
def test_ring(rows: str) -> None:
    slot = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=0)
    ring = fd.Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows=rows, cutout=slot)
    for answer in fd.solve_all(
        ring, [fd.Rotation(speed_rpm=1000), fd.Axial(stress_MPa=1)], STEEL, fd.Accuracy()
    ).answers:
        unbounded(answer)
        # a solid's corner line is not straight in the plane's sense near the rims, so mid-wall fits a little wider
        for what, exponent in answer.singularity:
            assert exponent == pytest.approx(EXPONENT, rel=0.05), what


def test_a_tiny_real_radius_has_a_number() -> None:
    slot = fd.Slot(size_x_mm=60, size_y_mm=40, corner_radius_mm=0.2)
    plate = fd.Plate(length_mm=400, width_mm=300, thickness_mm=10, cutout=slot)
    answer = fd.solve(plate, fd.Tension(stress_MPa=100), STEEL)
    assert answer.verdict == fd.Verdict.SETTLED
    exact = answer.against_handbook()[0]
    assert abs(exact.difference) < 5e-3
