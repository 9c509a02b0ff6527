"""Balance by second ways: force and moment, rigid rotors with known answers, scaling, invariance; and what is refused."""

import cmath
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linprog

from femdrum.errors import FileFault, InputFault
from femdrum.model.balance_input import BalanceInput, MassBolts, MassPositions
from femdrum.rotor.balance_plan import PLAN_COLUMNS, balance_plan, before_run, tolerances, write_plan
from femdrum.rotor.balance_planes import force_and_couple, plane_tolerances, shares, split, split_many
from femdrum.rotor.balance_record import read_record
from femdrum.rotor.hammer_placement import pair_opposite, place_hammers
from femdrum.rotor.influence import Run, correction, influence, known_influence, reading
from femdrum.rotor.mass_bolts import hold_mass
from femdrum.rotor.mass_positions import best_masses
from femdrum.rotor.position_reach import reach
from femdrum.rotor.position_search import neighbours_split
from femdrum.rotor.unbalance import (
    HammerSeat,
    budget,
    exchanged,
    hammer_unbalance,
    permissible_unbalance_g_mm,
    polar,
    vector_g_mm,
)
from femdrum.rotor.vibration import casing_velocity_mm_s, casing_vibration, grade_of, zone

RECORD = Path(__file__).parents[2] / "studies" / "balance_record.csv"
BOLTS = {"bolts": 2, "size": "M16", "grade": "10.9"}
LIP = MassBolts(lip=True, lip_height_mm=40, lip_width_mm=80, yield_MPa=355, plate_thickness_mm=8, **BOLTS)


def refused(field):
    """InputFault that names the field, what is allowed and a way out."""
    return pytest.raises(InputFault, match=rf"{field}")


def plane(z_mm=0.0, **fields):
    given = {"count": 12, "radius_mm": 330, "plate_g": 150, "most_plates": 4, "most_used": 3} | fields
    return MassPositions.even(given.pop("count"), z_mm=z_mm, **given)


def given(**fields):
    return BalanceInput(**{
        "grade_mm_s": 6.3, "rotor_mass_kg": 3000, "speed_rpm": 1000, "condition": "new hammers", "bearings_mm": (0, 2200),
        "planes": (plane(220), plane(1980)), "phase_sense": "lag", "bolts": LIP, "total_mass_kg": 15000,
    } | fields)  # fmt: skip


def random_seats(rng, many, length=1800):
    return [
        HammerSeat(
            slot=i + 1, radius_mm=float(rng.uniform(380, 440)), angle_deg=float(rng.uniform(0, 360)),
            z_mm=float(rng.uniform(0, length)),
        )
        for i in range(many)
    ]  # fmt: skip


# ---------------------------------------------------------------- planes


def test_split_keeps_force_and_moment():
    rng = np.random.default_rng(1)
    for _ in range(50):
        z = rng.uniform(-500, 3000, 7)
        u = rng.normal(size=7) + 1j * rng.normal(size=7)
        planes = (float(rng.uniform(-200, 500)), float(rng.uniform(1000, 2500)))
        both = split_many(u, z, planes)
        about = float(rng.uniform(-1000, 3000))
        force, couple = force_and_couple(both, planes, about)
        assert force == pytest.approx(u.sum(), abs=1e-9)
        assert couple == pytest.approx((u * (z - about)).sum(), abs=1e-6)
        one = split(complex(u[0]), float(z[0]), planes)
        assert sum(one) == pytest.approx(u[0], abs=1e-9)


def test_correction_planes_hold_at_the_worst_phase():
    """Residuals at their permissible and any phase keep both bearings; at the worst phase one of them is just met."""
    rng = np.random.default_rng(2)
    for _ in range(40):
        bearings = (0.0, float(rng.uniform(1500, 3000)))
        planes = (float(rng.uniform(-300, 700)), float(rng.uniform(900, 1.2 * bearings[1])))
        found = plane_tolerances(
            1e5, bearings_mm=bearings, cg_mm=float(rng.uniform(0.1, 0.9)) * bearings[1], planes_mm=planes
        )  # fmt: skip
        p = np.array(found.planes_g_mm)
        assert p.min() > 0
        phases = np.exp(2j * np.pi * np.arange(720) / 720)
        worst = max(found.bearing_share((p[0], p[1] * turn)) for turn in phases)
        assert worst == pytest.approx(1, abs=1e-9)
        # no other pair with a larger product is allowed
        matrix = np.abs([shares(z, bearings) for z in planes]).T
        for share in np.linspace(0.02, 0.98, 60):
            other = np.array([share, 1 - share])
            other *= (np.array(found.bearings_g_mm) / (matrix @ other)).min()
            assert other[0] * other[1] <= p[0] * p[1] * (1 + 1e-9)


