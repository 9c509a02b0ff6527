"""Contact by finite elements against closed forms: line contact, a pin in its hole, a rounded punch, partial slip, wedges; a pack as loads."""

import csv
import io
import math

import numpy as np
import pytest

import femdrum as fd
from femdrum.assess.contact import clamp_patches, solve_wedge_pack
from femdrum.assess.contact_face import pack_faces
from femdrum.errors import InputFault, NoNumber, SingularModel, SolveFailure
from femdrum.fem.cell import Fineness
from femdrum.fem.contact import Contact, Drive
from femdrum.fem.contact_blocks import Spot, crown, divide, round_block
from femdrum.fem.contact_body import Body, Motion, hold, traction_load
from femdrum.fem.contact_friction import OPEN, STICK
from femdrum.fem.contact_pack import LEVELS, PackFineness, solve_pack
from femdrum.fem.contact_pair import Interface
from femdrum.fem.contact_read import read_face
from femdrum.fem.divide import graded
from femdrum.fem.ring_mesh import ring_mesh
from femdrum.fem.unit_cases.flanks import flank as flank_case
from femdrum.handbook.closed_forms_bars import line_contact
from femdrum.loads.factors import factors
from femdrum.model.clamp import Seat
from femdrum.model.contact_input import WedgePack
from femdrum.model.flank import flank_height_mm
from femdrum.model.material import Material
from femdrum.quantity import Verdict
from femdrum.rotor.conforming import conforming_contact
from femdrum.rotor.seat import hertz_line, seat_pressure
from femdrum.rotor.wedge import wedge_normal_N

E, NU = 206e3, 0.3
STEEL = Material(youngs_modulus_MPa=E, poissons_ratio=NU)
ELASTIC = {"youngs_modulus_MPa": E, "poissons_ratio": NU}
E1 = E / (1 - NU**2)
MODULUS = E1 / 2  # of two equal bodies


# two bodies with flat backs, pressed together


def two_caps(one, other, fine, cells, *, half=20.0, ratio=1.05, friction=0.0, sideways=False, gap=None, spots=None):
    """Bodies of given face radii (math.inf: flat; negative: hollow is not drawn here), cells of fine / cells about the middle."""
    sections = []
    for radius, up, scale in ((one, True, 1.0), (other, False, ratio)):
        size = scale * fine / cells
        about = spots(scale) if spots else (Spot(0.0, size, fine),)
        ends = divide((-half, half), about, 0.5, half / 3)
        first = min(s.size for s in about)
        sections.append(crown(radius_mm=radius, half_length_mm=half, depth_mm=half, ends=ends, first_mm=first, order=2, up=up))  # fmt: skip
    top, bottom = sections
    free = (Motion("y"), Motion("x")) if sideways else (Motion("y"),)
    bodies = (
        Body("upper", top, STEEL, fixed=hold(top, ["back"], ["back"]), motions=free),
        Body("lower", bottom, STEEL, fixed=hold(bottom, ["back"], ["back"])),
    )
    # what slides on a flat face keeps the flat face's normal
    normal = "second" if math.isinf(other) else "first"
    contact = Contact(bodies, [Interface("face", (0, "face"), (1, "face"), friction, gap, normal)])
    return contact, lambda down, aside=0.0: {0: traction_load(top, "back", (aside / (2 * half), -down / (2 * half)))}


@pytest.mark.parametrize("other", [math.inf, 100.0, 40.0])
@pytest.mark.parametrize("load", [300.0, 1000.0])
def test_cylinder_on_flat_and_on_cylinder(other, load):
    """Half width and peak of line contact within 2 %, here 1 % and 0.4 %; the whole curve of pressure."""
    exact = line_contact(line_load=load, radius_mm=100.0, other_radius_mm=other, **ELASTIC)
    contact, pressed = two_caps(100.0, other, 1.4 * exact.half_width, 20)
    face = contact.solve(pressed(load)).faces["face"]
    found = read_face(face, 0)
    assert found.half_width_mm == pytest.approx(exact.half_width, rel=0.01)
    assert found.peak_MPa == pytest.approx(exact.pressure, rel=4e-3)
    assert abs(found.peak_mm) < 0.1 * exact.half_width
    curve = exact.pressure * np.sqrt(np.clip(1 - (found.along_mm / exact.half_width) ** 2, 0, None))
    inside = np.abs(found.along_mm) < 0.85 * exact.half_width
    assert np.abs(found.pressure_MPa - curve)[inside].max() < 0.02 * exact.pressure
    assert face.force_N == pytest.approx([0, load], abs=1e-9 * load)
    assert found.stick_share is None


