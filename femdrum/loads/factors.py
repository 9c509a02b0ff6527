"""The factor that a load puts on each unit case (see fem/unit_cases for what factor 1 means)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from ..errors import MISSING, Fault, InputFault
from ..fem.unit_cases.faces import pressure_name, traction_name
from ..model.load import (
    Axial,
    Biaxial,
    Cutting,
    FacePressure,
    FaceTraction,
    Impact,
    Load,
    Shear,
    Tension,
    ThroughBar,
    TipForce,
)
from ..model.material import Material
from ..model.ring import HELD, Ring
from . import machine_factors, ring_factors
from .result import Factors, Term

if TYPE_CHECKING:
    from ..model.machine import Machine

__all__ = ["axial_stress_MPa", "factors"]

_ON_BAR = (ThroughBar, TipForce, Cutting, Impact)


def factors(part: Any, load: Load, machine: Machine | None = None, material: Material | None = None) -> Factors:
    """Factors on unit cases, and the numbers behind them.

    Raises InputFault for a load that needs something of the machine that is not given, or that does not go with the part.
    """
    missing = [name for name in getattr(load, "machine_fields", ()) if getattr(machine, name, None) is None]
    if missing:
        text = f"is missing; load {load.name!r} ({load.kind}) needs it"
        raise InputFault([Fault(f"machine.{name}", MISSING, text, "give the machine") for name in missing])
    if type(load) in machine_factors.MAKERS:
        return _goes_with_rows(part, load, machine_factors.MAKERS[type(load)](part, load, machine, material))
    if type(load) in _ON_BAR:
        from . import bar_factors  # late: what a bar does to its slots fills many files

        return _goes_with_rows(part, load, bar_factors.MAKERS[type(load)](part, load, machine, material))
    if type(load) in ring_factors.MAKERS:
        return _goes_with_rows(part, load, ring_factors.MAKERS[type(load)](part, load))
    made = Factors(tuple(Term(case, factor) for case, factor in _plain(part, load).items()))
    return _goes_with_rows(part, load, made) if isinstance(part, Ring) else made


def _goes_with_rows(ring: Ring, load: Load, made: Factors) -> Factors:
    """Rows that turn on and on are solved as one row whose faces are joined turned: no load points across those.
    A motion that the ring holds takes no load.
    """
    across = any(case.startswith(("bending_", "transverse_")) for case in made.cases)
    carried = {"axial": "axial", "torsion": "torsion"}
    held = HELD[ring.held]
    on_held = [c for c in made.cases if carried.get(c) in held or (across and held[1:])]
    if on_held:
        text = f"needs a motion of the row that the ring holds (held = {ring.held!r})"
        raise InputFault(Fault("kind", load.kind, text, "held = 'nothing' leaves it free"))
    if across and ring.rows not in ("aligned", "alternate"):
        text = f"points across the drum, which {ring.rows} rows cannot carry: what one row meets differs from the next"
        raise InputFault(Fault("kind", load.kind, text, "aligned or alternate rows can"))
    return made


def _plain(part: Any, load: Load) -> dict[str, float]:
    """Loads of plates and of meshes, and the axial one: a stress each."""
    if isinstance(load, Tension):
        return {f"tension_{load.direction}": load.stress_MPa}
    if isinstance(load, Biaxial):
        return {"tension_x": load.stress_x_MPa, "tension_y": load.stress_y_MPa}
    if isinstance(load, Shear):
        return {"shear": load.shear_MPa}
    if isinstance(load, Axial):
        return {"axial": axial_stress_MPa(part, load)}
    if isinstance(load, FacePressure):
        return {pressure_name(load.face): load.pressure_MPa}
    if isinstance(load, FaceTraction):
        parts = {"x": load.x_MPa, "y": load.y_MPa, "z": load.z_MPa}
        return {traction_name(load.face, d): value for d, value in parts.items() if value}
    raise TypeError(f"no unit cases for {load!r}")


def axial_stress_MPa(ring: Ring, load: Axial) -> float:
    """Stress of an axial load on the plain shell's section."""
    if load.stress_MPa is not None:
        return load.stress_MPa
    assert load.force_kN is not None
    area = math.pi * (ring.outer_radius_mm**2 - ring.inner_radius_mm**2)
    return 1e3 * load.force_kN / area
