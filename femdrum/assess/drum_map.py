"""The map: life and utilisation of every slot of the drum, each row under its own bending, shear and torque.

The unit cases are those of the ring that stands for the drum's rows. In a condition the loads that bend and twist the drum as
a beam (weight, belts, drive, unbalance) are put off and what the row itself carries is put on; all else stays as it was.
Places are those that were worst in the ring; every slot of the drum is taken to be struck as the worst slot of the model is. Off
the rims the worst plane is looked for anew in each row.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault
from ..loads.factors import factors
from ..model.condition import Condition
from ..model.drum import Drum, slots
from ..model.machine import Machine
from ..model.material import Material
from ..model.ring import Ring
from ..model.ring_loads import Bending, Torsion, Transverse
from ..rotor.row_state import RowState
from ..rotor.rows import RowLoads, row_resultants
from ..strength.surface_planes import Events
from .combine import load_vectors
from .duty_events import duty_events, turning_states
from .life_damage import Plane, bearable_factor, plane_damage, worst_planes
from .life_places import EdgeDamage, Named
from .life_plan import LifePlan
from .life_result import MapSlot

__all__ = ["BEAM_LOADS", "RowInfluences", "beam_free", "beam_loads_of", "drum_map", "row_loads", "row_vectors"]

Array = NDArray[np.float64]
Vectors = Mapping[str, Array]

# loads by which the drum is bent and twisted as a beam: their place along the drum is what the map is about
BEAM_LOADS = ("self_weight", "belt_pull", "drive_torque", "unbalance")
# ratio [row, case] of the stress of a unit case in a row between end discs to that of the endless drum
RowInfluences = Array


@dataclass(frozen=True)
class _Place:
    slot: int
    s: int
    d: int
    flat: int
    rim: bool
    name: str


def row_loads(drum: Drum, states: Sequence[RowState], material: Material) -> dict[str, list[RowLoads]]:
    """What each row carries in each condition. Raises InputFault."""
    return {state.condition: row_resultants(drum, state, material) for state in states}


def beam_free(vectors: Vectors, conditions: Sequence[Condition], kinds: Mapping[str, str]) -> dict[str, Array]:
    """Vectors of the conditions without the loads that bend and twist the drum as a beam; kinds: of each load."""
    out = {}
    for condition in conditions:
        total = np.array(vectors[condition.name], dtype=float)
        for load, share in condition.loads.items():
            if kinds.get(load) in BEAM_LOADS:
                total = total - share * np.asarray(vectors[load])
        out[condition.name] = total
    return out


def beam_loads_of(row: RowLoads, slot_angle_deg: float, called: str) -> list[Any]:
    """A row's own moment, shear and torque as loads on the ring; slot_angle_deg: of the ring's first slot from the row's first."""
    loads: list[Any] = []
    for frame, turns in (("space", True), ("drum", False)):
        sides = ("shear_before_N", "shear_after_N")
        shear = max((complex(sum(getattr(c, side) for c in row.causes if c.frame == frame)) for side in sides), key=abs)
        for what, value in (("moment", row.moment_Nmm(frame)), ("shear", shear)):
            if abs(value) < 1e-6:
                continue
            direction = row.direction_deg(value, frame) - (0.0 if turns else slot_angle_deg)
            placed: dict[str, Any] = {
                "direction_deg": (direction + 180.0) % 360.0 - 180.0, "rotating": turns, "name": f"{called}, {what} in {frame}",
            }  # fmt: skip
            if what == "moment":
                loads.append(Bending(moment_Nm=1e-3 * abs(value), **placed))
            else:
                loads.append(Transverse(force_kN=1e-3 * abs(value), **placed))
    if abs(row.torque_Nmm) > 1e-6:
        loads.append(Torsion(torque_Nm=1e-3 * row.torque_Nmm, name=f"{called}, torque"))
    return loads


def row_vectors(row: RowLoads, ring: Ring, material: Material, names: tuple[str, ...], slot_angle_deg: float) -> Array:
    """The same as factors [3, case] on the unit cases `names`.

    Raises InputFault where the ring's loads bring no unit case of that kind.
    """
    total = np.zeros((3, len(names)))
    for load in beam_loads_of(row, slot_angle_deg, "row"):
        made = factors(ring, load, None, material)
        missing = [case for case in made.cases if case not in names]
        if missing:
            raise InputFault(
                Fault("load", load.kind, f"is missing in the study: the map needs the ring's unit case {missing[0]}",
                      "add a load of this kind, such as belt_pull or drive_torque, to a condition")
            )  # fmt: skip
        one = load_vectors(names, load.name, made.steady, made.cosine, made.sine)
        total += np.stack([one.steady, one.cosine, one.sine])
    return total


