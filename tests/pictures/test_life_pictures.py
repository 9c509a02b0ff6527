"""Figures of life: whole, in words, and with the stored numbers where they are drawn."""

import csv
import math
from dataclasses import replace

import numpy as np
import pytest
from life_studies import LIFE_GRID, LIFE_PLATE, LIFE_RING, copied, made, with_lives, with_worst
from matplotlib.colors import to_rgba
from test_figures import check_picture

from femdrum import report
from femdrum.assess.life_result import CrackLife, Cycle, TurnLine
from femdrum.assess.life_words import hours
from femdrum.report import figures, style
from femdrum.report.life_axis import LifePicture
from femdrum.report.life_choice import extremes, longest, of_variant, outcomes
from femdrum.report.life_crack import CrackPicture, kept_together, said_well
from femdrum.report.life_draw import RowLooks, between, few, numbered, spread_out
from femdrum.report.life_edge import EdgeDamagePicture
from femdrum.report.life_figures import LIFE_KINDS
from femdrum.report.life_haigh import HaighPicture
from femdrum.report.life_sn import SNPicture
from femdrum.report.life_strength import equal_damage
from femdrum.report.life_tornado import SensitivityPicture
from femdrum.report.picture import NoData
from femdrum.report.places import place_name
from femdrum.strength.mean_stress import mean_sensitivity


@pytest.fixture(scope="module")
def plate(tmp_path_factory):
    return made(LIFE_PLATE, "life-plate", tmp_path_factory)


@pytest.fixture(scope="module")
def ring(tmp_path_factory):
    return made(LIFE_RING, "life-ring", tmp_path_factory)


@pytest.fixture(scope="module")
def grid(tmp_path_factory):
    return made(LIFE_GRID, "life-grid", tmp_path_factory)


def words_of(ax):
    """All that is written on axes and on what lies in them."""
    found = [t.get_text() for t in ax.texts] + [ax.get_title(loc="left"), ax.get_xlabel(), ax.get_ylabel()]
    legends = [c for c in ax.get_children() if type(c).__name__ == "Legend"]
    found += [t.get_text() for legend in legends for t in legend.get_texts()]
    found += [t.get_text() for t in [*ax.get_xticklabels(), *ax.get_yticklabels()]]
    return "\n".join([*found, *(words_of(c) for c in ax.child_axes)])


def crack(depth, after, **changes):
    """A crack; `turning` never reaches the threshold."""
    fields = {
        "place": "corner leading/free-end, wall", "initial_mm": 0.5, "detectable_mm": 2.0, "critical_mm": 20.0,
        "ends_by": "toughness", "depth_mm": tuple(depth), "hours": tuple(after), "life_h": 900.0, "interval_h": 200.0,
        "once_a_turn": (TurnLine("turning", 0.1, None, False, "stays below the threshold along the whole path"),),
        "inspection": "look every 2e+02 h, a third of the 600 h from 2 mm to 20 mm", "figures": (), "warnings": (), "notes": (),
    }  # fmt: skip
    return CrackLife(**(fields | changes))


# which variants, which figures


def test_the_report_draws_life_of_the_longest_and_the_shortest(plate, ring):
    best, worst = longest(outcomes(plate)).variant.key, extremes(outcomes(plate))[0].variant.key
    assert best != worst
    names = [n for n in report.list_figures(plate) if n.split("-")[0] in LIFE_KINDS]
    details = ["sn", "haigh", "damage", "sensitivity"]  # of a plate no path of a crack is stored
    assert names == ["life-over-corner_radius", *(f"{d}-{key}" for key in (best, worst) for d in details)]
    key = ring.variants[0].key
    names = [n for n in report.list_figures(ring) if n.split("-")[0] in LIFE_KINDS]
    assert names == [f"{d}-{key}" for d in ("sn", "haigh", "damage", "crack", "sensitivity")]


