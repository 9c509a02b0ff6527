"""The closed forms against values worked with 30 digits, and against equilibrium."""

import math

import numpy as np
import pytest
from handbook_tables import rows

from femdrum.handbook.closed_forms import (
    inglis_edge,
    inglis_kt,
    kirsch,
    kirsch_edge,
    lame,
    ring_average,
    rotating_annulus,
    rotating_long_cylinder,
    rotating_solid_disc,
    section_area,
    thin_ring,
)
from femdrum.handbook.closed_forms_bars import (
    curved_bar,
    curved_bar_plane_sections,
    line_contact,
    thin_ring_point_loads,
)
from femdrum.units import density_t_mm3, omega_rad_s

STEEL = {"density_t_mm3": density_t_mm3(7850.0), "omega_rad_s": omega_rad_s(1000.0)}
ELASTIC = {"youngs_modulus_MPa": 210000.0, "poissons_ratio": 0.3}
UNIT = density_t_mm3(7850.0) * omega_rad_s(1000.0) ** 2  # rho omega^2 at 1 mm


def annulus(ratio, r):
    return rotating_annulus(r, inner_mm=ratio, outer_mm=1.0, **STEEL, **ELASTIC)


def cylinder(ratio, r, ends="free"):
    return rotating_long_cylinder(r, inner_mm=ratio, outer_mm=1.0, ends=ends, **STEEL, **ELASTIC)


def half(ratio):
    return math.sqrt(ratio)


PIPE = lame(1.0, inner_mm=1, outer_mm=2, inner_pressure_MPa=1, **ELASTIC)
SEAT = line_contact(line_load=1000, radius_mm=20, other_radius_mm=-21, youngs_modulus_MPa=210000, poissons_ratio=0.3)
RING = thin_ring_point_loads(force=1, radius_mm=1, bending_stiffness=1)

VALUES = {
    ("Kirsch", "s_tt at r=a, 90 deg, Sx=1"): lambda: kirsch_edge(math.pi / 2, stress_x=1),
    ("Kirsch", "s_tt at r=2a, 90 deg, Sx=1"): lambda: kirsch(2, math.pi / 2, radius_mm=1, stress_x=1).hoop,
    ("Kirsch", "peak, equibiaxial"): lambda: kirsch_edge(0.3, stress_x=1, stress_y=1),
    ("Kirsch", "peak, pure shear (|value|)"): lambda: -kirsch_edge(math.pi / 4, shear=1),
    ("Kirsch", "peak, hoop:axial 2:1 (nominal = hoop)"): lambda: kirsch_edge(math.pi / 2, stress_x=1, stress_y=0.5),
    ("Inglis", "a/b=2 across load"): lambda: inglis_kt(across=2, along=1),
    ("Inglis", "load-axis end"): lambda: inglis_edge(0.0, half_x=1, half_y=2, stress_x=1),
    ("Lame", "s_tt(a), b/a=2, p_i=1"): lambda: PIPE.hoop,
    ("Lame", "u(a) E/(p a), open ends, nu 0.3"): lambda: PIPE.displacement * 210000,
    ("rotating solid disc, nu 0.3", "centre stress/(rho w^2 b^2) = (3+nu)/8"): lambda: (
        rotating_solid_disc(0.0, outer_mm=1, poissons_ratio=0.3, **STEEL).hoop / UNIT
    ),
    ("curved bar, exact, b/a=2, M=1", "s_tt(a) a^2/M"): lambda: curved_bar(1, inner_mm=1, outer_mm=2, moment=1)[1],
    ("curved bar, plane sections, b/a=2", "s_tt(a)"): lambda: curved_bar_plane_sections(
        1, inner_mm=1, outer_mm=2, moment=1
    ),
    ("thin ring, diametral load", "|M| under load/(PR)"): lambda: RING.moment_under_load,
    ("thin ring, diametral load", "|M| at 90 deg/(PR)"): lambda: RING.moment_at_side,
    ("thin ring, diametral load", "loaded diameter change EI/(PR^3)"): lambda: RING.loaded_diameter_change,
    ("thin ring, diametral load", "other diameter change EI/(PR^3)"): lambda: RING.other_diameter_change,
    ("Hertz line, R1 20, seat R 21, 1000 N/mm, steel", "half width mm"): lambda: SEAT.half_width,
    ("Hertz line, same", "p0 MPa"): lambda: SEAT.pressure,
    ("Hertz line", "max shear / p0"): lambda: SEAT.shear / SEAT.pressure,
}  # fmt: skip
ANNULUS = {
    "s_tt(a)/(rho w^2 b^2)": lambda q: annulus(q, q).hoop / UNIT,
    "max s_rr/(rho w^2 b^2) at r = sqrt(ab)": lambda q: annulus(q, half(q)).radial / UNIT,
    "u(b) E/(rho w^2 b^3)": lambda q: annulus(q, 1.0).displacement * 210000 / UNIT,
    "s_tt(a)/(rho w^2 b^2), plane strain": lambda q: cylinder(q, q, "fixed").hoop / UNIT,
    "s_zz(a), fixed ends / free ends": lambda q: cylinder(q, q, "fixed").axial / UNIT,
    "rho w^2 R_m^2 (ratio to disc s_tt(a))": lambda q: thin_ring(radius_mm=0.5 * (1 + q), **STEEL) / UNIT,
}


