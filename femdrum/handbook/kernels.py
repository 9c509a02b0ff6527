"""The bounded kernels of the plane problem, summed over the four mirror images of a quarter outline.

With complex potentials phi, psi (Kolosov, Muskhelishvili) a free edge asks phi + t conj(phi') + conj(psi) = const.
That psi is analytic in the plate gives, for the values of phi on all edges,

    phi(t0) + (1/pi) Int phi Im(k dt) - (1/pi) Int conj(phi) conj(X) = right side,
    X = Im(u) (k^2 + m^2) dt - k Im(dt),   u = t - t0,

with k = 1/u and m = 0 in the plate, k = m cot(m u) and m = pi / pitch for an endless row along x.
Edges run with the plate on their right. Both kernels stay bounded where t meets t0.
"""

from __future__ import annotations

import numpy as np

from .panels import Array, Complex

__all__ = ["Block", "block", "tail_block"]


class Block:
    """Coefficients of phi (real `a`) and of conj(phi) (complex `b`), for the quarter and its three images.

    Images: 0 itself, 1 mirrored at the x axis, 2 turned by pi, 3 mirrored at the y axis.
    """

    def __init__(self, a: list[Array], b: list[Complex]) -> None:
        self.a, self.b = a, b

    def close(self, own: slice, turns: float) -> None:
        """Set the diagonal of a closed edge so that a constant on it is treated exactly.

        turns: what Int Im(k dt) / pi is seen from the edge itself: 1 for a hole, -1 for an outer edge.
        """
        n = np.arange(own.start, own.stop)
        for kernel, total in ((self.a, turns), (self.b, 0.0)):
            kernel[0][n, n] = 0.0
            kernel[0][n, n] = total - sum(part[own, own].sum(axis=1) for part in kernel)

    def folded(self, sign: int) -> tuple[Complex, Complex]:
        """Coefficients of phi and conj(phi) of the quarter where phi(conj z) = sign conj(phi(z)), phi(-z) = -phi(z)."""
        a, b = self.a, self.b
        p = a[0] - a[2] + sign * (b[1] - b[3])
        q = b[0] - b[2] + sign * (a[1] - a[3])
        return p, q


def _images(t: Complex, dt: Complex) -> list[tuple[Complex, Complex]]:
    return [(t, dt), (np.conj(t), -np.conj(dt)), (-t, -dt), (-np.conj(t), np.conj(dt))]


def _cotangent(t0: Complex, s: Complex, u: Complex, m: float) -> Complex:
    """M cot(m u) for u = s - t0, [t0, s]."""
    if 4 * m * float(np.max(np.abs(s.imag))) < 300:
        e = np.exp(2j * m * s)[None, :] * np.exp(-2j * m * t0)[:, None] - 1
    else:  # very tall holes at a short pitch: keep the exponent from overflowing
        up = np.where(u.imag >= 0, 1.0, -1.0)
        e = np.expm1(2j * m * up * u)
        return np.asarray(1j * m * up * (1 + 2 / e))
    return np.asarray(1j * m * (1 + 2 / e))


def block(t: Complex, dt: Complex, m: float) -> Block:
    """Kernels between all nodes t (line elements dt); a node does not act on itself."""
    a: list[Array] = []
    b: list[Complex] = []
    for image, (s, ds) in enumerate(_images(t, dt)):
        u = s[None, :] - t[:, None]
        if image == 0:
            np.fill_diagonal(u, 1.0)
        with np.errstate(divide="ignore", invalid="ignore"):  # a node on itself, set to zero below
            k = _cotangent(t, s, u, m) if m else 1 / u
        if image == 0:
            np.fill_diagonal(k, 0.0)
        w = k * ds
        x = k * (u.imag * w - ds.imag)
        if m:
            x += m * m * u.imag * ds
        a.append(w.imag / np.pi)
        b.append(np.asarray(np.conj(x) / -np.pi, dtype=np.complex128))
    return Block(a, b)


def tail_block(t0: Complex, end: complex) -> Block:
    """The straight edge from `end` to infinity along +x (and its images), where phi keeps its last value."""
    arg = [-np.angle(end - t0), np.angle(np.conj(end) - t0), -np.angle(end + t0), np.angle(np.conj(end) + t0)]
    u = [end - t0, np.conj(end) - t0, -end - t0, -np.conj(end) - t0]
    a = [g[:, None] / np.pi for g in arg]
    # Int d(conj(u)/u) from the end to infinity; reversed for the mirrored tails
    b = [(np.conj(s * (1 - np.conj(v) / v)) / (2j * np.pi))[:, None] for s, v in zip((1, -1, 1, -1), u, strict=True)]
    return Block(a, b)