def test_a_longer_life_is_better_and_an_endless_one_the_best(plate):
    lives = [o.worst.life_h for o in outcomes(plate)]
    assert lives[1] > lives[0]
    changed = with_lives(plate, lambda n, life: life if n else with_worst(life, life_h=None))
    assert longest(outcomes(changed)).variant.key == plate.variants[0].key
    both = with_lives(plate, lambda n, life: with_worst(life, life_h=None, safety=2.0 + n))
    assert [o.variant.key for o in extremes(outcomes(both))] == [v.key for v in plate.variants]
    assert of_variant(plate)[0] is plate.variants[1]


def test_of_many_variants_lives_are_not_kept(plate, monkeypatch):
    from femdrum.report import life_choice

    monkeypatch.setattr(life_choice, "MANY", 1)
    fresh = type(plate).load(plate.folder)
    found = outcomes(fresh)
    assert [o.worst.life_h for o in found] == [o.worst.life_h for o in outcomes(plate)]
    assert not any("life" in vars(v) for v in fresh.variants)


def test_without_a_life_there_is_no_such_figure(plate, tmp_path_factory):
    from picture_studies import PLATE

    bare = made(PLATE.replace('[8, 20, "full"]', "20"), "no-life", tmp_path_factory)
    assert outcomes(bare) == []
    assert not {n.split("-")[0] for n in report.list_figures(bare)} & {*LIFE_KINDS}
    for kind in LIFE_KINDS:
        with pytest.raises(LookupError):
            report.draw(bare, kind)
    lost = with_lives(plate, lambda n, life: None)
    with pytest.raises(NoData):
        HaighPicture(lost)


# the map needs a drum around the ring: tests/study/test_drum_map.py draws it
@pytest.mark.parametrize("kind", [kind for kind in LIFE_KINDS if kind != "map"])
def test_every_kind_is_drawn_by_name(ring, plate, kind, tmp_path):
    where = plate if kind == "life" else ring
    picture = LIFE_KINDS[kind](where)
    assert figures.KINDS[kind] is LIFE_KINDS[kind]
    png, svg, data = picture.write(tmp_path)
    check_picture(png, picture.size_mm)
    text = svg.read_text(encoding="utf-8")
    wanted = {
        "life": ["corner radius (mm)", "life of the worst place (h)", "target", "P10", "P50", "P90", "Haibach", "elementary"],
        "sn": ["MPa", "knee", "97.5 % survive", "limit: the sum is 1", "all rows together", "Haibach", "elementary"],
        "haigh": ["(MPa)", "yield limit", "Goodman", "Gerber", "Morrow", "Smith, Watson, Topper", "asked", "million h",
                  "knee"],
        "damage": ["outer rim", "wall", "bore rim", "leading flank", "trailing flank", "worst: corner", "s (mm)",
                   "damage in 1,000 h (1)", "life at this place", "target: 10,000 h"],
        "crack": ["depth of the crack (mm)", "hours of the machine (h)", "flaw at the start, 0.5 mm", "critical",
                  "surely finds, 2 mm", "look every"],
        "sensitivity": ["loads", "strength", "%", "times", "median", "life of half of the drums (h)"],
    }[kind]  # fmt: skip
    if kind == "haigh":
        wanted.remove("million h")
    for words in wanted:
        assert words in text, words
    header, *rows = csv.reader(data.read_text(encoding="utf-8").splitlines())
    assert rows
    assert all(len(row) == len(header) for row in rows)
    (one,) = report.draw(where, kind, tmp_path / "one.svg")
    assert "<text" in one.read_text(encoding="utf-8")


def test_plates_are_drawn_whole_too(plate, tmp_path):
    for kind in ("sn", "haigh", "damage"):
        picture = LIFE_KINDS[kind](plate, 0)
        png, _, _ = picture.write(tmp_path)
        check_picture(png, picture.size_mm)


def test_the_same_figure_twice_is_the_same_file(ring, tmp_path):
    a, b = (report.draw(ring, "sn", tmp_path / f"{n}.svg")[0].read_bytes() for n in "ab")
    assert a == b


