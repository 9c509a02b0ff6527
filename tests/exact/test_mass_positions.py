"""Plates on positions: the proven optimum against exhaustive search, the bounds, the limits, and what they cost."""

import itertools
import math
import subprocess
import sys
import time

import numpy as np
import pytest

from femdrum.model.balance_input import MassPositions
from femdrum.rotor.lattice_basis import reduced_basis
from femdrum.rotor.mass_positions import best_masses
from femdrum.rotor.position_program import GAP, Program
from femdrum.rotor.position_search import axes_of, joined_sums, sums_of

U = 229e3


def arms(there):
    return there.quantum_g_mm * np.exp(1j * np.radians(there.angles_deg))


def exhaustive(unbalance, there):
    """Least residual over every choice of plates within the limits, and the fewest plates that reach it."""
    stacks = [range(there.most_plates + 1) if i not in there.blocked else (0,) for i in range(1, there.count + 1)]
    counts = np.array(list(itertools.product(*stacks)))
    used, plates = np.count_nonzero(counts, axis=1), counts.sum(axis=1)
    good = np.ones(len(counts), bool)
    if there.most_used is not None:
        good &= used <= there.most_used
    if there.most_mass_g is not None:
        good &= plates * there.plate_g <= there.most_mass_g * (1 + 1e-12)
    left = np.abs(unbalance + counts[good] @ arms(there))
    return left, plates[good], used[good]


def random_case(rng, case):
    """2 to 8 positions, even or anywhere, stacks of 1 to 3, with and without limits and blocked positions."""
    count = int(rng.integers(2, 9))
    fields = {"z_mm": 0, "radius_mm": float(rng.uniform(250, 420)), "plate_g": float(rng.uniform(80, 400))}
    fields["most_plates"] = int(rng.integers(1, 4)) if count < 8 else int(rng.integers(1, 3))
    if rng.random() < 0.4:
        fields["most_used"] = int(rng.integers(1, count + 1))
    if rng.random() < 0.3:
        fields["most_mass_g"] = fields["plate_g"] * float(rng.uniform(1, 2 * count))
    if count > 2 and rng.random() < 0.3:
        fields["blocked"] = (int(rng.integers(1, count + 1)),)
    if case % 2:
        there = MassPositions.even(count, first_deg=float(rng.uniform(0, 360)), **fields)
    else:
        angles = np.sort(rng.choice(72, count, replace=False)) * 5.0 + rng.uniform(0, 4)
        there = MassPositions(angles_deg=tuple(float(a) for a in angles), **fields)
    size = there.quantum_g_mm * rng.uniform(0, 4)
    return there, complex(size * np.exp(2j * math.pi * rng.random()))


@pytest.mark.parametrize("part", range(8))
def test_equal_to_exhaustive_search(part):
    """200 random cases: least residual, fewest plates at it, proven, with bound and residual not further apart than GAP."""
    rng = np.random.default_rng(100 + part)
    for case in range(25):
        there, unbalance = random_case(rng, case)
        left, plates, _ = exhaustive(unbalance, there)
        plan = best_masses([unbalance], [there], [U])
        plane = plan.planes[0]
        assert plan.proven
        assert plane.fewest
        assert abs(plane.residual_g_mm) == pytest.approx(left.min(), abs=2 * GAP * U)
        assert plane.bound <= left.min() / U + 1e-9
        assert plan.gap <= 2 * GAP
        assert sum(plane.plates) <= plates[left <= left.min() + 1e-9 * U].min()
        assert sum(plane.plates) >= plates[left <= left.min() + 2 * GAP * U].min()
        again = unbalance + np.array(plane.plates) @ arms(there)
        assert plane.residual_g_mm == pytest.approx(again, abs=1e-6)


def test_the_program_alone_finds_it():
    """Without a start from enumeration the mixed-integer program still comes to the exhaustive optimum: 40 random cases."""
    rng = np.random.default_rng(7)
    for case in range(40):
        there, unbalance = random_case(rng, case)
        left, _, _ = exhaustive(unbalance, there)
        axes = axes_of(there)
        limit = None if there.most_mass_g is None else int(there.most_mass_g / there.plate_g * (1 + 1e-12))
        program = Program(unbalance, axes, U, most_used=there.most_used, most_plates=limit)
        found = program.least_residual(np.zeros(len(axes.vectors), np.int64))
        assert found.proven
        assert found.share == pytest.approx(left.min() / U, abs=2 * GAP)
        assert found.bound <= left.min() / U + 1e-9
        assert program.allows(found.counts)


@pytest.mark.parametrize("enough", [0.05, 0.2, 0.6])
def test_enough_takes_the_fewest_plates(enough):
    """With a residual that is declared enough: no choice within it has fewer plates, and of those the least residual is taken."""
    rng = np.random.default_rng(int(100 * enough))
    for case in range(15):
        there, unbalance = random_case(rng, case)
        left, plates, _ = exhaustive(unbalance, there)
        plane = best_masses([unbalance], [there], [U], enough_share=enough).planes[0]
        within = left <= max(left.min(), enough * U) + 1e-9 * U
        fewest = plates[within].min()
        assert plane.fewest
        assert sum(plane.plates) == fewest
        assert abs(plane.residual_g_mm) == pytest.approx(left[within & (plates == fewest)].min(), abs=3 * GAP * U)


