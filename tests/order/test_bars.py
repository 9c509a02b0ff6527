"""A bar across the ring as a spring between its seats: energy, its limits stiff and soft, and how loads add up."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

import femdrum as fd
from femdrum.assess.states import State, States
from femdrum.fem.cell import Fineness
from femdrum.fem.ring_level import WholeLevel, whole_level
from femdrum.fem.symmetry import mirror_plan
from femdrum.loads.factors import factors
from femdrum.loads.result import Factors, Strut, Term
from femdrum.units import omega_rad_s

STEEL = fd.steel("S355")
SPIN = omega_rad_s(1000) ** 2
RING = fd.Ring(
    outer_diameter_mm=760,
    wall_mm=40,
    pitch_mm=180,
    slots_around=2,
    rows="aligned",
    cutout=fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=30),
)
NAMES = ("rotation", "strut:0", "torsion")
PUSH = "push of the bar in slot 0 on each seat, outward"


def machine(path: str = "both", **changes: Any) -> fd.Machine:
    """The mill of the examples: 1,000 rpm, a bar of 25 kg, 1 m long."""
    bar = {"mass_kg": 25.0, "length_mm": 1000.0, "width_mm": 90.0, "depth_mm": 59.0, "path": path}
    return fd.Machine(speed_rpm=1000, bar=fd.Bar(**{**bar, **changes}))


@cache
def level(slots: int = 2) -> WholeLevel:
    """Unit cases on a coarse mesh; what is asked here holds on any."""
    part = replace(RING, slots_around=slots)
    return whole_level(mirror_plan(part), STEEL, NAMES, Fineness(order=3, cells_per_arc=2, wall_cells=2))


def moved(slots: int = 2) -> np.ndarray:
    """Change of the seats' distance by each unit case, mm."""
    return level(slots).seat_distance(NAMES.index("strut:0"))


def state(strut: Strut | None, **terms: float) -> State:
    """One load of these factors on unit cases, with this bar."""
    made = [Factors(tuple(Term(*t) for t in terms.items()), strut=strut), Factors(tuple(Term(n, 0.0) for n in NAMES))]
    states = States.of(made, ["asked", "all names"], ())
    order = [states.names.index(n) for n in NAMES]
    (found, _) = states.at(_Named(states.names))
    return replace(found, factors=found.factors[order], parts=found.parts[:, order])


class _Named:
    """The solved unit cases in another order."""

    def __init__(self, names: tuple[str, ...]) -> None:
        self.order = [NAMES.index(n) for n in names]

    def seat_distance(self, case: int) -> np.ndarray:
        return level().seat_distance(self.order[case])[self.order]


# the unit case


@pytest.mark.parametrize("slots", [2, 4])
def test_seats_move_apart_by_twice_the_elastic_energy(slots: int) -> None:
    """1 N on each of two seats: work 1 x distance / 2. The energy is found apart, as the work of the unit case's forces in
    the whole row, on the nodes of all copies.
    """
    solved = level(slots)
    case = NAMES.index("strut:0")
    (piece,) = solved.whole.cases[case].pieces
    work = 0.0
    for j, h in itertools.product(range(2 * slots), (0, -1)):
        u = solved.whole.quarter.in_space(solved.whole.displacement(j, h))[..., case]
        work += 0.5 * float(piece.weight[j, h % 2] * (piece.force * u).sum())
    assert work > 0
    # with two slots both stand for one bar, with four the case still loads one pair only
    assert moved(slots)[case] == pytest.approx(2 * work, rel=1e-9)
    assert sum(piece.weight.ravel()) == 8


def test_seat_distance_is_where_the_flanks_go() -> None:
    """Mean radial displacement of the flanks, weighted by the push, at both seats, by rotation."""
    solved, case = level(), NAMES.index("strut:0")
    (piece,) = solved.whole.cases[case].pieces
    share = piece.force[:, 0] / piece.force[:, 0].sum()
    copies = list(itertools.product(range(4), (0, -1)))
    seats = [share @ solved.whole.quarter.in_space(solved.whole.displacement(*c))[:, 0, 0] for c in copies]
    assert moved()[0] == pytest.approx(2 * np.mean(seats), rel=1e-9)
    assert np.ptp(seats) == pytest.approx(0.0, abs=1e-9 * abs(moved()[0]))


def test_torsion_does_not_move_the_seats_apart() -> None:
    around, own = moved()[NAMES.index("torsion")], moved()[NAMES.index("strut:0")]
    # 1e6 N mm against the distance that 1 N makes
    assert abs(1e6 * around) <= 1e-6 * own


# limits of the spring


def test_a_stiff_bar_holds_the_seats_distance() -> None:
    rigid = Strut(0, 1e15, 16e3, 0.0)
    held = state(rigid, rotation=SPIN)
    assert held.pushes[0] == pytest.approx(-SPIN * moved()[0] / moved()[1], rel=1e-9)
    assert moved() @ held.factors == pytest.approx(0.0, abs=1e-9 * abs(SPIN * moved()[0]))
    # it stretches by its own rotation only, and takes the seats along
    stretched = state(replace(rigid, own_stretch_mm=0.01), rotation=SPIN)
    assert moved() @ stretched.factors == pytest.approx(0.01, rel=1e-6)


