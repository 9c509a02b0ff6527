"""Measured radii read from a file, and the drum solved once more with them."""

from __future__ import annotations

import csv
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from handover_texts import RADII, TEXT

from femdrum.assess.life_result import CrackLife, DrumMap, MapSlot, TurnLine
from femdrum.assess.solve import solve_all
from femdrum.errors import FileFault, InputFault
from femdrum.study import study_from_text
from femdrum.study.as_built import group_radii, read_as_built
from femdrum.study.as_built_read import read_as_built_result
from femdrum.study.as_built_run import as_built_study, compared, run_as_built

ROWS = {1: (1, 2), 2: (3, 4)}


@pytest.fixture
def read(tmp_path):
    def made(text, **given):
        path = tmp_path / "radii.csv"
        path.write_text(text, encoding="utf-8")
        return read_as_built(path, rows=ROWS, designed_mm=12.0, most_mm=30.0, **given)

    return made


# reading


def test_the_least_corner_governs_its_slot(read):
    lines = [f"{s},{c},{10 + s + 0.1 * c:.1f}" for s in (1, 2, 3, 4) for c in (1, 2, 3, 4)]
    found = read("slot,corner,radius_mm\n" + "\n".join(lines).replace("3,2,13.2", "3,2,9.75"))
    assert [s.least_mm for s in found.slots] == [11.1, 12.1, 9.75, 14.1]
    assert [s.corner for s in found.slots] == [1, 1, 2, 1]
    assert [s.row for s in found.slots] == [1, 1, 2, 2]
    assert found.warnings == ()


def test_a_row_stands_for_its_slots_and_a_line_without_corner_for_all_four(read):
    found = read("# gauge 7\nrow,radius_mm\n1,11.5\n\n2,12.25\n")
    assert [(s.slot, s.least_mm, s.corner) for s in found.slots] == [
        (1, 11.5, None),
        (2, 11.5, None),
        (3, 12.25, None),
        (4, 12.25, None),
    ]
    mixed = read("slot,corner,radius_mm\n1,,11\n2,1,12\n2,2,13\n2,3,14\n2,4,15\n3,,12\n4,,12\n")
    assert [s.least_mm for s in mixed.slots] == [11.0, 12.0, 12.0, 12.0]


@pytest.mark.parametrize(
    ("name", "number"),
    [("leading/free-end", 1), ("free-end/trailing", 2), ("corner trailing/drive-end", 3), ("Leading/Drive-end", 4)],
)
def test_corners_have_names_too(read, name, number):
    found = read(f"slot,corner,radius_mm\n1,{name},5\n", missing="designed")
    assert found.slots[0].corner == number
    assert found.slots[0].missing == tuple(c for c in (1, 2, 3, 4) if c != number)


def test_what_is_missing_is_refused_or_taken_as_designed_and_told(read):
    text = "slot,corner,radius_mm\n1,2,11\n3,,13\n"
    with pytest.raises(FileFault) as caught:
        read(text)
    said = str(caught.value)
    assert "2 slots are not in the file: 2, 4" in said
    assert "slot 1: corners 1, 3, 4 are not in the file" in said
    assert "--missing designed" in said
    found = read(text, missing="designed")
    assert [s.least_mm for s in found.slots] == [11.0, 12.0, 13.0, 12.0]
    assert found.slots[1].missing == (1, 2, 3, 4)
    assert found.slots[1].measured_mm == ()
    assert "2 slots were not measured and are taken as designed: 2, 4" in found.warnings
    with pytest.raises(InputFault, match="must be refuse or designed"):
        read(text, missing="guess")


def test_a_corner_that_is_larger_than_designed_does_not_hide_one_that_was_not_measured(read):
    found = read("slot,corner,radius_mm\n1,2,15\n", missing="designed")
    assert found.slots[0].least_mm == 12.0
    assert found.slots[0].corner is None


