"""What rows, bearings and stubs of random drums carry, by balance of forces, and by the loads on a single ring."""

import math
from dataclasses import replace

import numpy as np
import pytest
from random_drums import END, SEEDS, drum, random_drum, random_running

from femdrum.errors import InputFault
from femdrum.loads.shaft import overhung_force, point_force, uniform_weight
from femdrum.loads.torque_along import torque_along
from femdrum.model.drum_shaft import RotorBearing
from femdrum.model.hammer import Hammer
from femdrum.model.machine import RotorPart
from femdrum.rotor.bearing_life import bearing_lives
from femdrum.rotor.bearing_loads import bearing_loads, equivalent_load_N, mean_load_N
from femdrum.rotor.bodies import HammerState, bodies
from femdrum.rotor.mass_properties import mass_properties
from femdrum.rotor.rows import row_resultants
from femdrum.rotor.run_down import coast_down_s, lost_hammer
from femdrum.rotor.running import Running, TipHit, causes
from femdrum.rotor.shaft_strength import CRITERIA, ShaftDuty, ShaftStrength, shaft_safety
from femdrum.rotor.span import SpanForces, SpanTorques
from femdrum.rotor.stub_check import stub_sections


@pytest.mark.parametrize("seed", SEEDS)
def test_span_is_in_balance(seed):
    """Any forces: reactions balance them, the ends are free, and steps of shear and moment are the forces between."""
    rng = np.random.default_rng(seed)
    n, span = 9, 2200.0
    low = rng.uniform(-400, 2600, n)
    forces = SpanForces(rng.normal(size=n) + 1j * rng.normal(size=n), low, low + rng.choice([0.0, 150.0], n), span)
    near, far = forces.reactions_N
    scale = np.abs(forces.force_N).sum()
    assert abs(near + far + forces.force_N.sum()) < 1e-12 * scale
    ends = np.array([-500.0, 3000.0])
    np.testing.assert_allclose(forces.shear_N(ends), 0, atol=1e-12 * scale)
    np.testing.assert_allclose(forces.moment_Nmm(ends), 0, atol=1e-9 * scale)
    # moment is the integral of shear
    z = np.linspace(-450, 2700, 400_001)
    shear = forces.shear_N(z)
    middle = np.cumsum(0.5 * (shear[1:] + shear[:-1])) * (z[1] - z[0])
    np.testing.assert_allclose(forces.moment_Nmm(z[1:]) - forces.moment_Nmm(z[:1]), middle, atol=2e-2 * scale)


def test_span_agrees_with_the_loads_on_a_single_ring():
    z, span = np.array([100.0, 700.0, 1500.0]), 2200.0
    at = SpanForces(np.array([5e3 + 0j]), np.array([900.0]), np.array([900.0]), span)
    other = point_force(z, force_N=5e3, position_mm=900, span_mm=span)
    np.testing.assert_allclose(at.moment_Nmm(z), other.moment_Nmm, rtol=1e-12)
    np.testing.assert_allclose(at.shear_N(z), other.shear_N, rtol=1e-12)
    out = SpanForces(np.array([5e3 + 0j]), np.array([-180.0]), np.array([-180.0]), span)
    other = overhung_force(z, force_N=5e3, overhang_mm=180, span_mm=span)
    np.testing.assert_allclose(out.moment_Nmm(z), other.moment_Nmm, rtol=1e-12)
    np.testing.assert_allclose(out.shear_N(z), other.shear_N, rtol=1e-12)
    assert -out.reactions_N[0].real == pytest.approx(other.near_N)
    weight = SpanForces(np.array([3000 * 9.80665 + 0j]), np.array([0.0]), np.array([span]), span)
    other = uniform_weight(z, mass_kg=3000, span_mm=span)
    np.testing.assert_allclose(weight.moment_Nmm(z), other.moment_Nmm, rtol=1e-12)
    np.testing.assert_allclose(weight.shear_N(z), other.shear_N, rtol=1e-12)


