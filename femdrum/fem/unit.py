"""unit_solution(): from a part and the names of unit cases to their stress on the slot's edge, with its error."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.accuracy import Accuracy
from ..model.material import Material
from ..model.mesh_part import MeshPart
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring
from .cell import Fineness
from .ladder import UnitSolution, climb, flight
from .level import plate_level
from .light_imports import load_lightly

__all__ = ["unit_solution"]

# Plane meshes cost next to nothing, so a peak may settle only from order 5 on, with two steps to judge by.
PLANE_LEAST = 3
PLANE_FLIGHTS = (
    flight(Fineness(cells_per_arc=3), (3, 4, 5, 6, 7, 8)),
    flight(Fineness(cells_per_arc=6), (5, 6, 7, 8)),
    flight(Fineness(cells_per_arc=12), (5, 6, 7, 8)),
)


def unit_solution(
    part: Plate | PlateRow | Ring | MeshPart,
    material: Material,
    names: Sequence[str],
    accuracy: Accuracy,
    states: NDArray[np.float64] | Callable[[Any], NDArray[np.float64]] | None = None,
    on_event: Callable[[str], None] | None = None,
) -> UnitSolution:
    """Solve the named unit cases on finer meshes until every state's peak has the band that was asked.

    states [state, case]: the combinations that will be asked for, or a function that gives them from the solution
    on a mesh; each unit case by itself where not given.
    """
    load_lightly()
    combos = np.eye(len(names)) if states is None else states
    if isinstance(part, MeshPart):
        from .file_ladder import mesh_solution

        assert not callable(combos)
        return mesh_solution(part, material, names, accuracy, np.atleast_2d(combos), on_event)
    if isinstance(part, Ring):
        return _ring_solution(part, material, names, accuracy, combos, on_event)
    return climb(
        lambda f: plate_level(part, material, names, f), PLANE_FLIGHTS, combos, accuracy, None, on_event, PLANE_LEAST
    )


def _ring_solution(
    ring: Ring,
    material: Material,
    names: Sequence[str],
    accuracy: Accuracy,
    states: Any,
    on_event: Callable[[str], None] | None,
) -> UnitSolution:
    from .ring_level import RING_FLIGHTS, ring_level, ring_unknowns, whole_level
    from .unit_cases import meets_alike

    if ring.rows != "helical" and ring.held == "nothing" and all(meets_alike(ring, name) for name in names):
        return climb(
            lambda f: ring_level(ring, material, names, f), RING_FLIGHTS, states, accuracy,
            lambda f: ring_unknowns(ring, f), on_event,
        )  # fmt: skip
    from .symmetry import plan_of

    plan = plan_of(ring)
    copies = len(plan.sectors) * len(plan.halves)
    return climb(
        lambda f: whole_level(plan, material, names, f), RING_FLIGHTS, states, accuracy,
        lambda f: copies * ring_unknowns(ring, f), on_event,
    )  # fmt: skip