def test_all_faults_at_once_each_with_its_line(read):
    text = "slot,corner,radius_mm\n9,1,12\n1,7,12\n1,1,31\n1,2,-3\n1,3,nan\n2,1,twelve\n2,2,\n3,1,12\n3,1,11\n4,,12\n4,2,11\n3,2,0\n3,3\n"
    with pytest.raises(FileFault) as caught:
        read(text, missing="designed")
    told = {(f.line, f.field) for f in caught.value.faults}
    assert told == {
        (2, "slot"), (3, "corner"), (4, "radius_mm"), (5, "radius_mm"), (6, "radius_mm"), (7, "radius_mm"), (8, "radius_mm"), (10, "slot"), (12, "slot"),
        (13, "radius_mm"), (14, "row"),
    }  # fmt: skip
    said = str(caught.value)
    assert "line 10: slot = '3': slot 3, corner 1 stands at line 9 already" in said
    assert "at most 30" in said
    lines = [f.line for f in caught.value.faults]
    assert lines == sorted(lines)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("slot,radius\n1,12\n", "write radius_mm, in that unit"),
        ("slot,radius_in\n1,0.5\n", "write radius_mm, in that unit"),
        ("slot,corner\n1,2\n", "holds no column radius_mm"),
        ("radius_mm\n12\n", "holds neither slot nor row"),
        ("slot,row,radius_mm\n1,1,12\n", "says slot and row at once"),
        ("slot,colour,radius_mm\n1,red,12\n", "is no column of this table"),
        ("slot;radius_mm\n1;12\n", "parted by semicolons"),
        ("slot,radius_mm\n", "there are none below the header"),
        ("", "is empty"),
        ("row,radius_mm\n3,12\n", "must be a whole number from 1 to 2"),
        ('slot,radius_mm\n1,"12,5"\n', "a point in the numbers"),
    ],
)
def test_bad_files_are_refused_in_words(read, text, words):
    with pytest.raises(FileFault) as caught:
        read(text, missing="designed")
    assert words in str(caught.value)


def test_a_radius_in_another_unit_is_asked_about(read):
    found = read("row,radius_mm\n1,0.47\n2,12\n")
    assert any("below a fifth of the drawn 12 mm: 1, 2. Is it in mm" in w for w in found.warnings)


@pytest.mark.parametrize("seed", range(8))
def test_groups_go_down_only_and_never_further_than_stated(seed):
    rng = np.random.default_rng(seed)
    radii, within = rng.uniform(4.0, 14.0, 40).round(2).tolist(), float(rng.uniform(0.0, 1.0))
    found = group_radii(radii, within)
    assert set(found) == set(radii)
    for radius, solved in found.items():
        assert solved in found
        assert -1e-9 <= radius - solved <= within + 1e-8
        assert found[solved] == solved
    bases = sorted(set(found.values()))
    assert all(b - a > within for a, b in pairwise(bases))
    in_order = [found[r] for r in sorted(found)]
    assert in_order == sorted(in_order)
    assert len(set(group_radii(radii, 0.0).values())) == len(set(radii))


# the study of it


def asked(tmp_path, text=TEXT, radii=RADII, **given):
    path = tmp_path / "radii.csv"
    path.write_text(radii, encoding="utf-8")
    return as_built_study(study_from_text(text, name="small"), path, **given)


def test_variants_are_those_that_the_study_itself_would_make(tmp_path):
    found = asked(tmp_path)
    plain = study_from_text(TEXT)
    other = study_from_text(TEXT.replace("corner_radius_mm = 20", "corner_radius_mm = 12"))
    assert [v.key for v in found.study.variants] == [plain.variants[0].key, other.variants[0].key]
    assert found.solved_mm == {n: 12.0 if n == 4 else 20.0 for n in range(1, 7)}
    cracked = TEXT.replace(
        "[accuracy]", "[life.crack]\ntoughness_MPa_sqrt_m = 80\nlowest_temperature_C = -10\n\n[accuracy]"
    )
    assert (
        asked(tmp_path, cracked).study.variants[1].key
        == study_from_text(cracked.replace("= 20\n", "= 12\n", 1)).variants[0].key
    )


