"""Study files with a life, invented, and results with lives changed by hand."""

from dataclasses import replace

from picture_studies import PLATE, ROW

from femdrum.study import Results, run, study_from_text

FINISH = """
[life.finish]
process = "flame cut"
hardness_HV = 300
skin_depth_mm = 0.3
residual_stress_MPa = 60
"""

PLATE_DUTY = (
    """
[[condition]]
name = "pulled"
loads = { pull = 0.9 }

[[condition]]
name = "turned"
loads = { pull = 0.5, turn = 0.6 }

[[duty]]
name = "starts"
condition = "pulled"
cycle = "steady"
per_1000_h = 300

[[duty]]
name = "turns"
condition = "turned"
back_to = "pulled"
per_1000_h = 40_000

[[duty]]
name = "to and fro"
condition = "turned"
cycle = "reversed"
per_1000_h = 200

[life]
target_h = 20_000
"""
    + FINISH
    + """
[life.scatter]
samples = 512
"""
)
LIFE_PLATE = PLATE.replace('[8, 20, "full"]', "[8, 20]") + PLATE_DUTY
LIFE_GRID = LIFE_PLATE.replace('grade = "S355"', 'grade = ["S235", "S355"]')

RING_DUTY = (
    """
[[condition]]
name = "pushed"
loads = { speed = 1.0, drive = 1.0, weight = 1.0, push = 6 }

[[duty]]
name = "starts"
condition = "running"
cycle = "steady"
per_1000_h = 300

[[duty]]
name = "turning"
condition = "running"
cycle = "rotating"
hours_per_1000_h = 1000

[[duty]]
name = "pushes"
condition = "pushed"
back_to = "running"
per_1000_h = 40_000

[life]
target_h = 10_000
rows_total = 10
"""
    + FINISH
    + """
[life.crack]
toughness_MPa_sqrt_m = 80
lowest_temperature_C = -15

[life.scatter]
samples = 512

[accuracy]
error = 0.2
"""
)
LIFE_RING = ROW[: ROW.index("[accuracy]")] + RING_DUTY


def made(text, name, tmp_path_factory):
    """Results of a study; a second call finds the stored ones."""
    return run(study_from_text(text, name=name), tmp_path_factory.getbasetemp() / name, workers=1)


def copied(results):
    """The same results, to be changed."""
    return Results(results.folder, results.data, results.lines)


def with_lives(results, change):
    """The results with each life changed by change(number of the variant, life)."""
    out = copied(results)
    variants = []
    for n, variant in enumerate(results.variants):
        own = replace(variant)
        vars(own)["life"] = change(n, variant.life)
        variants.append(own)
    vars(out)["variants"] = tuple(variants)
    vars(out)["life"] = dict(results.life)
    return out


def with_worst(life, **changes):
    """A life whose worst place is changed."""
    return replace(life, places=(replace(life.places[0], **changes), *life.places[1:]))
