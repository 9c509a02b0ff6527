"""Plastic limits against closed forms, and against mechanisms and states that share no code with them."""

import math

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.handbook.closed_forms import ring_average
from femdrum.strength.plastic_ring import (
    annulus_collapse_speed_rpm,
    annulus_pressure_limit_MPa,
    plastic_limit,
    thin_ring_pull_limit_N,
)
from femdrum.strength.plastic_section import section_capacity, section_limit
from femdrum.strength.ring_collapse import ring_collapse
from femdrum.strength.ring_statics import PointLoad, RingLoads
from femdrum.strength.slotted_shell import SlottedShell
from femdrum.strength.static_proof import SectionForces
from femdrum.units import density_t_mm3, omega_rad_s

RADIUS, PITCH, YIELD = 380.0, 180.0, 355.0
DRUM = {"outer_radius_mm": 400.0, "wall_mm": 40.0, "pitch_mm": 180.0}
SLOTS = {"slots_around": 2, "slot_around_mm": 60.0, "slot_axial_mm": 120.0, "slot_corner_radius_mm": 8.0}
HELD = 2 / math.sqrt(3)


def strip(wall, length=PITCH):
    """Capacity of a plain ring."""
    pull = YIELD * wall * length
    return lambda a: (np.full(np.shape(a), pull), np.full(np.shape(a), 0.25 * wall * pull))


def pulls(count, force=1.0, at=0.0):
    return tuple(PointLoad(at + 2 * math.pi * i / count, force) for i in range(count))


def refused(field):
    return pytest.raises(InputFault, match=rf"{field}.*(must|give|missing|does|needs|leaves|goes|is).*")


# ---------------------------------------------------------------- equilibrium


def random_loads(rng):
    angles = rng.uniform(0, 2 * math.pi, 4)
    points = tuple(PointLoad(a, *rng.normal(size=2), RADIUS * rng.normal()) for a in angles)
    low = rng.uniform(0, 6)
    return RingLoads(
        RADIUS, even_N=rng.normal(), gaps=((low, low + rng.uniform(0.1, 1), rng.uniform()),), points=points
    )


@pytest.mark.parametrize("seed", range(5))
def test_ring_in_equilibrium_with_any_loads(seed):
    """Cut open at 0, the ring's other side of the cut carries nothing: loads and shear flow balance."""
    loads = random_loads(np.random.default_rng(seed))
    force, moment = loads.forces(np.array([1e-12, 2 * math.pi]))
    assert force == pytest.approx(0, abs=1e-9)
    assert moment == pytest.approx(0, abs=1e-8 * RADIUS)


@pytest.mark.parametrize("seed", range(5))
def test_curved_beam_equations(seed):
    """Between the loads: d(N + M / R)/da = -(tangential pull per radian), M'' = R (N - radial pull per radian).

    By finite differences, with the shear flow that balances the loads by its own formula.
    """
    loads = random_loads(np.random.default_rng(seed))
    theta = np.linspace(0, 2 * math.pi, 20_001)
    force, moment = loads.forces(theta)
    step = theta[1]
    outward = np.exp(1j * np.array([p.angle_rad for p in loads.points]))
    single = np.array([p.radial_N + 1j * p.tangential_N for p in loads.points])
    torque = sum(RADIUS * p.tangential_N + p.couple_Nmm for p in loads.points)
    low, high, share = loads.gaps[0]
    whole = np.sum(single * outward) - share * loads.even_N * (np.exp(1j * high) - np.exp(1j * low)) / 1j
    flow = -torque / (2 * math.pi * RADIUS) + abs(whole) / math.pi * np.sin(theta - np.angle(whole))
    away = np.min(np.abs(theta[1:-1, None] - loads.breaks_rad), axis=1) > 2 * step
    total = force + moment / RADIUS
    change = (total[2:] - total[:-2]) / (2 * step)
    assert change[away] == pytest.approx(-flow[1:-1][away], abs=1e-6)
    missing = share * (((theta > low) & (theta < high)) | (theta + 2 * math.pi < high))
    pull = loads.even_N * (1 - missing)
    second = (moment[2:] - 2 * moment[1:-1] + moment[:-2]) / step**2
    assert second[away] == pytest.approx(RADIUS * (force - pull)[1:-1][away], abs=1e-5 * RADIUS)


