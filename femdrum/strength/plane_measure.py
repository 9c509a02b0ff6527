"""What is sought on planes: a number made of the amplitude of a component and the largest normal stress."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .plane_rows import local_rows, plane_rows
from .plane_terms import Terms, circle_terms, joined, normal_terms
from .smallest_circle import smallest_circle

__all__ = ["Measure", "Paths", "Seen"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

# numbers held at once for one look at planes: they stay in the cache
HELD = 120_000


@dataclass(frozen=True)
class Measure:
    """value(amplitude, most): what is sought, rising with both, linear in each where `most` is above zero.

    shear: the amplitude is the radius of the smallest circle around the shear's path; else half the range of a normal
    component. slopes(amplitude, most): by amplitude, by most, by both. amplitude_for(value, most): the inverse.
    other: matrix [6, 6] that makes of stresses the components whose amplitude counts; None: the stresses themselves.
    """

    shear: bool
    value: Callable[[Array, Array], Array]
    slopes: Callable[[Array, Array], tuple[Array, Array, Array]]
    amplitude_for: Callable[[Array, Array], Array]
    other: Array | None = None

    def joined(self, amplitude: Terms, most: Terms) -> Terms:
        """Slope and curvature of the value from those of its two parts."""
        value = self.value(amplitude.value, most.value)
        return joined(amplitude, most, value, self.slopes(amplitude.value, most.value))

    def amplitude_terms(self, points: Array, pair: Mask) -> Terms:
        """Of the amplitude that points carry, components in the planes' frames [6, 3, case]; pair: only the first two."""
        return circle_terms(points, pair) if self.shear else normal_terms(0.5 * (points[:, 0] - points[:, 1]))


@dataclass(frozen=True)
class Seen:
    """What planes show [case]: value, amplitude, largest normal stress, the points that carry them."""

    value: Array
    amplitude: Array
    most: Array
    support: Index
    top: Index

    def of(self, at: Index) -> Seen:
        """Some of the cases, copied."""
        return Seen(self.value[at], self.amplitude[at], self.most[at], self.support[at], self.top[at])

    def put(self, at: Index, new: Seen) -> None:
        """Replace some of the cases."""
        self.value[at], self.amplitude[at], self.most[at] = new.value, new.amplitude, new.most
        self.support[at], self.top[at] = new.support, new.top

    @staticmethod
    def joined(parts: Sequence[Seen]) -> Seen:
        """One after the other."""
        return Seen(
            np.concatenate([p.value for p in parts]),
            np.concatenate([p.amplitude for p in parts]),
            np.concatenate([p.most for p in parts]),
            np.concatenate([p.support for p in parts]),
            np.concatenate([p.top for p in parts]),
        )


@dataclass(frozen=True)
class Paths:
    """Paths of places: stress [place, 6, step], and the components whose amplitude counts."""

    measure: Measure
    stress: Array
    other: Array

    @staticmethod
    def of(measure: Measure, stress: Array) -> Paths:
        """From stresses [place, 6, step]."""
        return Paths(measure, stress, stress if measure.other is None else measure.other @ stress)

    def steps(self, keep: Index) -> Paths:
        """Some of the steps of each place, keep [place, kept]."""
        stress = np.take_along_axis(self.stress, keep[:, None], axis=2)
        other = stress if self.other is self.stress else np.take_along_axis(self.other, keep[:, None], axis=2)
        return Paths(self.measure, stress, other)

    def look(self, place: Index, rows: Array, support: Index | None = None, least: Array | None = None) -> Seen:
        """What planes show: place [case], rows [case, 3, 6] of `plane_rows`.

        support: points to begin with. least: values below it do not matter, and may come back too small.
        """
        size = max(1, HELD // self.stress.shape[2])
        parts = [
            self._look(
                place[s : s + size],
                rows[s : s + size],
                None if support is None else support[s : s + size],
                None if least is None else least[s : s + size],
            )
            for s in range(0, max(1, len(place)), size)
        ]
        return parts[0] if len(parts) == 1 else Seen.joined(parts)

    def _look(self, place: Index, rows: Array, support: Index | None, least: Array | None) -> Seen:
        here = np.arange(len(place))
        seen = rows @ self.stress[place]
        top = seen[:, 2].argmax(axis=1)
        most = seen[here, 2, top]
        if self.measure.shear:
            if self.other is not self.stress:
                seen = rows[:, :2] @ self.other[place]
            need = None if least is None else self.measure.amplitude_for(least, most)
            circle = smallest_circle(seen[:, 0], seen[:, 1], support=support, least=need)
            amplitude, held = circle.radius, circle.support
        else:
            path = seen[:, 2] if self.other is self.stress else (rows[:, 2:] @ self.other[place])[:, 0]
            low, high = path.argmin(axis=1), path.argmax(axis=1)
            amplitude, held = 0.5 * (path[here, high] - path[here, low]), np.stack([high, low, low], axis=1)
        return Seen(self.measure.value(amplitude, most), amplitude, most, held, top)

    def terms(self, place: Index, n: Array, seen: Seen) -> Terms:
        """Slope and curvature of the value around planes n [case, 3] already seen, with the steps that carry it."""
        return self.terms_of(place, n, seen.support, seen.top)

    def terms_of(self, place: Index, n: Array, support: Index, top: Index) -> Terms:
        """Value, slope and curvature of what the steps named carry, whether or not others carry more."""
        rows = local_rows(n)
        points = rows @ self.other.transpose(0, 2, 1)[place[:, None], support].transpose(0, 2, 1)
        highest = rows @ self.stress[place, :, top][..., None]
        amplitude = self.measure.amplitude_terms(points.transpose(1, 2, 0), support[:, 1] == support[:, 2])
        return self.measure.joined(amplitude, normal_terms(highest[..., 0].T))

    def look_at(self, place: Index, n: Array, support: Index | None = None) -> Seen:
        """`look` at planes given by their unit normals [case, 3]."""
        return self.look(place, plane_rows(n), support)