def test_pressure_grows_with_the_root_of_the_load():
    """Line contact: twice the load, root 2 of width and peak."""
    contact, pressed = two_caps(100.0, math.inf, 1.5, 20)
    one, two = (read_face(contact.solve(pressed(load)).faces["face"], 0) for load in (500.0, 1000.0))
    assert two.peak_MPa / one.peak_MPa == pytest.approx(math.sqrt(2), rel=3e-3)
    assert two.half_width_mm / one.half_width_mm == pytest.approx(math.sqrt(2), rel=0.015)


def pin_in_hole(half_angle_deg, radius, hole, load, cells=20):
    """Half a pin in half a large plate with a hole; the pin pulled by an even pressure on a small bore in its middle."""
    angle = math.radians(half_angle_deg)
    fine, step = min(1.25 * angle, 0.75 * math.pi), angle / cells

    def angles(size):
        inner = np.linspace(0, fine, max(2, round(fine / size)) + 1)
        return np.concatenate([inner, fine + graded(math.pi - fine, 1.4 * size, 1.4, 0.2)[1:]])

    core, far = 0.03 * radius, 30.0 * radius
    inward = graded(radius - core, step * radius, 1.4, 0.25 * radius) / (radius - core)
    outward = graded(far - hole, step * radius, 1.4) / (far - hole)
    pin = round_block(radius_mm=radius, other_mm=core, centre_mm=(0, 0), angles_rad=angles(1.07 * step), shares=inward, order=2)  # fmt: skip
    plate = round_block(radius_mm=hole, other_mm=far, centre_mm=(0, hole - radius), angles_rad=angles(step), shares=outward, order=2)  # fmt: skip
    bodies = (
        Body("pin", pin, STEEL, fixed=hold(pin, ["below", "above"])),
        Body("plate", plate, STEEL, fixed=hold(plate, ["below", "above", "back"], ["back"])),
    )
    contact = Contact(bodies, [Interface("face", (0, "face"), (1, "face"))])
    # half a pin carries half the load
    pull = traction_load(pin, "back", (0.0, -0.5 * load / (math.pi * core)))
    face = contact.solve({0: pull}).faces["face"]
    # the vertical force on the half pin balances its load
    assert face.force_N[1] == pytest.approx(-pull[:, 1].sum(), rel=1e-9)
    return np.arctan2(face.place_mm[:, 0], -face.place_mm[:, 1]), face


# From memory (Persson 1964 form), checked by force balance and small-angle limit: closed_forms.csv, "conforming seat"; and checked
# by the field equation of a round in a hole in test_seats.py. half angle in degrees, p0 R / Q, E1 dR / Q
CONFORMING = [
    (5.7248, 6.37947019804, 253.69417),
    (22.62, 1.64516454419, 14.97877),
    (43.603, 0.905357590964, 3.0877088),
    (61.928, 0.697355549736, 0.93185954),
    (77.32, 0.61988791142, 0.20807318),
]


@pytest.mark.parametrize(("angle", "peak", "number"), CONFORMING)
def test_conforming_pin(angle, peak, number):
    """Peak and half angle of the conforming solution within 2 %, here 0.6 % and 1.5 %; the curve within 1 % of the peak."""
    radius, difference = 20.0, 2e-3
    load = E1 * difference / number
    at, face = pin_in_hole(angle, radius, radius + difference, load)
    pressure = face.pressure_MPa
    assert pressure.max() * radius / load == pytest.approx(peak, rel=6e-3)
    ends = read_face(face).runs
    assert len(ends) == 1
    width = max(abs(e) for e in ends[0]) - min(abs(e) for e in ends[0])
    arc = read_face(face).bears_mm / radius
    assert width == pytest.approx(radius * arc)
    assert math.degrees(arc) == pytest.approx(angle, rel=0.015)
    exact = conforming_contact(line_load_N_mm=load, radius_mm=radius, groove_radius_mm=radius + difference, **ELASTIC)
    inside = at < 0.85 * math.radians(angle)
    assert np.abs(pressure - exact.pressure_MPa(np.degrees(at)))[inside].max() < 0.012 * exact.peak_MPa
    assert face.force_N[1] == pytest.approx(0.5 * load, rel=1e-5)