def test_planes_in_the_bearings_take_over_their_tolerances():
    found = plane_tolerances(9e4, bearings_mm=(0, 2000), cg_mm=800, planes_mm=(0, 2000))
    assert found.bearings_g_mm == pytest.approx((54e3, 36e3))
    assert found.planes_g_mm == pytest.approx((54e3, 36e3))
    assert not found.limited


@pytest.mark.parametrize(("cg", "share"), [(0, 0.7), (400, 0.7), (1000, 0.5), (1900, 0.3)])
def test_shares_of_bearings_stay_within_limits(cg, share):
    found = plane_tolerances(1e5, bearings_mm=(0, 2000), cg_mm=cg, planes_mm=(100, 1900))
    assert found.bearings_g_mm[0] == pytest.approx(share * 1e5)
    assert found.limited == (cg not in (1000,))


def test_grade_is_the_inverse_of_the_permissible():
    allowed = permissible_unbalance_g_mm(grade_mm_s=6.3, mass_kg=2200, speed_rpm=870)
    assert grade_of(allowed, mass_kg=2200, speed_rpm=870) == pytest.approx(6.3)
    parts = budget(allowed)
    assert sum(f.value for f in parts) == pytest.approx(allowed)
    assert all(str(f.provenance).startswith("common practice") for f in parts)


# ---------------------------------------------------------------- hammers


def test_equal_hammers_in_a_symmetric_pattern_are_in_balance():
    seats = [HammerSeat(slot=2 * r + k + 1, radius_mm=420, angle_deg=180 * k + 30 * r, z_mm=100.0 * r) for r in range(12) for k in (0, 1)]  # fmt: skip
    found = hammer_unbalance(seats, [12e3] * 24, about_mm=550)
    assert abs(found.force_g_mm) < 1e-9 * 12e3 * 420
    assert abs(found.couple_g_mm2) < 1e-9 * 12e3 * 420 * 550


def test_a_lost_hammer_is_its_mass_times_radius_the_other_way():
    seats = random_seats(np.random.default_rng(3), 10)
    masses = list(np.random.default_rng(4).uniform(11e3, 13e3, 10))
    lost = hammer_unbalance(seats, {4: -masses[3]}, about_mm=900)
    size, angle = polar(lost.force_g_mm)
    assert size == pytest.approx(masses[3] * seats[3].radius_mm, rel=1e-12)
    assert angle == pytest.approx((seats[3].angle_deg + 180) % 360)
    assert lost.couple_g_mm2 == pytest.approx(lost.force_g_mm * (seats[3].z_mm - 900))


def test_exchange_is_the_difference_of_two_listings():
    rng = np.random.default_rng(5)
    seats, masses = random_seats(rng, 8), list(rng.uniform(11e3, 13e3, 8))
    swapped = list(masses)
    swapped[1], swapped[6] = swapped[6], swapped[1]
    change = exchanged(seats, masses, 2, 7)
    before, after = hammer_unbalance(seats, masses), hammer_unbalance(seats, swapped)
    assert change.force_g_mm == pytest.approx(after.force_g_mm - before.force_g_mm, abs=1e-6)
    assert change.couple_g_mm2 == pytest.approx(after.couple_g_mm2 - before.couple_g_mm2, abs=1e-2)


@pytest.mark.parametrize("seed", range(6))
def test_search_meets_every_order(monkeypatch, seed):
    """With 7 hammers on any seats the search, left to itself, ends at the proven optimum of force and couple."""
    rng = np.random.default_rng(seed)
    seats, masses = random_seats(rng, 7), [float(m) for m in rng.normal(12e3, 150, 7)]
    how = {"planes_mm": (0, 1800), "permissible_g_mm": (900.0, 1400.0), "besides_g_mm": (2e4 + 1e4j, -1e4j)}
    proven = place_hammers(masses, seats, **how)
    monkeypatch.setattr("femdrum.rotor.hammer_placement.PROVEN_UP_TO", 2)
    searched = place_hammers(masses, seats, **how)
    assert proven.proven
    assert not searched.proven
    assert searched.share == pytest.approx(proven.share, rel=1e-9)
    # and it is what it says: force and couple of the hammers as placed
    again = hammer_unbalance(seats, [masses[k] for k in searched.order])
    both = split_many(again.vectors_g_mm, again.z_mm, (0, 1800))
    assert np.add(both, how["besides_g_mm"]) == pytest.approx(np.array(searched.after), abs=1e-6)


