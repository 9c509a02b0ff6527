"""Load models by a second way: equations of motion, balance of forces, limits; and what they refuse."""

import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

import femdrum.figure as figure_module
from femdrum.errors import InputFault
from femdrum.figure import Figure, figure
from femdrum.loads.cutting import crushing_force_N, hit_energy_J, pulse_peak_N, wood
from femdrum.loads.drive import belt_pull, start_torque_Nmm
from femdrum.loads.dynamic import STEP_FACTOR, dynamic_factor, falling_weight_factor, half_sine_factor, half_sine_most
from femdrum.loads.impact import (
    contact_modulus_MPa,
    hertz_impact,
    hertz_time_coefficient,
    impulse_impact,
    impulse_Ns,
    plastic_impact,
    reduced_mass_kg,
    spring_impact,
)
from femdrum.loads.jam import jam, reversal
from femdrum.loads.rotating import overspeed_factor, tip_speed_m_s, wedge_pull
from femdrum.loads.section import bending_stress_MPa, tube_section
from femdrum.loads.shaft import overhung_force, point_force, self_weight_moment_Nmm, uniform_weight
from femdrum.loads.through_bar import (
    bar_mid_tension_N,
    bar_offset_mm,
    bar_on_slots,
    bar_strut,
    own_stretch_mm,
    strut_force_N,
    strut_stiffness_N_mm,
)
from femdrum.loads.tip_force import flank_load, tip_reaction, turning_stiffness_Nmm_rad
from femdrum.loads.torque_along import torque_along
from femdrum.loads.weak_links import (
    Link,
    bar_yield_tip_force_N,
    belt_slip_torque_Nmm,
    shear_pin_torque_Nmm,
    slot_bearing_tip_force_N,
    weakest_link,
    wedge_slip_tip_force_N,
)
from femdrum.model.machine import RotorPart

JAM = {"inertia_kg_m2": 250, "speed_rpm": 1000, "stop_angle_deg": 90, "tip_radius_mm": 500}
TIP = {"force_N": 100e3, "overhang_mm": 100, "wall_mm": 40, "width_mm": 60}
HALVES = {"half_mass_kg": 12.5, "half_radius_mm": 426, "other_half_mass_kg": 12.5, "other_half_radius_mm": 414}


def refused(field):
    """InputFault that names the field, what is allowed and a way out."""
    return pytest.raises(InputFault, match=rf"{field}.*(must|give|missing).*; .+")


# ---------------------------------------------------------------- impact


def motion(mass, speed, force):
    """Peak force and time of contact of a body that meets a contact law, by its equation of motion (SI)."""

    def parted(t, y):
        return y[0] if t > 0 else 1.0

    parted.terminal, parted.direction = True, -1
    run = solve_ivp(
        lambda t, y: (y[1], -force(max(y[0], 0.0)) / mass), (0, 1), (0.0, speed), events=parted, rtol=1e-10, atol=1e-14,
        max_step=1e-6,
    )  # fmt: skip
    return max(force(max(x, 0.0)) for x in run.y[0]), run.t[-1]


def test_hertz_impact_by_its_equation_of_motion():
    modulus = contact_modulus_MPa(youngs_modulus_MPa=206e3, poissons_ratio=0.3)
    ours = hertz_impact(reduced_mass_kg=0.5, speed_m_s=5, radius_mm=25, contact_modulus_MPa=modulus)
    k = 4 / 3 * modulus * 1e6 * math.sqrt(0.025)
    peak, duration = motion(0.5, 5.0, lambda x: k * x**1.5)
    assert ours.peak_N == pytest.approx(peak, rel=1e-4)  # the steps may miss the very top
    assert ours.duration_s == pytest.approx(duration, rel=1e-6)


def test_spring_impact_by_its_equation_of_motion():
    ours = spring_impact(reduced_mass_kg=2, speed_m_s=5, stiffness_N_mm=50e3)
    peak, duration = motion(2.0, 5.0, lambda x: 50e6 * x)
    assert ours.peak_N == pytest.approx(peak, rel=1e-4)
    assert ours.duration_s == pytest.approx(duration, rel=1e-6)
    assert ours.impulse_Ns == pytest.approx(ours.peak_N * 2 * ours.duration_s / math.pi, rel=1e-12)
    # what the spring holds at the peak is the energy of the hit
    assert 0.5e-3 * ours.peak_N * ours.approach_mm == pytest.approx(ours.energy_J, rel=1e-12)


