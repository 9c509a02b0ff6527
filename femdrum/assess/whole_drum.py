"""The whole drum: model, rotor and beams brought together, for all running states at once.

Rows, bearings, stubs and shell modes for each state; masses, critical speeds, overspeed and a lost hammer for the drum.
What the description does not suffice for is left out, and said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..errors import Fault, InputFault
from ..fem.beam import BeamModel, CriticalSpeed, beam_model
from ..figure import Figure, figure
from ..model.check import Checks
from ..model.drum import Drum, slots
from ..model.material import Material
from ..provenance import computed
from ..rotor.bearing_life import RotorLife, bearing_lives
from ..rotor.bearing_loads import bearing_loads
from ..rotor.burst import overspeed
from ..rotor.campbell import Campbell, Excitation, campbell
from ..rotor.critical_speed import separation
from ..rotor.mass_properties import MassProperties, mass_properties
from ..rotor.pattern import pattern_answer
from ..rotor.rows import row_resultants
from ..rotor.run_down import LostHammer, coast_down_s, kinetic_energy_J, lift_height_m, lost_hammer
from ..rotor.running import Cause, RestUnbalance, Running, causes
from ..rotor.shaft_strength import ShaftStrength
from ..rotor.shell_modes import shell_modes
from ..rotor.stub_check import stub_sections
from ..rotor.unbalance import permissible_unbalance_g_mm
from ..rotor.whirl_line import shaft_line
from ..units import omega_rad_s
from .whole_drum_input import RotorWanted
from .whole_drum_result import AlongDrum, StateAnswer, WholeDrum
from .whole_drum_words import drum_notes, missing_words, state_warnings

__all__ = ["along_drum", "excitations_of", "whole_drum"]

STEPS_ALONG = 240
SPEEDS = 41
MOST_CRITICALS = 6
OVER_STATES = computed("hours of all states added up by their shares of time: 1 / L = sum of share / L")
TIP_SPEED = computed("kinematics of steady rotation")


def excitations_of(drum: Drum) -> tuple[Excitation, ...]:
    """What comes round with the speed: unbalance, all tips' hits together, and one row's hits where they come more seldom.

    Equal hits of all rows push the drum sideways as often as the whole pattern repeats; a tilting drum feels the row that
    is nearer to its end more, so there a row's own rate counts too.
    """
    out = [Excitation("unbalance", 1.0, with_rotation=True)]
    if drum.hammer is None:
        return tuple(out)
    whole = pattern_answer(drum, speed_rpm=1.0).first_order
    if drum.slots_around not in (1, whole):
        out.append(Excitation(f"hits of one row, {drum.slots_around} a turn", float(drum.slots_around)))
    out.append(Excitation(f"hits of all rows, {whole} a turn", float(whole)))
    return tuple(out)


def along_drum(drum: Drum, acting: Sequence[Cause], *, steps: int = STEPS_ALONG) -> AlongDrum:
    """Resultants of a state's causes at evenly spread places and on both sides of rows and of all that stands somewhere."""
    rows = [drum.row_z_mm(row) for row in range(drum.rows_total)]
    stands = [np.array([0.0, drum.bearing_span_mm, -drum.drive_end.beyond_mm, *rows])]
    for cause in acting:
        stands += [cause.forces.from_mm, cause.forces.to_mm]
        if cause.torques is not None:
            stands += [cause.torques.from_mm, cause.torques.to_mm]
    ends = np.concatenate(stands)
    even = np.linspace(ends.min(), max(ends.max(), drum.bearing_span_mm + drum.other_end.beyond_mm), steps)
    z = np.unique(np.concatenate([even, ends]))
    moment = {frame: np.zeros(len(z), dtype=complex) for frame in ("space", "drum")}
    shear = {(frame, side): np.zeros(len(z), dtype=complex) for frame in moment for side in (False, True)}
    torque = {side: np.zeros(len(z)) for side in (False, True)}
    for cause in acting:
        moment[cause.frame] += cause.forces.moment_Nmm(z)
        for side in (False, True):
            shear[cause.frame, side] += cause.forces.shear_N(z, beyond=side)
            if cause.torques is not None:
                torque[side] += cause.torques.inside_Nmm(z, beyond=side)
    both = {side: np.abs(shear["space", side]) + np.abs(shear["drum", side]) for side in (False, True)}
    return AlongDrum(
        np.repeat(z, 2), np.repeat(np.abs(moment["space"]), 2), np.repeat(np.abs(moment["drum"]), 2),
        np.stack([both[False], both[True]], 1).ravel(), np.stack([torque[False], torque[True]], 1).ravel(),
    )  # fmt: skip


