"""Factors on unit cases: resultants in balance with the load, signs, linearity, turning loads, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

import femdrum as fd
from femdrum.assess.nominal import nominal
from femdrum.errors import InputFault
from femdrum.loads.factors import factors
from femdrum.loads.result import Factors
from femdrum.model.flank import Patch, flank_height_mm
from femdrum.model.load import LOADS
from femdrum.model.machine import RotorPart

STEEL = fd.steel("S355")
SLOT = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=8)
RING = fd.Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows="aligned", cutout=SLOT)
BAR = fd.Bar(mass_kg=8, tip_mass_kg=8.5, length_mm=1000, width_mm=90, depth_mm=59, path="both")
MACHINE = fd.Machine(
    power_kW=550,
    speed_rpm=1000,
    inertia_kg_m2=250,
    rotor_mass_kg=3000,
    tip_diameter_mm=1000,
    tips_total=48,
    bearing_span_mm=2200,
    sheave_diameter_mm=600,
    sheave_overhang_mm=250,
    belt_direction_deg=90,
    bar=BAR,
)
OMEGA = 2 * math.pi * 1000 / 60


def with_bar(**changes: object) -> fd.Machine:
    return replace(MACHINE, bar=replace(BAR, **changes))


def on_drum(made: Factors, ring: fd.Ring = RING) -> tuple[float, float, float]:
    """Force along X and Y (N) and torque about the axis (N mm) of all patches of a ring: the walls' forces in space."""
    fx = fy = torque = 0.0
    for case, factor in made.steady.items():
        if not case.startswith("flank:"):
            continue
        patch = Patch.from_name(case)
        assert patch.slot is not None
        angle = 2 * math.pi * patch.slot / ring.slots_around
        outward, around = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))
        force = factor * patch.force_N(ring)
        if patch.traction == "shear_wall":
            fx, fy = fx + force * outward[0], fy + force * outward[1]
            continue
        sense = 1.0 if patch.flank == "leading" else -1.0  # a push on the leading flank drives the drum on
        fx, fy = fx + sense * force * around[0], fy + sense * force * around[1]
        torque += sense * (force * ring.mid_radius_mm + factor * patch.moment_Nmm(ring))
    return fx, fy, torque


@pytest.mark.parametrize("slot", [0, 1])
@pytest.mark.parametrize(("walls", "clearance"), [("two", 0.0), ("two", 0.5), ("near", 0.0)])
@pytest.mark.parametrize("force_kN", [100.0, -40.0])
def test_the_walls_hold_a_tip_force_exactly(slot: int, walls: str, force_kN: float, clearance: float) -> None:
    stiffness = 2e5 if clearance else None
    load = fd.TipForce(
        force_kN=force_kN, walls=walls, slot=slot, clearance_mm=clearance, turning_stiffness_Nm_rad=stiffness
    )
    fx, fy, torque = on_drum(factors(RING, load, MACHINE, STEEL))
    # the force holds the drum back: at slot 0, at +X, it points to -Y
    assert fx == pytest.approx(0, abs=1e-6)
    assert fy == pytest.approx(-1e3 * force_kN * (1 if slot == 0 else -1), rel=1e-12)
    assert torque == pytest.approx(-1e3 * force_kN * 500, rel=1e-12)


def test_a_tip_force_with_an_edge_break_keeps_its_lever() -> None:
    ring = replace(RING, edge_break_mm=3)
    load = fd.TipForce(force_kN=100, walls="near", overhang_mm=120)
    assert on_drum(factors(ring, load), ring)[2] == pytest.approx(-1e5 * 500, rel=1e-12)