def test_many_hammers_are_placed_far_better_than_by_pairs():
    rng = np.random.default_rng(6)
    seats = [HammerSeat(slot=2 * r + k + 1, radius_mm=420, angle_deg=(180 * k + 37 * r) % 360, z_mm=75.0 * r) for r in range(24) for k in (0, 1)]  # fmt: skip
    masses = [12e3 + 5 * round(m / 5) for m in rng.normal(0, 150, 48)]
    found = place_hammers(masses, seats, planes_mm=(0, 1800), permissible_g_mm=(229e3, 229e3))
    assert sorted(found.order) == list(range(48))
    assert found.share <= 1e-3
    pairs = pair_opposite(masses, seats)
    assert sorted(pairs) == list(range(48))
    assert max(abs(v) for v in found.paired) < max(abs(v) for v in found.before)
    assert found.share < 0.05 * max(abs(v) for v in found.paired) / 229e3
    # the short list gets better step by step, and its first step is what it says
    steps = [share for _, _, share in found.exchanges]
    assert steps == sorted(steps, reverse=True)
    a, b, share = found.exchanges[0]
    change = exchanged(seats, masses, a, b)
    after = np.add(found.before, split_many(change.vectors_g_mm, change.z_mm, (0, 1800)))
    assert np.abs(after).max() / 229e3 == pytest.approx(share, rel=1e-9)
    # the same seed, the same plan
    assert place_hammers(masses, seats, planes_mm=(0, 1800), permissible_g_mm=(229e3, 229e3)).order == found.order


def test_seats_that_do_not_pair():
    seats = random_seats(np.random.default_rng(8), 6)
    assert pair_opposite([12e3] * 6, seats) is None


# ---------------------------------------------------------------- influence


def rotor(rng, probes, planes):
    return rng.normal(size=(probes, planes)) + 1j * rng.normal(size=(probes, planes))


@pytest.mark.parametrize("kept", [False, True])
@pytest.mark.parametrize(("probes", "planes", "more"), [(2, 2, 0), (4, 2, 0), (3, 3, 0), (4, 2, 2)])
def test_a_linear_rotor_is_balanced_exactly(kept, probes, planes, more):
    """Any linear rotor, trial masses left in or taken off, more runs than planes: influences and unbalance come back."""
    rng = np.random.default_rng(10 * probes + planes + more + kept)
    matrix, unbalance = rotor(rng, probes, planes), rng.normal(size=planes) + 1j * rng.normal(size=planes)
    masses = np.zeros(planes, complex)
    runs = []
    for k in range(planes + more):
        masses = masses.copy() if kept else np.zeros(planes, complex)
        masses[k % planes] += rng.normal() + 1j * rng.normal()
        runs.append(Run(matrix @ (unbalance + masses), masses))
    found = influence(matrix @ unbalance, runs)
    assert found.matrix == pytest.approx(matrix, abs=1e-9)
    assert found.misfit < 1e-9
    answer = correction(found, matrix @ unbalance, runs=runs)
    assert answer.unbalance == pytest.approx(unbalance, abs=1e-9)
    assert answer.after < 1e-9


def test_least_squares_leaves_less_than_any_other_masses():
    rng = np.random.default_rng(12)
    known = known_influence(rotor(rng, 5, 2))
    values = rng.normal(size=5) + 1j * rng.normal(size=5)
    weights = rng.uniform(0.2, 2, 5)
    answer = correction(known, values, weights=weights)
    best = np.linalg.norm(answer.predicted * weights)
    for _ in range(200):
        other = answer.masses + 0.1 * (rng.normal(size=2) + 1j * rng.normal(size=2))
        assert np.linalg.norm((values + known.matrix @ other) * weights) >= best


def test_condition_of_planes_that_do_nearly_the_same():
    """Two columns at an angle: condition cot(angle / 2), independent share sin(angle); scaling a column changes neither."""
    for angle in (0.05, 0.4, 1.2):
        matrix = np.array([[1, math.cos(angle)], [0, math.sin(angle)]], complex)
        for scale in (1, 1e3 * cmath.exp(0.3j)):
            found = known_influence(matrix * np.array([scale, 1]))
            assert found.condition == pytest.approx(1 / math.tan(angle / 2), rel=1e-9)
            assert found.independent == pytest.approx((math.sin(angle),) * 2, rel=1e-9)
    assert "ILL" in known_influence(np.array([[1, 1], [0, 0.05]], complex)).warnings[0]