def test_a_soft_bar_hands_on_its_pull_and_its_stretch() -> None:
    soft = 1e-3  # N/mm: it follows the seats without a force of its own
    pulled = state(Strut(0, soft, 16e3, 0.0), rotation=SPIN)
    assert pulled.pushes[0] == pytest.approx(16e3, rel=1e-6)
    # the more it would stretch, the more it pushes: stiffness times stretch, on top of the pull
    stretch = 1e5
    stretched = state(Strut(0, soft, 16e3, stretch), rotation=SPIN)
    assert stretched.pushes[0] - pulled.pushes[0] == pytest.approx(soft * stretch, rel=1e-6)


def test_any_bar_meets_statics_and_compatibility() -> None:
    """(pull - Q) / k + stretch = change of the seats' distance under all factors together, the push's own among them."""
    for k in (1e3, 1 / moved()[1], 1.5e6):
        strut = Strut(0, k, 16e3, 0.008)
        found = state(strut, rotation=SPIN, torsion=1e9)
        push = found.pushes[0]
        assert found.factors[NAMES.index("strut:0")] == push
        own = (strut.pull_N - push) / k + strut.own_stretch_mm
        assert own == pytest.approx(moved() @ found.factors, rel=1e-9)
        # what the bar does to a ring at rest, and what the ring at speed does to the bar
        still = state(strut)
        assert push - still.pushes[0] == pytest.approx(-SPIN * moved()[0] / (moved()[1] + 1 / k), rel=1e-9)


# a bar in the whole run of solve()


@cache
def both() -> fd.Solution:
    """A clamped bar, torsion, and the two together."""
    loads = [fd.ThroughBar(name="bar"), fd.Torsion(torque_Nm=2e4, name="torsion")]
    together = fd.Condition(name="together", loads={"bar": 1.0, "torsion": -0.5})
    return fd.solve_all(RING, loads, STEEL, error=0.05, machine=machine(), conditions=[together])


def pushed_kN(answer: fd.Answer) -> float:
    return next(f.value for f in answer.figures if f.what == PUSH)


@pytest.mark.slow
def test_clamped_bar_pushes_about_8_kN() -> None:
    """computed elsewhere, an estimate from the bar's and the ring's stiffness: about 8 kN a seat for a bar of 25 kg whose own
    stiffness is about 1,500 kN/mm, where the ring has about 23.
    """
    answer = both()["bar"]
    made = factors(RING, fd.ThroughBar(), machine(), STEEL)
    assert made.strut is not None
    assert made.strut.stiffness_N_mm == pytest.approx(1.5e6, rel=0.05)
    assert 1 / moved()[1] == pytest.approx(23e3, rel=0.15)
    assert pushed_kN(answer) == pytest.approx(8.0, abs=1.5)
    # the bar takes the oval out of the ring: the peak is well below that of empty slots, 121 MPa
    assert float(answer.peak) < 80


@pytest.mark.slow
def test_two_halves_load_the_shell_far_more() -> None:
    halves = fd.solve(RING, fd.ThroughBar(), STEEL, error=0.05, machine=machine("halves"))
    slot = next(f.value for f in halves.figures if f.what == "pull on the slot")
    assert slot == pytest.approx(1e-6 * 12.5 * 250 * SPIN, rel=1e-12)
    assert slot > 4 * pushed_kN(both()["bar"])
    assert float(halves.peak) > 3 * float(both()["bar"].peak)
    assert any("positive stop" in text for text in halves.warnings)


@pytest.mark.slow
def test_bar_and_torsion_together_are_the_sum_of_their_parts() -> None:
    bar, torsion, together = both()["bar"], both()["torsion"], both()["together"]
    assert bar.surface is not None
    assert torsion.surface is not None
    assert together.surface is not None
    expected = bar.surface.stress - 0.5 * torsion.surface.stress
    assert np.abs(together.surface.stress - expected).max() <= 1e-9 * np.abs(expected).max()
    assert pushed_kN(together) == pytest.approx(pushed_kN(bar), rel=1e-9)
    assert sum(share.fraction for share in together.shares) == pytest.approx(1.0, rel=1e-9)


def test_load_that_ovals_the_ring_calls_up_a_push_of_its_own() -> None:
    """A condition is linear in its loads with the bar in place: doubling all doubles the push; the pull comes with the bar once."""
    strut = Strut(0, 1.5e6, 16e3, 0.008)
    once, more = (state(strut, rotation=n * SPIN).pushes[0] for n in (1, 2))
    still = state(strut).pushes[0]
    assert more - still == pytest.approx(2 * (once - still), rel=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize(("clamp_kN", "slips"), [(20.0, True), (147.0, False)])
def test_friction_below_the_push_is_told(clamp_kN: float, slips: bool) -> None:
    """Two faces, friction 0.12: 4.8 kN hold less than the push of about 7, 35 kN more."""
    gripped = machine(clamp_force_kN=clamp_kN, friction=0.12)
    answer = fd.solve(RING, fd.ThroughBar(), STEEL, error=0.1, machine=gripped)
    assert any("would slip" in text for text in answer.warnings) is slips
    held = next(f.value for f in answer.figures if f.what == "friction capacity of one seat")
    assert held == pytest.approx(2 * 0.12 * clamp_kN)
    assert (held < pushed_kN(answer)) is slips