def test_time_coefficient_by_quadrature():
    # x = sin(s)^(4/5) takes the root's singularity away
    value, _ = quad(lambda s: 0.8 * math.sin(s) ** -0.2, 0, math.pi / 2)
    assert hertz_time_coefficient() == pytest.approx(2 * value, rel=1e-7)


def test_dented_impact_energy_impulse_and_duration():
    ours = plastic_impact(reduced_mass_kg=1, speed_m_s=52, radius_mm=20, yield_MPa=355)
    assert 0.5e-3 * ours.peak_N * ours.approach_mm == pytest.approx(ours.energy_J, rel=1e-12)
    assert ours.impulse_Ns == pytest.approx(ours.momentum_Ns, rel=1e-12)
    assert pulse_peak_N(impulse_Ns=ours.impulse_Ns, duration_s=ours.duration_s) == pytest.approx(ours.peak_N, rel=1e-12)


def test_impulse():
    assert reduced_mass_kg(mass_kg=3, other_mass_kg=6) == pytest.approx(2, rel=1e-12)
    assert reduced_mass_kg(mass_kg=3, other_mass_kg=None) == 3
    assert reduced_mass_kg(mass_kg=3, other_mass_kg=1e12) == pytest.approx(3, rel=1e-9)
    assert impulse_Ns(reduced_mass_kg=2, speed_m_s=5, restitution=0.5) == pytest.approx(15, rel=1e-12)
    ours = impulse_impact(reduced_mass_kg=2, speed_m_s=5, restitution=0, duration_s=1e-3)
    carried, _ = quad(lambda t: ours.peak_N * math.sin(math.pi * t / 1e-3), 0, 1e-3)
    assert carried == pytest.approx(ours.impulse_Ns, rel=1e-9)


@pytest.mark.parametrize("ratio", [0.05, 0.3, 0.4999999, 0.5, 0.5000001, 0.65, 0.816, 1.0, 1.5, 2.2, 3.7, 10.0])
def test_half_sine_factor_by_integration(ratio):
    """u'' + w^2 u = w^2 sin(pi t / td), T = 1, through the pulse and a period after it."""
    w = 2 * math.pi
    t = np.linspace(0, ratio + 1, 20001)
    run = solve_ivp(
        lambda t, y: (y[1], w * w * ((math.sin(math.pi * t / ratio) if t < ratio else 0.0) - y[0])), (0, ratio + 1), (0, 0),
        t_eval=t, rtol=1e-9, atol=1e-12, max_step=min(0.02, ratio / 50),
    )  # fmt: skip
    assert half_sine_factor(duration_over_period=ratio) == pytest.approx(np.abs(run.y[0]).max(), rel=2e-6)


def test_half_sine_factor_limits():
    assert half_sine_factor(duration_over_period=0) == 0
    assert half_sine_factor(duration_over_period=0.5) == pytest.approx(math.pi / 2, rel=1e-12)
    assert half_sine_factor(duration_over_period=1e-4) == pytest.approx(4e-4, rel=1e-6)
    assert half_sine_factor(duration_over_period=1000.3) == pytest.approx(1, abs=1e-3)
    most, at = half_sine_most()
    many = [half_sine_factor(duration_over_period=x) for x in np.linspace(0, 5, 5001)]
    assert max(many) <= most
    assert max(many) == pytest.approx(most, rel=1e-6)
    assert most < STEP_FACTOR
    pulse = dynamic_factor(duration_s=at / 400, first_frequency_Hz=400)
    assert pulse.factor == pytest.approx(most, rel=1e-12)


def test_falling_weight_by_energy():
    for drop in (0.0, 0.3, 7.0):
        factor = falling_weight_factor(drop_mm=drop, static_deflection_mm=0.2)
        # weight 1: work over drop and deflection is what the spring holds
        assert drop + factor * 0.2 == pytest.approx(0.5 * factor**2 * 0.2, rel=1e-12)
    assert falling_weight_factor(drop_mm=0, static_deflection_mm=1) == STEP_FACTOR


def test_no_dynamic_factor_without_a_frequency():
    with refused("first_frequency_Hz"):
        dynamic_factor(duration_s=1e-4, first_frequency_Hz=None)


