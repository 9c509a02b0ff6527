"""Beams on springs against closed forms: deflection, pinned beams with shear and rotary inertia, rigid and light rotors."""

import math

import numpy as np
import pytest
from drum_examples import DRUM, drum

from femdrum.errors import InputFault, SingularModel
from femdrum.fem import beam
from femdrum.fem.beam import beam_model
from femdrum.fem.beam_element import beam_element, shear_coefficient
from femdrum.model.drum_shaft import RotorBearing, StubShaft
from femdrum.model.hammer import SlotPart
from femdrum.model.shaft_line import ShaftBody, ShaftJoint, ShaftLine, ShaftPiece, ShaftSpring
from femdrum.rotor.bodies import HammerState
from femdrum.rotor.campbell import Excitation, campbell
from femdrum.rotor.critical_speed import (
    critical_bracket,
    in_series_N_mm,
    influence_mm_N,
    rigid_drum,
    separation,
    torsional_frequency_Hz,
    uniform_tube_critical_rpm,
)
from femdrum.rotor.disc_tilt import disc_tilt_Nmm_rad
from femdrum.rotor.mass_properties import mass_properties
from femdrum.rotor.whirl_line import shaft_line

E, NU, RHO = 206e3, 0.3, 7850.0
STIFF = 1e14


def line(pieces, springs=((0, STIFF),), bodies=(), joints=(), density=RHO, youngs=E):
    return ShaftLine(
        pieces=tuple(ShaftPiece(**p) for p in pieces), bodies=bodies, joints=joints, youngs_modulus_MPa=youngs,
        poissons_ratio=NU, density_kg_m3=density,
        springs=tuple(ShaftSpring(z_mm=z, stiffness_N_mm=k) for z, k in springs),
    )  # fmt: skip


def plain(length, outer, inner=0.0, springs=None, **more):
    at_ends = springs or ((0, STIFF), (length, STIFF))
    return line(
        [{"from_mm": 0, "to_mm": length, "outer_diameter_mm": outer, "inner_diameter_mm": inner}], at_ends, **more
    )


@pytest.mark.parametrize(("outer", "inner"), [(50, 0), (200, 150)])
def test_static_deflection(outer, inner):
    """Mid load: P L^3 / 48 E I + P L / (4 k G A) + half of what the springs yield; the nodes meet it exactly."""
    length, force, spring = 900.0, 1000.0, 5e4
    model = beam_model(plain(length, outer, inner, springs=((0, spring), (length, spring))), elements=2)
    load = np.zeros(len(model.z_mm))
    load[model.node(450)] = force
    inertia, area = math.pi / 64 * (outer**4 - inner**4), math.pi / 4 * (outer**2 - inner**2)
    shear = shear_coefficient(NU, inner / outer) * E / (2 * (1 + NU)) * area
    expected = force * length**3 / (48 * E * inertia) + force * length / (4 * shear) + force / (2 * spring)
    assert model.deflections_mm(load)[model.node(450)] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("ratio", [20, 6, 3])
def test_pinned_beam_with_shear_and_rotary_inertia(ratio):
    """Pinned Timoshenko beam: exact, a quadratic in w^2 for each half-wave."""
    outer = 100.0
    length = ratio * outer
    inertia, area = math.pi / 64 * outer**4, math.pi / 4 * outer**2
    rho = RHO * 1e-12
    shear = shear_coefficient(NU, 0.0) * E / (2 * (1 + NU))
    coarse, fine = (beam_model(plain(length, outer), elements=k).whirl(0, modes=6).frequency_Hz[::2] for k in (20, 40))
    # second order where shear matters: the next term is gone by extrapolation
    found = (4 * fine - coarse) / 3
    np.testing.assert_allclose(fine, found, rtol=2e-3)
    for n, own in enumerate(found, start=1):
        k = n * math.pi / length
        # rho^2 I / (kG) w^4 - (rho A + rho I k^2 (1 + E / kG)) w^2 + E I k^4 = 0
        a = rho**2 * inertia / shear
        b = rho * area + rho * inertia * k**2 * (1 + E / shear)
        w2 = (b - math.sqrt(b * b - 4 * a * E * inertia * k**4)) / (2 * a)
        assert own == pytest.approx(math.sqrt(w2) / (2 * math.pi), rel=2e-5)


