"""Plain blocks of tensor elements for tests: a distorted brick and a sector of an annulus without a slot."""

from __future__ import annotations

import math

import numpy as np

from femdrum.fem.mesh import EdgeGrid, Mesh
from femdrum.fem.reference import lobatto

NO_EDGE = EdgeGrid(np.zeros(1), (), (), (), ())


def spread(ends: np.ndarray, order: int) -> np.ndarray:
    """Node positions of cells between `ends`."""
    local = 0.5 * (lobatto(order) + 1)
    return np.append((ends[:-1, None] + np.diff(ends)[:, None] * local[:-1]).ravel(), ends[-1])


def block(order: int, cells: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray, dict[str, np.ndarray]]:
    """Unit block: nodes [n, dim], cells, and faces by the name of axis and end."""
    dim = len(cells)
    axes = [spread(np.linspace(0, 1, c + 1), order) for c in cells]
    shape = tuple(a.size for a in axes)
    number = np.arange(math.prod(shape)).reshape(shape)
    nodes = np.stack(np.meshgrid(*axes, indexing="ij"), -1).reshape(-1, dim)
    local = np.indices((order + 1,) * dim).reshape(dim, -1)
    starts = np.indices(cells).reshape(dim, -1) * order
    index = starts[:, :, None] + local[:, None, :]
    cell = number[tuple(index)]
    faces = {}
    for axis in range(dim):
        for end, name in ((0, "min"), (order, "max")):
            on = local[axis] == end
            edge = cell[starts[axis] == (0 if end == 0 else (cells[axis] - 1) * order)]
            faces[f"{axis}_{name}"] = edge[:, on]
    return nodes, cell, faces


def distorted(order: int, cells: tuple[int, ...], seed: int = 3) -> Mesh:
    """The unit block with its cell corners moved at random; nodes inside cells follow (bi- or trilinear)."""
    dim = len(cells)
    nodes, cell, faces = block(order, cells)
    rng = np.random.default_rng(seed)
    corners = np.stack(np.meshgrid(*[np.linspace(0, 1, c + 1) for c in cells], indexing="ij"), -1)
    inner = tuple(slice(1, -1) for _ in range(dim))
    moved = corners.copy()
    moved[inner] += rng.uniform(-0.25, 0.25, moved[inner].shape) / max(cells)
    out = np.empty_like(nodes)
    for n, x in enumerate(nodes):
        at = [min(int(x[k] * cells[k]), cells[k] - 1) for k in range(dim)]
        part = [x[k] * cells[k] - at[k] for k in range(dim)]
        out[n] = sum(
            math.prod(part[k] if bit[k] else 1 - part[k] for k in range(dim))
            * moved[tuple(at[k] + bit[k] for k in range(dim))]
            for bit in np.ndindex(*(2,) * dim)
        )
    return Mesh((order,) * dim, out, cell, faces, NO_EDGE)


def sector(order: int, inner: float, outer: float, angle: float, length: float, cells: tuple[int, int, int]) -> Mesh:
    """Sector of an annulus about the z axis; faces named as in a ring's quarter cell."""
    unit, cell, f = block(order, cells)
    radius, around = outer - unit[:, 2] * (outer - inner), unit[:, 0] * angle
    nodes = np.stack([radius * np.cos(around), radius * np.sin(around), unit[:, 1] * length], -1)
    names = {"x_min": "0_min", "x_max": "0_max", "y_min": "1_min", "y_max": "1_max", "outer": "2_min", "bore": "2_max"}
    return Mesh((order,) * 3, nodes, cell, {name: f[key] for name, key in names.items()}, NO_EDGE)