def test_scatter_from_errors_of_reading_grows_with_the_condition():
    rng = np.random.default_rng(13)
    unbalance = np.array([1.0, 0.5j])
    spread = []
    for angle in (1.4, 0.3, 0.1):
        matrix = np.array([[1, math.cos(angle)], [0, math.sin(angle)]], complex)
        runs = [Run(matrix @ (unbalance + np.eye(2)[k]), np.eye(2, dtype=complex)[k]) for k in range(2)]
        answer = correction(influence(matrix @ unbalance, runs), matrix @ unbalance, runs=runs)
        spread.append(max(answer.scatter))
    assert spread == sorted(spread)
    # one plane, one probe: errors of two readings on the unbalance itself, by hand
    runs = [Run(np.array([3.0 + 0j]), np.array([2.0 + 0j]))]
    answer = correction(influence(np.array([1.0 + 0j]), runs), np.array([1.0 + 0j]), runs=runs)
    noise = 0.02 * (rng.normal(size=(2, 20000)) + 1j * rng.normal(size=(2, 20000))) / math.sqrt(2)
    first, second = 1 + noise[0], 3 * (1 + noise[1])
    by_hand = np.quantile(np.abs(-2 * first / (second - first) + 1), 0.95)
    assert answer.scatter[0] == pytest.approx(by_hand, rel=0.15)


def test_lag_is_a_lead_backwards():
    """A rotor read by an instrument that counts lag: only the right sense balances it."""
    rng = np.random.default_rng(14)
    matrix, unbalance = rotor(rng, 2, 2), np.array([300 * cmath.exp(1j), 200 * cmath.exp(4j)])
    trials = [np.array([250, 0], complex), np.array([0, 250j], complex)]
    shown = [
        (np.abs(v), np.degrees(-np.angle(v))) for v in [matrix @ unbalance, *(matrix @ (unbalance + t) for t in trials)]
    ]
    for sense, good in (("lag", True), ("lead", False)):
        read = [np.array([reading(a, p, sense) for a, p in zip(*run, strict=True)]) for run in shown]
        runs = [Run(v, t) for v, t in zip(read[1:], trials, strict=True)]
        answer = correction(influence(read[0], runs), read[0])
        assert np.allclose(answer.unbalance, unbalance) == good


def test_small_trial_masses_are_warned_of():
    rng = np.random.default_rng(15)
    matrix, unbalance = rotor(rng, 2, 2), np.array([1.0, 1.0j])
    runs = [Run(matrix @ (unbalance + t), t) for t in (np.array([0.01, 0j]), np.array([0, 2.0 + 0j]))]
    found = influence(matrix @ unbalance, runs)
    assert found.small == (1,)
    assert "larger trial mass" in found.warnings[-1]


# ---------------------------------------------------------------- positions, bolts, vibration


def test_reach_scales_with_the_plate_and_not_with_the_drum():
    small, large = (reach(plane(radius_mm=r, plate_g=q), 1e4) for r, q in ((200, 100), (400, 300)))
    assert small.p95 == pytest.approx(large.p95)
    assert large.p95_g_mm == pytest.approx(6 * small.p95_g_mm)
    assert reach(plane(), 1e4, most_used=2).p95 > reach(plane(), 1e4, most_used=3).p95


def test_plates_too_coarse_by_the_rule():
    """P95 q r < 0.3 U: just above and just below the rule; plates made finer by the named share keep it."""
    there = plane(plate_g=250)
    found = reach(there, 1e5)
    limit = found.p95_g_mm / 0.3
    assert reach(there, 0.99 * limit).coarse
    assert "Plates too coarse" in reach(there, 0.99 * limit).warnings[0]
    assert not reach(there, 1.01 * limit).coarse
    coarse = reach(there, 0.5 * limit)
    finer = reach(plane(plate_g=250 * coarse.finest_plate_share * 0.999), 0.5 * limit)
    assert not finer.coarse


