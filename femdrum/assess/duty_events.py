"""From the rows of a duty to events between states of the machine."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.duty import Duty
from ..strength.cycles import Cycles
from ..strength.sn_curve import SLOPES
from ..strength.surface_planes import Events

__all__ = ["duty_events", "merged", "turning_states"]

Array = NDArray[np.float64]

# of a recording, as many events as the worst place is looked for with
CLASSES = 16


@dataclass(frozen=True)
class _Row:
    first: Array
    second: Array
    per_1000_h: float


def duty_events(
    duty: Sequence[Duty],
    conditions: Sequence[str],
    speed_rpm: float | None,
    measured: Callable[[Duty], Cycles] | None = None,
) -> Events:
    """The events of all rows; states are the conditions in their order.

    steady: rest and the condition. pulsating: `back_to` (or rest) and the condition. reversed: the condition and its mirror
    image about `back_to`. rotating: the turning of the condition by itself, one cycle a turn. measured: the counted cycles
    of a row's history, in the unit of its signal.
    """
    rows: list[_Row] = []
    names: list[str] = []
    for row in duty:
        made = _rows(row, conditions, speed_rpm, measured)
        rows += made
        names += [row.name] * len(made)
    return Events(
        np.stack([r.first for r in rows]),
        np.stack([r.second for r in rows]),
        np.array([r.per_1000_h for r in rows]),
        tuple(names),
    )


def _rows(
    row: Duty, conditions: Sequence[str], speed_rpm: float | None, measured: Callable[[Duty], Cycles] | None
) -> list[_Row]:
    unit = np.eye(len(conditions))
    there = unit[conditions.index(row.condition)]
    back = unit[conditions.index(row.back_to)] if row.back_to else np.zeros(len(conditions))
    if row.cycle == "rotating":
        speed = row.speed_rpm or speed_rpm
        assert speed is not None
        assert row.hours_per_1000_h is not None
        return [_Row(there, there, 60.0 * speed * row.hours_per_1000_h)]
    assert row.per_1000_h is not None
    if row.history:
        assert measured is not None
        assert row.stated_at is not None
        cycles = merged(measured(row))
        ends = [
            back + np.asarray(end)[:, None] / row.stated_at * (there - back) for end in (cycles.upper, cycles.lower)
        ]
        return [_Row(a, b, float(n) * row.per_1000_h) for a, b, n in zip(*ends, cycles.count, strict=True)]
    other = 2 * back - there if row.cycle == "reversed" else back
    return [_Row(there, other, row.per_1000_h)]


def merged(cycles: Cycles, classes: int = CLASSES) -> Cycles:
    """The same damage in few cycles: classes of equal steps in the logarithm of the range, the largest cycle by itself.

    Each class is one cycle with the count of all, the range that does the same damage at the S-N curve's slope, and their mean
    weighted by damage. Ranges below 2 % of the largest join the lowest class.
    """
    span = cycles.range
    if span.size <= classes or not span.any():
        return cycles
    top = int(np.argmax(span))
    share = np.log(np.maximum(span / span[top], 0.02)) / np.log(0.02)
    group = np.minimum((share * (classes - 1)).astype(int), classes - 2) + 1
    group[top] = 0
    weight = cycles.count * span ** SLOPES["normal"]
    n, sums = (np.asarray(np.bincount(group, w, classes), dtype=float) for w in (cycles.count, weight))
    mean = np.bincount(group, weight * cycles.mean, classes)
    used = sums > 0.0
    half = 0.5 * (sums[used] / n[used]) ** (1 / SLOPES["normal"])
    middle = mean[used] / sums[used]
    return Cycles(middle + half, middle - half, np.asarray(n[used], dtype=float))


def turning_states(stress: Array, pressure: Array, vectors: Mapping[str, Array]) -> Array:
    """States [state, 3, ..., 4] at places from unit cases: stress [case, ..., 3], pressure [case, ...].

    vectors: state -> factors [3, case] of its steady, cosine and sine part.
    """
    factors = np.stack(list(vectors.values()))
    whole = np.concatenate([stress, -pressure[..., None]], -1)
    return np.asarray(np.tensordot(factors, whole, 1))