# Haigh


def test_cycles_come_back_to_their_stored_equivalent_amplitudes(plate, ring):
    for results in (plate, ring):
        for variant in results.variants:
            picture = HaighPicture(results, variant)
            for cycle in picture.cycles:
                again = picture.strength.equivalent_amplitude(cycle.amplitude_MPa, cycle.mean_MPa, picture.rule)
                assert float(again) == pytest.approx(cycle.equivalent_MPa, rel=1e-9)


def test_lines_of_equal_damage_meet_their_closed_forms(plate):
    picture = HaighPicture(plate, 0)
    strength, s = picture.strength, 180.0
    rm = strength.ultimate_MPa
    m = np.array([-100.0, 0.0, 50.0, 150.0, 300.0])
    up = np.maximum(m, 0.0)
    assert equal_damage(strength, "goodman", m, s) == pytest.approx(s * (1 - up / rm), rel=1e-9)
    assert equal_damage(strength, "gerber", m, s) == pytest.approx(s * (1 - (up / rm) ** 2), rel=1e-9)
    assert equal_damage(strength, "morrow", m, s) == pytest.approx(s * (1 - m / (1.5 * rm)), rel=1e-9)
    assert equal_damage(strength, "swt", m, s) == pytest.approx(-m / 2 + np.sqrt(m**2 / 4 + s**2), rel=1e-9)
    soft = replace(strength, skin_ultimate_MPa=None)
    own = float(mean_sensitivity(rm))
    a = equal_damage(soft, "fkm", np.array([0.0, s / (1 + own)]), s)
    assert a == pytest.approx([s, s / (1 + own)], rel=1e-9)  # pulsating: R = 0
    hard = float(mean_sensitivity(strength.skin_ultimate_MPa))
    assert hard > own
    assert equal_damage(strength, "fkm", np.array([s / (1 + hard)]), s) == pytest.approx([s / (1 + hard)], rel=1e-9)


def test_residual_stress_is_drawn_in_the_mean_and_not_in_the_lines(plate):
    picture = HaighPicture(plate, 1)
    limit = picture.strength.yield_MPa
    for cycle, mean in zip(picture.cycles, picture.mean, strict=True):
        left = mean - cycle.mean_MPa
        assert -1e-9 <= left <= 60.0 + 1e-9
        if left < 60.0 - 1e-9:  # yield has taken the rest
            assert mean + cycle.amplitude_MPa >= limit - 1e-9
    ax = picture.draw()
    drawn = sorted(
        float(c.get_offsets()[0][1])
        for c in ax.collections
        if len(c.get_offsets()) == 1 and hasattr(c, "get_sizes") and len(c.get_sizes())
    )
    assert drawn == pytest.approx(sorted(c.amplitude_MPa for c, _ in picture._drawn()))
    assert "mean stress with residual stress (MPa)" in words_of(ax)


def test_the_worst_cycles_have_the_largest_points_and_numbers(plate):
    picture = HaighPicture(plate, 0)
    assert [n.number for n in picture.numbered] == list(range(1, len(picture.numbered) + 1))
    shares = [n.share for n in picture.numbered]
    assert shares == sorted(shares, reverse=True)
    assert sum(c.damage_per_1000_h for c in picture.cycles) * shares[0] == pytest.approx(
        max(c.damage_per_1000_h for c in picture.cycles)
    )
    assert f"1: {picture.numbered[0].cycle.peak}" in words_of(picture.draw()).replace("\n", " ")


def test_yielding_that_outdoes_the_cycles_is_said(plate):
    def shorter(n, life):
        alone = sum(c.damage_per_1000_h for c in life.cycles)
        return with_worst(life, damage_per_1000_h=3 * alone, life_h=1000 / (3 * alone))

    changed = with_lives(plate, shorter)
    for kind in (HaighPicture, SNPicture):
        assert "Yielding does more damage there" in kind(changed, 0).caption
    same = with_lives(
        plate, lambda n, life: with_worst(life, damage_per_1000_h=sum(c.damage_per_1000_h for c in life.cycles))
    )
    assert "Yielding" not in HaighPicture(same, 0).caption


