"""Unit load cases, a file per family. Each gives the nodal forces of `factor = 1` on a mesh.

A new case is one small file with functions that return `CaseLoad`s (plates) or `RingCase`s, entered in its
`CASES`, or here where the name carries parameters after a colon.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ...model.material import Material
from ...model.plate import Plate, PlateRow
from ...model.ring import Ring
from ..mesh import Mesh
from . import flanks, plane, ring, section
from .case import CaseLoad, Piece, RingCase

__all__ = ["CaseLoad", "Piece", "RingCase", "meets_alike", "plate_cases", "ring_cases"]

NAMED: dict[str, Callable[..., RingCase]] = {**ring.CASES, **section.CASES}
WITH_PLACE: dict[str, Callable[..., RingCase]] = {"flank": flanks.flank, "clamp": flanks.clamp, "strut": flanks.strut}


def plate_cases(part: Plate | PlateRow, mesh: Mesh, material: Material, names: Sequence[str]) -> list[CaseLoad]:
    """The named unit cases on a mesh of the plate."""
    return [plane.CASES[name](part, mesh, material) for name in names]


def meets_alike(part: Ring, name: str) -> bool:
    """True for a unit case that loads every slot of a ring alike and as its own mirror image."""
    family, _, place = name.partition(":")
    if family == "strut" and part.slots_around == 2:
        return True
    return name in ring.CASES or (family in ("clamp", "strut") and place in ("", "all"))


def ring_cases(part: Ring, mesh: Mesh, material: Material, names: Sequence[str]) -> list[RingCase]:
    """The named unit cases on the ring's quarter cell."""
    out = []
    for name in names:
        family = name.partition(":")[0]
        if family in WITH_PLACE:
            out.append(WITH_PLACE[family](part, mesh, material, name))
        else:
            out.append(NAMED[name](part, mesh, material))
    return out