# ---------------------------------------------------------------- jam


def test_single_bar_jam_is_capped_by_the_bar():
    """The rotor asks for 873 kN m within a quarter turn; the bar yields at 567 kN, fully plastic at 850 kN."""
    bar = {"yield_MPa": 700, "width_mm": 60, "depth_mm": 90, "overhang_mm": 100}
    first, full = (Link(name=n, tip_force_N=bar_yield_tip_force_N(**bar, plastic=p)) for n, p in
                   (("bar yields", False), ("bar fully plastic", True)))  # fmt: skip
    ours = jam(**JAM, links=[full, first])
    assert ours.cap.gives_way == "bar yields"
    assert ours.torque_Nmm == pytest.approx(283.5e6, rel=1e-12)
    assert jam(**JAM, links=[full]).torque_Nmm == pytest.approx(425.25e6, rel=1e-12)
    assert ours.tip_force_N == pytest.approx(567e3, rel=1e-12)
    assert not ours.warnings
    # the energy is spent, over a longer angle
    assert 1e-3 * ours.torque_Nmm * math.radians(ours.angle_at_cap_deg) == pytest.approx(ours.energy_J, rel=1e-12)
    assert [name for name, _ in ours.cap.limits] == ["bar yields", "bar fully plastic"]
    # two tips share
    both = jam(**JAM, links=[first], tips=2)
    assert both.torque_Nmm == pytest.approx(567e6, rel=1e-12)
    assert both.tip_force_N == pytest.approx(567e3, rel=1e-12)


def test_links_that_hold_do_not_cap():
    ours = jam(**JAM, links=[Link(name="block", torque_Nmm=1e9, carries="all")])
    assert ours.cap.gives_way is None
    assert ours.torque_Nmm == ours.cap.asked_Nmm
    assert ours.angle_at_cap_deg == pytest.approx(90, rel=1e-12)


def test_no_link_warns():
    (warning,) = jam(**JAM).warnings
    assert "not checked" in warning
    assert jam(**JAM).torque_Nmm == pytest.approx(872.665e6, rel=1e-6)


def test_slipping_belts_do_not_hold_back_the_drum():
    belts = Link(name="belts slip", torque_Nmm=12e6, carries="drive")
    ours = weakest_link(torque_Nmm=800e6, tip_radius_mm=500, links=[belts, Link(name="wedge slips", tip_force_N=400e3)])
    assert ours.gives_way == "wedge slips"
    assert ours.torque_Nmm == pytest.approx(200e6)
    assert ours.drive_limit == ("belts slip", 12e6)
    assert "belts slip" in ours.warnings[0]
    alone = weakest_link(torque_Nmm=800e6, tip_radius_mm=500, links=[belts])
    assert alone.torque_Nmm == 800e6
    assert len(alone.warnings) == 2


def test_limits_of_single_links():
    assert shear_pin_torque_Nmm(
        pins=2, planes=2, pin_diameter_mm=10, pitch_radius_mm=100, shear_strength_MPa=400
    ) == pytest.approx(4 * 400 * 25 * math.pi * 100)
    assert belt_slip_torque_Nmm(slip_pull_N=30e3, sheave_diameter_mm=600) == pytest.approx(9e6)
    assert wedge_slip_tip_force_N(clamp_N=147e3, friction=0.1, faces=2, share_along=0.5) == pytest.approx(58.8e3)
    force = slot_bearing_tip_force_N(bearing_MPa=355, width_mm=60, wall_mm=40, lever_mm=120, spacing_mm=760)
    loaded = tip_reaction(**(TIP | {"force_N": force}), walls="two", spacing_mm=760)
    assert loaded.loads[0].outer_MPa == pytest.approx(355, rel=1e-12)


def test_reversal():
    swing = reversal(torque_Nmm=300e6)
    assert (swing.highest_Nmm, swing.lowest_Nmm, swing.ratio) == (300e6, -300e6, -1.0)
    assert reversal(torque_Nmm=300e6, back_torque_Nmm=150e6).ratio == -0.5


DRUM = (
    RotorPart(name="shell", inertia_kg_m2=195, from_mm=0, to_mm=1800),
    RotorPart(name="free end disc", inertia_kg_m2=15, from_mm=0, to_mm=0),
    RotorPart(name="drive end disc", inertia_kg_m2=25, from_mm=1800, to_mm=1800),
    RotorPart(name="sheave", inertia_kg_m2=15, from_mm=2200, to_mm=2200),
)