# S-N


def test_bars_add_up_to_the_damage_of_the_target_life(plate, ring):
    for results in (plate, ring):
        picture = SNPicture(results, 0)
        worst, target = picture.worst, picture.life.target_h
        assert sum(d for _, d in picture.damages()) == pytest.approx(picture.whole, rel=1e-9)
        assert picture.whole == pytest.approx(target / worst.life_h, rel=1e-9)
        ax = picture.draw()
        bars = ax.child_axes[1]
        ends = [p.get_x() + p.get_width() for p in bars.patches if p.get_height() < 0.7]
        assert ends[0] == pytest.approx(picture.whole, rel=1e-9)
        found = [d for _, d in picture.damages() if d > bars.get_xlim()[0]]
        assert ends[1 : len(found) + 1] == pytest.approx(found, rel=1e-9)
        assert few(picture.whole) in words_of(bars)


def test_cycles_in_the_table_use_up_what_they_say(plate):
    header, rows = SNPicture(plate, 1).table()
    at = {name: n for n, name in enumerate(header)}
    cycles = [r for r in rows if r[0] == "cycle"]
    assert cycles
    for row in cycles:
        if row[at["cycles_to_failure"]]:
            used = row[at["cycles_in_target_life"]] / row[at["cycles_to_failure"]]
            assert row[at["damage_in_target_life"]] == pytest.approx(used, rel=1e-6)


def test_both_continuations_leave_the_knee_with_their_slopes(plate):
    picture = SNPicture(plate, 0)
    curve = picture.draw().child_axes[0]
    lines = {line.get_label(): line for line in curve.lines if line.get_label().startswith("beyond")}
    assert len(lines) == 2
    for label, line in lines.items():
        n, s = (np.asarray(v, dtype=float) for v in line.get_data())
        slope = -math.log(n[0] / n[-1]) / math.log(s[0] / s[-1])
        assert slope == pytest.approx(9.0 if "Haibach" in label else 5.0, rel=1e-6)
        assert (n[-1], s[-1]) == pytest.approx((picture.life.knee_cycles, picture.life.knee_amplitude_MPa))
    (asked,) = [line for label, line in lines.items() if label.endswith("asked")]
    assert asked.get_linestyle() == "-"


def test_nothing_that_cycles_is_said(plate):
    still = with_lives(plate, lambda n, life: replace(life, cycles=()))
    for kind in (HaighPicture, SNPicture):
        with pytest.raises(NoData, match="cycles"):
            kind(still, 0)
    # what breaks at once is stored as no number
    broken = with_lives(plate, lambda n, life: with_worst(life, damage_per_1000_h=None, life_h=0.0))
    with pytest.raises(NoData, match="breaks at once"):
        SNPicture(broken, 0)
    assert HaighPicture(broken, 0).caption


# along the edge


def test_the_worst_place_lies_where_it_is_named(ring):
    picture = EdgeDamagePicture(ring, 0)
    ax = picture.draw()
    loop, worst = picture.loop, picture.worst
    words = place_name(picture.part, worst.s_mm, loop.total)
    sides = worst.name.partition(",")[0].removeprefix("corner ").split("/")
    assert all(side in words for side in sides)
    (note,) = [t for t in ax.texts if t.get_text().startswith("worst:")]
    assert note.xy == pytest.approx((loop.place(np.array([worst.s_mm]))[0], worst.damage_per_1000_h))
    assert hours(worst.life_h) in note.get_text()


