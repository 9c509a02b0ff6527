"""What is said of the whole drum's rotor: the answer in three sentences, notes, warnings, what is left out and not checked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..model.drum import Drum
from ..model.material import Material
from ..rotor.bearing_life import TARGET_H
from ..rotor.burst import Overspeed
from ..rotor.campbell import Campbell
from ..rotor.mass_properties import MassProperties
from ..rotor.shaft_strength import ShaftStrength
from ..rotor.stub_check import StubSection
from ..rotor.whirl_line import NOTES as WHIRL_NOTES
from .life_words import hours
from .whole_drum_input import RotorWanted
from .whole_drum_result import LeftOut, StateAnswer, WholeDrum

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["NOT_CHECKED", "answer_sentences", "drum_notes", "missing_words", "state_warnings"]

NOT_CHECKED: tuple[str, ...] = (
    "stress and life of the slots: solve the ring of this drum with each row's own loads",
    "how hammers, wedges and bolts are held, and the pressure of their clamp on the slots",
    "welds, and the fillet of the end discs beyond the nominal stress of the stubs",
    "keyways, tapered sleeves, hubs and the drive's own shaft",
    "torsional vibration of drive and drum, and vibration of housing and foundation",
    "growth of vibration by resonance: bearing loads and rows are those of a rotor that the bearings hold at once",
    "lubrication, dirt, misalignment and clearance of the bearings, which end most of them",
    "guards and screens: whether they stop a lost hammer needs a test",
    "loads that the file does not list",
)


def _kNm(value_Nmm: float) -> str:
    return f"{1e-6 * value_Nmm:.3g} kN·m"


def _quoted(name: str) -> str:
    return f"\u201c{name}\u201d"


def answer_sentences(got: WholeDrum) -> tuple[str, str, str]:
    """What the rows carry; what the shafts and bearings stand; how far the speed keeps from what would shake the drum."""
    return _rows_sentence(got), _ends_sentence(got), _speed_sentence(got)


def _rows_sentence(got: WholeDrum) -> str:
    state = got.worst
    row = state.worst_row
    fast = got.fastest
    # a megajoule is what such drums store
    energy = f"{1e-6 * fast.energy_J:.3g} MJ" if fast.energy_J >= 1e5 else f"{1e-3 * fast.energy_J:.3g} kJ"
    return (
        f"The rotor weighs {got.masses.mass_kg:,.0f} kg and stores {energy} at {fast.running.speed_rpm:g} rpm; row {row.row + 1} of "
        f"{got.drum.rows_total} carries most, in the state {_quoted(state.name)}: a bending moment of "
        f"{_kNm(row.largest_moment_Nmm)}, of it {_kNm(row.rotating_amplitude_Nmm)} reversed once a turn, a shear of "
        f"{1e-3 * row.shear_N:.3g} kN and a torque of {_kNm(abs(row.torque_Nmm))}."
    )


def _ends_sentence(got: WholeDrum) -> str:
    lives = [(b.life_h, b.side, s) for s in got.states if s.life is not None for b in s.life.bearings]
    if lives:
        life, side, state = min(lives, key=lambda item: item[0])
        reached = "below" if life < got.wanted.target_h else "above"
        first = (
            f"The {side} bearing has the shortest rating life, {hours(life)} in {_quoted(state.name)}, {reached} the "
            f"{hours(got.wanted.target_h)} that are wanted"
        )
    else:
        load, state = max(((b, s) for s in got.states for b in s.bearings), key=lambda item: item[0].largest_N)
        first = (
            f"The {load.side} bearing carries up to {1e-3 * load.largest_N:.3g} kN in {_quoted(state.name)}; without its rating "
            "no life is known"
        )
    found: list[tuple[StubSection, StateAnswer]] = [(s.stubs[0], s) for s in got.states if s.stubs]
    if not found:
        return f"{first}; the stub shafts were not proven."
    worst, where = min(found, key=lambda item: item[0].least_safety)
    return (
        f"{first}; the worst section of the stubs is the {worst.name}, with a safety of {worst.least_safety:.2g} against fatigue "
        f"in {_quoted(where.name)}."
    )


def _speed_sentence(got: WholeDrum) -> str:
    near = [(*s.nearest, s) for s in got.states if s.nearest is not None]
    if near:
        name, apart, state = min(near, key=lambda item: item[1].share)
        assert apart.nearest_rpm is not None
        side = "above" if apart.nearest_rpm >= apart.speed_rpm else "below"
        first = (
            f"The nearest critical speed that is excited, {apart.nearest_rpm:,.0f} rpm ({name}), lies {100 * apart.share:.0f} % "
            f"{side} the {apart.speed_rpm:g} rpm of {_quoted(state.name)}: {apart.verdict}"
        )
    elif got.campbell is not None:
        first = f"No excitation meets a whirl up to {got.campbell.speed_rpm[-1]:g} rpm"
    else:
        first = "Critical speeds were not computed, as the bearings' stiffness is not given"
    modes = [(m.share, m, s) for s in got.states for m in s.shell.modes]
    if not modes:
        return f"{first}; no ring mode of the shell is known."
    if got.drum.hammer is None:
        lowest = min((m for _, m, _ in modes), key=lambda m: m.ring_Hz)
        return (
            f"{first}; the shell's lowest ring mode has {lowest.waves} waves around and {lowest.ring_Hz:.0f} to {lowest.disc_Hz:.0f} Hz, "
            "and no hits shake it."
        )
    _, mode, where = min(modes, key=lambda item: item[0])
    return (
        f"{first}; of the shell's ring modes the one of {mode.waves} waves around, {mode.ring_Hz:.0f} to {mode.disc_Hz:.0f} Hz, is "
        f"nearest to hits, order {mode.meets_order} of the speed, {mode.meets_Hz:.0f} Hz in {_quoted(where.name)}: {mode.verdict}."
    )


def missing_words(
    drum: Drum, material: Material, wanted: RotorWanted, stub_strength: ShaftStrength | None
) -> Iterable[LeftOut]:
    """What cannot be computed from this description, and what it lacks."""
    pair = {"drive": drum.drive_bearing, "free": drum.other_bearing}
    for what, field, meant in (
        ("Life of the bearings", "dynamic_rating_kN", "the rating C of"),
        ("Static safety of the bearings", "static_rating_kN", "the static rating C0 of"),
        ("Critical speeds and the Campbell plot", "stiffness_kN_mm", "the radial stiffness, with its housing, of"),
    ):
        lacking = [side for side, bearing in pair.items() if bearing is None or getattr(bearing, field) is None]
        if lacking:
            who = "either bearing" if len(lacking) == 2 else f"the {lacking[0]} bearing"
            yield LeftOut(what, f"{field} is not given: {meant} {who}; nobody can guess it.")
    if stub_strength is None:
        yield LeftOut("Strength of the stub shafts", "the table [stub_strength] is not given.")
    if material.ultimate_MPa is None:
        yield LeftOut("Overspeed and burst", "the shell's tensile strength is not given.")
    if wanted.drag_kW is None:
        yield LeftOut("Time to run down", "rotor.drag_kW, what the idle drum takes, is not given.")
    if drum.drive is None:
        yield LeftOut("Pull of the belts", "the table [drum.drive] is not given; a coupling has none.")
    if drum.hammer is None:
        yield LeftOut("Hits, cutting and a lost hammer", "the drum has no hammers.")


def state_warnings(states: Sequence[StateAnswer], wanted: RotorWanted, life_h: float | None) -> list[str]:
    """Warnings of all states, each with its state's name; and of the bearings against the life that is wanted."""
    out = [f"{_quoted(s.name)}: {text}" for s in states for text in s.warnings]
    for state in states:
        for bearing in state.life.bearings if state.life is not None else ():
            # below common practice it is told already
            if TARGET_H[0] <= bearing.life_h < wanted.target_h:
                out.append(
                    f"{_quoted(state.name)}: The {bearing.side} bearing reaches {hours(bearing.life_h)}; "
                    f"{hours(wanted.target_h)} are wanted."
                )
        for section in state.stubs:
            if min(section.least_safety, section.yield_safety) < 1:
                kind = "fatigue" if section.least_safety <= section.yield_safety else "first yield"
                least = min(section.least_safety, section.yield_safety)
                out.append(f"{_quoted(state.name)}: {section.name}: safety {least:.2g} against {kind} is below 1.")
    if life_h is not None and life_h < wanted.target_h:
        out.append(
            f"Over all states both bearings together reach {hours(life_h)}; {hours(wanted.target_h)} are wanted."
        )
    return out


