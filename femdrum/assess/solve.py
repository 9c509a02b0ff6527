"""solve(): one part, its loads, a material; out come peaks with bands, verdicts, stress concentrations."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..edge import EdgeStress, Peaks, SurfaceStress
from ..errors import Fault, InputFault, nearest
from ..figure import Figure
from ..loads.factors import factors
from ..loads.result import Factors, Strut
from ..model.accuracy import Accuracy
from ..model.condition import Condition
from ..model.load import Load
from ..model.material import Material
from ..quantity import Verdict
from .answer import Answer, LadderStep, Nominal, Share
from .clamp_contact_band import CONTACT_BAND, doubt_rows, scale_warnings, with_doubts
from .nominal import nominal
from .notes import model_notes, sharp_message, unbalanced
from .probes import probe_values
from .states import State, States, bar_figures, bar_warnings

if TYPE_CHECKING:
    from ..model.machine import Machine
    from ..paths import CrackPaths

__all__ = ["Solution", "solve", "solve_all"]

# fields of a whole row that are written: the conditions with the highest peaks
MOST_FIELDS = 8
IN_RIM = (
    "the peak lies in the rim of a pressed wall, where wall and surface do not meet squarely and a finer mesh does not help; "
    "what counts there is the contact pressure itself"
)


@dataclass(frozen=True)
class Solution:
    """Answers of all loads on one part, and the unit cases they are combined from."""

    answers: tuple[Answer, ...]
    edge: EdgeStress | None
    field: Any  # fem.level.Field of the finest mesh: displacements of the unit cases

    def __getitem__(self, name: str) -> Answer:
        """The answer for the load or the condition of this name."""
        for answer in self.answers:
            if answer.load.name == name:
                return answer
        raise KeyError(f"no load or condition {name!r}; known: {', '.join(a.load.name for a in self.answers)}")

    def crack_paths(self) -> CrackPaths:
        """Stress along the paths of cracks from the edges of a ring's slots. Raises ValueError for other parts."""
        from ..fem.crack_path import crack_paths

        if self.edge is None:
            raise ValueError("a sharp corner has no stress along a path")
        return crack_paths(self.field, self.edge, self.answers[0].material)

    def write_field(self, path: Path) -> str:
        """Displacement and stress on the finest mesh as a binary VTU file; what was left out, in a sentence.

        All loads; of a whole row the conditions where there are any, and at most MOST_FIELDS.
        """
        chosen = self.answers
        whole = getattr(self.field, "whole", None) is not None
        if whole:
            chosen = tuple(a for a in self.answers if isinstance(a.load, Condition)) or self.answers
            chosen = tuple(sorted(chosen, key=lambda a: -abs(a.peak.value or 0.0))[:MOST_FIELDS])
        states = {a.load.name: np.asarray(a.factors) for a in chosen}
        if whole:
            from ..fem.row_field import write_row

            write_row(path, self.field, states, self.answers[0].material)
        else:
            from ..fem.field import write_vtu

            write_vtu(path, self.field, states, self.answers[0].material)
        if len(chosen) == len(self.answers):
            return ""
        return f"the field in space is kept for {', '.join(states)} only; the stress on the slots' edges for all"


def solve(
    part: Any,
    load: Load,
    material: Material,
    *,
    error: float = 0.01,
    most_unknowns: int = Accuracy.most_unknowns,
    most_seconds: float = Accuracy.most_seconds,
    machine: Machine | None = None,
) -> Answer:
    """Peak stress and Kt of one load on one part.

    error: wanted relative band of the peak. machine: what loads of a machine are reckoned from. Raises InputFault for
    a load that the part cannot carry.
    """
    accuracy = Accuracy(error=error, most_unknowns=most_unknowns, most_seconds=most_seconds)
    return solve_all(part, [load], material, accuracy, machine=machine).answers[0]


