"""Two levels for a system that is assembled: patches of neighbouring cells, functions of first order as coarse space."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .corner_space import Corners, prolongation
from .iterative import Patch, TwoLevels, two_levels
from .supports import Supports

__all__ = ["cell_levels"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# unknowns of a patch, about: with 3000 stretched cells of order 4 took twice the iterations, with 12000 no fewer
PATCH_UNKNOWNS = 6_000


def cell_levels(
    lower: Any, numbers: Index, supports: Supports, corners: Callable[[], Corners], cells: Sequence[Index]
) -> TwoLevels:
    """From the lower triangle (csc), the unknowns' numbers [n, dim], and cells [e, outer nodes] in batches."""
    from scipy.sparse import csr_array

    unknowns = lower.shape[0]
    diagonal = lower.diagonal()[:, None]

    def apply(x: Array) -> Array:
        return np.asarray(lower @ x + lower.T @ x - diagonal * x)

    space = corners()
    coarse, _ = prolongation([(space, supports.master, supports.sign)], numbers, unknowns)
    action = lower @ coarse + lower.T @ coarse - (coarse * diagonal).tocsr()
    patches = []
    for part in _groups(space.place, cells, max(1, round(unknowns / PATCH_UNKNOWNS))):
        own = numbers[supports.master[part]].ravel()
        at = np.unique(own[own >= 0])
        if at.size:
            patches.append(Patch(lower[:, at][at].tocsc(), at[None], np.ones((1, at.size))))
    return two_levels(apply, float(abs(lower).max()), coarse, csr_array(action), patches)


def _groups(place: Array, cells: Sequence[Index], count: int) -> list[Index]:
    """Nodes of `count` groups of cells, halved again and again across their longest extent."""
    centre = np.concatenate([place[part].mean(1) for part in cells])
    starts = np.cumsum([0, *(len(part) for part in cells)])
    out = []
    todo = [(np.arange(len(centre)), count)]
    while todo:
        own, pieces = todo.pop()
        if pieces <= 1 or own.size == 1:
            batch = np.searchsorted(starts, own, side="right") - 1
            nodes = [cells[b][own[batch == b] - starts[b]].ravel() for b in np.unique(batch)]
            out.append(np.unique(np.concatenate(nodes)))
            continue
        axis = int(np.ptp(centre[own], axis=0).argmax())
        first = pieces // 2
        order = own[np.argsort(centre[own, axis], kind="stable")]
        cut = max(1, own.size * first // pieces)
        todo += [(order[:cut], first), (order[cut:], pieces - first)]
    return out
