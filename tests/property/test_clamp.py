"""Wedges, clamps, proofs, releases and wear by a second way: free bodies, springs, limits, bounds; and what they refuse."""

import dataclasses
import math

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.figure import Figure
from femdrum.model.clamp import Bolt, Clamp, Stop, Wedge
from femdrum.rotor.bar_loads import (
    FaceLoads,
    accident_loads,
    bar_reactions,
    centrifugal_loads,
    clamp_for_friction_N,
    hit_loads,
)
from femdrum.rotor.clamp_window import clamp_window, drive_over_normal, opening_loss_N, tightening_order
from femdrum.rotor.preload import assembly_preload_N, bolt_compliance_mm_N, parts_compliance_mm_N
from femdrum.rotor.release import jack_screw, knock_out_energy_J, release, stored_energy_J
from femdrum.rotor.retention import retention_proof, stop_check
from femdrum.rotor.wear import FrettingPlace, clamp_wear_um, fretting_rank, wear_limit, wear_states
from femdrum.rotor.wedge import (
    centrifugal_on_wedge_N,
    locking_angle_deg,
    pull_out_N,
    wedge_normal_N,
    wedge_statics,
)

# an invented clamp of a drum mill for prunings
WEDGE = Wedge(
    taper_deg=5.0, friction_low=0.1, friction_high=0.2, driven="inward", mass_kg=1.2, radius_mm=370.0, travel_mm=12.0
)
BOLT = Bolt(size="M20x1.5", property_class="10.9", clamp_length_mm=90.0, tightening="torque, friction estimated", lubrication="solid lubricant", torque_Nm=420.0)  # fmt: skip
STOP = Stop(shear_area_mm2=1600.0, bearing_area_mm2=900.0, yield_MPa=355.0)
CLAMP = Clamp(wedge=WEDGE, bolt=BOLT, stiffness_kN_mm=1000.0, flank_share=0.7, face_friction_low=0.12, locking="wedge-lock washers", stop=STOP)  # fmt: skip
RUNNING = {"speed_rpm": 1000.0, "slot_opening_um": 6.0}
HIT = {"overhang_mm": 100.0, "wall_mm": 40.0, "width_mm": 60.0}


def change(thing, **more):
    return dataclasses.replace(thing, **more)


def conditions(force_N=30e3, **more):
    two = bar_reactions(force_N=force_N, **HIT, walls="two", spacing_mm=760.0)
    return (
        *centrifugal_loads("running", bar_mass_kg=25.0, offset_mm=6.0, speed_rpm=1000.0, slot_opening_um=6.0),
        *hit_loads("hit", two, flank_share=0.7, along_N=2e3, **RUNNING, **more),
        *accident_loads("bar broken", half_mass_kg=12.0, half_radius_mm=420.0, speed_rpm=1000.0),
    )


def test_wedge_as_a_free_body():
    """Both faces' reactions at their friction angles balance the drive and the pull, found by a linear system."""
    rng = np.random.default_rng(5)
    for _ in range(50):
        taper, mu1, mu2 = math.radians(rng.uniform(1, 20)), rng.uniform(0.03, 0.4), rng.uniform(0.03, 0.4)
        given = {"taper_deg": math.degrees(taper), "friction_taper": mu1, "friction_plain": mu2}
        for way in (1, -1):  # in, out
            # unknown: normal on the taper, drive or pull along +x (in); normal on the plain face is 1 and pushes along +y.
            # the taper's normal pushes the wedge out (-x) and down; friction opposes the motion
            c, s = math.cos(taper), math.sin(taper)
            normal, along = np.array([-s, -c]), np.array([c, -s])
            taper_side = normal - way * mu1 * along
            force = np.linalg.solve(
                np.array([[taper_side[0], 1.0], [taper_side[1], 0.0]]), np.array([way * mu2, -1.0])
            )[1]
            if way == 1:
                assert wedge_normal_N(drive_N=force, **given) == pytest.approx(1, rel=1e-12)
            else:
                assert pull_out_N(normal_N=1, **given) == pytest.approx(-force, rel=1e-9, abs=1e-12)


