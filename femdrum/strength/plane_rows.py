"""Planes of the half sphere as cells that divide, and the rows that turn six stresses into the components on a plane.

Stresses stand in the order xx, yy, zz, xy, yz, zx. A cell is a band of latitude between two longitudes; its four children
halve both. Cells of level 0 are at most 10 degrees wide, of level 1 at most 5, of level 2 at most 2.5.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "LEVELS",
    "frame",
    "local_rows",
    "normal_row",
    "plane_rows",
    "planes",
    "reach_rad",
    "rows_of",
    "shear_row",
    "tested_rows",
]

Array = NDArray[np.float64]

STEP_RAD = math.radians(10.0)
LEVELS = 3
TESTED = 40


def frame(normal: Array) -> tuple[Array, Array]:
    """Two directions in the plane of each unit normal [..., 3], square to each other."""
    x, y, z = normal[..., 0], normal[..., 1], normal[..., 2]
    sign = np.where(z < 0.0, -1.0, 1.0)
    a = -1.0 / (sign + z)
    b = x * y * a
    return (
        np.stack([1.0 + sign * x * x * a, sign * b, -sign * x], axis=-1),
        np.stack([b, sign + y * y * a, -y], axis=-1),
    )


def normal_row(n: Array) -> Array:
    """[..., 6]: times the six stresses gives the normal stress on the plane of the unit normal n [..., 3]."""
    x, y, z = n[..., 0], n[..., 1], n[..., 2]
    return np.stack([x * x, y * y, z * z, 2 * x * y, 2 * y * z, 2 * z * x], axis=-1)


def shear_row(n: Array, e: Array) -> Array:
    """[..., 6]: times the six stresses gives the shear stress on the plane of n along the direction e in it."""
    x, y, z = n[..., 0], n[..., 1], n[..., 2]
    a, b, c = e[..., 0], e[..., 1], e[..., 2]
    return np.stack([x * a, y * b, z * c, x * b + y * a, y * c + z * b, z * a + x * c], axis=-1)


def plane_rows(n: Array) -> Array:
    """[..., 3, 6]: shear along both directions of `frame`, and normal stress."""
    first, second = frame(n)
    return np.stack([shear_row(n, first), shear_row(n, second), normal_row(n)], axis=-2)


def local_rows(n: Array) -> Array:
    """[..., 6, 6]: times the six stresses gives them in the plane's own frame: 11, 22, 12, 1n, 2n, nn."""
    first, second = frame(n)
    return np.stack(
        [
            normal_row(first), normal_row(second), shear_row(first, second),
            shear_row(n, first), shear_row(n, second), normal_row(n),
        ],
        axis=-2,
    )  # fmt: skip


@cache
def _cells(level: int) -> Array:
    """[cell, 4]: latitude and longitude of the middle, height and width, rad. Children of cell k: 4 k to 4 k + 3."""
    if level == 0:
        bands = round(0.5 * math.pi / STEP_RAD)
        rows = []
        for k in range(bands):
            middle = (k + 0.5) * STEP_RAD
            around = math.ceil(2 * math.pi * math.cos(middle) / STEP_RAD)
            wide = 2 * math.pi / around
            rows += [(middle, (j + 0.5) * wide, STEP_RAD, wide) for j in range(around)]
        return np.array(rows)
    above = _cells(level - 1)
    signs = np.array([(-1, -1), (-1, 1), (1, -1), (1, 1)])
    middles = above[:, None, :2] + 0.25 * signs * above[:, None, 2:]
    size = np.broadcast_to(0.5 * above[:, None, 2:], middles.shape)
    return np.concatenate([middles, size], axis=-1).reshape(-1, 4)


@cache
def planes(level: int) -> Array:
    """Unit normals [cell, 3] in the middle of the cells."""
    latitude, longitude = _cells(level)[:, 0], _cells(level)[:, 1]
    return np.stack(
        [np.cos(latitude) * np.cos(longitude), np.cos(latitude) * np.sin(longitude), np.sin(latitude)], axis=-1
    )


@cache
def rows_of(level: int) -> Array:
    """`plane_rows` of all cells, [cell, 3, 6]."""
    return plane_rows(planes(level))


@cache
def reach_rad(level: int) -> float:
    """No plane of a cell is farther than this from its middle."""
    _, _, high, _ = _cells(level).T
    latitude = _cells(level)[:, 0]
    wide = _cells(level)[:, 3] * np.cos(np.maximum(np.abs(latitude) - 0.5 * high, 0.0))
    return float(0.5 * np.hypot(high, wide).max())


@cache
def tested_rows() -> Array:
    """[row, 6]: directions of stress space in which extreme steps are sought: on planes far apart, normal and three shears."""
    turn = math.pi * (3.0 - math.sqrt(5.0))
    k = np.arange(TESTED)
    z = (k + 0.5) / TESTED
    n = np.stack([np.sqrt(1 - z * z) * np.cos(turn * k), np.sqrt(1 - z * z) * np.sin(turn * k), z], axis=-1)
    first, second = frame(n)
    angles = [j * math.pi / 3 for j in range(3)]
    shears = [shear_row(n, math.cos(a) * first + math.sin(a) * second) for a in angles]
    return np.concatenate([normal_row(n), *shears])