def whole_drum(
    drum: Drum, running: Sequence[Running], material: Material, *, wanted: RotorWanted | None = None,
    stub_strength: ShaftStrength | None = None, time_shares: Sequence[float | None] | None = None,
) -> WholeDrum:  # fmt: skip
    """Everything about the rotor of a drum in its running states.

    running: at least one state, each turning, with names of their own. material: of shell, discs and stubs.
    stub_strength: of the stubs; left out, they are not proven. time_shares: of all running time, by state. Raises InputFault.
    """
    wanted = wanted or RotorWanted()
    shares = tuple(time_shares) if time_shares is not None else (None,) * len(running)
    _check(drum, running, shares, wanted)
    masses = mass_properties(drum, material)
    fastest = max(running, key=lambda state: state.speed_rpm)
    permissible = permissible_unbalance_g_mm(
        grade_mm_s=wanted.grade_mm_s, mass_kg=masses.mass_kg, speed_rpm=fastest.speed_rpm
    )
    left = wanted.left_share * permissible
    left_out = list(missing_words(drum, material, wanted, stub_strength))
    model = _beams(drum, material)
    found = None if model is None else _campbell(drum, model, fastest.speed_rpm, wanted)
    centre = float(masses.centre_mm[2])
    states = []
    for state, share in zip(running, shares, strict=True):
        rest = RestUnbalance(amount_g_mm=left, angle_deg=0.0, z_mm=centre)
        whole = state if state.unbalance or not left else replace(state, unbalance=(rest,))
        try:
            states.append(_state(drum, whole, share, material, wanted, stub_strength, model, masses))
        except InputFault as error:
            raise InputFault(f.at(f"running {state.name!r}") for f in error.faults) from None
    over = None
    if material.ultimate_MPa is not None:
        over = overspeed(drum, material, speed_rpm=fastest.speed_rpm, ratio=wanted.overspeed_ratio)
    lost = None if drum.hammer is None else _lost(drum, fastest.speed_rpm, material, wanted)
    coast = None
    if wanted.drag_kW is not None:
        coast = coast_down_s(
            inertia_kg_m2=masses.polar_kg_m2, speed_rpm=fastest.speed_rpm, drag_kW=wanted.drag_kW,
            constant_share=wanted.constant_share,
        )  # fmt: skip
    life = _over_states(states)
    figures = [*masses.figures, figure(permissible_unbalance_g_mm, permissible)]
    figures += [] if over is None else over.figures
    figures += [] if lost is None else lost.figures
    figures += [] if coast is None else [figure(coast_down_s, coast)]
    figures += [] if found is None else found.figures
    if life is not None:
        figures.append(Figure("life of both bearings over all states", life, "h", "1 / sum(share / L)", OVER_STATES))
    warnings = [*drum.warnings, *masses.warnings, *state_warnings(states, wanted, life)]
    criticals: tuple[CriticalSpeed, ...] = ()
    if model is not None:
        criticals = model.critical_speeds(order=1.0, most=MOST_CRITICALS, backward=True)
    return WholeDrum(
        drum, material, wanted, slots(drum), masses, tuple(states), found, criticals, over, lost, coast, permissible, left,
        life, tuple(figures), drum_notes(drum, wanted, states, masses, over, found), tuple(dict.fromkeys(warnings)),
        tuple(left_out),
    )  # fmt: skip


def _check(drum: Drum, running: Sequence[Running], shares: Sequence[float | None], wanted: RotorWanted) -> None:
    checks = Checks()
    if not running:
        checks.add("running", [], "must hold at least one state", "its speed and power")
    names = [state.name for state in running]
    for twice in sorted({n for n in names if names.count(n) > 1}):
        checks.add("running.name", twice, "is the name of more than one state")
    for state in running:
        way = "a state in which the drum turns, revolutions a minute"
        checks.number(f"running {state.name!r}.speed_rpm", state.speed_rpm, above=0.0, way_out=way)
    if len(shares) != len(running):
        checks.add("time_shares", list(shares), f"must hold one for each state, {len(running)}")
    known = [share for share in shares if share is not None]
    good = all([checks.number("time_share", share, least=0.0, most=1.0) for share in known])
    if good and known and len(known) == len(running) and abs(sum(known) - 1) > 1e-6:
        checks.add("time_share", known, f"must add up to 1 over all states, and add up to {sum(known):g}")
    if wanted.lost_slot is not None and wanted.lost_slot > drum.slots_total:
        checks.whole("lost_slot", wanted.lost_slot, 1, drum.slots_total, "a slot's number, from 1")
    checks.done()
    faults: list[Fault] = []
    for state in running:
        try:
            state.check(drum)
            state.hammers.check(drum)
        except InputFault as error:
            faults += [f.at(f"running {state.name!r}") for f in error.faults]
    if faults:
        raise InputFault(faults)


