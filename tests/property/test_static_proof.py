"""Net section and shakedown: definitions, invariance, conditions as arrays, verdicts, refusals."""

import math

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.model.cutout import Slot
from femdrum.model.ring import Ring
from femdrum.strength.shakedown import ALTERNATES, ELASTIC, GROWS, SHAKES_DOWN, shakedown
from femdrum.strength.slotted_shell import SlottedShell
from femdrum.strength.static_proof import (
    SectionForces,
    burst_speed_rpm,
    net_section,
    von_mises_MPa,
    weak_bending_fraction,
)

DRUM = {"outer_radius_mm": 400.0, "wall_mm": 40.0, "pitch_mm": 180.0}
SLOTS = {"slots_around": 4, "slot_around_mm": 60.0, "slot_axial_mm": 120.0}
SHELL = SlottedShell(**DRUM, **SLOTS)


def refused(field):
    return pytest.raises(InputFault, match=rf"{field}.*must.*; .+")


# ---------------------------------------------------------------- net section


def test_fractions_are_those_of_the_ring():
    ring = Ring(
        outer_diameter_mm=800, wall_mm=40, pitch_mm=180, slots_around=4, rows="aligned",
        cutout=Slot(around_mm=60, axial_mm=120, corner_radius_mm=8),
    )  # fmt: skip
    assert SHELL.fraction_around == pytest.approx(ring.net_fraction_axial, rel=1e-12)
    assert SHELL.fraction_along == pytest.approx(ring.net_fraction_hoop, rel=1e-12)
    assert SHELL.open_cells(all_rows=False).mean() == pytest.approx(SHELL.fraction_around, rel=1e-3)


def test_each_force_alone():
    """F / A, M r / I, T r / Ip, 2 V / A over the net share; hoop pull over the bridge."""
    area, inertia = math.pi * (400**2 - 360**2), math.pi / 4 * (400**4 - 360**4)
    around = 1 - 4 * 60 / (2 * math.pi * 380)
    made = net_section(
        SHELL, SectionForces(axial_N=1e6, bending_Nmm=2e8, torque_Nmm=3e8, transverse_N=4e5, hoop_N=5e5, pressure_MPa=0.1),
        yield_MPa=355,
    )  # fmt: skip
    assert made.axial_MPa == pytest.approx(1e6 / area / around, rel=1e-12)
    assert made.bending_MPa == pytest.approx(2e8 * 400 / inertia / around, rel=1e-12)
    assert made.torsion_MPa == pytest.approx(3e8 * 400 / (2 * inertia) / around, rel=1e-12)
    assert made.transverse_MPa == pytest.approx(2 * 4e5 / area / around, rel=1e-12)
    hoop = (5e5 / (40 * 180) + 0.1 * 360 / 40) / (1 - 120 / 180)
    assert made.hoop_MPa == pytest.approx(hoop, rel=1e-12)
    assert made.cross_MPa == pytest.approx((3e8 * 400 / (2 * inertia) + 2 * 4e5 / area) * 3, rel=1e-12)


def test_von_mises_of_single_forces():
    """Axial alone: itself on the cut around; torsion alone: sqrt 3 tau, larger on the cut with less left."""
    axial = net_section(SHELL, SectionForces(axial_N=-1e6), yield_MPa=355)
    assert axial.mises_around_MPa == pytest.approx(abs(axial.axial_MPa), rel=1e-12)
    assert axial.utilisation == pytest.approx(abs(axial.axial_MPa) / 355, rel=1e-12)
    twist = net_section(SHELL, SectionForces(torque_Nmm=1e9), yield_MPa=355)
    assert twist.mises_around_MPa == pytest.approx(math.sqrt(3) * twist.torsion_MPa, rel=1e-12)
    assert twist.mises_along_MPa == pytest.approx(math.sqrt(3) * twist.cross_MPa, rel=1e-12)
    assert twist.mises_along_MPa > twist.mises_around_MPa
    both = net_section(SHELL, SectionForces(bending_Nmm=1e9, torque_Nmm=1e9), yield_MPa=355)
    assert both.mises_around_MPa == pytest.approx(
        von_mises_MPa(both.bending_MPa, 0.0, both.torsion_MPa), rel=1e-12
    )  # at the pulled side


