"""Ring and shell modes against closed forms, a Fourier solution, and shell theory."""

import math

import numpy as np
import pytest
from drum_examples import HALVES, drum
from scipy.linalg import eigh

from femdrum.errors import InputFault
from femdrum.model.cutout import Slot
from femdrum.model.hammer import SlotPart
from femdrum.rotor.pattern import order_strength, tip_angles_deg
from femdrum.rotor.ring_bending import ring_frequencies_rad_s, thin_ring_rad_s
from femdrum.rotor.shell_modes import disc_share_rad_s, shell_modes, thin_ring_error

E, NU, RHO = 206e3, 0.3, 7.85e-9
R, T = 380.0, 40.0
EI, M = E * T**3 / 12, RHO * T
NO_BREAKS = np.array([0.0])


def even(value):
    return lambda angle: np.full(np.shape(angle), value)


def test_even_ring_is_the_closed_form():
    frequency, shares = ring_frequencies_rad_s(
        radius_mm=R, bending_Nmm2=even(EI), mass_t_per_mm=even(M), breaks_rad=NO_BREAKS, longest_rad=math.pi / 24
    )
    exact = [thin_ring_rad_s(n, radius_mm=R, bending_Nmm2=EI, mass_t_per_mm=M) for n in (2, 2, 3, 3, 4, 4)]
    np.testing.assert_allclose(frequency[:6], exact, rtol=3e-7)
    assert list(np.argmax(shares[:6], axis=1)) == [2, 2, 3, 3, 4, 4]
    # ovalling: w^2 = 36/5 E I / (m R^4)
    assert exact[0] ** 2 == pytest.approx(7.2 * EI / (M * R**4), rel=1e-12)


def test_ring_falls_with_the_sixth_power_from_above():
    def first(h):
        return ring_frequencies_rad_s(
            radius_mm=R, bending_Nmm2=even(EI), mass_t_per_mm=even(M), breaks_rad=NO_BREAKS, longest_rad=h
        )[0][0]

    exact = thin_ring_rad_s(2, radius_mm=R, bending_Nmm2=EI, mass_t_per_mm=M)
    coarse, fine = first(math.pi / 6) / exact - 1, first(math.pi / 12) / exact - 1
    assert coarse > fine > 0
    assert math.log2(coarse / fine) == pytest.approx(6, abs=0.3)


def by_fourier(bending, mass, spots=(), harmonics=24):
    """The same thin ring by Fourier functions of v: converges fast where stiffness and mass are smooth."""
    a = 2 * math.pi * np.arange(4096) / 4096
    k = np.arange(1, harmonics + 1)
    angles = np.append(a, [s for s, _ in spots])
    arg = np.outer(k, angles)
    v = np.vstack([np.ones(len(angles)), np.cos(arg), np.sin(arg)])
    dv = np.vstack([np.zeros(len(angles)), -k[:, None] * np.sin(arg), k[:, None] * np.cos(arg)])
    dddv = np.vstack([np.zeros(len(angles)), k[:, None] ** 3 * np.sin(arg), -(k[:, None] ** 3) * np.cos(arg)])
    bend = (-(dddv + dv) / R**2)[:, : len(a)]
    step = R * 2 * math.pi / len(a)
    stiff = (bend * (step * bending(a))) @ bend.T
    around, radial = v[:, : len(a)], dv[:, : len(a)]
    heavy = (around * (step * mass(a))) @ around.T + (radial * (step * mass(a))) @ radial.T
    for i, (_, amount) in enumerate(spots):
        one, other = v[:, len(a) + i], dv[:, len(a) + i]
        heavy += amount * (np.outer(one, one) + np.outer(other, other))
    return np.sqrt(np.maximum(eigh(stiff, heavy, eigvals_only=True)[3:], 0))


def test_uneven_ring_against_fourier_functions():
    def bending(a):
        return EI * (1 + 0.4 * np.cos(2 * a) + 0.2 * np.sin(3 * a))

    def mass(a):
        return M * (1 + 0.3 * np.cos(2 * a))

    own = ring_frequencies_rad_s(
        radius_mm=R, bending_Nmm2=bending, mass_t_per_mm=mass, breaks_rad=NO_BREAKS, longest_rad=math.pi / 36
    )[0]
    np.testing.assert_allclose(own[:6], by_fourier(bending, mass)[:6], rtol=1e-6)