@pytest.mark.parametrize(("ratio", "order"), [(200, 4), (4, 2)])
def test_frequencies_fall_with_the_element(ratio, order):
    """From above; the error falls with the fourth power of the element, with the second where shear matters."""

    def second(n):
        return beam_model(plain(100 * ratio, 100), elements=n).whirl(0).frequency_Hz[2]

    values = [second(n) for n in (4, 8, 16)]
    assert values[0] > values[1] > values[2]
    assert math.log2((values[0] - values[1]) / (values[1] - values[2])) == pytest.approx(order, abs=0.4)


def test_slender_tube_is_the_closed_form():
    """R14's formula holds for a slender tube, and fails by far for a drum's shell of 2.75 diameters."""

    def both(outer, wall, length):
        found = beam_model(plain(length, outer, outer - 2 * wall), elements=24).critical_speeds()[0].speed_rpm
        exact = uniform_tube_critical_rpm(
            outer_diameter_mm=outer, wall_mm=wall, span_mm=length, youngs_modulus_MPa=E, density_kg_m3=RHO
        )
        return found / exact

    assert both(100, 10, 8000) == pytest.approx(1, abs=2e-3)
    assert 0.6 < both(800, 40, 2200) < 0.85


def test_overhung_disc_on_a_light_shaft():
    """A disc on a cantilever without mass: w^4-equation with gyroscopic effect, both directions (computed, textbook form)."""
    length, diameter, mass, across, polar = 400.0, 40.0, 20.0, 0.2, 0.35
    spin = 2 * math.pi * 50
    joint = ShaftJoint(z_mm=0, chain=0, other_chain=1, tilt_Nmm_rad=1e15)
    pieces = [
        {"from_mm": -1e4, "to_mm": 0, "outer_diameter_mm": 4000, "chain": 1},
        {"from_mm": 0, "to_mm": length, "outer_diameter_mm": diameter, "chain": 0},
    ]
    body = ShaftBody(z_mm=length, mass_kg=mass, polar_kg_m2=polar, across_kg_m2=across)
    made = ShaftLine(
        pieces=tuple(ShaftPiece(**p) for p in pieces), joints=(joint,), bodies=(body,), density_kg_m3=1e-4,
        springs=tuple(ShaftSpring(z_mm=z, chain=1, stiffness_N_mm=1e13) for z in (-1e4, 0)),
    )  # fmt: skip
    found = beam_model(made, elements=8).whirl(3000, modes=4)
    inertia, area = math.pi / 64 * diameter**4, math.pi / 4 * diameter**2
    shear = shear_coefficient(NU, 0) * E / (2 * (1 + NU)) * area
    soft = np.array([
        [length**3 / (3 * E * inertia) + length / shear, length**2 / (2 * E * inertia)],
        [length**2 / (2 * E * inertia), length / (E * inertia)],
    ])  # fmt: skip
    k = np.linalg.inv(soft)
    m, i, j = 1e-3 * mass, 1e3 * across, 1e3 * polar
    # det(K - w^2 diag(m, i) + w spin diag(0, j)) = 0; w > 0 forward
    roots = np.roots([
        m * i, -m * j * spin, -(m * k[1, 1] + i * k[0, 0]), j * spin * k[0, 0], np.linalg.det(k),
    ]).real  # fmt: skip
    signed = found.frequency_Hz * 2 * math.pi * np.sign(found.direction)
    np.testing.assert_allclose(np.sort(signed), np.sort(roots), rtol=2e-6)


def test_two_masses_on_a_light_shaft():
    """Dunkerley < exact < Rayleigh, and the beam model meets the exact one (no shear: slender)."""
    length, diameter = 5000.0, 40.0
    x, masses = [1500.0, 3400.0], [30.0, 50.0]
    bodies = tuple(ShaftBody(z_mm=z, mass_kg=m) for z, m in zip(x, masses, strict=True))
    model = beam_model(plain(length, diameter, bodies=bodies, density=1e-3), elements=12)
    exact = critical_bracket(
        [1e-3 * m for m in masses],
        influence_mm_N(x, span_mm=length, bending_stiffness_Nmm2=E * math.pi / 64 * diameter**4),
    )
    found = 2 * math.pi * model.whirl(0).frequency_Hz[0]
    assert exact.dunkerley_rad_s < exact.exact_rad_s < exact.rayleigh_rad_s
    assert found == pytest.approx(exact.exact_rad_s, rel=2e-4)
    assert model.critical_speeds()[0].speed_rpm == pytest.approx(30 / math.pi * found, rel=1e-6)