def _beams(drum: Drum, material: Material) -> BeamModel | None:
    """The drum as beams; None where a bearing has no stiffness."""
    pair = (drum.drive_bearing, drum.other_bearing)
    if any(bearing is None or bearing.stiffness_kN_mm is None for bearing in pair):
        return None
    return beam_model(shaft_line(drum, material))


def _campbell(drum: Drum, model: BeamModel, speed_rpm: float, wanted: RotorWanted) -> Campbell:
    upto = wanted.speed_upto_rpm or 2.0 * speed_rpm
    if upto <= speed_rpm:
        raise InputFault(
            Fault("rotor.speed_upto_rpm", upto, f"must be above the fastest state's speed, {speed_rpm:g} rpm")
        )
    # one direction may have more of the lowest whirls than the other
    return campbell(
        lambda speed: model.whirl(speed, modes=3 * wanted.modes), speeds_rpm=np.linspace(0.0, upto, SPEEDS),
        running_rpm=speed_rpm, excitations=excitations_of(drum), modes=wanted.modes,
    )  # fmt: skip


def _state(
    drum: Drum, running: Running, share: float | None, material: Material, wanted: RotorWanted,
    strength: ShaftStrength | None, model: BeamModel | None, masses: MassProperties,
) -> StateAnswer:  # fmt: skip
    acting = causes(drum, running, material)
    loads = bearing_loads(drum, running, material, acting=acting)
    speed = running.speed_rpm
    life: RotorLife | None = None
    if all(b is not None and b.dynamic_rating_kN is not None for b in (drum.drive_bearing, drum.other_bearing)):
        life = bearing_lives(drum, loads, speed_rpm=speed)
    stubs = () if strength is None else stub_sections(
        drum, running, strength, material, notch_sensitivity=wanted.notch_sensitivity, kt_at_disc=wanted.kt_at_disc,
        press_fit_factor=wanted.press_fit_factor, acting=acting,
    )  # fmt: skip
    shell = shell_modes(drum, speed_rpm=speed, material=material, most_waves=wanted.most_waves)
    hit = drum.hammer is not None
    pattern = pattern_answer(drum, speed_rpm=speed)
    apart = []
    for e in excitations_of(drum) if model is not None else ():
        assert model is not None
        met = model.critical_speeds(order=e.order, most=MOST_CRITICALS, backward=not e.with_rotation)
        apart.append((e.name, separation(speed_rpm=speed, critical_rpm=[c.speed_rpm for c in met])))
    energy = kinetic_energy_J(inertia_kg_m2=masses.polar_kg_m2, speed_rpm=speed)
    height = lift_height_m(energy_J=energy, mass_kg=masses.mass_kg)
    tip = None if drum.hammer is None else 1e-3 * drum.hammer.outer_radius_mm * omega_rad_s(speed)
    figures = [figure(kinetic_energy_J, energy), figure(lift_height_m, height)]
    if tip is not None:
        figures.append(Figure("speed of the tips", tip, "m/s", "r omega", TIP_SPEED))
    figures += [*(pattern.figures if hit else ()), *loads[0].figures, *loads[1].figures]
    figures += [] if life is None else life.figures
    figures += [f for section in stubs for f in section.figures]
    warnings = [*(shell.warnings if hit else ()), *(life.warnings if life else ())]
    warnings += [f"{name}: {s.sentence}" for name, s in apart if s.verdict != "apart"]
    return StateAnswer(
        running, share, tuple(row_resultants(drum, running, material, acting=acting)), along_drum(drum, acting), loads,
        life, stubs, pattern, shell, tuple(apart), tip, energy, (*figures, *shell.figures), tuple(warnings),
    )  # fmt: skip


def _over_states(states: Sequence[StateAnswer]) -> float | None:
    """Life of both bearings together over all states by their shares of time."""
    used = 0.0
    for state in states:
        if state.life is None or state.time_share is None:
            return None
        used += state.time_share / state.life.system_h
    return 1 / used if used else None


def _lost(drum: Drum, speed_rpm: float, material: Material, wanted: RotorWanted) -> LostHammer:
    """The hammer that was asked for, or the one whose loss loads a bearing most: of the first row or the last."""
    if wanted.lost_slot is not None:
        return lost_hammer(drum, slot=wanted.lost_slot - 1, speed_rpm=speed_rpm, material=material)
    tried = [
        lost_hammer(drum, slot=row * drum.slots_around, speed_rpm=speed_rpm, material=material)
        for row in sorted({0, drum.rows_total - 1})
    ]
    return max(tried, key=lambda lost: max(lost.drive_bearing_N, lost.free_bearing_N))
