"""What a pulse does to a ring: modes added up, exact in time, on top of the static field that follows the pulse.

Stress at a place = static field x share(t) + sum over elastic modes of (q(t) - static part of q x share(t)) x stress of
the mode. Modes that are left out thus answer as at rest: the static correction. Rigid motions carry no stress.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..edge import Spot, SurfaceStress, principal
from .modal_ring import ModalRing
from .pulse import Pulse

__all__ = ["Balance", "Course", "Extreme", "Transient"]

Array = NDArray[np.float64]

# a mode whose stress stays below this share of the static peak everywhere is not searched
SILENT = 1e-7
# likewise for the step of the first search in time
QUIET = 1e-3
# steps a period of the fastest mode that counts, in the first search, and how finely that is divided near the top
STEPS, FINER = 8, 16
# places are thinned by this along the edge and across it in the first search
THIN_ALONG, THIN_ACROSS = 4, 2
# maxima in time that are looked at closely
CANDIDATES = 6
NEAR = 0.95
# a mode with less than this share of the load's compliance is not excited
EXCITED = 1e-4
# numbers of stress made at once, and bytes of slots' stress kept
CHUNK = 4e6
KEPT_BYTES = 4e8


@dataclass(frozen=True)
class Extreme:
    """A principal stress (or minus the pressure) of largest magnitude, its time and place; largest tension and its."""

    peak_MPa: float
    time_s: float
    at: Spot
    tension_MPa: float
    tension_time_s: float
    tension_at: Spot


@dataclass(frozen=True)
class Balance:
    """At the end of the pulse. momentum_Ns along x, y, z and about the axis (N mm s): of the moving ring; impulse: of
    the load. work, kinetic, strain in N mm (mJ).
    """

    momentum: Array
    impulse: Array
    work_Nmm: float
    kinetic_Nmm: float
    strain_Nmm: float
    momentum_residual: float
    energy_residual: float


@dataclass(frozen=True)
class Course:
    """The governing principal stress at one place over time, dynamic and as if the pulse were slow."""

    time_s: Array
    dynamic_MPa: Array
    slow_MPa: Array


class Transient:
    """A pulse on a ring. periods: how long after the pulse the search goes on, in periods of the lowest mode excited."""

    def __init__(self, ring: ModalRing, pulse: Pulse, periods: float) -> None:
        self.ring, self.pulse = ring, pulse
        self._slots: dict[int, tuple[Array, Array, SurfaceStress]] = {}
        self.shares = self._compliance_shares()
        hz = [f for f, share in self.frequencies() if share > EXCITED]
        self.first_Hz = hz[0]
        self.end_s = pulse.duration_s + periods / self.first_Hz

    # in the modes

    def _compliance_shares(self) -> list[Array]:
        """Per parity: each mode's part of the load's own elastic yield, of 1."""
        soft = [
            self.ring.copies * np.divide(s.push**2, s.omega**2, out=np.zeros_like(s.push), where=s.omega > 0)
            for s in self.ring.sectors
        ]
        total = sum(s.static_Nmm for s in self.ring.sectors)
        return [part / total for part in soft]

    def frequencies(self) -> list[tuple[float, float]]:
        """Elastic frequencies (Hz), ascending, each with its share of the load's compliance."""
        out = [
            (float(w) / (2 * math.pi), float(c))
            for s, share in zip(self.ring.sectors, self.shares, strict=True)
            for w, c in zip(s.omega[s.rigid :], share[s.rigid :], strict=True)
        ]
        return sorted(out)

    @property
    def spanned(self) -> float:
        """Share of the load's compliance that the modes hold; the rest answers as at rest."""
        return float(sum(part.sum() for part in self.shares))

    def weights(self, t: Array, share_of_modes: float = 1.0) -> Array:
        """Factors [1 + mode, time] on the static field and on the modes' stress.

        share_of_modes: only this part of each parity's modes, the lowest.
        """
        share = self.pulse.share(t)
        rows = [share[None]]
        for s in self.ring.sectors:
            q, _ = self.pulse.answer(s.omega, t)
            moved = np.zeros_like(q)
            elastic = slice(s.rigid, max(s.rigid, round(share_of_modes * s.omega.size)))
            still = share / s.omega[elastic, None] ** 2
            moved[elastic] = s.push[elastic, None] * (q[elastic] - still)
            rows.append(moved)
        return np.concatenate(rows)

    def balance(self) -> Balance:
        """Momentum and energy when the pulse has just ended."""
        end = np.array([self.pulse.duration_s])
        momentum, impulse = np.zeros(4), np.zeros(4)
        work = kinetic = strain = 0.0
        for s in self.ring.sectors:
            q, v = (part[:, 0] * s.push for part in self.pulse.answer(s.omega, end))
            momentum += s.carried @ v
            impulse += s.impulse * self.pulse.impulse_s
            work += self.ring.copies * float(s.push**2 @ self.pulse.work(s.omega))
            kinetic += 0.5 * self.ring.copies * float(v @ s.mass @ v)
            strain += 0.5 * self.ring.copies * float(q @ s.stiffness @ q)
        scale = np.array([1.0, 1.0, 1.0, 1.0 / self.ring.plan.ring.outer_radius_mm])
        size = float(np.linalg.norm(scale * impulse))
        rest = float(np.linalg.norm(scale * (momentum - impulse)))
        return Balance(
            momentum, impulse, work, kinetic, strain, rest / size if size else rest, abs(kinetic + strain - work) / work
        )

    # on the edge

    def static(self) -> Extreme:
        """The static field at the pulse's peak."""
        best: Extreme | None = None
        for slot in range(self.ring.plan.ring.slots_around):
            stress, pressure, surface = self._on_slot(slot)
            own = _extreme(stress[:1], pressure, np.array([[self.pulse.peak]]), np.zeros(1), slot, surface)
            best = own if best is None else _worse(best, own)
        assert best is not None
        return best

    def extreme(self, static_MPa: float, share_of_modes: float = 1.0, slots: tuple[int, ...] | None = None) -> Extreme:
        """The worst instant and place, over the slots' edges and from the first instant to `end_s`."""
        best: Extreme | None = None
        for slot in range(self.ring.plan.ring.slots_around) if slots is None else slots:
            own = self._search(slot, static_MPa, share_of_modes, 0.0 if best is None else abs(best.peak_MPa))
            if own is not None:
                best = own if best is None else _worse(best, own)
        assert best is not None
        return best

    def course(self, at: Spot, points: int = 601) -> Course:
        """What happens at one place from the first instant to `end_s`."""
        t = np.linspace(0.0, self.end_s, points)
        stress, pressure, _ = self._on_slot(at.slot)
        here = stress[:, at.s_index, at.d_index]
        share = self.pulse.share(t)
        slow = share[:, None] * here[0]
        moving = self.weights(t).T @ here
        return Course(t, *(_governing(x, share * pressure[at.s_index, at.d_index]) for x in (moving, slow)))

    def _on_slot(self, slot: int) -> tuple[Array, Array, SurfaceStress]:
        if slot not in self._slots:
            stress, pressure, edge = self.ring.slot_stress(slot)
            if len(self._slots) * stress.nbytes > KEPT_BYTES:
                self._slots.clear()
            self._slots[slot] = stress, pressure, edge.combine(np.zeros(len(stress)))
        return self._slots[slot]

    def _search(self, slot: int, static_MPa: float, share_of_modes: float, best: float) -> Extreme | None:
        stress, pressure, surface = self._on_slot(slot)
        size = np.abs(stress).max((1, 2, 3))
        omega: Array = np.concatenate([np.zeros(1), *(s.omega for s in self.ring.sectors)])
        top = float(omega.max()) / (2 * math.pi)
        probe = np.linspace(0.0, self.end_s, 400)
        loud = np.abs(self.weights(probe, share_of_modes)).max(1) * size / static_MPa
        counts = omega[loud > QUIET].max(initial=2 * math.pi * self.first_Hz) / (2 * math.pi)
        kept = loud > SILENT
        kept[0] = True
        times = np.linspace(0.0, self.end_s, 2 + math.ceil(self.end_s * STEPS * min(counts, top)))
        times = np.union1d(times, np.array([0.5, 1.0 - 1e-12]) * self.pulse.duration_s)
        thin = stress[kept][:, ::THIN_ALONG, ::THIN_ACROSS], pressure[::THIN_ALONG, ::THIN_ACROSS]
        coarse = _tops(*thin, self.weights(times, share_of_modes)[kept], self.pulse.share(times))
        limit = NEAR * max(float(coarse.max()), best)
        padded = np.concatenate([[-1.0], coarse, [-1.0]])
        local = np.flatnonzero((coarse >= padded[:-2]) & (coarse >= padded[2:]) & (coarse >= limit))
        ranked = sorted((int(i) for i in local), key=lambda i: -float(coarse[i]))
        if not ranked:
            return None
        close = []
        for i in ranked[:CANDIDATES]:
            low, high = times[max(i - 1, 0)], times[min(i + 1, times.size - 1)]
            close.append(np.linspace(low, high, 2 * FINER + 1))
        t = np.unique(np.concatenate(close))
        weights = self.weights(t, share_of_modes)[kept]
        return _extreme(stress[kept], pressure, weights, t, slot, surface, self.pulse.share(t))