def test_lines_hold_the_stored_damage(ring, plate):
    picture = EdgeDamagePicture(ring, 0)
    ax = picture.draw()
    drawn = {line.get_label(): line for line in ax.lines if not line.get_label().startswith("_")}
    low = ax.get_ylim()[0]
    for name, values in (
        ("outer rim", picture.edge.outer),
        ("wall, the most through it, first look", picture.edge.wall),
        ("bore rim", picture.edge.bore),
    ):
        shown = np.array(drawn[name].get_ydata())
        assert shown.max() == pytest.approx(max(values))
        assert np.sort(shown[:-1][shown[:-1] >= low]) == pytest.approx(np.sort([v for v in values if v >= low]))
    assert {line.get_label() for line in EdgeDamagePicture(plate, 0).draw().lines} >= {"edge", "place, edge"}


def test_the_right_axis_is_a_thousand_hours_over_the_damage(ring):
    ax = EdgeDamagePicture(ring, 0).draw()
    (right,) = ax.child_axes
    labels = {
        round(math.log10(y)): t.get_text() for y, t in zip(right.get_yticks(), right.get_yticklabels(), strict=True)
    }
    assert labels[-1] == "10,000 h"
    assert labels[-2] == "100,000 h"
    assert all(text for decade, text in labels.items() if decade >= -6)


def test_an_edge_without_damage_is_not_drawn(plate):
    def clean(n, life):
        zeros = (0.0,) * len(life.edge.s_mm)
        return replace(life, edge=replace(life.edge, outer=zeros))

    with pytest.raises(NoData, match="nothing on this edge"):
        EdgeDamagePicture(with_lives(plate, clean), 0)
    with pytest.raises(NoData):
        EdgeDamagePicture(with_lives(plate, lambda n, life: replace(life, edge=None)), 0)

    # a place that breaks at once is left out of the lines
    def broken(n, life):
        return replace(life, edge=replace(life.edge, outer=(None, *life.edge.outer[1:])))

    assert EdgeDamagePicture(with_lives(plate, broken), 0).draw().lines


# cracks


def test_stored_cracks_end_at_their_critical_depth(ring):
    picture = CrackPicture(ring)
    ax = picture.draw()
    ends = [line for line in ax.lines if line.get_marker() == "X"]
    assert len(ends) == len(picture.cracks) == 2
    for line, one in zip(ends, picture.cracks, strict=True):
        assert (line.get_xdata()[0], line.get_ydata()[0]) == pytest.approx((one.life_h, one.critical_mm))
    text = words_of(ax).replace("\u00a0", " ").replace("\n", " ")
    assert f"after {hours(picture.cracks[0].life_h)}" in text
    assert f"look every {hours(picture.cracks[0].interval_h)}" in text
    assert "e+0" not in text


def test_inspections_begin_where_a_crack_is_found(ring):
    course = np.geomspace(0.5, 20.0, 41)
    grown = with_lives(ring, lambda n, life: replace(life, cracks=(crack(course, np.linspace(0, 900, 41)),)))
    ax = CrackPicture(grown).draw()
    (marks,) = [line for line in ax.lines if line.get_markerfacecolor() == "white" and line.get_linestyle() == "None"]
    times, depths = marks.get_data()
    assert depths[0] == pytest.approx(2.0)
    assert np.diff(times) == pytest.approx(200.0)
    assert times[-1] <= 900.0
    assert f"look every {hours(200.0)}" in words_of(ax)


def test_cracks_that_do_not_grow_are_said(ring, tmp_path):
    still = crack([0.5], [0.0], life_h=None, interval_h=None, inspection="a crack of 2 mm does not grow")
    stops = crack([0.5, 1.0, 1.5], [0.0, 100.0, 900.0], place="corner b", life_h=None, interval_h=None)
    broken = crack([0.5], [0.0], place="corner c", life_h=0.0, critical_mm=0.4, interval_h=None)
    ax = CrackPicture(with_lives(ring, lambda n, life: replace(life, cracks=(still,)))).draw()
    assert "no row of the duty grows any of these flaws" in words_of(ax)
    picture = CrackPicture(with_lives(ring, lambda n, life: replace(life, cracks=(still, stops, broken))))
    text = words_of(picture.draw()).replace("\u00a0", " ").replace("\n", " ")
    for words in ("does not grow", "stops at 1.5 mm", "critical at once (0.4 mm, toughness)"):
        assert words in text
    png, _, _ = picture.write(tmp_path)
    check_picture(png, picture.size_mm)
    with pytest.raises(NoData):
        CrackPicture(with_lives(ring, lambda n, life: replace(life, cracks=())))