def test_rigid_drum_on_springs():
    """A tube of a hundred times the stiffness moves as the rigid drum of the closed form: at rest and at its criticals."""
    length, outer, inner, spring = 1800.0, 800.0, 720.0, (4e5, 7e5)
    model = beam_model(
        plain(length, outer, inner, springs=((0, spring[0]), (length, spring[1])), youngs=1e7), elements=40
    )
    mass = RHO * 1e-9 * math.pi / 4 * (outer**2 - inner**2) * length
    polar = 1e-6 * mass * (outer**2 + inner**2) / 8
    across = 0.5 * polar + 1e-6 * mass * length**2 / 12
    exact = rigid_drum(
        mass_kg=mass, across_kg_m2=across, polar_kg_m2=polar, stiffness_N_mm=spring, distance_mm=(900, 900)
    )
    # what still yields of the tube is below half a per cent
    np.testing.assert_allclose(model.whirl(0, modes=4).frequency_Hz[::2], exact.standing_Hz, rtol=5e-3)
    found = [c.speed_rpm for c in model.critical_speeds(most=2)]
    np.testing.assert_allclose(found, exact.critical_rpm, rtol=8e-3)
    assert len(exact.critical_rpm) == 2
    # a disc-like rotor has no second forward critical: the gyroscopic effect outruns it
    flat = rigid_drum(mass_kg=100, across_kg_m2=1.0, polar_kg_m2=1.9, stiffness_N_mm=spring, distance_mm=(90, 90))
    assert len(flat.critical_rpm) == 1


def test_both_ways_of_solving_agree():
    """Supports that differ by one part in 1e9 take the other path: the same frequencies, and directions where turning."""

    def made(k):
        body = ShaftBody(z_mm=700, mass_kg=80, polar_kg_m2=3.0, across_kg_m2=1.6)
        return ShaftLine(
            pieces=(ShaftPiece(from_mm=0, to_mm=1000, outer_diameter_mm=60),), bodies=(body,),
            springs=tuple(ShaftSpring(z_mm=z, stiffness_N_mm=2e4, stiffness_across_N_mm=k) for z in (0, 1000)),
        )  # fmt: skip

    one, other = beam_model(made(None), elements=4), beam_model(made(2e4 * (1 + 1e-9)), elements=4)
    assert one.equal_supports
    assert not other.equal_supports
    for speed in (0, 3000):
        a, b = one.whirl(speed, 6), other.whirl(speed, 6)
        np.testing.assert_allclose(a.frequency_Hz, b.frequency_Hz, rtol=1e-7)
        if speed:
            np.testing.assert_allclose(a.direction, b.direction, atol=1e-4)
    for order in (1.0, 2.0):
        a, b = (m.critical_speeds(order, 4, backward=True) for m in (one, other))
        np.testing.assert_allclose([c.speed_rpm for c in a], [c.speed_rpm for c in b], rtol=1e-7)


def test_criticals_are_where_the_speed_is_the_frequency():
    body = ShaftBody(z_mm=900, mass_kg=80, polar_kg_m2=3.0, across_kg_m2=1.6)
    springs = (
        ShaftSpring(z_mm=0, stiffness_N_mm=2e4, stiffness_across_N_mm=3e4),
        ShaftSpring(z_mm=700, stiffness_N_mm=5e4),
    )
    made = ShaftLine(pieces=(ShaftPiece(from_mm=0, to_mm=1000, outer_diameter_mm=60),), bodies=(body,), springs=springs)
    model = beam_model(made, elements=4)
    for order in (1.0, 3.0):
        for c in model.critical_speeds(order, 4, backward=True):
            there = model.whirl(c.speed_rpm, 8).frequency_Hz
            assert np.min(np.abs(there / (order * c.speed_rpm / 60) - 1)) < 1e-8