@pytest.mark.parametrize(
    ("fields", "plates"),
    [
        # along a position only its own stack pulls straight
        ({"count": 6, "most_used": 2}, 20),
        # three: midway between two positions both stacks, 2 cos 30
        ({"count": 6, "most_used": 3}, 20 * math.sqrt(3)),
        # all of them: midway 2 cos 30, along a position 1 + 2 cos 60
        ({"count": 6, "most_used": None}, 20 * math.sqrt(3)),
        ({"count": 4, "most_used": None}, 20),
        # thirty plates in all: along a position 20 + 10 shared by two neighbours
        ({"count": 8, "most_used": None, "most_mass_g": 300}, None),
        ({"count": 3, "most_used": None}, 20 * 0.5 * math.sqrt(3)),
        ({"count": 2, "most_used": None}, 0),
    ],
)
def test_largest_unbalance_within_reach(fields, plates):
    """Closed forms for few positions; and every direction by linear programming."""
    there = plane(plate_g=10, most_plates=20, **fields)
    most = reach(there, 1e5).largest_g_mm / there.quantum_g_mm
    if plates is not None:
        assert most == pytest.approx(plates, abs=1e-6)
    if fields["most_used"] is None and fields["count"] > 2:
        unit = np.exp(1j * np.radians(there.angles_deg))
        pulls = []
        for turn in np.arange(0, 2 * math.pi, math.radians(1.5)):
            v = unit * np.exp(-1j * turn)
            more = {} if there.most_mass_g is None else {"A_ub": np.ones((1, len(v))), "b_ub": [30]}
            found = linprog(-v.real, A_eq=[v.imag], b_eq=[0], bounds=(0, 20), **more)
            pulls.append(-found.fun)
        assert most == pytest.approx(min(pulls), rel=2e-3)


def test_neighbours_share_a_mass():
    rng = np.random.default_rng(16)
    for _ in range(30):
        one, step = float(rng.uniform(0, 360)), float(rng.uniform(5, 170))
        angle, mass = one + step * float(rng.random()), float(rng.uniform(50, 900))
        first, second = neighbours_split(mass, angle, one, one + step)
        total = vector_g_mm(first, 1, one) + vector_g_mm(second, 1, one + step)
        assert total == pytest.approx(vector_g_mm(mass, 1, angle), abs=1e-9)
        assert min(first, second) >= -1e-9


def test_lip_and_stack_and_edge():
    mass = {"mass_g": 1500, "radius_mm": 330, "speed_rpm": 1000}
    good = hold_mass(
        replace(LIP, hole_mm=17.5, edge_distance_mm=30, stress_area_mm2=157, ultimate_MPa=1040), plates=4, **mass
    )
    assert good.holds
    assert good.lip_MPa == pytest.approx(1.44 * good.pull_N / (40 * 80))
    assert good.shear_share == pytest.approx(1.44 * good.pull_N / (2 * 0.5 * 1040 * 157 / 1.25))
    assert not [n for n in good.notes if "not checked" in n]
    faults = hold_mass(
        replace(LIP, lip_height_mm=1.0, lip_width_mm=20, hole_mm=17.5, edge_distance_mm=20, stress_area_mm2=2, ultimate_MPa=800),
        plates=4, **mass,
    ).faults  # fmt: skip
    assert [word for word in ("thick", "pressure", "edge", "shear") if not any(word in f for f in faults)] == []
    unknown = hold_mass(MassBolts(lip=False, **BOLTS), **mass)
    assert unknown.holds
    assert any("slip" in n for n in unknown.notes)


def test_casing_near_resonance_and_far_from_it():
    """Stiff: F / k, far below resonance; at resonance 1 / (2 D) of that; a grade is never the reading."""
    omega = 2 * math.pi * 1000 / 60
    both = {"unbalance_g_mm": 1e5, "speed_rpm": 1000, "total_mass_kg": 10000}
    force = 1e-6 * 1e5 * omega**2
    stiff = 1e4 * 10000 * omega**2 * 1e-3
    assert casing_velocity_mm_s(**both, stiffness_N_mm=stiff) == pytest.approx(
        omega * force / stiff / math.sqrt(2), rel=1e-3
    )
    tuned = 10000 * omega**2 * 1e-3
    assert casing_velocity_mm_s(**both, stiffness_N_mm=tuned, damping_ratio=0.05) == pytest.approx(
        omega * force / tuned / math.sqrt(2) / 0.1, rel=1e-9
    )
    with refused("damping_ratio"):
        casing_velocity_mm_s(**both, stiffness_N_mm=tuned)
    found = casing_vibration(**both, limits_mm_s=(2.0, 4.0, 7.0))
    assert "no vibration reading" in found.note
    assert (zone(1.0, (2.0, 4.0)), zone(3.0, (2.0, 4.0)), zone(9.0, (2.0, 4.0))) == ("A", "B", "C")


# ---------------------------------------------------------------- record and plan


@pytest.fixture(scope="module")
def record():
    return read_record(RECORD)


@pytest.fixture(scope="module")
def plan(record):
    return balance_plan(record, given())


