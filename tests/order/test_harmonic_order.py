"""Harmonic elements: observed orders of convergence, the ladder's steps, and what must not depend on the drawing."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

import femdrum as fd
from femdrum.errors import InputFault, OverBudget
from femdrum.fem.end_divide import counted, pair
from femdrum.fem.end_mesh import EndFineness
from femdrum.fem.end_shaft import SteppedShaft, shaft_section, solve_shaft
from femdrum.fem.harmonic_element import AXIAL, BENDING
from femdrum.fem.harmonic_loads import BeamSection, end_loads, rotation_load
from femdrum.fem.harmonic_recovery import curve_stress
from femdrum.fem.harmonic_section import Section, rectangle_section
from femdrum.fem.harmonic_solve import solve_loads
from femdrum.handbook.closed_forms import rotating_long_cylinder
from femdrum.units import density_t_mm3

STEEL = fd.steel("S355")
E, NU = STEEL.youngs_modulus_MPa, STEEL.poissons_ratio


def tube(order: int, cells: int, inner: float = 10.0) -> Section:
    section = rectangle_section(np.linspace(inner, 50.0, cells + 1), np.linspace(0.0, 100.0, 2 * cells + 1), order)
    both = np.concatenate([section.curves["bottom"], section.curves["top"]])
    return replace(
        section,
        curves={**section.curves, "cut": section.curves["bottom"], "bar_end": section.curves["top"], "ends": both},
    )


def rotation_error(section: Section) -> float:
    """Of the hoop stress on the bore of a long rotating tube, its length held."""
    section = replace(section, curves={**section.curves, "cut": section.curves["ends"]})
    field = solve_loads(section, STEEL, [rotation_load(section, STEEL)])
    exact = rotating_long_cylinder(
        10.0, inner_mm=10.0, outer_mm=50.0, density_t_mm3=density_t_mm3(7850.0), omega_rad_s=1.0, youngs_modulus_MPa=E,
        poissons_ratio=NU, ends="fixed",
    )  # fmt: skip
    return float(np.abs(curve_stress(field, STEEL, "inner")[0, :, 1] / exact.hoop - 1).max())


def flexure_error(section: Section) -> float:
    """Of the shear on the bore of a tube under a force across."""
    beam = BeamSection(10.0, 50.0)
    loads = end_loads(section, STEEL, bar=beam, bar_end_mm=100.0, cut=beam)[3:]
    field = solve_loads(section, STEEL, loads)
    exact = float(beam.flexure(np.array(10.0), 1.0, NU)[1])
    return float(np.abs(curve_stress(field, STEEL, "inner")[0, :, 2] / exact - 1).max())


@pytest.mark.parametrize("error", [rotation_error, flexure_error])
@pytest.mark.parametrize("order", [1, 2, 3])
def test_observed_order_with_smaller_cells(error, order: int) -> None:
    errors = [error(tube(order, cells)) for cells in (4, 8, 16)]
    observed = math.log2(errors[-2] / errors[-1])
    assert observed >= order - 0.25, errors


@pytest.mark.parametrize("error", [rotation_error, flexure_error])
def test_error_falls_geometrically_with_the_order(error) -> None:
    errors = [error(tube(order, 3)) for order in (2, 4, 6, 8)]
    for coarse, fine in itertools.pairwise(errors):
        assert fine < 0.2 * coarse, errors
    assert errors[-1] < 1e-4


SHAFT = SteppedShaft(large_diameter_mm=200.0, small_diameter_mm=100.0, fillet_radius_mm=10.0)


def peaks(solution) -> np.ndarray:
    return np.array([float(solution.curves["fillet"].peaks(state).peak) for state in np.eye(4)])


@pytest.fixture(scope="module")
def fine_peaks() -> np.ndarray:
    fine = EndFineness(arc_cells=8, growth=1.6)
    return peaks(solve_shaft(SHAFT, STEEL, fd.Accuracy(error=1e-5), fine, (6, 7)))


def test_fillet_peaks_converge_with_the_order(fine_peaks: np.ndarray) -> None:
    """Thrust, torsion, bending, shear. Torsion is slowest: the curvature's jump at the fillet's end is nearest to its peak."""
    errors = [
        np.abs(peaks(solve_shaft(SHAFT, STEEL, fd.Accuracy(error=1e-5), orders=(p - 1, p))) / fine_peaks - 1)
        for p in (3, 5, 7)
    ]
    assert errors[0].max() < 1e-2
    assert errors[1].max() < 1e-3
    assert errors[2].max() < 3e-4
    assert errors[2].max() < 0.2 * errors[0].max(), errors


def test_bands_hold_what_is_missing(fine_peaks: np.ndarray) -> None:
    for error in (0.02, 0.002):
        solution = solve_shaft(SHAFT, STEEL, fd.Accuracy(error=error))
        assert solution.settled
        for state, wanted in zip(np.eye(4), fine_peaks, strict=True):
            peak = solution.curves["fillet"].peaks(state, error).peak
            assert abs(float(peak) - wanted) <= peak.band <= error * abs(wanted)
            assert str(peak).endswith("settled")


def test_the_ladder_stops_at_its_budget() -> None:
    with pytest.raises(OverBudget, match="two orders"):
        solve_shaft(SHAFT, STEEL, fd.Accuracy(error=1e-5, most_unknowns=4_000))
    some = solve_shaft(SHAFT, STEEL, fd.Accuracy(error=1e-5, most_unknowns=9_000))
    assert not some.settled
    assert "most_unknowns" in some.reason
    assert len(some.ladder) >= 2
    assert [r.order for r in some.ladder] == list(range(3, 3 + len(some.ladder)))
    assert str(some.curves["fillet"].peaks([1, 0, 0, 0], 1e-5).peak).endswith("not settled")


def test_size_and_stiffness_scale_out() -> None:
    """Stress of a shaft twice as large falls with the area (pull) and the section modulus; it does not know Young's modulus."""
    large = SteppedShaft(large_diameter_mm=400.0, small_diameter_mm=200.0, fillet_radius_mm=20.0)
    soft = fd.Material(youngs_modulus_MPa=70e3, poissons_ratio=0.3)
    one, two, three = (
        peaks(solve_shaft(s, m, fd.Accuracy(error=1e-5), orders=(3, 4)))
        for s, m in ((SHAFT, STEEL), (large, STEEL), (SHAFT, soft))
    )
    assert one / two == pytest.approx([4.0, 8.0, 8.0, 4.0], rel=1e-8)
    assert one == pytest.approx(three, rel=1e-8)