@pytest.mark.parametrize("jam_mm", [50.0, 900.0, 1800.0])
@pytest.mark.parametrize("drive", [0.0, 10e6])
def test_torque_along_the_drum(jam_mm, drive):
    ours = torque_along(
        [-1.0, jam_mm, 2201.0], torque_Nmm=300e6, jam_mm=jam_mm, inertias=DRUM, drive_torque_Nmm=drive, drive_mm=2200
    )
    # free at both ends: all torques sum to zero
    assert ours.torque_Nmm[0] == 0
    assert ours.torque_Nmm[2] == pytest.approx(0, abs=300e6 * 1e-12)
    # at 1800 the drive end disc pushes on at the same place, with its tenth of the inertia
    jump = 300e6 - (0.1 * (300e6 - drive) if jam_mm == 1800 else 0.0)
    assert ours.after_jam_Nmm - ours.before_jam_Nmm == pytest.approx(jump, rel=1e-12)
    assert ours.before_jam_Nmm <= 0 <= ours.after_jam_Nmm
    assert abs(ours.torque_Nmm[1]) == max(-ours.before_jam_Nmm, ours.after_jam_Nmm)
    assert ours.worst_Nmm == ours.torque_Nmm[1]


def test_torque_along_is_the_inertia_beyond_the_jam():
    ours = torque_along([450.0, 1350.0], torque_Nmm=250e6, jam_mm=900, inertias=DRUM)
    assert ours.torque_Nmm == pytest.approx([-1e6 * (15 + 195 / 4), 1e6 * (195 / 4 + 40)], rel=1e-12)
    lone = torque_along(
        0.5, torque_Nmm=1e6, jam_mm=0, inertias=[RotorPart(name="far", inertia_kg_m2=3, from_mm=1, to_mm=1)]
    )
    assert float(lone.torque_Nmm) == pytest.approx(1e6, rel=1e-12)


# ---------------------------------------------------------------- beam, section, wedge


def check_beam(load, z, applied, span):
    """dM/dz = V away from jumps, reactions carry what is applied."""
    inside = np.abs(np.diff(load.shear_N)) < 1e-3 * np.ptp(load.shear_N) + 1e-9
    slope = np.diff(load.moment_Nmm) / np.diff(z)
    mean = 0.5 * (load.shear_N[1:] + load.shear_N[:-1])
    assert slope[inside] == pytest.approx(mean[inside], rel=1e-9, abs=1e-6)
    assert load.near_N + load.far_N == pytest.approx(applied, rel=1e-12)


def test_beam():
    z, span = np.linspace(0, 2200, 2201), 2200.0
    own = uniform_weight(z, mass_kg=3000, span_mm=span)
    check_beam(own, z, 3000 * 9.80665, span)
    assert own.moment_Nmm.max() == pytest.approx(self_weight_moment_Nmm(mass_kg=3000, span_mm=span), rel=1e-12)
    assert own.shear_N[[0, 1100, -1]] == pytest.approx([1500 * 9.80665, 0, -1500 * 9.80665], abs=1e-9)
    cut = point_force(z, force_N=100e3, position_mm=600.5, span_mm=span)
    check_beam(cut, z, 100e3, span)
    assert cut.moment_Nmm[[0, -1]] == pytest.approx([0, 0], abs=1e-6)
    mid = point_force([1100.0], force_N=100e3, position_mm=1100, span_mm=span)
    assert mid.moment_Nmm[0] == pytest.approx(55e6, rel=1e-12)
    # the drum of 800 x 40: 3.2 MPa by a cutting force of 100 kN at mid-span
    tube = tube_section(outer_diameter_mm=800, wall_mm=40)
    assert bending_stress_MPa(moment_Nmm=mid.moment_Nmm[0], section=tube) == pytest.approx(3.2, rel=0.01)
    belts = belt_pull(torque_Nmm=5.252e6, sheave_diameter_mm=600, shaft_factor=1.5, overhang_mm=200)
    over = overhung_force(z, force_N=belts.shaft_N, overhang_mm=200, span_mm=span)
    check_beam(over, z, belts.shaft_N, span)
    assert over.moment_Nmm[[0, -1]] == pytest.approx([-belts.moment_Nmm, 0], abs=1e-6)


