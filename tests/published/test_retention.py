"""Worked values of wedges, seats, bars and releases, row by row; the rows on bolts are in test_bolts.

Each row of data/retention.csv carries its inputs, expected value, tolerance, source and provenance; here stands what of
ours answers it. Inputs are in the row's units.
"""

import csv
import json
import math
from pathlib import Path

import pytest

from femdrum.errors import OutsideRange
from femdrum.handbook.closed_forms_bars import line_contact
from femdrum.model.clamp import Seat
from femdrum.provenance import Kind
from femdrum.rotor import bar_loads, bolt_table, conforming, preload, seat
from femdrum.rotor.bar_loads import (
    accident_loads,
    bar_bending_MPa,
    bar_reactions,
    centrifugal_loads,
    clamp_for_friction_N,
    edge_pressure_MPa,
    far_slot_reaction_N,
    near_slot_reaction_N,
)
from femdrum.rotor.release import blow_speed_m_s, release_energy_J
from femdrum.rotor.seat import (
    YIELD_MISES,
    YIELD_TRESCA,
    chamfer_to_clear_mm,
    contact_length_mm,
    edge_pressure_ratio,
    hertz_line,
    lift_off_mrad,
    locked_tilt_ratio,
    projected_pressure_MPa,
    seat_pressure,
)
from femdrum.rotor.wedge import lifting_force_N, locking_angle_deg, pull_out_N, wedge_normal_N

with (Path(__file__).parent / "data" / "retention.csv").open(encoding="utf-8") as lines:
    ROWS = list(csv.DictReader(line for line in lines if not line.startswith("#")))

# Young's modulus that has the row's contact modulus, equal steels
STEEL = {"youngs_modulus_MPa": 206e3, "poissons_ratio": 0.3}


def clamp(F, alpha, mu1, mu2):
    return wedge_normal_N(drive_N=F, taper_deg=alpha, friction_taper=mu1, friction_plain=mu2)


def pull(g):
    force = clamp(g["F"], g["alpha_deg"], g["mu"], g["mu"])
    return pull_out_N(normal_N=force, taper_deg=g["alpha_deg"], friction_taper=g["mu"], friction_plain=g["mu"])


def crowned(g):
    E = 2 * 0.91 * g["Estar"]
    return hertz_line(force_N=g["F"], length_mm=g["L"], radius_mm=g["R"], youngs_modulus_MPa=E, poissons_ratio=0.3)


def moment(g):
    return g["F"] * (g["overhang_mm"] + 0.5 * g["wall_mm"])


OURS = {
    "W01": lambda g: clamp(g["F"], g["alpha_deg"], g["mu1"], g["mu2"]),
    "W02": pull,
    "W03": lambda g: locking_angle_deg(friction_taper=g["mu1"], friction_plain=g["mu2"]),
    "W04": lambda g: lifting_force_N(
        load_N=g["W"], taper_deg=g["alpha_deg"], friction_taper=g["mu"], friction_plain=g["mu"], friction_guide=g["mu"]
    ),
    "W05": lambda g: clamp(1, g["alpha_deg"], 0.12, 0.12) / clamp(1, g["alpha_deg"], 0.20, 0.20),
    "W19": lambda g: crowned(g).pressure,
    "W20": lambda g: (
        line_contact(line_load=g["F"] / g["L"], radius_mm=g["R1"], other_radius_mm=-g["R2"], **STEEL).pressure
    ),
    "W21": lambda g: projected_pressure_MPa(force_N=g["F"], diameter_mm=g["d"], length_mm=g["L"]),
    "W22": lambda g: lift_off_mrad(
        force_N=g["F"], length_mm=g["L"], width_mm=g["w"], depth_mm=g["depth"], youngs_modulus_MPa=g["E"]
    ),
    "W23": lambda g: contact_length_mm(length_mm=60, ratio=g["theta_over_theta0"]),
    "W24": lambda g: edge_pressure_ratio(ratio=g["theta_over_theta0"]),
    "W25": lambda g: clamp_for_friction_N(force_N=g["F"], safety=g["S"], faces=g["faces"], friction=g["mu"]),
    "W26": lambda g: clamp_for_friction_N(force_N=g["F"], safety=g["S"], faces=g["faces"], friction=g["mu"]),
    "W27": lambda g: near_slot_reaction_N(
        force_N=g["F"], lever_mm=1000 * g["overhang"], spacing_mm=1000 * g["slot_spacing"]
    ),
    "W28": lambda g: edge_pressure_MPa(
        reaction_N=g["F"], moment_Nmm=moment(g), width_mm=g["width_mm"], wall_mm=g["wall_mm"]
    ),
    "W29": lambda g: bar_bending_MPa(force_N=g["F"], overhang_mm=g["a_mm"], width_mm=g["b"], depth_mm=g["h"]),
    "W31": lambda g: locked_tilt_ratio(length_mm=g["L"], radius_mm=g["R"], friction=g["mu"]),
    "W32": lambda g: YIELD_TRESCA,
    "W34": lambda g: release_energy_J(
        pull_out_N=g["F_out"], normal_N=g["N"], taper_deg=g["alpha_deg"], stiffness_N_mm=g["k"]
    ),
    "K08": lambda g: chamfer_to_clear_mm(slot_radius_mm=g["r"], side_gap_mm=g["g"]),
}
ON_BOLTS = {f"W{n:02d}" for n in (*range(6, 19), 30, 33)}
HERE = [row for row in ROWS if row["id"] not in ON_BOLTS]