@pytest.mark.parametrize("row", rows("closed_forms"), ids=lambda r: f"{r['case']}: {r['quantity']}")
def test_closed_form(row):
    key = (row["case"], row["quantity"])
    if key in VALUES:
        value = VALUES[key]()
    else:
        ratio = float(row["case"].split("a/b=")[1])
        value = ANNULUS[row["quantity"]](ratio)
        if "free ends" in row["check"]:
            free = float(row["check"].split("free ends: ")[1].split(";")[0])
            assert float(cylinder(ratio, ratio).axial) / UNIT == pytest.approx(free, rel=1e-9)
    assert float(value) == pytest.approx(float(row["value"]), rel=2e-11)


def test_line_contact_shear_depth():
    assert SEAT.shear_depth / SEAT.half_width == pytest.approx(0.78615138, rel=1e-8)


def wall_mean(values, r):
    return np.sum(0.5 * (values[1:] + values[:-1]) * np.diff(r)) / (r[-1] - r[0])


def test_ring_average_is_the_mean_of_the_hoop_stress():
    r = np.linspace(360.0, 400.0, 20001)
    hoop = rotating_annulus(r, inner_mm=360, outer_mm=400, **STEEL, **ELASTIC).hoop
    mean = ring_average(inner_mm=360, outer_mm=400, **STEEL)
    assert wall_mean(hoop, r) == pytest.approx(mean, rel=1e-8)
    assert wall_mean(cylinder(0.5, np.linspace(0.5, 1, 20001)).hoop, np.linspace(0.5, 1, 20001)) == pytest.approx(
        ring_average(inner_mm=0.5, outer_mm=1, **STEEL), rel=1e-8
    )


def test_free_long_cylinder_carries_no_axial_force_and_shrinks():
    r = np.linspace(0.6, 1.0, 20001)
    free = cylinder(0.6, r)
    force = wall_mean(free.axial * r, r)
    assert abs(force) < 1e-8 * np.max(np.abs(free.axial))
    strain = (free.axial - 0.3 * (free.radial + free.hoop)) / 210000
    assert strain == pytest.approx(np.full(r.size, free.axial_strain), rel=1e-9)
    assert free.axial_strain < 0
    fixed = cylinder(0.6, r, "fixed")
    assert fixed.axial_strain == 0
    assert fixed.hoop == pytest.approx(free.hoop)
    with pytest.raises(ValueError, match="free"):
        cylinder(0.6, r, "loose")


@pytest.mark.parametrize("kind", [annulus, cylinder])
def test_rotating_rings_are_in_equilibrium_and_compatible(kind):
    r = np.linspace(0.5, 1.0, 2001)
    ring = kind(0.5, r)
    assert ring.radial[[0, -1]] == pytest.approx([0, 0], abs=1e-12 * UNIT)
    gradient = np.gradient(r * ring.radial, r, edge_order=2)
    assert gradient - ring.hoop + UNIT * r**2 == pytest.approx(np.zeros(r.size), abs=1e-5 * UNIT)
    radial_strain = (ring.radial - 0.3 * (ring.hoop + ring.axial)) / 210000
    assert np.gradient(ring.displacement, r, edge_order=2) == pytest.approx(radial_strain, abs=1e-6 * UNIT / 210000)


def test_lame_with_both_pressures_is_uniform():
    r = np.linspace(1, 2, 5)
    tube = lame(r, inner_mm=1, outer_mm=2, inner_pressure_MPa=3, outer_pressure_MPa=3, axial_stress_MPa=-3, **ELASTIC)
    assert tube.hoop == pytest.approx(-3 * np.ones(5))
    assert tube.radial == pytest.approx(-3 * np.ones(5))
    assert tube.displacement == pytest.approx(-3 * (1 - 0.6) / 210000 * r)
    assert tube.axial_strain == pytest.approx(-3 * (1 - 0.6) / 210000)


def test_kirsch_far_away_is_the_remote_stress_and_free_at_the_edge():
    theta = np.linspace(0, 2 * math.pi, 13)
    edge = kirsch(5.0, theta, radius_mm=5, stress_x=3, stress_y=-1, shear=2)
    assert edge.radial == pytest.approx(np.zeros(13), abs=1e-12)
    assert edge.shear == pytest.approx(np.zeros(13), abs=1e-12)
    far = kirsch(1e9, np.array([0.0, math.pi / 2]), radius_mm=5, stress_x=3, stress_y=-1, shear=2)
    assert far.radial == pytest.approx([3, -1])
    assert far.shear == pytest.approx([2, -2])


def test_inglis_of_a_circle_is_kirsch():
    e = np.linspace(0, 2 * math.pi, 25)
    load = {"stress_x": 1.0, "stress_y": -0.3, "shear": 0.8}
    assert inglis_edge(e, half_x=2, half_y=2, **load) == pytest.approx(kirsch_edge(e, **load))
    assert inglis_edge(math.pi / 2, half_x=1, half_y=4, stress_x=1) == pytest.approx(inglis_kt(across=4, along=1))


def test_curved_bar_carries_its_moment():
    r = np.linspace(1, 2, 20001)
    radial, hoop = curved_bar(r, inner_mm=1, outer_mm=2, moment=1)
    assert radial[[0, -1]] == pytest.approx([0, 0], abs=1e-12)
    assert wall_mean(hoop, r) == pytest.approx(0, abs=1e-7)
    assert wall_mean(hoop * r, r) == pytest.approx(-1, rel=1e-7)
    plain = curved_bar_plane_sections(r, inner_mm=1, outer_mm=2, moment=1)
    assert wall_mean(plain * r, r) == pytest.approx(-1, rel=1e-7)


def test_section_area():
    assert section_area(inner_mm=3, outer_mm=5) == pytest.approx(16 * math.pi)