def test_stress_across_the_cut_never_helps():
    """Hoop tension beside axial tension lowers von Mises; the proof takes it as absent then, as present where it hurts."""
    pulled = net_section(SHELL, SectionForces(axial_N=1e7, hoop_N=3e5), yield_MPa=355)
    assert pulled.mises_around_MPa == pytest.approx(pulled.axial_MPa, rel=1e-12)
    pushed = net_section(SHELL, SectionForces(axial_N=-1e7, hoop_N=3e5), yield_MPa=355)
    gross = 3e5 / (40 * 180)
    assert pushed.mises_around_MPa == pytest.approx(von_mises_MPa(pushed.axial_MPa, gross, 0.0), rel=1e-12)


def test_conditions_as_arrays():
    torque, hoop = np.array([1e8, 5e8, 9e8]), np.array([[1e5], [2e5]])
    made = net_section(SHELL, SectionForces(torque_Nmm=torque, hoop_N=hoop), yield_MPa=355)
    assert made.utilisation.shape == (2, 3)
    for i in range(2):
        for j in range(3):
            one = net_section(SHELL, SectionForces(torque_Nmm=torque[j], hoop_N=hoop[i, 0]), yield_MPa=355)
            assert made.utilisation[i, j] == pytest.approx(float(one.utilisation), rel=1e-12)
    worst = {f.what: f.value for f in made.figures}
    assert worst["share of yield, net section"] == made.utilisation.max() == made.utilisation[1, 2]


@pytest.mark.parametrize("factor", [0.5, 3.0])
def test_scaling(factor):
    """Loads up, stress up; all sizes up by a factor and forces by its square (moments by its cube), stress the same."""
    forces = {"axial_N": 1e6, "bending_Nmm": 2e8, "torque_Nmm": 3e8, "transverse_N": 4e5, "hoop_N": 5e5}
    base = net_section(SHELL, SectionForces(**forces), yield_MPa=355)
    more = net_section(SHELL, SectionForces(**{k: factor * v for k, v in forces.items()}), yield_MPa=355)
    assert more.utilisation == pytest.approx(factor * base.utilisation, rel=1e-12)
    large = SlottedShell(
        **{k: factor * v for k, v in DRUM.items()},
        slots_around=4,
        slot_around_mm=60 * factor,
        slot_axial_mm=120 * factor,
    )
    grown = {k: v * (factor**3 if k.endswith("Nmm") else factor**2) for k, v in forces.items()}
    assert net_section(large, SectionForces(**grown), yield_MPa=355).utilisation == pytest.approx(
        base.utilisation, rel=1e-12
    )


def test_sense_of_torque_and_bending_does_not_matter():
    forces = {"axial_N": 1e6, "bending_Nmm": 2e8, "torque_Nmm": 3e8, "transverse_N": 4e5, "hoop_N": 5e5}
    base = net_section(SHELL, SectionForces(**forces), yield_MPa=355)
    for name in ("bending_Nmm", "torque_Nmm", "transverse_N"):
        turned = net_section(SHELL, SectionForces(**{**forces, name: -forces[name]}), yield_MPa=355)
        assert turned.utilisation == pytest.approx(base.utilisation, rel=1e-12)


@pytest.mark.parametrize("slots", [1, 2])
def test_weakest_direction_of_one_and_two_slots(slots):
    """Against the tensor of second moments of a thin ring with gaps, summed up over its cells: largest |I^-1 p|."""
    drum = SlottedShell(**DRUM, slots_around=slots, slot_around_mm=150, slot_axial_mm=120)
    cells = drum.open_cells(all_rows=False)
    angle = 2 * math.pi * (np.arange(len(cells)) + 0.5) / len(cells)
    p = np.stack([np.cos(angle), np.sin(angle)])
    p = p - (p @ cells / cells.sum())[:, None]
    tensor = (p * cells) @ p.T
    stress = np.linalg.norm(np.linalg.solve(tensor, p[:, cells > 0.5]), axis=0).max()
    assert weak_bending_fraction(drum) == pytest.approx(1 / stress / (len(cells) / 2), rel=2e-3)
    assert weak_bending_fraction(drum) < drum.fraction_around


