"""A hit on a slot's flank: balances, limits, single modes, and the sum of modes against a step-by-step integration."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

import femdrum as fd
from femdrum.assess.transient import impact_response
from femdrum.edge import principal
from femdrum.errors import InputFault, NoNumber
from femdrum.fem.cell import Fineness
from femdrum.fem.copies import glued
from femdrum.fem.dynamic_cell import cell_matrices
from femdrum.fem.modal_ring import ModalRing, modal_ring
from femdrum.fem.modes import FreeSector
from femdrum.fem.pulse import Pulse, given_pulse
from femdrum.fem.symmetry import mirror_plan, plan_of
from femdrum.fem.transient import Transient
from femdrum.loads.dynamic import half_sine_factor
from femdrum.model.flank import default_patch

STEEL = fd.steel("S355")
COARSE = Fineness(order=2, cells_per_arc=2, wall_cells=2)


def ring(**changes: Any) -> fd.Ring:
    """A ring of the studies with a corner radius that coarse cells carry."""
    slot = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=12)
    fields = {
        "outer_diameter_mm": 760, "wall_mm": 40, "pitch_mm": 180, "slots_around": 2, "rows": "aligned", "cutout": slot,
    }  # fmt: skip
    return fd.Ring(**(fields | changes))


def hit(part: fd.Ring, flank: str = "trailing") -> str:
    """Pressure of 1 MPa on a flank of the first slot."""
    return default_patch(part, 0, flank, "pressure").name


def modal(part: fd.Ring, count: int = 30, name: str = "", **more: Any) -> ModalRing:
    """Modes of the ring under a hit."""
    return modal_ring(plan_of(part), STEEL, {name or hit(part): 10.0}, COARSE, count, **more)


@pytest.fixture(scope="module")
def model() -> ModalRing:
    return modal(ring())


def test_static_field_fits_the_moving_model(model: ModalRing) -> None:
    """The statics, condensed and solved apart, leave nothing over in the equations of the modes."""
    for s in model.sectors:
        assert s.off < 1e-9
        assert s.residual < 1e-9
        elastic = slice(s.rigid, None)
        held = model.copies * float((s.push[elastic] ** 2 / s.omega[elastic] ** 2).sum())
        assert 0.85 * s.static_Nmm < held < s.static_Nmm


def moving_part(struck: ModalRing, parity: tuple[int, ...]) -> tuple[FreeSector, np.ndarray]:
    """The system of one parity, and the force of 10 MPa on its unknowns."""
    plan = struck.plan
    cell = cell_matrices(struck.mesh, STEEL, struck.static.quarter.frame)
    copies = glued(plan.ring, struck.mesh, plan.sectors, plan.halves)
    moving = FreeSector(plan, struck.static.quarter, copies, parity, cell, STEEL)
    solved = next(s for s in struck.static.parts if s.parity == parity)
    base = struck.static.quarter.in_frame(np.stack([p.force for p in struck.static.cases[0].pieces], -1))
    return moving, 10 * moving.force(np.einsum("nib,cb->cni", base, solved.weights[:, :-4, 0]))


@pytest.mark.parametrize("parity", [(1, 1, 1), (-1, 1, 1)])
def test_all_modes_together_are_the_static_field(model: ModalRing, parity: tuple[int, ...]) -> None:
    """Every mode there is, by a dense solution: the load's compliance is that of the statics, and nothing is left over."""
    from scipy.linalg import eigh

    moving, force = moving_part(model, parity)
    values, shape = eigh(moving.stiffness.toarray(), moving.mass.toarray())
    mine = next(s for s in model.sectors if s.parity == parity)
    assert np.sqrt(values[mine.rigid : 20]) == pytest.approx(mine.omega[mine.rigid : 20], rel=1e-7)
    soft = float(((shape.T @ force)[mine.rigid :] ** 2 / values[mine.rigid :]).sum())
    assert model.copies * soft == pytest.approx(mine.static_Nmm, rel=1e-7)


def test_long_pulse_is_the_static_field(model: ModalRing) -> None:
    slow = Transient(model, Pulse("half_sine", 4.0), 0.5)
    static = slow.static()
    worst = slow.extreme(abs(static.peak_MPa))
    assert abs(worst.peak_MPa / static.peak_MPa) == pytest.approx(1.0, abs=1e-3)
    assert (worst.at.slot, worst.at.s_index) == (static.at.slot, pytest.approx(static.at.s_index, abs=2))
    assert worst.time_s == pytest.approx(2.0, rel=0.02)
    stress = model.slot_stress(0)[0]
    moving = np.tensordot(slow.weights(np.array([2.0]))[:, 0], stress, 1)
    assert np.abs(moving - stress[0]).max() < 1e-3 * np.abs(stress[0]).max()