def drum_map(
    found: EdgeDamage, named: Sequence[Named], ring: Ring, material: Material, machine: Machine | None, plan: LifePlan,
    drum: Drum, rows: Mapping[str, Sequence[RowLoads]], free: Vectors, influence: RowInfluences | None = None,
) -> tuple[MapSlot, ...]:  # fmt: skip
    """Every slot's life and utilisation, the most used first.

    found, named: the ring's own damage and its worst places. rows: condition -> what each row carries; free: condition ->
    vectors without beam loads. influence: of the end discs, where they are reckoned with.
    """
    edge = found.edge
    names = tuple(case.name for case in edge.cases)
    used = tuple(dict.fromkeys(n for row in plan.duty for n in (row.condition, row.back_to) if n))
    speed = None if machine is None else machine.speed_rpm
    events = duty_events(plan.duty, used, speed, lambda row: plan.measured[row.name]).scaled(plan.wanted.load_factor)
    places = _places(found, named)
    spacing = 360.0 / ring.slots_around
    done: dict[tuple[int, float], _Worst] = {}
    out = []
    for slot in slots(drum):
        # what turns with the drum points elsewhere for each slot of a row; what stands in space passes all alike
        fixed = any(abs(row.moment_Nmm("drum")) > 1e-6 for row in (rows[name][slot.row] for name in used))
        key = slot.row, float(slot.around) if fixed else 0.0
        if key not in done:
            states = np.concatenate(
                [
                    _states(found, [p for p in places if p.slot == at], ring, material, names, rows, free, used, slot.row,
                            spacing * (key[1] - at), influence)
                    for at in sorted({p.slot for p in places})
                ], axis=2,
            )  # fmt: skip
            done[key] = _worst(found, sorted(places, key=lambda p: p.slot), states, events, plan.wanted.target_h)
        worst = done[key]
        out.append(
            MapSlot(
                number=slot.number + 1,
                row=slot.row + 1,
                around=slot.around + 1,
                z_mm=slot.z_mm,
                along_mm=slot.along_mm,
                x_mm=slot.x_mm,
                place=worst.name,
                damage_per_1000_h=worst.damage,
                life_h=1000.0 / worst.damage if worst.damage > 0.0 else None,
                utilisation=1.0 / worst.safety,
            )
        )
    return tuple(sorted(out, key=lambda m: (-float(f"{m.utilisation:.6g}"), m.number)))


def _states(
    found: EdgeDamage, places: Sequence[_Place], ring: Ring, material: Material, names: tuple[str, ...],
    rows: Mapping[str, Sequence[RowLoads]], free: Vectors, used: Sequence[str], row: int, angle_deg: float,
    influence: RowInfluences | None,
) -> Array:  # fmt: skip
    """States at places of one slot of the model, which stands for a slot at this angle from it in the row."""
    edge, at = found.edge, places[0].slot
    s, d = np.array([p.s for p in places]), np.array([p.d for p in places])
    scale = np.ones(len(names)) if influence is None else influence[row]
    vectors = {
        name: (free[name] + row_vectors(rows[name][row], ring, material, names, angle_deg)) * scale for name in used
    }
    return turning_states(edge.stress[:, at][:, s, d], edge.pressure[:, at][:, s, d], vectors)


@dataclass(frozen=True)
class _Worst:
    name: str
    damage: float
    safety: float


def _places(found: EdgeDamage, named: Sequence[Named]) -> list[_Place]:
    out: dict[int, _Place] = {}
    for n in named:
        slot, s, d = (int(k) for k in np.unravel_index(n.place, found.damage.shape))
        out.setdefault(n.place, _Place(slot, s, d, n.place, "rim" in n.name, n.name))
    return list(out.values())


def _worst(found: EdgeDamage, places: Sequence[_Place], states: Array, events: Events, target_h: float) -> _Worst:
    judge = found.judge.at(np.array([p.flat for p in places]))
    rim = np.array([p.rim for p in places])
    damage = np.zeros(len(places))
    angle, tilt, shear = np.zeros(len(places)), np.zeros(len(places)), np.zeros(len(places), bool)
    some, rest = np.flatnonzero(rim), np.flatnonzero(~rim)
    if some.size:
        zero = np.zeros(some.size)
        damage[some] = plane_damage(judge.at(some), states[:, :, some], events, Plane(zero, zero, False))
    if rest.size:
        worst, plane, kind = worst_planes(
            judge.at(rest), states[:, :, rest], events, np.zeros(rest.size, dtype=np.intp)
        )
        damage[rest], angle[rest], tilt[rest], shear[rest] = worst, plane.angle_rad, plane.tilt_rad, kind
    best = int(np.argmax(damage))
    one = slice(best, best + 1)
    plane = Plane(angle[one], tilt[one], bool(shear[best]))
    safety = float(bearable_factor(judge.at(np.array([best])), states[:, :, one], events, plane, target_h)[0])
    return _Worst(places[best].name, float(damage[best]), safety)
