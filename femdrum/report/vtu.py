"""Reading a stored field: nodes, plain cells and the scalars of each load."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

__all__ = ["Field", "read_field"]


@dataclass(frozen=True)
class Field:
    """nodes [n, 3]; cells [c, 4 or 8] corner numbers; data: array name -> values at the nodes."""

    nodes: NDArray[np.float64]
    cells: NDArray[np.intp]
    data: dict[str, NDArray[np.float64]]


def read_field(path: Path) -> Field:
    """The field that a solution wrote. Raises OSError where it cannot be read."""
    import meshio

    try:
        mesh = meshio.read(path, file_format="vtu")
    except (Exception, SystemExit) as error:  # the reader leaves by SystemExit where it does not understand a file
        raise OSError(f"{path.name} cannot be read: {error or type(error).__name__}") from error
    block = mesh.cells[0]
    return Field(np.asarray(mesh.points, float), np.asarray(block.data, np.intp), dict(mesh.point_data))