def test_few_modes_at_rest_are_enough(monkeypatch):
    """The space of the lowest modes against all of them, on a drum."""
    model = beam_model(shaft_line(drum(drive_bearing=RotorBearing(stiffness_kN_mm=500))), elements=1)
    assert model.unknowns > beam.MODAL_BASIS
    few = model.whirl(3000, 8)
    monkeypatch.setattr(beam, "MODAL_BASIS", 10_000)
    every = model.whirl(3000, 8)
    np.testing.assert_allclose(few.frequency_Hz, every.frequency_Hz, rtol=1e-7)


def test_element_is_round_and_symmetric():
    element = beam_element(
        length_mm=200, outer_diameter_mm=80, inner_diameter_mm=30, youngs_modulus_MPa=E, poissons_ratio=NU,
        density_t_mm3=7.85e-9,
    )  # fmt: skip
    shift, tilt = np.array([1, 0, 1, 0.0]), np.array([-100, 1, 100, 1.0])
    area, inertia = math.pi / 4 * (80**2 - 30**2), math.pi / 64 * (80**4 - 30**4)
    for matrix in (element.stiffness, element.mass, element.gyroscopic):
        np.testing.assert_allclose(matrix, matrix.T, rtol=1e-12)
    scale = np.abs(element.stiffness).max()
    for motion in (shift, tilt):
        np.testing.assert_allclose(element.stiffness @ motion, 0, atol=1e-8 * scale)
    mass = 7.85e-9 * area * 200
    assert shift @ element.mass @ shift == pytest.approx(mass, rel=1e-12)
    assert tilt @ element.mass @ tilt == pytest.approx(mass * 200**2 / 12 + 7.85e-9 * inertia * 200, rel=1e-12)
    assert tilt @ element.gyroscopic @ tilt == pytest.approx(2 * 7.85e-9 * inertia * 200, rel=1e-12)


# the drum as a line


BEARING = RotorBearing(stiffness_kN_mm=500)


def test_line_weighs_what_the_drum_weighs():
    """Mass, and inertia against tilting about the drive bearing: every body is somewhere on the line, once."""
    ends = vars(DRUM["drive_end"]) | {"stub_length_mm": 170, "beyond_mm": 0}
    part = SlotPart(name="wedge", mass_kg=0.6, radius_mm=385, around_mm=22, along_mm=3, size_along_mm=20)
    whole = drum(drive_bearing=BEARING, free_end=StubShaft(**ends), slot_parts=(part,))
    model = beam_model(shaft_line(whole), elements=1)
    shift, tilt = np.zeros(model.unknowns), np.zeros(model.unknowns)
    shift[model.deflection] = 1.0
    tilt[model.deflection], tilt[model.slope] = model.z_mm, 1.0
    known = mass_properties(whole)
    assert shift @ model.mass @ shift == pytest.approx(1e-3 * known.mass_kg, rel=1e-10)
    assert shift @ model.mass @ tilt == pytest.approx(1e-3 * known.mass_kg * known.centre_mm[2], rel=1e-10)
    across = 0.5 * (known.inertia_kg_m2[0, 0] + known.inertia_kg_m2[1, 1])
    about = 1e3 * across + 1e-3 * known.mass_kg * known.centre_mm[2] ** 2
    assert tilt @ model.mass @ tilt == pytest.approx(about, rel=1e-9)
    assert tilt @ model.gyroscopic @ tilt == pytest.approx(1e3 * known.polar_kg_m2, rel=1e-9)