def test_seat_of_the_table():
    """closed_forms.csv, "Hertz line, R1 20, seat R 21, 1000 N/mm": half width 2.15281 mm, p0 295.716 MPa (closed form)."""
    _, face = pin_in_hole(6.2, 20.0, 21.0, 1000.0)
    found = read_face(face)
    assert 2 * found.half_width_mm == pytest.approx(2.15281, rel=0.02)
    assert found.peak_MPa == pytest.approx(295.716, rel=0.02)


def rounded_punch(load, flat, radius):
    """Half width and pressure p(x) of a flat punch with rounded edges, from the half-plane's singular integral: P(a) =
    E*/(2R) (a² acos(b/a) - b sqrt(a² - b²)), p = integral of dP/ds / (pi sqrt(s² - x²)) over s (sum of flat punches).
    """
    from scipy.integrate import quad
    from scipy.optimize import brentq

    def force(a):
        return MODULUS / (2 * radius) * (a * a * math.acos(flat / a) - flat * math.sqrt(a * a - flat * flat)) - load

    a = brentq(force, flat * (1 + 1e-12), 3 * flat)

    def pressure(x):
        if abs(x) >= a:
            return 0.0
        low = math.sqrt(max(flat**2 - x**2, 0.0))
        return quad(
            lambda t: MODULUS / radius * math.acos(min(1.0, flat / math.hypot(x, t))) / math.pi,
            low,
            math.sqrt(a**2 - x**2),
            limit=200,
        )[0]

    return a, pressure


@pytest.mark.parametrize(("flat", "radius"), [(19.0, 1.0), (4.0, 20.0)])
def test_rounded_punch(flat, radius):
    """Contact ends and peak of a flat punch with rounded edges; its pressure balances by the closed form itself."""
    load = 1250.0
    end, pressure = rounded_punch(load, flat, radius)
    x = end * np.sin(np.linspace(-math.pi / 2, math.pi / 2, 401))
    assert np.trapezoid([pressure(v) for v in x], x) == pytest.approx(load, rel=2e-3)
    reach = end - flat

    def spots(scale):
        return tuple(Spot(s * flat, 0.25 * scale * reach, 1.3 * reach) for s in (-1, 1))

    contact, pressed = two_caps(
        math.inf, math.inf, 0.0, 1, half=300.0, ratio=0.8, spots=spots,
        gap=lambda at: np.maximum(np.abs(at[:, 0]) - flat, 0) ** 2 / (2 * radius),
    )  # fmt: skip
    found = read_face(contact.solve(pressed(load)).faces["face"], 0)
    peak = max(pressure(v) for v in np.linspace(flat - 3 * reach, end, 300))
    assert found.peak_MPa == pytest.approx(peak, rel=0.02)
    assert found.half_width_mm - flat == pytest.approx(reach, rel=0.05)
    # away from the ends the pressure is that of the closed form
    for at in (0.5 * flat, 0.8 * flat):
        assert np.interp(at, found.along_mm, found.pressure_MPa) == pytest.approx(pressure(at), rel=0.02)


@pytest.mark.parametrize("share", [0.25, 0.5, 0.8])
def test_partial_slip(share):
    """Cattaneo and Mindlin: a tangential force below mu P slips outside of c = a sqrt(1 - Q / (mu P))."""
    load, friction = 1000.0, 0.3
    exact = line_contact(line_load=load, radius_mm=100.0, other_radius_mm=math.inf, **ELASTIC)
    a, aside = exact.half_width, share * friction * load
    contact, pressed = two_caps(100.0, math.inf, 1.3 * a, 24, friction=friction, sideways=True)
    normal = contact.solve(pressed(load))
    state = contact.solve(pressed(load, aside), before=normal)
    face = state.faces["face"]
    x = face.place_mm[:, 0]
    sticks = x[face.state == STICK]
    step = np.diff(x[np.abs(x) < a]).mean()
    assert (sticks.max() - sticks.min() + step) / 2 == pytest.approx(a * math.sqrt(1 - share), rel=0.03)
    # shear as the difference of two such curves, away from the edge of the stick zone
    c = a * math.sqrt(1 - share)
    curve = np.sqrt(np.clip(1 - (x / a) ** 2, 0, None)) - c / a * np.sqrt(np.clip(1 - (x / c) ** 2, 0, None))
    away = (np.abs(np.abs(x) - c) > 0.15 * a) & (np.abs(x) < 0.85 * a)
    assert np.abs(np.abs(face.shear_MPa) / (friction * exact.pressure) - curve)[away].max() < 0.04
    assert abs(face.force_N[0]) == pytest.approx(aside, rel=1e-9)
    assert np.all(np.abs(face.shear_MPa) <= friction * face.pressure_MPa + 1e-9 * exact.pressure)
    # the pressure does not change: equal bodies do not couple
    assert (
        np.abs(face.pressure_MPa - normal.faces["face"].pressure_MPa)[np.abs(x) < 0.85 * a].max()
        < 0.01 * exact.pressure
    )


