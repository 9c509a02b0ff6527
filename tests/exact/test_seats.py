"""Seats against closed forms, field equations and sums: conforming contact, tilted pads, friction that locks a round."""

import math

import numpy as np
import pytest

from femdrum.errors import InputFault, OutsideRange
from femdrum.handbook.closed_forms_bars import line_contact
from femdrum.model.clamp import Seat
from femdrum.rotor.conforming import (
    conforming_contact,
    conforming_number,
    largest_half_angle_deg,
    peak_number,
    pressure_number,
)
from femdrum.rotor.seat import (
    HERTZ_WIDTH_SHARE,
    YIELD_MISES,
    YIELD_TRESCA,
    edge_pressure_ratio,
    hertz_line,
    lift_off_mrad,
    locked_tilt_ratio,
    seat_pressure,
    tilted_pad,
)

STEEL = {"youngs_modulus_MPa": 206e3, "poissons_ratio": 0.3}
E1 = 206e3 / 0.91

# conforming seat, same material: half angle (degrees), E1 dR / Q, p0 R / Q, and p0 R / Q of the line-contact formula.
# From memory (the form of Persson 1964), checked by force balance and the limit of small angles.
PERSSON = [
    (5.7248, 253.69417, 6.37947019804, 6.35426),
    (22.62, 14.97877, 1.64516454419, 1.544),
    (43.603, 3.0877088, 0.905357590964, 0.701016),
    (61.928, 0.93185954, 0.697355549736, 0.38511),
    (77.32, 0.20807318, 0.61988791142, 0.181978),
]


@pytest.mark.parametrize(("half_deg", "number", "peak", "hertz"), PERSSON)
def test_conforming_seat(half_deg, number, peak, hertz):
    """From the load to angle and peak, and what line contact would have said. From memory, checked below."""
    radius, load = 20.0, 1500.0
    gap = number * load / E1
    found = conforming_contact(line_load_N_mm=load, radius_mm=radius, groove_radius_mm=radius + gap, **STEEL)
    assert found.half_angle_deg == pytest.approx(half_deg, abs=6e-4)
    assert found.peak_MPa * radius / load == pytest.approx(peak, rel=3e-8)
    # the note's line contact takes R for both radii
    assert math.sqrt(number / (2 * math.pi)) == pytest.approx(hertz, rel=1e-5)
    assert found.hertz_MPa * radius / load == pytest.approx(hertz * math.sqrt(radius / (radius + gap)), rel=1e-5)


@pytest.mark.parametrize("half_deg", [2.0, 15.0, 40.0, 70.0, 82.0])
def test_force_balance(half_deg):
    """The pressure's component along the force adds up to the force. Quadrature."""
    from scipy.integrate import quad

    half = math.radians(half_deg)
    # x = half sin(s) takes the square root off the end
    total = quad(
        lambda s: float(pressure_number(half * math.sin(s), half)) * math.cos(half * math.sin(s)) * half * math.cos(s),
        -math.pi / 2,
        math.pi / 2,
    )[0]
    assert total == pytest.approx(1, rel=1e-9)
    assert float(pressure_number(half, half)) == pytest.approx(0, abs=1e-6)
    assert np.all(pressure_number([1.01 * half, -1.2 * half], half) == 0)


