"""A hit that comes and goes: how much more than its peak force, taken as a static one, it does to the slots' edges.

The ring, or the block of rows, answers with its own modes; the force is given, its course is a pulse.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..errors import MISSING, Fault, InputFault, NoNumber
from ..fem.cell import Fineness
from ..fem.modal_ring import ModalRing
from ..fem.pulse import Pulse
from ..fem.symmetry import plan_of
from ..fem.transient import Balance, Course, Extreme, Transient
from ..figure import Figure
from ..loads.dynamic import half_sine_factor
from ..loads.factors import factors
from ..model.load import Impact
from ..model.machine import Machine
from ..model.material import Material
from ..model.ring import Ring
from .transient_search import MESHES, Found, Question, search

__all__ = ["ImpactResponse", "OneMode", "Tone", "impact_response"]

# modes of each parity and unknowns of one, at most
MOST_MODES, MOST_UNKNOWNS = 384, 120_000
# how long after the pulse the largest stress is looked for, in periods of the lowest mode that is excited
PERIODS = 3.0
# balances that are worse than this are told as a warning
BALANCE = 1e-6
# a single oscillator's factor below this share of the ring's own is told as a warning
LOW = 0.8
# frequencies with less of the load's compliance are not listed
TOLD = 0.002


@dataclass(frozen=True)
class Tone:
    """An elastic frequency of the ring in the parities that the load excites, and its share of the load's compliance."""

    frequency_Hz: float
    share: float


@dataclass(frozen=True)
class OneMode:
    """What a single oscillator of this frequency would say: the factor of loads/dynamic.py for a half sine."""

    what: str
    frequency_Hz: float
    duration_over_period: float
    factor: float


@dataclass(frozen=True)
class ImpactResponse:
    """factor: largest |principal stress| on the slots' edges over that of the inertia-relieved static field of the
    pulse's peak; tension_factor: the same of tension alone, None where the static field has none.

    change: of the factor, relative, from half of the modes to all; mesh_change: from the mesh before, infinite if none.
    balance: at the end of the pulse.
    """

    ring: Ring
    load: str
    terms: dict[str, float]
    pulse: Pulse
    factor: float
    tension_factor: float | None
    dynamic: Extreme
    static: Extreme
    change: float
    mesh_change: float
    settled: bool
    modes: int
    modes_per_parity: int
    top_Hz: float
    spanned: float
    searched_s: float
    tones: tuple[Tone, ...]
    one_mode: tuple[OneMode, ...]
    balance: Balance
    course: Course
    mass_kg: float
    net_force_N: tuple[float, float, float]
    net_torque_Nmm: float
    unknowns: int
    order: int
    seconds: float
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def first_Hz(self) -> float:
        """The lowest elastic frequency that the load excites."""
        return self.tones[0].frequency_Hz


