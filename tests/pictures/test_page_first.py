"""The first page says which variant, why, how sure and what limits it, and no more than the bands allow."""

from dataclasses import replace
from math import inf

import pytest
from life_studies import LIFE_GRID, LIFE_PLATE, copied, made, with_lives, with_worst
from picture_studies import PLATE

from femdrum.assess.life_result import StaticRow
from femdrum.assess.life_words import hours
from femdrum.provenance import Kind
from femdrum.quantity import Quantity, Verdict
from femdrum.report.page_candidates import Candidate, candidates, higher, rivals, span
from femdrum.report.page_first import COVERAGE, first_page
from femdrum.report.words import variant_name, with_unit
from femdrum.study import run, study_from_text


@pytest.fixture(scope="module")
def life(tmp_path_factory):
    return made(LIFE_PLATE, "life-plate", tmp_path_factory)


def changed(results, change):
    """Results whose answers are changed by change(variant's number, answer)."""
    out = copied(results)
    vars(out)["variants"] = tuple(
        replace(v, answers=tuple(change(n, a) for a in v.answers)) for n, v in enumerate(results.variants)
    )
    return out


def with_peak(answer, value, band, verdict=Verdict.SETTLED):
    return replace(answer, peak=replace(answer.peak, value=value, band=band, verdict=verdict), verdict=verdict)


def lone(peak, band, name="x", **more):
    return Candidate(0, name, name, "pull", Quantity(peak, "MPa", band), band / abs(peak), None, None, "", **more)


def test_the_lowest_worst_peak_is_named_with_its_band_and_its_lead(plate):
    first = first_page(plate)
    worst = {v.key: max((a.peak for a in v.answers), key=lambda q: abs(float(q))) for v in plate.variants}
    best = min(plate.variants, key=lambda v: abs(float(worst[v.key])))
    assert first.key == best.key
    assert variant_name(best).lower() in first.which.lower()
    assert with_unit(worst[best.key]) in first.which
    assert "over 2 single loads" in first.which
    assert "is proven higher by at least" in first.which
    assert first.rows[0].chosen
    assert [row.chosen for row in first.rows] == [True, False, False]
    assert first.rows[0].standing == "lowest"
    assert all(row.standing.startswith("higher by at least") for row in first.rows[1:])
    assert "life was not looked at" in first.limit
    assert "3 of" not in first.sure  # nothing is missing


def test_every_number_of_the_table_stands_in_the_answers(plate):
    for row in first_page(plate).rows:
        variant = next(v for v in plate.variants if variant_name(v) == row.variant)
        peak = variant.answer(row.case).peak
        assert f"{row.peak} MPa" == with_unit(peak)
        limit = variant.inputs["material"]["yield_MPa"]
        assert row.use == f"{100 * (abs(float(peak)) + peak.band) / limit:.0f}"


def test_overlapping_bands_prove_nothing(plate):
    near = changed(plate, lambda n, a: with_peak(a, 200.0 + 1.5 * n, 1.0))
    first = first_page(near)
    assert first.which.startswith("No difference is proven between")
    assert [row.standing for row in first.rows] == [
        "lowest, not proven",
        "no difference proven",
        "higher by at least 0.49 %",
    ]
    apart = first_page(changed(plate, lambda n, a: with_peak(a, 200.0 + 2.5 * n, 1.0)))
    assert "is proven higher by at least 0.24 %" in apart.which  # 201.5 over 201


@pytest.mark.parametrize("k", [2.0, 0.5])
def test_the_choice_does_not_depend_on_the_scale_of_all_stresses(plate, k):
    scaled = changed(plate, lambda n, a: with_peak(a, k * a.peak.value, k * a.peak.band))
    assert first_page(scaled).key == first_page(plate).key
    assert [r.standing for r in first_page(scaled).rows] == [r.standing for r in first_page(plate).rows]


def test_compression_counts_by_its_size(plate):
    flipped = changed(plate, lambda n, a: with_peak(a, -a.peak.value, a.peak.band))
    assert first_page(flipped).key == first_page(plate).key
    assert "\u2212" in first_page(flipped).rows[0].peak


def test_sharp_corners_and_failures_have_no_number(plate):
    def gone(a, verdict):
        return replace(a, peak=Quantity(None, "MPa", None, verdict), verdict=verdict)

    some = first_page(changed(plate, lambda n, a: gone(a, Verdict.UNBOUNDED) if n == 0 else a))
    assert "1 of 3 variants have sharp corners and no number" in some.sure
    assert some.rows[-1].bad
    assert some.rows[-1].standing == "sharp corner: the peak is unbounded"
    every = first_page(changed(plate, lambda n, a: gone(a, Verdict.UNBOUNDED)))
    assert every.which == "No variant can be chosen: all corners are sharp, and theory has no finite peak there."
    assert every.key == ""
    assert "cannot be said" in every.limit
    failed = first_page(changed(plate, lambda n, a: gone(a, Verdict.FAILED) if n and a.case == "pull" else a))
    assert failed.which.endswith("no other variant has a number.")
    assert "2 of 3 variants have no solution for every case" in failed.sure
    none = first_page(changed(plate, lambda n, a: gone(a, Verdict.FAILED)))
    assert none.which == "No variant can be chosen: none has a number for every load."