def test_few_radii_are_solved_for_many_that_are_near(tmp_path):
    radii = "slot,radius_mm\n" + "".join(f"{n},{18 + 0.1 * n:.1f}\n" for n in range(1, 7))
    assert set(asked(tmp_path, radii=radii, within_mm=1.0).solved_mm.values()) == {18.1}
    assert len(set(asked(tmp_path, radii=radii, within_mm=0.0).solved_mm.values())) == 6
    assert set(asked(tmp_path, radii=radii, within_mm=0.25).solved_mm.values()) == {18.1, 18.4}
    with pytest.raises(InputFault, match="at least 0 and at most 5"):
        asked(tmp_path, radii=radii, within_mm=-1.0)


def test_one_of_several_variants_has_to_be_named(tmp_path):
    several = TEXT.replace("corner_radius_mm = 20", "corner_radius_mm = [16, 20]")
    with pytest.raises(InputFault) as caught:
        asked(tmp_path, several)
    assert "the study has 2 variants, and one drum was built" in str(caught.value)
    assert "2: corner_radius_mm = 20" in str(caught.value)
    for which in ("2", "corner_radius_mm = 20"):
        assert asked(tmp_path, several, which=which).radii.designed_mm == 20.0
    with pytest.raises(InputFault, match="is no variant of this study"):
        asked(tmp_path, several, which="3")


def test_studies_without_slots_or_numbers_are_refused(tmp_path):
    with pytest.raises(InputFault, match="rows_total: is missing: slots cannot be numbered"):
        asked(
            tmp_path,
            TEXT.replace("rows_total = 3\n", "").replace("corner_radius_mm = 20", "corner_radius_mm = 20")[
                : TEXT.index("[[duty]]")
            ]
            + "[accuracy]\nerror = 0.1\n",
        )
    with pytest.raises(InputFault, match="nothing else has radii as built"):
        asked(tmp_path, TEXT.replace('shape = "slot"', 'shape = "obround"').replace("corner_radius_mm = 20\n", ""))


# solved


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """A drum one of whose slots came out at 12 instead of 20 mm, with a duty that the drawn drum just bears."""
    folder = tmp_path_factory.mktemp("built")
    text = TEXT.replace("3_000", "1_000_000").replace("rows_total = 3", "rows_total = 3\nload_factor = 4.4")
    wanted = asked(folder, text)
    calls = []

    def stopped(part, *args, **more):
        calls.append(part.cutout.radius_mm)
        if len(calls) == 2:
            raise KeyboardInterrupt
        return solve_all(part, *args, **more)

    with pytest.raises(KeyboardInterrupt):
        run_as_built(wanted, folder / "out", workers=1, solver=stopped)
    finished = len(list((folder / "out" / "variants").glob("*/variant.json")))
    again = []

    def counted(part, *args, **more):
        again.append(part.cutout.radius_mm)
        return solve_all(part, *args, **more)

    results, found = run_as_built(wanted, folder / "out", workers=1, solver=counted)
    return wanted, results, found, folder, (calls, finished, again)


def test_killed_work_goes_on_from_there(built):
    wanted, _, _, folder, (calls, finished, again) = built
    assert finished == 1
    assert again == [calls[1]]
    more = []
    run_as_built(wanted, folder / "out", workers=1, solver=lambda *a, **k: more.append(1))
    assert more == []


