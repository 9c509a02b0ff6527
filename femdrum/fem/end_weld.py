"""Lines of nodes about a fillet weld between two plates that stand square on each other.

In the weld's own places: x into the shell, y into the disc, the root at (0, 0). The surface comes along the shell (x = 0,
y < 0), goes over the shell's toe, the weld's face and the disc's toe, and leaves along the disc (y = 0, x < 0). Each
surface node has a ray: beside the weld it ends at a depth below the surface, on the weld on a line to the root.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .divide import graded
from .end_divide import counted
from .harmonic_section import spread

__all__ = ["WeldLines", "weld_lines"]

Array = NDArray[np.float64]

TAN = math.tan(math.pi / 8)


@dataclass(frozen=True)
class WeldLines:
    """bore: shell surface towards the toe. shell_face: from there over the toe to the middle of the weld's face.
    disc_face: from the middle over the disc's toe to the disc's surface. `..._ends`: where the rays end. disc_toe [1, 2]:
    where the disc's plain surface begins. disc_shares: nodes of disc_ends between its two ends, from the disc's end.
    """

    leg: float
    shell_depth: float
    bore: Array
    bore_ends: Array
    shell_face: Array
    shell_ends: Array
    disc_face: Array
    disc_ends: Array

    @property
    def disc_toe(self) -> Array:
        """Where the disc's plain surface begins."""
        return self.disc_face[-1:]

    @property
    def disc_shares(self) -> Array:
        """Nodes of the line from the disc to the root, as shares of its length."""
        line = self.disc_ends[::-1]
        away = np.linalg.norm(line - line[0], axis=1)
        return np.asarray(away / away[-1])


def weld_lines(
    *,
    leg: float,
    toe_radius: float,
    shell_depth: float,
    disc_depth: float,
    shell_length: float,
    most_cell: float,
    half_cells: int,
    toe_cells: int,
    first: float,
    growth: float,
    order: int,
) -> WeldLines:
    """The lines of one weld; shell_length: of plain shell from the root away from the disc."""
    back = leg + toe_radius * TAN
    away = graded(shell_length - back, min(first, shell_length - back), growth, most_cell)
    y = -back - spread(away, order)[::-1]
    y[0], y[-1] = -shell_length, -back
    bore = np.stack([np.zeros(y.size), y], -1)
    shell_face, shell_ends = _half(leg, toe_radius, shell_depth, half_cells, toe_cells, first, order)
    # the last ray leaves a sharp toe along its bisector: those before it lean by and by
    lean = (shell_ends[0, 1] + back) * (y + shell_length) / (shell_length - back)
    bore_ends = np.stack([np.full(y.size, shell_depth), y + lean], -1)
    bore_ends[-1] = shell_ends[0]
    disc_face, disc_ends = _half(leg, toe_radius, disc_depth, half_cells, toe_cells, first, order)
    disc_face, disc_ends = disc_face[::-1, ::-1].copy(), disc_ends[::-1, ::-1].copy()
    disc_face[0], disc_ends[0] = shell_face[-1], shell_ends[-1]
    return WeldLines(leg, shell_depth, bore, bore_ends, shell_face, shell_ends, disc_face, disc_ends)


def _half(
    leg: float, radius: float, depth: float, cells: int, toe_cells: int, first: float, order: int
) -> tuple[Array, Array]:
    """From the shell's toe to the middle of the face: surface nodes and the ends of their rays, the last in the root."""
    back = leg + radius * TAN
    root = np.zeros(2)
    face = leg / math.sqrt(2) - radius * TAN
    along = spread(counted(face, min(first, face / cells), cells), order)
    middle = np.array([-0.5 * leg, -0.5 * leg])
    flat = middle + (face - along)[:, None] * np.array([1.0, -1.0]) / math.sqrt(2)
    flat[-1] = middle
    if not radius:
        start = np.array([depth, -leg + depth * TAN])  # on the bisector of the sharp toe
        ends = start + (along / face)[:, None] * (root - start)
        flat[0] = (0.0, -leg)
        ends[-1] = root
        return flat, ends
    angle = spread(np.linspace(0.0, 0.25 * math.pi, toe_cells + 1), order)
    normal = np.stack([np.cos(angle), np.sin(angle)], -1)
    arc = np.array([-radius, -back]) + radius * normal
    arc[0] = (0.0, -back)
    surface = np.concatenate([arc, flat[1:]])
    normals = np.concatenate([normal, np.broadcast_to(normal[-1], (len(flat) - 1, 2))])
    start = np.array([depth, -back])
    line = root - start
    # surface + t normal = start + s line
    offset = start - surface
    s = (normals[:, 0] * offset[:, 1] - normals[:, 1] * offset[:, 0]) / (
        normals[:, 1] * line[0] - normals[:, 0] * line[1]
    )
    ends = start + s[:, None] * line
    ends[0], ends[-1] = start, root
    return surface, ends
