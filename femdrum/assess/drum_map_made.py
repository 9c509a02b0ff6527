"""The map of one variant: the rows' own loads, every slot's life, and the worst row solved afresh."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..edge import EdgeStress
from ..errors import FemdrumError
from ..model.accuracy import Accuracy
from ..model.condition import Condition
from ..model.drum import Drum
from ..model.machine import Machine
from ..model.material import Material
from ..model.ring import Ring
from ..rotor.rows import RowLoads
from .combine import worst_angle
from .drum_map import BEAM_LOADS, beam_free, beam_loads_of, drum_map, row_loads, row_vectors
from .life_places import EdgeDamage, Named
from .life_plan import LifePlan
from .life_result import DrumMap, FreshPeak, MapRow, MapSlot
from .life_words import hours
from .row_influence import row_influence
from .solve import solve_all

__all__ = ["made_map"]

Array = NDArray[np.float64]

FRESH = 4  # conditions of the worst row that are solved afresh, those of the highest peaks
NO_DISCS = (
    "the end discs are not reckoned with: they hold the shell round, so rows near them have less stress from speed and clamp "
    "than this map says"
)


def made_map(
    found: EdgeDamage, named: Sequence[Named], ring: Ring, material: Material, machine: Machine | None, plan: LifePlan,
    vectors: Mapping[str, Array], loads: Sequence[Any], conditions: Sequence[Condition], accuracy: Accuracy,
) -> DrumMap:  # fmt: skip
    """The map under the plan's drum. Raises InputFault for a drum that does not fit the ring, SolveFailure."""
    assert plan.drum is not None
    drum = plan.drum.drum.around(ring)
    used = tuple(dict.fromkeys(n for row in plan.duty for n in (row.condition, row.back_to) if n))
    states = [s for s in plan.drum.states if s.condition in used]
    rows = row_loads(drum, states, material)
    kinds = {load.name: load.kind for load in loads}
    asked = [c for c in conditions if c.name in used]
    free = beam_free(vectors, asked, kinds)
    influence, said = _discs(found.edge, ring, material, drum, rows, accuracy)
    slots = drum_map(found, named, ring, material, machine, plan, drum, rows, free, influence)
    worst = slots[0]
    fresh = _fresh(found.edge, ring, material, machine, rows, worst.row - 1, free, loads, asked, accuracy)
    return DrumMap(
        words=_words(slots, drum, plan.wanted.target_h),
        slots=slots,
        rows=tuple(_row(name, row) for name, every in rows.items() for row in every),
        fresh=fresh,
        influence=said[0],
        notes=(
            *said,
            f"of each condition the loads {', '.join(k.replace('_', ' ') for k in BEAM_LOADS)} are put off, and the moment, shear "
            "and torque that the row itself carries are put on; all other loads are those of the ring",
            "hits count for each slot alike: an occurrence strikes every slot once",
            "places are the ring's worst of each name, looked at in every slot",
            "the fresh solution of the most used row is that of the endless drum, without the end discs, like what is laid beside it",
        ),
    )


# unit cases whose field between end discs is known, by the name that the chain of rows gives them
_CHAINED = ("rotation", "hung", "internal_pressure", "axial", "torsion")