def impact_response(
    ring: Ring,
    material: Material,
    load: Any,
    pulse: Pulse | float | None = None,
    *,
    machine: Machine | None = None,
    change: float = 0.01,
    mesh_change: float = 0.02,
    fineness: Fineness | None = None,
    periods: float = PERIODS,
    most_modes: int = MOST_MODES,
    most_unknowns: int = MOST_UNKNOWNS,
) -> ImpactResponse:
    """The undamped answer of a ring to a load that comes and goes.

    load: an Impact (its own duration, its dynamic factor left aside), another load on flanks, a unit case's name, or
    {unit case: factor at the pulse's peak}. pulse: a Pulse, or the duration in s of a half sine; an Impact may do
    without. change, mesh_change: wanted, relative; modes are doubled until the factor changes by no more and half of them
    reach beyond 1 / duration; cells rise in order likewise, or are those of `fineness`, judged by one order less. Raises InputFault, and NoNumber for sharp corners, where no stress is finite.
    """
    start = time.perf_counter()
    if ring.cutout.sharp:
        raise NoNumber("a sharp corner has no finite peak, so there is no dynamic factor of it: give a corner radius")
    name, terms, figures, warnings, own_s = _load(ring, material, load, machine)
    course = _pulse(pulse, own_s, name)
    asked = Question(
        plan_of(ring), material, terms, course, periods, change, mesh_change, most_modes, most_unknowns
    )  # fmt: skip
    found = search(asked, MESHES if fineness is None else _two(fineness))
    model, moving, static, whole = found.model, found.moving, found.static, found.dynamic
    balance = moving.balance()
    warnings += _unsettled(found, asked)
    if max(balance.momentum_residual, balance.energy_residual) > BALANCE:
        warnings += (
            f"momentum and energy do not close: residuals {balance.momentum_residual:.1e} and {balance.energy_residual:.1e}",
        )
    tones = tuple(Tone(f, share) for f, share in moving.frequencies() if share > TOLD)
    single = _one_mode(course, tones, moving)
    if single[0].factor < LOW * found.factor:
        warnings += (
            f"a single oscillator of the lowest frequency would say {single[0].factor:.3g}: it does not see that the edge beside "
            "the pressure answers at once",
        )
    relief = np.array([r.net for r in model.static.relief]).T @ model.factors
    rows = len(asked.plan.all_copies) / (4 * ring.slots_around)
    net = [float(v) * rows for v in relief]
    tension = whole.tension_MPa / static.tension_MPa if static.tension_MPa > 0 else None
    return ImpactResponse(
        ring=ring,
        load=name,
        terms=terms,
        pulse=course,
        factor=found.factor,
        tension_factor=tension,
        dynamic=whole,
        static=static,
        change=found.change,
        mesh_change=found.mesh_change,
        settled=found.enough_modes(asked) and found.mesh_change <= mesh_change,
        modes=sum(s.omega.size - s.rigid for s in model.sectors),
        modes_per_parity=found.count,
        top_Hz=min(float(s.omega[-1]) for s in model.sectors) / (2 * math.pi),
        spanned=moving.spanned,
        searched_s=moving.end_s,
        tones=tones,
        one_mode=single,
        balance=balance,
        course=moving.course(whole.at),
        mass_kg=1e3 * model.mass_t,
        net_force_N=(net[0], net[1], net[2]),
        net_torque_Nmm=net[3],
        unknowns=found.unknowns,
        order=found.fineness.order,
        seconds=time.perf_counter() - start,
        figures=figures,
        notes=_notes(ring, material, model, moving, found.fineness, periods),
        warnings=warnings,
    )


def _two(fineness: Fineness) -> tuple[Fineness, ...]:
    """A mesh, and one of lower order to judge it by."""
    return (*((replace(fineness, order=fineness.order - 1),) if fineness.order > 1 else ()), fineness)


def _unsettled(found: Found, asked: Question) -> tuple[str, ...]:
    """What keeps the factor from being settled."""
    out = []
    if not found.enough_modes(asked):
        out.append(
            f"the factor is not settled in the modes: half of them give {found.half:.4g} instead of {found.factor:.4g}, "
            f"and reach to {found.reach_Hz:.4g} Hz"
        )
    if found.coarser is None:
        out.append("the factor was found on one mesh only: how it depends on the mesh is not known")
    elif found.mesh_change > asked.mesh_change:
        out.append(
            f"the factor is not settled in the mesh: cells of order {found.fineness.order} give {found.factor:.4g}, the mesh "
            f"before gave {found.coarser:.4g}"
        )
    return tuple(out)


