"""The order in which the parts of a mesh are put together: halves of halves, cut where few nodes lie.

Two parts that are joined let the nodes go that no other part has. A tree of such joins is an order of elimination from
the mesh's structure. Source: nested dissection, any text on sparse direct solution.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
from numpy.typing import NDArray

__all__ = ["FrontTree", "front_tree"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# a cut leaves at least this share of the parts on either side
LEAST_SHARE = 0.3


@dataclass(frozen=True)
class FrontTree:
    """order [part]: parts from left to right. first, last [join]: its parts are order[first:last]; children of each join,
    () for a single part; joins come after their children, the whole last.
    """

    order: Index
    first: Index
    last: Index
    children: tuple[tuple[int, ...], ...]


def front_tree(parts: Sequence[Index], nodes: int, keys: Array) -> FrontTree:
    """Halve the parts, each given by its nodes, again and again; keys [key, part]: ways to line them up (places)."""
    touched = _groups(parts, nodes)
    order: list[int] = []
    first, last, children = [], [], []

    def halve(some: Index) -> int:
        start = len(order)
        if some.size == 1:
            order.append(int(some[0]))
            own: tuple[int, ...] = ()
        else:
            own = tuple(halve(half) for half in _cut(some, *touched, keys))
        first.append(start)
        last.append(len(order))
        children.append(own)
        return len(first) - 1

    halve(np.arange(len(parts)))
    return FrontTree(np.array(order), np.array(first), np.array(last), tuple(children))


def _groups(parts: Sequence[Index], nodes: int) -> tuple[NDArray[np.bool_], Array]:
    """Nodes that the same parts share are one group: which part has it [part, group], and its size."""
    draw = Random(1)
    mark = np.zeros(nodes, dtype=np.uint64)
    for part in parts:
        mark[part] += np.uint64(draw.getrandbits(64))  # once, however often a part meets it; sums may run over
    values, group, size = np.unique(mark, return_inverse=True, return_counts=True)
    has = np.zeros((len(parts), values.size), dtype=bool)
    for i, part in enumerate(parts):
        has[i, group[part]] = True
    return has, size.astype(float)


def _cut(some: Index, has: NDArray[np.bool_], size: Array, keys: Array) -> tuple[Index, Index]:
    """The two halves, along that key and at that place where they share fewest nodes."""
    least = max(1, int(LEAST_SHARE * some.size))
    best: tuple[float, Index, int] | None = None
    near = np.flatnonzero(has[some].any(0))
    weight = size[near]
    for key in keys:
        line = some[np.argsort(key[some], kind="stable")]
        own = has[np.ix_(line, near)]
        left = np.logical_or.accumulate(own, 0)[:-1]
        right = np.logical_or.accumulate(own[::-1], 0)[::-1][1:]
        shared = (left & right) @ weight
        at = np.arange(least, some.size - least + 1)
        cost = shared[at - 1] + 1e-3 * weight.sum() * np.abs(at / some.size - 0.5)
        k = int(np.argmin(cost))
        if best is None or cost[k] < best[0]:
            best = float(cost[k]), line, int(at[k])
    assert best is not None
    return best[1][: best[2]], best[1][best[2] :]
