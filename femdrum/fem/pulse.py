"""A force that comes and goes: its course, and the exact answer of an undamped oscillator to it.

A pulse is a half sine, or pieces that are straight lines. On each the motion q'' + omega^2 q = g(t) has a closed
form, so that a step in time costs no accuracy, and none is needed between two times that are asked.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.check import Checks

__all__ = ["SHAPES", "Pulse", "given_pulse"]

Array = NDArray[np.float64]

SHAPES = ("half_sine", "rectangle", "triangle")
# below this product of frequency and time, series replace differences of nearly equal numbers
SMALL = 0.3
# Gauss points on each stretch of a quadrature in time
POINTS = 12


@dataclass(frozen=True)
class Pulse:
    """shape: one of SHAPES, or "given" with `points` (time in s, share of the force), straight between them.

    The share is 1 at the peak for all but a given one. duration_s: from the first to the last instant of force.
    """

    shape: str
    duration_s: float
    points: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        checks = Checks()
        good = checks.one_of("shape", self.shape, (*SHAPES, "given"))
        checks.positive("duration_s", self.duration_s)
        if good and (self.shape == "given") != bool(self.points):
            checks.add("points", len(self.points), "go with a given pulse, and with no other", "use given_pulse")
        checks.done()

    @property
    def pieces(self) -> tuple[tuple[float, float, float, float], ...]:
        """Straight pieces (from, to, share there, share there); a half sine has none."""
        end = self.duration_s
        if self.shape == "rectangle":
            return ((0.0, end, 1.0, 1.0),)
        if self.shape == "triangle":
            return ((0.0, 0.5 * end, 0.0, 1.0), (0.5 * end, end, 1.0, 0.0))
        pairs = itertools.pairwise(self.points)
        return tuple((a, b, g, h) for (a, g), (b, h) in pairs if b > a)

    def share(self, t: Array) -> Array:
        """Force over its peak at times t; at a jump what comes after it."""
        inside = (t >= 0) & (t < self.duration_s)
        if self.shape == "half_sine":
            return np.where(inside, np.sin(np.pi * t / self.duration_s), 0.0)
        out = np.zeros_like(t)
        for start, end, g, h in self.pieces:
            on = (t >= start) & (t < end)
            out[on] = g + (h - g) * (t[on] - start) / (end - start)
        return out

    @property
    def impulse_s(self) -> float:
        """Integral of the share over time."""
        if self.shape == "half_sine":
            return 2 * self.duration_s / math.pi
        return sum(0.5 * (g + h) * (end - start) for start, end, g, h in self.pieces)

    @property
    def peak(self) -> float:
        """The largest magnitude of the share."""
        return 1.0 if self.shape == "half_sine" else max(max(abs(g), abs(h)) for _, _, g, h in self.pieces)

    def answer(self, omega: Array, t: Array) -> tuple[Array, Array]:
        """q and dq/dt [oscillator, time] of q'' + omega^2 q = share(t) from rest; omega may be zero."""
        w, t = np.asarray(omega, dtype=float)[:, None], np.asarray(t, dtype=float)
        q, v = np.zeros((w.size, t.size)), np.zeros((w.size, t.size))
        state = np.zeros_like(w), np.zeros_like(w)
        if self.shape == "half_sine":
            on = (t >= 0) & (t < self.duration_s)
            q[:, on], v[:, on] = _under_sine(w, math.pi / self.duration_s, t[on])
            state = _under_sine(w, math.pi / self.duration_s, np.array([self.duration_s]))
        for start, end, g, h in self.pieces:
            slope = (h - g) / (end - start)
            on = (t >= start) & (t < end)
            q[:, on], v[:, on] = _under_line(w, state, g, slope, t[on] - start)
            state = _under_line(w, state, g, slope, np.array([end - start]))
        after = t >= self.duration_s
        q[:, after], v[:, after] = _under_line(w, state, 0.0, 0.0, t[after] - self.duration_s)
        return q, v

    def work(self, omega: Array) -> Array:
        """Integral of share times dq/dt for each oscillator, by quadrature fine enough for the fastest of them."""
        ends = (
            [0.0, self.duration_s] if self.shape == "half_sine" else [self.pieces[0][0], *(p[1] for p in self.pieces)]
        )
        total = np.zeros(len(omega))
        x, weight = np.polynomial.legendre.leggauss(POINTS)
        for a, b in itertools.pairwise(ends):
            count = 2 + math.ceil(float(np.max(omega, initial=0.0)) * (b - a) / math.pi)
            cuts = np.linspace(a, b, count + 1)
            half = 0.5 * np.diff(cuts)
            t = ((cuts[:-1] + half)[:, None] + half[:, None] * x).ravel()
            factor = self.share(t) * (half[:, None] * weight).ravel()
            total += self.answer(omega, t)[1] @ factor
        return total


def given_pulse(times_s: Sequence[float], shares: Sequence[float]) -> Pulse:
    """A pulse by its course: times from 0 on, straight between them; equal times make a jump."""
    checks = Checks()
    if len(times_s) != len(shares) or len(times_s) < 2:
        checks.add("times_s", len(times_s), "must be two or more, with a share of the force each")
        checks.done()
    numbers = np.array([times_s, shares], dtype=float)
    if not np.isfinite(numbers).all():
        checks.add("times_s", "some", "and shares must be finite numbers")
        checks.done()
    if times_s[0] != 0 or (np.diff(numbers[0]) < 0).any():
        checks.add("times_s", float(times_s[0]), "must begin at 0 and not fall")
    if not numbers[1].any():
        checks.add("shares", 0.0, "must not all be zero")
    checks.done()
    points = tuple(zip(numbers[0].tolist(), numbers[1].tolist(), strict=True))
    return Pulse("given", float(times_s[-1]), points)


def _under_sine(w: Array, forcing: float, t: Array) -> tuple[Array, Array]:
    """From rest under sin(forcing t). Mean and half difference of the frequencies keep it exact at resonance."""
    m, d = 0.5 * (w + forcing), 0.5 * (w - forcing)
    beat = t * np.sinc(d * t / np.pi)  # sin(d t) / d
    at_rest = w < 1e-6 * forcing
    safe = np.where(at_rest, 1.0, w)
    q = (np.sin(m * t) * np.cos(d * t) / (2 * m) - 0.5 * np.cos(m * t) * beat) / safe
    v = forcing * np.sin(m * t) * beat / (2 * m)
    rigid = t / forcing - np.sin(forcing * t) / forcing**2
    return np.where(at_rest, rigid, q), v


def _under_line(w: Array, state: tuple[Array, Array], level: float, slope: float, t: Array) -> tuple[Array, Array]:
    """From a state (q, dq/dt) under level + slope t."""
    q0, v0 = state
    x = w * t
    one = t**2 * 0.5 * np.sinc(0.5 * x / np.pi) ** 2  # (1 - cos x) / w^2
    sine = t * np.sinc(x / np.pi)  # sin x / w
    small = np.abs(x) < SMALL
    safe = np.where(small, 1.0, x)
    series = (1 - x**2 / 20 * (1 - x**2 / 42 * (1 - x**2 / 72 * (1 - x**2 / 110)))) / 6
    two = t**3 * np.where(small, series, (safe - np.sin(safe)) / safe**3)  # (x - sin x) / w^3
    q = q0 * np.cos(x) + v0 * sine + level * one + slope * two
    v = -q0 * w * np.sin(x) + v0 * np.cos(x) + level * sine + slope * one
    return q, v