def test_drum_bounces_as_its_stubs_let_it():
    """Between the rigid drum on springs alone and the same with stubs and discs in series, as R15 does it (computed)."""
    whole = drum(drive_bearing=BEARING)
    found = beam_model(shaft_line(whole), elements=2).whirl(0, 2).frequency_Hz[0]
    known = mass_properties(whole)
    z = float(known.centre_mm[2])
    inertia = {
        "mass_kg": known.mass_kg, "polar_kg_m2": known.polar_kg_m2, "across_kg_m2": float(known.inertia_kg_m2[0, 0]),
        "distance_mm": (z, 2200 - z),
    }  # fmt: skip
    stiff = rigid_drum(**inertia, stiffness_N_mm=(5e5, 5e5)).standing_Hz[0]
    # the thin part of the stub all the way to the disc's middle, with shear, and the disc's tilting
    length, d = 230.0, 140.0
    tilt = disc_tilt_Nmm_rad(
        rim_radius_mm=360, hub_radius_mm=90, thickness_mm=60, youngs_modulus_MPa=E, poissons_ratio=NU
    )
    soft_stub = length**3 / (3 * E * math.pi / 64 * d**4) + length / (0.88 * E / 2.6 * math.pi / 4 * d**2)
    each = in_series_N_mm([5e5, 1 / (soft_stub + length**2 / tilt)])
    soft = rigid_drum(**inertia, stiffness_N_mm=(each, each)).standing_Hz[0]
    assert soft < found < stiff


def test_softer_supports_and_missing_hammers():
    """Softer supports: slower. A lighter drum: faster. Halving all stiffness at once: by the square root of two."""

    def first(k, **more):
        return (
            beam_model(shaft_line(drum(drive_bearing=RotorBearing(stiffness_kN_mm=k)), **more))
            .whirl(0, 1)
            .frequency_Hz[0]
        )

    assert first(100) < first(300) < first(1000)
    assert first(300, state=HammerState(missing=tuple(range(0, 48, 2)))) > first(300)


def test_disc_tilt_against_a_boundary_value_solver():
    """The plate of the hub by an independent route: its equation on a fine grid, deflection and slope from the moment."""
    from scipy.integrate import solve_bvp

    b, a, t = 90.0, 360.0, 1.0  # thin: shear is negligible
    plate = E * t**3 / (12 * (1 - NU**2))

    # w = f(r) cos; f'''' = ..., as a first-order system in f, f', g = lap f, g' with lap h = h'' + h'/r - h/r^2
    def rhs(r, y):
        f, df, g, dg = y
        return np.vstack([df, g - df / r + f / r**2, dg, -dg / r + g / r**2])

    def ends(left, right):
        return np.array([left[0] - b, left[1] - 1.0, right[0], right[1]])

    r = np.linspace(b, a, 400)
    found = solve_bvp(rhs, ends, r, np.zeros((4, len(r))), tol=1e-9, max_nodes=20_000)
    assert found.success
    # lap f = 8 B r + 2 D / r: D from any two places; M = -4 pi K D
    g1, g2 = found.sol(120.0)[2], found.sol(300.0)[2]
    d = (g1 / 120 - g2 / 300) / (2 * (1 / 120**2 - 1 / 300**2))
    expected = -4 * math.pi * plate * d
    own = disc_tilt_Nmm_rad(rim_radius_mm=a, hub_radius_mm=b, thickness_mm=t, youngs_modulus_MPa=E, poissons_ratio=NU)
    assert own == pytest.approx(expected, rel=2e-4)
    # a thick disc yields by shear too
    thick = disc_tilt_Nmm_rad(
        rim_radius_mm=a, hub_radius_mm=b, thickness_mm=60, youngs_modulus_MPa=E, poissons_ratio=NU
    )
    assert 0.7 < thick / (60**3 * expected) < 0.9


def test_campbell_of_a_drum():
    """Crossings are the critical speeds of the direct solution; branches spread with speed; the verdict follows."""
    model = beam_model(shaft_line(drum(drive_bearing=RotorBearing(stiffness_kN_mm=100))), elements=1)
    found = campbell(
        lambda n: model.whirl(n, 12), speeds_rpm=np.linspace(0, 8000, 5), running_rpm=1000,
        excitations=(Excitation("unbalance", 1, True), Excitation("hits", 48)), modes=6,
    )  # fmt: skip
    direct = [c.speed_rpm for c in model.critical_speeds(1.0, 4) if c.speed_rpm < 8000]
    own = [c.speed_rpm for c in found.crossings if c.excitation == "unbalance" and c.excited]
    np.testing.assert_allclose(own, direct[: len(own)], rtol=1e-7)
    assert len(own) >= 1
    against = [c for c in found.crossings if c.excitation == "unbalance" and not c.excited]
    assert all(c.direction < 0 for c in against)
    ahead = [i for i, name in enumerate(found.modes) if name.startswith("forward")]
    assert np.all(np.diff(found.frequency_Hz[:, ahead], axis=0) >= -1e-9)
    back = [i for i, name in enumerate(found.modes) if name.startswith("backward")]
    assert np.all(np.diff(found.frequency_Hz[:, back], axis=0) <= 1e-9)
    verdicts = dict(found.separations)
    nearest = min(own, key=lambda n: abs(n - 1000))
    assert verdicts["unbalance"].nearest_rpm == pytest.approx(nearest)
    assert verdicts["unbalance"].verdict == "apart"
    soft = campbell(
        lambda n: model.whirl(n, 12), speeds_rpm=[0, 4000], running_rpm=own[0] * 1.1,
        excitations=(Excitation("unbalance", 1, True),), modes=2,
    )  # fmt: skip
    assert soft.separations[0][1].verdict == "too close"
    assert "common practice" in soft.warnings[0]


