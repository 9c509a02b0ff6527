"""The bounded kernels of the plane problem, summed over the four mirror images of a quarter outline.

With complex potentials phi, psi (Kolosov, Muskhelishvili) a free edge asks phi + t conj(phi') + conj(psi) = const.
That psi is analytic in the plate gives an equation for phi on all edges; its slope along the edge, for
w = dphi/ds with the edges' tangents T0 at t0, is

    w(t0) + (1/pi) Int w a ds - (1/pi) Int conj(w) conj(Y) ds = right side,
    a = Im(T0 k),   Y = T0 Im(u) (k^2 + m^2) - k Im(T0),   u = t - t0,

with k = 1/u and m = 0 in the plate, k = m cot(m u) and m = pi / pitch for an endless row along x. In the plate
conj(Y) = -a u / conj(u). Edges run with the plate on their right. Both kernels stay bounded where t meets t0.

All arrays are stacks of cases: nodes [case, node], kernels [case, t0, t]. Everything is real: complex division and
the complex cotangent cost several times as much.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .panels import Array, Complex

__all__ = ["Folded", "folded"]

HIGHEST = 150.0  # of m y: beyond, a row is seen as an even sheet to the last digit, and sinh would overflow


@dataclass(frozen=True)
class Folded:
    """Kernels with their line elements, folded on the images [case, t0, t].

    direct: coefficient of w from the quarter itself and from the one turned by pi; mirrored: from the two mirrored ones,
    whose w is conjugated there; with `across` for the coefficients of conj(w), real and imaginary.
    """

    direct: Array
    mirrored: Array
    direct_across: tuple[Array, Array]
    mirrored_across: tuple[Array, Array]

    def matrix(self, sign: int) -> Array:
        """Real matrix [case, 2 node, 2 node] for (Re w, Im w) where phi(conj z) = sign conj(phi(z)), phi(-z) = -phi(z).

        The unit diagonal is included.
        """
        cases, n, _ = self.direct.shape
        out = np.empty((cases, 2 * n, 2 * n))
        (gr, gi), (hr, hi) = self.direct_across, self.mirrored_across
        one, two = (np.add, np.subtract) if sign > 0 else (np.subtract, np.add)
        even = one(self.direct, hr)
        odd = one(gr, self.mirrored)
        np.add(even, odd, out=out[:, :n, :n])
        np.subtract(even, odd, out=out[:, n:, n:])
        one(gi, hi, out=out[:, n:, :n])
        two(gi, hi, out=out[:, :n, n:])
        at = np.arange(2 * n)
        out[:, at, at] += 1.0
        return out


def folded(
    t: Complex, offset: Complex, junctions: list[slice], tangent: Complex, ds: Array, curvature: Array, m: Array | None
) -> Folded:
    """Kernels between all nodes of each case; m [case] or None in a plate that does not repeat.

    junctions: nodes around each junction, to which their `offset` is measured.
    """
    x, y = t.real, t.imag
    weight = (ds / np.pi)[:, None, :]
    tx, ty = tangent.real[:, :, None], tangent.imag[:, :, None]
    dx, dy = x[:, None, :] - x[:, :, None], y[:, None, :] - y[:, :, None]
    sx, sy = x[:, None, :] + x[:, :, None], y[:, None, :] + y[:, :, None]
    for close in junctions:  # neighbours may be closer than the rounding of their places
        away = offset[:, close]
        dx[:, close, close] = away.real[:, None, :] - away.real[:, :, None]
        dy[:, close, close] = away.imag[:, None, :] - away.imag[:, :, None]
    at = np.arange(t.shape[1])
    if m is None:
        pairs = _plate_pairs(tx, ty, (dx, sx), (dy, sy), weight)
    else:
        pairs = _row_pairs(tx, ty, (dx, sx), (dy, sy), weight, x, y, m)
    # images: 0 itself, 1 mirrored at the x axis, 2 turned by pi, 3 mirrored at the y axis
    (a0, br0, bi0), (a1, br1, bi1), (a2, br2, bi2), (a3, br3, bi3) = pairs
    own = -0.5 * curvature * ds / np.pi
    turned = own * tangent**2
    a0[:, at, at], br0[:, at, at], bi0[:, at, at] = own, turned.real, turned.imag
    for near, far in ((a0, a2), (br0, br2), (bi0, bi2), (a3, a1), (br3, br1), (bi3, bi1)):
        near -= far
    return Folded(a0, a3, (br0, bi0), (br3, bi3))


Kernel = tuple[Array, Array, Array]  # a, Re and Im of the coefficient of conj(w), with line elements


def _plate_pairs(
    tx: Array, ty: Array, ex: tuple[Array, Array], ey: tuple[Array, Array], weight: Array
) -> tuple[Kernel, Kernel, Kernel, Kernel]:
    square_x, square_y = tuple(e * e for e in ex), tuple(e * e for e in ey)
    # a is linear in u: its four products are shared by the images
    rise, run = tuple(ty * e for e in ex), tuple(tx * e for e in ey)
    cross = {(i, j): 2.0 * ex[i] * ey[j] for i in (0, 1) for j in (0, 1)}
    out: list[Kernel] = []
    for i, j, px, py in ((0, 0, 1, 1), (0, 1, 1, -1), (1, 1, -1, -1), (1, 0, -1, 1)):
        r = _distance(square_x[i], square_y[j], own=(i, j) == (0, 0))
        np.divide(1.0, r, out=r)
        a = rise[i] - run[j] if px == py else rise[i] + run[j]
        a *= r
        a *= weight if px > 0 else -weight
        r *= a
        real = square_x[i] - square_y[j]
        real *= r
        imaginary = cross[i, j]
        imaginary = imaginary * r if px == py else imaginary * -r
        out.append((a, real, imaginary))
    return out[0], out[1], out[2], out[3]


def _distance(square_x: Array, square_y: Array, *, own: bool) -> Array:
    """Squared distances, of a node from itself 1: its kernel is a limit, set elsewhere."""
    square = square_x + square_y
    if own:
        at = np.arange(square.shape[1])
        square[:, at, at] = 1.0
    return square


def _row_pairs(
    tx: Array, ty: Array, ex: tuple[Array, Array], ey: tuple[Array, Array], weight: Array, x: Array, y: Array, m: Array
) -> tuple[Kernel, Kernel, Kernel, Kernel]:
    per_case = m[:, None, None]
    low = np.clip(m[:, None] * y, -HIGHEST, HIGHEST)
    sine, cosine = np.sin(m[:, None] * x), np.cos(m[:, None] * x)
    sinh, cosh = np.sinh(low), np.cosh(low)
    near_x = np.sin(per_case * ex[0])  # not from sums: neighbours would lose digits
    near_y = np.sinh(np.clip(per_case * ey[0], -HIGHEST, HIGHEST))
    far_x = sine[:, None, :] * cosine[:, :, None] + cosine[:, None, :] * sine[:, :, None]
    far_y = sinh[:, None, :] * cosh[:, :, None] + cosh[:, None, :] * sinh[:, :, None]
    square_x, square_y = (near_x * near_x, far_x * far_x), (near_y * near_y, far_y * far_y)
    turn_x = (
        near_x * np.sqrt(np.abs(1.0 - square_x[0])),
        far_x * (cosine[:, None, :] * cosine[:, :, None] - sine[:, None, :] * sine[:, :, None]),
    )
    turn_y = tuple(s * np.sqrt(1.0 + q) for s, q in zip((near_y, far_y), square_y, strict=True))
    out: list[Kernel] = []
    for i, j, px, py in ((0, 0, 1, 1), (0, 1, 1, -1), (1, 1, -1, -1), (1, 0, -1, 1)):
        r = per_case / _distance(square_x[i], square_y[j], own=(i, j) == (0, 0))
        kr, ki = (px * r) * turn_x[i], (-py * r) * turn_y[j]
        a = ty * kr + tx * ki
        uy = py * ey[j]
        qr, qi = (kr - ki) * (kr + ki) + per_case * per_case, 2.0 * kr * ki
        qr *= uy
        qi *= uy
        real = weight * (kr * ty - qr * tx + qi * ty)
        imaginary = weight * (qr * ty + qi * tx - ki * ty)
        out.append((weight * a, real, imaginary))
    return out[0], out[1], out[2], out[3]