@pytest.mark.parametrize("half_deg", [10.0, 30.0, 55.0, 75.0, 84.8279])
def test_field_equation_of_a_round_in_a_hole(half_deg):
    """Radial displacements of hole and round, by their Fourier terms, close the gap over the contact and nowhere else.

    Under a pressure p_n cos(n phi) the hole widens and the round shrinks together by (2 R / E1) p_n 2 n / (n² - 1), n > 1,
    and by (2 R / E1) p_0 evenly; n = 1 is the force and moves the round as a whole. In the contact the sum must be
    delta cos(phi) - dR. Derived from plane elasticity, no part of the closed form.
    """
    half, count = math.radians(half_deg), 2**15
    phi = 2 * math.pi * np.arange(count) / count
    phi = np.where(phi > math.pi, phi - 2 * math.pi, phi)
    terms = np.fft.rfft(pressure_number(phi, half)).real / count
    terms[1:] *= 2
    assert math.pi * terms[1] == pytest.approx(1, rel=1e-4)
    n = np.arange(len(terms), dtype=float)
    factor = np.where(n > 1, 2 * n / np.maximum(n**2 - 1, 1), 0.0)
    factor[0] = 1.0
    closing = 2 * np.fft.irfft(
        np.concatenate([[count * (factor * terms)[0]], 0.5 * count * (factor * terms)[1:]]), count
    )
    inside = np.abs(phi) < 0.98 * half
    basis = np.stack([np.cos(phi[inside]), np.ones(inside.sum())], axis=1)
    (shift, level), *_ = np.linalg.lstsq(basis, closing[inside], rcond=None)
    gap = closing - shift * np.cos(phi) - level
    size = np.ptp(closing)
    assert np.max(np.abs(gap[inside])) < 2e-5 * size
    # the level is the difference of the radii
    assert -level == pytest.approx(float(conforming_number(half)), abs=3e-4 * size)
    outside = (np.abs(phi) > 1.05 * half) & (np.abs(phi) < math.pi / 2)
    assert np.all(gap[outside] > 0)


def test_small_angles_are_line_contact():
    """Half width and peak go to the line-contact formula with the square of the angle."""
    errors = []
    for gap in (0.5, 2.0):
        load = 200.0
        found = conforming_contact(line_load_N_mm=load, radius_mm=100.0, groove_radius_mm=100.0 + gap, **STEEL)
        # its formula with R² / dR in place of R1 R2 / dR
        peak = math.sqrt(load * 0.5 * E1 * gap / (math.pi * 100.0**2))
        half = math.sqrt(4 * load / (math.pi * 0.5 * E1 * gap))
        errors.append(abs(found.peak_MPa / peak - 1))
        assert math.radians(found.half_angle_deg) == pytest.approx(half, rel=2e-3)
    assert errors[0] < 2e-3
    assert errors[1] < 0.3 * errors[0]


def test_equal_radii():
    """Contact over 84.8 degrees to either side whatever the load; peak proportional to it."""
    small, large = (
        conforming_contact(line_load_N_mm=q, radius_mm=20, groove_radius_mm=20, **STEEL) for q in (100.0, 3000.0)
    )
    assert small.half_angle_deg == large.half_angle_deg == largest_half_angle_deg()
    assert float(conforming_number(math.radians(largest_half_angle_deg()))) == pytest.approx(0, abs=1e-12)
    # the field equation holds at 84.8279 degrees too, see above
    assert largest_half_angle_deg() == pytest.approx(84.8279, abs=1e-4)
    assert large.peak_MPa == pytest.approx(30 * small.peak_MPa, rel=1e-12)
    # above the uniform pressure of a full half round, and never below that of any wider contact
    assert large.peak_MPa > 3000 / 40
    assert float(peak_number(math.radians(80))) > float(peak_number(math.radians(82)))


def test_pressure_over_the_contact():
    found = conforming_contact(line_load_N_mm=1667, radius_mm=20, groove_radius_mm=20.05, **STEEL)
    angles = np.linspace(-90, 90, 181)
    pressure = found.pressure_MPa(angles)
    assert pressure.max() == pytest.approx(found.peak_MPa, rel=1e-12)
    assert np.all(pressure == pressure[::-1])
    assert np.all(np.diff(pressure[90:]) <= 0)
    assert [f.provenance.kind.value for f in found.figures][:2] == ["from memory, not confirmed"] * 2


