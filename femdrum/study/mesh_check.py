"""A mesh file is opened when the study is read: wrong names, cells, places and free motions are faults of the input."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from ..errors import MISSING, Fault, InputFault, MissingPart, SingularModel
from ..model.mesh_part import MeshPart
from .positions import Path
from .reading import Document

__all__ = ["mesh_faults"]


def mesh_faults(part: Any, loads: Sequence[Any], doc: Document) -> list[Fault]:
    """What is wrong with the mesh of a part or does not go with it, with the lines of the study file."""
    if not isinstance(part, MeshPart):
        return []
    # late: the other parts need no mesher to be read
    from ..fem.file_part import check_part
    from ..loads.factors import factors

    try:
        check_part(part, [name for load in loads for name in factors(part, load).cases])
    except MissingPart:
        return []  # the solution will say so
    except SingularModel as error:
        return [Fault("support", MISSING, str(error), line=doc.line(("support",)))]
    except InputFault as error:
        return [_placed(fault, loads, doc) for fault in error.faults]
    return []


def _placed(fault: Fault, loads: Sequence[Any], doc: Document) -> Fault:
    """The fault with its full key and its line. A load's field is named without its number."""
    field = fault.field
    if field.startswith("load."):
        number = next((i for i, load in enumerate(loads, 1) if load.face == fault.value), 1)
        field = field.replace("load.", f"load[{number}].", 1)
    elif "[" not in field:
        field = f"part.{field}"
    path: Path = tuple(
        int(piece[1:-1]) - 1 if piece.startswith("[") else piece for piece in re.findall(r"\[\d+\]|[^.\[\]]+", field)
    )
    while path and doc.line(path) is None:
        path = path[:-1]
    return replace(fault, field=field, line=doc.line(path))
