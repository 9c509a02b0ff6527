"""Supports: mirror planes, nodes tied to their mirrored partners, and macro motions of a whole face.

Each node's displacement is written in its own frame: u = frame @ (sign * u_master), some components fixed.
A macro motion moves a face as a whole by one unknown whose resultant force is given; it is added to the
field as `motion`, so that a face "stays plane" with any resultant.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["Supports", "cylindrical"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass
class Supports:
    """For n nodes in dim dimensions. `motions` [m] of arrays [n, dim] in the nodes' frames."""

    nodes: int
    dim: int
    fixed: NDArray[np.bool_] = field(init=False)
    master: Index = field(init=False)
    sign: Array = field(init=False)
    frame: Array | None = None
    motions: list[Array] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.fixed = np.zeros((self.nodes, self.dim), dtype=bool)
        self.master = np.arange(self.nodes)
        self.sign = np.ones((self.nodes, self.dim))

    def fix(self, nodes: Index, component: int) -> None:
        """Hold one component, in the nodes' frames."""
        self.fixed[nodes, component] = True

    def turn(self, nodes: Index, frame: Array) -> None:
        """Give nodes their own frame [dim, dim] or [nodes, dim, dim]; columns are its axes."""
        if self.frame is None:
            self.frame = np.broadcast_to(np.eye(self.dim), (self.nodes, self.dim, self.dim)).copy()
        self.frame[nodes] = frame

    def tie(self, nodes: Index, masters: Index, sign: Array) -> None:
        """Nodes move as their masters, component by component times `sign`."""
        self.master[nodes] = masters
        self.sign[nodes] = sign

    def move(self, nodes: Index, component: int) -> None:
        """Let a face move as a whole along one component (one more unknown)."""
        motion = np.zeros((self.nodes, self.dim))
        motion[nodes, component] = 1.0
        self.motions.append(motion)

    def to_space(self, u: Array) -> Array:
        """Displacements [n, dim, ...] from the nodes' frames to space."""
        if self.frame is None:
            return u
        return np.asarray(np.einsum("nij,nj...->ni...", self.frame, u))

    def to_frames(self, f: Array) -> Array:
        """Forces [n, dim, ...] from space to the nodes' frames."""
        if self.frame is None:
            return f
        return np.asarray(np.einsum("nij,ni...->nj...", self.frame, f))


def cylindrical(angle: Array) -> Array:
    """Frames [n, 3, 3] whose columns are the radial, the circumferential and the axial direction at `angle` [n]."""
    c, s, zero, one = np.cos(angle), np.sin(angle), np.zeros_like(angle), np.ones_like(angle)
    return np.stack([np.stack([c, -s, zero], -1), np.stack([s, c, zero], -1), np.stack([zero, zero, one], -1)], -2)
