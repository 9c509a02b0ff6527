"""The exact plane solution of a cutout: one integral equation on its edge, solved for all loads at once.

The unknown is the slope along the edge of the complex potential phi (on an outer edge: its part beyond the uniform
stress). Two mirror axes leave a quarter of the edge and two systems: even (tension x and y) and odd (shear).
The stress along a free edge is 4 Re(phi'). Cases of equal numbers of nodes are solved in stacks.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from ..errors import FemdrumError, OverBudget, SolveFailure
from ..model.cutout import Cutout, Slot
from .cutting import closed_cuts
from .domains import Domain, check_fit
from .equation import CASES, ODD, edge_stress
from .panels import Array, Cuts, Panels, Resolution, assemble, barycentric, gauss, stretch
from .peaks import peaks

__all__ = ["CASES", "LEVELS", "ODD", "Case", "PlaneSolution", "first_level", "plane_solution", "plane_solutions"]

MOST_NODES = 2800
TINY = 1e-8
STACK = 16_000  # kernel entries that are worked on at once: what the processor keeps near

LEVELS = (
    Resolution(13, 3, 3.0),
    Resolution(16, 3, 4.0),
    Resolution(20, 3, 5.0),
    Resolution(24, 4, 6.0),
    Resolution(32, 4, 7.0),
    Resolution(40, 4, 8.0),
)
USUAL_CHANGE = (8e-7, 5e-8, 2e-9, 2e-10, 2e-11)  # relative, of the field near the peak to the next level


@dataclass(frozen=True)
class PlaneSolution:
    """Stress along the quarter edge per 1 MPa of each case in CASES.

    stress [case, panel, node]: MPa, at the nodes of `panels`; NaN for cases that were not asked. unknowns: real ones.
    """

    panels: Panels
    stress: Array
    unknowns: int

    @cached_property
    def stretched(self) -> Array:
        """Stress [case, panel, node] times `stretch`: what between the nodes is a polynomial of the panel coordinate."""
        scale = self.scale(np.arange(self.panels.count)[:, None], gauss(self.panels.order)[0])
        return self.stress if scale is None else self.stress * scale

    def scale(self, panel: np.ndarray, x: Array) -> Array | None:
        """Factor `stretch` at panel coordinates; None for an outline of lines and arcs."""
        p = self.panels
        return stretch(p.pieces[0], p.parameters(panel, x)) if len(p.pieces) == 1 else None

    def at(self, piece: int, t: Array) -> Array:
        """Stress [case, t] at parameters t of a piece."""
        which, x = self.panels.locate(piece, np.asarray(t, dtype=float))
        return self.between(which, x)

    def between(self, panel: np.ndarray, x: Array) -> Array:
        """Stress [case, place] at panel coordinates x."""
        values = np.einsum("xn,cxn->cx", barycentric(self.panels.order, x), self.stretched[:, panel])
        scale = self.scale(panel, x)
        return np.asarray(values if scale is None else values / scale)

    def peak(self, factors: Array) -> tuple[float, int, float, int]:
        """Stress of largest magnitude over the continuous edge: signed value, piece, parameter, quadrant (+1 or -1).

        factors [case]: MPa of each case.
        """
        return peaks(self, np.asarray(factors, dtype=float)[None])[0]


Case = tuple[Cutout, Domain]


def first_level(error: float) -> int:
    """The coarsest level that, compared to the next, usually promises a relative error."""
    return next((level for level, change in enumerate(USUAL_CHANGE) if change <= error), len(USUAL_CHANGE) - 1)


@lru_cache(maxsize=32)
def plane_solution(cutout: Cutout, domain: Domain, level: int, *, even: bool = True, odd: bool = True) -> PlaneSolution:
    """Solve at one of the LEVELS for the tensions (even) and for shear (odd).

    Raises NoNumber at a sharp corner, InputFault where the hole does not fit, OverBudget at a tiny gap or radius.
    """
    (solution,) = plane_solutions([(cutout, domain)], level, even=even, odd=odd)
    if isinstance(solution, FemdrumError):
        raise solution
    return solution


def plane_solutions(
    cases: Sequence[Case], level: int, *, even: bool = True, odd: bool = True
) -> list[PlaneSolution | FemdrumError]:
    """Solve many at one of the LEVELS, those of equal size in one go; a refused case has its reason in its place."""
    out: list[PlaneSolution | FemdrumError | None] = [None] * len(cases)
    groups: dict[tuple[object, ...], list[tuple[int, Panels, Panels | None]]] = defaultdict(list)
    for i, (cutout, domain) in enumerate(cases):
        try:
            hole, outer = _panels(cutout, domain, LEVELS[level])
        except FemdrumError as reason:
            out[i] = reason
            continue
        grades = tuple(b"" if edge is None else edge.cuts.grade.tobytes() for edge in (hole, outer))
        groups[type(domain), *grades].append((i, hole, outer))
    for members in groups.values():
        _, hole, outer = members[0]
        nodes = hole.t.size + (0 if outer is None else outer.t.size)
        step = max(1, STACK // nodes**2)
        for start in range(0, len(members), step):
            numbers, holes, outers = zip(*members[start : start + step], strict=True)
            stress = edge_stress(holes, outers, [cases[i][1] for i in numbers], even=even, odd=odd)
            for i, hole, values in zip(numbers, holes, stress, strict=True):
                whole = bool(np.all(np.isfinite(values[0 if even else ODD : None if odd else ODD])))
                out[i] = (
                    PlaneSolution(hole, values.reshape(len(CASES), hole.count, hole.order), 2 * nodes)
                    if whole
                    else SolveFailure("the plane solution is not finite: nodes coincide at a very small gap or radius")
                )
    return [one for one in out if one is not None]


def _panels(cutout: Cutout, domain: Domain, resolution: Resolution) -> tuple[Panels, Panels | None]:
    hole_cuts, outer_cuts = _cuts(cutout, domain, resolution.reach)
    nodes = resolution.order * (hole_cuts.count + (0 if outer_cuts is None else outer_cuts.count))
    if nodes > MOST_NODES:
        raise OverBudget(f"the edge needs {nodes} nodes, more than {MOST_NODES}: a gap or a radius is very small")
    return assemble(hole_cuts, resolution), None if outer_cuts is None else assemble(outer_cuts, resolution).reversed()


@lru_cache(maxsize=64)
def _hole_cuts(cutout: Cutout, domain: Domain) -> Cuts:
    check_fit(cutout, domain)
    drawable = _drawable(cutout)
    return closed_cuts(drawable.quarter(), domain.gap(drawable))


@lru_cache(maxsize=64)
def _cuts(cutout: Cutout, domain: Domain, reach: float) -> tuple[Cuts, Cuts | None]:
    return _hole_cuts(cutout, domain), domain.outer(_drawable(cutout), reach)


def _drawable(cutout: Cutout) -> Cutout:
    """A slot whose flank is shorter than TINY of its size is taken as full round: rounding would drown the flank."""
    if not isinstance(cutout, Slot):
        return cutout
    x, y, r = cutout.half_x_mm, cutout.half_y_mm, cutout.radius_mm
    short, tiny = min(x, y), TINY * max(x, y)
    if abs(x - y) < tiny:
        x = y = short
    if short - r < tiny:
        r = short
    return Slot(size_x_mm=2 * x, size_y_mm=2 * y, corner_radius_mm=r)
