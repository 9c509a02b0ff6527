"""The exact plane solution of a cutout: one integral equation on its edge, solved for all loads at once.

The unknown is the complex potential phi on the edge (on an outer edge: its part beyond the uniform stress).
Two mirror axes leave a quarter of the edge and two systems: even (tension x and y) and odd (shear).
The stress along a free edge is 4 Re(phi').
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from ..errors import OverBudget, SolveFailure
from ..model.cutout import Cutout, Slot
from .domains import Domain, Strip, StripRow, check_fit
from .kernels import Block, block, tail_block
from .panels import Array, Complex, Panels, Resolution, barycentric, closed_panels, gauss

__all__ = ["CASES", "LEVELS", "ODD", "PlaneSolution", "plane_solution"]

CASES = ("tension_x", "tension_y", "shear")
MOST_NODES = 2500
TINY = 1e-8
NEAR = 0.9
ODD = CASES.index("shear")

LEVELS = (
    Resolution(10, 2e-2, 0.80, 2.0, 5.0),
    Resolution(14, 5e-3, 0.80, 1.8, 6.0),
    Resolution(16, 5e-4, 0.60, 1.5, 7.0),
    Resolution(20, 5e-5, 0.45, 1.2, 8.0),
    Resolution(24, 5e-6, 0.40, 1.0, 9.0),
)


@dataclass(frozen=True)
class PlaneSolution:
    """Stress along the quarter edge per 1 MPa of each case in CASES.

    stress [case, panel, node]: MPa, at the Gauss nodes of `panels`; between them by their polynomial.
    """

    panels: Panels
    stress: Array
    unknowns: int

    def at(self, piece: int, t: Array) -> Array:
        """Stress [case, t] at parameters t of a piece."""
        p = self.panels
        rows = np.flatnonzero(p.piece == piece)
        t = np.asarray(t, dtype=float)
        which = rows[np.clip(np.searchsorted(p.t1[rows], t), 0, rows.size - 1)]
        local = (2 * t - p.t0[which] - p.t1[which]) / (p.t1[which] - p.t0[which])
        weights = barycentric(p.order, local)
        return np.asarray(np.einsum("tn,ctn->ct", weights, self.stress[:, which, :]))

    def _combined(self, factors: Array) -> Iterator[tuple[int, Array]]:
        return _combine(self.stress, factors)

    def peak(self, factors: Array) -> tuple[float, int, float, int]:
        """Stress of largest magnitude over the continuous edge: signed value, piece, parameter, quadrant (+1 or -1).

        factors [case]: MPa of each case.
        """
        best = (0.0, 0, 0.0, 1)
        grid = np.linspace(-1.0, 1.0, 33)
        sampling = barycentric(self.panels.order, grid)
        for quadrant, stress in self._combined(factors):
            sampled = np.abs(stress @ sampling.T)
            highest = sampled.max(axis=1)
            level = max(float(highest.max()), abs(best[0]))
            for panel in np.flatnonzero(highest >= 0.99 * level):
                x, value = self._climb(stress[panel], float(grid[int(np.argmax(sampled[panel]))]), grid[1] - grid[0])
                if abs(value) > abs(best[0]) * (1 + 1e-12):
                    t0, t1 = float(self.panels.t0[panel]), float(self.panels.t1[panel])
                    t = 0.5 * (t0 + t1) + 0.5 * (t1 - t0) * x
                    best = (value, int(self.panels.piece[panel]), t, quadrant)
        return best

    def change_near_peak(self, coarse: PlaneSolution, factors: Array) -> float:
        """Root mean square of the stress's change from a coarser solution, where it is at least NEAR of its peak, MPa.

        A peak may agree by chance; the field around it does not.
        """
        p = self.panels
        parameters = p.parameters(gauss(p.order)[0])
        before = np.empty_like(self.stress)
        for i in range(len(p.pieces)):
            rows = p.piece == i
            before[:, rows] = coarse.at(i, parameters[rows].ravel()).reshape(before[:, rows].shape)
        weight = np.abs(p.dt).reshape(p.count, p.order)
        worst = 0.0
        for (_, new), (_, old) in zip(self._combined(factors), _combine(before, factors), strict=True):
            size = np.abs(new)
            share = np.where(size >= NEAR * size.max(), weight, 0.0)
            worst = max(worst, math.sqrt(float(np.sum(share * (new - old) ** 2) / np.sum(share))))
        return worst

    def _climb(self, stress: Array, x: float, half: float) -> tuple[float, float]:
        """Refine a maximum of |polynomial| near x by ever narrower samples."""
        value = 0.0
        for _ in range(4):
            at = np.clip(np.linspace(x - half, x + half, 17), -1.0, 1.0)
            values = barycentric(self.panels.order, at) @ stress
            i = int(np.argmax(np.abs(values)))
            x, value, half = float(at[i]), float(values[i]), half / 8
        return x, value


def _combine(stress: Array, factors: Array) -> Iterator[tuple[int, Array]]:
    """Stress [panel, node] in the first quadrant (+1) and, where shear makes it differ, in the second (-1)."""
    even = np.tensordot(factors[:ODD], stress[:ODD], 1)
    odd = factors[ODD] * stress[ODD]
    yield 1, even + odd
    if factors[ODD] != 0.0 and np.any(factors[:ODD]):
        yield -1, even - odd


@lru_cache(maxsize=16)
def plane_solution(cutout: Cutout, domain: Domain, level: int) -> PlaneSolution:
    """Solve at one of the LEVELS. Raises NoNumber at a sharp corner, InputFault where the hole does not fit."""
    check_fit(cutout, domain)
    return _solved(cutout, domain, LEVELS[level])


def _drawable(cutout: Cutout) -> Cutout:
    """A slot whose flank is shorter than TINY of its size is taken as full round: rounding would drown the flank."""
    if not isinstance(cutout, Slot):
        return cutout
    x, y, r = cutout.half_x_mm, cutout.half_y_mm, cutout.radius_mm
    short, tiny = min(x, y), TINY * max(x, y)
    if abs(x - y) < tiny:
        x = y = short
    if short - r < tiny:
        r = short
    return Slot(size_x_mm=2 * x, size_y_mm=2 * y, corner_radius_mm=r)


def _solved(cutout: Cutout, domain: Domain, resolution: Resolution) -> PlaneSolution:
    cutout = _drawable(cutout)
    hole = closed_panels(cutout.quarter(), resolution, domain.gap(cutout))
    outer = domain.outer(cutout, resolution)
    nodes = hole.t.size + (outer.t.size if outer is not None else 0)
    if nodes > MOST_NODES:
        raise OverBudget(f"the edge needs {nodes} nodes, more than {MOST_NODES}: a gap or a radius is very small")
    m = math.pi / domain.pitch if domain.pitch else 0.0
    n = hole.t.size
    t, dt = hole.t, hole.dt
    if outer is not None:
        t, dt = np.concatenate([t, outer.t]), np.concatenate([dt, outer.dt])
    kernels = block(t, dt, m)
    kernels.close(slice(0, n), 1.0)
    tail: complex | None = None
    if isinstance(domain, Strip):
        tail = domain.end(cutout, resolution)
    elif outer is not None and not isinstance(domain, StripRow):
        kernels.close(slice(n, t.size), -1.0)
    even = _even(kernels, t, dt, n, m, tail)
    if isinstance(domain, StripRow):
        even = _with_mean(even, dt, domain)
    phi = np.concatenate([even, _odd(kernels, t, n, tail)])
    stress = np.stack([4 * hole.derivative(row[:n]).real for row in phi])
    if not np.all(np.isfinite(stress)):
        raise SolveFailure("the plane solution is not finite: nodes coincide at a very small gap or radius")
    return PlaneSolution(hole, stress, 2 * t.size)


def _with_mean(even: Complex, dt: Complex, domain: StripRow) -> Complex:
    """Scale so that the mean stress of a section is the load itself.

    The equation is solved by a uniform stress plus a periodic part that carries the force f along x through
    half a section; f is read off the mean of phi along the edges.
    """
    extra = -4 / domain.pitch_mm * (even @ dt).imag / (0.5 * domain.width_mm)  # mean stress beyond the uniform one
    x = even[0] / (1 + extra[0])
    return np.stack([x, even[1] - extra[1] * x])


def _matrix(kernels: Block, sign: int, t: Complex, tail: complex | None) -> Array:
    """Real matrix of phi + P phi + Q conj(phi), unknowns (Re phi, Im phi)."""
    p, q = kernels.folded(sign)
    if tail is not None:
        p_tail, q_tail = tail_block(t, tail).folded(sign)
        p[:, -1:] += p_tail
        q[:, -1:] += q_tail
    n = t.size
    matrix = np.empty((2 * n, 2 * n))
    total, apart = p + q, p - q
    matrix[:n, :n], matrix[:n, n:] = total.real, -apart.imag
    matrix[n:, :n], matrix[n:, n:] = total.imag, apart.real
    matrix[np.arange(2 * n), np.arange(2 * n)] += 1.0
    return matrix


def _split(values: Complex) -> Array:
    return np.concatenate([values.real, values.imag])


def _on_hole(t: Complex, n: int) -> Complex:
    """The places of the hole's nodes, zero on an outer edge."""
    places = t.copy()
    places[n:] = 0.0
    return places


