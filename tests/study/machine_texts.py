"""A ring with a machine and several loads; invented."""

from texts import RING

ALIGNED = RING.replace('"alternate"', '"aligned"')

MACHINE = """\
[machine]
power_kW = 550
speed_rpm = 1000
inertia_kg_m2 = 250
rotor_mass_kg = 3000
tip_diameter_mm = 1000
tips_total = 48
bearing_span_mm = 2200
sheave_diameter_mm = 600
sheave_overhang_mm = 250
belt_direction_deg = 90

[machine.bar]
mass_kg = 8
tip_mass_kg = 8.5
length_mm = 1000
width_mm = 90
depth_mm = 59
path = "both"

[[machine.limit]]
name = "pin"
tip_force_kN = 400
"""

FULL = (
    ALIGNED
    + MACHINE
    + """\
[[load]]
kind = "jam"
stop_angle_deg = 90

[[load]]
name = "weight"
kind = "self_weight"

[[condition]]
name = "held"
loads = { running = 1.0, jam = 0.5 }

[[condition]]
name = "turned"

[condition.loads]
running = 1
weight = 1
"""
)


def load(text, kind, **fields):
    """The text with one more load."""
    lines = [f"{k} = {v}" for k, v in fields.items()]
    return text + "\n".join(["[[load]]", f'kind = "{kind}"', *lines]) + "\n"