def test_words_of_the_net_section():
    made = net_section(SHELL, SectionForces(torque_Nmm=3e9), yield_MPa=355, name="jam")
    assert made.yields
    assert made.warnings[0].startswith("the net section yields (jam): 1.27 ")
    assert "slots count as empty" in made.notes[0]
    fine = net_section(SHELL, SectionForces(torque_Nmm=1e8), yield_MPa=355)
    assert not fine.yields
    assert fine.warnings == ()
    turned = SlottedShell(**DRUM, **SLOTS, rows="helical", row_angle_deg=15.0)
    assert any("each row for itself" in n for n in net_section(turned, SectionForces(hoop_N=1.0), yield_MPa=355).notes)


def test_burst_speed_scales():
    """With speed squared stress: at the burst speed the average is 0.85 Rm."""
    burst = burst_speed_rpm(speed_rpm=1000, average_hoop_MPa=12.444 / (1 / 3), ultimate_MPa=510)
    assert 12.444 * 3 * (burst / 1000) ** 2 == pytest.approx(0.85 * 510, rel=1e-12)
    with refused("ultimate_MPa"):
        burst_speed_rpm(speed_rpm=1000, average_hoop_MPa=12, ultimate_MPa=0)


def test_faults_of_the_net_section():
    with refused("yield_MPa"):
        net_section(SHELL, SectionForces(axial_N=1.0), yield_MPa=-1)
    with refused("torque_Nmm"):
        net_section(SHELL, SectionForces(torque_Nmm=math.nan), yield_MPa=355)
    with pytest.raises(InputFault, match=r"forces.*must have one shape"):
        net_section(SHELL, SectionForces(torque_Nmm=[1.0, 2.0], axial_N=[1.0, 2.0, 3.0]), yield_MPa=355)
    with pytest.raises(InputFault) as several:
        SlottedShell(outer_radius_mm=-1, wall_mm=1, pitch_mm=0, slots_around=30)
    assert [f.field for f in several.value.faults] == ["outer_radius_mm", "pitch_mm", "slots_around"]


def test_rows_of_a_pattern():
    assert SHELL.row_angles_rad() == (0.0,)
    alternate = SlottedShell(**DRUM, **SLOTS, rows="alternate")
    assert alternate.row_angles_rad() == pytest.approx((0.0, math.pi / 4))
    quarter = SlottedShell(**DRUM, **SLOTS, rows="helical", row_angle_deg=30.0)
    assert len(quarter.row_angles_rad()) == 3  # 90 degrees from slot to slot
    assert len(quarter.row_angles_rad(slots_alike=False)) == 12
    assert quarter.open_cells(all_rows=True).mean() == pytest.approx(
        1 - 12 * quarter.slot_angle_rad / (2 * math.pi), rel=1e-9
    )
    # a pattern that covers the drum all around leaves no straight strip
    closed = SlottedShell(
        **DRUM, slots_around=4, slot_around_mm=100, slot_axial_mm=120, rows="helical", row_angle_deg=10.0
    )
    assert closed.open_cells(all_rows=True).max() == pytest.approx(0, abs=1e-9)


def test_slot_length_across_its_width():
    """Square where the radius is not known, an arc at the corners where it is."""
    off = np.array([0.0, 20.0, 29.9, 30.1]) / 380
    assert SHELL.slot_length_mm(off) == pytest.approx([120, 120, 120, 0])
    round_ = SlottedShell(**DRUM, **SLOTS, slot_corner_radius_mm=30.0)
    x = 380 * np.sin(off)
    assert round_.slot_length_mm(off)[:3] == pytest.approx(60 + 2 * np.sqrt(30**2 - x[:3] ** 2), rel=1e-12)


# ---------------------------------------------------------------- shakedown