def solve_all(
    part: Any,
    loads: Sequence[Load],
    material: Material,
    accuracy: Accuracy | None = None,
    *,
    error: float | None = None,
    machine: Machine | None = None,
    conditions: Sequence[Condition] = (),
    on_event: Callable[[str], None] | None = None,
) -> Solution:
    """All loads and conditions on one part from one set of unit cases; the mesh ladder stops when every peak is settled.

    The answers stand in the order of the loads, then of the conditions. error: wanted relative band, in place of an
    Accuracy.
    """
    if accuracy is None:
        accuracy = Accuracy() if error is None else Accuracy(error=error)
    _check(part, loads, conditions)
    start = time.perf_counter()
    made = [_factors(part, load, machine, material, on_event) for load in loads]
    states = States.of(made, [load.name for load in loads], conditions)
    subjects = (*loads, *conditions)
    nominals = [nominal(part, subject, material, machine) for subject in subjects]
    depends = any(m.rotating or m.strut for m in made)
    if part.kind != "mesh" and part.cutout.sharp:
        return _unbounded(part, subjects, material, nominals, states, start, on_event)
    from ..fem.unit import unit_solution

    wanted = states.matrix if depends else states.matrix(None)
    unit = unit_solution(part, material, states.names, accuracy, wanted, on_event)
    found = states.at(unit.level)
    surface = unit.edge.combine(np.stack([s.factors for s in found]))
    answers = []
    for i, (subject, state) in enumerate(zip(subjects, found, strict=True)):
        told = surface.peaks(i, accuracy.error)
        peaks = with_doubts(told, unit.edge, doubt_rows(states, i), accuracy.error)
        reason = CONTACT_BAND if told.peak.verdict is Verdict.SETTLED else unit.reason or IN_RIM
        message = "" if peaks.peak.verdict is Verdict.SETTLED else f"band wider than asked: {reason}"
        answers.append(
            Answer(
                part=part,
                load=subject,
                material=material,
                nominal=nominals[i],
                peaks=peaks,
                verdict=peaks.peak.verdict,
                message=message,
                ladder=_ladder(unit, i),
                edge=unit.edge,
                surface=unit.edge.combine(state.factors),
                factors=tuple(float(f) for f in state.factors),
                turning=tuple(tuple(float(f) for f in row) for row in state.turning),
                unknowns=unit.level.unknowns,
                seconds=time.perf_counter() - start,
                solver=unit.level.solver,
                notes=(*model_notes(part, subject, states.names), *_told(states, i, "notes")),
                probes=probe_values(part, unit.level, state.factors, accuracy.error),
                figures=_figures(states, i, state),
                warnings=(*_warnings(states, i, state), *scale_warnings(loads, states.shares(i))),
                unbalanced=unbalanced(unit.level, state.factors),
                **_of_condition(unit.edge, states, i, state, surface, peaks),
            )
        )
    return Solution(tuple(answers), unit.edge, unit.level)


def _told(states: States, index: int, what: str) -> tuple[str, ...]:
    """Notes, warnings or figures of the loads in a state, each once."""
    return tuple(dict.fromkeys(item for i in states.shares(index) for item in getattr(states.made[i], what)))


def _figures(states: States, index: int, state: State) -> tuple[Figure, ...]:
    own = () if index >= len(states.loads) else states.made[index].figures
    return (*own, *bar_figures(state, _struts(states, index)))


def _factors(
    part: Any, load: Load, machine: Machine | None, material: Material, on_event: Callable[[str], None] | None
) -> Factors:
    if getattr(load, "contact", None) is None:
        return factors(part, load, machine, material)
    from .clamp_contact import load_factors  # late: few loads are solved as contact

    return load_factors(part, load, machine, material, on_event)


def _struts(states: States, index: int) -> tuple[Strut, ...]:
    """The bars in a state, each once."""
    found = [s for i in states.shares(index) if (s := states.made[i].strut) is not None]
    return tuple({s.slot: s for s in found}.values())