def test_more_than_friction_can_hold():
    contact, pressed = two_caps(100.0, math.inf, 1.5, 8, friction=0.3, sideways=True)
    before = contact.solve(pressed(1000.0))
    with pytest.raises(SolveFailure):
        contact.solve(pressed(1000.0, 310.0), before=before)
    smooth, pressed = two_caps(100.0, math.inf, 1.5, 8, sideways=True)
    with pytest.raises(SingularModel, match="give the faces friction"):
        smooth.solve(pressed(1000.0, 1.0))
    with pytest.raises(SolveFailure, match="part the bodies"):
        smooth.solve(pressed(-1.0))


def test_after_full_slip_and_back():
    """What slipped stays: with the force taken away again shears remain that add up to nothing."""
    contact, pressed = two_caps(100.0, math.inf, 1.5, 12, friction=0.3, sideways=True)
    state = contact.solve(pressed(1000.0))
    forth = contact.solve(pressed(1000.0, 200.0), before=state)
    back = contact.solve(pressed(1000.0), before=forth)
    shear, weight = back.faces["face"].shear_MPa, back.faces["face"].pairing.weight_mm
    assert abs(weight @ shear) < 1e-6
    assert np.abs(shear).max() > 10.0
    # and the outer part has slipped back, the same way on both sides
    ends = back.faces["face"].state[back.faces["face"].state != OPEN][[0, -1]]
    assert ends[0] == ends[1] != forth.faces["face"].state[forth.faces["face"].state != OPEN][0]


# wedge packs

SIZES = {
    "slot_mm": 60.0, "wall_mm": 40.0, "length_mm": 100.0, "clamp_N": 150e3, "hammer_mm": 40.0, "wedge_height_mm": 36.0,
    "driven": "along", "edge_radius_mm": 1.0,
}  # fmt: skip
COARSE = LEVELS[0]
# for what does not hang on the rounds
PLAIN = PackFineness(sharp=0.03, slope=0.8, across=1.5, most=0.1)
ERROR_MRAD = 1e3 * 0.02 / 60


def pack(**change):
    return WedgePack(**(SIZES | change))


@pytest.mark.parametrize(("driven", "taper", "friction"), [
    ("inward", 6.0, 0.0), ("inward", 6.0, 0.15), ("outward", 6.0, 0.15), ("inward", 3.0, 0.3), ("outward", 10.0, 0.08),
])  # fmt: skip
def test_drive_force_is_that_of_statics(driven, taper, friction):
    """A wedge that slides on both faces: N = F / (tan(alpha + phi) + tan phi), whatever the bodies' elasticity."""
    made = solve_pack(
        pack(driven=driven, taper_deg=taper, friction=friction, edge_radius_mm=0.0, hammer_inside_mm=60.0), STEEL, PLAIN
    )
    if friction:
        unit = wedge_normal_N(drive_N=1.0, taper_deg=taper, friction_taper=friction, friction_plain=friction)
        assert made.drive_N * unit == pytest.approx(1500.0, rel=1e-9)
    else:
        assert made.drive_N == pytest.approx(1500.0 * math.tan(math.radians(taper)), rel=1e-9)
    faces = list(made.state.faces.values())
    # each body in balance: hammer-side wall, hammer, wedge, wedge-side wall
    on_hammer = faces[0].other_force_N + faces[1].other_force_N + [0.0, made.hold_N]
    on_wedge = faces[1].force_N + faces[2].force_N + [0.0, -made.drive_N if driven == "inward" else made.drive_N]
    assert np.abs(on_hammer).max() < 1e-9 * 1500
    assert np.abs(on_wedge).max() < 1e-9 * 1500
    for face in faces:
        assert np.abs(face.force_N + face.other_force_N).max() < 1e-9 * 1500
        assert np.all(np.abs(face.shear_MPa) <= friction * face.pressure_MPa + 1e-9)