def _phi(solution: Any) -> Complex:
    n = solution.shape[0] // 2
    return np.asarray((solution[:n] + 1j * solution[n:]).T)


def _even(kernels: Block, t: Complex, dt: Complex, n: int, m: float, tail: complex | None) -> Complex:
    """Phi [tension_x, tension_y]. The equation leaves an all-round tension free: one line fixes it."""
    matrix = _matrix(kernels, 1, t, tail)
    far = np.clip(t.imag, -200 / m, 200 / m) if m else t.imag  # sin overflows far above a row, where k2 is nil
    k2 = (m / np.sin(m * (t.real + 1j * far))) ** 2 if m else 1 / t**2
    slope = 4 * k2 * dt / (2j * np.pi)  # Re(sum slope phi) = Re of the Cauchy integral's slope in the hole's centre
    if tail is not None:
        slope[-1] += 4 / tail / (2j * np.pi)
    on_hole = _on_hole(t, n)
    matrix += np.outer(_split(on_hole), np.concatenate([slope.real, -slope.imag]))
    turned = 0.5 * np.conj(on_hole)
    right = np.stack([_split(0.25 * on_hole + turned), _split(0.25 * on_hole - turned)], axis=1)
    return _phi(np.linalg.solve(matrix, right))


def _odd(kernels: Block, t: Complex, n: int, tail: complex | None) -> Complex:
    """Phi [shear]."""
    on_hole = _on_hole(t, n)
    return _phi(np.linalg.solve(_matrix(kernels, -1, t, tail), _split(1j * np.conj(on_hole))[:, None]))
