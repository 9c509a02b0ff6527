import pytest
from texts import PLATE, RING, with_

from femdrum.errors import InputFault
from femdrum.study import study_from_text


def faults(text):
    with pytest.raises(InputFault) as caught:
        study_from_text(text)
    return caught.value.faults


def test_a_file_without_lists_is_one_variant_with_what_it_says():
    study = study_from_text(RING)
    (variant,) = study.variants
    assert (study.title, study.axes, variant.values) == ("Corner radius", (), ())
    assert (variant.part.wall_mm, variant.part.cutout.around_mm, variant.part.rows) == (40, 60, "alternate")
    assert variant.material.yield_MPa == 345  # S355 from 16 to 40 mm
    assert (variant.loads[0].name, variant.loads[0].speed_rpm, variant.accuracy.error) == ("running", 1000, 0.01)


def test_axes_multiply_in_the_order_of_the_file():
    study = study_from_text(with_(RING, wall_mm="[30, 40]", corner_radius_mm='[4, 8, "full"]'))
    assert [a.column for a in study.axes] == ["wall_mm", "corner_radius_mm"]
    assert [v.values for v in study.variants] == [(w, r) for w in (30, 40) for r in (4, 8, "full")]
    assert len({v.key for v in study.variants}) == 6
    assert study.describe(study.variants[-1]) == "wall_mm = 40, corner_radius_mm = full"


def test_zip_takes_lists_side_by_side():
    text = with_(RING, wall_mm="[30, 40]", corner_radius_mm="[4, 8]") + '[variants]\ncombine = "zip"\n'
    assert [v.values for v in study_from_text(text).variants] == [(30, 4), (40, 8)]


def test_zip_of_unequal_lists_names_their_lengths():
    text = with_(RING, wall_mm="[30, 40]", corner_radius_mm="[4, 8, 9]") + '[variants]\ncombine = "zip"\n'
    (fault,) = faults(text)
    assert "part.wall_mm has 2, part.cutout.corner_radius_mm has 3" in str(fault)
    assert fault.line == text.split("\n").index('combine = "zip"') + 1


def test_an_axis_may_stand_in_a_load_and_takes_its_full_name_where_the_short_one_is_not_enough():
    text = PLATE.replace("[[load]]", '[[load]]\nname = "a"').replace("100", "[50, 100]")
    text += '[[load]]\nname = "b"\nkind = "tension"\ndirection = "y"\nstress_MPa = [1, 2]\n'
    study = study_from_text(text)
    assert [a.column for a in study.axes] == ["load.a.stress_MPa", "load.b.stress_MPa"]
    assert len(study.variants) == 4


def test_a_shape_may_vary_and_axes_that_do_not_bear_on_it_make_no_copies():
    text = with_(RING, shape='["slot", "obround"]', corner_radius_mm="[4, 8]")
    study = study_from_text(text)
    assert [v.values for v in study.variants] == [("slot", 4), ("slot", 8), ("obround", None)]


def test_keys_follow_the_content_and_nothing_else():
    key = study_from_text(RING).variants[0].key
    assert study_from_text("# note\n" + with_(RING, title='"other"', around_mm="60.0")).variants[0].key == key
    assert (
        study_from_text(RING.replace("around_mm", "size_x_mm").replace("axial_mm", "size_y_mm")).variants[0].key == key
    )
    assert study_from_text(RING + "[accuracy]\nerror = 0.01\n").variants[0].key == key
    for change in ({"around_mm": "61"}, {"speed_rpm": "1001"}, {"grade": '"S275"'}, {"name": '"fast"'}):
        assert study_from_text(with_(RING, **change)).variants[0].key != key


def test_impossible_combinations_are_a_fault_with_count_example_and_way_out():
    text = with_(RING, around_mm="[20, 60]", corner_radius_mm="[4, 12]")
    (fault,) = faults(text)
    assert fault.field == "part.cutout.corner_radius_mm"
    assert fault.value == 12
    assert "at most 10" in str(fault)
    assert "1 of 4 variants, first at around_mm = 20, corner_radius_mm = 12" in str(fault)
    assert "leave_out_impossible" in str(fault)


