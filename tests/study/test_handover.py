"""What is handed over: numbers of slots, the drawing table with reasons, the order of looking, and when."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from handover_texts import TEXT, WITHOUT_LIFE

from femdrum.assess.handover import drawing_table, least_radius_mm
from femdrum.assess.handover_facts import Facts, utilisation
from femdrum.assess.handover_inspect import floor2, inspection
from femdrum.assess.handover_slots import CORNERS, by_row, corner_number, fits, numbering, numbering_without_drum
from femdrum.assess.life_result import (
    CrackLife,
    DrumMap,
    EndLife,
    Input,
    Lever,
    MapSlot,
    PlaceLife,
    ScatterLife,
    TurnLine,
    VariantLife,
    WeldSaid,
)
from femdrum.errors import InputFault
from femdrum.model.crack_input import CrackInput
from femdrum.model.cutout import Obround, Slot
from femdrum.model.drum import slots
from femdrum.model.finish import Finish
from femdrum.model.life_input import LifeInput
from femdrum.model.ring import Ring
from femdrum.model.scatter_input import ScatterInput
from femdrum.model.weld import WeldDetail
from femdrum.provenance import Kind
from femdrum.report.handover_slot import along
from femdrum.study import Results, run, study_from_text
from femdrum.study.drum_sheet import read_drum_sheet
from femdrum.study.handover import chosen, handed_over, handover_of, write_handover

WHOLE = Path(__file__).parents[2] / "studies" / "drum_whole.toml"
RING = Ring(
    outer_diameter_mm=780, wall_mm=40, pitch_mm=180, slots_around=2, rows="alternate", edge_break_mm=2,
    cutout=Slot(around_mm=60, axial_mm=110, corner_radius_mm=12),
)  # fmt: skip


def place(name, safety, slot=0, s=10.0, depth=5.0):
    return PlaceLife(
        name,
        slot,
        s,
        1.0,
        2.0,
        depth,
        "normal stress",
        0.0,
        1e-3,
        1e6 / safety,
        1e5,
        2e6,
        safety,
        (),
        300.0,
        -20.0,
        0.0,
        "",
    )


PLACES = (
    place("corner trailing/drive-end, wall", 2.0), place("corner trailing/drive-end, outer rim", 2.5), place("corner leading/free-end, bore rim", 4.0),
    place("leading flank, wall", 8.0), place("leading flank, bore rim", 10.0), place("trailing flank, wall", 5.0), place("free-end flank, wall", 6.25),
    place("drive-end flank, wall", 6.4),
)  # fmt: skip


def crack(name, interval, grows=False, words="look"):
    turn = (TurnLine("turning", 3.0, 2.0, grows, ""),)
    return CrackLife(name, 0.4, 2.0, 22.0, "toughness", (0.4, 22.0), (0.0, 9e3), 9e3, interval, turn, words, (), (), ())


def life(**changes):
    given = {
        "key": "abc", "target_h": 1e4, "survival": 0.975, "verdict": "holds", "words": "It lives.", "places": PLACES, "cycles": (), "rules": (),
        "levers": (Lever("edge dressed: Rz 12.5", 4.18), Lever("residual stress relieved", 2.2)), "edge": None, "knee_amplitude_MPa": 160.0, "knee_cycles": 1e6, "slope": 5.0, "beyond": "haibach",
        "stressed_area_mm2": 80.0, "equal_places": 20.0, "damage_stress_MPa": 60.0, "scale": (), "median_life_h": (), "static": (), "cracks": (), "welds": (), "map": None, "figures": (),
        "notes": (), "warnings": (), "not_checked": (),
    }  # fmt: skip
    return VariantLife(**(given | changes))


SCATTER = ScatterLife(
    "abc", 1e5, 1e6, 1e7, (), (), 0.004, 1e-5, (Input("corner radius", 0.1, 0.1, 5.0, 6.0),), "", 1.0, (), ()
)


def facts(**changes):
    given = {
        "ring": RING, "material": {"grade": "S355", "ultimate_MPa": 470.0}, "numbering": numbering_without_drum(RING, 10), "life": life(),
        "wanted": LifeInput(target_h=1e4, finish=Finish(process="flame cut", roughness_Rz_um=160, hardness_HV=320, residual_stress_MPa=80)),
    }  # fmt: skip
    return Facts(**(given | changes))


def lines(**changes):
    return {(c.feature, c.ask): c for c in drawing_table(facts(**changes))}


# slot numbers


def test_numbers_are_those_of_the_whole_drum_and_of_the_map():
    drum = read_drum_sheet(WHOLE).drum
    found = numbering(drum)
    for ours, theirs in zip(found.slots, slots(drum), strict=True):
        assert (ours.slot, ours.row, ours.around) == (theirs.number + 1, theirs.row + 1, theirs.around + 1)
        assert (ours.angle_deg, ours.along_mm, ours.z_mm, ours.x_mm) == (
            theirs.angle_deg,
            theirs.along_mm,
            theirs.z_mm,
            theirs.x_mm,
        )
        assert ours.opposite == theirs.opposite + 1
    assert found.corners_total == 80
    assert by_row(found.slots)[3] == (5, 6)
    assert found.along_from == "the shell's drive-side face"
    assert any("clockwise, seen from the drive end" in n for n in found.notes)


@pytest.mark.parametrize(
    ("rows", "turn", "around"), [("aligned", None, 3), ("alternate", None, 2), ("helical", 17.5, 4)]
)
def test_without_a_drum_the_pattern_of_the_ring_is_numbered_alike(rows, turn, around):
    ring = replace(RING, rows=rows, row_angle_deg=turn, slots_around=around)
    drum = replace(read_drum_sheet(WHOLE).drum, slots_around=around, row_angle_deg=0.0 if turn is None and rows == "aligned" else turn or 180 / around,
                   may_stay_open=True, hammer=None, slot_parts=())  # fmt: skip
    whole, bare = numbering(drum), numbering_without_drum(ring, drum.rows_total)
    for a, b in zip(whole.slots, bare.slots, strict=True):
        assert (a.slot, a.row, a.around, a.opposite) == (b.slot, b.row, b.around, b.opposite)
        assert b.angle_deg == pytest.approx(a.angle_deg, abs=1e-9)
        assert b.along_mm == pytest.approx(a.along_mm - drum.first_row_mm, abs=1e-9)
        assert b.z_mm is None
    assert bare.along_from == "the middle of row 1"


def test_a_drum_that_is_not_the_ring_is_refused_with_all_that_differs():
    drum = read_drum_sheet(WHOLE).drum
    fits(drum, RING)
    with pytest.raises(InputFault) as caught:
        fits(
            drum,
            replace(RING, wall_mm=42.0, pitch_mm=190.0, cutout=Slot(around_mm=62, axial_mm=110, corner_radius_mm=10)),
        )
    assert [f.field for f in caught.value.faults] == [
        "drum.wall_mm",
        "drum.pitch_mm",
        "drum.cutout.around_mm",
        "drum.cutout.corner_radius_mm",
    ]
    with pytest.raises(InputFault, match="rows do not stand as in the ring that was solved, aligned"):
        fits(drum, replace(RING, rows="aligned"))
    with pytest.raises(InputFault, match="obround"):
        fits(drum, replace(RING, cutout=Obround(around_mm=60, axial_mm=110)))


def test_corners_are_numbered_by_their_names():
    assert [corner_number(f"corner {c}, wall") for c in CORNERS] == [1, 2, 3, 4]
    assert corner_number("leading flank, wall") is None


# drawing table


def test_every_line_has_a_reason_and_says_where_it_is_from_and_open_ones_have_no_value():
    for c in drawing_table(facts()):
        assert c.reason
        assert c.words
        assert c.basis in {"from the study", *(k.value for k in Kind)}
        assert c.origin.startswith(c.basis)
        assert not (c.open and c.value is not None)
        if c.value is None:
            assert c.limit == ""


def test_the_least_radius_is_what_was_solved_less_the_tolerance_that_was_sampled():
    assert least_radius_mm(facts())[0] == 12.0
    wanted = replace(facts().wanted, scatter=ScatterInput(corner_radius_mm=1.5))
    value, why, how = least_radius_mm(facts(wanted=wanted, scatter=SCATTER))
    assert value == pytest.approx(10.5)
    assert "10.5 to 13.5 mm" in why
    assert "probability 0.004" in why
    assert "half of the drums outlive 100,000 h" in why
    assert how.kind is Kind.COMPUTED
    normal = replace(facts().wanted, scatter=ScatterInput(corner_radius_mm=0.5, corner_radius_distribution="normal"))
    assert least_radius_mm(facts(wanted=normal, scatter=SCATTER))[0] == pytest.approx(10.5)
    # a tolerance that was asked and whose scatter there is not supports nothing
    assert least_radius_mm(facts(wanted=wanted))[0] == 12.0


def test_a_sharp_corner_gets_no_radius():
    found = lines(ring=replace(RING, edge_break_mm=0.0, cutout=Slot(around_mm=60, axial_mm=110, corner_radius_mm=0)))
    assert found["corner arcs", "least radius"].open
    assert ("corner arcs", "inspection before service") not in found


def test_the_edge_is_asked_as_the_life_counted_it():
    found = lines()
    rough = found["edge of the slot", "roughness"]
    assert (rough.value, rough.limit, rough.basis) == (160, "at most", "from the study")
    assert found["edge of the slot", "hardness after cutting"].value == 320
    assert found["edge of the slot", "residual tension after cutting"].value == 80
    assert "2.2 times as long" in found["edge of the slot", "residual tension after cutting"].reason
    assert "4.18 times as long" in found["edge of the slot", "direction of grinding"].reason
    usual = lines(wanted=LifeInput(target_h=1e4, finish=Finish(process="plasma cut")))
    assert usual["edge of the slot", "roughness"].basis == Kind.COMMON_PRACTICE.value
    assert usual["edge of the slot", "roughness"].value == 100.0
    milled = lines(wanted=LifeInput(target_h=1e4, finish=Finish(process="milled")))
    assert ("edge of the slot", "hardness after cutting") not in milled
    dressed = lines(wanted=LifeInput(target_h=1e4, finish=Finish(process="flame cut", dressed=True, skin_depth_mm=0.5)))
    assert dressed["edge of the slot", "cut skin"].value == 0.5
    assert ("edge of the slot", "hardness after cutting") not in dressed


def test_a_hardness_that_nobody_declared_is_from_memory_and_says_so():
    found = lines(wanted=LifeInput(target_h=1e4, finish=Finish(process="flame cut")))[
        "edge of the slot", "hardness after cutting"
    ]
    assert found.value == 380.0
    assert found.basis == Kind.MEMORY.value
    assert "from memory, not confirmed" in found.origin
    assert "to be confirmed" in found.words


def test_the_cut_starts_on_the_least_used_flank():
    said = lines()["corner arcs", "start and stop of the cut"]
    assert "start on the leading flank" in said.words
    assert "utilisation 0.12 on the leading flank" in said.reason
    # where a flank is not named, none is known to be the least used
    fewer = life(places=tuple(p for p in PLACES if "trailing flank" not in p.name))
    assert said.words.split(";")[0] == lines(life=fewer)["corner arcs", "start and stop of the cut"].words


def test_rims_take_the_chamfer_that_was_solved_or_stay_open():
    found = lines()
    assert [found[rim, "edge break"].value for rim in ("rim outside", "rim at the bore")] == [2, 2]
    assert "utilisation 0.40 at the corner trailing/drive-end, outer rim" in found["rim outside", "edge break"].reason
    square = lines(ring=replace(RING, edge_break_mm=0.0))
    assert square["rim at the bore", "edge break"].open
    assert square["rim at the bore", "edge break"].value is None


def test_sizes_bridge_and_number_of_arcs():
    found = lines()
    assert found["slot ends", "bridge to the next row"].value == 70.0
    assert found["corner arcs", "inspection before service"].value == 80.0
    assert found["shell", "wall"].value == 40.0
    wanted = replace(facts().wanted, scatter=ScatterInput(wall_mm=0.7))
    assert lines(wanted=wanted, scatter=SCATTER)["shell", "wall"].value == pytest.approx(39.3)


def test_welds_stub_and_toughness():
    weld = WeldSaid(
        "bead", "toe, not load carrying", "hot spot", "toe", 100.0, 38.7, 3e5, (), False, "holds", "", (), ()
    )
    end = EndLife("", "holds", 166.0, 0.1, True, 1e7, 1e6, 1e7, 2.2, "fillet", (), (), (), (), (), (), ())
    wanted = replace(
        facts().wanted, crack=CrackInput(toughness_MPa_sqrt_m=80, lowest_temperature_C=-15),
        welds=(WeldDetail(name="bead", detail="toe, not load carrying", thickness_mm=40, place="near slot", distance_from_slot_mm=70),),
    )  # fmt: skip
    found = lines(
        life=life(welds=(weld,)), end=end, end_fillet_mm=16.0, end_finish=Finish(process="milled"), wanted=wanted
    )
    assert found["weld: bead", "class"].value == 100.0
    assert "does not stand clear" in found["weld: bead", "distance from a slot's end"].reason
    assert found["stub fillet", "least radius"].value == 16.0
    assert found["stub fillet", "roughness"].value == 12.5
    assert found["shell", "toughness"].value == 80
    bare = lines(drum_fillet_mm=18.0)["stub fillet", "least radius"]
    assert bare.open
    assert "[drum.drive_end] draws 18 mm" in bare.reason
    assert (
        "asked, and there is no life: too little memory"
        in lines(end_reason="too little memory")["stub fillet", "least radius"].reason
    )


def test_without_a_life_no_line_speaks_of_one():
    found = drawing_table(facts(life=None, wanted=None))
    assert all("utilisation" not in c.reason for c in found)
    assert {c.ask for c in found if c.open} >= {"roughness", "least radius"}


# the order of looking


def mapped(*much):
    return DrumMap(
        "",
        tuple(
            MapSlot(n, (n + 1) // 2, 1, 0.0, 0.0, 0.0, f"corner {CORNERS[n % 4]}, wall", 1.0, 1e5, u)
            for n, u in enumerate(much, 1)
        ),
        (),
        (),
        "",
        (),
    )


def test_slots_are_ranked_by_their_utilisation_and_equal_ones_share_a_rank():
    much = [0.5, 0.5 + 5e-5, 0.9, 1.2, 0.7, 0.9]
    numbers = numbering_without_drum(RING, 3)
    found = inspection(facts(life=life(map=mapped(*much)), numbering=numbers)).slots
    assert [(s.rank, s.slot) for s in found] == [(1, 4), (2, 3), (2, 6), (4, 5), (5, 2), (5, 1)]
    assert [s.row for s in found] == [2, 2, 3, 3, 1, 1]
    assert [s.corner for s in found] == [corner_number(s.place) for s in found]


@pytest.mark.parametrize("seed", range(6))
def test_ranks_follow_the_order_of_random_utilisations(seed):
    rng = np.random.default_rng(seed)
    much = rng.uniform(0.1, 1.4, 20).round(3)
    found = inspection(facts(life=life(map=mapped(*much)))).slots
    assert [s.utilisation for s in found] == sorted(much, reverse=True)
    for s in found:
        assert s.rank == 1 + sum(much > much[s.slot - 1] + 1e-9)


def test_slots_that_hardly_differ_are_said_to():
    close = inspection(facts(life=life(map=mapped(*np.linspace(0.5, 0.51, 20)))))
    assert any("the order says little, and no slot may be left out" in n for n in close.notes)
    far = inspection(facts(life=life(map=mapped(*np.linspace(0.3, 0.51, 20)))))
    assert not any("says little" in n for n in far.notes)


def test_without_a_map_all_slots_rank_alike_and_it_is_said():
    found = inspection(facts())
    assert {s.rank for s in found.slots} == {1}
    assert len(found.slots) == 20
    assert all(s.utilisation == 0.5 for s in found.slots)
    assert "no map was reckoned: all slots rank alike" in found.notes[0]


def test_places_are_ranked_with_corner_surface_and_how_to_get_at_them():
    found = inspection(facts(life=life(cracks=(crack("leading flank, bore rim", 2000.0),)))).places
    assert [p.place for p in found[:2]] == ["corner trailing/drive-end, wall", "corner trailing/drive-end, outer rim"]
    assert [p.rank for p in found] == list(range(1, len(found) + 1))
    assert [p.utilisation for p in found] == sorted((p.utilisation for p in found), reverse=True)
    assert (found[0].corner, found[0].surface) == (3, "wall")
    assert "hammer out" in found[0].reach
    assert [p.why for p in found if "crack" in p.why] == ["fatigue and crack"]


# when


def when(**changes):
    return inspection(facts(**changes)).looks


def test_the_interval_is_the_shortest_of_the_cracks_rounded_down():
    looks = when(life=life(cracks=(crack("a", 2548.4), crack("b", 2484.9, words="a third of 7,500 h"))))
    every = next(o for o in looks if o.when.startswith("every"))
    assert every.every_h == 2400.0
    assert every.when == "every 2,400 h"
    assert "b: a third of 7,500 h" in every.reason
    assert every.provenance.kind is Kind.COMPUTED


def test_where_what_comes_at_every_turn_grows_a_crack_no_interval_is_given():
    looks = when(life=life(cracks=(crack("a", None, grows=True, words="no interval can save it"), crack("b", 500.0))))
    assert all(not o.when.startswith("every") for o in looks)
    open_ = next(o for o in looks if o.open)
    assert "no interval helps" in open_.when
    assert "no interval can save it" in open_.reason
    assert any("[life.crack]" in o.reason and o.open for o in when())


def test_first_look_and_events_are_common_practice():
    looks = when(often={"a jam": 20.0, "a reversal": 0.0})
    first = next(o for o in looks if o.every_h == 50.0)
    assert first.provenance.kind is Kind.COMMON_PRACTICE
    event = next(o for o in looks if "jam" in o.when)
    assert "a jam 20 times" in event.reason
    assert "reversal" not in event.reason


@pytest.mark.parametrize(
    ("value", "down"),
    [(2548.0, 2500.0), (99.9, 99.0), (100.0, 100.0), (0.0, 0.0), (7.0, 7.0), (38_999.0, 38_000.0), (2400.0, 2400.0)],
)
def test_two_digits_downwards(value, down):
    assert floor2(value) == pytest.approx(down)


def test_utilisation_is_the_inverse_of_the_safety():
    assert utilisation(2.0) == 0.5
    assert utilisation(None) is None


# from a results folder


@pytest.fixture(scope="module")
def solved(tmp_path_factory):
    return run(study_from_text(TEXT, name="small"), tmp_path_factory.mktemp("small") / "out", workers=1)


def test_a_finished_study_is_handed_over(solved):
    made = handover_of(solved)
    assert made.facts.good
    assert len(made.numbering.slots) == 6
    assert [s.angle_deg for s in made.numbering.slots] == pytest.approx([0, 180, 90, 270, 180, 0])
    folder = solved.folder / "handover"
    written = write_handover(made, folder, caution="care")
    assert {p.name for p in written} == {p.name for p in folder.iterdir()}
    with (folder / "drawing.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(made.drawing)
    assert next(r for r in rows if r["ask"] == "least radius")["value"] == "20.0"
    assert next(r for r in rows if r["ask"] == "hardness after cutting")["basis"] == "from memory, not confirmed"
    with (folder / "slot_numbers.csv").open(encoding="utf-8") as file:
        assert [r["slot"] for r in csv.DictReader(file)] == list("123456")
    record = json.loads((folder / "handover.json").read_text(encoding="utf-8"))
    assert (record["holds"], record["caution"]) == (True, "care")
    with (folder / "radii_to_measure.csv").open(encoding="utf-8") as file:
        assert len(list(csv.DictReader(file))) == 24
    again = handed_over(Results.load(solved.folder))
    assert again is not None
    assert again.drawing == made.drawing


def test_names_of_corners_lie_where_their_numbers_say(solved):
    signs = {1: (1, 1), 2: (-1, 1), 3: (-1, -1), 4: (1, -1)}
    ring, seen = handover_of(solved).facts.ring, set()
    for p in solved.variants[0].life.places:
        number = corner_number(p.name)
        point, normal = along(ring.cutout, np.array([p.s_mm]))
        if number is not None:
            seen.add(number)
            assert (np.sign(p.x_mm), np.sign(p.y_mm)) == signs[number]
            assert tuple(np.sign(point[0])) == signs[number]
            assert np.all(np.sign(normal[0]) * signs[number] >= 0)
        if "wall" in p.name:
            assert point[0, 1] == pytest.approx(p.y_mm, abs=1e-3)
            # flanks are flat and parallel, x is unrolled at mid-wall
            radius = ring.outer_radius_mm - p.depth_mm
            assert point[0, 0] == pytest.approx(radius * np.sin(p.x_mm / ring.mid_radius_mm), abs=1e-3)
    assert seen == {1, 2, 3, 4}


def test_rings_without_rows_other_parts_and_unknown_variants_are_refused(solved, tmp_path):
    with pytest.raises(InputFault, match="is no variant of this study"):
        chosen(solved, "7")
    assert chosen(solved, "1").key == solved.variants[0].key
    bare = run(study_from_text(WITHOUT_LIFE, name="bare"), tmp_path / "bare", workers=1)
    with pytest.raises(InputFault, match="rows_total: is missing"):
        handover_of(bare)
    drum = replace(
        read_drum_sheet(WHOLE).drum, outer_diameter_mm=700, wall_mm=30, edge_break_mm=0.0, pitch_mm=200, rows_total=4, may_stay_open=True,
        cutout=Slot(around_mm=60, axial_mm=100, corner_radius_mm=20), hammer=None, slot_parts=(), mass_positions=(), masses=(),
    )  # fmt: skip
    made = handover_of(bare, drum=drum)
    assert len(made.numbering.slots) == 8
    assert not made.facts.good
    assert made.inspection.places[0].why == "peak"
    assert any("nothing here says how long" in w for w in made.warnings)
    assert made.facts.peaks[0].case == "running"
    with pytest.raises(InputFault, match="differs from rows_total = 3"):
        handover_of(solved, drum=drum)