def test_plan_of_the_invented_record(record, plan):
    """Masses of the plan, mounted on the rotor that was read, leave what the plan says."""
    initial, runs = record.initial("lag"), record.runs("lag")
    assert runs[1].masses == pytest.approx([1500 * 330, 1500j * 330])
    known = influence(initial, runs)
    added = []
    for p in plan.masses.planes:
        added.append(np.array(p.plates) @ (p.positions.quantum_g_mm * np.exp(1j * np.radians(p.positions.angles_deg))))
    read = initial + known.matrix @ np.array(added)
    left = np.linalg.solve(known.matrix, read)
    assert left == pytest.approx([p.residual_g_mm for p in plan.masses.planes], abs=1e-3)
    assert plan.within
    assert plan.held
    assert plan.masses.proven
    assert plan.bearing_share <= plan.masses.share * (1 + 1e-9)
    results = [r for r in plan.rows if r.kind == "result"]
    assert [r.after_g_mm for r in results] == pytest.approx(np.abs(left), abs=1e-3)
    assert all(r.reading_error_g_mm > r.after_g_mm for r in results)
    for row in (r for r in plan.rows if r.kind == "mass"):
        assert row.mass_g == row.plates * 150
        assert row.overspeed_pull_N == pytest.approx(1.44 * row.pull_N)
        assert row.bolts == "2 x M16 10.9"
    assert any("trial masses off" in n for n in plan.notes)
    assert any("Placed anew" in n for n in plan.notes)


