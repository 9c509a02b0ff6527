"""Mass, centre, inertia and unbalance of the drum against sums made otherwise, to 1e-9 and better."""

import itertools
import math

import numpy as np
import pytest
from drum_examples import DRUM, HALVES, THROUGH, drum
from scipy.integrate import quad

from femdrum.errors import InputFault
from femdrum.model.cutout import Circle, Ellipse, Obround, Slot
from femdrum.model.drum import slots
from femdrum.model.drum_shaft import Drive, RotorMass, StubShaft
from femdrum.model.hammer import SlotPart
from femdrum.model.material import Material
from femdrum.rotor.bodies import HammerState, bodies
from femdrum.rotor.mass_properties import machine_of, mass_properties, properties_of
from femdrum.rotor.slot_body import slot_body

RHO = 7850e-9

# the opening's half length along the drum, at an offset around
CHORDS = {
    "slot": (Slot(around_mm=60, axial_mm=120, corner_radius_mm=12), 30.0,
             lambda x: 60.0 if x < 18 else 48 + math.sqrt(max(144 - (x - 18) ** 2, 0.0)), (18.0,)),
    "sharp": (Slot(around_mm=60, axial_mm=120, corner_radius_mm=0), 30.0, lambda x: 60.0, ()),
    "full": (Slot(around_mm=60, axial_mm=120, corner_radius_mm="full"), 30.0,
             lambda x: 30 + math.sqrt(max(900 - x**2, 0.0)), ()),
    "obround across": (Obround(around_mm=120, axial_mm=60), 60.0,
                       lambda x: 30.0 if x < 30 else math.sqrt(max(900 - (x - 30) ** 2, 0.0)), (30.0,)),
    "circle": (Circle(diameter_mm=80), 40.0, lambda x: math.sqrt(max(1600 - x**2, 0.0)), ()),
    "ellipse": (Ellipse(around_mm=60, axial_mm=120), 30.0, lambda x: 60 * math.sqrt(max(1 - (x / 30) ** 2, 0.0)), ()),
}  # fmt: skip


def by_quadrature(half, chord, corners, outer, inner):
    """Volume and raw moments of the piece that a cutout takes away, by adaptive quadrature over the offset around."""

    def over(f):
        # x = a sin(t) takes the root at the ends away
        stops = sorted({0.0, *(math.asin(c / half) for c in corners), 0.5 * math.pi})
        return sum(
            4 * quad(lambda t: f(half * math.sin(t)) * half * math.cos(t), a, b, epsabs=0, epsrel=1e-13, limit=400)[0]
            for a, b in itertools.pairwise(stops)
        )

    def high(x):
        return math.sqrt(outer**2 - x**2)

    def low(x):
        return math.sqrt(inner**2 - x**2)

    volume = over(lambda x: chord(x) * (high(x) - low(x)))
    first = over(lambda x: chord(x) * (high(x) ** 2 - low(x) ** 2) / 2)
    second = over(lambda x: chord(x) * (high(x) ** 3 - low(x) ** 3) / 3)
    around = over(lambda x: chord(x) * (high(x) - low(x)) * x**2)
    along = over(lambda x: chord(x) ** 3 / 3 * (high(x) - low(x)))
    return volume, first, second, around, along


@pytest.mark.parametrize("name", CHORDS)
def test_slot_against_quadrature(name):
    cutout, half, chord, corners = CHORDS[name]
    body = slot_body(cutout, outer_radius_mm=400, inner_radius_mm=360)
    volume, first, second, around, along = by_quadrature(half, chord, corners, 400, 360)
    assert body.volume_mm3 == pytest.approx(volume, rel=1e-12)
    assert body.radius_mm == pytest.approx(first / volume, rel=1e-12)
    # a difference of large numbers: as many digits as its parts leave
    assert body.outward_mm5 == pytest.approx(second - first**2 / volume, abs=1e-12 * second)
    assert body.around_mm5 == pytest.approx(around, rel=1e-11)
    assert body.along_mm5 == pytest.approx(along, rel=1e-12)


def test_sharp_slot_in_closed_form():
    """Rectangle: the integral of sqrt(R^2 - x^2) is elementary."""
    a, b, ro, ri = 30.0, 60.0, 400.0, 360.0
    area = {r: a * math.sqrt(r**2 - a**2) + r**2 * math.asin(a / r) for r in (ro, ri)}
    body = slot_body(Slot(around_mm=60, axial_mm=120, corner_radius_mm=0), outer_radius_mm=ro, inner_radius_mm=ri)
    assert body.volume_mm3 == pytest.approx(2 * b * (area[ro] - area[ri]), rel=1e-13)
    assert body.radius_mm * body.volume_mm3 == pytest.approx(4 * a * b * (ro**2 - ri**2) / 2, rel=1e-13)
    assert body.along_mm5 == pytest.approx(body.volume_mm3 * b**2 / 3, rel=1e-13)