def test_worked_wedge():
    """check_values.csv W01: 60 kN, 6 degrees, friction 0.15 press with 147 kN (computed from the formula of the trade)."""
    made = solve_pack(
        pack(driven="inward", taper_deg=6.0, friction=0.15, edge_radius_mm=0.0, hammer_inside_mm=60.0, clamp_N=146.6e3),
        STEEL, PLAIN,
    )  # fmt: skip
    assert made.drive_N * 100.0 == pytest.approx(60e3, rel=2e-3)


def test_flat_pack_is_symmetric():
    """No error: both flanks bear alike about the middle, peaks at the ends, mean as the force over the area."""
    made = solve_pack(pack(), STEEL, COARSE)
    for name, face in made.state.faces.items():
        found = read_face(face, 1)
        assert found.normal_N == pytest.approx(1500.0, rel=1e-9)
        assert abs(found.couple_Nmm) < 1e-6 * 1500 * 40
        assert np.abs(found.pressure_MPa - found.pressure_MPa[::-1]).max() < 1e-6 * found.peak_MPa, name
        assert found.peak_MPa > 5 * 37.5
    assert abs(made.hold_N) < 1e-6
    assert made.closing_mm > 0
    # a bar of slot and two pieces of wall in plane strain, even pressure, gives way less than the pack with its corners
    assert made.closing_mm > 1500 / 40 * 140 / E1 * 0.9


def test_angle_error():
    """Pressure moves to the side that touches first; the other way round it is the mirror image, on either flank."""
    one = solve_pack(pack(angle_error_mrad=ERROR_MRAD), STEEL, COARSE)
    other = solve_pack(pack(angle_error_mrad=-ERROR_MRAD), STEEL, COARSE)
    turned = solve_pack(pack(angle_error_mrad=ERROR_MRAD, hammer_on="trailing"), STEEL, COARSE)
    read = [read_face(s.state.faces[n], 1) for s, n in ((one, "hammer on leading flank"), (other, "hammer on leading flank"), (turned, "hammer on trailing flank"))]  # fmt: skip
    assert read[0].couple_Nmm < 0  # open at the outer rim: the bore takes more
    assert read[1].couple_Nmm == pytest.approx(-read[0].couple_Nmm, rel=1e-6)
    assert np.allclose(read[1].pressure_MPa, read[0].pressure_MPa[::-1], atol=1e-5 * read[0].peak_MPa)
    assert read[2].couple_Nmm == pytest.approx(read[0].couple_Nmm, rel=1e-9)
    # without friction both flanks get the same couple: the pack has no other support
    opposite = read_face(one.state.faces["wedge on trailing flank"], 1)
    assert opposite.couple_Nmm == pytest.approx(read[0].couple_Nmm, rel=2e-3)


def test_crown_in_a_pack_is_line_contact():
    """Half width and peak within 2 % of line contact where it is narrow against the pack."""
    made = solve_pack(pack(crown_radius_mm=300.0), STEEL, LEVELS[1])
    found = read_face(made.state.faces["hammer on leading flank"], 1)
    line = hertz_line(force_N=150e3, length_mm=100.0, radius_mm=300.0, **ELASTIC)
    assert line.half_width < 2.5
    assert found.peak_MPa == pytest.approx(line.pressure, rel=0.02)
    assert found.half_width_mm == pytest.approx(line.half_width, rel=0.02)


@pytest.fixture(scope="module")
def tilted():
    return solve_wedge_pack(pack(angle_error_mrad=ERROR_MRAD, wall_mm=40.14), STEEL)