def test_locking_is_where_the_pull_vanishes():
    rng = np.random.default_rng(6)
    for mu1, mu2 in rng.uniform(0.03, 0.3, (30, 2)):
        friction = {"friction_taper": mu1, "friction_plain": mu2}
        limit = locking_angle_deg(**friction)
        assert pull_out_N(normal_N=1e5, taper_deg=limit, **friction) == pytest.approx(0, abs=1e-6)
        assert pull_out_N(normal_N=1e5, taper_deg=0.9 * limit, **friction) > 0
        if limit < 40:
            assert pull_out_N(normal_N=1e5, taper_deg=1.1 * limit, **friction) < 0


def test_bounds_of_a_wedge():
    """Least at high friction, most at low; a single friction closes the bounds."""
    found = wedge_statics(WEDGE, drive_least_N=50e3, drive_most_N=80e3)
    assert found.normal_least_N < found.normal_most_N
    assert found.stays_N < found.draws_N
    for mu in np.linspace(0.1, 0.2, 11):
        normal = wedge_normal_N(drive_N=60e3, taper_deg=5, friction_taper=mu, friction_plain=mu)
        assert found.normal_least_N < normal < found.normal_most_N
        out = pull_out_N(normal_N=normal, taper_deg=5, friction_taper=mu, friction_plain=mu)
        assert found.stays_N < out < found.draws_N
    one = wedge_statics(change(WEDGE, friction_low=0.15, friction_high=0.15), drive_least_N=60e3)
    assert one.normal_least_N == one.normal_most_N
    assert one.stays_N == one.draws_N
    assert found.locks
    assert any("not retention" in note for note in found.notes)


def test_steep_and_slippery_wedges_are_said():
    assert not wedge_statics(WEDGE, drive_least_N=1e3).warnings
    assert "creep out under vibration" in wedge_statics(change(WEDGE, taper_deg=6.0), drive_least_N=1e3).warnings[0]
    slippery = wedge_statics(change(WEDGE, friction_low=0.04), drive_least_N=1e3)
    assert not slippery.locks
    assert slippery.stays_N < 0
    assert "the limit 4.58" in slippery.warnings[0]


@pytest.mark.parametrize(("driven", "sign"), [("inward", -1), ("outward", 1), ("along", 0)])
def test_sign_of_rotation(driven, sign):
    """Drawn inward, the gap widens outward: rotation loosens. The report says which, with the force."""
    clamp = change(CLAMP, wedge=change(WEDGE, driven=driven))
    still, runs = (clamp_window(clamp, speed_rpm=n) for n in (0.0, 1000.0))
    size = 1.2 * 0.370 * (2 * math.pi * 1000 / 60) ** 2 * math.cos(math.radians(5))
    assert runs.centrifugal_N == pytest.approx(sign * size, rel=1e-9)
    assert still.centrifugal_N == 0
    assert np.sign(runs.least_N - still.least_N) == min(sign, 0)
    assert np.sign(runs.most_N - still.most_N) == max(sign, 0)
    assert any(("loosens" if sign < 0 else "tightens" if sign > 0 else "neither") in note for note in runs.notes)
    assert any("rotation loosens" in w for w in runs.warnings) == (sign < 0)
    assert any(f.what == "centrifugal force along the wedge, positive tightens" for f in runs.figures)
    with pytest.raises(InputFault, match="opens_outward"):
        centrifugal_on_wedge_N(mass_kg=1, radius_mm=1, speed_rpm=1, taper_deg=5, opens_outward="yes")


def test_slot_that_opens_as_springs():
    """Wedge that follows: step the opening in 2000 slices, sliding in so far that drive = T x normal after each."""
    spring = 1 / (bolt_compliance_mm_N(BOLT) + parts_compliance_mm_N(BOLT))
    k, slope = 1e6, math.tan(math.radians(5))
    for mu in (0.1, 0.2):
        T = drive_over_normal(CLAMP, friction=mu)
        normal, drive, step = 150e3, 150e3 * T, 1e-3 * 20 / 2000
        for _ in range(2000):
            normal -= k * step
            slide = (drive - T * normal) / (spring + T * k * slope)
            normal, drive = normal + k * slide * slope, drive - spring * slide
        lost = opening_loss_N(CLAMP, slot_opening_um=20, follows=True, friction=mu)
        assert lost == pytest.approx(150e3 - normal, rel=1e-9)
        assert lost < opening_loss_N(CLAMP, slot_opening_um=20, follows=False) == pytest.approx(20e3)
    window = clamp_window(CLAMP, slot_opening_um=20)
    assert window.loss_N == pytest.approx(20e3, rel=1e-12)
    crept = 20e3 - opening_loss_N(CLAMP, slot_opening_um=20, follows=True)
    assert window.after_stop_most_N == pytest.approx(window.assembled_most_N + crept, rel=1e-12)
    closes = clamp_window(CLAMP, slot_opening_um=-20)
    assert closes.least_N == closes.assembled_least_N
    assert closes.most_N == pytest.approx(closes.assembled_most_N + 20e3)
    assert closes.after_stop_most_N == closes.assembled_most_N