def test_plan_is_written_as_a_table(plan, tmp_path):
    write_plan(plan, tmp_path / "balance.csv")
    lines = (tmp_path / "balance.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0] == ",".join(PLAN_COLUMNS)
    assert len(lines) == len(plan.rows) + 1
    assert lines[1].startswith("1,mass,")
    with pytest.raises(FileFault, match="cannot be written"):
        write_plan(plan, tmp_path / "no" / "balance.csv")


def test_placing_hammers_first_leaves_less_for_plates(record, plan):
    placed = balance_plan(record, given(place_hammers=True))
    assert placed.masses.plates < plan.masses.plates
    moves = [r for r in placed.rows if r.kind == "move"]
    assert sorted(r.slot for r in moves) == sorted(r.from_slot for r in moves)
    # what the measured rotor becomes by these moves
    masses = dict(zip([s.slot for s in record.seats], record.masses_g, strict=True))
    change = {r.slot: masses[r.from_slot] - masses[r.slot] for r in moves}
    by_moves = hammer_unbalance(record.seats, change)
    moved = np.add(plan.correction.unbalance, split_many(by_moves.vectors_g_mm, by_moves.z_mm, (220, 1980)))
    assert [p.before_g_mm for p in placed.masses.planes] == pytest.approx(moved, abs=1e-3)


def test_hammers_alone(record):
    """Without readings the plan is for the weighed hammers, and says so."""
    alone = balance_plan(replace(record, readings=(), trials=()), given(phase_sense=None))
    hammers = hammer_unbalance(record.seats, record.masses_g)
    first = split_many(hammers.vectors_g_mm, hammers.z_mm, (220, 1980))
    assert [p.before_g_mm for p in alone.masses.planes] == pytest.approx(first)
    assert alone.source == "weighed hammers alone"
    assert alone.correction is None
    assert any("No readings" in n for n in alone.notes)


def test_turning_the_mark_turns_the_plan(record):
    """All angles and phases shifted by one position: the same plates, one position on."""
    step = 30.0
    turned = replace(
        record,
        seats=tuple(replace(s, angle_deg=(s.angle_deg + step) % 360) for s in record.seats),
        # a lag falls where the mark is moved back, and the mass stays
        readings=tuple(replace(r, phase_deg=(r.phase_deg - step) % 360) for r in record.readings),
        trials=tuple(
            replace(t, unbalance_g_mm=t.unbalance_g_mm * cmath.exp(1j * math.radians(step))) for t in record.trials
        ),
    )
    one, other = (balance_plan(r, given()) for r in (record, turned))
    for a, b in zip(one.masses.planes, other.masses.planes, strict=True):
        assert b.share == pytest.approx(a.share, abs=1e-5)
        assert b.before_g_mm == pytest.approx(a.before_g_mm * cmath.exp(1j * math.radians(step)), rel=1e-9)


def test_before_the_run():
    coarse = before_run(given(planes=(plane(220, plate_g=3000), plane(1980))))
    assert coarse[0].coarse
    assert not coarse[1].coarse
    assert tolerances(given(budget_share=0.5)).whole_g_mm == pytest.approx(0.5 * tolerances(given()).whole_g_mm)


# ---------------------------------------------------------------- refusals


HEADER = "kind,slot,run,probe,plane,mass_g,radius_mm,angle_deg,z_mm,velocity_rms_mm_s,phase_deg,speed_rpm,kept"
GOOD = [
    "hammer,1,,,,12000,420,0,300,,,,", "hammer,2,,,,12100,420,180,300,,,,",
    "reading,,0,A,,,,,,3.9,66,1000,", "reading,,0,B,,,,,,1.8,329,1000,",
    "trial,,1,,1,1500,330,0,,,,,no", "reading,,1,A,,,,,,4.8,111,1000,", "reading,,1,B,,,,,,1.2,310,1000,",
    "trial,,2,,2,1500,330,90,,,,,no", "reading,,2,A,,,,,,5.8,109,1000,", "reading,,2,B,,,,,,2.8,43,1000,",
]  # fmt: skip


def written(tmp_path, lines, header=HEADER):
    path = tmp_path / "record.csv"
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return path


def test_a_good_record_is_read(tmp_path):
    found = read_record(written(tmp_path, ["# a comment", *GOOD, ""]))
    assert found.probes == ("A", "B")
    assert found.run_numbers == (0, 1, 2)
    assert found.masses_g == (12000, 12100)
    assert found.speed_rpm == 1000


@pytest.mark.parametrize(
    ("line", "bad", "words"),
    [
        (0, "hammer,1,,,,,420,0,300,,,,", "line 2: mass_g: is missing.*weigh it"),
        (1, "hammer,1,,,,12100,420,180,300,,,,", "line 3: slot = 1: stands on line 2 already"),
        (1, "hammer,2,,,,12.1,420,180,300,,,,", "line 3: mass_g = 12.1: .*far from the others.*12000"),
        (1, "hammer,2,,,,12 kg,420,180,300,,,,", "line 3: mass_g = '12 kg': must be a finite number"),
        (1, "hammre,2,,,,12100,420,180,300,,,,", "line 3: kind = 'hammre'.*did you mean 'hammer'"),
        (3, "reading,,0,B,,,,,,1.8,,1000,", "line 5: phase_deg: is missing.*repeat the run"),
        (3, "reading,,0,A,,,,,,1.8,20,1000,", "line 5: probe = 'A': was read in run 0 on line 4"),
        (3, "reading,,0,B,,,,,,1.8,329,16.7,", "line 5: speed_rpm = 16.7.*60 times revolutions a second"),
        (3, "reading,,0,B,,,,,,1.8,329,104.7,", "line 5: speed_rpm = 104.7: is more than 3 % off"),
        (3, "reading,,0,B,,,,,,1.8,329,", "line 5: row .* has 12 cells, the header 13"),
        (3, "reading,,0,,,,,,,1.8,329,1000,", "line 5: probe: is missing"),
        (4, "trial,,1,,3,1500,330,0,,,,,no", "line 6: plane = '3': must be a whole number from 1 to 2"),
        (4, "trial,,1,,1,1500,330,0,,,,,maybe", "line 6: kept = 'maybe': must be yes or no"),
        (4, "trial,,0,,1,1500,330,0,,,,,no", "line 6: run = '0'.*run 0 is without them"),
        (7, "trial,,2,,1,1500,330,90,,,,,no", "plane = 2: never had a trial mass"),
        (7, "trial,,3,,2,1500,330,90,,,,,no", "run = 3: has a trial mass and no readings"),
        (9, "", "line 10: probe = 'B': was not read in run 2"),
    ],
)
def test_faults_of_a_record_name_their_line(tmp_path, line, bad, words):
    lines = [*GOOD]
    lines[line] = bad
    with pytest.raises(FileFault, match=words):
        read_record(written(tmp_path, lines))


def test_all_faults_of_a_record_at_once(tmp_path):
    lines = [*GOOD]
    lines[0] = "hammer,0,,,,,420,0,300,,,,"
    lines[3] = "reading,,0,B,,,,,,-1,,1000,"
    with pytest.raises(FileFault) as raised:
        read_record(written(tmp_path, lines))
    assert [(f.line, f.field) for f in raised.value.faults] == [
        (2, "mass_g"), (2, "slot"), (5, "velocity_rms_mm_s"), (5, "phase_deg"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("header", "words"),
    [
        (HEADER.replace("mass_g", "mass_kg"), "mass_kg.*write mass_g"),
        (HEADER.replace("phase_deg", "phase"), "phase.*write phase_deg"),
        (HEADER.replace("velocity_rms_mm_s", "velocity"), "an amplitude column is missing"),
        (HEADER.replace(",", ";"), "semicolons"),
        (HEADER.replace("kind", "slot"), "kind is missing|stands twice"),
        (HEADER.replace("z_mm", "angle_deg"), "stands twice"),
    ],
)
def test_faults_of_the_header(tmp_path, header, words):
    with pytest.raises(FileFault, match=words):
        read_record(written(tmp_path, GOOD, header))


def test_files_that_are_no_record(tmp_path):
    with pytest.raises(FileFault, match="cannot be read"):
        read_record(tmp_path / "none.csv")
    (tmp_path / "empty.csv").write_text("# nothing\n", encoding="utf-8")
    with pytest.raises(FileFault, match="is empty"):
        read_record(tmp_path / "empty.csv")
    with pytest.raises(FileFault, match="holds no rows"):
        read_record(written(tmp_path, []))


def test_records_that_cannot_be_planned(record):
    with refused("phase_sense.*lead or lag"):
        balance_plan(record, given(phase_sense=None))
    with refused("neither hammers nor readings"):
        balance_plan(replace(record, seats=(), masses_g=(), readings=(), trials=()), given())


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"angles_deg": ()}, "angles_deg.*at least one position"),
        ({"angles_deg": (0.0, 90.0, 450.0 - 360.0)}, "positions 2 and 3 coincide"),
        ({"angles_deg": (0.0, 10.0), "plate_width_mm": 80.0}, "overlap: 57.5 mm apart"),
        ({"angles_deg": (0.0, float("nan"))}, r"angles_deg\[2\]"),
        ({"angles_deg": (0.0, 90.0), "blocked": (3,)}, "blocked.*from 1 to 2"),
        ({"angles_deg": (0.0, 90.0), "blocked": (1, 2)}, "leaves no position"),
        ({"plate_g": 0.0}, "plate_g"),
        ({"most_plates": 0}, "most_plates"),
        ({"most_mass_g": 10.0}, "most_mass_g"),
    ],
)
def test_positions_that_cannot_be(fields, words):
    good = {"z_mm": 0, "radius_mm": 330, "angles_deg": (0.0, 120.0, 240.0), "plate_g": 150, "most_plates": 3}
    with refused(words):
        MassPositions(**(good | fields))


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"speed_rpm": 16.7}, "speed_rpm = 16.7.*60 times revolutions a second"),
        ({"grade_mm_s": 0.0}, "grade_mm_s"),
        ({"bearings_mm": (2200, 0)}, "bearings_mm.*must increase"),
        ({"cg_mm": 2500}, "cg_mm.*overhung"),
        ({"planes": (plane(1980), plane(220))}, "increasing z_mm"),
        ({"planes": (plane(220),)}, "two MassPositions"),
        ({"condition": ""}, "condition"),
        ({"phase_sense": "left"}, "phase_sense"),
        ({"total_mass_kg": 2000}, "total_mass_kg"),
        ({"zone_limits_mm_s": (4.0, 2.0)}, "zone_limits_mm_s.*increase"),
    ],
)
def test_inputs_that_cannot_be(fields, words):
    with refused(words):
        given(**fields)


