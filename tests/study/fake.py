"""A stand-in for the solver, for tests of what goes on around it: peaks by a plain formula, told to fail by the width."""

import os
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from femdrum.assess.answer import Answer, Comparison, LadderStep, Nominal
from femdrum.edge import EdgeStress, UnitCase
from femdrum.errors import OverBudget
from femdrum.quantity import Verdict


@dataclass(frozen=True)
class FakeAnswer(Answer):
    def against_handbook(self):
        ours = self.kt_gross
        return (Comparison("kt_gross", ours.value, ours.band, 3.0, "a wide plate, closed form"),)


@dataclass(frozen=True)
class FakeSolution:
    answers: tuple
    edge: EdgeStress

    def write_field(self, path):
        Path(path).write_bytes(b"<VTKFile/>")


def edge_stress(diameter):
    angle = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    stress = np.zeros((1, 1, 16, 1, 3))
    stress[0, 0, :, 0, 0] = 1 - 2 * np.cos(2 * angle) + diameter / 1000 / 3
    place = np.stack([np.cos(angle), np.sin(angle), 0 * angle], -1)[:, None, :] * diameter / 2
    case = UnitCase("tension_x", "MPa", "1 MPa along x")
    return EdgeStress((case,), angle * diameter / 2, np.zeros(1), np.zeros(1), place, np.ones((16, 1)),
                      stress, 1e-3 * stress, np.zeros((1, 1, 16, 1)))  # fmt: skip


def solve(part, loads, material, accuracy, *, on_event=None):
    if part.width_mm == 666:
        raise OverBudget("needs 9 GB of memory, 4 GB are free")
    if part.width_mm == 667:
        raise RuntimeError("something nobody thought of")
    if part.width_mm == 668:
        os._exit(9)
    edge = edge_stress(part.cutout.diameter_mm)
    if on_event:
        on_event("mesh 1 solved")
    answers = []
    for load in loads:
        surface = edge.combine([[load.stress_MPa]])
        nominal = Nominal(load.stress_MPa, "gross stress", 1 - part.cutout.diameter_mm / part.width_mm, "net stress")
        answers.append(
            FakeAnswer(
                part=part,
                load=load,
                material=material,
                nominal=nominal,
                peaks=surface.peaks(0, accuracy.error),
                verdict=Verdict.SETTLED,
                message="",
                ladder=(LadderStep(1, 100, 2, 8, 0.1, 3.0),),
                edge=edge,
                surface=surface,
                factors=(load.stress_MPa,),
                unknowns=100,
                seconds=0.1,
                solver="fake",
                notes=("plane stress",),
            )
        )
    return FakeSolution(tuple(answers), edge)


def solve_slowly(part, loads, material, accuracy, *, on_event=None):
    time.sleep(0.4)
    return solve(part, loads, material, accuracy, on_event=on_event)


_seen = []


def solve_and_say_who(part, loads, material, accuracy, *, on_event=None):
    """Says in the log in which process it is, and whether it is the first there."""
    on_event(f"process {os.getpid()} {'' if _seen else 'first here'}")
    _seen.append(part)
    return solve(part, loads, material, accuracy, on_event=on_event)


def solve_as_if_killed_once(part, loads, material, accuracy, *, on_event=None):
    """The first time a worker process dies, as the system kills one for lack of memory."""
    if part.width_mm == 300:
        mark = Path(os.environ["FEMDRUM_TEST_MARK"])
        if not mark.exists():
            mark.write_text("once")
            os._exit(9)
    return solve(part, loads, material, accuracy, on_event=on_event)
