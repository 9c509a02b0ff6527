"""Ten lines of Python for each part of the rest of the drum, by public names alone; what they find, by hand."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pytest

import femdrum as fd

STUDIES = Path(__file__).parents[2] / "studies"
SPEED = 1000 * math.pi / 30

ROTOR = """
end = fd.StubShaft(disc_thickness_mm=60, stub_diameter_mm=180, stub_length_mm=230, fillet_radius_mm=16)
slot = fd.Slot(around_mm=60, axial_mm=110, corner_radius_mm=12)
bearing = fd.RotorBearing(dynamic_rating_kN=470, static_rating_kN=620)
bars = fd.Hammer(path="both", mass_kg=21, length_mm=940, width_mm=104, depth_mm=28)
drum = fd.Drum(outer_diameter_mm=780, wall_mm=40, shell_length_mm=1980, cutout=slot, rows_total=10, slots_around=2,
               pitch_mm=180, first_row_mm=180, row_angle_deg=90, drive_end=end, drive_bearing=bearing, hammer=bars)
work = fd.Running(name="work", speed_rpm=1000, power_kW=400, cut_direction_deg=90)
rotor = fd.whole_drum(drum, [work], fd.steel("S355", 40), wanted=fd.RotorWanted(target_h=30_000, left_share=0.0))
print(rotor.masses.mass_kg, rotor.states[0].life.system_h, rotor.states[0].worst_row.row + 1)
"""

RETENTION = """
wedge = fd.Wedge(taper_deg=6, friction_low=0.10, friction_high=0.18, driven="inward", mass_kg=1.2, radius_mm=370)
bolt = fd.Bolt(size="M20", property_class="10.9", clamp_length_mm=100, tightening="torque, friction estimated",
               lubrication="solid lubricant", torque_Nm=320)
stop = fd.Stop(shear_area_mm2=1600, bearing_area_mm2=900, yield_MPa=355)
clamp = fd.Clamp(wedge=wedge, bolt=bolt, stiffness_kN_mm=900, flank_share=0.7, face_friction_low=0.12, locking="wedge-lock washers", stop=stop)
worn = fd.Turning(name="at speed", bar_mass_kg=25, offset_mm=6, speed_rpm=1000, slots=2, slot_opening_um=8)
broken = fd.Accident(name="bar broken", half_mass_kg=12, half_radius_mm=420, speed_rpm=1200)
proof = fd.retention(fd.RetentionInput(clamp=clamp, turnings=(worn,), accidents=(broken,)))
print(proof.verdict, proof.proof.clamp.assembled_least_N, proof.proof.torque_window_Nm)
"""

BALANCE = """
planes = [fd.MassPositions.even(12, z_mm=z, radius_mm=330, plate_g=250, most_plates=4) for z in (250, 1950)]
asked = fd.BalanceInput(grade_mm_s=16, rotor_mass_kg=3000, speed_rpm=1000, condition="new hammers",
                        bearings_mm=(0, 2200), planes=planes, phase_sense="lag")
record = fd.read_record(studies / "balance_record.csv")
plan = fd.balance(asked, record)
for plane in plan.planes:
    print(plane.number, abs(plane.now_g_mm), abs(plane.after_g_mm), plane.plates, plane.proven)
"""

CONTACT = """
pack = fd.WedgePack(slot_mm=60, wall_mm=40, length_mm=100, clamp_N=150_000, hammer_mm=44, wedge_height_mm=36, driven="along", edge_radius_mm=1)
found = fd.solve_wedge_pack(pack, fd.Material(youngs_modulus_MPa=206e3, poissons_ratio=0.3), fd.Accuracy(error=0.2))
print(found.verdict, [(face.name, face.force_N) for face in found.faces])
slot = fd.Slot(around_mm=60, axial_mm=140, corner_radius_mm=12)
ring = fd.Ring(outer_diameter_mm=4000, wall_mm=40, pitch_mm=220, slots_around=2, rows="aligned", cutout=slot)
loads = fd.clamp_patches(found, ring)
"""

DRUM_END = """
end = fd.DrumEnd(shell_outer_diameter_mm=760, shell_wall_mm=40, disc_thickness_mm=60, stub_diameter_mm=180, stub_length_mm=260,
                 fillet_radius_mm=16, recess_mm=30, inside_leg_mm=15, outside_leg_mm=15)