def test_beam_gives_the_larger_side_of_a_jump():
    assert point_force([500.0], force_N=1e3, position_mm=500, span_mm=2000).shear_N[0] == 750
    assert point_force([1500.0], force_N=1e3, position_mm=1500, span_mm=2000).shear_N[0] == -750


def test_tube_section_by_integration():
    tube = tube_section(outer_diameter_mm=800, wall_mm=40)
    area, _ = quad(lambda r: 2 * math.pi * r, 360, 400)
    polar, _ = quad(lambda r: 2 * math.pi * r**3, 360, 400)
    assert (tube.area_mm2, tube.polar_mm4) == pytest.approx((area, polar), rel=1e-12)
    # the drum of 800 x 40: 0.0955 m2, 6.914e-3 m4
    assert (tube.area_mm2, tube.inertia_mm4) == pytest.approx((95.5e3, 6.914e9), rel=5e-4)
    assert bending_stress_MPa(moment_Nmm=1e6, section=tube, radius_mm=360) == pytest.approx(360e6 / tube.inertia_mm4)


@pytest.mark.parametrize(("angle", "sign", "effect"), [(0, 1, "tightens"), (180, -1, "loosens"), (90, 0, "neither")])
def test_wedge_says_which_way(angle, sign, effect):
    pull = wedge_pull(mass_kg=1.5, radius_mm=330, speed_rpm=1000, tightening_angle_deg=angle)
    assert pull.force_N == pytest.approx(5.43e3, rel=1e-3)
    assert pull.tightening_N == pytest.approx(sign * pull.force_N, abs=1e-9)
    assert pull.effect == effect
    assert effect in pull.figures[1].what.lower()


def test_overspeed():
    assert overspeed_factor(ratio=1.2) == pytest.approx(1.44, rel=1e-12)


# ---------------------------------------------------------------- through-bar


@pytest.mark.parametrize("path", ["both", "one", "halves"])
def test_paths_of_a_bar(path):
    ours = bar_on_slots(path=path, **HALVES, speed_rpm=1000)
    # 25 kg, centre of gravity 6 mm off the axis: 1.645 kN in space whatever the path
    assert ours.slot_N - ours.opposite_N == pytest.approx(1644.9, rel=1e-3)
    assert ours.net_N == pytest.approx(ours.slot_N - ours.opposite_N, rel=1e-12)
    assert ours.is_strut == (path == "both")
    # each half in balance: what it pulls is held by its slot and by the bar's middle
    first = ours.slot_N + ours.mid_tension_N
    other = ours.opposite_N + ours.mid_tension_N
    omega2 = (2 * math.pi * 1000 / 60) ** 2
    assert (first, other) == pytest.approx((12.5e-3 * 426 * omega2, 12.5e-3 * 414 * omega2), rel=1e-12)


def test_wear_moves_the_centre_of_gravity_away_from_the_worn_tip():
    worn = {"loss_radius_mm": 480, "other_loss_radius_mm": 480, "bar_mass_kg": 24}
    assert bar_offset_mm(loss_kg=0.8, other_loss_kg=0.0, **worn) == pytest.approx(16, rel=1e-12)
    assert bar_offset_mm(loss_kg=0.0, other_loss_kg=0.8, **worn) == pytest.approx(-16, rel=1e-12)
    assert bar_offset_mm(loss_kg=0.8, other_loss_kg=0.8, **worn) == 0


def test_own_stretch_by_integration():
    bar = {"mass_per_length_kg_m": 42, "seat_radius_mm": 380, "youngs_modulus_MPa": 206e3, "area_mm2": 5400}
    load = 42e-6 * (2 * math.pi * 1000 / 60) ** 2
    half, _ = quad(lambda r: 0.5 * load * (380**2 - r**2) / (206e3 * 5400), 0, 380)
    assert own_stretch_mm(**bar, speed_rpm=1000) == pytest.approx(2 * half, rel=1e-12)