def test_short_pulse_is_an_impulse(model: ModalRing) -> None:
    """What is left after a pulse far shorter than the period grows with its impulse, not with its shape."""
    first = model.sectors[0].omega[:1]
    for pulse in (Pulse("rectangle", 2e-6), Pulse("triangle", 4e-6), Pulse("half_sine", math.pi * 1e-6)):
        q, v = pulse.answer(first, np.array([1e-3]))
        assert math.hypot(first[0] * q[0, 0], v[0, 0]) == pytest.approx(2e-6, rel=1e-4)


@pytest.mark.parametrize("flank", ["trailing", "free_end"])
@pytest.mark.parametrize("shape", ["half_sine", "rectangle", "triangle"])
def test_momentum_and_energy_close(flank: str, shape: str) -> None:
    part = ring()
    struck = modal(part, 24, hit(part, flank), stress=False)
    for duration in (1e-4, 1.3e-3, 2e-2):
        pulse = Pulse(shape, duration)
        got = Transient(struck, pulse, 1.0).balance()
        assert got.momentum_residual < 1e-6
        assert got.energy_residual < 1e-6
        assert got.work_Nmm > 0
        # impulse: force times the pulse's area, against the drum on the trailing flank at the first slot
        patch = default_patch(part, 0, flank, "pressure")
        axis, sign = (1, -1.0) if flank == "trailing" else (2, 1.0)
        force = 10 * patch.force_N(part)
        assert got.impulse[axis] == pytest.approx(sign * force * pulse.impulse_s, rel=0.03)
        assert got.momentum[axis] / (struck.mass_t * 1.0) == pytest.approx(got.impulse[axis] / struck.mass_t, rel=1e-9)


def test_mass_and_inertia_are_those_of_the_shell(model: ModalRing) -> None:
    relief = model.static.relief[0]
    assert model.mass_t == pytest.approx(relief.net[1] / relief.acceleration[1], rel=1e-9)
    assert model.inertia_tmm2 == pytest.approx(relief.net[3] / relief.acceleration[3], rel=1e-9)


def test_first_mode_alone_is_the_single_oscillator(model: ModalRing) -> None:
    """Largest factor 1.768 near duration over period 0.81; the hit's own modes give another one."""
    first = min(model.sectors, key=lambda s: s.omega[s.rigid])
    k = first.rigid
    found = {}
    for ratio in (0.3, 0.6, 0.81, 1.0, 1.4):
        period = 2 * math.pi / first.omega[k]
        moving = Transient(model, Pulse("half_sine", ratio * period), 2.0)
        t = np.linspace(0.0, (ratio + 1.5) * period, 20_001)
        at = 1 + sum(s.omega.size for s in model.sectors[: model.sectors.index(first)]) + k
        own = moving.weights(t)[at] * first.omega[k] ** 2 / first.push[k] + moving.pulse.share(t)
        found[ratio] = float(np.abs(own).max())
        assert found[ratio] == pytest.approx(half_sine_factor(duration_over_period=ratio), rel=1e-5)
    assert found[0.81] == pytest.approx(1.768, abs=1e-3)
    assert found[0.81] == max(found.values())


def test_sum_of_modes_is_a_step_by_step_integration() -> None:
    """The average-acceleration rule on all unknowns of one parity, against modes with the static correction: the yield of
    the load's own place, with and without the rigid motion.
    """
    from scipy.sparse.linalg import splu

    struck = modal(ring(), 40, stress=False)
    pulse = Pulse("half_sine", 8e-4)
    got = next(s for s in struck.sectors if s.parity == (-1, 1, 1))
    moving, force = moving_part(struck, got.parity)
    steps, end = 3000, 3e-3
    h = end / steps
    system = splu((moving.mass + 0.25 * h**2 * moving.stiffness).tocsc())
    u = v = np.zeros(moving.unknowns)
    a = splu(moving.mass.tocsc()).solve(force * pulse.share(np.zeros(1))[0])
    yielded = [0.0]
    work = 0.0
    t = np.linspace(0.0, end, steps + 1)
    share = pulse.share(t)
    for k in range(steps):
        ahead = u + h * v + 0.25 * h**2 * a
        new = system.solve(share[k + 1] * force - moving.stiffness @ ahead)
        moved = ahead + 0.25 * h**2 * new
        work += 0.5 * (share[k] + share[k + 1]) * float(force @ (moved - u))
        u, v, a = moved, v + 0.5 * h * (a + new), new
        yielded.append(float(force @ u))
    q = pulse.answer(got.omega, t)[0]
    elastic = slice(got.rigid, None)
    rest = got.static_Nmm / struck.copies - float((got.push[elastic] ** 2 / got.omega[elastic] ** 2).sum())
    modes = got.push**2 @ q + rest * share
    assert np.abs(modes - yielded).max() < 1e-3 * np.abs(yielded).max()
    # without what moves rigidly, and without the static correction it is not as good
    rigid = got.push[:1] ** 2 @ q[:1]
    assert got.rigid == 1
    bent = np.array(yielded) - rigid
    assert np.abs(modes - rigid - bent).max() < 3e-3 * np.abs(bent).max()
    assert np.abs(got.push**2 @ q - rigid - bent).max() > 2 * np.abs(modes - rigid - bent).max()
    assert 0.5 * float(v @ (moving.mass @ v) + u @ (moving.stiffness @ u)) == pytest.approx(work, rel=1e-9)
    assert work == pytest.approx(float(got.push**2 @ pulse.work(got.omega)), rel=0.01)