def test_the_near_wall_alone_sees_the_known_edge_pressure() -> None:
    # 100 kN, 100 mm above a wall of 40 mm, 60 mm wide: 41.7 + 750 MPa, computed for this project
    load = fd.TipForce(force_kN=100, walls="near", overhang_mm=100, extent_mm=72)
    made = factors(RING, load)
    pressure = sum(made.steady.values())
    # 72 mm less one taper of 12 mm is 60 mm
    height = flank_height_mm(RING, "trailing")  # 40.14 mm beside the slot's middle plane
    lever = 100 + 0.5 * 40
    assert pressure == pytest.approx(1e5 / (60 * height) + 6e5 * lever / (60 * height**2), rel=1e-12)
    assert pressure == pytest.approx(791.7, rel=0.01)
    assert any("would have to pull" in text for text in made.warnings)


def test_a_bar_held_at_one_end_puts_its_net_force_on_that_slot() -> None:
    made = factors(RING, fd.ThroughBar(slot=1), with_bar(path="one", cg_offset_mm=6), STEEL)
    fx, fy, torque = on_drum(made)
    assert fx == pytest.approx(-1644.9, rel=1e-4)  # 25 kg, 6 mm, 1000 a minute
    assert abs(fy) < 1e-9
    assert torque == 0
    assert made.steady["rotation"] == pytest.approx(OMEGA**2)
    assert made.strut is None


def test_a_bar_held_at_both_ends_is_a_strut_and_shares_its_net_force() -> None:
    made = factors(RING, fd.ThroughBar(), with_bar(cg_offset_mm=6, clamp_force_kN=147, friction=0.12), STEEL)
    assert on_drum(made)[0] == pytest.approx(1644.9, rel=1e-4)
    assert made.strut is not None
    assert made.strut.slot == 0
    assert made.strut.stiffness_N_mm == pytest.approx(206_000 * 90 * 59 / 720)
    assert made.strut.friction_capacity_N == pytest.approx(2 * 0.12 * 147_000)
    mu = 8 / 1.0  # kg over m
    outside = 0.5 * mu * (0.5**2 - 0.36**2) * OMEGA**2 + 8.5 * 0.5 * OMEGA**2
    assert made.strut.pull_N == pytest.approx(outside)
    assert "strut:0" in made.cases
    assert made.warnings == ()
    assert any("not checked" in text for text in factors(RING, fd.ThroughBar(), MACHINE, STEEL).warnings)


def test_two_halves_hang_on_every_slot_with_all_their_pull() -> None:
    made = factors(RING, fd.ThroughBar(), with_bar(path="halves"), STEEL)
    patches = {Patch.from_name(case): f for case, f in made.steady.items() if case.startswith("flank:")}
    assert {p.slot for p in patches} == {None}
    pull = sum(f * p.force_N(RING) for p, f in patches.items())
    assert pull == pytest.approx(55_269.0 * 12.5 / 12, rel=2e-5)  # 12 kg at 0.42 m pull with 55,269 N
    assert any("positive stop" in text for text in made.warnings)


def test_halves_weigh_what_they_weigh() -> None:
    assert BAR.half_mass_kg == 12.5
    assert BAR.half_radius_mm == pytest.approx(420)


@pytest.mark.parametrize("where", [0.0, 37.0, 90.0, -120.0])
@pytest.mark.parametrize("kind", [fd.Bending, fd.Transverse])
def test_a_load_that_stands_still_is_met_as_a_fixed_one_at_every_angle(kind: type, where: float) -> None:
    size = {"moment_Nm": 55.0} if kind is fd.Bending else {"force_kN": 3.0}
    still = factors(RING, kind(**size, direction_deg=where, rotating=True))
    for turned in (0.0, 10.0, 90.0, 200.0):
        c, s = math.cos(math.radians(turned)), math.sin(math.radians(turned))
        fixed = factors(RING, kind(**size, direction_deg=where - turned)).steady
        for case in {*fixed, *still.cosine, *still.sine}:
            met = still.steady.get(case, 0) + c * still.cosine.get(case, 0) + s * still.sine.get(case, 0)
            assert met == pytest.approx(fixed.get(case, 0), rel=1e-9, abs=1e-6)