@pytest.mark.parametrize("most_used", [None, 3, 4])
def test_24_positions_of_3_plates_in_two_planes(most_used):
    """Proven in seconds; the time is that of one processor, so that a busy machine does not fail it."""
    rng = np.random.default_rng(5)
    there = MassPositions.even(24, z_mm=0, radius_mm=330, plate_g=250, most_plates=3, most_used=most_used)
    unbalance = list(82.5e3 * 4 * rng.random(2) * np.exp(2j * math.pi * rng.random(2)))
    start = time.process_time()
    plan = best_masses(unbalance, [there, there], [U, U])
    assert time.process_time() - start < 10
    assert plan.proven
    assert plan.gap <= 2 * GAP
    assert all(plane.fewest for plane in plan.planes)
    if most_used is not None:
        assert max(np.count_nonzero(plane.plates) for plane in plan.planes) <= most_used


def test_two_ways_agree_where_both_can():
    """12 positions without limit, irregular: pairs of half sums and the program, each alone."""
    rng = np.random.default_rng(11)
    for _ in range(4):
        angles = np.sort(rng.choice(72, 10, replace=False)) * 5.0 + 1.0
        there = MassPositions(angles_deg=tuple(angles), z_mm=0, radius_mm=330, plate_g=250, most_plates=2)
        unbalance = complex(200e3 * np.exp(2j * math.pi * rng.random()))
        axes = axes_of(there)
        program = Program(unbalance, axes, U)
        found = program.least_residual(np.zeros(len(axes.vectors), np.int64))
        one, other = (sums_of(axes, only=range(first, len(axes.vectors), 2)) for first in (0, 1))
        counts, least, nearest = joined_sums(one, other, axes, -unbalance, program.allows)
        assert nearest
        assert one.complete
        assert least == pytest.approx(abs(program.residual(counts)) * U, rel=1e-9)
        assert found.share == pytest.approx(least / U, abs=GAP)


def test_a_stopped_search_says_so():
    """With a single node nothing is proven: bound below residual, a warning, and never a claim."""
    angles = tuple(np.sort(np.random.default_rng(1).choice(90, 22, replace=False)) * 4.0 + 0.5)
    there = MassPositions(angles_deg=angles, z_mm=0, radius_mm=330, plate_g=250, most_plates=3)
    plan = best_masses([150e3 + 40e3j], [there], [U], most_nodes=1)
    assert not plan.proven
    assert plan.planes[0].bound < plan.share
    assert "not proven" in plan.warnings[0]


def test_exact_cancellation_and_nothing_to_do():
    there = MassPositions.even(8, z_mm=0, radius_mm=300, plate_g=200, most_plates=3)
    away = -(2 * arms(there)[1] + 3 * arms(there)[2])
    plan = best_masses([away, 0j], [there, there], [U, U])
    assert plan.planes[0].plates == (0, 2, 3, 0, 0, 0, 0, 0)
    assert plan.planes[1].plates == (0,) * 8
    assert plan.share <= 1e-12
    assert plan.plates == 5


def test_out_of_reach_is_said():
    there = MassPositions.even(4, z_mm=0, radius_mm=300, plate_g=100, most_plates=1, most_used=1)
    plan = best_masses([3e6], [there], [U])
    assert plan.planes[0].plates == (0, 0, 1, 0)
    assert plan.share == pytest.approx((3e6 - 30e3) / U)
    assert "above the permissible" in plan.warnings[0]


def test_reduced_basis_is_unimodular_and_short():
    """Every whole count stays reachable; steps that hardly change the sum are found."""
    vectors = np.exp(2j * math.pi * np.arange(12) / 24)
    basis = reduced_basis(vectors, 1e4)
    assert round(abs(np.linalg.det(basis.astype(float)))) == 1
    moved = np.abs(vectors @ basis)
    # four independent whole-number relations among twelve directions of 15 degrees
    assert np.count_nonzero(moved < 1e-12) == 4
    assert np.abs(basis[:, moved < 1e-12]).max() == 1
    # the other steps move the sum by hundredths of a plate, where a plate alone moves it by one
    assert moved.max() < 0.02
    assert np.array_equal(reduced_basis(vectors[:3], 0.0), np.eye(3))


def test_what_the_solver_writes_by_itself_is_kept_off_standard_output():
    """A C library's line in between is dropped, what stood before and after it is not; in a process of its own."""
    code = (
        "import ctypes, sys\n"
        "from femdrum.rotor.position_program import silent\n"
        "write = ctypes.CDLL(None).puts\n"
        "print('before'); write(b'library before')\n"
        "with silent():\n    write(b'library meanwhile')\n"
        "write(b'library after'); print('after')\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert sorted(run.stdout.split("\n")) == ["", "after", "before", "library after", "library before"]


def test_blocked_positions_stay_empty():
    rng = np.random.default_rng(3)
    there = MassPositions.even(12, z_mm=0, radius_mm=330, plate_g=250, most_plates=3, blocked=(1, 5, 9))
    for _ in range(3):
        plates = best_masses([complex(250e3 * np.exp(2j * math.pi * rng.random()))], [there], [U]).planes[0].plates
        assert plates[0] == plates[4] == plates[8] == 0