def test_order_of_tightening():
    """Two wedges with coupling c: the first keeps 1 - c after one round, 1 - c³ after two; three and more settle."""
    for c in (0.1, 0.4):
        one = tightening_order(wedges=2, coupling=c)
        assert one.shares[-1] == pytest.approx([1 - c, 1.0], rel=1e-12)
        two = tightening_order(wedges=2, coupling=c, rounds=2)
        # second round: the first back to 1 costs the second c², which back to 1 costs the first c³
        assert two.shares[-1] == pytest.approx([1 - c**3, 1.0], rel=1e-12)
    assert tightening_order(wedges=1, coupling=0.0).least == 1
    alone = tightening_order(wedges=4, coupling=0.0)
    assert alone.least == 1
    assert alone.rounds_needed == 1
    rng = np.random.default_rng(7)
    for _ in range(20):
        n, c = int(rng.integers(2, 7)), rng.uniform(0.05, 0.7)
        order = tuple(int(i) for i in rng.permutation(n))
        ends = [tightening_order(wedges=n, coupling=c, rounds=r, order=order).least for r in (1, 2, 4, 50)]
        assert ends == sorted(ends)
        assert ends[-1] == pytest.approx(1, abs=1e-3)
        needed = tightening_order(wedges=n, coupling=c, order=order).rounds_needed
        assert tightening_order(wedges=n, coupling=c, rounds=needed, order=order).least >= 0.98
        if needed > 1:
            assert tightening_order(wedges=n, coupling=c, rounds=needed - 1, order=order).least < 0.98
    many = change(CLAMP, wedges=3, coupling=0.3)
    assert any("tightened one after another" in w for w in clamp_window(many).warnings)


def test_window_is_its_chain():
    """Least and most clamp, by hand from torque, friction, embedding, Phi and taper."""
    window = clamp_window(CLAMP, speed_rpm=1000, slot_opening_um=6, wedge_out_N=2e3)
    F = window.preload.min - window.embedding_N
    working = 2e3 - window.centrifugal_N
    T = math.tan(math.radians(5) + math.atan(0.2)) + 0.2
    assert window.least_N == pytest.approx((F - (1 - window.share) * working) / T - 6e3, rel=1e-12)
    assert window.assembled_least_N == pytest.approx(F / T, rel=1e-12)
    T_low = math.tan(math.radians(5) + math.atan(0.1)) + 0.1
    assert window.most_N == window.assembled_most_N == pytest.approx(window.preload.max / T_low, rel=1e-12)
    assert window.preload.max / window.preload.min == pytest.approx(2, rel=1e-9)
    double = clamp_window(change(CLAMP, bolts=2))
    assert double.assembled_least_N == pytest.approx(2 * window.assembled_least_N, rel=1e-12)
    flat = clamp_window(change(CLAMP, face_embedding_um=4.0))
    assert window.assembled_least_N - flat.assembled_least_N == pytest.approx(4e3, rel=1e-9)


def test_more_of_anything_bad_leaves_less():
    """The least clamp falls with every loss; random steps."""
    base = clamp_window(CLAMP, speed_rpm=800, slot_opening_um=5, wedge_out_N=1e3).least_N
    for worse in (
        {"speed_rpm": 900}, {"slot_opening_um": 7}, {"wedge_out_N": 3e3}, {"torque_Nm": 400.0},
    ):  # fmt: skip
        assert (
            clamp_window(CLAMP, **({"speed_rpm": 800, "slot_opening_um": 5, "wedge_out_N": 1e3} | worse)).least_N < base
        )
    short = change(CLAMP, bolt=change(BOLT, clamp_length_mm=30.0))
    assert clamp_window(short).assembled_least_N < clamp_window(CLAMP).assembled_least_N
    rough = change(CLAMP, bolt=change(BOLT, roughness_Rz_um=80.0))
    assert clamp_window(rough).embedding_N > clamp_window(CLAMP).embedding_N