def test_weight_belt_and_unbalance_bend_as_known() -> None:
    weight = factors(RING, fd.SelfWeight(), MACHINE, STEEL)
    assert weight.cosine == {"bending_x": pytest.approx(3000 * 9.80665 * 2200 / 8)}
    assert weight.sine == {"bending_y": pytest.approx(-3000 * 9.80665 * 2200 / 8)}
    # the belts pull sideways, 90 degrees from straight down: the far side of the drum is stretched
    belt = factors(RING, fd.BeltPull(shaft_factor=1.0), MACHINE, STEEL)
    assert belt.cosine["bending_y"] == pytest.approx(-17_507 * 250, rel=1e-4)
    assert belt.cosine["transverse_y"] == pytest.approx(17_507 * 250 / 2200, rel=1e-4)
    half = factors(RING, fd.BeltPull(shaft_factor=1.0, distance_mm=1100), MACHINE, STEEL)
    assert half.cosine["bending_y"] == pytest.approx(0.5 * belt.cosine["bending_y"])
    out = factors(RING, fd.Unbalance(grade_mm_s=16, direction_deg=90), MACHINE, STEEL)
    assert out.steady == {"bending_y": pytest.approx(5026.5 * 2200 / 4, rel=1e-4)}


def test_drive_and_jam_twist_one_way_and_a_reversal_the_other() -> None:
    drive = factors(RING, fd.DriveTorque(), MACHINE, STEEL).steady["torsion"]
    jam = factors(RING, fd.Jam(stop_angle_deg=90), MACHINE, STEEL)
    back = factors(RING, fd.Reversal(speed_rpm=1000, stop_angle_deg=90), MACHINE, STEEL)
    assert drive == pytest.approx(-5252.1e3, rel=1e-5)
    assert jam.steady["torsion"] == pytest.approx(-872_700e3, rel=1e-4)
    assert back.steady["torsion"] == -jam.steady["torsion"]
    half = factors(RING, fd.Jam(stop_angle_deg=90, inertia_share=0.5), MACHINE, STEEL)
    assert half.steady["torsion"] == pytest.approx(0.5 * jam.steady["torsion"])


def test_a_jam_at_a_place_spreads_its_torque_by_the_inertia_passed() -> None:
    parts = (
        RotorPart(name="drive end", inertia_kg_m2=50, from_mm=0, to_mm=0),
        RotorPart(name="shell", inertia_kg_m2=200, from_mm=0, to_mm=2000),
    )
    machine = replace(MACHINE, rotor_parts=parts)
    whole = factors(RING, fd.Jam(stop_angle_deg=90), MACHINE, STEEL).steady["torsion"]

    def torque(row_mm: float, jam_mm: float) -> float:
        load = fd.Jam(stop_angle_deg=90, row_mm=row_mm, jam_mm=jam_mm)
        return factors(RING, load, machine, STEEL).steady["torsion"] / whole

    assert torque(1000, 1500) == pytest.approx((50 + 100) / 250)  # before the jam: what lies before the row pushes on
    assert torque(1000, 500) == pytest.approx(-100 / 250)  # beyond the jam: what lies after it pulls on
    with pytest.raises(InputFault, match="no inertia lies beyond it"):
        torque(2000, 1000)
    with pytest.raises(InputFault, match="rotor_parts"):
        factors(RING, fd.Jam(stop_angle_deg=90, row_mm=1, jam_mm=2), MACHINE, STEEL)
    with pytest.raises(InputFault, match="stands beside inertia_share"):
        fd.Jam(stop_angle_deg=90, inertia_share=0.5, row_mm=1, jam_mm=2)