def test_redundants_are_free_of_load():
    theta = np.linspace(0, 2 * math.pi, 7)
    force, moment = RingLoads(RADIUS).redundants(theta)
    # N = N0 cos + V0 sin, N + M / R constant
    assert np.ptp(force + moment / RADIUS, axis=0) == pytest.approx(0, abs=1e-9)
    assert force[:, 2] == pytest.approx(0, abs=1e-12)
    assert moment[:, 2] == pytest.approx(RADIUS, rel=1e-12)
    assert np.abs(force[0]) == pytest.approx([1, 0, 0], abs=1e-12)


# ---------------------------------------------------------------- closed forms of the ring


@pytest.mark.parametrize("count", [2, 3, 4, 6])
@pytest.mark.parametrize("wall", [0.4, 4.0, 40.0, 80.0])
def test_equal_pulls_close_the_bracket(count, wall):
    """Hinges under the pulls and midway: M_L + M_m = P R / 2 tan(pi / 2k), with the hoop forces of both sections.

    Statics of the arc between a pull and its middle; for k = 2 it is 4 Mp / R but for the hoop force P / 2.
    """
    found = ring_collapse(RingLoads(RADIUS, points=pulls(count, at=0.3)), strip(wall))
    most_n, most_m = YIELD * wall * PITCH, 0.25 * YIELD * wall**2 * PITCH
    half = math.pi / count
    n_load, n_mid = 0.5 / math.tan(half), 0.5 / math.sin(half)
    # the quadratic in P
    a = most_m / most_n**2 * (n_load**2 + n_mid**2)
    b = 0.5 * RADIUS * math.tan(0.5 * half)
    limit = 4 * most_m / (b + math.sqrt(b * b + 8 * a * most_m))
    assert found.lower == pytest.approx(limit, rel=2e-6)
    assert found.upper == pytest.approx(limit, rel=2e-6)
    # one of the mechanisms: hinges at pulls and midway only
    places = (found.hinges_rad - 0.3) / half
    assert len(places) >= 3
    assert places == pytest.approx(np.round(places), abs=0.01)


def test_thin_ring_under_opposed_pulls():
    """4 Mp / R; the hoop force takes away (wall / 4R)^2 and less: 1e-7 at R / t = 950."""
    found = ring_collapse(RingLoads(RADIUS, points=pulls(2)), strip(0.4))
    plain = thin_ring_pull_limit_N(radius_mm=RADIUS, wall_mm=0.4, length_mm=PITCH, yield_MPa=YIELD)
    assert found.lower == pytest.approx(plain, rel=1e-6)
    assert found.upper == pytest.approx(plain, rel=1e-6)
    assert np.degrees(found.hinges_rad) == pytest.approx([0, 90, 180, 270], abs=0.2)
    assert np.abs(found.hinge_moment) == pytest.approx(1, rel=1e-4)


def test_plastic_reserve_of_the_thin_ring():
    """Elastic moment under the pull is P R / pi (thin ring, closed form), so collapse is 6 / pi = 1.91 of first yield."""
    wall = 0.4
    found = ring_collapse(RingLoads(RADIUS, points=pulls(2)), strip(wall))
    first = YIELD * PITCH * wall**2 / 6 / (RADIUS / math.pi)
    assert found.lower / first == pytest.approx(6 / math.pi, rel=1e-4)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_even_pull_or_push_is_the_hoop_limit(sense):
    found = ring_collapse(RingLoads(RADIUS, even_N=sense), strip(40.0))
    assert found.lower == pytest.approx(YIELD * 40 * PITCH, rel=1e-9)
    assert found.upper == pytest.approx(YIELD * 40 * PITCH, rel=1e-9)