def test_a_hit_presses_one_face_and_relieves_the_other():
    """Sum of both faces' changes is the push itself; the far slot feels the same sense; one wall adds a rim."""
    two = bar_reactions(force_N=50e3, **HIT, walls="two", spacing_mm=760.0)
    loads = hit_loads("hit", two, flank_share=0.7)
    assert [(v.name, v.face) for v in loads] == [("hit, near slot", "flank"), ("hit, near slot", "wedge"), ("hit, far slot", "flank"), ("hit, far slot", "wedge")]  # fmt: skip
    near, far = loads[:2], loads[2:]
    assert near[0].normal_N - near[1].normal_N == pytest.approx(two.near_N, rel=1e-12)
    assert far[0].normal_N - far[1].normal_N == pytest.approx(two.far_N, rel=1e-12)
    assert near[0].normal_N > 0 > near[1].normal_N
    back = hit_loads("back", two, flank_share=0.7, towards="wedge")
    assert back[0].normal_N == -near[0].normal_N
    assert all(v.rim_relief_N == 0 for v in loads)
    one = hit_loads("hit", bar_reactions(force_N=50e3, **HIT, walls="one"), flank_share=0.7)
    assert len(one) == 2
    # 6 M / t over both faces together
    assert one[0].rim_relief_N + one[1].rim_relief_N == pytest.approx(6 * 50e3 * 120 / 40, rel=1e-12)


def test_reactions_in_balance():
    """Forces and moments of tip, near wall and far wall vanish, at every clearance; the far wall helps from touch_N on."""
    rng = np.random.default_rng(8)
    for _ in range(40):
        force, clearance, k = rng.uniform(1e3, 2e5), rng.uniform(0, 3), 10 ** rng.uniform(8, 10)
        found = bar_reactions(
            force_N=force, **HIT, walls="two", spacing_mm=760.0, clearance_mm=clearance, turning_stiffness_Nmm_rad=k
        )
        assert found.near_N - found.far_N == pytest.approx(force, rel=1e-12)
        assert force * 120 == pytest.approx(found.moment_Nmm + found.far_N * 760, rel=1e-12)
        assert found.touches == (force >= found.touch_N)
        assert (found.far_N > 0) == (force > found.touch_N)
        if found.touches:
            assert found.moment_Nmm == pytest.approx(k * clearance / 760, rel=1e-12)


def test_proof_holds_and_says_why():
    proof = retention_proof(CLAMP, conditions())
    assert proof.holds, proof.warnings
    assert proof.verdict == "held"
    assert proof.stop.holds
    assert not proof.stop_needed
    assert proof.accident_proven
    assert {row.verdict for row in proof.rows} == {"holds", "stop holds"}
    assert proof.rows[-1].accident
    assert all(math.isfinite(f.value) and f.unit and f.formula and str(f.provenance) for f in proof.figures)
    assert any("Self-locking alone is not retention" in note for note in proof.notes)
    assert any("not admitted" in f.what for f in proof.figures)
    # the row's numbers, by hand
    row = next(r for r in proof.rows if r.condition == "hit, near slot" and r.face == "wedge")
    window = clamp_window(CLAMP, **RUNNING)
    push = 30e3 * (1 + 120 / 760)
    left = window.least_N - 0.3 * push
    assert row.residual_share == pytest.approx(left / window.assembled_least_N, rel=1e-12)
    assert row.slip_safety == pytest.approx(0.12 * left / 1e3, rel=1e-12)
    assert row.slip_required == 1.3
    assert row.clamp_least_N == window.least_N


