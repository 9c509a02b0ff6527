"""Distance from places to an outline: how near another edge comes decides how short panels must be."""

from __future__ import annotations

import numpy as np

from ..model.contour import Arc, Line, Piece
from .panels import Array, Complex, Gap, place, velocity

__all__ = ["distance_to"]


def distance_to(pieces: tuple[Piece, ...]) -> Gap:
    """Distance (mm) of places in the first quadrant to a quarter outline."""

    def distance(z: Complex) -> Array:
        return np.asarray(np.min([np.abs(z - _nearest(piece, z)) for piece in pieces], axis=0))

    return distance


def _nearest(piece: Piece, z: Complex) -> Complex:
    """Nearest place on a piece."""
    if isinstance(piece, Arc):
        quarter_turn = 0.5 * np.pi
        t = np.clip(np.angle(z - complex(*piece.centre)) / quarter_turn, 0.0, 1.0)
    elif isinstance(piece, Line):
        start, end = complex(*piece.start), complex(*piece.end)
        t = np.clip(((z - start) / (end - start)).real, 0.0, 1.0)
    else:
        samples = np.linspace(0.0, 1.0, 33)
        t = samples[np.argmin(np.abs(z[..., None] - place(piece, samples)), axis=-1)]
        for _ in range(6):  # Gauss-Newton: an edge that matters is near
            along = velocity(piece, t)
            t = np.clip(t + ((z - place(piece, t)) * np.conj(along)).real / np.abs(along) ** 2, 0.0, 1.0)
    return place(piece, np.asarray(t))
