"""From loads and conditions to factors on unit cases: bars as springs across the ring, and the worst angle of the drum.

A bar clamped in two opposed slots is part of the structure for whatever else acts: its push on the seats follows
from how far all loads together move the seats apart. With d the change of the seats' distance under the other
factors, e that of a push of 1 N on each seat, k the bar's stiffness:
(pull - Q) / k + stretch = d + Q e, statics and one compatibility condition for each bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..loads.result import Factors, Strut
from ..model.condition import Condition
from ..provenance import computed
from .combine import LoadVectors, add_up, load_vectors, worst_angle

__all__ = ["State", "States", "bar_figures", "bar_warnings"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class State:
    """factors [case] at the angle phi; each load's own part of them [load, case]; push on each bar's seats, N.

    turning [3, case]: factors = turning[0] + cos(phi) turning[1] + sin(phi) turning[2].
    """

    factors: Array
    phi_rad: float
    parts: Array
    pushes: dict[int, float]
    turning: Array


@dataclass(frozen=True)
class States:
    """All loads, then all conditions, on unit cases `names`."""

    names: tuple[str, ...]
    made: tuple[Factors, ...]
    loads: tuple[LoadVectors, ...]
    conditions: tuple[Condition, ...]
    load_names: tuple[str, ...] = field(default=())

    @classmethod
    def of(cls, made: Sequence[Factors], load_names: Sequence[str], conditions: Sequence[Condition]) -> States:
        """From the factors of each load."""
        names = tuple(dict.fromkeys(case for m in made for case in m.cases))
        vectors = tuple(
            load_vectors(names, name, m.steady, m.cosine, m.sine) for name, m in zip(load_names, made, strict=True)
        )
        return cls(names, tuple(made), vectors, tuple(conditions), tuple(load_names))

    def shares(self, index: int) -> dict[int, float]:
        """{load index: share} of a load by itself, or of a condition after the loads."""
        if index < len(self.loads):
            return {index: 1.0}
        condition = self.conditions[index - len(self.loads)]
        return {self.load_names.index(name): share for name, share in condition.loads.items()}

    def __len__(self) -> int:
        return len(self.loads) + len(self.conditions)

    def at(self, level: Any) -> tuple[State, ...]:
        """The states on a mesh's solution, each at its worst angle."""
        return tuple(self._one(i, level) for i in range(len(self)))

    def matrix(self, level: Any) -> Array:
        """The same as factors [state, case]."""
        return np.stack([state.factors for state in self.at(level)])

    def _one(self, index: int, level: Any) -> State:
        shares = self.shares(index)
        parts = [self.loads[i].times(share) for i, share in shares.items()]
        struts = {s.slot: s for i in shares if (s := self.made[i].strut) is not None}
        if struts:
            bars = _Bars(self.names, list(struts.values()), level)
            own = [self.made[i].strut for i in shares]
            parts = [bars.with_push(p, s, share) for p, s, share in zip(parts, own, shares.values(), strict=True)]
        total = add_up("state", parts, [1.0] * len(parts))
        phi = worst_angle(level.edge, total.steady, total.cosine, total.sine).phi_rad if total.turns else 0.0
        factors = total.at(phi)
        pushes = {slot: float(factors[self.names.index(strut.case)]) for slot, strut in struts.items()}
        turning = np.stack([total.steady, total.cosine, total.sine])
        return State(factors, phi, np.stack([p.at(phi) for p in parts]), pushes, turning)


class _Bars:
    """The bars that a state holds, and how they answer to a load."""

    def __init__(self, names: tuple[str, ...], struts: Sequence[Strut], level: Any) -> None:
        self.names, self.struts = names, struts
        self.at = [names.index(s.case) for s in struts]
        self.moved = np.stack([level.seat_distance(i) for i in self.at])  # [bar, case]
        self.stiff = self.moved[:, self.at] + np.diag([1 / s.stiffness_N_mm for s in struts])

    def with_push(self, load: LoadVectors, own: Strut | None, share: float) -> LoadVectors:
        """The load with the push that it calls up in the bars."""
        free = np.array(
            [share * (s.pull_N / s.stiffness_N_mm + s.own_stretch_mm) if s is own else 0.0 for s in self.struts]
        )
        vectors = []
        for vector, start in ((load.steady, free), (load.cosine, 0 * free), (load.sine, 0 * free)):
            push = np.linalg.solve(self.stiff, start - self.moved @ vector)
            out = vector.copy()
            out[self.at] += push
            vectors.append(out)
        return LoadVectors(load.name, *vectors)


_HOW = computed("bar as a spring between its seats: statics and compatibility with the ring's unit cases")


def bar_figures(state: State, struts: Sequence[Strut]) -> tuple[Figure, ...]:
    """The push of each bar on its seats and the tension at its middle, for the load table."""
    out = []
    for strut in struts:
        push = state.pushes[strut.slot]
        formula = "Q = (pull / k + stretch - d) / (1 / k + e)"
        out.append(
            Figure(f"push of the bar in slot {strut.slot} on each seat, outward", 1e-3 * push, "kN", formula, _HOW)
        )
        middle = 1e-3 * (strut.middle_pull_N - push)
        out.append(
            Figure(f"tension at the middle of the bar in slot {strut.slot}", middle, "kN", "m r omega² - Q", _HOW)
        )
    return tuple(out)


def bar_warnings(state: State, struts: Sequence[Strut]) -> tuple[str, ...]:
    """Bars that friction does not hold where they are clamped."""
    out = []
    for strut in struts:
        force, held = abs(state.pushes[strut.slot]) + strut.net_share_N, strut.friction_capacity_N
        if held is not None and force > held:
            out.append(
                f"the bar in slot {strut.slot} would slip: a seat has to hold {1e-3 * force:.3g} kN along the bar, friction "
                f"holds {1e-3 * held:.3g} kN; the load path 'both' does not stand"
            )
    return tuple(out)
