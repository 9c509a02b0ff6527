"""A study of a small drum that is handed over and built; invented."""

TEXT = """
title = "Small mill"

[part]
kind = "ring"
outer_diameter_mm = 700
wall_mm = 30
pitch_mm = 200
slots_around = 2
rows = "alternate"

[part.cutout]
shape = "slot"
around_mm = 60
axial_mm = 100
corner_radius_mm = 20

[material]
grade = "S355"

[[load]]
name = "speed"
kind = "rotation"
speed_rpm = 1000

[[load]]
name = "clamp"
kind = "wedge_clamp"
force_kN = 120

[[condition]]
name = "running"
loads = { speed = 1.0, clamp = 1.0 }

[[condition]]
name = "standing"
loads = { clamp = 1.0 }

[[duty]]
name = "starts"
condition = "running"
back_to = "standing"
per_1000_h = 3_000

[life]
target_h = 10_000
rows_total = 3

[life.finish]
process = "flame cut"

[accuracy]
error = 0.1
"""

WITHOUT_LIFE = TEXT[: TEXT.index("[[duty]]")] + TEXT[TEXT.index("[accuracy]") :]
RADII = "slot,corner,radius_mm\n" + "".join(
    f"{slot},{corner},{12.0 if (slot, corner) == (4, 3) else 20.1 if corner == 1 else 20.0}\n"
    for slot in range(1, 7)
    for corner in range(1, 5)
)