def test_strut():
    """Stiffness of the order of 1500 kN/mm against a ring of 23 kN/mm."""
    strut = bar_strut(
        speed_rpm=1000, youngs_modulus_MPa=206e3, area_mm2=5400, mass_per_length_kg_m=42, seat_radius_mm=380,
        end_radius_mm=460, tip_mass_kg=3, tip_radius_mm=480, clamp_N=147e3, friction=0.12,
    )  # fmt: skip
    assert strut.stiffness_N_mm == pytest.approx(1464e3, rel=1e-3)
    assert strut.friction_capacity_N == pytest.approx(2 * 0.12 * 147e3)
    rigid = strut.push_N(opening_mm=0, opening_per_N_mm=0)
    omega2 = (2 * math.pi * 1000 / 60) ** 2
    # between rigid seats a rotating bar puts a third of mu omega^2 r^2 on each
    assert rigid - strut.pull_N == pytest.approx(42e-6 * omega2 * 380**2 / 3, rel=1e-12)
    push = strut.push_N(opening_mm=0.05, opening_per_N_mm=1 / 23e3)
    assert (strut.pull_N - push) / strut.stiffness_N_mm + strut.own_stretch_mm == pytest.approx(
        0.05 + push / 23e3, rel=1e-12
    )
    # nothing in the bar: it holds the ring back
    held = strut_force_N(
        stiffness_N_mm=1e15, pull_N=0, own_stretch_mm=0, opening_mm=0.05, opening_per_N_mm=1 / 23e3
    )  # fmt: skip
    assert held == pytest.approx(-0.05 * 23e3, rel=1e-6)
    assert strut_stiffness_N_mm(youngs_modulus_MPa=2e5, area_mm2=5e3, seat_distance_mm=1000) == 1e6
    assert bar_mid_tension_N(half_mass_kg=12, half_radius_mm=420, speed_rpm=1000, seat_push_N=5e3) == pytest.approx(
        55269.8 - 5e3, rel=1e-5
    )


# ---------------------------------------------------------------- tip force


def balance(reaction, tip):
    """Force in space, and moment about the near wall's middle, of the pressures against the tip force."""
    signs = {"trailing": 1.0, "leading": -1.0}
    # "against the rotation" at the near slot is "with the rotation" at the far one
    near = sum(signs[x.flank] * x.force_N for x in reaction.loads if x.slot == "near")
    far = sum(signs[x.flank] * x.force_N for x in reaction.loads if x.slot == "far")
    turned = sum(signs[x.flank] * x.moment_Nmm for x in reaction.loads)
    force = near - far
    moment = turned + far * reaction.spacing_mm
    return force / tip["force_N"], moment / (tip["force_N"] * (tip["overhang_mm"] + 0.5 * tip["wall_mm"])), near + far


@pytest.mark.parametrize("force", [100e3, -40e3])
@pytest.mark.parametrize(
    "held",
    [
        {"walls": "near"},
        {"walls": "two", "spacing_mm": 760},
        {"walls": "two", "spacing_mm": 760, "clearance_mm": 0.3, "turning_stiffness_Nmm_rad": 2e9},
        {"walls": "two", "spacing_mm": 760, "clearance_mm": 9.0, "turning_stiffness_Nmm_rad": 2e9},
    ],
)
def test_pressures_balance_the_tip_force(force, held):
    tip = TIP | {"force_N": force}
    reaction = tip_reaction(**tip, **held)
    assert balance(reaction, tip)[:2] == pytest.approx((1, 1), rel=1e-12)
    assert all(x.uniform_MPa > 0 for x in reaction.loads)
    assert {x.flank for x in reaction.loads} == {"trailing" if force > 0 else "leading"}
    assert reaction.near_N - reaction.far_N == pytest.approx(force, rel=1e-12)


def test_two_walls_turn_the_drum_back_with_the_tip_forces_torque():
    reaction = tip_reaction(**TIP, walls="two", spacing_mm=760)
    *_, both = balance(reaction, TIP)
    assert both * 380 == pytest.approx(100e3 * (380 + 20 + 100), rel=1e-12)
    assert reaction.near_moment_Nmm == 0
    assert not reaction.warnings
    assert "two supports" in reaction.sentence