def test_faults_of_an_input_come_together():
    with pytest.raises(InputFault) as raised:
        given(speed_rpm=1.0, grade_mm_s=-1.0, enough_share=2.0)
    assert {f.field for f in raised.value.faults} == {"speed_rpm", "grade_mm_s", "enough_share"}


def test_refusals_of_single_functions():
    seats = random_seats(np.random.default_rng(1), 4)
    with refused("mass_g of slot 2.*weigh it"):
        place_hammers([12e3, float("nan"), 12e3, 12e3], seats)
    with refused("4 masses"):
        place_hammers([12e3] * 3, seats)
    with refused("masses_g = 9: is not the slot"):
        hammer_unbalance(seats, {9: 100})
    with refused("slot = 1.*one hammer only"):
        place_hammers([12e3] * 2, [seats[0], seats[0]])
    with refused("runs"):
        influence([1 + 0j, 2 + 0j], [])
    same = Run(np.array([1.0, 2.0], complex), np.array([1.0, 0], complex))
    with refused("must tell 2 planes apart"):
        influence([1 + 0j, 2 + 0j], [same, same])
    with refused("at least 2 probes"):
        influence([1 + 0j], [Run(np.array([1j]), np.array([1, 0j])), Run(np.array([1j]), np.array([0j, 1]))])
    with refused("must tell the planes apart"):
        correction(known_influence(np.ones((2, 2))), [1, 1])
    with refused("phase_deg"):
        reading(1.0, float("nan"))
    with refused(r"permissible_g_mm\[1\]"):
        best_masses([1e5], [plane()], [0.0])
    with refused("angle_deg"):
        neighbours_split(100, 50, 0, 30)
    with refused("must increase"):
        split(1.0, 0.0, (100, 0))
    with refused("limits_mm_s"):
        zone(1.0, (3.0, 2.0))
