"""Conditions: vectors add, the worst angle beats every other angle, shares add up, equal peaks are counted once."""

from __future__ import annotations

import math

import numpy as np
import pytest

from femdrum.assess.combine import LoadVectors, add_up, load_vectors, turning_range, worst_angle
from femdrum.assess.combine_peaks import adding_maxima, equal_peaks, shares
from femdrum.edge import EdgeStress, UnitCase, principal
from femdrum.quantity import Verdict

ZERO = np.zeros(3)


def smooth(rng: np.random.Generator, cases: int = 3, slots: int = 2, n: int = 96, depths: int = 5) -> EdgeStress:
    """Random smooth stress along the edge of a 60 x 120 ellipse: a few waves around, straight lines through the wall."""
    angle = 2 * np.pi * np.arange(n) / n
    waves = np.stack([np.ones(n), *(f(k * angle) for k in (1, 2, 3, 4) for f in (np.cos, np.sin))], -1)
    depth = np.linspace(0.0, 40.0, depths)
    shape = np.stack([np.ones(depths), depth / 40.0 - 0.5])
    amplitude = rng.normal(size=(cases, slots, 3, waves.shape[1], 2))
    stress = np.einsum("sw,xd,ckiwx->cksdi", waves, shape, amplitude)
    place = np.zeros((n, depths, 3))
    place[..., 0], place[..., 1], place[..., 2] = 30 * np.cos(angle)[:, None], 60 * np.sin(angle)[:, None], depth
    return EdgeStress(
        cases=tuple(UnitCase(f"case {i}", "MPa", "test") for i in range(cases)),
        s_mm=np.cumsum(np.full(n, 3.0)) - 3.0,
        depth_mm=depth,
        offset_mm=np.zeros(depths),
        place_mm=place,
        area_mm2=np.ones((n, depths)),
        stress=stress,
        step=1e-3 * stress,
        pressure=np.zeros((cases, slots, n, depths)),
        earlier=1e-2 * stress,
    )


def one_place(*states: tuple[float, float, float], pressure: tuple[float, ...] = ()) -> EdgeStress:
    """The same stress at every place, one case a state."""
    stress = np.broadcast_to(np.array(states, dtype=float)[:, None, None, None, :], (len(states), 1, 8, 1, 3)).copy()
    push = np.array(pressure or [0.0] * len(states))[:, None, None, None] * np.ones((1, 1, 8, 1))
    angle = 2 * np.pi * np.arange(8) / 8
    place = np.stack([np.cos(angle), np.sin(angle), 0 * angle], -1)[:, None, :]
    return EdgeStress(
        cases=tuple(UnitCase(f"case {i}", "MPa", "test") for i in range(len(states))),
        s_mm=angle, depth_mm=np.zeros(1), offset_mm=np.zeros(1), place_mm=place, area_mm2=np.ones((8, 1)),
        stress=stress, step=0 * stress, pressure=push,
    )  # fmt: skip


def sampled_peak(edge: EdgeStress, factors: np.ndarray) -> float:
    surface = edge.combine(factors)
    high, low = surface.principal()
    return float(np.max(np.maximum(np.maximum(np.abs(high), np.abs(low)), np.abs(surface.pressure))))


@pytest.mark.parametrize("seed", range(6))
def test_no_angle_is_worse_than_the_worst(seed: int) -> None:
    rng = np.random.default_rng(seed)
    edge = smooth(rng)
    steady, cosine, sine = rng.normal(size=(3, 3)) * np.array([[0.5], [1.0], [1.0]])
    worst = worst_angle(edge, steady, cosine, sine)
    turn = np.linspace(0, 2 * np.pi, 721)
    scan = [sampled_peak(edge, steady + math.cos(p) * cosine + math.sin(p) * sine) for p in turn]
    assert abs(worst.sample_MPa) >= max(scan) * (1 - 1e-12)
    assert abs(worst.sample_MPa) == pytest.approx(max(scan), rel=1e-4)
    assert 0 <= worst.phi_rad < 2 * np.pi
    assert worst.factors == pytest.approx(
        steady + math.cos(worst.phi_rad) * cosine + math.sin(worst.phi_rad) * sine, abs=1e-12
    )
    assert sampled_peak(edge, worst.factors) == pytest.approx(abs(worst.sample_MPa), rel=1e-12)
    peak = edge.combine(worst.factors).peaks().peak
    assert math.copysign(1, float(peak)) == math.copysign(1, worst.sample_MPa)


