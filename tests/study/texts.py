"""Study files to start from; invented."""

RING = """\
title = "Corner radius"

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
corner_radius_mm = 8

[material]
grade = "S355"

[[load]]
name = "running"
kind = "rotation"
speed_rpm = 1000
"""

PLATE = """\
title = "Plate with a hole"

[part]
kind = "plate"
length_mm = 800
width_mm = 200
thickness_mm = 10

[part.cutout]
shape = "circle"
diameter_mm = 40

[material]
grade = "S355"

[[load]]
kind = "tension"
stress_MPa = 100
"""


def with_(text, **lines):
    """The text with the right-hand side of some keys replaced, added to, or (None) the line dropped."""
    out = []
    for line in text.splitlines():
        key = line.split("=")[0].strip()
        if "=" in line and key in lines:
            value = lines.pop(key)
            if value is None:
                continue
            line = f"{key} = {value}"
        out.append(line)
    assert not lines, f"no such lines: {lines}"
    return "\n".join(out) + "\n"