def test_the_slot_that_came_out_too_sharp_is_named(built):
    _, results, found, folder, _ = built
    assert found.below == (4,)
    sharp, others = found.slots[3], [s for s in found.slots if s.slot != 4]
    assert sharp.fell
    assert sharp.utilisation > 1.0 > sharp.utilisation_designed
    # a corner rounded less bears more: some root of the ratio of the radii
    assert 1.05 < sharp.peak_MPa / sharp.peak_designed_MPa < (20.0 / 12.0) ** 0.5 * 1.1
    assert sharp.life_h < 10_000 < sharp.life_designed_h
    for s in others:
        assert (s.peak_MPa, s.life_h, s.utilisation) == (s.peak_designed_MPa, s.life_designed_h, s.utilisation_designed)
    assert found.worst.slot == 4
    assert any("though not as designed: slots 4." in w for w in found.words)
    assert any("least of the four governs" in n for n in found.notes)
    by_radius = {v.axes["corner_radius_mm"]: v for v in results.variants}
    assert sharp.life_h == by_radius[12.0].life.life_h
    with (folder / "out" / "as_built.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [(r["slot"], r["below"], r["corner"]) for r in rows][3] == ("4", "yes", "3")
    assert float(rows[3]["utilisation"]) == sharp.utilisation
    assert (folder / "out" / "measured_radii.csv").read_text(encoding="utf-8") == RADII


def test_it_is_read_back_as_it_was(built):
    _, _, found, folder, _ = built
    assert read_as_built_result(folder / "out") == found
    assert read_as_built_result(folder) is None


def test_a_map_gives_each_slot_its_own_life(built):
    wanted, results, _, _, _ = built
    spare = {}
    for variant in results.variants:
        life = variant.life
        spare[variant.key] = life
        worse = 0.1 if variant.axes["corner_radius_mm"] == 12.0 else 0.0
        slots = tuple(
            MapSlot(n, (n + 1) // 2, 1, 0.0, 0.0, 0.0, f"place {n}", 1.0, 1000.0 * n, 0.9 + 0.02 * n + worse)
            for n in range(6, 0, -1)
        )
        vars(variant)["life"] = replace(life, map=DrumMap("", slots, (), (), "", ()))
    try:
        found = compared(wanted, results)
    finally:
        for variant in results.variants:
            vars(variant)["life"] = spare[variant.key]
    assert [s.utilisation for s in found.slots] == pytest.approx([0.92, 0.94, 0.96, 1.08, 1.0, 1.02])
    assert [s.utilisation_designed for s in found.slots] == pytest.approx([0.92, 0.94, 0.96, 0.98, 1.0, 1.02])
    assert found.below == (4, 6)
    assert [s.slot for s in found.slots if s.fell] == [4]
    assert [s.place for s in found.slots] == [f"place {n}" for n in range(1, 7)]
    assert any("as designed already: slots 6." in w for w in found.words)


def test_the_interval_between_looks_is_compared_too(built):
    wanted, results, _, _, _ = built
    spare = {v.key: v.life for v in results.variants}

    def cracked(interval_h, grows):
        turn = (TurnLine("turning", 3.0, 2.0, grows, ""),)
        return CrackLife("corner", 0.4, 2.0, 22.0, "toughness", (), (), 9e3, interval_h, turn, "", (), (), ())

    def looks(built_h, grows):
        for v in results.variants:
            sharp = v.axes["corner_radius_mm"] == 12.0
            cracks = (cracked(2548.0, False), cracked(built_h if sharp else 2484.0, grows and sharp))
            vars(v)["life"] = replace(spare[v.key], cracks=cracks)
        return compared(wanted, results)

    try:
        shorter, never = looks(2057.0, False), looks(None, True)
    finally:
        for v in results.variants:
            vars(v)["life"] = spare[v.key]
    assert [s.interval_h for s in shorter.slots] == [2400, 2400, 2400, 2000, 2400, 2400]
    assert "Between looks, by the growth of a crack: 2,000 h as built (slot 4), 2,400 h as designed." in shorter.words
    assert [s.interval_h for s in never.slots][3] is None
    assert any("slots 4: no interval between looks helps" in w for w in never.words)


def test_the_folder_of_the_drawn_drum_is_not_taken(built, tmp_path):
    wanted, _, _, _, _ = built
    (tmp_path / "out").mkdir()
    mark = '{"made by": "femdrum", "name": "small", "title": "Small mill"}'
    (tmp_path / "out" / "study.json").write_text(mark, encoding="utf-8")
    with pytest.raises(FileFault, match="belongs to another study"):
        run_as_built(wanted, tmp_path / "out", workers=1)


def test_without_a_life_peaks_are_compared_and_nothing_is_said_to_hold(built):
    wanted, results, _, _, _ = built
    bare = replace(wanted, study=replace(wanted.study, life=None))
    kept = [vars(v).pop("life", None) for v in results.variants]
    for v in results.variants:
        vars(v)["life"] = None
    try:
        found = compared(bare, results)
    finally:
        for v, life in zip(results.variants, kept, strict=True):
            vars(v)["life"] = life
    assert found.below == ()
    assert found.worst.slot == 4
    assert "No life was reckoned, so no slot is said to hold." in " ".join(found.words)