def test_impossible_combinations_are_left_out_when_asked_and_counted():
    text = with_(RING, around_mm="[20, 60]", corner_radius_mm="[4, 12]") + "[variants]\nleave_out_impossible = true\n"
    study = study_from_text(text)
    assert [v.values for v in study.variants] == [(20, 4), (60, 4), (60, 12)]
    assert study.left_out == 1
    assert "around_mm = 20, corner_radius_mm = 12" in study.left_out_examples[0]


def test_values_that_are_wrong_by_themselves_are_never_left_out():
    text = with_(RING, corner_radius_mm="[4, -1, 1e400]") + "[variants]\nleave_out_impossible = true\n"
    assert [f.value for f in faults(text)] == [-1, float("inf")]


def test_leaving_out_all_is_a_fault():
    text = with_(RING, corner_radius_mm="[40, 50]") + "[variants]\nleave_out_impossible = true\n"
    (fault,) = faults(text)
    assert "no combination is left" in str(fault)


def test_more_than_a_hundred_thousand_variants_are_counted_not_formed():
    text = with_(
        RING,
        around_mm=str(list(range(20, 220))),
        axial_mm=str(list(range(20, 170))),
        speed_rpm=str(list(range(1, 1001))),
    )
    text = text.replace("corner_radius_mm = 8", "corner_radius_mm = [4, -2]")
    found = faults(text)
    assert any("60,000,000 variants (200 x 150 x 2 x 1000) are more than 100,000" in str(f) for f in found)
    assert any(f.value == -2 for f in found), "faults of single values are still found"


def test_all_faults_come_at_once_in_the_order_of_the_file():
    text = with_(RING, wall_mm="-40", rows='"alternat"', corner_radius_mm='"ful"', grade='"S356"', speed_rpm='"fast"')
    found = faults(text)
    lines = text.split("\n")
    assert [lines[f.line - 1].split(" ")[0] for f in found] == [
        "wall_mm",
        "rows",
        "corner_radius_mm",
        "grade",
        "speed_rpm",
    ]
    assert [f.field for f in found] == [
        "part.wall_mm",
        "part.rows",
        "part.cutout.corner_radius_mm",
        "material.grade",
        "load.running.speed_rpm",
    ]


def test_the_line_is_that_of_the_list_element():
    text = RING.replace("corner_radius_mm = 8", "corner_radius_mm = [\n  4,\n  -8,\n]")
    (fault,) = faults(text)
    assert text.split("\n")[fault.line - 1] == "  -8,"


def test_grade_and_own_values_exclude_each_other():
    (fault,) = faults(with_(RING, grade='"S355"\nyield_MPa = 300'))
    assert fault.field == "material.yield_MPa"
    assert "give a grade or own values, not both" in str(fault)


def test_strengths_of_a_grade_end_where_the_standard_ends():
    (fault,) = faults(with_(PLATE, thickness_mm="900"))
    assert fault.field == "material.grade"
    assert "not 900 mm" in str(fault)


def test_own_material():
    text = with_(PLATE, grade="\nyoungs_modulus_MPa = 70000\npoissons_ratio = 0.33").replace("grade = \n", "")
    assert study_from_text(text).variants[0].material.youngs_modulus_MPa == 70000


def test_loads_of_the_same_name_are_told_apart_or_refused():
    text = PLATE + '[[load]]\nkind = "tension"\nstress_MPa = 5\n'
    (fault,) = faults(text)
    assert fault.field == "load[2].name"
    assert "line 16" in str(fault)


def test_a_load_that_the_part_cannot_carry():
    (fault,) = faults(RING + '[[load]]\nname = "pull"\nkind = "tension"\nstress_MPa = 5\n')
    assert str(fault).startswith(
        "line 26: load.pull.kind = 'tension': cannot act on a ring, only on a plate or plate_row; a ring takes rotation, axial, "
    )


def test_a_field_of_another_kind_says_where_it_belongs():
    (fault,) = faults(with_(PLATE, width_mm="200\nwall_mm = 5"))
    assert fault.field == "part.wall_mm"
    assert "it belongs to kind 'ring'" in str(fault)


def test_a_stray_key_says_where_it_belongs():
    (fault,) = faults("speed_rpm = 5\n" + RING)
    assert "it belongs under [[load]]" in str(fault)