@pytest.mark.parametrize(
    ("upper", "lower", "state", "residual"),
    [
        (300, 0, ELASTIC, 0), (355, -355, ELASTIC, 0), (500, 0, SHAKES_DOWN, -145), (0, -500, SHAKES_DOWN, 145),
        (500, -100, SHAKES_DOWN, -145), (710, 0, SHAKES_DOWN, -355), (711, 0, ALTERNATES, 0),
        (400, -400, ALTERNATES, 0), (900, 300, SHAKES_DOWN, -545),
    ],
)  # fmt: skip
def test_verdict_of_one_stress(upper, lower, state, residual):
    """Range up to twice yield shakes down; the residual stress brings the far end back to yield, and no more."""
    made = shakedown(upper, lower, yield_MPa=355)
    assert str(made.state) == made.worst == state
    assert float(made.residual_MPa) == pytest.approx(residual)
    assert bool(made.local_yield) == (max(abs(upper), abs(lower)) > 355)
    assert bool(made.warnings) == bool(made.local_yield)


def test_melan_holds_where_it_is_said():
    """Random cycles: where it shakes down, elastic plus residual stays within yield; where not, no residual does."""
    rng = np.random.default_rng(1)
    ends = np.sort(rng.uniform(-900, 900, (500, 2)), axis=1)
    made = shakedown(ends[:, 1], ends[:, 0], yield_MPa=355)
    after = ends + made.residual_MPa[:, None]
    fine = made.state != ALTERNATES
    assert np.all(np.abs(after[fine]) <= 355 * (1 + 1e-9))
    tried = ends[~fine, :, None] + np.linspace(-1000, 1000, 201)
    assert np.all(np.max(np.abs(tried), axis=1).min(axis=1) > 355)
    assert {ELASTIC, SHAKES_DOWN, ALTERNATES} == set(np.unique(made.state))
    # mirrored stresses mirror the answer
    mirrored = shakedown(-ends[:, 0], -ends[:, 1], yield_MPa=355)
    assert np.array_equal(mirrored.state, made.state)
    assert mirrored.residual_MPa == pytest.approx(-made.residual_MPa)


def test_growth_of_the_net_section():
    fine = shakedown(500, 0, yield_MPa=355, net_mean_MPa=100, net_range_MPa=200)
    assert not fine.growth
    doubtful = shakedown(500, 0, yield_MPa=355, net_mean_MPa=200, net_range_MPa=200)
    assert doubtful.growth
    assert doubtful.worst == SHAKES_DOWN
    assert any("growth cycle by cycle is not excluded" in w for w in doubtful.warnings)
    over = shakedown(500, 0, yield_MPa=355, net_mean_MPa=300, net_range_MPa=200, name="jam")
    assert over.worst == GROWS
    assert "static proof fails" in over.warnings[0]
    assert {f.what: f.value for f in over.figures}["net mean and range over yield (jam)"] == pytest.approx(500 / 355)


def test_places_at_once():
    made = shakedown([100, 500, 900], [0, 0, 0], yield_MPa=355)
    assert [str(s) for s in made.state] == [ELASTIC, SHAKES_DOWN, ALTERNATES]
    assert made.worst == ALTERNATES
    assert "strain life" in made.words
    assert made.range_share == pytest.approx(np.array([100, 500, 900]) / 710)
    assert made.figures[0].value == pytest.approx(900 / 710)


def test_faults_of_shakedown():
    with refused("upper_MPa"):
        shakedown(0, 100, yield_MPa=355)
    with refused("yield_MPa"):
        shakedown(100, 0, yield_MPa=0)
    with refused("lower_MPa"):
        shakedown(100, math.nan, yield_MPa=355)
    with pytest.raises(InputFault, match=r"net_range_MPa.*at least 0"):
        shakedown(100, 0, yield_MPa=355, net_range_MPa=-1)
    with pytest.raises(InputFault, match=r"upper_MPa.*shape"):
        shakedown([1.0, 2.0], [0.0, 0.0, 0.0], yield_MPa=355)