def given(name):
    return json.loads(next(row["inputs_json"] for row in ROWS if row["id"] == name))


@pytest.mark.parametrize("row", HERE, ids=lambda r: f"{r['id']} {r['quantity']}")
def test_worked_value(row):
    """Expected value and tolerance of the row; its provenance stands beside them."""
    assert row["provenance"]
    tolerance = float(row["tolerance"].removeprefix("rel:"))
    assert OURS[row["id"]](json.loads(row["inputs_json"])) == pytest.approx(float(row["expected"]), rel=tolerance)


def test_every_row_is_asked():
    assert set(OURS) == {row["id"] for row in HERE}
    assert {row["id"] for row in ROWS} == {f"W{n:02d}" for n in range(1, 35)} | {"K08"}


def test_wedge_that_lifts_a_block():
    """W 20 kN, taper 20, friction angle 15 on three faces: P = 23.84 kN = W tan(20 + 2 x 15), reaction 30.05 kN.

    Published: example 5.9 of an open collection of solved problems in statics; seen in a secondary reproduction.
    """
    mu = math.tan(math.radians(15))
    push = lifting_force_N(load_N=20e3, taper_deg=20, friction_taper=mu, friction_plain=mu, friction_guide=mu)
    assert push == pytest.approx(23.84e3, rel=3e-4)
    assert push == pytest.approx(20e3 * math.tan(math.radians(50)), rel=1e-12)
    # the block alone: R2 sin(alpha + phi) = R3 cos(phi), R2 cos(alpha + phi) = W + R3 sin(phi)
    reaction = 20e3 * math.sin(math.radians(75)) / math.sin(math.radians(140))
    assert reaction == pytest.approx(30.05e3, rel=2e-4)
    assert push == pytest.approx(reaction * math.sin(math.radians(50)) / math.cos(math.radians(15)), rel=1e-12)


def test_locking_while_shaken():
    """W03's note: with friction 0.05 to 0.08 the limit falls to 5.7 to 9.1 degrees. Common practice, no source."""
    for mu, limit in ((0.05, 5.7), (0.08, 9.1)):
        assert locking_angle_deg(friction_taper=mu, friction_plain=mu) == pytest.approx(limit, abs=0.06)


def test_two_definitions_differ():
    """W04's note: 0.409 of the normal force on the plain face against 0.426 of the outer load. Computed."""
    assert 1 / clamp(1, 6, 0.15, 0.15) == pytest.approx(0.409, abs=5e-4)


def test_line_contact_of_the_crown():
    """W19's note: half width 1.936 mm. Computed."""
    assert crowned(given("W19")).half_width == pytest.approx(1.936, rel=3e-4)


def test_line_contact_is_refused_in_the_groove():
    """W20's note: 12.26 mm wide on a radius of 20: outside of the formula. Ours refuses, and solves the groove."""
    g = given("W20")
    size = {"radius_mm": g["R1"], "groove_radius_mm": g["R2"], **STEEL}
    with pytest.raises(
        OutsideRange, match=r"radius_mm = 20: line contact would be 12\.26 mm wide .* conforming_contact"
    ):
        hertz_line(force_N=g["F"], length_mm=g["L"], **size)
    solved = conforming.conforming_contact(line_load_N_mm=g["F"] / g["L"], **size)
    assert solved.hertz_MPa == pytest.approx(86.5, rel=2e-3)
    assert solved.hertz_half_width_mm == pytest.approx(12.26, rel=1e-3)
    assert solved.peak_MPa > 1.1 * solved.hertz_MPa


def test_flat_seat_of_the_notes():
    """W22, W23: 0.0232 degrees, 24 µm over 60 mm; at five times that 45 % bear and the edge takes 373 MPa. Computed."""
    flat = Seat(kind="flat", length_mm=60, width_mm=20, depth_mm=30)
    lift = seat_pressure(flat, force_N=100e3)
    assert lift.lift_off_mrad == pytest.approx(0.4045, rel=2e-4)
    assert math.degrees(1e-3 * lift.lift_off_mrad) == pytest.approx(0.0232, rel=2e-3)
    assert 60 * lift.lift_off_mrad == pytest.approx(24, rel=0.02)
    five = seat_pressure(flat, force_N=100e3, angle_deg=math.degrees(5e-3 * lift.lift_off_mrad))
    assert five.contact_share == pytest.approx(0.447, rel=1e-3)
    assert five.contact_length_mm == pytest.approx(26.83, rel=1e-3)
    assert five.peak_MPa == pytest.approx(373, rel=2e-3)
    assert five.peak_ratio == pytest.approx(4.472, rel=1e-3)