def test_clearance_goes_from_two_walls_to_one():
    held = {"walls": "two", "spacing_mm": 760, "turning_stiffness_Nmm_rad": 2e9}
    gaps = np.linspace(0, 6, 61)
    many = [tip_reaction(**TIP, **held, clearance_mm=float(c)) for c in gaps]
    edge = np.array([r.loads[0].outer_MPa for r in many])
    assert np.all(np.diff(edge) >= -1e-9)
    one = tip_reaction(**TIP, walls="near")
    two = tip_reaction(**TIP, walls="two", spacing_mm=760)
    assert edge[0] == pytest.approx(two.loads[0].outer_MPa, rel=1e-12)
    assert edge[-1] == pytest.approx(one.loads[0].outer_MPa, rel=1e-12)
    # the far slot is reached when the near wall's moment has turned the bar by c / L: c = F a L / k
    reached = 100e3 * 120 * 760 / 2e9
    for gap, r in zip(gaps, many, strict=True):
        assert r.far_holds == (gap < reached)
        assert r.tilt_rad == pytest.approx(min(gap, reached) / 760, rel=1e-12, abs=1e-15)
    assert "does not reach" in many[-1].warnings[0]
    assert "near wall alone" in many[-1].sentence
    assert "turned by" in many[3].sentence
    assert one.tilt_rad is None
    # nothing resists the turning once it has begun: a loose bar that swings through its clearance
    loose = tip_reaction(**TIP, walls="two", spacing_mm=760, clearance_mm=0.3, turning_stiffness_Nmm_rad=1e-6)
    assert loose.near_N == pytest.approx(two.near_N, rel=1e-12)


def test_one_wall_needs_a_clamp():
    reaction = tip_reaction(**TIP, walls="near")
    (load,) = reaction.loads
    assert reaction.clamp_needed_MPa == pytest.approx(-load.bore_MPa)
    assert load.bore_MPa == pytest.approx(2 * load.uniform_MPa - load.outer_MPa, rel=1e-12)
    assert "clamp" in reaction.warnings[0]


def test_turning_stiffness_by_the_punch_pressure():
    """Moment of the pressure E* turn s / (2 sqrt(h^2 - s^2)), s = h sin(x)."""
    moment, _ = quad(lambda x: 0.5 * 113e3 * (20 * math.sin(x)) ** 2, -math.pi / 2, math.pi / 2)
    ours = turning_stiffness_Nmm_rad(contact_modulus_MPa=113e3, width_mm=60, wall_mm=40)
    assert ours == pytest.approx(60 * moment, rel=1e-12)


def test_a_flank_never_pulls_on_the_whole():
    turned = flank_load(slot="near", force_N=-5e3, moment_Nmm=-2e4, width_mm=60, height_mm=40)
    assert turned.flank == "leading"
    assert (turned.force_N, turned.moment_Nmm) == pytest.approx((5e3, 2e4), rel=1e-12)


# ---------------------------------------------------------------- figures and refusals


def test_every_stated_formula_is_complete():
    said = figure_module._STATEMENTS
    assert len(said) > 35
    for key, one in said.items():
        assert one.what, key
        assert one.unit, key
        assert one.formula, key
        assert str(one.provenance), key
        assert one.scale > 0


def test_figures():
    speed = tip_speed_m_s(speed_rpm=1000, tip_diameter_mm=1000)
    shown = figure(tip_speed_m_s, speed)
    assert (shown.what, shown.unit, shown.value) == ("tip speed", "m/s", speed)
    assert figure(tip_speed_m_s, speed, "speed of the jammed tip").what == "speed of the jammed tip"
    with pytest.raises(KeyError):
        figure(lambda: 1.0, 1.0)
    steel = contact_modulus_MPa(youngs_modulus_MPa=206e3, poissons_ratio=0.3)
    results = (
        jam(**JAM, links=[Link(name="bar", tip_force_N=1e5)]),
        tip_reaction(**TIP, walls="near"),
        tip_reaction(**TIP, walls="two", spacing_mm=760),
        hertz_impact(reduced_mass_kg=1, speed_m_s=5, radius_mm=20, contact_modulus_MPa=steel),
        plastic_impact(reduced_mass_kg=1, speed_m_s=5, radius_mm=20, yield_MPa=355),
        impulse_impact(reduced_mass_kg=1, speed_m_s=5, restitution=0, duration_s=1e-3),
        spring_impact(reduced_mass_kg=1, speed_m_s=5, stiffness_N_mm=1e5),
        dynamic_factor(duration_s=1e-3, first_frequency_Hz=500),
        belt_pull(torque_Nmm=5e6, sheave_diameter_mm=600, shaft_factor=1.5, overhang_mm=200),
        bar_on_slots(path="one", **HALVES, speed_rpm=1000),
    )
    for result in results:
        assert result.figures
        for one in result.figures:
            assert isinstance(one, Figure)
            assert math.isfinite(one.value)
            assert one.what
            assert one.unit
            assert one.formula
    capped = next(f for f in results[0].figures if "gives way first" in f.what)
    assert (capped.value, capped.unit) == (pytest.approx(5e4), "N·m")