def test_pack_against_springs(tilted):
    """Resultant, couple and peak beside rotor/seat.py's pad on springs, and by how much they differ."""
    by = {c.quantity: c for c in tilted.comparisons}
    force = by["force on the hammer's flank, N"]
    assert force.difference == pytest.approx(0.0, abs=1e-9)
    couple = by["couple on the hammer's flank, N mm"]
    # springs of the trade: p = k (d - theta y), k = E / depth, all in contact
    stiffness = E / (60 + 2 * 40.14)
    assert couple.value == pytest.approx(-stiffness * 1e-3 * ERROR_MRAD * 40.14**3 / 12 * 100, rel=1e-9)
    assert 0.0 < couple.difference < 0.12
    peak = by["peak pressure on the hammer's flank, MPa"]
    seat = Seat(kind="flat", length_mm=40.14, width_mm=100.0, depth_mm=60 + 2 * 40.14, youngs_modulus_MPa=E)
    assert peak.value == seat_pressure(seat, force_N=150e3, angle_deg=math.degrees(1e-3 * ERROR_MRAD)).peak_MPa
    assert peak.difference > 5  # an elastic end bears far more than a spring
    depth = next(f.value for f in tilted.figures if f.what.startswith("depth of springs"))
    assert 100 < depth < 140


def test_a_large_angle_against_springs():
    """Far beyond lift-off the couple is mostly statics: springs and contact solution agree within a tenth."""
    made = solve_wedge_pack(pack(angle_error_mrad=4.0, edge_radius_mm=0.0), STEEL)
    couple = next(c for c in made.comparisons if c.quantity.startswith("couple"))
    assert 0 < couple.difference < 0.1
    face = made.face("leading")
    assert float(face.bears) < 0.6 * 40
    # where nothing bears the angle is shared out among the three faces
    gap = 4.0 * (40 - float(face.bears))
    openings = [float(f.opening) for f in made.faces]
    assert min(openings) > 0.05 * gap
    assert 0.4 * gap < sum(openings) < 1.1 * gap
    assert any("stands open" in w for w in made.warnings)
    assert any("pulls at one rim" in w for w in made.warnings)


def test_pack_result(tilted):
    assert tilted.verdict is Verdict.SETTLED
    leading, trailing = tilted.face("leading"), tilted.face("trailing")
    assert tilted.faces[1].flank is None
    for face in tilted.faces:
        assert face.force_N == pytest.approx(150e3, rel=1e-9)
        assert face.peak.band < 0.1 * face.peak.value
        assert face.couple.band < 0.01 * 150e3 * 40 / 6
        assert face.shear_N == pytest.approx(0, abs=1e-6)
        assert face.stick_share is None
        assert float(face.near[0]) > face.mean_MPa > 0.8 * float(face.near[1])
    assert leading.mean_MPa == pytest.approx(150e3 / (100 * 40.14))
    assert leading.linear.value == pytest.approx(6 * leading.couple.value / (100 * 40.14**2))
    assert trailing.couple.value == pytest.approx(leading.couple.value, rel=5e-3)
    assert tilted.notes
    assert all(f.unit and f.formula and math.isfinite(f.value) for f in tilted.figures)
    assert any("was not checked" in w for w in tilted.warnings)
    with pytest.raises(InputFault, match="leading"):
        tilted.face("free_end")


RING = fd.Ring(
    outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows="alternate",
    cutout=fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=8),
)  # fmt: skip


def test_patches_carry_the_clamp(tilted):
    """As loads of the ring: nodal forces of the unit cases times their factors are the clamp force and its couple."""
    loads = clamp_patches(tilted, RING)
    assert [load.flank for load in loads] == ["leading", "trailing"]
    mesh = ring_mesh(RING, Fineness(order=4))
    middle = 0.5 * (math.sqrt(380**2 - 30**2) + math.sqrt(340**2 - 30**2))
    for load in loads:
        assert load.slot == "all"
        assert load.extent_mm == 100.0
        total, couple = 0.0, 0.0
        for name, factor in factors(RING, load).steady.items():
            force = factor * flank_case(RING, mesh, STEEL, name).pieces[0].force
            # the quarter cell holds half of a flank
            total += 2 * force[:, 1].sum()
            couple += 2 * (force[:, 1] * (mesh.nodes[:, 0] - middle)).sum()
        face = tilted.face(load.flank)
        assert total == pytest.approx(150e3, rel=1e-5)
        assert couple == pytest.approx(face.couple.value, rel=1e-5)
    assert loads[0].pressure_MPa == pytest.approx(150e3 / (100 - 100 / 6) / flank_height_mm(RING, "leading"), rel=1e-9)