def test_yield_below_the_surface():
    """Line contact under its middle: largest shear 0.300 p0 at 0.786 b; von Mises 0.558 p0. Stresses of the half-plane.

    sx = -p0 ((b² + 2 z²) / (b sqrt(b² + z²)) - 2 z / b), sz = -p0 b / sqrt(b² + z²), sy = nu (sx + sz).
    """
    z = np.linspace(0, 3, 300001)
    root = np.sqrt(1 + z**2)
    sx, sz = -((1 + 2 * z**2) / root - 2 * z), -1 / root
    sy = 0.3 * (sx + sz)
    shear = 0.5 * np.abs(sx - sz)
    assert z[np.argmax(shear)] == pytest.approx(0.786, abs=5e-4)
    assert pytest.approx(1 / (2 * shear.max()), rel=1e-8) == YIELD_TRESCA
    mises = np.sqrt(0.5 * ((sx - sy) ** 2 + (sy - sz) ** 2 + (sz - sx) ** 2))
    assert pytest.approx(1 / mises.max(), rel=3e-3) == YIELD_MISES


def test_line_contact_up_to_its_limit():
    """Answered up to a half width of 0.3 R as line_contact has it, refused beyond."""
    radius, length = 50.0, 40.0
    limit = math.pi * 0.5 * E1 * (HERTZ_WIDTH_SHARE * radius) ** 2 / (4 * radius) * length
    below = hertz_line(force_N=0.999 * limit, length_mm=length, radius_mm=radius, **STEEL)
    assert below == line_contact(line_load=0.999 * limit / length, radius_mm=radius, other_radius_mm=math.inf, **STEEL)
    with pytest.raises(OutsideRange, match=r"beyond 0\.3 of the radius"):
        hertz_line(force_N=1.001 * limit, length_mm=length, radius_mm=radius, **STEEL)
    with pytest.raises(InputFault, match="equal radii: conforming_contact"):
        hertz_line(force_N=1e3, length_mm=length, radius_mm=radius, groove_radius_mm=radius, **STEEL)


def springs(tilt_mrad, across_mrad, *, force=100e3, length=60.0, width=20.0, stiffness=206e3 / 30, cells=1200):
    """Peak and share in contact of a pad on springs, added up on a grid; depth by bisection."""
    x, y = (s * ((np.arange(cells) + 0.5) / cells - 0.5) for s in (length, width))
    plane = 1e-3 * (tilt_mrad * x[:, None] + across_mrad * y[None, :])
    cell = length * width / cells**2
    low, high = -plane.max(), force / (stiffness * length * width) - plane.min()
    for _ in range(60):
        middle = 0.5 * (low + high)
        if stiffness * np.clip(plane + middle, 0, None).sum() * cell < force:
            low = middle
        else:
            high = middle
    rise = 0.5e-3 * (abs(tilt_mrad) * length + abs(across_mrad) * width)
    return stiffness * (middle + rise), float((plane + middle > 0).mean())


@pytest.mark.parametrize(
    ("tilt", "across"), [(0.2, 0.0), (0.4, 0.5), (2.0, 0.0), (2.0, 3.0), (0.3, -8.0), (-1.0, 0.002)]
)
def test_tilted_pad_by_summing(tilt, across):
    pad = {"force_N": 100e3, "length_mm": 60.0, "width_mm": 20.0, "stiffness_MPa_mm": 206e3 / 30}
    peak, share = tilted_pad(**pad, tilt_mrad=tilt, across_mrad=across)
    summed = springs(tilt, across)
    assert peak == pytest.approx(summed[0], rel=2e-5)
    assert share == pytest.approx(summed[1], abs=2e-3)
    assert tilted_pad(**pad, tilt_mrad=-tilt, across_mrad=across) == (peak, share)


