"""Strain on a slot's wall, for what must be alike on different models of a drum."""

from __future__ import annotations

import numpy as np

from femdrum.fem.recovery import surface_strain
from femdrum.fem.ring_whole import RingWhole
from femdrum.fem.sampling import even_places


def wall_strain(whole: RingWhole, j: int, h: int) -> np.ndarray:
    """In-surface strain on the wall [s, d, case, 3] beside copy (j, h), which rigid motions leave alone."""
    wall, mesh = whole.mesh.edge.bands[1], whole.mesh
    u = whole.quarter.in_space(whole.displacement(j, h))
    along, across = mesh.band_orders(1)
    at = even_places((wall.shape[0] - 1) // along, 4), even_places((wall.shape[1] - 1) // across, 4)
    return surface_strain(mesh.nodes[wall], u[wall], (along, across), at)