def test_patches_of_one_slot_with_friction():
    change = {"driven": "inward", "taper_deg": 6.0, "friction": 0.15, "edge_radius_mm": 0.0, "hammer_inside_mm": 60.0}
    p = pack(**change)
    coarse, fine = (solve_pack(p, STEEL, level) for level in (PLAIN, COARSE))
    faces = pack_faces(p, coarse, fine, 0.1)
    made = solve_wedge_pack(p, STEEL)
    assert made.drive_N == pytest.approx(100 * fine.drive_N, rel=1e-9)
    # the wedge drags its flank inward with mu N
    assert made.face("trailing").shear_N == pytest.approx(-0.15 * 150e3, rel=1e-9)
    assert faces[2].shear_N == pytest.approx(-0.15 * 150e3, rel=1e-9)
    loads = clamp_patches(made, RING, slot=1, extent_mm=90.0, taper_mm=10.0)
    kinds = [(load.kind, load.flank, load.slot) for load in loads]
    assert ("flank_shear", "trailing", 1) in kinds
    shear = next(load for load in loads if load.kind == "flank_shear" and load.flank == "trailing")
    assert shear.direction == "wall"
    ((case, factor),) = factors(RING, shear).steady.items()
    force = flank_case(RING, ring_mesh(RING, Fineness(order=4)), STEEL, case).pieces[0].force
    assert 2 * factor * force[:, 0].sum() == pytest.approx(-0.15 * 150e3, rel=1e-3)
    with pytest.raises(InputFault, match="slot"):
        clamp_patches(made, RING, slot="first")
    with pytest.raises(InputFault, match="wall_mm"):
        clamp_patches(made, fd.Ring(outer_diameter_mm=760, wall_mm=60, pitch_mm=180, slots_around=2, rows="alternate", cutout=RING.cutout))  # fmt: skip
    with pytest.raises(InputFault, match="must not leave the flat flank"):
        clamp_patches(made, RING, extent_mm=110.0)


def test_sharp_ends_have_no_peak():
    made = solve_wedge_pack(pack(edge_radius_mm=0.0), STEEL)
    assert made.verdict is Verdict.UNBOUNDED
    assert "edge_radius_mm" in made.message
    peak = made.face("leading").peak
    assert peak.value is None
    with pytest.raises(NoNumber):
        float(peak)
    assert float(made.face("leading").near[0]) > 1.1 * made.face("leading").mean_MPa
    # ends that are flush with each other press on nothing that goes on
    flush = solve_wedge_pack(
        pack(edge_radius_mm=0.0, wedge_height_mm=40.0, hammer_inside_mm=0.0, hammer_outside_mm=0.0), STEEL
    )
    assert flush.verdict is Verdict.SETTLED
    assert float(flush.face("leading").peak) < 60


def test_softer_walls_take_less_couple():
    """A piece of wall that turns on a spring levels the pressure; on a free one the clamp force goes through its hinge."""
    stiff, soft, free = (
        read_face(solve_pack(pack(angle_error_mrad=ERROR_MRAD, edge_radius_mm=0.0, turn_stiffness_Nmm_rad=k), STEEL, PLAIN).state.faces["hammer on leading flank"], 1).couple_Nmm
        for k in (None, 2e9, 1e3)
    )  # fmt: skip
    assert stiff < soft < free
    assert abs(free) < 1e-3 * abs(stiff)
    # a spring against the push takes nothing from the couple, and gives way by N / k on either side
    closing = [
        solve_pack(pack(edge_radius_mm=0.0, push_stiffness_N_mm=k), STEEL, PLAIN).closing_mm for k in (None, 1e7)
    ]
    assert closing[1] - closing[0] == pytest.approx(2 * 150e3 / 1e7, rel=1e-6)