def test_a_jam_is_capped_by_a_limit_by_the_bar_but_not_by_the_belts() -> None:
    def torque(**changes: object) -> float:
        return -1e-3 * factors(RING, fd.Jam(stop_angle_deg=90), replace(MACHINE, **changes), STEEL).steady["torsion"]

    belts = fd.Limit(name="belts", torque_Nm=13_000, carries="drive")
    clutch = fd.Limit(name="brake", torque_Nm=13_000, carries="all")
    tip = fd.Limit(name="pin", tip_force_kN=400)
    assert torque(limits=(belts,)) == pytest.approx(872_700, rel=1e-4)
    assert torque(limits=(belts, clutch)) == pytest.approx(13_000)
    assert torque(limits=(belts, tip)) == pytest.approx(400 * 500)
    plastic = 1.5 * 700 * 90 * 59**2 / (6 * 120)
    assert torque(bar=replace(BAR, yield_MPa=700)) == pytest.approx(plastic * 0.5)


def test_overspeed_grows_with_the_square_and_carries_what_hangs() -> None:
    made = factors(RING, fd.Overspeed(ratio=1.2, hung_mass_kg=12, hung_radius_mm=420), MACHINE, STEEL)
    assert made.steady["rotation"] == pytest.approx(1.44 * OMEGA**2)
    assert made.steady["hung"] == pytest.approx(1.44 * 55_269.0, rel=2e-5)


@pytest.mark.parametrize(
    ("load", "force_kN"),
    [
        (fd.Cutting(method="power", cutting_share=0.25, contact_path_mm=50, walls="two"), 55.0),
        (
            fd.Cutting(method="crushing", wood="douglas_fir_dry", chip_width_mm=60, chip_depth_mm=10, walls="two"),
            29.952,
        ),
        (fd.Impact(method="hertz", mass_kg=0.5138, radius_mm=25, speed_m_s=5, walls="two"), 74.88),
        (fd.Impact(method="plastic", mass_kg=0.5138, radius_mm=25, speed_m_s=5, yield_MPa=355, walls="two"), 46.35),
        (fd.Impact(method="impulse", mass_kg=1, duration_s=1e-3, walls="two"), 0.5 * math.pi * 52.308),
    ],
)
def test_reckoned_tip_forces_reach_the_walls(load: object, force_kN: float) -> None:
    _, fy, torque = on_drum(factors(RING, load, MACHINE, STEEL))  # type: ignore[arg-type]
    assert fy == pytest.approx(-1e3 * force_kN, rel=1e-3)
    assert torque == pytest.approx(500 * fy, rel=1e-9)


def test_a_dynamic_factor_multiplies_and_without_one_a_warning_says_so() -> None:
    hit = fd.Impact(method="spring", mass_kg=1, stiffness_kN_mm=50, walls="two")
    plain = factors(RING, hit, MACHINE, STEEL)
    assert any("no dynamic factor" in text for text in plain.warnings)
    slow = replace(hit, dynamic_factor=True, first_frequency_Hz=1e6)
    assert on_drum(factors(RING, slow, MACHINE, STEEL))[1] == pytest.approx(on_drum(plain)[1], rel=2e-3)
    with pytest.raises(InputFault, match="first_frequency_Hz: is missing"):
        replace(hit, dynamic_factor=True)


def test_flank_loads_name_their_patches() -> None:
    made = factors(RING, fd.FlankPressure(slot=1, flank="free_end", pressure_MPa=5, linear_MPa=-2, extent_mm=30))
    assert made.steady == {
        "flank:1:free_end:pressure:uniform:30.0:5.0": 5,
        "flank:1:free_end:pressure:linear:30.0:5.0": -2,
    }
    shear = fd.FlankShear(slot="all", flank="leading", direction="edge", shear_MPa=7, extent_mm=60, taper_mm=20)
    assert factors(RING, shear).steady == {"flank:all:leading:shear_edge:uniform:60.0:20.0": 7}
    with pytest.raises(InputFault, match="no finite peak"):
        replace(shear, taper_mm=0)


