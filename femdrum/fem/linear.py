"""The one place where a sparse symmetric system is factored and solved.

First choice is rslab (MIT, young: pinned, every residual checked); SuperLU of scipy is the fallback.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SingularModel

__all__ = ["Factored", "Solved", "solve_symmetric"]

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
    return Factored(lower).solve(rhs)


class Factored:
    """A factored once, from its lower triangle (scipy csc), to be solved for as many right-hand sides as wanted."""

    def __init__(self, lower: Any) -> None:
        self.lower = lower
        self._judge: tuple[Any, float] | None = None
        self._attempts = [_rslab, _superlu]
        self._ready: tuple[str, Callable[[Array], Array]] | None = None

    def solve(self, rhs: Array) -> Solved:
        """All columns of rhs [n, cases]. Raises SingularModel where a rigid motion is left free."""
        scale = np.maximum(np.abs(rhs).max(0, initial=0.0), 1e-300)
        b = np.ascontiguousarray(rhs / scale)  # so that the residual means the same for every case
        while True:
            if self._ready is None:
                self._next()
            assert self._ready is not None
            name, run = self._ready
            try:
                x = run(b)
                residual = self._residual(x, b)
            except RuntimeError:
                residual = float("inf")
            if residual <= RESIDUAL:
                return Solved(x * scale, name, residual)
            self._ready = None

    def _residual(self, x: Array, b: Array) -> float:
        from scipy.sparse import tril

        if not np.isfinite(x).all():
            return float("inf")
        if self._judge is None:  # kept, for many columns come one by one where modes are sought
            self._judge = tril(self.lower, -1).T.tocsr(), float(abs(self.lower).max())
        upper, largest = self._judge
        r = self.lower @ x + upper @ x - b
        # backward error: a stiff row may carry a large cancelled sum
        size = largest * np.abs(x).max(0) + np.maximum(np.abs(b).max(0), 1e-300)
        return float((np.abs(r).max(0) / size).max())

    def _next(self) -> None:
        while self._attempts:
            attempt = self._attempts.pop(0)
            try:
                self._ready = attempt(self.lower)
                return
            except (RuntimeError, ImportError):
                continue
        raise SingularModel(
            "the equations have no unique solution: a rigid motion is left free, or the mesh is degenerate"
        )


def _rslab(lower: Any) -> tuple[str, Callable[[Array], Array]]:
    import rslab

    factor = rslab.ldlt(lower)
    return "rslab LDL^T", lambda b: np.asarray(factor.solve_many(b))


def _superlu(lower: Any) -> tuple[str, Callable[[Array], Array]]:
    from scipy.sparse import tril
    from scipy.sparse.linalg import splu

    full = (lower + tril(lower, -1).T).tocsc()
    factor = splu(full, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    return "SuperLU, symmetric mode", lambda b: np.asarray(factor.solve(b))
