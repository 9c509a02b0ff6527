"""Drums and running states at random, for the tests beside this file. Invented."""

from dataclasses import replace

import numpy as np

from femdrum.model.cutout import Slot
from femdrum.model.drum import Drum
from femdrum.model.drum_shaft import Drive, RotorBearing, RotorMass, StubShaft
from femdrum.model.hammer import Hammer, SlotPart
from femdrum.rotor.bodies import HammerState
from femdrum.rotor.running import RestUnbalance, Running, TipHit

TIP = {"tip_mass_kg": 2.5, "tip_height_mm": 60, "tip_width_mm": 50, "tip_depth_mm": 40, "tip_radius_mm": 500}
END = StubShaft(
    disc_thickness_mm=60, stub_diameter_mm=180, stub_length_mm=200, fillet_radius_mm=15, seat_diameter_mm=140,
    shoulder_mm=120, shoulder_radius_mm=5, beyond_mm=260,
)  # fmt: skip
DRIVE = Drive(
    sheave_diameter_mm=600, sheave_overhang_mm=180, sheave_mass_kg=160, sheave_inertia_kg_m2=8, belt_direction_deg=70,
    shaft_factor=1.8,
)  # fmt: skip
HALF = Hammer(path="halves", mass_kg=8, length_mm=160, width_mm=50, depth_mm=40, inner_radius_mm=300, **TIP)
BAR = Hammer(path="both", mass_kg=20, length_mm=960, width_mm=50, depth_mm=40, **TIP)
GIVEN = {
    "outer_diameter_mm": 800, "wall_mm": 40, "shell_length_mm": 1800,
    "cutout": Slot(around_mm=45, axial_mm=55, corner_radius_mm=8), "rows_total": 24, "slots_around": 2, "pitch_mm": 68,
    "first_row_mm": 118, "row_angle_deg": 37.5, "hammer": BAR, "drive_end": END, "drive": DRIVE,
    "drive_bearing": RotorBearing(dynamic_rating_kN=900, static_rating_kN=1300, stiffness_kN_mm=500),
}  # fmt: skip
SEEDS = range(12)


def drum(**changes):
    return Drum(**(GIVEN | changes))


def random_drum(seed):
    """A drum that closes: rows, slots around, pitch and turn at random."""
    rng = np.random.default_rng(seed)
    rows, around = int(rng.integers(3, 22)), int(rng.choice([1, 2, 3, 4]))
    step = 360 / around / rows
    near = replace(END, stub_length_mm=float(rng.uniform(180, 320)), disc_thickness_mm=float(rng.uniform(30, 80)))
    far = replace(END, stub_length_mm=float(rng.uniform(180, 320)), beyond_mm=0.0)
    pitch = float(rng.uniform(60, 1500 / rows))
    return drum(
        rows_total=rows, slots_around=around, pitch_mm=pitch, first_row_mm=float(rng.uniform(110, 140)),
        row_angle_deg=float(step * rng.integers(0, rows)), hammer=HALF, drive_end=near, free_end=far,
        slot_parts=(SlotPart(name="wedge", mass_kg=0.6, radius_mm=385, around_mm=22, along_mm=3),),
        masses=(RotorMass(name="lock ring", mass_kg=9, z_mm=60, radius_mm=20, angle_deg=15),),
    )  # fmt: skip


def random_running(seed, whole):
    rng = np.random.default_rng(100 + seed)
    top = whole.slots_total
    return Running(
        speed_rpm=float(rng.uniform(300, 1500)), power_kW=float(rng.uniform(50, 700)),
        cut_direction_deg=float(rng.uniform(-180, 180)), radial_share=float(rng.uniform(0, 1)),
        hits=tuple(TipHit(slot=int(s), force_kN=float(rng.uniform(5, 200)), radial_kN=float(rng.uniform(-20, 20)))
                   for s in rng.choice(top, 2, replace=False)),
        hammers=HammerState(missing=(int(rng.integers(top)),), extra_g={int(rng.integers(top)): 80.0}),
        unbalance=(RestUnbalance(amount_g_mm=3e5, angle_deg=float(rng.uniform(0, 360)), z_mm=900),),
    )  # fmt: skip