def test_least_window_is_just_enough():
    """At the least torque every row still holds and the worst is on its limit; a little less and it fails."""
    for force, extra in ((30e3, {}), (60e3, {"tramp": True}), (20e3, {"wedge_out_N": 3e3}), (1e3, {})):
        proof = retention_proof(CLAMP, conditions(force, **extra))
        least, most = proof.torque_window_Nm
        assert proof.window.open
        at = retention_proof(CLAMP, conditions(force, **extra), torque_Nm=least * (1 + 1e-9))
        assert all(row.holds for row in at.rows)
        worst = at.worst
        assert worst.residual_share == pytest.approx(0.1, rel=1e-4) or worst.slip_safety == pytest.approx(
            worst.slip_required, rel=1e-4
        )
        assert at.clamp.assembled_least_N == pytest.approx(proof.least_clamp_N, rel=1e-8)
        assert at.clamp.preload.min == pytest.approx(proof.window.min, rel=1e-8)
        below = retention_proof(CLAMP, conditions(force, **extra), torque_Nm=0.999 * least)
        assert below.verdict == "not held"
        assert below.warnings
        # at the most torque the bolt is full
        full = retention_proof(CLAMP, conditions(force, **extra), torque_Nm=most)
        assert full.bolt.tightening_share == pytest.approx(1, rel=1e-9)


def test_pressure_on_the_face_limits_the_window():
    """A soft small face lowers the most preload, down to no window at all."""
    free = retention_proof(CLAMP, conditions())
    pressed = retention_proof(change(CLAMP, face_area_mm2=1400.0, face_yield_MPa=355.0), conditions())
    assert pressed.window.max < free.window.max
    most = max(r.clamp_most_N for r in retention_proof(change(CLAMP, face_area_mm2=1400.0, face_yield_MPa=355.0), conditions(), torque_Nm=pressed.torque_window_Nm[1]).rows)  # fmt: skip
    assert most == pytest.approx(0.7 * 355 * 1400, rel=1e-9)
    assert any("beds in and takes clamp with it" in w for w in pressed.warnings)
    assert not any("beds in" in w for w in free.warnings)
    none = retention_proof(change(CLAMP, face_area_mm2=200.0, face_yield_MPa=355.0), conditions())
    assert not none.window.open
    assert any("of preload, bolt and faces carry" in w for w in none.warnings)
    wide = retention_proof(change(CLAMP, bolt=change(BOLT, tightening="impact driver")), conditions(250e3))
    assert any("no torque serves" in w for w in wide.warnings)
    angle = retention_proof(
        change(CLAMP, bolt=change(BOLT, tightening="angle controlled", torque_Nm=None)), conditions()
    )
    assert angle.torque_window_Nm is None


def test_friction_is_no_retention_in_the_accident():
    """No stop: not held, however tight; a weak stop is said; without an accident case nothing is proven."""
    bare = retention_proof(change(CLAMP, stop=None, bolts=12), conditions())
    assert bare.verdict == "not held"
    assert bare.stop_needed
    assert bare.worst.verdict == "no positive stop"
    assert any("which is refused" in w for w in bare.warnings)
    weak = retention_proof(change(CLAMP, stop=change(STOP, shear_area_mm2=100.0)), conditions())
    assert weak.worst.verdict == "stop too weak"
    assert weak.stop_needed
    open_ = retention_proof(CLAMP, conditions()[:-1])
    assert open_.verdict == "not proven"
    assert not open_.holds
    assert any("no accident case" in w for w in open_.warnings)
    with pytest.raises(InputFault, match="friction alone is no retention"):
        clamp_for_friction_N(force_N=55269, safety=2, faces=2, friction=0.12, accident=True)


def test_stop_by_shear_and_bearing():
    found = stop_check(STOP, pull_N=55e3)
    assert found.by == "bearing"
    assert found.capacity_N == pytest.approx(355 * 900)
    assert found.safety == pytest.approx(355 * 900 / 110e3)
    shear = stop_check(change(STOP, shear_area_mm2=400.0), pull_N=55e3)
    assert shear.by == "shear"
    assert shear.capacity_N == pytest.approx(355 * 400 / math.sqrt(3))
    assert stop_check(STOP, pull_N=55e3, sudden=1.0).safety == pytest.approx(2 * found.safety)
    with pytest.raises(InputFault, match="sudden"):
        stop_check(STOP, pull_N=55e3, sudden=0.5)