def test_yield_is_told():
    made = solve_wedge_pack(pack(edge_radius_mm=0.0, clamp_N=1200e3), fd.steel("S355", 40))
    assert any("above 0.7 of yield" in w for w in made.warnings)
    assert any("a sharp end yields" in w for w in made.warnings)


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("slot_mm", {"slot_mm": -1.0}),
        ("hammer_mm", {"hammer_mm": 60.0}),
        ("driven", {"driven": "sideways"}),
        ("taper_deg", {"taper_deg": 5.0}),
        ("taper_deg", {"driven": "inward"}),
        ("taper_deg", {"driven": "inward", "taper_deg": 44.0, "hammer_mm": 54.0}),
        ("hammer_inside_mm", {"driven": "inward", "taper_deg": 5.0, "friction": 0.1}),
        ("friction", {"friction": 15.0}),
        ("angle_error_mrad", {"angle_error_mrad": 0.02 / 60 * 1e5}),
        ("crown_radius_mm", {"crown_radius_mm": 50.0}),
        ("crown_middle_mm", {"crown_radius_mm": 500.0, "crown_middle_mm": 30.0}),
        ("edge_radius_mm", {"edge_radius_mm": 5.0}),
        ("wedge_middle_mm", {"wedge_middle_mm": 40.0}),
        ("wedge_height_mm", {"wedge_height_mm": 140.0}),
        ("hammer_on", {"hammer_on": "both"}),
        ("turn_stiffness_Nmm_rad", {"turn_stiffness_Nmm_rad": 0.0}),
    ],
)
def test_refused_packs(field, change):
    with pytest.raises(InputFault, match=field) as refused:
        pack(**change)
    assert all(f.way_out or "must be" in f.allowed for f in refused.value.faults)


def test_all_faults_at_once():
    with pytest.raises(InputFault) as refused:
        pack(slot_mm=0.0, friction=-1.0, clamp_N=float("nan"))
    assert {f.field for f in refused.value.faults} >= {"slot_mm", "friction", "clamp_N"}


def test_refused_models():
    contact, pressed = two_caps(100.0, math.inf, 1.5, 4)
    with pytest.raises(InputFault, match="driven"):
        contact.solve(pressed(10.0), {"face": 1.0})
    with pytest.raises(InputFault, match="forces"):
        contact.solve({0: np.zeros((3, 2))})
    bodies = [e.body for e in contact.bodies]
    with pytest.raises(InputFault, match="second"):
        Contact(bodies, [Interface("face", (0, "face"), (2, "face"))])
    with pytest.raises(InputFault, match="curve"):
        Contact(bodies, [Interface("face", (0, "front"), (1, "face"))])
    with pytest.raises(InputFault, match=r"no overlap"):
        Contact(bodies, [Interface("face", (0, "back"), (1, "face"))])
    with pytest.raises(InputFault, match="touches nothing"):
        Contact([*bodies, bodies[0]], [Interface("face", (0, "face"), (1, "face"))])
    with pytest.raises(InputFault, match="drives"):
        Contact(bodies, [Interface("face", (0, "face"), (1, "face"))], [Drive("side")])
    with pytest.raises(InputFault, match="friction"):
        Interface("face", (0, "face"), (1, "face"), friction=-0.1)
    with pytest.raises(InputFault, match="plane"):
        Body("one", bodies[0].section, STEEL, plane="strains")


def test_table_of_conforming_values():
    """The rows above are those of the conforming solution that rotor/conforming.py gives."""
    text = io.StringIO("\n".join(",".join(map(str, row)) for row in CONFORMING))
    for angle, peak, number in csv.reader(text):
        load = E1 * 2e-3 / float(number)
        found = conforming_contact(line_load_N_mm=load, radius_mm=20.0, groove_radius_mm=20.002, **ELASTIC)
        assert found.half_angle_deg == pytest.approx(float(angle), rel=1e-4)
        assert found.peak_MPa * 20 / load == pytest.approx(float(peak), rel=1e-4)


@pytest.mark.slow
@pytest.mark.parametrize(
    "change",
    [
        {"angle_error_mrad": 2.0, "edge_radius_mm": 0.3},
        {"driven": "inward", "taper_deg": 6.0, "friction": 0.15, "wedge_height_mm": 50.0, "hammer_inside_mm": 300.0},
        {"crown_radius_mm": 1500.0, "angle_error_mrad": 1.0, "wedge_middle_mm": 3.0},
    ],
)
def test_bands_hold_against_a_finer_mesh(change):
    p = pack(**change)
    made = [solve_pack(p, STEEL, level) for level in LEVELS]
    rough, fine = pack_faces(p, *made[:2], 0.1), pack_faces(p, *made[1:], 0.1)
    for one, other in zip(rough, fine, strict=True):
        pairs = zip((one.peak, one.couple, one.bears, one.opening, *one.near), (other.peak, other.couple, other.bears, other.opening, *other.near), strict=True)  # fmt: skip
        for mine, better in pairs:
            assert abs(mine.value - better.value) <= mine.band, (one.name, mine.definition)
        assert other.peak.band < one.peak.band
