"""Bolt-on masses for two planes: the plates on each position that leave the least unbalance, with proof.

The worst share over the planes of residual over permissible is minimised. No limit couples the planes, so each is
solved for itself, which also settles the better of the two. Then, at no greater residual (or at what is declared
enough), the fewest plates are sought.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..model.balance_input import MassPositions
from ..model.check import Checks
from ..provenance import computed
from .position_program import GAP, Program, Solution
from .position_search import Axes, Sums, axes_of, joined_sums, plate_limit, sums_of

__all__ = ["MassPlan", "PlanePlan", "best_masses"]

Whole = NDArray[np.int64]

PROVEN = computed("mixed-integer program, bound and residual meet to 1e-6 of the permissible unbalance")
OPEN = computed("mixed-integer program, stopped at its limit of nodes: the best found, not proven")
# for the start only; the program decides
START_SUMS = 60_000
HALF_SUMS = 300_000
# with more axes than this, all pairs of sums, where they are complete, prove faster than the program
PROGRAM_AXES = 12


@dataclass(frozen=True)
class PlanePlan:
    """Masses of one plane.

    plates: on each position, blocked ones included. before_g_mm, residual_g_mm: unbalance without and with them. bound:
    share of the permissible below which no choice of plates comes, proven. fewest: no choice as good, or as good as
    asked, has fewer plates; False where that was not proven.
    """

    positions: MassPositions
    plates: tuple[int, ...]
    before_g_mm: complex
    residual_g_mm: complex
    permissible_g_mm: float
    bound: float
    proven: bool
    fewest: bool
    nodes: int

    @property
    def share(self) -> float:
        """Residual over permissible."""
        return abs(self.residual_g_mm) / self.permissible_g_mm

    @property
    def mass_g(self) -> float:
        """Mass added in this plane."""
        return sum(self.plates) * self.positions.plate_g


@dataclass(frozen=True)
class MassPlan:
    """Masses of all planes. share: the worst of residual over permissible; gap: at most this could still be gained.

    gap counts in shares of the permissible, against the proven bound; with enough_share above 0 it includes what was
    given away for fewer plates.
    """

    planes: tuple[PlanePlan, ...]
    enough_share: float

    @property
    def proven(self) -> bool:
        """The least residual of every plane is proven, to GAP of its permissible."""
        return all(plane.proven for plane in self.planes)

    @property
    def share(self) -> float:
        """Worst share over the planes."""
        return max(plane.share for plane in self.planes)

    @property
    def gap(self) -> float:
        """Worst share less the worst proven bound."""
        return max(0.0, self.share - max(plane.bound for plane in self.planes))

    @property
    def plates(self) -> int:
        """Plates in all."""
        return sum(sum(plane.plates) for plane in self.planes)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know."""
        out = []
        for number, plane in enumerate(self.planes, 1):
            if plane.share > 1:
                left, allowed = abs(plane.residual_g_mm), plane.permissible_g_mm
                out.append(
                    f"Plane {number}: the best that these positions can do leaves {left:.0f} g·mm, above the "
                    f"permissible {allowed:.0f} g·mm; way out: higher stacks, a greater radius, more positions, or "
                    "other hammers first."
                )
            if not plane.proven:
                out.append(
                    f"Plane {number}: not proven to be the least residual; a choice down to {100 * plane.bound:.2f} % "
                    "of the permissible may exist."
                )
        return tuple(out)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        out = []
        for n, plane in enumerate(self.planes, 1):
            source = PROVEN if plane.proven else OPEN
            out += [
                Figure(f"unbalance before, plane {n}", abs(plane.before_g_mm), "g·mm", "|U|", computed("measured or summed")),
                Figure(f"residual, plane {n}", abs(plane.residual_g_mm), "g·mm", "|U + sum n q r e^(i angle)|", source),
                Figure(f"of the permissible, plane {n}", 100 * plane.share, "%", "residual / permissible", source),
                Figure(f"mass added, plane {n}", plane.mass_g, "g", "plates times plate mass", computed("sum")),
            ]  # fmt: skip
        return tuple(out)


def _best_start(sums: Sums, program: Program, most_used: int | None) -> tuple[Whole, float | None]:
    """Counts to begin with; and the least share there is, if enumeration knows it already (with the fewest plates)."""
    left = np.abs(program.base + sums.vectors / program.permissible_g_mm)
    near = np.flatnonzero(left <= left.min() + GAP)
    single = sums.counts(int(near[np.lexsort((sums.positions[near], sums.plates[near]))[0]]))
    if sums.complete:
        return single, float(left.min())
    one, other, every = _halves(sums, program.axes, most_used)
    scale = program.permissible_g_mm
    found = joined_sums(one, other, program.axes, -program.base * scale, program.allows, slack_g_mm=GAP * scale)
    if found is None:
        return single, None
    pair, least, nearest = found
    if every and nearest:
        return pair, least / scale
    return min((single, pair), key=lambda counts: abs(program.residual(counts))), None