def test_a_wide_band_is_said(plate):
    first = first_page(changed(plate, lambda n, a: replace(a, verdict=Verdict.NOT_SETTLED) if n == 1 else a))
    assert "1 of 3 variants have a wider band than asked" in first.sure


def test_yielding_limits(plate):
    limit = plate.variants[0].inputs["material"]["yield_MPa"]
    over = first_page(changed(plate, lambda n, a: with_peak(a, limit - 0.5 + 10 * n, 1.0)))  # its band passes yield
    assert "so the steel yields there locally" in over.limit
    below = first_page(changed(plate, lambda n, a: with_peak(a, limit - 2.0 + 10 * n, 1.0)))
    assert "yields" not in below.limit


def test_one_variant_chooses_nothing_and_lists_its_loads(tmp_path):
    text = PLATE.replace('[8, 20, "full"]', "20")
    one = run(study_from_text(text, name="one"), tmp_path / "one", workers=1)
    first = first_page(one)
    assert first.single
    assert first.which.startswith("Only one variant was asked, so nothing is chosen")
    assert {row.case for row in first.rows} == {"pull", "turn"}
    peaks = [abs(float(one.variants[0].answer(row.case).peak)) for row in first.rows]
    assert peaks == sorted(peaks, reverse=True)
    assert first.limit.startswith("What limits it: stress under")


def test_coverage_is_counted_from_the_study_or_told_of_rings(plate, ring):
    exact = [
        c for v in plate.variants for a in v.answers for c in a.comparisons if c.quantity.endswith("of this plate")
    ]
    inside = sum(abs(c.ours - c.value) <= c.band for c in exact)
    assert exact
    assert f"in {inside} of {len(exact)} cases" in first_page(plate).sure
    assert "of 302 peaks of other rings 98 % lay within such bands" in first_page(ring).sure
    assert COVERAGE.provenance.kind is Kind.COMPUTED
    assert round(100 * 296 / 302, 1) == COVERAGE.value


# Life


def test_the_longest_life_leads(life):
    first = first_page(life)
    lives = {v.key: v.life.places[0].life_h for v in life.variants}
    assert first.key == max(lives, key=lives.get)
    assert first.with_life
    assert first.which.startswith("None of 2 variants holds")  # as the study's own chapter says
    assert hours(lives[first.key]) in first.which
    assert "does" in first.limit
    assert "% of the damage" in first.limit


def test_a_life_that_holds_goes_before_a_longer_one_that_fails(life):
    def change(n, own):
        long = with_worst(own, life_h=9e6 if n == 0 else 3e5)
        return replace(long, verdict="does not hold" if n == 0 else "holds")

    first = first_page(with_lives(life, change))
    assert first.key == life.variants[1].key
    assert "lives longest of 2 variants and holds" in first.which
    assert "and does not hold" in first.which


def test_lives_whose_stress_bands_overlap_are_not_told_apart(life):
    near = first_page(with_lives(life, lambda n, own: with_worst(own, life_h=20_000.0 * (1 + 1e-4 * n))))
    assert "no difference is proven" in near.which
    assert near.rows[1].standing == "no difference proven"
    far = first_page(with_lives(life, lambda n, own: with_worst(own, life_h=20_000.0 * 50**n)))
    assert "no difference" not in far.which
    assert "of that life" in far.rows[1].standing


def test_endless_lives_are_told_by_their_safety(life):
    endless = with_lives(life, lambda n, own: with_worst(own, life_h=None, safety=3.0 - n))
    assert first_page(endless).key == life.variants[0].key
    assert candidates(endless)[0].outcome.order == (inf, 3.0)


def test_a_failing_static_proof_limits(life):
    def change(n, own):
        return replace(own, static=(StaticRow("pulled", 1.2, None, None, "", 400.0, True, ""),))

    first = first_page(with_lives(life, change))
    assert "the static proof, which fails under pulled" in first.limit
    assert first.rows[0].limit == "static proof"


def test_a_grid_of_variants_names_both_axes(tmp_path_factory):
    grid = made(LIFE_GRID, "life-grid", tmp_path_factory)
    first = first_page(grid)
    assert "grade S" in first.rows[0].variant
    assert len(first.rows) == 4
    assert first.rows_left == 0


# Spans


def test_spans_of_lives_follow_the_slope():
    from types import SimpleNamespace

    outcome = SimpleNamespace(order=(1000.0, 1.5), verdict="holds")
    c = lone(100.0, 1.0, outcome=outcome, slope=9.0)
    low, high = span(c)
    assert low == pytest.approx(1000 * 1.01**-9, rel=1e-12)
    assert high == pytest.approx(1000 * 0.99**-9, rel=1e-12)


def test_bands_that_just_touch_are_no_proof():
    a, b, c = lone(100.0, 1.0, "a"), lone(102.0, 1.0, "b"), lone(102.001, 1.0, "c")
    assert [r.name for r in rivals([a, b, c])] == ["b"]
    assert higher(c, a) == "higher by at least 0.00099 %"
    assert higher(lone(398.0, 0.0), lone(100.0, 1.0)) == "higher by at least 290 %"  # rounded down