def test_slack_one_wall_opens():
    """The same hit on one wall alone opens a rim that two walls keep closed."""
    two = bar_reactions(force_N=30e3, **HIT, walls="two", spacing_mm=760.0)
    one = bar_reactions(force_N=30e3, **HIT, walls="one")
    held = retention_proof(CLAMP, hit_loads("hit", two, flank_share=0.7))
    lost = retention_proof(CLAMP, hit_loads("hit", one, flank_share=0.7))
    assert all(row.holds for row in held.rows)
    assert any(row.verdict == "opens" for row in lost.rows)
    assert lost.least_clamp_N > held.least_clamp_N


def test_tramp_metal_needs_less_safety():
    normal, tramp = (
        retention_proof(CLAMP, [FaceLoads(name="hit", face="flank", tangential_N=8e3, tramp=t)]) for t in (False, True)
    )
    assert normal.least_clamp_N == pytest.approx(1.3 * 8e3 / 0.12, rel=1e-12)
    assert tramp.least_clamp_N == pytest.approx(1.1 * 8e3 / 0.12, rel=1e-12)


def test_release_against_the_path():
    """Energy by summing the falling force along the stroke; the stored part is N² / 2k."""
    normal, mu, k = 150e3, 0.2, 1e6
    force = pull_out_N(normal_N=normal, taper_deg=5, friction_taper=mu, friction_plain=mu)
    stroke = normal / (k * math.tan(math.radians(5)))
    s = (np.arange(1000) + 0.5) / 1000 * stroke
    left = normal - k * s * math.tan(math.radians(5))
    path = sum(pull_out_N(normal_N=n, taper_deg=5, friction_taper=mu, friction_plain=mu) for n in left) * stroke / 1000
    assert knock_out_energy_J(CLAMP, normal_N=normal, friction=mu) == pytest.approx(1e-3 * path, rel=1e-6)
    assert stored_energy_J(normal_N=normal, stiffness_N_mm=k) == pytest.approx(11.25)
    found = release(CLAMP, most_N=normal, least_N=60e3)
    assert found.with_rust_N == 2 * found.force_N == pytest.approx(2 * force)
    assert 0 < found.accident_J < found.energy_J
    assert found.blow_m_s == pytest.approx(math.sqrt(found.energy_J), rel=1e-12)
    pushes = {size: assembly_preload_N(change(found.screw, size=size), friction=0.2) for size in ("M14", "M16")}
    assert pushes["M14"] < found.with_rust_N <= pushes[found.screw.size]
    assert all(math.isfinite(f.value) and f.unit and f.formula for f in found.figures)
    assert any("stores" in w for w in found.warnings)
    # slippery: it comes by itself
    assert knock_out_energy_J(change(CLAMP, wedge=change(WEDGE, friction_low=0.03)), normal_N=1e5, friction=0.03) == 0


def test_jack_screw_grows_with_the_force():
    sizes = [jack_screw(force_N=f)[0].size for f in (5e3, 50e3, 150e3, 400e3)]
    diameters = [int(s[1:]) for s in sizes]
    assert diameters == sorted(diameters)
    assert diameters[0] < diameters[-1]
    assert jack_screw(force_N=150e3, screws=3)[0].size == jack_screw(force_N=50e3)[0].size
    assert jack_screw(force_N=5e6) is None
    assert any("hydraulic puller" in w for w in release(CLAMP, most_N=2e7, least_N=0.0).warnings)


WORN = {"force_N": 60e3, **HIT, "spacing_mm": 760.0, "turning_stiffness_Nmm_rad": 2.1e9}


def test_wear_from_two_walls_to_one():
    """Unworn, the two supports; far beyond, the wall alone; the pressure at the rim grows all the way and not beyond."""
    clearances = [0.0, 0.5, 1.0, 2.0, 2.6, 2.7, 5.0]
    states = wear_states(clearances, **WORN)
    limit = wear_limit(**WORN, allowed_MPa=200.0)
    assert limit.one_wall_mm == pytest.approx(60e3 * 120 * 760 / 2.1e9, rel=1e-12)
    assert [s.walls for s in states] == ["two" if c <= limit.one_wall_mm else "one" for c in clearances]
    edges = [s.edge_MPa for s in states]
    assert edges == sorted(edges)
    assert (
        edges[0]
        == pytest.approx(limit.unworn_MPa, rel=1e-12)
        == pytest.approx(60e3 * (1 + 120 / 760) / 2400, rel=1e-12)
    )
    assert edges[-1] == edges[-2] == pytest.approx(limit.one_wall_MPa, rel=1e-12)
    at = wear_states([limit.limit_mm], **WORN)[0]
    assert at.edge_MPa == pytest.approx(200, rel=1e-12)
    assert limit.governs == "edge"
    # the figure's own formula
    closed = (200 - limit.unworn_MPa) * 760**2 * 60 * 40**2 / (2.1e9 * (6 * 760 - 40))
    assert limit.edge_mm == pytest.approx(closed, rel=1e-12)
    assert all(math.isfinite(f.value) for f in limit.figures)


