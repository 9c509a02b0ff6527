"""Stress along a line of a body of revolution, per unit load: what later steps add up and read peaks from.

Components add linearly; principal stresses are taken after adding. Frame at each place: meridional (along the line),
hoop (around), and the shear between them. A case of harmonic n stands for

    meridional cos(n t), hoop cos(n t), shear sin(n t); for n = 0 all three are constant

with t the angle around the axis from the plane of bending. Tension positive, MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..edge import BAND_FLOOR, EARLIER, NEAR, UnitCase, principal
from ..quantity import Quantity, Verdict
from .reference import lagrange
from .sampling import sample

__all__ = ["SAMPLES", "CurvePeaks", "CurveSpot", "CurveStress", "Reading", "around"]

Array = NDArray[np.float64]

# samples a cell along a line
SAMPLES = 20
# band of the lesser of tension and compression, over that of the other, at least
LESSER = 0.25
# angles at which a state is looked at; with whole degrees a peak between two is missed by less than 4e-5
ANGLES = np.radians(np.arange(360.0))


def around(harmonic: Array, theta_rad: Array) -> Array:
    """Factor [angle, case, 3] of meridional, hoop and shear at the angles."""
    turn = np.multiply.outer(theta_rad, harmonic)
    even = np.cos(turn)
    odd = np.where(harmonic == 0, 1.0, np.sin(turn))
    return np.stack([even, even, odd], -1)


@dataclass(frozen=True)
class Reading:
    """A weighted sum of what is read along a line: curve, distances s_mm [k], weights [k].

    window_mm: the change from order to order is averaged that far to both sides; None: a fifth of each distance.
    """

    curve: str
    s_mm: tuple[float, ...]
    weights: tuple[float, ...]
    window_mm: float | None = None


@dataclass(frozen=True)
class CurveSpot:
    """Where on a line: s along it, place (r, z), angle around the axis."""

    curve: str
    s_mm: float
    r_mm: float
    z_mm: float
    theta_deg: float


@dataclass(frozen=True)
class CurvePeaks:
    """Largest principal tension and compression of a state on a line, with their places and bands."""

    tension: Quantity
    compression: Quantity
    tension_at: CurveSpot
    compression_at: CurveSpot

    @property
    def _tension_governs(self) -> bool:
        return abs(self.tension.value or 0.0) >= (1 - 1e-6) * abs(self.compression.value or 0.0)

    @property
    def peak(self) -> Quantity:
        """The principal stress of largest magnitude, signed."""
        return self.tension if self._tension_governs else self.compression

    @property
    def at(self) -> CurveSpot:
        """Place of `peak`."""
        return self.tension_at if self._tension_governs else self.compression_at


@dataclass(frozen=True)
class CurveStress:
    """Stress per unit of each case along a line.

    harmonic [case]: 0 or 1. s_mm [s]: distance along the line at the samples. place_mm [s, 2]: (r, z). watched [s]:
    where the peak is looked for. stress [case, s, 3]; step: the same, finer minus coarser order, signed; earlier: the step
    before. nodes_mm [k], nodal [case, k, 3]: the same at the nodes of cells of `order`, to read between samples.
    band_factor: what true errors were found to be, at most, over the change of the last step.
    """

    name: str
    cases: tuple[UnitCase, ...]
    harmonic: Array
    s_mm: Array
    place_mm: Array
    watched: NDArray[np.bool_]
    stress: Array
    step: Array
    earlier: Array
    order: int
    nodes_mm: Array
    nodal: Array
    band_factor: float = 1.0

    @classmethod
    def of(
        cls,
        name: str,
        cases: tuple[UnitCase, ...],
        harmonic: Array,
        nodes_mm: Array,
        place: Array,
        nodal: Array,
        order: int,
        watched_cells: slice = slice(None),
    ) -> CurveStress:
        """From values at the nodes, sampled; watched_cells: the cells in which the peak is looked for."""
        stress = np.ascontiguousarray(sample(nodal, order, SAMPLES, 1))
        cells = (len(nodes_mm) - 1) // order
        watched = np.zeros(cells * SAMPLES + 1, dtype=bool)
        some = range(cells)[watched_cells]
        watched[some[0] * SAMPLES : (some[-1] + 1) * SAMPLES + 1] = True
        zero = np.zeros_like(stress)
        s, at = sample(nodes_mm, order, SAMPLES, 0), sample(place, order, SAMPLES, 0)
        return cls(name, cases, harmonic, s, at, watched, stress, zero, zero, order, nodes_mm, nodal)

    def with_step_from(self, coarser: CurveStress, band_factor: float) -> CurveStress:
        """The same with the change from a lower order on the same cells."""
        return replace(self, step=self.stress - coarser.stress, earlier=coarser.step, band_factor=band_factor)

    def combine(self, factors: ArrayLike, theta_rad: ArrayLike) -> Array:
        """Stress [angle, s, 3] of a state, factors [case], at the angles: added before principals are taken."""
        return self._at(self.stress, factors, theta_rad)

    def _at(self, values: Array, factors: ArrayLike, theta_rad: ArrayLike) -> Array:
        f, theta = np.asarray(factors, dtype=float), np.atleast_1d(np.asarray(theta_rad, dtype=float))
        if f.shape != (len(self.cases),):
            raise ValueError(f"factors have shape {f.shape} for {len(self.cases)} unit cases")
        weight = around(self.harmonic, theta) * f[:, None]
        return np.asarray(np.einsum("tck,csk->tsk", weight, values, optimize=True))

    def read(self, s_mm: ArrayLike) -> Array:
        """Stress [case, k, 3] at distances [k] along the line, from the cells' own polynomials."""
        s = np.atleast_1d(np.asarray(s_mm, dtype=float))
        p = self.order
        ends = self.nodes_mm[::p]
        if s.min() < ends[0] - 1e-9 or s.max() > ends[-1] + 1e-9:
            raise ValueError(f"{self.name}: distances must be from {ends[0]:g} to {ends[-1]:g} mm")
        cell = np.clip(np.searchsorted(ends, s, "right") - 1, 0, len(ends) - 2)
        x = 2 * (s - ends[cell]) / (ends[cell + 1] - ends[cell]) - 1
        values = lagrange(p, x)[0]
        index = cell[:, None] * p + np.arange(p + 1)
        return np.asarray(np.einsum("ka,ckas->cks", values, self.nodal[:, index], optimize=True))

    def reading(self, reading: Reading, factors: ArrayLike) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
        """Weighted sum of components read along the line: value and band [3] of the cases that stay (n = 0), and of the
        amplitude, signed, of those that run around (n = 1).
        """
        f = np.asarray(factors, dtype=float)
        at, weights = np.asarray(reading.s_mm), np.asarray(reading.weights)
        reach = np.linspace(-1.0, 1.0, 9)
        near = at + np.multiply.outer(reach, 0.2 * at if reading.window_mm is None else reading.window_mm + 0 * at)
        near = np.clip(near, self.s_mm[0], self.s_mm[-1])
        top = self.scale(f, float(at.min()))
        unit = np.einsum("k,cks->cs", weights, self.read(at))
        steps = [self._read_samples(v, near, weights) for v in (self.step, self.earlier)]
        parts = []
        for n in (0, 1):
            some = f * (self.harmonic == n)
            last, before = (np.sqrt(np.mean(np.tensordot(some, v, 1) ** 2, 0)) for v in steps)
            band = self.band_factor * np.maximum(last, EARLIER * before) + BAND_FLOOR * top
            parts.append((np.asarray(some @ unit), np.asarray(band)))
        return parts[0], parts[1]

    def scale(self, factors: ArrayLike, beyond_mm: float) -> float:
        """Largest normal stress of a state on the line beyond a distance, over the turn, MPa."""
        f = np.asarray(factors, dtype=float)
        far = self.stress[:, self.s_mm >= beyond_mm - 1e-9, :2]
        steady, rotating = (np.abs(np.tensordot(f * (self.harmonic == n), far, 1)) for n in (0, 1))
        return float((steady + rotating).max(initial=0.0))

    def _read_samples(self, values: Array, near: Array, weights: Array) -> Array:
        """Weighted sums [case, place, 3] of sampled values at places [place, k]."""
        i = np.clip(np.searchsorted(self.s_mm, near, "right") - 1, 0, self.s_mm.size - 2)
        t = ((near - self.s_mm[i]) / (self.s_mm[i + 1] - self.s_mm[i]))[..., None]
        return np.asarray(np.einsum("k,cpks->cps", weights, values[:, i] * (1 - t) + values[:, i + 1] * t))

    def peaks(self, factors: ArrayLike, asked: float | None = None, theta_rad: ArrayLike | None = None) -> CurvePeaks:
        """Largest principal tension and compression of a state over the watched part and the angles (all, if none given).

        asked: wanted relative band; the verdict is `settled` where it is reached.
        """
        theta = ANGLES if theta_rad is None else np.atleast_1d(np.asarray(theta_rad, dtype=float))
        if theta_rad is None and not np.any(np.asarray(factors, float)[self.harmonic > 0]):
            theta = ANGLES[:1]
        w = self.watched
        fine, last, before = (self._at(v[:, w], factors, theta) for v in (self.stress, self.step, self.earlier))
        high, low = principal(fine)
        coarse_high, coarse_low = principal(fine - last)
        coarser_high, coarser_low = principal(fine - last - before)
        scale = max(float(np.abs(high).max()), float(np.abs(low).max()))
        t_value, t_band, t_at = self._extreme(high, high - coarse_high, coarse_high - coarser_high, scale, theta)
        c_value, c_band, c_at = self._extreme(-low, low - coarse_low, coarse_low - coarser_low, scale, theta)
        # the end of smaller change is not much surer than the other
        t_band, c_band = max(t_band, LESSER * c_band), max(c_band, LESSER * t_band)
        t_value, c_value = max(t_value, 0.0), min(-c_value, 0.0)
        peak, band = max((t_value, t_band), (-c_value, c_band))
        settled = asked is None or band <= asked * peak
        verdict = Verdict.SETTLED if settled else Verdict.NOT_SETTLED
        text = f"largest principal {{}} on the surface, {self.name}"
        return CurvePeaks(
            Quantity(t_value, "MPa", t_band, verdict, text.format("tension")),
            Quantity(c_value, "MPa", c_band, verdict, text.format("compression")),
            t_at,
            c_at,
        )

    def _extreme(
        self, fine: Array, last: Array, before: Array, scale: float, theta: Array
    ) -> tuple[float, float, CurveSpot]:
        t, i = (int(k) for k in np.unravel_index(int(np.argmax(fine)), fine.shape))
        top = float(fine[t, i])
        near = fine >= top - (1.0 - NEAR) * max(abs(top), 1e-3 * scale)
        change = max(math.sqrt(float(np.mean(last[near] ** 2))), EARLIER * math.sqrt(float(np.mean(before[near] ** 2))))
        s = self.s_mm[self.watched]
        r, z = (float(v) for v in self.place_mm[self.watched][i])
        spot = CurveSpot(self.name, float(s[i]), r, z, math.degrees(float(theta[t])))
        return _top(s, fine[t], i), self.band_factor * change + BAND_FLOOR * scale, spot


def _top(s: Array, line: Array, i: int) -> float:
    """Top of the parabola through the largest sample and its neighbours; at an end the sample itself."""
    if i in (0, len(line) - 1):
        return float(line[i])
    left, right = s[i] - s[i - 1], s[i + 1] - s[i]
    fall_left, fall_right = line[i] - line[i - 1], line[i] - line[i + 1]
    bend = (fall_left / left + fall_right / right) / (left + right)
    slope = (fall_left / left * right - fall_right / right * left) / (left + right)
    return float(line[i] + (0.25 * slope**2 / bend if bend > 0 else 0.0))