def test_couple_alone():
    """A couple on the wall steps the moment from one hinge value to the other at one place: 2 Mp, thin ring."""
    found = ring_collapse(RingLoads(RADIUS, points=(PointLoad(1.0, couple_Nmm=1.0),)), strip(0.4))
    assert found.lower == pytest.approx(2 * 0.25 * YIELD * 0.4**2 * PITCH, rel=1e-5)


def test_a_ring_without_load_has_no_limit():
    assert ring_collapse(RingLoads(RADIUS), strip(40.0)).upper == math.inf


@pytest.mark.parametrize("seed", range(4))
def test_no_mechanism_is_below_the_bracket(seed):
    """Every mechanism of four hinges dissipates at least what the loads do, and the best comes close.

    Rotations that close the ring, work by any state in equilibrium; thin wall, so that hoop force costs nothing.
    """
    rng = np.random.default_rng(seed)
    loads = RingLoads(RADIUS, points=tuple(PointLoad(a, *rng.normal(size=2)) for a in rng.uniform(0, 6.28, 3)))
    wall = 0.05
    found = ring_collapse(loads, strip(wall))
    assert found.upper == pytest.approx(found.lower, rel=1e-5)
    plastic = 0.25 * YIELD * wall**2 * PITCH
    angles = np.sort(rng.uniform(0, 2 * math.pi, (60_000, 4)), axis=1)
    near = np.sort(np.concatenate([found.hinges_rad, rng.uniform(0, 6, 4)])[:4])  # and some close to its own
    angles = np.concatenate([angles, np.sort(near + rng.normal(scale=0.03, size=(20_000, 4)), axis=1) % (2 * math.pi)])
    columns = np.stack([np.ones_like(angles), np.cos(angles), np.sin(angles)], axis=1)  # [mechanism, 3, hinge]
    turn = np.stack(  # null vector of 3 x 4 by cofactors
        [(-1) ** i * np.linalg.det(np.delete(columns, i, axis=2)) for i in range(4)], axis=1
    )
    _, moment = loads.forces(angles.ravel())
    work = np.abs(np.sum(turn * moment.reshape(angles.shape), axis=1))
    spent = plastic * np.sum(np.abs(turn), axis=1)
    bounds = spent / np.maximum(work, 1e-300)
    assert bounds.min() > found.lower * (1 - 1e-3)
    assert bounds.min() < found.upper * 1.02


# ---------------------------------------------------------------- slotted ring


def test_pressure_on_a_slotted_ring_is_the_net_hoop_limit():
    """Aligned rows: the bridges at yield, sigma t (p - L); the upper bound with the wall held is 2 / sqrt 3 of it."""
    drum = SlottedShell(**DRUM, **SLOTS)
    found = plastic_limit(drum, SectionForces(pressure_MPa=1.0), yield_MPa=YIELD)
    limit = YIELD * 40 * (180 - 120) / (360 * 180)
    assert found.lower == pytest.approx(limit, rel=1e-6)
    assert found.upper == pytest.approx(HELD * limit, rel=1e-6)
    assert found.mode.startswith("the ring is pulled apart")


def test_pulls_at_the_slots_of_a_thin_ring():
    """Net hinge under the pull, plain one midway: P = 2 (Mp_net + Mp) / R but for the hoop force."""
    thin = {"outer_radius_mm": 380.2, "wall_mm": 0.4, "pitch_mm": 180.0}
    drum = SlottedShell(**thin, **{**SLOTS, "slot_around_mm": 20.0})
    found = plastic_limit(drum, SectionForces(), yield_MPa=YIELD, slot_radial_N=1.0)
    net = 0.25 * YIELD * 0.4**2 * np.array([180 - 120, 180])
    limit = 2 * net.sum() / 380
    assert found.lower == pytest.approx(limit, rel=1e-5)
    assert found.upper == pytest.approx(HELD * limit, rel=1e-5)
    assert found.hinges_deg == pytest.approx([0, 90, 180, 270], abs=0.2)
    assert "folds by 4 plastic hinges at 0, 90, 180, 270" in found.mode


