"""How many modes, and how fine a mesh, a ring's answer to a hit needs: both are raised until the factor stands still."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..fem.cell import Fineness
from ..fem.modal_ring import ModalRing, modal_ring
from ..fem.pulse import Pulse
from ..fem.symmetry import Plan
from ..fem.transient import Extreme, Transient
from ..model.material import Material

__all__ = ["MESHES", "Found", "Question", "search"]

# cells stay, their order rises
MESHES = tuple(Fineness(order=order, cells_per_arc=2, wall_cells=2) for order in (2, 3, 4, 5))
# modes of each parity to begin with
FIRST_MODES = 24


@dataclass(frozen=True)
class Question:
    """What is asked. change: wanted, from half of the modes to all; mesh_change: from the mesh before to the last."""

    plan: Plan
    material: Material
    terms: Mapping[str, float]
    pulse: Pulse
    periods: float
    change: float
    mesh_change: float
    most_modes: int
    most_unknowns: int


@dataclass(frozen=True)
class Found:
    """One mesh and number of modes. half: the factor with half of the modes; reach_Hz: how far those reach."""

    fineness: Fineness
    count: int
    model: ModalRing
    moving: Transient
    static: Extreme
    dynamic: Extreme
    half: float
    reach_Hz: float
    coarser: float | None = None

    @property
    def factor(self) -> float:
        """Largest |principal stress| while it moves over the static one."""
        return abs(self.dynamic.peak_MPa / self.static.peak_MPa)

    @property
    def change(self) -> float:
        """Of the factor, from half of the modes to all, relative."""
        return abs(self.half / self.factor - 1)

    @property
    def mesh_change(self) -> float:
        """Of the factor, from the mesh before, relative; infinite where there was none."""
        return math.inf if self.coarser is None else abs(self.coarser / self.factor - 1)

    @property
    def unknowns(self) -> int:
        """Of the largest parity."""
        return max(s.unknowns for s in self.model.sectors)

    def enough_modes(self, asked: Question) -> bool:
        """The factor does not feel the upper half of the modes, and the lower half reaches beyond 1 / duration."""
        return self.change <= asked.change and self.reach_Hz * asked.pulse.duration_s >= 1.0


def search(asked: Question, meshes: Sequence[Fineness] = MESHES) -> Found:
    """From the first mesh on: modes are doubled there until they suffice; then finer meshes, until one changes little."""
    count = min(FIRST_MODES, asked.most_modes)
    found = _more_modes(asked, _solve(asked, meshes[0], count))
    for finer in meshes[1:]:
        grown = found.unknowns * (finer.order / found.fineness.order) ** 3
        if grown > asked.most_unknowns:
            break
        found = _more_modes(asked, _solve(asked, finer, found.count, found.factor))
        if found.mesh_change <= asked.mesh_change:
            break
    return found


def _more_modes(asked: Question, found: Found) -> Found:
    while not found.enough_modes(asked):
        most = min(asked.most_modes, *(s.unknowns - 2 for s in found.model.sectors))
        if found.count >= most:
            break
        found = _solve(asked, found.fineness, min(2 * found.count, most), found.coarser)
    return found


def _solve(asked: Question, fineness: Fineness, count: int, coarser: float | None = None) -> Found:
    model = modal_ring(asked.plan, asked.material, asked.terms, fineness, count)
    moving = Transient(model, asked.pulse, asked.periods)
    static = moving.static()
    size = abs(static.peak_MPa)
    dynamic = moving.extreme(size)
    watched = tuple(dict.fromkeys((dynamic.at.slot, static.at.slot)))
    half = abs(moving.extreme(size, 0.5, watched).peak_MPa) / size
    reach = min(float(s.omega[max(s.omega.size // 2 - 1, 0)]) for s in model.sectors) / (2 * math.pi)
    return Found(fineness, count, model, moving, static, dynamic, half, reach, coarser)