def test_self_aligning_seat_of_the_notes():
    """R 20 on L 60 at 0.12 aligns; with dirt (0.3) R 40 on L 60 does not. Computed."""
    pad = {"kind": "cylindrical", "length_mm": 60, "width_mm": 60, "depth_mm": 30, "friction_low": 0.1}
    clean = Seat(**pad, radius_mm=20, groove_radius_mm=20.05, friction_high=0.12)
    dirty = Seat(**pad, radius_mm=40, groove_radius_mm=40.05, friction_high=0.3)
    good, bad = (seat_pressure(s, force_N=100e3, angle_deg=0.5) for s in (clean, dirty))
    assert good.aligns
    assert good.tilt_mrad == pytest.approx(0.24 * good.lift_off_mrad, rel=1e-12)
    assert good.contact_share == 1
    assert not bad.aligns
    assert any("locks the half round" in w for w in bad.warnings)
    assert bad.contact_share < 1


def test_two_walls_against_one():
    """W27's and W28's notes: the far slot takes 13.2 kN; 47 MPa on two walls, 792 on one. Computed."""
    g = given("W28")
    far = far_slot_reaction_N(force_N=g["F"], lever_mm=100, spacing_mm=760)
    assert far == pytest.approx(13.2e3, rel=5e-3)
    assert (g["F"] + far) / (60 * 40) == pytest.approx(47, rel=5e-3)
    one = bar_reactions(force_N=g["F"], overhang_mm=100, wall_mm=40, width_mm=60, walls="one")
    assert one.edge_MPa == pytest.approx(791.7, rel=1e-3)


def test_accident_asks_for_460_kN():
    """L02, L03, W25, W26: 1.64 kN of a whole bar, 55.3 kN of a half. Elementary."""
    half = accident_loads("bar broken", half_mass_kg=12, half_radius_mm=420, speed_rpm=1000)[0]
    assert half.accident
    assert half.tangential_N == pytest.approx(55269, rel=1e-3)
    whole = centrifugal_loads("running", bar_mass_kg=25, offset_mm=6, speed_rpm=1000)
    assert sum(load.tangential_N for load in whole) == pytest.approx(1644.9, rel=1e-3)
    needed = clamp_for_friction_N(force_N=half.tangential_N, safety=2, faces=2, friction=0.12)
    assert needed == pytest.approx(460.6e3, rel=1e-3)


def test_blow_that_releases():
    """W34's note: a 2 kg hammer at 4.5 m/s. Computed."""
    assert blow_speed_m_s(energy_J=OURS["W34"](given("W34")), mass_kg=2) == pytest.approx(4.5, rel=0.01)


def test_chamfers_of_a_slot_corner():
    """r 10, g 1: 4.64 mm with a gap on both faces, 9.0 where the bar is flush on its loaded one. Computed."""
    assert chamfer_to_clear_mm(slot_radius_mm=10, side_gap_mm=1, flush=True) == 9
    assert chamfer_to_clear_mm(slot_radius_mm=10, side_gap_mm=0) == 10
    # the chamfer's end lies on the corner's arc
    c = chamfer_to_clear_mm(slot_radius_mm=10, side_gap_mm=1)
    assert math.hypot(10 - 1, 10 - 1 - c) == pytest.approx(10, rel=1e-12)
    assert chamfer_to_clear_mm(slot_radius_mm=10, side_gap_mm=10 * (1 - math.sqrt(0.5)) + 1e-9) == pytest.approx(
        0, abs=1e-6
    )
    assert chamfer_to_clear_mm(slot_radius_mm=10, side_gap_mm=4) == 0


def test_what_is_from_memory_says_so():
    """Values recalled and not confirmed carry that kind."""
    recalled = (
        bolt_table.EMBEDDING, bolt_table.HEADS, bolt_table.SCATTER["impact driver"].provenance, conforming.CONFORMING,
        seat.FIRST_YIELD, preload.EMBED, preload.LENGTHS, *(f.provenance for f in bolt_table.FRICTION.values()),
    )  # fmt: skip
    assert {p.kind for p in recalled} == {Kind.MEMORY}
    assert all("from memory" in str(p) for p in recalled)
    assert bolt_table.SCATTER["torque, friction estimated"].provenance.kind is Kind.STANDARD
    assert bolt_table.CLASSES.kind is Kind.STANDARD
    assert bar_loads.STATICS.kind is Kind.COMPUTED
    assert YIELD_MISES == 1.79