def _halves(sums: Sums, axes: Axes, most_used: int | None) -> tuple[Sums, Sums, bool]:
    """Two lists of sums whose pairs are all choices there are, if True; else pairs that are worth a look."""
    if most_used is not None:
        # half of the positions used, and the other half
        half = -(-most_used // 2)
        part = sums.up_to(half)
        return part, part, half <= sums.used
    odd, even = (sums_of(axes, only=range(first, len(axes.vectors), 2), most_sums=HALF_SUMS) for first in (0, 1))
    return (odd, even, True) if odd.complete and even.complete else (sums, sums, False)


def _frugal_start(sums: Sums, program: Program, cap: float, fallback: Whole) -> Whole:
    good = np.flatnonzero(np.abs(program.base + sums.vectors / program.permissible_g_mm) <= cap)
    if not len(good):
        return fallback
    found = sums.counts(int(good[np.argmin(sums.plates[good])]))
    return found if np.abs(found).sum() <= np.abs(fallback).sum() else fallback


def _plane(
    unbalance: complex, positions: MassPositions, permissible: float, enough_share: float, most_nodes: int
) -> PlanePlan:
    axes, limit = axes_of(positions), plate_limit(positions)
    program = Program(
        unbalance, axes, permissible, most_used=positions.most_used, most_plates=limit, most_nodes=most_nodes
    )  # fmt: skip
    sums = sums_of(axes, most_used=positions.most_used, most_plates=limit, most_sums=START_SUMS)
    start, least = _best_start(sums, program, positions.most_used)
    enumerated = least is not None and len(axes.vectors) > PROGRAM_AXES
    if least is not None and enumerated:
        best = Solution(start, abs(program.residual(start)), least, True, 0)
    else:
        best = program.least_residual(start)
        if least is not None and not best.proven:
            best = replace(best, bound=least, proven=True)
    chosen, fewest = best, enumerated
    if enough_share > best.share or (best.proven and not enumerated):
        chosen, fewest = _fewest(program, sums, best, enough_share)
    plates = axes.plates(chosen.counts)
    arms = positions.quantum_g_mm * np.exp(1j * np.radians(positions.angles_deg))
    residual = complex(unbalance + (plates * arms).sum())
    return PlanePlan(
        positions, tuple(int(n) for n in plates), unbalance, residual, permissible,
        min(best.bound, best.share), best.proven, fewest, program.nodes,
    )  # fmt: skip


def _fewest(program: Program, sums: Sums, best: Solution, enough_share: float) -> tuple[Solution, bool]:
    """At the cap the fewest plates; of those the least residual."""
    cap = max(best.share, enough_share)
    start = _frugal_start(sums, program, cap, best.counts)
    few = program.fewest_plates(start, cap)
    if cap <= best.share:
        return few, few.proven
    most = int(np.abs(few.counts).sum())
    again = program.least_residual(few.counts, most_plates=most)
    return again, few.proven and again.proven


def best_masses(
    unbalance_g_mm: Sequence[complex], positions: Sequence[MassPositions], permissible_g_mm: Sequence[float], *,
    enough_share: float = 0.0, most_nodes: int = 3_000,
) -> MassPlan:  # fmt: skip
    """Plates on the positions of each plane that cancel its unbalance best, proven.

    unbalance_g_mm: of each correction plane, complex, as it is before the masses (they work against it).
    permissible_g_mm: of each correction plane. enough_share: share of the permissible at which fewer plates count more
    than less residual; 0 asks for the least residual, then the fewest plates that reach it. most_nodes: limit of the
    search for each step; where it is met the plan says that it is not proven. Raises InputFault.
    """
    checks = Checks()
    many = len(positions)
    if not many:
        checks.add("positions", positions, "must name at least one plane", "give the positions of each plane")
    for name, value in (("unbalance_g_mm", unbalance_g_mm), ("permissible_g_mm", permissible_g_mm)):
        if len(value) != many:
            checks.add(name, len(value), f"must be {many} values, one for each plane")
    for i, u in enumerate(unbalance_g_mm, 1):
        if not np.isfinite(u):
            checks.add(f"unbalance_g_mm[{i}]", u, "must be a finite complex number", "measure it, or sum the hammers")
    for i, p in enumerate(permissible_g_mm, 1):
        checks.positive(f"permissible_g_mm[{i}]", p, "by grade, split to this plane")
    checks.number("enough_share", enough_share, least=0.0, most=1.0, way_out="0.2 is a fifth of the permissible")
    checks.whole("most_nodes", most_nodes, 1, 10**9)
    checks.done()
    return MassPlan(
        tuple(
            _plane(complex(u), p, float(a), enough_share, most_nodes)
            for u, p, a in zip(unbalance_g_mm, positions, permissible_g_mm, strict=True)
        ),
        enough_share,
    )