def drum_notes(
    drum: Drum, wanted: RotorWanted, states: Sequence[StateAnswer], masses: MassProperties, over: Overspeed | None,
    found: Campbell | None,
) -> tuple[str, ...]:  # fmt: skip
    """How it was modelled, each sentence once."""
    notes = [
        "Slots and rows are numbered from 1: row by row from the drive end, within a row in the sense of rotation. z is counted "
        "from the drive bearing's middle towards the free end, angles from the first slot of row 1 in the sense of rotation.",
        "Rows, bearings and stubs by statics of the rotor on its two bearings, without vibration.",
        "Moments that stand in space are reversed once a turn in the drum's metal; those that turn with the drum are constant "
        "there. The largest moment has both pointing the same way.",
    ]
    if any(state.running.unbalance for state in states):
        notes.append(
            f"States that list no unbalance of their own carry {100 * wanted.left_share:g} % of what G{wanted.grade_mm_s:g} permits at "
            "the fastest state's speed, in the plane of the centre of gravity, pointing to angle 0."
        )
    notes += masses.notes
    notes += list(WHIRL_NOTES) if found is not None else []
    if found is not None and any(s.running.hammers != type(s.running.hammers)() for s in states):
        notes.append(
            "Critical speeds are those of the drum as drawn, without the hammers that a state says are missing or worn."
        )
    notes += [note for state in states for note in state.shell.notes]
    notes += [note for state in states for section in state.stubs for note in section.notes]
    notes += over.notes if over is not None else ()
    return tuple(dict.fromkeys(notes))