# over an axis


def test_lives_stand_over_their_radius(plate):
    picture = LifePicture(plate)
    assert picture.name == "life-over-corner_radius"
    ax = picture.draw()
    main = next(
        line
        for line in ax.lines
        if line.get_marker() == style.LOOKS[0].marker and line.get_markerfacecolor() != "white"
    )
    plain = next(line for line in ax.lines if line.get_markerfacecolor() == "white")
    found = [o.worst for o in outcomes(plate)]
    assert main.get_xdata() == pytest.approx([8.0, 20.0])
    assert main.get_ydata() == pytest.approx([w.life_h for w in found])
    assert plain.get_ydata() == pytest.approx([w.life_elementary_h for w in found])
    bars = [line.get_ydata() for line in ax.lines if line.get_linewidth() == 6.0]
    assert np.array(bars) == pytest.approx(np.array([(s.p10_h, s.p90_h) for s in plate.scatter.values()]))
    text = words_of(ax)
    assert all(hours(w.life_h) in text for w in found)
    header, rows = picture.table()
    assert [r[header.index("life_h")] for r in rows] == [w.life_h for w in found]


def test_endless_lives_are_words(plate):
    changed = with_lives(plate, lambda n, life: with_worst(life, life_h=None, life_elementary_h=None) if n else life)
    vars(changed)["scatter"] = {}
    picture = LifePicture(changed)
    assert "endless" in words_of(picture.draw())
    assert "P10" not in words_of(picture.draw())
    assert picture.table()[1][1][2] is None


def test_only_one_continuation_where_elementary_is_asked(plate):
    changed = with_lives(plate, lambda n, life: replace(life, beyond="elementary"))
    text = words_of(LifePicture(changed).draw())
    assert "slope k on beyond the knee (elementary)" in text
    assert "Haibach" not in text


def test_other_axes_make_lines_and_names_make_categories(grid, tmp_path):
    picture = LifePicture(grid)
    text = words_of(picture.draw())
    assert all(grade in text for grade in ("S235", "S355"))
    drawn = [line for line in picture.draw().lines if line.get_marker() in {look.marker for look in style.LOOKS[:2]}]
    colours = {to_rgba(line.get_color()) for line in drawn}
    assert colours == {to_rgba(look.colour) for look in style.LOOKS[:2]}
    by_name = LifePicture(grid, "grade")
    assert {"S235", "S355"} <= set(words_of(by_name.draw()).split("\n"))
    for one in (picture, by_name):
        png, _, _ = one.write(tmp_path)
        check_picture(png, one.size_mm)
    with pytest.raises(KeyError, match="no axis"):
        LifePicture(grid, "nonsense")


def test_one_variant_makes_no_line(ring):
    with pytest.raises(NoData, match="one variant"):
        LifePicture(ring)


# sensitivity


def test_bars_run_between_the_ends_of_each_input(ring):
    picture = SensitivityPicture(ring)
    totals = [i.total for i in picture.inputs]
    assert totals == sorted(totals, reverse=True)
    ax = picture.draw()
    for n, (bar, one) in enumerate(zip(ax.patches, picture.inputs, strict=True)):
        low, high = sorted(10.0**v for v in (one.at_p10, one.at_p90))
        assert bar.get_y() + 0.5 * bar.get_height() == pytest.approx(n)
        assert (bar.get_x(), bar.get_x() + bar.get_width()) == pytest.approx((low, high))
    text = words_of(ax)
    assert f"{100 * totals[0]:.0f} %" in text
    assert f"median {hours(picture.median_h)}" in text