def test_a_coarse_drawing_of_the_same_shaft_gives_the_same_section() -> None:
    low, high = (shaft_section(SHAFT, order) for order in (3, 6))
    assert len(low.cells) == len(high.cells)
    for name in ("cut", "bar_end", "fillet"):
        assert np.allclose(low.nodes[low.curves[name][::3]], high.nodes[high.curves[name][::6]], rtol=0, atol=1e-9)
    # arc length of the fillet: a quarter of a circle and the cells beside it
    arc = high.nodes[high.curves["fillet"]]
    on = np.isclose(np.hypot(arc[:, 0] - 60.0, arc[:, 1] - 310.0), 10.0)
    s = high.length_mm("fillet")[on]
    assert s[-1] - s[0] == pytest.approx(0.5 * math.pi * 10.0, rel=1e-9)


def test_volume_of_the_section() -> None:
    """By the weight of a unit force per volume: no cell is missing, none counted twice."""
    from femdrum.fem.harmonic_loads import body_load, resultants

    section = shaft_section(SHAFT, 6)
    weight = body_load(section, AXIAL, lambda r, z: np.stack([0 * r, 0 * r, 1 + 0 * r], -1))
    r, a = 10.0, 50.0
    # the fillet's ring: area (1 - pi/4) r^2, its centroid r (1 - (5/3 - pi/2) / (2 - pi/2)) ... by integration
    x = np.polynomial.legendre.leggauss(60)
    z = 0.5 * r * (x[0] + 1)
    edge = a + r - np.sqrt(r**2 - (r - z) ** 2)
    ring = math.pi * float((edge**2 - a**2) @ x[1]) * 0.5 * r
    wanted = math.pi * 100.0**2 * SHAFT.shoulder_mm + math.pi * a**2 * (SHAFT.end_mm - SHAFT.shoulder_mm) + ring
    assert resultants(section, AXIAL, weight).axial_N == pytest.approx(wanted, rel=1e-6)
    assert BENDING.around == pytest.approx(0.5 * AXIAL.around)


def test_divisions() -> None:
    ends = counted(10.0, 0.5, 6)
    assert ends[0] == 0
    assert ends[-1] == pytest.approx(10.0)
    steps = np.diff(ends)
    assert steps[0] == pytest.approx(0.5, rel=1e-6)
    assert np.allclose(steps[1:] / steps[:-1], steps[1] / steps[0])
    assert np.allclose(np.diff(counted(10.0, 5.0, 4)), 2.5)
    ends = pair(100.0, 1.0, 3.0, 2.0)
    steps = np.diff(ends)
    assert ends[-1] == pytest.approx(100.0)
    assert np.all(steps[1:] / steps[:-1] <= 2.0 + 1e-9) or steps.max() / steps.min() > 10
    assert steps[0] < steps.max() / 2 > steps[-1]


@pytest.mark.parametrize(
    "sizes", [(100.0, 100.0, 10.0), (100.0, 85.0, 10.0), (100.0, 50.0, 0.0), (100.0, 50.0, -1.0), (100.0, 20.0, 12.0)]
)
def test_shafts_that_cannot_be_drawn_are_refused(sizes: tuple[float, float, float]) -> None:
    with pytest.raises(InputFault):
        SteppedShaft(large_diameter_mm=sizes[0], small_diameter_mm=sizes[1], fillet_radius_mm=sizes[2])
