"""Exact plane values: the stress along a cutout's whole edge, and Kt, to an asked accuracy.

The accuracy is judged by solving twice, finer the second time: the finer solution's error is taken as MARGIN times the
change of the stress at the peak, or of the field around it where that changed more. Mostly it is a hundredth of that.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..edge import EdgeStress, UnitCase
from ..errors import Fault, FemdrumError, InputFault, OverBudget, nearest
from ..model.cutout import Cutout
from ..model.plate import Plate, PlateRow
from .boundary_integral import (
    CASES,
    LEVELS,
    ODD,
    Case,
    PlaneSolution,
    first_level,
    plane_solution,
    plane_solutions,
)  # fmt: skip
from .domains import Domain, FinitePlate, StripRow
from .panels import Array, gauss, place
from .peaks import Peak, change_near_peaks, peaks

__all__ = ["ExactKt", "PlaneCase", "domain_of", "exact_edge", "exact_kt", "exact_kts"]

MARGIN = 2.0  # a change may be small by chance: the error was above it in 6 of some 2000 drawn cases, above this in 1
ROUNDING = 3e-11
SAMPLES = 128  # places per quarter, beside the peaks themselves

DEFINITIONS = {
    "tension_x": "uniform tension of 1 MPa along x, gross",
    "tension_y": "uniform tension of 1 MPa along y, gross",
    "shear": "uniform shear of 1 MPa, gross; positive turns the +x end towards +y",
}

Solve = Callable[..., list[PlaneSolution | FemdrumError]]


@dataclass(frozen=True, kw_only=True)
class PlaneCase:
    """One question of many: a cutout, what surrounds it, and the gross stresses in MPa."""

    cutout: Cutout
    domain: Domain
    stress_x: float = 0.0
    stress_y: float = 0.0
    shear: float = 0.0


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
    factors = _checked(stress_x, stress_y, shear)
    found = _one(cutout, domain, rel, factors[None])
    return _kt(found, factors, time.perf_counter() - start)


def exact_kts(cases: Sequence[PlaneCase], *, rel: float = 1e-6) -> list[ExactKt | FemdrumError]:
    """`exact_kt` of many cases, much faster than one by one; a refused case has its reason in its place.

    `seconds` is a case's share of the whole.
    """
    start = time.perf_counter()
    out: list[ExactKt | FemdrumError | None] = [None] * len(cases)
    asked: list[tuple[int, Array]] = []
    for i, case in enumerate(cases):
        try:
            asked.append((i, _checked(case.stress_x, case.stress_y, case.shear)))
        except FemdrumError as reason:
            out[i] = reason
    questions = [((cases[i].cutout, cases[i].domain), factors[None]) for i, factors in asked]
    answers = _refined(questions, rel, plane_solutions)
    share = (time.perf_counter() - start) / max(1, len(cases))
    for (i, factors), answer in zip(asked, answers, strict=True):
        out[i] = answer if isinstance(answer, FemdrumError) else _kt(answer, factors, share)
    return [one for one in out if one is not None]


def exact_edge(cutout: Cutout, domain: Domain, loads: Sequence[str], *, rel: float = 1e-6) -> EdgeStress:
    """Stress along the cutout's whole edge per 1 MPa of each load; names as in `tension_x`, `tension_y`, `shear`.

    The peaks of each load and, where both are asked, of equal tension x and y are among the places. `step` is the signed change from
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
    found = _one(cutout, domain, rel, np.eye(len(CASES))[rows])
    tops = list(found.peaks)
    if {"tension_x", "tension_y"} <= set(loads):
        tops.append(found.fine.peak(np.array([1.0, 1.0, 0.0])))
    return _unfolded(loads, rows, found.fine, found.coarse, [(piece, t) for _, piece, t, _ in tops])


def _checked(stress_x: float, stress_y: float, shear: float) -> Array:
    factors = np.array([stress_x, stress_y, shear], dtype=float)
    if not np.all(np.isfinite(factors)) or not np.any(factors):
        raise InputFault(
            Fault("stress_x", stress_x, "stress_x, stress_y, shear must be finite and not all zero", "give a load")
        )
    return factors