def test_an_input_whose_end_is_endless_is_said(ring):
    changed = copied(ring)
    first = next(iter(ring.scatter.values()))
    inputs = (replace(first.inputs[0], at_p10=None), *first.inputs[1:])
    vars(changed)["scatter"] = {first.key: replace(first, inputs=inputs)}
    assert "endless at one end" in words_of(SensitivityPicture(changed).draw())
    vars(changed)["scatter"] = {}
    with pytest.raises(NoData):
        SensitivityPicture(changed)


# words and looks


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0258, "0.026"), (5564.9, "5,600"), (3.2e6, "3.2 million"), (0.0, "0"), (7.9e-6, "7.9 · 10\u207b\u2076"),
        (2.466e12, "2.5 · 10\u00b9\u00b2"), (0.00999, "0.01"), (99.6, "100"), (-0.5, "\u22120.5"), (None, "no number"),
        (math.inf, "no number"),
    ],
)  # fmt: skip
def test_few_digits(value, text):
    assert few(value) == text


def test_few_is_within_its_two_digits():
    for value in np.random.default_rng(3).uniform(-5, 8, 300):
        text = few(10.0**value)
        if "10" not in text or "·" not in text:
            number = float(text.replace(",", "").replace(" million", "e6"))
            assert number == pytest.approx(10.0**value, rel=0.051)


def test_between_joins_what_reads_the_same():
    assert between(9.57, 11.75) == "9.6 to 12"
    assert between(9.57, 9.61) == "9.6"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("look every 3.35e+03 h, a third of the 1.01e+04 h", "look every 3,400 h, a third of the 10,000 h"),
        ("more than 1,000,000 times in 1,000 h", "more than 1,000,000 times in 1,000 h"),
        ("leaves -123 MPa, slope k-1", "leaves \u2212123 MPa, slope k-1"),
        ("below 2 hits", "below 2 hits"),
    ],
)
def test_hours_and_minus_signs_are_said_well(text, said):
    assert said_well(text) == said


def test_numbers_stay_with_their_units():
    assert kept_together("look every 340 h from 2 mm, 12 % of 5 hits") == (
        "look every 340\u00a0h from 2\u00a0mm, 12\u00a0% of 5 hits"
    )


def test_labels_are_spread_out_in_their_order():
    rng = np.random.default_rng(11)
    for _ in range(200):
        wanted = rng.uniform(0, 10, rng.integers(1, 9)).tolist()
        least = float(rng.uniform(0.1, 2.0))
        found = spread_out(wanted, least, 0.0, 10.0)
        order = np.argsort(wanted, kind="stable")
        gaps = np.diff(np.array(found)[order])
        room = 10.0 / max(1, len(wanted) - 1)
        assert np.all(gaps >= min(least, room) - 1e-9)
        assert min(found) >= -1e-9
        assert max(found) <= 10.0 + 1e-9
    assert spread_out([1.0, 5.0], 0.5, 0.0, 10.0) == [1.0, 5.0]


def test_sixteen_rows_of_a_duty_have_looks_of_their_own():
    looks = RowLooks([f"row {n}" for n in range(16)])
    found = {(m["marker"], m["markerfacecolor"]) for m in (looks.marker(row) for row in looks.rows)}
    assert len(found) == 16
    assert looks.look("row 8")[1] is False


def test_only_cycles_that_count_have_a_number():
    cycles = [Cycle("a", "b", 100.0, 0.0, 1.0, 100.0, 1e6, d) for d in (1e-3, 5e-6, 2e-4, 1e-4)]
    found = numbered(cycles)
    assert [n.cycle.damage_per_1000_h for n in found] == [1e-3, 2e-4, 1e-4]
    assert found[0].words(100.0) == "1: a, down to b, 100 MPa, 77 %"
    assert numbered([replace(cycles[0], damage_per_1000_h=0.0)]) == []
