"""Exact weights of a crack's stress intensity: K = sqrt(a) sum_i w_i s(a xi_i), s the stress that the path had without crack.

A through crack from a straight edge, or from a circular notch (one, or two opposite), in a wide plate: its opening is a
row of edge dislocations whose stress leaves edge and notch free. With f the slope of the opening,

    1/pi int_0^1 f(t) [1/(t - x) + k(x, t)] dt = s(x),    K = lim sqrt(2 pi a (1 - t)) f(t),

k being the image in the free surface. With t = 1 - v^2, f = phi(v) / v, phi an even series of Legendre polynomials, the
singular part is known in closed form; the image is integrated on panels graded towards the mouth. K is the value of
phi at the tip, so the transposed system gives the weights once for all stresses.

The front of a quarter or half circle: by the exact weights of a circular crack inside a body whose stress is mirrored.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

__all__ = ["LONGEST", "circle_rule", "edge_rule", "half_plane_opening", "notch_weights"]

Array = NDArray[np.float64]
Rule = tuple[Array, Array]

TERMS = 32  # K of a power of x to 2e-8 (half plane)
PANELS, POINTS = 34, 16  # graded panels towards the mouth, Gauss points on each
LONGEST = 50.0  # crack over notch radius up to which notch weights are tabulated
STATIONS = 36  # of that table, Chebyshev points in q = rho / (1 + rho)


def half_plane_image(x: Array, t: Array) -> Array:
    """Image in a straight free edge of a dislocation at depth t, its stress at depth x across the crack."""
    s = t + x
    return np.asarray(-1 / s + 6 * x / s**2 - 4 * x**2 / s**3)


def _hole_image(z: Array, t: Array, u: Array) -> Array:
    """The same in a hole of radius 1, z and t from its centre, u = 1 - t z, the hole without net opening.

    By complex potentials and reflection in the circle.
    """
    phi = t / u + 1 / z + t / u**2 - 1 / (t * u**2)
    slope = t**2 / u**2 - 1 / z**2 + 2 * t**2 / u**3 - 2 / u**3
    psi = 1 / z + t / u - 1 / (t * z**2) - slope / z + phi / z**2
    return np.asarray(-0.5 * (2 * phi + z * slope + psi))


def notch_image(x: Array, t: Array, cracks: int) -> Array:
    """Image in a hole of radius 1, x and t from its edge."""
    z, p = 1 + x, 1 + t
    near = _hole_image(z, p, -(x + t + x * t))  # without cancellation at the mouth
    if cracks == 2:  # the opposite crack carries the mirrored dislocation
        return np.asarray(near - _hole_image(z, -p, 1 + z * p) + 1 / (z + p))
    # one crack: what opens at its mouth is closed by a dislocation in the hole
    return np.asarray(near + 1 / z + 1 / z**3)


def _gauss(n: int) -> Rule:
    points, weights = legendre.leggauss(n)
    return np.asarray(0.5 * (points + 1), dtype=np.float64), np.asarray(0.5 * weights, dtype=np.float64)


def _legendre_q(n: int, y: Array) -> Array:
    """Functions of the second kind, orders 0 to n, on -1 < y < 1."""
    q = [np.arctanh(y), y * np.arctanh(y) - 1]
    for k in range(1, n):
        q.append(((2 * k + 1) * y * q[k] - k * q[k - 1]) / (k + 1))
    return np.array(q[: n + 1])


@functools.cache
def _frame(n: int) -> tuple[Array, Array, Array, Array, Array]:
    """Collocation depths, singular part, depths and weights of the image's integral, even polynomials there."""
    y = np.sort(legendre.leggauss(2 * n)[0])[n:]
    singular = (2 * _legendre_q(2 * n, y)[: 2 * n : 2] / y).T
    g, w = _gauss(POINTS)
    rest = np.concatenate([0.5 ** np.arange(PANELS + 1), [0.0]])  # 1 - v at the panels' ends
    size = rest[:-1] - rest[1:]
    away = (rest[:-1, None] - size[:, None] * g).ravel()
    weights = (size[:, None] * w).ravel()
    even = legendre.legvander(1 - away, 2 * n - 2)[:, ::2]
    return 1 - y**2, singular, away * (2 - away), weights, even