@pytest.mark.parametrize(
    ("field", "call"),
    [
        ("speed_rpm", lambda: tip_speed_m_s(speed_rpm=0, tip_diameter_mm=1000)),
        ("tip_diameter_mm", lambda: tip_speed_m_s(speed_rpm=1000, tip_diameter_mm=None)),
        ("tip_diameter_mm", lambda: tip_speed_m_s(speed_rpm=1000, tip_diameter_mm=math.nan)),
        ("ratio", lambda: overspeed_factor(ratio=0.9)),
        ("start_factor", lambda: start_torque_Nmm(power_kW=550, speed_rpm=1000, start_factor=0.5)),
        ("shaft_factor", lambda: belt_pull(torque_Nmm=1, sheave_diameter_mm=1, shaft_factor=0.5, overhang_mm=1)),
        ("tightening_angle_deg", lambda: wedge_pull(mass_kg=1, radius_mm=1, speed_rpm=1, tightening_angle_deg=200)),
        ("wall_mm", lambda: tube_section(outer_diameter_mm=800, wall_mm=401)),
        ("z_mm", lambda: uniform_weight([2300], mass_kg=1, span_mm=2200)),
        ("position_mm", lambda: point_force([0], force_N=1, position_mm=2300, span_mm=2200)),
        ("wood", lambda: wood("douglas_fir_wet")),
        ("tips", lambda: hit_energy_J(power_kW=1, speed_rpm=1, tips=0, share_cutting=1)),
        ("share_cutting", lambda: hit_energy_J(power_kW=1, speed_rpm=1, tips=4, share_cutting=1.2)),
        ("rate_factor", lambda: crushing_force_N(crushing_MPa=50, width_mm=60, depth_mm=10, rate_factor=0.5)),
        ("restitution", lambda: impulse_Ns(reduced_mass_kg=1, speed_m_s=1, restitution=1.1)),
        ("poissons_ratio", lambda: contact_modulus_MPa(youngs_modulus_MPa=2e5, poissons_ratio=0.6)),
        ("stop_angle_deg", lambda: jam(inertia_kg_m2=250, speed_rpm=1000, stop_angle_deg=0, tip_radius_mm=500)),
        ("name", lambda: Link(name=" ", tip_force_N=1.0)),
        ("torque_Nmm", lambda: Link(name="nothing")),
        ("carries", lambda: Link(name="clutch", torque_Nmm=1.0)),
        ("carries", lambda: Link(name="bar", tip_force_N=1.0, carries="drive")),
        ("inertias", lambda: torque_along([0], torque_Nmm=1, jam_mm=0, inertias=[])),
        ("drive_mm", lambda: torque_along([0], torque_Nmm=2, jam_mm=0, inertias=DRUM, drive_torque_Nmm=1)),
        ("drive_torque_Nmm", lambda: torque_along([0], torque_Nmm=2, jam_mm=0, inertias=DRUM, drive_torque_Nmm=3)),
        ("to_mm", lambda: RotorPart(name="shell", inertia_kg_m2=1, from_mm=5, to_mm=4)),
        ("path", lambda: bar_on_slots(path=None, **HALVES, speed_rpm=1000)),
        ("walls", lambda: tip_reaction(**TIP, walls=None)),
        ("spacing_mm", lambda: tip_reaction(**TIP, walls="two")),
        ("turning_stiffness_Nmm_rad", lambda: tip_reaction(**TIP, walls="two", spacing_mm=760, clearance_mm=0.3)),
    ],
)  # fmt: skip
def test_refusals(field, call):
    with refused(field):
        call()


def test_all_faults_are_told_at_once():
    with pytest.raises(InputFault) as caught:
        tip_speed_m_s(speed_rpm=-1, tip_diameter_mm=0)
    assert [fault.field for fault in caught.value.faults] == ["speed_rpm", "tip_diameter_mm"]