def test_separation_bounds():
    assert separation(speed_rpm=1000, critical_rpm=[1310]).verdict == "apart"
    assert separation(speed_rpm=1000, critical_rpm=[5000, 1250]).verdict == "close"
    assert separation(speed_rpm=1000, critical_rpm=[810]).verdict == "too close"
    assert separation(speed_rpm=1000, critical_rpm=[]).nearest_rpm is None


def test_torsion_of_drive_and_drum():
    """Two equal inertias on one spring: sqrt(2 k / J)."""
    found = torsional_frequency_Hz(inertia_kg_m2=250, other_inertia_kg_m2=250, stiffness_Nm_rad=1e6)
    assert found == pytest.approx(math.sqrt(2e6 / 250) / (2 * math.pi), rel=1e-12)


# faults


def test_a_free_rotor_is_said_to_be_free():
    with pytest.raises(SingularModel, match="free to move"):
        beam_model(plain(1000, 60, springs=((500, 1e4),))).whirl(0)
    with pytest.raises(SingularModel, match="free to move"):
        beam_model(plain(1000, 60, springs=((500, 1e4),))).critical_speeds()


def test_places_without_mass_do_no_harm():
    """Half of the shaft without mass: as the same with hardly any."""

    def first(density, weighed):
        pieces = [
            {"from_mm": 0, "to_mm": 500, "outer_diameter_mm": 60, "weighed": weighed},
            {"from_mm": 500, "to_mm": 1000, "outer_diameter_mm": 60, "weighed": weighed},
        ]
        body = ShaftBody(z_mm=500, mass_kg=50, across_kg_m2=0.2, polar_kg_m2=0.3)
        made = line(pieces, ((0, 1e4), (1000, 1e4)), bodies=(body,), density=density)
        return beam_model(made, elements=3).whirl(3000, 4).frequency_Hz

    np.testing.assert_allclose(first(RHO, False), first(1e-6, True), rtol=1e-7)
    empty = line([{"from_mm": 0, "to_mm": 500, "outer_diameter_mm": 60}], ((0, 1e4), (500, 1e4)), density=0.0)
    with pytest.raises(SingularModel, match="weighs nothing"):
        beam_model(empty).whirl(0)


def test_faults_of_a_line_all_at_once():
    with pytest.raises(InputFault) as caught:
        ShaftLine(
            pieces=(ShaftPiece(from_mm=0, to_mm=100, outer_diameter_mm=50), ShaftPiece(from_mm=120, to_mm=200, outer_diameter_mm=50)),
            springs=(), bodies=(ShaftBody(z_mm=300, mass_kg=1),), poissons_ratio=0.7,
        )  # fmt: skip
    assert [fault.field for fault in caught.value.faults] == ["poissons_ratio", "springs", "pieces", "bodies[0].z_mm"]


def test_support_stiffness_must_be_asked():
    with pytest.raises(InputFault, match="radial stiffness of bearing and housing") as caught:
        shaft_line(drum())
    assert [f.field for f in caught.value.faults] == ["drive_bearing.stiffness_kN_mm", "free_bearing.stiffness_kN_mm"]


def test_speed_out_of_range():
    model = beam_model(plain(1000, 60))
    with pytest.raises(InputFault, match="speed_rpm"):
        model.whirl(-1)
    with pytest.raises(InputFault, match="order"):
        model.critical_speeds(0)
