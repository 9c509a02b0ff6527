"""Rows along a helix: the far face of a row lies on the near face turned by any angle, so nodes meet between nodes.

Along the face the displacement of the near face is a polynomial in each cell; far nodes take its value there.
Radial, circumferential and axial components go over unchanged, because the turn is about the drum's axis.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .copies import Copies
from .mesh import Mesh
from .reference import lagrange
from .symmetry import Plan

__all__ = ["reduction", "screw_tie"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def screw_tie(plan: Plan, mesh: Mesh, copies: Copies) -> tuple[Index, Index, Array]:
    """Far nodes [k], the near nodes that each follows [k, order + 1], and their weights, as glued numbers."""
    ring = plan.ring
    assert ring.row_angle_deg is not None
    layers = mesh.edge.bands[1].shape[1]
    grid = mesh.faces["y_max"].reshape(-1, *(order + 1 for order in mesh.face_orders("y_max")))
    sides = np.unique(grid[:, :, 0] // layers, axis=0)  # [cell, order + 1], one layer stands for all
    own = np.arctan2(mesh.nodes[:, 1], mesh.nodes[:, 0])[sides * layers]
    turn = 2 * math.pi
    near_angle, near_nodes, far = [], [], {}
    for c, node in zip(copies.items, copies.node, strict=True):
        angle = np.asarray(c.angle(ring, own))
        if c.h == plan.halves[0]:
            near_angle.append(angle)
            near_nodes.append(node[sides[..., None] * layers + np.arange(layers)])
        else:
            for a, numbers in zip(angle.ravel(), node[sides.reshape(-1, 1) * layers + np.arange(layers)], strict=True):
                far[tuple(numbers)] = a
    angles, nodes = np.concatenate(near_angle), np.concatenate(near_nodes)  # [cell, p + 1], [cell, p + 1, layer]
    flip = angles[:, 0] > angles[:, -1]
    angles[flip], nodes[flip] = angles[flip][:, ::-1], nodes[flip][:, ::-1]
    slaves, masters, weights = [], [], []
    for numbers, a in far.items():
        place = (a - math.radians(ring.row_angle_deg)) % turn
        k, x = _locate(angles, place, mesh.order)
        weight = lagrange(mesh.order, np.array([x]))[0][0]
        slaves += list(numbers)
        masters += list(nodes[k].T)
        weights += [weight] * layers
    return np.array(slaves, dtype=np.intp), np.array(masters, dtype=np.intp), np.array(weights)


def _locate(angles: Array, place: float, order: int) -> tuple[int, float]:
    """The cell that holds an angle, and the place in it, -1 ... 1."""
    for shift in (0.0, 2 * math.pi, -2 * math.pi):
        at = place + shift
        inside = np.flatnonzero((angles[:, 0] - 1e-9 <= at) & (at <= angles[:, -1] + 1e-9))
        if inside.size:
            break
    k = int(inside[0])
    x = 2 * (at - angles[k, 0]) / (angles[k, -1] - angles[k, 0]) - 1
    for _ in range(8):
        value, slope = lagrange(order, np.array([x]))
        x -= float((value[0] @ angles[k] - at) / (slope[0] @ angles[k]))
    return k, min(max(x, -1.0), 1.0)


def reduction(numbers: Index, unknowns: int, tie: tuple[Index, Index, Array]) -> Any:
    """Sparse matrix [unknowns, fewer] that gives all unknowns from those that are no followers."""
    from scipy.sparse import csr_array

    slaves, masters, weights = tie
    follow = numbers[slaves].ravel()
    free = np.ones(unknowns, dtype=bool)
    free[follow[follow >= 0]] = False
    column = np.cumsum(free) - 1
    rows, columns, values = [np.flatnonzero(free)], [column[free]], [np.ones(int(free.sum()))]
    for component in range(3):
        row = np.repeat(numbers[slaves, component], masters.shape[1])
        to = numbers[masters, component].ravel()
        good = (row >= 0) & (to >= 0)
        rows.append(row[good])
        columns.append(column[to[good]])
        values.append(weights.ravel()[good])
    shape = (unknowns, int(free.sum()))
    return csr_array((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=shape)