def test_torque_agrees_with_the_jam_on_a_single_ring():
    parts = [
        RotorPart(name="a", inertia_kg_m2=30, from_mm=-180, to_mm=200),
        RotorPart(name="b", inertia_kg_m2=220, from_mm=200, to_mm=2000),
    ]
    z = np.array([300.0, 900.0, 1500.0, 1900.0])
    other = torque_along(z, torque_Nmm=3e8, jam_mm=1000, inertias=parts)
    held = 3e8
    own = SpanTorques(
        np.array([-held, held * 30 / 250, held * 220 / 250]),
        np.array([1000.0, -180, 200]),
        np.array([1000.0, 200, 2000]),
    )
    np.testing.assert_allclose(own.inside_Nmm(z), other.torque_Nmm, rtol=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_rows_are_in_equilibrium(seed):
    """Between neighbouring rows, cause by cause: what shear, moment and torque change by is what acts there."""
    whole = random_drum(seed)
    running = random_running(seed, whole)
    acting = causes(whole, running)
    rows = row_resultants(whole, running, acting=acting)
    assert [r.row for r in rows] == list(range(whole.rows_total))
    for cause in acting:
        parts = [r.by_cause(cause.name) for r in rows]
        scale = np.abs(cause.forces.force_N).sum()
        for a, b, left, right in zip(rows, rows[1:], parts, parts[1:], strict=False):
            # the forces beyond row a's middle and before row b's, by their shares, written out anew
            z0, z1 = a.z_mm, b.z_mm
            f = cause.forces
            total, moment = 0j, 0j
            for force, low, high in zip(f.force_N, f.from_mm, f.to_mm, strict=True):
                if high > low:
                    c0, c1 = max(low, z0), min(high, z1)
                    if c1 <= c0:
                        continue
                    part = force * (c1 - c0) / (high - low)
                    total += part
                    moment += part * (z1 - 0.5 * (c0 + c1))
                elif z0 < low < z1:
                    total += force
                    moment += force * (z1 - low)
            assert abs(right.shear_before_N - left.shear_after_N + total) < 1e-9 * scale
            change = left.shear_after_N * (z1 - z0) - moment
            assert abs(right.moment_Nmm - left.moment_Nmm - change) < 1e-9 * scale * 1000
    # the torque of all causes: in front of the sheave and behind the free end there is none
    for cause in acting:
        if cause.torques is not None:
            assert abs(cause.torques.torque_Nmm.sum()) < 1e-9 * np.abs(cause.torques.torque_Nmm).max()
            ends = cause.torques.inside_Nmm(np.array([-1e4, 1e4]))
            np.testing.assert_allclose(ends, 0, atol=1e-9 * np.abs(cause.torques.torque_Nmm).max())


@pytest.mark.parametrize("seed", SEEDS)
def test_bearings_carry_everything(seed):
    """Force and moment of all causes about the drive bearing, from the bodies themselves."""
    whole = random_drum(seed)
    running = random_running(seed, whole)
    pair = bearing_loads(whole, running)
    heap = bodies(whole, state=running.hammers)
    weights = [dict((p[0], p[2]) for p in load.parts) for load in pair]
    g = 9.80665 * heap.mass_kg
    assert weights[0]["weight"] + weights[1]["weight"] == pytest.approx(g.sum(), rel=1e-12)
    assert weights[1]["weight"] * whole.bearing_span_mm == pytest.approx(float(g @ heap.centre_mm[:, 2]), rel=1e-12)
    omega = running.speed_rpm * math.pi / 30
    known = mass_properties(whole, state=running.hammers)
    rest = running.unbalance[0]
    turned = (
        1e-6
        * omega**2
        * (complex(*known.unbalance_g_mm) + rest.amount_g_mm * np.exp(1j * math.radians(rest.angle_deg)))
    )
    assert abs(weights[0]["unbalance"] + weights[1]["unbalance"] - turned) < 1e-9 * abs(turned) + 1e-6
    for load in pair:
        assert max(load.standing_N, load.turning_N) <= load.mean_N * (1 + 1e-12)
        assert load.mean_N <= load.standing_N + load.turning_N + 1e-9
        assert load.largest_N >= load.mean_N
        assert load.equivalent_N == load.mean_N


def test_no_two_rows_carry_the_same_moment():
    """With belts on one side every row has its own moment; the bare weight of an even drum is the same from both ends."""
    running = Running(speed_rpm=1000, power_kW=550, cut_direction_deg=60)
    moments = [r.largest_moment_Nmm for r in row_resultants(drum(), running)]
    apart = np.abs(np.subtract.outer(moments, moments))[~np.eye(24, dtype=bool)]
    assert apart.min() > 1e-6 * max(moments)
    even = drum(drive=None, drive_end=replace(END, beyond_mm=0.0))
    weight = [r.largest_moment_Nmm for r in row_resultants(even, Running(speed_rpm=0))]
    np.testing.assert_allclose(weight, weight[::-1], rtol=1e-12)
    assert np.argmax(weight) in (11, 12)


def test_row_numbers_by_hand():
    """Drive torque runs out row by row; a hit splits by inertia; hammer pull and distance to the disc are what they are."""
    running = Running(speed_rpm=1000, power_kW=550, cut_direction_deg=0, hits=(TipHit(slot=20, force_kN=50),))
    rows = row_resultants(drum(), running)
    rated = 550e6 / (1000 * math.pi / 30)
    cut = [r.by_cause("cutting") for r in rows]
    assert cut[0].torque_before_Nmm == pytest.approx(-rated)
    for k, c in enumerate(cut):
        assert c.torque_after_Nmm == pytest.approx(-rated * (1 - (k + 1) / 24), abs=1e-6 * rated)
    hit = [r.by_cause("hits") for r in rows]
    # at row 10, slot 20: the jump is the whole torque
    assert hit[10].torque_after_Nmm - hit[10].torque_before_Nmm == pytest.approx(50e3 * 500, rel=1e-9)
    assert rows[10].hammer_force_N == 50e3
    assert rows[9].hammer_force_N == 0
    assert rows[0].hammer_pull_N == pytest.approx(1e-3 * (10 * 240 + 2.5 * 470) * (1000 * math.pi / 30) ** 2, rel=1e-9)
    assert rows[0].to_disc_mm == pytest.approx(118 - 60)
    assert rows[-1].to_disc_mm == pytest.approx(1800 - 60 - 118 - 23 * 68)
    assert rows[0].cutting_force_N == pytest.approx(rated / 500 / 24)
    # slot 20 stands at 10 x 37.5 degrees; the push against the rotation points a quarter turn back
    moment = hit[10].moment_Nmm
    assert rows[10].direction_deg(moment, "drum") == pytest.approx(270)
    assert not hit[10].steady
    # only some rows cut
    few = row_resultants(drum(), replace(running, hits=(), cutting_rows=(3, 4)))
    assert few[2].by_cause("cutting").torque_after_Nmm == pytest.approx(-rated)
    assert few[5].by_cause("cutting").torque_before_Nmm == pytest.approx(0, abs=1e-6 * rated)
    assert (few[3].cutting_force_N, few[5].cutting_force_N) == (pytest.approx(rated / 1000), 0)


def test_moving_with_the_speed():
    """Unbalance goes with the square of the speed, weight not at all; a lost half bar is the same force by either route."""
    state = HammerState(broken=(20,))
    slow, fast = (row_resultants(drum(), Running(speed_rpm=n, hammers=state)) for n in (500, 1000))
    for a, b in zip(slow, fast, strict=True):
        assert b.by_cause("unbalance").moment_Nmm == pytest.approx(4 * a.by_cause("unbalance").moment_Nmm, rel=1e-9)
        assert b.by_cause("weight").moment_Nmm == a.by_cause("weight").moment_Nmm
    lost = lost_hammer(drum(), slot=20, speed_rpm=1000)
    assert lost.mass_kg == pytest.approx(12.5)
    assert lost.force_N == pytest.approx(1e-6 * lost.unbalance_g_mm * (1000 * math.pi / 30) ** 2, rel=1e-12)
    assert lost.force_N == pytest.approx(lost.drive_bearing_N + lost.free_bearing_N, rel=1e-9)
    assert lost.energy_J == pytest.approx(0.5 * 12.5 * lost.speed_m_s**2, rel=1e-9)
    # the engineering figure: 12 kg at 0.42 m and 1,000 rpm carries 11.6 kJ
    like = Hammer(path="halves", mass_kg=12, length_mm=160, width_mm=50, depth_mm=40, inner_radius_mm=340)
    assert lost_hammer(drum(hammer=like), slot=0, speed_rpm=1000).energy_J == pytest.approx(11.6e3, rel=3e-3)


# bearings and stubs


@pytest.mark.parametrize("exponent", [3.0, 10 / 3])
def test_mean_load(exponent):
    """Ends: one of the two alone. The cube's mean has a closed form only for p = 2; p = 4: F^4 + 4 F^2 U^2 + U^4."""
    assert mean_load_N(standing_N=7, turning_N=0, exponent=exponent) == pytest.approx(7)
    assert mean_load_N(standing_N=0, turning_N=7, exponent=exponent) == pytest.approx(7)
    assert mean_load_N(standing_N=3, turning_N=2, exponent=4) == pytest.approx((81 + 4 * 36 + 16) ** 0.25, rel=1e-12)
    assert mean_load_N(standing_N=0, turning_N=0, exponent=exponent) == 0
    rising = [mean_load_N(standing_N=3, turning_N=u, exponent=exponent) for u in (0, 1, 2, 3)]
    assert rising == sorted(rising)


def test_thrust_by_the_bearings_own_table():
    table = RotorBearing(thrust_ratio=0.3, thrust_low=2.2, thrust_high=3.3, radial_high=0.67)
    assert equivalent_load_N(table, radial_N=1000, thrust_N=-300) == pytest.approx(1000 + 2.2 * 300)
    assert equivalent_load_N(table, radial_N=1000, thrust_N=400) == pytest.approx(670 + 3.3 * 400)
    with pytest.raises(InputFault, match="e, Y1, Y2"):
        equivalent_load_N(RotorBearing(), radial_N=1000, thrust_N=400)
    free = replace(table, dynamic_rating_kN=500)
    pair = bearing_loads(drum(free_bearing=free), Running(speed_rpm=1000, thrust_kN=4))
    assert (pair[0].thrust_N, pair[1].thrust_N) == (0, 4000)


def test_bearing_warnings():
    small = RotorBearing(dynamic_rating_kN=150, static_rating_kN=60)
    running = Running(speed_rpm=1000, power_kW=550, cut_direction_deg=60, hits=(TipHit(slot=0, force_kN=50),))
    whole = drum(drive_bearing=small, free_bearing=RotorBearing(dynamic_rating_kN=9000))
    lives = bearing_lives(whole, bearing_loads(whole, running), speed_rpm=1000)
    said = " ".join(lives.warnings)
    for words in ("The drive bearing reaches", "static safety of", "The free bearing carries"):
        assert words in said
    with pytest.raises(InputFault, match=r"drive_bearing.dynamic_rating_kN"):
        bearing_lives(drum(drive_bearing=None), bearing_loads(drum(drive_bearing=None), running), speed_rpm=1000)


STRENGTH = ShaftStrength(endurance_amplitude_MPa=180, ultimate_MPa=750, yield_MPa=500)


def test_stub_sections():
    running = Running(speed_rpm=1000, power_kW=550, cut_direction_deg=60, hits=(TipHit(slot=20, force_kN=50),))
    found = stub_sections(drum(), running, STRENGTH)
    names = [s.name for s in found]
    assert "drive-side bearing seat" in names
    assert "free-side fillet at the disc" in names
    assert "free-side bearing seat" not in names  # it carries nothing
    assert [s.least_safety for s in found] == sorted(s.least_safety for s in found)
    seat = next(s for s in found if s.name == "drive-side bearing seat")
    belt = 1.8 * 2 * running.torque_Nmm / 600
    heavy = 9.80665 * (160 + 7850e-9 * math.pi / 4 * 140**2 * 260 * 130 / 180)  # sheave and the stub's own overhang
    assert seat.duty.bending_amplitude_Nmm == pytest.approx(
        180 * abs(belt * np.exp(1j * math.radians(70)) + heavy), rel=2e-3
    )
    assert seat.duty.torque_mean_Nmm == pytest.approx(running.torque_Nmm)
    # soft to notches: safer; a computed notch at the disc is taken as given
    soft = stub_sections(drum(), running, STRENGTH, notch_sensitivity=0.5)
    worst = next(s for s in found if s.name == "drive-side shoulder")
    assert next(s for s in soft if s.name == "drive-side shoulder").least_safety > worst.least_safety
    told = stub_sections(drum(), running, STRENGTH, kt_at_disc=(4.0, 3.0))
    disc = next(s for s in told if s.name == "drive-side fillet at the disc")
    assert (disc.kt_bending, disc.notch_from) == (4.0, "given")
    assert {f.what.split(": ")[0] for f in disc.figures} == {disc.name}


@pytest.mark.parametrize("seed", SEEDS)
def test_criteria_stand_in_order(seed):
    """Soderberg is the strictest; safeties fall in proportion to the load, and grow with the cube of the diameter."""
    rng = np.random.default_rng(seed)
    values = rng.uniform(1e5, 1e7, 4)
    duty = ShaftDuty(
        bending_amplitude_Nmm=values[0], bending_mean_Nmm=values[1], torque_amplitude_Nmm=values[2],
        torque_mean_Nmm=values[3], bending_notch_factor=2.0, torsion_notch_factor=1.6,
    )  # fmt: skip
    safety = {c: shaft_safety(c, duty, STRENGTH, diameter_mm=100) for c in CRITERIA}
    assert min(safety, key=safety.__getitem__) == "soderberg"
    assert safety["gerber"] > safety["goodman"]
    twice = replace(
        duty, bending_amplitude_Nmm=2 * values[0], bending_mean_Nmm=2 * values[1], torque_amplitude_Nmm=2 * values[2],
        torque_mean_Nmm=2 * values[3],
    )  # fmt: skip
    for c in CRITERIA:
        assert shaft_safety(c, twice, STRENGTH, diameter_mm=100) == pytest.approx(0.5 * safety[c], rel=1e-12)
        assert shaft_safety(c, duty, STRENGTH, diameter_mm=200) == pytest.approx(8 * safety[c], rel=1e-12)
        assert shaft_safety(c, duty, STRENGTH, diameter_mm=100, bore_mm=60) == pytest.approx(
            safety[c] * (1 - 0.6**4), rel=1e-12
        )


@pytest.mark.parametrize("share", [1.0, 0.6, 0.05])
def test_running_down_against_its_equation(share):
    """J d(omega)/dt = -T0 (c + (1 - c) (omega/omega0)^2), integrated."""
    from scipy.integrate import quad

    omega = 1000 * math.pi / 30
    torque = 20e3 / omega
    exact = quad(lambda w: 250 / (torque * (share + (1 - share) * (w / omega) ** 2)), 0.2 * omega, omega)[0]
    found = coast_down_s(inertia_kg_m2=250, speed_rpm=1000, drag_kW=20, constant_share=share, to_rpm=200)
    assert found == pytest.approx(exact, rel=1e-9)


def test_air_alone_never_stops_a_drum():
    with pytest.raises(InputFault, match="never stops"):
        coast_down_s(inertia_kg_m2=250, speed_rpm=1000, drag_kW=20, constant_share=0)
