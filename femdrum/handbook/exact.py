"""Exact plane values: the stress along a cutout's whole edge, and Kt, to an asked accuracy.

The accuracy is judged by solving twice, finer the second time: the finer solution's error is taken as SHARE of
the change of the peak, or of the field around it where that changed more.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..edge import EdgeStress, UnitCase
from ..errors import Fault, InputFault, OverBudget, nearest
from ..model.cutout import Cutout
from ..model.plate import Plate, PlateRow
from .boundary_integral import CASES, LEVELS, ODD, PlaneSolution, plane_solution
from .domains import Domain, FinitePlate, StripRow
from .panels import Array, gauss, place

__all__ = ["ExactKt", "domain_of", "exact_edge", "exact_kt"]

SHARE = 0.1
ROUNDING = 1e-11
SAMPLES = 128  # places per quarter, beside the peaks themselves

DEFINITIONS = {
    "tension_x": "uniform tension of 1 MPa along x, gross",
    "tension_y": "uniform tension of 1 MPa along y, gross",
    "shear": "uniform shear of 1 MPa, gross; positive turns the +x end towards +y",
}

Peak = tuple[float, int, float, int]


@dataclass(frozen=True)
class ExactKt:
    """Peak of |stress along the edge| over the nominal stress, found on the continuous edge.

    kt: |signed| / nominal, where nominal is the largest of |stress_x|, |stress_y|, |shear| (gross, MPa).
    signed: the peak itself in MPa, tension positive. x_mm, y_mm: one of its places, upper half.
    est_rel_err: estimated relative error. unknowns: real unknowns of the finest solution.
    """

    kt: float
    signed: float
    x_mm: float
    y_mm: float
    est_rel_err: float
    unknowns: int
    seconds: float


def domain_of(part: Plate | PlateRow) -> Domain:
    """The exact solution's domain of a plate (uniform stress on its outer edges) or a row of cutouts in a strip."""
    if isinstance(part, PlateRow):
        return StripRow(pitch_mm=part.pitch_mm, width_mm=part.width_mm)
    return FinitePlate(length_mm=part.length_mm, width_mm=part.width_mm)


def exact_kt(
    cutout: Cutout,
    domain: Domain,
    *,
    stress_x: float = 0.0,
    stress_y: float = 0.0,
    shear: float = 0.0,
    rel: float = 1e-6,
) -> ExactKt:
    """Kt of the cutout under gross stresses (MPa) in the plane; `rel` is the relative accuracy asked.

    Where `rel` is not reached on the finest level the best value is given; `est_rel_err` says so.
    Raises NoNumber at a sharp corner.
    """
    start = time.perf_counter()
    factors = np.array([stress_x, stress_y, shear], dtype=float)
    if not np.all(np.isfinite(factors)) or not np.any(factors):
        raise InputFault(
            Fault("stress_x", stress_x, "stress_x, stress_y, shear must be finite and not all zero", "give a load")
        )
    (peak,), error, fine, _ = _refined(cutout, domain, rel, [factors])
    value, piece, t, quadrant = peak
    z = complex(place(fine.panels.pieces[piece], np.array([t]))[0])
    return ExactKt(
        kt=abs(value) / float(np.max(np.abs(factors))),
        signed=value,
        x_mm=quadrant * z.real,
        y_mm=z.imag,
        est_rel_err=error,
        unknowns=fine.unknowns,
        seconds=time.perf_counter() - start,
    )


def exact_edge(cutout: Cutout, domain: Domain, loads: Sequence[str], *, rel: float = 1e-6) -> EdgeStress:
    """Stress along the cutout's whole edge per 1 MPa of each load; names as in `tension_x`, `tension_y`, `shear`.

    The peaks of each load and of equal tension x and y are among the places. `step` is the signed change from
    the coarser of the two solutions. `area_mm2` is per mm of thickness. Raises NoNumber at a sharp corner.
    """
    faults = [
        Fault("loads", name, f"must be one of {', '.join(CASES)}", nearest(name, CASES))
        for name in loads
        if name not in CASES
    ]
    if faults or not loads:
        raise InputFault(faults or Fault("loads", tuple(loads), f"must name at least one of {', '.join(CASES)}"))
    rows = [CASES.index(name) for name in loads]
    unit = np.eye(len(CASES))

    found, _, fine, coarse = _refined(cutout, domain, rel, [unit[i] for i in rows])
    extra = [(piece, t) for _, piece, t, _ in [*found, fine.peak(np.array([1.0, 1.0, 0.0]))]]
    return _unfolded(loads, rows, fine, coarse, extra)


