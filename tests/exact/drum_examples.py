"""A drum for tests: 24 rows of two slots, bars through them, bearings 2.2 m apart. Invented."""

from femdrum.model.cutout import Slot
from femdrum.model.drum import Drum
from femdrum.model.drum_shaft import StubShaft
from femdrum.model.hammer import Hammer

_TIP = {"tip_mass_kg": 2.5, "tip_height_mm": 60, "tip_width_mm": 62, "tip_depth_mm": 50, "tip_radius_mm": 500}
THROUGH = Hammer(path="both", mass_kg=20, length_mm=960, width_mm=58, depth_mm=40, **_TIP)
HALVES = Hammer(path="halves", mass_kg=8, length_mm=160, width_mm=58, depth_mm=40, inner_radius_mm=300, **_TIP)

DRUM = {
    "outer_diameter_mm": 800, "wall_mm": 40, "shell_length_mm": 1800,
    "cutout": Slot(around_mm=50, axial_mm=60, corner_radius_mm=8), "rows_total": 24, "slots_around": 2, "pitch_mm": 68,
    "first_row_mm": 118, "row_angle_deg": 37.5, "hammer": THROUGH,
    "drive_end": StubShaft(
        disc_thickness_mm=60, stub_diameter_mm=180, stub_length_mm=200, fillet_radius_mm=15, seat_diameter_mm=140,
        shoulder_mm=120, shoulder_radius_mm=5, beyond_mm=260,
    ),
}  # fmt: skip


def drum(**changes):
    """The drum with some of its fields changed."""
    return Drum(**(DRUM | changes))