def test_bending_and_torsion_across_rows_that_turn_on_and_on() -> None:
    ring = replace(RING, rows="helical", row_angle_deg=30)
    for load in (fd.Bending(moment_Nm=5, direction_deg=0), fd.SelfWeight(), fd.Transverse(force_kN=1, rotating=True)):
        with pytest.raises(InputFault, match="points across the drum"):
            factors(ring, load, MACHINE, STEEL)
    assert factors(ring, fd.Torsion(torque_Nm=5)).steady == {"torsion": 5000}


GIVEN = {
    "rotation": {"speed_rpm": 1000.0},
    "axial": {"stress_MPa": 5.0},
    "bending": {"moment_Nm": 5.0, "direction_deg": 0.0},
    "transverse": {"force_kN": 5.0, "direction_deg": 0.0},
    "torsion": {"torque_Nm": 5.0},
    "internal_pressure": {"pressure_MPa": 5.0},
    "flank_pressure": {"slot": 0, "flank": "leading", "pressure_MPa": 5.0},
    "flank_shear": {"slot": 0, "flank": "leading", "direction": "wall", "shear_MPa": 5.0},
    "wedge_clamp": {"force_kN": 5.0},
    "opposed_pull": {"force_kN": 5.0},
    "tip_force": {"force_kN": 5.0, "walls": "two"},
    "cutting": {"method": "power", "cutting_share": 1.0, "contact_path_mm": 50.0, "walls": "two"},
    "impact": {"method": "spring", "mass_kg": 1.0, "stiffness_kN_mm": 10.0, "walls": "two"},
    "through_bar": {},
    "drive_torque": {},
    "self_weight": {},
    "belt_pull": {"shaft_factor": 2.0},
    "unbalance": {"unbalance_g_mm": 1e5},
    "jam": {"stop_angle_deg": 90.0},
    "reversal": {"speed_rpm": 100.0, "stop_angle_deg": 90.0},
    "overspeed": {"ratio": 1.2},
}
NO_NOMINAL = {
    "transverse",
    "flank_pressure",
    "flank_shear",
    "wedge_clamp",
    "opposed_pull",
    "tip_force",
    "cutting",
    "impact",
}


def test_every_load_of_a_ring_is_looked_at_here() -> None:
    assert set(GIVEN) == {kind for kind, cls in LOADS.items() if "ring" in cls.parts}


@pytest.mark.parametrize("kind", GIVEN)
def test_every_load_says_what_it_needs_what_it_comes_to_and_its_nominal(kind: str) -> None:
    load = LOADS[kind](**GIVEN[kind])
    made = factors(RING, load, MACHINE, STEEL)
    assert made.terms
    assert all(math.isfinite(t.factor) and t.factor for t in made.terms)
    needs = getattr(load, "machine_fields", ())
    for name in needs:
        with pytest.raises(InputFault, match=rf"machine\.{name}: is missing; load '{load.name}' \({kind}\) needs it"):
            factors(RING, load, replace(MACHINE, **{name: None}), STEEL)
    if needs:
        assert made.figures, "a load reckoned from the machine shows its numbers"
    assert all(f.formula and f.what and str(f.provenance) for f in made.figures)
    said = nominal(RING, load, STEEL, MACHINE)
    assert said.definition
    assert (said.gross_MPa is None) == (kind in NO_NOMINAL)


def test_nominal_stresses_of_the_known_drum() -> None:
    ring = fd.Ring(outer_diameter_mm=800, wall_mm=40, pitch_mm=180, slots_around=2, rows="aligned", cutout=SLOT)
    # computed for this project: 0.468 MPa by weight, 0.152 by the rated drive, 25.24 by a stop in a quarter turn
    for load, stress in ((fd.SelfWeight(), 0.4682), (fd.DriveTorque(), -0.1519), (fd.Jam(stop_angle_deg=90), -25.24)):
        assert nominal(ring, load, STEEL, MACHINE).gross_MPa == pytest.approx(stress, rel=1e-3)