def tensor(mass, centre, own):
    """Second moments r r^T about the origin of one body from its own diagonal."""
    c = np.asarray(centre, dtype=float)
    return np.asarray(own) + mass * np.outer(c, c)


def by_hand(whole, hammer):
    """Mass, first moment and second moments by plain sums, body by body, written out anew."""
    total, first, second = 0.0, np.zeros(3), np.zeros((3, 3))

    def add(mass, centre, own):
        nonlocal total, first, second
        total += mass
        first = first + mass * np.asarray(centre)
        second = second + tensor(mass, centre, own)

    def tube(ro, ri, low, high):
        mass = RHO * math.pi * (ro**2 - ri**2) * (high - low)
        across = mass / 4 * (ro**2 + ri**2)
        add(mass, (0, 0, (low + high) / 2), np.diag([across, across, mass * (high - low) ** 2 / 12]))

    # the drum of drum_examples: shell 800 x 40 x 1800, discs 60 thick, stubs 180 and 140, 200 long, 260 beyond the drive bearing
    tube(400, 360, 200, 2000)
    tube(360, 0, 200, 260)
    tube(360, 0, 1940, 2000)
    tube(90, 0, 80, 200)
    tube(70, 0, -260, 80)
    tube(90, 0, 2000, 2120)
    tube(70, 0, 2120, 2200)
    _, half, chord, corners = CHORDS["own"]
    volume, first_u, uu, tt, zz = by_quadrature(half, chord, corners, 400, 360)
    for row in range(24):
        for k in (0, 1):
            angle = math.radians(37.5 * row + 180 * k)
            z = 200 + 118 + 68 * row
            e = np.array([[math.cos(angle), -math.sin(angle), 0], [math.sin(angle), math.cos(angle), 0], [0, 0, 1.0]])

            def local(mass, u, t, own, e=e, z=z):
                add(mass, e @ np.array([u, t, 0.0]) + [0, 0, z], e @ np.diag(own) @ e.T)

            local(-RHO * volume, first_u / volume, 0, [-RHO * (uu - first_u**2 / volume), -RHO * tt, -RHO * zz])
            if hammer == "through":
                m = 10.0
                local(m, 240, 0, [m * 480**2 / 12, m * 40**2 / 12, m * 58**2 / 12])
                m = 2.5
                local(m, 470, 0, [m * 60**2 / 12, m * 50**2 / 12, m * 62**2 / 12])
    return total, first / total, second


CHORDS["own"] = (
    Slot(around_mm=50, axial_mm=60, corner_radius_mm=8), 25.0,
    lambda x: 30.0 if x < 17 else 22 + math.sqrt(max(64 - (x - 17) ** 2, 0.0)), (17.0,),
)  # fmt: skip


@pytest.mark.parametrize("hammer", ["none", "through"])
def test_whole_drum_against_plain_sums(hammer):
    whole = drum(hammer=THROUGH if hammer == "through" else None)
    found = mass_properties(whole)
    mass, centre, second = by_hand(whole, hammer)
    assert found.mass_kg == pytest.approx(mass, rel=1e-12)
    np.testing.assert_allclose(found.centre_mm, centre, rtol=1e-12, atol=1e-9)
    about = second - mass * np.outer(centre, centre)
    inertia = 1e-6 * (np.trace(about) * np.eye(3) - about)
    np.testing.assert_allclose(found.inertia_kg_m2, inertia, rtol=1e-9, atol=1e-9 * inertia.max())
    assert found.polar_kg_m2 == pytest.approx(1e-6 * (second[0, 0] + second[1, 1]), rel=1e-12)


@pytest.mark.parametrize("turn", [0.0, 7.5, 37.5, 90.0])
@pytest.mark.parametrize("around", [2, 4])
def test_symmetric_drum_has_no_unbalance(turn, around):
    """To 1e-9 of the sum of all m r, and no couple either."""
    hammer = THROUGH if around == 2 else HALVES
    found = mass_properties(drum(row_angle_deg=turn, slots_around=around, hammer=hammer))
    assert found.unbalance_size_g_mm <= 1e-9 * found.largest_g_mm
    assert np.hypot(*found.couple_kg_mm2) <= 1e-9 * 1e-3 * found.largest_g_mm * 1000