def test_what_governs_wear():
    assert wear_limit(**WORN, allowed_MPa=1e4).governs == "nothing"
    assert "no wear limit follows" in wear_limit(**WORN, allowed_MPa=1e4).warnings[0]
    travel = wear_limit(**WORN, allowed_MPa=1e4, clamp=CLAMP)
    assert travel.governs == "travel"
    assert travel.limit_mm == pytest.approx(12 * math.tan(math.radians(5)), rel=1e-12)
    over = wear_limit(**WORN, allowed_MPa=10.0)
    assert over.limit_mm == 0
    assert "unworn" in over.warnings[0]


def test_wear_until_the_bolts_are_tightened_again():
    """Wear that takes the least clamp down to what is needed, put into the proof as flattening: just enough."""
    proof = retention_proof(CLAMP, conditions())
    worn = clamp_wear_um(CLAMP, assembled_least_N=proof.clamp.assembled_least_N, needed_N=proof.least_clamp_N)
    assert worn > 0
    after = retention_proof(change(CLAMP, face_embedding_um=worn * (1 - 1e-9)), conditions())
    assert all(row.holds for row in after.rows)
    assert after.clamp.assembled_least_N == pytest.approx(proof.least_clamp_N, rel=1e-6)
    assert not all(
        row.holds for row in retention_proof(change(CLAMP, face_embedding_um=worn * 1.01), conditions()).rows
    )
    assert clamp_wear_um(CLAMP, assembled_least_N=1e3, needed_N=2e3) == 0


def test_fretting_is_a_ranking():
    """Order by stress x shear x slip; scaling all places changes no share; no life anywhere."""
    places = [
        FrettingPlace(name="flank rim", tension_range_MPa=80.0, pressure_MPa=120.0, friction=0.15, slip_amplitude_um=6.0),
        FrettingPlace(name="wedge face", tension_range_MPa=20.0, pressure_MPa=90.0, friction=0.15, slip_amplitude_um=10.0),
        FrettingPlace(name="bolt head", tension_range_MPa=150.0, pressure_MPa=200.0, friction=0.12, slip_amplitude_um=0.5),
    ]  # fmt: skip
    found = fretting_rank(places)
    assert [r.rank for r in found] == [1, 2, 3]
    assert found[0].name == "flank rim"
    assert found[0].share == 1
    assert found[0].parameter_MPa2_mm == pytest.approx(80 * 18 * 6e-3)
    assert [r.slips for r in found] == [r.name != "bolt head" for r in found]
    scaled = fretting_rank([dataclasses.replace(p, slip_amplitude_um=3 * p.slip_amplitude_um) for p in places])
    assert [(r.name, r.share) for r in scaled] == [(r.name, pytest.approx(r.share)) for r in found]
    assert "no life" in found[0].figure.formula
    assert isinstance(found[0].figure, Figure)
    with pytest.raises(InputFault):
        fretting_rank([])


