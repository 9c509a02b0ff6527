"""Balance files and records to start from, invented; small, so that they are quick."""

BALANCE = """
title = "Small rotor"

[record]
file = "record.csv"

[balance]
grade_mm_s = 16
rotor_mass_kg = 1200
speed_rpm = 900
condition = "new hammers"
bearings_mm = [0, 1000]
phase_sense = "lag"

[[balance.planes]]
z_mm = 100
radius_mm = 300
angles_deg = [10, 100, 190, 280]
plate_g = 120
most_plates = 2

[[balance.planes]]
z_mm = 900
radius_mm = 300
angles_deg = [0, 72, 144, 216, 288]
plate_g = 120
most_plates = 2
blocked = [3]
"""

HEAD = "kind,slot,run,probe,plane,mass_g,radius_mm,angle_deg,z_mm,velocity_rms_mm_s,phase_deg,speed_rpm,kept\n"
HAMMERS = """hammer,1,,,,8000,400,0,200,,,,
hammer,2,,,,8150,400,180,200,,,,
hammer,3,,,,8040,400,90,500,,,,
hammer,4,,,,7900,400,270,500,,,,
hammer,5,,,,8100,400,45,800,,,,
hammer,6,,,,8010,400,225,800,,,,
"""
READINGS = """reading,,0,A,,,,,,3.0,60,900,
reading,,0,B,,,,,,2.0,200,900,
trial,,1,,1,500,300,0,,,,,yes
reading,,1,A,,,,,,4.1,20,900,
reading,,1,B,,,,,,2.4,190,900,
trial,,2,,2,500,300,120,,,,,no
reading,,2,A,,,,,,4.6,30,900,
reading,,2,B,,,,,,3.3,150,900,
"""
RECORD = HEAD + HAMMERS + READINGS