def test_single_hammers_in_a_closed_spiral_balance_too():
    """One slot a row, turned by 15 degrees each over 24 rows: no unbalance, but a couple."""
    found = mass_properties(drum(slots_around=1, row_angle_deg=15, hammer=HALVES))
    assert found.unbalance_size_g_mm <= 1e-9 * found.largest_g_mm
    assert np.hypot(*found.couple_kg_mm2) > 1e-3 * 1e-3 * found.largest_g_mm * 1000


@pytest.mark.parametrize("number", [0, 7, 47])
def test_removing_one_hammer_gives_exactly_m_r(number):
    whole = drum(hammer=HALVES)
    found = mass_properties(whole, state=HammerState(missing=(number,)))
    # the hammer's own first moment: bar from 300 to 460, tip from 440 to 500
    moment = 8.0 * 380 + 2.5 * 470
    place = slots(whole)[number]
    expected = (
        -1e3 * moment * np.array([math.cos(math.radians(place.angle_deg)), math.sin(math.radians(place.angle_deg))])
    )
    np.testing.assert_allclose(found.unbalance_g_mm, expected, rtol=0, atol=1e-9 * 1e3 * moment)
    assert found.mass_kg == pytest.approx(mass_properties(whole).mass_kg - 10.5, rel=1e-13)
    # and where it was: its couple about the centre of gravity
    lever = place.z_mm - found.centre_mm[2]
    np.testing.assert_allclose(found.couple_kg_mm2, 1e-3 * expected * lever, rtol=1e-9, atol=1e-9 * moment * abs(lever))


def test_a_bar_out_and_a_bar_broken():
    whole = drum(hammer=THROUGH)
    out = mass_properties(whole, state=HammerState(missing=(5,)))
    assert out.unbalance_size_g_mm <= 1e-9 * out.largest_g_mm
    assert out.mass_kg == pytest.approx(mass_properties(whole).mass_kg - 25, rel=1e-13)
    assert mass_properties(whole, state=HammerState(missing=(4, 5))).mass_kg == pytest.approx(out.mass_kg, rel=1e-14)
    broken = mass_properties(whole, state=HammerState(broken=(5,)))
    assert broken.unbalance_size_g_mm == pytest.approx(1e3 * (10 * 240 + 2.5 * 470), rel=1e-12)


def test_wear_and_weighed_differences():
    """A tip worn by 6 of its 60 mm loses a tenth, at the radius of what is gone."""
    whole = drum(hammer=THROUGH)
    worn = mass_properties(whole, state=HammerState(wear_mm={10: 6.0}))
    place = slots(whole)[10]
    expected = 1e3 * 0.25 * (500 - 3)
    assert worn.unbalance_size_g_mm == pytest.approx(expected, rel=1e-10)
    assert worn.unbalance_angle_deg == pytest.approx((place.angle_deg + 180) % 360, abs=1e-9)
    extra = mass_properties(whole, state=HammerState(extra_g={10: 400.0}))
    assert extra.unbalance_size_g_mm == pytest.approx(400 * 470, rel=1e-12)
    assert extra.unbalance_angle_deg == pytest.approx(place.angle_deg, abs=1e-9)
    # all tips worn alike: still balanced
    even = mass_properties(drum(hammer=type(THROUGH)(**(vars(THROUGH) | {"wear_mm": 6.0}))))
    assert even.unbalance_size_g_mm <= 1e-9 * even.largest_g_mm
    assert even.mass_kg == pytest.approx(mass_properties(whole).mass_kg - 48 * 0.25, rel=1e-13)


def test_worn_bar_ends_without_tips():
    bare = type(THROUGH)(path="both", mass_kg=20, length_mm=960, width_mm=58, depth_mm=40)
    whole = drum(hammer=bare)
    worn = mass_properties(whole, state=HammerState(wear_mm={3: 10.0}))
    gone = 10 * 10 / 480
    assert worn.unbalance_size_g_mm == pytest.approx(1e3 * gone * 475, rel=1e-10)


def test_turning_the_pattern_turns_the_unbalance():
    base = drum(hammer=HALVES, row_angle_deg=None, row_angles_deg=[37.5 * k for k in range(24)])
    turned = drum(hammer=HALVES, row_angle_deg=None, row_angles_deg=[(37.5 * k + 33) % 360 for k in range(24)])
    state = HammerState(missing=(3, 11), extra_g={20: 70})
    a, b = mass_properties(base, state=state), mass_properties(turned, state=state)
    assert b.unbalance_size_g_mm == pytest.approx(a.unbalance_size_g_mm, rel=1e-12)
    assert (b.unbalance_angle_deg - a.unbalance_angle_deg) % 360 == pytest.approx(33, abs=1e-9)
    np.testing.assert_allclose(np.linalg.eigvalsh(a.inertia_kg_m2), np.linalg.eigvalsh(b.inertia_kg_m2), rtol=1e-12)