def test_plain_rotating_ring_flows_at_the_average_hoop_stress():
    """Plane stress, Tresca: hoop stress Re throughout is in equilibrium with a radial stress between 0 and Re."""
    inner, outer, density = 360.0, 400.0, density_t_mm3(7850)
    speed = annulus_collapse_speed_rpm(inner_mm=inner, outer_mm=outer, density_t_mm3=density, yield_MPa=YIELD)
    average = ring_average(
        inner_mm=inner, outer_mm=outer, density_t_mm3=density, omega_rad_s=omega_rad_s(speed)
    )  # fmt: skip
    assert average == pytest.approx(YIELD, rel=1e-12)
    r = np.linspace(inner, outer, 20_001)
    pull = density * omega_rad_s(speed) ** 2 * r**2
    # d(r s_r)/dr = s_t - rho w^2 r^2, by the trapezoidal rule from the bore
    slope = YIELD - pull
    radial = np.concatenate([[0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * np.diff(r))]) / r
    assert radial[-1] == pytest.approx(0, abs=1e-6 * YIELD)
    assert radial.min() > -1e-6 * YIELD
    assert radial.max() < YIELD
    plain = SlottedShell(**DRUM)
    found = plastic_limit(plain, SectionForces(hoop_N=average * 40 * 180), yield_MPa=YIELD)
    assert found.lower == pytest.approx(1, rel=1e-6)
    assert found.mode == "the ring is pulled apart"


def test_thick_cylinder_in_its_own_equilibrium():
    """s_t - s_r = 2 / sqrt 3 Re throughout (plane strain, von Mises), integrated across the wall; thin limit p R / t."""
    found = annulus_pressure_limit_MPa(inner_mm=100, outer_mm=200, yield_MPa=300)
    r = np.linspace(100, 200, 100_001)
    step = HELD * 300 / r
    assert found == pytest.approx(np.sum(0.5 * (step[1:] + step[:-1]) * np.diff(r)), rel=1e-8)
    thin = annulus_pressure_limit_MPa(inner_mm=999, outer_mm=1001, yield_MPa=300)
    assert thin == pytest.approx(HELD * 300 * 2 / 1000, rel=1e-5)


def test_empty_slots_oval_the_ring():
    """Missing metal lowers the limit below the net hoop limit by a little; a mass hung in mends it, too much of it folds."""
    drum = SlottedShell(**DRUM, **SLOTS)
    hoop = SectionForces(hoop_N=12.444 * 40 * 180)
    even = YIELD * (180 - 120) / (12.444 * 180)
    limits = [
        plastic_limit(drum, hoop, yield_MPa=YIELD, slot_radial_N=mass * 0.38 * omega_rad_s(1000) ** 2).lower
        for mass in (0.0, 1.0, 4.0, 30.0)
    ]
    assert limits[0] < even
    assert limits[1] > limits[0]
    assert limits[3] < limits[2] < limits[1]


# ---------------------------------------------------------------- the section


def test_plain_tube():
    tube = SlottedShell(**DRUM)
    low, high = (section_capacity(tube, YIELD, safe=s) for s in (True, False))
    area, moment = math.pi * (400**2 - 360**2), 4 / 3 * (400**3 - 360**3)
    assert low.axial_N == pytest.approx(YIELD * area, rel=1e-9)
    assert low.bending_Nmm == pytest.approx(YIELD * moment, rel=1e-5)
    torque = 2 * math.pi / 3 * (400**3 - 360**3) * YIELD / math.sqrt(3)
    assert low.torque_Nmm == pytest.approx(torque, rel=1e-9)
    assert high.torque_Nmm == pytest.approx(torque, rel=1e-9)  # the bracket of torsion is closed
    assert high.axial_N / low.axial_N == pytest.approx(HELD, rel=1e-9)


