"""The mesh ladder: finer and finer until every asked state has the band that was asked, or the budget ends.

Two kinds of step: a higher order on the same cells (converges fastest where the edge is smooth), and more
cells. Bands come from the change over the last step of order on the same cells, at the same places.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress
from ..errors import OverBudget
from ..model.accuracy import Accuracy
from .cell import Fineness
from .memory import LEAST_BYTES, require

if TYPE_CHECKING:
    from .file_level import FileLevel
    from .level import Level
    from .ring_level import WholeLevel

__all__ = ["SOLID_LEAST_FINER", "Rung", "UnitSolution", "band_rule", "climb", "flight"]

Array = NDArray[np.float64]
L = TypeVar("L", bound="Level | WholeLevel")

# Error of a mesh over the change from the mesh one order lower (root mean square near the peak): what about 98 of
# 100 known cases stay below. Fixed on one half of the known geometries and judged on the other: in the plane on the
# reference tables (tests/exact/test_plane_accuracy.py), in solids on random rings, of which the other half was in view too when the
# least bands were settled (tests/exact/test_ring_bands.py).
# Solids besides: changes tell hard cases from easy ones, but an easy case may be off by more than they say. So no band on the
# ladder's first cells, of three layers, is below a share of the peak that depends on the order.
PLANE_FACTORS = {5: 0.48}
PLANE_HIGHER = 0.78
SOLID_FACTORS = {3: 0.43, 4: 0.85, 5: 1.2}
SOLID_HIGHER = 1.6
SOLID_LEAST = {3: 0.008, 4: 0.0062, 5: 0.0025}
SOLID_LEAST_FINER = 0.0017
# order 2 is far off where cells are long, so the step away from it tells less
FROM_SECOND = 0.1


def band_rule(dim: int, fineness: Fineness) -> tuple[float, float, float]:
    """Band over root mean square change of the last step of order; the least band over the peak; how much the step before
    counts.
    """
    order = fineness.order
    if dim == 2:
        return PLANE_FACTORS.get(order, PLANE_HIGHER), 0.0, 1.0
    factor = SOLID_FACTORS.get(order, SOLID_HIGHER)
    if fineness.wall_cells != 3:
        return factor, SOLID_LEAST_FINER, 1.0
    return factor, SOLID_LEAST.get(order, SOLID_LEAST_FINER), FROM_SECOND if order == 4 else 1.0


@dataclass(frozen=True)
class Rung:
    """What one mesh of the ladder gave. peaks_MPa [state], signed."""

    fineness: Fineness
    unknowns: int
    seconds: float
    peaks_MPa: tuple[float, ...]


@dataclass(frozen=True)
class UnitSolution:
    """edge: with its step; level: the finest mesh and displacements; ladder; settled: all bands as asked."""

    edge: EdgeStress
    level: Level | FileLevel | WholeLevel
    ladder: tuple[Rung, ...]
    settled: bool
    seconds: float
    reason: str


def climb(
    solve: Callable[[Fineness], L],
    flights: Sequence[Sequence[Fineness]],
    states: Array | Callable[[L], Array],
    accuracy: Accuracy,
    foresee: Callable[[Fineness], int] | None = None,
    on_event: Callable[[str], None] | None = None,
    least: int = 2,
) -> UnitSolution:
    """Climb `flights` of finenesses (same cells, rising order in each) until all `states` [state, case] settle.

    states: fixed, or from the solution on each mesh.
    foresee: unknowns of a fineness before it is solved, to stop at the budget. least: meshes of a flight that
    must be solved before a state may settle.
    Raises OverBudget where not even two meshes fit.
    """
    start = time.perf_counter()
    rungs: list[Rung] = []
    best: tuple[EdgeStress, L] | None = None
    worst_relative = np.inf
    reason = "the ladder's last mesh is reached"
    for flight in flights:
        coarser: EdgeStress | None = None
        for count, fineness in enumerate(flight, 1):
            spent = time.perf_counter() - start
            needed = foresee(fineness) if foresee is not None else 0
            if needed > accuracy.most_unknowns:
                if best is None:
                    raise OverBudget(
                        f"two meshes are needed for a band; the {'first' if coarser is None else 'second'} has about "
                        f"{needed} unknowns, most_unknowns is {accuracy.most_unknowns}: allow more, or enlarge the radius"
                    )
                reason = f"the next mesh would exceed most_unknowns = {accuracy.most_unknowns}"
                break
            if best is not None and rungs and spent + 2.5 * rungs[-1].seconds > accuracy.most_seconds:
                reason = f"the next mesh would exceed most_seconds = {accuracy.most_seconds:g}"
                break
            began = time.perf_counter()
            try:
                require(needed, LEAST_BYTES * needed, "the next mesh")
                level = solve(fineness)
            except OverBudget as refused:
                if best is None:
                    raise
                reason = str(refused)
                break
            edge = (
                level.edge
                if coarser is None
                else level.edge.with_step_from(coarser, *band_rule(level.mesh.dim, fineness))
            )
            combos = states(level) if callable(states) else states
            surface = edge.combine(combos)
            peaks = [surface.peaks(i, mesh_only=True) for i in range(len(combos))]
            rungs.append(
                Rung(fineness, level.unknowns, time.perf_counter() - began, tuple(float(p.peak) for p in peaks))
            )
            if on_event:
                on_event(f"order {fineness.order}, {level.unknowns} unknowns")
            if coarser is not None:
                relative = max(p.peak.relative_band or 0.0 for p in peaks)
                if relative < worst_relative or best is None:
                    best, worst_relative = (edge, level), relative
                if count >= least and relative <= accuracy.error:
                    return UnitSolution(edge, level, tuple(rungs), True, time.perf_counter() - start, "")
            coarser = edge
        else:
            continue
        break
    assert best is not None
    return UnitSolution(best[0], best[1], tuple(rungs), False, time.perf_counter() - start, reason)


def flight(base: Fineness, orders: Sequence[int], wall_orders: Sequence[int] | None = None) -> tuple[Fineness, ...]:
    """The same cells with rising order, through the wall too, where not given otherwise."""
    return tuple(
        replace(base, order=p, wall_order=q) for p, q in zip(orders, wall_orders or orders, strict=True)
    )  # fmt: skip