def _warnings(states: States, index: int, state: State) -> tuple[str, ...]:
    return (*_told(states, index, "warnings"), *bar_warnings(state, _struts(states, index)))


def _of_condition(
    edge: EdgeStress, states: States, index: int, state: State, surface: SurfaceStress, peaks: Peaks
) -> dict[str, Any]:
    """Each load's share of a condition's peak, and what adding the separate peaks would have said."""
    if index < len(states.loads) or peaks.at is None:
        return {}
    from .combine_peaks import adding_maxima, shares

    taken = states.shares(index)
    names = [states.load_names[i] for i in taken]
    given = shares(edge.combine(state.parts), edge.combine(state.factors), peaks.at, names)
    parts = tuple(
        Share(s.load, share, s.stress_MPa, s.fraction or 0.0) for s, share in zip(given, taken.values(), strict=True)
    )
    return {"shares": parts, "adding_maxima_MPa": adding_maxima(edge, state.parts).total.value}


def _check(part: Any, loads: Sequence[Load], conditions: Sequence[Condition]) -> None:
    faults = []
    if not loads:
        faults.append(Fault("load", 0, "at least one load is needed"))
    for load in loads:
        if part.kind not in load.parts:
            faults.append(
                Fault(
                    f"load {load.name!r}",
                    load.kind,
                    f"acts on {' and '.join(load.parts)}, not on a {part.kind}",
                    _instead(part.kind),
                )
            )
    names = [load.name for load in loads]
    for condition in conditions:
        faults += [
            Fault(f"condition {condition.name!r}", name, "is not the name of a load", nearest(name, names))
            for name in condition.loads
            if name not in names
        ]
    if faults:
        raise InputFault(faults)


def _instead(kind: str) -> str:
    from ..model.load import LOADS

    fits = [name for name, load in LOADS.items() if kind in load.parts]
    return f"a {kind} takes {', '.join(fits)}"


def _ladder(unit: Any, state: int | None) -> tuple[LadderStep, ...]:
    return tuple(
        LadderStep(
            level=i + 1,
            unknowns=r.unknowns,
            order=r.fineness.order,
            cells_per_arc=r.fineness.cells_per_arc,
            seconds=r.seconds,
            peak_MPa=None if state is None else r.peaks_MPa[state],
        )
        for i, r in enumerate(unit.ladder)
    )


def _unbounded(
    part: Any,
    subjects: Sequence[Load | Condition],
    material: Material,
    nominals: Sequence[Nominal],
    states: States,
    start: float,
    on_event: Callable[[str], None] | None,
) -> Solution:
    """A sharp corner: no number. The confirming fit of the stress in front of the corner is reported."""
    from ..fem.sharp import confirm

    # the fit asks for the shape of the field only: any angle does, and the push of a bar changes nothing in it
    combos = np.stack([
        np.sum([states.loads[k].times(share).at(0.0) for k, share in states.shares(i).items()], axis=0)
        for i in range(len(states))
    ])  # fmt: skip
    fits, level = confirm(part, material, states.names, combos, on_event)
    answers = [
        Answer(
            part=part,
            load=subject,
            material=material,
            nominal=nominals[i],
            peaks=None,
            verdict=Verdict.UNBOUNDED,
            message=sharp_message(fits[i]),
            ladder=(),
            edge=None,
            surface=None,
            factors=tuple(float(f) for f in combos[i]),
            unknowns=level.unknowns,
            seconds=time.perf_counter() - start,
            solver=level.solver,
            notes=(*model_notes(part, subject, states.names), *_told(states, i, "notes")),
            singularity=fits[i],
            figures=() if i >= len(states.loads) else states.made[i].figures,
            warnings=_told(states, i, "warnings"),
        )
        for i, subject in enumerate(subjects)
    ]
    return Solution(tuple(answers), None, level)
