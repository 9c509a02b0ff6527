"""Study files for the pictures; invented."""

PLATE = """\
title = "Radius of a slot in a plate"

[part]
kind = "plate"
length_mm = 600
width_mm = 300
thickness_mm = 20

[part.cutout]
shape = "slot"
size_x_mm = 60
size_y_mm = 100
corner_radius_mm = [8, 20, "full"]

[material]
grade = "S355"

[[load]]
name = "pull"
kind = "tension"
stress_MPa = 100

[[load]]
name = "turn"
kind = "shear"
shear_MPa = 60

[accuracy]
error = 0.01
"""

RING = """\
title = "Two slots in a ring"

[part]
kind = "ring"
outer_diameter_mm = 760
wall_mm = 40
pitch_mm = 180
slots_around = 2
rows = "alternate"

[part.cutout]
shape = "slot"
around_mm = 60
axial_mm = 120
corner_radius_mm = "full"

[material]
youngs_modulus_MPa = 206000
poissons_ratio = 0.3
density_kg_m3 = 7850

[[load]]
name = "running"
kind = "rotation"
speed_rpm = 1000

[accuracy]
error = 0.1
"""

ROW = """\
title = "Turned, twisted, heavy, pressed"

[part]
kind = "ring"
outer_diameter_mm = 760
wall_mm = 40
pitch_mm = 180
slots_around = 2
rows = "aligned"

[part.cutout]
shape = "slot"
around_mm = 60
axial_mm = 120
corner_radius_mm = 12

[material]
grade = "S355"

[machine]
speed_rpm = 1000
rotor_mass_kg = 30_000
bearing_span_mm = 2200

[[load]]
name = "speed"
kind = "rotation"
speed_rpm = 1000

[[load]]
name = "drive"
kind = "torsion"
torque_Nm = 30_000

[[load]]
name = "weight"
kind = "self_weight"

[[load]]
name = "push"
kind = "flank_pressure"
slot = 1
flank = "leading"
pressure_MPa = 20

[[condition]]
name = "running"
loads = { speed = 1.0, drive = 1.0, weight = 1.0, push = 1.5 }

[accuracy]
error = 0.05
"""