@pytest.mark.parametrize(
    ("field", "kind", "more"),
    [
        ("taper_deg", WEDGE, {"taper_deg": 0.0}),
        ("taper_deg", WEDGE, {"taper_deg": 23.0}),
        ("friction_low", WEDGE, {"friction_low": 0.3}),
        ("friction_high", WEDGE, {"friction_high": 12.0}),
        ("friction_low", WEDGE, {"friction_low": 0.0}),
        ("driven", WEDGE, {"driven": "up"}),
        ("mass_kg", WEDGE, {"mass_kg": None}),
        ("flank_share", CLAMP, {"flank_share": 1.2}),
        ("face_friction_low", CLAMP, {"face_friction_low": 2.0}),
        ("coupling", CLAMP, {"wedges": 2}),
        ("coupling", CLAMP, {"wedges": 2, "coupling": 1.0}),
        ("face_area_mm2", CLAMP, {"face_area_mm2": 100.0}),
        ("locking", CLAMP, {"locking": "glue"}),
        ("wedge", CLAMP, {"wedge": BOLT}),
        ("stop", CLAMP, {"stop": "yes"}),
        ("bolts", CLAMP, {"bolts": 0}),
        ("yield_MPa", STOP, {"yield_MPa": 0.0}),
    ],
)
def test_refused_parts(field, kind, more):
    with pytest.raises(InputFault, match=field):
        change(kind, **more)


def test_a_wedge_that_cannot_lock_is_said_with_its_angle():
    """23 degrees at friction 0.2: locks below 22.62 only."""
    with pytest.raises(
        InputFault, match=r"taper_deg = 23\.0: cannot lock.*below 22\.62 degrees; take a taper below 11\.4"
    ):
        change(WEDGE, taper_deg=23.0)


@pytest.mark.parametrize(
    ("field", "call"),
    [
        ("face", lambda: FaceLoads(name="hit", face="stop")),
        ("face", lambda: FaceLoads(name="hit", face="flank", tangential_N=1.0, accident=True)),
        ("tangential_N", lambda: FaceLoads(name="hit", face="stop", accident=True)),
        ("speed_rpm", lambda: FaceLoads(name="hit", face="flank", speed_rpm=-1.0)),
        ("tramp", lambda: FaceLoads(name="hit", face="flank", tramp="no")),
        ("conditions", lambda: retention_proof(CLAMP, [])),
        ("conditions", lambda: retention_proof(CLAMP, ["hit"])),
        ("wedge_out_N", lambda: clamp_window(CLAMP, wedge_out_N=-1.0)),
        ("slot_opening_um", lambda: clamp_window(CLAMP, slot_opening_um=math.nan)),
        ("torque_Nm", lambda: clamp_window(CLAMP, -5.0)),
        ("order", lambda: tightening_order(wedges=3, coupling=0.1, order=(0, 1, 1))),
        ("coupling", lambda: tightening_order(wedges=3, coupling=1.0)),
        ("walls", lambda: bar_reactions(force_N=1.0, **HIT, walls="near")),
        ("spacing_mm", lambda: bar_reactions(force_N=1.0, **HIT, walls="two")),
        ("turning_stiffness_Nmm_rad", lambda: bar_reactions(force_N=1.0, **HIT, walls="two", spacing_mm=760.0, clearance_mm=1.0)),
        ("towards", lambda: hit_loads("hit", bar_reactions(force_N=1.0, **HIT, walls="one"), flank_share=0.7, towards="up")),
        ("half_radius_mm", lambda: accident_loads("a", half_mass_kg=12.0, half_radius_mm=0.0, speed_rpm=1000.0)),
        ("slots", lambda: centrifugal_loads("r", bar_mass_kg=1.0, offset_mm=1.0, speed_rpm=1.0, slots=3)),
        ("least_N", lambda: release(CLAMP, most_N=1.0, least_N=2.0)),
        ("screws", lambda: jack_screw(force_N=1.0, screws=0)),
        ("allowed_MPa", lambda: wear_limit(**WORN, allowed_MPa=0.0)),
        ("friction_taper", lambda: wedge_normal_N(drive_N=1.0, taper_deg=5, friction_taper=15.0, friction_plain=0.1)),
        ("taper_deg", lambda: pull_out_N(normal_N=1.0, taper_deg=50, friction_taper=0.1, friction_plain=0.1)),
    ],
)  # fmt: skip
def test_refused_calls(field, call):
    with pytest.raises(InputFault, match=field):
        call()


def test_all_faults_at_once():
    with pytest.raises(InputFault) as caught:
        Wedge(taper_deg=-1.0, friction_low=0.0, friction_high=9.0, driven="", mass_kg=0.0, radius_mm=math.inf)
    assert [f.field for f in caught.value.faults] == [
        "taper_deg",
        "friction_low",
        "friction_high",
        "driven",
        "mass_kg",
        "radius_mm",
    ]
