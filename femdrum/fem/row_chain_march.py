"""A chain of pieces solved exactly, one section after the other: block elimination there, substitution back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import SingularModel
from .memory import require

__all__ = ["Joined", "Link", "joined", "march"]

Array = NDArray[np.float64]

FREE = "the chain of rows has no unique solution: a rigid motion is left free"


@dataclass(frozen=True)
class Link:
    """One piece between two sections: stiffness [near + far, near + far], the first `near` of them on its near section,
    and load [near + far, column].
    """

    near: int
    stiffness: Array
    load: Array

    @property
    def blocks(self) -> tuple[Array, Array, Array]:
        """Near-near, near-far and far-far."""
        k, n = self.stiffness, self.near
        return k[:n, :n], k[:n, n:], k[n:, n:]


@dataclass(frozen=True)
class Joined:
    """Two links in a row as one, the section between them taken out: factor and reach [middle, near + far] give that
    section back.
    """

    stiffness: Array
    factor: Array
    reach: Array
    near: int

    def link(self, one: Link, other: Link) -> Link:
        """The two with their own loads, as one link."""
        load, middle = self._loads(one, other)
        return Link(self.near, self.stiffness, load - self.reach.T @ middle)

    def middle(self, one: Link, other: Link, near: Array, far: Array) -> Array:
        """Displacements of the section between them, from those of the outer two."""
        from scipy.linalg import solve_triangular

        own = self._loads(one, other)[1]
        return np.asarray(
            solve_triangular(self.factor, own - self.reach @ np.concatenate([near, far]), lower=True, trans="T")
        )

    def _loads(self, one: Link, other: Link) -> tuple[Array, Array]:
        from scipy.linalg import solve_triangular

        outer = np.concatenate([one.load[: one.near], other.load[other.near :]])
        between = one.load[one.near :] + other.load[: other.near]
        return outer, np.asarray(solve_triangular(self.factor, between, lower=True))


def joined(one: Link, other: Link) -> Joined:
    """Join two links at the section between them. Raises SingularModel where that section could still move."""
    from scipy.linalg import cholesky, solve_triangular

    near, to_middle, first = one.blocks
    second, from_middle, far = other.blocks
    try:
        factor = cholesky(first + second, lower=True)
    except np.linalg.LinAlgError as error:
        raise SingularModel(FREE) from error
    reach = solve_triangular(factor, np.concatenate([to_middle.T, from_middle], 1), lower=True)
    stiffness = -reach.T @ reach
    stiffness[: one.near, : one.near] += near
    stiffness[one.near :, one.near :] += far
    return Joined(stiffness, factor, reach, one.near)


def march(links: Sequence[Link]) -> list[Array]:
    """Displacements [dof, column] of all sections, one more than there are links, whose sections meet in order.

    Raises SingularModel where a motion is left free, OverBudget where the chain does not fit into memory.
    """
    from scipy.linalg import cholesky, solve_triangular

    sizes = [link.near for link in links]
    held = sum(8.0 * n * (n + link.stiffness.shape[0]) for n, link in zip(sizes, links, strict=True))
    require(sum(sizes), held, "the chain of rows")
    diagonal, right = links[0].blocks[0], links[0].load[: links[0].near]
    kept: list[tuple[Array, Array, Array]] = []
    x = np.zeros((0, right.shape[1]))
    try:
        for i, link in enumerate(links):
            n = link.near
            _, between, far = link.blocks
            factor, reach, own = diagonal, np.zeros(between.shape), np.zeros((n, right.shape[1]))
            if n:
                factor = cholesky(diagonal, lower=True)
                reach = solve_triangular(factor, between, lower=True) if between.size else reach
                own = solve_triangular(factor, right, lower=True)
            kept.append((factor, reach, own))
            diagonal, right = far - reach.T @ reach, link.load[n:] - reach.T @ own
            if i + 1 < len(links):
                diagonal = diagonal + links[i + 1].blocks[0]
                right = right + links[i + 1].load[: links[i + 1].near]
        if len(diagonal):
            factor = cholesky(diagonal, lower=True)
            x = solve_triangular(factor, solve_triangular(factor, right, lower=True), lower=True, trans="T")
    except np.linalg.LinAlgError as error:
        raise SingularModel(FREE) from error
    out = [x]
    for factor, reach, own in reversed(kept):
        if len(factor):
            x = solve_triangular(factor, own - reach @ x, lower=True, trans="T")
        else:
            x = np.zeros((0, right.shape[1]))
        out.append(x)
    return out[::-1]