def test_static_correction_carries_what_few_modes_leave_out() -> None:
    few, many = modal(ring(), 6), modal(ring(), 60)
    peaks = {}
    for name, struck in (("few", few), ("many", many)):
        moving = Transient(struck, Pulse("half_sine", 2e-3), 1.0)
        static = moving.static()
        peaks[name] = abs(moving.extreme(abs(static.peak_MPa)).peak_MPa / static.peak_MPa)
    assert peaks["few"] == pytest.approx(peaks["many"], rel=0.02)
    # the modes by themselves, without the static field, miss the peak by far
    stress = few.slot_stress(0)[0]
    sums = np.zeros_like(stress[0])
    at = 1
    for s in few.sectors:
        still = np.divide(s.push, s.omega**2, out=np.zeros_like(s.push), where=s.omega > 0)
        sums += np.tensordot(still, stress[at : at + s.omega.size], 1)
        at += s.omega.size
    assert np.abs(sums - stress[0]).max() > 0.3 * np.abs(stress[0]).max()


def test_rows_struck_alike_move_alike() -> None:
    """Two rows in one period, ends held, every row struck: what one row does; all its frequencies are among theirs."""
    part = ring(held="all")
    name = default_patch(part, None, "trailing", "pressure").name
    one, two = (modal_ring(mirror_plan(part, rows), STEEL, {name: 10.0}, COARSE, 16 * rows) for rows in (1, 2))
    for a in one.sectors:
        b = next(s for s in two.sectors if s.parity == a.parity)
        assert np.abs(b.omega[None, a.rigid :] / a.omega[a.rigid : 8, None] - 1).min(1).max() < 1e-7
        assert a.motion_names == ()
    peaks = []
    for struck in (one, two):
        moving = Transient(struck, Pulse("half_sine", 1e-3), 1.0)
        peaks.append(moving.extreme(abs(moving.static().peak_MPa)).peak_MPa)
    assert peaks[0] == pytest.approx(peaks[1], rel=0.01)


def test_search_finds_what_looking_everywhere_finds(model: ModalRing) -> None:
    """Every place of the struck slot at 1,200 instants, against the search that thins first and looks closer then."""
    moving = Transient(model, Pulse("half_sine", 4e-4), 0.5)
    worst = moving.extreme(abs(moving.static().peak_MPa), slots=(0,))
    stress, pressure, _ = model.slot_stress(0)
    most = 0.0
    for t in np.array_split(np.linspace(0.0, moving.end_s, 1200), 12):
        high, low = principal(np.tensordot(moving.weights(t).T, stress, 1))
        third = -moving.pulse.share(t)[:, None, None] * pressure
        most = max(most, float(np.maximum(high, third).max()), -float(np.minimum(low, third).min()))
    assert most * (1 - 1e-4) < abs(worst.peak_MPa) < most * 1.005


def test_mirrored_hit_is_the_mirror_image() -> None:
    part = ring()
    values = []
    for flank in ("trailing", "leading"):
        moving = Transient(modal(part, 16, hit(part, flank)), Pulse("half_sine", 1e-3), 1.0)
        static = moving.static()
        worst = moving.extreme(abs(static.peak_MPa))
        values.append((static.peak_MPa, worst.peak_MPa, abs(worst.at.x_mm), worst.time_s))
    assert values[0] == pytest.approx(values[1], rel=1e-6)


def test_response_tells_all() -> None:
    part = ring()
    got = impact_response(part, STEEL, hit(part), 1e-3, fineness=COARSE)
    assert not got.settled  # in the mesh: cells of order 1 and 2 differ
    assert got.mesh_change > 0.02
    assert [w for w in got.warnings if "in the mesh" in w]
    assert got.change <= 0.01
    assert got.factor == pytest.approx(abs(got.dynamic.peak_MPa / got.static.peak_MPa))
    assert 0.7 < got.factor < 1.2
    assert got.tones[0].frequency_Hz == pytest.approx(260, abs=5)
    assert sum(tone.share for tone in got.tones) <= got.spanned < 1
    assert [m.factor for m in got.one_mode] == pytest.approx(
        [half_sine_factor(duration_over_period=1e-3 * m.frequency_Hz) for m in got.one_mode]
    )
    assert got.mass_kg == pytest.approx(123.3, abs=0.5)
    assert max(got.balance.momentum_residual, got.balance.energy_residual) < 1e-6
    assert np.abs(got.course.dynamic_MPa).max() == pytest.approx(abs(got.dynamic.peak_MPa), rel=0.01)
    assert got.course.dynamic_MPa[0] == 0
    assert got.course.slow_MPa[-1] == 0
    text = " ".join(got.notes)
    for words in ("undamped", "contact", "Every row is struck", "end faces", "longer search"):
        assert words in text