def _solve(image: Callable[[Array, Array], Array], n: int = TERMS) -> Rule:
    x, singular, t, weights, even = _frame(n)
    matrix = (singular + 2 * (image(x[:, None], t[None, :]) * weights) @ even) / math.pi
    at_tip = legendre.legvander(np.zeros(1), 2 * n - 2)[0, ::2]
    return x, np.asarray(np.linalg.solve(matrix.T, at_tip) * math.sqrt(2 * math.pi), dtype=np.float64)


@functools.cache
def _half_plane() -> Rule:
    return _solve(half_plane_image)


def notch_weights(ratio: float, cracks: int) -> Rule:
    """Places over a and weights of a crack from a circular notch; ratio: crack over radius, solved here and now."""
    return _solve(lambda x, t: ratio * notch_image(ratio * x, ratio * t, cracks))


@functools.cache
def _notch_table(cracks: int) -> tuple[Array, Array]:
    """Weights [station, place] over q, from the half plane (q = 0) to LONGEST; as Chebyshev coefficients."""
    most = LONGEST / (1 + LONGEST)
    k = np.cos(math.pi * (np.arange(STATIONS) + 0.5) / STATIONS)
    q = 0.5 * most * (k + 1)
    table = np.array([notch_weights(v / (1 - v), cracks)[1] for v in q])
    return _frame(TERMS)[0], np.polynomial.chebyshev.chebfit(k, table, STATIONS - 1)


def edge_rule(depth_mm: Array, notch_radius_mm: float | Array | None = None, cracks: int = 1) -> tuple[Array, Array]:
    """Places over a [place] and weights [depth, place] of through cracks of many depths a.

    notch_radius_mm: None for a straight edge, or one for each depth. Depths must not exceed LONGEST radii.
    """
    if notch_radius_mm is None:
        x, w = _half_plane()
        return x, np.broadcast_to(w, (len(depth_mm), len(w)))
    x, series = _notch_table(cracks)
    ratio = np.asarray(depth_mm) / notch_radius_mm
    k = 2 * ratio / (1 + ratio) * (1 + LONGEST) / LONGEST - 1
    return x, np.asarray(np.polynomial.chebyshev.chebval(k, series).T)


@functools.cache
def _opening_series() -> Array:
    """Legendre coefficients of phi for uniform stress on a crack of depth 1."""
    x, singular, t, weights, even = _frame(TERMS)
    matrix = (singular + 2 * (half_plane_image(x[:, None], t[None, :]) * weights) @ even) / math.pi
    series = np.zeros(2 * TERMS - 1)
    series[::2] = np.linalg.solve(matrix, np.ones(TERMS))
    return series


def half_plane_opening(xi: Array) -> Array:
    """Weight function m sqrt(a) at x = xi a of an edge crack in a half plane, from the growth of its opening.

    With V = int_xi^1 f the opening under uniform stress: 2 (V + xi f) / K. A second way to the weights of `edge_rule`.
    """
    v = np.sqrt(1 - np.asarray(xi, dtype=float))
    series = _opening_series()
    slope = legendre.legval(v, series) / v
    opening = 2 * legendre.legval(v, legendre.legint(series, lbnd=0.0))
    k = math.sqrt(2 * math.pi) * legendre.legval(0.0, series)
    return np.asarray(2 * (opening + xi * slope) / k)


@functools.cache
def circle_rule(end: str, n: int = 48) -> Rule:
    """Places over a and weights, sum 1, of the stress along x on a circular front whose stress is mirrored in both axes.

    end "path": where the front meets the x axis; "side": where it meets the other axis, at x = 0. From K of a point force
    on a circular crack, integrated across x in closed form: sqrt(2 / (1 - x)) + sqrt(2 / (1 + x)) - 2, over 2, and
    1 / sqrt(x) - 1.
    """
    v, w = _gauss(n)
    if end == "path":
        x = 1 - v**2
        return np.asarray(x), v * w * (math.sqrt(2) / v + np.sqrt(2 / (1 + x)) - 2)
    return v**2, 2 * v * w * (1 / v - 1)
