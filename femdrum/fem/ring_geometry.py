"""Where the nodes of a ring's glued copies stand on the drum, and which of them hold rigid motions."""

from __future__ import annotations

import numpy as np

from ..model.ring import Ring
from .copies import Copies
from .quarter import Quarter

__all__ = ["Geometry"]


class Geometry:
    """Places of the copies' nodes on the drum: x, y, radius, z [copy, n]; and nodes that hold rigid motions."""

    def __init__(self, ring: Ring, quarter: Quarter, copies: Copies) -> None:
        nodes = quarter.mesh.nodes
        own = np.arctan2(nodes[:, 1], nodes[:, 0])
        radius = np.hypot(nodes[:, 0], nodes[:, 1])
        angle = np.stack([c.angle(ring, own) for c in copies.items])
        self.radius = np.broadcast_to(radius, angle.shape)
        self.x, self.y = radius * np.cos(angle), radius * np.sin(angle)
        self._mesh, self._own, self._radius = quarter.mesh, own, radius

    def _nearest(self, face: str, height: float) -> int:
        nodes = self._mesh.face_nodes(face)
        top = self._mesh.nodes[:, 2].max()
        away = np.abs(self._mesh.nodes[nodes, 2] - height * top) / top - 1e-3 * self._radius[nodes] / self._radius.max()
        return int(nodes[np.argmin(away)])

    def corner(self, side: float) -> int:
        """Outer node at the far face, on x_min (side 0) or x_max (1)."""
        return self._nearest("x_max" if side else "x_min", 1.0)

    def ligament(self, side: float) -> int:
        """Outer node well inside the ligament, on x_min (side 0) or x_max (1)."""
        nodes = self._mesh.face_nodes("x_max" if side else "x_min")
        low = self._mesh.nodes[nodes, 2].min() / self._mesh.nodes[:, 2].max()
        return self._nearest("x_max" if side else "x_min", 0.5 * (low + 1.0))
