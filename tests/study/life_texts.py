"""Study texts that ask for a life."""

PLATE = """
title = "Strip with a hole"

[part]
kind = "plate"
length_mm = 400
width_mm = 100
thickness_mm = 10

[part.cutout]
shape = "circle"
diameter_mm = 20

[material]
grade = "S355"

[[load]]
name = "pull"
kind = "tension"
stress_MPa = 60

[[condition]]
name = "pulled"
loads = { pull = 1.0 }

[[duty]]
condition = "pulled"
cycle = "pulsating"
per_1000_h = 100_000

[life]
target_h = 10_000

[life.finish]
process = "milled"
roughness_Rz_um = 12.5
"""