def test_ring_with_steps_against_fourier_functions():
    """Two notches of a third of the stiffness: Fourier functions come from above, slowly; elements stay below them."""
    half = 0.08

    def notch(a, deep):
        turned = np.abs((a + math.pi) % math.pi)
        turned = np.minimum(turned, math.pi - turned)
        return np.where(turned < half, deep, 1.0)

    breaks = np.array([half, math.pi - half, math.pi + half, 2 * math.pi - half])
    own = ring_frequencies_rad_s(
        radius_mm=R, bending_Nmm2=lambda a: EI * notch(a, 0.33), mass_t_per_mm=lambda a: M * notch(a, 0.5),
        breaks_rad=breaks,
    )[0]  # fmt: skip
    finer = ring_frequencies_rad_s(
        radius_mm=R, bending_Nmm2=lambda a: EI * notch(a, 0.33), mass_t_per_mm=lambda a: M * notch(a, 0.5),
        breaks_rad=breaks, longest_rad=math.pi / 48,
    )[0]  # fmt: skip
    np.testing.assert_allclose(own[:4], finer[:4], rtol=1e-6)
    few, many = (by_fourier(lambda a: EI * notch(a, 0.33), lambda a: M * notch(a, 0.5), harmonics=n) for n in (20, 80))
    assert np.all(few[:4] > many[:4])
    assert np.all(many[:4] > own[:4] * (1 - 1e-4))
    np.testing.assert_allclose(own[:4], many[:4], rtol=1.5e-2)
    # notches part the two ovalling modes: the one that bends them is lower
    assert own[0] < 0.97 * own[1]


def test_point_masses_against_fourier_functions():
    spots = ((0.3, 2e-3 * M * R), (2.0, 3e-3 * M * R))
    own = ring_frequencies_rad_s(
        radius_mm=R, bending_Nmm2=even(EI), mass_t_per_mm=even(M), breaks_rad=NO_BREAKS, point_masses=spots
    )[0]
    np.testing.assert_allclose(own[:6], by_fourier(even(EI), even(M), spots)[:6], rtol=1e-5)
    plain = thin_ring_rad_s(2, radius_mm=R, bending_Nmm2=EI, mass_t_per_mm=M)
    assert np.all(own[:2] < plain)


def donnell_hz(n, length):
    """Lowest frequency of a cylinder held round at both ends, half a wave along: Love's shell theory, written out anew.

    Strains of u cos(nq) cos(sx), v sin(nq) sin(sx), w cos(nq) sin(sx); energies integrated over the wave.
    """
    s, c = math.pi / length, E / (1 - NU**2)
    g = E / (2 * (1 + NU))
    # columns: u, v, w; rows: strain along, around, shear, then changes of curvature
    membrane = np.array([[-s, 0, 0], [0, n / R, 1 / R], [-n / R, s, 0]])
    curve = np.array([[0, 0, s**2], [0, n / R**2, n**2 / R**2], [0, 2 * s / R, 2 * n * s / R]])
    elastic = np.array([[c, c * NU, 0], [c * NU, c, 0], [0, 0, g]])
    stiff = T * membrane.T @ elastic @ membrane + T**3 / 12 * curve.T @ elastic @ curve
    values = np.linalg.eigvalsh(stiff) / (RHO * T)
    return math.sqrt(values[0]) / (2 * math.pi)


@pytest.mark.parametrize("length", [1200.0, 1680.0, 3000.0])
@pytest.mark.parametrize("n", [2, 3, 4])
def test_band_holds_shell_theory(n, length):
    """Ring alone below, ring with discs above; shell theory between, and not far from the upper one."""
    ring = thin_ring_rad_s(n, radius_mm=R, bending_Nmm2=EI, mass_t_per_mm=M)
    given = {"radius_mm": R, "wall_mm": T, "youngs_modulus_MPa": E, "poissons_ratio": NU, "density_kg_m3": 7850}
    discs = disc_share_rad_s(n, length_mm=length, **given)
    low, high = ring / (2 * math.pi), math.hypot(ring, discs) / (2 * math.pi)
    shell = donnell_hz(n, length)
    assert low < shell < high < 1.25 * shell
    # far discs are not felt; a long shell still bends around as a plate does
    far = disc_share_rad_s(n, length_mm=1e6, **given)
    assert far == pytest.approx(ring * NU / math.sqrt(1 - NU**2), rel=1e-4)


