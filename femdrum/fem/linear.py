"""The one place where a sparse symmetric system is factored and solved.

Few large parts (columns of a drawn mesh) go to dense blocks along a tree; else the first choice is rslab (MIT, young: pinned, every residual
checked); SuperLU of scipy is the fallback. A system that
comes with two levels is solved by conjugate gradients where it is large, or where its factor would not fit.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import OverBudget, SingularModel
from .fronts import Fronts
from .memory import require

if TYPE_CHECKING:
    from .iterative import TwoLevels

__all__ = ["Factored", "Solved"]

Array = NDArray[np.float64]

# relative residual above which a solution is not accepted
RESIDUAL = 1e-8
# unknowns from which conjugate gradients come first: with some ten right-hand sides they are then no slower than the
# factorisation, and take a quarter of the memory or less
ITERATIVE_FROM = 250_000


@dataclass(frozen=True)
class Solved:
    """x [n, cases]; which solver gave it; the largest relative residual."""

    x: Array
    solver: str
    residual: float


@dataclass(frozen=True)
class _Ready:
    """A solver at hand: run(b) gives x and its own name; apply: A x, and the largest entry of A, to judge by."""

    run: Callable[[Array], tuple[Array, str]]
    apply: Callable[[Array], Array]
    largest: float


class Factored:
    """A factored once, from its lower triangle (scipy csc), to be solved for as many right-hand sides as wanted.

    lower may be a function that builds it, for systems that can do without; unknowns must then be given. dense: factors
    the same system from its parts, where these are few and large.
    """

    def __init__(
        self,
        lower: Any | Callable[[], Any],
        levels: Callable[[], TwoLevels] | None = None,
        unknowns: int | None = None,
        dense: Callable[[], Fronts] | None = None,
    ) -> None:
        self._lower, self._levels, self._dense = lower, levels, dense
        self.unknowns = int(self.lower.shape[0]) if unknowns is None else unknowns
        # by name: bound methods would close a circle, and factors live until somebody collects
        self._attempts = ["_rslab", "_superlu"] if dense is None else ["_by_parts", "_rslab", "_superlu"]
        if levels is not None:
            large = self.unknowns >= ITERATIVE_FROM
            self._attempts.insert(0 if large else len(self._attempts), "_iterative")
        self._ready: _Ready | None = None
        self._refused: OverBudget | None = None

    @property
    def lower(self) -> Any:
        """The lower triangle (scipy csc)."""
        if callable(self._lower):
            self._lower = self._lower()
        return self._lower

    def solve(self, rhs: Array) -> Solved:
        """All columns of rhs [n, cases]. Raises SingularModel where a rigid motion is left free, OverBudget where no
        way fits into the memory.
        """
        scale = np.maximum(np.abs(rhs).max(0, initial=0.0), 1e-300)
        b = np.ascontiguousarray(rhs / scale)  # so that the residual means the same for every case
        while True:
            if self._ready is None:
                self._next()
            assert self._ready is not None
            try:
                x, name = self._ready.run(b)
                residual = _residual(self._ready, x, b)
            except RuntimeError:
                residual = float("inf")
            if residual <= RESIDUAL:
                return Solved(x * scale, name, residual)
            self._ready = None

    def _next(self) -> None:
        while self._attempts:
            attempt = self._attempts.pop(0)
            try:
                self._ready = getattr(self, attempt)()
                return
            except OverBudget as refused:
                self._refused = refused
                if "_superlu" in self._attempts:  # it fills more
                    self._attempts.remove("_superlu")
            except (RuntimeError, ImportError):
                continue
        if self._refused is not None:
            raise self._refused
        raise SingularModel(
            "the equations have no unique solution: a rigid motion is left free, or the mesh is degenerate"
        )

    def _rslab(self) -> _Ready:
        import rslab

        symbolic = rslab.analyze(self.lower, path="ldlt", threads=_threads())
        require(self.unknowns, symbolic.memory_plan()["peak_bytes"], "the factor of a system")
        factor = symbolic.factor(self.lower.data)
        return self._direct("rslab LDL^T", factor.solve_many)

    def _by_parts(self) -> _Ready:
        assert self._dense is not None
        fronts = self._dense()
        return _Ready(lambda b: (fronts.solve(b), "Cholesky by parts (LAPACK)"), fronts.apply, fronts.largest)

    def _superlu(self) -> _Ready:
        from scipy.sparse import tril
        from scipy.sparse.linalg import splu

        full = (self.lower + tril(self.lower, -1).T).tocsc()
        factor = splu(full, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        return self._direct("SuperLU, symmetric mode", factor.solve)

    def _direct(self, name: str, solve: Callable[[Array], Any]) -> _Ready:
        lower = self.lower
        diagonal = lower.diagonal()[:, None]
        return _Ready(
            lambda b: (np.asarray(solve(b)), name),
            lambda x: np.asarray(lower @ x + lower.T @ x - diagonal * x),
            float(abs(lower).max()),
        )

    def _iterative(self) -> _Ready:
        assert self._levels is not None
        levels = self._levels()
        most = 0

        def run(b: Array) -> tuple[Array, str]:
            nonlocal most
            found = levels.solve(b)
            most = max(most, found.iterations)
            return found.x, f"conjugate gradients, two levels, {most} iterations; coarse: rslab LDL^T"

        return _Ready(run, levels.apply, levels.largest)


def _threads() -> int:
    """What the environment allows: workers beside each other are given one each (study/work.py)."""
    given = os.environ.get("RAYON_NUM_THREADS", "")
    if given.isdigit() and int(given) > 0:
        return int(given)
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _residual(ready: _Ready, x: Array, b: Array) -> float:
    if not np.isfinite(x).all():
        return float("inf")
    # backward error: a stiff row may carry a large cancelled sum
    size = ready.largest * np.abs(x).max(0) + np.maximum(np.abs(b).max(0), 1e-300)
    return float((np.abs(ready.apply(x) - b).max(0) / size).max())