def test_a_state_that_does_not_turn_has_angle_zero() -> None:
    edge = smooth(np.random.default_rng(7))
    steady = np.array([1.0, -0.5, 0.2])
    worst = worst_angle(edge, steady, ZERO, ZERO)
    assert worst.phi_rad == 0.0
    assert np.array_equal(worst.factors, steady)
    assert abs(worst.sample_MPa) == pytest.approx(sampled_peak(edge, steady), rel=1e-12)
    nothing = worst_angle(edge, ZERO, ZERO, ZERO)
    assert (nothing.phi_rad, nothing.sample_MPa, nothing.factors.tolist()) == (0.0, 0.0, [0.0, 0.0, 0.0])


def test_a_moment_that_stands_in_space_is_worst_where_its_tension_meets_the_place() -> None:
    # case 0: bending with tension at this place, case 1: at a quarter turn from it, where this place feels nothing
    edge = one_place((2.0, 0.0, 0.0), (0.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    for direction in (0.0, 0.7, 2.5, 4.0, 6.0):
        # drum coordinates: a moment at `direction` in space appears at direction - phi
        cosine = np.array([math.cos(direction), math.sin(direction), 0.0])
        sine = np.array([math.sin(direction), -math.cos(direction), 0.0])
        worst = worst_angle(edge, ZERO, cosine, sine)
        assert worst.phi_rad == pytest.approx(direction, abs=1e-9)
        assert worst.sample_MPa == pytest.approx(2.0, rel=1e-12)
        # with a steady pressing the worst is half a turn later, where bending presses too
        pressed = worst_angle(edge, np.array([0.0, 0.0, -1.0]), cosine, sine)
        assert pressed.phi_rad == pytest.approx((direction + math.pi) % (2 * math.pi), abs=1e-9)
        assert pressed.sample_MPa == pytest.approx(-3.0, rel=1e-12)


def test_bending_and_torsion_of_one_place_in_closed_form() -> None:
    # steady shear t, turning tension s cos(phi): largest principal s/2 + hypot(s/2, t) at phi = 0
    edge = one_place((0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    worst = worst_angle(edge, [40.0, 0.0], [0.0, 60.0], [0.0, 0.0])
    assert worst.phi_rad == pytest.approx(0.0, abs=1e-7)
    assert worst.sample_MPa == pytest.approx(30 + math.hypot(30, 40), rel=1e-12)


def test_turning_pressure_counts_as_the_third_principal_stress() -> None:
    edge = one_place((1.0, 0.0, 0.0), (0.0, 0.0, 0.0), pressure=(0.0, 5.0))
    worst = worst_angle(edge, [2.0, 1.0], [0.0, 0.0], [0.0, 1.0])
    assert worst.phi_rad == pytest.approx(0.5 * math.pi)
    assert worst.sample_MPa == pytest.approx(-10.0)


@pytest.mark.parametrize("seed", range(4))
def test_range_over_a_turn_is_the_largest_of_all_places_and_directions(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    edge = smooth(rng)
    steady, cosine, sine = rng.normal(size=(3, 3))
    found = turning_range(edge, steady, cosine, sine)
    turn = np.linspace(0, 2 * np.pi, 361)
    factors = steady + np.cos(turn)[:, None] * cosine + np.sin(turn)[:, None] * sine
    stress = np.tensordot(factors, edge.stress, 1)
    largest = 0.0
    for direction in np.linspace(0, np.pi, 90, endpoint=False):
        c, s = math.cos(direction), math.sin(direction)
        normal = stress @ np.array([c * c, s * s, 2 * s * c])
        largest = max(largest, float(np.max(np.ptp(normal, axis=0))))
    # the range is read between samples too, so it may be a little larger
    assert largest <= float(found.range) * (1 + 1e-9)
    assert float(found.range) == pytest.approx(largest, rel=5e-3)
    at = found.at
    assert at is not None
    c, s = math.cos(found.direction_rad), math.sin(found.direction_rad)
    here = stress[:, at.slot, at.s_index, at.d_index] @ np.array([c * c, s * s, 2 * s * c])
    assert np.ptp(here) == pytest.approx(float(found.range), rel=5e-3)
    assert 0.5 * (here.max() + here.min()) == pytest.approx(found.mean_MPa, abs=2e-3 * float(found.range))
    assert turn[np.argmax(here)] == pytest.approx(found.phi_rad, abs=0.02)


def test_range_of_one_component_in_closed_form_with_its_band() -> None:
    edge = one_place((3.0, 0.0, 0.0), (4.0, 0.0, 0.0), (7.0, 0.0, 0.0))
    found = turning_range(edge, [0, 0, 1.0], [1.0, 0, 0], [0, 1.0, 0])
    assert float(found.range) == pytest.approx(10.0, rel=1e-12)
    assert found.mean_MPa == pytest.approx(7.0)
    assert found.direction_rad % math.pi == pytest.approx(0.0, abs=1e-7)
    assert found.phi_rad == pytest.approx(math.atan2(4, 3))
    shear = turning_range(one_place((0.0, 0.0, 1.0)), [0.0], [2.0], [0.0])
    assert float(shear.range) == pytest.approx(4.0, rel=1e-12)
    assert shear.direction_rad % (0.5 * math.pi) == pytest.approx(0.25 * math.pi)
    still = turning_range(edge, [1.0, 1.0, 1.0], ZERO, ZERO)
    assert (float(still.range), still.at, still.range.verdict) == (0.0, None, Verdict.EXACT)


def test_band_of_a_range_is_that_of_its_change_between_meshes() -> None:
    edge = smooth(np.random.default_rng(3))
    found = turning_range(edge, ZERO, [1.0, 0, 0], [0, 1.0, 0], asked=1e-4)
    # every component changed by 0.1 % on the last mesh and by 1 % before, of which a fifth counts
    assert found.range.band == pytest.approx(2e-3 * float(found.range), rel=0.1)
    assert found.range.verdict is Verdict.NOT_SETTLED
    assert turning_range(edge, ZERO, [1.0, 0, 0], [0, 1.0, 0], asked=0.01).range.verdict is Verdict.SETTLED


def test_rotating_bending_has_range_of_twice_the_bending_peak() -> None:
    # uniaxial places: then range over a turn = 2 x largest |stress| over the turn
    edge = smooth(np.random.default_rng(5))
    along = edge.stress.copy()
    along[..., 1:] = 0.0
    edge = EdgeStress(**{**vars(edge), "stress": along, "step": 0 * along, "earlier": 0 * along})
    worst = worst_angle(edge, ZERO, [1.0, 0, 0], [0, 1.0, 0])
    top = edge.combine(worst.factors).peaks().peak
    assert float(turning_range(edge, ZERO, [1.0, 0, 0], [0, 1.0, 0]).range) == pytest.approx(
        2 * abs(float(top)), rel=1e-3
    )


def test_conditions_add_vectors() -> None:
    names = ["rotation", "bending_x", "bending_y"]
    running = load_vectors(names, "running", {"rotation": 10.0})
    weight = load_vectors(names, "weight", {}, cosine={"bending_x": 2.0}, sine={"bending_y": -2.0})
    both = add_up("full speed", [running, weight], [1.0, 0.5])
    assert (running.turns, weight.turns, both.turns) == (False, True, True)
    assert both.at(0.3) == pytest.approx([10.0, math.cos(0.3), -math.sin(0.3)])
    assert both.at(0.3) == pytest.approx(running.at(0.3) + 0.5 * weight.at(0.3))
    with pytest.raises(KeyError, match="known: rotation, bending_x"):
        load_vectors(names, "x", {"rotatoin": 1.0})
    with pytest.raises(ValueError, match="2 loads and 1 shares"):
        add_up("x", [running, weight], [1.0])
    with pytest.raises(ValueError, match="3 unit cases"):
        worst_angle(smooth(np.random.default_rng(0)), [1.0], [0.0], [0.0])


@pytest.mark.parametrize("seed", range(5))
def test_shares_add_up_to_the_combined_stress_at_the_place(seed: int) -> None:
    rng = np.random.default_rng(200 + seed)
    edge = smooth(rng)
    loads = [LoadVectors(f"load {i}", *rng.normal(size=(3, 3))) for i in range(4)]
    portions = rng.uniform(-1, 2, 4)
    condition = add_up("all", loads, portions)
    phi = worst_angle(edge, condition.steady, condition.cosine, condition.sine).phi_rad
    vectors = np.array([load.times(p).at(phi) for load, p in zip(loads, portions, strict=True)])
    combined = edge.combine(condition.at(phi))
    peaks = combined.peaks()
    for tension, spot in ((None, peaks.at), (True, peaks.tension_at), (False, peaks.compression_at)):
        assert spot is not None
        found = shares(edge.combine(vectors), combined, spot, [load.name for load in loads], tension=tension)
        high, low = principal(combined.stress[0, spot.slot, spot.s_index, spot.d_index])
        wanted = (high if abs(high) >= abs(low) else low) if tension is None else (high if tension else low)
        assert sum(s.stress_MPa for s in found) == pytest.approx(wanted, rel=1e-10)
        assert sum(s.fraction or 0.0 for s in found) == pytest.approx(1.0, rel=1e-10)
        assert [s.load for s in found] == ["load 0", "load 1", "load 2", "load 3"]


def test_shares_of_a_pressed_place_and_of_loads_that_do_not_add_up() -> None:
    edge = one_place((1.0, 0.0, 0.0), (0.0, 0.0, 0.0), pressure=(0.0, 5.0))
    combined = edge.combine([2.0, 1.0])
    spot = combined.peaks().at
    assert spot is not None
    parts = shares(edge.combine([[2.0, 0.0], [0.0, 1.0]]), combined, spot, ["pull", "press"])
    assert [(p.stress_MPa, p.fraction) for p in parts] == [(0.0, 0.0), (-5.0, 1.0)]
    with pytest.raises(ValueError, match="do not add up"):
        shares(edge.combine([[2.0, 0.0], [0.0, 0.5]]), combined, spot, ["pull", "press"])
    with pytest.raises(ValueError, match="1 names for 2 loads"):
        shares(edge.combine([[2.0, 0.0], [0.0, 1.0]]), combined, spot, ["pull"])


@pytest.mark.parametrize("seed", range(5))
def test_adding_maxima_is_never_below_the_truth(seed: int) -> None:
    rng = np.random.default_rng(300 + seed)
    edge = smooth(rng)
    vectors = rng.normal(size=(3, 3))
    found = adding_maxima(edge, vectors)
    assert found.excess is not None
    assert found.excess > -1e-3  # but for the reading between samples
    assert float(found.total) == pytest.approx(sum(abs(float(edge.combine(v).peaks().peak)) for v in vectors))
    assert found.total.band == pytest.approx(sum(q.band or 0.0 for q in found.separate))
    assert float(found.combined) == pytest.approx(float(edge.combine(vectors.sum(axis=0)).peaks().peak))
    assert "Adding the separate peaks of the 3 loads" in found.words


def test_adding_maxima_in_words() -> None:
    edge = one_place((100.0, 0.0, 0.0), (0.0, 100.0, 0.0))
    assert "no difference here" in adding_maxima(edge, [[1.0, 0.0], [2.0, 0.0]]).words
    assert "50 % above the" in adding_maxima(edge, [[2.0, 0.0], [0.0, 1.0]]).words
    assert "5 times the" in adding_maxima(edge, [[3.0, 0.0], [-2.0, 0.0]]).words
    cancelled = adding_maxima(edge, [[1.0, 0.0], [-1.0, 0.0]])
    assert cancelled.excess is None
    assert "cancel" in cancelled.words
    assert adding_maxima(edge, [1.0, 0.0]).words.startswith("One load")


def lines(*heights: np.ndarray) -> EdgeStress:
    """Slots of a 60 x 120 ellipse with these stresses along the edge."""
    n = heights[0].size
    angle = 2 * np.pi * np.arange(n) / n
    stress = np.zeros((1, len(heights), n, 1, 3))
    stress[0, :, :, 0, 0] = heights
    place = np.stack([30 * np.cos(angle), 60 * np.sin(angle), 0 * angle], -1)[:, None, :]
    return EdgeStress(
        cases=(UnitCase("a", "MPa", "test"),), s_mm=angle, depth_mm=np.zeros(1), offset_mm=np.zeros(1), place_mm=place,
        area_mm2=np.ones((n, 1)), stress=stress, step=0 * stress, pressure=np.zeros((1, len(heights), n, 1)),
    )  # fmt: skip


ANGLE = 2 * np.pi * np.arange(360) / 360


def test_equal_peaks_of_all_slots_are_found() -> None:
    # four corners with stress of either sign, in two slots, the second one 3 % lower, the third one 10 %
    wave = np.sin(2 * ANGLE)
    found = equal_peaks(lines(wave, 0.97 * wave, 0.9 * wave).combine([100.0]))
    assert [s.slot for s in found] == [0] * 4 + [1] * 4
    assert [s.s_index for s in found[:4]] == [45, 135, 225, 315]
    assert len(equal_peaks(lines(wave, 0.97 * wave, 0.9 * wave).combine([100.0]), share=0.98)) == 4
    assert len(equal_peaks(lines(wave, 0.97 * wave, 0.9 * wave).combine([100.0]), share=0.5)) == 12


def test_equal_peaks_on_the_axes_and_a_flat_edge() -> None:
    kirsch = 1 - 2 * np.cos(2 * ANGLE)
    assert [s.s_index for s in equal_peaks(lines(kirsch).combine([1.0]))] == [90, 270]
    both_axes = np.cos(2 * ANGLE)  # +1 and -1, four places
    assert [s.s_index for s in equal_peaks(lines(both_axes).combine([1.0]))] == [0, 90, 180, 270]
    assert len(equal_peaks(lines(np.ones(360)).combine([1.0]))) == 1
    assert equal_peaks(lines(np.zeros(360)).combine([1.0])) == ()


def test_two_maxima_of_one_corner_count_once_and_noise_does_not_count() -> None:
    corner = np.exp(-(((ANGLE - math.radians(40)) / 0.08) ** 2)) + np.exp(-(((ANGLE - math.radians(60)) / 0.08) ** 2))
    assert len(equal_peaks(lines(corner).combine([1.0]))) == 1
    noise = 1 - 2 * np.cos(2 * ANGLE) + 1e-4 * np.random.default_rng(4).normal(size=360)
    assert len(equal_peaks(lines(noise).combine([1.0]))) == 2
    with pytest.raises(ValueError, match="share must be"):
        equal_peaks(lines(corner).combine([1.0]), share=0.0)


def test_equal_peaks_stand_at_their_worst_depth() -> None:
    edge = smooth(np.random.default_rng(9))
    surface = edge.combine([1.0, 0.3, -0.2])
    found = equal_peaks(surface, share=1.0)
    assert [(s.slot, s.s_index, s.d_index) for s in found] == [
        (s.slot, s.s_index, s.d_index) for s in [surface.peaks().at] if s is not None
    ]