def test_pad_without_jumps():
    """Both branches of the tilted pad meet: at lift-off, and where the second angle becomes small."""
    pad = {"force_N": 100e3, "length_mm": 60.0, "width_mm": 20.0, "stiffness_MPa_mm": 206e3 / 30}
    lift = lift_off_mrad(force_N=100e3, length_mm=60, width_mm=20, depth_mm=30, youngs_modulus_MPa=206e3)
    low, high = (tilted_pad(**pad, tilt_mrad=lift * f) for f in (1 - 1e-9, 1 + 1e-9))
    assert low[0] == pytest.approx(high[0], rel=1e-8)
    mean = 100e3 / 1200
    for small in (1e-3, 1e-6, 1e-8, 0.0):
        peak, share = tilted_pad(**pad, tilt_mrad=10 * lift, across_mrad=small)
        assert peak == pytest.approx(mean * edge_pressure_ratio(ratio=10), rel=1e-3)
        assert share == pytest.approx(1 / math.sqrt(10), rel=1e-3)
    # both axes just in contact: peaks add
    one = tilted_pad(**pad, tilt_mrad=0.3 * lift)[0]
    other = tilted_pad(**pad, tilt_mrad=0.0, across_mrad=0.6 * lift)[0]
    both = tilted_pad(**pad, tilt_mrad=0.3 * lift, across_mrad=0.6 * lift)[0]
    assert both == pytest.approx(one + other - mean, rel=1e-12)


@pytest.mark.parametrize("friction", [0.05, 0.12, 0.3, 0.6])
@pytest.mark.parametrize("radius", [10.0, 20.0, 40.0])
def test_locked_tilt_by_moments(friction, radius):
    """At the locked tilt the pad's moment about the axis equals friction mu F R. The pad's pressure summed."""
    length, width, force, k = 60.0, 20.0, 100e3, 206e3 / 30
    ratio = locked_tilt_ratio(length_mm=length, radius_mm=radius, friction=friction)
    if math.isinf(ratio):
        # the largest moment that a pad can bring is F L / 2: it never turns
        assert friction * force * radius >= 0.5 * force * length
        return
    lift = lift_off_mrad(force_N=force, length_mm=length, width_mm=width, depth_mm=30, youngs_modulus_MPa=206e3)
    tilt = 1e-3 * ratio * lift
    peak, _ = tilted_pad(force_N=force, length_mm=length, width_mm=width, stiffness_MPa_mm=k, tilt_mrad=1e3 * tilt)
    x = length * ((np.arange(400000) + 0.5) / 400000 - 0.5)
    pressure = np.clip(peak - k * tilt * (0.5 * length - x), 0, None)
    assert pressure.sum() * length / 400000 * width == pytest.approx(force, rel=1e-6)
    assert (pressure * x).sum() * length / 400000 * width == pytest.approx(friction * force * radius, rel=1e-5)
    # full contact is kept exactly where R < L / (6 mu)
    assert (ratio < 1) == (radius < length / (6 * friction))


def test_seat_kinds_at_one_angle():
    """A quarter of a degree: the flat seat stands on its edge, the half round closes the angle, the crown rolls."""
    size = {"length_mm": 60.0, "width_mm": 60.0, "yield_MPa": 700.0}
    flat = Seat(kind="flat", depth_mm=30.0, **size)
    round_ = Seat(
        kind="cylindrical",
        depth_mm=30.0,
        radius_mm=20.0,
        groove_radius_mm=20.05,
        friction_low=0.08,
        friction_high=0.15,
        **size,
    )
    crown = Seat(kind="crowned", radius_mm=200.0, **size)
    on_edge, closed, rolled = (seat_pressure(s, force_N=100e3, angle_deg=0.25) for s in (flat, round_, crown))
    assert on_edge.contact_share < 0.2
    assert closed.contact_share == 1
    assert closed.aligns
    assert on_edge.peak_MPa > 2 * closed.peak_MPa
    assert rolled.peak_MPa == pytest.approx(547.9, rel=2e-3)
    assert rolled.utilisation == pytest.approx(rolled.peak_MPa / (YIELD_TRESCA * 700), rel=1e-12)
    for found in (on_edge, closed, rolled):
        assert found.figures
        assert found.notes
        assert all(math.isfinite(f.value) and f.unit and f.formula for f in found.figures)
    # the round itself: peak of the conforming contact, no less than the projected pressure
    assert closed.contact.peak_MPa > closed.mean_MPa == pytest.approx(41.67, rel=1e-3)
    assert closed.peak_MPa >= closed.contact.peak_MPa