def test_density_and_size_scale():
    """Twice the density: twice the mass of what is drawn of it; all lengths twice: eight and thirty-two times."""
    heavy = Material(youngs_modulus_MPa=206e3, poissons_ratio=0.3, density_kg_m3=15_700)
    empty = drum(hammer=None)
    assert mass_properties(empty, heavy).mass_kg == pytest.approx(2 * mass_properties(empty).mass_kg, rel=1e-14)
    end = DRUM["drive_end"]
    sizes = {k: 2 * v if isinstance(v, (int, float)) else v for k, v in vars(end).items()}
    large = drum(
        hammer=None, outer_diameter_mm=1600, wall_mm=80, shell_length_mm=3600, pitch_mm=136, first_row_mm=236,
        cutout=Slot(around_mm=100, axial_mm=120, corner_radius_mm=16), drive_end=StubShaft(**sizes),
    )  # fmt: skip
    small, big = mass_properties(empty), mass_properties(large)
    assert big.mass_kg == pytest.approx(8 * small.mass_kg, rel=1e-12)
    np.testing.assert_allclose(big.inertia_kg_m2, 32 * small.inertia_kg_m2, rtol=1e-9, atol=1e-6)


def test_further_masses():
    """Sheave, a lock ring, a mass off the axis, and a balance mass: each where it is."""
    plain = mass_properties(drum())
    part = SlotPart(name="wedge", mass_kg=0.6, radius_mm=385, around_mm=22, size_radial_mm=60, size_around_mm=10)
    whole = drum(
        drive=Drive(sheave_diameter_mm=600, sheave_overhang_mm=180, sheave_mass_kg=160, sheave_inertia_kg_m2=8,
                    belt_direction_deg=90, shaft_factor=1.8),
        masses=(RotorMass(name="lock ring", mass_kg=12, z_mm=300, radius_mm=50, angle_deg=90, length_mm=40, inertia_kg_m2=0.3),
                RotorMass(name="balance mass", mass_kg=0.5, z_mm=195, radius_mm=330, angle_deg=10)),
        slot_parts=(part,),
    )  # fmt: skip
    found = mass_properties(whole)
    assert found.mass_kg == pytest.approx(plain.mass_kg + 160 + 12 + 0.5 + 48 * 0.6, rel=1e-13)
    expected = np.array([1e3 * 0.5 * 330 * math.cos(math.radians(10)),
                         1e3 * (0.5 * 330 * math.sin(math.radians(10)) + 12 * 50)])  # fmt: skip
    np.testing.assert_allclose(found.unbalance_g_mm, expected, atol=1e-9 * found.largest_g_mm)
    added = 8 + (0.3 + 12 * 0.05**2) + 0.5 * 0.33**2 + 48 * 0.6e-6 * (385**2 + 22**2 + (60**2 + 10**2) / 12)
    assert found.polar_kg_m2 == pytest.approx(plain.polar_kg_m2 + added, rel=1e-12)


def test_parts_and_machine_add_up():
    whole = drum()
    found = mass_properties(whole)
    assert sum(p.mass_kg for p in found.parts) == pytest.approx(found.mass_kg, rel=1e-13)
    assert sum(p.inertia_kg_m2 for p in found.parts) == pytest.approx(found.polar_kg_m2, rel=1e-13)
    machine = machine_of(whole, power_kW=550, speed_rpm=1000)
    assert machine.rotor_parts is not None
    assert sum(p.inertia_kg_m2 for p in machine.rotor_parts) == pytest.approx(found.polar_kg_m2, rel=1e-12)
    assert (machine.tips_total, machine.tip_diameter_mm, machine.bearing_span_mm) == (48, 1000, 2200)
    assert machine.bar is not None
    # the bar that single rings are loaded by pulls as the drum's own half bar and tip
    assert machine.bar.half_mass_kg == pytest.approx(12.5)
    assert machine_of(drum(hammer=HALVES)).bar is None
    one = properties_of(bodies(whole).only([0]))
    assert one.mass_kg == pytest.approx(found.parts[0].mass_kg, rel=1e-14)


def test_faults_of_a_state_all_at_once():
    with pytest.raises(InputFault) as caught:
        mass_properties(
            drum(hammer=HALVES), state=HammerState(missing=(48,), broken=(1,), wear_mm={2: 60.0}, extra_g={-1: 1.0})
        )
    fields = [fault.field for fault in caught.value.faults]
    assert fields == ["missing", "extra_g", "broken", "wear_mm[2]"]
    with pytest.raises(InputFault, match="the drum has none"):
        mass_properties(drum(hammer=None), state=HammerState(missing=(0,)))
