"""Even random points, and from them the values of the inputs that scatter. Seeded: the same seed, the same numbers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault
from ..model.scatter_input import ScatterInput, Varied
from ..provenance import Provenance, computed

__all__ = ["CUT", "POINTS", "deviations", "extremes", "samples_of", "unit_points"]

Array = NDArray[np.float64]

# a normal spread of a size or share is cut at so many standard deviations: beyond, the part is rejected
CUT = 3.0
TINY = 2.0**-54

POINTS: Provenance = computed("scrambled Sobol points, values by the inverse of each distribution")


def unit_points(count: int, dimensions: int, seed: int, stream: int = 0) -> Array:
    """Scrambled Sobol points [count, dimensions], each inside 0 to 1; the same arguments give the same points.

    count: a power of two. stream: another scrambling of the same seed, independent of the first.
    Raises InputFault.
    """
    if count < 1 or count & (count - 1):
        raise InputFault(Fault("count", count, "must be a power of two", "the points fill space evenly only then"))
    from scipy.stats import qmc

    made = qmc.Sobol(dimensions, scramble=True, seed=np.random.default_rng([seed, stream]))
    points: Array = np.asarray(made.random(count), dtype=float)
    return np.clip(points, TINY, 1 - 2 * TINY)


def _cut_normal(share: Array) -> Array:
    from scipy.special import ndtr, ndtri

    tail = ndtr(-CUT)
    z: Array = np.asarray(ndtri(tail + share * (1 - 2 * tail)), dtype=float)
    return z


def deviations(varied: Varied, share: Any) -> Array:
    """Values of one input at cumulative shares (0 to 1) of its distribution; a deviation, a factor, or log10 of life."""
    from scipy.special import ndtri

    u = np.asarray(share, dtype=float)
    s = varied.spread
    if s == 0:
        return np.full(u.shape, 1.0 if varied.how == "times" else 0.0)
    if varied.how == "log10":
        return np.asarray(s * ndtri(u), dtype=float)
    if varied.distribution == "lognormal":
        return np.asarray(np.exp(s * ndtri(u)), dtype=float)
    z = 2 * u - 1 if varied.distribution == "uniform" else _cut_normal(u)
    return (1.0 if varied.how == "times" else 0.0) + s * z


def samples_of(scatter: ScatterInput, points: Array) -> dict[str, Array]:
    """Values of all inputs, by sample name, each of the points' shape without the last axis.

    points: [..., inputs] in the fixed order of `ScatterInput.every`, so switching one input off leaves the others
    as they were. Keys: corner_radius_deviation_mm, wall_deviation_mm (mm, to be added to the drawing's size),
    roughness_factor, load_factor, strength_factor, peak_factor (medians 1), life_log10 (to be added).
    """
    every = scatter.every
    if points.shape[-1] != len(every):
        raise InputFault(Fault("points", points.shape[-1], f"must have {len(every)} columns, one an input"))
    return {v.sample: deviations(v, points[..., i]) for i, v in enumerate(every)}


def extremes(scatter: ScatterInput) -> Mapping[str, tuple[float, float]]:
    """Least and largest deviation (mm) that the sizes can take: what a response surface must cover."""
    return {
        v.sample: (0.0, 0.0)
        if v.spread == 0
        else (-v.spread, v.spread)
        if v.distribution == "uniform"
        else (-CUT * v.spread, CUT * v.spread)
        for v in scatter.every
        if v.how == "added"
    }