def test_half_round_does_nothing_across():
    """Across its axis the half round is a flat seat, and one end of its groove takes more."""
    seat = Seat(kind="cylindrical", length_mm=60.0, width_mm=60.0, depth_mm=30.0, radius_mm=20.0, groove_radius_mm=20.05, friction_low=0.08, friction_high=0.12)  # fmt: skip
    flat = Seat(kind="flat", length_mm=60.0, width_mm=60.0, depth_mm=30.0)
    across, as_flat = (
        seat_pressure(seat, force_N=100e3, across_deg=0.1),
        seat_pressure(flat, force_N=100e3, across_deg=0.1),
    )
    assert across.contact_share == as_flat.contact_share < 1
    straight = seat_pressure(seat, force_N=100e3)
    assert across.contact.peak_MPa > straight.contact.peak_MPa
    assert across.contact_length_mm is None


def test_seat_warnings():
    soft = Seat(kind="flat", length_mm=60.0, width_mm=20.0, depth_mm=30.0, yield_MPa=110.0)
    said = seat_pressure(soft, force_N=100e3, angle_deg=0.1).warnings
    assert any("above 0.7 of the yield" in w for w in said)
    assert any("beds in" in w for w in said)
    assert any("lifts off" in w for w in said)
    assert any(
        "was not checked" in w
        for w in seat_pressure(Seat(kind="flat", length_mm=60.0, width_mm=20.0, depth_mm=30.0), force_N=1e3).warnings
    )
    crown = Seat(kind="crowned", length_mm=20.0, width_mm=60.0, radius_mm=500.0, yield_MPa=200.0)
    rolled = seat_pressure(crown, force_N=100e3, angle_deg=2.0).warnings
    assert any("runs over the pad's edge" in w for w in rolled)
    assert any("yields below its surface" in w for w in rolled)
    with pytest.raises(OutsideRange, match="across_deg"):
        seat_pressure(crown, force_N=100e3, across_deg=0.1)


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("kind", {"kind": "spherical"}),
        ("length_mm", {"length_mm": 0.0}),
        ("depth_mm", {"depth_mm": None}),
        ("radius_mm", {"radius_mm": None}),
        ("groove_radius_mm", {"groove_radius_mm": 19.9}),
        ("friction_high", {"friction_high": None}),
        ("friction_low", {"friction_low": 0.4}),
        ("yield_MPa", {"yield_MPa": -1.0}),
        ("poissons_ratio", {"poissons_ratio": 0.5}),
        ("radius_mm", {"kind": "flat", "friction_low": None, "friction_high": None, "groove_radius_mm": None}),
    ],
)
def test_refused_seats(field, change):
    good = {
        "kind": "cylindrical", "length_mm": 60.0, "width_mm": 60.0, "depth_mm": 30.0, "radius_mm": 20.0,
        "groove_radius_mm": 20.05, "friction_low": 0.1, "friction_high": 0.15,
    }  # fmt: skip
    with pytest.raises(InputFault, match=field):
        Seat(**good | change)


@pytest.mark.parametrize(
    "change", [{"groove_radius_mm": 19.0}, {"groove_radius_mm": 30.0}, {"line_load_N_mm": 0.0}, {"poissons_ratio": 0.6}]
)
def test_refused_grooves(change):
    good = {"line_load_N_mm": 1000.0, "radius_mm": 20.0, "groove_radius_mm": 20.1, **STEEL}
    with pytest.raises(InputFault, match=next(iter(change))):
        conforming_contact(**good | change)
    with pytest.raises(InputFault, match="force_N"):
        seat_pressure(Seat(kind="flat", length_mm=60.0, width_mm=20.0, depth_mm=30.0), force_N=-1.0)
