"""solve(): one part, its loads, a material; out come peaks with bands, verdicts, stress concentrations."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..edge import EdgeStress
from ..errors import Fault, InputFault
from ..loads.factors import factors
from ..model.accuracy import Accuracy
from ..model.load import Load
from ..model.machine import Machine
from ..model.material import Material
from ..quantity import Verdict
from .answer import Answer, LadderStep
from .nominal import nominal
from .notes import model_notes, sharp_message
from .probes import probe_values

__all__ = ["Solution", "solve", "solve_all"]


@dataclass(frozen=True)
class Solution:
    """Answers of all loads on one part, and the unit cases they are combined from."""

    answers: tuple[Answer, ...]
    edge: EdgeStress | None
    field: Any  # fem.level.Field of the finest mesh: displacements of the unit cases

    def write_field(self, path: Path) -> None:
        """Displacement and stress of every load on the finest mesh as a binary VTU file."""
        from ..fem.field import write_vtu

        states = {a.load.name: np.asarray(a.factors) for a in self.answers}
        write_vtu(path, self.field, states, self.answers[0].material)


def solve(
    part: Any,
    load: Load,
    material: Material,
    *,
    error: float = 0.01,
    most_unknowns: int = Accuracy.most_unknowns,
    most_seconds: float = Accuracy.most_seconds,
) -> Answer:
    """Peak stress and Kt of one load on one part.

    error: wanted relative band of the peak. Raises InputFault for a load that the part cannot carry.
    """
    accuracy = Accuracy(error=error, most_unknowns=most_unknowns, most_seconds=most_seconds)
    return solve_all(part, [load], material, accuracy).answers[0]


def solve_all(
    part: Any,
    loads: Sequence[Load],
    material: Material,
    accuracy: Accuracy,
    *,
    machine: Machine | None = None,
    on_event: Callable[[str], None] | None = None,
) -> Solution:
    """All loads on one part from one factorisation a mesh; the mesh ladder stops when every peak is settled."""
    _check(part, loads)
    start = time.perf_counter()
    wanted = [factors(part, load, machine, material).steady for load in loads]
    names = tuple(dict.fromkeys(name for w in wanted for name in w))
    states = np.array([[w.get(name, 0.0) for name in names] for w in wanted])
    if part.kind != "mesh" and part.cutout.sharp:
        return _unbounded(part, loads, material, machine, names, states, start, on_event)
    from ..fem.unit import unit_solution

    unit = unit_solution(part, material, names, accuracy, states, on_event)
    surface = unit.edge.combine(states)
    answers = []
    for i, load in enumerate(loads):
        peaks = surface.peaks(i, accuracy.error)
        message = "" if peaks.peak.verdict is Verdict.SETTLED else f"band wider than asked: {unit.reason}"
        answers.append(
            Answer(
                part=part,
                load=load,
                material=material,
                nominal=nominal(part, load, material, machine),
                peaks=peaks,
                verdict=peaks.peak.verdict,
                message=message,
                ladder=_ladder(unit, i),
                edge=unit.edge,
                surface=unit.edge.combine(states[i]),
                factors=tuple(float(f) for f in states[i]),
                unknowns=unit.level.unknowns,
                seconds=time.perf_counter() - start,
                solver=unit.level.solver,
                notes=model_notes(part, load),
                probes=probe_values(part, unit.level, states[i], accuracy.error),
            )
        )
    return Solution(tuple(answers), unit.edge, unit.level)


def _check(part: Any, loads: Sequence[Load]) -> None:
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
    loads: Sequence[Load],
    material: Material,
    machine: Machine | None,
    names: tuple[str, ...],
    states: Any,
    start: float,
    on_event: Callable[[str], None] | None,
) -> Solution:
    """A sharp corner: no number. The confirming fit of the stress in front of the corner is reported."""
    from ..fem.sharp import confirm

    fits, level = confirm(part, material, names, states, on_event)
    answers = [
        Answer(
            part=part,
            load=load,
            material=material,
            nominal=nominal(part, load, material, machine),
            peaks=None,
            verdict=Verdict.UNBOUNDED,
            message=sharp_message(fits[i]),
            ladder=(),
            edge=None,
            surface=None,
            factors=tuple(float(f) for f in states[i]),
            unknowns=level.unknowns,
            seconds=time.perf_counter() - start,
            solver=level.solver,
            notes=model_notes(part, load),
            singularity=fits[i],
        )
        for i, load in enumerate(loads)
    ]
    return Solution(tuple(answers), None, level)