def test_slots_lower_the_ring_and_part_its_modes():
    aligned = drum(
        rows_total=9, pitch_mm=180, first_row_mm=180, row_angle_deg=0, hammer=None,
        cutout=Slot(around_mm=60, axial_mm=120, corner_radius_mm=8),
    )  # fmt: skip
    found = shell_modes(aligned, speed_rpm=1000)
    ovalling = [m for m in found.modes if m.waves == 2]
    assert len(ovalling) == 2
    plain = ovalling[0].plain_Hz
    assert ovalling[0].ring_Hz < 0.97 * plain
    # the one that does not bend the slots only loses mass there
    assert ovalling[0].ring_Hz < ovalling[1].ring_Hz < 1.03 * plain
    assert all(m.ring_Hz < m.disc_Hz for m in found.modes)
    # rows spread around: both ovalling modes are one
    spread = [m for m in shell_modes(drum(hammer=None), speed_rpm=1000).modes if m.waves == 2]
    assert len(spread) == 1
    assert spread[0].ring_Hz < plain


def test_what_hangs_in_the_slots_lowers_the_ring():
    base = shell_modes(drum(hammer=None), speed_rpm=1000).modes[0].ring_Hz
    part = SlotPart(name="wedge", mass_kg=0.6, radius_mm=385)
    wedged = shell_modes(drum(slot_parts=(part,)), speed_rpm=1000)
    assert wedged.modes[0].ring_Hz < base
    assert any("hinder" in note for note in wedged.notes)
    hung = shell_modes(drum(hammer=HALVES), speed_rpm=1000).modes[0].ring_Hz
    # 504 kg on a ring of 1,280 kg: about the square root of the masses
    assert hung == pytest.approx(base * math.sqrt(1 / (1 + 504 / 1305)), rel=0.1)


def test_hits_excite_the_orders_that_are_said():
    """Simulated: pulses at one place in space on the turning ring, projected on n waves, transformed over a revolution."""
    whole = drum()
    angles = np.radians(tip_angles_deg(whole))
    n, steps = 2, 7200
    # a tip at angle a in the drum passes the place when the drum has turned by -a
    signal = np.zeros(steps, dtype=complex)
    for a in angles:
        signal[round((-a % (2 * math.pi)) / (2 * math.pi) * steps) % steps] += np.exp(1j * n * a)
    spectrum = np.abs(np.fft.fft(signal)) / len(angles)
    orders = np.arange(1, 150)
    seen = np.maximum(spectrum[orders], spectrum[-orders])
    said = np.maximum(order_strength(whole, orders - n), order_strength(whole, orders + n))
    np.testing.assert_allclose(seen, said, atol=2e-2)
    assert list(orders[said > 0.5]) == [2, 46, 50, 94, 98, 142, 146]


def test_hits_near_a_mode_are_warned():
    """At the speed at which the 46th order meets the ovalling, and far from it."""
    whole = drum(hammer=None)
    mode = shell_modes(whole, speed_rpm=1000).modes[0]
    middle = 0.5 * (mode.ring_Hz + mode.disc_Hz)
    at = shell_modes(whole, speed_rpm=60 * middle / 46, most_waves=2)
    assert at.modes[0].verdict == "too close"
    assert at.modes[0].meets_order == 46
    assert "common practice" in at.warnings[0]
    away = shell_modes(whole, speed_rpm=1000, most_waves=2)
    assert away.modes[0].verdict == "apart"
    assert away.warnings == ()
    assert away.modes[0].build_up > at.modes[0].build_up * 0.99


def test_range_is_said():
    """Waves too short for a thin ring are left out, with a note; the error of the others is small and grows with n."""
    thick = drum(
        wall_mm=100, hammer=None, drive_end=vars_of_end(), cutout=Slot(around_mm=50, axial_mm=60, corner_radius_mm=8)
    )
    found = shell_modes(thick, speed_rpm=1000, most_waves=6)
    assert max(m.waves for m in found.modes) == 2
    assert any("beyond what a thin ring knows" in note for note in found.notes)
    errors = [thin_ring_error(n, radius_mm=R, wall_mm=T) for n in (2, 3, 4)]
    assert errors == sorted(errors)
    assert errors[0] < 0.01
    with pytest.raises(InputFault, match="most_waves"):
        shell_modes(thick, speed_rpm=1000, most_waves=1)
    with pytest.raises(InputFault, match="speed_rpm"):
        shell_modes(thick, speed_rpm=0)


def vars_of_end():
    from femdrum.model.drum_shaft import StubShaft

    return StubShaft(disc_thickness_mm=60, stub_diameter_mm=180, stub_length_mm=200, fillet_radius_mm=15)


def test_thickness_scales_the_ring():
    """Twice the wall on the same mid radius: twice the frequency."""
    thin = thin_ring_rad_s(2, radius_mm=R, bending_Nmm2=EI, mass_t_per_mm=M)
    twice = thin_ring_rad_s(2, radius_mm=R, bending_Nmm2=8 * EI, mass_t_per_mm=2 * M)
    assert twice == pytest.approx(2 * thin, rel=1e-12)
