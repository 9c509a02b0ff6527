"""The ladder of a body of revolution: the same cells, higher and higher order, until every asked state settles."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import OverBudget
from ..model.accuracy import Accuracy
from ..model.material import Material
from .harmonic_edge import CurveStress, Reading
from .harmonic_loads import HarmonicLoad
from .harmonic_recovery import curve_stress
from .harmonic_section import Section
from .harmonic_solve import HarmonicField, solve_loads

__all__ = [
    "ARC",
    "BAND_FACTOR",
    "GAP_FACTOR",
    "ORDERS",
    "HarmonicRung",
    "HarmonicSolution",
    "Watch",
    "climb_orders",
    "curves_of",
]

Array = NDArray[np.float64]

ORDERS = (3, 4, 5, 6, 7, 8)
# a curve over an arc has one cell on either side, so that the strain at its ends is averaged over both
ARC = slice(1, -1)
# Error of an order over the root mean square change from the one below, near the peak: what more than 98 of 100 known
# cases stay below. Fixed on 10 random shafts and 14 random drum ends against over-refined solutions, judged on as many
# others; an unfused rim ends in crack tips, whose field reaches the toes (tests/exact/test_drum_end.py).
BAND_FACTOR = 1.1
GAP_FACTOR = 1.8
# unknowns of a node that is not inside a cell: two in the section, one around, three for bending
PER_NODE = 6


@dataclass(frozen=True)
class Watch:
    """A curve whose stress is kept. start_mm: distance at its first node. cells: where its peak is looked for; None: it
    has no finite peak, or none is wanted.
    """

    curve: str
    start_mm: float = 0.0
    cells: slice | None = None


@dataclass(frozen=True)
class HarmonicRung:
    """What one order gave: unknowns, seconds, and the peak of each state, signed, the largest over the watched curves."""

    order: int
    unknowns: int
    seconds: float
    peaks_MPa: tuple[float, ...]


@dataclass(frozen=True)
class HarmonicSolution:
    """field: of the highest order; curves by name, with their steps; ladder; settled: all bands as asked."""

    field: HarmonicField
    curves: Mapping[str, CurveStress]
    ladder: tuple[HarmonicRung, ...]
    settled: bool
    seconds: float
    reason: str


def curves_of(field: HarmonicField, material: Material, watches: Sequence[Watch]) -> dict[str, CurveStress]:
    """Stress on the watched curves, with step zero."""
    section = field.section
    cases = tuple(load.case for load in field.loads)
    harmonic = np.array([load.harmonic.number for load in field.loads])
    out = {}
    for watch in watches:
        nodal = curve_stress(field, material, watch.curve)
        s = watch.start_mm + section.length_mm(watch.curve)
        place = section.nodes[section.curves[watch.curve]]
        some = slice(None) if watch.cells is None else watch.cells
        out[watch.curve] = CurveStress.of(watch.curve, cases, harmonic, s, place, nodal, section.order, some)
    return out


def climb_orders(
    section_of: Callable[[int], Section],
    loads_of: Callable[[Section], Sequence[HarmonicLoad]],
    watches: Sequence[Watch],
    states: Array,
    material: Material,
    accuracy: Accuracy,
    orders: Sequence[int] = ORDERS,
    readings: Sequence[Reading] = (),
    on_event: Callable[[str], None] | None = None,
    band_factor: float = BAND_FACTOR,
) -> HarmonicSolution:
    """Raise the order until all states [state, case] have the asked band: their peaks on all curves with a peak, and what
    is read along lines, against the largest stress of the line.

    Raises OverBudget where not even two orders fit.
    """
    start = time.perf_counter()
    rungs: list[HarmonicRung] = []
    best: tuple[HarmonicField, dict[str, CurveStress]] | None = None
    reason = "the ladder's last order is reached"
    watched = [w.curve for w in watches if w.cells is not None]
    for order in orders:
        began = time.perf_counter()
        section = section_of(order)
        needed = PER_NODE * (len(section.nodes) - len(section.cells) * (order - 1) ** 2)
        spent = began - start
        too_long = len(rungs) > 1 and spent + 2.5 * rungs[-1].seconds > accuracy.most_seconds
        if needed > accuracy.most_unknowns or too_long:
            name = "most_seconds" if too_long else "most_unknowns"
            reason = f"the next order would exceed {name} = {getattr(accuracy, name):g}"
            break
        field = solve_loads(section, material, loads_of(section))
        curves = curves_of(field, material, watches)
        if best is not None:
            curves = {name: c.with_step_from(best[1][name], band_factor) for name, c in curves.items()}
        relative, peaks = _bands(curves, watched, readings, states)
        rungs.append(HarmonicRung(order, field.unknowns, time.perf_counter() - began, peaks))
        second = best is not None
        best = field, curves
        if on_event:
            on_event(f"order {order}, {field.unknowns} unknowns")
        if second and relative <= accuracy.error:
            return HarmonicSolution(field, curves, tuple(rungs), True, time.perf_counter() - start, "")
    if best is None or len(rungs) < 2:
        raise OverBudget(f"two orders are needed for a band; {reason}: allow more, or enlarge the radii")
    return HarmonicSolution(*best, tuple(rungs), False, time.perf_counter() - start, reason)


def _bands(
    curves: Mapping[str, CurveStress], watched: Sequence[str], readings: Sequence[Reading], states: Array
) -> tuple[float, tuple[float, ...]]:
    """Largest relative band over states, watched curves and readings, and each state's peak."""
    worst, peaks = 0.0, []
    for state in states:
        found = [curves[name].peaks(state).peak for name in watched]
        worst = max([worst, *(q.relative_band or 0.0 for q in found)])
        peaks.append(max((float(q) for q in found), key=abs, default=0.0))
        for reading in readings:
            curve = curves[reading.curve]
            (_, steady), (_, rotating) = curve.reading(reading, state)
            scale = curve.scale(state, min(reading.s_mm))
            worst = max(worst, float(steady[0] + rotating[0]) / scale if scale else 0.0)
    return worst, tuple(peaks)
