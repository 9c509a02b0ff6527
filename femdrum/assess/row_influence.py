"""How the end discs hold the shell: each row's stress at the slots between the ends, against the endless drum's.

The ring of fem/ring_level.py stands for a drum of equal rows without end. Stiff discs keep the section round, so that
the ovalling under rotation and under pulls on opposed slots falls towards them. Here a drum of a given number of rows is
solved as a whole, on the cells of the ring, and every row keeps its own unit cases.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress, Peaks
from ..errors import OverBudget
from ..fem.ladder import band_rule
from ..fem.ring_level import RING_FLIGHTS
from ..fem.row_chain_end import RowEnd
from ..fem.row_chain_level import ChainLevel, chain_level
from ..fem.row_chain_load import ChainLoad
from ..model.check import Checks
from ..model.material import Material
from ..model.ring import Ring
from ..provenance import Provenance, computed

__all__ = ["ChainLoad", "RowEnd", "RowInfluence", "row_influence"]

Array = NDArray[np.float64]

# a row's peak below this share of the endless drum's need not be as exact in itself
WEAK = 0.25

SOURCE = computed("finite elements of all rows between the ends, on the cells of the endless drum's row")

HOLD_WORDS = {
    "round": "a disc stiff in its plane and limp out of it: the shell's section stays round, free along the axis",
    "flat": "a disc stiff in its plane and out of it: the shell's section stays round and flat",
    "endless": "none: the rows go on as in the endless drum",
    "open": "none: the shell ends free",
}


@dataclass(frozen=True)
class RowInfluence:
    """Rows are numbered from 0 at the first end; cases in the order of `names`.

    ratio [row, case]: largest tension at the row's slots over that of the endless drum, or compression where the endless
    drum's peak is one; the unit case by itself, above 0. ratio_band: half width of its error band (the bands of both peaks,
    added). half_ratio [row, 2, case]: the same for the half of the slot towards the first and towards the last end.
    edges [row]: unit cases at one slot of the row, which stands for all of them, each with its step from a coarser order;
    to be added with their signs (EdgeStress.combine) as those of the ring are. endless: the same of the endless drum.
    seat_distance_mm [row, case]: how far the opposed seats of a row move apart, where a strut is among the cases. Of
    struts in single rows it is the matrix of compliances, mm per N outward on each seat of a row.
    settled: every peak has the band asked for, but for the doubt in rims of pressed walls; else `reason` says why not.
    """

    ring: Ring
    ends: tuple[RowEnd, RowEnd]
    names: tuple[str, ...]
    ratio: Array
    ratio_band: Array
    half_ratio: Array
    edges: tuple[EdgeStress, ...]
    endless: EdgeStress
    seat_distance_mm: Array | None
    settled: bool
    reason: str
    orders: tuple[int, ...]
    unknowns: int
    seconds: float
    notes: tuple[str, ...]
    provenance: Provenance = SOURCE

    @property
    def rows_total(self) -> int:
        """Number of rows."""
        return len(self.edges)

    def of(self, name: str) -> Array:
        """ratio [row] of one case."""
        if name not in self.names:
            raise KeyError(f"no unit case {name!r}; known: {', '.join(self.names)}")
        return np.asarray(self.ratio[:, self.names.index(name)])

    def difference(self, row: int) -> EdgeStress:
        """What the ends add in a row to the endless drum's unit cases (a field that may be added to theirs)."""
        own, far = self.edges[row], self.endless
        assert own.earlier is not None
        assert far.earlier is not None
        return replace(
            own, stress=own.stress - far.stress, step=own.step - far.step, earlier=own.earlier - far.earlier,
            pressure=own.pressure - far.pressure,
        )  # fmt: skip

    def peaks(self, row: int, factors: Array) -> Peaks:
        """Peaks of a state at a row's slots; factors [case]."""
        return self.edges[row].combine(factors).peaks()