def _load(
    ring: Ring, material: Material, load: Any, machine: Machine | None
) -> tuple[str, dict[str, float], tuple[Figure, ...], tuple[str, ...], float | None]:
    """Name, factors on unit cases, figures, warnings, and the load's own duration."""
    if isinstance(load, str):
        return load, {load: 1.0}, (), (), None
    if isinstance(load, Mapping):
        if not load:
            raise InputFault(Fault("load", MISSING, "must have one unit case or more"))
        return " + ".join(load), {str(k): float(v) for k, v in load.items()}, (), (), None
    if isinstance(load, Impact):
        load = replace(load, dynamic_factor=False)
    made = factors(ring, load, machine, material)
    if made.rotating or made.strut is not None or not made.steady or "rotation" in made.steady:
        text = "is no hit: it comes with the drum's speed, turns through the drum, or has a part that the ring decides"
        raise InputFault(Fault("load", load.name, text, "an impact, a tip force, a load on a flank"))
    own, warnings = None, made.warnings
    if isinstance(load, Impact):
        own = next(1e-6 * f.value for f in made.figures if f.what.startswith("duration ("))
        warnings = tuple(w for w in warnings if "no dynamic factor" not in w)  # this is where it is reckoned
    return load.name, made.steady, made.figures, warnings, own


def _pulse(pulse: Pulse | float | None, own_s: float | None, name: str) -> Pulse:
    if isinstance(pulse, Pulse):
        return pulse
    duration = own_s if pulse is None else pulse
    if duration is None:
        raise InputFault(
            Fault(
                "pulse_s", MISSING, f"is missing: load {name!r} has no duration of its own", "seconds of the half sine"
            )
        )
    return Pulse("half_sine", duration)


def _one_mode(pulse: Pulse, tones: tuple[Tone, ...], moving: Transient) -> tuple[OneMode, ...]:
    """Estimates by one oscillator, of the lowest frequency excited and of the one that yields most."""
    wanted = {
        "lowest frequency excited": tones[0].frequency_Hz,
        "frequency that yields most": max(tones, key=lambda tone: tone.share).frequency_Hz,
    }
    out: list[OneMode] = []
    for what, hz in wanted.items():
        ratio = pulse.duration_s * hz
        if pulse.shape == "half_sine":
            factor = half_sine_factor(duration_over_period=ratio)
        else:
            omega = 2 * math.pi * hz
            t = np.linspace(0.0, pulse.duration_s + 2 / hz, 4000 + int(200 * ratio))
            factor = float(np.abs(omega**2 * pulse.answer(np.array([omega]), t)[0]).max()) / pulse.peak
        out.append(OneMode(what, hz, ratio, factor))
    return tuple(out)


def _notes(
    ring: Ring, material: Material, model: ModalRing, moving: Transient, fineness: Fineness, periods: float
) -> tuple[str, ...]:
    rows = ring.block_rows
    if model.every_row:
        struck = "Every row is struck, all at the same instant."
    elif rows > 1:
        struck = f"The middle row of a block of {rows} is struck; beyond the block its mirror image follows, struck likewise."
    else:
        which = "Every second row" if ring.rows == "alternate" else "Every row"
        struck = f"{which} is struck, all at the same instant: block_rows parts the struck row from its images."
    length = 1e-3 * model.plan.length_mm
    speed = math.sqrt(1e6 * material.youngs_modulus_MPa / material.density_kg_m3)
    return (
        "Linear and undamped: after the pulse nothing dies away, and late peaks are higher than in a real drum.",
        "The force is given and does not answer: contact is neither lost nor renewed, and the bar's own mass and bending are "
        "not in the model.",
        struck,
        f"The {length:.3g} m of shell move by themselves, without discs, shafts and bearings; what the load does not balance "
        "moves them as a rigid body. Their end faces move as wholes, free of a resultant unless the ring is held; what runs "
        f"along the shell comes back from there after {1e3 * length / speed:.2g} ms.",
        f"Searched on the edges of the struck row's slots up to {1e3 * moving.end_s:.4g} ms: the pulse and {periods:g} periods of "
        f"{moving.first_Hz:.4g} Hz, the lowest frequency excited. Without damping a longer search finds somewhat more.",
        f"The modes hold {100 * moving.spanned:.4g} % of the load's compliance; the rest follows the pulse as at rest.",
        f"Cells of order {fineness.order}: the factor is a ratio and belongs on the settled static peak of the same load.",
    )
