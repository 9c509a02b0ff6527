"""Factors of the loads that a ring takes as they are given: section forces, pressure, flanks, clamps."""

from __future__ import annotations

from typing import Any

from ..errors import Fault, InputFault
from ..model.clamp_contact import ClampContact
from ..model.flank import Patch, default_patch
from ..model.load import (
    Bending,
    FlankPressure,
    FlankShear,
    InternalPressure,
    OpposedPull,
    Torsion,
    Transverse,
    WedgeClamp,
)
from ..model.ring import Ring
from .result import Factors, Term, fixed, steady, turning

__all__ = ["MAKERS", "even_clamp", "opposite", "patch", "slot_number"]


def slot_number(ring: Ring, slot: int) -> None:
    """Raise InputFault where the ring has no such slot."""
    if slot >= ring.slots_around:
        allowed = f"must be below slots_around = {ring.slots_around}"
        raise InputFault(Fault("slot", slot, allowed, "slots are counted from 0 in the sense of rotation"))


def opposite(ring: Ring, slot: int, field: str = "slot", value: object = None) -> int:
    """The slot across the drum. Raises InputFault where none stands there."""
    if ring.slots_around % 2:
        raise InputFault(
            Fault(
                field, slot if value is None else value,
                f"needs a slot opposite, and a ring with slots_around = {ring.slots_around} has none",
                "give the ring an even number of slots_around",
            )
        )  # fmt: skip
    return (slot + ring.slots_around // 2) % ring.slots_around


def patch(ring: Ring, slot: int | None, flank: str, traction: str, profile: str, **size: float | None) -> Patch:
    """A patch on a flank of the ring."""
    return default_patch(ring, slot, flank, traction, profile, size.get("extent_mm"), size.get("taper_mm"))


def _bending(ring: Ring, load: Bending) -> Factors:
    moment = 1e3 * load.moment_Nm
    return _vector("bending", moment, load, "bending moment")


def _transverse(ring: Ring, load: Transverse) -> Factors:
    return _vector("transverse", 1e3 * load.force_kN, load, "transverse force")


def _vector(case: str, value: float, load: Bending | Transverse, what: str) -> Factors:
    if load.rotating:
        where = load.direction_deg or 0.0
        note = f"The {what} stands still in space, so the drum turns through it once a revolution."
        return Factors(turning(case, value, where), notes=(note,))
    assert load.direction_deg is not None
    return Factors(fixed(case, value, load.direction_deg))


def _torsion(ring: Ring, load: Torsion) -> Factors:
    return Factors(steady(torsion=1e3 * load.torque_Nm))


def _internal_pressure(ring: Ring, load: InternalPressure) -> Factors:
    return Factors(
        steady(internal_pressure=load.pressure_MPa), notes=("The pressure acts on the bore, the slots are open.",)
    )


def _clamp(ring: Ring, load: WedgeClamp) -> Factors:
    # a clamp stands on the leading and trailing flanks: refused where they are not flat
    default_patch(ring, None, "leading", "pressure")
    if load.contact is not None:
        return even_clamp(ring, load, load.contact)
    return Factors(
        steady(clamp=1e3 * load.force_kN),
        notes=(
            "The clamp pushes on the whole flat leading and trailing flanks of every slot, evenly through the wall.",
        ),
    )


def even_clamp(ring: Ring, load: WedgeClamp, contact: ClampContact) -> Factors:
    """The even part of a clamp whose contact is solved elsewhere. Raises InputFault where the pack does not fit the slot."""
    contact.pack(ring, 1e3 * load.force_kN)
    if contact.length_mm is None:
        return Factors(steady(clamp=1e3 * load.force_kN))
    terms = []
    for flank in ("leading", "trailing"):
        even = patch(ring, None, flank, "pressure", "uniform", extent_mm=contact.length_mm)
        terms.append(Term(even.name, 1e3 * load.force_kN / even.force_N(ring)))
    return Factors(tuple(terms))


def _opposed_pull(ring: Ring, load: OpposedPull) -> Factors:
    slot_number(ring, load.slot)
    pair = min(load.slot, opposite(ring, load.slot))
    default_patch(ring, pair, "leading", "shear_wall")
    return Factors(steady(**{f"strut:{pair}": 1e3 * load.force_kN}))


def _on_flank(ring: Ring, load: FlankPressure | FlankShear) -> Factors:
    if isinstance(load, FlankPressure):
        traction, uniform = "pressure", load.pressure_MPa
    else:
        traction, uniform = f"shear_{load.direction}", load.shear_MPa
    slot = None if isinstance(load.slot, str) else load.slot
    if slot is not None:
        slot_number(ring, slot)
    terms = []
    for profile, value in (("uniform", uniform), ("linear", load.linear_MPa)):
        if value:
            place = patch(ring, slot, load.flank, traction, profile, extent_mm=load.extent_mm, taper_mm=load.taper_mm)
            terms.append(Term(place.name, value))
    notes = (
        f"The load stands on {place.extent_mm:g} mm of the {load.flank.replace('_', ' ')} flank and falls to zero over "
        f"{place.taper_mm:g} mm at each end.",
    )
    return Factors(tuple(terms), notes=notes)


MAKERS: dict[type, Any] = {
    Bending: _bending,
    Transverse: _transverse,
    Torsion: _torsion,
    InternalPressure: _internal_pressure,
    WedgeClamp: _clamp,
    OpposedPull: _opposed_pull,
    FlankPressure: _on_flank,
    FlankShear: _on_flank,
}