def _fields(stress: Array, weights: Array) -> Array:
    """[time, place..., 3] for a stretch of times."""
    return np.tensordot(weights.T, stress, 1)


def _bounds(stress: Array, pressure: Array, weights: Array, share: Array) -> tuple[Array, Array]:
    high, low = principal(_fields(stress, weights))
    third = -share[:, None, None] * pressure
    return np.maximum(high, third), np.minimum(low, third)


def _stretches(stress: Array, times: int) -> list[slice]:
    step = max(1, int(CHUNK / stress[0].size))
    return [slice(i, i + step) for i in range(0, times, step)]


def _tops(stress: Array, pressure: Array, weights: Array, share: Array) -> Array:
    """Largest magnitude at each time."""
    out = []
    for part in _stretches(stress, share.size):
        high, low = _bounds(stress, pressure, weights[:, part], share[part])
        out.append(np.maximum(high.max((1, 2)), -low.min((1, 2))))
    return np.concatenate(out)


def _extreme(
    stress: Array,
    pressure: Array,
    weights: Array,
    t: Array,
    slot: int,
    surface: SurfaceStress,
    share: Array | None = None,
) -> Extreme:
    share = weights[0] if share is None else share
    best: Extreme | None = None
    for part in _stretches(stress, t.size):
        high, low = _bounds(stress, pressure, weights[:, part], share[part])
        found = []
        for values in (high, -low):
            k, i, d = (int(n) for n in np.unravel_index(int(np.argmax(values)), values.shape))
            spot = surface.spot(0, i, d)
            at = Spot(slot, i, d, spot.s_mm, spot.x_mm, spot.y_mm, spot.depth_mm)
            found.append((float(values[k, i, d]), float(t[part][k]), at))
        (most, when, where), (least, then, there) = found
        peak = (most, when, where) if most >= least else (-least, then, there)
        own = Extreme(*peak, most, when, where)
        best = own if best is None else _worse(best, own)
    assert best is not None
    return best


def _worse(a: Extreme, b: Extreme) -> Extreme:
    """The larger peak and the larger tension of two."""
    peak = a if abs(a.peak_MPa) >= abs(b.peak_MPa) else b
    pull = a if a.tension_MPa >= b.tension_MPa else b
    return Extreme(peak.peak_MPa, peak.time_s, peak.at, pull.tension_MPa, pull.tension_time_s, pull.tension_at)


def _governing(stress: Array, pressure: Array) -> Array:
    """Signed principal stress of largest magnitude, of three."""
    high, low = principal(stress)
    high, low = np.maximum(high, -pressure), np.minimum(low, -pressure)
    return np.where(high >= -low, high, low)
