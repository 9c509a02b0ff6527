"""What a unit load case gives to the solver."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...edge import UnitCase

__all__ = ["CaseLoad"]


@dataclass(frozen=True)
class CaseLoad:
    """case: its name and unit. symmetric: about the cell's mirror planes (else antisymmetric).

    force [n, dim] in N. resultant: force that the macro motion of the cell's face carries on this
    (quarter) model, N. shown: stress in MPa that the case stands for, used to scale convergence.
    """

    case: UnitCase
    symmetric: bool
    force: NDArray[np.float64]
    resultant: float = 0.0
