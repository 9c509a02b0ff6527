"""Unit load cases, a file per family. Each gives the nodal forces of `factor = 1` on a mesh.

A new case is one small file with a function that returns `CaseLoad`s, registered in `cases_for`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ...model.material import Material
from ...model.plate import Plate, PlateRow
from ..mesh import Mesh
from . import plane, ring
from .case import CaseLoad

__all__ = ["CaseLoad", "case_loads"]


def case_loads(part: object, mesh: Mesh, material: Material, names: Sequence[str]) -> list[CaseLoad]:
    """The named unit cases on a mesh of the part."""
    makers: dict[str, Callable[..., CaseLoad]]
    makers = plane.CASES if isinstance(part, (Plate, PlateRow)) else ring.CASES
    return [makers[name](part, mesh, material) for name in names]