loads = fd.DrumEndLoads(speed_rpm=1000, bending_Nmm=12e6)
found = fd.solve_drum_end(end, loads, fd.steel("S355", 40))
print(found.rotating, found.peak.verdict)
"""


def ran(session: str, capsys: pytest.CaptureFixture[str]) -> tuple[dict[str, Any], str]:
    assert len(re.findall(r"^\S", session, re.M)) <= 10, "a session of more than ten statements"
    names: dict[str, Any] = {"fd": fd, "studies": STUDIES}
    exec(compile(session, "session", "exec"), names)
    return names, capsys.readouterr().out


def test_rotor_session(capsys: pytest.CaptureFixture[str]) -> None:
    names, said = ran(ROTOR, capsys)
    rotor, drum = names["rotor"], names["drum"]
    mass, life, _row = said.split()
    shell = 7850e-9 * math.pi * (390**2 - 350**2) * 1980
    missing = 7850e-9 * 20 * 40 * (60 * 110 - (4 - math.pi) * 12**2)
    discs = 2 * 7850e-9 * math.pi * 350**2 * 60
    stubs = 2 * 7850e-9 * math.pi * 90**2 * 230
    # faces of the slots are flat, the wall is round: a part in a thousand of what the slots take away
    assert float(mass) == pytest.approx(shell - missing + discs + stubs + 10 * 21, rel=2e-3)
    assert rotor.masses.unbalance_size_g_mm == pytest.approx(0, abs=1e-6 * 21e3 * 235)
    assert drum.bearing_span_mm == 1980 + 2 * 230
    # both bearings alike; tips that rise through the material are pushed down by P / (r omega), on top of the weight
    loads = [b.mean_N for b in rotor.states[0].bearings]
    cut = 400e3 / (0.47 * SPEED)
    assert max(loads) == pytest.approx(0.5 * (float(mass) * 9.80665 + cut), rel=1e-3)
    one = 1e6 / (60 * 1000) * (470e3 / max(loads)) ** (10 / 3)
    # two alike, lives spread with a slope of 9/8 (from memory, as the rotor says)
    assert float(life) == pytest.approx(one * 2 ** (-8 / 9), rel=1e-3)


def test_retention_session(capsys: pytest.CaptureFixture[str]) -> None:
    names, said = ran(RETENTION, capsys)
    proof = names["proof"]
    assert said.startswith("held")
    pull = 12 * 0.420 * (1.2 * SPEED) ** 2  # of the half bar at overspeed, taken twice
    accident = next(face.row for face in proof.faces if face.row.accident)
    assert accident.slip_safety == pytest.approx(900 * 355 / (2 * pull), rel=1e-6)
    turning = next(face for face in proof.faces if face.row.condition == "at speed")
    faces = 4  # two in each of two slots
    assert abs(turning.load.tangential_N) * faces == pytest.approx(25 * 6e-3 * SPEED**2, rel=1e-9)


def test_balance_session(capsys: pytest.CaptureFixture[str]) -> None:
    names, said = ran(BALANCE, capsys)
    plan = names["plan"]
    assert said.count("True") == 2
    permissible = 1e3 * 16 / SPEED * 3000
    assert plan.limits.whole_g_mm == pytest.approx(permissible, rel=1e-9)
    for plane, positions in zip(plan.planes, names["planes"], strict=True):
        bolted = sum(
            n * 250 * 330 * complex(math.cos(math.radians(a)), math.sin(math.radians(a)))
            for n, a in zip(plane.plates, positions.angles_deg, strict=True)
        )
        assert abs(plane.now_g_mm + bolted - plane.after_g_mm) == pytest.approx(0, abs=1e-6 * permissible)
        assert abs(plane.after_g_mm) < 0.1 * abs(plane.now_g_mm)


def test_contact_session(capsys: pytest.CaptureFixture[str]) -> None:
    names, said = ran(CONTACT, capsys)
    assert said.startswith(("Verdict.SETTLED", "settled"))
    for face in names["found"].faces:
        assert face.force_N == pytest.approx(150_000, rel=1e-6)
    assert {type(load) for load in names["loads"]} <= {fd.FlankPressure, fd.FlankShear}
    assert {load.flank for load in names["loads"]} == {"leading", "trailing"}


def test_drum_end_session(capsys: pytest.CaptureFixture[str]) -> None:
    names, said = ran(DRUM_END, capsys)
    found = names["found"]
    assert "settled" in said
    nominal = 32 * 12e6 / (math.pi * 180**3)
    kt = next(row for row in found.comparisons if "fillet, bending" in row.quantity)
    # a moment that stands in space is reversed once a turn; the disc bends, so its fillet bears more than a shoulder's
    assert 0.9 * kt.ours * nominal < float(found.rotating) <= kt.ours * nominal  # speed moves the place of the peak
    assert 1.0 < kt.ours / kt.value < 1.6