@pytest.mark.parametrize(("slots", "modulus"), [
    (1, lambda b: 4 * math.cos(b / 4) - 2 * math.sin(b / 2)),
    (2, lambda b: 4 - 4 * math.sin(b / 2)),
    (4, lambda b: 4 - 8 * math.sin(b / 2) * math.sin(math.pi / 4)),
])  # fmt: skip
def test_weakest_direction_of_the_plastic_modulus(slots, modulus):
    """Thin ring with 1, 2, 4 gaps: closed forms by integrating |y| from the axis of equal areas.

    Four gaps are weakest with the axis midway between them.
    """
    drum = SlottedShell(**DRUM, slots_around=slots, slot_around_mm=90, slot_axial_mm=100)
    share = section_capacity(drum, YIELD, safe=True).bending_Nmm
    plain = section_capacity(SlottedShell(**DRUM), YIELD, safe=True).bending_Nmm
    weaker = 4 - 4 * math.sin(drum.slot_angle_rad / 2) if slots == 4 else math.inf  # the axis through two of four
    assert share / plain == pytest.approx(min(modulus(drum.slot_angle_rad), weaker) / 4, rel=2e-4)


def test_many_slots_with_slender_ligaments_bend_them():
    """24 slots: ligaments of 39 by 120 are short beams; q = 2 M / (L s), M = Re t w^2 / 4, far below their shear."""
    drum = SlottedShell(**DRUM, slots_around=24, slot_around_mm=60, slot_axial_mm=120)
    high = section_capacity(drum, YIELD, safe=False)
    room = 2 * math.pi * 380 / 24
    flow = 2 * 0.25 * YIELD * 40 * (room - 60) ** 2 / (120 * room)
    assert high.torque_Nmm == pytest.approx(2 * math.pi * 380**2 * flow, rel=1e-9)
    assert high.gives == "ligaments beside the slots bend"
    assert high.torque_Nmm < 0.3 * high.net_torque_Nmm


def test_aligned_slots_split_the_shell_under_torsion():
    """Two columns of slots 120 on a pitch of 180: bridges of 60 by 60 bend, at 36 % of the net section's shear."""
    drum = SlottedShell(**DRUM, **SLOTS)
    high = section_capacity(drum, YIELD, safe=False)
    flow = 2 * 0.25 * YIELD * 40 * 60**2 / (60 * 180)
    panels = YIELD / math.sqrt(3) * 40**2 * math.pi * 380  # open strips in torsion
    assert high.torque_Nmm == pytest.approx(2 * math.pi * 380**2 * flow + panels, rel=1e-9)
    assert high.torque_Nmm / high.net_torque_Nmm == pytest.approx(0.36, abs=0.01)


def test_shear_and_bending_of_a_short_beam():
    """The safe ligament satisfies m + 0.75 v^2 = 1 with the moment of its own shear, V L / 2."""
    drum = SlottedShell(**DRUM, slots_around=24, slot_around_mm=60, slot_axial_mm=120)
    room = 2 * math.pi * 380 / 24
    flow = section_capacity(drum, YIELD, safe=True).torque_Nmm / (2 * math.pi * 380**2)
    shear, depth = flow * room, room - 60
    v = shear / (YIELD / math.sqrt(3) * 40 * depth)
    m = shear * 120 / 2 / (0.25 * YIELD * 40 * depth**2)
    assert m + 0.75 * v**2 == pytest.approx(1, rel=1e-9)


