"""Equilibrium of a thin ring in its plane: hoop force and bending moment around it under loads at its slots.

Complex numbers stand for vectors in the plane of the ring; angles in radians, counterclockwise; forces in N of one
pitch of shell, moments in N mm. Hoop force positive in tension. What the loads leave over, a force and a torque, the
neighbouring shell takes by shear flow: the one spread as sin, the other evenly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["PointLoad", "RingLoads"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class PointLoad:
    """At an angle (rad): force outward and forward (N), and a couple (N mm, counterclockwise)."""

    angle_rad: float
    radial_N: float = 0.0
    tangential_N: float = 0.0
    couple_Nmm: float = 0.0


@dataclass(frozen=True)
class RingLoads:
    """Loads on a ring of mid radius radius_mm.

    even_N: hoop force of an even outward pull, or the pull per radian. gaps: (from, to, share) arcs, rad, in which this
    share of the even pull is missing. points: single loads.
    """

    radius_mm: float
    even_N: float = 0.0
    gaps: tuple[tuple[float, float, float], ...] = ()
    points: tuple[PointLoad, ...] = ()

    @property
    def breaks_rad(self) -> Array:
        """Angles at which the course of force or moment has a break, in 0 to 2 pi."""
        at = [p.angle_rad for p in self.points] + [a for low, high, _ in self.gaps for a in (low, high)]
        return np.unique(np.mod(np.array(at, dtype=float), 2 * math.pi))

    def forces(self, angle_rad: Array) -> tuple[Array, Array]:
        """Hoop force (N) and moment (N mm) at angles in 0 to 2 pi with the ring cut open at 0: one of many answers.

        At a load's own angle: just before it.
        """
        theta = np.asarray(angle_rad, dtype=float)
        applied, moment = self._applied(theta)
        whole, turning = self._applied(np.array([2 * math.pi]))
        force, torque = complex(whole[0]), float(turning[0])
        # the shear flow of the shell beside it: k sin(s - phi) per radian against the force, evenly against the torque
        even = -torque / (2 * math.pi * self.radius_mm)
        k, phi = abs(force) / math.pi, math.atan2(force.imag, force.real)
        turn = np.exp(1j * theta)
        applied = (
            applied
            + even * (turn - 1)
            + k * ((np.exp(1j * (2 * theta - phi)) - np.exp(-1j * phi)) / 4j - 0.5 * np.exp(1j * phi) * theta)
        )
        moment = moment + self.radius_mm * (even * theta + k * (math.cos(phi) - np.cos(theta - phi)))
        return self._inner(theta, applied, moment)

    def redundants(self, angle_rad: Array) -> tuple[Array, Array]:
        """Hoop force and moment [angle, 3] by hoop force 1, shear 1 (N) and moment R (N mm) at the cut."""
        theta = np.asarray(angle_rad, dtype=float)
        made = []
        for start, couple in ((-1j, 0.0), (-1.0 + 0j, 0.0), (0j, -self.radius_mm)):
            applied = np.full(theta.shape, start)
            # a force at the cut acts at (R, 0)
            moment = np.full(theta.shape, self.radius_mm * start.imag + couple)
            made.append(self._inner(theta, applied, moment))
        return np.stack([n for n, _ in made], axis=-1), np.stack([m for _, m in made], axis=-1)

    def _inner(self, theta: Array, applied: NDArray[np.complex128], moment: Array) -> tuple[Array, Array]:
        """Of what is applied before each angle (force, moment about the centre): what the section there carries."""
        turn = np.exp(1j * theta)
        hoop = -np.real(applied * np.conj(1j * turn))
        about = moment - self.radius_mm * np.imag(np.conj(turn) * applied)
        return np.asarray(hoop), np.asarray(-about)

    def _applied(self, theta: Array) -> tuple[NDArray[np.complex128], Array]:
        turn = np.exp(1j * theta)
        applied = self.even_N * (turn - 1) / 1j
        moment = np.zeros(theta.shape)
        for low, high, share in self.gaps:
            for shift in (-2 * math.pi, 0.0, 2 * math.pi):
                if high + shift <= 0.0 or low + shift >= 2 * math.pi:
                    continue
                a = np.clip(low + shift, 0.0, theta)
                b = np.clip(high + shift, 0.0, theta)
                applied = applied - share * self.even_N * (np.exp(1j * b) - np.exp(1j * a)) / 1j
        for load in self.points:
            at = math.fmod(load.angle_rad, 2 * math.pi) % (2 * math.pi)
            on = theta > at
            outward = complex(math.cos(at), math.sin(at))
            applied = applied + on * (load.radial_N + 1j * load.tangential_N) * outward
            moment = moment + on * (self.radius_mm * load.tangential_N + load.couple_Nmm)
        return applied, moment
