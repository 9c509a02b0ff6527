"""The one place where a sparse symmetric system is factored and solved.

First choice is rslab (MIT, young: pinned, every residual checked); SuperLU of scipy is the fallback.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SingularModel

__all__ = ["Solved", "solve_symmetric"]

Array = NDArray[np.float64]

# relative residual above which a solution is not accepted
RESIDUAL = 1e-8


@dataclass(frozen=True)
class Solved:
    """x [n, cases]; which solver gave it; the largest relative residual."""

    x: Array
    solver: str
    residual: float


def solve_symmetric(lower: Any, rhs: Array) -> Solved:
    """Solve A x = rhs from the lower triangle of A (scipy csc) for all columns of rhs [n, cases].

    Raises SingularModel where a rigid motion is left free.
    """
    scale = np.maximum(np.abs(rhs).max(0), 1e-300)
    b = rhs / scale  # so that the residual means the same for every case
    for attempt in (_rslab, _superlu):
        try:
            x, name = attempt(lower, b)
        except (RuntimeError, ImportError):
            continue
        residual = _residual(lower, x, b)
        if residual > RESIDUAL:
            continue
        return Solved(x * scale, name, residual)
    raise SingularModel("the equations have no unique solution: a rigid motion is left free, or the mesh is degenerate")


def _rslab(lower: Any, b: Array) -> tuple[Array, str]:
    import rslab

    factor = rslab.ldlt(lower)
    return np.asarray(factor.solve_many(np.ascontiguousarray(b))), "rslab LDL^T"


def _superlu(lower: Any, b: Array) -> tuple[Array, str]:
    from scipy.sparse import tril
    from scipy.sparse.linalg import splu

    full = (lower + tril(lower, -1).T).tocsc()
    factor = splu(full, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    return np.asarray(factor.solve(b)), "SuperLU, symmetric mode"


def _residual(lower: Any, x: Array, b: Array) -> float:
    from scipy.sparse import tril

    if not np.isfinite(x).all():
        return float("inf")
    r = lower @ x + tril(lower, -1).T @ x - b
    # backward error: a stiff row may carry a large cancelled sum
    size = abs(lower).max() * np.abs(x).max(0) + np.maximum(np.abs(b).max(0), 1e-300)
    return float((np.abs(r).max(0) / size).max())
