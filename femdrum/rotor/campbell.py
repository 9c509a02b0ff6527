"""Natural frequencies over speed, where excitations meet them, and how far the running speed keeps away.

The frequencies come from outside (a beam model of the rotor), as a function of the speed; nothing here knows how.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure
from ..model.check import Checks
from ..provenance import computed
from .critical_speed import Separation, separation

__all__ = ["Campbell", "Crossing", "Excitation", "WhirlAt", "campbell"]

Array = NDArray[np.float64]
BEAMS = computed("Timoshenko beams on springs with rotary inertia and the gyroscopic effect")
# modes of a round rotor are counted apart, forward and backward; ellipses run on as one rising list
CIRCLE = 0.999


class WhirlAt(Protocol):
    """Natural frequencies at one speed: frequency_Hz rising and direction (1 forward, -1 backward), both [m]."""

    @property
    def frequency_Hz(self) -> Array:
        """Natural frequencies."""
        ...

    @property
    def direction(self) -> Array:
        """1 with the rotation, -1 against it."""
        ...


@dataclass(frozen=True)
class Excitation:
    """Something that comes `order` times a revolution. with_rotation: it goes round with the drum, as an unbalance does;
    on equal supports it then meets forward whirls only. False: a push that stands in space, which meets both.
    """

    name: str
    order: float
    with_rotation: bool = False


@dataclass(frozen=True)
class Crossing:
    """An excitation meets a mode: at speed_rpm and frequency_Hz; direction of the whirl; whether it is excited there."""

    excitation: str
    order: float
    mode: str
    speed_rpm: float
    frequency_Hz: float
    direction: float
    excited: bool


@dataclass(frozen=True)
class Campbell:
    """speed_rpm [s]; frequency_Hz and direction [s, m] of the modes, named in modes [m]; crossings, by speed.

    separations: for every excitation, from the crossings in which it is excited, within the speeds asked.
    """

    speed_rpm: Array
    frequency_Hz: Array
    direction: Array
    modes: tuple[str, ...]
    excitations: tuple[Excitation, ...]
    crossings: tuple[Crossing, ...]
    running_rpm: float
    separations: tuple[tuple[str, Separation], ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """Excitations that come too close to a natural frequency at the running speed."""
        return tuple(f"{name}: {s.sentence}" for name, s in self.separations if s.verdict != "apart")

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        out = []
        for c in self.crossings:
            if c.excited:
                what = f"{c.excitation} meets {c.mode}"
                out.append(Figure(what, c.speed_rpm, "rpm", f"{c.order:g} n / 60 = natural frequency", BEAMS))
        return tuple(out)


def _sorted_modes(found: WhirlAt, modes: int, split: bool) -> tuple[Array, Array]:
    """Frequencies and directions of as many modes; split: all forward ones, then all backward ones."""
    frequency, direction = np.asarray(found.frequency_Hz, dtype=float), np.asarray(found.direction, dtype=float)
    if not split:
        return frequency[:modes], direction[:modes]
    each = modes // 2
    ahead, back = np.flatnonzero(direction > 0)[:each], np.flatnonzero(direction < 0)[:each]
    order = np.concatenate([ahead, back])
    return frequency[order], direction[order]


def campbell(
    whirl_at: Callable[[float], WhirlAt],
    *,
    speeds_rpm: ArrayLike,
    running_rpm: float,
    excitations: Sequence[Excitation],
    modes: int = 6,
) -> Campbell:
    """Frequencies at every speed, and where excitations meet them.

    whirl_at(speed_rpm) gives natural frequencies, at least 2 * modes of them on equal supports, so that both directions of
    each are there. modes: even; forward and backward ones half each. A crossing is refined until the speed stands still to
    1e-9 of itself. Raises InputFault.
    """
    checks = Checks()
    speeds = np.asarray(speeds_rpm, dtype=float)
    if speeds.ndim != 1 or len(speeds) < 2 or not np.all(np.diff(speeds) > 0) or not np.all(speeds >= 0):
        checks.add("speeds_rpm", list(np.ravel(speeds)[:5]), "must be at least two rising speeds from 0 on")
    checks.positive("running_rpm", running_rpm, "revolutions a minute")
    if not excitations:
        checks.add("excitations", [], "must hold at least one", "unbalance: order 1")
    for i, e in enumerate(excitations):
        checks.positive(f"excitations[{i}].order", e.order, "times a revolution")
    if checks.whole("modes", modes, 2, 200) and modes % 2:
        checks.add("modes", modes, "must be even", "each mode whirls in two directions")
    checks.done()
    asked: dict[float, WhirlAt] = {}

    def whirl(speed: float) -> WhirlAt:
        if speed not in asked:
            asked[speed] = whirl_at(speed)
        return asked[speed]

    first = [whirl(float(s)) for s in speeds]
    turning = first[-1]
    split = bool(np.all(np.abs(turning.direction) > CIRCLE))
    rows = [_sorted_modes(w, modes, split) for w in first]
    least = min(len(f) for f, _ in rows)
    if least < modes:
        checks.add(
            "modes", modes, f"asks for more than whirl_at gives, {least}", "give it more modes, or ask for fewer"
        )
        checks.done()
    frequency, direction = np.stack([f for f, _ in rows]), np.stack([d for _, d in rows])
    half = modes // 2
    names = (
        [f"forward {k + 1}" for k in range(half)] + [f"backward {k + 1}" for k in range(half)]
        if split else [f"mode {k + 1}" for k in range(modes)]
    )  # fmt: skip

    def at(speed: float, mode: int) -> tuple[float, float]:
        f, d = _sorted_modes(whirl(speed), modes, split)
        return float(f[mode]), float(d[mode])

    crossings = [
        c for e in excitations for m, name in enumerate(names) for c in _crossings(e, m, name, speeds, frequency, at)
    ]
    crossings.sort(key=lambda c: c.speed_rpm)
    apart = tuple(
        (e.name, separation(speed_rpm=running_rpm, critical_rpm=[
            c.speed_rpm for c in crossings if c.excitation == e.name and c.excited and c.speed_rpm > 0
        ]))
        for e in excitations
    )  # fmt: skip
    return Campbell(
        speeds, frequency, direction, tuple(names), tuple(excitations), tuple(crossings), running_rpm, apart
    )


def _crossings(
    e: Excitation,
    mode: int,
    name: str,
    speeds: Array,
    frequency: Array,
    at: Callable[[float, int], tuple[float, float]],
) -> list[Crossing]:
    """Where order n / 60 equals a mode's frequency, between neighbouring speeds."""
    from scipy.optimize import brentq

    gap = e.order * speeds / 60 - frequency[:, mode]
    out = []
    for i in np.flatnonzero(np.sign(gap[:-1]) * np.sign(gap[1:]) < 0):
        low, high = float(speeds[i]), float(speeds[i + 1])
        speed = float(
            brentq(lambda n: e.order * n / 60 - at(float(n), mode)[0], low, high, xtol=1e-9 * high, rtol=1e-12)
        )
        found, direction = at(speed, mode)
        excited = not e.with_rotation or direction > -CIRCLE
        out.append(Crossing(e.name, e.order, name, speed, found, direction, excited))
    # a crossing exactly at a speed asked
    for i in np.flatnonzero(gap == 0.0):
        found, direction = at(float(speeds[i]), mode)
        if not math.isclose(speeds[i], 0.0):
            excited = not e.with_rotation or direction > -CIRCLE
            out.append(Crossing(e.name, e.order, name, float(speeds[i]), found, direction, excited))
    return out