def test_too_few_modes_are_told() -> None:
    part = ring()
    got = impact_response(part, STEEL, hit(part), 5e-5, fineness=COARSE, most_modes=4)
    assert not got.settled
    assert any("not settled in the modes" in w for w in got.warnings)
    # a single oscillator of the lowest frequency hardly moves in so short a time
    assert got.one_mode[0].factor < 0.1 < 0.4 < got.factor
    assert any("a single oscillator" in w for w in got.warnings)


def test_given_pulse_and_loads_of_the_study() -> None:
    part = ring()
    pulse = given_pulse([0.0, 2e-4, 1.2e-3], [0.0, 1.0, 0.0])
    tip = fd.TipForce(force_kN=60, walls="near", overhang_mm=60)
    got = impact_response(part, STEEL, tip, pulse, fineness=COARSE)
    assert set(got.terms) == {t for t in got.terms if t.startswith("flank:0")}
    assert got.load == "tip_force"
    struck = fd.Impact(
        method="spring", mass_kg=1.0, stiffness_kN_mm=400.0, speed_m_s=50.0, walls="near", overhang_mm=60, behind="rotor",
        dynamic_factor=True, first_frequency_Hz=900.0,
    )  # fmt: skip
    machine = fd.Machine(inertia_kg_m2=250, tip_diameter_mm=1000)
    own = impact_response(part, STEEL, struck, machine=machine, fineness=COARSE, change=0.05)
    duration = next(f.value for f in own.figures if f.what.startswith("duration"))
    assert own.pulse.shape == "half_sine"
    assert own.pulse.duration_s == pytest.approx(1e-6 * duration, rel=1e-12)
    assert own.pulse.duration_s == pytest.approx(math.pi * math.sqrt(1e-3 / 400e3), rel=0.01)
    assert not any("no dynamic factor" in w for w in own.warnings)


def test_faults() -> None:
    part = ring()
    with pytest.raises(InputFault, match="aligned or alternate rows can"):
        impact_response(ring(rows="helical", row_angle_deg=30.0), STEEL, hit(part), 1e-3)
    with pytest.raises(InputFault, match="wave would run on"):
        impact_response(part, STEEL, fd.Torsion(torque_Nm=1e3), 1e-3)
    with pytest.raises(InputFault, match="pulse_s"):
        impact_response(part, STEEL, hit(part))
    with pytest.raises(InputFault, match="no hit"):
        impact_response(part, STEEL, fd.Bending(moment_Nm=1e3, rotating=True), 1e-3)
    sharp = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=0)
    with pytest.raises(NoNumber, match="sharp corner"):
        impact_response(ring(cutout=sharp), STEEL, hit(part), 1e-3)


@pytest.mark.slow
def test_one_struck_row_of_five_and_of_seven() -> None:
    """A short hit is over before anything comes back from the block's ends (0.18 ms): the corner does not know the block."""
    peaks = {}
    for rows in (5, 7):
        struck = modal(ring(block_rows=rows), 10 * rows)
        assert struck.mass_t == pytest.approx(rows * 0.1233, rel=2e-3)
        moving = Transient(struck, Pulse("half_sine", 1e-4), 0.01)
        peaks[rows] = moving.extreme(abs(moving.static().peak_MPa), slots=(0,)).peak_MPa
        got = moving.balance()
        assert max(got.momentum_residual, got.energy_residual) < 1e-6
    assert peaks[5] == pytest.approx(peaks[7], rel=0.01)


@pytest.mark.slow
@pytest.mark.parametrize(("rows", "slots", "order", "most"), [("aligned", 3, 4, 0.03), ("alternate", 4, 3, 0.06)])
def test_finer_cells_and_more_slots(rows: str, slots: int, order: int, most: float) -> None:
    part = ring(slots_around=slots, rows=rows)
    fineness = Fineness(order=order, cells_per_arc=2, wall_cells=2)
    got = impact_response(part, STEEL, hit(part), 8e-4, fineness=fineness, periods=1.0, most_modes=24)
    assert max(got.balance.momentum_residual, got.balance.energy_residual) < 1e-6
    assert got.mesh_change < most
    which = "Every second row" if rows == "alternate" else "Every row"
    assert f"{which} is struck" in " ".join(got.notes)