def test_interaction_of_the_thin_tube():
    """Axial force and bending: m = cos(pi n / 2); bending and torsion: a circle. Closed forms of the thin tube."""
    tube = SlottedShell(**DRUM)
    high = section_capacity(tube, YIELD, safe=False)
    none = {"axial_N": 0.0, "bending_Nmm": 0.0, "torque_Nmm": 0.0, "transverse_N": 0.0}
    half = {**none, "axial_N": 0.5 * high.axial_N, "bending_Nmm": math.cos(math.pi / 4) * high.bending_Nmm}
    assert section_limit(tube, yield_MPa=YIELD, **half).upper == pytest.approx(1, rel=1e-9)
    both = {**none, "bending_Nmm": 0.6 * high.bending_Nmm, "torque_Nmm": 0.8 * high.torque_Nmm}
    found = section_limit(tube, yield_MPa=YIELD, **both)
    assert found.upper == pytest.approx(1, rel=1e-9)
    assert found.words == "the net section is fully plastic under bending with torsion"
    assert found.lower == pytest.approx(1 / math.hypot(0.6 * HELD, 0.8), rel=1e-5)


# ---------------------------------------------------------------- both, and properties


def random_drum(rng):
    slots = int(rng.integers(1, 13))
    rows = str(rng.choice(["aligned", "alternate", "helical"]))
    outer = rng.uniform(200, 600)
    wall = rng.uniform(0.02, 0.15) * outer
    pitch = rng.uniform(0.2, 0.6) * outer
    around = rng.uniform(0.1, 0.8) * 2 * (outer - 0.5 * wall) * math.sin(math.pi / max(slots, 2))
    axial = rng.uniform(0.2, 0.9) * pitch
    return SlottedShell(
        outer_radius_mm=outer, wall_mm=wall, pitch_mm=pitch, slots_around=slots, slot_around_mm=around, slot_axial_mm=axial,
        rows=rows, row_angle_deg=rng.uniform(-90, 90) if rows == "helical" else None,
        slot_corner_radius_mm=None if rng.random() < 0.3 else rng.uniform(0, 0.5) * min(around, axial),
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
def test_bracket_of_random_drums(seed):
    """Lower below upper, in all its parts; factors fall as loads rise, and follow the yield strength."""
    rng = np.random.default_rng(seed)
    drum = random_drum(rng)
    safe, mechanism = (section_capacity(drum, YIELD, safe=s) for s in (True, False))
    assert safe.axial_N <= mechanism.axial_N
    assert safe.bending_Nmm <= mechanism.bending_Nmm * (1 + 1e-6)
    assert safe.torque_Nmm <= mechanism.torque_Nmm * (1 + 1e-9)
    assert safe.transverse_N <= mechanism.transverse_N
    size = drum.outer_radius_mm * drum.wall_mm
    sizes = rng.normal(size=6) * size * np.array([10, 10 * drum.outer_radius_mm, 10 * drum.outer_radius_mm, 10, 1, 0])
    forces = dict(
        zip(("axial_N", "bending_Nmm", "torque_Nmm", "transverse_N", "hoop_N", "pressure_MPa"), sizes, strict=True)
    )
    forces["pressure_MPa"] = rng.uniform(0, 2)
    pulls = rng.normal(size=drum.slots_around) * size
    found = plastic_limit(drum, SectionForces(**forces), yield_MPa=YIELD, slot_radial_N=pulls)
    assert 0 < found.lower <= found.upper
    assert found.ring_lower <= found.ring_upper
    assert found.section.lower <= found.section.upper
    assert found.lower < min(found.ring_lower, found.section.lower)
    double = plastic_limit(
        drum, SectionForces(**{k: 2 * v for k, v in forces.items()}), yield_MPa=2 * YIELD, slot_radial_N=2 * pulls
    )
    assert double.lower == pytest.approx(found.lower, rel=1e-5)
    assert double.upper == pytest.approx(found.upper, rel=1e-5)
    assert double.mode.split(" at ")[0].rstrip("0123456789") == found.mode.split(" at ")[0].rstrip("0123456789")


def test_together_is_less_than_apart():
    drum = SlottedShell(**DRUM, **SLOTS)
    hoop = plastic_limit(drum, SectionForces(hoop_N=1e6), yield_MPa=YIELD)
    twist = plastic_limit(drum, SectionForces(torque_Nmm=1e9), yield_MPa=YIELD)
    both = plastic_limit(drum, SectionForces(hoop_N=1e6, torque_Nmm=1e9), yield_MPa=YIELD)
    assert 1 / both.lower == pytest.approx(1 / hoop.lower + 1 / twist.lower, rel=1e-9)
    assert both.upper == pytest.approx(min(hoop.upper, twist.upper), rel=1e-6)


def test_first_yield_is_a_safe_bound_too():
    drum = SlottedShell(
        **DRUM, slots_around=4, slot_around_mm=60, slot_axial_mm=120, rows="helical", row_angle_deg=17.0
    )
    forces = SectionForces(axial_N=1e6, bending_Nmm=1e9)
    without = plastic_limit(drum, forces, yield_MPa=YIELD)
    raised = plastic_limit(drum, forces, yield_MPa=YIELD, first_yield=1.2 * without.lower)
    assert raised.lower == pytest.approx(1.2 * without.lower)
    assert raised.plastic_notch_factor == pytest.approx(1)
    kept = plastic_limit(drum, forces, yield_MPa=YIELD, first_yield=0.5 * without.lower)
    assert kept.lower == without.lower
    assert kept.plastic_notch_factor == pytest.approx(2)
    assert without.plastic_notch_factor is None
    # a peak of other loads cannot raise the bound above collapse
    foreign = plastic_limit(drum, forces, yield_MPa=YIELD, first_yield=10 * without.upper)
    assert foreign.lower == without.lower
    assert any("does not belong" in note for note in foreign.notes)


def test_words_and_warnings():
    drum = SlottedShell(**DRUM, **SLOTS)
    over = plastic_limit(drum, SectionForces(torque_Nmm=5e9), yield_MPa=YIELD, name="jam")
    assert over.upper < 1
    assert over.warnings == (f"the shell collapses (jam): at {over.upper:.3g} of the loads at the latest",)
    between = plastic_limit(drum, SectionForces(torque_Nmm=2e9), yield_MPa=YIELD, name="jam")
    assert between.lower < 1 < between.upper
    assert "not excluded (jam)" in between.warnings[0]
    assert plastic_limit(drum, SectionForces(torque_Nmm=1e9), yield_MPa=YIELD).warnings == ()
    figures = {f.what: f for f in between.figures}
    assert figures["plastic limit, factor on the loads, at least (jam)"].value == between.lower
    assert all(str(f.provenance) for f in between.figures)


def test_faults():
    drum = SlottedShell(**DRUM, **SLOTS)
    with refused("forces"):
        plastic_limit(drum, SectionForces(), yield_MPa=YIELD)
    with refused("forces"):
        plastic_limit(drum, SectionForces(axial_N=[1.0, 2.0]), yield_MPa=YIELD)
    with refused("yield_MPa"):
        plastic_limit(drum, SectionForces(axial_N=1.0), yield_MPa=0)
    with refused("slot_radial_N"):
        plastic_limit(drum, SectionForces(), yield_MPa=YIELD, slot_radial_N=[1.0, 2.0, 3.0])
    with refused("slot_couple_Nmm"):
        plastic_limit(SlottedShell(**DRUM), SectionForces(), yield_MPa=YIELD, slot_couple_Nmm=1.0)
    with refused("slot_axial_mm"):
        SlottedShell(**DRUM, **{**SLOTS, "slot_axial_mm": 180.0})
    with refused("slot_around_mm"):
        SlottedShell(**DRUM, slots_around=24, slot_around_mm=100, slot_axial_mm=50)
    with refused("row_angle_deg"):
        SlottedShell(**DRUM, **SLOTS, rows="helical")
    with refused("wall_mm"):
        SlottedShell(outer_radius_mm=40, wall_mm=40, pitch_mm=1)
    with refused("inner_mm"):
        annulus_pressure_limit_MPa(inner_mm=100, outer_mm=90, yield_MPa=300)