def _kt(found: _Found, factors: Array, seconds: float) -> ExactKt:
    ((value, piece, t, quadrant),) = found.peaks
    z = complex(place(found.fine.panels.pieces[piece], np.array([t]))[0])
    return ExactKt(
        kt=abs(value) / float(np.max(np.abs(factors))),
        signed=value,
        x_mm=quadrant * z.real,
        y_mm=z.imag,
        est_rel_err=found.error,
        unknowns=found.fine.unknowns,
        seconds=seconds,
    )


@dataclass(frozen=True)
class _Found:
    """Peaks of all states, the relative error promised for the worst, and the solutions that were compared."""

    peaks: list[Peak]
    error: float
    fine: PlaneSolution
    coarse: PlaneSolution


def _one(cutout: Cutout, domain: Domain, rel: float, states: Array) -> _Found:
    """One question; solutions are kept for the next states of the same cutout."""

    def solve(cases: Sequence[Case], level: int, *, even: bool, odd: bool) -> list[PlaneSolution | FemdrumError]:
        try:
            return [plane_solution(*case, level, even=even, odd=odd) for case in cases]
        except FemdrumError as reason:
            return [reason]

    (found,) = _refined([((cutout, domain), states)], rel, solve)
    if isinstance(found, FemdrumError):
        raise found
    return found


def _refined(
    questions: Sequence[tuple[Case, Array]], rel: float, solve: Solve, first: int | None = None
) -> list[_Found | FemdrumError]:
    """Solve each (case, states) ever finer until the change promises `rel` for all its states."""
    out: dict[int, _Found | FemdrumError] = {}
    level = first = first_level(rel) if first is None else first
    coarse: dict[int, PlaneSolution] = {}
    going = list(range(len(questions)))
    while going and level < len(LEVELS):
        finer: dict[int, PlaneSolution] = {}
        for i, solution in _level(questions, going, level, solve):
            if isinstance(solution, FemdrumError):
                out.setdefault(i, solution)  # what a coarser level found stands
                continue
            if i in coarse:
                out[i] = found = _compared(solution, coarse[i], questions[i][1])
                if found.error <= rel:
                    continue
            finer[i] = solution
        coarse, going, level = finer, list(finer), level + 1
    too_large = [i for i, found in out.items() if isinstance(found, OverBudget)]
    if too_large and first > 0:  # a coarser start may fit
        again = _refined([questions[i] for i in too_large], rel, solve, 0)
        out.update(zip(too_large, again, strict=True))
    return [out[i] for i in range(len(questions))]


def _level(
    questions: Sequence[tuple[Case, Array]], which: list[int], level: int, solve: Solve
) -> Iterator[tuple[int, PlaneSolution | FemdrumError]]:
    """Solutions of some questions at a level; tensions and shear cost a system each, so only what is asked."""
    groups: dict[tuple[bool, bool], list[int]] = {}
    for i in which:
        states = questions[i][1]
        groups.setdefault((bool(states[:, :ODD].any()), bool(states[:, ODD].any())), []).append(i)
    for (even, odd), members in groups.items():
        solutions = solve([questions[i][0] for i in members], level, even=even, odd=odd)
        yield from zip(members, solutions, strict=True)


def _compared(fine: PlaneSolution, coarse: PlaneSolution, states: Array) -> _Found:
    """Peaks of the finer solution, and what their change and that of the field around them promise."""
    found = peaks(fine, states)
    change = change_near_peaks(fine, coarse, states)
    error = 0.0
    for state, (value, piece, t, quadrant), near in zip(states, found, change, strict=True):
        signs = np.where(np.arange(len(CASES)) == ODD, quadrant, 1) * state
        used = np.flatnonzero(signs)
        there = float(signs[used] @ coarse.at(piece, np.array([t]))[used, 0])
        error = max(error, max(abs(there - value), float(near)) / abs(value))
    return _Found(found, MARGIN * error + ROUNDING, fine, coarse)


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
