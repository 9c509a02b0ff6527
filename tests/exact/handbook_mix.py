"""Cutouts, surroundings and loads by chance, the same each time."""

from __future__ import annotations

import numpy as np

from femdrum.handbook.domains import EllipseDisc, FinitePlate, InfinitePlate, Row, Strip, StripRow
from femdrum.handbook.exact import PlaneCase
from femdrum.model.cutout import Circle, Cutout, Ellipse, Slot

__all__ = ["drawn"]


def drawn(seed: int) -> PlaneCase:
    """Slots with corner radii from 0.03 of half the short side to full, ellipses, circles; six kinds of surroundings."""
    rng = np.random.default_rng(seed)
    x, y = map(float, rng.uniform(10, 100, 2))
    r = min(x, y) / 2 * rng.choice([rng.uniform(0.03, 1), 1.0], p=[0.8, 0.2])
    cutout: Cutout = Slot(size_x_mm=x, size_y_mm=y, corner_radius_mm=float(r))
    if seed % 5 == 1:
        cutout = Ellipse(size_x_mm=x, size_y_mm=y)
    elif seed % 15 == 2:
        cutout = Circle(diameter_mm=x)
    x, y = 2 * cutout.half_x_mm, 2 * cutout.half_y_mm
    room_x, room_y = x * float(rng.uniform(1.1, 4)), y * float(rng.uniform(1.1, 4))
    domains = (
        InfinitePlate(), Strip(width_mm=room_y), Row(pitch_mm=room_x), StripRow(pitch_mm=room_x, width_mm=room_y),
        FinitePlate(length_mm=room_x, width_mm=room_y), EllipseDisc(size_x_mm=1.5 * room_x, size_y_mm=1.5 * room_y),
    )  # fmt: skip
    pull_x, pull_y, shear = map(float, rng.uniform(-1, 1, 3))
    alone = seed // 6 % 4  # one of three loads by itself, or all
    return PlaneCase(
        cutout=cutout,
        domain=domains[seed % 6],
        stress_x=pull_x if alone in (0, 3) else 0.0,
        stress_y=pull_y if alone in (1, 3) else 0.0,
        shear=shear if alone in (2, 3) else 0.0,
    )