def row_influence(
    ring: Ring,
    rows_total: int,
    first_distance_mm: float | RowEnd,
    last_distance_mm: float | RowEnd,
    cases: Sequence[str | ChainLoad],
    material: Material,
    *,
    error: float = 0.02,
    growth: str = "free",
) -> RowInfluence:
    """Solve a drum of rows_total rows between its ends, order by order, until all peaks have the band that is asked for.

    first_distance_mm, last_distance_mm: from the middle of the first (last) row's slots to the disc's inner face, which
    holds the section round; or a RowEnd, which says what else holds it. cases: names of unit cases that meet all slots of
    a row alike (rotation, hung, clamp:all, strut:all, internal_pressure, axial, torsion), or ChainLoads, which may stand
    in some rows only. error: relative band of each row's peak. growth: "free" or "held", of flat ends against each other.
    Raises InputFault.
    """
    ends = _ends(first_distance_mm, last_distance_mm, error)
    loads = tuple(case if isinstance(case, ChainLoad) else ChainLoad(case) for case in cases)
    start = time.perf_counter()
    best: _Read | None = None
    coarser: ChainLevel | None = None
    orders: list[int] = []
    reason = ""
    for fineness in RING_FLIGHTS[0]:
        try:
            level = chain_level(ring, material, ends, rows_total, loads, fineness, growth)
        except OverBudget as refused:
            if best is None:
                raise
            reason = str(refused)
            break
        orders.append(fineness.order)
        if coarser is not None:
            before = best if best is not None else _Read(coarser.edges, coarser.endless, error)
            rule = band_rule(3, fineness)
            edges = tuple(new.with_step_from(old, *rule) for new, old in zip(level.edges, before.edges, strict=True))
            best = _Read(edges, level.endless.with_step_from(before.endless, *rule), error)
            if best.settled:
                break
        coarser = level
    assert best is not None
    strut = next((load.case for load in loads if load.case.partition(":")[0] == "strut"), None)
    return RowInfluence(
        ring=ring,
        ends=ends,
        names=tuple(load.name for load in loads),
        ratio=best.ratio,
        ratio_band=best.band,
        half_ratio=best.halves,
        edges=best.edges,
        endless=best.endless,
        seat_distance_mm=None if strut is None else level.seat_distance_mm(strut),
        settled=best.settled,
        reason="" if best.settled else reason or "the highest order is reached",
        orders=tuple(orders),
        unknowns=level.chain.unknowns,
        seconds=time.perf_counter() - start,
        notes=_notes(ring, ends, loads),
    )


def _ends(first: float | RowEnd, last: float | RowEnd, error: float) -> tuple[RowEnd, RowEnd]:
    checks = Checks()
    for name, end in (("first_distance_mm", first), ("last_distance_mm", last)):
        if not isinstance(end, RowEnd):
            checks.positive(name, end, "from the middle of the nearest row's slots to the disc")
    checks.number("error", error, above=0.0, most=0.2, way_out="0.02 is 2 %")
    checks.done()
    one, other = (end if isinstance(end, RowEnd) else RowEnd(distance_mm=end) for end in (first, last))
    return one, other


class _Read:
    """Ratios from the unit cases of all rows and of the endless drum."""

    def __init__(self, edges: tuple[EdgeStress, ...], endless: EdgeStress, error: float) -> None:
        self.edges, self.endless = edges, endless
        cases = len(endless.cases)
        self.ratio, self.band = np.zeros((len(edges), cases)), np.zeros((len(edges), cases))
        self.halves = np.zeros((len(edges), 2, cases))
        self.settled = True
        surfaces = [edge.combine(np.eye(cases)) for edge in edges]
        far = endless.combine(np.eye(cases))
        towards_last = endless.place_mm[..., 1] > 0
        for k in range(cases):
            whole = far.peaks(k)
            tension = whole.peak is whole.tension
            size, far_band = abs(whole.peak.value or 0.0), whole.peak.band or 0.0
            for row, surface in enumerate(surfaces):
                peaks = surface.peaks(k)
                own = peaks.tension if tension else peaks.compression
                value, band = abs(own.value or 0.0), own.band or 0.0
                self.ratio[row, k] = value / size
                self.band[row, k] = (band + value / size * far_band) / size
                # a finer mesh does not mend the doubt in pressed rims, so the ladder does not chase it
                mesh = surface.peaks(k, mesh_only=True).peak
                self.settled &= (mesh.band or 0.0) <= error * max(abs(mesh.value or 0.0), WEAK * size)
                high, low = surface.principal()
                field = high[k, 0] if tension else -low[k, 0]
                for side, there in enumerate((~towards_last, towards_last)):
                    self.halves[row, side, k] = max(float(field[there].max()), 0.0) / size


def _notes(ring: Ring, ends: tuple[RowEnd, RowEnd], loads: Sequence[ChainLoad]) -> tuple[str, ...]:
    out = []
    for end, name in zip(ends, ("first", "last"), strict=True):
        if end.disc_mm is None:
            text = HOLD_WORDS[end.hold]
        else:
            hub = f"radius {end.hub_radius_mm:g} mm" if end.hub_radius_mm else "a tenth of the bore's radius"
            text = f"an elastic disc of {end.disc_mm:g} mm, flush with the shell's end, held at its stub, {hub}"
        out.append(f"{name} end, {end.distance_mm:g} mm from the middle of the nearest row: {text}")
    out.append(
        f"{ring.rows} rows, all of them with equal slots and loaded alike around; the joint between disc and shell is ideal"
    )
    out.append(
        "a ratio is of the largest tension (or compression, where the endless drum's peak is one) anywhere at the row's slots; "
        "beside a disc the slot's end towards it can carry far less than the other end, see half_ratio"
    )
    if ring.slots_around > 2 and any(load.case.startswith("strut") for load in loads):
        out.append("every slot's bar pulls alike; a single bar among them needs the ring")
    out.append("bending and transverse force of the drum as a beam are not in it: take them from the ring")
    return tuple(out)