def _discs(
    edge: EdgeStress, ring: Ring, material: Material, drum: Drum, rows: Mapping[str, Sequence[RowLoads]], accuracy: Accuracy
) -> tuple[Array | None, tuple[str, ...]]:  # fmt: skip
    """How the end discs hold the shell: ratio [row, case] of each unit case's peak to that of the endless drum, and words."""
    names = [case.name for case in edge.cases]
    asked = {}
    for i, name in enumerate(names):
        family, _, place = name.partition(":")
        if name in _CHAINED:
            asked[i] = name
        elif family in ("clamp", "strut") and (place in ("", "all") or (family == "strut" and ring.slots_around == 2)):
            asked[i] = f"{family}:all"
    if not asked:
        return None, (NO_DISCS,)
    first = next(iter(rows.values()))
    cases = list(dict.fromkeys(asked.values()))
    try:
        found = row_influence(
            ring,
            drum.rows_total,
            first[0].to_disc_mm,
            first[-1].to_disc_mm,
            cases,
            material,
            error=max(accuracy.error, 0.02),
        )
    except FemdrumError as error:
        return None, (f"{NO_DISCS} (the chain of rows: {' '.join(str(error).split())})",)
    ratio = np.ones((drum.rows_total, len(names)))
    for i, name in asked.items():
        ratio[:, i] = found.ratio[:, cases.index(name)]
    spin = cases.index("rotation") if "rotation" in cases else 0
    ends = found.ratio[[0, -1], spin]
    words = (
        f"end discs hold the shell round at {first[0].to_disc_mm:.0f} mm and {first[-1].to_disc_mm:.0f} mm from the end rows' middles: "
        f"under {cases[spin].replace('_', ' ')} those rows have {ends[0]:.2f} and {ends[1]:.2f} of the endless drum's peak; likewise for "
        f"{', '.join(c for c in cases if c != cases[spin]) or 'no other unit load'}; other unit loads stay as in the endless drum"
    )
    return ratio, (words, *(() if found.settled else (f"the chain of rows is not settled: {found.reason}",)))


def _fresh(
    edge: EdgeStress, ring: Ring, material: Material, machine: Machine | None, rows: Mapping[str, Sequence[RowLoads]],
    row: int, free: Mapping[str, Array], loads: Sequence[Any], conditions: Sequence[Condition], accuracy: Accuracy,
) -> tuple[FreshPeak, ...]:  # fmt: skip
    """The worst row's conditions of the highest peaks, solved anew with its own loads."""
    names = tuple(case.name for case in edge.cases)
    peaks = {}
    for condition in conditions:
        own = free[condition.name] + row_vectors(rows[condition.name][row], ring, material, names, 0.0)
        at = worst_angle(edge, *own)
        peaks[condition.name] = edge.combine(at.factors).peaks(0, accuracy.error).peak
    chosen = sorted(conditions, key=lambda c: -abs(float(peaks[c.name])))[:FRESH]
    kept = {load.name: load for load in loads if load.kind not in BEAM_LOADS}
    made, states = dict(kept), []
    for condition in chosen:
        shares = {name: share for name, share in condition.loads.items() if name in kept}
        for load in beam_loads_of(rows[condition.name][row], 0.0, f"row {row + 1}, {condition.name}"):
            made[load.name] = load
            shares[load.name] = 1.0
        states.append(Condition(name=condition.name, loads=shares))
    needed = {name for state in states for name in state.loads}
    anew = solve_all(
        ring, [made[n] for n in made if n in needed], material, accuracy, machine=machine, conditions=states
    )
    out = []
    for state in states:
        mapped, again = peaks[state.name], anew[state.name].peak
        band = (mapped.band or 0.0) + (again.band or 0.0)
        out.append(FreshPeak(state.name, float(mapped), float(again), band))
    return tuple(out)


def _row(condition: str, row: RowLoads) -> MapRow:
    return MapRow(
        condition=condition,
        row=row.row + 1,
        z_mm=row.z_mm,
        to_disc_mm=row.to_disc_mm,
        moment_Nm=1e-3 * row.largest_moment_Nmm,
        shear_kN=1e-3 * row.shear_N,
        torque_Nm=1e-3 * row.torque_Nmm,
        hammer_pull_kN=1e-3 * row.hammer_pull_N,
    )


def _words(slots: Sequence[MapSlot], drum: Drum, target_h: float) -> str:
    worst, best = slots[0], slots[-1]
    short = sum(s.utilisation > 1.0 for s in slots)
    verdict = f"all {len(slots)} slots" if not short else f"{len(slots) - short} of {len(slots)} slots"
    return (
        f"The most used slot is number {worst.number} (row {worst.row} of {drum.rows_total} from the drive end), at the {worst.place}: "
        f"{hours(worst.life_h)}, utilisation {worst.utilisation:.2f}; the least used has {best.utilisation:.2f}. {verdict} live longer than "
        f"{hours(target_h)}."
    )
