"""Bending waves of a thin ring whose stiffness and mass change around it, by elements that are exact in kind.

Thin ring without stretch: radial displacement w and tangential v with v' = -w, change of curvature (w'' + w) / R^2. So the
energy holds v''' and v', and elements of fifth order in v, with v, v' and v'' at their ends, are admissible: frequencies
come from above and fall with the sixth power of the element's size. Steps of stiffness must lie at element ends.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

__all__ = ["RingWave", "ring_frequencies_rad_s", "thin_ring_rad_s"]

Array = NDArray[np.float64]
RingWave = Callable[[Array], Array]
POINTS = 8
SHORTEST = 0.05


def thin_ring_rad_s(waves: int, *, radius_mm: float, bending_Nmm2: float, mass_t_per_mm: float) -> float:
    """Closed form of the even ring, rad/s: n (n^2 - 1) / sqrt(n^2 + 1) sqrt(E I / (m R^4)). In plane, no stretch."""
    n = waves
    shape = n * (n**2 - 1) / math.sqrt(n**2 + 1)
    return shape * math.sqrt(bending_Nmm2 / (mass_t_per_mm * radius_mm**4))


def _hermite() -> Array:
    """Coefficients [6, 6] of the fifth-order shapes on [0, 1]: value, slope, curvature at 0, then at 1; rows are shapes."""
    powers = np.arange(6)
    rows = []
    for x in (0.0, 1.0):
        rows.append(x**powers)
        rows.append(np.where(powers >= 1, powers * x ** np.maximum(powers - 1, 0), 0.0))
        rows.append(np.where(powers >= 2, powers * (powers - 1) * x ** np.maximum(powers - 2, 0), 0.0))
    return np.asarray(np.linalg.inv(np.array(rows)).T)


def ring_frequencies_rad_s(
    *,
    radius_mm: float,
    bending_Nmm2: RingWave,
    mass_t_per_mm: RingWave,
    breaks_rad: Array,
    point_masses: tuple[tuple[float, float], ...] = (),
    longest_rad: float = math.pi / 24,
    modes: int = 8,
) -> tuple[Array, Array]:
    """Natural frequencies of a free ring, rad/s, rising, and the share of each number of waves in the radial motion.

    bending_Nmm2(angle) and mass_t_per_mm(angle), smooth between breaks_rad. point_masses: (angle, mass in t). Rigid motions
    are left out. shares [m, k]: of k = 0, 1, 2, ... waves, sum 1. Breaks nearer than SHORTEST to each other share one end of
    an element, for shorter elements lose digits; the integrals still part there.
    """
    breaks = np.unique(np.round(np.mod(np.asarray(breaks_rad, dtype=float), 2 * math.pi), 9))
    nodes = _nodes(breaks, longest_rad)
    count = len(nodes)
    ends = np.append(nodes[1:], nodes[0] + 2 * math.pi)
    shapes = _hermite()
    x, weights = np.polynomial.legendre.leggauss(POINTS)
    x, weights = 0.5 * (x + 1), 0.5 * weights
    stiff, mass = np.zeros((3 * count, 3 * count)), np.zeros((3 * count, 3 * count))

    def rows(i: int) -> list[int]:
        j = (i + 1) % count
        return [3 * i, 3 * i + 1, 3 * i + 2, 3 * j, 3 * j + 1, 3 * j + 2]

    every = np.concatenate([breaks, breaks + 2 * math.pi])
    for i in range(count):
        low, high = float(nodes[i]), float(ends[i])
        stops = np.array([low, *every[(every > low + 1e-9) & (every < high - 1e-9)], high])
        angle = np.concatenate([a + (b - a) * x for a, b in itertools.pairwise(stops)])
        step = radius_mm * np.concatenate([(b - a) * weights for a, b in itertools.pairwise(stops)])
        v, dv, dddv = (_derived(shapes, k, (angle - low) / (high - low), high - low) for k in (0, 1, 3))
        curvature = -(dddv + dv) / radius_mm**2
        at = np.ix_(rows(i), rows(i))
        stiff[at] += np.einsum("q,iq,jq->ij", step * bending_Nmm2(angle), curvature, curvature)
        # around: v; radial: w = -v'
        heavy = step * mass_t_per_mm(angle)
        mass[at] += np.einsum("q,iq,jq->ij", heavy, v, v) + np.einsum("q,iq,jq->ij", heavy, dv, dv)
    for place, amount in point_masses:
        turned = place % (2 * math.pi)
        i = int(np.searchsorted(nodes, turned, side="right")) - 1
        turned += 2 * math.pi if i < 0 else 0.0
        low, high = float(nodes[i]), float(ends[i])
        v, dv = (_derived(shapes, k, np.array([(turned - low) / (high - low)]), high - low)[:, 0] for k in (0, 1))
        mass[np.ix_(rows(i % count), rows(i % count))] += amount * (np.outer(v, v) + np.outer(dv, dv))
    return _modes(stiff, mass, nodes, modes)


def _derived(shapes: Array, order: int, x: Array, length: float) -> Array:
    """Derivatives by the angle of the six shapes at places x in [0, 1] of an element [6, points]."""
    powers = np.arange(6)
    factor = np.ones(6)
    for k in range(order):
        factor = factor * (powers - k)
    value = shapes @ (factor[:, None] * x[None, :] ** np.maximum(powers - order, 0)[:, None])
    # values at the ends are v, v', v'' by the angle
    scale = np.array([1.0, length, length**2, 1.0, length, length**2]) / length**order
    return np.asarray(scale[:, None] * value)


def _nodes(breaks: Array, longest: float) -> Array:
    """Ends of elements: breaks, those too near to each other taken together, and even steps between them."""
    marks: list[float] = []
    for place in sorted({0.0} if not len(breaks) else set(breaks.tolist())):
        if not marks or place - marks[-1] >= SHORTEST:
            marks.append(place)
    if len(marks) > 1 and marks[0] + 2 * math.pi - marks[-1] < SHORTEST:
        marks.pop()
    parts = []
    for low, high in itertools.pairwise([*marks, marks[0] + 2 * math.pi]):
        n = max(1, math.ceil((high - low) / longest - 1e-9))
        parts.append(low + (high - low) * np.arange(n) / n)
    return np.concatenate(parts)


def _modes(stiff: Array, mass: Array, nodes: Array, modes: int) -> tuple[Array, Array]:
    from scipy.linalg import eigh

    values, vectors = eigh(stiff, mass, subset_by_index=[0, min(modes + 3, len(stiff)) - 1])
    frequency = np.sqrt(np.maximum(values[3:], 0.0))  # three rigid motions first
    radial = -vectors[1::3, 3:]
    # radial motion on even steps around: between nodes the straight line is good enough to count waves
    around = 2 * math.pi * np.arange(720) / 720
    even = np.stack([np.interp(around, nodes, column, period=2 * math.pi) for column in radial.T])
    strength = np.abs(np.fft.rfft(even, axis=1)[:, :64]) ** 2
    return np.asarray(frequency), np.asarray(strength / strength.sum(axis=1, keepdims=True))
