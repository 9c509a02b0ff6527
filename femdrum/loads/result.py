"""What a load comes to: factors on unit cases, the numbers behind them, and what is to be said beside them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..figure import Figure

__all__ = ["COSINE", "SINE", "STEADY", "Factors", "Strut", "Term", "fixed", "steady", "turning"]

STEADY, COSINE, SINE = "steady", "cosine", "sine"


@dataclass(frozen=True)
class Term:
    """A factor on a unit case.

    part: "steady", or one of the two of a load that stands still in space, through which the drum turns: at the
    angle phi that the drum has turned, the state is steady + cos(phi) cosine + sin(phi) sine.
    """

    case: str
    factor: float
    part: str = STEADY


@dataclass(frozen=True)
class Strut:
    """A bar clamped in two opposed slots; its push on the seats is known once the ring's own stiffness is.

    slot: the lower of the pair, whose unit case is `strut:slot`. stiffness_N_mm: of the bar between its seats.
    pull_N: outward pull of what sits outside one seat. own_stretch_mm: stretch between the seats by the bar's own
    rotation. friction_capacity_N: what friction holds at one seat, None where that is not known. middle_pull_N: pull of
    half of the bar, of which the seat's push is not in the bar's middle. net_share_N: each seat's half of the net force.
    The push Q on each seat follows from (pull_N - Q) / stiffness_N_mm + own_stretch_mm = change of the seats' distance.
    """

    slot: int
    stiffness_N_mm: float
    pull_N: float
    own_stretch_mm: float
    friction_capacity_N: float | None = None
    middle_pull_N: float = 0.0
    net_share_N: float = 0.0

    @property
    def case(self) -> str:
        """Unit case that the push acts by."""
        return f"strut:{self.slot}"


@dataclass(frozen=True)
class Factors:
    """terms: factors on unit cases. figures: the load table, every derived number with formula and provenance.

    warnings: what may make the load another one than was meant. notes: how it is modelled, in sentences. doubts: by how
    much single factors may be off, where a load is itself a solution.
    """

    terms: tuple[Term, ...]
    figures: tuple[Figure, ...] = ()
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    strut: Strut | None = None
    doubts: tuple[Term, ...] = ()

    def _part(self, part: str) -> dict[str, float]:
        out: dict[str, float] = {}
        for term in self.terms:
            if term.part == part:
                out[term.case] = out.get(term.case, 0.0) + term.factor
        return out

    @property
    def steady(self) -> dict[str, float]:
        """What turns with the drum, or does not change."""
        return self._part(STEADY)

    @property
    def cosine(self) -> dict[str, float]:
        """What stands still in space, as the drum meets it at angle 0."""
        return self._part(COSINE)

    @property
    def sine(self) -> dict[str, float]:
        """The same after a quarter turn of the drum."""
        return self._part(SINE)

    @property
    def rotating(self) -> bool:
        """True where the drum turns through the load."""
        return any(term.part != STEADY for term in self.terms)

    @property
    def cases(self) -> tuple[str, ...]:
        """Unit cases that are needed, each once; the strut's too."""
        more = () if self.strut is None else (self.strut.case,)
        return tuple(dict.fromkeys([*(term.case for term in self.terms), *more]))


def steady(**factors: float) -> tuple[Term, ...]:
    """Steady terms; those that are zero need no unit case."""
    return tuple(Term(case, factor) for case, factor in factors.items() if factor)


def turning(case: str, value: float, direction_deg: float) -> tuple[Term, ...]:
    """A vector of the section, `case`_x and `case`_y, that stands still in space at an angle from straight down.

    At angle 0 the first slot points straight down; after phi the drum meets the vector at direction - phi.
    """
    c, s = _cos_sin(direction_deg)
    x, y = f"{case}_x", f"{case}_y"
    terms = (
        Term(x, value * c, COSINE),
        Term(x, value * s, SINE),
        Term(y, value * s, COSINE),
        Term(y, -value * c, SINE),
    )
    return tuple(term for term in terms if term.factor)


def fixed(case: str, value: float, direction_deg: float) -> tuple[Term, ...]:
    """The same vector when it turns with the drum, at an angle from slot 0 in the sense of rotation."""
    c, s = _cos_sin(direction_deg)
    return steady(**{f"{case}_x": value * c, f"{case}_y": value * s})


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    """Exact at multiples of 90 degrees, so that no unit case is solved for a factor of 1e-17."""
    turn = angle_deg % 360.0
    if turn % 90.0 == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(turn // 90.0) % 4]
    return math.cos(math.radians(turn)), math.sin(math.radians(turn))