def _refined(
    cutout: Cutout, domain: Domain, rel: float, states: list[Array]
) -> tuple[list[Peak], float, PlaneSolution, PlaneSolution]:
    """Solve ever finer until the change of all states' peaks promises `rel`: (peaks, error, fine, coarse)."""
    coarse = plane_solution(cutout, domain, 0)
    before = [coarse.peak(f) for f in states]
    best: tuple[list[Peak], float, PlaneSolution, PlaneSolution] | None = None
    for level in range(1, len(LEVELS)):
        try:
            fine = plane_solution(cutout, domain, level)
        except OverBudget:
            if best is None:
                raise
            break
        after = [fine.peak(f) for f in states]
        # peaks of opposite sign may be equal: their magnitudes are compared
        changes = [
            max(abs(abs(new[0]) - abs(old[0])), fine.change_near_peak(coarse, f)) / abs(new[0])
            for new, old, f in zip(after, before, states, strict=True)
        ]
        error = SHARE * max(changes) + ROUNDING
        best = after, error, fine, coarse
        if error <= rel:
            break
        coarse, before = fine, after
    assert best is not None
    return best


def _samples(solution: PlaneSolution, extra: list[tuple[int, float]]) -> Iterator[tuple[int, Array]]:
    """Parameters per piece, both ends included: even in length and in turn of the normal, and the extra ones."""
    pieces = solution.panels.pieces
    total = sum(p.length for p in pieces)
    for i, piece in enumerate(pieces):
        turn = float(np.ptp(piece.angle(np.array([0.0, 1.0])))) / (0.5 * np.pi)
        count = max(8, int(np.ceil(SAMPLES * max(piece.length / total, turn))))
        t = np.union1d(np.linspace(0.0, 1.0, count + 1), [t for which, t in extra if which == i])
        close = np.concatenate([[False], np.diff(t) < 1e-9])
        yield i, t[~close]


def _unfolded(
    loads: Sequence[str],
    rows: list[int],
    fine: PlaneSolution,
    coarse: PlaneSolution,
    extra: list[tuple[int, float]],
) -> EdgeStress:
    x, w = gauss(8)
    places, arcs, stress, step = [], [], [], []
    for i, t in _samples(fine, extra):
        piece = fine.panels.pieces[i]
        half = 0.5 * np.diff(t)
        arc = half * (piece.speed(t[:-1, None] + half[:, None] * (1 + x)) @ w)
        value = fine.at(i, t)[rows]
        change = value - coarse.at(i, t)[rows]
        keep = slice(0, None) if i == len(fine.panels.pieces) - 1 else slice(0, -1)
        places.append(place(piece, t)[keep])
        arcs.append(arc)
        stress.append(value[:, keep])
        step.append(change[:, keep])
    z = np.concatenate(places)
    s = np.concatenate([[0.0], np.cumsum(np.concatenate(arcs))])
    quarter = s[-1]
    inner, back = slice(1, None), slice(-2, None, -1)
    z_full = np.concatenate([z, -np.conj(z[back]), -z[inner], np.conj(z[-2:0:-1])])
    s_full = np.concatenate([s, 2 * quarter - s[back], 2 * quarter + s[inner], 4 * quarter - s[-2:0:-1]])
    sign = np.array([-1.0 if i == ODD else 1.0 for i in rows])[:, None]

    def full(quarter_values: list[Array]) -> Array:
        v = np.concatenate(quarter_values, axis=1)
        whole = np.concatenate([v, sign * v[:, back], v[:, inner], sign * v[:, -2:0:-1]], axis=1)
        out = np.zeros((len(rows), 1, s_full.size, 1, 3))
        out[:, 0, :, 0, 0] = whole
        return out

    ring = np.concatenate([s_full[-1:] - 4 * quarter, s_full, s_full[:1] + 4 * quarter])
    place_mm = np.stack([z_full.real, z_full.imag, np.zeros(z_full.size)], axis=-1)[:, None, :]
    whole = full(stress)
    return EdgeStress(
        cases=tuple(UnitCase(name, "MPa", DEFINITIONS[name]) for name in loads),
        s_mm=s_full,
        depth_mm=np.zeros(1),
        offset_mm=np.zeros(1),
        place_mm=place_mm,
        area_mm2=0.5 * (ring[2:] - ring[:-2])[:, None],
        stress=whole,
        step=full(step),
        pressure=np.zeros(whole.shape[:-1]),
    )
